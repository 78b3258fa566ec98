"""Joint inference over wheel ends, axles and vehicles.

Within a wheel end sets of up to three causes are summed; the two ends of an axle meet through the levels of
what is compared across it; axles meet through the causes of the whole vehicle. Given the sets, every one of
these sums is exact; ``Effort`` says which sets of three are kept.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.diagnosis.compare import ORDER, PairTables, pair_tables
from wearline.diagnosis.network import VEHICLE_CAUSES, Compiled
from wearline.diagnosis.observe import Observed
from wearline.diagnosis.whole import Circumstances, axle_log_likelihood, vehicle_log_likelihood
from wearline.diagnosis.workspace import Meeting, Workspace, share_of, workspace

__all__ = ["Effort", "Posterior", "infer"]

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]

_TINY = 1e-300


@dataclass(frozen=True, slots=True)
class Effort:
    """How many sets of causes are summed.

    Parameters
    ----------
    kept : int
        Sets of two and three kept at each wheel end beside the empty set and every cause alone. All sets of
        up to three are weighed first; ``Posterior.dropped`` says what share of their mass is not kept.
    chunk : int
        Axles worked at together.
    """

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
    number : array of int, shape (n, S)
        Their rows in the workspace.
    dropped : array, shape (n,), [1]
        Share of the mass of all sets of up to three causes that is not kept, without shared causes and with
        a mate that has no effect. ``items`` and ``healthy`` take these sets in at that weight, so the error
        for want of sets is a part of this.
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
    number: Rows
    dropped: Floats
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
        result: Floats = self.mass[:, 0] * (1.0 - self.dropped)
        return result


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
    return store.posterior(
        compiled, work, about, vehicle_mass, pair_mass.reshape(-1, both), peak + np.log(total)
    )


def _axles(
    observed: Observed, work: Workspace, about: Circumstances, effort: Effort, pairs: Rows, store: _Store
) -> Floats:
    """Log-likelihood of each axle under every set of shared causes; keeps what each end needs later."""
    ends = pairs.reshape(-1)
    local = _Local(observed, work, about, ends)
    tables = pair_tables(observed, work.compiled, pairs)
    sets, base, rest = local.best_sets(effort, tables)
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
    store.put(ends, sets, work.rows[sets], mass, partner, rest)
    result: Floats = np.log(likelihood) + scale[0::2, None] + scale[1::2, None]
    return result


class _Local:
    """Sums within the wheel ends of a chunk; an end of -1 is an empty one."""

    def __init__(self, observed: Observed, work: Workspace, about: Circumstances, ends: Rows) -> None:
        self.work = work
        self.compiled = work.compiled
        real = ends >= 0
        safe = np.where(real, ends, 0)
        taken = observed.taken[safe] & real[:, None]
        self.used = np.flatnonzero(taken.any(axis=0))
        compiled = self.compiled
        self.sound = np.where(taken, observed.sound[safe], 1.0)
        self.leak = np.where(taken, observed.leak[safe], compiled.leak)
        self.caused = np.where(taken[:, :, None], observed.caused[safe], compiled.weight)
        self.shared = np.where(taken[:, :, None], observed.shared[safe], compiled.shared_weight)
        self.log_odds = about.log_odds[safe]

    def log_sets(self) -> Floats:
        """Logarithm of prior odds times likelihood of every set, comparisons left out, sets first."""
        work, exponent = self.work, self.compiled.exponent[:, None]
        count, number = work.count, self.sound.shape[0]
        # wheel ends stand last, so that picking a cause or a pair picks neighbours in memory
        sound, leak = np.ascontiguousarray(self.sound.T), np.ascontiguousarray(self.leak.T)
        caused = np.ascontiguousarray(self.caused.transpose(1, 2, 0))
        alone = work.absent[:, :, None] * sound[:, None] + work.share[:, :, None] * (caused + leak[:, None])
        alone = exponent[:, :, None] * np.log(np.maximum(alone, _TINY))
        empty = alone[:, -1].copy()
        alone -= empty[:, None]
        single = self.log_odds.T + alone[:, :count].sum(axis=0)
        alone, flat = alone.reshape(-1, number), caused.reshape(-1, number)
        meet = work.pairs
        of_pair = self._meet(meet, flat, meet.parts, (sound, leak, empty))
        of_pair -= alone[meet.parts[:, 0]] + alone[meet.parts[:, 1]]
        rows = work.rows
        first_triple = rows.shape[0] - work.pairs_of_triple.shape[0]
        pairs, triples = rows[1 + count : first_triple], rows[first_triple:]
        extra = np.zeros((pairs.shape[0], number))
        extra[meet.sets] = np.add.reduceat(of_pair, meet.starts, axis=0)
        meet = work.triples
        own = meet.node[:, None] * (count + 1) + meet.causes
        of_triple = self._meet(meet, flat, own, (sound, leak, empty))
        for place in range(3):
            of_triple -= alone[own[:, place]] + of_pair[meet.parts[:, place]]
        result = np.zeros((rows.shape[0], number))
        result[1 : 1 + count] = single
        result[1 + count : first_triple] = single[pairs[:, 0]] + single[pairs[:, 1]] + extra
        last = result[first_triple:]
        for place in range(3):
            last += single[triples[:, place]]
            last += extra[work.pairs_of_triple[:, place]]
        last[meet.sets] += np.add.reduceat(of_triple, meet.starts, axis=0)
        result[~work.allowed] = -1e300
        result += empty.sum(axis=0)
        return result

    def _meet(
        self, meet: Meeting, flat: Floats, places: Rows, readings: tuple[Floats, Floats, Floats]
    ) -> Floats:
        """Logarithm of the likelihood of each node under the causes that meet there, less that of none."""
        sound, leak, empty = readings
        mixed = leak[meet.node]
        for place in range(places.shape[1]):
            mixed += flat[places[:, place]]
        mixed *= meet.share[:, None]
        mixed += meet.absent[:, None] * sound[meet.node]
        np.maximum(mixed, _TINY, out=mixed)
        np.log(mixed, out=mixed)
        mixed *= self.compiled.exponent[meet.node][:, None]
        mixed -= empty[meet.node]
        return mixed

    def best_sets(self, effort: Effort, tables: PairTables) -> tuple[Rows, Floats, Floats]:
        """Numbers of the sets worth keeping, log of prior times likelihood, mass of causes in the rest."""
        log = self.log_sets()
        guess = log + np.log(tables.alone(self.work.levels) + _TINY)
        single = 1 + self.work.count
        kept = min(effort.kept, guess.shape[0] - single)
        best = np.argpartition(-guess[single:].T, kept - 1, axis=1)[:, :kept] + single
        first = np.broadcast_to(np.arange(single), (log.shape[1], single))
        sets = np.concatenate([first, best], axis=1)
        mass = np.exp(guess - guess.max(axis=0))
        ends = np.arange(log.shape[1])[:, None]
        total = mass.sum(axis=0)
        mass[sets, ends] = 0.0
        rest = np.append(mass.sum(axis=0)[:, None], mass.T @ self.work.member, axis=1)
        return sets, log[sets, ends], rest / total[:, None]

    def _sums(self, sets: Rows, node: np.int64) -> tuple[Floats, Floats]:
        total = self.compiled.weight[node][sets].sum(axis=2) + self.compiled.leak[node]
        caused = self.caused[:, node]
        index = np.arange(sets.shape[0])[:, None, None]
        return total, self.leak[:, node, None] + caused[index, sets].sum(axis=2)

    def under_shared(self, numbers: Rows, base: Floats) -> tuple[Floats, Floats]:
        """Prior times likelihood of each set under every set of shared causes, scaled at each end."""
        member, compiled = self.work.shared.member, self.compiled
        sets = self.work.rows[numbers]
        change = np.zeros((member.shape[0], *numbers.shape))
        for node in self.used:
            causes = np.flatnonzero(compiled.shared_weight[node])
            if not causes.size:
                continue
            total, mixed = self._sums(sets, node)
            sound = self.sound[:, node, None]
            before = np.exp(-total) * sound + share_of(total) * mixed
            groups, back = np.unique(member[:, causes], axis=0, return_inverse=True)
            for group, chosen in enumerate(groups):
                if not chosen.any():
                    continue
                weight = total + float(chosen @ compiled.shared_weight[node][causes])
                added = self.shared[:, node][:, causes] @ chosen
                after = np.exp(-weight) * sound + share_of(weight) * (mixed + added[:, None])
                gain = np.log(np.maximum(after, _TINY) / np.maximum(before, _TINY))
                change[np.flatnonzero(back == group)] += compiled.exponent[node] * gain
        log = base[:, :, None] + change.transpose(1, 2, 0)
        scale = log.max(axis=(1, 2))
        return np.exp(log - scale[:, None, None]), scale

    def level_chances(self, numbers: Rows) -> tuple[Floats, Floats]:
        """Chance of every combination of levels, without and with slow release of the axle."""
        result = []
        for levels in (self.work.levels, self.work.levels_slow):
            force, heat, wear = (levels[id][numbers] for id in ORDER)
            joint = force[:, :, :, None, None] * heat[:, :, None, :, None] * wear[:, :, None, None, :]
            result.append(joint.reshape(*numbers.shape, -1))
        return result[0], result[1]


class _Store:
    """Results of all ends in the making."""

    def __init__(self, sets: Rows, mass: Floats, partner: Floats, items: int) -> None:
        self.sets = sets
        self.number = np.zeros(sets.shape[:2], dtype=np.int64)
        self.rest = np.zeros((sets.shape[0], 1 + items))
        self.mass = mass
        self.partner = partner

    @classmethod
    def empty(cls, size: int, items: int, effort: Effort, both: int, compiled: Compiled) -> _Store:
        width = items + 1 + effort.kept
        levels = int(np.prod([len(one.node.levels) for one in compiled.compared.values()]))
        return cls(
            np.full((size, width, 3), items),
            np.zeros((size, width, both)),
            np.zeros((size, both, levels)),
            items,
        )

    def put(self, ends: Rows, numbers: Rows, sets: Rows, mass: Floats, partner: Floats, rest: Floats) -> None:
        real = ends >= 0
        width = sets.shape[1]
        self.number[ends[real], :width] = numbers[real]
        self.rest[ends[real]] = rest[real]
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
        dropped = self.rest[:, 0]
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
            number=self.number,
            dropped=dropped,
            mass=mass,
            items=items[:, :count] * (1.0 - dropped)[:, None] + self.rest[:, 1:],
            axle=of_end @ member[:, len(VEHICLE_CAUSES) :],
            vehicle=vehicle_mass @ in_set,
            partner=partner,
            shared=of_end,
            log_evidence=log_evidence[:, 0],
        )
