"""A number of vehicles on the road: their state of wear, the causes at work, and time.

All vehicles advance together, each by its own distance, so that thousands of them cost little more than one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from wearline.errors import ReadingError
from wearline.practice.conditions import ActiveFault, Conditions, Overlay, sound_conditions
from wearline.practice.faults import VEHICLE, Cause, Fault, cause_of
from wearline.practice.forces import nominal_level_forces
from wearline.practice.layout import Floats, lay_out
from wearline.practice.parameters import load_duties
from wearline.practice.wear_state import Individuals, Road, WearState, with_new_pads
from wearline.practice.wearing import pad_wear_rates, wear_on
from wearline.practice.work import wear_factor

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wearline.catalogue.loading import Catalogue
    from wearline.practice.layout import Layout
    from wearline.practice.parameters import Mechanisms
    from wearline.practice.specification import VehicleSpec

__all__ = ["Simulation", "scope_of"]

_SERVICE_FRICTION = 3e-3
"""[m] Friction at which a pad's life ends in the table of duties."""

_P90 = 1.2815515655446004
"""Standard normal deviate that 90 % stay below."""


def scope_of(where: str) -> str:
    """Return what kind of place a name of a truth is.

    Parameters
    ----------
    where : str
        ``"1L"``, ``"1"`` or ``"vehicle"``.

    Returns
    -------
    str
        ``"wheel end"``, ``"axle"`` or ``"vehicle"``.
    """
    if where == VEHICLE:
        return "vehicle"
    return "wheel end" if where[-1:] in ("L", "R") else "axle"


