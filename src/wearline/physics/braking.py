"""Braking rate of a vehicle, what grip leaves of it, and how much of it is still there.

Forces are at the tyres, rates are decelerations over standard gravity.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wearline.errors import DomainError
from wearline.physics.axle_loads import check_rate
from wearline.physics.domain import GRAVITY, check_mass, require

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from wearline.physics.domain import Number

__all__ = [
    "adhesion_use",
    "braking_rate",
    "capability",
    "deceleration",
    "grip_limited_braking",
    "rate_from_deceleration",
]

GRIP_ITERATIONS = 200
"""Passes before the load transfer is given up as not settling; a dozen are usual."""


def braking_rate(total_force: Number, mass: Number) -> Number:
    """Return the braking rate that a total brake force gives.

    Parameters
    ----------
    total_force : float or array, [N], 0 or more
        Sum of the brake forces at the tyres.
    mass : float or array, [kg], 50 to 500 000
        Mass of the vehicle or combination.

    Returns
    -------
    float or array, [1]
        Brake force over weight; 0.435 is 43.5 %.

    Raises
    ------
    DomainError
        If the force is negative or the mass absurd.

    Notes
    -----
    z = sum F / (m g). The in-service rule of 49 CFR 393.52 and roller testers use the same quotient.
    """
    require("total brake force", total_force, 0.0, unit="N")
    check_mass(mass)
    return total_force / (mass * GRAVITY)


def deceleration(rate: Number) -> Number:
    """Return the deceleration of a braking rate.

    Parameters
    ----------
    rate : float or array, [1], 0 to 1.5
        Braking rate.

    Returns
    -------
    float or array, [m/s2]
        Deceleration.

    Raises
    ------
    DomainError
        If the rate is outside 0 to 1.5.
    """
    check_rate(rate)
    return rate * GRAVITY


def rate_from_deceleration(value: Number) -> Number:
    """Return the braking rate of a deceleration.

    Parameters
    ----------
    value : float or array, [m/s2], 0 to 15
        Deceleration.

    Returns
    -------
    float or array, [1]
        Share of standard gravity.

    Raises
    ------
    DomainError
        If the deceleration is outside 0 to 15.
    """
    require("deceleration", value, 0.0, 15.0, unit="m/s2")
    return value / GRAVITY


def adhesion_use(forces: Number, loads: Number) -> Number:
    """Return the adhesion that each axle uses.

    Parameters
    ----------
    forces : float or array, [N], 0 or more
        Brake force of the axle or group.
    loads : float or array, [N]
        Load on it while braking.

    Returns
    -------
    float or array, [1]
        Force over load: the road must offer at least this. Infinite where the axle carries nothing but
        brakes.

    Raises
    ------
    DomainError
        If a force is negative.

    Notes
    -----
    f_i = F_i / N_i. Statics.
    """
    require("brake force", forces, 0.0, unit="N")
    force, load = np.asarray(forces, dtype=float), np.asarray(loads, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        carried = np.where(load > 0.0, force / load, np.where(force > 0.0, np.inf, 0.0))
    use: Number = np.where(np.isnan(force + load), np.nan, carried)[()]
    return use


def grip_limited_braking(
    demands: Sequence[Number],
    loads_at: Callable[[Number, Sequence[Number]], Sequence[Number]],
    mass: Number,
    adhesion: Number,
) -> tuple[Number, tuple[Number, ...]]:
    """Return the braking rate and the axle forces when grip may cap some of them.

    Parameters
    ----------
    demands : sequence of float or array, [N], 0 or more
        Force that the brakes of each axle group would make.
    loads_at : callable
        Gives the loads of the same groups, [N], for a braking rate and the forces: a small function around
        `wearline.physics.axle_loads`.
    mass : float or array, [kg], 50 to 500 000
        Mass of the whole vehicle or combination.
    adhesion : float or array, [1], 0 to 1.5
        Adhesion between tyres and road.

    Returns
    -------
    rate : float or array, [1]
        Braking rate.
    forces : tuple of float or array, [N]
        Force of each group.

    Raises
    ------
    DomainError
        If a value is outside its range, or the load transfer does not settle because the geometry is absurd.

    Notes
    -----
    F_i = min(demand_i, k N_i(z, F)), z = sum F / (m g), by repeated substitution, which contracts while
    k h / L is below 1. Anti-lock control is taken as perfect.
    """
    check_mass(mass)
    require("adhesion", adhesion, 0.0, 1.5, unit="")
    for demand in demands:
        require("brake force", demand, 0.0, unit="N")
    forces: tuple[Number, ...] = tuple(demands)
    weight = mass * GRAVITY
    rate: Number = 0.0
    for _ in range(GRIP_ITERATIONS):
        loads = loads_at(rate, forces)
        forces = tuple(
            np.minimum(demand, adhesion * np.maximum(load, 0.0))
            for demand, load in zip(demands, loads, strict=True)
        )
        before, rate = rate, _total(forces) / weight
        if np.all((abs(np.asarray(rate) - before) < 1e-13) | np.isnan(rate)):
            return rate, forces
    raise DomainError(
        "the load transfer between the axles does not settle",
        allowed="centre of gravity lower than the wheelbase is long",
        cure="Check height of the centre of gravity, wheelbase and adhesion.",
    )


def capability(available: Number, nominal: Number) -> Number:
    """Return how much of its intended braking force a vehicle still has.

    Parameters
    ----------
    available : array, [N], 0 or more, last axis over the wheel ends
        Force that each wheel end makes in its present state, at one pressure.
    nominal : array, [N], more than 0, last axis over the wheel ends
        Force that each would make in order, at the same pressure.

    Returns
    -------
    float or array, [1]
        C = sum available / sum nominal; NaN if any wheel end is unknown.

    Raises
    ------
    DomainError
        If an available force is negative or a nominal force not positive.

    Notes
    -----
    A count of defective brakes and this share are different answers: show both. Derived.
    """
    have, want = np.asarray(available, dtype=float), np.asarray(nominal, dtype=float)
    require("available brake force", have, 0.0, unit="N")
    require("nominal brake force", want, 1e-9, unit="N", cure="Every wheel end counted must have a brake.")
    share: Number = (have.sum(axis=-1) / want.sum(axis=-1))[()]
    return share


def _total(forces: Sequence[Number]) -> Number:
    total: Number = 0.0
    for force in forces:
        total = total + force
    return total
