"""The pages of the drills: asked, decided and scored by forms; nothing hidden before the end; no step twice.

Outside checks: the score's answer follows its JSON Schema (jsonschema); papers are read back with pypdf; the
chart is parsed as XML. Minutes are sums by hand of the catalogue's times: wheel off 13 min (middle of 8 to
18), air up 7.5 min (middle of 5 to 10), F2 and F3 4 min each.
"""

from __future__ import annotations

import html
import io
import json
import re
import shutil
import threading
import time
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import jsonschema
import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient
from web_drilling import Forms

import wearline.app
from wearline.app import drilling
from wearline.app.drill_answers import progress_answer
from wearline.app.drill_book import DrillBook
from wearline.app.drill_opening import case_of
from wearline.app.drill_routes import route_of
from wearline.app.drilling import DrillRequest, resume_drill, run_drill
from wearline.errors import InputError, ProgramFault
from wearline.practice.faults import Fault
from wearline.web import drill_desk
from wearline.web.application import create_app
from wearline.web.beside import Beside
from wearline.web.config import ServeConfig
from wearline.web.drill_chart import draw_progress, draw_routes
from wearline.web.drill_desk import DrillDesk
from wearline.web.pages import drill as drill_page

NOW = datetime(2026, 10, 1, 12, 0, tzinfo=UTC)
HOSTILE = "<script>alert(1)</script>'\"><img src=x>{{7*7}}"


def says(answer, what):
    """Whether a page says something to a person who reads it: without markup, however a sentence begins."""
    text = html.unescape(re.sub(r"<[^>]*>", " ", answer.text))
    return what.casefold() in " ".join(text.split()).casefold()


@pytest.fixture(scope="session")
def routes(tmp_path_factory):
    """Best routes of two cases, worked out once."""
    folder = tmp_path_factory.mktemp("routes")
    for seed in (1, 2):
        route_of(case_of(4, seed), folder)
    return folder / "routes"


@pytest.fixture
def drills(tmp_path, routes):
    folder = tmp_path / "drills"
    shutil.copytree(routes, folder / "routes")
    return folder


@pytest.fixture
def forms(drills, web, csrf):
    """Trainee at a computer that asks for no login."""
    return Forms(web, csrf(web))


# ---------------------------------------------------------------- from beginning to end


def test_a_drill_from_the_first_form_to_the_score(forms, drills):
    begun = forms.begin()
    assert begun.headers["location"] == "/drill/now?person=Trainee"
    assert forms.take("F2", "2R").headers["location"] == "/drill/now?person=Trainee#last"
    assert forms.head()["minutes"] == pytest.approx(4 + 13)
    forms.take("F3", "2R")
    assert forms.head()["minutes"] == pytest.approx(4 + 13 + 4 + 7.5)
    forms.found()
    drill = forms.end()
    page = forms.score(drill)
    answer = page["answer"]
    schema = Path(wearline.app.__file__).parent / "schemas" / "drill.json"
    jsonschema.validate(answer, json.loads(schema.read_text(encoding="utf-8")))
    assert answer["state"] == "finished"
    assert [mark["result"] for mark in answer["score"]["causes"]] == ["found"]
    assert answer["minutes"] == pytest.approx(28.5)
    assert answer["score"]["best_route"]
    text = forms.get("/drill/score", drill=drill).text
    assert "of 100 points" in text
    assert "A3 adjuster does not hold" in text
    assert "a perfect gauge shows" in text
    (line,) = DrillBook(drills, "Trainee").results().lines
    assert line["commands"] == ["F2 2R", "F3 2R", "cause A3 2R", "job S1 2", "job S5 2"]
    assert DrillBook(drills, "Trainee").open_drill() is None


def test_the_page_and_the_terminal_are_one_drill(forms, drills):
    """Begun on the page, gone on with at the terminal, ended on the page, and seen in one progress."""
    forms.begin()
    running = run_drill(DrillRequest("Trainee", drills, NOW, 99))
    assert running.resumed
    running.command("F2 2R", NOW)
    assert [row["test"] for row in forms.json("/drill/now")["taken"]] == ["F2"]
    forms.found()
    drill = forms.end()
    forms.score(drill)
    second = run_drill(DrillRequest("Trainee", drills, NOW, 99, "4", 2))
    for typed in ("cause none", "job none", "done"):
        second.command(typed, NOW)
    shown = forms.json("/drill")["results"]
    assert [each["seed"] for each in shown] == [2, 1], "the latest first"
    kept = progress_answer(drills, "Trainee")["drills"]
    assert [each["points"] for each in kept] == [each["points"] for each in reversed(shown)]
    explained = forms.json("/drill/score", drill=shown[0]["id"])["answer"]
    assert explained["score"]["points"] == kept[1]["points"]


