"""The units that technicians write, their exact factors to SI, and how to find one by name.

Factors are exact fractions. Sources: the international yard and pound agreement of 1959 (yard 0.9144 m, pound
0.45359237 kg), the standard acceleration of free fall 9.80665 m/s2 (3rd CGPM, 1901), the SI Brochure (9th
edition, 2019) and NIST SP 811 (2008), appendix B.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from wearline.errors import QuantityError

__all__ = ["Kind", "Unit", "allowed_units", "find_unit", "unit_for", "unit_of_symbol", "units_of"]


class Kind(Enum):
    """Kind of quantity; the value is the word used in messages.

    Notes
    -----
    ``LENGTH`` is a workshop length (mm, in, thou), ``DISTANCE`` a road distance (km, mi), so that a pad of
    '3 km' is refused. A temperature has an offset, a temperature difference has none.
    """

    LENGTH = "length"
    FORCE = "force"
    PRESSURE = "pressure"
    TORQUE = "torque"
    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature difference"
    FRACTION = "fraction"
    MASS = "mass"
    DISTANCE = "road distance"
    TIME = "time"
    SPEED = "speed"
    ACCELERATION = "acceleration"
    VOLTAGE = "voltage"
    AREA = "area"
    COUNT = "count"


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of one kind: SI value = number x scale + offset.

    Parameters
    ----------
    symbol : str
        Canonical symbol, plain ASCII. A symbol has the same scale and offset in every kind that has it.
    kind : Kind
        Kind of quantity.
    scale : Fraction
        SI units in one of this unit, exact.
    offset : Fraction
        SI value of the number 0 [SI unit], exact; 0 except for degC and degF.
    decimals : int
        Decimals shown when nobody asks for others.
    aliases : tuple of str
        Other spellings that are read.
    label : str
        What stands behind the number in a text; empty for a bare number.
    """

    symbol: str
    kind: Kind
    scale: Fraction
    offset: Fraction
    decimals: int
    aliases: tuple[str, ...]
    label: str


_INCH = Fraction(254, 10000)
_FOOT = Fraction(3048, 10000)
_POUND = Fraction(45359237, 10**8)
_FREE_FALL = Fraction(980665, 10**5)
_POUND_FORCE = _POUND * _FREE_FALL
_KILOGRAM_FORCE = _FREE_FALL
_CELSIUS_ZERO = Fraction(27315, 100)
_FAHRENHEIT_ZERO = Fraction(45967, 100) * Fraction(5, 9)

_EXACT: dict[Kind, dict[str, Unit]] = {kind: {} for kind in Kind}
_FOLDED: dict[Kind, dict[str, Unit]] = {kind: {} for kind in Kind}
_UNITS: dict[Kind, list[Unit]] = {kind: [] for kind in Kind}
_BY_SYMBOL: dict[str, Unit] = {}

# Where capitals carry the meaning ('mPa' is not 'MPa'), a spelling is only read as it stands.
_CAPITALS_MATTER = frozenset({"MPa", "mV", "ms"})

# One spelling for the many signs that keyboards, phones and word processors put for the same mark.
_SIGNS = str.maketrans(
    {
        **dict.fromkeys("\u00b5\u03bc", "u"),  # micro sign, Greek mu
        **dict.fromkeys("\u2033\u201c\u201d\u201e\uff02", '"'),  # double prime, quotation marks
        **dict.fromkeys("\u2032\u2018\u2019", "'"),  # prime, single quotation marks
        **dict.fromkeys("\u22c5\u2219\u2022\u00d7", "\u00b7"),  # dots and cross between two units
        **dict.fromkeys("\u00ba\u02da", "\u00b0"),  # ordinal and ring in place of the degree sign
        **dict.fromkeys("\u2010\u2011\u2013", "-"),  # hyphens and the dash that programs put for one
        "\u2103": "\u00b0C",
        "\u2109": "\u00b0F",
        "\u212a": "K",
        "\u00b2": "2",
        "\uff05": "%",
    }
)


def _plain_signs(text: str) -> str:
    """Return a unit text with one spelling for primes, micro, degree, dot and hyphen signs.

    Parameters
    ----------
    text : str
        A unit as written.

    Returns
    -------
    str
        The same with the variants of each sign made one.
    """
    return text if text.isascii() else text.translate(_SIGNS)


