"""Blank sheets: everything is on them in the order of the work, and what is filled in loads back."""

from __future__ import annotations

import csv
import io
import re
import tomllib
from dataclasses import replace
from datetime import date
from itertools import pairwise

import openpyxl
import pytest
from ingest_support import CASE_FILES, CASES, TODAY, read_path

from wearline.catalogue.loading import load_catalogue
from wearline.errors import FileFormatError, ReadingError
from wearline.ingest.read import read_vehicle
from wearline.ingest.sheet import SHEET_CAUTIONS, sheet_for
from wearline.ingest.sheet_text import sheet_csv_text, sheet_toml_text, write_sheet_csv, write_sheet_toml
from wearline.ingest.sheet_xlsx import sheet_workbook, write_sheet_xlsx
from wearline.ingest.toml_source import parse_toml
from wearline.records.inspection import Axle, Vehicle

WRITERS = {"toml": write_sheet_toml, "csv": write_sheet_csv, "xlsx": write_sheet_xlsx}
TRAIN = Vehicle(
    id="invented & train",
    axles=(
        Axle("1", "steer", "generic-22.5", "single"),
        Axle("2", "drive", "generic-22.5", "dual"),
        Axle("T1", "trailer", "generic-17.5"),
        Axle("T2", "trailer", "", "", "drum"),
    ),
    description='two designs, one drum axle, a "quoted" word',
    kind="combination",
    test_mass=38000.5,
    rated_mass=40000.0,
    duty="regional",
    retarder="fitted",
    built_on="2019-02-28",
)


def case_vehicle(case: str = "A1") -> Vehicle:
    return read_vehicle(CASES / f"{case}.toml", catalogue=load_catalogue())


def layout(vehicle: Vehicle, units: str = "metric"):
    return sheet_for(vehicle, load_catalogue(), today=TODAY, units=units)


def test_every_field_of_the_catalogue_is_on_the_sheet_once() -> None:
    sheet = layout(case_vehicle())
    fields = load_catalogue().fields
    names = [column.name for group in (*sheet.groups, *sheet.vehicle_groups) for column in group.columns]
    expected = [
        f"{name}_{spot}" if spot else name for name, spec in fields.items() for spot in spec.spots or ("",)
    ]
    assert sorted(names) == sorted(expected)


def test_nobody_gets_up_twice() -> None:
    """Run and roller first, then parked, air up, wheel lifted, wheel off, pads out, taken apart."""
    titles = [group.title for group in layout(case_vehicle()).groups]
    order = [
        "on the road or the roller tester",
        "parked",
        "air up",
        "wheel off the ground",
        "wheel off",
        "pads out",
        "calliper, hub or chamber taken apart",
    ]
    ranks = [max(n for n, start in enumerate(order) if title.startswith(start)) for title in titles]
    assert all(before <= after for before, after in pairwise(ranks))
    assert len(set(titles)) == len(titles)


def test_readings_to_be_taken_before_cleaning_come_before_the_pads() -> None:
    """As-found travel, adjuster test and rotor readings before the pads come out."""
    order = [column.field for group in layout(case_vehicle()).groups for column in group.columns]
    for before in ("first_look", "total_travel", "adjuster_test", "rotor_thickness", "bearing_end_play"):
        assert order.index(before) < order.index("pad_inner")


def test_limits_stand_with_unit_and_status() -> None:
    """The 0.080 in of travel and the 3 mm of friction are common practice, no source."""
    columns = {column.name: column for group in layout(case_vehicle()).groups for column in group.columns}
    assert "0.080 in" in columns["total_travel"].limit
    assert "(common practice" in columns["total_travel"].limit
    assert "3 mm" in columns["pad_inner_LT"].limit
    assert "maker's value decides" in columns["rotor_thickness"].limit


def test_two_designs_show_both_limits() -> None:
    columns = {column.name: column for group in layout(TRAIN).groups for column in group.columns}
    assert re.search(r"axle 1, 2: 37 mm.*; axle T1: 28 mm", columns["rotor_thickness"].limit)
    assert "axle" not in columns["total_travel"].limit


