"""Drag from temperature, pad wear and life, speed on a descent.

The tables are derived figures of the trade from expert judgement (heat given off 30 W/K, time constant 9
min, specific wear 20 to 35 mm3/MJ); no published source. The formulas behind them are checked by separate
integration.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from wearline.errors import DomainError
from wearline.physics import descent, drag, pad_wear
from wearline.physics.duty import NO_RETARDER, Retarder

KMH = 1 / 3.6
COOLING = drag.WheelEndCooling()
CURVE = pad_wear.WearTemperature()


@pytest.mark.parametrize(
    ("torque", "rise", "within"), [(30.0, 45.0, 1.0), (100.0, 150.0, 3.0), (200.0, 300.0, 5.0)]
)
def test_temperature_of_a_dragging_brake(torque, rise, within):
    """Derived: 30, 100, 200 N m at 80 km/h, tyre 0.5 m, 30 W/K: +45, +150, +300 K (printed to two digits)."""
    actual = drag.drag_rise(torque, 80 * KMH, 0.5, COOLING)
    assert pytest.approx(rise, abs=within) == actual
    assert pytest.approx(torque) == drag.drag_torque_from_rise(actual, 80 * KMH, 0.5, COOLING)


def test_power_of_a_light_drag():
    """Derived: 30 N m at 80 km/h are 1.3 kW."""
    assert pytest.approx(1.3, abs=0.05) == drag.drag_power(30.0, 80 * KMH, 0.5) / 1e3


def test_a_short_run_shows_only_part_of_the_rise():
    """1 - exp(-t/tau): 63.2 % after one time constant; the torque comes back from the partial rise."""
    assert pytest.approx(0.6321, abs=5e-5) == drag.warm_up_share(630.0, 630.0)
    partial = drag.drag_rise(100.0, 20.0, 0.5, COOLING, 300.0)
    assert pytest.approx(100.0) == drag.drag_torque_from_rise(partial, 20.0, 0.5, COOLING, 300.0)


def test_reading_some_minutes_late():
    """5 min at a time constant of 40 min: exp(0.125) more at the end of the run."""
    assert pytest.approx(100.0 * math.exp(0.125)) == drag.rise_at_stop(100.0, 300.0, 2400.0)


def test_uncertainty_of_a_drag_torque():
    """Hand sum: 10 K of 100 K and 20 % of the conductance: sqrt(0.1^2 + 0.2^2) of the torque."""
    u = drag.u_drag_torque(67.5, 100.0, 10.0, COOLING)
    assert pytest.approx(67.5 * math.hypot(0.1, 0.2)) == u


# duty, mean life km, mm per 10 000 km per pad: derived from expert judgement, printed to two digits
LIVES = [
    ("line haul, engine brake", 850_000, 0.2),
    ("coach, retarder", 400_000, 0.45),
    ("regional", 300_000, 0.6),
    ("mountain, good retarder", 320_000, 0.6),
    ("mountain, no retarder", 80_000, 2.3),
    ("tipper, mixed off-road", 90_000, 2.0),
    ("city bus, retarder", 88_000, 2.0),
    ("city bus, no retarder", 39_000, 4.7),
    ("refuse collection", 38_000, 4.8),
]


@pytest.mark.parametrize(("name", "life", "rate"), LIVES)
def test_expected_life_and_rate_by_duty(name, life, rate):
    """Derived: 594 cm3 of friction (165 cm2, 18 mm, two pads) over k e; 1.5 % covers the printed rounding."""
    duty = next(duty for duty in pad_wear.GENERIC_DUTIES if duty.name == name)
    volume = pad_wear.usable_volume(0.0165, 0.018)
    assert pytest.approx(594e-6) == volume
    actual = pad_wear.expected_life(volume, duty.specific_wear, duty.energy_per_distance)
    assert pytest.approx(life, rel=0.015) == actual / 1e3
    wear = pad_wear.wear_per_distance(duty.specific_wear, duty.energy_per_distance, 0.0165)
    assert pytest.approx(rate, abs=0.06) == wear * 1e10
    assert duty.life_p10 < actual < duty.life_p90


def test_every_generic_duty_is_checked():
    """The table above covers all of them."""
    assert {name for name, _, _ in LIVES} == {duty.name for duty in pad_wear.GENERIC_DUTIES}


@pytest.mark.parametrize(
    ("celsius", "factor"),
    [(20, 1.0), (150, 1.0), (200, 1.3), (250, 1.8), (275, 2.2), (300, 2.6), (350, 3.6), (400, 5.0)],
)
def test_wear_factor_of_temperature(celsius, factor):
    """Expert judgement, nodes of the table and one middle between two."""
    assert pytest.approx(factor, rel=1e-12) == pad_wear.temperature_factor(celsius + 273.15, CURVE)


def test_wear_factor_beyond_the_table_goes_on_growing():
    """Same ratio per 50 K as the last step: 5 * 5 / 3.6 at 450 degC."""
    assert pytest.approx(5.0 * 5.0 / 3.6) == pad_wear.temperature_factor(723.15, CURVE)


def test_wear_of_a_cycle_weighs_energy_with_its_temperature():
    """Hand sum: 1 MJ cold and 1 MJ at 300 degC at 25 mm3/MJ on 165 cm2: 25 (1 + 2.6) mm3 over 330 cm2."""
    energy = np.array([1e6, 1e6])
    temperature = np.array([300.0, 573.15])
    wear = pad_wear.wear_of_cycle(energy, temperature, specific_wear=25e-15, pad_area=0.0165, curve=CURVE)
    assert pytest.approx(25 * 3.6e-9 / 0.033) == wear
    batch = pad_wear.wear_of_cycle(
        np.stack([energy, 2 * energy], axis=1),
        np.stack([temperature, temperature], axis=1),
        specific_wear=25e-15,
        pad_area=0.0165,
        curve=CURVE,
    )
    assert pytest.approx([wear, 2 * wear]) == batch


FORTY_TONNES = descent.Descent(40_000.0, 0.06, 1.0)
TEN = descent.BrakeSet(
    10.0,
    start=303.15,
    ambient=303.15,
    cooling_at_rest=30.0,
    cooling_per_speed=0.0,
    heat_capacity=30.0 * 540.0,
)


def temperature_after(minutes, retarder):
    journey = descent.Descent(40_000.0, 0.06, 50 * KMH * 60.0 * minutes)
    return descent.descent_temperature(50 * KMH, journey, TEN, retarder) - 273.15


@pytest.mark.parametrize(("minutes", "celsius"), [(3, 300), (5, 440), (10, 670)])
def test_descent_without_engine_brake(minutes, celsius):
    """Derived: 40 t, 10 brakes, 6 %, 50 km/h, 30 W/K, 9 min, 30 degC: printed rounded to 10 K."""
    assert pytest.approx(celsius, abs=8.0) == temperature_after(minutes, NO_RETARDER)


@pytest.mark.parametrize(("minutes", "celsius"), [(3, 150), (5, 220), (10, 330)])
def test_descent_with_engine_brake(minutes, celsius):
    """Derived: with 150 kW of engine brake 150, 220, 330 degC (13 kW each, printed rounded); 300 kW: cold."""
    assert pytest.approx(celsius, abs=8.0) == temperature_after(minutes, Retarder(150e3))
    assert temperature_after(minutes, Retarder(300e3)) < 41.0


def test_power_of_the_descent():
    """Derived: 28 kW per brake, 13 kW with 150 kW of engine brake."""
    assert pytest.approx(28.0, abs=0.5) == descent.braking_power(50 * KMH, FORTY_TONNES) / 10e3
    helped = descent.braking_power(50 * KMH, FORTY_TONNES, Retarder(150e3))
    assert pytest.approx(13.0, abs=0.5) == helped / 10e3


def test_descent_temperature_against_an_integrator():
    """scipy's solve_ivp on m c dT/dt = P/n - hA (T - T_a) for 4 km at 12 m/s with the default cooling."""
    journey = descent.Descent(36_000.0, 0.07, 4_000.0)
    brakes = descent.BrakeSet(10.0, start=360.0)
    power = 36_000 * 9.80665 * 12.0 * (0.07 - 0.006) - 0.5 * 1.2 * 6.0 * 12.0**3
    conductance = 10.0 + 0.9 * 12.0

    def warming(t, y):
        return (power / 10.0 - conductance * (y - 293.15)) / 16_200.0

    end = solve_ivp(warming, (0.0, 4_000.0 / 12.0), [360.0], rtol=1e-10, atol=1e-9).y[0, -1]
    assert pytest.approx(end, abs=1e-6) == descent.descent_temperature(12.0, journey, brakes)
    curve = descent.descent_temperature(12.0, journey, brakes, share_run=np.array([0.0, 0.5, 1.0]))
    assert pytest.approx((360.0, end), abs=1e-6) == (curve[0], curve[2])
    assert curve[0] < curve[1] < curve[2]


