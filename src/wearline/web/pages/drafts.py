"""Inspections in the making: what tablets have sent, where they contradict, and who settles it."""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter

from wearline.web.asking import Ask, Sent, add_form, add_page
from wearline.web.receiving import draft_list, draft_page, receive
from wearline.web.refusals import Refusal

__all__ = ["DraftPage", "DraftsPage", "router"]

router = APIRouter()


@dataclass(frozen=True, slots=True)
class DraftsPage:
    """The list of inspections in the making.

    Parameters
    ----------
    open : tuple of mapping
        Those that nobody has finished, or that got entries since.
    kept : tuple of mapping
        Those that are kept, the latest first.
    """

    open: tuple[dict[str, Any], ...]
    kept: tuple[dict[str, Any], ...]


@dataclass(frozen=True, slots=True)
class DraftPage:
    """One inspection in the making.

    Parameters
    ----------
    answer : mapping
        As the API gives it.
    labels : mapping of str to str
        Words of the fields that occur.
    said : mapping of str to str
        What an entry says, by its id.
    places : tuple of (str, tuple of mapping)
        Wheel end, and what was entered there.
    """

    answer: dict[str, Any]
    labels: dict[str, str]
    said: dict[str, str]
    places: tuple[tuple[str, tuple[dict[str, Any], ...]], ...]


def _list(ask: Ask) -> DraftsPage:
    found = draft_list(ask.shop)
    return DraftsPage(
        open=tuple(row for row in found if row["state"] == "open"),
        kept=tuple(row for row in found if row["state"] == "kept")[:50],
    )


_EMPTY: dict[str, Any] = {
    "place": "",
    "field": "",
    "spot": "",
    "by": "",
    "repeats": [],
    "gauge": "",
    "refers": "",
}


def _draft(ask: Ask) -> DraftPage:
    answer = draft_page(ask.shop, ask.path["draft"])
    catalogue = ask.shop.catalogue()
    events = [
        {key: event.get(key) or value for key, value in _EMPTY.items()} | _own(event)
        for event in answer["events"]
    ]
    entries = [event for event in events if event["kind"] not in ("start", "retract", "settle")]
    names = {event["field"] for event in entries} | {item["field"] for item in answer["contradictions"]}
    labels = {name: catalogue.fields[name].label for name in names if name in catalogue.fields}
    places: dict[str, list[dict[str, Any]]] = {}
    for event in entries:
        places.setdefault(event["place"], []).append(event)
    ordered = tuple((place, tuple(own)) for place, own in sorted(places.items()))
    return DraftPage(answer, labels, {event["id"]: _said(event) for event in events}, ordered)


def _own(event: dict[str, Any]) -> dict[str, Any]:
    return {key: event.get(key) for key in ("id", "at", "kind", "value", "tablet")}


def _said(event: dict[str, Any]) -> str:
    value = event["value"]
    if event["kind"] == "start" and isinstance(value, dict) and isinstance(value.get("vehicle"), dict):
        return f"{value['vehicle'].get('id', '')}, {value.get('taken_on', '')}"
    if event["kind"] == "photo" and isinstance(value, dict):
        return str(value.get("name") or "photograph")
    if value is None:
        return ""
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return f"cannot be measured: {text}" if event["kind"] == "cannot" else text


def _event(sent: Sent, kind: str, value: Any = None, refers: str = "") -> dict[str, Any]:
    """An entry made on the page: the program itself is one more tablet, its clock the count."""
    ask = sent.ask
    now = ask.shop.now
    tablet = uuid.uuid5(uuid.UUID(int=0), ask.shop.seal(f"tablet {ask.person.name}"))
    entry = {
        "id": str(uuid.uuid4()),
        "draft": ask.path["draft"],
        "tablet": str(tablet),
        "seq": int(now.timestamp() * 1000),
        "at": now.isoformat(timespec="milliseconds").replace("+00:00", "Z"),
        "by": (ask.person.shown_name or ask.person.name)[:200],
        "kind": kind,
        "value": value,
    }
    return entry | ({"refers": refers} if refers else {})


def _send(sent: Sent, entry: dict[str, Any]) -> None:
    answer = receive(sent.ask.shop, {"events": [entry]}, sent.ask.person.name, sent.ask.address)
    for refused in answer["refused"]:
        error = refused["error"]
        raise Refusal(409, error["what"], where=error["where"], allowed=error["allowed"], cure=error["cure"])


def _settle(sent: Sent) -> str:
    winner = sent.text("winner")
    answer = draft_page(sent.ask.shop, sent.ask.path["draft"])
    for item in answer["contradictions"]:
        ids = [entry["id"] for entry in item["entries"]]
        if winner in ids:
            over = [each for each in ids if each != winner]
            _send(sent, _event(sent, "settle", {"over": over}, winner))
            sent.ask.log("settle contradiction", sent.ask.path["draft"], f"{winner} holds")
            return f"/drafts/{sent.ask.path['draft']}"
    raise Refusal(
        409, "this is no entry that contradicts another", where="winner", cure="Look at the draft again"
    )


def _finish(sent: Sent) -> str:
    reason = sent.text("reason", 500)
    exchanged = sent.fields.get("counter_exchanged") == "yes"
    _send(sent, _event(sent, "finish", {"reason": reason, "counter_exchanged": exchanged}))
    row = sent.ask.shop.events.draft(sent.ask.path["draft"])
    return f"/inspections/{row.inspection_id}" if row is not None and row.inspection_id else "/drafts"


add_page(router, "/drafts", "drafts.html", _list)
add_page(router, "/drafts/{draft}", "draft.html", _draft)
add_form(router, "/drafts/{draft}/settle", _settle, role="measures")
add_form(router, "/drafts/{draft}/finish", _finish, role="measures")
