"""Which work follows from which finding.

The rules are common practice of the trade, no source, where nothing else is said.
"""

from dataclasses import replace

import pytest
from job_builder import axle_job, judged, plan, situations, works

from wearline.catalogue.loading import Catalogue, load_catalogue
from wearline.planning.job import plan_job_from
from wearline.planning.results import JobPlan


def needed(job: JobPlan) -> set[tuple[str, str]]:
    return situations(job, "needed")


# ---------------------------------------------------------------- nothing found


def test_nothing_found_asks_for_no_work_and_says_why() -> None:
    job = plan()
    assert [(axle.axle, axle.work, axle.also, axle.steps, axle.parts) for axle in job.axles] == [
        ("1", (), (), (), ()),
        ("2", (), (), (), ()),
    ]
    assert all("nothing" in axle.why for axle in job.axles)
    assert "no work" in job.why


def test_a_note_alone_is_no_work() -> None:
    assert situations(plan({"1L": ["rotor_scoring:beyond#rotor_score_note!note"]})) == set()


# ---------------------------------------------------------------- calliper


@pytest.mark.parametrize("word", ["does not advance", "turns back"])
def test_a_dead_adjuster_is_a_calliper_and_pads_on_both_ends(word: str) -> None:
    assert needed(plan({"2R": [f"adjuster_test={word}"]})) == {("S5", "2R"), ("S1", "2")}


def test_a_seized_slide_is_a_calliper_or_a_guide_kit_if_the_bores_measure_sound() -> None:
    job = plan({"1R": ["slide=stuck"]})
    assert needed(job) == {("S5", "1R"), ("S1", "1")}
    assert situations(job, "depends") == {("S2", "1R")}
    assert "bores measure sound" in works(job)["S2", "1R"].choice
    assert "bores measure sound" in works(job)["S5", "1R"].choice


def test_a_calliper_that_goes_anyway_leaves_no_choice_of_a_guide_kit() -> None:
    job = plan({"1R": ["slide=stuck", "adjuster_test=does not advance"]})
    assert situations(job) == {("S5", "1R"), ("S1", "1")}
    assert works(job)["S5", "1R"].choice == ""


def test_a_slide_that_needs_400_n_is_seized() -> None:
    """The signature of seized pins is over 400 N; stiff ones need 100 to 300 N (expert judgement)."""
    assert ("S5", "1R") in needed(plan({"1R": ["slide:beyond#slide"]}, values={"1R": {"slide": 450.0}}))
    stiff = plan({"1R": ["slide:beyond#slide"]}, values={"1R": {"slide": 250.0}})
    assert needed(stiff) == {("S2", "1R")}


def test_the_other_calliper_stays_when_it_only_wore_faster() -> None:
    """A healthy victim of a dead mate gets pads and a look, never a calliper."""
    job = plan({"2R": ["adjuster_test=does not advance"], "2L": ["temperature:hot", "wear:fast"]})
    assert ("S5", "2L") not in situations(job)
    assert {("boots", "2L"), ("rotor look", "2L")} <= set(works(job))
    assert any("no fault of its own" in reason for reason in works(job)["rotor look", "2L"].because)


@pytest.mark.parametrize("sign", ["brake:drags", "temperature:hot", "total_travel:beyond#cl_min"])
def test_a_torn_tappet_boot_on_a_brake_that_does_not_release_is_a_calliper(sign: str) -> None:
    job = plan({"2L": ["tappet_boot=torn", sign]})
    assert needed(job) == {("S5", "2L"), ("S1", "2")}
    assert ("S3", "2L") not in situations(job)


def test_a_torn_tappet_boot_over_a_rusted_shank_is_a_calliper() -> None:
    assert needed(plan({"2L": ["tappet_boot=torn", "tappet_shank=rusted"]})) == {("S5", "2L"), ("S1", "2")}


def test_a_torn_tappet_boot_over_a_clean_shank_is_a_boot() -> None:
    job = plan({"2L": ["tappet_boot=torn", "tappet_shank=clean"]})
    assert needed(job) == {("S3", "2L")}
    assert ("boots", "2R") in works(job)


