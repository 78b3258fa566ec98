"""The vehicle, its axles and the facts of the inspection, from their tables of the document."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from wearline.catalogue.loading import Catalogue
from wearline.errors import QuantityError
from wearline.ingest.context import Context, Position
from wearline.ingest.days import read_date
from wearline.ingest.wording import NOT_TAKEN, nearest, show
from wearline.records.inspection import AXLE_ROLES, VEHICLE_KINDS, WEAR_AXES, Axle, Vehicle
from wearline.units import Kind, unit_for

__all__ = [
    "AXLE_KEYS",
    "BRAKES",
    "INSPECTION_KEYS",
    "MAXIMUM_AXLES",
    "RETARDER_WORDS",
    "VEHICLE_KEYS",
    "WHEEL_WORDS",
    "read_count",
    "read_distance",
    "read_peer_wear",
    "read_rule_packs",
    "read_time",
    "read_units",
    "read_vehicle_tables",
]

MAXIMUM_AXLES = 64
VEHICLE_KEYS = (
    "id",
    "description",
    "kind",
    "test_mass_kg",
    "test_mass",
    "rated_mass_kg",
    "rated_mass",
    "design",
    "duty",
    "retarder",
    "built_on",
    "wear_axis",
    "labels",
)
AXLE_KEYS = ("id", "role", "design", "wheels", "brake", "km_since_pads", "mi_since_pads")
INSPECTION_KEYS = (
    "taken_on",
    "odometer_km",
    "odometer_mi",
    "odometer",
    "km_since_pads",
    "mi_since_pads",
    "hour_counter_h",
    "hour_counter",
    "stop_counter",
    "h_since_pads",
    "stops_since_pads",
    "inspector",
    "qualification",
    "units",
    "rule_pack",
    "gauges",
    "note",
    "place",
    "next_wheels_off_km",
)
WHEEL_WORDS = ("single", "dual")
BRAKES = ("air disc", "drum")
RETARDER_WORDS = ("fitted", "not fitted")

_AXLE_ID = re.compile(r"T?[1-9][0-9]?", re.IGNORECASE)
_LABEL = re.compile(r"[a-z][a-z0-9_-]{0,29}")
_MASS_RANGE = (Fraction(500), Fraction(500_000))
_LONGEST_DISTANCE = Fraction(10**10)
_FASTEST_WEAR = Fraction(100)
_LONGEST_TIME = Fraction(3600 * 300_000)
_MOST_STOPS = 100_000_000


def _one_of(
    context: Context, table: Mapping[str, Any], keys: Mapping[str, str | None], kind: Kind, position: Position
) -> tuple[Fraction, str] | None:
    """Read a quantity that may be given under one of several keys, each with its unit."""
    given = [
        key
        for key in keys
        if table.get(key) is not None and str(table[key]).strip().casefold() not in NOT_TAKEN
    ]
    if not given:
        return None
    if len(given) > 1:
        raise context.fault(
            f"{given[0]} and {given[1]} are both given",
            position.child(given[1]),
            allowed="one of " + ", ".join(keys),
            cure="Keep one of them",
        )
    key = given[0]
    value: object = table[key]
    unit = keys[key]
    if isinstance(value, Mapping) and value.keys() <= {"value", "unit"}:
        unit = context.text(value.get("unit"), position.child(key)) or unit
        value = value.get("value")
    return context.quantity(value, kind, position.child(key), unit).exact, key


def read_distance(
    context: Context, table: Mapping[str, Any], keys: Mapping[str, str | None], position: Position
) -> float | None:
    """Read a road distance that may be given under one of several keys.

    Parameters
    ----------
    context : Context
        For messages.
    table : mapping
        The table.
    keys : mapping of str to str or None
        Key to the unit of a bare number under it; None where the unit has to be written.
    position : Position
        Where the table stands.

    Returns
    -------
    float or None
        Distance [m]; None where nothing is given.

    Raises
    ------
    ReadingError, QuantityError
        If it is no distance, negative, or more than any vehicle runs.
    """
    found = _one_of(context, table, keys, Kind.DISTANCE, position)
    if found is None:
        return None
    exact, key = found
    if not 0 <= exact <= _LONGEST_DISTANCE:
        raise context.fault(
            f"{key} is {float(exact / 1000):g} km",
            position.child(key),
            allowed=f"0 to {int(_LONGEST_DISTANCE / 1000)} km",
            cure="Check the digits",
        )
    return float(exact)


def read_time(
    context: Context, table: Mapping[str, Any], keys: Mapping[str, str | None], position: Position
) -> float | None:
    """Read a time that a counter shows, which may be given under one of several keys.

    Parameters
    ----------
    context : Context
        For messages.
    table : mapping
        The table.
    keys : mapping of str to str or None
        Key to the unit of a bare number under it; None where the unit has to be written.
    position : Position
        Where the table stands.

    Returns
    -------
    float or None
        Time [s]; None where nothing is given.

    Raises
    ------
    ReadingError, QuantityError
        If it is no time, negative, or more than any vehicle runs.
    """
    found = _one_of(context, table, keys, Kind.TIME, position)
    if found is None:
        return None
    exact, key = found
    if not 0 <= exact <= _LONGEST_TIME:
        raise context.fault(
            f"{key} is {float(exact / 3600):g} h",
            position.child(key),
            allowed=f"0 to {int(_LONGEST_TIME / 3600)} h",
            cure="Check the digits, and whether the counter shows hours",
        )
    return float(exact)


def read_count(context: Context, table: Mapping[str, Any], key: str, position: Position) -> float | None:
    """Read a count that a counter shows.

    Parameters
    ----------
    context : Context
        For messages.
    table : mapping
        The table.
    key : str
        Its key.
    position : Position
        Where the table stands.

    Returns
    -------
    float or None
        Count; None where nothing is given.

    Raises
    ------
    ReadingError, QuantityError
        If it is no whole number, negative, or more than any counter shows.
    """
    found = _one_of(context, table, {key: "1"}, Kind.COUNT, position)
    if found is None:
        return None
    exact = found[0]
    if not 0 <= exact <= _MOST_STOPS:
        raise context.fault(
            f"{key} is {show(table[key])}",
            position.child(key),
            allowed=f"a whole number from 0 to {_MOST_STOPS}",
            cure="Check the digits",
        )
    return float(exact)


def _mass(context: Context, table: Mapping[str, Any], name: str, position: Position) -> float | None:
    found = _one_of(context, table, {f"{name}_kg": "kg", name: None}, Kind.MASS, position)
    if found is None:
        return None
    exact, key = found
    if not _MASS_RANGE[0] <= exact <= _MASS_RANGE[1]:
        raise context.fault(
            f"{key} is {float(exact):g} kg",
            position.child(key),
            allowed=f"{int(_MASS_RANGE[0])} to {int(_MASS_RANGE[1])} kg",
            cure="Is it in tonnes? Write '17.2 t' under " + name,
        )
    return float(exact)


def read_vehicle_tables(context: Context, document: Mapping[str, Any], catalogue: Catalogue) -> Vehicle:
    """Read ``[vehicle]`` and ``[[axle]]``.

    Parameters
    ----------
    context : Context
        For messages.
    document : mapping
        The document.
    catalogue : Catalogue
        Knows the designs.

    Returns
    -------
    Vehicle
        The vehicle.

    Raises
    ------
    ReadingError, QuantityError
        If a fact is missing, unknown, impossible or given twice.
    """
    position = Position(("vehicle",), "vehicle")
    if "vehicle" not in document:
        raise context.fault(
            "the vehicle is not given",
            Position(()),
            allowed="a table [vehicle] with at least id and design, and an [[axle]] for each axle",
            cure="Start from a blank sheet of the vehicle",
        )
    table = context.table(document["vehicle"], position)
    context.refuse_unknown(table, VEHICLE_KEYS, position, "the vehicle")
    identity = context.text(table.get("id"), position.child("id"))
    if not identity:
        raise context.fault(
            "the vehicle has no id",
            position.child("id"),
            allowed="the owner's name for it",
            cure='Write id = "truck 12"',
        )
    design = _design(context, table.get("design"), position.child("design"), catalogue)
    built = read_date(context, table.get("built_on"), position.child("built_on"))
    return Vehicle(
        id=identity,
        axles=_axles(context, document.get("axle"), design, catalogue),
        description=context.text(table.get("description"), position.child("description")),
        kind=context.choice(table.get("kind"), VEHICLE_KINDS, position.child("kind")) or VEHICLE_KINDS[0],
        test_mass=_mass(context, table, "test_mass", position),
        rated_mass=_mass(context, table, "rated_mass", position),
        duty=context.text(table.get("duty"), position.child("duty")),
        retarder=context.choice(table.get("retarder"), RETARDER_WORDS, position.child("retarder")),
        built_on=built.isoformat() if built is not None else "",
        wear_axis=context.choice(table.get("wear_axis"), WEAR_AXES, position.child("wear_axis")),
        labels=_labels(context, table.get("labels"), position.child("labels")),
    )


def _labels(context: Context, value: object, position: Position) -> dict[str, str]:
    """Read the owner's own words for groups of vehicles."""
    if value is None or (isinstance(value, str) and value.strip().casefold() in NOT_TAKEN):
        return {}
    labels: dict[str, str] = {}
    for key, word in context.table(value, position).items():
        at = position.child(key)
        name = key.strip().casefold()
        if not _LABEL.fullmatch(name):
            raise context.fault(
                f"{show(key)} is no name of a label",
                at,
                allowed="a letter, then letters, digits, '_' or '-'; at most 30 characters",
                cure='Write labels = { route = "north" }',
            )
        text = context.text(word, at)
        if text:
            labels[name] = text
    return labels