def test_a_test_says_what_it_costs_before_it_is_asked_for(forms):
    forms.begin()
    page = forms.json("/drill/now")
    prices = {test["id"]: test for group in page["groups"] for test in group["tests"]}
    assert (prices["F2"]["least"], prices["F2"]["most"]) == pytest.approx((17, 17))
    assert (prices["F3"]["least"], prices["F3"]["most"]) == pytest.approx((24.5, 24.5))
    assert prices["W2"]["complete"], "the history lies on the table"
    states = [group["code"] for group in page["groups"]]
    assert states == sorted(states, key="ONARJWPD".index)
    forms.take("F2", "2R")
    places = {each["at"]: each for each in forms.json("/drill/test", test="F3")["unread"]}
    assert (places["2R"]["minutes"], places["2R"]["access"]) == pytest.approx((4, 7.5))
    assert (places["2L"]["minutes"], places["2L"]["access"]) == pytest.approx((4, 13 + 7.5))
    text = forms.get("/drill/now").text
    assert "11.5–24.5 min" in text
    assert "reached at 2R" in text


def test_several_places_pay_a_common_state_once(forms):
    forms.begin()
    forms.take("F3", "2L", "2R")
    assert forms.head()["minutes"] == pytest.approx(2 * (4 + 13) + 7.5)
    assert [row["running"] for row in forms.json("/drill/now")["taken"]] == pytest.approx([24.5, 41.5])


def test_the_page_of_a_test_shows_where_the_gauge_goes(forms):
    forms.begin()
    page = forms.json("/drill/test", test="F5")
    assert [side for side, _ in page["pictures"]] == ["L", "R"], "the leading end is on the other side"
    text = forms.get("/drill/test", test="F5").text
    assert text.count("<svg") == 3, "the sign of the program and two drawings"
    assert dict(page["facts"])["where"] == "5 mm inside the corners LT, LB, TT, TB"


def test_once_more_with_another_gauge_costs_its_minutes_again(forms):
    forms.begin()
    forms.take("F2", "2R")
    assert forms.take("F2", "2R", again="yes").status_code == 303
    assert forms.head()["minutes"] == pytest.approx(17 + 4)
    row = next(row for row in forms.json("/drill/now")["rows"] if row["label"] == "total calliper travel")
    assert [cell["look"] for cell in row["cells"]] == [0, 0, 0, 1]


def test_decisions_are_taken_back(forms):
    forms.begin()
    forms.decide("blame", cause="A3", at="2R")
    forms.decide("blame", cause="U1", at="vehicle")
    assert [code for _, code, _ in forms.head()["causes"]] == ["A3", "U1"]
    forms.decide("take back", cause="A3", at="2R")
    assert [code for _, code, _ in forms.head()["causes"]] == ["U1"]
    forms.decide("no cause")
    assert (forms.head()["causes"], forms.head()["no_cause"]) == ([], True)
    forms.decide("order", work=["S1 1", "S2 1"])
    forms.decide("order", work=["S2 1", "S4 2"])
    assert [(axle, code) for axle, code, _ in forms.head()["work"]] == [("1", "S2"), ("2", "S4")]
    forms.decide("no work")
    assert (forms.head()["work"], forms.head()["no_work"]) == ([], True)


def test_a_new_one_gets_a_vehicle_of_its_own(forms, drills, monkeypatch):
    monkeypatch.setattr(drill_desk, "route_of", lambda *_: None)
    forms.begin(seed="")
    kept = DrillBook(drills, "Trainee").open_drill()
    assert kept["level"] == 4
    assert 0 <= kept["seed"] < 100_000


# ---------------------------------------------------------------- what is hidden stays hidden


@pytest.mark.parametrize("level", ["2", "4", "5"])
def test_no_page_knows_what_is_hidden(forms, drills, monkeypatch, level):
    """With another truth and no true figures behind the same readings every page is the same text."""
    monkeypatch.setattr(drill_desk, "route_of", lambda *_: None)
    forms.begin(level, "1")
    forms.take("F2", "1L")
    forms.decide("blame", cause="G1", at="1L")

    def texts():
        paths = [("/drill/now", {}), ("/drill/decide", {}), ("/drill", {})]
        paths += [("/drill/test", {"test": test}) for test in ("F2", "F5", "F12")]
        return [forms.get(path + ending, **query).text for path, query in paths for ending in ("", ".json")]

    shown = texts()
    case = case_of(int(level), 1)
    looks = tuple(replace(look, states={}, truth=None) for look in case.looks)
    other = {"1L": (Fault("V2", 0.9),)}
    blind = replace(case, truth=other, asked=other, roots=(("1L", "V2"),), slip=None, looks=looks, draws=(0,))
    monkeypatch.setattr(drilling, "case_of", lambda *_: blind)
    assert resume_drill(drills, "Trainee").session.case is blind
    assert texts() == shown


