"""What wear is counted against: road distance, hours or stops, all as metres of road inside the model.

Where a vehicle stands at every bin or stop, distance means little, and hours or stops order its wear better.
The model itself stays in metres: an hour or a stop stands for the road that vehicles of that duty usually
cover in it, so that the priors hold and vehicles of one duty teach each other whatever they count.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from wearline.forecasting.findings import Decisions, HistoryFinding
from wearline.records.inspection import WEAR_AXES, Inspection, WearAxis

__all__ = ["KILOMETRES", "Axis", "DatedInspection", "axis_of", "axis_scales", "on_axis"]

_UNIT: Mapping[WearAxis, str] = {"km": "km", "hours": "h", "stops": "stops"}
_COUNTER: Mapping[WearAxis, str] = {"km": "odometer", "hours": "hour counter", "stops": "stop counter"}
_SIZE: Mapping[WearAxis, float] = {"km": 1e3, "hours": 3600.0, "stops": 1.0}
_FARTHEST: Mapping[WearAxis, float] = {"km": 2.0e6, "hours": 86_400.0, "stops": 5_000.0}
"""[m, s, 1] What no vehicle does in a day (two drivers on a motorway; the day itself; expert judgement)."""

_USUAL: Mapping[WearAxis, float] = {"km": 2.0e5, "hours": 28_800.0, "stops": 600.0}
"""[m, s, 1] A day where nothing is known; only bridges a counter that was exchanged (expert judgement)."""

_COUNTED: tuple[WearAxis, ...] = ("hours", "stops")

_SHORT_WAYS: Mapping[str, tuple[float, float]] = {"refuse": (10.0 / 3.6, 80.0), "city": (17.0 / 3.6, 350.0)}
_OTHER_WAYS = (50.0 / 3.6, 3.0e3)
"""[m/s], [m] Usual speed and road from stop to stop by the beginning of the duty, until the fleet's own
counters say it (expert judgement)."""

_SPEEDS = (0.3, 35.0)
_BETWEEN_STOPS = (5.0, 2.0e5)
"""[m/s], [m] Ratios of two counters outside these are slips and teach nothing (expert judgement)."""


@dataclass(frozen=True, slots=True)
class DatedInspection:
    """One inspection of a history.

    Parameters
    ----------
    id : str
        Under which it is kept, or the name of its file.
    inspection : Inspection
        The inspection.
    counter_exchanged : bool
        Whether the odometer was exchanged since the one before.
    """

    id: str
    inspection: Inspection
    counter_exchanged: bool = False


@dataclass(frozen=True, slots=True)
class Axis:
    """What the wear of one vehicle is counted against.

    Parameters
    ----------
    kind : str
        One of ``WEAR_AXES``.
    per_count : float, [m/s] or [m], more than 0
        Road that one second, or one stop, stands for; 1 where road itself is counted.
    """

    kind: WearAxis
    per_count: float = 1.0

    @property
    def unit(self) -> str:
        """Unit of its amounts: ``"km"``, ``"h"`` or ``"stops"``."""
        return _UNIT[self.kind]

    @property
    def counter(self) -> str:
        """What shows it, as ``"hour counter"``."""
        return _COUNTER[self.kind]

    @property
    def farthest_a_day(self) -> float:
        """What no vehicle does in a day [m]."""
        return _FARTHEST[self.kind] * self.per_count

    @property
    def usual_a_day(self) -> float:
        """A day where nothing is known [m]."""
        return _USUAL[self.kind] * self.per_count

    def amount(self, distance: float) -> float:
        """Return a distance in the unit of the axis.

        Parameters
        ----------
        distance : float, [m]
            Distance of the model.

        Returns
        -------
        float
            Kilometres, hours or stops.
        """
        return distance / (self.per_count * _SIZE[self.kind])

    def say(self, distance: float, *, rough: bool = False) -> str:
        """Return a distance in words.

        Parameters
        ----------
        distance : float, [m]
            Distance of the model.
        rough : bool, optional
            To two or three digits, as a forecast deserves.

        Returns
        -------
        str
            As ``"62 000 km"`` or ``"1 450 h"``.
        """
        amount = self.amount(distance)
        if rough and abs(amount) >= 1000.0:
            step = 10.0 ** (len(f"{abs(amount):.0f}") - 3)
            amount = round(amount / step) * step
        return f"{amount:,.0f}".replace(",", " ") + f" {self.unit}"


KILOMETRES = Axis("km")


def axis_scales(history: Sequence[DatedInspection]) -> dict[tuple[str, WearAxis], float]:
    """Learn how much road an hour, or a stop, stands for in each duty.

    Parameters
    ----------
    history : sequence of DatedInspection
        Inspections of any number of vehicles.

    Returns
    -------
    dict of (duty, axis) to float, [m/s] or [m]
        Only where some vehicle of the duty carries both counters.

    Notes
    -----
    Sum of the road over sum of the hours (stops) between consecutive inspections of one vehicle.
    """
    vehicles: dict[str, list[Inspection]] = {}
    for item in history:
        vehicles.setdefault(item.inspection.vehicle.id, []).append(item.inspection)
    sums: dict[tuple[str, WearAxis], tuple[float, float]] = {}
    for inspections in vehicles.values():
        ordered = sorted(inspections, key=lambda each: each.taken_on)
        for first, second in pairwise(ordered):
            for kind in _COUNTED:
                step = _steps(first, second, kind)
                if step is not None:
                    key = (_duty(second), kind)
                    road, count = sums.get(key, (0.0, 0.0))
                    sums[key] = (road + step[0], count + step[1])
    return {key: road / count for key, (road, count) in sums.items()}


def _steps(first: Inspection, second: Inspection, kind: WearAxis) -> tuple[float, float] | None:
    before, after = _shown(first, kind), _shown(second, kind)
    if first.odometer is None or second.odometer is None or before is None or after is None:
        return None
    road, count = second.odometer - first.odometer, after - before
    least, most = _SPEEDS if kind == "hours" else _BETWEEN_STOPS
    return (road, count) if count > 0 and least <= road / count <= most else None


def _duty(inspection: Inspection) -> str:
    return inspection.vehicle.duty.strip().lower()


def _shown(inspection: Inspection, kind: WearAxis) -> float | None:
    if kind == "km":
        return inspection.odometer
    return inspection.counters.hours if kind == "hours" else inspection.counters.stops


def _since(inspection: Inspection, axis: Axis, scales: Mapping[WearAxis, float]) -> float | None:
    """Since the pads were new [m]: by the axis' own counter, else by another."""
    counters = inspection.counters
    given: Mapping[WearAxis, float | None] = {
        "km": inspection.distance_since_pads,
        "hours": counters.hours_since_pads,
        "stops": counters.stops_since_pads,
    }
    for kind in (axis.kind, *WEAR_AXES):
        value = given[kind]
        if value is not None:
            return value * scales[kind]
    return None


