"""The default limits and the designs against the figures of the trade, written by hand."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from wearline.catalogue.loading import load_catalogue
from wearline.errors import CatalogueError
from wearline.uncertainty.conformity import Sense
from wearline.units import Kind, parse_quantity

CATALOGUE = load_catalogue()
DAY = date(2026, 9, 14)
LIMITS = CATALOGUE.limits_for("generic-22.5", DAY)

# Common practice, no source: id, master form, side, good at the limit itself, what beyond means.
TRADE = [
    ("cl_side", "0.030 in", "at most", True, "note"),
    ("cl_nom", "0.060 in", "at most", True, "note"),
    ("cl_max", "0.080 in", "at most", True, "look"),
    ("cl_min", "0.40 mm", "at least", True, "look"),
    ("pad_service", "3 mm", "at least", True, "renew"),
    ("pad_road", "1.6 mm", "at least", True, "out of service"),
    ("taper_te", "3 mm", "at most", True, "renew"),
    ("taper_tr", "2 mm", "at most", True, "renew"),
    ("play_t", "0.118 in", "at most", True, "renew"),
    ("play_r", "0.078 in", "at most", True, "renew"),
    ("ind_open", "75 %", "at most", False, "look"),
    ("rotor_min", "37 mm", "at least", True, "renew"),
    ("rotor_ro", "0.15 mm", "at most", True, "look"),
    ("rotor_tv", "0.08 mm", "at most", True, "renew"),
    ("rotor_tv_good", "0.03 mm", "at most", True, "note"),
    ("rotor_crack", "75 %", "at most", True, "renew"),
    ("rotor_crack_width", "0.5 mm", "at most", True, "renew"),
    ("rotor_score", "1.5 mm", "at most", True, "renew"),
    ("rotor_score_note", "0.8 mm", "at most", True, "note"),
    ("hub_play_min", "0.001 in", "at least", True, "look"),
    ("hub_play_max", "0.005 in", "at most", True, "look"),
    ("bind_share", "2 %", "at most", True, "look"),
    ("bind_mate", "200 %", "at most", True, "look"),
    ("imb", "30 %", "at most", True, "look"),
    ("slide", "100 N", "at most", True, "look"),
    ("tappet_step", "0.3 mm", "at most", True, "renew"),
    ("play_t_advice", "1.5 mm", "at most", True, "note"),
    ("temp_ratio_low", "60 %", "at least", True, "look"),
    ("temp_ratio_high", "140 %", "at most", True, "look"),
    ("temp_diff", "40 K", "at most", True, "look"),
    ("visible_open", "5 mm", "at least", True, "look"),
    ("hub_face", "0.05 mm", "at most", True, "look"),
    ("sensor_gap", "0.7 mm", "at most", True, "look"),
]


@pytest.mark.parametrize(("name", "published", "sense", "passes", "beyond"), TRADE, ids=[t[0] for t in TRADE])
def test_the_default_limits_are_those_of_the_trade(name, published, sense, passes, beyond):
    limit = LIMITS[name]
    expected = (published, Sense(sense), passes, beyond)
    assert expected == (limit.published, limit.sense, limit.passes_at_limit, limit.consequence)


def test_clearance_and_play_are_compared_in_inches_and_thickness_in_millimetres():
    """One master form per limit: a reading must not pass in one unit and fail in the other."""
    assert {LIMITS[name].unit for name in ("cl_side", "cl_nom", "cl_max", "play_t", "play_r")} == {"in"}
    assert {LIMITS[name].unit for name in ("pad_service", "pad_road", "taper_te", "taper_tr")} == {"mm"}


def test_play_of_three_millimetres_is_beyond_since_0_118_in_is_less():
    """0.118 in = 2.9972 mm exactly (1 in = 25.4 mm, NIST SP 811 B.8)."""
    limit = LIMITS["play_t"]
    assert Fraction("0.0029972") == limit.exact
    assert limit.admits(parse_quantity("0.118 in", Kind.LENGTH).exact)
    assert limit.admits(parse_quantity("118 thou", Kind.LENGTH).exact)
    assert not limit.admits(parse_quantity("3 mm", Kind.LENGTH).exact)


@pytest.mark.parametrize(
    ("name", "text", "good"),
    [
        ("pad_service", "3.0 mm", True),
        ("pad_service", "2.99 mm", False),
        ("cl_max", "0.080 in", True),
        ("cl_max", "80 thou", True),
        ("cl_max", "0.081 in", False),
        ("rotor_min", "37 mm", True),
        ("rotor_min", "36.99 mm", False),
        ("rotor_crack", "75 %", True),
        ("rotor_crack", "75.1 %", False),
        ("ind_open", "74.9 %", True),
        ("ind_open", "75 %", False),
        ("abutment_catch", "0", True),
        ("abutment_catch", "1", False),
    ],
)
def test_what_happens_at_the_limit_itself(name, text, good):
    limit = LIMITS[name]
    assert limit.admits(parse_quantity(text, limit.kind).exact) is good


def test_each_design_has_its_own_rotor_minimum():
    """Generic dimensions: 37 mm from 45 mm, and 28 mm from 34 mm on the small design."""
    thin = {name: CATALOGUE.limits_for(name, DAY)["rotor_min"].published for name in CATALOGUE.designs}
    assert thin == {"generic-22.5": "37 mm", "generic-19.5": "37 mm", "generic-17.5": "28 mm"}


@pytest.mark.parametrize("name", ["generic-22.5", "generic-19.5", "generic-17.5"])
def test_indicator_full_scale_is_friction_to_two_millimetres_and_half_of_the_rotor_wear(name):
    """S = (friction new - 2 mm) + (rotor new - rotor minimum) / 2; 19 + 4 = 23 mm on the large design."""
    numbers = CATALOGUE.design(name).numbers
    rotor = numbers["rotor_new"].exact - numbers["rotor_min"].exact
    expected = numbers["friction_new"].exact - Fraction(2, 1000) + rotor / 2
    assert expected == numbers["indicator_full_scale"].exact


def test_the_indicator_table_of_the_large_design():
    """Friction left on a new rotor at 25, 50, 75 and 85 %: 15.3, 9.5, 3.8, 1.5 mm (21 mm new, S = 23 mm)."""
    design = CATALOGUE.design("generic-22.5")
    left = [
        round(1000 * (design.friction_new - share * design.indicator_full_scale), 2)
        for share in (0.25, 0.5, 0.75, 0.85)
    ]
    assert left == pytest.approx([15.3, 9.5, 3.8, 1.5], abs=0.06)


def test_the_measured_corners_lie_five_millimetres_inside_the_pad():
    """Pad 210 by 92 mm: measured over 200 by 82 mm."""
    design = CATALOGUE.design("generic-22.5")
    assert design.measuring_length == pytest.approx(0.200, rel=1e-12)
    assert design.measuring_height == pytest.approx(0.082, rel=1e-12)


def test_the_stroke_budget_of_the_usual_clearance():
    """Rod stroke 42 to 52 mm at 0.060 in, 50 to 60 mm at 0.080 in: lever 15.6, give 1.2 to 1.8 mm."""
    design = CATALOGUE.design("generic-22.5")
    for name, low, high in (("cl_nom", 42, 52), ("cl_max", 50, 60)):
        travel = LIMITS[name].value
        strokes = [
            1000 * design.lever_ratio * (travel + give) for give in (design.give_least, design.give_most)
        ]
        assert strokes == pytest.approx([low, high], abs=0.55)


def test_the_force_chain_of_the_large_design():
    """24 in2 at 690 kPa less 30 kPa gives 10.0 kN (chamber 0.98); lever 15.6 and 0.94 make 147 kN; 18.3 kN m.

    The product is a hand sum from the stated dimensions: 2 x 0.36 x 147 kN x 0.173 m = 18.3 kN m.
    """
    design = CATALOGUE.design("generic-22.5")
    rod = design.chamber_area * (690e3 - design.push_out_pressure) * 0.98
    clamp = rod * design.lever_ratio * design.mechanical_efficiency
    torque = 2 * design.friction_coefficient * clamp * design.effective_radius
    assert torque == pytest.approx(18.3e3, rel=0.005)


def test_designs_differ_in_what_changes_the_work():
    adapters = {name: design.adjuster_needs_shear_adapter for name, design in CATALOGUE.designs.items()}
    assert adapters == {"generic-22.5": True, "generic-19.5": True, "generic-17.5": False}
    assert {design.outer_pad_in for design in CATALOGUE.designs.values()} == {"carrier", "calliper"}
    assert {design.tappets for design in CATALOGUE.designs.values()} == {1, 2}
    assert {design.rotor_mounting for design in CATALOGUE.designs.values()} == {
        "over the hub",
        "bolted to the hub",
    }


def test_an_unknown_design_names_the_nearest():
    with pytest.raises(CatalogueError, match=r"no brake design 'generic-225'.*Did you mean 'generic-22.5'\?"):
        CATALOGUE.design("generic-225")


def test_limits_of_an_unknown_design_name_the_known_ones():
    with pytest.raises(CatalogueError, match=r"Allowed: generic-22\.5, generic-19\.5, generic-17\.5"):
        CATALOGUE.limits_for("something else", DAY)


def test_half_of_the_tangential_limit_lets_new_pads_rub():
    """A tilt of P / 2A over half of a pad uses up the clearance of one side: P > 1.5 mm (hand sum).

    theta = 0.76 mm / 105 mm = 7.2 mrad at half of a pad of 210 mm; P = 2 * 105 mm * 7.2 mrad = 1.52 mm.
    """
    design = CATALOGUE.design("generic-22.5")
    tilt = design.clearance_per_side / (design.pad_length / 2)
    rubs_from = 2 * design.dial_distance * tilt
    assert rubs_from == pytest.approx(LIMITS["play_t_advice"].value, abs=0.05e-3)
