"""Drills at the terminal and on disk: broken off, resumed, dropped, scored once; papers for a class.

Outside checks: the answers follow their JSON Schemas (jsonschema); papers are read back with pypdf; plots are
parsed as XML.
"""

import json
import os
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
from datetime import UTC, datetime
from pathlib import Path

import jsonschema
import pytest
from pypdf import PdfReader

from wearline.app import drill_routes
from wearline.app.drill_answers import drill_answer, progress_answer, progress_lines, score_lines
from wearline.app.drill_book import DrillBook, open_drills
from wearline.app.drill_opening import case_digest, case_of
from wearline.app.drilling import (
    DrillRequest,
    drop_drill,
    finished_drill,
    read_commands,
    resume_drill,
    run_drill,
)
from wearline.cli.main import run
from wearline.errors import InputError, StorageError
from wearline.practice.drill_commands import End

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
ANSWERS = "F2 F3 2R  # the cold end\ntotal travel 2L\n\ncause A3 2R\njob S5 S1 2\ndone\n"


def schema(name):
    path = ROOT / "src" / "wearline" / "app" / "schemas" / f"{name}.json"
    return json.loads(path.read_text(encoding="utf-8"))


def asked(folder, *, person="Trainee", level="4", seed=1):
    return DrillRequest(person, folder, NOW, 99, level, seed)


def going_on(folder, person="Trainee"):
    return DrillRequest(person, folder, NOW, 99)


def words(folder, *more):
    return ["drill", "--person", "Trainee", "--results", str(folder), *map(str, more)]


# ---------------------------------------------------------------- from beginning to end


def test_a_drill_from_a_file_of_commands(tmp_path, capsys):
    """Found, right job: exit code 0; one line of results; nothing left open."""
    file = tmp_path / "commands.txt"
    file.write_text(ANSWERS, encoding="utf-8")
    assert run(words(tmp_path, "--level", "victim", "--seed", 1, "--answers", file, "--json")) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("drill"))
    assert found["state"] == "finished"
    assert [mark["result"] for mark in found["score"]["causes"]] == ["found"]
    # By hand: 4 + 13 (wheel off) + 4 + 7.5 (air up) at 2R, 4 + 13 at 2L.
    assert found["minutes"] == pytest.approx(45.5)
    assert found["score"]["lessons"]
    book = DrillBook(tmp_path, "Trainee")
    assert book.open_drill() is None
    (line,) = book.results().lines
    assert line["points"] == found["score"]["points"]
    assert line["commands"] == ["F2 2R", "F3 2R", "F2 2L", "cause A3 2R", "job S5 S1 2"]


def test_missed_causes_exit_with_1(tmp_path, capsys):
    file = tmp_path / "commands.txt"
    file.write_text("cause none\njob none\ndone\n", encoding="utf-8")
    assert run(words(tmp_path, "--level", 4, "--seed", 1, "--answers", file)) == 1
    said = capsys.readouterr().out
    assert "A3 (adjuster does not hold) at 2R: missed" in said
    assert "Not asked for, and would have shown it" in said


def test_a_wrong_command_in_a_file_names_its_line_and_keeps_what_was_done(tmp_path, capsys):
    file = tmp_path / "commands.txt"
    file.write_text("F2 2R\nfrobnicate 2R\ndone\n", encoding="utf-8")
    assert run(words(tmp_path, "--level", 4, "--seed", 1, "--answers", file)) == 2
    assert "commands.txt, line 2: 'frobnicate' is no test here" in capsys.readouterr().err
    assert DrillBook(tmp_path, "Trainee").open_drill()["commands"] == ["F2 2R"]
    assert DrillBook(tmp_path, "Trainee").results().lines == ()


