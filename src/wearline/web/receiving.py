"""What tablets send: entries stored exactly once in effect, drafts judged as they grow, inspections kept."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from wearline.app.draft_events import Event, event_from_plain
from wearline.app.draft_judging import draft_answer, judge_draft
from wearline.app.draft_keeping import keep_draft, store_events
from wearline.app.drafting import fold
from wearline.errors import InputError, StorageError, WearlineError
from wearline.web.refusals import Refusal, not_found
from wearline.web.shop import Shop

__all__ = ["MAXIMUM_EVENTS", "draft_list", "draft_page", "receive", "running_answer"]

MAXIMUM_EVENTS = 500


def receive(shop: Shop, body: Any, sender: str, address: str) -> dict[str, Any]:
    """Store entries and keep what they end; the answer goes out after everything is on the disk.

    Parameters
    ----------
    shop : Shop
        Where.
    body : object
        ``{"events": [...]}``, entries in the order of the tablet.
    sender, address : str
        Who sends them, from where.

    Returns
    -------
    dict
        Ids that are stored, that were known, and that are refused with the reason.

    Raises
    ------
    InputError
        If the body is no list of entries.
    StorageError
        If the database cannot take them; then the tablet keeps everything.
    """
    plains = _entries(body)
    accepted, refused = _understood(plains)
    ends = [event for event in accepted if event.kind == "finish"]
    stored, known = _store(shop, [event for event in accepted if event.kind != "finish"], sender, refused)
    for event in ends:
        try:
            _end(shop, event, sender)
        except InputError as error:
            if isinstance(error, StorageError) and _is_busy(error):
                raise
            refused.append(_refusal(event.id, error))
            continue
        more_stored, more_known = _store(shop, [event], sender, refused)
        stored += more_stored
        known += more_known
        if more_stored:
            shop.log("finish draft", who=sender, address=address, target=event.draft, detail=event.by)
            _mark(shop, event.draft)
    order = {event.id: number for number, event in enumerate(accepted)}
    return {
        "schema": "wearline.received/1",
        "stored": sorted(stored, key=order.__getitem__),
        "known": sorted(known, key=order.__getitem__),
        "refused": refused,
    }


def _is_busy(error: StorageError) -> bool:
    from wearline.web.refusals import status_of

    return status_of(error) == 503


def _entries(body: Any) -> list[Any]:
    plains = body.get("events") if isinstance(body, dict) else None
    if not isinstance(plains, list):
        raise Refusal(422, "there is no list of entries", where="events", allowed='{"events": [...]}')
    if len(plains) > MAXIMUM_EVENTS:
        raise Refusal(
            413,
            f"{len(plains)} entries came at once",
            where="events",
            allowed=f"at most {MAXIMUM_EVENTS} in one call",
            cure="Send them in parts, in their order",
        )
    return plains


def _understood(plains: Iterable[Any]) -> tuple[list[Event], list[dict[str, Any]]]:
    accepted: dict[str, Event] = {}
    refused = []
    for plain in plains:
        name = str(plain.get("id", ""))[:80] if isinstance(plain, dict) else ""
        try:
            event = event_from_plain(plain)
            if accepted.setdefault(event.id, event).text != event.text:
                raise _changed(event.id)
        except InputError as error:
            refused.append(_refusal(name, error))
    return list(accepted.values()), refused


def _changed(event_id: str) -> InputError:
    return InputError(
        "the entry is known with another content",
        where=f"entry {event_id}",
        allowed="the entry as it was sent first; a correction is a further entry",
        cure="Nothing was overwritten. Enter the reading again",
    )


def _refusal(event_id: str, error: WearlineError) -> dict[str, Any]:
    return {"id": event_id, "error": error.as_plain()}


def _store(
    shop: Shop, events: Sequence[Event], sender: str, refused: list[dict[str, Any]]
) -> tuple[list[str], list[str]]:
    if not events:
        return [], []
    received = store_events(shop.events, events, received_from=sender, received_at=shop.now)
    refused.extend(_refusal(name, _changed(name)) for name in received.changed)
    return list(received.stored), list(received.known)


def _end(shop: Shop, event: Event, sender: str) -> None:
    """Keep the inspection first: an end that is stored is one whose inspection is kept."""
    keep_draft(
        shop.store,
        event.draft,
        today=shop.today,
        kept_by=event.by or sender,
        kept_at=shop.now,
        catalogue=shop.catalogue(),
        finish=event,
    )


def _mark(shop: Shop, draft: str) -> None:
    """Count the end itself among the entries that the inspection holds."""
    row = shop.events.draft(draft)
    if row is not None and row.inspection_id is not None:
        shop.events.mark_kept(draft, row.inspection_id, row.last_number)


def draft_list(shop: Shop, *, open_only: bool = False) -> list[dict[str, Any]]:
    """Return the drafts, the one with the newest entry first.

    Parameters
    ----------
    shop : Shop
        Where.
    open_only : bool
        Without those that are kept.

    Returns
    -------
    list of dict
        JSON values.
    """
    return [
        {
            "id": row.id,
            "vehicle": row.vehicle_id,
            "taken_on": row.taken_on,
            "entries": row.entries,
            "first_at": row.first_at.isoformat(timespec="seconds"),
            "last_at": row.last_at.isoformat(timespec="seconds"),
            "last_by": row.last_by,
            "inspection": row.inspection_id,
            "late": row.late,
            "state": "kept" if row.inspection_id is not None and not row.late else "open",
        }
        for row in shop.events.drafts(open_only=open_only)
    ]


def draft_page(shop: Shop, draft_id: str) -> dict[str, Any]:
    """Return a draft with its entries, what follows from it, and what comes next.

    Parameters
    ----------
    shop : Shop
        Where.
    draft_id : str
        The draft.

    Returns
    -------
    dict
        Under schema ``wearline.draft/1``.

    Raises
    ------
    Refusal
        If nothing came of it.
    """
    events = shop.drafts.events(draft_id)
    row = shop.events.draft(draft_id)
    if not events or row is None:
        raise not_found(f"nothing has come of a draft {draft_id[:80]}")
    answer = _answer(shop, draft_id, events)
    import json

    answer["events"] = [json.loads(event.text) for event in events]
    answer["draft"] |= {"inspection": row.inspection_id, "late": row.late}
    return answer


def running_answer(shop: Shop, draft_id: str, body: Any) -> dict[str, Any]:
    """Judge a draft with entries that are not stored yet; nothing is stored by it.

    Parameters
    ----------
    shop : Shop
        Where the other entries are.
    draft_id : str
        The draft.
    body : object
        ``{"events": [...]}``.

    Returns
    -------
    dict
        Under schema ``wearline.draft/1``.

    Raises
    ------
    InputError
        If the body is no list of entries.
    """
    accepted, refused = _understood(_entries(body))
    events = [*shop.drafts.events(draft_id), *(each for each in accepted if each.draft == draft_id)]
    return _answer(shop, draft_id, events) | {"refused": refused}


def _answer(shop: Shop, draft_id: str, events: list[Event]) -> dict[str, Any]:
    catalogue = shop.catalogue()
    draft = fold(draft_id, events)
    running = judge_draft(draft, catalogue, shop.today, shop.settings().decision_settings)
    return draft_answer(draft, running, catalogue)
