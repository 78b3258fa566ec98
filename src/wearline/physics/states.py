"""States a wheel end can be in, as small objects that change its force curve.

One frozen object holds what is different from a sound brake; each fault of the trade has a function that
makes one, with generic sizes of expert judgement (middle of a wide spread; half to double is usual).
States combine.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wearline.physics.domain import require
from wearline.physics.elementwise import larger

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = [
    "SOUND",
    "WheelEndState",
    "dead_adjuster",
    "dragging",
    "glazed_pads",
    "low_pressure",
    "oiled_pads",
    "raised_threshold",
    "seized_slide",
    "worn_lever_bearing",
]


@dataclass(frozen=True, slots=True)
class WheelEndState:
    """What is different at one wheel end from the sound brake of its design.

    Parameters
    ----------
    pressure_share : float or array, [1], 0 to 1, optional
        Share of the line pressure that reaches the chamber.
    threshold_rise : float or array, [Pa], 0 or more, optional
        Threshold above the design's.
    clearance_excess : float or array, [m], -0.03 to 0.03, optional
        Total running clearance above the design's.
    transmission_share : float or array, [1], 0 to 1, optional
        Share of the lever's and bridge's efficiency that is left.
    slide_force : float or array, [N], 0 or more, optional
        Clamp force that the inner pad bears before the outer pad bears any.
    friction_share : float or array, [1], 0 to 2, optional
        Friction coefficient against the design's.
    drag_torque : float or array, [N m], 0 or more, optional
        Torque that stays with the brake released.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """

    pressure_share: Number = 1.0
    threshold_rise: Number = 0.0
    clearance_excess: Number = 0.0
    transmission_share: Number = 1.0
    slide_force: Number = 0.0
    friction_share: Number = 1.0
    drag_torque: Number = 0.0

    def __post_init__(self) -> None:
        require("share of the pressure", self.pressure_share, 0.0, 1.0, unit="")
        require("rise of the threshold", self.threshold_rise, 0.0, 1.2e6, unit="Pa")
        require("clearance above the design's", self.clearance_excess, -0.03, 0.03, unit="m")
        require("share of the transmission", self.transmission_share, 0.0, 1.0, unit="")
        require("force lost in the slide", self.slide_force, 0.0, 1e6, unit="N")
        require("share of the friction", self.friction_share, 0.0, 2.0, unit="")
        require("drag torque", self.drag_torque, 0.0, 1e5, unit="N m")

    def with_also(self, other: WheelEndState) -> WheelEndState:
        """Return the state with another fault present as well.

        Parameters
        ----------
        other : WheelEndState
            The other fault.

        Returns
        -------
        WheelEndState
            Shares multiply, losses add, the greater clearance and drag hold.
        """
        return WheelEndState(
            pressure_share=self.pressure_share * other.pressure_share,
            threshold_rise=self.threshold_rise + other.threshold_rise,
            clearance_excess=larger(self.clearance_excess, other.clearance_excess),
            transmission_share=self.transmission_share * other.transmission_share,
            slide_force=self.slide_force + other.slide_force,
            friction_share=self.friction_share * other.friction_share,
            drag_torque=larger(self.drag_torque, other.drag_torque),
        )


SOUND = WheelEndState()
"""Nothing different from the design."""


def seized_slide(slide_force: Number = 70e3) -> WheelEndState:
    """Return the state of a calliper that does not slide.

    Parameters
    ----------
    slide_force : float or array, [N], 0 or more, optional
        Clamp force on the inner pad before the bent calliper brings the outer pad to bear. 70 kN loses about
        a quarter of the force in a full stop and half of it in a light one: expert judgement.

    Returns
    -------
    WheelEndState
        The state.
    """
    return WheelEndState(slide_force=slide_force)


def dead_adjuster(clearance: Number, design_clearance: Number = 1.524e-3) -> WheelEndState:
    """Return the state of a brake whose clearance is no longer taken up.

    Parameters
    ----------
    clearance : float or array, [m], 0 to 0.03
        Total running clearance found, 2.3 to 4 mm at the usual stage of discovery (expert judgement).
    design_clearance : float or array, [m], 0 to 0.03, optional
        Total running clearance of the brake in order, generic 0.060 in (common practice, no source).

    Returns
    -------
    WheelEndState
        The state.
    """
    return WheelEndState(clearance_excess=clearance - design_clearance)


def oiled_pads(friction_share: Number = 0.55) -> WheelEndState:
    """Return the state of pads with oil or grease on them.

    Parameters
    ----------
    friction_share : float or array, [1], 0 to 2, optional
        Friction left; 0.55 is expert judgement.

    Returns
    -------
    WheelEndState
        The state.
    """
    return WheelEndState(friction_share=friction_share)


def glazed_pads(friction_share: Number = 0.7) -> WheelEndState:
    """Return the state of overheated pads with a hard shiny face.

    Parameters
    ----------
    friction_share : float or array, [1], 0 to 2, optional
        Friction left; 0.7 is expert judgement.

    Returns
    -------
    WheelEndState
        The state.
    """
    return WheelEndState(friction_share=friction_share)


def dragging(drag_torque: Number) -> WheelEndState:
    """Return the state of a brake that does not release.

    Parameters
    ----------
    drag_torque : float or array, [N m], 0 or more
        Torque with the brake released; see `wearline.physics.drag` for its estimate from a temperature.

    Returns
    -------
    WheelEndState
        The state.
    """
    return WheelEndState(drag_torque=drag_torque)


def low_pressure(pressure_share: Number = 0.6) -> WheelEndState:
    """Return the state of a chamber that gets less air than its mate.

    Parameters
    ----------
    pressure_share : float or array, [1], 0 to 1, optional
        Share of the line pressure that arrives; 0.6 is expert judgement.

    Returns
    -------
    WheelEndState
        The state.
    """
    return WheelEndState(pressure_share=pressure_share)


def worn_lever_bearing(transmission_share: Number = 0.7) -> WheelEndState:
    """Return the state of a calliper that loses force in its lever or bridge.

    Parameters
    ----------
    transmission_share : float or array, [1], 0 to 1, optional
        Share of the efficiency left; 0.7 is expert judgement.

    Returns
    -------
    WheelEndState
        The state.
    """
    return WheelEndState(transmission_share=transmission_share)


def raised_threshold(rise: Number) -> WheelEndState:
    """Return the state of a brake that starts to work at a higher pressure than designed.

    Parameters
    ----------
    rise : float or array, [Pa], 0 or more
        Threshold above the design's.

    Returns
    -------
    WheelEndState
        The state.
    """
    return WheelEndState(threshold_rise=rise)
