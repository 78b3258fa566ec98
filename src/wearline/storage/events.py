"""Entries of tablets: stored once, in the order in which they came, and never changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, insert, select, update
from sqlalchemy.engine import RowMapping

from wearline.storage.kept import text_digest
from wearline.storage.store import Store
from wearline.storage.web_tables import draft_events, drafts

__all__ = ["DraftRow", "EventRow", "EventStore", "StoredEvents"]

_AT_A_TIME = 400


@dataclass(frozen=True, slots=True)
class EventRow:
    """One entry as it is stored.

    Parameters
    ----------
    id, draft : str
        The entry and the draft it belongs to.
    text : str
        The entry as canonical JSON.
    vehicle_id, taken_on : str
        What a start says of the draft; empty in every other entry.
    """

    id: str
    draft: str
    text: str
    vehicle_id: str = ""
    taken_on: str = ""


@dataclass(frozen=True, slots=True)
class StoredEvents:
    """What became of entries; they are on the disk.

    Parameters
    ----------
    stored, known, changed : tuple of str
        Ids that are new, that were there before with the same content, and that were there with another
        content; the last are not stored.
    """

    stored: tuple[str, ...]
    known: tuple[str, ...]
    changed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DraftRow:
    """One draft in a list.

    Parameters
    ----------
    id, vehicle_id, taken_on : str
        The draft and what its start says; empty where the start has not come yet.
    entries : int
        How many entries have come.
    first_at, last_at : datetime
        When the first and the last came.
    last_by : str
        From whom the last came.
    inspection_id : str or None
        The inspection it became, the latest where it was corrected.
    late : bool
        Whether entries came after that.
    last_number : int
        Number of the last entry.
    """

    id: str
    vehicle_id: str
    taken_on: str
    entries: int
    first_at: datetime
    last_at: datetime
    last_by: str
    inspection_id: str | None
    late: bool
    last_number: int


class EventStore:
    """The entries in a database.

    Parameters
    ----------
    store : Store
        The open database.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, rows: Sequence[EventRow], *, received_from: str, received_at: datetime) -> StoredEvents:
        """Store entries in one transaction; what is known already is left alone.

        Parameters
        ----------
        rows : sequence of EventRow
            Entries in their order, ids without repetition.
        received_from : str
            Who sent them.
        received_at : datetime
            When, with time zone.

        Returns
        -------
        StoredEvents
            Once it is returned, the new entries are on the disk.

        Raises
        ------
        StorageError
            If the database cannot take them; then none is stored.
        """
        digests = {row.id: text_digest(row.text) for row in rows}
        with self._store.writing() as connection:
            known = _digests_of(connection, list(digests))
            fresh = [row for row in rows if row.id not in known]
            if fresh:
                connection.execute(
                    insert(draft_events),
                    [
                        {
                            "id": row.id,
                            "draft": row.draft,
                            "digest": digests[row.id],
                            "received_at": received_at,
                            "received_from": received_from,
                            "event_json": row.text,
                        }
                        for row in fresh
                    ],
                )
                for draft in dict.fromkeys(row.draft for row in fresh):
                    own = [row for row in fresh if row.draft == draft]
                    _count(connection, own, received_from, received_at)
        return StoredEvents(
            stored=tuple(row.id for row in fresh),
            known=tuple(row.id for row in rows if known.get(row.id) == digests[row.id]),
            changed=tuple(row.id for row in rows if known.get(row.id, digests[row.id]) != digests[row.id]),
        )

    def texts(self, draft: str) -> list[str]:
        """Return the entries of a draft in the order in which they came.

        Parameters
        ----------
        draft : str
            The draft.

        Returns
        -------
        list of str
            Canonical JSON; empty for a draft that is not known.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        return [text for _, text in self.texts_after(draft, 0)]

    def texts_after(self, draft: str, number: int) -> list[tuple[int, str]]:
        """Return the entries of a draft that came after one of them.

        Parameters
        ----------
        draft : str
            The draft.
        number : int
            Number of that one; 0 for all.

        Returns
        -------
        list of (int, str)
            Number and canonical JSON of each, in the order in which they came.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = (
            select(draft_events.c.number, draft_events.c.event_json)
            .where(draft_events.c.draft == draft, draft_events.c.number > number)
            .order_by(draft_events.c.number)
        )
        with self._store.reading() as connection:
            return [(row.number, row.event_json) for row in connection.execute(statement)]

    def draft(self, draft: str) -> DraftRow | None:
        """Return what is known of one draft.

        Parameters
        ----------
        draft : str
            The draft.

        Returns
        -------
        DraftRow or None
            None if nothing came of it.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        with self._store.reading() as connection:
            row = connection.execute(select(drafts).where(drafts.c.draft == draft)).mappings().one_or_none()
            return None if row is None else _draft_row(row)

    def drafts(self, *, limit: int = 200, open_only: bool = False) -> list[DraftRow]:
        """Return the drafts, the one with the newest entry first.

        Parameters
        ----------
        limit : int
            At most so many, >= 1.
        open_only : bool
            Without those that became an inspection and got no entry since.

        Returns
        -------
        list of DraftRow
            The drafts.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = select(drafts).order_by(drafts.c.last_number.desc()).limit(limit)
        if open_only:
            statement = statement.where(
                drafts.c.inspection_id.is_(None) | (drafts.c.kept_number < drafts.c.last_number)
            )
        with self._store.reading() as connection:
            return [_draft_row(row) for row in connection.execute(statement).mappings()]

    def mark_kept(self, draft: str, inspection_id: str, number: int) -> None:
        """Note which inspection a draft became, and up to which entry.

        Parameters
        ----------
        draft : str
            The draft.
        inspection_id : str
            The inspection.
        number : int
            Number of the last entry that is in it.

        Raises
        ------
        StorageError
            If the database cannot be written.
        """
        with self._store.writing() as connection:
            connection.execute(
                update(drafts)
                .where(drafts.c.draft == draft)
                .values(inspection_id=inspection_id, kept_number=number)
            )


