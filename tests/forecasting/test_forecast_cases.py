"""Single inspections of invented vehicles: distance of the thinnest corner to 3 mm, within 10 %.

Expected: thinnest corner at its own mean rate since fitting, reading u 0.15 mm, new thickness u 0.2 mm,
coming duty lognormal 15 % (hand sums that came with the invented inspections).
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from wearline.app.judging import Request, open_inspection
from wearline.forecasting.clocks import DatedInspection
from wearline.forecasting.outlook import Options, forecast_wear

CASES = Path(__file__).parents[1] / "cases"


def outlook_of(name, **options):
    opened = open_inspection(Request(path=CASES / f"{name}.toml", today=date(2026, 12, 1)))
    return forecast_wear(
        [DatedInspection(name, opened.inspection)], opened.catalogue, None, Options(**options)
    )


@pytest.mark.parametrize(
    ("name", "axles", "median", "low"),
    [
        ("A1", ("2",), 113e6, 88e6),
        ("A2", ("1",), 303e6, 236e6),
        ("A3", ("1",), 37e6, 29e6),
        ("A4", ("1", "3"), 114e6, 89e6),
        ("A6", ("1", "2", "4"), 21e6, 16.5e6),
        ("B2", ("2",), 116e6, 90e6),
        ("B5", ("1", "2"), 104e6, 81e6),
    ],
)
def test_distance_of_a_single_inspection(name, axles, median, low):
    found = outlook_of(name)
    rows = [axle for axle in found.axles if axle.axle in axles]
    first = min(rows, key=lambda axle: axle.median)
    assert first.median == pytest.approx(median, rel=0.10)
    assert first.p05 == pytest.approx(low, rel=0.10)
    ends = [end.limits[0] for end in found.ends if end.info.place.axle in axles]
    thinnest = min(ends, key=lambda row: row.median)
    assert thinnest.median == pytest.approx(median, rel=0.10)
    assert thinnest.p05 == pytest.approx(low, rel=0.10)


def test_a_pad_below_the_limit_has_no_distance_left():
    """A4, 2L reads 2.2 mm at its thinnest corner, below 3 mm."""
    rows = [end.limits[0] for end in outlook_of("A4").ends if str(end.info.place) == "2L"]
    assert rows[0].median == 0.0
    assert rows[0].p_beyond == pytest.approx(1.0, abs=0.01)


def test_a_stuck_calliper_does_not_hide_behind_its_indicator():
    """A1, 1R: indicator 40 % with the calliper stuck, inner pad at 3.2 mm: the pads decide, not the mark."""
    end = next(end for end in outlook_of("A1").ends if str(end.info.place) == "1R")
    assert end.limits[0].median < 5e6


def test_the_same_question_has_the_same_answer():
    assert outlook_of("A2").axles[0].median == outlook_of("A2").axles[0].median


def test_the_next_visit_can_be_set():
    near = next(a for a in outlook_of("A6", before=1e7).axles if a.axle == "1")
    far = next(a for a in outlook_of("A6", before=4e7).axles if a.axle == "1")
    assert near.p_beyond < 0.01
    assert far.p_beyond > 0.95


def test_boots_rotor_and_play_have_clocks_of_their_own():
    parts = {row.part for end in outlook_of("A2").ends for row in end.limits}
    assert parts == {"pads", "rotor", "play", "boots"}
    torn = [
        row for end in outlook_of("A1").ends for row in end.limits if row.part == "boots" and row.at == "1R"
    ]
    assert torn[0].p95 == 0.0
