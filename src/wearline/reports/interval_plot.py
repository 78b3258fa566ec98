"""Cost and risk of looking every so often: one small panel for each duty and axle role."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from wearline.reports.interval_text import amount_text
from wearline.reports.panel import SMALL, TEXT, Panel, sheet
from wearline.reports.svg import Drawing

__all__ = ["draw_intervals"]

WIDTH, COLUMNS = 960.0, 3
PANEL_WIDTH, PANEL_HEIGHT = 300.0, 215.0
HEAD = 78.0

_KINDS = (
    ("total", "all together", "ink", 2.2, ""),
    ("pads", "new pads", "good", 1.4, ""),
    ("look", "looks", "good", 1.4, "5 3"),
    ("miss", "limit crossed unseen", "beyond", 1.6, "2 3"),
)


def draw_intervals(answer: Mapping[str, Any]) -> str:
    """Draw what looking every so often costs.

    Parameters
    ----------
    answer : mapping
        Under schema ``wearline.interval/1``; at least one group.

    Returns
    -------
    str
        SVG.
    """
    groups = answer["groups"]
    rows = -(-len(groups) // COLUMNS)
    risk = f"{100 * answer['risk']:g} %"
    said = "; ".join(
        f"{group['duty']} {group['role']} every {amount_text(group['every'], group['unit'])}"
        for group in groups
    )
    height = HEAD + rows * PANEL_HEIGHT + 22.0
    drawing = sheet(WIDTH, height, "How far between two looks", f"{said}.")
    drawing.text((20.0, 26.0), "How far between two looks at the pads", size=17.0, bold=True)
    drawing.text(
        (20.0, 44.0),
        f"Money of one axle over the distance between looks. Hatched: more than {risk} of the pad sets cross "
        "the service limit unseen.",
        size=TEXT,
        colour="muted",
    )
    _legend(drawing)
    for place, group in enumerate(groups):
        left = 20.0 + (place % COLUMNS) * (PANEL_WIDTH + 10.0)
        _panel(drawing, group, left, HEAD + (place // COLUMNS) * PANEL_HEIGHT)
    if answer["prices"]["invented"]:
        drawing.text(
            (20.0, height - 8.0),
            "With invented example prices; --shops gives your own.",
            size=SMALL,
            colour="muted",
            italic=True,
        )
    return drawing.render()


def _legend(drawing: Drawing) -> None:
    x = 20.0
    for _, words, colour, width, dash in _KINDS:
        drawing.line((x, 59.0), (x + 26.0, 59.0), colour, width, dash)
        drawing.text((x + 32.0, 63.0), words, size=TEXT)
        x += 52.0 + 6.2 * len(words)
    drawing.line((x, 53.0), (x, 65.0), "beyond", 1.8)
    drawing.text((x + 7.0, 63.0), "look at the latest", size=TEXT)
    x += 122.0
    drawing.circle((x, 59.0), 4.0, fill="paper", stroke="ink", width=1.6)
    drawing.text((x + 9.0, 63.0), "cheapest at all", size=TEXT)


def _panel(drawing: Drawing, group: Mapping[str, Any], left: float, top: float) -> None:
    unit, curve = group["unit"], group["curve"]
    large = curve[-1]["amount"] >= 20_000.0
    scale = 1000.0 if large else 1.0
    shown = f"thousand {unit}" if large else unit
    floor = min(point["total"] for point in curve)
    points = [point for point in curve if point["total"] <= 3.2 * floor]
    panel = Panel(
        left + 34.0,
        top + 38.0,
        left + PANEL_WIDTH - 14.0,
        top + PANEL_HEIGHT - 42.0,
        points[0]["amount"] / scale,
        points[-1]["amount"] / scale,
        0.0,
        1.05 * max(point["total"] for point in points),
    )
    name = f"{group['duty']}, {group['role']}"
    drawing.text((left, top + 14.0), name, size=12.0, bold=True)
    every = amount_text(group["every"], unit)
    drawing.text((left + PANEL_WIDTH - 14.0, top + 14.0), every, size=12.0, colour="beyond", anchor="end")
    panel.y_axis(drawing, f"money per {amount_text(group['per'], unit)}")
    if group["every"] is not None:
        panel.beyond(drawing, group["every"] / scale, panel.x_high)
        panel.stroke(drawing, group["every"] / scale)
    for key, _, colour, width, dash in _KINDS:
        panel.line(drawing, [(p["amount"] / scale, p[key]) for p in points], colour, width, dash)
    best = group["cheapest"]
    drawing.circle(panel.at(best["amount"] / scale, best["total"]), 4.0, "paper", "ink", 1.6)
    panel.x_axis(drawing, f"between looks, {shown}")
