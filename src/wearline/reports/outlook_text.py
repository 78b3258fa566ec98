"""A forecast as lines of text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from wearline.forecasting.outlook import AxleOutlook, EndOutlook, Outlook

__all__ = ["outlook_lines", "plan_lines"]

_CAUTION = (
    "A forecast is no inspection: it says when to look, not that the brakes are good. The maker, the "
    "local code and a qualified person decide."
)


def outlook_lines(found: Outlook) -> list[str]:
    """Return a forecast as lines.

    Parameters
    ----------
    found : Outlook
        The forecast.

    Returns
    -------
    list of str
        Axles, wheel ends, findings.
    """
    if not found.ends:
        lines = ["There is no reading to forecast from."]
    else:
        lines = ["Distances in thousand km from the last inspection to the pads' service limit.", ""]
        lines.append(f"{'axle':<18} {'median':>8} {'5 %':>8} {'95 %':>8}  chance before the next visit")
        lines += [_axle(axle) for axle in found.axles]
        lines += [
            "",
            f"{'wheel end':<18} {'mm now':>8} {'mm/10 000 km':>12}  pads median (5 %)   first of all",
        ]
        lines += [_end(end) for end in found.ends]
    if found.findings:
        lines += ["", "Found in the history:"]
        for each in found.findings:
            out = " It stays out until decided." if each.kept_out else ""
            place = " ".join(part for part in (each.vehicle, each.at) if part)
            lines.append(f"- {place}: {each.text}.{out} {each.cure}.")
    return [*lines, "", _CAUTION]


def _mm(metres: float) -> str:
    return f"{metres * 1e3:.1f}"


def _axle(axle: AxleOutlook) -> str:
    name = f"{axle.vehicle} axle {axle.axle}"
    return (
        f"{name:<18} {axle.median / 1e6:>8.0f} {axle.p05 / 1e6:>8.0f} {axle.p95 / 1e6:>8.0f}  "
        f"{100 * axle.p_beyond:.1f} % within {axle.before / 1e6:.0f}; decided by {axle.decides} "
        f"({axle.earliest / 1e6:.0f})"
    )


def _end(end: EndOutlook) -> str:
    pads = end.limits[0]
    name = f"{end.info.vehicle} {end.info.place}"
    rate = end.rate[1] * 1e3 * 1e7
    return (
        f"{name:<18} {_mm(end.friction[1]):>8} {rate:>12.2f}  {pads.median / 1e6:>6.0f} "
        f"({pads.p05 / 1e6:.0f})         {end.decides}"
    )


def plan_lines(answer: Mapping[str, Any]) -> list[str]:
    """Return a plan as lines.

    Parameters
    ----------
    answer : mapping
        Under schema ``wearline.plan/1``.

    Returns
    -------
    list of str
        Bookings, parts to hold, what is not possible.
    """
    lines = [f"{'week':>4} {'from':<10}  {'shop':<12} {'vehicle':<14} {'axles':<8} {'hours':>6} {'risk':>7}"]
    for row in answer["bookings"]:
        lines.append(
            f"{row['week']:>4} {row['begins_on']:<10}  {row['shop']:<12} {row['vehicle']:<14} "
            f"{' '.join(row['axles']):<8} {row['hours']:>6.1f} {100 * row['risk']:>6.1f}%"
        )
    if not answer["bookings"]:
        lines = ["No axle has to come in these weeks."]
    for why in answer["not_possible"]:
        lines.append(f"Not possible: {why}.")
    first = [row for row in answer["orders"] if row["week"] == 1]
    for row in first:
        lines.append(f"Hold with open orders {row['order_up_to']} x {row['part']} ({row['shop']}).")
    if answer["gap"] is not None:
        lines.append(f"A better plan could cost at most {100 * answer['gap']:.2f} % less.")
    return [*lines, "", _CAUTION]
