"""Simulated documents: accepted as inspection files, possible, wrong only where a slip made them so."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from practice_support import CORNERS, DAY, three_axles

from wearline.catalogue.loading import load_catalogue
from wearline.errors import ReadingError
from wearline.ingest.document import inspection_from_document
from wearline.practice.cases import draw_spec, place_for, typical_vehicles
from wearline.practice.faults import Fault, load_causes
from wearline.practice.recording import MISREADINGS, USUAL_FIELDS, Misreading, Recording, Scope
from wearline.practice.simulate import simulate_vehicle, simulate_vehicles
from wearline.records.readings import Measured, Observed, Unmeasurable
from wearline.units import from_unit

CATALOGUE = load_catalogue()


def read(document):
    """The inspection as the program's own reader takes it."""
    return inspection_from_document(document, where="simulated", today=DAY, catalogue=CATALOGUE)


def one(recording=None, truth=None, seed=1, spec=None):
    return simulate_vehicle(
        spec or three_axles(),
        truth or {},
        rng=np.random.default_rng(seed),
        taken_on=DAY,
        recording=recording,
    )


def numbers(document, place, field):
    """Numbers of a field of a wheel end, without their unit."""
    entry = next(end for end in document["wheel_end"] if end["at"] == place)[field]
    return [float(text.split()[0]) for text in (entry if isinstance(entry, list) else [entry])]


@pytest.mark.parametrize("kind", list(typical_vehicles()))
@pytest.mark.parametrize("units", ["metric", "inch"])
def test_documents_of_every_kind_of_vehicle_are_accepted_as_inspection_files(kind, units):
    """What the simulator writes, the reader of inspection files takes without a notice."""
    spec = replace(typical_vehicles()[kind], odometer=200e6)
    inspection = read(one(Recording(units=units), spec=spec).document)
    assert len(inspection.wheel_ends) == 2 * len(spec.axles)
    assert inspection.notices == ()
    assert inspection.vehicle.test_mass == pytest.approx(spec.test_mass)


def test_a_complete_recording_leaves_only_checks_out_that_cannot_be_taken_here():
    """Complete: every field, but not the stroke of a hidden rod, part numbers and a road stop's distance."""
    document = one().document
    expected = {spec.name for spec in CATALOGUE.fields.values() if not spec.vehicle_level}
    missing = expected - document["wheel_end"][2].keys()
    assert missing == {"chamber_stroke", "pad_part", "pad_batch", "calliper_batch"}
    assert expected - document["wheel_end"][0].keys() == missing | {"parking_force"}
    checks = {spec.name for spec in CATALOGUE.fields.values() if spec.vehicle_level}
    assert checks - document["vehicle_checks"].keys() == {"stop_distance"}


def test_scopes_take_the_checks_of_their_state():
    """Wheels on: nothing that needs the wheel off; usual: what most workshops write down."""
    wheels_on = one(Recording(scope=Scope.WHEELS_ON)).document["wheel_end"][2].keys()
    assert "pad_inner" not in wheels_on
    assert {"wear_indicator", "temperature", "brake_force", "total_travel"} <= wheels_on
    usual = one(Recording(scope=Scope.USUAL)).document["wheel_end"][2].keys()
    assert usual - {"at", "noticed"} == USUAL_FIELDS


def test_skipped_readings_are_left_out():
    """A share of the readings that nobody took is not in the file: not zero, not good, absent."""
    full = len(one().document["wheel_end"][2])
    half = len(one(Recording(skipped=0.5)).document["wheel_end"][2])
    assert 0.25 * full < half < 0.75 * full


@pytest.mark.parametrize("field", ["rotor_thickness", "total_travel", "temperature"])
def test_readings_scatter_about_the_truth_as_the_gauge_uncertainty_says(field):
    """u of a reading is U/2 of the check, with the rounding's 1/sqrt(12) of a step.

    Over 300 inspections with one bias each the standard deviation is known to 2.5 %; 8 % is three times that.
    """
    results = simulate_vehicles([three_axles()] * 300, [{}] * 300, rng=np.random.default_rng(9), taken_on=DAY)
    spec = CATALOGUE.fields[field]
    deviations = [
        from_unit(numbers(result.document, place, field)[0], spec.unit) - state.figures[field, ""]
        for result in results
        for place, state in result.states.items()
    ]
    expected = np.hypot(spec.u, spec.resolution / np.sqrt(12.0))
    assert np.std(deviations) == pytest.approx(expected, rel=0.08)
    assert abs(np.mean(deviations)) < 0.2 * expected


