"""Which inspections of which vehicles are kept: read once, and brought up to date by what was added since.

What is kept is never changed or removed, so an index in memory needs only the rows with a higher number.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from datetime import date, datetime
from threading import Event, Lock, Thread
from typing import Any

from wearline import __version__
from wearline.assessment.results import Verdict
from wearline.errors import WearlineError
from wearline.storage.journal import IndexRow
from wearline.storage.kept import Snapshot
from wearline.web.judging import Judged, judge_all
from wearline.web.shop import Shop

__all__ = ["CARD", "FleetIndex", "Line", "card_of"]

CARD = "card"
"""Kind of the stored summary of an inspection."""


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


def card_of(judged: Judged) -> dict[str, Any]:
    """Return the summary of a judged inspection, for lists.

    Parameters
    ----------
    judged : Judged
        The inspection with everything that follows.

    Returns
    -------
    dict
        JSON values.
    """
    judgement, road = judged.judgement, judged.road
    readings = [reading for end in judgement.wheel_ends for reading in end.readings]
    readings += judgement.vehicle_readings
    thinnest = [
        (end.derived.thinnest, end.place) for end in judgement.wheel_ends if end.derived.thinnest is not None
    ]
    left = [
        (end.derived.distance_to_service, end.place)
        for end in judgement.wheel_ends
        if end.derived.distance_to_service is not None
    ]
    reason = road.reasons[0] if road.reasons else None
    undecided = sum(reading.verdict is Verdict.UNDECIDED for reading in readings)
    headline = "nothing beyond a limit" if not undecided else "undecided readings only"
    if reason is not None:
        headline = f"{reason.place}: {reason.text}" if reason.place else reason.text
    return {
        "level": road.level,
        "meaning": road.meaning,
        "headline": headline,
        "description": judged.inspection.vehicle.description,
        "kind": judged.inspection.vehicle.kind,
        "faults": sum(finding.weight == "fault" for finding in judgement.all_findings),
        "undecided": undecided,
        "wheels_off": [axle.axle for axle in judgement.axles if axle.take_off],
        "work": [
            f"{work.code} {work.at}"
            for axle in judged.bare_plan.axles
            for work in axle.work
            if work.standing == "needed"
        ],
        "hours": round(sum(axle.hours.high for axle in judged.bare_plan.axles), 1),
        "thinnest_mm": round(1e3 * min(thinnest)[0], 1) if thinnest else None,
        "thinnest_at": min(thinnest)[1] if thinnest else "",
        "km_left": round(min(left)[0] / 1e3, -2) if left else None,
        "km_left_at": min(left)[1] if left else "",
        "not_taken": sum(bool(end.not_taken) for end in judgement.wheel_ends),
    }


class FleetIndex:
    """The index and the summaries.

    Parameters
    ----------
    shop : Shop
        The database.
    """

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._lock = Lock()
        self._last = 0
        self._lines: dict[str, list[Line]] = {}
        self._by_id: dict[str, Line] = {}
        self._cards: dict[str, dict[str, Any]] = {}
        self._rules = ("", "")
        self._ordered: tuple[int, list[Line]] = (-1, [])
        self._stop = Event()
        self._work = Event()
        self._worker: Thread | None = None

    def refresh(self) -> None:
        """Read what was kept since the last time."""
        with self._lock:
            if self._shop.journal.newest_inspection() == self._last:
                return
            for row in self._shop.journal.inspections_after(self._last):
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
        number, found = self._ordered
        if number != self._last:
            number = self._last
            found = [line for lines in self._lines.copy().values() for line in lines]
            found.sort(key=lambda line: line.taken_on)
            self._ordered = (number, found)
        return found

    def latest(self) -> list[tuple[Line, int]]:
        """Return the latest current inspection of every vehicle, and how many are current.

        Returns
        -------
        list of (Line, int)
            In no order.
        """
        self.refresh()
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
            self._cards.update(self._shop.journal.results(self._kind, wanted, *self._versions))
        missing = [line for line in lines if line.digest not in self._cards]
        for line in missing[:compute]:
            self._make(line)
        if len(missing) > compute:
            self._work.set()
        return {line.digest: self._cards[line.digest] for line in lines if line.digest in self._cards}

    @property
    def _kind(self) -> str:
        return f"{CARD}:{self._shop.settings().decision}"

    @property
    def _versions(self) -> tuple[str, str]:
        return __version__, self._shop.catalogue().version

    def _forget_old_rules(self) -> None:
        rules = (self._kind, self._versions[1])
        if rules != self._rules:
            self._rules = rules
            self._cards = {}
        if len(self._cards) > 60_000:
            self._cards = {}

    def _make(self, line: Line) -> None:
        shop = self._shop
        try:
            kept = shop.store.inspection(line.id)
            judged = judge_all(kept.inspection, shop.catalogue(), shop.settings().decision_settings)
            card = card_of(judged)
        except WearlineError as error:
            card = {"level": None, "meaning": "cannot be judged", "headline": error.what}
            self._cards[line.digest] = _EMPTY | card
            return
        self._cards[line.digest] = card
        code, catalogue = self._versions
        moment: datetime = shop.now
        shop.store.save_snapshot(Snapshot(self._kind, line.digest, code, catalogue, moment, card))

    def waiting(self) -> int:
        """Return how many vehicles have no summary yet.

        Returns
        -------
        int
            While the background works.
        """
        return sum(line.digest not in self._cards for line, _ in self.latest())

    def start(self) -> None:
        """Begin to make missing summaries in the background."""
        self._worker = Thread(target=self._run, name="wearline-cards", daemon=True)
        self._worker.start()

    def stop(self) -> None:
        """End the work in the background."""
        self._stop.set()
        self._work.set()
        if self._worker is not None:
            self._worker.join(timeout=10)

    def _run(self) -> None:
        while not self._stop.is_set():
            self._work.wait()
            self._work.clear()
            try:
                lines = [line for line, _ in self.latest()]
                self.cards(lines)
                for line in lines:
                    if self._stop.is_set():
                        return
                    if line.digest not in self._cards:
                        self._make(line)
                        time.sleep(0.005)  # whoever waits for a page comes first
            except WearlineError:
                time.sleep(1.0)  # the database is busy or gone: the pages say so


_EMPTY: dict[str, Any] = {
    "description": "",
    "kind": "",
    "faults": 0,
    "undecided": 0,
    "wheels_off": [],
    "work": [],
    "hours": 0.0,
    "thinnest_mm": None,
    "thinnest_at": "",
    "km_left": None,
    "km_left_at": "",
    "not_taken": 0,
}
