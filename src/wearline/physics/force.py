"""From chamber pressure to the force at the tyre, for a sound wheel end or one in another state.

Chain: pressure, rod force, lever, clamp force on the inner pad, what the slide leaves for the outer pad,
torque on the rotor, force at the tyre, what the road's grip lets through. Mechanics of rigid parts with
one elastic element, the calliper's give, which couples the clamp force to the stroke.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from wearline.errors import DomainError
from wearline.physics.chamber import StrokeCurve, check_pressure, rod_force
from wearline.physics.domain import require, require_positive
from wearline.physics.states import SOUND, WheelEndState

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = [
    "BrakeDesign",
    "brake_torque",
    "clamp_forces",
    "effective_radius_uniform_pressure",
    "effective_radius_uniform_wear",
    "friction_letter",
    "grip_limited",
    "tyre_force",
    "wheel_force",
    "wheel_torque",
]

FRICTION_CLASSES = (("C", 0.15), ("D", 0.25), ("E", 0.35), ("F", 0.45), ("G", 0.55))
"""Letter and upper bound, bound included. SAE J866 (Mar 2019) Table 1, from a transcription, confirm."""


@dataclass(frozen=True, slots=True)
class BrakeDesign:
    """The numbers of one brake design that its force curve needs.

    The defaults are a generic 22.5-inch brake with a 24 in^2 chamber: expert judgement throughout, the
    maker's values decide.

    Parameters
    ----------
    chamber_area : float or array, [m2], more than 0, optional
        Effective area of the chamber.
    chamber_efficiency : float or array, [1], 0 to 1, optional
        Share of the pressure force that reaches the rod.
    threshold : float or array, [Pa], 0 or more, optional
        Pressure at which the pads begin to bear.
    lever_ratio : float or array, [1], more than 0, optional
        Clamp force over rod force without losses.
    lever_efficiency : float or array, [1], 0 to 1, optional
        Efficiency of lever and bridge.
    friction : float or array, [1], 0 to 1, optional
        Friction coefficient between pad and rotor.
    effective_radius : float or array, [m], more than 0, optional
        Radius at which the friction acts.
    clearance : float or array, [m], 0 to 0.03, optional
        Total running clearance of the brake in order.
    compliance : float or array, [m/N], 0 or more, optional
        Elastic give per clamp force: 1.5 mm at 147 kN.
    stroke : StrokeCurve, optional
        Stroke of the chamber.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """

    chamber_area: Number = 0.01548384
    chamber_efficiency: Number = 0.98
    threshold: Number = 30e3
    lever_ratio: Number = 15.6
    lever_efficiency: Number = 0.94
    friction: Number = 0.36
    effective_radius: Number = 0.173
    clearance: Number = 1.524e-3
    compliance: Number = 1.5e-3 / 147e3
    stroke: StrokeCurve = field(default_factory=StrokeCurve)

    def __post_init__(self) -> None:
        require_positive("area of the chamber", self.chamber_area, unit="m2")
        require("efficiency of the chamber", self.chamber_efficiency, 0.0, 1.0, unit="")
        require("threshold pressure", self.threshold, 0.0, 1.2e6, unit="Pa")
        require_positive("lever ratio", self.lever_ratio, unit="")
        require("efficiency of the lever", self.lever_efficiency, 0.0, 1.0, unit="")
        require("friction coefficient", self.friction, 0.0, 1.0, unit="")
        require_positive("effective radius", self.effective_radius, unit="m")
        require("total running clearance", self.clearance, 0.0, 0.03, unit="m")
        require("compliance of the calliper", self.compliance, 0.0, 1e-6, unit="m/N")


def effective_radius_uniform_pressure(inner: Number, outer: Number) -> Number:
    """Return the effective radius of a pad with the same pressure everywhere, as when new.

    Parameters
    ----------
    inner, outer : float or array, [m], more than 0, outer above inner
        Radii of the friction face.

    Returns
    -------
    float or array, [m]
        Effective radius.

    Raises
    ------
    DomainError
        If a radius is not positive or the outer not greater than the inner.

    Notes
    -----
    2/3 (ro^3 - ri^3) / (ro^2 - ri^2). Machine-design textbooks (from memory, unverified; follows by
    integration).
    """
    _check_radii(inner, outer)
    return 2.0 / 3.0 * (outer**3 - inner**3) / (outer**2 - inner**2)


def effective_radius_uniform_wear(inner: Number, outer: Number) -> Number:
    """Return the effective radius of a worn-in pad, pressure times radius being constant.

    Parameters
    ----------
    inner, outer : float or array, [m], more than 0, outer above inner
        Radii of the friction face.

    Returns
    -------
    float or array, [m]
        Effective radius.

    Raises
    ------
    DomainError
        If a radius is not positive or the outer not greater than the inner.

    Notes
    -----
    (ro + ri) / 2. Machine-design textbooks (from memory, unverified; follows by integration).
    """
    _check_radii(inner, outer)
    return 0.5 * (outer + inner)


def friction_letter(friction: float) -> str:
    """Return the letter class of a friction coefficient.

    Parameters
    ----------
    friction : float, [1], 0 to 2
        Friction coefficient.

    Returns
    -------
    str
        'C' to 'H'; an upper bound belongs to its class. The class is of a sample's test and does not predict
        how a brake performs.

    Raises
    ------
    DomainError
        If the coefficient is not a number from 0 to 2.

    Notes
    -----
    SAE J866 (Mar 2019) Table 1, from a transcription, confirm.
    """
    require("friction coefficient", friction, 0.0, 2.0, unit="")
    if friction != friction:
        raise DomainError(
            "friction coefficient is not a number", allowed="0 to 2", cure="Give the measured coefficient."
        )
    for letter, bound in FRICTION_CLASSES:
        if friction <= bound:
            return letter
    return "H"


def clamp_forces(pressure: Number, brake: BrakeDesign, state: WheelEndState = SOUND) -> tuple[Number, Number]:
    """Return the clamp force on the inner and the outer pad.

    Parameters
    ----------
    pressure : float or array, [Pa], 0 to 1.2e6
        Line pressure.
    brake : BrakeDesign
        The brake.
    state : WheelEndState, optional
        What is different at this wheel end.

    Returns
    -------
    inner, outer : float or array, [N]
        Clamp forces.

    Raises
    ------
    DomainError
        If the pressure is outside 0 to 12 bar.

    Notes
    -----
    F_in = i eta_m eta_c A (p - p_0) phi(s), s = i (clearance + C F_in), phi the chamber's fall-off; the
    quadratic for F_in is solved in closed form. F_out = F_in - F_slide. Derived; the fall-off is expert
    judgement.
    """
    check_pressure(pressure)
    rod = rod_force(
        pressure * state.pressure_share,
        brake.chamber_area,
        brake.threshold + state.threshold_rise,
        brake.chamber_efficiency,
    )
    full = brake.lever_ratio * brake.lever_efficiency * state.transmission_share * rod
    inner = _clamp_with_stroke(full, brake, state)
    outer = np.maximum(inner - state.slide_force, 0.0)
    return inner, outer


def brake_torque(
    clamp_inner: Number, clamp_outer: Number, friction: Number, effective_radius: Number
) -> Number:
    """Return the torque on the rotor.

    Parameters
    ----------
    clamp_inner, clamp_outer : float or array, [N], 0 or more
        Clamp force on either pad.
    friction : float or array, [1], 0 to 1
        Friction coefficient.
    effective_radius : float or array, [m], more than 0
        Radius at which the friction acts.

    Returns
    -------
    float or array, [N m]
        Torque of both pads.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    M = mu r_e (F_in + F_out); with equal forces 2 mu F r_e, one mu F r_e for each of the two pads. Mechanics.
    """
    require("clamp force on the inner pad", clamp_inner, 0.0, unit="N")
    require("clamp force on the outer pad", clamp_outer, 0.0, unit="N")
    require("friction coefficient", friction, 0.0, 2.0, unit="")
    require_positive("effective radius", effective_radius, unit="m")
    return friction * effective_radius * (clamp_inner + clamp_outer)


def wheel_torque(pressure: Number, brake: BrakeDesign, state: WheelEndState = SOUND) -> Number:
    """Return the brake torque of a wheel end at a pressure.

    Parameters
    ----------
    pressure : float or array, [Pa], 0 to 1.2e6
        Line pressure.
    brake : BrakeDesign
        The brake.
    state : WheelEndState, optional
        What is different at this wheel end.

    Returns
    -------
    float or array, [N m]
        Torque, at least the drag torque.

    Raises
    ------
    DomainError
        If the pressure is outside 0 to 12 bar.

    Notes
    -----
    A brake that drags keeps its pads pressed; applied force adds nothing until it exceeds that.
    """
    inner, outer = clamp_forces(pressure, brake, state)
    torque = brake_torque(inner, outer, brake.friction * state.friction_share, brake.effective_radius)
    return np.maximum(torque, state.drag_torque)


def tyre_force(torque: Number, tyre_radius: Number) -> Number:
    """Return the brake force at the tyre.

    Parameters
    ----------
    torque : float or array, [N m]
        Brake torque.
    tyre_radius : float or array, [m], 0.2 to 1
        Radius of the rolling tyre.

    Returns
    -------
    float or array, [N]
        Force at the contact patch, before the limit by grip.

    Raises
    ------
    DomainError
        If the radius is outside 0.2 to 1 m.

    Notes
    -----
    F_x = M / R. Mechanics; the wheel's own inertia is neglected.
    """
    require("radius of the tyre", tyre_radius, 0.2, 1.0, unit="m", cure="Give the rolling radius in metres.")
    return torque / tyre_radius


def wheel_force(
    pressure: Number, brake: BrakeDesign, tyre_radius: Number, state: WheelEndState = SOUND
) -> Number:
    """Return the brake force at the tyre of a wheel end at a pressure.

    Parameters
    ----------
    pressure : float or array, [Pa], 0 to 1.2e6
        Line pressure.
    brake : BrakeDesign
        The brake.
    tyre_radius : float or array, [m], 0.2 to 1
        Radius of the rolling tyre.
    state : WheelEndState, optional
        What is different at this wheel end.

    Returns
    -------
    float or array, [N]
        Force at the contact patch, before the limit by grip.

    Raises
    ------
    DomainError
        If pressure or radius is outside its range.
    """
    return tyre_force(wheel_torque(pressure, brake, state), tyre_radius)


def grip_limited(force: Number, normal_load: Number, adhesion: Number) -> Number:
    """Return the brake force that the road's grip lets through.

    Parameters
    ----------
    force : float or array, [N], 0 or more
        Brake force that the brake could make.
    normal_load : float or array, [N], 0 or more
        Load on the wheel or axle.
    adhesion : float or array, [1], 0 to 1.5
        Adhesion between tyre and road.

    Returns
    -------
    float or array, [N]
        The smaller of the brake's force and the grip; beyond it the anti-lock system works.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    F_x <= k N. Mechanics.
    """
    require("brake force", force, 0.0, unit="N")
    require("load on the wheel", normal_load, 0.0, unit="N")
    require("adhesion", adhesion, 0.0, 1.5, unit="")
    return np.minimum(force, adhesion * normal_load)


def _clamp_with_stroke(full: Number, brake: BrakeDesign, state: WheelEndState) -> Number:
    """Solve F = F0 (1 - (a + b F)^2) for the clamp force; F0 where the stroke stays below the knee."""
    clearance = brake.clearance + state.clearance_excess
    span = brake.stroke.available - brake.stroke.knee
    a = (brake.lever_ratio * clearance - brake.stroke.knee) / span
    b = brake.lever_ratio * brake.compliance / span
    linear = 1.0 + 2.0 * a * b * full
    root = np.sqrt(np.maximum(linear * linear + 4.0 * (full * b) * (full * b) * (1.0 - a * a), 0.0))
    # two forms of the same root: each where it does not subtract nearly equal numbers
    with np.errstate(divide="ignore", invalid="ignore"):
        falling = np.where(
            linear >= 0.0,
            2.0 * full * (1.0 - a * a) / (linear + root),
            (root - linear) / (2.0 * full * b * b),
        )
    clamp = np.where(a + b * full <= 0.0, full, np.where(a >= 1.0, 0.0, falling))
    result: Number = np.where(np.isnan(full), full, clamp)[()]
    return result


def _check_radii(inner: Number, outer: Number) -> None:
    require_positive("inner radius", inner, unit="m")
    require_positive("outer radius less inner radius", outer - inner, unit="m")
