"""Every bad document gives one clear error: where, what, what is allowed, what to do."""

from __future__ import annotations

import re

import pytest
from ingest_support import SMALL, TODAY, changed, read_text

from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError, QuantityError, ReadingError
from wearline.ingest.document import inspection_from_document, vehicle_from_document
from wearline.ingest.read import read_vehicle


@pytest.mark.parametrize(
    ("old", "new", "error", "line", "message"),
    [
        ('total_travel = "1.40 mm"', 'total_travel = "62 mm"', ReadingError, 33, "Write '62 thou'"),
        ("total_travel", "total_trave", ReadingError, 33, "Did you mean 'total_travel'"),
        ('"9.8 mm", "9.7 mm"', '"9.8 mm"', ReadingError, 31, "3 of 4 corners"),
        ('"9.8 mm"', '"30 mm"', ReadingError, 31, "new pad of generic-22.5"),
        ('"9.8 mm"', '"9.8 xx"', QuantityError, 31, "'xx' is not a known unit of length"),
        ('"9.8 mm"', '"9.8 N"', QuantityError, 31, "'N' is a unit of force, not of length"),
        ('"9.8 mm"', '"9.8"', QuantityError, 31, "'9.8' has no unit"),
        (
            'at = "1R"',
            'at = "3R"',
            ReadingError,
            53,
            "axle 3 .* is not on the vehicle. Allowed: 1L, 1R, 2L, 2R",
        ),
        ('at = "1R"', 'at = "right"', ReadingError, 53, "'right' is not the name of a wheel end"),
        ('at = "1R"', 'at = "1L"', ReadingError, 53, "wheel end 1L is given twice, first at line 29"),
        ('at = "1R"', 'at = " 1l "', ReadingError, 53, "wheel end 1L is given twice"),
        ('at = "1R"\n', "", ReadingError, 52, "not said which wheel end"),
        ("2026-09-14", "2027-09-14", ReadingError, 18, "lies in the future, today is 2026-11-25"),
        ("2026-09-14", "0206-09-14", ReadingError, 18, "lies before 1980"),
        ("2026-09-14", '"14.09.2026"', ReadingError, 18, "'14.09.2026' is not a day. Allowed: a day as 2026"),
        ("2026-09-14", '"2026-02-30"', ReadingError, 18, "is not a day"),
        ("2026-09-14", "20260914", ReadingError, 18, "'20260914' is not a day"),
        ("2026-09-14", "12:30:00", ReadingError, 18, "not a text"),
        ("taken_on = 2026-09-14\n", "", ReadingError, 17, "taken_on is missing"),
        ('rule_pack = "none"', 'rule_pack = "us-federl"', ReadingError, 19, "Did you mean 'us-federal'"),
        ('rule_pack = "none"', 'rule_pack = ["none", 3]', ReadingError, 19, "rule pack '3' is not known"),
        (
            'rule_pack = "none"',
            'odometer_km = "12 000"',
            ReadingError,
            21,
            "pads have run 143400 km, the vehicle",
        ),
        ('rule_pack = "none"', "odometer_km = 1\nodometer_mi = 1", ReadingError, 20, "are both given"),
        ('rule_pack = "none"', "odometer_km = -1", ReadingError, 19, "odometer_km is -1 km. Allowed: 0 to"),
        ('rule_pack = "none"', 'odometer = "12 000"', QuantityError, 19, "has no unit"),
        ('rule_pack = "none"', 'units = "imperial"', ReadingError, 19, "Allowed: metric, inch"),
        ('rule_pack = "none"', "units = {lenght='mm'}", ReadingError, 19, "Did you mean 'length'"),
        ('rule_pack = "none"', "units = {length='N'}", QuantityError, 19, "unit of force, not of length"),
        ('rule_pack = "none"', "gauges = {a={u='x'}}", ReadingError, 19, "uncertainty of the gauge is 'x'"),
        ('rule_pack = "none"', "gauges = {a={u='0 mm'}}", ReadingError, 19, "more than zero"),
        (
            'rule_pack = "none"',
            "gauges = {a={size=1}}",
            ReadingError,
            19,
            "'size' is not a known key of a gauge",
        ),
        ('rule_pack = "none"', "gauges = 3", ReadingError, 19, "gauges is 3, not a table"),
        ("test_mass_kg = 17200", "test_mass_kg = 17.2", ReadingError, 5, "Is it in tonnes"),
        ("test_mass_kg = 17200", "test_mass = 17200", QuantityError, 5, "'17200' has no unit"),
        ("test_mass_kg = 17200", "test_mass_kg = true", ReadingError, 5, "test_mass_kg is true"),
        ("test_mass_kg = 17200", "weight = 3", ReadingError, 5, "'weight' is not a known key of the vehicle"),
        ('kind = "motor vehicle"', 'kind = "boat"', ReadingError, 6, "Allowed: motor vehicle, truck, "),
        ('design = "generic-22.5"', 'design = "generic-22"', ReadingError, 7, "Did you mean 'generic-22.5'"),
        ('design = "generic-22.5"', "", ReadingError, 9, "brake design of axle 1 is not given"),
        ('id = "A1"', 'id = ""', ReadingError, 3, "the vehicle has no id"),
        ('role = "steer"', 'role = "stear"', ReadingError, 11, "Did you mean 'steer'"),
        ('role = "steer"', "", ReadingError, 9, "axle 1 has no role"),
        ('id = "2"', 'id = "1"', ReadingError, 14, "axle '1' stands twice"),
        ('id = "2"', 'id = "0"', ReadingError, 14, "the axle id is '0'"),
        ('"1" = 0.7', '"7" = 0.7', ReadingError, 25, "axle '7' is not on the vehicle"),
        ('"1" = 0.7', '"1" = -0.7', ReadingError, 25, "wear of axle 1 is -0.7"),
        ('"1" = 0.7', '"1" = [1]', ReadingError, 25, "is a list"),
        (
            'note = "odo',
            'built_on = "odo',
            ReadingError,
            20,
            "'built_on' is not a known key of the inspection",
        ),
        ('temperature = "128 degC"', 'lamps = "active"', ReadingError, 50, r"lamps under \[vehicle_checks\]"),
        (
            'temperature = "128 degC"',
            "temperature = 2026-01-16",
            ReadingError,
            50,
            "turned '1/16' into a date",
        ),
    ],
)
def test_one_slip_in_a_case_gives_one_error_with_its_line(tmp_path, old, new, error, line, message) -> None:
    """The line numbers are counted in the case file, where the changed text stands."""
    with pytest.raises(error, match=message) as caught:
        read_text(tmp_path, changed(old, new))
    assert re.search(r"inspection\.toml, line (\d+)", caught.value.where)[1] == str(line)


