"""Kept inspections: the list, one of them with judgement, job and road decision, its signature and papers."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from wearline.app.answers import judgement_answer, road_answer
from wearline.ingest.write import document_from_inspection, write_inspection_toml
from wearline.planning.results import Hours
from wearline.reports.content import found_paragraph, identity_lines
from wearline.reports.content_model import Picture, ReportContent
from wearline.reports.ladder import STEPS, draw_ladder
from wearline.reports.road_words import capability_lines, count_text, hours_text
from wearline.storage.journal import Signature
from wearline.storage.kept import KeptInspection
from wearline.web.asking import Ask, Sent, add_form, add_page, ask_of
from wearline.web.fleet_index import Line
from wearline.web.judging import Judged, read_bytes
from wearline.web.pages.vehicle import picture_of
from wearline.web.paging import Paging, chosen_order, number_of, paged
from wearline.web.refusals import Refusal
from wearline.web.rendering import environment
from wearline.web.shop import safe_name
from wearline.web.summaries import job_of

__all__ = [
    "TABS",
    "InspectionHead",
    "InspectionPage",
    "InspectionsPage",
    "download",
    "head_of",
    "kept_of",
    "router",
]

router = APIRouter()

STATEMENT = (
    "I have taken or checked these readings and stand for them. What follows from them was computed; "
    "it releases no vehicle."
)


@dataclass(frozen=True, slots=True)
class InspectionsPage:
    """The list of kept inspections.

    Parameters
    ----------
    rows : tuple of (Line, mapping or None)
        This part of the list, with what followed.
    paging : Paging
        Which part.
    signed : tuple of str
        Ids of those that are signed.
    superseded : bool
        Whether corrected ones are shown too.
    """

    rows: tuple[tuple[Line, dict[str, Any] | None], ...]
    paging: Paging
    signed: tuple[str, ...]
    superseded: bool


_ORDERS: dict[str, Callable[[Line], Any]] = {
    "taken_on": lambda line: line.taken_on,
    "vehicle": lambda line: (line.vehicle.casefold(), -line.taken_on.toordinal()),
    "odometer": lambda line: number_of({"km": line.odometer_km}, "km"),
    "kept_by": lambda line: line.kept_by.casefold(),
}


_FIRST = ("taken_on", True)


def _list(ask: Ask) -> InspectionsPage:
    superseded = ask.query.get("all") == "1"
    since, until = _day(ask, "since"), _day(ask, "until")
    sort, _ = chosen_order(ask.query, _ORDERS, _FIRST)
    every = not (superseded or since or until)
    if every:
        lines = ask.index.current(sort, _ORDERS[sort])
    else:
        lines = ask.index.history(None, since, until, superseded=superseded)
    rows, paging = paged(
        lines, ask.query, _ORDERS, ask.index.words, first=_FIRST, per_page=50, in_order=every
    )
    cards = ask.index.cards(rows, compute=5)
    signed = ask.shop.journal.signatures(line.id for line in rows)
    found = tuple((line, cards.get(line.digest)) for line in rows)
    return InspectionsPage(found, paging, tuple(signed), superseded)


def _day(ask: Ask, name: str) -> date | None:
    text = ask.query.get(name, "")
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Refusal(422, f"'{text[:40]}' is not a day", where=name, allowed="a day as 2026-09-14") from None


add_page(router, "/inspections", "inspections.html", _list)


@dataclass(frozen=True, slots=True)
class InspectionHead:
    """What every page of an inspection has.

    Parameters
    ----------
    id, vehicle, description : str
        The inspection and its vehicle.
    taken_on : date
        Day of the readings.
    kept_by : str
        Who kept it.
    kept_at : str
        When.
    supersedes, superseded_by : str or None
        What it corrects, and what corrects it.
    reason : str
        Why it corrects.
    signatures : tuple of Signature
        Who stands for it.
    level : int or None
        Of the road decision; None where it cannot be judged.
    tab : str
        Which of its pages this is.
    """

    id: str
    vehicle: str
    description: str
    taken_on: date
    kept_by: str
    kept_at: str
    supersedes: str | None
    superseded_by: str | None
    reason: str
    signatures: tuple[Signature, ...]
    level: int | None
    tab: str


@dataclass(frozen=True, slots=True)
class InspectionPage:
    """One page of an inspection; only what the page shows is filled, in the twin everything.

    Parameters
    ----------
    head : InspectionHead
        Which inspection.
    drawing, ladder : Picture or None
        The vehicle from above, the road decision on its ladder.
    identity : tuple of (str, str)
        Who, what, when, where.
    found : str
        What was found, in one paragraph.
    answer : mapping
        The answer of the command that this page is.
    shown : object
        What the template shows of it.
    statement : str
        What is signed.
    """

    head: InspectionHead
    drawing: Picture | None
    ladder: Picture | None
    identity: tuple[tuple[str, str], ...]
    found: str
    answer: dict[str, Any]
    shown: Any = field(metadata={"json": False})
    statement: str = STATEMENT


def head_of(ask: Ask, kept: KeptInspection, tab: str) -> InspectionHead:
    """Return what every page of an inspection has.

    Parameters
    ----------
    ask : Ask
        Who asks.
    kept : KeptInspection
        The inspection.
    tab : str
        Which page it is.

    Returns
    -------
    InspectionHead
        The head.
    """
    signed = ask.shop.journal.signatures([kept.id]).get(kept.id, [])
    card = ask.index.card(kept.digest, kept.id)
    return InspectionHead(
        id=kept.id,
        vehicle=kept.vehicle_id,
        description=card["description"],
        taken_on=kept.taken_on,
        kept_by=kept.kept_by,
        kept_at=kept.kept_at.isoformat(timespec="minutes"),
        supersedes=kept.supersedes,
        superseded_by=kept.superseded_by,
        reason=kept.reason,
        signatures=tuple(signed),
        level=card["level"],
        tab=tab,
    )


def kept_of(ask: Ask) -> KeptInspection:
    """Return the inspection that the path names.

    Parameters
    ----------
    ask : Ask
        Who asks.

    Returns
    -------
    KeptInspection
        The inspection.

    Raises
    ------
    StorageError
        If there is none.
    """
    return ask.shop.store.inspection(ask.path["inspection"][:100].replace("\0", ""))


@dataclass(frozen=True, slots=True)
class Shown:
    """What a template shows beside the answer; left out of the JSON twin, which has the answer itself.

    Parameters
    ----------
    judged : Judged or None
        Everything that follows, where the page shows of it.
    content : ReportContent or None
        The content of a report, for the page of readings.
    extra : mapping
        Texts made for this page.
    """

    judged: Judged | None
    content: ReportContent | None
    extra: dict[str, Any]


def _page(ask: Ask, tab: str, *, whole: bool) -> InspectionPage:
    """Build what a page shows; the twin says everything, whichever page it is."""
    kept = kept_of(ask)
    head = head_of(ask, kept, tab)
    if tab == "job" and not whole:
        answer = job_of(ask.shop, kept, lambda: ask.recent.judged(kept))
        shown = Shown(None, None, {"hours_text": lambda low, high: hours_text(Hours(low, high, ""))})
        return InspectionPage(head, None, None, (), "", answer, shown)
    judged = ask.recent.judged(kept)
    content = judged.content if tab == "readings" and not whole else None
    level = judged.road.level
    is_first = tab == "overview" or whole
    return InspectionPage(
        head=head,
        drawing=picture_of(judged) if is_first else None,
        ladder=Picture(draw_ladder(level), f"Level {level} of 4 on the ladder: {STEPS[level]}."),
        identity=identity_lines(judged.inspection, judged.catalogue) if is_first else (),
        found=found_paragraph(judged.judgement),
        answer=_answer(ask, kept, judged, tab) if whole else {},
        shown=Shown(judged, content, _extra(judged, tab, kept.digest)),
    )


def _answer(ask: Ask, kept: KeptInspection, judged: Judged, tab: str) -> dict[str, Any]:
    if tab == "job":
        return job_of(ask.shop, kept, lambda: judged)
    if tab in ("road", "overview"):
        cautions = tuple(statement.text for statement in judged.catalogue.work.authority)
        return dict(road_answer(judged.road, judged.judgement.vehicle_id, cautions))
    return dict(judgement_answer(judged.judgement))


def _extra(judged: Judged, tab: str, digest: str) -> dict[str, Any]:
    answers = judged.road.answers
    if tab == "overview":
        return {
            "answers": (
                ("Parts", "within their service limits?", answers.part),
                ("Brakes", "apply, release and hold until the next look?", answers.brake),
                ("Vehicle", "how much braking, how balanced?", answers.capability),
                ("Law here today", "what do the rule packs say?", answers.law),
            ),
            "digest": digest,
            "doubts": tuple(dict.fromkeys(notice.text for notice in judged.judgement.warnings)),
        }
    if tab == "road":
        return {
            "count_text": count_text(judged.road.count),
            "capability_lines": capability_lines(judged.road.capability),
            "sources": {key: source.title for key, source in judged.catalogue.sources.items()},
        }
    return {}


TABS = (
    ("overview", "Overview"),
    ("readings", "Readings"),
    ("causes", "Causes"),
    ("job", "Job"),
    ("road", "Road"),
    ("proof", "Proof"),
)
"""Pages of an inspection, and what they are called."""

environment().globals["tabs"] = TABS

for _tab, _path in (
    ("readings", "/inspections/{inspection}/readings"),
    ("job", "/inspections/{inspection}/job"),
    ("road", "/inspections/{inspection}/road"),
    ("overview", "/inspections/{inspection}"),
):
    add_page(
        router,
        _path,
        f"inspection_{_tab}.html",
        partial(_page, tab=_tab, whole=False),
        twin_build=partial(_page, tab=_tab, whole=True),
    )


def _sign(sent: Sent) -> str:
    ask = sent.ask
    kept = ask.shop.store.inspection(ask.path["inspection"][:100].replace("\0", ""))
    # with an account the name is the account's; without accounts the person types it
    name = ask.person.shown_name or sent.text("name")
    qualification = sent.text("qualification") or ask.person.qualification
    if not name or not qualification:
        raise Refusal(
            422,
            "an inspection is signed by a named person with a qualification",
            where="signature",
            allowed="a name, and by what this person is entitled to inspect brakes",
            cure="Fill in both",
        )
    if sent.fields.get("stand") != "yes":
        raise Refusal(422, "the statement is not confirmed", where="signature", cure="Read it and confirm it")
    ask.shop.journal.sign(
        Signature(
            inspection_id=kept.id,
            inspection_digest=sent.text("digest"),
            signed_by=name,
            account=ask.person.name,
            qualification=qualification,
            statement=STATEMENT,
            signed_at=ask.shop.now,
        )
    )
    ask.log("sign inspection", kept.id, f"{name}, {qualification}")
    return f"/inspections/{kept.id}"


add_form(router, "/inspections/{inspection}/sign", _sign, role="signs")


def _keep(sent: Sent) -> str:
    """Keep a file that was chosen on the page; with an id it corrects that inspection."""
    ask = sent.ask
    name, data = sent.files.get("file", ("", b""))
    if not data:
        raise Refusal(
            422, "no file was chosen", where="file", allowed="an inspection file: TOML, CSV or XLSX"
        )
    corrects, reason = sent.text("corrects", 100), sent.text("because", 500)
    ending = Path(name).suffix.lower()
    if ending == ".json":
        return _take_queue(sent, data)
    receipt = ask.shop.store.keep(
        read_bytes(ask.shop, data, name, ending),
        kept_by=ask.person.shown_name or ask.person.name,
        kept_at=ask.shop.now,
        supersedes=corrects or None,
        reason=reason,
        counter_exchanged=sent.fields.get("counter_exchanged") == "yes",
    )
    ask.log("correct inspection" if corrects else "keep inspection", receipt.id, reason)
    return f"/inspections/{receipt.id}"


def _take_queue(sent: Sent, data: bytes) -> str:
    import json

    from wearline.app.draft_events import events_from_text
    from wearline.web.receiving import MAXIMUM_EVENTS, receive

    events = [json.loads(event.text) for event in events_from_text(data)]
    for start in range(0, len(events), MAXIMUM_EVENTS):
        part = {"events": events[start : start + MAXIMUM_EVENTS]}
        answer = receive(sent.ask.shop, part, sent.ask.person.name, sent.ask.address)
        for refused in answer["refused"]:
            error = refused["error"]
            raise Refusal(
                422, error["what"], where=error["where"], allowed=error["allowed"], cure=error["cure"]
            )
    return "/drafts"


add_form(router, "/inspections/keep", _keep, role="measures", files=1)


@router.get("/inspections/{inspection}/file.toml", include_in_schema=False)
def inspection_file(request: Request, inspection: str) -> Response:
    """Give an inspection as a file that the commands read."""
    ask = ask_of(request, "reads")
    kept = ask.shop.store.inspection(inspection[:100].replace("\0", ""))
    with tempfile.TemporaryDirectory(prefix="wearline-") as folder:
        path = Path(folder) / "inspection.toml"
        write_inspection_toml(document_from_inspection(kept.inspection), path)
        text = path.read_bytes()
    return download(text, "application/toml", safe_name(f"{kept.vehicle_id} {kept.taken_on}", ".toml"))


@router.get("/inspections/{inspection}/report.pdf", include_in_schema=False)
def inspection_report(request: Request, inspection: str) -> Response:
    """Give the report of an inspection as PDF."""
    from wearline.reports.inspection_report import render_pdf

    ask = ask_of(request, "reads")
    kept = ask.shop.store.inspection(inspection[:100].replace("\0", ""))
    judged = ask.recent.judged(kept)
    with tempfile.TemporaryDirectory(prefix="wearline-") as folder:
        path = Path(folder) / "report.pdf"
        render_pdf(
            judged.inspection,
            judged.judgement,
            judged.road,
            judged.plan,
            catalogue=judged.catalogue,
            generated_on=ask.shop.today,
            out=path,
            explanation=judged.explanation,
        )
        data = path.read_bytes()
    return download(data, "application/pdf", safe_name(f"{kept.vehicle_id} {kept.taken_on}", ".pdf"))


def download(data: bytes, kind: str, name: str) -> Response:
    """Return a file to take along.

    Parameters
    ----------
    data : bytes
        The file.
    kind : str
        Media type.
    name : str
        Name of the file.

    Returns
    -------
    Response
        As an attachment.
    """
    from urllib.parse import quote

    headers = {
        "content-disposition": f"attachment; filename*=UTF-8''{quote(name)}",
        "cache-control": "no-store",
    }
    return Response(data, media_type=kind, headers=headers)
