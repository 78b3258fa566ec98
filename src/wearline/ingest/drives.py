"""Read a recorded drive from CSV: time, speed, and slope where there is one."""

from __future__ import annotations

import csv
import io
import math
import re
import sys
from pathlib import Path

from wearline.errors import FileFormatError, QuantityError, ReadingError
from wearline.records.drive import Drive
from wearline.units import Kind, from_unit, unit_for

__all__ = ["drive_from_text", "read_drive"]

FASTEST, STEEPEST = 60.0, 0.4
"""[m/s], [1] A road vehicle is not faster, a road not steeper: more is a wrong unit or column."""

MOST_LINES = 500_000

_HEADING = re.compile(r"(time|speed|slope)(?:[ _]*[\[(]?\s*([A-Za-z0-9/%]+)\s*[\])]?)?", re.IGNORECASE)
_KINDS = {"time": Kind.TIME, "speed": Kind.SPEED, "slope": Kind.FRACTION}
_WORDS = {"percent": "%", "kmh": "km/h"}
_ALLOWED = "time_s and speed_kmh (or mph, m/s), and slope_percent where it was recorded, positive downhill"


def read_drive(path: str | Path) -> Drive:
    """Read a file with a recorded drive.

    Parameters
    ----------
    path : str or Path
        CSV file, or ``"-"`` for standard input.

    Returns
    -------
    Drive
        The drive.

    Raises
    ------
    FileFormatError
        If the file cannot be read or has not the columns.
    ReadingError
        If time runs backwards, or a speed or slope is impossible.
    """
    where = str(path)
    if where == "-":
        return drive_from_text(sys.stdin.read(), "standard input")
    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except (UnicodeDecodeError, OSError) as error:
        raise FileFormatError(
            f"the file cannot be read: {error}", where=where, allowed="a CSV file in UTF-8", cure="Check it"
        ) from error
    return drive_from_text(text, where)


def drive_from_text(text: str, where: str) -> Drive:
    """Read a recorded drive from a CSV text.

    Parameters
    ----------
    text : str
        The text; separated by comma, semicolon or tab, lines that begin with ``#`` are remarks.
    where : str
        What messages call it.

    Returns
    -------
    Drive
        The drive.

    Raises
    ------
    FileFormatError
        If the columns are not there.
    ReadingError
        If a value is impossible.
    """
    lines = [(n, line) for n, line in enumerate(text.splitlines(), start=1) if line.strip()]
    lines = [(n, line) for n, line in lines if not line.lstrip().startswith("#")]
    if not lines or len(lines) > MOST_LINES:
        raise FileFormatError(
            f"the file has {len(lines)} lines", where=where, allowed=f"2 to {MOST_LINES}", cure="Check it"
        )
    delimiter = next((sign for sign in ";\t," if sign in lines[0][1]), ",")
    columns = _columns(_cells(lines[0][1], delimiter), f"{where}, line {lines[0][0]}")
    taken: dict[str, list[float]] = {name: [] for name in columns}
    for number, line in lines[1:]:
        cells = _cells(line, delimiter)
        for name, (index, unit) in columns.items():
            cell = cells[index] if index < len(cells) else ""
            taken[name].append(_value(cell, unit, f"{where}, line {number}, {name}"))
        _check(taken, f"{where}, line {number}")
    if len(taken["time"]) < 2:
        raise ReadingError(
            f"the drive has {len(taken['time'])} samples",
            where=where,
            allowed="2 or more",
            cure="Record the whole drive",
        )
    return Drive(tuple(taken["time"]), tuple(taken["speed"]), tuple(taken.get("slope", ())))


def _cells(line: str, delimiter: str) -> list[str]:
    return next(csv.reader(io.StringIO(line), delimiter=delimiter))


def _columns(headings: list[str], where: str) -> dict[str, tuple[int, str]]:
    columns: dict[str, tuple[int, str]] = {}
    for index, heading in enumerate(headings):
        match = _HEADING.fullmatch(heading.strip())
        if match is None or match[1].lower() in columns:
            raise FileFormatError(
                f"'{heading}' is no column of a drive, or stands twice",
                where=where,
                allowed=_ALLOWED,
                cure="Rename it or leave it out",
            )
        name, symbol = match[1].lower(), match[2]
        if symbol is None:
            raise FileFormatError(
                f"the heading '{heading}' names no unit",
                where=where,
                allowed=_ALLOWED,
                cure="Write the unit in the heading, as speed_kmh",
            )
        try:
            columns[name] = (index, unit_for(_WORDS.get(symbol, symbol), _KINDS[name]).symbol)
        except QuantityError as error:
            raise error.at(where) from error
    for name in ("time", "speed"):
        if name not in columns:
            raise FileFormatError(
                f"the column '{name}' is missing", where=where, allowed=_ALLOWED, cure="Add it with its unit"
            )
    return columns


def _value(cell: str, unit: str, where: str) -> float:
    try:
        number = float(cell)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise ReadingError(
            f"'{cell}' is not a number",
            where=where,
            allowed="a number without a unit, the unit stands in the heading",
            cure="Leave out rows without a value; between samples the speed is taken as straight",
        )
    return float(from_unit(number, unit))


def _check(taken: dict[str, list[float]], where: str) -> None:
    time, speed, slope = taken["time"], taken["speed"][-1], taken.get("slope", [0.0])[-1]
    if len(time) > 1 and time[-1] <= time[-2]:
        raise ReadingError(
            f"time runs back from {time[-2]:g} s to {time[-1]:g} s",
            where=where,
            allowed="rising times",
            cure="Sort the rows by time, and give one drive in one file",
        )
    if not 0.0 <= speed <= FASTEST:
        raise ReadingError(
            f"the speed is {3.6 * speed:.1f} km/h",
            where=where,
            allowed="0 to 216 km/h",
            cure="Check unit and column: are speed and another column swapped?",
        )
    if abs(slope) > STEEPEST:
        raise ReadingError(
            f"the slope is {100.0 * slope:.1f} %",
            where=where,
            allowed="-40 to 40 %",
            cure="Is it in per mille or degrees? Write percent",
        )
