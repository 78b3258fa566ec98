"""The simulator's own data files: every number has a unit and a status, nothing unknown passes."""

import re
from dataclasses import fields, replace

import numpy as np
import pytest

from wearline.catalogue.loading import load_catalogue
from wearline.errors import CatalogueError, ReadingError
from wearline.physics.pad_wear import GENERIC_DUTIES
from wearline.practice import faults, fleet, parameters
from wearline.practice.cases import (
    distance_of_a_year,
    draw_spec,
    draw_truth,
    place_for,
    typical_vehicle,
    typical_vehicles,
)
from wearline.practice.conditions import QUANTITIES, ActiveFault, Overlay
from wearline.practice.faults import Fault, load_causes
from wearline.practice.looks import GOOD_WORDS
from wearline.practice.numbers import STATUSES, read_numbers, read_table, scaled
from wearline.practice.parameters import load_duties, load_mechanisms
from wearline.practice.recording import USUAL_FIELDS
from wearline.practice.specification import AxleSpec, VehicleSpec
from wearline.units import from_unit

CATALOGUE = load_catalogue()


@pytest.mark.parametrize(
    "file", ["mechanisms.toml", "duties.toml", "causes.toml", "vehicles.toml", "fleet.toml"]
)
def test_every_data_file_says_what_its_numbers_are(file):
    """A default status stands at the head of each file, and it is one of the known ones."""
    assert read_table(file)["default"]["status"] in STATUSES


@pytest.mark.parametrize("unit", ["mm", "m", "km", "N", "kN", "N m", "kPa", "K", "s", "min", "km/h", "%"])
def test_units_of_the_data_files_have_the_exact_factors_of_the_units_package(unit):
    """One millimetre here is one millimetre there (SI Brochure, through wearline.units)."""
    assert scaled(7.0, unit, "here") == pytest.approx(float(from_unit(7.0, unit)), rel=1e-15)
    assert scaled(20.0, "degC", "here") == pytest.approx(293.15, rel=1e-15)


def test_compound_units_are_their_parts():
    """MJ/km, mm3/MJ and the rates by distance, by hand: 1e6 J / 1e3 m, 1e-9 m3 / 1e6 J, 1e-3 m / 1e8 m."""
    assert scaled(1.0, "MJ/km", "here") == pytest.approx(1e6 / 1e3)
    assert scaled(1.0, "mm3/MJ", "here") == pytest.approx(1e-9 / 1e6)
    assert scaled(1.0, "mm per 100000 km", "here") == pytest.approx(1e-3 / 1e8)
    assert scaled(1.0, "1 per 10000 km", "here") == pytest.approx(1.0 / 1e7)
    assert scaled(1.0, "kPa/mm", "here") == pytest.approx(1e3 / 1e-3)


def test_duties_that_are_generic_take_their_numbers_from_the_physics():
    """No second list of energies: nine generic duties and one of its own."""
    found = {(duty.energy, duty.specific_wear, duty.life) for duty in load_duties().values()}
    for generic in GENERIC_DUTIES:
        assert (
            generic.energy_per_distance,
            generic.specific_wear,
            (generic.life_p10, generic.life_p90),
        ) in found
    assert len(load_duties()) == len(GENERIC_DUTIES) + 1


def test_causes_change_quantities_and_show_words_that_exist():
    """Every effect names a mechanical quantity, every sign a field with that word in the catalogue."""
    for code, cause in load_causes().items():
        for effect in cause.effects:
            assert effect.quantity in QUANTITIES, code
            assert not effect.variant or effect.variant in cause.variants, code
        for sign in cause.signs:
            assert set(sign.words) <= set(CATALOGUE.fields[sign.field].words), code
            assert not sign.variant or sign.variant in cause.variants, code
    for field, word in GOOD_WORDS.items():
        assert word in CATALOGUE.fields[field].words
    assert set(CATALOGUE.fields) >= USUAL_FIELDS


def test_varied_mechanisms_differ_by_no_more_than_asked_and_keep_settings_of_people():
    """Each uncertain number within +-30 %, another draw for each; stuck is called stuck at the same force."""
    shipped = load_mechanisms()
    varied = shipped.varied(np.random.default_rng(0), 0.3)
    changed = 0
    for part in ("guidance", "actuation", "drag", "heat", "wear"):
        for item in fields(getattr(shipped, part)):
            before, after = (
                getattr(getattr(shipped, part), item.name),
                getattr(getattr(varied, part), item.name),
            )
            if isinstance(before, float) and before:
                assert 0.7 <= after / before <= 1.3
                changed += after != before
    assert changed > 40
    assert varied.guidance.stuck_force == shipped.guidance.stuck_force
    assert varied.testing == shipped.testing
    with pytest.raises(CatalogueError, match=r"a spread of 1\.5"):
        shipped.varied(np.random.default_rng(0), 1.5)


