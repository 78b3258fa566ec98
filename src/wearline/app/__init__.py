"""Use cases: open, compute, save. One function for each question; the command line and pages call them.

The functions are loaded when they are first asked for, so that asking for one does not load all.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_WHERE = {
    "catalogue_check": "wearline.app.catalogue_files",
    "decide_release": "wearline.app.judging",
    "heat_over_a_drive": "wearline.app.heating",
    "judge_inspection": "wearline.app.judging",
    "keep_inspection": "wearline.app.keeping",
    "plan_a_descent": "wearline.app.descending",
    "plan_job": "wearline.app.judging",
    "prove_repair": "wearline.app.proving",
    "read_and_judge_curves": "wearline.app.curving",
    "reading_sheet": "wearline.app.sheets",
    "show_history": "wearline.app.keeping",
    "show_tour": "wearline.app.tour",
    "write_report": "wearline.app.reporting",
}

__all__ = list(_WHERE)


def __getattr__(name: str) -> Any:
    if name in _WHERE:
        return getattr(import_module(_WHERE[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
