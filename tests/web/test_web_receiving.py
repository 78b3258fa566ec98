"""Entries over HTTP: stored once in effect, in order, never overwritten; the end keeps an inspection."""

from __future__ import annotations

import json
import uuid
from datetime import date

import pytest
from web_entries import CASES, Tablet

from wearline.app.keeping import Keeping, keep_queue
from wearline.catalogue.loading import load_catalogue
from wearline.errors import StorageError
from wearline.ingest.read import read_inspection
from wearline.storage.opening import open_store


def send(web, *entries):
    answer = web.post("/api/1/events", json={"events": list(entries)})
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_a_case_entered_on_a_tablet_is_kept_as_its_file_says(web):
    """Every corner, word and note of A1, in small parts, then the end."""
    tablet = Tablet()
    entries = tablet.case("A1")
    for start in range(0, len(entries), 7):
        part = entries[start : start + 7]
        assert send(web, *part)["stored"] == [entry["id"] for entry in part]
    kept = web.app.state.shop.store.inspection(tablet.draft)
    file = read_inspection(CASES / "A1.toml", today=date(2026, 10, 1), catalogue=load_catalogue())
    assert kept.inspection.wheel_ends == file.wheel_ends
    assert kept.inspection.vehicle == file.vehicle
    assert web.get("/api/1/drafts").json()["drafts"] == []


def test_what_is_sent_again_is_known_and_stored_once(web):
    tablet = Tablet()
    entries = [tablet.start(), tablet.reading("1L", "slide", "40 N")]
    assert send(web, *entries)["stored"] == [entry["id"] for entry in entries]
    again = send(web, *entries, *entries)
    assert (again["stored"], again["known"]) == ([], [entry["id"] for entry in entries])
    assert len(web.get(f"/api/1/drafts/{tablet.draft}").json()["events"]) == 2


def test_the_end_sent_again_keeps_one_inspection(web):
    tablet = Tablet()
    entries = tablet.case("A2")
    send(web, *entries)
    again = send(web, *entries)
    assert (again["stored"], again["refused"]) == ([], [])
    assert len(web.get("/api/1/inspections").json()["inspections"]) == 1


def test_an_entry_with_other_content_is_refused_and_never_overwrites(web):
    tablet = Tablet()
    start = tablet.start()
    first = tablet.reading("1L", "slide", "40 N")
    send(web, start, first)
    answer = send(web, first | {"value": "90 N"})
    assert answer["stored"] == answer["known"] == []
    assert answer["refused"][0]["error"]["what"] == "the entry is known with another content"
    assert web.get(f"/api/1/drafts/{tablet.draft}").json()["events"][1]["value"] == "40 N"


def test_a_wrong_entry_does_not_hold_up_the_others(web):
    tablet = Tablet()
    entries = [tablet.start(), tablet.entry("reading", place="9Z"), tablet.reading("1L", "slide", "40 N")]
    answer = send(web, *entries)
    assert answer["stored"] == [entries[0]["id"], entries[2]["id"]]
    assert [item["id"] for item in answer["refused"]] == [entries[1]["id"]]


def test_the_end_of_a_draft_that_contradicts_itself_is_refused_until_it_is_settled(web):
    first = Tablet()
    second = Tablet(draft=first.draft, by="other", clock=0.5)
    entries = first.case("A1")
    send(web, *entries[:-1])
    other = second.reading("1R", "total_travel", "1.9 mm")
    send(web, other)
    answer = send(web, entries[-1])
    assert answer["stored"] == []
    assert "contradict" in answer["refused"][0]["error"]["what"]
    assert web.get("/api/1/inspections").json()["inspections"] == []
    losing = next(
        entry["id"]
        for entry in entries
        if entry["kind"] == "reading" and entry["place"] == "1R" and entry["field"] == "total_travel"
    )
    # the clock of the second tablet is behind: the settlement names what it decides over
    send(web, second.entry("settle", refers=other["id"], value={"over": [losing]}))
    assert send(web, entries[-1])["stored"] == [entries[-1]["id"]]
    kept = web.app.state.shop.store.inspection(first.draft).inspection
    assert kept.wheel_ends[1].measured("total_travel").raw == "1.9 mm"


