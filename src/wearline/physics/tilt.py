"""Geometry of a tilted calliper: guide clearance, play at the bridge, and the wedge worn into the pads.

A pin of the carrier runs in two lands of the calliper, a span apart. The lands let the calliper tilt
until they touch; a dial further out reads that tilt magnified, and worn pads keep it as a wedge. All
relations are plane geometry for small angles (status: derived); the generic dimensions are expert
judgement and come in as arguments.

Frame of one wheel end: a axial (positive outboard), r radial (positive outward), t tangential (positive
the way the rotor moves driving forward). Yaw turns about r, pitch about t, roll about a.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from wearline.physics.domain import require, require_positive
from wearline.physics.elementwise import magnitude
from wearline.physics.guide_pins import (
    GuidePins,
    greatest_pitch,
    greatest_roll,
    greatest_tilt,
    greatest_yaw,
    magnification,
    pitch_and_roll,
    play_at_plane,
    radial_play_at_bridge,
    tilt_from_play,
)

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = [
    "GuidePins",
    "antisymmetric_taper",
    "excess_taper",
    "excess_taper_uncertainty",
    "explained_taper",
    "greatest_pitch",
    "greatest_roll",
    "greatest_tilt",
    "greatest_yaw",
    "magnification",
    "pad_end_movement",
    "pitch_and_roll",
    "play_at_plane",
    "radial_play_at_bridge",
    "rubbing_play",
    "rubbing_tilt",
    "symmetric_taper",
    "tapers_from_tilt",
    "tilt_from_play",
    "wear_until_wedge_fits",
    "wedge",
]

DISTANCE_RELATIVE_UNCERTAINTY = 0.05
"""Relative standard uncertainty of the distance from the span's middle to the dial (expert judgement)."""


def wedge(tilt: Number, length: Number) -> Number:
    """Return the wedge that a tilt leaves over a length of pad.

    Parameters
    ----------
    tilt : float or array, [rad]
        Tilt of the calliper against the rotor.
    length : float or array, [m], 0 or more
        Length (end to end) or height (top to bottom) of the pad.

    Returns
    -------
    float or array, [m]
        Thickness difference over that length, with the sign of the tilt.

    Raises
    ------
    DomainError
        If the length is negative.

    Notes
    -----
    theta L, small angles. Derived.
    """
    require("length of the pad", length, 0.0, unit="m")
    return tilt * length


def tapers_from_tilt(tilt: Number, measuring_length: Number) -> tuple[Number, Number]:
    """Return the taper that a steady tilt wears into the outer and the inner pad.

    Parameters
    ----------
    tilt : float or array, [rad]
        Yaw (end-to-end taper) or pitch (top-to-bottom taper), positive when the outer gap widens toward
        the trailing end or the top.
    measuring_length : float or array, [m], 0 or more
        Distance between the two measuring points on the pad.

    Returns
    -------
    outer, inner : float or array, [m]
        Leading minus trailing (or bottom minus top) thickness of the outer and the inner pad.

    Raises
    ------
    DomainError
        If the measuring length is negative.

    Notes
    -----
    The gap outside widens by theta t and the gap inside narrows by as much, so the tapers are equal and
    opposite: -theta L outside, +theta L inside. Derived.
    """
    difference = wedge(tilt, measuring_length)
    return -difference, difference


def antisymmetric_taper(outer: Number, inner: Number) -> Number:
    """Return the part of two pads' taper that a tilted calliper makes.

    Parameters
    ----------
    outer, inner : float or array, [m]
        Taper of the outer and the inner pad, same sign rule for both.

    Returns
    -------
    float or array, [m]
        Half the difference, outer less inner.

    Notes
    -----
    Ta = (Te_out - Te_in) / 2. Tilt makes only this part. Derived.
    """
    return 0.5 * (outer - inner)


def symmetric_taper(outer: Number, inner: Number) -> Number:
    """Return the part of two pads' taper that tilt cannot make.

    Parameters
    ----------
    outer, inner : float or array, [m]
        Taper of the outer and the inner pad, same sign rule for both.

    Returns
    -------
    float or array, [m]
        Half the sum.

    Notes
    -----
    Ts = (Te_out + Te_in) / 2: friction moment, opening of the calliper, pads hung up. Derived.
    """
    return 0.5 * (outer + inner)


def explained_taper(play: Number, measuring_length: Number, distance: Number) -> Number:
    """Return the taper of one pad that the measured play explains.

    Parameters
    ----------
    play : float or array, [m], 0 or more
        Play from stop to stop, dial outside the lands.
    measuring_length : float or array, [m], 0 or more
        Distance between the two measuring points on the pad.
    distance : float or array, [m], more than 0
        Axial distance of the dial from the middle of the lands.

    Returns
    -------
    float or array, [m]
        Greatest antisymmetric taper that this play allows.

    Raises
    ------
    DomainError
        If play or measuring length is negative or the distance not positive.

    Notes
    -----
    T_exp = P L_m / (2 A). With L_m near 2 A the numbers for play and end-to-end taper are alike; for the
    radial pair they are not. Derived.
    """
    return wedge(tilt_from_play(play, distance), measuring_length)


