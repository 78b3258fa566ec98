"""Judge a file of many wheel ends at once, by the same rules as one inspection."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from wearline.assessment.columns import Columns, usual_uncertainties
from wearline.assessment.judge import Judged, judge_columns
from wearline.assessment.verdicts import DecisionSettings, LimitSet
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.release import load_release_rules
from wearline.errors import ReadingError
from wearline.ingest.columns import WheelEndColumns, scan_wheel_ends

__all__ = ["judge_wheel_end_file", "judge_wheel_ends"]

STANDARD_GRAVITY = 9.80665
"""[m/s^2] Standard acceleration of free fall (CGPM 1901)."""

_DEFAULT_DESIGN = "generic-22.5"
_LEAST, _LARGEST = 10_000, 200_000


def judge_wheel_end_file(
    path: str | Path, catalogue: Catalogue, *, on: date, settings: DecisionSettings | None = None
) -> tuple[WheelEndColumns, tuple[Judged, ...]]:
    """Judge a Parquet file with one row per wheel end.

    Parameters
    ----------
    path : str or Path
        The file.
    catalogue : Catalogue
        Fields, designs, limits.
    on : date
        Day on which limits are in force.
    settings : DecisionSettings, optional
        Decision rules.

    Returns
    -------
    WheelEndColumns, tuple of Judged
        What was read, and its verdicts, derived quantities and findings as columns, block by block.

    Raises
    ------
    InputError
        If the file cannot be read or names an unknown column or design.
    """
    read = scan_wheel_ends(path, catalogue=catalogue)
    return read, judge_wheel_ends(read, catalogue, on=on, settings=settings)


def judge_wheel_ends(
    read: WheelEndColumns, catalogue: Catalogue, *, on: date, settings: DecisionSettings | None = None
) -> tuple[Judged, ...]:
    """Judge columns of many wheel ends.

    Parameters
    ----------
    read : WheelEndColumns
        Readings [SI], rows of a vehicle together.
    catalogue : Catalogue
        Fields, designs, limits.
    on : date
        Day on which limits are in force.
    settings : DecisionSettings, optional
        Decision rules.

    Returns
    -------
    tuple of Judged
        As for one inspection, each of some thousand rows, in the order of the file; a vehicle is never cut.

    Raises
    ------
    ReadingError
        If there is no row.
    CatalogueError
        If a design is unknown.
    """
    if not read.count:
        raise ReadingError("the file has no wheel end", allowed="one row or more", cure="Check the export")
    names, which = _indexed(read.designs, read.count)
    limits = LimitSet(tuple(catalogue.limits_for(name or _DEFAULT_DESIGN, on) for name in names), which)
    designs = tuple(catalogue.design(name or _DEFAULT_DESIGN, on) for name in names)
    rules = load_release_rules()
    columns, fields = _columns(read, catalogue), catalogue.fields

    def judge_block(block: tuple[int, int]) -> Judged:
        first, last = block
        return judge_columns(
            columns.rows(first, last),
            designs,
            LimitSet(limits.by_design, which[first:last]),
            fields,
            rules,
            settings=settings or DecisionSettings(),
            next_wheels_off=rules.number("next_wheels_off"),
        )

    # Array operations let go of the interpreter, so that threads share the work.
    workers = os.cpu_count() or 1
    with ThreadPoolExecutor(max_workers=workers) as pool:
        return tuple(pool.map(judge_block, _blocks(read.vehicle, workers)))


def _blocks(vehicle: NDArray[np.int64], workers: int) -> list[tuple[int, int]]:
    """Cut rows into blocks of about the same size, between vehicles, none larger than memory likes."""
    starts = np.flatnonzero(np.r_[True, vehicle[1:] != vehicle[:-1]])
    size = min(max(-(-vehicle.size // workers), _LEAST), _LARGEST)
    wanted = np.arange(size, vehicle.size, size)
    positions = np.searchsorted(starts, wanted)
    cuts = np.unique(starts[positions[positions < starts.size]]).tolist()
    edges = [0, *(cut for cut in cuts if cut), int(vehicle.size)]
    return list(pairwise(edges))


def _indexed(texts: list[str], count: int) -> tuple[list[str], NDArray[np.int64]]:
    """Return the different texts, and which of them stands at each row."""
    names = sorted(set(texts))
    if len(names) == 1:
        return names, np.zeros(count, dtype=np.int64)
    numbers = {name: number for number, name in enumerate(names)}
    return names, np.array([numbers[text] for text in texts], dtype=np.int64)


def _where(texts: list[str], wanted: str, count: int) -> NDArray[np.bool_]:
    names, which = _indexed(texts, count)
    return np.array([name == wanted for name in names])[which]


def _columns(read: WheelEndColumns, catalogue: Catalogue) -> Columns:
    load: NDArray[np.float64] = read.values.get(("wheel_load", ""), np.full(read.count, np.nan))
    return Columns(
        places=read.places,
        vehicle=read.vehicle,
        mate=read.mate,
        steered=_where(read.roles, "steer", read.count),
        values=read.values,
        u=usual_uncertainties(read.values, catalogue.fields),
        words=read.words,
        vocabulary=read.vocabulary,
        wheel_load=load * STANDARD_GRAVITY,
        distance=read.distance,
        peer_wear=read.peer_wear,
    )
