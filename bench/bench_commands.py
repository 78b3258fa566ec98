"""How long a person waits for a command: whole processes, best and median of several runs.

Run ``make bench``. Goals on a quiet machine: ``judge`` of one case within 0.6 s, ``--help`` within 0.3 s.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[1]
RUNS = 9
COMMANDS = {
    "--help": (["--help"], 0, 0.3),
    "judge": (["judge", str(ROOT / "tests" / "cases" / "A1.toml")], 1, 0.6),
}


def seconds(words: list[str], expected: int) -> float:
    start = time.perf_counter()
    done = subprocess.run([sys.executable, "-m", "wearline", *words], capture_output=True, check=False)
    if done.returncode != expected:
        sys.exit(f"wearline {' '.join(words)} ended with {done.returncode}: {done.stderr.decode()}")
    return time.perf_counter() - start


def main() -> int:
    good = True
    for name, (words, expected, goal) in COMMANDS.items():
        seconds(words, expected)
        times = [seconds(words, expected) for _ in range(RUNS)]
        within = median(times) <= goal
        good &= within
        verdict = "within" if within else "NOT within"
        print(f"wearline {name}: median {median(times):.2f} s, best {min(times):.2f} s, {verdict} {goal} s")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
