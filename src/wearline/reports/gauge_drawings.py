"""Where the gauge goes: small drawings of a brake with the gauge on it, for people who are far away.

Sketches of our own, not to scale. In a section the vehicle's centre is at the left and the wheel at the
right; in a front view one stands outside the wheel and looks toward the vehicle, the top of the pads up.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from wearline.reports.content_model import Picture
from wearline.reports.svg import Drawing, Point, hatch, outline

__all__ = ["DRAWN_CHECKS", "draw_gauge_place"]

_WIDTH, _HEIGHT = 300.0, 176.0
_SMALL = 10.5


def draw_gauge_place(check: str, place: str) -> Picture | None:
    """Return the drawing of where the gauge of a check goes.

    Parameters
    ----------
    check : str
        Check id.
    place : str
        Wheel end, for the side on which the leading end lies; empty if it does not matter.

    Returns
    -------
    Picture or None
        None where a drawing would show nothing.
    """
    if check not in _DRAWINGS:
        return None
    draw, says = _DRAWINGS[check]
    drawing = Drawing(_WIDTH, _HEIGHT, f"Where the gauge goes, {check}", says)
    draw(drawing, place)
    return Picture(drawing.render(), says)


# ---------------------------------------------------------------- pieces


def _arrow(drawing: Drawing, start: Point, end: Point, colour: str = "good", *, both: bool = False) -> None:
    drawing.line(start, end, colour, 1.8)
    _head(drawing, start, end, colour)
    if both:
        _head(drawing, end, start, colour)


def _head(drawing: Drawing, start: Point, end: Point, colour: str) -> None:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5
    ux, uy = dx / length, dy / length
    back = (end[0] - 7 * ux, end[1] - 7 * uy)
    sides = [(back[0] - 3.6 * uy, back[1] + 3.6 * ux), (back[0] + 3.6 * uy, back[1] - 3.6 * ux)]
    drawing.polygon([end, *sides], fill=colour)


def _dial(drawing: Drawing, centre: Point, tip: Point) -> None:
    """A dial gauge: face with its hand, and the stem to the tip."""
    drawing.line(centre, tip, "beyond", 2.4)
    drawing.circle(tip, 2.4, fill="beyond")
    drawing.circle(centre, 13, fill="paper", stroke="beyond", width=1.8)
    drawing.line(centre, (centre[0] + 5, centre[1] - 8), "beyond", 1.4)


def _foot(drawing: Drawing, dial: Point, corner: Point, foot: Point) -> None:
    """The arm of a dial gauge, and its base standing on a part."""
    drawing.path(outline([(dial[0], dial[1]), corner, foot]), "muted", 1.8)
    drawing.rectangle((foot[0] - 9, foot[1] - 5), (18, 9), fill="muted")


def _hatched(drawing: Drawing, corner: Point, size: Point, step: float = 6.0) -> None:
    """A part in section."""
    drawing.rectangle(corner, size, fill="panel")
    drawing.path(hatch(corner[0], corner[1], corner[0] + size[0], corner[1] + size[1], step), "rule", 0.7)
    drawing.rectangle(corner, size, stroke="ink")


def _say(drawing: Drawing, at: Point, text: str, anchor: str = "start", colour: str = "ink") -> None:
    drawing.text(at, text, size=_SMALL, anchor=anchor, colour=colour)


def _section(drawing: Drawing, *, pads: bool = True) -> None:
    """The brake in section, wheel at the right: calliper round rotor and pads, carrier below."""
    drawing.polygon(
        [(62, 40), (236, 40), (236, 118), (208, 118), (208, 66), (112, 66), (112, 118), (62, 118)],
        fill="panel",
        stroke="ink",
    )
    _hatched(drawing, (149, 74), (22, 80))
    for plate, face in ((122, 130), (190, 174)) if pads else ():
        drawing.rectangle((plate, 76), (8, 40), fill="muted")
        drawing.rectangle((face, 76), (16, 40), fill="panel", stroke="ink")
    drawing.rectangle((112, 88), (10, 16), fill="rule")
    _say(drawing, (160, 168), "rotor", "middle")
    _say(drawing, (72, 60), "calliper")


# ---------------------------------------------------------------- drawings


def _pad_corners(drawing: Drawing, place: str) -> None:
    leading_left = place.endswith("R")
    left, top, width, height = 50.0, 44.0, 200.0, 84.0
    right, bottom, middle = left + width, top + height, left + width / 2
    drawing.path(
        f"M{left} {top + 14}Q{middle} {top - 14} {right} {top + 14}"
        f"L{right - 10} {bottom}Q{middle} {bottom - 18} {left + 10} {bottom}Z",
        "ink",
        1.3,
    )
    for leading in (True, False):
        at_left = leading == leading_left
        for upper in (True, False):
            inset = 14 if upper else 24
            x = left + inset if at_left else left + width - inset
            y = top + 25 if upper else top + height - 14
            drawing.circle((x, y), 4, fill="beyond")
            name = f"{'L' if leading else 'T'}{'T' if upper else 'B'}"
            drawing.text(
                (x + (10 if at_left else -10), y + 4),
                name,
                size=12,
                bold=True,
                anchor="start" if at_left else "end",
            )
    start, end = ((90.0, 24.0), (210.0, 24.0)) if leading_left else ((210.0, 24.0), (90.0, 24.0))
    _arrow(drawing, start, end)
    _say(drawing, (150, 18), "the rotor runs this way, driving forward", "middle", "good")
    words = ("leading end", "trailing end") if leading_left else ("trailing end", "leading end")
    _say(drawing, (10, 150), words[0])
    _say(drawing, (290, 150), words[1], "end")
    side = {"L": "left wheel", "R": "right wheel"}.get(place[-1:], "left wheel")
    _say(drawing, (150, 166), f"{side} from outside; 5 mm inside, friction only", "middle")


def _bridge(drawing: Drawing, *, radial: bool) -> None:
    """Calliper over the rotor's edge, from outside; the dial stands on the axle or carrier."""
    drawing.path("M10 172Q150 68 290 172", "ink", 1.3)
    _say(drawing, (150, 142), "rotor", "middle")
    for left in (24, 244):
        drawing.rectangle((left, 116), (32, 34), fill="rule", stroke="ink")
    _say(drawing, (262, 111), "carrier", "middle")
    body = [(96, 98), (96, 58), (108, 46), (192, 46), (204, 58), (204, 98)]
    drawing.polygon(body, fill="panel", stroke="ink")
    _say(drawing, (150, 76), "calliper", "middle")
    drawing.line((150, 98), (150, 120), "beyond", 1.2, "3 2")
    _say(drawing, (156, 112), "gap 19 mm (3/4 in)", colour="beyond")
    if radial:
        _dial(drawing, (150, 16), (150, 45))
        _foot(drawing, (150, 16), (40, 16), (40, 111))
        _arrow(drawing, (222, 50), (222, 92), both=True)
        _say(drawing, (230, 68), "lift,", colour="good")
        _say(drawing, (230, 81), "press", colour="good")
    else:
        _dial(drawing, (52, 62), (95, 68))
        _foot(drawing, (52, 62), (30, 84), (40, 111))
        _arrow(drawing, (110, 32), (190, 32), both=True)
        _say(drawing, (150, 22), "push to leading, to trailing: 100 to 200 N", "middle", "good")


