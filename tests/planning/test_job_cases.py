"""The eight acceptance inspections: the right job, and the tempting wrong one left alone.

The inspections are invented; the right jobs are those of whoever wrote them (common practice, no source).
"""

from datetime import date
from functools import cache
from pathlib import Path

import pytest
from job_builder import axle_job, situations, works

from wearline.assessment.assemble import judge
from wearline.catalogue.loading import load_catalogue
from wearline.ingest.read import read_inspection
from wearline.planning.job import plan_job_from
from wearline.planning.results import JobPlan

CASES = Path(__file__).parents[1] / "cases"


@cache
def job_of(name: str) -> JobPlan:
    catalogue = load_catalogue()
    inspection = read_inspection(CASES / f"{name}.toml", today=date(2026, 9, 20), catalogue=catalogue)
    return plan_job_from(inspection, judge(inspection, catalogue), catalogue)


def test_a1_seized_calliper_or_kit_pads_of_the_axle_and_boots_of_the_mate() -> None:
    job = job_of("A1")
    assert situations(job, "needed") == {("S5", "1R"), ("S1", "1")}
    assert situations(job, "depends") == {("S2", "1R")}
    assert ("boots", "1L") in works(job)
    assert ("clearance", "1R") not in works(job)
    assert axle_job(job, "2").steps == ()


def test_a2_guide_kit_and_pads_kit_offered_at_the_mate_and_the_mounting_checked() -> None:
    job = job_of("A2")
    assert situations(job, "needed") == {("S2", "2L"), ("S1", "2")}
    assert situations(job, "advised") == {("S2", "2R")}
    assert ("mounting check", "2L") in works(job)
    assert axle_job(job, "1").steps == ()


def test_a3_calliper_at_the_dead_end_alone_with_seal_drains_and_cap() -> None:
    job = job_of("A3")
    assert situations(job) == {("S5", "2R"), ("S1", "2")}
    assert {("boots", "2L"), ("rotor look", "2L"), ("water", "2R"), ("stem cap", "2R")} <= set(works(job))
    own = " ".join(step.text for step in axle_job(job, "2").steps if step.at == "2R")
    assert "New chamber seal" in own
    assert "lowest drain hole" in own
    assert {part.part for part in axle_job(job, "2").parts if part.at == "2R"} >= {
        "exchange calliper, for the right side",
        "chamber seal",
    }
    assert any("30 %" in sentence for sentence in job.proof)


def test_a4_calliper_rotor_pair_pads_bearing_grease_and_the_boots_of_the_mate() -> None:
    job = job_of("A4")
    assert situations(job) == {("S5", "2L"), ("S4", "2"), ("S1", "2")}
    assert works(job)["S5", "2L"].choice == ""
    assert {("bearing grease", "2L"), ("boots", "2R")} <= set(works(job))
    assert {part.part: part.count for part in axle_job(job, "2").parts}["rotor"] == 2


def test_a6_carrier_or_plates_pads_with_retainers_and_all_pads_of_the_vehicle_freed() -> None:
    job = job_of("A6")
    assert situations(job) == {("S6", "3R"), ("S1", "3")}
    assert "abutment plates" in works(job)["S6", "3R"].choice
    assert {place for code, place in works(job) if code == "free pads"} == {"1", "2", "3", "4"}
    assert {part.part: part.count for part in axle_job(job, "3").parts}["pad spring and retainer set"] == 2
    assert any("abrasive dirt" in sentence for sentence in job.first)


def test_a10_the_retarder_first_rotors_of_axle_3_pads_everywhere_and_axle_2_to_be_decided() -> None:
    job = job_of("A10")
    assert situations(job, "needed") == {("S4", "3"), ("S1", "1"), ("S1", "2"), ("S1", "3")}
    assert situations(job, "depends") == {("S4", "2")}
    assert "5 000 km" in works(job)["S4", "2"].choice
    assert any("retarder" in sentence for sentence in job.first)
    assert not any(code == "S5" for code, _ in works(job))


def test_b2_guide_kit_and_pads() -> None:
    job = job_of("B2")
    assert situations(job) == {("S2", "1R"), ("S1", "1")}


def test_b2_with_its_inches_typed_as_millimetres_asks_first_and_condemns_nothing(tmp_path: Path) -> None:
    text = (CASES / "B2.toml").read_text(encoding="utf-8")
    for right, wrong in (
        ('["9.7 mm", "9.4 mm", "12.6 mm", "12.3 mm"]', '["0.38 mm", "0.37 mm", "0.50 mm", "0.48 mm"]'),
        ('["13.1 mm", "12.9 mm", "9.9 mm", "9.8 mm"]', '["0.52 mm", "0.51 mm", "0.39 mm", "0.39 mm"]'),
        ('"0.130 in"', '"0.130 mm"'),
        ('"0.071 in"', '"0.071 mm"'),
    ):
        assert right in text
        text = text.replace(right, wrong)
    path = tmp_path / "slip.toml"
    path.write_text(text, encoding="utf-8")
    catalogue = load_catalogue()
    inspection = read_inspection(path, today=date(2026, 9, 20), catalogue=catalogue)
    job = plan_job_from(inspection, judge(inspection, catalogue), catalogue)
    assert situations(job) == set()
    assert any("inches" in sentence and "1R" in sentence for sentence in job.first)
    assert "say nothing until confirmed" in axle_job(job, "1").why


def test_b5_bearing_seal_and_sensor_and_no_rotor() -> None:
    job = job_of("B5")
    assert situations(job) == set()
    assert {("bearing", "1L"), ("hub seal", "1L"), ("sensor gap", "1L"), ("run-out again", "1L")} == set(
        works(job)
    )


@pytest.mark.parametrize("name", ["A1", "A2", "A3", "A4", "A6", "A10", "B2", "B5"])
def test_every_piece_of_work_says_why_and_on_what_it_rests(name: str) -> None:
    for work in works(job_of(name)).values():
        assert work.because
        assert all(reason.strip() and not reason.endswith(": ") for reason in work.because)
        assert work.status
        assert work.standing != "depends" or work.choice
