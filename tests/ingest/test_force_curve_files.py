"""Files of force curves: what is read, and every slip refused with its cure."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import FileFormatError, InputError, ReadingError
from wearline.ingest.tester_curves import curves_from_text, read_tester_curves

ROWS = "0,0.0,0.3\n1,1.0,3.8\n2,2.0,8.8\n3,3.0,13.8\n4,4.0,18.8\n"


def rows(at: str = "1L", text: str = ROWS) -> str:
    return "".join(f"{at},{line}\n" for line in text.split())


def test_columns_units_and_wheels():
    curves = curves_from_text("at,time_s,pressure_bar,force_kN\n" + rows() + rows("1R"), "t")
    assert ["1L", "1R"] == [str(curve.place) for curve in curves]
    run = curves[0].runs[0]
    assert (0.0, 1.0, 2.0, 3.0, 4.0) == run.time
    assert (0.0, 1e5, 2e5, 3e5, 4e5) == run.pressure
    assert pytest.approx((300.0, 3800.0, 8800.0, 13800.0, 18800.0)) == run.force
    assert curves[0].points == 5


@pytest.mark.parametrize(
    "text",
    [
        "at;time [s];pressure [bar];force [kN]\n" + rows().replace(",", ";"),
        "# a remark\n\nAT,Time_s,Pressure_kPa,Force_N\n"
        + "".join(f"1L,{i},{100 * i},{300 + 5000 * max(i - 0.3, 0)}\n" for i in range(5)),
        "at;time_s;pressure_bar;force_kN\n" + rows().replace(",", ";").replace(".", ","),
        "at\ttime_s\tpressure_bar\tforce_kN\n" + rows().replace(",", "\t"),
        "at,time_s,pressure_psi,force_kN\n"
        + "".join(f"1L,{i},{i * 14.5037738},{0.3 + 5 * max(i - 0.3, 0)}\n" for i in range(5)),
    ],
    ids=["semicolon", "SI and remarks", "decimal comma", "tab", "psi said"],
)
def test_other_ways_of_writing_the_same(text):
    run = curves_from_text(text, "t")[0].runs[0]
    assert pytest.approx((0.0, 1e5, 2e5, 3e5, 4e5), rel=1e-6) == run.pressure
    assert pytest.approx(18800.0, rel=0.02) == run.force[-1]


def test_runs_stand_by_themselves_and_times_may_be_missing():
    text = "at,run,pressure_bar,force_kN\n" + "".join(
        f"1L,{run},{p},{5 * p}\n" for run in (1, 2) for p in range(4)
    )
    curve = curves_from_text(text, "t")[0]
    assert len(curve.runs) == 2
    assert curve.runs[0].time == ()
    again = "at,run,time_s,pressure_bar,force_kN\n" + "".join(
        f"1L,{run},{p},{p},{5 * p}\n" for run in (1, 2) for p in range(4)
    )
    assert len(curves_from_text(again, "t")[0].runs) == 2  # time begins anew in each run


@pytest.mark.parametrize(
    ("heading", "body", "words"),
    [
        ("at,time_s,pressure_bar,force_kN", rows(text="0,0,0\n1,1,4\n2,2,9\n3,3,14\n"), "4 points"),
        (
            "at,time_s,pressure_bar,force_kN",
            rows(text="0,0,0.3\n1,20,8\n2,40,20\n3,60,28\n4,95,38\n"),
            "goes to 95.0 bar.*name the column pressure_psi",
        ),
        (
            "at,time_s,pressure_bar,force_kN",
            rows(text="0,0.3,0\n1,3.8,1\n2,8.8,2\n3,13.8,3\n4,18.8,4\n"),
            "swapped \\('force' goes to 4.0\\)",
        ),
        ("at,time_s,pressure_kN,force_bar", rows(), "'kN' is a unit of force: are the columns swapped"),
        ("at,time_s,pressure,force_kN", rows(), "names no unit"),
        ("at,time_s,pressure_furlong,force_kN", rows(), "gives pressure in 'furlong'"),
        ("at,time_s,pressure_bar,moment_Nm", rows(), "'moment_Nm' is no column"),
        ("at,time_s,pressure_bar,pressure_bar", rows(), "'pressure' stands twice"),
        ("at,time_s,pressure_bar", rows(), "the column 'force' is missing"),
        (
            "at,time_s,pressure_bar,force_kN",
            rows(text="0,0,0\n1,1,4\n3,2,9\n2,3,14\n4,4,19\n"),
            "line 5.*time runs back from 3 s to 2 s",
        ),
        ("at,time_s,pressure_bar,force_kN", rows().replace("8.8", "x"), "line 4, force.*'x' is not a number"),
        ("at,time_s,pressure_bar,force_kN", rows().replace("8.8", "nan"), "'nan' is not a number"),
        ("at,time_s,pressure_bar,force_kN", "1L,0,1\n", "the row has 3 columns"),
        ("at,time_s,pressure_bar,force_kN", rows("9Q"), "line 2: '9Q' is not the name of a wheel end"),
        ("at,time_s,pressure_bar,force_kN", rows().replace("18.8", "188"), "goes to 188 kN"),
        ("at,time_s,pressure_bar,force_kN", rows().replace("4.0,", "-4.0,"), "falls to -4.00 bar"),
        ("at,time_s,pressure_bar,force_kN", "", "no rows follow"),
    ],
)
def test_every_slip_is_refused_with_its_place_and_cure(heading, body, words):
    with pytest.raises(InputError, match=words) as refused:
        curves_from_text(f"{heading}\n{body}", "t")
    assert refused.value.cure
    assert refused.value.allowed


def test_files_that_cannot_be_read(tmp_path):
    with pytest.raises(FileFormatError, match="cannot be read"):
        read_tester_curves(tmp_path / "none.csv")
    (tmp_path / "binary.csv").write_bytes(b"\xff\xfe\x00\x81")
    with pytest.raises(FileFormatError, match="not text"):
        read_tester_curves(tmp_path / "binary.csv")
    with pytest.raises(FileFormatError, match="empty"):
        curves_from_text("# nothing\n", "t")
    good = tmp_path / "good.csv"
    good.write_text("at,time_s,pressure_bar,force_kN\n" + rows(), encoding="utf-8")
    assert len(read_tester_curves(good)) == 1


@settings(max_examples=200, deadline=None)
@given(text=st.text(alphabet="at,pressure_bfokN;\t\n0123456789.-1LR", max_size=200))
def test_any_text_gives_curves_or_one_clear_error(text):
    with suppress(FileFormatError, ReadingError):
        assert all(curve.points >= 5 for curve in curves_from_text(text, "t"))
