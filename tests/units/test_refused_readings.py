"""What could mean two things, or nothing, is refused with a cure."""

from __future__ import annotations

import re

import pytest

from wearline.errors import QuantityError
from wearline.units import Kind, parse_quantity, quantity_from_number, unit_for, unit_of_symbol

LENGTH = Kind.LENGTH

REFUSED = [
    ("1,234 mm", LENGTH, "comma before exactly three digits", r"'1.234 mm' or '1234 mm'"),
    ("412,300 mi", Kind.DISTANCE, "comma before exactly three digits", r"'412300 mi'"),
    ("412.300 km", Kind.DISTANCE, "point before exactly three digits", r"'412.3 km' or '412300 km'"),
    ("012,345 km", Kind.DISTANCE, "comma before exactly three digits", "."),
    ("1.234,5 mm", LENGTH, "a point and a comma", "thousands separator out"),
    ("1,234.5 mm", LENGTH, "a point and a comma", "thousands separator out"),
    ("1,234,567 km", Kind.DISTANCE, "several decimal marks", "thousands separators out"),
    ("1.2.3 mm", LENGTH, "several decimal marks", "."),
    ("", LENGTH, "an empty text", "Leave the field out"),
    ("   ", LENGTH, "an empty text", "."),
    ("nan mm", LENGTH, "does not begin with a number", "number first"),
    ("inf", LENGTH, "does not begin with a number", "."),
    ("mm", LENGTH, "does not begin with a number", "."),
    ("plenty", LENGTH, "does not begin with a number", "."),
    ("1e5 mm", LENGTH, "an exponent", "Write the number out"),
    ("1.4E-3 m", LENGTH, "an exponent", "."),
    ("1 mm 2 in", LENGTH, "more than one number", "one reading per field"),
    ("5' 3\"", LENGTH, "more than one number", "."),
    ("9.8 9.7 mm", LENGTH, "more than one number", "one reading per field"),
    ("12 34 mm", LENGTH, "more than one number", "."),
    ("12 3456 mm", LENGTH, "more than one number", "."),
    ("5. mm", LENGTH, "cannot be read", "one decimal mark"),
    ("- 3 mm", LENGTH, "cannot be read", "."),
    ("--3 mm", LENGTH, "cannot be read", "."),
    ("1−1/4 in", LENGTH, "more than one number", "."),
    ("1 mm hot", LENGTH, "not a known unit of length", "Did you mean 'mm'"),
    ("1 mm in", LENGTH, "two units", "Keep one"),
    ("1 5/4 in", LENGTH, "fraction of one or more", "decimals"),
    ("1/0 in", LENGTH, "divides by zero", "."),
    ("1.5 1/2 in", LENGTH, "more than one number", "."),
    ("3-4 mm", LENGTH, "looks like a range", "one value per reading"),
    ("3–4 mm", LENGTH, "looks like a range", "."),
    ("<1 mm", LENGTH, "a bound or an estimate", "cannot be measured"),
    ("~3 mm", LENGTH, "a bound or an estimate", "."),
    ("1.4 ± 0.1 mm", LENGTH, "a value and an uncertainty", "its own field"),
    ("1.4 mm +/- 0.1", LENGTH, "a value and an uncertainty", "."),
    ("３ mm", LENGTH, "digits other than 0 to 9", "digits 0 to 9"),
    ("٣ mm", LENGTH, "digits other than 0 to 9", "."),
    ("¹/₂ in", LENGTH, "digits other than 0 to 9", "."),
    ("3.2", LENGTH, "has no unit", "'3.2 mm'"),
    ("3 mmm", LENGTH, "not a known unit of length", "Did you mean 'mm'"),
    ("3 mN", Kind.TORQUE, "not a known unit of torque", "."),
    ("3 inchs", LENGTH, "not a known unit of length", "Did you mean 'in'"),
    ("6 bra", Kind.PRESSURE, "not a known unit of pressure", "Did you mean 'bar'"),
    ("6 mpa", Kind.PRESSURE, "not a known unit of pressure", "Did you mean 'MPa'"),
    ("5 bar", LENGTH, "unit of pressure, not of length", "wrong field"),
    ("3 km", LENGTH, "unit of road distance, not of length", "."),
    ("7 mil", Kind.DISTANCE, "unit of length, not of road distance", "'mi' for miles"),
    ("7 lb", Kind.FORCE, "unit of mass, not of force", "'lbf'"),
    ("7 kg", Kind.FORCE, "unit of mass, not of force", "'kgf'"),
    ("7 lbf", Kind.MASS, "unit of force, not of mass", "'lb'"),
    ("5 tons", Kind.MASS, "short tons, long tons or metric tonnes", "1000 kg"),
    ("0.48", Kind.FRACTION, "has no unit", "'0.48 %'"),
    ("-300 degC", Kind.TEMPERATURE, "below absolute zero", "sign"),
    ("2.5", Kind.COUNT, "not a count", "how many"),
    ("-1", Kind.COUNT, "not a count", "."),
]


