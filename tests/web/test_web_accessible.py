"""Every page under axe-core, at three widths and in both themes; no page scrolls sideways."""

from __future__ import annotations

import json
import urllib.parse
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, sync_playwright
from web_entries import Tablet
from web_serving import Served

from wearline.web.pages.inspection import TABS

AXE = (Path(__file__).parent / "vendor/axe.min.js").read_text(encoding="utf-8")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
WIDTHS = {"phone": (390, 844), "tablet": (820, 1180), "desktop": (1440, 900)}
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The program with the invented fleet, and a draft in which two tablets contradict."""
    served = Served(tmp_path_factory.mktemp("axe") / "axe.db")
    served.start()
    token = ask(served, "/api/1/me")["csrf"]
    body = urllib.parse.urlencode({"csrf": token}).encode()
    urllib.request.urlopen(served.base + "/demonstration", body, timeout=120).close()
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
    vehicle = urllib.parse.quote(row["vehicle"])
    plain = ("inspections", "drafts", "catalogue", "shelf", "sheet", "records", "settings", "people", "audit")
    found = {name: f"/{name}" for name in (*plain, "login", "nothing")}
    found |= {"fleet": "/", "vehicle": f"/vehicle?id={vehicle}", "draft": f"/drafts/{draft}"}
    found |= {f"catalogue {part}": f"/catalogue?section={part}" for part in ("checks", "rules", "files")}
    tabs = [tab for tab, _ in TABS if tab != "overview"]
    return found | {"overview": one} | {tab: f"{one}/{tab}" for tab in tabs}


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
    assert page.locator("tbody tr").count() == 2
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
