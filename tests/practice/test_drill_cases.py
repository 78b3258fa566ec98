"""Drill cases: the same for the same seed, fair, and honest about what each cause does.

Outside checks: geometry of play and bushing clearance by a hand sum (two similar triangles); scatter of two
readings against the chi-square law; chains against the trade's list (common practice, no source).
"""

import re
from dataclasses import replace

import numpy as np
import pytest

from wearline.catalogue.load_causes import load_causes
from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError
from wearline.ingest.document import inspection_from_document
from wearline.practice import drill_cases
from wearline.practice.drill_cases import (
    DATA_ERROR,
    draw_case,
    effects_of,
    given_checks,
    level_of,
    levels,
    written_value,
)
from wearline.practice.faults import VEHICLE
from wearline.practice.faults import load_causes as causes_of_the_simulator

# Chains as the trade tells them (common practice, no source): a parent, and what grows out of it.
CHAINS = {
    ("G7", "G4"), ("G7", "G5"), ("G7", "G1"), ("V4", "A1"), ("V4", "A4"), ("A4", "R3"), ("G4", "R4"),
    ("P2", "P3"), ("R8", "R2"), ("R1", "R2"), ("R7", "P5"), ("U2", "R3"), ("U2", "P6"),
    ("A2", "R3"), ("V2", "R3"),
}  # fmt: skip


def case_of(level, seed):
    return draw_case(levels()[level - 1], seed)


def test_there_is_a_level_for_each_thing_to_learn():
    found = [level.name for level in levels()]
    assert found == ["one fault", "chain", "two faults", "victim mate", "gauge error", "whole vehicle"]


def test_a_level_is_named_by_number_name_or_the_beginning_of_its_name():
    assert level_of("4") == level_of("victim mate") == level_of("Victim") == levels()[3]


@pytest.mark.parametrize("text", ["7", "", "nothing", "-1"])
def test_an_unknown_level_is_refused(text):
    with pytest.raises(InputError, match="there is no level") as refused:
        level_of(text)
    assert "1 (one fault)" in refused.value.allowed


def test_a_negative_seed_is_refused():
    with pytest.raises(InputError, match="the seed is -1"):
        draw_case(levels()[0], -1)


def test_every_chain_of_the_levels_is_one_that_the_trade_knows():
    expected = CHAINS
    assert {tuple(chain) for level in levels() for chain in level.chains} <= expected
    network = load_causes().causes
    for parent, child in {tuple(chain) for level in levels() for chain in level.chains}:
        assert child in network[parent].leads_to


def test_every_code_and_check_of_the_data_file_exists():
    known, checks = set(causes_of_the_simulator()), load_catalogue().checks
    for level in levels():
        assert {*level.pool, *(code for chain in level.chains for code in chain)} <= known
    assert set(given_checks()) <= set(checks)


@pytest.mark.parametrize("level", [1, 2, 3, 4, 5, 6])
def test_the_same_seed_gives_the_same_case(level):
    first, second = case_of(level, 11), case_of(level, 11)
    assert [look.document for look in first.looks] == [look.document for look in second.looks]
    assert first.blames == second.blames
    assert first.looks[0].document != case_of(level, 12).looks[0].document


@pytest.mark.parametrize("level", [1, 2, 3, 4, 5, 6])
def test_every_cause_of_a_case_shows_in_a_reading(level):
    """Fair: three standard uncertainties of one reading, or a word that changes."""
    for seed in range(4):
        case = case_of(level, seed)
        for blame in case.blames:
            assert effects_of(case, blame)[0].size >= 3.0


@pytest.mark.parametrize("level", [1, 2, 3, 4, 5, 6])
def test_a_case_has_what_its_level_says(level):
    for seed in range(4):
        case = case_of(level, seed)
        codes = [code for _, code in case.blames]
        expected = {1: 1, 2: 2, 3: 2, 4: 1, 5: 2, 6: 1}[level]
        assert len(codes) == expected
        assert (DATA_ERROR in codes) is (level == 5)
        assert bool(case.roots) is (level == 2)
        if level == 2:
            assert tuple(codes) in CHAINS
            assert case.roots == case.blames[:1]
        if level == 6:
            assert case.blames[0][0] == VEHICLE or case.blames[0][0] in case.axles


def test_the_mate_of_a_weak_end_is_hotter_and_thinner_though_it_is_sound():
    """Level 4: the victim. By its numbers it looks worse; the cause sits at the other end."""
    for seed in range(4):
        case = case_of(4, seed)
        sick = case.blames[0][0]
        mate = sick[:-1] + {"L": "R", "R": "L"}[sick[-1]]
        own, other = (case.looks[-1].states[place].figures for place in (sick, mate))
        assert other["temperature", ""] - own["temperature", ""] >= 15.0
        pads = [("pad_inner", "LT"), ("pad_outer", "TB")]
        assert sum(own[pad] - other[pad] for pad in pads) > 0.0
        assert mate not in dict(case.blames)


