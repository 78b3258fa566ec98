"""What is wrong or remarkable in a history: said, kept out until somebody decides, never deleted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

__all__ = ["Decision", "Decisions", "HistoryFinding"]

Decision = Literal["use", "leave out", "miles", "km", "hours", "stops"]
"""What a person decided of an inspection: use it as it stands, leave it out, its odometer counts miles; the
wear of its vehicle is counted in km, hours or stops."""

Decisions = Mapping[str, Decision]
"""Decisions by id of the inspection."""


@dataclass(frozen=True, slots=True)
class HistoryFinding:
    """One finding in the history of a vehicle.

    Parameters
    ----------
    code : str
        Kind of finding, as ``"odometer went back"``.
    vehicle : str
        The vehicle.
    text : str
        What was found, with its numbers.
    cure : str
        What the person can do.
    at : str
        Wheel end or axle; empty for the whole inspection.
    inspections : tuple of str
        Ids of the inspections concerned.
    kept_out : bool
        Whether readings stay out of the forecast until it is decided.
    probability : float or None
        How sure the finding is, where it is a matter of chance.
    """

    code: str
    vehicle: str
    text: str
    cure: str
    at: str = ""
    inspections: tuple[str, ...] = ()
    kept_out: bool = False
    probability: float | None = None
