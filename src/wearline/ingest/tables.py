"""From rows and columns to the document that a TOML file would have given.

A table of readings has two parts. First come facts, one per row, a dotted name and its value:
``vehicle.id``, ``axle.1.role``, ``inspection.taken_on``. Then comes the row of headings, which begins with
``at``, and below it one row per wheel end.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from wearline.errors import FileFormatError, ReadingError
from wearline.ingest.locate import DocumentPath, locate_by_prefix
from wearline.records.readings import CORNERS

__all__ = ["MAXIMUM_ROWS", "Cell", "CellPlaces", "CellValue", "TableReader", "is_heading"]

MAXIMUM_ROWS = 2_000
"""More rows than any inspection has: 64 axles have 128 wheel ends."""

CellValue = str | int | Decimal | bool | date
_HEADING = re.compile(r"([^\[\]]*?)\s*(?:\[([^\[\]]*)\])?")
_CORNER = re.compile(r"(.+)_(" + "|".join(CORNERS) + ")", re.IGNORECASE)
_PARTS = ("u", "gauge")
_FACT_TABLES = ("vehicle", "axle", "inspection", "peer_wear_mm_per_10000_km", "vehicle_checks")


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell that holds something.

    Parameters
    ----------
    value : str, int, Decimal, bool or date
        What it holds.
    place : str
        Where it stands, as ``"cell D7"`` or ``"line 12, column 4"``.
    fault : str
        Why the value cannot be used; empty where it can.
    """

    value: CellValue
    place: str
    fault: str = ""


class CellPlaces:
    """Places of the values of a document that came from cells."""

    __slots__ = ("_places",)

    def __init__(self) -> None:
        self._places: dict[DocumentPath, str] = {}

    def add(self, path: DocumentPath, place: str) -> None:
        """Remember where a value stands.

        Parameters
        ----------
        path : tuple
            Path in the document.
        place : str
            The place in words.
        """
        self._places.setdefault(path, place)

    def __call__(self, path: DocumentPath) -> str:
        """Return the place of a path, or of the nearest enclosing value.

        Parameters
        ----------
        path : tuple
            The path.

        Returns
        -------
        str
            The place, empty if unknown.
        """
        return locate_by_prefix(self._places, path)


def is_heading(row: Sequence[Cell | None]) -> bool:
    """Tell whether a row is the row of headings.

    Parameters
    ----------
    row : sequence of Cell or None
        The cells, None for an empty one.

    Returns
    -------
    bool
        True if its first cell says ``at``.
    """
    first = row[0] if row else None
    return first is not None and isinstance(first.value, str) and first.value.strip().casefold() == "at"


@dataclass(frozen=True, slots=True)
class _Column:
    """What one heading means."""

    name: str
    spot: str
    part: str
    unit: str
    place: str


