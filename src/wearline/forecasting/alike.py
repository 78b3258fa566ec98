"""Likelihood of a nested model whose subtrees are much alike, without going through its nodes.

Precisions hang only on the shape of a subtree and on how its leaves weigh, and the data enter a node as sums
over its descendants of one kind. So nodes below the top fall into few classes, and each class needs only its
precision and one matrix of products: an evaluation costs a few classes instead of all nodes. The result is
the same sum in another order, for any data; where there are too many classes for a gain, nothing is built.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Alike"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_MOST_CLASSES = 32
_MOST_PATHS = 48
_LARGEST_KEY = 2.0**62


@dataclass(frozen=True, slots=True)
class _Level:
    """Nodes of one level below the top, by class.

    Parameters
    ----------
    size : array, shape (classes,)
        Nodes in each class.
    children : array, shape (classes, classes of the level below)
        Children of each class in a node; empty on the leaves' level.
    path_class, path_child : array of int, shape (paths,)
        Kinds of descendants: class of the child that they come through, and their kind there.
    products : array, shape (classes, paths, columns, paths, columns)
        Sums over the nodes of a class of the products of their sums.
    """

    size: Floats
    children: Floats
    path_class: Ints
    path_child: Ints
    products: Floats


@dataclass(frozen=True, slots=True)
class _Top:
    """The top level, node by node: ``children`` as in a level, and sums of shape (columns, nodes, paths)."""

    children: Floats
    path_class: Ints
    path_child: Ints
    sums: Floats


@dataclass(frozen=True, slots=True)
class Evaluated:
    """What the variances make of the data, with derivatives in their logs, the noise's last.

    Parameters
    ----------
    product : array, shape (columns, columns)
        Products of all columns under the inverse covariance.
    determinant : float
        Log determinant, that of the readings' own precisions left out.
    determinant_slope : array, shape (levels + 1,)
        Its derivatives.
    steps : tuple of _Step
        What was found on the way, from the leaves up.
    top : _TopStep
        The same of the top level, node by node.
    """

    product: Floats
    determinant: float
    determinant_slope: Floats
    steps: tuple[_Step, ...]
    top: _TopStep


@dataclass(frozen=True, slots=True)
class _Step:
    """One level at given variances: factor of each class and of each kind of descendant, with derivatives."""

    factor: Floats
    factor_slope: Floats
    path: Floats
    path_slope: Floats


@dataclass(frozen=True, slots=True)
class _TopStep:
    """The top level at given variances: as a step, with the right-hand sides of its nodes."""

    factor: Floats
    factor_slope: Floats
    right: Floats
    path_slope: Floats


@dataclass(frozen=True, slots=True)
class Alike:
    """A tree with its leaves, by classes.

    Parameters
    ----------
    leaf_weight : array, shape (classes of leaves,)
        Precision of a leaf of each class.
    levels : tuple of _Level
        From the leaves up, without the top.
    top : _Top
        The top level.
    own : array, shape (columns, columns)
        Products of the columns under the leaves' precisions.
    """

    leaf_weight: Floats
    levels: tuple[_Level, ...]
    top: _Top
    own: Floats

    @classmethod
    def of(cls, starts: Sequence[Ints], weight: Floats, columns: Floats) -> Alike | None:
        """Sort the nodes of a tree into classes.

        Parameters
        ----------
        starts : sequence of array of int
            Row of the first child of each node, level by level, the top first.
        weight : array, shape (leaves,)
            Precision of each leaf.
        columns : array, shape (columns, leaves)
            Fixed effects and means.

        Returns
        -------
        Alike or None
            None where too many subtrees differ, or the tree has one level only.
        """
        if not starts:
            return None
        leaf_weight, kind = _few(weight)
        if leaf_weight is None or kind is None:
            return None
        sums = (weight * columns)[:, :, None]
        own = (weight * columns) @ columns.T
        has = np.ones((leaf_weight.size, 1), dtype=bool)
        children = np.zeros((leaf_weight.size, 0))
        path_class = path_child = np.zeros(1, dtype=np.int64)
        levels = []
        for start in reversed(starts):
            levels.append(
                _Level(
                    np.bincount(kind, minlength=has.shape[0]).astype(float),
                    children,
                    path_class,
                    path_child,
                    _products(sums, kind, has.shape[0]),
                )
            )
            path_class, path_child = (each.astype(np.int64) for each in np.nonzero(has))
            counts = _counts(start, kind, has.shape[0])
            if path_class.size > _MOST_PATHS or path_class.size * start.size > 2 * weight.size:
                return None
            sums = _gathered(start, kind, has, sums)
            if len(levels) == len(starts):
                break
            found = _classes(counts)
            if found is None:
                return None
            first, kind = found
            children = counts[first]
            has = children[:, path_class] > 0
        return cls(leaf_weight, tuple(levels), _Top(counts, path_class, path_child, sums), own)

    def evaluate(self, variance: Floats, noise: float) -> Evaluated:
        """Return products and determinant at given variances.

        Parameters
        ----------
        variance : array, shape (levels,)
            Variance of each level, the top first.
        noise : float, more than 0
            Divides the leaves' precisions.

        Returns
        -------
        Evaluated
            With derivatives.
        """
        unknowns = variance.size + 1
        weight = self.leaf_weight / noise
        slope = np.zeros((weight.size, unknowns))
        slope[:, -1] = -weight
        path = np.full(1, 1.0 / noise)
        path_slope = np.zeros((1, unknowns))
        path_slope[:, -1] = -path
        product = self.own / noise
        determinant, determinant_slope = 0.0, np.zeros(unknowns)
        steps = []
        passed = passed_slope = np.zeros(0)
        shrink, shrink_slope = np.ones(0), np.zeros((0, unknowns))
        for i, level in enumerate(self.levels):
            if i:
                weight, slope = level.children @ passed, level.children @ passed_slope
                path, path_slope = _paths(level, shrink, shrink_slope, path, path_slope)
            row = variance.size - 1 - i
            shrink, shrink_slope, factor, factor_slope, log, log_slope = _shrunk(
                variance[row], row, weight, slope
            )
            product = product - np.einsum("c,k,ckplq,l->pq", factor, path, level.products, path)
            determinant += float(level.size @ log)
            determinant_slope = determinant_slope + level.size @ log_slope
            steps.append(_Step(factor, factor_slope, path, path_slope))
            passed = weight * shrink
            passed_slope = slope * shrink[:, None] + weight[:, None] * shrink_slope
        path, path_slope = _paths(self.top, shrink, shrink_slope, path, path_slope)
        weight, slope = self.top.children @ passed, self.top.children @ passed_slope
        _, _, factor, factor_slope, log, log_slope = _shrunk(variance[0], 0, weight, slope)
        right = self.top.sums @ path
        product = product - (factor * right) @ right.T
        determinant += float(log.sum())
        determinant_slope = determinant_slope + log_slope.sum(axis=0)
        return Evaluated(
            product,
            determinant,
            determinant_slope,
            tuple(steps),
            _TopStep(factor, factor_slope, right, path_slope),
        )

    def form_slope(self, found: Evaluated, contrast: Floats, noise: float) -> Floats:
        """Return the derivatives of a quadratic form under the inverse covariance.

        Parameters
        ----------
        found : Evaluated
            At the variances wanted.
        contrast : array, shape (columns,)
            The form is that of the columns taken together with these weights.
        noise : float
            As in ``evaluate``.

        Returns
        -------
        array, shape (levels + 1,)
            In the log of each variance, the noise's last.
        """
        result = np.zeros(found.determinant_slope.size)
        result[-1] = -float(contrast @ self.own @ contrast) / noise
        for level, step in zip(self.levels, found.steps, strict=True):
            form = np.einsum("p,ckplq,q->ckl", contrast, level.products, contrast) @ step.path
            result -= step.factor_slope.T @ (form @ step.path)
            result -= 2.0 * (step.factor @ form) @ step.path_slope
        top = found.top
        value = contrast @ top.right
        result -= np.square(value) @ top.factor_slope
        pull = np.tensordot(contrast, self.top.sums, axes=1)
        result -= 2.0 * ((top.factor * value) @ pull) @ top.path_slope
        return result


def _few(weight: Floats) -> tuple[Floats | None, Ints | None]:
    """Distinct values and which each leaf has, or nothing where there are too many."""
    if np.unique(weight[:: max(weight.size // 512, 1)]).size > _MOST_CLASSES:
        return None, None
    if float(weight.min()) == float(weight.max()):
        return weight[:1], np.zeros(weight.size, dtype=np.int64)
    values, kind = np.unique(weight, return_inverse=True)
    return (values, kind.astype(np.int64)) if values.size <= _MOST_CLASSES else (None, None)


def _counts(start: Ints, kind: Ints, classes: int) -> Floats:
    """Children of each class of every node."""
    total = kind.size
    size = np.diff(np.append(start, total))
    if classes == 1:
        return size[:, None].astype(float)
    node = np.repeat(np.arange(start.size), size)
    counts = np.bincount(node * classes + kind, minlength=start.size * classes)
    return counts.reshape(start.size, classes).astype(float)


def _classes(counts: Floats) -> tuple[Ints, Ints] | None:
    """First node of each class and the class of each node; equal counts of children make a class."""
    base = float(counts.max()) + 1.0
    if base ** counts.shape[1] >= _LARGEST_KEY:
        return None
    # numbers written with the counts as digits are equal only if all digits are
    key = counts.astype(np.int64) @ (int(base) ** np.arange(counts.shape[1], dtype=np.int64))
    _, first, kind = np.unique(key, return_index=True, return_inverse=True)
    return (first, kind.astype(np.int64)) if first.size <= _MOST_CLASSES else None


def _products(sums: Floats, kind: Ints, classes: int) -> Floats:
    columns, nodes, paths = sums.shape
    flat = np.ascontiguousarray(sums.transpose(2, 0, 1)).reshape(paths * columns, nodes)
    shape = (paths, columns, paths, columns)
    if classes == 1:
        return np.asarray((flat @ flat.T).reshape(1, *shape))
    order = np.argsort(kind, kind="stable")
    flat = flat[:, order]
    ends = np.cumsum(np.bincount(kind, minlength=classes))
    found = []
    for low, high in zip([0, *ends[:-1]], ends, strict=True):
        part = flat[:, low:high]
        found.append((part @ part.T).reshape(shape))
    return np.array(found)


def _gathered(start: Ints, kind: Ints, has: NDArray[np.bool_], sums: Floats) -> Floats:
    """Sums of each node over its descendants of each kind."""
    columns, nodes, _ = sums.shape
    if has.shape == (1, 1):
        return np.asarray(np.add.reduceat(sums[:, :, 0], start, axis=1)[:, :, None], dtype=np.float64)
    number = np.cumsum(has.ravel()).reshape(has.shape) - 1
    row, path = np.nonzero(has[kind])
    parent = np.repeat(np.arange(start.size), np.diff(np.append(start, nodes)))
    wide = int(has.sum())
    place = parent[row] * wide + number[kind[row], path]
    gathered = [np.bincount(place, each[row, path], minlength=start.size * wide) for each in sums]
    return np.array(gathered, dtype=np.float64).reshape(columns, start.size, wide)


def _shrunk(
    tau: float, row: int, weight: Floats, slope: Floats
) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats]:
    """1 / (1 + tau W), tau / (1 + tau W) and log(1 + tau W), each with its derivatives."""
    shrink = 1.0 / (1.0 + tau * weight)
    inner = tau * slope
    inner[:, row] += tau * weight
    log_slope = shrink[:, None] * inner
    shrink_slope = -shrink[:, None] * log_slope
    factor = tau * shrink
    factor_slope = tau * shrink_slope
    factor_slope[:, row] += factor
    return shrink, shrink_slope, factor, factor_slope, np.log1p(tau * weight), log_slope


def _paths(
    level: _Level | _Top, shrink: Floats, shrink_slope: Floats, path: Floats, path_slope: Floats
) -> tuple[Floats, Floats]:
    """Factor of each kind of descendant one level higher, with derivatives."""
    own, below = level.path_class, level.path_child
    value = shrink[own] * path[below]
    slope = shrink_slope[own] * path[below, None] + shrink[own, None] * path_slope[below]
    return value, slope
