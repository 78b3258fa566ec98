"""Combined, propagated and expanded uncertainty against worked examples of the GUM and other libraries."""

from __future__ import annotations

import math
import statistics

import GTC
import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import DomainError
from wearline.uncertainty.gum import (
    Contribution,
    combined_standard_uncertainty,
    coverage_factor,
    effective_dof,
    expanded_uncertainty,
    from_half_width,
    propagate,
    type_a,
)

INFINITE = math.inf

# JCGM 100:2008, H.1, calibration of an end gauge [nm]; inputs as quoted in the documentation of GTC (GUM_H1).
LENGTH_OF_STANDARD = 50_000_623.0
END_GAUGE = [
    Contribution(25.0, 18, 1.0, "length of the standard"),
    Contribution(5.8, 24, 1.0, "mean of five comparisons"),
    Contribution(3.9, 5, 1.0, "random effects of the comparator"),
    Contribution(6.7, 8, 1.0, "systematic effects of the comparator"),
    Contribution(2e-6 / math.sqrt(3), INFINITE, 0.0, "expansion coefficient"),
    Contribution(0.41, INFINITE, 0.0, "temperature of the bench"),
    Contribution(1e-6 / math.sqrt(3), 50, LENGTH_OF_STANDARD * 0.1, "difference of the coefficients"),
    Contribution(0.05 / math.sqrt(3), 2, LENGTH_OF_STANDARD * 11.5e-6, "difference of the temperatures"),
]


def test_end_gauge_contributions_of_the_gum() -> None:
    """Components printed by GTC for GUM H.1: 25, 5.8, 3.9, 6.7, 0, 0, 2.88679, 16.599 nm."""
    shares = [item.share for item in END_GAUGE]
    assert shares == pytest.approx([25, 5.8, 3.9, 6.7, 0, 0, 2.88679, 16.599], abs=5e-4)


def test_end_gauge_agrees_with_the_reference_library() -> None:
    """GTC 1.5: the same measurement equation with uncertain numbers."""
    standard = GTC.ureal(LENGTH_OF_STANDARD, 25, 18)
    difference = GTC.ureal(215, 5.8, 24) + GTC.ureal(0, 3.9, 5) + GTC.ureal(0, 6.7, 8)
    expansion = GTC.ureal(11.5e-6, GTC.tb.uniform(2e-6))
    expansion_difference = GTC.ureal(0, GTC.tb.uniform(1e-6), 50)
    temperature = GTC.ureal(-0.1, 0.41)
    temperature_difference = GTC.ureal(0, GTC.tb.uniform(0.05), 2)
    length = standard + difference
    length -= standard * (expansion_difference * temperature + expansion * temperature_difference)
    assert combined_standard_uncertainty(END_GAUGE) == pytest.approx(GTC.uncertainty(length), rel=1e-12)
    assert effective_dof(END_GAUGE) == pytest.approx(GTC.dof(length), rel=1e-9)


def test_end_gauge_of_the_gum() -> None:
    """JCGM 100:2008, H.1.4 to H.1.6: u_c = 32 nm, nu_eff = 16, t(99 %) = 2.92, U = 93 nm.

    With the standard uncertainties as rounded in table H.1 (d as one input, 9.7 nm with 25.6 dof); with
    unrounded ones U would be 92.5 nm. Second decimals recomputed by hand: u_c 31.71 nm, nu_eff 16.66.
    """
    budget = [
        Contribution(25.0, 18),
        Contribution(9.7, 25.6),
        Contribution(0.58e-6, 50, LENGTH_OF_STANDARD * 0.1),
        Contribution(0.029, 2, LENGTH_OF_STANDARD * 11.5e-6),
    ]
    result = expanded_uncertainty(budget, 0.99)
    assert (round(result.u), round(result.u, 2)) == (32, 31.71)
    assert (math.floor(result.dof), round(result.dof, 2)) == (16, 16.66)
    assert round(result.coverage, 2) == 2.92
    assert round(result.expanded) == 93


def test_four_equal_contributions_of_ten_have_forty_degrees_of_freedom() -> None:
    """Welch-Satterthwaite by hand: (4 u^2)^2 / (4 u^4/10) = 40; JCGM 100:2008, G.4.1."""
    items = [Contribution(1.3, 10)] * 4
    assert effective_dof(items) == pytest.approx(40.0, rel=1e-14)
    assert expanded_uncertainty(items).coverage == coverage_factor(0.95, 40)


