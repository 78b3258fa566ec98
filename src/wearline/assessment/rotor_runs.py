"""Rotor temperature over a recorded drive."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wearline.assessment.braking_numbers import braking_number, braking_numbers
from wearline.catalogue.model import Design
from wearline.physics.descent import AIR_DENSITY, BrakeSet
from wearline.physics.domain import check_mass, require
from wearline.physics.duty import DutyCycle, Retarder, SpeedProfile, braking_cycle, friction_flux
from wearline.physics.heat_types import Face, Recording, RotorHistory
from wearline.physics.materials import GREY_IRON, ORGANIC_PAD, ring_area, rotor_heat_share
from wearline.physics.pad_wear import GENERIC_DUTIES, WearTemperature, temperature_factor, worn_volume
from wearline.physics.rotor_heat import heat_rotors
from wearline.physics.slab_modes import Slab
from wearline.physics.stopping import Resistance
from wearline.records.drive import Drive

__all__ = ["RotorRun", "RunTask", "run_rotor"]

STEP = 0.1
"""[s] Time step; the conduction is exact within it."""

PARTS = (0.25, 0.5)
"""Profiles are kept at these parts of the way to the hottest moment, there, and at the end."""

CELLS = 60

WEAR_DUTY = "regional"
"""Duty whose specific wear is taken."""


@dataclass(frozen=True, slots=True)
class RunTask:
    """Which brake runs what.

    Parameters
    ----------
    mass : float, [kg], 50 to 500 000
        Mass of the vehicle or combination.
    share : float, [1], more than 0 to 1
        Share of the braking that this wheel end does: one over the number of brakes where all work alike.
    retarder : float, [W], 0 or more
        Power of retarder or engine brake, used first.
    start, ambient : float, [K], 150 to 1500
        Temperature at the start, and of the air.
    """

    mass: float
    share: float
    retarder: float = 0.0
    start: float = 293.15
    ambient: float = 293.15


@dataclass(frozen=True, slots=True)
class RotorRun:
    """Heat of one rotor over a drive.

    Parameters
    ----------
    cycle : DutyCycle
        Braking power of the whole vehicle.
    history : RotorHistory
        Friction face, middle and mean over time, and profiles through the thickness.
    profile_times : tuple of float
        Moments of the profiles [s].
    thickness : float
        Half of the ring [m].
    energy : float
        Friction energy at this wheel end [J].
    worn : float
        Worn volume of both pads [m3].
    """

    cycle: DutyCycle
    history: RotorHistory
    profile_times: tuple[float, ...]
    thickness: float
    energy: float
    worn: float

    @property
    def peak(self) -> float:
        """Highest temperature of the friction face [K]."""
        return float(self.history.peak[0])

    @property
    def peak_time(self) -> float:
        """When it was reached [s]."""
        return float(self.history.time[int(np.argmax(self.history.front[:, 0]))])


def run_rotor(drive: Drive, task: RunTask, design: Design) -> RotorRun:
    """Return the temperatures of a rotor over a recorded drive.

    Parameters
    ----------
    drive : Drive
        Speed and slope over time.
    task : RunTask
        Vehicle and share of the brake.
    design : Design
        Brake of the catalogue.

    Returns
    -------
    RotorRun
        Temperatures, energy and wear.

    Raises
    ------
    DomainError
        If a value is absurd.

    Notes
    -----
    Energy balance of the vehicle, conduction through half of the ring of a new rotor, heat given off as in
    the descent model, without radiation beside it. Drag area and cooling are expert judgement; the values
    of grey iron and the rolling resistance are unverified: an estimate to look at, never a release.
    """
    check_mass(task.mass)
    require("share of the braking", task.share, 0.0, 1.0, unit="", cure="Give one over the brakes, 1/4.")
    profile = SpeedProfile(np.asarray(drive.time), np.asarray(drive.speed))
    numbers = braking_numbers()
    resistance = Resistance(
        rolling=numbers["rolling_resistance"].value,
        air=0.5 * AIR_DENSITY * braking_number("drag_area") / task.mass,
    )
    step = min(STEP, profile.duration)
    cycle = braking_cycle(
        profile,
        task.mass,
        step,
        slope=np.asarray(drive.slope) if drive.slope else 0.0,
        resistance=resistance,
        retarder=Retarder(task.retarder),
    )
    outer = 0.5 * design.rotor_diameter
    face = ring_area(outer - design.pad_height, outer)
    heat_share = rotor_heat_share(GREY_IRON, ORGANIC_PAD, min(design.friction_area / face, 1.0))
    flux = friction_flux(cycle, wheel_share=task.share, heat_share=float(heat_share), face_area=2.0 * face)
    coefficient = np.asarray(BrakeSet(count=1).conductance(cycle.speed)) / (2.0 * face)
    slab, heated = Slab(0.5 * design.rotor_new), Face(flux, coefficient=coefficient)

    def run(moments: Sequence[int]) -> RotorHistory:
        return heat_rotors(
            slab,
            heated,
            step=cycle.step,
            initial=task.start,
            ambient=task.ambient,
            recording=Recording(profile_steps=moments, cells=CELLS),
        )

    # a first run finds the hottest moment, a second keeps its profile
    steps = len(cycle.power)
    hottest = int(np.argmax(run(()).front[:, 0])) + 1
    moments = sorted({max(round(part * hottest), 1) for part in PARTS} | {hottest, steps})
    history = run(moments)
    energy = cycle.power * task.share * cycle.step
    specific = next(duty.specific_wear for duty in GENERIC_DUTIES if duty.name == WEAR_DUTY)
    factor = temperature_factor(history.front[:, 0], WearTemperature())
    return RotorRun(
        cycle=cycle,
        history=history,
        profile_times=tuple(cycle.step * moment for moment in moments),
        thickness=0.5 * design.rotor_new,
        energy=float(energy.sum()),
        worn=float(np.sum(worn_volume(energy, specific, factor))),
    )
