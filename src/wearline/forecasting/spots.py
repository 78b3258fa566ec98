"""Every kind of pad reading as friction at a spot: a value, or an interval between which it lies."""

from __future__ import annotations

from dataclasses import dataclass

from wearline.assessment.columns import standard_uncertainty
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import Design
from wearline.forecasting.padsets import BELOW_SCALE
from wearline.forecasting.settings import ForecastSettings
from wearline.physics.indicator import (
    IndicatorScale,
    friction_from_slide_reading,
    mean_friction_from_tappet_reading,
)
from wearline.records.inspection import Inspection, WheelEnd
from wearline.records.readings import CORNERS, Measured

__all__ = ["PADS", "SPOTS", "SpotReading", "spot_readings"]

PADS = ("inner", "outer", "both")
SPOTS = (
    *(("inner", corner) for corner in CORNERS),
    *(("outer", corner) for corner in CORNERS),
    ("outer", "seen"),
    ("outer", "mark"),
    ("both", "mark"),
)
"""Spots of one pad set; the marks are what an indicator says of a whole pad, or of both."""

_STEP = 0.25
_STEP_TOLERANCE = 0.004

_U_ROTOR_UNKNOWN = 1.0e-3
_U_SEEN = 0.5e-3
_NAN = float("nan")
_INF = float("inf")


@dataclass(frozen=True, slots=True)
class SpotReading:
    """One reading of one spot.

    Parameters
    ----------
    at : (str, str)
        Pad and spot, from ``SPOTS``.
    value : float, [m]
        Friction; NaN for an interval.
    u : float, [m]
        Standard uncertainty, or softness of the interval's ends.
    low, high : float, [m]
        Interval; NaN for a value.
    """

    at: tuple[str, str]
    value: float
    u: float
    low: float = _NAN
    high: float = _NAN


def spot_readings(
    end: WheelEnd,
    inspection: Inspection,
    design: Design,
    catalogue: Catalogue,
    settings: ForecastSettings,
    rotor: float,
) -> tuple[list[SpotReading], float]:
    """Return what one wheel end's readings say of its pads, and the rotor thickness to go on with.

    Parameters
    ----------
    end : WheelEnd
        Readings.
    inspection : Inspection
        Gauges.
    design : Design
        New dimensions and indicator.
    catalogue : Catalogue
        Usual uncertainties.
    settings : ForecastSettings
        Uncertainties.
    rotor : float, [m]
        Last known rotor thickness.

    Returns
    -------
    list of SpotReading, float
        Readings, and the rotor thickness [m].

    Notes
    -----
    A mark on a multiple of 25 % is a step: it only says between which friction the truth lies. Other marks
    were interpolated by a person. The indicator sees pad and rotor together, so that a new rotor with old
    pads moves it back without any pad having changed.
    """
    found: list[SpotReading] = []
    for pad in ("inner", "outer"):
        for corner in CORNERS:
            reading = end.measured(f"pad_{pad}", corner)
            if reading is not None:
                u = _u(reading, f"pad_{pad}", inspection, catalogue)
                found.append(_thickness((pad, corner), reading.value, u, settings))
    seen = end.measured("visible_friction")
    if seen is not None:
        u = max(_u(seen, "visible_friction", inspection, catalogue), _U_SEEN)
        found.append(_thickness(("outer", "seen"), seen.value, u, settings))
    measured = end.measured("rotor_thickness")
    u_rotor = _U_ROTOR_UNKNOWN
    if measured is not None:
        rotor, u_rotor = measured.value, 0.1e-3
    scale = IndicatorScale(design.friction_new, design.rotor_new, design.indicator_full_scale)
    mark, electronic = end.measured("wear_indicator"), end.measured("wear_electronic")
    if mark is not None and _takes_part(end):
        found.append(_mark(mark, scale, design, rotor, u_rotor, settings))
    if electronic is not None and _takes_part(end):
        share = float(electronic.value)
        u = electronic.u or settings.u_electronic
        found.append(_smooth(share, u, scale, design, rotor, u_rotor))
    return found, rotor


def _takes_part(end: WheelEnd) -> bool:
    """Whether the calliper moves on its pins, without which the indicator says nothing."""
    return end.word("slide") != "stuck"


def _u(reading: Measured, field: str, inspection: Inspection, catalogue: Catalogue) -> float:
    spec = catalogue.fields[field]
    gauge = inspection.gauges.get(reading.gauge) if reading.gauge else None
    return max(standard_uncertainty(reading, spec, gauge), 1e-6)


def _thickness(at: tuple[str, str], value: float, u: float, settings: ForecastSettings) -> SpotReading:
    if value <= settings.censored:
        return SpotReading(at, _NAN, u, -_INF, settings.censored)
    return SpotReading(at, value, u)


def _friction(share: float, scale: IndicatorScale, design: Design, rotor: float) -> float:
    if design.indicator_kind == "tappet":
        return float(mean_friction_from_tappet_reading(scale, share, rotor))
    return float(friction_from_slide_reading(scale, share, rotor))


def _at(design: Design) -> tuple[str, str]:
    return ("both", "mark") if design.indicator_kind == "tappet" else ("outer", "mark")


def _mark(
    mark: Measured,
    scale: IndicatorScale,
    design: Design,
    rotor: float,
    u_rotor: float,
    settings: ForecastSettings,
) -> SpotReading:
    share = float(mark.value)
    steps = share / _STEP
    if abs(steps - round(steps)) > _STEP_TOLERANCE / _STEP:
        return _smooth(share, mark.u or settings.u_indicator, scale, design, rotor, u_rotor)
    high = _INF if share < 0.5 * _STEP else _friction(share - 0.5 * _STEP, scale, design, rotor)
    low = BELOW_SCALE if share > 1.0 - 0.5 * _STEP else _friction(share + 0.5 * _STEP, scale, design, rotor)
    u = (_per_share(scale, design) ** 2 * settings.step_smear**2 + 0.25 * u_rotor**2) ** 0.5
    return SpotReading(_at(design), _NAN, u, low, high)


def _per_share(scale: IndicatorScale, design: Design) -> float:
    half = 0.5 if design.indicator_kind == "tappet" else 1.0
    return half * float(scale.full_scale)


def _smooth(
    share: float, u: float, scale: IndicatorScale, design: Design, rotor: float, u_rotor: float
) -> SpotReading:
    value = _friction(share, scale, design, rotor)
    spread = ((_per_share(scale, design) * u) ** 2 + 0.25 * u_rotor**2) ** 0.5
    if value <= 0.0:
        return SpotReading(_at(design), _NAN, spread, BELOW_SCALE, max(value, 0.0) + 0.8e-3)
    return SpotReading(_at(design), value, spread)
