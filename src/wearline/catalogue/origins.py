"""Reads numbers together with where they come from."""

from __future__ import annotations

from wearline.catalogue.documents import Origin
from wearline.catalogue.model import Grade, Number, Source, Status
from wearline.catalogue.reader import Entry
from wearline.units import Kind

__all__ = ["read_number", "read_origin", "refuse_memory"]


def read_origin(entry: Entry, default: Origin) -> tuple[str, str, Status]:
    """Return source, locator and status of the number in an entry.

    Parameters
    ----------
    default : Origin
        Used where the entry says nothing.

    Returns
    -------
    (str, str, Status)
        Source key, locator, status.
    """
    source = entry.choice("source", default.sources, default.source or None)
    found = default.sources[source]
    locator = entry.text("locator", default.locator or None)
    status = entry.member("status", Status, found.status)
    if status is not found.status:
        entry.fail("status", f"'{status}' does not fit the source '{source}'", f"'{found.status}'")
    return source, locator, status


def read_number(entry: Entry, key: str, kind: Kind, origin: Origin) -> Number:
    """Read a quantity, written as a text or as a table with its own origin.

    Parameters
    ----------
    entry : Entry
        The table it stands in.
    key : str
        The key.
    kind : Kind
        Kind of quantity.
    origin : Origin
        Origin of a bare text.

    Returns
    -------
    Number
        The number with its origin.

    Raises
    ------
    CatalogueError
        If it is not a quantity of this kind, or its source is not known.
    """
    bare = not entry.is_table(key)
    inner = Entry(entry.file, entry.name, {"value": entry.text(key)}) if bare else entry.table(key)
    text = inner.text("value")
    exact, unit = (entry if bare else inner).exact(key if bare else "value", text, kind)
    source, locator, status = read_origin(inner, origin)
    inner.finish()
    return Number(float(exact), exact, unit, text, source, locator, status)


def refuse_memory(entry: Entry, source: Source) -> None:
    """Refuse a limit that rests on a source known from memory only.

    Parameters
    ----------
    entry : Entry
        The limit.
    source : Source
        Its source.

    Raises
    ------
    CatalogueError
        If the grade of the source is ``memory``.
    """
    if source.grade is Grade.MEMORY:
        entry.fail(
            "source",
            f"'{source.key}' is known from memory only",
            "a source that was read, transcribed, or that is practice or judgement",
            "Read the text of the source first, or leave the limit out",
        )