def _design(context: Context, value: object, position: Position, catalogue: Catalogue) -> str:
    name = context.text(value, position)
    if name and name not in catalogue.designs:
        near = nearest(name, catalogue.designs)
        raise context.fault(
            f"the design {show(name)} is not in the catalogue",
            position,
            allowed=", ".join(sorted(catalogue.designs)),
            cure=f"Did you mean '{near}'?" if near else "Name a generic design by wheel size",
        )
    return name


def _axles(context: Context, value: object, design: str, catalogue: Catalogue) -> tuple[Axle, ...]:
    position = Position(("axle",), "axle")
    if value is None or (isinstance(value, Sequence) and not value):
        raise context.fault(
            "the vehicle has no axles",
            Position(()),
            allowed="an [[axle]] with id and role for each axle, from front to rear",
            cure="Start from a blank sheet of the vehicle",
        )
    if not isinstance(value, list | tuple):
        raise context.fault(
            f"axle is {show(value)}", position, allowed="[[axle]] once for each axle, in double brackets"
        )
    if len(value) > MAXIMUM_AXLES:
        raise context.fault(
            f"the vehicle has {len(value)} axles", position, allowed=f"at most {MAXIMUM_AXLES} axles"
        )
    axles: dict[str, Axle] = {}
    for number, entry in enumerate(value):
        at = Position(("axle", number), f"axle {number + 1}")
        axle = _axle(context, context.table(entry, at), at, design, catalogue)
        if axle.id in axles:
            raise context.fault(
                f"axle '{axle.id}' stands twice", at.child("id"), allowed="each axle once", cure="Count again"
            )
        axles[axle.id] = axle
    return tuple(axles.values())


