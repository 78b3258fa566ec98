"""Both pads as they lie: orientation from the turning of the wheel, wedge to the stated scale."""

from dataclasses import replace

import numpy as np
import pytest
import report_scenes as scenes
import svg_reading

from wearline.catalogue.loading import load_catalogue
from wearline.reports.pad_drawing import (
    LENGTH_ON_PAPER,
    describe_pads,
    draw_blank_pads,
    draw_pads,
    exaggeration,
)

DESIGNS = ("generic-22.5", "generic-19.5", "generic-17.5")


@pytest.fixture(scope="module")
def design():
    return load_catalogue().design("generic-22.5")


def leading_is_at_the_viewers_right(side):
    """From the kinematics of a rolling wheel, in vehicle axes x forward, y left, z up.

    The pad is at the top of the wheel; the person stands outside it and looks toward the vehicle. Seen from
    the axle, the top of a wheel that rolls forward moves forward. The rotor enters at the leading end.
    """
    forward, up = np.array([1.0, 0, 0]), np.array([0, 0, 1.0])
    outward = np.array([0, 1.0, 0]) if side == "L" else np.array([0, -1.0, 0])
    right = np.cross(-outward, up)
    rotor_moves_right = float(np.dot(forward, right)) > 0
    return not rotor_moves_right


@pytest.mark.parametrize("side", ["L", "R"])
def test_the_leading_end_lies_where_the_rotor_enters(side, design):
    at_right = leading_is_at_the_viewers_right(side)
    svg = draw_pads(scenes.worn_end(f"1{side}"), design)
    leading, trailing = svg_reading.text_at(svg, "leading end"), svg_reading.text_at(svg, "trailing end")
    assert (leading[0] > trailing[0]) is at_right
    blank = draw_blank_pads(f"1{side}")
    assert (svg_reading.text_at(blank, "LT")[0] > svg_reading.text_at(blank, "TT")[0]) is at_right
    assert (svg_reading.text_at(blank, "leading")[0] > svg_reading.text_at(blank, "trailing")[0]) is at_right


@pytest.mark.parametrize("side", ["L", "R"])
def test_corner_values_stand_at_their_corners(side, design):
    """The worn end reads LT 8.2, LB 8.0, TT 3.2, TB 3.1 at the outer pad."""
    svg = draw_pads(scenes.worn_end(f"1{side}"), design)
    lt, lb, tt, tb = (svg_reading.text_at(svg, f"{mm} mm") for mm in ("8.2", "8.0", "3.2", "3.1"))
    assert lt[1] == tt[1] < lb[1] == tb[1]
    assert (lt[0] > tt[0]) is leading_is_at_the_viewers_right(side)
    assert lt[0] == lb[0]
    assert tt[0] == tb[0]


def outer_body(svg):
    """Corners of the outer pad in plan: the lowest filled polygon of the left half."""
    bodies = [body for body in svg_reading.polygons(svg, "panel") if max(x for x, _ in body) < 400]
    return max(bodies, key=lambda body: max(y for _, y in body))


def test_the_wedge_is_drawn_to_the_stated_scale(design):
    """Outer pad of the worn end: mean edges 8.1 mm leading and 3.15 mm trailing at 200 mm of distance.

    Continued as a straight line over the 5 mm to each edge of the 210 mm pad: 8.22 mm and 3.03 mm.
    """
    svg = draw_pads(scenes.worn_end("1R"), design)
    factor = exaggeration(design)
    assert any(f"{factor} times larger" in text for text in svg_reading.texts(svg))
    body = outer_body(svg)
    per_metre = LENGTH_ON_PAPER / design.pad_length
    assert max(x for x, _ in body) - min(x for x, _ in body) == pytest.approx(LENGTH_ON_PAPER, abs=0.02)
    face = min(y for _, y in body)
    left, right = (max(y for x, y in body if x == edge) - face for edge in (body[0][0], body[2][0]))
    slope = (8.1 - 3.15) / 200
    assert left / (per_metre * factor) * 1000 == pytest.approx(8.1 + 5 * slope, abs=0.01)
    assert right / (per_metre * factor) * 1000 == pytest.approx(3.15 - 5 * slope, abs=0.01)


