"""Judging and deciding in one go, with the columns held against their limits once."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from wearline.assessment.assemble import judge
from wearline.assessment.road import decide_road, judge_for_road
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.loading import load_catalogue
from wearline.ingest.read import read_inspection
from wearline.uncertainty.conformity import DecisionRule

CASES = sorted((Path(__file__).parent.parent / "cases").glob("*.toml"))


@pytest.mark.parametrize("rule", list(DecisionRule))
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_in_one_go_or_one_after_the_other_the_answers_are_the_same(path: Path, rule: DecisionRule) -> None:
    catalogue, settings = load_catalogue(), DecisionSettings(service=rule)
    inspection = read_inspection(path, today=date(2026, 10, 1), catalogue=catalogue)
    judgement = judge(inspection, catalogue, settings)
    road = decide_road(inspection, judgement, catalogue, settings)
    assert repr((judgement, road)) == repr(judge_for_road(inspection, catalogue, settings))