# JCGM 100:2008, table G.2, quantiles of Student's t (from memory, unverified; scipy.stats agrees below).
TABLE = [
    (1, 0.95, 12.71),
    (1, 0.99, 63.66),
    (5, 0.95, 2.57),
    (5, 0.99, 4.03),
    (10, 0.9545, 2.28),
    (16, 0.95, 2.12),
    (16, 0.99, 2.92),
    (50, 0.95, 2.01),
    (50, 0.99, 2.68),
    (INFINITE, 0.90, 1.645),
    (INFINITE, 0.95, 1.960),
    (INFINITE, 0.9545, 2.000),
    (INFINITE, 0.99, 2.576),
    (INFINITE, 0.9973, 3.000),
]


@pytest.mark.parametrize(("dof", "probability", "printed"), TABLE)
def test_coverage_factors_of_the_table(dof: float, probability: float, printed: float) -> None:
    decimals = 3 if math.isinf(dof) else 2
    assert round(coverage_factor(probability, dof), decimals) == printed


@pytest.mark.parametrize("dof", [1.0, 2.5, 7.0, 120.0])
@pytest.mark.parametrize("probability", [0.6827, 0.95, 0.999])
def test_coverage_factors_of_the_reference_library(dof: float, probability: float) -> None:
    """scipy.stats.t.ppf; it inverts by another route than the function used."""
    two_sided = scipy.stats.t.ppf((1 + probability) / 2, dof)
    one_sided = scipy.stats.t.ppf(probability, dof)
    assert coverage_factor(probability, dof) == pytest.approx(two_sided, rel=1e-9)
    assert coverage_factor(probability, dof, one_sided=True) == pytest.approx(one_sided, rel=1e-9)


def test_no_coverage_is_needed_for_an_even_chance_on_one_side() -> None:
    assert coverage_factor(0.5, one_sided=True) == 0.0


def test_effective_dof_below_one_are_used_as_they_are() -> None:
    """Cutting 0.9 to a whole number would leave none."""
    result = expanded_uncertainty([Contribution(1.0, 0.9)], 0.95)
    assert result.coverage == pytest.approx(coverage_factor(0.95, 0.9), rel=1e-12)


# JCGM 100:2008, table 1: twenty temperatures [degC]; mean 100.145, s 1.489, s(mean) 0.333 (4.4.3).
TEMPERATURES = [
    *(96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07),
    *(100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72),
]


def test_twenty_temperatures_of_the_gum() -> None:
    result = type_a(TEMPERATURES)
    assert round(result.mean, 3) == 100.145
    assert round(result.spread, 3) == 1.489
    assert round(result.u, 3) == 0.333
    assert result.dof == 19


@pytest.mark.parametrize(
    ("readings", "mean", "deviation"),
    [
        ([10000001, 10000003, 10000002], 10000002, 1.0),
        ([1.2] + [1.1, 1.3] * 500, 1.2, 0.1),
        ([1000000.2] + [1000000.1, 1000000.3] * 500, 1000000.2, 0.1),
        ([10000000.2] + [10000000.1, 10000000.3] * 500, 10000000.2, 0.1),
    ],
    ids=["NumAcc1", "NumAcc2", "NumAcc3", "NumAcc4"],
)
def test_certified_mean_and_deviation(readings: list[float], mean: float, deviation: float) -> None:
    """NIST StRD, univariate, NumAcc1 to NumAcc4: exact by construction.

    The tolerance of the deviation is what rounding the decimal data to floats costs, 2^-30 at 10^7.
    """
    result = type_a(readings)
    assert result.mean == pytest.approx(mean, rel=1e-15)
    rounding = max(abs(reading) for reading in readings) * 2.0**-53
    assert result.spread == pytest.approx(deviation, rel=1e-14, abs=2 * rounding)


@given(st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=30))
@settings(deadline=None)
def test_spread_agrees_with_the_standard_library(readings: list[float]) -> None:
    """statistics.stdev computes with exact fractions."""
    result = type_a(readings)
    assert result.spread == pytest.approx(statistics.stdev(readings), rel=1e-12, abs=1e-10)
    assert result.u == result.spread / math.sqrt(len(readings))


def test_half_widths_of_the_gum() -> None:
    """JCGM 100:2008, 4.3.7 and 4.3.9: a/sqrt 3 and a/sqrt 6; F.2.2.1: a display step d gives 0.29 d."""
    assert round(from_half_width(0.5), 2) == 0.29
    assert from_half_width(3.0) == 3.0 / math.sqrt(3.0)
    assert from_half_width(3.0, triangular=True) == 3.0 / math.sqrt(6.0)


