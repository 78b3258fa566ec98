"""An SQLite file in every bad state: one clear error each, and nothing half kept."""

from __future__ import annotations

import os
import random
import resource
import shutil
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import date, timedelta
from pathlib import Path

import pytest
from databases import SqliteDatabase
from invented_inspections import KEPT_AT, inspection
from sqlalchemy.dialects import sqlite

from wearline.errors import StorageError
from wearline.storage import open_store
from wearline.storage.queries import (
    Period,
    history_statement,
    inspection_statement,
    latest_statement,
    readings_statement,
)
from wearline.storage.store import Store

NOBODY = 65534


def keep(store: Store, number: int = 0) -> str:
    day = date(2026, 1, 1) + timedelta(days=number)
    return store.keep(inspection("invented-7", day, 1000 + number), kept_by="keeper", kept_at=KEPT_AT).id


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "shop.db"


@pytest.fixture
def filled(path: Path) -> Path:
    """A file with three inspections."""
    with open_store(path) as store:
        for number in range(3):
            keep(store, number)
    return path


def error_of(path: Path, **options) -> StorageError:
    with pytest.raises(StorageError) as caught:
        open_store(path, busy_timeout=0.3, **options)
    error = caught.value
    assert error.where == str(path)
    assert error.allowed
    assert error.cure
    return error


# durable settings


def test_every_connection_is_durable(filled):
    with open_store(filled) as store:
        for engine in (store._engine, store._writing_engine):
            with engine.begin() as connection:
                asked = [
                    connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()
                    for name in (
                        "journal_mode",
                        "synchronous",
                        "foreign_keys",
                        "recursive_triggers",
                        "busy_timeout",
                    )
                ]
            # 2 is FULL: sqlite.org/pragma.html#pragma_synchronous
            assert asked == ["wal", 2, 1, 1, 5000]


def test_closing_leaves_one_file(filled):
    """The write-ahead log is moved into the file, so that a copy of the file is a copy of everything."""
    assert sorted(one.name for one in filled.parent.iterdir()) == ["shop.db"]
    copied = filled.with_name("copy.db")
    shutil.copy(filled, copied)
    with open_store(copied) as store:
        assert len(store.history(None)) == 3


def test_closing_beside_another_program_empties_the_log(path):
    """The other program keeps the log open; what was in it is in the file all the same."""
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        with open_store(path) as store:
            assert other.execute("SELECT count(*) FROM inspections").fetchone() == (0,)
            keep(store)
            assert path.with_name("shop.db-wal").stat().st_size > 0
        assert path.with_name("shop.db-wal").stat().st_size == 0


def test_closing_beside_a_reader_loses_nothing(path):
    with closing(sqlite3.connect(path, isolation_level=None)) as reader:
        with open_store(path, busy_timeout=60.0) as store:
            keep(store)
            reader.execute("BEGIN")
            assert reader.execute("SELECT count(*) FROM inspections").fetchone() == (1,)
            keep(store, 1)
            start = time.monotonic()
        assert time.monotonic() - start < 30.0, "closing waited for the reader"
        reader.execute("COMMIT")
        assert reader.execute("SELECT count(*) FROM inspections").fetchone() == (2,)


def plan(path: Path, statement) -> str:
    compiled = statement.compile(dialect=sqlite.dialect(), compile_kwargs={"literal_binds": True})
    return "\n".join(row[3] for row in SqliteDatabase(str(path)).execute(f"EXPLAIN QUERY PLAN {compiled}"))


def test_questions_about_one_vehicle_use_an_index(filled):
    """No table is read from end to end, and no sorting is needed: sqlite.org/eqp.html."""
    by_vehicle = "SEARCH inspections USING INDEX ix_inspections_vehicle_id_taken_on (vehicle_id=?"
    day = date(2026, 1, 2)
    history = plan(filled, history_statement("invented-7", Period(day, day), include_superseded=False))
    latest = plan(filled, latest_statement("invented-7", day))
    trend = plan(filled, readings_statement("invented-7", "pad_inner", Period()))
    one = plan(filled, inspection_statement("a"))
    for found in (history, latest, trend):
        assert by_vehicle in found
        assert "SCAN" not in found
        assert "TEMP B-TREE" not in found
    assert "SEARCH readings USING PRIMARY KEY (inspection_number=? AND field=?)" in trend
    assert "SCAN" not in one
    everything = plan(filled, history_statement(None, Period(), include_superseded=True))
    assert "SCAN inspections" in everything, "the word to look for is the right one"