def _define(
    kind: Kind,
    symbol: str,
    scale: Fraction | int | str,
    decimals: int,
    aliases: Iterable[str] = (),
    offset: Fraction | int = 0,
    label: str | None = None,
) -> None:
    spellings = tuple(spelling for spelling in dict.fromkeys(aliases) if spelling != symbol)
    unit = Unit(
        symbol,
        kind,
        Fraction(scale),
        Fraction(offset),
        decimals,
        spellings,
        symbol if label is None else label,
    )
    _UNITS[kind].append(unit)
    _BY_SYMBOL.setdefault(symbol, unit)
    for spelling in (symbol, *spellings):
        _EXACT[kind][spelling] = unit
        if symbol not in _CAPITALS_MATTER:
            _FOLDED[kind].setdefault(spelling.casefold(), unit)


def _products(first: Iterable[str], second: str, *, either_order: bool = False) -> list[str]:
    """Every way to write a product of two units; 'mN' would be a millinewton, 'ft-lb' is common."""
    joints = (" ", "", "-", "·", " · ", ".", "*", " - ")
    written = [name + joint + second for joint in joints for name in first]
    if either_order:
        written += [second + joint + name for joint in joints for name in first]
    return written


def _define_lengths() -> None:
    kind = Kind.LENGTH
    metre = ("metre", "metres", "meter", "meters")
    _define(kind, "mm", Fraction(1, 1000), 2, ("millimetre", "millimetres", "millimeter", "millimeters"))
    micrometre = ("micron", "microns", "micrometre", "micrometres", "micrometer", "micrometers")
    _define(kind, "um", Fraction(1, 10**6), 0, micrometre)
    _define(kind, "cm", Fraction(1, 100), 3, ("centimetre", "centimetres", "centimeter", "centimeters"))
    _define(kind, "m", 1, 3, metre)
    _define(kind, "in", _INCH, 3, ('"', "''", "inch", "inches", "ins"))
    _define(kind, "thou", _INCH / 1000, 1, ("thous", "mil", "mils"))
    _define(kind, "ft", _FOOT, 3, ("'", "foot", "feet"))

    kind = Kind.DISTANCE
    _define(kind, "km", 1000, 0, ("kilometre", "kilometres", "kilometer", "kilometers", "kms"))
    _define(kind, "mi", Fraction(1609344, 1000), 0, ("mile", "miles"))
    _define(kind, "m", 1, 0, metre)

    kind = Kind.AREA
    _define(kind, "mm2", Fraction(1, 10**6), 0, ("mm^2", "sq mm"))
    _define(kind, "cm2", Fraction(1, 10**4), 1, ("cm^2", "sq cm"))
    _define(kind, "m2", 1, 4, ("m^2", "sq m"))
    _define(kind, "in2", _INCH**2, 2, ("in^2", "sq in", "sq. in", "sq in.", "sq. in."))


def _define_forces() -> None:
    kind = Kind.FORCE
    _define(kind, "N", 1, 0, ("newton", "newtons"))
    _define(kind, "kN", 1000, 1, ("kilonewton", "kilonewtons"))
    _define(kind, "daN", 10, 0, ("decanewton", "decanewtons"))
    _define(kind, "kgf", _KILOGRAM_FORCE, 1, ("kp", "kilopond", "kg-force", "kilogram-force"))
    _define(kind, "lbf", _POUND_FORCE, 1, ("lbsf", "lb-force", "pound-force", "pounds-force"))

    kind = Kind.PRESSURE
    _define(kind, "bar", 10**5, 2, ("bars",))
    _define(kind, "mbar", 100, 0, ("millibar",))
    _define(kind, "kPa", 1000, 0, ("kilopascal", "kilopascals"))
    _define(kind, "MPa", 10**6, 3, ("megapascal", "megapascals"))
    _define(kind, "Pa", 1, 0, ("pascal", "pascals"))
    psi = _POUND_FORCE / _INCH**2
    _define(kind, "psi", psi, 1, ("lbf/in2", "lbf/in^2", "lb/in2", "lb/in^2", "lbf/sq in", "lb/sq in"))
    _define(
        kind, "kgf/cm2", _KILOGRAM_FORCE * 10**4, 2, ("kgf/cm^2", "kg/cm2", "kg/cm^2", "kp/cm2", "kp/cm^2")
    )

    kind = Kind.TORQUE
    newton_metre = ("newton metre", "newton metres", "newton meter", "newton meters")
    _define(kind, "N m", 1, 0, (*_products(("N",), "m"), *newton_metre))
    _define(kind, "kN m", 1000, 2, _products(("kN",), "m"))
    _define(kind, "daN m", 10, 1, _products(("daN",), "m"))
    _define(kind, "kgf m", _KILOGRAM_FORCE, 1, _products(("kgf", "kp", "kg"), "m"))
    pounds = ("lbf", "lb", "lbs")
    foot_pounds = (*_products(pounds, "ft", either_order=True), "foot-pounds", "foot pounds")
    inch_pounds = (*_products(pounds, "in", either_order=True), "inch-pounds", "inch pounds")
    _define(kind, "lbf ft", _POUND_FORCE * _FOOT, 1, foot_pounds)
    _define(kind, "lbf in", _POUND_FORCE * _INCH, 1, inch_pounds)


