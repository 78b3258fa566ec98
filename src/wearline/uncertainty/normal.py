"""Normal distribution function, density and quantile for arrays of any size.

Small arrays are evaluated with the standard library, so that judging one inspection does not pay for loading
the large special-function library; large ones are evaluated with it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wearline.errors import DomainError

__all__ = ["FloatArray", "normal_at", "normal_density", "normal_distribution", "normal_quantile"]

FloatArray = NDArray[np.float64]

# Up to this size the loop costs less than loading the library (some 130 ms).
SMALL = 4096
_CERTAIN = 8.3
_ROOT_HALF = math.sqrt(0.5)
_ROOT_TWO_PI = math.sqrt(2.0 * math.pi)


def normal_distribution(z: ArrayLike, out: FloatArray | None = None) -> FloatArray:
    """Return the probability that a standard normal variable is at most z.

    Parameters
    ----------
    z : array_like
        Standard scores [-], any shape; not-a-number stays not-a-number.
    out : ndarray, optional
        Array that takes the result; may be ``z`` itself.

    Returns
    -------
    ndarray
        Probabilities, 0 to 1, the shape of ``z``.

    Notes
    -----
    Phi(z) = erfc(-z / sqrt 2) / 2, which keeps relative accuracy in the lower tail.
    """
    scores = np.asarray(z, dtype=np.float64)
    if scores.size > SMALL:
        from scipy.special import ndtr

        # Most readings lie far on the good side: from 8.3 on, 1 - 5e-17 is 1 in double precision.
        rest = np.flatnonzero(~(scores >= _CERTAIN))
        if 2 * rest.size > scores.size:
            result: FloatArray = ndtr(scores, out=out)
            return result
        part = ndtr(scores.ravel()[rest])
        result = np.empty(scores.shape) if out is None else out
        result.fill(1.0)
        result.ravel()[rest] = part
        return result
    erfc = math.erfc
    values = [0.5 * erfc(-score * _ROOT_HALF) for score in scores.ravel().tolist()]
    if out is None:
        return np.array(values, dtype=np.float64).reshape(scores.shape)
    out[...] = np.array(values, dtype=np.float64).reshape(scores.shape)
    return out


def normal_at(z: float) -> float:
    """Return the probability that a standard normal variable is at most one number.

    Parameters
    ----------
    z : float
        Standard score [-]; not-a-number stays not-a-number.

    Returns
    -------
    float
        The same as ``normal_distribution`` gives for a small array, without making one.
    """
    return 0.5 * math.erfc(-z * _ROOT_HALF)


def normal_density(z: ArrayLike) -> FloatArray:
    """Return the standard normal density.

    Parameters
    ----------
    z : array_like
        Standard scores [-].

    Returns
    -------
    ndarray
        Density [-], the shape of ``z``.
    """
    scores = np.asarray(z, dtype=np.float64)
    density: FloatArray = np.exp(-0.5 * scores * scores) / _ROOT_TWO_PI
    return density


def normal_quantile(probability: float) -> float:
    """Return the standard score below which a standard normal variable lies with a given probability.

    Parameters
    ----------
    probability : float
        More than 0 and less than 1.

    Returns
    -------
    float
        Standard score [-].

    Raises
    ------
    DomainError
        When the probability is not between 0 and 1.
    """
    if not 0.0 < probability < 1.0:
        what = f"a probability of {probability} has no finite normal quantile"
        raise DomainError(what, allowed="more than 0 and less than 1")
    from statistics import NormalDist

    return NormalDist().inv_cdf(probability)
