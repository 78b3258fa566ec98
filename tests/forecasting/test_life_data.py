"""Lives of parts against published figures, a survival library and hand sums."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from wearline.errors import DomainError
from wearline.forecasting.life_data import (
    Lives,
    batch_against_expectation,
    fit_lives,
    survival_curve,
)

CHANNING = Path(__file__).parents[1] / "data_open" / "channing" / "channing.csv"


def channing(sex):
    with CHANNING.open() as file:
        rows = [r for r in csv.DictReader(file) if r["sex"] == sex and float(r["exit"]) > float(r["entry"])]
    entry, leave = (np.array([float(r[k]) for r in rows]) for k in ("entry", "exit"))
    died = np.array([r["cens"] == "1" for r in rows])
    return Lives.of(leave, np.where(died, leave, np.inf), entry), died


def cracks():
    """Turbine parts, Nelson 1982 p. 415: cracks found at eight inspections, 73 of 167 without."""
    months = np.array([6.12, 19.92, 29.64, 35.40, 39.72, 45.24, 52.32, 63.48])
    found = np.array([5, 16, 12, 18, 18, 2, 6, 17, 73.0])
    return Lives.of(np.append(0.0, months), np.append(months, np.inf), count=found)


def test_interval_data_have_their_published_weibull():
    """SAS/QC manual, PROC RELIABILITY, and R survreg: eta 71.690, beta 1.4854, logL -309.6684."""
    found = fit_lives(cracks(), "weibull")
    assert np.exp(found.location) == pytest.approx(71.6904, rel=1e-5)
    assert 1.0 / found.scale == pytest.approx(1.485367, rel=1e-5)
    assert found.log_likelihood == pytest.approx(-309.6684, abs=1e-4)


def test_interval_data_have_their_lognormal():
    """R survreg: 4.026854, 0.998525, logL -311.9148."""
    found = fit_lives(cracks(), "lognormal")
    assert found.location == pytest.approx(4.026854, rel=1e-5)
    assert found.scale == pytest.approx(0.998525, rel=2e-5)
    assert found.log_likelihood == pytest.approx(-311.9148, abs=1e-4)


@pytest.mark.parametrize(
    ("sex", "eta", "beta", "log_likelihood"),
    [("Female", 1058.395, 9.615773, -801.7470), ("Male", 968.840, 6.28010, -274.7509)],
)
def test_late_entry_has_the_weibull_of_three_libraries(sex, eta, beta, log_likelihood):
    """Channing House, R's own maximum likelihood, lifelines and surpyval agree on these."""
    lives, _ = channing(sex)
    found = fit_lives(lives, "weibull")
    assert np.exp(found.location) == pytest.approx(eta, rel=1e-5)
    assert 1.0 / found.scale == pytest.approx(beta, rel=1e-5)
    assert found.log_likelihood == pytest.approx(log_likelihood, abs=1e-3)


def test_share_of_women_alive_is_that_of_r_survival():
    """R survfit with late entry: 0.890180, 0.709631, 0.281622 at 840, 960, 1080 months."""
    lives, _ = channing("Female")
    found = survival_curve(lives)
    expected = [0.890180, 0.709631, 0.281622]
    np.testing.assert_allclose([found.at(age) for age in (840, 960, 1080)], expected, atol=1e-6)


def test_a_first_group_that_dies_out_is_refused_and_a_later_start_works():
    """Men of Channing House: the first few all die at 781 months, which would make the curve 0 for good."""
    lives, _ = channing("Male")
    with pytest.raises(DomainError, match="ended there"):
        survival_curve(lives)
    assert 0.0 < survival_curve(lives, since=820.0).at(960.0) < 1.0


