"""Sheets to be written on: every check once, in the order of the states; gates to be signed one by one."""

import io
import re
from dataclasses import replace
from datetime import date

import pypdf
import pytest
import report_scenes as scenes

from wearline.reports.blank_sheet import CAUTIONS, ROUND, render_blank_sheet_pdf, sheet_data
from wearline.reports.worksheet import LEFT_READINGS, render_worksheet_pdf

DAY = date(2026, 9, 15)


def flat(text):
    return re.sub(r"\s+", " ", text.replace("\u200b", ""))


def text_of(path):
    reader = pypdf.PdfReader(io.BytesIO(path.read_bytes()))
    return flat("\n".join(page.extract_text() for page in reader.pages)), reader


def fields_of(data):
    return [
        (state["code"], tuple(group["places"]), row["label"])
        for state in data["states"]
        for group in state["groups"]
        for row in group["rows"]
    ]


def test_states_come_in_the_order_of_a_round_and_each_once(catalogue):
    data = sheet_data(scenes.vehicle(4), catalogue, DAY)
    codes = [state["code"] for state in data["states"]]
    assert codes == [code for code in ROUND if code in codes]
    assert {"N", "A", "W", "P"} <= set(codes)


def test_the_roller_test_is_done_on_the_road_although_it_needs_air(catalogue):
    rows = fields_of(sheet_data(scenes.vehicle(2), catalogue, DAY))
    label = catalogue.fields["brake_force"].label
    assert {code for code, _, name in rows if name == label} == {"R"}


def test_no_field_is_asked_for_twice_at_a_wheel_end(catalogue):
    rows = fields_of(sheet_data(scenes.vehicle(4), catalogue, DAY))
    asked = [(place, label) for _, places, label in rows for place in places]
    assert len(asked) == len(set(asked))


def test_every_field_that_needs_no_dismantling_is_asked_for_at_every_wheel_end(catalogue):
    """Only state D, calliper, hub or chamber taken apart, is left to a job."""
    car = scenes.vehicle(3)
    rows = fields_of(sheet_data(car, catalogue, DAY))
    dismantled = {
        name
        for check in catalogue.checks.values()
        if "D" in check.states
        for name in check.fields
        if not any(name in other.fields for other in catalogue.checks.values() if "D" not in other.states)
    }
    for spec in catalogue.fields.values():
        if spec.vehicle_level or spec.name in dismantled or spec.name in ("pad_inner", "pad_outer"):
            continue
        if not any(spec.name in check.fields for check in catalogue.checks.values()):
            continue
        places = [place for _, group, label in rows if label == spec.label for place in group]
        assert sorted(places) == sorted(str(place) for place in car.places), spec.name


def test_the_sheet_names_how_gauge_limit_and_words(catalogue, tmp_path):
    out = tmp_path / "sheet.pdf"
    assert render_blank_sheet_pdf(scenes.vehicle(2), catalogue, out, on=DAY) == out
    text, reader = text_of(out)
    check = catalogue.checks["F26"]
    assert flat(check.how) in text
    assert check.gauge in text
    assert "0.080 in" in text
    assert "advances and holds" in text
    for caution in CAUTIONS:
        assert f"Caution: {caution}" in text
    for place in ("1L", "1R", "2L", "2R"):
        assert f"{place} inner" in text
        assert f"{place} outer" in text
    assert reader.metadata.title == "Reading sheet for Invented 7"
    assert f"page 1 of {len(reader.pages)}" in text


def test_an_axle_with_drums_gets_no_boxes_for_pads(catalogue):
    car = scenes.vehicle(2)
    car = replace(car, axles=(car.axles[0], replace(car.axles[1], brake="drum")))
    data = sheet_data(car, catalogue, DAY)
    assert [axle["title"] for axle in data["pads"]] == ["Axle 1"]
    assert all("2L" not in places for _, places, _ in fields_of(data))


def test_axles_of_different_designs_show_their_own_limits(catalogue):
    car = scenes.vehicle(2)
    car = replace(car, axles=(car.axles[0], replace(car.axles[1], design="generic-17.5")))
    data = sheet_data(car, catalogue, DAY)
    rotor = next(
        row
        for state in data["states"]
        for group in state["groups"]
        for row in group["rows"]
        if row["label"] == catalogue.fields["rotor_thickness"].label
    )
    assert "axle 1: 37 mm" in rotor["limit"]
    assert "axle 2: 28 mm" in rotor["limit"]


@pytest.fixture(scope="module")
def work(catalogue, tmp_path_factory):
    inspection, judgement, _, plan = scenes.scene(2)
    out = tmp_path_factory.mktemp("work") / "work.pdf"
    render_worksheet_pdf(plan, inspection, judgement, catalogue=catalogue, generated_on=DAY, out=out)
    return text_of(out)


def test_every_gate_has_a_place_for_time_and_signature(work):
    text, _ = work
    _, _, _, plan = scenes.scene(2)
    gates = [step for job in plan.axles for step in job.steps if step.gate]
    for step in gates:
        assert f"Gate {step.gate_number}. {step.gate}" in text
    assert text.count("signature") >= len(gates)


def test_the_work_sheet_carries_cautions_parts_and_fields(work):
    text, reader = work
    _, _, _, plan = scenes.scene(2)
    for caution in [
        *plan.cautions,
        *(each for job in plan.axles for step in job.steps for each in step.cautions),
    ]:
        assert f"Caution: {caution}" in text
    for part in plan.axles[0].parts:
        assert part.part in text
    for words in ("1R as found", "1R as left", "torque", "part number", "batch", "uncaged, time"):
        assert words in text
    assert plan.decides in text
    assert reader.metadata.title == "Work sheet for Invented 7, 2026-09-14"


def test_the_work_sheet_shows_what_was_found(work):
    text, _ = work
    assert "2.70 mm" in text
    assert "does not advance" in text
    assert "0.28 mm (void)" in text


def test_an_axle_without_work_has_no_page(work):
    text, _ = work
    assert "Axle 1, steer" in text
    assert "Axle 2" not in text


def test_the_as_left_readings_are_fields_or_measures_of_the_catalogue(catalogue):
    for name in LEFT_READINGS:
        assert name in catalogue.fields or name in catalogue.measures