def test_the_error_says_place_what_allowed_and_cure(tmp_path) -> None:
    with pytest.raises(ReadingError) as caught:
        read_text(tmp_path, changed('total_travel = "1.40 mm"', 'total_travel = "62 mm"'))
    error = caught.value
    assert error.where == f"{tmp_path}/inspection.toml, line 33, 1L total_travel"
    assert error.what == "total_travel of 1L is 62 mm; 0 mm to 10 mm is possible"
    assert error.cure == "Did the gauge read thousandths of an inch? Write '62 thou'"
    assert error.exit_code == 2


def test_decimal_comma_beside_decimal_point_names_both_places(tmp_path) -> None:
    text = changed('"9.8 mm", "9.7 mm"', '"9.8 mm", "9,7 mm"')
    with pytest.raises(
        ReadingError, match=r"'9,7 mm' has a decimal comma, but '9.8 mm' \(line 31, 1L pad_inner LT\) does"
    ):
        read_text(tmp_path, text)


def test_a_file_with_decimal_commas_alone_is_read(tmp_path) -> None:
    text = re.sub(r'(?<=["\d])(\d*)\.(\d+ (?:mm|kN))"', r'\1,\2"', changed("A1", "A1"))
    assert "9,8 mm" in text
    assert not re.search(r'\d\.\d+ (mm|kN)"', text)
    inspection = read_text(tmp_path, text)
    assert inspection.wheel_ends[0].measured("pad_inner", "LT").value == 0.0098


