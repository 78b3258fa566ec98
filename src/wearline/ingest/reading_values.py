"""One value of the document into one reading: measured, observed in words, or not measurable with the reason.

Raw texts are kept. Repeated readings are kept as ``"0.28 mm; 0.11 mm; 0.24 mm"``; where the person also gave
the value that stands for them, as ``"0.22 mm of 0.28 mm; 0.11 mm; 0.24 mm"``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from wearline.catalogue.model import FieldSpec
from wearline.errors import QuantityError
from wearline.ingest.context import Context, Position
from wearline.ingest.gauges import GaugeBook, gauge_name, kind_of_uncertainty
from wearline.ingest.possible import refuse_impossible
from wearline.ingest.wording import NOT_TAKEN, match_word, nearest, show
from wearline.records.readings import Measured, Observed, Reading, Unmeasurable
from wearline.units import Kind, Quantity, find_unit, unit_for

__all__ = [
    "INCH_UNITS",
    "READINGS_OF",
    "READINGS_SEPARATOR",
    "default_unit_of",
    "read_reading",
    "without_per_minute",
]

READINGS_SEPARATOR = "; "
READINGS_OF = " of "

_CANNOT = re.compile(r"\s*cannot\s*:\s*(?:because\b\s*)?:?\s*(.*)", re.IGNORECASE | re.DOTALL)
_PER_MINUTE = re.compile(r"\s*(?:/|per\b)\s*min(?:ute)?\.?\s*$", re.IGNORECASE)
_LOST_PER_MINUTE = frozenset({"air_loss_released", "air_loss_applied"})
_TABLE_KEYS = ("value", "unit", "u", "gauge", "readings", "cannot")
MAXIMUM_REPEATS = 1_000

INCH_UNITS = {
    Kind.LENGTH: "in",
    Kind.FORCE: "lbf",
    Kind.PRESSURE: "psi",
    Kind.TORQUE: "lbf ft",
    Kind.TEMPERATURE: "degF",
    Kind.FRACTION: "%",
    Kind.MASS: "lb",
    Kind.DISTANCE: "ft",
    Kind.ACCELERATION: "ft/s2",
}
"""Unit that ``units = "inch"`` gives to a bare number; a road distance there is the stop of a brake test."""


def without_per_minute(name: str, text: str) -> str:
    """Return the text of a pressure lost per minute without ``/min``; any other text as it is.

    Parameters
    ----------
    name : str
        Field.
    text : str
        What was typed.

    Returns
    -------
    str
        Number and unit of pressure.
    """
    return _PER_MINUTE.sub("", text) if name in _LOST_PER_MINUTE else text


def default_unit_of(context: Context, spec: FieldSpec) -> str | None:
    """Return the unit that a bare number of a field takes.

    Parameters
    ----------
    context : Context
        Holds ``[inspection] units``.
    spec : FieldSpec
        The field.

    Returns
    -------
    str or None
        None where a bare number has to be refused.
    """
    if spec.kind is None or spec.kind is Kind.COUNT:
        return None
    found = context.units.get(spec.name) or context.units.get(spec.kind.name.lower())
    if found:
        return found
    if context.unit_style == "metric":
        return spec.unit
    return INCH_UNITS.get(spec.kind) if context.unit_style == "inch" else None


def read_reading(
    context: Context, spec: FieldSpec, value: object, position: Position, gauges: GaugeBook
) -> Reading | None:
    """Read one value.

    Parameters
    ----------
    context : Context
        Places, units, decimal marks.
    spec : FieldSpec
        The field.
    value : object
        A text, a bare number, or a table ``{value, unit, u, gauge, readings}`` or ``{cannot}``.
    position : Position
        Where it stands.
    gauges : GaugeBook
        The gauges of the inspection.

    Returns
    -------
    Measured, Observed, Unmeasurable or None
        None where nothing was taken.

    Raises
    ------
    ReadingError, QuantityError
        If the value is not one clear, possible reading of the field.
    """
    if isinstance(value, Mapping):
        return _read_table(context, spec, context.table(value, position), position, gauges)
    if value is None:
        return None
    if isinstance(value, list | tuple):
        raise context.fault(
            f"{position.label} is a list",
            position,
            allowed="one reading, or { readings = [...] } for repeated ones",
            cure="Only pad_inner and pad_outer have four places",
        )
    if isinstance(value, str):
        if value.strip().casefold() in NOT_TAKEN:
            return None
        reason = _CANNOT.fullmatch(value)
        if reason is not None:
            return _unmeasurable(context, reason[1], position)
    if spec.is_text:
        text = context.text(value, position)
        return Observed(text, text)
    word = _word(context, spec, value, position)
    if word is not None:
        return word
    return _measured(context, spec, _Parts(value, default_unit_of(context, spec)), position)


def _unmeasurable(context: Context, reason: object, position: Position) -> Unmeasurable:
    text = context.text(reason, position)
    if not text:
        raise context.fault(
            f"{position.label} cannot be measured, but no reason is given",
            position,
            allowed='"cannot: pins seized" or { cannot = "pins seized" }',
            cure="Say why, or leave the field out if it was not tried",
        )
    return Unmeasurable(text)


def _word(context: Context, spec: FieldSpec, value: object, position: Position) -> Observed | None:
    """Match one of the field's words; None if the field has none, or a number stands there."""
    if not spec.words:
        return None
    words = tuple(spec.words)
    text = value if isinstance(value, str) else None
    found = match_word(text, words) if text is not None else None
    if found is not None and text is not None:
        return Observed(found, str(text))
    if spec.kind is not None and (text is None or any(character.isdigit() for character in text)):
        return None
    near = nearest(text, words) if text is not None else ""
    with_number = f", or a {spec.kind.value} with its unit" if spec.kind is not None else ""
    raise context.fault(
        f"{position.label} is {show(value)}, which is none of its words",
        position,
        allowed=", ".join(words) + with_number,
        cure=f"Did you mean '{near}'?" if near else "Write one of these words; put remarks into 'note'",
    )


