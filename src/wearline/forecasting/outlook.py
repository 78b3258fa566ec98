"""When must the wheels come off next: distance to every limit, its range, and which part decides."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import Limit
from wearline.forecasting.axes import Axis
from wearline.forecasting.changes import Cleaned, Outlier, clean, learn
from wearline.forecasting.clocks import DatedInspection
from wearline.forecasting.findings import Decisions, HistoryFinding
from wearline.forecasting.holdout import learn_future_duty
from wearline.forecasting.nested import Floats
from wearline.forecasting.observations import EndInfo, Observations, observe
from wearline.forecasting.other_clocks import Drift, boot_draws, boot_life, drift_draws, series
from wearline.forecasting.remaining import Remaining, remaining
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.telling import change_findings, grown_back, look_of
from wearline.forecasting.wear_model import (
    FleetTable,
    Hyper,
    infer_fleet,
    prior_hyper,
    widened,
)

__all__ = ["AxleOutlook", "EndOutlook", "LimitOutlook", "Options", "Outlook", "Present", "forecast_wear"]

_SHARES = (0.05, 0.5, 0.95)
_FLEET = 3
"""Vehicles from which a fleet is learnt; fewer keep the prior's spreads."""

_ROTOR_SHARE = 0.089
_ROTOR_SPREAD = 0.35
"""[1] Rotor thickness lost per friction worn from one pad, 0.5 to 1.2 mm a face in 18 (expert judgement)."""

_PLAY_RATE = 2.0e-3 / 6.0e8
_PLAY_SPREAD = 0.8
"""[m/m] Growth of guide play, 2 mm in 600 000 km with a wide spread (expert judgement)."""

_PLAY_LIMITS: Mapping[str, str] = {"tangential_play": "play_t", "radial_play": "play_r"}


@dataclass(frozen=True, slots=True)
class Options:
    """What to ask.

    Parameters
    ----------
    before : float or None, [m]
        Distance of the next planned visit; None: as the file says, else 60 000 km.
    draws : int
        Draws behind every quantile.
    seed : int
        Seed of the draws, so that the same question has the same answer.
    decisions : mapping of str to Decision
        What somebody decided of doubtful inspections.
    """

    before: float | None = None
    draws: int = 2000
    seed: int = 7
    decisions: Decisions = field(default_factory=dict)


_NEXT_VISIT = 6.0e7
"""[m] Next planned visit where nobody says (a house rule; the question can set it)."""


@dataclass(frozen=True, slots=True)
class LimitOutlook:
    """Distance from the last inspection to one limit.

    Parameters
    ----------
    vehicle, at : str
        Vehicle and wheel end.
    part, limit : str
        ``"pads"``, ``"rotor"``, ``"play"`` or ``"boots"``, and id of the limit.
    value : float, [m]
        The limit in force at this end; nan for a boot, which is torn or not.
    p05, median, p95 : float, [m]
        Quantiles.
    before, p_beyond : float
        Next planned visit [m], and the chance of crossing the limit before it.
    """

    vehicle: str
    at: str
    part: str
    limit: str
    value: float
    p05: float
    median: float
    p95: float
    before: float
    p_beyond: float


@dataclass(frozen=True, slots=True)
class EndOutlook:
    """One wheel end.

    Parameters
    ----------
    info : EndInfo
        Which one.
    limits : tuple of LimitOutlook
        Service limit of the pads first.
    rate, friction : tuple of float
        5 %, 50 % and 95 % of the present rate [m/m] and thinnest friction [m].
    decides : str
        Part whose 5 % bound comes first.
    readings : int
        Readings of its present pad set.
    fitted : float, [m]
        Clock at which its present pads were fitted; NaN if unknown.
    """

    info: EndInfo
    limits: tuple[LimitOutlook, ...]
    rate: tuple[float, float, float]
    friction: tuple[float, float, float]
    decides: str
    readings: int
    fitted: float


@dataclass(frozen=True, slots=True)
class AxleOutlook:
    """One axle: the first of its ends to meet the pads' service limit.

    Parameters
    ----------
    vehicle, axle, role, duty : str
        Which one.
    p05, median, p95 : float, [m]
        Quantiles of the distance.
    before, p_beyond : float
        Next planned visit [m] and the chance of crossing before it.
    decides : str
        Part and wheel end whose 5 % bound comes first.
    earliest : float, [m]
        That bound.
    distance : array, shape (draws,), [m]
        Draws to the pads' service limit.
    axis : Axis
        What the vehicle's wear is counted against.
    """

    vehicle: str
    axle: str
    role: str
    duty: str
    p05: float
    median: float
    p95: float
    before: float
    p_beyond: float
    decides: str
    earliest: float
    distance: Floats
    axis: Axis


