"""Fixtures of the storage tests: every contract is tried on each database."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from databases import Database, PostgresqlServer, SqliteDatabase

from wearline.storage import open_store
from wearline.storage.store import Store


@pytest.fixture(scope="session")
def postgresql_server() -> Iterator[PostgresqlServer]:
    """A PostgreSQL server of the tests' own; where none is installed, an error with the cure."""
    server = PostgresqlServer()
    yield server
    server.remove()


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> Database:
    """An empty database of each kind."""
    if request.param == "sqlite":
        return SqliteDatabase(str(tmp_path / "shop.db"))
    server: PostgresqlServer = request.getfixturevalue("postgresql_server")
    return server.new_database()


@pytest.fixture
def store(database: Database) -> Iterator[Store]:
    """An open store in an empty database of each kind."""
    with open_store(database.address, busy_timeout=10.0) as opened:
        yield opened
