"""Judge what comes over HTTP by the same functions as the commands, and remember what was judged lately."""

from __future__ import annotations

import tempfile
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

from wearline.app.rereading import reread_as_inches
from wearline.assessment.results import Judgement
from wearline.assessment.road import judge_for_road
from wearline.assessment.road_results import RoadDecision
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.loading import Catalogue
from wearline.errors import WearlineError
from wearline.ingest.document import inspection_from_document
from wearline.ingest.read import read_inspection
from wearline.planning.job import plan_job_from
from wearline.planning.results import JobPlan
from wearline.records.inspection import Inspection
from wearline.reports.content import report_content
from wearline.reports.content_model import ReportContent
from wearline.storage.kept import KeptInspection
from wearline.web.refusals import Refusal
from wearline.web.shop import Shop, safe_name

if TYPE_CHECKING:
    from wearline.diagnosis.results import Explanation

__all__ = ["Judged", "Recent", "inspection_of_body", "judge_all", "read_bytes", "with_options"]

_REMEMBERED = 200


@dataclass(frozen=True)
class Judged:
    """An inspection with everything that follows from it; what takes long is worked out when it is asked for.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    judgement : Judgement
        Its judgement.
    road : RoadDecision
        Whether it may go.
    catalogue : Catalogue
        By which it was judged.
    """

    inspection: Inspection
    judgement: Judgement
    road: RoadDecision
    catalogue: Catalogue

    @cached_property
    def bare_plan(self) -> JobPlan:
        """The job without the causes it reaches."""
        return plan_job_from(self.inspection, self.judgement, self.catalogue)

    @cached_property
    def content(self) -> ReportContent:
        """The content of a report as the page of readings shows it: without a day, and without the stop.

        The chart of the stopping distance belongs to the report; here it would take as long as all the rest.
        """
        road = replace(self.road, capability=replace(self.road.capability, left=None))
        return report_content(
            self.inspection,
            self.judgement,
            road,
            self.bare_plan,
            catalogue=self.catalogue,
            generated_on=self.inspection.taken_on,
        )

    @cached_property
    def explanation(self) -> Explanation:
        """Why it wore like that."""
        from wearline.diagnosis.explain import explain

        return explain(self.inspection, self.catalogue)

    @cached_property
    def plan(self) -> JobPlan:
        """The complete job, as the command answers it."""
        from wearline.diagnosis.roots import causes_for_job
        from wearline.planning.reach_roots import reach_roots

        return reach_roots(self.bare_plan, causes_for_job(self.explanation))


def judge_all(inspection: Inspection, catalogue: Catalogue, decision: DecisionSettings) -> Judged:
    """Judge an inspection and decide about the road.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    catalogue : Catalogue
        Limits in force.
    decision : DecisionSettings
        Decision rules.

    Returns
    -------
    Judged
        Everything that follows.
    """
    judgement, road = judge_for_road(inspection, catalogue, decision)
    return Judged(inspection, judgement, road, catalogue)


class Recent:
    """Kept inspections judged lately; what is kept never changes, so only the rules can make it stale.

    Parameters
    ----------
    shop : Shop
        Rules in force.
    """

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._lock = Lock()
        self._found: OrderedDict[tuple[str, int, str], Judged] = OrderedDict()

    def judged(self, kept: KeptInspection) -> Judged:
        """Return a kept inspection judged by the rules in force.

        Parameters
        ----------
        kept : KeptInspection
            The inspection.

        Returns
        -------
        Judged
            Everything that follows.
        """
        catalogue = self._shop.catalogue()
        settings = self._shop.settings()
        key = (kept.digest, id(catalogue), settings.decision)
        with self._lock:
            found = self._found.get(key)
            if found is not None and found.catalogue is catalogue:
                self._found.move_to_end(key)
                return found
        made = judge_all(kept.inspection, catalogue, settings.decision_settings)
        with self._lock:
            self._found[key] = made
            while len(self._found) > _REMEMBERED:
                self._found.popitem(last=False)
        return made