def axis_of(
    history: Sequence[DatedInspection],
    decisions: Decisions,
    scales: Mapping[tuple[str, WearAxis], float],
) -> tuple[Axis, dict[WearAxis, float]]:
    """Choose what the wear of one vehicle is counted against.

    Parameters
    ----------
    history : sequence of DatedInspection
        Its inspections, oldest first; at least one.
    decisions : mapping of str to Decision
        ``"km"``, ``"hours"`` or ``"stops"`` for any of its inspections decides.
    scales : mapping of (duty, axis) to float
        From ``axis_scales``.

    Returns
    -------
    Axis, dict of str to float
        The axis, and how much road a count of each kind stands for.

    Notes
    -----
    A decision first, then what the latest file says; a refuse or city vehicle whose every inspection has
    hours (stops) is counted by them; everything else by road, where any road is known.
    """
    latest = history[-1].inspection
    usual = next((ways for name, ways in _SHORT_WAYS.items() if _duty(latest).startswith(name)), _OTHER_WAYS)
    per: dict[WearAxis, float] = {
        "km": 1.0,
        "hours": scales.get((_duty(latest), "hours"), usual[0]),
        "stops": scales.get((_duty(latest), "stops"), usual[1]),
    }
    chosen = _chosen(history, decisions)
    return Axis(chosen, per[chosen]), per


