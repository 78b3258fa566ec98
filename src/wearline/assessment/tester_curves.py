"""Force curves of a brake tester: threshold, slope, hysteresis, lag, swing, imbalance, force at full load.

Every figure comes from a robust fit, so that single wrong samples do not matter, and carries an
uncertainty. What the shape of a curve says is evidence for a diagnosis, in words with cause codes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from wearline.assessment.braking_numbers import braking_number
from wearline.assessment.robust import MAD_TO_SIGMA, RobustLine, huber_line
from wearline.assessment.tester_phases import Cycle, cycles, shifted_pressure
from wearline.assessment.tester_results import (
    AxleCurves,
    CurveFit,
    CurveReport,
    PressureBalance,
    WheelCurve,
)
from wearline.assessment.tester_signs import axle_signs, wheel_signs
from wearline.assessment.vehicle import STANDARD_GRAVITY
from wearline.physics.chamber import check_pressure
from wearline.physics.domain import check_mass
from wearline.records.tester_curve import ForceCurve

__all__ = ["judge_curves", "judge_wheel"]

Floats = NDArray[np.float64]

FOOT = 0.08
"""Share of the force range left out at the foot, where the pads begin to bear."""

STRAIGHT_PART = 0.65
"""Share of the pressure range that is taken as straight where a curve levels off."""

COMPARED = (2e5, 4e5)
"""[Pa] Pressures at which the two ends of an axle are held against one another."""

WINDOW = 0.4e5
"""[Pa] Half width of the part of a curve that gives its force at one pressure."""

LAGS = np.arange(0.0, 1.2001, 0.02)
"""[s] Delays that are tried, every fifth of them first."""

COARSE = 5

TURNS = np.linspace(1.0, 8.0, 141)
"""[s] Times of one turn of the wheel that are tried."""

STEADY = 0.01
"""Change of the pressure, over the pressure, within which the top counts as steady for the swing."""

SURE = 3.0
"""A bend counts from so many standard uncertainties on."""

FEWEST = 5


def judge_curves(
    curves: Sequence[ForceCurve], *, full_pressure: float | None = None, mass: float | None = None
) -> CurveReport:
    """Judge the force curves of a vehicle.

    Parameters
    ----------
    curves : sequence of ForceCurve
        One for each wheel.
    full_pressure : float, [Pa], optional
        Pressure of the extrapolation; 6.5 bar by default.
    mass : float, [kg], optional
        Mass for the efficiency at full pressure.

    Returns
    -------
    CurveReport
        Wheel by wheel and axle by axle.

    Raises
    ------
    DomainError
        If pressure or mass is absurd.
    """
    full = braking_number("curve_full_pressure") if full_pressure is None else full_pressure
    check_pressure(full)
    if mass is not None:
        check_mass(mass)
    wheels = tuple(judge_wheel(curve, full) for curve in curves)
    by_place = {wheel.place: wheel for wheel in wheels}
    names = dict.fromkeys(wheel.place[:-1] for wheel in wheels)
    axles = tuple(
        _axle(axle, by_place[axle + "L"], by_place[axle + "R"])
        for axle in names
        if axle + "L" in by_place and axle + "R" in by_place
    )
    efficiency, u = _efficiency(wheels, mass)
    return CurveReport(wheels, axles, full, efficiency, u)


def _efficiency(wheels: Sequence[WheelCurve], mass: float | None) -> tuple[float | None, float | None]:
    if mass is None or not wheels or any(wheel.full_load is None for wheel in wheels):
        return None, None
    weight = mass * STANDARD_GRAVITY
    total = sum(wheel.full_load or 0.0 for wheel in wheels)
    u = math.sqrt(sum((wheel.u_full_load or 0.0) ** 2 for wheel in wheels))
    return total / weight, u / weight


def judge_wheel(curve: ForceCurve, full_pressure: float) -> WheelCurve:
    """Judge the curve of one wheel.

    Parameters
    ----------
    curve : ForceCurve
        The record.
    full_pressure : float, [Pa]
        Pressure of the extrapolation.

    Returns
    -------
    WheelCurve
        Its figures and what its shape says.
    """
    found = [cycle for run in curve.runs for cycle in cycles(run)]
    lag, u_lag = _lag(found)
    tops = [slice(cycle.rise.start, max(cycle.hold.stop, cycle.rise.stop)) for cycle in found]
    rising = _joined([_put_back(cycle, part, lag) for cycle, part in zip(found, tops, strict=True)])
    falling = _joined([_put_back(cycle, cycle.fall, lag) for cycle in found])
    drag = _median([cycle.taken(cycle.before)[1] for cycle in found]) or 0.0
    after = _median([cycle.taken(cycle.after)[1] for cycle in found])
    # on an even rise an error of the delay moves the line along and does not tilt it
    ramps = _joined([_put_back(cycle, cycle.rise, lag) for cycle in found])
    straight = ramps if len(ramps[0]) >= 2 * FEWEST else rising
    fit, levels, steepens = _fit(straight, drag, u_lag * _rate(found))
    swing, u_swing, swing_at = _swing(found)
    pressure = [value for run in curve.runs for value in run.pressure]
    force = [value for run in curve.runs for value in run.force]
    locked = [cycle.run.pressure[cycle.locked] for cycle in found if cycle.locked is not None]
    full, u_full = _full_load(fit, rising, full_pressure, levels=levels > 0.0, steepens=steepens > 0.0)
    wheel = WheelCurve(
        place=str(curve.place),
        points=curve.points,
        rises=len(found),
        fit=fit,
        rising=rising,
        falling=falling,
        highest_pressure=max(pressure),
        highest_force=max(force),
        hysteresis=_hysteresis(rising, falling),
        lag=lag,
        swing=swing,
        u_swing=u_swing,
        swing_at=swing_at,
        drag_after=after,
        locked_at=min(locked) if locked else None,
        levels_off=levels,
        steepens=steepens,
        full_load=full,
        u_full_load=u_full,
    )
    return replace(wheel, signs=wheel_signs(wheel, drag))


def _put_back(cycle: Cycle, part: slice, lag: float | None) -> tuple[Floats, Floats]:
    """Part of a cycle with each force beside the pressure that it answers to."""
    pressure, force = cycle.taken(part)
    if lag:
        pressure = shifted_pressure(cycle.run, lag)[part.start : part.start + len(pressure)]
    return pressure, force


def _joined(parts: Sequence[tuple[Floats, Floats]]) -> tuple[Floats, Floats]:
    if not parts:
        return np.empty(0), np.empty(0)
    return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])


def _median(parts: Sequence[Floats]) -> float | None:
    values = np.concatenate(parts) if parts else np.empty(0)
    return float(np.median(values)) if len(values) >= 2 else None


def _fit(
    rising: tuple[Floats, Floats], drag: float, u_pressure: float
) -> tuple[CurveFit | None, float, float]:
    """Straight part of the rises; shortfall at the top and gain of slope where they are sure.

    `u_pressure` is what an uncertain delay means along the pressure.
    """
    pressure, force = rising
    if len(pressure) < FEWEST:
        return None, 0.0, 0.0
    top = float(np.quantile(force, 0.98))
    bears = force > drag + FOOT * (top - drag)
    if bears.sum() < FEWEST or float(np.ptp(pressure[bears])) <= 0.0:
        return None, 0.0, 0.0
    first = huber_line(pressure[bears], force[bears])
    if first.slope <= 0.0 or top - drag <= SURE * first.scatter:
        return None, 0.0, 0.0
    # chosen anew by pressure: a choice by the noisy force itself would tilt the line
    begins = (drag - first.intercept) / first.slope
    bears = pressure > begins + FOOT * (pressure.max() - begins)
    pressure, force = pressure[bears], force[bears]
    if len(pressure) < FEWEST or float(np.ptp(pressure)) <= 0.0:
        return None, 0.0, 0.0
    line = huber_line(pressure, force)
    if line.slope <= 0.0:
        return None, 0.0, 0.0
    highest = float(pressure.max())
    lower = pressure <= pressure.min() + STRAIGHT_PART * float(np.ptp(pressure))
    levels = _levels_off(pressure, force, lower)
    if levels > 0.0:
        line = huber_line(pressure[lower], force[lower])
        highest = float(pressure[lower].max())
    steepens = 0.0 if levels > 0.0 else _steepens(pressure, force)
    shifted = line.covariance * _fewer_than_they_seem(line, pressure, force)
    shifted[0, 0] += (line.slope * u_pressure) ** 2
    return CurveFit(replace(line, covariance=shifted), drag, highest), levels, steepens


def _fewer_than_they_seem(line: RobustLine, pressure: Floats, force: Floats) -> float:
    """Growth of the variance because neighbours in time err alike, as over the turn of an uneven rotor.

    (1 + r) / (1 - r) with r the correlation of neighbours, for a first-order process.
    """
    left = force - line.intercept - line.slope * pressure
    reach = 3.0 * max(line.scatter, 1e-9)
    left = np.clip(left, -reach, reach)
    squares = float(left @ left)
    r = float(left[1:] @ left[:-1]) / squares if squares > 0.0 else 0.0
    r = min(max(r, 0.0), 0.98)
    return (1.0 + r) / (1.0 - r)


def _levels_off(pressure: Floats, force: Floats, lower: NDArray[np.bool_]) -> float:
    """Shortfall at the top below the line of the lower part, over that line, where it is sure."""
    upper = pressure >= pressure.max() - 0.1 * float(np.ptp(pressure))
    if lower.sum() < FEWEST or upper.sum() < 2 or float(np.ptp(pressure[lower])) <= 0.0:
        return 0.0
    line = huber_line(pressure[lower], force[lower])
    expected, u = line.at(float(np.median(pressure[upper])))
    u = math.hypot(u, line.scatter / math.sqrt(int(upper.sum())))
    short = expected - float(np.median(force[upper]))
    if expected <= 0.0 or short < SURE * u or short / expected < braking_number("levels_off"):
        return 0.0
    return short / expected


def _steepens(pressure: Floats, force: Floats) -> float:
    """Gain of the slope from the lower to the upper half of the range, where it is sure."""
    middle = 0.5 * float(pressure.min() + pressure.max())
    halves = [pressure <= middle, pressure > middle]
    if any(half.sum() < FEWEST or float(np.ptp(pressure[half])) <= 0.0 for half in halves):
        return 0.0
    low, high = (huber_line(pressure[half], force[half]) for half in halves)
    if low.slope <= 0.0:
        return 0.0
    gain = high.slope / low.slope - 1.0
    u = math.sqrt(float(low.covariance[1, 1]) + float(high.covariance[1, 1])) / low.slope
    return gain if gain > max(braking_number("steepens"), SURE * u) else 0.0


def _hysteresis(rising: tuple[Floats, Floats], falling: tuple[Floats, Floats]) -> float | None:
    """Median excess of the release over the rise between 30 and 80 % of the pressure, over the force."""
    if len(rising[0]) < FEWEST or len(falling[0]) < FEWEST:
        return None
    top = float(rising[0].max())
    levels = np.linspace(0.3, 0.8, 11) * top
    gaps = []
    for level in levels:
        up, down = (_near(part, level, 0.06 * top) for part in (rising, falling))
        if up is not None and down is not None:
            gaps.append(down - up)
    highest = float(np.quantile(rising[1], 0.98))
    return float(np.median(gaps)) / highest if len(gaps) >= 3 and highest > 0.0 else None


def _near(part: tuple[Floats, Floats], level: float, width: float) -> float | None:
    """Force at a pressure, from the points around it."""
    pressure, force = part
    chosen = np.abs(pressure - level) <= width
    if chosen.sum() < 2 or float(np.ptp(pressure[chosen])) <= 0.0:
        return None
    if chosen.sum() == 2:
        return float(np.interp(level, *_sorted(pressure[chosen], force[chosen])))
    return huber_line(pressure[chosen], force[chosen]).at(level)[0]


def _sorted(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    order = np.argsort(x)
    return x[order], y[order]


def _lag(found: Sequence[Cycle]) -> tuple[float | None, float]:
    """Delay that makes rise and steady top one line, with its standard uncertainty.

    While the pressure rises evenly a delay looks like a threshold. Where it turns level the two part: the
    force goes on rising for the time of the delay. Not known without times and a steady top.
    """
    usable = [
        cycle
        for cycle in found
        if cycle.run.time and cycle.locked is None and cycle.hold.stop - cycle.hold.start >= FEWEST
    ]
    if not usable:
        return None, 0.0

    def table(lags: Floats) -> Floats:
        return np.array([[_scatter([cycle], float(lag)) for lag in lags] for cycle in usable])

    coarse = table(LAGS[::COARSE])
    if not np.isfinite(coarse).all():
        return None, 0.0
    near = COARSE * int(np.argmin(coarse.sum(axis=0)))
    lags = LAGS[max(near - COARSE, 0) : near + COARSE + 1]
    fine = table(lags)
    together = float(lags[int(np.argmin(fine.sum(axis=0)))])
    single = lags[np.argmin(fine, axis=1)]
    # a delay is known no better than the distance of two samples
    step = max(float(np.median(np.diff(cycle.run.time))) for cycle in usable)
    spread = float(np.std(single, ddof=1)) / math.sqrt(len(single)) if len(single) > 1 else 0.0
    return together, max(spread, step, float(LAGS[1] - LAGS[0]))


def _rate(found: Sequence[Cycle]) -> float:
    """Usual speed of the rise [Pa/s]; 0 without times."""
    rates = []
    for cycle in found:
        if cycle.run.time:
            time, pressure = cycle.times(cycle.rise), np.asarray(cycle.run.pressure[cycle.rise])
            if len(time) > 1:
                rates.append(float(pressure[-1] - pressure[0]) / float(time[-1] - time[0]))
    return float(np.median(rates)) if rates else 0.0


def _scatter(found: Sequence[Cycle], lag: float) -> float:
    """Robust scatter about the line of upper rise and first half of the steady top, at a delay."""
    parts = []
    for cycle in found:
        stop = cycle.hold.start + max(FEWEST, (cycle.hold.stop - cycle.hold.start) // 2)
        whole = np.asarray(cycle.run.pressure[cycle.rise])
        # the upper half of the rise alone: below it a curve may bend for other reasons
        begin = cycle.rise.start + int(np.argmax(whole >= 0.5 * (whole[0] + whole.max())))
        part = slice(begin, min(stop, cycle.hold.stop))
        parts.append((shifted_pressure(cycle.run, lag)[part], np.asarray(cycle.run.force[part])))
    pressure, force = _joined(parts)
    if len(pressure) < FEWEST or float(np.ptp(pressure)) <= 0.0:
        return math.inf
    line = huber_line(pressure, force)
    residual = force - line.intercept - line.slope * pressure
    return float(np.mean(np.minimum(np.abs(residual), 3.0 * max(line.scatter, 1.0))))


def _swing(found: Sequence[Cycle]) -> tuple[float | None, float | None, float | None]:
    """Height of the wave of one turn at steady pressure, from the longest hold; with its uncertainty."""
    holds = [cycle for cycle in found if cycle.run.time and cycle.locked is None]
    if not holds:
        return None, None, None
    longest = max(holds, key=lambda cycle: float(np.ptp(cycle.times(cycle.hold))))
    time = longest.times(longest.hold)
    force = np.asarray(longest.run.force[longest.hold])
    pressure = np.asarray(longest.run.pressure[longest.hold])
    steady = np.abs(pressure - np.median(pressure)) <= STEADY * float(np.median(pressure))
    keep = steady & (time >= time[0] + min(1.0, 0.3 * float(np.ptp(time))))
    time, force = time[keep], force[keep]
    turns = TURNS[TURNS <= float(np.ptp(time)) / 1.05] if len(time) >= 8 else TURNS[:0]
    if not len(turns):
        return None, None, None
    # single wrong samples are drawn in before the wave is fitted
    middle = float(np.median(force))
    reach = 4.0 * MAD_TO_SIGMA * float(np.median(np.abs(force - middle)))
    force = np.clip(force, middle - reach, middle + reach)
    fits = [_wave(time, force, float(turn)) for turn in turns]
    amplitude, u, _ = min(fits, key=lambda fit: fit[2])
    # an amplitude of pure noise is never zero: what noise alone makes is taken off
    swing = 2.0 * math.sqrt(max(amplitude**2 - 2.0 * u**2, 0.0))
    return swing, 2.0 * u, float(np.median(force))


def _wave(time: Floats, force: Floats, turn: float) -> tuple[float, float, float]:
    """Amplitude of a wave of that period, its standard uncertainty, and the sum of squares left."""
    angle = 2.0 * math.pi * time / turn
    design = np.column_stack((np.ones_like(time), np.cos(angle), np.sin(angle), time - time.mean()))
    solved, *_ = np.linalg.lstsq(design, force, rcond=None)
    left = force - design @ solved
    squares = float(left @ left)
    u = math.sqrt(2.0 * squares / max(len(time) - 4, 1) / len(time))
    return math.hypot(float(solved[1]), float(solved[2])), u, squares


def _full_load(
    fit: CurveFit | None, rising: tuple[Floats, Floats], full: float, *, levels: bool, steepens: bool
) -> tuple[float | None, float | None]:
    """Force at full pressure: read where it was reached, else along the line unless that levels off."""
    if fit is None:
        return None, None
    tester = braking_number("tester_spread")
    pressure, force = rising
    if full <= float(pressure.max()):
        read = _force_at(rising, full, fit)
        if read is not None:
            return read[0], math.hypot(read[1], tester * read[0])
    if levels or full <= fit.threshold:
        return None, None
    line = fit.line
    if steepens:
        upper = pressure > 0.5 * (fit.threshold + float(pressure.max()))
        line = huber_line(pressure[upper], force[upper])
    value, u = line.at(full)
    beyond = max(full / fit.highest - 1.0, 0.0) * braking_number("curve_shape_spread")
    return value, math.hypot(u, value * math.hypot(tester, beyond))


def _force_at(
    rising: tuple[Floats, Floats], pressure: float, fit: CurveFit | None
) -> tuple[float, float] | None:
    """Force at a pressure with its uncertainty: a short line around it, else the line of the curve."""
    x, y = rising
    if not len(x) or pressure > float(x.max()) + WINDOW / 4.0:
        return None
    chosen = np.abs(x - pressure) <= WINDOW
    if chosen.sum() >= FEWEST and float(np.ptp(x[chosen])) > 0.0:
        return huber_line(x[chosen], y[chosen]).at(pressure)
    if fit is None or pressure > fit.highest:
        return None
    _, u = fit.line.at(pressure)
    return fit.force_at(pressure), u


def _axle(axle: str, left: WheelCurve, right: WheelCurve) -> AxleCurves:
    top = min(
        min(float(wheel.rising[0].max()) if len(wheel.rising[0]) else 0.0, wheel.locked_at or math.inf)
        for wheel in (left, right)
    )
    balances: list[PressureBalance] = []
    for pressure in (*COMPARED, top):
        if 0.0 < pressure <= top and all(pressure != known.pressure for known in balances):
            balance = _balance(left, right, pressure)
            if balance is not None:
                balances.append(balance)
    return AxleCurves(axle, tuple(balances), axle_signs(left, right))


def _balance(left: WheelCurve, right: WheelCurve, pressure: float) -> PressureBalance | None:
    forces = [_force_at(wheel.rising, pressure, wheel.fit) for wheel in (left, right)]
    if forces[0] is None or forces[1] is None:
        return None
    (one, u_one), (two, u_two) = forces[0], forces[1]
    greater, smaller = max(one, two), max(min(one, two), 0.0)
    if greater <= 0.0:
        return None
    tester = braking_number("tester_spread")
    share = smaller / greater
    relative = [math.hypot(u / max(force, 1.0), tester) for force, u in ((one, u_one), (two, u_two))]
    return PressureBalance(pressure, one, two, 1.0 - share, share * math.hypot(*relative))
