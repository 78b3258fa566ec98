"""The work sheet of a job: steps with gates to be signed one by one, as found, as left, torque."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wearline.assessment.results import JudgedReading, Judgement, Verdict
from wearline.planning.results import AxleJob, JobPlan
from wearline.records.inspection import Inspection
from wearline.reports.content import DECIDES, MADE_BY
from wearline.reports.document import compile_pdf, write_pdf
from wearline.reports.end_content import field_label
from wearline.reports.road_words import hours_text, sentence, step_cautions
from wearline.reports.words import label_parts, limit_text, place_words, value_text

if TYPE_CHECKING:
    from wearline.catalogue.loading import Catalogue

__all__ = ["LEFT_READINGS", "render_worksheet_pdf"]

LEFT_READINGS = (
    "total_travel",
    "adjuster_test",
    "slide",
    "tangential_play",
    "radial_play",
    "guide_pin_boot",
    "tappet_boot",
    "pad_thinnest",
    "rotor_thickness",
    "rotor_runout",
    "bearing_end_play",
    "brake_force",
    "brake_drag",
)
"""Fields and measures that a complete job leaves with a reading at both ends."""


def _found(judgement: Judgement, place: str, name: str) -> list[JudgedReading]:
    return [
        reading
        for wheel_end in judgement.wheel_ends
        if wheel_end.place == place
        for reading in wheel_end.readings
        if reading.check == name and reading.verdict is not Verdict.NOT_TAKEN
    ]


def _found_text(readings: list[JudgedReading]) -> str:
    if not readings:
        return ""
    # Of several spots the one nearest to its limit speaks for the check.
    worst = min(readings, key=lambda reading: reading.margin if reading.margin is not None else 0.0)
    return value_text(worst) + (" (void)" if worst.verdict is Verdict.VOID else "")


def _limits_text(reading: JudgedReading) -> str:
    own = [reading.limit] if reading.limit is not None else []
    return "; ".join(
        limit_text(limit) for limit in (*own, *(each.limit for each in reading.others)) if limit.decides
    )


def _reading_rows(
    judgement: Judgement, places: tuple[str, str], catalogue: Catalogue, limits: dict[str, str]
) -> list[dict[str, Any]]:
    rows = []
    for name in LEFT_READINGS:
        found = {place: _found(judgement, place, name) for place in places}
        held = next((reading for readings in found.values() for reading in readings if reading.limit), None)
        label = label_parts(field_label(name, catalogue))[0]
        cells = [text for place in places for text in (_found_text(found[place]), "")]
        shown = _limits_text(held) if held is not None else limits.get(name, "")
        rows.append({"label": label, "limit": shown, "cells": cells})
    return rows


def _axle_data(
    job: AxleJob, inspection: Inspection, judgement: Judgement, catalogue: Catalogue
) -> dict[str, Any]:
    axle = inspection.vehicle.axle(job.axle)
    limits: dict[str, str] = {}
    for limit in catalogue.limits_for(axle.design, inspection.taken_on).values():
        if limit.decides:
            before = f"{limits[limit.field]}; " if limit.field in limits else ""
            limits[limit.field] = before + limit_text(limit)
    places = (f"{job.axle}L", f"{job.axle}R")
    title = place_words(job.axle)
    return {
        "title": f"{title[:1].upper()}{title[1:]}, {axle.role}",
        "hours": hours_text(job.hours),
        "work": [asdict(work) | {"choice": sentence(work.choice)} for work in (*job.work, *job.also)],
        "other_end": list(job.other_end),
        "ends": list(places),
        "readings": _reading_rows(judgement, places, catalogue, limits),
        "parts": [asdict(part) for part in job.parts],
        "steps": [asdict(step) | {"cautions": step_cautions(step)} for step in job.steps],
    }


def render_worksheet_pdf(
    plan: JobPlan,
    inspection: Inspection,
    judgement: Judgement,
    *,
    catalogue: Catalogue,
    generated_on: date,
    out: Path,
    paper: str = "a4",
) -> Path:
    """Write the work sheet of a job as a PDF for the bench.

    Parameters
    ----------
    plan : JobPlan
        The complete job.
    inspection : Inspection
        The vehicle, and the day of the readings.
    judgement : Judgement
        For the readings as found.
    catalogue : Catalogue
        For labels and limits.
    generated_on : date
        Day of the sheet.
    out : Path
        The file; replaced if it exists.
    paper : {"a4", "us-letter"}
        Size of the paper.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    StorageError
        If the file cannot be written.

    Notes
    -----
    Axles on which nothing is to be done have no page.
    """
    jobs = [job for job in plan.axles if job.steps or job.work or job.also]
    content = {
        "made_by": MADE_BY,
        "vehicle_id": plan.vehicle_id,
        "description": inspection.vehicle.description,
        "dated": inspection.taken_on.isoformat(),
        "cautions": list(plan.cautions),
        "first": list(plan.first),
        "decides": " ".join(dict.fromkeys(part for part in (plan.decides, DECIDES) if part)),
        "axles": [_axle_data(job, inspection, judgement, catalogue) for job in jobs],
        "proof": list(plan.proof),
        "records": list(plan.records),
    }
    return write_pdf(compile_pdf("worksheet.typ", content, day=generated_on, paper=paper), out)
