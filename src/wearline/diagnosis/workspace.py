"""What depends on the network alone: all sets of up to three causes, and where causes meet on a node.

The logarithm of the likelihood of a set is a sum over nodes. On a node that only one cause of the set touches
it is that cause's own term; only where two or three of them meet is there anything else to compute. There are
few such places (some eight thousand against seven hundred thousand), so every set of three is summed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from wearline.diagnosis.network import AXLE_CAUSES, VEHICLE_CAUSES, Compiled
from wearline.diagnosis.noisy_or import subsets

__all__ = ["Meeting", "Shared", "Workspace", "share_of", "workspace"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Shared:
    """Sets of causes of the vehicle and of an axle that are summed over.

    Parameters
    ----------
    of_vehicle : tuple of tuple of int
        Sets of vehicle causes, as indices into ``VEHICLE_CAUSES``: none, one with and without marks at the
        wheel ends, two with the marks of the one that leaves more.
    log_shown : array, shape (sets of vehicle causes,)
        Logarithm of the chance of these marks.
    of_axle : tuple of tuple of int
        Sets of axle causes: none or one.
    member : array, shape (sets, shared causes)
        1 where a shared cause of the combined set shows at the wheel ends; the sets of the axle run fastest.
    """

    of_vehicle: tuple[tuple[int, ...], ...]
    log_shown: Floats
    of_axle: tuple[tuple[int, ...], ...]
    member: Floats

    @property
    def slow_release(self) -> NDArray[np.bool_]:
        """Combined sets in which the axle releases slowly."""
        return self.member[:, len(VEHICLE_CAUSES) + AXLE_CAUSES.index("V3")] > 0.0


@dataclass(frozen=True, slots=True)
class Meeting:
    """Places where so many causes meet on one node, sorted by the set they make.

    Parameters
    ----------
    node : array of int, shape (E,)
        The node.
    causes : array of int, shape (E, m)
        The causes that meet.
    absent, share : array, shape (E,)
        exp(-W) and (1 - exp(-W))/W with the leak.
    parts : array of int, shape (E, m or 3)
        Places of one size smaller that it is made of: node x cause for pairs, pairs for triples.
    starts : array of int
        First place of each set.
    sets : array of int
        Row of that set among all sets of its size.
    """

    node: Integers
    causes: Integers
    absent: Floats
    share: Floats
    parts: Integers
    starts: Integers
    sets: Integers


@dataclass(frozen=True, slots=True, eq=False)
class Workspace:
    """What is the same for every inspection.

    Parameters
    ----------
    compiled : Compiled
        The network.
    rows : array of int, shape (sets, 3)
        The empty set, every cause alone, every pair, every triple, filled up with K.
    pairs_of_triple : array of int, shape (triples, 3)
        Rows of the three pairs in each triple, among the pairs.
    member : array, shape (sets, K)
        1 where a cause is in a set.
    allowed : array of bool, shape (sets,)
        False where two kinds of one cause would stand together.
    absent, share : array, shape (J, K + 1)
        exp(-W) and (1 - exp(-W))/W of each cause alone with the leak; the last is the leak alone.
    pairs, triples : Meeting
        Where causes meet.
    levels, levels_slow : mapping of str to array, shape (sets, L)
        Chance of each level of a comparison under each set, without and with slow release of the axle.
    shared : Shared
        Sets of shared causes.
    """

    compiled: Compiled
    rows: Integers
    pairs_of_triple: Integers
    member: Floats
    allowed: NDArray[np.bool_]
    absent: Floats
    share: Floats
    pairs: Meeting
    triples: Meeting
    levels: Mapping[str, Floats]
    levels_slow: Mapping[str, Floats]
    shared: Shared

    @property
    def count(self) -> int:
        """Number of causes of a wheel end, kinds counted apart."""
        return len(self.compiled.items)


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
    rows = subsets(count, 3)
    exclusive = compiled.exclusive
    allowed = ~(
        exclusive[rows[:, 0], rows[:, 1]]
        | exclusive[rows[:, 1], rows[:, 2]]
        | exclusive[rows[:, 0], rows[:, 2]]
    )
    member = np.zeros((rows.shape[0], count + 1))
    np.put_along_axis(member, rows, 1.0, axis=1)
    alone = compiled.weight + compiled.leak[:, None]
    pair_of = _pair_numbers(count)
    triples = rows[_first(count, 3) :]
    pairs, pair_place = _meeting(compiled, 2, pair_of)
    return Workspace(
        compiled=compiled,
        rows=rows,
        pairs_of_triple=np.stack(
            [pair_of[triples[:, i], triples[:, j]] for i, j in ((0, 1), (0, 2), (1, 2))], axis=1
        ),
        member=np.ascontiguousarray(member[:, :count]),
        allowed=allowed,
        absent=np.exp(-alone),
        share=share_of(alone),
        pairs=pairs,
        triples=_meeting(compiled, 3, _triple_numbers(count), pair_place)[0],
        levels={id: _levels(compiled, id, rows, slow=False) for id in compiled.compared},
        levels_slow={id: _levels(compiled, id, rows, slow=True) for id in compiled.compared},
        shared=_shared(compiled.shown),
    )


def _first(count: int, size: int) -> int:
    """Row of the first set of a size among all sets."""
    return {0: 0, 1: 1, 2: 1 + count, 3: 1 + count + count * (count - 1) // 2}[size]


def _pair_numbers(count: int) -> Integers:
    numbers = np.zeros((count, count), dtype=np.int64)
    upper = np.triu_indices(count, 1)
    numbers[upper] = np.arange(upper[0].size)
    return numbers


def _triple_numbers(count: int) -> Integers:
    numbers = np.zeros((count, count, count), dtype=np.int64)
    rows = subsets(count, 3)[_first(count, 3) :]
    numbers[rows[:, 0], rows[:, 1], rows[:, 2]] = np.arange(rows.shape[0])
    return numbers


def _meeting(
    compiled: Compiled, size: int, number_of: Integers, smaller: Mapping[tuple[int, ...], int] | None = None
) -> tuple[Meeting, dict[tuple[int, ...], int]]:
    places: list[tuple[int, int, tuple[int, ...]]] = []
    for node in range(len(compiled.nodes)):
        parents = np.flatnonzero(compiled.weight[node, :-1]).tolist()
        places += [(int(number_of[causes]), node, causes) for causes in combinations(parents, size)]
    places.sort()
    nodes = np.array([place[1] for place in places], dtype=np.int64)
    meeting = np.array([place[2] for place in places], dtype=np.int64).reshape(-1, size)
    weight = compiled.weight[nodes[:, None], meeting].sum(axis=1) + compiled.leak[nodes]
    sets, starts = np.unique(np.array([place[0] for place in places], dtype=np.int64), return_index=True)
    if smaller is None:
        parts = nodes[:, None] * compiled.weight.shape[1] + meeting
    else:
        parts = np.array(
            [[smaller[at, *pair] for pair in combinations(chosen, 2)] for _, at, chosen in places],
            dtype=np.int64,
        ).reshape(-1, 3)
    place_of = {(at, *chosen): place for place, (_, at, chosen) in enumerate(places)}
    return Meeting(nodes, meeting, np.exp(-weight), share_of(weight), parts, starts, sets), place_of


def _levels(compiled: Compiled, id: str, rows: Integers, *, slow: bool) -> Floats:
    compared = compiled.compared[id]
    total = compared.weight[rows].sum(axis=1) + compared.leak_weight
    on = compared.levels[rows].sum(axis=1) + compared.leak_levels
    if slow:
        number = len(VEHICLE_CAUSES) + AXLE_CAUSES.index("V3")
        total = total + compared.shared_weight[number]
        on = on + compared.shared_levels[number]
    chance: Floats = share_of(total)[:, None] * on
    chance[:, 0] += np.exp(-total)
    return chance


def _shared(shown: Floats) -> Shared:
    vehicle: list[tuple[int, ...]] = []
    marks: list[tuple[int, ...]] = []
    for size in range(3):
        for chosen in combinations(range(len(VEHICLE_CAUSES)), size):
            strongest = tuple(sorted(chosen, key=lambda number: -shown[number])[:1])
            for marked in ((), strongest) if size == 1 else (strongest,):
                vehicle.append(chosen)
                marks.append(marked)
    log_shown = [
        float(np.log(shown[chosen[0]] if marked else max(1.0 - shown[chosen[0]], 1e-6)))
        if len(chosen) == 1
        else 0.0
        for chosen, marked in zip(vehicle, marks, strict=True)
    ]
    axle = ((), *((number,) for number in range(len(AXLE_CAUSES))))
    member = np.zeros((len(vehicle) * len(axle), len(VEHICLE_CAUSES) + len(AXLE_CAUSES)))
    for one, marked in enumerate(marks):
        for other, of_axle in enumerate(axle):
            row = one * len(axle) + other
            member[row, list(marked)] = 1.0
            member[row, [len(VEHICLE_CAUSES) + number for number in of_axle]] = 1.0
    return Shared(tuple(vehicle), np.array(log_shown), axle, member)
