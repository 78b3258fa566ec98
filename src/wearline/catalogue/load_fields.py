"""Reads sources, fields and measures from their data files."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from wearline.catalogue.check_model import Measure
from wearline.catalogue.conditions import Vocabulary, read_conditions
from wearline.catalogue.documents import Origin, read_document
from wearline.catalogue.model import FieldSpec, Grade, Meaning, Number, Source, Status
from wearline.catalogue.origins import read_origin
from wearline.catalogue.reader import Entry, entries
from wearline.units import Kind

__all__ = [
    "difference_kind",
    "field_kinds",
    "file_origin",
    "load_fields",
    "load_measures",
    "load_sources",
    "read_fields",
    "read_measures",
    "read_sources",
]


def file_origin(document: Mapping[str, object], file: str, sources: Mapping[str, Source]) -> Origin:
    """Read the table ``[default]`` of a file: where its numbers come from unless they say otherwise.

    Parameters
    ----------
    document : mapping
        The document.
    file : str
        Name used in messages.
    sources : mapping of str to Source
        All sources.

    Returns
    -------
    Origin
        The default origin.
    """
    entry = Entry(file, "default", document.get("default", {}))
    source = entry.choice("source", sources, "")
    if "status" in entry and source:
        status = entry.member("status", Status)
        if status is not sources[source].status:
            entry.fail("status", f"'{status}' does not fit '{source}'", f"'{sources[source].status}'")
    return Origin(sources, source, entry.text("locator", ""))


# ---------------------------------------------------------------- sources


def read_sources(document: Mapping[str, object], file: str = "sources.toml") -> dict[str, Source]:
    """Read the sources.

    Parameters
    ----------
    document : mapping
        The parsed file.
    file : str, optional
        Name used in messages.

    Returns
    -------
    dict of str to Source
        By key.

    Raises
    ------
    CatalogueError
        If an entry is wrong.
    """
    found = {}
    for key, table in document.items():
        entry = Entry(file, f"source {key}", table)
        found[key] = Source(
            key=key,
            title=entry.text("title"),
            publisher=entry.text("publisher", ""),
            section=entry.text("section", ""),
            grade=entry.member("grade", Grade),
            status=entry.member("status", Status),
            show=entry.text("show"),
        )
        _check_grade(entry, found[key])
        entry.finish()
    return found


_STATUS_OF_GRADE = {
    Grade.READ: (Status.PUBLISHED,),
    Grade.TRANSCRIPTION: (Status.TRANSCRIPTION,),
    Grade.MEMORY: (Status.UNVERIFIED,),
    Grade.NONE: (Status.COMMON_PRACTICE, Status.EXPERT_JUDGEMENT, Status.DERIVED, Status.GENERIC),
}


def _check_grade(entry: Entry, source: Source) -> None:
    allowed = _STATUS_OF_GRADE[source.grade]
    if source.status not in allowed:
        entry.fail(
            "status",
            f"'{source.status}' does not fit the grade '{source.grade}'",
            " or ".join(f"'{status}'" for status in allowed),
        )


@lru_cache(maxsize=1)
def load_sources() -> Mapping[str, Source]:
    """Return the sources that ship with the package.

    Returns
    -------
    mapping of str to Source
        By key.
    """
    return read_sources(read_document("sources.toml"))


# ---------------------------------------------------------------- fields


def read_fields(
    document: Mapping[str, object], sources: Mapping[str, Source], file: str = "fields.toml"
) -> dict[str, FieldSpec]:
    """Read the fields of the inspection file.

    Parameters
    ----------
    document : mapping
        The parsed file.
    sources : mapping of str to Source
        All sources.
    file : str, optional
        Name used in messages.

    Returns
    -------
    dict of str to FieldSpec
        By name, in the order of the file.

    Raises
    ------
    CatalogueError
        If an entry is wrong.
    """
    Entry(file, "", document).only(("about", "default", "field"))
    origin = file_origin(document, file, sources)
    defaults = Entry(file, "default", document.get("default", {}))
    share = defaults.number("repeat_share", 0.0, 1.0)
    return {
        name: _field(name, entry, origin, share) for name, entry in entries(document, "field", file).items()
    }


def _field(name: str, entry: Entry, origin: Origin, share: float) -> FieldSpec:
    kind = entry.kind("kind") if "kind" in entry else None
    is_text = entry.flag("text", default=False)
    words = entry.table("words", {})
    meanings = {word: words.member(word, Meaning) for word in words.names()}
    if sum((kind is not None, is_text)) + (bool(meanings) and kind is None) != 1:
        entry.fail(
            "", "a field is a quantity, words or free text", "kind (with or without words), words, or text"
        )
    unit = entry.unit("unit", kind) if kind is not None else ""
    possible, possible_text = _possible(entry, kind)
    u, u_relative, u_origin = _uncertainty(entry, kind, origin)
    found = FieldSpec(
        name=name,
        label=entry.text("label"),
        kind=kind,
        unit=unit,
        spots=entry.words("spots", ()),
        words=meanings,
        is_text=is_text,
        possible=possible,
        possible_text=possible_text,
        u=u,
        u_relative=u_relative,
        u_repeat_share=share,
        u_origin=u_origin,
        resolution=_resolution(entry, kind),
        resolution_text=entry.text("resolution", ""),
        gauge=entry.text("gauge", ""),
        checks=entry.words("checks"),
        cure=entry.text("cure") if kind is not None else "",
        vehicle_level=entry.flag("vehicle_level", default=False),
    )
    entry.finish()
    return found


def _possible(entry: Entry, kind: Kind | None) -> tuple[tuple[float, float] | None, str]:
    if kind is None:
        return None, ""
    texts = entry.words("possible")
    if len(texts) != 2:
        entry.fail("possible", f"{len(texts)} values stand here", "lowest and highest possible value")
    low, high = (entry.exact("possible", text, kind)[0] for text in texts)
    if low >= high:
        entry.fail("possible", f"'{texts[0]}' is not below '{texts[1]}'", "lowest before highest")
    return (float(low), float(high)), f"{texts[0]} to {texts[1]}"


def difference_kind(kind: Kind) -> Kind:
    """Return the kind of a difference of two values: that of two temperatures has no offset.

    Parameters
    ----------
    kind : Kind
        Kind of the values.

    Returns
    -------
    Kind
        Kind of their difference.
    """
    return Kind.TEMPERATURE_DIFFERENCE if kind is Kind.TEMPERATURE else kind


def _resolution(entry: Entry, kind: Kind | None) -> float:
    if kind is None or "resolution" not in entry:
        return 0.0
    return float(entry.exact("resolution", entry.text("resolution"), difference_kind(kind))[0])


def _uncertainty(entry: Entry, kind: Kind | None, origin: Origin) -> tuple[float, float, Number | None]:
    """Half of the expanded uncertainty (k = 2), absolute and relative part, and its origin."""
    if kind is None or "U" not in entry:
        return 0.0, 0.0, None
    bare = entry.text("U") if not entry.is_table("U") else ""
    table = entry.table("U") if not bare else Entry(entry.file, f"{entry.name}, U", {"value": bare})
    absolute = relative = 0.0
    texts = []
    number = None
    if "value" in table:
        text = table.text("value")
        exact, unit = table.exact("value", text, difference_kind(kind))
        absolute = float(exact) / 2.0
        number = (exact, unit)
        texts.append(text)
    if "relative" in table:
        text = table.text("relative")
        exact, unit = table.exact("relative", text, Kind.FRACTION)
        relative = float(exact) / 2.0
        number = number or (exact, unit)
        texts.append(f"{text} of the reading")
    if number is None:
        table.fail("value", "no uncertainty stands here", "value, relative or both")
    source, locator, status = read_origin(table, origin)
    table.finish()
    exact, unit = number
    return (
        absolute,
        relative,
        Number(float(exact), exact, unit, " and ".join(texts), source, locator, status),
    )


@lru_cache(maxsize=1)
def load_fields() -> Mapping[str, FieldSpec]:
    """Return the fields that ship with the package.

    Returns
    -------
    mapping of str to FieldSpec
        By name.
    """
    return read_fields(read_document("fields.toml"), load_sources())


# ---------------------------------------------------------------- measures


_SCOPES = ("pad", "wheel end", "axle", "vehicle")


def read_measures(
    document: Mapping[str, object],
    sources: Mapping[str, Source],
    fields: Mapping[str, FieldSpec],
    file: str = "measures.toml",
) -> dict[str, Measure]:
    """Read what is computed from the fields.

    Parameters
    ----------
    document : mapping
        The parsed file.
    sources : mapping of str to Source
        All sources.
    fields : mapping of str to FieldSpec
        All fields.
    file : str, optional
        Name used in messages.

    Returns
    -------
    dict of str to Measure
        By id.

    Raises
    ------
    CatalogueError
        If an entry is wrong.
    """
    Entry(file, "", document).only(("about", "default", "measure"))
    vocabulary = Vocabulary(fields, {}, (), file_origin(document, file, sources))
    found = {}
    for name, entry in entries(document, "measure", file).items():
        if name in fields:
            entry.fail("", f"'{name}' is already a field", "a name of its own")
        yes_or_no = entry.text("kind") == "yes or no"
        kind = None if yes_or_no else entry.kind("kind")
        conditions = read_conditions(entry, "true_when", vocabulary)
        if conditions and not yes_or_no:
            entry.fail("true_when", "findings stand at a measure with a number", "only at 'yes or no'")
        found[name] = Measure(
            id=name,
            title=entry.text("title"),
            kind=kind,
            unit="" if kind is None else entry.unit("unit", kind),
            scope=entry.choice("scope", _SCOPES),
            fields=entry.known("from", fields) or tuple(condition.field for condition in conditions),
            true_when=conditions,
        )
        entry.finish()
    return found


@lru_cache(maxsize=1)
def load_measures() -> Mapping[str, Measure]:
    """Return the measures that ship with the package.

    Returns
    -------
    mapping of str to Measure
        By id.
    """
    return read_measures(read_document("measures.toml"), load_sources(), load_fields())


def field_kinds(fields: Mapping[str, FieldSpec], measures: Mapping[str, Measure]) -> dict[str, Kind | None]:
    """Return the kind of every field and measure by name.

    Parameters
    ----------
    fields, measures : mapping
        All fields and measures.

    Returns
    -------
    dict of str to Kind or None
        None for words, text, and yes or no.
    """
    kinds: dict[str, Kind | None] = {name: spec.kind for name, spec in fields.items()}
    return kinds | {name: measure.kind for name, measure in measures.items()}
