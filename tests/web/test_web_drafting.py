"""Entries into one inspection: order does not matter, nothing is lost, contradictions wait for a person."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from web_entries import CASES, Tablet

from wearline.app.draft_events import event_from_plain, events_from_text, strict_json
from wearline.app.draft_judging import draft_answer, finished_inspection, judge_draft
from wearline.app.drafting import EntryKey, document_of, fold, incomplete_fields
from wearline.assessment.assemble import judge
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.loading import load_catalogue
from wearline.errors import FileFormatError, InputError, ReadingError
from wearline.ingest.document import inspection_from_document
from wearline.ingest.read import read_inspection

TODAY = date(2026, 10, 1)
CATALOGUE = load_catalogue()


def events(*plain):
    return [event_from_plain(each) for each in plain]


def judged(tablet: Tablet, *plain):
    return judge_draft(fold(tablet.draft, events(*plain)), CATALOGUE, TODAY, DecisionSettings())


@pytest.mark.parametrize("case", ["A1", "A2", "A3", "A4", "A6", "A10", "B2", "B5"])
def test_the_entries_of_a_case_become_the_inspection_of_its_file(case):
    """The same facts through the tablet and through the file give equal inspections and judgements."""
    tablet = Tablet()
    draft = fold(tablet.draft, events(*tablet.case(case)))
    from_entries = finished_inspection(draft, CATALOGUE, TODAY)
    from_file = read_inspection(CASES / f"{case}.toml", today=TODAY, catalogue=CATALOGUE)
    assert from_entries.vehicle == from_file.vehicle
    for ours, theirs in zip(from_entries.wheel_ends, from_file.wheel_ends, strict=True):
        assert replace(ours, readings={}) == replace(theirs, readings={})
        assert dict(ours.readings) == dict(theirs.readings)
    assert judge(from_entries, CATALOGUE) == judge(
        replace(from_file, notices=from_entries.notices), CATALOGUE
    )


@settings(deadline=None, max_examples=40)
@given(st.randoms(use_true_random=False))
def test_the_order_of_arrival_does_not_matter(chance: random.Random):
    first = Tablet()
    second = Tablet(draft=first.draft, by="other", clock=0.5)
    entries = events(
        first.start(),
        *(first.reading(place, "total_travel", "1.2 mm") for place in ("1L", "1R")),
        first.reading("1L", "total_travel", "1.3 mm"),
        second.reading("1L", "total_travel", "1.4 mm"),
        second.reading("2L", "slide", "45 N"),
    )
    expected = fold(first.draft, entries)
    shuffled = list(entries) + chance.choices(entries, k=3)
    chance.shuffle(shuffled)
    assert fold(first.draft, shuffled) == expected


def test_a_later_entry_of_one_tablet_replaces_its_earlier_one():
    tablet = Tablet()
    entries = [tablet.start(), tablet.reading("1L", "slide", "40 N"), tablet.reading("1L", "slide", "55 N")]
    draft = fold(tablet.draft, events(*entries))
    assert draft.values[EntryKey("entry", "1L", "slide", "")].value == "55 N"
    assert draft.contradictions == ()


def test_later_is_by_the_count_of_the_tablet_when_its_clock_was_set_back():
    tablet = Tablet(clock=100.0)
    entries = [tablet.start(), tablet.reading("1L", "slide", "40 N")]
    tablet.clock = 10.0
    entries.append(tablet.reading("1L", "slide", "55 N"))
    draft = fold(tablet.draft, events(*entries))
    assert draft.values[EntryKey("entry", "1L", "slide", "")].value == "55 N"


def two_that_contradict():
    first = Tablet(by="A")
    second = Tablet(draft=first.draft, by="B", clock=0.5)
    entries = [first.start(), first.reading("1L", "slide", "40 N"), second.reading("1L", "slide", "90 N")]
    return first, second, entries


def test_two_tablets_that_differ_both_stand_and_the_end_is_refused():
    first, _, entries = two_that_contradict()
    draft = fold(first.draft, events(*entries, first.entry("finish")))
    assert [event.value for event in draft.contradictions[0].events] == ["90 N", "40 N"]
    with pytest.raises(ReadingError, match=r"1 entries contradict each other; 1L slide is '90 N' by B and"):
        finished_inspection(draft, CATALOGUE, TODAY)


def test_two_tablets_that_say_the_same_do_not_contradict():
    first, second, _ = two_that_contradict()
    entries = [first.start(), first.reading("1L", "slide", "40 N"), second.reading("1L", "slide", " 40  N")]
    assert fold(first.draft, events(*entries)).contradictions == ()


def test_a_settlement_decides_until_something_new_is_entered():
    first, second, entries = two_that_contradict()
    settle = first.entry("settle", refers=entries[2]["id"])
    draft = fold(first.draft, events(*entries, settle))
    assert draft.contradictions == ()
    assert draft.values[EntryKey("entry", "1L", "slide", "")].value == "90 N"
    first.clock += 10
    again = first.reading("1L", "slide", "41 N")
    draft = fold(first.draft, events(*entries, settle, again))
    assert [event.value for event in draft.contradictions[0].events] == ["90 N", "41 N"]
    second.clock += 30
    corrected = second.reading("1L", "slide", "41 N")
    assert fold(first.draft, events(*entries, settle, again, corrected)).contradictions == ()


def test_a_settlement_that_names_what_it_saw_decides_nothing_else():
    """An entry that was still on a tablet, with an early clock, is not passed over."""
    first, _, entries = two_that_contradict()
    third = Tablet(draft=first.draft, by="C", clock=0.1)
    unseen = third.reading("1L", "slide", "stuck")
    settle = first.entry("settle", refers=entries[1]["id"], value={"over": [entries[2]["id"]]})
    assert fold(first.draft, events(*entries, settle)).contradictions == ()
    draft = fold(first.draft, events(*entries, settle, unseen))
    assert sorted(str(event.value) for event in draft.contradictions[0].events) == ["40 N", "stuck"]


def test_a_retraction_takes_back_an_entry_of_any_tablet_and_may_be_taken_back():
    first, second, entries = two_that_contradict()
    retract = second.entry("retract", refers=entries[1]["id"])
    draft = fold(first.draft, events(*entries, retract))
    assert draft.contradictions == ()
    assert draft.values[EntryKey("entry", "1L", "slide", "")].value == "90 N"
    first.clock += 10
    undo = first.entry("retract", refers=retract["id"])
    assert len(fold(first.draft, events(*entries, retract, undo)).contradictions) == 1


def test_cannot_against_a_reading_is_a_contradiction():
    first, second, entries = two_that_contradict()
    cannot = second.entry("cannot", place="1L", field="slide", value="wheel on")
    assert len(fold(first.draft, events(*entries[:2], cannot)).contradictions) == 1


def test_corners_still_missing_are_judged_without_and_refuse_the_end():
    tablet = Tablet()
    entries = [tablet.start(), tablet.reading("1R", "pad_inner", "1.2 mm", "LT")]
    running = judged(tablet, *entries)
    assert running.judgement is not None
    reading = running.judgement.wheel_end("1R").reading("pad_inner", "LT")
    assert reading is not None
    assert str(reading.verdict) == "beyond"
    draft = fold(tablet.draft, events(*entries))
    assert incomplete_fields(draft, CATALOGUE.fields) == [("1R", "pad_inner", ("LB", "TT", "TB"))]
    with pytest.raises(ReadingError, match="pad_inner at 1R has no reading at LB, TT, TB"):
        finished_inspection(draft, CATALOGUE, TODAY)


def test_an_entry_that_cannot_be_understood_is_set_aside_and_named():
    tablet = Tablet()
    bad = tablet.reading("1L", "slide", "forty-ish")
    entries = [tablet.start(), bad, tablet.reading("1L", "total_travel", "1.4 mm")]
    running = judged(tablet, *entries)
    assert [fault.event.id for fault in running.faults] == [bad["id"]]
    assert running.judgement is not None
    assert running.judgement.wheel_end("1L").reading("total_travel") is not None
    draft = fold(tablet.draft, events(*entries))
    with pytest.raises(InputError, match="forty-ish"):
        finished_inspection(draft, CATALOGUE, TODAY)


def test_repeats_and_a_gauge_become_a_table_of_the_file():
    tablet = Tablet()
    entry = tablet.reading(
        "1L", "rotor_runout", "0.11 mm", repeats=["0.10 mm", "0.12 mm", "0.11 mm"], gauge="dial-7"
    )
    draft = fold(tablet.draft, events(tablet.start(), entry))
    document = document_of(draft, CATALOGUE.fields, running=False)
    reading = (
        inspection_from_document(document, where="test", today=TODAY, catalogue=CATALOGUE)
        .wheel_ends[0]
        .measured("rotor_runout")
    )
    assert reading is not None
    assert len(reading.repeats) == 3
    assert reading.gauge == "dial-7"


def test_a_draft_whose_start_has_not_come_says_so():
    tablet = Tablet()
    running = judged(tablet, tablet.reading("1L", "slide", "40 N"))
    assert running.error is not None
    assert "no start yet" in running.error.what


def test_next_names_what_a_finding_makes_necessary_first():
    """Too much travel asks for the adjuster's test, as the catalogue's consequences say."""
    tablet = Tablet()
    entries = [tablet.start(), tablet.reading("1R", "total_travel", "2.4 mm")]
    draft = fold(tablet.draft, events(*entries))
    answer = draft_answer(draft, judged(tablet, *entries), CATALOGUE)
    first = answer["next"][0]
    assert (first["check"], first["because"] != "") == ("F3", True)
    assert first["at"] == ["1R"]
    assert "total_travel" not in answer["missing"]["1R"]
    assert "total_travel" in answer["missing"]["1L"]


def test_next_of_an_empty_draft_is_the_whole_inspection_in_its_order():
    tablet = Tablet()
    start = tablet.start()
    answer = draft_answer(fold(tablet.draft, events(start)), judged(tablet, start), CATALOGUE)
    order = [entry["check"] for entry in answer["next"]]
    assert order == [check for check in CATALOGUE.checks if check in order]
    assert answer["judgement"] is None


def wrong(**changes):
    return Tablet().entry("reading", place="1L", field="slide", value="40 N") | changes


@pytest.mark.parametrize(
    ("plain", "said"),
    [
        (wrong(id="x"), "id that is no UUID"),
        (wrong(draft="../etc"), "draft that is no UUID"),
        (wrong(seq=-1), "seq that is no counting number"),
        (wrong(seq=True), "seq that is no counting number"),
        (wrong(at="2026-09-14"), "at that is no moment"),
        (wrong(at="2026-02-30T00:00:00.000Z"), "at that is no moment"),
        (wrong(kind="delete"), "unknown kind"),
        (wrong(place="1X"), "place that is none"),
        (wrong(field="a b"), "field that is none"),
        (wrong(by="x" * 201), "by that is no short text"),
        (wrong(by="a\0b"), "by that is no short text"),
        (wrong(value="a\0b"), "bytes or a NUL"),
        (wrong(value="\ud800"), "cannot be kept"),
        (wrong(value=float("nan")), "cannot be kept"),
        (wrong(value="x" * 20_001), "bytes or a NUL"),
        (wrong(repeats="1 mm"), "repeats that are no list"),
        (wrong(colour="red"), "unknown key 'colour'"),
        (wrong(field=""), "names no field"),
        (wrong(kind="retract"), "refers that is no UUID"),
        ([], "not an object"),
    ],
)
def test_a_wrong_entry_is_refused_with_its_reason(plain, said):
    with pytest.raises(InputError, match=said):
        event_from_plain(plain)


@pytest.mark.parametrize(
    "data",
    [b"\xff\xfe", b"{", b'{"a": NaN}', b'{"a": 1e999}', b'{"a":1,"a":2}', rb'"\ud800"', b"[" * 100_000],
)
def test_json_that_says_two_things_or_none_is_refused(data):
    with pytest.raises(FileFormatError, match="not JSON that can be read without doubt"):
        strict_json(data)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"{}", "not a queue of entries"),
        (b'{"schema": "wearline.events/1", "events": []}', "holds no entries"),
    ],
)
def test_a_file_that_is_no_queue_is_refused(data, said):
    with pytest.raises(FileFormatError, match=said):
        events_from_text(data)


def test_a_wrong_entry_in_a_queue_is_named_by_its_place():
    with pytest.raises(InputError, match="entry 1"):
        events_from_text(b'{"schema": "wearline.events/1", "events": [7]}')
