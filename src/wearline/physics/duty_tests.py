"""Duties of published brake tests: repeated braking of UN Regulation 13, fade and recovery of FMVSS 121.

The schedules describe type tests of new vehicles and brakes. They serve here to compare rotors and to check
the heat model; they are no in-service rule.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.errors import DomainError
from wearline.physics.domain import check_speed
from wearline.physics.duty import SpeedProfile, repeated_snubs, single_stop

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = [
    "TypeOneRule",
    "TypeOneSchedule",
    "fmvss_121_fade",
    "fmvss_121_fade_and_recovery",
    "type_one_profile",
    "type_one_schedule",
]

KILOMETRE_PER_HOUR = 1.0 / 3.6
MILE_PER_HOUR = 0.44704
FOOT = 0.3048


@dataclass(frozen=True, slots=True)
class TypeOneRule:
    """Repeated braking prescribed for some vehicle categories.

    Parameters
    ----------
    categories : tuple of str
        Vehicle categories.
    highest : float, [m/s]
        Greatest first speed.
    interval : float, [s]
        Time from one application to the next.
    count : int
        Number of applications.
    """

    categories: tuple[str, ...]
    highest: float
    interval: float
    count: int


TYPE_ONE_RULES = (
    TypeOneRule(("M2",), 100.0 * KILOMETRE_PER_HOUR, 55.0, 15),
    TypeOneRule(("M3", "N2", "N3"), 60.0 * KILOMETRE_PER_HOUR, 60.0, 20),
    TypeOneRule(("N1",), 120.0 * KILOMETRE_PER_HOUR, 55.0, 15),
)
"""UN Regulation 13 Annex 4, 1.5.1.1; 71/320/EEC Annex II, 1.3.1.1 (from a transcription, confirm)."""

SPEED_SHARE = 0.8
"""[1] Share of the vehicle's greatest speed at which the test starts, up to the category's cap; as above."""

TYPE_ONE_DECELERATION = 3.0
"""[m/s2] Deceleration set at the first application (Annex 4, 1.5.1.2; from a transcription, confirm)."""

TYPE_ONE_SETTLE = 10.0
"""[s] Time allowed to steady the speed (Annex 4, 1.5.1.4; from a transcription, confirm)."""


@dataclass(frozen=True, slots=True)
class TypeOneSchedule:
    """Repeated braking for one vehicle.

    Parameters
    ----------
    first, last : float, [m/s]
        Speeds at start and end of each application.
    interval : float, [s]
        Time from one application to the next.
    count : int
        Number of applications.
    """

    first: float
    last: float
    interval: float
    count: int


def type_one_schedule(category: str, greatest_speed: float) -> TypeOneSchedule:
    """Return the Type-I schedule of a motor vehicle.

    Parameters
    ----------
    category : str
        'M2', 'M3', 'N1', 'N2' or 'N3'.
    greatest_speed : float, [m/s], more than 0 to 60
        Greatest speed of the vehicle.

    Returns
    -------
    TypeOneSchedule
        Speeds, interval and number.

    Raises
    ------
    DomainError
        If the category is unknown or the speed outside its range.

    Notes
    -----
    v1 = 80 % of the greatest speed, at most the category's cap; v2 = v1 / 2.
    """
    check_speed(greatest_speed, "greatest speed")
    for rule in TYPE_ONE_RULES:
        if category in rule.categories:
            first = min(SPEED_SHARE * greatest_speed, rule.highest)
            return TypeOneSchedule(first, 0.5 * first, rule.interval, rule.count)
    known = ", ".join(sorted(name for rule in TYPE_ONE_RULES for name in rule.categories))
    raise DomainError(
        f"the vehicle category is {category!r}", allowed=known, cure="Give the category of the motor vehicle."
    )


def type_one_profile(schedule: TypeOneSchedule) -> SpeedProfile:
    """Return the speed over time of a Type-I test.

    Parameters
    ----------
    schedule : TypeOneSchedule
        The schedule.

    Returns
    -------
    SpeedProfile
        All applications at 3 m/s2, speeding up evenly and 10 s at the first speed between them.
    """
    return repeated_snubs(
        schedule.first,
        schedule.last,
        TYPE_ONE_DECELERATION,
        interval=schedule.interval,
        count=schedule.count,
        settle=TYPE_ONE_SETTLE,
    )


def fmvss_121_fade() -> SpeedProfile:
    """Return the brake power part of the dynamometer test: ten snubs and one stop.

    Returns
    -------
    SpeedProfile
        Ten snubs from 50 to 15 mph at 9 ft/s2 every 72 s, then one stop from 20 mph at 14 ft/s2 a minute
        after the last snub.

    Notes
    -----
    49 CFR 571.121 S5.4.2 and S5.4.2.1-2. Between snubs the speed rises evenly; the minute counts from the
    end of the tenth snub's slowing, the brake turning at 20 mph.
    """
    first, last, slowing = 50.0 * MILE_PER_HOUR, 15.0 * MILE_PER_HOUR, 9.0 * FOOT
    nine = repeated_snubs(first, last, slowing, interval=72.0, count=9)
    braking = (first - last) / slowing
    tenth = SpeedProfile(*_as_arrays([0.0, braking], [first, last]))
    stop = single_stop(20.0 * MILE_PER_HOUR, 14.0 * FOOT, rest=1.0)
    ten = SpeedProfile(
        *_as_arrays([*nine.time, *(nine.time[-1] + tenth.time[1:])], [*nine.speed, *tenth.speed[1:]])
    )
    return ten.followed_by(stop, gap=60.0)


def fmvss_121_fade_and_recovery() -> SpeedProfile:
    """Return fade and recovery of the dynamometer test.

    Returns
    -------
    SpeedProfile
        The fade part, then twenty stops from 30 mph at 12 ft/s2, one a minute, the first two minutes after
        the fade stop.

    Notes
    -----
    49 CFR 571.121 S5.4.2 and S5.4.3.
    """
    recovery = repeated_snubs(30.0 * MILE_PER_HOUR, 0.0, 12.0 * FOOT, interval=60.0, count=20)
    return fmvss_121_fade().followed_by(recovery, gap=119.0)


def _as_arrays(*rows: list[float]) -> tuple[NDArray[np.float64], ...]:
    return tuple(np.array(row, dtype=float) for row in rows)