def test_there_is_no_score_before_the_end(forms):
    forms.begin()
    drill = forms.head()["id"]
    for path in ("/drill/score", "/drill/score.json"):
        answer = forms.get(path, drill=drill)
        assert answer.status_code == 409
        assert says(answer, "is not finished")
        assert not says(answer, "A3")


# ---------------------------------------------------------------- broken off, dropped, never half scored


def test_a_drill_that_was_broken_off_is_listed_and_goes_on_after_a_restart(
    forms, drills, tmp_path, clock, csrf
):
    forms.begin()
    forms.take("F2", "2R")
    (waiting,) = forms.json("/drill")["open"]
    assert (waiting["level"], waiting["seed"], waiting["minutes"]) == (4, 1, 17)
    everybody = forms.client.get("/drill.json").json()
    assert [each["person"] for each in everybody["open"]] == ["Trainee"]
    app = create_app(ServeConfig(str(tmp_path / "other.db"), drills=str(drills)), clock)
    with TestClient(app, base_url="http://127.0.0.1:8642") as client:
        again = Forms(client, csrf(client))
        assert again.head()["minutes"] == pytest.approx(17)
        again.take("F3", "2R")
        assert again.head()["minutes"] == pytest.approx(28.5)


def test_a_dropped_drill_leaves_no_result(forms, drills):
    forms.begin()
    form = forms.form()
    assert forms.post("/drill/drop", form).status_code == 303
    assert forms.json("/drill")["open"] == []
    assert DrillBook(drills, "Trainee").results().lines == ()
    assert forms.get("/drill/now").status_code == 404


def test_an_older_page_drops_no_newer_drill(forms):
    forms.begin()
    old = forms.form()
    forms.post("/drill/drop", old)
    forms.begin(seed="2")
    refused = forms.post("/drill/drop", old)
    assert refused.status_code == 409
    assert says(refused, "another drill was begun")
    assert forms.head()["seed"] == 2


@pytest.mark.parametrize("text", ["{", '{"id": "a", "level": 4, "seed": 1, "commands": [], "case": "0"}'])
def test_a_drill_that_cannot_go_on_can_be_dropped(forms, drills, text):
    drills.mkdir(exist_ok=True)
    DrillBook(drills, "Trainee").open_file.write_text(text, encoding="utf-8")
    refused = forms.get("/drill/now")
    assert refused.status_code == 409
    assert str(drills) not in refused.text, "the folder of the server is nobody's business"
    assert forms.get("/drill").status_code == 200
    second = forms.post("/drill/begin", forms.mine | {"level": "4", "seed": "1"})
    assert second.status_code == 409
    page = forms.json("/drill")
    drill = page["open"][0]["id"] if page["open"] else ""
    assert bool(drill) != bool(page["broken"])
    assert forms.post("/drill/drop", forms.mine | {"drill": drill}).status_code == 303
    forms.begin()


@pytest.fixture
def held(monkeypatch, drills):
    """No route is stored, and working one out waits for a sign."""
    shutil.rmtree(drills / "routes")
    sign = threading.Event()
    found = drill_desk.route_of

    def slow(case, folder):
        assert sign.wait(30)
        return found(case, folder)

    monkeypatch.setattr(drill_desk, "route_of", slow)
    yield sign
    sign.set()


def test_the_score_waits_for_the_best_route_and_says_so(held, forms):
    forms.begin()
    forms.found()
    drill = forms.end()
    waiting = forms.json("/drill/score", drill=drill)
    assert waiting["answer"] is None
    assert waiting["state"]["working"]
    text = forms.get("/drill/score", drill=drill).text
    assert "is being looked for" in text
    assert "Look again" in text
    assert "found it" not in text
    refused = forms.take("F2", "2R")
    assert refused.status_code == 409
    assert says(refused, "is being scored")
    assert says(forms.post("/drill/drop", forms.form()), "is being scored")
    assert forms.post("/drill/score", forms.form()).status_code == 409
    held.set()
    assert forms.score(drill)["answer"]["score"]["points"] > 80
    assert len(forms.json("/drill")["results"]) == 1


