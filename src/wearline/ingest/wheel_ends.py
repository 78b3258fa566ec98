"""The wheel ends of an inspection, from their tables of the document."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import FieldSpec
from wearline.catalogue.release import load_release_rules
from wearline.errors import ReadingError
from wearline.ingest.context import Context, Position
from wearline.ingest.gauges import GaugeBook
from wearline.ingest.locate import DocumentPath
from wearline.ingest.reading_values import read_reading
from wearline.ingest.wording import NOT_TAKEN, nearest, show
from wearline.records.inspection import Axle, Vehicle, WheelEnd
from wearline.records.place import WheelEndPlace
from wearline.records.readings import Measured, Reading, ReadingKey

__all__ = ["ON_ANY_BRAKE", "WHEEL_END_KEYS", "field_of", "read_wheel_ends"]

WHEEL_END_KEYS = ("at", "noticed", "note", "photographs")

_PADS = ("pad_inner", "pad_outer")
ON_ANY_BRAKE = frozenset(
    {
        "temperature",
        "brake_force",
        "brake_drag",
        "brake_force_2bar",
        "brake_force_4bar",
        "brake_force_swing",
        "parking_force",
        "wheel_load",
        "pressure_threshold",
        "air_leak",
        "action",
        "free_turning",
        "spring_brake",
        "hose",
        "wheel_fasteners",
        "first_look",
        "bearing_end_play",
        "hub_seal",
        "tone_ring",
        "sensor_gap",
        "chamber_fixing",
        "chamber_seal",
        "chamber_size",
        "chamber_stroke",
    }
)
"""Fields that mean something at a drum brake too."""


@dataclass(frozen=True, slots=True)
class _Setting:
    """What every wheel end of one inspection is read with."""

    context: Context
    vehicle: Vehicle
    catalogue: Catalogue
    gauges: GaugeBook


def read_wheel_ends(
    context: Context, value: object, vehicle: Vehicle, catalogue: Catalogue, gauges: GaugeBook
) -> tuple[WheelEnd, ...]:
    """Read every ``[[wheel_end]]``.

    Parameters
    ----------
    context : Context
        Places, units, decimal marks.
    value : object
        The list of tables; None where not given.
    vehicle : Vehicle
        The vehicle, whose wheel ends these are.
    catalogue : Catalogue
        Knows fields and designs.
    gauges : GaugeBook
        The gauges of the inspection.

    Returns
    -------
    tuple of WheelEnd
        Those at which anything was taken or noted, in the order of the file.

    Raises
    ------
    ReadingError, QuantityError
        If a wheel end is unknown or given twice, or a reading is wrong.
    """
    if value is None:
        return ()
    base = Position(("wheel_end",), "")
    if not isinstance(value, list | tuple):
        raise context.fault(
            f"wheel_end is {show(value)}",
            base,
            allowed="[[wheel_end]] once for each wheel end, in double brackets",
        )
    places = vehicle.places
    if len(value) > 4 * len(places):
        raise context.fault(
            f"{len(value)} wheel ends are given, the vehicle has {len(places)}",
            base,
            allowed="each wheel end once",
            cure="Give one inspection per file",
        )
    setting = _Setting(context, vehicle, catalogue, gauges)
    seen: dict[WheelEndPlace, DocumentPath] = {}
    found: list[WheelEnd] = []
    for number, entry in enumerate(value):
        path: DocumentPath = ("wheel_end", number)
        table = context.table(entry, Position(path, f"wheel end {number + 1}"))
        place = _place(context, table.get("at"), Position((*path, "at"), f"wheel end {number + 1}"), vehicle)
        if place in seen:
            first = context.place_in_file(Position((*seen[place], "at"), str(place)))
            raise context.fault(
                f"the wheel end {place} is given twice, first at {first}",
                Position((*path, "at"), str(place)),
                allowed="each wheel end once",
                cure="Merge the two, or correct the name of one",
            )
        seen[place] = path
        wheel_end = _wheel_end(setting, table, place, Position(path, str(place)))
        if wheel_end.readings or wheel_end.noticed or wheel_end.note or wheel_end.photographs:
            found.append(wheel_end)
    return tuple(found)


def _place(context: Context, value: object, position: Position, vehicle: Vehicle) -> WheelEndPlace:
    text = context.text(value, position)
    names = ", ".join(str(place) for place in vehicle.places[:12])
    if not text:
        raise context.fault(
            "it is not said which wheel end this is", position, allowed=names, cure='Write at = "1L"'
        )
    try:
        place = WheelEndPlace.parse(text)
    except ReadingError as error:
        context.reraise(error, position)
    if place not in vehicle.places:
        raise context.fault(
            f"axle {place.axle} of the wheel end {show(text)} is not on the vehicle",
            position,
            allowed=names,
            cure=f'Correct the name, or add an [[axle]] with id = "{place.axle}"',
        )
    return place


def _wheel_end(
    setting: _Setting, table: Mapping[str, Any], place: WheelEndPlace, position: Position
) -> WheelEnd:
    context, catalogue = setting.context, setting.catalogue
    axle = setting.vehicle.axle(place.axle)
    readings: dict[ReadingKey, Reading] = {}
    for key, value in table.items():
        if key in WHEEL_END_KEYS:
            continue
        at = position.child(key)
        spec = field_of(context, key, catalogue.fields, at, of_vehicle=False)
        taken = _field_readings(setting, spec, value, at)
        if taken and axle.brake != "air disc" and key not in ON_ANY_BRAKE:
            raise context.fault(
                f"axle {axle.id} has {axle.brake} brakes; {key} is read at a disc brake",
                at,
                allowed=", ".join(sorted(ON_ANY_BRAKE)),
                cure="Correct the brake of the axle, or leave the field out",
            )
        readings |= taken
    if axle.design:
        _refuse_thicker_than_new(context, readings, catalogue, axle, position)
    words = context.texts(table.get("noticed"), position.child("noticed"))
    return WheelEnd(
        place=place,
        readings=readings,
        noticed=tuple(" ".join(word.split()).lower() for word in words),
        note=context.text(table.get("note"), position.child("note")),
        photographs=context.texts(table.get("photographs"), position.child("photographs"), ";"),
    )


def _field_readings(
    setting: _Setting, spec: FieldSpec, value: object, position: Position
) -> dict[ReadingKey, Reading]:
    """Read one field, at one place or at each of its spots: all of them or none."""
    if not spec.spots:
        reading = read_reading(setting.context, spec, value, position, setting.gauges)
        return {} if reading is None else {(spec.name, ""): reading}
    readings: dict[ReadingKey, Reading] = {}
    for spot, part, spot_position in _spots(setting.context, spec, value, position):
        reading = read_reading(setting.context, spec, part, spot_position, setting.gauges)
        if reading is not None:
            readings[spec.name, spot] = reading
    missing = [spot for spot in spec.spots if (spec.name, spot) not in readings]
    if readings and missing:
        raise setting.context.fault(
            f"{spec.name} has {len(readings)} of {len(spec.spots)} corners; {', '.join(missing)} is missing",
            position,
            allowed="all corners or none",
            cure='Measure it, or write "cannot: ..." with the reason',
        )
    return readings


def field_of(
    context: Context, key: str, fields: Mapping[str, FieldSpec], position: Position, *, of_vehicle: bool
) -> FieldSpec:
    """Return the field of a key, or refuse the key.

    Parameters
    ----------
    context : Context
        For messages.
    key : str
        The key.
    fields : mapping of str to FieldSpec
        The catalogue's fields.
    position : Position
        Where it stands.
    of_vehicle : bool
        Whether a field of the whole vehicle is wanted.

    Returns
    -------
    FieldSpec
        The field.

    Raises
    ------
    ReadingError
        Naming the nearest known key, or the table where the key belongs.
    """
    spec = fields.get(key)
    if spec is not None and spec.vehicle_level is of_vehicle:
        return spec
    if spec is not None:
        there = "[vehicle_checks]" if spec.vehicle_level else "[[wheel_end]]"
        raise context.fault(
            f"{key} is read at {'the vehicle' if spec.vehicle_level else 'a wheel end'}",
            position,
            allowed=f"{key} under {there}",
            cure="Move it there",
        )
    names = [name for name, known in fields.items() if known.vehicle_level is of_vehicle]
    names += [] if of_vehicle else list(WHEEL_END_KEYS)
    near = nearest(key, names)
    raise context.fault(
        f"{show(key)} is not a known key of {'the vehicle checks' if of_vehicle else 'a wheel end'}",
        position,
        allowed=", ".join(names) if of_vehicle else f"the {len(names)} fields of a blank sheet",
        cure=f"Did you mean '{near}'?" if near else "Put remarks into 'note'",
    )


def _spots(
    context: Context, spec: FieldSpec, value: object, position: Position
) -> list[tuple[str, object, Position]]:
    """Split a field with several places, given as a list in their order, a table by name, or one refusal."""
    order = ", ".join(spec.spots)
    if isinstance(value, list | tuple):
        if value and len(value) != len(spec.spots):
            raise context.fault(
                f"{spec.name} has {len(value)} of {len(spec.spots)} corners",
                position,
                allowed=f"{len(spec.spots)} readings in the order {order}",
                cure='Write "cannot: ..." for a corner that cannot be measured',
            )
        return [
            (spot, part, Position((*position.path, n), f"{position.label} {spot}"))
            for n, (spot, part) in enumerate(zip(spec.spots, value, strict=False))
        ]
    if isinstance(value, Mapping) and "cannot" not in value:
        table = context.table(value, position)
        by_name = {key.upper(): key for key in table}
        context.refuse_unknown({key.upper(): None for key in table}, spec.spots, position, spec.name)
        return [
            (spot, table[by_name[spot]], position.child(by_name[spot]))
            for spot in spec.spots
            if spot in by_name
        ]
    text = value.strip().casefold() if isinstance(value, str) else ""
    if value is None or (isinstance(value, str) and text in NOT_TAKEN):
        return []
    if isinstance(value, Mapping) or text.startswith("cannot"):
        return [(spot, value, position) for spot in spec.spots]
    raise context.fault(
        f"{spec.name} is {show(value)}",
        position,
        allowed=f"{len(spec.spots)} readings in the order {order}",
        cure=f'Write {spec.name} = ["9.8 mm", "9.7 mm", "9.5 mm", "9.3 mm"]',
    )


def _refuse_thicker_than_new(
    context: Context,
    readings: Mapping[ReadingKey, Reading],
    catalogue: Catalogue,
    axle: Axle,
    position: Position,
) -> None:
    design = catalogue.designs[axle.design]
    tolerance = load_release_rules().number("new_pad_tolerance")
    for (name, spot), reading in readings.items():
        if name not in _PADS or not isinstance(reading, Measured):
            continue
        spec = catalogue.fields[name]
        highest = design.friction_new * (1.0 + tolerance) + 2.0 * spec.u
        if reading.value > highest:
            index = spec.spots.index(spot)
            raise context.fault(
                f"{name} {spot} of {position.label} is {reading.raw}; a new pad of {axle.design} has "
                f"{design.friction_new * 1000:.1f} mm of friction",
                Position((*position.path, name, index), f"{position.label} {name} {spot}"),
                allowed=f"at most {highest * 1000:.1f} mm",
                cure=f"Was the plate ({design.plate * 1000:.0f} mm) counted in? Give the friction only, "
                "or name the right design",
            )
