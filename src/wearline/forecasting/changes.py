"""Wrong readings and pad changes that nobody recorded, with their probability.

For every suspicious pad set the ways to explain its readings are weighed against each other: as they stand,
one reading wrong, or new pads fitted in one of the gaps. Each explanation is a pad set or two, so the same
evidence that fits the fleet also weighs them. Nothing is deleted: what is decided here is reported.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wearline.forecasting.nested import Floats, Ints
from wearline.forecasting.padsets import GaugeSums, Readings, Tracks, gauge_sums
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.sites import Tilted, intervals_of, tilted_moments
from wearline.forecasting.wear_model import (
    FleetTable,
    Hyper,
    Inference,
    fit_hyper,
    infer_fleet,
    prior_hyper,
    some_vehicles,
    widened,
)

__all__ = ["Change", "Cleaned", "Outlier", "clean", "collapse", "learn", "split_sets", "without_readings"]

_FITTED_AT = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
"""Where in a gap the new pads may have been fitted."""

_LOG_2PI = float(np.log(2.0 * np.pi))
_NO_INFORMATION = 1e3
"""[m] Uncertainty of a reading that is to say nothing."""

_BREAK = 0.01
_BREAK_SPREAD = 0.7
"""[1] Chance of another rate from one reading on, and spread of its log (expert judgement:
a dead retarder or a dragging brake doubles the wear)."""

_MOST_GAPS = 40
_LEFT_ALONE = 0.1
"""Below this probability a change is not worth a word."""


@dataclass(frozen=True, slots=True)
class Change:
    """New pads that nobody recorded.

    Parameters
    ----------
    padset : int
        Running number of the set in the table that was looked at.
    after, before : float, [m]
        Distances since the recorded fitting of the readings on either side.
    fitted, u_fitted : float, [m]
        Where between them, and how sure.
    probability : float
        That pads were renewed in this set without a record, or that their rate changed.
    decided : bool
        Whether the forecast takes it for granted.
    friction, u_friction : float, [m]
        Where the same pads went on at another rate: friction at ``after``; NaN for new pads.
    """

    padset: int
    after: float
    before: float
    fitted: float
    u_fitted: float
    probability: float
    decided: bool
    friction: float = float("nan")
    u_friction: float = 0.0

    @property
    def new_pads(self) -> bool:
        """Whether it is a change of pads, and not of their rate."""
        return bool(np.isnan(self.friction))


@dataclass(frozen=True, slots=True)
class Outlier:
    """A reading that fits nothing else.

    Parameters
    ----------
    padset : int
        Running number of the set.
    run : float, [m]
        Distance since the recorded fitting.
    probability : float
        That it is wrong.
    used : bool
        Whether it is used all the same: the last reading of a set is never argued away when it is thinner
        than expected.
    """

    padset: int
    run: float
    probability: float
    used: bool = False


@dataclass(frozen=True, slots=True)
class Cleaned:
    """A table without what was found wrong, and what that was.

    Parameters
    ----------
    table : FleetTable
        To be used instead; its sets are numbered anew.
    origin : array of int, shape (sets,)
        Set of the first table from which each set comes.
    shift : array of float, shape (sets,), [m]
        Distance since the recorded fitting at which the set was really fitted.
    changes, outliers : tuple
        Findings, in numbers of the first table.
    """

    table: FleetTable
    origin: Ints
    shift: Floats
    changes: tuple[Change, ...]
    outliers: tuple[Outlier, ...]


def collapse(table: FleetTable) -> FleetTable:
    """Return one track per pad set: the mean of its spots at every look, and its intervals.

    Parameters
    ----------
    table : FleetTable
        With any number of tracks per set.

    Returns
    -------
    FleetTable
        With levels vehicle, end, set.
    """
    tracks, readings = table.tracks, table.readings
    if table.levels[-1] == "set":
        return table
    owner = np.repeat(np.arange(tracks.n), tracks.count)
    padset = tracks.padset[owner]
    gauge = ~np.isnan(readings.value)
    order = np.lexsort((~gauge, readings.run, padset))
    owner, padset, gauge, sorted_ = owner[order], padset[order], gauge[order], readings.rows(order)
    lost = sorted_.value - tracks.new[owner]
    # gauge readings of one set at one distance become one; an interval stays alone
    first = np.ones(padset.size, dtype=bool)
    first[1:] = (padset[1:] != padset[:-1]) | (sorted_.run[1:] != sorted_.run[:-1]) | ~gauge[1:] | ~gauge[:-1]
    group = np.flatnonzero(first)
    size = np.diff(np.append(group, padset.size)).astype(float)
    heads, set_first = np.unique(tracks.padset, return_index=True)
    new = tracks.new[set_first]
    row_set = np.searchsorted(heads, padset[group])
    total = np.add.reduceat(lost, group) / size if group.size else np.zeros(0)
    u = np.sqrt(np.add.reduceat(np.square(sorted_.u), group)) / size if group.size else np.zeros(0)
    move = new[row_set] - tracks.new[owner[group]]
    count = np.bincount(row_set, minlength=heads.size)
    one = Tracks(
        tracks.vehicle[set_first],
        tracks.end[set_first],
        heads,
        heads,
        np.cumsum(count) - count,
        count,
        new,
        tracks.u_new[set_first],
        tracks.design[set_first],
        np.ones(heads.size, dtype=bool),
    )
    reading = Readings(
        sorted_.run[group], total + new[row_set], u, sorted_.low[group] + move, sorted_.high[group] + move
    )
    return replace(table, tracks=one, readings=reading, levels=("vehicle", "end", "set"))


def _segments(table: FleetTable, padset: Ints, first: Ints, last: Ints, shift: Floats) -> FleetTable:
    """Virtual sets made of readings ``first`` to ``last`` (excluded) of real ones, distances shifted."""
    tracks, readings = table.tracks, table.readings
    count = last - first
    start = np.cumsum(count) - count
    inside = np.arange(int(count.sum())) - np.repeat(start, count)
    rows = np.repeat(tracks.start[padset] + first, count) + inside
    chosen = readings.rows(rows)
    chosen = replace(chosen, run=np.maximum(chosen.run - np.repeat(shift, count), 0.0))
    virtual = replace(
        tracks,
        vehicle=padset,
        end=padset,
        padset=padset,
        pad=padset,
        start=start,
        count=count,
        new=tracks.new[padset],
        u_new=tracks.u_new[padset],
        design=tracks.design[padset],
        part=tracks.part[padset],
    )
    return replace(table, tracks=virtual, readings=chosen)


def _evidence(
    virtual: FleetTable, mean: Floats, variance: Floats, hyper: Hyper
) -> tuple[Floats, Tilted, GaugeSums]:
    rate = np.exp(mean)
    sums = gauge_sums(virtual.tracks, virtual.readings, rate=rate, route=hyper.route, scale=hyper.scale)
    between = intervals_of(virtual.tracks, virtual.readings, rate=rate, route=hyper.route)
    tilted = tilted_moments(sums, between, mean, variance, hyper.misread)
    gauges = np.zeros(virtual.tracks.n)
    owner = np.repeat(np.arange(virtual.tracks.n), virtual.tracks.count)
    np.add.at(gauges, owner, (~np.isnan(virtual.readings.value)).astype(float))
    return tilted.log_evidence - 0.5 * sums.rest - 0.5 * gauges * _LOG_2PI, tilted, sums


def _suspicious(table: FleetTable, known: Inference, hyper: Hyper) -> Ints:
    """Sets whose readings rise, do not fit their own rate, or wear far slower than the rest expects."""
    tracks, readings = table.tracks, table.readings
    owner = np.repeat(np.arange(tracks.n), tracks.count)
    rate = np.exp(known.mean)[owner]
    expected = tracks.new[owner] - rate * readings.run
    spread2 = np.square(tracks.u_new[owner]) + hyper.route * rate**2 * readings.run
    u2 = np.square(hyper.scale * readings.u)
    with np.errstate(invalid="ignore"):
        off = np.abs(readings.value - expected) > 2.5 * np.sqrt(u2 + spread2)
        beyond = np.fmax(readings.low - expected, expected - readings.high)
        off |= beyond > 1.0 * np.sqrt(u2 + spread2)
        middle = np.where(np.isnan(readings.value), 0.5 * (readings.low + readings.high), readings.value)
        reach = np.where(np.isnan(readings.value), 0.5 * (readings.high - readings.low), 0.0) + 2.0 * np.sqrt(
            u2
        )
        rise = np.zeros(owner.size, dtype=bool)
        rise[1:] = (owner[1:] == owner[:-1]) & (middle[1:] - middle[:-1] > np.hypot(reach[1:], reach[:-1]))
    slow = (known.mean - known.cavity_mean) < -1.3 * np.sqrt(known.cavity_variance)
    marked = np.zeros(tracks.n, dtype=bool)
    np.logical_or.at(marked, owner, off | rise)
    return np.flatnonzero((marked | slow) & (tracks.count > 0))


@dataclass(frozen=True, slots=True)
class _Weighed:
    """Explanations of each candidate set."""

    candidate: Ints
    p_change: Floats
    gap: Ints
    p_outlier: Floats
    reading: Ints
    thin_at_last: NDArray[np.bool_]
    p_broken: Floats
    break_at: Ints
    there: Floats
    u_there: Floats


def _weigh(
    table: FleetTable, known: Inference, hyper: Hyper, settings: ForecastSettings, candidate: Ints
) -> _Weighed:
    tracks = table.tracks
    tau2 = float(hyper.variance[table.levels.index("set")])
    count = np.minimum(tracks.count[candidate], _MOST_GAPS)
    which = np.repeat(np.arange(candidate.size), count)
    k = np.arange(int(count.sum())) - np.repeat(np.cumsum(count) - count, count)
    base = tracks.count[candidate] - count  # with very many readings only the last gaps are looked at
    k = k + base[which]
    mean, variance = known.cavity_mean[candidate], known.cavity_variance[candidate]
    zero = np.zeros(candidate.size, dtype=np.int64)
    none = np.zeros(candidate.size)
    same, _, _ = _evidence(
        _segments(table, candidate, zero, tracks.count[candidate], none), mean, variance, hyper
    )
    change, broken, there, u_there = _changed(
        table, hyper, candidate[which], k, (mean[which], variance[which]), tau2
    )
    wrong = _one_wrong(table, hyper, candidate[which], k, (mean[which], variance[which]))
    new = tracks.new[candidate[which]]
    log_change = change + np.log(settings.unrecorded) - np.log(_FITTED_AT.size)
    log_wrong = wrong + np.log(max(settings.outliers, 1e-12)) - np.log(new)
    is_gauge = ~np.isnan(table.readings.value[tracks.start[candidate[which]] + k])
    log_wrong = np.where(is_gauge, log_wrong, -np.inf)
    log_broken = broken + np.log(_BREAK)
    top = same.copy()
    np.maximum.at(top, which, np.maximum(np.maximum(log_change.max(axis=1), log_broken), log_wrong))
    w_same = np.exp(same - top)
    w_change = np.exp(log_change - top[which, None])
    w_wrong = np.exp(log_wrong - top[which])
    w_broken = np.exp(log_broken - top[which])
    total = w_same.copy()
    np.add.at(total, which, w_change.sum(axis=1) + w_wrong + w_broken)
    p_gap = w_change.sum(axis=1) / total[which]
    best_gap = _best(which, p_gap, candidate.size)
    best_wrong = _best(which, w_wrong / total[which], candidate.size)
    p_change = np.zeros(candidate.size)
    np.add.at(p_change, which, p_gap)
    best_broken = _best(which, w_broken / total[which], candidate.size)
    p_broken = np.zeros(candidate.size)
    np.add.at(p_broken, which, w_broken / total[which])
    return _Weighed(
        candidate,
        p_change,
        k[best_gap],
        (w_wrong / total[which])[best_wrong],
        k[best_wrong],
        _thin_at_last(table, known, candidate[which], k)[best_wrong],
        p_broken,
        k[best_broken],
        there[best_broken],
        u_there[best_broken],
    )


def _thin_at_last(table: FleetTable, known: Inference, padset: Ints, k: Ints) -> NDArray[np.bool_]:
    """Whether reading k is the last of its set and thinner than expected: never to be argued away."""
    tracks = table.tracks
    row = tracks.start[padset] + k
    expected = tracks.new[padset] - np.exp(known.mean[padset]) * table.readings.run[row]
    last = k == tracks.count[padset] - 1
    return np.asarray(last & (table.readings.value[row] < expected))


def _best(which: Ints, value: Floats, count: int) -> Ints:
    """Row of the greatest value of each candidate."""
    order = np.lexsort((value, which))
    last = np.searchsorted(which[order], np.arange(count), side="right") - 1
    return np.asarray(order[last])


def _changed(
    table: FleetTable, hyper: Hyper, padset: Ints, k: Ints, cavity: tuple[Floats, Floats], tau2: float
) -> tuple[Floats, Floats, Floats, Floats]:
    """Evidence of new pads before reading k for each place in the gap; of another rate from reading k - 1
    on, with the friction there and its uncertainty.
    """
    tracks, readings = table.tracks, table.readings
    mean, variance = cavity
    zero = np.zeros(k.size, dtype=np.int64)
    left, moments, sums = _evidence(
        _segments(table, padset, zero, k, np.zeros(k.size)), mean, variance, hyper
    )
    gain = np.clip(variance - tau2, 0.0, None) / variance
    mean_right = mean + gain * (moments.mean - mean)
    variance_right = np.maximum(variance - gain**2 * (variance - moments.variance), 1e-6)
    row = tracks.start[padset] + k
    before = readings.run[row]
    after = np.where(k > 0, readings.run[np.maximum(row - 1, 0)], 0.0)
    fitted = after[:, None] + (before - after)[:, None] * _FITTED_AT
    times = _FITTED_AT.size
    right, _, _ = _evidence(
        _segments(
            table,
            np.repeat(padset, times),
            np.repeat(k, times),
            np.repeat(tracks.count[padset], times),
            fitted.ravel(),
        ),
        np.repeat(mean_right, times),
        np.repeat(variance_right, times),
        hyper,
    )
    # the pads stay, but from the reading before on they wear at a rate of their own
    rate = np.exp(moments.mean)
    there = sums.level + sums.slope * rate
    u_there = np.sqrt(sums.variance + np.square(sums.slope * rate) * moments.variance)
    virtual = _segments(table, padset, k, tracks.count[padset], after)
    starts = replace(virtual.tracks, new=there, u_new=u_there)
    broken, _, _ = _evidence(
        replace(virtual, tracks=starts), mean_right, variance_right + _BREAK_SPREAD**2, hyper
    )
    broken = np.where((k > 0) & (before > after), left + broken, -np.inf)
    return np.asarray(left[:, None] + right.reshape(-1, times)), broken, there, u_there


def _one_wrong(
    table: FleetTable, hyper: Hyper, padset: Ints, k: Ints, cavity: tuple[Floats, Floats]
) -> Floats:
    """Evidence of a set without its reading k."""
    zero = np.zeros(k.size, dtype=np.int64)
    virtual = _segments(table, padset, zero, table.tracks.count[padset], np.zeros(k.size))
    u = virtual.readings.u.copy()
    u[virtual.tracks.start + k] = _NO_INFORMATION
    virtual = replace(virtual, readings=replace(virtual.readings, u=u))
    found, _, _ = _evidence(virtual, *cavity, hyper)
    return np.asarray(found + np.log(hyper.scale * _NO_INFORMATION) + 0.5 * _LOG_2PI)


def split_sets(table: FleetTable, changes: list[Change], rate: Floats) -> tuple[FleetTable, Ints, Floats]:
    """Return the table with the sets of decided changes split in two.

    Parameters
    ----------
    table : FleetTable
        With any number of tracks per set.
    changes : list of Change
        In numbers of this table's sets, at most one per set.
    rate : array, shape (sets,), [m/m]
        Usual rate of each set, from which the uncertain place of fitting becomes an uncertain thickness.

    Returns
    -------
    FleetTable, array of int, array of float
        The new table; for each of its sets the old set and the distance by which it begins later.
    """
    tracks, readings = table.tracks, table.readings
    sets = int(tracks.padset.max()) + 1 if tracks.n else 0
    after, shift, u_shift = np.full(sets, np.inf), np.zeros(sets), np.zeros(sets)
    friction, u_friction, usual = np.full(sets, np.nan), np.zeros(sets), np.zeros(sets)
    usual[tracks.padset] = tracks.new
    for change in changes:
        after[change.padset] = 0.5 * (change.after + change.before)
        shift[change.padset], u_shift[change.padset] = change.fitted, change.u_fitted
        friction[change.padset], u_friction[change.padset] = change.friction, change.u_friction
    split = np.isfinite(after)
    parts = 1 + split[tracks.padset].astype(np.int64)
    old = np.repeat(np.arange(tracks.n), parts)
    later = np.zeros(old.size, dtype=bool)
    later[1:] = old[1:] == old[:-1]
    owner = np.repeat(np.arange(tracks.n), tracks.count)
    row_later = readings.run > after[tracks.padset[owner]]
    first_part = np.cumsum(parts) - parts
    row_track = first_part[owner] + row_later
    run = readings.run - np.where(row_later, shift[tracks.padset[owner]], 0.0)
    new_sets = tracks.padset[old] * 2 + later
    order = np.lexsort((np.arange(old.size), tracks.pad[old], new_sets, tracks.end[old], tracks.vehicle[old]))
    place = np.empty(old.size, dtype=np.int64)
    place[order] = np.arange(old.size)
    rows = np.argsort(place[row_track], kind="stable")
    count = np.bincount(place[row_track], minlength=old.size)
    old, later, new_sets = old[order], later[order], new_sets[order]
    labels, padset = np.unique(new_sets, return_inverse=True)
    pads = tracks.pad[old] * 2 + later
    where = tracks.padset[old]
    u_new = np.hypot(tracks.u_new[old], np.where(later, rate[where] * u_shift[where], 0.0))
    same_pads = later & ~np.isnan(friction[where])
    # each spot goes on from its own last reading, which the mean of the set does not know
    own, u_own = _spot_friction(table, after)
    known_spot = same_pads & ~np.isnan(own[old])
    new = np.where(same_pads, friction[where] + tracks.new[old] - usual[where], tracks.new[old])
    new = np.where(known_spot, own[old], new)
    u_new = np.where(same_pads, u_friction[where], u_new)
    u_new = np.where(known_spot, u_own[old], u_new)
    made = Tracks(
        tracks.vehicle[old],
        tracks.end[old],
        padset.astype(np.int64),
        _running(padset, pads),
        np.cumsum(count) - count,
        count,
        new,
        u_new,
        tracks.design[old],
        tracks.part[old],
    )
    reading = replace(readings.rows(rows), run=np.maximum(run[rows], 0.0))
    origin = labels // 2
    return (
        replace(table, tracks=made, readings=reading),
        origin,
        np.where(labels % 2 == 1, shift[origin], 0.0),
    )


def _spot_friction(table: FleetTable, after: Floats) -> tuple[Floats, Floats]:
    """Last thickness that each track shows before the break of its set, and its uncertainty; NaN for none."""
    tracks, readings = table.tracks, table.readings
    owner = np.repeat(np.arange(tracks.n), tracks.count)
    rows = np.flatnonzero((readings.run <= after[tracks.padset[owner]]) & ~np.isnan(readings.value))
    value, u = np.full(tracks.n, np.nan), np.zeros(tracks.n)
    value[owner[rows]], u[owner[rows]] = readings.value[rows], readings.u[rows]
    return value, u


def _running(padset: Ints, pads: Ints) -> Ints:
    """Pads numbered anew in the order of the rows."""
    change = np.ones(padset.size, dtype=bool)
    change[1:] = (padset[1:] != padset[:-1]) | (pads[1:] != pads[:-1])
    return np.cumsum(change) - 1


def without_readings(table: FleetTable, drop: NDArray[np.bool_]) -> FleetTable:
    """Return the table without some readings.

    Parameters
    ----------
    table : FleetTable
        The table.
    drop : array of bool, shape (readings,)
        What to leave out.

    Returns
    -------
    FleetTable
        Every track stays, even without a reading.
    """
    owner = np.repeat(np.arange(table.tracks.n), table.tracks.count)
    keep = np.flatnonzero(~drop)
    count = np.bincount(owner[keep], minlength=table.tracks.n)
    tracks = replace(table.tracks, start=np.cumsum(count) - count, count=count)
    return replace(table, tracks=tracks, readings=table.readings.rows(keep))


def clean(
    table: FleetTable, hyper: Hyper, settings: ForecastSettings, *, rounds: int = 3, keep_thin: bool = True
) -> Cleaned:
    """Find wrong readings and unrecorded changes, and return the table without them.

    Parameters
    ----------
    table : FleetTable
        As recorded.
    hyper : Hyper
        The fleet's numbers as far as known.
    settings : ForecastSettings
        Chances of faults.
    rounds : int, optional
        A set with several faults is looked at again this often.
    keep_thin : bool, optional
        Whether a last reading that is thinner than expected stays, whatever its probability: so for every
        answer; not for learning the fleet's numbers.

    Returns
    -------
    Cleaned
        Table and findings.
    """
    sets = int(table.tracks.padset.max()) + 1 if table.tracks.n else 0
    origin, shift = np.arange(sets), np.zeros(sets)
    changes: list[Change] = []
    outliers: list[Outlier] = []
    for _ in range(rounds):
        one = collapse(table)
        if one.tracks.n == 0:
            break
        # the mean of a set's spots takes the levels below the set as noise
        one_hyper = replace(hyper, variance=hyper.variance[:3])
        known = infer_fleet(one, one_hyper, sweeps=2)
        candidate = _suspicious(one, known, hyper)
        if candidate.size == 0:
            break
        weighed = _weigh(one, known, one_hyper, settings, candidate)
        now, wrong = _decide(one, weighed, origin, shift, keep_thin=keep_thin)
        changes += [made for made, _ in now]
        outliers += [made for made, _, _ in wrong if made not in outliers]
        wrong = [each for each in wrong if not each[0].used]
        splits = [own for made, own in now if made.decided]
        if not splits and not wrong:
            break
        if wrong:
            table = without_readings(table, _dropped(table, wrong))
        if splits:
            table, back, later = split_sets(table, splits, np.exp(known.cavity_mean))
            origin, shift = origin[back], shift[back] + later
    doubtful = {change.padset: change for change in changes if not change.decided}
    certain = [change for change in changes if change.decided]
    rest = [doubt for padset, doubt in doubtful.items() if padset not in {c.padset for c in certain}]
    return Cleaned(table, origin, shift, tuple(certain + rest), tuple(outliers))


def learn(table: FleetTable, settings: ForecastSettings) -> Hyper:
    """Learn a fleet's numbers from its history as recorded, faults and all.

    Parameters
    ----------
    table : FleetTable
        As recorded.
    settings : ForecastSettings
        Where to start.

    Returns
    -------
    Hyper
        Learnt from at most a few thousand vehicles, faults found and left out twice over.
    """
    some = some_vehicles(table)
    hyper = prior_hyper(some, settings)
    for _ in range(2):
        cleaned = clean(some, widened(some, hyper), settings, keep_thin=False)
        hyper = fit_hyper(cleaned.table, settings)
    return hyper


def _dropped(table: FleetTable, wrong: list[tuple[Outlier, int, float]]) -> NDArray[np.bool_]:
    owner = table.tracks.padset[np.repeat(np.arange(table.tracks.n), table.tracks.count)]
    drop = np.zeros(owner.size, dtype=bool)
    for _, padset, run in wrong:
        low, high = np.searchsorted(owner, [padset, padset + 1])
        piece = table.readings
        drop[low:high] |= np.isclose(piece.run[low:high], run, rtol=0.0, atol=0.5) & ~np.isnan(
            piece.value[low:high]
        )
    return drop


def _break(one: FleetTable, weighed: _Weighed, i: int, origin: Ints, shift: Floats) -> tuple[Change, Change]:
    own = int(weighed.candidate[i])
    row = int(one.tracks.start[own]) + int(weighed.break_at[i])
    after, before = float(one.readings.run[row - 1]), float(one.readings.run[row])
    zero = float(shift[own])
    local = Change(
        own,
        after,
        before,
        after,
        0.0,
        float(weighed.p_broken[i]),
        True,
        float(weighed.there[i]),
        float(weighed.u_there[i]),
    )
    told = replace(
        local, padset=int(origin[own]), after=after + zero, before=before + zero, fitted=after + zero
    )
    return told, local


def _decide(
    one: FleetTable, weighed: _Weighed, origin: Ints, shift: Floats, *, keep_thin: bool
) -> tuple[list[tuple[Change, Change]], list[tuple[Outlier, int, float]]]:
    changes: list[tuple[Change, Change]] = []
    outliers: list[tuple[Outlier, int, float]] = []
    for i, own in enumerate(weighed.candidate):
        p_change, p_wrong = float(weighed.p_change[i]), float(weighed.p_outlier[i])
        start = int(one.tracks.start[own])
        p_broken = float(weighed.p_broken[i])
        if p_broken > max(p_wrong, p_change, 0.5):
            changes.append(_break(one, weighed, i, origin, shift))
        elif p_change >= max(p_wrong, _LEFT_ALONE):
            k = int(weighed.gap[i])
            before = float(one.readings.run[start + k])
            after = float(one.readings.run[start + k - 1]) if k else 0.0
            decided = p_change > 0.5
            # the readings must not be used twice, so the place within the gap stays as open as it was
            local = Change(
                int(own), after, before, 0.5 * (after + before), (before - after) / 12**0.5, p_change, decided
            )
            zero = float(shift[own])
            told = replace(
                local,
                padset=int(origin[own]),
                after=after + zero,
                before=before + zero,
                fitted=local.fitted + zero,
            )
            changes.append((told, local))
        elif p_wrong > 0.5:
            run = float(one.readings.run[start + int(weighed.reading[i])])
            used = keep_thin and bool(weighed.thin_at_last[i])
            told_run = run + float(shift[own])
            outliers.append((Outlier(int(origin[own]), told_run, p_wrong, used), int(own), run))
    return changes, outliers
