"""One clear error for whatever a database refuses: where, what, what is allowed, what to do."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from wearline.errors import ProgramFault, ReadingError, StorageError, WearlineError
from wearline.storage.addresses import Address

__all__ = ["sound_values", "translated"]

_UNTOUCHED = "Nothing was kept by this attempt"


@dataclass(frozen=True, slots=True)
class _Explanation:
    what: str
    allowed: str
    cure: str


_LOCKED = _Explanation(
    "the database is locked: another program has been writing to it for longer than this one waits",
    "one writer at a time",
    f"Wait for the other program or close it, and try again. {_UNTOUCHED}",
)
_FULL = _Explanation(
    "the disk is full",
    "room for the inspection on the disk of the database",
    f"Free some space and try again. {_UNTOUCHED}",
)
_DAMAGED = _Explanation(
    "the database is damaged",
    "a database as this program left it",
    "Write nothing more to it and keep a copy of the damaged file; take the latest backup and keep the later "
    "inspections again from their files",
)
_LACKING = _Explanation(
    "a table or column that this program made is missing from the database",
    "a database as this program left it",
    "Some other program has changed it: take the latest backup",
)
_READ_ONLY = _Explanation(
    "the database cannot be written",
    "a file that this account may write, in a folder in which it may make files (it needs two)",
    f"Give the account those permissions, or copy the file to a folder of your own. {_UNTOUCHED}",
)
_CANNOT_OPEN = _Explanation(
    "the database cannot be opened",
    "a file that this account may read and write, in an existing folder in which it may make files",
    "Check the name, and the permissions of the folder, the file and the files -wal and -shm beside it",
)
_DISK_ERROR = _Explanation(
    "the disk refused a read or a write: it is full, over its quota, or failing",
    "a disk with room that reads and writes without errors",
    f"Check the free space and the quota, then the disk itself. {_UNTOUCHED}",
)
_REFUSED = _Explanation(
    "the database refused the rows as contradictory",
    "facts that stand for ever; corrections supersede and never change or erase them",
    _UNTOUCHED,
)
_NOT_A_DATABASE = _Explanation(
    "the file is not a database, or its beginning is damaged",
    "a database that this program made",
    "Check the name; if it was a database, take it from the latest backup",
)
_NO_RIGHT = _Explanation(
    "the account lacks a right in the database",
    "an account that owns the schema, or may use it and select from and insert into its tables",
    f"Ask whoever runs the server for the right. {_UNTOUCHED}",
)
_UNREACHABLE = _Explanation(
    "the database server cannot be reached or broke the connection",
    "a running PostgreSQL server at this address",
    f"Check that the server runs, and its name and port. {_UNTOUCHED} unless it had been confirmed before",
)
_LOGIN = _Explanation(
    "the database server refused the login",
    "a user and a password that the server knows and that may use this database",
    "Check the user and the password in the address of the database",
)
_NO_DATABASE = _Explanation(
    "the server has no database of this name",
    "an existing database",
    "Check the name, or have the database made: CREATE DATABASE ... ENCODING 'UTF8'",
)

_BY_SQLITE_CODE = {
    sqlite3.SQLITE_BUSY: _LOCKED,
    sqlite3.SQLITE_LOCKED: _LOCKED,
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    sqlite3.SQLITE_MISMATCH: _DAMAGED,
    sqlite3.SQLITE_FORMAT: _DAMAGED,
    sqlite3.SQLITE_NOTADB: _NOT_A_DATABASE,
    sqlite3.SQLITE_READONLY: _READ_ONLY,
    sqlite3.SQLITE_PERM: _READ_ONLY,
    sqlite3.SQLITE_CANTOPEN: _CANNOT_OPEN,
    sqlite3.SQLITE_IOERR: _DISK_ERROR,
    sqlite3.SQLITE_CONSTRAINT: _REFUSED,
}

_BY_SQLSTATE = {
    "55P03": _LOCKED,
    "40001": _LOCKED,
    "40P01": _LOCKED,
    "53100": _FULL,
    "XX001": _DAMAGED,
    "XX002": _DAMAGED,
    "42P01": _LACKING,
    "42703": _LACKING,
    "25006": _READ_ONLY,
    "42501": _NO_RIGHT,
    "3F000": _NO_RIGHT,
    "28000": _LOGIN,
    "28P01": _LOGIN,
    "3D000": _NO_DATABASE,
    "53300": _UNREACHABLE,
    "WL001": _REFUSED,
}

_BY_SQLSTATE_CLASS = {"08": _UNREACHABLE, "23": _REFUSED, "57": _UNREACHABLE}

# a failed login carries no code, only the server's sentence
_BY_SENTENCE = {
    "authentication failed": _LOGIN,
    "no password supplied": _LOGIN,
    "no pg_hba.conf entry": _LOGIN,
    'role "': _LOGIN,
    'database "': _NO_DATABASE,
}


@contextmanager
def translated(address: Address) -> Iterator[None]:
    """Turn the errors of a database library into those of this project.

    Parameters
    ----------
    address : Address
        Named in the error.

    Yields
    ------
    None
        While the database is used.

    Raises
    ------
    StorageError
        For everything that a person can mend.
    ProgramFault
        For a statement that the database does not understand.
    """
    try:
        yield
    except DBAPIError as error:
        raise _explained(error.orig, address) from error
    except sqlite3.Error as error:
        raise _explained(error, address) from error
    except UnicodeDecodeError as error:
        # the driver cannot even read what the database says of its damage
        raise _error(_DAMAGED, str(error), address) from error
    except PoolTimeoutError as error:
        raise _error(_LOCKED, "every connection is in use", address) from error
    except SQLAlchemyError as error:
        raise ProgramFault(f"the database library says: {error}", where=address.shown) from error


@contextmanager
def sound_values(address: Address) -> Iterator[None]:
    """Turn values that cannot be what was kept into one error, while rows are read and built.

    Parameters
    ----------
    address : Address
        Named in the error.

    Yields
    ------
    None
        While rows are read.

    Raises
    ------
    StorageError
        If a value in a row is not of its kind.
    """
    try:
        yield
    except (ValueError, TypeError, KeyError, ReadingError) as error:
        raise _error(_DAMAGED, f"a value is not of its kind: {error}", address) from error


def _explained(cause: BaseException | None, address: Address) -> WearlineError:
    said = " ".join(str(cause).split())
    if isinstance(cause, sqlite3.Error):
        explanation = _explain_sqlite(cause, said)
    else:
        explanation = _explain_postgresql(getattr(cause, "sqlstate", None), said)
    if explanation is None:
        return ProgramFault(f"the database does not understand the program: {said}", where=address.shown)
    return _error(explanation, said, address)


def _explain_sqlite(cause: sqlite3.Error, said: str) -> _Explanation | None:
    code = getattr(cause, "sqlite_errorcode", None)
    if code is not None and (code & 0xFF) in _BY_SQLITE_CODE:
        return _BY_SQLITE_CODE[code & 0xFF]
    if said.startswith(("no such table", "no such column")) or "has no column named" in said:
        return _LACKING
    # the Python driver itself refuses text that is no longer UTF-8, and gives no code
    return _DAMAGED if "Could not decode" in said else None


def _explain_postgresql(state: str | None, said: str) -> _Explanation | None:
    if state is None:
        for sentence, explanation in _BY_SENTENCE.items():
            if sentence in said:
                return explanation
        return _UNREACHABLE
    return _BY_SQLSTATE.get(state) or _BY_SQLSTATE_CLASS.get(state[:2])


def _error(explanation: _Explanation, said: str, address: Address) -> StorageError:
    return StorageError(
        f"{explanation.what} ({said})",
        where=address.shown,
        allowed=explanation.allowed,
        cure=explanation.cure,
    )