def _axle(
    context: Context, table: Mapping[str, Any], position: Position, design: str, catalogue: Catalogue
) -> Axle:
    context.refuse_unknown(table, AXLE_KEYS, position, "an axle")
    identity = context.text(table.get("id"), position.child("id")).upper()
    if not _AXLE_ID.fullmatch(identity):
        raise context.fault(
            f"the axle id is {show(identity)}" if identity else "the axle has no id",
            position.child("id"),
            allowed="1, 2, ... from the front; T1, T2, ... on a trailer of a combination",
            cure="Number the axles from the front",
        )
    role = context.choice(table.get("role"), AXLE_ROLES, position.child("role"))
    if not role:
        raise context.fault(
            f"axle {identity} has no role",
            position.child("role"),
            allowed=", ".join(AXLE_ROLES),
            cure="Say what the axle does",
        )
    brake = context.choice(table.get("brake"), BRAKES, position.child("brake")) or BRAKES[0]
    own = _design(context, table.get("design"), position.child("design"), catalogue) or design
    if not own and brake == BRAKES[0]:
        raise context.fault(
            f"the brake design of axle {identity} is not given",
            position,
            allowed=", ".join(sorted(catalogue.designs)),
            cure="Name it once under [vehicle] design, or for this axle; limits depend on it",
        )
    return Axle(
        id=identity,
        role=role,
        design=own,
        wheels=context.choice(table.get("wheels"), WHEEL_WORDS, position.child("wheels")),
        brake=brake,
    )


