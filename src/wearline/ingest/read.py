"""Read an inspection, or only its vehicle, from a file or from standard input."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from wearline.catalogue.loading import Catalogue
from wearline.ingest.document import inspection_from_document, vehicle_from_document
from wearline.ingest.locate import Locator
from wearline.ingest.sources import FileForm, Source, decode_text, load_source, recognise
from wearline.records.inspection import Inspection, Vehicle

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
    document, lines, where = read_document(path)
    return inspection_from_document(document, where=where, today=today, catalogue=catalogue, lines=lines)


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
