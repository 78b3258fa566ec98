"""What is void, unknown or found faulty never reads as 'within', 'every brake works' or 'go'.

Rules: common practice, no source ("not measured is not good"; the part, the brake, the vehicle and the law
are four answers).
"""

from __future__ import annotations

from small_vehicles import SOUND, outcome, vehicle

INCHES_AS_MM = {
    "pad_inner": ["0.38 mm", "0.37 mm", "0.50 mm", "0.48 mm"],
    "pad_outer": ["0.52 mm", "0.51 mm", "0.39 mm", "0.39 mm"],
    "tangential_play": "0.130 mm",
    "radial_play": "0.071 mm",
}


def test_void_pad_readings_prove_nothing_and_take_the_wheels_off() -> None:
    """Inches typed as millimetres: not ground metal, but no proof of thickness either."""
    found = outcome(vehicle(changes={"1R": INCHES_AS_MM}))
    assert found.road.level == 1
    assert "1R: pad inner (void), pad outer (void)" in found.road.missing
    steer = found.judgement.axles[0]
    assert steer.take_off
    assert "1R: the pad readings are void: confirm or measure again" in steer.reasons
    assert found.road.answers.part.endswith("not everything was measured")
    assert "not proven at 1 of 4 brakes" in found.road.answers.brake


def test_drum_brakes_that_nobody_judged_keep_the_vehicle_from_level_zero() -> None:
    """The disc axle alone cannot prove the vehicle."""
    bare = dict.fromkeys(SOUND)
    brakes = {"1": "air disc", "2": "drum"}
    found = outcome(
        vehicle(("trailer",) * 2, kind="semitrailer", brakes=brakes, changes={"2L": bare, "2R": bare})
    )
    assert found.road.level == 1
    assert "2L: drum brake, not judged here" in found.road.missing
    assert "every brake" not in found.road.answers.brake


def test_braking_that_was_not_measured_keeps_the_vehicle_from_level_zero() -> None:
    """Sound parts are no measured force."""
    found = outcome(vehicle(changes={place: {"brake_force": None} for place in ("1L", "1R", "2L", "2R")}))
    assert found.road.level == 1
    assert "the vehicle: brake force of 1L, 1R, 2L, 2R" in found.road.missing


def test_the_part_answer_names_limits_that_ask_for_a_look_and_words_that_mean_a_fault() -> None:
    """A dead adjuster with 2.7 mm of travel is not 'within its service limits'."""
    dead = {"2R": {"total_travel": "2.7 mm", "adjuster_test": "does not advance"}}
    part = outcome(vehicle(changes=dead)).road.answers.part
    assert part == "limit passed: 2R total travel; faulty: 2R automatic adjuster test: does not advance"


def test_the_part_answer_leaves_the_efficiency_to_the_answer_about_the_vehicle() -> None:
    """Four answers, never merged."""
    weak = {place: {"brake_force": "18 kN"} for place in ("1L", "1R", "2L", "2R")}
    answers = outcome(vehicle(changes=weak)).road.answers
    assert answers.part == "what was measured is within its service limits"
    assert answers.capability.startswith("efficiency 42.0 % (house rule 50 %)")


def test_a_dragging_brake_is_not_said_to_release() -> None:
    """It does not count as defective, and it is not in order."""
    answers = outcome(vehicle(changes={"2R": {"brake_drag": "1.6 kN"}})).road.answers
    assert answers.brake.startswith(
        "no brake counts as defective; not in order: 2R: the released brake drags"
    )


def test_a_loose_bearing_is_told_in_the_answer_about_the_brake() -> None:
    """Beyond 0.005 in (common practice)."""
    answers = outcome(vehicle(changes={"1L": {"bearing_end_play": "0.22 mm"}})).road.answers
    assert "not in order: 1L: wheel-bearing end play 0.22 mm is over 0.005 in" in answers.brake


def test_a_sound_vehicle_still_gets_level_zero() -> None:
    """Nothing was made stricter for a vehicle with all its proofs."""
    found = outcome(vehicle())
    assert found.road.level == 0
    assert found.road.answers.part == "what was measured is within its service limits"
    assert found.road.answers.brake == "every brake applies, releases and is whole, as far as the checks show"
