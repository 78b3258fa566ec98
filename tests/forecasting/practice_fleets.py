"""Fleets driven by the simulator, with their truth: when each wheel end really meets its limit."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from wearline.catalogue.loading import load_catalogue
from wearline.forecasting.padsets import Readings, Tracks
from wearline.forecasting.prior import effect_priors
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.wear_model import FleetTable
from wearline.practice.cases import typical_vehicles
from wearline.practice.parameters import load_mechanisms
from wearline.practice.simulation import Simulation
from wearline.records.inspection import AXLE_ROLES

__all__ = ["DrivenFleet", "drive_fleet"]

LIMIT = 3e-3
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
) -> DrivenFleet:
    """Typical vehicles looked at some four times in a set's life; pads renewed before 3 mm."""
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
    fitted, number = np.zeros(n), np.zeros(n, dtype=int)
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
        run = simulation.clock[vehicle] - fitted
        seen = (rng.uniform(size=n) >= missing) & (value > 0.8e-3)
        rows += list(zip(*(c[seen] for c in (np.arange(n), number, run, value, silent)), strict=True))
        if look == looks - 1:
            break
        renew = now - rate * interval[vehicle] * 1.2 < LIMIT + 0.5e-3
        hidden = renew & (rng.uniform(size=n) < unrecorded)
        told = renew & ~hidden
        if told.any():
            simulation.renew_pads(told)
        waiting[hidden] = rng.integers(0, _PARTS, int(hidden.sum()))
        fitted = np.where(told, simulation.clock[vehicle], fitted)
        number = number + told
        silent = np.where(told, False, silent | hidden)
    since = simulation.clock[vehicle] - fitted
    table, seen_since = _table(rows, specs, simulation, number, n)
    return DrivenFleet(table, _distance_to_limit(simulation, interval), since, silent, seen_since)


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


def _table(rows, specs, simulation, number, n):
    flat = np.array(rows, dtype=float)
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
    readings = Readings.of_values(flat[:, 2], flat[:, 3], np.full(flat.shape[0], 0.15e-3))
    table = FleetTable(tracks, readings, prior.names, prior.mean, prior.spread, ("vehicle", "end", "set"))
    seen = np.zeros(n, dtype=bool)
    np.logical_or.at(seen, end, (flat[:, 4] > 0) & (which == number[end]))
    return table, seen
