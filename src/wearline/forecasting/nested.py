"""Exact Gaussian model of effects inside effects: vehicle, wheel end, pad set, pad, corner.

Every node of a tree adds its own independent normal effect to that of its parent; readings hang on the
leaves. One pass from the leaves to the root gives the likelihood, one pass back the posterior; both cost as
much as reading the data, for there is no matrix larger than the number of fixed effects.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from wearline.errors import DomainError
from wearline.forecasting.alike import Alike

__all__ = [
    "Fitted",
    "Floats",
    "Ints",
    "Leaves",
    "Posterior",
    "Priors",
    "Tree",
    "draw",
    "evaluate",
    "fit",
    "posterior",
]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_LOG_2PI = float(np.log(2.0 * np.pi))
_SMALLEST, _LARGEST = -30.0, 12.0
"""Bounds of a log variance; beyond them a level has no effect, or the data have no scale."""


@dataclass(frozen=True, slots=True)
class Tree:
    """Nodes of a tree, level by level, children of one parent side by side.

    Parameters
    ----------
    starts : tuple of array of int
        For each level from the top: row of the first child of each node, on the level below. The last level's
        children are the leaves' rows themselves, so it is left out: ``len(starts)`` is levels - 1.
    counts : tuple of int
        Nodes of each level, the top first.
    """

    starts: tuple[Ints, ...]
    counts: tuple[int, ...]

    @classmethod
    def of(cls, keys: Sequence[Ints]) -> Tree:
        """Build a tree from the ancestors of every leaf.

        Parameters
        ----------
        keys : sequence of array of int, shape (leaves,)
            Running number of the ancestor at each level, the top first, without the leaves themselves; each
            never falls from row to row.

        Returns
        -------
        Tree
            Of ``len(keys) + 1`` levels.

        Raises
        ------
        DomainError
            If leaves of one ancestor do not stand side by side.
        """
        leaves = int(keys[0].size)
        change = np.zeros(leaves, dtype=bool)
        firsts: list[Ints] = []
        for key in keys:
            change[:1] = True
            change[1:] |= key[1:] != key[:-1]
            first = np.flatnonzero(change)
            if (key[1:] < key[:-1]).any():
                raise DomainError("rows of a tree are not sorted", cure="Sort by every level, the top first")
            firsts.append(first)
        firsts.append(np.arange(leaves))
        starts = tuple(np.searchsorted(below, above) for above, below in pairwise(firsts))
        return cls(starts, tuple(int(first.size) for first in firsts))

    @property
    def levels(self) -> int:
        """Number of levels, leaves included."""
        return len(self.counts)

    def spread(self, level: int, values: Floats) -> Floats:
        """Repeat values of the nodes of a level for their children.

        Parameters
        ----------
        level : int
            0 is the top.
        values : array, shape (nodes of the level, ...)
            Values.

        Returns
        -------
        array, shape (nodes of the level below, ...)
            The parent's value at each child.
        """
        sizes = np.diff(np.append(self.starts[level], self.counts[level + 1]))
        return np.repeat(values, sizes, axis=0)


@dataclass(frozen=True, slots=True)
class Leaves:
    """What the readings say of each leaf's value, as a Gaussian.

    Parameters
    ----------
    weight : array, shape (leaves,)
        Precision; 0 without a reading.
    mean : array, shape (leaves,)
        Where the readings put the value.
    design : array, shape (leaves, effects)
        Columns of the fixed effects.
    count : array or None, shape (leaves,)
        Readings of each leaf, where the noise is to be estimated with the weights being 1 / noise variance.
    scatter : array or None, shape (leaves,)
        Sum of squares of the readings of each leaf around their mean.
    """

    weight: Floats
    mean: Floats
    design: Floats
    count: Floats | None = None
    scatter: Floats | None = None


@dataclass(frozen=True, slots=True)
class Priors:
    """What is known before: of the fixed effects and of the variances.

    Parameters
    ----------
    mean, precision : array, shape (effects,)
        Independent normal priors of the fixed effects; precision 0 for none.
    variance : array, shape (levels,)
        Expected variance of each level.
    worth : array, shape (levels,)
        How many nodes the expectation is worth; 0 for none.
    """

    mean: Floats
    precision: Floats
    variance: Floats
    worth: Floats


@dataclass(frozen=True, slots=True)
class Fitted:
    """Variances, fixed effects and the likelihood reached.

    Parameters
    ----------
    variance : array, shape (levels,)
        Variance of the effects of each level, the top first.
    noise : float
        Variance of a reading; 1 where the weights were given.
    effects : array, shape (effects,)
        Fixed effects.
    covariance : array, shape (effects, effects)
        Of the fixed effects.
    log_likelihood : float
        Of the data, without the priors.
    evaluations : int
        Passes through the tree.
    """

    variance: Floats
    noise: float
    effects: Floats
    covariance: Floats
    log_likelihood: float
    evaluations: int = 0


def _columns(leaves: Leaves) -> Floats:
    """Fixed effects and means, one row for each, so that sums over children run along memory."""
    return np.ascontiguousarray(np.vstack([leaves.design.T, leaves.mean]))


def _up(tree: Tree, weight: Floats, right: Floats, variance: Floats) -> tuple[list[Floats], list[Floats]]:
    """Precision and right-hand sides of every level as its children say, the top first."""
    weights, rights = [weight], [right]
    for level in range(tree.levels - 1, 0, -1):
        shrink = 1.0 / (1.0 + variance[level] * weight)
        start = tree.starts[level - 1]
        weight = np.add.reduceat(weight * shrink, start)
        right = np.add.reduceat(right * shrink, start, axis=1)
        weights.append(weight)
        rights.append(right)
    return weights[::-1], rights[::-1]


def _products(
    both: Floats, weight: Floats, weights: list[Floats], rights: list[Floats], variance: Floats
) -> tuple[Floats, float]:
    """Products of all columns under the inverse covariance, and the log determinant."""
    product = (weight * both) @ both.T
    determinant = 0.0
    for tau, level_weight, right in zip(variance, weights, rights, strict=True):
        product -= (tau / (1.0 + tau * level_weight) * right) @ right.T
        determinant += float(np.log1p(tau * level_weight).sum())
    return product, determinant


def _down(
    tree: Tree, weights: list[Floats], rights: list[Floats], variance: Floats
) -> tuple[list[Floats], list[Floats], list[Floats], list[Floats]]:
    """Posterior mean and variance of the value, and of the own effect, at every level."""
    mean, spread = np.zeros(tree.counts[0]), np.zeros(tree.counts[0])
    means, spreads, effects, squares = [], [], [], []
    for level in range(tree.levels):
        tau, weight, right = variance[level], weights[level], rights[level]
        shrink = 1.0 / (1.0 + tau * weight)
        effect = tau * shrink * (right - weight * mean)
        own = tau * shrink + (tau * weight * shrink) ** 2 * spread
        effects.append(effect)
        squares.append(own + effect**2)
        mean, spread = mean + effect, tau * shrink + shrink**2 * spread
        means.append(mean)
        spreads.append(spread)
        if level < tree.levels - 1:
            mean, spread = tree.spread(level, mean), tree.spread(level, spread)
    return means, spreads, effects, squares


def evaluate(
    tree: Tree, leaves: Leaves, variance: Floats, noise: float = 1.0, priors: Priors | None = None
) -> tuple[Fitted, Floats]:
    """Return the likelihood at given variances, with the best fixed effects, and its slope.

    Parameters
    ----------
    tree : Tree
        The tree.
    leaves : Leaves
        Readings.
    variance : array, shape (levels,), 0 or more
        Variances.
    noise : float, more than 0
        Variance of a reading; divides the weights.
    priors : Priors or None
        Priors of effects and variances, which enter the slope but not the likelihood.

    Returns
    -------
    Fitted, array of shape (levels + 1,)
        The likelihood, and the slope of likelihood and priors in each log variance, the noise's last.

    Notes
    -----
    log|V| and the quadratic form come from the upward pass; the slope is Fisher's identity with the expected
    squares of the effects from the downward pass (derived).
    """
    return _evaluate(tree, leaves, _columns(leaves), variance, noise, priors)


def _evaluate_alike(
    alike: Alike, leaves: Leaves, totals: _Totals, variance: Floats, noise: float, priors: Priors | None
) -> tuple[Fitted, Floats]:
    """As ``evaluate``, through the classes of subtrees."""
    found = alike.evaluate(variance, noise)
    effects, covariance, left = _solve(found.product, priors)
    contrast = np.append(-effects, 1.0)
    slope = -0.5 * (found.determinant_slope + alike.form_slope(found, contrast, noise))
    if priors is not None:
        slope[:-1] += 0.5 * priors.worth * (priors.variance / np.maximum(variance, 1e-300) - 1.0)
    scatter = totals.scatter / noise
    if leaves.count is None:
        gain, slope[-1] = totals.log_weight - totals.number * float(np.log(noise)), 0.0
    else:
        gain = -totals.number * float(np.log(noise))
        slope[-1] += 0.5 * (scatter - totals.number)
    log_likelihood = -0.5 * (totals.number * _LOG_2PI - gain + found.determinant + left + scatter)
    return Fitted(variance, noise, effects, covariance, float(log_likelihood)), slope


@dataclass(frozen=True, slots=True)
class _Totals:
    """Sums over the leaves that no variance changes."""

    number: float
    scatter: float
    log_weight: float

    @classmethod
    def of(cls, leaves: Leaves) -> _Totals:
        scatter = 0.0 if leaves.scatter is None else float(leaves.scatter.sum())
        if leaves.count is not None:
            return cls(float(leaves.count.sum()), scatter, 0.0)
        weight = leaves.weight[leaves.weight > 0]
        return cls(float(weight.size), scatter, float(np.log(weight).sum()))


def _evaluate(
    tree: Tree, leaves: Leaves, both: Floats, variance: Floats, noise: float, priors: Priors | None
) -> tuple[Fitted, Floats]:
    weight = leaves.weight / noise
    weights, rights = _up(tree, weight, weight * both, variance)
    product, determinant = _products(both, weight, weights, rights, variance)
    effects, covariance, left = _solve(product, priors)
    contrast = np.append(-effects, 1.0)
    means, spreads, _, squares = _down(tree, weights, [contrast @ right for right in rights], variance)
    slope = np.empty(tree.levels + 1)
    for level in range(tree.levels):
        tau = max(float(variance[level]), 1e-300)
        slope[level] = 0.5 * float((squares[level] / tau - 1.0).sum())
        if priors is not None:
            slope[level] += 0.5 * priors.worth[level] * (priors.variance[level] / tau - 1.0)
    scatter = 0.0 if leaves.scatter is None else float(leaves.scatter.sum()) / noise
    if leaves.count is None:
        number, slope[-1] = float(np.count_nonzero(weight)), 0.0
        gain = float(np.log(weight[weight > 0]).sum())
    else:
        number, gain = float(leaves.count.sum()), -float(leaves.count.sum()) * float(np.log(noise))
        left_over = contrast @ both - means[-1]
        slope[-1] = 0.5 * (float((weight * (left_over**2 + spreads[-1])).sum()) + scatter - number)
    log_likelihood = -0.5 * (number * _LOG_2PI - gain + determinant + left + scatter)
    return Fitted(variance, noise, effects, covariance, float(log_likelihood)), slope


def _objective(fitted: Fitted, priors: Priors | None) -> float:
    """Log posterior up to a constant."""
    value = fitted.log_likelihood
    if priors is not None:
        value -= 0.5 * float((priors.precision * (fitted.effects - priors.mean) ** 2).sum())
        tau = np.maximum(fitted.variance, 1e-300)
        value -= 0.5 * float((priors.worth * (np.log(tau) + priors.variance / tau)).sum())
    return value


def fit(
    tree: Tree,
    leaves: Leaves,
    variance: Floats,
    noise: float | None = None,
    priors: Priors | None = None,
    *,
    tolerance: float = 1e-9,
    most: int = 200,
) -> Fitted:
    """Find the variances of greatest likelihood, or of greatest posterior with priors.

    Parameters
    ----------
    tree : Tree
        The tree.
    leaves : Leaves
        Readings.
    variance : array, shape (levels,), more than 0
        Where to start.
    noise : float or None
        Where to start with the noise variance; None if the weights already hold the noise.
    priors : Priors or None
        Priors.
    tolerance : float, optional
        Relative change of the objective at which the search ends.
    most : int, optional
        Most iterations.

    Returns
    -------
    Fitted
        The optimum.

    Raises
    ------
    DomainError
        If the start is not positive or no leaf has a reading.

    Notes
    -----
    Quasi-Newton steps on the log variances with the exact slope. Maximum likelihood, not the restricted one.
    """
    from scipy.optimize import minimize

    if not (np.isfinite(variance).all() and (variance > 0).all()):
        raise DomainError("a starting variance is not positive", allowed="more than 0")
    if not (leaves.weight > 0).any():
        raise DomainError("no leaf has a reading", allowed="at least one reading")
    with_noise = noise is not None
    start = np.log(np.append(variance, noise) if noise is not None else variance)
    # the information on a log variance is at most half the number of its nodes: steps in its root are even
    readings = float(np.count_nonzero(leaves.weight) if leaves.count is None else leaves.count.sum())
    nodes = [*map(float, tree.counts), readings] if with_noise else [*map(float, tree.counts)]
    even = np.sqrt(0.5 * np.array(nodes))
    evaluations = 0
    both = _columns(leaves)
    alike = Alike.of(tree.starts, leaves.weight, both)
    totals = _Totals.of(leaves)

    def at(tau: Floats, sigma: float) -> tuple[Fitted, Floats]:
        if alike is not None:
            return _evaluate_alike(alike, leaves, totals, tau, sigma, priors)
        return _evaluate(tree, leaves, both, tau, sigma, priors)

    def negative(logs: Floats) -> tuple[float, Floats]:
        nonlocal evaluations
        evaluations += 1
        values = np.exp(logs / even)
        tau, sigma = (values[:-1], float(values[-1])) if with_noise else (values, 1.0)
        fitted, slope = at(tau, sigma)
        return -_objective(fitted, priors), -(slope if with_noise else slope[:-1]) / even

    found = minimize(
        negative,
        start * even,
        jac=True,
        method="L-BFGS-B",
        bounds=[(_SMALLEST * each, _LARGEST * each) for each in even],
        options={"ftol": tolerance, "gtol": 1e-6, "maxiter": most},
    )
    values = np.exp(found.x / even)
    tau, sigma = (values[:-1], float(values[-1])) if with_noise else (values, 1.0)
    best, _ = at(tau, sigma)
    return replace(best, evaluations=evaluations)


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is known of the nodes after all readings.

    Parameters
    ----------
    mean, variance : tuple of array
        Of the value of every node, the top level first, without the fixed effects.
    """

    mean: tuple[Floats, ...]
    variance: tuple[Floats, ...]


