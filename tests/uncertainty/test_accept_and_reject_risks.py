"""Risks of wrong acceptance and wrong rejection, against JCGM 106 and the bivariate normal distribution."""

from __future__ import annotations

import math

import pytest
import scipy.integrate
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import DomainError
from wearline.uncertainty.conformity import (
    Interval,
    Normal,
    conformance_probability,
    consumer_risk,
    guard_band,
    guarded_acceptance,
    posterior,
    producer_risk,
    specific_consumer_risk,
    specific_producer_risk,
)

# JCGM 106:2012, 9.5, resistors [ohm]: prior N(1500, 0.12), tolerance 1500 +- 0.2, u_m 0.04, accepted within
# 1500 +- 0.18.
PRIOR, GAUGE = Normal(1500.0, 0.12), 0.04
TOLERANCE = Interval(1499.8, 1500.2)


def accepted(half_width: float) -> Interval:
    return Interval(1500.0 - half_width, 1500.0 + half_width)


def test_resistors_of_the_guide() -> None:
    """Published as 1 % and 7 % (from memory, unverified)."""
    assert round(100 * consumer_risk(PRIOR, GAUGE, TOLERANCE, accepted(0.18))) == 1
    assert round(100 * producer_risk(PRIOR, GAUGE, TOLERANCE, accepted(0.18))) == 7


@pytest.mark.parametrize("half_width", [0.16, 0.18, 0.20, 0.22])
def test_global_risks_agree_with_the_bivariate_normal(half_width: float) -> None:
    """scipy.stats.multivariate_normal (Genz's algorithm) over rectangles of true value and measured value."""
    variance, error = PRIOR.u**2, GAUGE**2
    law = scipy.stats.multivariate_normal([0, 0], [[variance, variance], [variance, variance + error]])
    good_and_accepted = law.cdf([0.2, half_width], lower_limit=[-0.2, -half_width])
    measured = scipy.stats.norm(0, math.sqrt(variance + error))
    all_accepted = measured.cdf(half_width) - measured.cdf(-half_width)
    good = scipy.stats.norm.cdf(0.2 / PRIOR.u) - scipy.stats.norm.cdf(-0.2 / PRIOR.u)
    consumer = consumer_risk(PRIOR, GAUGE, TOLERANCE, accepted(half_width))
    producer = producer_risk(PRIOR, GAUGE, TOLERANCE, accepted(half_width))
    assert consumer == pytest.approx(all_accepted - good_and_accepted, abs=2e-8)
    assert producer == pytest.approx(good - good_and_accepted, abs=2e-8)


RISK_CASES = st.tuples(
    st.floats(-3, 3),
    st.floats(0.05, 3),
    st.floats(0.001, 3),
    st.floats(-4, 4),
    st.floats(0, 5),
    st.floats(-1, 1),
)


@given(case=RISK_CASES)
@settings(deadline=None, max_examples=200)
def test_the_two_risks_differ_by_what_is_accepted_less_what_is_good(case: tuple[float, ...]) -> None:
    """P(bad, accepted) - P(good, rejected) = P(accepted) - P(good); both right sides in closed form."""
    mean, spread, gauge, low, width, guard = case
    tolerance = Interval(low, low + width)
    acceptance = Interval(low + guard, low + width + abs(guard))
    prior = Normal(mean, spread)
    measured = math.hypot(spread, gauge)
    share_accepted = conformance_probability(mean, measured, acceptance.lower, acceptance.upper)
    share_good = conformance_probability(mean, spread, tolerance.lower, tolerance.upper)
    risks = [risk(prior, gauge, tolerance, acceptance) for risk in (consumer_risk, producer_risk)]
    assert all(-1e-15 <= risk <= 1.0 for risk in risks)
    assert risks[0] - risks[1] == pytest.approx(float(share_accepted - share_good), abs=1e-13)


def test_small_risks_keep_their_digits() -> None:
    """One limit six deviations away: P(true < -6, measured > -6) by scipy.integrate.quad."""
    gauge = 0.3
    law = scipy.stats.norm

    def integrand(true: float) -> float:
        return float(law.pdf(true) * law.sf(-6.0, true, gauge))

    expected, _ = scipy.integrate.quad(integrand, -9.0, -6.0, epsabs=0.0, epsrel=1e-12)
    risk = consumer_risk(Normal(0.0, 1.0), gauge, Interval(lower=-6.0), Interval(lower=-6.0))
    assert risk == pytest.approx(expected, rel=1e-9)


def test_an_exact_gauge_makes_no_mistake() -> None:
    assert consumer_risk(PRIOR, 0.0, TOLERANCE, TOLERANCE) == 0.0
    assert producer_risk(PRIOR, 0.0, TOLERANCE, TOLERANCE) == 0.0


