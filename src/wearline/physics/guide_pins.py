"""Guide pins: how far clearance lets a calliper tilt, and how a dial shows it.

A pin runs in two lands of the calliper, a span apart. The lands let the calliper tilt until they touch, and
a dial further out reads that tilt magnified. Of the two pins the long one locates the calliper; the short
one has a short bushing, round or oval, that lets heat spread move it. Plane geometry for small angles,
status: derived. Frame as in `tilt`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wearline.physics.domain import require, require_positive
from wearline.physics.elementwise import larger, smaller

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = [
    "GuidePins",
    "greatest_pitch",
    "greatest_roll",
    "greatest_tilt",
    "greatest_yaw",
    "magnification",
    "pitch_and_roll",
    "play_at_plane",
    "radial_play_at_bridge",
    "tilt_from_play",
]


def greatest_tilt(clearance: Number, span: Number) -> Number:
    """Return the greatest tilt each way of a pin in two lands.

    Parameters
    ----------
    clearance : float or array, [m], 0 or more
        Diametral clearance between pin and lands.
    span : float or array, [m], more than 0
        Axial distance of the outer ends of the lands.

    Returns
    -------
    float or array, [rad]
        Tilt from the middle position to either stop.

    Raises
    ------
    DomainError
        If the clearance is negative or the span not positive.

    Notes
    -----
    theta = c / l: each land may move c/2 sideways, in opposite directions. Derived, plane geometry.
    """
    require("clearance of the guide pin", clearance, 0.0, unit="m")
    require_positive("span of the lands", span, unit="m")
    return clearance / span


def magnification(distance: Number, span: Number) -> Number:
    """Return how many times a dial at a plane magnifies the clearance of the lands.

    Parameters
    ----------
    distance : float or array, [m], 0 or more
        Axial distance of the plane from the middle of the span.
    span : float or array, [m], more than 0
        Axial distance of the outer ends of the lands.

    Returns
    -------
    float or array, [1]
        1 for a plane between the lands, twice the distance over the span outside them.

    Raises
    ------
    DomainError
        If the distance is negative or the span not positive.

    Notes
    -----
    P / c = max(1, 2 A / l). Between the lands the parallel shift is the greater movement. Derived.
    """
    require("distance of the dial from the middle of the lands", distance, 0.0, unit="m")
    require_positive("span of the lands", span, unit="m")
    return larger(2.0 * distance / span, 1.0)


def play_at_plane(clearance: Number, span: Number, distance: Number) -> Number:
    """Return the side movement from stop to stop that a dial reads at a plane.

    Parameters
    ----------
    clearance : float or array, [m], 0 or more
        Diametral clearance between pin and lands.
    span : float or array, [m], more than 0
        Axial distance of the outer ends of the lands.
    distance : float or array, [m], 0 or more
        Axial distance of the plane from the middle of the span.

    Returns
    -------
    float or array, [m]
        Play from stop to stop.

    Raises
    ------
    DomainError
        If the clearance or distance is negative or the span not positive.

    Notes
    -----
    P = 2 A c / l outside the lands, P = c between them. Derived.
    """
    require("clearance of the guide pin", clearance, 0.0, unit="m")
    return clearance * magnification(distance, span)


def tilt_from_play(play: Number, distance: Number, span: Number = 0.0) -> Number:
    """Return the greatest tilt each way that a measured play means.

    Parameters
    ----------
    play : float or array, [m], 0 or more
        Side movement from stop to stop.
    distance : float or array, [m], more than 0
        Axial distance of the dial from the middle of the span.
    span : float or array, [m], 0 or more, optional
        Axial distance of the outer ends of the lands; only needed when the dial stands between them.

    Returns
    -------
    float or array, [rad]
        Tilt from the middle position to either stop.

    Raises
    ------
    DomainError
        If play or span is negative or the distance not positive.

    Notes
    -----
    theta = P / (2 A) outside the lands, P / l between them. Nothing has to be taken apart for it. Derived.
    """
    require("play of the calliper", play, 0.0, unit="m")
    require_positive("distance of the dial from the middle of the lands", distance, unit="m")
    require("span of the lands", span, 0.0, unit="m")
    return play / larger(2.0 * distance, span)


@dataclass(frozen=True, slots=True)
class GuidePins:
    """Long and short guide pin of one calliper.

    Parameters
    ----------
    long_clearance : float or array, [m], 0 or more
        Diametral clearance of the long pin, the one that locates the calliper.
    long_span : float or array, [m], more than 0
        Span of the long pin's lands.
    short_clearance_tangential : float or array, [m], 0 or more
        Clearance of the short bushing in the tangential direction: large for an oval bushing with its long
        axis tangential, infinite when it does not hinder at all.
    short_clearance_radial : float or array, [m], 0 or more
        Clearance of the short bushing in the radial direction; equal to the tangential one when round.
    short_span : float or array, [m], more than 0
        Length of the short bushing.
    pin_distance : float or array, [m], more than 0
        Distance between the two pins.

    Raises
    ------
    DomainError
        If a clearance is negative or a length not positive.
    """

    long_clearance: Number
    long_span: Number
    short_clearance_tangential: Number
    short_clearance_radial: Number
    short_span: Number
    pin_distance: Number

    def __post_init__(self) -> None:
        require("clearance of the long pin", self.long_clearance, 0.0, unit="m")
        require("tangential clearance of the short pin", self.short_clearance_tangential, 0.0, unit="m")
        require("radial clearance of the short pin", self.short_clearance_radial, 0.0, unit="m")
        require_positive("span of the long pin", self.long_span, unit="m")
        require_positive("length of the short bushing", self.short_span, unit="m")
        require_positive("distance of the pins", self.pin_distance, unit="m")


def greatest_yaw(pins: GuidePins) -> Number:
    """Return the greatest yaw each way, which makes end-to-end taper.

    Parameters
    ----------
    pins : GuidePins
        The calliper's guide pins.

    Returns
    -------
    float or array, [rad]
        Tilt about the radial axis from the middle to either stop.

    Notes
    -----
    min(c1 / l1, c2t / l2): in practice the long pin decides, for the short one is short or oval. Derived.
    """
    return smaller(
        greatest_tilt(pins.long_clearance, pins.long_span), pins.short_clearance_tangential / pins.short_span
    )


def greatest_pitch(pins: GuidePins) -> Number:
    """Return the greatest pitch each way, which makes top-to-bottom taper.

    Parameters
    ----------
    pins : GuidePins
        The calliper's guide pins.

    Returns
    -------
    float or array, [rad]
        Tilt about the tangential axis from the middle to either stop.

    Notes
    -----
    min(c1 / l1, c2r / l2): both pins must tilt. Derived.
    """
    return smaller(
        greatest_tilt(pins.long_clearance, pins.long_span), pins.short_clearance_radial / pins.short_span
    )


def greatest_roll(pins: GuidePins) -> Number:
    """Return the greatest roll, which makes no taper but lets the pads ride up or down the abutments.

    Parameters
    ----------
    pins : GuidePins
        The calliper's guide pins.

    Returns
    -------
    float or array, [rad]
        Turn about the wheel axis from stop to stop.

    Notes
    -----
    (c1 + c2r) / b with b the distance of the pins. Derived.
    """
    return (pins.long_clearance + pins.short_clearance_radial) / pins.pin_distance


def radial_play_at_bridge(pins: GuidePins, distance: Number, short_pin_share: Number) -> Number:
    """Return the radial play that a dial at the bridge reads with both pins worn.

    Parameters
    ----------
    pins : GuidePins
        The calliper's guide pins.
    distance : float or array, [m], more than 0
        Axial distance of the dial from the middle of the long pin's lands.
    short_pin_share : float or array, [1], 0 to 1
        Where the dial stands between the pins: 0 over the long pin, 1 over the short one.

    Returns
    -------
    float or array, [m]
        Play from stop to stop.

    Raises
    ------
    DomainError
        If the distance is not positive or the share outside 0 to 1.

    Notes
    -----
    P_r = 2 A theta_t + share c2r: pitch of both pins and drop at the short one. Derived, approximate.
    """
    require_positive("distance of the dial from the middle of the lands", distance, unit="m")
    require("place of the dial between the pins", short_pin_share, 0.0, 1.0, unit="")
    return 2.0 * distance * greatest_pitch(pins) + short_pin_share * pins.short_clearance_radial


def pitch_and_roll(
    play_leading: Number, play_trailing: Number, distance: Number, dial_distance: Number
) -> tuple[Number, Number]:
    """Return pitch and roll from radial play at the leading and the trailing side of the bridge.

    Parameters
    ----------
    play_leading, play_trailing : float or array, [m], 0 or more
        Radial play from stop to stop at the two sides.
    distance : float or array, [m], more than 0
        Axial distance of the dial from the middle of the long pin's lands.
    dial_distance : float or array, [m], more than 0
        Tangential distance of the two dial places.

    Returns
    -------
    pitch : float or array, [rad]
        Each way, from the play both sides share.
    roll : float or array, [rad]
        From stop to stop, from the difference; positive when the trailing side moves more.

    Raises
    ------
    DomainError
        If a play is negative or a distance not positive.

    Notes
    -----
    Equal plays mean pitch, different plays mean roll (the short pin). The smaller play is taken as the shared
    part. Derived.
    """
    require("radial play at the leading side", play_leading, 0.0, unit="m")
    require("radial play at the trailing side", play_trailing, 0.0, unit="m")
    require_positive("distance of the two dial places", dial_distance, unit="m")
    shared = smaller(play_leading, play_trailing)
    return tilt_from_play(shared, distance), (play_trailing - play_leading) / dial_distance
