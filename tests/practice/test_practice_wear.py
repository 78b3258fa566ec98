"""Wear, wedge and heat of simulated brakes, against geometry, integration and the trade's own figures."""

from dataclasses import replace

import numpy as np
import pytest
from practice_support import simulation_of, three_axles
from scipy.integrate import solve_ivp

from wearline.physics.indicator import IndicatorScale, slide_reading
from wearline.physics.pad_wear import GENERIC_DUTIES
from wearline.physics.tilt import explained_taper, tapers_from_tilt
from wearline.practice.appearance import appear
from wearline.practice.parameters import load_duties, load_mechanisms
from wearline.practice.specification import AxleSpec, VehicleSpec
from wearline.practice.tester import after_run
from wearline.practice.wear_state import Road
from wearline.practice.work import tilts, wear_factor, work_by_distance

TWO_AXLES = (AxleSpec("1", "steer", share=1.0), AxleSpec("2", "drive", share=1.0))


def worn_fleet(duty: str, number: int = 150):
    """Sound vehicles of one duty with pads half worn, and the distance each has run."""
    simulation = simulation_of(*[VehicleSpec("v", TWO_AXLES, duty)] * number, seed=3)
    rates = simulation.layout.mean_over_vehicle(simulation.wear_rates(simulation.sound))
    distance = 9e-3 / rates[simulation.layout.vehicle_starts]
    for _ in range(20):
        simulation.advance(distance / 20.0)
    return simulation, distance


def lives(simulation, distance):
    """Distance to 18 mm of mean wear of each vehicle, at its own mean rate."""
    state, own = simulation.state, simulation.individuals
    worn = 0.5 * (own.new_inner - state.inner + own.new_outer - state.outer)
    return 18e-3 * distance / worn.reshape(-1, 4).mean(axis=1)


@pytest.mark.parametrize("duty", [name for name in load_duties() if name != "battery bus"])
def test_four_of_five_vehicles_reach_lives_between_the_10_and_90_percent_points(duty):
    """Pad lives by duty spread over their P10-P90 range (expert judgement, no source).

    Of 150 vehicles 80 % should lie inside; the binomial standard deviation is 3.3 %, routes add a little.
    """
    simulation, distance = worn_fleet(duty)
    life = lives(simulation, distance)
    low, high = load_duties()[duty].life
    inside = np.mean((life > low) & (life < high))
    assert 0.70 < inside < 0.90


@pytest.mark.parametrize("generic", GENERIC_DUTIES, ids=lambda duty: duty.name)
def test_a_vehicle_of_usual_energy_lives_as_its_energy_and_specific_wear_say(generic):
    """Mean life = usable volume / (k e), 594 cm3 at a 22.5-inch brake (derived table of the trade)."""
    name = next(
        name
        for name, duty in load_duties().items()
        if duty.energy == generic.energy_per_distance and duty.specific_wear == generic.specific_wear
    )
    simulation = simulation_of(VehicleSpec("usual", TWO_AXLES, name))
    ones = np.ones(4)
    simulation.individuals = replace(
        simulation.individuals, energy=ones, specific_wear=ones, end=ones, inner=ones, outer=ones, heat=ones
    )
    road = Road(simulation.layout, simulation.mechanisms, simulation.individuals, simulation.demand)
    work = work_by_distance(simulation.state, simulation.sound, road)
    total = (work.inner + work.outer).mean()
    life = 594e-6 / (generic.specific_wear * total * work.wear_factor.mean())
    exact = 594e-6 / (generic.specific_wear * generic.energy_per_distance)
    assert life == pytest.approx(exact, rel=0.03)


def test_ends_and_pads_of_one_axle_differ_as_much_as_is_usual():
    """Between the ends 8-12 % (CV), inner against outer 5-10 %, the inner faster (expert judgement)."""
    simulation, _ = worn_fleet("regional", 400)
    state, own = simulation.state, simulation.individuals
    inner, outer = own.new_inner - state.inner, own.new_outer - state.outer
    mean = 0.5 * (inner + outer)
    left, right = mean[::2], mean[1::2]
    assert 0.07 < np.std((left - right) / (0.5 * (left + right))) < 0.12
    assert 1.03 < np.mean(inner / outer) < 1.10


