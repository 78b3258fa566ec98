"""How readings, limits and verdicts are put into words, the same on paper, page and terminal."""

from __future__ import annotations

import math
import re
import unicodedata
from typing import TYPE_CHECKING

from wearline.uncertainty.rules import Sense
from wearline.units import format_quantity, to_unit, unit_of_symbol

if TYPE_CHECKING:
    from wearline.assessment.results import JudgedReading
    from wearline.catalogue.model import Limit

__all__ = [
    "COVERAGE_FACTOR",
    "breakable",
    "converted_text",
    "distance_text",
    "expanded_text",
    "label_parts",
    "limit_text",
    "margin_text",
    "place_words",
    "probability_text",
    "quantity_text",
    "settle_text",
    "shown_text",
    "spot_words",
    "unit_label",
    "value_text",
]

COVERAGE_FACTOR = 2.0
"""k of every expanded uncertainty that a report shows, about 95 % (JCGM 100:2008, 6.3.3)."""

_SPOTS = {
    "LT": "leading top",
    "LB": "leading bottom",
    "TT": "trailing top",
    "TB": "trailing bottom",
    "inner": "inner pad",
    "outer": "outer pad",
}
# Marks that turn the reading direction of what follows: in a text typed by somebody they can make one value
# look like another.
_DIRECTION_MARKS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_UNIT_LABELS = {
    "degC": "°C",
    "degF": "°F",
    "delta_degC": "K",
    "delta_degF": "°F",
    "N m": "N·m",
    "kN m": "kN·m",
    "m/s2": "m/s²",
    "ft/s2": "ft/s²",
    "g_n": "g",
    "1": "",
}
_LONG_RUN = re.compile(r"[^\s\u200b]{25,}")


def shown_text(text: str) -> str:
    """Return a text as it can stand on paper or in a drawing.

    Parameters
    ----------
    text : str
        Any text that a person typed.

    Returns
    -------
    str
        Without control characters, lone surrogates and marks that turn the reading direction; each line
        break and tab is one space.
    """
    if text.isprintable():
        return text  # no sign of the categories that are left out, and no mark of direction, is printable
    spaced = re.sub(r"[\t\r\n\v\f\u0085\u2028\u2029]+", " ", text)
    return "".join(
        sign
        for sign in spaced
        if sign not in _DIRECTION_MARKS
        and unicodedata.category(sign) not in ("Cc", "Cs", "Cn", "Co")
        and sign != "\ufeff"
    )


def breakable(text: str) -> str:
    """Return a text in which very long words can be broken at the end of a line.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        The text of ``shown_text`` with a break without width after each 12 signs of words of 25 signs and
        more.
    """
    return _LONG_RUN.sub(
        lambda run: "\u200b".join(re.findall(r".{1,12}", run.group(), re.DOTALL)), shown_text(text)
    )


def unit_label(unit: str) -> str:
    """Return a unit as it stands on paper.

    Parameters
    ----------
    unit : str
        Canonical symbol.

    Returns
    -------
    str
        As ``"°C"`` for ``"degC"``; empty for a plain number.
    """
    return _UNIT_LABELS.get(unit, unit)


def quantity_text(value: float, unit: str, decimals: int | None = None) -> str:
    """Return a value with its unit as it stands on paper.

    Parameters
    ----------
    value : float
        The value [SI unit].
    unit : str
        Unit to show.
    decimals : int, optional
        Decimals; the usual number of the unit when left out.

    Returns
    -------
    str
        As ``"118 °C"``: the unit in its printed form, where the files write it in plain letters.
    """
    number = format_quantity(value, unit, decimals).partition(" ")[0]
    return f"{number} {unit_label(unit)}".strip()


def _decimals(value: float, uncertainty: float | None, unit: str, *, spare: bool = False) -> int | None:
    """Decimals for an uncertainty written with two digits, or with one where ``spare`` allows it."""
    if not uncertainty:
        return None
    width = abs(to_unit(value + uncertainty, unit) - to_unit(value, unit))
    if width < 1e-9:
        return None
    exponent = math.floor(math.log10(width) + 1e-9)
    digits = 1 if spare and width / 10.0**exponent >= 2.5 else 2
    return min(max(digits - 1 - exponent, 0), 4)


def _expanded(reading: JudgedReading) -> float | None:
    return COVERAGE_FACTOR * reading.u if reading.u else None


def _difference_text(reading: JudgedReading, width: float, unit: str, places: int | None) -> str:
    """A distance from a reading [SI] in words; a difference of temperatures has no offset."""
    assert reading.value is not None
    size = abs(to_unit(reading.value + width, unit) - to_unit(reading.value, unit))
    if places is None:
        places = unit_of_symbol(unit).decimals
    return f"{size:.{places}f} {'K' if unit == 'degC' else unit_label(unit)}".strip()


def expanded_text(reading: JudgedReading) -> str:
    """Return the expanded uncertainty of a reading in words.

    Parameters
    ----------
    reading : JudgedReading
        A reading.

    Returns
    -------
    str
        As ``"± 0.20 mm"``, with two significant digits (JCGM 100:2008, 7.2.6); empty where the reading has
        none.
    """
    expanded = _expanded(reading)
    if reading.value is None or expanded is None:
        return ""
    places = _decimals(reading.value, expanded, reading.unit)
    return "± " + _difference_text(reading, expanded, reading.unit, places)


