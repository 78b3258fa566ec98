"""The answers as plain lines for a terminal; colours are the terminal's matter."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from wearline.assessment.results import Finding, JudgedReading, Judgement, Verdict, WheelEndJudgement
from wearline.assessment.road_results import Reason, RoadDecision, RuleAnswer
from wearline.planning.results import AxleJob, JobPlan, PartNeed, Work
from wearline.reports.content import DECIDES, found_paragraph
from wearline.reports.road_words import (
    capability_lines,
    count_text,
    hours_text,
    reason_status,
    rule_grade,
    sentence,
    step_cautions,
    work_name,
)
from wearline.reports.ruler import ruler_scale
from wearline.reports.vehicle_drawing import wheel_end_state
from wearline.reports.words import (
    converted_text,
    expanded_text,
    limit_text,
    place_words,
    probability_text,
    settle_text,
    shown_text,
    value_text,
)
from wearline.uncertainty.rules import Sense

__all__ = ["job_lines", "judgement_lines", "road_lines", "text_ruler"]

RULER = 24
_SHOWN = (Verdict.BEYOND, Verdict.UNDECIDED, Verdict.VOID)


def _wrapped(text: str, width: int, indent: str = "", hang: str | None = None) -> list[str]:
    return textwrap.wrap(
        shown_text(text),
        width=max(width, 30),
        initial_indent=indent,
        subsequent_indent=indent if hang is None else hang,
        break_long_words=True,
    )


def _items(lines: Iterable[str], width: int, indent: str = "  ") -> list[str]:
    return [part for line in lines for part in _wrapped(line, width, f"{indent}- ", f"{indent}  ")]


def text_ruler(reading: JudgedReading, *, length: int = RULER) -> str:
    """Return the limit ruler of one reading in letters.

    Parameters
    ----------
    reading : JudgedReading
        A reading with a limit and a value.
    length : int
        Signs, 12 or more.

    Returns
    -------
    str
        ``-`` is the line, ``/`` the side beyond the limit, ``|`` the limit, ``=`` the whisker; the reading is
        ``o`` when it is undecided, else ``*``. Empty without a limit or value, and for a void reading.
    """
    limit = reading.limit
    if limit is None or reading.value is None or reading.verdict is Verdict.VOID:
        return ""
    scale = ruler_scale([reading], width=300.0)

    def place(x: float) -> int:
        share = (x - scale.left) / (scale.right - scale.left)
        return min(max(round(share * (length - 1)), 0), length - 1)

    at = place(scale.x_of(limit.value))
    below = limit.sense is Sense.AT_LEAST
    signs = ["/" if (sign < at if below else sign > at) else "-" for sign in range(length)]
    half = 2.0 * (reading.u or 0.0)
    for sign in range(place(scale.x_of(reading.value - half)), place(scale.x_of(reading.value + half)) + 1):
        signs[sign] = "="
    signs[at] = "|"
    signs[place(scale.x_of(reading.value))] = "o" if reading.verdict is Verdict.UNDECIDED else "*"
    return "".join(signs)


def _reading_lines(reading: JudgedReading, width: int) -> list[str]:
    spot = f" {reading.spot}" if reading.spot else ""
    parts = [f"{reading.label}{spot}: {value_text(reading)}"]
    if reading.u and reading.value is not None:
        parts.append(expanded_text(reading))
    if converted_text(reading):
        parts.append(f"({converted_text(reading)})")
    text = " ".join(parts) + f", {reading.verdict}"
    if reading.limit is not None:
        text += f"; {limit_text(reading.limit)}, {reading.limit.status}"
        if reading.verdict is not Verdict.VOID and probability_text(reading.p_within):
            text += f"; P(within) {probability_text(reading.p_within)}"
    remarks = [reading.reason, settle_text(reading)]
    lines = _wrapped(text, width, "    ", "      ")
    ruler = text_ruler(reading)
    if ruler:
        lines.append(f"      {ruler}")
    for remark in remarks:
        lines += _wrapped(remark, width, "      ") if remark else []
    return lines


def _finding_lines(findings: Iterable[Finding], width: int, indent: str) -> list[str]:
    return _items((f"{finding.weight}: {finding.text}" for finding in findings), width, indent)


def _end_lines(end: WheelEndJudgement, width: int) -> list[str]:
    lines = [f"  {end.place}  {', '.join(wheel_end_state(end).words)}"]
    for reading in end.readings:
        if reading.verdict in _SHOWN:
            lines += _reading_lines(reading, width)
    named = {reading.check for reading in end.readings if reading.verdict in _SHOWN}
    more = [finding for finding in end.findings if finding.check not in named]
    return lines + _finding_lines(more, width, "    ")


def judgement_lines(judgement: Judgement, *, width: int = 100) -> list[str]:
    """Return a judgement as lines: what is beyond, undecided or void, wheel end by wheel end.

    Parameters
    ----------
    judgement : Judgement
        The judgement.
    width : int
        Signs to a line, 40 or more.

    Returns
    -------
    list of str
        Lines without colour and without line ends.
    """
    lines = [shown_text(f"Vehicle {judgement.vehicle_id}"), ""]
    lines += _wrapped(found_paragraph(judgement), width)
    for axle in judgement.axles:
        wheels = "wheels off" if axle.take_off else "wheels on"
        lines += ["", f"{place_words(axle.axle)}, {axle.role}: {wheels}"]
        lines += _items(axle.reasons, width)
        lines += _finding_lines(axle.findings, width, "  ")
        if axle.imbalance is not None and axle.imbalance.value is not None:
            lines += _reading_lines(axle.imbalance, width)
        for end in judgement.wheel_ends:
            if end.place[:-1] == axle.axle:
                lines += _end_lines(end, width)
    shown = [reading for reading in judgement.vehicle_readings if reading.verdict in _SHOWN]
    if shown or judgement.findings:
        lines += ["", "the vehicle as a whole"]
        for reading in shown:
            lines += _reading_lines(reading, width)
        lines += _finding_lines(judgement.findings, width, "  ")
    if judgement.warnings:
        lines += ["", "doubts about the readings themselves"]
        lines += _items(
            (
                " ".join(
                    part for part in (f"{each.where}:" if each.where else "", each.text, each.cure) if part
                )
                for each in judgement.warnings
            ),
            width,
        )
    return lines


def _reason_text(reason: Reason) -> str:
    place = f", {reason.place}" if reason.place else ""
    return f"level {reason.level}{place}: {reason.text}{reason_status(reason)}"


def _rule_text(rule: RuleAnswer) -> str:
    places = f" at {', '.join(rule.places)}" if rule.places else ""
    where = f"{rule.citation}; {rule_grade(rule)}"
    return f"{rule.answer}{places}: {rule.rule} {sentence(rule.explanation)} [{where}]"


def road_lines(road: RoadDecision, *, width: int = 100) -> list[str]:
    """Return a road decision as lines.

    Parameters
    ----------
    road : RoadDecision
        The road decision.
    width : int
        Signs to a line, 40 or more.

    Returns
    -------
    list of str
        Lines without colour and without line ends; the four answers stand each for itself.
    """
    lines = [shown_text(f"Level {road.level} of 4: {road.meaning}")]
    lines += _items((_reason_text(reason) for reason in road.reasons), width)
    if road.conditions:
        lines += ["", "conditions", *_items(road.conditions, width)]
    lines += ["", "four answers, each for itself"]
    for name, answer in (
        ("parts", road.answers.part),
        ("brakes", road.answers.brake),
        ("vehicle", road.answers.capability),
        ("law", road.answers.law),
    ):
        lines += _wrapped(f"{name}: {answer}", width, "  ", "    ")
    lines += ["", *_wrapped(count_text(road.count), width)]
    lines += _items((f"{place}: {why}" for place, why in road.count.places), width)
    lines += _items(capability_lines(road.capability), width)
    for pack in road.packs:
        lines += ["", *_wrapped(f"{pack.title}: {pack.answer}. Text: {pack.valid_on}", width)]
        lines += _items((_rule_text(rule) for rule in pack.rules if rule.answer != "not applicable"), width)
    if road.missing:
        lines += ["", "not proved", *_items(road.missing, width)]
    return [*lines, "", *_wrapped(DECIDES, width)]


def _work_lines(work: Iterable[Work], width: int) -> list[str]:
    return _items(
        (
            f"{work_name(each)}, {each.title}"
            + (f" ({each.standing})" if each.standing != "needed" else "")
            + (f": {'; '.join(each.because)}" if each.because else "")
            + (f". {sentence(each.choice)}" if each.choice else "")
            for each in work
        ),
        width,
    )


def _part_text(part: PartNeed) -> str:
    needed = " (if needed)" if part.if_needed else ""
    return f"{part.count} x {part.part}, {part.at}{needed}: {part.because}"


def _axle_lines(job: AxleJob, width: int, *, steps: bool) -> list[str]:
    lines = ["", f"{place_words(job.axle)}: {hours_text(job.hours)}"]
    lines += _work_lines(job.work, width)
    if job.also:
        lines += ["  beside it", *_work_lines(job.also, width)]
    if job.other_end:
        lines += ["  the other end", *_items(job.other_end, width)]
    if job.parts:
        lines.append("  parts")
        lines += _items((_part_text(part) for part in job.parts), width)
    if steps and job.steps:
        lines.append("  steps")
        for step in job.steps:
            at = f"{step.at}: " if step.at else ""
            lines += _wrapped(f"{step.n:>3}. {at}{step.text}", width, "  ", "       ")
            for caution in step_cautions(step):
                lines += _wrapped(f"Caution: {caution}", width, "       ", "         ")
            if step.gate:
                lines += _wrapped(f"Gate {step.gate_number}: {step.gate}", width, "       ", "         ")
    if job.hours.basis and job.hours.high > 0:
        lines += _wrapped(f"hours: {job.hours.basis}", width, "  ", "    ")
    return lines


def job_lines(plan: JobPlan, *, width: int = 100, steps: bool = True) -> list[str]:
    """Return a job plan as lines.

    Parameters
    ----------
    plan : JobPlan
        The complete job.
    width : int
        Signs to a line, 40 or more.
    steps : bool
        Whether the steps with their gates are listed; the cautions of the whole job always are.

    Returns
    -------
    list of str
        Lines without colour and without line ends.
    """
    lines = [shown_text(f"Job for {plan.vehicle_id}")]
    for caution in plan.cautions:
        lines += _wrapped(f"Caution: {caution}", width, "  ", "    ")
    if plan.first:
        lines += ["", "before any brake work", *_items(plan.first, width)]
    for job in plan.axles:
        lines += _axle_lines(job, width, steps=steps)
    if plan.proof:
        lines += ["", "what proves the job", *_items(plan.proof, width)]
    if plan.records:
        lines += ["", "what to write down", *_items(plan.records, width)]
    closing = " ".join(dict.fromkeys(part for part in (plan.decides, DECIDES) if part))
    return [*lines, "", *_wrapped(closing, width)]
