"""The whole way from an inspection file to paper and page, on the acceptance inspections (invented)."""

import io
import re
from datetime import date
from pathlib import Path

import pypdf
import pytest

from wearline.assessment.assemble import judge
from wearline.assessment.road import decide_road
from wearline.ingest.read import read_inspection
from wearline.planning.job import plan_job_from
from wearline.reports.inspection_report import render_pdf
from wearline.reports.page import render_html
from wearline.reports.worksheet import render_worksheet_pdf

CASES = sorted((Path(__file__).parent.parent / "cases").glob("*.toml"))
DAY = date(2026, 9, 20)

# Numbers that the acceptance table of the cases asks for: imbalance, share of defective brakes, means, wedge.
ASKED = {
    "A1": ("34.0 %", "25.0 %", "9.40 mm", "52.5 %"),
    "A2": ("2.4 %", "3.23 mm"),
    "A3": ("39.0 %", "51.0 %", "25.0 %"),
    "A4": ("10.0 %", "52.6 %", "16.7 %"),
    "A6": ("22.4 %",),
    "A10": ("42.0 %",),
    "B2": ("2.90 mm", "3.15 mm"),
    "B5": ("void",),
}


def flat(text):
    return re.sub(r"\s+", " ", text.replace("\u200b", "").replace("\u00a0", " "))


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_case_goes_from_file_to_paper_page_and_work_sheet(path, catalogue, tmp_path):
    inspection = read_inspection(path, today=DAY, catalogue=catalogue)
    judgement = judge(inspection, catalogue)
    road = decide_road(inspection, judgement, catalogue)
    plan = plan_job_from(inspection, judgement, catalogue)
    made = (inspection, judgement, road, plan)
    out = render_pdf(*made, catalogue=catalogue, generated_on=DAY, out=tmp_path / "report.pdf")
    pages = pypdf.PdfReader(io.BytesIO(out.read_bytes())).pages
    text = flat(" ".join(page.extract_text() for page in pages))
    page = render_html(*made, catalogue=catalogue, generated_on=DAY)
    for place in inspection.vehicle.places:
        assert f'id="end-{place}"' in page
        assert f"{place} axle" in text or f"{place} trailer axle" in text
    for number in ASKED[path.stem]:
        assert number in text
        assert number in flat(page)
    for caution in plan.cautions:
        assert flat(caution) in text
    first = flat(pages[0].extract_text())
    assert f"Level {road.level}: {road.meaning}" in first
    assert "Law here today" in first
    work = render_worksheet_pdf(
        plan, inspection, judgement, catalogue=catalogue, generated_on=DAY, out=tmp_path / "work.pdf"
    )
    sheet = flat(" ".join(each.extract_text() for each in pypdf.PdfReader(work).pages))
    for job in plan.axles:
        for step in job.steps:
            assert flat(step.gate) in sheet
