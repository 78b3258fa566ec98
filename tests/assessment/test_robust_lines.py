"""Robust lines against statsmodels, scipy and a line that is known."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import theilslopes

from wearline.assessment.robust import huber_line, theil_sen
from wearline.errors import DomainError


def scattered(seed: int = 1, wrong: int = 9):
    rng = np.random.default_rng(seed)
    x = np.linspace(0.0, 6.0, 80)
    y = 3.0 * x - 1.0 + rng.normal(0.0, 0.3, 80)
    y[::wrong] += 8.0
    return x, y


def test_huber_line_against_an_independent_library():
    """statsmodels 0.15 RLM with HuberT, scale by the median absolute deviation."""
    import statsmodels.api as sm

    x, y = scattered()
    reference = sm.RLM(y, sm.add_constant(x), M=sm.robust.norms.HuberT()).fit(
        conv="coefs", tol=1e-12, maxiter=500
    )
    line = huber_line(x, y)
    assert pytest.approx(reference.params[0], rel=1e-6) == line.intercept
    assert pytest.approx(reference.params[1], rel=1e-6) == line.slope
    assert pytest.approx(reference.bse, rel=1e-4) == np.sqrt(np.diag(line.covariance))
    assert pytest.approx(reference.scale, rel=1e-6) == line.scatter


def test_theil_sen_slope_against_an_independent_library():
    """scipy.stats.theilslopes."""
    x, y = scattered()
    assert pytest.approx(theilslopes(y, x)[0], rel=1e-12) == theil_sen(x, y)[1]


def test_an_exact_line_is_found_exactly_with_a_quarter_of_the_points_wrong():
    x = np.arange(40.0)
    y = 2.0 * x + 5.0
    y[::4] = 500.0
    line = huber_line(x, y)
    assert pytest.approx(2.0) == line.slope
    assert pytest.approx(5.0) == line.intercept
    assert line.at(10.0) == (pytest.approx(25.0), 0.0)


def test_uncertainty_of_the_line_against_repetition():
    """Spread of 400 fitted slopes = the standard uncertainty that each gives, 10 %."""
    slopes, claimed = [], []
    for seed in range(400):
        rng = np.random.default_rng(seed)
        x = np.linspace(0.0, 5.0, 60)
        line = huber_line(x, 2.0 * x + rng.normal(0.0, 0.4, 60))
        slopes.append(line.slope)
        claimed.append(np.sqrt(line.covariance[1, 1]))
    assert pytest.approx(np.mean(claimed), rel=0.1) == np.std(slopes)


def test_lines_through_nothing_are_refused():
    with pytest.raises(DomainError, match="two different pressures"):
        theil_sen(np.ones(5), np.arange(5.0))
    with pytest.raises(DomainError, match="a line through 2 points"):
        huber_line(np.arange(2.0), np.arange(2.0))