def _define_temperatures() -> None:
    celsius = ("°C", "° C", "deg C", "C", "celsius", "degrees C", "degree C", "degrees celsius")
    fahrenheit = ("°F", "° F", "deg F", "F", "fahrenheit", "degrees F", "degree F", "degrees fahrenheit")
    kind = Kind.TEMPERATURE
    _define(kind, "degC", 1, 0, celsius, offset=_CELSIUS_ZERO)
    _define(kind, "degF", Fraction(5, 9), 0, fahrenheit, offset=_FAHRENHEIT_ZERO)
    _define(kind, "K", 1, 0, ("kelvin", "kelvins"))
    kind = Kind.TEMPERATURE_DIFFERENCE
    _define(kind, "K", 1, 0, ("kelvin", "kelvins"))
    # The symbols differ from those of a temperature: a conversion by symbol alone must never add the offset.
    _define(kind, "delta_degC", 1, 0, ("degC", *celsius), label="degC")
    _define(kind, "delta_degF", Fraction(5, 9), 0, ("degF", *fahrenheit), label="degF")


def _define_others() -> None:
    kind = Kind.FRACTION
    _define(kind, "%", Fraction(1, 100), 0, ("percent", "per cent", "pct"))
    # A written fraction needs its percent sign: 0.48 and 48 are too easily taken for each other.
    _define(kind, "1", 1, 2, label="")

    kind = Kind.MASS
    _define(kind, "kg", 1, 0, ("kgs", "kilogram", "kilograms", "kilo", "kilos"))
    _define(kind, "t", 1000, 2, ("tonne", "tonnes"))
    _define(kind, "lb", _POUND, 0, ("lbs", "pound", "pounds"))
    _define(kind, "g", Fraction(1, 1000), 0, ("gram", "grams"))

    kind = Kind.TIME
    _define(kind, "s", 1, 1, ("sec", "secs", "second", "seconds"))
    _define(kind, "ms", Fraction(1, 1000), 0, ("millisecond", "milliseconds"))
    _define(kind, "min", 60, 0, ("mins", "minute", "minutes"))
    _define(kind, "h", 3600, 1, ("hr", "hrs", "hour", "hours"))
    _define(kind, "d", 86400, 0, ("day", "days"))

    kind = Kind.SPEED
    _define(kind, "km/h", Fraction(1000, 3600), 0, ("kmh", "km/hr", "kph", "kmph"))
    _define(kind, "mph", Fraction(1609344, 3600000), 0, ("mi/h", "miles/h", "mi/hr"))
    _define(kind, "m/s", 1, 2)

    kind = Kind.ACCELERATION
    _define(kind, "m/s2", 1, 2, ("m/s^2",))
    _define(kind, "ft/s2", _FOOT, 2, ("ft/s^2",))
    # 'g' is the gram; the canonical symbol of standard gravity is another, what is written is 'g'.
    _define(kind, "g_n", _FREE_FALL, 3, ("g", "gn"), label="g")

    kind = Kind.VOLTAGE
    _define(kind, "V", 1, 2, ("volt", "volts"))
    _define(kind, "mV", Fraction(1, 1000), 0, ("millivolt", "millivolts"))

    kind = Kind.COUNT
    _define(kind, "1", 1, 0, ("pcs", "pc", "pieces", "piece"), label="")


_define_lengths()
_define_forces()
_define_temperatures()
_define_others()

# What a person most likely meant by a unit of another kind, or by one with more than one meaning.
_HINTS: dict[tuple[Kind, str], str] = {
    (Kind.FORCE, "lb"): "Write 'lbf' for a force",
    (Kind.FORCE, "kg"): "Write 'kgf' for a force",
    (Kind.MASS, "lbf"): "Write 'lb' for a mass",
    (Kind.MASS, "kgf"): "Write 'kg' for a mass",
    (Kind.DISTANCE, "thou"): "Write 'mi' for miles",
    (Kind.LENGTH, "mi"): "Write 'mil' or 'thou' for thousandths of an inch",
}
_SEVERAL_MEANINGS: dict[str, str] = {
    "ton": "a short ton, a long ton or a metric tonne",
    "tons": "short tons, long tons or metric tonnes",
}


