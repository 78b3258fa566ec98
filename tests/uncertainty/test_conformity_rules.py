"""Within, beyond or undecided, against JCGM 106, ISO 14253-1 and a reference library."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import DomainError
from wearline.uncertainty.conformity import (
    BEYOND,
    UNDECIDED,
    WITHIN,
    DecisionRule,
    Sense,
    compare_directly,
    conformance_probability,
    decide,
    guard_band,
    probability_within,
)
from wearline.uncertainty.normal import SMALL, normal_density, normal_distribution, normal_quantile

AT_LEAST, AT_MOST = Sense.AT_LEAST, Sense.AT_MOST


def test_zener_diode_of_the_guide() -> None:
    """JCGM 106:2012, 7.3: limit -5.40 V, y = -5.47 V, u = 0.05 V, p_c = 0.92 (from memory, unverified).

    Phi(1.4) = 0.9192 stands in every table of the normal distribution.
    """
    probability = float(probability_within(-5.47, 0.05, -5.40, AT_MOST))
    assert round(probability, 4) == 0.9192


def test_strength_of_the_guide() -> None:
    """JCGM 106:2012: at least 490 kPa, y = 509.7 kPa, u = 8.6 kPa, p_c = 0.989 (from memory, unverified)."""
    assert round(float(probability_within(509.7, 8.6, 490.0, AT_LEAST)), 3) == 0.989


def test_speed_limit_of_the_guide() -> None:
    """JCGM 106:2012, 8.3.3: limit 100 km/h, u 2 %, 99.9 %: charged from 107 km/h (from memory, unverified).

    At v = 100/(1 - 3.090 x 0.02) = 106.6 km/h the probability of having kept the limit is 0.1 %.
    """
    charged = 100.0 / (1.0 - 3.0902 * 0.02)
    assert round(charged) == 107
    assert round(float(probability_within(charged, 0.02 * charged, 100.0, AT_MOST)), 6) == 0.001
    speeds = np.arange(100.0, 112.0)
    kept = probability_within(speeds, 0.02 * speeds, 100.0, AT_MOST)
    assert speeds[kept <= 0.001][0] == 107.0


def test_guard_band_of_one_sided_limits() -> None:
    """ISO 14253-1:2017: 1.65 u for 95 % where u is small against the zone (from memory, unverified).

    Every table of the normal distribution: 1.645, and 3.09 for 99.9 %.
    """
    assert round(float(guard_band(1.0)), 3) == 1.645
    assert round(float(guard_band(1.0, 0.999)), 2) == 3.09
    assert guard_band(np.array([0.1, 0.2])).tolist() == pytest.approx([0.1644854, 0.3289707], abs=1e-7)


VALUES = st.floats(-50, 50)
SPREADS = st.floats(0.01, 10)


@given(value=VALUES, u=SPREADS, limit=VALUES)
@settings(deadline=None)
def test_probability_agrees_with_the_reference_library(value: float, u: float, limit: float) -> None:
    """scipy.stats.norm."""
    least = probability_within(value, u, limit, AT_LEAST)
    most = probability_within(value, u, limit, AT_MOST)
    assert float(least) == pytest.approx(scipy.stats.norm.sf(limit, value, u), rel=1e-9, abs=1e-300)
    assert float(most) == pytest.approx(scipy.stats.norm.cdf(limit, value, u), rel=1e-9, abs=1e-300)
    assert float(least) + float(most) == pytest.approx(1.0, rel=1e-14)


@given(value=VALUES, u=SPREADS, limit=VALUES, sense=st.sampled_from(Sense), confidence=st.floats(0.51, 0.999))
@settings(deadline=None)
def test_guarded_decision_is_clearing_the_limit_by_the_guard_band(
    value: float, u: float, limit: float, sense: Sense, confidence: float
) -> None:
    clearance = value - limit if sense is AT_LEAST else limit - value
    band = float(guard_band(u, confidence))
    if abs(abs(clearance) - band) < 1e-9 * u:
        return
    expected = WITHIN if clearance > band else BEYOND if clearance < -band else UNDECIDED
    probability = probability_within(value, u, limit, sense)
    directly = compare_directly(value, limit, sense)
    assert decide(probability, directly, DecisionRule.GUARDED, confidence) == expected


@given(value=VALUES, u=SPREADS, limit=VALUES, sense=st.sampled_from(Sense))
@settings(deadline=None)
def test_simple_decision_is_the_direct_comparison(value: float, u: float, limit: float, sense: Sense) -> None:
    directly = compare_directly(value, limit, sense)
    probability = probability_within(value, u, limit, sense)
    assert decide(probability, directly, DecisionRule.SIMPLE) == (WITHIN if directly else BEYOND)


@pytest.mark.parametrize("sense", list(Sense))
@pytest.mark.parametrize("passes", [True, False])
def test_a_value_at_the_limit_passes_or_not_as_the_limit_says(sense: Sense, passes: bool) -> None:
    inch = 0.078 * 25.4e-3
    same_in_millimetres = 1.9812 / 1000.0
    assert inch != same_in_millimetres
    assert bool(compare_directly(inch, same_in_millimetres, sense, passes)) is passes
    assert bool(compare_directly(same_in_millimetres, inch, sense, passes)) is passes


def test_a_real_difference_is_not_taken_for_equality() -> None:
    """3 mm against 0.118 in: 2.8 um apart, as published in two units."""
    assert bool(compare_directly(0.003, 0.0029972, AT_MOST)) is False
    assert bool(compare_directly(0.003, 0.0029972, AT_LEAST, passes_at_limit=False)) is True


@pytest.mark.parametrize("sense", list(Sense))
@pytest.mark.parametrize("limit", [-2.0, 0.0, 2.0])
def test_direct_comparison_on_either_side(sense: Sense, limit: float) -> None:
    above, below = compare_directly([limit + 0.1, limit - 0.1], limit, sense)
    assert (bool(above), bool(below)) == (sense is AT_LEAST, sense is AT_MOST)


def test_without_uncertainty_the_value_is_compared_directly() -> None:
    values = np.array([2.9, 3.0, 3.1])
    assert probability_within(values, 0.0, 3.0, AT_LEAST).tolist() == [0.0, 1.0, 1.0]
    assert probability_within(values, 0.0, 3.0, AT_MOST).tolist() == [1.0, 1.0, 0.0]
    assert float(probability_within(0.118 * 25.4, 0.0, 2.9972, AT_MOST)) == 1.0
    mixed = probability_within(values, [0.0, 0.1, 0.0], 3.0, AT_LEAST)
    assert mixed.tolist() == [0.0, 0.5, 1.0]


def test_a_thing_not_measured_is_never_good() -> None:
    nothing = float("nan")
    assert np.isnan(probability_within(nothing, 0.1, 3.0, AT_LEAST))
    assert np.isnan(probability_within(nothing, 0.0, 3.0, AT_LEAST))
    assert np.isnan(conformance_probability(nothing, 0.0, 1.0, 3.0))
    assert not compare_directly(nothing, 3.0, AT_LEAST)
    assert not compare_directly(nothing, 3.0, AT_MOST)
    for rule in DecisionRule:
        assert decide(nothing, False, rule) == UNDECIDED
        assert decide(nothing, True, rule) == UNDECIDED


def test_shapes_broadcast() -> None:
    values = np.linspace(2.0, 4.0, 5)[:, np.newaxis]
    spreads = np.array([0.1, 0.0, 0.4])
    probability = probability_within(values, spreads, 3.0, AT_LEAST)
    assert probability.shape == (5, 3)
    for row, value in enumerate(values[:, 0]):
        for column, u in enumerate(spreads):
            alone = probability_within(value, u, 3.0, AT_LEAST)
            assert probability[row, column] == alone
    assert probability_within([], 0.1, 3.0, AT_LEAST).shape == (0,)


def test_large_arrays_give_what_small_ones_give() -> None:
    """Two routes through two libraries: math.erfc and scipy.special.ndtr."""
    values = np.linspace(-30.0, 30.0, SMALL + 7)
    at_once = probability_within(values, 1.0, 0.0, AT_LEAST)
    in_parts = np.concatenate(
        [probability_within(part, 1.0, 0.0, AT_LEAST) for part in np.split(values, [SMALL])]
    )
    np.testing.assert_allclose(at_once, in_parts, rtol=1e-12)


def test_decisions_are_small_codes() -> None:
    codes = decide([0.99, 0.95, 0.5, 0.05, 0.01], [True] * 5, DecisionRule.GUARDED)
    assert codes.dtype == np.int8
    assert codes.tolist() == [1, 1, 0, -1, -1]


@given(value=VALUES, u=SPREADS, ends=st.tuples(VALUES, VALUES).map(sorted))
@settings(deadline=None)
def test_interval_probability_is_accurate_in_both_tails(value: float, u: float, ends: list[float]) -> None:
    """scipy.stats.norm, differences taken on the side where the tails are small."""
    lower, upper = ends
    law = scipy.stats.norm(value, u)
    expected = law.cdf(upper) - law.cdf(lower) if upper < value else law.sf(lower) - law.sf(upper)
    assert float(conformance_probability(value, u, lower, upper)) == pytest.approx(
        expected, rel=1e-9, abs=1e-15
    )


def test_interval_far_above_the_value_keeps_its_digits() -> None:
    """P(10 < z < 11) = Q(10) - Q(11), 7.6e-24, lost if computed as one minus one."""
    expected = scipy.stats.norm.sf(10.0) - scipy.stats.norm.sf(11.0)
    assert float(conformance_probability(0.0, 1.0, 10.0, 11.0)) == pytest.approx(expected, rel=1e-12)
    assert float(conformance_probability(0.0, 1.0, -11.0, -10.0)) == pytest.approx(expected, rel=1e-12)


def test_an_open_interval_is_one_limit() -> None:
    values = np.array([2.9, 3.0, 3.4])
    least = conformance_probability(values, 0.2, lower=3.0)
    np.testing.assert_allclose(least, probability_within(values, 0.2, 3.0, AT_LEAST), rtol=1e-14)
    most = conformance_probability(values, 0.2, upper=3.0)
    np.testing.assert_allclose(most, probability_within(values, 0.2, 3.0, AT_MOST), rtol=1e-14)
    assert conformance_probability(values, 0.0, 2.9, 3.2).tolist() == [1.0, 1.0, 0.0]


def test_normal_distribution_of_a_published_table() -> None:
    """Abramowitz and Stegun (1964), table 26.1, P(x) for x = 0, 1, 2, 3 (from memory, unverified)."""
    printed = [0.5, 0.841344746068543, 0.977249868051821, 0.998650101968370]
    assert normal_distribution([0.0, 1.0, 2.0, 3.0]).tolist() == pytest.approx(printed, abs=6e-16)
    assert float(normal_density(0.0)) == pytest.approx(0.398942280401433, abs=6e-16)


def test_normal_distribution_into_the_array_itself() -> None:
    scores = np.array([[0.0, 1.0], [-1.0, np.nan]])
    expected = normal_distribution(scores)
    assert normal_distribution(scores, out=scores) is scores
    np.testing.assert_array_equal(scores, expected)


@given(probability=st.floats(1e-12, 1 - 1e-12))
@settings(deadline=None)
def test_quantile_inverts_the_distribution(probability: float) -> None:
    assert float(normal_distribution(normal_quantile(probability))) == pytest.approx(probability, rel=1e-12)


def test_impossible_numbers_are_refused() -> None:
    with pytest.raises(DomainError, match="negative or not a number"):
        probability_within(1.0, [0.1, -0.1], 3.0, AT_LEAST)
    with pytest.raises(DomainError, match="negative or not a number"):
        conformance_probability(1.0, float("nan"), 1.0, 3.0)
    with pytest.raises(DomainError, match="a lower end lies above"):
        conformance_probability(1.0, 0.1, 3.0, 1.0)
    with pytest.raises(DomainError, match="decides nothing, or both ways at once"):
        decide(0.5, True, DecisionRule.GUARDED, 0.5)
    with pytest.raises(DomainError, match=r"guard band for a confidence of 1\.0"):
        guard_band(0.1, 1.0)
    with pytest.raises(DomainError, match="no finite normal quantile"):
        normal_quantile(1.0)