def test_a_drill_that_goes_on_at_the_terminal_while_it_is_scored_is_not_scored(held, forms, drills):
    forms.begin()
    forms.found()
    drill = forms.end()
    run_drill(DrillRequest("Trainee", drills, NOW, 99)).command("F2 2R", NOW)
    held.set()
    deadline = time.monotonic() + 30
    while not (state := forms.json("/drill/score", drill=drill)["state"])["fault"]:
        assert time.monotonic() < deadline
        time.sleep(0.05)
    assert "moved on while it was to be scored" in state["fault"]
    assert "nothing was scored" in forms.get("/drill/score", drill=drill).text
    assert DrillBook(drills, "Trainee").results().lines == ()
    assert forms.head()["tests"] == 1


def test_the_end_sent_twice_is_one_result(forms, drills):
    forms.begin()
    forms.found()
    form = forms.form()
    answers = [forms.post("/drill/score", form) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert len({answer.headers["location"] for answer in answers}) == 1
    assert len(DrillBook(drills, "Trainee").results().lines) == 1


# ---------------------------------------------------------------- forms that are out of date


def test_a_form_sent_twice_charges_once(forms):
    forms.begin()
    form = forms.form() | {"test": "F2", "at": ["2R", "2L"]}
    first, second = (forms.post("/drill/test", form) for _ in range(2))
    assert (first.status_code, second.status_code) == (303, 303)
    assert forms.head()["minutes"] == pytest.approx(2 * 17)


def test_a_form_of_an_older_page_is_refused_and_charges_nothing(forms, drills):
    forms.begin()
    old = forms.form()
    forms.take("F2", "2R")
    refused = forms.post("/drill/test", old | {"test": "F3", "at": ["2R"]})
    assert refused.status_code == 409
    assert says(refused, "moved on since this page was made")
    assert says(refused, "nothing was charged")
    assert forms.post("/drill/score", old).status_code == 409
    assert forms.head()["minutes"] == pytest.approx(17)
    run_drill(DrillRequest("Trainee", drills, NOW, 99)).command("F3 2R", NOW)
    page = forms.form() | {"step": "1"}
    assert forms.post("/drill/decide", page | {"act": "no cause"}).status_code == 409


def test_a_form_of_a_drill_that_ended_is_refused(forms, clock):
    forms.begin()
    old = forms.form()
    forms.post("/drill/drop", old)
    assert forms.post("/drill/test", old | {"test": "F2", "at": ["2R"]}).status_code == 404
    clock.move(seconds=5)
    forms.begin()
    refused = forms.post("/drill/test", old | {"test": "F2", "at": ["2R"]})
    assert refused.status_code == 409
    assert says(refused, "belongs to a drill that has ended")


def test_eight_tabs_at_once_lose_no_step_and_pay_none_twice(forms):
    """All send a form of the same page at the same moment: one wins, the others are told."""
    forms.begin()
    form = forms.form()
    tests = ["F1", "F2", "F4", "F15", "F18", "F19", "F21", "F23"]
    answers: list[int] = []

    def send(test):
        answers.append(forms.post("/drill/test", form | {"test": test, "at": ["2R"]}).status_code)

    threads = [threading.Thread(target=send, args=(test,)) for test in tests]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) == [303] + [409] * 7
    assert forms.head()["tests"] == 1


# ---------------------------------------------------------------- bad input


BAD_BEGINNINGS = [
    ({"level": "9"}, "there is no level '9'"),
    ({"level": ""}, "there is no level"),
    ({"level": "victim"}, "there is no level"),
    ({"seed": "-3"}, "'-3' is no seed"),
    ({"seed": "1.5"}, "is no seed"),
    ({"seed": "1" * 10}, "is no seed"),
    ({"seed": "٣"}, "is no seed"),
    ({"person": ""}, "nobody is named who drills"),
    ({"person": "a" * 81}, "is no name"),
    ({"person": "a\u202eb"}, "is no name"),
    ({"level": HOSTILE}, "<script>alert(1)</sc"),
]


@pytest.mark.parametrize(("wrong", "what"), BAD_BEGINNINGS)
def test_a_wrong_wish_for_a_drill_is_refused_clearly(forms, wrong, what):
    answer = forms.post("/drill/begin", forms.mine | {"level": "4", "seed": "1"} | wrong)
    assert answer.status_code == 422
    assert says(answer, what)
    assert says(answer, "what to do")
    assert "<script>alert" not in answer.text


