"""Pages that meet what does not fit: other axles, a maker's own limits, a page that is cited, long work."""

from __future__ import annotations

import io
import json
import re
import time
from datetime import date
from pathlib import Path
from urllib.parse import urldefrag

import pytest
from pypdf import PdfReader
from test_web_pages import keep, pdf
from web_entries import CASES, Tablet

from wearline.errors import InputError, ProgramFault
from wearline.web.beside import Beside
from wearline.web.config import ServeConfig
from wearline.web.draft_memory import DraftMemory
from wearline.web.shop import Shop
from wearline.web.stored_answers import Workbench

MAKER = """
document = "Bulletin of an invented maker, page 1 of the register"
date = 2024-05-01
part_number = "INV-1"
valid_from = 2024-06-01
designs = ["generic-22.5"]

[[limit]]
id = "pad_service"
published = "{minimum}"
locator = "page 3"
"""


def add_limits(web, csrf, minimum):
    files = {"file": ("maker.toml", MAKER.format(minimum=minimum).encode())}
    answer = web.post("/catalogue/files", data={"csrf": csrf(web)}, files=files)
    assert answer.status_code == 200, answer.text


def keep_text(web, text):
    headers = {"content-type": "application/toml"}
    answer = web.post("/api/1/inspections", content=text.encode(), headers=headers)
    assert answer.status_code == 200, answer.text
    return answer.json()["id"]


def case_of_day(day, **changes):
    """Case A1 on another day, with texts replaced."""
    text = (CASES / "A1.toml").read_text(encoding="utf-8").replace("2026-09-14", day)
    for old, new in changes.items():
        text = text.replace(old, new)
    return text


def with_other_axles(day):
    """The same vehicle with the axles and readings of case A4, which has other axles."""
    text = (CASES / "A4.toml").read_text(encoding="utf-8")
    return re.sub(r'id = "A4"', 'id = "A1"', re.sub(r"taken_on = \S+", f"taken_on = {day}", text))


def test_two_inspections_with_other_axles_are_an_ordinary_page_that_says_so(web):
    """The page names both inspections and their axles, and the one that fits stands first in the list."""
    fitting = keep_text(web, case_of_day("2026-09-01"))
    other = keep_text(web, with_other_axles("2026-09-10"))
    left = keep(web, "A1")
    page = web.get(f"/inspections/{left}/proof", params={"before": other})
    assert page.status_code == 200
    assert "do not describe the same axles" in page.text
    assert "the one of 2026-09-10 has axle" in page.text
    assert "the one of 2026-09-14 has axles 1, 2" in page.text
    assert f"/inspections/{other}/readings" in page.text
    assert page.text.index(f'value="{fitting}"') < page.text.index(f'value="{other}"')
    twin = web.get(f"/inspections/{left}/proof.json", params={"before": other}).json()
    assert twin["answer"] is None
    assert [(each["id"], bool(each["misfit"])) for each in twin["choices"]] == [
        (fitting, False),
        (other, True),
    ]
    by_itself = web.get(f"/inspections/{left}/proof.json").json()
    assert by_itself["before"]["id"] == fitting, "without a choice the one that fits is compared"
    assert by_itself["answer"]["schema"] == "wearline.proof/1"


def test_where_no_earlier_inspection_fits_the_proof_page_says_that_too(web):
    keep_text(web, with_other_axles("2026-09-10"))
    left = keep(web, "A1")
    page = web.get(f"/inspections/{left}/proof")
    assert page.status_code == 200
    assert "No earlier inspection of this vehicle fits." in page.text


def test_a_proof_is_worked_out_once_and_read_from_the_store(web):
    keep_text(web, case_of_day("2026-09-01"))
    left = keep(web, "A1")
    first = web.get(f"/inspections/{left}/proof.json").json()["answer"]
    web.app.state.recent.judged = None  # whoever judges again fails
    assert web.get(f"/inspections/{left}/proof.json").json()["answer"] == first


