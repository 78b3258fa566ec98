"""Fleets drawn from the wear model itself, with their truth: for coverage and calibration."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from wearline.forecasting.padsets import BELOW_SCALE, Readings, Tracks
from wearline.forecasting.wear_model import FleetTable

__all__ = ["DrawnFleet", "draw_fleet"]

LIMIT = 3e-3
NEW = 21e-3


@dataclass
class DrawnFleet:
    """One track per pad set; ``truth`` columns are of shape (sets,)."""

    table: FleetTable
    log_rate: np.ndarray
    friction: np.ndarray
    left: np.ndarray
    fault: dict[str, np.ndarray] = field(default_factory=dict)
    variance: tuple[float, ...] = ()
    real_start: np.ndarray | None = None
    rows: np.ndarray | None = None


def draw_fleet(
    vehicles: int,
    seed: int,
    *,
    ends: int = 8,
    readings: int = 6,
    spreads: tuple[float, float, float] = (0.3, 0.1, 0.12),
    u: float = 0.15e-3,
    steps: float = 0.3,
    outliers: float = 0.0,
    misread: float = 0.0,
    unrecorded: float = 0.0,
    missing: float = 0.0,
    route: float = 1.5e5,
    future: float = 0.15,
) -> DrawnFleet:
    """Vehicles of two duties, looked at every so often; pads renewed in time, most changes recorded.

    A set sees about four looks. Pads that would get below 3 mm before the next look are renewed at this one,
    after the reading; those that nobody records, somewhere in the next stretch.
    """
    rng = np.random.default_rng(seed)
    sv, se, ss = spreads
    duty = rng.integers(0, 2, vehicles)
    base = np.log(np.array([1.2e-10, 0.6e-10]))[duty]
    vehicle_effect = sv * rng.standard_normal(vehicles)
    n = vehicles * ends
    vehicle = np.repeat(np.arange(vehicles), ends)
    role = np.tile((np.arange(ends) // 2) % 2, vehicles)
    log_end = base[vehicle] + vehicle_effect[vehicle] - 0.15 * role + se * rng.standard_normal(n)
    interval = 16e-3 / np.exp(base + vehicle_effect) / 4.0
    # state of each end
    log_rate = log_end + ss * rng.standard_normal(n)
    new = NEW + 0.2e-3 * rng.standard_normal(n)
    friction = new.copy()
    waiting = np.zeros(
        n, dtype=bool
    )  # new pads come somewhere in the next stretch, and nobody writes it down
    recorded_since = np.zeros(n)
    set_number = np.zeros(n, dtype=int)  # recorded sets
    changed_silently = np.zeros(n, dtype=bool)
    rows: dict[str, list[np.ndarray]] = {
        name: [] for name in ("end", "set", "run", "value", "low", "high", "u", "bad", "silent")
    }
    for look in range(readings):
        distance = interval[vehicle] * rng.uniform(0.8, 1.2, vehicles)[vehicle]
        rate = np.exp(log_rate)
        on_new = np.where(waiting, 1.0 - rng.uniform(size=n), 1.0) * distance
        friction = friction - rate * on_new - rate * np.sqrt(route * on_new) * rng.standard_normal(n)
        waiting = np.zeros(n, dtype=bool)
        recorded_since += distance
        seen = rng.uniform(size=n) >= missing
        step = rng.uniform(size=n) < steps
        bad = rng.uniform(size=n) < np.where(step, misread, outliers)
        value = friction + u * rng.standard_normal(n)
        wrong = rng.uniform(1.0e-3, 21e-3, n)
        value = np.where(bad & ~step, wrong, value)
        share = (NEW - friction) / 23e-3
        mark = np.clip(np.round(4 * (share + 0.03 * rng.standard_normal(n))), 0, 4)
        mark = np.where(bad & step, rng.integers(0, 5, n), mark)
        high = np.where(mark <= 0, np.inf, NEW - 23e-3 * (mark / 4 - 0.125))
        low = np.where(mark >= 4, BELOW_SCALE, NEW - 23e-3 * (mark / 4 + 0.125))
        keep = np.flatnonzero(seen)
        rows["end"].append(keep)
        rows["set"].append(set_number[keep].copy())
        rows["run"].append(recorded_since[keep].copy())
        rows["value"].append(np.where(step, np.nan, value)[keep])
        rows["low"].append(np.where(step, low, np.nan)[keep])
        rows["high"].append(np.where(step, high, np.nan)[keep])
        rows["u"].append(np.where(step, 0.03 * 23e-3, u)[keep])
        rows["bad"].append(bad[keep])
        rows["silent"].append(changed_silently[keep].copy())
        if look < readings - 1:
            renew = friction - np.exp(log_rate) * interval[vehicle] * 1.2 < LIMIT + 0.5e-3
            silent = renew & (rng.uniform(size=n) < unrecorded)
            log_rate = np.where(renew, log_end + ss * rng.standard_normal(n), log_rate)
            friction = np.where(renew, NEW + 0.2e-3 * rng.standard_normal(n), friction)
            waiting = silent
            told = renew & ~silent
            recorded_since = np.where(told, 0.0, recorded_since)
            set_number = np.where(told, set_number + 1, set_number)
            changed_silently = np.where(told, False, changed_silently | silent)
    flat = {name: np.concatenate(parts) for name, parts in rows.items()}
    order = np.lexsort((flat["run"], flat["set"], flat["end"]))
    flat = {name: values[order] for name, values in flat.items()}
    # every current set is there, with or without a reading
    key = flat["end"] * 1000 + flat["set"]
    current = np.arange(n) * 1000 + set_number
    keys = np.unique(np.concatenate([key, current]))
    count = np.bincount(np.searchsorted(keys, key), minlength=keys.size)
    start = np.cumsum(count) - count
    end = keys // 1000
    design = np.column_stack([duty[vehicle[end]] == 0, duty[vehicle[end]] == 1, role[end]]).astype(float)
    tracks = Tracks(
        vehicle[end],
        end,
        np.arange(keys.size),
        np.arange(keys.size),
        start,
        count,
        np.full(keys.size, NEW),
        np.full(keys.size, 0.2e-3),
        design,
        np.ones(keys.size, dtype=bool),
    )
    table = FleetTable(
        tracks,
        Readings(flat["run"], flat["value"], flat["u"], flat["low"], flat["high"]),
        ("duty a", "duty b", "role"),
        np.log([1e-10, 0.8e-10, 1.0]),
        np.array([0.4, 0.4, 0.25]),
        ("vehicle", "end", "set"),
    )
    rows_now = np.searchsorted(keys, current)
    factor = np.exp(future * rng.standard_normal(vehicles))[vehicle]
    left = np.maximum(friction - LIMIT, 0.0) / (np.exp(log_rate) * factor)
    if route > 0.0:
        # first passage of a drift with the roads' variance: inverse Gaussian
        left = np.where(left > 0.0, rng.wald(np.maximum(left, 1.0), np.maximum(left, 1.0) ** 2 / route), 0.0)
    return DrawnFleet(
        table,
        log_rate,
        friction,
        left,
        {"silent": changed_silently, "bad": flat["bad"], "reading_silent": flat["silent"]},
        real_start=recorded_since,
        rows=rows_now,
    )
