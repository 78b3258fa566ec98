"""The cells of an XLSX workbook, each with its place, its type and whether it can be trusted.

The parts of the workbook are read with the standard library: it shows which cell is a formula without a
result, which number is shown as a percentage or a date, and where each cell stands. Data frame readers drop
all of that. Structure: ECMA-376, Office Open XML, part 1, sections 18.2-18.8 (workbook, sheets, shared
strings, styles).
"""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from xml.etree import ElementTree

from wearline.errors import FileFormatError
from wearline.ingest.number_formats import NumberFormat, date_of_serial, read_number_format, shown_number
from wearline.ingest.tables import Cell, CellValue

__all__ = ["MAXIMUM_PART_BYTES", "MAXIMUM_WORKBOOK_BYTES", "Workbook", "open_workbook"]

MAXIMUM_PARTS = 1_000
MAXIMUM_PART_BYTES = 20_000_000
MAXIMUM_WORKBOOK_BYTES = 50_000_000
"""Sizes when unpacked [byte]: a small file may unpack to a huge one."""

MAXIMUM_COLUMNS = 500
MAXIMUM_CELLS = 100_000

_REFERENCE = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_WORKBOOK_TYPE = "/officeDocument"


def _local(tag: str) -> str:
    """The name of an element without its namespace: strict and transitional workbooks differ only there."""
    return tag.rpartition("}")[2]


def _attribute(element: ElementTree.Element, name: str) -> str:
    for key, value in element.attrib.items():
        if _local(key) == name:
            return value
    return ""


class _Package:
    """The parts of the ZIP archive, bounded before anything is unpacked."""

    def __init__(self, data: bytes, where: str) -> None:
        self.where = where
        try:
            self._archive = zipfile.ZipFile(io.BytesIO(data))
            entries = self._archive.infolist()
        except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError, EOFError) as error:
            raise self.damaged("it is cut off or is no ZIP archive") from error
        self.names = {entry.filename for entry in entries}
        total = sum(entry.file_size for entry in entries)
        largest = max((entry.file_size for entry in entries), default=0)
        if len(entries) > MAXIMUM_PARTS or total > MAXIMUM_WORKBOOK_BYTES or largest > MAXIMUM_PART_BYTES:
            raise FileFormatError(
                f"the workbook unpacks to {total / 1e6:.0f} MB in {len(entries)} parts",
                where=where,
                allowed=f"at most {MAXIMUM_WORKBOOK_BYTES // 1_000_000} MB in {MAXIMUM_PARTS} parts, "
                f"{MAXIMUM_PART_BYTES // 1_000_000} MB each",
                cure="Copy the readings into a blank sheet",
            )
        if any(entry.flag_bits & 1 for entry in entries):
            raise FileFormatError(
                "the workbook is locked with a password", where=where, cure="Save it without a password"
            )

    def damaged(self, why: str) -> FileFormatError:
        return FileFormatError(
            f"the workbook is damaged: {why}",
            where=self.where,
            allowed="a complete XLSX workbook",
            cure="It may be half-written: copy it again, or save it again from the spreadsheet program",
        )

    def read(self, name: str) -> bytes:
        if name not in self.names:
            raise self.damaged(f"the part '{name}' is missing")
        try:
            data = self._archive.read(name)
        except (
            zipfile.BadZipFile,
            zlib.error,
            OSError,
            EOFError,
            NotImplementedError,
            RuntimeError,
            ValueError,
        ) as error:
            raise self.damaged(f"the part '{name}' cannot be unpacked") from error
        if b"\x00" in data[:200] or b"<!DOCTYPE" in data or b"<!ENTITY" in data:
            raise self.damaged(f"the part '{name}' is not the plain XML of a workbook")
        return data

    def parse(self, name: str) -> ElementTree.Element:
        try:
            return ElementTree.fromstring(self.read(name))
        except (ElementTree.ParseError, ValueError, LookupError, RecursionError) as error:
            raise self.damaged(f"the part '{name}' is not whole") from error

    def relations(self, part: str) -> dict[str, tuple[str, str]]:
        """Return the related parts of a part: id to (type, name)."""
        folder, name = posixpath.split(part)
        path = posixpath.join(folder, "_rels", f"{name}.rels")
        if path not in self.names:
            return {}
        found: dict[str, tuple[str, str]] = {}
        for element in self.parse(path):
            target = _attribute(element, "Target")
            full = (
                target[1:] if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))
            )
            found[_attribute(element, "Id")] = (_attribute(element, "Type"), full)
        return found


