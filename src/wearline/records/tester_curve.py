"""A wheel's record from a brake tester: force against pressure, in time."""

from __future__ import annotations

from dataclasses import dataclass

from wearline.records.place import WheelEndPlace

__all__ = ["CurveRun", "ForceCurve"]


@dataclass(frozen=True, slots=True)
class CurveRun:
    """One run without a break: one rise and release, or several.

    Parameters
    ----------
    time : tuple of float
        Seconds, rising; empty where the file has no times.
    pressure : tuple of float
        Pressure at the chamber or the coupling, in time order [Pa].
    force : tuple of float
        Brake force at the tyre [N].
    """

    time: tuple[float, ...]
    pressure: tuple[float, ...]
    force: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ForceCurve:
    """Everything that was recorded of one wheel.

    Parameters
    ----------
    place : WheelEndPlace
        Wheel end.
    runs : tuple of CurveRun
        In the order of the file.
    """

    place: WheelEndPlace
    runs: tuple[CurveRun, ...]

    @property
    def points(self) -> int:
        """Points of all runs."""
        return sum(len(run.pressure) for run in self.runs)
