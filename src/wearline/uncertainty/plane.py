"""Linear least squares with known or unknown uncertainties, and planes through measured points.

Sources: JCGM 100:2008, annex H.3 (least squares of a calibration line); the closed form of the four corners
follows from the normal equations of a plane on a rectangle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wearline.errors import DomainError
from wearline.uncertainty.normal import FloatArray

__all__ = ["LeastSquares", "PadPlane", "PlaneFit", "fit_pad_plane", "fit_plane", "least_squares"]


@dataclass(frozen=True, slots=True)
class LeastSquares:
    """Result of a linear least-squares fit.

    Parameters
    ----------
    coefficients : ndarray, shape (n,)
        Estimates, one per column of the design matrix.
    covariance : ndarray, shape (n, n)
        Covariance of the estimates: from the given uncertainties, or scaled by the residuals where none were
        given.
    residuals : ndarray, shape (m,)
        Observation minus fit [unit of the observations].
    dof : int
        Observations minus coefficients.
    residual_deviation : float
        Root of the sum of squared (weighted, if uncertainties were given) residuals over ``dof``;
        not-a-number when ``dof`` is 0. With right uncertainties it is near 1.
    """

    coefficients: FloatArray
    covariance: FloatArray
    residuals: FloatArray
    dof: int
    residual_deviation: float

    @property
    def u(self) -> FloatArray:
        """Standard uncertainties of the estimates, shape (n,)."""
        return np.sqrt(np.diagonal(self.covariance))

    @property
    def correlation(self) -> FloatArray:
        """Correlation matrix of the estimates, shape (n, n)."""
        spread = self.u
        matrix: FloatArray = self.covariance / np.outer(spread, spread)
        return matrix

    def predict(self, design: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Evaluate the fit.

        Parameters
        ----------
        design : array_like, shape (..., n)
            Rows of a design matrix.

        Returns
        -------
        tuple of ndarray, shape (...)
            Fitted values and their standard uncertainties (of the fitted line or plane, not of a new
            observation).
        """
        rows = np.asarray(design, dtype=np.float64)
        variance = np.einsum("...i,ij,...j->...", rows, self.covariance, rows)
        return rows @ self.coefficients, np.sqrt(np.maximum(variance, 0.0))


