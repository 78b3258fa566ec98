"""Comparing groups, and how far between two looks."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from wearline.errors import DomainError
from wearline.forecasting.comparing import Costs, compare_groups, compare_pairs, pairs_needed, sets_needed
from wearline.forecasting.intervals import (
    LookCosts,
    cost_curve,
    gain_of_readings,
    longest_distance,
    new_pad_lives,
)
from wearline.forecasting.settings import ForecastSettings


def test_sets_needed_are_those_of_the_trade():
    """15 % life difference: CV 35 % needs about 85 sets in each arm, CV 20 % of pairs about 14 pairs [D]."""
    assert sets_needed(0.35, 0.15) == 86
    assert pairs_needed(0.20, 0.15) == 14


def test_pairs_are_compared_by_students_t_on_logs():
    rng = np.random.default_rng(1)
    first = np.exp(0.3 * rng.standard_normal(14))
    second = first * np.exp(0.15 + 0.1 * rng.standard_normal(14))
    found = compare_pairs(first, second)
    expected = stats.ttest_rel(np.log(second), np.log(first))
    assert found.p_value == pytest.approx(expected.pvalue, rel=1e-9)
    low, high = expected.confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((np.exp(low), np.exp(high)), rel=1e-9)
    assert "more" in found.says


def test_groups_are_compared_by_welchs_t_on_logs():
    rng = np.random.default_rng(2)
    first, second = np.exp(0.3 * rng.standard_normal(12)), np.exp(0.05 + 0.5 * rng.standard_normal(9))
    found = compare_groups(first, second)
    expected = stats.ttest_ind(np.log(second), np.log(first), equal_var=False)
    assert found.p_value == pytest.approx(expected.pvalue, rel=1e-9)
    low, high = expected.confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((np.exp(low), np.exp(high)), rel=1e-9)
    assert "cannot tell" in found.says
    assert found.needed > found.count


def test_cost_counts_the_rotor_too():
    """18 mm of friction for 300, 8 mm of rotor for 800: 0.6 and 0.06 mm in 10 000 km cost 16 (hand sum)."""
    costs = Costs(300.0, 800.0, 18e-3, 8e-3)
    expected = 300 * 0.6 / 18 + 800 * 0.06 / 8
    assert float(costs.by_distance(np.array(0.6e-3), np.array(0.06e-3))) == pytest.approx(expected)


def test_comparisons_refuse_what_they_cannot_compare():
    with pytest.raises(DomainError, match="are no pairs"):
        compare_pairs([1.0, 2.0], [1.0, 2.0])
    with pytest.raises(DomainError, match="against 2 sets"):
        compare_groups([1.0, 2.0, 3.0], [1.0, 2.0])
    with pytest.raises(DomainError, match="not positive"):
        compare_pairs([1.0, 2.0, 0.0], [1.0, 2.0, 3.0])
    with pytest.raises(DomainError, match="all values are the same"):
        compare_pairs([1.0, 1.0, 1.0], [1.0, 1.0, 1.0])
    with pytest.raises(DomainError, match="not positive"):
        sets_needed(0.0, 0.1)


def test_longest_distance_is_the_quantile_of_the_risk():
    draws = np.arange(1.0, 1001.0)
    assert longest_distance(draws, 0.01) == pytest.approx(10.0, abs=1.0)
    with pytest.raises(DomainError, match="is asked for"):
        longest_distance(draws, 0.0)


def test_lives_of_new_pads_are_those_of_the_first_end():
    """One end: lognormal with the spreads added; two ends: the median of the lesser of two lognormals."""
    rng = np.random.default_rng(4)
    settings = ForecastSettings(u_new=1e-9)
    rate = np.exp(np.log(1e-10) + 0.3 * rng.standard_normal((1, 40_000)))
    one = new_pad_lives([rate], 18e-3, settings, set_spread=0.12, future_duty=0.15, draws=40_000, rng=rng)
    assert float(np.median(one)) == pytest.approx(18e-3 / 1e-10, rel=0.01)
    assert float(np.log(one).std()) == pytest.approx(np.sqrt(0.3**2 + 0.12**2 + 0.15**2), rel=0.02)
    both = np.full((2, 40_000), 1e-10)
    two = new_pad_lives([both], 18e-3, settings, set_spread=0.2, future_duty=0.0, draws=40_000, rng=rng)
    # the lesser of two is below the level that one alone is below with 1 - sqrt(1/2)
    expected = 18e-3 / 1e-10 * np.exp(0.2 * stats.norm.ppf(1.0 - np.sqrt(0.5)))
    assert float(np.median(two)) == pytest.approx(expected, rel=0.01)


def test_cost_curve_agrees_with_a_plain_simulation():
    """One set after the other, look by look, by the rule in words."""
    rng = np.random.default_rng(5)
    lives = 1.5e8 * np.exp(0.3 * rng.standard_normal(4000))
    costs, spread, risk, d = LookCosts(60.0, 300.0, 2000.0), 0.15, 0.05, 4e7
    point = cost_curve(lives, costs, [d], spread=spread, risk=risk)[0]
    margin = np.exp(-stats.norm.ppf(1 - risk) * spread)
    looks = run = misses = 0.0
    for life in lives:
        error = np.exp(spread * rng.standard_normal())
        k = 0
        while True:
            k += 1
            if k * d > life:
                misses, run, looks = misses + 1, run + life, looks + k
                break
            if (life - k * d) * error * margin < d:
                run, looks = run + k * d, looks + k
                break
    assert point.risk == pytest.approx(misses / lives.size, abs=0.01)
    assert point.look == pytest.approx(60.0 * looks / run, rel=0.03)
    assert point.pads == pytest.approx(300.0 * lives.size / run, rel=0.03)


def test_looking_rarely_costs_more_in_misses_and_looking_often_more_in_looks():
    lives = 1.5e8 * np.exp(0.3 * np.random.default_rng(6).standard_normal(4000))
    curve = cost_curve(lives, LookCosts(60.0, 300.0, 2000.0), [1e7, 4e7, 1.6e8], spread=0.15, risk=0.01)
    assert curve[0].look > curve[1].look > curve[2].look
    assert curve[0].miss < curve[2].miss
    with pytest.raises(DomainError, match="not positive"):
        cost_curve(lives, LookCosts(1, 1, 1), [0.0], spread=0.1, risk=0.1)


def test_more_readings_and_better_gauges_narrow_the_distance():
    settings = ForecastSettings()
    one = gain_of_readings(6e-3, 6e-3, settings, readings=1, u=0.4e-3, prior_spread=0.4)
    many = gain_of_readings(6e-3, 6e-3, settings, readings=6, u=0.4e-3, prior_spread=0.4)
    fine = gain_of_readings(6e-3, 6e-3, settings, readings=1, u=0.1e-3, prior_spread=0.4)
    assert one > many > settings.future_duty
    assert one > fine > settings.future_duty
    with pytest.raises(DomainError, match="must be positive"):
        gain_of_readings(0.0, 6e-3, settings, readings=1, u=1e-4, prior_spread=0.4)
