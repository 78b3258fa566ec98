"""What the database gives back: receipts, kept inspections, readings in columns, snapshots."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from wearline.errors import FileFormatError, StorageError
from wearline.records.inspection import Inspection, Vehicle
from wearline.records.notices import Notice
from wearline.records.place import WheelEndPlace
from wearline.records.plain import from_plain
from wearline.records.readings import Reading

__all__ = [
    "KeepReceipt",
    "KeptInspection",
    "KeptReading",
    "KeptVehicle",
    "Snapshot",
    "StoreCheck",
    "canonical_text",
    "text_digest",
]


def canonical_text(plain: Mapping[str, Any]) -> str:
    """Write plain values in the one form that is stored and fingerprinted.

    Parameters
    ----------
    plain : mapping
        JSON-safe values.

    Returns
    -------
    str
        JSON with sorted keys and no blanks, the form that ``wearline.records.plain.digest`` hashes.

    Raises
    ------
    ValueError
        If a number is not finite.
    TypeError
        If a value is not one of JSON.
    """
    return json.dumps(plain, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def text_digest(text: str) -> str:
    """Return the fingerprint of a stored text.

    Parameters
    ----------
    text : str
        What ``canonical_text`` gave.

    Returns
    -------
    str
        SHA-256, 64 hexadecimal digits.

    Raises
    ------
    UnicodeEncodeError
        If the text holds half of a character.
    """
    return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class KeepReceipt:
    """The answer to ``Store.keep``: whoever holds it knows that the inspection is on the disk.

    Parameters
    ----------
    id : str
        Under which the inspection is kept.
    digest : str
        Fingerprint of what it says.
    already_kept : bool
        The same inspection was there before; nothing was written.
    notices : tuple of Notice
        What the person should know, as another axle layout than last time.
    """

    id: str
    digest: str
    already_kept: bool
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True, slots=True)
class KeptInspection:
    """One inspection as it stands in the database.

    Parameters
    ----------
    id : str
        Under which it is kept.
    vehicle_id : str
        The vehicle.
    taken_on : date
        Day of the readings.
    odometer, distance_since_pads : float or None
        Distance run, and distance since the pads were new [m].
    counter_exchanged : bool
        The odometer cannot be compared with that of earlier inspections.
    digest : str
        Fingerprint of what it says.
    kept_at : datetime
        When it was kept, in UTC.
    kept_by : str
        Who kept it.
    code_version : str
        Version of the program that wrote it.
    plain : str
        The whole inspection as canonical JSON.
    supersedes : str or None
        Id of the inspection that this one corrects.
    reason : str
        Reason of the correction.
    superseded_by : str or None
        Id of the correction of this one, if any.
    """

    id: str
    vehicle_id: str
    taken_on: date
    odometer: float | None
    distance_since_pads: float | None
    counter_exchanged: bool
    digest: str
    kept_at: datetime
    kept_by: str
    code_version: str
    plain: str = field(repr=False)
    supersedes: str | None = None
    reason: str = ""
    superseded_by: str | None = None

    @property
    def inspection(self) -> Inspection:
        """The inspection, built on demand after its fingerprint has been checked.

        Raises
        ------
        StorageError
            If the stored text is not the one that was kept.
        """
        try:
            if text_digest(self.plain) == self.digest:
                return from_plain(json.loads(self.plain))
            fault = "its text does not match its fingerprint"
        except (ValueError, TypeError, AttributeError, FileFormatError) as error:
            fault = f"its text cannot be read: {error}"
        raise StorageError(
            f"inspection {self.id} is damaged; {fault}",
            where=f"vehicle {self.vehicle_id}, {self.taken_on}",
            allowed="the text exactly as it was kept",
            cure="Take the latest backup of the database and keep the later inspections again from files",
        )


@dataclass(frozen=True, slots=True)
class KeptVehicle:
    """A vehicle with what is kept of it.

    Parameters
    ----------
    id : str
        The owner's name for it.
    vehicle : Vehicle
        As the latest inspection describes it.
    inspections : int
        How many are current.
    first_taken_on, last_taken_on : date
        Days of the first and of the latest.
    last_odometer : float or None
        Odometer at the latest inspection [m].
    """

    id: str
    vehicle: Vehicle
    inspections: int
    first_taken_on: date
    last_taken_on: date
    last_odometer: float | None


@dataclass(frozen=True, slots=True)
class KeptReading:
    """One reading with what a trend over distance or time needs.

    Parameters
    ----------
    inspection_id : str
        The inspection in which it was taken.
    vehicle_id : str
        The vehicle.
    taken_on : date
        Day of the reading.
    odometer, distance_since_pads : float or None
        Distance run, and distance since the pads were new [m].
    counter_exchanged : bool
        The odometer cannot be compared with that of earlier inspections.
    wheel_end : WheelEndPlace or None
        Where; None for a check of the vehicle as a whole.
    field, spot : str
        What was read, and at which spot of it.
    reading : Measured, Observed or Unmeasurable
        The reading.
    """

    inspection_id: str
    vehicle_id: str
    taken_on: date
    odometer: float | None
    distance_since_pads: float | None
    counter_exchanged: bool
    wheel_end: WheelEndPlace | None
    field: str
    spot: str
    reading: Reading


@dataclass(frozen=True, slots=True)
class Snapshot:
    """A computed result with everything that it depends on.

    Parameters
    ----------
    kind : str
        Which answer it is, as ``"judgement"``.
    input_digest : str
        Fingerprint of the facts that went in.
    code_version, catalogue_version : str
        Versions of the program and of the catalogue that computed it.
    made_at : datetime
        When, with time zone.
    result : mapping
        JSON-safe values.
    """

    kind: str
    input_digest: str
    code_version: str
    catalogue_version: str
    made_at: datetime
    result: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class StoreCheck:
    """The answer to ``Store.check``.

    Parameters
    ----------
    inspections, readings, snapshots : int
        How many were compared.
    findings : tuple of Notice
        One per thing that is not as it was kept.
    """

    inspections: int
    readings: int
    snapshots: int
    findings: tuple[Notice, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether nothing was found wrong."""
        return not self.findings
