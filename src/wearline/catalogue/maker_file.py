"""The user's file of a maker's limits: read, checked, and put in force by design and by date.

A file looks like this (invented)::

    document = "Service instruction for an invented calliper, issue 3"
    date = 2026-01-15
    part_number = "EXAMPLE-1"
    valid_from = 2026-02-01
    designs = ["generic-22.5"]

    [[limit]]
    id = "rotor_min"
    published = "36.5 mm"
    locator = "table 2"
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

from wearline.catalogue.documents import Origin, nearest, parse_document
from wearline.catalogue.load_fields import field_kinds, load_fields, load_measures, load_sources
from wearline.catalogue.load_limits import DIMENSIONS, load_designs, load_limits, replace_limit
from wearline.catalogue.model import Design, Limit, Number, Status
from wearline.catalogue.origins import read_number
from wearline.catalogue.reader import Entry
from wearline.errors import CatalogueError
from wearline.uncertainty.rules import Sense

__all__ = ["MakerFile", "OwnDesign", "check_maker_file", "read_maker_file", "with_dimensions"]

_LARGEST_FILE = 1_000_000
_LARGEST_TEXT = "1 MB"


@dataclass(frozen=True, slots=True)
class OwnDesign:
    """A design that a maker's file adds.

    Parameters
    ----------
    id, title : str
        Key and words.
    like : str
        Design from which everything is taken that the file does not say.
    """

    id: str
    title: str
    like: str


@dataclass(frozen=True, slots=True, eq=False)
class MakerFile:
    """Limits and dimensions of one maker's document.

    Parameters
    ----------
    name : str
        File name, for messages.
    document, part_number : str
        The document, and the part it is about.
    dated : date
        Date of the document.
    valid_from : date
        First day in force.
    valid_until : date or None
        Last day in force; None for no end.
    designs : tuple of str
        Designs it applies to.
    limits : mapping of str to Limit
        Limits that it replaces, by id.
    dimensions : mapping of str to Number
        Dimensions that it replaces, by name.
    own_design : OwnDesign or None
        A design that it adds.
    digest : str
        SHA-256 of the file.
    """

    name: str
    document: str
    part_number: str
    dated: date
    valid_from: date
    valid_until: date | None
    designs: tuple[str, ...]
    limits: Mapping[str, Limit]
    dimensions: Mapping[str, Number]
    own_design: OwnDesign | None
    digest: str

    def in_force(self, design_id: str, on: date) -> bool:
        """Say whether the file holds for a design on a day.

        Parameters
        ----------
        design_id : str
            Id of the design.
        on : date
            The day.

        Returns
        -------
        bool
            True if it does; first and last day belong to it.
        """
        last = self.valid_until or date.max
        return design_id in self.designs and self.valid_from <= on <= last


def check_maker_file(path: str | Path, others: Iterable[MakerFile] = ()) -> MakerFile:
    """Read and check a file of a maker's limits.

    Parameters
    ----------
    path : str or Path
        The file.
    others : iterable of MakerFile, optional
        Files whose own designs this one may name.

    Returns
    -------
    MakerFile
        What it says.

    Raises
    ------
    CatalogueError
        If it cannot be read or anything in it is wrong; the message names entry, key and cure.
    """
    file = Path(path)
    try:
        size = file.stat().st_size
        data = file.read_bytes() if size <= _LARGEST_FILE else b""
    except (OSError, ValueError) as error:
        raise CatalogueError(
            f"the file cannot be read: {error}",
            where=file.name,
            allowed="a TOML file of a maker's limits",
            cure="Check the path and whether you may read it",
        ) from error
    if size > _LARGEST_FILE:
        raise CatalogueError(
            f"the file has {size} bytes",
            where=file.name,
            allowed=f"at most {_LARGEST_TEXT}",
            cure="Give the file of one document only",
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise CatalogueError(
            f"byte {error.start} is not UTF-8 text",
            where=file.name,
            allowed="a text file in UTF-8",
            cure="Save it again from a text editor as UTF-8",
        ) from error
    return read_maker_file(text.replace("\r\n", "\n"), file.name, others)


def read_maker_file(text: str, name: str, others: Iterable[MakerFile] = ()) -> MakerFile:
    """Read the text of a file of a maker's limits.

    Parameters
    ----------
    text : str
        The text.
    name : str
        File name, for messages.
    others : iterable of MakerFile, optional
        Files whose own designs this one may name.

    Returns
    -------
    MakerFile
        What it says.

    Raises
    ------
    CatalogueError
        If anything in it is wrong.
    """
    top = Entry(name, "", parse_document(text, name))
    document, part_number = top.text("document"), top.text("part_number")
    dated, valid_from = top.day("date"), top.day("valid_from")
    valid_until = top.day("valid_until") if "valid_until" in top else None
    if valid_until is not None and valid_until < valid_from:
        top.fail("valid_until", f"{valid_until} is before {valid_from}", "a day on or after valid_from")
    own = _own_design(top.table("defines")) if "defines" in top else None
    like = {design: design for design in load_designs()}
    like |= {other.own_design.id: other.own_design.like for other in others if other.own_design is not None}
    like |= {own.id: own.like} if own is not None else {}
    designs = top.known("designs", like, (own.id,) if own is not None else None)
    if not designs:
        top.fail("designs", "no design stands here", "at least one of " + ", ".join(like))
    locator = f"{document}, {dated.isoformat()}, part {part_number}"
    origin = Origin(load_sources(), "maker-file", locator)
    bases = [load_designs()[like[design]] for design in designs]
    limits = _limits(top, bases, origin)
    dimensions = _dimensions(top, origin)
    top.finish()
    if not limits and not dimensions:
        top.fail("limit", "the file changes nothing", "at least one [[limit]], or [dimension]")
    found = MakerFile(
        name=name,
        document=document,
        part_number=part_number,
        dated=dated,
        valid_from=valid_from,
        valid_until=valid_until,
        designs=designs,
        limits=limits,
        dimensions=dimensions,
        own_design=own,
        digest=sha256(text.encode("utf-8")).hexdigest(),
    )
    for base in bases:
        with_dimensions(base, [found], Entry(name, "dimension", {}))
    return found


def _own_design(entry: Entry) -> OwnDesign:
    shipped = load_designs()
    found = OwnDesign(entry.text("id"), entry.text("title"), entry.choice("like", shipped))
    if found.id in shipped:
        entry.fail("id", f"'{found.id}' is a design that ships with the program", "an id of your own")
    entry.finish()
    return found


def _limits(top: Entry, bases: list[Design], origin: Origin) -> dict[str, Limit]:
    kinds = field_kinds(load_fields(), load_measures())
    defaults = load_limits()
    found: dict[str, Limit] = {}
    for entry in top.tables("limit", "limit"):
        limit_id = entry.text("id")
        entry.name = f"limit {limit_id}"
        because = entry.text("laxer_because", "")
        if limit_id not in defaults:
            entry.fail(
                "id",
                "there is no limit of this id",
                "an id of the default limits",
                nearest(limit_id, defaults),
            )
        if limit_id in found:
            entry.fail("id", "this limit stands twice in the file", "one value for each limit")
        table = Entry(entry.file, entry.name, entry.without("id", "laxer_because"))
        limit = replace_limit(table, limit_id, defaults, kinds, origin)
        if limit.locator != origin.locator:
            limit = replace(limit, locator=f"{origin.locator}, {limit.locator}")
        found[limit_id] = limit
        for base in bases:
            _refuse_silently_laxer(entry, found[limit_id], {**defaults, **base.limits}[limit_id], because)
    return found


def _refuse_silently_laxer(entry: Entry, new: Limit, old: Limit, because: str) -> None:
    """A value laxer than a default of the trade needs a reason; a generic maker's figure gives way freely."""
    laxer = new.exact < old.exact if old.sense is Sense.AT_LEAST else new.exact > old.exact
    if laxer and old.decides and old.status is not Status.GENERIC and not because:
        entry.fail(
            "published",
            f"{new.published} is laxer than the default {old.published} ({old.status})",
            "a value at least as strict, or laxer_because = '...'",
            "Give laxer_because with the place in the maker's document that allows it",
        )


