"""From judged columns to the judgement of one vehicle, with its sentences."""

from __future__ import annotations

import numpy as np

from wearline.assessment.completeness import not_taken
from wearline.assessment.drums import drum_findings
from wearline.assessment.evidence import Evidence
from wearline.assessment.findings import JudgedColumns
from wearline.assessment.followups import follow_ups
from wearline.assessment.judge import Judged, judge_inspection_columns
from wearline.assessment.pads import PADS, thinnest_corner
from wearline.assessment.results import (
    AxleJudgement,
    Derived,
    Finding,
    JudgedReading,
    Judgement,
    LimitVerdict,
    Verdict,
    WheelEndJudgement,
)
from wearline.assessment.vehicle import vehicle_findings, vehicle_readings, word_reading
from wearline.assessment.verdicts import DECISIONS, ColumnVerdict, DecisionSettings, governing
from wearline.assessment.wheels import wheels_off
from wearline.assessment.wording import finding_text, void_reason, what_settles
from wearline.catalogue.loading import Catalogue
from wearline.records.inspection import Inspection
from wearline.records.notices import Notice
from wearline.records.readings import Measured

__all__ = ["judge", "judgement_of"]

_AXLE_FINDINGS = ("axle:imbalance",)
_REPEAT_SHARE = 2.0 / 3.0
"""Share of the uncertainty of a derived quantity that repeats shrink (expert judgement, as for readings)."""

_VEHICLE_FINDINGS = ("wear:fast everywhere",)


def judge(
    inspection: Inspection, catalogue: Catalogue, settings: DecisionSettings | None = None
) -> Judgement:
    """Judge one inspection.

    Parameters
    ----------
    inspection : Inspection
        What was taken.
    catalogue : Catalogue
        Fields, limits, designs, checks.
    settings : DecisionSettings, optional
        Decision rules; by default guarded for service limits, direct for legal ones.

    Returns
    -------
    Judgement
        Verdicts, derived geometry, findings, follow-up checks, what is missing, wheels off or on.
    """
    settings = settings or DecisionSettings()
    judged, _ = judge_inspection_columns(inspection, catalogue, settings)
    return judgement_of(inspection, judged, catalogue, settings)


def judgement_of(
    inspection: Inspection, judged: Judged, catalogue: Catalogue, settings: DecisionSettings
) -> Judgement:
    """Put together what follows from the judged columns of one inspection.

    Parameters
    ----------
    inspection : Inspection
        What was taken.
    judged : Judged
        Its columns, from ``judge_inspection_columns``.
    catalogue : Catalogue
        Fields, limits, designs, checks.
    settings : DecisionSettings
        Decision rules that the columns were judged by.

    Returns
    -------
    Judgement
        As ``judge`` gives it.
    """
    evidence = Evidence(judged, catalogue.measures, inspection.vehicle_readings)
    findings = _findings(judged, catalogue)
    ends = tuple(
        _wheel_end(inspection, judged, evidence, catalogue, settings, findings, row)
        for row in range(judged.columns.n)
    )
    whole = vehicle_readings(inspection, judged, catalogue, settings)
    drums = drum_findings(inspection, catalogue)
    return Judgement(
        vehicle_id=inspection.vehicle.id,
        axles=_axles(inspection, judged, ends, findings + list(drums), settings),
        wheel_ends=ends,
        vehicle_readings=whole,
        findings=tuple(f for f in findings if not f.place) + drums + vehicle_findings(whole),
        warnings=inspection.notices + _warnings(judged),
        confidence=settings.confidence,
        rules={"service": settings.service.value, "legal": settings.legal.value},
    )


def _findings(judged: Judged, catalogue: Catalogue) -> list[Finding]:
    found: list[Finding] = []
    whole_vehicle: set[str] = set()
    seen: set[tuple[str, str, str]] = set()
    for item in judged.findings.items:
        for row in np.flatnonzero(item.mask).tolist():
            place = judged.columns.places[row]
            if item.id in _AXLE_FINDINGS:
                place = place[:-1]
            elif item.id in _VEHICLE_FINDINGS:
                place = ""
            key = (item.id + item.spot + item.limit_id, place, item.check)
            if key in seen or (not place and item.id in whole_vehicle):
                continue
            seen.add(key)
            whole_vehicle.add(item.id if not place else "")
            probability = None if item.verdict is None else 1.0 - item.verdict.p_at(row)
            found.append(
                Finding(
                    id=item.id,
                    place=place,
                    text=finding_text(judged, item, row, catalogue.fields),
                    check=item.check,
                    spot=item.spot,
                    weight=item.weight,
                    probability=probability,
                    limit_id=item.limit_id,
                )
            )
    return found


def _wheel_end(
    inspection: Inspection,
    judged: Judged,
    evidence: Evidence,
    catalogue: Catalogue,
    settings: DecisionSettings,
    findings: list[Finding],
    row: int,
) -> WheelEndJudgement:
    place = judged.columns.places[row]
    axle = inspection.vehicle.axle(place[:-1])
    own = tuple(finding for finding in findings if finding.place == place)
    numbers = [_number(inspection, judged, catalogue, settings, column, row) for column in judged.judged]
    return WheelEndJudgement(
        place=place,
        design=axle.design,
        readings=tuple(r for r in numbers if r is not None) + _words(inspection, place, catalogue),
        derived=_derived(judged, row),
        findings=own,
        followups=follow_ups(evidence, catalogue, row, inspection),
        not_taken=not_taken(inspection, place, catalogue),
    )


