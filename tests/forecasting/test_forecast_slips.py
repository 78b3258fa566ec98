"""Inches typed as millimetres in a history: named, kept out, used when somebody says so."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_forecast_history import history, inspection, mm

from wearline.catalogue.loading import load_catalogue
from wearline.forecasting.outlook import Options, forecast_wear
from wearline.forecasting.slips import without_slips
from wearline.records.inspection import Inspection

AXLES = ("1", "2")
ENDS = ("1L", "1R", "2L", "2R")


def look(day: int, km: int, friction: float, typed: float | None = None) -> Inspection:
    """A look at four ends; at 1R the pads and the play were typed as ``typed`` says, in mm."""
    play = {at: {("tangential_play", ""): mm(1.3)} for at in ENDS}
    values = dict.fromkeys(ENDS, friction)
    if typed is not None:
        values["1R"] = typed
        play["1R"] = {("tangential_play", ""): mm(0.05)}
    return inspection(day, km, values, axles=AXLES, extra=play)


def kept(typed: float | None):
    first = replace(look(0, 100_000, 19.6), distance_since_pads=2.0e7)
    return history(first, look(100, 120_000, 18.2), look(200, 140_000, 16.8, typed))


def end_of(found, at):
    return next(end for end in found.ends if str(end.info.place) == at)


def test_inches_typed_as_millimetres_are_named_and_kept_out():
    """1 in = 25.4 mm exactly (international yard and pound agreement, 1959): 16.8 mm is 0.66 in."""
    found = forecast_wear(kept(0.66), load_catalogue())
    (said,) = [each for each in found.findings if each.code == "inches typed as millimetres"]
    assert (said.at, said.inspections, said.kept_out) == ("1R", ("i2",), True)
    assert "times 25.4 they fit" in said.text
    right = forecast_wear(kept(None), load_catalogue())
    assert end_of(found, "1R").friction[1] == pytest.approx(end_of(right, "1R").friction[1], abs=0.6e-3)


def test_somebody_may_say_that_they_are_right():
    found = forecast_wear(kept(0.66), load_catalogue(), options=Options(decisions={"i2": "use"}))
    assert "inches typed as millimetres" not in [each.code for each in found.findings]
    assert end_of(found, "1R").limits[0].p05 == 0.0


def test_pads_that_are_only_thin_are_no_slip():
    """One end at 2 mm beside others at 16.8 mm: a ratio of 8, far from 25.4."""
    found = forecast_wear(kept(2.0), load_catalogue())
    assert "inches typed as millimetres" not in [each.code for each in found.findings]


def test_other_readings_of_the_wheel_end_stay():
    from wearline.forecasting.clocks import place_inspections

    placed, _ = place_inspections(kept(0.66))
    cleaned, _ = without_slips(placed, load_catalogue(), {})
    end = next(e for e in cleaned[2].inspection.wheel_ends if str(e.place) == "1R")
    assert {field for field, _ in end.readings} == set()
    assert cleaned[1].inspection == placed[1].inspection
    assert placed[2].inspection.wheel_ends[1].readings
