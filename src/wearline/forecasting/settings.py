"""Numbers that the forecast starts from: expert judgement, replaced by the fleet's readings."""

from __future__ import annotations

from dataclasses import dataclass

from wearline.errors import DomainError

__all__ = ["ForecastSettings"]


@dataclass(frozen=True, slots=True)
class ForecastSettings:
    """What the forecast takes for granted until readings say otherwise.

    Spreads are standard deviations of the natural logarithm, so 0.3 is about 30 %. Status of all defaults:
    expert judgement.

    Parameters
    ----------
    u_reading : float, [m], more than 0
        Standard uncertainty of a thickness reading where the file gives none.
    u_new : float, [m], more than 0
        Standard uncertainty of the new friction thickness.
    u_indicator : float, [1], more than 0
        Standard uncertainty of a mark that a person interpolated; a person is right to about 12 points.
    u_electronic : float, [1], more than 0
        Standard uncertainty of an electronic wear reading.
    step_smear : float, [1], more than 0
        How softly one 25 % step of the indicator passes into the next.
    future_duty : float, [1], 0 or more
        Spread of the coming distance's duty against the past.
    vehicle_spread, end_spread, set_spread, pad_spread, corner_spread : float, [1], more than 0
        Spread of the wear rate between vehicles of one duty, the ends of a vehicle, the pad sets of one end,
        the two pads, the corners of one pad.
    duty_spread, role_spread : float, [1], more than 0
        How far the mean rate of a duty, and of an axle role, may lie from its prior.
    route : float, [m], 0 or more
        Variance of the wear over a distance D is ``route * rate**2 * D``: roads differ.
    outliers : float, [1], 0 to 0.5
        Share of thickness readings that are wrong altogether.
    misread : float, [1], 0 to 0.5
        Share of indicator steps that are read wrongly.
    unrecorded : float, [1], 0 to 0.5
        Chance of a pad change that nobody recorded in one gap between two readings.
    u_outlier : float, [m]
        Spread of wrong readings.
    censored : float, [m]
        Readings at or below this only say 'worn out': the friction may be gone.

    Raises
    ------
    DomainError
        If a number is outside its range.
    """

    u_reading: float = 0.15e-3
    u_new: float = 0.2e-3
    u_indicator: float = 0.06
    u_electronic: float = 0.02
    step_smear: float = 0.03
    future_duty: float = 0.15
    vehicle_spread: float = 0.30
    end_spread: float = 0.10
    set_spread: float = 0.12
    pad_spread: float = 0.12
    corner_spread: float = 0.08
    duty_spread: float = 0.40
    role_spread: float = 0.25
    route: float = 3.0e4
    outliers: float = 0.02
    misread: float = 0.03
    unrecorded: float = 0.03
    u_outlier: float = 3e-3
    censored: float = 0.8e-3

    def __post_init__(self) -> None:
        for name in ("outliers", "misread", "unrecorded"):
            value = getattr(self, name)
            if not 0.0 <= value <= 0.5:
                raise DomainError(f"{name} is {value:g}", allowed="a share from 0 to 0.5")
        for name in (*_POSITIVE, "future_duty", "route"):
            value = getattr(self, name)
            least = 0.0 if name in ("future_duty", "route") else 1e-12
            if not least <= value < float("inf"):
                raise DomainError(f"{name} is {value:g}", allowed="a positive number")


_POSITIVE = (
    "u_reading",
    "u_new",
    "u_indicator",
    "u_electronic",
    "step_smear",
    "vehicle_spread",
    "end_spread",
    "set_spread",
    "pad_spread",
    "corner_spread",
    "duty_spread",
    "role_spread",
    "u_outlier",
)
