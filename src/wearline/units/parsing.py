"""Read the text of one quantity exactly, and refuse what could mean two things.

No locale is consulted: the same text gives the same value on every machine. The number is kept as a fraction,
so that nothing is rounded before the SI value is asked for.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import NoReturn

from wearline.errors import QuantityError
from wearline.units.table import Kind, Unit, allowed_units, find_unit, unit_for, units_of

__all__ = ["Quantity", "parse_quantity", "quantity_from_number"]

MAXIMUM_TEXT_LENGTH = 64


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity as written, with its exact value.

    Parameters
    ----------
    raw : str
        The text as written.
    number : Fraction
        The number in the unit as written.
    unit : str
        Canonical symbol of the unit.
    kind : Kind
        Kind of quantity.
    exact : Fraction
        Exact value [SI unit].
    resolution : Fraction
        Step of the last written digit, or of the written fraction's denominator [SI unit], > 0.
    """

    raw: str
    number: Fraction
    unit: str
    kind: Kind
    exact: Fraction
    resolution: Fraction

    @property
    def value(self) -> float:
        """Value [SI unit], the float nearest to the exact value."""
        return self.exact.numerator / self.exact.denominator


_SPACES = str.maketrans(
    dict.fromkeys("\t\u00a0\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f", " ")
)
_SLASHES = str.maketrans({"⁄": "/", "∕": "/", "／": "/"})
_MINUS = "\u2212"
_VULGAR = {
    "½": (1, 2),
    "⅓": (1, 3),
    "⅔": (2, 3),
    "¼": (1, 4),
    "¾": (3, 4),
    "⅕": (1, 5),
    "⅖": (2, 5),
    "⅗": (3, 5),
    "⅘": (4, 5),
    "⅙": (1, 6),
    "⅚": (5, 6),
    "⅐": (1, 7),
    "⅛": (1, 8),
    "⅜": (3, 8),
    "⅝": (5, 8),
    "⅞": (7, 8),
    "⅑": (1, 9),
    "⅒": (1, 10),
}
_DECIMAL = re.compile(r"([+-]?)([1-9][0-9]{0,2}(?: [0-9]{3})+(?![0-9])|[0-9]*)(?:([.,])([0-9]+))?")
_WRITTEN_FRACTION = re.compile(r"([+-]?)(?:([0-9]+)(?: +|-|‐|‑|–))?([0-9]+)/([0-9]+)")
_SIGN_FRACTION = re.compile(r"([+-]?)(?:([0-9]+)(?: *|-|‐|‑|–))?([" + "".join(_VULGAR) + "])")
_EXPONENT = re.compile(r"[eE][+-]?[0-9]")
_RANGE = re.compile(r"[0-9]\s*(?:-|–|—|\.\.+|…|to|bis)\s*[0-9]")
_TWO_DECIMALS = re.compile(r"[.,][0-9]+[ ;]+[0-9]")
_TWO_NUMBERS = re.compile(r"[0-9][ ;]+[0-9]")
# A unit never begins like this: the number goes on, or a second one begins.
_NUMBER_GOES_ON = frozenset("0123456789.,/+-‐‑–—…±" + "".join(_VULGAR))
_POWERS = tuple(10**n for n in range(MAXIMUM_TEXT_LENGTH + 1))
# Lengths that people divide in halves: a bare 1/16 under a metric heading is an inch fraction astray.
_IN_FRACTIONS = frozenset({"in", "ft"})


def parse_quantity(text: str, kind: Kind, *, default_unit: str | None = None) -> Quantity:
    """Read one quantity as a technician writes it.

    Parameters
    ----------
    text : str
        Number and unit: ``"1.40 mm"``, ``"55 thou"``, ``"1 1/4 in"``, ``"3,2 mm"``, ``"412 300 km"``.
    kind : Kind
        Kind of quantity that the place asks for.
    default_unit : str, optional
        Unit of a bare number. Without it a bare number is refused (except a count).

    Returns
    -------
    Quantity
        The quantity, exact.

    Raises
    ------
    QuantityError
        When the text is not one clear quantity of this kind: it says what, what is allowed and the cure.

    Notes
    -----
    Decimal point or decimal comma; thousands only as spaces. A comma before exactly three digits is refused,
    except after a lone zero, because it can be a thousands separator; for a road distance so is a point.
    Exponents are refused: nobody reads '1e5' off a gauge, and it is more often a slip. A length written as a
    fraction without a unit is refused unless the default unit is the inch or the foot.
    """
    if not isinstance(text, str):
        _refuse_type(text)
    if len(text) > MAXIMUM_TEXT_LENGTH:
        raise QuantityError(
            f"a text of {len(text)} characters beginning with {text[:20]!r} is no quantity",
            allowed=f"at most {MAXIMUM_TEXT_LENGTH} characters",
            cure="Write one number and one unit, and put remarks into the note",
        )
    plain = text.strip() if text.isascii() else _plain(text)
    sign, top, bottom, rest = _read_number(text, plain, kind)
    unit = _read_unit(text, rest, kind, default_unit)
    fraction = "/" in plain or plain[-1] in _VULGAR
    if not rest and fraction and kind is Kind.LENGTH and unit.symbol not in _IN_FRACTIONS:
        _refuse_bare_fraction(text, unit)
    if sign == "-":
        top = -top
    return _quantity(text, top, bottom, unit)


