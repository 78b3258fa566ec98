"""Force curves of known brakes come back with the figures they were made from, and say what is wrong."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tester_records import STEP, Truth, record, sound

from wearline.assessment.tester_curves import judge_curves, judge_wheel
from wearline.catalogue.load_limits import load_limits
from wearline.errors import DomainError
from wearline.physics.force import BrakeDesign, wheel_force
from wearline.physics.states import (
    SOUND,
    dead_adjuster,
    low_pressure,
    oiled_pads,
    raised_threshold,
    seized_slide,
)
from wearline.records.place import WheelEndPlace
from wearline.records.tester_curve import CurveRun, ForceCurve

FULL = 650e3


def wheel(truth: Truth, place: str = "1L"):
    return judge_wheel(record(place, truth), FULL)


@pytest.mark.parametrize(
    "truth",
    [
        Truth(),
        Truth(lag=0.3),
        Truth(lag=0.8, noise=300.0),
        Truth(wrong=0.08),
        Truth(swing=0.15),
        Truth(rises=1),
        Truth(noise=800.0),
        Truth(slope=30e3 / 1e6, threshold=63e3),
    ],
    ids=["plain", "lag", "long lag", "wrong samples", "swing", "one rise", "noisy", "weak"],
)
def test_threshold_slope_and_full_load_of_a_known_brake(truth):
    """Within 3 standard uncertainties of what went in, and not by claiming a wide one."""
    found = wheel(truth)
    assert truth.rises == found.rises
    assert abs(found.fit.slope - truth.slope) < 3.0 * found.fit.u_slope
    assert abs(found.fit.threshold - truth.threshold) < 3.0 * found.fit.u_threshold
    full = truth.drag + truth.slope * (FULL - truth.threshold)
    assert abs(found.full_load - full) < 3.0 * found.u_full_load
    assert found.fit.u_slope < (0.05 if truth.swing else 0.02) * truth.slope
    assert found.fit.u_threshold < (0.3e5 if truth.swing else 0.15e5)
    assert found.u_full_load < 0.06 * full


def test_the_uncertainties_are_honest():
    """40 records with noise, wrong samples, swing and lag: about 95 % within two standard uncertainties."""
    inside = {"threshold": 0, "slope": 0}
    for seed in range(40):
        truth = Truth(seed=seed, noise=300.0, lag=0.1 * (seed % 5), wrong=0.02, swing=0.03, turn=3.1)
        fit = wheel(truth).fit
        inside["threshold"] += abs(fit.threshold - truth.threshold) < 2.0 * fit.u_threshold
        inside["slope"] += abs(fit.slope - truth.slope) < 2.0 * fit.u_slope
    assert inside["threshold"] >= 34  # binomial, 40 x 0.95: fewer has a chance of 1 %
    assert inside["slope"] >= 32


def test_lag_is_found_beside_the_threshold():
    for lag in (0.0, 0.3, 0.8):
        assert pytest.approx(lag, abs=STEP) == wheel(Truth(lag=lag)).lag


def test_hysteresis_is_found_and_lag_is_not_taken_for_it():
    """Force on the way down 30 % of slope x top above: 0.3 x 20.0 of (20.0 - 1.5 + 0.3) kN... in shares."""
    truth = Truth(hysteresis=0.3)
    highest = truth.drag + truth.slope * (truth.top - truth.threshold)
    expected = 0.3 * truth.slope * truth.top / highest
    assert pytest.approx(expected, rel=0.25) == wheel(truth).hysteresis
    assert abs(wheel(Truth(lag=0.8)).hysteresis) < 0.03
    assert any("on the way down" in sign.text for sign in wheel(truth).signs)
    assert "A4" in {code for sign in wheel(truth).signs for code in sign.causes}


def test_swing_per_turn_is_found_whatever_the_turn_takes():
    for turn in (1.5, 2.3, 4.0):
        found = wheel(Truth(swing=0.15, turn=turn))
        assert pytest.approx(0.15, abs=0.02) == found.swing / found.swing_at
        assert any("R2" in sign.causes for sign in found.signs)


def test_noise_alone_is_no_swing():
    found = wheel(Truth(noise=500.0))
    assert found.swing / found.swing_at < load_limits()["force_swing"].value
    assert found.signs == ()


def test_a_hold_shorter_than_a_turn_tells_no_swing():
    assert wheel(Truth(swing=0.15, hold_time=0.9)).swing is None


def test_lock_is_seen_and_left_out():
    truth = Truth(lock=330e3)
    found = wheel(truth)
    assert pytest.approx(330e3, rel=0.04) == found.locked_at
    assert abs(found.fit.slope - truth.slope) < 3.0 * found.fit.u_slope
    assert any("grip, not the brake" in sign.text for sign in found.signs)


def test_drag_after_the_release():
    found = wheel(Truth(drag_after=1500.0))
    assert pytest.approx(1500.0, abs=100.0) == found.drag_after
    assert {"A2", "V2"} <= {code for sign in found.signs for code in sign.causes}


STATES = [
    ("dead adjuster", dead_adjuster(2.9e-3), 650e3, "levels off", "A1"),
    ("stuck slide", seized_slide(70e3), 500e3, "steeper", "G4"),
    ("late threshold", raised_threshold(60e3), 500e3, "force begins only at", "V1"),
]


@pytest.mark.parametrize(("name", "state", "top", "words", "code"), STATES, ids=[s[0] for s in STATES])
def test_the_shape_accuses_the_state_it_was_made_from(name, state, top, words, code):
    """Curves made by the force chain of `wearline.physics.force`, whose own tests stand elsewhere."""
    signs = wheel(Truth(state=state, top=top)).signs
    assert any(words in sign.text and code in sign.causes for sign in signs), [s.text for s in signs]


def test_a_sound_brake_is_accused_of_nothing():
    for seed in range(12):
        assert wheel(sound(seed=seed)).signs == ()


def test_a_curve_that_levels_off_is_not_extrapolated():
    beyond = judge_wheel(record("1L", Truth(state=dead_adjuster(2.9e-3), top=600e3)), 850e3)
    assert beyond.full_load is None
    read = judge_wheel(record("1L", Truth(state=dead_adjuster(2.9e-3), top=650e3)), 650e3)
    true = 300.0 + float(wheel_force(650e3, BrakeDesign(), 0.5, dead_adjuster(2.9e-3)))
    assert pytest.approx(true, rel=0.02) == read.full_load


def test_full_load_of_a_sound_brake_from_a_light_test():
    """Measured to 4 bar, extrapolated to 8.5: within its uncertainty of the force chain, not exact."""
    found = judge_wheel(record("1L", sound(top=400e3)), 850e3)
    true = 300.0 + float(wheel_force(850e3, BrakeDesign(), 0.5, SOUND))
    assert abs(found.full_load - true) < 2.0 * found.u_full_load
    assert found.u_full_load > judge_wheel(record("1L", sound(top=800e3)), 850e3).u_full_load


def axle(left: Truth, right: Truth):
    report = judge_curves([record("1L", left), record("1R", right)])
    return report.axles[0]


def test_imbalance_at_2_bar_4_bar_and_the_highest():
    """A stuck slide shows most at light pressure, a dead adjuster at the top."""
    stuck = axle(sound(top=600e3, seed=3), Truth(state=seized_slide(70e3), top=600e3))
    assert [200e3, 400e3] == [balance.pressure for balance in stuck.balances[:2]]
    assert stuck.balances[0].imbalance > stuck.balances[-1].imbalance + 0.1
    dead = axle(sound(top=600e3, seed=3), Truth(state=dead_adjuster(2.9e-3), top=600e3))
    assert dead.balances[0].imbalance < 0.03
    assert dead.balances[-1].imbalance > 0.2
    for balance in dead.balances:
        chain = [
            300.0 + float(wheel_force(balance.pressure, BrakeDesign(), 0.5, state))
            for state in (SOUND, dead_adjuster(2.9e-3))
        ]
        assert abs(balance.imbalance - (1.0 - chain[1] / chain[0])) < 3.0 * balance.u


@pytest.mark.parametrize(
    ("state", "words", "code"),
    [
        (oiled_pads(), "1R gains 4", "P5"),
        (low_pressure(), "1R gains", "V5"),
        (raised_threshold(40e3), "later at 1R", "V1"),
    ],
)
def test_the_difference_of_two_ends_says_which_is_weak(state, words, code):
    signs = axle(sound(top=500e3, seed=5), Truth(state=state, top=500e3)).signs
    assert any(words in sign.text and code in sign.causes for sign in signs), [s.text for s in signs]
    assert axle(sound(seed=5), sound(seed=6)).signs == ()


def test_efficiency_at_full_load_needs_every_wheel():
    report = judge_curves([record("1L", sound()), record("1R", sound(seed=2))], mass=10_000.0)
    total = sum(each.full_load for each in report.wheels)
    assert total / (10_000.0 * 9.80665) == pytest.approx(report.efficiency)
    assert report.u_efficiency > 0.0
    broken = ForceCurve(
        WheelEndPlace.parse("1R"), (CurveRun((), tuple(np.linspace(0, 5e5, 30)), (300.0,) * 30),)
    )
    alone = judge_curves([record("1L", sound()), broken], mass=10_000.0)
    assert alone.efficiency is None
    assert any("does not rise" in sign.text for sign in alone.wheel("1R").signs)
    with pytest.raises(KeyError):
        alone.wheel("7L")


def test_a_record_without_times_has_no_lag_and_no_swing():
    full = record("1L", sound())
    bare = ForceCurve(full.place, tuple(CurveRun((), run.pressure, run.force) for run in full.runs))
    found = judge_wheel(bare, FULL)
    assert found.lag is None
    assert found.swing is None
    assert pytest.approx(judge_wheel(full, FULL).fit.slope, rel=0.02) == found.fit.slope


def test_a_curve_of_a_rise_alone_is_judged():
    pressure = np.linspace(0.0, 5e5, 9)
    force = 300.0 + 0.05 * np.maximum(pressure - 3e4, 0.0)
    curve = ForceCurve(
        WheelEndPlace.parse("1L"),
        (CurveRun(tuple(range(9)), tuple(pressure.tolist()), tuple(force.tolist())),),
    )
    found = judge_wheel(curve, FULL)
    assert pytest.approx(0.05, rel=1e-6) == found.fit.slope
    assert found.hysteresis is None
    assert found.drag_after is None


def test_a_constant_pressure_shows_nothing():
    run = CurveRun((), (2e5,) * 20, (9e3,) * 20)
    found = judge_wheel(ForceCurve(WheelEndPlace.parse("1L"), (run,)), FULL)
    assert found.rises == 0
    assert found.fit is None
    assert found.full_load is None


def test_absurd_pressure_and_mass_are_refused():
    with pytest.raises(DomainError, match="air pressure"):
        judge_curves([record("1L", sound())], full_pressure=95e5)
    with pytest.raises(DomainError, match="mass"):
        judge_curves([record("1L", sound())], mass=-1.0)


@settings(max_examples=15, deadline=None)
@given(
    slope=st.floats(0.02, 0.09),
    threshold=st.floats(0.0, 80e3),
    top=st.floats(300e3, 850e3),
    seed=st.integers(0, 1000),
)
def test_any_straight_brake_is_found_again(slope, threshold, top, seed):
    """Within four standard uncertainties, and these no wider than two samples of the rise make them."""
    truth = Truth(slope=slope, threshold=threshold, top=top, noise=100.0, rises=2, seed=seed)
    fit = wheel(truth).fit
    assert pytest.approx(slope, rel=0.03) == fit.slope
    assert abs(fit.threshold - threshold) < 4.0 * fit.u_threshold
    assert fit.u_threshold < 2.0 * STEP * top / truth.rise_time + 2e3


@settings(max_examples=40, deadline=None)
@given(points=st.lists(st.tuples(st.floats(0.0, 12e5), st.floats(-1e3, 120e3)), min_size=5, max_size=60))
def test_no_record_breaks_the_program(points):
    run = CurveRun(
        tuple(float(i) for i in range(len(points))), *(tuple(column) for column in zip(*points, strict=True))
    )
    found = judge_wheel(ForceCurve(WheelEndPlace.parse("1L"), (run,)), FULL)
    assert found.full_load is None or np.isfinite(found.full_load)
