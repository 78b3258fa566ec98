"""Answers that take long to work out: stored beside what they were worked out from, and read from there."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from threading import Lock, Thread
from typing import Any

from wearline import __version__
from wearline.errors import WearlineError
from wearline.storage.kept import KeptInspection, Snapshot
from wearline.web.fleet_index import FleetIndex
from wearline.web.shop import Shop

__all__ = ["FleetAnswer", "Workbench", "stored_answer"]


def stored_answer(
    shop: Shop, kept: KeptInspection, kind: str, make: Callable[[], Mapping[str, Any]]
) -> Mapping[str, Any]:
    """Return an answer about a kept inspection, worked out once for these versions.

    Parameters
    ----------
    shop : Shop
        Where answers are stored.
    kept : KeptInspection
        About what.
    kind : str
        Which answer.
    make : callable
        Works it out.

    Returns
    -------
    mapping
        JSON values.
    """
    version = shop.catalogue().version
    found = shop.journal.results(kind, [kept.digest], __version__, version).get(kept.digest)
    if found is not None:
        assert isinstance(found, dict)
        return found
    made = make()
    shop.store.save_snapshot(Snapshot(kind, kept.digest, __version__, version, shop.now, made))
    return made


@dataclass(frozen=True, slots=True)
class FleetAnswer:
    """An answer about the whole fleet.

    Parameters
    ----------
    answer : mapping or None
        JSON values; None where none was worked out yet.
    made_at : datetime or None
        When.
    older : bool
        Whether something was kept since.
    working : bool
        Whether it is being worked out now.
    seconds : float
        For how long.
    fault : str
        Why the last try failed.
    """

    answer: Mapping[str, Any] | None
    made_at: datetime | None
    older: bool
    working: bool
    seconds: float
    fault: str


class Workbench:
    """Works answers about the whole fleet out in the background, one at a time.

    Parameters
    ----------
    shop : Shop
        Where answers are stored.
    index : FleetIndex
        What is kept.
    """

    def __init__(self, shop: Shop, index: FleetIndex) -> None:
        self._shop = shop
        self._index = index
        self._lock = Lock()
        self._running: dict[str, float] = {}
        self._faults: dict[str, str] = {}
        self._latest: dict[str, Snapshot] = {}

    def _digest(self) -> str:
        """What the fleet is now: what is kept is never changed, so its size says it."""
        return hashlib.sha256(f"fleet {self._index.size}".encode()).hexdigest()

    def look(self, kind: str) -> FleetAnswer:
        """Return the latest answer of a kind.

        Parameters
        ----------
        kind : str
            Which.

        Returns
        -------
        FleetAnswer
            With what is known about it.
        """
        digest = self._digest()
        latest = self._latest.get(kind)
        if latest is None or latest.input_digest != digest:
            version = self._shop.catalogue().version
            fresh = self._shop.store.snapshot(
                kind, digest, code_version=__version__, catalogue_version=version
            )
            latest = self._latest[kind] = fresh if fresh is not None else latest  # type: ignore[assignment]
            if latest is None:
                self._latest.pop(kind)
        begun = self._running.get(kind)
        return FleetAnswer(
            answer=None if latest is None else latest.result,
            made_at=None if latest is None else latest.made_at,
            older=latest is not None and latest.input_digest != digest,
            working=begun is not None,
            seconds=0.0 if begun is None else round(time.monotonic() - begun, 0),
            fault=self._faults.get(kind, ""),
        )

    def begin(self, kind: str, make: Callable[[], Mapping[str, Any]]) -> bool:
        """Begin to work an answer out.

        Parameters
        ----------
        kind : str
            Which.
        make : callable
            Works it out.

        Returns
        -------
        bool
            False where something is being worked out already.
        """
        with self._lock:
            if self._running:
                return False
            self._running[kind] = time.monotonic()
            self._faults.pop(kind, None)
        digest = self._digest()
        Thread(target=self._work, args=(kind, digest, make), name=f"wearline-{kind}", daemon=True).start()
        return True

    def _work(self, kind: str, digest: str, make: Callable[[], Mapping[str, Any]]) -> None:
        shop = self._shop
        try:
            version = shop.catalogue().version
            snapshot = Snapshot(kind, digest, __version__, version, shop.now, make())
            shop.store.save_snapshot(snapshot)
            self._latest[kind] = snapshot
        except WearlineError as error:
            self._faults[kind] = str(error)
        except Exception as error:  # the page says it; the terminal gets the rest
            import traceback

            traceback.print_exception(error)
            self._faults[kind] = f"the program failed: {type(error).__name__}"
        finally:
            self._running.pop(kind, None)
