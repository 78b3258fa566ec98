"""Shapes of the JSON answer of ``why``, from which its shipped JSON Schema is made."""

from __future__ import annotations

from typing_extensions import TypedDict

from wearline.app.answer_types import NoticeJson, VehicleJson

__all__ = [
    "CauseJson",
    "FoundJson",
    "MisfitJson",
    "NextTestJson",
    "RootJson",
    "WhyAnswer",
    "WhyAxleJson",
    "WhyEndJson",
    "WhyVehicleJson",
]

CauseJson = TypedDict(
    "CauseJson",
    {
        "code": str,
        "name": str,
        "probability": float,
        "for": list[str],
        "against": list[str],
        "mechanism": str,
        "repair": str,
        "confirm": str,
    },
)
"""One cause with its evidence."""


class FoundJson(TypedDict):
    """A fault that was seen itself."""

    code: str
    name: str
    text: str
    probability: float


class RootJson(TypedDict):
    """The earliest cause still present."""

    code: str
    name: str
    at: str
    probability: float
    follows: list[str]
    look_first: str


class NextTestJson(TypedDict):
    """One more check worth its time."""

    test: str
    check: str
    gain_bits: float
    minutes: float
    access_minutes: float
    bits_per_minute: float
    state: str
    first_reach: str
    about: list[str]


class MisfitJson(TypedDict):
    """Readings that do not fit together."""

    text: str
    repeat: str
    check: str


class WhyEndJson(TypedDict):
    """One wheel end."""

    at: str
    no_own_cause: float
    causes: list[CauseJson]
    found: list[FoundJson]
    root: RootJson | None
    next_tests: list[NextTestJson]
    undecided: list[str]
    misfit: MisfitJson | None
    error_estimate: float


class WhyAxleJson(TypedDict):
    """One axle."""

    axle: str
    causes: list[CauseJson]
    victim: str


class WhyVehicleJson(VehicleJson):
    """The vehicle as a whole."""

    causes: list[CauseJson]
    undecided: list[str]


class WhyAnswer(TypedDict):
    """Answer of ``why``."""

    schema: str
    vehicle: WhyVehicleJson
    axles: list[WhyAxleJson]
    wheel_ends: list[WhyEndJson]
    assumed: list[str]
    warnings: list[NoticeJson]
    basis: str
    cautions: list[str]
