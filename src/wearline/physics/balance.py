"""Balance of braking: across an axle, between the brakes of a vehicle, between tractor and trailer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wearline.physics.chamber import HIGHEST_PRESSURE, check_pressure
from wearline.physics.domain import require, require_positive
from wearline.physics.elementwise import larger, magnitude

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = [
    "imbalance",
    "light_pressure_ratio",
    "load_on_the_others",
    "steering_pull",
    "trailer_share",
    "yaw_moment",
]


def imbalance(force_a: Number, force_b: Number) -> Number:
    """Return the difference of brake force across an axle.

    Parameters
    ----------
    force_a, force_b : float or array, [N], 0 or more
        Forces of the two ends at the same pressure, neither wheel locked.

    Returns
    -------
    float or array, [1]
        Difference over the higher force; NaN where neither end brakes, for then there is nothing to compare.

    Raises
    ------
    DomainError
        If a force is negative.

    Notes
    -----
    (higher - lower) / higher. The denominator is the higher effort: UK MOT inspection manual 3.8 item 2
    (from a transcription, confirm).
    """
    require("brake force", force_a, 0.0, unit="N")
    require("brake force", force_b, 0.0, unit="N")
    high = larger(force_a, force_b)
    difference = np.asarray(magnitude(force_a - force_b), dtype=float)
    with np.errstate(invalid="ignore"):
        share: Number = (difference / np.asarray(high, dtype=float))[()]
    return share


def yaw_moment(force_left: Number, force_right: Number, track: Number) -> Number:
    """Return the moment with which unequal brakes of an axle turn the vehicle.

    Parameters
    ----------
    force_left, force_right : float or array, [N]
        Brake forces of the two ends.
    track : float or array, [m], 1 to 3
        Distance of the wheels' middles.

    Returns
    -------
    float or array, [N m]
        Positive turns to the left.

    Raises
    ------
    DomainError
        If the track is outside 1 to 3 m.

    Notes
    -----
    (F_left - F_right) track / 2. Statics.
    """
    require("track", track, 1.0, 3.0, unit="m")
    return 0.5 * (force_left - force_right) * track


def steering_pull(force_left: Number, force_right: Number, scrub_radius: Number) -> Number:
    """Return the torque about the kingpins with which unequal steer brakes pull.

    Parameters
    ----------
    force_left, force_right : float or array, [N]
        Brake forces of the two ends of the steered axle.
    scrub_radius : float or array, [m], -0.2 to 0.3
        Kingpin offset at the road.

    Returns
    -------
    float or array, [N m]
        Positive pulls to the left, before the steering gear.

    Raises
    ------
    DomainError
        If the offset is outside -0.2 to 0.3 m.

    Notes
    -----
    (F_left - F_right) times the offset. Statics.
    """
    require("kingpin offset", scrub_radius, -0.2, 0.3, unit="m")
    return (force_left - force_right) * scrub_radius


def load_on_the_others(brakes: Number, dead: Number = 1) -> Number:
    """Return how much more each working brake does when some are dead and the deceleration is kept.

    Parameters
    ----------
    brakes : int or array, [1], 1 or more
        Brakes of the vehicle.
    dead : int or array, [1], 0 to below `brakes`, optional
        Brakes that do nothing.

    Returns
    -------
    float or array, [1]
        Factor on the work of each of the others.

    Raises
    ------
    DomainError
        If no working brake is left or a number is negative.

    Notes
    -----
    n / (n - dead), equal brakes. Derived.
    """
    require("number of dead brakes", dead, 0.0, unit="")
    require_positive("number of brakes less dead ones", brakes - dead, unit="")
    return brakes / (brakes - dead)


def light_pressure_ratio(pressure: Number, threshold: Number, reference_threshold: Number) -> Number:
    """Return the force of a brake against that of another one which differs only in its threshold.

    Parameters
    ----------
    pressure : float or array, [Pa], 0 to 1.2e6
        Control pressure.
    threshold : float or array, [Pa], 0 to 1.2e6
        Threshold of the brake.
    reference_threshold : float or array, [Pa], 0 to 1.2e6
        Threshold of the other one.

    Returns
    -------
    float or array, [1]
        Ratio; infinite where only this brake works, NaN where neither does.

    Raises
    ------
    DomainError
        If a pressure is outside its range.

    Notes
    -----
    (p - p_0) / (p - p_0ref). Derived from the force law.
    """
    above, other = _above(pressure, threshold), _above(pressure, reference_threshold)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio: Number = (np.asarray(above) / np.asarray(other))[()]
    return ratio


def trailer_share(
    pressure: Number,
    *,
    trailer_threshold: Number,
    tractor_threshold: Number,
    trailer_brakes: Number,
    tractor_brakes: Number,
) -> Number:
    """Return the share of the braking that the trailer does at a control pressure.

    Parameters
    ----------
    pressure : float or array, [Pa], 0 to 1.2e6
        Control pressure.
    trailer_threshold, tractor_threshold : float or array, [Pa], 0 to 1.2e6
        Thresholds of the brakes of the two units.
    trailer_brakes, tractor_brakes : int or array, [1], 1 or more
        Brakes of the two units, alike but for the threshold.

    Returns
    -------
    float or array, [1]
        Share of the trailer; NaN where no brake works yet.

    Raises
    ------
    DomainError
        If a pressure is outside its range or a number of brakes not positive.

    Notes
    -----
    n_t (p - p_t) / (n_t (p - p_t) + n_z (p - p_z)). A retarder widens the gap further. Derived.
    """
    require_positive("number of trailer brakes", trailer_brakes, unit="")
    require_positive("number of tractor brakes", tractor_brakes, unit="")
    trailer = trailer_brakes * _above(pressure, trailer_threshold)
    tractor = tractor_brakes * _above(pressure, tractor_threshold)
    with np.errstate(invalid="ignore"):
        share: Number = (np.asarray(trailer) / np.asarray(trailer + tractor))[()]
    return share


def _above(pressure: Number, threshold: Number) -> Number:
    check_pressure(pressure)
    require("threshold pressure", threshold, 0.0, HIGHEST_PRESSURE, unit="Pa")
    return larger(pressure - threshold, 0.0)