def test_numbers_of_toml_itself_have_no_decimal_mark_of_a_person(tmp_path) -> None:
    """TOML knows the decimal point only, so 0.7 beside '9,8 mm' is no slip."""
    text = SMALL.replace("1.40 mm", "1,40 mm") + "[peer_wear_mm_per_10000_km]\n1 = 0.7\n"
    assert read_text(tmp_path, text).peer_wear == {"1": 7e-11}


@pytest.mark.parametrize(
    ("document", "message"),
    [
        ({}, "the vehicle is not given"),
        ([], "the document is a list, not a table"),
        ({"vehicle": 3}, "vehicle is 3, not a table"),
        ({"vehicles": {}}, "'vehicles' is not a known key .* mean 'vehicle'"),
        ({"vehicle": {"id": "V"}}, "the vehicle has no axles"),
        ({"vehicle": {"id": "V"}, "axle": {"id": "1"}}, r"axle is a table. Allowed: \[\[axle\]\]"),
        ({"vehicle": {"id": "V"}, "axle": [3]}, "not a table"),
        ({"vehicle": {"id": "V"}, "axle": [{"id": "1"}] * 65}, "has 65 axles.*at most 64"),
        ({"vehicle": {"id": "V\x00"}}, r"holds a character that is no text \(code 0\)"),
        ({"vehicle": {"id": "V\ud800"}}, r"holds a character that is no text \(code 55296\)"),
        ({"vehicle": {"id": "V" * 20000}}, "holds 20000 characters"),
        ({"vehicle": {"id": ["V"]}}, "id is a list, not a text"),
        ({"vehicle": {1: 2}}, "vehicle is a table, not a table|not a table"),
    ],
)
def test_a_document_of_another_shape_is_refused(document, message) -> None:
    with pytest.raises(InputError, match=message):
        inspection_from_document(document, where="form", today=TODAY, catalogue=load_catalogue())


def small_document() -> dict:
    return {
        "vehicle": {"id": "V1", "design": "generic-22.5"},
        "axle": [{"id": "1", "role": "steer"}, {"id": "2", "role": "drive", "brake": "drum"}],
        "inspection": {"taken_on": TODAY},
        "wheel_end": [{"at": "1L", "total_travel": "1.4 mm"}],
    }


@pytest.mark.parametrize(
    ("key", "value", "message"),
    [
        ("wheel_end", {"at": "1L"}, r"Allowed: \[\[wheel_end\]\] once for each"),
        ("wheel_end", [{"at": "1L"}] * 100, "100 wheel ends are given, the vehicle has 4"),
        ("wheel_end", ["1L"], "wheel_end|0 is '1L', not a table"),
        ("wheel_end", [], "no reading is filled in"),
        ("wheel_end", [{"at": "1L", "total_travel": ""}], "no reading is filled in"),
        (
            "wheel_end",
            [{"at": "2L", "pad_inner": ["9 mm"] * 4}],
            "axle 2 has drum brakes; pad_inner is read at a",
        ),
        ("wheel_end", [{"at": "1L", "noticed": 2.5, "pad": 1}], "'pad' is not a known key of a wheel end"),
        ("wheel_end", [{"at": "1L", "noticed": {}}], "noticed is a table, not a text"),
        ("vehicle_checks", {"total_travel": "1 mm"}, r"total_travel under \[\[wheel_end\]\]"),
        (
            "vehicle_checks",
            {"lamp": "active"},
            "'lamp' is not a known key of the vehicle checks.*mean 'lamps'",
        ),
        ("vehicle_checks", [], "not a table"),
        ("inspection", {"taken_on": TODAY, "gauges": {"a": 3}}, "not a table"),
    ],
)
def test_a_table_of_another_shape_is_refused(key, value, message) -> None:
    document = small_document() | {key: value}
    with pytest.raises(InputError, match=message):
        inspection_from_document(document, where="form", today=TODAY, catalogue=load_catalogue())


