"""From an inspection to its judgement."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.assessment.columns import Columns, columns_from_inspection
from wearline.assessment.derive import DerivedColumns, DesignColumns, derive, design_columns
from wearline.assessment.findings import FindingTable, JudgedColumns, find, void_rows
from wearline.assessment.plausibility import Doubts, doubt
from wearline.assessment.quantities import quantities
from wearline.assessment.verdicts import (
    NOT_TAKEN,
    UNDECIDED,
    VOID,
    WITHIN,
    DecisionSettings,
    LimitSet,
    hold_against,
)
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import Design, FieldSpec, Limit
from wearline.catalogue.release import ReleaseRules, load_release_rules
from wearline.errors import ReadingError
from wearline.records.inspection import Inspection
from wearline.records.readings import CORNERS

__all__ = ["Judged", "judge_columns", "judge_inspection_columns"]

SHOWN_NOTES = frozenset({"play_t_advice", "play_r_advice", "pad_plan", "rotor_score_note", "rotor_tv_good"})
"""Limits that only ask for a note and are worth showing with every reading; the rest belong to a proof."""


@dataclass(frozen=True, slots=True)
class Judged:
    """Everything that the rules give for columns of readings.

    Parameters
    ----------
    columns : Columns
        The readings.
    design : DesignColumns
        Design numbers of each row.
    derived : DerivedColumns
        What follows from the readings.
    judged : list of JudgedColumns
        Verdicts, quantity by quantity.
    doubts : Doubts
        Readings that look like a slip.
    findings : FindingTable
        Findings.
    limits : LimitSet
        Limits that were in force.
    """

    columns: Columns
    design: DesignColumns
    derived: DerivedColumns
    judged: list[JudgedColumns]
    doubts: Doubts
    findings: FindingTable
    limits: LimitSet

    def quantity(self, check: str, spot: str = "") -> JudgedColumns | None:
        """Return the verdicts of one quantity.

        Parameters
        ----------
        check, spot : str
            Its name.

        Returns
        -------
        JudgedColumns or None
            None if nobody took it.
        """
        for column in self.judged:
            if column.check == check and column.spot == spot:
                return column
        return None


def judge_inspection_columns(
    inspection: Inspection, catalogue: Catalogue, settings: DecisionSettings
) -> tuple[Judged, tuple[Design, ...]]:
    """Judge one inspection in the form of columns.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    catalogue : Catalogue
        Fields, designs, limits.
    settings : DecisionSettings
        Decision rules.

    Returns
    -------
    Judged, tuple of Design
        The judged columns, one row for each disc-braked wheel end, and the designs that occur.

    Raises
    ------
    ReadingError
        If no axle has air disc brakes.
    """
    if all(axle.brake != "air disc" for axle in inspection.vehicle.axles):
        raise ReadingError(
            "no axle of this vehicle has air disc brakes",
            where=f"vehicle {inspection.vehicle.id}",
            allowed='at least one [[axle]] with brake = "air disc", which is the default',
            cure="Judge drum brakes by their maker's instructions, or correct the brake of the axle",
        )
    columns = columns_from_inspection(inspection, catalogue)
    ids = [axle.design for axle in inspection.vehicle.axles if axle.brake == "air disc" for _ in ("L", "R")]
    names = tuple(dict.fromkeys(ids))
    designs = tuple(catalogue.design(name, inspection.taken_on) for name in names)
    which = np.array([names.index(name) for name in ids], dtype=np.int64)
    limits = LimitSet(tuple(catalogue.limits_for(name, inspection.taken_on) for name in names), which)
    rules = load_release_rules()
    ahead = inspection.next_wheels_off
    judged = judge_columns(
        columns,
        designs,
        limits,
        catalogue.fields,
        rules,
        settings=settings,
        next_wheels_off=rules.number("next_wheels_off") if ahead is None else ahead,
    )
    return judged, designs


def judge_columns(
    columns: Columns,
    designs: tuple[Design, ...],
    limits: LimitSet,
    fields: Mapping[str, FieldSpec],
    rules: ReleaseRules,
    *,
    settings: DecisionSettings,
    next_wheels_off: float,
) -> Judged:
    """Judge any number of wheel ends: the one path for one vehicle and for a fleet.

    Parameters
    ----------
    columns : Columns
        Readings, n rows.
    designs : tuple of Design
        Designs that occur, in the order of ``limits.by_design``.
    limits : LimitSet
        Limits by design.
    fields : mapping of str to FieldSpec
        The catalogue's fields.
    rules : ReleaseRules
        Thresholds and what makes a brake defective.
    settings : DecisionSettings
        Decision rules.
    next_wheels_off : float
        Distance to the next planned removal of the wheels [m].

    Returns
    -------
    Judged
        Verdicts, derived quantities and findings.
    """
    design = design_columns(designs, limits.which)
    as_typed = derive(
        columns,
        design,
        pad_service=limits.values("pad_service"),
        slide_seized=rules.number("slide_seized"),
        least_worn=rules.number("least_worn"),
    )
    doubts = doubt(columns, as_typed, design, rules)
    void = void_rows(columns, as_typed, limits, doubts)
    judged = _hold_all(columns, as_typed, fields, limits, settings, void, doubts)
    sound = columns.without(doubts.inch_slip)
    derived = (
        as_typed
        if sound is columns
        else derive(
            sound,
            design,
            pad_service=limits.values("pad_service"),
            slide_seized=rules.number("slide_seized"),
            least_worn=rules.number("least_worn"),
        )
    )
    findings = find(
        sound, derived, judged, fields, limits, rules, doubts=doubts, next_wheels_off=next_wheels_off
    )
    return Judged(columns, design, derived, judged, doubts, findings, limits)


def _hold_all(
    columns: Columns,
    derived: DerivedColumns,
    fields: Mapping[str, FieldSpec],
    limits: LimitSet,
    settings: DecisionSettings,
    void: Mapping[str, NDArray[np.bool_]],
    doubts: Doubts,
) -> list[JudgedColumns]:
    by_field: dict[str, list[Limit]] = {}
    for id in limits.ids:
        limit = limits.any(id)
        if limit.consequence != "note" or id in SHOWN_NOTES:
            by_field.setdefault(limit.field, []).append(limit)
    nothing = np.zeros(columns.n, dtype=bool)
    some_plate = bool(doubts.plate_counted.any())
    judged = []
    for quantity in quantities(columns, derived, fields):
        mask = void.get(quantity.check, nothing)
        if quantity.derived and _rests_on_pads(quantity.check):
            mask = void.get("pad_inner", nothing)
            if "pad_outer" in void:
                mask = mask | void["pad_outer"]
        verdicts = []
        limits_here = by_field.get(quantity.limit_field, [])
        for limit in limits_here[:1] if quantity.spot in CORNERS else limits_here:
            verdict = hold_against(quantity.value, quantity.u, limits, limit.id, settings)
            if mask is not nothing:
                verdict.codes[mask & (verdict.codes != NOT_TAKEN)] = VOID
                verdict.directly[mask] = False
            if some_plate and quantity.limit_field == "pad_thinnest":
                # A plate measured with the friction makes a thin pad look thick: never 'within'.
                verdict.codes[doubts.plate_counted & (verdict.codes == WITHIN)] = UNDECIDED
            verdicts.append(verdict)
        judged.append(
            JudgedColumns(
                quantity.check,
                quantity.spot,
                quantity.label,
                quantity.unit,
                quantity.value,
                quantity.u,
                quantity.derived,
                verdicts,
                mask,
            )
        )
    return judged


def _rests_on_pads(check: str) -> bool:
    return check in (
        "pad_thinnest",
        "taper_end_to_end",
        "taper_top_to_bottom",
        "pad_twist",
        "mean_difference",
        "indicator_difference",
    )
