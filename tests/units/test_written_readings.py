"""What technicians write, and the exact SI value it stands for."""

from __future__ import annotations

import unicodedata
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import QuantityError
from wearline.units import Kind, Quantity, Unit, parse_quantity, quantity_from_number, units_of

INCH = Fraction(254, 10000)

# Expected values are hand sums from the definitions: 1 in = 25.4 mm, 1 mil = 1 thou = 0.001 in (international
# yard and pound agreement, 1959), 1 lbf = 0.45359237 kg x 9.80665 m/s2, 0 degC = 273.15 K, 1 degF = 5/9 K.
WRITTEN = [
    ("1.40 mm", Kind.LENGTH, "0.0014", "mm"),
    ("1.40mm", Kind.LENGTH, "0.0014", "mm"),
    ("  1.40 mm  ", Kind.LENGTH, "0.0014", "mm"),
    ("3,2 mm", Kind.LENGTH, "0.0032", "mm"),
    ("+1.5 mm", Kind.LENGTH, "0.0015", "mm"),
    ("-0.05 mm", Kind.LENGTH, "-0.00005", "mm"),
    ("−0.05 mm", Kind.LENGTH, "-0.00005", "mm"),
    ("−12 mm", Kind.LENGTH, "-0.012", "mm"),
    ("3 MM", Kind.LENGTH, "0.003", "mm"),
    ("12 µm", Kind.LENGTH, "0.000012", "um"),
    ("12 μm", Kind.LENGTH, "0.000012", "um"),
    ("12 um", Kind.LENGTH, "0.000012", "um"),
    ("43.6 millimetres", Kind.LENGTH, "0.0436", "mm"),
    ("55 thou", Kind.LENGTH, "0.001397", "thou"),
    ("55 mil", Kind.LENGTH, "0.001397", "thou"),
    ("0.130 in", Kind.LENGTH, "0.003302", "in"),
    (".130 in", Kind.LENGTH, "0.003302", "in"),
    (".130in.", Kind.LENGTH, "0.003302", "in"),
    ("0,130 in", Kind.LENGTH, "0.003302", "in"),
    ("1/16 in", Kind.LENGTH, "0.0015875", "in"),
    ('5/32"', Kind.LENGTH, "0.00396875", "in"),
    ("5/32″", Kind.LENGTH, "0.00396875", "in"),
    ("5⁄32 in", Kind.LENGTH, "0.00396875", "in"),
    ("1 1/4 in", Kind.LENGTH, "0.03175", "in"),
    ("1 1/4 in", Kind.LENGTH, "0.03175", "in"),
    ('1-1/4"', Kind.LENGTH, "0.03175", "in"),
    ("1–1/4 in", Kind.LENGTH, "0.03175", "in"),
    ("1½ in", Kind.LENGTH, "0.0381", "in"),
    ("1 ½ in", Kind.LENGTH, "0.0381", "in"),
    ("½ in", Kind.LENGTH, "0.0127", "in"),
    ("⅜”", Kind.LENGTH, "0.009525", "in"),
    ("2 ft", Kind.LENGTH, "0.6096", "ft"),
    ("2'", Kind.LENGTH, "0.6096", "ft"),
    ("48 %", Kind.FRACTION, "0.48", "%"),
    ("48%", Kind.FRACTION, "0.48", "%"),
    ("48 per cent", Kind.FRACTION, "0.48", "%"),
    ("45 N", Kind.FORCE, "45", "N"),
    ("21.9 kN", Kind.FORCE, "21900", "kN"),
    ("21,9 KN", Kind.FORCE, "21900", "kN"),
    ("7 kgf", Kind.FORCE, "68.64655", "kgf"),
    ("10 lbf", Kind.FORCE, "44.482216152605", "lbf"),
    ("6.5 bar", Kind.PRESSURE, "650000", "bar"),
    ("0.65 MPa", Kind.PRESSURE, "650000", "MPa"),
    ("650 kPa", Kind.PRESSURE, "650000", "kPa"),
    ("180 N·m", Kind.TORQUE, "180", "N m"),
    ("180 Nm", Kind.TORQUE, "180", "N m"),
    ("180 N m", Kind.TORQUE, "180", "N m"),
    ("100 lbf ft", Kind.TORQUE, "135.58179483314004", "lbf ft"),
    ("100 ft-lb", Kind.TORQUE, "135.58179483314004", "lbf ft"),
    ("100 ft·lbf", Kind.TORQUE, "135.58179483314004", "lbf ft"),
    ("118 degC", Kind.TEMPERATURE, "391.15", "degC"),
    ("118 °C", Kind.TEMPERATURE, "391.15", "degC"),
    ("118 ºC", Kind.TEMPERATURE, "391.15", "degC"),
    ("118℃", Kind.TEMPERATURE, "391.15", "degC"),
    ("-40 degC", Kind.TEMPERATURE, "233.15", "degC"),
    ("-40 degF", Kind.TEMPERATURE, "233.15", "degF"),
    ("212 °F", Kind.TEMPERATURE, "373.15", "degF"),
    ("273.16 K", Kind.TEMPERATURE, "273.16", "K"),
    ("15 degC", Kind.TEMPERATURE_DIFFERENCE, "15", "delta_degC"),
    ("27 degF", Kind.TEMPERATURE_DIFFERENCE, "15", "delta_degF"),
    ("412 300 km", Kind.DISTANCE, "412300000", "km"),
    ("412 300 km", Kind.DISTANCE, "412300000", "km"),
    ("412 300 km", Kind.DISTANCE, "412300000", "km"),
    ("412 300.5 km", Kind.DISTANCE, "412300500", "km"),
    ("1 412 300 km", Kind.DISTANCE, "1412300000", "km"),
    ("412300 km", Kind.DISTANCE, "412300000", "km"),
    ("100 mi", Kind.DISTANCE, "160934.4", "mi"),
    ("40 t", Kind.MASS, "40000", "t"),
    ("17200 kg", Kind.MASS, "17200", "kg"),
    ("100 lb", Kind.MASS, "45.359237", "lb"),
    ("30 s", Kind.TIME, "30", "s"),
    ("1.5 h", Kind.TIME, "5400", "h"),
    ("60 mph", Kind.SPEED, "26.8224", "mph"),
    ("90 km/h", Kind.SPEED, "25", "km/h"),
    ("0.5 g", Kind.ACCELERATION, "4.903325", "g_n"),
    ("5.8 m/s²", Kind.ACCELERATION, "5.8", "m/s2"),
    ("24.1 V", Kind.VOLTAGE, "24.1", "V"),
    ("30 sq in", Kind.AREA, "0.0193548", "in2"),
    ("3", Kind.COUNT, "3", "1"),
    ("0", Kind.COUNT, "0", "1"),
    ("3 pcs", Kind.COUNT, "3", "1"),
]


