"""What force curves of a brake tester give, wheel by wheel and axle by axle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.assessment.robust import RobustLine

__all__ = ["AxleCurves", "CurveFit", "CurveReport", "CurveSign", "PressureBalance", "WheelCurve"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class CurveSign:
    """What the shape of a curve says.

    Parameters
    ----------
    text : str
        One sentence with the figures.
    causes : tuple of str
        Codes of the causes that make such a shape.
    status : str
        What the sign rests on.
    """

    text: str
    causes: tuple[str, ...]
    status: str = "expert judgement"


@dataclass(frozen=True, slots=True)
class CurveFit:
    """The straight part of a curve.

    Parameters
    ----------
    line : RobustLine
        Force over pressure [N], [Pa].
    drag : float
        Force before the rise [N].
    highest : float
        Highest pressure of the straight part [Pa].
    """

    line: RobustLine
    drag: float
    highest: float

    @property
    def slope(self) -> float:
        """Force gained per pressure [N/Pa]."""
        return self.line.slope

    @property
    def u_slope(self) -> float:
        """Its standard uncertainty [N/Pa]."""
        return math.sqrt(max(float(self.line.covariance[1, 1]), 0.0))

    @property
    def threshold(self) -> float:
        """Pressure at which the line meets the drag [Pa]."""
        return max((self.drag - self.line.intercept) / self.line.slope, 0.0)

    @property
    def u_threshold(self) -> float:
        """Its standard uncertainty [Pa], first order."""
        _, u = self.line.at(self.threshold)
        return u / self.line.slope

    def force_at(self, pressure: float) -> float:
        """Return the force of the line.

        Parameters
        ----------
        pressure : float, [Pa]
            Pressure.

        Returns
        -------
        float, [N]
            Force, the drag at least.
        """
        return max(self.line.intercept + self.line.slope * pressure, self.drag)


@dataclass(frozen=True, slots=True)
class WheelCurve:
    """The curve of one wheel.

    Parameters
    ----------
    place : str
        Wheel end.
    points, rises : int
        Points, and rises of the pressure.
    fit : CurveFit or None
        None where the force does not rise with the pressure.
    rising, falling : (array, array)
        Pressure [Pa] and force [N] of the rises and of the releases.
    highest_pressure, highest_force : float
        [Pa], [N].
    hysteresis : float or None
        Force on the way down above that on the way up at the middle of the range, over the highest force [1].
    lag : float or None
        Delay of the force behind the pressure [s].
    swing, u_swing : float or None
        Highest less lowest force of a turn at steady pressure [N].
    swing_at : float or None
        Mean force of that hold [N].
    drag_after : float or None
        Force after the release [N].
    locked_at : float or None
        Pressure at which the wheel locked [Pa].
    levels_off : float
        Shortfall below the line at the highest pressure, where it counts [1]; 0 else.
    steepens : float
        Gain of slope from lower to upper half, where it counts [1]; 0 else.
    full_load, u_full_load : float or None
        Force at full pressure [N]; None where the curve does not allow it to be said.
    signs : tuple of CurveSign
        What the shape says.
    """

    place: str
    points: int
    rises: int
    fit: CurveFit | None
    rising: tuple[Floats, Floats]
    falling: tuple[Floats, Floats]
    highest_pressure: float
    highest_force: float
    hysteresis: float | None
    lag: float | None
    swing: float | None
    u_swing: float | None
    swing_at: float | None
    drag_after: float | None
    locked_at: float | None
    levels_off: float
    steepens: float
    full_load: float | None
    u_full_load: float | None
    signs: tuple[CurveSign, ...] = ()


@dataclass(frozen=True, slots=True)
class PressureBalance:
    """Imbalance of an axle at one pressure.

    Parameters
    ----------
    pressure : float
        [Pa].
    left, right : float
        Forces [N].
    imbalance, u : float
        Difference over the greater, with its standard uncertainty [1].
    """

    pressure: float
    left: float
    right: float
    imbalance: float
    u: float


@dataclass(frozen=True, slots=True)
class AxleCurves:
    """Both curves of an axle held against one another.

    Parameters
    ----------
    axle : str
        Axle id.
    balances : tuple of PressureBalance
        At 2 bar, 4 bar and the highest pressure that both reached without locking; fewer where a curve ends
        earlier.
    signs : tuple of CurveSign
        What the difference says.
    """

    axle: str
    balances: tuple[PressureBalance, ...]
    signs: tuple[CurveSign, ...]


@dataclass(frozen=True, slots=True)
class CurveReport:
    """All curves of a vehicle.

    Parameters
    ----------
    wheels : tuple of WheelCurve
        In the order of the file.
    axles : tuple of AxleCurves
        Axles of which both wheels were recorded.
    full_pressure : float
        Pressure of the extrapolation [Pa].
    efficiency, u_efficiency : float or None
        Sum of the forces at full pressure over the weight [1]; None without a mass or with a wheel unknown.
    """

    wheels: tuple[WheelCurve, ...]
    axles: tuple[AxleCurves, ...]
    full_pressure: float
    efficiency: float | None = None
    u_efficiency: float | None = None

    def wheel(self, place: str) -> WheelCurve:
        """Return the curve of one wheel.

        Parameters
        ----------
        place : str
            Wheel end.

        Returns
        -------
        WheelCurve
            Its curve.

        Raises
        ------
        KeyError
            If it was not recorded.
        """
        for wheel in self.wheels:
            if wheel.place == place:
                return wheel
        raise KeyError(place)