def value_text(reading: JudgedReading) -> str:
    """Return what was read, as the person wrote it.

    Parameters
    ----------
    reading : JudgedReading
        A reading.

    Returns
    -------
    str
        As ``"1.40 mm"``, ``"stuck"``, or ``"not taken"``.
    """
    if reading.value is None:
        return shown_text(reading.word) or "not taken"
    expanded = _expanded(reading)
    return shown_text(reading.raw) or quantity_text(
        reading.value, reading.unit, _decimals(reading.value, expanded, reading.unit)
    )


def converted_text(reading: JudgedReading) -> str:
    """Return a reading in the unit of its limit.

    Parameters
    ----------
    reading : JudgedReading
        A reading.

    Returns
    -------
    str
        As ``"0.055 in"``; empty where the reading has that unit already.
    """
    if reading.value is None or reading.limit is None or reading.limit.unit == reading.unit:
        return ""
    unit = reading.limit.unit
    return quantity_text(reading.value, unit, _decimals(reading.value, _expanded(reading), unit, spare=True))


def limit_text(limit: Limit) -> str:
    """Return a limit as it was published.

    Parameters
    ----------
    limit : Limit
        A limit.

    Returns
    -------
    str
        As ``"at most 0.080 in (2.03 mm)"``; ``"under"`` or ``"over"`` where the limit itself does not pass.
    """
    if limit.sense is Sense.AT_LEAST:
        sense = "at least" if limit.passes_at_limit else "over"
    else:
        sense = "at most" if limit.passes_at_limit else "under"
    also = f" ({limit.also})" if limit.also else ""
    return f"{sense} {limit.published}{also}"


def margin_text(reading: JudgedReading) -> str:
    """Return how far a reading stands from its limit.

    Parameters
    ----------
    reading : JudgedReading
        A reading.

    Returns
    -------
    str
        As ``"0.60 mm to the limit"`` or ``"0.60 mm beyond"``; empty without a limit, and for a count.
    """
    if reading.margin is None or reading.value is None or reading.limit is None:
        return ""
    unit = reading.limit.unit
    if unit == "1":
        return ""
    places = _decimals(reading.value, _expanded(reading), unit, spare=True)
    text = _difference_text(reading, reading.margin, unit, places).replace(" %", " points")
    return f"{text} to the limit" if reading.margin >= 0 else f"{text} beyond"


def settle_text(reading: JudgedReading) -> str:
    """Return what would settle an undecided reading, as a sentence of its own.

    Parameters
    ----------
    reading : JudgedReading
        A reading.

    Returns
    -------
    str
        As ``"to settle it: three more readings"``; the words as they are where they say so themselves.
    """
    if not reading.settle or "settle" in reading.settle:
        return reading.settle
    return f"to settle it: {reading.settle}"


def probability_text(probability: float | None) -> str:
    """Return a probability in percent, never rounded to certainty.

    Parameters
    ----------
    probability : float or None
        From 0 to 1 [1].

    Returns
    -------
    str
        As ``"91 %"``, ``"<1 %"``, ``">99 %"``; empty for None.
    """
    if probability is None or math.isnan(probability):
        return ""
    if probability < 0.01:
        return "<1 %"
    if probability > 0.99:
        return ">99 %"
    return f"{100 * probability:.0f} %"


def label_parts(label: str) -> tuple[str, str]:
    """Return a name of the trade in two parts, the short name and the rest.

    Parameters
    ----------
    label : str
        As ``"total calliper travel (running clearance, both sides)"``.

    Returns
    -------
    tuple of str
        What stands before the first comma or bracket, and what is left without that sign.
    """
    match = re.match(r"(.+?)(?: \((.*)\)|, (.*))$", label)
    return (match[1], match[2] or match[3] or "") if match is not None else (label, "")


def spot_words(spot: str) -> str:
    """Return what the short name of a spot means.

    Parameters
    ----------
    spot : str
        ``"LT"``, ``"inner"`` and so on.

    Returns
    -------
    str
        As ``"leading top"``; the spot itself where it has no longer name.
    """
    return _SPOTS.get(spot, spot)


def place_words(place: str) -> str:
    """Return a wheel end, axle or vehicle in words.

    Parameters
    ----------
    place : str
        ``"1L"``, ``"T2"`` or empty.

    Returns
    -------
    str
        As ``"axle 1, left"``, ``"trailer axle 2"``, ``"the vehicle"``.
    """
    if not place:
        return "the vehicle"
    side = {"L": ", left", "R": ", right"}.get(place[-1], "")
    axle = place[:-1] if side else place
    name = f"trailer axle {axle[1:]}" if axle.startswith("T") else f"axle {axle}"
    return name + side


def distance_text(distance: float | None) -> str:
    """Return a road distance in kilometres with grouped digits.

    Parameters
    ----------
    distance : float or None
        Distance [m].

    Returns
    -------
    str
        As ``"412 300 km"`` with spaces that do not break; ``"not given"`` for None.
    """
    if distance is None:
        return "not given"
    return f"{distance / 1000:,.0f}".replace(",", "\u00a0") + "\u00a0km"
