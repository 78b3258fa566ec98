"""Wrong readings and pad changes that nobody recorded, with their probability.

For every suspicious pad set the ways to explain its readings are weighed against each other: as they stand,
one reading wrong, or new pads fitted in one of the gaps. Each explanation is a pad set or two, so the same
evidence that fits the fleet also weighs them. Nothing is deleted: what is decided here is reported.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wearline.forecasting.explanations import Weighed, collapse, readings_behind, rising, suspicious, weigh
from wearline.forecasting.nested import Floats, Ints
from wearline.forecasting.padsets import Tracks
from wearline.forecasting.remaining import Doubt
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.wear_model import (
    FleetTable,
    Hyper,
    fit_hyper,
    infer_fleet,
    prior_hyper,
    some_vehicles,
    widened,
)

__all__ = ["Change", "Cleaned", "Outlier", "clean", "collapse", "learn", "split_sets", "without_readings"]

_MOST_READINGS = 300
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
    together : bool
        Whether the other end of the axle shows the same.
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
    together: bool = False

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
    thin : float, [m]
        Least friction that it shows, where it is the last one of its set and thinner than expected: it is
        not argued away, see ``Cleaned.doubts``. NaN for any other.
    """

    padset: int
    run: float
    probability: float
    thin: float = float("nan")

    @property
    def doubted(self) -> bool:
        """Whether the forecast reckons with it all the same, at the chance that it is right."""
        return bool(np.isfinite(self.thin))


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

    def doubts(self, confirmed: Collection[Outlier] = ()) -> tuple[Doubt, ...]:
        """Return the last readings of present sets that are thin and probably, but not surely, wrong.

        Parameters
        ----------
        confirmed : collection of Outlier, optional
            Those that somebody says are right.

        Returns
        -------
        tuple of Doubt
            For ``remaining``, which gives them the chance that they are right.
        """
        tracks = self.table.tracks
        if tracks.n == 0:
            return ()
        last = np.flatnonzero(np.r_[tracks.end[1:] != tracks.end[:-1], True])
        present = {int(self.origin[tracks.padset[row]]): int(row) for row in last}
        return tuple(
            Doubt(
                int(tracks.end[present[each.padset]]),
                1.0 if each in confirmed else 1.0 - each.probability,
                each.thin,
                each.run - float(self.shift[tracks.padset[present[each.padset]]]),
                float(tracks.new[present[each.padset]]),
            )
            for each in self.outliers
            if each.doubted and each.padset in present
        )


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
    if readings.run_variance is not None:
        known = np.zeros(tracks.n)
        np.maximum.at(known, owner, np.where(row_later, 0.0, readings.run_variance))
        own_part = readings.run_variance - np.where(row_later, known[owner], 0.0)
        reading = replace(reading, run_variance=own_part[rows])
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