def test_inch_sheets_ask_for_inches() -> None:
    columns = {column.field: column for group in layout(TRAIN, "inch").groups for column in group.columns}
    assert columns["total_travel"].heading == "total_travel [in]"
    assert columns["temperature"].unit == "degF"
    assert columns["brake_force"].unit == "lbf"


def test_unknown_units_are_refused() -> None:
    with pytest.raises(FileFormatError, match=r"'furlong' units. Allowed: metric, inch"):
        layout(TRAIN, "furlong")


@pytest.mark.parametrize("form", WRITERS)
@pytest.mark.parametrize("units", ["metric", "inch"])
@pytest.mark.parametrize("vehicle", [case_vehicle(), case_vehicle("A4"), TRAIN], ids=lambda v: v.id)
def test_a_blank_sheet_holds_the_vehicle_and_no_reading(tmp_path, form, units, vehicle) -> None:
    path = tmp_path / f"sheet.{form}"
    WRITERS[form](vehicle, load_catalogue(), path, today=TODAY, units=units)
    assert read_vehicle(path, catalogue=load_catalogue()) == vehicle
    with pytest.raises(ReadingError, match="taken_on is missing"):
        read_path(path)


@pytest.mark.parametrize("form", WRITERS)
def test_a_sheet_never_replaces_a_file_unasked(tmp_path, form) -> None:
    path = tmp_path / f"sheet.{form}"
    path.write_text("filled in")
    with pytest.raises(FileFormatError, match="a file of that name exists"):
        WRITERS[form](TRAIN, load_catalogue(), path, today=TODAY)
    WRITERS[form](TRAIN, load_catalogue(), path, today=TODAY, overwrite=True)
    assert read_vehicle(path, catalogue=load_catalogue()) == TRAIN


@pytest.mark.parametrize("text", [sheet_toml_text, sheet_csv_text])
def test_cautions_stand_on_every_text_sheet(text) -> None:
    words = " ".join(text(layout(TRAIN)).replace("# ", "").replace('"', "").split())
    for caution in SHEET_CAUTIONS:
        assert caution in words


def typed_texts(end: dict) -> dict[str, str]:
    """Readings of a wheel end of a case, by column."""
    flat = {}
    for key, value in end.items():
        if key in ("pad_inner", "pad_outer"):
            flat |= {f"{key}_{c}": text for c, text in zip(("LT", "LB", "TT", "TB"), value, strict=True)}
        elif key == "noticed":
            flat[key] = "; ".join(value)
        else:
            flat[key] = str(value)
    return flat


def fill_facts(put, document: dict) -> None:
    put("vehicle.kind", document["vehicle"]["kind"])
    for key in ("km_since_pads", "rule_pack", "note"):
        put(f"inspection.{key}", document["inspection"][key])


def without_peers(inspection):
    """A sheet has no place for the wear of peers: that comes from the fleet, not from the wheel end."""
    return replace(inspection, peer_wear={})


@pytest.mark.parametrize("path", CASE_FILES, ids=lambda path: path.stem)
def test_a_filled_workbook_is_the_case(tmp_path, path) -> None:
    """Filled in with openpyxl, as a person would fill the blank cells."""
    document, _ = parse_toml(path.read_text(), path.name)
    vehicle = case_vehicle(path.stem)
    target = tmp_path / "sheet.xlsx"
    write_sheet_xlsx(vehicle, load_catalogue(), target, today=TODAY)
    book = openpyxl.load_workbook(target)
    facts, page = book["inspection"], book["wheel ends"]
    rows = {row[0].value: row[1] for row in facts.iter_rows()}
    rows["inspection.taken_on"].value = date(2026, 9, 14)

    def put(name, value):
        rows[name].value = value

    fill_facts(put, document)
    headings = {str(cell.value).partition(" [")[0]: cell.column for cell in page[5]}
    places = {page.cell(row, 1).value: row for row in range(6, page.max_row + 1)}
    for end in document["wheel_end"]:
        for column, text in typed_texts(end).items():
            page.cell(places[end["at"]], headings[column]).value = text
    book.save(target)
    assert read_path(target) == without_peers(read_path(path))