@dataclass(frozen=True, slots=True)
class Present:
    """What the answer rests on, for plots and further questions.

    Parameters
    ----------
    observations : Observations
        As recorded.
    table : FleetTable
        Cleaned.
    hyper : Hyper
        The fleet's numbers.
    remaining : Remaining
        Draws.
    cleaned : Cleaned
        What was found wrong.
    future_duty : float, [1]
        Spread of the coming duty against the past, learnt where the fleet has enough readings.
    """

    observations: Observations
    table: FleetTable
    hyper: Hyper
    remaining: Remaining
    cleaned: Cleaned
    future_duty: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """The answer for a fleet or one vehicle.

    Parameters
    ----------
    ends, axles : tuple
        By vehicle, axle and side.
    findings : tuple of HistoryFinding
        What was kept out, bridged or found remarkable.
    present : Present or None
        What it rests on; None without any usable inspection.
    """

    ends: tuple[EndOutlook, ...]
    axles: tuple[AxleOutlook, ...]
    findings: tuple[HistoryFinding, ...]
    present: Present | None


def forecast_wear(
    history: Sequence[DatedInspection],
    catalogue: Catalogue,
    settings: ForecastSettings | None = None,
    options: Options | None = None,
) -> Outlook:
    """Answer when the wheels must come off next.

    Parameters
    ----------
    history : sequence of DatedInspection
        Everything that was kept, or a single inspection.
    catalogue : Catalogue
        Limits and designs.
    settings : ForecastSettings, optional
        Expert judgement to start from.
    options : Options, optional
        What to ask.

    Returns
    -------
    Outlook
        Wheel ends, axles, findings.

    Raises
    ------
    CatalogueError
        If a design is unknown.

    Notes
    -----
    Fewer than three vehicles keep the spreads of expert judgement; more teach their own.
    """
    settings, options = settings or ForecastSettings(), options or Options()
    told = observe(history, catalogue, settings, options.decisions)
    if not told.ends:
        return Outlook((), (), told.findings, None)
    cleaned, hyper, findings = _learn(told, settings)
    rng = np.random.default_rng(options.seed)
    table = cleaned.table
    future = settings.future_duty
    if hyper.vehicles >= _FLEET:
        future = learn_future_duty(table, hyper, settings)
    known = infer_fleet(table, hyper, sweeps=4)
    limits = [_pad_limits(catalogue, info) for info in told.ends]
    values = sorted({limit.value for each in limits for limit in each}, reverse=True)
    drawn = remaining(
        table,
        hyper,
        known,
        values,
        future_duty=future,
        draws=options.draws,
        rng=rng,
        since_fitting=_since_fitting(told, cleaned),
        doubts=cleaned.doubts(_confirmed(told, cleaned, options.decisions)),
    )
    present = Present(told, table, hyper, drawn, cleaned, future)
    ends = _ends(present, limits, values, catalogue, options, rng)
    axles = _axles(ends, drawn, limits, values)
    return Outlook(ends, axles, (*told.findings, *findings), present)


def _learn(
    told: Observations, settings: ForecastSettings
) -> tuple[Cleaned, Hyper, tuple[HistoryFinding, ...]]:
    table = told.table
    hyper = prior_hyper(table, settings)
    several = max(len(info.placed) for info in told.ends) > 1
    sets = int(table.tracks.padset.max()) + 1
    cleaned = Cleaned(table, np.arange(sets), np.zeros(sets), (), ())
    if several:
        cleaned = clean(table, widened(table, hyper), settings)
    if len({info.vehicle for info in told.ends}) >= _FLEET:
        hyper = learn(table, settings)
        if several:
            cleaned = clean(table, widened(table, hyper), settings)
    cleaned, back = grown_back(cleaned, told)
    findings = change_findings(told, cleaned) + back
    return cleaned, widened(cleaned.table, hyper), findings


def _confirmed(told: Observations, cleaned: Cleaned, decisions: Decisions) -> list[Outlier]:
    """Doubted readings of inspections that somebody decided to use."""
    doubted = [each for each in cleaned.outliers if each.doubted]
    return [each for each in doubted if decisions.get(look_of(told, each)[1].id) == "use"]


def _since_fitting(told: Observations, cleaned: Cleaned) -> Floats:
    """Where each end stands today: distance since its present set was fitted."""
    tracks = cleaned.table.tracks
    last = np.flatnonzero(np.r_[tracks.end[1:] != tracks.end[:-1], True])
    result = np.full(len(told.ends), np.nan)
    for row in last:
        info = told.ends[int(tracks.end[row])]
        padset = int(tracks.padset[row])
        zero = _zero(info, int(cleaned.origin[padset]), told)
        result[int(tracks.end[row])] = info.last_clock - zero - cleaned.shift[padset]
    return result


def _zero(info: EndInfo, padset: int, told: Observations) -> float:
    """Clock from which the distances of a recorded set count."""
    start = info.fitted[padset - info.first_set]
    if np.isfinite(start):
        return start
    clocks = [p.clock for p in info.placed if p.inspection.wheel_end(info.place) is not None]
    del told
    return min(clocks, default=info.last_clock)


def _pad_limits(catalogue: Catalogue, info: EndInfo) -> list[Limit]:
    day = info.placed[-1].inspection.taken_on
    limits = catalogue.limits_for(info.design.id, day)
    found = [limit for limit in limits.values() if limit.field == "pad_thinnest" and limit.value > 0]
    return [limit for limit in found if limit.id in ("pad_service", "pad_road")]


