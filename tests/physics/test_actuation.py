"""How fast the air comes and goes, at the edges of the rule for new vehicles."""

from __future__ import annotations

import numpy as np
import pytest

from wearline.errors import DomainError
from wearline.physics.actuation import PSI, TIMING_RULES, keeps_timing, time_to_fall, time_to_rise


@pytest.mark.parametrize(
    ("times", "passes"),
    [({"actuation": 0.45}, True), ({"actuation": 0.46}, False), ({"release": 0.55}, True)],
)
def test_truck_at_the_edges(times, passes):
    """49 CFR 571.121 S5.3.3.1(a), S5.3.4.1(a): 60 psi within 0.45 s, 5 psi within 0.55."""
    assert passes is keeps_timing("truck or bus", **times)


@pytest.mark.parametrize(
    ("kind", "actuation", "release"),
    [("towing trailer", 0.50, 1.00), ("converter dolly", 0.55, 1.10), ("other trailer", 0.60, 1.20)],
)
def test_trailers_at_the_edges(kind, actuation, release):
    """49 CFR 571.121 S5.3.3.1(a), S5.3.4.1(a): each passes at the figure and fails 0.01 s beyond."""
    assert keeps_timing(kind, actuation=actuation, release=release)
    assert not keeps_timing(kind, actuation=actuation + 0.01, release=release)
    assert not keeps_timing(kind, actuation=actuation, release=release + 0.01)
    assert len(TIMING_RULES) == 4


def test_psi_from_its_definition():
    """1 psi = 6894.757 Pa (NIST SP 811, appendix B.8)."""
    assert pytest.approx(6894.757, abs=5e-4) == PSI


def test_times_of_an_exponential_record():
    """p = 100 psi (1 - exp(-t / 0.4 s)) reaches 60 psi at 0.4 ln 2.5 s; 95 psi falls to 5 at 0.2 ln 19 s."""
    time = np.linspace(0.0, 2.0, 2001)
    rise = 100.0 * PSI * (1.0 - np.exp(-time / 0.4))
    assert pytest.approx(0.4 * np.log(2.5), abs=1e-6) == time_to_rise(time, rise)
    fall = 95.0 * PSI * np.exp(-time / 0.2)
    assert pytest.approx(0.2 * np.log(19.0), abs=1e-5) == time_to_fall(time, fall)


def test_a_target_that_is_not_reached_takes_for_ever():
    time = np.array([0.0, 1.0])
    assert time_to_rise(time, np.array([0.0, 50.0 * PSI])) == float("inf")
    assert time_to_fall(time, np.array([0.0, 0.0])) == 0.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: keeps_timing("tram", actuation=0.4), "'tram' is no kind"),
        (lambda: keeps_timing("truck or bus"), "no time was measured"),
        (lambda: keeps_timing("truck or bus", actuation=float("nan")), "no time was measured"),
        (lambda: keeps_timing("truck or bus", actuation=-0.1), "time of the air"),
        (lambda: time_to_rise(np.array([1.0, 0.0]), np.array([0.0, 1e5])), "time"),
        (lambda: time_to_rise(np.array([0.0, 1.0]), np.array([0.0, 95e5])), "air pressure"),
        (lambda: time_to_rise(np.array([0.0, 1.0]), np.array([0.0, 1e5, 2e5])), "3 pressures belong to 2"),
    ],
)
def test_impossible_records_are_refused(call, words):
    with pytest.raises(DomainError, match=words):
        call()
