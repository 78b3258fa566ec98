"""Page contexts as JSON values: what a page says, for programs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import Enum
from typing import Any

from wearline.reports.content_model import Picture

__all__ = ["plain"]


def plain(value: Any) -> Any:
    """Return a value with everything in it as JSON values.

    Parameters
    ----------
    value : object
        Dataclass, mapping, sequence or plain value.

    Returns
    -------
    object
        JSON value; a drawing stands with its words, a moment in ISO form, and a field whose metadata say
        ``json: False`` is left out: another field says the same.
    """
    if isinstance(value, Picture):
        return {"drawing": value.alt}
    if is_dataclass(value) and not isinstance(value, type):
        shown = [field for field in fields(value) if field.metadata.get("json", True)]
        return {field.name: plain(getattr(value, field.name)) for field in shown}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        items = sorted(value) if isinstance(value, set | frozenset) else value
        return [plain(item) for item in items]
    if isinstance(value, bool | int | str) or value is None:
        return value
    if isinstance(value, float):
        return value if value == value and abs(value) != float("inf") else None
    return str(value)
