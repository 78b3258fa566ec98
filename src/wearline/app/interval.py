"""How far between two looks: by duty and axle role, with its cost and what better knowledge would buy."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wearline.app.forecasting import Question, outlook
from wearline.app.shop_file import ShopFile, price_note
from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError
from wearline.forecasting.axes import KILOMETRES, Axis
from wearline.forecasting.intervals import (
    CostPoint,
    LookCosts,
    axle_groups,
    cost_curve,
    gain_of_readings,
    lives_of_group,
    longest_distance,
    service_minimum,
)
from wearline.forecasting.nested import Floats
from wearline.forecasting.outlook import Outlook
from wearline.forecasting.settings import ForecastSettings

if TYPE_CHECKING:
    from wearline.app.fleet_types import (
        CostPointJson,
        IntervalAnswer,
        IntervalGroupJson,
        KnowledgeJson,
        PricesJson,
    )

__all__ = ["axis_step", "history_warnings", "interval_answer", "intervals_of", "prices_json"]

_STEPS = 80
_FEW = 3
_FINE_GAUGE = 0.05e-3
"""[m] Standard uncertainty that a digital gauge with a good foot reaches (expert judgement)."""


@dataclass(frozen=True, slots=True)
class _Group:
    """One duty and axle role of a forecast."""

    duty: str
    role: str
    members: list[int]
    axis: Axis
    lives: Floats
    usable: float
    readings: int
    u: float
    future: float
    now: Floats


def axis_step(axis: Axis) -> tuple[float, float]:
    """Return the amount by which money is counted on an axis.

    Parameters
    ----------
    axis : Axis
        What wear is counted against.

    Returns
    -------
    float, float
        Amount in the unit of the axis (1 000 km, 100 h, 10 000 stops), and the same as a distance [m].
    """
    amount = {"km": 1000.0, "h": 100.0, "stops": 10_000.0}[axis.unit]
    return amount, amount / axis.amount(1.0)


def prices_json(shops: ShopFile) -> PricesJson:
    """Return the prices that an answer rests on.

    Parameters
    ----------
    shops : ShopFile
        The prices.

    Returns
    -------
    PricesJson
        With the names of those that no file says.
    """
    return {
        "visit": shops.visit_cost,
        "pad_set": shops.pad_set,
        "rotor_pair": shops.rotor_pair,
        "miss": shops.miss,
        "pad_sets": dict(shops.pad_sets),
        "invented": [n for n in ("visit", "pad_set", "rotor_pair", "miss") if n not in shops.said],
    }


def history_warnings(found: Outlook) -> list[dict[str, str]]:
    """Return what was found in the history and stays out, as notices.

    Parameters
    ----------
    found : Outlook
        The forecast.

    Returns
    -------
    list of dict
        Code, text, where and cure.
    """
    return [
        {
            "code": each.code,
            "text": each.text,
            "where": f"{each.vehicle} {each.at}".strip(),
            "cure": each.cure,
        }
        for each in found.findings
        if each.kept_out
    ]


def intervals_of(question: Question, shops: ShopFile, risk: float) -> IntervalAnswer:
    """Answer how far between two looks, from everything that was kept.

    Parameters
    ----------
    question : Question
        The forecast that it rests on.
    shops : ShopFile
        Prices.
    risk : float, 0 to 1
        Share of pad sets that may cross the service limit unseen.

    Returns
    -------
    IntervalAnswer
        Under schema ``wearline.interval/1``.

    Raises
    ------
    InputError
        If the database cannot be read, or nothing in it can be forecast.
    """
    found = outlook(question)
    if not found.axles:
        raise InputError(
            "there is no reading of pads to work an interval out of",
            where=question.database,
            allowed="inspections with pad thicknesses and a counter",
            cure="Keep inspections first",
        )
    return interval_answer(found, shops, risk)


def interval_answer(found: Outlook, shops: ShopFile, risk: float) -> IntervalAnswer:
    """Return the distances between looks as JSON values.

    Parameters
    ----------
    found : Outlook
        The forecast; at least one axle.
    shops : ShopFile
        Prices.
    risk : float, 0 to 1
        Share of pad sets that may cross the service limit unseen.

    Returns
    -------
    IntervalAnswer
        Groups in alphabetical order.
    """
    settings = ForecastSettings()
    groups = [_json(_group(found, key, rows, settings), shops, risk) for key, rows in _groups(found)]
    return {
        "schema": "wearline.interval/1",
        "says": _says(groups, risk),
        "risk": risk,
        "prices": prices_json(shops),
        "groups": groups,
        "warnings": [
            {"code": w["code"], "text": w["text"], "where": w["where"], "cure": w["cure"]}
            for w in [*_price_warning(shops), *_few(groups), *history_warnings(found)]
        ],
    }


def _price_warning(shops: ShopFile) -> list[dict[str, str]]:
    names = ("visit", "pad_set", "miss")
    if all(name in shops.said for name in names):
        return []
    cure = "Give your own with --shops FILE"
    return [{"code": "invented-prices", "text": price_note(shops, names), "where": "", "cure": cure}]


def _few(groups: list[IntervalGroupJson]) -> list[dict[str, str]]:
    names = [f"{g['duty']}, {g['role']} ({g['axles']})" for g in groups if g["axles"] < _FEW]
    if not names:
        return []
    text = f"few axles stand behind some groups, and speak for these vehicles only: {'; '.join(names)}"
    return [{"code": "few-axles", "text": text, "where": "", "cure": "Keep more inspections"}]


def _groups(found: Outlook) -> list[tuple[tuple[str, str], list[int]]]:
    """Groups of one axis each: vehicles counted in hours stand apart from those counted in km."""
    result = []
    for key, members in axle_groups(found).items():
        units: dict[str, list[int]] = {}
        for i in members:
            units.setdefault(found.axles[i].axis.unit, []).append(i)
        result += [(key, own) for own in units.values()]
    return result


def _group(found: Outlook, key: tuple[str, str], members: list[int], settings: ForecastSettings) -> _Group:
    present = found.present
    assert present is not None
    names = {(found.axles[i].vehicle, found.axles[i].axle) for i in members}
    ends = [end for end in found.ends if (end.info.vehicle, end.info.place.axle) in names]
    corners = [end.readings / 8.0 for end in ends]
    u = load_catalogue().fields["pad_inner"].u * present.hyper.scale
    return _Group(
        *key,
        members,
        found.axles[members[0]].axis if len(members) else KILOMETRES,
        lives_of_group(found, members, settings),
        float(np.mean([end.info.design.friction_new - service_minimum(end) for end in ends])),
        max(round(float(np.mean(corners))), 1),
        float(u),
        present.future_duty,
        np.concatenate([found.axles[i].distance for i in members]),
    )


def _spread(group: _Group, readings: int, u: float) -> float:
    """How well the distance left is known at a look, pads half worn."""
    half = 0.5 * group.usable
    settings = replace(ForecastSettings(), future_duty=group.future)
    prior = float(np.log(group.lives).std())
    return gain_of_readings(half, half, settings, readings=readings, u=u, prior_spread=prior)


def _json(group: _Group, shops: ShopFile, risk: float) -> IntervalGroupJson:
    axis, lives = group.axis, group.lives
    amount, step = axis_step(axis)
    median = float(np.median(lives))
    distances = np.geomspace(0.03 * median, 1.3 * median, _STEPS)
    costs = LookCosts(shops.visit_cost, shops.pad_set, shops.miss)
    spread = _spread(group, group.readings, group.u)
    curve = cost_curve(lives, costs, [float(d) for d in distances], spread=spread, risk=risk)
    within = [point for point in curve if point.risk <= risk]
    chosen = min(within, key=lambda point: point.total, default=None)
    longest = max((point.distance for point in within), default=None)
    first = longest_distance(lives, risk)
    now = longest_distance(group.now, risk)

    def point_json(point: CostPoint) -> CostPointJson:
        return _point(point, axis, step)

    return {
        "duty": group.duty,
        "role": group.role,
        "axles": len(group.members),
        "unit": axis.unit,
        "per": amount,
        "every": None if chosen is None else round(axis.amount(chosen.distance), 1),
        "every_km": None if chosen is None else round(chosen.distance / 1e3, 1),
        "longest": None if longest is None else round(axis.amount(longest), 1),
        "longest_km": None if longest is None else round(longest / 1e3, 1),
        "first_look": round(axis.amount(first), 1),
        "first_look_km": round(first / 1e3, 1),
        "nobody_looks": round(axis.amount(now), 1),
        "nobody_looks_km": round(now / 1e3, 1),
        "median_life": round(axis.amount(median), 1),
        "median_life_km": round(median / 1e3, 1),
        "cheapest": point_json(min(curve, key=lambda point: point.total)),
        "chosen": None if chosen is None else point_json(chosen),
        "curve": [point_json(point) for point in curve],
        "knowledge": _knowledge(group, costs, distances, risk),
    }


def _point(point: CostPoint, axis: Axis, step: float) -> CostPointJson:
    return {
        "km": round(point.distance / 1e3, 1),
        "amount": round(axis.amount(point.distance), 1),
        "look": round(point.look * step, 3),
        "pads": round(point.pads * step, 3),
        "miss": round(point.miss * step, 3),
        "total": round(point.total * step, 3),
        "risk": round(point.risk, 5),
        "wasted": round(point.wasted, 4),
    }


def _knowledge(group: _Group, costs: LookCosts, distances: Floats, risk: float) -> list[KnowledgeJson]:
    """What is known of a half-worn pad as now, with twice the readings, with a finer gauge, with both."""
    from scipy.special import ndtri

    n, u = group.readings, group.u
    fine = min(_FINE_GAUGE, u)
    cases = (
        ("as now", n, u),
        ("twice the readings", 2 * n, u),
        ("a finer gauge", n, fine),
        ("both", 2 * n, fine),
    )
    half = 0.5 * float(np.median(group.lives))
    rows: list[KnowledgeJson] = []
    for what, readings, gauge in cases:
        spread = _spread(group, readings, gauge)
        ahead = half * float(np.exp(ndtri(risk) * spread))
        curve = cost_curve(group.lives, costs, [float(d) for d in distances], spread=spread, risk=risk)
        least = min((point.total for point in curve if point.risk <= risk), default=float("nan"))
        if not np.isfinite(least):
            least = min(point.total for point in curve)
        rows.append(
            {
                "what": what,
                "readings": readings,
                "u_mm": round(gauge * 1e3, 3),
                "spread_percent": round(100 * spread, 1),
                "longest_half_worn_km": round(ahead / 1e3, 1),
                "longest_half_worn": round(group.axis.amount(ahead), 1),
                "least_total": round(least * axis_step(group.axis)[1], 3),
            }
        )
    return rows


def _says(groups: list[IntervalGroupJson], risk: float) -> str:
    known = [group for group in groups if group["every_km"] is not None]
    if not known:
        return f"No distance between looks keeps the risk at {100 * risk:g} %: more readings are needed."

    def say(group: IntervalGroupJson) -> str:
        every = group["every"] or 0.0
        return f"{group['duty']} {group['role']} every {_rough(every)} {group['unit']}"

    def key(group: IntervalGroupJson) -> float:
        return group["every_km"] or 0.0

    first, last = min(known, key=key), max(known, key=key)
    tail = f"; {say(last)} is enough" if last is not first else ""
    share = f"{100 * risk:g} %"
    return f"Look soonest at {say(first)}{tail}: then at most {share} of the pad sets cross the limit unseen."


def _rough(amount: float) -> str:
    """An amount to two digits, as an interval is given to people."""
    if amount < 10.0:
        return f"{amount:.0f}"
    step = 10.0 ** (len(f"{amount:.0f}") - 2)
    # down, never up: a longer distance has more risk
    return f"{np.floor(amount / step) * step:,.0f}".replace(",", " ")
