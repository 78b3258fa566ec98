"""Straight lines through points some of which are wrong."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.errors import DomainError

__all__ = ["RobustLine", "huber_line", "theil_sen"]

Floats = NDArray[np.float64]

TUNING = 1.345
"""Huber's constant for 95 % efficiency with normal errors."""

MAD_TO_SIGMA = 1.4826022185056018
"""1 / Phi^-1(3/4): median absolute deviation to standard deviation of a normal distribution."""

PAIR_POINTS = 300
START_POINTS = 80
ITERATIONS = 100


@dataclass(frozen=True, slots=True)
class RobustLine:
    """A line y = intercept + slope x.

    Parameters
    ----------
    intercept, slope : float
        The line.
    covariance : array, (2, 2)
        Of intercept and slope.
    scatter : float
        Robust standard deviation of the points about the line.
    points : int
        Points used.
    """

    intercept: float
    slope: float
    covariance: Floats
    scatter: float
    points: int

    def at(self, x: float) -> tuple[float, float]:
        """Return the line and its standard uncertainty at a place.

        Parameters
        ----------
        x : float
            The place.

        Returns
        -------
        value, u : float
            Value and standard uncertainty of the line itself.
        """
        direction = np.array([1.0, x])
        variance = float(direction @ self.covariance @ direction)
        return self.intercept + self.slope * x, math.sqrt(max(variance, 0.0))


def theil_sen(x: Floats, y: Floats) -> tuple[float, float]:
    """Return the line through the median slope of all pairs of points.

    Parameters
    ----------
    x, y : array, (n,)
        Points; above 300 every so many are used for the pairs.

    Returns
    -------
    intercept, slope : float
        The line; up to 29 % of the points may be wrong.

    Raises
    ------
    DomainError
        If there are fewer than two different x.

    Notes
    -----
    Median of (y_j - y_i) / (x_j - x_i); intercept the median of y - slope x (Theil 1950, Sen 1968, from
    memory, unverified; checked against scipy).
    """
    thin = slice(None, None, max(1, math.ceil(len(x) / PAIR_POINTS)))
    xs, ys = x[thin], y[thin]
    first, second = np.triu_indices(len(xs), 1)
    run = xs[second] - xs[first]
    apart = run != 0.0
    if not apart.any():
        raise DomainError(
            "a line needs two different pressures",
            allowed="points at two pressures or more",
            cure="Record the rise of the pressure",
        )
    slope = float(np.median((ys[second] - ys[first])[apart] / run[apart]))
    return float(np.median(y - slope * x)), slope


def huber_line(x: Floats, y: Floats) -> RobustLine:
    """Return the line of Huber's M-estimator, begun at Theil and Sen's.

    Parameters
    ----------
    x, y : array, (n,), n >= 3
        Points.

    Returns
    -------
    RobustLine
        Line, covariance and scatter.

    Raises
    ------
    DomainError
        If there are fewer than three points or one x only.

    Notes
    -----
    Weights min(1, k s / abs(r)), k = 1.345, s from the median absolute deviation, iterated; covariance
    K^2 sum psi^2 / (n - 2) / mean(psi')^2 (X'X)^-1 with K = 1 + (2/n) (1 - m)/m, m = mean(psi') (Huber
    1981, from memory, unverified; checked against statsmodels' robust regression).
    """
    if len(x) < 3:
        raise DomainError(
            f"a line through {len(x)} points says nothing of its scatter",
            allowed="three points or more",
            cure="Record more points of the rise",
        )
    thin = slice(None, None, max(1, len(x) // START_POINTS))
    thin = thin if np.ptp(x[thin]) > 0.0 else slice(None)
    intercept, slope = theil_sen(x[thin], y[thin])
    design = np.column_stack((np.ones_like(x), x))
    line = np.array([intercept, slope])
    scale = 0.0
    for _ in range(ITERATIONS):
        residual = y - design @ line
        scale = MAD_TO_SIGMA * float(np.median(np.abs(residual)))
        if scale <= 1e-12 * max(float(np.max(np.abs(y))), 1.0):
            break
        weight = np.minimum(1.0, TUNING * scale / np.maximum(np.abs(residual), 1e-300))
        weighted = design * weight[:, None]
        after = np.linalg.solve(design.T @ weighted, weighted.T @ y)
        moved = float(np.max(np.abs(design @ (after - line))))
        line = after
        if moved <= 1e-9 * scale:
            break
    return RobustLine(
        float(line[0]), float(line[1]), _covariance(design, y - design @ line, scale), scale, len(x)
    )


def _covariance(design: Floats, residual: Floats, scale: float) -> Floats:
    n = len(residual)
    if scale <= 0.0:
        return np.zeros((2, 2))
    psi = np.clip(residual / scale, -TUNING, TUNING)
    inside = float(np.mean(np.abs(residual / scale) <= TUNING))
    correction = 1.0 + 2.0 / n * (1.0 - inside) / inside
    factor = correction**2 * float(psi @ psi) / (n - 2) * scale**2 / inside**2
    return np.asarray(factor * np.linalg.inv(design.T @ design))
