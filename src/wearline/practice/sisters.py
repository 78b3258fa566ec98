"""Sister vehicles: one kind on one work, half of the axles on another pad, one build of callipers weak.

What a single vehicle's story cannot show: friction materials against each other on the same axle, and a batch
whose parts fail early. Vehicles, materials and batches are made up and stand in ``data/sisters.toml``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from wearline.errors import ReadingError
from wearline.practice.cases import distance_of_a_year, typical_vehicle
from wearline.practice.faults import Fault
from wearline.practice.fleet import SCENARIO_DAY, FleetInspection
from wearline.practice.life import Repair, VehicleLife
from wearline.practice.numbers import read_table
from wearline.practice.recording import Recording, Scope

__all__ = ["sister_vehicles", "true_material_ratio"]

_STORY = "One of twelve sister buses that try two pad materials; an invented scenario."
_PAD_LIFE = (0.8, 1.25)
"""[1] Range of the pad lives of the sisters against the middle of their duty (invented)."""


def true_material_ratio(second: str = "hard", first: str = "plain") -> float:
    """Return the wear of one material over that of another, as simulated.

    Parameters
    ----------
    second, first : str, optional
        Materials of the data file.

    Returns
    -------
    float, [1]
        Ratio of the wear rates on the same brake.
    """
    materials = read_table("sisters.toml")["material"]
    return float(materials[second]["pads"]) / float(materials[first]["pads"])


def sister_vehicles(seed: int, *, ends_on: date = SCENARIO_DAY) -> tuple[FleetInspection, ...]:
    """Return every inspection of the sister vehicles.

    Parameters
    ----------
    seed : int, 0 or more
        The same seed gives the same vehicles.
    ends_on : date, optional
        Day on which the scenario ends.

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
    table = read_table("sisters.toml")
    count = int(table["default"]["count"])
    streams = np.random.SeedSequence((seed, 21)).spawn(count)
    found: list[FleetInspection] = []
    for number, stream in enumerate(streams):
        found += _Sister(table, number, np.random.default_rng(stream)).live(ends_on)
    return tuple(found)


@dataclass(slots=True)
class _Sister:
    """One vehicle: which material is on which axle, and when its boots tear."""

    table: Mapping[str, Any]
    number: int
    rng: np.random.Generator

    def live(self, ends_on: date) -> list[FleetInspection]:
        default = self.table["default"]
        kind = str(default["kind"])
        low, high = default["odometer_km"]
        spec = replace(
            typical_vehicle(kind),
            id=f"Town {int(default['first_number']) + self.number}",
            odometer=float(round(self.rng.uniform(low, high))) * 1e3,
            rotor_wear=float(self.rng.uniform(0.0, 1.5e-3)),
            pad_life=float(self.rng.uniform(*_PAD_LIFE)),
        )
        life = VehicleLife(spec, rng=self.rng)
        names = list(self.table["material"])
        # half of the buses begin with each material, and the axles of one bus with different ones
        on = {axle.id: names[(self.number + n) % 2] for n, axle in enumerate(spec.axles)}
        for axle, name in on.items():
            self._fit(life, axle, name)
        by_day = distance_of_a_year(kind) / 365.0
        visits = [int(day) for day in default["visits"]]
        torn = sorted(self._torn(), reverse=True)
        zero = life.odometer
        found = []
        for day, later in zip(visits, [*visits[1:], None], strict=True):
            while torn and torn[0][0] >= day:
                when, at = torn.pop(0)
                life.advance_to(max(life.odometer, zero + by_day * (visits[0] - when)))
                life.add_fault(at, Fault("G7", 0.6), grows_over=0.0)
            life.advance_to(max(life.odometer, zero + by_day * (visits[0] - day)))
            found.append(self._look(life, ends_on - timedelta(days=day), on))
            if later is not None:
                self._renew(life, on, names, by_day * (day - later))
        return found

    def _torn(self) -> list[tuple[int, str]]:
        return [
            (int(boot["days"]), str(boot["at"]))
            for batch in self.table["batch"].values()
            for boot in batch["boots"]
            if int(boot["vehicle"]) == self.number
        ]

    def _fit(self, life: VehicleLife, axle: str, name: str) -> None:
        material = self.table["material"][name]
        life.fit_friction(axle, wear=float(material["pads"]), faces=float(material["faces"]))

    def _renew(self, life: VehicleLife, on: dict[str, str], names: list[str], ahead: float) -> None:
        """Renew the pads of an axle before they get thin, with the other material."""
        least = float(self.table["default"]["renew_below_mm"]) * 1e-3
        thinnest, rates = life.thinnest, life.wear_rates
        for axle in life.spec.axles:
            ends = (f"{axle.id}L", f"{axle.id}R")
            if min(thinnest[end] - rates[end] * ahead for end in ends) < least:
                life.repair(Repair("pads", axle.id))
                on[axle.id] = names[1 - names.index(on[axle.id])]
                self._fit(life, axle.id, on[axle.id])
        for at in life.torn_boots:
            life.repair(Repair("guide kit", at))

    def _look(self, life: VehicleLife, taken_on: date, on: Mapping[str, str]) -> FleetInspection:
        recording = Recording(scope=Scope.USUAL, inspector="technician of the invented workshop")
        inspection = life.inspect(taken_on, recording)
        batch = next(name for name, each in self.table["batch"].items() if self.number in each["vehicles"])
        for end in inspection.document["wheel_end"]:
            end["pad_part"] = on[str(end["at"])[:-1]]
            end["calliper_batch"] = batch
        route = "north" if self.number % 3 else "hills"
        inspection.document["vehicle"]["labels"] = {"route": route}
        return FleetInspection(life.spec.id, taken_on, _STORY, inspection)
