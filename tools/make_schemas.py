"""Writes the JSON Schemas that ship with the package from the shapes of the answers.

Run after a change of ``wearline/app/answer_types.py`` or ``answer_types_braking.py``:
``python tools/make_schemas.py``. A test fails when the shipped files are not what this makes.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pydantic import ConfigDict, TypeAdapter, with_config

from wearline.app import (
    answer_types,
    answer_types_braking,
    drill_types,
    fleet_types,
    outlook_types,
    why_types,
)

SCHEMAS = {
    "judgement": ("wearline.judgement/1", answer_types.JudgementAnswer),
    "job": ("wearline.job/1", answer_types.JobAnswer),
    "road": ("wearline.road/1", answer_types.RoadAnswer),
    "proof": ("wearline.proof/1", answer_types_braking.ProofAnswer),
    "descent": ("wearline.descent/1", answer_types_braking.DescentAnswer),
    "curves": ("wearline.curves/1", answer_types_braking.CurveAnswer),
    "heat": ("wearline.heat/1", answer_types_braking.HeatAnswer),
    "why": ("wearline.why/1", why_types.WhyAnswer),
    "error": ("wearline.error/1", answer_types.ErrorAnswer),
    "kept": ("wearline.kept/1", answer_types.KeepAnswer),
    "history": ("wearline.history/1", answer_types.HistoryAnswer),
    "written": ("wearline.written/1", answer_types.WrittenAnswer),
    "catalogue": ("wearline.catalogue/1", answer_types.CatalogueAnswer),
    "maker-file": ("wearline.maker-file/1", answer_types.MakerFileAnswer),
    "outlook": ("wearline.outlook/1", outlook_types.OutlookAnswer),
    "plan": ("wearline.plan/1", outlook_types.PlanAnswer),
    "interval": ("wearline.interval/1", fleet_types.IntervalAnswer),
    "compare": ("wearline.compare/1", fleet_types.CompareAnswer),
    "life": ("wearline.life/1", fleet_types.LifeAnswer),
    "drill": ("wearline.drill/1", drill_types.DrillAnswer),
    "drill-dropped": ("wearline.drill-dropped/1", drill_types.DroppedAnswer),
    "drill-progress": ("wearline.drill-progress/1", drill_types.ProgressAnswer),
    "class-sheet": ("wearline.class-sheet/1", drill_types.ClassSheetAnswer),
    "tour": ("wearline.tour/1", answer_types.TourAnswer),
}
FOLDER = Path(answer_types.__file__).parent / "schemas"


def schema_of(key: str, shape: Any) -> dict[str, Any]:
    """Return the JSON Schema of one answer, with its schema key fixed."""
    made = TypeAdapter(with_config(ConfigDict(extra="allow"))(shape)).json_schema()
    made["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    made["title"] = key
    made["properties"]["schema"] = {"const": key}
    return made


def text_of(key: str, shape: Any) -> str:
    return json.dumps(schema_of(key, shape), indent=1, sort_keys=True, ensure_ascii=False) + "\n"


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    for name, (key, shape) in SCHEMAS.items():
        (FOLDER / f"{name}.json").write_text(text_of(key, shape), encoding="utf-8")
        print(f"wrote {name}.json")


if __name__ == "__main__":
    main()
