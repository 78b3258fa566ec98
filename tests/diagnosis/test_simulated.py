"""A small sample of the benchmark: simulated vehicles whose mechanisms know nothing of the tables."""

import numpy as np
import pytest
from scores import Scores, calibration, routes, score_ends, score_singles
from simulated_vehicles import Diagnosed, by_priors, diagnose, single_causes, together

from wearline.catalogue.load_causes import load_causes
from wearline.diagnosis.infer import infer
from wearline.diagnosis.network import compile_network


@pytest.fixture(scope="module")
def singles() -> list[Diagnosed]:
    return diagnose(single_causes(92, seed=5))


@pytest.fixture(scope="module")
def scores(singles: list[Diagnosed]) -> Scores:
    return score_singles(singles)


def test_hidden_cause_is_named_first_and_among_three(scores: Scores) -> None:
    """Asked of the full run of 2 000: 0.80 and 0.95 of the identifiable single causes."""
    assert scores.share(scores.first, scores.identifiable) >= 0.80
    assert scores.share(scores.three, scores.identifiable) >= 0.95


def test_few_healthy_ends_are_accused(scores: Scores) -> None:
    assert scores.accused <= 0.03 * scores.healthy_ends


def test_what_is_said_with_a_probability_comes_true_as_often() -> None:
    """A sample of 40 vehicles scatters more than the full run, of which 0.05 is asked."""
    mixed = diagnose(by_priors(40, seed=12))
    error, _ = calibration(mixed)
    ends = score_ends(mixed)
    assert error <= 0.05
    assert ends.accused <= 0.05 * ends.healthy_ends


def test_asking_by_information_saves_a_third_of_the_minutes(singles: list[Diagnosed]) -> None:
    found = routes(singles, 12)
    fixed, ranked = (sum(pair[side].minutes for pair in found) for side in (0, 1))
    assert len(found) == 12
    assert ranked <= 0.65 * fixed


def test_a_batch_of_vehicles_says_the_same_as_each_alone(singles: list[Diagnosed]) -> None:
    some = singles[:8]
    observed, about = together([one.case for one in some])
    batch = infer(observed, compile_network(load_causes()), about)
    alone = np.concatenate([one.posterior.of_causes() for one in some])
    assert batch.of_causes() == pytest.approx(alone, abs=1e-9)