BAD_TESTS = [
    ({"test": "F99", "at": ["2R"]}, 404, "there is no test 'F99' in this drill"),
    ({"test": "", "at": ["2R"]}, 404, "there is no test"),
    ({"test": "F6", "at": ["2R"]}, 404, "there is no test"),
    ({"test": "F2", "at": ["9R"]}, 422, "it is not said where F2 (total travel) is to be done"),
    ({"test": "F2", "at": ["2R", "x"]}, 422, "it is not said where"),
    ({"test": "F2", "at": []}, 422, "it is not said where"),
    ({"test": "W4"}, 409, "W4 (temperature comparison) has been read already"),
    ({"test": "F2", "at": ["2R"], "step": ""}, 409, "on which step"),
    ({"test": "F2", "at": ["2R"], "step": "77"}, 409, "on which step"),
    ({"test": "F2", "at": ["2R"], "step": "-1"}, 409, "on which step"),
    ({"test": "F2", "at": ["2R"], "drill": "0123"}, 409, "has ended"),
    ({"test": "F2", "at": ["2R"], "person": ""}, 422, "nobody is named"),
    ({"test": "F2", "at": ["2R"], "csrf": "x"}, 403, "not filled in on a page of this login"),
]


@pytest.mark.parametrize(("wrong", "status", "what"), BAD_TESTS)
def test_a_wrong_wish_for_a_test_is_refused_and_charges_nothing(forms, wrong, status, what):
    forms.begin()
    answer = forms.post("/drill/test", forms.form() | wrong)
    assert answer.status_code == status
    assert says(answer, what)
    assert says(answer, "what to do")
    assert forms.head()["step"] == 0


def test_a_test_that_was_read_is_not_charged_again_unasked(forms):
    forms.begin()
    forms.take("F2", "2R")
    refused = forms.take("F2", "2L", "2R")
    assert refused.status_code == 409
    assert says(refused, "has been read already 2R")
    assert forms.head()["minutes"] == pytest.approx(17)


BAD_DECISIONS = [
    ({"act": "guess"}, "decides nothing"),
    ({"act": "blame", "cause": "X9", "at": "2R"}, "'X9' is no cause"),
    ({"act": "blame", "cause": "A3", "at": "7R"}, "is no place of this vehicle"),
    ({"act": "blame", "cause": "A3", "at": "1"}, "cannot be a cause of a axle"),
    ({"act": "take back", "cause": "A3", "at": "2R"}, "was not blamed"),
    ({"act": "order"}, "no work is ticked"),
    ({"act": "order", "work": ["S9 1"]}, "this work cannot be ordered here"),
    ({"act": "order", "work": ["S1 9"]}, "this work cannot be ordered here"),
]


@pytest.mark.parametrize(("wrong", "what"), BAD_DECISIONS)
def test_a_wrong_decision_is_refused(forms, wrong, what):
    forms.begin()
    answer = forms.post("/drill/decide", forms.form() | wrong)
    assert answer.status_code == 422
    assert says(answer, what)
    assert says(answer, "what to do")
    assert forms.head()["step"] == 0


def test_nothing_is_scored_before_cause_and_work_are_decided(forms, drills):
    forms.begin()
    assert says(forms.post("/drill/score", forms.form()), "no cause has been decided")
    forms.decide("no cause")
    refused = forms.post("/drill/score", forms.form())
    assert refused.status_code == 422
    assert says(refused, "no work has been decided")
    assert "End the drill" not in forms.get("/drill/decide").text
    assert DrillBook(drills, "Trainee").results().lines == ()


def test_pages_without_a_drill_say_where_to_go(forms):
    for path in ("/drill/now", "/drill/test", "/drill/decide"):
        answer = forms.get(path)
        assert answer.status_code == 404
        assert 'href="/drill"' in answer.text
        assert forms.client.get(path).status_code == 422, "nobody is named"
        assert forms.get(path + ".json").json()["schema"] == "wearline.error/1"
    assert forms.get("/drill/score", drill="0123456789abcdef").status_code == 404
    assert forms.get("/drill/test", test="F2").status_code == 404


def test_a_second_drill_is_refused_while_one_is_open(forms):
    forms.begin()
    refused = forms.post("/drill/begin", forms.mine | {"level": "4", "seed": "2"})
    assert refused.status_code == 409
    assert says(refused, "drill 4-1 of Trainee is not finished")


def test_a_seed_that_gives_no_fair_vehicle_is_refused(forms, monkeypatch):
    def none(*_):
        raise ProgramFault("no fair case of level 4 came up with seed 1")

    monkeypatch.setattr(drill_page, "case_of", none)
    refused = forms.post("/drill/begin", forms.mine | {"level": "4", "seed": "1"})
    assert refused.status_code == 422
    assert says(refused, "no fair vehicle")


