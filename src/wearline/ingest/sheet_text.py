"""Blank sheets as TOML, for an editor or a program, and as CSV, for any spreadsheet."""

from __future__ import annotations

import csv
import io
import textwrap
from datetime import date
from pathlib import Path
from typing import Any

from wearline.catalogue.loading import Catalogue
from wearline.ingest.sheet import SHEET_CAUTIONS, Sheet, SheetColumn, SheetGroup, sheet_for
from wearline.ingest.write import write_new_file
from wearline.records.inspection import Vehicle

__all__ = ["sheet_csv_text", "sheet_toml_text", "write_sheet_csv", "write_sheet_toml"]

_WIDTH = 110


def write_sheet_toml(
    vehicle: Vehicle,
    catalogue: Catalogue,
    path: str | Path,
    *,
    today: date,
    units: str = "metric",
    overwrite: bool = False,
) -> None:
    """Write a blank sheet as a TOML file.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    catalogue : Catalogue
        Knows fields, checks and limits.
    path : str or Path
        The file.
    today : date
        Day whose limits are shown.
    units : {"metric", "inch"}
        Usual units of numbers without one.
    overwrite : bool
        Whether a file of that name may be replaced.

    Raises
    ------
    FileFormatError
        If the file exists or cannot be written.
    """
    text = sheet_toml_text(sheet_for(vehicle, catalogue, today=today, units=units))
    write_new_file(path, text.encode("utf-8"), overwrite=overwrite)


def write_sheet_csv(
    vehicle: Vehicle,
    catalogue: Catalogue,
    path: str | Path,
    *,
    today: date,
    units: str = "metric",
    overwrite: bool = False,
) -> None:
    """Write a blank sheet as a CSV file.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    catalogue : Catalogue
        Knows fields, checks and limits.
    path : str or Path
        The file.
    today : date
        Day whose limits are shown.
    units : {"metric", "inch"}
        Usual units of numbers without one.
    overwrite : bool
        Whether a file of that name may be replaced.

    Raises
    ------
    FileFormatError
        If the file exists or cannot be written.
    """
    text = sheet_csv_text(sheet_for(vehicle, catalogue, today=today, units=units))
    write_new_file(path, text.encode("utf-8-sig"), overwrite=overwrite)


def sheet_toml_text(sheet: Sheet) -> str:
    """Return a blank sheet as TOML.

    Parameters
    ----------
    sheet : Sheet
        The sheet.

    Returns
    -------
    str
        The text; every reading is an empty text, which means not taken.
    """
    lines = [f"# {sheet.title}", "#"]
    lines += _comment(
        "Fill in between the quotation marks; what stays empty counts as not taken. A number without a unit "
        f"is taken in the {sheet.units} unit named beside it; any other unit is written behind the number. "
        'What was tried and cannot be measured: "cannot: pins seized". Pads: four corners LT, LB, TT, TB '
        "(leading or trailing, top or bottom), friction only."
    )
    lines.append("#")
    for caution in SHEET_CAUTIONS:
        lines += _comment(f"! {caution}")
    lines += ["", *_toml_facts(sheet), "", "[vehicle_checks]"]
    for group in sheet.vehicle_groups:
        lines += ["", f"# --- {group.title}", *_toml_lines(group, how=True)]
    first = True
    for place, axle in sheet.rows:
        lines += ["", "[[wheel_end]]", f"at = {_toml_value(place)}"]
        for group in sheet.groups:
            columns = tuple(
                column for column in group.columns if column.everywhere or axle.brake == "air disc"
            )
            if columns:
                lines += ["", f"# --- {place}: {group.title}"]
                lines += _toml_lines(SheetGroup(group.title, columns), how=first)
        lines += ["", "noticed = []", 'note = ""']
        first = False
    return "\n".join(lines) + "\n"


def _toml_facts(sheet: Sheet) -> list[str]:
    tables: dict[str, list[str]] = {}
    for fact in sheet.facts:
        table, _, key = fact.name.rpartition(".")
        value = '""' if fact.value is None else _toml_value(fact.value)
        words = ": " + " | ".join(fact.words) if fact.words else ""
        tables.setdefault(table, []).append(f"{key} = {value}  # {fact.remark}{words}")
    lines: list[str] = []
    for table, entries in tables.items():
        kind, _, name = table.partition(".")
        if name:
            lines += ["", "[[axle]]", f"id = {_toml_value(name)}", *entries]
        else:
            lines += ["", f"[{kind}]", *entries]
    lines.append(f'units = "{sheet.units}"')
    return lines[1:]


def _toml_value(value: Any) -> str:
    import tomli_w

    return tomli_w.dumps({"x": value}).removeprefix("x = ").rstrip("\n")


def _toml_lines(group: SheetGroup, *, how: bool) -> list[str]:
    """One line per field; with how the check is done where it stands for the first time."""
    lines: list[str] = []
    said: set[str] = set()
    done: set[str] = set()
    for column in group.columns:
        if how and column.check.id not in said:
            said.add(column.check.id)
            lines += _comment(_how(column))
        if column.field in done:
            continue
        done.add(column.field)
        corners = sum(other.field == column.field for other in group.columns)
        value = "[" + ", ".join(['""'] * corners) + "]" if column.spot else '""'
        expected = " | ".join(column.words)
        if column.unit:
            expected = f"{column.unit}, or {expected}" if expected else column.unit
        lines.append(f"{column.field} = {value}" + (f"  # {expected}" if expected else ""))
    return lines


def _how(column: SheetColumn) -> str:
    check = column.check
    parts = [f"{check.id} {check.title}: {check.how}"]
    if check.gauge:
        parts.append(f"With: {check.gauge}.")
    parts.append(f"Limit: {column.limit}.")
    return " ".join(parts)


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in textwrap.wrap(text, _WIDTH - 2)]


def sheet_csv_text(sheet: Sheet) -> str:
    """Return a blank sheet as CSV.

    Parameters
    ----------
    sheet : Sheet
        The sheet.

    Returns
    -------
    str
        Remarks, facts, headings, and one row per wheel end.
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow([f"# {sheet.title}"])
    writer.writerow(["# Leave a cell empty for what was not taken; write 'cannot: ...' with the reason."])
    for caution in SHEET_CAUTIONS:
        writer.writerow([f"# {caution}"])
    for fact in sheet.facts:
        writer.writerow([fact.name, "" if fact.value is None else fact.value])
    for group in sheet.vehicle_groups:
        writer.writerow([f"# {group.title}"])
        for column in group.columns:
            writer.writerow([f"vehicle_checks.{column.heading}", ""])
    columns = [column for group in sheet.groups for column in group.columns]
    for title, cells in (
        ("# state", [group.title for group in sheet.groups for _ in group.columns]),
        ("# check", [f"{column.check.id} {column.label}" for column in columns]),
        ("# words", [" | ".join(column.words) for column in columns]),
        ("# limit", [column.limit for column in columns]),
    ):
        writer.writerow([title, *cells])
    writer.writerow(["at", *(column.heading for column in columns), "noticed", "note"])
    for place, axle in sheet.rows:
        blanks = ["" if column.everywhere or axle.brake == "air disc" else "-" for column in columns]
        writer.writerow([place, *blanks, "", ""])
    return stream.getvalue()
