"""Shapes of the JSON answers to questions about a whole fleet: intervals, comparisons, lives of parts."""

from __future__ import annotations

from typing_extensions import TypedDict

from wearline.app.answer_types import NoticeJson

__all__ = [
    "BatchJson",
    "BatchPartJson",
    "CompareAnswer",
    "ComparedGroupJson",
    "ComparedPairJson",
    "ComparedSetJson",
    "CostPointJson",
    "CurvePointJson",
    "FitJson",
    "IntervalAnswer",
    "IntervalGroupJson",
    "KnowledgeJson",
    "LifeAnswer",
    "PairJson",
    "PricesJson",
]


class PricesJson(TypedDict):
    """Prices that an answer rests on; ``invented`` names those that no file says."""

    visit: float
    pad_set: float
    rotor_pair: float
    miss: float
    pad_sets: dict[str, float]
    invented: list[str]


class CostPointJson(TypedDict):
    """Cost and risk of looking every so often; money by ``per`` of the group."""

    km: float
    amount: float
    look: float
    pads: float
    miss: float
    total: float
    risk: float
    wasted: float


class KnowledgeJson(TypedDict):
    """What more readings or a better gauge would buy, pads half worn."""

    what: str
    readings: int
    u_mm: float
    spread_percent: float
    longest_half_worn_km: float
    longest_half_worn: float
    least_total: float


class IntervalGroupJson(TypedDict):
    """One duty and axle role: amounts in ``unit``, the same in km beside them."""

    duty: str
    role: str
    axles: int
    unit: str
    per: float
    every: float | None
    every_km: float | None
    longest: float | None
    longest_km: float | None
    first_look: float
    first_look_km: float
    nobody_looks: float
    nobody_looks_km: float
    median_life: float
    median_life_km: float
    cheapest: CostPointJson
    chosen: CostPointJson | None
    curve: list[CostPointJson]
    knowledge: list[KnowledgeJson]


class IntervalAnswer(TypedDict):
    """Answer of ``interval``."""

    schema: str
    says: str
    risk: float
    prices: PricesJson
    groups: list[IntervalGroupJson]
    warnings: list[NoticeJson]


class ComparedGroupJson(TypedDict):
    """One group of a comparison; money by ``per`` of the answer."""

    name: str
    axle_sets: int
    vehicles: int
    wear_mm: float
    rotor_mm: float
    rotor_vehicles: int
    cost: float
    cost_low: float
    cost_high: float


class ComparedPairJson(TypedDict):
    """The second group against the first."""

    first: str
    second: str
    paired: bool
    count: int
    cost_ratio: float
    cost_low: float
    cost_high: float
    wear_ratio: float
    wear_low: float
    wear_high: float
    p_value: float
    needed: int
    smallest_percent: float
    tells: bool
    says: str


class ComparedSetJson(TypedDict):
    """The pads of one axle: wear by ten times ``per``, money by ``per``."""

    group: str
    vehicle: str
    axle: str
    role: str
    wear_mm: float
    cost: float


class PairJson(TypedDict):
    """Two groups on one vehicle and axle role; money by ``per``."""

    first: str
    second: str
    vehicle: str
    role: str
    cost_first: float
    cost_second: float


class CompareAnswer(TypedDict):
    """Answer of ``compare``."""

    schema: str
    says: str
    by: str
    unit: str
    per: float
    prices: PricesJson
    groups: list[ComparedGroupJson]
    comparisons: list[ComparedPairJson]
    sets: list[ComparedSetJson]
    pairs: list[PairJson]
    warnings: list[NoticeJson]


class CurvePointJson(TypedDict):
    """Share of parts that survive beyond an age, with its 95 % interval."""

    age: float
    share: float
    low: float
    high: float
    at_risk: float


class FitJson(TypedDict):
    """A fitted distribution of lives."""

    shape: str
    slope: float | None
    location: float
    scale: float
    characteristic: float
    age_10_percent: float
    age_50_percent: float
    log_likelihood: float


class BatchPartJson(TypedDict):
    """One part of the batch; the likeliest to fail next first."""

    vehicle: str
    at: str
    age: float
    failed: bool
    p_fails_before: float | None


class BatchJson(TypedDict):
    """A batch against all other parts."""

    key: str
    value: str
    parts: int
    failed: int
    expected: float | None
    ratio: float | None
    low: float | None
    high: float | None
    p_value: float | None
    before: float
    says: str
    curve: list[CurvePointJson]
    rest: list[CurvePointJson]
    oldest: float
    rest_oldest: float
    list: list[BatchPartJson]


class LifeAnswer(TypedDict):
    """Answer of ``life``."""

    schema: str
    says: str
    part: str
    label: str
    unit: str
    parts: int
    failed: int
    running: int
    late_entries: int
    since: float
    curve: list[CurvePointJson]
    oldest: float
    fits: list[FitJson]
    batch: BatchJson | None
    warnings: list[NoticeJson]
