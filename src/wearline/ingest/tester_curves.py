"""Read force curves of a brake tester from CSV: one row per instant, wheel by wheel.

Columns ``at``, ``pressure`` and ``force`` with their units in the heading, as ``pressure_bar`` or
``pressure [bar]``; ``time_s`` and ``run`` may stand beside them. Facts only: what a curve means is judged
elsewhere.
"""

from __future__ import annotations

import csv
import io
import math
import re
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from wearline.errors import FileFormatError, QuantityError, ReadingError
from wearline.records.place import WheelEndPlace
from wearline.records.tester_curve import CurveRun, ForceCurve
from wearline.units import Kind, from_unit, unit_for

__all__ = ["FEWEST_POINTS", "HIGHEST_PRESSURE", "curves_from_text", "read_tester_curves"]

FEWEST_POINTS = 5
"""A curve of fewer points than this is none."""

HIGHEST_PRESSURE = 1.2e6
"""[Pa] No air brake runs above 12 bar: more is a wrong unit or the wrong column."""

HIGHEST_FORCE = 120e3
"""[N] No wheel makes more on a tester."""

LOWEST_PRESSURE, LOWEST_FORCE = -2e4, -2e3
"""[Pa], [N] Below zero only by the zero error of a sensor."""

MOST_LINES = 500_000

_HEADING = re.compile(
    r"(at|time|pressure|force|run)(?:[ _]*[\[(]?\s*([A-Za-z0-9/²]+)\s*[\])]?)?", re.IGNORECASE
)
_COMMA = re.compile(r"[+-]?\d+,\d+")
_KINDS = {"pressure": Kind.PRESSURE, "force": Kind.FORCE, "time": Kind.TIME}
_ALLOWED = "at, pressure_bar (or kPa, psi), force_kN (or N, lbf); beside them time_s and run"


@dataclass(frozen=True, slots=True)
class _Column:
    index: int
    unit: str


@dataclass(slots=True)
class _Run:
    time: list[float]
    pressure: list[float]
    force: list[float]
    lines: list[int]


def read_tester_curves(path: str | Path) -> tuple[ForceCurve, ...]:
    """Read a file of force curves.

    Parameters
    ----------
    path : str or Path
        CSV file, or ``"-"`` for standard input.

    Returns
    -------
    tuple of ForceCurve
        One for each wheel, in the order of the file.

    Raises
    ------
    FileFormatError
        If the file cannot be read or has not the columns.
    ReadingError
        If a value is impossible, time runs backwards, columns are swapped or a curve is too short.
    """
    where = str(path)
    if where == "-":
        return curves_from_text(sys.stdin.read(), "standard input")
    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileFormatError(
            "the file is not text", where=where, allowed="CSV in UTF-8", cure="Save it as CSV"
        ) from error
    except OSError as error:
        raise FileFormatError(
            f"the file cannot be read: {error.strerror}",
            where=where,
            allowed="a CSV file",
            cure="Check the name",
        ) from error
    return curves_from_text(text, where)


def curves_from_text(text: str, where: str) -> tuple[ForceCurve, ...]:
    """Read force curves from a CSV text.

    Parameters
    ----------
    text : str
        The text; separated by comma, semicolon or tab, lines that begin with ``#`` are remarks.
    where : str
        What messages call it.

    Returns
    -------
    tuple of ForceCurve
        One for each wheel.

    Raises
    ------
    FileFormatError
        If the columns are not there.
    ReadingError
        If a value is impossible.
    """
    lines = [(n, line) for n, line in enumerate(text.splitlines(), start=1) if line.strip()]
    lines = [(n, line) for n, line in lines if not line.lstrip().startswith("#")]
    if not lines:
        raise FileFormatError("the file is empty", where=where, allowed=_ALLOWED, cure="Give a CSV file")
    if len(lines) > MOST_LINES:
        raise FileFormatError(
            f"the file has more than {MOST_LINES} lines",
            where=where,
            allowed="the record of one vehicle",
            cure="Give one vehicle at a time",
        )
    delimiter = next((sign for sign in ";\t," if sign in lines[0][1]), ",")
    columns = _columns(_cells(lines[0][1], delimiter), f"{where}, line {lines[0][0]}")
    runs: dict[str, dict[str, _Run]] = {}
    for number, line in lines[1:]:
        _take(_cells(line, delimiter), columns, delimiter, f"{where}, line {number}", number, runs)
    if not runs:
        raise FileFormatError(
            "no rows follow the headings", where=where, allowed=_ALLOWED, cure="Give the record itself"
        )
    return tuple(_curve(place, of_place, columns, where) for place, of_place in runs.items())


def _cells(line: str, delimiter: str) -> list[str]:
    return next(csv.reader(io.StringIO(line), delimiter=delimiter))


def _columns(headings: Sequence[str], where: str) -> Mapping[str, _Column]:
    columns: dict[str, _Column] = {}
    for index, heading in enumerate(headings):
        match = _HEADING.fullmatch(heading.strip())
        if match is None:
            raise FileFormatError(
                f"'{heading}' is no column of a force curve", where=where, allowed=_ALLOWED, cure="Rename it"
            )
        name = match[1].lower()
        if name in columns:
            raise FileFormatError(
                f"'{name}' stands twice in the headings",
                where=where,
                allowed="each column once",
                cure="Leave one",
            )
        columns[name] = _Column(index, _unit(name, match[2], heading, where))
    for name in ("at", "pressure", "force"):
        if name not in columns:
            raise FileFormatError(
                f"the column '{name}' is missing", where=where, allowed=_ALLOWED, cure="Add it with its unit"
            )
    return columns


