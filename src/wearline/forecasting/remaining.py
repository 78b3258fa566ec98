"""How far each wheel end still runs to a limit, as draws that hold everything that is uncertain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from wearline.errors import DomainError
from wearline.forecasting.nested import Fitted, Floats, Ints, Leaves, Tree, draw
from wearline.forecasting.wear_model import FleetTable, Hyper, Inference

__all__ = ["Doubt", "Remaining", "crps", "quantiles", "remaining", "shared_roads"]

_SHORT = 2.0e7
"""[m] Over less than this the roads' own spread is not counted as larger (expert judgement)."""

_CHUNK = 3000
"""Tracks drawn at a time."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """A thin last reading that is probably wrong, and may be right.

    Parameters
    ----------
    end : int
        Running number of the wheel end.
    share : float, [1], 0 to 1
        Chance that it is right.
    friction : float, [m]
        Least friction that it shows.
    run : float, [m]
        Its distance since the present set was fitted.
    new : float, [m]
        New thickness of that set.
    """

    end: int
    share: float
    friction: float
    run: float
    new: float


@dataclass(frozen=True, slots=True)
class Remaining:
    """Distance from the last reading to each limit.

    Parameters
    ----------
    end : array of int, shape (ends,)
        Running number of each wheel end.
    distance : array, shape (ends, limits, draws), [m]
        Draws of the distance; 0 where the limit has been met already.
    rate : array, shape (ends, draws), [m/m]
        Present rate of the spot that meets the first limit first.
    friction : array, shape (ends, draws), [m]
        Present friction of the thinnest spot.
    spot : array of int, shape (ends,)
        Track that most often meets the first limit first.
    """

    end: Ints
    distance: Floats
    rate: Floats
    friction: Floats
    spot: Ints


def remaining(
    table: FleetTable,
    hyper: Hyper,
    known: Inference,
    limits: Sequence[float],
    *,
    future_duty: float,
    draws: int,
    rng: np.random.Generator,
    since_fitting: Floats | None = None,
    doubts: Sequence[Doubt] = (),
) -> Remaining:
    """Draw the distance that the present set of every wheel end still runs to each limit.

    Parameters
    ----------
    table : FleetTable
        The fleet; the last set of an end is the present one.
    hyper : Hyper
        Its numbers.
    known : Inference
        From ``infer`` on the same table and numbers.
    limits : sequence of float, [m]
        Least friction of each limit.
    future_duty : float, [1]
        Spread of the coming duty against the past, the same for all ends of a vehicle; what roads differ
        anyhow over the distance (``Hyper.route``) is added.
    draws : int
        How many.
    rng : numpy.random.Generator
        Source of the draws.
    since_fitting : array or None, shape (ends,), [m]
        Where the present set of each end stands today, as distance since its fitting; None or NaN: at its
        last reading.
    doubts : sequence of Doubt, optional
        Thin last readings that the table leaves out, from ``Cleaned.doubts``: in as many draws as each may be
        right it holds, and the pad has worn by it.

    Returns
    -------
    Remaining
        One row for each wheel end, by its running number.

    Raises
    ------
    DomainError
        If there is no limit or no draw to make.

    Notes
    -----
    The friction now is drawn given the rate (``GaugeSums``), so that a fast pad is also a thin one; the end's
    first spot to meet the limit decides.
    """
    if not limits or draws < 1:
        raise DomainError("nothing to draw", allowed="at least one limit and one draw")
    tracks = table.tracks
    last_of_end = np.flatnonzero(np.r_[tracks.end[1:] != tracks.end[:-1], True])
    present = tracks.padset[last_of_end]
    firsts = np.flatnonzero(np.r_[True, tracks.vehicle[1:] != tracks.vehicle[:-1]])
    cuts = firsts[np.unique(np.searchsorted(firsts, np.arange(0, tracks.n, _CHUNK)).clip(0, firsts.size - 1))]
    parts = []
    for low, high in zip(cuts, [*cuts[1:], tracks.n], strict=True):
        rows = np.arange(low, high)
        value = _draw_rates(table, hyper, known, rows, draws, rng)
        keep = np.isin(tracks.padset[rows], present) & tracks.part[rows]
        now_rows = rows[keep]
        today = None
        if since_fitting is not None:
            today = since_fitting[np.searchsorted(tracks.end[last_of_end], tracks.end[now_rows])]
        now = _friction_now(table, hyper, known, now_rows, value[keep], today, rng)
        distance = np.maximum(now - limits[0], 1e-4) / value[keep]
        roads = hyper.route / distance + shared_roads(hyper, known, now_rows)[:, None]
        spread = np.minimum(np.sqrt(future_duty**2 + roads), 1.0)
        names, which = np.unique(tracks.vehicle[now_rows], return_inverse=True)
        future = value[keep] * np.exp(spread * rng.standard_normal((names.size, draws))[which])
        parts.append(_first_to_meet(tracks.end[now_rows], now_rows, value[keep], future, now, limits))
    drawn = Remaining(
        tracks.end[last_of_end],
        np.concatenate([part[0] for part in parts]),
        np.concatenate([part[1] for part in parts]),
        np.concatenate([part[2] for part in parts]),
        np.concatenate([part[3] for part in parts]),
    )
    for doubt in doubts:
        _as_read(drawn, doubt, limits, since_fitting, rng)
    return drawn


def shared_roads(hyper: Hyper, known: Inference, rows: Ints) -> Floats:
    """Return the variance of a log rate from past roads that its posterior takes for averaged out.

    Parameters
    ----------
    hyper : Hyper
        The fleet's numbers.
    known : Inference
        From ``infer`` with these numbers.
    rows : array of int
        Tracks wanted.

    Returns
    -------
    array, shape (rows,)
        Variance to be added.

    Notes
    -----
    The roads of a stretch were the same for all ends of a vehicle, and the posterior takes them for
    different: what is left is route / distance less the share that roads have in the posterior variance
    (derived, for ends that are read alike).
    """
    part = hyper.route / np.maximum(known.sums.last[rows], _SHORT)
    own = np.minimum(part * known.site_weight[rows], 1.0)
    return np.asarray(np.maximum(part - own * known.variance[rows], 0.0))


def _as_read(
    drawn: Remaining,
    doubt: Doubt,
    limits: Sequence[float],
    since_fitting: Floats | None,
    rng: np.random.Generator,
) -> None:
    """Let a doubted reading hold in some draws: the friction it shows, worn at the rate that it implies."""
    row = int(np.searchsorted(drawn.end, doubt.end))
    chosen = np.flatnonzero(rng.uniform(size=drawn.rate.shape[1]) < doubt.share)
    rate = drawn.rate[row, chosen]
    if doubt.run > 0.0:
        rate = np.maximum(rate, (doubt.new - doubt.friction) / doubt.run)
    today = np.nan if since_fitting is None else float(since_fitting[row])
    step = 0.0 if np.isnan(today) else max(today - doubt.run, 0.0)
    friction = np.maximum(doubt.friction - rate * step, 0.0)
    drawn.rate[row, chosen] = rate
    drawn.friction[row, chosen] = friction
    for number, limit in enumerate(limits):
        drawn.distance[row, number, chosen] = np.maximum(friction - limit, 0.0) / rate


def _draw_rates(
    table: FleetTable, hyper: Hyper, known: Inference, rows: Ints, draws: int, rng: np.random.Generator
) -> Floats:
    tracks = table.tracks
    part = replace(
        tracks,
        vehicle=tracks.vehicle[rows],
        end=tracks.end[rows],
        padset=tracks.padset[rows],
        pad=tracks.pad[rows],
    )
    tree = Tree.of(table.keys(part))
    leaves = Leaves(known.site_weight[rows], known.site_mean[rows], tracks.design[rows])
    fitted = Fitted(hyper.variance, 1.0, hyper.effects, hyper.covariance, 0.0)
    return np.exp(draw(tree, leaves, fitted, draws, rng, _shared(table, hyper, known, rows)))


def _shared(table: FleetTable, hyper: Hyper, known: Inference, rows: Ints) -> Floats | None:
    """Share of a spot's error that comes from the new thickness, which the spots of a pad have in common."""
    if table.levels[-1] == "set":
        return None
    tracks, readings = table.tracks, table.readings
    owner = np.repeat(np.arange(tracks.n), tracks.count)
    weight = np.bincount(owner, 1.0 / np.square(readings.u), minlength=tracks.n)[rows]
    new = np.square(tracks.u_new[rows])
    by_readings = known.site_weight[rows] * hyper.variance[-1]
    part = new * weight / (1.0 + new * weight) * by_readings / (1.0 + by_readings)
    return np.asarray(np.clip(part, 0.0, 1.0))