def _ends(
    present: Present,
    limits: list[list[Limit]],
    values: list[float],
    catalogue: Catalogue,
    options: Options,
    rng: np.random.Generator,
) -> tuple[EndOutlook, ...]:
    told, drawn = present.observations, present.remaining
    vehicles: dict[str, list[EndInfo]] = {}
    for info in told.ends:
        vehicles.setdefault(info.vehicle, []).append(info)
    life = boot_life([(ends[0].placed, [end.place for end in ends]) for ends in vehicles.values()])
    tracks = present.table.tracks
    last = {int(tracks.end[row]): int(tracks.padset[row]) for row in range(tracks.n)}
    result = []
    for i, info in enumerate(told.ends):
        before = _before(info, options)
        rows = [
            _limit(info, "pads", (each.id, each.value), drawn.distance[i, values.index(each.value)], before)
            for each in limits[i]
        ]
        rows += _others(info, catalogue, drawn, i, before, options, rng)
        boots = boot_draws(info.placed, info.place, life, info.last_clock, options.draws, rng)
        if boots is not None:
            rows.append(_limit(info, "boots", ("boot_torn", math.nan), boots, before))
        deciding = [row for row in rows if row.limit != "pad_road"]
        first = min(deciding, key=lambda row: row.p05)
        mine = tracks.padset == last[i]
        padset = int(present.cleaned.origin[last[i]])
        start = info.fitted[padset - info.first_set] + present.cleaned.shift[last[i]]
        result.append(
            EndOutlook(
                info,
                tuple(rows),
                _three(drawn.rate[i]),
                _three(drawn.friction[i]),
                first.part,
                int(tracks.count[mine].sum()),
                float(start),
            )
        )
    return tuple(result)


def _before(info: EndInfo, options: Options) -> float:
    if options.before is not None:
        return options.before
    return info.placed[-1].inspection.next_wheels_off or _NEXT_VISIT


def _three(draws: Floats) -> tuple[float, float, float]:
    low, middle, high = np.quantile(draws, _SHARES)
    return float(low), float(middle), float(high)


def _limit(info: EndInfo, part: str, limit: tuple[str, float], draws: Floats, before: float) -> LimitOutlook:
    low, middle, high = _three(draws)
    chance = float((draws < before).mean())
    return LimitOutlook(info.vehicle, str(info.place), part, *limit, low, middle, high, before, chance)


def _others(
    info: EndInfo,
    catalogue: Catalogue,
    drawn: Remaining,
    i: int,
    before: float,
    options: Options,
    rng: np.random.Generator,
) -> list[LimitOutlook]:
    """Rotor and play, where they were ever read."""
    day = info.placed[-1].inspection.taken_on
    limits = catalogue.limits_for(info.design.id, day)
    rows = []
    clock, value = series(info.placed, info.place, "rotor_thickness")
    if clock.size:
        rate = float(np.median(drawn.rate[i])) * _ROTOR_SHARE
        drift = Drift(float(np.log(rate)), _ROTOR_SPREAD, grows=False)
        least = limits["rotor_min"].value if "rotor_min" in limits else info.design.rotor_min
        u = catalogue.fields["rotor_thickness"].u
        draws = drift_draws(clock, value, u, least, drift, info.last_clock, options.draws, rng)
        rows.append(_limit(info, "rotor", ("rotor_min", least), draws, before))
    for name, limit in _PLAY_LIMITS.items():
        clock, value = series(info.placed, info.place, name)
        if clock.size and limit in limits:
            drift = Drift(float(np.log(_PLAY_RATE)), _PLAY_SPREAD, grows=True)
            u = catalogue.fields[name].u
            most = limits[limit].value
            draws = drift_draws(clock, value, u, most, drift, info.last_clock, options.draws, rng)
            rows.append(_limit(info, "play", (limit, most), draws, before))
    return rows


def _axles(
    ends: tuple[EndOutlook, ...], drawn: Remaining, limits: list[list[Limit]], values: list[float]
) -> tuple[AxleOutlook, ...]:
    groups: dict[tuple[str, str], list[int]] = {}
    for i, end in enumerate(ends):
        groups.setdefault((end.info.vehicle, end.info.place.axle), []).append(i)
    result = []
    for (vehicle, axle), members in groups.items():
        service = [values.index(limits[i][0].value) for i in members]
        draws = np.min([drawn.distance[i, k] for i, k in zip(members, service, strict=True)], axis=0)
        low, middle, high = _three(draws)
        rows = [row for i in members for row in ends[i].limits if row.limit != "pad_road"]
        first = min(rows, key=lambda row: row.p05)
        before = first.before
        info = ends[members[0]].info
        result.append(
            AxleOutlook(
                vehicle,
                axle,
                info.role,
                info.duty,
                low,
                middle,
                high,
                before,
                float((draws < before).mean()),
                f"{first.part} {first.at}",
                first.p05,
                draws,
                info.axis,
            )
        )
    return tuple(result)
