"""Cooling of a rotor: convection that grows with its speed, the share of the vanes, radiation.

The one measurement behind the numbers is of a vented car rotor (McPhee and Johnson, Int. J. Thermal
Sciences 47 (2008) 458-467, abstract; from a transcription, confirm). Its use for a larger rotor is expert
judgement: a cooling curve of the rotor itself is better wherever one exists.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.physics.domain import check_speed, require, require_positive

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = [
    "STEFAN_BOLTZMANN",
    "Convection",
    "convection_coefficient",
    "radiated_flux",
    "rotation_rate",
    "vane_coefficient",
    "vane_share",
]

STEFAN_BOLTZMANN = 5.670374419e-8
"""[W/(m2 K4)] Exact in the SI of 2019 (CODATA 2018)."""

RPM = 2.0 * math.pi / 60.0
"""[rad/s] One turn a minute."""

VANE_RATES = (342.0 * RPM, 1025.0 * RPM)
"""[rad/s] Speeds of the measurement between which the share of the vanes was found."""

VANE_SHARES = (0.455, 0.554)
"""[1] Share of the vanes in the heat given off at those speeds."""


@dataclass(frozen=True, slots=True)
class Convection:
    """Convection coefficient of a rotor as a straight line over its rotation.

    Parameters
    ----------
    at_rest : float or array, [W/(m2 K)], 0 or more, optional
        Free convection of the standing rotor; 8 is expert judgement.
    per_rate : float or array, [W s/(m2 K rad)], 0 or more, optional
        Growth with the rotation: 0.73, the mean of 27.0, 52.7 and 78.3 W/(m2 K) at 342, 684 and 1025 rpm over
        those speeds (McPhee and Johnson 2008, from a transcription, confirm).

    Raises
    ------
    DomainError
        If a value is negative.
    """

    at_rest: Number = 8.0
    per_rate: Number = 0.7333

    def __post_init__(self) -> None:
        require("free convection", self.at_rest, 0.0, 1e4, unit="W/(m2 K)")
        require("growth of the convection", self.per_rate, 0.0, 1e3, unit="W s/(m2 K rad)")


def rotation_rate(speed: Number, tyre_radius: Number) -> Number:
    """Return the rotation of a wheel.

    Parameters
    ----------
    speed : float or array, [m/s], 0 to 60
        Road speed.
    tyre_radius : float or array, [m], 0.2 to 1
        Radius of the rolling tyre.

    Returns
    -------
    float or array, [rad/s]
        Rotation.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """
    check_speed(speed)
    require("radius of the tyre", tyre_radius, 0.2, 1.0, unit="m", cure="Give the rolling radius in metres.")
    return speed / tyre_radius


def convection_coefficient(rate: Number, convection: Convection) -> Number:
    """Return the convection coefficient of the rotor's surface.

    Parameters
    ----------
    rate : float or array, [rad/s], 0 to 300
        Rotation of the wheel.
    convection : Convection
        Coefficients of the straight line.

    Returns
    -------
    float or array, [W/(m2 K)]
        Coefficient.

    Raises
    ------
    DomainError
        If the rotation is outside its range.

    Notes
    -----
    h = h_0 + b omega; measured values are linear in speed within 3.3 %.
    """
    require("rotation of the wheel", rate, 0.0, 300.0, unit="rad/s")
    return convection.at_rest + convection.per_rate * rate


def vane_share(rate: Number) -> Number:
    """Return the share of the given-off heat that leaves through the vanes.

    Parameters
    ----------
    rate : float or array, [rad/s], 0 to 300
        Rotation of the wheel.

    Returns
    -------
    float or array, [1]
        45.5 % at 342 rpm to 55.4 % at 1025 rpm, straight between, constant outside.

    Raises
    ------
    DomainError
        If the rotation is outside its range.

    Notes
    -----
    McPhee and Johnson 2008, abstract (from a transcription, confirm).
    """
    require("rotation of the wheel", rate, 0.0, 300.0, unit="rad/s")
    share: Number = np.interp(rate, VANE_RATES, VANE_SHARES)
    return share


def vane_coefficient(face_coefficient: Number, share: Number, face_over_vane_area: Number) -> Number:
    """Return the convection coefficient of the vanes that gives them their share.

    Parameters
    ----------
    face_coefficient : float or array, [W/(m2 K)], 0 or more
        Coefficient of the friction faces.
    share : float or array, [1], 0 to 0.9
        Share of the heat that leaves through the vanes.
    face_over_vane_area : float or array, [1], more than 0
        Area of the friction faces over that of the vane passages; 1 refers the coefficient to the slab's
        own face.

    Returns
    -------
    float or array, [W/(m2 K)]
        Coefficient.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    h_v A_v / (h_v A_v + h_f A_f) = share, faces and vanes equally warm. Derived.
    """
    require("convection coefficient", face_coefficient, 0.0, unit="W/(m2 K)")
    require("share of the vanes", share, 0.0, 0.9, unit="")
    require_positive("area of faces over area of vanes", face_over_vane_area, unit="")
    return face_coefficient * share / (1.0 - share) * face_over_vane_area


def radiated_flux(surface: Number, ambient: Number, emissivity: Number) -> Number:
    """Return the heat flux that a surface radiates to its surroundings.

    Parameters
    ----------
    surface, ambient : float or array, [K], 0 to 2000
        Absolute temperatures.
    emissivity : float or array, [1], 0 to 1
        About 0.2 for bright iron, 0.5 to 0.7 rusty, over 0.8 dull (thermometer manuals, from memory,
        unverified).

    Returns
    -------
    float or array, [W/m2]
        Net flux away from the surface.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    eps sigma (T^4 - T_a^4), Stefan and Boltzmann.
    """
    for name, value in (("surface temperature", surface), ("ambient temperature", ambient)):
        require(name, value, 0.0, 2000.0, unit="K", cure="Give kelvin: 20 degC is 293.15 K.")
    require("emissivity", emissivity, 0.0, 1.0, unit="")
    return emissivity * STEFAN_BOLTZMANN * (surface**4 - ambient**4)
