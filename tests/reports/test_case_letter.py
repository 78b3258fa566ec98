"""The letter of a specialist: one page, the right causes, drawings, what to stop; hostile and long texts.

Outside checks: papers are read back with pypdf, drawings are parsed as XML; the causes expected of the
acceptance inspections are the invented truth behind them.
"""

import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader

from wearline.app.case_letter import write_case_letter
from wearline.app.judging import Request, open_inspection
from wearline.assessment.assemble import judge
from wearline.assessment.road import decide_road
from wearline.catalogue.loading import load_catalogue
from wearline.cli.main import run
from wearline.diagnosis.explain import explain
from wearline.errors import InputError, StorageError
from wearline.reports.case_letter import CaseLetter, NextStep, case_letter, render_case_letter_pdf
from wearline.reports.gauge_drawings import DRAWN_CHECKS, draw_gauge_place

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "tests" / "cases").glob("*.toml"))
DAY = date(2026, 11, 25)
# Sick end and hidden cause of the invented inspections.
TRUTH = {
    "A1": "1R: G4",
    "A2": "2L: G1",
    "A3": "2R: A1",
    "A4": "2L: A4",
    "A6": "3R: P1",
    "B2": "1R: G1",
    "B5": "1L: R7",
}


def request_of(path):
    return Request(path=path, today=DAY)


def letter_of(name):
    opened = open_inspection(request_of(ROOT / "tests" / "cases" / f"{name}.toml"))
    judgement = judge(opened.inspection, opened.catalogue)
    road = decide_road(opened.inspection, judgement, opened.catalogue)
    explanation = explain(opened.inspection, opened.catalogue)
    return case_letter(judgement, road, explanation, opened.catalogue), opened.inspection


def text_of(path):
    reader = PdfReader(path)
    assert len(reader.pages) == 1, "a letter is one page"
    return " ".join(reader.pages[0].extract_text().split())


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_letter_is_one_page_with_its_four_parts_and_cautions(path, tmp_path):
    text = text_of(write_case_letter(request_of(path), tmp_path / "letter.pdf"))
    for part in (
        "What the readings say",
        "Measure next",
        "Stop, or do not do yet",
        "For your answer",
        "Caution",
    ):
        assert part in text
    assert "a qualified person decide" in text
    assert "leading end" in text


@pytest.mark.parametrize(("name", "expected"), TRUTH.items())
def test_the_letter_names_the_hidden_cause_at_the_sick_end(name, expected):
    letter, _ = letter_of(name)
    assert any(line.startswith(expected) for line in letter.says)


@pytest.mark.parametrize(
    ("name", "check"), [("B2", "F12"), ("A2", "F12"), ("A1", "F11"), ("B5", "F26"), ("A4", "F16")]
)
def test_the_first_measurement_proves_the_leading_cause_and_is_drawn(name, check):
    letter, _ = letter_of(name)
    assert letter.steps[0].check == check
    assert draw_gauge_place(check, letter.steps[0].place) is not None
    assert "Before parts are ordered" in letter.steps[0].why


def test_a_void_reading_is_not_gone_by():
    """Run-out on a loose bearing, play of a stuck calliper: common practice, no source."""
    assert any("lateral run-out" in line and "1L" in line for line in letter_of("B5")[0].stop)
    assert any("tangential play" in line and "1R" in line for line in letter_of("A1")[0].stop)


def test_a_grounded_vehicle_is_stopped_first_and_as_found_readings_are_kept():
    stop = letter_of("A10")[0].stop
    assert stop[0].startswith("Do not move the vehicle")
    assert any("as found" in line for line in stop)


def test_the_victim_is_named():
    letter, _ = letter_of("A3")
    assert any("2L works more because 2R does less" in line for line in (*letter.says, *letter.stop))


