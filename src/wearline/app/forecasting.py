"""When must the wheels come off next: from a file or from everything that was kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, get_args

import numpy as np

from wearline.app.fleet_wear import fleet_wear
from wearline.app.judging import Request, open_inspection
from wearline.app.shop_file import ShopFile
from wearline.catalogue.loading import Catalogue, load_catalogue
from wearline.errors import InputError
from wearline.forecasting.axes import Axis, DatedInspection
from wearline.forecasting.findings import Decision, HistoryFinding
from wearline.forecasting.intervals import group_intervals
from wearline.forecasting.outlook import EndOutlook, LimitOutlook, Options, Outlook, forecast_wear
from wearline.forecasting.settings import ForecastSettings

if TYPE_CHECKING:
    from wearline.app.outlook_types import (
        AxleOutlookJson,
        FleetOutlookJson,
        GroupIntervalJson,
        HistoryFindingJson,
        LimitOutlookJson,
        OnAxisJson,
        OutlookAnswer,
        PresentEndJson,
    )

__all__ = [
    "Question",
    "crossing_soon",
    "decisions_from",
    "kept_history",
    "outlook",
    "outlook_answer",
]


@dataclass(frozen=True, slots=True)
class Question:
    """What to forecast.

    Parameters
    ----------
    file : Request or None
        A single inspection, by itself; None for what was kept.
    database : str
        File or address of the database, where no file is given.
    vehicle : str or None
        Only this vehicle is shown; the whole fleet is learnt from all the same.
    until : date or None
        Only inspections up to this day.
    options : Options
        Next visit, draws, decisions.
    catalogue : Catalogue or None
        Limits in force for what was kept; None for the shipped ones. A file brings its own.
    """

    file: Request | None
    database: str = ""
    vehicle: str | None = None
    until: date | None = None
    options: Options = field(default_factory=Options)
    catalogue: Catalogue | None = None


def kept_history(database: str, until: date | None = None) -> list[DatedInspection]:
    """Return everything that was kept, as the forecast takes it.

    Parameters
    ----------
    database : str
        File or address of the database.
    until : date or None
        Last day.

    Returns
    -------
    list of DatedInspection
        Corrected inspections only in their latest form.

    Raises
    ------
    StorageError
        If the database is missing or cannot be read.
    """
    from wearline.storage.opening import open_store

    with open_store(database, create=False) as store:
        kept = store.history(None, None, until)
    return [DatedInspection(item.id, item.inspection, item.counter_exchanged) for item in kept]


def outlook(question: Question, settings: ForecastSettings | None = None) -> Outlook:
    """Answer when the wheels must come off next.

    Parameters
    ----------
    question : Question
        File or database.
    settings : ForecastSettings, optional
        Expert judgement to start from.

    Returns
    -------
    Outlook
        Wheel ends, axles, findings.

    Raises
    ------
    InputError
        If a file is wrong, the database cannot be read, or the vehicle is not in it.
    """
    if question.file is not None:
        opened = open_inspection(question.file)
        only = DatedInspection(str(question.file.path), opened.inspection)
        return forecast_wear([only], opened.catalogue, settings, question.options)
    history = kept_history(question.database, question.until)
    known = {item.inspection.vehicle.id for item in history}
    if question.vehicle is not None and question.vehicle not in known:
        raise InputError(
            f"nothing is kept of {question.vehicle!r}",
            where=question.database,
            allowed=", ".join(sorted(known)[:12]) or "no vehicle is kept yet",
            cure="Keep its inspections first, or check the name",
        )
    catalogue = question.catalogue or load_catalogue()
    found = forecast_wear(history, catalogue, settings, question.options)
    return found if question.vehicle is None else _only(found, question.vehicle)


def _only(found: Outlook, vehicle: str) -> Outlook:
    return Outlook(
        tuple(end for end in found.ends if end.info.vehicle == vehicle),
        tuple(axle for axle in found.axles if axle.vehicle == vehicle),
        tuple(each for each in found.findings if each.vehicle == vehicle),
        found.present,
    )


def decisions_from(words: tuple[str, ...]) -> dict[str, Decision]:
    """Read decisions as typed, as ``ID=use`` or ``ID=leave out``.

    Parameters
    ----------
    words : tuple of str
        As typed.

    Returns
    -------
    dict of str to Decision
        By inspection.

    Raises
    ------
    InputError
        If a decision is none of these.
    """
    known: Mapping[str, Decision] = {word: word for word in get_args(Decision)}
    result: dict[str, Decision] = {}
    for word in words:
        name, equals, decision = word.rpartition("=")
        if not equals or not name or decision not in known:
            raise InputError(
                f"'{word}' is no decision",
                where="--decide",
                allowed=", ".join(f"ID={word}" for word in known),
                cure="Take the id of the inspection from the finding",
            )
        result[name] = known[decision]
    return result


def crossing_soon(found: Outlook, risk: float) -> bool:
    """Return whether pads, rotor or play are likelier than a risk to meet their limit before the next visit.

    Parameters
    ----------
    found : Outlook
        The forecast.
    risk : float
        Accepted chance.

    Returns
    -------
    bool
        True is exit code 1 of the command.
    """
    rows = [row for end in found.ends for row in end.limits]
    # a boot may tear on any day, so only one that is torn counts here
    soon = any(row.p_beyond > risk if row.part != "boots" else row.p95 == 0.0 for row in rows)
    return soon or any(each.kept_out for each in found.findings)


def _km(distance: float) -> float:
    return round(distance / 1e3, 1)


def _limit_json(row: LimitOutlook, axis: Axis) -> LimitOutlookJson:
    return {
        "vehicle": row.vehicle,
        "at": row.at,
        "part": row.part,
        "limit": row.limit,
        "km_p05": _km(row.p05),
        "km_median": _km(row.median),
        "km_p95": _km(row.p95),
        "p_beyond_before": {"km": _km(row.before), "probability": round(row.p_beyond, 4)},
        "on_axis": _on_axis(axis, row.p05, row.median, row.p95),
    }


def _on_axis(axis: Axis, low: float, middle: float, high: float) -> OnAxisJson:
    p05, median, p95 = (round(axis.amount(value), 1) for value in (low, middle, high))
    return {"unit": axis.unit, "p05": p05, "median": median, "p95": p95}


def _present_json(end: EndOutlook) -> PresentEndJson:
    fitted = end.info.last_clock - end.fitted
    rate = [round(value * 1e3 * 1e7, 3) for value in end.rate]
    friction = [round(value * 1e3, 2) for value in end.friction]
    odometer = end.info.last_odometer
    return {
        "vehicle": end.info.vehicle,
        "at": str(end.info.place),
        "role": end.info.role,
        "duty": end.info.duty,
        "odometer_km": None if odometer is None else _km(odometer),
        "pads_fitted_km_ago": _km(fitted) if np.isfinite(fitted) else None,
        "readings": end.readings,
        "friction_mm_p05": friction[0],
        "friction_mm_median": friction[1],
        "friction_mm_p95": friction[2],
        "wear_mm_per_10000_km_p05": rate[0],
        "wear_mm_per_10000_km_median": rate[1],
        "wear_mm_per_10000_km_p95": rate[2],
        "decides": end.decides,
    }


def finding_json(each: HistoryFinding) -> HistoryFindingJson:
    """Return a finding as JSON values.

    Parameters
    ----------
    each : HistoryFinding
        The finding.

    Returns
    -------
    HistoryFindingJson
        Its parts.
    """
    return {
        "code": each.code,
        "vehicle": each.vehicle,
        "at": each.at,
        "text": each.text,
        "cure": each.cure,
        "inspections": list(each.inspections),
        "kept_out": each.kept_out,
        "probability": None if each.probability is None else round(each.probability, 4),
    }


def outlook_answer(found: Outlook, *, risk: float = 0.01, shops: ShopFile | None = None) -> OutlookAnswer:
    """Return a forecast as JSON values.

    Parameters
    ----------
    found : Outlook
        The forecast.
    risk : float, optional
        Target of the distances between looks.
    shops : ShopFile, optional
        Price of the friction thrown away.

    Returns
    -------
    OutlookAnswer
        Under schema ``wearline.outlook/1``.

    Raises
    ------
    DomainError
        If the risk is no share.
    """
    axles: list[AxleOutlookJson] = [
        {
            "vehicle": axle.vehicle,
            "axle": axle.axle,
            "role": axle.role,
            "duty": axle.duty,
            "km_p05": _km(axle.p05),
            "km_median": _km(axle.median),
            "km_p95": _km(axle.p95),
            "p_beyond_before": {"km": _km(axle.before), "probability": round(axle.p_beyond, 4)},
            "decides": axle.decides,
            "decides_km_p05": _km(axle.earliest),
            "on_axis": _on_axis(axle.axis, axle.p05, axle.median, axle.p95),
        }
        for axle in found.axles
    ]
    intervals: list[GroupIntervalJson] = [
        {
            "duty": group.duty,
            "role": group.role,
            "axles": group.axles,
            "risk": group.risk,
            "longest_now_km": _km(group.longest),
            "longest_from_new_km": _km(group.longest_new),
            "median_life_km": _km(group.median_life),
        }
        for group in group_intervals(found, risk)
    ]
    return {
        "schema": "wearline.outlook/1",
        "wheel_ends": [_limit_json(row, end.info.axis) for end in found.ends for row in end.limits],
        "present": [_present_json(end) for end in found.ends],
        "axles": axles,
        "intervals": intervals,
        "fleet": _fleet(found),
        "fleet_wear": fleet_wear(found, shops),
        "findings": [finding_json(each) for each in found.findings],
        "warnings": [
            {
                "code": each.code,
                "text": each.text,
                "where": f"{each.vehicle} {each.at}".strip(),
                "cure": each.cure,
            }
            for each in found.findings
        ],
    }


def _fleet(found: Outlook) -> FleetOutlookJson | None:
    if found.present is None:
        return None
    hyper, levels = found.present.hyper, found.present.table.levels
    spread = {level: round(100 * float(v) ** 0.5, 1) for level, v in zip(levels, hyper.variance, strict=True)}
    return {
        "learnt_from_vehicles": hyper.vehicles,
        "spread_percent": spread,
        "reading_scale": round(hyper.scale, 3),
        "future_duty_percent": round(100 * found.present.future_duty, 1),
    }
