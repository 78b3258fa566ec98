"""Schema versions: what the migrations make, upgrades of older databases, refusal of newer ones."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from databases import Database, SqliteDatabase
from invented_inspections import KEPT_AT, inspection

from wearline.errors import StorageError
from wearline.storage import open_store, schema
from wearline.storage.addresses import parse_address, prepare_file
from wearline.storage.engines import make_engine, writing_engine
from wearline.storage.tables import VERSION_TABLE, metadata
from wearline.storage.web_tables import WEB_APPEND_ONLY


def make_database_at(database: Database, version: str, fill: Callable[[Any], None] | None = None) -> None:
    """Make a database as the program of that schema version would have left it."""
    address = parse_address(database.address)
    if address.path is not None:
        prepare_file(address.path, create=True)
    engine = make_engine(address, 5.0)
    with writing_engine(engine).begin() as connection:
        schema.upgrade(connection, version)
        if fill is not None:
            fill(connection)
    engine.dispose()


def known_to_the_tables(name: str | None, kind: str, parents: Any) -> bool:
    """The index of words is no table of the program: SQLite makes several, PostgreSQL an expression."""
    del kind, parents
    return not str(name).startswith(("document_search", "ix_document_search"))


def differences(database: Database) -> list[Any]:
    """Where the tables of a database differ from those that the program expects."""
    engine = make_engine(parse_address(database.address), 5.0)
    with engine.begin() as connection:
        context = MigrationContext.configure(
            connection,
            opts={
                "version_table": VERSION_TABLE,
                "include_name": known_to_the_tables,
                "compare_type": True,
                # SQLite numbers its rows without being told, and shows no such default
                "compare_server_default": connection.dialect.name == "postgresql",
            },
        )
        found = compare_metadata(context, metadata)
    engine.dispose()
    return found


def script_versions(folder: Path) -> list[str]:
    config = Config()
    config.set_main_option("script_location", str(folder))
    return [one.revision for one in reversed(list(ScriptDirectory.from_config(config).walk_revisions()))]


def test_the_known_versions_are_those_of_the_migrations():
    assert tuple(script_versions(schema.MIGRATIONS)) == schema.SCHEMA_VERSIONS


def test_the_tables_of_the_web_app_stand_in_the_same_metadata():
    assert set(WEB_APPEND_ONLY) < set(metadata.tables)


def test_an_empty_database_becomes_what_the_tables_say(database):
    open_store(database.address).close()
    assert differences(database) == []
    assert database.execute(f"SELECT version_num FROM {VERSION_TABLE}") == [(schema.SCHEMA_VERSIONS[-1],)]


def test_the_comparison_sees_a_difference(database):
    open_store(database.address).close()
    database.execute("ALTER TABLE readings ADD COLUMN other TEXT")
    database.execute("DROP INDEX ix_inspections_digest")
    kinds = sorted(found[0] for found in differences(database))
    assert kinds == ["add_index", "remove_column"]


@pytest.mark.parametrize("version", schema.SCHEMA_VERSIONS)
def test_a_database_of_every_version_becomes_the_newest(database, version):
    make_database_at(database, version)
    with open_store(database.address, create=False) as store:
        store.keep(inspection(), kept_by="keeper", kept_at=KEPT_AT)
        assert store.check().sound
    assert differences(database) == []


def test_opening_again_changes_nothing(database):
    """The newest version is left alone, byte for byte where the database is a file."""
    with open_store(database.address) as store:
        store.keep(inspection(), kept_by="keeper", kept_at=KEPT_AT)
    before = Path(database.address).read_bytes() if database.dialect == "sqlite" else b""
    with open_store(database.address) as store:
        assert len(store.history(None)) == 1
    after = Path(database.address).read_bytes() if database.dialect == "sqlite" else b""
    assert after == before
    assert database.execute(f"SELECT version_num FROM {VERSION_TABLE}") == [(schema.SCHEMA_VERSIONS[-1],)]


NEXT_VERSION = '''
"""A version that does not exist yet."""
import sqlalchemy as sa
from alembic import op
revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

def upgrade():
    op.add_column("inspections", sa.Column("weather", sa.Text))
    op.create_index("ix_inspections_weather", "inspections", ["weather"])
    FAULT
'''


@pytest.fixture
def next_version(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Put the program into a future in which a further version exists."""

    def install(fault: str = "pass") -> None:
        folder = tmp_path / "future 100%"
        shutil.copytree(schema.MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
        (folder / "versions" / "v0003_weather.py").write_text(
            NEXT_VERSION.replace("FAULT", fault), encoding="utf-8"
        )
        monkeypatch.setattr(schema, "MIGRATIONS", folder)
        monkeypatch.setattr(schema, "SCHEMA_VERSIONS", ("0001", "0002", "0003"))

    return install


def test_an_older_database_is_upgraded_with_everything_in_it(database, next_version):
    with open_store(database.address) as store:
        receipt = store.keep(inspection(), kept_by="keeper", kept_at=KEPT_AT)
    next_version()
    with open_store(database.address, create=False) as store:
        assert store.inspection(receipt.id).inspection == inspection()
        assert store.check().sound
    assert database.execute("SELECT version_num, weather FROM wearline_schema, inspections") == [
        ("0003", None)
    ]


def test_a_newer_database_is_refused_and_left_alone(database, next_version, monkeypatch):
    with monkeypatch.context() as future:
        next_version()
        open_store(database.address).close()
        future.undo()
    monkeypatch.undo()
    with pytest.raises(
        StorageError, match="has schema version '0003', which this program does not know"
    ) as caught:
        open_store(database.address)
    assert caught.value.allowed == "schema versions up to 0002"
    assert "update this one" in caught.value.cure
    assert database.execute("SELECT version_num FROM wearline_schema") == [("0003",)]


def test_an_upgrade_that_fails_half_way_leaves_the_older_version_whole(database, next_version, monkeypatch):
    """Tables are changed inside one transaction, on both databases."""
    with open_store(database.address) as store:
        receipt = store.keep(inspection(), kept_by="keeper", kept_at=KEPT_AT)
    next_version("raise RuntimeError('the power went')")
    with pytest.raises(RuntimeError, match="the power went"):
        open_store(database.address)
    monkeypatch.undo()
    assert differences(database) == []
    with open_store(database.address) as store:
        assert store.inspection(receipt.id).inspection == inspection()
        assert store.check().sound


@pytest.mark.parametrize(
    "rows", ["DELETE FROM wearline_schema", "INSERT INTO wearline_schema VALUES ('0001b')"]
)
def test_a_version_table_edited_by_hand_is_refused(database, rows):
    open_store(database.address).close()
    database.execute(rows)
    with pytest.raises(StorageError, match=r"has schema version '.*', which this program does not know"):
        open_store(database.address)


def test_tables_are_not_made_unless_asked(database):
    if database.dialect == "sqlite":
        Path(database.address).touch()
    with pytest.raises(StorageError, match="the database is empty") as caught:
        open_store(database.address, create=False)
    assert caught.value.where.startswith(database.address.partition("://")[0])


def test_a_missing_table_is_one_clear_error(database):
    with open_store(database.address) as store:
        cascade = " CASCADE" if database.dialect == "postgresql" else ""
        database.execute(f"DROP TABLE snapshots{cascade}")
        with pytest.raises(StorageError, match="a table or column that this program made is missing"):
            store.snapshot("judgement", "d")
        with pytest.raises(StorageError, match="a table or column that this program made is missing"):
            store.check()


def test_another_applications_tables_are_refused_and_left_alone(database):
    database.execute("CREATE TABLE inspections (id INTEGER, weather TEXT)")
    database.execute("INSERT INTO inspections VALUES (1, 'rain')")
    with pytest.raises(StorageError, match="belongs to another application") as caught:
        open_store(database.address)
    assert caught.value.allowed == "a database of this program, or an empty one"
    assert database.execute("SELECT * FROM inspections") == [(1, "rain")]
    if database.dialect == "sqlite":
        assert database.execute("PRAGMA journal_mode") == [("delete",)]


PROGRAM = """
import sys
from datetime import date
from invented_inspections import KEPT_AT, inspection
from wearline.storage import open_store
sys.stdin.readline()
with open_store(sys.argv[1], busy_timeout=30.0) as store:
    store.keep(inspection(sys.argv[2]), kept_by="keeper", kept_at=KEPT_AT)
"""


def test_several_programs_make_one_database_at_once(database):
    """Each finds the tables made or makes them, and each keeps its inspection."""
    writers = [
        subprocess.Popen(
            [sys.executable, "-W", "error", "-c", PROGRAM, database.address, f"invented-{number}"],
            stdin=subprocess.PIPE,
            stderr=subprocess.PIPE,
            cwd=Path(__file__).parent,
            text=True,
        )
        for number in range(4)
    ]
    for writer in writers:
        assert writer.stdin is not None
        writer.stdin.write("go\n")
        writer.stdin.flush()
    for writer in writers:
        _, said = writer.communicate(timeout=60)
        assert (writer.returncode, said) == (0, "")
    with open_store(database.address) as store:
        assert [vehicle.id for vehicle in store.vehicles()] == [f"invented-{number}" for number in range(4)]
        assert store.check().sound


def test_a_new_file_is_marked_as_this_programs(tmp_path):
    """Bytes 68 to 71 of the head, as the file format says: sqlite.org/fileformat2.html, section 1.3."""
    path = tmp_path / "shop.db"
    open_store(path).close()
    head = path.read_bytes()[:100]
    assert head[68:72] == b"wrln"
    assert head[18:20] == bytes([2, 2]), "write-ahead log, section 1.3.3"
    assert SqliteDatabase(str(path)).execute("PRAGMA application_id") == [(0x77726C6E,)]


def test_texts_are_kept_in_every_script(database):
    """What a reading says is kept as it was typed, in every script."""
    with open_store(database.address) as store:
        store.keep(inspection("Anhänger-½-車"), kept_by="Prüfer", kept_at=KEPT_AT)
        assert store.vehicles()[0].id == "Anhänger-½-車"
