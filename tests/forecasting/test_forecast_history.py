"""From kept inspections to a clean history: every fault named, kept out where it must be, nothing deleted."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from wearline.catalogue.loading import load_catalogue
from wearline.forecasting.clocks import DatedInspection, place_inspections
from wearline.forecasting.observations import observe
from wearline.forecasting.outlook import Options, forecast_wear
from wearline.forecasting.prior import duty_named, effect_priors
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.spots import spot_readings
from wearline.records.inspection import Axle, Inspection, Vehicle, WheelEnd
from wearline.records.place import WheelEndPlace
from wearline.records.readings import CORNERS, Measured, Observed

START = date(2024, 1, 10)
SETTINGS = ForecastSettings()


def mm(value):
    return Measured(value * 1e-3, f"{value} mm", "mm", 1e-4)


def inspection(day, km, thickness, *, vehicle="Bus 1", since=None, extra=None, axles=("1",), duty="regional"):
    """One inspection; ``thickness`` in mm by wheel end, all corners alike."""
    ends = []
    for at, value in thickness.items():
        readings = (
            {}
            if value is None
            else {(f"pad_{pad}", corner): mm(value) for pad in ("inner", "outer") for corner in CORNERS}
        )
        readings |= (extra or {}).get(at, {})
        ends.append(WheelEnd(WheelEndPlace.parse(at), readings))
    told = Vehicle(
        vehicle, tuple(Axle(a, "steer" if a == "1" else "drive", "generic-22.5") for a in axles), duty=duty
    )
    return Inspection(
        told,
        START + timedelta(days=day),
        tuple(ends),
        odometer=None if km is None else km * 1e3,
        distance_since_pads=None if since is None else since * 1e3,
    )


def history(*items, exchanged=()):
    return [DatedInspection(f"i{n}", each, n in exchanged) for n, each in enumerate(items)]


def codes(found):
    return [each.code for each in found]


def looks(*pairs, since0=20_000, **options):
    """Inspections every 100 days: (odometer in km, {end: mm})."""
    return history(
        *(
            inspection(100 * n, km, ends, since=since0 if n == 0 else None, **options)
            for n, (km, ends) in enumerate(pairs)
        )
    )


GOOD = [(100_000, 19.6), (120_000, 18.2), (140_000, 16.8), (160_000, 15.4)]


def both(value):
    return {"1L": value, "1R": value}


def test_pads_renewed_on_one_axle_are_known_where_the_axle_says_so():
    """4 mm in 20 000 km on old pads, new ones on axle 2 alone: without its own distance nobody could know."""
    rows = [(100, 13.0, None), (120, 9.0, None), (140, 17.0, 20.0)]
    items = []
    for n, (km, second, run) in enumerate(rows):
        each = inspection(
            100 * n,
            1000 * km,
            {"1L": 17.0 - 2 * n, "1R": 17.0 - 2 * n, "2L": second, "2R": second},
            axles=("1", "2"),
            since=40_000 if n == 0 else None,
        )
        items.append(each if run is None else replace(each, pads_run={"2": 1e6 * run}))
    told = observe(history(*items), load_catalogue(), SETTINGS)
    fitted = {str(end.place): end.fitted for end in told.ends}
    assert fitted["1L"] == (6e7,)
    assert fitted["2L"] == (6e7, 1.2e8)
    found = forecast_wear(history(*items), load_catalogue())
    rates = {str(end.info.place): end.rate[1] * 1e10 for end in found.ends}
    assert rates["2L"] == pytest.approx(2.0, rel=0.15)
    assert rates["1L"] == pytest.approx(1.0, rel=0.15)


def test_a_good_history_has_no_finding():
    placed, found = place_inspections(looks(*((km, both(h)) for km, h in GOOD)))
    assert found == []
    assert [p.clock for p in placed] == [1e8, 1.2e8, 1.4e8, 1.6e8]
    answer = forecast_wear(looks(*((km, both(h)) for km, h in GOOD)), load_catalogue())
    assert codes(answer.findings) == []


def test_rate_and_distance_of_a_straight_history():
    """0.7 mm in 10 000 km from 21 mm, 15.4 mm left: 12.4 mm to 3 mm are 177 000 km (hand sum)."""
    answer = forecast_wear(looks(*((km, both(h)) for km, h in GOOD)), load_catalogue())
    end = answer.ends[0]
    assert end.rate[1] == pytest.approx(0.7e-10, rel=0.04)
    assert end.limits[0].median == pytest.approx(177e6, rel=0.05)


def test_two_inspections_on_one_day_that_differ_are_kept_out():
    items = looks(*((km, both(h)) for km, h in GOOD))
    twin = DatedInspection("twin", inspection(100, 120_010, both(12.0)))
    placed, found = place_inspections([*items, twin])
    assert codes(found) == ["two inspections on one day"]
    assert found[0].kept_out
    assert {p.id for p in placed} == {"i0", "i2", "i3"}
    placed, found = place_inspections([*items, twin], {"i1": "use"})
    assert found == []
    assert {p.id for p in placed} == {"i0", "i1", "i2", "i3"}
    placed, found = place_inspections([*items, twin], {"twin": "leave out"})
    assert found == []
    assert len(placed) == 4


def test_two_equal_inspections_on_one_day_count_once():
    items = looks(*((km, both(h)) for km, h in GOOD))
    twin = DatedInspection("twin", inspection(100, 120_000, both(18.2)))
    placed, found = place_inspections([*items, twin])
    assert codes(found) == ["two inspections on one day"]
    assert not found[0].kept_out
    assert len(placed) == 4


def test_an_odometer_in_miles_is_named_and_used_when_decided():
    items = looks((100_000, both(19.6)), (120_000, both(18.2)), (86_992, both(16.8)), (160_000, both(15.4)))
    placed, found = place_inspections(items)
    assert codes(found) == ["odometer in miles"]
    assert found[0].kept_out
    assert "i2" not in {p.id for p in placed}
    placed, found = place_inspections(items, {"i2": "miles"})
    assert found == []
    assert placed[2].clock == pytest.approx(140e6, rel=1e-4)


def test_dates_out_of_order_are_kept_out():
    """The odometer of one inspection lies far outside its neighbours': its date or its counter is wrong."""
    items = looks((100_000, both(19.6)), (190_000, both(18.2)), (140_000, both(16.8)), (160_000, both(15.4)))
    placed, found = place_inspections(items)
    assert codes(found) == ["odometer out of line"]
    assert {p.id for p in placed} == {"i0", "i2", "i3"}