def test_keeping_takes_as_many_statements_in_a_full_database_as_in_an_empty_one(path):
    counts = []
    with open_store(path) as store:
        with store._engine.connect() as connection:
            raw = connection.connection.driver_connection
        for number in range(40):
            seen: list[str] = []
            raw.set_trace_callback(seen.append)
            keep(store, number)
            raw.set_trace_callback(None)
            counts.append(len([sql for sql in seen if not sql.startswith("--")]))
    assert counts[2] == counts[39] > 45


# what is not a database


def test_a_missing_folder(tmp_path):
    error = error_of(tmp_path / "nowhere" / "shop.db")
    assert "nowhere does not exist" in error.what
    assert error.cure == f"Make the folder first: mkdir -p {tmp_path / 'nowhere'}"


def test_a_missing_file_that_is_not_to_be_made(path):
    assert error_of(path, create=False).what == "there is no database"
    assert not path.exists()


def test_a_folder(tmp_path):
    assert error_of(tmp_path).what == "the database is a folder"


def test_a_pipe(tmp_path):
    """Opening it would wait for ever."""
    os.mkfifo(tmp_path / "pipe")
    assert error_of(tmp_path / "pipe").what == "the database is not an ordinary file"


def test_a_name_below_a_file(tmp_path):
    (tmp_path / "file").touch()
    assert "Not a directory" in error_of(tmp_path / "file" / "shop.db").what


@pytest.mark.parametrize("content", [b'[vehicle]\nid = "invented-7"\n', b"PK\3\4", b"\0" * 5000, b"SQLite"])
def test_a_file_that_is_not_a_database(path, content):
    path.write_bytes(content)
    assert "the file is not a database; it begins with" in error_of(path).what
    assert path.read_bytes() == content


def test_random_bytes(path):
    content = random.Random(1).randbytes(50_000)
    path.write_bytes(content)
    assert "the file is not a database" in error_of(path).what
    assert path.read_bytes() == content


def test_the_right_beginning_and_random_bytes(path):
    content = b"SQLite format 3\0" + random.Random(1).randbytes(50_000)
    path.write_bytes(content)
    assert "the file is not a database" in error_of(path).what
    assert path.read_bytes() == content


@pytest.mark.parametrize(
    "mark", ["PRAGMA application_id = 1", "CREATE TABLE other (a)", "PRAGMA application_id = -1"]
)
def test_the_file_of_another_application_is_left_alone(path, mark):
    SqliteDatabase(str(path)).execute("PRAGMA user_version = 7")
    SqliteDatabase(str(path)).execute(mark)
    before = path.read_bytes()
    assert "the database belongs to another application" in error_of(path).what
    assert path.read_bytes() == before
    assert sorted(one.name for one in path.parent.iterdir()) == ["shop.db"]


def test_a_file_of_this_program_without_its_tables(filled):
    """The number in its head is right, and somebody has removed a table."""
    SqliteDatabase(str(filled)).execute("DROP TABLE wearline_schema")
    assert "belongs to another application" in error_of(filled).what


# damage


def read_everything(path: Path) -> None:
    with open_store(path) as store:
        for one in store.history(None):
            assert one.inspection
        assert store.check().sound


