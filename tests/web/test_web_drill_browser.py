"""The drill's pages in a browser: a whole drill by keyboard without scripts, every page under axe-core."""

from __future__ import annotations

import json
import time
import urllib.parse
import urllib.request
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright
from test_web_accessible import ARGUMENTS, AXE, RULES, WIDTHS
from web_serving import Served

from wearline.app.drill_opening import case_of
from wearline.app.drill_routes import route_of


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("drill")
    route_of(case_of(4, 1), folder / "drills")
    running = Served(folder / "shop.db")
    running.start()
    yield running
    running.close()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        yield opened
        opened.close()


def ask(served: Served, path: str) -> Any:
    with urllib.request.urlopen(served.base + path, timeout=60) as answer:
        return json.load(answer)


def send(served: Served, path: str, **data: Any) -> None:
    body = {"csrf": ask(served, "/api/1/me")["csrf"], "person": "Axe"} | data
    urllib.request.urlopen(
        served.base + path, urllib.parse.urlencode(body, doseq=True).encode(), timeout=60
    ).close()


# ---------------------------------------------------------------- by keyboard


NAMED = """() => {
  const found = document.activeElement;
  return found === document.body ? ["", ""] : [found.id, (found.labels?.[0] ?? found).textContent];
}"""


def tab_to(page: Page, wanted: str, *, most: int = 120) -> None:
    """Press Tab until what has the focus is called so; it must show that it has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        found = page.evaluate(NAMED)
        if wanted == found[0] or wanted in " ".join(found[1].split()):
            outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert outline != "none", f"'{wanted}' does not show the focus"
            return
    raise AssertionError(f"Tab never reached '{wanted}'")


def press(page: Page, wanted: str) -> None:
    tab_to(page, wanted)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def test_a_whole_drill_by_keyboard_alone_and_without_scripts(served: Served, browser: Browser) -> None:
    """Name, level, test, cause, job and end: Tab, Enter, Space, arrows and signs do everything."""
    context = browser.new_context(java_script_enabled=False, viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(served.base + "/")
    press(page, "Drills")
    tab_to(page, "person")
    page.keyboard.type("Keyboard")
    press(page, "Go on")
    tab_to(page, "1 one fault")
    for _ in range(3):
        page.keyboard.press("ArrowDown")
    tab_to(page, "seed")
    page.keyboard.type("1")
    press(page, "Begin")
    assert page.locator(".clock b").text_content() == "0"
    tab_to(page, "Wheel off 13 min")
    page.keyboard.press("Enter")
    press(page, "F2 total travel")
    tab_to(page, "2R 4 min + 13 min to get there")
    page.keyboard.press("Space")
    press(page, "Do the test")
    assert page.url.endswith("#last")
    assert page.locator(".clock b").text_content() == "17"
    assert "total calliper travel" in (page.locator("#last").text_content() or "")
    press(page, "Enough is known: decide")
    tab_to(page, "cause")
    page.keyboard.type("A3")
    tab_to(page, "at")
    page.keyboard.type("wheel end 2R")
    press(page, "Blame this cause")
    assert "A3 adjuster does not hold, 2R" in " ".join(page.locator(".decided").all_text_contents())
    for situation in ("S1 pads, all four of the axle, axle 2", "S5 calliper exchange, axle 2"):
        tab_to(page, situation)
        page.keyboard.press("Space")
    press(page, "Order what is ticked")
    press(page, "End the drill and score it")
    deadline = time.monotonic() + 30
    while page.locator("h1").text_content() == "Being scored":
        assert time.monotonic() < deadline
        press(page, "Look again")
    assert "of 100 points" in (page.locator("h1").text_content() or "")
    assert page.get_by_text("found it", exact=True).count() == 1
    press(page, "To the drills")
    assert page.locator("tbody tr").count() == 1
    context.close()


# ---------------------------------------------------------------- for everybody


@pytest.fixture(scope="module")
def pages(served: Served) -> dict[str, str]:
    """Every page in the states that it can be in."""
    send(served, "/drill/begin", level=4, seed=1)
    head = ask(served, "/drill/now.json?person=Axe")["head"]
    mine = {"drill": head["id"]}
    send(served, "/drill/decide", **mine, step=0, act="blame", cause="A1", at="2L")
    send(served, "/drill/decide", **mine, step=1, act="order", work=["S1 1", "S5 2"])
    send(served, "/drill/score", **mine, step=3)
    score = f"/drill/score?drill={head['id']}&person=Axe"
    deadline = time.monotonic() + 60
    while ask(served, score.replace("/score?", "/score.json?"))["answer"] is None:
        assert time.monotonic() < deadline
        time.sleep(0.2)
    send(served, "/drill/begin", level=3, seed=2)
    head = ask(served, "/drill/now.json?person=Axe")["head"]
    mine = {"drill": head["id"]}
    send(served, "/drill/test", **mine, step=0, test="F5", at=["1L", "1R"])
    send(served, "/drill/decide", **mine, step=2, act="blame", cause="G4", at="1L")
    send(served, "/drill/decide", **mine, step=3, act="order", work=["S2 1"])
    found = {"who": "/drill", "other": "/drill?person=Other", "open": "/drill?person=Axe", "score": score}
    found |= {name: f"/drill/{name}?person=Axe" for name in ("now", "decide")}
    found |= {test: f"/drill/test?test={test}&person=Axe" for test in ("F2", "F5", "W9")}
    papers = "/drill/class?level=6&cases=2&seed=3"
    return found | {"refused": "/drill/test?test=F99&person=Axe", "class": "/drill/class", "papers": papers}


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
def test_no_drill_page_has_a_fault(
    served: Served, browser: Browser, pages: dict[str, str], width: str, theme: Any
) -> None:
    across, down = WIDTHS[width]
    context = browser.new_context(viewport={"width": across, "height": down}, color_scheme=theme)
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    for name, path in pages.items():
        page.goto(served.base + path)
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
    assert [line for line in said if "404" not in line] == []
    context.close()


def test_the_waiting_page_goes_on_by_itself_where_there_are_scripts(
    served: Served, browser: Browser, pages: dict[str, str]
) -> None:
    """Level 3 with seed 2 takes seconds to be scored: the page says so, and opens again when it is."""
    assert pages
    page = browser.new_page()
    page.goto(served.base + "/drill/decide?person=Axe")
    page.get_by_role("button", name="End the drill and score it").click()
    page.wait_for_function(
        "document.querySelector('h1').textContent.includes('of 100 points')", timeout=60_000
    )
    page.close()


def test_the_drill_prints_without_forms(served: Served, browser: Browser, pages: dict[str, str]) -> None:
    page = browser.new_page()
    page.emulate_media(media="print")
    page.goto(served.base + pages["score"])
    assert page.locator("h2").first.is_visible()
    assert page.locator("nav").first.is_hidden()
    assert page.locator(".actions a").first.is_hidden()
    page.close()
