"""Ways to explain the readings of a pad set, weighed against each other.

As they stand, one reading wrong, new pads in one of the gaps, or another rate from one reading on: each is a
pad set or two, so the same evidence that fits the fleet also weighs them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wearline.forecasting.nested import Floats, Ints
from wearline.forecasting.padsets import GaugeSums, Readings, Tracks, gauge_sums
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.sites import Tilted, intervals_of, tilted_moments
from wearline.forecasting.wear_model import FleetTable, Hyper, Inference

__all__ = ["Weighed", "collapse", "readings_behind", "rising", "suspicious", "weigh"]

_FITTED_AT = np.array([0.0, 0.15, 0.4, 0.65, 0.9])
_FITTED_CHANCE = np.array([0.4, 0.15, 0.15, 0.15, 0.15])
"""Where in a gap the new pads may have been fitted: often at the look before, with the wheels off (expert
judgement)."""

_LOG_2PI = float(np.log(2.0 * np.pi))
_NO_INFORMATION = 1e3
"""[m] Uncertainty of a reading that is to say nothing."""

_WHOLE_LOOK = 0.05
_FEW = 2
"""[1] A look at more than so many places of one pad set is this much rarer wrong as a whole than one reading
(expert judgement: eight corners are not mistyped alike)."""

_OWN_RATE = 0.1
"""[1] Chance that other pads wear at a rate of their own, spread as after a break (expert judgement)."""

_BREAK = 0.01
_BREAK_SPREAD = 0.7
"""[1] Chance of another rate from one reading on, and spread of its log (expert judgement:
a dead retarder or a dragging brake doubles the wear)."""

_SLOWER = 0.1
"""[1] What breaks drives wear up: a slower rate is so much rarer (expert judgement)."""

_MOST_GAPS = 40


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
    readings = _worn_beside_others(readings, padset)
    kind = np.where(np.isnan(readings.value), np.where(readings.worn_out, 1, 2), 0)
    order = np.lexsort((kind, readings.run, padset))
    owner, padset, kind, sorted_ = owner[order], padset[order], kind[order], readings.rows(order)
    lost = sorted_.value - tracks.new[owner]
    # gauge readings of one set at one distance become one; a step stays alone
    first = np.ones(padset.size, dtype=bool)
    first[1:] = (padset[1:] != padset[:-1]) | (sorted_.run[1:] != sorted_.run[:-1])
    first[1:] |= (kind[1:] != kind[:-1]) | (kind[1:] == 2)
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
        sorted_.run[group],
        total + new[row_set],
        u,
        sorted_.low[group] + move,
        sorted_.high[group] + move,
        None if sorted_.run_variance is None else sorted_.run_variance[group],
    )
    return replace(table, tracks=one, readings=reading, levels=("vehicle", "end", "set"))


def _worn_beside_others(readings: Readings, padset: Ints) -> Readings:
    """A worn-out corner beside others that are not: a little friction in their mean, not an interval."""
    worn = readings.worn_out
    if not worn.any():
        return readings
    looks = np.unique(np.column_stack([padset, readings.run]), axis=0, return_inverse=True)[1].ravel()
    others = np.bincount(looks, ~np.isnan(readings.value)) > 0
    mixed = worn & others[looks]
    half = 0.5 * readings.high
    return replace(
        readings,
        value=np.where(mixed, half, readings.value),
        u=np.where(mixed, np.hypot(readings.u, half / 3**0.5), readings.u),
        low=np.where(mixed, np.nan, readings.low),
        high=np.where(mixed, np.nan, readings.high),
    )


def _segments(table: FleetTable, padset: Ints, first: Ints, last: Ints, shift: Floats) -> FleetTable:
    """Virtual sets made of readings ``first`` to ``last`` (excluded) of real ones, distances shifted."""
    tracks, readings = table.tracks, table.readings
    count = last - first
    start = np.cumsum(count) - count
    inside = np.arange(int(count.sum())) - np.repeat(start, count)
    rows = np.repeat(tracks.start[padset] + first, count) + inside
    chosen = readings.rows(rows)
    chosen = replace(chosen, run=np.maximum(chosen.run - np.repeat(shift, count), 0.0))
    if readings.run_variance is not None and chosen.run_variance is not None:
        before = tracks.start[padset] + first - 1
        known = np.where(first > 0, readings.run_variance[np.maximum(before, 0)], 0.0)
        chosen = replace(chosen, run_variance=chosen.run_variance - np.repeat(known, count))
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


def suspicious(table: FleetTable, known: Inference, hyper: Hyper) -> Ints:
    """Return sets whose readings rise, do not fit their own rate, or wear far slower than the rest expects.

    Parameters
    ----------
    table : FleetTable
        One track per set.
    known : Inference
        Of that table.
    hyper : Hyper
        The fleet's numbers.

    Returns
    -------
    array of int
        Sets worth weighing.
    """
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
    rise = _rises(table, owner, hyper)
    slow = (known.mean - known.cavity_mean) < -1.3 * np.sqrt(known.cavity_variance)
    marked = np.zeros(tracks.n, dtype=bool)
    np.logical_or.at(marked, owner, off | rise)
    return np.flatnonzero((marked | slow) & (tracks.count > 0))


def rising(table: FleetTable, hyper: Hyper) -> NDArray[np.bool_]:
    """Return sets in which a reading shows more friction than the one before, beyond their noise.

    Parameters
    ----------
    table : FleetTable
        One track per set.
    hyper : Hyper
        The fleet's numbers.

    Returns
    -------
    array of bool, shape (sets,)
        Whether it rises anywhere.
    """
    owner = np.repeat(np.arange(table.tracks.n), table.tracks.count)
    risen = np.zeros(table.tracks.n, dtype=bool)
    np.logical_or.at(risen, owner, _rises(table, owner, hyper))
    return risen


def _rises(table: FleetTable, owner: Ints, hyper: Hyper) -> NDArray[np.bool_]:
    """Readings that show more friction than the one before of the same set, beyond their noise."""
    readings = table.readings
    step = np.isnan(readings.value)
    with np.errstate(invalid="ignore"):
        middle = np.where(step, 0.5 * (readings.low + readings.high), readings.value)
        reach = np.where(step, 0.5 * (readings.high - readings.low), 0.0) + 2.0 * hyper.scale * readings.u
        rise = np.zeros(owner.size, dtype=bool)
        rise[1:] = (owner[1:] == owner[:-1]) & (middle[1:] - middle[:-1] > np.hypot(reach[1:], reach[:-1]))
    return rise


@dataclass(frozen=True, slots=True)
class Weighed:
    """Explanations of each candidate set, each of shape (candidates,).

    Parameters
    ----------
    candidate : array of int
        Sets.
    p_change, gap : array
        Chance of new pads, and the reading before which they most likely came.
    fitted : array, 0 to 1
        Where in that gap they were fitted, on average over the places weighed.
    p_together : array
        Chance that both ends of the axle got them in that gap; part of ``p_change``.
    p_outlier, reading : array
        Chance that one reading is wrong, and which.
    thin_at_last : array of bool
        Whether that is the last one and thinner than expected.
    p_broken, break_at : array
        Chance that the rate changed, and the first reading at the new rate.
    there, u_there : array, [m]
        Friction at the reading before, and its uncertainty.
    """

    candidate: Ints
    p_change: Floats
    gap: Ints
    fitted: Floats
    p_together: Floats
    p_outlier: Floats
    reading: Ints
    thin_at_last: NDArray[np.bool_]
    p_broken: Floats
    break_at: Ints
    there: Floats
    u_there: Floats


def readings_behind(table: FleetTable, one: FleetTable) -> Ints:
    """Return how many gauge readings stand behind each reading of the collapsed table.

    Parameters
    ----------
    table : FleetTable
        With any number of tracks per set.
    one : FleetTable
        From ``collapse``, whole or in part.

    Returns
    -------
    array of int, shape (readings of ``one``,)
        At the same set and distance.
    """

    def looks(of: FleetTable, rows: Ints) -> Floats:
        owner = np.repeat(np.arange(of.tracks.n), of.tracks.count)[rows]
        return np.column_stack([of.tracks.padset[owner], np.round(of.readings.run[rows])])

    gauge = np.flatnonzero(~np.isnan(table.readings.value) | table.readings.worn_out)
    wanted = looks(one, np.arange(one.readings.run.size))
    both = np.vstack([looks(table, gauge), wanted])
    _, which = np.unique(both, axis=0, return_inverse=True)
    which = which.ravel()
    count = np.bincount(which[: gauge.size], minlength=int(which.max(initial=0)) + 1)
    return np.asarray(count[which[gauge.size :]])


def weigh(
    table: FleetTable,
    known: Inference,
    hyper: Hyper,
    settings: ForecastSettings,
    candidate: Ints,
    behind: Ints,
) -> Weighed:
    """Weigh the explanations of each candidate set.

    Parameters
    ----------
    table : FleetTable
        One track per set.
    known : Inference
        Of that table.
    hyper : Hyper
        The fleet's numbers.
    settings : ForecastSettings
        Chances of faults.
    candidate : array of int
        Sets, from ``suspicious``.
    behind : array of int, shape (readings,)
        How many gauge readings each reading is the mean of.

    Returns
    -------
    Weighed
        Chances of each explanation.
    """
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
    log_change = change + np.log(settings.unrecorded * _FITTED_CHANCE)
    log_wrong = wrong + np.log(max(settings.outliers, 1e-12)) - np.log(new)
    row = tracks.start[candidate[which]] + k
    is_gauge = ~np.isnan(table.readings.value[row])
    worn = table.readings.worn_out[row]
    # a slip lies anywhere on the pad: the chance that it reads worn out is the share of the pad that means so
    by_slip = wrong + np.log(max(settings.outliers, 1e-12)) + np.log(settings.censored / new)
    log_wrong = np.where(is_gauge, log_wrong, np.where(worn, by_slip, -np.inf))
    log_wrong = log_wrong + np.where(behind[row] > _FEW, np.log(_WHOLE_LOOK), 0.0)
    log_broken = broken + np.log(_BREAK)
    top = same.copy()
    np.maximum.at(top, which, np.maximum(np.maximum(log_change.max(axis=1), log_broken), log_wrong))
    w_same = np.exp(same - top)
    w_change = np.exp(log_change - top[which, None])
    w_wrong = np.exp(log_wrong - top[which])
    w_broken = np.exp(log_broken - top[which])
    total = w_same.copy()
    np.add.at(total, which, w_change.sum(axis=1) + w_wrong + w_broken)
    # the mate's own explanations weigh against a common one; without a mate nothing is common
    own = total[_mate_of(table, candidate)][which]
    pairs = _pairs(table, candidate[which], k)
    # slow wear of both ends has other reasons too; a rise has not
    rise = _rises(table, np.repeat(np.arange(tracks.n), tracks.count), hyper)[row]
    risen = np.where(rise[:, None], log_change - top[which, None], -np.inf)
    shared = _of_both_ends(risen, pairs, settings.unrecorded * _FITTED_CHANCE) / own
    shared_break = _of_both_ends((log_broken - top[which])[:, None], pairs, np.array([_BREAK])) / own
    grown = total.copy()
    np.add.at(grown, which, shared + shared_break)
    total = grown
    w_broken = w_broken + shared_break
    p_gap = (w_change.sum(axis=1) + shared) / total[which]
    best_gap = _best(which, p_gap, candidate.size)
    best_wrong = _best(which, w_wrong / total[which], candidate.size)
    p_change = np.zeros(candidate.size)
    np.add.at(p_change, which, p_gap)
    best_broken = _best(which, w_broken / total[which], candidate.size)
    p_broken = np.zeros(candidate.size)
    np.add.at(p_broken, which, w_broken / total[which])
    return Weighed(
        candidate,
        p_change,
        k[best_gap],
        (w_change @ _FITTED_AT / np.maximum(w_change.sum(axis=1), 1e-300))[best_gap],
        (shared / total[which])[best_gap],
        (w_wrong / total[which])[best_wrong],
        k[best_wrong],
        _thin_at_last(table, known, candidate[which], k)[best_wrong],
        p_broken,
        k[best_broken],
        there[best_broken],
        u_there[best_broken],
    )


def _mate_of(table: FleetTable, candidate: Ints) -> Ints:
    """Place among the candidates of the set on the other end of the axle; its own place where there is none.

    The two ends of an axle have running numbers 2a and 2a + 1.
    """
    tracks = table.tracks
    end, vehicle = tracks.end[candidate], tracks.vehicle[candidate]
    order = np.argsort(end, kind="stable")
    place = np.searchsorted(end[order], end ^ 1).clip(0, candidate.size - 1)
    mate = order[place]
    return np.where((end[mate] == end ^ 1) & (vehicle[mate] == vehicle), mate, np.arange(candidate.size))


def _pairs(table: FleetTable, padset: Ints, k: Ints) -> tuple[Ints, Ints]:
    """Rows of the same gap at the two ends of an axle."""
    tracks, readings = table.tracks, table.readings
    row = tracks.start[padset] + k
    after = np.where(k > 0, readings.run[np.maximum(row - 1, 0)], 0.0)
    key = np.column_stack([tracks.vehicle[padset], tracks.end[padset] >> 1, after, readings.run[row]])
    _, group = np.unique(np.round(key), axis=0, return_inverse=True)
    group = group.ravel()
    order = np.lexsort((tracks.end[padset], group))
    first, second = order[:-1], order[1:]
    pair = (group[first] == group[second]) & (tracks.end[padset[first]] != tracks.end[padset[second]])
    return first[pair], second[pair]


def _of_both_ends(log_weight: Floats, pairs: tuple[Ints, Ints], chance: Floats) -> Floats:
    """Weight of one event at both ends of an axle, for each gap of each candidate that its mate has too.

    Pads are renewed at both ends of an axle, and what drives the wear up mostly acts on both (common
    practice, no source): its chance and its place in the gap count once. ``log_weight``, shape (gaps,
    places), has them twice in the sum of two ends.
    """
    first, second = pairs
    once = log_weight[first] + log_weight[second] - np.log(chance)
    weight = np.zeros(log_weight.shape[0])
    weight[first] = weight[second] = np.exp(np.minimum(once, 600.0)).sum(axis=1)
    return weight


def _thin_at_last(table: FleetTable, known: Inference, padset: Ints, k: Ints) -> NDArray[np.bool_]:
    """Whether reading k is of the last look at its set and thinner than expected: never to be argued away."""
    tracks = table.tracks
    row = tracks.start[padset] + k
    expected = tracks.new[padset] - np.exp(known.mean[padset]) * table.readings.run[row]
    end = tracks.start[padset] + tracks.count[padset] - 1
    last = table.readings.run[row] >= table.readings.run[end] - 0.5
    read = np.where(table.readings.worn_out[row], table.readings.high[row], table.readings.value[row])
    return np.asarray(last & (read < expected))


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
    later = _segments(
        table,
        np.repeat(padset, times),
        np.repeat(k, times),
        np.repeat(tracks.count[padset], times),
        fitted.ravel(),
    )
    mean_later, variance_later = np.repeat(mean_right, times), np.repeat(variance_right, times)
    alike, _, _ = _evidence(later, mean_later, variance_later, hyper)
    other, _, _ = _evidence(later, mean_later, variance_later + _BREAK_SPREAD**2, hyper)
    right = np.logaddexp(np.log(1.0 - _OWN_RATE) + alike, np.log(_OWN_RATE) + other)
    # the pads stay, but from the reading before on they wear at a rate of their own
    rate = np.exp(moments.mean)
    there = sums.level + sums.slope * rate
    u_there = np.sqrt(sums.variance + np.square(sums.slope * rate) * moments.variance)
    virtual = _segments(table, padset, k, tracks.count[padset], after)
    starts = replace(virtual.tracks, new=there, u_new=u_there)
    broken, own, _ = _evidence(
        replace(virtual, tracks=starts), mean_right, variance_right + _BREAK_SPREAD**2, hyper
    )
    broken = np.where(own.mean < mean_right, broken + np.log(_SLOWER), broken)
    broken = np.where((k > 0) & (before > after), left + broken, -np.inf)
    return np.asarray(left[:, None] + right.reshape(-1, times)), broken, there, u_there


def _one_wrong(
    table: FleetTable, hyper: Hyper, padset: Ints, k: Ints, cavity: tuple[Floats, Floats]
) -> Floats:
    """Evidence of a set without its reading k."""
    zero = np.zeros(k.size, dtype=np.int64)
    virtual = _segments(table, padset, zero, table.tracks.count[padset], np.zeros(k.size))
    u = virtual.readings.u.copy()
    row = virtual.tracks.start + k
    worn = virtual.readings.worn_out[row]
    u[row] = _NO_INFORMATION
    virtual = replace(virtual, readings=replace(virtual.readings, u=u))
    found, _, _ = _evidence(virtual, *cavity, hyper)
    # what a reading without information adds to the evidence: a wide density, or half a probability
    added = np.where(worn, np.log(0.5), -np.log(hyper.scale * _NO_INFORMATION) - 0.5 * _LOG_2PI)
    return np.asarray(found - added)