def test_pads_wear_four_times_as_fast_and_more_at_400_degrees():
    """Trade statement: four times and more at 400 degC against low temperature (expert judgement curve)."""
    temperatures = np.array([100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0]) + 273.15
    assert wear_factor(temperatures) == pytest.approx([1.0, 1.0, 1.3, 1.8, 2.6, 3.6, 5.0])


def run_with_tilt(clearance_mm: float, wear: float):
    """A vehicle whose first brake has a worn long pin, driven until its pads have lost some thickness."""
    simulation = simulation_of(VehicleSpec("tilted", TWO_AXLES, "regional"))
    bias = np.array([0.9, 0.0, 0.0, 0.0])
    pins = np.array([clearance_mm * 1e-3, 0.0, 0.0, 0.0]) + simulation.sound["long_clearance"]
    sound = simulation.sound.with_row("tilt_bias", bias).with_row("long_clearance", pins)
    simulation.sound = sound.with_row("pitch_bias", np.zeros(4))
    own = simulation.individuals
    simulation.individuals = replace(own, leading=np.zeros(4), top=np.zeros(4))
    rate = simulation.wear_rates(simulation.sound)[0]
    for _ in range(60):
        simulation.advance(np.array([wear / rate / 60.0]))
    return simulation


def test_tilt_wears_equal_and_opposite_wedges_whose_sum_stays_flat():
    """h_out = h + theta t, h_in = h - theta t: tapers opposite, symmetric part nothing (plane geometry)."""
    simulation = run_with_tilt(1.0, 8e-3)
    state = simulation.state
    yaw, _ = tilts(state, simulation.conditions(), simulation.layout, simulation.mechanisms)
    outer, inner = tapers_from_tilt(yaw[0], simulation.layout.dimension["measuring_length"][0])
    assert state.end_outer[0] == pytest.approx(float(outer), rel=1e-6)
    assert state.end_inner[0] == pytest.approx(float(inner), rel=1e-6)
    assert state.end_inner[0] + state.end_outer[0] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("clearance_mm", [0.6, 1.0, 1.5])
def test_the_wedge_of_a_settled_pad_is_the_one_that_the_play_explains(clearance_mm):
    """T_exp = P L_m / (2 A), taken by the share of the possible tilt that the calliper uses (geometry)."""
    simulation = run_with_tilt(clearance_mm, 9e-3)
    figures = appear(simulation).numbers
    dimension = simulation.layout.dimension
    gap = figures["rotor_bridge_gap", ""] - 19e-3
    play = figures["tangential_play", ""][0]
    explained = explained_taper(
        play, dimension["measuring_length"][0], dimension["dial_distance"][0] + gap[0]
    )
    antisymmetric = 0.5 * (simulation.state.end_outer[0] - simulation.state.end_inner[0])
    assert abs(antisymmetric) == pytest.approx(0.9 * float(explained), rel=1e-6)


def test_the_wedge_saturates_after_the_wear_that_the_geometry_asks_for():
    """Square pads become the wedge after theta L / 4 to theta L / 2 of mean wear, then stay (geometry)."""
    early, late, later = (run_with_tilt(1.2, wear) for wear in (0.2e-3, 2.5e-3, 9e-3))
    yaw, _ = tilts(late.state, late.conditions(), late.layout, late.mechanisms)
    full = abs(yaw[0]) * late.layout.dimension["measuring_length"][0]
    assert abs(early.state.end_inner[0]) < 0.4 * full
    assert abs(late.state.end_inner[0]) == pytest.approx(full, rel=1e-6)
    assert abs(later.state.end_inner[0]) == pytest.approx(full, rel=0.1)
    worn_when_full = full / late.mechanisms.wear.wedge_rate
    assert 0.25 * full <= worn_when_full <= 0.5 * full


