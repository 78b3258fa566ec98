"""Read a CSV text into a document and a locator of its cells.

The standard library's reader is used because it gives the line of every row and keeps each cell as typed;
a data frame reader guesses types and loses both.
"""

from __future__ import annotations

import csv
import io
import re
from typing import Any

from wearline.errors import FileFormatError
from wearline.ingest.tables import Cell, CellPlaces, TableReader

__all__ = ["looks_like_csv", "parse_csv"]

_HEADING_LINE = re.compile(r'^[ \t]*"?at"?[ \t]*([,;\t])', re.IGNORECASE | re.MULTILINE)
_FACT_LINE = re.compile(r'^[ \t]*"?[a-z_]+\.[^\n=,;\t]*"?[ \t]*[,;\t]', re.IGNORECASE | re.MULTILINE)
_TOML_LINE = re.compile(r"^[ \t]*(?:\[|[A-Za-z0-9_\"'.-]+[ \t]*=)", re.MULTILINE)
_NAMES = {",": "comma", ";": "semicolon", "\t": "tab"}
MAXIMUM_LINES = 10_000


def looks_like_csv(text: str) -> bool:
    """Tell whether a text is rather a table than TOML.

    Parameters
    ----------
    text : str
        The text.

    Returns
    -------
    bool
        True if a row of headings that begins with ``at``, or a fact with a separator, stands in it before
        anything that looks like TOML.
    """
    starts = [match.start() for pattern in (_HEADING_LINE, _FACT_LINE) if (match := pattern.search(text))]
    toml = _TOML_LINE.search(text)
    return bool(starts) and (toml is None or min(starts) < toml.start())


def parse_csv(text: str, where: str) -> tuple[dict[str, Any], CellPlaces]:
    """Parse a CSV text.

    Parameters
    ----------
    text : str
        The text; columns separated by comma, semicolon or tab.
    where : str
        What messages call the file.

    Returns
    -------
    dict
        The document, as a TOML file would have given it; every value is a text as typed.
    CellPlaces
        Finds the line and column of a path.

    Raises
    ------
    FileFormatError
        If the text has no row of headings, or a row does not fit the headings.
    """
    heading = _HEADING_LINE.search(text)
    if heading is None:
        raise FileFormatError(
            "no row of headings was found",
            where=where,
            allowed="a row that begins with 'at', followed by the names of the fields",
            cure="Start from a blank sheet; the first column names the wheel end (1L, 1R, ...)",
        )
    if text.count("\n") > MAXIMUM_LINES:
        raise FileFormatError(
            f"the file has more than {MAXIMUM_LINES} lines",
            where=where,
            allowed="one row per wheel end of one vehicle",
            cure="Many wheel ends at once go in as Parquet",
        )
    reader = TableReader(where)
    delimiter = heading[1]
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        width = 0
        for cells in rows:
            line = rows.line_num
            row = [
                Cell(cell, f"line {line}, column {n}") if cell.strip() else None
                for n, cell in enumerate(cells, start=1)
            ]
            if width and any(row) and len(cells) < width and not cells[0].lstrip().startswith("#"):
                raise FileFormatError(
                    f"the row has {len(cells)} columns, the headings have {width}",
                    where=f"{where}, line {line}",
                    allowed=f"{width} columns separated by {_NAMES[delimiter]}",
                    cure="Leave the cells of readings not taken empty; the file may be half-written",
                )
            reader.read([row])
            if reader.has_headings and not width:
                width = len(cells)
    except csv.Error as error:
        raise FileFormatError(
            f"the table cannot be read: {error}",
            where=f"{where}, line {rows.line_num}",
            allowed=f"values separated by {_NAMES[delimiter]}, texts in straight quotation marks",
            cure="Close the quotation marks; the file may be half-written",
        ) from error
    return reader.document, reader.places