def test_without_a_cause_the_same_brakes_run_the_same_road():
    """A wrong indicator moves nothing but itself: no pad, rotor or force of the twin differs."""
    level = replace(levels()[0], pool=("I1",))
    case = drill_cases.draw_case(level, 3)
    assert case.blames[0][1] == "I1"
    assert {effect.check for effect in effects_of(case, case.blames[0])} <= {
        "wear_indicator",
        "wear_electronic",
    }
    twin, own = case.without(case.blames[0]), case.looks[0]
    for place, state in own.states.items():
        assert state.figures["pad_inner", "LT"] == twin.states[place].figures["pad_inner", "LT"]
        assert state.figures["brake_force", ""] == twin.states[place].figures["brake_force", ""]


def test_play_at_the_bridge_is_bushing_clearance_times_the_lever():
    """P = 2 A c / l with l = 80 mm, A = 105 mm + (gap - 19 mm): similar triangles, summed by hand here.

    The numbers are those of a 22.5-in brake in the design file; both the worn guide and its sound twin obey.
    """
    level = replace(levels()[0], pool=("G1",))
    for seed in range(30):
        case = drill_cases.draw_case(level, seed)
        place = case.blames[0][0]
        if next(a for a in case.spec.axles if a.id == place[:-1]).design != "generic-22.5":
            continue
        for state in (case.looks[0].states[place], case.without(case.blames[0]).states[place]):
            gap, clearance = state.figures["rotor_bridge_gap", ""], state.figures["guide_clearance", ""]
            expected = 2.0 * (0.105 + gap - 0.019) * clearance / 0.080
            assert expected == pytest.approx(state.figures["tangential_play", ""], rel=1e-9)
        return
    pytest.fail("no 22.5-in brake came up")


def test_taken_again_a_reading_differs_by_the_uncertainty_of_two_gauges():
    """A reading is taken again with another gauge: the difference of two has sd = sqrt(2) u.

    Chi-square with n = 160 degrees of freedom has its 0.1 % and 99.9 % points at 110.3 and 221.1, by the
    formula of Wilson and Hilferty, n (1 - 2/(9 n) +- 3.09 sqrt(2/(9 n)))^3, summed by hand. A step h of the
    gauge adds h^2/12 for each reading (JCGM 100:2008, 4.3.7 and F.2.2.1).
    """
    spec = load_catalogue().fields["pad_inner"]
    variance = 2.0 * spec.u**2 + 2.0 * spec.resolution**2 / 12.0
    total = 0.0
    for seed in range(160):
        case = case_of(1, seed)
        off = []
        for look in case.looks[1:3]:
            end = look.document["wheel_end"][0]
            true = look.states[end["at"]].figures["pad_inner", "TB"]
            off.append(written_value(end["pad_inner"], "pad_inner", "TB") - true)
        total += (off[0] - off[1]) ** 2
    assert 110.3 < total / variance < 221.1


@pytest.mark.parametrize("level", [1, 2, 3, 4, 5, 6])
def test_every_look_is_an_inspection_file_that_loads(level):
    case = case_of(level, 2)
    for look in case.looks:
        day = look.document["inspection"]["taken_on"]
        inspection_from_document(look.document, where="drill", today=day, catalogue=load_catalogue())


def test_a_slip_is_in_the_first_look_and_gone_when_taken_again():
    level = replace(levels()[4], slips=("plate counted in",))
    case = drill_cases.draw_case(level, 1)
    effect = effects_of(case, case.blames[-1])[0]
    assert effect.check in ("pad_inner", "pad_outer")
    plates = {8.0, 8.5, 9.0, 10.0}  # mm, backing plates of the generic designs
    assert round(1e3 * (effect.with_cause - effect.without), 1) in plates
    again = next(end for end in case.looks[1].document["wheel_end"] if end["at"] == effect.at)
    value = written_value(again[effect.check], effect.check, effect.spot)
    u = load_catalogue().fields[effect.check].u
    assert abs(value - effect.without) < 4.0 * 2.0**0.5 * u


def test_the_complaint_never_names_a_wheel_end():
    """A driver does not know which wheel it is."""
    for level in range(1, 7):
        for seed in range(4):
            assert not re.search(r"\b\d[LR]\b", case_of(level, seed).complaint)


def test_written_values_are_read_as_the_inspection_file_reads_them():
    assert written_value("1.40 mm", "total_travel") == pytest.approx(1.4e-3)
    assert written_value(["9.8 mm", "9.7 mm", "9.5 mm", "9.3 mm"], "pad_inner", "TB") == pytest.approx(9.3e-3)
    assert written_value("stuck", "slide") == "stuck"
    assert written_value("cannot: rusted", "tangential_play") == "cannot: rusted"
    assert written_value({"readings": ["0.10 mm", "0.20 mm"]}, "rotor_runout") == pytest.approx(1.5e-4)
    assert written_value(3, "abutment_faces_caught") == 3.0
    assert written_value("", "total_travel") is None
    assert np.isfinite(written_value("48 %", "wear_indicator"))
