"""Friction materials, or whatever else splits a fleet, against each other: wear, and cost with the rotor."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wearline.app.forecasting import Question, outlook
from wearline.app.interval import axis_step, history_warnings, prices_json
from wearline.app.shop_file import ShopFile, price_note
from wearline.catalogue.loading import Catalogue, load_catalogue
from wearline.errors import InputError
from wearline.forecasting.axes import KILOMETRES, Axis
from wearline.forecasting.clocks import PlacedInspection
from wearline.forecasting.comparing import Comparison, Costs, Shared
from wearline.forecasting.group_sets import (
    LEAST,
    Grouped,
    GroupedSet,
    cells_of,
    compare_sets,
    group_sets,
    pairs_of,
)
from wearline.forecasting.nested import Floats
from wearline.forecasting.outlook import Outlook
from wearline.forecasting.pad_lives import EndSet

if TYPE_CHECKING:
    from wearline.app.fleet_types import (
        CompareAnswer,
        ComparedGroupJson,
        ComparedPairJson,
        ComparedSetJson,
        PairJson,
    )

__all__ = ["CompareRequest", "common_axis", "compare_answer", "compare_fleet", "group_keys", "signed_percent"]

_VEHICLE_KEYS = ("duty", "role", "design", "kind", "retarder", "place", "inspector")


@dataclass(frozen=True, slots=True)
class CompareRequest:
    """What to compare.

    Parameters
    ----------
    question : Question
        The forecast that it rests on.
    by : str
        What splits the pad sets: a text field of the wheel end, a fact of vehicle or inspection, or a label.
    shops : ShopFile
        Prices.
    first : str
        Group against which the others are held; the one with the most sets where empty.
    smallest : float, [1]
        Difference worth knowing, 0.15 for 15 %.
    """

    question: Question
    by: str
    shops: ShopFile
    first: str = ""
    smallest: float = 0.15


def group_keys(catalogue: Catalogue, found: Outlook) -> list[str]:
    """Return everything that a fleet can be split by.

    Parameters
    ----------
    catalogue : Catalogue
        Knows the text fields of a wheel end.
    found : Outlook
        Knows the labels of the vehicles.

    Returns
    -------
    list of str
        Text fields, facts, then labels.
    """
    texts = [
        name
        for name, spec in catalogue.fields.items()
        if spec.kind is None and not spec.words and not spec.vehicle_level
    ]
    labels = {
        name for end in found.ends for item in end.info.placed for name in item.inspection.vehicle.labels
    }
    return [*texts, *_VEHICLE_KEYS, *sorted(labels)]


def compare_fleet(request: CompareRequest) -> CompareAnswer:
    """Compare groups of pad sets, from everything that was kept.

    Parameters
    ----------
    request : CompareRequest
        What to compare.

    Returns
    -------
    CompareAnswer
        Under schema ``wearline.compare/1``.

    Raises
    ------
    InputError
        If the key is unknown, no look carries it, or a group is too small.
    """
    return compare_answer(outlook(request.question), request)


def compare_answer(found: Outlook, request: CompareRequest) -> CompareAnswer:
    """Compare groups of pad sets of a forecast.

    Parameters
    ----------
    found : Outlook
        The forecast.
    request : CompareRequest
        What to compare.

    Returns
    -------
    CompareAnswer
        Under schema ``wearline.compare/1``.

    Raises
    ------
    InputError
        If the key is unknown, no look carries it, or a group is too small.
    """
    keys = group_keys(load_catalogue(), found)
    if request.by not in keys:
        raise InputError(
            f"'{request.by}' is nothing that these inspections carry",
            where="--by",
            allowed=", ".join(keys),
            cure="Write it into the inspections: a text field of the wheel end, or labels of the vehicle",
        )
    axis = common_axis(found)
    grouped = group_sets(found, _group_of(request.by), unit=axis.unit)
    names = _names(grouped, request)
    costs = _costs(grouped, request)
    rates = np.array([each.rate for each in grouped.sets])
    amount, step = axis_step(axis)
    compared = [_pair(grouped, (names[0], name), costs, rates, request) for name in names[1:]]
    return {
        "schema": "wearline.compare/1",
        "says": " ".join(each["says"] for each in compared),
        "by": request.by,
        "unit": axis.unit,
        "per": amount,
        "prices": prices_json(request.shops),
        "groups": [_group_json(name, grouped, costs, rates, step) for name in names],
        "comparisons": compared,
        "sets": _sets_json(grouped, costs, step, names),
        "pairs": _pairs_json(grouped, costs, step, names, request.by),
        "warnings": [
            {"code": w["code"], "text": w["text"], "where": w["where"], "cure": w["cure"]}
            for w in [*_doubts(found, grouped, request, axis, len(names)), *history_warnings(found)]
        ],
    }


def common_axis(found: Outlook) -> Axis:
    """Return the axis that most wheel ends of a forecast are counted on.

    Parameters
    ----------
    found : Outlook
        The forecast.

    Returns
    -------
    Axis
        Road where there is no wheel end.
    """
    counted = Counter(end.info.axis.unit for end in found.ends)
    if not counted:
        return KILOMETRES
    unit = counted.most_common(1)[0][0]
    return next(end.info.axis for end in found.ends if end.info.axis.unit == unit)


def _group_of(by: str) -> Callable[[PlacedInspection, EndSet], str]:
    def of(look: PlacedInspection, end: EndSet) -> str:
        vehicle = look.inspection.vehicle
        facts = {
            "duty": end.info.duty,
            "role": end.info.role,
            "design": end.info.design.id,
            "kind": vehicle.kind,
            "retarder": vehicle.retarder,
            "place": look.inspection.place,
            "inspector": look.inspection.inspector,
        }
        if by in facts:
            return facts[by].strip()
        taken = look.inspection.wheel_end(end.info.place)
        word = "" if taken is None else taken.word(by)
        return word.strip() or vehicle.labels.get(by, "").strip()

    return of


def _names(grouped: Grouped, request: CompareRequest) -> list[str]:
    """Groups with enough vehicles, the one that the others are held against first."""
    vehicles: dict[str, set[str]] = {}
    for each in grouped.sets:
        vehicles.setdefault(each.group, set()).add(each.vehicle)
    count = Counter(each.group for each in grouped.sets)
    if not count:
        left = f"{grouped.without} axle sets say nothing, {grouped.changed} change, {grouped.short} are short"
        raise InputError(
            f"no pad set can be sorted by {request.by} ({left})",
            where="--by",
            allowed="pad sets with the same word at every look and readings far enough apart",
            cure=f"Write {request.by} into the inspections, and look again",
        )
    if request.first and request.first not in count:
        raise InputError(
            f"no pad set has {request.by} '{request.first}'",
            where="--first",
            allowed=", ".join(sorted(count)),
            cure="Write one of these",
        )
    said = ", ".join(f"{name} ({n} sets on {len(vehicles[name])} vehicles)" for name, n in count.items())
    usual = [name for name, _ in sorted(count.items(), key=lambda item: (-item[1], item[0]))]
    first = request.first or usual[0]
    rest = [name for name in usual if name != first and len(vehicles[name]) >= LEAST]
    if len(vehicles[first]) < LEAST or not rest:
        raise InputError(
            f"the groups by {request.by} are too small to be compared: {said}",
            where="--by",
            allowed=f"two groups with pad sets on {LEAST} vehicles or more",
            cure="Keep more inspections, or split by something else",
        )
    return [first, *rest]


def _costs(grouped: Grouped, request: CompareRequest) -> Floats:
    values = []
    for each in grouped.sets:
        shops = request.shops
        price = shops.pad_set_of(each.group) if request.by == "pad_part" else shops.pad_set
        costs = Costs(price, shops.rotor_pair, each.usable_pad, each.usable_rotor)
        share = grouped.rotor[each.group].share
        values.append(float(costs.by_distance(np.array(each.rate), np.array(each.rate * share))))
    return np.array(values)


def _across(grouped: Grouped, by: str) -> list[GroupedSet]:
    """The sets, held against each other over whatever they are split by."""
    sets = list(grouped.sets)
    if by == "role":
        return [replace(each, role="") for each in sets]
    return [replace(each, duty="") for each in sets] if by == "duty" else sets


def _rotor_doubt(grouped: Grouped, name: str, costs: Floats, request: CompareRequest) -> tuple[float, float]:
    """Standard uncertainty of the log cost of a group by its rotors, and the degrees of freedom."""
    rotor = grouped.rotor[name]
    parts = [
        request.shops.rotor_pair * each.rate / each.usable_rotor / cost
        for each, cost in zip(grouped.sets, costs, strict=True)
        if each.group == name
    ]
    return float(np.mean(parts)) * rotor.u, float(max(rotor.vehicles - 1, 1))


def _pair(
    grouped: Grouped, names: tuple[str, str], costs: Floats, rates: Floats, request: CompareRequest
) -> ComparedPairJson:
    doubts = [_rotor_doubt(grouped, name, costs, request) for name in names]
    u = math.hypot(doubts[0][0], doubts[1][0])
    dof = u**4 / sum(part**4 / n for part, n in doubts) if u > 0.0 else math.inf
    sets, smallest = _across(grouped, request.by), request.smallest
    cost, paired = compare_sets(sets, costs, names, smallest=smallest, shared=Shared(u, dof))
    wear, _ = compare_sets(sets, rates, names, smallest=smallest, shared=Shared())
    tells = cost.low > 1.0 or cost.high < 1.0
    return {
        "first": names[0],
        "second": names[1],
        "paired": paired,
        "count": cost.count,
        "cost_ratio": round(cost.ratio, 4),
        "cost_low": round(cost.low, 4),
        "cost_high": round(cost.high, 4),
        "wear_ratio": round(wear.ratio, 4),
        "wear_low": round(wear.low, 4),
        "wear_high": round(wear.high, 4),
        "p_value": round(cost.p_value, 5),
        "needed": cost.needed,
        "smallest_percent": round(100 * request.smallest, 1),
        "tells": tells,
        "says": _says(names, cost, paired=paired, tells=tells, smallest=request.smallest),
    }


def signed_percent(ratio: float) -> str:
    """Return how far a ratio lies from one, in percent with its sign.

    Parameters
    ----------
    ratio : float, more than 0
        The ratio.

    Returns
    -------
    str
        As ``"+29"``; with a decimal near zero, so that the sign can be read.
    """
    percent = 100.0 * (ratio - 1.0)
    return f"{percent:+.0f}" if abs(percent) >= 1.0 else f"{percent:+.1f}"


def _says(names: tuple[str, str], cost: Comparison, *, paired: bool, tells: bool, smallest: float) -> str:
    how = (
        f"{cost.count} pairs on one vehicle and axle role"
        if paired
        else f"{cost.count} vehicles or more each"
    )
    span = f"95 % interval {signed_percent(cost.low)} to {signed_percent(cost.high)} %"
    if tells:
        word = "more" if cost.ratio > 1.0 else "less"
        return (
            f"'{names[1]}' costs {100 * abs(cost.ratio - 1):.0f} % {word} than '{names[0]}' ({span}; {how})."
        )
    each = "pairs" if paired else "vehicles of each"
    need = (
        f"about {cost.needed} {each} would show {100 * smallest:.0f} %"
        if cost.needed > cost.count
        else f"a difference of {100 * smallest:.0f} % would have shown"
    )
    return f"'{names[1]}' against '{names[0]}': the data cannot tell ({span}; {how}); {need}."


def _group_json(name: str, grouped: Grouped, costs: Floats, rates: Floats, step: float) -> ComparedGroupJson:
    from scipy.special import stdtrit

    rows = [number for number, each in enumerate(grouped.sets) if each.group == name]
    by_vehicle: dict[str, list[float]] = {}
    for row in rows:
        by_vehicle.setdefault(grouped.sets[row].vehicle, []).append(float(np.log(costs[row])))
    logs = np.array([np.mean(own) for own in by_vehicle.values()])
    middle = float(logs.mean())
    error = float(logs.std(ddof=1) / math.sqrt(logs.size))
    reach = float(stdtrit(logs.size - 1, 0.975)) * error
    rate = float(np.exp(np.mean(np.log(rates[rows]))))
    return {
        "name": name,
        "axle_sets": len(rows),
        "vehicles": int(logs.size),
        "wear_mm": round(rate * 10.0 * step * 1e3, 3),
        "rotor_mm": round(rate * grouped.rotor[name].share * 10.0 * step * 1e3, 3),
        "rotor_vehicles": grouped.rotor[name].vehicles,
        "cost": round(math.exp(middle) * step, 3),
        "cost_low": round(math.exp(middle - reach) * step, 3),
        "cost_high": round(math.exp(middle + reach) * step, 3),
    }


def _sets_json(grouped: Grouped, costs: Floats, step: float, names: list[str]) -> list[ComparedSetJson]:
    return [
        {
            "group": each.group,
            "vehicle": each.vehicle,
            "axle": each.axle,
            "role": each.role,
            "wear_mm": round(each.rate * 10.0 * step * 1e3, 3),
            "cost": round(float(cost) * step, 3),
        }
        for each, cost in zip(grouped.sets, costs, strict=True)
        if each.group in names
    ]


def _pairs_json(grouped: Grouped, costs: Floats, step: float, names: list[str], by: str) -> list[PairJson]:
    cells = cells_of(_across(grouped, by), costs)
    return [
        {
            "first": names[0],
            "second": name,
            "vehicle": vehicle,
            "role": role,
            "cost_first": round(math.exp(a) * step, 3),
            "cost_second": round(math.exp(b) * step, 3),
        }
        for name in names[1:]
        for vehicle, role, a, b in pairs_of(cells, names[0], name)
    ]


def _doubts(
    found: Outlook, grouped: Grouped, request: CompareRequest, axis: Axis, groups: int
) -> list[dict[str, str]]:
    rows: list[tuple[str, str, str]] = []
    names = ("pad_set", "rotor_pair")
    if any(name not in request.shops.said for name in names):
        rows.append(("invented-prices", price_note(request.shops, names), "Give yours with --shops FILE"))
    others = sum(end.info.axis.unit != axis.unit for end in found.ends)
    if others:
        rows.append(
            (
                "other-axis",
                f"{others} wheel ends are not counted in {axis.unit} and take no part",
                "Compare them by themselves",
            )
        )
    if grouped.without:
        rows.append(
            (
                "no-group",
                f"{grouped.without} axle sets say nothing of {request.by}",
                "Write it into the inspections",
            )
        )
    if grouped.changed:
        text = f"{grouped.changed} axle sets have another {request.by} at another look"
        rows.append(("group-changes", text, "Correct those inspections"))
    if grouped.short:
        text = f"{grouped.short} axle sets have readings too close together to tell a rate"
        rows.append(("too-short", text, "They come in with the next look"))
    if any(rotor.u == 0.0 for rotor in grouped.rotor.values()):
        text = "too few rotors were measured twice: the rotor is counted alike in every group"
        rows.append(("rotor-not-measured", text, "Measure the rotor thickness at every look"))
    if groups > 2:
        text = f"{groups - 1} comparisons were made, and one in twenty shows a difference by luck"
        rows.append(("several-comparisons", text, "Trust only large differences"))
    return [{"code": code, "text": text, "where": "", "cure": cure} for code, text, cure in rows]