def test_safe_speed_just_keeps_the_limit():
    """At the speed found, end of descent plus one full stop is the limit; a little faster exceeds it."""
    journey = descent.Descent(40_000.0, 0.06, 8_000.0)
    brakes = descent.BrakeSet(10.0)
    limit = 533.15
    speed = descent.safe_descent_speed(journey, brakes, limit)

    def hottest(v):
        return descent.descent_temperature(v, journey, brakes) + descent.stop_temperature_rise(
            v, journey, brakes
        )

    assert pytest.approx(limit, abs=1e-6) == hottest(speed)
    assert hottest(speed + 0.01) > limit
    assert (hottest(np.arange(1.0, speed, 0.05)) <= limit).all()


def test_safe_speed_of_a_batch_equals_single_ones_and_ends_at_its_bounds():
    """Flat road: the speed limit; a long steep one with one brake: 0; unknown mass: unknown."""
    slopes = np.array([0.0, 0.05, 0.08])
    batch = descent.safe_descent_speed(
        descent.Descent(40_000.0, slopes, 10_000.0), descent.BrakeSet(10.0), 533.15
    )
    single = [
        descent.safe_descent_speed(
            descent.Descent(40_000.0, float(s), 10_000.0), descent.BrakeSet(10.0), 533.15
        )
        for s in slopes
    ]
    assert pytest.approx(single, rel=1e-12) == batch
    assert batch[0] == 25.0
    hopeless = descent.safe_descent_speed(
        descent.Descent(60_000.0, 0.2, 30_000.0), descent.BrakeSet(1.0), 450.0
    )
    assert hopeless == 0.0
    unknown = descent.Descent(math.nan, 0.05, 1_000.0)
    assert math.isnan(descent.safe_descent_speed(unknown, descent.BrakeSet(10.0), 500.0))


