"""Trees whose subtrees are alike: the likelihood by classes is that of the nodes, and of a dense matrix."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from wearline.forecasting.alike import Alike
from wearline.forecasting.nested import Leaves, Priors, Tree, evaluate, fit


def _data(seed, vehicles, ends, sets, readings, missing):
    """Rows of readings with keys, some missing; a wheel end or set without a reading is not there at all."""
    rng = np.random.default_rng(seed)
    n = vehicles * ends * sets * readings
    keep = rng.uniform(size=n) >= missing
    keep[0] = True
    s = np.repeat(np.arange(vehicles * ends * sets), readings)[keep]
    w, v = s // sets, s // sets // ends
    role = (w % 2).astype(float)
    y = 0.4 + 0.2 * role + 0.3 * rng.standard_normal(vehicles)[v]
    y += 0.1 * rng.standard_normal(vehicles * ends)[w] + 0.15 * rng.standard_normal(s.max() + 1)[s]
    return y + 0.1 * rng.standard_normal(y.size), v, w, s, role


def _leaves(y, v, w, s, role):
    first = np.flatnonzero(np.r_[True, s[1:] != s[:-1]])
    count = np.diff(np.r_[first, s.size]).astype(float)
    mean = np.add.reduceat(y, first) / count
    scatter = np.add.reduceat((y - np.repeat(mean, count.astype(int))) ** 2, first)
    design = np.column_stack([np.ones(first.size), role[first]])
    return Tree.of([v[first], w[first]]), Leaves(count, mean, design, count=count, scatter=scatter)


def _alike(tree, leaves):
    return Alike.of(tree.starts, leaves.weight, np.vstack([leaves.design.T, leaves.mean]))


@settings(deadline=None, max_examples=60)
@given(
    seed=st.integers(0, 10_000),
    shape=st.tuples(st.integers(2, 12), st.integers(1, 4), st.integers(1, 3), st.integers(1, 4)),
    missing=st.sampled_from([0.0, 0.1, 0.5]),
    logs=st.tuples(*[st.floats(-12.0, 2.0)] * 4),
)
def test_products_and_determinant_are_those_of_the_dense_covariance(seed, shape, missing, logs):
    """log|V| and X' V^-1 X from one covariance matrix of all readings, whatever is missing."""
    y, v, w, s, role = _data(seed, *shape, missing)
    tree, leaves = _leaves(y, v, w, s, role)
    alike = _alike(tree, leaves)
    assume(alike is not None)  # there may be more kinds of subtrees than it pays to sort
    variance, noise = np.exp(np.array(logs[:3])), float(np.exp(logs[3]))
    found = alike.evaluate(variance, noise)
    dense = noise * np.eye(y.size)
    for tau, group in zip(variance, (v, w, s), strict=True):
        dense += tau * (group[:, None] == group[None, :])
    columns = np.column_stack([np.ones(y.size), role, y])
    expected = columns.T @ np.linalg.solve(dense, columns)
    scatter = np.zeros((3, 3))
    scatter[2, 2] = leaves.scatter.sum() / noise
    np.testing.assert_allclose(found.product + scatter, expected, rtol=1e-6, atol=1e-6)
    determinant = np.linalg.slogdet(dense)[1]
    assert found.determinant + y.size * np.log(noise) == pytest.approx(determinant, rel=1e-8, abs=1e-6)


@pytest.mark.parametrize("missing", [0.0, 0.3])
def test_slopes_are_the_derivatives(missing):
    tree, leaves = _leaves(*_data(3, 20, 4, 2, 3, missing))
    alike = _alike(tree, leaves)
    assert alike is not None
    point, contrast = np.log([0.05, 0.03, 0.02, 0.02]), np.array([-0.4, -0.2, 1.0])

    def value(logs):
        found = alike.evaluate(np.exp(logs[:3]), float(np.exp(logs[3])))
        return np.array([found.determinant, contrast @ found.product @ contrast])

    expected = np.array([(value(point + 1e-5 * e) - value(point - 1e-5 * e)) / 2e-5 for e in np.eye(4)])
    found = alike.evaluate(np.exp(point[:3]), float(np.exp(point[3])))
    np.testing.assert_allclose(found.determinant_slope, expected[:, 0], rtol=1e-6, atol=1e-5)
    slope = alike.form_slope(found, contrast, float(np.exp(point[3])))
    np.testing.assert_allclose(slope, expected[:, 1], rtol=1e-6, atol=1e-5)


@pytest.mark.parametrize("with_noise", [True, False])
@pytest.mark.parametrize("missing", [0.0, 0.1])
def test_the_optimum_is_one_of_the_tree_gone_through_node_by_node(missing, with_noise):
    """At the optimum found by classes the slope found by nodes is none, and the likelihood the same."""
    tree, leaves = _leaves(*_data(5, 60, 4, 2, 3, missing))
    if not with_noise:
        leaves = Leaves(leaves.weight * 50.0, leaves.mean, leaves.design)
    priors = Priors(np.zeros(2), np.full(2, 0.1), np.full(3, 0.05), np.full(3, 6.0))
    start = np.array([0.1, 0.1, 0.1])
    found = fit(tree, leaves, start, 0.1 if with_noise else None, priors, tolerance=1e-13)
    again, slope = evaluate(tree, leaves, found.variance, found.noise, priors)
    assert again.log_likelihood == pytest.approx(found.log_likelihood, abs=1e-8)
    np.testing.assert_allclose(again.effects, found.effects, rtol=1e-9)
    np.testing.assert_allclose(slope, 0.0, atol=2e-3)


def test_leaves_that_all_weigh_differently_are_not_sorted():
    weight = np.linspace(1.0, 2.0, 200)
    assert Alike.of((np.arange(0, 200, 2),), weight, np.ones((1, 200))) is None


def test_a_tree_of_one_level_is_not_sorted():
    assert Alike.of((), np.ones(4), np.ones((1, 4))) is None


def test_a_balanced_fleet_is_one_class_at_every_level():
    tree, leaves = _leaves(*_data(1, 50, 8, 2, 3, 0.0))
    alike = _alike(tree, leaves)
    assert alike is not None
    assert [level.size.tolist() for level in alike.levels] == [[800.0], [400.0]]