@dataclass(frozen=True, slots=True)
class _Parts:
    """The parts of a measured reading as the document gives them."""

    value: object
    default_unit: str | None
    readings: tuple[object, ...] = ()
    u: object = None
    gauge: str = ""


def _read_table(
    context: Context, spec: FieldSpec, table: Mapping[str, Any], position: Position, gauges: GaugeBook
) -> Reading | None:
    context.refuse_unknown(table, _TABLE_KEYS, position, "a reading")
    if "cannot" in table:
        if len(table) > 1:
            raise context.fault(
                f"{position.label} both has a value and cannot be measured",
                position,
                allowed="either { cannot = ... } or { value = ... }",
                cure="Keep the one that is true",
            )
        return _unmeasurable(context, table["cannot"], position.child("cannot", position.label))
    value, repeats = table.get("value"), table.get("readings")
    if isinstance(value, Mapping | list | tuple):
        raise context.fault(
            f"{position.label} has a value that is {show(value)}", position, allowed="one reading"
        )
    if spec.kind is None or not _is_number_like(value, repeats):
        lone = table.keys() <= {"value", "unit"}
        if (value is not None or repeats is None) and lone:
            return read_reading(context, spec, value, position.child("value", position.label), gauges)
        raise context.fault(
            f"{position.label} has an uncertainty, a gauge or repeated readings, but no number",
            position,
            allowed='{ value = "1.41 mm", u = "0.05 mm", gauge = "dial-7", readings = [...] }',
            cure="Write words and remarks as a plain text",
        )
    parts = _Parts(
        value=value,
        default_unit=_unit_of_table(context, spec, table, position),
        readings=_repeats(context, repeats, position.child("readings", position.label)),
        u=table.get("u"),
        gauge=gauge_name(context, spec, table.get("gauge"), position.child("gauge", position.label), gauges),
    )
    return _measured(context, spec, parts, position)


def _is_number_like(value: object, repeats: object) -> bool:
    if value is None:
        return repeats is not None
    if isinstance(value, str):
        return any(character.isdigit() for character in value) and _CANNOT.fullmatch(value) is None
    return True


def _unit_of_table(
    context: Context, spec: FieldSpec, table: Mapping[str, Any], position: Position
) -> str | None:
    stated = context.text(table.get("unit"), position.child("unit", position.label))
    if not stated or spec.kind is None:
        return default_unit_of(context, spec)
    if spec.kind is Kind.COUNT:
        return None
    stated = without_per_minute(spec.name, stated)
    try:
        return unit_for(stated, spec.kind).symbol
    except QuantityError as error:
        context.reraise(error, position)


def _repeats(context: Context, repeats: object, position: Position) -> tuple[object, ...]:
    if repeats is None:
        return ()
    if not isinstance(repeats, list | tuple) or not 1 <= len(repeats) <= MAXIMUM_REPEATS:
        raise context.fault(
            f"the readings of {position.label} are {show(repeats)}",
            position,
            allowed=f"a list of 1 to {MAXIMUM_REPEATS} readings",
            cure='Write readings = ["0.28 mm", "0.11 mm", "0.24 mm"]',
        )
    return tuple(repeats)


