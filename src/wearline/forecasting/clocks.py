"""One clock for the whole history of a vehicle, through counters exchanged, misread or in miles."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from wearline.forecasting.axes import KILOMETRES, Axis, DatedInspection, on_axis
from wearline.forecasting.findings import Decisions, HistoryFinding
from wearline.records.inspection import Inspection, WearAxis

__all__ = ["DatedInspection", "PlacedInspection", "place_inspections"]

_MILE = 1609.344
_HALF = 0.5
"""[1] Of the usual run: less makes a distance doubtful (expert judgement)."""

_FEW_STRETCHES = 2
_U_FEW, _U_USUAL = 0.5, 0.1
"""[1] Relative uncertainty of a guessed distance after fewer stretches than that, and the least otherwise
(expert judgement)."""


@dataclass(frozen=True, slots=True)
class PlacedInspection:
    """An inspection with its place on the vehicle's own clock.

    Parameters
    ----------
    id : str
        Its id.
    inspection : Inspection
        The inspection; its odometer and distance since the pads stand for the vehicle's axis.
    clock : float, [m]
        Distance run, counted through exchanges of the counter.
    odometer : float or None, [m]
        What the counter of the axis showed.
    u_clock : float, [m]
        Standard uncertainty of the distance since the inspection before, where it is a guess because the
        counter was exchanged or went back, or doubtful because it shows far less than usual; else 0.
    """

    id: str
    inspection: Inspection
    clock: float
    odometer: float | None
    u_clock: float = 0.0


def place_inspections(
    history: Sequence[DatedInspection],
    decisions: Decisions | None = None,
    axis: Axis = KILOMETRES,
    per: Mapping[WearAxis, float] | None = None,
) -> tuple[list[PlacedInspection], list[HistoryFinding]]:
    """Put the inspections of one vehicle on one clock.

    Parameters
    ----------
    history : sequence of DatedInspection
        In any order, one vehicle.
    decisions : mapping of str to Decision, optional
        What somebody decided of inspections found doubtful.
    axis : Axis, optional
        What the vehicle's wear is counted against; the road by default.
    per : mapping of str to float, optional
        Road that a count of each kind stands for, as from ``axis_of``; needed for any axis but the road.

    Returns
    -------
    list of PlacedInspection, list of HistoryFinding
        What can be used, oldest first, and what was found.
    """
    decided = decisions or {}
    ordered = sorted(history, key=lambda item: (item.inspection.taken_on, item.id))
    findings: list[HistoryFinding] = []
    ordered = [item for item in ordered if decided.get(item.id) != "leave out"]
    ordered = _one_a_day(ordered, decided, findings)
    if axis.kind == "km":
        ordered = [_in_metres(item, decided) for item in ordered]
    scales = per or {"km": 1.0, "hours": 1.0, "stops": 1.0}
    ordered, mixed = on_axis(ordered, axis, scales, decided)
    findings += mixed
    ordered = _with_position(ordered, axis, findings)
    ordered = _in_line(ordered, axis, decided, findings)
    return _clocked(ordered, decided, axis, findings), findings


def _vehicle(item: DatedInspection) -> str:
    return item.inspection.vehicle.id


def _one_a_day(
    ordered: list[DatedInspection], decided: Decisions, findings: list[HistoryFinding]
) -> list[DatedInspection]:
    days: dict[object, list[DatedInspection]] = {}
    for item in ordered:
        days.setdefault(item.inspection.taken_on, []).append(item)
    kept: list[DatedInspection] = []
    for day, items in days.items():
        chosen = [item for item in items if decided.get(item.id) == "use"]
        if len(items) == 1 or len(chosen) == 1:
            kept += chosen or items
            continue
        same = all(item.inspection.wheel_ends == items[0].inspection.wheel_ends for item in items)
        if same:
            kept.append(items[0])
        findings.append(
            HistoryFinding(
                "two inspections on one day",
                _vehicle(items[0]),
                f"{len(items)} inspections of {day}"
                + (" say the same; one is used" if same else " differ; none is used"),
                "Decide which one holds: 'use' one of them, 'leave out' the others",
                inspections=tuple(item.id for item in items),
                kept_out=not same,
            )
        )
    return kept


def _in_metres(item: DatedInspection, decided: Decisions) -> DatedInspection:
    odometer = item.inspection.odometer
    if decided.get(item.id) != "miles" or odometer is None:
        return item
    return replace(item, inspection=replace(item.inspection, odometer=odometer / 1000.0 * _MILE))


def _with_position(
    ordered: list[DatedInspection], axis: Axis, findings: list[HistoryFinding]
) -> list[DatedInspection]:
    """Inspections with a counter; a single one may do with the distance since the pads were new."""
    if len(ordered) == 1:
        only = ordered[0].inspection
        if only.odometer is not None or only.distance_since_pads is not None:
            return ordered
    kept = [item for item in ordered if item.inspection.odometer is not None]
    for item in ordered:
        if item.inspection.odometer is None:
            findings.append(
                HistoryFinding(
                    f"no {axis.counter}",
                    _vehicle(item),
                    f"the inspection of {item.inspection.taken_on} has no {axis.counter}, so it has no place",
                    f"Add the {axis.counter} by a correction of that inspection",
                    inspections=(item.id,),
                    kept_out=True,
                )
            )
    return kept


def _odometer(item: DatedInspection) -> float:
    return item.inspection.odometer or 0.0


def _days(first: DatedInspection, second: DatedInspection) -> int:
    return max((second.inspection.taken_on - first.inspection.taken_on).days, 1)


def _in_line(
    ordered: list[DatedInspection], axis: Axis, decided: Decisions, findings: list[HistoryFinding]
) -> list[DatedInspection]:
    """Leave out single counters that run against those before and after."""
    kept = list(ordered)
    i = 0
    while i < len(kept):
        item = kept[i]
        before = kept[i - 1] if i else None
        after = kept[i + 1] if i + 1 < len(kept) else None
        if decided.get(item.id) in ("use", "miles") or item.counter_exchanged:
            i += 1
            continue
        finding = _out_of_line(before, item, after, axis)
        if finding is None:
            i += 1
            continue
        findings.append(finding)
        kept.pop(i)
        i = max(i - 1, 0)
    return kept


def _out_of_line(
    before: DatedInspection | None, item: DatedInspection, after: DatedInspection | None, axis: Axis
) -> HistoryFinding | None:
    here, day = _odometer(item), item.inspection.taken_on
    low = _odometer(before) if before else None
    high = _odometer(after) if after and not after.counter_exchanged else None
    fell = low is not None and here < low
    as_miles = here / 1000.0 * _MILE
    if axis.kind == "km" and fell and low is not None and low <= as_miles <= (high or float("inf")):
        return HistoryFinding(
            "odometer in miles",
            _vehicle(item),
            f"the odometer of {day} shows {here / 1e3:.0f} after {low / 1e3:.0f} km; "
            f"read as miles, {here * _MILE / 1e6:.0f} km, it fits",
            "Decide 'miles' if that is so, or correct the inspection",
            inspections=(item.id,),
            kept_out=True,
        )
    leapt = before is not None and low is not None and here - low > axis.farthest_a_day * _days(before, item)
    alone = high is not None and (low is None or low <= high) and (here > high or fell)
    if (alone and (low is not None or here > (high or 0.0))) or leapt:
        parts = [
            f"{axis.say(low)} before" if low is not None else "",
            f"{axis.say(high)} after" if high else "",
        ]
        return HistoryFinding(
            f"{axis.counter} out of line",
            _vehicle(item),
            f"the {axis.counter} of {day} shows {axis.say(here)}, against "
            + " and ".join(part for part in parts if part)
            + f"; date or {axis.counter} is wrong",
            "Correct the inspection, or decide 'use' if the counter was exchanged",
            inspections=(item.id,),
            kept_out=True,
        )
    return None


def _clocked(
    ordered: list[DatedInspection], decided: Decisions, axis: Axis, findings: list[HistoryFinding]
) -> list[PlacedInspection]:
    rates = [
        (_odometer(b) - _odometer(a)) / _days(a, b)
        for a, b in pairwise(ordered)
        if _odometer(b) > _odometer(a) and not b.counter_exchanged
    ]
    usual = float(np.median(rates)) if rates else axis.usual_a_day
    placed: list[PlacedInspection] = []
    shift = 0.0
    for i, item in enumerate(ordered):
        if item.inspection.odometer is None:
            placed.append(
                PlacedInspection(item.id, item.inspection, item.inspection.distance_since_pads or 0.0, None)
            )
            continue
        here, guessed = _odometer(item), 0.0
        if i and (item.counter_exchanged or here + shift < placed[-1].clock):
            bridge = usual * _days(ordered[i - 1], item)
            was = _odometer(ordered[i - 1])
            shift = placed[-1].clock + bridge - here
            guessed = bridge * _u_usual(rates)
            findings.append(
                HistoryFinding(
                    f"{axis.counter} " + ("exchanged" if item.counter_exchanged else "went back"),
                    _vehicle(item),
                    f"the {axis.counter} shows {axis.say(here)} on {item.inspection.taken_on} after "
                    f"{axis.say(was)}; {axis.say(bridge)} are taken to lie between, at the usual "
                    f"{axis.say(usual)} a day",
                    "Confirm the exchange and note the reading of the old counter",
                    inspections=(ordered[i - 1].id, item.id),
                )
            )
        elif i and len(rates) > _FEW_STRETCHES and decided.get(item.id) != "use":
            guessed = _lacking(ordered[i - 1], item, usual, axis, findings)
        placed.append(PlacedInspection(item.id, item.inspection, here + shift, here, guessed))
    return placed


def _lacking(
    before: DatedInspection, item: DatedInspection, usual: float, axis: Axis, findings: list[HistoryFinding]
) -> float:
    """What a stretch lacks of the usual run where it has not even half of it: the counter may be set back."""
    run, expected = _odometer(item) - _odometer(before), usual * _days(before, item)
    if run >= _HALF * expected:
        return 0.0
    findings.append(
        HistoryFinding(
            f"{axis.counter} shows little",
            _vehicle(item),
            f"the {axis.counter} shows {axis.say(run)} between {before.inspection.taken_on} and "
            f"{item.inspection.taken_on}, against {axis.say(expected)} on usual days; it may have been set "
            "back, so this distance is held for uncertain",
            f"Correct the {axis.counter}, or decide 'use' if the vehicle ran that little",
            inspections=(before.id, item.id),
        )
    )
    return expected - run


def _u_usual(rates: list[float]) -> float:
    """Relative standard uncertainty of a distance taken from the usual day's run."""
    if len(rates) < _FEW_STRETCHES:
        return _U_FEW
    return max(float(np.std(rates, ddof=1) / np.median(rates)), _U_USUAL)
