"""Write what the browser form takes from elsewhere: ``python tools/entry_form.py``.

The form reads quantities without a network, so it needs the units of ``wearline.units.table`` beside it; and
its service worker names every file with one version for all, so that a tablet never mixes old and new ones.
Tests hold the written files against their origin.
"""

from __future__ import annotations

import json
import re
from hashlib import sha256
from pathlib import Path
from typing import Any

from wearline.units import table
from wearline.units.table import Kind, Unit, units_of

WEB = Path(__file__).resolve().parent.parent / "src/wearline/web"
FOLDER = WEB / "static/entry"
UNITS = FOLDER / "units_table.js"
WORKER = FOLDER / "sw.js"


def entry(unit: Unit) -> dict[str, Any]:
    return {
        "symbol": unit.symbol,
        "scale": [str(unit.scale.numerator), str(unit.scale.denominator)],
        "offset": [str(unit.offset.numerator), str(unit.offset.denominator)],
        "decimals": unit.decimals,
        "aliases": list(unit.aliases),
        "label": unit.label,
        "exactly": unit.symbol in table._CAPITALS_MATTER,
    }


def module_text() -> str:
    """The module as it has to stand in the static folder."""
    units = {
        kind.name: {"words": kind.value, "units": [entry(unit) for unit in units_of(kind)]} for kind in Kind
    }
    signs = {chr(code): sign for code, sign in table._SIGNS.items()}
    hints = [[kind.name, symbol, text] for (kind, symbol), text in table._HINTS.items()]
    lines = [f"  {json.dumps(name)}: {json.dumps(value)}," for name, value in units.items()]
    return (
        "// Written by tools/entry_form.py from wearline.units.table; a test holds the two together.\n"
        "export const KINDS = {\n" + "\n".join(lines) + "\n};\n"
        f"export const SIGNS = {json.dumps(signs)};\n"
        f"export const HINTS = {json.dumps(hints)};\n"
        f"export const SEVERAL_MEANINGS = {json.dumps(table._SEVERAL_MEANINGS)};\n"
    )


def worker_text() -> str:
    """The service worker with the files of the form and their common version."""
    files = sorted(file for file in FOLDER.iterdir() if file.is_file() and file.name != WORKER.name)
    digest = sha256()
    for file in (*files, WEB / "templates/entry.html"):
        digest.update(file.name.encode() + b"\0" + file.read_bytes())
    names = ", ".join(json.dumps(file.name) for file in files)
    stamped = f'const VERSION = "{digest.hexdigest()[:16]}";\nconst NAMES = [{names}];'
    text = WORKER.read_text(encoding="utf-8")
    return re.sub(r'const VERSION = ".*?";\nconst NAMES = \[.*?\];', lambda _: stamped, text, flags=re.DOTALL)


if __name__ == "__main__":
    UNITS.write_text(module_text(), encoding="utf-8")
    WORKER.write_text(worker_text(), encoding="utf-8")
    print(UNITS, WORKER, sep="\n")
