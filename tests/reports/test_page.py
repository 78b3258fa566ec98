"""The report as a page: self-contained, escaped, readable in light and dark, and the page of a fleet."""

import re
from datetime import date
from html.parser import HTMLParser
from itertools import pairwise

import pytest
import report_scenes as scenes

from wearline.reports.page import FleetEntry, fleet_page, render_html
from wearline.reports.palette import DARK, LIGHT

DAY = date(2026, 9, 15)
VOID = {"meta", "br", "hr", "img", "link", "input"}


class Outline(HTMLParser):
    """Collects what a page holds and checks that its elements nest."""

    def __init__(self):
        super().__init__()
        self.open, self.ids, self.hrefs, self.tags, self.said = [], [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.ids += [value for name, value in attrs if name == "id"]
        self.hrefs += [value for name, value in attrs if name == "href"]
        assert not [name for name, _ in attrs if name.startswith("on")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.said.append(data)


def outline(page):
    parser = Outline()
    parser.feed(page)
    parser.close()
    assert parser.open == []
    return parser


def said(page):
    return re.sub(r"\s+", " ", " ".join(outline(page).said))


@pytest.fixture(scope="module")
def page(catalogue):
    return render_html(*scenes.scene(2, 2, kind="combination"), catalogue=catalogue, generated_on=DAY)


def test_the_page_needs_no_other_host_and_no_script(page):
    assert "http:" not in page
    assert "https:" not in page
    assert "url(" not in page
    assert "@import" not in page
    parsed = outline(page)
    assert not {"script", "link", "img", "iframe", "object"} & set(parsed.tags)


def test_every_link_leads_to_a_place_in_the_page_and_names_are_used_once(page):
    parsed = outline(page)
    assert len(parsed.ids) == len(set(parsed.ids))
    assert {target[1:] for target in parsed.hrefs} <= set(parsed.ids)
    for place in ("1L", "1R", "2L", "2R", "T1L", "T1R", "T2L", "T2R"):
        assert f"end-{place}" in parsed.ids


def test_the_page_says_what_the_paper_says(page):
    _, _, road, plan = scenes.scene(2, 2, kind="combination")
    text = said(page)
    for caution in [
        *plan.cautions,
        *(each for job in plan.axles for step in job.steps for each in step.cautions),
    ]:
        assert caution in text
    for reason in road.reasons:
        assert reason.text in text
    for pack in road.packs:
        for rule in pack.rules:
            assert rule.rule in text
            assert rule.citation in text
    for answer in (road.answers.part, road.answers.brake, road.answers.capability, road.answers.law):
        assert answer in text
    assert plan.decides in text


def test_text_that_people_type_stays_text(catalogue):
    page = render_html(
        *scenes.scene(2, note=scenes.HOSTILE, inspector='"><img src=x onerror=alert(1)>{{ 7*7 }}'),
        catalogue=catalogue,
        generated_on=DAY,
    )
    parsed = outline(page)
    assert "script" not in parsed.tags
    assert "img" not in parsed.tags
    assert scenes.HOSTILE in " ".join(parsed.said)
    assert '"><img src=x onerror=alert(1)>{{ 7*7 }}' in " ".join(parsed.said)


def test_control_characters_and_turned_text_are_left_out(catalogue):
    page = render_html(*scenes.scene(1, note="a\x00b \u202e5.0"), catalogue=catalogue, generated_on=DAY)
    assert "ab 5.0" in page
    assert "\x00" not in page


def test_both_papers_define_every_colour_that_the_drawings_use(page):
    used = set(re.findall(r'class="(?:f-|s-)?[^"]*?\b[fs]-([a-z]+)', page))
    assert used <= set(LIGHT.colours())
    dark = page[page.index("prefers-color-scheme: dark") :]
    for name, colour in DARK.colours().items():
        assert f"--{name}: {colour};" in dark
    for name in LIGHT.colours():
        assert f".f-{name} {{ fill: var(--{name}); }}" in page
        assert f".s-{name} {{ stroke: var(--{name}); }}" in page


def test_the_page_has_one_title_and_a_language(page):
    parsed = outline(page)
    assert parsed.tags.count("h1") == 1
    assert '<html lang="en">' in page
    levels = [int(tag[1]) for tag in parsed.tags if re.fullmatch("h[1-6]", tag)]
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_the_same_input_gives_the_same_bytes(catalogue):
    pages = [render_html(*scenes.scene(3), catalogue=catalogue, generated_on=DAY) for _ in range(2)]
    assert pages[0] == pages[1]


def entry(vehicle, day, level=1, links=()):
    return FleetEntry(
        vehicle,
        "invented truck",
        day,
        1.0e8,
        level,
        "go, planned repair",
        "1R is beyond",
        "pads",
        tuple(links),
    )


def test_a_fleet_stands_vehicle_by_vehicle_in_the_order_of_days():
    page = fleet_page(
        [entry("B", date(2026, 5, 1), 3), entry("A", date(2026, 1, 1)), entry("B", date(2025, 5, 1), 0)],
        title="Invented fleet",
        generated_on=DAY,
        notes=("Nothing here is real.",),
    )
    text = said(page)
    assert text.index("2025-05-01") < text.rindex("2026-05-01")
    assert "Nothing here is real." in text
    assert "releases no vehicle" in text
    parsed = outline(page)
    assert {"vehicle-1-b", "vehicle-2-a", "now"} <= set(parsed.ids)
    assert {target[1:] for target in parsed.hrefs} <= set(parsed.ids)
    assert "http" not in page


@pytest.mark.parametrize(
    "target",
    [
        "javascript:alert(1)",
        "https://example.org/x",
        "//example.org/x",
        "data:text/html,x",
        " JavaScript:x",
        "\\\\h\\x",
    ],
)
def test_a_link_never_leads_to_another_host_or_into_a_script(target):
    page = fleet_page(
        [entry("A", date(2026, 1, 1), links=[("paper", target)])], title="Fleet", generated_on=DAY
    )
    assert target not in outline(page).hrefs
    assert "paper" in said(page)


def test_links_to_files_beside_the_page_are_kept():
    links = [("PDF", "A-2026-01-01.pdf"), ("page", "pages/a.html#end-1L")]
    page = fleet_page([entry("A", date(2026, 1, 1), links=links)], title="Fleet", generated_on=DAY)
    assert {"A-2026-01-01.pdf", "pages/a.html#end-1L"} <= set(outline(page).hrefs)


def test_names_of_vehicles_without_latin_letters_get_a_place_of_their_own():
    page = fleet_page(
        [entry("日本", date(2026, 1, 1)), entry("<b>", date(2026, 1, 1))], title="Fleet", generated_on=DAY
    )
    parsed = outline(page)
    assert {"vehicle-1", "vehicle-2-b"} <= set(parsed.ids)
    assert "b" not in parsed.tags
