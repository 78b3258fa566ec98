"""Shapes of the JSON answers of the forecast and of the plan."""

from __future__ import annotations

from typing_extensions import TypedDict

from wearline.app.answer_types import NoticeJson

__all__ = [
    "AxleOutlookJson",
    "BeforeJson",
    "BookingJson",
    "CrossedJson",
    "FleetOutlookJson",
    "FleetWearJson",
    "GroupIntervalJson",
    "GroupWearJson",
    "HistoryFindingJson",
    "LimitOutlookJson",
    "OnAxisJson",
    "OrderJson",
    "OutlierJson",
    "OutlookAnswer",
    "PlanAnswer",
    "PresentEndJson",
    "RenewalsJson",
]


class BeforeJson(TypedDict):
    """Chance of crossing before a distance."""

    km: float
    probability: float


class OnAxisJson(TypedDict):
    """The same distance in what the vehicle's wear is counted against: ``km``, ``h`` or ``stops``."""

    unit: str
    p05: float
    median: float
    p95: float


class LimitOutlookJson(TypedDict):
    """Distance from the last inspection to one limit of one wheel end."""

    vehicle: str
    at: str
    part: str
    limit: str
    km_p05: float
    km_median: float
    km_p95: float
    p_beyond_before: BeforeJson
    on_axis: OnAxisJson


class PresentEndJson(TypedDict):
    """What is known of one wheel end now."""

    vehicle: str
    at: str
    role: str
    duty: str
    odometer_km: float | None
    pads_fitted_km_ago: float | None
    readings: int
    friction_mm_p05: float
    friction_mm_median: float
    friction_mm_p95: float
    wear_mm_per_10000_km_p05: float
    wear_mm_per_10000_km_median: float
    wear_mm_per_10000_km_p95: float
    decides: str


class AxleOutlookJson(TypedDict):
    """One axle: the first of its ends to meet the pads' service limit."""

    vehicle: str
    axle: str
    role: str
    duty: str
    km_p05: float
    km_median: float
    km_p95: float
    p_beyond_before: BeforeJson
    decides: str
    decides_km_p05: float
    on_axis: OnAxisJson


class GroupIntervalJson(TypedDict):
    """Longest distance between looks of one duty and axle role."""

    duty: str
    role: str
    axles: int
    risk: float
    longest_now_km: float
    longest_from_new_km: float
    median_life_km: float


class FleetOutlookJson(TypedDict):
    """What the fleet has in common."""

    learnt_from_vehicles: int
    spread_percent: dict[str, float]
    reading_scale: float
    future_duty_percent: float


class HistoryFindingJson(TypedDict):
    """Something found in the history."""

    code: str
    vehicle: str
    at: str
    text: str
    cure: str
    inspections: list[str]
    kept_out: bool
    probability: float | None


class GroupWearJson(TypedDict):
    """Lives of one duty and axle role in ``unit``: expected of new pads, and of sets that have come off."""

    duty: str
    role: str
    unit: str
    axles: int
    life_p05: float
    life_median: float
    life_p95: float
    ended_sets: int
    ended_lives: list[float]
    wear_ratios: list[float]


class RenewalsJson(TypedDict):
    """Pads of axles that came off: friction thrown away in mm and money; ``left_mm`` has bins and counts."""

    count: int
    early: int
    late: int
    limit_mm: float
    early_above_mm: float
    wasted_mm: float
    wasted_money: float
    bin_mm: float
    left_mm: list[list[float]]


class CrossedJson(TypedDict):
    """Pads that a look found below the service limit."""

    vehicle: str
    at: str
    thinnest_mm: float
    limit_mm: float
    found_on: str
    still_on: bool


class OutlierJson(TypedDict):
    """A wheel end that wears unlike others: over the middle of its group, and over its mate."""

    vehicle: str
    at: str
    duty: str
    role: str
    ratio: float
    mate_ratio: float
    deviations: float


class FleetWearJson(TypedDict):
    """What the fleet does with its pads."""

    pad_set_price: float
    price_is_invented: bool
    groups: list[GroupWearJson]
    renewals: RenewalsJson
    crossed: list[CrossedJson]
    outliers: list[OutlierJson]


class OutlookAnswer(TypedDict):
    """Answer of ``outlook``."""

    schema: str
    wheel_ends: list[LimitOutlookJson]
    present: list[PresentEndJson]
    axles: list[AxleOutlookJson]
    intervals: list[GroupIntervalJson]
    fleet: FleetOutlookJson | None
    fleet_wear: FleetWearJson | None
    findings: list[HistoryFindingJson]
    warnings: list[NoticeJson]


class BookingJson(TypedDict):
    """One visit of a vehicle to the shop."""

    vehicle: str
    shop: str
    week: int
    begins_on: str
    axles: list[str]
    hours: float
    risk: float
    because: list[str]


class OrderJson(TypedDict):
    """Demand and order of one part."""

    part: str
    shop: str
    week: int
    demand_median: float
    demand_p95: float
    order_up_to: int


class PlanAnswer(TypedDict):
    """Answer of ``plan``."""

    schema: str
    feasible: bool
    gap: float | None
    cost: float | None
    bookings: list[BookingJson]
    orders: list[OrderJson]
    not_possible: list[str]
    warnings: list[NoticeJson]
