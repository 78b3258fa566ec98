"""Kill the program while tablets send to it, and count what was lost or doubled."""

from __future__ import annotations

import http.client
import json
import random
import sqlite3
import threading
import time
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from web_entries import Tablet
from web_serving import Nursed


@dataclass
class Tally:
    """What came out."""

    kills: int = 0
    killed_while_sending: int = 0
    acknowledged: int = 0
    made: int = 0
    lost: int = 0
    doubled: int = 0
    out_of_order: int = 0
    missing_at_the_end: int = 0
    faults: list[str] = field(default_factory=list)


class SendingTablet(threading.Thread):
    """A tablet that makes entries, and sends each again until it is acknowledged, as the page does."""

    def __init__(self, port: int, seed: int, early: bool) -> None:
        super().__init__(daemon=True)
        self.tablet = Tablet()
        self.queue = [self.tablet.start()]
        self.acknowledged: list[str] = []
        self.made: list[str] = [self.queue[0]["id"]]
        self.stop = threading.Event()
        self.drain = threading.Event()
        self.in_flight = False
        self.failures = 0
        self._port = port
        self._chance = random.Random(seed)
        self._early = early

    def run(self) -> None:
        while not (self.stop.is_set() or (self.drain.is_set() and not self.queue)):
            if not self.drain.is_set():
                for _ in range(self._chance.randint(1, 12)):
                    value = f"{self._chance.randint(20, 90)} N"
                    entry = self.tablet.reading(self._chance.choice(("1L", "1R", "2L", "2R")), "slide", value)
                    self.queue.append(entry)
                    self.made.append(entry["id"])
            batch = self.queue[: self._chance.randint(1, 40)]
            self._send(batch)
            time.sleep(self._chance.uniform(0.0, 0.02))

    def _send(self, batch: list[dict]) -> None:
        self.in_flight = True
        try:
            with closing(http.client.HTTPConnection("127.0.0.1", self._port, timeout=10)) as connection:
                body = json.dumps({"events": batch})
                connection.request("POST", "/api/1/events", body, {"content-type": "application/json"})
                if self._early:
                    # a tablet that deletes what it has only sent: the test must find it out
                    self._forget([entry["id"] for entry in batch])
                    return
                answer = json.loads(connection.getresponse().read())
            self._forget([*answer["stored"], *answer["known"]])
        except (OSError, http.client.HTTPException, ValueError, KeyError):
            self.failures += 1
            time.sleep(0.02)
        finally:
            self.in_flight = False

    def _forget(self, ids: list[str]) -> None:
        gone = set(ids)
        self.acknowledged += ids
        self.queue = [entry for entry in self.queue if entry["id"] not in gone]


def kill_while_syncing(folder: Path, kills: int, seed: int, *, early: bool = False) -> Tally:
    """Let three tablets send, and kill the program at random moments."""
    chance = random.Random(seed)
    served = Nursed(folder / "kills.db")
    tally = Tally()
    served.start()
    tablets = [SendingTablet(served.port, seed + number, early) for number in range(3)]
    for tablet in tablets:
        tablet.start()
    try:
        for _ in range(kills):
            time.sleep(chance.uniform(0.05, 0.45))
            tally.killed_while_sending += any(tablet.in_flight for tablet in tablets)
            served.kill()
            tally.kills += 1
            before = {number: list(tablet.acknowledged) for number, tablet in enumerate(tablets)}
            stored = _stored(served.database)
            for ids in before.values():
                tally.lost += sum(each not in stored for each in ids)
            served.start()
        for tablet in tablets:
            tablet.drain.set()
        for tablet in tablets:
            tablet.join(timeout=60)
    finally:
        for tablet in tablets:
            tablet.stop.set()
        served.close()
    _count(tally, tablets, served.database)
    return tally


def _stored(database: Path) -> set[str]:
    with closing(sqlite3.connect(database)) as connection:
        return {row[0] for row in connection.execute("SELECT id FROM draft_events")}


def _count(tally: Tally, tablets: list[SendingTablet], database: Path) -> None:
    with closing(sqlite3.connect(database)) as connection:
        rows = connection.execute("SELECT draft, event_json FROM draft_events ORDER BY number").fetchall()
        tally.faults += [row[0] for row in connection.execute("PRAGMA integrity_check") if row[0] != "ok"]
    by_draft: dict[str, list[dict]] = {}
    for draft, text in rows:
        by_draft.setdefault(draft, []).append(json.loads(text))
    for tablet in tablets:
        events = by_draft.get(tablet.tablet.draft, [])
        ids = [event["id"] for event in events]
        tally.made += len(tablet.made)
        tally.acknowledged += len(set(tablet.acknowledged))
        tally.doubled += len(ids) - len(set(ids))
        tally.missing_at_the_end += len(set(tablet.made) - set(ids))
        numbers = [event["seq"] for event in events]
        tally.out_of_order += numbers != sorted(numbers)
