"""The rule packs at the edges that the law prints, in the unit that they compare."""

from __future__ import annotations

from fractions import Fraction

import pytest

from wearline.catalogue.loading import load_catalogue
from wearline.catalogue.rule_model import Rule
from wearline.errors import CatalogueError
from wearline.units import Kind, parse_quantity

CATALOGUE = load_catalogue()
FEDERAL = CATALOGUE.pack("us-federal")


def rule(name: str, pack: str = "us-federal") -> Rule:
    return next(each for each in CATALOGUE.pack(pack).rules if each.id == name)


def length(text: str) -> Fraction:
    return parse_quantity(text, Kind.LENGTH).exact


def share(text: str) -> Fraction:
    return parse_quantity(text, Kind.FRACTION).exact


@pytest.mark.parametrize("name", ["pad-steering", "pad-other-axles"])
@pytest.mark.parametrize(("text", "lawful"), [("3.2 mm", True), ("3.19 mm", False), ("3.1 mm", False)])
def test_air_disc_pads_are_lawful_from_3_2_mm(name, text, lawful):
    """49 CFR 393.47(d)(1) and (2): 'not less than' 3.2 mm, so equality passes."""
    assert rule(name).admits(length(text)) is lawful


def test_the_annual_inspection_passes_an_eighth_of_an_inch():
    """49 CFR 396, Appendix A, 1.a(6)(c), (d): 'less than 1/8 inch' fails, printed in inches alone."""
    annual = rule("annual-pad")
    assert annual.admits(length("1/8 in"))
    assert annual.admits(length("3.175 mm"))
    assert not annual.admits(length("3.174 mm"))
    assert not annual.admits(length("0.124 in"))


def test_a_pad_between_the_two_printed_units_passes_one_rule_and_fails_the_other():
    """1/8 in = 3.175 mm, printed as 3.2 mm: 3.18 mm lies between, and the tool says so aloud."""
    pad = length("3.18 mm")
    federal, annual = rule("pad-steering"), rule("annual-pad")
    assert not federal.admits(pad)
    assert annual.admits(pad)
    assert federal.in_unit_gap(pad)
    assert not annual.in_unit_gap(pad)
    assert "1/8 in" in federal.gap_text
    assert "stricter" in federal.unit_rule
    assert "inches alone" in annual.unit_rule


@pytest.mark.parametrize(
    ("text", "inside"),
    [("3.174 mm", False), ("3.175 mm", True), ("1/8 in", True), ("3.19 mm", True), ("3.2 mm", False)],
)
def test_the_gap_begins_at_an_eighth_of_an_inch_and_ends_below_3_2_mm(text, inside):
    assert rule("pad-other-axles").in_unit_gap(length(text)) is inside


def test_the_rotor_rule_has_no_number_of_its_own():
    """49 CFR 393.47(g): the maker's limit; passes at it, fails 0.01 mm below."""
    federal = rule("rotor-thickness")
    assert federal.number is None
    assert federal.limit == "rotor_min"
    limit = CATALOGUE.default_limits[federal.limit]
    assert limit.admits(length("37 mm"))
    assert not limit.admits(length("36.99 mm"))


def test_heat_checks_pass_and_a_crack_that_opens_fails():
    """49 CFR 396, Appendix A, 1.c(1): cracks that open on application; short heat checks are not meant."""
    (words,) = (c.words for c in CATALOGUE.measures[rule("annual-crack").measure].true_when)
    assert "opens on application" in words
    assert "hair net" not in words
    assert "none" not in words


# 393.52(d), read in Pennsylvania Code Title 67 ch. 175 Table I, which reproduces it (with one 43.5 as 3.4).
PERFORMANCE = [
    ("A1", "65.2 %", 21, 20, 54),
    ("A2", "52.8 %", 17, 25, 66),
    ("A3", "43.5 %", 14, 35, 85),
    ("B1", "52.8 %", 17, 25, 66),
    ("B2", "43.5 %", 14, 35, 85),
    ("B3", "43.5 %", 14, 40, 90),
]