def _tangential(drawing: Drawing, place: str) -> None:
    del place
    _bridge(drawing, radial=False)


def _radial(drawing: Drawing, place: str) -> None:
    del place
    _bridge(drawing, radial=True)


def _travel(drawing: Drawing, place: str) -> None:
    del place
    _section(drawing)
    drawing.rectangle((214, 134), (54, 12), fill="rule", stroke="ink")
    _say(drawing, (241, 160), "carrier", "middle")
    _dial(drawing, (268, 84), (237, 84))
    _foot(drawing, (268, 84), (286, 100), (258, 129))
    _arrow(drawing, (110, 24), (200, 24), both=True)
    _say(drawing, (155, 15), "rock by hand, stop to stop; cold; brake released", "middle", "good")
    _say(drawing, (20, 148), "vehicle centre")
    _arrow(drawing, (58, 134), (24, 134), "muted")


def _slide(drawing: Drawing, place: str) -> None:
    del place
    _section(drawing, pads=False)
    drawing.line((24, 128), (200, 128), "ink", 5)
    _say(drawing, (24, 146), "guide pin")
    _arrow(drawing, (80, 24), (226, 24), both=True)
    _say(
        drawing,
        (153, 15),
        "pads out: push and pull, the full length",
        "middle",
        "good",
    )
    drawing.line((236, 90), (256, 90), "beyond", 1.6)
    drawing.rectangle((256, 82), (36, 16), fill="paper", stroke="beyond", width=1.6)
    drawing.text((274, 94), "N", size=11, anchor="middle", colour="beyond")
    _say(drawing, (274, 112), "pull scale", "middle", "beyond")


