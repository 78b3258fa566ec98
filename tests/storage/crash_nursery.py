"""Kill writers at random moments and look at what they leave; run as a program, prints one JSON object.

A process of its own without threads, so that warm writers can be forked from it: a kill costs milliseconds.

    python crash_nursery.py ADDRESS|FOLDER KILLS SEED [early]

``early`` acknowledges before keeping: a writer that lies, to prove that lies are found.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sqlite3
import sys
import time
import traceback
import uuid
from contextlib import closing
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

from invented_inspections import KEPT_AT, inspection

from wearline.storage import open_store
from wearline.storage.store import Store

KILLS_PER_DATABASE = 10


@dataclass
class Tally:
    kills: int = 0
    awaited: int = 0
    acknowledged: int = 0
    committed_without_word: int = 0
    killed_before_first_word: int = 0
    killed_without_tables: int = 0
    faults: list[str] = field(default_factory=list)


def write_until_killed(address: str, pipe: int, writer: int, early: bool) -> None:
    def keep(number: int, one, **more) -> str:
        name = str(uuid.uuid4())
        if early:
            os.write(pipe, f"{name}\n".encode())
        receipt = store.keep(one, kept_by="writer", kept_at=KEPT_AT, inspection_id=name, **more)
        if not early:
            os.write(pipe, f"{receipt.id}\n".encode())
        return receipt.id

    with open_store(address, busy_timeout=20.0) as store:
        number = 0
        while True:
            day = date(2026, 1, 1) + timedelta(days=number)
            wrong = keep(number, inspection(f"invented-{writer}", day, 1000 + number, pad_mm=1.0))
            keep(
                number,
                inspection(f"invented-{writer}", day, 1000 + number),
                supersedes=wrong,
                reason="typed wrongly",
            )
            number += 1


def kill_one_writer(address: str, writer: int, words: int, delay: float, early: bool) -> list[str]:
    """Start a writer, kill it a while after its so-manieth word, and return the ids that it acknowledged."""
    reading_end, writing_end = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading_end)
        try:
            write_until_killed(address, writing_end, writer, early)
        finally:
            traceback.print_exc()
            os._exit(1)
    os.close(writing_end)
    with os.fdopen(reading_end, "rb", buffering=0) as pipe:
        said = b""
        while said.count(b"\n") < words:
            more = pipe.read(4096)
            if not more:
                raise SystemExit(f"writer {writer} ended by itself; it had said {said!r}")
            said += more
        time.sleep(delay)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        said += pipe.readall()
    return said.decode().split()


def look(store: Store, acknowledged: list[str], kills: int, tally: Tally) -> None:
    """Every acknowledged inspection is whole, and at most one per kill is there without a word."""
    kept = {one.id: one for one in store.history(None, include_superseded=True)}
    for lost in set(acknowledged) - set(kept):
        tally.faults.append(f"acknowledged inspection {lost} is lost")
    for one in kept.values():
        day = one.inspection.taken_on
        odometer_km = 1000 + (day - date(2026, 1, 1)).days
        expected = inspection(one.vehicle_id, day, odometer_km, pad_mm=12.0 if one.supersedes else 1.0)
        if one.inspection != expected:
            tally.faults.append(f"inspection {one.id} is not what was written")
    unspoken = len(set(kept) - set(acknowledged))
    if unspoken > kills:
        tally.faults.append(f"{unspoken} inspections without a word after {kills} kills")
    tally.faults += [f"{notice.where}: {notice.text}" for notice in store.check().findings]


def integrity(path: str) -> str:
    """What SQLite itself says, without the program."""
    with closing(sqlite3.connect(path)) as connection:
        return str(connection.execute("PRAGMA integrity_check").fetchone()[0])


def run(place: str, kills: int, seed: int, early: bool) -> Tally:
    chance = random.Random(seed)
    tally = Tally()
    is_url = "://" in place
    address, acknowledged, kills_here = place, [], 0
    for writer in range(kills):
        if not is_url and writer % KILLS_PER_DATABASE == 0:
            address, acknowledged, kills_here = str(Path(place) / f"crash-{writer}.db"), [], 0
        # after a word, not after a time: on a busy machine as many are kept as on an idle one
        words = chance.randrange(6)
        said = kill_one_writer(address, writer, words, chance.uniform(0.0, 0.02 if words else 0.06), early)
        acknowledged += said
        kills_here += 1
        tally.kills += 1
        tally.awaited += words
        tally.acknowledged += len(said)
        tally.killed_before_first_word += not said
        if not is_url and Path(address).exists():
            verdict = integrity(address)
            if verdict != "ok":
                tally.faults.append(f"{address}: {verdict}")
            with closing(sqlite3.connect(address)) as connection:
                tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
            tally.killed_without_tables += tables == 0
        with open_store(address, busy_timeout=20.0) as store:
            look(store, acknowledged, kills_here, tally)
            here = len(store.history(None, include_superseded=True))
        last = writer == kills - 1 or (not is_url and (writer + 1) % KILLS_PER_DATABASE == 0)
        if last:
            tally.committed_without_word += here - len(set(acknowledged))
    return tally


if __name__ == "__main__":
    result = run(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), "early" in sys.argv[4:])
    print(json.dumps(vars(result)))
