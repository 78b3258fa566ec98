"""Every page under axe-core, at three widths and in both themes; no page scrolls sideways."""

from __future__ import annotations

import json
import time
import urllib.parse
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Browser, sync_playwright
from test_web_gaps import MAKER, case_of_day, with_other_axles
from test_web_pages import pdf
from web_entries import Tablet
from web_serving import Served

from wearline.web.pages import routers
from wearline.web.pages.inspection import TABS

AXE = (Path(__file__).parent / "vendor/axe.min.js").read_text(encoding="utf-8")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
WIDTHS = {"phone": (390, 844), "tablet": (820, 1180), "desktop": (1440, 900)}
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The program with the invented fleet, and something to show on every page."""
    served = Served(tmp_path_factory.mktemp("axe") / "axe.db")
    served.start()
    token = ask(served, "/api/1/me")["csrf"]
    body = urllib.parse.urlencode({"csrf": token}).encode()
    urllib.request.urlopen(served.base + "/demonstration", body, timeout=120).close()
    fill_pages(served, token)
    first = Tablet(by="A")
    second = Tablet(draft=first.draft, by="B", clock=0.5)
    entries = [first.start(), *first.case_entries("A1"), second.reading("1L", "slide", "90 N")]
    entries.append(first.reading("2R", "slide", "forty-ish"))
    request = urllib.request.Request(
        served.base + "/api/1/events",
        json.dumps({"events": entries}).encode(),
        {"content-type": "application/json"},
    )
    urllib.request.urlopen(request, timeout=60).close()
    yield served
    served.close()


def fill_pages(served: Served, csrf: str) -> None:
    """Forecast and plan, a document, a maker's limits, people, a signature, inspections that do not fit."""
    with httpx.Client(base_url=served.base, timeout=120, follow_redirects=True) as client:

        def send(path: str, file: tuple[str, bytes] | None = None, **fields: str) -> None:
            files = None if file is None else {"file": file}
            answer = client.post(path, data={"csrf": csrf, **fields}, files=files)
            assert answer.status_code == 200, (path, answer.text[:300])

        source = "Bulletin of an invented maker, page 1 of the register"
        send("/shelf", ("b.pdf", pdf("an invented bulletin", "rotor and pads")), source_key=source)
        send("/catalogue/files", ("maker.toml", MAKER.format(minimum="4 mm").encode()))
        may = {"name": "chief", "shown_name": "Chief", "qualification": "invented", "roles": "administers"}
        send("/people", password="four words of a test", **may)
        send("/people/tokens", account="chief", purpose="a test", **{"role administers": "yes"})
        for text in (with_other_axles("2026-09-10"), case_of_day("2026-09-14")):
            kept = client.post(
                "/inspections/keep", data={"csrf": csrf}, files={"file": ("a.toml", text.encode())}
            )
            assert kept.status_code == 200, kept.text[:300]
        one = kept.url.path
        digest = ask(served, f"/api/1/inspections/{one.rsplit('/', 1)[1]}")["digest"]
        send(f"{one}/sign", digest=digest, name="N. N.", qualification="invented", stand="yes")
        for page in ("outlook", "plan"):
            send(f"/{page}")
            for _ in range(300):
                state = client.get(f"/{page}.json").json()["state"]
                if not state["working"]:
                    break
                time.sleep(0.2)
            assert state["answer"] is not None, state["fault"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        yield opened
        opened.close()


def ask(served: Served, path: str) -> Any:
    with urllib.request.urlopen(served.base + path, timeout=60) as answer:
        return json.load(answer)


def pages(served: Served) -> dict[str, str]:
    row = ask(served, "/fleet.json?sort=level&dir=down")["rows"][0]
    draft = ask(served, "/api/1/drafts")["drafts"][0]["id"]
    one = f"/inspections/{row['inspection']}"
    vehicle = urllib.parse.quote(ask(served, "/outlook.json")["axles"][0]["vehicle"])
    plain = ("inspections", "drafts", "catalogue", "shelf", "sheet", "records", "settings", "people", "audit")
    found = {name: f"/{name}" for name in (*plain, "login", "nothing")}
    found |= {"fleet": "/", "vehicle": f"/vehicle?id={vehicle}", "draft": f"/drafts/{draft}"}
    found |= {f"catalogue {part}": f"/catalogue?section={part}" for part in ("checks", "rules", "files")}
    found |= {"outlook": "/outlook", "plan": "/plan", "shelf, searched": "/shelf?q=rotor"}
    found["document"] = f"/shelf/{ask(served, '/shelf.json')['documents'][0]['sha256']}"
    signed = ask(served, "/inspections.json?q=A1&all=1")
    found["signed"] = f"/inspections/{signed['signed'][0]}"
    found["proof without a fit"] = f"{found['signed']}/proof"
    tabs = [tab for tab, _ in TABS if tab != "overview"]
    return found | {"overview": one} | {tab: f"{one}/{tab}" for tab in tabs}


def test_every_page_that_the_program_has_is_looked_at_with_something_on_it(fleet: Served) -> None:
    """A page that is added, or that has nothing to show, is missing here; drills and entry have their own."""
    seen = {urllib.parse.urlsplit(path).path for path in pages(fleet).values()}
    shown = {route_of(path) for path in seen}
    every = {
        route.path
        for router in routers()
        for route in router.routes
        if "GET" in route.methods and not route.path.startswith("/drill")
    }
    files = (".json", ".pdf", ".toml", ".jsonl", "/file", ".webmanifest", ".ico", "/entry")
    assert {path for path in every if not path.endswith(files)} - shown == set()
    assert ask(fleet, "/outlook.json")["axles"]
    assert any(bookings for _, _, bookings, _ in ask(fleet, "/plan.json")["weeks"])
    assert ask(fleet, "/shelf.json?q=rotor")["found"]
    assert ask(fleet, "/people.json")["accounts"]
    assert ask(fleet, "/catalogue.json?section=files")["files"]
    assert ask(fleet, pages(fleet)["proof without a fit"] + ".json")["before"]["misfit"]
    fitting = ask(fleet, pages(fleet)["vehicle"].replace("/vehicle?", "/vehicle.json?"))
    assert fitting["trends"]
    assert fitting["outlook"]


def route_of(path: str) -> str:
    parts = path.strip("/").split("/")
    named = {"inspections": "{inspection}", "drafts": "{draft}", "shelf": "{sha256}"}
    if parts[0] in named and len(parts) > 1:
        parts[1] = named[parts[0]]
    return "/" + "/".join(parts)


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
def test_no_page_has_a_fault(fleet: Served, browser: Browser, width: str, theme: Any) -> None:
    across, down = WIDTHS[width]
    context = browser.new_context(viewport={"width": across, "height": down}, color_scheme=theme)
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    for name, path in pages(fleet).items():
        page.goto(fleet.base + path)
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        page.evaluate(AXE)
        found = page.evaluate("(rules) => axe.run(document, {runOnly: {type: 'tag', values: rules}})", RULES)
        faults = [
            (fault["id"], node["html"][:160], node["failureSummary"][:200])
            for fault in found["violations"]
            for node in fault["nodes"][:2]
        ]
        assert faults == [], name
        assert len(found["passes"]) > 10, name
        wider = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wider <= 0, name
    missing = [line for line in said if "404" not in line]
    assert missing == [], "the content policy holds for everything that the pages load"
    context.close()


def test_tables_sort_and_narrow_by_keyboard(fleet: Served, browser: Browser) -> None:
    page = browser.new_page()
    page.goto(fleet.base + "/catalogue?section=checks")
    before = page.locator("tbody tr").count()
    page.get_by_label("Narrow the list").press_sequentially("rotor run-out")
    assert 0 < page.locator("tbody tr:visible").count() < before
    page.get_by_label("Narrow the list").fill("")
    heading = page.get_by_role("button", name="id", exact=True)
    heading.focus()
    page.keyboard.press("Enter")
    first = [page.locator("tbody tr th").nth(number).text_content() for number in range(3)]
    assert first == sorted(first, key=str.lower)
    page.keyboard.press("Enter")
    assert page.locator("th[aria-sort=descending]").count() == 1
    page.close()


def test_without_scripts_the_fleet_sorts_and_is_searched(fleet: Served, browser: Browser) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(fleet.base + "/")
    page.get_by_role("link", name="vehicle", exact=True).click()
    names = page.locator("tbody th a").all_text_contents()
    assert names == sorted(names, key=str.casefold)
    page.get_by_label("Vehicle, finding or work").fill("bus")
    page.get_by_role("button", name="Find").click()
    rows = ask(fleet, "/fleet.json?sort=vehicle")["rows"]
    buses = [row["vehicle"] for row in rows if "bus" in f"{row['vehicle']} {row['description']}".casefold()]
    assert page.locator("tbody th a").all_text_contents() == buses
    assert 0 < len(buses) < len(rows)
    context.close()


def test_the_theme_switch_holds(fleet: Served, browser: Browser) -> None:
    context = browser.new_context(color_scheme="light")
    page = context.new_page()
    page.goto(fleet.base + "/catalogue?section=checks")
    page.get_by_role("button", name="dark", exact=True).click()
    assert page.url.endswith("/catalogue?section=checks")
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert ground == "rgb(20, 25, 28)"
    context.close()
