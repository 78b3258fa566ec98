"""Slips of the pen laid over the readings of an inspection."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from wearline.practice.layout import Floats
    from wearline.practice.recording import Misreading
    from wearline.practice.simulation import Simulation
    from wearline.records.readings import ReadingKey

__all__ = ["slip_readings"]

_INCH = 25.4
_PADS = ("pad_inner", "pad_outer")
_CORNERS = ("LT", "LB", "TT", "TB")
_OTHER_END = {"LT": "TT", "LB": "TB", "TT": "LT", "TB": "LB"}
_PLAYS = (("tangential_play", ""), ("radial_play", ""))


def slip_readings(
    shown: dict[ReadingKey, Floats], slip: Misreading, end: int, simulation: Simulation
) -> None:
    """Change the readings of one wheel end as a slip of the pen would.

    Parameters
    ----------
    shown : dict of (field, spot) to array, [SI]
        What the gauges show; changed in place.
    slip : Misreading
        The slip; those that concern distances or sides change nothing here.
    end : int
        Wheel end.
    simulation : Simulation
        For plate thickness and generator.

    Notes
    -----
    Inches as millimetres: the number read in inches stands in a field of millimetres, so 9.8 mm becomes 0.39
    mm. A plate that would make a pad thicker than new is noticed by anybody and is not counted in.
    """
    if slip.kind == "inches as millimetres":
        for key in [*((pad, corner) for pad in _PADS for corner in _CORNERS), *_PLAYS]:
            shown[key][end] /= _INCH
    elif slip.kind == "inner and outer swapped":
        for corner in _CORNERS:
            inner, outer = shown["pad_inner", corner], shown["pad_outer", corner]
            inner[end], outer[end] = outer[end], inner[end]
    elif slip.kind == "ends swapped":
        for pad in _PADS:
            values = {corner: shown[pad, corner][end] for corner in _CORNERS}
            for corner in _CORNERS:
                shown[pad, corner][end] = values[_OTHER_END[corner]]
    elif slip.kind == "plate counted in":
        dimension = simulation.layout.dimension
        for pad in _PADS:
            with_plate = [shown[pad, corner][end] + dimension["plate"][end] for corner in _CORNERS]
            if max(with_plate) <= 1.03 * dimension["friction_new"][end]:
                for corner, value in zip(_CORNERS, with_plate, strict=True):
                    shown[pad, corner][end] = value
    elif slip.kind == "indicator step misread":
        indicator = shown["wear_indicator", ""]
        step = 0.25 if simulation.look_rng.random() < 0.5 else -0.25
        indicator[end] = float(np.clip(indicator[end] + step, 0.0, 1.1))