def _number(
    inspection: Inspection,
    judged: Judged,
    catalogue: Catalogue,
    settings: DecisionSettings,
    column: JudgedColumns,
    row: int,
) -> JudgedReading | None:
    value = float(column.value[row])
    if np.isnan(value) or column.check == "imbalance":
        return None
    place = judged.columns.places[row]
    spec = None if column.derived else catalogue.fields[column.check]
    u = float(column.u[row]) if not np.isnan(column.u[row]) else None
    raw, gauge = _as_typed(inspection, place, column) if spec is not None else ("", "")
    spot = column.spot
    if column.check == "pad_thinnest":
        pair = judged.derived.pair
        pad = PADS[int(pair.thinnest_is_outer[row])]
        geometry = judged.derived.outer if pad == "outer" else judged.derived.inner
        spot = f"{pad} {thinnest_corner(geometry, row)}"
    shown = [_limit_verdict(verdict, row) for verdict in column.verdicts]
    chief = governing(column.verdicts, row) if column.verdicts else -1
    head = shown[chief] if shown else None
    is_void = bool(column.void[row])
    verdict = Verdict.VOID if is_void else head.verdict if head else Verdict.WITHIN
    settle = ""
    if head is not None and verdict is Verdict.UNDECIDED and u:
        settle = what_settles(
            column.verdicts[chief],
            row,
            column.unit,
            u,
            repeat_share=spec.u_repeat_share if spec is not None else _REPEAT_SHARE,
            confidence=settings.confidence,
        )
        if judged.doubts.plate_counted[row] and "pad" in column.check:
            settle = "measure the friction alone, without the backing plate"
    return JudgedReading(
        place=place,
        check=column.check,
        spot=spot,
        label=column.label,
        value=value,
        word="",
        raw=raw,
        unit=column.unit,
        u=u,
        limit=head.limit if head else None,
        verdict=verdict,
        p_within=None if head is None or is_void else head.p_within,
        margin=None if head is None or is_void else head.margin,
        others=tuple(item for index, item in enumerate(shown) if index != chief),
        gauge=gauge or (spec.gauge if spec else ""),
        reason=void_reason(judged, column.check, row) if is_void else "" if head else "no limit applies",
        settle=settle,
    )


def _limit_verdict(verdict: ColumnVerdict, row: int) -> LimitVerdict:
    return LimitVerdict(
        verdict.limit_at(row),
        DECISIONS[int(verdict.codes[row])],
        verdict.p_at(row),
        float(verdict.margin[row]),
    )


def _as_typed(inspection: Inspection, place: str, column: JudgedColumns) -> tuple[str, str]:
    for wheel_end in inspection.wheel_ends:
        if str(wheel_end.place) == place:
            reading = wheel_end.measured(column.check, column.spot)
            if reading is not None:
                return reading.raw, reading.gauge
    return "", ""


def _words(inspection: Inspection, place: str, catalogue: Catalogue) -> tuple[JudgedReading, ...]:
    """Words observed and checks that could not be taken, in the order of the catalogue."""
    result = []
    for wheel_end in inspection.wheel_ends:
        if str(wheel_end.place) != place:
            continue
        for name, spec in catalogue.fields.items():
            reading = wheel_end.readings.get((name, spec.spots[0] if spec.spots else ""))
            if reading is None or isinstance(reading, Measured):
                continue
            result.append(word_reading(place, name, spec, reading))
    return tuple(result)


