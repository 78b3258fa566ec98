"""How hot do the rotors get over a recorded drive?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from wearline.app.capability_answer import rounded
from wearline.app.descending import retarder_power
from wearline.assessment.braking_numbers import braking_numbers
from wearline.assessment.rotor_runs import RotorRun, RunTask, run_rotor
from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError
from wearline.ingest.drives import read_drive
from wearline.units import Kind, parse_quantity, to_unit

if TYPE_CHECKING:
    from wearline.app.answer_types_braking import HeatAnswer

__all__ = ["HEAT_CAUTIONS", "HeatQuestion", "heat_answer", "heat_over_a_drive", "too_hot"]

HEAT_CAUTIONS = (
    "An estimate from a model, not a measurement: hot parts burn, keep away from hot wheels and tyres.",
    "Above about 345 degC a tyre beside the brake can catch fire: let it cool, keep watch.",
)

_USED = ("drag_area", "rolling_resistance", "descent_limit")


@dataclass(frozen=True, slots=True)
class HeatQuestion:
    """What a person writes; every quantity with its unit.

    Parameters
    ----------
    path : str or Path
        CSV file of the drive.
    mass : str
        ``"18 t"``.
    brakes : float
        Brakes that share the work alike.
    retarder, start, ambient : str
        With units; empty for none and 20 degC.
    design : str
        Brake design of the catalogue.
    """

    path: str | Path
    mass: str
    brakes: float
    retarder: str = ""
    start: str = ""
    ambient: str = ""
    design: str = "generic-22.5"


def heat_over_a_drive(question: HeatQuestion, *, today: date) -> RotorRun:
    """Answer how hot a rotor gets over a recorded drive.

    Parameters
    ----------
    question : HeatQuestion
        As written.
    today : date
        Day on which the catalogue is asked.

    Returns
    -------
    RotorRun
        Temperatures, energy and wear of one wheel end.

    Raises
    ------
    InputError
        If the file, a quantity or the design is wrong.
    """
    if not 1.0 <= question.brakes <= 60.0:
        raise InputError(
            f"{question.brakes:g} brakes are not possible",
            where="--brakes",
            allowed="1 to 60",
            cure="Give the number of brakes that share the work",
        )
    usual = RunTask(0.0, 1.0)
    task = RunTask(
        mass=parse_quantity(question.mass, Kind.MASS).value,
        share=1.0 / question.brakes,
        retarder=retarder_power(question.retarder) if question.retarder else 0.0,
        start=parse_quantity(question.start, Kind.TEMPERATURE).value if question.start else usual.start,
        ambient=parse_quantity(question.ambient, Kind.TEMPERATURE).value
        if question.ambient
        else usual.ambient,
    )
    return run_rotor(read_drive(question.path), task, load_catalogue().design(question.design, today))


def too_hot(run: RotorRun) -> bool:
    """Return whether the friction face passes the temperature that descents are planned for.

    Parameters
    ----------
    run : RotorRun
        The run.

    Returns
    -------
    bool
        True is exit code 1 of the command.
    """
    return run.peak > braking_numbers()["descent_limit"].value


def heat_answer(run: RotorRun) -> HeatAnswer:
    """Return a run as JSON values.

    Parameters
    ----------
    run : RotorRun
        The run.

    Returns
    -------
    HeatAnswer
        Under schema ``wearline.heat/1``.
    """
    numbers = braking_numbers()
    return {
        "schema": "wearline.heat/1",
        "duration_s": rounded(float(run.cycle.time[-1]), 6),
        "distance_m": rounded(run.cycle.distance, 6),
        "energy_MJ": rounded(run.energy / 1e6, 6),
        "peak_degC": rounded(float(to_unit(run.peak, "degC")), 5),
        "peak_at_s": rounded(run.peak_time, 6),
        "mean_at_end_degC": rounded(float(to_unit(float(run.history.mean[-1, 0]), "degC")), 5),
        "wear_mm3": rounded(run.worn * 1e9, 6),
        "figures": [
            {
                "text": numbers[id].note,
                "published": numbers[id].published,
                "status": numbers[id].status,
                "decides": numbers[id].decides,
            }
            for id in _USED
        ],
        "cautions": list(HEAT_CAUTIONS),
    }
