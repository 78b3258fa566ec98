"""Shapes of the JSON answers, from which the shipped JSON Schemas are made."""

from __future__ import annotations

from typing_extensions import TypedDict

__all__ = [
    "AllowedJson",
    "AxleJobJson",
    "AxleJson",
    "CapabilityJson",
    "CatalogueAnswer",
    "CatalogueEntryJson",
    "CountJson",
    "DefectiveJson",
    "EndForceJson",
    "ErrorAnswer",
    "ErrorPartsJson",
    "FindingJson",
    "FollowUpJson",
    "FourAnswersJson",
    "HistoryAnswer",
    "HoursJson",
    "ImbalanceJson",
    "JobAnswer",
    "JudgementAnswer",
    "KeepAnswer",
    "KeptJson",
    "LimitJson",
    "MakerFileAnswer",
    "NoticeJson",
    "OtherLimitJson",
    "PackJson",
    "PartJson",
    "RangeJson",
    "ReadingJson",
    "ReasonJson",
    "RoadAnswer",
    "RuleJson",
    "ShownFigureJson",
    "StepJson",
    "StopJson",
    "TourAnswer",
    "TourVehicleJson",
    "VehicleJson",
    "WheelEndJson",
    "WorkJson",
    "WrittenAnswer",
]


class LimitJson(TypedDict):
    """A limit in its published unit."""

    id: str
    value: float
    unit: str
    published: str
    also: str
    sense: str
    passes_at_limit: bool
    consequence: str
    authority: str
    source: str
    locator: str
    status: str


class OtherLimitJson(TypedDict):
    """A further limit of the same reading."""

    limit: LimitJson
    verdict: str
    p_within: float
    margin: float


class ReadingJson(TypedDict):
    """A judged reading in its shown unit."""

    check: str
    spot: str
    label: str
    value: float | None
    word: str
    raw: str
    unit: str
    u: float | None
    limit: LimitJson | None
    verdict: str
    p_within: float | None
    margin: float | None
    gauge: str
    reason: str
    settle: str
    others: list[OtherLimitJson]


class FindingJson(TypedDict):
    """A finding."""

    id: str
    at: str
    text: str
    check: str
    spot: str
    weight: str
    probability: float | None
    limit: str


class FollowUpJson(TypedDict):
    """A check that became necessary, needless or void."""

    kind: str
    check: str
    title: str
    because: str
    done: bool


class WheelEndJson(TypedDict):
    """One wheel end."""

    at: str
    design: str
    readings: list[ReadingJson]
    derived: dict[str, float | bool | str | None]
    findings: list[FindingJson]
    followups: list[FollowUpJson]
    not_taken: list[str]


class AxleJson(TypedDict):
    """One axle."""

    axle: str
    role: str
    wheels: str
    reasons: list[str]
    imbalance: ReadingJson | None
    findings: list[FindingJson]


class VehicleJson(TypedDict):
    """The vehicle."""

    id: str


class NoticeJson(TypedDict):
    """A warning."""

    code: str
    text: str
    where: str
    cure: str


class JudgementAnswer(TypedDict):
    """Answer of ``judge``."""

    schema: str
    vehicle: VehicleJson
    axles: list[AxleJson]
    wheel_ends: list[WheelEndJson]
    vehicle_readings: list[ReadingJson]
    findings: list[FindingJson]
    warnings: list[NoticeJson]
    confidence: float
    decision_rules: dict[str, str]


class WorkJson(TypedDict):
    """Work at a place."""

    code: str
    at: str
    title: str
    because: list[str]
    standing: str
    choice: str


class StepJson(TypedDict):
    """One step."""

    n: int
    text: str
    at: str
    gate: str
    gate_number: str
    caution: list[str]
    record: list[str]


class PartJson(TypedDict):
    """Parts of one kind."""

    part: str
    count: int
    at: str
    because: str
    if_needed: bool


class HoursJson(TypedDict):
    """Labour of one person."""

    low: float
    high: float
    basis: str


class AxleJobJson(TypedDict):
    """The job on one axle."""

    axle: str
    work: list[WorkJson]
    also: list[WorkJson]
    steps: list[StepJson]
    parts: list[PartJson]
    hours: HoursJson
    other_end: list[str]


class JobAnswer(TypedDict):
    """Answer of ``job``."""

    schema: str
    vehicle: VehicleJson
    first: list[str]
    axles: list[AxleJobJson]
    cautions: list[str]
    proof: list[str]
    records: list[str]
    decides: str


