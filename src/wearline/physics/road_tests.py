"""Figures of brake tests on the road: mean fully developed deceleration and hot performance.

The shares of the hot-performance rule come from a transcription of UN Regulation 13 and Directive 71/320/EEC:
confirm them in the present text before relying on them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.errors import DomainError
from wearline.physics.domain import check_speed, check_time, require, require_positive

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wearline.physics.domain import Number

__all__ = [
    "HotPerformance",
    "HotPerformanceRule",
    "hot_performance",
    "mean_fully_developed_deceleration",
    "mfdd_from_record",
]

UPPER_SHARE, LOWER_SHARE = 0.8, 0.1
"""Shares of the first speed between which the deceleration counts as fully developed (R13 Annex 4, 1.1.2)."""

EQUAL = 1e-9
"""[1] Relative difference below which two figures count as equal at the edge of a rule."""


def mean_fully_developed_deceleration(
    speed: Number, distance_at_upper: Number, distance_at_lower: Number
) -> Number:
    """Return the mean fully developed deceleration of a stop.

    Parameters
    ----------
    speed : float or array, [m/s], 0 to 60
        Speed at the start of the stop.
    distance_at_upper : float or array, [m], 0 or more
        Distance run until the speed is 80 % of it.
    distance_at_lower : float or array, [m], more than the other
        Distance run until the speed is 10 % of it.

    Returns
    -------
    float or array, [m/s2]
        Mean fully developed deceleration.

    Raises
    ------
    DomainError
        If the speed is outside its range or the distances are not in order.

    Notes
    -----
    d_m = (v_b^2 - v_e^2) / (2 (s_e - s_b)), v_b = 0.8 v_0, v_e = 0.1 v_0; with km/h the 2 becomes 25.92.
    UN Regulation 13 Annex 4, 1.1.2 (from a transcription, confirm).
    """
    check_speed(speed)
    require("distance at 80 % of the speed", distance_at_upper, 0.0, unit="m")
    braked = distance_at_lower - distance_at_upper
    require_positive("distance between 80 % and 10 % of the speed", braked, unit="m")
    return (UPPER_SHARE**2 - LOWER_SHARE**2) * speed * speed / (2.0 * braked)


def mfdd_from_record(time: NDArray[np.float64], speed: NDArray[np.float64]) -> float:
    """Return the mean fully developed deceleration of a recorded stop.

    Parameters
    ----------
    time : array, (n,), [s], strictly increasing
        Times of the samples.
    speed : array, (n,), [m/s], 0 to 60
        Speed, from the start of the stop to below 10 % of the first sample.

    Returns
    -------
    float, [m/s2]
        Mean fully developed deceleration.

    Raises
    ------
    DomainError
        If time does not run forward, the lengths differ or the record ends above 10 % of the first speed.

    Notes
    -----
    Distance by the trapezium rule, last passage of 80 % and first passage of 10 %, speed straight between
    samples.
    """
    check_time(time)
    if speed.shape != time.shape:
        raise DomainError(
            f"{speed.size} speeds belong to {time.size} times",
            allowed="one speed for each time",
            cure="Check the columns of the record.",
        )
    check_speed(speed)
    first = float(speed[0])
    if not float(np.min(speed)) <= LOWER_SHARE * first or first <= 0.0:
        raise DomainError(
            f"the record begins at {first:g} m/s and goes down to {float(np.min(speed)):g} m/s",
            allowed="a stop to below 10 % of its first speed",
            cure="Record until the vehicle stands.",
        )
    steps = np.diff(time)
    distance = np.concatenate(([0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * steps)))
    end = int(np.argmax(speed <= LOWER_SHARE * first))
    begin = int(np.flatnonzero(speed[:end] > UPPER_SHARE * first)[-1])
    places = [
        _place(speed, distance, steps, i, share * first)
        for i, share in ((begin, UPPER_SHARE), (end - 1, LOWER_SHARE))
    ]
    return float(mean_fully_developed_deceleration(first, places[0], places[1]))


@dataclass(frozen=True, slots=True)
class HotPerformanceRule:
    """Shares that a hot brake must still give after a repeated-braking test.

    Parameters
    ----------
    of_prescribed : float, [1], optional
        Share of the performance prescribed for the vehicle category, 0.80 for motor vehicles.
    of_recorded : float, [1], optional
        Share of the figure recorded in the cold test, 0.60.

    Notes
    -----
    UN Regulation 13 Annex 4, 1.5.3.1.1: both must hold, equality passes (from a transcription, confirm).
    """

    of_prescribed: float = 0.80
    of_recorded: float = 0.60


@dataclass(frozen=True, slots=True)
class HotPerformance:
    """Result of a hot-performance comparison.

    Parameters
    ----------
    of_prescribed, of_recorded : float, [1]
        Shares reached.
    satisfied : bool
        Both shares reach the rule; False also when one is unknown.
    """

    of_prescribed: float
    of_recorded: float
    satisfied: bool


def hot_performance(
    hot: float, prescribed: float, recorded: float, rule: HotPerformanceRule | None = None
) -> HotPerformance:
    """Compare a hot deceleration with the prescribed and the recorded cold one.

    Parameters
    ----------
    hot : float, [m/s2], 0 to 15
        Deceleration of the hot brake at the same control force.
    prescribed : float, [m/s2], more than 0
        Performance prescribed for the vehicle category.
    recorded : float, [m/s2], more than 0
        Deceleration recorded in the cold test.
    rule : HotPerformanceRule, optional
        Shares asked for; those for motor vehicles by default.

    Returns
    -------
    HotPerformance
        Shares reached and whether both satisfy the rule.

    Raises
    ------
    DomainError
        If a deceleration is outside its range.
    """
    rule = rule or HotPerformanceRule()
    require("hot deceleration", hot, 0.0, 15.0, unit="m/s2")
    require_positive("prescribed deceleration", prescribed, unit="m/s2")
    require_positive("recorded cold deceleration", recorded, unit="m/s2")
    shares = hot / prescribed, hot / recorded
    asked = rule.of_prescribed, rule.of_recorded
    satisfied = all(share >= least * (1.0 - EQUAL) for share, least in zip(shares, asked, strict=True))
    return HotPerformance(*shares, satisfied)


def _place(
    speed: NDArray[np.float64],
    distance: NDArray[np.float64],
    steps: NDArray[np.float64],
    i: int,
    target: float,
) -> float:
    """Return the distance at which the speed passes the target between samples i and i + 1."""
    part = (speed[i] - target) / (speed[i] - speed[i + 1])
    return float(distance[i] + 0.5 * (speed[i] + target) * part * steps[i])
