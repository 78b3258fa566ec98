"""Groups against each other: friction materials, routes, workshops, or anything else that splits axles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wearline.errors import DomainError
from wearline.forecasting.nested import Floats

__all__ = [
    "NOTHING_SHARED",
    "Comparison",
    "Costs",
    "Shared",
    "compare_groups",
    "compare_pairs",
    "pairs_needed",
    "sets_needed",
]

_CONFIDENCE = 0.975
_POWER = 0.80


@dataclass(frozen=True, slots=True)
class Costs:
    """Prices of one axle.

    Parameters
    ----------
    pad_set : float
        Pads of an axle with the work, in money.
    rotor_pair : float
        Two rotors with the work.
    usable_pad, usable_rotor : float, [m]
        Friction and rotor thickness that may be worn away.
    """

    pad_set: float
    rotor_pair: float
    usable_pad: float
    usable_rotor: float

    def by_distance(self, pad_rate: Floats, rotor_rate: Floats) -> Floats:
        """Return the cost of an axle by distance.

        Parameters
        ----------
        pad_rate, rotor_rate : array, [m/m]
            Wear of the pads and of the whole rotor.

        Returns
        -------
        array, [money/m]
            Pads and rotors together.
        """
        pads = self.pad_set * np.asarray(pad_rate) / self.usable_pad
        return np.asarray(pads + self.rotor_pair * np.asarray(rotor_rate) / self.usable_rotor)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Second group against the first.

    Parameters
    ----------
    ratio, low, high : float
        Cost (or rate) of the second over the first, with its 95 % interval.
    p_value : float
        Chance of so large a difference by luck, two-sided.
    count : int
        Pairs, or sets of the smaller group.
    spread : float
        Standard deviation of the log difference (pairs) or of one log (groups).
    needed : int
        Pairs, or sets in each group, that would show a difference of ``smallest``.
    smallest : float
        Difference worth knowing, 0.15 for 15 %.
    says : str
        The answer in words.
    """

    ratio: float
    low: float
    high: float
    p_value: float
    count: int
    spread: float
    needed: int
    smallest: float
    says: str


def sets_needed(spread: float, smallest: float) -> int:
    """Return how many sets in each of two groups show a relative difference.

    Parameters
    ----------
    spread : float, more than 0
        Coefficient of variation between sets.
    smallest : float, more than 0
        Difference.

    Returns
    -------
    int
        Sets in each group, for 5 % two-sided and a power of 80 %.

    Raises
    ------
    DomainError
        If a number is not positive.

    Notes
    -----
    n = 2 ((z_0.975 + z_0.8) CV / difference)^2.
    """
    return math.ceil(2.0 * _times(spread, smallest) - 1e-9)


def pairs_needed(spread: float, smallest: float) -> int:
    """Return how many pairs show a relative difference.

    Parameters
    ----------
    spread : float, more than 0
        Coefficient of variation of the difference within pairs.
    smallest : float, more than 0
        Difference.

    Returns
    -------
    int
        Pairs, for 5 % two-sided and a power of 80 %.

    Raises
    ------
    DomainError
        If a number is not positive.
    """
    return math.ceil(_times(spread, smallest) - 1e-9)


def _times(spread: float, smallest: float) -> float:
    from scipy.special import ndtri

    if not (spread > 0 and smallest > 0):
        raise DomainError("spread or difference is not positive", allowed="more than 0")
    return float(((ndtri(_CONFIDENCE) + ndtri(_POWER)) * spread / smallest) ** 2)


@dataclass(frozen=True, slots=True)
class Shared:
    """Uncertainty that all values of a group share, as the rotor's part of a cost.

    Parameters
    ----------
    u : float, [1], 0 or more
        Standard uncertainty of the log of the ratio from it.
    dof : float
        Its degrees of freedom.
    lost : int
        Degrees of freedom that removing the differences between kinds of work has cost.
    """

    u: float = 0.0
    dof: float = math.inf
    lost: int = 0


NOTHING_SHARED = Shared()


