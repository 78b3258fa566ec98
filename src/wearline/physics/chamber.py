"""Brake chamber: from air pressure to rod force, with threshold and the loss near the end of the stroke."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from wearline.physics.domain import require, require_positive
from wearline.physics.elementwise import larger, smaller

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = [
    "HIGHEST_PRESSURE",
    "SQUARE_INCH",
    "StrokeCurve",
    "area_of_type",
    "check_pressure",
    "ninety_percent_stroke",
    "rod_force",
    "stroke_factor",
]

SQUARE_INCH = 0.0254**2
"""[m2] Exact, from the inch of 25.4 mm."""

HIGHEST_PRESSURE = 1.2e6
"""[Pa] No air brake system of a road vehicle runs above 12 bar; more is a wrong unit."""


@dataclass(frozen=True, slots=True)
class StrokeCurve:
    """How the rod force falls toward the end of the chamber's stroke.

    Parameters
    ----------
    available : float or array, [m], more than 0, optional
        Stroke at which the diaphragm bottoms and the rod force is nothing. Generic 64 mm; the maker's value
        decides.
    knee_share : float or array, [1], 0 to below 1, optional
        Share of the stroke up to which the full area works. Generic 0.85: expert judgement.

    Raises
    ------
    DomainError
        If the stroke is not positive or the share outside 0 to 0.99.
    """

    available: Number = 0.064
    knee_share: Number = 0.85

    def __post_init__(self) -> None:
        require_positive("stroke of the chamber", self.available, unit="m")
        require("share of the stroke with full force", self.knee_share, 0.0, 0.99, unit="")

    @property
    def knee(self) -> Number:
        """Stroke up to which the full area works, [m]."""
        return self.available * self.knee_share


def area_of_type(type_number: Number) -> Number:
    """Return the effective area that a chamber's type number names.

    Parameters
    ----------
    type_number : float or array, [1], 6 to 50
        The number in 'Type 24': effective area in square inches.

    Returns
    -------
    float or array, [m2]
        Effective area.

    Raises
    ------
    DomainError
        If the number is outside 6 to 50.

    Notes
    -----
    Type N has N in^2: a Type 30 chamber at 100 psi gives 3 000 lbf (driver licence manual of a US state,
    air brake section; from a transcription, confirm).
    """
    require(
        "type number of the chamber",
        type_number,
        6.0,
        50.0,
        unit="",
        cure="Give the number on the chamber, 24 for 'Type 24'.",
    )
    return type_number * SQUARE_INCH


def check_pressure(pressure: Number) -> None:
    """Refuse a chamber pressure that no air brake has.

    Parameters
    ----------
    pressure : float or array, [Pa], 0 to 1.2e6
        Pressure above atmosphere; NaN passes.

    Raises
    ------
    DomainError
        If it is negative or above 12 bar.
    """
    cure = "Give the pressure with its unit: '95 psi' is 6.55 bar."
    require("air pressure", pressure, 0.0, HIGHEST_PRESSURE, unit="Pa", cure=cure)


def rod_force(pressure: Number, area: Number, threshold: Number = 0.0, efficiency: Number = 1.0) -> Number:
    """Return the force on the chamber's rod within the working stroke.

    Parameters
    ----------
    pressure : float or array, [Pa], 0 to 1.2e6
        Pressure in the chamber, above atmosphere.
    area : float or array, [m2], more than 0
        Effective area.
    threshold : float or array, [Pa], 0 or more, optional
        Pressure below which the pads do not bear: springs and friction.
    efficiency : float or array, [1], 0 to 1, optional
        Share of the force that reaches the rod.

    Returns
    -------
    float or array, [N]
        Rod force, zero below the threshold.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    F = eta_c A (p - p_0). Brakes that differ only in the threshold differ by a factor at light pressure and
    hardly at all in a full stop. Mechanics.
    """
    check_pressure(pressure)
    require_positive("area of the chamber", area, unit="m2")
    require("threshold pressure", threshold, 0.0, HIGHEST_PRESSURE, unit="Pa")
    require("efficiency of the chamber", efficiency, 0.0, 1.0, unit="")
    return efficiency * area * larger(pressure - threshold, 0.0)


def stroke_factor(stroke: Number, curve: StrokeCurve) -> Number:
    """Return the share of the rod force that is left at a stroke.

    Parameters
    ----------
    stroke : float or array, [m], 0 or more
        Rod stroke.
    curve : StrokeCurve
        Stroke of the chamber and its knee.

    Returns
    -------
    float or array, [1]
        1 up to the knee, falling to 0 where the diaphragm bottoms.

    Raises
    ------
    DomainError
        If the stroke is negative.

    Notes
    -----
    1 - x^2 with x the share of the way from the knee to the end. The shape is expert judgement; where a maker
    gives the stroke at which 90 % of the mean thrust is left, the knee follows from `ninety_percent_stroke`.
    """
    require("rod stroke", stroke, 0.0, unit="m")
    past = (stroke - curve.knee) / (curve.available - curve.knee)
    inside = smaller(larger(past, 0.0), 1.0)
    return 1.0 - inside * inside


def ninety_percent_stroke(curve: StrokeCurve) -> Number:
    """Return the stroke at which 90 % of the full thrust is left.

    Parameters
    ----------
    curve : StrokeCurve
        Stroke of the chamber and its knee.

    Returns
    -------
    float or array, [m]
        The effective stroke of the type-approval definition.

    Notes
    -----
    The stroke s_p of UN Regulation 13 Annex 19 and Directive 71/320/EEC Annex VII: thrust 90 % of the mean
    thrust between one third and two thirds of the stroke (from a transcription, confirm).
    """
    return curve.knee + math.sqrt(0.1) * (curve.available - curve.knee)
