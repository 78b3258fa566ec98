"""A recorded drive warms the rotor by the energy it should."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from wearline.assessment.rotor_runs import RunTask, run_rotor
from wearline.catalogue.loading import load_catalogue
from wearline.errors import DomainError
from wearline.records.drive import Drive

DESIGN = load_catalogue().design("generic-22.5", date(2026, 11, 25))
TASK = RunTask(mass=10_000.0, share=0.25)


def stop(speed: float = 25.0, seconds: float = 5.0, rest: float = 1.0) -> Drive:
    return Drive((0.0, seconds, seconds + rest), (speed, 0.0, 0.0))


def test_one_stop_by_its_energy():
    """5 t at two brakes from 25 m/s into 31 kg: +91 K times the share of heat 0.97 over 0.9 (trade table)."""
    run = run_rotor(stop(), RunTask(mass=10_000.0, share=0.5), DESIGN)
    energy = 0.5 * 5_000.0 * 25.0**2
    assert pytest.approx(energy, rel=0.04) == run.energy  # rolling and air take their part
    mass = 7200.0 * 0.045 * np.pi * (0.216**2 - 0.124**2)  # the ring of the generic rotor
    rise = run.history.mean[-1, 0] - 293.15
    assert pytest.approx(0.97 * run.energy / (mass * 460.0), rel=0.02) == rise
    assert 91.0 == pytest.approx(rise, rel=0.1)
    assert run.peak > run.history.mean[-1, 0]


def test_peak_and_profile_agree():
    run = run_rotor(stop(), TASK, DESIGN)
    hottest = run.profile_times.index(pytest.approx(run.peak_time))
    assert run.history.profiles[hottest, 0, 0] < run.peak  # first cell lies below the face
    assert run.history.profiles[hottest, 0, 0] > run.history.profiles[hottest, -1, 0]
    assert pytest.approx(0.5 * DESIGN.rotor_new) == run.thickness


def test_a_slope_and_a_retarder_count():
    flat = Drive((0.0, 120.0), (15.0, 15.0))
    down = Drive((0.0, 120.0), (15.0, 15.0), (0.06, 0.06))
    assert run_rotor(flat, TASK, DESIGN).energy == 0.0
    warm = run_rotor(down, TASK, DESIGN)
    hand = (10e3 * 9.80665 * 15.0 * (0.06 - 0.006) - 0.5 * 1.2 * 6.0 * 15.0**3) * 120.0 / 4.0
    assert pytest.approx(hand, rel=1e-6) == warm.energy
    held = run_rotor(down, RunTask(mass=10_000.0, share=0.25, retarder=100e3), DESIGN)
    assert held.energy == 0.0
    assert held.peak == pytest.approx(293.15)


def test_hot_friction_wears_more_than_its_energy_says():
    once = run_rotor(stop(), TASK, DESIGN)
    many = Drive(tuple(np.arange(80.0) * 10.0), tuple(25.0 if i % 2 == 0 else 0.0 for i in range(80)))
    hot = run_rotor(many, TASK, DESIGN)
    assert hot.worn / hot.energy > 1.2 * once.worn / once.energy


def test_absurd_runs_are_refused():
    with pytest.raises(DomainError, match="mass"):
        run_rotor(stop(), RunTask(mass=-5.0, share=0.25), DESIGN)
    with pytest.raises(DomainError, match="share of the braking"):
        run_rotor(stop(), RunTask(mass=5e3, share=1.5), DESIGN)
    with pytest.raises(DomainError, match="slope"):
        run_rotor(Drive((0.0, 1.0), (5.0, 5.0), (0.5, 0.5)), TASK, DESIGN)
