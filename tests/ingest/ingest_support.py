"""What the tests of this folder share: the day, the case files, a way to change one line of a file."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from wearline.catalogue.loading import load_catalogue
from wearline.ingest.read import read_inspection
from wearline.records.inspection import Inspection

TODAY = date(2026, 11, 25)
CASES = Path(__file__).parent.parent / "cases"
CASE_FILES = sorted(CASES.glob("*.toml"))

# An invented vehicle, complete enough to be read.
SMALL = """\
[vehicle]
id = "V1"
design = "generic-22.5"

[[axle]]
id = "1"
role = "steer"

[inspection]
taken_on = 2026-09-14

[[wheel_end]]
at = "1L"
total_travel = "1.40 mm"
"""


def read_text(folder: Path, text: str | bytes, name: str = "inspection.toml") -> Inspection:
    """Write a text to a file and read it as an inspection."""
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_inspection(path, today=TODAY, catalogue=load_catalogue())


def read_path(path: Path) -> Inspection:
    """Read a file as an inspection."""
    return read_inspection(path, today=TODAY, catalogue=load_catalogue())


def changed(old: str, new: str, case: str = "A1") -> str:
    """Return the text of a case with one piece replaced where it stands first."""
    text = (CASES / f"{case}.toml").read_text()
    assert old in text
    return text.replace(old, new, 1)
