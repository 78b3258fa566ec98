"""One panel of a chart on a drawing: a frame with scales, ticks and titles, in the reports' two hues."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from wearline.reports.svg import Drawing, Point, hatch, number

__all__ = ["Panel", "amount_words", "nice_ticks", "sheet"]

TEXT = 11.0
SMALL = 10.0


def nice_ticks(low: float, high: float, most: int = 5) -> list[float]:
    """Return round numbers between two ends.

    Parameters
    ----------
    low, high : float
        Ends of a scale, low below high.
    most : int, optional
        About how many.

    Returns
    -------
    list of float
        Multiples of 1, 2, 2.5 or 5 times a power of ten.
    """
    raw = (high - low) / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(factor * power for factor in (1.0, 2.0, 2.5, 5.0, 10.0) if factor * power >= raw - 1e-12)
    first = math.ceil(low / step - 1e-9)
    return [step * n for n in range(first, math.floor(high / step + 1e-9) + 1)]


def amount_words(value: float) -> str:
    """Return a number with thin groups of digits.

    Parameters
    ----------
    value : float
        The number.

    Returns
    -------
    str
        As ``"62 000"`` or ``"0.25"``.
    """
    if value and abs(value) < 10 and abs(value - round(value)) > 1e-9:
        return f"{value:g}"
    return f"{value:,.0f}".replace(",", "\u202f")


def sheet(width: float, height: float, title: str, description: str) -> Drawing:
    """Return an empty drawing on paper of its own, so that it stands alone on any ground.

    Parameters
    ----------
    width, height : float
        Size [px].
    title, description : str
        What the drawing is and what it says.

    Returns
    -------
    Drawing
        With its paper.
    """
    drawing = Drawing(width, height, title, description)
    drawing.rectangle((0.0, 0.0), (width, height), fill="paper")
    return drawing


@dataclass(frozen=True, slots=True)
class Panel:
    """A frame with its scales.

    Parameters
    ----------
    left, top, right, bottom : float
        Edges of the frame on the drawing [px].
    x_low, x_high, y_low, y_high : float
        Ends of the scales.
    logarithmic : bool, optional
        Whether the horizontal scale is logarithmic.
    """

    left: float
    top: float
    right: float
    bottom: float
    x_low: float
    x_high: float
    y_low: float = 0.0
    y_high: float = 1.0
    logarithmic: bool = False

    def x(self, value: float) -> float:
        """Return the place of a value along the horizontal scale.

        Parameters
        ----------
        value : float
            The value; those beyond the ends stand at the ends.

        Returns
        -------
        float
            Place [px].
        """
        low, high, here = self.x_low, self.x_high, min(max(value, self.x_low), self.x_high)
        if self.logarithmic:
            low, high, here = math.log(low), math.log(high), math.log(here)
        return self.left + (here - low) / (high - low) * (self.right - self.left)

    def y(self, value: float) -> float:
        """Return the place of a value along the upright scale.

        Parameters
        ----------
        value : float
            The value; those beyond the ends stand at the ends.

        Returns
        -------
        float
            Place [px].
        """
        here = min(max(value, self.y_low), self.y_high)
        return self.bottom - (here - self.y_low) / (self.y_high - self.y_low) * (self.bottom - self.top)

    def at(self, x: float, y: float) -> Point:
        """Return the place of a pair of values.

        Parameters
        ----------
        x, y : float
            The values.

        Returns
        -------
        tuple of float
            Place [px].
        """
        return self.x(x), self.y(y)

    def x_axis(self, drawing: Drawing, title: str, ticks: Sequence[float] | None = None) -> None:
        """Draw the horizontal scale below the frame.

        Parameters
        ----------
        drawing : Drawing
            Where.
        title : str
            Quantity and unit.
        ticks : sequence of float, optional
            Values; round numbers where not given.
        """
        for value in nice_ticks(self.x_low, self.x_high) if ticks is None else ticks:
            x = self.x(value)
            drawing.line((x, self.bottom), (x, self.bottom + 4.0), "rule", 1.0)
            drawing.text((x, self.bottom + 16.0), amount_words(value), size=SMALL, anchor="middle")
        drawing.line((self.left, self.bottom), (self.right, self.bottom), "ink", 1.0)
        if title:
            middle = 0.5 * (self.left + self.right)
            drawing.text((middle, self.bottom + 31.0), title, size=TEXT, anchor="middle")

    def y_axis(self, drawing: Drawing, title: str, ticks: Sequence[float] | None = None) -> None:
        """Draw the upright scale at the left of the frame, its title above it.

        Parameters
        ----------
        drawing : Drawing
            Where.
        title : str
            Quantity and unit.
        ticks : sequence of float, optional
            Values; round numbers where not given.
        """
        for value in nice_ticks(self.y_low, self.y_high) if ticks is None else ticks:
            y = self.y(value)
            drawing.line((self.left, y), (self.right, y), "rule", 0.4)
            drawing.text((self.left - 6.0, y + 3.5), amount_words(value), size=SMALL, anchor="end")
        if title:
            drawing.text((self.left - 30.0, self.top - 8.0), title, size=SMALL, colour="muted")

    def line(
        self,
        drawing: Drawing,
        points: Sequence[Point],
        colour: str = "ink",
        width: float = 1.6,
        dash: str = "",
    ) -> None:
        """Draw a line through pairs of values.

        Parameters
        ----------
        drawing : Drawing
            Where.
        points : sequence of tuple of float
            Values.
        colour : str, optional
            Role in the palette.
        width : float, optional
            Stroke width [px].
        dash : str, optional
            Dash pattern, empty for a solid line.
        """
        places = [self.at(*point) for point in points]
        path = "L".join(f"{number(x)} {number(y)}" for x, y in places)
        drawing.path(f"M{path}" if path else "", colour, width, dash)

    def steps(
        self,
        drawing: Drawing,
        points: Sequence[Point],
        colour: str = "ink",
        width: float = 1.6,
        dash: str = "",
    ) -> None:
        """Draw a stair through pairs of values: each holds until the next.

        Parameters
        ----------
        drawing : Drawing
            Where.
        points : sequence of tuple of float
            Values, rising along the horizontal scale.
        colour : str, optional
            Role in the palette.
        width : float, optional
            Stroke width [px].
        dash : str, optional
            Dash pattern, empty for a solid line.
        """
        stair: list[Point] = []
        for x, y in points:
            if stair:
                stair.append((x, stair[-1][1]))
            stair.append((x, y))
        self.line(drawing, stair, colour, width, dash)

    def beyond(self, drawing: Drawing, first: float, last: float) -> None:
        """Hatch what lies beyond, between two values of the horizontal scale.

        Parameters
        ----------
        drawing : Drawing
            Where.
        first, last : float
            Values.
        """
        drawing.path(hatch(self.x(first), self.top, self.x(last), self.bottom, 7.0), "beyond", 0.45)

    def stroke(self, drawing: Drawing, value: float, words: str = "", colour: str = "beyond") -> None:
        """Draw a value of the horizontal scale as an upright stroke with its words above.

        Parameters
        ----------
        drawing : Drawing
            Where.
        value : float
            The value.
        words : str, optional
            What it is.
        colour : str, optional
            Role in the palette.
        """
        x = self.x(value)
        drawing.line((x, self.top - 3.0), (x, self.bottom), colour, 1.8)
        if words:
            anchor = "end" if x > 0.7 * self.right + 0.3 * self.left else "start"
            shift = -4.0 if anchor == "end" else 4.0
            drawing.text((x + shift, self.top + 8.0), words, size=SMALL, colour=colour, anchor=anchor)
