"""Checks, what one finding means for the others, and the complete job."""

from __future__ import annotations

from datetime import date

import pytest

from wearline.catalogue.loading import load_catalogue
from wearline.catalogue.work_model import with_limits
from wearline.uncertainty.conformity import Sense

CATALOGUE = load_catalogue()
DAY = date(2026, 9, 14)
LIMITS = CATALOGUE.limits_for("generic-22.5", DAY)
WORK = CATALOGUE.work


def tags(design: str, role: str = "drive") -> dict[str, str | int | bool]:
    return {**CATALOGUE.design(design).tags(), "role": role}


# ---------------------------------------------------------------- checks


@pytest.mark.parametrize("check", CATALOGUE.checks.values(), ids=lambda check: check.id)
def test_every_check_says_its_limit_with_the_limits_in_force(check):
    words = check.limit_words(LIMITS)
    assert words
    assert "{" not in words


def test_the_limit_words_follow_the_design():
    rotor = CATALOGUE.checks["F19"]
    assert rotor.limit_words(LIMITS).startswith("37 mm")
    assert rotor.limit_words(CATALOGUE.limits_for("generic-17.5", DAY)).startswith("28 mm")


def test_a_limit_is_shown_in_both_printed_forms():
    assert CATALOGUE.checks["F12"].limit_words(LIMITS) == "0.118 in (3 mm)"


# Expanded uncertainty (k = 2) of one reading by a trained person, and minutes: expert judgement.
UNCERTAINTIES = [
    ("W5", "±12 % (k = 2)", 1),
    ("W7", "±1.0 mm (k = 2)", 3),
    ("W12", "±0.10 mm (k = 2)", 4),
    ("F2", "±0.10 mm (k = 2)", 4),
    ("F5", "±0.3 mm (k = 2)", 6),
    ("F11", "±15 N (k = 2)", 2),
    ("F12", "±0.15 mm (k = 2)", 5),
    ("F13", "±0.15 mm (k = 2)", 5),
    ("F19", "±0.03 mm (k = 2)", 4),
    ("F20", "±0.01 mm (k = 2)", 6),
    ("F21", "±0.03 mm (k = 2)", 5),
    ("F24", "±0.1 mm (k = 2)", 2),
    ("F26", "±0.02 mm (k = 2)", 5),
]


@pytest.mark.parametrize(("name", "uncertainty", "minutes"), UNCERTAINTIES)
def test_uncertainty_and_time_of_a_check(name, uncertainty, minutes):
    check = CATALOGUE.checks[name]
    assert (uncertainty, minutes) == (check.uncertainty, check.minutes)


def test_standard_uncertainty_is_half_of_the_expanded_one():
    assert CATALOGUE.fields["pad_inner"].u == pytest.approx(0.15e-3, rel=1e-12)
    assert CATALOGUE.fields["total_travel"].u == pytest.approx(0.05e-3, rel=1e-12)
    assert CATALOGUE.fields["temperature"].u == pytest.approx(5.0, rel=1e-12)
    assert CATALOGUE.fields["tangential_play"].u == pytest.approx(0.075e-3, rel=1e-12)


# ---------------------------------------------------------------- consequences

# Which check makes which other necessary or void: common practice, no source.
FOLLOWS = [
    ("indicator-high", {"F1", "F5", "F11", "F12", "F16"}, {"W7"}, set()),
    ("travel-large", {"F3", "F4", "F26"}, set(), set()),
    ("travel-and-adjuster-good", set(), {"F4"}, set()),
    ("adjuster-fails", {"F12", "F13", "F14", "F15", "F16"}, set(), set()),
    ("slide-stuck", set(), {"F12", "F13"}, {"tangential_play", "radial_play"}),
    ("play-beyond", {"F34"}, set(), set()),
    ("wedges-opposite", {"F11", "F12", "F13", "F29"}, set(), set()),
    ("wedges-same", {"F9", "F10", "F17", "W8"}, set(), set()),
    ("pads-unequal", {"F11", "F14", "W19", "F9"}, set(), set()),
    ("tappet-boot-torn", {"F17", "F3"}, set(), set()),
    ("run-out-beyond", {"F26", "F35", "F20"}, set(), set()),
    ("run-out-does-not-repeat", {"F26"}, set(), {"rotor_runout"}),
    ("end-play-beyond", {"F21", "F2", "F28"}, set(), {"rotor_runout"}),
    ("oil", {"F27", "F26"}, set(), {"taper_end_to_end", "taper_top_to_bottom"}),
    ("cold-end", {"W11", "W17", "F2", "F3"}, set(), set()),
    ("hot-end-mate-normal", {"W13", "F11", "F9", "F16", "W18", "W17"}, set(), set()),
    ("rotor-to-be-renewed", {"F26"}, {"F20", "F21", "F22", "F23", "F24"}, set()),
    ("calliper-to-be-renewed", set(), {"F12", "F13", "F14", "F15", "F17"}, set()),
]


