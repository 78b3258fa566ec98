"""The limit ruler: a reading as a dot with its whisker on a line, its limit as a stroke, hatching beyond it.

The line is scaled in the unit in which the limit was published. A solid round dot is a reading within its
limit, a solid dot standing on its corner one beyond it, an open dot an undecided one; a void reading has the
word 'void' across the line instead. Several readings of one kind share a ruler, one row each.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from wearline.assessment.results import JudgedReading, Verdict
from wearline.catalogue.model import Limit
from wearline.reports.svg import Drawing, hatch
from wearline.reports.words import (
    COVERAGE_FACTOR,
    converted_text,
    expanded_text,
    limit_text,
    probability_text,
    spot_words,
    unit_label,
    value_text,
)
from wearline.uncertainty.rules import Sense
from wearline.units import Kind, to_unit

__all__ = ["RulerScale", "describe_ruler", "draw_ruler", "ruler_scale"]

ROW = 12.0
LABEL_BAND = 13.0
TICK_BAND = 17.0
MARGIN = 8.0
ROW_LABEL = 24.0
COUNTED = 4.0
_NO_ZERO = (Kind.TEMPERATURE, Kind.TEMPERATURE_DIFFERENCE)


@dataclass(frozen=True, slots=True)
class RulerScale:
    """The line of a ruler.

    Parameters
    ----------
    unit : str
        Unit of the line.
    low, high : float
        Numbers at its ends [unit].
    left, right : float
        Where its ends lie [px].
    ticks : tuple of float
        Numbers at the ticks [unit].
    """

    unit: str
    low: float
    high: float
    left: float
    right: float
    ticks: tuple[float, ...]

    def x(self, number: float) -> float:
        """Return where a number lies on the line.

        Parameters
        ----------
        number : float
            Number [unit].

        Returns
        -------
        float
            Place [px].
        """
        share = (number - self.low) / (self.high - self.low)
        return self.left + share * (self.right - self.left)

    def x_of(self, value: float) -> float:
        """Return where an SI value lies on the line.

        Parameters
        ----------
        value : float
            Value [SI unit].

        Returns
        -------
        float
            Place [px].
        """
        return self.x(float(to_unit(value, self.unit)))


def _limits(readings: Sequence[JudgedReading]) -> tuple[Limit | None, list[Limit]]:
    """The limit that governs, and the others of the same quantity, each once."""
    governing = next((reading.limit for reading in readings if reading.limit is not None), None)
    others: dict[str, Limit] = {}
    for reading in readings:
        own = [reading.limit] if reading.limit is not None else []
        for limit in (*own, *(held.limit for held in reading.others)):
            if governing is None or limit.id != governing.id:
                others.setdefault(limit.id, limit)
    return governing, list(others.values())


def _ends(reading: JudgedReading, unit: str) -> tuple[float, float, float]:
    """Lower end of the whisker, reading, upper end [unit]."""
    assert reading.value is not None
    half = COVERAGE_FACTOR * (reading.u or 0.0)
    low, middle, high = (float(to_unit(reading.value + step, unit)) for step in (-half, 0.0, half))
    return low, middle, high


def _ticks(low: float, high: float) -> tuple[float, ...]:
    raw = (high - low) / 5
    magnitude = 10.0 ** math.floor(math.log10(raw))
    step = next(factor * magnitude for factor in (1, 2, 2.5, 5, 10) if factor * magnitude >= raw * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return tuple(count * step for count in range(first, last + 1))


def ruler_scale(readings: Sequence[JudgedReading], *, width: float = 300.0) -> RulerScale:
    """Return the line on which readings and their limits are drawn.

    Parameters
    ----------
    readings : sequence of JudgedReading
        Readings of one quantity, at least one.
    width : float
        Width of the drawing, 120 or more [px].

    Returns
    -------
    RulerScale
        A line that holds every reading with its whisker and every limit, with room on the side beyond the
        limit that governs; it starts at zero under a limit that is not to be exceeded, and where the numbers
        reach down to half of the largest or less.
    """
    governing, others = _limits(readings)
    unit = governing.unit if governing is not None else readings[0].unit
    numbers = [end for reading in readings if reading.value is not None for end in _ends(reading, unit)]
    numbers += [float(to_unit(limit.value, unit)) for limit in ([governing] if governing else []) + others]
    low, high = (min(numbers), max(numbers)) if numbers else (0.0, 1.0)
    if unit == "1":
        high = max(high, low + COUNTED)
    span = (high - low) or abs(high) or 1.0
    low, high = low - 0.06 * span, high + 0.06 * span
    if governing is not None:
        at = float(to_unit(governing.value, unit))
        room = 0.16 * (high - low)
        low = min(low, at - room) if governing.sense is Sense.AT_LEAST else low
        high = max(high, at + room) if governing.sense is Sense.AT_MOST else high
    from_zero = governing is not None and governing.sense is Sense.AT_MOST and governing.kind not in _NO_ZERO
    if numbers and min(numbers) >= 0 and (low < 0 or from_zero or min(numbers) <= 0.5 * max(numbers)):
        low = 0.0
    left = MARGIN + (ROW_LABEL if len(readings) > 1 else 0.0)
    return RulerScale(unit, low, high, left, width - MARGIN - 16.0, _ticks(low, high))


def _tick_text(number: float, ticks: Sequence[float]) -> str:
    step = ticks[1] - ticks[0] if len(ticks) > 1 else abs(number) or 1.0
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    if abs(step * 10**places - round(step * 10**places)) > 1e-6:
        places += 1
    text = f"{number:.{places}f}"
    return "0" if not text.strip("-0.") else text.replace("-", "\u2212")


def _draw_line(drawing: Drawing, scale: RulerScale, base: float, *, taken: bool) -> None:
    drawing.line((scale.left, base), (scale.right, base), "ink", 1.0, "" if taken else "3 3")
    for tick in scale.ticks:
        x = scale.x(tick)
        drawing.line((x, base), (x, base + 4), "ink", 0.8)
        drawing.text((x, base + 13), _tick_text(tick, scale.ticks), size=8, colour="muted", anchor="middle")
    drawing.text((scale.right + 5, base + 3), unit_label(scale.unit), size=8, colour="muted")


def _label_of(limit: Limit) -> str:
    authority = f" {limit.authority}" if limit.authority in ("law", "roadside") else ""
    return f"{limit.published}{authority}"


@dataclass(frozen=True, slots=True)
class _Label:
    """The published form of a limit above its stroke, on the lower line (0) or the upper one (1)."""

    x: float
    text: str
    governs: bool
    level: int


def _labels(scale: RulerScale, readings: Sequence[JudgedReading], width: float) -> list[_Label]:
    """Labels of the limits, on a second line where they would touch; without room, none."""
    governing, others = _limits(readings)
    taken: dict[int, list[tuple[float, float]]] = {0: [], 1: []}
    placed = []
    for limit in ([governing] if governing is not None else []) + others:
        governs = limit is governing
        text = _label_of(limit)
        half = 2.3 * len(text) + 3
        centre = min(max(scale.x_of(limit.value), half), width - half)
        free = [
            level
            for level, spans in taken.items()
            if all(centre + half < start or centre - half > end for start, end in spans)
        ]
        if free:
            taken[free[0]].append((centre - half, centre + half))
            placed.append(_Label(centre, text, governs, free[0]))
    return placed


def _draw_limits(
    drawing: Drawing, scale: RulerScale, readings: Sequence[JudgedReading], top: float, base: float
) -> None:
    governing, others = _limits(readings)
    if governing is not None:
        x = scale.x_of(governing.value)
        span = (scale.left, x) if governing.sense is Sense.AT_LEAST else (x, scale.right)
        drawing.path(hatch(span[0], top + 2, span[1], base), "beyond", 0.7)
        drawing.line((x, top - 1), (x, base + 4), "beyond", 2.0)
    for limit in others:
        x = scale.x_of(limit.value)
        drawing.line((x, top + 1), (x, base + 3), "muted", 1.0, "" if limit.decides else "2 2")
        if limit.decides:
            side = -1 if limit.sense is Sense.AT_LEAST else 1
            for step in (0, 3, 6):
                drawing.line((x, top + 4 + step), (x + side * 4, top + 1 + step), "muted", 0.8)


def _clear_place(scale: RulerScale, strokes: Sequence[float]) -> float:
    """The place on the line furthest from every stroke, for a word across it [px]."""
    places = [scale.left + share * (scale.right - scale.left) for share in (0.5, 0.35, 0.65, 0.2, 0.8)]
    return max(places, key=lambda place: min((abs(place - stroke) for stroke in strokes), default=0.0))


def _draw_reading(
    drawing: Drawing, scale: RulerScale, reading: JudgedReading, y: float, strokes: Sequence[float]
) -> None:
    if reading.verdict is Verdict.VOID or reading.value is None:
        word = "void" if reading.verdict is Verdict.VOID else "not taken"
        middle = _clear_place(scale, strokes)
        half = 3.0 * len(word) + 6
        drawing.rectangle((middle - half, y - 7), (2 * half, 14), fill="paper")
        drawing.text((middle, y + 4), word, size=12, colour="ink", anchor="middle", italic=True)
        return
    low, centre, high = (scale.x(number) for number in _ends(reading, scale.unit))
    colour = {Verdict.WITHIN: "good", Verdict.BEYOND: "beyond"}.get(reading.verdict, "ink")
    colour = colour if reading.limit is not None else "muted"
    drawing.circle((centre, y), 5.6, fill="paper")
    if high - low > 0.5:
        drawing.line((low, y), (high, y), "paper", 4.0)
        drawing.line((low, y), (high, y), colour, 1.6)
        for end in (low, high):
            drawing.line((end, y - 3.5), (end, y + 3.5), colour, 1.6)
    if reading.verdict is Verdict.WITHIN:
        drawing.circle((centre, y), 4.0, fill=colour)
    elif reading.verdict is Verdict.BEYOND:
        corners = ((centre, y - 5), (centre + 5, y), (centre, y + 5), (centre - 5, y))
        drawing.polygon(corners, fill=colour)
    else:
        drawing.circle((centre, y), 4.0, fill="paper", stroke=colour, width=1.6)


def describe_ruler(readings: Sequence[JudgedReading]) -> str:
    """Return in words what a ruler shows.

    Parameters
    ----------
    readings : sequence of JudgedReading
        Readings of one quantity.

    Returns
    -------
    str
        One sentence for each reading and each limit.
    """
    parts = []
    for reading in readings:
        spot = f"{spot_words(reading.spot)}: " if reading.spot else ""
        expanded = f" {expanded_text(reading)}" if reading.u else ""
        converted = f" ({converted_text(reading)})" if converted_text(reading) else ""
        probability = probability_text(reading.p_within)
        chance = f", probability within {probability}" if probability and reading.limit is not None else ""
        parts.append(f"{spot}{value_text(reading)}{expanded}{converted}, {reading.verdict}{chance}.")
    governing, others = _limits(readings)
    if governing is not None:
        parts.append(f"Limit {limit_text(governing)}, {governing.status}.")
    parts += [f"Also shown: {limit_text(limit)}, {limit.authority}." for limit in others]
    return " ".join(parts)


def draw_ruler(readings: Sequence[JudgedReading], *, width: float = 300.0) -> str:
    """Return the limit ruler of readings of one quantity as an SVG drawing.

    Parameters
    ----------
    readings : sequence of JudgedReading
        Readings of one quantity and one governing limit, at least one; several get one row each, named by
        their spot.
    width : float
        Width of the drawing, 120 or more [px].

    Returns
    -------
    str
        One ``svg`` element with title and description.
    """
    scale = ruler_scale(readings, width=width)
    labels = _labels(scale, readings, width)
    top = LABEL_BAND * (1 + max((label.level for label in labels), default=0))
    several = len(readings) > 1
    base = top + (ROW * len(readings) + 2 if several else ROW)
    first = readings[0]
    title = f"Limit ruler: {first.label}" + (f" at {first.place}" if first.place else "")
    drawing = Drawing(width, base + TICK_BAND, title, describe_ruler(readings))
    for label in labels:
        colour = "beyond" if label.governs else "muted"
        y = top - LABEL_BAND * label.level - 4
        drawing.text((label.x, y), label.text, size=8.5, colour=colour, anchor="middle", bold=label.governs)
    _draw_limits(drawing, scale, readings, top, base)
    _draw_line(drawing, scale, base, taken=any(reading.value is not None for reading in readings))
    governing, others = _limits(readings)
    strokes = [scale.x_of(limit.value) for limit in ([governing] if governing else []) + others]
    for row, reading in enumerate(readings):
        y = top + ROW * (row + 0.5) if several else base - ROW / 2
        if several:
            drawing.text((scale.left - 4, y + 3), reading.spot, size=8, colour="muted", anchor="end")
        _draw_reading(drawing, scale, reading, y, strokes)
    return drawing.render()
