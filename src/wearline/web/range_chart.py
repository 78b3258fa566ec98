"""How far each axle runs to its limit: a bar from the 5th to the 95th percentile, a dot at the median."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from wearline.reports.content_model import Picture
from wearline.reports.svg import Drawing

__all__ = ["draw_ranges"]

WIDTH, LEFT, RIGHT, ROW = 460.0, 70.0, 440.0, 26.0


def draw_ranges(axles: Sequence[Mapping[str, Any]]) -> Picture:
    """Draw the forecast of the axles of one vehicle.

    Parameters
    ----------
    axles : sequence of mapping
        As in ``wearline.outlook/1``: ``axle``, ``km_p05``, ``km_median``, ``km_p95``; at least one.

    Returns
    -------
    Picture
        The drawing, scaled to the longest range.
    """
    top = max(max(float(axle["km_p95"]), 1.0) for axle in axles)
    said = "; ".join(
        f"axle {axle['axle']} {axle['km_median']:,.0f} km, 90 % between {axle['km_p05']:,.0f} and "
        f"{axle['km_p95']:,.0f} km".replace(",", " ")
        for axle in axles
    )
    height = ROW * len(axles) + 34.0
    drawing = Drawing(WIDTH, height, "Distance to the limit, axle by axle", f"{said}.")
    for number, axle in enumerate(axles):
        y = 16.0 + ROW * number
        low, middle, high = (
            LEFT + max(0.0, float(axle[name])) / top * (RIGHT - LEFT)
            for name in ("km_p05", "km_median", "km_p95")
        )
        drawing.text((LEFT - 10, y + 4), f"axle {axle['axle']}", size=11, anchor="end", bold=True)
        drawing.line((LEFT, y), (RIGHT, y), "rule", 0.5)
        drawing.line((low, y), (high, y), "good", 5.0)
        drawing.circle((middle, y), 5.0, fill="paper", stroke="good", width=2.0)
    y = 16.0 + ROW * len(axles) - 6.0
    drawing.line((LEFT, y), (RIGHT, y), "ink", 1.0)
    for share in (0.0, 0.5, 1.0):
        words = f"{share * top:,.0f} km".replace(",", " ")
        anchor = {0.0: "start", 0.5: "middle", 1.0: "end"}[share]
        drawing.text((LEFT + share * (RIGHT - LEFT), y + 15), words, size=10, colour="muted", anchor=anchor)
    return Picture(drawing.render(), f"Distance to the limit: {said}.")
