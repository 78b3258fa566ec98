"""Readings that look like a slip: inches typed as millimetres, the plate counted in, a lone corner."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from wearline.assessment.columns import Columns, Flags, Numbers
from wearline.assessment.derive import DerivedColumns, DesignColumns, median_of_vehicle
from wearline.catalogue.release import ReleaseRules
from wearline.physics.indicator import IndicatorScale, friction_from_slide_reading

__all__ = ["INCH", "Doubts", "doubt"]

INCH = 25.4
"""Millimetres in an inch, exactly (international yard and pound agreement, 1959)."""


@dataclass(frozen=True, slots=True)
class Doubts:
    """Readings that look like a slip.

    Parameters
    ----------
    inch_slip : mapping of field to array of bool, shape (n,)
        Where a number was probably typed in inches and taken as millimetres.
    inch_ratio : array, shape (n,)
        Median ratio of what was expected to what was typed, NaN where there is no slip.
    plate_counted : array of bool, shape (n,)
        Where the backing plate was probably measured with the friction.
    """

    inch_slip: Mapping[str, Flags]
    inch_ratio: Numbers
    plate_counted: Flags


def doubt(columns: Columns, derived: DerivedColumns, design: DesignColumns, rules: ReleaseRules) -> Doubts:
    """Look for slips that comparison with the other wheel ends and the indicator shows.

    Parameters
    ----------
    columns, derived, design : Columns, DerivedColumns, DesignColumns
        Readings, what follows from them, and the design of each row.
    rules : ReleaseRules
        Thresholds.

    Returns
    -------
    Doubts
        Masks; nothing is changed.

    Notes
    -----
    Inches: several lengths of one wheel end are all smaller than at the vehicle's other ends (or than the
    indicator implies) by about the same ratio, near 25.4, and times 25.4 they fit. One such length alone
    may be real; two together are taken for a slip (status: derived).
    Plate: the outer friction less the plate agrees with the indicator, the reading itself does not.
    """
    low, high = rules.number("inch_slip_low"), rules.number("inch_slip_high")
    expected_outer = _friction_by_indicator(columns, derived, design)
    lengths: dict[str, tuple[Numbers, Numbers]] = {
        "pad_inner": (derived.inner.mean, design.friction_new),
        "pad_outer": (derived.outer.mean, design.friction_new),
        "tangential_play": (columns.value("tangential_play"), np.full(columns.n, np.inf)),
        "radial_play": (columns.value("radial_play"), np.full(columns.n, np.inf)),
    }
    less_plate = derived.outer.mean - design.pad_plate
    gap = rules.number("plate_counted_gap")
    plate = (np.abs(less_plate - expected_outer) < gap) & (
        derived.outer.mean - expected_outer > design.pad_plate - gap
    )
    if not _may_have_slipped(lengths, design, low):
        return Doubts({}, np.full(columns.n, np.nan), plate)
    slips: dict[str, Flags] = {}
    ratios: list[Numbers] = []
    thickest = 1.0 + rules.number("new_pad_tolerance")
    both_pads = np.ones(columns.n, dtype=bool)
    for name, (value, most) in lengths.items():
        expected = median_of_vehicle(value, columns.vehicle, least=3)
        with np.errstate(invalid="ignore", divide="ignore"):
            ratio = expected / value
            is_pad = name.startswith("pad_")
            if is_pad:
                ratio = np.where((ratio > low) & (ratio < high), ratio, expected_outer / value)
        fits = (ratio > low) & (ratio < high) & (value * INCH <= most * thickest)
        if is_pad:
            both_pads &= fits
        else:
            fits |= both_pads & (ratio > rules.number("inch_slip_play")) & (ratio < high)
        slips[name] = fits
        ratios.append(np.where(fits, ratio, np.nan))
    together = np.sum(list(slips.values()), axis=0) >= rules.number("inch_slip_least")
    slips = {name: mask & together for name, mask in slips.items() if (mask & together).any()}
    median = np.full(columns.n, np.nan)
    if together.any():
        median[together] = np.nanmedian(np.array(ratios)[:, together], axis=0)
    return Doubts(slips, median, plate)


def _may_have_slipped(
    lengths: Mapping[str, tuple[Numbers, Numbers]], design: DesignColumns, low: float
) -> bool:
    """Return whether two quantities hold a number small enough to be looked at; saves the medians."""
    small = 0
    for name, (value, _) in lengths.items():
        if name.startswith("pad_"):
            small += bool((value * low < design.friction_new).any())
        elif not np.isnan(value).all():
            small += bool((value * low < np.nanmax(value)).any())
    return small >= 2


def _friction_by_indicator(columns: Columns, derived: DerivedColumns, design: DesignColumns) -> Numbers:
    """Outer friction that a slide-type indicator implies; NaN for other indicators."""
    scale = IndicatorScale(design.friction_new, design.rotor_new, design.indicator_full_scale)
    rotor = columns.value("rotor_thickness")
    rotor = np.where(np.isnan(rotor), design.rotor_new, rotor)
    implied = np.asarray(friction_from_slide_reading(scale, derived.indicator_reading, rotor))
    return np.where(design.indicator_by_tappet, np.nan, np.clip(implied, 0.0, design.friction_new))
