"""A comparison of groups as lines of text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from wearline.reports.interval_text import amount_text, caution_lines, warning_lines

__all__ = ["compare_lines"]


def compare_lines(answer: Mapping[str, Any]) -> list[str]:
    """Return a comparison as lines.

    Parameters
    ----------
    answer : mapping
        Under schema ``wearline.compare/1``.

    Returns
    -------
    list of str
        The answer, a line for each group and comparison, doubts.
    """
    per, unit = answer["per"], answer["unit"]
    wear, money = f"mm/{amount_text(10 * per, unit)}", f"per {amount_text(per, unit)}"
    lines = [each["says"] for each in answer["comparisons"]]
    lines += [
        "",
        f"{answer['by']:<20} {'axle sets':>9} {'vehicles':>8} {'pad ' + wear:>18} {'rotor ' + wear:>20} "
        f"{'cost ' + money + ' (95 %)':>34}",
    ]
    for group in answer["groups"]:
        cost = f"{group['cost']:.2f} ({group['cost_low']:.2f} to {group['cost_high']:.2f})"
        rotor = f"{group['rotor_mm']:.3f}" + ("" if group["rotor_vehicles"] > 1 else " assumed")
        lines.append(
            f"{group['name']:<20} {group['axle_sets']:>9} {group['vehicles']:>8} {group['wear_mm']:>18.2f} "
            f"{rotor:>20} {cost:>34}"
        )
    lines += ["", "Second against first, pads and rotors together; wear is that of the pads alone:"]
    for each in answer["comparisons"]:
        lines.append(
            f"- {each['second']} / {each['first']}: cost {_span(each, 'cost')}, wear {_span(each, 'wear')}; "
            f"{'paired, ' if each['paired'] else ''}n = {each['count']}; a difference of "
            f"{each['smallest_percent']:g} % needs {each['needed']}"
        )
    return [*lines, *warning_lines(answer["warnings"]), *caution_lines()]


def _span(each: Mapping[str, Any], what: str) -> str:
    middle, low, high = (100.0 * (each[f"{what}_{part}"] - 1.0) for part in ("ratio", "low", "high"))
    return f"{middle:+.0f} % ({_signed(low)} to {_signed(high)})"


def _signed(percent: float) -> str:
    return f"{percent:+.0f}" if abs(percent) >= 1.0 else f"{percent:+.1f}"
