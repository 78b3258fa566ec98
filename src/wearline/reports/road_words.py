"""The road decision and the hours of a job in words."""

from __future__ import annotations

import re

from wearline.assessment.road_results import BrakeCount, Capability, Reason, RuleAnswer
from wearline.planning.results import Hours, JobStep, Work
from wearline.reports.braking_words import capability_left_lines
from wearline.reports.words import quantity_text

__all__ = [
    "capability_lines",
    "count_text",
    "grade_words",
    "hours_text",
    "reason_status",
    "rule_grade",
    "sentence",
    "step_cautions",
    "work_name",
]

_NAME = 48
_GRADES = {
    "read": "text read",
    "transcription": "from a transcription, confirm",
    "memory": "recalled, unverified: shown, never decides",
    "none": "no document",
}


def sentence(text: str) -> str:
    """Return a text as a sentence: first letter large, a stop at the end.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        The sentence; empty for an empty text.
    """
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) or not text else ".")


def grade_words(grade: str) -> str:
    """Return how well the text of a source is known, in words.

    Parameters
    ----------
    grade : str
        Grade of a source or rule.

    Returns
    -------
    str
        The words; the grade itself where it is written in words already.
    """
    return _GRADES.get(grade.lower(), grade)


def count_text(count: BrakeCount) -> str:
    """Return the count of defective brakes in words.

    Parameters
    ----------
    count : BrakeCount
        The count.

    Returns
    -------
    str
        Count, share, what the rule asks, and what is not known.
    """
    met = "meets" if count.rule_met else "does not meet"
    text = (
        f"{count.defective} of {count.brakes} brakes defective, {quantity_text(count.share, '%', 1)}: this "
        f"{met} the rule for out of service, for which {count.needed} would be enough."
    )
    if count.unknown:
        text += f" Not known, because nothing was taken that could show it: {', '.join(count.unknown)}."
    return text


def capability_lines(capability: Capability) -> list[str]:
    """Return what the measured forces say, in words.

    Parameters
    ----------
    capability : Capability
        Forces, weight and imbalances.

    Returns
    -------
    list of str
        One sentence each; says so where nothing was measured.
    """
    lines = []
    if capability.efficiency is not None:
        asked = ""
        if capability.efficiency_needed is not None:
            asked = f"; the house rule asks {quantity_text(capability.efficiency_needed, '%', 1)}"
        lines.append(
            f"Sum of the forces over the weight: {quantity_text(capability.efficiency, '%', 1)}{asked}."
        )
    if capability.total_force is not None and capability.weight is not None:
        total = quantity_text(capability.total_force, "kN", 1)
        lines.append(f"Forces {total} on a weight of {quantity_text(capability.weight, 'kN', 1)}.")
    lines += [
        f"Axle {axle}: the forces differ by {quantity_text(share, '%', 1)} of the greater."
        for axle, share in capability.imbalances
    ]
    if capability.not_measured:
        lines.append(f"No force measured at {', '.join(capability.not_measured)}.")
    if capability.left is not None:
        lines += capability_left_lines(capability.left)
    return lines or ["No brake force was measured: the capability is not known."]


def hours_text(hours: Hours) -> str:
    """Return a range of hours in words.

    Parameters
    ----------
    hours : Hours
        The range.

    Returns
    -------
    str
        As ``"2.6 to 4.3 h, one person"``.
    """
    if hours.high <= 0:
        return "no work"
    return f"{hours.low:.1f} to {hours.high:.1f} h, one person"


def reason_status(reason: Reason) -> str:
    """Return the status of the rule behind a reason, where its sentence does not say it already.

    Parameters
    ----------
    reason : Reason
        One reason for a level.

    Returns
    -------
    str
        As ``" (common practice)"``, or empty.
    """
    return "" if reason.text.endswith(f"({reason.status})") else f" ({reason.status})"


def rule_grade(rule: RuleAnswer) -> str:
    """Return how well the text of a rule is known, and whether it decides.

    Parameters
    ----------
    rule : RuleAnswer
        A rule's answer.

    Returns
    -------
    str
        As ``"text read"`` or ``"recalled, unverified: shown, never decides"``.
    """
    words = grade_words(rule.grade.partition(":")[0].strip())
    return words if rule.decides or "never decides" in words else f"{words}: shown, never decides"


def step_cautions(step: JobStep) -> list[str]:
    """Return the cautions of a step, those that are a name only put together.

    Parameters
    ----------
    step : JobStep
        The step.

    Returns
    -------
    list of str
        Every caution, in one line where it is a short name whose rule stands with the whole job.
    """
    names = [caution for caution in step.cautions if not caution.endswith(".") and len(caution) <= _NAME]
    rest = [caution for caution in step.cautions if caution not in names]
    return ["; ".join(names), *rest] if names else rest


def work_name(work: Work) -> str:
    """Return the name of a piece of work: its situation, where it is one, and its place.

    Parameters
    ----------
    work : Work
        The work.

    Returns
    -------
    str
        As ``"S5 1R"``; the place alone for work beside the situations S1 to S6.
    """
    return f"{work.code} {work.at}" if re.fullmatch(r"S[1-6]", work.code) else work.at
