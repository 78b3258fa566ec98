"""What is left of the braking, as JSON values."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wearline.assessment.road_results import Capability, CapabilityLeft, StopEstimate

if TYPE_CHECKING:
    from wearline.app.answer_types import AllowedJson, CapabilityJson, RangeJson, StopJson

__all__ = ["capability_answer", "rounded"]

_NOTHING = CapabilityLeft(None, None, None)


def rounded(value: float, digits: int = 9) -> float:
    """Return a number with so many significant digits.

    Parameters
    ----------
    value : float
        The number.
    digits : int
        Significant digits.

    Returns
    -------
    float
        Free of the noise of binary fractions.
    """
    return float(f"{value:.{digits}g}")


def _percent(share: float | None) -> float | None:
    return None if share is None else rounded(100.0 * share)


def _kilo(value: float | None) -> float | None:
    return None if value is None else rounded(value / 1e3)


def _range(values: tuple[float, float, float] | None) -> RangeJson | None:
    if values is None:
        return None
    low, likely, high = (rounded(value, 4) for value in values)
    return {"low_m": low, "likely_m": likely, "high_m": high}


def _stop(stop: StopEstimate | None) -> StopJson | None:
    if stop is None:
        return None
    return {
        "speed_kmh": rounded(3.6 * stop.speed),
        "now": _range(stop.now),
        "intact": _range(stop.intact),
        "status": stop.status,
    }


def _allowed(bounds: tuple[float, float] | None, factor: float, unit: str, terms: str) -> AllowedJson | None:
    if bounds is None:
        return None
    cautious, likely = (rounded(factor * bound, 4) for bound in bounds)
    return {"cautious": cautious, "likely": likely, "unit": unit, "terms": terms}


def capability_answer(capability: Capability) -> CapabilityJson:
    """Return the capability as JSON values.

    Parameters
    ----------
    capability : Capability
        From the road decision.

    Returns
    -------
    CapabilityJson
        Part of the answer of ``road``.
    """
    left = capability.left or _NOTHING
    return {
        "efficiency_percent": _percent(capability.efficiency),
        "efficiency_needed_percent": _percent(capability.efficiency_needed),
        "total_force_kN": _kilo(capability.total_force),
        "weight_kN": _kilo(capability.weight),
        "imbalances": [
            {"axle": axle, "imbalance_percent": rounded(100.0 * share)}
            for axle, share in capability.imbalances
        ],
        "not_measured": list(capability.not_measured),
        "left_percent": _percent(left.share),
        "left_low_percent": _percent(left.low),
        "left_high_percent": _percent(left.high),
        "ends": [
            {
                "at": end.place,
                "share_percent": _percent(end.share),
                "basis": end.basis,
                "states": list(end.states),
                "status": end.status,
            }
            for end in left.ends
        ],
        "stop": _stop(left.stop),
        "mass_allowed": _allowed(
            left.mass_allowed, 1.0, "kg", "total mass at which the house efficiency is still kept"
        ),
        "slope_allowed": _allowed(
            left.slope_allowed,
            100.0,
            "%",
            "5 km at 40 km/h without retarder, one full stop at the bottom; expert judgement; the likely "
            "figure counts on a rolling resistance that is unverified",
        ),
        "figures": [
            {"text": figure.text, "published": figure.published, "status": figure.status, "decides": False}
            for figure in left.figures
        ],
    }