class ReasonJson(TypedDict):
    """One reason of a level."""

    level: int
    at: str
    text: str
    status: str


class DefectiveJson(TypedDict):
    """One defective brake."""

    at: str
    because: str


class CountJson(TypedDict):
    """The count rule."""

    defective: int
    brakes: int
    share: float
    needed: int
    rule_met: bool
    places: list[DefectiveJson]
    unknown: list[str]


class ImbalanceJson(TypedDict):
    """Imbalance of an axle."""

    axle: str
    imbalance_percent: float


class EndForceJson(TypedDict):
    """What one brake has left."""

    at: str
    share_percent: float | None
    basis: str
    states: list[str]
    status: str


class RangeJson(TypedDict):
    """Least, likely and most, 95 %."""

    low_m: float
    likely_m: float
    high_m: float


class StopJson(TypedDict):
    """Stopping distance as the brakes are and as they should be."""

    speed_kmh: float
    now: RangeJson | None
    intact: RangeJson | None
    status: str


class AllowedJson(TypedDict):
    """A bound that the brakes set: the cautious one counts."""

    cautious: float
    likely: float
    unit: str
    terms: str


class ShownFigureJson(TypedDict):
    """A figure that is shown and decides nothing."""

    text: str
    published: str
    status: str
    decides: bool


class CapabilityJson(TypedDict):
    """Measured forces, and what is left of the braking."""

    efficiency_percent: float | None
    efficiency_needed_percent: float | None
    total_force_kN: float | None
    weight_kN: float | None
    imbalances: list[ImbalanceJson]
    not_measured: list[str]
    left_percent: float | None
    left_low_percent: float | None
    left_high_percent: float | None
    ends: list[EndForceJson]
    stop: StopJson | None
    mass_allowed: AllowedJson | None
    slope_allowed: AllowedJson | None
    figures: list[ShownFigureJson]


class RuleJson(TypedDict):
    """One rule."""

    rule: str
    citation: str
    source: str
    grade: str
    answer: str
    at: list[str]
    explanation: str
    decides: bool
    effect: str


class PackJson(TypedDict):
    """One rule pack."""

    pack: str
    title: str
    text_as_of: str
    answer: str
    rules: list[RuleJson]


class FourAnswersJson(TypedDict):
    """Four answers, never merged."""

    part: str
    brake: str
    capability: str
    law: str


class RoadAnswer(TypedDict):
    """Answer of ``road``."""

    schema: str
    vehicle: VehicleJson
    level: int
    meaning: str
    reasons: list[ReasonJson]
    conditions: list[str]
    count: CountJson
    capability: CapabilityJson
    packs: list[PackJson]
    answers: FourAnswersJson
    not_proven: list[str]
    cautions: list[str]


class ErrorPartsJson(TypedDict):
    """Parts of an error."""

    kind: str
    where: str
    what: str
    allowed: str
    cure: str


class ErrorAnswer(TypedDict):
    """Answer of any command that failed."""

    schema: str
    error: ErrorPartsJson


class KeepAnswer(TypedDict):
    """Answer of ``keep``."""

    schema: str
    id: str
    digest: str
    already_kept: bool
    warnings: list[NoticeJson]


class KeptJson(TypedDict):
    """One kept inspection."""

    id: str
    vehicle: str
    taken_on: str
    odometer_km: float | None
    inspector: str
    level: int
    findings: int
    thinnest_mm: dict[str, float | None]
    supersedes: str
    reason: str


class HistoryAnswer(TypedDict):
    """Answer of ``history``."""

    schema: str
    inspections: list[KeptJson]


class WrittenAnswer(TypedDict):
    """Answer of a command that writes files."""

    schema: str
    files: list[str]


class CatalogueEntryJson(TypedDict):
    """One line of the catalogue."""

    id: str
    text: str
    value: str
    status: str
    source: str


class CatalogueAnswer(TypedDict):
    """Answer of ``catalogue show``."""

    schema: str
    what: str
    entries: list[CatalogueEntryJson]


class MakerFileAnswer(TypedDict):
    """Answer of ``catalogue check``."""

    schema: str
    document: str
    date: str
    part_number: str
    designs: list[str]
    limits: list[str]


class TourVehicleJson(TypedDict):
    """One vehicle of the demonstration fleet."""

    vehicle: str
    description: str
    inspections: int
    level: int
    headline: str
    cause: str
    work: str
    next: str


class TourAnswer(TypedDict):
    """Answer of ``tour``."""

    schema: str
    scenario: str
    vehicles: list[TourVehicleJson]
    files: list[str]