def test_an_odometer_that_went_back_is_bridged_and_said():
    items = looks((100_000, both(19.6)), (120_000, both(18.2)), (5_000, both(16.8)), (25_000, both(15.4)))
    placed, found = place_inspections(items)
    assert codes(found) == ["odometer went back"]
    assert not found[0].kept_out
    assert [p.clock for p in placed] == pytest.approx([100e6, 120e6, 140e6, 160e6])
    answer = forecast_wear(items, load_catalogue())
    assert answer.ends[0].rate[1] == pytest.approx(0.7e-10, rel=0.05)


def test_an_exchange_that_was_told_is_bridged():
    items = looks((100_000, both(19.6)), (120_000, both(18.2)), (300_000, both(16.8)), (320_000, both(15.4)))
    items = [DatedInspection(i.id, i.inspection, i.id == "i2") for i in items]
    placed, found = place_inspections(items)
    assert codes(found) == ["odometer exchanged"]
    assert placed[2].clock == pytest.approx(140e6)


def test_without_odometer_an_inspection_has_no_place():
    items = looks((100_000, both(19.6)), (None, both(18.2)), (140_000, both(16.8)))
    placed, found = place_inspections(items)
    assert codes(found) == ["no odometer"]
    assert len(placed) == 2


def test_swapped_ends_are_named_and_kept_out():
    pairs = [
        (100_000, {"1L": 19.0, "1R": 16.0}),
        (120_000, {"1L": 14.0, "1R": 18.0}),
        (140_000, {"1L": 17.0, "1R": 12.0}),
    ]
    answer = forecast_wear(looks(*pairs), load_catalogue())
    swapped = [each for each in answer.findings if each.code == "wheel ends swapped"]
    assert len(swapped) == 1
    assert swapped[0].kept_out
    assert swapped[0].inspections == ("i1",)


