"""Stopping distance: closed formulas, integration of the motion, and the range that uncertain inputs leave.

A stop runs through a lag (control moved, nothing happens), a build-up (deceleration rises in a straight
line) and the rest at full deceleration. The closed formulas cover a level road without resistance; the
integration adds slope, rolling and air resistance and must agree with them where they hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.physics.domain import GRAVITY, check_slope, check_speed, require, require_positive

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wearline.physics.domain import Number

__all__ = [
    "NO_RESISTANCE",
    "Resistance",
    "Stop",
    "StopUncertainty",
    "deceleration_for_distance",
    "integrate_stop",
    "stopping_distance",
    "stopping_distance_range",
    "stopping_distance_two_phase",
    "u_stopping_distance",
]

LONGEST_LAG = 5.0
"""[s] A brake that needs longer to answer is broken, not slow."""

BUILD_UP_STEPS = 200
"""Steps of the integration within lag and build-up."""

SPEED_NODES = 48
"""Nodes of the integration over speed at full deceleration."""


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop on a level road.

    Parameters
    ----------
    speed : float or array, [m/s], 0 to 60
        Speed at which the control is moved.
    deceleration : float or array, [m/s2], 0 to 15, not 0
        Full deceleration.
    lag : float or array, [s], 0 to 5, optional
        Time before the deceleration begins.
    build_up : float or array, [s], 0 to 5, optional
        Time in which it rises in a straight line from nothing to full.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """

    speed: Number
    deceleration: Number
    lag: Number = 0.0
    build_up: Number = 0.0

    def __post_init__(self) -> None:
        check_speed(self.speed)
        require("deceleration", self.deceleration, 0.0, 15.0, unit="m/s2")
        require_positive("deceleration", self.deceleration, unit="m/s2")
        require("lag", self.lag, 0.0, LONGEST_LAG, unit="s")
        require("build-up time", self.build_up, 0.0, LONGEST_LAG, unit="s")


@dataclass(frozen=True, slots=True)
class StopUncertainty:
    """Standard uncertainties of the inputs of a stop, independent of one another.

    Parameters
    ----------
    speed : float or array, [m/s], 0 or more, optional
        Of the speed.
    deceleration : float or array, [m/s2], 0 or more, optional
        Of the full deceleration.
    lag : float or array, [s], 0 or more, optional
        Of the lag.
    build_up : float or array, [s], 0 or more, optional
        Of the build-up time.

    Raises
    ------
    DomainError
        If a value is negative.
    """

    speed: Number = 0.0
    deceleration: Number = 0.0
    lag: Number = 0.0
    build_up: Number = 0.0

    def __post_init__(self) -> None:
        require("standard uncertainty of the speed", self.speed, 0.0, unit="m/s")
        require("standard uncertainty of the deceleration", self.deceleration, 0.0, unit="m/s2")
        require("standard uncertainty of the lag", self.lag, 0.0, unit="s")
        require("standard uncertainty of the build-up time", self.build_up, 0.0, unit="s")


@dataclass(frozen=True, slots=True)
class Resistance:
    """What slows or drives the vehicle besides its brakes.

    Parameters
    ----------
    slope : float or array, [1], -0.4 to 0.4, optional
        Height over length, positive downhill.
    rolling : float or array, [1], 0 to 0.1, optional
        Rolling resistance over weight; 0.006 is usual for truck tyres (handbook value, from memory,
        unverified).
    air : float or array, [1/m], 0 to 0.01, optional
        Air resistance per mass and squared speed, rho c_d A / (2 m).

    Raises
    ------
    DomainError
        If a value is outside its range.
    """

    slope: Number = 0.0
    rolling: Number = 0.0
    air: Number = 0.0

    def __post_init__(self) -> None:
        check_slope(self.slope)
        require("rolling resistance", self.rolling, 0.0, 0.1, unit="")
        require("air resistance per mass", self.air, 0.0, 0.01, unit="1/m")


NO_RESISTANCE = Resistance()
"""Level road, no rolling and no air resistance."""


def stopping_distance_two_phase(speed: Number, deceleration: Number, lag: Number) -> Number:
    """Return the stopping distance with all delay put into one lag.

    Parameters
    ----------
    speed : float or array, [m/s], 0 to 60
        Speed at which the control is moved.
    deceleration : float or array, [m/s2], more than 0 to 15
        Full deceleration.
    lag : float or array, [s], 0 to 5
        Time at the first speed; about half of the build-up time counts as lag.

    Returns
    -------
    float or array, [m]
        Stopping distance.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    s = v t + v^2 / (2 a). Kinematics.
    """
    return stopping_distance(Stop(speed, deceleration, lag))


