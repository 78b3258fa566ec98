"""Small invented vehicles, sound unless a test changes something."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from datetime import date
from typing import Any

from wearline.assessment.assemble import judge
from wearline.assessment.results import Judgement
from wearline.assessment.road import decide_road
from wearline.assessment.road_results import RoadDecision
from wearline.catalogue.loading import load_catalogue
from wearline.ingest.document import inspection_from_document
from wearline.records.inspection import Inspection

TODAY = date(2026, 11, 25)

SOUND: dict[str, Any] = {
    "wear_indicator": "40 %",
    "pad_inner": ["12.0 mm", "11.9 mm", "11.9 mm", "11.8 mm"],
    "pad_outer": ["12.3 mm", "12.2 mm", "12.2 mm", "12.1 mm"],
    "total_travel": "1.40 mm",
    "adjuster_test": "advances and holds",
    "tangential_play": "1.0 mm",
    "radial_play": "0.7 mm",
    "slide": "45 N",
    "guide_pin_boot": "sound",
    "tappet_boot": "sound",
    "abutment_faces_caught": 0,
    "pad_freedom": "free",
    "rotor_thickness": "43.8 mm",
    "rotor_crack_length": "10 %",
    "bearing_end_play": "0.06 mm",
    "brake_force": "22.0 kN",
    "brake_drag": "0.3 kN",
    "temperature": "120 degC",
}


@dataclass(frozen=True)
class Outcome:
    inspection: Inspection
    judgement: Judgement
    road: RoadDecision


def vehicle(
    roles: tuple[str, ...] = ("steer", "drive"),
    *,
    kind: str = "truck",
    mass: str = "17500",
    packs: list[str] | None = None,
    changes: dict[str, dict[str, Any]] | None = None,
    vehicle_checks: dict[str, Any] | None = None,
    brakes: dict[str, str] | None = None,
) -> dict[str, Any]:
    """A document with sound readings at every wheel end, and some changed."""
    ends = []
    for number, _ in enumerate(roles, start=1):
        for side in "LR":
            place = f"{number}{side}"
            end = deepcopy(SOUND) | {"at": place} | (changes or {}).get(place, {})
            ends.append({key: value for key, value in end.items() if value is not None})
    axles = [
        {"id": str(number), "role": role} | ({"brake": (brakes or {})[str(number)]} if brakes else {})
        for number, role in enumerate(roles, start=1)
    ]
    document: dict[str, Any] = {
        "vehicle": {"id": "X", "kind": kind, "test_mass_kg": float(mass), "design": "generic-22.5"},
        "axle": axles,
        "inspection": {"taken_on": "2026-09-14", "rule_pack": packs or ["none"]},
        "wheel_end": ends,
    }
    if vehicle_checks:
        document["vehicle_checks"] = vehicle_checks
    return document


def outcome(document: dict[str, Any]) -> Outcome:
    catalogue = load_catalogue()
    inspection = inspection_from_document(document, where="test", today=TODAY, catalogue=catalogue)
    judgement = judge(inspection, catalogue)
    return Outcome(inspection, judgement, decide_road(inspection, judgement, catalogue))
