"""A brake that drags: from torque to temperature and back.

After a run long enough to settle, the excess temperature of a wheel end measures its drag torque. How much
heat a wheel end gives off per kelvin is known only to a third or so, hence the uncertainty that comes with
every estimate.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.physics.cooling import rotation_rate
from wearline.physics.domain import require, require_positive

if TYPE_CHECKING:
    from wearline.physics.domain import Number

__all__ = [
    "WheelEndCooling",
    "drag_power",
    "drag_rise",
    "drag_torque_from_rise",
    "rise_at_stop",
    "u_drag_torque",
    "warm_up_share",
]


@dataclass(frozen=True, slots=True)
class WheelEndCooling:
    """How a wheel end gives off heat while it moves.

    Parameters
    ----------
    conductance : float or array, [W/K], more than 0, optional
        Heat given off per temperature difference, h A. 30 of the usual 20 to 30: expert judgement.
    time_constant : float or array, [s], more than 0, optional
        Time in which 63 % of the final rise is reached. 630 s of the usual 9 to 12 min: expert judgement.
    relative_u : float or array, [1], 0 or more, optional
        Relative standard uncertainty of the conductance. 0.2: expert judgement.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """

    conductance: Number = 30.0
    time_constant: Number = 630.0
    relative_u: Number = 0.2

    def __post_init__(self) -> None:
        require_positive("heat given off per temperature difference", self.conductance, unit="W/K")
        require_positive("time constant of the wheel end", self.time_constant, unit="s")
        require("relative uncertainty of the conductance", self.relative_u, 0.0, 2.0, unit="")


def drag_power(torque: Number, speed: Number, tyre_radius: Number) -> Number:
    """Return the heat that a dragging brake makes.

    Parameters
    ----------
    torque : float or array, [N m], 0 or more
        Drag torque.
    speed : float or array, [m/s], 0 to 60
        Road speed.
    tyre_radius : float or array, [m], 0.2 to 1
        Radius of the rolling tyre.

    Returns
    -------
    float or array, [W]
        Power.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    P = M v / R. Mechanics.
    """
    require("drag torque", torque, 0.0, 1e5, unit="N m")
    return torque * rotation_rate(speed, tyre_radius)


def warm_up_share(run_time: Number, time_constant: Number) -> Number:
    """Return the share of the final temperature rise that is reached after a time.

    Parameters
    ----------
    run_time : float or array, [s], 0 or more
        Time of even running; infinite for settled.
    time_constant : float or array, [s], more than 0
        Time constant of the wheel end.

    Returns
    -------
    float or array, [1]
        0 to 1.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    1 - exp(-t / tau), the wheel end warm all through.
    """
    require("time of running", run_time, 0.0, unit="s")
    require_positive("time constant of the wheel end", time_constant, unit="s")
    share: Number = -np.expm1(-np.asarray(run_time) / time_constant)[()]
    return share


def drag_rise(
    torque: Number,
    speed: Number,
    tyre_radius: Number,
    cooling: WheelEndCooling,
    run_time: Number = float("inf"),
) -> Number:
    """Return the temperature rise that a dragging brake causes.

    Parameters
    ----------
    torque : float or array, [N m], 0 or more
        Drag torque.
    speed : float or array, [m/s], 0 to 60
        Road speed.
    tyre_radius : float or array, [m], 0.2 to 1
        Radius of the rolling tyre.
    cooling : WheelEndCooling
        How the wheel end gives off heat.
    run_time : float or array, [s], 0 or more, optional
        Time of even running, settled by default.

    Returns
    -------
    float or array, [K]
        Rise above the air.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    dT = M v / (R h A) (1 - exp(-t / tau)). Derived; the conductance is expert judgement.
    """
    settled = drag_power(torque, speed, tyre_radius) / cooling.conductance
    return settled * warm_up_share(run_time, cooling.time_constant)


def rise_at_stop(rise_read: Number, wait: Number, time_constant: Number) -> Number:
    """Return the temperature rise at the end of the run from one read some minutes later.

    Parameters
    ----------
    rise_read : float or array, [K]
        Rise above the air when it was read.
    wait : float or array, [s], 0 to 3600
        Time between the end of the run and the reading.
    time_constant : float or array, [s], more than 0
        Time constant of the standing wheel end, longer than that of the moving one.

    Returns
    -------
    float or array, [K]
        Rise at the end of the run.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    dT_0 = dT exp(t / tau). Read the ends in the same order and note the time of each.
    """
    require("time between run and reading", wait, 0.0, 3600.0, unit="s")
    require_positive("time constant of the standing wheel end", time_constant, unit="s")
    rise: Number = (rise_read * np.exp(np.asarray(wait) / time_constant))[()]
    return rise


def drag_torque_from_rise(
    rise: Number,
    speed: Number,
    tyre_radius: Number,
    cooling: WheelEndCooling,
    run_time: Number = float("inf"),
) -> Number:
    """Return the drag torque that explains a temperature rise above a wheel end in order.

    Parameters
    ----------
    rise : float or array, [K]
        Excess over the wheel ends in order, at the end of an even run with little braking.
    speed : float or array, [m/s], more than 0 to 60
        Road speed of the run.
    tyre_radius : float or array, [m], 0.2 to 1
        Radius of the rolling tyre.
    cooling : WheelEndCooling
        How the wheel end gives off heat.
    run_time : float or array, [s], more than 0, optional
        Time of even running, settled by default.

    Returns
    -------
    float or array, [N m]
        Torque; negative for an end colder than its fellows.

    Raises
    ------
    DomainError
        If a value is outside its range.

    Notes
    -----
    M = h A dT R / (v (1 - exp(-t / tau))). Derived. Drag on a bench exceeds drag on the road, where
    vibration shakes the pads off the rotor.
    """
    require_positive("speed", speed, unit="m/s")
    share = warm_up_share(run_time, cooling.time_constant)
    require_positive("share of the final rise", share, unit="", cure="Run for some minutes at least.")
    return cooling.conductance * rise / (rotation_rate(speed, tyre_radius) * share)


def u_drag_torque(torque: Number, rise: Number, u_rise: Number, cooling: WheelEndCooling) -> Number:
    """Return the standard uncertainty of a drag torque estimated from a temperature.

    Parameters
    ----------
    torque : float or array, [N m]
        The estimate.
    rise : float or array, [K], not 0
        The temperature rise that it came from.
    u_rise : float or array, [K], 0 or more
        Standard uncertainty of the rise.
    cooling : WheelEndCooling
        Its relative uncertainty counts.

    Returns
    -------
    float or array, [N m]
        Standard uncertainty.

    Raises
    ------
    DomainError
        If an uncertainty is negative.

    Notes
    -----
    u_M^2 = (M / dT)^2 u_dT^2 + (r_hA M)^2, first order.
    """
    require("standard uncertainty of the rise", u_rise, 0.0, unit="K")
    by_rise = torque / rise * u_rise
    return (by_rise**2 + (cooling.relative_u * torque) ** 2) ** 0.5
