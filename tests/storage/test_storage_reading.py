"""What can be asked of the database, on every database."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from invented_inspections import KEPT_AT, inspection

from wearline.errors import ProgramFault, StorageError
from wearline.records.place import WheelEndPlace
from wearline.records.readings import Measured, Unmeasurable
from wearline.storage import Snapshot, open_store
from wearline.storage.store import Store

DAYS = [date(2026, 1, 10), date(2026, 2, 10), date(2026, 3, 10)]


def keep(store: Store, one, **more) -> str:
    return store.keep(one, **({"kept_by": "invented keeper", "kept_at": KEPT_AT} | more)).id


@pytest.fixture
def filled(store: Store) -> Store:
    """Three inspections of one vehicle, kept out of order, and one of another."""
    for number in (2, 0, 1):
        keep(
            store,
            inspection("invented-7", DAYS[number], 1000 + number, 12 - number),
            inspection_id=f"seven-{number}",
        )
    keep(store, inspection("invented-10", DAYS[1], 500), inspection_id="ten-1")
    return store


def test_history_runs_from_the_oldest_day(filled):
    assert [kept.id for kept in filled.history("invented-7")] == ["seven-0", "seven-1", "seven-2"]
    assert [kept.id for kept in filled.history(None)] == ["seven-0", "seven-1", "ten-1", "seven-2"]


def test_both_ends_of_a_period_belong_to_it(filled):
    found = filled.history("invented-7", since=DAYS[1], until=DAYS[2])
    assert [kept.id for kept in found] == ["seven-1", "seven-2"]
    assert [kept.id for kept in filled.history(None, until=DAYS[0])] == ["seven-0"]
    assert [kept.id for kept in filled.history(None, since=DAYS[2] + timedelta(days=1))] == []


def test_an_unknown_vehicle_has_no_history(filled):
    assert filled.history("nobody's") == []
    assert filled.latest("nobody's") is None
    assert filled.readings("nobody's", "pad_inner") == []


def test_the_latest_before_a_day(filled):
    assert filled.latest("invented-7").id == "seven-2"
    assert filled.latest("invented-7", before=DAYS[2]).id == "seven-1"
    assert filled.latest("invented-7", DAYS[0]) is None


def test_the_latest_of_a_day_is_the_one_kept_last(filled):
    keep(filled, inspection("invented-7", DAYS[2], 1002, 5.0), inspection_id="again")
    assert filled.latest("invented-7").id == "again"


def test_an_unknown_inspection_is_an_error(filled):
    with pytest.raises(StorageError, match="there is no inspection nowhere") as caught:
        filled.inspection("nowhere")
    assert caught.value.where == filled.where


def test_vehicles_say_what_is_kept_of_them(filled):
    ten, seven = filled.vehicles()
    assert (ten.id, ten.inspections, ten.last_taken_on, ten.last_odometer) == (
        "invented-10",
        1,
        DAYS[1],
        500_000.0,
    )
    assert (seven.id, seven.inspections) == ("invented-7", 3)
    assert (seven.first_taken_on, seven.last_taken_on, seven.last_odometer) == (DAYS[0], DAYS[2], 1_002_000.0)
    assert seven.vehicle == inspection("invented-7").vehicle


def test_readings_follow_one_field_through_the_inspections(filled):
    found = filled.readings("invented-7", "pad_inner")
    assert len(found) == 3 * 4 * 4
    trend = [row for row in found if row.wheel_end == WheelEndPlace("1", "L") and row.spot == "LT"]
    assert [row.reading.value for row in trend] == [0.012, 0.011, 0.010]
    assert [row.odometer for row in trend] == [1_000_000.0, 1_001_000.0, 1_002_000.0]
    assert [row.taken_on for row in trend] == DAYS
    assert [row.inspection_id for row in trend] == ["seven-0", "seven-1", "seven-2"]
    assert {row.distance_since_pads for row in trend} == {41_000_000.0}
    first = [(str(row.wheel_end), row.spot) for row in found[:5]]
    assert first == [("1L", "LB"), ("1L", "LT"), ("1L", "TB"), ("1L", "TT"), ("1R", "LB")]


def test_readings_keep_every_kind(filled):
    (runout, *_) = filled.readings("invented-7", "rotor_runout", since=DAYS[2])
    assert runout.reading == Measured(
        0.00011, "4,5 thou", "thou", 2.54e-6, 5e-6, "dial-7", (0.00010, 0.00012, 0.00011)
    )
    (play, *_) = filled.readings("invented-7", "bearing_end_play")
    assert isinstance(play.reading, Unmeasurable)
    (supply,) = filled.readings("invented-7", "supply_pressure", until=DAYS[0])
    assert (supply.wheel_end, supply.reading.value) == (None, 950_000.0)


def test_readings_of_a_corrected_inspection_are_those_of_the_correction(filled):
    keep(filled, inspection("invented-7", DAYS[1], 1001, 7.0), supersedes="seven-1", reason="typed wrongly")
    trend = [
        row.reading.value
        for row in filled.readings("invented-7", "pad_outer")
        if str(row.wheel_end) == "2R" and row.spot == "LT"
    ]
    assert trend == [0.012, 0.007, 0.010]


# snapshots

ANSWER = Snapshot(
    "judgement",
    "d" * 64,
    "0.1.0",
    "2026-03",
    datetime(2026, 3, 2, 1, 2, 3, 4, tzinfo=UTC),
    {"b": [1.5, None], "a": "½"},
)


def test_a_snapshot_comes_back_equal(store):
    assert store.save_snapshot(ANSWER) is True
    assert store.snapshot("judgement", "d" * 64) == ANSWER


def test_a_snapshot_is_kept_once(store):
    assert store.save_snapshot(ANSWER) is True
    assert store.save_snapshot(replace(ANSWER, made_at=KEPT_AT)) is False
    assert store.check().snapshots == 1


def test_the_newest_snapshot_of_the_asked_versions_is_given(store):
    newer = replace(ANSWER, code_version="0.2.0", result={"a": 2})
    other = replace(ANSWER, catalogue_version="2026-04", result={"a": 3})
    for one in (ANSWER, newer, other):
        store.save_snapshot(one)
    assert store.snapshot("judgement", "d" * 64) == other
    assert store.snapshot("judgement", "d" * 64, catalogue_version="2026-03") == newer
    assert store.snapshot("judgement", "d" * 64, code_version="0.1.0", catalogue_version="2026-03") == ANSWER
    assert store.snapshot("judgement", "e" * 64) is None
    assert store.snapshot("road", "d" * 64) is None


def test_another_result_of_the_same_versions_stands_beside_the_first(store):
    """A fact is never overwritten, not even a computed one."""
    other = replace(ANSWER, result={"a": "changed"})
    assert (store.save_snapshot(ANSWER), store.save_snapshot(other)) == (True, True)
    assert store.snapshot("judgement", "d" * 64) == other
    assert store.check().snapshots == 2


def test_a_result_that_is_not_json_is_a_fault(store):
    with pytest.raises(ProgramFault, match="the judgement cannot be written as JSON"):
        store.save_snapshot(replace(ANSWER, result={"a": float("nan")}))


def test_a_snapshot_has_a_time_zone(store):
    with pytest.raises(StorageError, match=r"the moment of the snapshot .* has no time zone"):
        store.save_snapshot(replace(ANSWER, made_at=datetime(2026, 1, 1)))


# closing


def test_a_closed_store_is_not_used(database):
    store = open_store(database.address)
    store.close()
    store.close()
    with pytest.raises(ProgramFault, match="used after it was closed"):
        store.history(None)
    with pytest.raises(ProgramFault, match="used after it was closed"):
        keep(store, inspection())
