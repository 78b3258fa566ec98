"""Papers: the report of an inspection, its page, and the work sheet of its job."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from wearline.app.judging import Request, job_with_causes, judge_inspection
from wearline.assessment.results import Judgement
from wearline.assessment.road import decide_road
from wearline.catalogue.loading import Catalogue
from wearline.errors import InputError
from wearline.planning.results import JobPlan
from wearline.records.inspection import Inspection
from wearline.reports.inspection_report import render_pdf
from wearline.reports.page import render_html

__all__ = ["write_report", "write_text", "write_work_sheet"]


def write_report(
    request: Request, pdf: str | Path | None, page: str | Path | None, *, full: bool = False
) -> list[str]:
    """Write the report of an inspection.

    Parameters
    ----------
    request : Request
        What to judge.
    pdf, page : path or None
        PDF and HTML file to write; None for none.
    full : bool, optional
        Whether the PDF shows every ruler and drawing, not only where something was found.

    Returns
    -------
    list of str
        The files written.

    Raises
    ------
    InputError
        If the inspection is wrong or a file cannot be written.
    """
    opened, judgement = judge_inspection(request)
    inspection, catalogue = opened.inspection, opened.catalogue
    road = decide_road(inspection, judgement, catalogue, request.decision)
    explanation, plan = job_with_causes(opened, judgement)
    written = []
    if pdf is not None:
        render_pdf(
            inspection,
            judgement,
            road,
            plan,
            catalogue=catalogue,
            generated_on=request.today,
            out=Path(pdf),
            explanation=explanation,
            full=full,
        )
        written.append(str(pdf))
    if page is not None:
        html = render_html(
            inspection,
            judgement,
            road,
            plan,
            catalogue=catalogue,
            generated_on=request.today,
            explanation=explanation,
        )
        write_text(page, html)
        written.append(str(page))
    return written


def write_text(path: str | Path, text: str) -> None:
    """Write a text file as a whole.

    Parameters
    ----------
    path : str or Path
        The file; one of that name is replaced.
    text : str
        Its text.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    try:
        Path(path).write_text(text, encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"the file cannot be written: {error.strerror or error}",
            where=str(path),
            allowed="a file in a folder that exists and may be written to",
            cure="Choose another folder or free some space",
        ) from error


def write_work_sheet(
    inspection: Inspection,
    judgement: Judgement,
    plan: JobPlan,
    catalogue: Catalogue,
    out: str | Path,
    *,
    today: date,
) -> None:
    """Write the work sheet of a job as PDF.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    judgement : Judgement
        Its judgement, for the readings as found.
    plan : JobPlan
        The job.
    catalogue : Catalogue
        Limits that the job must meet.
    out : str or Path
        The file.
    today : date
        Day of printing.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    from wearline.reports.worksheet import render_worksheet_pdf

    render_worksheet_pdf(plan, inspection, judgement, catalogue=catalogue, generated_on=today, out=Path(out))
