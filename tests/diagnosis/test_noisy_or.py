"""The graded noisy-OR against a general library for Bayesian networks, and against published small nets."""

import warnings
from itertools import product

import numpy as np
import pytest

from wearline.catalogue.load_causes import load_causes
from wearline.diagnosis.network import compile_network
from wearline.diagnosis.noisy_or import (
    Findings,
    graded,
    posterior_by_enumeration,
    posteriors_of_words,
    subsets,
)


def findings_of(seen: np.ndarray, count: int) -> Findings:
    """Yes (1), no (0) or not looked at (-1)."""
    sound = np.where(seen == 1, 0.0, 1.0)
    there = np.where(seen == 0, 0.0, 1.0)
    return Findings(sound, there, np.tile(there[:, None], (1, count)))


def by_library(prior: np.ndarray, chance: np.ndarray, leak: np.ndarray, seen: np.ndarray) -> list[float]:
    """Marginals by variable elimination in pgmpy (plain tables: its noisy-OR class has no leak)."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pgmpy.factors.discrete import TabularCPD
        from pgmpy.inference import VariableElimination
        from pgmpy.models import DiscreteBayesianNetwork

        count = prior.size
        net = DiscreteBayesianNetwork()
        net.add_nodes_from([f"c{k}" for k in range(count)])
        for k in range(count):
            net.add_cpds(TabularCPD(f"c{k}", 2, [[1 - prior[k]], [prior[k]]]))
        evidence = {}
        for j in np.flatnonzero(seen >= 0):
            parents = np.flatnonzero(chance[j])
            absent = [
                (1 - leak[j]) * np.prod([1 - chance[j, k] * on for k, on in zip(parents, state, strict=True)])
                for state in product((0, 1), repeat=len(parents))
            ]
            names = [f"c{k}" for k in parents]
            net.add_node(f"f{j}")
            net.add_edges_from([(name, f"f{j}") for name in names])
            table = [absent, [1 - value for value in absent]]
            net.add_cpds(TabularCPD(f"f{j}", 2, table, names, [2] * len(names)))
            evidence[f"f{j}"] = int(seen[j])
        net.check_model()
        engine = VariableElimination(net)
        return [float(engine.query([f"c{k}"], evidence, show_progress=False).values[1]) for k in range(count)]


@pytest.mark.parametrize(("count", "number", "seed"), [(4, 5, 1), (8, 10, 2), (12, 14, 3), (12, 20, 4)])
def test_random_networks_agree_with_a_general_library(count: int, number: int, seed: int) -> None:
    """Source: pgmpy, variable elimination; 1e-9."""
    rng = np.random.default_rng(seed)
    prior = rng.uniform(0.01, 0.2, count)
    chance = np.where(rng.random((number, count)) < 0.4, rng.uniform(0.05, 0.95, (number, count)), 0.0)
    leak = rng.uniform(0.005, 0.05, number)
    seen = rng.integers(-1, 2, number)
    mine, _ = posterior_by_enumeration(prior, chance, leak, findings_of(seen, count), most=count)
    library = by_library(prior, chance, leak, seen)
    assert mine == pytest.approx(library, abs=1e-9)
    assert posteriors_of_words(prior, chance, leak, seen[None], most=count)[0] == pytest.approx(
        library, abs=1e-9
    )


@pytest.mark.parametrize(
    "codes",
    [
        ("G1", "G2", "G4", "G5", "G6", "G7", "P1"),
        ("A1", "A2", "A3", "A4", "A7", "A8", "V1", "V2", "V4"),
        ("R1", "R2", "R7", "R8", "P4", "P5", "P6", "V5", "U4", "R4"),
    ],
)
def test_parts_of_the_shipped_network_agree_with_a_general_library(codes: tuple[str, ...]) -> None:
    """Source: pgmpy, variable elimination; 1e-9."""
    network = load_causes()
    rng = np.random.default_rng(len(codes))
    symptoms = list(network.symptoms.values())
    prior = np.array([network.causes[code].prior for code in codes])
    chance = np.array([[one.chance.get(code, 0.0) for code in codes] for one in symptoms])
    leak = np.array([one.leak for one in symptoms])
    seen = rng.integers(-1, 2, len(symptoms))
    mine, _ = posterior_by_enumeration(prior, chance, leak, findings_of(seen, len(codes)), most=len(codes))
    assert mine == pytest.approx(by_library(prior, chance, leak, seen), abs=1e-9)


FEVER = np.array([[0.4, 0.8, 0.9]])


def test_fever_table_of_a_textbook() -> None:
    """Russell and Norvig: inhibition 0.6, 0.2, 0.1 gives P(no fever) 1 0.1 0.2 0.02 0.6 0.06 0.12 0.012.

    Figures from memory, exact by the product rule.
    """
    weight = -np.log1p(-FEVER[0])
    states = np.array(list(product((0, 1), repeat=3)), dtype=float)
    total = states @ weight
    assert graded(total, np.zeros(8), np.ones(8)) == pytest.approx(
        [1, 0.1, 0.2, 0.02, 0.6, 0.06, 0.12, 0.012]
    )


def test_fever_posterior_with_even_priors() -> None:
    """Priors 0.1: P(fever) 0.196288, P(cause | fever) 0.253546 0.420443 0.464460, by the library pyAgrum."""
    mine, evidence = posterior_by_enumeration(
        np.full(3, 0.1), FEVER, np.zeros(1), findings_of(np.array([1]), 3), most=3
    )
    assert evidence == pytest.approx(0.196288, abs=5e-7)
    assert mine == pytest.approx([0.253546, 0.420443, 0.464460], abs=5e-7)


def test_a_reading_not_taken_changes_nothing() -> None:
    compiled = compile_network(load_causes())
    number, count = compiled.weight.shape[0], len(compiled.items)
    chance = -np.expm1(-compiled.weight[:, :count])
    seen = np.full(number, -1)
    mine, evidence = posterior_by_enumeration(
        compiled.prior, chance, -np.expm1(-compiled.leak), findings_of(seen, count), most=1
    )
    apart = np.prod(1 - compiled.prior)
    alone = apart * compiled.prior / (1 - compiled.prior)
    assert mine == pytest.approx(alone / (apart + alone.sum()))
    assert evidence == pytest.approx(apart + alone.sum())


def test_graded_evidence_between_yes_and_no_lies_between() -> None:
    """Virtual evidence: half certain gives the half-way likelihood."""
    weight = np.array([0.7])
    yes, no = graded(weight, weight, np.zeros(1)), graded(weight, np.zeros(1), np.ones(1))
    half = graded(weight, 0.5 * weight, np.full(1, 0.5))
    assert half == pytest.approx(0.5 * (yes + no))


def test_every_set_stands_once() -> None:
    """1 + 7 + 21 + 35 sets of up to three of seven."""
    rows = subsets(7, 3)
    assert rows.shape == (64, 3)
    assert len({tuple(row) for row in rows.tolist()}) == 64
