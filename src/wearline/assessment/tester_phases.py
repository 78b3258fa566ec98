"""Where a record of a brake tester rises, holds, falls and rests, and where the wheel locks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.records.tester_curve import CurveRun

__all__ = ["Cycle", "cycles", "shifted_pressure"]

Floats = NDArray[np.float64]

TURN_SHARE = 0.25
"""Change of the pressure, over its range, that counts as a turn and not as noise."""

NEAR_SHARE, NEAR_LEAST = 0.04, 5e3
"""How near to its end a pressure counts as having arrived: share of the range, and [Pa]."""

LOCK_DROP = 0.3
"""Sudden loss of force, over the force just reached, that is a locked wheel."""

LOCK_SAMPLES = 5


@dataclass(frozen=True, slots=True)
class Cycle:
    """One rise of the pressure with what follows it; indices into its run.

    Parameters
    ----------
    run : CurveRun
        The record.
    before, rise, hold, fall, after : slice
        Rest before, rise, steady top, fall, rest after; the last may be empty.
    locked : int or None
        First sample with the wheel locked.
    """

    run: CurveRun
    before: slice
    rise: slice
    hold: slice
    fall: slice
    after: slice
    locked: int | None

    def taken(self, part: slice) -> tuple[Floats, Floats]:
        """Return pressure and force of a part, without what came after a lock.

        Parameters
        ----------
        part : slice
            One of the parts.

        Returns
        -------
        (array, array), [Pa], [N]
            Pressure and force.
        """
        stop = part.stop if self.locked is None else min(part.stop, self.locked)
        kept = slice(part.start, max(stop, part.start))
        return np.asarray(self.run.pressure[kept]), np.asarray(self.run.force[kept])

    def times(self, part: slice) -> Floats:
        """Return the times of a part; empty without times.

        Parameters
        ----------
        part : slice
            One of the parts.

        Returns
        -------
        array, [s]
            Times.
        """
        return np.asarray(self.run.time[part])


def _smooth(values: Floats) -> Floats:
    """Running median of five: a single wrong sample makes no turn."""
    if len(values) < 5:
        return values
    padded = np.pad(values, 2, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 5)
    return np.asarray(np.median(windows, axis=1))


def _turns(pressure: Floats, swing: float) -> list[int]:
    """Indices of alternating lows and highs, the first a low; changes smaller than `swing` are no turn."""
    turns: list[int] = []
    low = high = 0
    rising = False
    for i, value in enumerate(pressure):
        if rising and value >= pressure[high]:
            high = i
        elif rising and pressure[high] - value >= swing:
            turns.append(high)
            low, rising = i, False
        elif not rising and value <= pressure[low]:
            low = i
        elif not rising and value - pressure[low] >= swing:
            turns.append(low)
            high, rising = i, True
    if rising:
        turns.append(high)
    turns.append(len(pressure) - 1)
    return turns


def cycles(run: CurveRun) -> tuple[Cycle, ...]:
    """Return the rises of a run.

    Parameters
    ----------
    run : CurveRun
        The record, in time order.

    Returns
    -------
    tuple of Cycle
        Empty where the pressure never rises.
    """
    pressure = _smooth(np.asarray(run.pressure, dtype=float))
    force = np.asarray(run.force, dtype=float)
    span = float(pressure.max() - pressure.min())
    if span <= NEAR_LEAST:
        return ()
    turns = _turns(pressure, TURN_SHARE * span)
    near = max(NEAR_SHARE * span, NEAR_LEAST)
    found = []
    for number in range(0, len(turns) - 2, 2):
        low, high, end = turns[number : number + 3]
        found.append(_cycle(run, pressure, force, (low, high, end), near))
    return tuple(found)


def _cycle(run: CurveRun, pressure: Floats, force: Floats, turns: tuple[int, int, int], near: float) -> Cycle:
    low, high, end = turns
    top, bottom, rest = pressure[high], pressure[low], pressure[end]
    leaves = low + int(np.flatnonzero(pressure[low : high + 1] <= bottom + near)[-1])
    arrives = leaves + int(np.flatnonzero(pressure[leaves : high + 1] >= top - near)[0])
    after_high = pressure[high : end + 1]
    lets_go = high + int(np.flatnonzero(after_high >= top - near)[-1])
    arrived = np.flatnonzero(pressure[lets_go : end + 1] <= rest + near)
    settles = lets_go + int(arrived[0]) if len(arrived) and end > lets_go else end
    falls = end > lets_go and top - rest > 2.0 * near
    return Cycle(
        run=run,
        before=slice(low, leaves + 1),
        rise=slice(leaves, arrives + 1),
        hold=slice(arrives, lets_go + 1),
        fall=slice(lets_go, settles + 1 if falls else lets_go),
        after=slice(settles, end + 1) if falls and rest < bottom + 2.0 * near else slice(end, end),
        locked=_lock(force, leaves, lets_go, pressure),
    )


def _lock(force: Floats, start: int, stop: int, pressure: Floats) -> int | None:
    """First sample after a sudden loss of force that lasts to the end of the steady top.

    Medians of some samples on either side: a single wrong sample is no lock.
    """
    greatest = float(np.quantile(force[start : stop + 1], 0.95))
    for i in range(start + LOCK_SAMPLES, stop + 1 - LOCK_SAMPLES):
        reached = float(np.median(force[i - LOCK_SAMPLES : i]))
        later = float(np.median(force[i : i + LOCK_SAMPLES]))
        if (
            reached > 0.3 * greatest
            and later < (1.0 - LOCK_DROP) * reached
            and float(np.median(force[i : stop + 1])) < (1.0 - LOCK_DROP) * reached
            and pressure[i] >= pressure[i - 1] - NEAR_LEAST
        ):
            return i
    return None


def shifted_pressure(run: CurveRun, lag: float) -> Floats:
    """Return the pressure that the force answers to.

    Parameters
    ----------
    run : CurveRun
        The record, with times.
    lag : float, [s]
        Delay of the force.

    Returns
    -------
    array, [Pa]
        Pressure so much earlier, at every sample.
    """
    time = np.asarray(run.time, dtype=float)
    return np.asarray(np.interp(time - lag, time, np.asarray(run.pressure, dtype=float)))
