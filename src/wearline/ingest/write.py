"""An inspection back into a document of the file's shape, and a document into a TOML file."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from datetime import date
from decimal import Context as DecimalContext
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from wearline.errors import FileFormatError
from wearline.ingest.reading_values import READINGS_OF, without_per_minute
from wearline.ingest.sources import file_fault
from wearline.records.inspection import Inspection, WheelEnd
from wearline.records.readings import CORNERS, Measured, Observed, Reading, ReadingKey
from wearline.units import Kind, unit_of_symbol

__all__ = ["document_from_inspection", "write_inspection_toml", "write_new_file"]

_PLAIN_DIGITS = 15
_ENOUGH_DIGITS = 21


def document_from_inspection(inspection: Inspection) -> dict[str, Any]:
    """Return an inspection as the document from which it can be read again.

    Parameters
    ----------
    inspection : Inspection
        The inspection.

    Returns
    -------
    dict
        Tables as in an inspection file, every reading as it was typed. Reading it gives an equal inspection;
        the notices are not part of a file.
    """
    vehicle = inspection.vehicle
    designs = {axle.design for axle in vehicle.axles}
    common = next(iter(designs)) if len(designs) == 1 else ""
    document: dict[str, Any] = {
        "vehicle": _filled(
            {
                "id": vehicle.id,
                "description": vehicle.description,
                "kind": vehicle.kind,
                "test_mass_kg": _number(vehicle.test_mass, Fraction(1)),
                "rated_mass_kg": _number(vehicle.rated_mass, Fraction(1)),
                "design": common,
                "duty": vehicle.duty,
                "retarder": vehicle.retarder,
                "built_on": _day(vehicle.built_on),
                "wear_axis": vehicle.wear_axis,
                "labels": dict(vehicle.labels),
            }
        ),
        "axle": [
            _filled(
                {
                    "id": axle.id,
                    "role": axle.role,
                    "design": "" if common else axle.design,
                    "wheels": axle.wheels,
                    "brake": "" if axle.brake == "air disc" else axle.brake,
                    "km_since_pads": _number(inspection.pads_run.get(axle.id), Fraction(1000)),
                }
            )
            for axle in vehicle.axles
        ],
        "inspection": _facts(inspection),
    }
    if inspection.peer_wear:
        document["peer_wear_mm_per_10000_km"] = {
            axle: _number(rate, Fraction(1, 10**10)) for axle, rate in inspection.peer_wear.items()
        }
    if inspection.vehicle_readings:
        document["vehicle_checks"] = _readings(inspection.vehicle_readings)
    if inspection.wheel_ends:
        document["wheel_end"] = [_wheel_end(wheel_end) for wheel_end in inspection.wheel_ends]
    return document


def _filled(table: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in table.items() if value not in (None, "", [], {})}


def _day(text: str) -> date | str:
    return date.fromisoformat(text) if text else ""


def _facts(inspection: Inspection) -> dict[str, Any]:
    packs = list(inspection.rule_packs)
    return _filled(
        {
            "taken_on": inspection.taken_on,
            "odometer_km": _number(inspection.odometer, Fraction(1000)),
            "km_since_pads": _number(inspection.distance_since_pads, Fraction(1000)),
            "hour_counter_h": _number(inspection.counters.hours, Fraction(3600)),
            "h_since_pads": _number(inspection.counters.hours_since_pads, Fraction(3600)),
            "stop_counter": _number(inspection.counters.stops, Fraction(1)),
            "stops_since_pads": _number(inspection.counters.stops_since_pads, Fraction(1)),
            "inspector": inspection.inspector,
            "qualification": inspection.qualification,
            "rule_pack": packs[0] if len(packs) == 1 else packs,
            "place": inspection.place,
            "note": inspection.note,
            "next_wheels_off_km": _number(inspection.next_wheels_off, Fraction(1000)),
            "gauges": _gauges(inspection),
        }
    )


def _gauges(inspection: Inspection) -> dict[str, Any]:
    """The gauges; the unit of an uncertainty is that of a reading taken with it."""
    units: dict[str, str] = {}
    for readings in (inspection.vehicle_readings, *(end.readings for end in inspection.wheel_ends)):
        for reading in readings.values():
            if isinstance(reading, Measured):
                units.setdefault(reading.gauge, reading.unit)
    gauges: dict[str, Any] = {}
    for name, gauge in inspection.gauges.items():
        table: dict[str, Any] = {"description": gauge.description, "calibrated_on": _day(gauge.calibrated_on)}
        if gauge.u is not None:
            if name in units:
                table["u"] = _uncertainty_text(gauge.u, units[name])
            else:
                table["u_si"] = _shortest(gauge.u, Fraction(1))
        gauges[name] = _filled(table)
    return gauges


def _wheel_end(wheel_end: WheelEnd) -> dict[str, Any]:
    return {"at": str(wheel_end.place)} | _filled(
        _readings(wheel_end.readings)
        | {
            "noticed": list(wheel_end.noticed),
            "note": wheel_end.note,
            "photographs": list(wheel_end.photographs),
        }
    )


def _readings(readings: Mapping[ReadingKey, Reading]) -> dict[str, Any]:
    entries: dict[str, Any] = {}
    for (name, spot), reading in readings.items():
        if spot:
            entries.setdefault(name, {})[spot] = _reading(name, reading)
        else:
            entries[name] = _reading(name, reading)
    for name, entry in entries.items():
        if isinstance(entry, dict) and set(entry) == set(CORNERS):
            entries[name] = [entry[spot] for spot in CORNERS]
    return entries


def _reading(name: str, reading: Reading) -> str | dict[str, Any]:
    if isinstance(reading, Observed):
        return reading.raw
    if not isinstance(reading, Measured):
        return {"cannot": reading.reason}
    alone = len(reading.repeats) == 1 and READINGS_OF not in reading.raw
    table: dict[str, Any] = {"readings": [reading.raw]} if alone else {"value": reading.raw}
    if reading.unit != "1" and _has_no_unit(without_per_minute(name, reading.raw)):
        table["unit"] = reading.unit
    if reading.u is not None:
        table["u"] = _uncertainty_text(reading.u, reading.unit)
    if reading.gauge:
        table["gauge"] = reading.gauge
    return reading.raw if table.keys() == {"value"} else table


def _has_no_unit(raw: str) -> bool:
    """Whether a text is a number alone, so that its unit has to stand beside it."""
    last = raw.rpartition(";")[2] or raw
    return all(
        character.isnumeric() or character.isspace() or character in ".,/+-‐‑–−⁄∕／" for character in last
    )


def _uncertainty_text(u: float, unit: str) -> str:
    written = unit_of_symbol(unit)
    if written.kind is Kind.TEMPERATURE:
        return f"{_shortest(u, Fraction(1))} K"
    return f"{_shortest(u, written.scale)} {unit}".removesuffix(" 1")


def _shortest(value: float, scale: Fraction) -> str:
    """Return the shortest decimal text that gives this float back when it is multiplied by the scale."""
    exact = Fraction(value) / scale
    text = ""
    for digits in range(1, _ENOUGH_DIGITS):
        rounding = DecimalContext(prec=digits)
        text = f"{rounding.divide(Decimal(exact.numerator), Decimal(exact.denominator)):f}"
        if float(Fraction(text) * scale) == value:
            break
    return text


def _number(value: float | None, scale: Fraction) -> int | float | str | None:
    """Return a number for a file; as a text where a file's own number would not keep every digit."""
    if value is None:
        return None
    text = _shortest(value, scale)
    if "." not in text:
        return int(text)
    return float(text) if sum(character.isdigit() for character in text) <= _PLAIN_DIGITS else text