@pytest.mark.parametrize(("text", "kind", "expected", "unit"), WRITTEN)
def test_each_way_of_writing_gives_its_exact_value(text: str, kind: Kind, expected: str, unit: str) -> None:
    quantity = parse_quantity(text, kind)
    assert quantity.exact == Fraction(expected)
    assert quantity.value == float(Fraction(expected))
    assert (quantity.unit, quantity.kind, quantity.raw) == (unit, kind, text)


@pytest.mark.parametrize("sign", "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒")
def test_fraction_signs_have_the_value_of_the_character_table(sign: str) -> None:
    """Unicode character database, property Numeric_Value, through unicodedata of the standard library."""
    number = parse_quantity(f"1{sign} in", Kind.LENGTH).number
    assert float(number) == pytest.approx(1 + unicodedata.numeric(sign), rel=1e-15)
    assert parse_quantity(f"{sign} in", Kind.LENGTH).resolution == INCH / number.denominator


def test_psi_is_a_pound_force_on_a_square_inch() -> None:
    """95 psi = 95 x 0.45359237 x 9.80665 / 0.0254^2 Pa."""
    expected = 95 * Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2
    assert parse_quantity("95 psi", Kind.PRESSURE).exact == expected


def test_fahrenheit_is_exact() -> None:
    """245 degF = (245 + 459.67) x 5/9 K."""
    assert parse_quantity("245 degF", Kind.TEMPERATURE).exact == Fraction("704.67") * Fraction(5, 9)


@pytest.mark.parametrize(
    ("text", "kind", "step"),
    [
        ("0.38 in", Kind.LENGTH, INCH / 100),
        ("0.380 in", Kind.LENGTH, INCH / 1000),
        ("1/16 in", Kind.LENGTH, INCH / 16),
        ("1 1/4 in", Kind.LENGTH, INCH / 4),
        ("1½ in", Kind.LENGTH, INCH / 2),
        ("12 mm", Kind.LENGTH, Fraction(1, 1000)),
        ("1,40 mm", Kind.LENGTH, Fraction(1, 100000)),
        ("245 degF", Kind.TEMPERATURE, Fraction(5, 9)),
        ("412 300 km", Kind.DISTANCE, Fraction(1000)),
        ("48 %", Kind.FRACTION, Fraction(1, 100)),
    ],
)
def test_resolution_is_one_step_of_what_was_written(text: str, kind: Kind, step: Fraction) -> None:
    assert parse_quantity(text, kind).resolution == step


def test_a_bare_number_takes_the_default_unit() -> None:
    assert parse_quantity("3.2", Kind.LENGTH, default_unit="mm").exact == Fraction("0.0032")
    assert parse_quantity("1/16", Kind.LENGTH, default_unit="inch").exact == INCH / 16


def test_a_written_unit_overrides_the_default_unit() -> None:
    assert parse_quantity("55 thou", Kind.LENGTH, default_unit="mm").exact == Fraction("0.001397")


