"""Reads the default limits and the designs from their data files."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from wearline.catalogue.documents import Origin, nearest, read_document
from wearline.catalogue.load_fields import (
    difference_kind,
    field_kinds,
    file_origin,
    load_fields,
    load_measures,
    load_sources,
)
from wearline.catalogue.model import Authority, Design, Finding, Grade, Limit, Source
from wearline.catalogue.origins import read_number, read_origin, refuse_memory
from wearline.catalogue.reader import Entry, entries
from wearline.units import Kind

__all__ = [
    "DESIGN_FILES",
    "DIMENSIONS",
    "load_designs",
    "load_limits",
    "read_design",
    "read_limit",
    "read_limits",
    "replace_limit",
]

DESIGN_FILES = ("designs/generic-22.5.toml", "designs/generic-19.5.toml", "designs/generic-17.5.toml")
"""Design files that ship with the package."""

_APPLIES = ("", "single vehicle", "combination")


def read_limit(name: str, entry: Entry, kinds: Mapping[str, Kind | None], origin: Origin) -> Limit:
    """Read one whole limit.

    Parameters
    ----------
    name : str
        Limit id.
    entry : Entry
        The table.
    kinds : mapping of str to Kind or None
        Kinds of the fields and measures.
    origin : Origin
        Where it comes from unless it says so.

    Returns
    -------
    Limit
        The limit.

    Raises
    ------
    CatalogueError
        If it is wrong, or rests on memory.
    """
    numeric = [field for field, kind in kinds.items() if kind is not None]
    field = entry.choice("field", numeric, "")
    published = entry.text("published")
    kind = kinds[field] if field else _kind_of_figure(entry, published)
    assert kind is not None  # chosen among the numeric ones
    kind = kind if field == "temperature" else difference_kind(kind)
    exact, unit = entry.exact("published", published, kind)
    source, locator, status = read_origin(entry, origin)
    refuse_memory(entry, origin.sources[source])
    authority = entry.member("authority", Authority)
    if authority is Authority.LAW and origin.sources[source].grade is not Grade.READ:
        entry.fail("authority", "a limit whose text was not read poses as law", "another authority")
    consequence = entry.member("consequence", Finding)
    if not field and consequence is not Finding.NOTE:
        entry.fail("field", "a limit without a field decides something", "a field, or consequence 'note'")
    found = Limit(
        id=name,
        field=field,
        spot=entry.text("spot", ""),
        kind=kind,
        value=float(exact),
        exact=exact,
        unit=unit,
        published=published,
        also=entry.text("also", ""),
        sense=entry.sense(),
        passes_at_limit=entry.flag("passes_at_limit"),
        consequence=consequence,
        authority=authority,
        source=source,
        locator=locator,
        status=status,
        applies=entry.choice("applies", _APPLIES, ""),
        note=entry.text("note", ""),
    )
    entry.finish()
    return found


def _kind_of_figure(entry: Entry, published: str) -> Kind:
    """Kind of a figure that belongs to no field, by its unit."""
    unit = published.rsplit(" ", 1)[-1]
    for kind, units in (
        (Kind.LENGTH, ("mm", "in")),
        (Kind.PRESSURE, ("bar", "psi", "kPa")),
        (Kind.TIME, ("s",)),
    ):
        if unit in units:
            return kind
    return entry.fail(
        "published", f"'{published}' belongs to no field and its unit is not known here", "mm, in, bar"
    )


def read_limits(
    document: Mapping[str, object],
    sources: Mapping[str, Source],
    kinds: Mapping[str, Kind | None],
    file: str = "limits.toml",
) -> dict[str, Limit]:
    """Read the default limits.

    Parameters
    ----------
    document : mapping
        The parsed file.
    sources : mapping of str to Source
        All sources.
    kinds : mapping of str to Kind or None
        Kinds of the fields and measures.
    file : str, optional
        Name used in messages.

    Returns
    -------
    dict of str to Limit
        By id, in the order of the file.

    Raises
    ------
    CatalogueError
        If an entry is wrong.
    """
    Entry(file, "", document).only(("about", "default", "limit"))
    origin = file_origin(document, file, sources)
    return {
        name: read_limit(name, entry, kinds, origin)
        for name, entry in entries(document, "limit", file).items()
    }


@lru_cache(maxsize=1)
def load_limits() -> Mapping[str, Limit]:
    """Return the default limits that ship with the package.

    Returns
    -------
    mapping of str to Limit
        By id.
    """
    kinds = field_kinds(load_fields(), load_measures())
    return read_limits(read_document("limits.toml"), load_sources(), kinds)


# ---------------------------------------------------------------- designs


DIMENSIONS: dict[str, Kind] = {
    "rotor_diameter": Kind.LENGTH,
    "rotor_new": Kind.LENGTH,
    "rotor_min": Kind.LENGTH,
    "friction_new": Kind.LENGTH,
    "plate": Kind.LENGTH,
    "pad_length": Kind.LENGTH,
    "pad_height": Kind.LENGTH,
    "friction_area": Kind.AREA,
    "indicator_full_scale": Kind.LENGTH,
    "measuring_inset": Kind.LENGTH,
    "guide_span": Kind.LENGTH,
    "dial_distance": Kind.LENGTH,
    "pin_distance": Kind.LENGTH,
    "clearance_per_side": Kind.LENGTH,
    "effective_radius": Kind.LENGTH,
    "lever_ratio": Kind.FRACTION,
    "mechanical_efficiency": Kind.FRACTION,
    "friction_coefficient": Kind.FRACTION,
    "chamber_area": Kind.AREA,
    "push_out_pressure": Kind.PRESSURE,
    "give_least": Kind.LENGTH,
    "give_most": Kind.LENGTH,
    "stroke_available": Kind.LENGTH,
}
"""Dimensions of a design with their kind."""


def read_design(
    document: Mapping[str, object],
    sources: Mapping[str, Source],
    limits: Mapping[str, Limit],
    kinds: Mapping[str, Kind | None],
    file: str,
) -> Design:
    """Read one design file.

    Parameters
    ----------
    document : mapping
        The parsed file.
    sources : mapping of str to Source
        All sources.
    limits : mapping of str to Limit
        The default limits, which the design may replace.
    kinds : mapping of str to Kind or None
        Kinds of the fields and measures.
    file : str
        Name used in messages.

    Returns
    -------
    Design
        The design.

    Raises
    ------
    CatalogueError
        If the file is wrong.
    """
    origin = file_origin(document, file, sources)
    top = Entry(file, "", document)
    top.table("default")
    dimensions = top.table("dimension")
    numbers = {name: read_number(dimensions, name, kind, origin) for name, kind in DIMENSIONS.items()}
    dimensions.finish()
    for name, number in numbers.items():
        if number.value <= 0.0:
            dimensions.fail(name, f"'{number.published}' stands here", "more than 0")
    traits = top.table("trait")
    own = _own_limits(entries(document, "limit", file), limits, kinds, origin)
    top.table("limit", {})
    found = Design(
        id=top.text("id"),
        title=top.text("title"),
        indicator_kind=traits.choice("indicator_kind", ("slide", "tappet")),
        tappets=traits.whole("tappets", 1, 2),
        adjuster_needs_shear_adapter=traits.flag("adjuster_needs_shear_adapter"),
        adjuster_serviceable=traits.flag("adjuster_serviceable"),
        guides_serviceable=traits.flag("guides_serviceable"),
        outer_pad_in=traits.choice("outer_pad_in", ("carrier", "calliper")),
        rotor_mounting=traits.choice("rotor_mounting", ("over the hub", "bolted to the hub")),
        numbers=numbers,
        limits=own,
        **{name: number.value for name, number in numbers.items()},
    )
    traits.finish()
    top.finish()
    _check_design(dimensions, found)
    return found


def _check_design(entry: Entry, design: Design) -> None:
    numbers = design.numbers
    for low, high in (("rotor_min", "rotor_new"), ("give_least", "give_most")):
        if numbers[low].exact >= numbers[high].exact:
            entry.fail(low, f"'{numbers[low].published}' is not below {high} '{numbers[high].published}'")
    if design.measuring_height <= 0.0 or design.measuring_length <= 0.0:
        entry.fail(
            "measuring_inset", "the measured corners would lie outside the pad", "less than half the pad"
        )
    rotor = design.limits.get("rotor_min")
    if rotor is not None and rotor.exact != numbers["rotor_min"].exact:
        entry.fail("rotor_min", f"the limit says '{rotor.published}'", "the same minimum in both places")


_LIMIT_KEYS = ("published", "also", "passes_at_limit", "source", "locator", "status", "note", "authority")


def _own_limits(
    tables: Mapping[str, Entry], limits: Mapping[str, Limit], kinds: Mapping[str, Kind | None], origin: Origin
) -> dict[str, Limit]:
    return {name: replace_limit(entry, name, limits, kinds, origin) for name, entry in tables.items()}


def replace_limit(
    entry: Entry, name: str, limits: Mapping[str, Limit], kinds: Mapping[str, Kind | None], origin: Origin
) -> Limit:
    """Read a limit that replaces a default one and takes from it what it does not say.

    Parameters
    ----------
    entry : Entry
        The table.
    name : str
        Id of the default limit.
    limits : mapping of str to Limit
        The default limits.
    kinds : mapping of str to Kind or None
        Kinds of the fields and measures.
    origin : Origin
        Where the new value comes from.

    Returns
    -------
    Limit
        The new limit under the same id.

    Raises
    ------
    CatalogueError
        If the id is not known or the entry is wrong.
    """
    if name not in limits:
        entry.fail("", f"there is no limit '{name}'", "an id of the default limits", nearest(name, limits))
    old = limits[name]
    table: dict[str, object] = {
        "field": old.field,
        "spot": old.spot,
        "sense": old.sense.value,
        "passes_at_limit": old.passes_at_limit,
        "consequence": str(old.consequence),
        "authority": str(Authority.MAKER),
        "applies": old.applies,
        "note": old.note,
    }
    given = entry.picked(_LIMIT_KEYS)
    return read_limit(name, Entry(entry.file, entry.name, table | given), kinds, origin)


@lru_cache(maxsize=1)
def load_designs() -> Mapping[str, Design]:
    """Return the designs that ship with the package.

    Returns
    -------
    mapping of str to Design
        By id.
    """
    kinds = field_kinds(load_fields(), load_measures())
    found = (
        read_design(read_document(file), load_sources(), load_limits(), kinds, file) for file in DESIGN_FILES
    )
    return {design.id: design for design in found}
