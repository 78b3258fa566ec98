"""How a person gets on: points over the drills, one shape for each level."""

from __future__ import annotations

from collections.abc import Sequence

from wearline.reports.palette import LIGHT, Palette
from wearline.reports.plots import Chart
from wearline.reports.words import shown_text

__all__ = ["progress_chart"]

_SHAPES = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down")
_MEAN_OF = 5
_WIDTH, _HEIGHT = 560, 300


def progress_chart(
    person: str, drills: Sequence[tuple[float, str]], level_names: Sequence[str], palette: Palette = LIGHT
) -> Chart:
    """Return the plot of a person's progress.

    Parameters
    ----------
    person : str
        Whose.
    drills : sequence of (float, str)
        Points, 0 to 100, and name of the level, in the order of the drills.
    level_names : sequence of str
        Every level, in order.
    palette : Palette
        Colours.

    Returns
    -------
    mapping
        Vega-Lite chart: a mark for each drill, and a line through the mean of the last five.
    """
    rows = [
        {"drill": number, "points": points, "level": level}
        for number, (points, level) in enumerate(drills, start=1)
    ]
    means = []
    for number in range(1, len(drills) + 1):
        last = [points for points, _ in drills[max(0, number - _MEAN_OF) : number]]
        means.append({"drill": number, "mean": sum(last) / len(last)})
    number_axis = {
        "field": "drill",
        "type": "quantitative",
        "title": "drill",
        "axis": {"tickMinStep": 1, "format": "d"},
        "scale": {"domain": [0.5, max(len(drills), 4) + 0.5], "nice": False},
    }
    height = {"type": "quantitative", "title": "points", "scale": {"domain": [0, 100]}}
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v5.json",
        "title": {
            "text": f"Drills of {shown_text(person)}",
            "subtitle": "points of 100; the line is the mean of the last five drills",
            "anchor": "start",
            "color": palette.ink,
            "subtitleColor": palette.muted,
        },
        "width": _WIDTH,
        "height": _HEIGHT,
        "background": palette.paper,
        "config": {
            "font": "sans-serif",
            "view": {"stroke": palette.rule},
            "axis": {
                "labelColor": palette.muted,
                "titleColor": palette.ink,
                "gridColor": palette.panel,
                "domainColor": palette.rule,
                "tickColor": palette.rule,
                "titleFontWeight": "normal",
            },
            "legend": {"labelColor": palette.muted, "titleColor": palette.ink, "titleFontWeight": "normal"},
        },
        "layer": [
            {
                "data": {"values": means},
                "mark": {"type": "line", "color": palette.good, "strokeWidth": 1.5, "strokeDash": [6, 4]},
                "encoding": {"x": number_axis, "y": {"field": "mean", **height}},
            },
            {
                "data": {"values": rows},
                "mark": {"type": "point", "filled": True, "size": 70, "color": palette.ink, "opacity": 1},
                "encoding": {
                    "x": number_axis,
                    "y": {"field": "points", **height},
                    "shape": {
                        "field": "level",
                        "type": "nominal",
                        "title": "level",
                        "scale": {"domain": list(level_names), "range": list(_SHAPES[: len(level_names)])},
                    },
                },
            },
        ],
    }