def test_a_torn_tappet_boot_with_the_shank_not_seen_depends_on_the_shank() -> None:
    job = plan({"2L": ["tappet_boot=torn"]})
    assert situations(job) == {("S3", "2L")}
    assert works(job)["S3", "2L"].standing == "depends"
    assert "S5" in works(job)["S3", "2L"].choice


@pytest.mark.parametrize(
    "finding",
    [
        "tappet_step:beyond#tappet_step",
        "chamber_seal=water",
        "calliper_fixing=cracked",
        "adjuster_torque:beyond",
    ],
)
def test_other_faults_inside_the_calliper_exchange_it(finding: str) -> None:
    assert ("S5", "1L") in needed(plan({"1L": [finding]}))


def test_clearance_that_vanishes_is_reset_before_the_calliper_is_condemned() -> None:
    """Over-adjusting is proved by clearance that sinks again after resetting."""
    job = plan({"1L": ["total_travel:beyond#cl_min", "temperature:hot"]})
    assert works(job)["S5", "1L"].standing == "depends"
    assert "sinks again" in works(job)["S5", "1L"].choice
    assert works(job)["clearance", "1L"].standing == "needed"
    assert works(job)["S1", "1"].standing == "depends"


def test_large_travel_with_a_good_adjuster_is_set_and_not_exchanged() -> None:
    job = plan({"1L": ["total_travel:beyond#cl_max", "adjuster_test=advances and holds"]})
    assert situations(job) == set()
    assert ("clearance", "1L") in works(job)


def test_large_travel_without_the_adjuster_test_depends_on_it_and_on_the_bearing() -> None:
    job = plan(
        {"1L": ["total_travel:beyond#cl_max"]}, not_taken={"1L": ("adjuster_test", "bearing_end_play")}
    )
    assert works(job)["S5", "1L"].standing == "depends"
    assert ("bearing measured", "1L") in works(job)


# ---------------------------------------------------------------- guides


@pytest.mark.parametrize("word", ["leaks", "torn", "missing"])
def test_an_open_guide_boot_on_a_calliper_that_slides_is_a_kit_now_and_no_pads(word: str) -> None:
    """The boot is the start of a seized pin: kit now; sound even pads stay."""
    assert situations(plan({"1L": [f"guide_pin_boot={word}"]})) == {("S2", "1L")}


@pytest.mark.parametrize("check", ["tangential_play:beyond#play_t", "radial_play:beyond#play_r"])
def test_play_beyond_is_a_kit_with_new_pads_and_a_look_at_the_mounting(check: str) -> None:
    job = plan({"2L": [check]})
    assert needed(job) == {("S2", "2L"), ("S1", "2")}
    assert ("mounting check", "2L") in works(job)


def test_the_kit_is_offered_at_the_mate_whose_play_is_over_half_the_limit() -> None:
    """Play over half the limit lets square new pads rub at one end (derived from the tilt geometry)."""
    job = plan({"2L": ["tangential_play:beyond#play_t"], "2R": ["play:over half"]})
    assert works(job)["S2", "2R"].standing == "advised"


def test_play_over_half_waits_for_the_next_pads_when_pads_stay() -> None:
    job = plan({"2R": ["play:over half"]})
    assert situations(job) == set()
    assert axle_job(job, "2").steps == ()
    assert [work.code for work in axle_job(job, "2").later] == ["guide kit with the next pads"]


def test_tapered_pads_never_go_back_after_a_kit() -> None:
    assert needed(plan({"2L": ["guide_pin_boot=torn", "wedge:tilt"]})) == {("S2", "2L"), ("S1", "2")}


def test_the_same_wedge_on_both_pads_is_no_guide_kit() -> None:
    job = plan({"2L": ["wedge:seats"]})
    assert ("S2", "2L") not in situations(job)
    assert ("seats check", "2L") in works(job)


def test_more_wedge_than_play_explains_looks_at_the_mounting_and_the_carrier() -> None:
    job = plan({"2L": ["wedge:tilt", "wedge:excess"]})
    assert {("mounting check", "2L"), ("seats check", "2L")} <= set(works(job))
    assert ("S2", "2L") not in situations(job)