def _digests_of(connection: Connection, ids: list[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for start in range(0, len(ids), _AT_A_TIME):
        part = ids[start : start + _AT_A_TIME]
        rows = connection.execute(
            select(draft_events.c.id, draft_events.c.digest).where(draft_events.c.id.in_(part))
        )
        found.update((row.id, row.digest) for row in rows)
    return found


def _count(connection: Connection, rows: list[EventRow], by: str, at: datetime) -> None:
    draft = rows[0].draft
    last = connection.scalar(
        select(draft_events.c.number)
        .where(draft_events.c.draft == draft)
        .order_by(draft_events.c.number.desc())
        .limit(1)
    )
    start = next((row for row in rows if row.vehicle_id or row.taken_on), None)
    values: dict[str, object] = {"last_at": at, "last_by": by, "last_number": last}
    before = connection.execute(select(drafts.c.entries).where(drafts.c.draft == draft)).one_or_none()
    if start is not None:
        values |= {"vehicle_id": start.vehicle_id, "taken_on": start.taken_on}
    if before is None:
        given = {"draft": draft, "vehicle_id": "", "taken_on": "", "entries": len(rows), "first_at": at}
        connection.execute(insert(drafts), given | values)
    else:
        values["entries"] = before.entries + len(rows)
        connection.execute(update(drafts).where(drafts.c.draft == draft).values(**values))


def _draft_row(row: RowMapping) -> DraftRow:
    return DraftRow(
        id=row["draft"],
        vehicle_id=row["vehicle_id"],
        taken_on=row["taken_on"],
        entries=row["entries"],
        first_at=row["first_at"],
        last_at=row["last_at"],
        last_by=row["last_by"],
        inspection_id=row["inspection_id"],
        late=row["inspection_id"] is not None and row["kept_number"] < row["last_number"],
        last_number=row["last_number"],
    )