class Simulation:
    """Vehicles with their hidden state.

    Parameters
    ----------
    specs : sequence of VehicleSpec
        The vehicles, at least one.
    mechanisms : Mechanisms
        Numbers of the simulation.
    catalogue : Catalogue
        Brake designs.
    rng : numpy.random.Generator
        Source of every draw.

    Raises
    ------
    CatalogueError
        If a design is not in the catalogue.

    Notes
    -----
    Starts with new pads on rotors worn as the specification says, at clock 0.
    """

    rng: np.random.Generator
    """Source of what happens to the vehicles."""
    look_rng: np.random.Generator
    """Source of what differs from look to look, so that looking changes nothing."""
    layout: Layout
    """What never changes."""
    sound: Conditions
    """The brakes without any cause."""
    individuals: Individuals
    """What makes each brake differ."""
    state: WearState
    """Where each wheel end has got to."""
    clock: Floats
    """Distance since the start, each vehicle [m]."""
    actives: list[ActiveFault]
    """Causes at work or to come."""
    boot_luck: Floats
    """How long the tappet boots of each brake bear heat, mean 1."""

    def __init__(
        self,
        specs: Sequence[VehicleSpec],
        mechanisms: Mechanisms,
        catalogue: Catalogue,
        rng: np.random.Generator,
    ) -> None:
        self.mechanisms = mechanisms
        self.rng = rng
        self.look_rng = rng.spawn(1)[0]
        self.layout = lay_out(specs, mechanisms, catalogue)
        self.sound = sound_conditions(self.layout, mechanisms, rng)
        self.individuals = self._draw_individuals()
        self.demand = nominal_level_forces(self.layout, mechanisms, self.sound)
        self.clock = np.zeros(len(specs))
        self.boot_luck = rng.exponential(size=self.layout.ends)
        self._route = rng.standard_normal(len(specs))
        self.actives = []
        self._laid: Overlay | None = None
        self.state = self._new_state()

    # ------------------------------------------------------------ draws

    def _draw_individuals(self) -> Individuals:
        rng, wear, layout = self.rng, self.mechanisms.wear, self.layout
        size = layout.ends
        energy, specific_wear = self._draw_vehicle_factors()

        def around(spread: float) -> Floats:
            result: Floats = np.exp(spread * rng.standard_normal(size))
            return result

        own = Individuals(
            energy=energy,
            specific_wear=specific_wear,
            end=around(wear.end_spread),
            inner=around(wear.pad_spread),
            outer=around(wear.pad_spread),
            leading=-wear.leading_share + wear.symmetric_spread * rng.standard_normal(size),
            top=-wear.top_share + wear.symmetric_spread * rng.standard_normal(size),
            face=wear.face_share * around(wear.face_spread),
            guide_growth=around(0.3),
            heat=around(self.mechanisms.heat.end_spread),
            new_inner=layout.dimension["friction_new"].copy(),
            new_outer=layout.dimension["friction_new"].copy(),
        )
        return self._with_new_pad_draws(own, np.ones(size, dtype=bool))

    def _draw_vehicle_factors(self) -> tuple[Floats, Floats]:
        """Energy and specific wear of each vehicle against its duty, so that lives spread as the duty says.

        A vehicle with more energy runs hotter, and heat wears more; its pads' own wear makes up the rest of
        the drawn life.
        """
        layout, heat = self.layout, self.mechanisms.heat
        duties = load_duties()
        lives = np.array([duties[spec.duty].life for spec in layout.specs])
        spread = np.log(lives[:, 1] / lives[:, 0]) / (2.0 * _P90)
        drawn = np.exp(spread * self.rng.standard_normal(len(layout.specs)))
        asked = np.array([np.nan if spec.pad_life is None else spec.pad_life for spec in layout.specs])
        drawn = np.where(np.isnan(asked), drawn, asked)
        life = (np.sqrt(lives[:, 0] * lives[:, 1]) * drawn)[layout.vehicle]
        dimension, duty = layout.dimension, layout.duty
        usable = dimension["friction_area"] * (dimension["friction_new"] - _SERVICE_FRICTION)
        total = 2.0 * usable / (duty["specific_wear"] * duty["energy"]) / life
        energy = total**self.mechanisms.wear.energy_part
        usual = duty["working_temperature"]
        temperature = heat.ambient + (usual - heat.ambient) * energy**heat.load_exponent
        hotter = wear_factor(temperature) / wear_factor(usual)
        return energy, total / (energy * hotter)

    def _with_new_pad_draws(self, own: Individuals, ends: Floats) -> Individuals:
        wear, new = self.mechanisms.wear, self.layout.dimension["friction_new"]
        size = self.layout.ends
        draws = self.rng.standard_normal((4, size))
        return replace(
            own,
            inner=np.where(ends, np.exp(wear.pad_spread * draws[0]), own.inner),
            outer=np.where(ends, np.exp(wear.pad_spread * draws[1]), own.outer),
            new_inner=np.where(ends, new + wear.new_thickness_spread * draws[2], own.new_inner),
            new_outer=np.where(ends, new + wear.new_thickness_spread * draws[3], own.new_outer),
        )

    def _new_state(self) -> WearState:
        layout, wear = self.layout, self.mechanisms.wear
        size = layout.ends
        zero = np.zeros(size)
        lost = np.array([spec.rotor_wear for spec in layout.specs])[layout.vehicle] / 2.0
        return WearState(
            inner=self.individuals.new_inner,
            outer=self.individuals.new_outer,
            end_inner=zero,
            end_outer=zero,
            top_inner=zero,
            top_outer=zero,
            face_inner=lost,
            face_outer=lost,
            clearance=self.sound["clearance_goal"].copy(),
            long_clearance=self.sound["long_clearance"].copy(),
            crack=wear.crack_base * self.rng.uniform(0.4, 1.6, size),
            scoring=zero,
            slid=lost,
            run=zero,
            hot_run=zero,
            working_temperature=np.full(size, self.mechanisms.heat.ambient),
            peak_temperature=zero,
        )

    def age_guides(self, distance: Floats) -> None:
        """Let the guides wear as over a distance before the start.

        Parameters
        ----------
        distance : array, shape (vehicles,), [m], 0 or more
            Distance that the callipers had run with sound boots.
        """
        usual = self.mechanisms.guidance.long_clearance_growth * self.layout.duty["roughness"]
        grown = usual * self.individuals.guide_growth * distance[self.layout.vehicle]
        self.state = replace(self.state, long_clearance=self.state.long_clearance + grown)

    # ------------------------------------------------------------ causes

    def resolve(self, vehicle: int, where: str, fault: Fault) -> tuple[Cause, Fault]:
        """Return a fault with its cause and, where it has variants, one of them.

        Parameters
        ----------
        vehicle : int
            Vehicle.
        where : str
            Place.
        fault : Fault
            What the case says.

        Returns
        -------
        cause : Cause
            From the table.
        fault : Fault
            With a variant.

        Raises
        ------
        ReadingError
            If place, code or variant does not fit.
        """
        spec = self.layout.specs[vehicle]
        if (vehicle, where) not in self.layout.places:
            raise ReadingError(
                f"{where!r} is no place of vehicle {spec.id}",
                allowed=", ".join(
                    [VEHICLE, *(axle.id for axle in spec.axles), *(str(place) for place in spec.places)]
                ),
                cure="Name a wheel end as '1L', an axle as '1', or 'vehicle'",
            )
        cause = cause_of(fault.code)
        cause.check(fault, scope_of(where), where)
        if cause.variants and not fault.variant:
            shares = np.array(list(cause.variants.values()))
            choice = self.rng.choice(len(shares), p=shares / shares.sum())
            fault = replace(fault, variant=list(cause.variants)[int(choice)])
        return cause, fault

    def activate(
        self, vehicle: int, where: str, fault: Fault, cause: Cause, onset: float, full: float
    ) -> ActiveFault:
        """Let a cause begin.

        Parameters
        ----------
        vehicle : int
            Vehicle.
        where : str
            Place.
        fault : Fault
            With a variant where the cause has variants.
        cause : Cause
            From the table.
        onset, full : float, [m]
            Distance on the vehicle's clock at which it begins and is full-grown.

        Returns
        -------
        ActiveFault
            The cause at work.
        """
        spread = self.mechanisms.testing.effect_spread
        signs: dict[str, tuple[str, bool]] = {}
        for sign in cause.signs:
            if sign.variant in ("", fault.variant):
                word = self._draw_word(sign.words)
                if word:
                    signs[sign.field] = (word, sign.early)
        active = ActiveFault(
            vehicle=vehicle,
            where=where,
            fault=fault,
            cause=cause,
            ends=self.layout.places[vehicle, where],
            onset=onset,
            full=max(full, onset),
            scatter=np.exp(spread * self.rng.standard_normal(len(cause.effects))),
            signs=signs,
        )
        self.actives.append(active)
        self._laid = None
        return active

    def _draw_word(self, words: Mapping[str, float]) -> str:
        chance = self.rng.random()
        for word, share in words.items():
            chance -= share
            if chance < 0.0:
                return word
        return ""

    @property
    def _overlay(self) -> Overlay:
        """The causes ready to be laid over sound brakes; made anew when they change."""
        if self._laid is None:
            self._laid = Overlay(self.actives)
        return self._laid

    def keep_only(self, keep: Sequence[ActiveFault]) -> None:
        """Keep only some of the causes.

        Parameters
        ----------
        keep : sequence of ActiveFault
            Causes that stay.
        """
        self.actives = list(keep)
        self._laid = None

    # ------------------------------------------------------------ time

    def conditions(self) -> Conditions:
        """Return the mechanical quantities at this instant.

        Returns
        -------
        Conditions
            With every cause at its present size.
        """
        return self._overlay.lay(self.sound, self._overlay.weights(self.clock, self.clock))

    def conditions_at(self, weights: Floats) -> Conditions:
        """Return the mechanical quantities with each cause at a given size.

        Parameters
        ----------
        weights : array, shape (causes,), [1]
            0 not begun to 1 full-grown, in the order of the causes.

        Returns
        -------
        Conditions
            As if the causes had grown so far.
        """
        return self._overlay.lay(self.sound, weights)

    def road(self) -> Road:
        """Return what stays the same over the next stretch.

        Returns
        -------
        Road
            Layout, numbers and demand.
        """
        factor = np.exp(self.mechanisms.wear.route_spread * self._route)[self.layout.vehicle]
        own = replace(self.individuals, energy=self.individuals.energy * factor)
        return Road(self.layout, self.mechanisms, own, self.demand)

    def wear_rates(self, now: Conditions, *, settled: bool = False) -> Floats:
        """Return how fast the faster pad of each wheel end wears in its present state.

        Parameters
        ----------
        now : Conditions
            Mechanical quantities.
        settled : bool, optional
            True to take the clearance as one that a changed adjuster has already closed.

        Returns
        -------
        array, [m/m]
            Friction by distance.
        """
        road = Road(self.layout, self.mechanisms, self.individuals, self.demand)
        state = self.state
        if settled:
            state = replace(state, clearance=np.minimum(state.clearance, now["clearance_goal"]))
        _, inner, outer = pad_wear_rates(state, now, road)
        result: Floats = np.maximum(inner, outer)
        return result

    def advance(self, distance: Floats) -> None:
        """Drive every vehicle one stretch.

        Parameters
        ----------
        distance : array, shape (vehicles,), [m], 0 or more
            Length of the stretch of each vehicle.
        """
        stop = self.clock + distance
        for active in self._overlay.begun(self.clock, stop):
            self._begin(active)
        now = self._overlay.lay(self.sound, self._overlay.weights(self.clock, stop))
        self.state = wear_on(self.state, now, self.road(), distance[self.layout.vehicle])
        self.clock = stop
        memory = np.exp(-distance / self.mechanisms.wear.route_length)
        fresh = self.rng.standard_normal(distance.size)
        self._route = memory * self._route + np.sqrt(1.0 - memory**2) * fresh

    def begin_today(self) -> None:
        """Do what causes do once that begin at this very moment."""
        for active in self._overlay.begun(self.clock, self.clock + 2.0):
            self._begin(active)

    def _begin(self, active: ActiveFault) -> None:
        """Do what a cause does once, on its first day."""
        alone = Overlay((active,)).lay(self.sound, np.ones(1))
        ends = active.ends
        clearance, shortfall = alone["preset_clearance"][ends], alone["preset_shortfall"][ends]
        if (clearance > 0.0).any():
            changed = self.state.clearance.copy()
            changed[ends] = clearance
            self.state = replace(self.state, clearance=changed)
        if (shortfall > 0.0).any():
            dimension = self.layout.dimension
            thickness = dimension["rotor_min"][ends] - shortfall
            face = 0.5 * (dimension["rotor_new"][ends] - thickness)
            inner, outer, slid = (
                self.state.face_inner.copy(),
                self.state.face_outer.copy(),
                self.state.slid.copy(),
            )
            slid[ends] += face - outer[ends]
            inner[ends], outer[ends] = face, face
            self.state = replace(self.state, face_inner=inner, face_outer=outer, slid=slid)

    def renew_pads(self, ends: Floats) -> None:
        """Fit new pads.

        Parameters
        ----------
        ends : array of bool
            Wheel ends that get them.
        """
        self.individuals = self._with_new_pad_draws(self.individuals, ends)
        self.state = with_new_pads(self.state, self.individuals, ends)
