"""The wear model: integrals against quadrature, coverage and calibration on known truth, bad input."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from model_fleets import LIMIT, draw_fleet
from practice_fleets import drive_fleet
from scipy.integrate import quad
from scipy.stats import norm

from wearline.errors import DomainError
from wearline.forecasting.changes import clean, learn
from wearline.forecasting.holdout import learn_future_duty
from wearline.forecasting.padsets import BELOW_SCALE, Readings, Tracks, gauge_sums
from wearline.forecasting.remaining import crps, quantiles, remaining
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.sites import intervals_of, tilted_moments
from wearline.forecasting.wear_model import FleetTable, fit_hyper, infer, infer_fleet, prior_hyper, widened

SETTINGS = ForecastSettings()


def one_track(run, value, u=0.15e-3, low=None, high=None):
    n = len(run)
    nothing = np.full(n, np.nan)
    zero = np.zeros(1, dtype=np.int64)
    tracks = Tracks(
        zero,
        zero,
        zero,
        zero,
        zero,
        np.array([n]),
        np.array([21e-3]),
        np.array([0.2e-3]),
        np.ones((1, 1)),
        np.ones(1, dtype=bool),
    )
    readings = Readings(
        np.asarray(run, float),
        np.asarray(value, float),
        np.full(n, u),
        nothing if low is None else np.asarray(low, float),
        nothing if high is None else np.asarray(high, float),
    )
    return FleetTable(
        tracks, readings, ("mean",), np.array([np.log(0.8e-10)]), np.array([0.4]), ("vehicle", "end", "set")
    )


def test_evidence_of_gauge_readings_is_the_dense_integral():
    """Readings with common new thickness and roads' variance: multivariate normal given the rate, by quad."""
    table = one_track([3e7, 5e7, 9e7], [18.6e-3, 17.1e-3, 13.9e-3])
    mean, spread, route, rate0 = np.log(0.8e-10), 0.3, 5e4, 0.8e-10
    run, value = table.readings.run, table.readings.value
    cov = 0.04e-6 + route * rate0**2 * np.minimum(run[:, None], run[None, :]) + np.eye(3) * 0.15e-3**2
    inverse, determinant = np.linalg.inv(cov), np.linalg.slogdet(cov)[1]

    def density(z, power=0):
        rest = value - 21e-3 + np.exp(z) * run
        return z**power * np.exp(-0.5 * (rest @ inverse @ rest + determinant)) * norm.pdf(z, mean, spread)

    places = {"points": [np.log(0.78e-10)], "epsabs": 0.0, "epsrel": 1e-10, "limit": 200}
    total = quad(density, mean - 1.5, mean + 1.5, **places)[0]
    first = quad(density, mean - 1.5, mean + 1.5, args=(1,), **places)[0] / total
    sums = gauge_sums(table.tracks, table.readings, rate=np.array([rate0]), route=route)
    between = intervals_of(table.tracks, table.readings, rate=np.array([rate0]), route=route)
    found = tilted_moments(sums, between, np.array([mean]), np.array([spread**2]), 0.0)
    assert float(found.log_evidence[0] - 0.5 * sums.rest[0]) == pytest.approx(np.log(total), abs=1e-4)
    assert float(found.mean[0]) == pytest.approx(first, abs=1e-5)


def test_evidence_of_indicator_steps_is_the_integral():
    """Two 25 % steps of a 23 mm scale, ends softened; adaptive quadrature as reference."""
    low, high = [21e-3 - 23e-3 * 0.375, 21e-3 - 23e-3 * 0.625], [21e-3 - 23e-3 * 0.125, 21e-3 - 23e-3 * 0.375]
    table = one_track([8e7, 1.5e8], [np.nan, np.nan], 0.7e-3, low, high)
    mean, spread, misread = np.log(0.6e-10), 0.4, 0.03

    def density(z, power=0):
        total = norm.pdf(z, mean, spread) * z**power
        for i in range(2):
            friction = 21e-3 - np.exp(z) * table.readings.run[i]
            soft = np.hypot(0.7e-3, 0.2e-3)
            inside = norm.cdf((high[i] - friction) / soft) - norm.cdf((low[i] - friction) / soft)
            total *= (1 - misread) * inside + misread / 5
        return total

    total = quad(density, mean - 3, mean + 3, limit=200)[0]
    first = quad(density, mean - 3, mean + 3, args=(1,), limit=200)[0] / total
    sums = gauge_sums(table.tracks, table.readings, rate=np.array([6e-11]), route=0.0)
    between = intervals_of(table.tracks, table.readings, rate=np.array([6e-11]), route=0.0)
    found = tilted_moments(sums, between, np.array([mean]), np.array([spread**2]), misread)
    assert float(found.log_evidence[0]) == pytest.approx(np.log(total), abs=2e-3)
    assert float(found.mean[0]) == pytest.approx(first, abs=2e-3)


