"""Cases: vehicles with hidden causes, driven from new pads to the day of the inspection."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wearline.catalogue.loading import load_catalogue
from wearline.errors import ReadingError
from wearline.practice.documents import Document, Observation, Visit, observe
from wearline.practice.faults import Fault, Truth
from wearline.practice.histories import Named, give_histories
from wearline.practice.parameters import Mechanisms, load_mechanisms
from wearline.practice.recording import Misreading, Recording
from wearline.practice.simulation import Simulation

if TYPE_CHECKING:
    from datetime import date

    from wearline.catalogue.loading import Catalogue
    from wearline.practice.layout import Floats
    from wearline.practice.specification import VehicleSpec
    from wearline.records.readings import ReadingKey

__all__ = [
    "EndState",
    "HiddenTruth",
    "SimulatedInspection",
    "inspected",
    "simulate_looks",
    "simulate_vehicle",
    "simulate_vehicles",
]

_STEPS = (6, 12, 14)
"""Steps before the first cause begins, up to the beginning of the last one, and from then on."""


@dataclass(frozen=True, slots=True)
class EndState:
    """True figures of one wheel end.

    Parameters
    ----------
    figures : mapping of (field, spot) to float, [SI]
        What a perfect gauge would show; checks that cannot be taken are left out.
    words : mapping of str to str
        What a look finds, by field.
    drag : float, [N m]
        Drag torque of the released brake on the road.
    working_temperature : float, [K]
        Rotor temperature while braking, over the last stretch.
    """

    figures: Mapping[ReadingKey, float]
    words: Mapping[str, str]
    drag: float
    working_temperature: float


@dataclass(frozen=True, slots=True)
class HiddenTruth:
    """What nobody tells the person who diagnoses.

    Parameters
    ----------
    faults : mapping of str to tuple of Fault
        Causes at work by place, with variant and distance since the onset filled in.
    slips : tuple of Misreading
        Slips in the recording, each with its wheel end.
    odometer : float, [m]
        Distance on the counter.
    distance_since_pads : mapping of str to float, [m]
        True distance since the pads were new, by axle.
    """

    faults: Mapping[str, tuple[Fault, ...]]
    slips: tuple[Misreading, ...]
    odometer: float
    distance_since_pads: Mapping[str, float]

    @property
    def codes(self) -> Mapping[str, tuple[str, ...]]:
        """Cause codes by place."""
        return {where: tuple(fault.code for fault in faults) for where, faults in self.faults.items()}


@dataclass(frozen=True, slots=True)
class SimulatedInspection:
    """One inspection of a vehicle that does not exist.

    Parameters
    ----------
    document : dict
        The inspection file as tables; quantities are texts with their unit.
    truth : HiddenTruth
        What is behind it.
    states : mapping of str to EndState
        True figures by wheel end.
    """

    document: Document
    truth: HiddenTruth
    states: Mapping[str, EndState]


def simulate_vehicle(
    spec: VehicleSpec,
    truth: Truth,
    *,
    rng: np.random.Generator,
    taken_on: date,
    recording: Recording | None = None,
    mechanisms: Mechanisms | None = None,
) -> SimulatedInspection:
    """Simulate one inspection of one vehicle.

    Parameters
    ----------
    spec : VehicleSpec
        The vehicle.
    truth : mapping of str to tuple of Fault
        Hidden causes by wheel end, axle or ``"vehicle"``; empty for a sound vehicle.
    rng : numpy.random.Generator
        Source of every draw.
    taken_on : date
        Day of the readings.
    recording : Recording, optional
        How the readings are written down; complete and in metric units by default.
    mechanisms : Mechanisms, optional
        Numbers of the simulation; the shipped ones by default.

    Returns
    -------
    SimulatedInspection
        Document, truth and true figures.

    Raises
    ------
    ReadingError
        If a place, code or variant does not fit the vehicle.

    Notes
    -----
    Joint over the vehicle: brakes share the demanded braking, so a weak one loads the others.
    """
    return simulate_vehicles(
        [spec], [truth], rng=rng, taken_on=taken_on, recordings=[recording], mechanisms=mechanisms
    )[0]


def simulate_vehicles(
    specs: Sequence[VehicleSpec],
    truths: Sequence[Truth],
    *,
    rng: np.random.Generator,
    taken_on: date,
    recordings: Sequence[Recording | None] | None = None,
    mechanisms: Mechanisms | None = None,
) -> list[SimulatedInspection]:
    """Simulate one inspection of each of many vehicles at once.

    Parameters
    ----------
    specs : sequence of VehicleSpec
        The vehicles, at least one.
    truths : sequence of mapping
        Hidden causes of each.
    rng : numpy.random.Generator
        Source of every draw.
    taken_on : date
        Day of the readings.
    recordings : sequence of Recording or None, optional
        How each is written down.
    mechanisms : Mechanisms, optional
        Numbers of the simulation; the shipped ones by default.

    Returns
    -------
    list of SimulatedInspection
        In the order of the vehicles.

    Raises
    ------
    ReadingError
        If the sequences differ in length, or a place, code or variant does not fit.
    """
    written = [Recording() if one is None else one for one in (recordings or [None] * len(specs))]
    if not specs or len(truths) != len(specs) or len(written) != len(specs):
        raise ReadingError(
            f"{len(specs)} vehicles, {len(truths)} truths and {len(written)} recordings are given",
            allowed="as many of each, at least one",
            cure="Give an empty truth for a sound vehicle",
        )
    catalogue = load_catalogue()
    simulation = Simulation(specs, mechanisms or load_mechanisms(), catalogue, rng)
    named = [_resolved(simulation, number, truth) for number, truth in enumerate(truths)]
    life = give_histories(simulation, named)
    odometer = np.maximum(np.array([spec.odometer for spec in specs]), life)
    simulation.age_guides(odometer - life)
    _drive(simulation, _stretches(simulation, life))
    visits = [
        Visit(taken_on, float(odometer[number]), _with_slips(written[number], named[number]))
        for number in range(len(specs))
    ]
    return inspected(simulation, catalogue, visits)


def simulate_looks(
    spec: VehicleSpec,
    truth: Truth,
    *,
    rng: np.random.Generator,
    taken_on: date,
    recordings: Sequence[Recording],
    leave_out: frozenset[tuple[str, str]] = frozenset(),
) -> list[SimulatedInspection]:
    """Look at one vehicle several times at the same instant, with or without some of its causes.

    Parameters
    ----------
    spec : VehicleSpec
        The vehicle.
    truth : mapping of str to tuple of Fault
        Hidden causes.
    rng : numpy.random.Generator
        Source of every draw.
    taken_on : date
        Day of the readings.
    recordings : sequence of Recording
        How each look is written down, at least one; scatter and misses differ from look to look.
    leave_out : frozenset of (str, str), optional
        Place and code of causes that do not act.

    Returns
    -------
    list of SimulatedInspection
        One for each look.

    Raises
    ------
    ReadingError
        If a place, code or variant does not fit the vehicle.

    Notes
    -----
    Every cause is drawn before some are left out. With the same generator the same brakes therefore run the
    same road with a cause and without it, and the difference is what that cause does.
    """
    catalogue = load_catalogue()
    simulation = Simulation([spec], load_mechanisms(), catalogue, rng)
    named = [_resolved(simulation, 0, truth)]
    life = give_histories(simulation, named)
    stretches = _stretches(simulation, life)
    simulation.keep_only(
        [active for active in simulation.actives if (active.where, active.fault.code) not in leave_out]
    )
    odometer = np.maximum(spec.odometer, life)
    simulation.age_guides(odometer - life)
    _drive(simulation, stretches)
    acting = [one for one in named[0] if (one[0], one[2].code) not in leave_out]
    return [
        inspected(simulation, catalogue, [Visit(taken_on, float(odometer[0]), _with_slips(each, acting))])[0]
        for each in recordings
    ]


def _resolved(simulation: Simulation, vehicle: int, truth: Truth) -> Named:
    """Every fault of a truth with its place and cause."""
    return [
        (where, *simulation.resolve(vehicle, where, fault))
        for where, faults in truth.items()
        for fault in faults
    ]


def _stretches(simulation: Simulation, life: Floats) -> tuple[Floats, Floats, Floats]:
    """Distance before the first cause begins, up to the beginning of the last one, and from then on."""
    first, last = 0.4 * life, 0.4 * life
    for active in simulation.actives:
        if active.onset > 0.0:
            first[active.vehicle] = min(first[active.vehicle], active.onset)
            last[active.vehicle] = max(last[active.vehicle], active.onset)
    return first, last - first, life - last


def _drive(simulation: Simulation, stretches: tuple[Floats, Floats, Floats]) -> None:
    """Drive every vehicle its life, in finer steps once causes are at work, with a step at the last onset."""
    for stretch, steps in zip(stretches, _STEPS, strict=True):
        for _ in range(steps):
            simulation.advance(stretch / steps)
    simulation.begin_today()


def _with_slips(recording: Recording, named: Named) -> Recording:
    """Turn data errors among the causes into slips of the recording."""
    slips = [
        Misreading(fault.variant, "" if where == "vehicle" else where)
        for where, _, fault in named
        if fault.code == "U5"
    ]
    return replace(recording, misreadings=(*recording.misreadings, *slips))


def inspected(
    simulation: Simulation, catalogue: Catalogue, visits: Sequence[Visit]
) -> list[SimulatedInspection]:
    """Inspect every vehicle of a simulation at this instant.

    Parameters
    ----------
    simulation : Simulation
        The vehicles.
    catalogue : Catalogue
        Fields with their gauges.
    visits : sequence of Visit
        One for each vehicle.

    Returns
    -------
    list of SimulatedInspection
        One for each vehicle.
    """
    observations = observe(simulation, catalogue, visits)
    return [
        SimulatedInspection(
            document=observation.document,
            truth=_truth(simulation, number, visit, observation),
            states=_states(simulation, number, observation),
        )
        for number, (visit, observation) in enumerate(zip(visits, observations, strict=True))
    ]


def _truth(simulation: Simulation, vehicle: int, visit: Visit, observation: Observation) -> HiddenTruth:
    clock = float(simulation.clock[vehicle])
    faults: dict[str, tuple[Fault, ...]] = {}
    for active in simulation.actives:
        if active.vehicle == vehicle and active.onset <= clock:
            fault = replace(active.fault, ago=clock - active.onset)
            faults[active.where] = (*faults.get(active.where, ()), fault)
    layout = simulation.layout
    run = {
        axle.id: float(simulation.state.run[layout.places[vehicle, axle.id][0]])
        for axle in layout.specs[vehicle].axles
    }
    return HiddenTruth(faults, observation.slips, visit.odometer, run)


def _states(simulation: Simulation, vehicle: int, observation: Observation) -> dict[str, EndState]:
    states = {}
    for name, figures in observation.figures.items():
        end = int(simulation.layout.places[vehicle, name][0])
        states[name] = EndState(
            figures=figures,
            words=observation.words[name],
            drag=observation.drag[name],
            working_temperature=float(simulation.state.working_temperature[end]),
        )
    return states
