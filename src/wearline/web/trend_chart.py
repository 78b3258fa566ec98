"""The thinnest corners over the road: one small chart for each axle, left and right together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from wearline.reports.content_model import Picture
from wearline.reports.svg import Drawing, hatch
from wearline.storage.overviews import ThinnestRow

__all__ = ["TrendPoint", "draw_trend", "thinnest_points"]

WIDTH, HEIGHT = 340.0, 170.0
LEFT, RIGHT, TOP, BOTTOM = 34.0, 300.0, 14.0, 142.0


@dataclass(frozen=True, slots=True)
class TrendPoint:
    """The thinnest corner at one wheel end on one day.

    Parameters
    ----------
    at : str
        Wheel end.
    taken_on : date
        Day.
    km : float or None
        Odometer.
    thinnest_mm : float
        Thinnest corner of both pads.
    """

    at: str
    taken_on: date
    km: float | None
    thinnest_mm: float


def thinnest_points(rows: Sequence[ThinnestRow]) -> list[TrendPoint]:
    """Return the thinnest corner of every wheel end at every inspection.

    Parameters
    ----------
    rows : sequence of ThinnestRow
        Of both pads, oldest first.

    Returns
    -------
    list of TrendPoint
        Oldest first.
    """
    found = [
        TrendPoint(
            row.wheel_end,
            row.taken_on,
            None if row.odometer is None else round(row.odometer / 1e3, 1),
            round(1e3 * row.value, 2),
        )
        for row in rows
    ]
    return sorted(found, key=lambda point: (point.taken_on, point.at))


def draw_trend(axle: str, points: Sequence[TrendPoint], limit_mm: float | None) -> Picture:
    """Draw the trend of one axle.

    Parameters
    ----------
    axle : str
        Its id.
    points : sequence of TrendPoint
        Of its wheel ends, oldest first; at least one.
    limit_mm : float or None
        Service minimum.

    Returns
    -------
    Picture
        Left as a solid line, right as a broken one; the side below the limit is hatched.
    """
    by_km = all(point.km is not None for point in points)
    places = {point: _place(point, by_km) for point in points}
    low, high = min(places.values()), max(places.values())
    top = max(*(point.thinnest_mm for point in points), limit_mm or 0.0, 5.0) * 1.12
    sides: dict[str, list[TrendPoint]] = {}
    for point in points:
        sides.setdefault(point.at, []).append(point)
    said = "; ".join(
        f"{at} from {own[0].thinnest_mm:g} to {own[-1].thinnest_mm:g} mm" for at, own in sorted(sides.items())
    )
    drawing = Drawing(WIDTH, HEIGHT, f"Thinnest corner at axle {axle}", f"{said}.")

    def spot(point: TrendPoint) -> tuple[float, float]:
        share = 0.5 if high == low else (places[point] - low) / (high - low)
        return LEFT + share * (RIGHT - LEFT), BOTTOM - point.thinnest_mm / top * (BOTTOM - TOP)

    _frame(drawing, top, limit_mm)
    _ends(drawing, points, by_km)
    _lines(drawing, sides, spot)
    return Picture(drawing.render(), f"Thinnest corner at axle {axle} over the road: {said}.")


def _place(point: TrendPoint, by_km: bool) -> float:
    if by_km:
        assert point.km is not None
        return point.km
    return float(point.taken_on.toordinal())


def _frame(drawing: Drawing, top: float, limit_mm: float | None) -> None:
    step = 5.0 if top > 12 else 2.0
    value = 0.0
    while value <= top:
        y = BOTTOM - value / top * (BOTTOM - TOP)
        drawing.line((LEFT, y), (RIGHT, y), "rule", 0.4)
        drawing.text((LEFT - 5, y + 3.5), f"{value:g}", size=10, colour="muted", anchor="end")
        value += step
    drawing.text((LEFT - 5, TOP - 4), "mm", size=10, colour="muted", anchor="end")
    if limit_mm is not None:
        y = BOTTOM - limit_mm / top * (BOTTOM - TOP)
        drawing.path(hatch(LEFT, y, RIGHT, BOTTOM, 5.0), "beyond", 0.5)
        drawing.line((LEFT, y), (RIGHT, y), "beyond", 1.6)


def _ends(drawing: Drawing, points: Sequence[TrendPoint], by_km: bool) -> None:
    first, last = points[0], points[-1]
    texts = (
        (f"{min(p.km or 0 for p in points):,.0f} km", f"{max(p.km or 0 for p in points):,.0f} km")
        if by_km
        else (first.taken_on.isoformat(), last.taken_on.isoformat())
    )
    left, right = (text.replace(",", " ") for text in texts)
    drawing.text((LEFT, BOTTOM + 16), left, size=10, colour="muted")
    if right != left:
        drawing.text((RIGHT, BOTTOM + 16), right, size=10, colour="muted", anchor="end")


def _lines(drawing: Drawing, sides: Mapping[str, list[TrendPoint]], spot: object) -> None:
    assert callable(spot)
    labels: list[float] = []
    for at, own in sorted(sides.items()):
        broken = "5 3" if at.endswith("R") else ""
        before: TrendPoint | None = None
        for point in own:
            x, y = spot(point)
            # thicker than before: the pads were renewed, and no line leads from the old to the new
            if before is not None and point.thinnest_mm <= before.thinnest_mm + 1.0:
                drawing.line(spot(before), (x, y), "good", 1.6, broken)
            drawing.circle(
                (x, y), 2.6, fill="good" if at.endswith("L") else "paper", stroke="good", width=1.4
            )
            before = point
        x, y = spot(own[-1])
        while any(abs(y - other) < 11 for other in labels):
            y += 11
        labels.append(y)
        drawing.text((x + 7, y + 4), at, size=11, colour="ink", bold=True)