def test_a_filled_csv_sheet_is_the_case(tmp_path) -> None:
    document, _ = parse_toml((CASES / "B2.toml").read_text(), "B2")
    rows = list(csv.reader(io.StringIO(sheet_csv_text(layout(case_vehicle("B2"))))))
    facts = {row[0]: row for row in rows}

    def put(name, value):
        facts[name][1] = str(value)

    put("inspection.taken_on", "2026-09-14")
    fill_facts(put, document)
    headings = [heading.partition(" [")[0] for heading in facts["at"]]
    for end in document["wheel_end"]:
        for column, text in typed_texts(end).items():
            facts[end["at"]][headings.index(column)] = text
    stream = io.StringIO()
    csv.writer(stream).writerows(rows)
    (tmp_path / "sheet.csv").write_text(stream.getvalue())
    assert read_path(tmp_path / "sheet.csv") == without_peers(read_path(CASES / "B2.toml"))


def test_a_filled_toml_sheet_takes_the_units_beside_the_fields(tmp_path) -> None:
    text = sheet_toml_text(layout(case_vehicle()))
    text = text.replace('taken_on = ""', "taken_on = 2026-09-14")
    text = text.replace('total_travel = ""', 'total_travel = "1.40"', 1)
    text = text.replace('brake_force = ""', "brake_force = 21.5", 1)
    text = text.replace('pad_inner = ["", "", "", ""]', "pad_inner = [9.8, 9.7, 9.5, 9.3]", 1)
    text = text.replace('tangential_play = ""', 'tangential_play = "cannot: pins seized"', 1)
    (tmp_path / "sheet.toml").write_text(text)
    (end,) = read_path(tmp_path / "sheet.toml").wheel_ends
    assert end.measured("total_travel").value == 0.0014
    assert end.measured("brake_force").value == 21500.0
    assert end.measured("pad_inner", "TB").value == 0.0093
    assert end.readings["tangential_play", ""].reason == "pins seized"


def test_the_workbook_is_protected_frozen_and_has_lists() -> None:
    book = openpyxl.load_workbook(io.BytesIO(sheet_workbook(layout(TRAIN))))
    page = book["wheel ends"]
    assert book.sheetnames == ["wheel ends", "inspection", "how"]
    assert page.protection.sheet
    assert page.freeze_panes == "B6"
    assert [page.cell(row, 1).value for row in range(5, 14)] == ["at", *map(str, TRAIN.places)]
    headings = {cell.value: cell for cell in page[5]}
    heading = headings["guide_pin_boot"]
    blank = page.cell(6, heading.column)
    assert (heading.protection.locked, blank.protection.locked) == (True, False)
    assert blank.number_format == "@"
    assert "Limit:" in headings["total_travel [mm]"].comment.text
    lists = {str(rule.sqref).split(":")[0]: rule.formula1 for rule in page.data_validations.dataValidation}
    assert lists[blank.coordinate] == '"sound,leaks,torn,missing"'
    assert page.cell(13, heading.column).value == "-"
    assert page.cell(13, heading.column).protection.locked
    assert page.page_setup.orientation == "landscape"
    assert page.print_title_rows == "$1:$5"
    cautions = {row[0].value for row in book["how"].iter_rows()}
    assert set(SHEET_CAUTIONS) <= cautions
    facts = {row[0].value: row[1] for row in book["inspection"].iter_rows()}
    assert facts["inspection.taken_on"].number_format == "yyyy-mm-dd"
    assert facts["vehicle.built_on"].value.date() == date(2019, 2, 28)


def test_word_lists_fit_into_a_workbook() -> None:
    """A list inside a cell rule holds at most 255 characters (ECMA-376, part 1, 18.3.1.32)."""
    for spec in load_catalogue().fields.values():
        assert len(",".join(spec.words)) <= 255


def test_a_toml_sheet_is_toml_and_explains_each_check_once() -> None:
    text = sheet_toml_text(layout(case_vehicle()))
    tomllib.loads(text)
    assert text.count("# F12 ") == 1
    assert text.count("tangential_play = ") == 4
