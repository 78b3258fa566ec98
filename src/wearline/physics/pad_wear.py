"""Pad wear: specific wear times energy, faster when hot, and the life that a duty leaves.

Worn volume is proportional to friction energy; the factor grows steeply with temperature above about 150
degC, so that the hot tail of a duty does much of the wear. All numbers here are expert judgement, fitted so
that lives come out typical; readings of the fleet replace them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.errors import DomainError
from wearline.physics.domain import require, require_positive

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wearline.physics.domain import Number

__all__ = [
    "GENERIC_DUTIES",
    "DutyWear",
    "WearTemperature",
    "expected_life",
    "temperature_factor",
    "usable_volume",
    "wear_of_cycle",
    "wear_per_distance",
    "worn_volume",
]

ZERO_CELSIUS = 273.15
"""[K] Exact."""

PER_MEGAJOULE = 1e-15
"""[m3/J] One cubic millimetre per megajoule."""


@dataclass(frozen=True, slots=True)
class WearTemperature:
    """Factor on the specific wear over temperature, straight between nodes.

    The defaults are expert judgement: 1.0 up to 150 degC, 1.3 at 200, 1.8 at 250, 2.6 at 300, 3.6 at 350, 5
    at 400.

    Parameters
    ----------
    temperature : tuple of float, [K], rising, optional
        Nodes.
    factor : tuple of float, [1], more than 0, not falling, optional
        Factors at the nodes.

    Raises
    ------
    DomainError
        If the nodes do not rise, the factors fall, or their numbers differ.
    """

    temperature: tuple[float, ...] = (423.15, 473.15, 523.15, 573.15, 623.15, 673.15)
    factor: tuple[float, ...] = (1.0, 1.3, 1.8, 2.6, 3.6, 5.0)

    def __post_init__(self) -> None:
        if len(self.temperature) != len(self.factor) or len(self.factor) < 2:
            raise DomainError(
                f"{len(self.factor)} wear factors belong to {len(self.temperature)} temperatures",
                allowed="one factor for each of at least two temperatures",
                cure="Check the table.",
            )
        require_positive("step between two temperatures", np.diff(self.temperature), unit="K")
        require("rise of the wear factor", np.diff(self.factor), 0.0, unit="")
        require_positive("wear factor", np.asarray(self.factor), unit="")


@dataclass(frozen=True, slots=True)
class DutyWear:
    """What one kind of duty does to the pads of a brake.

    Parameters
    ----------
    name : str
        The duty.
    energy_per_distance : float, [J/m], more than 0
        Friction energy at one brake.
    specific_wear : float, [m3/J], more than 0
        Worn volume of both pads per energy, its temperature included.
    life_p10, life_p90 : float, [m], more than 0
        Lives that a tenth and nine tenths of the brakes do not reach.

    Raises
    ------
    DomainError
        If a value is not positive.
    """

    name: str
    energy_per_distance: float
    specific_wear: float
    life_p10: float
    life_p90: float

    def __post_init__(self) -> None:
        require_positive("energy per distance", self.energy_per_distance, unit="J/m")
        require_positive("specific wear", self.specific_wear, unit="m3/J")
        require_positive("tenth percentile of the life", self.life_p10, unit="m")
        require_positive("spread of the life", self.life_p90 - self.life_p10, unit="m")


GENERIC_DUTIES = (
    DutyWear("line haul, engine brake", 35.0, 20 * PER_MEGAJOULE, 400e6, 1200e6),
    DutyWear("coach, retarder", 70.0, 21 * PER_MEGAJOULE, 220e6, 600e6),
    DutyWear("regional", 90.0, 22 * PER_MEGAJOULE, 150e6, 450e6),
    DutyWear("mountain, good retarder", 80.0, 23 * PER_MEGAJOULE, 150e6, 450e6),
    DutyWear("mountain, no retarder", 220.0, 34 * PER_MEGAJOULE, 40e6, 130e6),
    DutyWear("tipper, mixed off-road", 220.0, 30 * PER_MEGAJOULE, 45e6, 150e6),
    DutyWear("city bus, retarder", 280.0, 24 * PER_MEGAJOULE, 55e6, 130e6),
    DutyWear("city bus, no retarder", 550.0, 28 * PER_MEGAJOULE, 25e6, 60e6),
    DutyWear("refuse collection", 450.0, 35 * PER_MEGAJOULE, 22e6, 60e6),
)
"""Generic duties of a 22.5-inch brake (expert judgement; fleet readings replace them).

