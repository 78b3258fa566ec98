"""From stored entries to a kept inspection: what ends a draft, and what comes after its end."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from wearline.app.draft_events import Event, event_from_plain, strict_json
from wearline.app.draft_judging import finished_inspection
from wearline.app.drafting import Draft, fold
from wearline.catalogue.loading import Catalogue, load_catalogue
from wearline.errors import InputError
from wearline.storage.events import EventRow, EventStore, StoredEvents
from wearline.storage.kept import KeepReceipt
from wearline.storage.store import Store

__all__ = ["event_row", "keep_draft", "load_draft", "load_events", "store_events"]

LATE = "entries that came after the inspection was finished"
"""Reason of a correction that no person worded."""


def event_row(event: Event) -> EventRow:
    """Return an entry as it is stored.

    Parameters
    ----------
    event : Event
        The entry.

    Returns
    -------
    EventRow
        Its row.
    """
    start = event.value if event.kind == "start" and isinstance(event.value, dict) else {}
    vehicle = start.get("vehicle")
    vehicle_id = vehicle.get("id", "") if isinstance(vehicle, dict) else ""
    return EventRow(
        event.id, event.draft, event.text, str(vehicle_id)[:200], str(start.get("taken_on") or "")[:20]
    )


def store_events(
    store: EventStore, events: Sequence[Event], *, received_from: str, received_at: datetime
) -> StoredEvents:
    """Store entries in their order.

    Parameters
    ----------
    store : EventStore
        Where.
    events : sequence of Event
        The entries; one that stands twice is stored once.
    received_from : str
        Who sent them.
    received_at : datetime
        When, with time zone.

    Returns
    -------
    StoredEvents
        What became of them.

    Raises
    ------
    InputError
        If one id stands for two different entries.
    StorageError
        If the database cannot take them.
    """
    rows: dict[str, EventRow] = {}
    for event in events:
        row = rows.setdefault(event.id, event_row(event))
        if row.text != event.text:
            raise InputError(
                "two different entries have one id",
                where=f"entry {event.id}",
                allowed="an id for each entry",
                cure="Send the queue as the tablet wrote it",
            )
    return store.add(list(rows.values()), received_from=received_from, received_at=received_at)


def load_events(store: EventStore, draft: str) -> list[Event]:
    """Return the stored entries of a draft.

    Parameters
    ----------
    store : EventStore
        Where.
    draft : str
        The draft.

    Returns
    -------
    list of Event
        In the order in which they came.

    Raises
    ------
    StorageError
        If the database cannot be read.
    """
    return [event_from_plain(strict_json(text)) for text in store.texts(draft)]


def load_draft(store: EventStore, draft: str) -> Draft:
    """Return a draft as its stored entries add up.

    Parameters
    ----------
    store : EventStore
        Where.
    draft : str
        The draft.

    Returns
    -------
    Draft
        Empty for a draft that is not known.

    Raises
    ------
    StorageError
        If the database cannot be read.
    """
    return fold(draft, load_events(store, draft))


def keep_draft(
    store: Store,
    draft_id: str,
    *,
    today: date,
    kept_by: str,
    kept_at: datetime,
    catalogue: Catalogue | None = None,
    finish: Event | None = None,
) -> KeepReceipt | str:
    """Keep the inspection of a draft that is finished; keeping it again changes nothing.

    Parameters
    ----------
    store : Store
        Where.
    draft_id : str
        The draft.
    today : date
        No reading can be younger.
    kept_by : str
        Who keeps it.
    kept_at : datetime
        When, with time zone.
    catalogue : Catalogue, optional
        With limits of the maker's; the one that ships by default.
    finish : Event, optional
        The entry that ends it, where it is to be stored only if the inspection can be kept.

    Returns
    -------
    KeepReceipt or str
        The receipt; the vehicle of a draft that nobody has finished.

    Raises
    ------
    InputError
        If the draft contradicts itself, or the inspection cannot be kept.

    Notes
    -----
    The inspection has the id of its draft. Entries that come after the end are not lost: the next end keeps a
    correction that supersedes the first, as ``<draft>.2``.
    """
    events = EventStore(store)
    row = events.draft(draft_id)  # before the entries are read: one that comes meanwhile counts as late
    entries = load_events(events, draft_id)
    draft = fold(draft_id, entries if finish is None else [*entries, finish])
    if draft.finish is None:
        return draft.vehicle_id or draft_id
    inspection = finished_inspection(draft, catalogue or load_catalogue(), today)
    earlier = row.inspection_id if row is not None else None
    said = draft.finish.value if isinstance(draft.finish.value, dict) else {}
    supersedes = earlier or draft.supersedes or None
    reason = str(said.get("reason") or draft.reason or LATE) if supersedes else ""
    receipt = store.keep(
        inspection,
        kept_by=kept_by,
        kept_at=kept_at,
        supersedes=supersedes,
        reason=reason,
        counter_exchanged=said.get("counter_exchanged") is True,
        inspection_id=_next_id(draft_id, earlier),
    )
    events.mark_kept(draft_id, receipt.id, row.last_number if row is not None else 0)
    return receipt


def _next_id(draft: str, earlier: str | None) -> str:
    if earlier is None:
        return draft
    _, _, number = earlier.partition(".")
    return f"{draft}.{int(number or 1) + 1 if (number or '1').isdigit() else 2}"
