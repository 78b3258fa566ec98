"""Speed on a long descent: what the wheel brakes heat up to, and the speed that keeps them below a limit.

The wheel ends are taken as warm all through and without radiation, so that temperatures come out high
rather than low. The numbers of cooling are expert judgement. This is an estimate to plan with, never a
permission: signs, local codes, the maker's instructions and the driver's own judgement on the day govern
the speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.errors import DomainError
from wearline.physics.domain import (
    GRAVITY,
    check_mass,
    check_slope,
    check_speed,
    require,
    require_positive,
)
from wearline.physics.duty import NO_RETARDER, Retarder

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wearline.physics.domain import Number

__all__ = [
    "BrakeSet",
    "Descent",
    "braking_power",
    "descent_temperature",
    "safe_descent_speed",
    "stop_temperature_rise",
]

SLOWEST = 1.0
"""[m/s] A slower descent is not driven."""

SPEED_STEP = 0.1
"""[m/s] Speeds that are tried before the limit is refined."""

HALVINGS = 40
"""Halvings of the last speed step."""


@dataclass(frozen=True, slots=True)
class Descent:
    """A vehicle on a descent of even slope.

    Parameters
    ----------
    mass : float or array, [kg], 50 to 500 000
        Mass of the vehicle or combination.
    slope : float or array, [1], -0.4 to 0.4
        Height over length, positive downhill.
    length : float or array, [m], more than 0 to 200 000
        Length of the descent.
    rolling : float or array, [1], 0 to 0.1, optional
        Rolling resistance over weight; 0.006 is a handbook value from memory, unverified.
    drag_area : float or array, [m2], 0 to 20, optional
        Air drag coefficient times area; 6 is expert judgement.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """

    mass: Number
    slope: Number
    length: Number
    rolling: Number = 0.006
    drag_area: Number = 6.0

    def __post_init__(self) -> None:
        check_mass(self.mass)
        check_slope(self.slope)
        require_positive("length of the descent", self.length, unit="m")
        require("length of the descent", self.length, 0.0, 200e3, unit="m")
        require("rolling resistance", self.rolling, 0.0, 0.1, unit="")
        require("drag area", self.drag_area, 0.0, 20.0, unit="m2")


@dataclass(frozen=True, slots=True)
class BrakeSet:
    """The wheel brakes of a vehicle, all alike, as they take and give off heat.

    Parameters
    ----------
    count : float or array, [1], more than 0
        Brakes that share the work. Count a weak one by its share.
    start : float or array, [K], 150 to 1500, optional
        Temperature at the top; 40 degC is a cold start.
    ambient : float or array, [K], 150 to 1500, optional
        Temperature of the air.
    heat_capacity : float or array, [J/K], more than 0, optional
        Of one wheel end: 31 kg of iron with a part of the calliper, 16 200, expert judgement.
    cooling_at_rest : float or array, [W/K], 0 or more, optional
        Heat given off per kelvin standing, 10, expert judgement.
    cooling_per_speed : float or array, [W s/(K m)], 0 or more, optional
        Its growth with the speed, 0.9, so that 20 to 30 W/K are reached on the road, expert judgement.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """

    count: Number
    start: Number = 313.15
    ambient: Number = 293.15
    heat_capacity: Number = 16_200.0
    cooling_at_rest: Number = 10.0
    cooling_per_speed: Number = 0.9

    def __post_init__(self) -> None:
        require_positive("number of brakes", self.count, unit="")
        for name, value in (("temperature at the top", self.start), ("ambient temperature", self.ambient)):
            require(name, value, 150.0, 1500.0, unit="K", cure="Give kelvin: 40 degC is 313.15 K.")
        require_positive("heat capacity of a wheel end", self.heat_capacity, unit="J/K")
        require("cooling at rest", self.cooling_at_rest, 0.0, 1e3, unit="W/K")
        require("growth of the cooling", self.cooling_per_speed, 0.0, 1e2, unit="W s/(K m)")
        require_positive(
            "cooling at the slowest speed",
            self.cooling_at_rest + self.cooling_per_speed * SLOWEST,
            unit="W/K",
        )

    def conductance(self, speed: Number) -> Number:
        """Return the heat that a wheel end gives off per kelvin at a speed.

        Parameters
        ----------
        speed : float or array, [m/s], 0 to 60
            Road speed.

        Returns
        -------
        float or array, [W/K]
            Heat per temperature difference.

        Raises
        ------
        DomainError
            If the speed is outside its range.
        """
        check_speed(speed)
        return self.cooling_at_rest + self.cooling_per_speed * speed


AIR_DENSITY = 1.2
"""[kg/m3] Air near sea level at 20 degC (handbook value, from memory, unverified)."""


def braking_power(speed: Number, descent: Descent, retarder: Retarder = NO_RETARDER) -> Number:
    """Return the power that all wheel brakes take at a steady speed.

    Parameters
    ----------
    speed : float or array, [m/s], 0 to 60
        Speed held.
    descent : Descent
        Vehicle and slope.
    retarder : Retarder, optional
        What is used before the wheel brakes.

    Returns
    -------
    float or array, [W]
        Power, not below zero.

    Raises
    ------
    DomainError
        If the speed is outside its range.

    Notes
    -----
    P = m g v (slope - c_r) - rho c_d A v^3 / 2 - P_retarder. Mechanics.
    """
    check_speed(speed)
    pull = descent.mass * GRAVITY * (descent.slope - descent.rolling) * speed
    air = 0.5 * AIR_DENSITY * descent.drag_area * speed**3
    power: Number = np.maximum(pull - air - retarder.power_at(speed), 0.0)
    return power


def descent_temperature(
    speed: Number,
    descent: Descent,
    brakes: BrakeSet,
    retarder: Retarder = NO_RETARDER,
    share_run: Number = 1.0,
) -> Number:
    """Return the temperature of the brakes after a part of the descent.

    Parameters
    ----------
    speed : float or array, [m/s], 1 to 60
        Speed held.
    descent : Descent
        Vehicle and slope.
    brakes : BrakeSet
        Its wheel brakes.
    retarder : Retarder, optional
        What is used before them.
    share_run : float or array, [1], 0 to 1, optional
        Share of the length that has been run: an array gives the temperature curve.

    Returns
    -------
    float or array, [K]
        Temperature of each wheel end.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    T = T_a + (T_0 - T_a) exp(-t/tau) + P / (n h A) (1 - exp(-t/tau)), tau = m c / h A. Derived; no
    radiation, so high temperatures are overstated.
    """
    require("speed", speed, SLOWEST, 60.0, unit="m/s")
    require("share of the descent", share_run, 0.0, 1.0, unit="")
    conductance = brakes.conductance(speed)
    time = descent.length * share_run / speed
    kept = np.exp(-time * conductance / brakes.heat_capacity)
    settled = braking_power(speed, descent, retarder) / (brakes.count * conductance)
    temperature: Number = brakes.ambient + (brakes.start - brakes.ambient) * kept + settled * (1.0 - kept)
    return temperature


def stop_temperature_rise(
    speed: Number, descent: Descent, brakes: BrakeSet, heat_share: float = 0.9
) -> Number:
    """Return how much one full stop adds to the temperature of the brakes.

    Parameters
    ----------
    speed : float or array, [m/s], 0 to 60
        Speed at its start.
    descent : Descent
        The vehicle.
    brakes : BrakeSet
        Its wheel brakes.
    heat_share : float, [1], 0 to 1, optional
        Share of the energy that stays in the rotors; 0.9 is a usual round figure.

    Returns
    -------
    float or array, [K]
        Mean rise of a rotor.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    share m v^2 / 2 / (n m c). Energy balance; the slope during the stop is neglected.
    """
    check_speed(speed)
    require("share of the heat for the rotor", heat_share, 0.0, 1.0, unit="")
    return heat_share * 0.5 * descent.mass * speed * speed / (brakes.count * brakes.heat_capacity)


def safe_descent_speed(
    descent: Descent,
    brakes: BrakeSet,
    limit: float,
    *,
    retarder: Retarder = NO_RETARDER,
    fastest: float = 25.0,
) -> Number:
    """Return the speed up to which the brakes stay below a limit, one full stop at the bottom included.

    Parameters
    ----------
    descent : Descent
        Vehicle and slope; arrays give one speed each.
    brakes : BrakeSet
        Its wheel brakes.
    limit : float, [K], 300 to 1500
        Temperature not to be exceeded, set by who plans the descent.
    retarder : Retarder, optional
        What is used before the wheel brakes.
    fastest : float, [m/s], 1 to 60, optional
        Speed limit of road or vehicle.

    Returns
    -------
    float or array, [m/s]
        Greatest speed such that it and every slower one keep the limit, `fastest` at most, 0 where even
        walking pace is too hot: such a descent must not be driven with this load and these brakes. NaN
        where an input is unknown.

    Raises
    ------
    DomainError
        If the limit or the fastest speed is outside its range.

    Notes
    -----
    Steps of 0.1 m/s, the last one halved until it is narrower than rounding. Slower speeds must be safe
    too, because a retarder that holds at one speed may not hold at a lower one.
    """
    require("temperature limit", limit, 300.0, 1500.0, unit="K", cure="Give kelvin: 260 degC is 533.15 K.")
    require("fastest speed", fastest, SLOWEST, 60.0, unit="m/s")
    if limit != limit:
        raise DomainError(
            "the temperature limit is not a number", allowed="300 to 1500 K", cure="Give a limit in kelvin."
        )

    def excess(speed: NDArray[np.float64]) -> NDArray[np.float64]:
        hot = descent_temperature(speed, descent, brakes, retarder)
        return np.asarray(hot + stop_temperature_rise(speed, descent, brakes) - limit)

    low = np.zeros(np.shape(excess(np.asarray(SLOWEST))))
    high, found = low + np.nan, np.zeros(low.shape, dtype=bool)
    speeds = np.append(np.arange(SLOWEST, fastest, SPEED_STEP), fastest)
    for before, speed in zip(np.append(0.0, speeds[:-1]), speeds, strict=True):
        crosses = ~found & (excess(np.asarray(speed)) > 0.0)
        low, high = np.where(crosses, before, low), np.where(crosses, speed, high)
        found |= crosses
    for _ in range(HALVINGS):
        middle = np.where(found & (low >= SLOWEST), 0.5 * (low + high), SLOWEST)
        hot = excess(middle) > 0.0
        low = np.where(found & ~hot & (low >= SLOWEST), middle, low)
        high = np.where(found & hot, middle, high)
    unknown = np.isnan(excess(np.asarray(SLOWEST)))
    safe: Number = np.where(unknown, np.nan, np.where(found, low, fastest))[()]
    return safe
