"""A comparison as a drawing: every axle set, the groups with their intervals, the difference on its ruler."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from wearline.reports.interval_text import amount_text
from wearline.reports.panel import SMALL, TEXT, Panel, sheet
from wearline.reports.svg import Drawing

__all__ = ["draw_comparison"]

WIDTH = 760.0
ROW = 58.0
NAME = 150.0
RIGHT = 730.0


def draw_comparison(answer: Mapping[str, Any]) -> str:
    """Draw groups of pad sets against each other.

    Parameters
    ----------
    answer : mapping
        Under schema ``wearline.compare/1``.

    Returns
    -------
    str
        SVG.
    """
    groups, compared = answer["groups"], answer["comparisons"]
    upper = 96.0 + ROW * len(groups)
    height = upper + 130.0 + 46.0 * len(compared) + 24.0
    drawing = sheet(WIDTH, height, f"Groups by {answer['by']}", answer["says"])
    drawing.text(
        (20.0, 28.0),
        f"Pads and rotors on the road, by {answer['by'].replace('_', ' ')}",
        size=17.0,
        bold=True,
    )
    per = amount_text(answer["per"], answer["unit"])
    drawing.text(
        (20.0, 47.0),
        f"Cost of one axle per {per}. Dots: pads of one axle. Bar: 95 % interval of the group's middle.",
        size=TEXT,
        colour="muted",
    )
    _sets(drawing, answer, upper, per)
    _rulers(drawing, compared, upper + 92.0)
    if answer["prices"]["invented"]:
        note = "With invented example prices; --shops gives your own."
        drawing.text((20.0, height - 10.0), note, size=SMALL, colour="muted", italic=True)
    return drawing.render()


def _sets(drawing: Drawing, answer: Mapping[str, Any], bottom: float, per: str) -> None:
    groups: Sequence[Mapping[str, Any]] = answer["groups"]
    costs = [each["cost"] for each in answer["sets"]]
    low, high = min(costs), max(costs)
    room = 0.06 * (high - low or high)
    panel = Panel(NAME, 72.0, RIGHT, bottom, max(low - room, 0.0), high + room)
    rows = {group["name"]: 72.0 + ROW * (n + 0.5) for n, group in enumerate(groups)}
    seen: dict[tuple[str, int], int] = {}
    for each in sorted(answer["sets"], key=lambda one: one["cost"]):
        y = rows[each["group"]]
        x = panel.x(each["cost"])
        # dots that would lie on each other stand above one another
        spot = (each["group"], round(x / 7.0))
        height = seen[spot] = min(seen.get(spot, -1) + 1, 5)
        drawing.circle((x, y - 4.0 - 7.0 * height), 3.0, fill="paper", stroke="good", width=1.2)
    for group in groups:
        y = rows[group["name"]] + 9.0
        drawing.line((panel.x(group["cost_low"]), y), (panel.x(group["cost_high"]), y), "good", 5.0)
        drawing.circle((panel.x(group["cost"]), y), 5.0, fill="paper", stroke="good", width=2.2)
        drawing.text((NAME - 12.0, y - 4.0), group["name"], size=12.0, anchor="end", bold=True)
        said = f"{group['axle_sets']} axle sets, {group['vehicles']} vehicles"
        drawing.text((NAME - 12.0, y + 9.0), said, size=SMALL, colour="muted", anchor="end")
    panel.x_axis(drawing, f"cost of pads and rotors per {per}, money of one axle")


def _rulers(drawing: Drawing, compared: Sequence[Mapping[str, Any]], top: float) -> None:
    reach = max(
        [abs(100 * (each[key] - 1)) for each in compared for key in ("cost_low", "cost_high")]
        + [each["smallest_percent"] for each in compared]
    )
    reach = 1.1 * reach
    bottom = top + 46.0 * len(compared)
    panel = Panel(NAME, top, RIGHT, bottom, -reach, reach)
    drawing.text((20.0, top - 16.0), "Difference", size=13.0, bold=True)
    zero = panel.x(0.0)
    for n, each in enumerate(compared):
        y = top + 46.0 * (n + 0.5)
        low, middle, high = (100 * (each[f"cost_{part}"] - 1) for part in ("low", "ratio", "high"))
        drawing.line((NAME, y), (RIGHT, y), "rule", 0.5)
        drawing.line((panel.x(low), y), (panel.x(high), y), "ink", 2.0)
        for end in (low, high):
            drawing.line((panel.x(end), y - 5.0), (panel.x(end), y + 5.0), "ink", 2.0)
        drawing.circle(
            (panel.x(middle), y), 5.5, fill="ink" if each["tells"] else "paper", stroke="ink", width=1.8
        )
        drawing.text((NAME - 12.0, y - 2.0), each["second"], size=12.0, anchor="end", bold=True)
        drawing.text((NAME - 12.0, y + 11.0), f"against {each['first']}", size=SMALL, anchor="end")
        words = _words(each)
        drawing.text((RIGHT, y - 9.0), words, size=SMALL, colour="muted", anchor="end")
    drawing.line((zero, top - 4.0), (zero, bottom), "beyond", 1.8)
    drawing.text((zero, top - 8.0), "no difference", size=SMALL, colour="beyond", anchor="middle")
    panel.x_axis(drawing, "second against first, % of the cost; open dot: the data cannot tell")


def _words(each: Mapping[str, Any]) -> str:
    if each["tells"]:
        return "a difference"
    if each["needed"] > each["count"]:
        return f"cannot tell: has {each['count']}, needs {each['needed']}"
    return f"none of {each['smallest_percent']:g} % or more"