def _covered(fleet, table, hyper, settings, seed, today=None):
    known = infer_fleet(table, hyper)
    drawn = remaining(
        table,
        hyper,
        known,
        [LIMIT],
        future_duty=settings.future_duty,
        draws=400,
        rng=np.random.default_rng(seed),
        since_fitting=today,
    )
    q = quantiles(drawn.distance[:, 0], [0.025, 0.1, 0.9, 0.975])
    left = fleet.left
    return (
        (left >= q[:, 1]) & (left <= q[:, 2]),
        (left >= q[:, 0]) & (left <= q[:, 3]),
        crps(drawn.distance[:, 0], left),
    )


def test_intervals_cover_and_the_spreads_are_found_again():
    """Six fleets of 250 vehicles drawn from the model: 80 % within 78 to 82, 95 % within 93.5 to 96.5.

    The coming duty is one draw for each vehicle, so 1 500 vehicles leave a standard error of 1 % on 80 %.
    """
    wide, narrow, spreads = [], [], []
    for seed in range(6):
        fleet = draw_fleet(250, 100 + seed)
        hyper = fit_hyper(fleet.table, SETTINGS)
        spreads.append(np.sqrt(hyper.variance))
        narrow_now, wide_now, _ = _covered(fleet, fleet.table, hyper, SETTINGS, seed, fleet.real_start)
        narrow.append(narrow_now.mean())
        wide.append(wide_now.mean())
    assert 0.78 <= float(np.mean(narrow)) <= 0.82
    assert 0.935 <= float(np.mean(wide)) <= 0.965
    np.testing.assert_allclose(np.mean(spreads, axis=0), [0.3, 0.1, 0.12], rtol=0.1)


def test_faults_are_found_and_the_intervals_still_cover():
    """2 % wrong readings, 3 % misread steps, 5 % unrecorded changes, 5 % missing, 1 000 vehicles."""
    fleet = draw_fleet(1000, 1, outliers=0.02, misread=0.03, unrecorded=0.05, missing=0.05)
    hyper = learn(fleet.table, SETTINGS)
    cleaned = clean(fleet.table, hyper, SETTINGS)
    tracks = cleaned.table.tracks
    last = np.searchsorted(tracks.end, np.arange(8000), side="right") - 1
    today = fleet.real_start - cleaned.shift[tracks.padset[last]]
    narrow, wide, score = _covered(fleet, cleaned.table, hyper, SETTINGS, 0, today)
    assert 0.76 <= narrow.mean() <= 0.86
    assert 0.91 <= wide.mean() <= 0.97

    recorded = fleet.table.tracks
    owner = np.repeat(np.arange(recorded.n), recorded.count)
    seen = np.zeros(recorded.n, dtype=bool)
    np.logical_or.at(seen, owner, fleet.fault["reading_silent"])
    told = np.zeros(recorded.n, dtype=bool)
    told[[change.padset for change in cleaned.changes if change.decided and change.new_pads]] = True
    assert (told & seen).sum() / seen.sum() >= 0.90
    assert (told & ~seen).sum() / (~seen).sum() <= 0.02
    affected = fleet.fault["silent"] & seen[fleet.rows]
    assert affected.sum() > 200
    assert narrow[affected].mean() >= 0.70

    plain = fit_hyper(fleet.table, SETTINGS)
    _, _, naive = _covered(fleet, fleet.table, plain, SETTINGS, 0, fleet.real_start)
    assert score.mean() < naive.mean()


