"""The inspection report as a PDF that a fleet would file."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wearline.assessment.results import Judgement
from wearline.assessment.road_results import RoadDecision
from wearline.diagnosis.results import Explanation
from wearline.planning.results import JobPlan
from wearline.records.inspection import Inspection
from wearline.reports.content import report_content
from wearline.reports.content_model import ReportContent
from wearline.reports.document import compile_pdf, write_pdf
from wearline.reports.road_words import (
    capability_lines,
    count_text,
    hours_text,
    reason_status,
    rule_grade,
    sentence,
    step_cautions,
)

if TYPE_CHECKING:
    from wearline.catalogue.loading import Catalogue

__all__ = ["compose_pdf", "render_pdf", "report_data"]


def report_data(content: ReportContent, road: RoadDecision, plan: JobPlan) -> dict[str, Any]:
    """Return content, road decision and job plan as plain values for a template.

    Parameters
    ----------
    content : ReportContent
        The content.
    road : RoadDecision
        The road decision.
    plan : JobPlan
        The job plan.

    Returns
    -------
    dict
        JSON-safe values.
    """
    data = asdict(content)
    data["dated"] = content.taken_on
    data["road"] = asdict(road)
    numbers = {source.key: source.number for source in content.sources}
    for reason, said in zip(road.reasons, data["road"]["reasons"], strict=True):
        said["status_text"] = reason_status(reason)
    rules = (rule for pack in road.packs for rule in pack.rules)
    for rule, said in zip(
        rules, (said for pack in data["road"]["packs"] for said in pack["rules"]), strict=True
    ):
        said["source_number"] = numbers[rule.source]
        said["grade_text"] = rule_grade(rule)
        said["explanation"] = sentence(rule.explanation)
    data["count_text"] = count_text(road.count)
    data["capability_lines"] = capability_lines(road.capability)
    data["plan"] = asdict(plan)
    for axle, job in zip(data["plan"]["axles"], plan.axles, strict=True):
        axle["hours_text"] = hours_text(job.hours)
        for step, own in zip(axle["steps"], job.steps, strict=True):
            step["cautions"] = step_cautions(own)
        for work in (*axle["work"], *axle["also"]):
            work["choice"] = sentence(work["choice"])
    return data


def compose_pdf(
    content: ReportContent, road: RoadDecision, plan: JobPlan, *, day: date, paper: str = "a4"
) -> bytes:
    """Return the report of an inspection as a PDF.

    Parameters
    ----------
    content : ReportContent
        The content.
    road : RoadDecision
        The road decision.
    plan : JobPlan
        The job plan.
    day : date
        Day of the report.
    paper : {"a4", "us-letter"}
        Size of the paper.

    Returns
    -------
    bytes
        The PDF.
    """
    return compile_pdf("report.typ", report_data(content, road, plan), day=day, paper=paper)


def render_pdf(
    inspection: Inspection,
    judgement: Judgement,
    road: RoadDecision,
    plan: JobPlan,
    *,
    catalogue: Catalogue,
    generated_on: date,
    out: Path,
    explanation: Explanation | None = None,
    full: bool = False,
) -> Path:
    """Write the report of an inspection as a PDF on A4; ``compose_pdf`` makes it for other paper.

    Parameters
    ----------
    inspection : Inspection
        What was taken.
    judgement : Judgement
        What follows for each reading.
    road : RoadDecision
        Whether the vehicle may go.
    plan : JobPlan
        The complete job.
    catalogue : Catalogue
        For designs, labels and sources.
    generated_on : date
        Day of the report.
    out : Path
        The file; replaced if it exists.
    explanation : Explanation, optional
        Why it wore like that; None leaves the causes out.
    full : bool, optional
        Whether every ruler and drawing is shown, not only where something was found.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    CatalogueError
        If an axle names a brake design that the catalogue does not have.
    StorageError
        If the file cannot be written.
    """
    content = report_content(
        inspection,
        judgement,
        road,
        plan,
        catalogue=catalogue,
        generated_on=generated_on,
        explanation=explanation,
        full=full,
    )
    return write_pdf(compose_pdf(content, road, plan, day=generated_on), out)
