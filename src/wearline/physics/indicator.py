"""What a wear indicator sees, and what its reading implies.

A slide-type indicator shows how far the calliper has moved inboard on its pins: it sees the outer pad and
the outer rotor face, and only while the calliper slides. A tappet-type indicator (turns of the adjuster)
sees both pads and the whole rotor. Neither sees the inner pad alone. Geometry, status: derived; the full
scale is the maker's value.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wearline.physics.domain import require, require_positive

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = [
    "IndicatorScale",
    "friction_from_slide_reading",
    "mean_friction_from_tappet_reading",
    "slide_reading",
    "slide_travel",
    "tappet_reading",
    "tappet_travel",
    "u_friction_from_slide_reading",
]

THICKEST = 0.2
"""[m] No pad or rotor of a road vehicle is thicker."""

GREATEST_READING = 1.5
"""[1] A reading further beyond the scale is a slip of the pen, 85 for 0.85 for instance."""


@dataclass(frozen=True, slots=True)
class IndicatorScale:
    """New dimensions and full scale of one brake's wear indicator.

    Parameters
    ----------
    friction_new : float or array, [m], more than 0
        Friction of one new pad, without its plate.
    rotor_new : float or array, [m], more than 0
        Thickness of the new rotor.
    full_scale : float or array, [m], more than 0
        Travel that the indicator calls 100 %. Maker's value.

    Raises
    ------
    DomainError
        If a dimension is not positive or above 0.2 m.
    """

    friction_new: Number
    rotor_new: Number
    full_scale: Number

    def __post_init__(self) -> None:
        for name, value in (
            ("friction of the new pad", self.friction_new),
            ("thickness of the new rotor", self.rotor_new),
            ("full scale of the indicator", self.full_scale),
        ):
            require_positive(name, value, unit="m")
            require(name, value, 0.0, THICKEST, unit="m", cure="Was it given in millimetres?")


def slide_travel(scale: IndicatorScale, friction_outer: Number, rotor: Number) -> Number:
    """Return how far wear has let the calliper slide inboard.

    Parameters
    ----------
    scale : IndicatorScale
        New dimensions of the brake.
    friction_outer : float or array, [m], 0 to 0.2
        Mean friction left on the outer pad.
    rotor : float or array, [m], 0 to 0.2
        Present rotor thickness.

    Returns
    -------
    float or array, [m]
        Travel; negative when a thicker rotor or pad than new is fitted.

    Raises
    ------
    DomainError
        If a thickness is negative or above 0.2 m.

    Notes
    -----
    u = (h_new - h_out) + (w_new - w) / 2, both rotor faces wearing alike. Derived.
    """
    _check_thicknesses(friction_outer, rotor)
    return (scale.friction_new - friction_outer) + 0.5 * (scale.rotor_new - rotor)


def slide_reading(scale: IndicatorScale, friction_outer: Number, rotor: Number) -> Number:
    """Return the reading of a slide-type indicator.

    Parameters
    ----------
    scale : IndicatorScale
        New dimensions and full scale of the brake.
    friction_outer : float or array, [m], 0 to 0.2
        Mean friction left on the outer pad.
    rotor : float or array, [m], 0 to 0.2
        Present rotor thickness.

    Returns
    -------
    float or array, [1]
        Share of the full scale; 1 is 100 %.

    Raises
    ------
    DomainError
        If a thickness is negative or above 0.2 m.

    Notes
    -----
    u / S. New pads on a worn rotor do not start at zero. Derived.
    """
    return slide_travel(scale, friction_outer, rotor) / scale.full_scale


def friction_from_slide_reading(scale: IndicatorScale, reading: Number, rotor: Number) -> Number:
    """Return the outer pad's friction that a slide-type reading implies, if the calliper slides.

    Parameters
    ----------
    scale : IndicatorScale
        New dimensions and full scale of the brake.
    reading : float or array, [1], -1.5 to 1.5
        Share of the full scale.
    rotor : float or array, [m], 0 to 0.2
        Present rotor thickness.

    Returns
    -------
    float or array, [m]
        Friction left on the outer pad; more than new or less than nothing shows that reading, zero or rotor
        do not fit together.

    Raises
    ------
    DomainError
        If the rotor thickness or the reading is outside its range.

    Notes
    -----
    h_out = h_new + (w_new - w) / 2 - S * reading. Derived. It says nothing of the inner pad.
    """
    require("rotor thickness", rotor, 0.0, THICKEST, unit="m", cure="Was it given in millimetres?")
    _check_reading(reading)
    return scale.friction_new + 0.5 * (scale.rotor_new - rotor) - scale.full_scale * reading


def u_friction_from_slide_reading(scale: IndicatorScale, *, u_reading: Number, u_rotor: Number) -> Number:
    """Return the standard uncertainty of the friction that a slide-type reading implies.

    Parameters
    ----------
    scale : IndicatorScale
        Full scale of the brake.
    u_reading : float or array, [1], 0 or more
        Standard uncertainty of the reading.
    u_rotor : float or array, [m], 0 or more
        Standard uncertainty of the rotor thickness.

    Returns
    -------
    float or array, [m]
        Standard uncertainty.

    Raises
    ------
    DomainError
        If an uncertainty is negative.

    Notes
    -----
    u^2 = (S u_reading)^2 + (u_w / 2)^2, inputs independent, new dimensions taken as exact.
    """
    require("standard uncertainty of the reading", u_reading, 0.0, unit="")
    require("standard uncertainty of the rotor thickness", u_rotor, 0.0, unit="m")
    return ((scale.full_scale * u_reading) ** 2 + (0.5 * u_rotor) ** 2) ** 0.5


def tappet_travel(
    scale: IndicatorScale, friction_inner: Number, friction_outer: Number, rotor: Number
) -> Number:
    """Return how far the tappets have been screwed out to follow all wear.

    Parameters
    ----------
    scale : IndicatorScale
        New dimensions of the brake.
    friction_inner, friction_outer : float or array, [m], 0 to 0.2
        Mean friction left on the two pads.
    rotor : float or array, [m], 0 to 0.2
        Present rotor thickness.

    Returns
    -------
    float or array, [m]
        Travel of the tappets.

    Raises
    ------
    DomainError
        If a thickness is negative or above 0.2 m.

    Notes
    -----
    u' = wear of the inner pad + wear of the outer pad + wear of the whole rotor. Derived.
    """
    _check_thicknesses(friction_outer, rotor)
    require("friction of the inner pad", friction_inner, 0.0, THICKEST, unit="m")
    return 2.0 * scale.friction_new - friction_inner - friction_outer + scale.rotor_new - rotor


def tappet_reading(
    scale: IndicatorScale, friction_inner: Number, friction_outer: Number, rotor: Number
) -> Number:
    """Return the reading of a tappet-type indicator.

    Parameters
    ----------
    scale : IndicatorScale
        New dimensions and full scale of the brake; the full scale here spans both pads and the rotor.
    friction_inner, friction_outer : float or array, [m], 0 to 0.2
        Mean friction left on the two pads.
    rotor : float or array, [m], 0 to 0.2
        Present rotor thickness.

    Returns
    -------
    float or array, [1]
        Share of the full scale; 1 is 100 %.

    Raises
    ------
    DomainError
        If a thickness is negative or above 0.2 m.

    Notes
    -----
    u' / S. Derived.
    """
    return tappet_travel(scale, friction_inner, friction_outer, rotor) / scale.full_scale


def mean_friction_from_tappet_reading(scale: IndicatorScale, reading: Number, rotor: Number) -> Number:
    """Return the mean friction of the two pads that a tappet-type reading implies.

    Parameters
    ----------
    scale : IndicatorScale
        New dimensions and full scale of the brake.
    reading : float or array, [1], -1.5 to 1.5
        Share of the full scale.
    rotor : float or array, [m], 0 to 0.2
        Present rotor thickness.

    Returns
    -------
    float or array, [m]
        Mean of inner and outer friction. One pad may be at metal while the mean looks healthy.

    Raises
    ------
    DomainError
        If the rotor thickness or the reading is outside its range.

    Notes
    -----
    (h_in + h_out) / 2 = h_new - (S * reading - (w_new - w)) / 2. Derived.
    """
    require("rotor thickness", rotor, 0.0, THICKEST, unit="m", cure="Was it given in millimetres?")
    _check_reading(reading)
    return scale.friction_new - 0.5 * (scale.full_scale * reading - (scale.rotor_new - rotor))


def _check_thicknesses(friction_outer: Number, rotor: Number) -> None:
    cure = "Was it given in millimetres?"
    require("friction of the outer pad", friction_outer, 0.0, THICKEST, unit="m", cure=cure)
    require("rotor thickness", rotor, 0.0, THICKEST, unit="m", cure=cure)


def _check_reading(reading: Number) -> None:
    cure = "Give the share of the full scale: 0.75 for 75 %."
    require("reading of the indicator", reading, -GREATEST_READING, GREATEST_READING, unit="", cure=cure)