def test_guides_that_cannot_be_opened_make_the_kit_a_calliper(monkeypatch: pytest.MonkeyPatch) -> None:
    """Serviceable or sealed guides are a property of the design."""
    sealed = replace(load_catalogue().design("generic-22.5"), guides_serviceable=False)
    monkeypatch.setattr(Catalogue, "design", lambda self, design_id, on=None: sealed)
    job = plan({"2L": ["tangential_play:beyond#play_t"]})
    assert needed(job) == {("S5", "2L"), ("S1", "2")}
    assert not any(code == "S2" for code, _ in situations(job))


@pytest.mark.parametrize("hose", ["too short", "kinked"])
def test_a_slide_held_by_a_hose_is_tested_with_the_hose_off(hose: str) -> None:
    job = plan({"1L": ["slide:beyond#slide", f"hose={hose}"]}, values={"1L": {"slide": 200.0}})
    assert needed(job) == set()
    assert works(job)["S2", "1L"].standing == "depends"
    assert {("hose", "1L"), ("slide again", "1L")} <= set(works(job))


def test_a_slide_blocked_from_outside_condemns_nothing() -> None:
    job = plan({"1L": ["slide=blocked"]})
    assert situations(job) == set()
    assert ("slide again", "1L") in works(job)


# ---------------------------------------------------------------- carrier and seats


@pytest.mark.parametrize("word", ["cracked", "bent"])
def test_a_broken_carrier_is_renewed_with_pads_on_both_ends(word: str) -> None:
    job = plan({"1L": [f"carrier={word}"]})
    assert needed(job) == {("S6", "1L"), ("S1", "1")}


def test_a_loose_carrier_comes_first_and_may_stay_if_it_is_sound() -> None:
    job = plan({"1L": ["carrier=loose"]})
    assert needed(job) == {("S6", "1L")}
    assert "free of cracks" in works(job)["S6", "1L"].choice
    assert any("does not move" in sentence for sentence in job.first)
    assert any("second person" in sentence for sentence in job.first)


def test_play_measured_on_a_loose_carrier_does_not_condemn_the_guides() -> None:
    job = plan({"1L": ["carrier=loose", "tangential_play:beyond#play_t"]})
    assert works(job)["S2", "1L"].standing == "depends"


def test_caught_abutments_are_a_carrier_or_plates_and_never_a_guide_kit() -> None:
    job = plan({"1R": ["abutment_faces_caught:beyond#abutment_catch"]})
    assert needed(job) == {("S6", "1R"), ("S1", "1")}
    assert works(job)["abutment plates", "1R"].standing == "depends"


def test_one_tight_pad_is_freed_there_and_new_pads_depend() -> None:
    job = plan({"1R": ["pad_freedom=tight"]})
    assert situations(job) == {("S1", "1")}
    assert works(job)["S1", "1"].standing == "depends"
    assert [place for code, place in works(job) if code == "free pads"] == ["1R"]


def test_pads_tight_at_several_ends_are_freed_on_the_whole_vehicle() -> None:
    job = plan({"1R": ["pad_freedom=tight"], "2L": ["pad_freedom=tight"]})
    assert {place for code, place in works(job) if code == "free pads"} == {"1", "2"}


@pytest.mark.parametrize("word", ["weak", "bent", "missing"])
def test_a_bad_retainer_is_renewed_without_new_pads(word: str) -> None:
    job = plan({"1R": [f"retainer={word}"]})
    assert situations(job) == set()
    assert ("retainer", "1R") in works(job)


# ---------------------------------------------------------------- rotors


