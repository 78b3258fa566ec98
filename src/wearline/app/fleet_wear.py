"""What a fleet does with its pads: lives, renewals too early and too late, ends that wear unlike others."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from wearline.app.shop_file import ShopFile
from wearline.forecasting.intervals import axle_groups, lives_of_group, service_minimum
from wearline.forecasting.outlook import EndOutlook, Outlook
from wearline.forecasting.pad_lives import AxleSet, axle_sets, end_sets
from wearline.forecasting.settings import ForecastSettings

if TYPE_CHECKING:
    from wearline.app.outlook_types import (
        CrossedJson,
        FleetWearJson,
        GroupWearJson,
        OutlierJson,
        RenewalsJson,
    )

__all__ = ["fleet_wear"]

_MOST_DOTS = 60
_MOST_ROWS = 100
_EARLY = 2.0e-3
"""[m] Friction above the limit with which pads came off early (a house rule)."""

_STRANGE = 2.0
"""[1] Standard deviations from the middle of its group at which a wheel end is worth a look."""

_UNLIKE_MATE = 1.4
"""[1] Wear of one end over that of its mate at which both are worth a look (expert judgement)."""

_LEAST_GROUP = 4
_BIN = 0.5e-3


def fleet_wear(found: Outlook, shops: ShopFile | None = None) -> FleetWearJson | None:
    """Return what a fleet does with its pads, as JSON values.

    Parameters
    ----------
    found : Outlook
        The forecast.
    shops : ShopFile, optional
        Prices; the invented examples where not given.

    Returns
    -------
    FleetWearJson or None
        None where no pad was measured with the wheels off.
    """
    if found.present is None or not found.axles:
        return None
    sets = axle_sets(end_sets(found))
    prices = shops or ShopFile()
    return {
        "pad_set_price": prices.pad_set,
        "price_is_invented": "pad_set" not in prices.said,
        "groups": _groups(found, sets),
        "renewals": _renewals(found, sets, prices),
        "crossed": _crossed(found, sets),
        "outliers": _outliers(found),
    }


def _some(values: Sequence[float]) -> list[float]:
    """At most so many of them, evenly from the least to the greatest."""
    ordered = sorted(values)
    if len(ordered) > _MOST_DOTS:
        ordered = [ordered[round(n * (len(ordered) - 1) / (_MOST_DOTS - 1))] for n in range(_MOST_DOTS)]
    return [round(value, 2) for value in ordered]


def _groups(found: Outlook, sets: Sequence[AxleSet]) -> list[GroupWearJson]:
    ended: dict[tuple[str, str], list[float]] = {}
    for each in sets:
        start, renewed = each.ends[0].start, each.renewed
        if math.isfinite(start) and math.isfinite(renewed):
            amount = each.info.axis.amount(renewed - start)
            ended.setdefault((each.info.duty, each.info.role), []).append(amount)
    ratios = _ratios(found)
    rows: list[GroupWearJson] = []
    for (duty, role), members in axle_groups(found).items():
        axis = found.axles[members[0]].axis
        own = [i for i in members if found.axles[i].axis.unit == axis.unit]
        lives = lives_of_group(found, own, ForecastSettings(), draws=4000)
        low, middle, high = (axis.amount(float(q)) for q in np.quantile(lives, (0.05, 0.5, 0.95)))
        done = ended.get((duty, role), [])
        rows.append(
            {
                "duty": duty,
                "role": role,
                "unit": axis.unit,
                "axles": len(members),
                "life_p05": round(low, 1),
                "life_median": round(middle, 1),
                "life_p95": round(high, 1),
                "ended_sets": len(done),
                "ended_lives": _some(done),
                "wear_ratios": _some(ratios.get((duty, role), [])),
            }
        )
    return rows


def _ratios(found: Outlook) -> dict[tuple[str, str], list[float]]:
    """Wear of every wheel end over the middle of its group."""
    rates: dict[tuple[str, str], list[float]] = {}
    for end in found.ends:
        rates.setdefault((end.info.duty, end.info.role), []).append(math.log(end.rate[1]))
    return {key: [math.exp(r - float(np.median(own))) for r in own] for key, own in rates.items()}


def _renewals(found: Outlook, sets: Sequence[AxleSet], prices: ShopFile) -> RenewalsJson:
    """Friction left when pads came off: above the limit it was thrown away."""
    bins: dict[int, int] = {}
    wasted = money = 0.0
    count = early = late = 0
    for each in sets:
        if not math.isfinite(each.renewed):
            continue
        worst = each.worst
        end = found.ends[worst.end]
        limit = service_minimum(end)
        over = float(worst.left - limit)
        count += 1
        early += over > _EARLY
        late += over < 0.0
        wasted += max(over, 0.0)
        price = prices.pad_set_of(_part(each))
        money += price * max(over, 0.0) / (end.info.design.friction_new - limit)
        number = math.floor(max(worst.left, 0.0) / _BIN + 1e-9)
        bins[number] = bins.get(number, 0) + 1
    limits = [service_minimum(end) for end in found.ends]
    return {
        "count": count,
        "early": early,
        "late": late,
        "limit_mm": round(1e3 * float(np.median(limits)), 3),
        "early_above_mm": round(1e3 * _EARLY, 3),
        "wasted_mm": round(1e3 * wasted, 1),
        "wasted_money": round(money, 2),
        "bin_mm": round(1e3 * _BIN, 3),
        "left_mm": [[round(1e3 * number * _BIN, 3), n] for number, n in sorted(bins.items())],
    }


def _part(each: AxleSet) -> str:
    words = {
        end.word("pad_part")
        for one in each.ends
        for look in one.looks()
        if (end := look.inspection.wheel_end(one.info.place)) is not None
    } - {""}
    return words.pop() if len(words) == 1 else ""


def _crossed(found: Outlook, sets: Sequence[AxleSet]) -> list[CrossedJson]:
    """Pads that a look found below the service limit."""
    rows: list[CrossedJson] = []
    for each in sets:
        for end in each.ends:
            limit = service_minimum(found.ends[end.end])
            if end.thinnest >= limit:
                continue
            look = end.looks()[-1]
            rows.append(
                {
                    "vehicle": end.info.vehicle,
                    "at": str(end.info.place),
                    "thinnest_mm": round(1e3 * end.thinnest, 2),
                    "limit_mm": round(1e3 * limit, 3),
                    "found_on": look.inspection.taken_on.isoformat(),
                    "still_on": not math.isfinite(end.renewed),
                }
            )
    rows.sort(key=lambda row: (not row["still_on"], row["thinnest_mm"]))
    return rows[:_MOST_ROWS]


def _outliers(found: Outlook) -> list[OutlierJson]:
    """Wheel ends that wear unlike the others of their duty and role, or unlike their mate."""
    present = found.present
    assert present is not None
    spread = float(present.hyper.variance[:3].sum())
    groups: dict[tuple[str, str], list[EndOutlook]] = {}
    for end in found.ends:
        groups.setdefault((end.info.duty, end.info.role), []).append(end)
    rates = {(end.info.vehicle, str(end.info.place)): end.rate[1] for end in found.ends}
    rows: list[OutlierJson] = []
    for (duty, role), ends in groups.items():
        middle = float(np.median([math.log(end.rate[1]) for end in ends]))
        for end in ends:
            own = math.log(end.rate[1]) - middle
            doubt = (math.log(end.rate[2] / max(end.rate[0], 1e-30)) / 3.29) ** 2
            z = own / math.sqrt(spread + doubt)
            mate = rates.get((end.info.vehicle, str(end.info.place.mate)), end.rate[1])
            beside = end.rate[1] / mate
            alone = len(ends) >= _LEAST_GROUP and abs(z) > _STRANGE
            if not alone and beside < _UNLIKE_MATE:
                continue
            rows.append(
                {
                    "vehicle": end.info.vehicle,
                    "at": str(end.info.place),
                    "duty": duty,
                    "role": role,
                    "ratio": round(math.exp(own), 2),
                    "mate_ratio": round(beside, 2),
                    "deviations": round(z, 2),
                }
            )
    rows.sort(key=lambda row: -max(abs(row["deviations"]) / _STRANGE, row["mate_ratio"] / _UNLIKE_MATE))
    return rows[:_MOST_ROWS]
