"""Answers keep their published shape, and the shipped JSON Schemas say it."""

from __future__ import annotations

import importlib.util
import json
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from wearline.app.answers import job_answer, judgement_answer, road_answer
from wearline.app.error_answer import error_answer
from wearline.app.judging import Request, decide_release, judge_inspection, plan_job
from wearline.errors import ReadingError

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "tests" / "cases").glob("*.toml"))
TODAY = date(2026, 11, 25)


def tool() -> Any:
    spec = importlib.util.spec_from_file_location("make_schemas", ROOT / "tools" / "make_schemas.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def schema(name: str) -> dict[str, Any]:
    path = ROOT / "src" / "wearline" / "app" / "schemas" / f"{name}.json"
    return json.loads(path.read_text(encoding="utf-8"))


def test_shipped_schemas_are_those_of_the_shapes() -> None:
    made = tool()
    for name, (key, shape) in made.SCHEMAS.items():
        shipped = (made.FOLDER / f"{name}.json").read_text(encoding="utf-8")
        assert shipped == made.text_of(key, shape), f"{name}: run tools/make_schemas.py"


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_answers_follow_their_schema(path: Path) -> None:
    request = Request(path=path, today=TODAY)
    _, judgement = judge_inspection(request)
    answer = judgement_answer(judgement)
    jsonschema.validate(json.loads(json.dumps(answer, allow_nan=False)), schema("judgement"))
    _, _, plan = plan_job(request)
    jsonschema.validate(json.loads(json.dumps(job_answer(plan), allow_nan=False)), schema("job"))
    _, _, road = decide_release(request)
    found = road_answer(road, judgement.vehicle_id, ("a caution",))
    jsonschema.validate(json.loads(json.dumps(found, allow_nan=False)), schema("road"))


def test_keys_that_other_programs_rely_on() -> None:
    """The keys of the published answer, by name."""
    _, judgement = judge_inspection(Request(path=ROOT / "tests" / "cases" / "A2.toml", today=TODAY))
    answer = judgement_answer(judgement)
    assert set(answer) >= {"schema", "vehicle", "axles", "wheel_ends", "warnings"}
    assert answer["vehicle"]["id"] == "A2"
    assert set(answer["axles"][0]) >= {"axle", "wheels", "reasons"}
    end = answer["wheel_ends"][2]
    assert set(end) >= {"at", "readings", "derived", "not_taken"}
    assert set(end["readings"][0]) >= {
        "check",
        "spot",
        "value",
        "unit",
        "u",
        "limit",
        "verdict",
        "p_within",
        "margin",
    }
    limited = next(reading for reading in end["readings"] if reading["limit"])
    assert set(limited["limit"]) >= {"id", "value", "unit", "sense", "authority", "source", "status"}
    assert set(end["derived"]) >= {
        "mean_inner_mm",
        "mean_outer_mm",
        "thinnest_mm",
        "mean_difference_mm",
        "taper_end_to_end_inner_mm",
        "taper_end_to_end_outer_mm",
        "taper_end_to_end_antisymmetric_mm",
        "taper_end_to_end_symmetric_mm",
        "taper_top_to_bottom_antisymmetric_mm",
        "taper_explained_by_play_mm",
        "taper_excess_mm",
        "taper_excess_u_mm",
        "indicator_implied_percent",
        "indicator_difference_percent",
    }
    checks = {reading["check"] for reading in end["readings"]}
    assert checks >= {"pad_inner", "pad_thinnest", "taper_end_to_end", "taper_top_to_bottom", "imbalance"}
    assert {r["spot"] for r in end["readings"] if r["check"] == "pad_inner"} == {"LT", "LB", "TT", "TB"}


def test_an_error_has_five_parts() -> None:
    error = ReadingError("what", where="where", allowed="allowed", cure="cure")
    answer = error_answer(error)
    jsonschema.validate(answer, schema("error"))
    assert answer["error"] == {
        "kind": "reading",
        "where": "where",
        "what": "what",
        "allowed": "allowed",
        "cure": "cure",
    }