def test_typed_through_a_pipe_killed_and_resumed(tmp_path):
    """Killed with the first test done: the second run goes on with it and scores it once."""
    command = [sys.executable, "-m", "wearline", *words(tmp_path)]
    with subprocess.Popen(
        [*command, "--level", "4", "--seed", "1"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    ) as first:
        first.stdin.write("F2 2R\n")
        first.stdin.flush()
        for line in first.stdout:
            if "total calliper travel" in line and "mm" in line:
                break
        first.kill()
    typed = "readings 2\nF3 2R\ncause A3 2R\nnonsense\njob S5 S1 2\ndone\n"
    second = subprocess.run(
        command, input=typed, capture_output=True, text=True, cwd=ROOT, check=False, timeout=300
    )
    assert second.returncode == 0, second.stderr
    assert "Going on where it was broken off: 1 tests, 17 min so far" in second.stdout
    assert "of 100 points" in second.stdout
    assert "'nonsense' is no test here" in second.stderr
    assert "Traceback" not in second.stderr
    results = DrillBook(tmp_path, "Trainee").results()
    assert len(results.lines) == 1
    assert results.lines[0]["minutes"] == pytest.approx(28.5)


def test_the_end_of_the_input_breaks_a_drill_off_without_a_score(tmp_path):
    command = [sys.executable, "-m", "wearline", *words(tmp_path, "--level", 1, "--seed", 1)]
    done = subprocess.run(command, input="F2 2L\n", capture_output=True, text=True, cwd=ROOT, check=False)
    assert done.returncode == 1
    assert "Broken off" in done.stdout
    assert DrillBook(tmp_path, "Trainee").results().lines == ()
    assert DrillBook(tmp_path, "Trainee").open_drill()["commands"] == ["F2 2L"]


# ---------------------------------------------------------------- broken off, dropped, never half scored


def test_every_step_is_saved(tmp_path):
    running = run_drill(asked(tmp_path))
    for number, typed in enumerate(["F2 2R", "how F3", "cause A3 2R", "readings"], start=1):
        running.command(typed, NOW)
        saved = DrillBook(tmp_path, "Trainee").open_drill()["commands"]
        assert saved == list(running.session.commands)
        assert len(saved) <= number
    again = run_drill(going_on(tmp_path))
    assert again.resumed
    assert again.session.taken == running.session.taken
    assert again.session.causes == running.session.causes


def test_a_drill_left_for_later_is_not_scored(tmp_path):
    running = run_drill(asked(tmp_path))
    assert running.command("later", NOW).end is End.LATER
    answer = drill_answer(running)
    jsonschema.validate(answer, schema("drill"))
    assert answer["state"] == "open"
    assert answer["score"] is None
    assert run_drill(going_on(tmp_path)).resumed


def test_a_dropped_drill_leaves_nothing(tmp_path, capsys):
    running = run_drill(asked(tmp_path))
    running.command("F2 2R", NOW)
    assert running.command("drop", NOW).end is End.DROP
    assert drill_answer(running)["state"] == "dropped"
    assert DrillBook(tmp_path, "Trainee").open_drill() is None
    assert not run_drill(asked(tmp_path, seed=2)).resumed
    assert run(words(tmp_path, "--drop", "--json")) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("drill-dropped"))
    assert found["dropped"] is True
    assert drop_drill(tmp_path, "Trainee") is False


def test_another_drill_is_refused_while_one_is_open(tmp_path):
    run_drill(asked(tmp_path))
    for level, seed in (("1", 1), ("4", 2), ("4", None)):
        if seed is None:
            assert run_drill(DrillRequest("Trainee", tmp_path, NOW, 99, level, seed)).resumed
            continue
        with pytest.raises(InputError, match="drill 4-1 of Trainee is not finished") as refused:
            run_drill(DrillRequest("Trainee", tmp_path, NOW, 99, level, seed))
        assert "--drop" in refused.value.cure
    assert not run_drill(asked(tmp_path, person="Other", seed=2)).resumed