def excess_taper(antisymmetric: Number, play: Number, measuring_length: Number, distance: Number) -> Number:
    """Return how much more taper there is than the play explains.

    Parameters
    ----------
    antisymmetric : float or array, [m]
        Antisymmetric taper of the two pads, either sign.
    play : float or array, [m], 0 or more
        Play from stop to stop, dial outside the lands.
    measuring_length : float or array, [m], 0 or more
        Distance between the two measuring points on the pad.
    distance : float or array, [m], more than 0
        Axial distance of the dial from the middle of the lands.

    Returns
    -------
    float or array, [m]
        Positive: wedge greater than play can make. Negative: play without its wedge yet.

    Raises
    ------
    DomainError
        If play or measuring length is negative or the distance not positive.

    Notes
    -----
    X = |Ta| - P L_m / (2 A). Pads remember: taper is the sum over their life, play is of today. Derived.
    """
    return magnitude(antisymmetric) - explained_taper(play, measuring_length, distance)


def excess_taper_uncertainty(
    play: Number,
    measuring_length: Number,
    distance: Number,
    *,
    u_taper: Number,
    u_play: Number,
    relative_u_distance: Number = DISTANCE_RELATIVE_UNCERTAINTY,
) -> Number:
    """Return the standard uncertainty of the excess taper.

    Parameters
    ----------
    play : float or array, [m], 0 or more
        Play from stop to stop, dial outside the lands.
    measuring_length : float or array, [m], 0 or more
        Distance between the two measuring points on the pad.
    distance : float or array, [m], more than 0
        Axial distance of the dial from the middle of the lands.
    u_taper : float or array, [m], 0 or more
        Standard uncertainty of the antisymmetric taper.
    u_play : float or array, [m], 0 or more
        Standard uncertainty of the play.
    relative_u_distance : float or array, [1], 0 or more, optional
        Relative standard uncertainty of the distance, 0.05 (expert judgement).

    Returns
    -------
    float or array, [m]
        Standard uncertainty.

    Raises
    ------
    DomainError
        If any argument is negative or the distance zero.

    Notes
    -----
    u_X^2 = u_Ta^2 + (L_m / 2A)^2 u_P^2 + (r_A T_exp)^2, first order, inputs independent.
    """
    require("standard uncertainty of the taper", u_taper, 0.0, unit="m")
    require("standard uncertainty of the play", u_play, 0.0, unit="m")
    require("relative standard uncertainty of the distance", relative_u_distance, 0.0, unit="")
    explained = explained_taper(play, measuring_length, distance)
    ratio = measuring_length / (2.0 * distance)
    return (u_taper**2 + (ratio * u_play) ** 2 + (relative_u_distance * explained) ** 2) ** 0.5


def pad_end_movement(tilt: Number, pad_length: Number) -> Number:
    """Return how far the ends of a pad move toward or away from the rotor when the calliper tilts.

    Parameters
    ----------
    tilt : float or array, [rad]
        Tilt of the calliper.
    pad_length : float or array, [m], 0 or more
        Length of the pad.

    Returns
    -------
    float or array, [m]
        Movement of the pad's end against its middle.

    Raises
    ------
    DomainError
        If the pad length is negative.

    Notes
    -----
    theta L / 2. Derived.
    """
    return 0.5 * wedge(tilt, pad_length)


def rubbing_tilt(clearance_per_side: Number, pad_length: Number) -> Number:
    """Return the tilt from which square new pads touch the rotor with the brake released.

    Parameters
    ----------
    clearance_per_side : float or array, [m], 0 or more
        Running clearance on one side of the rotor.
    pad_length : float or array, [m], more than 0
        Length of the pad.

    Returns
    -------
    float or array, [rad]
        Tilt at which the pad's end just touches.

    Raises
    ------
    DomainError
        If the clearance is negative or the pad length not positive.

    Notes
    -----
    theta L / 2 = clearance per side. Derived.
    """
    require("running clearance per side", clearance_per_side, 0.0, unit="m")
    require_positive("length of the pad", pad_length, unit="m")
    return 2.0 * clearance_per_side / pad_length


def rubbing_play(clearance_per_side: Number, pad_length: Number, distance: Number) -> Number:
    """Return the play from which square new pads rub at one end.

    Parameters
    ----------
    clearance_per_side : float or array, [m], 0 or more
        Running clearance on one side of the rotor.
    pad_length : float or array, [m], more than 0
        Length of the pad.
    distance : float or array, [m], more than 0
        Axial distance of the dial from the middle of the lands.

    Returns
    -------
    float or array, [m]
        Play from stop to stop, dial outside the lands.

    Raises
    ------
    DomainError
        If the clearance is negative or a length not positive.

    Notes
    -----
    P = 2 A (2 clearance / L): with generic dimensions about half of the usual play limit. Derived.
    """
    require_positive("distance of the dial from the middle of the lands", distance, unit="m")
    return 2.0 * distance * rubbing_tilt(clearance_per_side, pad_length)


def wear_until_wedge_fits(tilt: Number, pad_length: Number) -> tuple[Number, Number]:
    """Return the mean wear that square new pads need before they have become the wedge of a tilt.

    Parameters
    ----------
    tilt : float or array, [rad], 0 or more
        Tilt of the calliper.
    pad_length : float or array, [m], 0 or more
        Length of the pad.

    Returns
    -------
    least, most : float or array, [m]
        Range of the mean wear.

    Raises
    ------
    DomainError
        If tilt or pad length is negative.

    Notes
    -----
    theta L / 4 to theta L / 2. Derived.
    """
    require("tilt of the calliper", tilt, 0.0, unit="rad")
    difference = wedge(tilt, pad_length)
    return 0.25 * difference, 0.5 * difference
