"""The joint sums against brute force: every set at both ends, every shared set, every level."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from threshold_form import read_case

from wearline.assessment.judge import Judged, judge_inspection_columns
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.cause_model import CauseNetwork
from wearline.catalogue.load_causes import load_causes
from wearline.catalogue.loading import load_catalogue
from wearline.diagnosis.compare import ORDER, pair_tables
from wearline.diagnosis.gather import circumstances_of, heard_in
from wearline.diagnosis.infer import Effort, infer
from wearline.diagnosis.network import VEHICLE_CAUSES, Compiled, compile_network
from wearline.diagnosis.observe import Observed, observe
from wearline.diagnosis.whole import Circumstances, axle_log_likelihood, vehicle_log_likelihood
from wearline.diagnosis.workspace import workspace

SHARED = (*VEHICLE_CAUSES, "V3", "V6")


def reduced(codes: tuple[str, ...]) -> CauseNetwork:
    """The shipped network with a few causes of a wheel end and all shared ones."""
    network = load_causes()
    causes = {code: cause for code, cause in network.causes.items() if code in (*codes, *SHARED)}
    return replace(network, causes=causes)


def prepared(case: str, network: CauseNetwork) -> tuple[Judged, Compiled, Observed, Circumstances]:
    inspection = read_case(case)
    judged, _ = judge_inspection_columns(inspection, load_catalogue(), DecisionSettings())
    compiled = compile_network(network)
    observed = observe(judged, compiled, heard_in([inspection]))
    return judged, compiled, observed, circumstances_of([inspection], judged, compiled)


def levels_of(compiled: Compiled, chosen: tuple[int, ...], slow: bool) -> np.ndarray:
    """Chance of every joint level under one set."""
    parts = []
    for id in ORDER:
        compared = compiled.compared[id]
        total = compared.leak_weight + sum(compared.weight[k] for k in chosen)
        on = compared.leak_levels + sum(compared.levels[k] for k in chosen)
        if slow:
            total, on = total + compared.shared_weight[4], on + compared.shared_levels[4]
        chance = (1 - np.exp(-total)) * on / total
        chance[0] += np.exp(-total)
        parts.append(chance)
    return np.einsum("i,j,k->ijk", *parts)


def brute_force(case: str, codes: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Marginals of causes of wheel ends and of the vehicle."""
    _, compiled, observed, about = prepared(case, reduced(codes))
    count = len(compiled.items)
    sets = [chosen for size in range(4) for chosen in combinations(range(count), size)]
    sets = [s for s in sets if len({compiled.items[k][0] for k in s}) == len(s)]
    shared = workspace(compiled).shared
    member = shared.member
    tables = pair_tables(observed, compiled, about.pairs)
    axle_log = axle_log_likelihood(observed, workspace(compiled), about.pairs)
    prior_axle = np.tile(about.log_prior_axle(shared), len(shared.of_vehicle))
    likelihood = np.zeros((about.pairs.shape[0], member.shape[0]))
    marginal = np.zeros((observed.taken.shape[0], member.shape[0], count))
    for a, pair in enumerate(about.pairs):
        for c, present in enumerate(member):
            mass = [
                np.array([local(compiled, observed, about, row, chosen, present) for chosen in sets])
                for row in pair
            ]
            joint = [np.array([levels_of(compiled, chosen, present[4] > 0) for chosen in sets]) for _ in pair]
            wear = tables.wear_unbalanced[a] if present[5] > 0 else tables.tables["wear"][a]
            force, heat = tables.tables["force"][a], tables.tables["temperature"][a]
            right = np.einsum("ux,vy,wz,nxyz->nuvw", force, heat, wear, joint[1])
            table = np.einsum("muvw,nuvw->mn", joint[0], right)
            whole = mass[0][:, None] * mass[1][None, :] * table
            likelihood[a, c] = whole.sum()
            for side, row in enumerate(pair):
                per_set = whole.sum(axis=1 - side)
                for chosen, value in zip(sets, per_set, strict=True):
                    marginal[row, c, list(chosen)] += value
    given = np.log(likelihood) + axle_log + prior_axle
    per_vehicle_set = np.exp(given).reshape(len(about.pairs), len(shared.of_vehicle), -1)
    vehicle = np.exp(
        about.log_prior_vehicle(shared)[0] + vehicle_log_likelihood(observed, workspace(compiled), about)[0]
    )
    vehicle = vehicle * per_vehicle_set.sum(axis=2).prod(axis=0)
    vehicle /= vehicle.sum()
    ends = np.zeros((observed.taken.shape[0], count))
    for a, pair in enumerate(about.pairs):
        weight = (
            vehicle[:, None] * per_vehicle_set[a] / per_vehicle_set[a].sum(axis=1, keepdims=True)
        ).ravel()
        for row in pair:
            ends[row] = ((marginal[row] / likelihood[a][:, None]) * weight[:, None]).sum(axis=0)
    whole_vehicle = np.array(
        [
            sum(v for v, chosen in zip(vehicle, shared.of_vehicle, strict=True) if number in chosen)
            for number in range(4)
        ]
    )
    return ends, whole_vehicle


