"""Checks of the vehicle as a whole: efficiency from measured forces, air, stops, words."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from wearline.assessment.judge import Judged
from wearline.assessment.results import Finding, JudgedReading, Verdict
from wearline.assessment.verdicts import (
    DECISIONS,
    ColumnVerdict,
    DecisionSettings,
    LimitSet,
    governing,
    hold_against,
)
from wearline.assessment.wording import shown
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import Authority, FieldSpec, Limit, Meaning
from wearline.catalogue.model import Finding as Consequence
from wearline.catalogue.rule_model import Rule
from wearline.errors import CatalogueError
from wearline.records.inspection import Inspection
from wearline.records.readings import Measured, Observed, Reading
from wearline.units import Kind

__all__ = ["BrakingForce", "braking_force", "vehicle_findings", "vehicle_readings", "word_reading"]

STANDARD_GRAVITY = 9.80665
"""[m/s^2] Standard acceleration of free fall (CGPM 1901)."""

_TWO_UNITS = ("combination",)


@dataclass(frozen=True, slots=True)
class BrakingForce:
    """Sum of the measured brake forces.

    Parameters
    ----------
    total : float
        Sum of the forces that were measured [N].
    u_total : float
        Its standard uncertainty, one tester for all wheels: fully correlated [N].
    weight : float or None
        Weight at the test [N].
    efficiency : float or None
        Total over weight; None without a mass or with a brake unmeasured [1].
    not_measured : tuple of str
        Disc brakes without a force.
    """

    total: float
    u_total: float
    weight: float | None
    efficiency: float | None
    not_measured: tuple[str, ...]


def braking_force(inspection: Inspection, judged: Judged) -> BrakingForce:
    """Sum the measured brake forces of a vehicle.

    Parameters
    ----------
    inspection : Inspection
        For the mass.
    judged : Judged
        For the forces.

    Returns
    -------
    BrakingForce
        The efficiency is given only where every brake was measured: a missing force never helps.

    Notes
    -----
    Efficiency = sum of the wheel forces / (m g), the sum rule of the periodic test.
    """
    columns = judged.columns
    force = columns.value("brake_force")
    missing = tuple(columns.places[row] for row in np.flatnonzero(np.isnan(force)).tolist())
    drums = tuple(
        axle.id + side
        for axle in inspection.vehicle.axles
        if axle.brake != "air disc"
        for side in ("L", "R")
        if not _force_of_drum(inspection, axle.id + side)
    )
    extra = sum(
        _force_of_drum(inspection, axle.id + side) or 0.0
        for axle in inspection.vehicle.axles
        if axle.brake != "air disc"
        for side in ("L", "R")
    )
    mass = inspection.vehicle.test_mass
    weight = None if mass is None else mass * STANDARD_GRAVITY
    total = float(np.nansum(force)) + extra
    not_measured = missing + drums
    efficiency = None if weight is None or not_measured else total / weight
    u_total = float(np.nansum(columns.uncertainty("brake_force")))
    return BrakingForce(total, u_total, weight, efficiency, not_measured)


def _force_of_drum(inspection: Inspection, place: str) -> float | None:
    for wheel_end in inspection.wheel_ends:
        if str(wheel_end.place) == place:
            reading = wheel_end.measured("brake_force")
            return None if reading is None else reading.value
    return None


def vehicle_readings(
    inspection: Inspection, judged: Judged, catalogue: Catalogue, settings: DecisionSettings
) -> tuple[JudgedReading, ...]:
    """Judge the checks of the vehicle as a whole.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    judged : Judged
        Its columns.
    catalogue : Catalogue
        Fields and limits.
    settings : DecisionSettings
        Decision rules.

    Returns
    -------
    tuple of JudgedReading
        Efficiency first, where every brake was measured.
    """
    result = []
    force = braking_force(inspection, judged)
    if force.efficiency is not None and force.weight is not None:
        u = force.u_total / force.weight
        limit = house_efficiency(inspection, catalogue)
        result.append(
            _judge_one("efficiency", "braking efficiency", "%", force.efficiency, u, limit, settings)
        )
    combination = inspection.vehicle.kind in _TWO_UNITS
    for (name, _), reading in inspection.vehicle_readings.items():
        spec = catalogue.fields[name]
        if isinstance(reading, Measured):
            limits = [
                limit
                for limit in catalogue.default_limits.values()
                if limit.field == name
                and limit.consequence != "note"
                and limit.applies in ("", "combination" if combination else "single vehicle")
            ]
            u = reading.u if reading.u is not None else spec.standard_uncertainty(reading.value)
            judged_one = _judge_one(name, spec.label, spec.unit, reading.value, u, limits, settings)
            result.append(_with_raw(judged_one, reading, spec))
        else:
            result.append(word_reading("", name, spec, reading))
    return tuple(result)


def house_efficiency(inspection: Inspection, catalogue: Catalogue) -> list[Limit]:
    """Return the house rule's efficiency for this kind of vehicle, as a limit.

    Parameters
    ----------
    inspection : Inspection
        For the kind of vehicle.
    catalogue : Catalogue
        Holds the house defaults.

    Returns
    -------
    list of Limit
        One limit, or none where the defaults name none for this kind.
    """
    kind = inspection.vehicle.kind
    return [
        _as_limit(rule)
        for rule in catalogue.pack("none").rules
        if rule.measure == "efficiency" and rule.applies.covers(role=None, vehicle_kind=kind)
    ]


def _as_limit(rule: Rule) -> Limit:
    number = rule.number
    if number is None or rule.sense is None:
        raise CatalogueError(
            f"the house rule '{rule.id}' names no number",
            where="pack none",
            allowed="a published number and a sense",
            cure="Add them to the rule",
        )
    return Limit(
        id=rule.id,
        field="efficiency",
        spot="",
        kind=Kind.FRACTION,
        value=number.value,
        exact=number.exact,
        unit=number.unit,
        published=number.published,
        also="",
        sense=rule.sense,
        passes_at_limit=rule.passes_at_limit,
        consequence=Consequence.OUT_OF_SERVICE,
        authority=Authority.ROADSIDE,
        source=rule.source,
        locator=rule.citation,
        status=rule.status,
        note=rule.text,
    )


def _judge_one(
    check: str, label: str, unit: str, value: float, u: float, limits: list[Limit], settings: DecisionSettings
) -> JudgedReading:
    column, spread = np.array([value]), np.array([u])
    which = np.zeros(1, dtype=np.int64)
    verdicts: list[ColumnVerdict] = [
        hold_against(column, spread, LimitSet(({limit.id: limit},), which), limit.id, settings)
        for limit in limits
    ]
    chief = governing(verdicts, 0) if verdicts else -1
    head = verdicts[chief] if verdicts else None
    return JudgedReading(
        place="",
        check=check,
        spot="",
        label=label,
        value=value,
        word="",
        raw="",
        unit=unit,
        u=u,
        limit=head.limit if head else None,
        verdict=DECISIONS[int(head.codes[0])] if head else Verdict.WITHIN,
        p_within=head.p_at(0) if head else None,
        margin=float(head.margin[0]) if head else None,
        reason="" if head else "no limit applies",
    )


def _with_raw(judged: JudgedReading, reading: Measured, spec: FieldSpec) -> JudgedReading:
    return replace(judged, raw=reading.raw, gauge=reading.gauge or spec.gauge)


def word_reading(place: str, name: str, spec: FieldSpec, reading: Reading) -> JudgedReading:
    """Return a word, or a check that could not be taken, as a judged reading.

    Parameters
    ----------
    place : str
        Wheel end, empty for the vehicle.
    name : str
        Field.
    spec : FieldSpec
        What its words mean.
    reading : Observed or Unmeasurable
        The reading.

    Returns
    -------
    JudgedReading
        A good word is within, a fault beyond, a word to be looked into undecided; what could not be taken
        is not taken, and says why.
    """
    word, reason, verdict, raw, settle = "", "", Verdict.NOT_TAKEN, "", ""
    if isinstance(reading, Observed):
        word, raw = reading.word, reading.raw
        meaning = spec.words.get(word)
        verdict = (
            {
                Meaning.FAULT: Verdict.BEYOND,
                Meaning.LOOK: Verdict.UNDECIDED,
                Meaning.UNMEASURABLE: Verdict.NOT_TAKEN,
            }.get(meaning, Verdict.WITHIN)
            if meaning
            else Verdict.WITHIN
        )
        settle = "look with the wheels off" if verdict is Verdict.UNDECIDED else ""
    elif not isinstance(reading, Measured):
        reason = f"could not be taken: {reading.reason}"
    return JudgedReading(
        place=place,
        check=name,
        spot="",
        label=spec.label,
        value=None,
        word=word,
        raw=raw,
        unit="",
        u=None,
        limit=None,
        verdict=verdict,
        p_within=None,
        margin=None,
        gauge=spec.gauge,
        reason=reason,
        settle=settle,
    )


def vehicle_findings(readings: tuple[JudgedReading, ...]) -> tuple[Finding, ...]:
    """Return the findings of the vehicle's own checks.

    Parameters
    ----------
    readings : tuple of JudgedReading
        Judged checks of the vehicle.

    Returns
    -------
    tuple of Finding
        One for each check beyond its limit, undecided, or with a word that means a fault.
    """
    found = []
    for reading in readings:
        if reading.verdict not in (Verdict.BEYOND, Verdict.UNDECIDED):
            continue
        if reading.word:
            weight = "fault" if reading.verdict is Verdict.BEYOND else "look"
            text = f"{reading.label}: {reading.word}"
            found.append(Finding(f"{reading.check}={reading.word}", "", text, reading.check, weight=weight))
        elif reading.limit is not None and reading.value is not None:
            value = shown(reading.value, reading.unit)
            against = f"{reading.label} {value} against {reading.limit.published} ({reading.limit.status})"
            found.append(
                Finding(
                    f"{reading.check}:{reading.verdict}",
                    "",
                    against if reading.verdict is Verdict.BEYOND else f"{against}: not decided",
                    reading.check,
                    weight="fault" if reading.verdict is Verdict.BEYOND else "look",
                    probability=None if reading.p_within is None else 1.0 - reading.p_within,
                    limit_id=reading.limit.id,
                )
            )
    return tuple(found)