@given(
    mass=st.floats(5e3, 6e4),
    slope=st.floats(0.02, 0.12),
    length=st.floats(500.0, 2e4),
    power=st.floats(0.0, 4e5),
)
@settings(deadline=None, max_examples=25)
def test_safe_speed_falls_with_load_slope_and_length_and_rises_with_the_retarder(mass, slope, length, power):
    """Monotonic, never above the speed limit."""
    brakes = descent.BrakeSet(8.0)

    def speed(m=mass, s=slope, way=length, p=power):
        return descent.safe_descent_speed(
            descent.Descent(m, s, way), brakes, 533.15, retarder=Retarder(p, 30e3)
        )

    base = speed()
    assert 0.0 <= base <= 25.0
    assert speed(m=mass * 1.1) <= base + 1e-9
    assert speed(s=slope * 1.1) <= base + 1e-9
    assert speed(way=length * 1.5) <= base + 1e-9
    assert speed(p=power + 5e4) >= base - 1e-9


@given(temperature=st.lists(st.floats(200.0, 1000.0), min_size=2, max_size=6))
@settings(deadline=None)
def test_hotter_pads_never_wear_less(temperature):
    """Monotonic; scalar path equals array path."""
    ordered = np.sort(np.array(temperature))
    factor = pad_wear.temperature_factor(ordered, CURVE)
    assert (np.diff(factor) >= 0).all()
    single = [pad_wear.temperature_factor(float(t), CURVE) for t in ordered]
    assert pytest.approx(single, rel=1e-13) == factor


