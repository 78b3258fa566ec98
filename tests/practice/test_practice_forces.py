"""How brakes share the work: against statics and the figures that follow from the trade's dimensions."""

import numpy as np
import pytest
from practice_support import simulation_of, three_axles
from scipy.optimize import brentq

from wearline.practice.forces import (
    chamber_pressures,
    nominal_level_forces,
    pad_forces,
    share_of_work,
    tyre_forces,
)
from wearline.practice.specification import AxleSpec, VehicleSpec


def four_brakes() -> VehicleSpec:
    axles = (AxleSpec("1", "steer", share=1.0), AxleSpec("2", "drive", share=1.0))
    return VehicleSpec("four", axles, "regional")


def brakes(number: int, control: str = "vehicle") -> VehicleSpec:
    axles = tuple(AxleSpec(str(axle + 1), "drive", share=1.0) for axle in range(number // 2))
    return VehicleSpec("n", axles, "regional", control=control)


def shared(simulation, now):
    """Tyre forces of all ends in each kind of application."""
    forces = share_of_work(
        simulation.demand, simulation.layout, simulation.mechanisms, now, now["clearance_goal"]
    )
    return tyre_forces(forces, simulation.layout, now["friction_share"])


@pytest.mark.parametrize(("number", "more"), [(4, 1.33), (6, 1.20), (10, 1.11)])
def test_with_one_brake_dead_the_others_work_n_over_n_minus_1(number, more):
    """At equal deceleration n brakes share: +33 %, +20 %, +11 % (derived; common practice, no source)."""
    simulation = simulation_of(brakes(number))
    sound = simulation.sound
    dead = sound["transmission_share"].copy()
    dead[0] = 0.0
    before = shared(simulation, sound)
    after = shared(simulation, sound.with_row("transmission_share", dead))
    ratio = after[:, 1:].sum(axis=1) / before[:, 1:].sum(axis=1)
    assert np.all(after[:, 0] == 0.0)
    # the sound brakes differ by a few percent, so the dead one's share is not exactly 1/n
    assert ratio == pytest.approx(before.sum(axis=1) / before[:, 1:].sum(axis=1), rel=1e-3)
    assert ratio == pytest.approx(more, rel=0.02)


def test_electronic_control_lets_only_the_mate_work_for_a_dead_brake():
    """Where electronics keep the demand of an axle, the mate does all of it and other axles nothing more."""
    simulation = simulation_of(brakes(6, "axle"))
    sound = simulation.sound
    dead = sound["transmission_share"].copy()
    dead[2] = 0.0
    before, after = shared(simulation, sound), shared(simulation, sound.with_row("transmission_share", dead))
    assert after[:, 3] == pytest.approx(before[:, 2] + before[:, 3], rel=1e-3)
    assert np.delete(after, [2, 3], axis=1) == pytest.approx(np.delete(before, [2, 3], axis=1), rel=1e-6)


def test_pressure_that_the_grid_finds_is_the_one_a_root_finder_finds():
    """The shared pressure solves sum F(p) = demand: against scipy.optimize.brentq on one end's axle."""
    simulation = simulation_of(three_axles())
    layout, now = (
        simulation.layout,
        simulation.sound.with_row("slide_block", np.array([0.0, 40e3, 0.0, 0.0, 0.0, 0.0])),
    )
    forces = share_of_work(simulation.demand, layout, simulation.mechanisms, now, now["clearance_goal"])

    def excess(control: float, level: int) -> float:
        pressure = chamber_pressures(np.array([control]), layout, now)
        found = pad_forces(pressure, layout, simulation.mechanisms, now, now["clearance_goal"])
        tyre = tyre_forces(found, layout, now["friction_share"])
        return float(tyre.sum() - simulation.demand[level].sum())

    for level in range(3):
        control = brentq(excess, 30e3, 850e3, args=(level,))
        pressure = chamber_pressures(np.array([control]), layout, now)
        exact = pad_forces(pressure, layout, simulation.mechanisms, now, now["clearance_goal"])
        # straight lines between 26 pressures: within 1 % of the clamp force
        assert forces.inner[level] == pytest.approx(exact.inner[0], rel=0.01)


def test_a_sound_brake_gives_the_tyre_force_of_the_worked_chain():
    """24 in2, 690 kPa, friction 0.36: 36.6 kN at the tyre (derived in the trade's chain; no source).

    The simulated brake loses 4.5 % of the outer pad's clamp force to its slide and differs by a few percent.
    """
    simulation = simulation_of(four_brakes())
    sound = simulation.sound
    frictionless = sound.with_row("slide_hand", np.zeros(4)).with_row("friction_share", np.ones(4))
    frictionless = frictionless.with_row("transmission_share", np.ones(4))
    pressure = np.full((1, 4), 690e3)
    clearance = np.full(4, 1e-3)
    forces = pad_forces(pressure, simulation.layout, simulation.mechanisms, frictionless, clearance)
    tyre = tyre_forces(forces, simulation.layout, np.ones(4))
    assert tyre[0] == pytest.approx(36.6e3, rel=0.01)


@pytest.mark.parametrize(
    ("control", "ratio"), [(0.8e5, 3.3), (1.0e5, 2.1), (1.5e5, 1.4), (2.0e5, 1.3), (4.0e5, 1.1)]
)
def test_brakes_that_differ_in_threshold_differ_most_at_light_pressure(control, ratio):
    """Thresholds 0.24 and 0.63 bar: trailer brake over tractor brake (derived table of the trade)."""
    simulation = simulation_of(four_brakes())
    shift = np.array([0.24e5, 0.24e5, 0.63e5, 0.63e5]) - 30e3
    now = simulation.sound.with_row("threshold_shift", shift).with_row("slide_hand", np.zeros(4))
    pressure = np.full((1, 4), control)
    forces = pad_forces(pressure, simulation.layout, simulation.mechanisms, now, now["clearance_goal"])
    assert forces.inner[0, 0] / forces.inner[0, 2] == pytest.approx(ratio, abs=0.06)


def test_slide_force_shifts_clamp_force_from_the_outer_to_the_inner_pad():
    """F_out = F_in - F_slide (statics); a seized calliper leaves the outer pad nothing in light use."""
    simulation = simulation_of(four_brakes())
    light = np.full((1, 4), 100e3)
    seized = simulation.sound.with_row("slide_block", np.array([60e3, 0.0, 0.0, 0.0]))
    goal = seized["clearance_goal"]
    forces = pad_forces(light, simulation.layout, simulation.mechanisms, seized, goal)
    assert forces.outer[0, 0] == 0.0
    assert forces.inner[0, 0] > 0.0
    firm = pad_forces(np.full((1, 4), 600e3), simulation.layout, simulation.mechanisms, seized, goal)
    assert firm.inner[0, 0] - firm.outer[0, 0] == pytest.approx(60e3, rel=1e-9)


def test_sound_brakes_share_as_their_positions_say():
    """Shares by axle are reached in every kind of application (to the chambers' stroke effects)."""
    axles = (AxleSpec("1", "steer", chamber_type=20.0, share=1.4), AxleSpec("2", "drive", share=0.6))
    simulation = simulation_of(VehicleSpec("shares", axles, "regional"))
    levels = nominal_level_forces(simulation.layout, simulation.mechanisms, simulation.sound)
    steer, drive = levels[:, :2].mean(axis=1), levels[:, 2:].mean(axis=1)
    assert steer / drive == pytest.approx(1.4 / 0.6, rel=0.06)


def test_a_long_stroke_weakens_full_braking_more_than_light_braking():
    """Clearance beyond nominal uses up the stroke: force goes first at high pressure (mechanics)."""
    simulation = simulation_of(four_brakes())
    sound = simulation.sound
    clearance = sound["clearance_goal"].copy()
    clearance[0] = 3.2e-3

    def share(pressure: float) -> float:
        both = [
            pad_forces(
                np.full((1, 4), pressure), simulation.layout, simulation.mechanisms, sound, value
            ).inner[0, 0]
            for value in (clearance, sound["clearance_goal"])
        ]
        return both[0] / both[1]

    assert share(600e3) < share(300e3) < 1.0
    assert 0.3 < share(600e3) < 0.75
