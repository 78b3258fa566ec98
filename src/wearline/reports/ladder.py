"""The road decision on its ladder: five steps from 'go' to 'do not move', the one decided filled."""

from __future__ import annotations

from wearline.reports.svg import Drawing

__all__ = ["STEPS", "draw_ladder", "draw_step"]

STEPS = ("go", "go, planned repair", "to the workshop", "tow, or repair here", "do not move")
"""Short words of the levels 0 to 4."""

_LINES = (
    ("go", ""),
    ("go, planned", "repair"),
    ("to the", "workshop"),
    ("tow, or", "repair here"),
    ("do not", "move"),
)
STEP = (67.0, 38.0)
RISE = 7.0


def draw_ladder(level: int) -> str:
    """Return the ladder of the road decision as an SVG drawing.

    Parameters
    ----------
    level : int
        Level, 0 to 4.

    Returns
    -------
    str
        One ``svg`` element: steps rise with the level, the one decided is filled.
    """
    width, height = 5 * STEP[0] + 2, STEP[1] + 4 * RISE + 2
    steps = "; ".join(f"{number} {words}" for number, words in enumerate(STEPS))
    drawing = Drawing(width, height, f"Level {level} of 4: {STEPS[level]}", f"Steps: {steps}.")
    for number, lines in enumerate(_LINES):
        left, top = 1 + number * STEP[0], 1 + (4 - number) * RISE
        chosen = number == level
        colour = "paper" if chosen else "muted"
        if chosen:
            drawing.rectangle((left, top), (STEP[0] - 2, STEP[1]), fill="ink")
        else:
            drawing.line((left, top), (left + STEP[0] - 2, top), "rule", 1.4)
        drawing.text((left + 4, top + 13), str(number), size=12, colour=colour, bold=chosen)
        for row, words in enumerate(lines):
            if words:
                drawing.text((left + 4, top + 23 + 10 * row), words, size=9.4, colour=colour, bold=chosen)
    return drawing.render()


def draw_step(level: int) -> str:
    """Return the ladder in small, for a line of a table.

    Parameters
    ----------
    level : int
        Level, 0 to 4.

    Returns
    -------
    str
        One ``svg`` element: five rising steps, the one decided filled.
    """
    drawing = Drawing(70, 24, f"Level {level} of 4", f"{STEPS[level]}.")
    for number in range(5):
        left, top = 1 + 14.0 * number, 16 - 3.4 * number
        if number == level:
            drawing.rectangle((left, top), (12, 23 - top), fill="ink")
        else:
            drawing.line((left, top), (left + 12, top), "rule", 1.4)
    return drawing.render()
