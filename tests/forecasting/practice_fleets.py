"""Fleets driven by the simulator, with their truth: when each wheel end really meets its limit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from wearline.catalogue.loading import load_catalogue
from wearline.forecasting.clocks import DatedInspection, place_inspections
from wearline.forecasting.padsets import BELOW_SCALE, Readings, Tracks
from wearline.forecasting.prior import effect_priors
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.wear_model import FleetTable
from wearline.practice.cases import typical_vehicles
from wearline.practice.parameters import load_mechanisms
from wearline.practice.simulation import Simulation
from wearline.records.inspection import AXLE_ROLES, Inspection, Vehicle

__all__ = ["DrivenFleet", "drive_fleet"]

LIMIT = 3e-3
_SCALE = 23e-3
"""Travel from new pads to the end of the indicator's scale."""

_PARTS = 8
"""Steps of the simulator between two looks."""


@dataclass
class DrivenFleet:
    """One track per pad set: the thinnest corner. Truth by wheel end."""

    table: FleetTable
    left: np.ndarray
    since_fitting: np.ndarray
    silent: np.ndarray
    seen: np.ndarray
    rolled: np.ndarray


def thinnest(simulation: Simulation) -> np.ndarray:
    state = simulation.state
    inner = state.inner - 0.5 * (np.abs(state.end_inner) + np.abs(state.top_inner))
    outer = state.outer - 0.5 * (np.abs(state.end_outer) + np.abs(state.top_outer))
    return np.minimum(inner, outer)


def drive_fleet(
    vehicles: int,
    seed: int,
    *,
    looks: int = 6,
    u: float = 0.15e-3,
    outliers: float = 0.0,
    unrecorded: float = 0.0,
    missing: float = 0.0,
    misread: float = 0.0,
    rollbacks: float = 0.0,
    steps: float = 0.0,
) -> DrivenFleet:
    """Typical vehicles looked at some four times in a set's life; pads renewed before 3 mm.

    A share ``steps`` of the readings is the mark of an indicator in steps of 25 %, ``misread`` of them any
    mark. Between two looks a share ``rollbacks`` of the odometers is set back, for good.
    """
    rng = np.random.default_rng(seed)
    kinds = list(typical_vehicles().values())
    specs = [replace(kinds[int(k)], id=f"V{i}") for i, k in enumerate(rng.integers(0, len(kinds), vehicles))]
    simulation = Simulation(specs, load_mechanisms(), load_catalogue(), rng)
    vehicle = simulation.layout.vehicle
    new = simulation.layout.dimension["friction_new"]
    n = vehicle.size
    rate = simulation.wear_rates(simulation.conditions())
    fastest = np.zeros(vehicles)
    np.maximum.at(fastest, vehicle, rate)
    interval = (float(new.mean()) - 5e-3) / fastest / 4.0
    fitted, number = np.zeros(n, dtype=int), np.zeros(n, dtype=int)
    clocks = [np.zeros(vehicles)]
    waiting = np.full(n, -1)
    silent = np.zeros(n, dtype=bool)
    rows = []
    for look in range(looks):
        step = interval * rng.uniform(0.8, 1.2, vehicles) / _PARTS
        for part in range(_PARTS):
            due = waiting == part
            if due.any():
                simulation.renew_pads(due)
            simulation.advance(step)
        waiting[:] = -1
        now = thinnest(simulation)
        value = now + u * rng.standard_normal(n)
        bad = rng.uniform(size=n) < outliers
        value = np.where(bad, rng.uniform(1e-3, new), value)
        clocks.append(simulation.clock.copy())
        seen = (rng.uniform(size=n) >= missing) & (value > 0.8e-3)
        low = high = np.full(n, np.nan)
        if steps:
            step = rng.uniform(size=n) < steps
            mark = np.clip(np.round(4 * ((new - now) / _SCALE + 0.03 * rng.standard_normal(n))), 0, 4)
            mark = np.where(rng.uniform(size=n) < misread, rng.integers(0, 5, n), mark)
            low = np.where(step, new - _SCALE * (mark / 4 + 0.125), np.nan)
            low = np.where(step & (mark >= 4), BELOW_SCALE, low)
            high = np.where(step, np.where(mark <= 0, np.inf, new - _SCALE * (mark / 4 - 0.125)), np.nan)
            value = np.where(step, np.nan, value)
        where = np.full(n, look + 1)
        columns = (np.arange(n), number, fitted, where, value, silent, low, high)
        rows += list(zip(*(c[seen] for c in columns), strict=True))
        if look == looks - 1:
            break
        renew = now - rate * interval[vehicle] * 1.2 < LIMIT + 0.5e-3
        hidden = renew & (rng.uniform(size=n) < unrecorded)
        told = renew & ~hidden
        if told.any():
            simulation.renew_pads(told)
        waiting[hidden] = rng.integers(0, _PARTS, int(hidden.sum()))
        fitted = np.where(told, look + 1, fitted)
        number = number + told
        silent = np.where(told, False, silent | hidden)
    placed = _placed(np.array(clocks), interval, rng, rollbacks)
    since = placed.clock[-1, vehicle] - placed.clock[fitted, vehicle]
    table, seen_since = _table(rows, placed, specs, simulation, number, n)
    left = _distance_to_limit(simulation, interval)
    return DrivenFleet(table, left, since, silent, seen_since, placed.rolled[vehicle])


