"""Within, beyond or undecided: probabilities of one limit and decision rules.

Source: JCGM 106:2012 (ISO/IEC Guide 98-4), sections 7 and 8. A value with standard uncertainty u is taken as
normally distributed. All functions work on arrays of any size, shapes broadcast.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wearline.errors import DomainError
from wearline.uncertainty.intervals import (
    Interval,
    Normal,
    compare_directly,
    conformance_probability,
    scalar_or_array,
    standard_uncertainties,
)
from wearline.uncertainty.normal import FloatArray, normal_distribution, normal_quantile
from wearline.uncertainty.risk import (
    consumer_risk,
    guarded_acceptance,
    posterior,
    producer_risk,
    specific_consumer_risk,
    specific_producer_risk,
)
from wearline.uncertainty.rules import DecisionRule, Sense

__all__ = [
    "BEYOND",
    "UNDECIDED",
    "WITHIN",
    "DecisionRule",
    "Interval",
    "Normal",
    "Sense",
    "compare_directly",
    "conformance_probability",
    "consumer_risk",
    "decide",
    "decide_by_margin",
    "guard_band",
    "guarded_acceptance",
    "posterior",
    "probability_from_margin",
    "probability_within",
    "producer_risk",
    "specific_consumer_risk",
    "specific_producer_risk",
]

WITHIN, UNDECIDED, BEYOND = 1, 0, -1


def probability_within(value: ArrayLike, u: ArrayLike, limit: ArrayLike, sense: Sense) -> FloatArray:
    """Return the probability that the true value is within one limit.

    Parameters
    ----------
    value : array_like
        Measured values [any unit]; not-a-number gives not-a-number.
    u : array_like
        Standard uncertainties [same unit], 0 or more. Where it is 0 the value is compared directly, and a
        value at the limit is within.
    limit : array_like
        Limits [same unit].
    sense : Sense
        On which side of the limit an item is good.

    Returns
    -------
    ndarray
        Probabilities, 0 to 1.

    Raises
    ------
    DomainError
        When a standard uncertainty is negative or not a number.

    Notes
    -----
    Phi((value - limit)/u) for a lower limit, Phi((limit - value)/u) for an upper one; JCGM 106:2012, 7.3.
    """
    values = np.asarray(value, dtype=np.float64)
    limits = np.asarray(limit, dtype=np.float64)
    spread = standard_uncertainties(u)
    first, second = (values, limits) if sense is Sense.AT_LEAST else (limits, values)
    score = np.empty(np.broadcast_shapes(values.shape, limits.shape, spread.shape))
    np.subtract(first, second, out=score)
    with np.errstate(divide="ignore", invalid="ignore"):
        np.divide(score, spread, out=score)
    probability = normal_distribution(score, out=score)
    if spread.size and float(spread.min()) == 0.0:
        direct = np.where(np.isnan(values), np.nan, compare_directly(values, limits, sense))
        probability = np.where(spread == 0.0, direct, probability)
    return scalar_or_array(probability)


def probability_from_margin(margin: ArrayLike, u: ArrayLike, beyond_directly: ArrayLike) -> FloatArray:
    """Return the probability that the true value is within one limit, from its distance to the limit.

    Parameters
    ----------
    margin : array_like
        Distance from the limit [any unit], positive on the good side; not-a-number stays so.
    u : array_like
        Standard uncertainties [same unit], 0 or more.
    beyond_directly : array_like of bool
        Result of the direct comparison; decides where the uncertainty is 0.

    Returns
    -------
    ndarray
        Probabilities, 0 to 1.

    Raises
    ------
    DomainError
        When a standard uncertainty is negative or not a number.

    Notes
    -----
    Phi(margin/u); JCGM 106:2012, 7.3. The same as ``probability_within``, without taking the difference
    again.
    """
    distance = np.asarray(margin, dtype=np.float64)
    spread = standard_uncertainties(u)
    with np.errstate(divide="ignore", invalid="ignore"):
        score = np.asarray(distance / spread)
    probability = normal_distribution(score, out=score)
    if spread.size and float(spread.min()) == 0.0:
        exact = np.where(np.isnan(distance), np.nan, ~np.asarray(beyond_directly, dtype=np.bool_))
        probability = np.where(spread == 0.0, exact, probability)
    return scalar_or_array(probability)


def decide(
    p_within: ArrayLike, within_directly: ArrayLike, rule: DecisionRule, confidence: float = 0.95
) -> NDArray[np.int8]:
    """Decide within, beyond or undecided.

    Parameters
    ----------
    p_within : array_like
        Probabilities of being within [-]; where it is not a number nothing is decided.
    within_directly : array_like of bool
        Result of the direct comparison; decides under the simple rule only.
    rule : DecisionRule
        Guarded or simple.
    confidence : float
        Probability needed by the guarded rule for either answer [-], more than 0.5 and less than 1.

    Returns
    -------
    ndarray of int8
        1 within, -1 beyond, 0 undecided.

    Raises
    ------
    DomainError
        When the confidence is out of range.

    Notes
    -----
    JCGM 106:2012, 8.2 (simple acceptance) and 8.3 (guard bands on both sides, as ISO 14253-1:2017 has it).
    """
    if not 0.5 < confidence < 1.0:
        what = f"a confidence of {confidence} decides nothing, or both ways at once"
        raise DomainError(what, allowed="more than 0.5 and less than 1")
    probability = np.asarray(p_within, dtype=np.float64)
    if rule is DecisionRule.SIMPLE:
        directly = np.asarray(within_directly, dtype=np.bool_)
        codes = np.where(directly, np.int8(WITHIN), np.int8(BEYOND))
        return np.asarray(np.where(np.isnan(probability), np.int8(UNDECIDED), codes), dtype=np.int8)
    result = np.asarray(probability >= confidence).astype(np.int8)
    result -= probability <= 1.0 - confidence
    return np.asarray(result)


def decide_by_margin(
    margin: ArrayLike, u: ArrayLike, beyond_directly: ArrayLike, rule: DecisionRule, confidence: float = 0.95
) -> NDArray[np.int8]:
    """Decide within, beyond or undecided from the distance to the limit, without any probability.

    Parameters
    ----------
    margin : array_like
        Distance from the limit [any unit], positive on the good side; not-a-number is not decided.
    u : array_like
        Standard uncertainties [same unit], 0 or more.
    beyond_directly : array_like of bool
        Result of the direct comparison; decides under the simple rule, and where the uncertainty is 0.
    rule : DecisionRule
        Guarded or simple.
    confidence : float
        Probability needed by the guarded rule for either answer [-], more than 0.5 and less than 1.

    Returns
    -------
    ndarray of int8
        1 within, -1 beyond, 0 undecided; as ``decide`` gives from the probabilities.

    Notes
    -----
    JCGM 106:2012, 8.3.2: within when the margin is at least the guard band z u, beyond when it is at most
    -z u.
    """
    distance = np.asarray(margin, dtype=np.float64)
    beyond = np.asarray(beyond_directly, dtype=np.bool_)
    if rule is DecisionRule.SIMPLE:
        directly = np.where(beyond, np.int8(BEYOND), np.int8(WITHIN))
        return np.asarray(np.where(np.isnan(distance), np.int8(UNDECIDED), directly), dtype=np.int8)
    spread = standard_uncertainties(u)
    band = guard_band(spread, confidence)
    codes = np.asarray(distance >= band).astype(np.int8)
    codes -= distance <= -band
    if spread.size and float(spread.min()) == 0.0:
        exact = np.where(beyond, np.int8(BEYOND), np.int8(WITHIN))
        codes = np.where((spread == 0.0) & ~np.isnan(distance), exact, codes)
    return np.asarray(codes)


def guard_band(u: ArrayLike, confidence: float = 0.95) -> FloatArray:
    """Return by how much a value must clear one limit to be decided.

    Parameters
    ----------
    u : array_like
        Standard uncertainties [any unit], 0 or more.
    confidence : float
        Probability needed [-], more than 0.5 and less than 1.

    Returns
    -------
    ndarray
        Guard bands [same unit].

    Raises
    ------
    DomainError
        When the confidence or an uncertainty is out of range.

    Notes
    -----
    g = z u with the one-sided normal quantile z, 1.645 for 95 %; JCGM 106:2012, 8.3.
    """
    if not 0.5 < confidence < 1.0:
        what = f"a guard band for a confidence of {confidence} is not defined"
        raise DomainError(what, allowed="more than 0.5 and less than 1")
    band: FloatArray = normal_quantile(confidence) * standard_uncertainties(u)
    return band
