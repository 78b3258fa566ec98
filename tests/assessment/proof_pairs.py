"""Case A3 and the same bus after its job: an invented scenario."""

from __future__ import annotations

import re
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

from wearline.assessment.assemble import judge
from wearline.assessment.proof import prove
from wearline.assessment.proof_results import Proof
from wearline.assessment.results import Judgement
from wearline.catalogue.loading import load_catalogue
from wearline.ingest.read import read_inspection
from wearline.records.inspection import Inspection

CASES = Path(__file__).parents[1] / "cases"
TODAY = date(2026, 11, 25)

REPAIRED: dict[str, str] = {
    "total_travel": '"1.50 mm"',
    "adjuster_test": '"advances and holds"',
    "wear_indicator": '"5 %"',
    "pad_inner": '["21.0 mm", "21.0 mm", "20.9 mm", "21.0 mm"]',
    "pad_outer": '["21.0 mm", "20.9 mm", "21.0 mm", "21.0 mm"]',
}


def as_left(
    forces: dict[str, float],
    *,
    case: str = "A3",
    axle: str = "2",
    day: str = "2026-09-16",
    changes: dict[str, dict[str, str | None]] | None = None,
    temperatures: dict[str, str] | None = None,
) -> str:
    """The case's file after a job on one axle: new pads, both ends set, and what a test changes."""
    head, *ends = (CASES / f"{case}.toml").read_text(encoding="utf-8").split("[[wheel_end]]")
    head = re.sub(r"taken_on = \S+", f"taken_on = {day}", head)
    head = re.sub(r"km_since_pads = .*\n", "", head)
    written = [head]
    for end in ends:
        at = re.search(r'at = "(\w+)"', end)[1]
        fields: dict[str, Any] = dict(REPAIRED) if at[:-1] == axle else {}
        if at in forces:
            fields["brake_force"] = f'"{forces[at]} kN"'
        if temperatures is not None:
            fields["temperature"] = f'"{temperatures[at]}"' if at in temperatures else None
        fields |= (changes or {}).get(at, {})
        for name, value in fields.items():
            end = re.sub(rf"(?m)^{name} = .*\n?", "", end)
            if value is not None:
                end = end.replace(f'at = "{at}"\n', f'at = "{at}"\n{name} = {value}\n')
        written.append(end)
    return "[[wheel_end]]".join(written)


def judged(text: str, tmp_path: Path, name: str = "after.toml") -> tuple[Inspection, Judgement]:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    catalogue = load_catalogue()
    inspection = read_inspection(path, today=TODAY, catalogue=catalogue)
    return inspection, judge(inspection, catalogue)


@lru_cache(maxsize=8)
def found(case: str = "A3") -> tuple[Inspection, Judgement]:
    catalogue = load_catalogue()
    inspection = read_inspection(CASES / f"{case}.toml", today=TODAY, catalogue=catalogue)
    return inspection, judge(inspection, catalogue)


def proof_of(text: str, tmp_path: Path, case: str = "A3", **options: Any) -> Proof:
    return prove(found(case), judged(text, tmp_path), load_catalogue(), **options)
