"""Rotor, guide play and boots: parts that wear on their own clocks beside the pads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from wearline.forecasting.clocks import PlacedInspection
from wearline.forecasting.nested import Floats
from wearline.forecasting.padsets import Readings, Tracks, gauge_sums
from wearline.forecasting.sites import intervals_of, tilted_moments
from wearline.records.place import WheelEndPlace

__all__ = ["BOOTS", "BootLife", "Drift", "boot_draws", "boot_life", "drift_draws", "series"]

BOOTS = ("guide_pin_boot", "tappet_boot")
_TORN = ("torn", "missing", "unseated", "leaks")

_OPEN_START = 0.05
"""[m] Uncertainty of the size where nothing was read yet: none is assumed."""

_RENEWED = 4.0
"""[1] A step back by more than this many standard uncertainties is a renewed part."""

_BOOT_MEAN_LIFE = 2.0e9
"""[m] Mean distance until a boot tears (expert judgement)."""

_BOOT_WORTH = 2.0
"""[1] Torn boots that this judgement is worth."""


@dataclass(frozen=True, slots=True)
class Drift:
    """What is known of a part's rate before it is read.

    Parameters
    ----------
    log_rate, spread : float
        Mean and standard deviation of the log rate [m/m].
    grows : bool
        True for play, which grows; False for a thickness, which falls.
    """

    log_rate: float
    spread: float
    grows: bool


def series(placed: Sequence[PlacedInspection], place: WheelEndPlace, field: str) -> tuple[Floats, Floats]:
    """Return clock and value of every reading of one field at one wheel end.

    Parameters
    ----------
    placed : sequence of PlacedInspection
        The vehicle's inspections, oldest first.
    place : WheelEndPlace
        Wheel end.
    field : str
        Name of the field.

    Returns
    -------
    array, array
        Clock [m] and value [SI], oldest first.
    """
    found = []
    for item in placed:
        end = item.inspection.wheel_end(place)
        reading = end.measured(field) if end is not None else None
        if reading is not None:
            found.append((item.clock, reading.value))
    table = np.array(found, dtype=float).reshape(-1, 2)
    return table[:, 0], table[:, 1]


def drift_draws(
    clock: Floats,
    value: Floats,
    u: float,
    limit: float,
    drift: Drift,
    now: float,
    draws: int,
    rng: np.random.Generator,
) -> Floats:
    """Draw the distance from now until a part meets its limit.

    Parameters
    ----------
    clock, value : array, shape (readings,)
        Its readings, oldest first [m], [SI]; at least one.
    u : float
        Standard uncertainty of a reading.
    limit : float
        Least thickness, or greatest play.
    drift : Drift
        What is known of the rate.
    now : float, [m]
        Where the vehicle stands on its clock.
    draws : int
        How many.
    rng : numpy.random.Generator
        Source of the draws.

    Returns
    -------
    array, shape (draws,), [m]
        Distances; 0 where the limit has been met.

    Notes
    -----
    Only readings since the last renewal count (a step back by more than four standard uncertainties).
    The same parabola and one-dimensional integral as for pads, with nothing known of the start.
    """
    sign = -1.0 if drift.grows else 1.0
    size = sign * np.asarray(value, dtype=float)
    back = np.flatnonzero(np.diff(size) > _RENEWED * u * np.sqrt(2.0))
    first = int(back[-1]) + 1 if back.size else 0
    clock, size = clock[first:], size[first:]
    one = np.zeros(1, dtype=np.int64)
    tracks = Tracks(
        one,
        one,
        one,
        one,
        one,
        np.array([clock.size]),
        size[:1],
        np.array([_OPEN_START]),
        np.ones((1, 1)),
        np.ones(1, dtype=bool),
    )
    readings = Readings.of_values(clock - clock[0], size, np.full(clock.size, u))
    rate = np.array([np.exp(drift.log_rate)])
    sums = gauge_sums(tracks, readings, rate=rate, route=0.0)
    between = intervals_of(tracks, readings, rate=rate, route=0.0)
    tilted = tilted_moments(sums, between, np.array([drift.log_rate]), np.array([drift.spread**2]), 0.0)
    r = np.exp(tilted.mean[0] + np.sqrt(tilted.variance[0]) * rng.standard_normal(draws))
    present = sums.level[0] + sums.slope[0] * r + np.sqrt(sums.variance[0]) * rng.standard_normal(draws)
    present = present - r * max(now - float(clock[-1]), 0.0)
    return np.asarray(np.maximum(present - sign * limit, 0.0) / r)


@dataclass(frozen=True, slots=True)
class BootLife:
    """Rate at which boots tear.

    Parameters
    ----------
    torn : float
        Torn boots, the prior's worth included.
    run : float, [m]
        Distance that boots were seen to run, the prior's included.
    """

    torn: float
    run: float


def boot_life(vehicles: Sequence[tuple[Sequence[PlacedInspection], Sequence[WheelEndPlace]]]) -> BootLife:
    """Learn from a fleet how far boots run before they tear.

    Parameters
    ----------
    vehicles : sequence of (inspections, wheel ends)
        Inspections of each vehicle, oldest first, and its wheel ends.

    Returns
    -------
    BootLife
        Prior and fleet together.

    Notes
    -----
    A boot seen sound and next time torn has run half the stretch on average; constant hazard, with a gamma
    prior worth two torn boots (expert judgement).
    """
    torn, run = _BOOT_WORTH, _BOOT_WORTH * _BOOT_MEAN_LIFE
    for placed, places in vehicles:
        for place in places:
            for field in BOOTS:
                words = [
                    (item.clock, end.word(field))
                    for item in placed
                    if (end := item.inspection.wheel_end(place)) is not None and end.word(field)
                ]
                for (before, was), (after, word) in pairwise(words):
                    if was in _TORN:
                        continue
                    failed = word in _TORN
                    torn += failed
                    run += (after - before) * (0.5 if failed else 1.0)
    return BootLife(torn, run)


def boot_draws(
    placed: Sequence[PlacedInspection],
    place: WheelEndPlace,
    life: BootLife,
    now: float,
    draws: int,
    rng: np.random.Generator,
) -> Floats | None:
    """Draw the distance from now until the first boot of a wheel end tears.

    Parameters
    ----------
    placed : sequence of PlacedInspection
        The vehicle's inspections, oldest first.
    place : WheelEndPlace
        Wheel end.
    life : BootLife
        From ``boot_life``.
    now : float, [m]
        Where the vehicle stands on its clock.
    draws : int
        How many.
    rng : numpy.random.Generator
        Source of the draws.

    Returns
    -------
    array, shape (draws,), [m], or None
        0 if one is torn, None if no boot was ever looked at. Distance counts from the last look.
    """
    last: dict[str, tuple[float, str]] = {}
    for item in placed:
        end = item.inspection.wheel_end(place)
        for field in BOOTS:
            if end is not None and end.word(field):
                last[field] = (item.clock, end.word(field))
    if not last:
        return None
    if any(word in _TORN for _, word in last.values()):
        return np.zeros(draws)
    rate = rng.gamma(life.torn, 1.0 / life.run, draws)
    lives = [
        np.maximum(rng.exponential(size=draws) / rate - max(now - clock, 0.0), 0.0)
        for clock, _ in last.values()
    ]
    return np.asarray(np.min(lives, axis=0))
