"""The databases on which the storage is tested: an SQLite file, and a PostgreSQL server of the tests' own."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import sqlite3
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg

from wearline.storage.engines import APPLICATION_ID

USER = "tester"
PASSWORD = "p@ss:w/rd-of-the-tests"
QUOTED_PASSWORD = "p%40ss%3Aw%2Frd-of-the-tests"


@dataclass(frozen=True)
class SqliteDatabase:
    """A file, and a way into it that does not pass through the program."""

    address: str
    dialect: str = "sqlite"

    def connect(self) -> sqlite3.Connection:
        return sqlite3.connect(self.address, isolation_level=None, timeout=0.2)

    def execute(self, sql: str) -> list[tuple[Any, ...]]:
        with closing(self.connect()) as connection:
            return connection.execute(sql).fetchall()

    @contextmanager
    def held_by_another_writer(self) -> Iterator[None]:
        with closing(self.connect()) as connection:
            connection.execute("BEGIN IMMEDIATE")
            yield


@dataclass(frozen=True)
class PostgresqlDatabase:
    """A database of the server, and a way into it that does not pass through the program."""

    address: str
    conninfo: str
    dialect: str = "postgresql"

    def execute(self, sql: str) -> list[tuple[Any, ...]]:
        with psycopg.connect(self.conninfo, autocommit=True) as connection:
            cursor = connection.execute(sql)
            return cursor.fetchall() if cursor.description else []

    @contextmanager
    def held_by_another_writer(self) -> Iterator[None]:
        with psycopg.connect(self.conninfo) as connection:
            connection.execute(f"SELECT pg_advisory_xact_lock({APPLICATION_ID})")
            yield


Database = SqliteDatabase | PostgresqlDatabase


class PostgresqlServer:
    """A server in a temporary folder, reached over a socket file in it and nothing else."""

    def __init__(self) -> None:
        self._bin = _find_programs()
        # not under root's home or pytest's folder: the server's user could not enter those
        self.folder = Path(tempfile.mkdtemp(prefix="wearline-pg-", dir="/tmp"))
        self._as_user: dict[str, Any] = {"cwd": self.folder, "text": True}
        if os.getuid() == 0:
            account = pwd.getpwnam("postgres")
            os.chown(self.folder, account.pw_uid, account.pw_gid)
            self._as_user |= {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": []}
        self._process: subprocess.Popen[str] | None = None
        self._count = 0
        try:
            self._initialise()
            self.start()
        except BaseException:
            self.remove()
            raise

    def _initialise(self) -> None:
        secret = self.folder / "secret"
        secret.write_text(PASSWORD, encoding="utf-8")
        subprocess.run(
            [
                self._bin / "initdb",
                f"--pgdata={self.folder / 'data'}",
                f"--username={USER}",
                f"--pwfile={secret}",
                "--auth=scram-sha-256",
                "--encoding=UTF8",
                "--locale=C",
                "--no-sync",
            ],
            check=True,
            capture_output=True,
            **self._as_user,
        )

    def start(self) -> None:
        """Start it and wait until it answers."""
        with (self.folder / "log").open("w", encoding="utf-8") as log:
            self._process = subprocess.Popen(
                [
                    self._bin / "postgres",
                    "-D",
                    self.folder / "data",
                    "-k",
                    self.folder,
                    "-c",
                    "listen_addresses=",
                    "-c",
                    "fsync=off",
                ],
                stdout=log,
                stderr=log,
                **self._as_user,
            )
        deadline = time.monotonic() + 60
        while True:
            try:
                psycopg.connect(self.conninfo("postgres")).close()
                return
            except psycopg.OperationalError as error:
                if self._process.poll() is not None or time.monotonic() > deadline:
                    said = (self.folder / "log").read_text(encoding="utf-8")
                    raise RuntimeError(
                        f"the PostgreSQL server of the tests did not start: {error}\n{said}"
                    ) from error
                time.sleep(0.05)

    def stop(self, how: signal.Signals = signal.SIGINT) -> None:
        """Stop it without waiting for its clients."""
        if self._process is not None and self._process.poll() is None:
            self._process.send_signal(how)
            self._process.wait(timeout=30)

    def remove(self) -> None:
        """Stop it and remove its folder."""
        self.stop(signal.SIGQUIT)  # at once: its files are thrown away
        shutil.rmtree(self.folder, ignore_errors=True)

    def conninfo(self, database: str) -> str:
        return psycopg.conninfo.make_conninfo(
            host=str(self.folder), user=USER, password=PASSWORD, dbname=database, connect_timeout=5
        )

    def address(self, database: str, password: str = QUOTED_PASSWORD, user: str = USER) -> str:
        return f"postgresql://{user}:{password}@/{database}?host={self.folder}"

    def new_database(self, encoding: str = "UTF8") -> PostgresqlDatabase:
        """Make an empty database."""
        self._count += 1
        name = f"wearline_{self._count}"
        with psycopg.connect(self.conninfo("postgres"), autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name} TEMPLATE template0 ENCODING '{encoding}'")
        return PostgresqlDatabase(self.address(name), self.conninfo(name))


def _find_programs() -> Path:
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: float(path.parent.parent.name)
    )
    if found:
        return found[-1].parent
    anywhere = shutil.which("initdb")
    if anywhere is not None:
        return Path(anywhere).resolve().parent
    raise RuntimeError(
        "the tests need a PostgreSQL server of their own; install it: apt-get install postgresql"
    )
