"""100 000 random bad requests over sockets: every answer a clear refusal, memory steady.

    python bench/bench_web_refusals.py [COUNT]

Of a hundred requests 98 are cheap ones over a connection that stays open: random bodies, paths, headers and
methods, most of them from the right origin, so that they reach what they are meant to break. Nearly two are
uploads with a form that is accepted: archives, workbooks, pictures and PDFs that unpack to gigabytes, SVG
with script, programs, files cut in half. One of a thousand sends 200 MB, every second time without saying
how much. Everything is sent by a person who may do everything.
"""

from __future__ import annotations

import multiprocessing
import os
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent / "tests/web"))

import httpx
from web_heavy import HUGE, Uploads, flood
from web_serving import Served
from web_storm import Maker, storm

from wearline.storage.opening import open_store

CLIENTS = 3
UPLOADS, FLOODS = 0.019, 0.001
"""Shares of the uploads and of those of 200 MB."""

TARGETS = ("/shelf", "/api/1/photos", "/inspections/keep", "/catalogue/files", "/api/1/judge", "/login")


class Mixed(Maker):
    """Cheap requests, and a share of heavy ones."""

    def __init__(self, seed: int, served: Served, uploads: Uploads) -> None:
        super().__init__(seed)
        self.origins = [served.base] * 8 + ["https://evil.test", "null"]
        self.methods = ["GET"] * 3 + ["POST"] * 10 + ["PUT", "DELETE", "PATCH"]
        self.uploads = uploads
        self.kinds: Counter[str] = Counter()

    def request(self) -> tuple[str, str, bytes, dict[str, str]]:
        if self.chance.random() < UPLOADS / (1.0 - FLOODS):
            self.kinds["uploads"] += 1
            return self.uploads.request(self.chance)
        self.kinds["cheap"] += 1
        return super().request()


def send(served: Served, count: int, seed: int, answers: Any) -> None:
    """What one client does, in a process of its own: making the requests takes longer than answering."""
    chance = random.Random(100 + seed)
    floods: Counter[int] = Counter()
    sent = 0

    def each(number: int) -> None:
        nonlocal sent
        done.value = number + 1
        if chance.random() < FLOODS:
            status, length, _ = flood(served.port, chance.choice(TARGETS), chunked=chance.random() < 0.5)
            floods[status] += 1
            sent += length

    uploads, done = answers["uploads"], answers["done"][seed]
    with httpx.Client(base_url=served.base, timeout=120.0) as client:
        maker = Mixed(seed, served, uploads)
        tally = storm(client, count, seed, each, maker)
    answers["queue"].put((tally, maker.kinds, floods, sent))


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory(prefix="wearline-storm-") as folder:
        served = Served(Path(folder) / "storm.db")
        served.start()
        try:
            report(served, count)
        finally:
            served.close()
        size = sum(path.stat().st_size for path in Path(folder).glob("storm.db*"))
        with open_store(str(Path(folder) / "storm.db")) as store:
            sound = store.check().sound
        tracebacks = (Path(folder) / "storm.log").read_text(encoding="utf-8").count("Traceback")
    print(f"tracebacks {tracebacks}; database {size / 1e6:.1f} MB, sound: {sound}")


def report(served: Served, count: int) -> None:
    csrf = httpx.get(f"{served.base}/api/1/me").json()["csrf"]
    context = multiprocessing.get_context("fork")
    done = [context.Value("l", 0) for _ in range(CLIENTS)]
    answers = {"uploads": Uploads(csrf, served.base), "queue": context.Queue(), "done": done}
    each = count // CLIENTS
    clients = [context.Process(target=send, args=(served, each, seed, answers)) for seed in range(CLIENTS)]
    begun, spent = time.monotonic(), served.cpu()
    memory: list[float] = []
    for client in clients:
        client.start()
    while any(client.is_alive() for client in clients) and answers["queue"].qsize() < CLIENTS:
        if sum(value.value for value in done) >= len(memory) * count / 20:
            memory.append(served.memory() / 1e6)
            print(f"{sum(value.value for value in done)} after {time.monotonic() - begun:.0f} s", flush=True)
        time.sleep(0.2)
    found = [answers["queue"].get(timeout=60) for _ in clients]
    for client in clients:
        client.join()
    memory.append(served.memory() / 1e6)
    cpu, seconds = served.cpu() - spent, time.monotonic() - begun
    kinds, floods, statuses = Counter(), Counter(), Counter()
    faults, shapeless = [], []
    for tally, own_kinds, own_floods, _ in found:
        kinds.update(own_kinds)
        floods.update(own_floods)
        statuses.update(tally.by_status)
        faults += tally.faults
        shapeless += tally.shapeless
    print(f"{statuses.total()} asked in {seconds:.0f} s ({cpu:.0f} s of processor time): {dict(kinds)}")
    print(f"answers: {dict(sorted(statuses.items()))}")
    sent = sum(each[3] for each in found) / 1e6
    print(f"uploads of {HUGE / 1e6:.0f} MB: {dict(floods)}; {sent:.0f} MB of them went out")
    print(f"faults {len(faults)}, without the one shape {len(shapeless)}; load {os.getloadavg()[1]:.1f}")
    print("memory [MB]: " + " ".join(f"{value:.0f}" for value in memory))
    for line in faults[:5] + shapeless[:5]:
        print(line[:300])


if __name__ == "__main__":
    main()
