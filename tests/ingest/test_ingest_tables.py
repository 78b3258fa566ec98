"""CSV tables: facts above, headings, one row per wheel end; the same inspection as TOML gives."""

from __future__ import annotations

import csv
import io

import pytest
from ingest_support import CASE_FILES, read_path, read_text

from wearline.errors import FileFormatError, InputError, QuantityError, ReadingError
from wearline.ingest.tables import Cell, CellPlaces, TableReader
from wearline.ingest.toml_source import parse_toml
from wearline.records.readings import CORNERS, Measured, Observed, Unmeasurable

FACTS = """\
# an invented vehicle
vehicle.id,V1
vehicle.design,generic-22.5
axle.1.role,steer
axle.2.role,drive
inspection.taken_on,2026-09-14
"""
CORNER_HEADINGS = ",".join(f"pad_inner_{corner} [mm]" for corner in CORNERS)
TABLE = FACTS + f"at,total_travel [mm],slide,{CORNER_HEADINGS},note\n"
ROWS = '1L,1.40,55 N,9.8,9.7,9.5,9.3,"knock, rough road"\n1R,,stuck,,,,,\n'


def read_csv(folder, text, name="inspection.csv"):
    return read_text(folder, text, name)


def test_a_row_per_wheel_end(tmp_path) -> None:
    left, right = read_csv(tmp_path, TABLE + ROWS).wheel_ends
    assert left.readings == {
        ("total_travel", ""): Measured(0.0014, "1.40", "mm", 1e-05),
        ("slide", ""): Measured(55.0, "55 N", "N", 1.0),
        ("pad_inner", "LT"): Measured(0.0098, "9.8", "mm", 0.0001),
        ("pad_inner", "LB"): Measured(0.0097, "9.7", "mm", 0.0001),
        ("pad_inner", "TT"): Measured(0.0095, "9.5", "mm", 0.0001),
        ("pad_inner", "TB"): Measured(0.0093, "9.3", "mm", 0.0001),
    }
    assert left.note == "knock, rough road"
    assert right.readings == {("slide", ""): Observed("stuck", "stuck")}


def csv_of(document: dict) -> str:
    """Write a case as CSV with the standard library, independent of the code under test."""
    stream = io.StringIO()
    writer = csv.writer(stream)
    for key, value in document["vehicle"].items():
        writer.writerow([f"vehicle.{key}", value])
    for axle in document["axle"]:
        writer.writerow([f"axle.{axle['id']}.role", axle["role"]])
    for key, value in document["inspection"].items():
        writer.writerow([f"inspection.{key}", value])
    for axle, rate in document["peer_wear_mm_per_10000_km"].items():
        writer.writerow([f"peer_wear_mm_per_10000_km.{axle}", rate])
    names = list(dict.fromkeys(key for end in document["wheel_end"] for key in end))
    pads = ("pad_inner", "pad_outer")
    columns = [
        part for name in names for part in ([f"{name}_{c}" for c in CORNERS] if name in pads else [name])
    ]
    writer.writerow(columns)
    for end in document["wheel_end"]:
        flat = {key: value for key, value in end.items() if key not in pads}
        flat |= {f"{pad}_{c}": text for pad in pads for c, text in zip(CORNERS, end[pad], strict=True)}
        flat["noticed"] = "; ".join(end.get("noticed", []))
        writer.writerow([flat.get(column, "") for column in columns])
    return stream.getvalue()


@pytest.mark.parametrize("path", CASE_FILES, ids=lambda path: path.stem)
def test_a_case_as_csv_is_the_case(tmp_path, path) -> None:
    document, _ = parse_toml(path.read_text(), path.name)
    assert read_csv(tmp_path, csv_of(document)) == read_path(path)


@pytest.mark.parametrize(
    ("delimiter", "name"), [(";", "x.csv"), ("\t", "x.csv"), ("\t", "x.tsv"), (";", "x")]
)
def test_semicolons_and_tabs_separate_too(tmp_path, delimiter, name) -> None:
    """Where the comma is the decimal mark, spreadsheets write semicolons."""
    table = (TABLE + '1L,1.40,55 N,9.8,9.7,9.5,9.3,""\n').replace(",", delimiter).replace("1.40", "1,40")
    table = table.replace("9.", "9,")
    reading = read_csv(tmp_path, table, name).wheel_ends[0].measured("total_travel")
    assert (reading.value, reading.raw) == (0.0014, "1,40")


