"""The commands outlook and plan: answers by their schemas, files that others read, clear refusals."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, date, datetime, timedelta
from importlib import resources
from pathlib import Path

import jsonschema
import pytest
from pypdf import PdfReader
from test_forecast_history import inspection

from wearline.app.forecasting import decisions_from
from wearline.app.scheduling import read_shops
from wearline.cli.main import run
from wearline.errors import FileFormatError, InputError
from wearline.reports.week_calendar import CalendarEvent, calendar_text
from wearline.storage.opening import open_store

CASES = Path(__file__).parents[1] / "cases"


def schema(name):
    return json.loads((resources.files("wearline.app") / "schemas" / f"{name}.json").read_text("utf-8"))


@pytest.fixture
def database(tmp_path):
    """Four invented buses with four looks each; bus 3 has little left."""
    path = tmp_path / "fleet.db"
    rates = [0.7, 0.8, 0.75, 1.9]
    with open_store(str(path)) as store:
        for number, rate in enumerate(rates):
            for look in range(4):
                km = 100_000 + 20_000 * look
                left = 21.0 - rate * (20_000 + 20_000 * look) / 10_000
                store.keep(
                    inspection(
                        100 * look,
                        km,
                        {"1L": left, "1R": left - 0.2, "2L": left + 0.4, "2R": left + 0.3},
                        vehicle=f"Bus {number}",
                        since=20_000 + 20_000 * look,
                        axles=("1", "2"),
                    ),
                    kept_by="test",
                    kept_at=datetime(2026, 1, 1, tzinfo=UTC),
                )
    return str(path)


def test_outlook_of_a_file_is_what_the_schema_says(capsys):
    code = run(["outlook", str(CASES / "A2.toml"), "--json", "--today", "2026-12-01"])
    answer = json.loads(capsys.readouterr().out)
    jsonschema.validate(answer, schema("outlook"))
    assert code == 1  # the play of 2L, 3.6 mm, is beyond its limit
    row = next(r for r in answer["wheel_ends"] if (r["at"], r["limit"]) == ("1R", "pad_service"))
    assert set(row) >= {"vehicle", "at", "limit", "km_p05", "km_median", "km_p95", "p_beyond_before"}
    assert row["km_p05"] < row["km_median"] < row["km_p95"]
    assert row["p_beyond_before"]["km"] == 60_000.0


def test_outlook_of_a_fleet_is_what_the_schema_says(capsys, database):
    run(["outlook", "--database", database, "--json", "--today", "2026-12-01"])
    answer = json.loads(capsys.readouterr().out)
    jsonschema.validate(answer, schema("outlook"))
    assert answer["fleet"]["learnt_from_vehicles"] == 4
    assert {row["vehicle"] for row in answer["present"]} == {f"Bus {n}" for n in range(4)}
    assert {group["role"] for group in answer["intervals"]} == {"steer", "drive"}


def test_one_vehicle_can_be_shown(capsys, database):
    run(["outlook", "--database", database, "--vehicle", "Bus 2", "--json", "--today", "2026-12-01"])
    answer = json.loads(capsys.readouterr().out)
    assert {row["vehicle"] for row in answer["wheel_ends"]} == {"Bus 2"}


def test_outlook_in_words_names_axles_and_cautions(capsys, database):
    run(["outlook", "--database", database, "--today", "2026-12-01"])
    out = capsys.readouterr().out
    assert "Bus 3 axle 1" in out
    assert "A forecast is no inspection" in out


def test_an_unknown_vehicle_is_refused(capsys, database):
    assert run(["outlook", "--database", database, "--vehicle", "Bus 9", "--json"]) == 2
    answer = json.loads(capsys.readouterr().out)
    assert "nothing is kept of 'Bus 9'" in answer["error"]["what"]


def test_the_drawing_has_a_panel_for_each_wheel_end(tmp_path):
    out = tmp_path / "fan.svg"
    run(["outlook", str(CASES / "A1.toml"), "--plot", str(out), "--today", "2026-12-01"])
    text = out.read_text("utf-8")
    assert text.startswith("<svg")
    for place in ("1L", "1R", "2L", "2R"):
        assert f"A1 {place}" in text


def test_a_plan_is_what_the_schema_says_and_its_files_agree(capsys, database, tmp_path):
    files = {kind: tmp_path / f"plan.{kind}" for kind in ("csv", "ics", "pdf")}
    words = ["plan", "--database", database, "--json", "--today", "2026-12-01", "--weeks", "10"]
    words += ["--csv", str(files["csv"]), "--calendar", str(files["ics"]), "--pdf", str(files["pdf"])]
    assert run(words) == 0
    answer = json.loads(capsys.readouterr().out)
    jsonschema.validate(answer, schema("plan"))
    assert answer["feasible"]
    assert answer["gap"] <= 0.005
    vehicles = [row["vehicle"] for row in answer["bookings"]]
    assert vehicles == ["Bus 3"] * len(vehicles)
    assert vehicles
    assert all(date.fromisoformat(row["begins_on"]).weekday() == 0 for row in answer["bookings"])

    with files["csv"].open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [row["vehicle"] for row in rows] == vehicles
    calendar = files["ics"].read_bytes()
    assert calendar.count(b"BEGIN:VEVENT") == len(vehicles)
    assert "Bus 3" in "".join(page.extract_text() for page in PdfReader(files["pdf"]).pages)


def test_a_plan_without_hours_says_what_is_missing(capsys, database, tmp_path):
    shops = tmp_path / "shops.toml"
    shops.write_text('[[shop]]\nname = "small"\nhours_per_week = 0\n', encoding="utf-8")
    words = ["plan", "--database", database, "--json", "--today", "2026-12-01", "--shops", str(shops)]
    assert run(words) == 1
    answer = json.loads(capsys.readouterr().out)
    assert not answer["feasible"]
    assert any("small lacks" in why and "Bus 3" in why for why in answer["not_possible"])


def test_shops_prices_and_absences_are_read(tmp_path):
    path = tmp_path / "shops.toml"
    path.write_text(
        '[[shop]]\nname = "A"\nhours_per_week = 30\n[[shop]]\nname = "B"\nhours_per_week = 20\n'
        '[prices]\nvisit = 90\npad_set = 250\n[vehicle."Bus 1"]\nshop = "B"\naway_weeks = [2, 3]\n',
        encoding="utf-8",
    )
    found = read_shops(path)
    assert dict(found.hours) == {"A": 30.0, "B": 20.0}
    assert (found.visit_cost, found.pad_set, found.home["Bus 1"]) == (90.0, 250.0, "B")
    assert found.away["Bus 1"] == {2, 3}


@pytest.mark.parametrize(
    "text", ["[[shop]]\nname = 1", "[shops]\n", "[[shop", '[vehicle."V"]\nshop = "nowhere"\n']
)
def test_a_wrong_file_of_shops_is_refused(tmp_path, text):
    path = tmp_path / "shops.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileFormatError, match="file of shops"):
        read_shops(path)


def test_decisions_are_read_and_others_refused():
    assert decisions_from(("a=use", "b=leave out", "c=miles")) == {
        "a": "use",
        "b": "leave out",
        "c": "miles",
    }
    with pytest.raises(InputError, match="is no decision"):
        decisions_from(("a=perhaps",))


def unfolded(text):
    """RFC 5545, 3.1: a line end followed by one blank is taken out."""
    return text.replace("\r\n ", "")


def test_the_calendar_keeps_the_standard():
    """RFC 5545: 3.1 line length in octets and ends, 3.3.11 escapes, 3.6.1 exclusive end of whole days."""
    event = CalendarEvent(
        "1@x", date(2026, 12, 28), 5, "Büs, eins; zwei\\drei", "Zeile\nzwei " + "ä" * 120, "shop"
    )
    text = calendar_text([event], made_at=datetime(2026, 12, 1, 10, tzinfo=UTC))
    lines = text.split("\r\n")
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert all(len(line.encode()) <= 75 for line in lines)
    whole = unfolded(text)
    assert "SUMMARY:Büs\\, eins\\; zwei\\\\drei\r\n" in whole
    assert "DESCRIPTION:Zeile\\nzwei " + "ä" * 120 + "\r\n" in whole
    assert "DTSTART;VALUE=DATE:20261228\r\n" in whole
    assert f"DTEND;VALUE=DATE:{date(2026, 12, 28) + timedelta(days=5):%Y%m%d}\r\n" in whole
    assert "DTSTAMP:20261201T100000Z\r\n" in whole


def test_a_vehicle_named_like_a_formula_does_no_harm_in_a_spreadsheet():
    from wearline.app.scheduling import _harmless

    out = io.StringIO()
    csv.writer(out).writerow([_harmless("=1+1"), _harmless("Bus 1")])
    assert out.getvalue() == "'=1+1,Bus 1\r\n"


def test_the_answer_in_hours_names_hours(tmp_path, capsys):
    """A vehicle counted in hours is answered in hours; the kilometres beside it stand for the usual work."""
    text = (CASES / "A1.toml").read_text()
    vehicle = text.index("[vehicle]\n") + len("[vehicle]\n")
    text = text[:vehicle] + 'wear_axis = "hours"\n' + text[vehicle:]
    taken = text.index("taken_on")
    text = text[:taken] + "hour_counter_h = 9000\nh_since_pads = 2500\n" + text[taken:]
    path = tmp_path / "hours.toml"
    path.write_text(text)
    run(["outlook", str(path), "--today", "2026-11-25"])
    told = capsys.readouterr().out
    assert " h   " in told
    assert "1 000 km stand for 20 h there" in told
    run(["outlook", str(path), "--json", "--today", "2026-11-25"])
    answer = json.loads(capsys.readouterr().out)
    row = answer["axles"][0]
    assert row["on_axis"]["unit"] == "h"
    # 50 km/h is what an hour stands for where nothing else is known (expert judgement)
    assert row["on_axis"]["median"] == pytest.approx(row["km_median"] / 50.0, rel=0.01)


def test_a_wrong_key_in_the_file_of_shops_is_refused(tmp_path):
    path = tmp_path / "shops.toml"
    for text, words in (
        ("[prices]\npadset = 3", r"'padset' is unknown in \[prices\]"),
        ("[prices]\npad_set = -3", "pad_set is -3"),
        ("[prices.pad_sets]\nhard = 'much'", "hard is 'much'"),
        ("[[shop]]\nname = 'a'\nhours = 3", r"'hours' is unknown in \[\[shop\]\]"),
    ):
        path.write_text(text)
        with pytest.raises(FileFormatError, match=words):
            read_shops(path)
    path.write_text("[prices]\npad_set = 380\nmiss = 2000\n[prices.pad_sets]\nhard = 420\n")
    shops = read_shops(path)
    assert (shops.pad_set_of("hard"), shops.pad_set_of("plain"), shops.miss) == (420.0, 380.0, 2000.0)
    assert shops.said == {"pad_set", "miss"}
