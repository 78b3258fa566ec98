"""Refuse what no gauge can have shown, and suggest the slip that explains it."""

from __future__ import annotations

import re

from wearline.catalogue.model import FieldSpec
from wearline.ingest.context import Context, Position
from wearline.units import Kind, Quantity, find_unit

__all__ = ["refuse_impossible"]

_ROUNDING = 1e-12
"""Relative; a possible range is closed, and its ends are floats."""

_SLIPS: dict[str, tuple[str, ...]] = {
    "mm": ("thou", "in", "um"),
    "cm": ("mm",),
    "in": ("thou", "mm"),
    "thou": ("mm", "um"),
    "kN": ("daN", "N"),
    "N": ("kN",),
    "bar": ("psi", "kPa"),
    "kPa": ("bar", "psi"),
    "kg": ("t",),
    "t": ("kg",),
    "degC": ("degF",),
}
"""Units that a number in this unit may have been read in by mistake; only ever suggested."""


def refuse_impossible(context: Context, spec: FieldSpec, quantity: Quantity, position: Position) -> None:
    """Refuse a quantity outside the possible range of its field.

    Parameters
    ----------
    context : Context
        For the message.
    spec : FieldSpec
        The field.
    quantity : Quantity
        What was read.
    position : Position
        Where it stands.

    Raises
    ------
    ReadingError
        Naming the range, and the unit in which the same number would be possible.
    """
    if spec.possible is None:
        return
    low, high = spec.possible
    slack = _ROUNDING * max(abs(low), abs(high))
    if low - slack <= quantity.value <= high + slack:
        return
    shown = quantity.raw.strip()
    if re.fullmatch(r"[0-9+\-.,/ ]+", shown):
        shown = f"{shown} {_label(quantity)}".strip()
    place, _, name = position.label.partition(" ")
    subject = f"{name} of {place}" if name else position.label
    raise context.fault(
        f"{subject} is {shown}; {spec.possible_text} is possible",
        position,
        cure=_cure(spec, quantity),
    )


def _label(quantity: Quantity) -> str:
    unit = find_unit(quantity.unit, quantity.kind)
    return "" if unit is None or unit.symbol == "1" else unit.label


def _cure(spec: FieldSpec, quantity: Quantity) -> str:
    """Suggest the unit in which the same number would be possible."""
    if quantity.exact < 0 and quantity.kind is not Kind.TEMPERATURE:
        return "Check the sign"
    number = quantity.number
    written = re.match(r"[0-9 .,/+-]*", quantity.raw.strip())
    digits = written[0].strip() if written else str(float(number))
    if spec.possible is not None:
        low, high = spec.possible
        for symbol in _SLIPS.get(quantity.unit, ()):
            unit = find_unit(symbol, quantity.kind)
            if unit is not None and low < number * unit.scale + unit.offset <= high:
                if symbol == "thou":
                    return f"Did the gauge read thousandths of an inch? Write '{digits} thou'"
                return f"Was it read in {unit.label}? Write '{digits} {unit.label}'"
    return spec.cure