def test_a_folder_that_cannot_be_used_is_told_without_its_place(web, csrf, tmp_path):
    """The disk is nobody's bad input: status 503, and whoever runs the program is named as the one to ask."""
    (tmp_path / "drills").write_text("", encoding="utf-8")
    forms = Forms(web, csrf(web))
    answers = [forms.get(path) for path in ("/drill", "/drill/now", "/drill/score", "/drill/now.json")]
    answers.append(forms.post("/drill/begin", forms.mine | {"level": "4", "seed": "1"}))
    answers.append(forms.post("/drill/drop", forms.mine))
    for answer in answers:
        assert answer.status_code == 503
        assert says(answer, "whoever runs the program")
        assert str(tmp_path) not in answer.text


def test_lines_of_results_that_make_no_sense_are_counted_and_left_out(forms, drills):
    book = DrillBook(drills, "Trainee")
    good = {"id": "a", "points": 50.0, "level": 4, "seed": 1, "minutes": 20.0}
    wrong = [{"level": "x"}, {"seed": None}, {"minutes": "long"}, {"best_minutes": []}, {"points": 10**400}]
    text = "".join(json.dumps(good | each) + "\n" for each in [{}, *wrong]) + '{"points": NaN}\n'
    book.results_file.write_text(text, encoding="utf-8")
    page = forms.json("/drill")
    assert [each["id"] for each in page["results"]] == ["a"]
    assert page["unreadable"] == 6
    assert forms.get("/drill/score", drill="a").status_code == 409


FUZZ = [
    "",
    "\x00",
    "%00",
    "a" * 400,
    "1" * 5000,
    "-1",
    "٣",
    "\ud7ff\u202e",
    "../../x",
    HOSTILE,
    "1e9",
    " 4 ",
    "None",
]


@pytest.mark.parametrize("text", FUZZ)
def test_no_text_anywhere_breaks_a_page(forms, text):
    forms.begin()
    form = forms.form()
    sent = []
    for name in ("person", "level", "seed"):
        sent.append(forms.post("/drill/begin", forms.mine | {"level": "4", "seed": "1"} | {name: text}))
    for path, fields in (("test", "test at step drill again"), ("decide", "act cause at work step drill")):
        base = form | {"test": "F2", "at": "2R", "act": "blame", "cause": "A3"}
        sent += [forms.post(f"/drill/{path}", base | {name: text}) for name in fields.split()]
    sent += [forms.post("/drill/score", form | {name: text}) for name in ("step", "drill", "person")]
    sent += [forms.post("/drill/drop", form | {"drill": text + "x"})]
    sent += [papers(forms, **{name: text}) for name in ("level", "cases") if text]
    paths = ("/drill", "/drill/now", "/drill/test", "/drill/decide", "/drill/score", "/drill/class.pdf")
    for name in ("person", "test", "drill", "seed", "cases", "level"):
        sent += [forms.client.get(path, params={name: text}) for path in paths]
    assert [answer.status_code for answer in sent if answer.status_code >= 500] == []
    assert forms.head()["level"] == 4


def test_a_typed_name_is_text_on_every_page(web, csrf, drills):
    forms = Forms(web, csrf(web), HOSTILE[:80])
    forms.begin()
    for path in ("/drill", "/drill/now", "/drill/decide"):
        text = forms.get(path).text
        assert "<script>alert" not in text
        assert "<img" not in text
        assert ("{{7*7}}" in text) == (path != "/drill/now"), "there the name stands in links only"


# ---------------------------------------------------------------- twins, people and roles


def test_every_drill_page_has_a_twin_that_is_json(forms):
    forms.begin()
    forms.found()
    drill = forms.end()
    forms.score(drill)
    forms.begin(seed="2")
    pages = {"/drill": {}, "/drill/now": {}, "/drill/decide": {}, "/drill/class": {}}
    pages |= {"/drill/test": {"test": "F2"}, "/drill/score": {"drill": drill}}
    for path, query in pages.items():
        page = forms.get(path, **query)
        assert page.status_code == 200, path
        assert 'rel="alternate" type="application/json"' in page.text
        twin = forms.json(path, **query)
        assert twin["schema"].startswith("wearline.page.drill")