def local(
    compiled: Compiled,
    observed: Observed,
    about: Circumstances,
    row: int,
    chosen: tuple[int, ...],
    present: np.ndarray,
) -> float:
    """Prior odds times likelihood of the nodes of one wheel end, factor by factor."""
    result = float(np.exp(about.log_odds[row, list(chosen)].sum()))
    for node in range(len(compiled.nodes)):
        if not observed.taken[row, node]:
            continue
        total, mixed = compiled.leak[node], observed.leak[row, node]
        for k in chosen:
            total, mixed = total + compiled.weight[node, k], mixed + observed.caused[row, node, k]
        for number, on in enumerate(present):
            total = total + on * compiled.shared_weight[node, number]
            mixed = mixed + on * observed.shared[row, node, number]
        value = np.exp(-total) * observed.sound[row, node]
        if total > 0:
            value += (1 - np.exp(-total)) * mixed / total
        result *= value ** compiled.exponent[node]
    return result


@pytest.mark.parametrize(
    ("case", "codes"),
    [
        ("A3", ("A1", "V1", "P5", "A3", "V4")),
        ("A1", ("G4", "G5", "G6", "G7")),
        ("A10", ("R3", "P6", "R2", "A7")),
    ],
)
def test_joint_sums_are_exact(case: str, codes: tuple[str, ...]) -> None:
    """All sets kept: 1e-9 against plain products over every combination."""
    _, compiled, observed, about = prepared(case, reduced(codes))
    posterior = infer(observed, compiled, about, Effort(kept=10_000))
    ends, vehicle = brute_force(case, codes)
    assert posterior.items == pytest.approx(ends, abs=1e-9)
    assert posterior.vehicle[0] == pytest.approx(vehicle, abs=1e-9)
    assert posterior.dropped.max() < 1e-12


@pytest.mark.parametrize("case", ["A1", "A3", "A4", "A10"])
def test_keeping_fewer_sets_stays_near_its_stated_error(case: str) -> None:
    """110 sets against all 15 000; the estimate knows no shared cause: within it, or thrice with one."""
    _, compiled, observed, about = prepared(case, load_causes())
    few = infer(observed, compiled, about, Effort(kept=110))
    all_sets = infer(observed, compiled, about, Effort(kept=20_000, chunk=2))
    error = np.abs(few.items - all_sets.items).max(axis=1)
    assert all_sets.dropped.max() < 1e-12
    assert np.all(error <= (3.0 if few.vehicle.max() > 0.5 else 1.0) * few.dropped + 1e-9)
    assert few.dropped.max() < 0.03


def test_chunks_do_not_matter() -> None:
    _, compiled, observed, about = prepared("A6", load_causes())
    one, other = (infer(observed, compiled, about, Effort(chunk=chunk)) for chunk in (1, 24))
    assert one.items == pytest.approx(other.items, abs=1e-12)
