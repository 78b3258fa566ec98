"""Larger, smaller and magnitude for floats and arrays alike, with NaN passing through.

Plain floats stay plain floats, so that judging one wheel end needs no array library at all.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = ["larger", "magnitude", "smaller"]


def larger(a: Number, b: Number) -> Number:
    """Return the larger of the two, element by element.

    Parameters
    ----------
    a, b : float or array
        Values of one unit; shapes broadcast.

    Returns
    -------
    float or array
        NaN where either is NaN.
    """
    if isinstance(a, (int, float)) and isinstance(b, (int, float)):
        return a + b if a != a or b != b else max(a, b)
    import numpy as np

    return np.maximum(a, b)


def smaller(a: Number, b: Number) -> Number:
    """Return the smaller of the two, element by element.

    Parameters
    ----------
    a, b : float or array
        Values of one unit; shapes broadcast.

    Returns
    -------
    float or array
        NaN where either is NaN.
    """
    return -larger(-a, -b)


def magnitude(a: Number) -> Number:
    """Return the value without its sign, element by element.

    Parameters
    ----------
    a : float or array
        A value of either sign.

    Returns
    -------
    float or array
        NaN where it is NaN.
    """
    return larger(a, -a)
