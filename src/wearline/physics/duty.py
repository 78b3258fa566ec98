"""Duties: speed over time, the braking power that it asks of a vehicle, and the heat flux at one rotor.

A duty is first a speed profile: a single stop, repeated snubs, a steady descent or a recorded run. With
mass, slope, resistances and retarder it becomes a cycle of braking power in even steps, exact in energy;
with a wheel end's share the friction flux for `rotor_heat`.
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
    check_time,
    require,
    require_positive,
)
from wearline.physics.stopping import NO_RESISTANCE, Resistance

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wearline.physics.domain import Number

__all__ = [
    "NO_RETARDER",
    "DutyCycle",
    "Retarder",
    "SpeedProfile",
    "braking_cycle",
    "friction_flux",
    "repeated_snubs",
    "single_stop",
    "steady_speed",
]


@dataclass(frozen=True, slots=True)
class SpeedProfile:
    """Speed over time, straight between the samples.

    Parameters
    ----------
    time : array, (n,), [s]
        Strictly increasing times.
    speed : array, (n,), [m/s], 0 to 60
        Speed at those times.

    Raises
    ------
    DomainError
        If time does not run forward, the lengths differ, or a speed is missing or outside its range.
    """

    time: NDArray[np.float64]
    speed: NDArray[np.float64]

    def __post_init__(self) -> None:
        check_time(self.time)
        if self.speed.shape != self.time.shape:
            raise DomainError(
                f"{self.speed.size} speeds belong to {self.time.size} times",
                allowed="one speed for each time",
                cure="Check the columns of the profile.",
            )
        check_speed(self.speed)
        if np.isnan(self.speed).any():
            at = int(np.flatnonzero(np.isnan(self.speed))[0])
            raise DomainError(
                f"the speed at sample {at + 1} is missing",
                allowed="a speed for each time",
                cure="Leave the sample out: the speed is taken as straight between samples.",
            )

    @property
    def duration(self) -> float:
        """Time from the first to the last sample, [s]."""
        return float(self.time[-1] - self.time[0])

    def followed_by(self, other: SpeedProfile, gap: float) -> SpeedProfile:
        """Return this profile with another one after a gap.

        Parameters
        ----------
        other : SpeedProfile
            What follows.
        gap : float, [s], more than 0
            Time between the last sample of this and the first of the other, in which the speed changes
            evenly.

        Returns
        -------
        SpeedProfile
            Both.

        Raises
        ------
        DomainError
            If the gap is not positive.
        """
        require_positive("gap between two profiles", gap, unit="s")
        later = other.time - other.time[0] + self.time[-1] + gap
        return SpeedProfile(np.concatenate((self.time, later)), np.concatenate((self.speed, other.speed)))


@dataclass(frozen=True, slots=True)
class Retarder:
    """A retarder or engine brake that is used before the wheel brakes.

    Parameters
    ----------
    power : float or array, [W], 0 or more, optional
        Greatest power at the wheels.
    force : float or array, [N], 0 or more, optional
        Greatest force at the wheels, which limits it at low speed.

    Raises
    ------
    DomainError
        If a value is negative or the power above 5 MW.
    """

    power: Number = 0.0
    force: Number = float("inf")

    def __post_init__(self) -> None:
        require("power of the retarder", self.power, 0.0, 5e6, unit="W", cure="Give watts: 150 kW is 150000.")
        require("force of the retarder", self.force, 0.0, unit="N")

    def power_at(self, speed: Number) -> Number:
        """Return the power that the retarder can take at a speed.

        Parameters
        ----------
        speed : float or array, [m/s], 0 to 60
            Road speed.

        Returns
        -------
        float or array, [W]
            The smaller of its power and its force times the speed; nothing at standstill.

        Raises
        ------
        DomainError
            If the speed is outside its range.
        """
        check_speed(speed)
        with np.errstate(invalid="ignore"):
            by_force = np.where(
                np.asarray(speed) > 0.0, np.asarray(self.force) * speed, 0.0 * np.asarray(speed)
            )
        limited: Number = np.minimum(self.power, by_force)[()]
        return limited


NO_RETARDER = Retarder()
"""No retarder, or one that is switched off."""


@dataclass(frozen=True, slots=True)
class DutyCycle:
    """Braking power of a whole vehicle in even steps.

    Parameters
    ----------
    step : float, [s]
        Time step.
    speed : array, (steps,), [m/s]
        Mean speed in each step.
    power : array, (steps,), [W]
        Mean power that the wheel brakes take in each step.
    """

    step: float
    speed: NDArray[np.float64]
    power: NDArray[np.float64]

    @property
    def time(self) -> NDArray[np.float64]:
        """End of each step, [s]."""
        return self.step * np.arange(1.0, self.speed.size + 1.0)

    @property
    def energy(self) -> float:
        """Energy that the wheel brakes take, [J]."""
        return float(self.power.sum() * self.step)

    @property
    def distance(self) -> float:
        """Distance run, [m]."""
        return float(self.speed.sum() * self.step)


def single_stop(speed: float, deceleration: float, rest: float) -> SpeedProfile:
    """Return one stop with even deceleration and a rest.

    Parameters
    ----------
    speed : float, [m/s], more than 0 to 60
        Speed at the start.
    deceleration : float, [m/s2], more than 0 to 15
        Deceleration.
    rest : float, [s], more than 0
        Time at standstill afterwards.

    Returns
    -------
    SpeedProfile
        The stop.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """
    _check_snub(speed, 0.0, deceleration)
    require_positive("rest after the stop", rest, unit="s")
    end = speed / deceleration
    return SpeedProfile(np.array([0.0, end, end + rest]), np.array([speed, 0.0, 0.0]))


def repeated_snubs(
    first: float, last: float, deceleration: float, *, interval: float, count: int, settle: float = 0.0
) -> SpeedProfile:
    """Return repeated slowings from one speed to a lower one, each followed by an even speeding up.

    Parameters
    ----------
    first : float, [m/s], more than 0 to 60
        Speed at the start of each slowing.
    last : float, [m/s], 0 to below `first`
        Speed at its end; 0 for repeated stops.
    deceleration : float, [m/s2], more than 0 to 15
        Deceleration.
    interval : float, [s], more than 0
        Time from the start of one slowing to the start of the next.
    count : int, 1 to 10 000
        Number of slowings.
    settle : float, [s], 0 or more, optional
        Time at the first speed before each next slowing.

    Returns
    -------
    SpeedProfile
        The run, ending one interval after the start of the last slowing.

    Raises
    ------
    DomainError
        If a value is outside its range or the interval leaves no time to speed up.
    """
    _check_snub(first, last, deceleration)
    require("number of slowings", count, 1, 10_000, unit="")
    require("time at the first speed", settle, 0.0, unit="s")
    braking = (first - last) / deceleration
    cure = "Take a longer interval, a stronger deceleration or less time to settle."
    require_positive("time left for speeding up", interval - braking - settle, unit="s", cure=cure)
    times, speeds = [0.0, braking, interval - settle], [first, last, first]
    if settle > 0.0:
        times, speeds = [*times, interval], [*speeds, first]
    shifts = interval * np.arange(count)[:, None]
    # the end of one interval is the start of the next
    time = np.concatenate(([0.0], (np.array(times[1:]) + shifts).ravel()))
    speed = np.concatenate(([first], np.tile(speeds[1:], count)))
    return SpeedProfile(time, speed)


def steady_speed(speed: float, duration: float) -> SpeedProfile:
    """Return a run at one speed, on a grade for instance.

    Parameters
    ----------
    speed : float, [m/s], 0 to 60
        Speed.
    duration : float, [s], more than 0
        Time.

    Returns
    -------
    SpeedProfile
        The run.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """
    require_positive("duration", duration, unit="s")
    return SpeedProfile(np.array([0.0, duration]), np.array([speed, speed]))


def braking_cycle(
    profile: SpeedProfile,
    mass: float,
    step: float,
    *,
    slope: Number = 0.0,
    resistance: Resistance = NO_RESISTANCE,
    retarder: Retarder = NO_RETARDER,
) -> DutyCycle:
    """Return the power that a speed profile asks of a vehicle's wheel brakes.

    Parameters
    ----------
    profile : SpeedProfile
        Speed over time.
    mass : float, [kg], 50 to 500 000
        Mass of the vehicle or combination.
    step : float, [s], more than 0 to the duration
        Time step of the cycle. A last part shorter than a step is rounded to whole steps.
    slope : float or array, (samples of the profile,), [1], -0.4 to 0.4, optional
        Height over length, positive downhill, in place of the resistance's own.
    resistance : Resistance, optional
        Rolling and air resistance; its slope is added.
    retarder : Retarder, optional
        What is used before the wheel brakes.

    Returns
    -------
    DutyCycle
        Mean speed and braking power of each step.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    P = -d(m v^2/2)/dt + m g v (slope - c_r) - m c_a v^3 - P_retarder, not below zero: kinetic energy at the
    ends of each step, the rest at its mean speed. Mechanics; the inertia of wheels and driveline is
    neglected.
    """
    check_mass(mass)
    check_slope(slope)
    require_positive("time step", step, unit="s")
    require("time step", step, 0.0, profile.duration, unit="s")
    count = max(1, round(profile.duration / step))
    edges = profile.time[0] + step * np.arange(count + 1)
    speed = np.interp(edges, profile.time, profile.speed)
    mean = 0.5 * (speed[1:] + speed[:-1])
    middles = 0.5 * (edges[1:] + edges[:-1])
    slopes = np.interp(middles, profile.time, np.broadcast_to(slope, profile.time.shape)) + resistance.slope
    kinetic = 0.5 * mass * (speed[:-1] ** 2 - speed[1:] ** 2) / step
    others = mass * mean * (GRAVITY * (slopes - resistance.rolling) - resistance.air * mean**2)
    power = np.maximum(kinetic + others - retarder.power_at(mean), 0.0)
    return DutyCycle(step, mean, power)


def friction_flux(
    cycle: DutyCycle, *, wheel_share: Number, heat_share: Number, face_area: Number
) -> NDArray[np.float64]:
    """Return the friction heat flux into the faces of one rotor or of many.

    Parameters
    ----------
    cycle : DutyCycle
        Braking power of the vehicle.
    wheel_share : float or array, (wheel ends,), [1], 0 to 1
        Share of the vehicle's braking at the wheel end.
    heat_share : float, [1], 0 to 1
        Share of the friction heat that goes into the rotor.
    face_area : float, [m2], more than 0
        Area of both friction faces together.

    Returns
    -------
    array, (steps,) or (steps, wheel ends), [W/m2]
        Mean flux into each face in each step.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    q = P share heat_share / A, both faces alike and the ring heated evenly.
    """
    require("share of the wheel end in the braking", wheel_share, 0.0, 1.0, unit="")
    require("share of the heat for the rotor", heat_share, 0.0, 1.0, unit="")
    require_positive("area of the friction faces", face_area, unit="m2")
    shares = np.asarray(wheel_share, dtype=float) * heat_share / face_area
    return np.multiply.outer(cycle.power, shares)


def _check_snub(first: float, last: float, deceleration: float) -> None:
    check_speed(first, "first speed")
    check_speed(last, "last speed")
    require_positive("first less last speed", first - last, unit="m/s")
    require("deceleration", deceleration, 0.0, 15.0, unit="m/s2")
    require_positive("deceleration", deceleration, unit="m/s2")