@pytest.mark.parametrize(
    "finding",
    [
        "rotor_thickness:beyond#rotor_min",
        "rotor_crack_length:beyond#rotor_crack",
        "rotor_crack_width:beyond#rotor_crack_width",
        "rotor_crack=through the ring",
        "rotor_crack=opens on application",
        "rotor_scoring:beyond#rotor_score",
        "rotor_thickness_variation:beyond#rotor_tv",
        "rotor_heat_spots=raised",
        "rotor_fixing=cracked hat",
    ],
)
def test_a_bad_rotor_renews_both_rotors_and_all_four_pads(finding: str) -> None:
    assert needed(plan({"2L": [finding]})) == {("S4", "2"), ("S1", "2")}


def test_run_out_over_a_loose_bearing_does_not_condemn_the_rotor() -> None:
    job = plan({"1L": ["runout:void", "bearing_end_play:beyond#hub_play_max"]})
    assert situations(job) == set()
    assert {("bearing", "1L"), ("run-out again", "1L"), ("sensor gap", "1L"), ("hub seal", "1L")} <= set(
        works(job)
    )


def test_run_out_without_a_bearing_reading_measures_the_bearing_first() -> None:
    job = plan({"1L": ["rotor_runout:beyond#rotor_ro"]}, not_taken={"1L": ("bearing_end_play",)})
    assert situations(job) == set()
    assert ("run-out again", "1L") in works(job)


def test_run_out_with_a_good_bearing_cleans_the_seat_before_rotors_are_paid_for() -> None:
    job = plan({"1L": ["rotor_runout:beyond#rotor_ro"]}, values={"1L": {"bearing_end_play": 0.06e-3}})
    assert works(job)["S4", "1"].standing == "depends"
    assert ("hub face", "1L") in works(job)


def test_run_out_on_a_true_hub_face_renews_the_rotors() -> None:
    job = plan(
        {"1L": ["rotor_runout:beyond#rotor_ro"]},
        values={"1L": {"bearing_end_play": 0.06e-3, "hub_face_runout": 0.02e-3}},
    )
    assert needed(job) == {("S4", "1"), ("S1", "1")}


def test_a_rust_band_is_braked_warm_before_rotors_are_renewed() -> None:
    job = plan({"2L": ["rotor_view=rust band"]})
    assert works(job)["S4", "2"].standing == "depends"
    assert ("rust band", "2L") in works(job)


def test_a_crack_near_its_limit_is_renewed_now_or_looked_at_again() -> None:
    job = plan(values={"2L": {"rotor_crack_length": 0.70}})
    assert works(job)["S4", "2"].standing == "depends"
    assert "5 000 km" in works(job)["S4", "2"].choice
    assert situations(plan(values={"2L": {"rotor_crack_length": 0.62}})) == set()


@pytest.mark.parametrize(
    ("thickness", "standing"),
    [(38.8e-3, "needed"), (39.0e-3, "advised"), (39.8e-3, None)],
    ids=["38.8 mm", "39.0 mm", "39.8 mm"],
)
def test_a_rotor_must_outlive_the_new_pads(thickness: float, standing: str | None) -> None:
    """37 mm + 0.3 mm margin + 2 x 0.8 to 2 x 1.2 mm loss: 38.9 and 39.7 mm divide (expert judgement)."""
    job = plan(
        {"1L": ["pad_thinnest:beyond@inner#pad_service"]}, values={"1R": {"rotor_thickness": thickness}}
    )
    assert (works(job)["S4", "1"].standing if ("S4", "1") in works(job) else None) == standing


@pytest.mark.parametrize(("thickness", "advised"), [(37.4e-3, True), (38.0e-3, False)])
def test_a_rotor_that_ends_before_its_present_pads_is_advised(thickness: float, advised: bool) -> None:
    """13 mm of 21 left, service 3 mm: 10/18 of a set takes 2 x 0.8 x 10/18 = 0.89 mm; minimum 37 mm."""
    values = {"1L": {"rotor_thickness": thickness}}
    job = plan({"1L": ["rotor:near minimum"]}, values=values, thinnest={"1L": 13.0e-3})
    assert situations(job, "advised") == ({("S4", "1")} if advised else set())
    assert situations(job, "depends") == ({("S1", "1")} if advised else set())


