"""The share of parts that survives over the age: a stair with its range, fits, a batch beside the rest."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from wearline.reports.interval_text import amount_text
from wearline.reports.panel import SMALL, TEXT, Panel, sheet
from wearline.reports.svg import Drawing

__all__ = ["draw_lives"]

WIDTH, HEIGHT = 720.0, 440.0


def draw_lives(answer: Mapping[str, Any]) -> str:
    """Draw how many parts survive.

    Parameters
    ----------
    answer : mapping
        Under schema ``wearline.life/1``.

    Returns
    -------
    str
        SVG; a sentence instead of a curve where nothing has ended.
    """
    drawing = sheet(WIDTH, HEIGHT, f"Life of {answer['part']}", answer["says"])
    drawing.text((20.0, 28.0), _title(answer), size=17.0, bold=True)
    unit, batch = answer["unit"], answer["batch"]
    drawing.text(
        (20.0, 47.0),
        f"{answer['failed']} of {answer['parts']} ended. Share of those sound at "
        f"{amount_text(answer['since'], unit)}.",
        size=TEXT,
        colour="muted",
    )
    curves = [answer["curve"], *([] if batch is None else [batch["curve"], batch["rest"]])]
    ages = [point["age"] for curve in curves for point in curve]
    if not ages:
        drawing.text((20.0, 90.0), "Nothing has ended yet: there is no curve to draw.", size=13.0)
        return drawing.render()
    scale = 1000.0 if max(ages) >= 20_000.0 else 1.0
    low, high = min([answer["since"], *ages]) / scale, max([answer["oldest"], *ages]) / scale
    room = 0.04 * (high - low or high)
    panel = Panel(64.0, 92.0, WIDTH - 30.0, HEIGHT - 62.0, max(low - room, 0.0), high + room, 0.0, 100.0)
    panel.y_axis(drawing, "parts still sound [%]", [0.0, 20.0, 40.0, 60.0, 80.0, 100.0])
    _curves(drawing, panel, answer, scale)
    shown = f"thousand {unit}" if scale > 1.0 else unit
    panel.x_axis(drawing, f"age of the part, {shown}")
    return drawing.render()


def _title(answer: Mapping[str, Any]) -> str:
    name = answer["label"][0].upper() + answer["label"][1:]
    return f"How long they last: {name[0].lower() + name[1:]}"


def _curves(drawing: Drawing, panel: Panel, answer: Mapping[str, Any], scale: float) -> None:
    batch = answer["batch"]
    if batch is None:
        _stair(drawing, panel, answer["curve"], answer["oldest"] / scale, scale, "good")
        _band(drawing, panel, answer["curve"], answer["oldest"] / scale, scale)
        keys = [("seen, with its 95 % range", "good", "", 2.2)]
        for fit, dash in zip(answer["fits"], ("", "6 4"), strict=False):
            _fit(drawing, panel, fit, answer["since"], scale, dash)
            keys.append((f"fitted: {fit['shape']}", "ink", dash, 1.3))
    else:
        _stair(drawing, panel, batch["rest"], batch["rest_oldest"] / scale, scale, "good")
        _stair(drawing, panel, batch["curve"], batch["oldest"] / scale, scale, "beyond")
        mark = f"{batch['key'].replace('_', ' ')} {batch['value']}"
        keys = [("all others", "good", "", 2.2), (mark, "beyond", "7 3", 2.2)]
    x = 64.0
    for words, colour, dash, width in keys:
        drawing.line((x, 66.0), (x + 26.0, 66.0), colour, width, dash)
        drawing.text((x + 32.0, 70.0), words, size=TEXT)
        x += 60.0 + 6.4 * len(words)


def _points(curve: Sequence[Mapping[str, Any]], key: str, scale: float) -> list[tuple[float, float]]:
    return [(point["age"] / scale, 100.0 * point[key]) for point in curve]


def _stair(
    drawing: Drawing,
    panel: Panel,
    curve: Sequence[Mapping[str, Any]],
    last: float,
    scale: float,
    colour: str,
) -> None:
    """The stair as far as any part has come; the batch is broken, so that it is known without colour."""
    dash = "7 3" if colour == "beyond" else ""
    if not curve:
        words = "none of these has ended" if colour == "good" else "none of the batch has ended"
        y = panel.y(100.0) - 4.0 if colour == "good" else panel.y(100.0) + 14.0
        drawing.text((panel.right, y), words, size=SMALL, colour=colour, anchor="end")
        return
    points = [(panel.x_low, 100.0), *_points(curve, "share", scale)]
    panel.steps(drawing, [*points, (max(last, points[-1][0]), points[-1][1])], colour, 2.2, dash)


def _band(
    drawing: Drawing, panel: Panel, curve: Sequence[Mapping[str, Any]], last: float, scale: float
) -> None:
    for key in ("low", "high"):
        points = _points(curve, key, scale)
        if points:
            panel.steps(drawing, [*points, (max(last, points[-1][0]), points[-1][1])], "good", 0.8, "2 3")


def _fit(
    drawing: Drawing, panel: Panel, fit: Mapping[str, Any], since: float, scale: float, dash: str
) -> None:
    ages = np.linspace(panel.x_low, panel.x_high, 80) * scale

    def survives(age: float) -> float:
        z = (math.log(max(age, 1e-9)) - fit["location"]) / fit["scale"]
        if fit["shape"] == "weibull":
            return math.exp(-math.exp(min(z, 50.0)))
        return 0.5 * math.erfc(z / math.sqrt(2.0))

    start = survives(max(since, 1e-9)) if since > 0.0 else 1.0
    points = [(age / scale, min(100.0 * survives(age) / start, 100.0)) for age in ages if age >= since]
    panel.line(drawing, points, "ink", 1.3, dash)