def find_unit(name: str, kind: Kind) -> Unit | None:
    """Return the unit that a name stands for within one kind, or None.

    Parameters
    ----------
    name : str
        Symbol or alias; capitals are ignored where they cannot change the meaning, and so is one full stop at
        the end.
    kind : Kind
        Kind of quantity.

    Returns
    -------
    Unit or None
        None when the kind has no such unit.
    """
    exact = _EXACT[kind]
    unit = exact.get(name)
    if unit is not None:
        return unit
    key = _plain_signs(name).strip()
    if key.endswith(".") and key not in exact:
        key = key[:-1]
    unit = exact.get(key)
    return unit if unit is not None else _FOLDED[kind].get(key.casefold())


def units_of(kind: Kind) -> tuple[Unit, ...]:
    """Return the units of one kind, the most used first.

    Parameters
    ----------
    kind : Kind
        Kind of quantity.

    Returns
    -------
    tuple of Unit
        At least one unit.
    """
    return tuple(_UNITS[kind])


def allowed_units(kind: Kind) -> str:
    """Return the words for what is allowed in messages about one kind.

    Parameters
    ----------
    kind : Kind
        Kind of quantity.

    Returns
    -------
    str
        For instance ``"a length in mm, um, cm, m, in, thou, ft"``.
    """
    labels = [unit.label for unit in _UNITS[kind] if unit.label]
    article = "an" if kind.value[0] in "aeiou" else "a"
    return f"{article} {kind.value} " + (f"in {', '.join(labels)}" if labels else "without a unit")


def _shown(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:37] + "...")


def _nearest(name: str, kind: Kind) -> str:
    from difflib import get_close_matches

    known = {spelling.casefold(): unit.label for spelling, unit in _EXACT[kind].items() if unit.label}
    close = get_close_matches(_plain_signs(name).strip().casefold()[:24], known, n=1, cutoff=0.5)
    return known[close[0]] if close else ""


def unit_for(symbol_or_alias: str, kind: Kind) -> Unit:
    """Return the unit that a symbol or another spelling stands for.

    Parameters
    ----------
    symbol_or_alias : str
        ``"mm"``, ``"thou"``, ``"ft-lb"``, ``"°C"`` and so on.
    kind : Kind
        Kind of quantity that is wanted.

    Returns
    -------
    Unit
        The unit.

    Raises
    ------
    QuantityError
        For an unknown unit (naming the nearest known one), for a unit of another kind and for one with more
        than one meaning.
    """
    unit = find_unit(symbol_or_alias, kind)
    if unit is not None:
        return unit
    name = _shown(symbol_or_alias)
    key = _plain_signs(symbol_or_alias).strip().casefold()
    if key in _SEVERAL_MEANINGS:
        what = f"{name} can mean {_SEVERAL_MEANINGS[key]}"
        raise QuantityError(what, allowed=allowed_units(kind), cure="Write 't' for 1000 kg, or use kg or lb")
    for other in Kind:
        meant = find_unit(symbol_or_alias, other)
        if meant is not None:
            what = f"{name} is a unit of {other.value}, not of {kind.value}"
            hint = _HINTS.get((kind, meant.symbol), "Was the reading put in the wrong field?")
            raise QuantityError(what, allowed=allowed_units(kind), cure=hint)
    nearest = _nearest(symbol_or_alias, kind)
    cure = f"Did you mean '{nearest}'?" if nearest else "Write one of the allowed units behind the number"
    raise QuantityError(f"{name} is not a known unit of {kind.value}", allowed=allowed_units(kind), cure=cure)


def unit_of_symbol(symbol: str) -> Unit:
    """Return a unit by its symbol alone, whatever its kind.

    Parameters
    ----------
    symbol : str
        Canonical symbol, or another spelling with one meaning over all kinds.

    Returns
    -------
    Unit
        The unit. Where two kinds share a symbol (``"m"``), scale and offset are the same in both.

    Raises
    ------
    QuantityError
        When no unit has this spelling, or when it means different things in different kinds (``"C"`` is a
        temperature and a temperature difference).
    """
    unit = _BY_SYMBOL.get(symbol)
    if unit is not None:
        return unit
    found = [unit for kind in Kind if (unit := find_unit(symbol, kind)) is not None]
    if len({(unit.scale, unit.offset) for unit in found}) == 1:
        return found[0]
    if found:
        symbols = " or ".join(f"'{unit.symbol}'" for unit in found)
        what = f"{_shown(symbol)} means different things for different kinds of quantity"
        raise QuantityError(what, allowed="a canonical symbol", cure=f"Write {symbols}")
    raise QuantityError(
        f"{_shown(symbol)} is not a known unit",
        allowed=", ".join(_BY_SYMBOL),
        cure="Write one of the allowed symbols",
    )
