"""Loads on the axles of a braking vehicle: rigid, tractor with semitrailer, truck with drawbar trailer.

Rigid bodies on a level road, steady braking, both wheels of an axle alike, axles of one group compensated
so that the group counts as one support at its middle. Pitch of the springs and air drag are neglected. A
negative load means that the axle would lift: the assumptions no longer hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wearline.physics.domain import GRAVITY, check_mass, require, require_positive

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = [
    "Coupling",
    "Unit",
    "check_rate",
    "drawbar_loads",
    "rigid_loads",
    "semitrailer_loads",
]


@dataclass(frozen=True, slots=True)
class Unit:
    """Mass and geometry of one unit of a vehicle.

    Parameters
    ----------
    mass : float or array, [kg], 50 to 500 000
        Mass of the unit with its load.
    cg_height : float or array, [m], 0 to 5
        Height of the centre of gravity above the road.
    cg_distance : float or array, [m]
        Distance of the centre of gravity behind the front support: front axle group, or kingpin of a
        semitrailer.
    wheelbase : float or array, [m], more than 0
        Distance of the rear axle group behind the front support.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """

    mass: Number
    cg_height: Number
    cg_distance: Number
    wheelbase: Number

    def __post_init__(self) -> None:
        check_mass(self.mass, "mass of the unit")
        require("height of the centre of gravity", self.cg_height, 0.0, 5.0, unit="m")
        require_positive("wheelbase", self.wheelbase, unit="m")
        require("distance of the centre of gravity", self.cg_distance, -30.0, 30.0, unit="m")

    @property
    def weight(self) -> Number:
        """Weight of the unit, [N]."""
        return self.mass * GRAVITY


@dataclass(frozen=True, slots=True)
class Coupling:
    """Place of a coupling on the towing vehicle.

    Parameters
    ----------
    distance : float or array, [m], -5 to 30
        Distance behind the towing vehicle's front axle group.
    height : float or array, [m], 0 to 3
        Height above the road.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """

    distance: Number
    height: Number

    def __post_init__(self) -> None:
        require("distance of the coupling", self.distance, -5.0, 30.0, unit="m")
        require("height of the coupling", self.height, 0.0, 3.0, unit="m")


def check_rate(rate: Number) -> None:
    """Refuse a braking rate that tyres on a road cannot give.

    Parameters
    ----------
    rate : float or array, [1], 0 to 1.5
        Deceleration over gravity; NaN passes.

    Raises
    ------
    DomainError
        If it is negative or above 1.5.
    """
    require("braking rate", rate, 0.0, 1.5, unit="", cure="Give it as a fraction of gravity: 50 % is 0.5.")


def rigid_loads(unit: Unit, rate: Number) -> tuple[Number, Number]:
    """Return the loads of the front and rear axle groups of a vehicle alone.

    Parameters
    ----------
    unit : Unit
        The vehicle.
    rate : float or array, [1], 0 to 1.5
        Braking rate, deceleration over gravity.

    Returns
    -------
    front, rear : float or array, [N]
        Loads of the axle groups.

    Raises
    ------
    DomainError
        If the rate is outside its range.

    Notes
    -----
    N_r = W b / L - z W h / L, N_f = W - N_r. Statics.
    """
    check_rate(rate)
    rear = unit.weight * (unit.cg_distance - rate * unit.cg_height) / unit.wheelbase
    return unit.weight - rear, rear


def semitrailer_loads(
    tractor: Unit, trailer: Unit, coupling: Coupling, rate: Number, trailer_force: Number
) -> tuple[Number, Number, Number]:
    """Return the axle loads of a tractor with semitrailer.

    Parameters
    ----------
    tractor, trailer : Unit
        The two units; distances of the trailer count from its kingpin. A centre-axle trailer is the same
        with its eye as the kingpin.
    coupling : Coupling
        Fifth wheel or hitch on the tractor.
    rate : float or array, [1], 0 to 1.5
        Braking rate of the whole combination.
    trailer_force : float or array, [N], 0 or more
        Brake force of the trailer's own axles.

    Returns
    -------
    front, rear, trailer : float or array, [N]
        Loads of the tractor's front and rear and the trailer's axle group.

    Raises
    ------
    DomainError
        If rate or force is outside its range.

    Notes
    -----
    Moments of the trailer about the kingpin at height h_k: N_t L_2 = W_2 a_2 - z W_2 (h_2 - h_k) - F_t h_k.
    What the trailer's brakes do not hold, X = z W_2 - F_t, pushes the tractor at that height: N_r L_1 = W_1
    b_1 + V e - z W_1 h_1 - X h_k. Statics.
    """
    check_rate(rate)
    require("brake force of the trailer", trailer_force, 0.0, unit="N")
    push = rate * trailer.weight - trailer_force
    moment = trailer.weight * (trailer.cg_distance - rate * (trailer.cg_height - coupling.height))
    on_trailer = (moment - trailer_force * coupling.height) / trailer.wheelbase
    on_coupling = trailer.weight - on_trailer
    moment = tractor.weight * (tractor.cg_distance - rate * tractor.cg_height)
    rear = (moment + on_coupling * coupling.distance - push * coupling.height) / tractor.wheelbase
    return tractor.weight + on_coupling - rear, rear, on_trailer


def drawbar_loads(
    truck: Unit, trailer: Unit, drawbar_height: Number, rate: Number, trailer_force: Number
) -> tuple[Number, Number, Number, Number]:
    """Return the axle loads of a truck with a drawbar trailer on two axle groups.

    Parameters
    ----------
    truck, trailer : Unit
        The two units.
    drawbar_height : float or array, [m], 0 to 3
        Height of the hinged drawbar, which carries no vertical load.
    rate : float or array, [1], 0 to 1.5
        Braking rate of the whole combination.
    trailer_force : float or array, [N], 0 or more
        Brake force of the trailer's own axles.

    Returns
    -------
    front, rear, trailer_front, trailer_rear : float or array, [N]
        Loads of the four axle groups.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    X = z W_2 - F_t acts level at the drawbar: N_r L = W b - z W h + X h_d on the trailer, - X h_d on the
    truck. Statics.
    """
    check_rate(rate)
    require("brake force of the trailer", trailer_force, 0.0, unit="N")
    require("height of the drawbar", drawbar_height, 0.0, 3.0, unit="m")
    push = (rate * trailer.weight - trailer_force) * drawbar_height
    moment = trailer.weight * (trailer.cg_distance - rate * trailer.cg_height)
    trailer_rear = (moment + push) / trailer.wheelbase
    moment = truck.weight * (truck.cg_distance - rate * truck.cg_height)
    rear = (moment - push) / truck.wheelbase
    return truck.weight - rear, rear, trailer.weight - trailer_rear, trailer_rear
