"""What is asked of the tables: one statement per question, so that a test can look at its plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Select, func, select

from wearline.records.place import WheelEndPlace
from wearline.storage.kept import KeptInspection, KeptReading, KeptVehicle
from wearline.storage.rows import reading_of, vehicle_of
from wearline.storage.tables import inspections, readings, vehicles

__all__ = [
    "Period",
    "history_statement",
    "inspection_statement",
    "kept_inspection",
    "kept_reading",
    "kept_vehicle",
    "latest_statement",
    "readings_statement",
    "vehicles_statement",
]

_later = inspections.alias("later")

_WITH_SUCCESSOR = inspections.outerjoin(_later, _later.c.supersedes == inspections.c.id)

_CURRENT = _later.c.id.is_(None)


@dataclass(frozen=True, slots=True)
class Period:
    """Days between which something was taken, both included; None leaves that side open.

    Parameters
    ----------
    since, until : date or None
        First and last day.
    """

    since: date | None = None
    until: date | None = None

    def limit(self, statement: Select[Any]) -> Select[Any]:
        """Put the period into a statement.

        Parameters
        ----------
        statement : Select
            Over ``inspections``.

        Returns
        -------
        Select
            Only days of the period.
        """
        if self.since is not None:
            statement = statement.where(inspections.c.taken_on >= self.since)
        if self.until is not None:
            statement = statement.where(inspections.c.taken_on <= self.until)
        return statement


def _kept() -> Select[Any]:
    return select(inspections, _later.c.id.label("superseded_by")).select_from(_WITH_SUCCESSOR)


def history_statement(vehicle_id: str | None, period: Period, *, include_superseded: bool) -> Select[Any]:
    """Ask for the inspections of one or of every vehicle, oldest day first.

    Parameters
    ----------
    vehicle_id : str or None
        The vehicle; None for all.
    period : Period
        Days of the readings.
    include_superseded : bool
        Also those that have been corrected.

    Returns
    -------
    Select
        Rows for ``kept_inspection``.
    """
    statement = period.limit(_kept())
    if vehicle_id is not None:
        statement = statement.where(inspections.c.vehicle_id == vehicle_id)
    if not include_superseded:
        statement = statement.where(_CURRENT)
    return statement.order_by(inspections.c.taken_on, inspections.c.number)


def inspection_statement(inspection_id: str) -> Select[Any]:
    """Ask for one inspection, superseded or not.

    Parameters
    ----------
    inspection_id : str
        Its id.

    Returns
    -------
    Select
        Rows for ``kept_inspection``.
    """
    return _kept().where(inspections.c.id == inspection_id)


def latest_statement(vehicle_id: str, before: date | None) -> Select[Any]:
    """Ask for the latest current inspection of a vehicle.

    Parameters
    ----------
    vehicle_id : str
        The vehicle.
    before : date or None
        Only of earlier days than this one.

    Returns
    -------
    Select
        At most one row for ``kept_inspection``.
    """
    statement = _kept().where(inspections.c.vehicle_id == vehicle_id, _CURRENT)
    if before is not None:
        statement = statement.where(inspections.c.taken_on < before)
    return statement.order_by(inspections.c.taken_on.desc(), inspections.c.number.desc()).limit(1)


def readings_statement(vehicle_id: str, field: str, period: Period) -> Select[Any]:
    """Ask for every current reading of one field of a vehicle.

    Parameters
    ----------
    vehicle_id : str
        The vehicle.
    field : str
        Name of the field.
    period : Period
        Days of the readings.

    Returns
    -------
    Select
        Rows for ``kept_reading``, oldest day first.
    """
    statement = (
        select(
            inspections.c.id,
            inspections.c.vehicle_id,
            inspections.c.taken_on,
            inspections.c.odometer_m,
            inspections.c.distance_since_pads_m,
            inspections.c.counter_exchanged,
            readings,
        )
        .select_from(_WITH_SUCCESSOR.join(readings, readings.c.inspection_number == inspections.c.number))
        .where(inspections.c.vehicle_id == vehicle_id, readings.c.field == field, _CURRENT)
    )
    return period.limit(statement).order_by(inspections.c.taken_on, inspections.c.number)


def vehicles_statement() -> Select[Any]:
    """Ask for every vehicle that has a current inspection.

    Returns
    -------
    Select
        Rows for ``kept_vehicle``.
    """
    of_vehicle = {"partition_by": inspections.c.vehicle_id}
    newest_first = [inspections.c.taken_on.desc(), inspections.c.number.desc()]
    current = (
        select(
            inspections.c.vehicle_id,
            inspections.c.vehicle_digest,
            inspections.c.taken_on,
            inspections.c.odometer_m,
            func.row_number().over(**of_vehicle, order_by=newest_first).label("place"),  # type: ignore[arg-type]
            func.count().over(**of_vehicle).label("inspections"),  # type: ignore[arg-type]
            func.min(inspections.c.taken_on).over(**of_vehicle).label("first_taken_on"),  # type: ignore[arg-type]
        )
        .select_from(_WITH_SUCCESSOR)
        .where(_CURRENT)
        .subquery("newest")
    )
    return (
        select(current, vehicles.c.plain_json)
        .join_from(
            current,
            vehicles,
            (vehicles.c.vehicle_id == current.c.vehicle_id) & (vehicles.c.digest == current.c.vehicle_digest),
        )
        .where(current.c.place == 1)
    )


def kept_inspection(row: Mapping[str, Any]) -> KeptInspection:
    """Build a kept inspection from its row.

    Parameters
    ----------
    row : mapping
        Columns of ``inspections`` and ``superseded_by``.

    Returns
    -------
    KeptInspection
        The inspection.
    """
    return KeptInspection(
        id=row["id"],
        vehicle_id=row["vehicle_id"],
        taken_on=row["taken_on"],
        odometer=row["odometer_m"],
        distance_since_pads=row["distance_since_pads_m"],
        counter_exchanged=row["counter_exchanged"],
        digest=row["digest"],
        kept_at=row["kept_at"],
        kept_by=row["kept_by"],
        code_version=row["code_version"],
        plain=row["plain_json"],
        supersedes=row["supersedes"],
        reason=row["reason"],
        superseded_by=row["superseded_by"],
    )


def kept_reading(row: Mapping[str, Any]) -> KeptReading:
    """Build a kept reading from its row.

    Parameters
    ----------
    row : mapping
        Columns of ``readings`` with those of its inspection.

    Returns
    -------
    KeptReading
        The reading.
    """
    return KeptReading(
        inspection_id=row["id"],
        vehicle_id=row["vehicle_id"],
        taken_on=row["taken_on"],
        odometer=row["odometer_m"],
        distance_since_pads=row["distance_since_pads_m"],
        counter_exchanged=row["counter_exchanged"],
        wheel_end=WheelEndPlace.parse(row["wheel_end"]) if row["wheel_end"] else None,
        field=row["field"],
        spot=row["spot"],
        reading=reading_of(row),
    )


def kept_vehicle(row: Mapping[str, Any]) -> KeptVehicle:
    """Build a kept vehicle from its row.

    Parameters
    ----------
    row : mapping
        From ``vehicles_statement``.

    Returns
    -------
    KeptVehicle
        The vehicle.
    """
    return KeptVehicle(
        id=row["vehicle_id"],
        vehicle=vehicle_of(row["plain_json"]),
        inspections=row["inspections"],
        first_taken_on=row["first_taken_on"],
        last_taken_on=row["taken_on"],
        last_odometer=row["odometer_m"],
    )
