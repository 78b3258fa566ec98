"""Evidence and priors of whole axles and vehicles: what is seen once, not at every wheel end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.catalogue.cause_model import WholeNode
from wearline.diagnosis.network import AXLE_CAUSES, VEHICLE_CAUSES, Compiled
from wearline.diagnosis.noisy_or import graded
from wearline.diagnosis.observe import Observed
from wearline.diagnosis.workspace import Shared, Workspace

__all__ = ["Circumstances", "axle_log_likelihood", "circumstances", "vehicle_log_likelihood"]

Floats = NDArray[np.float64]

_FLOOR = 5e-3
_ROOT_TWO_PI = float(np.sqrt(2.0 * np.pi))


@dataclass(frozen=True, slots=True, eq=False)
class Circumstances:
    """Who stands beside whom, and what is known before any reading.

    Parameters
    ----------
    pairs : array of int, shape (axles, 2)
        Rows of the two ends of each axle; -1 where there is none.
    pair_of_end : array of int, shape (n,)
        Axle of each row.
    vehicle_of_pair : array of int, shape (axles,)
        Vehicle of each axle.
    first_row : array of int, shape (vehicles,)
        First row of each vehicle.
    log_odds : array, shape (n, K)
        Logarithm of the prior odds of each cause of a wheel end.
    prior_axle : array, shape (axle causes,), [1]
        Priors of the causes of an axle.
    prior_vehicle : array, shape (vehicles, vehicle causes), [1]
        Priors of the causes of a vehicle.
    seen : mapping of str to array, shape (vehicles,)
        Word node of the vehicle to 1 bad, 0 good, NaN not looked at.
    """

    pairs: NDArray[np.int64]
    pair_of_end: NDArray[np.int64]
    vehicle_of_pair: NDArray[np.int64]
    first_row: NDArray[np.int64]
    log_odds: Floats
    prior_axle: Floats
    prior_vehicle: Floats
    seen: Mapping[str, Floats]

    def log_prior_axle(self, shared: Shared) -> Floats:
        """Return the logarithm of the prior of each set of axle causes.

        Parameters
        ----------
        shared : Shared
            The sets.

        Returns
        -------
        array, shape (sets of axle causes,)
            Logarithms.
        """
        return np.array([_log_prior(self.prior_axle, chosen) for chosen in shared.of_axle])

    def log_prior_vehicle(self, shared: Shared) -> Floats:
        """Return the logarithm of the prior of each set of vehicle causes.

        Parameters
        ----------
        shared : Shared
            The sets.

        Returns
        -------
        array, shape (vehicles, sets of vehicle causes)
            Logarithms.
        """
        log = [[_log_prior(prior, chosen) for chosen in shared.of_vehicle] for prior in self.prior_vehicle]
        return np.array(log) + shared.log_shown


def _log_prior(prior: Floats, chosen: Sequence[int]) -> float:
    present = np.zeros(prior.size, dtype=bool)
    present[list(chosen)] = True
    return float(np.log(np.maximum(np.where(present, prior, 1.0 - prior), 1e-300)).sum())


def circumstances(
    compiled: Compiled,
    mate: NDArray[np.int64],
    vehicle: NDArray[np.int64],
    factors: Floats,
    vehicle_factors: Floats,
    seen: Mapping[str, Floats],
) -> Circumstances:
    """Return the circumstances of a number of wheel ends.

    Parameters
    ----------
    compiled : Compiled
        The network.
    mate, vehicle : array of int, shape (n,)
        Row of the other end, -1 where there is none, and running number of the vehicle.
    factors : array, shape (n, K), [1]
        Multipliers of the priors at each wheel end.
    vehicle_factors : array, shape (vehicles, vehicle causes), [1]
        Multipliers of the priors of vehicle causes.
    seen : mapping of str to array, shape (vehicles,)
        What was seen of the vehicle.

    Returns
    -------
    Circumstances
        Pairs and priors.
    """
    rows = np.arange(mate.size)
    leaders = rows[(mate < 0) | (rows < mate)]
    pairs = np.stack([leaders, mate[leaders]], axis=1)
    pair_of_end = np.empty(mate.size, dtype=np.int64)
    for side in (0, 1):
        there = pairs[:, side] >= 0
        pair_of_end[pairs[there, side]] = np.flatnonzero(there)
    causes = compiled.network.causes
    prior = np.clip(compiled.prior * factors, 0.0, 0.6)
    of_vehicle = np.array([causes[code].prior for code in VEHICLE_CAUSES]) * vehicle_factors
    return Circumstances(
        pairs=pairs,
        pair_of_end=pair_of_end,
        vehicle_of_pair=vehicle[pairs[:, 0]],
        first_row=np.flatnonzero(np.r_[True, vehicle[1:] != vehicle[:-1]]),
        log_odds=np.log(np.maximum(prior, 1e-12)) - np.log1p(-prior),
        prior_axle=np.array([causes[code].prior for code in AXLE_CAUSES]),
        prior_vehicle=np.clip(of_vehicle, 0.0, 0.6),
        seen=seen,
    )


def vehicle_log_likelihood(observed: Observed, work: Workspace, about: Circumstances) -> Floats:
    """Return what is seen of whole vehicles under each set of vehicle causes.

    Parameters
    ----------
    observed : Observed
        Readings.
    work : Workspace
        Sets of shared causes.
    about : Circumstances
        What was seen.

    Returns
    -------
    array, shape (vehicles, sets of vehicle causes)
        Log-likelihood.
    """
    wholes, sets = work.compiled.network.wholes, work.shared.of_vehicle
    member = np.zeros((len(sets), len(VEHICLE_CAUSES)))
    for row, chosen in enumerate(sets):
        member[row, list(chosen)] = 1.0
    result = np.zeros((about.first_row.size, len(sets)))
    rise = wholes["usual_rise"]
    values = {
        "usual_wear": observed.usual_wear[about.first_row],
        "usual_rise": np.log(observed.usual_rise[about.first_row] / rise.middle),
    }
    for id, value in values.items():
        result += _log_whole(wholes[id], value, member, VEHICLE_CAUSES)
    for id, bad in about.seen.items():
        node = wholes[id]
        weight, _, _ = _sizes(node, VEHICLE_CAUSES)
        leak = -np.log1p(-node.leak)
        absent = np.exp(-(leak + member @ weight))
        chance = np.where(bad[:, None] > 0.5, 1.0 - absent, absent)
        result += np.where(np.isnan(bad)[:, None], 0.0, np.log(np.maximum(chance, 1e-12)))
    return result


def axle_log_likelihood(observed: Observed, work: Workspace, pairs: NDArray[np.int64]) -> Floats:
    """Return what is seen of whole axles under each set of shared causes.

    Parameters
    ----------
    observed : Observed
        Readings.
    work : Workspace
        Sets of shared causes.
    pairs : array of int, shape (axles, 2)
        Rows of the two ends.

    Returns
    -------
    array, shape (axles, shared sets)
        Log-likelihood of the threshold pressures: the smaller deviation of the two ends, where both lie
        on the same side, is the axle's.
    """
    ends = np.where(pairs >= 0, observed.threshold[np.maximum(pairs, 0)], np.nan)
    small = np.min(np.abs(ends), axis=1)
    same = np.sign(ends[:, 0]) == np.sign(ends[:, 1])
    value = np.where(same, small, np.where(np.isnan(small), np.nan, 0.0))
    member = work.shared.member[:, len(VEHICLE_CAUSES) :]
    return _log_whole(work.compiled.network.wholes["axle_threshold"], value, member, AXLE_CAUSES)


def _sizes(node: WholeNode, codes: tuple[str, ...]) -> tuple[Floats, Floats, Floats]:
    """Weight, middle and spread of each of the causes on a node."""
    weight, middle, spread = np.zeros(len(codes)), np.zeros(len(codes)), np.ones(len(codes))
    for size in node.sizes:
        if size.cause in codes:
            at = codes.index(size.cause)
            weight[at] = -np.log1p(-min(size.chance or 0.0, 1.0 - 1e-9))
            middle[at], spread[at] = size.middle, size.spread
    return weight, middle, spread


def _log_whole(node: WholeNode, value: Floats, member: Floats, codes: tuple[str, ...]) -> Floats:
    weight, middle, spread = _sizes(node, codes)
    x = np.nan_to_num(value)[:, None]

    def density(center: Floats | float, width: Floats | float) -> Floats:
        found = np.exp(-0.5 * ((x - center) / width) ** 2)
        if node.scale == "folded":
            found = found + np.exp(-0.5 * ((x + center) / width) ** 2)
        result: Floats = found / (_ROOT_TWO_PI * np.asarray(width)) + _FLOOR / (8.0 * float(np.max(spread)))
        return result

    total = member @ weight
    mixed = density(middle, spread) @ (member * weight).T
    likelihood = graded(total[None, :], mixed, density(node.sound[0], node.sound[1]))
    result: Floats = np.where(np.isnan(value)[:, None], 0.0, np.log(np.maximum(likelihood, 1e-300)))
    return result