def test_a_table_is_known_by_its_content(tmp_path) -> None:
    assert read_csv(tmp_path, TABLE + ROWS, "noname") == read_csv(tmp_path, TABLE + ROWS)


def test_headings_may_have_capitals_and_spaces(tmp_path) -> None:
    table = FACTS + "At,Total travel [mm],Pad_Inner_lt,PAD INNER LB,pad_inner_TT,pad_inner_tb\n"
    wheel_end = read_csv(tmp_path, table + "1L,1.4,9 mm,9 mm,9 mm,9 mm\n").wheel_ends[0]
    assert len(wheel_end.readings) == 5


def test_a_unit_in_the_cell_goes_before_that_of_the_heading(tmp_path) -> None:
    table = FACTS + "at,total_travel [mm]\n1L,55 thou\n"
    assert read_csv(tmp_path, table).wheel_ends[0].measured("total_travel").unit == "thou"


def test_uncertainty_and_gauge_have_columns_of_their_own(tmp_path) -> None:
    table = (
        FACTS
        + "inspection.gauges.dial.7.u,0.01 mm\nat,total_travel.gauge,total_travel [mm],total_travel.u [um]\n"
    )
    left, right = read_csv(tmp_path, table + "1L,dial.7,1.40,50\n1R,dial.7,1.50,\n2L,dial.7,,\n").wheel_ends
    assert left.measured("total_travel") == Measured(0.0014, "1.40", "mm", 1e-05, u=5e-05, gauge="dial.7")
    assert right.measured("total_travel").gauge == "dial.7"


def test_cells_may_refuse_and_repeat(tmp_path) -> None:
    table = FACTS + "at,rotor_runout [mm],tangential_play\n1L,0.28; 0.11; 0.24,cannot: pins seized\n"
    readings = read_csv(tmp_path, table).wheel_ends[0].readings
    assert readings["rotor_runout", ""].repeats == (0.00028, 0.00011, 0.00024)
    assert readings["tangential_play", ""] == Unmeasurable("pins seized")


def test_facts_may_carry_units_and_lists(tmp_path) -> None:
    table = FACTS + (
        "inspection.rule_pack,none; us-federal\ninspection.units.length,mm\ninspection.odometer,250 000 mi\n"
        "vehicle_checks.stop_distance [m],11.5\nvehicle.test_mass_kg,17 200\n\nat,total_travel\n1L,1.40\n"
    )
    inspection = read_csv(tmp_path, table)
    assert inspection.rule_packs == ("none", "us-federal")
    # 1 mi = 1609.344 m exactly (international yard and pound agreement, 1959).
    assert inspection.odometer == 250_000 * 1609.344
    assert inspection.vehicle_readings["stop_distance", ""] == Measured(11.5, "11.5", "m", 0.1)
    assert inspection.vehicle.test_mass == 17200.0
    assert inspection.wheel_ends[0].measured("total_travel").raw == "1.40"


