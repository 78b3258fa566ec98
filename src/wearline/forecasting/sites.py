"""What the readings of one track say of its log rate, as a Gaussian: one site of expectation propagation.

The likelihood is an exact parabola in the rate for gauge readings, times a probability for every interval
(indicator steps, worn-out pads). Its product with what all other readings say is integrated in one dimension
with nodes laid where the product is, never at fixed places.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wearline.forecasting.nested import Floats, Ints
from wearline.forecasting.padsets import GaugeSums, Readings, Tracks

__all__ = ["Intervals", "Tilted", "intervals_of", "tilted_moments"]

Singles = NDArray[np.float32]

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_LOG_WEIGHTS = (np.log(_WEIGHTS / np.sqrt(2.0 * np.pi)) + 0.5 * np.square(_NODES))[:, None]
_GRID = np.linspace(-4.2, 4.2, 13)
_LOG_STEP = float(np.log((_GRID[1] - _GRID[0]) / np.sqrt(2.0 * np.pi)))
_RESOLVED = 0.4
"""[1] Least width of a result, in that of its grid, that the grid's step of 0.7 can tell."""

_MOST_GRIDS = 8
_MOST_IN_TURN = 20
_STEPS_OF_SCALE = 5
"""Marks of an indicator in 25 % steps: a misread one may be any of them."""


@dataclass(frozen=True, slots=True)
class Intervals:
    """Interval readings, each of shape (intervals,).

    Parameters
    ----------
    track : array of int
        Track that each belongs to.
    run : array, [m]
        Distance since fitting.
    low, high : array, [m]
        Friction between which the truth lies, less the new thickness: 0 or negative.
    variance : array, [m2]
        Softness of the ends, new thickness included.
    step : array of bool
        Whether it is a step of a scale, which may be misread; else a gauge found nothing left.
    """

    track: Ints
    run: Floats
    low: Floats
    high: Floats
    variance: Floats
    step: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Tilted:
    """Cavity times likelihood, each of shape (tracks,).

    Parameters
    ----------
    log_evidence : array
        Log of the integral, the interval probabilities included, the parabola's ``rest`` not.
    mean, variance : array
        Of the log rate.
    """

    log_evidence: Floats
    mean: Floats
    variance: Floats


def intervals_of(tracks: Tracks, readings: Readings, *, rate: Floats, route: float) -> Intervals:
    """Pick the interval readings out.

    Parameters
    ----------
    tracks : Tracks
        Tracks.
    readings : Readings
        Readings.
    rate : array, shape (tracks,), [m/m]
        Rate from which the roads' own variance is taken.
    route : float, [m]
        As in ``gauge_sums``.

    Returns
    -------
    Intervals
        In the order of the readings.
    """
    rows = np.flatnonzero(np.isnan(readings.value))
    track = np.repeat(np.arange(tracks.n), tracks.count)[rows]
    run = readings.run[rows]
    variance = np.square(readings.u[rows]) + np.square(tracks.u_new[track])
    if readings.run_variance is not None:
        variance += np.square(rate[track]) * readings.run_variance[rows]
    return Intervals(
        track=track,
        run=run,
        low=readings.low[rows] - tracks.new[track],
        high=readings.high[rows] - tracks.new[track],
        variance=variance + route * np.square(rate[track]) * run,
        step=~readings.worn_out[rows],
    )


def tilted_moments(
    sums: GaugeSums,
    intervals: Intervals,
    mean: Floats,
    variance: Floats,
    misread: float,
    guess: tuple[Floats, Floats] | None = None,
) -> Tilted:
    """Return evidence and moments of cavity times likelihood.

    Parameters
    ----------
    sums : GaugeSums
        Gauge readings.
    intervals : Intervals
        Interval readings.
    mean, variance : array, shape (tracks,)
        Cavity: the log rate as all other readings and the priors have it.
    misread : float, [1]
        Share of interval readings that are wrong.
    guess : (array, array) or None
        Mean and variance near which the result lies, from an earlier round.

    Returns
    -------
    Tilted
        One row for each track.

    Notes
    -----
    Smooth tracks: Laplace centre, then nine Gauss-Hermite nodes on it. Tracks with intervals: a trapezium
    grid of 13 nodes, laid over the guess, or over cavity and parabola and then anew over what it found, until
    what it finds is neither narrower than its step nor beside it. The trapezium rule errs on a normal density
    by 2 exp(-2 pi^2 / h^2), h its step in standard deviations.
    """
    rough = np.zeros(mean.size, dtype=bool)
    rough[intervals.track] = True
    log_z, first, second = np.empty(mean.size), np.empty(mean.size), np.empty(mean.size)
    smooth = np.flatnonzero(~rough)
    if smooth.size:
        part = _chosen(sums, smooth)
        centre, width = _laplace(part, mean[smooth], variance[smooth])
        node = centre + width * _NODES[:, None]
        value = _log_density(part, mean[smooth], variance[smooth], node, np.exp(node))
        value += _LOG_WEIGHTS
        log_z[smooth], first[smooth], second[smooth] = _moments(value, node, width)
    rows = np.flatnonzero(rough)
    if guess is None and rows.size:
        centre, width = _laplace(_chosen(sums, rows), mean[rows], variance[rows])
    elif guess is not None:
        centre, width = guess[0][rows], 1.15 * np.sqrt(guess[1][rows])
    for again in range(_MOST_GRIDS):
        if rows.size == 0:
            break
        between, where = _of_tracks(intervals, rows)
        node = centre + width * _GRID[:, None]
        rate = np.exp(node)
        value = _log_density(_chosen(sums, rows), mean[rows], variance[rows], node, rate)
        value += _log_intervals(between, rate, where, misread)
        value += _LOG_STEP
        log_z[rows], first[rows], second[rows] = _moments(value, node, width)
        found = np.sqrt(second[rows])
        off = (found < _RESOLVED * width) | (found > 1.3 * width) | (np.abs(first[rows] - centre) > width)
        if guess is None and again == 0:
            off[:] = True
        # a grid tells of nothing narrower than its step, nor of what lies beyond its ends
        centre = first[rows][off]
        width = np.clip(1.15 * found, _RESOLVED * width, 2.5 * width)[off]
        rows = rows[off]
    return Tilted(log_z, first, second)