def read_units(
    context: Context, value: object, position: Position, fields: Mapping[str, Kind | None]
) -> None:
    """Read ``[inspection] units`` into the context.

    Parameters
    ----------
    context : Context
        Takes the units.
    value : object
        ``"metric"``, ``"inch"``, or a table of units by kind or field; None where not given.
    position : Position
        Where it stands.
    fields : mapping of str to Kind or None
        Kind of every field.

    Raises
    ------
    ReadingError, QuantityError
        If a kind, field or unit is not known.
    """
    if value is None:
        return
    if not isinstance(value, Mapping):
        context.unit_style = context.choice(value, ("metric", "inch"), position)
        return
    kinds = {kind.name.lower(): kind for kind in Kind if kind is not Kind.COUNT}
    names = kinds | {
        name: kind for name, kind in fields.items() if kind is not None and kind is not Kind.COUNT
    }
    table = context.table(value, position)
    for key, unit in table.items():
        at = position.child(key)
        if key not in names:
            near = nearest(key, names)
            raise context.fault(
                f"{show(key)} is neither a kind of quantity nor a field with a unit",
                at,
                allowed=", ".join(kinds) + ", or a field",
                cure=f"Did you mean '{near}'?" if near else 'Write units = { length = "mm", force = "N" }',
            )
        text = context.text(unit, at)
        if text:
            try:
                context.units[key] = unit_for(text, names[key]).symbol
            except QuantityError as error:
                context.reraise(error, at)


def read_rule_packs(
    context: Context, value: object, position: Position, known: Sequence[str]
) -> tuple[str, ...]:
    """Read ``rule_pack``: one id, several in a text, or a list.

    Parameters
    ----------
    context : Context
        For messages.
    value : object
        The value; None where not given.
    position : Position
        Where it stands.
    known : sequence of str
        Ids of the catalogue's packs.

    Returns
    -------
    tuple of str
        The ids, each once; ``("none",)`` where not given.

    Raises
    ------
    ReadingError
        If one is not known.
    """
    packs: list[str] = []
    for text in context.texts(value, position):
        name = text.casefold()
        if name not in known:
            near = nearest(name, known)
            raise context.fault(
                f"the rule pack {show(text)} is not known",
                position,
                allowed=", ".join(known),
                cure=f"Did you mean '{near}'?" if near else "Write 'none' for the default limits alone",
            )
        if name not in packs:
            packs.append(name)
    return tuple(packs) or ("none",)


def read_peer_wear(context: Context, value: object, axles: Sequence[str]) -> dict[str, float]:
    """Read ``[peer_wear_mm_per_10000_km]``.

    Parameters
    ----------
    context : Context
        For messages.
    value : object
        The table of axle id to rate; None where not given.
    axles : sequence of str
        Axle ids of the vehicle.

    Returns
    -------
    dict of str to float
        Wear [m of friction per m of road] by axle id.

    Raises
    ------
    ReadingError
        If an axle is not on the vehicle or a rate is impossible.
    """
    name = "peer_wear_mm_per_10000_km"
    if value is None:
        return {}
    position = Position((name,), name)
    rates: dict[str, float] = {}
    for key, rate in context.table(value, position).items():
        at = position.child(key)
        axle = key.strip().upper()
        if axle not in axles:
            raise context.fault(
                f"axle {show(key)} is not on the vehicle",
                at,
                allowed=", ".join(axles),
                cure="Check the axle id",
            )
        if isinstance(rate, str) and rate.strip().casefold() in NOT_TAKEN:
            continue
        exact = context.quantity(rate, Kind.LENGTH, at, "mm").exact * 1000
        if not 0 < exact <= _FASTEST_WEAR:
            raise context.fault(
                f"the wear of axle {axle} is {show(rate)}",
                at,
                allowed=f"more than 0 to {int(_FASTEST_WEAR)} mm per 10 000 km",
                cure="Give the friction that one pad of a peer loses in 10 000 km, in mm",
            )
        rates[axle] = float(exact / 10**10)
    return rates
