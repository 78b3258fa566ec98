"""Left and right written into each other's columns."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from wearline.forecasting.clocks import PlacedInspection
from wearline.forecasting.findings import HistoryFinding
from wearline.records.inspection import Inspection, Vehicle
from wearline.records.place import WheelEndPlace
from wearline.records.readings import CORNERS

__all__ = ["find_swaps"]

_LEAST_DIFFERENCE = 1.0e-3
"""[m] Ends that are nearer to each other cannot be told apart (expert judgement)."""

_CLEARLY = 6.0
"""[1] Misfit as written against misfit exchanged, as a ratio of squares."""


def find_swaps(
    vehicle: Vehicle, placed: Sequence[PlacedInspection]
) -> list[tuple[HistoryFinding, int, tuple[WheelEndPlace, ...]]]:
    """Find inspections in which the two ends of an axle were written into each other's place.

    Parameters
    ----------
    vehicle : Vehicle
        Its axles.
    placed : sequence of PlacedInspection
        The vehicle's inspections, oldest first.

    Returns
    -------
    list of (HistoryFinding, int, tuple of WheelEndPlace)
        Finding, number of the inspection, and the ends that stay out.

    Notes
    -----
    Needs an inspection before and one after on the same pads: between them the friction of each end runs
    along a line, and the readings are held against it as written and exchanged.
    """
    found: list[tuple[HistoryFinding, int, tuple[WheelEndPlace, ...]]] = []
    for axle in vehicle.axles:
        left, right = WheelEndPlace(axle.id, "L"), WheelEndPlace(axle.id, "R")
        values = np.array([[_mean(p.inspection, left), _mean(p.inspection, right)] for p in placed])
        clock = np.array([p.clock for p in placed])
        known = np.flatnonzero(~np.isnan(values).any(axis=1))
        for a, b, c in zip(known[:-2], known[1:-1], known[2:], strict=True):
            if (values[c] > values[a]).any() or clock[c] <= clock[a]:
                continue
            share = (clock[b] - clock[a]) / (clock[c] - clock[a])
            line = values[a] + share * (values[c] - values[a])
            straight = float(np.square(values[b] - line).sum())
            crossed = float(np.square(values[b][::-1] - line).sum())
            apart = abs(values[b][0] - values[b][1])
            if apart > _LEAST_DIFFERENCE and straight > _CLEARLY * (crossed + 2 * 0.3e-3**2):
                found.append((_finding(vehicle, placed[b], axle.id, values[b]), int(b), (left, right)))
    return found


def _finding(
    vehicle: Vehicle,
    item: PlacedInspection,
    axle: str,
    values: np.ndarray,
) -> HistoryFinding:
    return HistoryFinding(
        "wheel ends swapped",
        vehicle.id,
        f"on {item.inspection.taken_on} {axle}L reads {1e3 * values[0]:.1f} mm and {axle}R "
        f"{1e3 * values[1]:.1f} mm on average; exchanged, both lie on the line of those before and after",
        "Look which is which and correct the inspection",
        at=axle,
        inspections=(item.id,),
        kept_out=True,
    )


def _mean(inspection: Inspection, place: WheelEndPlace) -> float:
    end = inspection.wheel_end(place)
    if end is None:
        return float("nan")
    readings = [end.measured(f"pad_{pad}", corner) for pad in ("inner", "outer") for corner in CORNERS]
    values = [reading.value for reading in readings if reading is not None]
    return float(np.mean(values)) if values else float("nan")
