"""Which check to do next: information per minute, with the access shared by all checks of a state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wearline.catalogue.check_model import Check, State
from wearline.diagnosis.infer import Posterior
from wearline.diagnosis.network import Compiled
from wearline.diagnosis.noisy_or import weights_of_chance
from wearline.diagnosis.results import NextTest

__all__ = ["Candidate", "access_minutes", "candidates", "information", "rank_tests", "states_reached"]

Floats = NDArray[np.float64]

_WORTH = 0.005
"""[bit] A test that promises less is not named."""

_NEEDS = {"P": ("W",), "D": ("W", "P")}
"""States that a state stands upon."""


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A check that could be done.

    Parameters
    ----------
    key : str
        Check id, or the cause whose confirming test it is.
    text : str
        What to do.
    check : str
        Check id; empty for a test that is no check of the list.
    minutes : float, [min]
        Its time.
    states : tuple of str
        States needed.
    chances : array, shape (outcomes, sets)
        Chance of a positive outcome of each of its findings under each set of causes.
    """

    key: str
    text: str
    check: str
    minutes: float
    states: tuple[str, ...]
    chances: Floats


def information(mass: Floats, chances: Floats) -> float:
    """Return the expected information of some yes-or-no findings about which set of causes is present.

    Parameters
    ----------
    mass : array, shape (sets,), [1]
        Posterior of the sets.
    chances : array, shape (findings, sets), [1]
        Chance of each finding under each set; findings are independent given the set.

    Returns
    -------
    float, [bit]
        I = H(findings) - sum_S P(S) H(findings | S), over all outcomes of at most six findings; beyond six,
        of the six that say most alone.
    """
    if chances.shape[0] > 6:
        alone = [information(mass, row[None]) for row in chances]
        chances = chances[np.argsort(alone)[-6:]]
    outcomes = np.ones((1, mass.size))
    for chance in chances:
        outcomes = np.concatenate([outcomes * chance, outcomes * (1.0 - chance)])
    given = -np.sum(outcomes * np.log2(np.maximum(outcomes, 1e-300)), axis=0)
    total = outcomes @ mass
    return float(max(-np.sum(total * np.log2(np.maximum(total, 1e-300))) - given @ mass, 0.0))


def states_reached(taken_checks: Sequence[Check]) -> frozenset[str]:
    """Return the states that an inspection has reached at a wheel end.

    Parameters
    ----------
    taken_checks : sequence of Check
        Checks that have a reading there.

    Returns
    -------
    frozenset of str
        Letters; parked and desk always.
    """
    reached = {"N", "O"}
    for check in taken_checks:
        for state in check.states:
            reached.add(state)
            reached.update(_NEEDS.get(state, ()))
    return frozenset(reached)


def access_minutes(needed: Sequence[str], reached: frozenset[str], states: Mapping[str, State]) -> float:
    """Return the time to reach the states that a test needs.

    Parameters
    ----------
    needed : sequence of str
        States.
    reached : frozenset of str
        States reached already.
    states : mapping of str to State
        Times, of which the middle is taken.

    Returns
    -------
    float, [min]
        Sum over all states missing, those below included.
    """
    missing = {below for state in needed for below in (state, *_NEEDS.get(state, ()))} - reached
    return sum(0.5 * sum(states[state].minutes) for state in missing)


_WEIGHTS: dict[int, tuple[Compiled, dict[str, tuple[Floats, float]]]] = {}


def _symptom_weights(compiled: Compiled) -> dict[str, tuple[Floats, float]]:
    """Weights of all causes on each symptom, and its leak; made once for each network."""
    kept = _WEIGHTS.get(id(compiled))
    if kept is None or kept[0] is not compiled:
        _WEIGHTS.clear()
        made = {
            symptom.code: (
                weights_of_chance(np.array([*(symptom.chance.get(c, 0.0) for c, _ in compiled.items), 0.0])),
                float(weights_of_chance(np.array(symptom.leak))),
            )
            for symptom in compiled.network.symptoms.values()
        }
        kept = _WEIGHTS[id(compiled)] = (compiled, made)
    return kept[1]