def test_a_rotor_near_its_minimum_waits_while_the_pads_stay() -> None:
    job = plan({"1L": ["rotor:near minimum"]}, values={"1L": {"rotor_thickness": 38.0e-3}})
    assert situations(job) == set()
    assert [work.code for work in axle_job(job, "1").later] == ["rotor with the next pads"]


# ---------------------------------------------------------------- hub, oil


def test_oil_finds_the_leak_first_and_renews_the_pads_of_both_ends_but_cleans_the_rotor() -> None:
    job = plan({"2L": ["pad_condition=oil", "hub_seal=oil track"]})
    assert needed(job) == {("S1", "2")}
    assert {("leak first", "2L"), ("hub seal", "2L"), ("rotor cleaned", "2L")} <= set(works(job))
    assert works(job)["hub seal", "2L"].standing == "needed"


def test_great_heat_on_a_dragging_brake_renews_bearing_grease_and_seal() -> None:
    hot = plan({"2L": ["brake:drags"]}, values={"2L": {"temperature": 559.15}})
    assert ("bearing grease", "2L") in works(hot)
    warm = plan({"2L": ["brake:drags"]}, values={"2L": {"temperature": 485.15}})
    assert ("bearing grease", "2L") not in works(warm)
    assert ("boots", "2L") in works(warm)


# ---------------------------------------------------------------- pads


@pytest.mark.parametrize(
    "finding",
    [
        "pad_thinnest:beyond@inner#pad_service",
        "pad_thinnest:undecided@inner#pad_service",
        "taper_end_to_end:beyond@outer#taper_te",
        "taper_top_to_bottom:beyond@inner#taper_tr",
        "pad_condition=oil",
        "pad_condition=glazed",
        "pad_condition=cracked",
        "pad_condition=lifted",
        "pad_condition=crumbling",
        "pad_identity=mixed",
        "pad_identity=wrong part",
        "pad_freedom=stuck",
    ],
)
def test_bad_pads_at_one_corner_renew_all_four_of_the_axle(finding: str) -> None:
    assert needed(plan({"1R": [finding]})) == {("S1", "1")}


def test_pads_marked_differently_left_and_right_are_mixed() -> None:
    job = plan(marks={"1L": {"pad_part": "X 11"}, "1R": {"pad_part": "X 12"}})
    assert needed(job) == {("S1", "1")}


def test_pads_under_the_plan_limit_are_advised() -> None:
    job = plan({"1R": ["pad_thinnest:beyond@inner#pad_plan!note"]})
    assert works(job)["S1", "1"].standing == "advised"


# ---------------------------------------------------------------- air and what is left


@pytest.mark.parametrize("finding", ["air_leak=audible", "spring_brake=drags", "spring_brake=does not hold"])
def test_a_bad_chamber_is_exchanged_and_the_other_one_looked_at(finding: str) -> None:
    job = plan({"2L": [finding]})
    assert situations(job) == set()
    assert {("chamber", "2L"), ("chamber look", "2R")} <= set(works(job))


def test_chambers_of_an_axle_must_be_alike() -> None:
    job = plan(marks={"1L": {"chamber_size": "24"}, "1R": {"chamber_size": "20"}})
    assert ("chamber pair", "1") in works(job)


def test_slow_release_at_both_ends_is_the_valve_and_not_two_callipers() -> None:
    slow = ["action=slow return", "temperature:hot"]
    job = plan({"2L": slow, "2R": slow})
    assert situations(job) == set()
    assert ("valve", "2") in works(job)


def test_a_brake_that_does_not_act_asks_for_the_air_before_the_guides() -> None:
    job = plan({"2L": ["brake:dead"]})
    assert situations(job) == set()
    assert ("air search", "2L") in works(job)


def test_a_weak_end_without_a_reason_compares_pressures_before_the_calliper() -> None:
    job = plan({"2L": ["brake:weak"]})
    assert works(job)["S5", "2L"].standing == "depends"
    assert ("air search", "2L") in works(job)


def test_a_hot_end_beside_a_cold_one_is_not_taken_apart() -> None:
    """Both thick and cold beside thin and hot: the thin healthy mate is the victim."""
    job = plan({"2L": ["temperature:hot"], "2R": ["temperature:cold"]})
    assert ("air search", "2R") in works(job)
    assert ("release search", "2L") not in works(job)