def test_a_file_cut_short(filled):
    content = filled.read_bytes()
    filled.write_bytes(content[: len(content) // 2])
    with pytest.raises(StorageError, match="the database is damaged") as caught:
        read_everything(filled)
    assert "latest backup" in caught.value.cure


def test_a_good_head_and_broken_pages(filled):
    content = bytearray(filled.read_bytes())
    for start in range(4096, len(content), 4096):
        content[start : start + 64] = b"\xff" * 64
    filled.write_bytes(content)
    with pytest.raises(StorageError, match="the database is damaged"):
        read_everything(filled)


@pytest.mark.parametrize("seed", range(150))
def test_bytes_changed_anywhere_are_an_error_or_without_effect(filled, seed):
    """Whatever is handed out is what was kept; otherwise there is one clear error. Never anything else."""
    with open_store(filled) as store:
        expected = {one.id: one.inspection for one in store.history(None)}
    chance = random.Random(seed)
    content = bytearray(filled.read_bytes())
    for _ in range(chance.choice([1, 3, 200])):
        start = chance.randrange(100, len(content))
        length = chance.choice([1, 2, 30])
        content[start : start + length] = chance.randbytes(len(content[start : start + length]))
    filled.write_bytes(content)
    questions = [
        lambda store: [(one.id, one.inspection) for one in store.history(None)],
        lambda store: store.vehicles(),
        lambda store: store.readings("invented-7", "pad_inner"),
        lambda store: store.latest("invented-7"),
        lambda store: store.check(),
        lambda store: keep(store, 5),
    ]
    complaints = []
    for ask in questions:
        try:
            with open_store(filled, busy_timeout=0.3) as store:
                answer = ask(store)
        except StorageError as error:
            complaints.append(error)
            continue
        if ask is questions[0]:
            for found_id, found in answer:
                assert expected.get(found_id, found) == found
                assert found in expected.values()
    assert all(error.what and error.where and error.cure for error in complaints)


# locked


def test_a_file_locked_by_another_program_cannot_be_opened(path):
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        assert "the database is locked" in error_of(path).what
    with open_store(path) as store:
        assert store.history(None) == []


def test_a_moved_file_is_not_written(filled):
    """What is written to a file without a name would be acknowledged and lost."""
    with open_store(filled) as store:
        filled.rename(filled.with_name("moved.db"))
        with pytest.raises(StorageError, match="the file cannot be used: No such file"):
            keep(store, 3)
        shutil.copy(filled.with_name("moved.db"), filled)
        with pytest.raises(StorageError, match="the file was moved or replaced while it was in use"):
            keep(store, 3)


def test_a_removed_file_is_not_made_anew(filled):
    with open_store(filled) as store:
        store._engine.dispose()  # the next question needs a new connection
        filled.unlink()
        with pytest.raises(StorageError, match="the database cannot be opened"):
            store.history(None)
    assert not filled.exists()


# read-only


@contextmanager
def ordinary_person() -> Iterator[None]:
    """Give up the rights of root, for which no file is read-only."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def public() -> Iterator[Path]:
    """A file with one inspection in a folder that everybody may enter."""
    folder = Path(tempfile.mkdtemp(prefix="wearline-", dir="/tmp"))
    with open_store(folder / "shop.db") as store:
        keep(store)
    folder.chmod(0o777)
    yield folder / "shop.db"
    folder.chmod(0o777)
    shutil.rmtree(folder)


def test_a_read_only_file_can_be_read_and_not_written(public):
    public.chmod(0o444)
    with ordinary_person(), open_store(public, busy_timeout=0.3) as store:
        assert len(store.history(None)) == 1
        with pytest.raises(StorageError, match="the database cannot be written") as caught:
            keep(store, 1)
        assert caught.value.where == str(public)
        assert "Nothing was kept" in caught.value.cure


def test_a_read_only_folder(public):
    public.chmod(0o666)
    public.parent.chmod(0o555)
    with ordinary_person():
        assert "the database cannot be written" in error_of(public).what
        assert "Permission denied" in error_of(public.with_name("other.db")).what


def test_a_file_that_may_not_be_read(public):
    public.chmod(0)
    with ordinary_person():
        assert "Permission denied" in error_of(public).what


# full disk


def keep_until_refused(store: Store) -> tuple[list[str], StorageError]:
    kept: list[str] = []
    try:
        while len(kept) < 1000:
            kept.append(keep(store, len(kept)))
    except StorageError as error:
        return kept, error
    raise AssertionError("the disk was never full")


def test_a_file_that_may_not_grow_keeps_what_it_has(path):
    """SQLITE_FULL, which is also what a full disk gives."""
    with open_store(path) as store:
        with store._engine.connect() as connection:
            connection.exec_driver_sql("PRAGMA max_page_count = 120")
        kept, error = keep_until_refused(store)
        assert "the disk is full" in error.what
        assert "Nothing was kept" in error.cure
        assert kept
        assert [one.id for one in store.history(None)] == kept
        assert store.check().sound
        with store._engine.connect() as connection:
            connection.exec_driver_sql("PRAGMA max_page_count = 1000000")
        kept.append(keep(store, len(kept)))
        assert [one.id for one in store.history(None)] == kept


@contextmanager
def files_up_to(size: int) -> Iterator[None]:
    """Let the system refuse every write beyond a size, as it does on a disk without room."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_a_refused_write_keeps_what_was_there(path):
    with open_store(path) as store, files_up_to(600_000):
        kept, error = keep_until_refused(store)
    assert "the disk refused a read or a write: it is full" in error.what
    assert kept
    with open_store(path) as store:
        assert [one.id for one in store.history(None)] == kept
        assert store.check().sound
        keep(store, len(kept))


def test_no_room_for_a_new_database(path):
    with files_up_to(8192):
        assert "the disk refused a read or a write" in error_of(path).what
    with open_store(path) as store:
        keep(store)
        assert store.check().sound
