"""Read an XLSX workbook into a document and a locator of its cells."""

from __future__ import annotations

from typing import Any

from wearline.errors import FileFormatError
from wearline.ingest.tables import CellPlaces, TableReader, is_heading
from wearline.ingest.workbook import Workbook, open_workbook

__all__ = ["FACTS_SHEET", "READINGS_SHEET", "parse_xlsx"]

READINGS_SHEET = "wheel ends"
FACTS_SHEET = "inspection"


def parse_xlsx(data: bytes, where: str) -> tuple[dict[str, Any], CellPlaces]:
    """Parse an XLSX workbook.

    Parameters
    ----------
    data : bytes
        The file.
    where : str
        What messages call it.

    Returns
    -------
    dict
        The document, as a TOML file would have given it.
    CellPlaces
        Finds the sheet and cell of a path.

    Raises
    ------
    FileFormatError
        If the workbook is damaged, has no sheet of readings, or more than one.
    """
    workbook = open_workbook(data, where)
    names = {name.strip().casefold().replace("_", " "): name for name in workbook.sheet_names}
    facts = names.get(FACTS_SHEET)
    readings = names.get(READINGS_SHEET) or _only_sheet_with_headings(workbook, facts, where)
    reader = TableReader(where)
    if facts is not None and facts != readings:
        for row in workbook.rows(facts):
            if row[0] is None or not str(row[0].value).lstrip().startswith("#"):
                reader.fact(row[:2])  # further columns explain
    reader.read(workbook.rows(readings))
    if not reader.has_headings:
        raise _no_headings(where)
    return reader.document, reader.places


def _only_sheet_with_headings(workbook: Workbook, facts: str | None, where: str) -> str:
    found = [
        name
        for name in workbook.sheet_names
        if name != facts and any(is_heading(row) for row in workbook.rows(name))
    ]
    if facts is not None and not found and any(is_heading(row) for row in workbook.rows(facts)):
        return facts
    if not found:
        raise _no_headings(where)
    if len(found) > 1:
        raise FileFormatError(
            f"the sheets {', '.join(repr(name) for name in found[:5])} all hold readings",
            where=where,
            allowed=f"one sheet of readings, called '{READINGS_SHEET}'",
            cure="Delete or rename the others; one file holds one inspection",
        )
    return found[0]


def _no_headings(where: str) -> FileFormatError:
    return FileFormatError(
        "no sheet has a row of headings",
        where=where,
        allowed="a row that begins with 'at', followed by the names of the fields",
        cure="Start from a blank sheet; column A names the wheel end (1L, 1R, ...)",
    )
