"""What the readings of one track say of its log rate, as a Gaussian: one site of expectation propagation.

The likelihood is an exact parabola in the rate for gauge readings, times a probability for every interval
(indicator steps, worn-out pads). Its product with what all other readings say is integrated in one dimension
with nodes laid where the product is, never at fixed places.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wearline.forecasting.nested import Floats, Ints
from wearline.forecasting.padsets import GaugeSums, Readings, Tracks

__all__ = ["Intervals", "Tilted", "intervals_of", "tilted_moments"]

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_LOG_WEIGHTS = np.log(_WEIGHTS / np.sqrt(2.0 * np.pi)) + 0.5 * np.square(_NODES)
_GRID = np.linspace(-4.9, 4.9, 25)
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
    """

    track: Ints
    run: Floats
    low: Floats
    high: Floats
    variance: Floats


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
    return Intervals(
        track=track,
        run=run,
        low=readings.low[rows] - tracks.new[track],
        high=readings.high[rows] - tracks.new[track],
        variance=variance + route * np.square(rate[track]) * run,
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
    grid of 25 nodes, laid over the guess, or over cavity and parabola and then anew over what it found.
    """
    rough = np.zeros(mean.size, dtype=bool)
    rough[intervals.track] = True
    centre, width = _laplace(sums, mean, variance)
    log_z, first, second = np.empty(mean.size), np.empty(mean.size), np.empty(mean.size)
    smooth = np.flatnonzero(~rough)
    if smooth.size:
        node = centre[smooth, None] + width[smooth, None] * _NODES
        value = _log_density(sums, mean, variance, smooth, node) + _LOG_WEIGHTS
        _moments(value, node, width[smooth], smooth, (log_z, first, second))
    rows = np.flatnonzero(rough)
    if rows.size:
        where = np.searchsorted(rows, intervals.track)
        if guess is not None:
            centre[rows], width[rows] = guess[0][rows], 1.15 * np.sqrt(guess[1][rows])
        for _ in range(2 if guess is None else 1):
            node = centre[rows, None] + width[rows, None] * _GRID
            value = _log_density(sums, mean, variance, rows, node)
            value = value + _log_intervals(intervals, node, where, rows.size, misread)
            value = value + np.log((_GRID[1] - _GRID[0]) / np.sqrt(2.0 * np.pi))
            _moments(value, node, width[rows], rows, (log_z, first, second))
            centre[rows] = first[rows]
            width[rows] = 1.15 * np.sqrt(second[rows])
    return Tilted(log_z, first, second)


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


def _log_density(sums: GaugeSums, mean: Floats, variance: Floats, rows: Ints, node: Floats) -> Floats:
    rate = np.exp(node)
    square, product = sums.square[rows, None], sums.product[rows, None]
    value = rate * (product - 0.5 * square * rate)
    value = value - 0.5 * np.square(node - mean[rows, None]) / variance[rows, None]
    return np.asarray(value - 0.5 * np.log(variance[rows, None]))


def _log_intervals(intervals: Intervals, node: Floats, where: Ints, count: int, misread: float) -> Floats:
    from scipy.special import ndtr

    spread = np.sqrt(intervals.variance)[:, None]
    friction = -np.exp(node[where]) * intervals.run[:, None]
    upper = ndtr((intervals.high[:, None] - friction) / spread)
    lower = ndtr((intervals.low[:, None] - friction) / spread)
    chance = (1.0 - misread) * np.maximum(upper - lower, 0.0) + misread / _STEPS_OF_SCALE
    logs = np.log(np.maximum(chance, 1e-30))
    total = np.zeros((count, node.shape[1]))
    first = np.flatnonzero(np.r_[True, where[1:] != where[:-1]])
    total[where[first]] = np.add.reduceat(logs, first, axis=0)
    return total


def _moments(
    value: Floats, node: Floats, width: Floats, rows: Ints, into: tuple[Floats, Floats, Floats]
) -> None:
    top = value.max(axis=1)
    share = np.exp(value - top[:, None])
    total = share.sum(axis=1)
    first = (share * node).sum(axis=1) / total
    into[0][rows] = top + np.log(total * width)
    into[1][rows] = first
    into[2][rows] = np.maximum((share * np.square(node - first[:, None])).sum(axis=1) / total, 1e-10)