def _rotor_thickness(drawing: Drawing, place: str) -> None:
    del place
    _micrometer(drawing, 8, "8 points at mid radius")


def _rotor_variation(drawing: Drawing, place: str) -> None:
    del place
    _micrometer(drawing, 12, "12 points on one radius")


def _micrometer(drawing: Drawing, points: int, words: str) -> None:
    """Rotor in section with the jaws inside the lip, and its face with the points to measure."""
    _hatched(drawing, (96, 40), (40, 96))
    drawing.rectangle((92, 34), (48, 10), fill="rule", stroke="ink")
    _say(drawing, (156, 32), "lip: the jaws go inside it")
    drawing.line((150, 35), (142, 38), "ink", 0.8)
    drawing.path(outline([(58, 150), (58, 88), (95, 88)]), "beyond", 2.4)
    drawing.path(outline([(174, 150), (174, 88), (137, 88)]), "beyond", 2.4)
    drawing.path(outline([(58, 150), (174, 150)]), "beyond", 2.4)
    drawing.circle((95, 88), 2.4, fill="beyond")
    drawing.circle((137, 88), 2.4, fill="beyond")
    _say(drawing, (116, 168), "micrometer", "middle", "beyond")
    drawing.circle((244, 98), 44, stroke="ink", width=1.3)
    drawing.circle((244, 98), 18, stroke="ink", width=1.0)
    for number in range(points):
        turn = 2.0 * math.pi * number / points
        drawing.circle((244 + 31 * math.sin(turn), 98 - 31 * math.cos(turn)), 2.6, fill="beyond")
    _say(drawing, (240, 160), words, "middle")


def _runout(drawing: Drawing, place: str) -> None:
    del place
    drawing.circle((120, 96), 66, stroke="ink", width=1.4)
    drawing.circle((120, 96), 26, stroke="ink", width=1.0)
    for x, y in ((120, 80), (134, 88), (134, 104), (120, 112), (106, 104), (106, 88)):
        drawing.circle((x, y), 3, fill="ink")
    drawing.line((170, 64), (196, 46), "beyond", 1.0, "3 2")
    drawing.circle((167, 66), 3, fill="beyond")
    _dial(drawing, (212, 40), (170, 64))
    _foot(drawing, (212, 40), (262, 58), (262, 150))
    _say(drawing, (262, 168), "on the axle", "middle")
    drawing.path("M78 30A78 78 0 0 1 150 24", "good", 1.8)
    _head(drawing, (136, 20), (152, 25), "good")
    _say(drawing, (16, 22), "one slow turn,", colour="good")
    _say(drawing, (16, 34), "three times", colour="good")
    _say(drawing, (190, 92), "10 to 15 mm")
    _say(drawing, (190, 104), "from the rim")
    _say(drawing, (120, 172), "nuts on, clamped as driven; end play first", "middle")


