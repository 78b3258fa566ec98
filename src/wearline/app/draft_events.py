"""One entry of a tablet: what it must look like, checked before anything is stored."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from wearline.errors import FileFormatError, InputError
from wearline.storage.kept import canonical_text

__all__ = ["EVENTS_SCHEMA", "EVENT_KINDS", "Event", "event_from_plain", "events_from_text", "strict_json"]

EVENTS_SCHEMA = "wearline.events/1"
EVENT_KINDS = (
    "start",
    "fact",
    "reading",
    "cannot",
    "noticed",
    "note",
    "photo",
    "retract",
    "settle",
    "finish",
)
_KEYS = frozenset(
    (
        "id",
        "draft",
        "tablet",
        "seq",
        "at",
        "by",
        "kind",
        "place",
        "field",
        "spot",
        "value",
        "repeats",
        "gauge",
        "refers",
    )
)
_NEEDED = ("id", "draft", "tablet", "seq", "at", "kind")
_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_PLACE = re.compile(r"(T?[1-9][0-9]?[LR])?")
_FIELD = re.compile(r"[A-Za-z0-9_.-]{0,64}")
_AT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z")
_MAXIMUM_TEXT = 20_000
_MAXIMUM_NAME = 200
_MAXIMUM_REPEATS = 100


@dataclass(frozen=True, slots=True)
class Event:
    """One entry.

    Parameters
    ----------
    id, draft, tablet : str
        UUIDs of the entry, the draft it belongs to, and the tablet it was typed on.
    seq : int
        Rises with every entry of one tablet.
    at : datetime
        When, by the clock of the tablet, in UTC.
    by : str
        Who.
    kind : str
        One of ``EVENT_KINDS``.
    place : str
        Wheel end as ``"1L"``, empty for the vehicle.
    field, spot : str
        Field or fact, and corner.
    value : object
        What was entered, any JSON value.
    repeats : tuple of str
        Repeated readings as typed.
    gauge : str
        Gauge named with the reading.
    refers : str
        Entry that a retraction or a settlement is about.
    text : str
        The whole entry as canonical JSON.
    """

    id: str
    draft: str
    tablet: str
    seq: int
    at: datetime
    by: str
    kind: str
    place: str
    field: str
    spot: str
    value: Any
    repeats: tuple[str, ...]
    gauge: str
    refers: str
    text: str


def strict_json(data: bytes | str) -> Any:
    """Read JSON that says exactly one thing: finite numbers, whole characters, each key once.

    Parameters
    ----------
    data : bytes or str
        The text; bytes are UTF-8.

    Returns
    -------
    object
        Its value.

    Raises
    ------
    FileFormatError
        If it is not such a text.
    """
    try:
        text = data.decode("utf-8") if isinstance(data, bytes) else data
        value = json.loads(text, parse_constant=_refuse_constant, object_pairs_hook=_each_key_once)
        canonical_text({"value": value}).encode("utf-8")
    except (ValueError, RecursionError) as error:
        said = "it is nested too deeply" if isinstance(error, RecursionError) else str(error)
        raise FileFormatError(
            f"this is not JSON that can be read without doubt: {said}",
            allowed="JSON in UTF-8 with finite numbers and each key once",
            cure="Send it as application/json",
        ) from None
    return value


def _refuse_constant(word: str) -> Any:
    raise ValueError(f"{word} is not a number")


def _each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    table = dict(pairs)
    if len(table) != len(pairs):
        raise ValueError("a key stands twice")
    return table


def events_from_text(data: bytes) -> list[Event]:
    """Read the file that a tablet exports from its queue.

    Parameters
    ----------
    data : bytes
        ``{"schema": "wearline.events/1", "events": [...]}``.

    Returns
    -------
    list of Event
        In the order of the file.

    Raises
    ------
    FileFormatError, InputError
        If it is not such a file, or an entry in it is wrong.
    """
    plain = strict_json(data)
    if not isinstance(plain, dict) or plain.get("schema") != EVENTS_SCHEMA:
        raise FileFormatError(
            "the file is not a queue of entries",
            allowed=f'a file with "schema": "{EVENTS_SCHEMA}" and "events"',
            cure="Give the file that the tablet exported",
        )
    entries = plain.get("events")
    if not isinstance(entries, list) or not entries:
        raise FileFormatError(
            "the file holds no entries", allowed='"events": [...]', cure="Export the queue again"
        )
    events = []
    for number, entry in enumerate(entries, start=1):
        try:
            events.append(event_from_plain(entry))
        except InputError as error:
            raise error.at(f"entry {number}") from None
    return events


def event_from_plain(plain: object) -> Event:
    """Read one entry.

    Parameters
    ----------
    plain : object
        JSON value.

    Returns
    -------
    Event
        The entry.

    Raises
    ------
    InputError
        Naming the key that is missing or wrong.
    """
    if not isinstance(plain, Mapping):
        raise InputError(
            "an entry is not an object", allowed="an object with id, draft, tablet, seq, at, kind"
        )
    unknown = sorted(str(key) for key in plain if key not in _KEYS)
    if unknown:
        raise _wrong(plain, f"has the unknown key '{unknown[0][:60]}'", ", ".join(sorted(_KEYS)))
    for key in _NEEDED:
        if plain.get(key) in (None, ""):
            raise _wrong(plain, f"has no {key}", ", ".join(_NEEDED))
    kind = plain["kind"]
    if kind not in EVENT_KINDS:
        raise _wrong(plain, "has an unknown kind", ", ".join(EVENT_KINDS))
    refers = _uuid(plain, "refers", needed=kind in ("retract", "settle"))
    event = Event(
        id=_uuid(plain, "id"),
        draft=_uuid(plain, "draft"),
        tablet=_uuid(plain, "tablet"),
        seq=_sequence(plain),
        at=_moment(plain),
        by=_short(plain, "by"),
        kind=kind,
        place=_matching(plain, "place", _PLACE, "a wheel end as 1L, or nothing for the vehicle"),
        field=_matching(plain, "field", _FIELD, "the name of a field"),
        spot=_matching(plain, "spot", _FIELD, "the name of a corner"),
        value=plain.get("value"),
        repeats=_repeats(plain),
        gauge=_short(plain, "gauge"),
        refers=refers,
        text=_text(plain),
    )
    if kind in ("fact", "reading", "cannot") and not event.field:
        raise _wrong(plain, f"is a {kind} and names no field", "the name of a field")
    return event


def _wrong(plain: Mapping[str, Any], what: str, allowed: str) -> InputError:
    name = plain.get("id")
    where = f"entry {name}" if isinstance(name, str) and _UUID.fullmatch(name) else "entry"
    return InputError(
        f"the entry {what}",
        where=where,
        allowed=allowed,
        cure="Update the page on the tablet and send it again",
    )


def _uuid(plain: Mapping[str, Any], key: str, *, needed: bool = True) -> str:
    value = plain.get(key)
    if value in (None, "") and not needed:
        return ""
    if not isinstance(value, str) or not _UUID.fullmatch(value):
        raise _wrong(plain, f"has a {key} that is no UUID", "a UUID in small letters")
    return value


def _sequence(plain: Mapping[str, Any]) -> int:
    value = plain["seq"]
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < 2**53:
        raise _wrong(plain, "has a seq that is no counting number", "a whole number from 0 on")
    return value


def _moment(plain: Mapping[str, Any]) -> datetime:
    value = plain["at"]
    try:
        if not isinstance(value, str) or not _AT.fullmatch(value):
            raise ValueError
        return datetime.fromisoformat(value).astimezone(UTC)
    except ValueError:
        raise _wrong(
            plain, "has an at that is no moment", "UTC with milliseconds, as 2026-09-14T07:30:00.000Z"
        ) from None


def _short(plain: Mapping[str, Any], key: str) -> str:
    value = plain.get(key)
    if value is None:
        return ""
    if not isinstance(value, str) or len(value) > _MAXIMUM_NAME or "\0" in value:
        raise _wrong(
            plain, f"has a {key} that is no short text", f"a text of at most {_MAXIMUM_NAME} characters"
        )
    return value


def _matching(plain: Mapping[str, Any], key: str, pattern: re.Pattern[str], allowed: str) -> str:
    value = plain.get(key)
    if value is None:
        return ""
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise _wrong(plain, f"has a {key} that is none", allowed)
    return value


def _repeats(plain: Mapping[str, Any]) -> tuple[str, ...]:
    value = plain.get("repeats")
    if value is None:
        return ()
    fits = isinstance(value, Sequence) and not isinstance(value, str) and len(value) <= _MAXIMUM_REPEATS
    if not fits or any(not isinstance(part, str) or len(part) > _MAXIMUM_NAME for part in value):
        raise _wrong(plain, "has repeats that are no list of readings", f"at most {_MAXIMUM_REPEATS} texts")
    return tuple(value)


def _text(plain: Mapping[str, Any]) -> str:
    try:
        text = canonical_text(plain)
        size = len(text.encode("utf-8"))
    except (ValueError, TypeError, RecursionError):
        raise _wrong(
            plain, "holds something that cannot be kept", "finite numbers and whole characters"
        ) from None
    if size > _MAXIMUM_TEXT or "\\u0000" in text:
        raise _wrong(plain, f"has {size} bytes or a NUL", f"at most {_MAXIMUM_TEXT} bytes of text")
    return text