def test_both_pads_get_a_little_thinner_at_the_leading_end_and_at_the_top():
    """Friction moment 0.2-0.6 mm per life, opening of the calliper 0.2-0.8 mm (expert judgement)."""
    simulation, _ = worn_fleet("regional", 300)
    state = simulation.state
    per_life = 18.0 / 9.0
    leading = -1e3 * per_life * np.median(0.5 * (state.end_inner + state.end_outer))
    top = -1e3 * per_life * np.median(0.5 * (state.top_inner + state.top_outer))
    assert 0.2 < leading < 0.6
    assert 0.2 < top < 0.8


def test_a_rotor_face_loses_half_to_one_and_a_quarter_millimetres_in_a_pad_life():
    """0.5-1.2 mm for each 18 mm of friction (expert judgement, no source); single brakes half to double."""
    simulation, _ = worn_fleet("regional", 300)
    state, own = simulation.state, simulation.individuals
    share = state.face_inner / (own.new_inner - state.inner)
    assert 0.5 < 18.0 * np.median(share) < 1.2
    assert np.quantile(18.0 * share, 0.05) > 0.3


def test_sound_adjusters_hold_the_clearance_and_dead_ones_let_it_grow_with_the_wear():
    """Clearance grows by what both pads and both faces lose when nothing is taken up (geometry)."""
    simulation = simulation_of(VehicleSpec("adjusters", TWO_AXLES, "regional"))
    simulation.sound = simulation.sound.with_row("adjuster_share", np.array([1.0, 0.0, 1.0, 1.0]))
    before = simulation.state
    for _ in range(5):
        simulation.advance(np.array([4e6]))
    state = simulation.state
    assert state.clearance[0] == pytest.approx(before.clearance[0], abs=1e-9)
    lost = (before.inner - state.inner) + (before.outer - state.outer)
    lost = lost + (state.face_inner - before.face_inner) + (state.face_outer - before.face_outer)
    assert state.clearance[1] - before.clearance[1] == pytest.approx(lost[1], rel=1e-9)


@pytest.mark.parametrize(("torque", "rise"), [(30.0, 45.0), (100.0, 150.0), (200.0, 300.0)])
def test_drag_heats_a_brake_as_a_heat_balance_says(torque, rise):
    """P = M v / R over h A = 30 W/K at 80 km/h: +45, +150, +300 K (derived table of the trade)."""
    simulation = simulation_of(VehicleSpec("drag", TWO_AXLES, "regional"))
    layout = replace(simulation.layout, duty={**simulation.layout.duty, "speed": np.full(4, 80.0 / 3.6)})
    road = Road(layout, simulation.mechanisms, simulation.individuals, simulation.demand)
    now = simulation.sound
    dragging = now.with_row("rub_inner", np.array([torque, 0.0, 0.0, 0.0]))
    cool = work_by_distance(simulation.state, now, road)
    hot = work_by_distance(simulation.state, dragging, road)
    assert hot.temperature[0] - cool.temperature[0] == pytest.approx(rise, rel=0.02)
    assert hot.inner[0] - cool.inner[0] == pytest.approx(torque / 0.5, rel=1e-9)


def test_the_temperature_after_a_run_is_the_one_that_integration_of_the_heat_balance_gives():
    """C dT/dt = P - h A (T - T_a): closed form against scipy.integrate.solve_ivp."""
    simulation = simulation_of(VehicleSpec("run", TWO_AXLES, "regional"))
    simulation.mechanisms = replace(
        simulation.mechanisms, heat=replace(simulation.mechanisms.heat, ambient_spread=0.0)
    )
    heat, drag = simulation.mechanisms.heat, np.array([80.0, 0.0, 0.0, 0.0])
    found = after_run(simulation, simulation.sound, drag) - after_run(
        simulation, simulation.sound, 0.0 * drag
    )
    power = 80.0 * heat.run_speed / 0.5
    capacity = heat.cooling * heat.time_constant
    solution = solve_ivp(
        lambda _, rise: (power - heat.cooling * rise) / capacity, (0.0, heat.run_time), [0.0], rtol=1e-9
    )
    assert found[0] == pytest.approx(solution.y[0, -1] * simulation.individuals.heat[0], rel=1e-6)


