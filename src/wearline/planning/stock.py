"""How many parts to hold: demand from the forecast, service level, lead time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.errors import DomainError

__all__ = [
    "PartDemand",
    "count_distribution",
    "count_quantile",
    "demand_by_week",
    "order_by_service",
    "order_for_counts",
    "order_for_normal",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PartDemand:
    """Demand of one part in one week, and what to hold for it.

    Parameters
    ----------
    part : str
        The part.
    week : int
        From 0.
    mean : float
        Expected number.
    median, p95 : int
        Quantiles of the week's demand.
    order_up_to : int
        Stock and open orders together that meet the demand until the next delivery with the service level.
    """

    part: str
    week: int
    mean: float
    median: int
    p95: int
    order_up_to: int


def count_distribution(chances: Floats) -> Floats:
    """Return the distribution of how many of several independent events happen.

    Parameters
    ----------
    chances : array, shape (events,), 0 to 1
        Their chances.

    Returns
    -------
    array, shape (events + 1,)
        Chance of each number.

    Raises
    ------
    DomainError
        If a chance is not between 0 and 1.

    Notes
    -----
    Exact product of the generating polynomials, halves multiplied by the same rule (Poisson binomial).
    """
    chances = np.asarray(chances, dtype=float)
    if chances.size and not (np.isfinite(chances).all() and chances.min() >= 0 and chances.max() <= 1):
        raise DomainError("a chance is not between 0 and 1", allowed="0 to 1")
    if chances.size <= 32:
        result = np.ones(1)
        for p in chances:
            result = np.convolve(result, [1.0 - p, p])
        return result
    middle = chances.size // 2
    return np.asarray(np.convolve(count_distribution(chances[:middle]), count_distribution(chances[middle:])))


def count_quantile(distribution: Floats, share: float) -> int:
    """Return the least number that is not exceeded with a chance.

    Parameters
    ----------
    distribution : array, shape (numbers,)
        Chance of 0, 1, 2, ...
    share : float, 0 to 1
        Chance.

    Returns
    -------
    int
        Number.

    Raises
    ------
    DomainError
        If the share is not between 0 and 1.
    """
    if not 0.0 < share < 1.0:
        raise DomainError(f"a share of {share:g} is asked for", allowed="more than 0, less than 1")
    total = np.cumsum(distribution)
    return min(int(np.searchsorted(total, share - 1e-12)), distribution.size - 1)


def demand_by_week(
    part: str, need: Floats, *, each: int, service: float, lead_weeks: int
) -> list[PartDemand]:
    """Return the demand of a part in every week, and up to where to order.

    Parameters
    ----------
    part : str
        The part.
    need : array, shape (axles, weeks), 0 to 1
        Chance that each axle needs the part in each week, once in all.
    each : int, at least 1
        Pieces that one axle takes: pads come in axle sets, rotors and callipers by the pair.
    service : float, 0 to 1
        Chance that no axle waits.
    lead_weeks : int, at least 1
        Weeks from order to delivery, the week between two orders included.

    Returns
    -------
    list of PartDemand
        One for each week.

    Raises
    ------
    DomainError
        If a chance, the service level or the lead time is impossible.
    """
    if lead_weeks < 1 or each < 1:
        raise DomainError("lead time or pieces are less than 1", allowed="at least 1")
    need = np.asarray(need, dtype=float)
    result = []
    for week in range(need.shape[1]):
        now = count_distribution(need[:, week])
        until = np.minimum(need[:, week : week + lead_weeks].sum(axis=1), 1.0)
        cover = count_distribution(until)
        result.append(
            PartDemand(
                part,
                week,
                each * float(need[:, week].sum()),
                each * count_quantile(now, 0.5),
                each * count_quantile(now, 0.95),
                each * count_quantile(cover, service),
            )
        )
    return result


def order_by_service(demand: Sequence[float], service: float) -> float:
    """Return the least stock that covers a share of drawn demands.

    Parameters
    ----------
    demand : sequence of float
        Draws of the demand over the lead time.
    service : float, 0 to 1
        Share.

    Returns
    -------
    float
        Stock.

    Raises
    ------
    DomainError
        If there is no draw, or the share is not between 0 and 1.
    """
    if not len(demand) or not 0.0 < service < 1.0:
        raise DomainError("no demand, or no share", allowed="at least one draw; a share between 0 and 1")
    return float(np.quantile(np.asarray(demand, dtype=float), service, method="inverted_cdf"))


def order_for_normal(mean: float, spread: float, *, over: float, under: float) -> tuple[float, float]:
    """Return the order of least expected cost for a normal demand, and that cost.

    Parameters
    ----------
    mean, spread : float
        Demand.
    over, under : float, more than 0
        Cost of one piece too many, and of one too few.

    Returns
    -------
    float, float
        Order and expected cost.

    Raises
    ------
    DomainError
        If a cost or the spread is not positive.

    Notes
    -----
    Critical ratio under / (under + over); cost (under + over) spread phi(z) (single-period order, textbook).
    """
    from scipy.special import ndtri

    if not (over > 0 and under > 0 and spread > 0):
        raise DomainError("cost or spread is not positive", allowed="more than 0")
    z = float(ndtri(under / (under + over)))
    density = float(np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi))
    return mean + spread * z, (under + over) * spread * density


def order_for_counts(distribution: Floats, *, over: float, under: float) -> tuple[int, float]:
    """Return the order of least expected cost for a demand in pieces, and that cost.

    Parameters
    ----------
    distribution : array, shape (numbers,)
        Chance of a demand of 0, 1, 2, ...
    over, under : float, more than 0
        Cost of one piece too many, and of one too few.

    Returns
    -------
    int, float
        Order and expected cost.

    Raises
    ------
    DomainError
        If a cost is not positive.
    """
    if not (over > 0 and under > 0):
        raise DomainError("a cost is not positive", allowed="more than 0")
    order = count_quantile(distribution, under / (under + over))
    numbers = np.arange(distribution.size)
    cost = over * np.maximum(order - numbers, 0) + under * np.maximum(numbers - order, 0)
    return order, float(cost @ distribution)
