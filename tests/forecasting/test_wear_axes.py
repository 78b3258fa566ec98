"""Wear against hours or stops: the same forecast as against road, in another unit; what mixes stays out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from wearline.catalogue.loading import load_catalogue
from wearline.forecasting.axes import DatedInspection, axis_of, axis_scales
from wearline.forecasting.clocks import place_inspections
from wearline.forecasting.outlook import Options, forecast_wear
from wearline.records.inspection import Axle, Counters, Inspection, Vehicle, WheelEnd
from wearline.records.place import WheelEndPlace
from wearline.records.readings import CORNERS, Measured

START = date(2024, 1, 10)
KM = (10_000.0, 14_000.0, 18_500.0, 22_000.0)
FRICTION = (19.0, 16.1, 13.0, 10.4)
SPEED = 10.0 / 3.6
"""Usual speed of a refuse vehicle [m/s] where its own counters do not say it (expert judgement)."""


def _ends(friction):
    reading = Measured(friction * 1e-3, f"{friction} mm", "mm", 1e-4)
    keys = {(f"pad_{pad}", corner): reading for pad in ("inner", "outer") for corner in CORNERS}
    return tuple(WheelEnd(WheelEndPlace.parse(at), keys) for at in ("1L", "1R"))


def _history(odometer=True, hours=None, stops=None, vehicle="Round 1", duty="refuse", wear_axis=""):
    """Four looks; ``hours`` and ``stops`` turn a road in metres into counts."""
    told = Vehicle(vehicle, (Axle("1", "steer", "generic-22.5"),), duty=duty, wear_axis=wear_axis)
    rows = []
    for n, (km, friction) in enumerate(zip(KM, FRICTION, strict=True)):
        road = km * 1e3
        counters = Counters(
            hours(road) if hours else None,
            stops(road) if stops else None,
            hours(4e6) if hours and n == 0 else None,
            stops(4e6) if stops and n == 0 else None,
        )
        rows.append(
            DatedInspection(
                f"i{n}",
                Inspection(
                    told,
                    START + timedelta(days=100 * n),
                    _ends(friction),
                    odometer=road if odometer else None,
                    distance_since_pads=4e6 if odometer and n == 0 else None,
                    counters=counters,
                ),
            )
        )
    return rows


def _forecast(history):
    return forecast_wear(history, load_catalogue(), options=Options(before=5e6))


@pytest.mark.parametrize("kind", ["hours", "stops"])
def test_hours_or_stops_give_the_forecast_of_the_road_in_another_unit(kind):
    """Counted in hours at 10 km/h, or in stops 80 m apart, the answer is that of the road, rescaled."""
    road = _forecast(_history())
    per = SPEED if kind == "hours" else 80.0
    other = _forecast(_history(odometer=False, **{kind: lambda metres: metres / per}))
    axle, expected = other.axles[0], road.axles[0]
    axis = other.ends[0].info.axis
    assert axis.kind == kind
    assert (axle.p05, axle.median, axle.p95) == pytest.approx(
        (expected.p05, expected.median, expected.p95), rel=1e-9
    )
    scale = 3600.0 * SPEED if kind == "hours" else 80.0
    assert axis.amount(axle.median) == pytest.approx(expected.median / scale, rel=1e-9)


def test_the_vehicles_own_counters_say_how_much_road_an_hour_is():
    """22 000 - 10 000 km in (22 000 - 10 000) / 12 h: 12 km/h, and the duty learns it."""
    history = _history(hours=lambda metres: metres / (12.0 / 3.6))
    scales = axis_scales(history)
    assert scales["refuse", "hours"] == pytest.approx(12.0 / 3.6, rel=1e-12)
    axis, _ = axis_of(history, {}, scales)
    assert axis.kind == "hours"
    by_road = _forecast(_history()).axles[0].median
    assert _forecast(history).axles[0].median == pytest.approx(by_road, rel=1e-9)


def test_the_road_stays_the_axis_of_other_duties_unless_the_file_says_hours():
    counted = {"hours": lambda metres: metres / 14.0}
    history = _history(duty="regional", **counted)
    assert axis_of(history, {}, {})[0].kind == "km"
    assert axis_of(_history(duty="regional", wear_axis="hours", **counted), {}, {})[0].kind == "hours"
    assert axis_of(history, {"i2": "hours"}, {})[0].kind == "hours"
    assert axis_of(_history(), {}, {})[0].kind == "km"


def _mixed():
    """Two looks with both counters, then one with the odometer alone."""
    history = _history(hours=lambda metres: metres / SPEED, wear_axis="hours")
    last = history[-1]
    return [*history[:-1], replace(last, inspection=replace(last.inspection, counters=Counters()))]


def test_an_inspection_on_another_axis_stays_out_until_it_is_decided():
    found = _forecast(_mixed())
    finding = next(each for each in found.findings if each.code == "mixed axes")
    assert finding.kept_out
    assert finding.inspections == ("i3",)
    assert "shows the odometer only, the history of this vehicle is counted in h" in finding.text
    used = forecast_wear(_mixed(), load_catalogue(), options=Options(decisions={"i3": "use"}))
    assert used.findings == ()
    whole = _forecast(_history(hours=lambda metres: metres / SPEED, wear_axis="hours"))
    assert used.axles[0].median == pytest.approx(whole.axles[0].median, rel=1e-9)
    by_road = forecast_wear(_mixed(), load_catalogue(), options=Options(decisions={"i0": "km"}))
    assert by_road.findings == ()
    assert by_road.ends[0].info.axis.unit == "km"


def _placed(hours, exchanged=()):
    told = Vehicle("Round 1", (Axle("1", "steer", "generic-22.5"),), duty="refuse", wear_axis="hours")
    history = [
        DatedInspection(
            f"i{n}",
            Inspection(told, START + timedelta(days=100 * n), _ends(19.0 - n), counters=Counters(h * 3600.0)),
            n in exchanged,
        )
        for n, h in enumerate(hours)
    ]
    axis, per = axis_of(history, {}, {})
    return place_inspections(history, None, axis, per), axis


def test_an_hour_counter_that_goes_back_is_bridged_and_said():
    (placed, found), axis = _placed([1000, 1800, 40, 900])
    assert [each.code for each in found] == ["hour counter went back"]
    assert "the hour counter shows 40 h" in found[0].text
    clocks = [axis.amount(each.clock) for each in placed]
    # the usual 8.3 h a day of the other stretches (the median of 8.0 and 8.6) over 100 days
    assert clocks == pytest.approx([1000, 1800, 1800 + 830, 1800 + 830 + 860], abs=0.5)


def test_an_exchanged_hour_counter_is_bridged():
    (_, found), _ = _placed([1000, 1800, 1900], exchanged=(2,))
    assert [each.code for each in found] == ["hour counter exchanged"]


def test_more_hours_than_a_day_has_are_out_of_line():
    """100 days have 2 400 h: 90 000 more are minutes written as hours."""
    (placed, found), _ = _placed([1000, 91_000, 2600])
    assert [each.code for each in found] == ["hour counter out of line"]
    assert found[0].kept_out
    assert len(placed) == 2


def test_a_single_file_may_count_in_hours():
    only = _history(hours=lambda metres: metres / SPEED, odometer=False)[:1]
    found = forecast_wear(only, load_catalogue())
    assert found.ends[0].info.axis.say(3.6e7) == "3 600 h"
    assert found.axles[0].median > 0