@pytest.fixture
def fleet(web, csrf):
    web.post("/demonstration", data={"csrf": csrf(web)})
    return web


def worked_out(web, csrf, page):
    web.post(f"/{page}", data={"csrf": csrf(web)})
    for _ in range(600):
        state = web.get(f"/{page}.json").json()["state"]
        if not state["working"]:
            assert state["fault"] == ""
            return state["answer"]
        time.sleep(0.1)
    raise AssertionError("it takes more than a minute")


def test_outlook_and_plan_use_the_makers_limits_of_the_shop(fleet, csrf):
    """A greater minimum is met after fewer kilometres: 3 mm is the generic one, 6 mm the invented maker's."""
    before = worked_out(fleet, csrf, "outlook")
    plan_before = worked_out(fleet, csrf, "plan")
    add_limits(fleet, csrf, "6 mm")
    state = fleet.get("/outlook.json").json()["state"]
    assert (state["older"], state["answer"] == before) == (True, True), "the old answer stays, and says so"
    after = worked_out(fleet, csrf, "outlook")
    assert fleet.get("/outlook.json").json()["state"]["older"] is False
    km = [
        {(axle["vehicle"], axle["axle"]): axle["km_median"] for axle in answer["axles"]}
        for answer in (before, after)
    ]
    kept = fleet.app.state.shop.store.vehicles()
    designs = {(each.id, axle.id): axle.design for each in kept for axle in each.vehicle.axles}
    own = [key for key in km[0] if designs[key] == "generic-22.5"]
    assert own
    assert all(km[1][key] <= km[0][key] for key in own)
    assert any(km[1][key] < km[0][key] - 1000 for key in own)
    plan_after = worked_out(fleet, csrf, "plan")
    assert [each["week"] for each in plan_after["bookings"]] != [
        each["week"] for each in plan_before["bookings"]
    ]


def test_an_answer_outlives_the_program_and_says_that_something_was_kept_since(web, csrf):
    keep(web, "A1")
    made = worked_out(web, csrf, "outlook")
    keep(web, "A4")
    state = web.app.state
    started_again = Workbench(state.shop, state.index, Beside(state.shop)).look("outlook")
    assert (started_again.answer, started_again.older) == (made, True)


def test_a_makers_limit_opens_its_document_at_the_cited_page(web, csrf):
    """``#page=3`` opens a PDF at its third page (RFC 8118, section 3), and there it is."""
    add_limits(web, csrf, "4 mm")
    content = pdf("title of an invented bulletin", "nothing of use", "pad friction at least 4 mm")
    data = {"csrf": csrf(web), "source_key": "Bulletin of an invented maker, page 1 of the register"}
    web.post("/shelf", data=data, files={"file": ("b.pdf", content, "application/pdf")})
    page = web.get("/catalogue", params={"section": "limits", "design": "generic-22.5"}).text
    row = page[page.index('id="limit-pad_service"') :].split("</tr>", 1)[0]
    assert "at least 4 mm" in row
    link = re.search(r'href="(/shelf/[^"]+)"', row)
    assert link is not None
    address, fragment = urldefrag(link[1])
    assert fragment == "page=3"
    answer = web.get(address)
    assert answer.headers["content-type"] == "application/pdf"
    cited = PdfReader(io.BytesIO(answer.content)).pages[int(fragment.removeprefix("page=")) - 1]
    assert "at least 4 mm" in cited.extract_text()


def day_of(shop: Shop, text: str) -> str:
    """A task for the other process."""
    return f"{shop.now.date().isoformat()} {text} {shop.settings().units}"


def refuse(shop: Shop) -> None:
    del shop
    raise InputError("it is wrong", where="here", allowed="something else", cure="mend it")


def fail(shop: Shop) -> None:
    del shop
    raise ValueError("a fault")


def end(shop: Shop) -> None:
    del shop
    raise SystemExit(3)


