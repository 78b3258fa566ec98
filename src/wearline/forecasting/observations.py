"""From kept inspections to the table of readings that the wear model takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import Design
from wearline.forecasting.axes import Axis, axis_of, axis_scales
from wearline.forecasting.clocks import DatedInspection, PlacedInspection, place_inspections
from wearline.forecasting.findings import Decisions, HistoryFinding
from wearline.forecasting.padsets import Readings, Tracks
from wearline.forecasting.prior import UNKNOWN_DUTY, effect_priors
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.slips import without_slips
from wearline.forecasting.spots import PADS, SPOTS, SpotReading, spot_readings
from wearline.forecasting.swaps import find_swaps
from wearline.forecasting.wear_model import FleetTable
from wearline.records.inspection import AXLE_ROLES, Axle, Vehicle
from wearline.records.place import WheelEndPlace
from wearline.records.readings import CORNERS

__all__ = ["EndInfo", "Observations", "observe"]

_PEERS = "peers of "
_MOST_PEERS = 20
"""Vehicles without a duty that are learnt by themselves, from the wear of their peers."""

_UNKNOWN_START = 0.02
"""[m] Uncertainty of the thickness where nobody knows when the pads were fitted."""

_SAME_FITTING = 2.0e6
"""[m] Fittings told by two inspections that differ by less are one and the same."""

_SAME_VISIT = 2.0e3
"""[m] Distances are written in whole kilometres."""


@dataclass(frozen=True, slots=True)
class EndInfo:
    """One wheel end of the table.

    Parameters
    ----------
    vehicle : str
        Id of the vehicle.
    place : WheelEndPlace
        The wheel end.
    role, duty : str
        Of its axle and vehicle.
    design : Design
        Its brake.
    last_clock : float, [m]
        The vehicle's clock at its last usable inspection.
    last_odometer : float or None, [m]
        What the counter showed then.
    fitted : tuple of float, [m]
        Clock at which each recorded pad set was fitted; NaN where unknown.
    first_set : int
        Running number of its first pad set.
    placed : tuple of PlacedInspection
        The vehicle's usable inspections.
    axis : Axis
        What the vehicle's wear is counted against; clocks stay in metres.
    """

    vehicle: str
    place: WheelEndPlace
    role: str
    duty: str
    design: Design
    last_clock: float
    last_odometer: float | None
    fitted: tuple[float, ...]
    first_set: int
    placed: tuple[PlacedInspection, ...]
    axis: Axis


@dataclass(frozen=True, slots=True)
class Observations:
    """A fleet's readings, ready for the model.

    Parameters
    ----------
    table : FleetTable
        Tracks and readings.
    ends : tuple of EndInfo
        Wheel ends by their running number.
    findings : tuple of HistoryFinding
        What was kept out or bridged.
    """

    table: FleetTable
    ends: tuple[EndInfo, ...]
    findings: tuple[HistoryFinding, ...]


@dataclass(frozen=True, slots=True)
class _History:
    vehicle: Vehicle
    duty: str
    placed: list[PlacedInspection]
    fitted: Mapping[str, list[float]]
    peers: Mapping[str, float]
    axis: Axis


def observe(
    history: Sequence[DatedInspection],
    catalogue: Catalogue,
    settings: ForecastSettings,
    decisions: Decisions | None = None,
) -> Observations:
    """Make the table of a fleet.

    Parameters
    ----------
    history : sequence of DatedInspection
        Inspections of any number of vehicles in any order.
    catalogue : Catalogue
        Designs and usual uncertainties.
    settings : ForecastSettings
        Uncertainties and priors.
    decisions : mapping of str to Decision, optional
        What somebody decided of doubtful inspections.

    Returns
    -------
    Observations
        Table, wheel ends and findings.

    Raises
    ------
    CatalogueError
        If a vehicle names a brake design that is not in the catalogue.
    """
    by_vehicle: dict[str, list[DatedInspection]] = {}
    for item in history:
        by_vehicle.setdefault(item.inspection.vehicle.id, []).append(item)
    findings: list[HistoryFinding] = []
    told: list[_History] = []
    scales = axis_scales(history)
    for _, items in sorted(by_vehicle.items()):
        items.sort(key=lambda item: (item.inspection.taken_on, item.id))
        axis, per = axis_of(items, decisions or {}, scales)
        placed, found = place_inspections(items, decisions, axis, per)
        placed, slipped = without_slips(placed, catalogue, decisions or {})
        findings += [*found, *slipped]
        if placed:
            told.append(_history(placed, axis))
    told = _with_few_duties(told)
    builder = _Builder(catalogue, settings, findings)
    for each in told:
        builder.add(each)
    return builder.finish(told)


def _with_few_duties(told: list[_History]) -> list[_History]:
    """Vehicles known only by their peers' wear, as one duty where they are many.

    A column of its own for each would make the table quadratic in the fleet, and so many teach each other.
    """
    by_peers = {each.duty for each in told if each.duty.startswith(_PEERS)}
    if len(by_peers) <= _MOST_PEERS:
        return told
    return [replace(each, duty=UNKNOWN_DUTY) if each.duty in by_peers else each for each in told]


def _history(placed: list[PlacedInspection], axis: Axis) -> _History:
    latest = placed[-1].inspection
    duty = next((p.inspection.vehicle.duty for p in reversed(placed) if p.inspection.vehicle.duty), "")
    peers = next((p.inspection.peer_wear for p in reversed(placed) if p.inspection.peer_wear), {})
    if not duty:
        duty = f"{_PEERS}{latest.vehicle.id}" if peers else UNKNOWN_DUTY
    fitted = {axle.id: _fitted(placed, axle.id) for axle in latest.vehicle.axles}
    return _History(latest.vehicle, duty, placed, fitted, peers, axis)


def _fitted(placed: Sequence[PlacedInspection], axle: str) -> list[float]:
    """Clocks at which the pads of an axle were fitted, as recorded."""
    fitted: list[float] = []
    for item in placed:
        since = item.inspection.run_of_pads(axle)
        if since is None:
            continue
        at = item.clock - since
        if not fitted or abs(at - fitted[-1]) > _SAME_FITTING:
            fitted.append(at)
    return sorted(fitted)


def _which_set(item: PlacedInspection, fitted: Sequence[float], axle: str) -> int:
    """Number of the recorded set that an inspection found on the axle; -1 before the first one."""
    since = item.inspection.run_of_pads(axle)
    if since is not None and fitted:
        return int(np.argmin(np.abs(np.array(fitted) - (item.clock - since))))
    # a visit at which new pads were fitted found the old ones
    return sum(at < item.clock - _SAME_VISIT for at in fitted) - 1


def _guessed(placed: Sequence[PlacedInspection]) -> list[float]:
    """Variance of the distance up to each inspection, from stretches in which a counter went back."""
    return [float(total) for total in np.cumsum([np.square(item.u_clock) for item in placed])]


class _Builder:
    """Collects rows; every wheel end gets its sets, every set its spots."""

    def __init__(
        self, catalogue: Catalogue, settings: ForecastSettings, findings: list[HistoryFinding]
    ) -> None:
        self.catalogue, self.settings, self.findings = catalogue, settings, findings
        self.ends: list[EndInfo] = []
        self.tracks: list[tuple[int, int, int, int, float, float, str, str, bool, bool]] = []
        self.rows: list[list[tuple[float, float, float, float, float, float]]] = []
        self.sets = 0
        self.pads = 0
        self.vehicles = 0

    def add(self, told: _History) -> None:
        swapped = find_swaps(told.vehicle, told.placed)
        self.findings += [finding for finding, _, _ in swapped]
        out = {(index, place) for _, index, places in swapped for place in places}
        known = {axle.id for axle in told.vehicle.axles}
        for item in told.placed:
            strange = [end.place for end in item.inspection.wheel_ends if end.place.axle not in known]
            if strange:
                self.findings.append(
                    HistoryFinding(
                        "unknown wheel end",
                        told.vehicle.id,
                        f"the inspection of {item.inspection.taken_on} has readings of "
                        + ", ".join(map(str, strange))
                        + ", which the vehicle does not have by its latest inspection",
                        "Correct the axles of the one or the other",
                        inspections=(item.id,),
                        kept_out=True,
                    )
                )
        for axle in told.vehicle.axles:
            if axle.brake != "air disc":
                continue
            design = self.catalogue.design(axle.design, told.placed[-1].inspection.taken_on)
            for side in ("L", "R"):
                self._end(told, axle, WheelEndPlace(axle.id, side), design, out)
        self.vehicles += 1

    def _end(
        self,
        told: _History,
        axle: Axle,
        place: WheelEndPlace,
        design: Design,
        out: set[tuple[int, WheelEndPlace]],
    ) -> None:
        seen: list[tuple[float, int, SpotReading, float]] = []
        guessed = _guessed(told.placed)
        rotor, fitted = design.rotor_new, told.fitted[axle.id]
        for index, item in enumerate(told.placed):
            end = item.inspection.wheel_end(place)
            if end is None or (index, place) in out:
                continue
            found, rotor = spot_readings(end, item.inspection, design, self.catalogue, self.settings, rotor)
            which = _which_set(item, fitted, axle.id)
            seen += [(item.clock, which, reading, guessed[index]) for reading in found]
        early = [clock for clock, k, _, _ in seen if k < 0]
        starts = [float("nan"), *fitted] if early or not fitted else list(fitted)
        first = len(starts) - len(fitted)
        number = len(self.ends)
        last = told.placed[-1]
        self.ends.append(
            EndInfo(
                told.vehicle.id,
                place,
                axle.role,
                told.duty,
                design,
                last.clock,
                last.odometer,
                tuple(starts),
                self.sets,
                tuple(told.placed),
                told.axis,
            )
        )
        for k, start in enumerate(starts):
            zero = start if np.isfinite(start) else min(early, default=last.clock)
            clocks = [item.clock for item in told.placed if item.clock <= zero + _SAME_VISIT]
            base = guessed[len(clocks) - 1] if clocks else 0.0
            own = [
                (max(clock - zero, 0.0), r, max(variance - base, 0.0))
                for clock, which, r, variance in seen
                if which == k - first
            ]
            u_new = self.settings.u_new if np.isfinite(start) else _UNKNOWN_START
            self._set(told, axle, design, number, own, u_new)

    def _set(
        self,
        told: _History,
        axle: Axle,
        design: Design,
        number: int,
        own: list[tuple[float, SpotReading, float]],
        u_new: float,
    ) -> None:
        for pad in PADS:
            spots = [spot for p, spot in SPOTS if p == pad]
            spots = [s for s in spots if s in CORNERS or any(r.at == (pad, s) for _, r, _ in own)]
            for spot in spots:
                rows = sorted(
                    (run, r.value, r.u, r.low, r.high, v) for run, r, v in own if r.at == (pad, spot)
                )
                self.tracks.append(
                    (
                        self.vehicles,
                        number,
                        self.sets,
                        self.pads,
                        design.friction_new,
                        u_new,
                        told.duty,
                        axle.role,
                        pad == "inner",
                        spot in CORNERS,
                    )
                )
                self.rows.append(rows)
            if spots:
                self.pads += 1
        self.sets += 1

    def finish(self, told: list[_History]) -> Observations:
        duties = sorted({each.duty for each in told})
        rates: dict[str, list[float]] = {}
        for each in told:
            for rate in each.peers.values():
                rates.setdefault(each.duty, []).append(rate)
        peers = {
            duty: float(np.mean(rates[duty])) for duty in duties if duty.startswith(_PEERS) and duty in rates
        }
        prior = effect_priors(duties, self.settings, peers)
        columns = {name: i for i, name in enumerate(prior.names)}
        design = np.zeros((len(self.tracks), len(prior.names)))
        for i, track in enumerate(self.tracks):
            design[i, columns[track[6]]] = 1.0
            if track[7] in AXLE_ROLES:
                design[i, columns[track[7]]] = 1.0
            design[i, -1] = 1.0 if track[8] else 0.0
        count = np.array([len(rows) for rows in self.rows], dtype=np.int64)
        flat = np.array([row for rows in self.rows for row in rows], dtype=float).reshape(-1, 6)

        def column(k: int) -> np.ndarray:
            return np.array([track[k] for track in self.tracks], dtype=np.int64)

        def number(k: int) -> np.ndarray:
            return np.array([track[k] for track in self.tracks], dtype=float)

        tracks = Tracks(
            column(0),
            column(1),
            column(2),
            column(3),
            np.cumsum(count) - count,
            count,
            number(4),
            number(5),
            design,
            np.array([track[9] for track in self.tracks], dtype=bool),
        )
        guessed = flat[:, 5] if flat[:, 5].any() else None
        readings = Readings(flat[:, 0], flat[:, 1], flat[:, 2], flat[:, 3], flat[:, 4], guessed)
        table = FleetTable(tracks, readings, prior.names, prior.mean, prior.spread)
        return Observations(table, tuple(self.ends), tuple(self.findings))