def test_the_bias_of_a_gauge_is_the_same_at_every_wheel_end_of_an_inspection():
    """Two thirds of the uncertainty is repeatability; the rest is the gauge's and drops out between mates."""
    results = simulate_vehicles([three_axles()] * 80, [{}] * 80, rng=np.random.default_rng(9), taken_on=DAY)
    means, spreads = [], []
    for result in results:
        deviations = [
            end.readings["total_travel", ""].value - result.states[str(end.place)].figures["total_travel", ""]
            for end in read(result.document).wheel_ends
        ]
        means.append(np.mean(deviations))
        spreads.append(np.std(deviations, ddof=1))
    u, share = 0.05e-3, CATALOGUE.fields["total_travel"].u_repeat_share
    repeat = np.sqrt(np.mean(np.square(spreads)))
    assert repeat == pytest.approx(share * u, rel=0.12)
    assert np.std(means) == pytest.approx(np.hypot(u * np.sqrt(1 - share**2), repeat / np.sqrt(6)), rel=0.25)


def pair(kind, where="2L"):
    """The same case written down rightly and with a slip."""
    right = one(seed=11)
    wrong = one(Recording(misreadings=(Misreading(kind, where),)), seed=11)
    return right.document, wrong.document


def test_inches_in_a_field_of_millimetres_are_25_times_too_small():
    """1 in = 25.4 mm (international inch): pads and plays of that end shrink, the others stay."""
    right, wrong = pair("inches as millimetres")
    for field in ("pad_inner", "pad_outer", "tangential_play", "radial_play"):
        expected = [value / 25.4 for value in numbers(right, "2L", field)]
        assert numbers(wrong, "2L", field) == pytest.approx(expected, abs=0.051)
        assert numbers(wrong, "2R", field) == numbers(right, "2R", field)
    assert all(text.endswith(" mm") for text in wrong["wheel_end"][2]["pad_inner"])


def test_swapped_pads_ends_and_sides_stand_where_the_other_belongs():
    """Each slip exchanges two things and keeps the numbers."""
    right, wrong = pair("inner and outer swapped")
    assert numbers(wrong, "2L", "pad_inner") == numbers(right, "2L", "pad_outer")
    right, wrong = pair("ends swapped")
    lt, lb, tt, tb = numbers(right, "2L", "pad_inner")
    assert numbers(wrong, "2L", "pad_inner") == [tt, tb, lt, lb]
    right, wrong = pair("sides swapped")
    assert numbers(wrong, "2L", "pad_inner") == numbers(right, "2R", "pad_inner")
    assert numbers(wrong, "2R", "temperature") == numbers(right, "2L", "temperature")


def test_a_plate_counted_in_adds_its_thickness_only_where_the_pad_would_still_pass_for_a_pad():
    """Plate 9 mm at a 22.5-inch brake; a pad thicker than new would be noticed by anybody."""
    spec = replace(three_axles(), distance_since_pads=230e6)
    for seed in range(6):
        right = one(seed=seed, spec=spec).document
        wrong = one(
            Recording(misreadings=(Misreading("plate counted in", "2L"),)), seed=seed, spec=spec
        ).document
        for field in ("pad_inner", "pad_outer"):
            before, after = numbers(right, "2L", field), numbers(wrong, "2L", field)
            counted = max(before) + 9.0 <= 1.03 * 21.0 + 0.051
            assert after == pytest.approx([value + 9.0 * counted for value in before], abs=0.051)
        read(wrong)


def test_an_indicator_is_misread_by_one_step_and_pads_changed_without_record_seem_older():
    """Steps of 25 points; the distance since the pads is too long by an earlier set's."""
    right, wrong = pair("indicator step misread")
    shift = numbers(wrong, "2L", "wear_indicator")[0] - numbers(right, "2L", "wear_indicator")[0]
    assert abs(shift) == pytest.approx(25.0, abs=5.0)
    right, wrong = pair("pads changed without record", "")
    assert wrong["inspection"]["km_since_pads"] > 1.5 * right["inspection"]["km_since_pads"]


def test_a_data_error_among_the_causes_becomes_a_slip_of_the_recording():
    """U5 is what a person did with the readings, not what a part did."""
    result = one(truth={"2L": (Fault("U5", 0.5, "inches as millimetres"),)})
    assert result.truth.slips == (Misreading("inches as millimetres", "2L"),)
    assert max(numbers(result.document, "2L", "pad_inner")) < 1.0
    assert set(load_causes()["U5"].variants) <= set(MISREADINGS)


def test_a_stuck_calliper_is_called_stuck_and_its_play_has_a_reason_instead_of_a_number():
    """A seized calliper makes play unmeasurable, not small (common practice, no source)."""
    result = one(truth={"2L": (Fault("G4", 0.8, "released"),)})
    wheel_end = read(result.document).wheel_ends[2]
    assert wheel_end.readings["slide", ""] == Observed("stuck", "stuck")
    assert isinstance(wheel_end.readings["tangential_play", ""], Unmeasurable)
    assert isinstance(wheel_end.readings["radial_play", ""], Unmeasurable)


