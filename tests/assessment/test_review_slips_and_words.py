"""A plate counted in at the end of the indicator's scale, notes that would cry wolf, and honest rounding."""

from __future__ import annotations

import pytest
from small_vehicles import outcome, vehicle

from wearline.assessment.results import Verdict


@pytest.mark.parametrize("reads", ["75 %", "90 %", "95 %", "100 %"])
def test_twelve_millimetres_with_a_worn_indicator_are_asked_about(reads: str) -> None:
    """Common practice, no source: a '12 mm' pad measured with its plate of 9 mm has 3 mm left."""
    change = {"wear_indicator": reads, "pad_inner": ["12.0 mm"] * 4, "pad_outer": ["12.0 mm"] * 4}
    judgement = outcome(vehicle(changes={"2R": change})).judgement
    assert "backing plate counted in" in {notice.code for notice in judgement.warnings}
    worst = next(r for r in judgement.wheel_end("2R").readings if r.check == "pad_thinnest")
    assert worst.verdict is Verdict.UNDECIDED


def test_the_play_of_sound_guides_is_not_called_a_wedge_to_come() -> None:
    """1.0 mm is a third of the limit, what a new kit must reach (common practice)."""
    for end in outcome(vehicle()).judgement.wheel_ends:
        assert "wedge:less than play" not in {finding.id for finding in end.findings}


def test_worn_guides_without_a_wedge_are_told() -> None:
    """T = P L / 2A = 2.9 x 200 / (2 x 105) = 2.8 mm by plane geometry; the pads have no wedge yet."""
    found = outcome(vehicle(changes={"1L": {"tangential_play": "2.9 mm"}}))
    ids = {finding.id for finding in found.judgement.wheel_end("1L").findings}
    assert "wedge:less than play" in ids


def test_an_efficiency_just_under_the_rule_is_not_rounded_onto_it() -> None:
    """4 x 21.2 kN on 17 500 kg (171.6 kN): 49.4 %."""
    weak = {place: {"brake_force": "21.2 kN"} for place in ("1L", "1R", "2L", "2R")}
    reasons = outcome(vehicle(changes=weak)).road.reasons
    assert any("braking efficiency 49.4 % against 50 %" in reason.text for reason in reasons)