def test_ranks_of_the_truth_are_even():
    """Simulation-based calibration: truth's rank among posterior draws is uniform, 40 small fleets.

    Spreads drawn from the prior's own size; chi-squared over 8 bins below its 99.9 % point.
    """
    ranks = []
    for seed in range(40):
        fleet = draw_fleet(12, 500 + seed, ends=2, readings=4)
        hyper = replace(
            prior_hyper(fleet.table, SETTINGS),
            variance=np.array([0.09, 0.01, 0.0144]),
            effects=np.array([np.log(1.2e-10), np.log(0.6e-10), -0.15]),
            covariance=np.zeros((3, 3)),
            route=1.5e5,  # as the fleets are drawn
            misread=1e-3,
        )
        known = infer(fleet.table, hyper)
        row = fleet.rows[::2]
        z = (fleet.log_rate[::2] - known.mean[row]) / np.sqrt(known.variance[row])
        ranks.append(norm.cdf(z))
    counts = np.histogram(np.concatenate(ranks), bins=8, range=(0, 1))[0]
    expected = counts.sum() / 8
    assert float(((counts - expected) ** 2 / expected).sum()) < 24.3  # chi-squared, 7 degrees, 99.9 %


@pytest.mark.parametrize(
    ("run", "value"),
    [
        ([], []),
        ([4e7], [17e-3]),
        ([4e7, 4e7, 4e7], [17e-3, 17e-3, 17e-3]),
        (np.linspace(1e5, 1e8, 10_000), np.linspace(20.9e-3, 13e-3, 10_000)),
        ([0.0], [21e-3]),
        ([1e8], [0.9e-3]),
    ],
)
def test_any_number_of_readings_gives_finite_answers(run, value):
    table = one_track(run, value)
    hyper = widened(table, fit_hyper(table, SETTINGS))
    cleaned = clean(table, hyper, SETTINGS)
    known = infer(cleaned.table, hyper)
    drawn = remaining(
        cleaned.table, hyper, known, [LIMIT], future_duty=0.15, draws=50, rng=np.random.default_rng(1)
    )
    assert np.isfinite(known.mean).all()
    assert (known.variance > 0).all()
    assert np.isfinite(drawn.distance).all()
    assert (drawn.distance >= 0).all()


def test_without_a_reading_the_width_is_that_of_expert_judgement():
    table = one_track([], [])
    hyper = widened(table, prior_hyper(table, SETTINGS))
    known = infer(table, hyper)
    expected = 0.30**2 + 0.10**2 + 0.12**2 + 0.40**2
    assert float(known.variance[0]) == pytest.approx(expected, rel=1e-6)


def test_two_readings_far_apart_beat_the_prior():
    """7.7 of the trade's method, [EJ]: two readings on one set beat the prior when more than 2 mm apart."""
    table = one_track([3e7, 6e7], [18.0e-3, 15.0e-3])
    hyper = prior_hyper(table, SETTINGS)
    known = infer(table, hyper)
    assert float(np.exp(known.mean[0])) == pytest.approx(1e-10, rel=0.03)


@pytest.mark.parametrize(
    ("value", "low", "high", "thin"),
    [(2.0e-3, np.nan, np.nan, 2.0e-3), (np.nan, -np.inf, 0.8e-3, 0.4e-3)],
)
def test_a_thin_last_reading_is_never_argued_away(value, low, high, thin):
    """Law of total probability: met by now = chance that the reading is right + (1 - it) x met without it."""
    run = [2e7, 4e7, 6e7, 7e7]
    none = [np.nan, np.nan, np.nan]
    table = one_track(run, [18.9e-3, 16.7e-3, 14.7e-3, value], 0.15e-3, [*none, low], [*none, high])
    hyper = widened(table, prior_hyper(table, SETTINGS))
    cleaned = clean(table, hyper, SETTINGS)
    (doubt,) = cleaned.doubts()
    assert doubt.friction == pytest.approx(thin)
    assert 0.0 < doubt.share < 0.5
    known = infer(cleaned.table, hyper)

    def met(doubts):
        drawn = remaining(
            cleaned.table,
            hyper,
            known,
            [LIMIT],
            future_duty=0.15,
            draws=20_000,
            rng=np.random.default_rng(3),
            since_fitting=np.array([7e7]),
            doubts=doubts,
        )
        return float((drawn.distance[0, 0] == 0.0).mean())

    without = met(())
    assert without < 0.01
    expected = doubt.share + (1.0 - doubt.share) * without
    assert met(cleaned.doubts()) == pytest.approx(expected, abs=4.0 * (expected / 20_000) ** 0.5)