def test_sound_brakes_come_back_from_a_run_warm_but_not_hot():
    """10 to 15 ordinary stops in 15 to 30 min leave 80-170 degC (invented cases of the trade: 96-171)."""
    simulation = simulation_of(*[three_axles()] * 40)
    temperature = appear(simulation).numbers["temperature", ""] - 273.15
    assert np.quantile(temperature, 0.02) > 80.0
    assert np.quantile(temperature, 0.98) < 170.0


@pytest.mark.parametrize("rotor_mm", [45.0, 41.0, 37.0])
@pytest.mark.parametrize(("reading", "friction_mm"), [(0.25, 15.25), (0.50, 9.5), (0.75, 3.75), (0.85, 1.45)])
def test_the_indicator_sees_outer_pad_and_rotor_as_in_the_derived_table(reading, friction_mm, rotor_mm):
    """S = 23 mm: 75 % with a new rotor leaves 3.8 mm, with 41 mm 5.8, with 37 mm 7.8 (derived)."""
    simulation = simulation_of(VehicleSpec("marks", TWO_AXLES, "regional"))
    face = 0.5 * (45.0 - rotor_mm) * 1e-3
    outer = (friction_mm + 45.0 / 2.0 - rotor_mm / 2.0) * 1e-3
    ones = np.ones(4)
    simulation.state = replace(
        simulation.state,
        outer=outer * ones,
        face_inner=face * ones,
        face_outer=face * ones,
        slid=(21e-3 - outer + face) * ones,
    )
    shown = appear(simulation).numbers["wear_indicator", ""][0]
    scale = IndicatorScale(21e-3, 45e-3, 23e-3)
    assert shown == pytest.approx(reading, abs=1e-9)
    assert shown == pytest.approx(float(slide_reading(scale, outer, rotor_mm * 1e-3)), abs=1e-9)


def test_driving_moves_the_indicator_as_pads_and_rotor_say():
    """Position of the calliper: outer pad and outer face while it slides (derived), new pads 21 +- 0.3 mm."""
    simulation, _ = worn_fleet("regional", 20)
    state, dimension = simulation.state, simulation.layout.dimension
    slid = simulation.individuals.new_outer - state.outer + state.face_outer
    assert state.slid == pytest.approx(slid, abs=1e-12)
    assert appear(simulation).numbers["wear_indicator", ""] == pytest.approx(
        slid / dimension["indicator_full_scale"], abs=1e-9
    )


def test_guides_of_sound_brakes_stay_below_half_the_usual_limit_of_play_for_most_of_their_life():
    """Invented sound cases of the trade read 0.9-1.3 mm tangential and 0.6-0.9 mm radial."""
    spec = replace(three_axles(), odometer=400e6)
    simulation = simulation_of(*[spec] * 30)
    simulation.age_guides(np.full(30, 400e6))
    figures = appear(simulation).numbers
    assert 0.6e-3 < np.median(figures["tangential_play", ""]) < 1.4e-3
    assert 0.4e-3 < np.median(figures["radial_play", ""]) < 1.1e-3
    assert np.mean(figures["tangential_play", ""] < 3e-3) > 0.99


def test_shipped_wear_numbers_are_inside_the_ranges_that_the_trade_states():
    """Cooling 20-30 W/K, 9-12 min, wedge rate 2-4, roller above road drag (expert judgement)."""
    mechanisms = load_mechanisms()
    assert 20.0 <= mechanisms.heat.cooling <= 30.0
    assert 9 * 60.0 <= mechanisms.heat.time_constant <= 12 * 60.0
    assert 2.0 <= mechanisms.wear.wedge_rate <= 4.0
    assert mechanisms.drag.bench_share < 0.5
