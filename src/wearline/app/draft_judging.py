"""An inspection in the making: what follows so far, what is missing, what comes next, and its end."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from wearline.app.answers import judgement_answer
from wearline.app.draft_events import Event
from wearline.app.drafting import Contradiction, Draft, document_of, incomplete_fields
from wearline.assessment.assemble import judge
from wearline.assessment.results import Judgement
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.check_model import Check
from wearline.catalogue.loading import Catalogue
from wearline.errors import InputError, ReadingError
from wearline.ingest.document import inspection_from_document, vehicle_from_document
from wearline.records.inspection import Inspection, Vehicle

__all__ = [
    "DraftFault",
    "RunningJudgement",
    "contradiction_plain",
    "draft_answer",
    "finished_inspection",
    "judge_draft",
]

DRAFT_SCHEMA = "wearline.draft/1"


@dataclass(frozen=True, slots=True)
class DraftFault:
    """An entry that cannot be understood; the rest is judged without it.

    Parameters
    ----------
    event : Event
        The entry.
    error : InputError
        What is wrong with it.
    """

    event: Event
    error: InputError


@dataclass(frozen=True, slots=True)
class RunningJudgement:
    """What follows from a draft so far.

    Parameters
    ----------
    document : mapping
        In the inspection file's shape.
    vehicle : Vehicle or None
        The vehicle, once the start is understood.
    judgement : Judgement or None
        None while nothing can be judged.
    error : InputError or None
        Why not.
    faults : tuple of DraftFault
        Entries left out.
    """

    document: Mapping[str, Any]
    vehicle: Vehicle | None
    judgement: Judgement | None
    error: InputError | None
    faults: tuple[DraftFault, ...]


def judge_draft(
    draft: Draft, catalogue: Catalogue, today: date, decision: DecisionSettings
) -> RunningJudgement:
    """Judge what a draft says so far; an entry that cannot be understood is set aside and named.

    Parameters
    ----------
    draft : Draft
        The draft.
    catalogue : Catalogue
        Fields, designs and limits.
    today : date
        No reading can be younger.
    decision : DecisionSettings
        Decision rules.

    Returns
    -------
    RunningJudgement
        The judgement, or why there is none yet.
    """
    try:
        document = document_of(draft, catalogue.fields, running=True)
    except ReadingError as error:
        return RunningJudgement({}, None, None, error, ())
    where = f"draft of {draft.vehicle_id or draft.id}"
    try:
        vehicle = vehicle_from_document(_head(document), where=where, catalogue=catalogue)
    except InputError as error:
        return RunningJudgement(document, None, None, error, ())
    faults: tuple[DraftFault, ...] = ()
    try:
        inspection = inspection_from_document(document, where=where, today=today, catalogue=catalogue)
    except InputError as error:
        faults = _faults(draft, catalogue, today, where)
        left_out = frozenset(fault.event.id for fault in faults)
        if not left_out:
            return RunningJudgement(document, vehicle, None, error, ())
        rest = document_of(draft, catalogue.fields, running=True, without=left_out)
        try:
            inspection = inspection_from_document(rest, where=where, today=today, catalogue=catalogue)
        except InputError as other:
            return RunningJudgement(document, vehicle, None, other, faults)
    return RunningJudgement(document, vehicle, judge(inspection, catalogue, decision), None, faults)


def _head(document: Mapping[str, Any]) -> dict[str, Any]:
    return {key: document[key] for key in ("vehicle", "axle")}


def _faults(draft: Draft, catalogue: Catalogue, today: date, where: str) -> tuple[DraftFault, ...]:
    """Read every entry alone, with the start only, and keep those that are refused."""
    start = {key: event for key, event in draft.values.items() if key.category == "start"}
    found = []
    for key, event in draft.values.items():
        if key.category == "start":
            continue
        lone = replace(draft, values={**start, key: event}, photos=())
        try:
            document = document_of(lone, catalogue.fields, running=True)
            if key.category == "fact":
                # an inspection needs one reading; the fact is what is looked at
                document["vehicle_checks"] = {"lamps": "none active"}
            inspection_from_document(document, where=where, today=today, catalogue=catalogue)
        except InputError as error:
            found.append(DraftFault(event, error))
    return tuple(found)


def finished_inspection(draft: Draft, catalogue: Catalogue, today: date) -> Inspection:
    """Return the inspection that a draft has become, or refuse to end it.

    Parameters
    ----------
    draft : Draft
        The draft.
    catalogue : Catalogue
        Fields, designs and limits.
    today : date
        No reading can be younger.

    Returns
    -------
    Inspection
        Ready to be kept.

    Raises
    ------
    InputError
        If tablets contradict each other, corners are missing, or an entry cannot be understood.
    """
    if draft.contradictions:
        first = draft.contradictions[0]
        said = " and ".join(f"'{_shown(event)}' by {event.by or 'nobody named'}" for event in first.events)
        raise ReadingError(
            f"{len(draft.contradictions)} entries contradict each other; {_named(first)} is {said}",
            where=f"draft of {draft.vehicle_id}",
            allowed="one value for each reading",
            cure="Look again at the brake and settle which one holds",
        )
    for place, name, missing in incomplete_fields(draft, catalogue.fields):
        raise ReadingError(
            f"{name} at {place} has no reading at {', '.join(missing)}",
            where=f"draft of {draft.vehicle_id}",
            allowed="all corners or none",
            cure="Measure it, or say why it cannot be measured",
        )
    document = document_of(draft, catalogue.fields, running=False)
    return inspection_from_document(
        document, where=f"draft of {draft.vehicle_id}", today=today, catalogue=catalogue
    )


def _shown(event: Event) -> str:
    return f"cannot be measured: {event.value}" if event.kind == "cannot" else str(event.value)


def _named(contradiction: Contradiction) -> str:
    key = contradiction.key
    parts = (key.place, key.field or key.category, key.spot)
    return " ".join(part for part in parts if part)


def contradiction_plain(contradiction: Contradiction) -> dict[str, Any]:
    """Return a contradiction as JSON values.

    Parameters
    ----------
    contradiction : Contradiction
        The contradiction.

    Returns
    -------
    dict
        Key and entries.
    """
    key = contradiction.key
    return {
        "category": key.category,
        "place": key.place,
        "field": key.field,
        "spot": key.spot,
        "entries": [
            {
                "id": event.id,
                "tablet": event.tablet,
                "by": event.by,
                "at": event.at.isoformat(timespec="milliseconds"),
                "kind": event.kind,
                "value": event.value,
                "repeats": list(event.repeats),
            }
            for event in contradiction.events
        ],
    }


def draft_answer(draft: Draft, running: RunningJudgement, catalogue: Catalogue) -> dict[str, Any]:
    """Return a draft with what follows from it as JSON values.

    Parameters
    ----------
    draft : Draft
        The draft.
    running : RunningJudgement
        From ``judge_draft``.
    catalogue : Catalogue
        Checks in their order.

    Returns
    -------
    dict
        Under schema ``wearline.draft/1``.
    """
    judgement = running.judgement
    incomplete = incomplete_fields(draft, catalogue.fields)
    return {
        "schema": DRAFT_SCHEMA,
        "draft": {
            "id": draft.id,
            "vehicle": draft.vehicle_id,
            "taken_on": draft.start.get("taken_on"),
            "finished": draft.finish is not None,
            "supersedes": draft.supersedes,
            "people": list(draft.people),
            "last_at": None if draft.last_at is None else draft.last_at.isoformat(timespec="milliseconds"),
        },
        "contradictions": [contradiction_plain(each) for each in draft.contradictions],
        "faults": [{"id": fault.event.id, "error": fault.error.as_plain()} for fault in running.faults],
        "document": dict(running.document),
        "judgement": None if judgement is None else judgement_answer(judgement),
        "error": None if running.error is None else running.error.as_plain(),
        "incomplete": [
            {"place": place, "field": name, "missing": list(missing)} for place, name, missing in incomplete
        ],
        "missing": _missing(running, catalogue),
        "next": _next(running, catalogue),
    }


def _missing(running: RunningJudgement, catalogue: Catalogue) -> dict[str, list[str]]:
    """Fields still to be taken, by wheel end; empty name for the vehicle."""
    if running.vehicle is None:
        return {}
    if running.judgement is not None:
        found = {end.place: list(end.not_taken) for end in running.judgement.wheel_ends}
    else:
        names = [name for name, spec in catalogue.fields.items() if not spec.vehicle_level]
        found = {str(place): list(names) for place in running.vehicle.places}
    taken = running.document.get("vehicle_checks") or {}
    found[""] = [name for name, spec in catalogue.fields.items() if spec.vehicle_level and name not in taken]
    return found


def _next(running: RunningJudgement, catalogue: Catalogue) -> list[dict[str, Any]]:
    """Checks still to be done: what a finding makes necessary first, then the order of the inspection."""
    missing = _missing(running, catalogue)
    necessary: dict[str, dict[str, str]] = {}
    needless: dict[str, set[str]] = {}
    for end in running.judgement.wheel_ends if running.judgement is not None else ():
        for item in end.followups:
            if item.kind == "necessary" and not item.done:
                necessary.setdefault(item.check, {})[end.place] = item.because
            elif item.kind == "needless":
                needless.setdefault(item.check, set()).add(end.place)
    first: list[dict[str, Any]] = []
    later: list[dict[str, Any]] = []
    for check in catalogue.checks.values():
        because = necessary.get(check.id, {})
        open_at = _open_at(check, missing)
        if not check.fields:
            continue
        asked = [place for place in missing if place in because]
        rest = [
            place
            for place in missing
            if place in open_at and place not in because and place not in needless.get(check.id, ())
        ]
        if asked:
            first.append(_next_entry(check, asked, because[asked[0]], catalogue))
        if rest:
            later.append(_next_entry(check, rest, "", catalogue))
    return [*first, *later]


def _open_at(check: Check, missing: Mapping[str, Iterable[str]]) -> set[str]:
    return {place for place, names in missing.items() if any(name in names for name in check.fields)}


def _next_entry(check: Check, places: list[str], because: str, catalogue: Catalogue) -> dict[str, Any]:
    return {
        "check": check.id,
        "title": check.title,
        "at": places,
        "fields": list(check.fields),
        "gauge": check.gauge,
        "minutes": check.minutes + check.minutes_per_end * len(places),
        "states": [catalogue.states[code].title for code in check.states],
        "because": because,
    }
