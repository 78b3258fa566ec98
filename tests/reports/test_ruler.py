"""The limit ruler: its geometry agrees with the numbers, and form alone tells the verdict."""

from dataclasses import replace

import pytest
import report_scenes as scenes
import svg_reading
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.assessment.results import Verdict
from wearline.catalogue.model import Finding
from wearline.reports.ruler import describe_ruler, draw_ruler, ruler_scale
from wearline.uncertainty.rules import Sense
from wearline.units import Kind, from_unit

lengths = st.floats(min_value=0.0, max_value=50.0).map(lambda number: round(number, 2))
spreads = st.floats(min_value=0.01, max_value=3.0)


def made(value, u, limit_mm, sense=Sense.AT_LEAST, unit="mm"):
    """A reading in mm, held against a limit published in ``unit``."""
    number = limit_mm if unit == "mm" else limit_mm / 25.4
    held = scenes.limit("x", "x", f"{number:.4f} {unit}", sense)
    return scenes.reading("1L", "x", "a length", f"{value:.2f} mm", u, held)


@settings(deadline=None, max_examples=150)
@given(lengths, spreads, lengths, st.sampled_from(Sense), st.sampled_from(["mm", "in"]))
def test_the_dot_stands_on_the_side_of_the_limit_that_the_margin_says(value, u, limit_mm, sense, unit):
    reading = made(value, u, limit_mm, sense, unit)
    scale = ruler_scale([reading])
    shift = scale.x_of(reading.value) - scale.x_of(reading.limit.value)
    good = shift if sense is Sense.AT_LEAST else -shift
    assert good == pytest.approx(abs(shift) if reading.margin >= 0 else -abs(shift), abs=1e-9)


@settings(deadline=None, max_examples=150)
@given(lengths, spreads, lengths, st.sampled_from(Sense))
def test_the_whisker_reaches_two_standard_uncertainties_to_both_sides(value, u, limit_mm, sense):
    """k = 2 is about 95 % (JCGM 100:2008, 6.3.3); the drawing is read back, not the code asked."""
    reading = made(value, u, limit_mm, sense)
    svg = draw_ruler([reading])
    scale = ruler_scale([reading])
    centre = scale.x_of(reading.value)
    half = 2 * u / (scale.high - scale.low) * (scale.right - scale.left)
    whisker = [
        piece
        for piece in svg_reading.segments(svg)
        if piece.width == 1.6 and piece.y1 == piece.y2 and piece.role in ("good", "beyond", "ink")
    ]
    if 2 * half > 0.52:
        assert len(whisker) == 1
        assert whisker[0].x1 == pytest.approx(centre - half, abs=0.011)
        assert whisker[0].x2 == pytest.approx(centre + half, abs=0.011)


@settings(deadline=None, max_examples=150)
@given(st.lists(lengths, min_size=2, max_size=8), spreads, lengths, st.sampled_from(Sense))
def test_the_scale_is_linear_rises_and_holds_everything(values, u, limit_mm, sense):
    readings = [replace(made(value, u, limit_mm, sense), spot=f"{n}") for n, value in enumerate(values)]
    scale = ruler_scale(readings)
    for first, second in zip(sorted(values), sorted(values)[1:], strict=False):
        assert scale.x(first) <= scale.x(second)
    middle = (scale.low + scale.high) / 2
    assert scale.x(middle) == pytest.approx((scale.left + scale.right) / 2)
    for value in values:
        assert scale.left - 1e-6 <= scale.x(value - 2 * u)
        assert scale.x(value + 2 * u) <= scale.right + 1e-6
    assert scale.left <= scale.x(limit_mm) <= scale.right


@settings(deadline=None, max_examples=100)
@given(lengths, spreads, lengths, st.sampled_from(Sense))
def test_hatching_lies_on_the_side_beyond_and_nowhere_else(value, u, limit_mm, sense):
    reading = made(value, u, limit_mm, sense)
    svg = draw_ruler([reading])
    at = ruler_scale([reading]).x_of(reading.limit.value)
    hatching = [piece for piece in svg_reading.segments(svg) if piece.role == "beyond" and piece.width == 0.7]
    ends = [x for piece in hatching for x in (piece.x1, piece.x2)]
    if sense is Sense.AT_LEAST:
        assert all(x <= at + 0.011 for x in ends)
    else:
        assert hatching
        assert all(x >= at - 0.011 for x in ends)


def test_the_line_is_scaled_in_the_unit_in_which_the_limit_was_published():
    """Travel is read in mm and limited in inches: 0.080 in is 2.032 mm exactly (1 in = 25.4 mm)."""
    reading = scenes.reading("1L", "total_travel", "total travel", "2.032 mm", 0.05, scenes.TRAVEL)
    scale = ruler_scale([reading])
    assert scale.unit == "in"
    assert scale.x_of(reading.value) == pytest.approx(scale.x(0.080))
    assert "in" in svg_reading.texts(draw_ruler([reading]))
    assert "0.080 in" in svg_reading.texts(draw_ruler([reading]))


@pytest.mark.parametrize(
    ("value", "verdict", "solid_dots", "corners", "open_dots"),
    [("5.0 mm", "within", 1, 0, 0), ("2.0 mm", "beyond", 0, 1, 0), ("3.1 mm", "undecided", 0, 0, 1)],
)
def test_form_alone_tells_the_verdict(value, verdict, solid_dots, corners, open_dots):
    """Pad limit 3.0 mm, U 0.3 mm: 3.25 and more is proven good, 2.75 and less proven bad (ISO 14253-1)."""
    reading = scenes.reading("1L", "pad", "pad", value, 0.15, scenes.PAD)
    svg = draw_ruler([reading])
    assert str(reading.verdict) == verdict
    assert len(svg_reading.circles(svg, "good")) == solid_dots
    assert len(svg_reading.polygons(svg, "beyond")) == corners
    assert len(svg_reading.circles(svg, "paper", stroked=True)) == open_dots