def _measured(context: Context, spec: FieldSpec, parts: _Parts, position: Position) -> Measured:
    """Make the reading of a value, of repeated readings, or of both."""
    value, repeats = parts.value, parts.readings
    text = None
    if not repeats and isinstance(value, str) and (";" in value or READINGS_OF in value):
        text = str(value)
        value, repeats = _split_repeats(value)
    quantities = _repeated_quantities(context, spec, repeats, parts.default_unit, position)
    if value is None:
        first = quantities[0]
        exact = sum((quantity.exact for quantity in quantities), Fraction(0)) / len(quantities)
    else:
        unit = quantities[0].unit if quantities else parts.default_unit
        first = _quantity(context, spec, value, position, unit)
        exact = first.exact
        if quantities:
            _check_stands_for(context, first, quantities, position)
    if text is None:
        text = READINGS_SEPARATOR.join(quantity.raw for quantity in quantities)
        if value is not None:
            text = f"{first.raw}{READINGS_OF}{text}" if text else first.raw
    return Measured(
        value=float(exact),
        raw=text,
        unit=first.unit,
        resolution=float(first.resolution),
        u=_uncertainty(context, spec, parts.u, first.unit, position.child("u", position.label)),
        gauge=parts.gauge,
        repeats=tuple(quantity.value for quantity in quantities),
    )


def _split_repeats(text: str) -> tuple[object, tuple[object, ...]]:
    """Split ``"0.28; 0.11; 0.24 mm"`` or ``"0.22 mm of 0.28 mm; 0.11 mm"``."""
    head, of, tail = text.rpartition(READINGS_OF)
    parts = tuple(part for part in tail.split(";") if part.strip())
    return (head if of else None), parts or ("",)


def _repeated_quantities(
    context: Context,
    spec: FieldSpec,
    repeats: Sequence[object],
    default_unit: str | None,
    position: Position,
) -> list[Quantity]:
    """Read repeated readings; those without a unit take the unit of the last."""
    if not repeats:
        return []
    last = _quantity(context, spec, repeats[-1], position, default_unit)
    quantities = [_quantity(context, spec, part, position, last.unit) for part in repeats[:-1]]
    quantities.append(last)
    if len({quantity.unit for quantity in quantities}) > 1:
        raise context.fault(
            f"the readings of {position.label} are in different units",
            position,
            allowed="repeated readings in one unit",
            cure="Write them all in the unit of the gauge",
        )
    return quantities


def _check_stands_for(
    context: Context, value: Quantity, quantities: Sequence[Quantity], position: Position
) -> None:
    """A value that stands for repeated readings lies among them, rounding aside."""
    step = max(value.resolution, *(quantity.resolution for quantity in quantities))
    low = min(quantity.exact for quantity in quantities) - step
    high = max(quantity.exact for quantity in quantities) + step
    if not low <= value.exact <= high:
        raise context.fault(
            f"{position.label} is given as {value.raw}, which is not among its readings "
            f"({READINGS_SEPARATOR.join(quantity.raw for quantity in quantities[:6])})",
            position,
            allowed="a value between the lowest and the highest of the readings",
            cure="Leave 'value' out, then the mean is taken",
        )


def _quantity(
    context: Context, spec: FieldSpec, value: object, position: Position, default_unit: str | None
) -> Quantity:
    """Read one number of a field and refuse what is physically impossible."""
    kind = spec.kind
    if kind is None:
        raise context.fault(f"{position.label} is {show(value)}", position, allowed=", ".join(spec.words))
    if isinstance(value, str):
        bare = type(value)(without_per_minute(spec.name, value))
        quantity = replace(context.quantity(bare, kind, position, default_unit), raw=str(value))
    else:
        quantity = context.quantity(value, kind, position, default_unit)
    refuse_impossible(context, spec, quantity, position)
    return quantity


def _uncertainty(
    context: Context, spec: FieldSpec, value: object, unit: str, position: Position
) -> float | None:
    """Read the standard uncertainty that a person gave, in the unit of the reading unless it has its own."""
    if value is None or spec.kind is None:
        return None
    if isinstance(value, Mapping):
        context.refuse_unknown(value, ("value", "unit"), position, "an uncertainty")
        unit = context.text(value.get("unit"), position) or unit
        value = value.get("value")
    kind = kind_of_uncertainty(spec.kind)
    default: str | None = unit
    if kind is Kind.TEMPERATURE_DIFFERENCE:
        found = find_unit(unit, kind)
        default = found.symbol if found is not None else None
    quantity = context.quantity(value, kind, position, None if kind is Kind.COUNT else default)
    if quantity.exact <= 0:
        raise context.fault(
            f"the uncertainty of {position.label} is {quantity.raw}",
            position,
            allowed="a standard uncertainty greater than zero",
            cure="Leave it out to take the usual one of the gauge",
        )
    if spec.possible is not None and quantity.value > spec.possible[1] - spec.possible[0]:
        raise context.fault(
            f"the uncertainty of {position.label} is {quantity.raw}, more than the field can span",
            position,
            allowed=f"a standard uncertainty, where {spec.possible_text} is possible",
            cure="Check its unit",
        )
    return quantity.value
