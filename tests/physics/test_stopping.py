"""Stopping distance, mean fully developed deceleration and hot performance.

Sources: 74 FR 37122 and 76 FR 44829 (60 and 20 mph distances of truck tractors, transcription), UN
Regulation 13 Annex 4 (deceleration and hot performance, transcription), AASHTO Green Book (from memory,
unverified); an adaptive integrator of scipy as independent reference.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from wearline.errors import DomainError
from wearline.physics import road_tests, stopping

FOOT, MPH, KMH = 0.3048, 0.44704, 1 / 3.6


@pytest.mark.parametrize(("feet_at_60", "exact_at_20", "table"), [(250, 32.05, 32), (235, 30.38, 30)])
def test_distances_from_20_mph_follow_from_those_at_60(feet_at_60, exact_at_20, table):
    """76 FR 44829: 32, 30 ft beside 250, 235 ft (transcription); formula from memory, unverified."""
    rate = stopping.deceleration_for_distance(feet_at_60 * FOOT, 60 * MPH, build_up=0.45)
    actual = stopping.stopping_distance(stopping.Stop(20 * MPH, rate, build_up=0.45)) / FOOT
    assert pytest.approx(exact_at_20, abs=0.005) == actual
    assert table == round(actual)


def test_a_remembered_deceleration_gives_the_printed_feet():
    """16.83 ft/s2 with 0.45 s: 249.723 ft from 60 mph, 32.021 ft from 20 mph (closed form by hand)."""
    for mph, feet in ((60, 249.723), (20, 32.021)):
        stop = stopping.Stop(mph * MPH, 16.83 * FOOT, build_up=0.45)
        assert pytest.approx(feet, abs=0.0006) == stopping.stopping_distance(stop) / FOOT


# deceleration m/s2, distance m from 60 mph (26.8 m/s) with 0.45 s of lag: derived figures of the trade
@pytest.mark.parametrize(("rate", "metres"), [(5.0, 84.0), (4.5, 92.0), (5.5, 77.5)])
def test_two_phase_distances_of_a_heavy_truck(rate, metres):
    """Derived, printed to half a metre."""
    assert pytest.approx(metres, abs=0.25) == stopping.stopping_distance_two_phase(26.8, rate, 0.45)


def test_250_feet_need_5_6_metres_per_second_squared():
    """Derived: two-phase with 0.45 s of lag from 60 mph in 76.2 m."""
    assert pytest.approx(5.6, abs=0.05) == stopping.deceleration_for_distance(76.2, 26.8, lag=0.45)


@pytest.mark.parametrize(("kmh", "metres"), [(40, 18.31), (60, 36.69), (80, 61.23)])
def test_prescribed_distance_of_the_cold_test(kmh, metres):
    """UN R13 Annex 4, s = 0.15 v + v^2/130 (from memory, unverified): a lag of 0.54 s and 5.0154 m/s2."""
    actual = stopping.stopping_distance_two_phase(kmh * KMH, 130 / 25.92, 0.15 * 3.6)
    assert pytest.approx(metres, abs=0.0051) == actual


STOPS = [
    stopping.Stop(26.8, 5.0, 0.2, 0.5),
    stopping.Stop(8.9, 4.3, 0.45, 0.0),
    stopping.Stop(1.0, 6.0, 0.1, 0.8),
    stopping.Stop(20.0, 3.0, 0.0, 0.0),
]


@pytest.mark.parametrize("stop", STOPS)
def test_formula_and_integrated_motion_agree(stop):
    """Level road, no resistance: the same distance to 1e-6, also for a stop within the build-up."""
    distance, _ = stopping.integrate_stop(stop)
    assert pytest.approx(stopping.stopping_distance(stop), rel=1e-6) == distance


def test_two_phase_formula_agrees_with_the_integrated_motion():
    """All delay as lag: the integration without build-up is the two-phase stop."""
    distance, time = stopping.integrate_stop(stopping.Stop(22.0, 5.2, 0.45))
    assert pytest.approx(stopping.stopping_distance_two_phase(22.0, 5.2, 0.45), rel=1e-9) == distance
    assert pytest.approx(0.45 + 22.0 / 5.2, rel=1e-9) == time


def test_downhill_with_air_against_an_adaptive_integrator():
    """scipy's solve_ivp (DOP853) on the same equation of motion, with its own stop at standstill."""
    stop = stopping.Stop(25.0, 4.0, 0.3, 0.6)
    resistance = stopping.Resistance(slope=0.07, rolling=0.006, air=1.5e-4)

    def motion(t, y):
        share = np.clip((t - 0.3) / 0.6, 0.0, 1.0)
        slowing = 4.0 * share + 9.80665 * (0.006 - 0.07) + 1.5e-4 * y[1] ** 2
        return [y[1], -slowing]

    def standstill(t, y):
        return y[1]

    standstill.terminal = True
    ends = [0.0, 0.3, 0.9, 30.0]
    state = [0.0, 25.0]
    for begin, end in pairwise(ends):
        found = solve_ivp(motion, (begin, end), state, "DOP853", rtol=1e-11, atol=1e-12, events=standstill)
        state = found.y[:, -1]
    distance, time = stopping.integrate_stop(stop, resistance)
    assert pytest.approx(state[0], rel=1e-8) == distance
    assert pytest.approx(found.t[-1], rel=1e-8) == time