def posterior(tree: Tree, leaves: Leaves, fitted: Fitted) -> Posterior:
    """Return what is known of every node at given variances and fixed effects.

    Parameters
    ----------
    tree : Tree
        The tree.
    leaves : Leaves
        Readings.
    fitted : Fitted
        Variances and effects; the effects are taken as known.

    Returns
    -------
    Posterior
        Means and variances.
    """
    weight = leaves.weight / fitted.noise
    right = weight * (leaves.mean - leaves.design @ fitted.effects)
    weights, rights = _up(tree, weight, right[None, :], fitted.variance)
    means, spreads, _, _ = _down(tree, weights, [each[0] for each in rights], fitted.variance)
    return Posterior(tuple(means), tuple(spreads))


def draw(
    tree: Tree,
    leaves: Leaves,
    fitted: Fitted,
    draws: int,
    rng: np.random.Generator,
    shared: Floats | None = None,
) -> Floats:
    """Draw the leaves' values from their joint posterior.

    Parameters
    ----------
    tree : Tree
        The tree.
    leaves : Leaves
        Readings.
    fitted : Fitted
        Variances and effects; the effects are taken as known.
    draws : int
        How many.
    rng : numpy.random.Generator
        Source of the draws.
    shared : array or None, shape (leaves,), 0 to 1
        Share of each leaf's own variance that it has in common with the other leaves of its parent, where
        their readings err together.

    Returns
    -------
    array, shape (leaves, draws)
        Values, fixed effects included.
    """
    offset = leaves.design @ fitted.effects
    weight = leaves.weight / fitted.noise
    right = weight * (leaves.mean - offset)
    weights, rights = _up(tree, weight, right[None, :], fitted.variance)
    value = np.zeros((tree.counts[0], draws))
    for level in range(tree.levels):
        tau = fitted.variance[level]
        shrink = (1.0 / (1.0 + tau * weights[level]))[:, None]
        noise = rng.standard_normal((tree.counts[level], draws))
        if shared is not None and level == tree.levels - 1 > 0:
            common = tree.spread(level - 1, rng.standard_normal((tree.counts[level - 1], draws)))
            noise = np.sqrt(1.0 - shared)[:, None] * noise + np.sqrt(shared)[:, None] * common
        own = np.sqrt(tau * shrink) * noise
        value = value * shrink + tau * shrink * rights[level][0][:, None] + own
        if level < tree.levels - 1:
            value = tree.spread(level, value)
    return np.asarray(value + offset[:, None])


def _solve(product: Floats, priors: Priors | None) -> tuple[Floats, Floats, float]:
    """Fixed effects, their covariance and the quadratic form left over."""
    if product.shape[0] == 1:
        return np.zeros(0), np.zeros((0, 0)), float(product[0, 0])
    normal, right = product[:-1, :-1].copy(), product[:-1, -1].copy()
    if priors is not None:
        normal += np.diag(priors.precision)
        right += priors.precision * priors.mean
    covariance = np.asarray(np.linalg.pinv(normal, hermitian=True), dtype=np.float64)
    effects = covariance @ right
    left = product[-1, -1] - 2 * effects @ product[:-1, -1] + effects @ product[:-1, :-1] @ effects
    return effects, covariance, float(left)
