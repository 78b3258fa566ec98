"""Which inspections of which vehicles are kept: read once, and brought up to date by what was added since.

What is kept is never changed or removed, so an index in memory needs only the rows with a higher number.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from threading import Event, Lock, Thread
from typing import Any, TypeVar

from wearline import __version__
from wearline.errors import WearlineError
from wearline.storage.overviews import IndexRow
from wearline.web.beside import Beside
from wearline.web.shop import Shop
from wearline.web.summaries import CARD, JOB, WHY, kind_of, make_card

__all__ = ["FleetIndex", "Line"]

_T = TypeVar("_T")

_PAUSE = 0.005
"""[s] Between two summaries where they are made in the server itself."""

_LOOK = 2.0
"""[s] Between two looks whether something was kept, by a page, a tablet or a command."""


@dataclass(frozen=True, slots=True)
class Line:
    """One kept inspection in a list.

    Parameters
    ----------
    id, vehicle, digest : str
        The inspection, its vehicle, and the fingerprint of what it says.
    taken_on : date
        Day of the readings.
    odometer_km : float or None
        Distance run.
    kept_by : str
        Who kept it.
    supersedes, superseded_by : str or None
        What it corrects, and what corrects it.
    """

    id: str
    vehicle: str
    digest: str
    taken_on: date
    odometer_km: float | None
    kept_by: str
    supersedes: str | None
    superseded_by: str | None = None


class FleetIndex:
    """The index and the summaries.

    Parameters
    ----------
    shop : Shop
        The database.
    beside : Beside
        Makes what is missing.
    """

    def __init__(self, shop: Shop, beside: Beside) -> None:
        self._shop = shop
        self._beside = beside
        self._lock = Lock()
        self._last = 0
        self._lines: dict[str, list[Line]] = {}
        self._by_id: dict[str, Line] = {}
        self._cards: dict[str, dict[str, Any]] = {}
        self._rules = ("", "")
        self._lists: dict[str, tuple[int, list[Any]]] = {}
        self._words: dict[str, str] = {}
        self._not_ahead: set[str] = set()
        self._stop = Event()
        self._work = Event()
        self._worker: Thread | None = None

    def refresh(self) -> None:
        """Read what was kept since the last time."""
        with self._lock:
            if self._shop.overview.newest_inspection() == self._last:
                return
            for row in self._shop.overview.inspections_after(self._last):
                self._take(row)
        self._work.set()

    def _take(self, row: IndexRow) -> None:
        self._last = row.number
        line = Line(
            row.id,
            row.vehicle_id,
            row.digest,
            row.taken_on,
            None if row.odometer is None else round(row.odometer / 1e3, 1),
            row.kept_by,
            row.supersedes,
        )
        if row.supersedes is not None and row.supersedes in self._by_id:
            old = self._by_id[row.supersedes]
            new = Line(
                old.id,
                old.vehicle,
                old.digest,
                old.taken_on,
                old.odometer_km,
                old.kept_by,
                old.supersedes,
                superseded_by=row.id,
            )
            lines = self._lines[old.vehicle]
            lines[next(place for place, each in enumerate(lines) if each.id == old.id)] = new
            self._by_id[old.id] = new
        self._by_id[line.id] = line
        lines = self._lines.setdefault(line.vehicle, [])
        place = len(lines)
        while place and lines[place - 1].taken_on > line.taken_on:
            place -= 1
        lines.insert(place, line)

    def history(
        self,
        vehicle: str | None = None,
        since: date | None = None,
        until: date | None = None,
        *,
        superseded: bool = False,
    ) -> list[Line]:
        """Return kept inspections, the latest first.

        Parameters
        ----------
        vehicle : str, optional
            Only of this one.
        since, until : date, optional
            First and last day.
        superseded : bool
            Also those that were corrected.

        Returns
        -------
        list of Line
            The inspections.
        """
        self.refresh()
        if vehicle is None:
            found = self._in_order()
        else:
            found = list(self._lines.get(vehicle, ()))
        return [
            line
            for line in reversed(found)
            if (superseded or line.superseded_by is None)
            and (since is None or line.taken_on >= since)
            and (until is None or line.taken_on <= until)
        ]

    def _in_order(self) -> list[Line]:
        """Every inspection by its day; put in order once for what is kept now."""
        return self._remember("by day", self._by_day)

    def _by_day(self) -> list[Line]:
        found = [line for lines in self._lines.copy().values() for line in lines]
        found.sort(key=lambda line: line.taken_on)
        return found

    def current(self, order: str, key: Callable[[Line], Any]) -> list[Line]:
        """Return the inspections that stand, in an order; worked out once for what is kept now.

        Parameters
        ----------
        order : str
            Its name.
        key : callable
            What a line is ordered by.

        Returns
        -------
        list of Line
            The smallest first, among equals the one of the earlier day first; not to be changed.
        """
        self.refresh()
        return self._remember(f"current {order}", lambda: sorted(self._standing(), key=key))

    def _standing(self) -> list[Line]:
        return [line for line in self._in_order() if line.superseded_by is None]

    def words(self, line: Line) -> str:
        """Return in what a line is searched.

        Parameters
        ----------
        line : Line
            The line.

        Returns
        -------
        str
            Vehicle, day and person, in small letters.
        """
        found = self._words.get(line.id)
        if found is None:
            found = self._words[line.id] = f"{line.vehicle} {line.taken_on} {line.kept_by}".casefold()
        return found

    def _remember(self, name: str, make: Callable[[], list[_T]]) -> list[_T]:
        last = self._last
        number, found = self._lists.get(name, (-1, []))
        if number != last:
            found = make()
            self._lists[name] = (last, found)
        return found

    def latest(self) -> list[tuple[Line, int]]:
        """Return the latest current inspection of every vehicle, and how many are current.

        Returns
        -------
        list of (Line, int)
            In no order.
        """
        self.refresh()
        return self._remember("latest", self._find_latest)

    def _find_latest(self) -> list[tuple[Line, int]]:
        found = []
        for lines in self._lines.copy().values():
            current = [line for line in lines if line.superseded_by is None]
            if current:
                found.append((current[-1], len(current)))
        return found

    @property
    def size(self) -> int:
        """How many inspections are kept."""
        self.refresh()
        return len(self._by_id)

    def cards(self, lines: list[Line], *, compute: int = 0) -> dict[str, dict[str, Any]]:
        """Return summaries by fingerprint.

        Parameters
        ----------
        lines : list of Line
            Of which inspections.
        compute : int
            How many missing ones may be made now; the others are made in the background.

        Returns
        -------
        dict
            Those that are there.
        """
        self._forget_old_rules()
        wanted = [line.digest for line in lines if line.digest not in self._cards]
        if wanted:
            self._cards.update(self._shop.overview.results(self._kind, wanted, *self._versions))
        missing = [line for line in lines if line.digest not in self._cards]
        for line in missing[:compute]:
            self._cards[line.digest] = make_card(self._shop, line.id)[2]
        if len(missing) > compute:
            self._work.set()
        return {line.digest: self._cards[line.digest] for line in lines if line.digest in self._cards}

    def card(self, digest: str, inspection_id: str) -> dict[str, Any]:
        """Return the summary of one inspection, made now where there is none.

        Parameters
        ----------
        digest, inspection_id : str
            Its fingerprint, and the inspection.

        Returns
        -------
        dict
            The summary.
        """
        self._forget_old_rules()
        found = self._cards.get(digest)
        if found is None:
            found = self._shop.overview.results(self._kind, [digest], *self._versions).get(digest)
        if found is None:
            found = make_card(self._shop, inspection_id)[2]
        self._cards[digest] = found
        return found

    @property
    def _kind(self) -> str:
        return kind_of(CARD, self._shop.settings())

    @property
    def _versions(self) -> tuple[str, str]:
        return __version__, self._shop.catalogue().version

    def _forget_old_rules(self) -> None:
        rules = (self._kind, self._versions[1])
        if rules != self._rules:
            self._rules = rules
            self._cards = {}
            self._work.set()
        if len(self._cards) > 60_000:
            self._cards = {}

    def start(self) -> None:
        """Begin to make in the background what is missing."""
        self._worker = Thread(target=self._run, name="wearline-cards", daemon=True)
        self._worker.start()

    def stop(self) -> None:
        """End the work in the background."""
        self._stop.set()
        self._work.set()
        self._beside.close()
        if self._worker is not None:
            self._worker.join(timeout=10)

    def _run(self) -> None:
        while not self._stop.is_set():
            self._work.wait(_LOOK)
            try:
                self.refresh()
                if not self._work.is_set():
                    continue
                self._work.clear()
                lines = [line for line, _ in self.latest()]
                self._make_cards(lines)
                if self._shop.config.beside:
                    self._make_long(lines)
            except WearlineError:
                self._stop.wait(1.0)  # the database is busy or gone: the pages say so

    def _make_cards(self, lines: list[Line]) -> None:
        self.cards(lines)
        for line in lines:
            if self._stop.is_set():
                return
            if line.digest in self._cards:
                continue
            kind, version, card = self._beside.ask(make_card, line.id)
            if (kind, version) == self._rules:
                self._cards[line.digest] = card
            time.sleep(_PAUSE)  # whoever waits for a page comes first

    def _make_long(self, lines: list[Line]) -> None:
        """Causes and job of the latest inspections, the latest day first, until something is nearer."""
        from wearline.web.ahead import make_long

        overview, versions = self._shop.overview, self._versions
        digests = [line.digest for line in lines]
        known = overview.stored(WHY, digests, *versions)
        known &= overview.stored(kind_of(JOB, self._shop.settings()), digests, *versions)
        for line in sorted(lines, key=lambda line: line.taken_on, reverse=True):
            if self._stop.is_set() or self._work.is_set():
                return
            if line.digest in known or line.digest in self._not_ahead:
                continue
            lines_of_vehicle = self.history(line.vehicle, until=line.taken_on)
            try:
                self._beside.ask(make_long, line.id, tuple(lines_of_vehicle))
            except WearlineError:
                self._not_ahead.add(line.digest)  # its pages say why
