"""Conversion between SI and written units for numbers and arrays, and text for people.

The module needs no array library: the arithmetic below works on floats and on arrays alike.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, TypeVar

from wearline.errors import DomainError
from wearline.units.table import unit_of_symbol

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["format_quantity", "from_unit", "to_unit"]

Number = TypeVar("Number", float, "NDArray[np.float64]")


@lru_cache(maxsize=256)
def _factors(symbol: str) -> tuple[float, float, float]:
    """Numerator, denominator and offset of a unit; two whole floats round less than one inexact factor."""
    unit = unit_of_symbol(symbol)
    return float(unit.scale.numerator), float(unit.scale.denominator), float(unit.offset)


def to_unit(value_si: Number, unit: str) -> Number:
    """Convert an SI value to a unit.

    Parameters
    ----------
    value_si : float or array
        Value [SI unit].
    unit : str
        Canonical symbol of the unit, such as ``"mm"`` or ``"degC"``; ``"delta_degC"`` for a temperature
        difference.

    Returns
    -------
    float or array
        Number in that unit.

    Raises
    ------
    QuantityError
        When the unit is unknown.

    Notes
    -----
    number = (value - offset) / scale.
    """
    numerator, denominator, offset = _factors(unit)
    shifted = value_si - offset if offset else value_si
    return shifted * denominator / numerator if numerator != 1.0 else shifted * denominator


def from_unit(value: Number, unit: str) -> Number:
    """Convert a number in a unit to SI.

    Parameters
    ----------
    value : float or array
        Number in the unit.
    unit : str
        Canonical symbol of the unit, such as ``"mm"`` or ``"degC"``; ``"delta_degC"`` for a temperature
        difference.

    Returns
    -------
    float or array
        Value [SI unit].

    Raises
    ------
    QuantityError
        When the unit is unknown.

    Notes
    -----
    value = number x scale + offset.
    """
    numerator, denominator, offset = _factors(unit)
    scaled = value * numerator / denominator if numerator != 1.0 else value / denominator
    return scaled + offset if offset else scaled


def format_quantity(value_si: float, unit: str, decimals: int | None = None) -> str:
    """Return a value as text with its unit, the same on every machine.

    Parameters
    ----------
    value_si : float
        Value [SI unit], finite.
    unit : str
        Canonical symbol of the unit to show.
    decimals : int, optional
        Decimals, 0 or more; the unit's usual number when left out.

    Returns
    -------
    str
        For instance ``"1.40 mm"``: decimal point, no thousands separators, one space.

    Raises
    ------
    DomainError
        When the value is not finite or the decimals are negative.
    QuantityError
        When the unit is unknown.
    """
    shown = unit_of_symbol(unit)
    number = to_unit(float(value_si), unit)
    if not math.isfinite(number):
        raise DomainError(f"{number} {shown.label} cannot be shown", allowed="a finite value")
    places = shown.decimals if decimals is None else decimals
    if places < 0:
        raise DomainError(f"{places} decimals cannot be shown", allowed="0 or more")
    text = f"{number:.{places}f}"
    if text.startswith("-") and not text.strip("-0."):
        text = text[1:]
    return f"{text} {shown.label}" if shown.label else text
