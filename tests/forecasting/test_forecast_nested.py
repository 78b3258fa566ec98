"""The nested Gaussian model against a dense computation, another library and published estimates."""

from __future__ import annotations

import csv
import warnings
from pathlib import Path

import numpy as np
import pytest

from wearline.errors import DomainError
from wearline.forecasting.nested import Leaves, Tree, draw, evaluate, fit, posterior

DATA = Path(__file__).parents[1] / "data_open"


def _drawn(seed, vehicles=12, ends=3, sets=2, readings=3):
    rng = np.random.default_rng(seed)
    v = np.repeat(np.arange(vehicles), ends * sets * readings)
    w = np.repeat(np.arange(vehicles * ends), sets * readings)
    s = np.repeat(np.arange(vehicles * ends * sets), readings)
    role = (w % 2).astype(float)
    y = 0.4 + 0.2 * role + 0.3 * rng.standard_normal(vehicles)[v] + 0.15 * rng.standard_normal(w.max() + 1)[w]
    y += 0.2 * rng.standard_normal(s.max() + 1)[s] + 0.1 * rng.standard_normal(y.size)
    return y, v, w, s, role


def _leaves(y, v, w, s, role):
    first = np.flatnonzero(np.r_[True, s[1:] != s[:-1]])
    count = np.diff(np.r_[first, s.size]).astype(float)
    mean = np.add.reduceat(y, first) / count
    scatter = np.add.reduceat((y - np.repeat(mean, count.astype(int))) ** 2, first)
    design = np.column_stack([np.ones(first.size), role[first]])
    return Tree.of([v[first], w[first]]), Leaves(count, mean, design, count=count, scatter=scatter)


def _dense(y, v, w, s, role, variance, noise):
    """Log likelihood by one dense covariance matrix, fixed effects by generalised least squares."""
    groups = [v, w, s]
    cov = noise * np.eye(y.size)
    for tau, group in zip(variance, groups, strict=True):
        cov += tau * (group[:, None] == group[None, :])
    x = np.column_stack([np.ones(y.size), role])
    inverse = np.linalg.inv(cov)
    beta = np.linalg.solve(x.T @ inverse @ x, x.T @ inverse @ y)
    rest = y - x @ beta
    value = -0.5 * (y.size * np.log(2 * np.pi) + np.linalg.slogdet(cov)[1] + rest @ inverse @ rest)
    return value, beta, cov, rest


@pytest.mark.parametrize("variance", [(0.09, 0.02, 0.04), (1.0, 1e-6, 0.3), (1e-4, 0.5, 1e-3)])
def test_likelihood_is_that_of_the_dense_matrix(variance):
    data = _drawn(1)
    tree, leaves = _leaves(*data)
    expected, beta, _, _ = _dense(*data, variance, 0.01)
    found, _ = evaluate(tree, leaves, np.array(variance), 0.01)
    assert expected == pytest.approx(found.log_likelihood, abs=1e-7)
    np.testing.assert_allclose(found.effects, beta, rtol=1e-9)


def test_slope_is_the_derivative_of_the_likelihood():
    tree, leaves = _leaves(*_drawn(2))
    point = np.log([0.05, 0.03, 0.02, 0.02])

    def value(logs):
        return evaluate(tree, leaves, np.exp(logs[:3]), float(np.exp(logs[3])))[0].log_likelihood

    expected = [(value(point + 1e-5 * e) - value(point - 1e-5 * e)) / 2e-5 for e in np.eye(4)]
    _, slope = evaluate(tree, leaves, np.exp(point[:3]), float(np.exp(point[3])))
    np.testing.assert_allclose(slope, expected, rtol=1e-5, atol=1e-5)


def test_posterior_is_that_of_the_dense_matrix():
    data = _drawn(3)
    variance, noise = np.array([0.09, 0.02, 0.04]), 0.01
    tree, leaves = _leaves(*data)
    fitted, _ = evaluate(tree, leaves, variance, noise)
    found = posterior(tree, leaves, fitted)
    _, _, cov, rest = _dense(*data, variance, noise)
    own = sum(t * (g[:, None] == g[None, :]) for t, g in zip(variance, data[1:4], strict=True))
    inverse = np.linalg.inv(cov)
    mean = own @ inverse @ rest
    spread = np.diag(own - own @ inverse @ own)
    first = np.flatnonzero(np.r_[True, data[3][1:] != data[3][:-1]])
    np.testing.assert_allclose(found.mean[-1], mean[first], atol=1e-9)
    np.testing.assert_allclose(found.variance[-1], spread[first], rtol=1e-7)