def test_impedance_of_the_gum_with_correlated_inputs() -> None:
    """JCGM 100:2008, H.2: R 127.732(70), X 219.85(30), Z 254.26(24) ohm; r -0.59, -0.49, +0.99.

    Inputs and results as the documentation of GTC (GUM_H2) prints them.
    """
    voltage, current, phase = 4.999, 19.661e-3, 1.04446
    spread = np.array([3.2e-3, 9.5e-6, 7.5e-4])
    correlation = np.array([[1, -0.36, 0.86], [-0.36, 1, -0.65], [0.86, -0.65, 1]])
    resistance = voltage * math.cos(phase) / current
    reactance = voltage * math.sin(phase) / current
    impedance = voltage / current
    sensitivities = np.array(
        [
            [resistance / voltage, -resistance / current, -reactance],
            [reactance / voltage, -reactance / current, resistance],
            [impedance / voltage, -impedance / current, 0.0],
        ]
    )
    covariance = propagate(sensitivities, np.outer(spread, spread) * correlation)
    u = np.sqrt(np.diag(covariance))
    r = covariance / np.outer(u, u)
    assert u.round(2).tolist() == [0.07, 0.3, 0.24]
    assert [round(r[0, 1], 2), round(r[0, 2], 2), round(r[1, 2], 2)] == [-0.59, -0.49, 0.99]


@given(
    u=st.lists(st.floats(0.01, 10.0), min_size=3, max_size=3),
    sensitivities=st.lists(st.floats(-5, 5), min_size=3, max_size=3),
)
@settings(deadline=None)
def test_without_correlation_propagation_is_the_root_sum_of_squares(
    u: list[float], sensitivities: list[float]
) -> None:
    items = [Contribution(each, sensitivity=by) for each, by in zip(u, sensitivities, strict=True)]
    variance = propagate(sensitivities, np.diag(np.square(u)))
    assert math.sqrt(variance) == pytest.approx(combined_standard_uncertainty(items), rel=1e-12, abs=1e-15)


def test_full_correlation_cancels_in_a_difference() -> None:
    """The zero error of one gauge drops out of the difference of two of its readings."""
    assert propagate([1.0, -1.0], [[0.04, 0.04], [0.04, 0.04]]) == pytest.approx(0.0, abs=1e-17)


def test_propagation_works_on_stacks() -> None:
    sensitivities = np.array([[1.0, 1.0], [1.0, -1.0]])
    stack = np.stack([np.diag([1.0, 4.0]), np.diag([9.0, 16.0])])
    covariance = propagate(sensitivities, stack)
    assert covariance.tolist() == [[[5.0, -3.0], [-3.0, 5.0]], [[25.0, -7.0], [-7.0, 25.0]]]
    assert propagate([1.0, 1.0], stack).tolist() == [5.0, 25.0]


def test_nothing_to_combine_is_no_uncertainty() -> None:
    assert combined_standard_uncertainty([]) == 0.0
    assert effective_dof([]) == INFINITE


def test_impossible_contributions_are_refused() -> None:
    with pytest.raises(DomainError, match="the standard uncertainty of play is -1"):
        Contribution(-1.0, name="play")
    with pytest.raises(DomainError, match="the standard uncertainty is nan"):
        Contribution(float("nan"))
    with pytest.raises(DomainError, match="the degrees of freedom are 0"):
        Contribution(1.0, 0.0)
    with pytest.raises(DomainError, match="the sensitivity is inf"):
        Contribution(1.0, sensitivity=INFINITE)


@pytest.mark.parametrize(("probability", "one_sided"), [(0.0, False), (1.0, False), (1.0, True), (0.4, True)])
def test_impossible_coverage_is_refused(probability: float, one_sided: bool) -> None:
    with pytest.raises(DomainError, match="has no coverage factor"):
        coverage_factor(probability, one_sided=one_sided)


def test_coverage_without_degrees_of_freedom_is_refused() -> None:
    with pytest.raises(DomainError, match="the degrees of freedom are 0"):
        coverage_factor(0.95, 0.0)


def test_too_few_readings_are_refused() -> None:
    with pytest.raises(DomainError, match="no readings give no spread"):
        type_a([])
    with pytest.raises(DomainError, match="1 reading gives no spread"):
        type_a([3.1])
    with pytest.raises(DomainError, match="a repeated reading is not a finite number"):
        type_a([3.1, float("nan")])


def test_an_impossible_half_width_is_refused() -> None:
    with pytest.raises(DomainError, match=r"a half-width of -1\.0 is impossible"):
        from_half_width(-1.0)


def test_impossible_covariances_are_refused() -> None:
    with pytest.raises(DomainError, match=r"sensitivities of shape \(3,\) do not fit"):
        propagate([1.0, 1.0, 1.0], np.eye(2))
    with pytest.raises(DomainError, match="do not fit a covariance of shape"):
        propagate([1.0, 1.0], [1.0, 1.0])
    with pytest.raises(DomainError, match="not symmetric"):
        propagate([1.0, 1.0], [[1.0, 0.5], [0.2, 1.0]])
    with pytest.raises(DomainError, match="negative variance"):
        propagate([1.0, 1.0], [[-1.0, 0.0], [0.0, 1.0]])