def test_not_measured_stays_not_measured():
    """NaN in, NaN out."""
    assert math.isnan(drag.drag_torque_from_rise(math.nan, 20.0, 0.5, COOLING))
    assert math.isnan(pad_wear.temperature_factor(math.nan, CURVE))
    assert math.isnan(pad_wear.expected_life(math.nan, 2e-14, 90.0))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: drag.drag_power(-1.0, 20.0, 0.5), "drag torque is -1 N m"),
        (lambda: drag.drag_torque_from_rise(50.0, 0.0, 0.5, COOLING), "speed is 0 m/s"),
        (lambda: drag.drag_torque_from_rise(50.0, 20.0, 0.5, COOLING, 0.0), "share of the final rise is 0"),
        (lambda: drag.warm_up_share(-1.0, 630.0), "time of running is -1 s"),
        (lambda: drag.warm_up_share(1.0, 0.0), "time constant of the wheel end is 0 s"),
        (lambda: drag.rise_at_stop(50.0, -5.0, 2400.0), "time between run and reading is -5 s"),
        (lambda: drag.rise_at_stop(50.0, 5.0, 0.0), "time constant of the standing wheel end is 0 s"),
        (lambda: drag.u_drag_torque(50.0, 50.0, -1.0, COOLING), "standard uncertainty of the rise is -1 K"),
        (lambda: drag.WheelEndCooling(conductance=0.0), "heat given off per temperature difference is 0"),
        (lambda: drag.WheelEndCooling(relative_u=-0.1), "relative uncertainty of the conductance is -0.1"),
        (lambda: pad_wear.temperature_factor(20.0, CURVE), "temperature is 20 K.*473.15"),
        (lambda: pad_wear.WearTemperature((300.0, 400.0), (1.0,)), "1 wear factors belong to 2 temperatures"),
        (lambda: pad_wear.WearTemperature((400.0, 300.0), (1.0, 2.0)), "step between two temperatures"),
        (lambda: pad_wear.WearTemperature((300.0, 400.0), (2.0, 1.0)), "rise of the wear factor is -1"),
        (lambda: pad_wear.WearTemperature((300.0, 400.0), (0.0, 1.0)), "wear factor is 0"),
        (lambda: pad_wear.worn_volume(-1.0, 2e-14), "friction energy is -1 J"),
        (lambda: pad_wear.worn_volume(1.0, 25.0), "specific wear is 25 m3/J.*25 mm3/MJ"),
        (lambda: pad_wear.worn_volume(1.0, 2e-14, -1.0), "wear factor is -1"),
        (lambda: pad_wear.usable_volume(0.0, 0.018), "friction area of one pad is 0 m2"),
        (lambda: pad_wear.usable_volume(0.0165, 18.0), "usable thickness is 18 m.*millimetres"),
        (lambda: pad_wear.expected_life(-1.0, 2e-14, 90.0), "usable friction volume is -1 m3"),
        (lambda: pad_wear.expected_life(1e-4, 0.0, 90.0), "specific wear is 0"),
        (lambda: pad_wear.expected_life(1e-4, 2e-14, 0.0), "energy per distance is 0 J/m"),
        (lambda: pad_wear.DutyWear("x", 90.0, 2e-14, 5.0, 4.0), "spread of the life is -1 m"),
        (lambda: descent.Descent(-1.0, 0.06, 100.0), "mass is -1 kg"),
        (lambda: descent.Descent(4e4, 0.45, 100.0), "slope is 0.45"),
        (lambda: descent.Descent(4e4, 0.06, 0.0), "length of the descent is 0 m"),
        (lambda: descent.Descent(4e4, 0.06, 1e6), r"length of the descent is 1e\+06 m"),
        (lambda: descent.Descent(4e4, 0.06, 1e3, drag_area=-1.0), "drag area is -1 m2"),
        (lambda: descent.BrakeSet(0.0), "number of brakes is 0"),
        (lambda: descent.BrakeSet(10.0, start=40.0), "temperature at the top is 40 K.*313.15"),
        (lambda: descent.BrakeSet(10.0, heat_capacity=0.0), "heat capacity of a wheel end is 0 J/K"),
        (
            lambda: descent.BrakeSet(10.0, cooling_at_rest=0.0, cooling_per_speed=0.0),
            "cooling at the slowest speed is 0 W/K",
        ),
        (lambda: descent.descent_temperature(0.5, FORTY_TONNES, TEN), "speed is 0.5 m/s"),
        (
            lambda: descent.descent_temperature(5.0, FORTY_TONNES, TEN, share_run=1.5),
            "share of the descent is 1.5",
        ),
        (lambda: descent.stop_temperature_rise(5.0, FORTY_TONNES, TEN, 1.5), "share of the heat .* is 1.5"),
        (lambda: descent.safe_descent_speed(FORTY_TONNES, TEN, 260.0), "temperature limit is 260 K.*533.15"),
        (lambda: descent.safe_descent_speed(FORTY_TONNES, TEN, math.nan), "limit is not a number"),
        (
            lambda: descent.safe_descent_speed(FORTY_TONNES, TEN, 533.0, fastest=90.0),
            "fastest speed is 90 m/s",
        ),
    ],
)
def test_absurd_heat_and_wear_are_refused(call, words):
    """Each refusal names the quantity, its value and the cure."""
    with pytest.raises(DomainError, match=words):
        call()
