"""Look into the catalogue, and check a user's file of the maker's limits."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from wearline.catalogue.loading import Catalogue, load_catalogue
from wearline.catalogue.maker_file import MakerFile, check_maker_file

if TYPE_CHECKING:
    from wearline.app.answer_types import CatalogueAnswer, CatalogueEntryJson, MakerFileAnswer

__all__ = ["SECTIONS", "catalogue_check", "catalogue_entries"]

SECTIONS = ("limits", "checks", "fields", "designs", "rules", "sources")


def catalogue_check(path: str | Path) -> tuple[MakerFile, MakerFileAnswer]:
    """Check a user's file of the maker's limits.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    MakerFile, MakerFileAnswer
        What it says, and the same as JSON values under schema ``wearline.maker-file/1``.

    Raises
    ------
    CatalogueError
        If anything in it is missing or wrong: the first thing, with its place and the cure.
    """
    checked = check_maker_file(path)
    answer: MakerFileAnswer = {
        "schema": "wearline.maker-file/1",
        "document": checked.document,
        "date": checked.dated.isoformat(),
        "part_number": checked.part_number,
        "designs": list(checked.designs),
        "limits": [f"{limit.id}: {limit.published}" for limit in checked.limits.values()],
    }
    return checked, answer


def catalogue_entries(section: str, design: str, on: date) -> CatalogueAnswer:
    """Return one section of the catalogue.

    Parameters
    ----------
    section : str
        One of ``SECTIONS``.
    design : str
        Design whose limits are shown.
    on : date
        Day on which they are in force.

    Returns
    -------
    CatalogueAnswer
        Under schema ``wearline.catalogue/1``.

    Raises
    ------
    CatalogueError
        If the design is unknown.
    """
    catalogue = load_catalogue()
    makers = {
        "limits": lambda: _limits(catalogue, design, on),
        "checks": lambda: _checks(catalogue, design, on),
        "fields": lambda: _fields(catalogue),
        "designs": lambda: _designs(catalogue),
        "rules": lambda: _rules(catalogue),
        "sources": lambda: _sources(catalogue),
    }
    return {"schema": "wearline.catalogue/1", "what": section, "entries": makers[section]()}


def _entry(id: str, text: str, value: str, status: str, source: str) -> CatalogueEntryJson:
    return {"id": id, "text": text, "value": value, "status": status, "source": source}


def _limits(catalogue: Catalogue, design: str, on: date) -> list[CatalogueEntryJson]:
    rows = []
    for limit in catalogue.limits_for(design, on).values():
        label = catalogue.fields[limit.field].label if limit.field in catalogue.fields else ""
        if not label and limit.field in catalogue.measures:
            label = catalogue.measures[limit.field].title
        also = f" ({limit.also})" if limit.also else ""
        value = f"{limit.sense.value} {limit.published}{also}"
        rows.append(_entry(limit.id, label or limit.note, value, str(limit.status), limit.source))
    return rows


def _checks(catalogue: Catalogue, design: str, on: date) -> list[CatalogueEntryJson]:
    limits = catalogue.limits_for(design, on)
    return [
        _entry(
            check.id,
            f"{check.title}: {check.how}",
            check.limit_words(limits),
            f"{check.minutes:g} min, state {'/'.join(check.states)}",
            check.gauge,
        )
        for check in catalogue.checks.values()
    ]


def _fields(catalogue: Catalogue) -> list[CatalogueEntryJson]:
    return [
        _entry(
            name, spec.label, spec.possible_text or ", ".join(spec.words), spec.unit, ", ".join(spec.checks)
        )
        for name, spec in catalogue.fields.items()
    ]


def _designs(catalogue: Catalogue) -> list[CatalogueEntryJson]:
    return [
        _entry(
            name,
            design.title,
            f"rotor {1e3 * design.rotor_new:g}/{1e3 * design.rotor_min:g} mm, "
            f"friction {1e3 * design.friction_new:g} mm",
            "maker's value decides, generic",
            "generic-maker",
        )
        for name, design in catalogue.designs.items()
    ]


def _rules(catalogue: Catalogue) -> list[CatalogueEntryJson]:
    return [
        _entry(
            f"{pack.id}/{rule.id}",
            rule.text,
            rule.published,
            f"{rule.status}{'' if rule.decides else ', never decides'}",
            rule.citation,
        )
        for pack in catalogue.packs.values()
        for rule in pack.rules
    ]


def _sources(catalogue: Catalogue) -> list[CatalogueEntryJson]:
    return [
        _entry(key, source.title, source.section, f"{source.grade}: {source.show}", source.publisher)
        for key, source in catalogue.sources.items()
    ]
