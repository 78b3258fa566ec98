"""Readings compared across an axle: densities of both ends' readings under every level of effect."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.catalogue.cause_model import Comparison
from wearline.diagnosis.network import AXLE_CAUSES, Compiled
from wearline.diagnosis.observe import Observed
from wearline.diagnosis.workspace import Shared

__all__ = ["ORDER", "PairTables", "pair_tables"]

Floats = NDArray[np.float64]

ORDER = ("force", "temperature", "wear")
"""Order of the comparisons in a joint level."""

_FLOOR = 1e-3
_HALF_LOG_TWO_PI = float(0.5 * np.log(2.0 * np.pi))


@dataclass(frozen=True, slots=True, eq=False)
class PairTables:
    """Densities of the compared readings of a number of axles.

    Parameters
    ----------
    tables : mapping of str to array, shape (axles, L, L)
        Density of both ends' readings by level of the left and of the right end; 1 where not taken.
    wear_unbalanced : array, shape (axles, L, L)
        The table of wear when the axle works more or less than the others.
    """

    tables: Mapping[str, Floats]
    wear_unbalanced: Floats

    def alone(self, levels: Mapping[str, Floats]) -> Floats:
        """Return the likelihood of the comparisons of each end if its mate has no effect.

        Parameters
        ----------
        levels : mapping of str to array, shape (sets, L)
            Chance of each level under each set.

        Returns
        -------
        array, shape (sets, ends)
            Ends in the order left, right of each axle.
        """
        result: Floats = np.ones((1, 1))
        for id in ORDER:
            table = self.tables[id]
            column = np.stack([table[:, :, 0], table[:, 0, :]], axis=1).reshape(-1, table.shape[1])
            result = result * (levels[id] @ column.T)
        return result

    def to_left(self, right: Floats, shared: Shared) -> Floats:
        """Return the message from the right ends to the left ends.

        Parameters
        ----------
        right : array, shape (axles, shared sets, levels)
            Mass of the right ends by joint level.
        shared : Shared
            Sets of shared causes.

        Returns
        -------
        array, same shape
            Likelihood by joint level of the left ends.
        """
        return self._through(right, shared, "aij,asjuv->asiuv", "aij,asujv->asuiv", "aij,asuvj->asuvi")

    def to_right(self, left: Floats, shared: Shared) -> Floats:
        """Return the message from the left ends to the right ends.

        Parameters
        ----------
        left : array, shape (axles, shared sets, levels)
            Mass of the left ends by joint level.
        shared : Shared
            Sets of shared causes.

        Returns
        -------
        array, same shape
            Likelihood by joint level of the right ends.
        """
        return self._through(left, shared, "aji,asjuv->asiuv", "aji,asujv->asuiv", "aji,asuvj->asuvi")

    def _through(self, mass: Floats, shared: Shared, *how: str) -> Floats:
        sizes = [self.tables[id].shape[1] for id in ORDER]
        joint = mass.reshape(*mass.shape[:2], *sizes)
        joint = np.einsum(how[0], self.tables["force"], joint, optimize=True)
        joint = np.einsum(how[1], self.tables["temperature"], joint, optimize=True)
        unbalanced = shared.member[:, -len(AXLE_CAUSES) + AXLE_CAUSES.index("V6")] > 0.0
        result = np.empty_like(joint)
        for table, mask in ((self.tables["wear"], ~unbalanced), (self.wear_unbalanced, unbalanced)):
            result[:, mask] = np.einsum(how[2], table, joint[:, mask], optimize=True)
        found: Floats = result.reshape(mass.shape)
        return found


def pair_tables(observed: Observed, compiled: Compiled, pairs: NDArray[np.int64]) -> PairTables:
    """Return the densities of the compared readings.

    Parameters
    ----------
    observed : Observed
        Readings.
    compiled : Compiled
        The network.
    pairs : array of int, shape (axles, 2)
        Rows of left and right end; -1 where there is none.

    Returns
    -------
    PairTables
        Tables by level.

    Notes
    -----
    Both readings are normal with means at the levels, variance own^2 + spread^2 + u^2 each and covariance
    axle^2 (what the two ends share). Where one end lacks, its mate may make up for a share of it: half of the
    probability is given to that, half to none.
    """
    tables = {}
    unbalanced = np.ones((0,))
    for id, compared in compiled.compared.items():
        node = compared.node
        value, u = observed.compared[id]
        x = np.where(pairs >= 0, value[np.maximum(pairs, 0)], np.nan)
        u_x = np.where(pairs >= 0, u[np.maximum(pairs, 0)], 0.0)
        axle = np.full((pairs.shape[0], 1, 1), node.axle)
        if id == "wear":
            axle[np.isnan(observed.usual_wear[np.max(pairs, axis=1)])] = node.axle_alone
        tables[id] = _table(node, x, u_x, 0.0, axle)
        if id == "wear":
            effect = next(size for size in compiled.network.wholes["axle_wear"].sizes if size.cause == "V6")
            chance = effect.chance or 0.0
            wide = np.hypot(axle, effect.spread)
            shifted = 0.7 * _table(node, x, u_x, effect.middle, wide)
            shifted += 0.3 * _table(node, x, u_x, -effect.middle, wide)
            unbalanced = (1.0 - chance) * tables[id] + chance * shifted
    return PairTables(tables, unbalanced)


def _table(node: Comparison, x: Floats, u: Floats, shift: float, axle: Floats) -> Floats:
    levels, spread = np.array(node.levels), np.array(node.level_spread)
    lack = np.maximum(-levels, 0.0)
    variance = node.own**2 + spread**2 + np.nan_to_num(u)[:, :, None] ** 2
    left, right = variance[:, 0, :, None], variance[:, 1, None, :]
    result: Floats = np.zeros((x.shape[0], levels.size, levels.size))
    shares = (0.0,) if node.victim == 0.0 else (0.0, node.victim)
    known = ~np.isnan(x)
    for share in shares:
        first = x[:, 0, None, None] - shift - (levels[:, None] + share * lack[None, :])
        second = x[:, 1, None, None] - shift - (levels[None, :] + share * lack[:, None])
        result += _two(first, second, left, right, axle**2, known) / len(shares)
    # a comparison that nobody took says nothing; a wild one cannot decide alone
    result += _FLOOR * np.where(known.all(axis=1), 1.0, 0.0)[:, None, None]
    result[~known.any(axis=1)] = 1.0
    return result


def _two(
    first: Floats, second: Floats, left: Floats, right: Floats, common: Floats, known: NDArray[np.bool_]
) -> Floats:
    """Density of two normal deviations with a common part; of one where the other was not taken."""
    both = np.logical_and(known[:, 0], known[:, 1])[:, None, None]
    only_left = (known[:, 0] & ~known[:, 1])[:, None, None]
    a, b = left + common, right + common
    determinant = a * b - common**2
    one, other = np.nan_to_num(first), np.nan_to_num(second)
    square = (b * one**2 - 2.0 * common * one * other + a * other**2) / determinant
    joint = np.exp(-0.5 * square - 2.0 * _HALF_LOG_TWO_PI) / np.sqrt(determinant)
    single = np.where(only_left, one, other)
    width = np.where(only_left, a, b)
    alone = np.exp(-0.5 * single**2 / width - _HALF_LOG_TWO_PI) / np.sqrt(width)
    result: Floats = np.where(both, joint, alone)
    return result
