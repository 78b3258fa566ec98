"""What keeping promises, on every database."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from itertools import count
from threading import Barrier

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from invented_inspections import AXLES, KEPT_AT, inspection, wheel_end, with_pads

import wearline
from wearline.errors import ReadingError, StorageError
from wearline.records import plain
from wearline.records.inspection import Axle, WheelEnd
from wearline.records.place import WheelEndPlace
from wearline.records.readings import Measured, Observed, Unmeasurable
from wearline.storage import open_store
from wearline.storage.kept import KeepReceipt, canonical_text, text_digest
from wearline.storage.store import Store


def keep(store: Store, one, **more) -> KeepReceipt:
    return store.keep(one, **({"kept_by": "invented keeper", "kept_at": KEPT_AT} | more))


def codes(receipt: KeepReceipt) -> list[str]:
    return [notice.code for notice in receipt.notices]


def test_what_is_kept_comes_back_equal(store):
    one = inspection()
    receipt = keep(store, one)
    kept = store.inspection(receipt.id)
    assert kept.inspection == one
    assert (kept.id, kept.digest) == (receipt.id, receipt.digest)
    assert (kept.vehicle_id, kept.taken_on) == ("invented-7", date(2026, 3, 2))
    assert (kept.odometer, kept.distance_since_pads) == (118_200_000.0, 41_000_000.0)
    assert (kept.kept_by, kept.kept_at, kept.code_version) == (
        "invented keeper",
        KEPT_AT,
        wearline.__version__,
    )
    assert (kept.supersedes, kept.superseded_by, kept.reason, kept.counter_exchanged) == (
        None,
        None,
        "",
        False,
    )
    assert (receipt.already_kept, receipt.notices) == (False, ())


def test_the_digest_is_that_of_the_records():
    """The stored text is what the records package hashes, so both name an inspection alike."""
    one = inspection()
    assert text_digest(canonical_text(plain.to_plain(one))) == plain.digest(one)


texts = st.text(alphabet=st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
numbers = st.floats(allow_nan=False, allow_infinity=False)
some_readings = st.one_of(
    st.builds(
        Measured,
        value=numbers,
        raw=texts,
        unit=texts,
        resolution=numbers,
        u=st.none() | numbers,
        gauge=texts,
        repeats=st.lists(numbers, max_size=3).map(tuple),
    ),
    st.builds(Observed, word=texts, raw=texts),
    st.builds(Unmeasurable, reason=texts),
)
_number = count()


@settings(
    deadline=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    readings=st.dictionaries(st.tuples(texts, texts), some_readings, max_size=5),
    note=texts,
    odometer=st.none() | numbers,
)
def test_whatever_can_be_read_comes_back_equal(store, readings, note, odometer):
    """Any text and any finite number survives on every database, in the text and in the columns."""
    one = replace(
        inspection(f"invented-{next(_number)}"),
        wheel_ends=(WheelEnd(WheelEndPlace("2", "L"), readings, note=note),),
        note=note,
        odometer=odometer,
    )
    kept = store.inspection(keep(store, one).id)
    assert kept.inspection == one
    assert kept.odometer == odometer
    for field, spot in readings:
        (found,) = [row for row in store.readings(one.vehicle.id, field) if row.spot == spot]
        assert found.reading == readings[field, spot]
        assert found.wheel_end == WheelEndPlace("2", "L")


def test_the_same_inspection_is_kept_once(store):
    one = inspection()
    first = keep(store, one)
    again = keep(store, one, kept_by="somebody else", kept_at=KEPT_AT + timedelta(days=3))
    assert again == KeepReceipt(first.id, first.digest, already_kept=True)
    assert [kept.kept_by for kept in store.history(None)] == ["invented keeper"]


def test_an_inspection_survives_closing_and_opening(database):
    with open_store(database.address) as store:
        receipt = keep(store, inspection())
    with open_store(database.address, create=False) as store:
        assert store.inspection(receipt.id).inspection == inspection()


def test_the_caller_may_give_the_id_and_give_it_again(store):
    """A tablet makes the id, and sends again when it has not heard the answer."""
    first = keep(store, inspection(), inspection_id="0f8fad5b-d9cb-469f-a165-70867728950e")
    again = keep(store, inspection(), inspection_id="0f8fad5b-d9cb-469f-a165-70867728950e")
    assert first.id == again.id == "0f8fad5b-d9cb-469f-a165-70867728950e"
    assert (first.already_kept, again.already_kept) == (False, True)


def test_an_id_is_never_used_for_another_inspection(store):
    keep(store, inspection(), inspection_id="a1")
    with pytest.raises(
        StorageError, match="the id a1 belongs to another inspection, of invented-7 on 2026-03-02"
    ):
        keep(store, inspection(pad_mm=9.0), inspection_id="a1")
    assert len(store.history(None)) == 1


def test_ids_come_from_the_generator_that_is_given(database):
    ids = iter(["one", "two"])
    with open_store(database.address, new_id=lambda: next(ids)) as store:
        assert keep(store, inspection(pad_mm=9)).id == "one"
        assert keep(store, inspection(pad_mm=8)).id == "two"


@pytest.mark.parametrize("wrong", ["", " ", "a b", "-a", "ä", "x" * 65, "a\0", "a\n"])
def test_an_impossible_id_is_refused(store, wrong):
    with pytest.raises(StorageError, match="cannot be the id of an inspection"):
        keep(store, inspection(), inspection_id=wrong)


@pytest.mark.parametrize("nobody", ["", "  ", "a\0b"])
def test_somebody_keeps_it(store, nobody):
    with pytest.raises(StorageError, match="nobody is named"):
        keep(store, inspection(), kept_by=nobody)


def test_a_moment_has_a_time_zone(store):
    with pytest.raises(StorageError, match="has no time zone"):
        keep(store, inspection(), kept_at=datetime(2026, 3, 2, 12))


def test_a_moment_is_kept_in_utc(store):
    there = datetime(2026, 3, 2, 17, 30, 0, 123456, tzinfo=timezone(timedelta(hours=2)))
    kept = store.inspection(keep(store, inspection(), kept_at=there).id)
    assert kept.kept_at == there
    assert kept.kept_at.utcoffset() == timedelta(0)


def test_a_vehicle_has_an_id(store):
    with pytest.raises(ReadingError, match="names no vehicle"):
        keep(store, inspection(" "))


def test_a_wheel_end_stands_once(store):
    twice = replace(inspection(), wheel_ends=(wheel_end("1L"), wheel_end("1L", 9.0)))
    with pytest.raises(ReadingError, match="the wheel end 1L stands twice"):
        keep(store, twice)


@pytest.mark.parametrize(
    ("broken", "fault"),
    [
        ({"note": "half \ud800 character"}, "surrogates not allowed"),
        ({"note": "a\0b"}, "the character NUL"),
        ({"peer_wear": {"a\0b": 1.0}}, "the character NUL"),
        ({"odometer": float("nan")}, "not JSON compliant"),
        ({"next_wheels_off": float("inf")}, "not JSON compliant"),
        ({"wheel_ends": (WheelEnd(WheelEndPlace("x", "L"), {}),)}, "is not the name of a wheel end"),
        ({"wheel_ends": (WheelEnd(WheelEndPlace("1 ", "L"), {}),)}, "is not the name of a wheel end"),
        ({"wheel_ends": (WheelEnd(WheelEndPlace("t1", "L"), {}),)}, "comes back changed"),
        ({"note": object()}, "not JSON serializable"),
    ],
)
def test_what_would_not_come_back_is_refused(store, broken, fault):
    """Nothing is acknowledged that could not be read again."""
    with pytest.raises(ReadingError, match=f"cannot be kept without loss.*{fault}"):
        keep(store, replace(inspection(), **broken))
    assert store.history(None) == []


# corrections


def test_a_correction_supersedes_and_never_erases(store):
    wrong, right = inspection(pad_mm=2.0), inspection(pad_mm=12.0)
    first = keep(store, wrong)
    second = keep(store, right, supersedes=first.id, reason="inch read as millimetre")
    assert (second.already_kept, second.notices) == (False, ())
    assert [kept.id for kept in store.history("invented-7")] == [second.id]
    assert store.latest("invented-7").inspection == right
    assert [kept.id for kept in store.history("invented-7", include_superseded=True)] == [first.id, second.id]
    before, after = store.inspection(first.id), store.inspection(second.id)
    assert before.inspection == wrong
    assert (before.supersedes, before.superseded_by, before.reason) == (None, second.id, "")
    assert (after.supersedes, after.superseded_by, after.reason) == (
        first.id,
        None,
        "inch read as millimetre",
    )


def test_a_correction_is_kept_once(store):
    first = keep(store, inspection(pad_mm=2.0))
    second = keep(store, inspection(), supersedes=first.id, reason="unit")
    again = keep(store, inspection(), supersedes=first.id, reason="unit")
    assert again == KeepReceipt(second.id, second.digest, already_kept=True)


def test_keeping_a_correction_again_that_was_corrected_says_so(store):
    first = keep(store, inspection(pad_mm=1.0))
    second = keep(store, inspection(pad_mm=2.0), supersedes=first.id, reason="unit")
    third = keep(store, inspection(pad_mm=3.0), supersedes=second.id, reason="unit")
    again = keep(store, inspection(pad_mm=2.0), supersedes=first.id, reason="unit")
    assert (again.id, again.already_kept, codes(again)) == (second.id, True, ["already-corrected"])
    assert third.id in again.notices[0].text


def test_a_correction_can_be_corrected_back(store):
    """The first was right after all: the same facts stand again, under a new id, as the current ones."""
    right, wrong = inspection(pad_mm=12.0), inspection(pad_mm=2.0)
    first = keep(store, right)
    second = keep(store, wrong, supersedes=first.id, reason="believed wrong")
    third = keep(store, right, supersedes=second.id, reason="was right")
    assert third.already_kept is False
    assert third.digest == first.digest
    assert [kept.id for kept in store.history("invented-7")] == [third.id]
    assert keep(store, right) == KeepReceipt(third.id, third.digest, already_kept=True)


def test_keeping_again_what_was_corrected_says_so(store):
    first = keep(store, inspection(pad_mm=2.0))
    second = keep(store, inspection(), supersedes=first.id, reason="unit")
    again = keep(store, inspection(pad_mm=2.0))
    assert (again.id, again.already_kept, codes(again)) == (first.id, True, ["already-corrected"])
    assert second.id in again.notices[0].text
    assert [kept.id for kept in store.history("invented-7")] == [second.id]


def test_a_correction_that_says_the_same_writes_nothing(store):
    first = keep(store, inspection())
    again = keep(store, inspection(), supersedes=first.id, reason="nothing")
    assert (again.id, again.already_kept, codes(again)) == (first.id, True, ["nothing-to-correct"])
    assert len(store.history(None, include_superseded=True)) == 1


def test_an_unknown_inspection_cannot_be_corrected(store):
    with pytest.raises(StorageError, match="there is no inspection nowhere to correct") as caught:
        keep(store, inspection(), supersedes="nowhere", reason="unit")
    assert caught.value.where == store.where
    assert store.history(None) == []


def test_a_corrected_inspection_cannot_be_corrected_again(store):
    first = keep(store, inspection(pad_mm=2.0))
    second = keep(store, inspection(pad_mm=3.0), supersedes=first.id, reason="unit")
    with pytest.raises(StorageError, match=f"inspection {first.id} is already corrected by {second.id}"):
        keep(store, inspection(pad_mm=4.0), supersedes=first.id, reason="unit")
    assert len(store.history(None, include_superseded=True)) == 2


@pytest.mark.parametrize("nothing", ["", " ", "a\0"])
def test_a_correction_has_a_reason(store, nothing):
    first = keep(store, inspection(pad_mm=2.0))
    with pytest.raises(StorageError, match="gives no reason"):
        keep(store, inspection(), supersedes=first.id, reason=nothing)


def test_a_reason_belongs_to_a_correction(store):
    with pytest.raises(StorageError, match="a reason is given, but no inspection"):
        keep(store, inspection(), reason="unit")


def test_a_correction_may_move_an_inspection_to_its_vehicle(store):
    first = keep(store, inspection("invented-7"))
    second = keep(store, inspection("invented-8"), supersedes=first.id, reason="wrong vehicle")
    assert codes(second) == ["other-vehicle"]
    assert store.history("invented-7") == []
    assert [vehicle.id for vehicle in store.vehicles()] == ["invented-8"]


# odometer

JAN, FEB, MAR, APR = (date(2026, month, 10) for month in (1, 2, 3, 4))


def test_an_odometer_below_an_earlier_one_is_refused(store):
    first = keep(store, inspection(taken_on=JAN, odometer_km=120_000))
    with pytest.raises(
        ReadingError, match=r"is 118200\.5 km, below 120000 km of the earlier inspection"
    ) as caught:
        keep(store, inspection(taken_on=MAR, odometer_km=118_200.5))
    assert first.id in caught.value.what
    assert caught.value.where == "odometer of invented-7 on 2026-03-10"
    assert caught.value.allowed == "at least 120000 km, unless the counter was exchanged"
    assert len(store.history(None)) == 1


def test_an_odometer_above_a_later_one_is_refused(store):
    keep(store, inspection(taken_on=MAR, odometer_km=120_000))
    with pytest.raises(ReadingError, match="above 120000 km of the later inspection"):
        keep(store, inspection(taken_on=JAN, odometer_km=120_001))


@pytest.mark.parametrize("odometer_km", [100_000, 110_000, 120_000, None])
def test_an_odometer_between_its_neighbours_is_kept(store, odometer_km):
    keep(store, inspection(taken_on=JAN, odometer_km=100_000))
    keep(store, inspection(taken_on=MAR, odometer_km=120_000))
    assert keep(store, inspection(taken_on=FEB, odometer_km=odometer_km)).already_kept is False


def test_the_nearest_odometer_counts_even_behind_an_inspection_without_one(store):
    keep(store, inspection(taken_on=JAN, odometer_km=100_000))
    keep(store, inspection(taken_on=FEB, odometer_km=None))
    with pytest.raises(ReadingError, match="below 100000 km"):
        keep(store, inspection(taken_on=MAR, odometer_km=99_999))


def test_another_vehicle_has_another_odometer(store):
    keep(store, inspection("invented-7", JAN, 120_000))
    keep(store, inspection("invented-8", MAR, 5_000))
    assert len(store.history(None)) == 2


def test_the_order_within_a_day_is_not_known(store):
    keep(store, inspection(taken_on=JAN, odometer_km=100_000))
    keep(store, inspection(taken_on=JAN, odometer_km=99_990))
    with pytest.raises(ReadingError, match="below 100000 km"):
        keep(store, inspection(taken_on=FEB, odometer_km=99_995))


def test_an_exchanged_counter_starts_anew(store):
    keep(store, inspection(taken_on=JAN, odometer_km=120_000))
    exchanged = keep(store, inspection(taken_on=FEB, odometer_km=10), counter_exchanged=True)
    keep(store, inspection(taken_on=APR, odometer_km=9_000))
    assert [kept.counter_exchanged for kept in store.history("invented-7")] == [False, True, False]
    with pytest.raises(ReadingError, match=f"above 9000 km of the later inspection .* of {APR}"):
        keep(store, inspection(taken_on=MAR, odometer_km=119_000))
    with pytest.raises(ReadingError, match=f"below 10 km of the earlier inspection {exchanged.id}"):
        keep(store, inspection(taken_on=MAR, odometer_km=9))
    keep(store, inspection(taken_on=date(2026, 1, 20), odometer_km=120_500))


def test_on_the_day_of_the_exchange_the_new_counter_counts(store):
    keep(store, inspection(taken_on=FEB, odometer_km=120_000))
    keep(store, inspection(taken_on=FEB, odometer_km=10), counter_exchanged=True)
    keep(store, inspection(taken_on=MAR, odometer_km=500))


def test_a_correction_is_not_compared_with_what_it_corrects(store):
    keep(store, inspection(taken_on=JAN, odometer_km=100_000))
    wrong = keep(store, inspection(taken_on=FEB, odometer_km=1_010_000))
    keep(store, inspection(taken_on=MAR, odometer_km=101_000), supersedes=wrong.id, reason="a digit too many")
    assert [kept.odometer for kept in store.history("invented-7")] == [100_000_000.0, 101_000_000.0]
    keep(store, inspection(taken_on=APR, odometer_km=102_000))


# notices


def test_another_axle_layout_is_a_notice(store):
    three = (*AXLES, Axle("3", "tag", "generic-22.5", "single"))
    keep(store, inspection(taken_on=JAN, odometer_km=1))
    receipt = keep(store, inspection(taken_on=MAR, odometer_km=2, axles=three))
    assert codes(receipt) == ["axle-layout"]
    assert "3 tag air disc" in receipt.notices[0].text
    assert str(JAN) in receipt.notices[0].text
    assert receipt.already_kept is False


def test_the_layout_is_compared_with_the_nearest_inspection(store):
    three = (*AXLES, Axle("3", "tag", "generic-22.5", "single"))
    keep(store, inspection(taken_on=FEB, odometer_km=1))
    assert codes(keep(store, inspection(taken_on=MAR, odometer_km=2, axles=three))) == ["axle-layout"]
    assert codes(keep(store, inspection(taken_on=APR, odometer_km=3, axles=three))) == []
    assert codes(keep(store, inspection(taken_on=JAN, odometer_km=0))) == []


def test_another_description_is_no_other_layout(store):
    one = inspection(taken_on=JAN, odometer_km=1)
    other = inspection(taken_on=MAR, odometer_km=2)
    keep(store, one)
    receipt = keep(
        store, replace(other, vehicle=replace(other.vehicle, description="repainted", test_mass=None))
    )
    assert receipt.notices == ()
    assert store.vehicles()[0].vehicle.description == "repainted"


def test_a_second_inspection_of_a_day_is_a_notice(store):
    first = keep(store, inspection())
    second = keep(store, with_pads(inspection(), 9.0))
    assert codes(second) == ["same-day"]
    assert first.id in second.notices[0].text
    assert len(store.history(None)) == 2


# writers at the same time


def test_one_inspection_kept_by_many_at_once_is_kept_once(database):
    together = Barrier(4)

    def keep_it(number: int) -> KeepReceipt:
        with open_store(database.address, busy_timeout=20.0) as own:
            together.wait(timeout=20)
            return keep(own, inspection(), kept_by=f"keeper {number}")

    with ThreadPoolExecutor(4) as pool:
        receipts = list(pool.map(keep_it, range(4)))
    assert len({receipt.id for receipt in receipts}) == 1
    assert sorted(receipt.already_kept for receipt in receipts) == [False, True, True, True]
    with open_store(database.address) as store:
        assert len(store.history(None)) == 1
        assert store.check().sound


def test_one_inspection_corrected_by_many_at_once_is_corrected_once(store):
    first = keep(store, inspection(pad_mm=2.0))
    together = Barrier(4)

    def correct(number: int) -> str:
        together.wait(timeout=20)
        try:
            return keep(store, inspection(pad_mm=3.0 + number), supersedes=first.id, reason="unit").id
        except StorageError as error:
            return error.what

    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(correct, range(4)))
    (current,) = store.history("invented-7")
    refusal = f"inspection {first.id} is already corrected by {current.id}"
    assert sorted(answers) == sorted([current.id, refusal, refusal, refusal])


def test_many_writers_lose_nothing(store):
    """200 inspections by 8 threads at once: all there, in columns and in text."""

    def keep_some(thread: int) -> list[str]:
        return [
            keep(
                store, inspection(f"invented-{thread}", date(2026, 1, 1) + timedelta(days=day), 1000 + day)
            ).id
            for day in range(25)
        ]

    with ThreadPoolExecutor(8) as pool:
        ids = [one for some in pool.map(keep_some, range(8)) for one in some]
    assert sorted(kept.id for kept in store.history(None)) == sorted(ids)
    found = store.check()
    assert (found.inspections, found.readings, found.findings) == (200, 200 * 45, ())


def test_a_database_held_by_another_writer_is_one_clear_error(database):
    with open_store(database.address, busy_timeout=0.3) as store:
        first = keep(store, inspection(taken_on=JAN, odometer_km=1))
        with (
            database.held_by_another_writer(),
            pytest.raises(StorageError, match="the database is locked: another program") as caught,
        ):
            keep(store, inspection())
        assert caught.value.where == store.where
        assert caught.value.allowed == "one writer at a time"
        assert "Nothing was kept" in caught.value.cure
        assert [kept.id for kept in store.history(None)] == [first.id]
        assert keep(store, inspection()).already_kept is False


def test_a_writer_does_not_stop_readers(database):
    with open_store(database.address, busy_timeout=0.3) as store:
        keep(store, inspection())
        with database.held_by_another_writer():
            assert len(store.history("invented-7")) == 1