def test_a_hot_end_without_a_reason_is_searched_for_what_holds_it() -> None:
    assert ("release search", "2L") in works(plan({"2L": ["temperature:hot"]}))


def test_a_lost_stem_cap_in_the_note_is_renewed_and_water_looked_for() -> None:
    job = plan(notes={"2R": "stem cap missing, rust water at stem"})
    assert {("stem cap", "2R"), ("water", "2R")} <= set(works(job))


def test_a_note_that_denies_a_finding_is_not_taken_for_it() -> None:
    assert works(plan(notes={"2R": "no rust water, seal dry"})) == {}


# ---------------------------------------------------------------- the whole vehicle


def test_a_dead_retarder_comes_before_the_rotors() -> None:
    job = plan({"": ["retarder=does not work"], "2L": ["rotor_crack_length:beyond#rotor_crack"]})
    assert any("Repair the retarder before the rotors" in sentence for sentence in job.first)


def test_heat_at_every_end_of_a_weak_vehicle_asks_for_the_retarder_and_renews_all_pads() -> None:
    hot = {place: {"temperature": 560.0} for place in ("1L", "1R", "2L", "2R")}
    job = plan({"": ["efficiency:beyond"]}, values=hot)
    assert needed(job) == {("S1", "1"), ("S1", "2")}
    assert any("retarder" in sentence for sentence in job.first)


def test_dirt_on_every_end_is_one_cause_and_no_rotors() -> None:
    notes = ["wear:fast everywhere", "rotor_scoring:beyond#rotor_score_note!note"]
    job = plan(dict.fromkeys(("1L", "1R", "2L", "2R"), notes))
    assert situations(job) == set()
    assert any("abrasive dirt" in sentence for sentence in job.first)
    assert not any("retarder" in sentence for sentence in job.first)


# ---------------------------------------------------------------- the other end, other axles


def test_the_other_end_is_told_what_it_needs() -> None:
    told = " ".join(axle_job(plan({"1R": ["adjuster_test=turns back"]}), "1").other_end)
    assert "Always all four of the axle" in told
    assert "1L, because of 1R: boots and caps looked at" in told
    assert "1L: its calliper stays if it passes every check" in told
    assert "second person" in told


def test_an_oil_track_at_the_seal_alone_renews_the_seal_and_keeps_dry_pads() -> None:
    job = plan({"2L": ["hub_seal=oil track"]})
    assert set(works(job)) == {("hub seal", "2L")}


def test_axles_of_a_drawn_trailer_are_planned_like_the_others() -> None:
    job = plan({"T1R": ["adjuster_test=turns back"]}, axles=[("1", "steer"), ("T1", "trailer")])
    assert needed(job) == {("S5", "T1R"), ("S1", "T1")}
    assert ("boots", "T1L") in works(job)


def test_drum_brakes_are_left_out_and_said_so() -> None:
    inspection, judgement = judged({"1R": ["pad_condition=oil"]})
    first, second = inspection.vehicle.axles
    vehicle = replace(inspection.vehicle, axles=(first, replace(second, brake="drum")))
    job = plan_job_from(replace(inspection, vehicle=vehicle), judgement, load_catalogue())
    assert needed(job) == {("S1", "1")}
    assert "drum brakes" in axle_job(job, "2").why
    assert axle_job(job, "2").steps == ()


def test_an_axle_that_nobody_looked_at_is_not_called_good() -> None:
    inspection, judgement = judged()
    taken = tuple(end for end in inspection.wheel_ends if end.place.axle == "1")
    job = plan_job_from(replace(inspection, wheel_ends=taken), judgement, load_catalogue())
    assert "not inspected" in axle_job(job, "2").why


def test_an_axle_without_findings_counts_the_checks_that_were_not_taken() -> None:
    why = axle_job(plan(not_taken={"2L": ("slide", "retainer")}), "2").why
    assert "2 at 2L" in why
    assert "no proof that all is well" in why
