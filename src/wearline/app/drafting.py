"""From the entries of tablets to one inspection: pure functions, the same answer for the same set of entries.

Entries are ordered by moment, then by id. A later entry of the same tablet (by its own count) replaces an
earlier one for the same thing. Entries of different tablets that say different things contradict: both stand
until a person settles which one holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from wearline.app.draft_events import Event
from wearline.catalogue.model import FieldSpec
from wearline.errors import ReadingError

__all__ = ["Contradiction", "Draft", "EntryKey", "document_of", "fold", "incomplete_fields"]

NOT_YET = "not taken yet"
"""Reason that stands for a corner still to be measured while the inspection is in the making."""

_CATEGORY = {"reading": "entry", "cannot": "entry", "fact": "fact", "start": "start"}
_CATEGORY |= {"noticed": "noticed", "note": "note"}


@dataclass(frozen=True, slots=True, order=True)
class EntryKey:
    """The one thing that an entry is about.

    Parameters
    ----------
    category : str
        ``"start"``, ``"fact"``, ``"entry"``, ``"noticed"`` or ``"note"``.
    place, field, spot : str
        Where and what.
    """

    category: str
    place: str
    field: str
    spot: str


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Entries of different tablets that say different things.

    Parameters
    ----------
    key : EntryKey
        About what.
    events : tuple of Event
        Both or all of them, in their order.
    """

    key: EntryKey
    events: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class Draft:
    """What the entries add up to.

    Parameters
    ----------
    id : str
        The draft.
    values : mapping of EntryKey to Event
        What holds; of a contradiction the first entry, until it is settled.
    contradictions : tuple of Contradiction
        What a person has to settle.
    photos : tuple of Event
        Photographs.
    finish : Event or None
        The latest entry that ends the draft.
    retracted : frozenset of str
        Ids of entries that were taken back.
    people : tuple of str
        Who made entries, in their order.
    last_at : datetime or None
        Moment of the last entry.
    """

    id: str
    values: Mapping[EntryKey, Event]
    contradictions: tuple[Contradiction, ...]
    photos: tuple[Event, ...]
    finish: Event | None
    retracted: frozenset[str]
    people: tuple[str, ...]
    last_at: datetime | None

    @property
    def start(self) -> Mapping[str, Any]:
        """What the start says: vehicle, axles, day; empty while it has not come."""
        event = self.values.get(EntryKey("start", "", "", ""))
        return event.value if event is not None and isinstance(event.value, Mapping) else {}

    @property
    def vehicle_id(self) -> str:
        """The vehicle; empty while the start has not come."""
        vehicle = self.start.get("vehicle")
        return str(vehicle.get("id", "")) if isinstance(vehicle, Mapping) else ""

    @property
    def supersedes(self) -> str:
        """Id of the inspection that this draft corrects; empty for a new one."""
        return str(self.start.get("supersedes") or "")

    @property
    def reason(self) -> str:
        """Why it is corrected."""
        return str(self.start.get("reason") or "")


def fold(draft: str, events: Iterable[Event]) -> Draft:
    """Add the entries of one draft up.

    Parameters
    ----------
    draft : str
        The draft; entries of others are left out.
    events : iterable of Event
        Entries in any order; one that comes twice counts once.

    Returns
    -------
    Draft
        The same for the same set of entries.
    """
    own = sorted({event.id: event for event in events if event.draft == draft}.values(), key=_order)
    retracted = _retracted(own)
    live = [event for event in own if event.id not in retracted]
    groups: dict[EntryKey, list[Event]] = {}
    for event in live:
        if event.kind in _CATEGORY:
            groups.setdefault(_key(event), []).append(event)
    settled = [event for event in live if event.kind == "settle"]
    by_id = {event.id: event for event in live}
    values: dict[EntryKey, Event] = {}
    contradictions = []
    for key, entries in groups.items():
        standing = _standing(entries, [each for each in settled if _settles(each, key, by_id)], by_id)
        values[key] = standing[0]
        if len({_said(event) for event in standing}) > 1:
            contradictions.append(Contradiction(key, tuple(standing)))
    finishes = [event for event in live if event.kind == "finish"]
    return Draft(
        id=draft,
        values=values,
        contradictions=tuple(contradictions),
        photos=tuple(event for event in live if event.kind == "photo"),
        finish=finishes[-1] if finishes else None,
        retracted=frozenset(retracted),
        people=tuple(dict.fromkeys(event.by for event in own if event.by)),
        last_at=own[-1].at if own else None,
    )