def quantity_from_number(number: float, unit: str, kind: Kind) -> Quantity:
    """Make a quantity of a bare number, from a spreadsheet cell for instance.

    Parameters
    ----------
    number : float or int
        Number in the unit, finite. The shortest text that gives this float back is taken as written.
    unit : str
        Unit, any spelling.
    kind : Kind
        Kind of quantity.

    Returns
    -------
    Quantity
        The quantity; ``raw`` is the number's shortest text. A float without fraction counts as whole, so that
        the resolution of 12.0 is one unit.

    Raises
    ------
    QuantityError
        When the number is not finite or is no number, or the unit does not fit.
    """
    if isinstance(number, bool) or not isinstance(number, (int, float)) or not math.isfinite(number):
        what = f"{number!r} is not a number that can be read"
        raise QuantityError(
            what, allowed="a finite number", cure="Leave the cell empty if nothing was measured"
        )
    written = repr(float(number)) if isinstance(number, float) else str(number)
    exact = Fraction(written)
    digits = 0 if exact.denominator == 1 else _decimals_of(exact)
    found = unit_for(unit, kind)
    raw = str(exact.numerator) if digits == 0 else written
    return _quantity(raw, int(exact * 10**digits), 10**digits, found)


def _decimals_of(exact: Fraction) -> int:
    """Decimals needed to write a fraction whose denominator divides a power of ten."""
    digits = 1
    while (10**digits) % exact.denominator:
        digits += 1
    return digits


def _plain(text: str) -> str:
    """The text with one kind of space, slash and leading minus."""
    plain = text.translate(_SPACES).strip()
    if plain.startswith(_MINUS):
        plain = "-" + plain[1:]
    return plain.translate(_SLASHES)


def _quantity(raw: str, top: int, bottom: int, unit: Unit) -> Quantity:
    scale = unit.scale
    over, under = scale.numerator, scale.denominator
    exact = Fraction(top * over, bottom * under)
    if unit.offset:
        exact += unit.offset
    kind = unit.kind
    if kind is Kind.TEMPERATURE and exact < 0:
        allowed = "-273.15 degC (-459.67 degF) and above"
        raise QuantityError(f"{raw!r} is below absolute zero", allowed=allowed, cure="Check the sign")
    if kind is Kind.COUNT and (top < 0 or top % bottom):
        allowed = "a whole number, 0 or more"
        raise QuantityError(f"{raw!r} is not a count", allowed=allowed, cure="Write how many there are")
    return Quantity(raw, Fraction(top, bottom), unit.symbol, kind, exact, Fraction(over, bottom * under))


def _read_number(text: str, plain: str, kind: Kind) -> tuple[str, int, int, str]:
    """Sign, numerator, denominator (a power of ten or as written) and the rest of the text."""
    match = _DECIMAL.match(plain)
    if match is None:  # pragma: no cover - every part of the pattern is optional
        _refuse_number(text, plain)
    sign, whole, mark, decimals = match.groups()
    rest = plain[match.end() :].lstrip(" ")
    if rest and rest[0] in _NUMBER_GOES_ON:
        return _read_fraction(text, plain)
    if decimals is None:
        if not whole:
            _refuse_number(text, plain)
        return sign, int(whole.replace(" ", "")), 1, rest
    if len(decimals) == 3 and whole not in {"", "0"}:
        if mark == ",":
            _refuse_three_digits(text, "comma", whole, decimals, rest)
        if kind is Kind.DISTANCE and len(whole) <= 3:
            _refuse_three_digits(text, "point", whole, decimals, rest)
    return sign, int(whole.replace(" ", "") + decimals), _POWERS[len(decimals)], rest


def _read_fraction(text: str, plain: str) -> tuple[str, int, int, str]:
    """Read '5/32', '1 1/4', '1-1/4' and their one-sign forms."""
    match = _WRITTEN_FRACTION.match(plain)
    if match is not None:
        sign, whole, over, under = match.groups()
        top, bottom = int(over), int(under)
    else:
        match = _SIGN_FRACTION.match(plain)
        if match is None:
            _refuse_number(text, plain)
        sign, whole, over = match.groups()
        top, bottom = _VULGAR[over]
    rest = plain[match.end() :].lstrip(" ")
    if rest and rest[0] in _NUMBER_GOES_ON:
        _refuse_number(text, plain)
    if bottom == 0:
        what, cure = f"{text!r} divides by zero", "Check the number below the line"
        raise QuantityError(what, allowed="a fraction such as 5/32", cure=cure)
    if whole is not None and top >= bottom:
        raise QuantityError(
            f"{text!r} has a fraction of one or more behind a whole number",
            allowed="a whole number and a proper fraction, such as 1 1/4",
            cure="Write the number as decimals",
        )
    return sign, top + (int(whole) if whole else 0) * bottom, bottom, rest


