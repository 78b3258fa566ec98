"""One vehicle over time: wear goes on, causes grow, repairs undo what they reach and nothing else."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from practice_support import DAY, pad, three_axles

from wearline.errors import ReadingError
from wearline.practice.cases import typical_vehicle
from wearline.practice.faults import Fault, load_causes
from wearline.practice.life import Repair, VehicleLife, repair_kinds


def life_of(kind="rigid", seed=3, **changes):
    return VehicleLife(replace(typical_vehicle(kind), **changes), rng=np.random.default_rng(seed))


def test_pads_only_get_thinner_until_new_ones_are_fitted_and_the_odometer_only_grows():
    """Friction does not come back by itself (conservation); new pads are 21 mm at a 22.5-inch brake."""
    life = life_of(odometer=100e6)
    before = dict(life.thinnest)
    for _ in range(5):
        life.advance(20e6)
        now = dict(life.thinnest)
        assert all(now[place] < before[place] for place in now)
        before = now
    assert life.odometer == pytest.approx(200e6)
    life.repair(Repair("pads", "1"))
    assert life.thinnest["1L"] == pytest.approx(21e-3, abs=0.5e-3)
    assert life.thinnest["2L"] == before["2L"]


def test_wear_adds_up_whether_a_distance_is_driven_at_once_or_in_parts():
    """Only the drawn route differs between one long stretch and many short ones: its spread is 12 %."""
    whole, parts = [], []
    for seed in range(12):
        one, many = life_of(seed=seed), life_of(seed=seed)
        one.advance(60e6)
        for _ in range(12):
            many.advance(5e6)
        whole.append(21e-3 - one.thinnest["2L"])
        parts.append(21e-3 - many.thinnest["2L"])
    assert np.mean(whole) == pytest.approx(np.mean(parts), rel=0.06)


def test_looking_at_a_vehicle_does_not_change_its_life():
    """Inspections draw from a stream of their own: a life with and without them wears alike."""
    alone, looked_at = life_of(seed=7), life_of(seed=7)
    for _ in range(4):
        alone.advance(20e6)
        looked_at.advance(20e6)
        looked_at.inspect(DAY)
    assert alone.thinnest == looked_at.thinnest


def test_the_forecast_of_a_sound_pad_from_its_rate_is_right_to_the_spread_of_routes():
    """Thickness falls in proportion to distance when nothing changes (common practice, no source)."""
    life = life_of("semitrailer")
    life.advance(50e6)
    expected = life.thinnest["2R"] - 50e6 * life.wear_rates["2R"]
    life.advance(50e6)
    lost = 21e-3 - life.thinnest["2R"]
    assert life.thinnest["2R"] == pytest.approx(expected, abs=0.25 * lost)


def test_a_new_rotor_under_old_pads_makes_the_indicator_fall():
    """The slide-type indicator sees pad and rotor: a rotor exchange alone lowers it (derived)."""
    life = life_of(rotor_wear=3e-3)
    life.advance(120e6)
    before = life.inspect(DAY).states["1L"].figures["wear_indicator", ""]
    life.repair(Repair("rotor", "1"))
    after = life.inspect(DAY).states["1L"].figures
    lost = before - after["wear_indicator", ""]
    assert lost > 0.065
    assert after["rotor_thickness", ""] == pytest.approx(45e-3)


def test_new_pads_on_a_worn_rotor_start_above_zero():
    """Up to 17 % at 37 mm with S = 23 mm (derived)."""
    life = life_of(rotor_wear=8e-3)
    start = life.inspect(DAY).states["1L"].figures["wear_indicator", ""]
    assert start == pytest.approx(4.0 / 23.0, abs=1e-9)


def test_a_cause_grows_over_the_distance_that_is_given():
    """Seizing over 4 000 km: not yet stuck after 100 km, stuck at the end."""
    life = life_of()
    life.advance(50e6)
    life.add_fault("1R", Fault("G4", 0.6, "released"), grows_over=4e6)
    life.advance(0.1e6)
    assert life.inspect(DAY).states["1R"].figures["slide", ""] < 200.0
    life.advance(4e6)
    assert life.inspect(DAY).document["wheel_end"][1]["slide"] == "stuck"


def test_a_dragging_brake_is_cured_by_a_calliper_and_not_by_pads():
    """The repair must reach the root, or the child returns (common practice, no source)."""
    life = life_of()
    life.advance(60e6)
    life.add_fault("2L", Fault("A4", 0.6), grows_over=1e6)
    life.advance(3e6)
    hot = life.inspect(DAY).states["2L"]
    assert hot.drag > 60.0
    assert life.repair(Repair("pads", "2")) == ()
    life.advance(0.5e6)
    assert life.inspect(DAY).states["2L"].drag > 60.0
    assert [fault.code for fault in life.repair(Repair("calliper", "2L"))] == ["A4"]
    life.advance(0.5e6)
    cured = life.inspect(DAY)
    assert cured.states["2L"].drag < 5.0
    assert cured.truth.faults == {}


def test_raw_pads_give_less_force_until_they_are_bedded():
    """70-90 % of final force at first (expert judgement), the whole after some hundred kilometres."""
    life = life_of(odometer=50e6)
    life.repair(Repair("pads", "vehicle"))
    raw = life.inspect(DAY).states["2L"].figures["brake_force_2bar", ""]
    life.advance(1e6)
    bedded = life.inspect(DAY).states["2L"].figures["brake_force_2bar", ""]
    assert 0.70 < raw / bedded < 0.90


def test_a_guide_kit_takes_the_play_away_and_leaves_the_wedge_in_the_pads():
    """Pads remember: taper is the sum over their life, play is of today (geometry)."""
    life = life_of("tractor")
    life.advance(100e6)
    life.add_fault("2L", Fault("G1", 0.5, "outer leading thick"), grows_over=20e6)
    life.advance(200e6)
    life.repair(Repair("guide kit", "2L"))
    result = life.inspect(DAY)
    assert result.states["2L"].figures["tangential_play", ""] < 0.6e-3
    outer = pad(result, "2L", "outer")
    assert (outer[0] + outer[1] - outer[2] - outer[3]) / 2.0 > 1.2


def test_a_wrong_clearance_is_taken_back_by_the_adjuster_if_loose_and_by_wear_if_tight():
    """Small bites for each application; it cannot retract by itself (common practice, no source)."""
    for variant in ("loose", "tight"):
        life = life_of("city bus")
        life.advance(5e6)
        life.add_fault("1L", Fault("A7", 0.5, variant))
        at_once = life.inspect(DAY).states["1L"].figures["total_travel", ""]
        life.advance(0.1e6)
        soon = life.inspect(DAY).states["1L"].figures["total_travel", ""]
        life.advance(20e6)
        later = life.inspect(DAY).states["1L"].figures["total_travel", ""]
        if variant == "loose":
            assert at_once > 2.1e-3
            assert soon < 1.7e-3
        else:
            assert at_once < 0.4e-3
            assert soon == pytest.approx(at_once, abs=0.1e-3)
        assert 1.2e-3 < later < 1.7e-3


def test_every_cause_can_begin_in_a_life_and_be_removed_by_its_work():
    """Each of the 46 causes, where it belongs, and each kind of work that the table names for it."""
    for code, cause in load_causes().items():
        spec = three_axles(retarder="fitted", distance_since_pads=50e6)
        life = VehicleLife(spec, rng=np.random.default_rng(1))
        where = {"wheel end": "2L", "axle": "2", "vehicle": "vehicle"}[cause.scopes[0]]
        life.add_fault(where, Fault(code, 0.5))
        life.advance(2e6)
        assert list(life.faults) == [where]
        removed = life.repair(Repair(cause.repairs[0], where if cause.repairs[0] != "pads" else where[:1]))
        assert [fault.code for fault in removed] == [code]
        assert life.faults == {}


def test_the_document_gives_one_distance_since_the_pads_only_where_all_axles_agree():
    """A file has one such distance; with axles renewed apart the note says each."""
    life = life_of(odometer=200e6)
    life.advance(30e6)
    together = life.inspect(date(2026, 3, 1)).document["inspection"]
    assert together["km_since_pads"] == pytest.approx(30000, abs=1)
    life.repair(Repair("pads", "1"))
    life.advance(10e6)
    apart = life.inspect(date(2026, 6, 1)).document["inspection"]
    assert "km_since_pads" not in apart
    assert "pads of axle 1: 10000 km, pads of axle 2: 40000 km" in apart["note"]


def test_bad_steps_of_a_life_are_refused_with_what_is_allowed():
    """Backward road, unknown work, unknown places, causes that began before they begin."""
    life = life_of()
    with pytest.raises(ReadingError, match="drive -1 m"):
        life.advance(-1.0)
    with pytest.raises(ReadingError, match="drive -"):
        life.advance_to(life.odometer - 1e3)
    with pytest.raises(ReadingError, match="'polish' is no work"):
        Repair("polish", "1L")
    with pytest.raises(ReadingError, match="'7L' is no place"):
        life.repair(Repair("calliper", "7L"))
    with pytest.raises(ReadingError, match="G1 is said to have begun 5 m ago"):
        life.add_fault("1L", Fault("G1", 0.5, ago=5.0))
    assert "calliper" in repair_kinds()