def _order(event: Event) -> tuple[datetime, str]:
    return event.at, event.id


def _key(event: Event) -> EntryKey:
    if event.kind == "start":
        return EntryKey("start", "", "", "")
    return EntryKey(_CATEGORY[event.kind], event.place, event.field, event.spot)


def _retracted(events: list[Event]) -> set[str]:
    """A retraction may be taken back by a later one; what it is about may carry a later clock."""
    taken_back: set[str] = set()
    for event in reversed(events):
        if event.kind == "retract" and event.id not in taken_back:
            taken_back.add(event.refers)
    return taken_back


def _settles(settlement: Event, key: EntryKey, by_id: Mapping[str, Event]) -> bool:
    winner = by_id.get(settlement.refers)
    return winner is not None and winner.kind in _CATEGORY and _key(winner) == key


def _standing(entries: list[Event], settlements: list[Event], by_id: Mapping[str, Event]) -> list[Event]:
    """The last entry of each tablet; after a settlement the winner and what came later."""
    last: dict[str, Event] = {}
    for event in entries:
        before = last.get(event.tablet)
        if before is None or (event.seq, event.id) > (before.seq, before.id):
            last[event.tablet] = event
    standing = sorted(last.values(), key=_order)
    if not settlements:
        return standing
    settlement = settlements[-1]
    winner = by_id[settlement.refers]
    over = settlement.value.get("over") if isinstance(settlement.value, Mapping) else None
    if isinstance(over, list):
        # the person saw exactly these; what had not come yet is not decided by it, whatever its clock says
        later = [event for event in standing if event.id not in over and event.id != winner.id]
    else:
        later = [event for event in standing if _order(event) > _order(settlement)]
    corrected = any(event.tablet == winner.tablet for event in later)
    return later if corrected else [winner, *later]


def _said(event: Event) -> str:
    """What an entry says, without who, when and where: the same from two tablets is no contradiction."""
    import json

    value = " ".join(event.value.split()) if isinstance(event.value, str) else event.value
    said = [event.kind, value, [" ".join(text.split()) for text in event.repeats], event.gauge]
    return json.dumps(said, sort_keys=True, ensure_ascii=False)


