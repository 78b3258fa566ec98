"""Inspections, vehicles and readings as rows of the tables, and back."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from wearline.errors import ReadingError, WearlineError
from wearline.records.inspection import Axle, Inspection, Vehicle
from wearline.records.place import WheelEndPlace
from wearline.records.plain import from_plain, to_plain
from wearline.records.readings import Measured, Observed, Reading, ReadingKey, Unmeasurable
from wearline.storage.kept import canonical_text, text_digest

__all__ = ["Prepared", "layout_of", "prepare", "reading_of", "reading_rows", "vehicle_of"]

Row = dict[str, Any]

_EMPTY: Row = dict.fromkeys(
    ("value_si", "raw", "unit", "resolution_si", "u_si", "gauge", "repeats_si_json", "word", "cannot")
)


@dataclass(frozen=True, slots=True)
class Prepared:
    """An inspection made ready for the tables, before the database is touched.

    Parameters
    ----------
    vehicle_id : str
        The vehicle.
    text, digest : str
        The inspection as canonical JSON, and its fingerprint.
    vehicle_row, inspection_row : dict
        Columns, without those that keeping adds.
    reading_rows : list of dict
        Columns, without the inspection's number.
    """

    vehicle_id: str
    text: str
    digest: str
    vehicle_row: Row
    inspection_row: Row
    reading_rows: list[Row]


def prepare(inspection: Inspection) -> Prepared:
    """Turn an inspection into rows, having proved that it can be read back unchanged.

    Parameters
    ----------
    inspection : Inspection
        The inspection.

    Returns
    -------
    Prepared
        Its rows.

    Raises
    ------
    ReadingError
        If it names no vehicle, has a wheel end twice, or would not come back as it went in.
    """
    where = f"inspection of {inspection.vehicle.id} on {inspection.taken_on}"
    if not inspection.vehicle.id.strip():
        raise ReadingError(
            "the inspection names no vehicle", where=where, allowed="an id", cure="Give [vehicle] id a value"
        )
    _refuse_double_wheel_ends(inspection, where)
    plain = to_plain(inspection)
    text, digest = _text_that_comes_back(plain, where)
    vehicle_text = canonical_text(plain["vehicle"])
    vehicle_digest = text_digest(vehicle_text)
    return Prepared(
        vehicle_id=inspection.vehicle.id,
        text=text,
        digest=digest,
        vehicle_row={
            "vehicle_id": inspection.vehicle.id,
            "digest": vehicle_digest,
            "layout": layout_of(inspection.vehicle),
            "description": inspection.vehicle.description,
            "kind": inspection.vehicle.kind,
            "plain_json": vehicle_text,
        },
        inspection_row={
            "vehicle_id": inspection.vehicle.id,
            "vehicle_digest": vehicle_digest,
            "taken_on": inspection.taken_on,
            "odometer_m": inspection.odometer,
            "distance_since_pads_m": inspection.distance_since_pads,
            "digest": digest,
            "plain_json": text,
        },
        reading_rows=list(reading_rows(inspection)),
    )


def _refuse_double_wheel_ends(inspection: Inspection, where: str) -> None:
    seen: set[WheelEndPlace] = set()
    for wheel_end in inspection.wheel_ends:
        if wheel_end.place in seen:
            raise ReadingError(
                f"the wheel end {wheel_end.place} stands twice",
                where=where,
                allowed="every wheel end once",
                cure="Put its readings together, or correct the place of one of the two",
            )
        seen.add(wheel_end.place)


def _text_that_comes_back(plain: Row, where: str) -> tuple[str, str]:
    try:
        text = canonical_text(plain)
        digest = text_digest(text)
        fault = (
            "" if canonical_text(to_plain(from_plain(json.loads(text)))) == text else "it comes back changed"
        )
        if "\\u0000" in text and any("\0" in piece for piece in _texts(plain)):
            fault = "a text holds the character NUL"
    except (ValueError, TypeError, WearlineError) as error:
        fault = str(error)
    if fault:
        raise ReadingError(
            f"the inspection cannot be kept without loss: {fault}",
            where=where,
            allowed="finite numbers, whole characters, and wheel ends named as 1L or T1R",
            cure="Correct the value in the file and keep it again",
        )
    return text, digest


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield key
            yield from _texts(item)
    elif isinstance(value, list):
        for item in value:
            yield from _texts(item)


def layout_of(vehicle: Vehicle) -> str:
    """Write the axle layout of a vehicle as a line for comparison and for people.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.

    Returns
    -------
    str
        As ``"1 steer air disc, 2 drive air disc"``.
    """
    return ", ".join(f"{axle.id} {axle.role} {axle.brake}" for axle in vehicle.axles)


def reading_rows(inspection: Inspection) -> Iterator[Row]:
    """Yield one row per reading.

    Parameters
    ----------
    inspection : Inspection
        The inspection.

    Yields
    ------
    dict
        Columns of ``readings`` but the inspection's number; ``wheel_end`` is empty for the whole vehicle.
    """
    for key, reading in inspection.vehicle_readings.items():
        yield _reading_row("", key, reading)
    for wheel_end in inspection.wheel_ends:
        for key, reading in wheel_end.readings.items():
            yield _reading_row(str(wheel_end.place), key, reading)


def _reading_row(wheel_end: str, key: ReadingKey, reading: Reading) -> Row:
    row = _EMPTY | {"wheel_end": wheel_end, "field": key[0], "spot": key[1]}
    if isinstance(reading, Measured):
        return row | {
            "value_si": reading.value,
            "raw": reading.raw,
            "unit": reading.unit,
            "resolution_si": reading.resolution,
            "u_si": reading.u,
            "gauge": reading.gauge,
            "repeats_si_json": json.dumps(list(reading.repeats)),
        }
    if isinstance(reading, Observed):
        return row | {"word": reading.word, "raw": reading.raw}
    return row | {"cannot": reading.reason}


def reading_of(row: Mapping[str, Any]) -> Reading:
    """Build a reading from its row.

    Parameters
    ----------
    row : mapping
        Columns of ``readings``.

    Returns
    -------
    Measured, Observed or Unmeasurable
        The reading.
    """
    if row["value_si"] is not None:
        return Measured(
            value=row["value_si"],
            raw=row["raw"],
            unit=row["unit"],
            resolution=row["resolution_si"],
            u=row["u_si"],
            gauge=row["gauge"],
            repeats=tuple(json.loads(row["repeats_si_json"])),
        )
    if row["word"] is not None:
        return Observed(row["word"], row["raw"])
    return Unmeasurable(row["cannot"])


def vehicle_of(text: str) -> Vehicle:
    """Build a vehicle from its stored text.

    Parameters
    ----------
    text : str
        Column ``plain_json`` of ``vehicles``.

    Returns
    -------
    Vehicle
        The vehicle.
    """
    plain = json.loads(text)
    return Vehicle(**(plain | {"axles": tuple(Axle(**axle) for axle in plain["axles"])}))
