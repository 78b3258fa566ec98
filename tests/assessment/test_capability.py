"""How much braking is left: from forces, from states, with a range; what follows for stop, load and slope."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from judged_cases import case
from small_vehicles import outcome, vehicle

from wearline.assessment import capability as module
from wearline.assessment.braking_numbers import braking_number, braking_numbers, braking_numbers_from
from wearline.assessment.capability import allowed_mass, allowed_slope, stop_estimate
from wearline.catalogue.loading import load_catalogue
from wearline.errors import CatalogueError
from wearline.physics.descent import BrakeSet, Descent, descent_temperature, stop_temperature_rise

G = 9.80665  # CGPM 1901


def left(document):
    return outcome(document).road.capability.left


def test_share_left_of_the_bus_with_a_dead_adjuster():
    """Hand sum: (19.8 + 19.3 + 31.0 + 18.9) / (2 x 19.8 + 2 x 31.0) kN = 89.0 / 101.6."""
    found = case("A3").road.capability.left
    assert 89.0 / 101.6 == pytest.approx(found.share, rel=1e-12)
    assert found.low < found.share < found.high


def test_uncertainty_of_the_share_against_monte_carlo():
    """First-order propagation (JCGM 100) against 200 000 draws of forces and of the spread between ends."""
    import numpy as np

    found = case("A3").road.capability.left
    rng = np.random.default_rng(5)
    forces = np.array([19.8, 19.3, 31.0, 18.9])
    # u of a tester: 3 % expanded (k = 2) and 0.06 kN expanded, as the catalogue's field says
    u = np.hypot(0.015 * forces, 0.03)
    drawn = forces + u * rng.standard_normal((200_000, 4))
    spread = 1.0 + 0.03 * rng.standard_normal((200_000, 2))
    nominal = drawn[:, 0] * (1.0 + spread[:, 0]) + drawn[:, 2] * (1.0 + spread[:, 1])
    low, high = np.quantile(drawn.sum(axis=1) / nominal, [0.025, 0.975])
    assert low == pytest.approx(found.low, abs=0.004)
    assert high == pytest.approx(found.high, abs=0.004)


@pytest.mark.parametrize(
    ("place", "change", "words"),
    [
        ("2R", {"slide": "stuck"}, "slide"),
        ("2R", {"pad_condition": "oil"}, "oil"),
        ("2R", {"pad_condition": "glazed"}, "glazed"),
        ("2R", {"total_travel": "3.20 mm", "adjuster_test": "does not advance"}, "total travel 3.20 mm"),
        ("2R", {"chamber_seal": "leaks"}, "less air"),
    ],
)
def test_without_forces_the_states_say_what_is_left(place, change, words):
    bare = {"brake_force": None, "brake_drag": None}
    changes = {end: dict(bare) for end in ("1L", "1R", "2L", "2R")}
    changes[place] |= change
    found = left(vehicle(changes=changes))
    end = next(end for end in found.ends if end.place == place)
    assert end.basis == "state found"
    assert any(words in text for text in end.states)
    assert 0.0 < end.share < 1.0
    # four brakes of one design weigh alike
    assert (3.0 + end.share) / 4.0 == pytest.approx(found.share)
    assert found.low < found.share < found.high
    assert found.stop is None  # a stopping distance needs forces


def test_the_travel_of_a_dead_adjuster_explains_the_force_that_was_measured():
    """Case A3: 18.9 of 31.0 kN was measured; 2.7 mm of travel leaves 0.61 to 0.89 of the force (90 %)."""
    from wearline.assessment.found_states import force_left, states_found
    from wearline.assessment.judge import judge_inspection_columns
    from wearline.assessment.verdicts import DecisionSettings

    catalogue = load_catalogue()
    judged, designs = judge_inspection_columns(case("A3").inspection, catalogue, DecisionSettings())
    share = force_left(designs[0], states_found(judged, 3, designs[0]))
    assert share.low <= 18.9 / 31.0 <= share.high
    assert share.light == pytest.approx(1.0)  # a fault of the full stop alone


def test_what_is_not_known_never_raises_the_share():
    nothing = {key: None for key in vehicle()["wheel_end"][0] if key not in ("at", "brake_force")}
    unknown = left(vehicle(changes={"2R": nothing | {"brake_force": None}}))
    assert unknown.share is None
    assert unknown.low == pytest.approx(0.75, abs=0.06)  # the unknown one does nothing
    assert unknown.high == 1.0  # it is in order
    assert unknown.stop is None
    assert unknown.mass_allowed is None


def test_a_brake_that_may_break_is_not_counted_on():
    """Case A10: 3L is cracked through the face, so its 17.0 kN are not counted."""
    found = case("A10").road.capability.left
    assert {end.place: end.share for end in found.ends}["3L"] == 0.0
    still = left(vehicle(changes={"1R": {"action": "does not move"}}))
    assert {end.place: end.share for end in still.ends}["1R"] == 0.0
    assert still.share == pytest.approx(0.75)


def test_drums_have_no_share_of_this_model():
    discs_only = {key: None for key in vehicle()["wheel_end"][0] if key not in ("at", "brake_force")}
    document = vehicle(brakes={"1": "drum", "2": "air disc"}, changes={"1L": discs_only, "1R": discs_only})
    found = left(document)
    assert found.share is None
    assert found.stop is None


def test_stopping_distance_follows_the_two_phase_formula_with_a_range():
    """s = v t + v^2 / (2 z g), hand: 16.667 x 0.5 + 16.667^2 / (2 x 0.5 x 9.80665) = 36.66 m."""
    stop = stop_estimate(10_000.0, 0.5 * 10_000.0 * G, 0.6 * 10_000.0 * G, 0.0)
    assert 16.0 + 2.0 / 3.0 == pytest.approx(stop.speed)
    assert 8.3333 + 277.778 / (2.0 * 0.5 * G) == pytest.approx(stop.now[1], rel=1e-5)
    assert stop.now[0] < stop.now[1] < stop.now[2]
    assert stop.intact[1] < stop.now[1]
    assert stop_estimate(10_000.0, 0.0, 1.0, 0.0).now is None


def test_no_stop_is_shorter_than_the_grip_of_a_dry_road_allows():
    strong = stop_estimate(10_000.0, 2.0 * 10_000.0 * G, 2.0 * 10_000.0 * G, 0.0)
    assert 8.3333 + 277.778 / (2.0 * 0.7 * G) == pytest.approx(strong.now[1], rel=1e-5)


def test_load_that_the_brakes_allow():
    """89.0 kN at 50 %: 89 000 / (0.5 x 9.80665) = 18 151 kg; the cautious figure is lower."""
    cautious, likely = allowed_mass(89_000.0, 1_300.0, 0.5)
    assert 89_000.0 / (0.5 * G) == pytest.approx(likely)
    assert (89_000.0 - 1.645 * 1_300.0) / (0.5 * G) == pytest.approx(cautious)


def test_slope_allowed_reaches_the_limit_and_no_more():
    """Put back into the descent formula, the slope ends at the limit with one stop included."""
    slope = allowed_slope(18_000.0, 3.5, cautious=False)
    rolling = braking_numbers()["rolling_resistance"].value
    descent = Descent(18_000.0, slope, 5_000.0, rolling=rolling)
    brakes = BrakeSet(count=3.5)
    speed = 40.0 / 3.6
    end = descent_temperature(speed, descent, brakes) + stop_temperature_rise(speed, descent, brakes)
    assert 250.0 + 273.15 == pytest.approx(end, abs=0.01)
    assert allowed_slope(18_000.0, 3.5) < slope
    assert allowed_slope(18_000.0, 0.0) == 0.0
    assert allowed_slope(400_000.0, 0.2) == 0.0


def test_load_and_slope_stand_among_a_drivers_conditions():
    """Level 2, and the brakes allow less than the test mass: both are said, rounded down."""
    weak = {"2R": {"brake_force": "13.0 kN"}, "2L": {"brake_force": "14.0 kN"}}
    found = outcome(vehicle(mass="14300", changes=weak | {"1L": {"pad_freedom": "stuck"}})).road
    assert found.level == 2
    cautious = found.capability.left.mass_allowed[0]
    assert cautious < 14_300.0
    assert any(
        f"Not more than {int(cautious / 100) / 10:.1f} t in total" in text for text in found.conditions
    )
    assert any("not steeper than" in text for text in found.conditions)
    assert not any("steeper than" in text for text in outcome(vehicle()).road.conditions)


def test_the_level_does_not_rest_on_the_capability(monkeypatch):
    before = outcome(vehicle()).road
    monkeypatch.setattr(
        module, "_share", lambda ends: (0.01, 0.0, 0.02)
    )  # whatever the share says, the ladder stands on its own rules
    after = outcome(vehicle()).road
    assert after.capability.left.share == 0.01
    assert before.level == after.level
    assert before.reasons == after.reasons


def test_unverified_figures_are_shown_and_refused_in_decisions():
    """Remembered figures: the temperature limit of the grade-severity work and the rolling resistance."""
    shown = case("A3").road.capability.left.figures
    assert {"500 degF", "0.6 %"} == {figure.published for figure in shown}
    assert all(figure.status == "unverified" for figure in shown)
    with pytest.raises(CatalogueError, match="'drum_era_limit' is unverified and must not decide"):
        braking_number("drum_era_limit")


def test_cautious_figures_do_not_touch_unverified_numbers(monkeypatch):
    """Whatever the unverified numbers are, the cautious slope stays."""
    usual = allowed_slope(18_000.0, 4.0)
    wild = {
        id: replace(number, value=0.09 if id == "rolling_resistance" else number.value)
        for id, number in braking_numbers().items()
    }
    monkeypatch.setattr(module, "braking_numbers", lambda: wild)
    assert usual == allowed_slope(18_000.0, 4.0)
    assert usual != allowed_slope(18_000.0, 4.0, cautious=False)


def test_every_braking_number_has_a_range_around_it_and_a_known_source():
    sources = load_catalogue().sources
    for number in braking_numbers().values():
        assert number.low <= number.value <= number.high, number.id
        assert number.source in sources, number.id
        assert math.isfinite(number.value), number.id


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ({"published": "1 %", "kind": "fraction", "note": "x", "status": "sure"}, "'sure' is no status"),
        ({"published": "1 %", "kind": "fraction"}, "'note' is missing"),
    ],
)
def test_incomplete_numbers_are_refused(entry, words):
    document = {"default": {"source": "derived", "status": "derived"}, "number": {"n": entry}}
    with pytest.raises(CatalogueError, match=words):
        braking_numbers_from(document)
