"""Factors against the definitions, against printed tables, and against the tables of a reference library."""

from __future__ import annotations

from fractions import Fraction

import pytest
import scipy.constants as reference
from scipy.constants import convert_temperature

from wearline.units import Kind, Unit, find_unit, from_unit, unit_for, unit_of_symbol, units_of
from wearline.units.table import _FOLDED

# Definitions: international yard and pound agreement, 1 July 1959 (1 yd = 0.9144 m, 1 lb = 0.45359237 kg,
# exact); standard acceleration of free fall 9.80665 m/s2 (3rd CGPM, 1901, exact); tonne, hour and day: SI
# Brochure, 9th edition, table 8; bar: NIST SP 811 (2008), table 9.
YARD, POUND, FREE_FALL = Fraction("0.9144"), Fraction("0.45359237"), Fraction("9.80665")

DEFINED = [
    (Kind.LENGTH, "in", YARD / 36),
    (Kind.LENGTH, "ft", YARD / 3),
    (Kind.LENGTH, "thou", YARD / 36000),
    (Kind.DISTANCE, "mi", 1760 * YARD),
    (Kind.MASS, "lb", POUND),
    (Kind.MASS, "t", Fraction(1000)),
    (Kind.FORCE, "lbf", POUND * FREE_FALL),
    (Kind.FORCE, "kgf", FREE_FALL),
    (Kind.PRESSURE, "psi", POUND * FREE_FALL / (YARD / 36) ** 2),
    (Kind.PRESSURE, "bar", Fraction(100_000)),
    (Kind.TORQUE, "lbf ft", POUND * FREE_FALL * YARD / 3),
    (Kind.TORQUE, "lbf in", POUND * FREE_FALL * YARD / 36),
    (Kind.SPEED, "mph", 1760 * YARD / 3600),
    (Kind.ACCELERATION, "g_n", FREE_FALL),
    (Kind.PRESSURE, "kgf/cm2", 10**4 * FREE_FALL),
    (Kind.TORQUE, "kgf m", FREE_FALL),
    (Kind.ACCELERATION, "ft/s2", YARD / 3),
    (Kind.AREA, "in2", (YARD / 36) ** 2),
    (Kind.TEMPERATURE, "degF", Fraction(5, 9)),
    (Kind.TEMPERATURE_DIFFERENCE, "delta_degF", Fraction(5, 9)),
    (Kind.TIME, "min", Fraction(60)),
    (Kind.TIME, "h", Fraction(3600)),
    (Kind.TIME, "d", Fraction(86400)),
    (Kind.SPEED, "km/h", Fraction(1000, 3600)),
    (Kind.FRACTION, "%", Fraction(1, 100)),
]

# SI Brochure, 9th edition, table 7 (prefixes); powers of the prefix in areas; kilogram as the unit of mass.
MICRO, MILLI, CENTI, DECA, KILO, MEGA = (Fraction(10) ** power for power in (-6, -3, -2, 1, 3, 6))
DEFINED += [
    (Kind.LENGTH, "um", MICRO),
    (Kind.LENGTH, "mm", MILLI),
    (Kind.LENGTH, "cm", CENTI),
    (Kind.LENGTH, "m", Fraction(1)),
    (Kind.DISTANCE, "m", Fraction(1)),
    (Kind.DISTANCE, "km", KILO),
    (Kind.AREA, "mm2", MILLI**2),
    (Kind.AREA, "cm2", CENTI**2),
    (Kind.AREA, "m2", Fraction(1)),
    (Kind.FORCE, "N", Fraction(1)),
    (Kind.FORCE, "daN", DECA),
    (Kind.FORCE, "kN", KILO),
    (Kind.TORQUE, "N m", Fraction(1)),
    (Kind.TORQUE, "daN m", DECA),
    (Kind.TORQUE, "kN m", KILO),
    (Kind.PRESSURE, "Pa", Fraction(1)),
    (Kind.PRESSURE, "kPa", KILO),
    (Kind.PRESSURE, "MPa", MEGA),
    (Kind.PRESSURE, "mbar", MILLI * 100_000),
    (Kind.MASS, "g", MILLI),
    (Kind.MASS, "kg", Fraction(1)),
    (Kind.TIME, "s", Fraction(1)),
    (Kind.TIME, "ms", MILLI),
    (Kind.SPEED, "m/s", Fraction(1)),
    (Kind.ACCELERATION, "m/s2", Fraction(1)),
    (Kind.VOLTAGE, "V", Fraction(1)),
    (Kind.VOLTAGE, "mV", MILLI),
    (Kind.TEMPERATURE, "K", Fraction(1)),
    (Kind.TEMPERATURE, "degC", Fraction(1)),
    (Kind.TEMPERATURE_DIFFERENCE, "K", Fraction(1)),
    (Kind.TEMPERATURE_DIFFERENCE, "delta_degC", Fraction(1)),
    (Kind.FRACTION, "1", Fraction(1)),
    (Kind.COUNT, "1", Fraction(1)),
]


