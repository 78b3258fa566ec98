"""What a fleet does with its pads: friction thrown away, limits crossed, ends worth a look, drawings."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from datetime import UTC, datetime

import pytest
from test_forecast_history import inspection

from wearline.app.fleet_wear import fleet_wear
from wearline.app.shop_file import ShopFile
from wearline.catalogue.loading import load_catalogue
from wearline.cli.main import run
from wearline.forecasting.axes import DatedInspection
from wearline.forecasting.outlook import forecast_wear
from wearline.forecasting.pad_lives import axle_sets, end_sets
from wearline.reports.fleet_plot import draw_fleet_wear, fleet_pictures
from wearline.storage.opening import open_store

NEW, LIMIT = 21.0, 3.0


def _truck(name, rate, left, *, renew_at=3, since0=20_000, step=20_000, looks=6, mate=1.0):
    """Looks every 20 000 km; pads come off after look ``renew_at`` with ``left`` mm, recorded."""
    rows, start = [], 100_000 - since0
    for look in range(looks):
        km = 100_000 + step * look
        if look == renew_at + 1:
            start = 100_000 + step * renew_at
        run = km - start
        mm = left if look == renew_at and left is not None else NEW - rate * run / 10_000
        ends = {"1L": round(mm, 2), "1R": round(NEW - mate * (NEW - mm), 2)}
        rows.append(inspection(100 * look, km, ends, vehicle=name, since=run))
    return rows


def _found(*trucks):
    history = [
        DatedInspection(f"{each.vehicle.id}-{n}", each) for rows in trucks for n, each in enumerate(rows)
    ]
    return forecast_wear(history, load_catalogue())


def test_a_pad_set_is_told_from_fitting_to_renewal():
    """1 mm in 10 000 km over 80 000 km leaves 13 mm; least squares of the readings finds the rate again."""
    first, second = end_sets(_found(_truck("A", 1.0, None)))[:2]
    assert (first.start / 1e6, first.renewed / 1e6) == pytest.approx((80.0, 160.0))
    assert first.rate * 1e10 == pytest.approx(1.0, rel=0.01)
    assert first.left * 1e3 == pytest.approx(13.0, abs=0.01)
    assert second.renewed != second.renewed
    pair = axle_sets(end_sets(_found(_truck("A", 1.0, None))))
    assert [len(each.ends) for each in pair] == [2, 2]


def test_friction_thrown_away_is_counted_in_mm_and_money():
    """Off with 13 mm, limit 3: 10 mm of 18 usable at 450 a set is 250 (7.7 of the domain paper, by hand)."""
    trucks = [_truck(name, 1.0, None) for name in "ABC"]
    wear = fleet_wear(_found(*trucks), ShopFile(pad_set=450.0, said=frozenset({"pad_set"})))
    renewals = wear["renewals"]
    assert renewals["count"] == 3
    assert renewals["wasted_mm"] == pytest.approx(30.0, abs=0.1)
    assert renewals["wasted_money"] == pytest.approx(750.0, abs=1.0)
    assert (renewals["early"], renewals["late"]) == (3, 0)
    assert sum(count for _, count in renewals["left_mm"]) == 3
    assert wear["price_is_invented"] is False


def test_pads_found_below_the_limit_are_named():
    """2.2 mm/10 000 km over 80 000 km leave 3.4 mm on the left, 2.5 mm on the right: the right crossed."""
    trucks = [_truck("A", 2.2, None, mate=1.05), _truck("B", 1.0, None), _truck("C", 1.0, None)]
    wear = fleet_wear(_found(*trucks))
    assert [(row["vehicle"], row["at"], row["still_on"]) for row in wear["crossed"]] == [("A", "1R", False)]
    assert wear["crossed"][0]["thinnest_mm"] == pytest.approx(2.52, abs=0.01)
    assert wear["renewals"]["late"] == 1
    assert wear["price_is_invented"] is True


def test_an_end_that_wears_unlike_its_mate_is_worth_a_look():
    trucks = [_truck(name, 1.0, None) for name in "ABCD"] + [_truck("E", 1.0, None, mate=1.6)]
    wear = fleet_wear(_found(*trucks))
    named = [(row["vehicle"], row["at"]) for row in wear["outliers"]]
    assert named[0] == ("E", "1R")
    assert all(vehicle == "E" for vehicle, _ in named)
    assert wear["outliers"][0]["mate_ratio"] == pytest.approx(1.6, rel=0.1)


def test_the_drawing_holds_every_part_and_is_well_formed():
    trucks = [_truck("A", 2.2, None, mate=1.05)] + [_truck(n, 1.0, None) for n in "BCD"]
    wear = fleet_wear(_found(*trucks, _truck("E", 1.0, None, mate=1.7)))
    svg = draw_fleet_wear(wear)
    ET.fromstring(svg)
    for words in (
        "How long pads last",
        "service limit 3 mm",
        "Pads that crossed the limit",
        "times its mate",
    ):
        assert words in svg
    pictures = fleet_pictures(wear)
    assert len(pictures) == 4
    assert "thrown away" in pictures[1].alt
    quiet = wear | {"crossed": [], "renewals": wear["renewals"] | {"count": 0}}
    assert len(fleet_pictures(quiet)) == 2


def test_the_command_writes_the_drawing_and_the_answer_carries_the_numbers(tmp_path, capsys):
    path = str(tmp_path / "fleet.db")
    with open_store(path) as store:
        for name in "ABC":
            for each in _truck(name, 1.0, None):
                store.keep(each, kept_by="test", kept_at=datetime(2026, 1, 1, tzinfo=UTC))
    plot = tmp_path / "fleet.svg"
    run(["outlook", "--database", path, "--fleet-plot", str(plot), "--json"])
    answer = json.loads(capsys.readouterr().out)
    assert answer["fleet_wear"]["renewals"]["count"] == 3
    assert "The pads of the fleet" in plot.read_text()
    empty = str(tmp_path / "empty.db")
    open_store(empty).close()
    assert run(["outlook", "--database", empty, "--fleet-plot", str(plot)]) == 2
    assert "no pad to draw a fleet of" in capsys.readouterr().err
