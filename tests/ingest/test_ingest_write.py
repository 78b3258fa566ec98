"""What was read can be written and read again without loss."""

from __future__ import annotations

import os
import tomllib
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ingest_support import CASE_FILES, SMALL, TODAY, read_path, read_text

from wearline.catalogue.loading import load_catalogue
from wearline.errors import FileFormatError
from wearline.ingest.document import inspection_from_document
from wearline.ingest.write import document_from_inspection, write_inspection_toml, write_new_file
from wearline.records.plain import digest


def read_again(inspection):
    """Document and back, without a file between."""
    document = document_from_inspection(inspection)
    again = inspection_from_document(document, where="again", today=TODAY, catalogue=load_catalogue())
    return replace(again, notices=inspection.notices)


@pytest.mark.parametrize("path", CASE_FILES, ids=lambda path: path.stem)
def test_a_case_survives_document_and_file(tmp_path, path) -> None:
    inspection = read_path(path)
    assert read_again(inspection) == inspection
    target = tmp_path / "again.toml"
    write_inspection_toml(document_from_inspection(inspection), target)
    assert digest(read_path(target)) == digest(inspection)


EVERYTHING = """\
[vehicle]
id = "V 1"
description = "ünïcode, \\"quoted\\""
kind = "combination"
test_mass = "38 000 lb"
rated_mass_kg = 40000.5
duty = "regional"
retarder = "fitted"
built_on = 2019-02-28

[[axle]]
id = "1"
role = "steer"
design = "generic-22.5"
wheels = "single"

[[axle]]
id = "T1"
role = "trailer"
design = "generic-19.5"
wheels = "dual"

[[axle]]
id = "T2"
role = "trailer"
brake = "drum"

[inspection]
taken_on = 2026-09-14
odometer = "256 204.7 mi"
km_since_pads = 88123.4
inspector = "an invented person"
qualification = "an invented certificate"
rule_pack = ["none", "un-eu"]
place = "an invented workshop"
note = "first line\\nsecond line"
next_wheels_off_km = 60000
units = { length = "mm", slide = "lbf" }

[inspection.gauges]
dial-7 = { description = "dial", u = "0.0004 in", calibrated_on = 2026-01-02 }
"scale 3" = { u = "3 lbf" }
spare = { u = "0.1 bar" }
unknown = { description = "no certificate" }

[peer_wear_mm_per_10000_km]
1 = 0.7000000000000001
T1 = "0.4"

[vehicle_checks]
lamps = "None  active"
air_loss_released = "2 psi/min"
stop_distance = "35 ft"
retarder = "cannot: no road"

[[wheel_end]]
at = "1L"
noticed = ["Judder", "pulls  left"]
note = "a note"
photographs = ["a.jpg", "b.jpg"]
pad_inner = [9.8, "9.7 mm", { cannot = "corner broken" }, "3/8 in"]
pad_outer = { cannot = "welded in" }
total_travel = { value = 55, unit = "thou", u = "1 thou", gauge = "dial-7" }
rotor_runout = { readings = [0.28, 0.11, 0.24], gauge = "dial-7" }
rotor_thickness_variation = { value = "0.02 mm", readings = ["0.02 mm", "0.01 mm"] }
bearing_end_play = { readings = ["0.06 mm"] }
hub_face_runout = "0.02; 0.03; 0.02 mm"
temperature = { value = "245 degF", u = "9 degF" }
slide = { value = 12, gauge = "scale 3" }
wear_indicator = { value = "45 %", u = "6 %" }
guide_pin_boot = " Torn"
chamber_size = "24 in2"
abutment_faces_caught = 2
fastener_torque = "250 lbf ft"

[[wheel_end]]
at = "T2R"
brake_force = "2100 daN"
"""


def test_every_form_survives(tmp_path) -> None:
    inspection = read_text(tmp_path, EVERYTHING)
    assert read_again(inspection) == inspection
    target = tmp_path / "again.toml"
    write_inspection_toml(document_from_inspection(inspection), target)
    assert replace(read_path(target), notices=()) == replace(inspection, notices=())
    written = tomllib.loads(target.read_text())
    end = written["wheel_end"][0]
    assert end["pad_inner"][0] == {"value": "9.8", "unit": "mm"}
    assert end["pad_inner"][1] == "9.7 mm"
    assert end["total_travel"] == {"value": "55", "unit": "thou", "u": "1 thou", "gauge": "dial-7"}
    assert end["bearing_end_play"] == {"readings": ["0.06 mm"]}
    assert end["temperature"] == {"value": "245 degF", "u": "5 K"}
    assert written["inspection"]["gauges"]["dial-7"]["u"] == "0.4 thou"
    assert written["inspection"]["taken_on"] == date(2026, 9, 14)
    assert written["vehicle_checks"]["air_loss_released"] == "2 psi/min"


@settings(deadline=None, max_examples=60)
@given(
    mass=st.floats(500, 500_000),
    odometer=st.floats(1e6, 1e10),
    wear=st.floats(1e-13, 9e-9),
    u=st.floats(1e-7, 9e-3),
)
def test_numbers_come_back_to_the_last_bit(mass, odometer, wear, u) -> None:
    base = inspection_from_document(
        tomllib.loads(SMALL), where="small", today=TODAY, catalogue=load_catalogue()
    )
    (end,) = base.wheel_ends
    reading = replace(end.readings["total_travel", ""], u=u)
    inspection = replace(
        base,
        vehicle=replace(base.vehicle, test_mass=mass),
        odometer=odometer,
        peer_wear={"1": wear},
        wheel_ends=(replace(end, readings={("total_travel", ""): reading}),),
    )
    assert read_again(inspection) == inspection


def test_a_file_is_not_replaced_unless_asked(tmp_path) -> None:
    target = tmp_path / "sheet.toml"
    target.write_text("filled in by hand")
    with pytest.raises(FileFormatError, match=r"sheet.toml: a file of that name exists"):
        write_inspection_toml({}, target)
    assert target.read_text() == "filled in by hand"
    write_inspection_toml({"vehicle": {"id": "V"}}, target, overwrite=True)
    assert tomllib.loads(target.read_text()) == {"vehicle": {"id": "V"}}


def test_what_toml_cannot_hold_is_refused_and_nothing_is_left(tmp_path) -> None:
    for document in ({"a": object()}, {"a": "\ud800"}):
        with pytest.raises(FileFormatError, match="cannot be written as TOML"):
            write_inspection_toml(document, tmp_path / "x.toml")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_named(tmp_path) -> None:
    with pytest.raises(FileFormatError, match="the file cannot be written: there is no such file or folder"):
        write_new_file(tmp_path / "gone" / "x.toml", b"x")


def test_a_full_disk_leaves_nothing_behind(tmp_path, monkeypatch) -> None:
    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileFormatError, match="cannot be written: No space left on device"):
        write_new_file(tmp_path / "x.toml", b"x")
    assert list(tmp_path.iterdir()) == []


def test_a_new_file_has_the_usual_rights(tmp_path) -> None:
    write_new_file(tmp_path / "ours", b"x")
    (tmp_path / "plain").write_bytes(b"x")
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "plain").stat().st_mode
