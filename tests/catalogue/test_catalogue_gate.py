"""A gate over every data file: names complete, every number with its origin, nothing from memory decides."""

from __future__ import annotations

import re
from datetime import date
from fractions import Fraction
from itertools import chain
from pathlib import Path

import pytest
from catalogue_readers import READERS, read, shipped

from wearline.catalogue.loading import load_catalogue
from wearline.catalogue.model import Grade, Meaning, Number, Status
from wearline.units import Kind, parse_quantity

CATALOGUE = load_catalogue()
DATA = Path(__file__).parents[2] / "src" / "wearline" / "catalogue" / "data"

# The field names are fixed: other files and programs rely on them.
_WHEEL_END_FIELDS = """
wear_indicator wear_electronic visible_friction rotor_view air_leak action free_turning brake_force
brake_drag brake_force_2bar brake_force_4bar brake_force_swing parking_force wheel_load
pressure_threshold spring_brake hose caps_seen wheel_fasteners temperature first_look total_travel
adjuster_test adjuster_torque pad_inner pad_outer pad_condition pad_identity pad_part pad_batch
pad_freedom
abutment_faces_caught slide tangential_play radial_play rotor_bridge_gap guide_pin_boot guide_caps
tappet_boot tappet_shank tappet_step stem_cap rotor_thickness rotor_thickness_variation rotor_runout
rotor_crack_length rotor_crack rotor_crack_width rotor_heat_spots rotor_scoring rotor_fixing
bearing_end_play hub_seal tone_ring sensor_gap carrier calliper_fixing calliper_batch fastener_torque retainer
chamber_fixing chamber_seal chamber_size chamber_stroke sensor_wire guide_clearance hub_face_runout
"""
WHEEL_END_FIELDS = _WHEEL_END_FIELDS.split()
_VEHICLE_FIELDS = """
lamps air_loss_released air_loss_applied stop_distance deceleration parking_brake retarder
"""
VEHICLE_FIELDS = _VEHICLE_FIELDS.split()
CHECK_IDS = [f"W{n}" for n in range(1, 22)] + [f"F{n}" for n in range(1, 37)]


def test_every_data_file_is_read_by_some_reader():
    """No data file lies beside the gate; job, release and cause files have gates of their own."""
    others = {"release.toml", "job_choice.toml", "job_extra_work.toml"}
    files = {path.relative_to(DATA).as_posix() for path in DATA.rglob("*.toml")}
    causes = {file for file in files if file.startswith("causes/")}
    assert files - others - causes == set(READERS)


@pytest.mark.parametrize("file", READERS)
def test_every_shipped_file_loads(file):
    assert read(file, shipped(file)) is not None


def test_the_fields_are_the_fixed_ones():
    on_vehicle = [name for name, spec in CATALOGUE.fields.items() if spec.vehicle_level]
    assert sorted(on_vehicle) == sorted(VEHICLE_FIELDS)
    assert sorted(CATALOGUE.fields) == sorted(WHEEL_END_FIELDS + VEHICLE_FIELDS)


def test_the_checks_are_complete():
    assert list(CATALOGUE.checks) == CHECK_IDS


def test_pads_are_measured_at_four_corners_and_nothing_else_has_spots():
    spotted = {name: spec.spots for name, spec in CATALOGUE.fields.items() if spec.spots}
    corners = ("LT", "LB", "TT", "TB")
    assert spotted == {"pad_inner": corners, "pad_outer": corners}


def test_every_words_field_has_a_good_word_and_one_that_is_not():
    for name, spec in CATALOGUE.fields.items():
        if spec.words:
            meanings = set(spec.words.values())
            assert Meaning.GOOD in meanings, name
            assert meanings & {Meaning.FAULT, Meaning.LOOK}, name


def test_what_is_not_fitted_says_nothing_and_is_not_good():
    for name in ("spring_brake", "retarder"):
        assert CATALOGUE.fields[name].words["not fitted"] is Meaning.UNMEASURABLE


def test_every_quantity_field_asks_what_went_wrong_and_has_a_possible_range():
    for name, spec in CATALOGUE.fields.items():
        if spec.kind is not None:
            assert spec.cure.endswith((".", "?")), name
            low, high = spec.possible
            assert low < high, name


