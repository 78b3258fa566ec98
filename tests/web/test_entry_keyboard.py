"""The form from a keyboard alone, and with an instrument that types like one."""

from __future__ import annotations

from entry_support import all_sent, begin, browser, events_in, go, opened, served
from playwright.sync_api import Page


def _tab_to(page: Page, wanted: str, *, most: int = 60) -> None:
    """Press Tab until an element whose text or id is wanted has the focus; it must show that it has."""
    for _ in range(most):
        page.keyboard.press("Tab")
        found = page.evaluate("() => [document.activeElement.id, document.activeElement.innerText ?? '']")
        if wanted == found[0] or wanted in found[1]:
            outline = page.evaluate(
                "(({ outlineStyle: a, boxShadow: b }) => [a, b])(getComputedStyle(document.activeElement))"
            )
            assert outline != ["none", "none"], f"'{wanted}' does not show the focus"
            return
    raise AssertionError(f"Tab never reached '{wanted}'")


def test_a_vehicle_is_made_and_read_by_keyboard_alone() -> None:
    """Tab, Enter, Space, digits and Escape do everything; the focus always shows."""
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url)
        _tab_to(page, "vehicle-id")
        page.keyboard.type("Box 12")
        _tab_to(page, "Begin the walk round")
        page.keyboard.press("Enter")
        page.wait_for_selector(".walk")
        _tab_to(page, "2R")
        page.keyboard.press("Enter")
        page.wait_for_selector(".sheet h1:has-text('2R')")
        _tab_to(page, "total calliper travel", most=90)
        page.keyboard.press("Enter")
        page.wait_for_selector("article.check")
        page.keyboard.type("55 thou")
        page.wait_for_selector(".said strong:has-text('within')")
        page.keyboard.press("Enter")
        page.wait_for_function("() => location.hash.includes('adjuster_test')")
        page.keyboard.press("2")
        page.wait_for_function("() => !location.hash.includes('adjuster_test')")
        page.keyboard.press("Escape")
        page.wait_for_selector(".sheet h1:has-text('2R')")
        _tab_to(page, "slide of the calliper", most=120)
        page.keyboard.press("Enter")
        page.wait_for_selector("article.check")
        _tab_to(page, "Cannot be measured")
        page.keyboard.press("Enter")
        page.wait_for_selector("#reason")
        page.keyboard.type("calliper caged")
        page.keyboard.press("Enter")
        page.wait_for_function("() => !location.hash.includes('slide')")
        all_sent(page)
        readings = {event["field"]: (event["kind"], event["value"]) for event in server.events.values()}
        assert readings["total_travel"] == ("reading", "55 thou")
        assert readings["adjuster_test"] == ("reading", "does not advance")
        assert readings["slide"] == ("cannot", "calliper caged")


def test_an_instrument_types_eight_corners_without_a_pause() -> None:
    """Value, unit and Enter for eight corners in one burst: each lands in its own box, in order."""
    typed = ["9.8", "9.7 mm", "0.374 in", "9,3", "10.3", "10.2", "10.0 mm", "9.8"]
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url)
        draft = begin(page, "Box 12")
        go(page, f"#/d/{draft}/1L/F5/pad_inner/LT")
        page.wait_for_selector("article.check")
        page.keyboard.type("".join(f"{text}\n" for text in typed), delay=0)
        page.wait_for_function("() => !location.hash.includes('/F5/')")
        events = sorted(events_in(page, "queue", "kept"), key=lambda event: event["seq"])[1:]
    assert [(event["field"], event["spot"]) for event in events] == [
        (pad, spot) for pad in ("pad_inner", "pad_outer") for spot in ("LT", "LB", "TT", "TB")
    ]
    assert [event["value"] for event in events] == [
        "9.8 mm",
        "9.7 mm",
        "0.374 in",
        "9,3 mm",
        "10.3 mm",
        "10.2 mm",
        "10.0 mm",
        "9.8 mm",
    ]


def test_signs_typed_beside_the_box_land_in_it() -> None:
    """An instrument types although a button has the focus."""
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url)
        draft = begin(page, "Box 12")
        go(page, f"#/d/{draft}/1L/F2/total_travel")
        page.wait_for_selector("article.check")
        page.focus("text=Skip")
        page.keyboard.type("1.40")
        assert page.input_value("#reading") == "1.40"
