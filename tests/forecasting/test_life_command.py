"""Lives of parts from looks: what is known, what is left out, a batch against the others, clear refusals."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from importlib import resources

import jsonschema
import numpy as np
import pytest

from wearline.app.part_life import parts_with_lives
from wearline.catalogue.loading import load_catalogue
from wearline.cli.main import run
from wearline.forecasting.axes import DatedInspection
from wearline.forecasting.life_data import LifeFit, Lives, batch_against_expectation, fit_lives
from wearline.forecasting.outlook import forecast_wear
from wearline.forecasting.part_lives import (
    as_lives,
    chance_before,
    lives_of_field,
    lives_of_pads,
    widest_curve,
)
from wearline.ingest.document import inspection_from_document
from wearline.practice.fleet import SCENARIO_DAY
from wearline.practice.sisters import sister_vehicles
from wearline.records.inspection import Axle, Inspection, Vehicle, WheelEnd
from wearline.records.place import WheelEndPlace
from wearline.records.readings import CORNERS, Measured, Observed
from wearline.storage.opening import open_store

START = date(2024, 1, 10)
CATALOGUE = load_catalogue()


def _looks(*rows, vehicle="V1"):
    """One wheel end: (thousand km, boot, mm) at each look."""
    told = Vehicle(vehicle, (Axle("1", "steer", "generic-22.5"),), duty="regional")
    history = []
    for n, (km, boot, friction) in enumerate(rows):
        reading = Measured(friction * 1e-3, f"{friction} mm", "mm", 1e-4)
        keys = {(f"pad_{pad}", corner): reading for pad in ("inner", "outer") for corner in CORNERS}
        if boot:
            keys[("guide_pin_boot", "")] = Observed(boot, boot)
        end = WheelEnd(WheelEndPlace.parse("1L"), keys)
        history.append(
            DatedInspection(
                f"{vehicle}-{n}",
                Inspection(told, START + timedelta(days=100 * n), (end,), odometer=km * 1e6),
            )
        )
    return history


def _boots(history):
    found = forecast_wear(history, CATALOGUE)
    return lives_of_field(found, CATALOGUE.fields["guide_pin_boot"], CATALOGUE, unit="km")


def test_a_boot_ends_between_two_looks_and_its_successor_begins_there():
    """Sound at 100, torn at 140: it ended between; sound again at 170: a new one, 30 old, on still."""
    told = _boots(_looks((100, "sound", 18.0), (120, "", 17.0), (140, "torn", 16.0), (170, "sound", 15.0)))
    rows = [(each.entry / 1e6, each.low / 1e6, each.high / 1e6) for each in told.lives]
    assert rows == [(100.0, 100.0, 140.0), (0.0, 30.0, np.inf)]
    assert (told.failed_at_first, told.seen_once) == (0, 0)


def test_what_nobody_saw_begin_or_end_is_counted_and_left_out():
    first = _boots(
        _looks((100, "torn", 18.0), (120, "torn", 17.0), (140, "sound", 16.0), (150, "sound", 15.0))
    )
    assert first.failed_at_first == 1
    assert [(each.entry, each.low / 1e6) for each in first.lives] == [(0.0, 30.0)]
    once = _boots(_looks((100, "sound", 18.0), (120, "", 17.0)))
    assert (once.lives, once.seen_once) == ((), 1)


def test_a_word_between_good_and_fault_is_not_the_end():
    """A boot that 'leaks' is a fault in the catalogue; a part that only asks for a look lives on."""
    meanings = CATALOGUE.fields["guide_pin_boot"].words
    assert str(meanings["leaks"]) == "fault"
    told = _boots(_looks((100, "sound", 18.0), (140, "leaks", 16.0)))
    assert told.lives[0].failed


def test_a_measured_part_ends_beyond_its_limit():
    """Guide play: 3 mm (0.118 in) is the limit of common practice."""
    history = _looks((100, "", 18.0), (140, "", 16.0))
    for item, play in zip(history, (2.0e-3, 3.4e-3), strict=True):
        end = item.inspection.wheel_ends[0]
        end.readings[("tangential_play", "")] = Measured(play, f"{play}", "m", 1e-5)  # type: ignore[index]
    found = forecast_wear(history, CATALOGUE)
    told = lives_of_field(found, CATALOGUE.fields["tangential_play"], CATALOGUE, unit="km")
    assert [(each.low / 1e6, each.high / 1e6) for each in told.lives] == [(100.0, 140.0)]


def test_looks_find_the_weibull_that_parts_were_drawn_from():
    """400 boots, slope 2 and 300 thousand km, looked at every 40 from a drawn age on: both within 10 %.

    The fit knows only between which looks each ended; drawn from the exact distribution, fixed seed.
    """
    rng = np.random.default_rng(12)
    low, high, entry = [], [], []
    while len(low) < 400:
        life, first = 300.0 * rng.weibull(2.0), rng.uniform(0.0, 150.0)
        if life <= first:
            continue
        looks = first + 40.0 * np.arange(8)
        seen = looks[looks < life]
        entry.append(first)
        low.append(seen[-1])
        high.append(looks[seen.size] if seen.size < looks.size else np.inf)
    fit = fit_lives(Lives.of(np.array(low), np.array(high), np.array(entry)), "weibull")
    assert 1.0 / fit.scale == pytest.approx(2.0, rel=0.10)
    assert np.exp(fit.location) == pytest.approx(300.0, rel=0.10)


def test_the_interval_of_a_batch_covers_its_true_ratio_as_often_as_it_says():
    """Constant hazard, batch three times as weak: 95 % of 400 fleets is 380; the exact one covers more."""
    rng = np.random.default_rng(13)
    rest = LifeFit("weibull", float(np.log(1000.0)), 1.0, np.zeros((2, 2)), 0.0)
    inside = 0
    for _ in range(400):
        life = 1000.0 / 3.0 * rng.exponential(size=40)
        failed = life < 200.0
        rate = batch_against_expectation(np.minimum(life, 200.0), np.zeros(40), failed, rest)
        inside += rate.low <= 3.0 <= rate.high
    assert 372 <= inside <= 400


def test_the_chance_ahead_is_that_of_the_hazard():
    """Constant hazard of 1 in 1000, three times as weak, 100 ahead: 1 - exp(-0.3), whatever the age."""
    rest = LifeFit("weibull", float(np.log(1000.0)), 1.0, np.zeros((2, 2)), 0.0)
    found = chance_before(rest, np.array([10.0, 900.0]), 100.0, 3.0)
    assert found == pytest.approx([1.0 - np.exp(-0.3)] * 2, rel=1e-9)


def test_the_curve_begins_where_enough_parts_are_looked_after():
    """The one part that enters at 0 and dies at once would send the curve to nothing: it begins later."""
    low = np.array([1.0, *np.arange(50.0, 70.0)])
    entry = np.array([0.0, *np.full(20, 40.0)])
    curve = widest_curve(Lives.of(low, low.copy(), entry))
    assert curve is not None
    assert curve.since == 40.0
    assert curve.share[0] == pytest.approx(19 / 20)
    assert widest_curve(Lives.of(low, np.full(21, np.inf), entry)) is None


def test_pads_last_from_their_fitting_to_their_renewal():
    found = forecast_wear(
        [
            DatedInspection(
                f"s{n}",
                inspection_from_document(
                    item.inspection.document, where=item.vehicle, today=SCENARIO_DAY, catalogue=CATALOGUE
                ),
            )
            for n, item in enumerate(sister_vehicles(1)[:16])
        ],
        CATALOGUE,
    )
    told = lives_of_pads(found, unit="km")
    lives = as_lives(told.lives, lambda metres: metres / 1e6)
    assert 0 < np.isfinite(lives.high).sum() < lives.low.size
    assert (lives.high[np.isfinite(lives.high)] < 150.0).all()


@pytest.fixture(scope="module")
def fleet(tmp_path_factory):
    path = tmp_path_factory.mktemp("life") / "fleet.db"
    with open_store(str(path)) as store:
        for item in sister_vehicles(20_260_914):
            inspection = inspection_from_document(
                item.inspection.document, where=item.vehicle, today=SCENARIO_DAY, catalogue=CATALOGUE
            )
            store.keep(inspection, kept_by="test", kept_at=datetime(2026, 9, 14, tzinfo=UTC))
    return str(path)


def test_the_weak_build_of_callipers_is_found(fleet, tmp_path, capsys):
    plot = tmp_path / "life.svg"
    words = ["life", "guide_pin_boot", "--database", fleet, "--batch", "calliper_batch=2024-31"]
    assert run([*words, "--plot", str(plot)]) == 1
    told = capsys.readouterr().out
    assert told.startswith("Guide-pin boots: ")
    assert "The batch fails more often." in told.splitlines()[0]
    assert "found failed" in told
    assert "calliper batch 2024-31" in plot.read_text()
    assert run([*words, "--json", "--before", "30000"]) == 1
    answer = json.loads(capsys.readouterr().out)
    schema = json.loads((resources.files("wearline.app") / "schemas" / "life.json").read_text("utf-8"))
    jsonschema.validate(answer, schema)
    batch = answer["batch"]
    assert batch["low"] > 1.0
    chances = [row["p_fails_before"] for row in batch["list"] if row["p_fails_before"] is not None]
    assert chances == sorted(chances, reverse=True)
    assert batch["before"] == 30_000.0


def test_the_other_build_is_no_worse_and_a_part_without_failures_says_its_bound(fleet, capsys):
    assert run(["life", "guide_pin_boot", "--database", fleet, "--batch", "calliper_batch=2023-12"]) == 0
    assert "fails more often" not in capsys.readouterr().out
    assert run(["life", "tappet_boot", "--database", fleet]) == 0
    told = capsys.readouterr().out.splitlines()[0]
    assert "failed" in told
    assert run(["life", "pads", "--database", fleet]) == 0
    assert "came off" in capsys.readouterr().out.splitlines()[0]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["paint"], "'paint' is no part with a life"),
        (["guide_pin_boot", "--batch", "2024"], "'2024' names no batch"),
        (["guide_pin_boot", "--batch", "calliper_batch=1999"], "with calliper_batch '1999' was ever fitted"),
        (["guide_pin_boot", "--batch", "colour=red"], "inspections that say colour"),
        (["stem_cap"], "no stem_cap was looked at twice"),
        (["guide_pin_boot", "--before", "-3"], "--before is -3 km"),
    ],
)
def test_what_has_no_life_is_refused(fleet, capsys, words, said):
    assert run(["life", *words, "--database", fleet]) == 2
    assert said in capsys.readouterr().err


def test_parts_are_those_with_words_or_limits():
    known = parts_with_lives(CATALOGUE)
    assert {"pads", "guide_pin_boot", "tangential_play", "rotor_thickness"} <= set(known)
    assert "pad_part" not in known
