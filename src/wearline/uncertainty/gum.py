"""Standard uncertainties: from repeated readings, combined, propagated and expanded.

Source: JCGM 100:2008 (GUM), sections 4.2, 5.1, 5.2 and annex G.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from wearline.errors import DomainError
from wearline.uncertainty.normal import FloatArray, normal_quantile

__all__ = [
    "Contribution",
    "Expanded",
    "TypeA",
    "combined_standard_uncertainty",
    "coverage_factor",
    "effective_dof",
    "expanded_uncertainty",
    "from_half_width",
    "propagate",
    "type_a",
]


@dataclass(frozen=True, slots=True)
class Contribution:
    """One independent input of an uncertainty budget.

    Parameters
    ----------
    u : float
        Standard uncertainty of the input [unit of the input], 0 or more.
    dof : float
        Degrees of freedom of ``u`` [-], more than 0; infinite when it is taken as exactly known.
    sensitivity : float
        Change of the result per change of the input [unit of the result per unit of the input].
    name : str
        Name for a budget table.

    Raises
    ------
    DomainError
        When a number is outside its range.
    """

    u: float
    dof: float = math.inf
    sensitivity: float = 1.0
    name: str = ""

    def __post_init__(self) -> None:
        label = f" of {self.name}" if self.name else ""
        if not (math.isfinite(self.u) and self.u >= 0.0):
            raise DomainError(f"the standard uncertainty{label} is {self.u}", allowed="0 or more, finite")
        if not self.dof > 0.0:
            raise DomainError(f"the degrees of freedom{label} are {self.dof}", allowed="more than 0")
        if not math.isfinite(self.sensitivity):
            raise DomainError(f"the sensitivity{label} is {self.sensitivity}", allowed="a finite number")

    @property
    def share(self) -> float:
        """Part of this input in the result's standard uncertainty [unit of the result]."""
        return abs(self.sensitivity) * self.u


class TypeA(NamedTuple):
    """What repeated readings tell: mean, its standard uncertainty, degrees of freedom, and their spread."""

    mean: float
    u: float
    dof: float
    spread: float


class Expanded(NamedTuple):
    """Expanded uncertainty with the figures that led to it."""

    expanded: float
    coverage: float
    u: float
    dof: float


def combined_standard_uncertainty(contributions: Iterable[Contribution]) -> float:
    """Combine independent contributions.

    Parameters
    ----------
    contributions : iterable of Contribution
        Independent inputs; none at all give 0.

    Returns
    -------
    float
        Combined standard uncertainty [unit of the result].

    Notes
    -----
    u_c^2 = sum (c_i u_i)^2, GUM equation (11b). First order only; correlated inputs need `propagate`.
    """
    return math.hypot(*(item.share for item in contributions))


def effective_dof(contributions: Iterable[Contribution]) -> float:
    """Return the effective degrees of freedom of a combined standard uncertainty.

    Parameters
    ----------
    contributions : iterable of Contribution
        Independent inputs.

    Returns
    -------
    float
        Effective degrees of freedom [-], infinite when no contribution with finite ones counts.

    Notes
    -----
    nu_eff = u_c^4 / sum(u_i^4 / nu_i), Welch-Satterthwaite, GUM equation (G.2b).
    """
    items = list(contributions)
    combined = combined_standard_uncertainty(items)
    if combined == 0.0:
        return math.inf
    weight = sum((item.share / combined) ** 4 / item.dof for item in items)
    return 1.0 / weight if weight > 0.0 else math.inf


def coverage_factor(probability: float, dof: float = math.inf, *, one_sided: bool = False) -> float:
    """Return the factor that turns a standard into an expanded uncertainty.

    Parameters
    ----------
    probability : float
        Coverage probability [-], more than 0 and less than 1; at least 0.5 when one-sided.
    dof : float
        Degrees of freedom [-], more than 0; infinite for the normal distribution.
    one_sided : bool
        Whether only one side is to be covered, as for a limit.

    Returns
    -------
    float
        Coverage factor k [-], 0 or more.

    Raises
    ------
    DomainError
        When the probability or the degrees of freedom are out of range.

    Notes
    -----
    Quantile of Student's t at (1 + p)/2, or at p when one-sided. GUM annex G.3.
    """
    least = 0.5 if one_sided else 0.0
    if not (least < probability < 1.0 or probability == least == 0.5):
        what = f"a coverage probability of {probability} has no coverage factor"
        raise DomainError(what, allowed=f"more than {least} and less than 1")
    if not dof > 0.0:
        raise DomainError(f"the degrees of freedom are {dof}", allowed="more than 0")
    level = probability if one_sided else 0.5 * (1.0 + probability)
    if math.isinf(dof):
        return normal_quantile(level)
    from scipy.special import stdtrit

    return float(stdtrit(dof, level))


