"""From judged readings to likelihoods: what each reading says of each cause, whatever the number of rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.assessment.columns import Columns, Flags, Numbers
from wearline.assessment.derive import median_of_vehicle
from wearline.assessment.judge import Judged
from wearline.catalogue.cause_model import NumericNode, WordNode
from wearline.diagnosis.network import Compiled
from wearline.uncertainty.normal import normal_distribution

__all__ = ["Heard", "Observed", "observe"]

_MISREAD = 2e-3
"""Share of readings that say nothing of the brake: a slip, a wrong place (status: expert judgement)."""

_SMALL_SHARE = 3e-3
_USUAL_DRAG_SHARE = 0.010
_AMBIENT = 288.15
"""[K] The air, where nobody wrote it down (status: expert judgement)."""

_LEAST_RISE = 10.0
_LEAST_WORN = 0.4e-3
_NEW_SPREAD = 0.2e-3
_ROOT_TWO_PI = float(np.sqrt(2.0 * np.pi))


@dataclass(frozen=True, slots=True)
class Heard:
    """What stands beside the columns of readings.

    Parameters
    ----------
    noticed : sequence of tuple of str
        Words of driver and technician for each row.
    notes : sequence of str
        Note of each row.
    chamber_size : sequence of str
        Chamber marking of each row, empty where not read.
    """

    noticed: Sequence[tuple[str, ...]]
    notes: Sequence[str]
    chamber_size: Sequence[str]


@dataclass(frozen=True, slots=True)
class Observed:
    """Readings of n wheel ends as likelihoods.

    Parameters
    ----------
    taken : array of bool, shape (n, J)
        Which nodes were measured or seen.
    sound, leak : array, shape (n, J)
        Density when nothing acts, and weighted density of the leak.
    caused : array, shape (n, J, K + 1)
        Weighted density of each cause, the last column 0.
    shared : array, shape (n, J, shared causes)
        Weighted density of causes of axle and vehicle.
    compared : mapping of str to (array, array), each shape (n,)
        Logarithm of the ratio to what is expected, and its standard uncertainty; NaN where not taken.
    value : mapping of str to array, shape (n,)
        Numeric nodes in their unit, for people; NaN where not taken.
    usual_wear, usual_rise : array, shape (n,)
        Vehicle's usual wear against its peers and temperature rise; NaN where unknown.
    threshold : array, shape (n,), [kPa]
        Threshold pressure against the vehicle's usual.
    """

    taken: NDArray[np.bool_]
    sound: Numbers
    leak: Numbers
    caused: Numbers
    shared: Numbers
    compared: Mapping[str, tuple[Numbers, Numbers]]
    value: Mapping[str, Numbers]
    usual_wear: Numbers
    usual_rise: Numbers
    threshold: Numbers


def observe(judged: Judged, compiled: Compiled, heard: Heard) -> Observed:
    """Turn judged readings into likelihoods.

    Parameters
    ----------
    judged : Judged
        Columns of readings and what follows from them.
    compiled : Compiled
        The network.
    heard : Heard
        Words and notes.

    Returns
    -------
    Observed
        Likelihoods; a reading that was not taken has 1 everywhere and so drops out.

    Notes
    -----
    A reading x with standard uncertainty u has the density N(x; m, s^2 + u^2) under an effect of size m and
    spread s, on the logarithm for a log node; to every density stands the share of misread values, so that
    one wild number cannot decide alone. Readings void by a slip are left out.
    """
    columns = judged.columns.without(judged.doubts.inch_slip)
    count, nodes = columns.n, len(compiled.nodes)
    width = len(compiled.items) + 1
    taken = np.zeros((count, nodes), dtype=bool)
    sound, leak = np.ones((count, nodes)), np.tile(compiled.leak, (count, 1))
    caused = np.tile(compiled.weight, (count, 1, 1))
    shared = np.tile(compiled.shared_weight, (count, 1, 1))
    values, shown = _node_values(columns, judged), {}
    for row, name in enumerate(compiled.nodes):
        if name in compiled.network.nodes:
            node = compiled.network.nodes[name]
            value, u = values[name]
            densities = _Densities(node, value, u, columns, judged)
            shown[name] = value
            taken[:, row] = densities.taken
            if densities.taken.any():
                _fill_numeric(row, name, densities, compiled, (sound, leak, caused, shared), width)
        else:
            there, known = _word(compiled.network.words[name], columns, judged, heard)
            taken[:, row] = known
            if known.any():
                bad = np.where(known, there, 1.0)
                sound[:, row] = np.where(known, 1.0 - there, 1.0)
                leak[:, row] *= bad
                caused[:, row] *= bad[:, None]
                shared[:, row] *= bad[:, None]
    compared, usual_wear, usual_rise = _compared(columns, judged)
    observed = Observed(
        taken, sound, leak, caused, shared, compared, shown, usual_wear, usual_rise, _threshold(columns)
    )
    _leave_out_needless(observed, compiled)
    return observed


def _fill_numeric(
    row: int,
    name: str,
    densities: _Densities,
    compiled: Compiled,
    arrays: tuple[Numbers, Numbers, Numbers, Numbers],
    width: int,
) -> None:
    sound, leak, caused, shared = arrays
    known = densities.taken
    count = known.size
    sound[:, row] = np.where(known, densities.sound(), 1.0)
    leaks = np.zeros(count)
    by_item, by_shared = np.zeros((count, width)), np.zeros((count, shared.shape[2]))
    for effect in compiled.numeric[name]:
        middle: float | Numbers = effect.middle
        if name == "end_antisymmetric" and effect.item >= 0 and compiled.items[effect.item][0] == "G1":
            middle = densities.wedge_of_play(effect.middle)
        density = effect.weight * densities.at(middle, effect.spread)
        if effect.item >= 0:
            by_item[:, effect.item] += density
        elif effect.item == -1:
            leaks += density
        else:
            by_shared[:, -2 - effect.item] += density
    leak[known, row] = leaks[known]
    caused[known, row] = by_item[known]
    shared[known, row] = by_shared[known]


class _Densities:
    """Densities of one numeric node at every row."""

    def __init__(
        self, node: NumericNode, value: Numbers, u: Numbers, columns: Columns, judged: Judged
    ) -> None:
        self.node = node
        self.judged = judged
        self.ranges = [(columns.says(node.id, word), ends) for word, ends in node.words.items()]
        self.by_word = np.zeros(columns.n, dtype=bool)
        for mask, _ in self.ranges:
            self.by_word |= mask & np.isnan(value)
        self.taken = ~np.isnan(value) | self.by_word
        safe = np.where(np.isnan(value), node.sound[0] or 1.0, value)
        if node.scale == "log":
            least = 1e-3 * node.sound[0]
            self.x = np.log(np.maximum(safe, least))
            self.u = np.nan_to_num(u) / np.maximum(safe, 10.0 * least)
        else:
            self.x = np.abs(safe) if node.scale == "folded" else safe
            self.u = np.nan_to_num(u)
        widest = max(
            [node.sound[1], *(s.spread for s in node.symptoms.values()), *(s.spread for s in node.sizes)]
        )
        self.floor = _MISREAD / (8.0 * widest)

    def sound(self) -> Numbers:
        middle: float | Numbers = self.node.sound[0]
        if self.node.scale == "log":
            middle = np.log(middle)
        if self.node.id == "total_travel":
            # the middle stands for the generic design with 0.762 mm a side
            middle = middle + np.log(self.judged.design.clearance_per_side / 0.762e-3)
        return self.at(middle, self.node.sound[1])

    def wedge_of_play(self, usual: float) -> Numbers:
        """Wedge that worn guides leave, from the play where it was measured [mm]."""
        explained = 1e3 * self.judged.derived.taper_explained_by_play
        result: Numbers = np.where(np.isnan(explained), usual, np.clip(0.85 * explained, 0.8, 5.0))
        return result

    def at(self, middle: float | Numbers, spread: float) -> Numbers:
        wide = np.hypot(spread, self.u)
        density = np.exp(-0.5 * ((self.x - middle) / wide) ** 2) / (_ROOT_TWO_PI * wide)
        if self.node.scale == "folded":
            density = density + np.exp(-0.5 * ((self.x + middle) / wide) ** 2) / (_ROOT_TWO_PI * wide)
        density = density + self.floor
        if self.by_word.any():
            for mask, (low, high) in self.ranges:
                rows = mask & self.by_word
                if rows.any():
                    ends = np.log(np.maximum([low, high], 1e-6))
                    share = np.diff(normal_distribution((ends - np.mean(middle)) / spread))[0]
                    density = np.where(rows, share + _MISREAD / 4.0, density)
        result: Numbers = density
        return result


def _node_values(columns: Columns, judged: Judged) -> dict[str, tuple[Numbers, Numbers]]:
    """Value and standard uncertainty of every numeric node in its unit."""
    derived = judged.derived
    pair = derived.pair

    def reading(name: str, factor: float) -> tuple[Numbers, Numbers]:
        return columns.value(name) * factor, columns.uncertainty(name) * factor

    def relative(name: str) -> tuple[Numbers, Numbers]:
        value, u = columns.value(name), columns.uncertainty(name)
        usual = median_of_vehicle(value, columns.vehicle, least=3)
        with np.errstate(invalid="ignore", divide="ignore"):
            return value / usual, u / usual

    free = ~derived.stuck
    found = {
        "mean_difference": (1e3 * pair.mean_difference, 1e3 * pair.u_mean_difference),
        "end_antisymmetric": (1e3 * np.abs(pair.end_antisymmetric), 1e3 * pair.u_end),
        "end_symmetric": (1e3 * np.abs(pair.end_symmetric), 1e3 * pair.u_end),
        "top_antisymmetric": (1e3 * np.abs(pair.top_antisymmetric), 1e3 * pair.u_top),
        "top_symmetric": (1e3 * np.abs(pair.top_symmetric), 1e3 * pair.u_top),
        "brake_drag": _drag(columns, judged),
        "indicator": _indicator(columns, judged),
        "adjuster_torque": relative("adjuster_torque"),
        "fastener_torque": relative("fastener_torque"),
        "slide": reading("slide", 1.0),
        "rotor_crack_length": reading("rotor_crack_length", 100.0),
    }
    for name in ("tangential_play", "radial_play"):
        value, u = reading(name, 1e3)
        found[name] = (np.where(free, value, np.nan), u)
    for name in (
        "total_travel",
        "rotor_runout",
        "rotor_thickness_variation",
        "rotor_scoring",
        "bearing_end_play",
        "hub_face_runout",
        "tappet_step",
        "guide_clearance",
    ):
        found[name] = reading(name, 1e3)
    return found


def _drag(columns: Columns, judged: Judged) -> tuple[Numbers, Numbers]:
    share = np.maximum(judged.derived.drag_share, _SMALL_SHARE)
    usual = median_of_vehicle(share, columns.vehicle, least=3)
    usual = np.where(
        np.isnan(usual), _USUAL_DRAG_SHARE, np.clip(usual, _SMALL_SHARE, 2.0 * _USUAL_DRAG_SHARE)
    )
    return share / usual, judged.derived.u_drag_share / usual


def _indicator(columns: Columns, judged: Judged) -> tuple[Numbers, Numbers]:
    derived = judged.derived
    gap = 100.0 * (derived.indicator_reading - derived.indicator_implied_outer)
    u = np.where(
        np.isnan(columns.value("wear_indicator")),
        columns.uncertainty("wear_electronic"),
        columns.uncertainty("wear_indicator"),
    )
    unknown_rotor = np.where(np.isnan(columns.value("rotor_thickness")), 8.0, 0.0)
    return gap, np.hypot(100.0 * u, unknown_rotor)


def _word(node: WordNode, columns: Columns, judged: Judged, heard: Heard) -> tuple[Numbers, Flags]:
    """Probability that the finding is there, and where it was looked for."""
    if node.kind == "counted":
        value = columns.value(node.field)
        return (np.nan_to_num(value) > 0.5).astype(float), ~np.isnan(value)
    if node.kind == "spread":
        spread = columns.spread.get((node.field, ""), np.full(columns.n, np.nan))
        return (np.nan_to_num(spread) > 4.0 * columns.uncertainty(node.field)).astype(float), ~np.isnan(
            spread
        )
    if node.kind == "below limit":
        value, u = columns.value(node.field), columns.uncertainty(node.field)
        limit = judged.limits.values("rotor_min")
        score = (limit - np.nan_to_num(value)) / np.maximum(np.nan_to_num(u), 1e-6)
        return normal_distribution(score), ~np.isnan(value) & ~np.isnan(limit)
    if node.kind == "differs":
        return _differs(columns, heard.chamber_size)
    if node.kind == "doubted":
        there = judged.doubts.plate_counted.copy()
        for mask in judged.doubts.inch_slip.values():
            there |= mask
        return there.astype(float), np.ones(columns.n, dtype=bool)
    bad, good = np.zeros(columns.n, dtype=bool), np.zeros(columns.n, dtype=bool)
    for field, words in node.bad.items():
        bad |= columns.says(field, *words)
    for field, words in node.good.items():
        good |= columns.says(field, *words)
    if node.noticed:
        words_here = np.array([any(word in node.noticed for word in words) for words in heard.noticed])
        asked = _of_vehicle(np.array([bool(words) for words in heard.noticed]), columns.vehicle)
        bad, good = bad | words_here, good | asked
    if node.notes:
        bad |= np.array([any(phrase in note.lower() for phrase in node.notes) for note in heard.notes])
    return bad.astype(float), bad | good


def _of_vehicle(flags: Flags, vehicle: NDArray[np.int64]) -> Flags:
    """True at every row of a vehicle that has it at any row."""
    some = np.zeros(int(vehicle.max()) + 1 if vehicle.size else 0, dtype=bool)
    np.logical_or.at(some, vehicle, flags)
    return some[vehicle]


def _differs(columns: Columns, sizes: Sequence[str]) -> tuple[Numbers, Flags]:
    """Where a marking differs from that of the mate; the end that the rest agrees with is right."""
    names = np.array([str(size).strip() for size in sizes])
    here = names != ""
    other = np.where(columns.mate >= 0, names[columns.mate], "")
    known = here & (other != "")
    unlike = known & (names != other)
    share = np.zeros(columns.n)
    for row in np.flatnonzero(unlike):
        same = columns.vehicle == columns.vehicle[row]
        same[[row, columns.mate[row]]] = False
        agree, mate = np.sum(names[same] == names[row]), np.sum(names[same] == other[row])
        share[row] = 0.5 if agree == mate else 0.95 if mate > agree else 0.05
    return share, known


def _compared(
    columns: Columns, judged: Judged
) -> tuple[dict[str, tuple[Numbers, Numbers]], Numbers, Numbers]:
    derived = judged.derived
    with np.errstate(invalid="ignore", divide="ignore"):
        force, u_force = _force(columns)
        both = np.isnan(force) | np.isnan(columns.of_mate(force))
        force = np.where(both, np.nan, 0.5 * (force - columns.of_mate(force)))
        temperature = columns.value("temperature")
        rise = np.maximum(temperature - _AMBIENT, _LEAST_RISE)
        usual_rise = median_of_vehicle(np.log(rise), columns.vehicle, least=1)
        heat = np.log(rise) - usual_rise
        u_heat = columns.uncertainty("temperature") / rise
        worn = np.maximum(
            judged.design.friction_new - 0.5 * (derived.inner.mean + derived.outer.mean), _LEAST_WORN
        )
        worn = np.where(np.isnan(derived.pair.mean_difference), np.nan, worn)
        u_worn = np.hypot(0.5 * derived.pair.u_mean_difference, _NEW_SPREAD) / worn
        against = np.log(worn / (columns.distance * columns.peer_wear))
        known = np.isnan(against)
        ratio = np.where(known, np.log(worn), against)
        usual = median_of_vehicle(ratio, columns.vehicle, least=1)
        usual_wear = np.where(known, np.nan, usual)
    return (
        {
            "force": (force, u_force),
            "temperature": (heat, u_heat),
            "wear": (ratio - usual, u_worn),
        },
        usual_wear,
        np.exp(usual_rise),
    )


def _force(columns: Columns) -> tuple[Numbers, Numbers]:
    """Logarithm of the brake force: at 4 bar, else the highest, else at 2 bar."""
    value, u = np.full(columns.n, np.nan), np.full(columns.n, np.nan)
    for name in ("brake_force", "brake_force_4bar", "brake_force_2bar"):
        here, u_here = columns.value(name), columns.uncertainty(name)
        use = np.isnan(value) & (here > 0.0)
        value, u = np.where(use, here, value), np.where(use, u_here, u)
    return np.log(value), u / value


def _threshold(columns: Columns) -> Numbers:
    value = columns.value("pressure_threshold")
    return (value - median_of_vehicle(value, columns.vehicle, least=4)) * 1e-3


def _leave_out_needless(observed: Observed, compiled: Compiled) -> None:
    """Take out what another reading already says: pull beside the forces, free turning beside the drag."""
    for row, name in enumerate(compiled.nodes):
        word = compiled.network.words.get(name)
        if word is None or not word.unless:
            continue
        if word.unless in observed.compared:
            also = ~np.isnan(observed.compared[word.unless][0])
        else:
            also = observed.taken[:, compiled.nodes.index(word.unless)]
        drop = observed.taken[:, row] & also
        observed.taken[drop, row] = False
        observed.sound[drop, row] = 1.0
        observed.leak[drop, row] = compiled.leak[row]
        observed.caused[drop, row] = compiled.weight[row]
        observed.shared[drop, row] = compiled.shared_weight[row]
