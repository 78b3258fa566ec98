"""Many wheel ends at once from Parquet: one row per wheel end, columns named with their unit.

A number stands in ``<field>_<unit>``, a corner of a pad in ``<field>_<spot>_<unit>`` (``total_travel_mm``,
``pad_inner_lt_mm``, ``brake_force_kN``, ``temperature_degC``, ``wear_indicator_percent``); a word or a count
in ``<field>``; words as texts, as categories, or as whole numbers that index the words of the field in the
catalogue's order, -1 for none. A null or NaN means not taken.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import FieldSpec
from wearline.errors import FileFormatError, ReadingError
from wearline.ingest.sources import file_fault
from wearline.ingest.wording import match_word, nearest, show
from wearline.records.place import WheelEndPlace
from wearline.records.readings import ReadingKey
from wearline.units import Kind, find_unit, from_unit

if TYPE_CHECKING:
    import numpy as np
    import polars as pl
    from numpy.typing import NDArray

__all__ = ["UNIT_SUFFIXES", "WheelEndColumns", "scan_wheel_ends"]

UNIT_SUFFIXES: dict[str, str] = {
    "mm": "mm",
    "um": "um",
    "m": "m",
    "in": "in",
    "thou": "thou",
    "ft": "ft",
    "N": "N",
    "daN": "daN",
    "kN": "kN",
    "lbf": "lbf",
    "bar": "bar",
    "kPa": "kPa",
    "Pa": "Pa",
    "psi": "psi",
    "Nm": "N m",
    "lbf_ft": "lbf ft",
    "degC": "degC",
    "degF": "degF",
    "K": "K",
    "percent": "%",
    "kg": "kg",
    "t": "t",
    "lb": "lb",
    "m_per_s2": "m/s2",
    "ft_per_s2": "ft/s2",
}
"""From the ending of a column to the unit."""

_MAGIC = b"PAR1"
_PLACES_PER_VEHICLE = 1 << 12
_NO_WORD = -1


@dataclass(frozen=True, slots=True)
class WheelEndColumns:
    """Readings of n wheel ends as columns.

    Parameters
    ----------
    places : list of str
        Wheel end of each row, as ``"1L"``.
    vehicle : array of int, shape (n,)
        Running number of the vehicle, from 0, rising.
    vehicle_ids : list of str
        Id of each vehicle.
    mate : array of int, shape (n,)
        Row of the other end of the same axle; -1 where there is none.
    values : mapping of (field, spot) to array of float, shape (n,)
        Readings [SI]; NaN where not taken.
    words : mapping of field to array of int, shape (n,)
        Index into ``vocabulary[field]``; -1 where not observed.
    vocabulary : mapping of field to tuple of str
        Words of each field, in the catalogue's order.
    distance : array of float, shape (n,)
        Distance since the pads were new [m]; NaN where unknown.
    peer_wear : array of float, shape (n,)
        Usual wear of peers [m of friction per m of road]; NaN where not given.
    roles, designs : list of str
        Role and brake design of the axle of each row; empty texts where the file does not say.
    """

    places: list[str]
    vehicle: NDArray[np.int64]
    vehicle_ids: list[str]
    mate: NDArray[np.int64]
    values: Mapping[ReadingKey, NDArray[np.float64]]
    words: Mapping[str, NDArray[np.int8]]
    vocabulary: Mapping[str, tuple[str, ...]]
    distance: NDArray[np.float64]
    peer_wear: NDArray[np.float64]
    roles: list[str]
    designs: list[str]

    @property
    def count(self) -> int:
        """Number of wheel ends."""
        return len(self.vehicle)


@dataclass(frozen=True, slots=True)
class _Reader:
    """One file being read."""

    where: str
    frame: pl.DataFrame
    catalogue: Catalogue

    def fault(
        self, what: str, column: str, row: int | None = None, allowed: str = "", cure: str = ""
    ) -> ReadingError:
        place = f"{self.where}, column {column}" + ("" if row is None else f", row {row + 1}")
        return ReadingError(what, where=place, allowed=allowed, cure=cure)


def scan_wheel_ends(path: str | Path, *, catalogue: Catalogue) -> WheelEndColumns:
    """Read a Parquet file of wheel ends.

    Parameters
    ----------
    path : str or Path
        The file. Columns ``vehicle`` and ``at`` are needed; rows of a vehicle stand together.
    catalogue : Catalogue
        Knows the fields.

    Returns
    -------
    WheelEndColumns
        The readings in SI units.

    Raises
    ------
    FileFormatError
        If the file is missing or no whole Parquet file.
    ReadingError
        If a column is unknown or of the wrong type, a value is impossible, a word is none of its field, or a
        wheel end is given twice.
    """
    reader = _Reader(str(path), _read_frame(path), catalogue)
    vehicle, vehicle_ids = _vehicles(reader)
    places, mate = _places_and_mates(reader, vehicle)
    numbers: dict[ReadingKey, tuple[str, FieldSpec, str]] = {}
    words: dict[str, NDArray[np.int8]] = {}
    vocabulary: dict[str, tuple[str, ...]] = {}
    for name in reader.frame.columns:
        if name in _OTHER_COLUMNS:
            continue
        spec, spot, unit = _meaning(reader, name)
        if unit is None:
            words[spec.name] = _word_codes(reader, name, spec)
            vocabulary[spec.name] = tuple(spec.words)
        elif (spec.name, spot) in numbers:
            raise reader.fault(
                f"{spec.name} {spot}".strip() + " has two columns", name, allowed="one column each"
            )
        else:
            numbers[spec.name, spot] = (name, spec, unit)
    # Array operations let go of the interpreter, so that columns are converted side by side.
    with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
        converted = pool.map(lambda column: _numbers(reader, *column), numbers.values())
        values = dict(zip(numbers, converted, strict=True))
    return WheelEndColumns(
        places=places,
        vehicle=vehicle,
        vehicle_ids=vehicle_ids,
        mate=mate,
        values=values,
        words=words,
        vocabulary=vocabulary,
        distance=_optional_numbers(reader, "km_since_pads", 1000.0),
        peer_wear=_optional_numbers(reader, "peer_wear_mm_per_10000_km", 1e-10),
        roles=_texts(reader, "role"),
        designs=_texts(reader, "design"),
    )


_OTHER_COLUMNS = frozenset({"vehicle", "at", "role", "design", "km_since_pads", "peer_wear_mm_per_10000_km"})


def _read_frame(path: str | Path) -> pl.DataFrame:
    import polars as pl

    try:
        with Path(path).open("rb") as stream:
            start = stream.read(4)
            stream.seek(-4, 2)
            end = stream.read(4)
    except OSError as error:
        if isinstance(error, FileNotFoundError | PermissionError | IsADirectoryError):
            raise file_fault(str(path), error) from error
        start = end = b""
    if start != _MAGIC or end != _MAGIC:
        raise FileFormatError(
            "the file is no whole Parquet file",
            where=str(path),
            allowed="Parquet with one row per wheel end",
            cure="It may be half-written: write or copy it again",
        )
    try:
        return pl.read_parquet(path, glob=False)
    except (pl.exceptions.PolarsError, OSError, ValueError) as error:
        raise FileFormatError(
            f"the Parquet file is damaged: {str(error)[:120]}",
            where=str(path),
            allowed="Parquet with one row per wheel end",
            cure="Write or copy it again",
        ) from error


def _needed(reader: _Reader, name: str) -> pl.Series:
    if name not in reader.frame.columns:
        raise reader.fault(
            f"the column '{name}' is missing",
            name,
            allowed="columns vehicle and at, and columns of readings",
            cure="Write the vehicle's id and the wheel end (1L, 1R, ...) into each row",
        )
    series = reader.frame[name]
    if series.null_count():
        row = int(series.is_null().arg_max() or 0)
        raise reader.fault(f"'{name}' is empty", name, row, allowed=f"a value of {name} in each row")
    return series


def _vehicles(reader: _Reader) -> tuple[NDArray[np.int64], list[str]]:
    """Number the vehicles as they come; the rows of one have to stand together."""
    import numpy as np
    import polars as pl

    series = _needed(reader, "vehicle")
    if not len(series):
        raise FileFormatError("the file has no rows", where=reader.where, allowed="one row per wheel end")
    numbers = series.rle_id().cast(pl.Int64).to_numpy()
    starts = np.flatnonzero(np.diff(numbers, prepend=-1))
    ids = series.gather(starts).cast(pl.String).to_list()
    if len(set(ids)) != len(ids):
        first: set[str] = set()
        again = next(n for n, name in enumerate(ids) if name in first or first.add(name))  # type: ignore[func-returns-value]
        raise reader.fault(
            f"the vehicle {show(ids[again])} comes a second time after another vehicle",
            "vehicle",
            int(starts[again]),
            allowed="the rows of a vehicle together",
            cure="Sort the file by vehicle",
        )
    return numbers, ids


def _places_and_mates(reader: _Reader, vehicle: NDArray[np.int64]) -> tuple[list[str], NDArray[np.int64]]:
    """Read the wheel end of each row and find the row of its mate."""
    import numpy as np
    import polars as pl

    series = _needed(reader, "at")
    kinds = series.unique(maintain_order=True).to_list()
    axles: dict[str, int] = {}
    names: list[str] = []
    numbers = np.empty(len(kinds), dtype=np.int64)
    for n, text in enumerate(kinds):
        try:
            place = WheelEndPlace.parse(str(text))
        except ReadingError as error:
            row = int((series == text).arg_max() or 0)
            raise error.at(f"{reader.where}, column at, row {row + 1}") from error
        numbers[n] = 2 * axles.setdefault(place.axle, len(axles)) + (place.side == "R")
        names.append(str(place))
    index = series.replace_strict(kinds, list(range(len(kinds))), return_dtype=pl.Int64).to_numpy()
    keys = vehicle * _PLACES_PER_VEHICLE + numbers[index]
    order = np.arange(len(keys)) if bool(np.all(keys[1:] > keys[:-1])) else np.argsort(keys, kind="stable")
    ordered = keys[order]
    twice = np.flatnonzero(ordered[1:] == ordered[:-1])
    if len(twice):
        row = int(order[twice[0] + 1])
        raise reader.fault(
            f"the wheel end {names[index[row]]} of a vehicle is given twice",
            "at",
            row,
            allowed="each wheel end once per vehicle",
            cure="Give one inspection per vehicle, or tell the inspections apart in the vehicle's id",
        )
    mate = np.full(len(keys), -1, dtype=np.int64)
    pairs = np.flatnonzero((ordered[:-1] ^ 1) == ordered[1:])
    mate[order[pairs]] = order[pairs + 1]
    mate[order[pairs + 1]] = order[pairs]
    return np.array(names, dtype=object)[index].tolist(), mate


def _meaning(reader: _Reader, column: str) -> tuple[FieldSpec, str, str | None]:
    """Return field, spot and unit of a column; no unit for a column of words."""
    fields = reader.catalogue.fields
    parts = column.split("_")
    for length in range(len(parts), 0, -1):
        spec = fields.get("_".join(parts[:length]))
        if spec is None or spec.vehicle_level:
            continue
        rest = parts[length:]
        if not rest:
            if spec.kind is Kind.COUNT:
                return spec, "", "1"
            if spec.words:
                return spec, "", None
            break
        spot = rest[0].upper() if rest[0].upper() in spec.spots else ""
        unit = UNIT_SUFFIXES.get("_".join(rest[1:] if spot else rest), "")
        fits = unit and spec.kind is not None and find_unit(unit, spec.kind) is not None
        if fits and bool(spot) == bool(spec.spots):
            return spec, spot, unit
        break
    raise _unknown_column(reader, column)


def _unknown_column(reader: _Reader, column: str) -> ReadingError:
    known: list[str] = []
    for name, spec in reader.catalogue.fields.items():
        if spec.vehicle_level:
            continue
        if spec.kind is None or spec.words or spec.kind is Kind.COUNT:
            known.append(name)
        if spec.kind is not None and spec.kind is not Kind.COUNT:
            ends = [end for end, unit in UNIT_SUFFIXES.items() if find_unit(unit, spec.kind) is not None]
            known += [f"{name}_{spot.lower()}_{end}" for spot in spec.spots for end in ends]
            known += [] if spec.spots else [f"{name}_{end}" for end in ends]
    near = nearest(column, known)
    return reader.fault(
        f"the column {show(column)} is not known",
        column,
        allowed="vehicle, at, role, design, km_since_pads, peer_wear_mm_per_10000_km, and fields with a unit",
        cure=f"Did you mean '{near}'?" if near else "Write the field and its unit, as total_travel_mm",
    )


def _floats(reader: _Reader, column: str) -> NDArray[np.float64]:
    import numpy as np
    import polars as pl

    series = reader.frame[column]
    if not series.dtype.is_numeric():
        raise reader.fault(
            f"'{column}' holds {series.dtype}, not numbers",
            column,
            allowed="numbers in the unit that the name of the column says",
            cure="Convert the texts first",
        )
    found = series.cast(pl.Float64).to_numpy()
    return np.asarray(found, dtype=np.float64)


def _numbers(reader: _Reader, column: str, spec: FieldSpec, unit: str) -> NDArray[np.float64]:
    """Read a column of numbers into SI and refuse what is physically impossible."""
    import numpy as np

    values: NDArray[np.float64] = from_unit(_floats(reader, column), unit)
    if spec.possible is None:
        return values
    low, high = spec.possible
    slack = 1e-12 * max(abs(low), abs(high))
    if np.fmin.reduce(values) < low - slack or np.fmax.reduce(values) > high + slack:
        row = int(np.flatnonzero((values < low - slack) | (values > high + slack))[0])
        raise reader.fault(
            f"{column} of wheel end {reader.frame['at'][row]} of vehicle {reader.frame['vehicle'][row]} is "
            f"{reader.frame[column][row]:g}; {spec.possible_text} is possible",
            column,
            row,
            cure=spec.cure,
        )
    return values


def _optional_numbers(reader: _Reader, column: str, factor: float) -> NDArray[np.float64]:
    import numpy as np

    if column not in reader.frame.columns:
        return np.full(len(reader.frame), np.nan)
    values = _floats(reader, column) * factor
    if np.fmin.reduce(values) < 0.0 or np.isinf(values).any():
        row = int(np.flatnonzero((values < 0.0) | np.isinf(values))[0])
        raise reader.fault(
            f"'{column}' is {reader.frame[column][row]}",
            column,
            row,
            allowed="0 and more",
            cure="Check the sign",
        )
    return values


def _texts(reader: _Reader, column: str) -> list[str]:
    import polars as pl

    if column not in reader.frame.columns:
        return [""] * len(reader.frame)
    series = reader.frame[column].cast(pl.String).fill_null("")
    return _spread(series, series.unique().to_list())


def _spread(series: pl.Series, kinds: list[str]) -> list[str]:
    """Return the texts of a column that holds few different ones, each text made once."""
    import numpy as np
    import polars as pl

    codes = series.replace_strict(kinds, list(range(len(kinds))), return_dtype=pl.Int64).to_numpy()
    spread: list[str] = np.array(kinds, dtype=object)[codes].tolist()
    return spread


def _word_codes(reader: _Reader, column: str, spec: FieldSpec) -> NDArray[np.int8]:
    """Read a column of words into indices of the field's words."""
    import numpy as np
    import polars as pl

    series = reader.frame[column]
    words = tuple(spec.words)
    if series.dtype.is_integer():
        codes = series.cast(pl.Int64).fill_null(_NO_WORD).to_numpy()
        wrong = (codes < _NO_WORD) | (codes >= len(words))
        if wrong.any():
            row = int(np.flatnonzero(wrong)[0])
            raise reader.fault(
                f"'{column}' is {codes[row]}",
                column,
                row,
                allowed=f"-1 for not taken, 0 to {len(words) - 1} for " + ", ".join(words),
            )
        return codes.astype(np.int8)
    if not isinstance(series.dtype, pl.String | pl.Categorical | pl.Enum):
        raise reader.fault(
            f"'{column}' holds {series.dtype}, not words",
            column,
            allowed=", ".join(words),
            cure="Write words",
        )
    as_they_are = series.cast(pl.Enum(words), strict=False)
    if as_they_are.null_count() == series.null_count():
        return as_they_are.to_physical().cast(pl.Int8).fill_null(_NO_WORD).to_numpy()
    found: dict[str, int] = {}
    for text in series.unique().drop_nulls().cast(pl.String).to_list():
        word = match_word(text, words) if text.strip() else ""
        if word is None:
            row = int((series.cast(pl.String) == text).arg_max() or 0)
            near = nearest(text, words)
            raise reader.fault(
                f"'{column}' is {show(text)}",
                column,
                row,
                allowed=", ".join(words),
                cure=f"Did you mean '{near}'?" if near else "",
            )
        found[text] = words.index(word) if word else _NO_WORD
    if not found:
        return np.full(len(series), _NO_WORD, dtype=np.int8)
    mapped = series.replace_strict(list(found), list(found.values()), default=_NO_WORD, return_dtype=pl.Int8)
    return np.asarray(mapped.fill_null(_NO_WORD).to_numpy(), dtype=np.int8)
