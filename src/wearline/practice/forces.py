"""From air pressure to the forces on both pads, and how the brakes of a vehicle share the demanded braking.

All brakes of a vehicle (or of an axle, under electronic control) see one control pressure; it rises until
the sum of their forces is what is asked for. A brake that does less makes the others do more.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.physics.chamber import StrokeCurve
from wearline.physics.force import BrakeDesign, brake_torque, clamp_forces
from wearline.physics.states import WheelEndState
from wearline.practice.conditions import Conditions
from wearline.practice.layout import Floats, Layout, sums

if TYPE_CHECKING:
    from wearline.practice.parameters import Mechanisms

__all__ = [
    "PadForces",
    "chamber_pressures",
    "nominal_level_forces",
    "pad_forces",
    "share_of_work",
    "tyre_forces",
]

_STEPS = 26
"""Control pressures at which the force curves are evaluated; between them they are taken as straight."""

_SYSTEM_PRESSURE = 1.0e6
"""[Pa] No more reaches a chamber, whatever is asked."""


@dataclass(frozen=True, slots=True)
class PadForces:
    """Clamp forces on the two pads.

    Parameters
    ----------
    inner, outer : array, shape (..., wheel ends), [N]
        Clamp force on the inner and on the outer pad.
    """

    inner: Floats
    outer: Floats

    @property
    def both(self) -> Floats:
        """Sum of the two [N]."""
        return self.inner + self.outer


def pad_forces(
    pressure: Floats, layout: Layout, mechanisms: Mechanisms, now: Conditions, clearance: Floats
) -> PadForces:
    """Return the clamp forces on both pads at given chamber pressures.

    Parameters
    ----------
    pressure : array, shape (..., wheel ends), [Pa], 0 to 1.2e6
        Pressure sent to each chamber.
    layout : Layout
        The wheel ends.
    mechanisms : Mechanisms
        Numbers of the simulation.
    now : Conditions
        Mechanical quantities.
    clearance : array, shape (wheel ends,), [m]
        Total running clearance.

    Returns
    -------
    PadForces
        Forces that reach the rotor.

    Notes
    -----
    F_in = F_clamp - F_hold,in; F_out = F_clamp - max(loss F_clamp, F_block) - F_hold,out, neither below zero;
    the loss grows with the hand force of the slide, for the pins carry part of the clamp force. A clearance
    above nominal stretches the return springs and raises the threshold. Mechanics; numbers expert judgement.
    """
    actuation, guidance = mechanisms.actuation, mechanisms.guidance
    dimension = layout.dimension
    excess = clearance - layout.nominal_clearance
    brake = BrakeDesign(
        chamber_area=layout.chamber_area * now["chamber_share"],
        threshold=np.maximum(dimension["push_out_pressure"] + now["threshold_shift"], 0.0),
        lever_ratio=dimension["lever_ratio"],
        lever_efficiency=dimension["mechanical_efficiency"],
        friction=dimension["friction_coefficient"],
        effective_radius=dimension["effective_radius"],
        clearance=layout.nominal_clearance,
        compliance=layout.compliance,
        stroke=StrokeCurve(dimension["stroke_available"], actuation.stroke_knee),
    )
    state = WheelEndState(
        pressure_share=now["pressure_share"],
        threshold_rise=actuation.return_spring_rise * np.maximum(excess, 0.0),
        clearance_excess=excess,
        transmission_share=now["transmission_share"],
    )
    clamp, _ = clamp_forces(pressure, brake, state)
    hand = now["slide_hand"] + 0.5 * now["slide_hot"]
    loss = np.minimum(guidance.loss_per_hand_force * np.minimum(hand, guidance.stuck_force), 0.6)
    inner = np.maximum(clamp - now["hold_inner"], 0.0)
    outer = np.maximum(clamp - np.maximum(clamp * loss, now["slide_block"]) - now["hold_outer"], 0.0)
    return PadForces(inner, outer)


def tyre_forces(forces: PadForces, layout: Layout, friction_share: Floats) -> Floats:
    """Return the brake forces at the tyres.

    Parameters
    ----------
    forces : PadForces
        Clamp forces.
    layout : Layout
        The wheel ends.
    friction_share : array, [1]
        Friction against a sound pad.

    Returns
    -------
    array, shape (..., wheel ends), [N]
        Before the limit by grip.
    """
    friction = layout.dimension["friction_coefficient"] * friction_share
    torque = brake_torque(forces.inner, forces.outer, friction, layout.dimension["effective_radius"])
    result: Floats = np.asarray(torque / layout.tyre_radius)
    return result


def _valves(layout: Layout, now: Conditions) -> Floats:
    """How strongly the control pressure reaches each axle, so that sound brakes share work as is usual."""
    strength = (
        layout.chamber_area
        * layout.dimension["friction_coefficient"]
        * layout.dimension["effective_radius"]
        / layout.tyre_radius
    )
    loss = now["retarder_loss"]
    wanted = layout.share + loss * (layout.share_without - layout.share)
    valve = wanted / strength
    result: Floats = now["valve_share"] * valve / layout.mean_over_vehicle(valve)
    return result


def chamber_pressures(control: Floats, layout: Layout, now: Conditions) -> Floats:
    """Return what reaches the chambers at each control pressure.

    Parameters
    ----------
    control : array, shape (pressures,), [Pa]
        Control pressures.
    layout : Layout
        The wheel ends.
    now : Conditions
        Mechanical quantities.

    Returns
    -------
    array, shape (pressures, wheel ends), [Pa]
        At most the pressure of the system.
    """
    base = layout.dimension["push_out_pressure"]
    pressure = base + _valves(layout, now) * (control[:, None] - base)
    result: Floats = np.clip(pressure, 0.0, _SYSTEM_PRESSURE)
    return result


def nominal_level_forces(layout: Layout, mechanisms: Mechanisms, sound: Conditions) -> Floats:
    """Return the tyre forces of sound brakes in each kind of application.

    Parameters
    ----------
    layout : Layout
        The wheel ends.
    mechanisms : Mechanisms
        Numbers of the simulation.
    sound : Conditions
        Mechanical quantities without any cause.

    Returns
    -------
    array, shape (kinds of application, wheel ends), [N]
        What is asked of each brake when all are sound.
    """
    control = np.array(mechanisms.actuation.light_pressures)
    pressure = chamber_pressures(control, layout, sound)
    forces = pad_forces(pressure, layout, mechanisms, sound, sound["clearance_goal"])
    return tyre_forces(forces, layout, sound["friction_share"])


def share_of_work(
    demand: Floats, layout: Layout, mechanisms: Mechanisms, now: Conditions, clearance: Floats
) -> PadForces:
    """Return the clamp forces at which the brakes together do what is asked.

    Parameters
    ----------
    demand : array, shape (kinds of application, wheel ends), [N]
        Tyre force asked of each brake when all are sound; only the sums over a group count.
    layout : Layout
        The wheel ends.
    mechanisms : Mechanisms
        Numbers of the simulation.
    now : Conditions
        Mechanical quantities.
    clearance : array, shape (wheel ends,), [m]
        Total running clearance.

    Returns
    -------
    PadForces
        Arrays of shape (kinds of application, wheel ends).

    Notes
    -----
    The control pressure of each group solves sum F_i(p) = sum F_i,asked on a grid of pressures, straight
    lines between; where the highest pressure does not suffice it is the highest pressure. Under electronic
    control a wrong setting shifts what is asked from axle to axle.
    """
    grid = mechanisms.actuation.highest_pressure * np.linspace(0.0, 1.0, _STEPS) ** 1.8
    pressure = chamber_pressures(grid, layout, now)
    forces = pad_forces(pressure, layout, mechanisms, now, clearance)
    supply = sums(tyre_forces(forces, layout, now["friction_share"]), layout.group_starts)
    wanted = demand * now["load_share"]
    setting = np.where(layout.by_axle, now["valve_share"], 1.0)
    wanted = wanted * setting * layout.mean_over_vehicle(wanted) / layout.mean_over_vehicle(wanted * setting)
    asked = sums(wanted, layout.group_starts)
    above = (supply[None, :, :] < asked[:, None, :]).sum(axis=1)
    upper = np.clip(above, 1, _STEPS - 1)
    groups = np.arange(supply.shape[1])
    low, high = supply[upper - 1, groups], supply[upper, groups]
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(high > low, (asked - low) / (high - low), 1.0)
    part = np.clip(part, 0.0, 1.0)[:, layout.group]
    upper = upper[:, layout.group]
    ends = np.arange(layout.ends)

    def between(values: Floats) -> Floats:
        result: Floats = values[upper - 1, ends] * (1.0 - part) + values[upper, ends] * part
        return result

    return PadForces(between(forces.inner), between(forces.outer))
