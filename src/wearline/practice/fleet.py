"""The demonstration fleet: a dozen invented vehicles, inspected over two years, each with its story.

Vehicles, names and stories are made up and stand in ``data/fleet.toml``; no place, person, maker or company
is meant.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from wearline.errors import CatalogueError, ReadingError
from wearline.practice.cases import distance_of_a_year, typical_vehicle
from wearline.practice.faults import Fault
from wearline.practice.life import Repair, VehicleLife
from wearline.practice.numbers import read_table
from wearline.practice.recording import Misreading, Recording, Scope

if TYPE_CHECKING:
    from wearline.practice.documents import Document
    from wearline.practice.simulate import SimulatedInspection

__all__ = [
    "SCENARIO_DAY",
    "SCENARIO_TEXT",
    "FleetInspection",
    "as_documents",
    "demonstration_fleet",
]

SCENARIO_DAY = date(2026, 9, 14)
"""The day on which the demonstration is looked at; every inspection lies before it."""

SCENARIO_TEXT = "An invented fleet: every vehicle, reading and story is made up."
"""Said wherever the fleet is shown."""


_PAD_LIFE = (0.85, 1.2)
"""[1] Range of the pad lives of the fleet's vehicles against the middle of their duties (invented)."""


@dataclass(frozen=True, slots=True)
class FleetInspection:
    """One inspection of the demonstration fleet.

    Parameters
    ----------
    vehicle : str
        The vehicle's id.
    taken_on : date
        Day of the readings.
    story : str
        What happens to this vehicle; an invented scenario.
    inspection : SimulatedInspection
        Document, truth and true figures.
    """

    vehicle: str
    taken_on: date
    story: str
    inspection: SimulatedInspection


@dataclass(frozen=True, slots=True)
class _Event:
    """Something that happens to a vehicle on a day."""

    days: int
    order: int
    act: str
    entry: Mapping[str, Any]


def demonstration_fleet(
    seed: int, *, ends_on: date = SCENARIO_DAY, progress: Callable[[str], None] | None = None
) -> tuple[FleetInspection, ...]:
    """Return every inspection of the demonstration fleet.

    Parameters
    ----------
    seed : int, 0 or more
        The same seed gives the same fleet.
    ends_on : date, optional
        Day on which the scenario ends; the last inspections lie two to five weeks before it.
    progress : callable, optional
        Called with the name of each vehicle before it is simulated.

    Returns
    -------
    tuple of FleetInspection
        Vehicle by vehicle, each from its first inspection to its last.

    Raises
    ------
    ReadingError
        If the seed is negative.
    CatalogueError
        If the data file is damaged.
    """
    if seed < 0:
        raise ReadingError(f"the seed is {seed}", allowed="0 or more", cure="Choose another number")
    document = read_table("fleet.toml")
    renew_below = float(document["default"]["renew_below_mm"]) * 1e-3
    streams = np.random.SeedSequence(seed).spawn(len(document["vehicle"]))
    found: list[FleetInspection] = []
    for table, stream in zip(document["vehicle"], streams, strict=True):
        if progress is not None:
            progress(str(table["id"]))
        found.extend(_live(table, np.random.default_rng(stream), ends_on, renew_below))
    return tuple(found)


def as_documents(fleet: Sequence[FleetInspection]) -> tuple[Document, ...]:
    """Return the inspection files of a fleet.

    Parameters
    ----------
    fleet : sequence of FleetInspection
        As from ``demonstration_fleet``.

    Returns
    -------
    tuple of dict
        Documents in the order of the fleet.
    """
    return tuple(item.inspection.document for item in fleet)


def _live(
    table: Mapping[str, Any], rng: np.random.Generator, ends_on: date, renew_below: float
) -> list[FleetInspection]:
    """Let one vehicle live its story."""
    kind = str(table["kind"])
    events = _events(table)
    start = events[0].days
    run = float(table["pads_km"]) * 1e3 if "pads_km" in table else None
    spec = replace(
        typical_vehicle(kind),
        id=str(table["id"]),
        odometer=float(table["odometer_km"]) * 1e3,
        distance_since_pads=run,
        rotor_wear=float(rng.uniform(0.0, 1.5e-3)),
        pad_life=float(rng.uniform(*_PAD_LIFE)),
    )
    life = VehicleLife(spec, rng=rng)
    zero, by_day = life.odometer, distance_of_a_year(kind) / 365.0
    visits = sorted((event.days for event in events if event.act == "visit"), reverse=True)
    found: list[FleetInspection] = []
    for event in events:
        life.advance_to(max(zero + by_day * (start - event.days), life.odometer))
        if event.act == "fault":
            life.add_fault(str(event.entry["at"]), _fault(event.entry), grows_over=_growth(event.entry))
        elif event.act == "repair":
            life.repair(Repair(str(event.entry["kind"]), str(event.entry["at"])))
        else:
            taken_on = ends_on - timedelta(days=event.days)
            inspection = life.inspect(taken_on, _recording(event.entry))
            if "hours_per_1000_km" in table:
                hours = life.odometer * 1e-6 * float(table["hours_per_1000_km"])
                inspection.document["inspection"]["hour_counter_h"] = round(hours)
            found.append(FleetInspection(spec.id, taken_on, str(table["story"]), inspection))
            later = [days for days in visits if days < event.days]
            if later and event.entry.get("renew", True):
                _renew_thin_pads(life, renew_below, by_day * (event.days - later[0]))
    return found


def _events(table: Mapping[str, Any]) -> list[_Event]:
    """Everything that happens, the oldest first; on one day faults, then repairs, then the visit."""
    events = [
        _Event(int(entry["days"]), order, act, entry)
        for order, (act, key) in enumerate((("fault", "faults"), ("repair", "repairs"), ("visit", "visits")))
        for entry in table.get(key, ())
    ]
    if not any(event.act == "visit" for event in events):
        raise CatalogueError(
            f"{table['id']} is never inspected",
            where="fleet.toml",
            allowed="one visit or more",
            cure="Write a visit",
        )
    return sorted(events, key=lambda event: (-event.days, event.order))


def _fault(entry: Mapping[str, Any]) -> Fault:
    return Fault(str(entry["code"]), float(entry["severity"]), str(entry.get("variant", "")))


def _growth(entry: Mapping[str, Any]) -> float | None:
    return float(entry["grows_km"]) * 1e3 if "grows_km" in entry else None


def _recording(entry: Mapping[str, Any]) -> Recording:
    slips = (Misreading(str(entry["slip"]), str(entry.get("slip_at", ""))),) if "slip" in entry else ()
    return Recording(
        scope=Scope(str(entry["scope"])),
        units="inch" if entry.get("units") == "inch" else "metric",
        misreadings=slips,
        inspector="technician of the invented workshop",
        note=str(entry.get("note", "")),
    )


def _renew_thin_pads(life: VehicleLife, limit: float, ahead: float) -> None:
    """Renew the pads of every axle that would get thinner than the limit before the next visit."""
    thinnest, rates = life.thinnest, life.wear_rates
    for axle in life.spec.axles:
        ends = (f"{axle.id}L", f"{axle.id}R")
        if min(thinnest[end] - rates[end] * ahead for end in ends) < limit:
            life.repair(Repair("pads", axle.id))
