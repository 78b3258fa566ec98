"""What the HTTP API says of itself: bodies, answers and refusals, by the schemas that ship."""

from __future__ import annotations

import json
from functools import lru_cache
from importlib.resources import files
from typing import Any

__all__ = ["ENTRIES_BODY", "FILE_BODY", "INSPECTION_BODY", "PHOTO_BODY", "answers"]

_ERRORS = {
    400: "The request cannot be read.",
    401: "Nobody is logged in, or the token does not hold.",
    403: "The role is missing, or the request comes from another site.",
    404: "There is nothing of that name.",
    405: "This cannot be done here.",
    409: "It contradicts what is kept.",
    413: "It is too long.",
    415: "This form of file is not taken.",
    422: "Something in it is wrong; the message says what, where, what is allowed and what to do.",
    503: "The database is busy; try again.",
}


@lru_cache(maxsize=64)
def _shipped(name: str) -> str:
    return files("wearline.app").joinpath("schemas", f"{name}.json").read_text(encoding="utf-8")


def schema(name: str) -> dict[str, Any]:
    """Return the schema of an answer, with its parts inside.

    Parameters
    ----------
    name : str
        Name of the answer.

    Returns
    -------
    dict
        JSON Schema in which every reference points into itself.
    """
    found = json.loads(_shipped(name))
    parts = found.pop("$defs", {})
    found.pop("$schema", None)
    found.pop("$id", None)
    resolved = _resolved(found, parts, 0)
    assert isinstance(resolved, dict)
    return resolved


def _resolved(value: Any, parts: dict[str, Any], depth: int) -> Any:
    if isinstance(value, list):
        return [_resolved(item, parts, depth) for item in value]
    if not isinstance(value, dict):
        return value
    reference = value.get("$ref")
    if isinstance(reference, str) and reference.startswith("#/$defs/") and depth < 12:
        return _resolved(parts[reference.removeprefix("#/$defs/")], parts, depth + 1)
    return {key: _resolved(item, parts, depth) for key, item in value.items()}


def answers(name: str = "", description: str = "The answer.") -> dict[int | str, dict[str, Any]]:
    """Return what an operation may answer.

    Parameters
    ----------
    name : str
        Schema of the answer; empty for a free object.
    description : str
        What the answer is.

    Returns
    -------
    dict
        For ``responses`` of a route.
    """
    good: dict[str, Any] = schema(name) if name else {"type": "object"}
    error = {"application/json": {"schema": schema("error")}}
    found: dict[int | str, dict[str, Any]] = {
        200: {"description": description, "content": {"application/json": {"schema": good}}}
    }
    return found | {code: {"description": text, "content": error} for code, text in _ERRORS.items()}


def _body(content: dict[str, Any], description: str) -> dict[str, Any]:
    return {"requestBody": {"required": True, "description": description, "content": content}}


_ENTRY = {
    "type": "object",
    "required": ["id", "draft", "tablet", "seq", "at", "kind"],
    "additionalProperties": False,
    "properties": {
        "id": {"type": "string", "format": "uuid"},
        "draft": {"type": "string", "format": "uuid"},
        "tablet": {"type": "string", "format": "uuid"},
        "seq": {"type": "integer", "minimum": 0},
        "at": {"type": "string", "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$"},
        "by": {"type": "string", "maxLength": 200},
        "kind": {
            "enum": [
                "start",
                "fact",
                "reading",
                "cannot",
                "noticed",
                "note",
                "photo",
                "retract",
                "settle",
                "finish",
            ]
        },
        "place": {"type": "string"},
        "field": {"type": "string"},
        "spot": {"type": "string"},
        "value": {},
        "repeats": {"type": "array", "items": {"type": "string"}},
        "gauge": {"type": "string"},
        "refers": {"type": "string"},
    },
}

ENTRIES_BODY = _body(
    {
        "application/json": {
            "schema": {
                "type": "object",
                "required": ["events"],
                "properties": {"events": {"type": "array", "maxItems": 500, "items": _ENTRY}},
            }
        }
    },
    "Entries in the order of the tablet.",
)

_FILE_FORMS = {
    "application/toml": {"schema": {"type": "string"}},
    "text/csv": {"schema": {"type": "string"}},
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet": {
        "schema": {"type": "string", "format": "binary"}
    },
}

FILE_BODY = _body(_FILE_FORMS, "An inspection file.")

INSPECTION_BODY = _body(
    {
        "application/json": {
            "schema": {
                "oneOf": [
                    {
                        "type": "object",
                        "required": ["inspection"],
                        "additionalProperties": False,
                        "properties": {"inspection": {"type": "string"}},
                    },
                    {
                        "type": "object",
                        "required": ["document"],
                        "additionalProperties": False,
                        "properties": {"document": {"type": "object"}},
                    },
                ]
            }
        },
        **_FILE_FORMS,
    },
    "The id of a kept inspection, a document of the inspection file's shape, or the file itself.",
)

PHOTO_BODY = _body(
    {
        "multipart/form-data": {
            "schema": {
                "type": "object",
                "required": ["file"],
                "properties": {
                    "file": {"type": "string", "format": "binary"},
                    "event": {"type": "string"},
                    "draft": {"type": "string"},
                    "place": {"type": "string"},
                },
            }
        }
    },
    "A photograph.",
)
