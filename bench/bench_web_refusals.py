"""100 000 random bad requests over sockets: every answer a clear refusal, memory steady.

    python bench/bench_web_refusals.py [COUNT]

Of a hundred requests 98 are cheap ones over a connection that stays open: random bodies, paths, headers and
methods, most of them from the right origin, so that they reach what they are meant to break. Nearly two are
uploads with a form that is accepted: archives, workbooks, pictures and PDFs that unpack to gigabytes, SVG
with script, programs, files cut in half. One of a thousand sends 200 MB, every second time without saying
how much. Everything is sent by a person who may do everything.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "tests/web"))

import httpx
from web_heavy import HUGE, Uploads, flood
from web_serving import Served
from web_storm import Maker, storm

from wearline.storage.opening import open_store

UPLOADS, FLOODS = 0.019, 0.001
"""Shares of the uploads and of those of 200 MB."""

TARGETS = ("/shelf", "/api/1/photos", "/inspections/keep", "/catalogue/files", "/api/1/judge", "/login")


class Mixed(Maker):
    """Cheap requests, and a share of heavy ones."""

    def __init__(self, seed: int, served: Served, csrf: str) -> None:
        super().__init__(seed)
        self.origins = [served.base] * 8 + ["https://evil.test", "null"]
        self.methods = ["GET"] * 3 + ["POST"] * 10 + ["PUT", "DELETE", "PATCH"]
        self.uploads = Uploads(csrf, served.base)
        self.kinds: Counter[str] = Counter()

    def request(self) -> tuple[str, str, bytes, dict[str, str]]:
        if self.chance.random() < UPLOADS / (1.0 - FLOODS):
            self.kinds["uploads"] += 1
            return self.uploads.request(self.chance)
        self.kinds["cheap"] += 1
        return super().request()


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory(prefix="wearline-storm-") as folder:
        served = Served(Path(folder) / "storm.db")
        served.start()
        chance = random.Random(11)
        memory: list[float] = []
        floods: Counter[int] = Counter()
        sent = 0
        step = max(1, count // 20)
        begun, spent = time.monotonic(), served.cpu()

        def each(number: int) -> None:
            nonlocal sent
            if chance.random() < FLOODS:
                status, length, _ = flood(served.port, chance.choice(TARGETS), chunked=chance.random() < 0.5)
                floods[status] += 1
                sent += length
            if number % step == 0:
                memory.append(served.memory() / 1e6)
                print(f"\r{number} after {time.monotonic() - begun:.0f} s", end="", flush=True)

        try:
            with httpx.Client(base_url=served.base, timeout=60.0) as client:
                maker = Mixed(7, served, client.get("/api/1/me").json()["csrf"])
                tally = storm(client, count, 7, each, maker)
            memory.append(served.memory() / 1e6)
            cpu = served.cpu() - spent
        finally:
            served.close()
        size = sum(path.stat().st_size for path in Path(folder).glob("storm.db*"))
        with open_store(str(Path(folder) / "storm.db")) as store:
            sound = store.check().sound
        faults = (Path(folder) / "storm.log").read_text(encoding="utf-8").count("Traceback")
    seconds = time.monotonic() - begun
    print(f"\n{tally.asked} asked in {seconds:.0f} s ({cpu:.0f} s of processor time): {dict(maker.kinds)}")
    print(f"answers: {dict(sorted(tally.by_status.items()))}")
    print(f"uploads of {HUGE / 1e6:.0f} MB: {dict(floods)}; {sent / 1e6:.0f} MB of them went out")
    print(f"faults {len(tally.faults)}, tracebacks {faults}, without the one shape {len(tally.shapeless)}")
    print("memory [MB]: " + " ".join(f"{value:.0f}" for value in memory))
    print(f"database {size / 1e6:.1f} MB, sound: {sound}")
    for line in tally.faults[:5] + tally.shapeless[:5]:
        print(line[:300])


if __name__ == "__main__":
    main()
