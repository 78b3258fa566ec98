"""Reads checks, parts and consequences from their data files."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from string import Formatter

from wearline.catalogue.check_model import Check, Consequence, Part, State
from wearline.catalogue.conditions import Vocabulary, read_conditions
from wearline.catalogue.documents import read_document
from wearline.catalogue.load_fields import file_origin, load_fields, load_measures, load_sources
from wearline.catalogue.load_limits import load_limits
from wearline.catalogue.model import FieldSpec, Source
from wearline.catalogue.reader import Entry, entries

__all__ = [
    "CheckList",
    "condition_vocabulary",
    "load_check_list",
    "load_consequences",
    "load_parts",
    "read_check_list",
    "read_consequences",
    "read_parts",
]

_PER = ("vehicle", "axle", "wheel end")


@dataclass(frozen=True, slots=True)
class CheckList:
    """States and checks.

    Parameters
    ----------
    states : mapping of str to State
        By letter.
    checks : mapping of str to Check
        By id, in the order of the inspection.
    """

    states: Mapping[str, State]
    checks: Mapping[str, Check]


def read_check_list(
    document: Mapping[str, object],
    fields: Mapping[str, FieldSpec],
    limits: Collection[str],
    file: str = "checks.toml",
) -> CheckList:
    """Read states and checks.

    Parameters
    ----------
    document : mapping
        The parsed file.
    fields : mapping of str to FieldSpec
        All fields.
    limits : collection of str
        Limit ids that the words of a check may name.
    file : str, optional
        Name used in messages.

    Returns
    -------
    CheckList
        States and checks.

    Raises
    ------
    CatalogueError
        If an entry is wrong, or a field names a check that does not name it back.
    """
    Entry(file, "", document).only(("about", "default", "state", "check"))
    states = {}
    for code, entry in entries(document, "state", file).items():
        states[code] = State(
            code, entry.text("title"), entry.pair("minutes", 0.0, 600.0), entry.choice("per", _PER)
        )
        entry.finish()
    checks = {
        name: _check(name, entry, fields, limits, states)
        for name, entry in entries(document, "check", file).items()
    }
    _check_both_ways(Entry(file, "", document), fields, checks)
    return CheckList(states, checks)


def _check_both_ways(top: Entry, fields: Mapping[str, FieldSpec], checks: Mapping[str, Check]) -> None:
    for name, spec in fields.items():
        for check in spec.checks:
            if check not in checks or name not in checks[check].fields:
                top.fail("check", f"field '{name}' belongs to check '{check}', which does not list it")


def _check(
    name: str,
    entry: Entry,
    fields: Mapping[str, FieldSpec],
    limits: Collection[str],
    states: Mapping[str, State],
) -> Check:
    names = entry.known("fields", fields, None)
    measured = next((fields[field] for field in names if fields[field].kind is not None), None)
    gauge, unit, step, uncertainty = _gauge(measured)
    found = Check(
        id=name,
        title=entry.text("title"),
        how=entry.text("how"),
        gauge=entry.text("gauge", gauge),
        unit=entry.text("unit", unit),
        resolution=step,
        uncertainty=entry.text("uncertainty", uncertainty),
        where=entry.text("where"),
        limit=_template(entry, limits),
        beyond=entry.text("beyond"),
        mistakes=entry.words("mistakes"),
        minutes=entry.number("minutes", 0.0, 240.0),
        minutes_per_end=entry.number("minutes_per_end", 0.0, 240.0, 0.0),
        per=entry.choice("per", _PER),
        states=entry.known("states", states, None),
        fields=names,
    )
    if not found.gauge:
        entry.fail("gauge", "no gauge stands here and no field names one", "the instrument, or 'eye'")
    entry.finish()
    return found


def _gauge(spec: FieldSpec | None) -> tuple[str, str, str, str]:
    """Gauge, unit, resolution and uncertainty of a field, in words."""
    if spec is None:
        return "", "", "", ""
    uncertainty = f"±{spec.u_origin.published} (k = 2)" if spec.u_origin is not None else ""
    return spec.gauge, spec.unit, spec.resolution_text, uncertainty


def _template(entry: Entry, limits: Collection[str]) -> str:
    text = entry.text("limit")
    try:
        names = [name for _, name, _, _ in Formatter().parse(text) if name is not None]
    except ValueError:
        entry.fail("limit", "the braces in this text do not match", "{name of a limit}")
    for name in names:
        entry.one_of("limit", name, limits)
    return text


@lru_cache(maxsize=1)
def load_check_list() -> CheckList:
    """Return the states and checks that ship with the package.

    Returns
    -------
    CheckList
        States and checks.
    """
    return read_check_list(read_document("checks.toml"), load_fields(), load_limits())


# ---------------------------------------------------------------- parts


def read_parts(
    document: Mapping[str, object], checks: Iterable[str], file: str = "parts.toml"
) -> dict[str, Part]:
    """Read the parts of the brake.

    Parameters
    ----------
    document : mapping
        The parsed file.
    checks : iterable of str
        Check ids.
    file : str, optional
        Name used in messages.

    Returns
    -------
    dict of str to Part
        By id.

    Raises
    ------
    CatalogueError
        If an entry is wrong.
    """
    Entry(file, "", document).only(("about", "default", "part"))
    known = list(checks)
    found = {}
    for name, entry in entries(document, "part", file).items():
        found[name] = Part(
            name,
            entry.text("title"),
            entry.text("job"),
            entry.words("failures"),
            entry.known("checks", known, None),
        )
        entry.finish()
    return found


@lru_cache(maxsize=1)
def load_parts() -> Mapping[str, Part]:
    """Return the parts that ship with the package.

    Returns
    -------
    mapping of str to Part
        By id.
    """
    return read_parts(read_document("parts.toml"), load_check_list().checks)


# ---------------------------------------------------------------- consequences


@lru_cache(maxsize=1)
def condition_vocabulary() -> Vocabulary:
    """Return the names that findings in the shipped files may use.

    Returns
    -------
    Vocabulary
        Fields, measures and limits; thresholds are expert judgement.
    """
    measures = {name: measure.kind for name, measure in load_measures().items()}
    origin = file_origin(read_document("consequences.toml"), "consequences.toml", load_sources())
    return Vocabulary(load_fields(), measures, load_limits(), origin)


def read_consequences(
    document: Mapping[str, object],
    sources: Mapping[str, Source],
    vocabulary: Vocabulary,
    checks: Collection[str],
    file: str = "consequences.toml",
) -> dict[str, Consequence]:
    """Read what one finding means for the other checks.

    Parameters
    ----------
    document : mapping
        The parsed file.
    sources : mapping of str to Source
        All sources.
    vocabulary : Vocabulary
        Fields, measures and limits that a finding may name.
    checks : collection of str
        Check ids.
    file : str, optional
        Name used in messages.

    Returns
    -------
    dict of str to Consequence
        By id.

    Raises
    ------
    CatalogueError
        If an entry is wrong.
    """
    Entry(file, "", document).only(("about", "default", "consequence"))
    file_origin(document, file, sources)
    return {
        name: _consequence(name, entry, vocabulary, checks)
        for name, entry in entries(document, "consequence", file).items()
    }


def _consequence(name: str, entry: Entry, vocabulary: Vocabulary, checks: Collection[str]) -> Consequence:
    every = "all" in entry
    if every is ("any" in entry):
        entry.fail("any", "findings stand under both or none of 'any' and 'all'", "one of them")
    can_be_void = {**vocabulary.fields, **vocabulary.measures}
    found = Consequence(
        id=name,
        scope=entry.choice("scope", _PER),
        conditions=read_conditions(entry, "all" if every else "any", vocabulary),
        every=every,
        necessary=entry.known("necessary", checks),
        needless=entry.known("needless", checks),
        necessary_work=entry.words("necessary_work", ()),
        needless_work=entry.words("needless_work", ()),
        void=entry.known("void", can_be_void),
        because=entry.text("because"),
    )
    if not found.conditions:
        entry.fail("all" if every else "any", "no finding stands here", "at least one finding")
    entry.finish()
    return found


@lru_cache(maxsize=1)
def load_consequences() -> Mapping[str, Consequence]:
    """Return the consequences that ship with the package.

    Returns
    -------
    mapping of str to Consequence
        By id.
    """
    return read_consequences(
        read_document("consequences.toml"), load_sources(), condition_vocabulary(), load_check_list().checks
    )
