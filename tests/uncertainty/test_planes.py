"""Least squares and pad planes against certified values, the GUM, and reference libraries."""

from __future__ import annotations

import csv
from pathlib import Path

import GTC
import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import DomainError
from wearline.uncertainty.gum import propagate
from wearline.uncertainty.plane import fit_pad_plane, fit_plane, least_squares

NIST = Path(__file__).parents[1] / "data_open" / "nist"


def read(name: str) -> tuple[np.ndarray, np.ndarray]:
    """First column y, the others the regressors behind a column of ones."""
    with (NIST / name).open(newline="") as file:
        rows = np.array([[float(cell) for cell in row] for row in list(csv.reader(file))[1:]])
    return np.column_stack([np.ones(len(rows)), rows[:, 1:]]), rows[:, 0]


def digits(computed: np.ndarray, certified: list[float]) -> float:
    """Least number of significant digits in agreement (log relative error)."""
    error = np.abs(np.asarray(computed) - certified) / np.abs(certified)
    return float(-np.log10(np.maximum(error, 1e-16)).min())


def test_norris_certified_values() -> None:
    """NIST StRD, linear regression, Norris (lower difficulty): 15 certified digits, 12 asked for."""
    fit = least_squares(*read("norris.csv"))
    assert digits(fit.coefficients, [-0.262323073774029, 1.00211681802045]) > 12
    assert digits(fit.u, [0.232818234301152, 0.000429796848199937]) > 12
    assert fit.residual_deviation == pytest.approx(0.884796396144373, rel=1e-12)
    assert fit.dof == 34


def test_longley_certified_values() -> None:
    """NIST StRD, linear regression, Longley (higher difficulty): condition 5e9, 11 of 15 digits asked."""
    fit = least_squares(*read("longley.csv"))
    certified = [
        -3482258.63459582,
        15.0618722713733,
        -0.358191792925910e-01,
        -2.02022980381683,
        -1.03322686717359,
        -0.511041056535807e-01,
        1829.15146461355,
    ]
    deviations = [
        890420.383607373,
        84.9149257747669,
        0.334910077722432e-01,
        0.488399681651699,
        0.214274163161675,
        0.226073200069370,
        455.478499142212,
    ]
    assert digits(fit.coefficients, certified) > 11
    assert digits(fit.u, deviations) > 11
    assert fit.residual_deviation == pytest.approx(304.854073561965, rel=1e-12)
    assert fit.dof == 9


