"""Vehicles with hidden causes from the simulator, whose mechanisms know nothing of the network's tables."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date

import numpy as np

from wearline.assessment.judge import judge_inspection_columns
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.load_causes import load_causes
from wearline.catalogue.loading import load_catalogue
from wearline.diagnosis.gather import circumstances_of, heard_in
from wearline.diagnosis.infer import Posterior, infer
from wearline.diagnosis.network import compile_network
from wearline.diagnosis.observe import Observed, observe
from wearline.diagnosis.whole import Circumstances
from wearline.errors import InputError
from wearline.ingest.document import inspection_from_document
from wearline.practice.cases import draw_spec, draw_truth, place_for
from wearline.practice.faults import Fault
from wearline.practice.parameters import load_mechanisms
from wearline.practice.simulate import SimulatedInspection, simulate_vehicles
from wearline.records.inspection import Inspection

TAKEN = date(2026, 9, 14)
BLOCK = 50


@dataclass(frozen=True, slots=True)
class Case:
    """One vehicle: what was written down, and what is behind it."""

    inspection: Inspection
    truth: dict[str, tuple[str, ...]]
    simulated: SimulatedInspection


@dataclass(frozen=True, slots=True)
class Diagnosed:
    """One vehicle with what the inference says of it."""

    case: Case
    places: tuple[str, ...]
    observed: Observed
    posterior: Posterior


def single_causes(count: int, seed: int, *, spread: float = 0.3, codes: tuple[str, ...] = ()) -> list[Case]:
    """Vehicles with one hidden cause each, every cause as often, mechanisms drawn some way off."""
    rng = np.random.default_rng(seed)
    network = load_causes()
    codes = codes or tuple(network.causes)
    cases: list[Case] = []
    number = 0
    while len(cases) < count:
        mechanisms = load_mechanisms().varied(rng, spread)
        specs, truths = [], []
        for _ in range(min(BLOCK, count - len(cases))):
            code = codes[number % len(codes)]
            spec = draw_spec(rng, number)
            while code == "U2" and spec.retarder != "fitted":
                spec = draw_spec(rng, number)
            specs.append(spec)
            truths.append({place_for(code, spec, rng): (Fault(code, float(rng.uniform(0.3, 1.0))),)})
            number += 1
        cases += _read(simulate_vehicles(specs, truths, rng=rng, taken_on=TAKEN, mechanisms=mechanisms))
    return cases


def by_priors(count: int, seed: int, *, spread: float = 0.3) -> list[Case]:
    """Vehicles with causes as often as the priors say, up to three at a wheel end."""
    rng = np.random.default_rng(seed)
    chances = {code: cause.prior for code, cause in load_causes().causes.items()}
    cases: list[Case] = []
    while len(cases) < count:
        mechanisms = load_mechanisms().varied(rng, spread)
        specs = [draw_spec(rng, len(cases) + one) for one in range(min(BLOCK, count - len(cases)))]
        truths = [draw_truth(spec, chances, rng) for spec in specs]
        cases += _read(simulate_vehicles(specs, truths, rng=rng, taken_on=TAKEN, mechanisms=mechanisms))
    return cases


def _read(simulated: list[SimulatedInspection]) -> list[Case]:
    catalogue = load_catalogue()
    found = []
    for one in simulated:
        try:
            inspection = inspection_from_document(
                one.document, where="simulated", today=TAKEN, catalogue=catalogue
            )
        except InputError as error:
            # a slip of the simulated person that the file reader refuses never reaches a diagnosis
            print("refused:", error)
            continue
        found.append(Case(inspection, dict(one.truth.codes), one))
    return found


def diagnose(cases: list[Case]) -> list[Diagnosed]:
    """Infer every vehicle on its own, as the command does."""
    catalogue, compiled = load_catalogue(), compile_network(load_causes())
    found = []
    for case in cases:
        judged, _ = judge_inspection_columns(case.inspection, catalogue, DecisionSettings())
        observed = observe(judged, compiled, heard_in([case.inspection]))
        posterior = infer(observed, compiled, circumstances_of([case.inspection], judged, compiled))
        found.append(Diagnosed(case, tuple(judged.columns.places), observed, posterior))
    return found


def together(cases: list[Case]) -> tuple[Observed, Circumstances]:
    """Likelihoods and circumstances of many vehicles as one batch."""
    catalogue, compiled = load_catalogue(), compile_network(load_causes())
    parts: list[Observed] = []
    abouts: list[Circumstances] = []
    for case in cases:
        judged, _ = judge_inspection_columns(case.inspection, catalogue, DecisionSettings())
        parts.append(observe(judged, compiled, heard_in([case.inspection])))
        abouts.append(circumstances_of([case.inspection], judged, compiled))
    joined = {}
    for one in fields(Observed):
        columns = [getattr(part, one.name) for part in parts]
        if one.name == "compared":
            joined[one.name] = {
                id: tuple(np.concatenate([column[id][place] for column in columns]) for place in (0, 1))
                for id in columns[0]
            }
        elif isinstance(columns[0], dict):
            joined[one.name] = {id: np.concatenate([column[id] for column in columns]) for id in columns[0]}
        else:
            joined[one.name] = np.concatenate(columns)
    rows = np.cumsum([0, *(part.taken.shape[0] for part in parts)])
    axles = np.cumsum([0, *(about.pairs.shape[0] for about in abouts)])
    return Observed(**joined), Circumstances(
        pairs=np.concatenate([about.pairs + rows[n] for n, about in enumerate(abouts)]),
        pair_of_end=np.concatenate([about.pair_of_end + axles[n] for n, about in enumerate(abouts)]),
        vehicle_of_pair=np.concatenate([about.vehicle_of_pair + n for n, about in enumerate(abouts)]),
        first_row=np.concatenate([about.first_row + rows[n] for n, about in enumerate(abouts)]),
        log_odds=np.concatenate([about.log_odds for about in abouts]),
        prior_axle=abouts[0].prior_axle,
        prior_vehicle=np.concatenate([about.prior_vehicle for about in abouts]),
        seen={id: np.concatenate([about.seen[id] for about in abouts]) for id in abouts[0].seen},
    )
