"""The network of the catalogue in the form in which the sums run: arrays over causes and nodes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wearline.catalogue.cause_model import (
    CauseNetwork,
    Comparison,
    NumericNode,
    Size,
    SymptomSize,
    WordNode,
)
from wearline.diagnosis.noisy_or import weights_of_chance

__all__ = ["AXLE_CAUSES", "VEHICLE_CAUSES", "Compared", "Compiled", "Effect", "compile_network"]

Floats = NDArray[np.float64]

VEHICLE_CAUSES = ("U1", "U2", "U3", "U4")
AXLE_CAUSES = ("V3", "V6")

_MOST = 0.98

_MARKED = 0.95
"""Greatest chance that a vehicle cause which shows is seen at one wheel end (expert judgement)."""


@dataclass(frozen=True, slots=True)
class Effect:
    """What one cause (or the leak) does to a numeric node.

    Parameters
    ----------
    item : int
        Cause; -1 for the leak, -2 - n for the n-th shared cause.
    weight : float
        Weight of its chance.
    middle, spread : float
        Size on the node's scale (logarithm on a log node).
    """

    item: int
    weight: float
    middle: float
    spread: float


@dataclass(frozen=True, slots=True)
class Compared:
    """A comparison across the axle as arrays.

    Parameters
    ----------
    node : Comparison
        Its data.
    weight : array, shape (K + 1,)
        Sum of the weights of each cause, the last 0.
    levels : array, shape (K + 1, L)
        Weight of each cause on each level of effect.
    leak_weight : float
        Weight of the leak.
    leak_levels : array, shape (L,)
        Weight of the leak on each level.
    shared_weight : array, shape (shared causes,)
        Weights of causes of the axle or vehicle.
    shared_levels : array, shape (shared causes, L)
        The same on each level.
    """

    node: Comparison
    weight: Floats
    levels: Floats
    leak_weight: float
    leak_levels: Floats
    shared_weight: Floats
    shared_levels: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Compiled:
    """The network as arrays.

    Parameters
    ----------
    network : CauseNetwork
        Where it comes from.
    items : tuple of (str, str)
        Cause and kind of each local hypothesis.
    prior : array, shape (K,), [1]
        Prior of each, before multipliers.
    shared : tuple of str
        Causes of vehicle and axle.
    nodes : tuple of str
        Numeric nodes first, then words.
    numeric : mapping of str to tuple of Effect
        Effects on the numeric nodes.
    weight : array, shape (J, K + 1)
        Summed weights of each cause on each node, the last column 0.
    leak : array, shape (J,)
        Weight of the leaks.
    shared_weight : array, shape (J, shared causes)
        Weights of the shared causes.
    exponent : array, shape (J,)
        1, or 0.5 for what is felt for the axle and stands at both ends.
    shown : array, shape (vehicle causes,), [1]
        Chance that a vehicle cause leaves marks at the wheel ends at all; the weights above hold where it
        does, so that marks missing at ten ends count once.
    compared : mapping of str to Compared
        Comparisons.
    exclusive : array of bool, shape (K + 1, K + 1)
        True for two kinds of the same cause.
    """

    network: CauseNetwork
    items: tuple[tuple[str, str], ...]
    prior: Floats
    shared: tuple[str, ...]
    nodes: tuple[str, ...]
    numeric: Mapping[str, tuple[Effect, ...]]
    weight: Floats
    leak: Floats
    shared_weight: Floats
    exponent: Floats
    shown: Floats
    compared: Mapping[str, Compared]
    exclusive: NDArray[np.bool_]

    @property
    def codes(self) -> tuple[str, ...]:
        """Codes of the causes that sit at a wheel end, each once."""
        return tuple(dict.fromkeys(code for code, _ in self.items))


_KEPT: dict[int, Compiled] = {}


def compile_network(network: CauseNetwork) -> Compiled:
    """Return the network as arrays, made once for each network.

    Parameters
    ----------
    network : CauseNetwork
        The network.

    Returns
    -------
    Compiled
        The arrays.
    """
    kept = _KEPT.get(id(network))
    if kept is None or kept.network is not network:
        _KEPT.clear()
        kept = _KEPT[id(network)] = _compile(network)
    return kept


def _compile(network: CauseNetwork) -> Compiled:
    items: list[tuple[str, str]] = []
    prior: list[float] = []
    for cause in network.causes.values():
        if cause.scope == "wheel end":
            for mode, share in network.modes.get(cause.code, {"": 1.0}).items():
                items.append((cause.code, mode))
                prior.append(cause.prior * share)
    shared = VEHICLE_CAUSES + AXLE_CAUSES
    numeric = {id: _effects(node, network, items, shared) for id, node in network.nodes.items()}
    names = (*network.nodes, *network.words)
    count = len(items)
    weight, leak, shared_weight = _summed(network, names, numeric, items, shared)
    exponent = np.array([0.5 if n in network.words and network.words[n].shared else 1.0 for n in names])
    shown, numeric, shared_weight = _with_marks(numeric, shared_weight, names)
    same = np.zeros((count + 1, count + 1), dtype=bool)
    for one, (code, _) in enumerate(items):
        for other, (code_other, _) in enumerate(items):
            same[one, other] = one != other and code == code_other
    return Compiled(
        network=network,
        items=tuple(items),
        prior=np.array(prior),
        shared=shared,
        nodes=names,
        numeric=numeric,
        weight=weight,
        leak=leak,
        shared_weight=shared_weight,
        exponent=exponent,
        shown=shown,
        compared={id: _compare(node, network, items, shared) for id, node in network.comparisons.items()},
        exclusive=same,
    )


def _summed(
    network: CauseNetwork,
    names: tuple[str, ...],
    numeric: Mapping[str, tuple[Effect, ...]],
    items: list[tuple[str, str]],
    shared: tuple[str, ...],
) -> tuple[Floats, Floats, Floats]:
    """Weights of every cause, of the leak and of the shared causes on every node."""
    weight, leak = np.zeros((len(names), len(items) + 1)), np.zeros(len(names))
    shared_weight = np.zeros((len(names), len(shared)))
    for row, name in enumerate(names):
        if name in numeric:
            for effect in numeric[name]:
                if effect.item >= 0:
                    weight[row, effect.item] += effect.weight
                elif effect.item == -1:
                    leak[row] += effect.weight
                else:
                    shared_weight[row, -2 - effect.item] += effect.weight
            continue
        word = network.words[name]
        weight[row, :-1] = [_weight(word.chance.get(code, 0.0)) for code, _ in items]
        leak[row] = _weight(_leak_of(word, network))
        shared_weight[row] = [_weight(word.chance.get(code, 0.0)) for code in shared]
    return weight, leak, shared_weight


def _with_marks(
    numeric: Mapping[str, tuple[Effect, ...]], weight: Floats, names: tuple[str, ...]
) -> tuple[Floats, dict[str, tuple[Effect, ...]], Floats]:
    """Split what a vehicle cause does to the nodes: whether it shows at all, and how often then at each end.

    Its greatest chance on any node is taken for the chance that it shows; given that, every chance is
    larger in proportion.
    """
    number = len(VEHICLE_CAUSES)
    chance = -np.expm1(-weight)
    shown = np.maximum(chance[:, :number].max(axis=0), 1e-3)
    weight = weight.copy()
    weight[:, :number] = weights_of_chance(np.minimum(chance[:, :number] / shown, _MARKED))
    with np.errstate(invalid="ignore", divide="ignore"):
        growth = np.where(chance > 0.0, weight / weights_of_chance(chance), 1.0)
    scaled = {
        name: tuple(
            replace(effect, weight=effect.weight * float(growth[names.index(name), -2 - effect.item]))
            if effect.item <= -2
            else effect
            for effect in effects
        )
        for name, effects in numeric.items()
    }
    return shown, scaled, weight


def _weight(chance: float) -> float:
    return float(weights_of_chance(np.array(chance)))


_UNLISTED = 0.25
"""Part of a symptom's leak that is an unlisted cause rather than scatter across the threshold; the scatter of
a measured number stands in its densities already (expert judgement)."""

_SEEN_LEAK = 0.002
"""Chance that a look finds what is not there, where the finding is the fault itself (expert judgement)."""


def _leak_of(word: WordNode, network: CauseNetwork) -> float:
    names = {word.id, word.symptom} - {""}
    if any(cause.seen_by in names for cause in network.causes.values() if cause.seen_by):
        return min(word.leak, _SEEN_LEAK)
    return word.leak


def _transformed(scale: str, middle: float) -> float:
    return float(np.log(middle)) if scale == "log" else middle


def _below(score: float) -> float:
    """Standard normal distribution of one number."""
    return 0.5 * math.erfc(-score / math.sqrt(2.0))


def _passes(scale: str, size: tuple[float, float], symptom: SymptomSize) -> float:
    """Share of a size beyond the symptom's threshold."""
    middle, spread = _transformed(scale, size[0]), size[1]
    limit = _transformed(scale, symptom.threshold)
    share = _below((middle - limit) / spread)
    if scale == "folded":
        return share + _below((-middle - limit) / spread)
    return share if symptom.above else 1.0 - share


