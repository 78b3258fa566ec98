"""One vehicle: from above as last seen, what follows, its history, and the thinnest corners over the road."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter

from wearline.reports.content import found_paragraph
from wearline.reports.content_model import Picture
from wearline.reports.vehicle_drawing import draw_vehicle, wheel_end_state
from wearline.web.asking import Ask, add_page
from wearline.web.fleet_index import Line
from wearline.web.judging import Judged
from wearline.web.range_chart import draw_ranges
from wearline.web.refusals import not_found
from wearline.web.trend_chart import TrendPoint, draw_trend, thinnest_points

__all__ = ["VehiclePage", "axles_by_vehicle", "first_axles", "picture_of", "router"]

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Trend:
    """The thinnest corners of one axle over the road.

    Parameters
    ----------
    axle : str
        Which.
    picture : Picture
        The chart.
    points : tuple of TrendPoint
        What it shows.
    """

    axle: str
    picture: Picture
    points: tuple[TrendPoint, ...]


@dataclass(frozen=True, slots=True)
class VehiclePage:
    """The page of a vehicle.

    Parameters
    ----------
    vehicle, description, kind : str
        Which.
    latest : Line
        Its latest inspection.
    drawing : Picture
        From above.
    found : str
        What the latest inspection found, in one paragraph.
    level : int
        Of the road decision.
    meaning : str
        The same in words.
    conditions : tuple of str
        Under which it may go.
    ends : tuple of (str, str)
        Wheel end, and what is known there.
    history : tuple of (Line, mapping or None)
        Inspections, the latest first, with what followed.
    trends : tuple of Trend
        One for each axle with pads measured.
    outlook : tuple of mapping
        Forecast of its axles, where one was worked out.
    ranges : Picture or None
        The same drawn.
    query : str
        Names the vehicle in an address.
    """

    vehicle: str
    description: str
    kind: str
    latest: Line
    drawing: Picture
    found: str
    level: int
    meaning: str
    conditions: tuple[str, ...]
    ends: tuple[tuple[str, str], ...]
    history: tuple[tuple[Line, dict[str, Any] | None], ...]
    trends: tuple[Trend, ...]
    outlook: tuple[dict[str, Any], ...]
    ranges: Picture | None
    query: str


def picture_of(judged: Judged) -> Picture:
    """Return a vehicle from above with what is known at its wheel ends.

    Parameters
    ----------
    judged : Judged
        Its inspection.

    Returns
    -------
    Picture
        The drawing.
    """
    judgement = judged.judgement
    states = "; ".join(f"{end.place} {', '.join(wheel_end_state(end).words)}" for end in judgement.wheel_ends)
    drawing = draw_vehicle(judged.inspection.vehicle, judgement)
    return Picture(drawing, f"The vehicle from above, front up. {states}.")


def _build(ask: Ask) -> VehiclePage:
    name = ask.query.get("id", "")
    lines = ask.index.history(name, superseded=True)
    current = [line for line in lines if line.superseded_by is None]
    if not current:
        raise not_found(f"nothing is kept of a vehicle '{name[:80]}'")
    latest = current[0]
    judged = ask.recent.judged(ask.shop.store.inspection(latest.id))
    cards = ask.index.cards(lines, compute=3)
    vehicle = judged.inspection.vehicle
    axles = tuple(ask.bench.derived("outlook", "by vehicle", axles_by_vehicle).get(vehicle.id, ()))
    return VehiclePage(
        vehicle=vehicle.id,
        description=vehicle.description,
        kind=vehicle.kind,
        latest=latest,
        drawing=picture_of(judged),
        found=found_paragraph(judged.judgement),
        level=judged.road.level,
        meaning=judged.road.meaning,
        conditions=tuple(judged.road.conditions),
        ends=tuple((end.place, ", ".join(wheel_end_state(end).words)) for end in judged.judgement.wheel_ends),
        history=tuple((line, cards.get(line.digest)) for line in lines),
        trends=_trends(ask, judged),
        outlook=axles,
        ranges=draw_ranges(axles) if axles else None,
        query=urlencode({"id": vehicle.id}),
    )


def axles_by_vehicle(answer: Mapping[str, Any]) -> dict[str, list[dict[str, Any]]]:
    """Return the axles of a forecast by their vehicle.

    Parameters
    ----------
    answer : mapping
        As ``wearline outlook --json`` gives it; empty where there is none.

    Returns
    -------
    dict of str to list of dict
        In the order of the answer.
    """
    found: dict[str, list[dict[str, Any]]] = {}
    for axle in answer.get("axles", ()):
        found.setdefault(axle["vehicle"], []).append(axle)
    return found


def first_axles(answer: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Return for each vehicle the axle at which the wheels must come off first.

    Parameters
    ----------
    answer : mapping
        As ``wearline outlook --json`` gives it; empty where there is none.

    Returns
    -------
    dict of str to dict
        The axle whose first limit of any part comes first, at its 5 % bound.
    """
    return {
        vehicle: min(axles, key=lambda axle: axle["decides_km_p05"])
        for vehicle, axles in axles_by_vehicle(answer).items()
    }


def _trends(ask: Ask, judged: Judged) -> tuple[Trend, ...]:
    vehicle = judged.inspection.vehicle
    points = thinnest_points(ask.shop.overview.thinnest(vehicle.id, ("pad_inner", "pad_outer")))
    found = []
    for axle in vehicle.axles:
        own = tuple(point for point in points if point.at[:-1] == axle.id)
        if not own:
            continue
        limits = judged.catalogue.limits_for(axle.design, judged.inspection.taken_on) if axle.design else {}
        deciding = [each.value for each in limits.values() if each.field == "pad_thinnest" and each.decides]
        limit = round(1e3 * deciding[0], 2) if deciding else None
        found.append(Trend(axle.id, draw_trend(axle.id, own, limit), own))
    return tuple(found)


add_page(router, "/vehicle", "vehicle.html", _build)