def stopping_distance(stop: Stop) -> Number:
    """Return the stopping distance with lag and straight build-up.

    Parameters
    ----------
    stop : Stop
        The stop.

    Returns
    -------
    float or array, [m]
        Distance from the first movement of the control.

    Notes
    -----
    S = v t_lag + v t_r / 2 + v^2 / (2 a) - a t_r^2 / 24 while v > a t_r / 2; a stop that ends within the
    build-up takes v t_lag + 2/3 v sqrt(2 v t_r / a). The first form without the lag is the one a US agency
    is remembered to have used for the lower speeds of FMVSS 121 Table II (from memory, unverified); both
    follow by integration.
    """
    v, a, build_up = stop.speed, stop.deceleration, stop.build_up
    full = 0.5 * v * build_up + 0.5 * v * v / a - a * build_up * build_up / 24.0
    early = 2.0 / 3.0 * v * (2.0 * v * build_up / a) ** 0.5
    distance: Number = (v * stop.lag + np.where(v > 0.5 * a * build_up, full, early))[()]
    return distance


def deceleration_for_distance(
    distance: Number, speed: Number, build_up: Number = 0.0, lag: Number = 0.0
) -> Number:
    """Return the full deceleration that a stopping distance needs.

    Parameters
    ----------
    distance : float or array, [m], more than the distance run in lag and half of the build-up
        Stopping distance.
    speed : float or array, [m/s], more than 0 to 60
        Speed at which the control is moved.
    build_up : float or array, [s], 0 to 5, optional
        Time of the build-up.
    lag : float or array, [s], 0 to 5, optional
        Time before the deceleration begins.

    Returns
    -------
    float or array, [m/s2]
        Full deceleration, reached before the vehicle stands.

    Raises
    ------
    DomainError
        If a value is outside its range or no deceleration is great enough.

    Notes
    -----
    Positive root of a^2 t_r^2 / 24 + a (S - v t_r / 2 - v t_lag) - v^2 / 2 = 0. Derived.
    """
    check_speed(speed)
    require_positive("speed", speed, unit="m/s")
    require("lag", lag, 0.0, LONGEST_LAG, unit="s")
    require("build-up time", build_up, 0.0, LONGEST_LAG, unit="s")
    braked = distance - speed * lag - 0.5 * speed * build_up
    cure = "The distance is run before the brakes work: check distance, speed and times."
    require_positive("distance left for braking", braked, unit="m", cure=cure)
    half = build_up * build_up / 24.0
    return speed * speed / (braked + (braked * braked + 2.0 * half * speed * speed) ** 0.5)


def integrate_stop(stop: Stop, resistance: Resistance = NO_RESISTANCE) -> tuple[Number, Number]:
    """Return distance and time of a stop by integrating the motion.

    Parameters
    ----------
    stop : Stop
        Speed, full deceleration of the brakes and their timing.
    resistance : Resistance, optional
        Slope, rolling and air resistance.

    Returns
    -------
    distance : float or array, [m]
        Distance from the first movement of the control; infinite where the brakes do not hold the slope.
    time : float or array, [s]
        Time to standstill.

    Notes
    -----
    dv/dt = -(a r(t) + c_r g - g slope + c_a v^2), r the build-up; fourth-order Runge-Kutta through lag and
    build-up, then Gauss-Legendre quadrature of v / a(v) and 1 / a(v) over the speed. A stop that ends
    within the build-up ends in its last step with constant deceleration.
    """
    motion = _Motion(stop, resistance)
    early_distance, early_time, v, moving = motion.through_build_up()
    late_distance, late_time = motion.from_speed(v)
    distance = early_distance + np.where(moving, late_distance, 0.0)
    time = early_time + np.where(moving, late_time, 0.0)
    return distance[()], time[()]


def u_stopping_distance(stop: Stop, uncertainty: StopUncertainty) -> Number:
    """Return the standard uncertainty of the stopping distance.

    Parameters
    ----------
    stop : Stop
        The stop, full deceleration reached before standstill.
    uncertainty : StopUncertainty
        Standard uncertainties of its inputs.

    Returns
    -------
    float or array, [m]
        Standard uncertainty.

    Notes
    -----
    First-order propagation (JCGM 100 eq. 10) with the derivatives of the closed formula:
    dS/dv = t_lag + t_r/2 + v/a, dS/da = -v^2/(2 a^2) - t_r^2/24, dS/dt_lag = v, dS/dt_r = v/2 - a t_r/12.
    """
    v, a, build_up = stop.speed, stop.deceleration, stop.build_up
    by_speed = (stop.lag + 0.5 * build_up + v / a) * uncertainty.speed
    by_rate = (0.5 * v * v / (a * a) + build_up * build_up / 24.0) * uncertainty.deceleration
    by_lag = v * uncertainty.lag
    by_build_up = (0.5 * v - a * build_up / 12.0) * uncertainty.build_up
    return (by_speed**2 + by_rate**2 + by_lag**2 + by_build_up**2) ** 0.5


