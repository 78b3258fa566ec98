"""The demonstration fleet: invented, the same for the same seed, read by the program, its stories visible."""

from datetime import date, timedelta

import numpy as np
import pytest

from wearline.catalogue.loading import load_catalogue
from wearline.errors import ReadingError
from wearline.ingest.document import inspection_from_document
from wearline.practice.fleet import SCENARIO_DAY, SCENARIO_TEXT, as_documents, demonstration_fleet

SEEDS = (0, 1, 2)
FLEETS = {seed: demonstration_fleet(seed) for seed in SEEDS}


def last(seed, vehicle):
    """The last inspection of a vehicle."""
    return [item for item in FLEETS[seed] if item.vehicle == vehicle][-1].inspection


def figure(inspection, place, field, spot=""):
    return inspection.states[place].figures[field, spot]


def friction(inspection, place, side):
    return float(
        np.mean([figure(inspection, place, f"pad_{side}", spot) for spot in ("LT", "LB", "TT", "TB")])
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_a_dozen_vehicles_are_inspected_several_times_over_two_years_before_the_scenario_ends(seed):
    """Dates rise, none lies after the scenario's end, the last ones two to five weeks before it."""
    fleet = FLEETS[seed]
    vehicles = list(dict.fromkeys(item.vehicle for item in fleet))
    assert len(vehicles) == 12
    for vehicle in vehicles:
        days = [item.taken_on for item in fleet if item.vehicle == vehicle]
        odometers = [
            item.inspection.document["inspection"]["odometer_km"] for item in fleet if item.vehicle == vehicle
        ]
        assert 4 <= len(days) <= 7
        assert days == sorted(days)
        assert odometers == sorted(odometers)
        assert days[-1] - days[0] > timedelta(days=600)
        assert timedelta(days=14) <= SCENARIO_DAY - days[-1] <= timedelta(days=35)
    designs = {axle["design"] for item in fleet for axle in item.inspection.document["axle"]}
    assert designs == {"generic-22.5", "generic-19.5", "generic-17.5"}


@pytest.mark.parametrize("seed", SEEDS)
def test_every_inspection_of_the_fleet_is_accepted_as_an_inspection_file(seed):
    """The reader takes each document on the scenario's day; every one says that it is invented."""
    catalogue = load_catalogue()
    for document in as_documents(FLEETS[seed]):
        inspection = inspection_from_document(
            document, where="fleet", today=SCENARIO_DAY, catalogue=catalogue
        )
        assert "invented" in inspection.note
    assert "made up" in SCENARIO_TEXT


def test_the_same_seed_gives_the_same_fleet_and_the_end_can_be_moved():
    """Deterministic; days move with the end, readings do not."""
    again = demonstration_fleet(0)
    assert as_documents(again) == as_documents(FLEETS[0])
    moved = demonstration_fleet(0, ends_on=date(2024, 2, 29))
    assert [item.taken_on - date(2024, 2, 29) for item in moved] == [
        item.taken_on - SCENARIO_DAY for item in again
    ]
    assert [item.inspection.document["wheel_end"] for item in moved] == [
        item.inspection.document["wheel_end"] for item in again
    ]
    named: list[str] = []
    demonstration_fleet(0, progress=named.append)
    assert len(named) == 12
    with pytest.raises(ReadingError, match="seed is -1"):
        demonstration_fleet(-1)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_stories_can_be_read_from_the_last_inspection(seed):
    """Each sick end shows what its story says, against its mate (mechanisms; sizes are other tests')."""
    box = last(seed, "Box 1")
    assert box.document["wheel_end"][1]["slide"] == "stuck"
    assert friction(box, "1R", "inner") < friction(box, "1R", "outer") - 1.5e-3
    tractor = last(seed, "Tractor 2")
    assert figure(tractor, "2L", "tangential_play") > 2.8e-3 > figure(tractor, "2R", "tangential_play")
    trailer = last(seed, "Trailer 3")
    assert figure(trailer, "2L", "temperature") > figure(trailer, "2R", "temperature") + 40.0
    assert figure(trailer, "2L", "rotor_crack_length") > 0.5 > figure(trailer, "2R", "rotor_crack_length")
    bus = last(seed, "Bus 4")
    assert figure(bus, "2R", "total_travel") > 2.03e-3 > figure(bus, "2L", "total_travel")
    assert figure(bus, "2L", "temperature") > figure(bus, "2R", "temperature") + 20.0
    assert friction(bus, "2L", "inner") < friction(bus, "2R", "inner") + 0.5e-3
    coach = last(seed, "Coach 6")
    assert figure(coach, "1L", "bearing_end_play") > 0.13e-3 > figure(coach, "1R", "bearing_end_play")
    tipper = last(seed, "Tipper 7")
    assert friction(tipper, "3R", "outer") < friction(tipper, "3R", "inner") - 0.3e-3
    assert tipper.document["wheel_end"][5]["pad_freedom"] in ("tight", "stuck")
    assert all(figure(tipper, place, "rotor_scoring") > 0.5e-3 for place in tipper.states)
    timber = last(seed, "Timber 9")
    assert timber.document["vehicle_checks"]["retarder"] == "does not work"
    low = last(seed, "Low 11")
    assert min(figure(low, place, "brake_drag") for place in ("2L", "2R")) > 2.0 * figure(
        low, "1L", "brake_drag"
    )
    inches = last(seed, "Box 12").document["wheel_end"][1]["pad_inner"]
    assert all(float(text.split()[0]) < 1.0 for text in inches)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_sound_bus_stays_sound(seed):
    """Even wear, nothing hot, no cause at work in any inspection."""
    for item in FLEETS[seed]:
        if item.vehicle != "Bus 5":
            continue
        assert item.inspection.truth.faults == {}
        for place in item.inspection.states:
            assert figure(item.inspection, place, "brake_drag") < 0.9e3
            assert min(friction(item.inspection, place, side) for side in ("inner", "outer")) > 2.0e-3


@pytest.mark.parametrize("seed", SEEDS)
def test_the_repaired_truck_shows_before_after_and_bedded(seed):
    """Dragging end cured; straight after the job raw pads give less force, bedded ones the whole."""
    found, left, bedded = [item.inspection for item in FLEETS[seed] if item.vehicle == "Refuse 8"][-3:]
    assert figure(found, "2R", "brake_drag") > 2.0 * figure(left, "2R", "brake_drag")
    assert left.truth.faults == {}
    assert figure(left, "2R", "rotor_thickness") > 44.9e-3
    raw, whole = (figure(item, "2R", "brake_force") for item in (left, bedded))
    assert raw < 0.97 * whole


def test_no_vehicle_is_left_at_bare_metal_by_a_workshop_that_looks_ahead():
    """Pads are renewed before they are used up, except where the story says that something went wrong."""
    for seed in SEEDS:
        for item in FLEETS[seed]:
            sick = {where[:-1] if where[-1] in "LR" else where for where in item.inspection.truth.faults}
            for place in item.inspection.states:
                if "vehicle" in sick or place[:-1] in sick:
                    continue
                assert min(friction(item.inspection, place, side) for side in ("inner", "outer")) > 1.5e-3
