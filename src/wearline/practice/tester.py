"""The vehicle on the roller brake tester, and its temperatures after a run with ordinary stops."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wearline.physics.domain import GRAVITY
from wearline.physics.drag import drag_power, warm_up_share
from wearline.practice.forces import pad_forces, share_of_work, tyre_forces
from wearline.practice.work import effective_clearance

if TYPE_CHECKING:
    from wearline.practice.conditions import Conditions
    from wearline.practice.layout import Floats
    from wearline.practice.simulation import Simulation
    from wearline.records.readings import ReadingKey

__all__ = ["after_run", "on_the_roller"]

_PRESSURES = 15
_ORDINARY = 1
"""Which of the kinds of application the stops of a run are."""


def on_the_roller(simulation: Simulation, now: Conditions, drag: Floats) -> dict[ReadingKey, Floats]:
    """Return the forces that a roller brake tester shows.

    Parameters
    ----------
    simulation : Simulation
        The vehicles.
    now : Conditions
        Mechanical quantities.
    drag : array, [N m]
        Drag torque of the cold released brake on the road.

    Returns
    -------
    dict of (field, spot) to array, [SI]
        Forces, wheel load and threshold pressure.

    Notes
    -----
    Both ends of an axle are read at the same pressure: the highest at which the stronger one does not yet
    slip, at most the test pressure. Nothing shakes the pads off on the roller, so drag reads higher than on
    the road.
    """
    layout, mechanisms, rng = simulation.layout, simulation.mechanisms, simulation.look_rng
    testing, drags = mechanisms.testing, mechanisms.drag
    friction = now["friction_share"] * _bedded(simulation)
    clearance = effective_clearance(simulation.state, now)

    def force_at(pressure: Floats) -> Floats:
        forces = pad_forces(pressure, layout, mechanisms, now, clearance)
        return tyre_forces(forces, layout, friction)

    pressures = np.linspace(0.0, testing.test_pressure, _PRESSURES)
    curve = force_at(pressures[:, None] * np.ones(layout.ends))
    grip = testing.grip + testing.grip_spread * rng.standard_normal(len(layout.specs))
    limit = (grip[layout.vehicle] * layout.wheel_load)[::2]
    stronger = np.maximum(curve[:, ::2], curve[:, 1::2])
    reached = np.repeat(np.array([_last_below(stronger[:, i], limit[i]) for i in range(limit.size)]), 2)
    highest = _between(curve, reached)
    swing = mechanisms.wear.swing_share * now["thickness_variation"]
    swing = swing + 0.15 * np.maximum(now["runout"] + now["seat_runout"] - 1e-4, 0.0) * 1e3
    rub = drag / (drags.bench_share * layout.tyre_radius)
    threshold = layout.dimension["push_out_pressure"] + now["threshold_shift"]
    threshold = threshold + mechanisms.actuation.return_spring_rise * np.maximum(
        clearance - layout.nominal_clearance, 0.0
    )
    threshold = threshold / np.maximum(now["pressure_share"] * now["transmission_share"], 0.2)
    threshold = threshold + testing.threshold_pressure_spread * rng.standard_normal(layout.ends)
    unsprung = np.array([axle.role == "steer" for spec in layout.specs for axle in spec.axles])
    sprung = ~np.repeat(unsprung, 2)
    return {
        ("brake_force", ""): highest,
        ("brake_force_2bar", ""): force_at(np.full(layout.ends, 200e3)),
        ("brake_force_4bar", ""): force_at(np.full(layout.ends, 400e3)),
        ("brake_force_swing", ""): np.minimum(swing, 0.5) * highest,
        ("parking_force", ""): np.where(sprung, testing.parking_share * highest, np.nan),
        ("brake_drag", ""): rub + drags.rolling_resistance * layout.wheel_load,
        ("wheel_load", ""): layout.wheel_load / GRAVITY,
        ("pressure_threshold", ""): np.clip(threshold, 2e3, 400e3),
    }


def _bedded(simulation: Simulation) -> Floats:
    """Share of the final force that the pads give: raw ones touch on a part of their face."""
    actuation = simulation.mechanisms.actuation
    result: Floats = 1.0 - actuation.raw_pad_loss * np.exp(-simulation.state.run / actuation.bedding_distance)
    return result


def _last_below(curve: Floats, limit: float) -> float:
    """Fractional index at which a rising curve reaches a limit, or its last index."""
    above = np.flatnonzero(curve > limit)
    if not above.size or above[0] == 0:
        return float(curve.size - 1) if not above.size else 0.0
    upper = int(above[0])
    low, high = curve[upper - 1], curve[upper]
    return upper - 1 + float((limit - low) / (high - low))


def _between(curve: Floats, index: Floats) -> Floats:
    lower = np.minimum(index.astype(int), curve.shape[0] - 2)
    part = index - lower
    ends = np.arange(curve.shape[1])
    result: Floats = curve[lower, ends] * (1.0 - part) + curve[lower + 1, ends] * part
    return result


def after_run(simulation: Simulation, now: Conditions, drag: Floats) -> Floats:
    """Return the rotor temperatures after a run with ordinary stops.

    Parameters
    ----------
    simulation : Simulation
        The vehicles.
    now : Conditions
        Mechanical quantities.
    drag : array, [N m]
        Drag torque of the warm released brake.

    Returns
    -------
    array, [K]
        Temperature at each wheel end.

    Notes
    -----
    Mean power P = stops x stored share x m v^2 / 2 / time + M v / R; T = T_a + P / (h A) (1 - exp(-t / tau)).
    The mass at each brake is its share of the vehicle's stops.
    """
    layout, heat = simulation.layout, simulation.mechanisms.heat
    clearance = effective_clearance(simulation.state, now)
    forces = share_of_work(simulation.demand, layout, simulation.mechanisms, now, clearance)
    tyre = tyre_forces(forces, layout, now["friction_share"])[_ORDINARY]
    share = tyre / layout.mean_over_vehicle(simulation.demand)[_ORDINARY]
    mass = layout.mean_over_vehicle(layout.wheel_load) / GRAVITY
    fitted = np.array([spec.retarder == "fitted" for spec in layout.specs], dtype=float)[layout.vehicle]
    helped = 1.0 - heat.retarder_share_in_run * fitted * (1.0 - now["retarder_loss"])
    stop = 0.5 * mass * heat.run_speed**2 * heat.stored_share
    power = heat.run_stops * stop * share * helped / heat.run_time
    power = power + drag_power(drag, heat.run_speed, layout.tyre_radius)
    reached = warm_up_share(heat.run_time, heat.time_constant)
    rng = simulation.look_rng
    weather = heat.ambient_spread * rng.standard_normal(len(layout.specs))
    rise = power / heat.cooling * reached * simulation.individuals.heat
    result: Floats = np.minimum(heat.ambient + weather[layout.vehicle] + rise, heat.hottest)
    return result
