"""Threshold form of the network: yes-or-no symptoms, at most two faults at an end, one wheel end at a time.

A reference kept apart from the program: plain loops over sets, nothing shared with the graded inference
but the tables.
"""

from __future__ import annotations

from datetime import date
from itertools import combinations
from math import log, log1p
from pathlib import Path

import numpy as np

from wearline.assessment.judge import Judged, judge_inspection_columns
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.cause_model import CauseNetwork
from wearline.catalogue.loading import load_catalogue
from wearline.ingest.read import read_inspection
from wearline.records.inspection import Inspection

CASES = Path(__file__).parents[1] / "cases"
TODAY = date(2026, 11, 1)


def read_case(name: str) -> Inspection:
    return read_inspection(CASES / f"{name}.toml", today=TODAY, catalogue=load_catalogue())


def symptoms_at(inspection: Inspection, place: str) -> dict[str, bool]:
    """Symptoms of one wheel end by their thresholds; what was not measured is left out.

    Judder, squeal, knock and pull count as asked for and absent where nobody noticed them.
    """
    judged, _ = judge_inspection_columns(inspection, load_catalogue(), DecisionSettings())
    row = list(judged.columns.places).index(place)
    found = _numbers(judged, row)
    columns = judged.columns
    for field, code, good in (
        ("guide_pin_boot", "l", "sound"),
        ("tappet_boot", "m", "sound"),
        ("pad_freedom", "q", "free"),
    ):
        if columns.taken(field)[row]:
            found[code] = not bool(columns.says(field, good)[row])
    if columns.taken("adjuster_test")[row]:
        found["n"] = bool(columns.says("adjuster_test", "does not advance")[row])
        found["o"] = bool(columns.says("adjuster_test", "turns back")[row])
    end = next(one for one in inspection.wheel_ends if str(one.place) == place)
    for word, code in (("judder", "A"), ("squeal", "B"), ("knock", "C"), ("pull", "D")):
        found[code] = word in end.noticed
    return found


def _numbers(judged: Judged, row: int) -> dict[str, bool]:
    columns, derived = judged.columns, judged.derived
    pair, mate = derived.pair, int(columns.mate[row])
    mean = 0.5 * (derived.inner.mean + derived.outer.mean)
    rate = 0.5 * (derived.wear_rate_inner + derived.wear_rate_outer)
    stuck = bool(derived.stuck[row])
    drag = columns.value("brake_drag")
    tests = {
        "a": pair.mean_difference[row] - 2e-3,
        "b": -pair.mean_difference[row] - 2e-3,
        "c": abs(pair.end_antisymmetric[row]) - 1.5e-3,
        "d": abs(pair.end_symmetric[row]) - 1.5e-3,
        "e": abs(pair.top_antisymmetric[row]) - 1.0e-3,
        "f": abs(pair.top_symmetric[row]) - 1.0e-3,
        "g": columns.value("total_travel")[row] - 0.080 * 25.4e-3,
        "h": 0.4e-3 - columns.value("total_travel")[row],
        "i": np.nan if stuck else columns.value("tangential_play")[row] - 0.118 * 25.4e-3,
        "j": np.nan if stuck else columns.value("radial_play")[row] - 0.078 * 25.4e-3,
        "k": 1.0 if stuck else columns.value("slide")[row] - 100.0,
        "p": columns.value("abutment_faces_caught")[row] - 0.5,
        "r": derived.temperature_above_normal[row] - 40.0,
        "s": -derived.temperature_above_normal[row] - 40.0,
        "t": 0.75 - derived.force_share_of_mate[row],
        "u": min(derived.drag_share[row] - 0.02, drag[row] - 2.0 * drag[mate]),
        "v": rate[row] / columns.peer_wear[row] - 1.5,
        "w": mean[mate] - mean[row] - 3e-3,
        "x": columns.value("rotor_crack_length")[row] - 0.5,
        "y": columns.value("rotor_scoring")[row] - 0.8e-3,
        "z": columns.value("rotor_thickness_variation")[row] - 0.08e-3,
        "I": columns.value("rotor_runout")[row] - 0.15e-3,
        "E": abs(derived.indicator_difference[row]) - 0.2,
        "H": columns.value("bearing_end_play")[row] - 0.13e-3,
    }
    return {code: bool(beyond > 0.0) for code, beyond in tests.items() if not np.isnan(beyond)}


def posterior(network: CauseNetwork, seen: dict[str, bool], most: int = 2) -> dict[str, float]:
    """Probability of each cause by summing over all sets of up to ``most`` of them."""
    codes = list(network.causes)
    logs: list[tuple[tuple[str, ...], float]] = []
    for size in range(most + 1):
        for chosen in combinations(codes, size):
            total = sum(
                log(cause.prior) if cause.code in chosen else log1p(-cause.prior)
                for cause in network.causes.values()
            )
            for code, there in seen.items():
                symptom = network.symptoms[code]
                absent = 1.0 - symptom.leak
                for cause in chosen:
                    absent *= 1.0 - symptom.chance.get(cause, 0.0)
                total += network.damping.get(symptom.group, 1.0) * log(1.0 - absent if there else absent)
            logs.append((chosen, total))
    top = max(total for _, total in logs)
    masses = [(chosen, float(np.exp(total - top))) for chosen, total in logs]
    whole = sum(mass for _, mass in masses)
    return {code: sum(mass for chosen, mass in masses if code in chosen) / whole for code in codes}