def _own_sizes(sizes: tuple[Size, ...], code: str, mode: str, symptom: str) -> list[Size]:
    """Sizes of one cause on one symptom; those of its kind go before those of all kinds."""
    of_mode = [size for size in sizes if (size.cause, size.mode, size.symptom) == (code, mode, symptom)]
    return of_mode or [size for size in sizes if (size.cause, size.mode, size.symptom) == (code, "", symptom)]


def _pieces(
    node: NumericNode | Comparison, scale: str, network: CauseNetwork, code: str, mode: str
) -> list[tuple[float, float, float]]:
    """Chance, middle and spread of everything that one cause does to a node."""
    found = []
    for symptom, size in node.symptoms.items():
        cell = network.symptoms[symptom].chance.get(code, 0.0)
        own = _own_sizes(node.sizes, code, mode, symptom)
        if not own and cell:
            own = [Size(code, mode, symptom, size.middle, size.spread, None)]
        for one in own:
            chance = one.chance
            if chance is None:
                chance = min(cell / max(_passes(scale, (one.middle, one.spread), size), 1e-6), _MOST)
            if chance:
                found.append((chance, one.middle, one.spread))
    for one in _own_sizes(node.sizes, code, mode, ""):
        if one.chance:
            found.append((one.chance, one.middle, one.spread))
    return found


