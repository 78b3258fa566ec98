"""Thermal materials and how friction heat divides between rotor and pad."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from wearline.physics.domain import require, require_positive

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = ["GREY_IRON", "ORGANIC_PAD", "Material", "ring_area", "rotor_heat_share"]


@dataclass(frozen=True, slots=True)
class Material:
    """Heat conduction and storage of a material, taken as constant.

    Parameters
    ----------
    conductivity : float or array, [W/(m K)], more than 0
        Heat conductivity.
    density : float or array, [kg/m3], more than 0
        Density.
    specific_heat : float or array, [J/(kg K)], more than 0
        Specific heat.

    Raises
    ------
    DomainError
        If a value is not positive.
    """

    conductivity: Number
    density: Number
    specific_heat: Number

    def __post_init__(self) -> None:
        require_positive("heat conductivity", self.conductivity, unit="W/(m K)")
        require_positive("density", self.density, unit="kg/m3")
        require_positive("specific heat", self.specific_heat, unit="J/(kg K)")

    @property
    def heat_capacity(self) -> Number:
        """Heat capacity of a volume, [J/(m3 K)]."""
        return self.density * self.specific_heat

    @property
    def diffusivity(self) -> Number:
        """Conductivity over heat capacity, [m2/s]."""
        return self.conductivity / self.heat_capacity

    @property
    def effusivity(self) -> Number:
        """Square root of conductivity times heat capacity, [J/(m2 K s^0.5)]."""
        root: Number = (self.conductivity * self.heat_capacity) ** 0.5
        return root


GREY_IRON = Material(50.0, 7200.0, 460.0)
"""Grey cast iron of rotors (handbook values, from memory, unverified)."""

ORGANIC_PAD = Material(2.0, 2500.0, 1000.0)
"""Resin-bound friction material (expert judgement; the maker's values decide)."""


def rotor_heat_share(rotor: Material, pad: Material, contact_ratio: Number = 1.0) -> Number:
    """Return the share of the friction heat that goes into the rotor.

    Parameters
    ----------
    rotor, pad : Material
        The two materials.
    contact_ratio : float or array, [1], more than 0 to 1, optional
        Friction area of the pads over the ring area that passes under them.

    Returns
    -------
    float or array, [1]
        The rest goes into the pads.

    Raises
    ------
    DomainError
        If the ratio is outside its range.

    Notes
    -----
    1 / (1 + ratio e_pad / e_rotor), e the effusivities: two half-spaces at one contact temperature, the
    rotor's heat spread over the whole ring. Classical (textbooks on brake design, from memory, unverified);
    0.9 is a usual round figure.
    """
    require_positive("ratio of pad area to ring area", contact_ratio, unit="")
    require("ratio of pad area to ring area", contact_ratio, 0.0, 1.0, unit="")
    return 1.0 / (1.0 + contact_ratio * pad.effusivity / rotor.effusivity)


def ring_area(inner: Number, outer: Number) -> Number:
    """Return the area of one friction face of a rotor.

    Parameters
    ----------
    inner, outer : float or array, [m], more than 0, outer above inner
        Radii of the face.

    Returns
    -------
    float or array, [m2]
        Area of one face.

    Raises
    ------
    DomainError
        If a radius is not positive or the outer not greater than the inner.
    """
    require_positive("inner radius", inner, unit="m")
    require_positive("outer radius less inner radius", outer - inner, unit="m")
    return math.pi * (outer**2 - inner**2)
