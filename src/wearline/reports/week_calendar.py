"""Bookings as a calendar file (RFC 5545): one all-day event for each visit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

__all__ = ["CalendarEvent", "calendar_text"]

_FOLD = 75
"""Octets of a line, without its end (RFC 5545, 3.1)."""


@dataclass(frozen=True, slots=True)
class CalendarEvent:
    """One event of whole days.

    Parameters
    ----------
    uid : str
        Name that stays the same when the plan is made anew.
    first : date
        First day.
    days : int
        Number of days.
    summary, description, location : str
        Texts.
    """

    uid: str
    first: date
    days: int
    summary: str
    description: str = ""
    location: str = ""


def calendar_text(events: Sequence[CalendarEvent], *, made_at: datetime) -> str:
    """Return a calendar file.

    Parameters
    ----------
    events : sequence of CalendarEvent
        Events.
    made_at : datetime
        When it was made, with time zone.

    Returns
    -------
    str
        Text with the line ends that the standard asks for.

    Notes
    -----
    RFC 5545: 3.1 folding, 3.3.11 escaping, 3.6.1 events, 3.8.2.4 and 3.8.2.2 start and exclusive end.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//wearline//plan//EN", "CALSCALE:GREGORIAN"]
    stamp = made_at.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    for event in events:
        lines += [
            "BEGIN:VEVENT",
            f"UID:{_escaped(event.uid)}",
            f"DTSTAMP:{stamp}",
            f"DTSTART;VALUE=DATE:{event.first:%Y%m%d}",
            f"DTEND;VALUE=DATE:{event.first + timedelta(days=event.days):%Y%m%d}",
            f"SUMMARY:{_escaped(event.summary)}",
        ]
        if event.description:
            lines.append(f"DESCRIPTION:{_escaped(event.description)}")
        if event.location:
            lines.append(f"LOCATION:{_escaped(event.location)}")
        lines += ["TRANSP:TRANSPARENT", "END:VEVENT"]
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) + "\r\n" for line in lines)


def _escaped(text: str) -> str:
    plain = "".join(letter for letter in text if letter in "\n\t" or letter >= " ")
    return plain.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def _folded(line: str) -> str:
    """Break a line so that no piece is longer than 75 octets and no letter is cut."""
    pieces, piece, size = [], "", 0
    for letter in line:
        octets = len(letter.encode("utf-8", "replace"))
        if size + octets > _FOLD:
            pieces.append(piece)
            piece, size = " ", 1
        piece += letter
        size += octets
    return "\r\n".join([*pieces, piece])