def _effects(
    node: NumericNode, network: CauseNetwork, items: list[tuple[str, str]], shared: tuple[str, ...]
) -> tuple[Effect, ...]:
    effects = []
    seen = {cause.seen_by for cause in network.causes.values()}
    for symptom, size in node.symptoms.items():
        leak = network.symptoms[symptom].leak
        chance = min(leak, _SEEN_LEAK) if symptom in seen else _UNLISTED * leak
        effects.append(Effect(-1, _weight(chance), _transformed(node.scale, size.middle), size.spread))
    who = [(item, code, mode) for item, (code, mode) in enumerate(items)]
    who += [(-2 - number, code, "") for number, code in enumerate(shared)]
    for item, code, mode in who:
        for chance, middle, spread in _pieces(node, node.scale, network, code, mode):
            effects.append(Effect(item, _weight(chance), _transformed(node.scale, middle), spread))
    return tuple(effects)


def _on_levels(levels: Floats, middle: float, spread: float) -> Floats:
    """Share of a size on each level of effect: the nearest by the normal curve, none on 'no effect'."""
    closeness = np.exp(-0.5 * ((levels - middle) / max(spread, 0.08)) ** 2)
    closeness[0] = 0.0
    closeness[np.argmin(np.where(levels == 0.0, np.inf, np.abs(levels - middle)))] += 1e-6
    result: Floats = closeness / closeness.sum()
    return result


def _compare(
    node: Comparison, network: CauseNetwork, items: list[tuple[str, str]], shared: tuple[str, ...]
) -> Compared:
    levels = np.array(node.levels)
    size = levels.size

    def rows(who: list[tuple[str, str]]) -> tuple[Floats, Floats]:
        weight, on = np.zeros(len(who)), np.zeros((len(who), size))
        for row, (code, mode) in enumerate(who):
            for chance, middle, spread in _pieces(node, "linear", network, code, mode):
                weight[row] += _weight(chance)
                on[row] += _weight(chance) * _on_levels(levels, middle, spread)
        return weight, on

    weight, on = rows([*items, ("", "")])
    shared_weight, shared_on = rows([(code, "") for code in shared])
    leak_weight, leak_on = 0.0, np.zeros(size)
    for symptom, one in node.symptoms.items():
        leak = _weight(network.symptoms[symptom].leak)
        leak_weight += leak
        leak_on += leak * _on_levels(levels, one.middle, one.spread)
    return Compared(node, weight, on, leak_weight, leak_on, shared_weight, shared_on)