def test_who_may_read_may_drill_under_the_own_name_only(door, drills, csrf):
    reader, other = door.person("anna", "reads"), door.person("boris", "reads")
    anna, boris = Forms(reader, csrf(reader), ""), Forms(other, csrf(other), "")
    anna.begin()
    anna.take("F2", "2R")
    assert anna.json("/drill")["open"][0]["person"] == "anna"
    assert boris.json("/drill")["open"] == []
    assert boris.get("/drill/now").status_code == 404
    for path in ("/drill", "/drill/now", "/drill/decide", "/drill/score"):
        refused = other.get(path, params={"person": "anna", "drill": anna.head()["id"]})
        assert refused.status_code == 403, path
        assert says(refused, "another person")
    stolen = anna.form() | {"csrf": boris.csrf, "test": "F3", "at": ["2R"]}
    assert boris.post("/drill/test", stolen).status_code == 404
    assert boris.post("/drill/test", stolen | {"person": "anna"}).status_code == 403
    anna.found()
    drill = anna.end()
    anna.score(drill)
    assert boris.get("/drill/score", drill=drill).status_code == 404
    assert progress_answer(drills, "anna")["drills"]
    assert not [row for row in door.shop.journal.trail(limit=100) if "drill" in row.action]


def test_nobody_drills_without_a_login(door):
    stranger = door.client()
    assert stranger.get("/drill").status_code == 303
    assert stranger.get("/drill.json").status_code == 401
    refused = stranger.post("/drill/begin", data={"level": "4"}, headers={"origin": "https://shop.test"})
    assert refused.status_code == 401


# ---------------------------------------------------------------- papers for a class


def papers(forms, **wanted):
    form = forms.mine | {"level": "4", "cases": "1", "seed": "1"} | wanted
    return forms.post("/drill/class", form)


def test_the_papers_of_a_class(forms):
    made = papers(forms, cases="2")
    assert made.status_code == 303
    query = {"level": "4", "cases": "2", "seed": "1"}
    deadline = time.monotonic() + 60
    while not (page := forms.client.get("/drill/class.json", params=query).json())["ready"]:
        assert page["state"]["working"], page
        assert time.monotonic() < deadline
        time.sleep(0.05)
    sheet, answers = (
        PdfReader(io.BytesIO(forms.client.get(path, params=query).content))
        for path in ("/drill/class.pdf", "/drill/class-answers.pdf")
    )
    assert len(sheet.pages) == 2, "one page to a case"
    assert "A3" not in "\n".join(page.extract_text() for page in sheet.pages), "not for the class to read"
    assert "A3 adjuster does not hold" in "\n".join(page.extract_text() for page in answers.pages)
    assert "Answers (PDF)" in forms.client.get("/drill/class", params=query).text


def test_papers_that_were_not_made_are_not_there(forms):
    for path in ("/drill/class.pdf", "/drill/class-answers.pdf"):
        answer = forms.client.get(path, params={"level": "4", "cases": "1", "seed": "7"})
        assert answer.status_code == 404


@pytest.mark.parametrize(
    ("wrong", "what"),
    [
        ({"level": "9"}, "there is no level"),
        ({"cases": "0"}, "is no number of cases"),
        ({"cases": "25"}, "is no number of cases"),
        ({"cases": "many"}, "is no number of cases"),
        ({"seed": "-1"}, "is no seed"),
        ({"seed": "9" * 12}, "is no seed"),
    ],
)
def test_wrong_wishes_for_papers_are_refused(forms, wrong, what):
    refused = papers(forms, **wrong)
    assert refused.status_code == 422
    assert says(refused, what)
    query = {"level": "4", "cases": "1", "seed": "1"} | wrong
    assert forms.client.get("/drill/class.pdf", params=query).status_code == 422


def test_papers_are_for_those_who_sign(door, drills, csrf):
    """The answers tell what is hidden: who only drills does not get them."""
    reader = door.person("anna", "reads", "measures")
    query = {"level": "4", "cases": "1", "seed": "1"}
    for path in ("/drill/class", "/drill/class.pdf", "/drill/class-answers.pdf", "/drill/class.json"):
        assert reader.get(path, params=query).status_code == 403, path
    assert papers(Forms(reader, csrf(reader), "")).status_code == 403
    assert "/drill/class" not in reader.get("/drill").text
    signer = door.person("sign", "signs")
    assert signer.get("/drill/class").status_code == 200


# ---------------------------------------------------------------- charts


