"""Braking in plain lines: what is left, a proof, a descent, curves of a brake tester."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from wearline.assessment.braking_numbers import braking_numbers
from wearline.assessment.descents import DescentPlan
from wearline.assessment.proof_results import EndProof, Proof
from wearline.assessment.road_results import CapabilityLeft
from wearline.assessment.rotor_runs import RotorRun
from wearline.assessment.tester_results import AxleCurves, CurveReport, WheelCurve
from wearline.units import format_quantity

if TYPE_CHECKING:
    from wearline.planning.open_gates import OpenGate

__all__ = ["capability_left_lines", "curve_lines", "descent_lines", "heat_lines", "proof_lines"]


def capability_left_lines(left: CapabilityLeft) -> list[str]:
    """Return how much braking is left, in words.

    Parameters
    ----------
    left : CapabilityLeft
        From the road decision.

    Returns
    -------
    list of str
        One sentence each.
    """
    lines = []
    if left.share is not None and left.low is not None and left.high is not None:
        lines.append(
            f"Of the intended braking {100 * left.share:.0f} % is left "
            f"({100 * left.low:.0f} to {100 * left.high:.0f} %)."
        )
    elif left.low is not None and left.high is not None:
        lines.append(
            f"Of the intended braking between {100 * left.low:.0f} and {100 * left.high:.0f} % is left: not "
            "every brake is known."
        )
    lines += [
        f"{end.place}: {_share(end.share)} ({end.basis}{_because(end.states)})."
        for end in left.ends
        if end.share is None or end.share < 0.9 or end.states
    ]
    if left.stop is not None and left.stop.now is not None and left.stop.intact is not None:
        now, intact = left.stop.now, left.stop.intact
        lines.append(
            f"Stop from {3.6 * left.stop.speed:.0f} km/h, dry and level, the driver's reaction not counted: "
            f"{now[1]:.0f} m ({now[0]:.0f} to {now[2]:.0f}); in order {intact[1]:.0f} m "
            f"({intact[0]:.0f} to {intact[2]:.0f}). {left.stop.status.capitalize()}."
        )
    if left.mass_allowed is not None:
        lines.append(f"The house efficiency is kept up to {left.mass_allowed[0] / 1e3:.1f} t in total.")
    if left.slope_allowed is not None:
        lines.append(
            f"These brakes hold a slope of {100 * left.slope_allowed[0]:.1f} % for 5 km at 40 km/h without "
            "retarder (expert judgement, cautious)."
        )
    return lines


def _share(share: float | None) -> str:
    return "not known" if share is None else f"{100 * share:.0f} % of its force"


def _because(states: tuple[str, ...]) -> str:
    return f": {'; '.join(states)}" if states else ""


def proof_lines(proof: Proof, gates: Sequence[OpenGate]) -> list[str]:
    """Return a proof in words.

    Parameters
    ----------
    proof : Proof
        The proof.
    gates : sequence of OpenGate
        Gates still open.

    Returns
    -------
    list of str
        Wheel ends, axles, gates, and who decides.
    """
    lines = [f"{proof.vehicle_id}: as found on {proof.before_on}, as left on {proof.after_on}", ""]
    lines += [f"Note: {notice.text}. {notice.cure}." for notice in proof.warnings]
    for end in proof.wheel_ends:
        lines += _end_lines(end)
    lines.append("")
    for axle in proof.axles:
        lines.append(axle.text)
        if axle.imbalance_before is not None and axle.imbalance_after is not None:
            lines.append(
                f"  imbalance {100 * axle.imbalance_before:.1f} % as found, "
                f"{100 * axle.imbalance_after:.1f} % now"
            )
    lines += ["", *_gate_lines(gates)]
    lines.append("A proof states what was measured; it releases no vehicle. A person entitled to it signs.")
    return lines


def _end_lines(end: EndProof) -> list[str]:
    head = f"{end.place}  {end.restored}"
    if end.restored == "worse":
        head += f" (probability {_probability(end.probability_worse)})"
    else:
        head += f" (probability of being restored {_probability(end.probability)})"
    lines = [head + (f": {end.advice}" if end.advice else "")]
    marks = {True: "shown", False: "NOT shown", None: "not taken"}
    lines += [f"    {marks[item.shown]}: {item.text}" for item in end.evidence]
    return lines


def _probability(value: float) -> str:
    if value > 0.995:
        return "over 99 %"
    if value < 0.005:
        return "under 1 %"
    return f"{100 * value:.0f} %"


def _gate_lines(gates: Sequence[OpenGate]) -> list[str]:
    if not gates:
        return ["No gate of the job is open."]
    lines = ["Gates still open:"]
    lines += [
        f"  {gate.gate} {gate.at}: {gate.text} ({gate.because})".replace("  :", " :")
        for gate in gates
        if gate.kind != "signature"
    ]
    signed = [f"{gate.gate}{' ' + gate.at if gate.at else ''}" for gate in gates if gate.kind == "signature"]
    if signed:
        lines.append(f"  on the signed work sheet alone: {', '.join(signed)}")
    return lines


def descent_lines(plan: DescentPlan, cautions: Iterable[str]) -> list[str]:
    """Return a planned descent in words.

    Parameters
    ----------
    plan : DescentPlan
        The plan.
    cautions : iterable of str
        What must be said with it.

    Returns
    -------
    list of str
        Safe speed, temperatures, what the figures rest on, cautions.
    """
    task, outcome = plan.task, plan.outcome
    retarder = f", retarder {task.retarder / 1e3:.0f} kW" if task.retarder else ", no retarder"
    lines = [
        f"{task.mass / 1e3:g} t, {100 * task.slope:g} % down for {task.length / 1e3:g} km, {task.brakes:g} "
        f"brakes{retarder}"
    ]
    limit = format_quantity(plan.limit, "degC", 0)
    if plan.safe_speed > 0.0:
        lines.append(
            f"Safe speed {math.floor(3.6 * plan.safe_speed + 1e-9)} km/h: the brakes stay below {limit}, one "
            f"full stop at the bottom included. Likely {3.6 * plan.safe_speed_likely:.0f} km/h; the cautious "
            "figure counts."
        )
    else:
        lines.append(
            f"No safe speed: even at walking pace the brakes may pass {limit} (likely safe up to "
            f"{3.6 * plan.safe_speed_likely:.0f} km/h; the cautious figure counts). Do not drive this slope "
            "with this load and these brakes."
        )
    lines.append(
        f"At {3.6 * outcome.speed:.0f} km/h each brake takes {outcome.power / 1e3:.1f} kW and has "
        f"{format_quantity(float(outcome.likely[-1]), 'degC', 0)} at the bottom, "
        f"{format_quantity(float(outcome.cautious[-1]), 'degC', 0)} on the cautious side; a full stop adds "
        f"{outcome.stop_rise:.0f} K."
    )
    lines.append("Limit, cooling and drag area: expert judgement. No radiation: high figures are overstated.")
    lines += [
        f"Unverified, decides nothing: {number.published}: {number.note}"
        for number in braking_numbers().values()
        if not number.decides
    ]
    return [*lines, *(f"Caution: {text}" for text in cautions)]


def curve_lines(report: CurveReport, cautions: Iterable[str]) -> list[str]:
    """Return judged force curves in words.

    Parameters
    ----------
    report : CurveReport
        The report.
    cautions : iterable of str
        What must be said with it.

    Returns
    -------
    list of str
        Wheel by wheel, axle by axle, cautions.
    """
    lines = []
    for wheel in report.wheels:
        lines += _curve_wheel(wheel, report.full_pressure)
    for axle in report.axles:
        lines += _curve_axle(axle)
    if report.efficiency is not None and report.u_efficiency is not None:
        lines.append(
            f"Sum at {report.full_pressure / 1e5:.1f} bar over the weight: {100 * report.efficiency:.0f} % "
            f"(u {100 * report.u_efficiency:.1f} %), extrapolated."
        )
    return [*lines, *(f"Caution: {text}" for text in cautions)]


def _curve_wheel(wheel: WheelCurve, full: float) -> list[str]:
    rises = "1 rise" if wheel.rises == 1 else f"{wheel.rises} rises"
    lines = [f"{wheel.place}: {wheel.points} points, {rises}"]
    fit = wheel.fit
    if fit is not None:
        lines.append(
            f"    begins at {fit.threshold / 1e5:.2f} bar (u {fit.u_threshold / 1e5:.2f}), gains "
            f"{100 * fit.slope:.2f} kN per bar (u {100 * fit.u_slope:.2f})"
        )
    told = []
    if wheel.hysteresis is not None:
        told.append(f"hysteresis {round(100 * wheel.hysteresis)} %")
    if wheel.lag is not None:
        told.append(f"lag {wheel.lag:.2f} s")
    if wheel.swing is not None and wheel.swing_at:
        told.append(f"swing {100 * wheel.swing / wheel.swing_at:.0f} %")
    if wheel.drag_after is not None:
        told.append(f"drag after release {wheel.drag_after / 1e3:.1f} kN")
    if told:
        lines.append(f"    {', '.join(told)}")
    if wheel.full_load is not None and wheel.u_full_load is not None:
        lines.append(
            f"    at {full / 1e5:.1f} bar {wheel.full_load / 1e3:.1f} kN (u {wheel.u_full_load / 1e3:.1f})"
        )
    elif wheel.levels_off:
        lines.append("    not extrapolated: the curve levels off")
    lines += [_sign_line(sign.text, sign.causes, sign.status) for sign in wheel.signs]
    return lines


def _curve_axle(axle: AxleCurves) -> list[str]:
    at = ", ".join(
        f"{100 * balance.imbalance:.0f} % at {balance.pressure / 1e5:.1f} bar (u {100 * balance.u:.0f} %)"
        for balance in axle.balances
    )
    lines = [f"axle {axle.axle}: imbalance {at or 'not known'}"]
    return lines + [_sign_line(sign.text, sign.causes, sign.status) for sign in axle.signs]


def _sign_line(text: str, causes: tuple[str, ...], status: str) -> str:
    accused = f"; looks like {', '.join(causes)}" if causes else ""
    return f"    sign: {text}{accused} ({status})"


def heat_lines(run: RotorRun, cautions: Iterable[str]) -> list[str]:
    """Return the heat of a rotor over a drive in words.

    Parameters
    ----------
    run : RotorRun
        The run.
    cautions : iterable of str
        What must be said with it.

    Returns
    -------
    list of str
        Temperatures, energy, wear, what they rest on, cautions.
    """
    mean = float(run.history.mean[-1, 0])
    return [
        f"{run.cycle.distance / 1e3:.1f} km in {run.cycle.time[-1] / 60.0:.1f} min; "
        f"{run.energy / 1e6:.1f} MJ at this brake",
        f"Friction face up to {format_quantity(run.peak, 'degC', 0)}, after {run.peak_time:.0f} s; the ring "
        f"has {format_quantity(mean, 'degC', 0)} at the end.",
        f"Friction worn: {run.worn * 1e9:.0f} mm3 of both pads (regional duty, expert judgement).",
        "Cooling and drag area: expert judgement. Rolling resistance and the values of iron: unverified.",
        *(f"Caution: {text}" for text in cautions),
    ]
