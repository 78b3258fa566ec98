"""Plots: valid charts, drawn without network, in the project's colours, never by colour alone."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from wearline.assessment.capability import stop_estimate
from wearline.assessment.descents import DescentTask, plan_descent
from wearline.assessment.rotor_runs import RunTask, run_rotor
from wearline.assessment.tester_curves import judge_curves
from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError
from wearline.records.drive import Drive
from wearline.reports.palette import DARK, LIGHT
from wearline.reports.plots import (
    chart_svg,
    curve_chart,
    descent_chart,
    proof_chart,
    rotor_profile_chart,
    rotor_time_chart,
    stop_chart,
    write_chart,
)

sys.path.insert(0, str(Path(__file__).parents[1] / "assessment"))
from proof_pairs import as_left, proof_of
from tester_records import Truth, record, sound

DESIGN = load_catalogue().design("generic-22.5", date(2026, 11, 25))


@pytest.fixture(scope="module")
def charts(tmp_path_factory):
    run = run_rotor(Drive((0.0, 5.0, 30.0), (25.0, 0.0, 0.0)), RunTask(18e3, 0.25), DESIGN)
    plan = plan_descent(DescentTask(40e3, 0.06, 5e3, 10.0, retarder=150e3), DESIGN)
    folder = tmp_path_factory.mktemp("proof")
    return {
        "descent": descent_chart(plan),
        "stop": stop_chart(stop_estimate(17_800.0, 89e3, 101.6e3, 1.3e3)),
        "proof": proof_chart(proof_of(as_left({"2L": 22.4, "2R": 21.9}), folder)),
        "curves": curve_chart(
            judge_curves([record("1L", sound(rises=1)), record("1R", Truth(rises=1, slope=0.03))])
        ),
        "rotor over time": rotor_time_chart(run.history, limit=523.15),
        "rotor through": rotor_profile_chart(run.history, run.profile_times, run.thickness),
    }


NAMES = ["descent", "stop", "proof", "curves", "rotor over time", "rotor through"]


@pytest.mark.parametrize("name", NAMES)
def test_charts_follow_the_published_grammar(charts, name):
    """The JSON schema of Vega-Lite, by Altair."""
    import altair

    altair.Chart.from_dict(dict(charts[name]))


@pytest.mark.parametrize("name", NAMES)
def test_charts_are_drawn_and_load_nothing(charts, name):
    drawn = chart_svg(charts[name])
    assert drawn.startswith("<svg")
    assert drawn.count("<path") > 3
    assert "<script" not in drawn
    assert "href" not in drawn.replace("xmlns:xlink", "")


@pytest.mark.parametrize("name", NAMES)
def test_colours_are_those_of_the_palette(charts, name):
    import re

    used = set(re.findall(r"#[0-9a-fA-F]{6}", chart_svg(charts[name]))) - {"#000000"}
    assert used <= set(LIGHT.colours().values())


def test_lines_differ_in_dash_as_well_as_in_colour(charts):
    layer = charts["descent"]["layer"][0]["encoding"]
    dashes = layer["strokeDash"]["scale"]["range"]
    assert len(dashes) == len({tuple(dash) for dash in dashes})


def test_dark_paper(charts):
    dark = stop_chart(stop_estimate(17_800.0, 89e3, 101.6e3, 1.3e3), DARK)
    assert DARK.paper in chart_svg(dark)


def test_figures_are_in_the_picture(charts):
    """36 m now, 33 m in order: 16.667 x 0.5 + 16.667^2 / (2 F / m)."""
    drawn = chart_svg(charts["stop"])
    assert ">36 m<" in drawn
    assert ">33 m<" in drawn
    assert "retarder 150 kW" in chart_svg(charts["descent"])


def test_no_peak_is_lost_when_points_are_thinned():
    run = run_rotor(Drive((0.0, 5.0, 2000.0), (25.0, 0.0, 0.0)), RunTask(18e3, 0.25), DESIGN)
    values = [row["y"] for row in rotor_time_chart(run.history)["layer"][0]["data"]["values"]]
    assert max(values) == pytest.approx(run.peak - 273.15)
    assert len(values) < 3000
    assert np.isfinite(values).all()


@pytest.mark.parametrize(("ending", "begins"), [("svg", b"<svg"), ("png", b"\x89PNG"), ("pdf", b"%PDF")])
def test_kinds_of_file(charts, tmp_path, ending, begins):
    path = write_chart(charts["stop"], tmp_path / f"stop.{ending}")
    assert path.read_bytes().startswith(begins)


def test_files_that_cannot_be_written(charts, tmp_path):
    with pytest.raises(InputError, match="does not say what kind of picture"):
        write_chart(charts["stop"], tmp_path / "stop.gif")
    with pytest.raises(InputError, match="cannot be written"):
        write_chart(charts["stop"], tmp_path / "no" / "stop.svg")
