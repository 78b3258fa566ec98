"""From verdicts, words and derived columns to findings: what is wrong, suspicious or worth a word.

Every rule here is a mask over rows. Sentences are made only for one vehicle, in ``wording``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from wearline.assessment.columns import Columns, Flags, Numbers
from wearline.assessment.derive import DerivedColumns
from wearline.assessment.plausibility import Doubts
from wearline.assessment.verdicts import BEYOND, UNDECIDED, ColumnVerdict, LimitSet
from wearline.catalogue.model import FieldSpec, Meaning
from wearline.catalogue.release import ReleaseRules
from wearline.records.readings import CORNERS
from wearline.uncertainty.intervals import EQUALITY

__all__ = ["ColumnFinding", "FindingTable", "JudgedColumns", "find", "void_rows"]


@dataclass(frozen=True, slots=True)
class ColumnFinding:
    """One kind of finding over all rows.

    Parameters
    ----------
    id : str
        As in ``results.Finding``.
    mask : array of bool, shape (n,)
        Where it is true.
    weight : {"fault", "look", "note"}
        How much it matters.
    check, spot, limit_id : str
        What it comes from.
    verdict : ColumnVerdict or None
        The verdict behind it, for measured values.
    """

    id: str
    mask: Flags
    weight: str
    check: str = ""
    spot: str = ""
    limit_id: str = ""
    verdict: ColumnVerdict | None = None


@dataclass(frozen=True, slots=True)
class FindingTable:
    """All findings, to be asked by pattern.

    Parameters
    ----------
    n : int
        Rows.
    items : list of ColumnFinding
        The findings.
    """

    n: int
    items: list[ColumnFinding] = field(default_factory=list)

    def add(self, id: str, mask: Flags, weight: str, *, check: str = "") -> Flags:
        """Add a composite finding and return its mask.

        Parameters
        ----------
        id : str
            Its id.
        mask : array of bool, shape (n,)
            Where it is true.
        weight : str
            ``"fault"``, ``"look"`` or ``"note"``.
        check : str
            The check it is shown with.

        Returns
        -------
        array of bool, shape (n,)
            The mask.
        """
        self.items.append(ColumnFinding(id, mask, weight, check))
        return mask

    def where(self, patterns: Iterable[str], *, directly: bool = False) -> Flags:
        """Return where any of some findings is true.

        Parameters
        ----------
        patterns : iterable of str
            Ids, or ids with a limit as ``"total_travel:beyond:cl_max"``. Notes never match.
        directly : bool
            Whether readings are compared with the limit as they stand.

        Returns
        -------
        array of bool, shape (n,)
            Mask.
        """
        wanted = frozenset(patterns)
        result = np.zeros(self.n, dtype=bool)
        for item in self.items:
            if item.weight == "note" and not item.id.startswith("forecast"):
                continue
            if item.id in wanted or f"{item.id}:{item.limit_id}" in wanted:
                as_it_stands = directly and item.verdict is not None and item.id.endswith(":beyond")
                result |= item.verdict.directly if as_it_stands and item.verdict else item.mask
        return result


@dataclass(frozen=True, slots=True)
class JudgedColumns:
    """One quantity with its verdicts.

    Parameters
    ----------
    check, spot, label, unit : str
        As in ``results.JudgedReading``.
    value, u : array, shape (n,), [SI]
        Column and standard uncertainty.
    derived : bool
        Whether it was computed from other readings.
    verdicts : list of ColumnVerdict
        One per limit; empty where no limit applies.
    void : array of bool, shape (n,)
        Where the reading says nothing.
    """

    check: str
    spot: str
    label: str
    unit: str
    value: Numbers
    u: Numbers
    derived: bool
    verdicts: list[ColumnVerdict]
    void: Flags


def _slack(limit: Numbers | float) -> Numbers:
    """Equal means closer than 1e-9 of the limit, here as everywhere: no verdict hangs on binary dust."""
    return np.asarray(EQUALITY * np.abs(limit))


def _over(values: Numbers, limit: Numbers | float) -> Flags:
    return np.asarray(values > limit + _slack(limit))


def _at_least(values: Numbers, limit: Numbers | float) -> Flags:
    return np.asarray(values >= limit - _slack(limit))


def void_rows(
    columns: Columns, derived: DerivedColumns, limits: LimitSet, doubts: Doubts
) -> dict[str, Flags]:
    """Return which readings say nothing, by field.

    Parameters
    ----------
    columns, derived : Columns, DerivedColumns
        Readings and what follows from them.
    limits : LimitSet
        Limits in force.
    doubts : Doubts
        Readings that look like a slip.

    Returns
    -------
    dict of str to array of bool, shape (n,)
        Fields without an entry are never void.

    Notes
    -----
    Play reads zero on a calliper that is stuck on its pins and then means nothing. Run-out is corrupted by
    a loose bearing, and a run-out that does not repeat from turn to turn is not run-out of the rotor; the
    spread of repeats is held against the expanded uncertainty (k = 2) of one reading.
    """
    loose = _over(columns.value("bearing_end_play"), limits.values("hub_play_max"))
    spread = columns.spread.get(("rotor_runout", ""), np.full(columns.n, np.nan))
    # The uncertainty of the mean of the repeats is smaller than that of one reading, never by more than
    # a factor of about 1.3, so that this test is on the strict side.
    unsteady = spread > 2.0 * columns.uncertainty("rotor_runout")
    void = {"tangential_play": derived.stuck, "radial_play": derived.stuck, "rotor_runout": loose | unsteady}
    for name, mask in doubts.inch_slip.items():
        void[name] = void.get(name, np.zeros(columns.n, dtype=bool)) | mask
    return void


def find(
    columns: Columns,
    derived: DerivedColumns,
    judged: list[JudgedColumns],
    fields: Mapping[str, FieldSpec],
    limits: LimitSet,
    rules: ReleaseRules,
    *,
    doubts: Doubts,
    next_wheels_off: float,
) -> FindingTable:
    """Collect every finding.

    Parameters
    ----------
    columns, derived : Columns, DerivedColumns
        Readings and what follows from them.
    judged : list of JudgedColumns
        Verdicts.
    fields : mapping of str to FieldSpec
        What words mean.
    limits : LimitSet
        Limits in force.
    rules : ReleaseRules
        Thresholds.
    doubts : Doubts
        Readings that look like a slip.
    next_wheels_off : float
        Distance to the next planned removal of the wheels [m].

    Returns
    -------
    FindingTable
        All findings.
    """
    table = FindingTable(columns.n)
    _from_verdicts(table, judged, doubts)
    _doubted(table, doubts)
    _from_words(table, columns, fields)
    _void(table, columns, derived, judged)
    _wedges(table, columns, derived, limits, rules)
    _guides(table, columns, derived, limits, rules)
    _heat_and_force(table, columns, derived, limits, rules)
    _wear(table, columns, derived, limits, rules, next_wheels_off)
    defective = np.zeros(columns.n, dtype=bool)
    for rule in rules.defects:
        defective |= table.where(rule.findings, directly=rule.directly)
    table.add("brake:defective", defective, "fault")
    return table


_SAID_OTHERWISE = frozenset(
    {
        "mean_difference",
        "indicator_difference",
        "brake_drag_share",
        "brake_drag_mate_ratio",
        "temperature_difference",
        "imbalance",
    }
)
"""Derived checks whose composite finding says which way, and what it means."""


def _doubted(table: FindingTable, doubts: Doubts) -> None:
    table.add("pads:plate doubted", doubts.plate_counted, "look", check="pad_thinnest")
    slipped = np.zeros(table.n, dtype=bool)
    for mask in doubts.inch_slip.values():
        slipped = slipped | mask
    table.add("pads:unit doubted", slipped, "look", check="pad_inner")


def _from_verdicts(table: FindingTable, judged: list[JudgedColumns], doubts: Doubts) -> None:
    for column in judged:
        if column.spot in CORNERS or column.check in _SAID_OTHERWISE:
            continue  # the thinnest corner, or a composite finding, speaks for them
        for verdict in column.verdicts:
            note = verdict.limit.consequence == "note"
            beyond = verdict.codes == BEYOND
            weight = "note" if note else "look" if verdict.limit.consequence == "look" else "fault"
            table.items.append(
                ColumnFinding(
                    f"{column.check}:beyond",
                    beyond,
                    weight,
                    column.check,
                    column.spot,
                    verdict.limit.id,
                    verdict,
                )
            )
            if not note:
                undecided = verdict.codes == UNDECIDED
                if column.check == "pad_thinnest":
                    undecided &= ~doubts.plate_counted  # the doubt has a finding of its own
                table.items.append(
                    ColumnFinding(
                        f"{column.check}:undecided",
                        undecided,
                        "look",
                        column.check,
                        column.spot,
                        verdict.limit.id,
                        verdict,
                    )
                )


def _from_words(table: FindingTable, columns: Columns, fields: Mapping[str, FieldSpec]) -> None:
    for name, codes in columns.words.items():
        for index, word in enumerate(columns.vocabulary[name]):
            meaning = fields[name].words[word]
            if meaning in (Meaning.FAULT, Meaning.LOOK):
                weight = "fault" if meaning is Meaning.FAULT else "look"
                table.items.append(ColumnFinding(f"{name}={word}", codes == index, weight, name))


def _void(
    table: FindingTable, columns: Columns, derived: DerivedColumns, judged: list[JudgedColumns]
) -> None:
    stuck = np.zeros(columns.n, dtype=bool)
    for name in ("tangential_play", "radial_play"):
        stuck = stuck | (derived.stuck & columns.taken(name))
    table.add("play:void", stuck, "look", check="tangential_play")
    for column in judged:
        if column.check == "rotor_runout":
            table.add("runout:void", column.void & ~np.isnan(column.value), "look", check=column.check)


def _wedges(
    table: FindingTable, columns: Columns, derived: DerivedColumns, limits: LimitSet, rules: ReleaseRules
) -> None:
    tilt = table.add(
        "wedge:tilt",
        _at_least(np.abs(derived.pair.end_antisymmetric), rules.number("wedge_antisymmetric")),
        "look",
        check="taper_end_to_end",
    )
    table.add(
        "wedge:seats",
        _at_least(np.abs(derived.pair.end_symmetric), rules.number("wedge_symmetric")),
        "look",
        check="taper_end_to_end",
    )
    twice = 2.0 * derived.taper_excess_u
    table.add("wedge:excess", tilt & (derived.taper_excess > twice), "look", check="taper_end_to_end")
    # Play as a new guide has it explains a wedge too, and says nothing.
    worn = _over(columns.value("tangential_play"), limits.values("play_t_advice"))
    less = worn & (derived.taper_excess < -twice)
    table.add("wedge:less than play", less, "note", check="taper_end_to_end")


def _guides(
    table: FindingTable,
    columns: Columns,
    derived: DerivedColumns,
    limits: LimitSet,
    rules: ReleaseRules,
) -> None:
    difference = limits.values("mean_difference")
    table.add(
        "pads:inner faster", _over(derived.pair.mean_difference, difference), "look", check="mean_difference"
    )
    table.add(
        "pads:outer faster", _over(-derived.pair.mean_difference, difference), "look", check="mean_difference"
    )
    blind = _over(np.abs(derived.indicator_difference), limits.values("ind_difference"))
    table.add("indicator:blind", blind, "look", check="wear_indicator")
    # a pad that was measured speaks for itself; one that nobody measured may be gone behind a full scale
    full = _at_least(derived.indicator_reading, rules.number("indicator_worn_through"))
    unmeasured = np.isnan(derived.pair.thinnest)
    table.add("indicator:worn through", full & unmeasured, "fault", check="wear_indicator")
    table.add("guides:stuck", derived.stuck, "fault", check="slide")
    half = _over(columns.value("tangential_play"), limits.values("play_t_advice")) | _over(
        columns.value("radial_play"), limits.values("play_r_advice")
    )
    over = table.where(["tangential_play:beyond", "radial_play:beyond"])
    table.add("play:over half", half & ~over & ~derived.stuck, "look", check="tangential_play")


def _heat_and_force(
    table: FindingTable,
    columns: Columns,
    derived: DerivedColumns,
    limits: LimitSet,
    rules: ReleaseRules,
) -> None:
    drag = columns.value("brake_drag")
    with np.errstate(invalid="ignore"):
        mate_drag = columns.of_mate(drag)
        over_mate = np.isnan(mate_drag) | _over(drag, limits.values("bind_mate") * mate_drag)
    drags = table.add(
        "brake:drags",
        (_over(derived.drag_share, limits.values("bind_share"))) & over_mate,
        "fault",
        check="brake_drag",
    )
    # On a vehicle that runs hot everywhere the same difference means less.
    warm = np.maximum(derived.temperature_normal - rules.number("ambient"), 0.0)
    rise = np.maximum(limits.values("temp_diff"), rules.number("temperature_share") * warm)
    table.add("temperature:hot", _over(derived.temperature_above_normal, rise), "look", check="temperature")
    table.add("temperature:cold", _over(-derived.temperature_above_normal, rise), "look", check="temperature")
    heat = columns.value("temperature")
    too_hot = _at_least(heat, rules.number("hot_dragging")) | _at_least(
        derived.temperature_above_normal, rules.number("hot_dragging_rise")
    )
    drags = drags | table.where(["free_turning=not by hand", "spring_brake=drags"])
    table.add("brake:drags hot", drags & too_hot, "fault", check="temperature")
    table.add("brake:fire", _at_least(heat, rules.number("fire")), "fault", check="temperature")
    table.add("brake:dead", columns.says("action", "does not move"), "fault", check="action")
    weak = _over(-derived.force_share_of_mate, -rules.number("weak_force"))
    table.add("brake:weak", weak, "fault", check="brake_force")
    imbalance = _over(derived.imbalance, limits.values("imb"))
    table.add("axle:imbalance", imbalance, "fault", check="imbalance")
    crack = _at_least(columns.value("rotor_crack_length"), rules.number("crack_into_edge"))
    table.add("rotor:crack into edge", crack, "fault", check="rotor_crack_length")


def _wear(
    table: FindingTable,
    columns: Columns,
    derived: DerivedColumns,
    limits: LimitSet,
    rules: ReleaseRules,
    next_wheels_off: float,
) -> None:
    rate = (derived.wear_rate_inner + derived.wear_rate_outer) / 2.0
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = rate / columns.peer_wear
    above = _over(ratio, rules.number("wear_fast_everywhere"))
    known = ~np.isnan(ratio)
    count = np.bincount(columns.vehicle, weights=known)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.bincount(columns.vehicle, weights=above) / count
    everywhere = ((share >= rules.number("wear_everywhere_share")) & (count >= 4))[columns.vehicle]
    table.add("wear:fast everywhere", everywhere & known, "look", check="pad_thinnest")
    # One cause of the whole vehicle is not so many faults of its wheel ends.
    fast = _over(ratio, rules.number("wear_fast")) & ~everywhere
    table.add("wear:fast", fast, "look", check="pad_thinnest")
    mean = (derived.inner.mean + derived.outer.mean) / 2.0
    thinner = _over(columns.of_mate(mean) - mean, rules.number("end_thinner"))
    table.add("pads:thinner than mate", thinner, "look", check="pad_thinnest")
    metal = _at_least(-derived.pair.thinnest, -rules.number("metal"))
    table.add("pad:metal", metal, "fault", check="pad_thinnest")
    left = derived.distance_to_service
    # A pad that is under its minimum already has a finding of its own.
    table.add("forecast:before next", (left > 0.0) & (left < next_wheels_off), "note", check="pad_thinnest")
    rotor = columns.value("rotor_thickness")
    minimum = limits.values("rotor_min")
    near = (rotor >= minimum) & (rotor < minimum + rules.number("rotor_reserve"))
    table.add("rotor:near minimum", near, "look", check="rotor_thickness")
