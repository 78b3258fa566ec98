"""How far the coming distance differs from the past, learnt by forecasting readings already known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from wearline.forecasting.changes import without_readings
from wearline.forecasting.explanations import collapse
from wearline.forecasting.nested import Floats
from wearline.forecasting.remaining import shared_roads
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.wear_model import FleetTable, Hyper, infer_fleet, some_vehicles

__all__ = ["learn_future_duty"]

_LEVELS = ((0.80, 1.2815515655446004), (0.95, 1.959963984540054))
"""Shares that are to lie inside, with the normal deviate of each."""

_WORTH = 60.0
"""[1] Held-out readings that the spread of expert judgement is worth at first."""

_KEPT = 0.3
"""[1] Weight that it keeps for ever: no reading of the past can show that a vehicle will get other work
(expert judgement; chosen on simulated fleets other than those of the bench)."""

_LEAST, _MOST = 0.03, 0.6


def learn_future_duty(table: FleetTable, hyper: Hyper, settings: ForecastSettings) -> float:
    """Return the spread of the coming duty that makes the fleet's own forecasts come true as often as said.

    Parameters
    ----------
    table : FleetTable
        Cleaned.
    hyper : Hyper
        The fleet's numbers.
    settings : ForecastSettings
        Holds the spread of expert judgement, which few readings hardly move.

    Returns
    -------
    float, [1]
        Standard deviation of the log.

    Notes
    -----
    The last thickness of every set with at least two is held back, with three or more also the one before,
    and the last is forecast from the others. The spread is the greater of the two at which 80 %, and
    95 %, of the errors lie inside their interval; it is pooled in logs with expert
    judgement, which keeps three tenths of the weight for ever.
    """
    one = some_vehicles(collapse(table))
    tracks, readings = one.tracks, one.readings
    gauge = ~np.isnan(readings.value)
    owner = np.repeat(np.arange(tracks.n), tracks.count)
    gauges = np.bincount(owner, gauge.astype(float), minlength=tracks.n)
    last = tracks.start + np.maximum(tracks.count - 1, 0)
    usable = (tracks.count >= 2) & (gauges >= 2)
    usable[usable] &= gauge[last[usable]]
    rows = np.flatnonzero(usable)
    if rows.size < 5:
        return settings.future_duty
    held = last[rows]
    drop = np.zeros(owner.size, dtype=bool)
    drop[held] = True
    # a look ahead over two gaps is nearer to what is asked of a forecast than over one
    drop[held[gauges[rows] >= 3] - 1] = True
    one_hyper = replace(hyper, variance=hyper.variance[: len(one.levels)])
    known = infer_fleet(without_readings(one, drop), one_hyper, sweeps=3)
    sums = known.sums
    rate = np.exp(known.mean[rows])
    gap = readings.run[held] - sums.last[rows]
    expected = sums.level[rows] + sums.slope[rows] * rate - rate * gap
    # the friction now and the coming loss hang on the same rate
    by_rate = np.square((sums.slope[rows] - gap) * rate) * known.variance[rows]
    noise = np.square(hyper.scale * readings.u[held]) + sums.variance[rows] + by_rate
    roads = hyper.route * gap + np.square(gap) * shared_roads(one_hyper, known, rows)
    noise = noise + np.square(rate) * roads
    error, lost = np.abs(readings.value[held] - expected), rate * gap

    # errors have heavier tails than a normal one, and it is the tail that a risk is read from
    found = max(_spread(error, noise, lost, *level) for level in _LEVELS)
    share = (1.0 - _KEPT) * rows.size / (rows.size + _WORTH)
    start = max(settings.future_duty, _LEAST)
    return float(np.exp(share * np.log(found) + (1.0 - share) * np.log(start)))


def _spread(error: Floats, noise: Floats, lost: Floats, share: float, deviate: float) -> float:
    """Spread of the duty at which a share of the errors lies inside its interval, by halving."""
    low, high = _LEAST, _MOST
    for _ in range(30):
        middle = (low * high) ** 0.5
        inside = float((error <= deviate * np.sqrt(noise + np.square(middle * lost))).mean())
        low, high = (middle, high) if inside < share else (low, middle)
    return float((low * high) ** 0.5)