def test_the_truth_names_every_cause_with_its_variant_and_its_age():
    """What the case left open is filled in, what it gave is kept."""
    truth = {
        "1R": (Fault("P1", 0.4), Fault("G7", 0.3, ago=5e6)),
        "2": (Fault("V3", 0.6),),
        "vehicle": (Fault("U4", 0.5),),
    }
    found = one(truth=truth).truth
    assert found.codes == {"1R": ("P1", "G7"), "2": ("V3",), "vehicle": ("U4",)}
    assert found.faults["1R"][0].variant in ("inner", "outer")
    assert found.faults["1R"][1].ago == pytest.approx(5e6, rel=1e-9)
    run = found.distance_since_pads["1"]
    assert found.faults["vehicle"][0].ago == pytest.approx(run, rel=1e-9)
    assert all(0.0 < fault.ago <= run * (1 + 1e-9) for faults in found.faults.values() for fault in faults)


def test_the_same_seed_gives_the_same_vehicle_and_another_seed_another():
    """Every draw comes from the generator that the caller gives."""
    truth = {"1R": (Fault("A4", 0.6),)}
    assert one(truth=truth, seed=4).document == one(truth=truth, seed=4).document
    assert one(truth=truth, seed=4).document != one(truth=truth, seed=5).document


def test_the_document_says_that_the_vehicle_is_invented():
    """Nobody shall take a simulated inspection for a real one."""
    assert "invented" in one().document["inspection"]["note"]


SEVERITIES = st.floats(0.01, 1.0)
FAULTS = st.tuples(st.sampled_from(sorted(load_causes())), SEVERITIES)


@given(
    faults=st.lists(FAULTS, min_size=0, max_size=3),
    seed=st.integers(0, 2**31),
    units=st.sampled_from(["metric", "inch"]),
)
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_three_causes_at_once_give_possible_readings(faults, seed, units):
    """No NaN, nothing outside the possible range of its field, and the reader takes the file."""
    rng = np.random.default_rng(seed)
    spec = draw_spec(rng, seed % 100)
    truth: dict[str, tuple[Fault, ...]] = {}
    for code, severity in faults:
        where = place_for(code, spec, rng)
        truth[where] = (*truth.get(where, ()), Fault(code, severity))
    result = simulate_vehicle(spec, truth, rng=rng, taken_on=DAY, recording=Recording(units=units))
    inspection = read(result.document)
    for wheel_end in inspection.wheel_ends:
        for (field, _), reading in wheel_end.readings.items():
            if isinstance(reading, Measured):
                low, high = CATALOGUE.fields[field].possible
                assert low - 1e-9 <= reading.value <= high + 1e-9
    for state in result.states.values():
        assert all(np.isfinite(value) for value in state.figures.values())
        assert np.isfinite(state.drag)
        assert 250.0 < state.working_temperature < 1000.0


@given(seed=st.integers(0, 2**31), distance=st.floats(1.0, 2e9))
@settings(max_examples=40, deadline=None)
def test_pads_of_any_age_stay_between_nothing_and_new(seed, distance):
    """Friction does not grow, does not go below nothing; a rotor does not grow (conservation)."""
    spec = replace(three_axles("city bus"), distance_since_pads=distance)
    result = simulate_vehicle(spec, {}, rng=np.random.default_rng(seed), taken_on=DAY)
    for state in result.states.values():
        for side in ("pad_inner", "pad_outer"):
            assert all(0.0 <= state.figures[side, corner] <= 21.7e-3 for corner in CORNERS)
        assert 14e-3 < state.figures["rotor_thickness", ""] <= 45e-3


def test_bad_cases_are_refused_with_what_is_allowed():
    """Place, code, variant, severity, counts: each says what would have been right."""
    with pytest.raises(ReadingError, match="'9L' is no place of vehicle test"):
        one(truth={"9L": (Fault("G1"),)})
    with pytest.raises(ReadingError, match="'X9' is no cause code"):
        one(truth={"1L": (Fault("X9"),)})
    with pytest.raises(
        ReadingError, match=r"V3 \(slow release of an axle\) cannot be a cause of a wheel end"
    ):
        one(truth={"1L": (Fault("V3"),)})
    with pytest.raises(ReadingError, match="P1 has no variant 'upper'"):
        one(truth={"1L": (Fault("P1", 0.5, "upper"),)})
    with pytest.raises(ReadingError, match="severity of G1 is 0"):
        Fault("G1", 0.0)
    with pytest.raises(ReadingError, match="G1 began -1 m ago"):
        Fault("G1", 0.5, ago=-1.0)
    with pytest.raises(ReadingError, match="1 vehicles, 2 truths and 1 recordings"):
        simulate_vehicles([three_axles()], [{}, {}], rng=np.random.default_rng(1), taken_on=date(2026, 1, 1))
    with pytest.raises(ReadingError, match="'lazy' is no misreading"):
        Misreading("lazy")
    with pytest.raises(ReadingError, match=r"0\.95 of the readings are to be skipped"):
        Recording(skipped=0.95)
