"""Pad sets of a fleet by group: what each wore and cost, the rotor with it, and which may be paired."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from wearline.errors import DomainError
from wearline.forecasting.clocks import PlacedInspection
from wearline.forecasting.comparing import Comparison, Shared, compare_groups, compare_pairs
from wearline.forecasting.intervals import service_minimum
from wearline.forecasting.nested import Floats
from wearline.forecasting.outlook import Outlook
from wearline.forecasting.pad_lives import AxleSet, EndSet, axle_sets, end_sets

__all__ = [
    "LEAST",
    "Cell",
    "Grouped",
    "GroupedSet",
    "RotorShare",
    "cells_of",
    "compare_sets",
    "group_sets",
    "pairs_of",
    "without_work",
]

_USUAL_ROTOR_SHARE = 0.089
"""[1] Rotor thickness lost by friction worn from one pad, where no rotor was measured (expert judgement)."""

LEAST = 3
"""Pairs, or vehicles in each group, without which no interval can be worked out."""

_KNOWN = 0.20
"""[1] Relative uncertainty beyond which the rate of a set tells nothing yet (expert judgement)."""


@dataclass(frozen=True, slots=True)
class GroupedSet:
    """The pads of one axle in a comparison.

    Parameters
    ----------
    group : str
        Its group.
    vehicle, axle, role, duty : str
        Where it ran.
    rate : float, [m/m]
        Wear of its faster pad.
    usable_pad, usable_rotor : float, [m]
        Friction, and rotor thickness, that may be worn away there.
    """

    group: str
    vehicle: str
    axle: str
    role: str
    duty: str
    rate: float
    usable_pad: float
    usable_rotor: float


@dataclass(frozen=True, slots=True)
class RotorShare:
    """Rotor lost for the friction worn, in one group.

    Parameters
    ----------
    share : float, [1]
        Thickness of the rotor by friction of one pad.
    u : float, [1]
        Its standard uncertainty; 0 where it is taken from expert judgement for all groups alike.
    vehicles : int
        Vehicles with rotor readings behind it.
    """

    share: float
    u: float
    vehicles: int


@dataclass(frozen=True, slots=True)
class Grouped:
    """Pad sets by group, and why others are not among them.

    Parameters
    ----------
    sets : tuple of GroupedSet
        Those whose rate is known and whose group is one.
    rotor : dict of str to RotorShare
        By group.
    without, changed, short : int
        Axle sets whose group nobody wrote down, is not the same at every look, or whose readings lie too
        close together.
    """

    sets: tuple[GroupedSet, ...]
    rotor: dict[str, RotorShare]
    without: int
    changed: int
    short: int


def group_sets(
    found: Outlook, group_of: Callable[[PlacedInspection, EndSet], str], *, unit: str = "km"
) -> Grouped:
    """Sort the pad sets of a forecast into groups.

    Parameters
    ----------
    found : Outlook
        The forecast.
    group_of : callable
        From a look and the pads it saw to the name of the group; empty where nothing is said.
    unit : str, optional
        Only vehicles counted in it.

    Returns
    -------
    Grouped
        The sets.
    """
    without = changed = short = 0
    kept: list[GroupedSet] = []
    members: list[tuple[str, EndSet]] = []
    for each in axle_sets(end_sets(found)):
        if each.info.axis.unit != unit:
            continue
        names = {group_of(look, end) for end in each.ends for look in end.looks()} - {""}
        if not names:
            without += 1
            continue
        if len(names) > 1:
            changed += 1
            continue
        known = [end for end in each.ends if end.rate > 0.0 and end.u_rate <= _KNOWN * end.rate]
        if not known:
            short += 1
            continue
        name = names.pop()
        kept.append(_set(name, each, known, found))
        members += [(name, end) for end in known]
    return Grouped(tuple(kept), _rotor_shares(members), without, changed, short)


def _set(name: str, each: AxleSet, known: Sequence[EndSet], found: Outlook) -> GroupedSet:
    info = each.info
    usable = info.design.friction_new - service_minimum(found.ends[each.ends[0].end])
    return GroupedSet(
        name,
        info.vehicle,
        info.place.axle,
        info.role,
        info.duty,
        max(end.rate for end in known),
        usable,
        info.design.rotor_new - info.design.rotor_min,
    )


def _rotor_shares(members: Sequence[tuple[str, EndSet]]) -> dict[str, RotorShare]:
    """Rotor lost over friction worn of each group, with a jackknife over its vehicles."""
    lost: dict[str, dict[str, list[float]]] = {}
    for name, end in members:
        pair = _rotor_lost(end)
        own = lost.setdefault(name, {})
        if pair is not None:
            sums = own.setdefault(end.info.vehicle, [0.0, 0.0])
            sums[0] += pair[0]
            sums[1] += pair[1]
    if any(len(own) < 2 for own in lost.values()):
        # a group without rotor readings cannot be held against one with them: the same share for all
        every = [pair for own in lost.values() for pair in own.values()]
        worn = sum(pair[1] for pair in every)
        share = sum(pair[0] for pair in every) / worn if worn > 0.0 else _USUAL_ROTOR_SHARE
        return {name: RotorShare(max(share, 0.0), 0.0, len(own)) for name, own in lost.items()}
    return {name: _share(list(own.values())) for name, own in lost.items()}


def _share(pairs: Sequence[Sequence[float]]) -> RotorShare:
    table = np.array(pairs, dtype=float)
    whole = float(table[:, 0].sum() / table[:, 1].sum())
    n = len(pairs)
    left_out = (table[:, 0].sum() - table[:, 0]) / (table[:, 1].sum() - table[:, 1])
    u = float(np.sqrt((n - 1) / n * np.square(left_out - left_out.mean()).sum()))
    return RotorShare(max(whole, 0.0), u, n)


def _rotor_lost(end: EndSet) -> tuple[float, float] | None:
    """Rotor thickness lost and friction worn over the looks of a set that measured the rotor."""
    rows = []
    for look in end.looks():
        taken = look.inspection.wheel_end(end.info.place)
        reading = None if taken is None else taken.measured("rotor_thickness")
        if reading is not None:
            rows.append((look.clock, reading.value))
    if len(rows) < 2:
        return None
    clock, value = np.array(rows).T
    ahead = clock - clock.mean()
    square = float((ahead**2).sum())
    if square <= 0.0:
        return None
    slope = -float((ahead * value).sum()) / square
    run = float(clock[-1] - clock[0])
    return slope * run, end.rate * run


@dataclass(frozen=True, slots=True)
class Cell:
    """All sets of one group on one vehicle and axle role.

    Parameters
    ----------
    group, vehicle, role, duty : str
        Which.
    value : float
        Mean of the log.
    count : int
        Sets in it.
    """

    group: str
    vehicle: str
    role: str
    duty: str
    value: float
    count: int


def cells_of(sets: Sequence[GroupedSet], values: Floats) -> list[Cell]:
    """Join the sets of one group on one vehicle and axle role.

    Parameters
    ----------
    sets : sequence of GroupedSet
        The sets.
    values : array, shape (sets,), more than 0
        Cost or rate of each.

    Returns
    -------
    list of Cell
        One for each vehicle, role and group.
    """
    logs: dict[tuple[str, str, str, str], list[float]] = {}
    for each, value in zip(sets, np.log(values), strict=True):
        logs.setdefault((each.group, each.vehicle, each.role, each.duty), []).append(float(value))
    return [Cell(*key, float(np.mean(own)), len(own)) for key, own in logs.items()]


def pairs_of(cells: Sequence[Cell], first: str, second: str) -> list[tuple[str, str, float, float]]:
    """Return vehicles and axle roles on which both groups ran.

    Parameters
    ----------
    cells : sequence of Cell
        As from ``cells_of``.
    first, second : str
        The groups.

    Returns
    -------
    list of (str, str, float, float)
        Vehicle, role, and the two logs. The two ends of an axle are never a pair.
    """
    by_place: dict[tuple[str, str], dict[str, float]] = {}
    for cell in cells:
        by_place.setdefault((cell.vehicle, cell.role), {})[cell.group] = cell.value
    return [
        (*place, own[first], own[second]) for place, own in by_place.items() if first in own and second in own
    ]


def without_work(cells: Sequence[Cell], first: str, second: str) -> tuple[list[float], list[float], Shared]:
    """Return one log for each vehicle of either group, differences of duty and axle role taken out.

    Parameters
    ----------
    cells : sequence of Cell
        As from ``cells_of``.
    first, second : str
        The groups.

    Returns
    -------
    list of float, list of float, Shared
        Logs of the vehicles of the first and of the second group, and the degrees of freedom lost.

    Notes
    -----
    Least squares of duty and role beside the group; only kinds of work in which both groups ran count.
    """
    kinds: dict[tuple[str, str], set[str]] = {}
    for cell in cells:
        if cell.group in (first, second):
            kinds.setdefault((cell.duty, cell.role), set()).add(cell.group)
    both = sorted(kind for kind, groups in kinds.items() if len(groups) == 2)
    use = [cell for cell in cells if cell.group in (first, second) and (cell.duty, cell.role) in both]
    if not use:
        return [], [], Shared()
    value = np.array([cell.value for cell in use])
    design = np.zeros((len(use), len(both) + 1))
    for row, cell in enumerate(use):
        design[row, both.index((cell.duty, cell.role))] = 1.0
        design[row, -1] = float(cell.group == second)
    fitted = np.linalg.lstsq(design, value, rcond=None)[0]
    rest = value - design[:, :-1] @ fitted[:-1] + float(fitted[:-1].mean())
    logs: dict[tuple[str, str], list[float]] = {}
    for cell, left in zip(use, rest, strict=True):
        logs.setdefault((cell.group, cell.vehicle), []).append(float(left))
    means = {key: float(np.mean(own)) for key, own in logs.items()}
    a = [mean for (group, _), mean in means.items() if group == first]
    b = [mean for (group, _), mean in means.items() if group == second]
    return a, b, Shared(lost=len(both) - 1)


def compare_sets(
    sets: Sequence[GroupedSet],
    values: Floats,
    names: tuple[str, str],
    *,
    smallest: float,
    shared: Shared,
) -> tuple[Comparison, bool]:
    """Compare two groups of pad sets: paired by vehicle and axle role where it can be, else over vehicles.

    Parameters
    ----------
    sets : sequence of GroupedSet
        The sets.
    values : array, shape (sets,), more than 0
        Cost or rate of each.
    names : (str, str)
        First and second group.
    smallest : float, [1]
        Difference worth knowing.
    shared : Shared
        What all values of a group share.

    Returns
    -------
    Comparison, bool
        Second against first, and whether it is paired.

    Raises
    ------
    DomainError
        If neither three pairs nor three vehicles of each on the same kind of work are there.
    """
    cells = cells_of(sets, values)
    pairs = pairs_of(cells, *names)
    if len(pairs) >= LEAST:
        a, b = np.exp([pair[2] for pair in pairs]), np.exp([pair[3] for pair in pairs])
        return compare_pairs(list(a), list(b), smallest=smallest, shared=shared), True
    first, second, lost = without_work(cells, *names)
    if min(len(first), len(second)) < LEAST:
        raise DomainError(
            f"'{names[0]}' and '{names[1]}' never ran on the same kind of work often enough",
            allowed=f"{LEAST} vehicles of each on one duty and axle role, or {LEAST} pairs on one vehicle",
            cure="Fit both on the same axle in turn, or on sister vehicles",
        )
    joined = Shared(shared.u, shared.dof, lost.lost)
    found = compare_groups(list(np.exp(first)), list(np.exp(second)), smallest=smallest, shared=joined)
    return found, False
