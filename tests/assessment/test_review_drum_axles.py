"""A vehicle with drum axles: nothing found at a drum is lost, and nothing is claimed about the drum.

Rules: common practice, no source; the levels are those of the house release rules.
"""

from __future__ import annotations

import pytest
from small_vehicles import SOUND, Outcome, outcome, vehicle

from wearline.errors import ReadingError

BARE = dict.fromkeys(SOUND)


def _with_drum(end: dict[str, str]) -> Outcome:
    changes = {"2L": BARE | end, "2R": BARE}
    brakes = {"1": "air disc", "2": "drum"}
    return outcome(vehicle(("trailer",) * 2, kind="semitrailer", brakes=brakes, changes=changes))


def test_a_loose_wheel_on_a_drum_axle_stops_the_vehicle() -> None:
    """The wheel can come off whatever brake it has: level 4."""
    found = _with_drum({"wheel_fasteners": "loose"})
    assert found.road.level == 4
    assert found.road.reasons[0].place == "2L"
    assert found.judgement.axles[1].take_off


def test_a_loose_chamber_on_a_drum_axle_counts() -> None:
    """1 of 4 brakes is 25 %."""
    road = _with_drum({"chamber_fixing": "loose"}).road
    assert ("2L", "a part loose, broken or missing") in road.count.places
    assert road.count.rule_met
    assert road.level == 3


def test_a_good_word_at_a_drum_proves_nothing() -> None:
    """Level 0 needs the brake to be judged."""
    found = _with_drum({"air_leak": "none"})
    assert found.road.level == 1
    assert not found.road.count.places


def test_a_vehicle_without_disc_brakes_is_refused_in_one_line() -> None:
    """It is no fault of the program and no verdict."""
    changes = dict.fromkeys(("1L", "1R", "2L", "2R"), BARE | {"brake_force": "20 kN"})
    drums = vehicle(("trailer",) * 2, kind="semitrailer", brakes={"1": "drum", "2": "drum"}, changes=changes)
    with pytest.raises(ReadingError, match="no axle of this vehicle has air disc brakes"):
        outcome(drums)
