"""Did the job restore the brake? The bus whose pads were raw, and the ways to be fooled."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from proof_pairs import as_left, found, judged, proof_of

from wearline.assessment.found_states import ForceLeft, FoundState
from wearline.assessment.proof import check_pair, gain_needed
from wearline.errors import ReadingError
from wearline.physics.states import SOUND

RAW = {"2L": 22.4, "2R": 21.9}
BEDDED = {"2L": 30.6, "2R": 30.1}


def test_straight_after_the_job_nothing_is_shown_yet(tmp_path):
    """Case A3: 22.4 and 21.9 kN, 2.2 % imbalance, in total less than found: bed and repeat."""
    proof = proof_of(as_left(RAW), tmp_path)
    axle = next(axle for axle in proof.axles if axle.axle == "2")
    assert pytest.approx((31.0 - 18.9) / 31.0) == axle.imbalance_before
    assert pytest.approx((22.4 - 21.9) / 22.4) == axle.imbalance_after
    assert pytest.approx(44.3e3) == axle.total_after
    assert axle.total_after < axle.total_before
    assert "an even axle alone proves nothing" in axle.text
    for place in ("2L", "2R"):
        end = proof.wheel_end(place)
        assert end.restored == "not shown"
        assert end.advice == "not shown yet: bed and repeat"
        assert end.raw


def test_after_bedding_it_is_restored(tmp_path):
    """Case A3: 30.6 and 30.1 kN, 59 % more than the dead adjuster let through."""
    proof = proof_of(as_left(BEDDED), tmp_path)
    assert [end.restored for end in proof.wheel_ends] == ["restored"] * 4
    end = proof.wheel_end("2R")
    assert end.gain_needed == pytest.approx(0.30)
    assert end.probability > 0.99
    assert proof.efficiency_after == pytest.approx((19.8 + 19.3 + 30.6 + 30.1) / (17.8 * 9.80665))


def test_probability_of_a_gain_by_hand(tmp_path):
    """18.9 to 24.5 kN against + 30 %: ln(24.5 / 24.57) over u, u^2 = 2 x (0.015^2 + 0.03^2) about."""
    proof = proof_of(as_left({"2L": 24.9, "2R": 24.5}), tmp_path)
    force = next(item for item in proof.wheel_end("2R").evidence if item.check == "force")
    u = math.sqrt(
        (0.015**2 + (0.03 / 18.9) ** 2) + (0.015**2 + (0.03 / 24.5) ** 2) + 2.0 * 0.03**2
    )  # tester: 3 % and 0.06 kN expanded, k = 2; two sessions 3 % each
    z = math.log(24.5 / (18.9 * 1.3)) / u
    assert 0.5 * math.erfc(-z / math.sqrt(2.0)) == pytest.approx(force.probability, abs=1e-3)
    assert not force.shown


def test_raw_pads_do_not_excuse_an_uneven_axle(tmp_path):
    """Raw pads differ by 1 - 0.7 / 0.9 = 22 % at most: 39 % is another fault, not bedding."""
    proof = proof_of(as_left({"2L": 31.0, "2R": 18.9}), tmp_path)
    advice = proof.wheel_end("2R").advice
    assert "bed" not in advice
    assert "force" in advice
    assert "imbalance" in advice


def test_a_force_that_bedding_cannot_bring_is_not_excused(tmp_path):
    """14.0 kN raw is 20 kN at most once bedded, under the 24.6 kN that were expected."""
    proof = proof_of(as_left({"2L": 14.3, "2R": 14.0}), tmp_path)
    assert "bed" not in proof.wheel_end("2R").advice


def test_bedded_by_word_or_by_distance(tmp_path):
    """The healthy mate fell from 31.0 to 22.4 kN: raw pads explain it, bedded ones do not."""
    raw = proof_of(as_left(RAW), tmp_path)
    said = proof_of(as_left(RAW), tmp_path, bedded=True)
    run = proof_of(as_left(RAW).replace("[inspection]", "[inspection]\nkm_since_pads = 900"), tmp_path)
    assert raw.wheel_end("2L").restored == "not shown"
    assert said.wheel_end("2L").restored == "worse"
    assert run.wheel_end("2L").restored == "worse"
    assert said.wheel_end("2L").probability_worse > 0.95


def test_pads_that_nobody_measured_may_be_new(tmp_path):
    """On the axle with the fault: not called worse for a loss that raw pads explain."""
    bare = {place: {"pad_inner": None, "pad_outer": None} for place in ("2L", "2R")}
    proof = proof_of(as_left(RAW, changes=bare), tmp_path)
    assert proof.wheel_end("2L").restored == "not shown"
    assert proof.wheel_end("2R").advice == "not shown yet: bed and repeat"


def test_worn_pads_are_not_raw(tmp_path):
    """The same pads as found, and a third of the force gone: worse."""
    pads = {
        "pad_inner": '["8.2 mm", "8.1 mm", "7.9 mm", "7.8 mm"]',
        "pad_outer": '["8.7 mm", "8.5 mm", "8.3 mm", "8.2 mm"]',
    }
    proof = proof_of(as_left(RAW, changes={"2L": pads}), tmp_path)
    assert proof.wheel_end("2L").restored == "worse"


def test_an_untouched_end_that_lost_its_force_is_worse(tmp_path):
    proof = proof_of(as_left(BEDDED | {"1L": 14.0}), tmp_path)
    end = proof.wheel_end("1L")
    assert end.restored == "worse"
    assert "before the vehicle goes" in end.advice


def test_small_differences_between_two_test_days_are_not_worse(tmp_path):
    """19.8 to 19.0 kN: 4 % is what two sessions differ by."""
    proof = proof_of(as_left(BEDDED | {"1L": 19.0}), tmp_path)
    assert proof.wheel_end("1L").restored == "restored"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"adjuster_test": '"does not advance"'}, "adjuster"),
        ({"adjuster_test": None}, "take: adjuster"),
        ({"total_travel": '"2.60 mm"'}, "travel"),
        ({"total_travel": None}, "take: travel"),
        ({"brake_force": None}, "take: force"),
        ({"brake_drag": '"2.4 kN"'}, "drag"),
    ],
)
def test_what_is_missing_or_fails_is_not_restored(tmp_path, change, words):
    proof = proof_of(as_left(BEDDED, changes={"2R": change}), tmp_path)
    end = proof.wheel_end("2R")
    assert end.restored in ("not shown", "worse")
    assert end.restored == "worse" or words in end.advice
    assert end.probability < 0.95


def test_travel_of_the_two_ends_must_agree(tmp_path):
    """1.10 and 1.50 mm are both within 0.030 to 0.080 in, yet 0.4 mm apart: at most 0.3 mm."""
    proof = proof_of(as_left(BEDDED, changes={"2L": {"total_travel": '"1.10 mm"'}}), tmp_path)
    assert proof.wheel_end("2R").restored == "not shown"
    assert "travel of both ends" in proof.wheel_end("2R").advice


def test_a_fault_left_in_place_is_not_restored(tmp_path):
    """The pads of case A6 are new, the pad still does not come free."""
    text = as_left({"3L": 28.0, "3R": 27.5}, case="A6", axle="3")
    end = proof_of(text, tmp_path, case="A6").wheel_end("3R")
    assert end.restored == "not shown"
    assert any("still beyond" in item.text for item in end.evidence)


def test_a_reading_that_went_beyond_is_worse(tmp_path):
    proof = proof_of(as_left(BEDDED, changes={"1L": {"tangential_play": '"3.6 mm"'}}), tmp_path)
    end = proof.wheel_end("1L")
    assert end.restored == "worse"
    assert any("within its limit as found" in item.text for item in end.evidence)


def test_copied_temperatures_count_for_nothing_and_are_said(tmp_path):
    proof = proof_of(as_left(BEDDED), tmp_path)
    assert [notice.code for notice in proof.warnings] == ["temperatures as before"]
    assert not any(item.check == "temperature" for end in proof.wheel_ends for item in end.evidence)


def test_temperatures_taken_anew_are_held_against_normal_and_mate(tmp_path):
    """All ends within 0.7 to 1.3 of the vehicle-normal rise, and 30 K of the mate (common practice)."""
    warm = {"1L": "146 degC", "1R": "150 degC", "2L": "165 degC", "2R": "160 degC"}
    assert proof_of(as_left(BEDDED, temperatures=warm), tmp_path).wheel_end("2R").restored == "restored"
    cold = warm | {"2R": "98 degC"}
    end = proof_of(as_left(BEDDED, temperatures=cold), tmp_path).wheel_end("2R")
    assert end.restored == "not shown"
    texts = [item.text for item in end.evidence if item.check == "temperature"]
    # (98 - 20) / (148 - 20), 148 the median of the four
    assert any("0.61 of the vehicle-normal rise" in text for text in texts)
    assert any("67 K from the other end" in text for text in texts)


def test_part_pressures_and_swing_are_held_against_their_limits(tmp_path):
    uneven = {
        "2L": {"brake_force_2bar": '"10.0 kN"', "brake_force_swing": '"2.0 kN"'},
        "2R": {"brake_force_2bar": '"7.0 kN"', "brake_force_swing": '"5.0 kN"'},
    }
    end = proof_of(as_left(BEDDED, changes=uneven), tmp_path).wheel_end("2R")
    shown = {item.check: item.shown for item in end.evidence}
    assert shown["force at part pressure"] is False  # 30 %, at most 20 %
    assert shown["swing"] is False  # 5.0 of 30.1 kN, at most 10 %


def state(code):
    return FoundState(code, code, SOUND, SOUND, SOUND, "expert judgement")


@pytest.mark.parametrize(
    ("codes", "high", "deficit", "expected"),
    [
        (("adjuster",), 0.9, 0.39, 0.30),  # the rule for a dead adjuster
        (("adjuster",), 0.9, 0.12, 0.12),  # never more than what was missing
        (("slide stuck",), 0.88, 0.50, 1.0 / 0.88 - 1.0),  # the mild end of its size
        (("slide stuck", "adjuster"), 0.88, None, 0.30),
        ((), 1.0, 0.4, 0.4),  # weak without a state: up to the aim
        ((), 1.0, -0.1, 0.0),
    ],
)
def test_gain_that_a_finding_leads_to_expect(codes, high, deficit, expected):
    left = ForceLeft(share=0.8, low=0.5, high=high, light=1.0)
    found_states = tuple(state(code) for code in codes)
    assert pytest.approx(expected) == gain_needed(found_states, left, deficit, 0.30)


def test_files_that_do_not_belong_together_are_refused(tmp_path):
    before = found()[0]
    other = found("A1")[0]
    with pytest.raises(ReadingError, match="of vehicle 'A3', the file after it of 'A1'"):
        check_pair(before, other)
    with pytest.raises(ReadingError, match="before the one as found"):
        check_pair(before, replace(before, taken_on=before.taken_on - timedelta(days=1)))
    with pytest.raises(ReadingError, match="odometer runs back from 188400 to 188000 km"):
        check_pair(replace(before, odometer=188_400e3), replace(before, odometer=188_000e3))
    fewer = replace(before, vehicle=replace(before.vehicle, axles=before.vehicle.axles[:1]))
    with pytest.raises(ReadingError, match="different axles"):
        check_pair(before, fewer)
    check_pair(before, before)


def test_the_same_file_twice_shows_nothing(tmp_path):
    from proof_pairs import CASES

    proof = proof_of((CASES / "A3.toml").read_text(encoding="utf-8"), tmp_path)
    assert proof.wheel_end("2R").restored == "not shown"
    assert "same readings" in {notice.code for notice in proof.warnings}
    assert judged((CASES / "A3.toml").read_text(encoding="utf-8"), tmp_path)[0].vehicle.id == "A3"
