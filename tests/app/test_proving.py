"""``wearline proof``: answer, schema, open gates, exit codes, refusals."""

from __future__ import annotations

import json
import sys
from datetime import date
from pathlib import Path

import jsonschema
import pytest

from wearline.app.judging import Request
from wearline.app.proving import all_restored, proof_answer, prove_repair
from wearline.cli.main import run
from wearline.errors import InputError

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "assessment"))
from proof_pairs import as_left  # noqa: E402

CASES = ROOT / "tests" / "cases"
TODAY = date(2026, 11, 25)
RAW, BEDDED = {"2L": 22.4, "2R": 21.9}, {"2L": 30.6, "2R": 30.1}


def schema(name: str):
    path = ROOT / "src" / "wearline" / "app" / "schemas" / f"{name}.json"
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.fixture
def after(tmp_path):
    def write(forces, **options):
        path = tmp_path / "after.toml"
        path.write_text(as_left(forces, **options), encoding="utf-8")
        return path

    return write


def proven(path, **options):
    return prove_repair(
        Request(path=CASES / "A3.toml", today=TODAY), Request(path=path, today=TODAY), **options
    )


def test_keys_that_other_programs_rely_on(after):
    answer = proof_answer(proven(after(RAW)))
    jsonschema.validate(json.loads(json.dumps(answer, allow_nan=False)), schema("proof"))
    assert answer["schema"] == "wearline.proof/1"
    assert set(answer) >= {"schema", "wheel_ends", "axles", "open_gates"}
    assert set(answer["wheel_ends"][0]) >= {"at", "restored", "evidence"}
    axle = answer["axles"][1]
    assert set(axle) >= {"axle", "imbalance_before", "imbalance_after"}
    assert pytest.approx(39.03, abs=0.01) == axle["imbalance_before"]
    assert pytest.approx(2.23, abs=0.01) == axle["imbalance_after"]
    assert answer["cautions"]


def test_gates_close_by_readings_and_never_by_this_program(after):
    """Travel and adjuster are shown at both ends; lamps, hoses, torque and the signature are not."""
    gates = {gate["gate"]: gate for gate in proof_answer(proven(after(BEDDED)))["open_gates"]}
    assert "11" not in gates
    assert "S5.4" not in gates
    assert "17" not in gates
    assert gates["10"]["because"] == "2L: free turning not taken; 2R: free turning not taken"
    assert gates["18"]["kind"] == "signature"
    assert "lamps not looked at" in gates["16"]["because"] or "more" in gates["16"]["because"]
    raw = {gate["gate"]: gate for gate in proof_answer(proven(after(RAW)))["open_gates"]}
    assert raw["17"]["because"] == "2L: not shown; 2R: not shown"


def test_a_gate_whose_reading_fails_stays_open(after):
    path = after(BEDDED, changes={"2R": {"stem_cap": '"missing"', "free_turning": '"turns evenly"'}})
    gates = {(gate["gate"], gate["at"]): gate for gate in proof_answer(proven(path))["open_gates"]}
    assert "2R" in gates["stem cap", "2R"]["because"]
    assert "missing" in gates["stem cap", "2R"]["because"]
    assert gates["10", "2"]["because"] == "2L: free turning not taken"


def test_exit_codes_and_words(after, capsys):
    words = ["proof", str(CASES / "A3.toml"), "AFTER", "--today", "2026-11-25"]
    words[2] = str(after(RAW))
    assert run(words) == 1
    said = capsys.readouterr().out
    assert "not shown yet: bed and repeat" in said
    assert "releases no vehicle" in said
    words[2] = str(after(BEDDED))
    assert run(words) == 0
    assert "2R  restored" in capsys.readouterr().out
    assert run([*words, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["wheel_ends"][3]["restored"] == "restored"
    assert all_restored(proven(after(BEDDED)))


def test_bedded_by_option(after, capsys):
    assert run(["proof", str(CASES / "A3.toml"), str(after(RAW)), "--bedded", "--json"]) == 1
    ends = {end["at"]: end for end in json.loads(capsys.readouterr().out)["wheel_ends"]}
    assert ends["2L"]["restored"] == "worse"


def test_other_vehicle_and_order_are_refused(after, capsys):
    assert run(["proof", str(CASES / "A1.toml"), str(after(RAW)), "--json"]) == 2
    printed = capsys.readouterr()
    answer = json.loads(printed.out)
    jsonschema.validate(answer, schema("error"))
    assert "'A1'" in answer["error"]["what"]
    assert "'A3'" in printed.err
    assert run(["proof", str(after(RAW)), str(CASES / "A3.toml")]) == 2
    assert "before the one as found" in capsys.readouterr().err
    with pytest.raises(InputError, match="standard input"):
        prove_repair(Request(path="-", today=TODAY), Request(path="-", today=TODAY))


def test_picture_of_the_forces(after, tmp_path, capsys):
    picture = tmp_path / "forces.svg"
    assert run(["proof", str(CASES / "A3.toml"), str(after(RAW)), "--plot", str(picture)]) == 1
    drawn = picture.read_text(encoding="utf-8")
    assert "not shown, raw pads" in drawn
    capsys.readouterr()
