"""Numbers of the braking side with their status, from ``data/braking.toml``."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

from wearline.errors import CatalogueError
from wearline.units import Kind, parse_quantity

__all__ = ["BrakingNumber", "braking_number", "braking_numbers", "braking_numbers_from"]

_FILE = "braking.toml"
_UNVERIFIED = "unverified"
_STATUSES = frozenset({"expert judgement", "common practice", "derived", "published", _UNVERIFIED})


@dataclass(frozen=True, slots=True)
class BrakingNumber:
    """One number with its origin.

    Parameters
    ----------
    id : str
        Name.
    value, low, high : float
        Number, and where it usually lies; all three alike without a range [SI].
    published : str
        As written, with its unit.
    source, status, note : str
        Source key, what it may be used for, what it is.
    """

    id: str
    value: float
    low: float
    high: float
    published: str
    source: str
    status: str
    note: str

    @property
    def decides(self) -> bool:
        """Whether the number may enter a decision; an unverified one is only shown."""
        return self.status != _UNVERIFIED


@lru_cache(maxsize=1)
def braking_numbers() -> Mapping[str, BrakingNumber]:
    """Read the file of the package.

    Returns
    -------
    mapping of str to BrakingNumber
        By id.

    Raises
    ------
    CatalogueError
        If an entry is incomplete or not a quantity of its kind.
    """
    text = resources.files("wearline.assessment").joinpath("data", _FILE).read_text(encoding="utf-8")
    return braking_numbers_from(tomllib.loads(text))


def braking_number(id: str) -> float:
    """Return one number that may enter a decision.

    Parameters
    ----------
    id : str
        Its name in the file.

    Returns
    -------
    float
        Value [SI].

    Raises
    ------
    CatalogueError
        If the number is unverified: such a number never decides.
    """
    number = braking_numbers()[id]
    if not number.decides:
        raise CatalogueError(
            f"the number '{id}' is unverified and must not decide anything",
            where=_FILE,
            allowed="numbers with another status",
            cure="Read its source and give it the status that it then has",
        )
    return number.value


def braking_numbers_from(document: Mapping[str, Any]) -> Mapping[str, BrakingNumber]:
    """Build the numbers from a parsed file.

    Parameters
    ----------
    document : mapping
        What the TOML reader gave.

    Returns
    -------
    mapping of str to BrakingNumber
        By id.

    Raises
    ------
    CatalogueError
        If an entry is incomplete, has an unknown status or is not a quantity of its kind.
    """
    default = document["default"]
    return {id: _number(id, entry, default) for id, entry in document["number"].items()}


def _number(id: str, entry: Mapping[str, Any], default: Mapping[str, str]) -> BrakingNumber:
    where = f"{_FILE}, number {id}"
    status = entry.get("status", default["status"])
    if status not in _STATUSES:
        raise CatalogueError(
            f"'{status}' is no status", where=where, allowed=", ".join(sorted(_STATUSES)), cure="Write one"
        )
    for key in ("published", "kind", "note"):
        if not entry.get(key):
            raise CatalogueError(
                f"'{key}' is missing", where=where, allowed="published, kind and note", cure="Add it"
            )
    kind = Kind[entry["kind"].upper()]
    low, high = entry.get("range", (entry["published"], entry["published"]))
    return BrakingNumber(
        id=id,
        value=parse_quantity(entry["published"], kind).value,
        low=parse_quantity(low, kind).value,
        high=parse_quantity(high, kind).value,
        published=entry["published"],
        source=entry.get("source", default["source"]),
        status=status,
        note=entry["note"],
    )
