"""The vehicle from above: every wheel end where it is, and what is known of it in form and words."""

from dataclasses import replace
from itertools import pairwise

import pytest
import report_scenes as scenes
import svg_reading

from wearline.assessment.results import Finding, Verdict
from wearline.reports.ladder import STEPS, draw_ladder, draw_step
from wearline.reports.vehicle_drawing import EndState, draw_vehicle, wheel_end_state


@pytest.mark.parametrize(
    ("axles", "trailer", "kind"),
    [
        (1, 0, "semitrailer"),
        (2, 0, "bus"),
        (2, 0, "drawbar trailer"),
        (4, 8, "combination"),
        (12, 0, "truck"),
    ],
)
def test_every_wheel_end_stands_at_its_side_from_front_to_rear(axles, trailer, kind):
    inspection, judgement, _, _ = scenes.scene(axles, trailer, kind=kind)
    svg = draw_vehicle(inspection.vehicle, judgement)
    rows = []
    for axle in inspection.vehicle.axles:
        left, right = (svg_reading.text_at(svg, f"{axle.id}{side}") for side in "LR")
        assert left[0] < 150 < right[0]
        assert left[1] == right[1]
        rows.append(left[1])
    assert rows == sorted(rows)
    assert all(after - before >= 40 for before, after in pairwise(rows))
    height = float(svg_reading.root_of(svg).get("height"))
    assert rows[-1] < height


def test_signs_and_labels_of_trailer_axles_do_not_touch():
    inspection, judgement, _, _ = scenes.scene(2, 3, kind="combination")
    svg = draw_vehicle(inspection.vehicle, judgement)
    label = svg_reading.text_at(svg, "T1R")
    signs = [
        min(piece.x1, piece.x2)
        for piece in svg_reading.segments(svg)
        if piece.role == "ink" and piece.width == 1.0 and abs(piece.y1 - label[1]) < 4 and piece.x1 > 150
    ]
    assert signs
    assert min(signs) >= label[0] + 8.2 * 3


def test_dual_tyres_are_drawn_as_two():
    single = draw_vehicle(scenes.vehicle(2, wheels="single"))
    dual = draw_vehicle(scenes.vehicle(2, wheels="dual"))
    count = [svg.count('class="f-muted" fill') - svg.count("<text") for svg in (single, dual)]
    assert count[1] - count[0] == 2


def test_a_worn_end_is_beyond_and_counts_each_check_once():
    """Beyond: outer taper, travel, adjuster, boot, tangential play; undecided: pad corners, radial play."""
    state = wheel_end_state(scenes.worn_end("1R"))
    assert state.form is EndState.BEYOND
    assert state.words == ("5 beyond", "2 undecided")


def test_an_end_of_which_nothing_was_taken_is_never_within():
    state = wheel_end_state(scenes.bare_end("2R"))
    assert state.form is EndState.NOTHING
    assert state.words == ("nothing taken",)


def test_an_end_with_gaps_is_within_so_far():
    state = wheel_end_state(replace(scenes.sound_end("1L"), not_taken=("slide",)))
    assert state.form is EndState.WITHIN
    assert state.words == ("within so far", "1 not taken")


def test_a_fault_without_a_reading_makes_the_end_beyond():
    end = replace(scenes.sound_end("1L"), findings=(Finding("calliper:stuck", "1L", "It is stuck."),))
    assert wheel_end_state(end).form is EndState.BEYOND


def test_an_end_with_doubt_only_is_undecided():
    readings = tuple(
        replace(reading, verdict=Verdict.UNDECIDED) if reading.check == "radial_play" else reading
        for reading in scenes.sound_end("1L").readings
    )
    state = wheel_end_state(replace(scenes.sound_end("1L"), readings=readings))
    assert state.form is EndState.UNDECIDED
    assert state.words == ("1 undecided",)


def test_form_shows_the_state_without_colour():
    inspection, judgement, _, _ = scenes.scene(2)
    svg = draw_vehicle(inspection.vehicle, judgement)
    assert len(svg_reading.polygons(svg, "beyond")) == 1
    assert len(svg_reading.circles(svg, "good")) == 2
    assert sum(piece.dash == "3 2" for piece in svg_reading.segments(svg)) == 1


def test_a_drum_axle_is_named():
    car = scenes.vehicle(2)
    car = replace(car, axles=(car.axles[0], replace(car.axles[1], brake="drum")))
    assert "drive, drum" in svg_reading.texts(draw_vehicle(car))


def test_a_hostile_vehicle_name_stays_text():
    car = replace(scenes.vehicle(2), id='"><script>\x00')
    root = svg_reading.root_of(draw_vehicle(car))
    assert root.get("aria-label") == 'Vehicle "><script> from above'


@pytest.mark.parametrize("level", range(5))
def test_the_ladder_fills_the_step_that_was_decided(level):
    for draw in (draw_ladder, draw_step):
        svg = draw(level)
        root = svg_reading.root_of(svg)
        assert STEPS[level] in "".join(root.itertext()) + root.get("aria-label")
        filled = [each for each in root.iter(f"{svg_reading.SPACE}rect") if each.get("class") == "f-ink"]
        assert len(filled) == 1
