"""Pictures of the answers, written beside them."""

from __future__ import annotations

from pathlib import Path

from wearline.assessment.road_results import RoadDecision
from wearline.errors import InputError
from wearline.reports.plots import stop_chart, write_chart

__all__ = ["plot_stop"]


def plot_stop(decision: RoadDecision, path: str | Path) -> Path:
    """Draw the stopping distance of a road decision.

    Parameters
    ----------
    decision : RoadDecision
        The decision.
    path : str or Path
        File, its ending chooses the kind.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        If no stopping distance is known, or the file cannot be written.
    """
    left = decision.capability.left
    if left is None or left.stop is None:
        raise InputError(
            "no stopping distance is known",
            where="--plot",
            allowed="an inspection with the test mass and the brake force of every wheel end",
            cure="Add test_mass_kg and brake_force, or leave out --plot",
        )
    return write_chart(stop_chart(left.stop), path)
