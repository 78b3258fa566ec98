"""Everything that is held against a limit: readings as taken, and quantities derived from them.

The table at the foot is the one place that says which column goes with which limits.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from wearline.assessment.columns import Columns, Numbers
from wearline.assessment.derive import DerivedColumns
from wearline.catalogue.model import FieldSpec
from wearline.records.readings import CORNERS

__all__ = ["DERIVED_CHECKS", "DerivedCheck", "Quantity", "quantities"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """One column to be judged.

    Parameters
    ----------
    check, spot : str
        Name in the answers.
    limit_field : str
        The limits' name of it.
    label, unit : str
        For people.
    value, u : array, shape (n,), [SI]
        Column and its standard uncertainty.
    derived : bool
        Whether it is computed from other readings.
    """

    check: str
    spot: str
    limit_field: str
    label: str
    unit: str
    value: Numbers
    u: Numbers
    derived: bool


@dataclass(frozen=True, slots=True)
class DerivedCheck:
    """How a derived check is taken from the derived columns.

    Parameters
    ----------
    check, spot, label, unit : str
        As in ``Quantity``.
    limit_field : str
        The limits' name.
    take : callable
        From readings and derived columns to value and uncertainty.
    """

    check: str
    spot: str
    label: str
    unit: str
    limit_field: str
    take: Callable[[Columns, DerivedColumns], tuple[Numbers, Numbers]]


def _u_drag_ratio(columns: Columns) -> tuple[Numbers, Numbers]:
    drag, u = columns.value("brake_drag"), columns.uncertainty("brake_drag")
    mate, u_mate = columns.of_mate(drag), columns.of_mate(u)
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.where(mate > 0, drag / mate, np.nan)
        return ratio, np.abs(ratio) * np.hypot(u / drag, u_mate / mate)


def _indicator_difference(columns: Columns, derived: DerivedColumns) -> tuple[Numbers, Numbers]:
    u = np.where(
        np.isnan(columns.value("wear_indicator")),
        columns.uncertainty("wear_electronic"),
        columns.uncertainty("wear_indicator"),
    )
    return np.abs(derived.indicator_difference), u


DERIVED_CHECKS: tuple[DerivedCheck, ...] = (
    DerivedCheck(
        "pad_thinnest",
        "",
        "thinnest corner",
        "mm",
        "pad_thinnest",
        lambda _, d: (d.pair.thinnest, d.pair.u_thinnest),
    ),
    DerivedCheck(
        "taper_end_to_end",
        "inner",
        "end-to-end wedge",
        "mm",
        "taper_end_to_end",
        lambda _, d: (np.abs(d.inner.taper_end_to_end), d.inner.u_end_to_end),
    ),
    DerivedCheck(
        "taper_end_to_end",
        "outer",
        "end-to-end wedge",
        "mm",
        "taper_end_to_end",
        lambda _, d: (np.abs(d.outer.taper_end_to_end), d.outer.u_end_to_end),
    ),
    DerivedCheck(
        "taper_top_to_bottom",
        "inner",
        "top-to-bottom wedge",
        "mm",
        "taper_top_to_bottom",
        lambda _, d: (np.abs(d.inner.taper_top_to_bottom), d.inner.u_top_to_bottom),
    ),
    DerivedCheck(
        "taper_top_to_bottom",
        "outer",
        "top-to-bottom wedge",
        "mm",
        "taper_top_to_bottom",
        lambda _, d: (np.abs(d.outer.taper_top_to_bottom), d.outer.u_top_to_bottom),
    ),
    DerivedCheck(
        "pad_twist",
        "inner",
        "twist of the pad",
        "mm",
        "pad_twist",
        lambda _, d: (np.abs(d.inner.twist), d.inner.u_twist),
    ),
    DerivedCheck(
        "pad_twist",
        "outer",
        "twist of the pad",
        "mm",
        "pad_twist",
        lambda _, d: (np.abs(d.outer.twist), d.outer.u_twist),
    ),
    DerivedCheck(
        "mean_difference",
        "",
        "difference of the pads' means",
        "mm",
        "mean_difference",
        lambda _, d: (np.abs(d.pair.mean_difference), d.pair.u_mean_difference),
    ),
    DerivedCheck(
        "indicator_difference",
        "",
        "indicator against pads and rotor",
        "%",
        "indicator_difference",
        _indicator_difference,
    ),
    DerivedCheck(
        "brake_drag_share",
        "",
        "drag as a share of the wheel load",
        "%",
        "brake_drag_share",
        lambda _, d: (d.drag_share, d.u_drag_share),
    ),
    DerivedCheck(
        "brake_drag_mate_ratio",
        "",
        "drag against the other end",
        "%",
        "brake_drag_mate_ratio",
        lambda c, _: _u_drag_ratio(c),
    ),
    DerivedCheck(
        "temperature_difference",
        "",
        "temperature against the vehicle's normal",
        "K",
        "temperature_difference",
        lambda c, d: (np.abs(d.temperature_above_normal), c.uncertainty("temperature")),
    ),
    DerivedCheck(
        "imbalance",
        "",
        "brake-force difference across the axle",
        "%",
        "imbalance",
        lambda _, d: (d.imbalance, d.u_imbalance),
    ),
)
"""Derived checks in the order of the answers. A pad wedge is judged on the mean of its two edges."""


def quantities(columns: Columns, derived: DerivedColumns, fields: Mapping[str, FieldSpec]) -> list[Quantity]:
    """Return every column that is held against limits, readings first.

    Parameters
    ----------
    columns : Columns
        Readings.
    derived : DerivedColumns
        What follows from them.
    fields : mapping of str to FieldSpec
        The catalogue's fields.

    Returns
    -------
    list of Quantity
        Columns that hold at least one number; corners of the pads go with the limit of the thinnest.
    """
    found = []
    for name, spec in fields.items():
        if spec.kind is None or spec.vehicle_level:
            continue
        for spot in spec.spots or ("",):
            value = columns.values.get((name, spot))
            if value is not None:
                limit_field = "pad_thinnest" if spot in CORNERS else name
                u = columns.uncertainty(name, spot)
                found.append(Quantity(name, spot, limit_field, spec.label, spec.unit, value, u, False))
    for check in DERIVED_CHECKS:
        value, u = check.take(columns, derived)
        if not np.isnan(value).all():
            found.append(
                Quantity(check.check, check.spot, check.limit_field, check.label, check.unit, value, u, True)
            )
    return found
