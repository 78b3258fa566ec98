"""Readings that look like inches typed as millimetres: said, and kept out until somebody decides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from wearline.assessment.judge import judge_inspection_columns
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.release import load_release_rules
from wearline.forecasting.clocks import PlacedInspection
from wearline.forecasting.findings import Decisions, HistoryFinding
from wearline.records.inspection import Inspection, WheelEnd
from wearline.records.readings import Measured

__all__ = ["without_slips"]


def without_slips(
    placed: Sequence[PlacedInspection], catalogue: Catalogue, decisions: Decisions
) -> tuple[list[PlacedInspection], list[HistoryFinding]]:
    """Take the readings out that look like inches typed as millimetres.

    Parameters
    ----------
    placed : sequence of PlacedInspection
        A vehicle's inspections.
    catalogue : Catalogue
        Designs and thresholds.
    decisions : mapping of str to Decision
        ``"use"`` for an inspection leaves its readings in.

    Returns
    -------
    list of PlacedInspection, list of HistoryFinding
        The inspections without those readings, and one finding for each wheel end concerned.

    Notes
    -----
    The judgement of an inspection doubts the same readings by the same rule (``assessment.plausibility``); it
    is asked only where a pad shows so little friction that the rule could apply.
    """
    kept: list[PlacedInspection] = []
    findings: list[HistoryFinding] = []
    for item in placed:
        slips = {}
        if decisions.get(item.id) != "use" and _very_thin(item.inspection, catalogue):
            slips = _slips(item.inspection, catalogue)
        findings += [_finding(item, place, fields) for place, fields in slips.items()]
        kept.append(replace(item, inspection=_without(item.inspection, slips)) if slips else item)
    return kept, findings


def _very_thin(inspection: Inspection, catalogue: Catalogue) -> bool:
    """Whether a pad is so thin that a reading in inches could stand behind it."""
    ratio = load_release_rules().number("inch_slip_low")
    for axle in inspection.vehicle.axles:
        if axle.brake != "air disc":
            continue
        least = catalogue.design(axle.design, inspection.taken_on).friction_new / ratio
        for end in inspection.wheel_ends:
            if end.place.axle == axle.id and any(value < least for value in _pads(end)):
                return True
    return False


def _pads(end: WheelEnd) -> list[float]:
    return [
        reading.value
        for (field, _), reading in end.readings.items()
        if field in ("pad_inner", "pad_outer") and isinstance(reading, Measured)
    ]


def _slips(inspection: Inspection, catalogue: Catalogue) -> dict[str, tuple[str, ...]]:
    judged, _ = judge_inspection_columns(inspection, catalogue, DecisionSettings())
    found = {}
    for row, place in enumerate(judged.columns.places):
        fields = tuple(name for name, mask in judged.doubts.inch_slip.items() if mask[row])
        if fields:
            found[place] = fields
    return found


def _without(inspection: Inspection, slips: dict[str, tuple[str, ...]]) -> Inspection:
    def cleaned(end: WheelEnd) -> WheelEnd:
        out = slips.get(str(end.place), ())
        return replace(end, readings={key: value for key, value in end.readings.items() if key[0] not in out})

    return replace(inspection, wheel_ends=tuple(cleaned(end) for end in inspection.wheel_ends))


def _finding(item: PlacedInspection, place: str, fields: tuple[str, ...]) -> HistoryFinding:
    labels = " and ".join(name.replace("_", " ") for name in fields)
    return HistoryFinding(
        "inches typed as millimetres",
        item.inspection.vehicle.id,
        f"{labels} of {item.inspection.taken_on} are about 25 times smaller than expected; times 25.4 they "
        "fit",
        "Ask who measured and correct the inspection; if they are right the brake is worn out, and nobody "
        "drives it before somebody has looked",
        at=place,
        inspections=(item.id,),
        kept_out=True,
    )
