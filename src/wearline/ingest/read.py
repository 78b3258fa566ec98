"""Read an inspection, or only its vehicle, from a file or from standard input."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from wearline.catalogue.loading import Catalogue
from wearline.ingest.document import inspection_from_document, vehicle_from_document
from wearline.ingest.locate import Locator
from wearline.ingest.sources import FileForm, Source, decode_text, load_source, recognise
from wearline.records.inspection import Inspection, Vehicle
from wearline.records.notices import Notice

__all__ = ["read_document", "read_inspection", "read_vehicle"]


def read_document(path: str | Path) -> tuple[Mapping[str, Any], Locator, str]:
    """Read a TOML, CSV or XLSX file into a document, told apart by content and ending.

    Parameters
    ----------
    path : str or Path
        The file, or ``"-"`` for standard input.

    Returns
    -------
    mapping
        The document.
    callable
        From a path in the document to its line or cell.
    str
        What messages call the file.

    Raises
    ------
    FileFormatError
        If the file cannot be read as one of these.
    """
    source = load_source(path)
    document, lines = _parse(source)
    return document, lines, source.name


def _end_notices(source: Source) -> tuple[Notice, ...]:
    """A text that stops behind a letter or digit may have lost the rest of a number; nothing else shows."""
    last = source.data[-1:]
    if recognise(source) is FileForm.XLSX or not (last.isalnum() or last in b".,"):
        return ()
    return (
        Notice(
            "no-line-end",
            "the last line of the file has no line end, so its last value may be cut off",
            source.name,
            "Look at the last value; end the last line",
        ),
    )


def _parse(source: Source) -> tuple[Mapping[str, Any], Locator]:
    if recognise(source) is FileForm.XLSX:
        from wearline.ingest.xlsx_source import parse_xlsx

        return parse_xlsx(source.data, source.name)
    text = decode_text(source)
    if source.suffix != ".toml":
        from wearline.ingest.csv_source import looks_like_csv, parse_csv

        if source.suffix in {".csv", ".tsv"} or looks_like_csv(text):
            return parse_csv(text, source.name)
    from wearline.ingest.toml_source import parse_toml

    return parse_toml(text, source.name)


def read_inspection(path: str | Path, *, today: date, catalogue: Catalogue) -> Inspection:
    """Read one inspection.

    Parameters
    ----------
    path : str or Path
        A TOML, CSV or XLSX file, or ``"-"`` for standard input (TOML or CSV).
    today : date
        No reading can be younger.
    catalogue : Catalogue
        Knows fields, designs and rule packs.

    Returns
    -------
    Inspection
        The facts, with notices of what was odd in the file.

    Raises
    ------
    FileFormatError, ReadingError, QuantityError
        If the file cannot be read, or anything in it is missing, unknown, impossible or contradictory.
    """
    source = load_source(path)
    document, lines = _parse(source)
    inspection = inspection_from_document(
        document, where=source.name, today=today, catalogue=catalogue, lines=lines
    )
    notices = _end_notices(source)
    return replace(inspection, notices=notices + inspection.notices) if notices else inspection


def read_vehicle(path: str | Path, *, catalogue: Catalogue) -> Vehicle:
    """Read the vehicle of a file that holds only ``[vehicle]`` and ``[[axle]]``, or a whole inspection.

    Parameters
    ----------
    path : str or Path
        The file, or ``"-"`` for standard input.
    catalogue : Catalogue
        Knows the designs.

    Returns
    -------
    Vehicle
        The vehicle.

    Raises
    ------
    FileFormatError, ReadingError, QuantityError
        If the file cannot be read, or a fact is missing, unknown or impossible.
    """
    document, lines, where = read_document(path)
    return vehicle_from_document(document, where=where, catalogue=catalogue, lines=lines)
