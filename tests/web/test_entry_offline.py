"""A whole inspection entered without a network, through reload and crash, arrives as the file says it."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

from entry_support import (
    Program,
    all_sent,
    begin,
    case,
    events_in,
    go,
    killable,
    opened,
    step_of,
    stored_count,
    texts_of,
    unsent,
)
from playwright.sync_api import Page

from wearline.catalogue.loading import load_catalogue
from wearline.ingest.document import inspection_from_document
from wearline.storage.events import EventStore
from wearline.storage.opening import open_store

TODAY = date(2026, 12, 31)
# the start, three facts, and the note of one wheel end
ENTRIES_BEFORE = 5


def _enter_facts(page: Page, draft: str, document: dict) -> None:
    go(page, f"#/d/{draft}")
    page.click("details.facts summary")
    page.fill("#fact-km_since_pads", str(document["inspection"]["km_since_pads"]))
    page.fill("#fact-note", document["inspection"]["note"])
    for axle, rate in document["peer_wear_mm_per_10000_km"].items():
        page.fill(f"#fact-peer-{axle}", str(rate))
    page.click("text=Keep the facts")
    page.wait_for_selector("#report:has-text('Facts kept')")
    for end in document["wheel_end"]:
        if "note" in end:
            go(page, f"#/d/{draft}/{end['at']}")
            page.fill("#note", end["note"])
            page.click("text=Keep the note")
            page.wait_for_selector("#report:has-text('kept')")


def _walk(page: Page, left: dict[tuple[str, str, str], str], stop_at: int) -> None:
    """Go on from the check in front, as an instrument that types would; skip what is not in the file.

    After some skips in a row the person looks at the sheet of a wheel end and takes the next check there.
    """
    skipped = 0
    while len(left) > stop_at:
        step = step_of(page)
        assert step is not None, f"the walk ended with {len(left)} readings left: {sorted(left)[:5]}"
        here = page.evaluate("location.hash")
        value = left.pop(step, None)
        skipped = skipped + 1 if value is None else 0
        if skipped > 2:
            place, field, _ = next(iter(left))
            go(page, f"#/d/{here.split('/')[2]}/{place}")
            page.click(f".row[data-field={field}]")
            page.wait_for_selector("article.check")
            skipped = 0
            continue
        if value is None:
            page.click("text=Skip")
        elif page.locator(f'.word[data-word="{value}"]').count():
            page.click(f'.word[data-word="{value}"]')
        else:
            page.keyboard.type(value)
            page.keyboard.press("Enter")
        moved_or_asking = "here => location.hash !== here || document.querySelector('.advice')"
        page.wait_for_function(moved_or_asking, arg=here)
        if step_of(page) == step:
            # undecided: the form stays and asks for more; Enter on an empty box goes on
            page.keyboard.press("Enter")
            page.wait_for_function("here => location.hash !== here", arg=here)


def test_a_whole_inspection_entered_offline_through_reload_and_crash_arrives_as_the_file_says_it(
    tmp_path: Path,
) -> None:
    """Acceptance inspection A1: the database keeps the readings of the file, nothing lost or doubled."""
    document = case("A1")
    left = texts_of(document)
    total = len(left)
    profile = tmp_path / "profile"
    program = Program(tmp_path / "shop.db")
    program.start()
    try:
        with killable(profile) as (context, kill):
            page = opened(context, program.url)
            program.kill()
            page.reload()
            page.wait_for_selector("html[data-ready]")
            draft = begin(page, "A1", mass=str(document["vehicle"]["test_mass_kg"]))
            _enter_facts(page, draft, document)
            go(page, f"#/d/{draft}/1L/W5/wear_indicator")
            _walk(page, left, stop_at=round(total * 0.6))
            page.reload()
            page.wait_for_selector("article.check")
            _walk(page, left, stop_at=round(total * 0.3))
            where = page.url
            entered = ENTRIES_BEFORE + total - len(left)
            kill()
        with killable(profile) as (context, _):
            page = context.new_page()
            page.goto(where)
            page.wait_for_selector("html[data-ready]")
            assert stored_count(page) == entered
            assert unsent(page).startswith(f"{entered} not sent")
            _walk(page, left, stop_at=0)
            queue = events_in(page, "queue")
            assert len(queue) == ENTRIES_BEFORE + total
            program.start()
            page.reload()
            page.wait_for_selector("html[data-ready]")
            all_sent(page)
            assert events_in(page, "queue") == []
            go(page, f"#/d/{draft}/open")
            page.click("text=Finish the inspection")
            page.wait_for_selector("#report:has-text('Finished and kept')")
            page.wait_for_function(
                "() => document.querySelector('#unsent .state')?.textContent === 'server reached'"
            )
            all_sent(page)
    finally:
        program.kill()
    with open_store(program.database) as store:
        sent = EventStore(store).texts(draft)
        made = store.inspection(draft).inspection
    assert [json.loads(text)["id"] for text in sent[:-1]] == [
        event["id"] for event in sorted(queue, key=lambda each: each["seq"])
    ]
    file = inspection_from_document(document, where="test", today=TODAY, catalogue=load_catalogue())
    made_ends = {str(end.place): end for end in made.wheel_ends}
    assert sorted(made_ends) == sorted(str(end.place) for end in file.wheel_ends)
    for end in file.wheel_ends:
        assert made_ends[str(end.place)].readings == end.readings
        assert made_ends[str(end.place)].note == end.note
    assert made.distance_since_pads == file.distance_since_pads
    assert made.peer_wear == file.peer_wear
    assert made.note == file.note
    assert made.vehicle.test_mass == file.vehicle.test_mass
    assert made.vehicle.places == file.vehicle.places
