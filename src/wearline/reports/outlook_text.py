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


_LIKELY = 0.05


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
        lines = [_first(found), "", "From the last inspection to the pads' service limit:"]
        lines.append(f"{'axle':<18} {'median':>14} {'5 %':>14} {'95 %':>14}  chance before the next visit")
        lines += [_axle(axle) for axle in found.axles]
        lines += [
            "",
            f"{'wheel end':<18} {'mm now':>7} {'worn by':>24} {'pads: median':>14} {'5 %':>14}  first of all",
        ]
        lines += [_end(end) for end in found.ends]
        counted = {end.info.axis.unit: end.info.axis for end in found.ends}
        for unit, axis in counted.items():
            if unit != "km":
                lines += ["", f"1 000 km stand for {axis.amount(1e6):,.0f} {unit} there, by usual work."]
    if found.findings:
        lines += ["", "Found in the history:"]
        for each in found.findings:
            out = " It stays out until decided." if each.kept_out else ""
            place = " ".join(part for part in (each.vehicle, each.at) if part)
            lines.append(f"- {place}: {each.text}.{out} {each.cure}.")
    return [*lines, "", _CAUTION]


def _first(found: Outlook) -> str:
    """The answer in one line: how many axles cannot wait, and which is the first."""
    axle = min(found.axles, key=lambda each: (each.earliest, each.median))
    likely = sum(each.p_beyond > _LIKELY for each in found.axles)
    many = "No axle is" if not likely else "1 axle is" if likely == 1 else f"{likely} axles are"
    name = f"{axle.vehicle} axle {axle.axle}"
    when = (
        f"{name} now ({axle.decides} is at its limit or may be)"
        if axle.earliest <= 0.0
        else f"{name} within {axle.axis.say(axle.earliest, rough=True)} ({axle.decides}, 5 % chance)"
    )
    return (
        f"Wheels off first: {when}. {many} likelier than {100 * _LIKELY:.0f} % to meet the pads' limit "
        "before the next visit."
    )


def _mm(metres: float) -> str:
    return f"{metres * 1e3:.1f}"


def _axle(axle: AxleOutlook) -> str:
    name = f"{axle.vehicle} axle {axle.axle}"

    def say(distance: float) -> str:
        return axle.axis.say(distance, rough=True)

    return (
        f"{name:<18} {say(axle.median):>14} {say(axle.p05):>14} {say(axle.p95):>14}  "
        f"{100 * axle.p_beyond:.1f} % within {say(axle.before)}; decided by {axle.decides} "
        f"({say(axle.earliest)})"
    )


def _end(end: EndOutlook) -> str:
    pads, axis = end.limits[0], end.info.axis
    name = f"{end.info.vehicle} {end.info.place}"
    step = {"km": 1e7, "h": axis.per_count * 3.6e6, "stops": axis.per_count * 1e5}[axis.unit]
    rate = f"{end.rate[1] * 1e3 * step:.2f} mm/{axis.say(step)}"
    return (
        f"{name:<18} {_mm(end.friction[1]):>7} {rate:>24} {axis.say(pads.median, rough=True):>14} "
        f"{axis.say(pads.p05, rough=True):>14}  {end.decides}"
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
