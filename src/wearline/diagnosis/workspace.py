"""Sums that depend on the network alone: sets of up to two causes, and the sets of shared causes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from wearline.diagnosis.network import AXLE_CAUSES, VEHICLE_CAUSES, Compiled
from wearline.diagnosis.noisy_or import subsets

__all__ = ["Shared", "Workspace", "share_of", "workspace"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Shared:
    """Sets of causes of the vehicle and of an axle that are summed over.

    Parameters
    ----------
    of_vehicle : tuple of tuple of int
        Sets of vehicle causes, as indices into ``VEHICLE_CAUSES``: none, one, two.
    of_axle : tuple of tuple of int
        Sets of axle causes: none or one.
    member : array, shape (sets, shared causes)
        1 where a shared cause is in the combined set; combined sets run over the axle's sets fastest.
    """

    of_vehicle: tuple[tuple[int, ...], ...]
    of_axle: tuple[tuple[int, ...], ...]
    member: Floats

    @property
    def slow_release(self) -> NDArray[np.bool_]:
        """Combined sets in which the axle releases slowly."""
        return self.member[:, len(VEHICLE_CAUSES) + AXLE_CAUSES.index("V3")] > 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Workspace:
    """What is the same for every inspection.

    Parameters
    ----------
    compiled : Compiled
        The network.
    rows : array of int, shape (sets, 3)
        The empty set, every cause alone, every pair, filled up with K.
    absent, share : array, shape (J, sets)
        exp(-W) and (1 - exp(-W))/W of these sets with the leak.
    levels : mapping of str to array, shape (sets, L)
        Chance of each level of a comparison under these sets.
    shared : Shared
        Sets of shared causes.
    """

    compiled: Compiled
    rows: NDArray[np.int64]
    absent: Floats
    share: Floats
    levels: Mapping[str, Floats]
    shared: Shared


_KEPT: dict[int, Workspace] = {}


def workspace(compiled: Compiled) -> Workspace:
    """Return the sums that depend on the network alone.

    Parameters
    ----------
    compiled : Compiled
        The network.

    Returns
    -------
    Workspace
        Made once for each network.
    """
    kept = _KEPT.get(id(compiled))
    if kept is None or kept.compiled is not compiled:
        _KEPT.clear()
        kept = _KEPT[id(compiled)] = _make(compiled)
    return kept


def share_of(weight: Floats) -> Floats:
    """Return (1 - exp(-w)) / w.

    Parameters
    ----------
    weight : array, 0 or more
        Weights w.

    Returns
    -------
    array, same shape
        1 at w = 0.
    """
    safe = np.maximum(weight, 1e-300)
    result: Floats = np.where(weight > 1e-12, -np.expm1(-safe) / safe, 1.0)
    return result


def _make(compiled: Compiled) -> Workspace:
    count = len(compiled.items)
    pairs = subsets(count, 2)
    pairs = pairs[~compiled.exclusive[pairs[:, 0], pairs[:, 1]]]
    rows = np.concatenate([pairs, np.full((pairs.shape[0], 1), count)], axis=1)
    weight = compiled.weight[:, rows].sum(axis=2) + compiled.leak[:, None]
    levels = {}
    for id, compared in compiled.compared.items():
        total = compared.weight[rows].sum(axis=1) + compared.leak_weight
        on = compared.levels[rows].sum(axis=1) + compared.leak_levels
        chance = share_of(total)[:, None] * on
        chance[:, 0] += np.exp(-total)
        levels[id] = chance
    return Workspace(compiled, rows, np.exp(-weight), share_of(weight), levels, _shared())


def _shared() -> Shared:
    vehicle = tuple(
        chosen for size in range(3) for chosen in combinations(range(len(VEHICLE_CAUSES)), size)
    )
    axle = ((), *((number,) for number in range(len(AXLE_CAUSES))))
    member = np.zeros((len(vehicle) * len(axle), len(VEHICLE_CAUSES) + len(AXLE_CAUSES)))
    for one, of_vehicle in enumerate(vehicle):
        for other, of_axle in enumerate(axle):
            row = one * len(axle) + other
            member[row, list(of_vehicle)] = 1.0
            member[row, [len(VEHICLE_CAUSES) + number for number in of_axle]] = 1.0
    return Shared(vehicle, axle, member)
