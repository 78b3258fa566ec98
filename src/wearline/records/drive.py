"""A recorded drive: speed and slope over time."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Drive"]


@dataclass(frozen=True, slots=True)
class Drive:
    """Speed over time as recorded, slope where it was.

    Parameters
    ----------
    time : tuple of float
        Rising times [s].
    speed : tuple of float
        Speed at those times [m/s].
    slope : tuple of float
        Height over length, positive downhill [1]; empty where it was not recorded.
    """

    time: tuple[float, ...]
    speed: tuple[float, ...]
    slope: tuple[float, ...] = ()