def stopping_distance_range(
    stop: Stop, uncertainty: StopUncertainty, coverage_factor: float
) -> tuple[Number, Number, Number]:
    """Return the stopping distance with the range that its uncertain inputs leave.

    Parameters
    ----------
    stop : Stop
        The stop.
    uncertainty : StopUncertainty
        Standard uncertainties of its inputs.
    coverage_factor : float, [1], 0 to 5
        1.96 for 95 % two-sided.

    Returns
    -------
    least, distance, most : float or array, [m]
        Range and best value.

    Raises
    ------
    DomainError
        If the coverage factor is outside 0 to 5.

    Notes
    -----
    S exp(-k u/S) to S exp(k u/S): the distance goes with one over the deceleration, so its spread is nearer
    to even in the logarithm, and the long side comes out longer.
    """
    require("coverage factor", coverage_factor, 0.0, 5.0, unit="")
    distance = stopping_distance(stop)
    spread = np.exp(coverage_factor * u_stopping_distance(stop, uncertainty) / distance)
    return distance / spread, distance, distance * spread


class _Motion:
    """The equation of motion of one stop or a batch of stops."""

    def __init__(self, stop: Stop, resistance: Resistance) -> None:
        shapes = (stop.speed, stop.deceleration, stop.lag, stop.build_up)
        others = (resistance.slope, resistance.rolling, resistance.air)
        arrays: list[NDArray[np.float64]] = [np.asarray(x, dtype=float) for x in (*shapes, *others)]
        zero = np.zeros(np.broadcast_shapes(*(x.shape for x in arrays)))
        self.speed, self.full, self.lag, self.build_up, slope, rolling, self.air = (x + zero for x in arrays)
        self.passive: NDArray[np.float64] = GRAVITY * (rolling - slope)

    def _slowing(self, share: float, v: NDArray[np.float64]) -> NDArray[np.float64]:
        return self.full * share + self.passive + self.air * v * v

    def through_build_up(
        self,
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
        v, s, t = self.speed.copy(), np.zeros_like(self.speed), np.zeros_like(self.speed)
        for phase, duration in enumerate((self.lag, self.build_up)):
            step = duration / BUILD_UP_STEPS
            for i in range(BUILD_UP_STEPS):
                shares = [phase * (i + part) / BUILD_UP_STEPS for part in (0.0, 0.5, 1.0)]
                s, v, t = self._advance(s, v, t, step, shares)
        return s, t, v, v > 0.0

    def _advance(
        self,
        s: NDArray[np.float64],
        v: NDArray[np.float64],
        t: NDArray[np.float64],
        step: NDArray[np.float64],
        shares: list[float],
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        k1 = self._slowing(shares[0], v)
        v2 = v - 0.5 * step * k1
        k2 = self._slowing(shares[1], v2)
        v3 = v - 0.5 * step * k2
        k3 = self._slowing(shares[1], v3)
        v4 = v - step * k3
        k4 = self._slowing(shares[2], v4)
        after = v - step * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0
        path = step * (v + 2.0 * v2 + 2.0 * v3 + v4) / 6.0
        with np.errstate(divide="ignore", invalid="ignore"):
            part = np.where(v - after > 0.0, v / (v - after), 1.0)
        stands = (after <= 0.0) & (v > 0.0)
        still = v <= 0.0
        path = np.where(stands, 0.5 * v * part * step, path)
        t = t + np.where(still, 0.0, np.where(stands, part * step, step))
        return s + np.where(still, 0.0, path), np.where(stands | still, 0.0, after), t

    def from_speed(self, v: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        nodes, weights = np.polynomial.legendre.leggauss(SPEED_NODES)
        distance, time = np.zeros_like(v), np.zeros_like(v)
        holds = self.full + self.passive > 0.0
        for node, weight in zip(nodes, weights, strict=True):
            at = 0.5 * v * (1.0 + node)
            slowing = np.where(holds, self._slowing(1.0, at), 1.0)
            distance = distance + 0.5 * weight * v * at / slowing
            time = time + 0.5 * weight * v / slowing
        known = ~np.isnan(v + self.passive + self.full)
        never = known & ~holds & (v > 0.0)
        return np.where(never, np.inf, distance), np.where(never, np.inf, time)
