"""Facts are only added: the database itself refuses the rest, and the check finds what went past it."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime

import psycopg
import pytest
from databases import Database
from invented_inspections import KEPT_AT, inspection

from wearline.errors import StorageError
from wearline.storage import Snapshot, open_store
from wearline.storage.kept import text_digest
from wearline.storage.tables import APPEND_ONLY, metadata
from wearline.storage.web_tables import CHANGEABLE, WEB_APPEND_ONLY

A_COLUMN = {"vehicles": "kind", "inspections": "kept_by", "readings": "raw", "snapshots": "kind"}


@pytest.fixture
def kept(database: Database) -> Database:
    """A database with a row in every table."""
    with open_store(database.address) as store:
        first = store.keep(inspection(pad_mm=2.0), kept_by="keeper", kept_at=KEPT_AT, inspection_id="a")
        store.keep(
            inspection(),
            kept_by="keeper",
            kept_at=KEPT_AT,
            supersedes=first.id,
            reason="unit",
            inspection_id="b",
        )
        store.save_snapshot(Snapshot("judgement", "d", "1", "1", datetime(2026, 1, 1, tzinfo=UTC), {"a": 1}))
    return database


def contents(database: Database) -> dict[str, list[tuple]]:
    return {table: sorted(map(repr, database.execute(f"SELECT * FROM {table}"))) for table in APPEND_ONLY}


def test_every_table_is_guarded():
    guarded = [*APPEND_ONLY, *WEB_APPEND_ONLY]
    assert sorted([*guarded, *CHANGEABLE]) == sorted(metadata.tables)


@pytest.mark.parametrize("table", APPEND_ONLY)
def test_no_row_is_changed_or_removed(kept, table):
    """Even a program that writes SQL by hand is refused, and nothing has changed afterwards."""
    before = contents(kept)
    changes = [f"UPDATE {table} SET {A_COLUMN[table]} = 'other'", f"DELETE FROM {table}"]
    if kept.dialect == "postgresql":
        changes.append(f"TRUNCATE {table} CASCADE")
    else:
        changes.append(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}")
    for change in changes:
        with pytest.raises((sqlite3.IntegrityError, psycopg.DatabaseError), match=r"\w+ is append-only"):
            kept.execute(change)
    assert contents(kept) == before


def test_a_second_correction_is_not_smuggled_in(kept):
    """SQLite's REPLACE would remove the first correction by its unique key, past the triggers of deletion."""
    replace = "INSERT" if kept.dialect == "postgresql" else "INSERT OR REPLACE"
    columns = (
        "vehicle_id, vehicle_digest, taken_on, counter_exchanged, digest, kept_at, kept_by, code_version"
    )
    with pytest.raises((sqlite3.IntegrityError, psycopg.errors.UniqueViolation)):
        kept.execute(
            f"{replace} INTO inspections (id, supersedes, reason, plain_json, {columns})"
            f" SELECT 'c', 'a', 'forged', plain_json, {columns} FROM inspections WHERE id = 'b'"
        )
    assert sorted(kept.execute("SELECT id FROM inspections")) == [("a",), ("b",)]


# the check


def without_guard(database: Database, table: str, kind: str, change: str) -> None:
    """Change a fact as somebody with full rights could, and put the guard back."""
    trigger = f"{table}_no_{kind}"
    if database.dialect == "postgresql":
        database.execute(f"ALTER TABLE {table} DISABLE TRIGGER {trigger}")
        database.execute(change)
        database.execute(f"ALTER TABLE {table} ENABLE TRIGGER {trigger}")
        return
    ((sql,),) = database.execute(f"SELECT sql FROM sqlite_master WHERE name = '{trigger}'")
    database.execute(f"DROP TRIGGER {trigger}")
    database.execute(change)
    database.execute(sql)


def findings(database: Database) -> list[tuple[str, str]]:
    with open_store(database.address) as store:
        return [(notice.code, notice.where) for notice in store.check().findings]