def test_a_worn_out_reading_is_no_misread_step():
    """A gauge that finds nothing left is believed, where a step of a scale may be misread."""
    by_gauge = one_track([9e7], [np.nan], 0.15e-3, [-np.inf], [0.8e-3])
    by_step = one_track([9e7], [np.nan], 0.15e-3, [BELOW_SCALE], [0.8e-3])
    hyper = prior_hyper(by_gauge, SETTINGS)
    believed, doubted = (infer(table, hyper).mean[0] for table in (by_gauge, by_step))
    # a pad of 21 mm that is gone after 90 000 km has lost at least 20.2 mm / 9e7 m
    assert believed > np.log(20.2e-3 / 9e7)
    assert believed > doubted


def test_censored_readings_only_say_worn_out():
    """At 0.8 mm or less only an upper end is known, so a set long past its end does not look slow."""
    table = one_track([3e8], [np.nan], 0.15e-3, [-np.inf], [0.8e-3])
    hyper = widened(table, prior_hyper(table, SETTINGS))
    known = infer(table, hyper)
    free = infer(one_track([], []), hyper)
    assert float(known.mean[0]) > float(free.mean[0])
    assert float(known.variance[0]) > 0.02


def test_one_vehicle_is_brought_up_to_date_as_in_the_whole_fleet():
    fleet = draw_fleet(40, 9)
    hyper = fit_hyper(fleet.table, SETTINGS)
    whole = infer_fleet(fleet.table, hyper, sweeps=4)
    one = infer(fleet.table.vehicles(np.array([17])), hyper, sweeps=4)
    rows = fleet.table.tracks.vehicle == 17
    np.testing.assert_allclose(one.mean, whole.mean[rows], rtol=1e-10)


def test_distances_that_run_backwards_are_refused():
    table = one_track([5e7, 3e7], [17e-3, 18e-3])
    with pytest.raises(DomainError, match="run backwards"):
        gauge_sums(table.tracks, table.readings, rate=np.array([1e-10]), route=0.0)


def test_no_limit_is_refused():
    table = one_track([3e7], [18e-3])
    hyper = prior_hyper(table, SETTINGS)
    with pytest.raises(DomainError, match="nothing to draw"):
        remaining(
            table, hyper, infer(table, hyper), [], future_duty=0.1, draws=5, rng=np.random.default_rng(0)
        )


@pytest.mark.parametrize("name", ["outliers", "u_new", "future_duty"])
def test_impossible_settings_are_refused(name):
    with pytest.raises(DomainError, match=name):
        ForecastSettings(**{name: -1.0})


def test_score_of_a_normal_forecast_has_its_closed_form():
    """Gneiting and Raftery 2007, formula for the normal distribution (from memory, unverified)."""
    draws = np.random.default_rng(3).standard_normal((1, 40_000))
    y = 0.7
    expected = y * (2 * norm.cdf(y) - 1) + 2 * norm.pdf(y) - 1 / np.sqrt(np.pi)
    assert float(crps(draws, np.array([y]))[0]) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(
    ("faults", "narrow", "wide"),
    [
        ({}, (0.78, 0.82), (0.935, 0.965)),
        (
            {
                "outliers": 0.02,
                "steps": 0.3,
                "misread": 0.03,
                "unrecorded": 0.05,
                "rollbacks": 0.01,
                "missing": 0.05,
            },
            (0.76, 0.86),
            (0.91, 0.97),
        ),
    ],
)
def test_fleets_of_the_packages_own_simulator_are_covered(faults, narrow, wide):
    """Three fleets of 300 typical vehicles: roads that change, wedges that grow, bus to line haul.

    The truth is the distance at which the simulator's thinnest corner meets 3 mm. All ends of a vehicle share
    its roads, so 900 vehicles leave a standard error of 1 % on 80 %; twenty larger fleets are in the bench.
    """
    inside, broad, affected, found, false = [], [], [], [], []
    for seed in range(30, 33):
        fleet = drive_fleet(300, seed, **faults)
        hyper = learn(fleet.table, SETTINGS)
        cleaned = clean(fleet.table, hyper, SETTINGS)
        table = cleaned.table
        future = learn_future_duty(table, hyper, SETTINGS)
        hyper = widened(table, hyper)
        last = np.searchsorted(table.tracks.end, np.arange(fleet.left.size), side="right") - 1
        today = fleet.since_fitting - cleaned.shift[table.tracks.padset[last]]
        drawn = remaining(
            table,
            hyper,
            infer_fleet(table, hyper),
            [LIMIT],
            future_duty=future,
            draws=400,
            rng=np.random.default_rng(seed),
            since_fitting=today,
            doubts=cleaned.doubts(),
        )
        q = quantiles(drawn.distance[:, 0], [0.025, 0.1, 0.9, 0.975])
        use = fleet.left > 0
        hit = (fleet.left >= q[:, 1]) & (fleet.left <= q[:, 2])
        inside.append(hit[use].mean())
        broad.append(((fleet.left >= q[:, 0]) & (fleet.left <= q[:, 3]))[use].mean())
        # changes that nobody recorded, and vehicles whose odometer was set back
        changed = fleet.silent & fleet.seen
        affected.append(hit[changed | fleet.rolled])
        told = np.zeros(fleet.table.tracks.n, dtype=bool)
        told[[each.padset for each in cleaned.changes if each.decided and each.new_pads]] = True
        recorded = fleet.table.tracks.end
        told = told[np.searchsorted(recorded, np.arange(fleet.left.size), side="right") - 1]
        found.append(told[changed])
        false.append(told[~fleet.silent])
    assert narrow[0] <= float(np.mean(inside)) <= narrow[1]
    assert wide[0] <= float(np.mean(broad)) <= wide[1]
    if faults:
        assert np.concatenate(affected).mean() >= 0.70
        assert np.concatenate(found).mean() >= 0.90
        assert np.concatenate(false).mean() <= 0.02