def test_a_sound_vehicle_gets_a_letter_too(tmp_path):
    text = (ROOT / "tests" / "cases" / "A1.toml").read_text(encoding="utf-8")
    parts = text.split("[[wheel_end]]")
    sound = parts[3]
    places = ("1L", "1R", "2L", "2R")
    ends = "".join("[[wheel_end]]" + sound.replace('at = "2L"', f'at = "{place}"') for place in places)
    file = tmp_path / "sound.toml"
    file.write_text(parts[0] + ends, encoding="utf-8")
    told = text_of(write_case_letter(request_of(file), tmp_path / "letter.pdf"))
    assert "No cause of its own is likely" in told


def test_long_and_hostile_texts_stay_on_one_page_and_are_no_markup(tmp_path):
    _, inspection = letter_of("A1")
    word = '#strong[x] \\ $ @ <b> "quoted" ' * 40
    step = NextStep(word, word, word, word, word, "F12", "1R")
    long = CaseLetter(word, (word,) * 12, (step,) * 4, (word,) * 6)
    vehicle = replace(inspection.vehicle, id="#panic()", description=word)
    out = render_case_letter_pdf(long, replace(inspection, vehicle=vehicle), tmp_path / "long.pdf", day=DAY)
    text = text_of(out)
    assert "#panic()" in text
    assert "#strong[x]" in text


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_both_papers(tmp_path, paper):
    letter, inspection = letter_of("A4")
    text_of(render_case_letter_pdf(letter, inspection, tmp_path / "l.pdf", day=DAY, paper=paper))


def test_the_same_letter_twice_is_the_same_file(tmp_path):
    first = write_case_letter(request_of(CASES[0]), tmp_path / "one.pdf")
    second = write_case_letter(request_of(CASES[0]), tmp_path / "two.pdf")
    assert Path(first).read_bytes() == Path(second).read_bytes()


def test_the_command_writes_the_letter(tmp_path, capsys):
    out = tmp_path / "b2.pdf"
    path = ROOT / "tests" / "cases" / "B2.toml"
    assert run(["why", str(path), "--today", "2026-11-25", "--letter", str(out), "--json"]) == 1
    said = capsys.readouterr()
    assert said.out.startswith("{")
    assert "Wrote" in said.err
    assert "G1 long" in text_of(out)


def test_another_ending_is_refused(tmp_path):
    with pytest.raises(InputError, match="a letter cannot be written as"):
        write_case_letter(request_of(CASES[0]), tmp_path / "letter.doc")


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(StorageError, match="cannot be written"):
        write_case_letter(request_of(CASES[0]), tmp_path / "missing" / "letter.pdf")


# ---------------------------------------------------------------- drawings


@pytest.mark.parametrize("check", DRAWN_CHECKS)
def test_drawings_are_well_formed_and_stay_on_their_paper(check):
    """Within the view box; text too, at 0.5 em to a letter (usual of book faces, from memory, unverified)."""
    picture = draw_gauge_place(check, "1L")
    root = ET.fromstring(picture.svg)
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    assert picture.alt
    for element in root.iter():
        for name, most in (("x", width), ("cx", width), ("y", height), ("cy", height)):
            if name in element.attrib:
                assert 0.0 <= float(element.attrib[name]) <= most
        if element.tag.endswith("text"):
            long = 0.5 * float(element.attrib["font-size"]) * len(element.text)
            x = float(element.attrib["x"])
            left = x - {"middle": 0.5, "end": 1.0}.get(element.attrib.get("text-anchor", ""), 0.0) * long
            assert left >= -2.0
            assert left + long <= width + 2.0


def test_every_drawn_check_is_one_of_the_catalogue():
    assert set(DRAWN_CHECKS) <= set(load_catalogue().checks)
    assert draw_gauge_place("W3", "1L") is None


def test_the_leading_end_lies_on_the_side_of_the_wheel():
    """Seen from outside, a left wheel's rotor runs to the left past the pads: leading end at the right."""

    def x_of(place, corner):
        root = ET.fromstring(draw_gauge_place("F5", place).svg)
        return next(float(e.attrib["x"]) for e in root.iter() if e.tag.endswith("text") and e.text == corner)

    assert x_of("1L", "LT") > x_of("1L", "TT")
    assert x_of("1R", "LT") < x_of("1R", "TT")
