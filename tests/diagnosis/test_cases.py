"""Acceptance cases: the hidden cause is named first at the sick end, healthy mates stay innocent."""

import pytest
from threshold_form import read_case

from wearline.catalogue.loading import load_catalogue
from wearline.diagnosis.explain import explain
from wearline.diagnosis.results import Explanation

SICK = {
    "A1": {"1R": "G4"},
    "A2": {"2L": "G1"},
    "A3": {"2R": "A1"},
    "A4": {"2L": "A4"},
    "A6": {"3R": "P1"},
    "B2": {"1R": "G1"},
    "B5": {"1L": "R7"},
}


@pytest.fixture(scope="module")
def explained() -> dict[str, Explanation]:
    return {name: explain(read_case(name), load_catalogue()) for name in (*SICK, "A10")}


@pytest.mark.parametrize("name", SICK)
def test_hidden_cause_stands_first_and_is_near_certain(name: str, explained: dict[str, Explanation]) -> None:
    for place, code in SICK[name].items():
        best = explained[name].wheel_end(place).causes[0]
        assert best.code == code
        assert best.probability > 0.9
        assert best.supports


@pytest.mark.parametrize("name", SICK)
def test_no_healthy_end_is_accused(name: str, explained: dict[str, Explanation]) -> None:
    for end in explained[name].wheel_ends:
        if end.place not in SICK[name]:
            assert end.healthy > 0.9, end.place
            assert not end.found


def test_victim_of_a_dead_adjuster_is_named_as_such(explained: dict[str, Explanation]) -> None:
    """2L is hot and 5.5 mm thinner, and has no fault."""
    end = explained["A3"].wheel_end("2L")
    assert end.healthy > 0.9
    assert "2L works more because 2R does less" in explained["A3"].axles[1].victim


def test_dirt_is_one_cause_of_the_vehicle_not_eight_faults(explained: dict[str, Explanation]) -> None:
    best = explained["A6"].vehicle[0]
    assert best.code == "U4"
    assert best.probability > 0.95
    for end in explained["A6"].wheel_ends:
        assert all(view.probability < 0.1 for view in end.causes if view.code == "R4")


def test_dead_retarder_is_one_cause_of_six_ends(explained: dict[str, Explanation]) -> None:
    best = explained["A10"].vehicle[0]
    assert best.code == "U2"
    assert all(end.found[0].code == "R3" for end in explained["A10"].wheel_ends)
    assert all(end.root.code == "U2" for end in explained["A10"].wheel_ends if end.root)
    assert explained["A10"].wheel_end("1L").root is not None


def test_roots_reach_the_parent(explained: dict[str, Explanation]) -> None:
    """A torn boot stands behind seized pins, water behind the dead adjuster; cracks follow the drag."""
    first = explained["A1"].wheel_end("1R").root
    water = explained["A3"].wheel_end("2R").root
    drag = explained["A4"].wheel_end("2L").root
    assert first is not None
    assert water is not None
    assert drag is not None
    assert (first.code, first.follows) == ("G7", ("G4",))
    assert (water.code, water.follows) == ("V4", ("A1",))
    assert (drag.code, drag.follows) == ("A4", ("R3",))


def test_bound_on_dropped_sets_is_small(explained: dict[str, Explanation]) -> None:
    assert max(end.dropped for one in explained.values() for end in one.wheel_ends) < 0.01
