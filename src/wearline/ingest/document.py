"""From a document, however it was written, to a vehicle or an inspection."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from wearline.catalogue.load_rules import PACK_IDS
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import FieldSpec
from wearline.ingest.context import Context, Position
from wearline.ingest.days import read_date
from wearline.ingest.facts import (
    INSPECTION_KEYS,
    read_count,
    read_distance,
    read_peer_wear,
    read_rule_packs,
    read_time,
    read_units,
    read_vehicle_tables,
)
from wearline.ingest.gauges import GaugeBook, read_gauges
from wearline.ingest.locate import Locator
from wearline.ingest.reading_values import read_reading
from wearline.ingest.wheel_ends import field_of, read_wheel_ends
from wearline.records.inspection import Counters, Inspection, Vehicle, WheelEnd
from wearline.records.readings import Measured, Reading, ReadingKey

__all__ = ["DOCUMENT_KEYS", "inspection_from_document", "vehicle_from_document"]

DOCUMENT_KEYS = (
    "vehicle",
    "axle",
    "inspection",
    "peer_wear_mm_per_10000_km",
    "vehicle_checks",
    "wheel_end",
)


def vehicle_from_document(
    document: Mapping[str, Any], *, where: str, catalogue: Catalogue, lines: Locator | None = None
) -> Vehicle:
    """Read the vehicle of a document that holds ``[vehicle]`` and ``[[axle]]``, or a whole inspection.

    Parameters
    ----------
    document : mapping
        The document.
    where : str
        What messages call it.
    catalogue : Catalogue
        Knows the designs.
    lines : callable, optional
        From a path in the document to its line or cell.

    Returns
    -------
    Vehicle
        The vehicle.

    Raises
    ------
    ReadingError, QuantityError
        If a fact is missing, unknown or impossible.
    """
    context = Context(where, lines)
    whole = context.table(document, Position(()))
    context.refuse_unknown(whole, DOCUMENT_KEYS, Position(()), "an inspection file")
    return read_vehicle_tables(context, whole, catalogue)


def inspection_from_document(
    document: Mapping[str, Any],
    *,
    where: str,
    today: date,
    catalogue: Catalogue,
    lines: Locator | None = None,
) -> Inspection:
    """Read an inspection from a document of the inspection file's shape.

    Parameters
    ----------
    document : mapping
        Tables ``vehicle``, ``axle``, ``inspection``, ``wheel_end`` and the optional ones.
    where : str
        What messages call it.
    today : date
        No reading can be younger.
    catalogue : Catalogue
        Knows fields, designs and rule packs.
    lines : callable, optional
        From a path in the document to its line or cell.

    Returns
    -------
    Inspection
        The facts, with notices of what was odd in the file.

    Raises
    ------
    ReadingError, QuantityError
        If anything is missing, unknown, impossible, contradictory or given twice: the first one met.
    """
    context = Context(where, lines)
    whole = context.table(document, Position(()))
    context.refuse_unknown(whole, DOCUMENT_KEYS, Position(()), "an inspection file")
    vehicle = read_vehicle_tables(context, whole, catalogue)
    at = Position(("inspection",), "inspection")
    facts = context.table(whole.get("inspection", {}), at)
    context.refuse_unknown(facts, INSPECTION_KEYS, at, "the inspection")
    taken_on = _taken_on(context, facts, at, vehicle, today)
    fields = catalogue.fields
    read_units(
        context, facts.get("units"), at.child("units"), {name: spec.kind for name, spec in fields.items()}
    )
    gauges = read_gauges(context, facts.get("gauges"), at.child("gauges"), taken_on)
    odometer, since_pads = _distances(context, facts, at)
    peer_wear = read_peer_wear(
        context, whole.get("peer_wear_mm_per_10000_km"), [axle.id for axle in vehicle.axles]
    )
    wheel_ends = read_wheel_ends(context, whole.get("wheel_end"), vehicle, catalogue, gauges)
    vehicle_readings = _vehicle_readings(context, whole.get("vehicle_checks"), fields, gauges)
    if not wheel_ends and not vehicle_readings:
        raise context.fault(
            "no reading is filled in",
            Position(()),
            allowed="at least one reading of one wheel end",
            cure="Fill in the sheet; was the right file named?",
        )
    _note_unused_gauges(context, gauges, wheel_ends, vehicle_readings, at)
    return Inspection(
        vehicle=vehicle,
        taken_on=taken_on,
        wheel_ends=wheel_ends,
        odometer=odometer,
        distance_since_pads=since_pads,
        inspector=context.text(facts.get("inspector"), at.child("inspector")),
        qualification=context.text(facts.get("qualification"), at.child("qualification")),
        rule_packs=read_rule_packs(context, facts.get("rule_pack"), at.child("rule_pack"), PACK_IDS),
        gauges=gauges.gauges,
        peer_wear=peer_wear,
        next_wheels_off=read_distance(context, facts, {"next_wheels_off_km": "km"}, at),
        vehicle_readings=vehicle_readings,
        note=context.text(facts.get("note"), at.child("note")),
        place=context.text(facts.get("place"), at.child("place")),
        notices=tuple(context.notices),
        counters=_counters(context, facts, at),
        pads_run=_pads_run(context, whole["axle"], vehicle, odometer),
    )


def _pads_run(context: Context, tables: Any, vehicle: Vehicle, odometer: float | None) -> dict[str, float]:
    """Read the distance since the pads were new of every axle that gives its own."""
    runs: dict[str, float] = {}
    for number, (table, axle) in enumerate(zip(tables, vehicle.axles, strict=True)):
        position = Position(("axle", number), f"axle {axle.id}")
        run = read_distance(context, table, {"km_since_pads": "km", "mi_since_pads": "mi"}, position)
        if run is None:
            continue
        if odometer is not None and run > odometer:
            raise context.fault(
                f"the pads of axle {axle.id} have run {run / 1000:g} km, "
                f"the vehicle only {odometer / 1000:g} km",
                position.child("km_since_pads"),
                allowed="a distance since the pads were new that is not above the odometer",
                cure="Check both; after an exchange of the odometer leave it out and say so in the note",
            )
        runs[axle.id] = run
    return runs


def _counters(context: Context, facts: Mapping[str, Any], position: Position) -> Counters:
    hours = read_time(context, facts, {"hour_counter_h": "h", "hour_counter": None}, position)
    since = read_time(context, facts, {"h_since_pads": "h"}, position)
    stops = read_count(context, facts, "stop_counter", position)
    stops_since = read_count(context, facts, "stops_since_pads", position)
    for key, part, whole, unit, scale in (
        ("h_since_pads", since, hours, "h", 3600.0),
        ("stops_since_pads", stops_since, stops, "stops", 1.0),
    ):
        if part is not None and whole is not None and part > whole:
            raise context.fault(
                f"the pads have run {part / scale:g} {unit}, the vehicle only {whole / scale:g} {unit}",
                position.child(key),
                allowed="no more since the pads were new than the counter shows",
                cure="Check both; after an exchange of the counter leave it out and say so in the note",
            )
    return Counters(hours, stops, since, stops_since)


def _taken_on(
    context: Context, facts: Mapping[str, Any], position: Position, vehicle: Vehicle, today: date
) -> date:
    at = position.child("taken_on")
    taken_on = read_date(context, facts.get("taken_on"), at, latest=today)
    if taken_on is None:
        raise context.fault(
            "taken_on is missing",
            at,
            allowed="the day of the readings, as 2026-09-14",
            cure="Write taken_on",
        )
    if vehicle.built_on and taken_on.isoformat() < vehicle.built_on:
        raise context.fault(
            f"taken_on {taken_on.isoformat()} lies before built_on {vehicle.built_on}",
            at,
            cure="Check both days",
        )
    return taken_on


def _distances(
    context: Context, facts: Mapping[str, Any], position: Position
) -> tuple[float | None, float | None]:
    usual = context.units.get("distance") or {"metric": "km", "inch": "mi"}.get(context.unit_style)
    odometer = read_distance(
        context, facts, {"odometer_km": "km", "odometer_mi": "mi", "odometer": usual}, position
    )
    since_pads = read_distance(context, facts, {"km_since_pads": "km", "mi_since_pads": "mi"}, position)
    if odometer is not None and since_pads is not None and since_pads > odometer:
        raise context.fault(
            f"the pads have run {since_pads / 1000:g} km, the vehicle only {odometer / 1000:g} km",
            position.child("km_since_pads"),
            allowed="a distance since the pads were new that is not above the odometer",
            cure="Check both; after an exchange of the odometer leave it out and say so in the note",
        )
    return odometer, since_pads


def _vehicle_readings(
    context: Context, value: object, fields: Mapping[str, FieldSpec], gauges: GaugeBook
) -> dict[ReadingKey, Reading]:
    if value is None:
        return {}
    position = Position(("vehicle_checks",), "")
    readings: dict[ReadingKey, Reading] = {}
    for key, part in context.table(value, position).items():
        at = position.child(key)
        spec = field_of(context, key, fields, at, of_vehicle=True)
        reading = read_reading(context, spec, part, at, gauges)
        if reading is not None:
            readings[key, ""] = reading
    return readings


def _note_unused_gauges(
    context: Context,
    gauges: GaugeBook,
    wheel_ends: tuple[WheelEnd, ...],
    vehicle_readings: Mapping[ReadingKey, Reading],
    position: Position,
) -> None:
    used = {
        reading.gauge
        for readings in (vehicle_readings, *(wheel_end.readings for wheel_end in wheel_ends))
        for reading in readings.values()
        if isinstance(reading, Measured)
    }
    for name in gauges.gauges:
        if name not in used:
            context.notice(
                "gauge-not-used",
                f"no reading names the gauge '{name}'",
                position.child("gauges").child(name, f"gauge {name}"),
                cure=f'Write gauge = "{name}" at the readings that were taken with it',
            )
