"""What the states found at a wheel end leave of its brake force, by the force chain of the brake.

The sizes of most states are expert judgement; where a reading measures the state, as total travel measures
a dead adjuster, the reading is used.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from wearline.assessment.braking_numbers import BrakingNumber, braking_number, braking_numbers
from wearline.assessment.judge import Judged
from wearline.catalogue.model import Design
from wearline.physics.chamber import StrokeCurve
from wearline.physics.force import BrakeDesign, wheel_torque
from wearline.physics.states import (
    SOUND,
    WheelEndState,
    dead_adjuster,
    glazed_pads,
    low_pressure,
    oiled_pads,
    raised_threshold,
    seized_slide,
)

__all__ = ["ForceLeft", "FoundState", "brake_design", "force_left", "states_found"]

NINETY_PERCENT = 1.645
"""Standard deviations on either side that hold 90 % of a normal distribution."""


KEPT = 0.995
"""Share of the force above which a clearance somewhat over the usual is not worth a word."""


@dataclass(frozen=True, slots=True)
class FoundState:
    """One state of a wheel end that takes force from it.

    Parameters
    ----------
    code : str
        ``"slide stuck"``, ``"adjuster"``, ``"oil"``, ``"glaze"``, ``"pressure"``, ``"threshold"``.
    text : str
        In words, with the reading where there is one.
    likely, mild, severe : WheelEndState
        The state at its likely size and at either end of its usual range.
    status : str
        What the size rests on.
    """

    code: str
    text: str
    likely: WheelEndState
    mild: WheelEndState
    severe: WheelEndState
    status: str


@dataclass(frozen=True, slots=True)
class ForceLeft:
    """Share of the intended force that a wheel end has left, with its range.

    Parameters
    ----------
    share, low, high : float
        Likely share and 90 % range at a full application [1].
    light : float
        Likely share at a light application [1].
    """

    share: float
    low: float
    high: float
    light: float

    @property
    def u(self) -> float:
        """Standard uncertainty [1], from the range taken as 90 %."""
        return (self.high - self.low) / (2.0 * NINETY_PERCENT)


def brake_design(design: Design, *, give: float | None = None) -> BrakeDesign:
    """Return the numbers of a catalogue design that its force curve needs.

    Parameters
    ----------
    design : Design
        From the catalogue; the maker's values decide.
    give : float, [m], optional
        Elastic give at a full application; the middle of the design's range by default.

    Returns
    -------
    BrakeDesign
        For `wearline.physics.force`.
    """
    given = 0.5 * (design.give_least + design.give_most) if give is None else give
    plain = BrakeDesign(
        chamber_area=design.chamber_area,
        threshold=design.push_out_pressure,
        lever_ratio=design.lever_ratio,
        lever_efficiency=design.mechanical_efficiency,
        friction=design.friction_coefficient,
        effective_radius=design.effective_radius,
        clearance=2.0 * design.clearance_per_side,
        compliance=0.0,
        stroke=StrokeCurve(available=design.stroke_available),
    )
    rod = plain.chamber_area * (braking_number("full_pressure") - plain.threshold) * plain.chamber_efficiency
    clamp = rod * plain.lever_ratio * plain.lever_efficiency
    return BrakeDesign(
        chamber_area=plain.chamber_area,
        threshold=plain.threshold,
        lever_ratio=plain.lever_ratio,
        lever_efficiency=plain.lever_efficiency,
        friction=plain.friction,
        effective_radius=plain.effective_radius,
        clearance=plain.clearance,
        compliance=given / clamp,
        stroke=plain.stroke,
    )


def states_found(judged: Judged, row: int, design: Design) -> tuple[FoundState, ...]:
    """Return the states of one wheel end that take force from it.

    Parameters
    ----------
    judged : Judged
        Judged readings.
    row : int
        The wheel end.
    design : Design
        Its brake.

    Returns
    -------
    tuple of FoundState
        Empty where nothing was found; that is no proof that nothing is there.
    """
    found = [
        _adjuster(judged, row, design),
        _slide(judged, row),
        _friction(judged, row),
        _leak(judged, row),
        _threshold(judged, row),
    ]
    return tuple(state for state in found if state is not None)


def force_left(design: Design, states: tuple[FoundState, ...]) -> ForceLeft:
    """Return what the states leave of the force of a brake.

    Parameters
    ----------
    design : Design
        The brake.
    states : tuple of FoundState
        States found.

    Returns
    -------
    ForceLeft
        Share against the same brake in order.

    Notes
    -----
    Share = M(p, states) / M(p, sound) at 690 kPa, with the elastic give at the middle of its range; mild
    states with the least give and severe ones with the most give the range. Derived; sizes as the states say.
    """
    full, light = braking_number("full_pressure"), braking_number("light_pressure")

    def left(pick: Callable[[FoundState], WheelEndState], pressure: float, give: float | None) -> float:
        brake = brake_design(design, give=give)
        state = SOUND
        for found in states:
            state = state.with_also(pick(found))
        return float(wheel_torque(pressure, brake, state) / wheel_torque(pressure, brake))

    if not states:
        return ForceLeft(1.0, 1.0, 1.0, 1.0)
    share = left(lambda found: found.likely, full, None)
    return ForceLeft(
        share=share,
        low=min(share, left(lambda found: found.severe, full, design.give_most)),
        high=max(share, left(lambda found: found.mild, full, design.give_least)),
        light=left(lambda found: found.likely, light, None),
    )


def _adjuster(judged: Judged, row: int, design: Design) -> FoundState | None:
    """Clearance above the usual; the stroke budget says by itself whether it costs force."""
    travel = float(judged.columns.value("total_travel")[row])
    usual = 2.0 * design.clearance_per_side
    if (
        math.isnan(travel)
        or travel <= usual
        or judged.doubts.inch_slip.get("total_travel", _nowhere(judged))[row]
    ):
        return None
    u = float(judged.columns.uncertainty("total_travel")[row])
    spread = 0.0 if math.isnan(u) else NINETY_PERCENT * u
    dead = bool(judged.columns.says("adjuster_test", "does not advance", "turns back")[row])
    text = f"total travel {1e3 * travel:.2f} mm against {1e3 * usual:.2f} mm usual"
    found = FoundState(
        code="adjuster",
        text=f"{text}, the adjuster does not take it up" if dead else text,
        likely=dead_adjuster(travel, usual),
        mild=dead_adjuster(max(travel - spread, usual), usual),
        severe=dead_adjuster(travel + spread, usual),
        status="derived from the travel measured",
    )
    return found if dead or force_left(design, (found,)).low < KEPT else None


def _slide(judged: Judged, row: int) -> FoundState | None:
    if not judged.derived.stuck[row]:
        return None
    return _sized(
        "slide stuck",
        "the calliper does not slide: the outer pad gets less than the inner",
        braking_numbers()["slide_loss"],
        seized_slide,
        more_is_worse=True,
    )


def _friction(judged: Judged, row: int) -> FoundState | None:
    columns = judged.columns
    if columns.says("pad_condition", "oil")[row] or columns.says("first_look", "oil")[row]:
        return _sized("oil", "oil on the friction", braking_numbers()["oiled_share"], oiled_pads)
    if columns.says("pad_condition", "glazed")[row]:
        return _sized("glaze", "glazed friction", braking_numbers()["glazed_share"], glazed_pads)
    return None


def _leak(judged: Judged, row: int) -> FoundState | None:
    columns = judged.columns
    if not (columns.says("chamber_seal", "leaks")[row] or columns.says("hose", "kinked")[row]):
        return None
    number = braking_numbers()["leaking_share"]
    return _sized("pressure", "less air than its mate: leak or kink", number, low_pressure)


def _threshold(judged: Judged, row: int) -> FoundState | None:
    """A threshold above the mate's: both hang on the same valve, so the difference is the brake's own."""
    threshold = judged.columns.value("pressure_threshold")
    rise = float(threshold[row] - judged.columns.of_mate(threshold)[row])
    if math.isnan(rise) or rise <= 0.0:
        return None
    state = raised_threshold(rise)
    text = f"force begins {rise / 1e5:.2f} bar later than at the other end"
    return FoundState("threshold", text, state, state, state, "derived from the thresholds measured")


def _sized(
    code: str,
    text: str,
    number: BrakingNumber,
    make: Callable[[float], WheelEndState],
    *,
    more_is_worse: bool = False,
) -> FoundState:
    mild, severe = (number.low, number.high) if more_is_worse else (number.high, number.low)
    return FoundState(code, text, make(number.value), make(mild), make(severe), number.status)


def _nowhere(judged: Judged) -> list[bool]:
    return [False] * judged.columns.n