def _guide_boot(drawing: Drawing, place: str) -> None:
    del place
    drawing.line((26, 84), (270, 84), "rule", 13)
    drawing.rectangle((14, 66), (54, 36), fill="panel", stroke="ink")
    _say(drawing, (41, 118), "carrier", "middle")
    drawing.rectangle((168, 52), (100, 64), fill="panel", stroke="ink")
    _say(drawing, (218, 132), "calliper", "middle")
    folds = [(68.0, 70.0)]
    for number in range(10):
        folds.append((78.0 + 9 * number, 60.0 if number % 2 == 0 else 72.0))
    folds.append((168.0, 70.0))
    mirrored = [(x, 168.0 - y) for x, y in folds]
    for line in (folds, mirrored):
        drawing.path(outline(line), "beyond", 2.0)
    _say(drawing, (118, 48), "boot: seated in both grooves, no cut", "middle", "beyond")
    _arrow(drawing, (196, 32), (262, 32))
    _say(drawing, (150, 22), "pull, hold, count to ten", "middle", "good")
    _say(drawing, (150, 158), "a sound boot stays drawn in; look all round, both pins", "middle")


def _tappet_boot(drawing: Drawing, place: str) -> None:
    del place
    drawing.rectangle((14, 34), (92, 104), fill="panel", stroke="ink")
    _say(drawing, (60, 154), "calliper, inner side", "middle")
    for y in (62, 110):
        drawing.rectangle((106, y - 8), (58, 16), fill="rule", stroke="ink")
        drawing.rectangle((164, y - 15), (10, 30), fill="muted")
        for sign in (-1, 1):
            folds = [(106.0 + 7 * n, y + sign * (20.0 if n % 2 == 0 else 13.0)) for n in range(9)]
            drawing.path(outline(folds), "beyond", 2.0)
    drawing.rectangle((206, 36), (14, 100), fill="rule", stroke="ink")
    _say(drawing, (213, 154), "spare pad as stop", "middle")
    _say(drawing, (180, 28), "no further than the maker allows", "middle", "good")
    _arrow(drawing, (178, 86), (202, 86))
    _say(drawing, (238, 80), "look all", colour="beyond")
    _say(drawing, (238, 92), "round:", colour="beyond")
    _say(drawing, (238, 104), "tear, rust", colour="beyond")


def _end_play(drawing: Drawing, place: str) -> None:
    del place
    drawing.rectangle((20, 78), (110, 22), fill="panel", stroke="ink")
    _say(drawing, (60, 116), "axle", "middle")
    drawing.polygon([(130, 48), (186, 48), (186, 130), (130, 130)], fill="panel", stroke="ink")
    _say(drawing, (158, 92), "hub", "middle")
    _dial(drawing, (236, 66), (187, 66))
    _foot(drawing, (236, 66), (236, 20), (90, 73))
    _arrow(drawing, (126, 148), (196, 148), both=True)
    _say(drawing, (161, 166), "pull and push while rocking", "middle", "good")


_DRAWINGS: Mapping[str, tuple[Callable[[Drawing, str], None], str]] = {
    "F5": (_pad_corners, "The face of a pad with its four corners: thickness is measured 5 mm inside each."),
    "F12": (
        _tangential,
        "Dial on carrier or axle, its tip at the calliper's bridge; the calliper is pushed to and fro.",
    ),
    "F13": (
        _radial,
        "Dial on carrier or axle, its tip on the calliper's bridge from above; lifted and pressed.",
    ),
    "F2": (
        _travel,
        "Dial on the carrier, its tip on the calliper, along the axle; the calliper is rocked by hand.",
    ),
    "W12": (
        _travel,
        "Dial on the carrier, its tip on the calliper, along the axle; the calliper is rocked by hand.",
    ),
    "F11": (
        _slide,
        "The calliper is pushed and pulled on its guide pins over the full length, with a pull scale.",
    ),
    "F19": (_rotor_thickness, "Micrometer inside the lip of the rotor; eight points at mid radius."),
    "F20": (_rotor_variation, "Micrometer inside the lip of the rotor; twelve points on one radius."),
    "F21": (
        _runout,
        "Dial on the axle, its tip on the rotor 10 to 15 mm from the rim; one slow turn, three times.",
    ),
    "F14": (_guide_boot, "Guide-pin boot between carrier and calliper; pulled so that it draws a vacuum."),
    "F16": (
        _tappet_boot,
        "Two tappets wound out a little against a spare pad; boots and shanks looked at all round.",
    ),
    "F26": (_end_play, "Dial on the axle, its tip on the hub; the hub is pulled and pushed."),
}

DRAWN_CHECKS = tuple(_DRAWINGS)
"""Checks that have a drawing."""
