"""Noisy-OR with graded findings: several causes at once, each finding with the densities of its reading.

A finding with a yes or no is the ordinary noisy-OR; a measured number has a density for a sound brake and one
for each cause that acts on it. Both are one formula, so that words and numbers meet in one sum.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Findings",
    "graded",
    "posterior_by_enumeration",
    "posteriors_of_words",
    "subsets",
    "weights_of_chance",
]

Floats = NDArray[np.float64]

_MOST_CHANCE = 1.0 - 1e-12


@dataclass(frozen=True, slots=True)
class Findings:
    """Findings of one wheel end as likelihoods.

    Parameters
    ----------
    sound : array, shape (J,)
        Density of each reading when nothing acts on it.
    leak : array, shape (J,)
        Density when something acts that is no listed cause.
    caused : array, shape (J, K)
        Density when cause k acts. For a yes or no: sound 0 or 1, the others 1 or 0. For a reading that was
        not taken all are 1.
    """

    sound: Floats
    leak: Floats
    caused: Floats


def weights_of_chance(chance: Floats) -> Floats:
    """Return the additive weight -ln(1 - q) of a chance.

    Parameters
    ----------
    chance : array, [1], 0 to 1
        Chances q; 1 counts as 1 - 1e-12.

    Returns
    -------
    array, same shape, [1]
        Weights: those of several causes add where their chances combine by noisy-OR.
    """
    result: Floats = -np.log1p(-np.minimum(chance, _MOST_CHANCE))
    return result


def graded(weight: Floats, weighted: Floats, sound: Floats) -> Floats:
    """Return the likelihood of readings under sets of causes.

    Parameters
    ----------
    weight : array
        Sum of the weights of the leak and the causes present.
    weighted : array
        Sum of weight times density over the same.
    sound : array
        Density when nothing acts.

    Returns
    -------
    array
        Likelihood.

    Notes
    -----
    L = exp(-W) f0 + (1 - exp(-W)) (sum w_c f_c) / W. With f0 = 0 or 1 and f_c = 1 or 0 this is the noisy-OR
    P(absent) = (1 - leak) prod(1 - q_c) and its complement; virtual evidence and measured densities are the
    same formula. Where two causes act, the reading follows either in proportion to their weights.
    """
    absent = np.exp(-weight)
    share = np.where(weight > 0.0, -np.expm1(-weight) / np.where(weight > 0.0, weight, 1.0), 1.0)
    result: Floats = absent * sound + share * weighted
    return result


@lru_cache(maxsize=32)
def subsets(count: int, most: int) -> NDArray[np.int64]:
    """Return every set of up to ``most`` of ``count`` causes as rows of indices.

    Parameters
    ----------
    count : int, 0 or more
        Number of causes.
    most : int, 0 or more
        Greatest size of a set.

    Returns
    -------
    array of int, shape (sets, max(most, 1))
        Indices, filled up with ``count``; the empty set first, then by size.
    """
    width = max(most, 1)
    rows = [
        (*chosen, *((count,) * (width - size)))
        for size in range(min(most, count) + 1)
        for chosen in combinations(range(count), size)
    ]
    return np.array(rows, dtype=np.int64).reshape(len(rows), width)


def posterior_by_enumeration(
    prior: Floats, chance: Floats, leak: Floats, findings: Findings, *, most: int
) -> tuple[Floats, float]:
    """Return the probability of each cause by summing over all sets of causes, exactly.

    Parameters
    ----------
    prior : array, shape (K,), [1]
        Independent priors.
    chance : array, shape (J, K), [1]
        Chance that cause k alone makes finding j.
    leak : array, shape (J,), [1]
        Chance of each finding without a cause.
    findings : Findings
        Densities of the readings.
    most : int
        Greatest number of causes at once; K for all.

    Returns
    -------
    array, shape (K,), [1]
        Posterior.
    float
        Probability of the evidence, of the sets up to that size.
    """
    count = prior.size
    rows = subsets(count, most)
    weight = np.append(weights_of_chance(chance), np.zeros((chance.shape[0], 1)), axis=1)
    density = np.append(findings.caused, np.zeros((chance.shape[0], 1)), axis=1)
    leaks = weights_of_chance(leak)
    total = leaks[:, None] + weight[:, rows].sum(axis=2)
    mixed = (leaks * findings.leak)[:, None] + (weight * density)[:, rows].sum(axis=2)
    likelihood = graded(total, mixed, findings.sound[:, None]).prod(axis=0)
    present = np.zeros((rows.shape[0], count + 1), dtype=bool)
    np.put_along_axis(present, rows, True, axis=1)
    chances = np.where(present[:, :count], prior, 1.0 - prior).prod(axis=1)
    mass = chances * likelihood
    evidence = float(mass.sum())
    posterior: Floats = (mass[:, None] * present[:, :count]).sum(axis=0) / evidence
    return posterior, evidence


def posteriors_of_words(
    prior: Floats, chance: Floats, leak: Floats, seen: NDArray[np.int8], *, most: int
) -> Floats:
    """Return the probability of each cause at many wheel ends from yes-or-no findings, exactly.

    Parameters
    ----------
    prior : array, shape (K,), [1]
        Independent priors.
    chance : array, shape (J, K), [1]
        Chance that cause k alone makes finding j.
    leak : array, shape (J,), [1]
        Chance of each finding without a cause.
    seen : array of int, shape (n, J)
        1 there, 0 not there, -1 not looked at.
    most : int
        Greatest number of causes at once; K for all.

    Returns
    -------
    array, shape (n, K), [1]
        Posteriors.

    Notes
    -----
    The same sums as ``posterior_by_enumeration``, as two matrix products over all wheel ends.
    """
    count = prior.size
    rows = subsets(count, most)
    member = np.zeros((rows.shape[0], count + 1))
    np.put_along_axis(member, rows, 1.0, axis=1)
    member = member[:, :count]
    weight = member @ weights_of_chance(chance).T + weights_of_chance(leak)
    there = np.log(np.maximum(-np.expm1(-weight), 1e-300))
    odds = member @ (np.log(prior) - np.log1p(-prior))
    log = odds + (seen == 1).astype(float) @ there.T - (seen == 0).astype(float) @ weight.T
    mass = np.exp(log - log.max(axis=1, keepdims=True))
    result: Floats = (mass @ member) / mass.sum(axis=1, keepdims=True)
    return result
