"""Safe speed on a descent: hand figures, the cautious side, and what may not decide."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.assessment import descents as module
from wearline.assessment.braking_numbers import braking_numbers
from wearline.assessment.descents import DescentTask, plan_descent
from wearline.catalogue.loading import load_catalogue
from wearline.errors import DomainError

DESIGN = load_catalogue().design("generic-22.5", date(2026, 11, 25))
TASK = DescentTask(mass=40e3, slope=0.06, length=5e3, brakes=10.0)


def test_power_of_each_brake_by_hand():
    """40 t, 6 %, 50 km/h, 10 brakes: (40e3 g 13.89 (0.06 - 0.006) - 0.5 1.2 6 13.89^3) / 10 = 28.5 kW.

    A handbook table of the trade rounds it to 28 kW (expert judgement)."""
    v = 50.0 / 3.6
    hand = (40e3 * 9.80665 * v * 0.054 - 0.5 * 1.2 * 6.0 * v**3) / 10.0
    found = plan_descent(replace(TASK, speed=v), DESIGN).outcome
    assert pytest.approx(hand, rel=1e-9) == found.power
    assert round(found.power / 1e3) == 28


def test_temperature_after_five_minutes_near_the_table_of_the_trade():
    """440 degC after 5 min at 28 kW a brake, 220 degC at 13 kW, cold brakes (expert judgement): 5 %."""
    v = 50.0 / 3.6
    for retarder, celsius in ((0.0, 440.0), (150e3, 220.0)):
        task = replace(TASK, speed=v, length=300.0 * v, retarder=retarder, start=293.15)
        found = plan_descent(task, DESIGN).outcome
        assert pytest.approx(celsius, rel=0.05) == found.likely[-1] - 273.15


def test_a_strong_retarder_leaves_the_brakes_cold():
    found = plan_descent(replace(TASK, speed=50.0 / 3.6, retarder=330e3), DESIGN)
    assert found.outcome.likely[-1] < 40.0 + 273.15
    assert found.holds


def test_the_safe_speed_just_keeps_the_limit_on_the_cautious_side():
    task = replace(TASK, retarder=150e3)
    plan = plan_descent(task, DESIGN)
    assert 0.0 < plan.safe_speed < plan.safe_speed_likely
    at = plan_descent(replace(task, speed=plan.safe_speed), DESIGN)
    assert at.holds
    assert pytest.approx(plan.limit, abs=0.2) == at.outcome.end_cautious
    faster = plan_descent(replace(task, speed=plan.safe_speed + 0.5), DESIGN)
    assert not faster.holds
    assert faster.outcome.end_cautious > plan.limit


def test_where_no_speed_is_safe_it_is_said():
    plan = plan_descent(replace(TASK, slope=0.12, length=20e3), DESIGN)
    assert plan.safe_speed == 0.0
    assert not plan.holds


def test_a_dead_brake_counts_as_none():
    """Nine of ten brakes: each has 10/9 of the power."""
    v = 40.0 / 3.6
    ten, nine = (plan_descent(replace(TASK, brakes=n, speed=v), DESIGN).outcome for n in (10.0, 9.0))
    assert pytest.approx(10.0 / 9.0) == nine.power / ten.power


def test_a_smaller_rotor_gets_hotter():
    small = load_catalogue().design("generic-17.5", date(2026, 11, 25))
    task = replace(TASK, speed=10.0)
    assert plan_descent(task, small).outcome.likely[-1] > plan_descent(task, DESIGN).outcome.likely[-1]


def test_unverified_numbers_do_not_decide(monkeypatch):
    """The rolling resistance is only remembered: it moves the likely curve and not the answer."""
    task = replace(TASK, retarder=150e3)
    before = plan_descent(task, DESIGN)
    wild = {
        id: replace(number, value=0.03) if id == "rolling_resistance" else number
        for id, number in braking_numbers().items()
    }
    monkeypatch.setattr(module, "braking_numbers", lambda: wild)
    after = plan_descent(task, DESIGN)
    assert before.safe_speed == after.safe_speed
    assert before.safe_speed_likely != after.safe_speed_likely


@settings(max_examples=15, deadline=None)
@given(
    mass=st.floats(3.5e3, 60e3),
    slope=st.floats(0.01, 0.15),
    length=st.floats(500.0, 30e3),
    retarder=st.floats(0.0, 400e3),
)
def test_more_load_slope_or_length_never_makes_it_safer(mass, slope, length, retarder):
    base = DescentTask(mass, slope, length, 6.0, retarder)
    speed = plan_descent(base, DESIGN).safe_speed
    for change in ({"mass": 1.2 * mass}, {"slope": 1.2 * slope}, {"length": 1.5 * length}):
        assert plan_descent(replace(base, **change), DESIGN).safe_speed <= speed + 1e-9
    assert plan_descent(replace(base, brakes=8.0), DESIGN).safe_speed >= speed - 1e-9


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"mass": -1.0}, "mass"),
        ({"mass": 5e6}, "mass"),
        ({"slope": 0.45}, "slope"),
        ({"slope": 0.0}, "a slope of 0 % does not go down"),
        ({"slope": -0.05}, "does not go down"),
        ({"length": 0.0}, "length"),
        ({"brakes": 0.0}, "brakes"),
        ({"brakes": 99.0}, "brakes"),
        ({"retarder": -5.0}, "retarder"),
        ({"limit": 200.0}, "temperature limit"),
        ({"speed": 70.0}, "speed"),
        ({"start": math.inf}, "temperature at the top"),
    ],
)
def test_absurd_descents_are_refused(change, words):
    with pytest.raises(DomainError, match=words):
        plan_descent(replace(TASK, **change), DESIGN)