def test_backs_are_parallel_when_the_wedge_is_that_of_a_tilted_calliper(design):
    """A tilted calliper wears equal and opposite wedges: h_in + h_out is constant along the pad."""
    end = scenes.worn_end("1R")
    inner, outer = (4.0, 4.0, 7.0, 7.0), (7.0, 7.0, 4.0, 4.0)
    end = replace(
        end,
        readings=scenes.pads("1R", inner, outer),
        derived=scenes.derived_of(inner, outer, explained=0.003),
    )
    svg = draw_pads(end, design)
    plan = [body for body in svg_reading.polygons(svg, "muted") if max(x for x, _ in body) < 400]
    slopes = [(plate[3][1] - plate[0][1]) / (plate[3][0] - plate[0][0]) for plate in plan]
    assert len(slopes) == 2
    assert slopes[0] == pytest.approx(slopes[1], abs=1e-3)
    dashes = [piece for piece in svg_reading.segments(svg) if piece.role == "good" and piece.x2 < 400]
    for dash in dashes:
        assert (dash.y2 - dash.y1) / (dash.x2 - dash.x1) == pytest.approx(slopes[0] * 200 / 210, abs=2e-3)


def test_the_least_friction_is_drawn_at_its_distance_from_the_rotor(design):
    svg = draw_pads(scenes.sound_end("1R"), design)
    body = outer_body(svg)
    face = min(y for _, y in body)
    scale = LENGTH_ON_PAPER / design.pad_length * exaggeration(design)
    levels = [
        piece.y1 - face
        for piece in svg_reading.segments(svg)
        if piece.role == "beyond" and piece.dash == "4 2" and piece.y1 == piece.y2 and piece.y1 > face
    ]
    assert levels == pytest.approx([0.003 * scale], abs=0.02)


def test_the_thinnest_corner_is_marked_once(design):
    svg = draw_pads(scenes.worn_end("1R"), design)
    assert svg_reading.texts(svg).count("thinnest") == 1
    thinnest = svg_reading.text_at(svg, "thinnest")
    value = svg_reading.text_at(svg, "3.1 mm")
    assert thinnest[0] == value[0]
    assert abs(thinnest[1] - value[1]) < 20


def test_pads_that_were_not_taken_are_outlines_and_say_so(design):
    svg = draw_pads(scenes.bare_end("2L"), design)
    assert svg_reading.texts(svg).count("not taken") == 8
    assert not svg_reading.polygons(svg, "panel")
    assert not [piece for piece in svg_reading.segments(svg) if piece.role == "good"]
    assert describe_pads(scenes.bare_end("2L")) == "inner pad not taken; outer pad not taken."


def test_one_pad_alone_is_drawn_and_the_other_left_open(design):
    end = scenes.sound_end("1L")
    inner = tuple(reading for reading in end.readings if reading.check != "pad_outer")
    svg = draw_pads(replace(end, readings=inner), design)
    assert svg_reading.texts(svg).count("not taken") == 4
    assert "outer pad, not taken" in svg_reading.texts(svg)
    assert len(svg_reading.polygons(svg, "panel")) == 2


@pytest.mark.parametrize("design_id", DESIGNS)
def test_new_pads_of_every_design_stay_inside_the_drawing(design_id):
    catalogue = load_catalogue()
    design = catalogue.design(design_id)
    new = (1000 * design.friction_new,) * 4
    end = replace(
        scenes.sound_end("1L"), readings=scenes.pads("1L", new, new), derived=scenes.derived_of(new, new)
    )
    svg = draw_pads(end, design)
    width, height = (float(svg_reading.root_of(svg).get(name)) for name in ("width", "height"))
    for role in ("panel", "muted"):
        for body in svg_reading.polygons(svg, role):
            assert all(0 <= x <= width and 0 <= y <= height for x, y in body)