def test_an_unknown_wheel_end_is_named():
    items = looks((100_000, {**both(19.6), "7L": 11.0}), (120_000, both(18.2)))
    told = observe(items, load_catalogue(), SETTINGS)
    assert "unknown wheel end" in codes(told.findings)
    assert {str(end.place) for end in told.ends} == {"1L", "1R"}


def test_wear_that_grows_back_is_kept_out():
    """One and a half millimetres more than before are no new pads."""
    pairs = [
        (100_000, both(14.0)),
        (120_000, both(12.6)),
        (140_000, {"1L": 14.1, "1R": 11.2}),
        (160_000, both(9.8)),
    ]
    answer = forecast_wear(looks(*pairs, since0=100_000), load_catalogue())
    named = [each for each in answer.findings if each.at == "1L" and each.kept_out]
    assert named
    assert named[0].inspections == ("i2",)
    assert not [each for each in answer.findings if each.at == "1R"]
    assert answer.ends[0].friction[1] == pytest.approx(9.8e-3, abs=0.3e-3)


def test_new_pads_without_a_record_are_told_with_dates():
    pairs = [
        (100_000, both(12.0)),
        (120_000, both(10.2)),
        (140_000, {"1L": 19.8, "1R": 8.4}),
        (160_000, {"1L": 18.0, "1R": 6.6}),
    ]
    answer = forecast_wear(looks(*pairs, since0=100_000), load_catalogue())
    told = [each for each in answer.findings if each.code == "pads renewed without a record"]
    assert [each.at for each in told] == ["1L"]
    assert "between 2024-04-19 and 2024-07-28" in told[0].text
    assert told[0].probability is not None
    assert told[0].probability > 0.95
    left, right = answer.ends
    assert left.limits[0].median > 2.0 * right.limits[0].median


def test_recorded_new_pads_make_a_new_set():
    items = history(
        inspection(0, 100_000, both(6.0), since=150_000),
        inspection(100, 120_000, both(19.2), since=18_000),
        inspection(200, 140_000, both(17.2), since=38_000),
    )
    told = observe(items, load_catalogue(), SETTINGS)
    assert [len(end.fitted) for end in told.ends] == [2, 2]
    assert not forecast_wear(items, load_catalogue()).findings


def test_as_found_at_the_day_of_renewal_belongs_to_the_old_pads():
    items = history(
        inspection(0, 100_000, both(6.0), since=100_000),
        inspection(100, 120_000, both(19.0), since=20_000),
    )
    told = observe(items, load_catalogue(), SETTINGS)
    tracks = told.table.tracks
    run = told.table.readings.run
    assert run[tracks.start[0]] == pytest.approx(100e6)
    assert not forecast_wear(items, load_catalogue()).findings


def test_a_new_rotor_with_old_pads_does_not_look_like_new_pads():
    """The mark falls from 75 % to 50 % because the rotor went from 38 to 45 mm: 3.5 mm of 23 mm scale."""
    catalogue = load_catalogue()
    design = catalogue.design("generic-22.5")

    def end(mark, rotor):
        readings = {
            ("wear_indicator", ""): Measured(mark, f"{100 * mark:g} %", "%", 0.01),
            ("rotor_thickness", ""): mm(rotor),
        }
        return WheelEnd(WheelEndPlace.parse("1L"), readings)

    worn = inspection(0, 100_000, {})
    before, rotor = spot_readings(end(0.70, 38.0), worn, design, catalogue, SETTINGS, design.rotor_new)
    after, _ = spot_readings(end(0.70 - 3.5 / 23, 45.0), worn, design, catalogue, SETTINGS, rotor)
    assert rotor == pytest.approx(38e-3)
    assert before[0].value == pytest.approx(after[0].value, abs=1e-6)


