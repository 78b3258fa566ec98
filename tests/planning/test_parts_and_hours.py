"""Counts and sides of parts; labour against the table of ranges (expert judgement), sums shown by hand."""

import pytest
from job_builder import axle_job, plan

from wearline.planning.results import AxleJob, JobPlan


def parts(job: AxleJob) -> dict[tuple[str, str], tuple[int, bool]]:
    return {(part.part, part.at): (part.count, part.if_needed) for part in job.parts}


def hours(job: JobPlan, axle: str) -> tuple[float, float]:
    found = axle_job(job, axle).hours
    return found.low, found.high


# ---------------------------------------------------------------- parts


def test_pads_come_in_fours_springs_and_caps_for_both_ends() -> None:
    job = axle_job(plan({"1R": ["pad_condition=oil"]}), "1")
    found = parts(job)
    assert found["pad", "1"] == (4, False)
    assert found["pad spring and retainer set", "1"] == (2, False)
    assert found["stem cap", "1"] == (2, False)


def test_rotors_come_in_pairs_with_bolts_and_seals() -> None:
    found = parts(axle_job(plan({"2L": ["rotor_thickness:beyond#rotor_min"]}), "2"))
    assert found["rotor", "2"] == (2, False)
    assert found["rotor bolt set", "2"] == (2, False)
    assert found["hub seal", "2"] == (2, False)
    assert found["tone ring", "2"] == (2, True)


@pytest.mark.parametrize(("place", "side"), [("2L", "left"), ("2R", "right")])
def test_callipers_and_carriers_are_handed(place: str, side: str) -> None:
    found = parts(axle_job(plan({place: ["adjuster_test=turns back", "carrier=cracked"]}), "2"))
    assert found[f"exchange calliper, for the {side} side", place] == (1, False)
    assert found[f"carrier, for the {side} side", place] == (1, False)
    assert found["chamber seal", place] == (1, False)


def test_two_callipers_stay_two_lines_because_they_are_handed() -> None:
    dead = ["adjuster_test=turns back"]
    found = parts(axle_job(plan({"2L": dead, "2R": dead}), "2"))
    assert found["exchange calliper, for the left side", "2L"] == (1, False)
    assert found["exchange calliper, for the right side", "2R"] == (1, False)
    assert found["chamber seal", "2"] == (2, False)


def test_a_guide_kit_is_for_one_calliper_and_the_offer_is_taken_along() -> None:
    kit = "guide kit (pins, bushings, boots, caps)"
    job = plan({"2L": ["tangential_play:beyond#play_t"], "2R": ["play:over half"]})
    found = parts(axle_job(job, "2"))
    assert found[kit, "2L"] == (1, False)
    assert found[kit, "2R"] == (1, True)


def test_a_part_that_two_works_need_is_counted_once() -> None:
    """A stem cap goes with the calliper, with the pads and with every job: still one for each calliper."""
    found = parts(axle_job(plan({"2R": ["adjuster_test=turns back", "stem_cap=missing"]}), "2"))
    assert found["stem cap", "2"] == (2, False)


@pytest.mark.parametrize(("design", "count"), [("generic-17.5", 1), ("generic-22.5", 2)])
def test_tappet_boots_are_counted_by_tappet(design: str, count: int) -> None:
    job = plan({"2L": ["tappet_boot=torn", "tappet_shank=clean"]}, design=design)
    assert parts(axle_job(job, "2"))["tappet boot", "2L"] == (count, False)


def test_needed_work_is_ordered_for_and_its_alternative_is_taken_along() -> None:
    """A storeman orders the calliper; the guide kit is there in case the bores measure sound."""
    found = parts(axle_job(plan({"1R": ["slide=stuck"]}), "1"))
    assert found["exchange calliper, for the right side", "1R"] == (1, False)
    assert found["guide kit (pins, bushings, boots, caps)", "1R"] == (1, True)
    assert found["pad", "1"] == (4, False)


# ---------------------------------------------------------------- hours


def test_pads_alone_take_the_range_of_the_table() -> None:
    """1.5 to 2.2 h single tyres, 1.8 to 2.8 h dual tyres or driven hub."""
    oil = "pad_condition=glazed"
    assert hours(plan({"1R": [oil]}), "1") == (1.5, 2.2)
    assert hours(plan({"2R": [oil]}), "2") == (1.8, 2.8)


def test_tyres_that_nobody_named_widen_the_range() -> None:
    job = plan({"1R": ["pad_condition=glazed"]}, axles=[("1", "trailer")])
    assert hours(job, "1") == (1.5, 2.8)
    single = plan({"1R": ["pad_condition=glazed"]}, axles=[("1", "trailer")], wheels="single")
    assert hours(single, "1") == (1.5, 2.2)


def test_a_calliper_with_pads_and_a_look_at_the_mate() -> None:
    """Dual: pads 1.8-2.8, calliper 1.0-1.8, boots 0.1-0.6 and rotor 0.1-0.2 of the mate: 3.0 to 5.4 h."""
    assert hours(plan({"2R": ["adjuster_test=turns back"]}), "2") == (3.0, 5.4)


def test_shared_dismantling_is_counted_once() -> None:
    """Dual, end L: S4 1.5-3.0 + S5 1.0-1.8 + S6 0.8-1.5 = 3.3-6.3, less 1.0 and 0.6: 2.3-5.7.

    End R: S4 1.5-3.0, boots 0.1-0.6, rotor look within S4. Pads 1.8-2.8. Sum 5.7 to 12.1 h.
    """
    job = plan({"2L": ["adjuster_test=turns back", "carrier=cracked", "rotor_thickness:beyond#rotor_min"]})
    assert hours(job, "2") == (5.7, 12.1)


def test_what_is_advised_widens_the_range_upwards_only() -> None:
    """Dual: pads 1.8-2.8, kit 0.8-1.4 at L, mounting check 0.2-0.4; the offered kit at R adds 0-1.4 h."""
    job = plan({"2L": ["tangential_play:beyond#play_t"], "2R": ["play:over half"]})
    assert hours(job, "2") == (2.8, 6.0)


def test_calliper_or_kit_takes_the_shorter_and_the_longer() -> None:
    """Single: calliper 0.8-1.5 or kit with seized pins 0.7+0.5 to 1.3+1.5; pads 1.5-2.2, boots 0.1-0.6."""
    assert hours(plan({"1R": ["slide=stuck"]}), "1") == (2.4, 5.6)


def test_bedding_and_proof_are_counted_once_for_the_vehicle() -> None:
    """Axle 1 1.5-2.2, axle 2 1.8-2.8, proof 0.5-1.0: 3.8 to 6.0 h."""
    glazed = ["pad_condition=glazed"]
    job = plan({"1R": glazed, "2R": glazed})
    assert (job.hours.low, job.hours.high) == (3.8, 6.0)
    nothing = plan().hours
    assert (nothing.low, nothing.high) == (0.0, 0.0)


def test_work_without_new_pads_starts_from_the_wheels() -> None:
    """Single: wheels off 1.2-1.8, bearing 0.7-1.6, run-out 0.2-0.4, sensor 0.1-0.2 h: 2.2 to 4.0 h."""
    low, high = hours(plan({"1L": ["runout:void", "bearing_end_play:beyond#hub_play_max"]}), "1")
    assert (low, high) == (2.2, 4.0)
