"""The life of one vehicle: road, causes that begin, inspections, repairs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wearline.catalogue.loading import load_catalogue
from wearline.errors import ReadingError
from wearline.practice.documents import Visit
from wearline.practice.faults import Fault, load_causes
from wearline.practice.parameters import Mechanisms, load_mechanisms
from wearline.practice.recording import Recording
from wearline.practice.simulate import SimulatedInspection, inspected
from wearline.practice.simulation import Simulation, scope_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from wearline.practice.conditions import ActiveFault
    from wearline.practice.layout import Floats
    from wearline.practice.specification import VehicleSpec

__all__ = ["Repair", "VehicleLife", "repair_kinds"]

_STEP = 0.4e-3
"""[m] Friction that a pad loses in one step of a life at most, as far as can be foreseen."""


def repair_kinds() -> tuple[str, ...]:
    """Return the kinds of work that remove a cause.

    Returns
    -------
    tuple of str
        As ``"guide kit"``, in alphabetical order.
    """
    return tuple(sorted({work for cause in load_causes().values() for work in cause.repairs}))


@dataclass(frozen=True, slots=True)
class Repair:
    """One piece of work.

    Parameters
    ----------
    kind : str
        One of ``repair_kinds()``.
    where : str
        Wheel end, axle or ``"vehicle"``; pads are renewed on the whole axle of a wheel end.

    Raises
    ------
    ReadingError
        If the kind is unknown.
    """

    kind: str
    where: str

    def __post_init__(self) -> None:
        if self.kind not in repair_kinds():
            raise ReadingError(
                f"{self.kind!r} is no work that the simulator knows",
                allowed=", ".join(repair_kinds()),
                cure="Choose one of these",
            )


class VehicleLife:
    """One vehicle over time.

    Parameters
    ----------
    spec : VehicleSpec
        The vehicle; its odometer is that of the start, its pads have run ``distance_since_pads`` (none: new).
    rng : numpy.random.Generator
        Source of every draw.
    mechanisms : Mechanisms, optional
        Numbers of the simulation; the shipped ones by default.
    """

    def __init__(
        self, spec: VehicleSpec, *, rng: np.random.Generator, mechanisms: Mechanisms | None = None
    ) -> None:
        self._catalogue = load_catalogue()
        self._simulation = Simulation([spec], mechanisms or load_mechanisms(), self._catalogue, rng)
        run = spec.distance_since_pads or 0.0
        self._zero = max(spec.odometer, run) - run
        self._simulation.age_guides(np.array([self._zero]))
        self.spec = spec
        self._usual_face: Floats | None = None
        if run:
            self.advance(run)

    @property
    def odometer(self) -> float:
        """Distance on the counter [m]."""
        return self._zero + float(self._simulation.clock[0])

    @property
    def faults(self) -> Mapping[str, tuple[Fault, ...]]:
        """Causes at work, by place."""
        found: dict[str, tuple[Fault, ...]] = {}
        for active in self._simulation.actives:
            found[active.where] = (*found.get(active.where, ()), active.fault)
        return found

    @property
    def thinnest(self) -> Mapping[str, float]:
        """True friction of the thinnest corner of both pads, by wheel end [m]."""
        state = self._simulation.state
        inner = state.inner - 0.5 * (np.abs(state.end_inner) + np.abs(state.top_inner))
        outer = state.outer - 0.5 * (np.abs(state.end_outer) + np.abs(state.top_outer))
        return self._by_place(np.minimum(inner, outer))

    @property
    def wear_rates(self) -> Mapping[str, float]:
        """Friction that the faster pad loses by distance as things stand, by wheel end [m/m]."""
        simulation = self._simulation
        return self._by_place(simulation.wear_rates(simulation.conditions()))

    @property
    def rotor(self) -> Mapping[str, float]:
        """True rotor thickness, by wheel end [m]."""
        return self._by_place(self._simulation.state.rotor(self._simulation.layout))

    def _by_place(self, values: Floats) -> dict[str, float]:
        places = self._simulation.layout.places
        return {str(place): float(values[places[0, str(place)][0]]) for place in self.spec.places}

    def add_fault(self, where: str, fault: Fault, *, grows_over: float | None = None) -> Fault:
        """Let a cause begin at the present odometer.

        Parameters
        ----------
        where : str
            Wheel end, axle or ``"vehicle"``.
        fault : Fault
            The cause; without a distance since the onset, for it begins now.
        grows_over : float or None, [m], optional
            Distance over which it grows to its severity; None: as long as is usual for it.

        Returns
        -------
        Fault
            The cause with its variant.

        Raises
        ------
        ReadingError
            If place, code, variant or distance does not fit.
        """
        if fault.ago is not None:
            raise ReadingError(
                f"{fault.code} is said to have begun {fault.ago:g} m ago",
                where=where,
                allowed="a cause that begins at the present odometer",
                cure="Leave 'ago' out, and advance the vehicle afterwards",
            )
        simulation = self._simulation
        cause, resolved = simulation.resolve(0, where, fault)
        clock = float(simulation.clock[0])
        length = grows_over
        if length is None:
            worn = cause.worn_since.get(resolved.variant, cause.worn_since.get("", 0.0))
            ends = simulation.layout.places[0, where]
            rate = float(simulation.wear_rates(simulation.conditions())[ends].max())
            length = cause.ramp * worn / rate
        simulation.activate(0, where, resolved, cause, clock, clock + length)
        simulation.begin_today()
        return resolved

    def advance(self, distance: float) -> None:
        """Drive on.

        Parameters
        ----------
        distance : float, [m], 0 or more
            How far.

        Raises
        ------
        ReadingError
            If the distance is negative.
        """
        if not 0.0 <= distance < float("inf"):
            raise ReadingError(
                f"the vehicle is to drive {distance:g} m",
                allowed="0 m or more",
                cure="Odometers run forward; give metres",
            )
        simulation = self._simulation
        full = simulation.conditions_at(np.ones(len(simulation.actives)))
        rate = float(simulation.wear_rates(full, settled=True).max())
        steps = int(np.clip(np.ceil(distance * rate / _STEP), 1, 400))
        for _ in range(steps if distance else 0):
            simulation.advance(np.array([distance / steps]))

    def advance_to(self, odometer: float) -> None:
        """Drive on until the counter shows a distance.

        Parameters
        ----------
        odometer : float, [m]
            Not below the present one.

        Raises
        ------
        ReadingError
            If the counter already shows more.
        """
        self.advance(odometer - self.odometer)

    def inspect(self, taken_on: date, recording: Recording | None = None) -> SimulatedInspection:
        """Inspect the vehicle as it stands.

        Parameters
        ----------
        taken_on : date
            Day of the readings.
        recording : Recording, optional
            How they are written down; complete and in metric units by default.

        Returns
        -------
        SimulatedInspection
            Document, truth and true figures.
        """
        visit = Visit(taken_on, self.odometer, recording or Recording())
        return inspected(self._simulation, self._catalogue, [visit])[0]

    def repair(self, *works: Repair) -> tuple[Fault, ...]:
        """Do some work on the vehicle.

        Parameters
        ----------
        *works : Repair
            In any order.

        Returns
        -------
        tuple of Fault
            Causes that the work removed.

        Raises
        ------
        ReadingError
            If a place is not on the vehicle.
        """
        removed: list[Fault] = []
        for work in works:
            ends = self._ends(work)
            removed.extend(self._remove_causes(work, ends))
            _renew(self._simulation, work.kind, ends)
        return tuple(removed)

    @property
    def torn_boots(self) -> tuple[str, ...]:
        """Wheel ends with a torn guide boot."""
        found = self.faults
        return tuple(place for place, faults in found.items() if any(each.code == "G7" for each in faults))

    def fit_friction(self, axle: str, *, wear: float, faces: float) -> None:
        """Let the pads that were just fitted be of another friction material.

        Parameters
        ----------
        axle : str
            Axle with new pads.
        wear, faces : float, [1], 0.1 to 10
            Wear of the pads, and of the rotor's faces by distance, against the usual pad.

        Raises
        ------
        ReadingError
            If a factor is outside its range.
        """
        for name, value in (("wear", wear), ("faces", faces)):
            if not 0.1 <= value <= 10.0:
                raise ReadingError(
                    f"{name} is {value:g} times the usual", where=axle, allowed="0.1 to 10", cure="1 is usual"
                )
        simulation = self._simulation
        ends = self._ends(Repair("pads", axle))
        own = simulation.individuals
        if self._usual_face is None:
            self._usual_face = own.face
        # the face is lost by friction worn, so that it has to be given by distance here
        simulation.individuals = replace(
            own,
            inner=np.where(ends, own.inner * wear, own.inner),
            outer=np.where(ends, own.outer * wear, own.outer),
            face=np.where(ends, self._usual_face * faces / wear, own.face),
        )

    def _ends(self, work: Repair) -> Floats:
        """Mask of the wheel ends that a piece of work reaches."""
        where = work.where
        if work.kind == "pads" and scope_of(where) == "wheel end":
            where = where[:-1]
        places = self._simulation.layout.places
        if (0, where) not in places:
            raise ReadingError(
                f"{where!r} is no place of vehicle {self.spec.id}",
                allowed=", ".join(name for _, name in places),
                cure="Name a wheel end as '1L', an axle as '1', or 'vehicle'",
            )
        ends = np.zeros(self._simulation.layout.ends, dtype=bool)
        ends[places[0, where]] = True
        return ends

    def _remove_causes(self, work: Repair, ends: Floats) -> list[Fault]:
        simulation = self._simulation
        keep: list[ActiveFault] = []
        gone: list[ActiveFault] = []
        for active in simulation.actives:
            cured = bool(ends[active.ends].all()) and work.kind in active.cause.repairs
            (gone if cured else keep).append(active)
        if gone:
            simulation.keep_only(keep)
        return [active.fault for active in gone]


def _renew(simulation: Simulation, kind: str, ends: Floats) -> None:
    """Put the state of renewed parts back to new."""
    if kind == "pads":
        simulation.renew_pads(ends)
    if kind in ("guide kit", "calliper"):
        new = simulation.sound["long_clearance"]
        simulation.state = replace(
            simulation.state, long_clearance=np.where(ends, new, simulation.state.long_clearance)
        )
    if kind in ("tappet boots", "calliper"):
        simulation.boot_luck = np.where(
            ends, simulation.rng.exponential(size=ends.size), simulation.boot_luck
        )
        simulation.state = replace(simulation.state, hot_run=np.where(ends, 0.0, simulation.state.hot_run))
    if kind in ("set clearance", "calliper", "pads"):
        goal = simulation.conditions()["clearance_goal"]
        simulation.state = replace(
            simulation.state, clearance=np.where(ends, goal, simulation.state.clearance)
        )
    if kind == "rotor":
        _renew_rotor(simulation, ends)


def _renew_rotor(simulation: Simulation, ends: Floats) -> None:
    state, wear = simulation.state, simulation.mechanisms.wear
    fresh = 0.5 * wear.crack_base * simulation.rng.uniform(0.0, 1.0, ends.size)
    simulation.state = replace(
        state,
        slid=np.where(ends, state.slid - state.face_outer, state.slid),
        face_inner=np.where(ends, 0.0, state.face_inner),
        face_outer=np.where(ends, 0.0, state.face_outer),
        crack=np.where(ends, fresh, state.crack),
        scoring=np.where(ends, 0.0, state.scoring),
        peak_temperature=np.where(ends, 0.0, state.peak_temperature),
    )