def test_brakes_that_do_not_hold_the_slope_never_stop():
    """0.5 m/s2 against a slope of 10 % (0.98 m/s2): infinite; NaN stays NaN."""
    distance, time = stopping.integrate_stop(stopping.Stop(10.0, 0.5), stopping.Resistance(slope=0.10))
    assert (distance, time) == (math.inf, math.inf)
    assert math.isnan(stopping.integrate_stop(stopping.Stop(math.nan, 5.0))[0])
    assert math.isnan(stopping.stopping_distance(stopping.Stop(20.0, math.nan)))


def test_range_of_the_distance_against_monte_carlo():
    """200 000 draws (seed 3) of normal inputs: the 95 % range agrees with the quantiles to 1 %."""
    rng = np.random.default_rng(3)
    stop = stopping.Stop(16.7, 5.0, 0.4, 0.6)
    u = stopping.StopUncertainty(0.2, 0.4, 0.05, 0.08)
    draws = stopping.stopping_distance(
        stopping.Stop(
            rng.normal(16.7, 0.2, 200_000),
            rng.normal(5.0, 0.4, 200_000),
            rng.normal(0.4, 0.05, 200_000),
            rng.normal(0.6, 0.08, 200_000),
        )
    )
    least, _, most = stopping.stopping_distance_range(stop, u, 1.96)
    low, high = np.quantile(draws, [0.025, 0.975])
    assert pytest.approx((low, high), rel=0.01) == (least, most)


def test_derivatives_behind_the_uncertainty():
    """Each input alone: u equals the central difference of the closed formula."""
    values = {"speed": 20.0, "deceleration": 5.0, "lag": 0.3, "build_up": 0.5}
    for name in values:
        step = 1e-5
        high = stopping.stopping_distance(stopping.Stop(**(values | {name: values[name] + step})))
        low = stopping.stopping_distance(stopping.Stop(**(values | {name: values[name] - step})))
        u = stopping.u_stopping_distance(stopping.Stop(**values), stopping.StopUncertainty(**{name: 1.0}))
        assert pytest.approx(abs(high - low) / (2 * step), rel=1e-6) == u


def test_mean_fully_developed_deceleration_of_an_even_stop():
    """R13 Annex 4, 1.1.2: 60 km/h, 10.0 and 27.5 m: 5.000 m/s2 (the distances of a constant 5.000)."""
    assert pytest.approx(5.000, abs=0.0005) == road_tests.mean_fully_developed_deceleration(
        60 * KMH, 10.0, 27.5
    )
    vb, ve = 48.0, 6.0
    by_rule = (vb**2 - ve**2) / (25.92 * 17.5)
    assert pytest.approx(by_rule, rel=1e-12) == road_tests.mean_fully_developed_deceleration(
        60 * KMH, 10.0, 27.5
    )


def test_deceleration_of_a_recorded_stop():
    """A record at 10 Hz of lag, build-up and 5.5 m/s2: the constant part comes back to 0.1 %."""
    time = np.arange(0.0, 4.5, 0.1)
    ramp = np.clip(time - 0.3, 0.0, 0.4)
    speed = 60 * KMH - 5.5 * (ramp**2 / 0.8 + np.maximum(time - 0.7, 0.0))
    assert pytest.approx(5.5, rel=1e-3) == road_tests.mfdd_from_record(time, np.maximum(speed, 0.0))


@pytest.mark.parametrize(
    ("hot", "recorded", "satisfied"), [(3.9, 6.6, False), (4.0, 6.6, True), (4.0, 6.7, False)]
)
def test_hot_performance_needs_both_shares(hot, recorded, satisfied):
    """R13 Annex 4, 1.5.3.1.1 (transcription), prescribed 5.0: 78 %; 80 and 60.6 %; 59.7 %."""
    result = road_tests.hot_performance(hot, 5.0, recorded)
    assert satisfied is result.satisfied
    assert pytest.approx((hot / 5.0, hot / recorded)) == (result.of_prescribed, result.of_recorded)


def test_hot_performance_passes_at_equality_and_never_on_nothing():
    """Equality passes, also where the division rounds (4.2 of 7.0); an unknown value does not."""
    assert road_tests.hot_performance(4.2, 5.0, 7.0).satisfied
    assert not road_tests.hot_performance(math.nan, 5.0, 6.6).satisfied
    trailer = road_tests.HotPerformanceRule(0.36, 0.60)
    assert road_tests.hot_performance(1.8, 5.0, 3.0, trailer).satisfied


