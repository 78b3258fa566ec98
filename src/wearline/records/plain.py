"""Inspections as plain, lossless, versioned JSON values, for the database and for digests."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from typing import Any

from wearline.errors import FileFormatError
from wearline.records.inspection import Axle, Counters, Inspection, Vehicle, WheelEnd
from wearline.records.notices import Notice
from wearline.records.place import WheelEndPlace
from wearline.records.readings import Gauge, Measured, Observed, Reading, ReadingKey, Unmeasurable

__all__ = ["PLAIN_SCHEMA", "PLAIN_SCHEMA_COUNTERS", "digest", "from_plain", "to_plain"]

PLAIN_SCHEMA = "wearline.inspection/1"
PLAIN_SCHEMA_COUNTERS = "wearline.inspection/2"
"""With counters of hours or stops, distances by axle, a wear axis or labels; without them the older form, and
its fingerprint, stay as they were."""

_COUNTERS = {
    "hours": "hour_counter_s",
    "stops": "stop_counter",
    "hours_since_pads": "hours_since_pads_s",
    "stops_since_pads": "stops_since_pads",
}

Plain = dict[str, Any]


def _reading_to_plain(key: ReadingKey, reading: Reading) -> Plain:
    base: Plain = {"field": key[0], "spot": key[1]}
    if isinstance(reading, Measured):
        return base | {
            "value_si": reading.value,
            "raw": reading.raw,
            "unit": reading.unit,
            "resolution_si": reading.resolution,
            "u_si": reading.u,
            "gauge": reading.gauge,
            "repeats_si": list(reading.repeats),
        }
    if isinstance(reading, Observed):
        return base | {"word": reading.word, "raw": reading.raw}
    return base | {"cannot": reading.reason}


def _reading_from_plain(plain: Plain) -> tuple[ReadingKey, Reading]:
    key = (plain["field"], plain["spot"])
    if "value_si" in plain:
        return key, Measured(
            value=plain["value_si"],
            raw=plain["raw"],
            unit=plain["unit"],
            resolution=plain["resolution_si"],
            u=plain["u_si"],
            gauge=plain["gauge"],
            repeats=tuple(plain["repeats_si"]),
        )
    if "word" in plain:
        return key, Observed(plain["word"], plain["raw"])
    return key, Unmeasurable(plain["cannot"])


def _readings_to_plain(readings: Mapping[ReadingKey, Reading]) -> list[Plain]:
    return [_reading_to_plain(key, readings[key]) for key in sorted(readings)]


def _vehicle_to_plain(vehicle: Vehicle) -> Plain:
    plain = asdict(vehicle) | {
        "axles": [asdict(axle) for axle in vehicle.axles],
        "labels": dict(sorted(vehicle.labels.items())),
    }
    for key in ("wear_axis", "labels"):
        if not plain[key]:
            del plain[key]
    return plain


def to_plain(inspection: Inspection) -> Plain:
    """Return an inspection as JSON values from which it can be built again without loss.

    Parameters
    ----------
    inspection : Inspection
        The inspection.

    Returns
    -------
    dict
        Values that ``json.dumps`` takes, with the key ``schema``.
    """
    vehicle = _vehicle_to_plain(inspection.vehicle)
    counters: Plain = {
        key: value
        for name, key in _COUNTERS.items()
        if (value := getattr(inspection.counters, name)) is not None
    }
    if inspection.pads_run:
        counters["pads_run_m"] = dict(sorted(inspection.pads_run.items()))
    newer = counters or vehicle.keys() & {"wear_axis", "labels"}
    return counters | {
        "schema": PLAIN_SCHEMA_COUNTERS if newer else PLAIN_SCHEMA,
        "vehicle": vehicle,
        "taken_on": inspection.taken_on.isoformat(),
        "odometer_m": inspection.odometer,
        "distance_since_pads_m": inspection.distance_since_pads,
        "inspector": inspection.inspector,
        "qualification": inspection.qualification,
        "rule_packs": list(inspection.rule_packs),
        "gauges": [asdict(inspection.gauges[name]) for name in sorted(inspection.gauges)],
        "peer_wear": dict(sorted(inspection.peer_wear.items())),
        "next_wheels_off_m": inspection.next_wheels_off,
        "vehicle_readings": _readings_to_plain(inspection.vehicle_readings),
        "note": inspection.note,
        "place": inspection.place,
        "notices": [asdict(notice) for notice in inspection.notices],
        "wheel_ends": [
            {
                "at": str(wheel_end.place),
                "readings": _readings_to_plain(wheel_end.readings),
                "noticed": list(wheel_end.noticed),
                "note": wheel_end.note,
                "photographs": list(wheel_end.photographs),
            }
            for wheel_end in inspection.wheel_ends
        ],
    }


def from_plain(plain: Plain) -> Inspection:
    """Build an inspection from what ``to_plain`` gave.

    Parameters
    ----------
    plain : dict
        The values.

    Returns
    -------
    Inspection
        Equal to the inspection that was written.

    Raises
    ------
    FileFormatError
        If the values are not those of this schema.
    """
    if plain.get("schema") not in (PLAIN_SCHEMA, PLAIN_SCHEMA_COUNTERS):
        raise FileFormatError(
            f"the stored inspection says schema {plain.get('schema')!r}",
            allowed=f"{PLAIN_SCHEMA} or {PLAIN_SCHEMA_COUNTERS}",
            cure="Open it with the version of the program that wrote it, or migrate the database",
        )
    try:
        return _build(plain)
    except (KeyError, TypeError, ValueError) as error:
        raise FileFormatError(
            f"the stored inspection is damaged: {type(error).__name__} at {error}",
            allowed=PLAIN_SCHEMA,
            cure="Take the copy from a backup",
        ) from error


def _build(plain: Plain) -> Inspection:
    vehicle = plain["vehicle"]
    return Inspection(
        vehicle=Vehicle(**(vehicle | {"axles": tuple(Axle(**axle) for axle in vehicle["axles"])})),
        taken_on=date.fromisoformat(plain["taken_on"]),
        odometer=plain["odometer_m"],
        distance_since_pads=plain["distance_since_pads_m"],
        inspector=plain["inspector"],
        qualification=plain["qualification"],
        rule_packs=tuple(plain["rule_packs"]),
        gauges={gauge["id"]: Gauge(**gauge) for gauge in plain["gauges"]},
        peer_wear=dict(plain["peer_wear"]),
        next_wheels_off=plain["next_wheels_off_m"],
        pads_run=dict(plain.get("pads_run_m", {})),
        counters=Counters(**{name: plain.get(key) for name, key in _COUNTERS.items()}),
        vehicle_readings=dict(_reading_from_plain(entry) for entry in plain["vehicle_readings"]),
        note=plain["note"],
        place=plain["place"],
        notices=tuple(Notice(**notice) for notice in plain["notices"]),
        wheel_ends=tuple(
            WheelEnd(
                place=WheelEndPlace.parse(entry["at"]),
                readings=dict(_reading_from_plain(reading) for reading in entry["readings"]),
                noticed=tuple(entry["noticed"]),
                note=entry["note"],
                photographs=tuple(entry["photographs"]),
            )
            for entry in plain["wheel_ends"]
        ),
    )


def digest(inspection: Inspection) -> str:
    """Return a fingerprint of everything that the inspection says.

    Parameters
    ----------
    inspection : Inspection
        The inspection.

    Returns
    -------
    str
        SHA-256 of the canonical JSON, 64 hexadecimal digits.
    """
    text = json.dumps(to_plain(inspection), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
