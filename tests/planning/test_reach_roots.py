"""The job names the cause it reaches, its root, and the test that confirms it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from wearline.app.judging import Request, plan_job
from wearline.diagnosis.results import CauseForJob
from wearline.planning.reach_roots import reach_roots
from wearline.planning.results import AxleJob, JobPlan

CASES = Path(__file__).parents[1] / "cases"


def job(name: str) -> JobPlan:
    return plan_job(Request(path=CASES / f"{name}.toml", today=date(2026, 11, 25)))[2]


def axle(plan: JobPlan, id: str) -> AxleJob:
    return next(found for found in plan.axles if found.axle == id)


@pytest.mark.parametrize(
    ("case", "axle_id", "code", "cause"),
    [
        ("A1", "1", "S5", "guide pins seized"),
        ("A2", "2", "S2", "long guide pin or its bushing worn"),
        ("A3", "2", "S5", "adjuster dead"),
        ("B2", "1", "S2", "long guide pin or its bushing worn"),
    ],
)
def test_the_work_names_its_cause(case: str, axle_id: str, code: str, cause: str) -> None:
    """The hidden cause of each invented case, by the hand sheet it was made from."""
    work = next(work for work in axle(job(case), axle_id).work if work.code == code)
    assert any("probable cause" in text and cause in text for text in work.because)


def test_the_repair_reaches_the_root() -> None:
    """A1: pins seized because the boot was torn; A3: adjuster dead because water came in."""
    for case, axle_id, root in (("A1", "1", "boot torn"), ("A3", "2", "water in the calliper")):
        texts = [text for work in axle(job(case), axle_id).work for text in work.because]
        assert any("the root is" in text and root in text for text in texts), case


def test_a_cause_of_the_whole_vehicle_comes_first() -> None:
    assert any("retarder does not work" in text and "probable cause" in text for text in job("A10").first)


def cause(place: str, *, confirmed: bool) -> CauseForJob:
    return CauseForJob(
        place=place,
        code="G1",
        name="long guide pin worn",
        probability=0.8,
        root_code="G1",
        root_name="long guide pin worn",
        root_place=place,
        repair="guide kit",
        confirm="bore gauge in the pin bore",
        confirmed=confirmed,
    )


def test_an_unconfirmed_cause_is_a_gate_before_parts_are_ordered() -> None:
    plan = reach_roots(job("A2"), (cause("2L", confirmed=False),))
    gate = next(step for step in axle(plan, "2").steps if step.gate_number == "7")
    assert "bore gauge in the pin bore" in gate.gate
    sure = reach_roots(job("A2"), (cause("2L", confirmed=True),))
    gate = next(step for step in axle(sure, "2").steps if step.gate_number == "7")
    assert "bore gauge" not in gate.gate


def test_a_cause_without_work_is_left_for_the_next_visit() -> None:
    plan = reach_roots(job("A1"), (cause("2R", confirmed=False),))
    later = axle(plan, "2").later[-1]
    assert later.at == "2R"
    assert "confirm by: bore gauge in the pin bore" in later.because
    assert not axle(plan, "2").work
