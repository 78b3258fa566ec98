"""The wear of a fleet too large to be held at once: vehicles come in portions, little stays of each.

Vehicles share only the fleet's numbers; with those known every portion stands alone. What stays of a wheel
end is its present rate and friction; a forecast of one vehicle takes its readings again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.forecasting.changes import clean
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.wear_model import FleetTable, Hyper, infer_fleet

__all__ = ["KnownEnds", "infer_portions"]

Singles = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class KnownEnds:
    """What is known of every wheel end's present pad set, each of shape (ends,), in single precision.

    Parameters
    ----------
    vehicle : array of int
        Running number of its vehicle over all portions.
    rate : array, [m/m]
        Median rate of wear.
    log_spread : array, [1]
        Standard deviation of the rate's logarithm.
    run : array, [m]
        Distance of the last reading since the set was fitted; 0 without one.
    friction, u_friction : array, [m]
        Friction at the last reading and its standard uncertainty.
    """

    vehicle: NDArray[np.int32]
    rate: Singles
    log_spread: Singles
    run: Singles
    friction: Singles
    u_friction: Singles


def infer_portions(
    portions: Iterable[FleetTable], hyper: Hyper, *, faults: ForecastSettings | None = None
) -> KnownEnds:
    """Return what is known of every wheel end of a fleet that comes in portions.

    Parameters
    ----------
    portions : iterable of FleetTable
        Whole vehicles, one track per pad set; each portion may be dropped before the next is made.
    hyper : Hyper
        The fleet's numbers.
    faults : ForecastSettings or None, optional
        Chances of faults: wrong readings and changes that nobody recorded are found and left out first. None
        takes the readings as they are.

    Returns
    -------
    KnownEnds
        One row for each wheel end, in the order in which they came.
    """
    parts: list[KnownEnds] = []
    vehicles = 0
    for portion in portions:
        table = portion if faults is None else clean(portion, hyper, faults).table
        if table.tracks.n == 0:
            continue
        part, count = _present(table, hyper, vehicles)
        parts.append(part)
        vehicles += count
    empty = KnownEnds(np.zeros(0, np.int32), *(np.zeros(0, np.float32) for _ in range(5)))
    names = KnownEnds.__slots__
    return KnownEnds(*(np.concatenate([getattr(part, name) for part in (empty, *parts)]) for name in names))


def _present(table: FleetTable, hyper: Hyper, vehicles: int) -> tuple[KnownEnds, int]:
    """The last set of every wheel end of a portion, and how many vehicles it has."""
    tracks = table.tracks
    # a third round would move no rate by more than a few hundredths of its own spread
    known = infer_fleet(table, hyper, sweeps=2)
    last = np.flatnonzero(np.r_[tracks.end[1:] != tracks.end[:-1], True])
    owner = tracks.vehicle[last]
    number = np.cumsum(np.r_[True, owner[1:] != owner[:-1]]) - 1
    sums = known.sums
    rate = np.exp(known.mean[last])
    tilt = sums.slope[last] * rate
    u = np.sqrt(sums.variance[last] + np.square(tilt) * known.variance[last])
    values = (rate, np.sqrt(known.variance[last]), sums.last[last], sums.level[last] + tilt, u)
    part = KnownEnds((number + vehicles).astype(np.int32), *(each.astype(np.float32) for each in values))
    return part, int(number[-1]) + 1