def test_an_exact_gauge_with_other_acceptance_limits() -> None:
    """Then the risks are masses of the prior between the limits."""
    wide, narrow = accepted(0.25), accepted(0.1)
    between = conformance_probability(0.0, 0.12, 0.2, 0.25) * 2
    assert consumer_risk(PRIOR, 0.0, TOLERANCE, wide) == pytest.approx(float(between), rel=1e-12)
    between = conformance_probability(0.0, 0.12, 0.1, 0.2) * 2
    assert producer_risk(PRIOR, 0.0, TOLERANCE, narrow) == pytest.approx(float(between), rel=1e-12)


def test_items_that_are_all_alike() -> None:
    """All 0.1 u beyond the limit: accepted as often as the gauge errs by that much."""
    bad, good = Normal(1500.21, 0.0), Normal(1500.0, 0.0)
    expected = conformance_probability(1500.21, 0.04, 1499.8, 1500.2)
    assert consumer_risk(bad, GAUGE, TOLERANCE, TOLERANCE) == pytest.approx(float(expected), rel=1e-12)
    assert producer_risk(bad, GAUGE, TOLERANCE, TOLERANCE) == 0.0
    assert consumer_risk(good, GAUGE, TOLERANCE, TOLERANCE) == 0.0
    expected = 2 * scipy.stats.norm.sf(5.0)
    assert producer_risk(good, GAUGE, TOLERANCE, TOLERANCE) == pytest.approx(expected, rel=1e-9)


def test_specific_risks_add_up_to_one() -> None:
    """JCGM 106:2012, 9.3.2: 1 - p_c for an accepted item, p_c for a rejected one."""
    consumer = specific_consumer_risk(1500.15, GAUGE, 1499.8, 1500.2)
    producer = specific_producer_risk(1500.15, GAUGE, 1499.8, 1500.2)
    assert float(consumer) == pytest.approx(scipy.stats.norm.sf(1.25), rel=1e-9)
    assert float(consumer + producer) == pytest.approx(1.0, rel=1e-15)
    assert specific_consumer_risk([1500.1, 1500.3], 0.0, 1499.8, 1500.2).tolist() == [0.0, 1.0]


def test_a_guard_band_narrows_what_is_accepted() -> None:
    narrowed = guarded_acceptance(Interval(0.0, 1.0), float(guard_band(0.1)))
    assert (narrowed.lower, narrowed.upper) == pytest.approx((0.1644854, 0.8355146), abs=1e-7)
    assert guarded_acceptance(Interval(lower=3.0), 0.2) == Interval(3.2)


@given(prior=st.tuples(st.floats(-9, 9), st.floats(0.01, 9)), value=st.floats(-9, 9), u=st.floats(0.01, 9))
@settings(deadline=None)
def test_knowledge_before_and_measurement_weigh_by_inverse_variance(
    prior: tuple[float, float], value: float, u: float
) -> None:
    mean, spread = prior
    weights = 1 / spread**2, 1 / u**2
    after = posterior(Normal(mean, spread), value, u)
    assert after.u == pytest.approx(1 / math.sqrt(sum(weights)), rel=1e-12)
    assert after.mean == pytest.approx(
        (weights[0] * mean + weights[1] * value) / sum(weights), rel=1e-9, abs=1e-9
    )


def test_exact_knowledge_wins() -> None:
    assert posterior(Normal(3.0, 0.1), 3.2, 0.0) == Normal(3.2, 0.0)
    assert posterior(Normal(3.0, 0.0), 3.2, 0.1) == Normal(3.0, 0.0)
    assert posterior(Normal(3.0, 0.0), 3.0, 0.0) == Normal(3.0, 0.0)


def test_impossible_numbers_are_refused() -> None:
    with pytest.raises(DomainError, match="holds no value"):
        Interval(2.0, 1.0)
    with pytest.raises(DomainError, match="a mean of nan is impossible"):
        Normal(float("nan"), 1.0)
    with pytest.raises(DomainError, match=r"a standard uncertainty of -1\.0 is impossible"):
        Normal(0.0, -1.0)
    with pytest.raises(DomainError, match="a standard uncertainty of inf is impossible"):
        consumer_risk(PRIOR, math.inf, TOLERANCE, TOLERANCE)
    with pytest.raises(DomainError, match=r"a standard uncertainty of -1\.0 is impossible"):
        producer_risk(Normal(0.0, 0.0), -1.0, TOLERANCE, TOLERANCE)
    with pytest.raises(DomainError, match="Use a finer gauge"):
        guarded_acceptance(Interval(0.0, 1.0), 0.6)
    with pytest.raises(DomainError, match="cannot both hold"):
        posterior(Normal(3.0, 0.0), 3.2, 0.0)