@given(
    speed=st.floats(0.1, 40.0),
    rate=st.floats(0.5, 10.0),
    lag=st.floats(0.0, 2.0),
    build_up=st.floats(0.0, 2.0),
)
@settings(deadline=None, max_examples=60)
def test_distance_grows_with_speed_and_delay_and_falls_with_deceleration(speed, rate, lag, build_up):
    """Monotonic; scalar path equals array path; the needed deceleration gives the distance back."""
    distance = stopping.stopping_distance(stopping.Stop(speed, rate, lag, build_up))
    arrays = stopping.Stop(np.array([speed, speed + 1.0]), rate, lag, build_up)
    batch = stopping.stopping_distance(arrays)
    assert pytest.approx(distance, rel=1e-13) == batch[0]
    assert batch[1] > distance
    assert stopping.stopping_distance(stopping.Stop(speed, rate + 0.5, lag, build_up)) < distance
    assert stopping.stopping_distance(stopping.Stop(speed, rate, lag + 0.1, build_up)) > distance
    if speed > 0.5 * rate * build_up:
        back = stopping.deceleration_for_distance(distance, speed, build_up, lag)
        assert pytest.approx(rate, rel=1e-7) == back
    both = stopping.integrate_stop(arrays)[0]
    assert (
        pytest.approx(both[0], rel=1e-12)
        == stopping.integrate_stop(stopping.Stop(speed, rate, lag, build_up))[0]
    )


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: stopping.Stop(-1.0, 5.0), "speed is -1 m/s"),
        (lambda: stopping.Stop(90.0, 5.0), "speed is 90 m/s.*60 km/h is 16.7"),
        (lambda: stopping.Stop(20.0, 0.0), "deceleration is 0 m/s2"),
        (lambda: stopping.Stop(20.0, 50.0), "deceleration is 50 m/s2"),
        (lambda: stopping.Stop(20.0, 5.0, -0.1), "lag is -0.1 s"),
        (lambda: stopping.Stop(20.0, 5.0, 0.1, 45.0), "build-up time is 45 s"),
        (lambda: stopping.Resistance(slope=0.41), "slope is 0.41.*6 % is 0.06"),
        (lambda: stopping.Resistance(rolling=0.6), "rolling resistance is 0.6"),
        (lambda: stopping.Resistance(air=-1.0), "air resistance per mass is -1 1/m"),
        (lambda: stopping.StopUncertainty(speed=-1.0), "standard uncertainty of the speed is -1 m/s"),
        (lambda: stopping.StopUncertainty(build_up=-1.0), "uncertainty of the build-up time is -1 s"),
        (
            lambda: stopping.stopping_distance_range(STOPS[0], stopping.StopUncertainty(), -1.0),
            "coverage factor is -1",
        ),
        (
            lambda: stopping.deceleration_for_distance(5.0, 20.0, lag=0.5),
            "distance left for braking is -5 m.*before the brakes work",
        ),
        (lambda: stopping.deceleration_for_distance(5.0, 0.0), "speed is 0 m/s"),
        (lambda: stopping.deceleration_for_distance(5.0, 1.0, lag=-1.0), "lag is -1 s"),
        (lambda: stopping.deceleration_for_distance(5.0, 1.0, 9.0), "build-up time is 9 s"),
        (
            lambda: road_tests.mean_fully_developed_deceleration(16.7, 27.5, 10.0),
            "distance between 80 % and 10 % of the speed is -17.5 m",
        ),
        (
            lambda: road_tests.mean_fully_developed_deceleration(16.7, -1.0, 10.0),
            "distance at 80 % of the speed is -1 m",
        ),
        (lambda: road_tests.hot_performance(-1.0, 5.0, 6.0), "hot deceleration is -1 m/s2"),
        (lambda: road_tests.hot_performance(4.0, 0.0, 6.0), "prescribed deceleration is 0 m/s2"),
        (lambda: road_tests.hot_performance(4.0, 5.0, 0.0), "recorded cold deceleration is 0 m/s2"),
        (
            lambda: road_tests.mfdd_from_record(np.array([0.0, 2.0, 1.0]), np.array([9.0, 5.0, 0.0])),
            "time does not run forward at sample 3: 2 s, then 1 s",
        ),
        (
            lambda: road_tests.mfdd_from_record(np.array([0.0]), np.array([9.0])),
            "time axis has the shape",
        ),
        (
            lambda: road_tests.mfdd_from_record(np.array([0.0, 1.0]), np.array([9.0, 5.0, 0.0])),
            "3 speeds belong to 2 times",
        ),
        (
            lambda: road_tests.mfdd_from_record(np.array([0.0, 1.0]), np.array([9.0, 5.0])),
            "begins at 9 m/s and goes down to 5 m/s",
        ),
    ],
)
def test_absurd_stops_are_refused(call, words):
    """Each refusal names the quantity, its value and the cure."""
    with pytest.raises(DomainError, match=words):
        call()
