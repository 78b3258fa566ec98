"""Readings of pad sets in columns, and what the gauge readings of one spot say of its wear rate.

A track is one spot of one pad of one pad set: it starts at its new thickness and loses friction at a positive
rate that is its own. Readings of one track stand side by side, by distance.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wearline.errors import DomainError
from wearline.forecasting.nested import Floats, Ints

__all__ = ["BELOW_SCALE", "GaugeSums", "Readings", "Tracks", "gauge_sums", "take"]

BELOW_SCALE = -0.1
"""[m] Lower end of the last step of an indicator: below any friction, and yet not minus infinity, which is
kept for 'worn out' by gauge."""


@dataclass(frozen=True, slots=True)
class Readings:
    """Readings in columns, sorted by track and distance [SI], each of shape (readings,).

    Parameters
    ----------
    run : array, [m], 0 or more
        Distance since the set was fitted.
    value : array, [m]
        Friction read; NaN where only an interval is known.
    u : array, [m], more than 0
        Standard uncertainty of the value, or softness of the interval's ends.
    low, high : array, [m]
        Interval of the friction where there is no value; may be infinite. A lower end of minus infinity means
        that a gauge found the friction worn out: no step of a scale that is easily misread.
    run_variance : array or None, [m2]
        Variance of the distance since fitting where an odometer went back and the distance is a guess; never
        falls along a track. None where all distances are known.
    """

    run: Floats
    value: Floats
    u: Floats
    low: Floats
    high: Floats
    run_variance: Floats | None = None

    @classmethod
    def of_values(cls, run: Floats, value: Floats, u: Floats) -> Readings:
        """Build readings that are all thicknesses.

        Parameters
        ----------
        run, value, u : array, shape (readings,)
            As in the class.

        Returns
        -------
        Readings
            Without intervals.
        """
        none = np.full(value.shape, np.nan)
        return cls(run, value, u, none, none)

    @property
    def worn_out(self) -> NDArray[np.bool_]:
        """Whether a gauge found the friction worn out, shape (readings,)."""
        return np.isneginf(self.low)

    def rows(self, index: Ints) -> Readings:
        """Return chosen rows.

        Parameters
        ----------
        index : array of int
            Rows.

        Returns
        -------
        Readings
            In that order.
        """
        guessed = None if self.run_variance is None else self.run_variance[index]
        return Readings(
            self.run[index], self.value[index], self.u[index], self.low[index], self.high[index], guessed
        )


@dataclass(frozen=True, slots=True)
class Tracks:
    """Tracks in columns, sorted by vehicle, end, set, pad, each of shape (tracks,).

    Parameters
    ----------
    vehicle, end, padset, pad : array of int
        Running numbers of what the track belongs to; each rises over the whole table.
    start, count : array of int
        First reading of the track, and how many it has.
    new, u_new : array, [m]
        New thickness and its standard uncertainty; a large one where the distance since fitting is unknown.
    design : array, shape (tracks, effects)
        Columns of duty, role and pad.
    part : array of bool
        Whether the track is a piece of a pad that can wear out; an indicator's mark is only a view of it.
    """

    vehicle: Ints
    end: Ints
    padset: Ints
    pad: Ints
    start: Ints
    count: Ints
    new: Floats
    u_new: Floats
    design: Floats
    part: NDArray[np.bool_]

    @property
    def n(self) -> int:
        """Number of tracks."""
        return int(self.vehicle.size)


def take(tracks: Tracks, readings: Readings, index: Ints) -> tuple[Tracks, Readings]:
    """Return chosen tracks with their readings; a track may be taken several times.

    Parameters
    ----------
    tracks : Tracks
        All tracks.
    readings : Readings
        All readings.
    index : array of int
        Rows of the tracks wanted.

    Returns
    -------
    Tracks, Readings
        The chosen ones.
    """
    count = tracks.count[index]
    start = np.cumsum(count) - count
    inside = np.arange(int(count.sum())) - np.repeat(start, count)
    rows = np.repeat(tracks.start[index], count) + inside
    chosen = replace(
        tracks,
        vehicle=tracks.vehicle[index],
        end=tracks.end[index],
        padset=tracks.padset[index],
        pad=tracks.pad[index],
        start=start,
        count=count,
        new=tracks.new[index],
        u_new=tracks.u_new[index],
        design=tracks.design[index],
        part=tracks.part[index],
    )
    return chosen, readings.rows(rows)


@dataclass(frozen=True, slots=True)
class GaugeSums:
    """What the gauge readings of each track say, each of shape (tracks,).

    The log likelihood of a rate r is ``-(square r^2 - 2 product r + rest) / 2``, and the friction at the last
    distance is normal with mean ``level + slope r`` and the given variance.

    Parameters
    ----------
    square, product, rest : array
        Coefficients; ``rest`` holds the normalisation too.
    last : array, [m]
        Distance of the last reading, of whatever kind.
    level, slope, variance : array
        Friction at the last distance given the rate.
    """

    square: Floats
    product: Floats
    rest: Floats
    last: Floats
    level: Floats
    slope: Floats
    variance: Floats


def gauge_sums(
    tracks: Tracks, readings: Readings, *, rate: Floats, route: float, scale: float = 1.0
) -> GaugeSums:
    """Sum up the gauge readings of every track.

    Parameters
    ----------
    tracks : Tracks
        Tracks.
    readings : Readings
        Their readings.
    rate : array, shape (tracks,), [m/m], more than 0
        Rate from which the roads' own variance is taken.
    route : float, [m], 0 or more
        Variance of the wear over a distance D is ``route * rate**2 * D``.
    scale : float, more than 0
        Factor on the uncertainty of all readings.

    Returns
    -------
    GaugeSums
        One row for each track; a track without a gauge reading has square 0.

    Raises
    ------
    DomainError
        If distances of a track run backwards.

    Notes
    -----
    A Kalman filter of the friction, with the unknown rate carried along as a linear term, so that the
    likelihood stays an exact parabola in the rate (derived). All tracks advance together, reading by reading.
    """
    n = tracks.n
    order = np.argsort(-tracks.count, kind="stable")
    sorted_count = tracks.count[order]
    start = tracks.start[order]
    level, slope = tracks.new[order].copy(), np.zeros(n)
    variance = np.square(tracks.u_new[order])
    drift = route * np.square(rate[order])
    square, product, rest, last, known = (np.zeros(n) for _ in range(5))
    for k in range(int(sorted_count[0]) if n else 0):
        m = int(np.searchsorted(-sorted_count, -k, side="left"))
        row = start[:m] + k
        run, value = readings.run[row], readings.value[row]
        step = run - last[:m]
        if step.size and float(step.min()) < 0.0:
            raise DomainError("distances of a track run backwards", cure="Sort the readings by distance")
        last[:m] = run
        slope[:m] -= step
        variance[:m] += drift[:m] * step
        if readings.run_variance is not None:
            guessed = readings.run_variance[row]
            variance[:m] += np.square(rate[order[:m]]) * np.maximum(guessed - known[:m], 0.0)
            known[:m] = guessed
        seen = ~np.isnan(value)
        u = scale * readings.u[row]
        total = variance[:m] + np.square(u)
        innovation = np.where(seen, value - level[:m], 0.0)
        gain = np.where(seen, variance[:m] / total, 0.0)
        inverse = np.where(seen, 1.0 / total, 0.0)
        tilt = slope[:m]
        square[:m] += np.square(tilt) * inverse
        product[:m] += tilt * innovation * inverse
        rest[:m] += np.square(innovation) * inverse + np.where(seen, np.log(total), 0.0)
        level[:m] += gain * innovation
        slope[:m] -= gain * tilt
        variance[:m] -= gain * variance[:m]
    back = np.empty(n, dtype=np.int64)
    back[order] = np.arange(n)
    return GaugeSums(
        square[back], product[back], rest[back], last[back], level[back], slope[back], variance[back]
    )
