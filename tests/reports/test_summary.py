"""The answers as lines for a terminal."""

from dataclasses import replace

import pytest
import report_scenes as scenes

from wearline.assessment.results import Verdict
from wearline.reports.summary import job_lines, judgement_lines, road_lines, text_ruler


def joined(lines):
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_line_is_longer_than_asked_for(width):
    _, judgement, road, plan = scenes.scene(2)
    for lines in (
        judgement_lines(judgement, width=width),
        road_lines(road, width=width),
        job_lines(plan, width=width),
    ):
        assert max(len(line) for line in lines) <= width
        assert not [line for line in lines if "\n" in line]


def test_beyond_undecided_and_void_are_listed_and_what_is_within_is_not():
    _, judgement, _, _ = scenes.scene(2)
    text = joined(judgement_lines(judgement))
    assert (
        "total travel: 2.70 mm ± 0.10 mm (0.106 in), beyond; at most 0.080 in (2.03 mm), common practice"
        in text
    )
    assert "radial play: 1.9 mm" in text
    assert "lateral run-out: 0.28 mm ± 0.030 mm, void" in text
    assert "43.1 mm" not in text
    assert "2R nothing taken" in text
    assert "axle 1, steer: wheels off" in text
    assert "Was the plate measured too?" in text


def test_the_road_decision_keeps_its_four_answers_apart():
    _, _, road, _ = scenes.scene(2)
    lines = road_lines(road, width=200)
    assert lines[0] == "Level 3 of 4: tow, or repair on the spot"
    for name, answer in (
        ("parts", road.answers.part),
        ("brakes", road.answers.brake),
        ("vehicle", road.answers.capability),
        ("law", road.answers.law),
    ):
        assert f"  {name}: {answer}" in lines
    assert "1 of 4 brakes defective, 25.0 %" in joined(lines)
    assert "never decides" in joined(lines)
    assert "releases no vehicle" in joined(lines)


def test_a_job_carries_its_cautions_even_without_its_steps():
    _, _, _, plan = scenes.scene(2)
    short = job_lines(plan, steps=False)
    for caution in plan.cautions:
        assert f"Caution: {caution}" in joined(short)
    assert "Gate" not in joined(short)
    assert "Gate 4: All as-found readings are written" in joined(job_lines(plan))
    assert plan.decides in joined(short)


def test_the_ruler_in_letters_agrees_with_the_reading():
    beyond = scenes.reading("1L", "x", "x", "2.70 mm", 0.05, scenes.TRAVEL)
    ruler = text_ruler(beyond)
    assert ruler.index("|") < ruler.index("*")
    assert "/" in ruler[ruler.index("|") :]
    assert "/" not in ruler[: ruler.index("|")]
    low = text_ruler(scenes.reading("1L", "x", "x", "9.0 mm", 0.15, scenes.PAD))
    assert low.index("/") < low.index("|") < low.index("*")
    assert "o" in text_ruler(scenes.reading("1L", "x", "x", "3.1 mm", 0.15, scenes.PAD))
    assert text_ruler(replace(beyond, verdict=Verdict.VOID)) == ""
    assert text_ruler(scenes.word("1L", "slide", "slide", "free")) == ""


def test_control_sequences_of_a_terminal_are_left_out():
    _, judgement, _, _ = scenes.scene(1)
    text = joined(judgement_lines(replace(judgement, vehicle_id="A\x1b[2J\x07B")))
    assert "\x1b" not in text
    assert "\x07" not in text
