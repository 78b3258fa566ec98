"""How well simulated vehicles are diagnosed: named first, false accusations, calibration, minutes."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import numpy as np
from simulated_vehicles import Diagnosed

from wearline.catalogue.loading import load_catalogue
from wearline.diagnosis.compare import ORDER, pair_tables
from wearline.diagnosis.network import AXLE_CAUSES, VEHICLE_CAUSES
from wearline.diagnosis.next_tests import Candidate, access_minutes, rank_tests
from wearline.diagnosis.noisy_or import subsets
from wearline.diagnosis.workspace import share_of

HIDDEN_FROM_A_COLD_INSPECTION = {
    "G3": "grips only when hot; the cold slide is free, and no field holds a hot slide",
    "U1": "energy everywhere: the same readings as a hard route or overload",
    "U3": "energy everywhere: only weighing tells it from U1",
    "U5": "a slip of the pen imitates any cause; only a second reading proves it",
}
"""Causes that a complete inspection of a parked vehicle cannot tell, and why, by their mechanism."""

CHECK_OF_NODE = {
    "mean_difference": "F5",
    "end_antisymmetric": "F5",
    "end_symmetric": "F5",
    "top_antisymmetric": "F5",
    "top_symmetric": "F5",
    "total_travel": "F2",
    "tangential_play": "F12",
    "radial_play": "F13",
    "slide": "F11",
    "rotor_runout": "F21",
    "runout_repeats": "F21",
    "rotor_thickness_variation": "F20",
    "rotor_scoring": "F24",
    "rotor_crack_length": "F22",
    "bearing_end_play": "F26",
    "hub_face_runout": "F35",
    "tappet_step": "F17",
    "guide_clearance": "F34",
    "adjuster_torque": "F4",
    "fastener_torque": "F29",
    "mounting": "F29",
    "carrier": "F29",
    "brake_drag": "W15",
    "indicator": "F5",
    "guide_boot": "F14",
    "tappet_boot": "F16",
    "tappet_shank": "F16",
    "adjuster_advance": "F3",
    "adjuster_hold": "F3",
    "abutments": "F10",
    "pad_freedom": "F9",
    "judder": "W3",
    "squeal": "W3",
    "knock": "W3",
    "pull": "W3",
    "air_leak": "W10",
    "oil": "F7",
    "glazed": "F7",
    "friction": "F7",
    "action": "W11",
    "no_movement": "W11",
    "free_turning": "W13",
    "spring_brake": "W18",
    "hose": "W19",
    "retainer": "F30",
    "pad_identity": "F8",
    "sensor_wire": "F33",
    "fresh_metal": "F1",
    "rust_water": "F1",
    "chamber_water": "F31",
    "stem_cap": "F18",
    "rust_band": "W8",
    "heat_spots": "F23",
    "rotor_minimum": "F19",
    "chamber_size": "W1",
    "data_slip": "W2",
    "force": "W15",
    "temperature": "W4",
    "wear": "F5",
}


@dataclass
class Scores:
    """Counts over single causes."""

    cases: Counter[str] = field(default_factory=Counter)
    first: Counter[str] = field(default_factory=Counter)
    three: Counter[str] = field(default_factory=Counter)
    likely: Counter[str] = field(default_factory=Counter)
    named: dict[str, Counter[str]] = field(default_factory=lambda: defaultdict(Counter))
    healthy_ends: int = 0
    accused: int = 0
    really_there: int = 0
    accused_of: Counter[str] = field(default_factory=Counter)

    def share(self, counts: Counter[str], codes: Iterable[str]) -> float:
        chosen = list(codes)
        return sum(counts[code] for code in chosen) / max(sum(self.cases[code] for code in chosen), 1)

    @property
    def identifiable(self) -> list[str]:
        return [code for code in self.cases if code not in HIDDEN_FROM_A_COLD_INSPECTION]


def ranking(one: Diagnosed, where: str) -> dict[str, float]:
    """Causes named at a place with their probability: a wheel end, an axle with both ends, or the vehicle."""
    compiled = one.posterior.compiled
    by_cause = one.posterior.of_causes()
    if where == "vehicle":
        found = dict(zip(VEHICLE_CAUSES, one.posterior.vehicle[0].tolist(), strict=True))
        return found | dict(zip(compiled.codes, by_cause.min(axis=0).tolist(), strict=True))
    rows = [row for row, place in enumerate(one.places) if place == where or place[:-1] == where]
    found = dict(zip(compiled.codes, by_cause[rows].max(axis=0).tolist(), strict=True))
    if where[-1] not in "LR":
        found |= dict(zip(AXLE_CAUSES, one.posterior.axle[rows[0]].tolist(), strict=True))
    return found


def score_singles(found: Iterable[Diagnosed]) -> Scores:
    """Score vehicles with one hidden cause each."""
    scores = Scores()
    for one in found:
        ((where, codes),) = one.case.truth.items() or (("", ()),)
        code = codes[0]
        chances = ranking(one, where)
        order = sorted(chances, key=lambda name: -chances[name])
        scores.cases[code] += 1
        scores.first[code] += order[0] == code
        scores.three[code] += code in order[:3]
        scores.likely[code] += chances[code] >= 0.5
        scores.named[code][order[0]] += 1
        _accusations(one, scores)
    return scores


def _accusations(one: Diagnosed, scores: Scores) -> None:
    """Healthy wheel ends at which a cause is called likely."""
    if "vehicle" in one.case.truth:
        return
    by_cause = one.posterior.of_causes()
    for row, place in enumerate(one.places):
        if place in one.case.truth or place[:-1] in one.case.truth:
            continue
        scores.healthy_ends += 1
        if by_cause[row].max() >= 0.5:
            code = one.posterior.compiled.codes[int(by_cause[row].argmax())]
            figures = one.case.simulated.states[place].figures
            scores.accused += 1
            scores.accused_of[code] += 1
            scored, cracked = figures["rotor_scoring", ""] > 0.8e-3, figures["rotor_crack_length", ""] > 0.5
            scores.really_there += (code == "R4" and scored) or (code == "R3" and cracked)


def score_ends(found: Iterable[Diagnosed]) -> Scores:
    """Score only the false accusations, whatever the number of hidden causes."""
    scores = Scores()
    for one in found:
        _accusations(one, scores)
    return scores


def calibration(
    found: Iterable[Diagnosed], least: float = 0.05
) -> tuple[float, list[tuple[int, float, float]]]:
    """Expected calibration error of all statements 'this cause at this end' with at least that probability.

    Ten bins; returned with count, mean probability and share true of each bin.
    """
    said, true = [], []
    for one in found:
        by_cause = one.posterior.of_causes()
        for row, place in enumerate(one.places):
            here = {c for at in (place, place[:-1], "vehicle") for c in one.case.truth.get(at, ())}
            for code, chance in zip(one.posterior.compiled.codes, by_cause[row].tolist(), strict=True):
                if chance >= least:
                    said.append(chance)
                    true.append(code in here)
    chances, right = np.array(said), np.array(true, dtype=float)
    bins = np.minimum((chances * 10).astype(int), 9)
    rows, error = [], 0.0
    for number in range(10):
        here = bins == number
        if here.any():
            mean, share = float(chances[here].mean()), float(right[here].mean())
            rows.append((int(here.sum()), mean, share))
            error += here.sum() / chances.size * abs(mean - share)
    return float(error), rows


@dataclass(frozen=True)
class Route:
    """One way through the checks."""

    minutes: float
    reached: bool
    right: bool


class Bench:
    """One sick wheel end whose readings are revealed check by check."""

    def __init__(self, one: Diagnosed, row: int, code: str) -> None:
        compiled = one.posterior.compiled
        count = len(compiled.items)
        pairs = subsets(count, 2)
        pairs = pairs[~compiled.exclusive[pairs[:, 0], pairs[:, 1]]]
        self.sets = np.concatenate([pairs, np.full((len(pairs), 1), count)], axis=1)
        self.compiled, self.one, self.row, self.code = compiled, one, row, code
        self.prior = np.zeros(len(self.sets))
        odds = np.append(np.log(compiled.prior / (1 - compiled.prior)), 0.0)
        self.prior = odds[self.sets].sum(axis=1)
        self.catalogue = load_catalogue()
        self.ends = len(one.places)
        self.logs, self.chances = self._tables()
        self.member = np.array(
            [
                np.isin(self.sets, [k for k, (name, _) in enumerate(compiled.items) if name == each]).any(
                    axis=1
                )
                for each in compiled.codes
            ]
        )

    def _tables(self) -> tuple[dict[str, np.ndarray], dict[str, list[np.ndarray]]]:
        """Log-likelihood of what each check shows, and the chance of each of its findings, by set."""
        compiled, observed, row = self.compiled, self.one.observed, self.row
        logs: dict[str, np.ndarray] = {}
        chances: dict[str, list[np.ndarray]] = {}
        for node, name in enumerate(compiled.nodes):
            if not observed.taken[row, node]:
                continue
            total = compiled.weight[node][self.sets].sum(axis=1) + compiled.leak[node]
            mixed = observed.caused[row, node][self.sets].sum(axis=1) + observed.leak[row, node]
            value = np.exp(-total) * observed.sound[row, node] + share_of(total) * mixed
            self._add(logs, chances, name, compiled.exponent[node] * np.log(value), -np.expm1(-total))
        pair = np.array([[row, row + 1] if row % 2 == 0 else [row - 1, row]])
        tables = pair_tables(observed, compiled, pair)
        for id in ORDER:
            if np.isnan(observed.compared[id][0][row]):
                continue
            compared = compiled.compared[id]
            total = compared.weight[self.sets].sum(axis=1) + compared.leak_weight
            levels = share_of(total)[:, None] * (
                compared.levels[self.sets].sum(axis=1) + compared.leak_levels
            )
            levels[:, 0] += np.exp(-total)
            table = tables.tables[id][0]
            column = table[:, 0] if row % 2 == 0 else table[0]
            self._add(logs, chances, id, np.log(levels @ column), -np.expm1(-total))
        return logs, chances

    @staticmethod
    def _add(
        logs: dict[str, np.ndarray],
        chances: dict[str, list[np.ndarray]],
        name: str,
        log: np.ndarray,
        chance: np.ndarray,
    ) -> None:
        check = CHECK_OF_NODE[name]
        logs[check] = logs.get(check, 0.0) + log
        chances.setdefault(check, []).append(chance)

    def mass(self, done: Iterable[str]) -> np.ndarray:
        log = self.prior + sum(
            (self.logs[check] for check in done if check in self.logs), np.zeros(len(self.sets))
        )
        mass = np.exp(log - log.max())
        return mass / mass.sum()

    def best(self, done: Iterable[str]) -> tuple[str, float]:
        chances = self.member @ self.mass(done)
        return self.compiled.codes[int(chances.argmax())], float(chances.max())

    def minutes_of(self, check: str) -> float:
        one = self.catalogue.checks[check]
        return one.minutes + one.minutes_per_end * self.ends

    def walk(self, choose: Any) -> Route:
        """Follow a policy until a cause has 90 % or nothing is left."""
        done, reached, minutes = ["W3"], frozenset({"N", "O"}), self.minutes_of("W3")
        while True:
            name, chance = self.best(done)
            if chance >= 0.9:
                return Route(minutes, True, name == self.code)
            check = choose(done, reached)
            if check is None:
                return Route(minutes, False, name == self.code)
            states = self.catalogue.checks[check].states
            minutes += access_minutes(states, reached, self.catalogue.states) + self.minutes_of(check)
            below = {"P": {"W"}, "D": {"W", "P"}}
            reached = reached | set(states) | {one for state in states for one in below.get(state, ())}
            done.append(check)

    def fixed(self, done: list[str], _: frozenset[str]) -> str | None:
        """The order of a complete inspection, wheels on and then wheels off."""
        return next((check for check in self.catalogue.checks if check not in done and check != "F36"), None)

    def ranked(self, done: list[str], reached: frozenset[str]) -> str | None:
        """The check that the diagnosis asks for next."""
        posterior: Any = SimpleNamespace(mass=[self.mass(done)], sets=[self.sets], compiled=self.compiled)
        options = [
            Candidate(
                check,
                check,
                check,
                self.minutes_of(check),
                self.catalogue.checks[check].states,
                np.array(rows),
            )
            for check, rows in self.chances.items()
            if check not in done
        ]
        tests = rank_tests(options, posterior, 0, reached, self.catalogue.states, most=1)
        return tests[0].check if tests else None


def routes(found: Iterable[Diagnosed], most: int) -> list[tuple[Route, Route]]:
    """Fixed order and ranked order at sick ends that a complete inspection settles."""
    result: list[tuple[Route, Route]] = []
    for one in found:
        ((where, codes),) = one.case.truth.items()
        if where not in one.places or codes[0] in HIDDEN_FROM_A_COLD_INSPECTION:
            continue
        bench = Bench(one, one.places.index(where), codes[0])
        name, chance = bench.best(bench.logs)
        if name == codes[0] and chance >= 0.9:
            result.append((bench.walk(bench.fixed), bench.walk(bench.ranked)))
        if len(result) >= most:
            break
    return result
