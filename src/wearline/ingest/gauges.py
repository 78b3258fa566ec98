"""The gauges that an inspection names."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from wearline.catalogue.model import FieldSpec
from wearline.ingest.context import Context, Position
from wearline.ingest.days import read_date
from wearline.ingest.wording import NOT_TAKEN, nearest, show
from wearline.records.readings import Gauge
from wearline.units import Kind, find_unit

__all__ = ["GaugeBook", "gauge_name", "kind_of_uncertainty", "read_gauges"]

_GAUGE_KEYS = ("description", "u", "u_si", "calibrated_on")


@dataclass(frozen=True, slots=True)
class GaugeBook:
    """The gauges that the inspection names.

    Parameters
    ----------
    gauges : mapping of str to Gauge
        By id; empty where the file has no such table, and then any name is taken.
    kinds : mapping of str to tuple of Kind
        Kinds of quantity that the stated uncertainty of a gauge may have.
    """

    gauges: Mapping[str, Gauge]
    kinds: Mapping[str, tuple[Kind, ...]]


def kind_of_uncertainty(kind: Kind) -> Kind:
    """Return the kind of an uncertainty: that of a temperature is a difference, without an offset.

    Parameters
    ----------
    kind : Kind
        Kind of the reading.

    Returns
    -------
    Kind
        Kind of its uncertainty.
    """
    return Kind.TEMPERATURE_DIFFERENCE if kind is Kind.TEMPERATURE else kind


def read_gauges(context: Context, value: object, position: Position, taken_on: date) -> GaugeBook:
    """Read ``[inspection.gauges]``.

    Parameters
    ----------
    context : Context
        For messages and notices.
    value : object
        The table; None where not given.
    position : Position
        Where it stands.
    taken_on : date
        Day of the readings.

    Returns
    -------
    GaugeBook
        The gauges.

    Raises
    ------
    ReadingError
        If a gauge has an unknown key, or an uncertainty that is none.
    """
    gauges: dict[str, Gauge] = {}
    kinds: dict[str, tuple[Kind, ...]] = {}
    if value is None:
        return GaugeBook(gauges, kinds)
    for name, entry in context.table(value, position).items():
        at = position.child(name, f"gauge {name}")
        table = context.table(entry, at)
        context.text(name, at)
        context.refuse_unknown(table, _GAUGE_KEYS, at, "a gauge")
        uncertainty, kinds[name] = _gauge_uncertainty(context, table, at)
        calibrated = read_date(context, table.get("calibrated_on"), at.child("calibrated_on"))
        if calibrated is not None and calibrated > taken_on:
            context.notice(
                "gauge-calibrated-later",
                f"the gauge '{name}' was calibrated on {calibrated.isoformat()}, after the readings",
                at.child("calibrated_on"),
                cure="Check both dates; state the calibration that was in force",
            )
        gauges[name] = Gauge(
            id=name,
            description=context.text(table.get("description"), at.child("description")),
            u=uncertainty,
            calibrated_on=calibrated.isoformat() if calibrated is not None else "",
        )
    return GaugeBook(gauges, kinds)


_GAUGE_KINDS = (
    Kind.LENGTH,
    Kind.FORCE,
    Kind.PRESSURE,
    Kind.TORQUE,
    Kind.TEMPERATURE_DIFFERENCE,
    Kind.FRACTION,
    Kind.MASS,
    Kind.ACCELERATION,
    Kind.VOLTAGE,
)


def _gauge_uncertainty(
    context: Context, table: Mapping[str, Any], position: Position
) -> tuple[float | None, tuple[Kind, ...]]:
    """Read the uncertainty of a gauge; its unit tells what it measures."""
    value, at = table.get("u"), position.child("u")
    found: tuple[Kind, ...] = ()
    if value is None or (isinstance(value, str) and value.strip().casefold() in NOT_TAKEN):
        if table.get("u_si") is None:
            return None, ()
        value, at = table["u_si"], position.child("u_si")
        exact = context.quantity(value, Kind.LENGTH, at, "m").exact
    else:
        text = context.text(value, at)
        unit = re.sub(r"^[-+0-9.,/ ]*", "", text)
        found = tuple(kind for kind in _GAUGE_KINDS if unit and find_unit(unit, kind) is not None)
        if not found:
            raise context.fault(
                f"the uncertainty of the gauge is {show(text)}",
                at,
                allowed="a standard uncertainty with its unit, as '0.01 mm'",
                cure="Write the unit that the gauge reads in",
            )
        exact = context.quantity(value if isinstance(value, str) else text, found[0], at).exact
    if exact <= 0:
        raise context.fault(
            f"the uncertainty of the gauge is {show(value)}",
            at,
            allowed="more than zero",
            cure="Leave it out",
        )
    return float(exact), found


def gauge_name(
    context: Context, spec: FieldSpec, value: object, position: Position, gauges: GaugeBook
) -> str:
    """Return the gauge that a reading names.

    Parameters
    ----------
    context : Context
        For messages.
    spec : FieldSpec
        The field.
    value : object
        The name; None where not given.
    position : Position
        Where it stands.
    gauges : GaugeBook
        The gauges of the inspection.

    Returns
    -------
    str
        The name, empty where none is given.

    Raises
    ------
    ReadingError
        If the inspection lists gauges but not this one, or the gauge measures something else.
    """
    name = context.text(value, position)
    if not name or not gauges.gauges:
        return name
    if name not in gauges.gauges:
        near = nearest(name, gauges.gauges)
        raise context.fault(
            f"{position.label} names the gauge {show(name)}, which the inspection does not have",
            position,
            allowed=", ".join(sorted(gauges.gauges)),
            cure=f"Did you mean '{near}'?" if near else "Add it under [inspection.gauges]",
        )
    kinds = gauges.kinds.get(name, ())
    if kinds and spec.kind is not None and kind_of_uncertainty(spec.kind) not in kinds:
        raise context.fault(
            f"the gauge '{name}' measures a {kinds[0].value}, but {spec.name} is a {spec.kind.value}",
            position,
            allowed=f"a gauge for a {spec.kind.value}",
            cure="Name the gauge that was used",
        )
    return name