@pytest.mark.parametrize(
    ("number", "raw", "exact", "resolution"),
    [
        (9.8, "9.8", "0.0098", "0.0001"),
        (12.0, "12", "0.012", "0.001"),
        (12, "12", "0.012", "0.001"),
        (-0.05, "-0.05", "-0.00005", "0.00001"),
        (1e-05, "1e-05", "0.00000001", "0.00000001"),
        (1e22, "10000000000000000000000", "10000000000000000000", "0.001"),
    ],
)
def test_a_spreadsheet_number_is_taken_as_its_shortest_text(
    number: float, raw: str, exact: str, resolution: str
) -> None:
    quantity = quantity_from_number(number, "mm", Kind.LENGTH)
    assert (quantity.raw, quantity.exact) == (raw, Fraction(exact))
    assert quantity.resolution == Fraction(resolution)


def read(text: str, kind: Kind, default: str | None = None) -> Quantity | QuantityError:
    try:
        return parse_quantity(text, kind, default_unit=default)
    except QuantityError as refusal:
        return refusal


ALL_UNITS = [unit for kind in Kind for unit in units_of(kind) if unit.label]


@given(
    unit=st.sampled_from(ALL_UNITS),
    digits=st.decimals(min_value=0, max_value=99999, places=None, allow_nan=False, allow_infinity=False),
    places=st.integers(0, 5),
    comma=st.booleans(),
    space=st.sampled_from(["", " ", "\u00a0", "\u2009", "\u202f"]),
)
@settings(deadline=None, max_examples=400)
def test_a_decimal_is_read_exactly_or_refused_never_shifted(
    unit: Unit, digits: Decimal, places: int, comma: bool, space: str
) -> None:
    """Against decimal.Decimal of the standard library: never a factor of ten or a thousand off."""
    number = f"{digits:.{places}f}"
    written = number.replace(".", ",") if comma else number
    quantity = read(f"{written}{space}{unit.label}", unit.kind)
    if isinstance(quantity, QuantityError):
        whole = number.partition(".")[0]
        assert places == 3, quantity
        assert whole != "0", quantity
        assert comma or (unit.kind is Kind.DISTANCE and len(whole) <= 3), quantity
    else:
        assert quantity.number == Fraction(Decimal(number))
        assert quantity.exact == Fraction(Decimal(number)) * unit.scale + unit.offset
        assert quantity.resolution == unit.scale / 10**places


@given(number=st.integers(1000, 10**12), narrow=st.sampled_from([" ", "\u2009", "\u202f", "\u00a0"]))
@settings(deadline=None)
def test_groups_of_three_join_to_one_number(number: int, narrow: str) -> None:
    text = f"{number:,}".replace(",", narrow) + " km"
    assert parse_quantity(text, Kind.DISTANCE).exact == 1000 * number


@given(
    whole=st.integers(0, 500), over=st.integers(0, 63), under=st.integers(1, 64), joint=st.sampled_from(" -")
)
@settings(deadline=None)
def test_mixed_fractions_add_up_or_are_refused(whole: int, over: int, under: int, joint: str) -> None:
    text = f"{whole}{joint}{over}/{under} in"
    if over >= under:
        with pytest.raises(QuantityError, match="fraction of one or more"):
            parse_quantity(text, Kind.LENGTH)
    else:
        expected = (whole + Fraction(over, under)) * INCH
        assert parse_quantity(text, Kind.LENGTH).exact == expected


GAUGE_ALPHABET = "0123456789 .,/-+−–'\"″½¼%°µ٣５²eEnaifmINkNbrlthoudegCFps\t\n\u2009\u202f±<~"


@given(
    text=st.one_of(st.text(max_size=80), st.text(GAUGE_ALPHABET, max_size=24)),
    kind=st.sampled_from(list(Kind)),
    default=st.sampled_from([None, "mm", "in", "%", "degC", "nonsense"]),
)
@settings(deadline=None, max_examples=3000)
def test_any_text_gives_a_quantity_or_a_refusal(text: str, kind: Kind, default: str | None) -> None:
    quantity = read(text, kind, default)
    if isinstance(quantity, QuantityError):
        assert all((quantity.what, quantity.allowed, quantity.cure))
    else:
        assert isinstance(quantity, Quantity)
        assert quantity.kind is kind
        assert quantity.raw == text
        assert quantity.resolution > 0
        assert abs(quantity.value) < 1e70


@given(text=st.from_regex(r"[+-]?[0-9]{0,3}[ .,][0-9]{1,3}([ ./,][0-9]{1,3})? ?(mm|in|km)?", fullmatch=True))
@settings(deadline=None, max_examples=2000)
def test_near_misses_never_read_a_thousands_comma_as_decimals(text: str) -> None:
    """A comma before exactly three digits is only ever read after a lone zero or nothing."""
    before, comma, after = text.partition(",")
    decimals = len(after) - len(after.lstrip("0123456789"))
    if comma and decimals == 3 and before.strip("+- ") not in {"", "0"}:
        assert isinstance(read(text, Kind.LENGTH, "m"), QuantityError)
        assert isinstance(read(text, Kind.DISTANCE, "m"), QuantityError)
