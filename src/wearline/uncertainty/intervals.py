"""Intervals of good values, direct comparison, and the probability that a true value lies inside.

Source: JCGM 106:2012 (ISO/IEC Guide 98-4), section 7. A value with standard uncertainty u is taken as
normally distributed. All functions work on arrays of any size, shapes broadcast.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wearline.errors import DomainError
from wearline.uncertainty.normal import FloatArray, normal_distribution
from wearline.uncertainty.rules import Sense

__all__ = [
    "EQUALITY",
    "Interval",
    "Normal",
    "compare_directly",
    "conformance_probability",
    "interval_probability",
    "require_uncertainty",
    "scalar_or_array",
    "standard_uncertainties",
]

# Two numbers closer than this, relative to the limit, are the same limit rounded twice.
EQUALITY = 1e-9


@dataclass(frozen=True, slots=True)
class Interval:
    """Interval of good or of accepted values, ends included.

    Parameters
    ----------
    lower, upper : float
        Ends [any unit]; infinite where there is none; lower <= upper.

    Raises
    ------
    DomainError
        When the lower end is above the upper one, or an end is not a number.
    """

    lower: float = -math.inf
    upper: float = math.inf

    def __post_init__(self) -> None:
        if not self.lower <= self.upper:
            what = f"an interval from {self.lower} to {self.upper} holds no value"
            raise DomainError(what, allowed="a lower end at or below the upper end")


@dataclass(frozen=True, slots=True)
class Normal:
    """Normal distribution: what is known of an item before it is measured, or after.

    Parameters
    ----------
    mean : float
        Mean [any unit], finite.
    u : float
        Standard deviation [same unit], 0 or more.

    Raises
    ------
    DomainError
        When a number is outside its range.
    """

    mean: float
    u: float

    def __post_init__(self) -> None:
        if not math.isfinite(self.mean):
            raise DomainError(f"a mean of {self.mean} is impossible", allowed="a finite number")
        require_uncertainty(self.u)


def require_uncertainty(u: float) -> None:
    """Refuse what cannot be a standard uncertainty.

    Parameters
    ----------
    u : float
        Standard uncertainty [any unit].

    Raises
    ------
    DomainError
        When it is negative or not finite.
    """
    if not (math.isfinite(u) and u >= 0.0):
        raise DomainError(f"a standard uncertainty of {u} is impossible", allowed="0 or more, finite")


def standard_uncertainties(u: ArrayLike) -> FloatArray:
    """Return standard uncertainties as an array, and refuse what cannot be any.

    Parameters
    ----------
    u : array_like
        Standard uncertainties [any unit], 0 or more.

    Returns
    -------
    ndarray
        The same as floats.

    Raises
    ------
    DomainError
        When one is negative or not a number.
    """
    array = np.asarray(u, dtype=np.float64)
    # The minimum passes on not-a-number, and needs no array of truth values.
    if array.size and not float(array.min()) >= 0.0:
        raise DomainError("a standard uncertainty is negative or not a number", allowed="0 or more")
    return array


def scalar_or_array(array: FloatArray) -> FloatArray:
    """Return a plain number in place of an array without shape, any other array as it is.

    Parameters
    ----------
    array : ndarray
        Any shape.

    Returns
    -------
    ndarray or float64
        A float for shape ().
    """
    result: FloatArray = array[()]
    return result


def compare_directly(
    value: ArrayLike, limit: ArrayLike, sense: Sense, passes_at_limit: bool = True
) -> NDArray[np.bool_]:
    """Compare values with a limit without regard to uncertainty.

    Parameters
    ----------
    value : array_like
        Values [any unit]; not-a-number is never within.
    limit : array_like
        Limits [same unit].
    sense : Sense
        On which side of the limit an item is good.
    passes_at_limit : bool
        Whether a value equal to the limit is within.

    Returns
    -------
    ndarray of bool
        True where the value is within.

    Notes
    -----
    Equal means: closer than 1e-9 of the limit. So 1/16 in and 1.5875 mm are equal after any conversion.
    """
    values = np.asarray(value, dtype=np.float64)
    limits = np.asarray(limit, dtype=np.float64)
    slack = np.abs(limits) * EQUALITY
    if (sense is Sense.AT_LEAST) == passes_at_limit:
        edge = limits - slack
    else:
        edge = limits + slack
    if sense is Sense.AT_LEAST:
        within = values >= edge if passes_at_limit else values > edge
    else:
        within = values <= edge if passes_at_limit else values < edge
    return np.asarray(within)


def conformance_probability(
    value: ArrayLike, u: ArrayLike, lower: ArrayLike = -math.inf, upper: ArrayLike = math.inf
) -> FloatArray:
    """Return the probability that the true value lies in an interval.

    Parameters
    ----------
    value : array_like
        Measured values [any unit]; not-a-number gives not-a-number.
    u : array_like
        Standard uncertainties [same unit], 0 or more; 0 compares directly, ends included.
    lower, upper : array_like
        Ends of the interval [same unit], infinite where there is none.

    Returns
    -------
    ndarray
        Probabilities, 0 to 1, accurate in both tails.

    Raises
    ------
    DomainError
        When a standard uncertainty is negative, or a lower end is above its upper end.

    Notes
    -----
    Phi((upper - value)/u) - Phi((lower - value)/u), JCGM 106:2012, 7.4.
    """
    return interval_probability(value, u, lower, upper, inside=True)


def interval_probability(
    value: ArrayLike, u: ArrayLike, lower: ArrayLike, upper: ArrayLike, *, inside: bool
) -> FloatArray:
    """Return the probability that the true value lies inside, or outside, an interval.

    Parameters
    ----------
    value : array_like
        Measured values [any unit]; not-a-number gives not-a-number.
    u : array_like
        Standard uncertainties [same unit], 0 or more; 0 compares directly, ends included.
    lower, upper : array_like
        Ends of the interval [same unit], infinite where there is none.
    inside : bool
        Whether the probability inside is wanted.

    Returns
    -------
    ndarray
        Probabilities, 0 to 1; small ones are accurate on either side.

    Raises
    ------
    DomainError
        When a standard uncertainty is negative, or a lower end is above its upper end.
    """
    spread = standard_uncertainties(u)
    values = np.asarray(value, dtype=np.float64)
    low = np.asarray(lower, dtype=np.float64)
    high = np.asarray(upper, dtype=np.float64)
    if np.any(low > high):
        raise DomainError("a lower end lies above its upper end", allowed="lower at or below upper")
    with np.errstate(divide="ignore", invalid="ignore"):
        below = np.asarray((low - values) / spread)
        above = np.asarray((high - values) / spread)
    if inside:
        # Mirror what lies below: two small tails are subtracted, never two numbers near one.
        mirrored = below > 0.0
        near = np.where(mirrored, -below, above)
        far = np.where(mirrored, -above, below)
        probability = normal_distribution(near, out=near)
        probability = probability - normal_distribution(far, out=far)
    else:
        probability = normal_distribution(below) + normal_distribution(-above)
    if spread.size and float(spread.min()) == 0.0:
        within = compare_directly(values, low, Sense.AT_LEAST) & compare_directly(values, high, Sense.AT_MOST)
        direct = np.where(np.isnan(values), np.nan, within == inside)
        probability = np.where(spread == 0.0, direct, probability)
    return scalar_or_array(np.asarray(probability))