def _friction_now(
    table: FleetTable,
    hyper: Hyper,
    known: Inference,
    rows: Ints,
    rate: Floats,
    today: Floats | None,
    rng: np.random.Generator,
) -> Floats:
    """Friction of each spot where the vehicle stands today, given its rate."""
    sums = known.sums
    end = table.tracks.end[rows]
    first = np.flatnonzero(np.r_[True, end[1:] != end[:-1]])
    size = np.diff(np.append(first, end.size))
    # spots of one set that were last read at different distances are brought to the same one
    latest = np.repeat(np.maximum.reduceat(sums.last[rows], first), size)
    if today is not None:
        latest = np.where(np.isnan(today), latest, np.maximum(today, latest))
    step = (latest - sums.last[rows])[:, None]
    friction = sums.level[rows, None] + sums.slope[rows, None] * rate - rate * step
    spread = np.sqrt(sums.variance[rows, None] + hyper.route * np.square(rate) * step)
    friction = friction + spread * rng.standard_normal(rate.shape)
    return np.asarray(np.clip(friction, 0.0, table.tracks.new[rows, None] + 1e-3))


def _first_to_meet(
    end: Ints, rows: Ints, rate: Floats, future: Floats, friction: Floats, limits: Sequence[float]
) -> tuple[Floats, Floats, Floats, Ints]:
    first = np.flatnonzero(np.r_[True, end[1:] != end[:-1]])
    size = np.diff(np.append(first, end.size))
    distance = np.stack(
        [np.minimum.reduceat(np.maximum(friction - limit, 0.0) / future, first, axis=0) for limit in limits],
        axis=1,
    )
    own = np.maximum(friction - limits[0], 0.0) / future
    leads = own <= np.repeat(distance[:, 0], size, axis=0) * (1.0 + 1e-12)
    often = leads.mean(axis=1)
    order = np.lexsort((-often, np.repeat(np.arange(first.size), size)))
    spot = rows[order[first]]
    thinnest = np.minimum.reduceat(friction, first, axis=0)
    fastest = np.maximum.reduceat(np.where(leads, rate, 0.0), first, axis=0)
    return distance, fastest, thinnest, spot


def quantiles(draws: Floats, shares: Sequence[float]) -> Floats:
    """Return quantiles of draws along their last axis.

    Parameters
    ----------
    draws : array, shape (..., draws)
        Draws.
    shares : sequence of float, 0 to 1
        Probabilities.

    Returns
    -------
    array, shape (..., shares)
        Quantiles.
    """
    return np.moveaxis(np.quantile(draws, list(shares), axis=-1), 0, -1)


def crps(draws: Floats, truth: Floats) -> Floats:
    """Return the continuous ranked probability score of draws against the truth, small is good.

    Parameters
    ----------
    draws : array, shape (n, draws)
        Forecast.
    truth : array, shape (n,)
        What came.

    Returns
    -------
    array, shape (n,)
        Scores, in the unit of the draws.

    Notes
    -----
    E|X - y| - E|X - X'| / 2, the second term from the sorted draws.
    """
    ordered = np.sort(draws, axis=1)
    count = ordered.shape[1]
    weight = (2.0 * np.arange(1, count + 1) - count - 1.0) / count**2
    return np.asarray(np.abs(ordered - truth[:, None]).mean(axis=1) - (ordered * weight).sum(axis=1))
