"""Quantities that follow from several readings of a wheel end, its mate and its vehicle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.assessment.columns import Columns, Flags, Numbers
from wearline.assessment.pads import PadColumns, PadPair, pad_columns, pad_pair
from wearline.catalogue.model import Design
from wearline.physics.indicator import IndicatorScale, slide_reading, tappet_reading
from wearline.physics.stroke import StrokeDesign, stroke_budget
from wearline.physics.tilt import (
    excess_taper,
    excess_taper_uncertainty,
    explained_taper,
    rubbing_play,
    tilt_from_play,
)

__all__ = ["DerivedColumns", "DesignColumns", "derive", "design_columns", "median_of_vehicle"]


@dataclass(frozen=True, slots=True)
class DesignColumns:
    """Numbers of the brake design at every row [SI], each of shape (n,)."""

    friction_new: Numbers
    rotor_new: Numbers
    pad_plate: Numbers
    measuring_length: Numbers
    measuring_height: Numbers
    pad_length: Numbers
    dial_distance: Numbers
    clearance_per_side: Numbers
    indicator_full_scale: Numbers
    indicator_by_tappet: Flags
    lever_ratio: Numbers
    give_least: Numbers
    give_most: Numbers
    stroke_available: Numbers


@dataclass(frozen=True, slots=True)
class DerivedColumns:
    """What follows from the readings, at every row; names as in ``results.Derived`` [SI].

    Parameters
    ----------
    inner, outer : PadColumns
        The two pads.
    pair : PadPair
        Both pads together.
    indicator_reading : array, shape (n,), [1]
        The mark, or the electronic reading where there is no mark.
    stuck : array of bool, shape (n,)
        Where the calliper does not move on its pins.
    """

    inner: PadColumns
    outer: PadColumns
    pair: PadPair
    tilt_from_play: Numbers
    taper_explained_by_play: Numbers
    taper_excess: Numbers
    taper_excess_u: Numbers
    taper_top_explained_by_play: Numbers
    rubbing_play: Numbers
    indicator_reading: Numbers
    indicator_implied: Numbers
    indicator_implied_outer: Numbers
    indicator_difference: Numbers
    stroke_low: Numbers
    stroke_high: Numbers
    drag_share: Numbers
    u_drag_share: Numbers
    force_share_of_mate: Numbers
    imbalance: Numbers
    u_imbalance: Numbers
    temperature_normal: Numbers
    temperature_above_normal: Numbers
    wear_rate_inner: Numbers
    wear_rate_outer: Numbers
    distance_to_service: Numbers
    stuck: Flags


def design_columns(designs: tuple[Design, ...], which: NDArray[np.int64]) -> DesignColumns:
    """Spread the numbers of a few designs over many rows.

    Parameters
    ----------
    designs : tuple of Design
        The designs that occur.
    which : array of int, shape (n,)
        Index into ``designs`` of each row.

    Returns
    -------
    DesignColumns
        One number per row.
    """

    def spread(values: list[float]) -> Numbers:
        if len(set(values)) == 1:
            return np.broadcast_to(np.float64(values[0]), which.shape)
        return np.array(values, dtype=np.float64)[which]

    insets = [2.0 * design.measuring_inset for design in designs]
    return DesignColumns(
        friction_new=spread([design.friction_new for design in designs]),
        rotor_new=spread([design.rotor_new for design in designs]),
        pad_plate=spread([design.plate for design in designs]),
        measuring_length=spread([d.pad_length - inset for d, inset in zip(designs, insets, strict=True)]),
        measuring_height=spread([d.pad_height - inset for d, inset in zip(designs, insets, strict=True)]),
        pad_length=spread([design.pad_length for design in designs]),
        dial_distance=spread([design.dial_distance for design in designs]),
        clearance_per_side=spread([design.clearance_per_side for design in designs]),
        indicator_full_scale=spread([design.indicator_full_scale for design in designs]),
        indicator_by_tappet=np.array([design.indicator_kind == "tappet" for design in designs])[which],
        lever_ratio=spread([design.lever_ratio for design in designs]),
        give_least=spread([design.give_least for design in designs]),
        give_most=spread([design.give_most for design in designs]),
        stroke_available=spread([design.stroke_available for design in designs]),
    )


def median_of_vehicle(values: Numbers, vehicle: NDArray[np.int64], *, least: int) -> Numbers:
    """Return the median over the wheel ends of each vehicle, at every row.

    Parameters
    ----------
    values : array, shape (n,)
        A column; NaN where not taken.
    vehicle : array of int, shape (n,)
        Running number of the vehicle, rising.
    least : int
        With fewer readings than this on a vehicle its median is NaN.

    Returns
    -------
    array of float, shape (n,)
        Medians.
    """
    if values.size == 0 or np.isnan(values).all():
        return np.full(values.shape, np.nan)
    starts = np.flatnonzero(np.r_[True, vehicle[1:] != vehicle[:-1]])
    sizes = np.diff(np.r_[starts, values.size])
    group = np.repeat(np.arange(starts.size), sizes)
    table = np.full((starts.size, int(sizes.max())), np.nan)
    table[group, np.arange(values.size) - starts[group]] = values
    table.sort(axis=1)  # NaN last
    known = np.sum(~np.isnan(table), axis=1)
    rows = np.arange(starts.size)
    low = table[rows, np.maximum(known - 1, 0) // 2]
    high = table[rows, np.minimum(known // 2, table.shape[1] - 1)]
    medians = np.where(known >= least, (low + high) / 2.0, np.nan)
    return np.asarray(medians[group])


def derive(
    columns: Columns,
    design: DesignColumns,
    *,
    pad_service: Numbers,
    slide_seized: float,
    least_worn: float,
) -> DerivedColumns:
    """Compute everything that follows from the readings.

    Parameters
    ----------
    columns : Columns
        Readings.
    design : DesignColumns
        Numbers of the design of each row.
    pad_service : array, shape (n,), [m]
        Service minimum of the friction, for the distance left.
    slide_seized : float, [N]
        Pull from which a slide counts as stuck.
    least_worn : float, [m]
        Wear from which a rate means something.

    Returns
    -------
    DerivedColumns
        NaN where the readings do not suffice.

    Notes
    -----
    Tilt and explained wedge by ``wearline.physics.tilt``; a play taken while the calliper was stuck on
    its pins says nothing and is left out here. The vehicle's normal temperature is the median of its
    wheel ends, so that one sick brake does not shift it; it needs three ends.
    """
    inner, outer = pad_columns(columns, "inner"), pad_columns(columns, "outer")
    pair = pad_pair(inner, outer)
    stuck = columns.says("slide", "stuck") | (columns.value("slide") >= slide_seized)
    tilt = _tilt(columns, design, pair, stuck)
    reading = columns.value("wear_indicator")
    reading = np.where(np.isnan(reading), columns.value("wear_electronic"), reading)
    implied, implied_outer = _indicator(columns, design, inner, outer)
    budget = stroke_budget(
        columns.value("total_travel"),
        StrokeDesign(design.lever_ratio, design.give_least, design.give_most, design.stroke_available),
    )
    normal = median_of_vehicle(columns.value("temperature"), columns.vehicle, least=3)
    # Nothing can be said of a rate before the pads have run.
    run = np.where(columns.distance > 0.0, columns.distance, np.nan)
    rate_inner, rate_outer = ((design.friction_new - pad.mean) / run for pad in (inner, outer))
    return DerivedColumns(
        inner=inner,
        outer=outer,
        pair=pair,
        tilt_from_play=tilt[0],
        taper_explained_by_play=tilt[1],
        taper_excess=tilt[2],
        taper_excess_u=tilt[3],
        taper_top_explained_by_play=tilt[4],
        rubbing_play=np.asarray(
            rubbing_play(design.clearance_per_side, design.pad_length, design.dial_distance)
        ),
        indicator_reading=reading,
        indicator_implied=implied,
        indicator_implied_outer=implied_outer,
        indicator_difference=reading - implied,
        stroke_low=np.asarray(budget.stroke_least),
        stroke_high=np.asarray(budget.stroke_most),
        temperature_normal=normal,
        temperature_above_normal=columns.value("temperature") - normal,
        wear_rate_inner=rate_inner,
        wear_rate_outer=rate_outer,
        distance_to_service=_distance_left(run, design, pair, pad_service, least_worn),
        stuck=stuck,
        **_forces(columns),
    )


def _tilt(columns: Columns, design: DesignColumns, pair: PadPair, stuck: Flags) -> tuple[Numbers, ...]:
    play = np.where(stuck, np.nan, columns.value("tangential_play"))
    radial = np.where(stuck, np.nan, columns.value("radial_play"))
    wedge = np.abs(pair.end_antisymmetric)
    return (
        np.asarray(tilt_from_play(play, design.dial_distance)),
        np.asarray(explained_taper(play, design.measuring_length, design.dial_distance)),
        np.asarray(excess_taper(wedge, play, design.measuring_length, design.dial_distance)),
        np.asarray(
            excess_taper_uncertainty(
                play,
                design.measuring_length,
                design.dial_distance,
                u_taper=pair.u_end,
                u_play=columns.uncertainty("tangential_play"),
            )
        ),
        np.asarray(explained_taper(radial, design.measuring_height, design.dial_distance)),
    )


def _indicator(
    columns: Columns, design: DesignColumns, inner: PadColumns, outer: PadColumns
) -> tuple[Numbers, Numbers]:
    """What the indicator should read if it saw the thinner pad, and what it should read as it is built."""
    scale = IndicatorScale(design.friction_new, design.rotor_new, design.indicator_full_scale)
    rotor = columns.value("rotor_thickness")
    rotor = np.where(np.isnan(rotor), design.rotor_new, rotor)
    thinner = np.fmin(inner.mean, outer.mean)
    by_slide_thinner = np.asarray(slide_reading(scale, thinner, rotor))
    by_slide_outer = np.asarray(slide_reading(scale, outer.mean, rotor))
    by_tappet = np.asarray(tappet_reading(scale, inner.mean, outer.mean, rotor))
    return (
        np.where(design.indicator_by_tappet, by_tappet, by_slide_thinner),
        np.where(design.indicator_by_tappet, by_tappet, by_slide_outer),
    )


def _forces(columns: Columns) -> dict[str, Numbers]:
    force, drag = columns.value("brake_force"), columns.value("brake_drag")
    mate = columns.of_mate(force)
    u_force = columns.uncertainty("brake_force")
    u_mate = columns.of_mate(u_force)
    greater, smaller = np.maximum(force, mate), np.minimum(force, mate)
    u_greater, u_smaller = np.where(force > mate, u_force, u_mate), np.where(force > mate, u_mate, u_force)
    with np.errstate(invalid="ignore", divide="ignore"):
        imbalance = np.where(greater > 0, (greater - smaller) / greater, np.nan)
        # Derivatives of 1 - smaller/greater, so that a brake without any force keeps its uncertainty.
        u_imbalance = np.hypot(u_smaller / greater, smaller / greater * u_greater / greater)
        share = np.where(mate > 0, force / mate, np.nan)
    return {
        "drag_share": drag / columns.wheel_load,
        "u_drag_share": columns.uncertainty("brake_drag") / columns.wheel_load,
        "force_share_of_mate": share,
        "imbalance": imbalance,
        "u_imbalance": u_imbalance,
    }


def _distance_left(
    run: Numbers, design: DesignColumns, pair: PadPair, pad_service: Numbers, least_worn: float
) -> Numbers:
    """Distance until the thinnest corner meets the service minimum at its own mean rate since new [m]."""
    worn = design.friction_new - pair.thinnest
    with np.errstate(invalid="ignore", divide="ignore"):
        rate = np.where(worn > least_worn, worn / run, np.nan)
        return np.asarray(np.maximum(pair.thinnest - pad_service, 0.0) / rate)
