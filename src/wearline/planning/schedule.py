"""Work on axles placed in weeks: under the shop's hours, never later than the risk allows, at least cost.

Every possible visit is one column: a vehicle, a week and the axles done then. Visits that cover each axle
once and keep the shop's hours are chosen so that visits, thrown-away friction and early work cost least.
Because a visit's fixed cost sits inside its column, the relaxed programme is nearly whole already, and a shop
of many hundred jobs closes to a small gap. Both ends of an axle are one job.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from wearline.errors import DomainError
from wearline.planning.milp import Programme, Solution, solve

__all__ = ["Booking", "Job", "Plan", "Shop", "plan_shop", "plan_shops"]

Floats = NDArray[np.float64]

_WINDOW = 12
"""Weeks before the latest one that are tried first; all weeks are tried if that does not do."""

_FIRST = 0.3
"""Share of the time for the whole programme before it is bettered part by part."""

_NEIGHBOURS = 6
_PART = 2.5
"""Weeks whose vehicles are placed anew together, and the time for it [s]."""

_MOST_SUBSETS = 4
"""Axles of a vehicle up to which every combination is tried; above, only those next to each other in time."""

_OVERTIME = 1e4
"""Cost of an hour too many when an impossible plan is explained; only its size against all else counts."""

_EXPLAIN = (0.02, 15.0)
"""Gap and time [s] that an explanation is worth."""


@dataclass(frozen=True, slots=True)
class Job:
    """Work on one axle, both ends together.

    Parameters
    ----------
    vehicle, axle : str
        Which one.
    hours : float, [h]
        Labour of one person.
    latest : int
        Last week in which the risk still allows it, from 0; less than 0 is overdue and means week 0.
    waste : float
        Money thrown away for each week that it is done before ``latest``.
    because : str
        What decides.
    risk : tuple of float
        Chance of having met the limit by the end of each week; may be empty.
    """

    vehicle: str
    axle: str
    hours: float
    latest: int
    waste: float
    because: str = ""
    risk: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Shop:
    """One workshop.

    Parameters
    ----------
    name : str
        Its name.
    hours : tuple of float, [h]
        Bay hours of each week.
    visit_cost : float
        Money of one visit of a vehicle, whatever is done.
    visit_hours : float, [h]
        Bay hours of one visit beside the jobs.
    away : mapping of str to frozenset of int
        Weeks in which a vehicle cannot come.
    """

    name: str
    hours: tuple[float, ...]
    visit_cost: float
    visit_hours: float
    away: Mapping[str, frozenset[int]]


@dataclass(frozen=True, slots=True)
class Booking:
    """One visit.

    Parameters
    ----------
    vehicle, shop : str
        Who comes where.
    week : int
        From 0.
    jobs : tuple of Job
        What is done.
    hours : float, [h]
        Bay hours, the visit's own included.
    """

    vehicle: str
    shop: str
    week: int
    jobs: tuple[Job, ...]
    hours: float


@dataclass(frozen=True, slots=True)
class Plan:
    """A shop's plan, or why there is none.

    Parameters
    ----------
    shop : str
        Which one.
    feasible : bool
        Whether every job has a week.
    bookings : tuple of Booking
        By week and vehicle; of an impossible plan those with the least overtime.
    cost, gap : float
        Money, and the gap left: a better plan could cost at most this share less.
    overtime : mapping of int to float, [h]
        Hours missing in each week of an impossible plan.
    not_possible : tuple of str
        Why a plan is impossible: weeks and vehicles.
    """

    shop: str
    feasible: bool
    bookings: tuple[Booking, ...]
    cost: float
    gap: float
    overtime: Mapping[int, float]
    not_possible: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Visit:
    vehicle: str
    week: int
    jobs: tuple[int, ...]
    cost: float
    hours: float


def plan_shops(
    jobs: Mapping[str, Sequence[Job]], shops: Sequence[Shop], *, gap: float = 0.005, seconds: float = 50.0
) -> list[Plan]:
    """Plan several shops, each for itself.

    Parameters
    ----------
    jobs : mapping of str to sequence of Job
        Jobs of each shop.
    shops : sequence of Shop
        The shops.
    gap : float, optional
        Gap at which a search may end.
    seconds : float, optional
        Time for each shop.

    Returns
    -------
    list of Plan
        In the order of the shops.

    Raises
    ------
    DomainError
        If a job or shop is impossible by itself.
    """
    return [plan_shop(jobs.get(shop.name, ()), shop, gap=gap, seconds=seconds) for shop in shops]


def plan_shop(jobs: Sequence[Job], shop: Shop, *, gap: float = 0.005, seconds: float = 50.0) -> Plan:
    """Plan one shop.

    Parameters
    ----------
    jobs : sequence of Job
        What has to be done; a job whose latest week lies beyond the horizon is done when it saves a visit.
    shop : Shop
        Where.
    gap : float, optional
        Gap at which the search may end.
    seconds : float, optional
        Time after which it ends with what it has.

    Returns
    -------
    Plan
        Bookings with the gap, or what makes it impossible.

    Raises
    ------
    DomainError
        If a number is negative or an axle stands in two jobs.
    """
    _check(jobs, shop)
    if not jobs:
        return Plan(shop.name, True, (), 0.0, 0.0, {}, ())
    stranded = [job for job in jobs if _due(job, shop) and not _weeks(job, shop)]
    rest = [job for job in jobs if job not in stranded]
    for window in (_WINDOW, len(shop.hours)):
        visits = _visits(rest, shop, window)
        found = _solved(rest, shop, visits, gap, seconds)
        if found.feasible:
            break
    if found.feasible and not stranded:
        return _plan(rest, shop, visits, found, ())
    return _explained(rest, shop, visits, stranded)


def _solved(jobs: Sequence[Job], shop: Shop, visits: list[_Visit], gap: float, seconds: float) -> Solution:
    """The whole programme first; where time runs out, better weeks for a few vehicles at a time.

    The bound stays that of the whole programme, so the gap is an honest one.
    """
    whole = _programme(jobs, shop, visits, overtime=False)
    start = monotonic()
    found = solve(whole, gap=gap, seconds=_FIRST * seconds)
    if not found.feasible or found.gap <= gap:
        return found if found.proven or found.feasible else solve(whole, gap=gap, seconds=seconds)
    values, cost = found.values.copy(), found.cost
    week = np.array([visit.week for visit in visits])
    names = {name: i for i, name in enumerate(dict.fromkeys(visit.vehicle for visit in visits))}
    vehicle = np.array([names[visit.vehicle] for visit in visits])
    width, low = _NEIGHBOURS, 0
    while monotonic() - start < seconds and cost - found.bound > gap * abs(cost):
        chosen = values > 0.5
        near = chosen & (week >= low) & (week < low + width)
        low = 0 if low + width >= len(shop.hours) else low + width // 2
        width = width + 1 if low == 0 else width
        free = np.isin(vehicle, vehicle[near])
        better = _part(whole, free, values, seconds=min(_PART, seconds - (monotonic() - start)))
        if better is not None and float(whole.cost @ better) < cost - 1e-9:
            values, cost = better, float(whole.cost @ better)
    return replace(found, values=values, cost=cost, gap=max(cost - found.bound, 0.0) / max(abs(cost), 1e-9))


def _part(whole: Programme, free: NDArray[np.bool_], values: Floats, *, seconds: float) -> Floats | None:
    """The best choice for some columns while the others stay."""
    if seconds <= 0.0 or not free.any():
        return None
    size = np.diff(whole.start)
    column = np.repeat(np.arange(whole.cost.size), size)
    taken = np.bincount(
        whole.index, np.where(free[column], 0.0, values[column] * whole.value), minlength=whole.row_lower.size
    )
    entry = free[column]
    found = solve(
        Programme(
            whole.cost[free],
            whole.lower[free],
            whole.upper[free],
            whole.whole[free],
            whole.row_lower - taken,
            whole.row_upper - taken,
            np.append(0, np.cumsum(size[free])),
            whole.index[entry],
            whole.value[entry],
        ),
        gap=1e-3,
        seconds=seconds,
    )
    if not found.feasible:
        return None
    result = values.copy()
    result[free] = found.values
    return result


def _check(jobs: Sequence[Job], shop: Shop) -> None:
    if not shop.hours or min(shop.hours) < 0 or shop.visit_cost < 0 or shop.visit_hours < 0:
        raise DomainError(f"shop {shop.name} has no weeks, or negative hours or costs", allowed="0 or more")
    if any(job.hours < 0 or job.waste < 0 for job in jobs):
        raise DomainError("a job has negative hours or waste", allowed="0 or more")
    if len({(job.vehicle, job.axle) for job in jobs}) < len(jobs):
        raise DomainError("an axle stands in two jobs", allowed="one job for each axle", cure="Join them")


def _due(job: Job, shop: Shop) -> bool:
    return job.latest < len(shop.hours)


def _last(job: Job, shop: Shop) -> int:
    return min(max(job.latest, 0), len(shop.hours) - 1)


def _weeks(job: Job, shop: Shop) -> list[int]:
    away = shop.away.get(job.vehicle, frozenset())
    return [week for week in range(_last(job, shop) + 1) if week not in away]


def _visits(jobs: Sequence[Job], shop: Shop, window: int) -> list[_Visit]:
    """Every visit worth trying."""
    by_vehicle: dict[str, list[int]] = {}
    for number, job in enumerate(jobs):
        by_vehicle.setdefault(job.vehicle, []).append(number)
    visits = []
    for vehicle, numbers in by_vehicle.items():
        away = shop.away.get(vehicle, frozenset())
        for chosen in _subsets(sorted(numbers, key=lambda n: jobs[n].latest)):
            last = min(_last(jobs[n], shop) for n in chosen)
            weeks = [week for week in range(last + 1) if week not in away]
            if not any(_due(jobs[n], shop) for n in chosen):
                continue
            hours = shop.visit_hours + sum(jobs[n].hours for n in chosen)
            for week in weeks[-window:]:
                early = sum(jobs[n].waste * max(jobs[n].latest - week, 0) for n in chosen)
                visits.append(_Visit(vehicle, week, tuple(chosen), shop.visit_cost + early, hours))
    return visits


def _subsets(numbers: list[int]) -> list[tuple[int, ...]]:
    if len(numbers) <= _MOST_SUBSETS:
        return [c for k in range(1, len(numbers) + 1) for c in combinations(numbers, k)]
    return [tuple(numbers[i:j]) for i in range(len(numbers)) for j in range(i + 1, len(numbers) + 1)]


def _programme(jobs: Sequence[Job], shop: Shop, visits: list[_Visit], *, overtime: bool) -> Programme:
    """Each due job once, others at most once, every week within its hours."""
    count, weeks = len(jobs), len(shop.hours)
    index: list[int] = []
    value: list[float] = []
    start = [0]
    for visit in visits:
        index += [*visit.jobs, count + visit.week]
        value += [*([1.0] * len(visit.jobs)), visit.hours]
        start.append(len(index))
    cost = [visit.cost for visit in visits]
    extra = weeks if overtime else 0
    for week in range(extra):
        index.append(count + week)
        value.append(-1.0)
        start.append(len(index))
        cost.append(_OVERTIME)
    columns = len(visits) + extra
    due = np.array([1.0 if _due(job, shop) else 0.0 for job in jobs])
    return Programme(
        cost=np.array(cost, dtype=float),
        lower=np.zeros(columns),
        upper=np.append(np.ones(len(visits)), np.full(extra, np.inf)),
        whole=np.append(np.ones(len(visits), dtype=bool), np.zeros(extra, dtype=bool)),
        row_lower=np.append(due, np.full(weeks, -np.inf)),
        row_upper=np.append(np.ones(count), np.array(shop.hours, dtype=float)),
        start=np.array(start, dtype=np.int64),
        index=np.array(index, dtype=np.int64),
        value=np.array(value, dtype=float),
    )


def _plan(
    jobs: Sequence[Job], shop: Shop, visits: list[_Visit], found: Solution, why: tuple[str, ...]
) -> Plan:
    chosen = [visit for visit, x in zip(visits, found.values, strict=False) if x > 0.5]
    bookings = [
        Booking(visit.vehicle, shop.name, visit.week, tuple(jobs[n] for n in visit.jobs), visit.hours)
        for visit in chosen
    ]
    bookings.sort(key=lambda each: (each.week, each.vehicle))
    hours = found.values[len(visits) :]
    overtime = {week: float(extra) for week, extra in enumerate(hours) if extra > 1e-6}
    cost = float(sum(visit.cost for visit in chosen))
    return Plan(shop.name, not why and not overtime, tuple(bookings), cost, found.gap, overtime, why)


def _explained(
    jobs: Sequence[Job],
    shop: Shop,
    visits: list[_Visit],
    stranded: list[Job],
) -> Plan:
    """The plan with the least overtime, and what stands in the way of one without."""
    why = [
        f"vehicle {job.vehicle} axle {job.axle} must come by week {max(job.latest, 0) + 1}, but is away in "
        "every week until then"
        for job in stranded
    ]
    if not jobs:
        return Plan(shop.name, False, (), 0.0, 0.0, {}, tuple(why))
    found = solve(_programme(jobs, shop, visits, overtime=True), gap=_EXPLAIN[0], seconds=_EXPLAIN[1])
    made = _plan(jobs, shop, visits, found, ("",))
    for week, extra in made.overtime.items():
        names = sorted({each.vehicle for each in made.bookings if each.week <= week and _tight(each, week)})
        shown = ", ".join(names[:12]) + (f" and {len(names) - 12} more" if len(names) > 12 else "")
        why.append(
            f"shop {shop.name} lacks {extra:.1f} h by week {week + 1}: {shown} cannot come later, and the "
            "weeks before are full or the vehicles away"
        )
    return Plan(shop.name, False, made.bookings, made.cost, made.gap, made.overtime, tuple(why))


def _tight(booking: Booking, week: int) -> bool:
    """Whether a visit cannot be put off beyond a week."""
    return min(max(job.latest, 0) for job in booking.jobs) <= week