@pytest.mark.parametrize(("kind", "symbol", "factor"), DEFINED)
def test_factor_is_the_definition(kind: Kind, symbol: str, factor: Fraction) -> None:
    assert unit_for(symbol, kind).scale == factor


def test_every_unit_has_its_definition_here() -> None:
    assert sorted((kind.name, symbol) for kind, symbol, _ in DEFINED) == sorted(
        (kind.name, unit.symbol) for kind in Kind for unit in units_of(kind)
    )


def test_the_pound_force_is_exact() -> None:
    """4.448 221 615 260 5 N, the product of two exact definitions."""
    assert unit_for("lbf", Kind.FORCE).scale == Fraction("4.4482216152605")


# As printed to seven digits in NIST SP 811 (2008), appendix B.8 (from memory, unverified; the definitions
# above and the library below agree).
PRINTED = [
    (Kind.FORCE, "lbf", "4.448222E+00"),
    (Kind.FORCE, "kgf", "9.80665E+00"),
    (Kind.PRESSURE, "psi", "6.894757E+03"),
    (Kind.PRESSURE, "kgf/cm2", "9.80665E+04"),
    (Kind.TORQUE, "lbf ft", "1.355818E+00"),
    (Kind.TORQUE, "lbf in", "1.129848E-01"),
    (Kind.TORQUE, "kgf m", "9.80665E+00"),
    (Kind.LENGTH, "thou", "2.54E-05"),
    (Kind.DISTANCE, "mi", "1.609344E+03"),
    (Kind.SPEED, "mph", "4.4704E-01"),
    (Kind.SPEED, "km/h", "2.777778E-01"),
    (Kind.AREA, "in2", "6.4516E-04"),
    (Kind.MASS, "lb", "4.535924E-01"),
    (Kind.TEMPERATURE_DIFFERENCE, "delta_degF", "5.555556E-01"),
]


@pytest.mark.parametrize(("kind", "symbol", "printed"), PRINTED)
def test_factor_rounds_to_the_printed_one(kind: Kind, symbol: str, printed: str) -> None:
    digits = len(printed.partition("E")[0].replace(".", "")) - 1
    shown = f"{float(unit_for(symbol, kind).scale):.{digits}E}"
    assert shown == printed


