"""How a person gets on in the drills, and two ways through one drill on the same scale of minutes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from wearline.reports.content_model import Picture
from wearline.reports.svg import Drawing, Point, outline

__all__ = ["draw_progress", "draw_routes"]

_WIDTH, _HEIGHT = 420.0, 236.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 32.0, 414.0, 12.0, 176.0
_MEAN_OF = 5
_SMALL = 11.0


def _round(drawing: Drawing, x: float, y: float) -> None:
    drawing.circle((x, y), 4.4, fill="ink")


def _square(drawing: Drawing, x: float, y: float) -> None:
    drawing.rectangle((x - 4, y - 4), (8, 8), fill="ink")


def _up(drawing: Drawing, x: float, y: float) -> None:
    drawing.polygon([(x - 5, y + 4), (x + 5, y + 4), (x, y - 5)], fill="ink")


def _diamond(drawing: Drawing, x: float, y: float) -> None:
    drawing.polygon([(x - 5.5, y), (x, y - 5.5), (x + 5.5, y), (x, y + 5.5)], fill="ink")


def _cross(drawing: Drawing, x: float, y: float) -> None:
    drawing.line((x - 5, y), (x + 5, y), "ink", 2.6)
    drawing.line((x, y - 5), (x, y + 5), "ink", 2.6)


def _down(drawing: Drawing, x: float, y: float) -> None:
    drawing.polygon([(x - 5, y - 4), (x + 5, y - 4), (x, y + 5)], fill="paper", stroke="ink", width=1.6)


_SIGNS: tuple[Callable[[Drawing, float, float], None], ...] = (_round, _square, _up, _diamond, _cross, _down)
"""One sign for each level, told apart by shape and not by colour."""


def draw_progress(drills: Sequence[tuple[float, int]], names: Mapping[int, str]) -> Picture:
    """Draw the points of a person over the drills.

    Parameters
    ----------
    drills : sequence of (float, int)
        Points, 0 to 100, and number of the level, in the order of the drills; at least one.
    names : mapping of int to str
        Every level by its number.

    Returns
    -------
    Picture
        A sign for each drill by its level, and a broken line through the mean of the last five.
    """
    means = [
        _mean([points for points, _ in drills[max(0, n - _MEAN_OF) : n]]) for n in range(1, len(drills) + 1)
    ]
    said = (
        f"{len(drills)} drills; points from first to last: "
        f"{', '.join(f'{points:.0f}' for points, _ in drills)}; mean of the last five {means[-1]:.0f}."
    )
    drawing = Drawing(_WIDTH, _HEIGHT, "Points over the drills", said)
    _scale(drawing)
    slots = max(len(drills), 8)

    def spot(number: int, points: float) -> Point:
        x = _LEFT + (number - 0.5) / slots * (_RIGHT - _LEFT)
        return x, _BOTTOM - points / 100.0 * (_BOTTOM - _TOP)

    _numbers(drawing, len(drills), spot)
    line = [spot(number, mean) for number, mean in enumerate(means, start=1)]
    if len(line) > 1:
        drawing.path(outline(line), "good", 1.8, "6 4")
    for number, (points, level) in enumerate(drills, start=1):
        _sign(level, names)(drawing, *spot(number, points))
    _legend(drawing, sorted({level for _, level in drills}), names)
    return Picture(drawing.render(), f"Points over the drills: {said}")


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


def _sign(level: int, names: Mapping[int, str]) -> Callable[[Drawing, float, float], None]:
    order = sorted(names)
    return _SIGNS[order.index(level) % len(_SIGNS)] if level in names else _round


def _scale(drawing: Drawing) -> None:
    for value in (0, 25, 50, 75, 100):
        y = _BOTTOM - value / 100.0 * (_BOTTOM - _TOP)
        drawing.line((_LEFT, y), (_RIGHT, y), "rule", 0.4)
        drawing.text((_LEFT - 6, y + 4), str(value), size=_SMALL, colour="muted", anchor="end")


def _numbers(drawing: Drawing, count: int, spot: Callable[[int, float], Point]) -> None:
    step = 1 if count <= 16 else 5 if count <= 80 else 20
    for number in range(step, count + 1, step):
        drawing.text(
            (spot(number, 0.0)[0], _BOTTOM + 17), str(number), size=_SMALL, colour="muted", anchor="middle"
        )


def _legend(drawing: Drawing, present: Sequence[int], names: Mapping[int, str]) -> None:
    x, y = _LEFT, _BOTTOM + 38
    for level in present:
        text = names.get(level, f"level {level}")
        wide = 28 + 6.2 * len(text)
        if x + wide > _RIGHT:
            x, y = _LEFT, y + 17
        _sign(level, names)(drawing, x + 5, y - 4)
        drawing.text((x + 15, y), text, size=_SMALL)
        x += wide


# ---------------------------------------------------------------- two routes


def draw_routes(own: Sequence[tuple[str, float]], best: Sequence[tuple[str, float]] | None) -> Picture:
    """Draw the tests of a person and those of the best route, each as long as it took.

    Parameters
    ----------
    own, best : sequence of (str, float), [min]
        Test with its place, and its minutes with getting there; ``best`` None where the diagnosis does not
        find the causes.

    Returns
    -------
    Picture
        Two bars on one scale.
    """
    longest = max(sum(minutes for _, minutes in row) for row in (own, best or ()))
    said = f"Your tests: {_told(own)}. " + (f"Best route: {_told(best)}." if best is not None else "")
    rows = [("your tests", own)] + ([("best route", best)] if best is not None else [])
    height = 56.0 * len(rows) - 4.0
    drawing = Drawing(_WIDTH, height, "Minutes of the tests", said)
    for number, (title, row) in enumerate(rows):
        _bar(drawing, 22.0 + 56.0 * number, title, row, longest or 1.0)
    return Picture(drawing.render(), said)


def _told(row: Sequence[tuple[str, float]]) -> str:
    return ", ".join(f"{name} {minutes:g} min" for name, minutes in row) or "none"


def _bar(drawing: Drawing, top: float, title: str, row: Sequence[tuple[str, float]], longest: float) -> None:
    total = sum(minutes for _, minutes in row)
    drawing.text(
        (0, top - 6), f"{title}: {total:g} min, {len(row)} test{'' if len(row) == 1 else 's'}", size=12
    )
    x = 0.0
    for number, (name, minutes) in enumerate(row):
        wide = minutes / longest * (_WIDTH - 2)
        shade = "panel" if number % 2 else "paper"
        drawing.rectangle((x + 0.6, top), (max(wide, 1.0), 24), fill=shade, stroke="ink", width=1.0)
        if wide > 6.4 * len(name) + 6:
            drawing.text((x + wide / 2, top + 16), name, size=_SMALL, anchor="middle")
        x += wide
    if not row:
        drawing.line((0.6, top), (0.6, top + 24), "ink", 1.6)
