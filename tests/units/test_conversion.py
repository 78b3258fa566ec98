"""Conversion of numbers and arrays, and text for people."""

from __future__ import annotations

import locale
import subprocess
import sys
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import DomainError, QuantityError
from wearline.units import (
    Kind,
    Unit,
    format_quantity,
    from_unit,
    parse_quantity,
    quantity_from_number,
    to_unit,
    units_of,
)

ALL_UNITS = [unit for kind in Kind for unit in units_of(kind)]


# No subnormal numbers: they have fewer digits to give back, and no gauge shows them.
NUMBERS = st.one_of(st.just(0.0), st.floats(1e-12, 1e6), st.floats(-1e6, -1e-12))


@given(unit=st.sampled_from(ALL_UNITS), number=NUMBERS)
@settings(deadline=None, max_examples=500)
def test_there_and_back_gives_the_number(unit: Unit, number: float) -> None:
    """Two roundings each way, plus those of the offset, which is some 10^2 in the size of the unit."""
    back = to_unit(from_unit(number, unit.symbol), unit.symbol)
    slack = 4e-16 * (abs(number) + 2 * float(abs(unit.offset) / unit.scale))
    assert abs(back - number) <= slack


@given(unit=st.sampled_from(ALL_UNITS), number=NUMBERS)
@settings(deadline=None, max_examples=500)
def test_conversion_agrees_with_exact_arithmetic(unit: Unit, number: float) -> None:
    exact = Fraction(number) * unit.scale + unit.offset
    assert from_unit(number, unit.symbol) == pytest.approx(float(exact), rel=5e-16, abs=1e-13)


def test_arrays_convert_like_numbers() -> None:
    numbers = np.array([[0.0, 1.4], [-3.0, 250.0]])
    for symbol in ("mm", "in", "degF", "delta_degF", "psi"):
        metric = from_unit(numbers, symbol)
        assert metric.shape == numbers.shape
        assert metric[0, 1] == from_unit(1.4, symbol)
        assert to_unit(metric, symbol)[1, 1] == to_unit(from_unit(250.0, symbol), symbol)


def test_an_unknown_unit_is_refused() -> None:
    with pytest.raises(QuantityError, match="'mmm' is not a known unit"):
        to_unit(1.0, "mmm")
    with pytest.raises(QuantityError, match="'mmm' is not a known unit"):
        from_unit(1.0, "mmm")


@pytest.mark.parametrize(
    ("value", "unit", "decimals", "text"),
    [
        (0.0014, "mm", None, "1.40 mm"),
        (0.0014, "mm", 1, "1.4 mm"),
        (0.003302, "in", None, "0.130 in"),
        (0.48, "%", None, "48 %"),
        (391.15, "degC", None, "118 degC"),
        (15.0, "delta_degC", None, "15 degC"),
        (21900.0, "kN", None, "21.9 kN"),
        (412300000.0, "km", None, "412300 km"),
        (4.903325, "g_n", 2, "0.50 g"),
        (-1e-9, "mm", 2, "0.00 mm"),
        (-0.00001, "mm", 2, "-0.01 mm"),
        (3.0, "1", 0, "3"),
        (180.0, "N m", None, "180 N m"),
    ],
)
def test_values_are_shown_with_point_and_unit(
    value: float, unit: str, decimals: int | None, text: str
) -> None:
    assert format_quantity(value, unit, decimals) == text


def test_the_locale_of_the_machine_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a locale whose decimal mark is the comma the texts stay the same, both ways."""
    german = {**locale.localeconv(), "decimal_point": ",", "thousands_sep": ".", "grouping": [3, 0]}
    monkeypatch.setattr(locale, "localeconv", lambda: german)
    assert format_quantity(1.2345, "mm") == "1234.50 mm"
    assert parse_quantity("1.5 mm", Kind.LENGTH).exact == Fraction("0.0015")


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_is_not_finite_is_not_shown(value: float) -> None:
    with pytest.raises(DomainError, match="cannot be shown"):
        format_quantity(value, "mm")


def test_negative_decimals_are_refused() -> None:
    with pytest.raises(DomainError, match="-1 decimals cannot be shown"):
        format_quantity(1.0, "mm", -1)


@given(
    unit=st.sampled_from([u for u in ALL_UNITS if u.label and u.kind is not Kind.DISTANCE]),
    number=st.floats(0.0, 1e6),
    decimals=st.integers(0, 6),
)
@settings(deadline=None, max_examples=400)
def test_what_is_shown_reads_back_within_half_a_step(unit: Unit, number: float, decimals: int) -> None:
    value = from_unit(number, unit.symbol)
    quantity = parse_quantity(format_quantity(value, unit.symbol, decimals), unit.kind)
    assert quantity.unit == unit.symbol
    slack = 1e-9 * max(1.0, abs(value))
    assert abs(quantity.value - value) <= float(quantity.resolution) / 2 + slack


@given(number=NUMBERS)
@settings(deadline=None)
def test_a_cell_number_and_its_conversion_agree(number: float) -> None:
    quantity = quantity_from_number(number, "thou", Kind.LENGTH)
    assert quantity.value == pytest.approx(from_unit(number, "thou"), rel=4e-16)


def test_reading_units_loads_no_array_library() -> None:
    """A command that only reads one quantity must not pay for numpy."""
    code = "import sys, wearline.units, wearline.uncertainty.rules; print('numpy' in sys.modules)"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "False"