def test_every_quantity_but_a_count_has_an_uncertainty():
    for name, spec in CATALOGUE.fields.items():
        if spec.kind not in (None, Kind.COUNT):
            assert spec.u > 0 or spec.u_relative > 0, name
            assert spec.u_origin.source in CATALOGUE.sources, name


def _all_numbers() -> list[tuple[str, Number]]:
    designs = ((f"{d.id} {name}", n) for d in CATALOGUE.designs.values() for name, n in d.numbers.items())
    uncertainties = ((n, s.u_origin) for n, s in CATALOGUE.fields.items() if s.u_origin is not None)
    thresholds = (
        (f"{c.id} threshold", condition.threshold)
        for c in CATALOGUE.consequences.values()
        for condition in c.conditions
        if condition.threshold is not None
    )
    rules = (
        (f"{pack.id} {rule.id}", number)
        for pack in CATALOGUE.packs.values()
        for rule in pack.rules
        for number in (rule.number, rule.also)
        if number is not None
    )
    classes = (
        (f"{pack.id} class {row.id} {name}", number)
        for pack in CATALOGUE.packs.values()
        for row in pack.classes
        for name, number in row.columns.items()
    )
    return list(chain(designs, uncertainties, thresholds, rules, classes))


NUMBERS = _all_numbers()


@pytest.mark.parametrize(("name", "number"), NUMBERS, ids=[name for name, _ in NUMBERS])
def test_every_number_has_unit_source_place_and_a_status_that_fits_its_source(name, number):
    assert number.unit
    assert number.locator
    assert number.status is CATALOGUE.sources[number.source].status
    assert number.value == float(number.exact)


@pytest.mark.parametrize("limit", CATALOGUE.default_limits.values(), ids=lambda limit: limit.id)
def test_every_limit_has_unit_source_place_and_status(limit):
    source = CATALOGUE.sources[limit.source]
    assert limit.unit
    assert limit.locator
    assert limit.status is source.status
    assert source.grade is not Grade.MEMORY
    assert limit.published
    assert limit.value == float(limit.exact)


def test_no_default_limit_poses_as_law():
    """The defaults are practice, judgement or a maker's usual figure; law stands in the rule packs alone."""
    assert {str(limit.authority) for limit in CATALOGUE.default_limits.values()} <= {
        "maker",
        "roadside",
        "common practice",
        "house",
    }
    assert CATALOGUE.default_limits["pad_road"].status is Status.COMMON_PRACTICE


def test_what_is_judgement_keeps_its_tag():
    judged = {i for i, limit in CATALOGUE.default_limits.items() if limit.status is Status.EXPERT_JUDGEMENT}
    assert {"cl_min", "slide", "tappet_step", "bind_share", "bind_mate", "rotor_tv", "temp_diff"} <= judged


def test_every_limit_applies_to_a_field_or_measure_or_is_shown_only():
    for limit in CATALOGUE.default_limits.values():
        known = limit.field in CATALOGUE.fields or limit.field in CATALOGUE.measures
        assert known or not limit.decides, limit.id


def test_every_field_that_carries_a_limit_has_one_that_decides_or_only_notes():
    """The first deciding limit of a field is its service limit: for pads that is not the roadside idea."""
    first: dict[str, str] = {}
    for limit in CATALOGUE.default_limits.values():
        if limit.decides:
            first.setdefault(limit.field, limit.id)
    assert first["pad_thinnest"] == "pad_service"
    assert first["total_travel"] == "cl_max"
    assert first["rotor_scoring"] == "rotor_score"
    assert first["imbalance"] == "imb"


WRITTEN_BOTH_WAYS = [limit for limit in CATALOGUE.default_limits.values() if limit.also]


@pytest.mark.parametrize("limit", WRITTEN_BOTH_WAYS, ids=lambda limit: limit.id)
def test_the_two_printed_forms_are_one_number_rounded_twice(limit):
    """1 in = 25.4 mm exactly (NIST SP 811, B.8); both forms agree within half of their last digits.

    '2 mm' beside '0.078 in' (1.98 mm) is the coarsest pair in common use.
    """
    words = {"twice": "200 %", "0.6 times": "60 %", "1.4 times": "140 %", "0.7 times": "70 %"}
    words |= {"1.3 times": "130 %"}
    one = parse_quantity(limit.published, limit.kind)
    other = parse_quantity(words.get(limit.also, limit.also), limit.kind)
    slack = (one.resolution + other.resolution) / 2
    assert abs(one.exact - other.exact) <= slack


