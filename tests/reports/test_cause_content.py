"""Causes in a report: what was seen, what is probable, what stands behind it, what to test."""

import io
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdf
import pytest
import report_scenes as scenes

from wearline.assessment.assemble import judge
from wearline.assessment.road import decide_road
from wearline.diagnosis.explain import explain
from wearline.diagnosis.results import (
    AxleExplanation,
    CauseView,
    Explanation,
    FoundFault,
    Misfit,
    NextTest,
    Root,
    WheelEndExplanation,
)
from wearline.ingest.read import read_inspection
from wearline.planning.job import plan_job_from
from wearline.reports.cause_content import cause_parts, ends_without_cause
from wearline.reports.inspection_report import render_pdf
from wearline.reports.page import render_html

DAY = date(2026, 9, 20)
CASE = Path(__file__).parent.parent / "cases" / "A2.toml"

WORN = CauseView("G1", "long guide pin worn", 0.93, ("play 3.6 mm",), ("drag usual",), "", "", "play again")
TORN = CauseView("G7", "guide boot torn", 0.22, (), (), "", "", "")
RARE = CauseView("P5", "another pad fitted", 0.04, (), (), "", "", "")


def view_of_end(place="2L", **changes):
    plain = WheelEndExplanation(
        place=place,
        healthy=0.02,
        causes=(WORN, TORN, RARE),
        found=(FoundFault("G7", "guide boot torn", "boot: torn", 1.0),),
        root=Root("G7", "guide boot torn", place, 1.0, ("G1",), ""),
        next_tests=(
            NextTest("look at the pins", "F11", 0.4, 6.0, 20.0, ("X",), "X", 0.02, ("G1",)),
            NextTest("read it again", "", 0.02, 5.0, 0.0, ("O",), "", 0.004, ("U5",)),
        ),
        undecided=("G1 and G2 cannot be told apart",),
        misfit=None,
        dropped=0.0,
    )
    return replace(plain, **changes)


def explanation(*ends, axles=(), vehicle=()):
    return Explanation("Invented 7", ends, axles, vehicle, (), (), ())


def test_a_fault_that_was_seen_is_said_once_and_as_seen():
    """A seen fault carries no probability: what the other readings say of it would only confuse."""
    (part,) = cause_parts(explanation(view_of_end()))
    assert [(line.chance, line.name) for line in part.lines] == [
        ("seen", "guide boot torn"),
        ("93 %", "long guide pin worn"),
    ]
    assert part.lines[1].supports == ("play 3.6 mm",)
    assert part.root == "guide boot torn (2L); from it long guide pin worn"


def test_only_tests_that_tell_something_are_named_with_the_time_to_reach_them():
    (part,) = cause_parts(explanation(view_of_end()))
    assert part.tests == ("look at the pins (26 min)",)
    assert part.said == ("G1 and G2 cannot be told apart",)


def test_an_end_without_cause_is_named_so_and_readings_that_do_not_fit_are_said():
    quiet = view_of_end("1L", healthy=0.95, found=(), causes=(), root=None, next_tests=(), undecided=())
    odd = replace(quiet, place="1R", misfit=Misfit("these do not fit together", "repeat the play", "x", 0.01))
    given = explanation(quiet, odd)
    assert ends_without_cause(given) == ("1L",)
    (part,) = cause_parts(given)
    assert part.said == ("these do not fit together", "repeat the play")


def test_causes_of_axle_and_vehicle_stand_before_those_of_wheel_ends():
    axle = AxleExplanation("2", (), "2L works more because 2R does less")
    parts = cause_parts(explanation(view_of_end(), axles=(axle,), vehicle=(replace(WORN, code="U1"),)))
    assert [part.place for part in parts] == ["the vehicle", "axle 2", "2L"]
    assert parts[1].said == ("2L works more because 2R does less",)


@pytest.fixture(scope="module")
def worked(catalogue):
    inspection = read_inspection(CASE, today=DAY, catalogue=catalogue)
    judgement = judge(inspection, catalogue)
    road = decide_road(inspection, judgement, catalogue)
    return inspection, judgement, road, plan_job_from(inspection, judgement, catalogue)


def test_paper_and_page_carry_the_causes_of_a_case(worked, catalogue, tmp_path):
    why = explain(worked[0], catalogue)
    out = tmp_path / "report.pdf"
    render_pdf(*worked, catalogue=catalogue, generated_on=DAY, out=out, explanation=why)
    pages = pypdf.PdfReader(io.BytesIO(out.read_bytes())).pages
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))
    page = render_html(*worked, catalogue=catalogue, generated_on=DAY, explanation=why)
    for said in ("Why it wore like that", "long guide pin or its bushing worn", "At the root:"):
        assert said in text
        assert said in page
    assert 'id="causes"' in page


def test_what_people_typed_into_the_evidence_is_text_on_paper_and_page(catalogue, tmp_path):
    scene = scenes.scene(1)
    hostile = replace(WORN, supports=(scenes.HOSTILE,))
    given = explanation(view_of_end("1L", causes=(hostile,)))
    out = tmp_path / "report.pdf"
    render_pdf(*scene, catalogue=catalogue, generated_on=DAY, out=out, explanation=given)
    assert "#set page" in " ".join(p.extract_text() for p in pypdf.PdfReader(out).pages)
    page = render_html(*scene, catalogue=catalogue, generated_on=DAY, explanation=given)
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page
