"""Comparing groups of pad sets: intervals cover the truth, and the command says when it cannot tell."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from importlib import resources

import jsonschema
import numpy as np
import pytest
from scipy import stats

from wearline.app.comparison import CompareRequest, compare_answer, group_keys, signed_percent
from wearline.app.forecasting import Question
from wearline.app.shop_file import ShopFile
from wearline.catalogue.loading import load_catalogue
from wearline.cli.main import run
from wearline.errors import DomainError, InputError
from wearline.forecasting.axes import DatedInspection
from wearline.forecasting.comparing import Shared, compare_groups, compare_pairs
from wearline.forecasting.group_sets import GroupedSet, compare_sets
from wearline.forecasting.outlook import forecast_wear
from wearline.ingest.document import inspection_from_document
from wearline.practice.fleet import SCENARIO_DAY
from wearline.practice.sisters import sister_vehicles, true_material_ratio
from wearline.storage.opening import open_store


def _sets(rng, truth, *, vehicles, paired, kinds=2):
    """Pad sets with spreads between vehicles, axles and sets; work of two kinds wears twice as fast."""
    sets, values = [], []
    for number in range(vehicles):
        own = 0.3 * rng.standard_normal()
        for kind in range(kinds):
            axle = 0.1 * rng.standard_normal() + 0.7 * kind
            groups = ("a", "b") if paired else (("a", "b")[number % 2],)
            for group in groups:
                log = own + axle + 0.12 * rng.standard_normal() + (np.log(truth) if group == "b" else 0.0)
                sets.append(GroupedSet(group, f"V{number}", str(kind), str(kind), "bus", 1e-10, 18e-3, 8e-3))
                values.append(np.exp(log))
    return sets, np.array(values)


@pytest.mark.parametrize("paired", [True, False])
def test_the_interval_covers_the_true_difference_as_often_as_it_says(paired):
    """95 % of 600 fleets: 570, and three standard deviations of a binomial are 16."""
    rng = np.random.default_rng(8)
    truth, inside = 1.25, 0
    for _ in range(600):
        sets, values = _sets(rng, truth, vehicles=14, paired=paired)
        found, was = compare_sets(sets, values, ("a", "b"), smallest=0.15, shared=Shared())
        assert was is paired
        inside += found.low <= truth <= found.high
    assert 554 <= inside <= 586


def test_pairs_show_a_difference_of_15_percent_as_often_as_the_count_promises():
    """The count needed is that of a power of 80 %; 14 pairs at a spread of 20 % (two-sided 5 %, normal)."""
    rng = np.random.default_rng(9)
    hits = 0
    for _ in range(1000):
        first = np.exp(0.3 * rng.standard_normal(14))
        found = compare_pairs(first, first * np.exp(0.15 + 0.2 * rng.standard_normal(14)))
        hits += found.low > 1.0
    # Student's t with 13 degrees of freedom, from its non-central distribution, has a little less
    expected = stats.nct.sf(stats.t.ppf(0.975, 13), 13, 0.15 / 0.2 * np.sqrt(14))
    assert hits / 1000 == pytest.approx(expected, abs=0.04)
    assert expected == pytest.approx(0.75, abs=0.03)


def test_what_all_sets_share_widens_the_interval_by_welch_and_satterthwaite():
    """u 0.05 with 4 degrees of freedom beside a standard error of 0.1 with 9 (hand sum)."""
    rng = np.random.default_rng(10)
    difference = rng.standard_normal(10)
    difference = 0.1 * np.sqrt(10) * (difference - difference.mean()) / difference.std(ddof=1)
    first = np.ones(10)
    found = compare_pairs(first, np.exp(difference), shared=Shared(0.05, 4.0))
    whole = np.hypot(0.1, 0.05)
    dof = whole**4 / (0.1**4 / 9 + 0.05**4 / 4)
    assert np.log(found.high) == pytest.approx(stats.t.ppf(0.975, dof) * whole, rel=1e-9)
    fewer = compare_groups(np.exp(difference), np.exp(difference + 0.1), shared=Shared(lost=2))
    more = compare_groups(np.exp(difference), np.exp(difference + 0.1))
    assert fewer.high > more.high


def test_groups_that_never_shared_their_work_are_refused():
    sets = [GroupedSet("ab"[n % 2], f"V{n}", "1", "steer", "xy"[n % 2], 1e-10, 1e-2, 8e-3) for n in range(8)]
    with pytest.raises(DomainError, match="never ran on the same kind of work"):
        compare_sets(sets, np.ones(8) * 2, ("a", "b"), smallest=0.15, shared=Shared())


def _sisters(seed):
    catalogue = load_catalogue()
    return [
        DatedInspection(
            f"s{number}",
            inspection_from_document(
                item.inspection.document, where=item.vehicle, today=SCENARIO_DAY, catalogue=catalogue
            ),
        )
        for number, item in enumerate(sister_vehicles(seed))
    ]


@pytest.fixture(scope="module")
def fleet(tmp_path_factory):
    path = tmp_path_factory.mktemp("compare") / "fleet.db"
    with open_store(str(path)) as store:
        for item in _sisters(1):
            store.keep(item.inspection, kept_by="test", kept_at=datetime(2026, 9, 14, tzinfo=UTC))
    return str(path)


@pytest.fixture(scope="module")
def outlook():
    return forecast_wear(_sisters(1), load_catalogue())


def _ask(by, **more):
    return CompareRequest(Question(None), by, ShopFile(**more.pop("shops", {})), **more)


def test_the_materials_of_the_sister_buses_differ_as_they_were_made_to():
    """Of four simulated fleets the wear interval covers the true ratio in three or more, and tells in all."""
    inside = 0
    for seed in (2, 3, 4, 5):
        found = forecast_wear(_sisters(seed), load_catalogue())
        each = compare_answer(found, _ask("pad_part", first="plain"))["comparisons"][0]
        assert each["paired"]
        assert each["wear_high"] < 1.0
        inside += each["wear_low"] <= true_material_ratio() <= each["wear_high"]
    assert inside >= 3


def test_a_dear_rotor_turns_the_answer_round(outlook):
    """The hard pads wear less and take more rotor: dear pads favour them, dear rotors the plain ones."""
    pads = compare_answer(outlook, _ask("pad_part", first="plain", shops={"rotor_pair": 0.0}))
    rotors = compare_answer(outlook, _ask("pad_part", first="plain", shops={"pad_set": 1.0}))
    assert pads["comparisons"][0]["cost_high"] < 1.0 < rotors["comparisons"][0]["cost_low"]
    price = compare_answer(outlook, _ask("pad_part", first="plain", shops={"pad_sets": {"hard": 900.0}}))
    assert price["comparisons"][0]["cost_low"] > 1.0
    groups = {group["name"]: group for group in pads["groups"]}
    assert groups["hard"]["rotor_mm"] > groups["plain"]["rotor_mm"]


def test_the_answer_fits_its_schema(outlook):
    answer = compare_answer(outlook, _ask("pad_part"))
    schema = json.loads((resources.files("wearline.app") / "schemas" / "compare.json").read_text("utf-8"))
    jsonschema.validate(answer, schema)
    assert len(answer["sets"]) == sum(group["axle_sets"] for group in answer["groups"])
    assert all(pair["vehicle"].startswith("Town") for pair in answer["pairs"])


def test_the_command_answers_first_draws_and_says_what_it_needs(fleet, tmp_path, capsys):
    plot = tmp_path / "compare.svg"
    assert run(["compare", "--database", fleet, "--first", "plain", "--plot", str(plot)]) in (0, 1)
    told = capsys.readouterr().out
    assert told.startswith("'hard' ")
    assert "pairs on one vehicle and axle role" in told.splitlines()[0]
    assert "Invented examples until --shops says yours" in told
    assert "no difference" in plot.read_text()
    # the route makes no difference in the simulator: exit code 1, and how many would show one
    assert run(["compare", "--database", fleet, "--by", "route"]) == 1
    assert "the data cannot tell" in capsys.readouterr().out.splitlines()[0]
    assert run(["compare", "--database", fleet, "--by", "route", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["comparisons"][0]["tells"] is False


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--by", "colour"], "'colour' is nothing that these inspections carry"),
        (["--by", "pad_batch"], "no pad set can be sorted by pad_batch"),
        (["--by", "kind"], "too small to be compared"),
        (["--first", "soft"], "no pad set has pad_part 'soft'"),
        (["--smallest", "0"], "0"),
    ],
)
def test_what_cannot_be_compared_is_refused(fleet, capsys, words, said):
    assert run(["compare", "--database", fleet, *words]) == 2
    assert said in capsys.readouterr().err


def test_a_group_with_one_set_is_named_with_its_size(outlook):
    with pytest.raises(InputError, match=r"city bus, retarder \(\d+ sets on 12 vehicles\)"):
        compare_answer(outlook, _ask("duty"))


def test_keys_are_text_fields_facts_and_labels(outlook):
    keys = group_keys(load_catalogue(), outlook)
    assert {"pad_part", "pad_batch", "calliper_batch", "duty", "route"} <= set(keys)
    assert "slide" not in keys
    assert (signed_percent(1.29), signed_percent(0.996)) == ("+29", "-0.4")