def _dimensions(top: Entry, origin: Origin) -> dict[str, Number]:
    entry = top.table("dimension", {})
    found = {
        name: read_number(entry, name, kind, origin) for name, kind in DIMENSIONS.items() if name in entry
    }
    for name in DIMENSIONS:
        if name in found and found[name].value <= 0.0:
            entry.fail(name, f"'{found[name].published}' stands here", "more than 0")
    entry.only(DIMENSIONS)
    return found


def with_dimensions(design: Design, files: list[MakerFile], entry: Entry | None = None) -> Design:
    """Return a design with the dimensions and the rotor minimum of maker's files.

    Parameters
    ----------
    design : Design
        The design.
    files : list of MakerFile
        Files in force, the later ones last.
    entry : Entry, optional
        Where to say that a dimension does not fit.

    Returns
    -------
    Design
        The design with the new numbers and limits.

    Raises
    ------
    CatalogueError
        If the dimensions do not fit together.
    """
    numbers, limits = dict(design.numbers), dict(design.limits)
    for file in files:
        numbers.update(file.dimensions)
        limits.update(file.limits)
        rotor = file.limits.get("rotor_min")
        if rotor is not None:
            numbers["rotor_min"] = Number(
                rotor.value,
                rotor.exact,
                rotor.unit,
                rotor.published,
                rotor.source,
                rotor.locator,
                rotor.status,
            )
    for low, high in (("rotor_min", "rotor_new"), ("give_least", "give_most")):
        if numbers[low].exact >= numbers[high].exact:
            place = entry or Entry(f"design {design.id}", "dimension", {})
            what = f"{numbers[low].published} is not below {high} {numbers[high].published}"
            place.fail(low, what, "give both, if the design has other dimensions")
    values: dict[str, Any] = {name: number.value for name, number in numbers.items()}
    return replace(design, numbers=numbers, limits=limits, **values)
