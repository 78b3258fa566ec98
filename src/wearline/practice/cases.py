"""Typical vehicles and drawn cases, for drills and for the proof of a diagnosis."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from wearline.errors import ReadingError
from wearline.practice.faults import VEHICLE, Fault, Truth, cause_of
from wearline.practice.numbers import read_table
from wearline.practice.specification import AxleSpec, VehicleSpec

__all__ = [
    "distance_of_a_year",
    "draw_spec",
    "draw_truth",
    "place_for",
    "typical_vehicle",
    "typical_vehicles",
]


def _axle(table: Mapping[str, Any]) -> AxleSpec:
    return AxleSpec(
        id=str(table["id"]),
        role=str(table["role"]),
        load=float(table["load_kg"]),
        design=str(table.get("design", "generic-22.5")),
        chamber_type=float(table["chamber"]),
        wheels=str(table.get("wheels", "single")),
        share=float(table["share"]) if "share" in table else None,
    )


@cache
def typical_vehicles() -> Mapping[str, VehicleSpec]:
    """Return one vehicle of each typical kind.

    Returns
    -------
    mapping of str to VehicleSpec
        Name of the kind, as ``"tractor"``, to a vehicle with new pads.

    Raises
    ------
    CatalogueError
        If the data file is damaged.
    """
    return {
        str(name): VehicleSpec(
            id=str(name),
            axles=tuple(_axle(axle) for axle in table["axles"]),
            duty=str(table["duty"]),
            kind=str(table["kind"]),
            description=str(table["description"]),
            retarder=str(table.get("retarder", "not fitted")),
            control="axle" if table.get("control") == "axle" else "vehicle",
        )
        for name, table in read_table("vehicles.toml")["vehicle"].items()
    }


def distance_of_a_year(kind: str) -> float:
    """Return the distance that a typical vehicle runs in a year.

    Parameters
    ----------
    kind : str
        Name of the kind.

    Returns
    -------
    float, [m]
        Distance.

    Raises
    ------
    ReadingError
        If there is no such kind.
    """
    typical_vehicle(kind)
    return float(read_table("vehicles.toml")["vehicle"][kind]["km_per_year"]) * 1e3


def typical_vehicle(kind: str) -> VehicleSpec:
    """Return the vehicle of a typical kind.

    Parameters
    ----------
    kind : str
        Name of the kind.

    Returns
    -------
    VehicleSpec
        The vehicle.

    Raises
    ------
    ReadingError
        If there is no such kind.
    """
    vehicles = typical_vehicles()
    if kind not in vehicles:
        raise ReadingError(
            f"there is no typical vehicle {kind!r}",
            allowed=", ".join(vehicles),
            cure="Choose one of these, or describe the vehicle by a specification",
        )
    return vehicles[kind]


def draw_spec(rng: np.random.Generator, number: int) -> VehicleSpec:
    """Return a vehicle of a drawn kind with a drawn history.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of the draws.
    number : int, 0 or more
        Number in the name.

    Returns
    -------
    VehicleSpec
        Its pads' distance is left to the simulation.
    """
    kinds = list(typical_vehicles())
    kind = kinds[int(rng.integers(len(kinds)))]
    years = float(rng.uniform(1.5, 7.0))
    return replace(
        typical_vehicles()[kind],
        id=f"Case {number + 1}",
        odometer=round(distance_of_a_year(kind) * years, -3),
        rotor_wear=float(rng.uniform(0.0, 3e-3)),
    )


def place_for(code: str, spec: VehicleSpec, rng: np.random.Generator) -> str:
    """Return a place of a vehicle at which a cause may sit.

    Parameters
    ----------
    code : str
        Cause code.
    spec : VehicleSpec
        The vehicle.
    rng : numpy.random.Generator
        Source of the draw.

    Returns
    -------
    str
        Wheel end, axle or ``"vehicle"``, of the first scope of the cause. A spring brake sits on no steered
        axle.

    Raises
    ------
    ReadingError
        If there is no such code.
    """
    scope = cause_of(code).scopes[0]
    if scope == "vehicle":
        return VEHICLE
    axles = [axle for axle in spec.axles if code != "V2" or axle.role != "steer"] or list(spec.axles)
    axle = axles[int(rng.integers(len(axles)))]
    return axle.id if scope == "axle" else f"{axle.id}{'LR'[int(rng.integers(2))]}"


def draw_truth(
    spec: VehicleSpec,
    chances: Mapping[str, float],
    rng: np.random.Generator,
    *,
    severity: tuple[float, float] = (0.3, 1.0),
    most: int = 3,
) -> Truth:
    """Return hidden causes drawn by their chances.

    Parameters
    ----------
    spec : VehicleSpec
        The vehicle.
    chances : mapping of str to float, [1], 0 to 1
        Cause code to its chance at each place where it may sit.
    rng : numpy.random.Generator
        Source of the draws.
    severity : (float, float), [1], optional
        Range of the severity.
    most : int, optional
        Most causes at one place.

    Returns
    -------
    mapping of str to tuple of Fault
        Causes by place; retarder faults only where a retarder is fitted.

    Raises
    ------
    ReadingError
        If a code is unknown.
    """
    places = {
        "wheel end": [str(place) for place in spec.places],
        "axle": [axle.id for axle in spec.axles],
        "vehicle": [VEHICLE],
    }
    found: dict[str, tuple[Fault, ...]] = {}
    for code, chance in chances.items():
        scope = cause_of(code).scopes[0]
        if code == "U2" and spec.retarder != "fitted":
            continue
        for where in places[scope]:
            if rng.random() < chance and len(found.get(where, ())) < most:
                fault = Fault(code, float(rng.uniform(*severity)))
                found[where] = (*found.get(where, ()), fault)
    return found