def write_inspection_toml(document: Mapping[str, Any], path: str | Path, *, overwrite: bool = False) -> None:
    """Write a document as a TOML file, whole or not at all.

    Parameters
    ----------
    document : mapping
        The document, as from ``document_from_inspection``.
    path : str or Path
        The file.
    overwrite : bool
        Whether a file of that name may be replaced.

    Raises
    ------
    FileFormatError
        If the file exists or cannot be written, or the document holds what TOML cannot.
    """
    import tomli_w

    try:
        text = tomli_w.dumps(document)
        data = text.encode("utf-8")
    except (TypeError, ValueError, RecursionError) as error:
        raise FileFormatError(
            f"the document cannot be written as TOML: {error}",
            where=str(path),
            allowed="texts, numbers, dates, lists and tables",
            cure="Write only what was read from an inspection",
        ) from error
    write_new_file(path, data, overwrite=overwrite)


def write_new_file(path: str | Path, data: bytes, *, overwrite: bool = False) -> None:
    """Write a file whole or not at all.

    Parameters
    ----------
    path : str or Path
        The file.
    data : bytes
        What it shall hold.
    overwrite : bool
        Whether a file of that name may be replaced: a filled sheet is easily lost to a blank one.

    Raises
    ------
    FileFormatError
        If the file exists, or the system refuses.
    """
    target = Path(path)
    if not overwrite and target.exists():
        raise FileFormatError(
            "a file of that name exists",
            where=str(path),
            allowed="a new name",
            cure="Choose another name, or delete the old file first",
        )
    try:
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:40]}.")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            _give_usual_rights(temporary)
            Path(temporary).replace(target)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise file_fault(str(path), error, "written") from error


def _give_usual_rights(path: str) -> None:
    """A temporary file is private; the finished one gets the rights that any new file has."""
    mask = os.umask(0)
    os.umask(mask)
    Path(path).chmod(0o666 & ~mask)
