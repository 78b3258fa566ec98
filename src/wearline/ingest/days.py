"""Days: ISO only, since every other order means different days in different countries."""

from __future__ import annotations

import re
from datetime import date, datetime

from wearline.ingest.context import Context, Position
from wearline.ingest.wording import NOT_TAKEN, show

__all__ = ["EARLIEST_DAY", "read_date"]

EARLIEST_DAY = date(1980, 1, 1)
"""Older dates are slips of the year: no such vehicle runs any more."""


def read_date(
    context: Context, value: object, position: Position, *, latest: date | None = None
) -> date | None:
    """Read a day.

    Parameters
    ----------
    context : Context
        For messages.
    value : object
        A date, or a text in ISO form.
    position : Position
        Where it stands.
    latest : date, optional
        Today; a later day is refused.

    Returns
    -------
    date or None
        None where nothing is given.

    Raises
    ------
    ReadingError
        If it is no day, lies in the future or before 1980.
    """
    allowed = "a day as 2026-09-14"
    if isinstance(value, datetime):
        day = value.date()
    elif isinstance(value, date):
        day = value
    else:
        if isinstance(value, str) and value.strip().casefold() in NOT_TAKEN:
            return None
        if value is None:
            return None
        text = context.text(value, position)
        try:
            day = date.fromisoformat(text) if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text) else _no_day()
        except ValueError:
            raise context.fault(
                f"{show(text)} is not a day",
                position,
                allowed=allowed,
                cure="Write year, month, day with hyphens: other orders differ from country to country",
            ) from None
    if latest is not None and day > latest:
        raise context.fault(
            f"{day.isoformat()} lies in the future, today is {latest.isoformat()}",
            position,
            allowed=f"{allowed}, not after today",
            cure="Check the year, and the clock of this machine",
        )
    if day < EARLIEST_DAY:
        raise context.fault(
            f"{day.isoformat()} lies before {EARLIEST_DAY.year}",
            position,
            allowed=allowed,
            cure="Check the year",
        )
    return day


def _no_day() -> date:
    raise ValueError