def test_numbers_without_unit_with_unknown_unit_or_without_status_are_refused():
    """File, key, what is allowed and the cure."""
    with pytest.raises(CatalogueError, match="'span' has no value with its unit"):
        read_numbers({"span": {"value": 3.0}}, "x.toml", "expert judgement")
    with pytest.raises(CatalogueError, match="the unit 'furlong' is not known"):
        read_numbers({"span": {"value": 3.0, "unit": "furlong"}}, "x.toml", "expert judgement")
    with pytest.raises(CatalogueError, match="'span' has the status 'hearsay'"):
        read_numbers(
            {"span": {"value": 3.0, "unit": "mm", "status": "hearsay"}}, "x.toml", "expert judgement"
        )
    with pytest.raises(CatalogueError, match="cannot be read"):
        read_table("nothing.toml")


def test_a_missing_or_unknown_mechanism_and_an_unknown_generic_duty_are_refused():
    """A number that nobody reads, or that somebody needs, is named."""
    table = dict(read_table("mechanisms.toml")["drag"])
    table["rub_colour"] = table.pop("rub_torque")
    with pytest.raises(CatalogueError, match="missing or unknown numbers: rub_colour, rub_torque"):
        parameters._build(parameters.Drag, table, "x.toml, drag", "expert judgement")
    with pytest.raises(CatalogueError, match="there is no generic duty 'moon'"):
        parameters._generic({"as_in": "moon"}, "x.toml")


def test_typical_vehicles_can_be_built_and_drawn():
    """Every kind has a brake design of the catalogue, a duty, and a yearly distance of a working vehicle."""
    for kind, spec in typical_vehicles().items():
        assert all(axle.design in CATALOGUE.designs for axle in spec.axles)
        assert 10e6 < distance_of_a_year(kind) < 200e6
        assert not re.search(r"[0-9]{4}", spec.description)
    rng = np.random.default_rng(1)
    drawn = [draw_spec(rng, number) for number in range(40)]
    assert {spec.duty for spec in drawn} >= {"line haul", "regional", "tipper"}
    with pytest.raises(ReadingError, match="no typical vehicle 'hovercraft'"):
        typical_vehicle("hovercraft")


def test_drawn_truths_follow_their_chances_and_places():
    """A cause of 10 % at each wheel end appears at a tenth of them; retarder faults only with a retarder."""
    rng, spec = np.random.default_rng(2), typical_vehicle("tipper")
    truths = [draw_truth(spec, {"G4": 0.1, "V3": 0.05, "U2": 0.5}, rng) for _ in range(500)]
    seized = sum(fault.code == "G4" for truth in truths for found in truth.values() for fault in found)
    # 4 000 wheel ends: 400 expected, standard deviation 19
    assert 340 < seized < 460
    assert not any("vehicle" in truth for truth in truths)
    assert all(where in {"1", "2", "3", "4"} or where[-1] in "LR" for truth in truths for where in truth)
    assert all(0.3 <= f.severity <= 1.0 for truth in truths for found in truth.values() for f in found)
    for code in load_causes():
        where = place_for(code, spec, rng)
        assert code != "V2" or where[0] in "34"


def test_bad_vehicles_are_refused_with_what_is_allowed():
    """Roles, loads, shares, duties, kinds, distances."""
    axle = AxleSpec("1", "steer")
    for what, call in {
        "axle 1 has the role 'rudder'": lambda: AxleSpec("1", "rudder"),
        "axle 1 carries 90 kg": lambda: AxleSpec("1", "steer", 90.0),
        "axle 1 takes 9 of the mean energy": lambda: AxleSpec("1", "steer", share=9.0),
        "the axles are": lambda: VehicleSpec("v", (axle, axle)),
        "the duty is 'racing'": lambda: VehicleSpec("v", (axle,), "racing"),
        "the kind is 'boat'": lambda: VehicleSpec("v", (axle,), kind="boat"),
        "the retarder is 'maybe'": lambda: VehicleSpec("v", (axle,), retarder="maybe"),
        "the odometer shows -1 m": lambda: VehicleSpec("v", (axle,), odometer=-1.0),
        "the pads have run 0 m": lambda: VehicleSpec("v", (axle,), distance_since_pads=0.0),
        "the rotors had lost 1 m": lambda: VehicleSpec("v", (axle,), rotor_wear=1.0),
        "the pads last 20 times as long": lambda: VehicleSpec("v", (axle,), pad_life=20.0),
    }.items():
        with pytest.raises(ReadingError, match=re.escape(what)):
            call()


def test_a_cause_or_a_story_that_cannot_be_is_refused():
    """An unknown quantity, an unknown way to change it, a vehicle that nobody inspects."""
    effect = {"on": "colour", "how": "add", "mild": 0.0, "severe": 1.0, "unit": "mm"}
    with pytest.raises(CatalogueError, match="an effect on 'colour' is not understood"):
        faults._effect({**effect, "how": "paint"}, "expert judgement", "x.toml")
    odd = replace(load_causes()["G1"], effects=(faults._effect(effect, "expert judgement", "x.toml"),))
    active = ActiveFault(0, "1L", Fault("G1"), odd, np.array([0]), 0.0, 0.0, np.ones(1))
    with pytest.raises(CatalogueError, match="G1 changes 'colour', which is no quantity"):
        Overlay((active,))
    with pytest.raises(CatalogueError, match="Ghost 1 is never inspected"):
        fleet._events({"id": "Ghost 1", "faults": [{"days": 3, "at": "1L", "code": "G1"}]})
