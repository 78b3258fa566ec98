"""The word list and the table of limits hold what the program has."""

from __future__ import annotations

import re
from dataclasses import fields
from datetime import date

import pytest
from docs_support import DOCS

from wearline.assessment.quantities import DERIVED_CHECKS
from wearline.assessment.results import Derived, Verdict
from wearline.catalogue.loading import load_catalogue
from wearline.catalogue.model import Authority, Design, Finding, Grade, Status
from wearline.records.inspection import AXLE_ROLES
from wearline.records.readings import CORNERS
from wearline.uncertainty.rules import DecisionRule, Sense

CATALOGUE = load_catalogue()
WORDS = (DOCS / "nomenclature.md").read_text(encoding="utf-8")
CODE = set(re.findall(r"`([^`\n]+)`", WORDS))
LIMITS = (DOCS / "explanation" / "limits-and-sources.md").read_text(encoding="utf-8")


def test_every_field_of_an_inspection_is_named_with_its_words() -> None:
    for name, spec in CATALOGUE.fields.items():
        row = re.search(rf"^\| `{name}` \| (.+) \| (.*) \| (.*) \|$", WORDS, re.MULTILINE)
        assert row is not None, name
        assert row[1] == spec.label
        for word in spec.words:
            assert word in row[2], f"{name}: {word}"


def test_every_derived_quantity_and_check_is_named() -> None:
    assert {each.name for each in fields(Derived)} <= CODE
    assert {check.check for check in DERIVED_CHECKS} <= CODE


def test_every_number_and_trait_of_a_design_is_named() -> None:
    own = {"id", "title", "numbers", "limits"}
    assert {each.name for each in fields(Design)} - own <= CODE


@pytest.mark.parametrize("words", [Verdict, Status, Grade, Authority, Finding, Sense, DecisionRule])
def test_every_word_of_an_answer_is_named(words: type) -> None:
    assert {str(word.value) for word in words} <= CODE  # type: ignore[attr-defined]


def test_places_are_named() -> None:
    assert set(AXLE_ROLES) <= CODE
    for corner in CORNERS:
        assert re.search(rf"\b{corner}\b", WORDS)


def test_the_table_of_limits_is_the_catalogue() -> None:
    """Id, side, both printed forms, what beyond means and status of every default limit, and no other."""
    rows = re.findall(r"^\| `(\w+)` \| [^|]+ \| ([^|]+) \| ([\w ]+) \| ([^|]+) \|$", LIMITS, re.MULTILINE)
    limits = CATALOGUE.limits_for("generic-22.5", date(2026, 9, 14))
    expected = {
        (
            id,
            f"{limit.sense.value} {limit.published}" + (f" ({limit.also})" if limit.also else ""),
            str(limit.consequence),
            str(limit.status),
        )
        for id, limit in limits.items()
    }
    assert expected == set(rows)