# JCGM 100:2008, H.3, calibration of a thermometer, table H.6 [degC]; as quoted in the documentation of GTC.
THERMOMETER = np.array(
    [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
)
CORRECTION = -np.array([0.171, 0.169, 0.166, 0.159, 0.164, 0.165, 0.156, 0.157, 0.159, 0.161, 0.160])
LINE = np.column_stack([np.ones(11), THERMOMETER - 20.0])


def test_thermometer_of_the_gum() -> None:
    """H.3.3 and H.3.4: y1 -0.1712(29), y2 0.00218(67), r -0.930, s 0.0035; b(30 degC) -0.1494(41)."""
    fit = least_squares(LINE, CORRECTION)
    assert fit.coefficients.round(4)[0] == -0.1712
    assert fit.coefficients.round(5)[1] == 0.00218
    assert fit.u.round(4)[0] == 0.0029
    assert fit.u.round(5)[1] == 0.00067
    assert round(fit.correlation[0, 1], 3) == -0.930
    assert round(fit.residual_deviation, 4) == 0.0035
    value, u = fit.predict([1.0, 10.0])
    assert (round(float(value), 4), round(float(u), 4)) == (-0.1494, 0.0041)


def test_thermometer_agrees_with_the_reference_library() -> None:
    """GTC 1.5, type_a.line_fit and, with known uncertainty 0.001 degC, type_b.line_fit."""
    library = GTC.ta.line_fit(LINE[:, 1], CORRECTION)
    fit = least_squares(LINE, CORRECTION)
    assert fit.coefficients[0] == pytest.approx(library.intercept.x, rel=1e-11)
    assert fit.coefficients[1] == pytest.approx(library.slope.x, rel=1e-11)
    assert fit.u[0] == pytest.approx(library.intercept.u, rel=1e-11)
    assert fit.u[1] == pytest.approx(library.slope.u, rel=1e-11)
    at_30 = library.intercept + library.slope * 10.0
    assert float(fit.predict([1.0, 10.0])[1]) == pytest.approx(at_30.u, rel=1e-11)
    known = GTC.tb.line_fit(LINE[:, 1], [GTC.ureal(b, 0.001) for b in CORRECTION])
    weighted = least_squares(LINE, CORRECTION, 0.001)
    assert weighted.u[0] == pytest.approx(known.intercept.u, rel=1e-11)
    assert weighted.u[1] == pytest.approx(known.slope.u, rel=1e-11)


def test_plane_agrees_with_the_reference_library() -> None:
    """statsmodels 0.15, ordinary and weighted least squares, 40 generated points of unequal uncertainty."""
    rng = np.random.default_rng(20_260_914)
    x, y = rng.uniform(-0.1, 0.1, 40), rng.uniform(-0.05, 0.05, 40)
    u = rng.uniform(5e-5, 3e-4, 40)
    z = 0.0093 + 0.004 * x - 0.011 * y + rng.normal(0.0, u)
    design = sm.add_constant(np.column_stack([x, y]))
    plain, weighted = fit_plane(x, y, z), fit_plane(x, y, z, u)
    library = sm.OLS(z, design).fit()
    np.testing.assert_allclose(plain.fit.coefficients, library.params, rtol=1e-11)
    np.testing.assert_allclose(plain.fit.covariance, library.cov_params(), rtol=1e-9, atol=1e-22)
    # A fixed scale of one takes the uncertainties as they are given, not as relative weights.
    library = sm.WLS(z, design, weights=1 / u**2).fit(cov_type="fixed scale")
    np.testing.assert_allclose(weighted.fit.coefficients, library.params, rtol=1e-11)
    np.testing.assert_allclose(weighted.fit.covariance, library.cov_params(), rtol=1e-9, atol=1e-22)
    place = np.array([[1.0, 0.08, -0.04]])
    height, spread = weighted.at(0.08, -0.04)
    prediction = library.get_prediction(place)
    assert float(height) == pytest.approx(prediction.predicted_mean[0], rel=1e-11)
    assert float(spread) == pytest.approx(prediction.se_mean[0], rel=1e-9)


def test_a_plane_gives_its_own_coefficients_back() -> None:
    x, y = np.meshgrid([-1.0, 0.0, 2.0], [-1.0, 3.0])
    plane = fit_plane(x.ravel(), y.ravel(), (5.0 + 0.5 * x - 0.25 * y).ravel(), 0.1)
    assert (plane.offset, plane.slope_x, plane.slope_y) == pytest.approx((5.0, 0.5, -0.25), rel=1e-13)
    heights, spreads = plane.at([0.0, 1.0], 2.0)
    assert heights.tolist() == pytest.approx([4.5, 5.0], rel=1e-13)
    assert spreads.shape == (2,)


def test_three_points_with_known_uncertainty_determine_a_plane() -> None:
    plane = fit_plane([0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 2.0, 4.0], 0.1)
    assert (plane.offset, plane.slope_x, plane.slope_y) == pytest.approx((1.0, 1.0, 3.0), rel=1e-12)
    assert plane.fit.u.tolist() == pytest.approx([0.1, 0.1 * 2**0.5, 0.1 * 2**0.5], rel=1e-12)
    assert np.isnan(plane.fit.residual_deviation)


def test_equal_corners_give_the_closed_form() -> None:
    """Corners at (+-a, +-b), equal u: u(mean) u/2, u(slopes) u/2a and u/2b; a 55, b 50, u 0.1 by hand."""
    plane = fit_pad_plane([9.8, 9.7, 9.5, 9.3], 55.0, 50.0, 0.1)
    assert float(plane.u_mean) == pytest.approx(0.05, rel=1e-14)
    assert float(plane.u_slope_along) == pytest.approx(0.1 / 110, rel=1e-14)
    assert float(plane.u_slope_across) == pytest.approx(0.1 / 100, rel=1e-14)
    np.testing.assert_allclose(plane.covariance, np.diag(np.diag(plane.covariance)), atol=1e-18)
    assert plane.u_fitted.tolist() == pytest.approx([0.1 * 0.75**0.5] * 4, rel=1e-14)
    assert float(plane.u_twist) == pytest.approx(0.1, rel=1e-14)


def test_tapers_and_twist_are_the_trade_sums() -> None:
    """End to end (LT+LB-TT-TB)/2, top to bottom (LT+TT-LB-TB)/2, twist (LT+TB-LB-TT)/2, by hand."""
    plane = fit_pad_plane([9.8, 9.7, 9.5, 9.3], 55.0, 50.0, 0.1)
    assert float(plane.mean) == pytest.approx(9.575, rel=1e-14)
    assert float(plane.end_to_end) == pytest.approx(0.35, rel=1e-12)
    assert float(plane.top_to_bottom) == pytest.approx(0.15, rel=1e-12)
    assert float(plane.twist) == pytest.approx(-0.05, rel=1e-12)
    assert plane.fitted.tolist() == pytest.approx([9.825, 9.675, 9.475, 9.325], rel=1e-14)
    assert float(plane.u_end_to_end) == pytest.approx(0.1, rel=1e-14)
    assert float(plane.u_top_to_bottom) == pytest.approx(0.1, rel=1e-14)


CORNER_X, CORNER_Y = np.array([1.0, 1.0, -1.0, -1.0]), np.array([1.0, -1.0, 1.0, -1.0])


@given(
    corners=st.lists(st.floats(0.5, 25.0), min_size=4, max_size=4),
    u=st.lists(st.floats(0.02, 2.0), min_size=4, max_size=4),
    half=st.tuples(st.floats(20.0, 120.0), st.floats(10.0, 80.0)),
    place=st.tuples(st.floats(-60, 60), st.floats(-60, 60)),
)
@settings(deadline=None, max_examples=200)
def test_closed_form_is_the_weighted_least_squares_plane(
    corners: list[float], u: list[float], half: tuple[float, float], place: tuple[float, float]
) -> None:
    """Against the general solution by QR, which is checked against certified values above."""
    closed = fit_pad_plane(corners, half[0], half[1], u)
    general = fit_plane(half[0] * CORNER_X, half[1] * CORNER_Y, corners, u)
    estimates = [closed.mean, closed.slope_along, closed.slope_across]
    np.testing.assert_allclose(estimates, general.fit.coefficients, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(closed.covariance, general.fit.covariance, rtol=1e-8, atol=1e-12)
    for mine, other in zip(closed.at(*place), general.at(*place), strict=True):
        assert float(mine) == pytest.approx(float(other), rel=1e-8)
    heights, spreads = general.at(half[0] * CORNER_X, half[1] * CORNER_Y)
    np.testing.assert_allclose(closed.fitted, heights, rtol=1e-9)
    np.testing.assert_allclose(closed.u_fitted, spreads, rtol=1e-8)


def test_many_pads_at_once_agree_with_each_alone() -> None:
    rng = np.random.default_rng(7)
    corners, u = rng.uniform(2, 20, (3, 5, 4)), rng.uniform(0.05, 0.4, (3, 5, 4))
    at_once = fit_pad_plane(corners, 80.0, 30.0, u, 0.1)
    for index in np.ndindex(3, 5):
        alone = fit_pad_plane(corners[index], 80.0, 30.0, u[index], 0.1)
        for name in (
            "mean",
            "slope_along",
            "twist",
            "u_twist",
            "covariance",
            "fitted",
            "u_fitted",
            "u_end_to_end",
        ):
            np.testing.assert_allclose(
                getattr(at_once, name)[index], getattr(alone, name), rtol=1e-12, atol=1e-15
            )


def test_one_uncertainty_for_many_pads_gives_one_covariance() -> None:
    plane = fit_pad_plane(np.full((1000, 4), 9.0), 80.0, 30.0, 0.1)
    assert plane.mean.shape == (1000,)
    assert plane.covariance.shape == (3, 3)
    assert plane.at(10.0, 5.0)[0].shape == (1000,)


def test_a_common_error_of_the_gauge_moves_the_mean_only() -> None:
    """Generalised least squares with V = u^2 I + c^2 11^T; covariance by propagation of the sums by hand."""
    u, common, half = 0.1, 0.3, (80.0, 30.0)
    plane = fit_pad_plane([9.0, 8.0, 8.5, 8.1], *half, u, common)
    sums = np.stack([np.full(4, 0.25), CORNER_X / (4 * half[0]), CORNER_Y / (4 * half[1])])
    expected = propagate(sums, u**2 * np.eye(4) + common**2 * np.ones((4, 4)))
    np.testing.assert_allclose(plane.covariance, expected, rtol=1e-12, atol=1e-18)
    assert float(plane.u_fitted[0]) == pytest.approx((0.75 * u**2 + common**2) ** 0.5, rel=1e-13)


def test_a_pad_with_a_missing_corner_has_no_plane() -> None:
    plane = fit_pad_plane([[9.0, 8.0, np.nan, 8.1], [9.0, 8.0, 8.5, 8.1]], 80.0, 30.0, 0.1)
    assert np.isnan(plane.mean).tolist() == [True, False]
    assert np.isnan(plane.end_to_end).tolist() == [True, False]


def test_impossible_pads_are_refused() -> None:
    with pytest.raises(DomainError, match=r"corners of shape \(3,\) are not four corners"):
        fit_pad_plane([9.0, 8.0, 8.5], 80.0, 30.0, 0.1)
    with pytest.raises(DomainError, match=r"half distances of 0\.0 and 30\.0"):
        fit_pad_plane([9.0] * 4, 0.0, 30.0, 0.1)
    with pytest.raises(DomainError, match="an uncertainty of a corner is not positive"):
        fit_pad_plane([9.0] * 4, 80.0, 30.0, [0.1, 0.1, 0.0, 0.1])
    with pytest.raises(DomainError, match=r"a common uncertainty of -0\.1"):
        fit_pad_plane([9.0] * 4, 80.0, 30.0, 0.1, -0.1)
    with pytest.raises(DomainError, match="a corner is infinite"):
        fit_pad_plane([9.0, np.inf, 9.0, 9.0], 80.0, 30.0, 0.1)


def test_points_that_make_no_plane_are_refused() -> None:
    with pytest.raises(DomainError, match="do not determine 3 coefficients"):
        fit_plane([0.0, 1.0, 2.0, 3.0], [0.0, 2.0, 4.0, 6.0], [1.0, 2.0, 3.0, 5.0])
    with pytest.raises(DomainError, match="do not determine 3 coefficients"):
        fit_plane([0.0, 1.0, 2.0, 3.0], [0.0] * 4, [1.0, 2.0, 3.0, 5.0], 0.1)
    with pytest.raises(DomainError, match="do not make points"):
        fit_plane([0.0, 1.0], [0.0], [1.0, 2.0])


def test_unfit_systems_are_refused() -> None:
    with pytest.raises(DomainError, match="does not fit observations of shape"):
        least_squares(np.ones((2, 3)), [1.0, 2.0])
    with pytest.raises(DomainError, match="does not fit observations of shape"):
        least_squares(np.ones((3, 1)), [1.0, 2.0])
    with pytest.raises(DomainError, match="a number that is not finite"):
        least_squares(np.ones((3, 1)), [1.0, np.nan, 2.0])
    with pytest.raises(DomainError, match="leave nothing to estimate the spread from"):
        least_squares(np.eye(2), [1.0, 2.0])
    with pytest.raises(DomainError, match="do not fit 3 observations"):
        least_squares(np.ones((3, 1)), [1.0, 2.0, 3.0], [0.1, 0.2])
    with pytest.raises(DomainError, match="an uncertainty to weigh with is not positive"):
        least_squares(np.ones((3, 1)), [1.0, 2.0, 3.0], [0.1, 0.0, 0.1])
