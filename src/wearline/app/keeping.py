"""Keep an inspection for good, and look at what was kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from wearline.app.judging import Request, open_inspection
from wearline.assessment.assemble import judge
from wearline.assessment.road import decide_road
from wearline.catalogue.loading import load_catalogue
from wearline.errors import StorageError
from wearline.storage.kept import KeepReceipt, KeptInspection
from wearline.storage.opening import open_store

if TYPE_CHECKING:
    from wearline.app.answer_types import HistoryAnswer, KeepAnswer, KeptJson

__all__ = ["Keeping", "history_answer", "keep_answer", "keep_inspection", "keep_queue", "show_history"]


@dataclass(frozen=True, slots=True)
class Keeping:
    """How an inspection is kept.

    Parameters
    ----------
    database : str
        File or address of the database.
    kept_by : str
        Who keeps it.
    kept_at : datetime
        When, with time zone.
    supersedes : str
        Id of the inspection that this one corrects; empty for a new one.
    reason : str
        Why, for a correction.
    counter_exchanged : bool
        Whether the odometer was exchanged since the last inspection.
    """

    database: str
    kept_by: str
    kept_at: datetime
    supersedes: str = ""
    reason: str = ""
    counter_exchanged: bool = False


def keep_inspection(request: Request, keeping: Keeping) -> KeepReceipt:
    """Keep an inspection for good.

    Parameters
    ----------
    request : Request
        The file; its limits play no part.
    keeping : Keeping
        Where and by whom.

    Returns
    -------
    KeepReceipt
        Once it is returned the inspection is on the disk.

    Raises
    ------
    InputError
        If the file is wrong, contradicts what was kept, or the database cannot take it.
    """
    opened = open_inspection(request)
    with open_store(keeping.database) as store:
        return store.keep(
            opened.inspection,
            kept_by=keeping.kept_by,
            kept_at=keeping.kept_at,
            supersedes=keeping.supersedes or None,
            reason=keeping.reason,
            counter_exchanged=keeping.counter_exchanged,
        )


def keep_queue(data: bytes, today: date, keeping: Keeping) -> tuple[list[KeepReceipt], list[str]]:
    """Take over the queue that a tablet exported: store its entries, keep what they end.

    Parameters
    ----------
    data : bytes
        The exported file.
    today : date
        No reading can be younger.
    keeping : Keeping
        Where and by whom.

    Returns
    -------
    list of KeepReceipt, list of str
        Inspections that are kept now, and vehicles whose drafts are still open.

    Raises
    ------
    InputError
        If the file or an entry is wrong, an entry stands in the database with another content, or a draft
        that is ended contradicts itself.
    """
    from wearline.app.draft_events import events_from_text
    from wearline.app.draft_keeping import keep_draft, store_events
    from wearline.storage.events import EventStore

    events = events_from_text(data)
    with open_store(keeping.database) as store:
        found = EventStore(store)
        received = store_events(found, events, received_from=keeping.kept_by, received_at=keeping.kept_at)
        if received.changed:
            raise StorageError(
                f"{len(received.changed)} entries are known with another content, the first is "
                f"{received.changed[0]}",
                where=keeping.database,
                allowed="each entry once",
                cure="Nothing was overwritten. Compare the file with the draft on the page",
            )
        receipts, unfinished = [], []
        for draft in dict.fromkeys(event.draft for event in events):
            kept = keep_draft(store, draft, today=today, kept_by=keeping.kept_by, kept_at=keeping.kept_at)
            if isinstance(kept, str):
                unfinished.append(kept)
            else:
                receipts.append(kept)
    return receipts, unfinished


def show_history(
    database: str, vehicle_id: str | None, since: date | None, until: date | None, *, superseded: bool
) -> list[KeptInspection]:
    """Return what was kept.

    Parameters
    ----------
    database : str
        File or address of the database.
    vehicle_id : str or None
        One vehicle, or all.
    since, until : date or None
        First and last day, both included.
    superseded : bool
        Whether corrected inspections are shown too.

    Returns
    -------
    list of KeptInspection
        Oldest first.

    Raises
    ------
    StorageError
        If the database is missing or cannot be read.
    """
    with open_store(database, create=False) as store:
        return store.history(vehicle_id, since, until, superseded)


def keep_answer(receipt: KeepReceipt) -> KeepAnswer:
    """Return a receipt as JSON values.

    Parameters
    ----------
    receipt : KeepReceipt
        The receipt.

    Returns
    -------
    KeepAnswer
        Under schema ``wearline.kept/1``.
    """
    return {
        "schema": "wearline.kept/1",
        "id": receipt.id,
        "digest": receipt.digest,
        "already_kept": receipt.already_kept,
        "warnings": [
            {"code": notice.code, "text": notice.text, "where": notice.where, "cure": notice.cure}
            for notice in receipt.notices
        ],
    }


def history_answer(kept: list[KeptInspection]) -> HistoryAnswer:
    """Return kept inspections as JSON values, each judged anew by today's rules.

    Parameters
    ----------
    kept : list of KeptInspection
        From ``show_history``.

    Returns
    -------
    HistoryAnswer
        Under schema ``wearline.history/1``.
    """
    return {"schema": "wearline.history/1", "inspections": [_kept(item) for item in kept]}


def _kept(item: KeptInspection) -> KeptJson:
    catalogue = load_catalogue()
    judgement = judge(item.inspection, catalogue)
    road = decide_road(item.inspection, judgement, catalogue)
    thinnest: dict[str, float | None] = {
        end.place: None if end.derived.thinnest is None else round(1e3 * end.derived.thinnest, 3)
        for end in judgement.wheel_ends
    }
    return {
        "id": item.id,
        "vehicle": item.vehicle_id,
        "taken_on": item.taken_on.isoformat(),
        "odometer_km": None if item.odometer is None else round(item.odometer / 1e3, 3),
        "inspector": item.inspection.inspector,
        "level": road.level,
        "findings": sum(1 for finding in judgement.all_findings if finding.weight == "fault"),
        "thinnest_mm": thinnest,
        "supersedes": item.supersedes or "",
        "reason": item.reason,
    }