@pytest.mark.parametrize(("name", "force", "rate", "stop", "emergency"), PERFORMANCE)
def test_the_table_of_brake_performance(name, force, rate, stop, emergency):
    row = next(row for row in FEDERAL.classes if row.id == name)
    foot = Fraction(3048, 10000)
    expected = {
        "braking_force": share(force),
        "deceleration": rate * foot,
        "service_stop": stop * foot,
        "emergency_stop": emergency * foot,
    }
    assert expected == {column: number.exact for column, number in row.columns.items()}


@pytest.mark.parametrize(("rate", "percent"), [(14, "43.5"), (17, "52.8"), (21, "65.2")])
def test_force_and_deceleration_of_the_table_are_one_rule(rate, percent):
    """14 ft/s2 is 43.51 % of 32.174 ft/s2; 17 is 52.84, 21 is 65.27 (printed 65.2)."""
    assert rate / 32.174 == pytest.approx(float(percent) / 100, abs=0.001)


@pytest.mark.parametrize(
    ("column", "name", "passing", "failing", "kind"),
    [
        ("braking_force", "braking-force", "43.5 %", "43.4 %", Kind.FRACTION),
        ("service_stop", "stop-from-20-mph", "40.0 ft", "40.1 ft", Kind.LENGTH),
        ("deceleration", "deceleration", "14 ft/s2", "13.9 ft/s2", Kind.ACCELERATION),
    ],
)
def test_a_combination_at_the_edge_of_the_table(column, name, passing, failing, kind):
    """393.52(a): 'at least equal', 'not less than', 'not greater than': equality passes in all three."""
    row = FEDERAL.performance_class("combination", rated_mass=None, test_mass=None)
    edge = row.columns[column].exact
    assert rule(name).admits(parse_quantity(passing, kind).exact, edge)
    assert not rule(name).admits(parse_quantity(failing, kind).exact, edge)


TEN_THOUSAND_POUNDS = 4535.9237


@pytest.mark.parametrize(
    ("kind", "rated", "tested", "expected"),
    [
        ("motor vehicle", None, 17200.0, "B2"),
        ("truck", 26000.0, None, "B2"),
        ("truck", TEN_THOUSAND_POUNDS, None, "B1"),
        ("truck", TEN_THOUSAND_POUNDS + 1, None, "B2"),
        ("bus", None, 17800.0, "A3"),
        ("bus", 4000.0, 3900.0, "A2"),
        ("truck tractor", None, 18300.0, "B3"),
        ("semitrailer", None, None, "B3"),
        ("combination", None, 36000.0, "B3"),
    ],
)
def test_the_class_of_a_vehicle(kind, rated, tested, expected):
    found = FEDERAL.performance_class(kind, rated_mass=rated, test_mass=tested)
    assert expected == found.id


@pytest.mark.parametrize("tested", [None, 4000.0, TEN_THOUSAND_POUNDS])
def test_without_a_rating_a_light_test_mass_leaves_the_class_open(tested):
    """A test mass shows only that the rating is at least as high."""
    assert FEDERAL.performance_class("truck", rated_mass=None, test_mass=tested) is None


def test_a_pack_without_a_table_has_no_class():
    none = CATALOGUE.pack("none")
    assert none.performance_class("truck", rated_mass=20000.0, test_mass=None) is None


@pytest.mark.parametrize("pack", ["none", "north-american-out-of-service"])
@pytest.mark.parametrize(
    ("defective", "brakes", "out"),
    [(1, 10, False), (2, 10, True), (2, 12, False), (3, 12, True), (1, 4, True), (1, 6, False), (2, 8, True)],
)
def test_twenty_percent_of_the_brakes(pack, defective, brakes, out):
    """'At least 20 %' (from a transcription): 2 of 10 is 20 % and out, 2 of 12 is 16.7 % and not."""
    count = rule("share-of-defective-brakes", pack)
    assert count.admits(Fraction(defective, brakes)) is not out