@dataclass(frozen=True, slots=True)
class _Sheet:
    name: str
    part: str


class Workbook:
    """A workbook whose sheets can be read row by row.

    Parameters
    ----------
    data : bytes
        The file.
    where : str
        What messages call it.
    """

    def __init__(self, data: bytes, where: str) -> None:
        self._package = _Package(data, where)
        self.where = where
        if "mimetype" in self._package.names and "content.xml" in self._package.names:
            raise FileFormatError(
                "the file is an OpenDocument sheet or text",
                where=where,
                allowed="an inspection file: TOML, CSV or XLSX",
                cure="Save it as XLSX or CSV",
            )
        part = next(
            (name for kind, name in self._package.relations("").values() if kind.endswith(_WORKBOOK_TYPE)), ""
        )
        if not part or part not in self._package.names:
            raise FileFormatError(
                "the file is a ZIP archive, but no workbook",
                where=where,
                allowed="an inspection file: TOML, CSV or XLSX",
                cure="Unpack it and name the inspection file in it",
            )
        root = self._package.parse(part)
        related = self._package.relations(part)
        self._strings = self._shared_strings(related)
        self._formats = self._number_formats(related)
        self._since_1904 = any(
            _local(element.tag) == "workbookPr" and _attribute(element, "date1904") in {"1", "true"}
            for element in root.iter()
        )
        self._sheets = [
            _Sheet(_attribute(element, "name"), related[_attribute(element, "id")][1])
            for element in root.iter()
            if _local(element.tag) == "sheet" and _attribute(element, "id") in related
        ]

    @property
    def sheet_names(self) -> tuple[str, ...]:
        """Names of the sheets in their order."""
        return tuple(sheet.name for sheet in self._sheets)

    def _shared_strings(self, related: dict[str, tuple[str, str]]) -> list[str]:
        part = next((name for kind, name in related.values() if kind.endswith("/sharedStrings")), "")
        if not part:
            return []
        return [_text(item) for item in self._package.parse(part) if _local(item.tag) == "si"]

    def _number_formats(self, related: dict[str, tuple[str, str]]) -> list[NumberFormat]:
        part = next((name for kind, name in related.values() if kind.endswith("/styles")), "")
        if not part:
            return []
        root = self._package.parse(part)
        codes = {
            _attribute(element, "numFmtId"): _attribute(element, "formatCode")
            for element in root.iter()
            if _local(element.tag) == "numFmt"
        }
        formats: list[NumberFormat] = []
        for group in root:
            if _local(group.tag) == "cellXfs":
                for style in group:
                    number = _attribute(style, "numFmtId") or "0"
                    formats.append(read_number_format(number, codes.get(number, "")))
        return formats

    def rows(self, sheet_name: str) -> Iterator[list[Cell | None]]:
        """Read the rows of a sheet from the top.

        Parameters
        ----------
        sheet_name : str
            One of ``sheet_names``.

        Yields
        ------
        list of Cell or None
            The cells from column A; None for an empty cell.

        Raises
        ------
        FileFormatError
            If the sheet is damaged or beyond any inspection.
        """
        sheet = next(sheet for sheet in self._sheets if sheet.name == sheet_name)
        count = 0
        for number, element in enumerate(self._row_elements(sheet), start=1):
            row = self._row(sheet, element, number)
            count += len(row)
            if count > MAXIMUM_CELLS or len(row) > MAXIMUM_COLUMNS:
                raise FileFormatError(
                    f"the sheet '{sheet.name}' is too large",
                    where=self.where,
                    allowed=f"at most {MAXIMUM_COLUMNS} columns and {MAXIMUM_CELLS} cells",
                    cure="Copy the readings into a blank sheet",
                )
            if any(row):
                yield row

    def _row_elements(self, sheet: _Sheet) -> Iterator[ElementTree.Element]:
        stream = io.BytesIO(self._package.read(sheet.part))
        try:
            for _, element in ElementTree.iterparse(stream):
                if _local(element.tag) == "row":
                    yield element
                    element.clear()
        except (ElementTree.ParseError, ValueError, LookupError, RecursionError) as error:
            raise self._package.damaged(f"the sheet '{sheet.name}' is not whole") from error

    def _row(self, sheet: _Sheet, element: ElementTree.Element, fallback: int) -> list[Cell | None]:
        row: list[Cell | None] = []
        number = _attribute(element, "r") or str(fallback)
        for cell in element:
            if _local(cell.tag) != "c":
                continue
            reference = _attribute(cell, "r") or f"{_letters(len(row))}{number}"
            match = _REFERENCE.fullmatch(reference)
            if match is None:
                raise self._package.damaged(f"the sheet '{sheet.name}' has a cell called '{reference[:20]}'")
            column = _column_index(match[1])
            value, fault = self._value(cell)
            if value is None:
                continue
            if column >= MAXIMUM_COLUMNS:
                raise FileFormatError(
                    f"cell {reference} of the sheet '{sheet.name}' stands far to the right of any field",
                    where=self.where,
                    allowed=f"at most {MAXIMUM_COLUMNS} columns",
                    cure="Delete what stands there",
                )
            row.extend([None] * (column + 1 - len(row)))
            row[column] = Cell(value, f"sheet '{sheet.name}', cell {reference}", fault)
        return row

    def _value(self, cell: ElementTree.Element) -> tuple[CellValue | None, str]:
        """Return what a cell holds and why it cannot be used, if so."""
        parts = {_local(part.tag): part for part in cell}
        kind = _attribute(cell, "t") or "n"
        if kind == "inlineStr":
            return _or_none(_text(parts["is"]) if "is" in parts else ""), ""
        stored = (parts["v"].text or "") if "v" in parts else ""
        if "f" in parts and not stored and kind != "str":
            return f"={parts['f'].text or ''}"[:40], "the cell holds a formula without a result"
        if not stored:
            return None, ""
        if kind == "s":
            return self._shared(stored)
        if kind == "str":
            return _or_none(_unescape(stored)), ""
        if kind == "b":
            return stored.strip() == "1", ""
        if kind == "e":
            return stored[:20], f"the cell holds the error {stored[:20]}"
        if kind == "d":
            return stored.partition("T")[0], ""
        return self._number(cell, stored)

    def _shared(self, stored: str) -> tuple[CellValue | None, str]:
        try:
            text = self._strings[int(stored)]
        except (ValueError, IndexError) as error:
            raise self._package.damaged("a text of a cell is missing") from error
        return _or_none(text), ""

    def _number(self, cell: ElementTree.Element, stored: str) -> tuple[CellValue, str]:
        try:
            style = int(_attribute(cell, "s") or "0")
            number = float(stored)
        except ValueError:
            return stored[:20], f"the cell holds '{stored[:20]}' as a number"
        if not abs(number) < 1e15:
            return stored[:20], f"the cell holds '{stored[:20]}', which is no reading"
        form = self._formats[style] if 0 <= style < len(self._formats) else NumberFormat()
        if form.is_date:
            day = date_of_serial(number, self._since_1904)
            if day is None:
                return stored[:20], f"the cell shows '{stored[:20]}' as a date, which it is not"
            return day, ""
        return shown_number(Decimal(f"{number:.15g}"), form), ""


def _text(element: ElementTree.Element) -> str:
    """The text of a rich or plain string, without the reading aids of some scripts."""
    pieces: list[str] = []
    for part in element:
        name = _local(part.tag)
        if name == "t":
            pieces.append(part.text or "")
        elif name == "r":
            pieces.extend(t.text or "" for t in part if _local(t.tag) == "t")
    return _unescape("".join(pieces))


def _unescape(text: str) -> str:
    return _ESCAPED.sub(lambda match: chr(int(match[1], 16)), text) if "_x" in text else text


def _or_none(text: str) -> str | None:
    return text if text.strip() else None


def _column_index(letters: str) -> int:
    index = 0
    for letter in letters:
        index = index * 26 + ord(letter) - ord("A") + 1
    return index - 1


def _letters(index: int) -> str:
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def open_workbook(data: bytes, where: str) -> Workbook:
    """Open a workbook.

    Parameters
    ----------
    data : bytes
        The file.
    where : str
        What messages call it.

    Returns
    -------
    Workbook
        Its sheets.

    Raises
    ------
    FileFormatError
        If it is damaged, locked, too large when unpacked, or no workbook.
    """
    return Workbook(data, where)
