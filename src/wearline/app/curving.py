"""What do the force curves of a brake tester say?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from wearline.app.capability_answer import rounded
from wearline.assessment.braking_numbers import braking_numbers
from wearline.assessment.tester_curves import judge_curves
from wearline.assessment.tester_results import AxleCurves, CurveReport, CurveSign, WheelCurve
from wearline.errors import QuantityError
from wearline.ingest.tester_curves import read_tester_curves
from wearline.units import Kind, parse_quantity

if TYPE_CHECKING:
    from wearline.app.answer_types_braking import AxleCurvesJson, CurveAnswer, CurveEndJson, CurveSignJson

__all__ = ["CURVE_CAUTIONS", "curve_answer", "curves_say_nothing", "read_and_judge_curves"]

CURVE_CAUTIONS = (
    "A curve is evidence for a diagnosis, never the diagnosis: test what it points at.",
    "Forces compare only on the same tester, with the same load, tyres and pressure point.",
    "On the tester: vehicle secured as its maker and local code say, nobody near moving rollers.",
)

_USED = ("curve_full_pressure", "curve_shape_spread", "tester_spread")


def read_and_judge_curves(path: str | Path, *, full_pressure: str = "", mass: str = "") -> CurveReport:
    """Read a file of force curves and judge it.

    Parameters
    ----------
    path : str or Path
        CSV file, or ``"-"``.
    full_pressure : str
        Pressure of the extrapolation with its unit; 6.5 bar if empty.
    mass : str
        Mass with its unit, for the efficiency; none if empty.

    Returns
    -------
    CurveReport
        Wheel by wheel and axle by axle.

    Raises
    ------
    InputError
        If the file or a quantity is wrong.
    """
    return judge_curves(
        read_tester_curves(path),
        full_pressure=_value(full_pressure, Kind.PRESSURE, "--full-pressure") if full_pressure else None,
        mass=_value(mass, Kind.MASS, "--mass") if mass else None,
    )


def _value(text: str, kind: Kind, option: str) -> float:
    try:
        return parse_quantity(text, kind).value
    except QuantityError as error:
        raise error.at(option) from error


def curves_say_nothing(report: CurveReport) -> bool:
    """Return whether no curve shows anything unusual.

    Parameters
    ----------
    report : CurveReport
        The report.

    Returns
    -------
    bool
        False is exit code 1 of the command.
    """
    signs = [sign for wheel in report.wheels for sign in wheel.signs]
    signs += [sign for axle in report.axles for sign in axle.signs]
    return not signs and all(wheel.fit is not None for wheel in report.wheels)


def curve_answer(report: CurveReport) -> CurveAnswer:
    """Return judged curves as JSON values.

    Parameters
    ----------
    report : CurveReport
        The report.

    Returns
    -------
    CurveAnswer
        Under schema ``wearline.curves/1``.
    """
    numbers = braking_numbers()
    return {
        "schema": "wearline.curves/1",
        "full_pressure_bar": rounded(report.full_pressure / 1e5),
        "wheels": [_wheel(wheel) for wheel in report.wheels],
        "axles": [_axle(axle) for axle in report.axles],
        "efficiency_full_percent": _scaled(report.efficiency, 100.0),
        "u_efficiency_full_percent": _scaled(report.u_efficiency, 100.0),
        "figures": [
            {
                "text": numbers[id].note,
                "published": numbers[id].published,
                "status": numbers[id].status,
                "decides": numbers[id].decides,
            }
            for id in _USED
        ],
        "cautions": list(CURVE_CAUTIONS),
    }


def _scaled(value: float | None, factor: float) -> float | None:
    return None if value is None else rounded(value * factor, 6)


def _sign(sign: CurveSign) -> CurveSignJson:
    return {"text": sign.text, "causes": list(sign.causes), "status": sign.status}


def _wheel(wheel: WheelCurve) -> CurveEndJson:
    fit = wheel.fit
    swing = None if wheel.swing is None or not wheel.swing_at else wheel.swing / wheel.swing_at
    return {
        "at": wheel.place,
        "points": wheel.points,
        "rises": wheel.rises,
        "threshold_bar": None if fit is None else rounded(fit.threshold / 1e5, 6),
        "u_threshold_bar": None if fit is None else rounded(fit.u_threshold / 1e5, 6),
        "slope_kN_per_bar": None if fit is None else rounded(fit.slope * 1e2, 6),
        "u_slope_kN_per_bar": None if fit is None else rounded(fit.u_slope * 1e2, 6),
        "hysteresis_percent": _scaled(wheel.hysteresis, 100.0),
        "lag_s": _scaled(wheel.lag, 1.0),
        "swing_percent": _scaled(swing, 100.0),
        "drag_before_kN": None if fit is None else rounded(fit.drag / 1e3, 6),
        "drag_after_kN": _scaled(wheel.drag_after, 1e-3),
        "highest_pressure_bar": rounded(wheel.highest_pressure / 1e5, 6),
        "highest_force_kN": rounded(wheel.highest_force / 1e3, 6),
        "locked": wheel.locked_at is not None,
        "levels_off": wheel.levels_off > 0.0,
        "full_load_kN": _scaled(wheel.full_load, 1e-3),
        "u_full_load_kN": _scaled(wheel.u_full_load, 1e-3),
        "signs": [_sign(sign) for sign in wheel.signs],
    }


def _axle(axle: AxleCurves) -> AxleCurvesJson:
    return {
        "axle": axle.axle,
        "imbalance": [
            {
                "pressure_bar": rounded(balance.pressure / 1e5, 6),
                "left_kN": rounded(balance.left / 1e3, 6),
                "right_kN": rounded(balance.right / 1e3, 6),
                "imbalance_percent": rounded(100.0 * balance.imbalance, 6),
                "u_percent": rounded(100.0 * balance.u, 6),
            }
            for balance in axle.balances
        ],
        "signs": [_sign(sign) for sign in axle.signs],
    }
