"""Reads findings such as 'slide is stuck' or 'wedge at least 1.5 mm' from the data files."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from wearline.catalogue.check_model import Condition
from wearline.catalogue.documents import Origin
from wearline.catalogue.model import FieldSpec, Number
from wearline.catalogue.origins import read_number
from wearline.catalogue.reader import Entry
from wearline.uncertainty.rules import Sense
from wearline.units import Kind

__all__ = ["Vocabulary", "read_conditions"]


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Names that a finding may use.

    Parameters
    ----------
    fields : mapping of str to FieldSpec
        The fields.
    measures : mapping of str to Kind or None
        The measures with their kind; None for yes or no.
    limits : collection of str
        Limit ids.
    origin : Origin
        Origin of thresholds that name none.
    """

    fields: Mapping[str, FieldSpec]
    measures: Mapping[str, Kind | None]
    limits: Collection[str]
    origin: Origin


def read_conditions(entry: Entry, key: str, vocabulary: Vocabulary) -> tuple[Condition, ...]:
    """Read a list of findings.

    Parameters
    ----------
    entry : Entry
        The table they stand in.
    key : str
        The key; absent means none.
    vocabulary : Vocabulary
        Names that may be used.

    Returns
    -------
    tuple of Condition
        The findings in order.

    Raises
    ------
    CatalogueError
        If one of them is not clear.
    """
    return tuple(_condition(table, vocabulary) for table in entry.tables(key, key))


_SUBJECTS = ("field", "measure", "limit")
_THRESHOLDS = {
    "at_least": (Sense.AT_LEAST, True),
    "above": (Sense.AT_LEAST, False),
    "at_most": (Sense.AT_MOST, True),
    "below": (Sense.AT_MOST, False),
}
_TESTS = ("words", "verdict", "repeatable", "is_true", *_THRESHOLDS)


def _condition(table: Entry, vocabulary: Vocabulary) -> Condition:
    subjects = [key for key in _SUBJECTS if key in table]
    if len(subjects) != 1:
        table.fail(
            "", f"{len(subjects)} of field, measure and limit stand in one finding", "exactly one of them"
        )
    tests = [key for key in _TESTS if key in table]
    if len(tests) != 1:
        table.fail("", f"{len(tests)} tests stand in one finding", "exactly one of " + ", ".join(_TESTS))
    subject, test = subjects[0], tests[0]
    known = {"field": vocabulary.fields, "measure": vocabulary.measures, "limit": vocabulary.limits}[subject]
    name = table.choice(subject, known)
    threshold = _threshold(table, test, name, vocabulary)
    sense, inclusive = _THRESHOLDS.get(test, (None, True))
    found = Condition(
        field=name if subject == "field" else "",
        words=_words(table, name, vocabulary) if test == "words" else (),
        measure=name if subject == "measure" else "",
        limit=name if subject == "limit" else "",
        verdict=table.choice("verdict", ("within", "beyond", "undecided"), ""),
        sense=sense,
        threshold=threshold,
        inclusive=inclusive,
        repeatable=table.flag("repeatable") if test == "repeatable" else None,
        is_true=table.flag("is_true") if test == "is_true" else None,
        scope=table.choice("scope", ("here", "mate", "all ends", "any end"), "here"),
    )
    table.finish()
    return found


def _words(table: Entry, name: str, vocabulary: Vocabulary) -> tuple[str, ...]:
    spec = vocabulary.fields.get(name)
    words = spec.words if spec is not None else {}
    if not words:
        table.fail("words", f"'{name}' is not observed in words", "a field with words")
    return table.known("words", words, None)


def _threshold(table: Entry, test: str, name: str, vocabulary: Vocabulary) -> Number | None:
    if test not in _THRESHOLDS:
        return None
    spec = vocabulary.fields.get(name)
    kind = spec.kind if spec is not None else vocabulary.measures.get(name)
    if kind is None:
        table.fail(test, f"'{name}' is not a quantity", "words, a verdict or is_true")
    return read_number(table, test, kind, vocabulary.origin)
