"""Commands ``descent``, ``curves``, ``heat``, and braking in ``road``: answers, schemas, exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from wearline.cli.main import run

ROOT = Path(__file__).parents[2]
CASES = ROOT / "tests" / "cases"
DESCENT = ["descent", "--mass", "40 t", "--slope", "6 %", "--length", "5 km", "--brakes", "10"]


def schema(name: str):
    path = ROOT / "src" / "wearline" / "app" / "schemas" / f"{name}.json"
    return json.loads(path.read_text(encoding="utf-8"))


def answer_of(words, capsys, name, code=0):
    assert run([*words, "--json"]) == code
    answer = json.loads(capsys.readouterr().out)
    jsonschema.validate(answer, schema(name))
    return answer


@pytest.fixture
def curves(tmp_path):
    lines = ["at,time_s,pressure_bar,force_kN"]
    for side, weak in (("1L", 1.0), ("1R", 0.6)):
        for i in range(60):
            pressure = min(0.1 * i, 5.0)
            lines.append(f"{side},{0.1 * i:.1f},{pressure:.2f},{0.3 + weak * 5 * max(pressure - 0.3, 0):.3f}")
    path = tmp_path / "curves.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


@pytest.fixture
def drive(tmp_path):
    path = tmp_path / "drive.csv"
    lines = ["time_s,speed_kmh,slope_percent"]
    lines += [f"{10 * i},{80 if i % 2 == 0 else 20},0" for i in range(40)]
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def test_descent_answer(capsys):
    answer = answer_of([*DESCENT, "--retarder", "150 kW"], capsys, "descent")
    assert answer["holds"]
    assert 0 < answer["safe_speed_kmh"] < answer["safe_speed_likely_kmh"]
    curve = answer["at_speed"]["curve"]
    assert curve[0]["likely_degC"] == pytest.approx(40.0)
    assert curve[-1]["distance_m"] == 5000
    unverified = [figure for figure in answer["figures"] if figure["status"] == "unverified"]
    assert unverified
    assert not any(figure["decides"] for figure in unverified)


def test_descent_exit_codes_and_cautions(capsys, tmp_path):
    assert run(DESCENT) == 1
    said = capsys.readouterr().out
    assert "Do not drive this slope" in said
    assert said.count("Caution:") == 4
    assert "Unverified, decides nothing: 500 degF" in said
    assert run([*DESCENT, "--retarder", "150 kW", "--speed", "60 km/h"]) == 1
    picture = tmp_path / "descent.png"
    assert run([*DESCENT, "--retarder", "330 kW", "--plot", str(picture)]) == 0
    assert picture.read_bytes().startswith(b"\x89PNG")
    capsys.readouterr()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (["--slope", "45 %"], "slope"),
        (["--slope", "-6 %"], "does not go down"),
        (["--mass", "40"], "--mass"),
        (["--mass", "-4 t"], "mass"),
        (["--mass", "5000 t"], "mass"),
        (["--retarder", "150"], "'150' is not a power"),
        (["--retarder", "150 hp"], "'150 hp' is not a power"),
        (["--length", "5"], "--length"),
        (["--brakes", "0"], "brakes"),
        (["--design", "no-such"], "no-such"),
        (["--plot", "x.gif"], "'x.gif' does not say what kind of picture"),
    ],
)
def test_bad_descents_are_refused_with_the_cure(change, words, capsys):
    assert run([*DESCENT, *change]) == 2
    assert words in capsys.readouterr().err


def test_curves_answer(curves, capsys, tmp_path):
    answer = answer_of(["curves", str(curves), "--mass", "10 t"], capsys, "curves", code=1)
    left, right = answer["wheels"]
    assert left["slope_kN_per_bar"] == pytest.approx(5.0, rel=1e-3)
    assert right["slope_kN_per_bar"] == pytest.approx(3.0, rel=1e-3)
    assert left["threshold_bar"] == pytest.approx(0.3, abs=0.02)
    assert [b["pressure_bar"] for b in answer["axles"][0]["imbalance"]] == [2.0, 4.0, 5.0]
    assert answer["axles"][0]["imbalance"][1]["imbalance_percent"] == pytest.approx(39.4, abs=0.3)
    assert answer["efficiency_full_percent"] == pytest.approx(
        100 * (0.6 + 8.0 * 6.2) / (10 * 9.80665), rel=0.01
    )
    assert any("P5" in sign["causes"] for sign in answer["axles"][0]["signs"])
    picture = tmp_path / "curves.pdf"
    assert run(["curves", str(curves), "--plot", str(picture)]) == 1
    assert "less force" in capsys.readouterr().out
    assert picture.read_bytes().startswith(b"%PDF")


def test_bad_curves_are_refused_with_the_cure(tmp_path, capsys, curves):
    psi = tmp_path / "psi.csv"
    psi.write_text(
        "at,pressure_bar,force_kN\n" + "".join(f"1L,{20 * i},{8 * i}\n" for i in range(5)), encoding="utf-8"
    )
    assert run(["curves", str(psi)]) == 2
    assert "name the column pressure_psi" in capsys.readouterr().err
    assert run(["curves", str(curves), "--full-pressure", "8"]) == 2
    assert "--full-pressure" in capsys.readouterr().err


def test_heat_answer(drive, capsys, tmp_path):
    words = ["heat", str(drive), "--mass", "18 t", "--brakes", "4"]
    answer = answer_of(words, capsys, "heat", code=1)
    assert answer["peak_degC"] > answer["mean_at_end_degC"] > 20.0
    assert answer["energy_MJ"] > 1.0
    pictures = tmp_path / "time.svg", tmp_path / "through.svg"
    assert run([*words, "--plot", str(pictures[0]), "--plot-profile", str(pictures[1])]) == 1
    assert "Friction face up to" in capsys.readouterr().out
    assert all("<svg" in picture.read_text(encoding="utf-8") for picture in pictures)
    assert run([*words[:-1], "0"]) == 2
    assert "0 brakes are not possible" in capsys.readouterr().err


def test_road_says_what_is_left_and_draws_the_stop(capsys, tmp_path):
    answer = answer_of(["road", str(CASES / "A3.toml"), "--today", "2026-11-25"], capsys, "road", code=1)
    left = answer["capability"]
    assert left["left_percent"] == pytest.approx(100 * 89.0 / 101.6, abs=0.01)
    assert left["left_low_percent"] < left["left_percent"] < left["left_high_percent"]
    assert left["stop"]["now"]["likely_m"] > left["stop"]["intact"]["likely_m"]
    assert left["mass_allowed"]["cautious"] < left["mass_allowed"]["likely"]
    assert left["slope_allowed"]["unit"] == "%"
    assert all(not figure["decides"] for figure in left["figures"])
    picture = tmp_path / "stop.svg"
    assert run(["road", str(CASES / "A3.toml"), "--plot", str(picture)]) == 1
    assert "88 % is left" in capsys.readouterr().out
    assert "stopping distance" in picture.read_text(encoding="utf-8")


def test_no_stop_no_picture(capsys, tmp_path):
    text = (CASES / "A3.toml").read_text(encoding="utf-8").replace("test_mass_kg = 17800\n", "")
    path = tmp_path / "bare.toml"
    path.write_text(text, encoding="utf-8")
    assert run(["road", str(path), "--plot", str(tmp_path / "stop.svg")]) == 2
    assert "no stopping distance is known" in capsys.readouterr().err


def test_quantities_without_quotation_marks(capsys):
    quoted = [*DESCENT, "--retarder", "150 kW"]
    bare = " ".join(quoted).split()
    assert run(quoted) == run(bare) == 0
    said = capsys.readouterr().out
    assert said[: len(said) // 2] == said[len(said) // 2 :]
    assert run([*bare, "t"]) == 2  # a unit that belongs to nothing
    assert "unexpected extra argument" in capsys.readouterr().err
