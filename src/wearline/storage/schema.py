"""Schema versions: whose a database is, how old, and bringing it up to date."""

from __future__ import annotations

from pathlib import Path
from threading import Lock

from sqlalchemy import Connection, Engine, inspect, text

from wearline.errors import StorageError
from wearline.storage.addresses import Address
from wearline.storage.engines import APPLICATION_ID, probe_sqlite, writing_engine
from wearline.storage.failures import translated
from wearline.storage.tables import VERSION_TABLE

__all__ = ["MIGRATIONS", "SCHEMA_VERSIONS", "bring_up_to_date", "check_owner", "upgrade"]

SCHEMA_VERSIONS = ("0001", "0002")
"""Every schema version that this program knows, oldest first."""

MIGRATIONS = Path(__file__).parent / "migrations"

# Alembic hands its context to the migrations in global names
_ONE_AT_A_TIME = Lock()

_OWN_DATABASE = "a database of this program, or an empty one"


def check_owner(address: Address, busy_timeout: float) -> None:
    """Refuse the SQLite file of another application before anything is changed in it.

    Parameters
    ----------
    address : Address
        Of an existing file.
    busy_timeout : float
        How long to wait for another program [s].

    Raises
    ------
    StorageError
        If the file is another application's, or no database.
    """
    facts = probe_sqlite(address, busy_timeout)
    if facts.application_id == APPLICATION_ID or (facts.application_id == 0 and facts.tables == 0):
        return
    raise _foreign(address, f"application id {facts.application_id:#010x}, {facts.tables} tables")


def bring_up_to_date(engine: Engine, address: Address, *, create: bool) -> None:
    """Bring a database to the newest schema version, in one transaction.

    Parameters
    ----------
    engine : Engine
        Of the database.
    address : Address
        Named in errors.
    create : bool
        Whether tables are made in an empty database.

    Raises
    ------
    StorageError
        If the database is newer than the program, another application's, or empty and not to be made.
    """
    with translated(address), engine.begin() as connection:
        _check_encoding(connection, address)
        version = _version(connection, address)
    if version == SCHEMA_VERSIONS[-1]:
        return
    if version is None and not create:
        raise StorageError(
            "the database is empty",
            where=address.shown,
            allowed="a database in which something is kept",
            cure="Check the name; keeping a first inspection makes the tables",
        )
    with translated(address), writing_engine(engine).begin() as connection:
        # asked again: another program may have brought it up to date while this one waited for the lock
        if _version(connection, address) != SCHEMA_VERSIONS[-1]:
            upgrade(connection, SCHEMA_VERSIONS[-1])


def upgrade(connection: Connection, version: str) -> None:
    """Run the migrations up to a version inside the transaction of a connection.

    Parameters
    ----------
    connection : Connection
        In a writing transaction; the caller commits.
    version : str
        One of ``SCHEMA_VERSIONS``.
    """
    from alembic import command
    from alembic.config import Config

    config = Config()
    # a percent sign in the path would be read as an interpolation
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    with _ONE_AT_A_TIME:
        command.upgrade(config, version)


def _version(connection: Connection, address: Address) -> str | None:
    tables = inspect(connection).get_table_names()
    if VERSION_TABLE not in tables:
        if tables:
            raise _foreign(address, f"tables {', '.join(sorted(tables)[:5])}")
        return None
    rows = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalars().all()
    version = str(rows[0]) if len(rows) == 1 else ""
    if version in SCHEMA_VERSIONS:
        return version
    raise StorageError(
        f"the database has schema version '{', '.join(map(str, rows))}', which this program does not know",
        where=address.shown,
        allowed=f"schema versions up to {SCHEMA_VERSIONS[-1]}",
        cure="A newer version of the program has written it: update this one, and change nothing by hand",
    )


def _check_encoding(connection: Connection, address: Address) -> None:
    if connection.dialect.name != "postgresql":
        return
    encoding = connection.execute(text("SHOW server_encoding")).scalar_one()
    if encoding != "UTF8":
        raise StorageError(
            f"the database stores text as {encoding}",
            where=address.shown,
            allowed="UTF8, so that every reading can be kept as it was typed",
            cure="Have one made: CREATE DATABASE ... TEMPLATE template0 ENCODING 'UTF8'",
        )


def _foreign(address: Address, found: str) -> StorageError:
    return StorageError(
        f"the database belongs to another application ({found})",
        where=address.shown,
        allowed=_OWN_DATABASE,
        cure="Name another file; on PostgreSQL give the program a database or a schema of its own",
    )