def test_a_void_reading_has_the_word_across_the_line_and_no_dot():
    reading = replace(
        scenes.reading("1L", "rotor_runout", "run-out", "0.28 mm", 0.015, scenes.RUNOUT), verdict=Verdict.VOID
    )
    svg = draw_ruler([reading])
    assert "void" in svg_reading.texts(svg)
    assert not svg_reading.circles(svg, "good")
    assert not svg_reading.polygons(svg, "beyond")
    assert not svg_reading.circles(svg, "paper", stroked=True)


def test_a_reading_not_taken_has_a_broken_line_and_says_so():
    reading = replace(
        scenes.reading("1L", "rotor_runout", "run-out", "0.28 mm", 0.015, scenes.RUNOUT),
        value=None,
        u=None,
        verdict=Verdict.NOT_TAKEN,
        margin=None,
        p_within=None,
    )
    svg = draw_ruler([reading])
    assert "not taken" in svg_reading.texts(svg)
    assert any(piece.dash == "3 3" for piece in svg_reading.segments(svg))


def test_every_limit_is_drawn_and_one_that_never_decides_is_broken():
    reading = scenes.reading(
        "1L",
        "total_travel",
        "total travel",
        "1.40 mm",
        0.05,
        scenes.TRAVEL,
        others=(scenes.TRAVEL_LEAST, scenes.TRAVEL_USUAL),
    )
    assert scenes.TRAVEL_USUAL.consequence is Finding.NOTE
    svg = draw_ruler([reading])
    scale = ruler_scale([reading])
    upright = {
        round(piece.x1, 1): piece.dash
        for piece in svg_reading.segments(svg)
        if piece.x1 == piece.x2 and piece.role == "muted" and piece.width == 1.0
    }
    assert upright == {
        round(scale.x_of(scenes.TRAVEL_LEAST.value), 1): "",
        round(scale.x_of(scenes.TRAVEL_USUAL.value), 1): "2 2",
    }
    assert {"0.080 in", "0.40 mm", "0.060 in"} <= set(svg_reading.texts(svg))


def test_labels_that_would_touch_stand_on_two_lines():
    svg = draw_ruler(list(scenes.pads("1L", (4.9, 4.7, 7.9, 7.8), (8.2, 8.0, 3.2, 3.1))[:4]))
    assert svg_reading.text_at(svg, "3 mm")[1] != svg_reading.text_at(svg, "1/8 in law")[1]


def test_corners_share_one_ruler_and_keep_their_names():
    corners = scenes.pads("1L", (4.9, 4.7, 7.9, 7.8), (8.2, 8.0, 3.2, 3.1))[:4]
    svg = draw_ruler(list(corners))
    rows = [svg_reading.text_at(svg, spot)[1] for spot in ("LT", "LB", "TT", "TB")]
    assert rows == sorted(rows)
    assert len(set(rows)) == 4
    dots = sorted(svg_reading.circles(svg, "good"), key=lambda dot: dot[1])
    scale = ruler_scale(list(corners))
    assert [dot[0] for dot in dots] == pytest.approx([scale.x(mm) for mm in (4.9, 4.7, 7.9, 7.8)], abs=0.01)


def test_a_temperature_is_placed_with_its_offset_and_its_whisker_without():
    """50 degC is 323.15 K; u = 5 K is 10 degrees of whisker to each side."""
    held = scenes.limit("t", "t", "80 degC", Sense.AT_MOST, kind=Kind.TEMPERATURE)
    reading = scenes.reading("1L", "t", "temperature", "50 degC", 0.0, held, kind=Kind.TEMPERATURE)
    reading = replace(reading, u=5.0)
    scale = ruler_scale([reading])
    assert scale.x_of(from_unit(50.0, "degC")) == pytest.approx(scale.x(50.0))
    assert scale.low <= 40.0
    assert scale.high >= 80.0


def test_a_count_has_room_beyond_its_limit_of_none():
    held = scenes.limit("a", "a", "0", Sense.AT_MOST, kind=Kind.COUNT)
    scale = ruler_scale([scenes.reading("1L", "a", "faces", "0", 0.0, held, kind=Kind.COUNT)])
    assert scale.high >= 4.0
    assert scale.low <= 0.0


def test_the_description_says_what_the_drawing_shows():
    reading = scenes.reading("1L", "total_travel", "total travel", "2.70 mm", 0.05, scenes.TRAVEL)
    assert describe_ruler([reading]) == (
        "2.70 mm ± 0.10 mm (0.106 in), beyond, probability within <1 %. "
        "Limit at most 0.080 in (2.03 mm), common practice."
    )


def test_hostile_names_cannot_leave_their_place():
    reading = replace(
        scenes.reading("1L", "x", scenes.HOSTILE, "2.70 mm", 0.05, scenes.TRAVEL), spot="</text><script>"
    )
    svg = draw_ruler([reading, replace(reading, spot="\x00\x1b[31m\u202e")])
    assert [element.tag for element in svg_reading.root_of(svg).iter() if "script" in element.tag] == []


def test_the_same_readings_give_the_same_bytes():
    readings = list(scenes.pads("1L", (4.9, 4.7, 7.9, 7.8), (8.2, 8.0, 3.2, 3.1)))
    assert draw_ruler(readings[:4]) == draw_ruler(readings[:4])
