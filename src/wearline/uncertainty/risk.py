"""Risks of accepting what is bad and of rejecting what is good.

Source: JCGM 106:2012 (ISO/IEC Guide 98-4), sections 8 and 9.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from wearline.errors import DomainError
from wearline.uncertainty.intervals import Interval, Normal, interval_probability, require_uncertainty
from wearline.uncertainty.normal import FloatArray, normal_density

__all__ = [
    "consumer_risk",
    "guarded_acceptance",
    "posterior",
    "producer_risk",
    "specific_consumer_risk",
    "specific_producer_risk",
]


def guarded_acceptance(tolerance: Interval, guard: float) -> Interval:
    """Return the tolerance interval narrowed by a guard band at each finite end.

    Parameters
    ----------
    tolerance : Interval
        Good values [any unit].
    guard : float
        Guard band [same unit]; negative widens (guarded rejection).

    Returns
    -------
    Interval
        Accepted values.

    Raises
    ------
    DomainError
        When the guard bands leave no interval: the gauge is too coarse for this tolerance.
    """
    if 2.0 * guard > tolerance.upper - tolerance.lower:
        what = f"guard bands of {guard} leave nothing of an interval {tolerance.upper - tolerance.lower} wide"
        raise DomainError(what, allowed="at most half the width", cure="Use a finer gauge")
    return Interval(tolerance.lower + guard, tolerance.upper - guard)


def specific_consumer_risk(
    value: ArrayLike, u: ArrayLike, lower: ArrayLike = -math.inf, upper: ArrayLike = math.inf
) -> FloatArray:
    """Return the risk that an accepted item is bad although it measured like this.

    Parameters
    ----------
    value : array_like
        Measured values of accepted items [any unit].
    u : array_like
        Standard uncertainties [same unit], 0 or more.
    lower, upper : array_like
        Ends of the interval of good values [same unit].

    Returns
    -------
    ndarray
        Probabilities, 0 to 1, accurate when small.

    Raises
    ------
    DomainError
        When a standard uncertainty is negative, or a lower end is above its upper end.

    Notes
    -----
    1 - p_c, JCGM 106:2012, 9.3.2.
    """
    return interval_probability(value, u, lower, upper, inside=False)


def specific_producer_risk(
    value: ArrayLike, u: ArrayLike, lower: ArrayLike = -math.inf, upper: ArrayLike = math.inf
) -> FloatArray:
    """Return the risk that a rejected item is good although it measured like this.

    Parameters
    ----------
    value : array_like
        Measured values of rejected items [any unit].
    u : array_like
        Standard uncertainties [same unit], 0 or more.
    lower, upper : array_like
        Ends of the interval of good values [same unit].

    Returns
    -------
    ndarray
        Probabilities, 0 to 1.

    Raises
    ------
    DomainError
        When a standard uncertainty is negative, or a lower end is above its upper end.

    Notes
    -----
    p_c, JCGM 106:2012, 9.3.2.
    """
    return interval_probability(value, u, lower, upper, inside=True)


def posterior(prior: Normal, value: float, u: float) -> Normal:
    """Combine what was known of an item with one measurement of it.

    Parameters
    ----------
    prior : Normal
        Knowledge before the measurement [any unit].
    value : float
        Measured value [same unit], finite.
    u : float
        Its standard uncertainty [same unit], 0 or more.

    Returns
    -------
    Normal
        Knowledge after the measurement.

    Raises
    ------
    DomainError
        When a number is out of range, or prior and measurement are both exact and differ.

    Notes
    -----
    Weights are the inverse variances, JCGM 106:2012, annex A.4.4.
    """
    measured = Normal(value, u)
    if measured.u == 0.0 or prior.u == 0.0:
        if measured.u == prior.u and measured.mean != prior.mean:
            what = f"exactly {prior.mean} and exactly {value} cannot both hold"
            raise DomainError(what, allowed="an uncertainty above 0 on one of them")
        return measured if measured.u == 0.0 else prior
    ratio = prior.u / math.hypot(prior.u, measured.u)
    share = ratio * ratio
    return Normal(prior.mean + share * (measured.mean - prior.mean), ratio * measured.u)


def consumer_risk(prior: Normal, u: float, tolerance: Interval, acceptance: Interval) -> float:
    """Return the global risk that an item is bad and yet measures as acceptable.

    Parameters
    ----------
    prior : Normal
        Spread of the true values over the items [any unit].
    u : float
        Standard uncertainty of a measurement [same unit], 0 or more.
    tolerance : Interval
        Good values.
    acceptance : Interval
        Measured values that are accepted.

    Returns
    -------
    float
        Probability, 0 to 1: the share of all items that are bad and accepted.

    Raises
    ------
    DomainError
        When the uncertainty is negative or not finite.

    Notes
    -----
    Integral over the bad values of prior density times acceptance probability, JCGM 106:2012, 9.5.2,
    equations (17) and (18), by Gauss-Legendre panels no wider than either standard deviation: exact to
    rounding.
    """
    if prior.u == 0.0:
        return _point_risk(prior.mean, u, tolerance, acceptance, consumer=True)
    parts = ((-math.inf, tolerance.lower), (tolerance.upper, math.inf))
    return math.fsum(_risk_in(part, prior, u, acceptance, accepted=True) for part in parts)


def producer_risk(prior: Normal, u: float, tolerance: Interval, acceptance: Interval) -> float:
    """Return the global risk that an item is good and yet measures as not acceptable.

    Parameters
    ----------
    prior : Normal
        Spread of the true values over the items [any unit].
    u : float
        Standard uncertainty of a measurement [same unit], 0 or more.
    tolerance : Interval
        Good values.
    acceptance : Interval
        Measured values that are accepted.

    Returns
    -------
    float
        Probability, 0 to 1: the share of all items that are good and rejected.

    Raises
    ------
    DomainError
        When the uncertainty is negative or not finite.

    Notes
    -----
    Integral over the good values of prior density times rejection probability, JCGM 106:2012, 9.5.3.
    """
    if prior.u == 0.0:
        return _point_risk(prior.mean, u, tolerance, acceptance, consumer=False)
    return _risk_in((tolerance.lower, tolerance.upper), prior, u, acceptance, accepted=False)


def _point_risk(at: float, u: float, tolerance: Interval, acceptance: Interval, *, consumer: bool) -> float:
    """Risk when every item has the same true value."""
    require_uncertainty(u)
    good = tolerance.lower <= at <= tolerance.upper
    if good == consumer:
        return 0.0
    return float(interval_probability(at, u, acceptance.lower, acceptance.upper, inside=consumer))


# Beyond this many standard deviations the normal density underflows.
_REACH = 38
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)


def _risk_in(
    part: tuple[float, float], prior: Normal, u: float, acceptance: Interval, *, accepted: bool
) -> float:
    """Integrate prior density times probability of acceptance (or rejection) over one part of the axis."""
    require_uncertainty(u)
    # From here on in standard deviations of the prior from its mean, where nothing cancels.
    low, high, start, stop = (
        (end - prior.mean) / prior.u for end in (*part, acceptance.lower, acceptance.upper)
    )
    low, high = max(low, -_REACH), min(high, _REACH)
    if not low < high:
        return 0.0
    steps = np.arange(-_REACH, _REACH + 1, dtype=np.float64)
    spread = u / prior.u
    edges = [end + spread * steps for end in (start, stop) if math.isfinite(end)]
    knots = np.concatenate([steps, *edges, [low, high]])
    knots = np.unique(knots[(knots >= low) & (knots <= high)])
    half = 0.5 * np.diff(knots)[:, np.newaxis]
    at = 0.5 * (knots[1:] + knots[:-1])[:, np.newaxis] + half * _NODES
    if spread > 0.0:
        outcome = interval_probability(at, spread, start, stop, inside=accepted)
    else:
        outcome = np.asarray(((at >= start) & (at <= stop)) == accepted, dtype=np.float64)
    return float(np.sum(half * _WEIGHTS * normal_density(at) * outcome))