@dataclass
class _Placed:
    """Clock of each vehicle at the start and at every look, as its history tells; (looks + 1, vehicles)."""

    clock: np.ndarray
    variance: np.ndarray
    usable: np.ndarray
    rolled: np.ndarray


def _placed(clocks: np.ndarray, interval: np.ndarray, rng: np.random.Generator, rollbacks: float) -> _Placed:
    """Put the looks on the clock that the package makes of odometers and dates."""
    looks, vehicles = clocks.shape
    rolled = np.zeros(vehicles, dtype=bool)
    if not rollbacks:
        nothing = np.zeros_like(clocks)
        return _Placed(clocks, nothing, np.ones_like(clocks, dtype=bool), rolled)
    days = np.cumsum(
        np.diff(clocks, axis=0) / interval * rng.uniform(100, 140, (looks - 1, vehicles)), axis=0
    )
    days = np.vstack([np.zeros(vehicles), days]).round()
    back = rng.uniform(size=clocks.shape) < rollbacks
    back[0] = False
    share, start = rng.uniform(0.2, 0.9, clocks.shape), rng.uniform(0.0, 5.0, vehicles) * interval
    found = _Placed(clocks.copy(), np.zeros_like(clocks), np.ones_like(clocks, dtype=bool), back.any(axis=0))
    for v in np.flatnonzero(found.rolled):
        shown = [start[v]]
        for k in range(1, looks):
            kept = shown[-1] * (1.0 - share[k, v]) if back[k, v] else shown[-1]
            shown.append(kept + clocks[k, v] - clocks[k - 1, v])
        vehicle = Vehicle("V", axles=())
        history = [
            DatedInspection(
                str(k), Inspection(vehicle, date(2020, 1, 1) + timedelta(days=days[k, v]), (), each)
            )
            for k, each in enumerate(shown)
        ]
        placed, _ = place_inspections(history)
        at = [int(item.id) for item in placed]
        found.usable[:, v] = np.isin(np.arange(looks), at)
        clock = np.array([item.clock for item in placed])
        found.clock[:, v] = np.interp(days[:, v], days[at, v], clock)
        total = np.cumsum([item.u_clock**2 for item in placed])
        found.variance[:, v] = np.interp(days[:, v], days[at, v], total)
    return found


def _distance_to_limit(simulation: Simulation, interval: np.ndarray) -> np.ndarray:
    """Drive on without a renewal until every end has met the limit."""
    vehicle = simulation.layout.vehicle
    left = np.full(vehicle.size, np.nan)
    start = simulation.clock.copy()
    before = thinnest(simulation)
    left[before <= LIMIT] = 0.0
    for _ in range(400):
        step = interval / _PARTS
        run = simulation.clock[vehicle] - start[vehicle]
        simulation.advance(step)
        now = thinnest(simulation)
        meets = np.isnan(left) & (now <= LIMIT)
        share = (before - LIMIT) / np.maximum(before - now, 1e-12)
        left[meets] = (run + share * step[vehicle])[meets]
        before = now
        if not np.isnan(left).any():
            break
    return np.where(np.isnan(left), simulation.clock[vehicle] - start[vehicle], left)


def _table(rows, placed, specs, simulation, number, n):
    flat = np.array(rows, dtype=float)
    fitted, look, of = flat[:, 2].astype(int), flat[:, 3].astype(int), flat[:, 0].astype(int)
    of = simulation.layout.vehicle[of]
    guessed = placed.variance[look, of] - placed.variance[fitted, of]
    flat[:, 2] = placed.clock[look, of] - placed.clock[fitted, of]
    flat = np.column_stack([flat, guessed])[placed.usable[look, of]]
    end, which = flat[:, 0].astype(int), flat[:, 1].astype(int)
    order = np.lexsort((flat[:, 2], which, end))
    flat, end, which = flat[order], end[order], which[order]
    key = end * 1000 + which
    keys = np.unique(np.concatenate([key, np.arange(n) * 1000 + number]))
    count = np.bincount(np.searchsorted(keys, key), minlength=keys.size)
    owner = keys // 1000
    vehicle = simulation.layout.vehicle
    duties = sorted({spec.duty for spec in specs})
    prior = effect_priors(duties, ForecastSettings())
    columns = {name: i for i, name in enumerate(prior.names)}
    design = np.zeros((keys.size, len(prior.names)))
    roles = [axle.role for spec in specs for axle in spec.axles for _ in range(2)]
    for row, e in enumerate(owner):
        spec = specs[vehicle[e]]
        design[row, columns[spec.duty]] = 1.0
        if roles[e] in AXLE_ROLES:
            design[row, columns[roles[e]]] = 1.0
    new = simulation.layout.dimension["friction_new"][owner]
    sets = np.arange(keys.size)
    tracks = Tracks(
        vehicle[owner],
        owner,
        sets,
        sets,
        np.cumsum(count) - count,
        count,
        new,
        np.full(keys.size, 0.2e-3),
        design,
        np.ones(keys.size, dtype=bool),
    )
    u = np.where(np.isnan(flat[:, 4]), 0.03 * _SCALE, 0.15e-3)
    guessed = flat[:, 8] if flat[:, 8].any() else None
    readings = Readings(flat[:, 2], flat[:, 4], u, flat[:, 6], flat[:, 7], guessed)
    table = FleetTable(tracks, readings, prior.names, prior.mean, prior.spread, ("vehicle", "end", "set"))
    seen = np.zeros(n, dtype=bool)
    np.logical_or.at(seen, end, (flat[:, 5] > 0) & (which == number[end]))
    return table, seen
