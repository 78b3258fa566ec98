"""The error tree of the project. Every message says what, where, what is allowed and what to do.

WearlineError
├── InputError               bad input; exit code 2
│   ├── QuantityError        a text that is not one clear quantity
│   ├── FileFormatError      a file that cannot be read as what it claims to be
│   ├── ReadingError         a reading that is impossible, incomplete or contradictory
│   ├── CatalogueError       a limit, design or rule file that is wrong
│   ├── StorageError         the database cannot take or give the data
│   └── DomainError          a value outside the range in which a formula holds
└── ProgramFault             a fault of the program; exit code 3
"""

from __future__ import annotations

__all__ = [
    "CatalogueError",
    "DomainError",
    "FileFormatError",
    "InputError",
    "ProgramFault",
    "QuantityError",
    "ReadingError",
    "StorageError",
    "WearlineError",
]


class WearlineError(Exception):
    """Base of all errors that the project raises on purpose.

    Parameters
    ----------
    what : str
        What is wrong, with the value got and its unit.
    where : str, optional
        File, line or cell, and wheel end.
    allowed : str, optional
        What would have been accepted.
    cure : str, optional
        What the person can do about it.
    """

    kind = "error"
    exit_code = 3

    def __init__(self, what: str, *, where: str = "", allowed: str = "", cure: str = "") -> None:
        self.what = what
        self.where = where
        self.allowed = allowed
        self.cure = cure
        super().__init__(what)

    def __str__(self) -> str:
        parts = [f"{self.where}: {self.what}" if self.where else self.what]
        if self.allowed:
            parts.append(f"Allowed: {self.allowed}")
        if self.cure:
            parts.append(self.cure)
        return " ".join(part if part.endswith((".", "?", "!")) else part + "." for part in parts)

    def at(self, where: str) -> WearlineError:
        """Return the same error with the place put in front of the place it already names.

        Parameters
        ----------
        where : str
            The outer place, a file name for instance.

        Returns
        -------
        WearlineError
            A new error of the same class.
        """
        place = f"{where}, {self.where}" if self.where else where
        return type(self)(self.what, where=place, allowed=self.allowed, cure=self.cure)

    def as_plain(self) -> dict[str, str]:
        """Return the parts under the keys of the error answer.

        Returns
        -------
        dict of str
            Keys ``kind``, ``where``, ``what``, ``allowed``, ``cure``.
        """
        return {
            "kind": self.kind,
            "where": self.where,
            "what": self.what,
            "allowed": self.allowed,
            "cure": self.cure,
        }


class InputError(WearlineError):
    """Something that a person gave is wrong."""

    kind = "input"
    exit_code = 2


class QuantityError(InputError):
    """A text is not one clear quantity of the kind asked for."""

    kind = "quantity"


class FileFormatError(InputError):
    """A file cannot be read as what it claims to be."""

    kind = "file"


class ReadingError(InputError):
    """A reading is impossible, incomplete or contradicts another."""

    kind = "reading"


class CatalogueError(InputError):
    """A limit, design or rule file is wrong."""

    kind = "catalogue"


class StorageError(InputError):
    """The database cannot take or give the data."""

    kind = "storage"


class DomainError(InputError, ValueError):
    """A value lies outside the range in which a formula holds."""

    kind = "domain"


class ProgramFault(WearlineError):
    """A fault of the program itself."""

    kind = "fault"
    exit_code = 3
