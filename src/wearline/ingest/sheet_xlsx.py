"""A blank sheet as an XLSX workbook: one row per wheel end, drop-downs for words, headings protected."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path
from textwrap import wrap
from typing import Any

from wearline.catalogue.loading import Catalogue
from wearline.ingest.sheet import SHEET_CAUTIONS, Sheet, SheetColumn, SheetFact, sheet_for
from wearline.ingest.write import write_new_file
from wearline.ingest.xlsx_source import FACTS_SHEET, READINGS_SHEET
from wearline.records.inspection import Vehicle

__all__ = ["sheet_workbook", "write_sheet_xlsx"]

_HOW_SHEET = "how"
_LONGEST_LIST = 255
"""Characters of a drop-down list that a workbook can hold."""

_BANDS = ("#DCE6F1", "#F2E8D5")
_HEADING = "#3B4A5A"
_LAST_ROWS = ("noticed", "note")


def write_sheet_xlsx(
    vehicle: Vehicle,
    catalogue: Catalogue,
    path: str | Path,
    *,
    today: date,
    units: str = "metric",
    overwrite: bool = False,
) -> None:
    """Write a blank sheet as an XLSX workbook.

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
        Units of the headings.
    overwrite : bool
        Whether a file of that name may be replaced.

    Raises
    ------
    FileFormatError
        If the file exists or cannot be written.
    """
    data = sheet_workbook(sheet_for(vehicle, catalogue, today=today, units=units))
    write_new_file(path, data, overwrite=overwrite)


def sheet_workbook(sheet: Sheet) -> bytes:
    """Return a blank sheet as the bytes of a workbook.

    Parameters
    ----------
    sheet : Sheet
        The sheet.

    Returns
    -------
    bytes
        An XLSX workbook of three sheets: readings, facts, and how each check is done.
    """
    import xlsxwriter

    stream = io.BytesIO()
    book = xlsxwriter.Workbook(
        stream, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    )
    try:
        book.set_properties({"title": sheet.title})
        styles = _Styles(book)
        _write_readings(book.add_worksheet(READINGS_SHEET), sheet, styles)
        _write_facts(book.add_worksheet(FACTS_SHEET), sheet, styles)
        _write_how(book.add_worksheet(_HOW_SHEET), sheet, styles)
    finally:
        book.close()
    return stream.getvalue()


class _Styles:
    """The few formats of the workbook."""

    def __init__(self, book: Any) -> None:
        wrapped = {"text_wrap": True, "valign": "top", "border": 1, "border_color": "#B0B7BF"}
        self.title = book.add_format({"bold": True, "font_size": 14})
        self.caution = book.add_format({"text_wrap": True, "valign": "top"})
        self.heading = book.add_format(
            wrapped | {"bold": True, "bg_color": _HEADING, "font_color": "#FFFFFF", "font_size": 9}
        )
        self.bands = [book.add_format(wrapped | {"bg_color": band, "font_size": 9}) for band in _BANDS]
        self.state = [
            book.add_format(wrapped | {"bg_color": band, "bold": True, "font_size": 8}) for band in _BANDS
        ]
        # As text, what is typed stays as typed: no '1/16' becomes a day, no comma becomes a point.
        self.input = book.add_format(
            {"locked": False, "border": 1, "border_color": "#B0B7BF", "num_format": "@"}
        )
        self.day = book.add_format(
            {
                "locked": False,
                "border": 1,
                "border_color": "#B0B7BF",
                "num_format": "yyyy-mm-dd",
                "align": "left",
            }
        )
        self.closed = book.add_format({"bg_color": "#D9D9D9", "align": "center", "border": 1})
        self.place = book.add_format({"bold": True, "border": 1, "bg_color": "#E8EBEE"})
        self.plain = book.add_format(wrapped)


def _protect(page: Any) -> None:
    """Keep headings from slips; there is no password, so that anybody can lift it."""
    page.protect(
        "",
        {
            "format_columns": True,
            "format_rows": True,
            "select_locked_cells": True,
            "select_unlocked_cells": True,
        },
    )


def _write_readings(page: Any, sheet: Sheet, styles: _Styles) -> None:
    """Rows 1 to 5 say what the columns are; the sheet is read from the row that begins with 'at'."""
    page.write(0, 0, "#", styles.title)
    page.write(0, 1, sheet.title, styles.title)
    for row, name in enumerate(("# state", "# check", "# limit"), start=1):
        page.write(row, 0, name, styles.plain)
    page.write(4, 0, "at", styles.heading)
    column_number = 1
    last = 5 + len(sheet.rows) - 1
    for number, group in enumerate(sheet.groups):
        band = number % len(_BANDS)
        for column in group.columns:
            page.write(1, column_number, group.title, styles.state[band])
            page.write(2, column_number, f"{column.check.id} {column.label}", styles.bands[band])
            page.write(3, column_number, column.limit, styles.bands[band])
            page.write(4, column_number, column.heading, styles.heading)
            page.write_comment(4, column_number, _note(column), {"x_scale": 2.2, "y_scale": 2.4})
            if column.words:
                page.data_validation(5, column_number, last, column_number, _word_list(column))
            column_number += 1
    for name in _LAST_ROWS:
        page.write(4, column_number, name, styles.heading)
        column_number += 1
    columns = [column for group in sheet.groups for column in group.columns]
    for row, (place, axle) in enumerate(sheet.rows, start=5):
        page.write(row, 0, place, styles.place)
        for number, column in enumerate(columns, start=1):
            if column.everywhere or axle.brake == "air disc":
                page.write_blank(row, number, None, styles.input)
            else:
                page.write(row, number, "-", styles.closed)
        for number in range(len(columns) + 1, column_number):
            page.write_blank(row, number, None, styles.input)
    _lay_out_readings(page, sheet, column_number)


def _lay_out_readings(page: Any, sheet: Sheet, columns: int) -> None:
    page.set_column(0, 0, 9)
    page.set_column(1, columns - 3, 15)
    page.set_column(columns - 2, columns - 1, 34)
    for row, height in ((0, 22), (1, 46), (2, 48), (3, 76), (4, 34)):
        page.set_row(row, height)
    for row in range(5, 5 + len(sheet.rows)):
        page.set_row(row, 24)
    page.freeze_panes(5, 1)
    page.set_landscape()
    page.set_paper(9)  # A4
    page.set_print_scale(65)
    page.repeat_rows(0, 4)
    page.repeat_columns(0, 0)
    page.set_margins(left=0.4, right=0.4, top=0.7, bottom=0.6)
    page.set_header(f"&L&B{sheet.title.replace('&', '&&')[:200]}")
    page.set_footer(f"&L{sheet.vehicle.id.replace('&', '&&')}&C&P / &N&R&D")
    page.ignore_errors({"number_stored_as_text": f"B6:XFD{5 + len(sheet.rows)}"})
    page.print_area(0, 0, 4 + len(sheet.rows), columns - 1)
    _protect(page)


def _word_list(column: SheetColumn) -> dict[str, Any]:
    """A drop-down that still lets a person say why a check cannot be done."""
    words = ", ".join(column.words)
    more = f", a number in {column.unit}" if column.unit else ""
    return {
        "validate": "list",
        "source": list(column.words),
        "error_type": "warning",
        "error_title": "Not one of the words",
        "error_message": f"{words}{more}, or 'cannot: ...' with the reason"[:_LONGEST_LIST],
    }


def _note(column: SheetColumn) -> str:
    check = column.check
    parts = [f"{check.id} {check.title}", check.how]
    if check.gauge:
        parts.append(f"With: {check.gauge}")
    if check.where:
        parts.append(f"Where: {check.where}")
    parts.append(f"Limit: {column.limit}")
    if check.mistakes:
        parts.append("Often wrong: " + "; ".join(check.mistakes))
    return "\n".join(parts)


def _write_facts(page: Any, sheet: Sheet, styles: _Styles) -> None:
    """Names and values; the third column says what to write and is not read."""
    page.write(0, 0, f"# {sheet.title}", styles.title)
    page.write(1, 0, "# name", styles.heading)
    page.write(1, 1, "value", styles.heading)
    page.write(1, 2, "what to write", styles.heading)
    row = 2
    for fact in sheet.facts:
        _write_fact(page, row, fact, styles)
        row += 1
    for group in sheet.vehicle_groups:
        page.write(row, 0, f"# {group.title}", styles.heading)
        row += 1
        for column in group.columns:
            remark = f"{column.check.id} {column.label}. Limit: {column.limit}"
            _write_fact(
                page, row, SheetFact(f"vehicle_checks.{column.heading}", None, remark, column.words), styles
            )
            row += 1
    page.ignore_errors({"number_stored_as_text": f"B3:B{row}"})
    page.set_column(0, 0, 42)
    page.set_column(1, 1, 30)
    page.set_column(2, 2, 70)
    page.freeze_panes(2, 1)
    page.set_portrait()
    page.set_paper(9)
    page.fit_to_pages(1, 0)
    page.repeat_rows(0, 1)
    _protect(page)


def _write_fact(page: Any, row: int, fact: SheetFact, styles: _Styles) -> None:
    page.write(row, 0, fact.name, styles.plain)
    page.write(row, 2, fact.remark, styles.plain)
    page.set_row(row, _height((fact.remark,), (72,)))
    if fact.is_day:
        if isinstance(fact.value, date):
            page.write_datetime(row, 1, fact.value, styles.day)
        else:
            page.write_blank(row, 1, None, styles.day)
    elif fact.value is None:
        page.write_blank(row, 1, None, styles.input)
    else:
        page.write(row, 1, fact.value, styles.input)
    if fact.words and sum(len(word) + 1 for word in fact.words) <= _LONGEST_LIST:
        page.data_validation(
            row,
            1,
            row,
            1,
            {
                "validate": "list",
                "source": list(fact.words),
                "error_type": "warning",
                "error_title": "Not one of the words",
                "error_message": ", ".join(fact.words)[:_LONGEST_LIST],
            },
        )


def _height(cells: tuple[object, ...], widths: tuple[int, ...]) -> float:
    """Height that wrapped texts need; not every spreadsheet program works it out by itself [points]."""
    lines = max(len(wrap(str(cell), width)) for cell, width in zip(cells, widths, strict=True))
    return 13.0 * max(lines, 1) + 3.0


def _write_how(page: Any, sheet: Sheet, styles: _Styles) -> None:
    """How each check is done, in the order of the sheet."""
    names = ("check", "state", "how", "with", "where", "limit", "uncertainty", "often wrong", "min")
    widths = (18, 16, 44, 16, 16, 32, 13, 30, 5)
    page.write(0, 0, sheet.title, styles.title)
    row = 1
    for caution in SHEET_CAUTIONS:
        page.merge_range(row, 0, row, len(names) - 1, caution, styles.caution)
        row += 1
    for number, (name, width) in enumerate(zip(names, widths, strict=True)):
        page.write(row, number, name, styles.heading)
        page.set_column(number, number, width)
    heading_row = row
    seen: set[str] = set()
    for group in (*sheet.vehicle_groups, *sheet.groups):
        for column in group.columns:
            check = column.check
            if check.id in seen:
                continue
            seen.add(check.id)
            row += 1
            cells = (
                f"{check.id} {check.title}",
                group.title,
                check.how,
                check.gauge,
                check.where,
                column.limit,
                check.uncertainty,
                "; ".join(check.mistakes),
                check.minutes,
            )
            for number, cell in enumerate(cells):
                page.write(row, number, cell, styles.plain)
            page.set_row(row, _height(cells, widths))
    page.freeze_panes(heading_row + 1, 1)
    page.set_landscape()
    page.set_paper(9)
    page.fit_to_pages(1, 0)
    page.repeat_rows(heading_row)
    page.protect("")
