"""One vehicle and a file of many wheel ends are judged by the same rules: property test."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1] / "assessment"))
from small_vehicles import vehicle

from wearline.app.fleet_judging import judge_wheel_end_file
from wearline.assessment.judge import Judged, judge_inspection_columns
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.loading import load_catalogue
from wearline.ingest.document import inspection_from_document

TODAY = date(2026, 11, 25)
DAY = date(2026, 9, 14)


def tenths(low: float, high: float) -> st.SearchStrategy[float]:
    return st.integers(round(low * 10), round(high * 10)).map(lambda value: value / 10)


def hundredths(low: float, high: float) -> st.SearchStrategy[float]:
    return st.integers(round(low * 100), round(high * 100)).map(lambda value: value / 100)


END = st.fixed_dictionaries(
    {"rotor_scoring": tenths(0.0, 3.0)},
    optional={
        "pad_inner": st.lists(tenths(0.2, 21.0), min_size=4, max_size=4),
        "pad_outer": st.lists(tenths(0.2, 21.0), min_size=4, max_size=4),
        "total_travel": hundredths(0.0, 5.0),
        "tangential_play": hundredths(0.0, 6.0),
        "radial_play": hundredths(0.0, 4.0),
        "slide": st.one_of(st.integers(0, 600), st.sampled_from(["stuck", "free", "stiff"])),
        "rotor_thickness": hundredths(33.0, 45.5),
        "rotor_runout": hundredths(0.0, 0.5),
        "bearing_end_play": hundredths(0.0, 0.4),
        "rotor_crack_length": st.integers(0, 100),
        "wear_indicator": st.integers(0, 110),
        "brake_force": tenths(0.5, 40.0),
        "brake_drag": tenths(0.0, 6.0),
        "temperature": st.integers(20, 380),
        "guide_pin_boot": st.sampled_from(["sound", "torn", "leaks"]),
        "pad_freedom": st.sampled_from(["free", "tight", "stuck"]),
        "action": st.sampled_from(["moves and returns", "does not move"]),
    },
)
UNITS = {
    "pad_inner": "mm", "pad_outer": "mm", "total_travel": "mm", "tangential_play": "mm", "radial_play": "mm",
    "rotor_thickness": "mm", "rotor_runout": "mm", "bearing_end_play": "mm", "rotor_scoring": "mm",
    "slide": "N", "rotor_crack_length": "%", "wear_indicator": "%", "brake_force": "kN", "brake_drag": "kN",
    "temperature": "degC",
}  # fmt: skip
SUFFIX = {"%": "percent"}
WORDS = ("guide_pin_boot", "pad_freedom", "action")
FLEET = st.lists(
    st.tuples(st.sampled_from([2, 3]), st.lists(END, min_size=6, max_size=6)), min_size=1, max_size=4
)


def as_file_entry(name: str, value: Any) -> Any:
    if isinstance(value, list):
        return [f"{corner} mm" for corner in value]
    if isinstance(value, str):
        return value
    # Written as finely as the usual gauge reads: a coarser text would carry rounding of its own.
    return f"{value:.2f} {UNITS[name]}" if UNITS[name] == "mm" else f"{value} {UNITS[name]}"


def one_by_one(fleet: list[tuple[int, list[dict[str, Any]]]]) -> list[Judged]:
    catalogue = load_catalogue()
    result = []
    for axles, ends in fleet:
        roles = ("steer", "drive", "tag")[:axles]
        document = vehicle(roles)
        document["vehicle"].pop("test_mass_kg")
        places = [f"{axle}{side}" for axle in range(1, axles + 1) for side in "LR"]
        document["wheel_end"] = [
            {"at": place} | {name: as_file_entry(name, value) for name, value in end.items()}
            for place, end in zip(places, ends, strict=False)
        ]
        inspection = inspection_from_document(document, where="test", today=TODAY, catalogue=catalogue)
        result.append(judge_inspection_columns(inspection, catalogue, DecisionSettings())[0])
    return result


def all_at_once(fleet: list[tuple[int, list[dict[str, Any]]]], folder: Path) -> tuple[Judged, ...]:
    rows = []
    for number, (axles, ends) in enumerate(fleet):
        places = [(axle, side) for axle in range(1, axles + 1) for side in "LR"]
        for (axle, side), end in zip(places, ends, strict=False):
            row: dict[str, Any] = {
                "vehicle": f"V{number}", "at": f"{axle}{side}", "role": ("steer", "drive", "tag")[axle - 1]
            }  # fmt: skip
            for name, value in end.items():
                suffix = SUFFIX.get(UNITS.get(name, ""), UNITS.get(name, ""))
                if isinstance(value, list):
                    corners = zip(("lt", "lb", "tt", "tb"), value, strict=True)
                    row |= {f"{name}_{corner}_{suffix}": float(number) for corner, number in corners}
                elif isinstance(value, str):
                    row[name] = value
                else:
                    row[f"{name}_{suffix}"] = float(value)
            rows.append(row)
    names = {name for row in rows for name in row}
    types = {
        name: pl.Utf8 if name in ("vehicle", "at", "role", "slide", *WORDS) else pl.Float64 for name in names
    }
    path = folder / "wheel_ends.parquet"
    pl.DataFrame(rows, schema=types).write_parquet(path)
    return judge_wheel_end_file(path, load_catalogue(), on=DAY)[1]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(fleet=FLEET)
def test_both_paths_give_the_same(fleet: list[tuple[int, list[dict[str, Any]]]], tmp_path: Path) -> None:
    """Codes, probabilities, margins and findings agree, quantity by quantity and row by row."""
    blocks = all_at_once(fleet, tmp_path)
    singles = one_by_one(fleet)
    row = 0
    for single in singles:
        for column in single.judged:
            together = blocks[0].quantity(column.check, column.spot)
            if together is None:
                assert np.isnan(column.value).all()
                continue
            cut = slice(row, row + single.columns.n)
            np.testing.assert_allclose(column.value, together.value[cut], rtol=1e-9, atol=1e-12)
            for one, many in zip(column.verdicts, together.verdicts, strict=True):
                assert one.limit.id == many.limit.id
                np.testing.assert_array_equal(one.codes, many.codes[cut])
                np.testing.assert_allclose(one.p_within, many.p_within[cut], rtol=1e-6, atol=1e-9)
        found = {(f.id, f.spot, f.limit_id): f.mask for f in single.findings.items if f.mask.any()}
        for key, mask in found.items():
            masks = [
                f.mask[row : row + single.columns.n]
                for f in blocks[0].findings.items
                if (f.id, f.spot, f.limit_id) == key
            ]
            assert any(np.array_equal(mask, other) for other in masks), key
        row += single.columns.n
