"""The tables reproduce the worked posteriors of their author, by yes-or-no symptoms and two faults."""

import pytest
from threshold_form import posterior, read_case, symptoms_at

from wearline.catalogue.load_causes import load_causes

# Worked values of the network's author, two digits (expert judgement, no public source). It is not said which
# complaints counted as absent; counting them all so, or none, moves A1 by 0.03, hence the tolerance.
WORKED = [
    ("A1", "1R", "G4", 0.77),
    ("A2", "2L", "G1", 0.94),
    ("A3", "2R", "A1", 0.99),
    ("A4", "2L", "A4", 0.97),
    ("B2", "1R", "G1", 0.78),
    ("B5", "1L", "R7", 0.94),
]


@pytest.mark.parametrize(("case", "place", "code", "worked"), WORKED)
def test_worked_posterior(case: str, place: str, code: str, worked: float) -> None:
    found = posterior(load_causes(), symptoms_at(read_case(case), place))
    assert max(found, key=found.__getitem__) == code
    assert found[code] == pytest.approx(worked, abs=0.025)


def test_stuck_pad_and_dirt_of_the_whole_vehicle() -> None:
    """Worked: P1 above 0.99, U4 next."""
    found = posterior(load_causes(), symptoms_at(read_case("A6"), "3R"))
    order = sorted(found, key=lambda code: -found[code])
    assert order[:2] == ["P1", "U4"]
    assert found["P1"] > 0.99


def test_symptoms_alone_cannot_decide_a_dead_retarder() -> None:
    """Worked: at one wheel end U1, R3 and U2 stay open; it takes the vehicle or the confirming test."""
    found = posterior(load_causes(), symptoms_at(read_case("A10"), "2L"))
    order = sorted(found, key=lambda code: -found[code])
    assert {"U1", "R3", "U2"} <= set(order[:4])
    assert found[order[0]] < 0.9
