"""Parquet columns: the same SI values as the reader of single inspections, and every bad column named."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from ingest_support import CASE_FILES, read_path

from wearline.catalogue.loading import load_catalogue
from wearline.errors import FileFormatError, InputError, ReadingError
from wearline.ingest.columns import UNIT_SUFFIXES, scan_wheel_ends
from wearline.records.readings import Measured, Observed
from wearline.units import Kind, find_unit, to_unit

SUFFIX_OF_UNIT = {unit: suffix for suffix, unit in UNIT_SUFFIXES.items()}


def scan(folder, columns):
    path = folder / "fleet.parquet"
    pl.DataFrame(columns).write_parquet(path)
    return scan_wheel_ends(path, catalogue=load_catalogue())


def base(**more):
    return {"vehicle": ["V1", "V1", "V2"], "at": ["1L", "1R", "1L"]} | more


def test_the_cases_as_columns_are_the_cases(tmp_path) -> None:
    """Each reading written in the unit in which it is shown, then compared with the single reader."""
    catalogue = load_catalogue()
    inspections = [read_path(path) for path in CASE_FILES]
    rows = [(i, end) for i in inspections for end in i.wheel_ends]
    columns: dict[str, list] = {
        "vehicle": [i.vehicle.id for i, _ in rows],
        "at": [str(end.place) for _, end in rows],
        "km_since_pads": [i.distance_since_pads / 1000 for i, _ in rows],
        "peer_wear_mm_per_10000_km": [i.peer_wear[end.place.axle] * 1e10 for i, end in rows],
        "role": [i.vehicle.axle(end.place.axle).role for i, end in rows],
        "design": [i.vehicle.axle(end.place.axle).design for i, end in rows],
    }
    for row, (_, end) in enumerate(rows):
        for (name, spot), reading in end.readings.items():
            spec = catalogue.fields[name]
            if isinstance(reading, Observed):
                columns.setdefault(name, [None] * len(rows))[row] = reading.word
                continue
            if spec.kind is Kind.COUNT:
                columns.setdefault(name, [None] * len(rows))[row] = reading.value
                continue
            parts = [name, spot.lower(), SUFFIX_OF_UNIT[spec.unit]]
            column = "_".join(part for part in parts if part)
            columns.setdefault(column, [None] * len(rows))[row] = to_unit(reading.value, spec.unit)
    found = scan(tmp_path, columns)
    assert found.places == columns["at"]
    assert [found.vehicle_ids[n] for n in found.vehicle] == columns["vehicle"]
    assert found.roles == columns["role"]
    assert found.designs == columns["design"]
    np.testing.assert_allclose(found.distance, [i.distance_since_pads for i, _ in rows], rtol=1e-15)
    for row, (_, end) in enumerate(rows):
        assert found.places[found.mate[row]] == str(end.place.mate)
        for key, values in found.values.items():
            reading = end.readings.get(key)
            if isinstance(reading, Measured):
                assert values[row] == pytest.approx(reading.value, rel=1e-15, abs=1e-18)
            else:
                assert np.isnan(values[row])
        for name, codes in found.words.items():
            reading = end.readings.get((name, ""))
            word = found.vocabulary[name][codes[row]] if codes[row] >= 0 else None
            assert word == (reading.word if isinstance(reading, Observed) else None)


@pytest.mark.parametrize(
    ("column", "value", "si"),
    [
        ("total_travel_thou", 55.0, 55 * 25.4e-6),
        ("total_travel_in", 0.055, 0.055 * 0.0254),
        ("pad_inner_LT_mm", 9.8, 0.0098),
        ("pad_inner_lt_in", 0.38, 0.38 * 0.0254),
        ("brake_force_kN", 21.5, 21500.0),
        ("brake_force_2bar_kN", 5.0, 5000.0),
        ("temperature_degF", 245.0, (245 + 459.67) * 5 / 9),
        ("wear_indicator_percent", 45.0, 0.45),
        ("fastener_torque_Nm", 250.0, 250.0),
        # 1 psi = 6894.757 Pa, 1 lbf ft = 1.355818 N m (NIST SP 811, appendix B.8), to seven digits.
        ("pressure_threshold_psi", 10.0, 68947.57),
        ("fastener_torque_lbf_ft", 100.0, 135.5818),
    ],
)
def test_the_unit_is_in_the_name(tmp_path, column, value, si) -> None:
    ((_, values),) = scan(tmp_path, base(**{column: [value, None, float("nan")]})).values.items()
    assert values[0] == pytest.approx(si, rel=2e-7 if "psi" in column or "ft" in column else 1e-15)
    assert np.isnan(values[1:]).all()


def test_every_kind_of_the_catalogue_has_a_suffix() -> None:
    for spec in load_catalogue().fields.values():
        if spec.kind is not None and spec.kind is not Kind.COUNT:
            assert any(find_unit(unit, spec.kind) for unit in UNIT_SUFFIXES.values())
            assert spec.unit in SUFFIX_OF_UNIT


@pytest.mark.parametrize(
    "words",
    [
        pl.Series(["Torn", None, "leaks"]),
        pl.Series(["torn", "", "leaks"], dtype=pl.Categorical),
        pl.Series(["torn", None, "leaks"], dtype=pl.Enum(["leaks", "torn"])),
        pl.Series([2, -1, 1], dtype=pl.Int8),
        pl.Series([2, None, 1], dtype=pl.UInt32),
    ],
)
def test_words_come_as_texts_categories_or_numbers(tmp_path, words) -> None:
    found = scan(tmp_path, base(guide_pin_boot=words))
    assert found.vocabulary["guide_pin_boot"] == ("sound", "leaks", "torn", "missing")
    assert found.words["guide_pin_boot"].tolist() == [2, -1, 1]
    assert found.words["guide_pin_boot"].dtype == np.int8


def test_words_never_taken_are_none(tmp_path) -> None:
    words = pl.Series([None, None, None], dtype=pl.String)
    assert scan(tmp_path, base(hose=words)).words["hose"].tolist() == [-1, -1, -1]


def test_a_field_of_words_or_a_force_has_two_columns(tmp_path) -> None:
    found = scan(tmp_path, base(slide=["stuck", None, None], slide_N=[None, 55.0, None]))
    assert found.words["slide"].tolist() == [2, -1, -1]
    assert found.values["slide", ""][1] == 55.0


def test_mates_are_found_in_any_order_of_rows(tmp_path) -> None:
    columns = {"vehicle": [7, 7, 7, 8, 8], "at": ["2R", "T1L", "2L", "2l", "1R"]}
    found = scan(tmp_path, columns | {"hose": pl.Series([None] * 5, dtype=pl.String)})
    assert found.mate.tolist() == [2, -1, 0, -1, -1]
    assert found.vehicle.tolist() == [0, 0, 0, 1, 1]
    assert found.vehicle_ids == ["7", "8"]
    assert found.places == ["2R", "T1L", "2L", "2L", "1R"]
    assert np.isnan(found.distance).all()
    assert found.roles == [""] * 5


@pytest.mark.parametrize(
    ("columns", "message"),
    [
        ({"at": ["1L"]}, "the column 'vehicle' is missing"),
        ({"vehicle": ["V"]}, "the column 'at' is missing"),
        ({"vehicle": ["V", None], "at": ["1L", "1R"]}, "column vehicle, row 2: 'vehicle' is empty"),
        ({"vehicle": [], "at": []}, "the file has no rows"),
        ({"vehicle": ["V"], "at": ["left"]}, "column at, row 1: 'left' is not the name of a wheel end"),
        ({"vehicle": ["V", "V"], "at": ["1L", "1l"]}, "row 2: the wheel end 1L of a vehicle is given twice"),
        ({"vehicle": ["V", "W", "V"], "at": ["1L"] * 3}, "row 3: the vehicle 'V' comes a second time"),
        (
            base(total_travel_mm=[1.4, 62.0, None]),
            "row 2: total_travel_mm of wheel end 1R of vehicle V1 is 62; 0 mm",
        ),
        (base(total_travel_mm=[1.4, float("inf"), None]), "row 2: .* is inf; 0 mm to 10 mm is possible"),
        (base(total_travel_mm=["1.4", "2", "3"]), "'total_travel_mm' holds String, not numbers"),
        (base(total_travel=[1.4, 2, 3]), "'total_travel' is not known.*Did you mean 'total_travel"),
        (base(total_travel_kN=[1.4, 2, 3]), "'total_travel_kN' is not known"),
        (base(total_trevel_mm=[1.4, 2, 3]), "Did you mean 'total_travel_mm'"),
        (base(pad_inner_mm=[1.4, 2, 3]), "'pad_inner_mm' is not known"),
        (base(lamps=["active"] * 3), "'lamps' is not known"),
        (base(pad_inner_lt_mm=[1.0] * 3, pad_inner_LT_in=[0.1] * 3), "pad_inner LT has two columns"),
        (
            base(guide_pin_boot=["sound", "tron", None]),
            "row 2: 'guide_pin_boot' is 'tron'.*Did you mean 'torn'",
        ),
        (
            base(guide_pin_boot=[0, 4, -1]),
            "row 2: 'guide_pin_boot' is 4. Allowed: -1 for not taken, 0 to 3",
        ),
        (base(guide_pin_boot=[0.5, 1.5, 2.5]), "'guide_pin_boot' holds Float64, not words"),
        (base(km_since_pads=[1.0, -1.0, None]), "row 2: 'km_since_pads' is -1.0. Allowed: 0 and more"),
    ],
)
def test_a_bad_column_is_named(tmp_path, columns, message) -> None:
    with pytest.raises(InputError, match=message):
        scan(tmp_path, columns)


def test_a_file_that_is_no_parquet_is_named(tmp_path) -> None:
    path = tmp_path / "fleet.parquet"
    with pytest.raises(FileFormatError, match="there is no such file"):
        scan_wheel_ends(path, catalogue=load_catalogue())
    with pytest.raises(FileFormatError, match="it is a folder"):
        scan_wheel_ends(tmp_path, catalogue=load_catalogue())
    for content in (b"", b"PA", b"[vehicle]\nid = 1\n"):
        path.write_bytes(content)
        with pytest.raises(FileFormatError, match="the file is no whole Parquet file"):
            scan_wheel_ends(path, catalogue=load_catalogue())


def test_a_parquet_file_cut_off_or_garbled_is_refused(tmp_path) -> None:
    path = tmp_path / "fleet.parquet"
    pl.DataFrame(base(total_travel_mm=[1.0, 2.0, 3.0])).write_parquet(path)
    data = path.read_bytes()
    path.write_bytes(data[:-30])
    with pytest.raises(FileFormatError, match="no whole Parquet file"):
        scan_wheel_ends(path, catalogue=load_catalogue())
    path.write_bytes(b"PAR1" + b"\x07" * 200 + b"PAR1")
    with pytest.raises(FileFormatError, match="the Parquet file is damaged"):
        scan_wheel_ends(path, catalogue=load_catalogue())


def test_a_reading_error_says_file_column_and_row(tmp_path) -> None:
    with pytest.raises(ReadingError) as caught:
        scan(tmp_path, base(total_travel_mm=[1.4, 62.0, None]))
    assert caught.value.where == f"{tmp_path}/fleet.parquet, column total_travel_mm, row 2"
    assert "thousandths" in caught.value.cure