def candidates(
    compiled: Compiled, posterior: Posterior, row: int, done: frozenset[str], checks: Mapping[str, Check]
) -> list[Candidate]:
    """Return all checks that are not done, with the chance of each outcome under each set of causes.

    Parameters
    ----------
    compiled : Compiled
        The network.
    posterior : Posterior
        Sets at the wheel end.
    row : int
        Wheel end.
    done : frozenset of str
        Symptoms, and causes whose confirming test is done.
    checks : mapping of str to Check
        All checks.

    Returns
    -------
    list of Candidate
        One for each check and each confirming test of its own.
    """
    network, sets = compiled.network, posterior.sets[row]
    codes = [code for code, _ in compiled.items]
    weights = _symptom_weights(compiled)
    by_check: dict[str, list[str]] = {}
    for symptom in network.symptoms.values():
        if symptom.code not in done:
            by_check.setdefault(symptom.check, []).append(symptom.code)
    found = []
    for check, symptoms in by_check.items():
        rows, minutes, states = [], 0.0, set[str]()
        for code in symptoms:
            symptom = network.symptoms[code]
            weight, leak = weights[code]
            rows.append(-np.expm1(-(weight[sets].sum(axis=1) + leak)))
            minutes += symptom.minutes
            states |= set(symptom.states)
        found.append(
            Candidate(
                check, checks[check].title, check, max(minutes, 1.0), tuple(sorted(states)), np.array(rows)
            )
        )
    for cause in network.causes.values():
        test = cause.test
        if test.symptom or cause.code in done or cause.code not in codes:
            continue
        present = np.isin(sets, [item for item, code in enumerate(codes) if code == cause.code]).any(axis=1)
        chance = np.where(present, test.positive_if_present, test.positive_if_absent)
        found.append(
            Candidate(
                f"test {cause.code}",
                f"{cause.name}: {test.text}",
                "",
                test.minutes,
                test.states,
                chance[None],
            )
        )
    return found


def rank_tests(
    options: Sequence[Candidate],
    posterior: Posterior,
    row: int,
    reached: frozenset[str],
    states: Mapping[str, State],
    *,
    most: int = 6,
) -> tuple[NextTest, ...]:
    """Return the tests most worth their time.

    Parameters
    ----------
    options : sequence of Candidate
        What could be done.
    posterior : Posterior
        Sets at the wheel end.
    row : int
        Wheel end.
    reached : frozenset of str
        States reached.
    states : mapping of str to State
        Times of access.
    most : int, optional
        Most tests named.

    Returns
    -------
    tuple of NextTest
        Best first.

    Notes
    -----
    A test in a state that is reached is ranked by gain / minutes. For a state not yet reached the tests it
    opens are taken together: their gains (at most what is not known) over access plus their minutes, adding
    tests as long as the rate rises; with access paid, a wheel that is off gets all of them. Ordering by gain
    over cost with clusters opened first: common practice of troubleshooting, no source.
    """
    mass = posterior.mass[row]
    unknown = float(-np.sum(mass * np.log2(np.maximum(mass, 1e-300))))
    gains = {option.key: information(mass, option.chances) for option in options}
    clusters: dict[tuple[str, ...], list[Candidate]] = {}
    for option in options:
        if gains[option.key] >= _WORTH:
            needed = {below for state in option.states for below in (state, *_NEEDS.get(state, ()))}
            clusters.setdefault(tuple(sorted(needed - reached)), []).append(option)
    ranked: list[NextTest] = []
    for missing, members in clusters.items():
        members = sorted(members, key=lambda one: -gains[one.key] / one.minutes)
        access = sum(0.5 * sum(states[state].minutes) for state in missing)
        shared = _cluster_rate(members, gains, access, unknown) if missing else 0.0
        for member in members:
            gain = gains[member.key]
            rate = gain / member.minutes if not missing else max(shared, gain / (access + member.minutes))
            rate = min(rate, gain / member.minutes)
            ranked.append(
                NextTest(
                    test=member.text,
                    check=member.check,
                    gain=gain,
                    minutes=member.minutes,
                    access=access,
                    states=member.states,
                    cluster=" ".join(missing),
                    rate=rate,
                    about=(),
                )
            )
    ranked.sort(key=lambda one: (-one.rate, -one.gain / one.minutes))
    by_text = {option.text: option for option in options}
    return tuple(replace(one, about=_decides(by_text[one.test], posterior, row)) for one in ranked[:most])


def _cluster_rate(
    members: Sequence[Candidate], gains: Mapping[str, float], access: float, unknown: float
) -> float:
    """Best rate of information that a cluster gives once it is opened."""
    gain, minutes, best = 0.0, access, 0.0
    for member in members:
        gain, minutes = min(gain + gains[member.key], unknown), minutes + member.minutes
        best = max(best, gain / minutes)
    return best


def _decides(member: Candidate, posterior: Posterior, row: int) -> tuple[str, ...]:
    """Causes whose probability the test changes most."""
    compiled, sets, mass = posterior.compiled, posterior.sets[row], posterior.mass[row]
    count = len(compiled.items)
    change: dict[str, float] = {}
    for chance in member.chances:
        positive = mass * chance
        moved = np.repeat((positive / positive.sum() - mass)[:, None], 3, axis=1)
        of_item = np.bincount(sets.ravel(), moved.ravel(), count + 1)[:count]
        for (code, _), value in zip(compiled.items, of_item, strict=True):
            change[code] = change.get(code, 0.0) + abs(float(value))
    best = sorted(change, key=lambda code: -change[code])[:3]
    return tuple(code for code in best if change[code] > 0.01)
