"""Energy, drag and heat of each brake, and the tilt at which each calliper runs.

Every relation is a mechanism of the trade with expert-judgement numbers; the explanation is in
``docs/explanation/simulator.md``. All quantities are arrays over wheel ends in SI units.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.physics.drag import drag_power
from wearline.physics.guide_pins import GuidePins, greatest_pitch, greatest_yaw
from wearline.physics.pad_wear import WearTemperature, temperature_factor
from wearline.practice.conditions import Conditions
from wearline.practice.forces import PadForces, share_of_work, tyre_forces
from wearline.practice.layout import Floats, Layout
from wearline.practice.wear_state import Road, WearState

if TYPE_CHECKING:
    from wearline.practice.parameters import Mechanisms

__all__ = [
    "Work",
    "drag_torques",
    "effective_clearance",
    "guide_pins",
    "taper_targets",
    "tilts",
    "wear_factor",
    "work_by_distance",
]


_WEAR_OVER_TEMPERATURE = WearTemperature()


@dataclass(frozen=True, slots=True)
class Work:
    """Energy and heat of each brake over a stretch of road.

    Parameters
    ----------
    inner, outer : array, [J/m]
        Friction energy of each pad by distance.
    brake : array, [J/m]
        Part of their sum that braking makes.
    drag : array, [N m]
        Drag torque with the brake released, as it runs.
    temperature : array, [K]
        Working temperature of the rotor.
    wear_factor : array, [1]
        Specific wear against that of the duty.
    """

    inner: Floats
    outer: Floats
    brake: Floats
    drag: Floats
    temperature: Floats
    wear_factor: Floats


def guide_pins(
    state: WearState, now: Conditions, layout: Layout, mechanisms: Mechanisms
) -> tuple[GuidePins, GuidePins]:
    """Return the guides as they stand.

    Parameters
    ----------
    state : WearState
        State of wear.
    now : Conditions
        Mechanical quantities.
    layout : Layout
        The wheel ends.
    mechanisms : Mechanisms
        Numbers of the simulation.

    Returns
    -------
    tangential, radial : GuidePins
        With the long pin's clearance in either direction.
    """
    guidance = mechanisms.guidance
    long_clearance = np.maximum(state.long_clearance, now["long_clearance"])

    def pins(clearance: Floats) -> GuidePins:
        return GuidePins(
            long_clearance=clearance,
            long_span=layout.dimension["guide_span"],
            short_clearance_tangential=guidance.short_clearance_oval + now["short_clearance"],
            short_clearance_radial=now["short_clearance"],
            short_span=guidance.short_span,
            pin_distance=layout.dimension["pin_distance"],
        )

    return pins(long_clearance), pins(long_clearance * now["radial_share"])


def tilts(state: WearState, now: Conditions, layout: Layout, mechanisms: Mechanisms) -> tuple[Floats, Floats]:
    """Return the yaw and the pitch at which each calliper runs.

    Parameters
    ----------
    state : WearState
        State of wear.
    now : Conditions
        Mechanical quantities.
    layout : Layout
        The wheel ends.
    mechanisms : Mechanisms
        Numbers of the simulation.

    Returns
    -------
    yaw, pitch : array, [rad]
        Signed; yaw positive makes the outer pad thinner at its leading end.

    Notes
    -----
    The greatest tilt is that of the guides (two lands, short bushing); the bias says which share of it the
    calliper takes, to which side. A calliper on one stuck pin swings besides, a loose mount tilts besides.
    """
    yaw_pins, pitch_pins = guide_pins(state, now, layout, mechanisms)
    yaw = np.asarray(greatest_yaw(yaw_pins)) * now["tilt_bias"] + now["swing_tilt"] + now["mount_tilt"]
    pitch = np.asarray(greatest_pitch(pitch_pins)) * now["pitch_bias"] + now["mount_pitch"]
    free = 1.0 - now["seized"]
    return yaw * np.where(now["seized"] > 0.5, free, 1.0), pitch * np.where(now["seized"] > 0.5, free, 1.0)


def taper_targets(state: WearState, now: Conditions, road: Road) -> tuple[Floats, Floats, Floats, Floats]:
    """Return the tapers that worn-in pads would have.

    Parameters
    ----------
    state : WearState
        State of wear.
    now : Conditions
        Mechanical quantities.
    road : Road
        What stays the same.

    Returns
    -------
    end_inner, end_outer, top_inner, top_outer : array, [m]
        Leading less trailing and top less bottom.

    Notes
    -----
    Tilt: +theta L inside, -theta L outside. Seats that are not square: the same wedge on both. Friction
    moment and opening of the calliper: in proportion to the wear, the same sign on both. Tappets out of
    step: inside only, step x L / distance of the tappets (half the pad).
    """
    layout, own = road.layout, road.individuals
    yaw, pitch = tilts(state, now, layout, road.mechanisms)
    end, top = layout.dimension["measuring_length"], layout.dimension["measuring_height"]
    worn_inner, worn_outer = own.new_inner - state.inner, own.new_outer - state.outer
    step = now["tappet_step"] * end / (0.5 * layout.dimension["pad_length"])
    return (
        yaw * end + now["square_end"] + own.leading * worn_inner + step,
        -yaw * end + now["square_end"] + own.leading * worn_outer,
        pitch * top + now["square_top"] + own.top * worn_inner,
        -pitch * top + now["square_top"] + own.top * worn_outer,
    )


def drag_torques(state: WearState, now: Conditions, road: Road) -> tuple[Floats, Floats, Floats]:
    """Return the drag torques with the brake released.

    Parameters
    ----------
    state : WearState
        State of wear.
    now : Conditions
        Mechanical quantities.
    road : Road
        What stays the same.

    Returns
    -------
    inner, outer, hot : array, [N m]
        Torque of each pad on the road, and what only a warm brake adds.

    Notes
    -----
    Contact comes from what causes hold on, from too little clearance, from a slide too stiff to be re-centred
    (friction coefficient x effective radius x the force left) and from pad ends pressed on by a tilt that the
    pads do not yet fit.
    """
    drag, guidance = road.mechanisms.drag, road.mechanisms.guidance
    dimension = road.layout.dimension
    touch = drag.rub_torque * np.clip(1.0 - state.clearance / drag.rub_clearance, 0.0, 1.0) ** 2
    lever = dimension["friction_coefficient"] * dimension["effective_radius"]
    stiff = np.minimum(now["slide_hand"], guidance.stuck_force) - guidance.recentring_force
    held = np.where(now["seized"] > 0.5, 0.0, lever * np.maximum(stiff, 0.0))
    end_inner, end_outer, _, _ = taper_targets(state, now, road)
    misfit = 0.5 * np.maximum(np.abs(end_inner - state.end_inner), np.abs(end_outer - state.end_outer))
    misfit = misfit * dimension["pad_length"] / dimension["measuring_length"]
    tilted = drag.tilt_torque * np.clip((misfit - 0.5 * state.clearance) / drag.tilt_depth, 0.0, 1.0)
    share = guidance.inner_share_of_rub
    inner = now["rub_inner"] + 0.5 * (touch + tilted) + share * held
    outer = now["rub_outer"] + 0.5 * (touch + tilted) + (1.0 - share) * held
    return inner, outer, now["rub_hot"]


def work_by_distance(state: WearState, now: Conditions, road: Road) -> Work:
    """Return energy and heat of each brake.

    Parameters
    ----------
    state : WearState
        State of wear.
    now : Conditions
        Mechanical quantities.
    road : Road
        What stays the same.

    Returns
    -------
    Work
        Energy by distance, drag and temperature.

    Notes
    -----
    Braking: e_i = e_duty sum_l w_l F_i,l / mean F_l over the vehicle's sound brakes; drag: M / R.
    Temperature: T = T_a + (T_duty - T_a) (e_i / e_duty)^x + M v / (R h A); specific wear follows the generic
    curve over temperature.
    """
    layout, mechanisms, own = road.layout, road.mechanisms, road.individuals
    actuation, heat, duty = mechanisms.actuation, mechanisms.heat, layout.duty
    clearance = effective_clearance(state, now)
    forces = share_of_work(road.demand, layout, mechanisms, now, clearance)
    weights = np.array(actuation.light_energy_shares)[:, None] / layout.mean_over_vehicle(road.demand)
    asked = duty["energy"] * own.energy * now["energy_share"]
    asked = asked * (1.0 + now["retarder_loss"] * (duty["without_retarder"] - 1.0) * _fitted(layout))
    inner = asked * (weights * tyre_forces(_only(forces, "inner"), layout, now["friction_share"])).sum(axis=0)
    outer = asked * (weights * tyre_forces(_only(forces, "outer"), layout, now["friction_share"])).sum(axis=0)
    drag_inner, drag_outer, drag_hot = drag_torques(state, now, road)
    share = mechanisms.guidance.inner_share_of_rub
    drag_inner = drag_inner + share * drag_hot
    drag_outer = drag_outer + (1.0 - share) * drag_hot
    drag = drag_inner + drag_outer
    brake = inner + outer
    rise = (duty["working_temperature"] - heat.ambient) * (brake / duty["energy"]) ** heat.load_exponent
    rise = rise * own.heat + drag_power(drag, duty["speed"], layout.tyre_radius) / heat.cooling
    temperature = np.minimum(heat.ambient + rise, heat.hottest)
    factor = wear_factor(temperature) / wear_factor(duty["working_temperature"])
    return Work(
        inner=inner + drag_inner / layout.tyre_radius,
        outer=outer + drag_outer / layout.tyre_radius,
        brake=brake,
        drag=drag,
        temperature=temperature,
        wear_factor=factor,
    )


def _only(forces: PadForces, side: str) -> PadForces:
    zero = np.zeros_like(forces.inner)
    return PadForces(forces.inner, zero) if side == "inner" else PadForces(zero, forces.outer)


def _fitted(layout: Layout) -> Floats:
    """1 where a retarder or engine brake is fitted that can be missed."""
    fitted = np.array([spec.retarder == "fitted" for spec in layout.specs], dtype=float)
    result: Floats = fitted[layout.vehicle]
    return result


def effective_clearance(state: WearState, now: Conditions) -> Floats:
    """Return the clearance that the chamber's stroke has to close.

    Parameters
    ----------
    state : WearState
        State of wear.
    now : Conditions
        Mechanical quantities.

    Returns
    -------
    array, [m]
        Total clearance with half of what an adjuster slips back, at most 10 mm.
    """
    result: Floats = np.clip(state.clearance + 0.5 * now["back_slip"], 0.0, 0.01)
    return result


def wear_factor(temperature: Floats) -> Floats:
    """Return the specific wear of resin-bound friction against that of a warm brake.

    Parameters
    ----------
    temperature : array, [K]
        Rotor temperature.

    Returns
    -------
    array, [1]
        1 up to 150 degC, five times at 400 degC (expert judgement, see ``wearline.physics.pad_wear``).
    """
    return np.asarray(temperature_factor(temperature, _WEAR_OVER_TEMPERATURE))
