"""Hours, stops, the axis that wear counts against, and labels: read, refused, kept without loss."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from ingest_support import CASES, SMALL, TODAY, read_path, read_text

from wearline.catalogue.loading import load_catalogue
from wearline.errors import FileFormatError, QuantityError, ReadingError
from wearline.ingest.document import inspection_from_document
from wearline.ingest.sheet import sheet_for
from wearline.ingest.write import document_from_inspection
from wearline.records.inspection import Counters
from wearline.records.plain import PLAIN_SCHEMA, PLAIN_SCHEMA_COUNTERS, digest, from_plain, to_plain

COUNTED = SMALL.replace(
    'id = "V1"',
    'id = "V1"\nduty = "refuse"\nwear_axis = "hours"\nlabels = { Route = "north", depot = "2" }',
    1,
).replace(
    "taken_on = 2026-09-14",
    'taken_on = 2026-09-14\nhour_counter_h = 4210.5\nh_since_pads = "900 h"\nstop_counter = "812 000"\n'
    "stops_since_pads = 190000",
)


def test_hours_are_seconds_inside_and_stops_are_counted(tmp_path):
    inspection = read_text(tmp_path, COUNTED)
    assert inspection.counters == Counters(4210.5 * 3600, 812_000.0, 900 * 3600.0, 190_000.0)
    assert inspection.vehicle.wear_axis == "hours"
    assert inspection.vehicle.labels == {"route": "north", "depot": "2"}


def test_the_unit_may_stand_beside_the_hour_counter(tmp_path):
    text = SMALL.replace("taken_on = 2026-09-14", 'taken_on = 2026-09-14\nhour_counter = "252630 min"')
    assert read_text(tmp_path, text).counters.hours == 252_630 * 60.0


def test_counters_come_back_from_document_and_plain_values(tmp_path):
    inspection = read_text(tmp_path, COUNTED)
    document = document_from_inspection(inspection)
    again = inspection_from_document(document, where="again", today=TODAY, catalogue=load_catalogue())
    assert again == inspection
    plain = json.loads(json.dumps(to_plain(inspection)))
    assert plain["schema"] == PLAIN_SCHEMA_COUNTERS
    assert from_plain(plain) == inspection


def test_an_inspection_without_them_keeps_its_fingerprint():
    """The digest was made by the code of the version before counters existed: a database stays valid."""
    inspection = read_path(CASES / "A1.toml")
    assert digest(inspection) == "43a601008704fee0f736f0f267f171973252a992f126476746fb7c8987d67c52"
    assert to_plain(inspection)["schema"] == PLAIN_SCHEMA
    assert from_plain(to_plain(inspection)) == inspection


def test_a_newer_plain_form_is_refused(tmp_path):
    plain = to_plain(read_text(tmp_path, COUNTED)) | {"schema": "wearline.inspection/3"}
    with pytest.raises(FileFormatError, match=r"says schema 'wearline\.inspection/3'"):
        from_plain(plain)


def _with(line: str) -> str:
    return SMALL.replace("taken_on = 2026-09-14", f"taken_on = 2026-09-14\n{line}")


@pytest.mark.parametrize(
    ("line", "error", "words"),
    [
        ('hour_counter = "4210"', QuantityError, "has no unit"),
        ('hour_counter_h = "4210 km"', QuantityError, "km"),
        ("hour_counter_h = -1", ReadingError, "hour_counter_h is -1 h. Allowed: 0 to 300000 h"),
        ("hour_counter_h = 400000", ReadingError, "hour_counter_h is 400000 h"),
        ("stop_counter = 12.5", QuantityError, "is not a count"),
        ("stop_counter = 200000000", ReadingError, "stop_counter is 200000000"),
        ('stop_counter = "100 km"', QuantityError, "km"),
        (
            "hour_counter_h = 100\nh_since_pads = 200",
            ReadingError,
            "pads have run 200 h, the vehicle only 100",
        ),
        (
            "stop_counter = 10\nstops_since_pads = 20",
            ReadingError,
            "pads have run 20 stops, the vehicle only 10",
        ),
        ('hour_counter_h = 1\nhour_counter = "2 h"', ReadingError, "are both given"),
    ],
)
def test_a_wrong_counter_is_refused(tmp_path, line, error, words):
    with pytest.raises(error, match=words):
        read_text(tmp_path, _with(line))


def test_an_unknown_axis_and_a_strange_label_are_refused(tmp_path):
    with pytest.raises(ReadingError, match=r"wear_axis is 'days'\. Allowed: km, hours, stops"):
        read_text(tmp_path, SMALL.replace('id = "V1"', 'id = "V1"\nwear_axis = "days"'))
    with pytest.raises(ReadingError, match="no name of a label"):
        read_text(tmp_path, SMALL.replace('id = "V1"', 'id = "V1"\nlabels = { "a b" = "c" }'))


def test_a_sheet_asks_for_the_counters_where_they_count(tmp_path):
    vehicle = read_text(tmp_path, COUNTED).vehicle
    names = [fact.name for fact in sheet_for(vehicle, load_catalogue(), today=TODAY).facts]
    assert {"inspection.hour_counter_h", "inspection.stop_counter", "vehicle.labels.route"} <= set(names)
    plain = replace(vehicle, wear_axis="", duty="regional", labels={})
    assert "inspection.hour_counter_h" not in [
        fact.name for fact in sheet_for(plain, load_catalogue(), today=TODAY).facts
    ]


def test_axles_may_give_their_own_distance_since_their_pads_were_new(tmp_path):
    text = SMALL.replace('role = "steer"', 'role = "steer"\nkm_since_pads = 19156')
    text = text.replace("taken_on = 2026-09-14", "taken_on = 2026-09-14\nodometer_km = 148334")
    inspection = read_text(tmp_path, text)
    assert inspection.pads_run == {"1": 19_156_000.0}
    assert inspection.run_of_pads("1") == 19_156_000.0
    assert replace(inspection, pads_run={}, distance_since_pads=5.0).run_of_pads("1") == 5.0
    document = document_from_inspection(inspection)
    again = inspection_from_document(document, where="again", today=TODAY, catalogue=load_catalogue())
    assert again == inspection
    assert from_plain(json.loads(json.dumps(to_plain(inspection)))) == inspection
    with pytest.raises(ReadingError, match="pads of axle 1 have run 20000 km, the vehicle only 148"):
        read_text(tmp_path, text.replace("19156", "20000").replace("148334", "148"))


def test_pads_and_callipers_carry_their_batch(tmp_path):
    text = SMALL + 'pad_part = "plain"\npad_batch = "K7"\ncalliper_batch = "2024-31"\n'
    end = read_text(tmp_path, text).wheel_ends[0]
    assert (end.word("pad_part"), end.word("pad_batch")) == ("plain", "K7")
    assert end.word("calliper_batch") == "2024-31"
