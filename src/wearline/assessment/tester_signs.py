"""What the shape of a force curve says: evidence for the diagnosis, in words with cause codes.

A shape accuses several causes; it never proves one. Codes are those of the catalogue of causes.
"""

from __future__ import annotations

import math

from wearline.assessment.braking_numbers import braking_number
from wearline.assessment.tester_results import CurveFit, CurveSign, WheelCurve
from wearline.catalogue.load_limits import load_limits

__all__ = ["axle_signs", "wheel_signs"]

SURE = 2.0
"""A difference counts from so many standard uncertainties on."""


def wheel_signs(wheel: WheelCurve, drag: float) -> tuple[CurveSign, ...]:
    """Return what the curve of one wheel says.

    Parameters
    ----------
    wheel : WheelCurve
        Its figures.
    drag : float, [N]
        Force before the rise.

    Returns
    -------
    tuple of CurveSign
        Empty where nothing is unusual; that is no proof that nothing is wrong.
    """
    signs = [
        _no_rise(wheel),
        _levels(wheel),
        _steepens(wheel),
        _threshold(wheel.fit),
        _hysteresis(wheel),
        _drag(wheel, drag),
        _lag(wheel),
        _swing(wheel),
        _lock(wheel),
    ]
    return tuple(sign for sign in signs if sign is not None)


def _no_rise(wheel: WheelCurve) -> CurveSign | None:
    if wheel.fit is not None or wheel.rises == 0:
        return None
    return CurveSign(
        "the force does not rise with the pressure: the brake does not act", ("A1", "P1", "V1", "G4")
    )


def _levels(wheel: WheelCurve) -> CurveSign | None:
    if not wheel.levels_off:
        return None
    return CurveSign(
        f"the curve levels off, {100 * wheel.levels_off:.0f} % under its own line at the top: the stroke is "
        "used up by clearance, or the tyre slips on the roller",
        ("A1", "A3", "A7"),
    )


def _steepens(wheel: WheelCurve) -> CurveSign | None:
    if not wheel.steepens:
        return None
    return CurveSign(
        f"the curve grows steeper by {100 * wheel.steepens:.0f} % toward the top: one pad joins late, as "
        "when calliper or pad does not slide",
        ("G4", "G5", "P1", "G8"),
    )


def _threshold(fit: CurveFit | None) -> CurveSign | None:
    limit = braking_number("threshold_high")
    if fit is None or fit.threshold - SURE * fit.u_threshold < limit:
        return None
    return CurveSign(f"force begins only at {fit.threshold / 1e5:.2f} bar", ("A1", "A6", "P1", "V1", "V6"))


def _hysteresis(wheel: WheelCurve) -> CurveSign | None:
    if wheel.hysteresis is None or wheel.hysteresis < braking_number("hysteresis_large"):
        return None
    return CurveSign(
        f"on the way down the force stands {100 * wheel.hysteresis:.0f} % of the highest above that on the "
        "way up: something holds the brake on",
        ("G6", "A4", "A6", "A8", "P1", "V3"),
    )


def _drag(wheel: WheelCurve, drag: float) -> CurveSign | None:
    if wheel.drag_after is None or wheel.drag_after - drag < braking_number("drag_left"):
        return None
    return CurveSign(
        f"{wheel.drag_after / 1e3:.1f} kN are left after the release, {drag / 1e3:.1f} kN before the rise: "
        "it does not let go",
        ("A2", "A4", "A8", "P1", "V2", "V3"),
    )


def _lag(wheel: WheelCurve) -> CurveSign | None:
    if wheel.lag is None or wheel.lag < braking_number("lag_long"):
        return None
    return CurveSign(
        f"the force comes {wheel.lag:.1f} s behind the pressure: hose, valve or a stiff calliper",
        ("V1", "V3", "A4", "A6"),
    )


def _swing(wheel: WheelCurve) -> CurveSign | None:
    if wheel.swing is None or not wheel.swing_at or wheel.u_swing is None:
        return None
    share = wheel.swing / wheel.swing_at
    if share <= load_limits()["force_swing"].value or wheel.swing < SURE * wheel.u_swing:
        return None
    return CurveSign(
        f"at steady pressure the force swings by {100 * share:.0f} % in a turn: the rotor is not even",
        ("R1", "R2", "R8"),
        "common practice",
    )


def _lock(wheel: WheelCurve) -> CurveSign | None:
    if wheel.locked_at is None:
        return None
    return CurveSign(
        f"the wheel locked at {wheel.locked_at / 1e5:.1f} bar: from there on the roller shows grip, not the "
        "brake",
        (),
        "derived",
    )


def axle_signs(left: WheelCurve, right: WheelCurve) -> tuple[CurveSign, ...]:
    """Return what the difference of the two curves of an axle says.

    Parameters
    ----------
    left, right : WheelCurve
        Both ends.

    Returns
    -------
    tuple of CurveSign
        Different thresholds speak of air or return springs, different slopes of friction or force.
    """
    if left.fit is None or right.fit is None:
        return ()
    signs = []
    one, two = left.fit, right.fit
    apart = one.threshold - two.threshold
    u = math.hypot(one.u_threshold, two.u_threshold)
    if abs(apart) > max(braking_number("threshold_difference"), SURE * u):
        late = left.place if apart > 0.0 else right.place
        signs.append(
            CurveSign(
                f"force begins {abs(apart) / 1e5:.2f} bar later at {late}: less air there, stiff parts or a "
                "stuck pad",
                ("V1", "P1", "A6"),
            )
        )
    greater, smaller = max(one.slope, two.slope), min(one.slope, two.slope)
    share = 1.0 - smaller / greater
    u = math.hypot(one.u_slope / one.slope, two.u_slope / two.slope)
    if share > max(braking_number("slope_difference"), SURE * u):
        weak = left.place if one.slope < two.slope else right.place
        signs.append(
            CurveSign(
                f"per bar {weak} gains {100 * share:.0f} % less force: friction, lever, slide or another "
                "chamber",
                ("P5", "P6", "P4", "A6", "G4", "V5"),
            )
        )
    return tuple(signs)