def expanded_uncertainty(contributions: Iterable[Contribution], probability: float = 0.95) -> Expanded:
    """Combine contributions and expand the result to a two-sided coverage probability.

    Parameters
    ----------
    contributions : iterable of Contribution
        Independent inputs.
    probability : float
        Coverage probability [-], more than 0 and less than 1.

    Returns
    -------
    Expanded
        Expanded uncertainty, coverage factor, combined standard uncertainty, effective degrees of freedom.

    Raises
    ------
    DomainError
        When the probability is out of range.

    Notes
    -----
    Effective degrees of freedom of one and more are cut to the next lower whole number before the factor is
    taken (GUM G.4.1), which errs to the wide side.
    """
    items = list(contributions)
    combined = combined_standard_uncertainty(items)
    dof = effective_dof(items)
    # A sum that should be 40 may come out a rounding below it.
    whole = math.floor(dof * (1.0 + 1e-12)) if 1.0 <= dof < math.inf else dof
    coverage = coverage_factor(probability, whole)
    return Expanded(coverage * combined, coverage, combined, dof)


def from_half_width(half_width: float, *, triangular: bool = False) -> float:
    """Return the standard uncertainty of a value known to lie within plus or minus a half-width.

    Parameters
    ----------
    half_width : float
        Half of the interval [any unit], 0 or more: half the resolution of a display, an error limit of a
        gauge.
    triangular : bool
        Whether values near the middle are more likely than at the ends.

    Returns
    -------
    float
        Standard uncertainty [same unit].

    Raises
    ------
    DomainError
        When the half-width is negative or not finite.

    Notes
    -----
    a / sqrt 3 for the rectangular distribution, a / sqrt 6 for the triangular one, GUM 4.3.7 and 4.3.9.
    """
    if not (math.isfinite(half_width) and half_width >= 0.0):
        raise DomainError(f"a half-width of {half_width} is impossible", allowed="0 or more, finite")
    return half_width / math.sqrt(6.0 if triangular else 3.0)


def type_a(readings: Sequence[float]) -> TypeA:
    """Evaluate repeated readings of the same thing.

    Parameters
    ----------
    readings : sequence of float
        Two readings or more [any unit], finite.

    Returns
    -------
    TypeA
        Mean, standard uncertainty of the mean and spread (standard deviation of one reading) [same unit],
        degrees of freedom [-].

    Raises
    ------
    DomainError
        When there are fewer than two readings or one is not finite.

    Notes
    -----
    s^2 = sum (x - mean)^2 / (n - 1), u(mean) = s / sqrt n, GUM 4.2.
    """
    values = [float(reading) for reading in readings]
    count = len(values)
    if count < 2:
        what = f"{count} reading gives no spread" if count == 1 else "no readings give no spread"
        raise DomainError(what, allowed="2 repeats or more", cure="Measure the same spot again")
    if not all(map(math.isfinite, values)):
        raise DomainError("a repeated reading is not a finite number", allowed="finite readings")
    mean = math.fsum(values) / count
    # The second sum is zero but for the rounding of the mean, and takes that rounding out.
    squares = math.fsum((value - mean) ** 2 for value in values)
    drift = math.fsum(value - mean for value in values)
    variance = max(squares - drift * drift / count, 0.0) / (count - 1)
    spread = math.sqrt(variance)
    return TypeA(mean, spread / math.sqrt(count), float(count - 1), spread)


def propagate(sensitivities: ArrayLike, covariance: ArrayLike) -> FloatArray:
    """Propagate a covariance through a linear (or linearised) model.

    Parameters
    ----------
    sensitivities : array_like, shape (..., m, n) or (n,)
        Derivatives of m results by n inputs [unit of the result per unit of the input].
    covariance : array_like, shape (..., n, n)
        Symmetric covariance of the inputs, without negative variances.

    Returns
    -------
    ndarray, shape (..., m, m), or (...) for one row of sensitivities
        Covariance of the results, or the variance of the one result.

    Raises
    ------
    DomainError
        When the shapes do not fit, or the covariance is not symmetric or has a negative variance.

    Notes
    -----
    J V J^T, JCGM 102:2011 section 6.2.1.
    """
    jacobian = np.asarray(sensitivities, dtype=np.float64)
    inputs = np.asarray(covariance, dtype=np.float64)
    count = inputs.shape[-1] if inputs.ndim >= 2 else 0
    if jacobian.ndim == 0 or count == 0 or inputs.shape[-2] != count or jacobian.shape[-1] != count:
        what = f"sensitivities of shape {jacobian.shape} do not fit a covariance of shape {inputs.shape}"
        raise DomainError(what, allowed="(m, n) or (n,) with (n, n)")
    scale = float(np.max(np.abs(inputs), initial=0.0))
    mirrored = np.swapaxes(inputs, -1, -2)
    if not np.allclose(inputs, mirrored, rtol=1e-9, atol=1e-12 * scale):
        raise DomainError("the covariance is not symmetric", allowed="a symmetric matrix")
    if np.any(np.diagonal(inputs, axis1=-2, axis2=-1) < 0.0):
        raise DomainError("the covariance has a negative variance", allowed="variances of 0 or more")
    if jacobian.ndim == 1:
        variance: FloatArray = np.einsum("i,...ij,j->...", jacobian, inputs, jacobian)
        return variance
    result: FloatArray = jacobian @ inputs @ np.swapaxes(jacobian, -1, -2)
    return result