@pytest.mark.parametrize(("name", "necessary", "needless", "void"), FOLLOWS, ids=[row[0] for row in FOLLOWS])
def test_what_follows_for_the_other_checks(name, necessary, needless, void):
    row = CATALOGUE.consequences[name]
    assert necessary <= set(row.necessary)
    assert needless == set(row.needless)
    assert void == set(row.void)
    assert row.because.endswith(".")


def test_no_check_is_both_necessary_and_needless_in_one_row():
    for row in CATALOGUE.consequences.values():
        assert not set(row.necessary) & set(row.needless), row.id


def test_a_wedge_counts_from_one_and_a_half_millimetres():
    (condition,) = CATALOGUE.consequences["wedges-opposite"].conditions
    assert condition.measure == "te_antisymmetric"
    assert condition.threshold.value == pytest.approx(1.5e-3, rel=1e-12)
    assert (condition.sense, condition.inclusive) == (Sense.AT_LEAST, True)


def test_a_cold_end_is_forty_kelvin_below_the_vehicle():
    (condition,) = CATALOGUE.consequences["cold-end"].conditions
    assert condition.threshold.value == pytest.approx(-40.0, rel=1e-12)
    assert condition.sense is Sense.AT_MOST


# ---------------------------------------------------------------- the complete job


@pytest.mark.parametrize("design", CATALOGUE.designs)
@pytest.mark.parametrize("role", ["steer", "drive", "trailer"])
def test_every_job_passes_eighteen_gates_in_order(design, role):
    steps = WORK.spine(tags(design, role))
    assert [step.spine for step in steps] == sorted(step.spine for step in steps)
    assert {step.spine for step in steps if step.gate} == set(range(1, 19))


@pytest.mark.parametrize("design", CATALOGUE.designs)
@pytest.mark.parametrize("code", ["S1", "S2", "S3", "S4", "S5", "S6"])
def test_every_situation_has_own_steps_and_a_gate_for_every_design(design, code):
    steps = WORK.own_steps(code, tags(design))
    assert steps
    assert any(step.gate for step in steps)


def test_the_shear_adapter_is_named_only_where_one_is_needed():
    def words(design: str) -> str:
        return " ".join(step.text + step.gate for step in WORK.spine(tags(design)))

    assert "shear adapter" in words("generic-22.5")
    assert "no stronger adapter" in words("generic-22.5")
    assert "adapter" not in words("generic-17.5")


def test_pads_come_out_in_another_order_where_the_calliper_holds_the_outer_one():
    texts = {
        design: next(
            s.text for s in WORK.spine(tags(design)) if s.id.startswith("6-cal") or s.id == "6-carrier"
        )
        for design in ("generic-22.5", "generic-17.5")
    }
    assert texts["generic-22.5"].startswith("Outer pad out first")
    assert texts["generic-17.5"].startswith("The outer pad sits in the calliper")


def test_one_tappet_has_no_step_between_two():
    assert [s.id for s in WORK.own_steps("S3", tags("generic-22.5"))] == ["S3.1", "S3.2", "S3.3"]
    assert [s.id for s in WORK.own_steps("S3", tags("generic-17.5"))] == ["S3.1", "S3.2"]


def test_sealed_guides_lead_to_a_calliper():
    sealed = {**tags("generic-22.5"), "guides_serviceable": False}
    assert [step.id for step in WORK.own_steps("S2", sealed)] == ["S2.sealed"]