def compare_pairs(
    first: Sequence[float],
    second: Sequence[float],
    *,
    smallest: float = 0.15,
    shared: Shared = NOTHING_SHARED,
) -> Comparison:
    """Compare two groups paired by vehicle or axle.

    Parameters
    ----------
    first, second : sequence of float, more than 0
        Cost or rate of each pair; never the two ends of one axle, which must wear the same pads.
    smallest : float, optional
        Difference worth knowing.
    shared : Shared, optional
        What all pairs share.

    Returns
    -------
    Comparison
        Second against first.

    Raises
    ------
    DomainError
        If there are fewer than three pairs, or a value is not positive.

    Notes
    -----
    Student's t on the differences of logs, joined with the shared uncertainty by the Welch-Satterthwaite
    formula.
    """
    a, b = _logs(first), _logs(second)
    if a.size != b.size or a.size < 3:
        raise DomainError(f"{a.size} and {b.size} values are no pairs", allowed="at least three pairs")
    difference = b - a
    spread = float(difference.std(ddof=1))
    error, dof = _joined(spread / math.sqrt(a.size), float(a.size - 1), shared)
    return _compared(float(difference.mean()), error, dof, a.size, spread, pairs_needed, smallest)


def _joined(error: float, dof: float, shared: Shared) -> tuple[float, float]:
    """Standard error and effective degrees of freedom (Welch-Satterthwaite) with what is shared."""
    dof = max(dof - shared.lost, 1.0)
    whole = math.hypot(error, shared.u)
    if shared.u <= 0.0 or whole <= 0.0:
        return whole, dof
    return whole, whole**4 / (error**4 / dof + shared.u**4 / shared.dof)


def compare_groups(
    first: Sequence[float],
    second: Sequence[float],
    *,
    smallest: float = 0.15,
    shared: Shared = NOTHING_SHARED,
) -> Comparison:
    """Compare two groups that are not paired.

    Parameters
    ----------
    first, second : sequence of float, more than 0
        Cost or rate of each set.
    smallest : float, optional
        Difference worth knowing.
    shared : Shared, optional
        What all values of a group share.

    Returns
    -------
    Comparison
        Second against first.

    Raises
    ------
    DomainError
        If a group has fewer than three sets, or a value is not positive.

    Notes
    -----
    Welch's t on the logs, joined with the shared uncertainty by the Welch-Satterthwaite formula.
    """
    a, b = _logs(first), _logs(second)
    if min(a.size, b.size) < 3:
        raise DomainError(f"{a.size} against {b.size} sets", allowed="at least three sets in each group")
    va, vb = float(a.var(ddof=1)) / a.size, float(b.var(ddof=1)) / b.size
    error = math.sqrt(va + vb)
    dof = (va + vb) ** 2 / max(va**2 / (a.size - 1) + vb**2 / (b.size - 1), 1e-300)
    spread = math.sqrt((va * a.size + vb * b.size) / 2.0)
    error, dof = _joined(error, dof, shared)
    return _compared(
        float(b.mean() - a.mean()), error, dof, min(a.size, b.size), spread, sets_needed, smallest
    )


def _logs(values: Sequence[float]) -> Floats:
    numbers = np.asarray(values, dtype=float)
    if not (np.isfinite(numbers).all() and (numbers > 0).all()):
        raise DomainError("a cost or rate is not positive", allowed="more than 0")
    return np.asarray(np.log(numbers))


def _compared(
    mean: float, error: float, dof: float, count: int, spread: float, needs: object, smallest: float
) -> Comparison:
    from scipy.special import stdtr, stdtrit

    assert callable(needs)
    if error <= 0.0:
        raise DomainError("all values are the same", allowed="values that were measured")
    reach = float(stdtrit(dof, _CONFIDENCE)) * error
    p_value = float(2.0 * stdtr(dof, -abs(mean) / error))
    ratio, low, high = math.exp(mean), math.exp(mean - reach), math.exp(mean + reach)
    needed = int(needs(spread, smallest))
    span = f"{100 * (low - 1):+.0f} to {100 * (high - 1):+.0f}"
    if low > 1.0 or high < 1.0:
        word = "more" if ratio > 1.0 else "less"
        says = f"the second costs {100 * abs(ratio - 1):.0f} % {word} ({span} %)"
    else:
        says = (
            f"the data cannot tell: {span} %; about {needed} would show "
            f"{100 * smallest:.0f} %, there are {count}"
        )
    return Comparison(ratio, low, high, p_value, count, spread, needed, smallest, says)
