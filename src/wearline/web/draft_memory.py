"""Entries of drafts as they were understood last: a stored one never changes, so only new ones are read."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

from wearline.app.draft_events import Event, event_from_plain, strict_json
from wearline.storage.events import EventStore

__all__ = ["DraftMemory"]

_REMEMBERED = 40
_LONGEST = 5_000
"""Entries of one draft that are remembered; a longer draft is read anew each time."""


class DraftMemory:
    """The drafts somebody works on.

    Parameters
    ----------
    store : EventStore
        Where the entries are.
    """

    def __init__(self, store: EventStore) -> None:
        self._store = store
        self._lock = Lock()
        self._found: OrderedDict[str, tuple[int, tuple[Event, ...]]] = OrderedDict()

    def events(self, draft: str) -> list[Event]:
        """Return the stored entries of a draft.

        Parameters
        ----------
        draft : str
            The draft.

        Returns
        -------
        list of Event
            In the order in which they came; empty for a draft that is not known.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        with self._lock:
            last, known = self._found.get(draft, (0, ()))
        fresh = self._store.texts_after(draft, last)
        if fresh:
            known = (*known, *(event_from_plain(strict_json(text)) for _, text in fresh))
            self._remember(draft, fresh[-1][0], known)
        return list(known)

    def _remember(self, draft: str, last: int, known: tuple[Event, ...]) -> None:
        if len(known) > _LONGEST:
            return
        with self._lock:
            self._found[draft] = (last, known)
            self._found.move_to_end(draft)
            while len(self._found) > _REMEMBERED:
                self._found.popitem(last=False)