def test_a_crash_while_scoring_scores_nothing(tmp_path, monkeypatch):
    running = run_drill(asked(tmp_path))
    running.command("cause none", NOW)
    running.command("job none", NOW)

    def crash(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(drill_routes, "best_route", crash)
    with pytest.raises(KeyboardInterrupt):
        running.command("done", NOW)
    assert DrillBook(tmp_path, "Trainee").results().lines == ()
    assert run_drill(going_on(tmp_path)).session.no_cause


def test_a_crash_between_result_and_closing_scores_once(tmp_path):
    """The result is written, the open drill is still there: it is closed, not scored again."""
    running = run_drill(asked(tmp_path))
    book = DrillBook(tmp_path, "Trainee")
    book.append(running.entry | {"points": 50.0, "finished": "2026-11-25T12:00:00+00:00"})
    assert book.open_drill() is None
    assert not book.open_file.exists()
    assert len(book.results().lines) == 1


def test_a_drill_of_another_version_is_refused_not_guessed(tmp_path):
    running = run_drill(asked(tmp_path))
    running.book.save(running.entry | {"commands": [], "case": "0123456789abcdef"})
    with pytest.raises(StorageError, match="another version") as refused:
        run_drill(going_on(tmp_path))
    assert "--drop" in refused.value.cure
    running.book.save(running.entry | {"commands": ["F2 9R"]})
    with pytest.raises(StorageError, match="another version"):
        run_drill(going_on(tmp_path))
    running.book.save(running.entry | {"commands": [], "level": 77})
    with pytest.raises(StorageError, match="another version"):
        run_drill(going_on(tmp_path))


@pytest.mark.parametrize("text", ["", "{", "[]", '{"id": 1}', '{"id": "a", "level": 1, "seed"'])
def test_an_open_drill_that_cannot_be_read_is_refused_and_can_be_dropped(tmp_path, text):
    book = DrillBook(tmp_path, "Trainee")
    tmp_path.mkdir(exist_ok=True)
    book.open_file.write_text(text, encoding="utf-8")
    with pytest.raises(StorageError, match="cannot be read"):
        run_drill(going_on(tmp_path))
    assert drop_drill(tmp_path, "Trainee") is True


# ---------------------------------------------------------------- in two places at once, and looked at again


@pytest.mark.parametrize("typed", ["F3 2R", "cause A3 2R", "done", "drop"])
def test_who_did_not_see_the_last_step_does_not_go_on(tmp_path, typed):
    """The same drill at a terminal and on a page: the older view changes nothing and scores nothing."""
    one = run_drill(asked(tmp_path))
    for decided in ("cause none", "job none"):
        one.command(decided, NOW)
    two = run_drill(going_on(tmp_path))
    two.command("F2 2R", NOW)
    with pytest.raises(StorageError, match="went on somewhere else"):
        one.command(typed, NOW)
    assert DrillBook(tmp_path, "Trainee").open_drill()["commands"] == ["cause none", "job none", "F2 2R"]
    assert DrillBook(tmp_path, "Trainee").results().lines == ()


def test_a_drill_that_ended_elsewhere_does_not_come_back(tmp_path):
    one, two = run_drill(asked(tmp_path)), run_drill(going_on(tmp_path))
    two.command("drop", NOW)
    with pytest.raises(StorageError, match="or ended there"):
        one.command("F2 2R", NOW)
    assert DrillBook(tmp_path, "Trainee").open_drill() is None


def test_only_what_is_open_is_gone_on_with(tmp_path):
    assert resume_drill(tmp_path, "Trainee") is None
    run_drill(asked(tmp_path)).command("F2 2R", NOW)
    again = resume_drill(tmp_path, "Trainee")
    assert again.resumed
    assert again.session.minutes == pytest.approx(17)


def test_a_finished_drill_is_explained_again_from_its_line(tmp_path, monkeypatch):
    """The best route stands in the line: nothing is looked for a second time, with or without the store."""
    running = run_drill(asked(tmp_path))
    for typed in ("F2 2R", "cause A3 2R", "job S5 S1 2", "done"):
        running.command(typed, NOW)
    monkeypatch.setattr(drill_routes, "best_route", None)
    for path in (tmp_path / "routes").iterdir():
        path.unlink()
    again = finished_drill(tmp_path, "Trainee", running.entry["id"])
    assert again.state == "finished"
    assert again.score.points == running.score.points
    assert score_lines(again.score) == score_lines(running.score)


@pytest.fixture(scope="module")
def routed(tmp_path_factory):
    """A folder with the best route through level 4, seed 1, and the route."""
    folder = tmp_path_factory.mktemp("routed")
    return folder, drill_routes.route_of(case_of(4, 1), folder)


def test_a_best_route_is_worked_out_once(routed, monkeypatch):
    folder, first = routed
    monkeypatch.setattr(drill_routes, "best_route", None)
    again = drill_routes.route_of(case_of(4, 1), folder)
    assert (again.steps, again.minutes, again.sure) == (first.steps, first.minutes, first.sure)


@pytest.mark.parametrize(
    "text", ["{", "[]", '{"sure": 0.9}', '{"sure": 0.9, "steps": [{"test": "X", "at": "2R"}]}']
)
def test_a_stored_route_that_cannot_be_read_is_none(routed, tmp_path, text):
    shutil.copytree(routed[0] / "routes", tmp_path / "routes")
    case = case_of(4, 1)
    assert drill_routes.stored_route(case, tmp_path) is not None
    (file,) = (tmp_path / "routes").iterdir()
    file.write_text(text, encoding="utf-8")
    assert drill_routes.stored_route(case, tmp_path) is None


def test_a_route_that_cannot_be_stored_is_a_clear_error(routed, tmp_path, monkeypatch):
    monkeypatch.setattr(drill_routes, "best_route", lambda *_: routed[1])
    (tmp_path / "routes").write_text("", encoding="utf-8")
    with pytest.raises(StorageError, match="the drills cannot be read or written"):
        drill_routes.route_of(case_of(4, 1), tmp_path)


def test_results_of_other_versions_are_not_explained(tmp_path):
    book = DrillBook(tmp_path, "Trainee")
    line = {"id": "a", "points": 5.0, "level": 4, "seed": 1, "commands": []}
    book.append(line | {"case": "0123456789abcdef"})
    book.append(line | {"id": "b", "level": 77})
    book.append(line | {"id": "c", "case": case_digest(case_of(4, 1)), "commands": ["F2 9R"]})
    for drill in "abc":
        with pytest.raises(StorageError, match="another version"):
            finished_drill(tmp_path, "Trainee", drill)
    with pytest.raises(StorageError, match="there is no such drill of Trainee"):
        finished_drill(tmp_path, "Trainee", "d")


def test_open_drills_of_everybody_are_listed(tmp_path):
    assert open_drills(tmp_path / "nowhere") == ()
    run_drill(asked(tmp_path, person="Zoe Example"))
    run_drill(asked(tmp_path, person="Ann Example", seed=2)).command("F2 2R", NOW)
    (tmp_path / "torn.open.json").write_text("{", encoding="utf-8")
    found = open_drills(tmp_path)
    assert [each.person for each in found] == ["Ann Example", "Zoe Example"]
    assert [each.minutes for each in found] == [17.0, 0.0]
    assert DrillBook(tmp_path, "Ann Example").waiting() == found[0]


# ---------------------------------------------------------------- the file of results


def test_results_only_grow_and_a_torn_line_stands_alone(tmp_path):
    book = DrillBook(tmp_path, "Trainee")
    book.append({"id": "a", "points": 10.0})
    with book.results_file.open("a", encoding="utf-8") as stream:
        stream.write('{"id": "torn", "poi')
    before = book.results_file.read_bytes()
    book.append({"id": "b", "points": 20.0})
    assert book.results_file.read_bytes().startswith(before)
    results = book.results()
    assert [line["points"] for line in results.lines] == [10.0, 20.0]
    assert results.unreadable == 1
    assert "1 lines of" in progress_lines(progress_answer(tmp_path, "Trainee"))[-1]


def test_a_write_that_fails_leaves_the_file_as_it_was(tmp_path, monkeypatch):
    book = DrillBook(tmp_path, "Trainee")
    book.append({"id": "a", "points": 10.0})
    before = book.results_file.read_bytes()

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StorageError, match="No space left on device"):
        book.append({"id": "b", "points": 20.0})
    assert book.results_file.read_bytes() == before
    with pytest.raises(StorageError, match="No space left"):
        book.save({"id": "c"})
    assert book.open_drill() is None


