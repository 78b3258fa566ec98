"""Parts of the diagnosis: circumstances, comparisons across the axle, states and their cost, roots."""

from dataclasses import replace

import numpy as np
import pytest
from test_joint import prepared
from threshold_form import read_case

from wearline.assessment.judge import judge_inspection_columns
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.load_causes import load_causes
from wearline.catalogue.loading import load_catalogue
from wearline.diagnosis.compare import pair_tables
from wearline.diagnosis.explain import explain
from wearline.diagnosis.gather import circumstances_of, multipliers_of
from wearline.diagnosis.network import VEHICLE_CAUSES, compile_network
from wearline.diagnosis.next_tests import access_minutes, states_reached
from wearline.diagnosis.roots import root_of


def names(case: str) -> set[str]:
    found = multipliers_of(read_case(case), load_causes().multipliers)
    return {one.id for axle in found.values() for one in axle}


def test_circumstances_make_causes_more_likely() -> None:
    """City bus x 1.5 for adjusters; trailers x 1.5 for guides and seats (expert judgement)."""
    assert names("A3") == {"city bus"}
    assert names("A4") == {"trailer"}
    assert "off road dirt" in names("A6")
    assert names("A1") == set()


def test_no_retarder_cannot_be_off() -> None:
    inspection = read_case("A10")
    bare = replace(inspection, vehicle=replace(inspection.vehicle, retarder="not fitted"))
    found = explain(bare, load_catalogue())
    assert "U2" not in [view.code for view in found.vehicle]
    assert found.vehicle[0].code == "U1"


def test_priors_stay_chances_whatever_the_circumstances() -> None:
    inspection = read_case("A6")
    worst = replace(
        inspection,
        odometer=1.2e9,
        distance_since_pads=5e6,
        vehicle=replace(inspection.vehicle, duty="off-road salt coast"),
    )
    judged, _ = judge_inspection_columns(worst, load_catalogue(), DecisionSettings())
    compiled = compile_network(load_causes())
    about = circumstances_of([worst], judged, compiled)
    prior = 1.0 / (1.0 + np.exp(-about.log_odds))
    assert np.all((prior > 0.0) & (prior <= 0.6))
    assert np.all(about.prior_vehicle <= 0.6)
    assert about.prior_vehicle[0, VEHICLE_CAUSES.index("U4")] == pytest.approx(0.04 * 3)


def test_a_lack_at_one_end_explains_more_work_at_the_other() -> None:
    """Hot left end, cold right end: 'right lacks' explains it better than 'left drags' or nothing at all."""
    _, compiled, observed, about = prepared("A3", load_causes())
    tables = pair_tables(observed, compiled, about.pairs)
    levels = list(compiled.compared["temperature"].node.levels)
    table = tables.tables["temperature"][1]
    cold, hot = levels.index(-0.6), levels.index(0.28)
    assert table[0, cold] > 2.0 * table[hot, 0]
    assert table[0, cold] > 5.0 * table[0, 0]


def test_comparisons_do_not_care_which_side_is_called_left() -> None:
    _, compiled, observed, about = prepared("A1", load_causes())
    there = pair_tables(observed, compiled, about.pairs)
    back = pair_tables(observed, compiled, about.pairs[:, ::-1])
    for id, table in there.tables.items():
        assert table == pytest.approx(back.tables[id].transpose(0, 2, 1))


def test_a_comparison_that_nobody_took_says_nothing() -> None:
    inspection = read_case("A1")
    ends = tuple(
        replace(end, readings={k: v for k, v in end.readings.items() if k[0] != "brake_force"})
        for end in inspection.wheel_ends
    )
    judged, _ = judge_inspection_columns(
        replace(inspection, wheel_ends=ends), load_catalogue(), DecisionSettings()
    )
    _, compiled, _, about = prepared("A1", load_causes())
    from wearline.diagnosis.gather import heard_in
    from wearline.diagnosis.observe import observe

    observed = observe(judged, compiled, heard_in([inspection]))
    assert np.all(pair_tables(observed, compiled, about.pairs).tables["force"] == 1.0)


def test_pads_out_need_the_wheel_off_first() -> None:
    """Middle of the ranges: wheel 8 to 18, pads 4 to 8 minutes, so 13 + 6."""
    states, checks = load_catalogue().states, load_catalogue().checks
    assert access_minutes(("P",), frozenset({"N", "O"}), states) == 19.0
    assert access_minutes(("P",), states_reached([checks["F2"]]), states) == 6.0
    assert access_minutes(("P",), states_reached([checks["F5"]]), states) == 0.0


def test_root_is_the_earliest_cause_still_present() -> None:
    network = load_causes()
    here = {"A4": (0.9, "1L"), "V4": (0.6, "1L"), "R3": (0.8, "1L")}
    root = root_of("R3", "1L", here, network, seen=())
    assert (root.code, root.follows) == ("V4", ("A4", "R3"))
    assert root.look_first == network.causes["V4"].test.text
    assert root_of("R3", "1L", {"R3": (0.8, "1L")}, network, seen=()).code == "R3"


def test_cause_of_the_vehicle_can_be_the_root_of_a_wheel_end() -> None:
    root = root_of("R3", "1L", {"R3": (0.8, "1L"), "U2": (0.97, "vehicle")}, load_causes(), seen=())
    assert (root.code, root.place, root.look_first) == ("U2", "vehicle", "")