def test_no_rule_from_memory_decides():
    for pack in CATALOGUE.packs.values():
        for rule in pack.rules:
            assert not (rule.decides and rule.grade is Grade.MEMORY), (pack.id, rule.id)


def test_law_decides_only_where_its_text_was_read():
    federal = CATALOGUE.pack("us-federal")
    assert {rule.grade for rule in federal.rules if rule.decides} == {Grade.READ}


def test_what_comes_from_a_transcription_says_so():
    rule = CATALOGUE.pack("north-american-out-of-service").rules[0]
    assert rule.status == "from a transcription, confirm"
    assert rule.decides


def test_the_european_pack_decides_nothing_since_its_annex_was_not_read():
    assert not any(rule.decides for rule in CATALOGUE.pack("un-eu").rules)


def test_every_rule_that_compares_a_number_says_in_which_unit():
    for pack in CATALOGUE.packs.values():
        for rule in pack.rules:
            if rule.number is not None or rule.limit or rule.column:
                assert rule.unit_rule, (pack.id, rule.id)


def test_every_source_in_use_is_listed_and_every_listed_source_has_words_to_show():
    for source in CATALOGUE.sources.values():
        assert source.show
        if source.grade is Grade.TRANSCRIPTION:
            assert source.show == "from a transcription, confirm"
        if source.grade is Grade.MEMORY:
            assert source.show == "unverified"


MOVES = ("N", "O", "A", "R", "J", "W", "P", "D")


def test_the_states_of_the_checks_are_the_eight_known_ones():
    assert sorted(CATALOGUE.states) == sorted(MOVES)
    for check in CATALOGUE.checks.values():
        assert check.states, check.id


def test_a_check_with_the_wheel_on_never_needs_it_off():
    for check in CATALOGUE.checks.values():
        if check.id.startswith("W"):
            assert not {"W", "P", "D"} & set(check.states), check.id


def test_every_measure_of_a_rule_can_be_computed():
    known = {*CATALOGUE.fields, *CATALOGUE.measures, ""}
    for pack in CATALOGUE.packs.values():
        assert {rule.measure for rule in pack.rules} <= known, pack.id


def test_every_part_of_the_brake_is_shown_by_some_check():
    assert all(part.checks for part in CATALOGUE.parts.values())
    assert len(CATALOGUE.parts) == 17


def test_no_data_file_gives_a_torque():
    """Tightening torques come from the maker alone: no number with a unit of torque stands in the data.

    Possible ranges and gauge steps of the torque readings are the exception: they bound what can be typed.
    """
    number = re.compile(r"\d\s*N·?\s?m\b(?!m)")
    for path in DATA.rglob("*.toml"):
        for line in path.read_text(encoding="utf-8").splitlines():
            if number.search(line):
                assert line.startswith(("possible", "resolution")), (path.name, line)


def test_asking_twice_reads_the_files_once():
    assert load_catalogue().fields is load_catalogue().fields
    assert CATALOGUE.limits_for("generic-22.5", date(2026, 9, 14)) is CATALOGUE.limits_for(
        "generic-22.5", date(2026, 9, 14)
    )


def test_an_absolute_uncertainty_does_not_grow():
    spec = CATALOGUE.fields["pad_inner"]
    assert spec.standard_uncertainty(0.003) == spec.standard_uncertainty(0.021) == spec.u


def test_a_relative_uncertainty_grows_with_the_reading():
    """3 % expanded of 20 kN is 0.6 kN, standard 0.3 kN; beside it 0.03 kN of display step (hand sum)."""
    spec = CATALOGUE.fields["brake_force"]
    expected = (Fraction(300) ** 2 + Fraction(30) ** 2) ** 0.5
    assert spec.standard_uncertainty(20000.0) == pytest.approx(expected, rel=1e-12)