def clean(table: FleetTable, hyper: Hyper, settings: ForecastSettings, *, rounds: int = 3) -> Cleaned:
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

    Returns
    -------
    Cleaned
        Table and findings.

    Notes
    -----
    A last reading that is thinner than expected is left out like any wrong one, and comes back by
    ``Cleaned.doubts`` with the chance that it is right: no thin pad is ever argued away altogether.
    """
    sets = int(table.tracks.padset.max()) + 1 if table.tracks.n else 0
    origin, shift = np.arange(sets), np.zeros(sets)
    changes: list[Change] = []
    outliers: list[Outlier] = []
    # both parts of a set whose rate changed pull each other's expectation, so they are not weighed again;
    # nor are the later pads that both ends of an axle got, for each by itself might look wrong, and the
    # earlier ones only if they rise, for beside the later ones they may look slow
    settled = np.zeros(sets, dtype=bool)
    calm = np.zeros(sets, dtype=bool)
    for _ in range(rounds):
        one = _thinned(collapse(table))
        if one.tracks.n == 0:
            break
        # the mean of a set's spots takes the levels below the set as noise
        one_hyper = replace(hyper, variance=hyper.variance[:3])
        known = infer_fleet(one, one_hyper, sweeps=2)
        candidate = suspicious(one, known, one_hyper)
        candidate = candidate[~settled[candidate] & (~calm[candidate] | rising(one, one_hyper)[candidate])]
        if candidate.size == 0:
            break
        weighed = weigh(one, known, one_hyper, settings, candidate, readings_behind(table, one))
        now, wrong = _decide(one, weighed, origin, shift, _thinnest(table))
        changes += [made for made, _ in now]
        outliers += [made for made, _, _ in wrong if made not in outliers]
        splits = [own for made, own in now if made.decided]
        if not splits and not wrong:
            break
        if wrong:
            table = without_readings(table, _dropped(table, wrong))
        if splits:
            table, back, later = split_sets(table, splits, np.exp(known.cavity_mean))
            origin, shift = origin[back], shift[back] + later
            settled[[each.padset for each in splits if not each.new_pads]] = True
            of_both = np.isin(back, [each.padset for each in splits if each.together])
            settled = settled[back] | (of_both & (later > 0.0))
            calm = calm[back] | of_both
    doubtful = {change.padset: change for change in changes if not change.decided}
    certain = [change for change in changes if change.decided]
    rest = [doubt for padset, doubt in doubtful.items() if padset not in {c.padset for c in certain}]
    return Cleaned(table, origin, shift, tuple(certain + rest), tuple(outliers))


def _thinned(one: FleetTable) -> FleetTable:
    """A table in which no set has more readings than are worth weighing one by one."""
    count = one.tracks.count
    if one.tracks.n == 0 or int(count.max()) <= _MOST_READINGS:
        return one
    owner = np.repeat(np.arange(one.tracks.n), count)
    place = np.arange(owner.size) - one.tracks.start[owner]
    every = -(-count // _MOST_READINGS)[owner]
    return without_readings(one, (place % every != 0) & (place != count[owner] - 1))


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
        cleaned = clean(some, widened(some, hyper), settings)
        hyper = fit_hyper(cleaned.table, settings)
    return hyper


def _thinnest(table: FleetTable) -> Callable[[int, float], float]:
    """A look-up of the least friction that the gauge readings of a set show at a distance."""
    owner = table.tracks.padset[np.repeat(np.arange(table.tracks.n), table.tracks.count)]
    readings = table.readings

    def least(padset: int, run: float) -> float:
        low, high = np.searchsorted(owner, [padset, padset + 1])
        here = np.isclose(readings.run[low:high], run, rtol=0.0, atol=0.5)
        worn = readings.worn_out[low:high]
        value = np.where(worn, 0.5 * readings.high[low:high], readings.value[low:high])[here]
        return float(np.nanmin(value))

    return least


def _dropped(table: FleetTable, wrong: list[tuple[Outlier, int, float]]) -> NDArray[np.bool_]:
    owner = table.tracks.padset[np.repeat(np.arange(table.tracks.n), table.tracks.count)]
    by_gauge = ~np.isnan(table.readings.value) | table.readings.worn_out
    drop = np.zeros(owner.size, dtype=bool)
    for _, padset, run in wrong:
        low, high = np.searchsorted(owner, [padset, padset + 1])
        piece = table.readings
        drop[low:high] |= np.isclose(piece.run[low:high], run, rtol=0.0, atol=0.5) & by_gauge[low:high]
    return drop


def _several_ends(one: FleetTable, weighed: Weighed) -> NDArray[np.bool_]:
    """Candidates whose last reading is thin, as another end's of the vehicle: both are hardly wrong."""
    own = weighed.candidate
    end = one.tracks.start[own] + one.tracks.count[own] - 1
    last = one.readings.run[one.tracks.start[own] + weighed.break_at] >= one.readings.run[end] - 0.5
    thin = weighed.thin_at_last & last & (weighed.p_outlier + weighed.p_broken > 0.5)
    vehicle = one.tracks.vehicle[own]
    names, which = np.unique(vehicle, return_inverse=True)
    count = np.bincount(which, thin.astype(float), minlength=names.size)
    return np.asarray(thin & (count[which] >= 2))


def _break(one: FleetTable, weighed: Weighed, i: int, origin: Ints, shift: Floats) -> tuple[Change, Change]:
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
        min(float(weighed.p_broken[i] + weighed.p_outlier[i] * weighed.thin_at_last[i]), 1.0),
        True,
        float(weighed.there[i]),
        float(weighed.u_there[i]),
    )
    told = replace(
        local, padset=int(origin[own]), after=after + zero, before=before + zero, fitted=after + zero
    )
    return told, local


def _decide(
    one: FleetTable, weighed: Weighed, origin: Ints, shift: Floats, thinnest: Callable[[int, float], float]
) -> tuple[list[tuple[Change, Change]], list[tuple[Outlier, int, float]]]:
    changes: list[tuple[Change, Change]] = []
    outliers: list[tuple[Outlier, int, float]] = []
    together = _several_ends(one, weighed)
    for i, own in enumerate(weighed.candidate):
        p_change, p_wrong = float(weighed.p_change[i]), float(weighed.p_outlier[i])
        start = int(one.tracks.start[own])
        p_broken = float(weighed.p_broken[i])
        if together[i]:
            p_broken, p_wrong = p_broken + p_wrong, 0.0
        if p_broken > max(p_wrong, p_change, 0.5):
            changes.append(_break(one, weighed, i, origin, shift))
        elif p_change >= max(p_wrong, _LEFT_ALONE):
            k = int(weighed.gap[i])
            before = float(one.readings.run[start + k])
            after = float(one.readings.run[start + k - 1]) if k else 0.0
            decided = p_change > 0.5
            # the readings must not be used twice: they say where in the gap, which stays as open as it was
            local = Change(
                int(own),
                after,
                before,
                after + float(weighed.fitted[i]) * (before - after),
                (before - after) / 12**0.5,
                p_change,
                decided,
                together=bool(weighed.p_together[i] > 0.5),
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
            thin = thinnest(int(own), run) if weighed.thin_at_last[i] else float("nan")
            told_run = run + float(shift[own])
            outliers.append((Outlier(int(origin[own]), told_run, p_wrong, thin), int(own), run))
    return changes, outliers