def _read_unit(text: str, rest: str, kind: Kind, default_unit: str | None) -> Unit:
    if not rest:
        if default_unit is not None:
            return unit_for(default_unit, kind)
        if kind is Kind.COUNT:
            return units_of(kind)[0]
        label = units_of(kind)[0].label
        raise QuantityError(
            f"{text!r} has no unit",
            allowed=allowed_units(kind),
            cure=f"Write the unit behind the number, for instance '{text.strip()} {label}'",
        )
    unit = find_unit(rest, kind)
    # '1' names a bare fraction in code; behind a number it would be a second number.
    if unit is not None and rest != "1":
        return unit
    if _EXPONENT.match(rest):
        what = f"{text!r} has an exponent"
        raise QuantityError(
            what, allowed="digits and one decimal mark", cure="Write the number out in digits"
        )
    if "±" in rest or "+/-" in rest:
        _refuse_tolerance(text)
    if any(character.isnumeric() for character in rest) and not _known_anywhere(rest):
        _refuse_second(text)
    words = rest.split()
    if len(words) > 1 and all(_known_anywhere(word) for word in words):
        what = f"{text!r} has two units"
        raise QuantityError(what, allowed="one number and one unit", cure="Keep one of them")
    return unit_for(rest, kind)


def _known_anywhere(name: str) -> bool:
    return any(find_unit(name, kind) is not None for kind in Kind)


def _refuse_type(thing: object) -> NoReturn:
    what = f"a quantity must be a text, not {type(thing).__name__}"
    cure = 'Write it in quotation marks, such as "1.40 mm"'
    raise QuantityError(what, allowed="number and unit", cure=cure)


def _refuse_three_digits(text: str, mark: str, whole: str, decimals: str, rest: str) -> NoReturn:
    unit = f" {rest}" if rest else ""
    joined = whole.replace(" ", "")
    small = f"{joined}.{decimals}".rstrip("0")
    if small.endswith("."):
        small = joined
    if mark == "comma":
        small = f"{joined}.{decimals}"
    raise QuantityError(
        f"{text!r} has a {mark} before exactly three digits, which can separate thousands or decimals",
        allowed="a decimal point or comma; thousands separated by spaces only",
        cure=f"Write '{small}{unit}' or '{joined}{decimals}{unit}'",
    )


def _refuse_bare_fraction(text: str, unit: Unit) -> NoReturn:
    raise QuantityError(
        f"{text!r} is a fraction without a unit where {unit.label} is expected",
        allowed="a fraction with its unit",
        cure=f"Write '{text.strip()} in' or '{text.strip()} {unit.label}'",
    )


def _refuse_tolerance(text: str) -> NoReturn:
    raise QuantityError(
        f"{text!r} holds a value and an uncertainty",
        allowed="one number and one unit",
        cure="Give the standard uncertainty in its own field",
    )


def _refuse_second(text: str) -> NoReturn:
    raise QuantityError(
        f"{text!r} holds more than one number",
        allowed="one number and one unit; thousands in full groups of three behind a space",
        cure="Write one reading per field",
    )


def _refuse_number(text: str, plain: str) -> NoReturn:
    """Say why no number could be read at the start of the text."""
    allowed = "one number and one unit, such as '1.40 mm', '55 thou', '1 1/4 in' or '3,2 mm'"
    if not plain:
        what, cure = "an empty text is no quantity", "Leave the field out if it was not measured"
        raise QuantityError(what, allowed=allowed, cure=cure)
    if any(c.isnumeric() and not c.isascii() and c not in _VULGAR for c in plain):
        what = f"{text!r} has digits other than 0 to 9"
        raise QuantityError(what, allowed=allowed, cure="Write the number with the digits 0 to 9")
    if "±" in plain or "+/-" in plain:
        _refuse_tolerance(text)
    if _TWO_DECIMALS.search(plain):
        _refuse_second(text)
    if "." in plain and "," in plain:
        raise QuantityError(
            f"{text!r} has a point and a comma",
            allowed="one decimal mark; thousands separated by spaces only",
            cure="Leave the thousands separator out",
        )
    if plain.count(",") > 1 or plain.count(".") > 1:
        what, cure = f"{text!r} has several decimal marks", "Leave the thousands separators out"
        raise QuantityError(what, allowed=allowed, cure=cure)
    if plain[0] in "<>~≤≥≈":
        what = f"{text!r} is a bound or an estimate, not a reading"
        cure = "Write the value read, or say why it cannot be measured"
        raise QuantityError(what, allowed=allowed, cure=cure)
    if _RANGE.search(plain) and "/" not in plain:
        what = f"{text!r} looks like a range"
        raise QuantityError(what, allowed=allowed, cure="Write one value per reading")
    if _TWO_NUMBERS.search(plain):
        _refuse_second(text)
    if any(c.isnumeric() for c in plain[:1]) or (plain[0] in "+-" and any(c.isnumeric() for c in plain[:3])):
        what, cure = f"the number in {text!r} cannot be read", "Write it with digits and one decimal mark"
        raise QuantityError(what, allowed=allowed, cure=cure)
    what, cure = f"{text!r} does not begin with a number", "Write the number first, then the unit"
    raise QuantityError(what, allowed=allowed, cure=cure)