def test_a_sound_database_has_no_findings(kept):
    with open_store(kept.address) as store:
        found = store.check()
    assert found.sound
    assert (found.inspections, found.readings, found.snapshots) == (2, 90, 1)


@pytest.mark.parametrize(
    ("table", "kind", "change", "code", "where"),
    [
        ("inspections", "update", "SET odometer_m = 1.0 WHERE id = 'b'", "column-changed", "inspection b"),
        ("inspections", "update", "SET odometer_m = NULL WHERE id = 'b'", "column-changed", "inspection b"),
        (
            "inspections",
            "update",
            "SET taken_on = '2020-01-01' WHERE id = 'a'",
            "column-changed",
            "inspection a",
        ),
        ("inspections", "update", "SET digest = 'x' WHERE id = 'a'", "inspection-changed", "inspection a"),
        (
            "inspections",
            "update",
            "SET plain_json = replace(plain_json, 'judder', 'nothing') WHERE id = 'a'",
            "inspection-changed",
            "inspection a",
        ),
        (
            "inspections",
            "update",
            "SET plain_json = '{' WHERE id = 'a'",
            "inspection-unreadable",
            "inspection a",
        ),
        (
            "inspections",
            "update",
            "SET plain_json = '[]' WHERE id = 'a'",
            "inspection-unreadable",
            "inspection a",
        ),
        ("readings", "update", "SET value_si = 0.5 WHERE spot = 'LT'", "readings-changed", "inspection a"),
        ("readings", "update", "SET gauge = NULL WHERE gauge <> ''", "readings-changed", "inspection a"),
        ("readings", "delete", "WHERE spot = 'LT' AND wheel_end = '1L'", "readings-changed", "inspection b"),
        ("vehicles", "update", "SET plain_json = '{}'", "vehicle-changed", "vehicle invented-7"),
        ("vehicles", "update", "SET plain_json = '{'", "vehicle-changed", "vehicle invented-7"),
        ("snapshots", "update", "SET result_json = '{}'", "snapshot-changed", "snapshot judgement 1"),
    ],
)
def test_the_check_finds_a_changed_fact(kept, table, kind, change, code, where):
    statement = f"DELETE FROM {table} {change}" if kind == "delete" else f"UPDATE {table} {change}"
    without_guard(kept, table, kind, statement)
    assert (code, where) in findings(kept)


def test_the_check_finds_a_reading_added_later(kept):
    kept.execute(
        "INSERT INTO readings (inspection_number, field, wheel_end, spot, word, raw)"
        " VALUES (1, 'slide', '1L', '', 'free', 'free')"
    )
    assert findings(kept) == [("readings-changed", "inspection a")]


@pytest.mark.parametrize("table", APPEND_ONLY)
def test_the_check_finds_a_missing_guard(kept, table):
    on = f" ON {table}" if kept.dialect == "postgresql" else ""
    kept.execute(f"DROP TRIGGER {table}_no_delete{on}")
    assert findings(kept) == [("trigger-missing", f"table {table}")]


def test_a_changed_inspection_is_never_handed_out(kept):
    """A text that does not match its fingerprint is an error, not an inspection."""
    without_guard(
        kept,
        "inspections",
        "update",
        "UPDATE inspections SET plain_json = replace(plain_json, 'judder', 'nothing')",
    )
    with open_store(kept.address) as store:
        changed = store.inspection("a")
        with pytest.raises(
            StorageError, match="inspection a is damaged; its text does not match its fingerprint"
        ):
            _ = changed.inspection


def test_half_an_inspection_is_never_handed_out(kept):
    half = text_digest("{")
    without_guard(
        kept, "inspections", "update", f"UPDATE inspections SET plain_json = '{{', digest = '{half}'"
    )
    with open_store(kept.address) as store, pytest.raises(StorageError, match="its text cannot be read"):
        _ = store.inspection("a").inspection