def _unit(name: str, symbol: str | None, heading: str, where: str) -> str:
    kind = _KINDS.get(name)
    if kind is None:
        return ""
    if symbol is None:
        raise FileFormatError(
            f"the heading '{heading}' names no unit",
            where=where,
            allowed=_ALLOWED,
            cure="Write the unit in the heading, as pressure_bar or pressure_psi",
        )
    try:
        return unit_for(symbol, kind).symbol
    except QuantityError as error:
        other = next((k for k in _KINDS if k != name and _is_unit(symbol, _KINDS[k])), None)
        hint = f" '{symbol}' is a unit of {other}: are the columns swapped?" if other else ""
        raise FileFormatError(
            f"the heading '{heading}' gives {name} in '{symbol}'",
            where=where,
            allowed=_ALLOWED,
            cure=f"Write a unit of {name}.{hint}",
        ) from error


def _is_unit(symbol: str, kind: Kind) -> bool:
    try:
        unit_for(symbol, kind)
    except QuantityError:
        return False
    return True


def _take(
    cells: list[str],
    columns: Mapping[str, _Column],
    delimiter: str,
    where: str,
    number: int,
    runs: dict[str, dict[str, _Run]],
) -> None:
    if len(cells) <= max(column.index for column in columns.values()):
        raise FileFormatError(
            f"the row has {len(cells)} columns, the headings have more",
            where=where,
            allowed="a value in every column",
            cure="The file may be half-written: export it again",
        )
    try:
        place = str(WheelEndPlace.parse(cells[columns["at"].index]))
    except ReadingError as error:
        raise error.at(where) from error
    name = cells[columns["run"].index].strip() if "run" in columns else ""
    run = runs.setdefault(place, {}).setdefault(name, _Run([], [], [], []))
    for key, into in (("pressure", run.pressure), ("force", run.force), ("time", run.time)):
        if key in columns:
            into.append(_value(cells[columns[key].index], columns[key].unit, delimiter, f"{where}, {key}"))
    run.lines.append(number)


def _value(cell: str, unit: str, delimiter: str, where: str) -> float:
    text = cell.strip()
    if delimiter != "," and _COMMA.fullmatch(text):
        text = text.replace(",", ".")
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise ReadingError(
            f"'{cell}' is not a number",
            where=where,
            allowed="a number without a unit, the unit stands in the heading",
            cure="Leave out rows without a value",
        )
    return float(from_unit(number, unit))


def _curve(place: str, runs: Mapping[str, _Run], columns: Mapping[str, _Column], where: str) -> ForceCurve:
    here = f"{where}, {place}"
    points = sum(len(run.pressure) for run in runs.values())
    if points < FEWEST_POINTS:
        raise ReadingError(
            f"the curve has {points} points",
            where=here,
            allowed=f"{FEWEST_POINTS} points or more",
            cure="Record the pressure from zero to the highest and back",
        )
    pressure = [value for run in runs.values() for value in run.pressure]
    force = [value for run in runs.values() for value in run.force]
    _check_ranges(pressure, force, columns, here)
    for run in runs.values():
        _check_time(run, here)
    return ForceCurve(
        WheelEndPlace.parse(place),
        tuple(CurveRun(tuple(run.time), tuple(run.pressure), tuple(run.force)) for run in runs.values()),
    )


def _check_ranges(
    pressure: Sequence[float], force: Sequence[float], columns: Mapping[str, _Column], where: str
) -> None:
    highest, most = max(pressure), max(force)
    if highest > HIGHEST_PRESSURE:
        unit = columns["pressure"].unit
        shown = highest / float(from_unit(1.0, unit))
        most_shown = most / float(from_unit(1.0, columns["force"].unit))
        cures = []
        if shown * 6894.757 <= HIGHEST_PRESSURE:
            cures.append("If they are psi, name the column pressure_psi")
        if most_shown * 1e5 <= HIGHEST_PRESSURE:
            cures.append(
                f"If the columns are swapped ('force' goes to {most_shown:.1f}), name them the other way"
            )
        raise ReadingError(
            f"the pressure goes to {shown:.1f} {unit}",
            where=where,
            allowed="up to 12 bar (174 psi, 1200 kPa)",
            cure=". ".join(cures) or "Check unit and column of the pressure",
        )
    if min(pressure) < LOWEST_PRESSURE or min(force) < LOWEST_FORCE:
        raise ReadingError(
            f"pressure or force falls to {min(pressure) / 1e5:.2f} bar, {min(force) / 1e3:.2f} kN",
            where=where,
            allowed="nothing below zero but the zero error of a sensor",
            cure="Check sign, unit and column",
        )
    if most > HIGHEST_FORCE:
        raise ReadingError(
            f"the brake force goes to {most / 1e3:.0f} kN",
            where=where,
            allowed="up to 120 kN for one wheel",
            cure="Is it in N, or the sum of the axle? Name the unit in the heading",
        )


def _check_time(run: _Run, where: str) -> None:
    for line, before, after in zip(run.lines[1:], run.time[:-1], run.time[1:], strict=False):
        if after <= before:
            raise ReadingError(
                f"time runs back from {before:g} s to {after:g} s",
                where=f"{where}, line {line}",
                allowed="rising times within a run",
                cure="Number the runs in a column 'run', or sort the rows by time",
            )
