"""Connections: durable SQLite files and PostgreSQL, with the same rules for reading and writing."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine, event
from sqlalchemy.engine import Connection, Engine
from sqlalchemy.pool import QueuePool

from wearline.errors import StorageError
from wearline.storage.addresses import Address
from wearline.storage.failures import translated

__all__ = ["APPLICATION_ID", "SqliteFacts", "checkpoint", "make_engine", "probe_sqlite", "writing_engine"]

APPLICATION_ID = 0x77726C6E
"""Number in the head of every SQLite file of this program: the letters "wrln"."""

_WRITING = "wearline_writing"


@dataclass(frozen=True, slots=True)
class SqliteFacts:
    """What an SQLite file says of itself.

    Parameters
    ----------
    application_id : int
        Whose it is; 0 where nobody said.
    tables : int
        How many tables it holds.
    """

    application_id: int
    tables: int


def probe_sqlite(address: Address, busy_timeout: float) -> SqliteFacts:
    """Ask a file whose it is, without changing anything in it.

    Parameters
    ----------
    address : Address
        Of an existing file.
    busy_timeout : float
        How long to wait for another program [s].

    Returns
    -------
    SqliteFacts
        The answer.

    Raises
    ------
    StorageError
        If the file cannot be read as a database.
    """
    assert address.path is not None
    with translated(address), closing(_connect_sqlite(address.path, busy_timeout)) as connection:
        (application_id,) = connection.execute("PRAGMA application_id").fetchone()
        (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    return SqliteFacts(application_id, tables)


def make_engine(address: Address, busy_timeout: float) -> Engine:
    """Make the engine of a database.

    Parameters
    ----------
    address : Address
        Where the database is.
    busy_timeout : float
        How long a writer waits for another [s].

    Returns
    -------
    Engine
        For reading; ``writing_engine`` gives its twin.

    Raises
    ------
    StorageError
        If the driver for PostgreSQL is not installed.
    """
    if address.path is not None:
        engine = _sqlite_engine(address.path, busy_timeout)
    else:
        engine = _postgresql_engine(address, busy_timeout)
    event.listen(engine, "begin", _begin)
    return engine


def writing_engine(engine: Engine) -> Engine:
    """Return the twin of an engine whose transactions are the only writer from their first statement on.

    Parameters
    ----------
    engine : Engine
        From ``make_engine``.

    Returns
    -------
    Engine
        With the same connections.

    Notes
    -----
    SQLite takes its write lock at BEGIN IMMEDIATE, PostgreSQL one advisory lock per transaction. So a check
    before an insert (same inspection, odometer, already superseded) holds until the commit on both.
    """
    return engine.execution_options(**{_WRITING: True})


def _begin(connection: Connection) -> None:
    writing = connection.get_execution_options().get(_WRITING, False)
    if connection.dialect.name == "sqlite":
        # the Python driver would begin only at the first INSERT, after the checks have been read
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")
    elif writing:
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({APPLICATION_ID})")


def _connect_sqlite(path: Path, busy_timeout: float) -> sqlite3.Connection:
    # mode=rw: a file that was moved away while the program runs is an error, not a new empty database
    return sqlite3.connect(
        f"{path.absolute().as_uri()}?mode=rw",
        uri=True,
        timeout=busy_timeout,
        isolation_level=None,
        check_same_thread=False,
    )


def _sqlite_engine(path: Path, busy_timeout: float) -> Engine:
    def connect() -> sqlite3.Connection:
        connection = _connect_sqlite(path, busy_timeout)
        try:
            _use_write_ahead_log(connection, busy_timeout)
            # FULL: in WAL mode NORMAL may lose the last acknowledged inspections when the power fails
            connection.execute("PRAGMA synchronous=FULL")
            connection.execute("PRAGMA foreign_keys=ON")
            # without it REPLACE would remove rows behind the back of the triggers
            connection.execute("PRAGMA recursive_triggers=ON")
        except BaseException:
            connection.close()
            raise
        return connection

    return create_engine(
        "sqlite://", creator=connect, poolclass=QueuePool, pool_size=4, pool_timeout=busy_timeout
    )


def _use_write_ahead_log(connection: sqlite3.Connection, busy_timeout: float) -> None:
    deadline = time.monotonic() + busy_timeout
    while connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        try:
            connection.execute("PRAGMA journal_mode=WAL")
            return
        except sqlite3.OperationalError as error:
            # two programs may make the file wal at once, and SQLite does not wait by itself for this lock
            if (error.sqlite_errorcode & 0xFF) != sqlite3.SQLITE_BUSY or time.monotonic() > deadline:
                raise
            time.sleep(0.01)


def _postgresql_engine(address: Address, busy_timeout: float) -> Engine:
    assert address.url is not None
    arguments: dict[str, Any] = {}
    if "connect_timeout" not in address.url.query:
        arguments["connect_timeout"] = max(2, round(busy_timeout))
    try:
        engine = create_engine(
            address.url, connect_args=arguments, pool_size=4, pool_timeout=busy_timeout, pool_pre_ping=True
        )
    except ImportError as error:
        raise StorageError(
            f"the driver for PostgreSQL cannot be used: {error}",
            where=address.shown,
            allowed="psycopg 3 with its binary part",
            cure="Install it: pip install 'wearline[postgresql]'",
        ) from error
    milliseconds = max(1, round(busy_timeout * 1000))

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _record: Any) -> None:
        connection.autocommit = True
        connection.execute(f"SET lock_timeout = {milliseconds}")
        connection.execute("SET application_name = 'wearline'")
        connection.autocommit = False

    return engine


def checkpoint(engine: Engine) -> None:
    """Move what the write-ahead log of an SQLite file holds into the file.

    Parameters
    ----------
    engine : Engine
        Of any database; nothing happens on PostgreSQL.
    """
    if engine.dialect.name != "sqlite":
        return
    # nothing depends on it: what a reader or a read-only folder prevents is done by the next one that closes
    with suppress(sqlite3.Error):
        connection = engine.raw_connection()
        try:
            cursor = connection.cursor()
            cursor.execute("PRAGMA busy_timeout=0")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        finally:
            connection.close()
