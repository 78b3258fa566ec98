"""Shapes of the JSON answers of ``drill``, from which the shipped JSON Schemas are made."""

from __future__ import annotations

from typing_extensions import TypedDict

__all__ = [
    "BlameJson",
    "BriefCaseJson",
    "CauseMarkJson",
    "ClassSheetAnswer",
    "DrillAnswer",
    "DrillReadingJson",
    "DrillScoreJson",
    "DroppedAnswer",
    "LessonJson",
    "LevelJson",
    "OrderJson",
    "ProgressAnswer",
    "ResultJson",
    "RouteStepJson",
    "TakenJson",
    "WorkMarkJson",
]


class LevelJson(TypedDict):
    """One level."""

    number: int
    name: str


class DrillReadingJson(TypedDict):
    """One reading as it was written down."""

    at: str
    check: str
    spot: str
    text: str


class TakenJson(TypedDict):
    """One test that was done."""

    test: str
    at: str
    minutes: float
    access_minutes: float
    readings: list[DrillReadingJson]


class BlameJson(TypedDict):
    """A cause with its place."""

    at: str
    code: str


class OrderJson(TypedDict):
    """A situation of work ordered for an axle."""

    axle: str
    code: str


class CauseMarkJson(TypedDict):
    """One cause, true or blamed."""

    at: str
    code: str
    name: str
    result: str
    root: bool
    said: str


class WorkMarkJson(TypedDict):
    """The work of one axle."""

    axle: str
    ordered: list[str]
    needed: list[str]
    missing: list[str]
    needless: list[str]


class LessonJson(TypedDict):
    """What one reading should have said."""

    at: str
    check: str
    spot: str
    cause: str
    written: str
    true: str
    without: str
    text: str


class RouteStepJson(TypedDict):
    """One test of the best route."""

    test: str
    at: str
    minutes: float


class DrillScoreJson(TypedDict):
    """The score of a finished drill."""

    points: float
    cause_points: float
    work_points: float
    time_points: float | None
    causes: list[CauseMarkJson]
    work: list[WorkMarkJson]
    minutes: float
    best_minutes: float
    best_route_found_it: bool
    best_route: list[RouteStepJson]
    lessons: list[LessonJson]
    unseen: list[LessonJson]


class DrillAnswer(TypedDict):
    """A drill: finished, open or dropped."""

    schema: str
    state: str
    resumed: bool
    person: str
    level: LevelJson
    seed: int
    vehicle: str
    complaint: str
    given: list[TakenJson]
    tests: list[TakenJson]
    minutes: float
    causes: list[BlameJson]
    work: list[OrderJson]
    score: DrillScoreJson | None
    scenario: str


class DroppedAnswer(TypedDict):
    """An open drill that was thrown away."""

    schema: str
    person: str
    dropped: bool


class ResultJson(TypedDict):
    """One finished drill of a person."""

    id: str
    finished: str
    level: int
    seed: int
    points: float
    minutes: float
    best_minutes: float | None


class ProgressAnswer(TypedDict):
    """What a person has done so far."""

    schema: str
    person: str
    drills: list[ResultJson]
    unreadable_lines: int
    file: str


class BriefCaseJson(TypedDict):
    """One case of a class sheet."""

    number: int
    level: int
    seed: int
    vehicle: str


class ClassSheetAnswer(TypedDict):
    """The papers of a class."""

    schema: str
    files: list[str]
    cases: list[BriefCaseJson]
