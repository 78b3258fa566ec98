"""Joint inference over wheel ends, axles and vehicles.

Within a wheel end sets of up to three causes are summed; the two ends of an axle meet through the levels of
what is compared across it; axles meet through the causes of the whole vehicle. Given the sets, every one of
these sums is exact; ``Effort`` says which sets of three are kept.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.diagnosis.compare import PairTables, pair_tables
from wearline.diagnosis.network import AXLE_CAUSES, VEHICLE_CAUSES, Compiled
from wearline.diagnosis.noisy_or import subsets
from wearline.diagnosis.observe import Observed
from wearline.diagnosis.whole import Circumstances, axle_log_likelihood, vehicle_log_likelihood
from wearline.diagnosis.workspace import Workspace, share_of, workspace

__all__ = ["Effort", "Posterior", "infer"]

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]

_TINY = 1e-300


@dataclass(frozen=True, slots=True)
class Effort:
    """How many sets of causes are summed.

    Parameters
    ----------
    candidates : int
        Causes out of which sets of three are made at each wheel end, the most probable first; as many as
        there are causes for all sets of three.
    kept : int
        Sets of two and three kept at each wheel end beside the empty set and every cause alone.
    chunk : int
        Axles worked at together.
    """

    candidates: int = 14
    kept: int = 110
    chunk: int = 24


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """What follows for n wheel ends.

    Parameters
    ----------
    compiled : Compiled
        The network.
    sets : array of int, shape (n, S, 3)
        Kept sets of causes at each wheel end, filled up with K.
    mass : array, shape (n, S), [1]
        Posterior of each set; a row sums to 1.
    items : array, shape (n, K), [1]
        Posterior of each cause and kind.
    axle : array, shape (n, axle causes), [1]
        Posterior of the causes of the axle, at each of its wheel ends.
    vehicle : array, shape (vehicles, vehicle causes), [1]
        Posterior of the causes of the vehicle.
    partner : array, shape (n, L, L, L)
        Message from the other end: likelihood of the comparisons under each level of this end.
    shared : array, shape (n, shared sets), [1]
        Posterior of the sets of shared causes.
    log_evidence : array, shape (vehicles,)
        Logarithm of the probability of all readings of a vehicle, up to a constant of the gauges.
    """

    compiled: Compiled
    sets: Rows
    mass: Floats
    items: Floats
    axle: Floats
    vehicle: Floats
    partner: Floats
    shared: Floats
    log_evidence: Floats

    def of_causes(self) -> Floats:
        """Return the posterior of each cause of a wheel end, its kinds taken together.

        Returns
        -------
        array, shape (n, causes), [1]
            In the order of ``compiled.codes``.
        """
        codes = self.compiled.codes
        column = np.array([codes.index(code) for code, _ in self.compiled.items])
        result = np.zeros((self.items.shape[0], len(codes)))
        for item, number in enumerate(column):
            result[:, number] += self.items[:, item]
        return result

    def healthy(self) -> Floats:
        """Return the probability that a wheel end has no cause of its own.

        Returns
        -------
        array, shape (n,), [1]
            Posterior of the empty set.
        """
        return self.mass[:, 0]


def infer(
    observed: Observed, compiled: Compiled, about: Circumstances, effort: Effort | None = None
) -> Posterior:
    """Return the posterior of all causes at any number of wheel ends.

    Parameters
    ----------
    observed : Observed
        Readings as likelihoods, n rows.
    compiled : Compiled
        The network.
    about : Circumstances
        Who is whose mate, vehicles, priors.
    effort : Effort, optional
        How many sets are summed.

    Returns
    -------
    Posterior
        Joint over every vehicle.

    Notes
    -----
    P(readings of an axle | shared causes C) = sum over levels a of the left and b of the right end of
    M_L(a) K(a, b) M_R(b), M(a) = sum over sets S of P(S) L(S, C) v(a | S), with v the chance of a level of
    force, temperature and wear and K the density of the two compared readings. The vehicle multiplies its
    axles for each set of vehicle causes, so that these are seen once.
    """
    effort = effort or Effort()
    work = workspace(compiled)
    shared = work.shared
    pairs = about.pairs
    size = observed.taken.shape[0]
    sets_of_vehicle, sets_of_axle = len(shared.of_vehicle), len(shared.of_axle)
    both = sets_of_vehicle * sets_of_axle
    axle_log = np.empty((pairs.shape[0], both))
    store = _Store.empty(size, len(compiled.items), effort, both, compiled)
    for first in range(0, pairs.shape[0], effort.chunk):
        part = slice(first, min(first + effort.chunk, pairs.shape[0]))
        axle_log[part] = _axles(observed, work, about, effort, pairs[part], store)
    axle_log += np.tile(about.log_prior_axle(shared), sets_of_vehicle)
    axle_log += axle_log_likelihood(observed, work, pairs)
    given = axle_log.reshape(-1, sets_of_vehicle, sets_of_axle)
    top = given.max(axis=2, keepdims=True)
    by_vehicle_set = (top + np.log(np.exp(given - top).sum(axis=2, keepdims=True)))[:, :, 0]
    vehicle_log = about.log_prior_vehicle(shared) + vehicle_log_likelihood(observed, work, about)
    np.add.at(vehicle_log, about.vehicle_of_pair, by_vehicle_set)
    peak = vehicle_log.max(axis=1, keepdims=True)
    vehicle_mass = np.exp(vehicle_log - peak)
    total = vehicle_mass.sum(axis=1, keepdims=True)
    vehicle_mass /= total
    pair_mass = vehicle_mass[about.vehicle_of_pair][:, :, None] * np.exp(given - by_vehicle_set[:, :, None])
    return store.posterior(compiled, work, about, vehicle_mass, pair_mass.reshape(-1, both), peak + np.log(total))


def _axles(
    observed: Observed, work: Workspace, about: Circumstances, effort: Effort, pairs: Rows, store: _Store
) -> Floats:
    """Log-likelihood of each axle under every set of shared causes; keeps what each end needs later."""
    ends = pairs.reshape(-1)
    local = _Local(observed, work, about, ends)
    tables = pair_tables(observed, work.compiled, pairs)
    sets, base = local.best_sets(effort, tables)
    weights, scale = local.under_shared(sets, base)
    levels, levels_slow = local.level_chances(sets)
    slow = work.shared.slow_release
    message = np.empty((ends.size, work.shared.member.shape[0], levels.shape[2]))
    for flat, mask in ((levels, ~slow), (levels_slow, slow)):
        message[:, mask] = np.matmul(weights[:, :, mask].transpose(0, 2, 1), flat)
    left, right = message[0::2], message[1::2]
    to_left, to_right = tables.to_left(right, work.shared), tables.to_right(left, work.shared)
    likelihood = np.maximum((left * to_left).sum(axis=2), _TINY)
    partner = np.empty_like(message)
    partner[0::2], partner[1::2] = to_left, to_right
    mass = np.empty_like(weights)
    for flat, mask in ((levels, ~slow), (levels_slow, slow)):
        mass[:, :, mask] = weights[:, :, mask] * np.matmul(flat, partner[:, mask].transpose(0, 2, 1))
    mass /= np.repeat(likelihood, 2, axis=0)[:, None, :]
    store.put(ends, sets, mass, partner)
    return np.log(likelihood) + scale[0::2, None] + scale[1::2, None]


class _Local:
    """Sums within the wheel ends of a chunk; the last row of ``observed`` padded with an empty one for -1."""

    def __init__(self, observed: Observed, work: Workspace, about: Circumstances, ends: Rows) -> None:
        self.work = work
        self.compiled = work.compiled
        real = ends >= 0
        safe = np.where(real, ends, 0)
        taken = observed.taken[safe] & real[:, None]
        self.used = np.flatnonzero(taken.any(axis=0))
        blank = ~taken[:, self.used]
        self.sound = np.where(blank, 1.0, observed.sound[safe][:, self.used])
        self.leak = np.where(blank, self.compiled.leak[self.used], observed.leak[safe][:, self.used])
        self.caused = np.where(
            blank[:, :, None], self.compiled.weight[self.used], observed.caused[safe][:, self.used]
        )
        self.shared = np.where(
            blank[:, :, None], self.compiled.shared_weight[self.used], observed.shared[safe][:, self.used]
        )
        self.exponent = self.compiled.exponent[self.used]
        self.odds = np.append(about.log_odds[safe], np.zeros((ends.size, 1)), axis=1)

    def best_sets(self, effort: Effort, tables: PairTables) -> tuple[Rows, Floats]:
        """Sets worth keeping at each end with the logarithm of prior times likelihood, comparisons left out."""
        work, count = self.work, len(self.compiled.items)
        pairs = self._pairs()
        guess = pairs + np.log(tables.alone(work.levels) + _TINY)
        number = self.odds.shape[0]
        candidates = self._candidates(guess, min(effort.candidates, count))
        triples = candidates[:, subsets(candidates.shape[1], 3)[_first_triple(candidates.shape[1]) :]]
        triples_log, triples_guess = self._dynamic(triples, tables)
        single = count + 1
        rows = np.concatenate(
            [np.broadcast_to(work.rows, (number, *work.rows.shape))[:, single:], triples], axis=1
        )
        log = np.concatenate([pairs[:, single:], triples_log], axis=1)
        order = np.concatenate([guess[:, single:], triples_guess], axis=1)
        kept = min(effort.kept, order.shape[1])
        best = np.argpartition(-order, kept - 1, axis=1)[:, :kept]
        rows = np.take_along_axis(rows, best[:, :, None], axis=1)
        log = np.take_along_axis(log, best, axis=1)
        first = np.broadcast_to(work.rows[:single], (number, single, 3))
        return np.concatenate([first, rows], axis=1), np.concatenate([pairs[:, :single], log], axis=1)

    def _pairs(self) -> Floats:
        """Logarithm of prior times likelihood of every set of up to two causes."""
        work, rows = self.work, self.work.rows
        result: Floats = self.odds[:, rows].sum(axis=2)
        for number, node in enumerate(self.used):
            caused = self.caused[:, number]
            mixed = caused[:, rows[:, 0]] + caused[:, rows[:, 1]] + self.leak[:, number, None]
            likelihood = work.absent[node] * self.sound[:, number, None] + work.share[node] * mixed
            result += self.exponent[number] * np.log(np.maximum(likelihood, _TINY))
        return result

    def _candidates(self, guess: Floats, count: int) -> Rows:
        """The most probable causes of each end, by sets of up to two."""
        rows, items = self.work.rows, len(self.compiled.items)
        mass = np.exp(guess - guess.max(axis=1, keepdims=True))
        member = np.zeros((rows.shape[0], items + 1))
        np.put_along_axis(member, rows, 1.0, axis=1)
        marginal = mass @ member[:, :items]
        best: Rows = np.argpartition(-marginal, min(count, items) - 1, axis=1)[:, :count]
        return np.sort(best, axis=1)

    def _sums(self, sets: Rows, number: int) -> tuple[Floats, Floats]:
        node = self.used[number]
        weight = self.compiled.weight[node]
        total = weight[sets].sum(axis=2) + self.compiled.leak[node]
        caused = self.caused[:, number]
        mixed = self.leak[:, number, None] + sum(
            np.take_along_axis(caused, sets[:, :, place], axis=1) for place in range(sets.shape[2])
        )
        return total, mixed

    def _dynamic(self, sets: Rows, tables: PairTables) -> tuple[Floats, Floats]:
        """The same for sets that differ from end to end."""
        result: Floats = sum(np.take_along_axis(self.odds, sets[:, :, place], axis=1) for place in range(3))
        for number in range(self.used.size):
            total, mixed = self._sums(sets, number)
            likelihood = np.exp(-total) * self.sound[:, number, None] + share_of(total) * mixed
            result += self.exponent[number] * np.log(np.maximum(likelihood, _TINY))
        exclusive = self.compiled.exclusive
        clash = exclusive[sets[:, :, 0], sets[:, :, 1]] | exclusive[sets[:, :, 1], sets[:, :, 2]]
        clash |= exclusive[sets[:, :, 0], sets[:, :, 2]]
        result[clash] = -1e300
        levels = {id: self._levels_of(id, sets, slow=False) for id in self.compiled.compared}
        return result, result + np.log(tables.alone(levels) + _TINY)

    def under_shared(self, sets: Rows, base: Floats) -> tuple[Floats, Floats]:
        """Prior times likelihood of each set under every set of shared causes, scaled at each end."""
        member = self.work.shared.member
        change = np.zeros((*sets.shape[:2], member.shape[0]))
        for number, node in enumerate(self.used):
            extra = member @ self.compiled.shared_weight[node]
            changed = np.flatnonzero(extra)
            if not changed.size:
                continue
            total, mixed = self._sums(sets, number)
            sound = self.sound[:, number, None]
            before = np.log(np.maximum(np.exp(-total) * sound + share_of(total) * mixed, _TINY))
            groups, back = np.unique(member[:, self.compiled.shared_weight[node] > 0.0], axis=0, return_inverse=True)
            causes = np.flatnonzero(self.compiled.shared_weight[node] > 0.0)
            for group, chosen in enumerate(groups):
                if not chosen.any():
                    continue
                weight = total + float(chosen @ self.compiled.shared_weight[node][causes])
                added = self.shared[:, number][:, causes] @ chosen
                after = np.exp(-weight) * sound + share_of(weight) * (mixed + added[:, None])
                gain = self.exponent[number] * (np.log(np.maximum(after, _TINY)) - before)
                change[:, :, np.flatnonzero(back == group)] += gain[:, :, None]
        log = base[:, :, None] + change
        scale = log.max(axis=(1, 2))
        return np.exp(log - scale[:, None, None]), scale

    def _levels_of(self, id: str, sets: Rows, *, slow: bool) -> Floats:
        compared = self.compiled.compared[id]
        total = compared.weight[sets].sum(axis=2) + compared.leak_weight
        on = compared.levels[sets].sum(axis=2) + compared.leak_levels
        if slow:
            number = len(VEHICLE_CAUSES) + AXLE_CAUSES.index("V3")
            total = total + compared.shared_weight[number]
            on = on + compared.shared_levels[number]
        chance: Floats = share_of(total)[:, :, None] * on
        chance[:, :, 0] += np.exp(-total)
        return chance

    def level_chances(self, sets: Rows) -> tuple[Floats, Floats]:
        """Chance of every combination of levels, without and with slow release of the axle."""
        result = []
        for slow in (False, True):
            force, heat, wear = (
                self._levels_of(id, sets, slow=slow) for id in ("force", "temperature", "wear")
            )
            joint = force[:, :, :, None, None] * heat[:, :, None, :, None] * wear[:, :, None, None, :]
            result.append(joint.reshape(*sets.shape[:2], -1))
        return result[0], result[1]


def _first_triple(count: int) -> int:
    """Row of the first set of three in ``subsets(count, 3)``."""
    return 1 + count + count * (count - 1) // 2


class _Store:
    """Results of all ends in the making."""

    def __init__(self, sets: Rows, mass: Floats, partner: Floats) -> None:
        self.sets = sets
        self.mass = mass
        self.partner = partner

    @classmethod
    def empty(cls, size: int, items: int, effort: Effort, both: int, compiled: Compiled) -> _Store:
        width = items + 1 + effort.kept
        levels = int(np.prod([len(one.node.levels) for one in compiled.compared.values()]))
        return cls(
            np.full((size, width, 3), items), np.zeros((size, width, both)), np.zeros((size, both, levels))
        )

    def put(self, ends: Rows, sets: Rows, mass: Floats, partner: Floats) -> None:
        real = ends >= 0
        width = sets.shape[1]
        self.sets[ends[real], :width] = sets[real]
        self.mass[ends[real], :width] = mass[real]
        self.partner[ends[real]] = partner[real]

    def posterior(
        self,
        compiled: Compiled,
        work: Workspace,
        about: Circumstances,
        vehicle_mass: Floats,
        pair_mass: Floats,
        log_evidence: Floats,
    ) -> Posterior:
        of_end = pair_mass[about.pair_of_end]
        mass = np.matmul(self.mass, of_end[:, :, None])[:, :, 0]
        mass /= mass.sum(axis=1, keepdims=True)
        count = len(compiled.items)
        items = np.zeros((mass.shape[0], count + 1))
        index = np.arange(mass.shape[0])[:, None]
        for place in range(3):
            np.add.at(items, (index, self.sets[:, :, place]), mass)
        member = work.shared.member
        in_set = np.zeros((len(work.shared.of_vehicle), len(VEHICLE_CAUSES)))
        for row, chosen in enumerate(work.shared.of_vehicle):
            in_set[row, list(chosen)] = 1.0
        sizes = [len(one.node.levels) for one in compiled.compared.values()]
        partner = np.matmul(of_end[:, None, :], self.partner)[:, 0].reshape(-1, *sizes)
        return Posterior(
            compiled=compiled,
            sets=self.sets,
            mass=mass,
            items=items[:, :count],
            axle=of_end @ member[:, len(VEHICLE_CAUSES) :],
            vehicle=vehicle_mass @ in_set,
            partner=partner,
            shared=of_end,
            log_evidence=log_evidence[:, 0],
        )
