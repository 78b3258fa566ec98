"""Answers: evidence in words, next tests, what cannot be decided, readings that do not fit together."""

import json
from dataclasses import replace
from math import log2
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from click.testing import CliRunner
from threshold_form import CASES, read_case

import wearline.app
from wearline.catalogue.loading import load_catalogue
from wearline.cli.why import command
from wearline.diagnosis.explain import NOTHING_TAKEN, explain
from wearline.diagnosis.next_tests import information
from wearline.diagnosis.roots import causes_for_job
from wearline.errors import CatalogueError
from wearline.records.inspection import Inspection
from wearline.records.readings import Measured, Observed, Reading


def changed(case: str, place: str, readings: dict[tuple[str, str], Reading | None]) -> Inspection:
    """A case with some readings of one wheel end replaced, or left out where None stands."""
    inspection = read_case(case)
    ends = []
    for end in inspection.wheel_ends:
        if str(end.place) == place:
            kept = {key: value for key, value in end.readings.items() if key not in readings}
            end = replace(
                end, readings=kept | {key: value for key, value in readings.items() if value is not None}
            )
        ends.append(end)
    return replace(inspection, wheel_ends=tuple(ends))


def newtons(value: float) -> Measured:
    return Measured(value, f"{value} N", "N")


def metres(value: float) -> Measured:
    return Measured(value, f"{1e3 * value} mm", "mm")


def test_evidence_names_the_readings() -> None:
    best = explain(read_case("A1"), load_catalogue()).wheel_end("1R").causes[0]
    assert "inner pad 3.4 mm, outer 12.8 mm: inner thinner by 9.4 mm" in best.supports
    assert "slide: stuck" in best.supports
    assert "brake force 14.2 kN, 21.5 kN at the other end" in best.supports


def test_evidence_against_names_the_reading_that_does_not_fit() -> None:
    """A dead adjuster whose brake pulls as hard as its mate: the force speaks against it."""
    inspection = changed("A3", "2R", {("brake_force", ""): Measured(31.0e3, "31.0 kN", "kN")})
    best = explain(inspection, load_catalogue()).wheel_end("2R").causes[0]
    assert best.code == "A1"
    assert any("brake force 31.0 kN, 31.0 kN at the other end" in text for text in best.speaks_against)


def test_a_reading_just_across_a_threshold_changes_little() -> None:
    """Travel 2.02 or 2.05 mm against a threshold of 2.032: probabilities move by less than a twentieth."""
    found = []
    for travel in (2.02e-3, 2.05e-3):
        inspection = changed("A3", "2R", {("total_travel", ""): metres(travel), ("adjuster_test", ""): None})
        end = explain(inspection, load_catalogue()).wheel_end("2R")
        found.append({view.code: view.probability for view in end.causes})
    assert found[0]["A1"] == pytest.approx(found[1]["A1"], abs=0.05)


PADS = [(pad, corner) for pad in ("pad_inner", "pad_outer") for corner in ("LT", "LB", "TT", "TB")]


def test_evidence_of_the_slide_is_graded() -> None:
    """48 N is usual, 90 N a little suspicious, from 140 N on a fault is likely."""
    chances = []
    for pull in (48.0, 90.0, 140.0, 250.0):
        readings = dict.fromkeys(PADS) | {("slide", ""): newtons(pull)}
        end = explain(changed("A2", "1L", readings), load_catalogue()).wheel_end("1L")
        chances.append(1.0 - end.healthy)
    assert chances[0] < chances[1] < 0.5 < min(chances[2:])


def test_what_was_not_measured_is_left_out_not_good() -> None:
    """Without slide and pads nothing acquits the seized end, so something stays to be asked there."""
    keys = [
        ("slide", ""),
        *((pad, corner) for pad in ("pad_inner", "pad_outer") for corner in ("LT", "LB", "TT", "TB")),
    ]
    end = explain(changed("A1", "1R", dict.fromkeys(keys)), load_catalogue()).wheel_end("1R")
    assert end.healthy < 0.5
    assert {test.check for test in end.next_tests} & {"F5", "F11"}


def test_a_wheel_end_without_a_reading_has_only_the_usual_chances() -> None:
    """The torn boot's prior of 8 % stands unchanged, and the answer says that nothing was read."""
    inspection = read_case("A1")
    found = explain(replace(inspection, wheel_ends=inspection.wheel_ends[:1]), load_catalogue())
    end = found.wheel_end("2R")
    assert end.undecided == (NOTHING_TAKEN,)
    assert end.causes[0].code == "G7"
    assert end.causes[0].probability == pytest.approx(0.08, abs=0.01)


def test_readings_that_cannot_decide_say_so() -> None:
    """The seized end without slide and pads: torn boot, drag, heat and weak force leave several causes."""
    end = explain(changed("A1", "1R", dict.fromkeys([("slide", ""), *PADS])), load_catalogue()).wheel_end(
        "1R"
    )
    assert end.undecided
    assert "cannot decide between these" in end.undecided[0]
    assert "Most would be gained from" in end.undecided[0]


@pytest.mark.parametrize(
    ("case", "place", "key", "reading", "said"),
    [
        ("A1", "1L", ("slide", ""), Observed("stuck", "stuck"), "slide: stuck"),
        ("A3", "2R", ("total_travel", ""), metres(0.2e-3), "total travel 0.20 mm"),
    ],
)
def test_contradiction_names_the_reading_to_repeat(
    case: str, place: str, key: tuple[str, str], reading: Reading, said: str
) -> None:
    """A stuck calliper with even pads, no drag and full force; a dead adjuster with hardly any travel."""
    found = explain(changed(case, place, {key: reading}), load_catalogue())
    misfit = found.wheel_end(place).misfit
    assert misfit is not None
    assert "do not fit together" in misfit.text
    assert said in misfit.repeat
    assert "readings_do_not_fit" in [notice.code for notice in found.warnings]


