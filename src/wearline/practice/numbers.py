"""Numbers of the simulator from its TOML files into SI values, each with a unit and a status.

The simulator's numbers shape invented readings and decide nothing, so they are kept apart from the
catalogue's limits. Compound units that no technician writes (wear for each energy, growth for each
distance) are only known here.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from importlib import resources
from typing import Any

from wearline.errors import CatalogueError

__all__ = ["SCALES", "STATUSES", "Table", "read_numbers", "read_table", "scaled"]

Table = Mapping[str, Any]

STATUSES = ("expert judgement", "common practice", "derived", "invented", "published")
"""What a number of the simulator may be: none of them is a limit."""

_CELSIUS_ZERO = 273.15

SCALES: Mapping[str, float] = {
    "1": 1.0,
    "%": 1e-2,
    "mm": 1e-3,
    "m": 1.0,
    "km": 1e3,
    "N": 1.0,
    "kN": 1e3,
    "N m": 1.0,
    "kPa": 1e3,
    "kPa/mm": 1e6,
    "K": 1.0,
    "s": 1.0,
    "min": 60.0,
    "d": 86400.0,
    "km/h": 1.0 / 3.6,
    "W/K": 1.0,
    "1/N": 1.0,
    "1/km": 1e-3,
    "MJ/km": 1e3,
    "mm3/MJ": 1e-15,
    "mm per 100000 km": 1e-11,
    "1 per 10000 km": 1e-7,
    "1 per mm": 1e3,
    "mrad": 1e-3,
}
"""SI units in one of each unit; degrees Celsius have an offset besides."""


def scaled(number: float, unit: str, where: str) -> float:
    """Return a number of the data files in SI units.

    Parameters
    ----------
    number : float
        The number as written.
    unit : str
        One of ``SCALES`` or ``"degC"``.
    where : str
        File and key, for messages.

    Returns
    -------
    float
        SI value.

    Raises
    ------
    CatalogueError
        If the unit is unknown.
    """
    if unit == "degC":
        return number + _CELSIUS_ZERO
    if unit not in SCALES:
        raise CatalogueError(
            f"the unit {unit!r} is not known",
            where=where,
            allowed=", ".join(("degC", *SCALES)),
            cure="Write the number in one of these units",
        )
    return number * SCALES[unit]


def read_table(file: str) -> Table:
    """Return one TOML file of the simulator as a table.

    Parameters
    ----------
    file : str
        Name of a file in the package's data folder.

    Returns
    -------
    mapping
        The tables.

    Raises
    ------
    CatalogueError
        If the file is missing or no TOML.
    """
    try:
        text = resources.files("wearline.practice").joinpath("data", file).read_text(encoding="utf-8")
        return tomllib.loads(text)
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise CatalogueError(
            f"the simulator's data cannot be read: {error}",
            where=file,
            cure="Install the package again",
        ) from error


def read_numbers(table: Table, where: str, status: str) -> dict[str, float | tuple[float, ...]]:
    """Return every number of a table in SI units.

    Parameters
    ----------
    table : mapping
        Name to ``{value, unit}``, with ``status`` and ``note`` where they differ from the default.
    where : str
        File and table, for messages.
    status : str
        Status of the numbers that name none.

    Returns
    -------
    dict
        Name to number, or to a tuple of numbers.

    Raises
    ------
    CatalogueError
        If an entry has no number, no unit or a status that is none of ``STATUSES``.
    """
    numbers: dict[str, float | tuple[float, ...]] = {}
    for name, entry in table.items():
        place = f"{where}, {name}"
        if not isinstance(entry, Mapping) or not {"value", "unit"} <= entry.keys():
            raise CatalogueError(
                f"'{name}' has no value with its unit",
                where=place,
                allowed='{ value = 0.15, unit = "mm" }',
                cure="Write both",
            )
        if entry.get("status", status) not in STATUSES:
            raise CatalogueError(
                f"'{name}' has the status {entry.get('status', status)!r}",
                where=place,
                allowed=", ".join(STATUSES),
                cure="Say what the number is",
            )
        value, unit = entry["value"], str(entry["unit"])
        if isinstance(value, list):
            numbers[name] = tuple(scaled(float(item), unit, place) for item in value)
        else:
            numbers[name] = scaled(float(value), unit, place)
    return numbers
