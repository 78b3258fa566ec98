"""Lives of parts: some seen to their end, some not, some only seen from an age on.

For claims and campaigns: the share that survives without assuming a shape, Weibull and lognormal fits, and
failures of a batch against what would be expected.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from wearline.errors import DomainError
from wearline.forecasting.nested import Floats

__all__ = [
    "BatchRate",
    "LifeFit",
    "Lives",
    "SurvivalCurve",
    "batch_against_expectation",
    "fit_lives",
    "survival_curve",
]


@dataclass(frozen=True, slots=True)
class Lives:
    """Lives in columns, each of shape (lives,).

    Parameters
    ----------
    low, high : array
        The life ended between these; equal where it is known, ``high`` infinite where it has not ended.
    entry : array
        Age from which the part was under observation; 0 where from new.
    count : array
        How many parts the row stands for.

    Raises
    ------
    DomainError
        If a row contradicts itself.
    """

    low: Floats
    high: Floats
    entry: Floats
    count: Floats

    def __post_init__(self) -> None:
        if not (np.isfinite(self.low).all() and (self.low >= 0).all() and (self.high >= self.low).all()):
            raise DomainError("a life ends before it began", allowed="0 <= low <= high")
        if not ((self.entry >= 0) & (self.entry <= self.low) & (self.high > self.entry)).all():
            raise DomainError(
                "a part is observed from an age after its life ended",
                allowed="entry at or below low, and below high",
                cure="Leave out parts that were never under observation",
            )
        if not (self.count > 0).all():
            raise DomainError("a row stands for no part", allowed="count more than 0")

    @classmethod
    def of(
        cls,
        low: Floats,
        high: Floats | None = None,
        entry: Floats | None = None,
        count: Floats | None = None,
    ) -> Lives:
        """Build lives with the usual defaults.

        Parameters
        ----------
        low : array
            End of each life, or the age at which it was last seen.
        high : array, optional
            As in the class; ``low`` by default.
        entry, count : array, optional
            As in the class; 0 and 1 by default.

        Returns
        -------
        Lives
            In columns.
        """
        low = np.asarray(low, dtype=float)
        return cls(
            low,
            low if high is None else np.asarray(high, dtype=float),
            np.zeros(low.shape) if entry is None else np.asarray(entry, dtype=float),
            np.ones(low.shape) if count is None else np.asarray(count, dtype=float),
        )


@dataclass(frozen=True, slots=True)
class SurvivalCurve:
    """Share that survives, without assuming a shape.

    Parameters
    ----------
    age : array, shape (steps,)
        Ages at which parts ended, rising.
    share : array, shape (steps,)
        Share that survives beyond that age, of those that reached ``since``.
    low, high : array, shape (steps,)
        95 % interval (log of minus log).
    at_risk : array, shape (steps,)
        Parts under observation just before.
    since : float
        Age that the shares are conditional on.
    """

    age: Floats
    share: Floats
    low: Floats
    high: Floats
    at_risk: Floats
    since: float

    def at(self, age: float) -> float:
        """Return the share that survives beyond an age.

        Parameters
        ----------
        age : float
            Age.

        Returns
        -------
        float
            1 before the first end.
        """
        before = int(np.searchsorted(self.age, age, side="right"))
        return float(self.share[before - 1]) if before else 1.0


def survival_curve(lives: Lives, *, since: float = 0.0) -> SurvivalCurve:
    """Return the product-limit estimate, parts entering late counted only from then on.

    Parameters
    ----------
    lives : Lives
        With ends that are known or not yet reached; no intervals.
    since : float, optional
        Age that the shares are conditional on: choose one at which many parts are under observation, for with
        late entry a first small group that dies out would send the curve to 0 for good.

    Returns
    -------
    SurvivalCurve
        Steps.

    Raises
    ------
    DomainError
        If an end is only known as an interval, or the first group dies out.
    """
    known = lives.low == lives.high
    if not (known | np.isinf(lives.high)).all():
        raise DomainError("an end is known as an interval only", cure="Use fit_lives")
    use = lives.low > since
    low, entry, count = lives.low[use], np.maximum(lives.entry[use], since), lives.count[use]
    ended = known[use]
    age = np.unique(low[ended])
    ends = np.array([count[ended & (low == a)].sum() for a in age])
    risk = np.array([count[(entry < a) & (low >= a)].sum() for a in age])
    left = 1.0 - ends / np.maximum(risk, 1e-300)
    gone = np.flatnonzero(left <= 0.0)
    if gone.size and gone[0] < age.size - 1:
        raise DomainError(
            f"all {risk[gone[0]]:g} parts under observation at {age[gone[0]]:g} ended there",
            allowed="an age at which more are under observation",
            cure="Give 'since' an age that many parts reach",
        )
    share = np.cumprod(left)
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = np.sqrt(np.cumsum(ends / (risk * (risk - ends)))) / np.abs(np.log(share))
        low_share = share ** np.exp(1.96 * spread)
        high_share = share ** np.exp(-1.96 * spread)
    return SurvivalCurve(age, share, np.nan_to_num(low_share), np.nan_to_num(high_share), risk, since)


@dataclass(frozen=True, slots=True)
class LifeFit:
    """A fitted distribution of lives: location and scale of the log life.

    Parameters
    ----------
    shape : {"weibull", "lognormal"}
        Which one.
    location, scale : float
        Weibull: log of the age at which 63.2 % have ended, and 1/slope; lognormal: mean and standard
        deviation of the log life.
    covariance : array, shape (2, 2)
        Of location and log scale.
    log_likelihood : float
        Of the data.
    """

    shape: Literal["weibull", "lognormal"]
    location: float
    scale: float
    covariance: Floats
    log_likelihood: float

    def quantile(self, share: float) -> float:
        """Return the age at which a share has ended.

        Parameters
        ----------
        share : float, 0 to 1
            Share.

        Returns
        -------
        float
            Age.
        """
        from scipy.special import ndtri

        z = np.log(-np.log1p(-share)) if self.shape == "weibull" else ndtri(share)
        return float(np.exp(self.location + self.scale * z))

    def ended(self, age: Floats) -> Floats:
        """Return the share that has ended by an age.

        Parameters
        ----------
        age : array, more than 0
            Ages.

        Returns
        -------
        array
            Shares.
        """
        z = (np.log(np.asarray(age, dtype=float)) - self.location) / self.scale
        return np.asarray(-np.expm1(_log_survival(z, self.shape)))


def _log_survival(z: Floats, shape: str) -> Floats:
    from scipy.special import log_ndtr

    if shape == "weibull":
        return np.asarray(-np.exp(np.minimum(z, 700.0)))
    return np.asarray(log_ndtr(-z))


def _log_density(z: Floats, shape: str) -> Floats:
    if shape == "weibull":
        return np.asarray(z - np.exp(np.minimum(z, 700.0)))
    return np.asarray(-0.5 * z * z - 0.5 * np.log(2.0 * np.pi))


def _negative(values: Floats, lives: Lives, shape: str) -> float:
    location, scale = values[0], float(np.exp(values[1]))
    with np.errstate(divide="ignore"):
        low, high = np.log(lives.low), np.log(lives.high)
        entry = np.log(lives.entry)
    known = lives.low == lives.high
    z = (low - location) / scale
    total = np.zeros(low.shape)
    total[known] = _log_density(z[known], shape) - np.log(scale) - low[known]
    rest = ~known
    above = _log_survival(z[rest], shape)
    below = _log_survival((high[rest] - location) / scale, shape)
    with np.errstate(divide="ignore"):
        total[rest] = above + np.log(-np.expm1(np.minimum(below - above, -1e-300)))
    late = lives.entry > 0
    total[late] -= _log_survival((entry[late] - location) / scale, shape)
    value = -float((lives.count * total).sum())
    return value if np.isfinite(value) else 1e300


def fit_lives(lives: Lives, shape: Literal["weibull", "lognormal"]) -> LifeFit:
    """Fit a distribution to lives with late entry and ends that are known, between two ages, or yet to come.

    Parameters
    ----------
    lives : Lives
        The lives.
    shape : {"weibull", "lognormal"}
        Which distribution.

    Returns
    -------
    LifeFit
        Greatest likelihood.

    Raises
    ------
    DomainError
        If no life has ended, or the likelihood has no maximum.

    Notes
    -----
    Each life counts with the chance of its end given that it reached the age of its entry. Started from
    several scales, so that a search that runs away in one cannot pass for the optimum.
    """
    from scipy.optimize import minimize

    finite = np.isfinite(lives.high)
    if not finite.any():
        raise DomainError(
            "no life has ended yet", allowed="at least one end", cure="Wait, or pool with others"
        )
    ages = np.where(finite, 0.5 * (lives.low + np.where(finite, lives.high, 0.0)), lives.low * 1.3)
    ages = np.maximum(ages, 1e-3 * float(ages.max()))
    centre = float(np.average(np.log(ages), weights=lives.count))
    best = None
    for factor in (0.0, 1.0):
        for scale in (0.1, 0.4, 1.0):
            found = minimize(
                _negative,
                np.array([centre + factor, np.log(scale)]),
                args=(lives, shape),
                method="Nelder-Mead",
                options={"xatol": 1e-10, "fatol": 1e-11, "maxiter": 4000, "maxfev": 4000},
            )
            if best is None or found.fun < best.fun - 1e-9:
                best = found
    assert best is not None
    covariance = _covariance(best.x, lives, shape)
    location, scale = float(best.x[0]), float(np.exp(best.x[1]))
    if not (1e-4 < scale < 50.0) or best.fun >= 1e299:
        raise DomainError(
            "these lives do not determine a distribution",
            allowed="ends at two ages or more",
            cure="Pool them with others, or use survival_curve",
        )
    return LifeFit(shape, location, scale, covariance, -float(best.fun))


def _covariance(point: Floats, lives: Lives, shape: str) -> Floats:
    step = 1e-4
    unit = np.eye(2) * step
    second = np.empty((2, 2))
    for i in range(2):
        for j in range(2):
            second[i, j] = (
                _negative(point + unit[i] + unit[j], lives, shape)
                - _negative(point + unit[i] - unit[j], lives, shape)
                - _negative(point - unit[i] + unit[j], lives, shape)
                + _negative(point - unit[i] - unit[j], lives, shape)
            ) / (4.0 * step**2)
    return np.asarray(np.linalg.pinv(second, hermitian=True), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class BatchRate:
    """Failures of a batch against expectation.

    Parameters
    ----------
    failed : int
        Failures seen.
    expected : float
        Failures that the fleet's own distribution lets expect at the same ages.
    ratio, low, high : float
        Seen over expected with its 95 % interval.
    p_value : float
        Chance of as many or more, were the batch like the rest.
    """

    failed: int
    expected: float
    ratio: float
    low: float
    high: float
    p_value: float


def batch_against_expectation(age: Floats, entry: Floats, failed: Floats, rest: LifeFit) -> BatchRate:
    """Compare a batch with the lives of all other parts.

    Parameters
    ----------
    age : array, shape (parts,)
        Age at failure or now; healthy parts count as well, or the rate has no denominator.
    entry : array, shape (parts,)
        Age from which each was under observation.
    failed : array of bool, shape (parts,)
        Whether it has failed.
    rest : LifeFit
        Fitted to parts that are not of the batch.

    Returns
    -------
    BatchRate
        Ratio with its exact Poisson interval.

    Raises
    ------
    DomainError
        If nothing was to be expected.

    Notes
    -----
    Expected = sum of cumulated hazards from entry to age (standardised ratio).
    """
    from scipy.special import gammainc, gammaincinv

    age, entry = np.asarray(age, dtype=float), np.asarray(entry, dtype=float)

    def hazard(at: Floats) -> Floats:
        with np.errstate(divide="ignore"):
            return -_log_survival((np.log(at) - rest.location) / rest.scale, rest.shape)

    expected = float((hazard(age) - np.where(entry > 0, hazard(np.maximum(entry, 1e-300)), 0.0)).sum())
    if not expected > 0.0:
        raise DomainError("no failure is to be expected of these parts", allowed="parts that have run")
    seen = int(np.count_nonzero(failed))
    low = float(gammaincinv(seen, 0.025)) if seen else 0.0
    high = float(gammaincinv(seen + 1, 0.975))
    p_value = float(gammainc(seen, expected)) if seen else 1.0
    return BatchRate(seen, expected, seen / expected, low / expected, high / expected, p_value)