def test_long_work_runs_in_a_process_of_its_own_with_the_servers_clock(tmp_path: Path, clock, capfd):
    shop = Shop(ServeConfig(str(tmp_path / "b.db"), beside=True), clock)
    beside = Beside(shop)
    try:
        today = date(2026, 10, 1).isoformat()
        assert beside.ask(day_of, "metric is") == f"{today} metric is metric"
        shop.save_settings({"units": "inch"}, "somebody")
        assert beside.ask(day_of, "now") == f"{today} now inch", "what the server changed holds there too"
        with pytest.raises(InputError, match="it is wrong") as refused:
            beside.ask(refuse)
        assert refused.value.as_plain()["cure"] == "mend it"
        with pytest.raises(ProgramFault, match="ValueError"):
            beside.ask(fail)
        with pytest.raises(ProgramFault, match="ended before it answered"):
            beside.ask(end)
        assert beside.ask(day_of, "again") == f"{today} again inch", "a process that ended is started again"
    finally:
        beside.close()
        shop.close()
    assert "ValueError: a fault" in capfd.readouterr().err


def test_the_server_prepares_causes_job_and_proof_of_the_latest_inspection(tmp_path: Path, clock):
    """With a process beside it, the first look at these pages reads what is stored."""
    from starlette.testclient import TestClient

    from wearline.web.application import create_app

    app = create_app(ServeConfig(str(tmp_path / "a.db"), beside=True), clock)
    with TestClient(app, base_url="http://127.0.0.1:8642") as web:
        keep_text(web, case_of_day("2026-09-01"))
        left = keep(web, "A1")
        store, overview = app.state.shop.store, app.state.shop.overview
        digest = store.inspection(left).digest
        versions = (app.version, app.state.shop.catalogue().version)
        for _ in range(300):
            done = [kind for kind in ("why", "job:guarded") if overview.stored(kind, [digest], *versions)]
            if len(done) == 2 and overview.newest_result("proof:guarded", app.version) is not None:
                break
            time.sleep(0.1)
        app.state.recent.judged = None  # whoever judges again fails
        for page in ("causes", "job", "proof"):
            assert web.get(f"/inspections/{left}/{page}").status_code == 200
        row = json.loads(web.get("/fleet.json").text)["rows"][0]
        assert row["card"]["level"] is not None


def test_a_draft_that_is_remembered_gets_what_came_since(web):
    """Only new entries are read; the answer is the same as if all of them were read anew."""
    tablet = Tablet()
    entries = tablet.case("A1")[:-1]
    texts = []
    for part in (entries[:40], entries[40:80], entries[80:]):
        web.post("/api/1/events", json={"events": part})
        texts.append(web.get(f"/api/1/drafts/{tablet.draft}").json())
    assert [len(answer["events"]) for answer in texts] == [40, 80, len(entries)]
    shop = web.app.state.shop
    remembered = shop.drafts.events(tablet.draft)
    assert remembered == DraftMemory(shop.events).events(tablet.draft)
    assert [event.id for event in remembered] == [entry["id"] for entry in entries]
    assert shop.events.texts_after(tablet.draft, 10**9) == []
    assert shop.drafts.events("none") == []


def test_a_week_with_many_bookings_shows_the_first_and_leads_to_all(web):
    """A fleet with many shops books more in a week than a page shows; nothing is dropped without a word."""
    state = web.app.state
    booking = {"week": 1, "shop": "s", "begins_on": "2026-09-28", "axles": ["1"], "hours": 2.0, "risk": 0.01}
    bookings = [booking | {"vehicle": f"V {number}", "because": []} for number in range(50)]
    answer = {"schema": "wearline.plan/1", "bookings": bookings, "orders": [], "not_possible": []}
    about = (state.bench._digest(), state.shop.catalogue().version)
    state.bench._work("plan", about, lambda: answer)
    text = web.get("/plan").text
    assert text.count("/vehicle?id=V%20") == 20
    assert 'href="/plan?week=1"' in text
    assert web.get("/plan", params={"week": "1"}).text.count("/vehicle?id=V%20") == 50
    assert web.get("/plan", params={"week": "99"}).status_code == 200
