"""Checks that a finding makes necessary, needless or void, from the catalogue's consequences."""

from __future__ import annotations

from wearline.assessment.completeness import is_done
from wearline.assessment.evidence import Answer, Evidence
from wearline.assessment.results import FollowUp
from wearline.catalogue.check_model import Consequence
from wearline.catalogue.loading import Catalogue
from wearline.records.inspection import Inspection

__all__ = ["follow_ups"]


def follow_ups(
    evidence: Evidence, catalogue: Catalogue, row: int, inspection: Inspection
) -> tuple[FollowUp, ...]:
    """Return the follow-up checks of one wheel end.

    Parameters
    ----------
    evidence : Evidence
        Judged readings.
    catalogue : Catalogue
        Consequences and checks.
    row : int
        The wheel end.
    inspection : Inspection
        To say what was done already.

    Returns
    -------
    tuple of FollowUp
        Necessary checks first. A check that one finding makes necessary is not called needless by another.
    """
    place = evidence.judged.columns.places[row]
    necessary: dict[str, FollowUp] = {}
    needless: dict[str, FollowUp] = {}
    void: dict[str, FollowUp] = {}
    for consequence in catalogue.consequences.values():
        if not _holds(evidence, consequence, row):
            continue
        for kind, checks, into in (
            ("necessary", consequence.necessary, necessary),
            ("needless", consequence.needless, needless),
        ):
            for check in checks:
                item = _follow_up(kind, check, consequence, catalogue, inspection, place)
                into.setdefault(check, item)
        for name in consequence.void:
            spec = catalogue.fields.get(name)
            title = spec.label if spec else catalogue.measures[name].title
            void.setdefault(name, FollowUp("void", name, title, consequence.because))
    kept = [item for check, item in needless.items() if check not in necessary]
    return (*necessary.values(), *void.values(), *kept)


def _holds(evidence: Evidence, consequence: Consequence, row: int) -> bool:
    result: Answer | None = None
    for condition in consequence.conditions:
        answer = evidence.answer(condition)
        if result is None:
            result = answer
        else:
            result = result.all_of(answer) if consequence.every else result.any_of(answer)
    return result is not None and bool(result.true[row])


def _follow_up(
    kind: str,
    check: str,
    consequence: Consequence,
    catalogue: Catalogue,
    inspection: Inspection,
    place: str,
) -> FollowUp:
    entry = catalogue.checks[check]
    done = is_done(entry.fields, inspection, place)
    return FollowUp(kind, check, entry.title, consequence.because, done)
