"""Ranges in which the formulas hold, checked without touching NaN.

NaN stands for 'not measured' and passes every check: comparisons with NaN are false, so only a number
that is really outside is refused.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias, Union

from wearline.errors import DomainError

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Number", "require", "require_positive"]

Number: TypeAlias = Union[float, "NDArray[Any]"]
"""A float or an array of floats; shapes broadcast."""


def require(
    name: str,
    value: Number,
    low: float = float("-inf"),
    high: float = float("inf"),
    *,
    unit: str,
    cure: str = "Check the value and its unit.",
) -> None:
    """Refuse a value outside a closed range.

    Parameters
    ----------
    name : str
        What the value is, in words, for the message.
    value : float or array
        The value in SI units; NaN passes.
    low, high : float
        Ends of the range, both allowed.
    unit : str
        SI unit for the message, empty for a pure number.
    cure : str, optional
        What the person can do.

    Raises
    ------
    DomainError
        If any element lies outside the range.
    """
    bad = _first(value, (value < low) | (value > high))
    if bad is not None:
        raise DomainError(_say(name, bad, unit), allowed=_range(low, high, unit), cure=cure)


def require_positive(
    name: str, value: Number, *, unit: str, cure: str = "Check the value and its unit."
) -> None:
    """Refuse zero, negative and infinite values.

    Parameters
    ----------
    name : str
        What the value is, in words, for the message.
    value : float or array
        The value in SI units; NaN passes.
    unit : str
        SI unit for the message, empty for a pure number.
    cure : str, optional
        What the person can do.

    Raises
    ------
    DomainError
        If any element is zero, negative or infinite.
    """
    bad = _first(value, (value <= 0.0) | (value == float("inf")))
    if bad is not None:
        raise DomainError(_say(name, bad, unit), allowed=_with_unit("more than 0", unit), cure=cure)


def _first(value: Number, outside: object) -> float | None:
    """Return the first element that is outside, or None."""
    if isinstance(outside, bool):
        return float(value) if outside else None
    import numpy as np

    mask = np.asarray(outside)
    if not mask.any():
        return None
    return float(np.broadcast_to(np.asarray(value, dtype=float), mask.shape)[mask][0])


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if unit else text


def _say(name: str, value: float, unit: str) -> str:
    return f"{name} is {_with_unit(f'{value:g}', unit)}"


def _range(low: float, high: float, unit: str) -> str:
    if high == float("inf"):
        return _with_unit(f"{low:g}", unit) + " or more"
    if low == float("-inf"):
        return _with_unit(f"{high:g}", unit) + " or less"
    return f"{low:g} to {_with_unit(f'{high:g}', unit)}"