A bus with strong recuperation is left out: corrosion, not friction energy, decides there.
"""


def temperature_factor(temperature: Number, curve: WearTemperature) -> Number:
    """Return the factor on the specific wear at a temperature.

    Parameters
    ----------
    temperature : float or array, [K], 150 to 1500
        Temperature of the friction surface.
    curve : WearTemperature
        Factor over temperature.

    Returns
    -------
    float or array, [1]
        Constant below the first node, straight between nodes, beyond the last one growing by the same ratio
        per kelvin as between the last two.

    Raises
    ------
    DomainError
        If the temperature is outside its range.
    """
    require("temperature", temperature, 150.0, 1500.0, unit="K", cure="Give kelvin: 200 degC is 473.15 K.")
    nodes, factors = curve.temperature, curve.factor
    growth = np.log(factors[-1] / factors[-2]) / (nodes[-1] - nodes[-2])
    beyond = np.maximum(np.asarray(temperature, dtype=float) - nodes[-1], 0.0)
    factor: Number = (np.interp(temperature, nodes, factors) * np.exp(growth * beyond))[()]
    return factor


def worn_volume(energy: Number, specific_wear: Number, factor: Number = 1.0) -> Number:
    """Return the volume that both pads of a brake lose.

    Parameters
    ----------
    energy : float or array, [J], 0 or more
        Friction energy at the brake.
    specific_wear : float or array, [m3/J], 0 or more
        Worn volume per energy of a warm brake.
    factor : float or array, [1], 0 or more, optional
        Factor of temperature.

    Returns
    -------
    float or array, [m3]
        Volume.

    Raises
    ------
    DomainError
        If a value is negative.
    """
    require("friction energy", energy, 0.0, unit="J")
    require("specific wear", specific_wear, 0.0, 1e-9, unit="m3/J", cure="25 mm3/MJ is 2.5e-14 m3/J.")
    require("wear factor", factor, 0.0, unit="")
    return energy * specific_wear * factor


def wear_of_cycle(
    energy: NDArray[np.float64],
    temperature: NDArray[np.float64],
    *,
    specific_wear: Number,
    pad_area: Number,
    curve: WearTemperature,
) -> Number:
    """Return the friction thickness that one pad loses over a duty cycle.

    Parameters
    ----------
    energy : array, (steps,) or (steps, wheel ends), [J], 0 or more
        Friction energy at the brake in each step.
    temperature : array, of the same shape, [K]
        Temperature of the friction face in each step, from `rotor_heat` for instance.
    specific_wear : float or array, (wheel ends,), [m3/J], 0 or more
        Worn volume of both pads per energy of a warm brake.
    pad_area : float or array, (wheel ends,), [m2], more than 0
        Friction area of one pad.
    curve : WearTemperature
        Factor over temperature.

    Returns
    -------
    float or array, (wheel ends,), [m]
        Mean wear of one pad.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    sum k f(T_i) E_i / (2 A), both pads alike.
    """
    require_positive("friction area of one pad", pad_area, unit="m2")
    volume = worn_volume(energy, specific_wear, temperature_factor(temperature, curve))
    wear: Number = np.sum(np.asarray(volume), axis=0) / (2.0 * pad_area)
    return wear


def usable_volume(pad_area: Number, usable_thickness: Number) -> Number:
    """Return the friction volume of both pads down to their limit.

    Parameters
    ----------
    pad_area : float or array, [m2], more than 0
        Friction area of one pad.
    usable_thickness : float or array, [m], 0 to 0.1
        Friction between the present thickness and the limit.

    Returns
    -------
    float or array, [m3]
        Volume.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """
    require_positive("friction area of one pad", pad_area, unit="m2")
    require("usable thickness", usable_thickness, 0.0, 0.1, unit="m", cure="Was it given in millimetres?")
    return 2.0 * pad_area * usable_thickness


def expected_life(volume: Number, specific_wear: Number, energy_per_distance: Number) -> Number:
    """Return the distance that a friction volume lasts.

    Parameters
    ----------
    volume : float or array, [m3], 0 or more
        Usable friction volume of both pads.
    specific_wear : float or array, [m3/J], more than 0
        Worn volume per energy, its temperature included.
    energy_per_distance : float or array, [J/m], more than 0
        Friction energy at the brake.

    Returns
    -------
    float or array, [m]
        Mean life; single brakes differ from it by a third or more.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    V / (k e). Derived; k and e are expert judgement.
    """
    require("usable friction volume", volume, 0.0, 0.1, unit="m3")
    require_positive("specific wear", specific_wear, unit="m3/J")
    require_positive("energy per distance", energy_per_distance, unit="J/m")
    return volume / (specific_wear * energy_per_distance)


def wear_per_distance(specific_wear: Number, energy_per_distance: Number, pad_area: Number) -> Number:
    """Return the wear of one pad per distance.

    Parameters
    ----------
    specific_wear : float or array, [m3/J], 0 or more
        Worn volume of both pads per energy.
    energy_per_distance : float or array, [J/m], 0 or more
        Friction energy at the brake.
    pad_area : float or array, [m2], more than 0
        Friction area of one pad.

    Returns
    -------
    float or array, [m/m]
        Mean wear of one pad per distance run.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    k e / (2 A), both pads alike.
    """
    require_positive("friction area of one pad", pad_area, unit="m2")
    return worn_volume(energy_per_distance, specific_wear) / (2.0 * pad_area)
