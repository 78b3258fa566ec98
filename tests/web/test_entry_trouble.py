"""Full storage, refused uploads, lost answers, an expired login, plain HTTP: it is said, and all is kept."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from entry_support import FAULTS, all_sent, begin, browser, events_in, go, opened, served, take, unsent
from PIL import Image

from wearline.storage.opening import open_store

PAD = ("pad_inner", "pad_outer")
SPOTS = ("LT", "LB", "TT", "TB")


@pytest.fixture(autouse=True)
def _no_fault_in_a_page() -> object:
    FAULTS.clear()
    yield
    assert FAULTS == []


FULL = """for (const name of ['add', 'put']) { const real = IDBObjectStore.prototype[name];
  IDBObjectStore.prototype[name] = function (...args) {
    const request = real.apply(this, args); const work = this.transaction;
    if (window.__full) request.addEventListener('success', () => {
      const value = new DOMException('no room', 'QuotaExceededError');
      Object.defineProperty(work, 'error', { value }); work.abort(); });
    return request; }; }"""
"""A database that takes a record and then cannot write it: the transaction is aborted with
QuotaExceededError, as W3C Indexed Database API 3.0 ('commit a transaction') has it for a full disk."""


def test_a_full_tablet_says_so_and_keeps_what_was_typed() -> None:
    """The database has no room: nothing is said to be kept, the box keeps the text."""
    with served() as server, browser() as chromium:
        context = chromium.new_context()
        context.add_init_script(FULL)
        page = opened(context, server.url)
        draft = begin(page, "Box 12")
        take(page, draft, "1L", "F2", "total_travel", "1.40")
        all_sent(page)
        server.down = True
        take(page, draft, "1L", "F11", "slide", "55")
        go(page, f"#/d/{draft}/1L/F12/tangential_play")
        page.wait_for_selector("article.check")
        page.evaluate("window.__full = true")
        page.fill("#reading", "1.1")
        page.press("#reading", "Enter")
        page.wait_for_selector(".said.unclear:has-text('This tablet is full')")
        assert page.input_value("#reading") == "1.1"
        assert "not kept" in page.inner_text("#report")
        assert page.locator(".kept").inner_text() == ""
        assert [event["field"] for event in events_in(page, "queue")] == ["slide"]
        page.evaluate("window.__full = false")
        page.press("#reading", "Enter")
        page.wait_for_function("() => !location.hash.includes('tangential_play')")
        server.down = False
        page.reload()
        page.wait_for_selector("html[data-ready]")
        all_sent(page)
        fields = [event["field"] for event in server.events.values()]
    assert fields == ["", "total_travel", "slide", "tangential_play"]


def test_a_refused_entry_stays_and_the_others_go_on() -> None:
    """The server refuses one field: it is named, stays in the queue, and goes when it is sent again."""
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url)
        draft = begin(page, "Box 12")
        server.refuse = {"slide"}
        take(page, draft, "1L", "F11", "slide", "55")
        take(page, draft, "1L", "F14", "guide_pin_boot", "sound")
        page.wait_for_function("() => document.querySelector('#unsent .count').textContent.startsWith('1 ')")
        go(page, "#/tablet")
        page.wait_for_selector("text=slide is refused today")
        assert [event["field"] for event in events_in(page, "queue")] == ["slide"]
        page.reload()
        page.wait_for_selector("text=slide is refused today")
        server.refuse = set()
        page.click("text=Send the refused ones again")
        all_sent(page)
        assert {event["field"] for event in server.events.values()} == {"", "slide", "guide_pin_boot"}


def test_an_end_that_the_server_refuses_is_no_end() -> None:
    """The finish is refused: the form says why and does not call the inspection finished."""
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url)
        draft = begin(page, "Box 12")
        take(page, draft, "1L", "F11", "slide", "55")
        all_sent(page)
        server.refuse = {""}
        go(page, f"#/d/{draft}/open")
        page.click("text=Finish the inspection")
        page.wait_for_function("() => document.querySelector('#unsent .count').textContent.startsWith('1 ')")
        go(page, f"#/d/{draft}")
        page.wait_for_selector(".notice:has-text('The server did not finish it')")
        assert page.locator(".notice:has-text('Finished')").count() == 0
        server.refuse = set()
        go(page, "#/tablet")
        page.click("text=Send the refused ones again")
        all_sent(page)
        assert [event["kind"] for event in server.events.values()] == ["start", "reading", "finish"]


@pytest.mark.parametrize(
    ("status", "words"), [(401, "log in again"), (413, "server refused"), (503, "server refused")]
)
def test_no_answer_of_the_server_stops_the_entry(status: int, words: str) -> None:
    """An expired login or a server in trouble: the form says so and goes on keeping."""
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url)
        draft = begin(page, "Box 12")
        all_sent(page)
        server.status = status
        take(page, draft, "1L", "F11", "slide", "55")
        take(page, draft, "1L", "F14", "guide_pin_boot", "sound")
        page.wait_for_selector(f"#unsent .state:has-text('{words}')")
        assert unsent(page).startswith("2 ")
        server.status = 200
        page.reload()
        page.wait_for_selector("html[data-ready]")
        all_sent(page)
        assert len(server.events) == 3


def test_lost_answers_double_nothing() -> None:
    """The server stores and its answer is lost twice: sent again, known, stored once, in order."""
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url)
        server.lose_answers = 2
        draft = begin(page, "Box 12")
        for spot in SPOTS:
            take(page, draft, "1L", "F5", "pad_inner", "9.8", spot)
        all_sent(page)
        assert len(server.received) > len(server.events) == 5
        assert [event["seq"] for event in server.events.values()] == [1, 2, 3, 4, 5]


def test_the_queue_goes_out_as_a_file_that_wearline_keep_reads(tmp_path: Path) -> None:
    """With the server away, the file from the tablet holds every entry, and ``wearline keep`` keeps it."""
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(accept_downloads=True), server.url)
        server.down = True
        draft = begin(page, "Box 12")
        for pad in PAD:
            for spot in SPOTS:
                take(page, draft, "1L", "F5", pad, "9.8", spot)
        take(page, draft, "1L", "F21", "rotor_runout", "0.14")
        page.wait_for_selector(".advice")
        page.keyboard.type("0.15\n")
        page.wait_for_selector(".said .shown:has-text('mean of 2')")
        go(page, f"#/d/{draft}/open")
        page.click("text=Finish the inspection")
        page.wait_for_selector("#report:has-text('Finished and kept')")
        go(page, "#/tablet")
        with page.expect_download() as download:
            page.click("text=Save to a file")
        path = tmp_path / "queue.json"
        download.value.save_as(path)
        queue = events_in(page, "queue")
        assert len(queue) == 12
    file = json.loads(path.read_text(encoding="utf-8"))
    assert file["schema"] == "wearline.events/1"
    assert file["events"] == sorted(queue, key=lambda event: event["seq"])
    words = ["keep", str(path), "--database", str(tmp_path / "shop.db")]
    done = subprocess.run(
        [sys.executable, "-m", "wearline", *words], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    with open_store(tmp_path / "shop.db") as store:
        readings = store.inspection(draft).inspection.wheel_ends[0].readings
    assert readings["pad_inner", "LT"].raw == "9.8 mm"
    assert readings["rotor_runout", ""].repeats == (0.00014, 0.00015)


def test_a_better_gauge_settles_an_undecided_reading() -> None:
    """0.14 mm against 0.15 mm with U 0.03 mm is undecided; by a gauge with u 0.002 mm it is within."""
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url)
        draft = begin(page, "Box 12")
        take(page, draft, "1L", "F21", "rotor_runout", "0.14")
        page.wait_for_selector(".advice:has-text('would settle it')")
        page.click("text=Better gauge")
        page.fill("#gauge-name", "dial-7")
        page.fill("#gauge-u", "0.002 mm")
        page.click("text=Take this gauge")
        page.wait_for_selector(".said:has-text('Now the reading with dial-7')")
        page.keyboard.type("0.14\n")
        page.wait_for_function("() => !location.hash.includes('rotor_runout')")
        all_sent(page)
        answer = server.draft(draft)
    reading = next(
        one for one in answer["judgement"]["wheel_ends"][0]["readings"] if one["check"] == "rotor_runout"
    )
    assert (reading["gauge"], reading["verdict"]) == ("dial-7", "within")


def _photograph_with_place() -> bytes:
    exif = Image.Exif()
    exif[0x010F] = "invented camera"
    exif.get_ifd(0x8825)[2] = (52.0, 30.0, 0.0)
    picture = Image.effect_noise((640, 480), 90).convert("RGB")
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=exif)
    return out.getvalue()


def test_photographs_are_kept_without_the_cameras_data_and_sent_later() -> None:
    """Camera and place are gone before the picture is stored; it survives a reload without a network."""
    content = _photograph_with_place()
    assert b"invented camera" in content
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url)
        draft = begin(page, "Box 12")
        all_sent(page)
        server.down = True
        go(page, f"#/d/{draft}/1L")
        page.set_input_files(
            "input[type=file]", {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": content}
        )
        page.wait_for_selector("#report:has-text('Photograph kept')")
        page.reload()
        page.wait_for_selector(".photo-list img")
        server.down = False
        page.evaluate("dispatchEvent(new Event('online'))")
        page.wait_for_function(
            "() => document.querySelector('#unsent .state')?.textContent === 'server reached'"
        )
        page.wait_for_timeout(300)
        (sent,) = server.photos.values()
    assert b"invented camera" not in sent
    assert b"Exif" not in sent
    (event,) = [each for each in server.events.values() if each["kind"] == "photo"]
    assert event["place"] == "1L"
    assert len(event["value"]["sha256"]) == 64


def test_plain_http_from_another_machine_is_said_and_still_keeps() -> None:
    """Without a secure context is no worker and no randomUUID: the page says so and keeps entries."""
    with served() as server, browser("--host-resolver-rules=MAP tablet.test 127.0.0.1") as chromium:
        url = f"http://tablet.test:{server.port}"
        page = opened(chromium.new_context(), url, stored=False)
        assert page.evaluate("[isSecureContext, 'randomUUID' in crypto]") == [False, False]
        assert page.is_visible("#insecure")
        draft = begin(page, "Box 12")
        take(page, draft, "1L", "F11", "slide", "55")
        all_sent(page)
        assert [event["field"] for event in server.events.values()] == ["", "slide"]


def test_storage_is_asked_to_stay() -> None:
    """The page asks the browser not to clear its storage."""
    with served() as server, browser() as chromium:
        context = chromium.new_context()
        context.add_init_script(
            "window.__asked = 0; const real = StorageManager.prototype.persist;"
            "StorageManager.prototype.persist = function () { window.__asked += 1; return real.call(this); };"
        )
        page = opened(context, server.url)
        assert page.evaluate("window.__asked") == 1
