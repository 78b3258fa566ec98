"""Shapes of the JSON answers on braking: proof of a repair, descents, brake-tester curves, rotor heat."""

from __future__ import annotations

from typing_extensions import TypedDict

from wearline.app.answer_types import NoticeJson, ShownFigureJson, VehicleJson

__all__ = [
    "AxleCurvesJson",
    "AxleProofJson",
    "CurveAnswer",
    "CurveEndJson",
    "CurvePointJson",
    "CurveSignJson",
    "DescentAnswer",
    "DescentSpeedJson",
    "EndProofJson",
    "EvidenceJson",
    "HeatAnswer",
    "OpenGateJson",
    "ProofAnswer",
]


class EvidenceJson(TypedDict):
    """One comparison of a proof; ``shown`` is null where it was not taken."""

    check: str
    text: str
    shown: bool | None
    probability: float | None
    decides: bool


class EndProofJson(TypedDict):
    """One wheel end before and after; ``restored`` is 'restored', 'not shown' or 'worse'."""

    at: str
    restored: str
    probability: float
    probability_worse: float
    force_before_kN: float | None
    force_after_kN: float | None
    gain_needed_percent: float | None
    raw_pads: bool
    advice: str
    evidence: list[EvidenceJson]


class AxleProofJson(TypedDict):
    """One axle before and after; imbalances in the unit beside them."""

    axle: str
    imbalance_before: float | None
    imbalance_after: float | None
    unit: str
    u_before: float | None
    u_after: float | None
    p_within_rule: float | None
    p_within_aim: float | None
    total_before_kN: float | None
    total_after_kN: float | None
    text: str


class OpenGateJson(TypedDict):
    """A gate that is not shown to be passed."""

    gate: str
    at: str
    text: str
    because: str
    kind: str


class ProofAnswer(TypedDict):
    """Answer of ``proof``."""

    schema: str
    vehicle: VehicleJson
    before_on: str
    after_on: str
    wheel_ends: list[EndProofJson]
    axles: list[AxleProofJson]
    efficiency_before_percent: float | None
    efficiency_after_percent: float | None
    bedded: bool | None
    open_gates: list[OpenGateJson]
    warnings: list[NoticeJson]
    cautions: list[str]


class CurvePointJson(TypedDict):
    """One point of a descent."""

    distance_m: float
    likely_degC: float
    cautious_degC: float


class DescentSpeedJson(TypedDict):
    """What the brakes come to at one speed."""

    speed_kmh: float
    power_per_brake_kW: float
    bottom_likely_degC: float
    bottom_cautious_degC: float
    stop_rise_K: float
    after_stop_likely_degC: float
    after_stop_cautious_degC: float
    curve: list[CurvePointJson]


class DescentAnswer(TypedDict):
    """Answer of ``descent``; the safe speed is the cautious one, rounded down."""

    schema: str
    mass_kg: float
    slope_percent: float
    length_m: float
    brakes: float
    retarder_kW: float
    limit_degC: float
    safe_speed_kmh: float
    safe_speed_likely_kmh: float
    holds: bool
    at_speed: DescentSpeedJson
    figures: list[ShownFigureJson]
    cautions: list[str]


class CurveSignJson(TypedDict):
    """What the shape of a curve says, with the causes that make such a shape."""

    text: str
    causes: list[str]
    status: str


class CurveEndJson(TypedDict):
    """The force curve of one wheel; null where the curve does not tell."""

    at: str
    points: int
    rises: int
    threshold_bar: float | None
    u_threshold_bar: float | None
    slope_kN_per_bar: float | None
    u_slope_kN_per_bar: float | None
    hysteresis_percent: float | None
    lag_s: float | None
    swing_percent: float | None
    drag_before_kN: float | None
    drag_after_kN: float | None
    highest_pressure_bar: float
    highest_force_kN: float
    locked: bool
    levels_off: bool
    full_load_kN: float | None
    u_full_load_kN: float | None
    signs: list[CurveSignJson]


class AxleCurvesJson(TypedDict):
    """Imbalance of an axle at some pressures."""

    axle: str
    imbalance: list[dict[str, float | None]]
    signs: list[CurveSignJson]


class CurveAnswer(TypedDict):
    """Answer of ``curves``."""

    schema: str
    full_pressure_bar: float
    wheels: list[CurveEndJson]
    axles: list[AxleCurvesJson]
    efficiency_full_percent: float | None
    u_efficiency_full_percent: float | None
    figures: list[ShownFigureJson]
    cautions: list[str]


class HeatAnswer(TypedDict):
    """Answer of ``heat``."""

    schema: str
    duration_s: float
    distance_m: float
    energy_MJ: float
    peak_degC: float
    peak_at_s: float
    mean_at_end_degC: float
    wear_mm3: float
    figures: list[ShownFigureJson]
    cautions: list[str]