def test_a_drum_brake_takes_what_every_brake_has() -> None:
    document = small_document()
    document["wheel_end"].append({"at": "2L", "brake_force": "20 kN", "pad_inner": ["", "", "", ""]})
    inspection = inspection_from_document(document, where="form", today=TODAY, catalogue=load_catalogue())
    assert inspection.vehicle.axle("2").brake == "drum"
    assert inspection.wheel_ends[1].measured("brake_force").value == 20000.0


def test_readings_before_the_vehicle_was_built_are_refused() -> None:
    document = small_document()
    document["vehicle"]["built_on"] = "2026-12-01"
    with pytest.raises(ReadingError, match="lies before built_on 2026-12-01"):
        inspection_from_document(document, where="form", today=TODAY, catalogue=load_catalogue())


def gauge_document(reading, gauges) -> dict:
    document = small_document()
    document["inspection"]["gauges"] = gauges
    document["wheel_end"][0]["total_travel"] = reading
    return document


def test_a_gauge_has_to_be_listed_once_there_is_a_list() -> None:
    document = gauge_document({"value": "1 mm", "gauge": "dial-8"}, {"dial-7": {"u": "0.01 mm"}})
    with pytest.raises(
        ReadingError, match=r"names the gauge 'dial-8'.*Allowed: dial-7. Did you mean 'dial-7'"
    ):
        inspection_from_document(document, where="form", today=TODAY, catalogue=load_catalogue())


def test_a_gauge_for_forces_reads_no_length() -> None:
    document = gauge_document({"value": "1 mm", "gauge": "scale"}, {"scale": {"u": "5 N"}})
    with pytest.raises(ReadingError, match="gauge 'scale' measures a force, but total_travel is a length"):
        inspection_from_document(document, where="form", today=TODAY, catalogue=load_catalogue())


def test_odd_gauges_are_noticed_without_stopping_the_work() -> None:
    gauges = {
        "dial-7": {"description": "dial", "u": "0.01 mm", "calibrated_on": "2026-12-01"},
        "rule": {"u": "0.5 mm"},
    }
    document = gauge_document({"value": "1 mm", "gauge": "dial-7"}, gauges)
    inspection = inspection_from_document(document, where="form", today=TODAY, catalogue=load_catalogue())
    assert [(notice.code, notice.where) for notice in inspection.notices] == [
        ("gauge-calibrated-later", "form, gauge dial-7 calibrated_on"),
        ("gauge-not-used", "form, gauge rule"),
    ]
    assert inspection.gauges["dial-7"].u == 1e-05


def test_a_vehicle_alone_is_read_from_its_file_and_from_an_inspection(tmp_path) -> None:
    alone = tmp_path / "vehicle.toml"
    alone.write_text(SMALL[: SMALL.index("[inspection]")])
    whole = tmp_path / "inspection.toml"
    whole.write_text(SMALL)
    catalogue = load_catalogue()
    assert read_vehicle(alone, catalogue=catalogue) == read_vehicle(whole, catalogue=catalogue)
    with pytest.raises(ReadingError, match="'trailer' is not a known key"):
        vehicle_from_document({"trailer": {}}, where="form", catalogue=catalogue)


def test_strange_keys_cannot_break_a_message() -> None:
    document = small_document()
    document["wheel_end"][0]["a\ud800\n\x07b"] = "1 mm"
    with pytest.raises(ReadingError) as caught:
        inspection_from_document(document, where="form", today=TODAY, catalogue=load_catalogue())
    str(caught.value).encode("utf-8")
    assert "\n" not in caught.value.where