def _chosen(history: Sequence[DatedInspection], decisions: Decisions) -> WearAxis:
    for item in history:
        decision = decisions.get(item.id)
        for kind in WEAR_AXES:
            if decision == kind:
                return kind
    latest = history[-1].inspection
    said = [item.inspection.vehicle.wear_axis for item in history]
    for kind in WEAR_AXES:
        if (latest.vehicle.wear_axis or next((s for s in reversed(said) if s), "")) == kind:
            return kind
    short = _duty(latest).startswith(tuple(_SHORT_WAYS))
    for kind in _COUNTED:
        if short and all(_shown(item.inspection, kind) is not None for item in history):
            return kind
    for kind in WEAR_AXES:
        if any(_shown(item.inspection, kind) is not None for item in history):
            return kind
    return "km"


def on_axis(
    history: Sequence[DatedInspection],
    axis: Axis,
    per: Mapping[WearAxis, float],
    decisions: Decisions,
) -> tuple[list[DatedInspection], list[HistoryFinding]]:
    """Put the counters of one vehicle on its axis, and keep out what counts by another one.

    Parameters
    ----------
    history : sequence of DatedInspection
        Its inspections, oldest first.
    axis : Axis
        Its axis.
    per : mapping of str to float
        Road that a count of each kind stands for.
    decisions : mapping of str to Decision
        ``"use"`` converts an inspection that counts by another axis, where one with both counters ties them.

    Returns
    -------
    list of DatedInspection, list of HistoryFinding
        Inspections whose odometer and distance since the pads stand for the axis [m], and what was found.
    """
    found: list[HistoryFinding] = []
    kept: list[DatedInspection] = []
    for item in history:
        inspection = item.inspection
        shown = _shown(inspection, axis.kind)
        value = None if shown is None else shown * axis.per_count
        others = [kind for kind in WEAR_AXES if kind != axis.kind and _shown(inspection, kind) is not None]
        if value is None and others and len(history) > 1:
            if decisions.get(item.id) == "use":
                value = _tied(item, history, axis, per)
            if value is None:
                found.append(_mixed(item, axis, others[0]))
                continue
        since = _since(inspection, axis, per)
        kept.append(replace(item, inspection=replace(inspection, odometer=value, distance_since_pads=since)))
    return kept, found


def _tied(
    item: DatedInspection, history: Sequence[DatedInspection], axis: Axis, per: Mapping[WearAxis, float]
) -> float | None:
    """Place on the axis [m] by the nearest inspection that shows both counters."""
    best: tuple[int, float] | None = None
    for kind in WEAR_AXES:
        own = _shown(item.inspection, kind)
        for other in history:
            first, second = _shown(other.inspection, axis.kind), _shown(other.inspection, kind)
            if kind == axis.kind or own is None or first is None or second is None:
                continue
            days = abs((other.inspection.taken_on - item.inspection.taken_on).days)
            if best is None or days < best[0]:
                best = (days, first * axis.per_count + (own - second) * per[kind])
    return None if best is None else max(best[1], 0.0)


def _mixed(item: DatedInspection, axis: Axis, other: WearAxis) -> HistoryFinding:
    return HistoryFinding(
        "mixed axes",
        item.inspection.vehicle.id,
        f"the inspection of {item.inspection.taken_on} shows the {_COUNTER[other]} only, the history of this "
        f"vehicle is counted in {axis.unit}",
        f"Add the {axis.counter} by a correction, decide '{other}' to count this vehicle by the "
        f"{_COUNTER[other]}, or 'use' to convert where another inspection shows both",
        inspections=(item.id,),
        kept_out=True,
    )