@pytest.mark.parametrize("each", [1, 3, 30])
def test_many_tracks_with_intervals_are_those_of_fine_quadrature(each):
    """60 tracks, ``each`` steps of 25 %, some rounds as in a sweep: trapezium of 4 001 nodes as reference."""
    rng = np.random.default_rng(each)
    n, misread = 60, 0.02
    mean, variance = rng.normal(np.log(0.7e-10), 0.2, n), rng.uniform(0.02, 0.15, n)
    run = np.sort(rng.uniform(3e7, 2.4e8, (n, each)), axis=1)
    mark = np.clip(np.round(np.exp(rng.normal(mean, 0.1))[:, None] * run / 23e-3 * 4), 0, 4)
    high = np.where(mark == 0, np.inf, 21e-3 - 23e-3 * (mark / 4 - 0.125))
    low = np.where(mark == 4, -0.1, 21e-3 - 23e-3 * (mark / 4 + 0.125))
    keys = np.arange(n)
    tracks = Tracks(
        keys,
        keys,
        keys,
        keys,
        keys * each,
        np.full(n, each),
        np.full(n, 21e-3),
        np.full(n, 0.2e-3),
        np.ones((n, 1)),
        np.ones(n, dtype=bool),
    )
    readings = Readings(
        run.ravel(), np.full(n * each, np.nan), np.full(n * each, 0.69e-3), low.ravel(), high.ravel()
    )
    rate = np.exp(mean)
    sums = gauge_sums(tracks, readings, rate=rate, route=0.0)
    found = tilted_moments(
        sums, intervals_of(tracks, readings, rate=rate, route=0.0), mean, variance, misread
    )
    z = mean[:, None] + np.sqrt(variance)[:, None] * np.linspace(-10.0, 10.0, 4001)
    soft = np.hypot(0.69e-3, 0.2e-3)
    density = norm.pdf(z, mean[:, None], np.sqrt(variance)[:, None])
    for k in range(each):
        friction = 21e-3 - np.exp(z) * run[:, k, None]
        inside = norm.cdf((high[:, k, None] - friction) / soft) - norm.cdf(
            (low[:, k, None] - friction) / soft
        )
        density *= (1.0 - misread) * inside + misread / 5.0
    total = np.trapezoid(density, z, axis=1)
    first = np.trapezoid(density * z, z, axis=1) / total
    second = np.trapezoid(density * (z - first[:, None]) ** 2, z, axis=1) / total
    # a single misread step leaves a small second hill, which the grid may miss
    error = np.abs(found.log_evidence - np.log(total))
    assert float(error.mean()) < 0.005
    assert float(error.max()) < 0.07
    shift = np.abs(found.mean - first) / np.sqrt(second)
    assert float(np.quantile(shift, 0.9)) < 0.02
    assert float(np.quantile(np.abs(found.variance / second - 1.0), 0.9)) < 0.05