_ENDINGS = {
    "application/toml": ".toml",
    "text/x-toml": ".toml",
    "text/plain": ".toml",
    "text/csv": ".csv",
    "text/tab-separated-values": ".tsv",
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet": ".xlsx",
    "application/octet-stream": "",
}


def inspection_of_body(shop: Shop, data: bytes, content_type: str, name: str, body: Any) -> Inspection:
    """Read the inspection that a request is about.

    Parameters
    ----------
    shop : Shop
        Kept inspections and catalogue.
    data : bytes
        The body.
    content_type : str
        What the request says it is.
    name : str
        Name of the file, for messages; may be empty.
    body : object
        The JSON value where it is JSON; None otherwise.

    Returns
    -------
    Inspection
        The inspection.

    Raises
    ------
    InputError
        If it is nothing that can be read.
    """
    if body is not None:
        return _from_json(shop, body)
    if content_type not in _ENDINGS:
        raise Refusal(
            415,
            f"'{content_type[:80] or 'nothing'}' is no form in which an inspection comes",
            where="content-type",
            allowed=", ".join(["application/json", *_ENDINGS]),
            cure="Name the form of the file in the header",
        )
    ending = _ENDINGS[content_type] or Path(name).suffix.lower()
    return read_bytes(shop, data, name or "body", ending)


def read_bytes(shop: Shop, data: bytes, name: str, ending: str) -> Inspection:
    """Read an inspection file that was sent.

    Parameters
    ----------
    shop : Shop
        Catalogue and clock.
    data : bytes
        The file.
    name : str
        What messages call it.
    ending : str
        Which form it is, as ``.toml``.

    Returns
    -------
    Inspection
        The inspection.

    Raises
    ------
    InputError
        If it cannot be read.
    """
    known = ending if ending in (".toml", ".csv", ".tsv", ".xlsx") else ".toml"
    with tempfile.TemporaryDirectory(prefix="wearline-") as folder:
        path = Path(folder) / safe_name(name, known)
        path.write_bytes(data)
        try:
            return read_inspection(path, today=shop.today, catalogue=shop.catalogue())
        except WearlineError as error:
            raise type(error)(
                error.what.replace(str(path), name),
                where=error.where.replace(str(path), name),
                allowed=error.allowed,
                cure=error.cure.replace(str(path), name),
            ) from None


def _from_json(shop: Shop, body: Any) -> Inspection:
    if isinstance(body, dict) and isinstance(body.get("inspection"), str) and len(body) == 1:
        return shop.store.inspection(body["inspection"][:100].replace("\0", "")).inspection
    if isinstance(body, dict) and isinstance(body.get("document"), dict) and len(body) == 1:
        return inspection_from_document(
            body["document"], where="document", today=shop.today, catalogue=shop.catalogue()
        )
    raise Refusal(
        422,
        "the body names no inspection",
        where="body",
        allowed='{"inspection": ID} of a kept one, {"document": {...}}, or the file itself',
        cure="Send one of these",
    )


def with_options(
    inspection: Inspection, catalogue: Catalogue, rule_packs: Sequence[str], inches: Sequence[str]
) -> Inspection:
    """Apply the options that the commands have too.

    Parameters
    ----------
    inspection : Inspection
        As read.
    catalogue : Catalogue
        Knows the packs.
    rule_packs : sequence of str
        Rule packs instead of those of the inspection.
    inches : sequence of str
        Wheel ends whose lengths were typed in inches.

    Returns
    -------
    Inspection
        The inspection to judge.

    Raises
    ------
    InputError
        If a pack or a wheel end is unknown.
    """
    for pack in rule_packs:
        catalogue.pack(pack)
    if rule_packs:
        inspection = replace(inspection, rule_packs=tuple(rule_packs))
    return reread_as_inches(inspection, inches, catalogue) if inches else inspection