def test_an_indicator_step_is_an_interval_and_a_stuck_calliper_says_nothing():
    """50 % of 23 mm, outer pad, new rotor: between 37.5 and 62.5 %, so 12.4 to 6.6 mm of 21 (hand sum)."""
    catalogue = load_catalogue()
    design = catalogue.design("generic-22.5")
    mark = {("wear_indicator", ""): Measured(0.5, "50 %", "%", 0.25)}
    told = inspection(0, 1, {})
    found, _ = spot_readings(
        WheelEnd(WheelEndPlace.parse("1L"), mark), told, design, catalogue, SETTINGS, design.rotor_new
    )
    assert np.isnan(found[0].value)
    assert (found[0].low, found[0].high) == pytest.approx((21e-3 - 0.625 * 23e-3, 21e-3 - 0.375 * 23e-3))
    stuck = {**mark, ("slide", ""): Observed("stuck", "stuck")}
    found, _ = spot_readings(
        WheelEnd(WheelEndPlace.parse("1L"), stuck), told, design, catalogue, SETTINGS, design.rotor_new
    )
    assert found == []


def test_a_vehicle_without_any_reading_gets_the_width_of_its_duty():
    """Regional, [EJ] table: mean life 300 000 km, a tenth below 150 000, nine tenths below 450 000."""
    answer = forecast_wear(history(inspection(0, 100_000, {}, since=0)), load_catalogue())
    axle = answer.axles[0]
    assert 150e6 < axle.median < 450e6
    assert axle.p95 / axle.p05 > 4.0
    low, middle, high = answer.ends[0].friction
    assert low <= middle <= high


def test_an_empty_history_has_an_empty_answer():
    assert forecast_wear([], load_catalogue(), None, Options()).ends == ()


def test_prior_rates_follow_from_energy_and_specific_wear():
    """Regional: 0.09 MJ/km, 22 mm3/MJ, two pads of 165 cm2: 0.6 mm in 10 000 km (the trade's table, [EJ])."""
    found = effect_priors(["regional"], SETTINGS)
    assert float(np.exp(found.mean[0])) == pytest.approx(0.6e-10, rel=0.01)
    assert duty_named("") is None
    assert duty_named("mountain, good") is not None


def test_a_faster_last_stretch_at_several_ends_is_believed():
    """A dead retarder: all ends lose in one stretch what they lost in three."""
    axles = ("1", "2")
    ends = ("1L", "1R", "2L", "2R")
    wear = [(100_000, 19.6), (120_000, 18.2), (140_000, 16.8), (160_000, 15.4), (170_000, 11.4)]
    answer = forecast_wear(
        looks(*((km, dict.fromkeys(ends, h)) for km, h in wear), axles=axles), load_catalogue()
    )
    assert [each.code for each in answer.findings] == ["wear rate changed"] * 4
    assert answer.ends[0].rate[1] > 2.0e-10


def test_many_vehicles_known_by_their_peers_share_one_duty():
    """A column for each of them would make the table grow with the square of the fleet."""
    few, many = (
        [
            DatedInspection(
                f"{n}",
                replace(
                    inspection(0, 1000, both(19.0), vehicle=f"V{n}", duty="", since=20_000),
                    peer_wear={"1": 1e-10},
                ),
            )
            for n in range(count)
        ]
        for count in (3, 30)
    )
    assert observe(few, load_catalogue(), SETTINGS).table.tracks.design.shape[1] >= 3
    columns = observe(many, load_catalogue(), SETTINGS).table.tracks.design.shape[1]
    assert columns < observe(few, load_catalogue(), SETTINGS).table.tracks.design.shape[1]
