"""Vehicles and shortcuts that the tests of the simulator share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from wearline.catalogue.loading import load_catalogue
from wearline.practice.faults import Fault
from wearline.practice.parameters import load_mechanisms
from wearline.practice.simulate import SimulatedInspection, simulate_vehicles
from wearline.practice.simulation import Simulation
from wearline.practice.specification import AxleSpec, Control, VehicleSpec

DAY = date(2026, 9, 1)
CORNERS = ("LT", "LB", "TT", "TB")


def three_axles(
    duty: str = "regional", *, control: Control = "vehicle", retarder: str = "not fitted", **more: float
) -> VehicleSpec:
    """An even 6x4: axles 1 and 3 are the peers of a case on axle 2."""
    axles = (AxleSpec("1", "steer", 7000.0), AxleSpec("2", "drive", 9000.0), AxleSpec("3", "drive", 9000.0))
    return VehicleSpec("test", axles, duty, control=control, retarder=retarder, **more)


def simulation_of(*specs: VehicleSpec, seed: int = 1) -> Simulation:
    """Vehicles with new pads and no cause at work."""
    return Simulation(specs, load_mechanisms(), load_catalogue(), np.random.default_rng(seed))


@dataclass(frozen=True)
class Signature:
    """Medians over many vehicles of what the trade reads at the sick end."""

    difference: float
    antisymmetric: float
    symmetric: float
    radial_size: float
    radial_symmetric: float
    travel: float
    tangential: float
    radial: float
    slide: float
    hotter: float
    force_2bar: float
    force: float
    drag: float
    indicator_gap: float
    wear: float
    mate_wear: float


def signature(
    code: str, variant: str = "", *, severity: float = 0.5, spec: VehicleSpec | None = None
) -> Signature:
    """Median figures of a cause at 2L (axle 2, the vehicle) over 60 vehicles; thickness in mm, force in %."""
    from wearline.practice.faults import cause_of

    scope = cause_of(code).scopes[0]
    where = {"wheel end": "2L", "axle": "2", "vehicle": "vehicle"}[scope]
    vehicle = spec or three_axles()
    number = 60
    results = simulate_vehicles(
        [vehicle] * number,
        [{where: (Fault(code, severity, variant),)}] * number,
        rng=np.random.default_rng(5),
        taken_on=DAY,
    )
    rows = np.array([_row(result) for result in results])
    middle = np.full(rows.shape[1], np.nan)
    known = ~np.isnan(rows).all(axis=0)
    middle[known] = np.nanmedian(rows[:, known], axis=0)
    return Signature(*(float(value) for value in middle))


def pad(result: SimulatedInspection, place: str, side: str) -> np.ndarray:
    """True corners of a pad in mm, in the order LT, LB, TT, TB."""
    figures = result.states[place].figures
    return np.array([figures[f"pad_{side}", corner] for corner in CORNERS]) * 1e3


def end_taper(corners: np.ndarray) -> float:
    """Leading less trailing, mean of both edges."""
    return float(corners[0] + corners[1] - corners[2] - corners[3]) / 2.0


def top_taper(corners: np.ndarray) -> float:
    """Top less bottom, mean of both edges."""
    return float(corners[0] + corners[2] - corners[1] - corners[3]) / 2.0


def mean_wear(result: SimulatedInspection, places: tuple[str, ...], new: float = 21.0) -> float:
    """Mean friction lost at some wheel ends, mm."""
    return new - float(np.mean([pad(result, place, side) for place in places for side in ("inner", "outer")]))


def _row(result: SimulatedInspection) -> list[float]:
    sick, mate = result.states["2L"].figures, result.states["2R"].figures
    inner, outer = pad(result, "2L", "inner"), pad(result, "2L", "outer")
    usual = np.mean([result.states[place].figures["temperature", ""] for place in ("3L", "3R")])
    ends = end_taper(outer), end_taper(inner)
    tops = top_taper(outer), top_taper(inner)
    peer_wear = mean_wear(result, ("3L", "3R"))
    expected = (21.0 - outer.mean() + (45.0 - sick["rotor_thickness", ""] * 1e3) / 2.0) / 23.0
    return [
        outer.mean() - inner.mean(),
        (ends[0] - ends[1]) / 2.0,
        (ends[0] + ends[1]) / 2.0,
        abs(tops[0] - tops[1]) / 2.0,
        (tops[0] + tops[1]) / 2.0,
        sick["total_travel", ""] * 1e3,
        sick.get(("tangential_play", ""), np.nan) * 1e3,
        sick.get(("radial_play", ""), np.nan) * 1e3,
        sick["slide", ""],
        sick["temperature", ""] - usual,
        100.0 * (sick["brake_force_2bar", ""] / mate["brake_force_2bar", ""] - 1.0),
        100.0 * (sick["brake_force", ""] / mate["brake_force", ""] - 1.0),
        sick["brake_drag", ""] / 1e3,
        100.0 * (sick["wear_indicator", ""] - expected),
        mean_wear(result, ("2L",)) / peer_wear,
        mean_wear(result, ("2R",)) / peer_wear,
    ]


def words_of(result: SimulatedInspection, place: str) -> Mapping[str, str]:
    """What a look finds at a wheel end."""
    return result.states[place].words
