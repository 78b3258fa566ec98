"""Temperature of rotors through their thickness and over time, for one wheel end or thousands.

Heat flux of friction enters at the friction face (and, if given, at the far face); convection and radiation
leave from both. Conduction is exact for a flux constant within a step (see `slab_modes`); the losses, which
depend on the surface temperature, are found by a few passes of substitution within each block of steps (see
`heat_run`).

Neglected: heat flow along the ring and into the hub, material values that change with temperature, hot spots.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wearline.physics.domain import require, require_positive
from wearline.physics.heat_run import Run
from wearline.physics.heat_types import INSULATED, Face, Recording, RotorHistory
from wearline.physics.slab_modes import Slab

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wearline.physics.domain import Number

__all__ = ["INSULATED", "Face", "Recording", "RotorHistory", "Slab", "heat_rotors", "lumped_temperature"]


def heat_rotors(
    slab: Slab,
    front: Face,
    back: Face = INSULATED,
    *,
    step: float,
    initial: Number,
    ambient: Number,
    recording: Recording | None = None,
) -> RotorHistory:
    """Return the temperatures of rotors over a duty.

    Parameters
    ----------
    slab : Slab
        Thickness and material, one for all wheel ends or one each.
    front : Face
        Friction face. Its flux or coefficient sets the number of steps.
    back : Face, optional
        Far face: insulated by symmetry, cooled by vanes, or the other friction face.
    step : float, [s], more than 0
        Time step.
    initial : float or array, (wheel ends,), [K], 150 to 1500
        Temperature at the start, even through the thickness.
    ambient : float or array, (wheel ends,), [K], 150 to 1500
        Temperature of air and surroundings.
    recording : Recording, optional
        What to keep; every step by default.

    Returns
    -------
    RotorHistory
        Temperatures and heat.

    Raises
    ------
    DomainError
        If a value is outside its range, the arrays do not fit together, or the step is too long for the
        cooling.

    Notes
    -----
    dT/dt = a d2T/dx2, -k dT/dx = q - h (T_s - T_a) - eps sigma (T_s^4 - T_a^4) at the faces, losses of a
    step at the mean of its first and last surface temperature. Cosine series (Carslaw and Jaeger,
    Conduction of Heat in Solids, ch. 3, from memory, unverified; checked against series, half-space and a
    finite-element library).
    """
    require_positive("time step", step, unit="s")
    for name, value in (("initial temperature", initial), ("ambient temperature", ambient)):
        require(name, value, 150.0, 1500.0, unit="K", cure="Give kelvin: 20 degC is 293.15 K.")
    return Run(slab, (front, back), step, initial, ambient, recording or Recording()).history()


def lumped_temperature(
    power: Number, cooling: Number, *, heat_capacity: Number, step: float, initial: Number, ambient: Number
) -> NDArray[np.float64]:
    """Return the temperature of a rotor that is warm all through, the limit of a thin or well-conducting one.

    Parameters
    ----------
    power : array, (steps,) or (steps, wheel ends), [W], 0 or more
        Mean heating power in each step.
    cooling : float or array, (steps,) or (steps, wheel ends), [W/K], 0 or more
        Heat given off per temperature difference, h A; 20 to 30 for a moving wheel end (expert judgement).
    heat_capacity : float or array, (wheel ends,), [J/K], more than 0
        Mass times specific heat of the ring.
    step : float, [s], more than 0
        Time step.
    initial, ambient : float or array, (wheel ends,), [K]
        Temperatures at the start and of the air.

    Returns
    -------
    array, (steps,) or (steps, wheel ends), [K]
        Temperature at the end of each step.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    m c dT/dt = P - h A (T - T_a), exact for constant P and h A within a step.
    """
    require("heating power", power, 0.0, unit="W")
    require("heat given off per temperature difference", cooling, 0.0, unit="W/K")
    require_positive("heat capacity of the ring", heat_capacity, unit="J/K")
    require_positive("time step", step, unit="s")
    heating = np.asarray(power, dtype=float)
    giving = np.broadcast_to(np.asarray(cooling, dtype=float), heating.shape)
    exponent = giving * step / heat_capacity
    kept = np.exp(-exponent)
    with np.errstate(divide="ignore", invalid="ignore"):
        gain = np.where(exponent > 0.0, -np.expm1(-exponent) / exponent, 1.0) * step / heat_capacity
    excess = np.asarray(initial, dtype=float) - ambient
    result = np.empty(np.broadcast_shapes(heating.shape, (len(heating), *np.shape(excess))))
    for i in range(len(result)):
        excess = kept[i] * excess + gain[i] * heating[i]
        result[i] = excess + ambient
    return result
