"""The table of what the readings of a wheel end imply, in words and workshop units."""

from __future__ import annotations

from collections.abc import Callable

from wearline.assessment.results import Derived
from wearline.reports.content_model import DerivedRow
from wearline.reports.words import COVERAGE_FACTOR, quantity_text

__all__ = ["derived_rows"]


def _millimetres(value: float) -> str:
    return quantity_text(value, "mm", 2)


def _percent(value: float) -> str:
    return quantity_text(value, "%", 0)


def _share(value: float) -> str:
    return quantity_text(value, "%", 1)


def _milliradians(value: float) -> str:
    return f"{1000 * value:.1f} mrad"


def _kilonewtons(value: float) -> str:
    return quantity_text(value, "kN", 1)


def _wear_rate(value: float) -> str:
    return f"{1e10 * value:.2f} mm/10 000 km"


def _kelvins(value: float) -> str:
    return f"{value:+.0f} K"


def _celsius(value: float) -> str:
    return quantity_text(value, "degC", 0)


_ROWS: tuple[tuple[str, str, Callable[[float], str], str], ...] = (
    ("mean_inner", "mean friction, inner pad", _millimetres, ""),
    ("mean_outer", "mean friction, outer pad", _millimetres, ""),
    ("mean_difference", "outer mean less inner mean", _millimetres, "needs slide force or stuck pads"),
    ("thinnest", "thinnest corner", _millimetres, ""),
    ("taper_end_to_end_inner", "end-to-end taper, inner pad", _millimetres, "leading less trailing"),
    ("taper_end_to_end_outer", "end-to-end taper, outer pad", _millimetres, "leading less trailing"),
    (
        "taper_end_to_end_antisymmetric",
        "its part that differs between the pads",
        _millimetres,
        "mark of a tilted calliper",
    ),
    ("taper_end_to_end_symmetric", "its part common to both pads", _millimetres, "not tilt"),
    ("taper_explained_by_play", "end-to-end wedge that the play explains", _millimetres, "size"),
    ("taper_excess", "wedge beyond what the play explains", _millimetres, ""),
    ("taper_top_to_bottom_inner", "top-to-bottom taper, inner pad", _millimetres, "top less bottom"),
    ("taper_top_to_bottom_outer", "top-to-bottom taper, outer pad", _millimetres, "top less bottom"),
    ("taper_top_to_bottom_antisymmetric", "its part that differs between the pads", _millimetres, ""),
    ("taper_top_to_bottom_symmetric", "its part common to both pads", _millimetres, ""),
    ("taper_top_explained_by_play", "top-to-bottom wedge that the play explains", _millimetres, "size"),
    ("twist_inner", "corners of the inner pad off a plane", _millimetres, ""),
    ("twist_outer", "corners of the outer pad off a plane", _millimetres, ""),
    ("tilt_from_play", "greatest tilt that the play allows", _milliradians, ""),
    ("indicator_implied", "indicator that the thinner pad and the rotor imply", _percent, ""),
    ("indicator_implied_outer", "indicator that the outer pad and the rotor imply", _percent, ""),
    ("indicator_difference", "indicator read less the first of the two", _percent, ""),
    ("stroke_low", "rod stroke at full pressure, least", _millimetres, ""),
    ("stroke_high", "rod stroke at full pressure, most", _millimetres, ""),
    ("stroke_available", "rod stroke there is", _millimetres, ""),
    ("wheel_load", "load on the wheel", _kilonewtons, ""),
    ("drag_share", "drag over the load on the wheel", _share, ""),
    ("force_share_of_mate", "brake force over that of the mate", _percent, ""),
    ("temperature_above_normal", "temperature above the vehicle's normal", _kelvins, ""),
    ("temperature_normal", "normal temperature of the vehicle", _celsius, ""),
    ("wear_rate_inner", "wear since new, inner pad", _wear_rate, ""),
    ("wear_rate_outer", "wear since new, outer pad", _wear_rate, ""),
)


def derived_rows(derived: Derived) -> tuple[DerivedRow, ...]:
    """Return the table of derived geometry of one wheel end.

    Parameters
    ----------
    derived : Derived
        What the readings imply.

    Returns
    -------
    tuple of DerivedRow
        One row for each value that the readings suffice for.
    """
    rows = []
    for name, label, shown, remark in _ROWS:
        value = getattr(derived, name)
        if value is None:
            continue
        text = shown(value)
        if name == "taper_excess" and derived.taper_excess_u is not None:
            text += f" ± {_millimetres(COVERAGE_FACTOR * derived.taper_excess_u)}"
        if name == "thinnest":
            remark = derived.thinnest_spot
        rows.append(DerivedRow(label, text, remark))
    if derived.new_pads_would_rub is not None:
        answer = "yes, at one end" if derived.new_pads_would_rub else "no"
        rows.append(DerivedRow("would square new pads rub with this play", answer))
    return tuple(rows)
