"""An odometer that was set back: the stretch is bridged by a guess, and the guess is not trusted blindly."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from wearline.forecasting.clocks import DatedInspection, place_inspections
from wearline.forecasting.padsets import Readings, Tracks, gauge_sums, take
from wearline.forecasting.sites import intervals_of, tilted_moments
from wearline.records.inspection import Inspection, Vehicle


def _placed(*looks, decisions=None):
    """Inspections from (day, km)."""
    history = [
        DatedInspection(
            f"i{k}", Inspection(Vehicle("V", ()), date(2024, 1, 1) + timedelta(days=day), (), km * 1e3)
        )
        for k, (day, km) in enumerate(looks)
    ]
    return place_inspections(history, decisions)


def test_a_bridged_stretch_is_as_uncertain_as_the_days_differ():
    """150, 200, 250 km a day: median 200, standard deviation 50, so 25 % of 100 days at 200 (hand sum)."""
    placed, found = _placed((0, 90_000), (100, 105_000), (200, 125_000), (300, 150_000), (400, 40_000))
    assert [each.code for each in found] == ["odometer went back"]
    assert placed[-1].clock - placed[-2].clock == pytest.approx(20e6)
    assert [each.u_clock for each in placed] == pytest.approx([0.0, 0.0, 0.0, 0.0, 5e6])


def test_after_a_single_stretch_the_guess_is_half_of_itself():
    placed, _ = _placed((0, 90_000), (100, 110_000), (200, 5_000))
    assert placed[-1].u_clock == pytest.approx(0.5 * 20e6)


def test_no_uncertainty_where_the_counter_runs_on():
    placed, _ = _placed((0, 90_000), (100, 110_000), (200, 125_000))
    assert [each.u_clock for each in placed] == [0.0, 0.0, 0.0]


def test_a_stretch_with_far_less_than_usual_is_held_for_uncertain():
    """Set back by less than it had run since: 5 000 km where 20 000 are usual, so 15 000 may be lacking."""
    looks = [(0, 90_000), (100, 110_000), (200, 130_000), (300, 135_000), (400, 155_000)]
    placed, found = _placed(*looks)
    assert [each.code for each in found] == ["odometer shows little"]
    assert not found[0].kept_out
    assert [each.u_clock for each in placed] == pytest.approx([0.0, 0.0, 0.0, 15e6, 0.0])
    placed, found = _placed(*looks, decisions={"i3": "use"})
    assert found == []
    assert [each.u_clock for each in placed] == [0.0] * 5


def test_half_the_usual_run_is_believed():
    placed, found = _placed((0, 90_000), (100, 110_000), (200, 130_000), (300, 140_000), (400, 160_000))
    assert found == []
    assert [each.u_clock for each in placed] == [0.0] * 5


def _track(run_variance):
    zero = np.zeros(1, dtype=np.int64)
    tracks = Tracks(
        zero,
        zero,
        zero,
        zero,
        zero,
        np.array([3]),
        np.array([21e-3]),
        np.array([0.2e-3]),
        np.ones((1, 1)),
        np.ones(1, dtype=bool),
    )
    nothing = np.full(3, np.nan)
    readings = Readings(
        np.array([3e7, 6e7, 9e7]),
        np.array([18.6e-3, 15.0e-3, 12.6e-3]),
        np.full(3, 0.15e-3),
        nothing,
        nothing,
        run_variance,
    )
    return tracks, readings


def test_evidence_with_a_guessed_stretch_is_the_dense_integral():
    """The second stretch is 10 000 km uncertain: multivariate normal given the rate, by quad."""
    guessed, rate0 = np.array([0.0, 1e14, 1e14]), 0.8e-10
    tracks, readings = _track(guessed)
    mean, spread, route = np.log(rate0), 0.3, 5e4
    run, value = readings.run, readings.value
    cov = 0.04e-6 + np.eye(3) * 0.15e-3**2
    cov = cov + rate0**2 * (
        route * np.minimum(run[:, None], run[None, :]) + np.minimum(guessed[:, None], guessed[None, :])
    )
    inverse, determinant = np.linalg.inv(cov), np.linalg.slogdet(cov)[1]

    def density(z):
        rest = value - 21e-3 + np.exp(z) * run
        return np.exp(-0.5 * (rest @ inverse @ rest + determinant)) * norm.pdf(z, mean, spread)

    total = quad(density, mean - 1.5, mean + 1.5, points=[mean + 0.1], epsabs=0.0, epsrel=1e-10, limit=200)[0]
    sums = gauge_sums(tracks, readings, rate=np.array([rate0]), route=route)
    between = intervals_of(tracks, readings, rate=np.array([rate0]), route=route)
    found = tilted_moments(sums, between, np.array([mean]), np.array([spread**2]), 0.0)
    assert float(found.log_evidence[0] - 0.5 * sums.rest[0]) == pytest.approx(np.log(total), abs=1e-4)


def test_a_guessed_stretch_tells_less_of_the_rate():
    sure = gauge_sums(*_track(None), rate=np.array([0.8e-10]), route=0.0)
    unsure = gauge_sums(*_track(np.array([0.0, 1e14, 1e14])), rate=np.array([0.8e-10]), route=0.0)
    assert float(unsure.square[0]) < 0.5 * float(sure.square[0])


def test_chosen_readings_keep_what_is_guessed():
    tracks, readings = _track(np.array([0.0, 1e14, 2e14]))
    _, taken = take(tracks, readings, np.array([0, 0]))
    assert taken.run_variance is not None
    np.testing.assert_array_equal(taken.run_variance, [0.0, 1e14, 2e14] * 2)
