"""The vehicle from above, front up, with what is known at each wheel end beside its wheel.

Beside each wheel stands the limit ruler in small, with its one dot: on the clear side of the stroke (all that
was taken is within), standing on its corner in the hatching (something is beyond), open on the stroke
(undecided), or no dot on a broken line (nothing was taken). Words and counts say the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from wearline.assessment.results import AxleJudgement, Judgement, Verdict, WheelEndJudgement
from wearline.records.inspection import Axle, Vehicle
from wearline.reports.svg import Drawing, hatch

__all__ = ["EndState", "WheelEndState", "draw_vehicle", "wheel_end_state"]

WIDTH = 300.0
CENTRE = WIDTH / 2
TRACK = 53.0
PITCH = 46.0
GROUP_GAP = 26.0
UNIT_GAP = 34.0
WHEEL = (11.0, 28.0)
SIGN = 40.0


class EndState(StrEnum):
    """What is known at a wheel end, worst first."""

    BEYOND = "beyond"
    UNDECIDED = "undecided"
    NOTHING = "nothing taken"
    WITHIN = "within"


@dataclass(frozen=True, slots=True)
class WheelEndState:
    """What is known at a wheel end, in a form and in words.

    Parameters
    ----------
    form : EndState
        The worst that was found.
    words : tuple of str
        Two lines at most, as ``("2 beyond", "1 undecided")``.
    """

    form: EndState
    words: tuple[str, ...]


def wheel_end_state(wheel_end: WheelEndJudgement) -> WheelEndState:
    """Return what is known at a wheel end.

    Parameters
    ----------
    wheel_end : WheelEndJudgement
        Its judgement.

    Returns
    -------
    WheelEndState
        Each check counts once, however many spots it has. Something not taken is said and never counts as
        within.
    """
    by_verdict: dict[Verdict, set[str]] = {verdict: set() for verdict in Verdict}
    for reading in wheel_end.readings:
        by_verdict[reading.verdict].add(reading.check)
    beyond = by_verdict[Verdict.BEYOND] | {
        finding.check or finding.id for finding in wheel_end.findings if finding.weight == "fault"
    }
    undecided = by_verdict[Verdict.UNDECIDED] - beyond
    void = by_verdict[Verdict.VOID] - beyond - undecided
    within = by_verdict[Verdict.WITHIN]
    counts = [
        f"{len(checks)} {word}"
        for checks, word in (
            (beyond, "beyond"),
            (undecided, "undecided"),
            (void, "void"),
            (wheel_end.not_taken, "not taken"),
        )
        if checks
    ]
    if beyond:
        form = EndState.BEYOND
    elif undecided:
        form = EndState.UNDECIDED
    elif within:
        form = EndState.WITHIN
        counts = ["within" if not counts else "within so far", *counts]
    else:
        form = EndState.NOTHING
        counts = ["nothing taken"]
    return WheelEndState(form, tuple(counts[:2]))


def _draw_sign(drawing: Drawing, x: float, y: float, form: EndState) -> None:
    stroke = x + 0.58 * SIGN
    drawing.path(hatch(stroke, y - 6, x + SIGN, y + 4, 3.5), "beyond", 0.7)
    drawing.line((x, y + 4), (x + SIGN, y + 4), "ink", 1.0, "3 2" if form is EndState.NOTHING else "")
    drawing.line((stroke, y - 8), (stroke, y + 7), "beyond", 1.8)
    if form is EndState.WITHIN:
        drawing.circle((x + 0.3 * SIGN, y - 1), 4.0, fill="good")
    elif form is EndState.UNDECIDED:
        drawing.circle((stroke, y - 1), 4.2, fill="paper", stroke="ink", width=1.6)
    elif form is EndState.BEYOND:
        centre = x + 0.82 * SIGN
        drawing.circle((centre, y - 1), 6.0, fill="paper")
        corners = ((centre, y - 6), (centre + 5, y - 1), (centre, y + 4), (centre - 5, y - 1))
        drawing.polygon(corners, fill="beyond")


def _rows(vehicle: Vehicle) -> list[float]:
    """Height of each axle on the drawing: axles of one role stand closer, units further apart."""
    y = 74.0
    rows: list[float] = []
    for before, axle in zip((None, *vehicle.axles[:-1]), vehicle.axles, strict=True):
        if before is not None:
            y += PITCH
            if axle.id.startswith("T") and not before.id.startswith("T"):
                y += UNIT_GAP
            elif before.role == "steer" and axle.role != "steer":
                y += GROUP_GAP
        rows.append(y)
    return rows


def _draw_body(drawing: Drawing, vehicle: Vehicle, rows: list[float]) -> None:
    towed = [row for axle, row in zip(vehicle.axles, rows, strict=True) if axle.id.startswith("T")]
    towing = [row for axle, row in zip(vehicle.axles, rows, strict=True) if not axle.id.startswith("T")]
    pulled = vehicle.kind in ("semitrailer", "drawbar trailer")
    if towing:
        top, bottom = towing[0] - 34, towing[-1] + 30
        _draw_unit(drawing, top, bottom, cab=not pulled, bus=vehicle.kind == "bus")
        if vehicle.kind == "drawbar trailer":
            drawing.path(f"M{CENTRE - 12} {top}L{CENTRE} {top - 14}L{CENTRE + 12} {top}", "rule", 1.2)
        if vehicle.kind == "semitrailer":
            drawing.circle((CENTRE, top + 9), 3.5, stroke="rule", width=1.2)
    if towed:
        _draw_unit(drawing, towed[0] - 34, towed[-1] + 30, cab=False, bus=False)
        drawing.line(
            (CENTRE, (towing[-1] + 30) if towing else towed[0] - 44), (CENTRE, towed[0] - 34), "rule", 1.2
        )


def _draw_unit(drawing: Drawing, top: float, bottom: float, *, cab: bool, bus: bool) -> None:
    half = 29.0
    if bus:
        drawing.rectangle((CENTRE - half, top), (2 * half, bottom - top), stroke="rule", width=1.2, radius=9)
        drawing.path(f"M{CENTRE - half + 5} {top + 8}H{CENTRE + half - 5}", "rule", 1.0)
        return
    drawing.rectangle((CENTRE - half, top), (2 * half, bottom - top), stroke="rule", width=1.2, radius=2)
    if cab:
        drawing.path(f"M{CENTRE - half} {top + 16}H{CENTRE + half}", "rule", 1.2)
        drawing.path(f"M{CENTRE - half + 6} {top + 5}H{CENTRE + half - 6}", "rule", 1.0)


def _draw_axle(drawing: Drawing, axle: Axle, judged: AxleJudgement | None, y: float) -> None:
    drawing.line((CENTRE - TRACK, y), (CENTRE + TRACK, y), "rule", 2.0)
    for side in (-1, 1):
        edges = (TRACK, TRACK - WHEEL[0] - 2.5) if axle.wheels == "dual" else (TRACK,)
        for edge in edges:
            left = CENTRE + side * edge - WHEEL[0] / 2
            drawing.rectangle((left, y - WHEEL[1] / 2), WHEEL, fill="muted", radius=3)
    drawing.rectangle((CENTRE - 26, y - 11), (52, 22 if judged is not None else 13), fill="paper")
    role = axle.role if axle.brake == "air disc" else f"{axle.role}, drum"
    drawing.text((CENTRE, y - 2), role, size=9.5, colour="muted", anchor="middle", italic=True)
    if judged is not None:
        word = "wheels off" if judged.take_off else "wheels on"
        drawing.text((CENTRE, y + 8), word, size=9.5, anchor="middle", bold=judged.take_off)


def _draw_end(drawing: Drawing, place: str, state: WheelEndState | None, y: float) -> None:
    left = place.endswith("L")
    edge = CENTRE - TRACK - 14 if left else CENTRE + TRACK + 14
    anchor = "end" if left else "start"
    drawing.text((edge, y - 6), place, size=13, anchor=anchor, bold=True)
    if state is None:
        return
    reach = 10 + 8.2 * len(place)
    sign = edge - reach - SIGN if left else edge + reach
    _draw_sign(drawing, sign, y - 11, state.form)
    for row, words in enumerate(state.words):
        colour = "ink" if row == 0 else "muted"
        drawing.text((edge, y + 7 + 11 * row), words, size=10, colour=colour, anchor=anchor, bold=row == 0)


def draw_vehicle(vehicle: Vehicle, judgement: Judgement | None = None) -> str:
    """Return the vehicle from above, front up, as an SVG drawing.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle, with any number of axles.
    judgement : Judgement, optional
        What was found; without it the wheel ends carry their names only.

    Returns
    -------
    str
        One ``svg`` element with title and description.
    """
    rows = _rows(vehicle)
    ends = {end.place: wheel_end_state(end) for end in judgement.wheel_ends} if judgement else {}
    axles = {axle.axle: axle for axle in judgement.axles} if judgement else {}
    said = [f"{place}: {', '.join(state.words)}" for place, state in ends.items()]
    said += [f"axle {name}: wheels {'off' if axle.take_off else 'on'}" for name, axle in axles.items()]
    description = f"Front at the top. {'; '.join(said)}." if said else "Front at the top."
    height = rows[-1] + 42 if rows else 80.0
    drawing = Drawing(WIDTH, height, f"Vehicle {vehicle.id} from above", description)
    drawing.text((CENTRE, 10), "direction of travel", size=9.5, colour="muted", anchor="middle", italic=True)
    drawing.path(f"M{CENTRE} 32V16M{CENTRE - 4} 21L{CENTRE} 15L{CENTRE + 4} 21", "muted", 1.2)
    _draw_body(drawing, vehicle, rows)
    for axle, y in zip(vehicle.axles, rows, strict=True):
        _draw_axle(drawing, axle, axles.get(axle.id), y)
        for side in "LR":
            _draw_end(drawing, f"{axle.id}{side}", ends.get(f"{axle.id}{side}"), y)
    return drawing.render()