def test_fits_agree_with_lifelines_on_drawn_lives():
    """Lognormal and Weibull with late entry and ends yet to come; lifelines started at the truth."""
    lifelines = pytest.importorskip("lifelines")
    rng = np.random.default_rng(8)
    life = 200.0 * rng.weibull(2.2, 400)
    entry = rng.uniform(0, 120, 400)
    use = life > entry
    life, entry = life[use], entry[use]
    stop = np.minimum(life, entry + 130.0)
    ended = life <= stop
    lives = Lives.of(stop, np.where(ended, stop, np.inf), entry)
    weibull = lifelines.WeibullFitter().fit(stop, ended, entry=entry, initial_point=[200.0, 2.0])
    ours = fit_lives(lives, "weibull")
    assert np.exp(ours.location) == pytest.approx(weibull.lambda_, rel=1e-4)
    assert 1.0 / ours.scale == pytest.approx(weibull.rho_, rel=1e-4)
    lognormal = lifelines.LogNormalFitter().fit(stop, ended, entry=entry, initial_point=[5.0, 0.5])
    ours = fit_lives(lives, "lognormal")
    assert ours.location == pytest.approx(lognormal.mu_, rel=1e-4)
    assert ours.scale == pytest.approx(lognormal.sigma_, rel=1e-3)
    curve = lifelines.KaplanMeierFitter().fit(stop[entry < 60], ended[entry < 60])
    own = survival_curve(Lives.of(stop[entry < 60], np.where(ended[entry < 60], stop[entry < 60], np.inf)))
    for age in (80.0, 150.0, 210.0):
        assert own.at(age) == pytest.approx(float(curve.predict(age)), abs=1e-9)


def test_ignoring_late_entry_makes_parts_look_better():
    """Left truncation matters: without it the scale comes out too long."""
    rng = np.random.default_rng(9)
    life, entry = 100.0 * rng.weibull(1.5, 3000), rng.uniform(0, 80, 3000)
    use = life > entry
    right = fit_lives(Lives.of(life[use], entry=entry[use]), "weibull")
    wrong = fit_lives(Lives.of(life[use]), "weibull")
    assert np.exp(right.location) == pytest.approx(100.0, rel=0.05)
    assert np.exp(wrong.location) > 1.1 * np.exp(right.location)


def test_quantile_and_share_are_inverse():
    for shape in ("weibull", "lognormal"):
        found = fit_lives(cracks(), shape)
        assert float(found.ended(np.array([found.quantile(0.1)]))[0]) == pytest.approx(0.1, abs=1e-9)


def test_a_bad_batch_stands_out_and_a_good_one_does_not():
    """Expected failures are summed hazards; exact Poisson interval by chi-squared quantiles (scipy)."""
    from scipy.stats import chi2, poisson

    rest = fit_lives(Lives.of(100.0 * np.random.default_rng(2).weibull(2.0, 5000)), "weibull")
    age, entry = np.full(300, 20.0), np.full(300, 5.0)
    failed = np.zeros(300, dtype=bool)
    failed[:30] = True
    bad = batch_against_expectation(age, entry, failed, rest)
    hazard = (20.0 / np.exp(rest.location)) ** (1 / rest.scale) - (5.0 / np.exp(rest.location)) ** (
        1 / rest.scale
    )
    assert bad.expected == pytest.approx(300 * hazard, rel=1e-9)
    assert bad.low == pytest.approx(chi2.ppf(0.025, 60) / 2 / bad.expected, rel=1e-9)
    assert bad.high == pytest.approx(chi2.ppf(0.975, 62) / 2 / bad.expected, rel=1e-9)
    assert bad.p_value == pytest.approx(poisson.sf(29, bad.expected), rel=1e-9)
    assert bad.low > 1.0
    failed[11:] = False
    assert batch_against_expectation(age, entry, failed, rest).low < 1.0


def test_contradictions_are_refused():
    with pytest.raises(DomainError, match="ends before it began"):
        Lives.of(np.array([5.0]), np.array([4.0]))
    with pytest.raises(DomainError, match="observed from an age after"):
        Lives.of(np.array([5.0]), entry=np.array([6.0]))
    with pytest.raises(DomainError, match="stands for no part"):
        Lives.of(np.array([5.0]), count=np.array([0.0]))
    with pytest.raises(DomainError, match="no life has ended"):
        fit_lives(Lives.of(np.array([5.0]), np.array([np.inf])), "weibull")
    with pytest.raises(DomainError, match="do not determine"):
        fit_lives(Lives.of(np.array([5.0, 5.0])), "weibull")
    with pytest.raises(DomainError, match="interval only"):
        survival_curve(cracks())
    fitted = fit_lives(cracks(), "weibull")
    with pytest.raises(DomainError, match="no failure is to be expected"):
        batch_against_expectation(np.zeros(0), np.zeros(0), np.zeros(0, dtype=bool), fitted)
