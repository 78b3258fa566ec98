"""From true figures to what a gauge shows and a person writes: bias, scatter, rounding, text.

Uncertainty, resolution and possible range of each field are the catalogue's. A gauge's bias is the same at
every wheel end that it measures in one inspection, so that it drops out of a comparison with the mate.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.units import from_unit, to_unit

if TYPE_CHECKING:
    from wearline.catalogue.model import FieldSpec
    from wearline.practice.layout import Floats
    from wearline.practice.recording import UnitStyle

__all__ = ["Writing", "gauged", "rounded", "texts_of", "writing_of"]

_INCH_STYLE: Mapping[tuple[str, float], tuple[str, float]] = {
    ("mm", 1e-5): ("in", 0.001),
    ("mm", 5e-5): ("in", 0.002),
    ("mm", 1e-4): ("in", 0.01),
    ("mm", 1e-3): ("in", 0.05),
    ("N", 10.0): ("lbf", 1.0),
    ("kN", 100.0): ("lbf", 10.0),
    ("bar", 1e3): ("psi", 0.1),
    ("kPa", 5e3): ("psi", 0.5),
    ("degC", 1.0): ("degF", 1.0),
    ("kg", 10.0): ("lb", 10.0),
    ("m", 0.1): ("ft", 0.5),
    ("m/s2", 0.1): ("ft/s2", 0.1),
}
"""Unit and step of the usual gauge to unit and step of its inch counterpart (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Writing:
    """How a field is written.

    Parameters
    ----------
    unit : str
        Unit symbol.
    step : float
        Step of the gauge, in that unit; 0 for no rounding.
    decimals : int
        Decimals written.
    """

    unit: str
    step: float
    decimals: int


def writing_of(spec: FieldSpec, style: UnitStyle, step: float | None = None) -> Writing:
    """Return how a person writes a field.

    Parameters
    ----------
    spec : FieldSpec
        The field.
    style : {"metric", "inch"}
        The person's units.
    step : float or None, [SI], optional
        Step instead of the gauge's.

    Returns
    -------
    Writing
        Unit and rounding.
    """
    resolution = spec.resolution if step is None else step
    unit, written = spec.unit, float(to_unit(1.0, spec.unit) - to_unit(0.0, spec.unit)) * resolution
    if style == "inch":
        for (metric, metric_step), inch in _INCH_STYLE.items():
            if metric == spec.unit and abs(metric_step - resolution) < 1e-3 * metric_step:
                unit, written = inch
    decimals = 0
    while decimals < 4 and abs(round(written, decimals) - written) > 1e-9:
        decimals += 1
    return Writing(unit, written, decimals)


def gauged(true: Floats, spec: FieldSpec, bias: Floats, rng: np.random.Generator) -> Floats:
    """Return what the gauge shows, before anybody rounds it.

    Parameters
    ----------
    true : array, shape (..., wheel ends), [SI]
        True figures; NaN passes.
    spec : FieldSpec
        The field.
    bias : array, shape (wheel ends,), [1]
        Standard normal deviate of the gauge.
    rng : numpy.random.Generator
        Source of the scatter.

    Returns
    -------
    array, same shape, [SI]
        What the gauge shows.

    Notes
    -----
    x + u (sqrt(1 - r^2) b + r e), with u the standard uncertainty, r the share of it that is repeatability, b
    the gauge's deviate and e a fresh one for each reading.
    """
    u = np.hypot(spec.u, spec.u_relative * np.abs(true)) if spec.u_relative else spec.u
    repeat = spec.u_repeat_share
    scatter = repeat * rng.standard_normal(true.shape)
    result: Floats = true + u * (np.sqrt(max(1.0 - repeat**2, 0.0)) * bias + scatter)
    return result


def rounded(shown: Floats, spec: FieldSpec, writing: Writing) -> Floats:
    """Return figures rounded to the step of the writing, within the possible range.

    Parameters
    ----------
    shown : array, [SI]
        Figures; NaN passes.
    spec : FieldSpec
        The field.
    writing : Writing
        Unit and step.

    Returns
    -------
    array, [SI]
        Figures as written.
    """
    if spec.possible is not None:
        shown = np.clip(shown, *spec.possible)
    if not writing.step:
        return shown
    number = to_unit(shown, writing.unit)
    steps = np.round(number / writing.step)
    if spec.possible is not None:
        low, high = (to_unit(end, writing.unit) for end in spec.possible)
        steps = np.clip(steps, np.ceil(low / writing.step - 1e-9), np.floor(high / writing.step + 1e-9))
    result: Floats = np.asarray(from_unit(steps * writing.step, writing.unit))
    return result


def texts_of(shown: Floats, writing: Writing) -> list[str]:
    """Return figures as texts with their unit.

    Parameters
    ----------
    shown : array, shape (wheel ends,), [SI]
        Figures; NaN gives an empty text.
    writing : Writing
        Unit and decimals.

    Returns
    -------
    list of str
        As ``"9.8 mm"``.
    """
    numbers = to_unit(shown, writing.unit)
    ending = f" {writing.unit}"
    return [
        "" if number != number else f"{number + 0.0:.{writing.decimals}f}{ending}"
        for number in np.asarray(numbers).tolist()
    ]
