"""How fast the air comes and goes: times of a pressure record, and the times that new vehicles must keep."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.errors import DomainError
from wearline.physics.chamber import check_pressure
from wearline.physics.domain import check_time, require

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["PSI", "TIMING_RULES", "TimingRule", "keeps_timing", "time_to_fall", "time_to_rise"]

PSI = 6894.757293168361
"""[Pa] Pound-force per square inch, from 4.4482216152605 N over 0.0254^2 m2."""

SAME = 1e-9
"""Relative difference within which a time counts as the limit itself, which passes."""


@dataclass(frozen=True, slots=True)
class TimingRule:
    """Longest times of one kind of vehicle.

    Parameters
    ----------
    kind : str
        ``"truck or bus"``, ``"towing trailer"``, ``"converter dolly"`` or ``"other trailer"``.
    actuation : float, [s]
        From the first movement of the control to 60 psi in the slowest chamber, reservoirs at 100 psi.
    release : float, [s]
        From the release at 95 psi to 5 psi.
    """

    kind: str
    actuation: float
    release: float


TIMING_RULES = (
    TimingRule("truck or bus", 0.45, 0.55),
    TimingRule("towing trailer", 0.50, 1.00),
    TimingRule("converter dolly", 0.55, 1.10),
    TimingRule("other trailer", 0.60, 1.20),
)
"""49 CFR 571.121 S5.3.3.1(a) and S5.3.4.1(a): 'not more than', for new vehicles."""

RISE_TO = 60.0 * PSI
"""[Pa] Pressure that the actuation time ends at."""

FALL_TO = 5.0 * PSI
"""[Pa] Pressure that the release time ends at."""


def time_to_rise(time: NDArray[np.float64], pressure: NDArray[np.float64], target: float = RISE_TO) -> float:
    """Return when a rising pressure reaches a target.

    Parameters
    ----------
    time : array, (n,), [s]
        Rising times from the first movement of the control.
    pressure : array, (n,), [Pa], 0 to 1.2e6
        Pressure in the chamber.
    target : float, [Pa], 0 to 1.2e6, optional
        60 psi by default.

    Returns
    -------
    float, [s]
        Time from the first sample; infinite if it is not reached. Straight between samples.

    Raises
    ------
    DomainError
        If time runs backwards, the arrays do not belong together or a pressure is impossible.
    """
    return _crossing(time, pressure, target, rising=True)


def time_to_fall(time: NDArray[np.float64], pressure: NDArray[np.float64], target: float = FALL_TO) -> float:
    """Return when a falling pressure reaches a target.

    Parameters
    ----------
    time : array, (n,), [s]
        Rising times from the release of the control.
    pressure : array, (n,), [Pa], 0 to 1.2e6
        Pressure in the chamber.
    target : float, [Pa], 0 to 1.2e6, optional
        5 psi by default.

    Returns
    -------
    float, [s]
        Time from the first sample; infinite if it is not reached. Straight between samples.

    Raises
    ------
    DomainError
        If time runs backwards, the arrays do not belong together or a pressure is impossible.
    """
    return _crossing(time, pressure, target, rising=False)


def keeps_timing(kind: str, *, actuation: float | None = None, release: float | None = None) -> bool:
    """Say whether a kind of vehicle keeps its longest times.

    Parameters
    ----------
    kind : str
        One of `TIMING_RULES`.
    actuation, release : float or None, [s], 0 or more
        The times measured; one of them at least.

    Returns
    -------
    bool
        True where no time given is longer; a time that is the limit itself passes.

    Raises
    ------
    DomainError
        If the kind is unknown, no time is given, or a time is negative or not a number.

    Notes
    -----
    49 CFR 571.121 S5.3.3.1(a), S5.3.4.1(a), a rule for new vehicles: shown for one in service, never its law.
    """
    rule = next((each for each in TIMING_RULES if each.kind == kind), None)
    if rule is None:
        raise DomainError(
            f"'{kind}' is no kind of vehicle with air timing",
            allowed=", ".join(each.kind for each in TIMING_RULES),
            cure="Name one of these",
        )
    given = [(actuation, rule.actuation), (release, rule.release)]
    taken = [(value, limit) for value, limit in given if value is not None]
    if not taken or any(value != value for value, _ in taken):
        raise DomainError(
            "no time was measured", allowed="actuation or release in seconds", cure="Give one of them"
        )
    for value, _ in taken:
        require("time of the air", value, 0.0, unit="s")
    return all(value <= limit * (1.0 + SAME) for value, limit in taken)


def _crossing(
    time: NDArray[np.float64], pressure: NDArray[np.float64], target: float, *, rising: bool
) -> float:
    check_time(time)
    check_pressure(pressure)
    check_pressure(target)
    if time.shape != pressure.shape:
        raise DomainError(
            f"{pressure.size} pressures belong to {time.size} times",
            allowed="one pressure for each time",
            cure="Check the columns of the record.",
        )
    reached = pressure >= target if rising else pressure <= target
    if not reached.any():
        return float("inf")
    last = int(np.argmax(reached))
    if last == 0:
        return 0.0
    first = last - 1
    share = (target - pressure[first]) / (pressure[last] - pressure[first])
    return float(time[first] + share * (time[last] - time[first]) - time[0])
