"""Builds small vehicles and judgements by hand, to test the choice of work without the assessment."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from wearline.assessment.results import (
    AxleJudgement,
    Derived,
    Finding,
    JudgedReading,
    Judgement,
    LimitVerdict,
    Verdict,
    WheelEndJudgement,
)
from wearline.catalogue.loading import load_catalogue
from wearline.planning.job import plan_job_from
from wearline.planning.results import AxleJob, JobPlan, Work
from wearline.records.inspection import Axle, Inspection, Vehicle, WheelEnd
from wearline.records.place import WheelEndPlace
from wearline.records.readings import Observed

DAY = date(2026, 9, 14)
UNITS = {"temperature": "degC", "slide": "N", "rotor_crack_length": "%"}


def finding(place: str, text: str) -> Finding:
    """Make a finding from ``"check:beyond@spot#limit"``; notes end with ``"!note"``."""
    weight = "note" if text.endswith("!note") else "fault"
    text = text.removesuffix("!note")
    text, _, limit = text.partition("#")
    text, _, spot = text.partition("@")
    check = text.partition("=")[0].partition(":")[0]
    return Finding(text, place, f"{text} (built)", check, spot, weight, None, limit)


def _reading(place: str, made: Finding, value: float | None = None) -> JudgedReading:
    limits = load_catalogue().default_limits
    limit = limits.get(made.limit_id)
    word = made.id.partition("=")[2]
    verdict = Verdict.UNDECIDED if made.id.endswith("undecided") else Verdict.BEYOND
    is_note = made.weight == "note"
    others = (LimitVerdict(limit, verdict, 0.0, -1.0),) if limit is not None and is_note else ()
    return JudgedReading(
        place=place,
        check=made.check,
        spot=made.spot,
        label=made.check.replace("_", " "),
        value=value,
        word=word,
        raw=word,
        unit=UNITS.get(made.check, "mm"),
        u=None,
        limit=None if is_note else limit,
        verdict=Verdict.WITHIN if is_note else verdict,
        p_within=None,
        margin=None,
        others=others,
    )


def measured(place: str, check: str, value: float, verdict: Verdict = Verdict.WITHIN) -> JudgedReading:
    """Make a reading that breaks no limit by itself."""
    unit = UNITS.get(check, "mm")
    return JudgedReading(
        place, check, "", check.replace("_", " "), value, "", "", unit, None, None, verdict, 1.0, 0.0
    )


def judged(
    findings: Mapping[str, Sequence[str]] | None = None,
    *,
    axles: Sequence[tuple[str, str]] = (("1", "steer"), ("2", "drive")),
    values: Mapping[str, Mapping[str, float]] | None = None,
    notes: Mapping[str, str] | None = None,
    noticed: Mapping[str, tuple[str, ...]] | None = None,
    not_taken: Mapping[str, tuple[str, ...]] | None = None,
    marks: Mapping[str, Mapping[str, str]] | None = None,
    design: str = "generic-22.5",
    wheels: str = "",
    thinnest: Mapping[str, float] | None = None,
) -> tuple[Inspection, Judgement]:
    """Make a vehicle with findings at wheel ends (``"1L"``), axles (``"1"``) and the vehicle (``""``)."""
    findings = findings or {}
    places = [f"{axle}{side}" for axle, _ in axles for side in "LR"]
    ends = []
    for place in places:
        made = [finding(place, text) for text in findings.get(place, ())]
        readings = [_reading(place, one) for one in made if "=" in one.id or one.limit_id]
        readings += [measured(place, check, value) for check, value in (values or {}).get(place, {}).items()]
        ends.append(
            WheelEndJudgement(
                place,
                design,
                tuple(readings),
                Derived(thinnest=(thinnest or {}).get(place)),
                tuple(made),
                (),
                (not_taken or {}).get(place, ()),
            )
        )
    judgement = Judgement(
        vehicle_id="built",
        axles=tuple(
            AxleJudgement(
                axle, role, True, (), findings=tuple(finding(axle, text) for text in findings.get(axle, ()))
            )
            for axle, role in axles
        ),
        wheel_ends=tuple(ends),
        findings=tuple(finding("", text) for text in findings.get("", ())),
    )
    inspection = Inspection(
        vehicle=Vehicle("built", tuple(Axle(axle, role, design, wheels) for axle, role in axles)),
        taken_on=DAY,
        wheel_ends=tuple(
            WheelEnd(
                WheelEndPlace.parse(place),
                {(name, ""): Observed(mark, mark) for name, mark in (marks or {}).get(place, {}).items()},
                (noticed or {}).get(place, ()),
                (notes or {}).get(place, ""),
            )
            for place in places
        ),
    )
    return inspection, judgement


def plan(findings: Mapping[str, Sequence[str]] | None = None, **more: object) -> JobPlan:
    """Plan the job of a vehicle built by ``judged``."""
    return plan_job_from(*judged(findings, **more), load_catalogue())  # type: ignore[arg-type]


def axle_job(job: JobPlan, axle: str) -> AxleJob:
    """Return the job of one axle."""
    return next(found for found in job.axles if found.axle == axle)


def works(job: JobPlan) -> dict[tuple[str, str], Work]:
    """Return all work of a plan by code and place, also what is beside the situations and for later."""
    return {
        (work.code, work.at): work for axle in job.axles for work in (*axle.work, *axle.also, *axle.later)
    }


def situations(job: JobPlan, *standings: str) -> set[tuple[str, str]]:
    """Return the situations of a plan as code and place, of some standings or of any."""
    return {
        (work.code, work.at)
        for axle in job.axles
        for work in axle.work
        if not standings or work.standing in standings
    }