def test_names_that_look_alike_are_kept_apart_and_stay_in_the_folder(tmp_path):
    names = ["Ann Example", "ann-example", "../ann example", "Änn", "名前", "a" * 80]
    files = [DrillBook(tmp_path, name).results_file for name in names]
    assert len(set(files)) == len(names)
    assert {file.parent for file in files} == {tmp_path}


@pytest.mark.parametrize("name", ["", "   ", "a" * 81, "a\x00b", "a\u202eb"])
def test_names_that_are_none_are_refused(tmp_path, name):
    with pytest.raises(InputError, match="is no name"):
        DrillBook(tmp_path, name)


def test_a_folder_that_is_a_file_is_refused(tmp_path):
    (tmp_path / "taken").write_text("", encoding="utf-8")
    with pytest.raises(StorageError, match="cannot be read or written"):
        run_drill(asked(tmp_path / "taken"))


def test_commands_that_cannot_be_read_are_refused(tmp_path):
    with pytest.raises(InputError, match="the commands cannot be read"):
        read_commands(tmp_path / "missing.txt")
    (tmp_path / "binary").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="not plain text"):
        read_commands(tmp_path / "binary")


# ---------------------------------------------------------------- progress


def test_progress_and_its_plot(tmp_path, capsys):
    book = DrillBook(tmp_path, "Trainee")
    for number, points in enumerate([20.0, 60.0, 100.0], start=1):
        book.append(
            {
                "id": str(number),
                "points": points,
                "level": number,
                "seed": 1,
                "minutes": 30.0,
                "finished": "2026-11-25",
            }
        )
    assert run(words(tmp_path, "--progress", "--json")) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("drill-progress"))
    assert [drill["points"] for drill in found["drills"]] == [20.0, 60.0, 100.0]
    plot = tmp_path / "progress.svg"
    assert run(words(tmp_path, "--plot", plot)) == 0
    said = capsys.readouterr().out
    assert "level 2 (chain): mean 60 points of 1" in said
    text = plot.read_text(encoding="utf-8")
    assert ET.fromstring(text).tag.endswith("svg")
    assert "Drills of Trainee" in text
    picture = tmp_path / "progress.png"
    assert run(words(tmp_path, "--plot", picture)) == 0
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_a_plot_of_nothing_is_refused(tmp_path, capsys):
    assert run(words(tmp_path, "--plot", tmp_path / "p.svg")) == 2
    assert "has finished no drill" in capsys.readouterr().err


