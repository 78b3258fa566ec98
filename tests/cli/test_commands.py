"""Commands as a technician runs them: answers, exit codes, and wrong input of every kind."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from pypdf import PdfReader

from wearline.cli.main import run

ROOT = Path(__file__).parents[2]
CASES = ROOT / "tests" / "cases"
A1 = CASES / "A1.toml"
ON = ["--today", "2026-11-25"]


def schema(name: str) -> dict[str, Any]:
    path = ROOT / "src" / "wearline" / "app" / "schemas" / f"{name}.json"
    return json.loads(path.read_text(encoding="utf-8"))


def answer(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, Any]:
    code = run([str(word) for word in words])
    return code, json.loads(capsys.readouterr().out)


def refused(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[str, dict[str, str]]:
    """Run a command that must refuse; return the message and the parts of the JSON answer."""
    code = run([str(word) for word in words] + ["--json"])
    said = capsys.readouterr()
    assert code == 2
    parts = json.loads(said.out)
    jsonschema.validate(parts, schema("error"))
    assert said.err.count("\n") == 1, "one clear line"
    assert "Traceback" not in said.err
    return said.err, parts["error"]


@pytest.mark.parametrize("command", ["judge", "job", "road"])
def test_answers_of_a_case_follow_their_schema(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, found = answer(capsys, command, A1, *ON, "--json")
    assert code == 1
    name = {"judge": "judgement"}.get(command, command)
    jsonschema.validate(found, schema(name))
    assert found["schema"] == f"wearline.{name}/1"


def test_a_sound_vehicle_exits_with_0(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """0: done and nothing beyond a limit."""
    text = A1.read_text(encoding="utf-8")
    sound, first = text.split("[[wheel_end]]")[0], text.split("[[wheel_end]]")[3]
    assert 'at = "2L"' in first
    lines = [line for line in first.splitlines() if not line.startswith("wear_indicator")]
    body = "\n".join(lines)
    ends = [body.replace('at = "2L"', f'at = "{place}"') for place in ("1L", "1R", "2L", "2R")]
    file = tmp_path / "sound.toml"
    file.write_text(sound + "".join(f"\n[[wheel_end]]\n{end}" for end in ends), encoding="utf-8")
    code, found = answer(capsys, "judge", file, *ON, "--json")
    beyond = [
        r for end in found["wheel_ends"] for r in end["readings"] if r["verdict"] in ("beyond", "undecided")
    ]
    assert not beyond
    assert code == 0


def test_standard_input(capsys: pytest.CaptureFixture[str]) -> None:
    words = [sys.executable, "-m", "wearline", "judge", "-", *ON, "--json"]
    done = subprocess.run(words, input=A1.read_bytes(), capture_output=True, cwd=ROOT, check=False)
    assert done.returncode == 1
    assert json.loads(done.stdout)["vehicle"]["id"] == "A1"


def test_human_answers_name_what_matters(capsys: pytest.CaptureFixture[str]) -> None:
    run(["road", str(A1), *ON])
    said = capsys.readouterr().out
    assert "Level 3" in said
    assert "four answers, each for itself" in said
    assert "Local codes, the maker's instructions and a qualified person decide" in said
    run(["job", str(A1), *ON])
    said = capsys.readouterr().out
    assert "S5 1R" in said
    assert "Uncage" in said or "uncage" in said


def test_papers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pdf, page, sheet = tmp_path / "a.pdf", tmp_path / "a.html", tmp_path / "work.pdf"
    assert run(["report", str(A1), "--out", str(pdf), "--page", str(page), *ON]) == 0
    assert run(["job", str(A1), "--work-sheet", str(sheet), *ON]) == 1
    capsys.readouterr()
    text = "\n".join(p.extract_text() for p in PdfReader(pdf).pages)
    for place in ("1L", "1R", "2L", "2R"):
        assert place in text
    assert "http://" not in page.read_text(encoding="utf-8").replace("http://www.w3.org", "")
    assert "as left" in "\n".join(p.extract_text() for p in PdfReader(sheet).pages).lower()


@pytest.mark.parametrize("form", ["toml", "csv", "xlsx", "pdf"])
def test_a_blank_sheet_for_a_new_vehicle(
    form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / f"sheet.{form}"
    assert run(["sheet", "Box 7", "--axles", "steer,drive", "--out", str(out), *ON]) == 0
    assert out.stat().st_size > 500
    code = run(["sheet", "Box 7", "--axles", "steer,drive", "--out", str(out), *ON])
    assert code == 2
    assert "exist" in capsys.readouterr().err


def test_keep_history_and_correction(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    base = tmp_path / "w.db"
    code, kept = answer(capsys, "keep", A1, "--database", base, "--by", "N", *ON, "--json")
    assert code == 0
    jsonschema.validate(kept, schema("kept"))
    _, again = answer(capsys, "keep", A1, "--database", base, "--by", "N", *ON, "--json")
    assert again["already_kept"]
    corrected = tmp_path / "A1b.toml"
    corrected.write_text(A1.read_text().replace('"13.2 mm"', '"13.3 mm"'), encoding="utf-8")
    words = ["keep", corrected, "--database", base, "--by", "N", *ON, "--corrects", kept["id"]]
    answer(capsys, *words, "--because", "misread", "--json")
    _, now = answer(capsys, "history", "A1", "--database", base, "--json")
    jsonschema.validate(now, schema("history"))
    assert len(now["inspections"]) == 1
    _, everything = answer(capsys, "history", "A1", "--database", base, "--all", "--json")
    assert len(everything["inspections"]) == 2, "a correction stands beside what it corrects"


def test_a_makers_file_takes_effect(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    limits = tmp_path / "maker.toml"
    limits.write_text(
        'document = "Invented service sheet 4"\ndate = 2026-01-05\npart_number = "X-000-INVENTED"\n'
        'designs = ["generic-22.5"]\nvalid_from = 2026-02-01\n\n'
        '[[limit]]\nid = "pad_service"\npublished = "3.5 mm"\nlocator = "page 3"\n',
        encoding="utf-8",
    )
    code, said = answer(capsys, "catalogue", "check", limits, "--json")
    assert code == 0, said
    jsonschema.validate(said, schema("maker-file"))
    _, found = answer(capsys, "judge", A1, "--limits", limits, *ON, "--json")
    thin = next(r for r in found["wheel_ends"][1]["readings"] if r["check"] == "pad_thinnest")
    assert (thin["limit"]["value"], thin["limit"]["authority"]) == (3.5, "maker")
    assert thin["verdict"] == "beyond", "3.2 mm against 3.5 mm"


def test_a_makers_file_without_part_number_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    limits = tmp_path / "maker.toml"
    limits.write_text('document = "X"\ndate = 2026-01-05\ndesigns = ["generic-22.5"]\n', encoding="utf-8")
    message, parts = refused(capsys, "catalogue", "check", limits)
    assert "part_number" in message
    assert parts["kind"] == "catalogue"


@pytest.mark.parametrize("section", ["limits", "checks", "fields", "designs", "rules", "sources"])
def test_the_catalogue_shows_its_sources(section: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, found = answer(capsys, "catalogue", "show", section, *ON, "--json")
    assert code == 0
    jsonschema.validate(found, schema("catalogue"))
    assert len(found["entries"]) >= 3
    if section == "limits":
        by_id = {entry["id"]: entry for entry in found["entries"]}
        assert by_id["play_t"]["value"] == "at most 0.118 in (3 mm)"
        assert by_id["play_t"]["status"] == "common practice"


def changed(tmp_path: Path, old: str, new: str, name: str = "x.toml") -> Path:
    text = A1.read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / name
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("total_travel", "totel_travel", "total_travel"),
        ('at = "1R"', 'at = "7R"', "7R"),
        ('"1.40 mm"', '"1.40 mn"', "mn"),
        ('"1.40 mm"', '"62 mm"', "thou"),
        ('"9.8 mm", "9.7 mm", "9.5 mm", "9.3 mm"', '"9.8 mm", "9.7 mm", "9.5 mm"', "3"),
        ('"9.8 mm", "9.7 mm"', '"29.8 mm", "9.7 mm"', "29.8"),
        ('"1.40 mm"', '"1,40 mm"', "decimal"),
        ('at = "1R"', 'at = "1L"', "1L"),
        ("2026-09-14", "2027-09-14", "future"),
        ('rule_pack = "none"', 'rule_pack = "nome"', "none"),
        ('design = "generic-22.5"', 'design = "generic-22"', "generic-22.5"),
        ('"1.40 mm"', "1.40", "unit"),
    ],
)
def test_bad_readings(
    old: str, new: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    message, parts = refused(capsys, "judge", changed(tmp_path, old, new), *ON)
    assert says in message
    assert parts["where"]
    assert parts["cure"]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"\x00\x01\x02\x03" * 400, ""),
        (A1.read_bytes()[: len(A1.read_bytes()) // 2] + b'"', ""),
        ("[vehicle]\nid = 'Ä'\n".encode("latin-1"), "UTF-8"),
    ],
    ids=["empty", "binary", "half-written", "non-utf-8"],
)
def test_bad_files(content: bytes, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    message, parts = refused(capsys, "judge", path, *ON)
    assert says in message
    assert "bad.toml" in parts["where"]


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "huge.toml"
    with path.open("wb") as file:
        file.truncate(100 * 1024 * 1024)
    message, _ = refused(capsys, "judge", path, *ON)
    assert "MB" in message or "MiB" in message or "large" in message


def test_missing_files_and_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    refused(capsys, "judge", tmp_path / "none.toml", *ON)
    refused(capsys, "judge", tmp_path, *ON)
    refused(capsys, "judge")
    refused(capsys, "jugde", A1)
    refused(capsys, "judge", A1, "--decide", "maybe")
    refused(capsys, "judge", A1, "--today", "14.9.2026")
    refused(capsys, "judge", A1, *ON, "--rule-pack", "us")
    refused(capsys, "judge", A1, *ON, "--inches", "9L")
    refused(capsys, "history", "--database", tmp_path / "none.db")
    refused(capsys, "sheet", "nobody", "--out", tmp_path / "a.xlsx", "--database", tmp_path / "none.db")
    refused(capsys, "sheet", "Box", "--axles", "steer,driven", "--out", tmp_path / "a.xlsx")
    refused(capsys, "sheet", "Box", "--axles", "steer", "--out", tmp_path / "a.docx")
    refused(capsys, "report", A1, *ON, "--out", tmp_path / "no" / "such" / "a.pdf")


def test_an_odometer_that_runs_back_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    base = tmp_path / "w.db"
    first = changed(tmp_path, "km_since_pads", "odometer_km = 412300\nkm_since_pads", "first.toml")
    assert run(["keep", str(first), "--database", str(base), "--by", "N", *ON]) == 0
    capsys.readouterr()
    text = first.read_text().replace("412300", "402300").replace("2026-09-14", "2026-10-14")
    later = tmp_path / "later.toml"
    later.write_text(text, encoding="utf-8")
    message, _ = refused(capsys, "keep", later, "--database", base, "--by", "N", *ON)
    assert "402" in message
    assert "412" in message
    _, kept = answer(capsys, "history", "--database", base, "--json")
    assert len(kept["inspections"]) == 1, "nothing half-kept"


def test_a_database_that_is_none_or_damaged(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wrong = tmp_path / "text.db"
    wrong.write_text("not a database, only a text of some length\n" * 60, encoding="utf-8")
    before = wrong.read_bytes()
    refused(capsys, "keep", A1, "--database", wrong, "--by", "N", *ON)
    assert wrong.read_bytes() == before
    base = tmp_path / "w.db"
    run(["keep", str(A1), "--database", str(base), "--by", "N", *ON])
    capsys.readouterr()
    broken = bytearray(base.read_bytes())
    broken[4096:12288] = b"\xff" * 8192
    base.write_bytes(bytes(broken))
    refused(capsys, "history", "--database", base)


def test_a_locked_database_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import sqlite3

    base = tmp_path / "w.db"
    run(["keep", str(A1), "--database", str(base), "--by", "N", *ON])
    capsys.readouterr()
    holder = sqlite3.connect(base, isolation_level=None)
    try:
        holder.execute("BEGIN IMMEDIATE")
        message, _ = refused(capsys, "keep", CASES / "A2.toml", "--database", base, "--by", "N", *ON)
    finally:
        holder.execute("ROLLBACK")
        holder.close()
    assert "lock" in message.lower() or "busy" in message.lower()


def test_help_is_there_for_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["--help"], ["judge", "--help"], ["catalogue", "check", "--help"], ["tour", "-h"]):
        assert run(words) == 0
        assert "Usage" in capsys.readouterr().out


def test_help_loads_nothing_heavy() -> None:
    """What ``--help`` imports is what a person waits for."""
    script = (
        "import sys\nfrom wearline.cli.main import run\nrun(['--help'])\n"
        "heavy = {'numpy','scipy','polars','sqlalchemy','typst','altair','rich','pydantic','fastapi'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"


def test_the_tour_leaves_its_papers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, found = answer(capsys, "tour", "--into", tmp_path / "tour", *ON, "--json")
    assert code == 0
    jsonschema.validate(found, schema("tour"))
    assert len(found["vehicles"]) >= 12
    assert all(vehicle["inspections"] >= 2 for vehicle in found["vehicles"])
    assert "invented" in found["scenario"].lower()
    for name in ("report.pdf", "fleet.html", "fleet.db"):
        assert (tmp_path / "tour" / name).stat().st_size > 10_000
    _, kept = answer(capsys, "history", "--database", tmp_path / "tour" / "fleet.db", "--json")
    # beside the fleet of the tour the database holds twelve sister buses with eight looks each
    sisters = [each for each in kept["inspections"] if each["vehicle"].startswith("Town")]
    own = sum(vehicle["inspections"] for vehicle in found["vehicles"])
    assert (len(sisters), len(kept["inspections"])) == (96, own + 96)