def test_the_rotor_comes_off_with_the_hub_or_over_it():
    over = {step.id for step in WORK.own_steps("S4", tags("generic-22.5"))}
    bolted = {step.id for step in WORK.own_steps("S4", tags("generic-19.5"))}
    assert "S4.2-over" in over - bolted
    assert "S4.2-hub" in bolted - over


def test_the_steering_axle_gets_a_second_person():
    steps = {step.id for step in WORK.spine(tags("generic-22.5", "steer"))}
    assert "13-second-person" in steps
    assert "13-second-person" not in {step.id for step in WORK.spine(tags("generic-22.5", "drive"))}


def test_a_trait_that_is_not_known_fits_no_step_that_needs_it():
    assert not any(step.when for step in WORK.spine({}))


def test_every_hazard_has_a_rule_and_is_attached_to_some_step():
    """The nine hazards: rolling, falling, spring, air, pinch, heat, dust, weight, chemicals."""
    everything = [*WORK.steps, *(step for each in WORK.situations.values() for step in each.steps)]
    assert len(WORK.cautions) == 9
    assert {caution.id for caution in WORK.cautions_of(everything)} == set(WORK.cautions)


def test_whoever_takes_a_chamber_or_calliper_off_is_told_of_the_spring():
    steps = [step for each in WORK.situations.values() for step in each.steps]
    for step in steps:
        if "hamber off" in step.text or "alliper off" in step.text or "carrier off" in step.text:
            assert "spring brake" in step.cautions, step.id


def test_the_spring_is_caged_and_uncaged_and_both_are_written_down():
    cage = [step for step in WORK.steps if "cage" in step.records]
    assert [step.spine for step in cage] == [3, 15]
    assert "uncaged" in cage[1].gate


def test_an_axle_set_is_four_pads():
    pads = [part for part in WORK.situations["S1"].parts if part.part == "pad"]
    assert [(part.count, part.per) for part in pads] == [(4, "axle")]


# One person, single tyres and dual tyres, hours (expert judgement).
HOURS = [
    ("inspection", "axle", (1.2, 1.8), (1.5, 2.2)),
    ("S1", "axle", (1.5, 2.2), (1.8, 2.8)),
    ("S2", "end", (0.7, 1.3), (0.8, 1.4)),
    ("S3", "end", (0.5, 1.0), (0.6, 1.1)),
    ("S4", "end", (1.0, 2.0), (1.5, 3.0)),
    ("S5", "end", (0.8, 1.5), (1.0, 1.8)),
    ("S6", "end", (0.6, 1.2), (0.8, 1.5)),
    ("proof", "vehicle", (0.5, 1.0), (0.5, 1.0)),
]


@pytest.mark.parametrize(("name", "per", "single", "dual"), HOURS)
def test_hours(name, per, single, dual):
    entry = WORK.hours[name]
    found = (entry.per, (entry.single.low, entry.single.high), (entry.dual.low, entry.dual.high))
    assert (per, single, dual) == found


def test_shared_work_is_counted_once():
    (deduction,) = WORK.deductions
    assert deduction.work == ("S4", "S5", "S6")
    assert (deduction.hours.low, deduction.hours.high) == (0.6, 1.0)


def test_the_gates_of_new_guides_and_rotors_name_the_limits_in_force():
    gates = [with_limits(step.gate, LIMITS) for code in ("S2", "S4") for step in WORK.situations[code].steps]
    text = " ".join(gates)
    assert "under 0.039 in tangential and 0.026 in radial" in text
    assert "0.001 in to 0.005 in" in text


def test_every_proof_can_be_said_with_the_limits_in_force():
    for proof in WORK.proofs.values():
        assert "{" not in with_limits(proof.passes_when, LIMITS)
        assert set(proof.limits) <= set(LIMITS)


def test_nobody_is_released_by_the_program():
    last = [step for step in WORK.steps if step.spine == 18]
    assert last[-1].gate == "A person entitled to release the vehicle has signed."
    assert any("Local code decides" in statement.text for statement in WORK.authority)
