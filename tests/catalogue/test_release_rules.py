"""The release file: thresholds, defective brakes, levels, a driver's conditions."""

from __future__ import annotations

import tomllib
from copy import deepcopy
from importlib import resources
from typing import Any

import pytest

from wearline.catalogue.load_fields import load_fields, load_measures, load_sources
from wearline.catalogue.load_limits import load_limits
from wearline.catalogue.model import Status
from wearline.catalogue.release import load_release_rules, release_rules_from
from wearline.errors import CatalogueError

COMPOSITE = {
    "wedge:tilt", "wedge:seats", "wedge:excess", "pads:inner faster", "pads:outer faster",
    "pads:thinner than mate", "indicator:blind", "indicator:worn through", "guides:stuck", "play:over half",
    "play:void",
    "runout:void", "brake:drags", "brake:drags hot", "brake:fire", "brake:dead", "brake:weak",
    "brake:defective", "axle:imbalance", "temperature:hot", "temperature:cold", "rotor:crack into edge",
    "rotor:near minimum", "wear:fast", "wear:fast everywhere", "pad:metal", "forecast:before next",
    "count:met", "pads:plate doubted", "pads:unit doubted",
    "law:violation", "law:out of service", "not proven", "*:undecided",
    "efficiency:beyond",
}  # fmt: skip


def shipped() -> dict[str, Any]:
    text = resources.files("wearline.catalogue").joinpath("data/release.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def findings() -> set[str]:
    rules = load_release_rules()
    lists = [rule.findings for rule in rules.defects] + [rule.findings for rule in rules.levels]
    return {name for names in lists for name in names}


def test_every_finding_named_can_happen() -> None:
    """A word of a field, a check with a limit, or one of the composite findings."""
    fields, limits = load_fields(), load_limits()
    checks = {limit.field for limit in limits.values()} | set(load_measures())
    for name in findings() - COMPOSITE:
        field, equals, word = name.partition("=")
        if equals:
            assert word in fields[field].words, name
            continue
        check, verdict, *limit = name.split(":")
        assert check in checks, name
        assert verdict in ("beyond", "undecided"), name
        assert all(id in limits for id in limit), name


def test_every_threshold_has_a_known_source_and_status() -> None:
    for threshold in load_release_rules().thresholds.values():
        assert threshold.source in load_sources()
        assert threshold.status in list(Status)
        assert threshold.status is not Status.UNVERIFIED


def test_the_count_and_the_weak_brake_are_the_house_rules() -> None:
    """Common practice, no source: 20 % of the brakes; a force under 70 % of the mate's."""
    rules = load_release_rules()
    assert rules.number("count_share") == 0.2
    assert rules.number("weak_force") == 0.7


def test_conditions_are_there_for_every_level_that_moves_or_stops_a_driver() -> None:
    rules = load_release_rules()
    assert set(rules.conditions) == {1, 2, 3, 4}
    assert len(rules.meanings) == 5


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda d: d["threshold"]["metal"].update(published="0.5 bar"), "unit that thresholds do not use"),
        (lambda d: d["level"][0].update(level=7), "level 7 does not exist"),
        (lambda d: d["meaning"].pop("3"), "is missing"),
        (lambda d: d.pop("conditions"), "is missing"),
        (lambda d: d["defect"][0].pop("finding"), "is missing"),
    ],
)
def test_a_wrong_file_says_what_is_wrong(change: Any, says: str) -> None:
    document = deepcopy(shipped())
    change(document)
    with pytest.raises(CatalogueError, match=says):
        release_rules_from(document)