def test_the_progress_chart_has_a_sign_for_each_drill_and_follows_the_theme():
    names = {1: "one fault", 2: "chain", 4: "victim mate"}
    picture = draw_progress([(20.0, 1), (60.0, 2), (100.0, 4), (90.0, 4)], names)
    root = ET.fromstring(picture.svg)
    space = "{http://www.w3.org/2000/svg}"
    # Level 4 is the third of three: a triangle; two in the chart and one in the legend.
    assert len(root.findall(f"{space}circle")) == 1 + 1
    assert len(root.findall(f"{space}rect")) == 1 + 1
    assert len(root.findall(f"{space}polygon")) == 2 + 1
    classes = {name for each in root.iter() for name in each.get("class", "").split()}
    assert {"f-ink", "s-good"} <= classes
    # Mean of 20, 60, 100 and 90 by hand.
    assert "mean of the last five 68" in picture.alt


def test_the_two_routes_are_drawn_on_one_scale():
    picture = draw_routes([("F2 2R", 17.0), ("F3 2R", 11.5)], [("F7 2R", 21.0)])
    boxes = ET.fromstring(picture.svg).findall("{http://www.w3.org/2000/svg}rect")
    widths = [float(box.get("width")) for box in boxes]
    assert widths[0] / widths[2] == pytest.approx(17 / 21, rel=1e-3)
    assert "28.5 min" in picture.svg
    assert "Best route" not in draw_routes([], None).alt


# ---------------------------------------------------------------- work in the background


class Nothing(Beside):
    """Works where it is asked to."""

    def __init__(self):
        pass

    def close(self):
        pass


def waits(check, patience=10.0):
    deadline = time.monotonic() + patience
    while not check():
        assert time.monotonic() < deadline
        time.sleep(0.01)


def test_what_somebody_waits_for_comes_first_and_is_done_once(tmp_path):
    desk, gate, done = DrillDesk(tmp_path, Nothing()), threading.Event(), []
    desk.begin("first", (lambda _: gate.wait(10),))
    desk.begin("second", (lambda _: done.append("second"),))
    for _ in range(2):
        desk.follow("third", (lambda _: done.append("third"),), "key", lambda: done.append("followed"))
    assert desk.awaits("key")
    assert desk.look("second").before == 2
    gate.set()
    waits(lambda: len(done) == 3)
    assert done == ["third", "followed", "second"]
    waits(lambda: not desk.look("second").working)
    desk.stop()


def test_a_fault_of_the_work_is_told_and_the_next_goes_on(tmp_path, capsys):
    def fails(_):
        raise InputError("the folder is full", cure="Make room")

    def breaks(_):
        raise ZeroDivisionError

    desk, done = DrillDesk(tmp_path, Nothing()), []
    desk.begin("a", (fails, lambda _: done.append("never")))
    desk.begin("b", (breaks,))
    desk.begin("c", (lambda _: done.append("c"),))
    waits(lambda: done == ["c"])
    waits(lambda: not desk.look("c").working)
    assert "the folder is full" in desk.look("a").fault
    assert desk.look("b").fault == "the program failed: ZeroDivisionError"
    assert "ZeroDivisionError" in capsys.readouterr().err
    desk.stop()
    desk.begin("d", (lambda _: done.append("d"),))
    assert done == ["c"], "nothing begins after the end"


def test_a_seed_without_a_fair_vehicle_is_passed_over(tmp_path, monkeypatch):
    tried = []

    def picky(level, seed):
        tried.append(seed)
        if len(tried) < 3:
            raise ProgramFault("no fair case came up")

    monkeypatch.setattr(drill_desk, "case_of", picky)
    desk = DrillDesk(tmp_path, Nothing())
    assert desk.fresh_seed(4) == tried[-1]
    assert len(tried) == 3
    monkeypatch.setattr(drill_desk, "case_of", lambda *_: (_ for _ in ()).throw(ProgramFault("none")))
    with pytest.raises(ProgramFault, match="no vehicle of level 4 came up with 5 seeds"):
        desk.fresh_seed(4)


def test_the_stock_holds_vehicles_of_every_level_and_is_filled_again(tmp_path, monkeypatch):
    drawn = []
    monkeypatch.setattr(drill_desk, "case_of", lambda level, seed: drawn.append((level, seed)))
    desk = DrillDesk(tmp_path, Nothing())
    desk.prepare()
    waits(lambda: len(drawn) == 6 * 4)
    assert sorted({level for level, _ in drawn}) == [1, 2, 3, 4, 5, 6]
    waits(lambda: (2, desk.fresh_seed(2)) in drawn[:24])
    assert len(drawn) == 24, "what is in stock is not drawn again"
    waits(lambda: desk.prepare() or len(drawn) == 25)
    desk.stop()
    desk.prepare()
    assert len(drawn) == 25
