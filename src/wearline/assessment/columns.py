"""Readings as columns, one row per wheel end: the form on which every rule works.

One inspection and a file of many thousand wheel ends take the same path: both become columns here, and
the rules of this package are functions of columns. Nothing in a rule knows how many rows there are.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import FieldSpec
from wearline.records.inspection import Inspection
from wearline.records.readings import Gauge, Measured, Observed, ReadingKey, Unmeasurable
from wearline.units import Kind

__all__ = [
    "Columns",
    "Flags",
    "Numbers",
    "columns_from_inspection",
    "standard_uncertainty",
    "usual_uncertainties",
]

Numbers = NDArray[np.float64]
Flags = NDArray[np.bool_]

_NO_WORD = -1


@dataclass(frozen=True, slots=True)
class Columns:
    """Readings of n wheel ends.

    Parameters
    ----------
    places : sequence of str
        Name of each row, as ``"1L"``; length n.
    vehicle : array of int, shape (n,)
        Running number of the vehicle of each row, from 0, rising.
    mate : array of int, shape (n,)
        Row of the other end of the same axle; -1 where there is none.
    steered : array of bool, shape (n,)
        Whether the axle steers.
    values : mapping of (field, spot) to array, shape (n,)
        Readings [SI]; NaN where not taken.
    u : mapping of (field, spot) to array, shape (n,) or ()
        Standard uncertainties [SI]; without shape where one holds for all rows.
    words : mapping of field to array of int, shape (n,)
        Index into ``vocabulary[field]``; -1 where not observed.
    vocabulary : mapping of field to tuple of str
        Words of each field.
    spread : mapping of (field, spot) to array, shape (n,)
        Largest less smallest of the repeats [SI]; NaN where not repeated.
    cannot : mapping of field to array of bool, shape (n,)
        True where the check was tried and could not be taken.
    wheel_load : array, shape (n,)
        Load on each wheel [N]; NaN where unknown.
    distance : array, shape (n,)
        Distance since the pads were new [m]; NaN where unknown.
    peer_wear : array, shape (n,)
        Usual wear of peers [m/m]; NaN where not given.
    """

    places: Sequence[str]
    vehicle: NDArray[np.int64]
    mate: NDArray[np.int64]
    steered: Flags
    values: Mapping[ReadingKey, Numbers]
    u: Mapping[ReadingKey, Numbers]
    words: Mapping[str, NDArray[np.int8]]
    vocabulary: Mapping[str, tuple[str, ...]]
    wheel_load: Numbers
    distance: Numbers
    peer_wear: Numbers
    spread: Mapping[ReadingKey, Numbers] = field(default_factory=dict)
    cannot: Mapping[str, Flags] = field(default_factory=dict)

    @property
    def n(self) -> int:
        """Number of wheel ends."""
        return len(self.vehicle)

    def value(self, name: str, spot: str = "") -> Numbers:
        """Return the readings of a field, NaN where not taken.

        Parameters
        ----------
        name, spot : str
            Field and spot.

        Returns
        -------
        array of float, shape (n,), [SI]
            The readings.
        """
        found = self.values.get((name, spot))
        return np.full(self.n, np.nan) if found is None else found

    def uncertainty(self, name: str, spot: str = "") -> Numbers:
        """Return the standard uncertainties of a field.

        Parameters
        ----------
        name, spot : str
            Field and spot.

        Returns
        -------
        array of float, shape (n,) or (), [SI]
            NaN where not taken.
        """
        found = self.u.get((name, spot))
        return np.full(self.n, np.nan) if found is None else found

    def says(self, name: str, *wanted: str) -> Flags:
        """Return where a field was observed as one of some words.

        Parameters
        ----------
        name : str
            Field.
        wanted : str
            Words of the field.

        Returns
        -------
        array of bool, shape (n,)
            False where something else or nothing was observed.
        """
        codes = self.words.get(name)
        if codes is None:
            return np.zeros(self.n, dtype=bool)
        vocabulary = self.vocabulary[name]
        result = np.zeros(self.n, dtype=bool)
        for word in wanted:
            if word in vocabulary:
                result |= codes == vocabulary.index(word)
        return result

    def taken(self, name: str) -> Flags:
        """Return where a field has a reading or a word.

        Parameters
        ----------
        name : str
            Field.

        Returns
        -------
        array of bool, shape (n,)
            True where every spot of the field was taken.
        """
        spots = [key for key in self.values if key[0] == name]
        result = np.zeros(self.n, dtype=bool)
        if spots:
            result = np.logical_and.reduce([~np.isnan(self.values[key]) for key in spots])
        if name in self.words:
            result = result | (self.words[name] != _NO_WORD)
        return result

    def without(self, doubtful: Mapping[str, Flags]) -> Columns:
        """Return the columns with some readings taken out, as if they had not been taken.

        Parameters
        ----------
        doubtful : mapping of field to array of bool, shape (n,)
            Where a field's readings are left out, at all its spots.

        Returns
        -------
        Columns
            The same object where nothing is left out.
        """
        if not doubtful:
            return self
        values = {
            key: np.where(doubtful[key[0]], np.nan, column) if key[0] in doubtful else column
            for key, column in self.values.items()
        }
        return replace(self, values=values)

    def rows(self, first: int, last: int) -> Columns:
        """Return some neighbouring rows, cut between two vehicles.

        Parameters
        ----------
        first, last : int
            First row, and the row after the last.

        Returns
        -------
        Columns
            Views of these rows.
        """
        cut = slice(first, last)
        return Columns(
            places=self.places[cut],
            vehicle=self.vehicle[cut] - self.vehicle[first],
            mate=np.where(self.mate[cut] >= 0, self.mate[cut] - first, -1),
            steered=self.steered[cut],
            values={key: column[cut] for key, column in self.values.items()},
            u={key: column[cut] if column.ndim else column for key, column in self.u.items()},
            words={name: codes[cut] for name, codes in self.words.items()},
            vocabulary=self.vocabulary,
            wheel_load=self.wheel_load[cut],
            distance=self.distance[cut],
            peer_wear=self.peer_wear[cut],
            spread={key: column[cut] for key, column in self.spread.items()},
            cannot={name: mask[cut] for name, mask in self.cannot.items()},
        )

    def of_mate(self, numbers: Numbers) -> Numbers:
        """Return a column as seen from the other end of the axle.

        Parameters
        ----------
        numbers : array of float, shape (n,) or ()
            A column, or one number for all rows.

        Returns
        -------
        array of float, shape (n,)
            The mate's value; NaN where there is no mate.
        """
        return np.where(self.mate >= 0, numbers[self.mate] if numbers.ndim else numbers, np.nan)


def standard_uncertainty(
    reading: Measured, spec: FieldSpec, gauge: Gauge | None, *, gauge_resolution: float = 0.0
) -> float:
    """Return the standard uncertainty of one reading, or of the mean of its repeats.

    Parameters
    ----------
    reading : Measured
        The reading.
    spec : FieldSpec
        Its field: typical uncertainty and the share of it that repeats shrink.
    gauge : Gauge or None
        The gauge that was named; its certificate goes before the typical value.
    gauge_resolution : float
        Step of the usual gauge, already inside the typical value [SI].

    Returns
    -------
    float
        Standard uncertainty [SI].

    Notes
    -----
    What the person states goes first, then the named gauge, then the field's typical value u. Of u, the
    repeatability (two thirds, expert judgement) shrinks with the square root of the number of repeats.
    A reading written in coarser steps than the gauge has adds (d^2 - d0^2)/12, the variance of rounding
    (JCGM 100:2008, F.2.2.1); it is left out below half of u, where it changes u by less than an eighth and
    the typical values are not known so well.
    """
    if reading.u is not None:
        return reading.u
    if spec.kind is Kind.COUNT:
        return 0.0  # counted, not measured
    certified = gauge.u if gauge is not None else None
    typical = spec.standard_uncertainty(reading.value) if certified is None else certified
    variance = typical**2
    repeats = len(reading.repeats)
    if repeats > 1:
        by_repeat = (spec.u_repeat_share * typical) ** 2
        variance = variance - by_repeat + by_repeat / repeats
    coarse = max(reading.resolution**2 - gauge_resolution**2, 0.0) / 12.0
    if coarse < variance / 4.0:
        return float(variance**0.5)
    return float((variance + coarse) ** 0.5)


def usual_uncertainties(
    values: Mapping[ReadingKey, Numbers], fields: Mapping[str, FieldSpec]
) -> dict[ReadingKey, Numbers]:
    """Return the typical uncertainties of columns of single readings by the usual gauges.

    Parameters
    ----------
    values : mapping of (field, spot) to array, shape (n,)
        Readings [SI].
    fields : mapping of str to FieldSpec
        Typical uncertainties.

    Returns
    -------
    dict of (field, spot) to array, shape (n,)
        Standard uncertainties [SI], as ``standard_uncertainty`` gives them for one reading; without shape
        where all rows have the same.
    """
    result: dict[ReadingKey, Numbers] = {}
    for key, column in values.items():
        spec = fields[key[0]]
        if spec.kind is Kind.COUNT:
            result[key] = np.asarray(0.0)
        elif spec.u_relative:
            result[key] = np.hypot(spec.u, spec.u_relative * column)
        else:
            result[key] = np.asarray(spec.u)
    return result


def columns_from_inspection(inspection: Inspection, catalogue: Catalogue) -> Columns:
    """Lay one inspection out as columns, one row for every disc-braked wheel end of the vehicle.

    Parameters
    ----------
    inspection : Inspection
        The inspection; wheel ends without readings get a row all the same.
    catalogue : Catalogue
        Fields and typical uncertainties.

    Returns
    -------
    Columns
        Rows axle by axle, left before right.
    """
    axles = [axle for axle in inspection.vehicle.axles if axle.brake == "air disc"]
    rows = [(axle, side) for axle in axles for side in ("L", "R")]
    places = [axle.id + side for axle, side in rows]
    count = len(places)
    sheet = _Sheet(count, catalogue)
    for wheel_end in inspection.wheel_ends:
        name = str(wheel_end.place)
        if name in places:
            row = places.index(name)
            for key, reading in wheel_end.readings.items():
                sheet.put(row, key, reading, inspection.gauges)
    index = np.arange(count)
    peers = np.array([inspection.peer_wear.get(axle.id, np.nan) for axle, _ in rows])
    return Columns(
        places=places,
        vehicle=np.zeros(count, dtype=np.int64),
        mate=np.where(index % 2 == 0, index + 1, index - 1),
        steered=np.array([axle.role == "steer" for axle, _ in rows], dtype=bool),
        values=sheet.values,
        u=sheet.u,
        words=sheet.words,
        vocabulary=sheet.vocabulary,
        wheel_load=_wheel_loads(inspection, sheet, count),
        distance=np.array([_or_nan(inspection.run_of_pads(axle.id)) for axle, _ in rows], dtype=np.float64),
        peer_wear=peers.astype(np.float64),
        spread=sheet.spread,
        cannot=sheet.cannot,
    )


def _or_nan(value: float | None) -> float:
    return np.nan if value is None else value


def _wheel_loads(inspection: Inspection, sheet: _Sheet, count: int) -> Numbers:
    """Measured wheel loads [kg] as forces; without them the test mass shared evenly by all wheel ends."""
    standard_gravity = 9.80665
    even = np.nan
    if inspection.vehicle.test_mass is not None:
        even = inspection.vehicle.test_mass / (2 * len(inspection.vehicle.axles))
    measured = sheet.values.get(("wheel_load", ""), np.full(count, np.nan))
    return np.where(np.isnan(measured), even, measured) * standard_gravity


class _Sheet:
    """Columns in the making."""

    def __init__(self, count: int, catalogue: Catalogue) -> None:
        self.count = count
        self.catalogue = catalogue
        self.values: dict[ReadingKey, Numbers] = {}
        self.u: dict[ReadingKey, Numbers] = {}
        self.words: dict[str, NDArray[np.int8]] = {}
        self.vocabulary: dict[str, tuple[str, ...]] = {}
        self.spread: dict[ReadingKey, Numbers] = {}
        self.cannot: dict[str, Flags] = {}

    def put(self, row: int, key: ReadingKey, reading: object, gauges: Mapping[str, Gauge]) -> None:
        spec = self.catalogue.fields[key[0]]
        if isinstance(reading, Measured):
            self._column(self.values, key)[row] = reading.value
            self._column(self.u, key)[row] = standard_uncertainty(
                reading, spec, gauges.get(reading.gauge), gauge_resolution=spec.resolution
            )
            if len(reading.repeats) > 1:
                self._column(self.spread, key)[row] = max(reading.repeats) - min(reading.repeats)
        elif isinstance(reading, Observed) and spec.words:
            codes = self.words.setdefault(key[0], np.full(self.count, _NO_WORD, dtype=np.int8))
            vocabulary = self.vocabulary.setdefault(key[0], tuple(spec.words))
            codes[row] = vocabulary.index(reading.word)
        elif isinstance(reading, Unmeasurable):
            self.cannot.setdefault(key[0], np.zeros(self.count, dtype=bool))[row] = True

    def _column(self, into: dict[ReadingKey, Numbers], key: ReadingKey) -> Numbers:
        return into.setdefault(key, np.full(self.count, np.nan))
