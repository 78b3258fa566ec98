"""Thickness readings of a large fleet from one sorted Parquet file, vehicle by vehicle and in portions.

One row per look at a pad set, its thinnest corner or the mean of its spots, sorted by ``vehicle``,
``wheel_end``, ``pad_set``, ``run_km``. ``friction_mm`` is empty where only an interval ``low_mm`` to
``high_mm`` is known, an empty end being open. Each row repeats ``duty``, ``role`` and ``new_mm`` of its set.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from wearline.errors import FileFormatError, ReadingError
from wearline.forecasting.nested import Floats, Ints
from wearline.forecasting.padsets import Readings, Tracks
from wearline.forecasting.prior import UNKNOWN_DUTY, EffectPrior, effect_priors
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.wear_model import FleetTable
from wearline.records.inspection import AXLE_ROLES

if TYPE_CHECKING:
    import polars as pl

__all__ = ["COLUMNS", "WearHistory", "open_wear_history"]

COLUMNS = (
    "vehicle",
    "wheel_end",
    "pad_set",
    "duty",
    "role",
    "new_mm",
    "run_km",
    "friction_mm",
    "u_mm",
    "low_mm",
    "high_mm",
)
_KEYS = COLUMNS[:3]


@dataclass(frozen=True, slots=True)
class WearHistory:
    """A sorted file of readings.

    Parameters
    ----------
    path : Path
        The file.
    settings : ForecastSettings
        Uncertainties where the file has none, and the censored thickness.
    prior : EffectPrior
        Of all duties in the file.
    starts : array of int, shape (vehicles + 1,)
        First row of each vehicle, and the number of rows.
    """

    path: Path
    settings: ForecastSettings
    prior: EffectPrior
    starts: Ints

    @property
    def vehicles(self) -> int:
        """Number of vehicles."""
        return int(self.starts.size) - 1

    def portions(self, vehicles: int = 4000) -> Iterator[FleetTable]:
        """Read the whole file, some vehicles at a time.

        Parameters
        ----------
        vehicles : int, optional
            Vehicles in a portion.

        Yields
        ------
        FleetTable
            The next vehicles.
        """
        for first in range(0, self.vehicles, vehicles):
            last = min(first + vehicles, self.vehicles)
            yield self._table(self._rows(first, last))

    def some(self, most: int = 3000) -> FleetTable:
        """Read at most so many vehicles, spread evenly over the file.

        Parameters
        ----------
        most : int, optional
            Most vehicles.

        Returns
        -------
        FleetTable
            Every k-th vehicle, so that the choice does not hang on chance.
        """
        import polars as pl

        chosen = np.arange(self.vehicles)
        if self.vehicles > most:
            chosen = np.linspace(0, self.vehicles - 1, most).astype(np.int64)
        parts = []
        for first in range(0, self.vehicles, 5000):
            last = min(first + 5000, self.vehicles)
            own = chosen[(chosen >= first) & (chosen < last)]
            size = np.diff(self.starts[first : last + 1])
            keep = np.repeat(np.isin(np.arange(first, last), own), size)
            parts.append(self._rows(first, last).filter(pl.Series(keep)))
        return self._table(pl.concat(parts))

    def _rows(self, first: int, last: int) -> pl.DataFrame:
        import polars as pl

        start, end = int(self.starts[first]), int(self.starts[last])
        return pl.scan_parquet(self.path).slice(start, end - start).select(COLUMNS).collect()

    def _table(self, frame: pl.DataFrame) -> FleetTable:
        _sorted_by_keys(frame, self.path)
        step = _steps(frame)
        track = np.flatnonzero(step[2])
        count = np.diff(np.append(track, frame.height))
        rise = [np.cumsum(each)[track] - 1 for each in step]
        design = self._design(frame.select("duty", "role")[track])
        millimetre = {name: _number(frame, name) * 1e-3 for name in COLUMNS if name.endswith("_mm")}
        run = _number(frame, "run_km") * 1e3
        _possible(frame, self.path, ("run_km", ~(run >= 0.0)), "0 or more")
        _possible(frame, self.path, ("new_mm", ~(millimetre["new_mm"] > 0.0)), "more than 0")
        _possible(frame, self.path, ("u_mm", millimetre["u_mm"] <= 0.0), "more than 0, or empty")
        tracks = Tracks(
            rise[0],
            rise[1],
            rise[2],
            rise[2],
            track,
            count,
            millimetre["new_mm"][track],
            np.full(track.size, self.settings.u_new),
            design,
            np.ones(track.size, dtype=bool),
        )
        prior = self.prior
        readings = self._readings(run, millimetre)
        return FleetTable(tracks, readings, prior.names, prior.mean, prior.spread, ("vehicle", "end", "set"))

    def _readings(self, run: Floats, millimetre: dict[str, Floats]) -> Readings:
        value, u = millimetre["friction_mm"], millimetre["u_mm"]
        low, high = millimetre["low_mm"], millimetre["high_mm"]
        gauge = ~np.isnan(value)
        low = np.where(gauge, np.nan, np.where(np.isnan(low), -np.inf, low))
        high = np.where(gauge, np.nan, np.where(np.isnan(high), np.inf, high))
        # friction that thin may be gone altogether
        worn = gauge & (value <= self.settings.censored)
        value = np.where(worn, np.nan, value)
        low, high = np.where(worn, -np.inf, low), np.where(worn, self.settings.censored, high)
        return Readings(run, value, np.where(np.isnan(u), self.settings.u_reading, u), low, high)

    def _design(self, heads: pl.DataFrame) -> Floats:
        names = {name: i for i, name in enumerate(self.prior.names)}
        design = np.zeros((heads.height, len(names)))
        for column, usual in (("duty", UNKNOWN_DUTY), ("role", "")):
            words = heads[column]
            for word in words.unique():
                rows = (words.is_null() if word is None else words == word).fill_null(value=False).to_numpy()
                if (word or usual) in names:
                    design[rows, names[word or usual]] = 1.0
        return design


def open_wear_history(path: Path, settings: ForecastSettings) -> WearHistory:
    """Open a sorted file of readings.

    Parameters
    ----------
    path : Path
        Parquet file with ``COLUMNS``.
    settings : ForecastSettings
        Uncertainties where the file has none, and priors.

    Returns
    -------
    WearHistory
        Ready to be read.

    Raises
    ------
    FileFormatError
        If it is not such a file: unreadable, a column missing, vehicles not side by side, an unknown role.
    """
    import polars as pl

    scan = pl.scan_parquet(path)
    try:
        found = scan.collect_schema().names()
    except (pl.exceptions.PolarsError, OSError) as fault:
        raise FileFormatError(
            f"this is no Parquet file that can be read: {fault}", where=str(path), cure="Write it anew"
        ) from fault
    missing = [name for name in COLUMNS if name not in found]
    if missing:
        raise FileFormatError(
            f"columns are missing: {', '.join(missing)}", where=str(path), allowed=", ".join(COLUMNS)
        )
    words = scan.select(pl.col("duty", "role").unique().cast(pl.String).implode()).collect()
    duties = sorted({word or UNKNOWN_DUTY for word in words["duty"][0]})
    strange = sorted({word for word in words["role"][0] if word} - set(AXLE_ROLES))
    if strange:
        raise FileFormatError(
            f"role is {strange[0]!r}", where=str(path), allowed=f"{', '.join(AXLE_ROLES)}, or empty"
        )
    vehicle = scan.select("vehicle").collect()["vehicle"]
    starts = np.flatnonzero((vehicle.ne_missing(vehicle.shift())).to_numpy())
    if vehicle.len() and (not starts.size or starts[0] != 0):
        starts = np.r_[0, starts]
    if not vehicle.is_sorted() and vehicle.n_unique() != starts.size:
        raise FileFormatError(
            "rows of one vehicle do not stand side by side",
            where=str(path),
            cure=f"Sort the file by {', '.join(_KEYS)}, run_km",
        )
    prior = effect_priors(duties, settings)
    return WearHistory(path, settings, prior, np.append(starts, vehicle.len()).astype(np.int64))


def _number(frame: pl.DataFrame, name: str) -> Floats:
    # a null becomes NaN
    return np.asarray(frame[name].to_numpy(), dtype=np.float64)


def _possible(frame: pl.DataFrame, path: Path, wrong: tuple[str, NDArray[np.bool_]], allowed: str) -> None:
    name, rows = wrong
    if rows.any():
        row = int(np.flatnonzero(rows)[0])
        place = ", ".join(f"{key} {frame[key][row]}" for key in _KEYS)
        raise ReadingError(f"{name} is {frame[name][row]}", where=f"{path}, {place}", allowed=allowed)


def _steps(frame: pl.DataFrame) -> list[NDArray[np.bool_]]:
    """Where a new vehicle, wheel end, pad set begins; each holds those before it."""
    step = np.zeros(frame.height, dtype=bool)
    found = []
    for name in _KEYS:
        column = frame[name]
        step = step | column.ne_missing(column.shift()).to_numpy()
        step[:1] = True
        found.append(step)
    return found


def _sorted_by_keys(frame: pl.DataFrame, path: Path) -> None:
    same = np.ones(max(frame.height - 1, 0), dtype=bool)
    falls = np.zeros_like(same)
    for name in (*_KEYS, "run_km"):
        column = frame[name]
        if name != "vehicle":  # vehicles need only stand side by side
            falls |= (
                same & (column.slice(1) < column.slice(0, frame.height - 1)).fill_null(value=False).to_numpy()
            )
        same &= column.slice(1).eq_missing(column.slice(0, frame.height - 1)).to_numpy()
    if falls.any():
        row = int(np.flatnonzero(falls)[0])
        place = ", ".join(f"{name} {frame[name][row + 1]}" for name in _KEYS)
        raise FileFormatError(
            f"the rows of {place} are not sorted", where=str(path), cure=f"Sort by {', '.join(_KEYS)}, run_km"
        )