def _derived(judged: Judged, row: int) -> Derived:
    columns, derived = judged.columns, judged.derived
    inner, outer, pair = derived.inner, derived.outer, derived.pair
    play = columns.value("tangential_play")[row]
    numbers = {
        "mean_inner": inner.mean,
        "mean_outer": outer.mean,
        "thinnest": pair.thinnest,
        "mean_difference": pair.mean_difference,
        "taper_end_to_end_inner": inner.taper_end_to_end,
        "taper_end_to_end_outer": outer.taper_end_to_end,
        "taper_end_to_end_antisymmetric": pair.end_antisymmetric,
        "taper_end_to_end_symmetric": pair.end_symmetric,
        "taper_top_to_bottom_inner": inner.taper_top_to_bottom,
        "taper_top_to_bottom_outer": outer.taper_top_to_bottom,
        "taper_top_to_bottom_antisymmetric": pair.top_antisymmetric,
        "taper_top_to_bottom_symmetric": pair.top_symmetric,
        "twist_inner": inner.twist,
        "twist_outer": outer.twist,
        "tilt_from_play": derived.tilt_from_play,
        "taper_explained_by_play": derived.taper_explained_by_play,
        "taper_excess": derived.taper_excess,
        "taper_excess_u": derived.taper_excess_u,
        "taper_top_explained_by_play": derived.taper_top_explained_by_play,
        "indicator_implied": derived.indicator_implied,
        "indicator_implied_outer": derived.indicator_implied_outer,
        "indicator_difference": derived.indicator_difference,
        "stroke_low": derived.stroke_low,
        "stroke_high": derived.stroke_high,
        "drag_share": derived.drag_share,
        "wheel_load": columns.wheel_load,
        "force_share_of_mate": derived.force_share_of_mate,
        "temperature_above_normal": derived.temperature_above_normal,
        "temperature_normal": derived.temperature_normal,
        "wear_rate_inner": derived.wear_rate_inner,
        "wear_rate_outer": derived.wear_rate_outer,
        "distance_to_service": derived.distance_to_service,
    }
    spot = ""
    if not np.isnan(pair.thinnest[row]):
        geometry = outer if pair.thinnest_is_outer[row] else inner
        spot = f"{PADS[int(pair.thinnest_is_outer[row])]} {thinnest_corner(geometry, row)}"
    rubs = None if np.isnan(play) or derived.stuck[row] else bool(play > derived.rubbing_play[row])
    return Derived(
        thinnest_spot=spot,
        new_pads_would_rub=rubs,
        stroke_available=float(judged.design.stroke_available[row]),
        **{name: _or_none(column[row]) for name, column in numbers.items()},
    )


def _or_none(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _axles(
    inspection: Inspection,
    judged: Judged,
    ends: tuple[WheelEndJudgement, ...],
    findings: list[Finding],
    settings: DecisionSettings,
) -> tuple[AxleJudgement, ...]:
    result = []
    for axle in inspection.vehicle.axles:
        own = tuple(end for end in ends if end.place[:-1] == axle.id)
        of_axle = tuple(finding for finding in findings if finding.place == axle.id)
        at_drums = () if own else tuple(f for f in findings if f.place in (axle.id + "L", axle.id + "R"))
        take_off, reasons = wheels_off(inspection, axle, own, of_axle + at_drums)
        result.append(
            AxleJudgement(
                axle=axle.id,
                role=axle.role,
                take_off=take_off,
                reasons=reasons,
                imbalance=_imbalance(judged, axle.id, settings),
                findings=of_axle,
            )
        )
    return tuple(result)


def _imbalance(judged: Judged, axle: str, settings: DecisionSettings) -> JudgedReading | None:
    column = judged.quantity("imbalance")
    if column is None or axle + "L" not in judged.columns.places:
        return None
    row = list(judged.columns.places).index(axle + "L")
    value = float(column.value[row])
    if np.isnan(value) or not column.verdicts:
        return None
    chief = governing(column.verdicts, row)
    head = _limit_verdict(column.verdicts[chief], row)
    u = float(column.u[row])
    settle = ""
    if head.verdict is Verdict.UNDECIDED:
        settle = what_settles(
            column.verdicts[chief],
            row,
            column.unit,
            u,
            repeat_share=_REPEAT_SHARE,
            confidence=settings.confidence,
        )
    return JudgedReading(
        place=axle,
        check="imbalance",
        spot="",
        label=column.label,
        value=value,
        word="",
        raw="",
        unit=column.unit,
        u=u,
        limit=head.limit,
        verdict=head.verdict,
        p_within=head.p_within,
        margin=head.margin,
        gauge="brake tester",
        settle=settle,
    )


def _warnings(judged: Judged) -> tuple[Notice, ...]:
    notices = []
    for row, place in enumerate(judged.columns.places):
        slipped = [name for name, mask in judged.doubts.inch_slip.items() if mask[row]]
        if slipped:
            ratio = float(judged.doubts.inch_ratio[row])
            notices.append(
                Notice(
                    code="inches typed as millimetres",
                    text=(
                        f"{', '.join(slipped)} of {place} are about {ratio:.0f} times smaller than expected; "
                        "times 25.4 they fit. The readings are void until confirmed; what was typed is kept"
                    ),
                    where=place,
                    cure=(
                        'Ask who measured. If they are inches, write the unit, as "0.38 in", '
                        f"or judge with --inches {place}"
                    ),
                )
            )
        if judged.doubts.plate_counted[row]:
            notices.append(
                Notice(
                    code="backing plate counted in",
                    text=(
                        f"the pads of {place} fit the wear indicator only if the backing plate was measured "
                        "with the friction; if it was not, the indicator is wrong"
                    ),
                    where=place,
                    cure=(
                        "Measure the friction alone, from the face of the plate; limits mean friction only. "
                        "Then look at the indicator"
                    ),
                )
            )
        for pad in PADS:
            column = judged.quantity("pad_twist", pad)
            if column is not None and column.verdicts and column.verdicts[0].directly[row]:
                notices.append(
                    Notice(
                        code="pad not plane",
                        text=(
                            f"the four corners of the {pad} pad of {place} do not lie in a plane "
                            f"({1000 * float(column.value[row]):.1f} mm twist)"
                        ),
                        where=place,
                        cure="Measure the corners again; if they stay, look for a broken corner or crumbling",
                    )
                )
    return tuple(notices)
