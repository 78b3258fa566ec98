"""Judging 200 000 wheel ends from Parquet against a bare polars scan and comparison of the same file.

Run ``make bench``. Both sides read the same invented file in the same process, in turn; quote
the ratio of the medians. Memory is the peak of the whole process.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from datetime import date
from pathlib import Path
from statistics import median

import numpy as np
import polars as pl

from wearline.app.fleet_judging import judge_wheel_end_file
from wearline.catalogue.loading import load_catalogue

WHEEL_ENDS = 200_000
PER_VEHICLE = 8
ROUNDS = 7
LEAST = {
    **{f"pad_{pad}_{corner}_mm": 3.0 for pad in ("inner", "outer") for corner in ("lt", "lb", "tt", "tb")},
    "rotor_thickness_mm": 37.0,
}
MOST = {
    "total_travel_mm": 2.032,
    "tangential_play_mm": 2.9972,
    "radial_play_mm": 1.9812,
    "slide_N": 100.0,
    "rotor_thickness_variation_mm": 0.08,
    "rotor_runout_mm": 0.15,
    "rotor_crack_length_percent": 75.0,
    "rotor_scoring_mm": 1.5,
    "bearing_end_play_mm": 0.127,
    "wear_indicator_percent": 75.0,
    "tappet_step_mm": 0.3,
    "hub_face_runout_mm": 0.05,
    "sensor_gap_mm": 0.7,
}
PLAIN = {"brake_force_kN": 22.0, "brake_drag_kN": 0.3, "temperature_degC": 130.0}


def invented_file(path: Path) -> int:
    """Write invented readings; return how many numbers there are."""
    rng = np.random.default_rng(7)
    rows = np.arange(WHEEL_ENDS)
    within = rows % PER_VEHICLE
    table: dict[str, object] = {
        "vehicle": [f"V{number}" for number in rows // PER_VEHICLE],
        "at": [f"{1 + place // 2}{'LR'[place % 2]}" for place in within],
    }
    base = np.repeat(rng.uniform(4.0, 18.0, WHEEL_ENDS // PER_VEHICLE), PER_VEHICLE)
    base = base * rng.normal(1.0, 0.08, WHEEL_ENDS)
    for name, limit in LEAST.items():
        if name.startswith("pad_"):
            table[name] = np.round(base + rng.normal(0.0, 0.4, WHEEL_ENDS).clip(-1, 1) + 1.0, 1)
        else:
            table[name] = np.round(limit + rng.uniform(-0.5, 8.0, WHEEL_ENDS), 2)
    for name, limit in MOST.items():
        # Play is never zero: the middle of the range is common, both ends are rare.
        table[name] = np.round(limit * (0.15 + rng.beta(3.0, 4.0, WHEEL_ENDS) * 1.15), 3)
    for name, centre in PLAIN.items():
        table[name] = np.round(centre * rng.uniform(0.6, 1.4, WHEEL_ENDS), 2)
    pl.DataFrame(table).write_parquet(path)
    return WHEEL_ENDS * (len(LEAST) + len(MOST) + len(PLAIN))


def bare_scan(path: Path) -> int:
    """Scan and compare every column with its limit: the least that any program could do."""
    checks = [(pl.col(name) < limit).sum().alias(name) for name, limit in LEAST.items()]
    checks += [(pl.col(name) > limit).sum().alias(name) for name, limit in MOST.items()]
    checks += [(pl.col(name) > centre).sum().alias(name) for name, centre in PLAIN.items()]
    return int(pl.scan_parquet(path).select(checks).collect().sum_horizontal()[0])


def main() -> int:
    catalogue = load_catalogue()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "wheel_ends.parquet"
        readings = invented_file(path)
        bare, ours = [], []
        for turn in range(ROUNDS + 1):
            start = time.perf_counter()
            bare_scan(path)
            middle = time.perf_counter()
            _, judged = judge_wheel_end_file(path, catalogue, on=date(2026, 9, 14))
            end = time.perf_counter()
            if turn:
                bare.append(middle - start)
                ours.append(end - middle)
    start = time.perf_counter()
    probabilities = sum(v.p_within.size for block in judged for q in block.judged for v in q.verdicts)
    asked = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    ratio = median(ours) / median(bare)
    print(f"{WHEEL_ENDS} wheel ends, {readings} readings, {len(judged[0].judged)} judged quantities")
    print(
        f"bare polars scan + comparison {median(bare):.3f} s, judging {median(ours):.3f} s, ratio {ratio:.2f}"
    )
    print(f"all {probabilities} probabilities as well, computed when asked for: {asked:.3f} s more")
    print(f"peak memory {peak:.0f} MiB")
    good = ratio <= 5.0 and peak < 2048
    print("within 5x and under 2 GB" if good else "NOT within 5x and under 2 GB")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
