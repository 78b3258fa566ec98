"""Stroke budget of an enclosed brake: what clearance and elastic give take of the chamber's stroke.

The rod of an enclosed brake cannot be seen, so its stroke is reckoned from the running clearance. When
clearance and give together need more than the chamber has, force is lost; hot brakes get there first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wearline.physics.domain import require, require_positive

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = [
    "IRON_EXPANSION",
    "StrokeBudget",
    "StrokeDesign",
    "hot_clearance",
    "rod_stroke",
    "rotor_growth",
    "stroke_budget",
    "stroke_share",
]

IRON_EXPANSION = 11e-6
"""[1/K] Linear expansion of grey cast iron (handbook value, from memory, unverified)."""

WIDEST_CLEARANCE = 0.03
"""[m] A greater running clearance is a reading error: no adjuster has so much thread to lose."""


@dataclass(frozen=True, slots=True)
class StrokeDesign:
    """Lever, elastic give and stroke of one brake design.

    Parameters
    ----------
    lever_ratio : float or array, [1], more than 0, optional
        Rod travel over tappet travel. Generic 15.6: expert judgement; the maker's value decides.
    give_least, give_most : float or array, [m], 0 or more, optional
        Range of the elastic give at full pressure (calliper opening, pad squeeze). Generic 1.2 to 1.8 mm:
        expert judgement.
    available : float or array, [m], more than 0, optional
        Stroke that the chamber has. Generic 64 mm; the maker's value decides.

    Raises
    ------
    DomainError
        If a value is outside its range or the least give exceeds the most.
    """

    lever_ratio: Number = 15.6
    give_least: Number = 1.2e-3
    give_most: Number = 1.8e-3
    available: Number = 0.064

    def __post_init__(self) -> None:
        require_positive("lever ratio", self.lever_ratio, unit="")
        require("least elastic give", self.give_least, 0.0, WIDEST_CLEARANCE, unit="m")
        require("greatest elastic give", self.give_most, 0.0, WIDEST_CLEARANCE, unit="m")
        require("greatest less least elastic give", self.give_most - self.give_least, 0.0, unit="m")
        require_positive("stroke of the chamber", self.available, unit="m")


@dataclass(frozen=True, slots=True)
class StrokeBudget:
    """What one clearance asks of the chamber at full pressure, as a range.

    Parameters
    ----------
    stroke_least, stroke_most : float or array, [m]
        Range of the rod stroke.
    share_least, share_most : float or array, [1]
        The same as shares of the available stroke; above 1 the chamber bottoms.
    """

    stroke_least: Number
    stroke_most: Number
    share_least: Number
    share_most: Number


def rod_stroke(clearance: Number, give: Number, lever_ratio: Number) -> Number:
    """Return the stroke of the chamber's rod.

    Parameters
    ----------
    clearance : float or array, [m], 0 to 0.03
        Total running clearance, both sides of the rotor.
    give : float or array, [m], 0 or more
        Elastic give of calliper and pads at the clamp force reached.
    lever_ratio : float or array, [1], more than 0
        Rod travel over tappet travel.

    Returns
    -------
    float or array, [m]
        Rod stroke, as if the chamber had no end.

    Raises
    ------
    DomainError
        If clearance, give or ratio is outside its range.

    Notes
    -----
    s = i (clearance + give). Derived.
    """
    require(
        "total running clearance",
        clearance,
        0.0,
        WIDEST_CLEARANCE,
        unit="m",
        cure="Did the gauge read thousandths of an inch?",
    )
    require("elastic give", give, 0.0, WIDEST_CLEARANCE, unit="m")
    require_positive("lever ratio", lever_ratio, unit="")
    return lever_ratio * (clearance + give)


def stroke_share(stroke: Number, available: Number) -> Number:
    """Return the share of the chamber's stroke that is used.

    Parameters
    ----------
    stroke : float or array, [m], 0 or more
        Rod stroke.
    available : float or array, [m], more than 0
        Stroke that the chamber has.

    Returns
    -------
    float or array, [1]
        Above 1 the chamber bottoms before the clamp force is reached.

    Raises
    ------
    DomainError
        If the stroke is negative or the available stroke not positive.
    """
    require("rod stroke", stroke, 0.0, unit="m")
    require_positive("stroke of the chamber", available, unit="m")
    return stroke / available


def stroke_budget(clearance: Number, design: StrokeDesign) -> StrokeBudget:
    """Return the range of rod stroke that a clearance needs at full pressure.

    Parameters
    ----------
    clearance : float or array, [m], 0 to 0.03
        Total running clearance, cold.
    design : StrokeDesign
        Lever, give and stroke of the brake.

    Returns
    -------
    StrokeBudget
        Stroke and share, least and most.

    Raises
    ------
    DomainError
        If the clearance is outside its range.

    Notes
    -----
    s = i (clearance + give), evaluated at both ends of the give. Derived from expert judgement.
    """
    least = rod_stroke(clearance, design.give_least, design.lever_ratio)
    most = rod_stroke(clearance, design.give_most, design.lever_ratio)
    return StrokeBudget(
        least, most, stroke_share(least, design.available), stroke_share(most, design.available)
    )


def rotor_growth(thickness: Number, rise: Number, expansion: Number = IRON_EXPANSION) -> Number:
    """Return how much a rotor thickens when it warms.

    Parameters
    ----------
    thickness : float or array, [m], more than 0
        Rotor thickness, cold.
    rise : float or array, [K]
        Temperature rise of the ring's mean.
    expansion : float or array, [1/K], 0 or more, optional
        Linear expansion.

    Returns
    -------
    float or array, [m]
        Growth, negative on cooling.

    Raises
    ------
    DomainError
        If the thickness is not positive or the expansion negative.

    Notes
    -----
    alpha w dT. Derived.
    """
    require_positive("rotor thickness", thickness, unit="m")
    require("linear expansion", expansion, 0.0, unit="1/K")
    return expansion * thickness * rise


def hot_clearance(cold: Number, growth: Number, swell_per_pad: Number) -> Number:
    """Return the running clearance of a hot brake.

    Parameters
    ----------
    cold : float or array, [m], 0 to 0.03
        Total clearance measured cold.
    growth : float or array, [m]
        Growth of the rotor.
    swell_per_pad : float or array, [m], 0 or more
        Swelling of one pad, 0.1 to 0.3 mm when hot (expert judgement).

    Returns
    -------
    float or array, [m]
        Clearance left; negative means that the pads bear on the rotor with the brake released.

    Raises
    ------
    DomainError
        If the cold clearance or the swelling is outside its range.
    """
    require("total running clearance", cold, 0.0, WIDEST_CLEARANCE, unit="m")
    require("swelling of one pad", swell_per_pad, 0.0, WIDEST_CLEARANCE, unit="m")
    return cold - growth - 2.0 * swell_per_pad
