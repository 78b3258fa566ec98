"""Reads the rule packs from their data files."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import lru_cache

from wearline.catalogue.documents import Origin, nearest, read_document
from wearline.catalogue.load_fields import field_kinds, load_fields, load_measures, load_sources
from wearline.catalogue.load_limits import load_limits
from wearline.catalogue.model import Grade, Number, Source
from wearline.catalogue.origins import read_number
from wearline.catalogue.reader import Entry
from wearline.catalogue.rule_model import (
    Applies,
    PerformanceClass,
    RecordPeriod,
    Reference,
    Rule,
    RulePack,
)
from wearline.errors import CatalogueError
from wearline.units import Kind

__all__ = ["PACK_IDS", "PackVocabulary", "load_pack", "pack_vocabulary", "read_pack"]

PACK_IDS = ("none", "us-federal", "north-american-out-of-service", "un-eu")
"""Rule packs that ship with the package."""

_EFFECTS = ("violation", "out of service", "fails the annual inspection", "record")
_ROLES = ("steer", "drive", "tag", "pusher", "trailer")
_VEHICLE_KINDS = (
    "motor vehicle",
    "truck",
    "truck tractor",
    "bus",
    "semitrailer",
    "drawbar trailer",
    "combination",
)
_COLUMNS = {
    "braking_force": Kind.FRACTION,
    "deceleration": Kind.ACCELERATION,
    "service_stop": Kind.LENGTH,
    "emergency_stop": Kind.LENGTH,
}


@dataclass(frozen=True, slots=True)
class PackVocabulary:
    """Names that a rule may use.

    Parameters
    ----------
    sources : mapping of str to Source
        All sources.
    kinds : mapping of str to Kind or None
        Fields and measures with their kind; None for words and yes or no.
    limits : collection of str
        Limit ids.
    """

    sources: Mapping[str, Source]
    kinds: Mapping[str, Kind | None]
    limits: Collection[str]


@lru_cache(maxsize=1)
def pack_vocabulary() -> PackVocabulary:
    """Return the names that the shipped packs may use.

    Returns
    -------
    PackVocabulary
        The names.
    """
    return PackVocabulary(load_sources(), field_kinds(load_fields(), load_measures()), load_limits())


def read_pack(document: Mapping[str, object], vocabulary: PackVocabulary, file: str) -> RulePack:
    """Read one rule pack.

    Parameters
    ----------
    document : mapping
        The parsed file.
    vocabulary : PackVocabulary
        Names that may be used.
    file : str
        Name used in messages.

    Returns
    -------
    RulePack
        The pack.

    Raises
    ------
    CatalogueError
        If an entry is wrong, or a rule that decides rests on memory.
    """
    top = Entry(file, "", document)
    pack = RulePack(
        id=top.text("id"),
        title=top.text("title"),
        jurisdiction=top.text("jurisdiction", ""),
        is_law=top.flag("is_law"),
        text_as_of=top.text("text_as_of"),
        note=top.text("note"),
        rules=tuple(_rule(entry, vocabulary) for entry in top.tables("rule", "rule")),
        classes=tuple(_class(entry, vocabulary) for entry in top.tables("class", "class")),
        periods=tuple(_period(entry, vocabulary) for entry in top.tables("period", "period")),
        references=tuple(_reference(entry, vocabulary) for entry in top.tables("reference", "reference")),
    )
    top.finish()
    _check_pack(top, pack)
    return pack


def _check_pack(top: Entry, pack: RulePack) -> None:
    ids = [rule.id for rule in pack.rules]
    for rule in pack.rules:
        if ids.count(rule.id) > 1:
            top.fail("rule", f"the id '{rule.id}' stands twice", "an id of its own for every rule")
        if rule.column and not pack.classes:
            top.fail("class", f"rule '{rule.id}' asks for a table of classes", "[[class]] entries")
        if rule.decides and pack.is_law and rule.grade is Grade.NONE:
            top.fail("is_law", f"rule '{rule.id}' of a law rests on no document", "a source that was read")


def _rule(entry: Entry, vocabulary: PackVocabulary) -> Rule:
    rule_id = entry.text("id")
    entry.name = f"rule {rule_id}"
    source = vocabulary.sources[entry.choice("source", vocabulary.sources)]
    decides = entry.flag("decides")
    effect = entry.choice("effect", _EFFECTS)
    if decides and source.grade is Grade.MEMORY:
        entry.fail("decides", "a rule known from memory decides", "decides = false", "Read the text first")
    if decides is (effect == "record"):
        entry.fail(
            "effect", f"'{effect}' with decides = {str(decides).lower()}", "'record' where nothing is decided"
        )
    measure = entry.choice("measure", vocabulary.kinds, "")
    kind = vocabulary.kinds[measure] if measure else None
    numeric = kind is not None
    if decides and not measure:
        entry.fail("measure", "a rule that decides looks at nothing", "a field or a measure")
    limit = entry.choice("limit", vocabulary.limits, "")
    column = entry.choice("column", _COLUMNS, "")
    own = "published" in entry
    if numeric and own + bool(limit) + bool(column) != 1:
        entry.fail(
            "published", "the number of the rule is not clear", "exactly one of published, limit, column"
        )
    if not numeric and (own or limit or column):
        entry.fail(
            "published", "a number stands at a rule without a quantity", "a measure that is a quantity"
        )
    found = Rule(
        id=rule_id,
        text=entry.text("text"),
        citation=entry.text("citation"),
        source=source.key,
        grade=source.grade,
        status=source.status,
        decides=decides,
        measure=measure,
        sense=entry.sense() if numeric and not limit else None,
        number=_printed(entry, "published", kind, source),
        also=_printed(entry, "also", kind, source),
        passes_at_limit=entry.flag("passes_at_limit") if numeric and not limit else True,
        limit=limit,
        column=column,
        applies=_applies(entry.table("applies", {})),
        effect=effect,
        unit_rule=entry.text("unit_rule") if numeric else "",
        gap_text=entry.text("gap_text") if numeric and decides and "also" in entry else "",
        note=entry.text("note", ""),
    )
    entry.finish()
    return found


def _printed(entry: Entry, key: str, kind: Kind | None, source: Source) -> Number | None:
    if kind is None or key not in entry:
        return None
    published = entry.text(key)
    exact, unit = entry.exact(key, published, kind)
    return Number(float(exact), exact, unit, published, source.key, entry.text("citation"), source.status)


def _applies(entry: Entry) -> Applies:
    found = Applies(
        roles=entry.known("roles", _ROLES),
        vehicle_kinds=entry.known("vehicle_kinds", _VEHICLE_KINDS),
        brake=entry.choice("brake", ("air disc",), "air disc"),
    )
    entry.finish()
    return found


def _class(entry: Entry, vocabulary: PackVocabulary) -> PerformanceClass:
    class_id = entry.text("id")
    entry.name = f"class {class_id}"
    origin = Origin(vocabulary.sources, "cfr-393-52", f"table in (d), class {class_id}")
    bounds = {
        key: read_number(entry, key, Kind.MASS, origin) if key in entry else None
        for key in ("rated_above", "rated_up_to")
    }
    found = PerformanceClass(
        id=class_id,
        title=entry.text("title"),
        chosen_for=entry.known("chosen_for", _VEHICLE_KINDS),
        rated_above=bounds["rated_above"],
        rated_up_to=bounds["rated_up_to"],
        columns={name: read_number(entry, name, kind, origin) for name, kind in _COLUMNS.items()},
    )
    entry.finish()
    return found


def _period(entry: Entry, vocabulary: PackVocabulary) -> RecordPeriod:
    entry.name = f"period {entry.text('id')}"
    source = vocabulary.sources[entry.choice("source", vocabulary.sources)]
    found = RecordPeriod(
        id=entry.text("id"),
        text=entry.text("text"),
        months=entry.whole("months", 0, 1200),
        months_after_leaving=entry.whole("months_after_leaving", 0, 1200, 0),
        citation=entry.text("citation"),
        source=source.key,
        grade=source.grade,
    )
    entry.finish()
    return found


def _reference(entry: Entry, vocabulary: PackVocabulary) -> Reference:
    source = vocabulary.sources[entry.choice("source", vocabulary.sources)]
    found = Reference(entry.text("text"), entry.text("citation"), source.key, source.grade)
    entry.finish()
    return found


@lru_cache(maxsize=8)
def load_pack(pack_id: str) -> RulePack:
    """Return one rule pack that ships with the package.

    Parameters
    ----------
    pack_id : str
        Its id.

    Returns
    -------
    RulePack
        The pack.

    Raises
    ------
    CatalogueError
        If there is none of that id, naming the nearest.
    """
    if pack_id not in PACK_IDS:
        raise CatalogueError(
            f"there is no rule pack '{pack_id}'",
            where="rule_pack",
            allowed=", ".join(PACK_IDS),
            cure=nearest(pack_id, PACK_IDS),
        )
    file = f"packs/{pack_id}.toml"
    return read_pack(read_document(file), pack_vocabulary(), file)
