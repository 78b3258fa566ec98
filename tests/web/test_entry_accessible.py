"""The form's states under WCAG 2.2 AA: axe-core, size of targets, reflow, contrast of the drawn parts."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from entry_server import WEB
from entry_support import begin, browser, go, opened, served, take
from playwright.sync_api import Page

from wearline.reports.palette import DARK, LIGHT, contrast_ratio

AXE = (Path(__file__).parent / "vendor/axe.min.js").read_text(encoding="utf-8")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
TARGET = 48
"""[CSS px] a gloved thumb; more than the 24 of WCAG 2.2, 2.5.8."""

VIEWS = {
    "start": "#/",
    "vehicle": "#/d/{draft}",
    "wheel end": "#/d/{draft}/1R",
    "pad corner": "#/d/{draft}/1R/F5/pad_outer/TB",
    "undecided": "#/d/{draft}/2L/F21/rotor_runout",
    "words": "#/d/{draft}/1R/F16/tappet_boot",
    "word or number": "#/d/{draft}/1R/F11/slide",
    "vehicle check": "#/d/{draft}/vehicle/W14/lamps",
    "open": "#/d/{draft}/open",
    "tablet": "#/tablet",
}
WIDTHS = {"phone": (390, 844), "tablet": (820, 1180), "desktop": (1280, 900)}


def _fill(page: Page) -> str:
    draft = begin(page, "Box 12", layout="2d")
    for spot, value in zip(("LT", "LB", "TT", "TB"), ("3.6", "3.4", "3.4", "2.2"), strict=True):
        take(page, draft, "1R", "F5", "pad_inner", value, spot)
    take(page, draft, "1R", "F5", "pad_outer", "13.2", "LT")
    take(page, draft, "1R", "F14", "guide_pin_boot", "torn")
    take(page, draft, "1L", "F2", "total_travel", "55 thou")
    take(page, draft, "2L", "F21", "rotor_runout", "0.14")
    return draft


def _show(page: Page, path: str) -> None:
    go(page, path)
    page.wait_for_timeout(120)
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    page.wait_for_timeout(60)


def _faults(page: Page) -> list[str]:
    found: dict[str, Any] = page.evaluate(
        "async (rules) => axe.run(document, { runOnly: { type: 'tag', values: rules } })", RULES
    )
    return [
        f"{fault['id']}: {node['target']} {node['failureSummary'][:160]}"
        for fault in found["violations"]
        for node in fault["nodes"]
    ]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_state_of_the_form_has_an_accessibility_fault(scheme: Any) -> None:
    """axe-core 4.14 finds nothing under WCAG 2.2 A and AA in any view, on phone and desktop."""
    with served() as server, browser() as chromium:
        context = chromium.new_context(color_scheme=scheme, reduced_motion="reduce", bypass_csp=True)
        page = opened(context, server.url, stored=False)
        draft = _fill(page)
        page.evaluate(AXE)
        faults = {}
        for width in ("phone", "desktop"):
            page.set_viewport_size(dict(zip(("width", "height"), WIDTHS[width], strict=True)))
            for name, path in VIEWS.items():
                _show(page, path.format(draft=draft))
                faults[f"{name}, {width}"] = _faults(page)
            _show(page, VIEWS["pad corner"].format(draft=draft))
            page.click("text=Cannot be measured")
            faults[f"cannot, {width}"] = _faults(page)
            page.click("text=Leave it")
            page.fill("#reading", "62")
            page.press("#reading", "Enter")
            page.wait_for_selector(".said.unclear")
            faults[f"impossible, {width}"] = _faults(page)
    assert {name: found for name, found in faults.items() if found} == {}


SMALL = """(least) => [...document.querySelectorAll('a[href], button, input, select, textarea, summary')]
  .filter((each) => each.checkVisibility() && !each.matches('.skip, .visually-hidden, [type=checkbox]'))
  .filter((each) => !(each.matches('a') && each.closest('p:not(.advised)')))
  .map((each) => [each.outerHTML.slice(0, 80), each.getBoundingClientRect()])
  .filter(([, box]) => box.width > 0 && (box.width < least - 0.5 || box.height < least - 0.5))
  .map(([html, box]) => `${html} ${box.width}x${box.height}`)"""


@pytest.mark.parametrize("width", list(WIDTHS))
def test_every_target_takes_a_gloved_thumb_and_nothing_runs_off_the_page(width: str) -> None:
    """Links, buttons and boxes are 48 px both ways; no view scrolls sideways, not at 320 px (WCAG 1.4.10)."""
    size = dict(zip(("width", "height"), WIDTHS[width], strict=True))
    with served() as server, browser() as chromium:
        context = chromium.new_context(
            viewport=size, has_touch=width != "desktop", is_mobile=width != "desktop"
        )
        page = opened(context, server.url, stored=False)
        draft = _fill(page)
        small, wide = {}, {}
        for name, path in VIEWS.items():
            _show(page, path.format(draft=draft))
            small[name] = page.evaluate(SMALL, TARGET)
            wide[name] = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        if width == "desktop":
            page.set_viewport_size({"width": 320, "height": 700})
            for name, path in VIEWS.items():
                _show(page, path.format(draft=draft))
                wide[f"{name} at 320"] = page.evaluate("document.documentElement.scrollWidth - 320")
    assert {name: found for name, found in small.items() if found} == {}
    assert {name: over for name, over in wide.items() if over > 0} == {}


def test_colours_are_those_of_the_reports_and_stand_out() -> None:
    """Text 4.5 to 1 and drawn parts 3 to 1 on their paper (WCAG 1.4.3, 1.4.11), in both themes."""
    css = (WEB / "static/entry/entry.css").read_text(encoding="utf-8")
    light, dark = re.findall(
        r"--paper: (#\w+); --panel: (#\w+); --ink: (#\w+); --muted: (#\w+); --rule: (#\w+);", css
    )
    hues = re.findall(r"--good: (#\w+); --beyond: (#\w+);", css)
    for palette, found, (good, beyond) in ((LIGHT, light, hues[0]), (DARK, dark, hues[1])):
        paper, panel, ink, muted, rule = found
        assert (paper, panel, ink, muted, rule, good, beyond) == tuple(palette.colours().values())
        for text in (ink, muted, good, beyond):
            assert contrast_ratio(text, paper) >= 4.5
            assert contrast_ratio(text, panel) >= 4.5
        assert contrast_ratio(rule, paper) >= 3


def test_the_ruler_says_in_words_what_it_shows() -> None:
    """The drawing has a text for those who do not see it, and form carries what colour says."""
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url, stored=False)
        draft = _fill(page)
        go(page, f"#/d/{draft}/1R/F5/pad_inner/TB")
        page.wait_for_selector(".said .shown")
        text = page.get_attribute("svg.ruler", "aria-label")
        shapes = page.evaluate("[...document.querySelectorAll('.ruler .halo')].map((each) => each.tagName)")
    assert "TB: 2.2 mm, beyond, probability within < 0.01" in str(text)
    assert "Limit at least 3 mm" in str(text)
    assert shapes == ["circle", "circle", "circle", "path"]