# scipy.constants 1.17, section "units"; equal to the last bit but one.
LIBRARY = [
    (Kind.LENGTH, "in", reference.inch),
    (Kind.LENGTH, "ft", reference.foot),
    (Kind.LENGTH, "thou", reference.mil),
    (Kind.LENGTH, "um", reference.micron),
    (Kind.DISTANCE, "mi", reference.mile),
    (Kind.MASS, "lb", reference.lb),
    (Kind.MASS, "t", reference.metric_ton),
    (Kind.FORCE, "lbf", reference.lbf),
    (Kind.FORCE, "kgf", reference.kgf),
    (Kind.PRESSURE, "psi", reference.psi),
    (Kind.PRESSURE, "bar", reference.bar),
    (Kind.SPEED, "mph", reference.mph),
    (Kind.SPEED, "km/h", reference.kmh),
    (Kind.ACCELERATION, "g_n", reference.g),
    (Kind.TIME, "d", reference.day),
    (Kind.TIME, "h", reference.hour),
    (Kind.TEMPERATURE_DIFFERENCE, "delta_degF", reference.degree_Fahrenheit),
]


@pytest.mark.parametrize(("kind", "symbol", "factor"), LIBRARY)
def test_factor_agrees_with_the_reference_library(kind: Kind, symbol: str, factor: float) -> None:
    assert float(unit_for(symbol, kind).scale) == pytest.approx(factor, rel=5e-16)


@pytest.mark.parametrize("celsius", [-273.15, -40.0, 0.0, 0.01, 100.0, 640.0])
def test_temperatures_agree_with_the_reference_library(celsius: float) -> None:
    kelvin = convert_temperature(celsius, "Celsius", "Kelvin")
    fahrenheit = convert_temperature(celsius, "Celsius", "Fahrenheit")
    assert from_unit(celsius, "degC") == pytest.approx(kelvin, rel=1e-15, abs=1e-13)
    assert from_unit(float(fahrenheit), "degF") == pytest.approx(kelvin, rel=1e-14, abs=1e-13)


def test_a_temperature_difference_has_no_offset() -> None:
    """10 degC more are 10 K and 18 degF more (SI Brochure, 9th edition, 2.3.1, on the degree Celsius)."""
    assert unit_for("degC", Kind.TEMPERATURE_DIFFERENCE).offset == 0
    assert unit_for("degF", Kind.TEMPERATURE_DIFFERENCE).offset == 0
    assert from_unit(10.0, "delta_degC") == 10.0
    assert from_unit(18.0, "delta_degF") == pytest.approx(10.0, rel=1e-15)


EVERY_UNIT = [pytest.param(unit, id=f"{unit.kind.name}-{unit.symbol}") for k in Kind for unit in units_of(k)]


@pytest.mark.parametrize("unit", EVERY_UNIT)
def test_every_spelling_finds_its_own_unit(unit: Unit) -> None:
    for spelling in (unit.symbol, *unit.aliases):
        assert find_unit(spelling, unit.kind) is unit, spelling


@pytest.mark.parametrize("kind", list(Kind))
def test_no_spelling_means_two_units_of_one_kind(kind: Kind) -> None:
    spellings = [s for unit in units_of(kind) for s in (unit.symbol, *unit.aliases)]
    assert len(spellings) == len(set(spellings))
    for unit in units_of(kind):
        for spelling in (unit.symbol, *unit.aliases):
            folded = _FOLDED[kind].get(spelling.casefold())
            assert folded is None or folded is unit, spelling


def test_a_symbol_converts_the_same_in_every_kind() -> None:
    """So that a conversion by symbol alone can never add an offset or take the wrong factor."""
    for kind in Kind:
        for unit in units_of(kind):
            alone = unit_of_symbol(unit.symbol)
            assert (alone.scale, alone.offset) == (unit.scale, unit.offset)


def test_a_spelling_with_one_meaning_is_found_without_its_kind() -> None:
    assert unit_of_symbol("ft-lb").symbol == "lbf ft"


@pytest.mark.parametrize(("mega", "milli"), [("MPa", "mPa"), ("mV", "MV"), ("ms", "Ms")])
def test_capitals_count_where_they_change_the_prefix(mega: str, milli: str) -> None:
    kinds = [kind for kind in Kind if find_unit(mega, kind)]
    assert len(kinds) == 1
    assert find_unit(milli, kinds[0]) is None
