"""Answers about the whole fleet: worked out beside the server, stored, and read from there."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from threading import Lock, Thread
from typing import Any, Concatenate, ParamSpec, TypeVar, cast

from wearline import __version__
from wearline.errors import WearlineError
from wearline.storage.kept import Snapshot
from wearline.web.beside import Beside
from wearline.web.fleet_index import FleetIndex
from wearline.web.shop import Shop

__all__ = ["FleetAnswer", "Workbench"]

_P = ParamSpec("_P")
_T = TypeVar("_T")


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
        Whether something was kept, or the limits were changed, since.
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
    beside : Beside
        Where they are worked out.
    """

    def __init__(self, shop: Shop, index: FleetIndex, beside: Beside) -> None:
        self._shop = shop
        self._index = index
        self._beside = beside
        self._lock = Lock()
        self._running: dict[str, float] = {}
        self._faults: dict[str, str] = {}
        self._latest: dict[str, Snapshot] = {}
        self._derived: dict[tuple[str, str], tuple[Snapshot, Any]] = {}
        self._looked: set[str] = set()

    def close(self) -> None:
        """End what is being worked out."""
        self._beside.close()

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
        now = (self._digest(), self._shop.catalogue().version)
        latest = self._newest(kind, now)
        begun = self._running.get(kind)
        return FleetAnswer(
            answer=None if latest is None else latest.result,
            made_at=None if latest is None else latest.made_at,
            older=latest is not None and _about(latest) != now,
            working=begun is not None,
            seconds=0.0 if begun is None else round(time.monotonic() - begun, 0),
            fault=self._faults.get(kind, ""),
        )

    def _newest(self, kind: str, now: tuple[str, str]) -> Snapshot | None:
        """The answer about the fleet as it is now; else the last one that was worked out at all."""
        latest = self._latest.get(kind)
        if latest is not None and _about(latest) == now:
            return latest
        fresh = self._shop.store.snapshot(kind, now[0], code_version=__version__, catalogue_version=now[1])
        if fresh is None and kind not in self._looked:
            fresh = self._shop.overview.newest_result(kind, __version__)
        self._looked.add(kind)
        if fresh is not None:
            latest = self._latest[kind] = fresh
        return latest

    def derived(self, kind: str, name: str, make: Callable[[Mapping[str, Any]], _T]) -> _T:
        """Return what a page makes of the latest answer, made once for each answer.

        Parameters
        ----------
        kind : str
            Which answer.
        name : str
            What is made of it.
        make : callable
            Makes it of the answer; of an empty one where there is none.

        Returns
        -------
        object
            What was made; not to be changed.
        """
        self.look(kind)
        latest = self._latest.get(kind)
        if latest is None:
            return make({})
        found = self._derived.get((kind, name))
        if found is None or found[0] is not latest:
            found = self._derived[kind, name] = (latest, make(latest.result))
        return cast(_T, found[1])

    def begin(
        self,
        kind: str,
        task: Callable[Concatenate[Shop, _P], Mapping[str, Any]],
        *args: _P.args,
        **more: _P.kwargs,
    ) -> bool:
        """Begin to work an answer out.

        Parameters
        ----------
        kind : str
            Which.
        task : callable
            A function of a module that works it out, and takes the shop first.
        *args, **more
            What it takes besides.

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
        about = (self._digest(), self._shop.catalogue().version)

        def work() -> None:
            self._work(kind, about, lambda: self._beside.ask(task, *args, **more))

        Thread(target=work, name=f"wearline-{kind}", daemon=True).start()
        return True

    def _work(self, kind: str, about: tuple[str, str], make: Callable[[], Mapping[str, Any]]) -> None:
        shop = self._shop
        try:
            snapshot = Snapshot(kind, about[0], __version__, about[1], shop.now, make())
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


def _about(snapshot: Snapshot) -> tuple[str, str]:
    return snapshot.input_digest, snapshot.catalogue_version
