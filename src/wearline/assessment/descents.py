"""A long descent planned: safe speed and temperature of the brakes, likely and on the cautious side.

The cautious side takes the low end of the cooling and of the air resistance and leaves out the rolling
resistance, whose value is unverified. It alone decides.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.assessment.braking_numbers import braking_number, braking_numbers
from wearline.catalogue.model import Design
from wearline.errors import DomainError
from wearline.physics.descent import (
    BrakeSet,
    Descent,
    braking_power,
    descent_temperature,
    safe_descent_speed,
    stop_temperature_rise,
)
from wearline.physics.domain import require
from wearline.physics.duty import Retarder

__all__ = ["DescentPlan", "DescentTask", "SpeedOutcome", "plan_descent"]

ONE_SIDED = 1.645
"""Standard deviations above which 5 % lie."""

REFERENCE_DIAMETER, REFERENCE_THICKNESS = 0.432, 0.045
"""[m] Rotor of the generic 22.5-inch brake, to which heat capacity and cooling of the model belong."""

CURVE_POINTS = 61


@dataclass(frozen=True, slots=True)
class DescentTask:
    """What is to be driven, with which brakes.

    Parameters
    ----------
    mass : float, [kg], 50 to 500 000
        Mass of the vehicle or combination.
    slope : float, [1], more than 0 to 0.4
        Height over length.
    length : float, [m], more than 0 to 200 000
        Length of the descent.
    brakes : float, [1], more than 0 to 60
        Brakes that work; a weak one counts by its share.
    retarder : float, [W], 0 or more
        Power of retarder or engine brake at the wheels.
    limit : float or None, [K], 320 to 1500
        Temperature not to be passed; the file's own by default.
    start, ambient : float, [K], 150 to 1500
        Temperature of the brakes at the top, and of the air.
    speed : float or None, [m/s], 1 to 60
        Speed to look at; the cautious safe speed by default.
    fastest : float, [m/s], 1 to 60
        Speed limit of the road or the vehicle.
    """

    mass: float
    slope: float
    length: float
    brakes: float
    retarder: float = 0.0
    limit: float | None = None
    start: float = 313.15
    ambient: float = 293.15
    speed: float | None = None
    fastest: float = 25.0


@dataclass(frozen=True, slots=True)
class SpeedOutcome:
    """What the brakes come to at one speed.

    Parameters
    ----------
    speed : float, [m/s]
        Speed held.
    power : float, [W]
        Power of each brake, likely.
    distance : array, (points,), [m]
        Distance run.
    likely, cautious : array, (points,), [K]
        Temperature of each brake.
    stop_rise : float, [K]
        What one full stop at the bottom adds.
    """

    speed: float
    power: float
    distance: NDArray[np.float64]
    likely: NDArray[np.float64]
    cautious: NDArray[np.float64]
    stop_rise: float

    @property
    def end_likely(self) -> float:
        """Temperature after one stop at the bottom, likely [K]."""
        return float(self.likely[-1]) + self.stop_rise

    @property
    def end_cautious(self) -> float:
        """The same on the cautious side [K]."""
        return float(self.cautious[-1]) + self.stop_rise


@dataclass(frozen=True, slots=True)
class DescentPlan:
    """Answer for one descent.

    Parameters
    ----------
    task : DescentTask
        The question.
    limit : float, [K]
        Temperature that was kept.
    safe_speed, safe_speed_likely : float, [m/s]
        Greatest speed on the cautious side, which counts, and the likely one; 0 where even walking pace is
        too hot.
    outcome : SpeedOutcome
        At the speed asked for, else at the safe speed, else at the slowest.
    holds : bool
        Whether the speed looked at keeps the limit on the cautious side.
    """

    task: DescentTask
    limit: float
    safe_speed: float
    safe_speed_likely: float
    outcome: SpeedOutcome
    holds: bool


def plan_descent(task: DescentTask, design: Design) -> DescentPlan:
    """Return the safe speed of a descent and the temperatures of its brakes.

    Parameters
    ----------
    task : DescentTask
        The question.
    design : Design
        Brake of the catalogue; its rotor scales heat capacity and cooling.

    Returns
    -------
    DescentPlan
        The answer.

    Raises
    ------
    DomainError
        If a number is absurd.

    Notes
    -----
    See `wearline.physics.descent`. Heat capacity goes with D^2 w and cooling with D^2 of the rotor:
    derived; limit, cooling and drag area are expert judgement.
    """
    require("number of brakes", task.brakes, 0.0, 60.0, unit="", cure="Give the brakes that work, 10.")
    if task.slope <= 0.0:
        raise DomainError(
            f"a slope of {100.0 * task.slope:g} % does not go down",
            allowed="more than 0 to 40 %",
            cure="Give the slope downhill as a positive number, '6 %'",
        )
    limit = braking_number("descent_limit") if task.limit is None else task.limit
    require("temperature limit", limit, 320.0, 1500.0, unit="K", cure="Give a limit as '250 degC'.")
    likely, cautious = _sides(task, design)
    retarder = Retarder(task.retarder)
    safe, safe_likely = (
        float(safe_descent_speed(descent, brakes, limit, retarder=retarder, fastest=task.fastest))
        for descent, brakes in (cautious, likely)
    )
    speed = task.speed if task.speed is not None else max(safe, 1.0)
    outcome = _outcome(speed, likely, cautious, retarder)
    holds = safe > 0.0 if task.speed is None else task.speed <= safe
    return DescentPlan(task, limit, safe, safe_likely, outcome, holds)


def _sides(task: DescentTask, design: Design) -> tuple[tuple[Descent, BrakeSet], tuple[Descent, BrakeSet]]:
    """Vehicle and brakes as they are likely to be, and as they may be on the bad side."""
    numbers = braking_numbers()
    area = (design.rotor_diameter / REFERENCE_DIAMETER) ** 2
    plain = BrakeSet(count=task.brakes)
    low = 1.0 - ONE_SIDED * braking_number("cooling_spread")

    def brakes(share: float) -> BrakeSet:
        return BrakeSet(
            count=task.brakes,
            start=task.start,
            ambient=task.ambient,
            heat_capacity=plain.heat_capacity * area * design.rotor_new / REFERENCE_THICKNESS,
            cooling_at_rest=share * area * plain.cooling_at_rest,
            cooling_per_speed=share * area * plain.cooling_per_speed,
        )

    drag = numbers["drag_area"]
    rolling = numbers["rolling_resistance"].value
    likely = Descent(task.mass, task.slope, task.length, rolling=rolling, drag_area=drag.value)
    cautious = Descent(task.mass, task.slope, task.length, rolling=0.0, drag_area=drag.low)
    return (likely, brakes(1.0)), (cautious, brakes(low))


def _outcome(
    speed: float,
    likely: tuple[Descent, BrakeSet],
    cautious: tuple[Descent, BrakeSet],
    retarder: Retarder,
) -> SpeedOutcome:
    shares = np.linspace(0.0, 1.0, CURVE_POINTS)
    curves = [
        np.asarray(descent_temperature(speed, descent, brakes, retarder, shares), dtype=float)
        for descent, brakes in (likely, cautious)
    ]
    descent, brakes = likely
    power = float(braking_power(speed, descent, retarder)) / float(brakes.count)
    rise = float(stop_temperature_rise(speed, descent, brakes))
    return SpeedOutcome(speed, power, float(descent.length) * shares, curves[0], curves[1], rise)
