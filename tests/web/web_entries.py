"""Entries of invented tablets, made for the tests of the web app; no real vehicle is described."""

from __future__ import annotations

import tomllib
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

CASES = Path(__file__).parent.parent / "cases"
MORNING = datetime(2026, 9, 14, 7, 0, 0, tzinfo=UTC)
CORNERS = ("LT", "LB", "TT", "TB")


def moment(seconds: float) -> str:
    return (MORNING + timedelta(seconds=seconds)).isoformat(timespec="milliseconds").replace("+00:00", "Z")


@dataclass
class Tablet:
    """One tablet that makes entries for a draft, a second apart."""

    draft: str = field(default_factory=lambda: str(uuid.uuid4()))
    by: str = "invented technician"
    id: str = field(default_factory=lambda: str(uuid.uuid4()))
    clock: float = 0.0
    seq: int = 0

    def entry(self, kind: str, **more: Any) -> dict[str, Any]:
        self.seq += 1
        self.clock += 1.0
        return {
            "id": str(uuid.uuid4()),
            "draft": self.draft,
            "tablet": self.id,
            "seq": self.seq,
            "at": moment(self.clock),
            "by": self.by,
            "kind": kind,
            "place": "",
            "field": "",
            "spot": "",
            "value": None,
        } | more

    def start(self, case: str = "A1", **more: Any) -> dict[str, Any]:
        document = case_document(case)
        value = {
            "vehicle": document["vehicle"],
            "axles": document["axle"],
            "taken_on": document["inspection"]["taken_on"].isoformat(),
            "peer_wear_mm_per_10000_km": document.get("peer_wear_mm_per_10000_km"),
        }
        return self.entry("start", value=value | more)

    def reading(self, place: str, name: str, value: Any, spot: str = "", **more: Any) -> dict[str, Any]:
        return self.entry("reading", place=place, field=name, spot=spot, value=value, **more)

    def case(self, case: str = "A1") -> list[dict[str, Any]]:
        """Every entry of a case, from the start to the end."""
        return [self.start(case), *self.case_entries(case), self.entry("finish")]

    def case_entries(self, case: str) -> Iterator[dict[str, Any]]:
        document = case_document(case)
        for name, value in document["inspection"].items():
            if name != "taken_on":
                yield self.entry("fact", field=name, value=value)
        for end in document["wheel_end"]:
            for name, value in end.items():
                if name == "at":
                    continue
                if name in ("noticed", "note"):
                    yield self.entry(name, place=end["at"], value=value)
                elif isinstance(value, list):
                    for spot, part in zip(CORNERS, value, strict=True):
                        yield self.reading(end["at"], name, part, spot)
                else:
                    yield self.reading(end["at"], name, value)


def case_document(case: str) -> dict[str, Any]:
    return tomllib.loads((CASES / f"{case}.toml").read_text(encoding="utf-8"))