def document_of(
    draft: Draft, fields: Mapping[str, FieldSpec], *, running: bool, without: frozenset[str] = frozenset()
) -> dict[str, Any]:
    """Write a draft as a document of the inspection file's shape.

    Parameters
    ----------
    draft : Draft
        The draft.
    fields : mapping of str to FieldSpec
        Fields of the catalogue.
    running : bool
        The inspection is in the making: corners not measured yet stand as "cannot", so that the others are
        judged. Otherwise they are left out and the reader of the document refuses them.
    without : frozenset of str
        Ids of entries to leave out.

    Returns
    -------
    dict
        Tables ``vehicle``, ``axle``, ``inspection``, ``vehicle_checks`` and ``wheel_end``.

    Raises
    ------
    ReadingError
        If the start has not come yet.
    """
    start = draft.start
    if not start:
        raise ReadingError(
            "the draft has no start yet",
            where=f"draft {draft.id}",
            allowed="a start with vehicle, axles and day",
            cure="Send the queue of the tablet on which it was begun",
        )
    ends: dict[str, dict[str, Any]] = {}
    checks: dict[str, Any] = {}
    facts: dict[str, Any] = {"taken_on": start.get("taken_on")}
    for key in sorted(draft.values):
        event = draft.values[key]
        if event.id in without:
            continue
        if key.category == "fact":
            facts[key.field] = event.value
        elif key.category == "entry" and not key.place:
            checks[key.field] = _reading_value(event)
        elif key.category == "note" and not key.place:
            facts["note"] = event.value
        elif key.place:
            _put(ends.setdefault(key.place, {"at": key.place}), key, event)
    for event in draft.photos:
        if event.place and isinstance(event.value, Mapping):
            end = ends.setdefault(event.place, {"at": event.place})
            end.setdefault("photographs", []).append(str(event.value.get("sha256", "")))
    for end in ends.values():
        _corners(end, fields, running=running)
    peer_wear = facts.pop("peer_wear", None) or start.get("peer_wear_mm_per_10000_km")
    document: dict[str, Any] = {"vehicle": start.get("vehicle"), "axle": start.get("axles")}
    document["inspection"] = {name: value for name, value in facts.items() if value is not None}
    if isinstance(peer_wear, Mapping):
        document["peer_wear_mm_per_10000_km"] = peer_wear
    if checks:
        document["vehicle_checks"] = checks
    document["wheel_end"] = list(ends.values())
    return document


def _put(end: dict[str, Any], key: EntryKey, event: Event) -> None:
    if key.category == "entry" and key.spot:
        spots = end.setdefault(key.field, {})
        if isinstance(spots, dict):
            spots[key.spot] = _reading_value(event)
    elif key.category == "entry":
        end[key.field] = _reading_value(event)
    elif key.category == "noticed":
        end["noticed"] = [*end.get("noticed", []), *_noticed(event)]
    elif key.category == "note" and event.value:
        end["note"] = event.value


def _noticed(event: Event) -> list[str]:
    if isinstance(event.value, list):
        return [str(word) for word in event.value]
    if isinstance(event.value, str) and event.value.strip():
        return [event.value]
    return [event.field] if event.value is True and event.field else []


def _reading_value(event: Event) -> Any:
    if event.kind == "cannot":
        return {"cannot": str(event.value or "no reason given")}
    if not event.repeats and not event.gauge:
        return event.value
    table: dict[str, Any] = {}
    if event.repeats:
        table["readings"] = list(event.repeats)
    if event.value not in (None, "") and (not event.repeats or str(event.value) not in event.repeats):
        table["value"] = event.value
    if event.gauge:
        table["gauge"] = event.gauge
    return table


def _corners(end: dict[str, Any], fields: Mapping[str, FieldSpec], *, running: bool) -> None:
    """Fill corners that are still to be measured, where the inspection is in the making."""
    for name, value in list(end.items()):
        spec = fields.get(name)
        if spec is None or not spec.spots or not isinstance(value, dict) or "cannot" in value:
            continue
        if running:
            end[name] = {spot: {"cannot": NOT_YET} for spot in spec.spots} | value


def incomplete_fields(
    draft: Draft, fields: Mapping[str, FieldSpec]
) -> list[tuple[str, str, tuple[str, ...]]]:
    """Return the fields of which some corners are still to be measured.

    Parameters
    ----------
    draft : Draft
        The draft.
    fields : mapping of str to FieldSpec
        Fields of the catalogue.

    Returns
    -------
    list of (str, str, tuple of str)
        Place, field and the missing corners.
    """
    taken: dict[tuple[str, str], set[str]] = {}
    for key in draft.values:
        if key.category == "entry" and key.spot:
            taken.setdefault((key.place, key.field), set()).add(key.spot)
    found = []
    for (place, name), spots in sorted(taken.items()):
        spec = fields.get(name)
        missing = tuple(spot for spot in (spec.spots if spec else ()) if spot not in spots)
        if missing:
            found.append((place, name, missing))
    return found
