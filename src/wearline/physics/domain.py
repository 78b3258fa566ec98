"""Ranges in which the formulas hold, checked without touching NaN.

NaN stands for 'not measured' and passes every check: comparisons with NaN are false, so only a number
that is really outside is refused.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias, Union

from wearline.errors import DomainError

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = [
    "GRAVITY",
    "Number",
    "check_mass",
    "check_slope",
    "check_speed",
    "check_time",
    "require",
    "require_positive",
]

GRAVITY = 9.80665
"""[m/s2] Standard gravity, exact by definition (ISO 80000-3)."""

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


def check_mass(mass: Number, name: str = "mass") -> None:
    """Refuse a mass that no road vehicle has.

    Parameters
    ----------
    mass : float or array, [kg], 50 to 500 000
        Mass of a vehicle or unit; NaN passes.
    name : str, optional
        What it is the mass of, for the message.

    Raises
    ------
    DomainError
        If it is below 50 kg or above 500 t.
    """
    require(name, mass, 50.0, 500e3, unit="kg", cure="Give the mass in kilograms: 18 t is 18000 kg.")


def check_slope(slope: Number) -> None:
    """Refuse a slope that no road has.

    Parameters
    ----------
    slope : float or array, [1], -0.4 to 0.4
        Height over length, positive downhill; NaN passes.

    Raises
    ------
    DomainError
        If it is steeper than 40 %.
    """
    require("slope", slope, -0.40, 0.40, unit="", cure="Give the slope as a fraction: 6 % is 0.06.")


def check_speed(speed: Number, name: str = "speed") -> None:
    """Refuse a speed that no heavy vehicle reaches.

    Parameters
    ----------
    speed : float or array, [m/s], 0 to 60
        Road speed; NaN passes.
    name : str, optional
        Which speed, for the message.

    Raises
    ------
    DomainError
        If it is negative or above 60 m/s.
    """
    require(name, speed, 0.0, 60.0, unit="m/s", cure="Give the speed in metres per second: 60 km/h is 16.7.")


def check_time(time: NDArray[Any]) -> None:
    """Refuse a time axis that does not run forward.

    Parameters
    ----------
    time : array, (n,), [s], n at least 2
        Times of the samples.

    Raises
    ------
    DomainError
        If there are fewer than two samples, one of them is no finite number, or time does not strictly
        increase.
    """
    import numpy as np

    if time.ndim != 1 or time.size < 2:
        raise DomainError(
            f"the time axis has the shape {time.shape}",
            allowed="one row of at least 2 samples",
            cure="Give one time for each sample.",
        )
    steps = np.diff(time)
    if not np.isfinite(time).all() or not (steps > 0.0).all():
        at = int(np.argmin(np.where(np.isfinite(steps), steps, -np.inf))) + 1
        raise DomainError(
            f"time does not run forward at sample {at + 1}: {time[at - 1]:g} s, then {time[at]:g} s",
            allowed="strictly increasing times",
            cure="Sort the samples by time and remove doubles.",
        )


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
