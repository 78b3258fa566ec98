"""How fast may it go down a long slope? Safe speed and the temperature of the brakes."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from wearline.app.capability_answer import rounded
from wearline.assessment.braking_numbers import BrakingNumber, braking_numbers
from wearline.assessment.descents import DescentPlan, DescentTask, plan_descent
from wearline.catalogue.loading import load_catalogue
from wearline.errors import QuantityError
from wearline.units import Kind, parse_quantity, to_unit

if TYPE_CHECKING:
    from wearline.app.answer_types_braking import DescentAnswer

__all__ = [
    "CAUTIONS",
    "DescentQuestion",
    "descent_answer",
    "descent_task",
    "plan_a_descent",
    "retarder_power",
]

CAUTIONS = (
    "Signs, local codes, the maker's instructions and the driver on the day govern the speed; this is an "
    "estimate to plan with, never a permission.",
    "Choose the low gear and the retarder before the top. Do not change down on the slope with hot brakes.",
    "It counts on brakes in order, all sharing alike. Count a weak brake by its share, a dead one as none.",
    "A smell, smoke, a longer pedal or a falling air gauge: stop where it is safe, chock the wheels, keep "
    "away from hot wheels and tyres, approach from front or rear.",
)

_POWER = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(kW|W)\s*")
_USED = (
    "descent_limit",
    "cooling_spread",
    "drag_area",
    "rolling_resistance",
    "drum_era_limit",
)


@dataclass(frozen=True, slots=True)
class DescentQuestion:
    """What a person writes; every quantity with its unit.

    Parameters
    ----------
    mass, slope, length : str
        ``"40 t"``, ``"6 %"``, ``"5 km"``.
    brakes : float
        Brakes that work; a weak one by its share.
    retarder : str
        ``"150 kW"``, empty for none.
    limit, start, ambient : str
        Temperatures, empty for the defaults.
    speed, fastest : str
        Speed to look at, and speed limit; empty for none and 90 km/h.
    design : str
        Brake design of the catalogue.
    """

    mass: str
    slope: str
    length: str
    brakes: float
    retarder: str = ""
    limit: str = ""
    start: str = ""
    ambient: str = ""
    speed: str = ""
    fastest: str = ""
    design: str = "generic-22.5"


def descent_task(question: DescentQuestion) -> DescentTask:
    """Read the quantities of a question.

    Parameters
    ----------
    question : DescentQuestion
        As written.

    Returns
    -------
    DescentTask
        The same [SI].

    Raises
    ------
    QuantityError
        If a quantity has no unit or cannot be read.
    """

    def value(text: str, kind: Kind, option: str) -> float:
        try:
            return parse_quantity(text, kind).value
        except QuantityError as error:
            raise error.at(f"--{option}") from error

    def temperature(text: str, option: str, default: float) -> float:
        return value(text, Kind.TEMPERATURE, option) if text else default

    usual = DescentTask(0.0, 0.0, 0.0, 0.0)
    return DescentTask(
        mass=value(question.mass, Kind.MASS, "mass"),
        slope=value(question.slope, Kind.FRACTION, "slope"),
        length=value(question.length, Kind.DISTANCE, "length"),
        brakes=question.brakes,
        retarder=retarder_power(question.retarder) if question.retarder else 0.0,
        limit=value(question.limit, Kind.TEMPERATURE, "limit") if question.limit else None,
        start=temperature(question.start, "start", usual.start),
        ambient=temperature(question.ambient, "ambient", usual.ambient),
        speed=value(question.speed, Kind.SPEED, "speed") if question.speed else None,
        fastest=value(question.fastest, Kind.SPEED, "fastest") if question.fastest else usual.fastest,
    )


def retarder_power(text: str) -> float:
    """Read the power of a retarder.

    Parameters
    ----------
    text : str
        ``"150 kW"``.

    Returns
    -------
    float
        Power [W].

    Raises
    ------
    QuantityError
        If it is not a number with kW or W.
    """
    match = _POWER.fullmatch(text)
    if match is None:
        raise QuantityError(
            f"'{text}' is not a power",
            where="--retarder",
            allowed="a number with kW or W, as '150 kW'",
            cure="Write the unit",
        )
    return float(match[1]) * (1e3 if match[2] == "kW" else 1.0)


def plan_a_descent(question: DescentQuestion, *, today: date) -> DescentPlan:
    """Answer how fast a vehicle may go down a slope.

    Parameters
    ----------
    question : DescentQuestion
        As written.
    today : date
        Day on which the catalogue is asked.

    Returns
    -------
    DescentPlan
        Safe speed and temperatures.

    Raises
    ------
    InputError
        If a quantity, a number or the design is wrong.
    """
    return plan_descent(descent_task(question), load_catalogue().design(question.design, today))


def _figures() -> list[BrakingNumber]:
    return [braking_numbers()[id] for id in _USED]


def descent_answer(plan: DescentPlan) -> DescentAnswer:
    """Return a planned descent as JSON values.

    Parameters
    ----------
    plan : DescentPlan
        The plan.

    Returns
    -------
    DescentAnswer
        Under schema ``wearline.descent/1``.
    """
    task, outcome = plan.task, plan.outcome

    def celsius(value: float) -> float:
        return rounded(float(to_unit(value, "degC")), 5)

    def speed(value: float) -> float:
        return rounded(3.6 * value, 5)

    return {
        "schema": "wearline.descent/1",
        "mass_kg": rounded(task.mass),
        "slope_percent": rounded(100.0 * task.slope),
        "length_m": rounded(task.length),
        "brakes": rounded(task.brakes),
        "retarder_kW": rounded(task.retarder / 1e3),
        "limit_degC": celsius(plan.limit),
        "safe_speed_kmh": float(math.floor(3.6 * plan.safe_speed + 1e-9)),
        "safe_speed_likely_kmh": speed(plan.safe_speed_likely),
        "holds": plan.holds,
        "at_speed": {
            "speed_kmh": speed(outcome.speed),
            "power_per_brake_kW": rounded(outcome.power / 1e3, 5),
            "bottom_likely_degC": celsius(float(outcome.likely[-1])),
            "bottom_cautious_degC": celsius(float(outcome.cautious[-1])),
            "stop_rise_K": rounded(outcome.stop_rise, 5),
            "after_stop_likely_degC": celsius(outcome.end_likely),
            "after_stop_cautious_degC": celsius(outcome.end_cautious),
            "curve": [
                {
                    "distance_m": rounded(float(place), 6),
                    "likely_degC": celsius(float(likely)),
                    "cautious_degC": celsius(float(cautious)),
                }
                for place, likely, cautious in zip(
                    outcome.distance, outcome.likely, outcome.cautious, strict=True
                )
            ],
        },
        "figures": [
            {
                "text": number.note,
                "published": number.published,
                "status": number.status,
                "decides": number.decides,
            }
            for number in _figures()
        ],
        "cautions": list(CAUTIONS),
    }