# ---------------------------------------------------------------- papers for a class


def test_a_class_sheet_and_its_answers(tmp_path, capsys):
    out = tmp_path / "class.pdf"
    assert (
        run(["drill", "--class-sheet", str(out), "--cases", "2", "--level", "4", "--seed", "1", "--json"])
        == 0
    )
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("class-sheet"))
    sheet, answers = (PdfReader(file) for file in found["files"])
    assert len(sheet.pages) == 2, "one page to a case"
    text = "\n".join(page.extract_text() for page in sheet.pages)
    told = "\n".join(page.extract_text() for page in answers.pages)
    assert "Case 2" in text
    assert "invented vehicle" in text
    assert "A3" not in text, "the class must not read the cause"
    assert "2R: A3 adjuster does not hold" in told
    assert "drill 4-1" in told
    assert "90 %" in told


@pytest.mark.parametrize(
    ("more", "what"),
    [
        (["--cases", "0"], "0 cases are asked for"),
        (["--cases", "25"], "25 cases are asked for"),
        (["--level", "9"], "there is no level"),
        (["--seed", "-3"], "the seed is -3"),
    ],
)
def test_wrong_wishes_for_a_class_sheet(tmp_path, capsys, more, what):
    assert run(["drill", "--class-sheet", str(tmp_path / "c.pdf"), *more]) == 2
    assert what in capsys.readouterr().err


def test_a_class_sheet_is_a_pdf(tmp_path, capsys):
    assert run(["drill", "--class-sheet", str(tmp_path / "c.docx")]) == 2
    assert "cannot be written as '.docx'" in capsys.readouterr().err


def test_the_score_says_what_the_readings_should_have_said(tmp_path):
    running = run_drill(asked(tmp_path, level="1"))
    for typed in ("F2 2L", "cause A1 2L", "job S5 S1 2", "done"):
        running.command(typed, NOW)
    text = "\n".join(score_lines(running.score))
    assert "a perfect gauge shows" in text
    assert "Without A1 at 2L it would be" in " ".join(text.split())
    assert "Best route:" in text
