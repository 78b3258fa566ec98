"""The eight acceptance inspections, read and judged once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path

from wearline.assessment.assemble import judge
from wearline.assessment.results import Judgement
from wearline.assessment.road import decide_road
from wearline.assessment.road_results import RoadDecision
from wearline.catalogue.loading import load_catalogue
from wearline.ingest.read import read_inspection
from wearline.records.inspection import Inspection

CASES = Path(__file__).parents[1] / "cases"
TODAY = date(2026, 11, 25)


@dataclass(frozen=True)
class Case:
    inspection: Inspection
    judgement: Judgement
    road: RoadDecision


@lru_cache(maxsize=16)
def case(name: str, *packs: str) -> Case:
    from dataclasses import replace

    catalogue = load_catalogue()
    inspection = read_inspection(CASES / f"{name}.toml", today=TODAY, catalogue=catalogue)
    if packs:
        inspection = replace(inspection, rule_packs=packs)
    judgement = judge(inspection, catalogue)
    return Case(inspection, judgement, decide_road(inspection, judgement, catalogue))
