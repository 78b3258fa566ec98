"""Answers as JSON values: the keys that other programs rely on, with units in the keys or beside values."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wearline.app.capability_answer import capability_answer
from wearline.assessment.results import (
    AxleJudgement,
    Derived,
    Finding,
    FollowUp,
    JudgedReading,
    Judgement,
    WheelEndJudgement,
)
from wearline.assessment.road_results import PackAnswer, RoadDecision
from wearline.catalogue.model import Limit
from wearline.planning.results import AxleJob, JobPlan, Work
from wearline.records.notices import Notice
from wearline.units import to_unit

if TYPE_CHECKING:
    from wearline.app.answer_types import (
        AxleJobJson,
        AxleJson,
        FindingJson,
        FollowUpJson,
        JobAnswer,
        JudgementAnswer,
        LimitJson,
        NoticeJson,
        PackJson,
        ReadingJson,
        RoadAnswer,
        WheelEndJson,
        WorkJson,
    )

__all__ = [
    "JobAnswer",
    "JudgementAnswer",
    "RoadAnswer",
    "job_answer",
    "judgement_answer",
    "road_answer",
]


_DERIVED_UNITS = {
    "mean_inner": "mm",
    "mean_outer": "mm",
    "thinnest": "mm",
    "mean_difference": "mm",
    "taper_end_to_end_inner": "mm",
    "taper_end_to_end_outer": "mm",
    "taper_end_to_end_antisymmetric": "mm",
    "taper_end_to_end_symmetric": "mm",
    "taper_top_to_bottom_inner": "mm",
    "taper_top_to_bottom_outer": "mm",
    "taper_top_to_bottom_antisymmetric": "mm",
    "taper_top_to_bottom_symmetric": "mm",
    "twist_inner": "mm",
    "twist_outer": "mm",
    "taper_explained_by_play": "mm",
    "taper_excess": "mm",
    "taper_excess_u": "mm",
    "taper_top_explained_by_play": "mm",
    "indicator_implied": "percent",
    "indicator_implied_outer": "percent",
    "indicator_difference": "percent",
    "stroke_low": "mm",
    "stroke_high": "mm",
    "stroke_available": "mm",
    "drag_share": "percent",
    "force_share_of_mate": "percent",
    "wheel_load": "kN",
    "temperature_above_normal": "K",
    "distance_to_service": "km",
}
_FACTORS = {"mm": 1e3, "percent": 1e2, "kN": 1e-3, "K": 1.0, "km": 1e-3}
_DIGITS = 9
_DUST = 1e-9
_PER_10000_KM = 1e3 * 1e7
"""[mm per 10 000 km] per [m/m]."""


def _round(value: float) -> float:
    """Nine digits; a difference that is zero but for binary dust is zero."""
    return float(f"{value:.{_DIGITS}g}") if abs(value) > _DUST else 0.0


def _in_unit(value: float | None, unit: str) -> float | None:
    if value is None:
        return None
    return _round(float(to_unit(value, unit)) if unit not in ("", "1") else value)


def _difference_in_unit(value: float | None, unit: str) -> float | None:
    """A margin or an uncertainty: a difference, so that degrees carry no offset."""
    if value is None:
        return None
    return _in_unit(value, "K" if unit == "degC" else unit)


def _limit(limit: Limit) -> LimitJson:
    value = _in_unit(limit.value, limit.unit)
    return {
        "id": limit.id,
        "value": 0.0 if value is None else value,
        "unit": limit.unit,
        "published": limit.published,
        "also": limit.also,
        "sense": limit.sense.value,
        "passes_at_limit": limit.passes_at_limit,
        "consequence": str(limit.consequence),
        "authority": str(limit.authority),
        "source": limit.source,
        "locator": limit.locator,
        "status": str(limit.status),
    }


def _reading(reading: JudgedReading) -> ReadingJson:
    return {
        "check": reading.check,
        "spot": reading.spot,
        "label": reading.label,
        "value": _in_unit(reading.value, reading.unit),
        "word": reading.word,
        "raw": reading.raw,
        "unit": reading.unit,
        "u": _difference_in_unit(reading.u, reading.unit),
        "limit": None if reading.limit is None else _limit(reading.limit),
        "verdict": str(reading.verdict),
        "p_within": None if reading.p_within is None else _round(reading.p_within),
        "margin": _difference_in_unit(reading.margin, reading.unit),
        "gauge": reading.gauge,
        "reason": reading.reason,
        "settle": reading.settle,
        "others": [
            {
                "limit": _limit(other.limit),
                "verdict": str(other.verdict),
                "p_within": _round(other.p_within),
                "margin": _difference_in_unit(other.margin, reading.unit) or 0.0,
            }
            for other in reading.others
        ],
    }


def _finding(finding: Finding) -> FindingJson:
    return {
        "id": finding.id,
        "at": finding.place,
        "text": finding.text,
        "check": finding.check,
        "spot": finding.spot,
        "weight": finding.weight,
        "probability": None if finding.probability is None else _round(finding.probability),
        "limit": finding.limit_id,
    }


def _follow_up(item: FollowUp) -> FollowUpJson:
    return {
        "kind": item.kind,
        "check": item.check,
        "title": item.title,
        "because": item.because,
        "done": item.done,
    }


def _derived(derived: Derived) -> dict[str, float | bool | str | None]:
    result: dict[str, float | bool | str | None] = {"thinnest_spot": derived.thinnest_spot}
    for name, unit in _DERIVED_UNITS.items():
        value = getattr(derived, name)
        result[f"{name}_{unit}"] = None if value is None else _round(value * _FACTORS[unit])
    result["tilt_from_play_mrad"] = (
        None if derived.tilt_from_play is None else _round(1e3 * derived.tilt_from_play)
    )
    for pad in ("inner", "outer"):
        rate = getattr(derived, f"wear_rate_{pad}")
        result[f"wear_rate_{pad}_mm_per_10000_km"] = None if rate is None else _round(rate * _PER_10000_KM)
    normal = derived.temperature_normal
    result["temperature_normal_degC"] = None if normal is None else _round(float(to_unit(normal, "degC")))
    result["new_pads_would_rub"] = derived.new_pads_would_rub
    return result


def _wheel_end(end: WheelEndJudgement, axles: dict[str, AxleJudgement]) -> WheelEndJson:
    readings = [_reading(reading) for reading in end.readings]
    axle = axles.get(end.place[:-1])
    if axle is not None and axle.imbalance is not None:
        readings.append(_reading(axle.imbalance))
    return {
        "at": end.place,
        "design": end.design,
        "readings": readings,
        "derived": _derived(end.derived),
        "findings": [_finding(finding) for finding in end.findings],
        "followups": [_follow_up(item) for item in end.followups],
        "not_taken": list(end.not_taken),
    }


def _axle(axle: AxleJudgement) -> AxleJson:
    return {
        "axle": axle.axle,
        "role": axle.role,
        "wheels": "take off" if axle.take_off else "leave on",
        "reasons": list(axle.reasons),
        "imbalance": None if axle.imbalance is None else _reading(axle.imbalance),
        "findings": [_finding(finding) for finding in axle.findings],
    }


def _notice(notice: Notice) -> NoticeJson:
    return {"code": notice.code, "text": notice.text, "where": notice.where, "cure": notice.cure}


def judgement_answer(judgement: Judgement) -> JudgementAnswer:
    """Return a judgement as JSON values.

    Parameters
    ----------
    judgement : Judgement
        The judgement.

    Returns
    -------
    JudgementAnswer
        Under schema ``wearline.judgement/1``. The imbalance of an axle stands with the axle and again with
        the readings of both its ends.
    """
    axles = {axle.axle: axle for axle in judgement.axles}
    return {
        "schema": "wearline.judgement/1",
        "vehicle": {"id": judgement.vehicle_id},
        "axles": [_axle(axle) for axle in judgement.axles],
        "wheel_ends": [_wheel_end(end, axles) for end in judgement.wheel_ends],
        "vehicle_readings": [_reading(reading) for reading in judgement.vehicle_readings],
        "findings": [_finding(finding) for finding in judgement.findings],
        "warnings": [_notice(notice) for notice in judgement.warnings],
        "confidence": judgement.confidence,
        "decision_rules": dict(judgement.rules),
    }


def _work(work: Work) -> WorkJson:
    return {
        "code": work.code,
        "at": work.at,
        "title": work.title,
        "because": list(work.because),
        "standing": work.standing,
        "choice": work.choice,
    }


def _axle_job(job: AxleJob) -> AxleJobJson:
    return {
        "axle": job.axle,
        "work": [_work(work) for work in job.work],
        "also": [_work(work) for work in job.also],
        "steps": [
            {
                "n": step.n,
                "text": step.text,
                "at": step.at,
                "gate": step.gate,
                "gate_number": step.gate_number,
                "caution": list(step.cautions),
                "record": list(step.record),
            }
            for step in job.steps
        ],
        "parts": [
            {
                "part": part.part,
                "count": part.count,
                "at": part.at,
                "because": part.because,
                "if_needed": part.if_needed,
            }
            for part in job.parts
        ],
        "hours": {"low": job.hours.low, "high": job.hours.high, "basis": job.hours.basis},
        "other_end": list(job.other_end),
    }


def job_answer(plan: JobPlan) -> JobAnswer:
    """Return a job plan as JSON values.

    Parameters
    ----------
    plan : JobPlan
        The plan.

    Returns
    -------
    JobAnswer
        Under schema ``wearline.job/1``.
    """
    return {
        "schema": "wearline.job/1",
        "vehicle": {"id": plan.vehicle_id},
        "first": list(plan.first),
        "axles": [_axle_job(job) for job in plan.axles],
        "cautions": list(plan.cautions),
        "proof": list(plan.proof),
        "records": list(plan.records),
        "decides": plan.decides,
    }


def _pack(pack: PackAnswer) -> PackJson:
    return {
        "pack": pack.pack,
        "title": pack.title,
        "text_as_of": pack.valid_on,
        "answer": pack.answer,
        "rules": [
            {
                "rule": rule.rule,
                "citation": rule.citation,
                "source": rule.source,
                "grade": rule.grade,
                "answer": rule.answer,
                "at": list(rule.places),
                "explanation": rule.explanation,
                "decides": rule.decides,
                "effect": rule.effect,
            }
            for rule in pack.rules
        ],
    }


def road_answer(decision: RoadDecision, vehicle_id: str, cautions: tuple[str, ...]) -> RoadAnswer:
    """Return a road decision as JSON values.

    Parameters
    ----------
    decision : RoadDecision
        The decision.
    vehicle_id : str
        The vehicle.
    cautions : tuple of str
        What must be said with every answer.

    Returns
    -------
    RoadAnswer
        Under schema ``wearline.road/1``.
    """
    count, capability, answers = decision.count, decision.capability, decision.answers
    return {
        "schema": "wearline.road/1",
        "vehicle": {"id": vehicle_id},
        "level": decision.level,
        "meaning": decision.meaning,
        "reasons": [
            {"level": reason.level, "at": reason.place, "text": reason.text, "status": reason.status}
            for reason in decision.reasons
        ],
        "conditions": list(decision.conditions),
        "count": {
            "defective": count.defective,
            "brakes": count.brakes,
            "share": _round(count.share),
            "needed": count.needed,
            "rule_met": count.rule_met,
            "places": [{"at": place, "because": because} for place, because in count.places],
            "unknown": list(count.unknown),
        },
        "capability": capability_answer(capability),
        "packs": [_pack(pack) for pack in decision.packs],
        "answers": {
            "part": answers.part,
            "brake": answers.brake,
            "capability": answers.capability,
            "law": answers.law,
        },
        "not_proven": list(decision.missing),
        "cautions": list(cautions),
    }
