"""100 000 random bad requests over a socket: every answer a clear refusal, memory steady.

python bench/bench_web_refusals.py [COUNT]
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "tests/web"))

import httpx
from web_serving import Served
from web_storm import storm


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory(prefix="wearline-storm-") as folder:
        served = Served(Path(folder) / "storm.db")
        served.start()
        memory: list[float] = []
        step = max(1, count // 20)

        def each(number: int) -> None:
            if number % step == 0:
                memory.append(served.memory() / 1e6)

        begun = time.monotonic()
        try:
            with httpx.Client(base_url=served.base, timeout=60.0) as client:
                tally = storm(client, count, 7, each)
            memory.append(served.memory() / 1e6)
        finally:
            served.close()
    print(f"{tally.asked} asked in {time.monotonic() - begun:.0f} s; {dict(tally.by_status)}")
    print(f"faults {len(tally.faults)}, without the one shape {len(tally.shapeless)}")
    print("memory [MB]: " + " ".join(f"{value:.0f}" for value in memory))
    for line in tally.faults[:5] + tally.shapeless[:5]:
        print(line[:300])


if __name__ == "__main__":
    main()