@pytest.mark.parametrize("case", ["A1", "A2", "A3", "A4", "A6", "A10", "B2", "B5"])
def test_readings_that_fit_are_not_called_a_contradiction(case: str) -> None:
    found = explain(read_case(case), load_catalogue())
    assert not found.warnings


def test_wheel_that_is_off_gets_its_checks_before_anything_behind_an_access() -> None:
    end = explain(
        changed("A1", "1R", {("slide", ""): None, ("guide_pin_boot", ""): None}), load_catalogue()
    ).wheel_end("1R")
    assert end.next_tests[0].cluster == ""
    assert end.next_tests[0].rate == max(test.rate for test in end.next_tests)


def test_wheels_on_readings_alone_point_to_taking_the_wheel_off() -> None:
    """Only temperature, force and drag were taken: what helps stands behind the wheel, and that is said."""
    inspection = read_case("A1")
    kept = {"temperature", "brake_force", "brake_drag", "wear_indicator"}
    ends = tuple(
        replace(end, readings={key: value for key, value in end.readings.items() if key[0] in kept})
        for end in inspection.wheel_ends
    )
    end = explain(replace(inspection, wheel_ends=ends), load_catalogue()).wheel_end("1R")
    behind = [test for test in end.next_tests if "W" in test.cluster]
    assert behind
    assert all(test.access >= 13.0 for test in behind)


def test_information_of_weighings() -> None:
    """Twelve balls, one odd, k against k on the scales (MacKay, ITILA 4.1; figures from memory)."""
    mass = np.full(24, 1 / 24)
    ball, heavy = np.repeat(np.arange(12), 2), np.tile([True, False], 12)
    published = [0.8167, 1.2516, 1.5, 1.5850, 1.4834, 1.0]
    for k, bits in enumerate(published, start=1):
        left, right = ball < k, (ball >= k) & (ball < 2 * k)
        left_sinks, right_sinks = (left & heavy) | (right & ~heavy), (left & ~heavy) | (right & heavy)
        assert information(mass, np.array([left_sinks, right_sinks], dtype=float)) == pytest.approx(
            bits, abs=5e-5
        )


def test_information_of_a_useless_test_is_nothing_and_of_a_sure_one_all() -> None:
    mass = np.array([0.25, 0.75])
    assert information(mass, np.array([[0.3, 0.3]])) == pytest.approx(0.0, abs=1e-12)
    assert information(mass, np.array([[1.0, 0.0]])) == pytest.approx(-0.25 * log2(0.25) - 0.75 * log2(0.75))


def test_job_gets_root_repair_and_confirming_test() -> None:
    causes = causes_for_job(explain(read_case("A3"), load_catalogue()))
    dead = next(cause for cause in causes if cause.code == "A1")
    assert (dead.place, dead.root_code, dead.root_place) == ("2R", "V4", "2R")
    assert dead.confirm == "adjuster does not advance"
    assert dead.repair == "calliper exchange"
    assert [cause.code for cause in causes_for_job(explain(read_case("A6"), load_catalogue()))][:1] == ["U4"]


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(command, [*words, "--today", "2026-11-01"])
    return result.exit_code, result.output


@pytest.mark.parametrize("case", ["A1", "A3", "A6", "A10", "B5"])
def test_json_answer_keeps_to_its_schema(case: str) -> None:
    code, output = run(str(CASES / f"{case}.toml"), "--json")
    answer = json.loads(output)
    schema = Path(wearline.app.__file__).parent / "schemas" / "why.json"
    jsonschema.validate(answer, json.loads(schema.read_text(encoding="utf-8")))
    assert code == 1
    assert answer["schema"] == "wearline.why/1"
    for end in answer["wheel_ends"]:
        chances = [cause["probability"] for cause in end["causes"]]
        assert chances == sorted(chances, reverse=True)
        assert all(0.0 <= chance <= 1.0 for chance in chances)
        assert {"code", "name", "probability", "for", "against"} <= set().union(*map(set, end["causes"]))


def test_lines_say_root_and_caution() -> None:
    code, output = run(str(CASES / "A3.toml"))
    assert code == 1
    assert "root: V4 water in the calliper (2R); from it A1" in output
    assert "qualified person decide" in output


def test_counts_of_the_fleet_are_used(tmp_path: Path) -> None:
    path = tmp_path / "counts.csv"
    path.write_text("cause,symptom,present,cases\nG9,prior,900,1000\n", encoding="utf-8")
    plain = json.loads(run(str(CASES / "A2.toml"), "--json")[1])
    counted = json.loads(run(str(CASES / "A2.toml"), "--json", "--counts", str(path))[1])

    def loose(answer: dict[str, list[dict[str, list[dict[str, float]]]]]) -> float:
        end = next(one for one in answer["wheel_ends"] if one["at"] == "1L")
        return sum(cause["probability"] for cause in end["causes"] if cause["code"] == "G9")

    assert loose(counted) > loose(plain)


def test_bad_counts_are_refused() -> None:
    with pytest.raises(CatalogueError, match="cannot be read"):
        CliRunner().invoke(command, [str(CASES / "A2.toml"), "--counts", "none.csv"], catch_exceptions=False)