def test_house_rules_without_a_pack():
    """Efficiency 50 %, semitrailer 45 %, imbalance 30 %: common practice, no source."""
    assert rule("efficiency", "none").admits(share("50 %"))
    assert not rule("efficiency", "none").admits(share("49.9 %"))
    assert rule("efficiency-semitrailer", "none").admits(share("45 %"))
    assert rule("imbalance", "none").admits(share("30 %"))
    assert not rule("imbalance", "none").admits(share("30.1 %"))
    assert not CATALOGUE.pack("none").is_law
    assert {each.status for each in CATALOGUE.pack("none").rules} == {"common practice"}


def test_imbalance_has_the_higher_force_below_the_line():
    """5000 N and 3500 N are 30.0 % (vehicle test manual, section 3.8, from a transcription)."""
    assert rule("imbalance", "none").admits(Fraction(5000 - 3500, 5000))


@pytest.mark.parametrize(
    ("name", "months", "after"),
    [
        ("maintenance-records", 12, 6),
        ("driver-report", 3, 0),
        ("annual-inspection", 12, 0),
        ("inspection-report", 14, 0),
        ("inspector-experience", 12, 0),
        ("brake-inspector", 12, 0),
        ("brake-inspector-evidence", 0, 12),
        ("inspector-evidence", 0, 12),
    ],
)
def test_periods_of_keeping(name, months, after):
    """396.3(c), 396.11(a)(4), 396.17(a), 396.21(b)(1), 396.19, 396.25."""
    period = next(period for period in FEDERAL.periods if period.id == name)
    assert (months, after) == (period.months, period.months_after_leaving)


def test_steering_axle_rules_leave_trailers_and_other_axles_alone():
    steer = rule("pad-steering").applies
    assert steer.covers(role="steer", vehicle_kind="truck tractor")
    assert not steer.covers(role="drive", vehicle_kind="truck tractor")
    assert not steer.covers(role="steer", vehicle_kind="semitrailer")
    others = rule("pad-other-axles").applies
    assert others.covers(role="trailer", vehicle_kind="semitrailer")
    assert not others.covers(role="steer", vehicle_kind="truck")


def test_every_role_of_a_motor_vehicle_has_one_pad_rule():
    for role in ("steer", "drive", "tag", "pusher", "trailer"):
        fitting = [
            name
            for name in ("pad-steering", "pad-other-axles")
            if rule(name).applies.covers(role=role, vehicle_kind="combination")
        ]
        assert len(fitting) == 1, role


def test_a_rule_without_a_number_cannot_be_compared():
    with pytest.raises(ValueError, match="annual-leak compares no number"):
        rule("annual-leak").admits(Fraction(1))


def test_a_rule_shows_its_number_in_the_printed_unit():
    """1/8 in = 3.175 mm exactly (1 in = 25.4 mm, NIST SP 811 B.8)."""
    annual = rule("annual-pad")
    assert (annual.published, annual.unit) == ("1/8 in", "in")
    assert annual.value == pytest.approx(3.175e-3, rel=1e-12)
    assert annual.exact == Fraction(3175, 10**6)


def test_a_rule_of_yes_or_no_shows_no_number():
    leak = rule("annual-leak")
    assert (leak.value, leak.exact, leak.unit, leak.published) == (None, None, "", "")


def test_an_unknown_pack_names_the_nearest():
    with pytest.raises(CatalogueError, match=r"no rule pack 'us-fed'.*Did you mean 'us-federal'\?"):
        CATALOGUE.pack("us-fed")


def test_what_is_only_recalled_is_shown_as_unverified():
    pad = rule("pad-roadside", "north-american-out-of-service")
    assert (pad.status, pad.decides, pad.effect) == ("unverified", False, "record")
    assert not pad.admits(length("1/16 in"))