def test_draws_have_the_moments_of_the_posterior():
    tree, leaves = _leaves(*_drawn(4))
    fitted, _ = evaluate(tree, leaves, np.array([0.09, 0.02, 0.04]), 0.01)
    known = posterior(tree, leaves, fitted)
    drawn = draw(tree, leaves, fitted, 20_000, np.random.default_rng(0))
    offset = leaves.design @ fitted.effects
    # 20 000 draws: five standard errors
    np.testing.assert_array_less(
        np.abs(drawn.mean(axis=1) - known.mean[-1] - offset), 5 * np.sqrt(known.variance[-1] / 20_000)
    )
    np.testing.assert_allclose(drawn.var(axis=1), known.variance[-1], rtol=0.06)


def test_optimum_equals_that_of_a_statistics_library():
    """statsmodels MixedLM, maximum likelihood, vehicle as group, wheel end and set as variance components."""
    import pandas
    import statsmodels.formula.api as smf

    data = _drawn(5, vehicles=20)
    tree, leaves = _leaves(*data)
    found = fit(tree, leaves, np.array([0.1, 0.1, 0.1]), 0.1)
    frame = pandas.DataFrame(dict(zip(["y", "v", "w", "s", "role"], data, strict=True)))
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore"
        )  # the library warns of its own search, not of the result compared here
        expected = smf.mixedlm(
            "y ~ role", frame, groups="v", re_formula="1", vc_formula={"w": "0+C(w)", "s": "0+C(s)"}
        ).fit(reml=False)
    assert found.log_likelihood == pytest.approx(expected.llf, abs=1e-3)
    assert found.log_likelihood >= expected.llf - 1e-6
    np.testing.assert_allclose(found.effects, expected.fe_params.to_numpy(), rtol=1e-3)


def test_balanced_one_way_layout_has_its_closed_form():
    """Maximum likelihood of a balanced one-way layout: exact by analysis of variance."""
    rng = np.random.default_rng(6)
    groups, each = 9, 4
    y = (2.0 * rng.standard_normal(groups)[:, None] + rng.standard_normal((groups, each))).ravel()
    means = y.reshape(groups, each).mean(axis=1)
    within = ((y.reshape(groups, each) - means[:, None]) ** 2).sum()
    between = each * ((means - means.mean()) ** 2).sum()
    noise = within / (groups * (each - 1))
    expected = (between / groups - noise) / each
    key = np.arange(groups)
    leaves = Leaves(
        np.full(groups, float(each)),
        means,
        np.ones((groups, 1)),
        count=np.full(groups, float(each)),
        scatter=((y.reshape(groups, each) - means[:, None]) ** 2).sum(axis=1),
    )
    found = fit(Tree.of([key]), leaves, np.array([0.5, 0.5]), 1.0, tolerance=1e-14)
    assert float(found.variance.sum()) == pytest.approx(expected, rel=1e-4)
    assert found.noise == pytest.approx(noise, rel=1e-4)


def test_growth_of_the_rats_has_its_published_mean():
    """BUGS Examples volume 1, 'Rats': mean growth 6.183 a day; Gelfand et al. 1990: 6.19.

    Each rat's own line is a reading of its growth rate with variance sigma^2 / Sxx, sigma = 6.0146 (the
    residual standard deviation of lme4 on the same data); the growth rates are partially pooled.
    """
    with (DATA / "rats" / "rats.csv").open() as file:
        rows = [(int(r["rat"]), float(r["day"]), float(r["weight"])) for r in csv.DictReader(file)]
    table = np.array(rows).reshape(30, 5, 3)
    day = table[0, :, 1] - table[0, :, 1].mean()
    slope = (table[:, :, 2] * day).sum(axis=1) / (day**2).sum()
    weight = np.full(30, (day**2).sum() / 6.0146**2)
    found = fit(Tree.of([np.arange(30)]), Leaves(weight, slope, np.ones((30, 1))), np.array([0.1, 0.1]))
    assert float(found.effects[0]) == pytest.approx(6.185, abs=0.01)
    # lme4 by restricted likelihood has 0.510579; maximum likelihood is smaller by about half of 1/30
    assert float(np.sqrt(found.variance.sum())) == pytest.approx(0.510579, rel=0.03)


def test_unsorted_rows_are_refused():
    with pytest.raises(DomainError, match="not sorted"):
        Tree.of([np.array([0, 1, 0])])


def test_a_start_of_zero_is_refused():
    tree, leaves = _leaves(*_drawn(7))
    with pytest.raises(DomainError, match="not positive"):
        fit(tree, leaves, np.array([0.1, 0.0, 0.1]), 0.1)


def test_nothing_read_is_refused():
    leaves = Leaves(np.zeros(2), np.zeros(2), np.ones((2, 1)))
    with pytest.raises(DomainError, match="no leaf has a reading"):
        fit(Tree.of([np.array([0, 1])]), leaves, np.array([0.1, 0.1]))
