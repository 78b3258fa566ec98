"""What a person sees in a cell: a number's format decides whether 0.48 is '48 %', '0.48' or a day.

Source of the built-in formats and of the day count: ECMA-376, part 1, sections 18.8.30 (numFmt) and
18.17.4.1 (dates).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from wearline.ingest.wording import ShownNumber

__all__ = ["NumberFormat", "date_of_serial", "read_number_format", "shown_number"]

_DATE_IDS = frozenset([*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)])
_PERCENT_IDS = frozenset([9, 10])
_DECIMALS = {"2": 2, "4": 2, "10": 2, "39": 2, "40": 2}
_LITERAL = re.compile(r'"([^"]*)"|\\(.)|_.|\*.|\[[^\]]*\]')
_PLACEHOLDERS = re.compile(r"[0#?](?:[0#?.,/ ]*[0#?])?")


@dataclass(frozen=True, slots=True)
class NumberFormat:
    """How a number is shown.

    Parameters
    ----------
    is_date : bool
        As a day or time.
    is_percent : bool
        Times one hundred with a percent sign.
    decimals : int
        Decimals that are always shown.
    suffix : str
        Fixed text behind the number, such as a unit.
    """

    is_date: bool = False
    is_percent: bool = False
    decimals: int = 0
    suffix: str = ""


def read_number_format(number: str, code: str) -> NumberFormat:
    """Read a number format.

    Parameters
    ----------
    number : str
        Its id; small ids are built in.
    code : str
        Its code, empty for a built-in one.

    Returns
    -------
    NumberFormat
        What matters of it here.
    """
    if not code:
        identity = int(number) if number.isdecimal() else 0
        return NumberFormat(
            is_date=identity in _DATE_IDS,
            is_percent=identity in _PERCENT_IDS,
            decimals=_DECIMALS.get(number, 0),
        )
    first = _first_section(code)
    bare = _LITERAL.sub("", first)
    if bare.strip().casefold() == "general":
        return NumberFormat()
    if re.search(r"[dmyhs]", bare.casefold().replace("general", "")):
        return NumberFormat(is_date=True)
    if "%" in bare:
        return NumberFormat(is_percent=True, decimals=_fixed_decimals(bare))
    return NumberFormat(decimals=_fixed_decimals(bare), suffix=_suffix(first))


def _first_section(code: str) -> str:
    inside = False
    for n, character in enumerate(code):
        if character == '"':
            inside = not inside
        elif character == ";" and not inside:
            return code[:n]
    return code


def _fixed_decimals(bare: str) -> int:
    match = re.search(r"\.(0+)", bare)
    return min(len(match[1]), 9) if match else 0


def _suffix(section: str) -> str:
    """The fixed text behind the last digit of a format such as ``0.00" mm"``."""
    masked = _LITERAL.sub(lambda match: "\x00" * len(match[0]), section)
    ends = [match.end() for match in _PLACEHOLDERS.finditer(masked)]
    if not ends:
        return ""
    return _LITERAL.sub(lambda match: match[1] or match[2] or "", section[ends[-1] :]).strip(" ,")


def date_of_serial(serial: float, since_1904: bool) -> date | None:
    """Return the day of a spreadsheet's day count.

    Parameters
    ----------
    serial : float
        Days; the fraction is the time of day.
    since_1904 : bool
        Whether day 0 is 1904-01-01 instead of the count with the false leap day of 1900.

    Returns
    -------
    date or None
        The day; None where the count names none.
    """
    if not 0 <= serial < 2_958_466:
        return None
    if since_1904:
        origin = datetime(1904, 1, 1)
    else:
        origin = datetime(1899, 12, 30) if serial >= 60 else datetime(1899, 12, 31)
    try:
        return (origin + timedelta(days=int(serial))).date()
    except OverflowError:
        return None


def shown_number(number: Decimal, form: NumberFormat) -> ShownNumber:
    """Return a number as the cell shows it, but never with fewer digits than it has.

    Parameters
    ----------
    number : Decimal
        The stored number.
    form : NumberFormat
        Its format.

    Returns
    -------
    ShownNumber
        As ``"1.40"``, ``"48 %"`` or ``"1.40 mm"``.
    """
    value = number * 100 if form.is_percent else number
    text = f"{value.normalize():f}"
    digits = len(text.partition(".")[2])
    if digits < form.decimals:
        text = f"{value:.{form.decimals}f}"
    if form.is_percent:
        text = f"{text} %"
    elif form.suffix:
        text = f"{text} {form.suffix}"
    return ShownNumber(text)
