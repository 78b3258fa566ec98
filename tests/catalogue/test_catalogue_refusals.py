"""A damaged data file is refused with file, entry, key and what is allowed, and never with another error."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from datetime import date
from typing import Any

import pytest
from catalogue_readers import READERS, Document, read, shipped
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.catalogue.documents import nearest, read_document
from wearline.catalogue.reader import Entry
from wearline.errors import CatalogueError
from wearline.units import Kind

Damage = Callable[[Document], Any]


def _set(*path: str | int, to: object) -> Damage:
    def damage(document: Document) -> None:
        inner: Any = document
        for key in path[:-1]:
            inner = inner[key]
        inner[path[-1]] = to

    return damage


def _drop(*path: str | int) -> Damage:
    def damage(document: Document) -> None:
        inner: Any = document
        for key in path[:-1]:
            inner = inner[key]
        del inner[path[-1]]

    return damage


DESIGN = "designs/generic-22.5.toml"
FEDERAL = "packs/us-federal.toml"

# File, damage, message: every refusal of the readers stands here once.
DAMAGES: list[tuple[str, Damage, str]] = [
    ("sources.toml", _set("derived", to=3), r"sources\.toml: source derived is 3\. Allowed: a table"),
    (
        "sources.toml",
        _set("derived", "grade", to="seen"),
        r"key 'grade': 'seen' is not known\. Allowed: read, tran",
    ),
    ("sources.toml", _set("derived", "status", to="published"), r"'published' does not fit the grade 'none'"),
    (
        "sources.toml",
        _set("derived", "extra", to=1),
        r"source derived, key 'extra': this key is not known here",
    ),
    ("fields.toml", _set("feild", to={}), r"fields\.toml, key 'feild'.*Did you mean 'field'"),
    ("fields.toml", _set("field", to=[1]), r"field is a list of 1\. Allowed: a table"),
    (
        "fields.toml",
        _set("default", "status", to="published"),
        r"default, key 'status': 'published' does not fit",
    ),
    (
        "fields.toml",
        _set("field", "slide", "kind", to="mass of"),
        r"field slide, key 'kind': 'mass of' is not known",
    ),
    (
        "fields.toml",
        _set("field", "slide", "unit", to="mm"),
        r"key 'unit': 'mm' is a unit of length, not of force",
    ),
    ("fields.toml", _set("field", "slide", "possible", to=["1 N"]), r"key 'possible': 1 values stand here"),
    ("fields.toml", _set("field", "slide", "possible", to=["5 N", "1 N"]), r"'5 N' is not below '1 N'"),
    ("fields.toml", _set("field", "slide", "possible", to=["5", "9 N"]), r"key 'possible': '5' has no unit"),
    (
        "fields.toml",
        _set("field", "slide", "U", to={"source": "derived"}),
        r"U, key 'value': no uncertainty stands",
    ),
    (
        "fields.toml",
        _set("field", "slide", "words", to={"free": "fine"}),
        r"words, key 'free': 'fine' is not known",
    ),
    (
        "fields.toml",
        _set("field", "pad_part", "words", to={"a": "good"}),
        r"a field is a quantity, words or free",
    ),
    ("fields.toml", _drop("field", "pad_part", "text"), r"a field is a quantity, words or free text"),
    ("fields.toml", _set("field", "slide", "spots", to=["", 3]), r"key 'spots': '' stands in the list"),
    ("fields.toml", _drop("field", "slide", "cure"), r"field slide, key 'cure': this key is missing"),
    (
        "fields.toml",
        _set("field", "lamps", "vehicle_level", to="yes"),
        r"'yes' stands here\. Allowed: true or fa",
    ),
    (
        "fields.toml",
        _set("default", "repeat_share", to=2),
        r"key 'repeat_share': 2 stands here\. Allowed: a number",
    ),
    ("measures.toml", _set("measure", "slide", to={"title": "a"}), r"'slide' is already a field"),
    (
        "measures.toml",
        _set("measure", "imbalance", "true_when", to=[{"field": "action", "words": ["slow return"]}]),
        r"findings stand at a measure with a number",
    ),
    (
        "measures.toml",
        _set(
            "measure", "audible_leak", "true_when", to=[{"field": "air_leak", "limit": "x", "words": ["a"]}]
        ),
        r"true_when 1: 2 of field, measure and limit stand in one finding",
    ),
    (
        "measures.toml",
        _set("measure", "audible_leak", "true_when", to=[{"field": "air_leak"}]),
        r"true_when 1: 0 tests stand in one finding",
    ),
    (
        "measures.toml",
        _set("measure", "audible_leak", "true_when", to=[{"field": "air_leak", "words": ["loud"]}]),
        r"key 'words': 'loud' is not known\. Allowed: none, audible",
    ),
    (
        "measures.toml",
        _set("measure", "audible_leak", "true_when", to=[{"field": "imbalance", "words": ["loud"]}]),
        r"key 'field': 'imbalance' is not known",
    ),
    (
        "measures.toml",
        _set("measure", "audible_leak", "true_when", to=[{"field": "brake_drag", "words": ["loud"]}]),
        r"'brake_drag' is not observed in words",
    ),
    (
        "measures.toml",
        _set("measure", "audible_leak", "true_when", to=[{"field": "air_leak", "above": "3 mm"}]),
        r"key 'above': 'air_leak' is not a quantity",
    ),
    (
        "limits.toml",
        _set("limit", "play_t", "published", to="0.118"),
        r"limit play_t, key 'published': '0.118' has",
    ),
    (
        "limits.toml",
        _set("limit", "play_t", "field", to="play"),
        r"key 'field': 'play' is not known\. Allowed: one of",
    ),
    ("limits.toml", _set("limit", "play_t", "field", to="hose"), r"key 'field': 'hose' is not known"),
    (
        "limits.toml",
        _set("limit", "play_t", "sense", to="max"),
        r"'max' is not known\. Allowed: at least, at most",
    ),
    ("limits.toml", _set("limit", "play_t", "source", to="book"), r"key 'source': 'book' is not known"),
    ("limits.toml", _drop("limit", "play_t", "source"), r"limit play_t, key 'source': this key is missing"),
    (
        "limits.toml",
        _set("limit", "play_t", "status", to="derived"),
        r"'derived' does not fit the source 'common-pr",
    ),
    (
        "limits.toml",
        _drop("limit", "play_t", "passes_at_limit"),
        r"key 'passes_at_limit': this key is missing",
    ),
    (
        "limits.toml",
        _set("limit", "play_t", "authority", to="law"),
        r"a limit whose text was not read poses as law",
    ),
    (
        "limits.toml",
        _set("limit", "cl_side", "consequence", to="look"),
        r"a limit without a field decides something",
    ),
    (
        "limits.toml",
        _set("limit", "cl_side", "published", to="3 kN"),
        r"'3 kN' belongs to no field and its unit is not known",
    ),
    ("limits.toml", _set("limits", to={}), r"limits\.toml, key 'limits'.*Did you mean 'limit'"),
    (
        "limits.toml",
        lambda d: d["limit"]["imb"].update(source="directive-2014-45-recalled", status="unverified"),
        r"limit imb, key 'source': 'directive-2014-45-recalled' is known from memory only",
    ),
    (
        "checks.toml",
        _set("check", "F2", "limit", to="{cl_mx}"),
        r"check F2, key 'limit': 'cl_mx' is not known.*cl_max",
    ),
    ("checks.toml", _set("check", "F2", "limit", to="{cl_max"), r"the braces in this text do not match"),
    (
        "checks.toml",
        _set("check", "F2", "fields", to=["travel"]),
        r"check F2, key 'fields': 'travel' is not known",
    ),
    (
        "checks.toml",
        _set("check", "F2", "states", to=["Z"]),
        r"key 'states': 'Z' is not known\. Allowed: O, N",
    ),
    ("checks.toml", _set("check", "F2", "minutes", to=-1), r"key 'minutes': -1 stands here"),
    (
        "checks.toml",
        _set("check", "F2", "fields", to=[]),
        r"field 'total_travel' belongs to check 'F2'|no gauge",
    ),
    ("checks.toml", _drop("check", "W8", "gauge"), r"check W8, key 'gauge': no gauge stands here"),
    ("checks.toml", _drop("check", "W8"), r"field 'rotor_view' belongs to check 'W8'"),
    ("checks.toml", _set("state", "W", "minutes", to=[9, 3]), r"state W, key 'minutes'.*least and most"),
    (
        "parts.toml",
        _set("part", "rotor", "checks", to=["F99"]),
        r"part rotor, key 'checks': 'F99' is not known",
    ),
    (
        "consequences.toml",
        _drop("consequence", "oil", "any"),
        r"consequence oil, key 'any': findings stand under both",
    ),
    ("consequences.toml", _set("consequence", "oil", "any", to=[]), r"key 'any': no finding stands here"),
    (
        "consequences.toml",
        _set("consequence", "oil", "void", to=["wedge"]),
        r"key 'void': 'wedge' is not known",
    ),
    (
        "consequences.toml",
        _set("consequence", "oil", "necessary", to=["F0"]),
        r"key 'necessary': 'F0' is not known",
    ),
    (
        DESIGN,
        _set("dimension", "pad_length", to="0 mm"),
        r"key 'pad_length': '0 mm' stands here\. Allowed: more than 0",
    ),
    (DESIGN, _drop("dimension", "pad_length"), r"dimension, key 'pad_length': this key is missing"),
    (DESIGN, _set("dimension", "rotor_min", to="50 mm"), r"'50 mm' is not below rotor_new '45 mm'"),
    (DESIGN, _set("dimension", "rotor_min", to="36 mm"), r"key 'rotor_min': the limit says '37 mm'"),
    (DESIGN, _set("dimension", "give_most", to="1 mm"), r"'1.2 mm' is not below give_most '1 mm'"),
    (
        DESIGN,
        _set("dimension", "measuring_inset", to="50 mm"),
        r"the measured corners would lie outside the pad",
    ),
    (DESIGN, _set("trait", "tappets", to=3), r"trait, key 'tappets': 3 stands here\. Allowed: 1 to 2"),
    (
        DESIGN,
        _set("trait", "tappets", to=True),
        r"trait, key 'tappets': True stands here\. Allowed: a whole number",
    ),
    (DESIGN, _set("trait", "colour", to="red"), r"trait, key 'colour': this key is not known here"),
    (DESIGN, _set("limit", "rotor", to={"published": "1 mm"}), r"there is no limit 'rotor'"),
    (FEDERAL, _set("rule", 0, "source", to="cfr"), r"rule pad-steering, key 'source': 'cfr' is not known"),
    (FEDERAL, _set("rule", 0, "source", to="oos-criteria-recalled"), r"a rule known from memory decides"),
    (
        FEDERAL,
        _set("rule", 0, "source", to="common-practice"),
        r"rule 'pad-steering' of a law rests on no document",
    ),
    (FEDERAL, _set("rule", 0, "effect", to="record"), r"'record' with decides = true"),
    (FEDERAL, _set("rule", 0, "effect", to="fine"), r"key 'effect': 'fine' is not known"),
    (FEDERAL, _set("rule", 0, "measure", to=""), r"a rule that decides looks at nothing"),
    (FEDERAL, _set("rule", 0, "limit", to="pad_service"), r"the number of the rule is not clear"),
    (FEDERAL, _drop("rule", 0, "gap_text"), r"rule pad-steering, key 'gap_text': this key is missing"),
    (FEDERAL, _drop("rule", 0, "unit_rule"), r"rule pad-steering, key 'unit_rule': this key is missing"),
    (FEDERAL, _set("rule", 3, "published", to="3 mm"), r"a number stands at a rule without a quantity"),
    (FEDERAL, _set("rule", 1, "id", to="pad-steering"), r"the id 'pad-steering' stands twice"),
    (FEDERAL, _set("rule", 0, "applies", to={"roles": ["front"]}), r"key 'roles': 'front' is not known"),
    (FEDERAL, _drop("class"), r"rule 'braking-force' asks for a table of classes"),
    (
        FEDERAL,
        _set("class", 0, "braking_force", to="65 N"),
        r"class A1, key 'braking_force': 'N' is a unit of force",
    ),
    (
        FEDERAL,
        _set("period", 0, "months", to="12"),
        r"period maintenance-records, key 'months': '12' stands here",
    ),
    ("work.toml", _set("step", 0, "cautions", to=["fire"]), r"step 1, key 'cautions': 'fire' is not known"),
    ("work.toml", _set("step", 0, "gate", to=""), r"step 1 of the spine has no gate"),
    ("work.toml", _set("step", 0, "spine", to=19), r"step 1, key 'spine': 19 stands here\. Allowed: 1 to 18"),
    ("work.toml", _set("step", 1, "id", to="1"), r"the id '1' stands twice"),
    ("work.toml", lambda d: d["step"].reverse(), r"the steps of the spine are not in order"),
    (
        "work.toml",
        _set("step", 4, "when", to={"tappets": "two"}),
        r"when, key 'tappets': 'two' is no value of it",
    ),
    ("work.toml", _set("step", 4, "when", to={"tappet": 2}), r"key 'tappet': 'tappet' is not known.*tappets"),
    ("work.toml", _drop("situation", "S3"), r"situation S3 or its hours are missing"),
    (
        "work.toml",
        _set("situation", "S3", "step", to=[]),
        r"situation S3, key 'step': the situation has no step",
    ),
    ("work.toml", _set("situation", "S9", to={}), r"'S9' is not known"),
    (
        "work.toml",
        _set("pair", "rotors", "rule", to="{rotor_par}"),
        r"pair rotors, key 'rule': 'rotor_par' is not",
    ),
    ("work.toml", _set("pair", "rotors", "rule", to="}"), r"the braces in this text do not match"),
    ("work.toml", _set("hours", "S1", "single", to=[2, 1]), r"hours S1, key 'single'.*least and most"),
]


@pytest.mark.parametrize(
    ("file", "damage", "message"), DAMAGES, ids=[f"{n}-{d[0]}" for n, d in enumerate(DAMAGES)]
)
def test_a_damaged_file_names_place_and_what_is_allowed(file, damage, message):
    document = shipped(file)
    damage(document)
    with pytest.raises(CatalogueError, match=f"(?s){message}") as caught:
        read(file, document)
    assert caught.value.where.startswith(file)


def test_a_data_file_that_is_not_there_is_named():
    with pytest.raises(CatalogueError, match=r"nothing\.toml: the data file cannot be read"):
        read_document("nothing.toml")


def test_an_unknown_word_names_the_nearest_or_what_there_is():
    assert nearest("rotor_mn", ["rotor_min", "play_t"]) == "Did you mean 'rotor_min'?"
    assert nearest("zzz", ["a", "b"]) == "Known: a, b"
    assert nearest("zzz", []) == ""


def test_a_date_is_written_as_a_date():
    with pytest.raises(
        CatalogueError, match=r"f, entry, key 'day': '2026-01-01' stands here\. Allowed: a date without"
    ):
        Entry("f", "entry", {"day": "2026-01-01"}).day("day")
    assert Entry("f", "entry", {"day": date(2026, 1, 1)}).day("day") == date(2026, 1, 1)


def test_a_kind_is_one_of_the_known_ones():
    with pytest.raises(CatalogueError, match=r"key 'kind': 'lenght' is not known.*Did you mean 'length'\?"):
        Entry("f", "entry", {"kind": "lenght"}).kind("kind")
    assert Entry("f", "entry", {"kind": "length"}).kind("kind") is Kind.LENGTH


# ---------------------------------------------------------------- any damage at all


def _paths(node: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    if isinstance(node, dict):
        found = [(*path, key) for key in node]
        return found + [p for key, value in node.items() for p in _paths(value, (*path, key))]
    if isinstance(node, list):
        found = [(*path, n) for n in range(len(node))]
        return found + [p for n, value in enumerate(node) for p in _paths(value, (*path, n))]
    return []


PATHS = {file: _paths(read_document(file)) for file in READERS}

TOML_VALUES = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=20),
        st.dates(),
        st.datetimes(),
        st.sampled_from(["0 mm", "-1 mm", "1e400 mm", "{", "{}", "{0}", "{cl_max.value}", "9" * 70, "none"]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=5,
)


def refusal(file: str, document: Document) -> CatalogueError | None:
    """The refusal of a document, None if it was accepted; any other error goes up and fails the test."""
    try:
        read(file, document)
    except CatalogueError as error:
        return error
    return None


@pytest.mark.parametrize("file", READERS)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_any_damage_gives_a_catalogue_error_and_never_another(file, data):
    """One to three values of a good file are replaced, removed or added at random."""
    document = deepcopy(read_document(file))
    for _ in range(data.draw(st.integers(1, 3))):
        path = data.draw(st.sampled_from(PATHS[file]))
        inner: Any = document
        try:
            for key in path[:-1]:
                inner = inner[key]
            inner[path[-1]]
        except (KeyError, IndexError, TypeError):
            continue
        if data.draw(st.booleans()):
            inner[path[-1]] = data.draw(TOML_VALUES)
        else:
            del inner[path[-1]]
    error = refusal(file, document)
    assert error is None or (error.what and error.where.startswith(file))
