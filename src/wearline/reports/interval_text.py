"""Distances between looks as lines of text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

__all__ = ["amount_text", "caution_lines", "interval_lines", "warning_lines"]

_CAUTION = (
    "A forecast is no inspection: it says when to look, not that the brakes are good. The maker, the "
    "local code and a qualified person decide; a shorter interval of theirs stands."
)


_LITTLE = 5.0
"""[%] Below this a gain is not worth a new gauge (expert judgement)."""


def caution_lines() -> list[str]:
    """Return what stands below every answer about a fleet.

    Returns
    -------
    list of str
        An empty line and the caution.
    """
    return ["", _CAUTION]


def amount_text(amount: float | None, unit: str) -> str:
    """Return an amount of road, hours or stops to three digits.

    Parameters
    ----------
    amount : float or None
        The amount.
    unit : str
        Its unit.

    Returns
    -------
    str
        As ``"25 400 km"``; a dash for None.
    """
    if amount is None:
        return "-"
    if amount >= 1000.0:
        step = 10.0 ** (len(f"{amount:.0f}") - 3)
        amount = amount // step * step
    return f"{amount:,.0f} {unit}".replace(",", " ")


def warning_lines(warnings: Sequence[Mapping[str, Any]], most: int = 8) -> list[str]:
    """Return the doubts of an answer.

    Parameters
    ----------
    warnings : sequence of mapping
        Notices.
    most : int, optional
        How many are shown; the rest is counted.

    Returns
    -------
    list of str
        Lines, empty without a doubt.
    """
    if not warnings:
        return []
    lines = ["", "To know:"]
    for each in warnings[:most]:
        where = f"{each['where']}: " if each["where"] else ""
        cure = f" {each['cure']}." if each["cure"] else ""
        text = each["text"]
        lines.append(f"- {where}{text if text.endswith('.') else text + '.'}{cure}")
    if len(warnings) > most:
        lines.append(f"- and {len(warnings) - most} more in the history: see 'wearline outlook'.")
    return lines


def interval_lines(answer: Mapping[str, Any]) -> list[str]:
    """Return distances between looks as lines.

    Parameters
    ----------
    answer : mapping
        Under schema ``wearline.interval/1``.

    Returns
    -------
    list of str
        The answer, a table of groups, what better knowledge would buy, doubts.
    """
    risk = f"{100 * answer['risk']:g} %"
    lines = [answer["says"], ""]
    lines.append(
        f"{'duty, axle role':<28} {'axles':>5} {'look every':>12} {'costs':>20} "
        f"{'cheapest at all (risk)':>25} {'median life':>13}"
    )
    lines += [_row(group) for group in answer["groups"]]
    lines += [
        "",
        f"At 'look every' at most {risk} of the pad sets cross the service limit unseen, if pads that might",
        "not last until the next look come off at this one. Costs are looks, pads and misses of one axle.",
        "",
        "What more readings or a better gauge would buy, pads half worn: known to (one standard deviation),",
        "safe for, and how much farther; in brackets the money saved by the same amount as above.",
        f"{'duty, axle role':<28} {'readings, u':>16} {'known to':>8} {'safe for':>12} "
        f"{'twice the readings':>20} {'gauge of ' + _fine(answer):>20} {'both':>20}",
    ]
    lines += [_knowledge(group) for group in answer["groups"]]
    lines += ["", _worth(answer)]
    return [*lines, *warning_lines(answer["warnings"]), *caution_lines()]


def _name(group: Mapping[str, Any]) -> str:
    return f"{group['duty']}, {group['role']}"


def _row(group: Mapping[str, Any]) -> str:
    unit = group["unit"]
    cheapest = group["cheapest"]
    chosen = group["chosen"] or cheapest
    cost = f"{chosen['total']:.2f} per {amount_text(group['per'], unit)}"
    other = f"{amount_text(cheapest['amount'], unit)} ({100 * cheapest['risk']:.1f} %)"
    return (
        f"{_name(group):<28} {group['axles']:>5} {amount_text(group['every'], unit):>12} {cost:>20} "
        f"{other:>25} {amount_text(group['median_life'], unit):>13}"
    )


def _fine(answer: Mapping[str, Any]) -> str:
    u = min(row["u_mm"] for group in answer["groups"] for row in group["knowledge"])
    return f"u {u:g} mm"


def _knowledge(group: Mapping[str, Any]) -> str:
    rows = {row["what"]: row for row in group["knowledge"]}
    now, unit = rows["as now"], group["unit"]
    gains = []
    for what in ("twice the readings", "a finer gauge", "both"):
        row = rows[what]
        more = max(row["longest_half_worn"] - now["longest_half_worn"], 0.0)
        saved = max(now["least_total"] - row["least_total"], 0.0)
        gains.append(f"{'+' + amount_text(more, unit) + f' ({saved:.2f})':>20}")
    known = f"{now['readings']}, {now['u_mm']:.2f} mm"
    return (
        f"{_name(group):<28} {known:>16} {now['spread_percent']:>6.0f} % "
        f"{amount_text(now['longest_half_worn'], unit):>12} " + " ".join(gains)
    )


def _worth(answer: Mapping[str, Any]) -> str:
    """Whether knowing the pads better is worth much, in one sentence."""
    gains = []
    for group in answer["groups"]:
        rows = {row["what"]: row for row in group["knowledge"]}
        gains.append(rows["both"]["longest_half_worn"] / max(rows["as now"]["longest_half_worn"], 1e-9) - 1.0)
    most = 100 * max(gains)
    if most < _LITTLE:
        return (
            f"Knowing the pads better buys at most {most:.0f} %: the work to come is what is uncertain, and "
            "no reading shows that. Look at those whose work changes."
        )
    return f"Knowing the pads better lets some run up to {most:.0f} % farther at the same risk."
