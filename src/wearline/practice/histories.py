"""How long pads have run and when each cause began, where a case does not say.

A cause is found some way after its onset: after so much friction has gone at the pad that wears fastest. The
pads' distance and the onsets are chosen so that somebody looks before a pad is used up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from wearline.practice.faults import VEHICLE, Cause, Fault

if TYPE_CHECKING:
    from wearline.practice.conditions import ActiveFault
    from wearline.practice.layout import Floats
    from wearline.practice.simulation import Simulation

__all__ = ["Named", "give_histories"]

Named: TypeAlias = list[tuple[str, Cause, Fault]]
"""Place, cause and fault of every hidden cause of a vehicle."""

_LEFT = 1.5e-3
"""[m] Somebody looks before a pad is thinner than this."""

_SHORTEST = 0.02
"""[1] Least share of the pads' life over which a cause has been at work, unless the case says otherwise."""

_LEAST_LEFT, _MOST_LEFT = 6e-3, 0.72
"""[m] and share of a new pad: range of the mean friction left at an inspection."""


@dataclass(frozen=True, slots=True)
class _Rates:
    """Wear of the faster pad of each wheel end, before the causes that begin in time and with all of them."""

    base: Floats
    sick: Floats


def give_histories(simulation: Simulation, named: Sequence[Named]) -> Floats:
    """Let every cause begin some way back, and return how far the pads have run.

    Parameters
    ----------
    simulation : Simulation
        Vehicles with new pads and no cause at work; the causes are set into it.
    named : sequence of list
        Causes of each vehicle.

    Returns
    -------
    array, shape (vehicles,), [m]
        Distance since the pads were new.
    """
    given = [
        simulation.activate(number, where, fault, cause, 0.0, 0.0)
        for number, faults in enumerate(named)
        for where, cause, fault in faults
    ]
    always = np.array([float(active.cause.whole_life) for active in given])
    rates = _Rates(
        simulation.wear_rates(simulation.conditions_at(always), settled=True),
        simulation.wear_rates(simulation.conditions_at(np.ones(len(given))), settled=True),
    )
    worn = [_worn_since(simulation, active) for active in given]
    life = _lives(simulation, given, rates, worn)
    simulation.keep_only(
        [
            _with_onset(simulation, active, float(life[active.vehicle]), rates, gone)
            for active, gone in zip(given, worn, strict=True)
        ]
    )
    return life


def _worn_since(simulation: Simulation, active: ActiveFault) -> float:
    """Friction that goes at the fastest pad between onset and discovery."""
    cause, fault = active.cause, active.fault
    usual = cause.worn_since.get(fault.variant, cause.worn_since.get("", 0.0))
    return usual * (0.5 + fault.severity) * float(np.exp(0.25 * simulation.rng.standard_normal()))


def _lives(
    simulation: Simulation, given: Sequence[ActiveFault], rates: _Rates, worn: Sequence[float]
) -> Floats:
    """Distance since the pads were new: as asked, or drawn so that the pads are part worn."""
    layout, rng = simulation.layout, simulation.rng
    base = layout.mean_over_vehicle(rates.base)[layout.vehicle_starts]
    sick = layout.mean_over_vehicle(rates.sick)[layout.vehicle_starts]
    new = layout.dimension["friction_new"][layout.vehicle_starts]
    gone = new - rng.uniform(_LEAST_LEFT, _MOST_LEFT * new)
    life = gone / base
    for active, lost in zip(given, worn, strict=True):
        number = active.vehicle
        if active.where == VEHICLE and lost > 0.0 and active.fault.ago is None:
            early = max(float(gone[number]) - lost, 0.15 * float(gone[number]))
            life[number] = early / base[number] + lost / sick[number]
    for active in given:
        if active.cause.fresh is not None:
            life[active.vehicle] = active.cause.fresh * rng.uniform(0.4, 1.5)
    for number, spec in enumerate(layout.specs):
        if spec.distance_since_pads is not None:
            life[number] = spec.distance_since_pads
    return life


def _with_onset(
    simulation: Simulation, active: ActiveFault, run: float, rates: _Rates, worn: float
) -> ActiveFault:
    ago = active.fault.ago
    if ago is None:
        ago = _usual_history(simulation, active, run, rates, worn)
    onset = run - ago
    length = active.cause.ramp * min(ago, run)
    return replace(active, fault=replace(active.fault, ago=ago), onset=onset, full=max(onset, 0.0) + length)


def _usual_history(
    simulation: Simulation, active: ActiveFault, run: float, rates: _Rates, worn: float
) -> float:
    """Distance since the onset, shortened where the pads would not have lasted."""
    cause = active.cause
    if cause.whole_life:
        return run
    if cause.ago is not None:
        return min(cause.ago * float(simulation.rng.uniform(0.5, 2.0)), run)
    ends = active.ends
    ago = float(np.clip(worn / rates.sick[ends].max(), _SHORTEST * run, 0.9 * run))
    end = ends[int(np.argmax(rates.sick[ends] - rates.base[ends]))]
    extra = float(rates.sick[end] - rates.base[end])
    if extra <= 0.0:
        return ago
    spare = float(simulation.layout.dimension["friction_new"][end]) - _LEFT - float(rates.base[end]) * run
    return min(ago, max(spare / extra, _SHORTEST * run))
