"""Records of a brake tester made from a known brake, with noise, wrong samples, lag, swing and lock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from wearline.physics.force import BrakeDesign, wheel_force
from wearline.physics.states import SOUND, WheelEndState
from wearline.records.place import WheelEndPlace
from wearline.records.tester_curve import CurveRun, ForceCurve

TYRE = 0.5
STEP = 0.05


@dataclass(frozen=True)
class Truth:
    """A straight brake k (p - p0) with what a tester adds."""

    slope: float = 50e3 / 1e6  # N per Pa: 5.0 kN per bar
    threshold: float = 30e3
    top: float = 400e3
    rises: int = 3
    rise_time: float = 6.0
    hold_time: float = 6.0
    drag: float = 300.0
    drag_after: float = 300.0
    lag: float = 0.0
    hysteresis: float = 0.0
    noise: float = 150.0
    wrong: float = 0.0
    swing: float = 0.0
    turn: float = 3.0
    lock: float = float("inf")
    state: WheelEndState | None = None
    seed: int = 1


def pressures(truth: Truth) -> np.ndarray:
    up = np.arange(0.0, truth.rise_time, STEP) / truth.rise_time
    hold = np.ones(int(truth.hold_time / STEP))
    rest = np.zeros(int(2.0 / STEP))
    one = np.concatenate((rest, up, hold, up[::-1], rest))
    return truth.top * np.tile(one, truth.rises)


def forces(truth: Truth, pressure: np.ndarray) -> np.ndarray:
    time = STEP * np.arange(len(pressure))
    late = np.interp(time - truth.lag, time, pressure)
    if truth.state is None:
        force = truth.slope * np.maximum(late - truth.threshold, 0.0)
    else:
        force = np.asarray(wheel_force(late, BrakeDesign(), TYRE, truth.state))
    falling = np.append(np.diff(pressure), 0.0) < 0.0
    force = np.where(falling, force + truth.hysteresis * truth.slope * truth.top * (late > 0.0), force)
    force = force * (1.0 + 0.5 * truth.swing * np.sin(2.0 * np.pi * time / truth.turn))
    applied = np.cumsum(late > 0.0) > 0
    force = force + np.where(applied & (late <= 0.0), truth.drag_after, truth.drag)
    locked = pressure >= truth.lock
    force = np.where(locked, 0.25 * force, force)
    rng = np.random.default_rng(truth.seed)
    force = force + truth.noise * rng.standard_normal(len(force))
    odd = rng.random(len(force)) < truth.wrong
    return np.where(odd, rng.uniform(0.0, 60e3, len(force)), force)


def record(place: str, truth: Truth) -> ForceCurve:
    pressure = pressures(truth)
    force = forces(truth, pressure)
    run = CurveRun(
        tuple((STEP * np.arange(len(pressure))).tolist()), tuple(pressure.tolist()), tuple(force.tolist())
    )
    return ForceCurve(WheelEndPlace.parse(place), (run,))


def sound(**more: Any) -> Truth:
    return Truth(state=SOUND, **more)