@pytest.mark.parametrize(
    ("text", "error", "message"),
    [
        (FACTS, FileFormatError, "no row of headings was found"),
        ("hello\n", FileFormatError, "no row of headings was found"),
        (TABLE + "1L,1.40,55 N\n", FileFormatError, "line 8: the row has 3 columns, the headings have 8"),
        (
            TABLE + "1L,1.40,55 N,9,9,9,9,a,b\n",
            FileFormatError,
            "line 8, column 9: 'b' stands in a column without",
        ),
        (
            TABLE + "1L,1,40 mm,55 N,9,9,9,9,a\n",
            FileFormatError,
            "comma or semicolon inside a value needs quotation",
        ),
        (TABLE + '1L,1.40,"55', FileFormatError, "line 8: the table cannot be read: unexpected end of data"),
        (TABLE + ",1.40,,,,,,\n", ReadingError, "not said which wheel end"),
        (
            TABLE + "1L,62,,,,,,\n",
            ReadingError,
            "line 8, column 2, 1L total_travel: .*is 62 mm; .*Write '62 thou'",
        ),
        (TABLE + "1L,1.4,,9.8,9.7,9.5,,\n", ReadingError, "3 of 4 corners; TB is missing"),
        (TABLE + '1L,1.4,,9.8,9.7,"9,5",9.3,\n', ReadingError, "decimal comma, but '1.4' .line 8, column 2"),
        (TABLE + "1L,1.4,,,,,,\n1L,1.5,,,,,,\n", ReadingError, "given twice, first at line 8, column 1"),
        (TABLE + "3L,1.4,,,,,,\n", ReadingError, "axle 3 of the wheel end '3L' is not on the vehicle"),
        (
            TABLE.replace("slide", "total_travel"),
            FileFormatError,
            "column 2 and .*column 3: the column .*twice",
        ),
        (
            TABLE.replace("slide", "pad_inner"),
            FileFormatError,
            "a column of its own and columns for its corners",
        ),
        (TABLE.replace("slide", "slide.size"), FileFormatError, "column 'slide.size' is not known"),
        (TABLE.replace("slide", "slide [N"), FileFormatError, "brackets that do not fit"),
        (
            TABLE.replace("slide", "glide") + ROWS,
            ReadingError,
            "'glide' is not a known key.*Did you mean 'slide'",
        ),
        (TABLE.replace("[mm]", "[N]", 1) + ROWS, QuantityError, "'N' is a unit of force, not of length"),
        (
            TABLE.replace("vehicle.id,V1", "vehicle.id,V1,V2"),
            FileFormatError,
            "followed by more than one value",
        ),
        (TABLE.replace("vehicle.id", ""), FileFormatError, "a value stands without a name"),
        (
            TABLE.replace("vehicle.id", "identity"),
            FileFormatError,
            "'identity' is neither a fact nor the row of",
        ),
        (TABLE.replace("vehicle.id", "wheel_end.at"), FileFormatError, "'wheel_end.at' is neither a fact"),
        (TABLE.replace("axle.1.role", "axle.1"), FileFormatError, "'axle.1' is neither a fact"),
        (TABLE.replace("vehicle.design", "vehicle.id"), FileFormatError, "'vehicle.id' is given twice"),
        (TABLE.replace("vehicle.design", "vehicle.id.x"), FileFormatError, "'vehicle.id.x' is given twice"),
        (TABLE.replace("vehicle.id,V1\n", "") + ROWS, ReadingError, "the vehicle has no id"),
        (TABLE + "1L,1.4,,,,,,\n" * 2001, FileFormatError, "more than 2000 rows"),
        ("\n" * 20_000 + TABLE, FileFormatError, "more than 10000 lines"),
    ],
)
def test_a_bad_table_gives_one_error_with_its_cell(tmp_path, text, error, message) -> None:
    with pytest.raises(error, match=message):
        read_csv(tmp_path, text)


def test_a_table_cut_off_anywhere_is_read_or_refused(tmp_path) -> None:
    data = (TABLE + ROWS).encode()
    for length in range(len(data)):
        try:
            inspection = read_csv(tmp_path, data[:length])
        except InputError:
            continue
        assert inspection.wheel_ends


def test_a_cell_that_cannot_be_trusted_is_refused_where_it_is_used() -> None:
    reader = TableReader("book.xlsx")
    broken = Cell("=1+1", "cell B3", "the cell holds a formula without a result")
    reader.read([[Cell("# remark", "cell A1"), broken], [Cell("at", "cell A2"), Cell("note", "cell B2")]])
    with pytest.raises(ReadingError, match=r"book.xlsx, cell B3: the cell holds a formula without a result"):
        reader.read([[Cell("1L", "cell A3"), broken]])


def test_a_place_that_is_not_known_is_that_of_what_encloses_it() -> None:
    places = CellPlaces()
    places.add(("wheel_end", 0), "line 8")
    assert places(("wheel_end", 0, "note", 3)) == "line 8"
    assert places(("vehicle",)) == ""
