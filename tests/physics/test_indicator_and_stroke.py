"""Wear indicator and stroke budget. The tables are derived with generic dimensions; no published source."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import DomainError
from wearline.physics import indicator, stroke

SCALE = indicator.IndicatorScale(friction_new=0.021, rotor_new=0.045, full_scale=0.023)

# reading, outer friction left in mm with the rotor at 45, 41, 37 mm: derived, printed to 0.1
ROWS = [
    (0.00, 21.0, 23.0, 25.0),
    (0.25, 15.3, 17.3, 19.3),
    (0.50, 9.5, 11.5, 13.5),
    (0.75, 3.8, 5.8, 7.8),
    (0.85, 1.5, 3.5, 5.5),
]


@pytest.mark.parametrize(("reading", "new", "half", "worn"), ROWS)
def test_friction_that_a_slide_reading_implies(reading, new, half, worn):
    """Derived table, half a unit of the printed digit."""
    for rotor, printed in ((0.045, new), (0.041, half), (0.037, worn)):
        friction = indicator.friction_from_slide_reading(SCALE, reading, rotor)
        assert pytest.approx(printed, abs=0.0501) == friction * 1e3


def test_new_pads_on_a_worn_rotor_start_at_seventeen_percent():
    """Derived: 4 mm of 23 mm; the same rotor change with old pads makes the reading fall."""
    assert pytest.approx(0.17, abs=0.005) == indicator.slide_reading(SCALE, 0.021, 0.037)
    before = indicator.slide_reading(SCALE, 0.010, 0.037)
    assert indicator.slide_reading(SCALE, 0.010, 0.045) < before


def test_inner_pad_is_invisible_to_a_slide_type_and_half_visible_to_a_tappet_type():
    """Tappet travel counts 1 mm of either pad once; mean friction comes back from the reading."""
    travel = indicator.tappet_travel(SCALE, 0.003, 0.015, 0.043)
    assert pytest.approx(travel) == 0.018 + 0.006 + 0.002
    double = indicator.IndicatorScale(0.021, 0.045, 0.046)
    reading = indicator.tappet_reading(double, 0.003, 0.015, 0.043)
    assert pytest.approx(0.009) == indicator.mean_friction_from_tappet_reading(double, reading, 0.043)


def test_one_reading_of_twelve_points_is_worth_under_three_millimetres():
    """Hand sum: 23 mm * 0.12 = 2.76 mm; the rotor adds a half of its own, in square."""
    u = indicator.u_friction_from_slide_reading(SCALE, u_reading=0.12, u_rotor=0.0008)
    assert pytest.approx(math.hypot(2.76, 0.4) * 1e-3, rel=1e-12) == u


@given(friction=st.floats(0.0, 0.04), rotor=st.floats(0.02, 0.06))
@settings(deadline=None)
def test_reading_and_friction_are_inverse(friction, rotor):
    """Friction implied by the reading of that friction is that friction; scalar equals array."""
    reading = indicator.slide_reading(SCALE, friction, rotor)
    if abs(reading) <= indicator.GREATEST_READING:
        back = indicator.friction_from_slide_reading(SCALE, reading, rotor)
        assert pytest.approx(back, abs=1e-15) == friction
        assert indicator.slide_reading(SCALE, np.array([friction]), rotor).tolist() == [reading]


# clearance in inches (exact), stroke range mm at full pressure: derived from lever 15.6, give 1.2-1.8 mm
BUDGETS = [(0.060, 42, 52), (0.080, 50, 60), (0.100, 58, 68)]


@pytest.mark.parametrize(("inches", "least", "most"), BUDGETS)
def test_stroke_budget_of_three_clearances(inches, least, most):
    """Derived table, whole millimetres; lever and give are expert judgement."""
    budget = stroke.stroke_budget(inches * 25.4e-3, stroke.StrokeDesign())
    assert (least, most) == (round(budget.stroke_least * 1e3), round(budget.stroke_most * 1e3))
    assert pytest.approx(budget.share_most) == budget.stroke_most / 0.064


def test_the_largest_clearance_may_bottom_the_chamber():
    """At 0.100 in the range passes the end of the stroke, at 0.080 in it does not."""
    design = stroke.StrokeDesign()
    assert stroke.stroke_budget(0.100 * 25.4e-3, design).share_most > 1.0
    assert stroke.stroke_budget(0.080 * 25.4e-3, design).share_most < 1.0


def test_hot_rotor_takes_clearance():
    """Hand sum: 11e-6 * 45 mm * 300 K = 0.1485 mm; pads of 0.1 to 0.3 mm: 0.35 to 0.75 mm less than cold."""
    growth = stroke.rotor_growth(0.045, 300.0)
    assert pytest.approx(0.1485e-3, rel=1e-12) == growth
    left = [stroke.hot_clearance(1.5e-3, growth, swell) for swell in (0.1e-3, 0.3e-3)]
    assert pytest.approx([1.1515e-3, 0.7515e-3]) == left


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: indicator.slide_travel(SCALE, -0.001, 0.04), "friction of the outer pad is -0.001 m"),
        (lambda: indicator.slide_travel(SCALE, 0.01, 45.0), "rotor thickness is 45 m.*millimetres"),
        (lambda: indicator.tappet_travel(SCALE, 21.0, 0.01, 0.04), "friction of the inner pad is 21 m"),
        (lambda: indicator.friction_from_slide_reading(SCALE, 75.0, 0.04), "0.75 for 75 %"),
        (lambda: indicator.mean_friction_from_tappet_reading(SCALE, 0.5, -1.0), "rotor thickness is -1 m"),
        (lambda: indicator.IndicatorScale(0.0, 0.045, 0.023), "friction of the new pad is 0 m"),
        (
            lambda: indicator.u_friction_from_slide_reading(SCALE, u_reading=-0.1, u_rotor=0.0),
            "standard uncertainty of the reading is -0.1",
        ),
        (lambda: stroke.rod_stroke(0.062, 0.001, 15.6), "clearance is 0.062 m.*0 to 0.03 m.*thousandths"),
        (lambda: stroke.rod_stroke(0.001, -0.001, 15.6), "elastic give is -0.001 m"),
        (lambda: stroke.rod_stroke(0.001, 0.001, 0.0), "lever ratio is 0"),
        (lambda: stroke.stroke_share(-0.01, 0.064), "rod stroke is -0.01 m"),
        (lambda: stroke.StrokeDesign(give_least=2e-3, give_most=1e-3), "greatest less least elastic give"),
        (lambda: stroke.rotor_growth(0.0, 300.0), "rotor thickness is 0 m"),
        (lambda: stroke.hot_clearance(0.001, 0.0, -1e-4), "swelling of one pad is -0.0001 m"),
    ],
)
def test_impossible_dimensions_are_refused(call, words):
    """Each refusal names the quantity and the cure."""
    with pytest.raises(DomainError, match=words):
        call()