def _of_tracks(intervals: Intervals, rows: Ints) -> tuple[Intervals, Ints]:
    """The intervals of some tracks, and the place of each one's track among them."""
    place = np.full(int(max(rows[-1], intervals.track.max(initial=0))) + 1, -1, dtype=np.int64)
    place[rows] = np.arange(rows.size)
    where = place[intervals.track]
    if int(where.min(initial=0)) >= 0:
        return intervals, where
    own = np.flatnonzero(where >= 0)
    part = Intervals(*(getattr(intervals, name)[own] for name in Intervals.__slots__))
    return part, where[own]


def _chosen(sums: GaugeSums, rows: Ints) -> GaugeSums:
    """The parabolas of some tracks; what else is known of them is not needed here."""
    return replace(sums, square=sums.square[rows], product=sums.product[rows])


def _laplace(sums: GaugeSums, mean: Floats, variance: Floats) -> tuple[Floats, Floats]:
    """Mode and width of the Gaussian cavity times the parabola."""
    precision = 1.0 / variance
    z = mean.copy()
    with np.errstate(divide="ignore", invalid="ignore"):
        best = np.where(sums.product > 0, np.log(sums.product / sums.square), mean)
        weight = np.where(sums.product > 0, np.square(sums.product) / sums.square, 0.0)
    z = np.where(weight > 0, (precision * mean + weight * best) / (precision + weight), mean)
    bend = precision
    for _ in range(6):
        rate = np.exp(z)
        pull = rate * (sums.product - sums.square * rate)
        curve = np.maximum(2.0 * sums.square * rate**2 - sums.product * rate, 0.0)
        bend = precision + np.maximum(curve, 0.5 * sums.square * rate**2)
        z = z + np.clip((pull - precision * (z - mean)) / bend, -1.0, 1.0)
    return z, 1.0 / np.sqrt(bend)


def _log_density(sums: GaugeSums, mean: Floats, variance: Floats, node: Floats, rate: Floats) -> Floats:
    """Log of cavity times parabola, one row for each node: long rows are quick to go through."""
    value = -0.5 * sums.square * rate
    value += sums.product
    value *= rate
    off = node - mean
    off *= off
    off *= 0.5 / variance
    value -= off
    value -= 0.5 * np.log(variance)
    return value


def _log_intervals(intervals: Intervals, rate: Floats, where: Ints, misread: float) -> Floats:
    spread = (1.0 / np.sqrt(intervals.variance)).astype(np.float32)
    # in single precision: a probability is right to a millionth, and a step itself to a few percent
    run = (intervals.run * 1e-9).astype(np.float32) * spread
    lost = np.take((rate * 1e9).astype(np.float32), where, axis=1)
    lost *= run
    chance = _normal(lost + intervals.high.astype(np.float32) * spread)
    chance -= _normal(lost + intervals.low.astype(np.float32) * spread)
    np.maximum(chance, 0.0, out=chance)
    wrong = np.where(intervals.step, misread, 0.0).astype(np.float32)
    chance *= 1.0 - wrong
    # not less than what the normal distribution function is off by
    chance += np.maximum(wrong / np.float32(_STEPS_OF_SCALE), np.float32(1e-6))
    np.log(chance, out=chance)
    # a track has few intervals: adding the first of each, the second of each and so on is quickest
    first = np.flatnonzero(np.r_[True, where[1:] != where[:-1]])
    count = np.diff(np.append(first, where.size))
    if int(count.max(initial=1)) > _MOST_IN_TURN:
        return np.asarray(np.add.reduceat(chance, first, axis=1), dtype=np.float64)
    total = np.take(chance, first, axis=1).astype(np.float64)
    for k in range(1, int(count.max(initial=1))):
        more = np.flatnonzero(count > k)
        total[:, more] += np.take(chance, first[more] + k, axis=1)
    return total


def _normal(x: Singles) -> Singles:
    """Normal distribution function: Abramowitz and Stegun 7.1.26, right to 1e-6 in single precision."""
    side = np.abs(x)
    t = 1.0 / (1.0 + np.float32(0.3275911 / 2.0**0.5) * side)
    tail = t * np.float32(1.061405429)
    for factor in (-1.453152027, 1.421413741, -0.284496736, 0.254829592):
        tail += np.float32(factor)
        tail *= t
    side *= side
    side *= np.float32(-0.5)
    np.exp(side, out=side)
    tail *= side
    tail *= np.float32(0.5)
    return np.where(x < 0.0, tail, 1.0 - tail)


def _moments(value: Floats, node: Floats, width: Floats) -> tuple[Floats, Floats, Floats]:
    """Log integral, mean and variance from the logs of the integrand at the nodes."""
    top = value.max(axis=0)
    value -= top
    share = np.exp(value, out=value)
    total = share.sum(axis=0)
    first = (share * node).sum(axis=0) / total
    off = node - first
    off *= off
    off *= share
    return top + np.log(total * width), first, np.maximum(off.sum(axis=0) / total, 1e-10)