@dataclass(frozen=True, slots=True)
class PlaneFit:
    """Plane z = offset + slope_x x + slope_y y through measured points.

    Parameters
    ----------
    fit : LeastSquares
        The fit, coefficients in the order offset, slope_x, slope_y.
    """

    fit: LeastSquares

    @property
    def offset(self) -> float:
        """Height at x = y = 0 [unit of z]."""
        return float(self.fit.coefficients[0])

    @property
    def slope_x(self) -> float:
        """Slope along x [unit of z per unit of x]."""
        return float(self.fit.coefficients[1])

    @property
    def slope_y(self) -> float:
        """Slope along y [unit of z per unit of y]."""
        return float(self.fit.coefficients[2])

    def at(self, x: ArrayLike, y: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Evaluate the plane.

        Parameters
        ----------
        x, y : array_like
            Places [unit of the points], shapes broadcast.

        Returns
        -------
        tuple of ndarray
            Heights and their standard uncertainties [unit of z].
        """
        across, along = np.broadcast_arrays(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64))
        return self.fit.predict(np.stack([np.ones(across.shape), across, along], axis=-1))


@dataclass(frozen=True, slots=True)
class PadPlane:
    """Plane through the four corners of a pad, for one pad or for many (leading shape ``...``).

    Parameters
    ----------
    mean : ndarray, shape (...)
        Height of the plane in the middle [unit of the corners].
    slope_along : ndarray, shape (...)
        Slope from the trailing to the leading end [-]: positive where the leading end is thicker.
    slope_across : ndarray, shape (...)
        Slope from bottom to top [-]: positive where the top is thicker.
    twist : ndarray, shape (...)
        What no plane explains: (LT + TB - LB - TT)/2 [unit of the corners].
    u_twist : ndarray, shape (...) or ()
        Its standard uncertainty.
    covariance : ndarray, shape (..., 3, 3) or (3, 3)
        Covariance of mean, slope_along and slope_across.
    fitted : ndarray, shape (..., 4)
        Heights of the plane at the corners LT, LB, TT, TB.
    u_fitted : ndarray, shape (..., 4) or (4,)
        Their standard uncertainties.
    half_length, half_height : float
        Half the distance of the measured points along and across [unit of the corners].
    """

    mean: FloatArray
    slope_along: FloatArray
    slope_across: FloatArray
    twist: FloatArray
    u_twist: FloatArray
    covariance: FloatArray
    fitted: FloatArray
    u_fitted: FloatArray
    half_length: float
    half_height: float

    @property
    def u_mean(self) -> FloatArray:
        """Standard uncertainty of the mean [unit of the corners]."""
        return np.sqrt(self.covariance[..., 0, 0])

    @property
    def u_slope_along(self) -> FloatArray:
        """Standard uncertainty of the slope along [-]."""
        return np.sqrt(self.covariance[..., 1, 1])

    @property
    def u_slope_across(self) -> FloatArray:
        """Standard uncertainty of the slope across [-]."""
        return np.sqrt(self.covariance[..., 2, 2])

    @property
    def end_to_end(self) -> FloatArray:
        """Taper between the measured ends, leading minus trailing [unit of the corners]."""
        return 2.0 * self.half_length * self.slope_along

    @property
    def u_end_to_end(self) -> FloatArray:
        """Standard uncertainty of the taper end to end [unit of the corners]."""
        return 2.0 * self.half_length * self.u_slope_along

    @property
    def top_to_bottom(self) -> FloatArray:
        """Taper between the measured edges, top minus bottom [unit of the corners]."""
        return 2.0 * self.half_height * self.slope_across

    @property
    def u_top_to_bottom(self) -> FloatArray:
        """Standard uncertainty of the taper top to bottom [unit of the corners]."""
        return 2.0 * self.half_height * self.u_slope_across

    def at(self, along: float, across: float) -> tuple[FloatArray, FloatArray]:
        """Evaluate the plane at one place, the same on every pad.

        Parameters
        ----------
        along, across : float
            Place from the middle, positive to the leading end and to the top [unit of the corners].

        Returns
        -------
        tuple of ndarray
            Heights, shape (...), and their standard uncertainties.
        """
        row = np.array([1.0, along, across])
        variance = np.einsum("i,...ij,j->...", row, self.covariance, row)
        height = self.mean + along * self.slope_along + across * self.slope_across
        return height, np.sqrt(np.maximum(variance, 0.0))


def least_squares(design: ArrayLike, y: ArrayLike, u: ArrayLike | None = None) -> LeastSquares:
    """Fit a linear model.

    Parameters
    ----------
    design : array_like, shape (m, n)
        Design matrix, m >= n, finite.
    y : array_like, shape (m,)
        Observations, finite.
    u : array_like, shape (m,) or a number, optional
        Standard uncertainties of the observations, more than 0, independent of each other. Left out: equal
        and unknown, estimated from the residuals.

    Returns
    -------
    LeastSquares
        Estimates with covariance.

    Raises
    ------
    DomainError
        When shapes do not fit, a number is not finite, an uncertainty is not positive, the columns do not
        determine the coefficients, or no uncertainty is given and no observation is left over to estimate it.

    Notes
    -----
    Columns are scaled to length one and the system is solved by QR, which loses half the digits that the
    normal equations lose.
    """
    matrix = np.asarray(design, dtype=np.float64)
    observed = np.asarray(y, dtype=np.float64)
    if matrix.ndim != 2 or observed.shape != matrix.shape[:1] or matrix.shape[0] < matrix.shape[1]:
        what = f"a design matrix of shape {matrix.shape} does not fit observations of shape {observed.shape}"
        raise DomainError(what, allowed="(m, n) and (m,) with at least as many observations as coefficients")
    if not (np.isfinite(matrix).all() and np.isfinite(observed).all()):
        raise DomainError("the points to fit hold a number that is not finite", allowed="finite numbers")
    rows, columns = matrix.shape
    dof = rows - columns
    weights = _weights(u, rows)
    if weights is None and dof == 0:
        what = f"{rows} observations for {columns} coefficients leave nothing to estimate the spread from"
        raise DomainError(what, allowed="more observations", cure="Measure more points, or give u")
    weighted = matrix if weights is None else matrix * weights[:, np.newaxis]
    target = observed if weights is None else observed * weights
    length = np.sqrt(np.einsum("ij,ij->j", weighted, weighted))
    orthogonal, triangle = np.linalg.qr(weighted / np.where(length > 0.0, length, 1.0))
    singular = np.linalg.svd(triangle, compute_uv=False)
    if length.min() == 0.0 or singular[-1] <= singular[0] * rows * np.finfo(np.float64).eps:
        what = f"the points do not determine {columns} coefficients"
        raise DomainError(what, allowed="columns that do not depend on each other", cure="Spread the points")
    inverse = np.linalg.solve(triangle, np.eye(columns)) / length[:, np.newaxis]
    coefficients = inverse @ (orthogonal.T @ target)
    residuals = observed - matrix @ coefficients
    # One step of refinement takes back what rounding lost in badly conditioned systems.
    correction = residuals if weights is None else residuals * weights
    coefficients = coefficients + inverse @ (orthogonal.T @ correction)
    residuals = observed - matrix @ coefficients
    left = residuals if weights is None else residuals * weights
    deviation = float(np.sqrt(left @ left / dof)) if dof else float("nan")
    covariance = inverse @ inverse.T
    if weights is None:
        covariance = covariance * deviation**2
    return LeastSquares(coefficients, covariance, residuals, dof, deviation)


def _weights(u: ArrayLike | None, rows: int) -> FloatArray | None:
    if u is None:
        return None
    spread = np.asarray(u, dtype=np.float64)
    if spread.shape not in {(), (rows,)}:
        what = f"uncertainties of shape {spread.shape} do not fit {rows} observations"
        raise DomainError(what, allowed=f"one number or {rows} of them")
    if not (np.isfinite(spread).all() and float(spread.min()) > 0.0):
        raise DomainError("an uncertainty to weigh with is not positive", allowed="more than 0, finite")
    return np.broadcast_to(1.0 / spread, (rows,))


def fit_plane(x: ArrayLike, y: ArrayLike, z: ArrayLike, u: ArrayLike | None = None) -> PlaneFit:
    """Fit a plane through measured points.

    Parameters
    ----------
    x, y : array_like, shape (m,)
        Places [any unit], three or more and not on one line.
    z : array_like, shape (m,)
        Heights [any unit].
    u : array_like, shape (m,) or a number, optional
        Standard uncertainties of the heights [unit of z], more than 0; left out, estimated from the
        residuals.

    Returns
    -------
    PlaneFit
        The plane with its covariance.

    Raises
    ------
    DomainError
        When shapes do not fit, the points lie on one line, a number is not finite or an uncertainty not
        positive.
    """
    first, second = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if first.ndim != 1 or first.shape != second.shape:
        what = f"places of shapes {first.shape} and {second.shape} do not make points"
        raise DomainError(what, allowed="two lists of equal length")
    design = np.stack([np.ones(first.shape), first, second], axis=-1)
    return PlaneFit(least_squares(design, z, u))


# Corners LT, LB, TT, TB: signs of the place along (leading +), of the place across (top +), and of a twist.
_ALONG = np.array([1.0, 1.0, -1.0, -1.0])
_ACROSS = np.array([1.0, -1.0, 1.0, -1.0])
_TWIST = np.array([1.0, -1.0, -1.0, 1.0])


def _pad_inputs(
    corners: ArrayLike, half_length: float, half_height: float, u: ArrayLike, u_common: float
) -> tuple[FloatArray, FloatArray]:
    """Corners and uncertainties as arrays, after refusing what cannot be a pad."""
    heights = np.asarray(corners, dtype=np.float64)
    if heights.ndim == 0 or heights.shape[-1] != 4:
        what = f"corners of shape {heights.shape} are not four corners"
        raise DomainError(what, allowed="LT, LB, TT, TB on the last axis", cure="Measure all four corners")
    if not (0.0 < half_length < np.inf and 0.0 < half_height < np.inf):
        what = f"half distances of {half_length} and {half_height} are impossible"
        raise DomainError(what, allowed="more than 0, finite")
    if np.isinf(heights).any():
        raise DomainError("a corner is infinite", allowed="finite thicknesses, or not-a-number for none")
    spread = np.asarray(u, dtype=np.float64)
    if not (spread.size and float(spread.min()) > 0.0 and float(spread.max()) < np.inf):
        raise DomainError("an uncertainty of a corner is not positive", allowed="more than 0, finite")
    if not 0.0 <= u_common < np.inf:
        raise DomainError(f"a common uncertainty of {u_common} is impossible", allowed="0 or more, finite")
    return heights, spread


def fit_pad_plane(
    corners: ArrayLike, half_length: float, half_height: float, u: ArrayLike, u_common: float = 0.0
) -> PadPlane:
    """Fit the plane through the four corners of one or many pads.

    Parameters
    ----------
    corners : array_like, shape (..., 4)
        Thickness at LT, LB, TT, TB (leading or trailing, top or bottom) [any unit]. A pad with a corner that
        is not a number gets no plane: its results are not-a-number.
    half_length, half_height : float
        Half the distance between the measured points along and across the pad [same unit], more than 0.
    u : array_like, number or shape (..., 4)
        Standard uncertainty of each corner, independent from corner to corner [same unit], more than 0.
    u_common : float
        Standard uncertainty shared by all corners of a pad (zero of the gauge) [same unit], 0 or more. It
        moves the mean and leaves the slopes alone.

    Returns
    -------
    PadPlane
        Mean, slopes, twist, covariance, and the plane's heights at the corners with their uncertainty.

    Raises
    ------
    DomainError
        When the last axis is not four corners or a number is out of range.

    Notes
    -----
    Four points leave one degree of freedom, the twist t = LT - LB - TT + TB. Weighted least squares spreads
    it over the corners in proportion to their variances: fitted_i = h_i - s_i t u_i^2 / sum u^2 with s = (+,
    -, -, +). With equal u: u(mean) = u/2, u(slope along) = u/(2 half_length), u(slope across) = u/(2
    half_height).
    """
    heights, spread = _pad_inputs(corners, half_length, half_height, u, u_common)
    # One number for all corners keeps the covariance one small matrix for all pads.
    variance = np.square(np.broadcast_to(spread, np.broadcast_shapes(spread.shape, (4,))))
    total = variance.sum(axis=-1, keepdims=True)
    opened = heights @ _TWIST
    pull = variance * _TWIST / total
    fitted = heights - pull * opened[..., np.newaxis]
    contrasts = np.stack([np.full(4, 0.25), _ALONG / (4.0 * half_length), _ACROSS / (4.0 * half_height)])
    estimates = fitted @ contrasts.T
    common = u_common * u_common
    corner_covariance = variance[..., :, np.newaxis] * np.eye(4)
    outer = pull[..., :, np.newaxis] * pull[..., np.newaxis, :]
    corner_covariance = corner_covariance - total[..., np.newaxis] * outer
    covariance = contrasts @ corner_covariance @ contrasts.T
    covariance = 0.5 * (covariance + np.swapaxes(covariance, -1, -2))
    covariance[..., 0, 0] += common
    u_fitted = np.sqrt(variance * (total - variance) / total + common)
    return PadPlane(
        mean=estimates[..., 0],
        slope_along=estimates[..., 1],
        slope_across=estimates[..., 2],
        twist=0.5 * opened,
        u_twist=0.5 * np.sqrt(total[..., 0]),
        covariance=covariance,
        fitted=fitted,
        u_fitted=u_fitted,
        half_length=float(half_length),
        half_height=float(half_height),
    )