class TableReader:
    """Collects rows into a document.

    Parameters
    ----------
    where : str
        What messages call the file.
    """

    def __init__(self, where: str) -> None:
        self.where = where
        self.document: dict[str, Any] = {}
        self.places = CellPlaces()
        self._axles: dict[str, dict[str, Any]] = {}
        self._columns: list[_Column | None] = []

    def read(self, rows: Iterable[Sequence[Cell | None]]) -> None:
        """Take the rows of one table: facts, headings, wheel ends.

        Parameters
        ----------
        rows : iterable of sequence of Cell or None
            The rows from the top; rows that begin with ``#`` and empty rows are passed over.

        Raises
        ------
        FileFormatError
            If a heading or a fact is wrong, or the rows do not fit the headings.
        """
        for row in rows:
            cells = [cell for cell in row if cell is not None]
            if not cells or str(cells[0].value).lstrip().startswith("#"):
                continue
            if self._columns:
                self._wheel_end(row)
            elif is_heading(row):
                self._headings(row)
            else:
                self.fact(row)

    @property
    def has_headings(self) -> bool:
        """Whether the row of headings has been met."""
        return bool(self._columns)

    def _fault(self, what: str, place: str, allowed: str = "", cure: str = "") -> FileFormatError:
        return FileFormatError(what, where=f"{self.where}, {place}", allowed=allowed, cure=cure)

    def _usable(self, cell: Cell) -> CellValue:
        if cell.fault:
            raise ReadingError(
                cell.fault,
                where=f"{self.where}, {cell.place}",
                allowed="a value typed into the cell, or a formula with its result",
                cure="Type the value itself, or save the workbook again from a spreadsheet program",
            )
        return cell.value

    def fact(self, row: Sequence[Cell | None]) -> None:
        """Take one row of a dotted name and its value.

        Parameters
        ----------
        row : sequence of Cell or None
            The cells; the first is the name, the second the value.

        Raises
        ------
        FileFormatError
            If the name is none, stands twice, or more than one value follows.
        """
        name_cell = row[0]
        if name_cell is None:
            place = next(cell.place for cell in row if cell is not None)
            raise self._fault(
                "a value stands without a name in the first column",
                place,
                allowed="a name such as vehicle.id and its value, then the headings that begin with 'at'",
                cure="Put the name into the first column, or begin a remark with #",
            )
        extra = [cell for cell in row[2:] if cell is not None]
        if extra:
            raise self._fault(
                f"'{name_cell.value}' is followed by more than one value",
                extra[0].place,
                allowed="one name and one value per row above the headings",
                cure="Separate several values with ';' in one cell; the row of headings begins with 'at'",
            )
        value_cell = row[1] if len(row) > 1 else None
        if value_cell is None:
            return
        text, unit = self._name_and_unit(name_cell)
        value: Any = self._usable(value_cell)
        self._put(self._fact_path(text, name_cell.place), {"value": value, "unit": unit} if unit else value)
        self.places.add(self._last_path, value_cell.place)

    def _name_and_unit(self, cell: Cell) -> tuple[str, str]:
        match = _HEADING.fullmatch(str(self._usable(cell)).strip())
        if match is None:
            raise self._fault(
                f"the name '{str(cell.value)[:60]}' has brackets that do not fit",
                cell.place,
                allowed="a name, or a name and a unit as total_travel [mm]",
                cure="Write the unit once, in square brackets behind the name",
            )
        return match[1].strip(), (match[2] or "").strip()

    def _fact_path(self, name: str, place: str) -> DocumentPath:
        parts = [part.strip() for part in name.split(".")]
        parts[0] = "_".join(parts[0].split()).casefold()
        least = 3 if parts[0] == "axle" else 2
        if len(parts) < least or not all(parts) or parts[0] not in _FACT_TABLES:
            raise self._fault(
                f"'{name[:60]}' is neither a fact nor the row of headings",
                place,
                allowed="vehicle.id, axle.1.role, inspection.taken_on and the like; headings begin with 'at'",
                cure="Begin a remark with #; start from a blank sheet",
            )
        if parts[0] == "inspection" and parts[1].casefold() == "gauges" and len(parts) > 4:
            parts = ["inspection", "gauges", ".".join(parts[2:-1]), parts[-1]]
        if parts[0] == "axle":
            axle = self._axles.get(parts[1])
            if axle is None:
                axle = self._axles[parts[1]] = {"id": parts[1]}
                self.document.setdefault("axle", []).append(axle)
            return ("axle", list(self._axles).index(parts[1]), *parts[2:])
        return tuple(parts)

    def _put(self, path: DocumentPath, value: Any) -> None:
        table: Any = self.document
        for key in path[:-1]:
            if isinstance(table, list):
                table = table[key]  # type: ignore[index]
                continue
            table = table.setdefault(key, {})
            if not isinstance(table, dict | list):
                break
        last = path[-1]
        if not isinstance(table, dict) or last in table:
            raise self._fault(
                f"'{'.'.join(str(part) for part in path)}' is given twice",
                self.places(path),
                allowed="each name once",
                cure="Delete one of the rows",
            )
        table[last] = value
        self._last_path = path

    def _headings(self, row: Sequence[Cell | None]) -> None:
        seen: dict[tuple[str, str, str], str] = {}
        for cell in row:
            if cell is None:
                self._columns.append(None)
                continue
            column = self._column(cell)
            key = (column.name, column.spot, column.part)
            if key in seen:
                raise self._fault(
                    f"the column '{str(cell.value).strip()[:60]}' stands twice",
                    f"{seen[key]} and {cell.place}",
                    allowed="each column once",
                    cure="Delete or rename one of them",
                )
            whole = next(
                (k for k in seen if k[0] == column.name and (k[1] == "") != (column.spot == "")), None
            )
            if whole is not None:
                raise self._fault(
                    f"'{column.name}' has a column of its own and columns for its corners",
                    f"{seen[whole]} and {cell.place}",
                    allowed="one column per corner",
                    cure=f"Keep {column.name}_LT and so on",
                )
            seen[key] = cell.place
            self._columns.append(column)

    def _column(self, cell: Cell) -> _Column:
        text, unit = self._name_and_unit(cell)
        name, dot, part = text.partition(".")
        name = "_".join(name.split()).casefold()
        part = part.strip().casefold()
        if dot and part not in _PARTS:
            raise self._fault(
                f"the column '{text[:60]}' is not known",
                cell.place,
                allowed="a field, a field with .u (standard uncertainty) or with .gauge",
                cure=f"Write {name} for the readings",
            )
        corner = _CORNER.fullmatch(name)
        if corner is not None:
            return _Column(corner[1], corner[2].upper(), part, unit, cell.place)
        return _Column(name, "", part, unit, cell.place)

    def _wheel_end(self, row: Sequence[Cell | None]) -> None:
        extra = [cell for cell in row[len(self._columns) :] if cell is not None]
        extra += [
            cell
            for cell, column in zip(row, self._columns, strict=False)
            if cell is not None and column is None
        ]
        if extra:
            raise self._fault(
                f"'{str(extra[0].value)[:40]}' stands in a column without a heading",
                extra[0].place,
                allowed=f"{len(self._columns)} columns, as many as the row of headings has",
                cure="A comma or semicolon inside a value needs quotation marks around it",
            )
        wheel_ends = self.document.setdefault("wheel_end", [])
        if len(wheel_ends) >= MAXIMUM_ROWS:
            raise self._fault(
                f"the table has more than {MAXIMUM_ROWS} rows",
                next(cell.place for cell in row if cell is not None),
                allowed="one row per wheel end of one vehicle",
                cure="Many wheel ends at once go in as Parquet",
            )
        wheel_end: dict[str, Any] = {}
        number = len(wheel_ends)
        for cell, column in zip(row, self._columns, strict=False):
            if cell is None or column is None:
                continue
            value: Any = self._usable(cell)
            name_path: DocumentPath = ("wheel_end", number, column.name)
            path = (*name_path, column.spot) if column.spot else name_path
            holder = wheel_end.setdefault(column.name, {}) if column.spot else wheel_end
            key = column.spot or column.name
            self.places.add((*path, column.part) if column.part else path, cell.place)
            self.places.add(name_path, cell.place)
            self.places.add(("wheel_end", number), cell.place)
            _store(holder, key, column, value)
        wheel_ends.append(_without_lone_gauges(wheel_end))


def _store(holder: dict[str, Any], key: str, column: _Column, value: Any) -> None:
    """Put a cell where the same reading would stand in a TOML file."""
    entry = holder.get(key)
    if column.part:
        part: Any = {"value": value, "unit": column.unit} if column.unit else value
        if isinstance(entry, dict) and "value" in entry:
            entry[column.part] = part
        else:
            holder[key] = ({} if entry is None else {"value": entry}) | {column.part: part}
    elif isinstance(entry, dict):
        holder[key] = entry | {"value": value} | ({"unit": column.unit} if column.unit else {})
    else:
        holder[key] = {"value": value, "unit": column.unit} if column.unit else value


def _without_lone_gauges(entries: dict[str, Any]) -> dict[str, Any]:
    """Leave out a gauge that was filled in ahead where then no reading was taken."""
    kept: dict[str, Any] = {}
    for key, entry in entries.items():
        if isinstance(entry, dict):
            if entry.keys() & set(CORNERS):
                kept[key] = _without_lone_gauges(entry)
                continue
            if entry.keys() <= set(_PARTS):
                continue
        kept[key] = entry
    return kept
