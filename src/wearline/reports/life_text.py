"""Lives of a part, and a batch against the others, as lines of text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from wearline.reports.interval_text import amount_text, caution_lines, warning_lines

__all__ = ["life_lines"]

_MOST_PARTS = 40


def life_lines(answer: Mapping[str, Any]) -> list[str]:
    """Return lives as lines.

    Parameters
    ----------
    answer : mapping
        Under schema ``wearline.life/1``.

    Returns
    -------
    list of str
        The answer, the batch, curve and fits, doubts.
    """
    unit, batch = answer["unit"], answer["batch"]
    lines = [answer["says"]]
    if batch is not None:
        lines += ["", *_batch_lines(batch, unit)]
    if answer["curve"]:
        lines += [
            "",
            f"Share that survives, of those sound at {amount_text(answer['since'], unit)} (found at a look; "
            "95 % interval):",
        ]
        for point in _some(answer["curve"]):
            lines.append(
                f"  {amount_text(point['age'], unit):>14}  {100 * point['share']:>5.1f} %  "
                f"({100 * point['low']:.0f} to {100 * point['high']:.0f} %), {point['at_risk']:.0f} at risk"
            )
    if answer["fits"]:
        lines += ["", "Fitted, ends between two looks and late entries allowed for, the likelier first:"]
        for fit in answer["fits"]:
            slope = "" if fit["slope"] is None else f", slope {fit['slope']:.2f}{_slope_words(fit['slope'])}"
            lines.append(
                f"  {fit['shape']:<10} 10 % by {amount_text(fit['age_10_percent'], unit)}, half by "
                f"{amount_text(fit['age_50_percent'], unit)}{slope}"
            )
    return [*lines, *warning_lines(answer["warnings"]), *caution_lines()]


def _slope_words(slope: float) -> str:
    if slope < 0.8:
        return " (early failures)"
    return " (wears out)" if slope > 1.25 else " (by chance, whatever the age)"


def _some(points: list[Mapping[str, Any]], most: int = 12) -> list[Mapping[str, Any]]:
    if len(points) <= most:
        return points
    step = (len(points) - 1) / (most - 1)
    return [points[round(n * step)] for n in range(most)]


def _batch_lines(batch: Mapping[str, Any], unit: str) -> list[str]:
    ahead = amount_text(batch["before"], unit)
    lines = [
        f"Parts of the batch on the vehicles, the most urgent first (chance to fail within {ahead}):",
    ]
    rows = batch["list"]
    for row in rows[:_MOST_PARTS]:
        chance = row["p_fails_before"]
        words = "found failed" if row["failed"] else "" if chance is None else f"{100 * chance:.0f} %"
        lines.append(f"  {row['vehicle']:<14} {row['at']:<4} {amount_text(row['age'], unit):>14}  {words}")
    if len(rows) > _MOST_PARTS:
        lines.append(f"  and {len(rows) - _MOST_PARTS} more: see --json")
    return lines
