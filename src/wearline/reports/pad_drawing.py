"""Both pads of a wheel end, drawn as they lie: in plan, from the end, and on the face with the corner values.

The point of view is that of a person who stands outside the wheel and looks toward the vehicle, the top of
the pads (their outer radius) up. There the rotor of a left wheel moves to the left past the pads, that of a
right wheel to the right: the leading end of the pads is at the right on the left side of the vehicle, and at
the left on its right side. The pads lie against the rotor, so that the wedge shows in their backs.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wearline.assessment.results import JudgedReading, Verdict, WheelEndJudgement
from wearline.catalogue.model import Design
from wearline.reports.svg import Drawing, outline
from wearline.reports.words import quantity_text, value_text
from wearline.uncertainty.rules import Sense

__all__ = ["describe_pads", "draw_blank_pads", "draw_pads", "draw_wedge_face", "exaggeration"]

WIDTH = 640.0
LENGTH_ON_PAPER = 235.0
THICKEST = 72.0
ROTOR = 22.0
PLATE = 7.0
SPOTS = ("LT", "LB", "TT", "TB")


@dataclass(frozen=True, slots=True)
class _Frame:
    """Scale of the drawing and the side on which the leading end lies."""

    design: Design
    along: float
    thick: float
    leading_left: bool

    def side(self, leading: bool) -> float:
        """-1 for the left of the paper, +1 for the right."""
        return -1.0 if leading == self.leading_left else 1.0


def exaggeration(design: Design) -> int:
    """Return how many times larger thickness is drawn than length.

    Parameters
    ----------
    design : Design
        Brake design, for the dimensions of the new pad.

    Returns
    -------
    int
        1 to 5; the same for every wheel end of a design, so that drawings can be compared.
    """
    scale = LENGTH_ON_PAPER / design.pad_length
    return min(max(int(THICKEST / (design.friction_new * scale)), 1), 5)


def _corners(wheel_end: WheelEndJudgement, pad: str) -> dict[str, JudgedReading]:
    return {
        reading.spot: reading
        for reading in wheel_end.readings
        if reading.check == f"pad_{pad}" and reading.spot in SPOTS
    }


def _edge_means(corners: Mapping[str, JudgedReading], axis: str) -> tuple[float, float] | None:
    """Mean friction at the two measured edges: leading and trailing, or top and bottom [m]."""
    if len(corners) < 4:
        return None
    values = {spot: reading.value for spot, reading in corners.items()}
    if any(value is None for value in values.values()):
        return None
    index, first, second = (0, "L", "T") if axis == "end" else (1, "T", "B")

    def mean(letter: str) -> float:
        edge = [value for spot, value in values.items() if spot[index] == letter and value is not None]
        return sum(edge) / len(edge)

    return mean(first), mean(second)


def _at_edges(measured: tuple[float, float], distance: float, inset: float) -> tuple[float, float]:
    """The same straight line continued from the measured corners, ``distance`` apart, to the edges [m]."""
    slope = (measured[0] - measured[1]) / distance
    return measured[0] + slope * inset, measured[1] - slope * inset


def _service_minimum(wheel_end: WheelEndJudgement) -> tuple[float, str] | None:
    for pad in ("inner", "outer"):
        for reading in _corners(wheel_end, pad).values():
            limit = reading.limit
            if limit is not None and limit.sense is Sense.AT_LEAST:
                return limit.value, limit.published
    return None


@dataclass(frozen=True, slots=True)
class _Section:
    """One pad in section: the rotor face at ``face``, friction growing in direction ``out``."""

    start: float
    extent: float
    face: float
    out: float
    upright: bool

    def point(self, along: float, depth: float) -> tuple[float, float]:
        """A point on paper from the place along the pad and the distance from the rotor face [px]."""
        across = self.face + self.out * depth
        return (across, self.start + along) if self.upright else (self.start + along, across)


def _draw_pad_section(
    drawing: Drawing, section: _Section, ends: tuple[float, float] | None, new: float, least: float | None
) -> None:
    """Friction, plate, outline of the new pad and minimum line; ``ends`` in px, in the order of the paper."""
    point, extent = section.point, section.extent
    fresh = [point(0, 0), point(0, new), point(extent, new), point(extent, 0)]
    drawing.path(outline(fresh), "rule", 0.8, "1 3")
    if ends is not None:
        body = [point(0, 0), point(0, ends[0]), point(extent, ends[1]), point(extent, 0)]
        drawing.polygon(body, fill="panel", stroke="ink", width=1.0)
        plate = [
            point(-3, ends[0]),
            point(-3, ends[0] + PLATE),
            point(extent + 3, ends[1] + PLATE),
            point(extent + 3, ends[1]),
        ]
        drawing.polygon(plate, fill="muted")
    if least is not None:
        drawing.line(point(-9, least), point(extent + 9, least), "beyond", 1.2, "4 2")


def _explained(wheel_end: WheelEndJudgement, axis: str) -> float | None:
    """Wedge of the outer pad that play explains, first edge less second, signed like the one found [m]."""
    derived = wheel_end.derived
    if axis == "end":
        size, found = derived.taper_explained_by_play, derived.taper_end_to_end_antisymmetric
    else:
        size, found = derived.taper_top_explained_by_play, derived.taper_top_to_bottom_antisymmetric
    if size is None or found is None:
        return None
    return size if found >= 0 else -size


def _draw_explained(
    drawing: Drawing, section: _Section, means: tuple[float, float], wedge: tuple[float, float]
) -> None:
    """Dashed line through the middle of the back; ``means`` and ``wedge`` at the two paper ends [px]."""
    middle = sum(means) / 2
    reach = 14 / section.extent
    start = middle + wedge[0] * (1 + 2 * reach)
    end = middle + wedge[1] * (1 + 2 * reach)
    drawing.line(section.point(-14, start), section.point(section.extent + 14, end), "good", 1.4, "6 3")


def _draw_plan(
    drawing: Drawing, wheel_end: WheelEndJudgement, frame: _Frame, left: float, top: float
) -> None:
    design = frame.design
    extent = design.pad_length * frame.along
    inner_face, outer_face = top, top + ROTOR
    _draw_rotor(drawing, (left - 26, top), (extent + 52, ROTOR), "rotor")
    least = _service_minimum(wheel_end)
    for pad, face, out in (("inner", inner_face, -1.0), ("outer", outer_face, 1.0)):
        section = _Section(left, extent, face, out, upright=False)
        means = _edge_means(_corners(wheel_end, pad), "end")
        ends = None
        if means is not None:
            leading, trailing = (
                depth * frame.thick
                for depth in _at_edges(means, design.measuring_length, design.measuring_inset)
            )
            ends = (leading, trailing) if frame.leading_left else (trailing, leading)
        _draw_pad_section(
            drawing,
            section,
            ends,
            design.friction_new * frame.thick,
            least[0] * frame.thick if least else None,
        )
        wedge = _explained(wheel_end, "end")
        if ends is not None and wedge is not None:
            half = wedge * frame.thick / 2 * (1 if pad == "outer" else -1)
            _draw_explained(drawing, section, ends, (half, -half) if frame.leading_left else (-half, half))
        name = f"{pad} pad" if means is not None else f"{pad} pad, not taken"
        drawing.text((left + 6, face + out * (THICKEST - 12) + 3), name, size=10, italic=True)
    for leading, word in ((True, "leading end"), (False, "trailing end")):
        edge = left - 32 if frame.side(leading) < 0 else left + extent + 32
        anchor = "end" if frame.side(leading) < 0 else "start"
        drawing.text((edge, top + ROTOR / 2 + 3), word, size=9, anchor=anchor)
    if least:
        drawing.text(
            (left + extent + 12, inner_face - least[0] * frame.thick + 3), least[1], size=8, colour="beyond"
        )


def _draw_rotor(drawing: Drawing, corner: tuple[float, float], size: tuple[float, float], word: str) -> None:
    drawing.rectangle(corner, size, fill="rule")
    drawing.rectangle((corner[0] + size[0] / 2 - 16, corner[1] + size[1] / 2 - 6), (32, 12), fill="paper")
    drawing.text(
        (corner[0] + size[0] / 2, corner[1] + size[1] / 2 + 3.5), word, size=9, colour="ink", anchor="middle"
    )


def _draw_end_view(
    drawing: Drawing, wheel_end: WheelEndJudgement, frame: _Frame, left: float, top: float
) -> None:
    """Section across the pads: inner pad at the left, outer at the right, top of the pads up."""
    design = frame.design
    extent = design.pad_height * frame.along
    drawing.rectangle((left, top - 8), (ROTOR, extent + 16), fill="rule")
    least = _service_minimum(wheel_end)
    for pad, face, out in (("inner", left, -1.0), ("outer", left + ROTOR, 1.0)):
        section = _Section(top, extent, face, out, upright=True)
        means = _edge_means(_corners(wheel_end, pad), "top")
        ends = None
        if means is not None:
            upper, lower = (
                depth * frame.thick
                for depth in _at_edges(means, design.measuring_height, design.measuring_inset)
            )
            ends = (upper, lower)
        _draw_pad_section(
            drawing,
            section,
            ends,
            design.friction_new * frame.thick,
            least[0] * frame.thick if least else None,
        )
        wedge = _explained(wheel_end, "top")
        if ends is not None and wedge is not None:
            half = wedge * frame.thick / 2 * (1 if pad == "outer" else -1)
            _draw_explained(drawing, section, ends, (half, -half))
        drawing.text(
            (face + out * (THICKEST / 2), top + extent + 22), pad, size=9.5, anchor="middle", italic=True
        )
    drawing.text((left + ROTOR / 2, top - 12), "top", size=9, anchor="middle")
    drawing.text((left + ROTOR / 2, top + extent + 18), "bottom", size=9, anchor="middle")


def _mark(drawing: Drawing, at: tuple[float, float], verdict: Verdict) -> None:
    if verdict is Verdict.WITHIN:
        drawing.circle(at, 3.0, fill="good")
    elif verdict is Verdict.BEYOND:
        x, y = at
        drawing.polygon(((x, y - 4), (x + 4, y), (x, y + 4), (x - 4, y)), fill="beyond")
    elif verdict is Verdict.UNDECIDED:
        drawing.circle(at, 3.0, fill="paper", stroke="ink", width=1.4)


def _face_outline(left: float, top: float, width: float, height: float) -> str:
    """A pad seen on its face: two arcs about the axle, two straight ends."""
    right, bottom, rise = left + width, top + height, 9.0
    return (
        f"M{left:.1f} {bottom:.1f}L{left:.1f} {top + rise:.1f}Q{left + width / 2:.1f} {top - rise:.1f}"
        f" {right:.1f} {top + rise:.1f}L{right:.1f} {bottom:.1f}"
        f"Q{left + width / 2:.1f} {bottom - 1.6 * rise:.1f} {left:.1f} {bottom:.1f}Z"
    )


def draw_wedge_face(
    drawing: Drawing,
    corner: tuple[float, float],
    size: tuple[float, float],
    *,
    leading_left: bool,
    title: str,
    values: Mapping[str, tuple[str, Verdict]],
    thinnest: str = "",
) -> None:
    """Draw the face of one pad with its four corner values into a drawing.

    Parameters
    ----------
    drawing : Drawing
        The drawing.
    corner, size : tuple of float
        Upper left corner, width and height [px].
    leading_left : bool
        Whether the leading end lies at the left.
    title : str
        Name of the pad.
    values : mapping of str to (str, Verdict)
        Text and verdict by corner; a corner that is missing says 'not taken'.
    thinnest : str
        Corner to be marked as the thinnest, empty for none.
    """
    left, top = corner
    width, height = size
    drawing.path(_face_outline(left, top, width, height), "ink", 1.2)
    for spot in SPOTS:
        at_left = (spot[0] == "L") == leading_left
        x = left + 12 if at_left else left + width - 12
        y = top + 24 if spot[1] == "T" else top + height - 9
        text, verdict = values.get(spot, ("not taken", Verdict.NOT_TAKEN))
        anchor = "start" if at_left else "end"
        _mark(drawing, (x - 1 if at_left else x + 1, y - 3.5), verdict)
        shift = 7 if at_left else -7
        bold = spot == thinnest
        drawing.text((x + shift, y), text, size=11, anchor=anchor, bold=bold)
        if bold:
            end = x + shift + (5.6 * len(text) if at_left else -5.6 * len(text))
            drawing.line((x + shift, y + 3), (end, y + 3), "ink", 1.0)
            inward = -14 if spot[1] == "B" else 13
            drawing.text((x + shift, y + inward), "thinnest", size=8.5, anchor=anchor, italic=True)
    drawing.text((left + width / 2, top + height / 2 + 4), title, size=10, anchor="middle", italic=True)
    first, second = ("leading", "trailing") if leading_left else ("trailing", "leading")
    drawing.text((left, top + height + 13), first, size=8.5, colour="muted")
    drawing.text((left + width, top + height + 13), second, size=8.5, colour="muted", anchor="end")
    drawing.text((left + width / 2, top - 6), "top", size=8.5, colour="muted", anchor="middle")


def _draw_turning(drawing: Drawing, left: float, y: float, width: float, *, leading_left: bool) -> None:
    start, end = (left, left + width) if leading_left else (left + width, left)
    tip = -5 if end > start else 5
    drawing.line((start, y), (end, y), "muted", 1.1)
    drawing.path(outline([(end + tip, y - 3), (end, y), (end + tip, y + 3)]), "muted", 1.1)


def _legend(wheel_end: WheelEndJudgement, design: Design, factor: int) -> list[str]:
    least = _service_minimum(wheel_end)
    lines = [f"Thickness is drawn {factor} times larger than length; rotor and plates are not to scale."]
    if factor == 1:
        lines = ["Thickness and length are drawn to the same scale; rotor and plates are not."]
    dotted = f"Dotted outline: new pad, {quantity_text(design.friction_new, 'mm', 1)} of friction."
    if least:
        dotted += f" Short dashes: least friction, {least[1]}."
    lines.append(dotted)
    if _explained(wheel_end, "end") is not None or _explained(wheel_end, "top") is not None:
        lines.append("Long dashes on the backs: the tilt that the measured play explains.")
    return lines


def describe_pads(wheel_end: WheelEndJudgement) -> str:
    """Return in words what the drawing of the pads shows.

    Parameters
    ----------
    wheel_end : WheelEndJudgement
        Readings and derived geometry.

    Returns
    -------
    str
        The corner values of both pads and the thinnest corner.
    """
    parts = []
    for pad in ("inner", "outer"):
        corners = _corners(wheel_end, pad)
        values = ", ".join(f"{spot} {value_text(corners[spot])}" for spot in SPOTS if spot in corners)
        parts.append(f"{pad} pad {values or 'not taken'}")
    if wheel_end.derived.thinnest_spot:
        parts.append(f"thinnest corner {wheel_end.derived.thinnest_spot}")
    return "; ".join(parts) + "."


def draw_pads(wheel_end: WheelEndJudgement, design: Design) -> str:
    """Return both pads of a wheel end in plan, from the end and on the face, as an SVG drawing.

    Parameters
    ----------
    wheel_end : WheelEndJudgement
        Readings and derived geometry.
    design : Design
        Brake design, for the dimensions of the new pad.

    Returns
    -------
    str
        One ``svg`` element with title and description.

    Notes
    -----
    The corners are measured a little inside the edges (``Design.measuring_inset``); the backs are continued
    to the edges as straight lines.
    """
    factor = exaggeration(design)
    along = LENGTH_ON_PAPER / design.pad_length
    frame = _Frame(design, along, along * factor, leading_left=wheel_end.place.endswith("R"))
    drawing = Drawing(WIDTH, 348, f"Pads of {wheel_end.place}", describe_pads(wheel_end))
    drawing.text((90, 12), "in plan, seen from the top of the pads", size=9, colour="muted")
    drawing.text((436, 12), "from the end of the pads", size=9, colour="muted")
    _draw_plan(drawing, wheel_end, frame, 90, 98)
    _draw_end_view(drawing, wheel_end, frame, 508, 109 - design.pad_height * along / 2)
    thinnest = wheel_end.derived.thinnest_spot.split()
    for pad, left in (("inner", 90.0), ("outer", 345.0)):
        corners = _corners(wheel_end, pad)
        draw_wedge_face(
            drawing,
            (left, 222),
            (205, 68),
            leading_left=frame.leading_left,
            title=f"{pad} pad",
            values={spot: (value_text(reading), reading.verdict) for spot, reading in corners.items()},
            thinnest=thinnest[1] if len(thinnest) == 2 and thinnest[0] == pad else "",
        )
        _draw_turning(drawing, left + 62, 299, 80, leading_left=frame.leading_left)
    for row, line in enumerate(_legend(wheel_end, design, factor)):
        drawing.text((90, 322 + 11 * row), line, size=8.5, colour="muted")
    return drawing.render()


def draw_blank_pads(place: str) -> str:
    """Return both pads of a wheel end with empty boxes at the corners, to be written in by hand.

    Parameters
    ----------
    place : str
        Wheel end, which decides where the leading end lies.

    Returns
    -------
    str
        One ``svg`` element: inner pad above, outer pad below, as a person sees them from outside the wheel.
    """
    leading_left = place.endswith("R")
    first, second = ("leading", "trailing") if leading_left else ("trailing", "leading")
    drawing = Drawing(
        320, 246, f"Pads of {place}", "Empty boxes for the friction at four corners of each pad."
    )
    for row, pad in enumerate(("inner", "outer")):
        top = 14.0 + 118 * row
        drawing.path(_face_outline(10, top, 300, 86), "ink", 1.4)
        for spot in SPOTS:
            left = 20.0 if (spot[0] == "L") == leading_left else 210.0
            y = top + 9 if spot[1] == "T" else top + 44
            drawing.rectangle((left, y), (90, 32), fill="paper", stroke="muted", width=1.0)
            drawing.text((left + 4, y + 11), spot, size=10, colour="muted")
        drawing.text((160, top + 40), f"{place} {pad}", size=15, anchor="middle", bold=True)
        drawing.text((160, top + 55), "mm or in", size=9.5, colour="muted", anchor="middle")
        drawing.text((12, top + 101), first, size=11)
        drawing.text((308, top + 101), second, size=11, anchor="end")
        _draw_turning(drawing, 110, top + 98, 100, leading_left=leading_left)
        drawing.text((160, top - 3), "top", size=9.5, colour="muted", anchor="middle")
    return drawing.render()
