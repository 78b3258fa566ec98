"""Whether everything in the database is still what was kept."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, Row, select, text

from wearline.errors import WearlineError
from wearline.records.inspection import Inspection
from wearline.records.notices import Notice
from wearline.records.plain import from_plain
from wearline.storage.kept import StoreCheck, text_digest
from wearline.storage.rows import reading_rows
from wearline.storage.tables import APPEND_ONLY, inspections, readings, snapshots, vehicles

__all__ = ["check_store"]

_BATCH = 200

_BACKUP = "Take the database from the latest backup and keep the later inspections again from their files."


def check_store(connection: Connection) -> StoreCheck:
    """Compare every column with the text it was made from, and every text with its fingerprint.

    Parameters
    ----------
    connection : Connection
        In a transaction.

    Returns
    -------
    StoreCheck
        What was compared and what was found.
    """
    findings = list(_structure(connection))
    if findings and connection.dialect.name == "sqlite":
        return StoreCheck(0, 0, 0, tuple(findings))
    findings += _missing_triggers(connection)
    findings += _vehicles(connection)
    inspection_count = reading_count = 0
    for batch in _batches(connection, select(inspections), inspections.c.number):
        stored = _stored_readings(connection, batch)
        inspection_count += len(batch)
        reading_count += sum(len(rows) for rows in stored.values())
        for row in batch:
            findings += _inspection(row._asdict(), stored.get(row.number, []))
    snapshot_count = 0
    for batch in _batches(connection, select(snapshots), snapshots.c.number):
        snapshot_count += len(batch)
        findings += _snapshots(batch)
    return StoreCheck(inspection_count, reading_count, snapshot_count, tuple(findings))


def _finding(code: str, what: str, where: str) -> Notice:
    return Notice(code, what, where=where, cure=_BACKUP)


def _structure(connection: Connection) -> Iterator[Notice]:
    if connection.dialect.name != "sqlite":
        return
    for (line,) in connection.execute(text("PRAGMA integrity_check")):
        if line != "ok":
            yield _finding("file-damaged", f"The file is damaged: {line}", "file")
    for table, _, parent, _ in connection.execute(text("PRAGMA foreign_key_check")):
        yield _finding(
            "row-missing", f"A row of {table} names a row of {parent} that is gone.", f"table {table}"
        )


def _missing_triggers(connection: Connection) -> Iterator[Notice]:
    if connection.dialect.name == "sqlite":
        names = set(connection.scalars(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")))
        kinds = ("update", "delete", "replace")
    else:
        # tgenabled 'D': the trigger is there and does nothing
        names = set(
            connection.scalars(
                text(
                    "SELECT tgname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid"
                    " WHERE relnamespace = current_schema()::regnamespace AND tgenabled <> 'D'"
                )
            )
        )
        kinds = ("update", "delete", "truncate")
    for table in APPEND_ONLY:
        for kind in kinds:
            if f"{table}_no_{kind}" not in names:
                yield _finding(
                    "trigger-missing",
                    f"The rows of {table} are no longer guarded against {kind}.",
                    f"table {table}",
                )


def _vehicles(connection: Connection) -> Iterator[Notice]:
    for row in connection.execute(select(vehicles)):
        try:
            sound = (
                text_digest(row.plain_json) == row.digest
                and json.loads(row.plain_json)["id"] == row.vehicle_id
            )
        except (ValueError, TypeError, KeyError, AttributeError):
            sound = False
        if not sound:
            yield _finding(
                "vehicle-changed",
                "The description is not the one that was kept.",
                f"vehicle {row.vehicle_id}",
            )


def _batches(connection: Connection, statement: Any, number: Any) -> Iterator[Sequence[Row[Any]]]:
    last = -1
    while batch := connection.execute(statement.where(number > last).order_by(number).limit(_BATCH)).all():
        yield batch
        last = batch[-1].number


def _stored_readings(connection: Connection, batch: Sequence[Row[Any]]) -> dict[int, list[dict[str, Any]]]:
    column = readings.c.inspection_number
    rows = connection.execute(
        select(readings).where(column.between(batch[0].number, batch[-1].number)).order_by(column)
    ).mappings()
    return {
        number: [{name: value for name, value in row.items() if name != "inspection_number"} for row in group]
        for number, group in groupby(rows, key=lambda row: int(row["inspection_number"]))
    }


def _inspection(row: Mapping[str, Any], stored: list[dict[str, Any]]) -> Iterator[Notice]:
    where = f"inspection {row['id']}"
    try:
        sound = text_digest(row["plain_json"]) == row["digest"]
        inspection = from_plain(json.loads(row["plain_json"]))
    except (ValueError, TypeError, AttributeError, WearlineError) as error:
        yield _finding("inspection-unreadable", f"The text of the inspection cannot be read: {error}", where)
        return
    if not sound:
        yield _finding(
            "inspection-changed", "The text of the inspection is not the one that was kept.", where
        )
    for name, expected in _columns(inspection).items():
        if row[name] != expected:
            yield _finding(
                "column-changed", f"Column {name} says {row[name]!r}, the text {expected!r}.", where
            )
    if _by_key(stored) != _by_key(list(reading_rows(inspection))):
        yield _finding("readings-changed", "The readings in columns are not those of the text.", where)


def _columns(inspection: Inspection) -> dict[str, Any]:
    return {
        "vehicle_id": inspection.vehicle.id,
        "taken_on": inspection.taken_on,
        "odometer_m": inspection.odometer,
        "distance_since_pads_m": inspection.distance_since_pads,
    }


def _by_key(rows: list[dict[str, Any]]) -> dict[tuple[str, str, str], dict[str, Any]]:
    return {(row["wheel_end"], row["field"], row["spot"]): row for row in rows}


def _snapshots(batch: Sequence[Row[Any]]) -> Iterator[Notice]:
    for row in batch:
        if text_digest(row.result_json) != row.result_digest:
            yield _finding(
                "snapshot-changed",
                "The result is not the one that was kept.",
                f"snapshot {row.kind} {row.number}",
            )