@pytest.mark.parametrize(("text", "kind", "what", "cure"), REFUSED)
def test_each_doubtful_text_is_refused_with_reason_and_cure(
    text: str, kind: Kind, what: str, cure: str
) -> None:
    with pytest.raises(QuantityError, match=what) as caught:
        parse_quantity(text, kind)
    assert all((caught.value.what, caught.value.allowed, caught.value.cure))
    assert re.search(cure, caught.value.cure)


@pytest.mark.parametrize("length", [65, 100_000])
def test_a_text_too_long_is_refused_without_repeating_it(length: int) -> None:
    with pytest.raises(QuantityError, match=f"a text of {length} characters") as caught:
        parse_quantity("9" * length, LENGTH)
    assert len(str(caught.value)) < 250


@pytest.mark.parametrize("text", ["1/16", "1 1/4", "½", "1/10"])
def test_a_bare_fraction_under_a_metric_default_is_refused(text: str) -> None:
    """1/16 read as 0.06 mm where 1/16 in was meant would hide a worn part."""
    with pytest.raises(QuantityError, match="fraction without a unit where mm is expected"):
        parse_quantity(text, LENGTH, default_unit="mm")


def test_a_thing_that_is_no_text_is_refused() -> None:
    with pytest.raises(QuantityError, match="must be a text, not float"):
        parse_quantity(1.4, LENGTH)  # type: ignore[arg-type]


@pytest.mark.parametrize("number", [float("nan"), float("inf"), True, "3", None])
def test_a_cell_without_a_finite_number_is_refused(number: object) -> None:
    with pytest.raises(QuantityError, match="is not a number that can be read"):
        quantity_from_number(number, "mm", LENGTH)  # type: ignore[arg-type]


def test_a_default_unit_of_another_kind_is_refused() -> None:
    with pytest.raises(QuantityError, match="'bar' is a unit of pressure, not of length"):
        parse_quantity("3", LENGTH, default_unit="bar")


def test_an_unknown_unit_lists_what_is_allowed() -> None:
    with pytest.raises(QuantityError, match="a length in mm, um, cm, m, in, thou, ft"):
        unit_for("furlong", LENGTH)


def test_a_very_long_unit_is_cut_in_the_message() -> None:
    with pytest.raises(QuantityError, match=r"\.\.\.' is not a known unit") as caught:
        unit_for("z" * 100_000, LENGTH)
    assert len(str(caught.value)) < 250


def test_a_symbol_with_two_meanings_is_refused_without_its_kind() -> None:
    with pytest.raises(QuantityError, match="Write 'degC' or 'delta_degC'"):
        unit_of_symbol("°C")


def test_an_unknown_symbol_is_refused() -> None:
    with pytest.raises(QuantityError, match="'furlong' is not a known unit"):
        unit_of_symbol("furlong")