def test_entries_that_come_after_the_end_are_kept_and_become_a_correction(web):
    tablet = Tablet()
    late = Tablet(draft=tablet.draft, by="late", clock=500.0)
    send(web, *tablet.case("A1"))
    send(web, late.reading("2L", "hose", "chafed"))
    listed = web.get("/api/1/drafts").json()["drafts"]
    assert [(row["late"], row["state"]) for row in listed] == [(True, "open")]
    send(web, late.entry("finish"))
    rows = web.get("/api/1/inspections", params={"superseded": True}).json()["inspections"]
    assert {row["id"] for row in rows} == {tablet.draft, f"{tablet.draft}.2"}
    corrected = web.app.state.shop.store.inspection(f"{tablet.draft}.2")
    assert corrected.supersedes == tablet.draft
    assert corrected.inspection.wheel_ends[2].word("hose") == "chafed"
    assert web.get("/api/1/drafts").json()["drafts"] == []


def test_an_odometer_that_runs_backwards_refuses_the_end_and_keeps_the_entries(web):
    send(
        web, *(tablet := Tablet()).case("A1")[:-1], tablet.entry("fact", field="odometer_km", value="412300")
    )
    send(web, tablet.entry("finish"))
    second = Tablet()
    entries = second.case("A1")
    entries[0]["value"]["taken_on"] = "2026-09-20"
    send(web, *entries[:-1], second.entry("fact", field="odometer_km", value="1000000"))
    third = Tablet()
    entries = third.case("A1")
    entries[0]["value"]["taken_on"] = "2026-09-21"
    answer = send(web, *entries[:-1], third.entry("fact", field="odometer_km", value="200000"), entries[-1])
    assert "odometer" in answer["refused"][0]["error"]["what"]
    assert len(answer["stored"]) == len(entries)


def test_the_running_judgement_stores_nothing(web):
    tablet = Tablet()
    send(web, tablet.start())
    unsent = tablet.reading("1R", "total_travel", "2.4 mm")
    answer = web.post(f"/api/1/drafts/{tablet.draft}/judge", json={"events": [unsent]}).json()
    end = next(each for each in answer["judgement"]["wheel_ends"] if each["at"] == "1R")
    verdicts = {reading["check"]: reading["verdict"] for reading in end["readings"]}
    assert verdicts["total_travel"] == "beyond"
    assert answer["next"][0]["at"] == ["1R"]
    assert len(web.get(f"/api/1/drafts/{tablet.draft}").json()["events"]) == 1


@pytest.mark.parametrize(
    ("body", "status"),
    [
        ({"events": [{}] * 501}, 413),
        ({"events": "x"}, 422),
        ([], 422),
        ("text", 422),
        (None, 422),
    ],
)
def test_what_is_no_list_of_entries_is_refused(web, body, status):
    headers = {"content-type": "application/json"}
    answer = web.post("/api/1/events", content=json.dumps(body).encode(), headers=headers)
    assert answer.status_code == status
    assert answer.json()["schema"] == "wearline.error/1"


def test_more_than_a_megabyte_at_once_is_refused_before_it_is_read(web):
    answer = web.post("/api/1/events", content=b"x" * 1_000_001, headers={"content-type": "application/json"})
    assert answer.status_code == 413
    assert answer.json()["error"]["allowed"] == "at most 1 MB here"


def test_an_unknown_draft_is_not_there(web):
    assert web.get(f"/api/1/drafts/{uuid.uuid4()}").status_code == 404


def test_the_exported_queue_is_read_by_the_command(tmp_path):
    """What could not be sent is kept from its file; a second time changes nothing."""
    from datetime import UTC, datetime

    tablet, open_one = Tablet(), Tablet()
    events = [*tablet.case("A6"), open_one.start("A1")]
    data = json.dumps({"schema": "wearline.events/1", "events": events}).encode()
    keeping = Keeping(str(tmp_path / "q.db"), "keeper", datetime(2026, 10, 1, 8, tzinfo=UTC))
    for already in (False, True):
        receipts, unfinished = keep_queue(data, date(2026, 10, 1), keeping)
        assert [(receipt.id, receipt.already_kept) for receipt in receipts] == [(tablet.draft, already)]
        assert unfinished == ["A1"]
    with open_store(keeping.database) as store:
        assert len(store.history(None)) == 1
    changed = json.dumps({"schema": "wearline.events/1", "events": [events[1] | {"value": "other"}]}).encode()
    with pytest.raises(StorageError, match="known with another content"):
        keep_queue(changed, date(2026, 10, 1), keeping)
