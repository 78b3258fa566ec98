"""How far between two looks: risk of crossing a limit unseen, cost of looking, worth of knowing more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wearline.errors import DomainError
from wearline.forecasting.nested import Floats
from wearline.forecasting.outlook import EndOutlook, Outlook
from wearline.forecasting.settings import ForecastSettings

__all__ = [
    "CostPoint",
    "GroupInterval",
    "LookCosts",
    "axle_groups",
    "cost_curve",
    "gain_of_readings",
    "group_intervals",
    "lives_of_group",
    "longest_distance",
    "new_pad_lives",
    "service_minimum",
]

_GENERIC_SERVICE = 3e-3
"""[m] Service minimum where no limit is in force (common practice)."""


@dataclass(frozen=True, slots=True)
class LookCosts:
    """Money of one axle.

    Parameters
    ----------
    look : float
        Taking the wheels off to look.
    pad_set : float
        New pads of an axle with the work.
    miss : float
        What a limit crossed unseen costs: rotors, a breakdown, a fine.
    """

    look: float
    pad_set: float
    miss: float


@dataclass(frozen=True, slots=True)
class CostPoint:
    """One distance between looks.

    Parameters
    ----------
    distance : float, [m]
        Between looks.
    look, pads, miss, total : float, [money/m]
        Cost by distance run.
    risk : float, [1]
        Share of pad sets that cross the limit unseen.
    wasted : float, [1]
        Share of the life thrown away.
    """

    distance: float
    look: float
    pads: float
    miss: float
    total: float
    risk: float
    wasted: float


@dataclass(frozen=True, slots=True)
class GroupInterval:
    """Answer for one duty and axle role.

    Parameters
    ----------
    duty, role : str
        The group.
    axles : int
        Axles in it.
    longest : float, [m]
        Longest distance with a risk below the target, pads as they are now.
    longest_new : float, [m]
        The same from new pads on.
    median_life : float, [m]
        Of new pads.
    risk : float
        The target.
    """

    duty: str
    role: str
    axles: int
    longest: float
    longest_new: float
    median_life: float
    risk: float


def longest_distance(draws: Floats, risk: float) -> float:
    """Return the longest distance with a chance of crossing at or below a target.

    Parameters
    ----------
    draws : array, any shape, [m]
        Distances to the limit, over axles and draws.
    risk : float, 0 to 1
        Target.

    Returns
    -------
    float, [m]
        Distance.

    Raises
    ------
    DomainError
        If the risk is no share or there are no draws.
    """
    if not 0.0 < risk < 1.0 or draws.size == 0:
        raise DomainError(f"a risk of {risk:g} is asked for", allowed="more than 0, less than 1")
    return float(np.quantile(draws, risk, method="lower"))


def new_pad_lives(
    rates: Sequence[Floats],
    usable: float,
    settings: ForecastSettings,
    *,
    set_spread: float,
    future_duty: float,
    draws: int,
    rng: np.random.Generator,
) -> Floats:
    """Draw how long new pads last on the axles of a group.

    Parameters
    ----------
    rates : sequence of array, shape (ends, draws), [m/m]
        Draws of the present rate of the ends of each axle.
    usable : float, [m]
        Friction from new to the limit.
    settings : ForecastSettings
        Uncertainty of the new thickness.
    set_spread : float, [1]
        Spread of the log rate from one pad set of an end to the next.
    future_duty : float, [1]
        Spread of the coming duty against the past; common to the ends of an axle.
    draws : int
        How many, over all axles.
    rng : numpy.random.Generator
        Source of the draws.

    Returns
    -------
    array, shape (about draws,), [m]
        Lives: the first end of an axle to meet the limit counts.
    """
    each = max(draws // max(len(rates), 1), 50)
    lives = []
    for rate in rates:
        ends = rate.shape[0]
        picked = rate[:, rng.integers(0, rate.shape[1], each)]
        change = set_spread * rng.standard_normal((ends, each)) + future_duty * rng.standard_normal(each)
        start = np.maximum(usable + settings.u_new * rng.standard_normal((ends, each)), 0.0)
        lives.append((start / (picked * np.exp(change))).min(axis=0))
    return np.concatenate(lives)


def axle_groups(found: Outlook) -> dict[tuple[str, str], list[int]]:
    """Return the axles of each duty and role.

    Parameters
    ----------
    found : Outlook
        The forecast.

    Returns
    -------
    dict of (duty, role) to list of int
        Numbers in ``found.axles``, groups in alphabetical order.
    """
    groups: dict[tuple[str, str], list[int]] = {}
    for number, axle in enumerate(found.axles):
        groups.setdefault((axle.duty, axle.role), []).append(number)
    return dict(sorted(groups.items()))


def lives_of_group(
    found: Outlook, members: Sequence[int], settings: ForecastSettings, *, draws: int = 20_000
) -> Floats:
    """Draw how long new pads last on some axles of a forecast.

    Parameters
    ----------
    found : Outlook
        The forecast.
    members : sequence of int
        Numbers of the axles.
    settings : ForecastSettings
        Uncertainties.
    draws : int, optional
        How many.

    Returns
    -------
    array, [m]
        Lives until the service limit.
    """
    present = found.present
    assert present is not None
    wanted = {(found.axles[i].vehicle, found.axles[i].axle) for i in members}
    ends: dict[tuple[str, str], list[int]] = {}
    for number, info in enumerate(present.observations.ends):
        key = (info.vehicle, info.place.axle)
        if key in wanted:
            ends.setdefault(key, []).append(number)
    shown = [end for end in found.ends if (end.info.vehicle, end.info.place.axle) in wanted]
    usable = float(np.mean([end.info.design.friction_new - service_minimum(end) for end in shown]))
    levels = present.table.levels
    own = [i for i, level in enumerate(levels) if level in ("set", "pad")]
    return new_pad_lives(
        [present.remaining.rate[rows] for rows in ends.values()],
        usable,
        settings,
        set_spread=float(np.sqrt(present.hyper.variance[own].sum())),
        future_duty=present.future_duty,
        draws=draws,
        rng=np.random.default_rng(11),
    )


def service_minimum(end: EndOutlook) -> float:
    """Return the service minimum of the pads in force at a wheel end.

    Parameters
    ----------
    end : EndOutlook
        The wheel end.

    Returns
    -------
    float, [m]
        Thickness; the generic 3 mm where no limit is in force.
    """
    return next((row.value for row in end.limits if row.limit == "pad_service"), _GENERIC_SERVICE)


def group_intervals(
    found: Outlook, risk: float, settings: ForecastSettings | None = None
) -> list[GroupInterval]:
    """Return the longest distance between looks for each duty and axle role.

    Parameters
    ----------
    found : Outlook
        The forecast.
    risk : float, 0 to 1
        Target chance of crossing the service limit unseen.
    settings : ForecastSettings, optional
        Uncertainties.

    Returns
    -------
    list of GroupInterval
        By duty and role.

    Raises
    ------
    DomainError
        If the risk is no share.
    """
    settings = settings or ForecastSettings()
    result = []
    for (duty, role), members in axle_groups(found).items():
        now = longest_distance(np.concatenate([found.axles[i].distance for i in members]), risk)
        lives = lives_of_group(found, members, settings)
        result.append(
            GroupInterval(
                duty, role, len(members), now, longest_distance(lives, risk), float(np.median(lives)), risk
            )
        )
    return result


def cost_curve(
    lives: Floats, costs: LookCosts, distances: Sequence[float], *, spread: float, risk: float
) -> list[CostPoint]:
    """Return what looking every so often costs.

    Parameters
    ----------
    lives : array, shape (draws,), [m]
        Lives of new pads.
    costs : LookCosts
        Money.
    distances : sequence of float, [m]
        Distances between looks to try.
    spread : float, [1]
        How well the remaining distance is known at a look, as standard deviation of its log.
    risk : float, [1]
        Pads are renewed at a look when the chance to cross before the next one is greater.

    Returns
    -------
    list of CostPoint
        In the order of the distances.

    Raises
    ------
    DomainError
        If a distance is not positive.

    Notes
    -----
    At every look the remaining distance is estimated with the given spread; the pads stay on if the estimate
    leaves a chance below the risk. Cost by distance is the expected cost of a life over its expected length
    (renewal reward).
    """
    from scipy.special import ndtri

    if not all(distance > 0 for distance in distances):
        raise DomainError("a distance between looks is not positive", allowed="more than 0 m")
    margin = float(np.exp(-ndtri(1.0 - risk) * spread))
    shares = (np.arange(lives.size) + 0.5) / lives.size
    # the same errors of estimate for every distance, spread evenly, so that the curve is smooth
    errors = np.exp(spread * ndtri(np.random.default_rng(5).permutation(shares)))
    points = []
    for distance in distances:
        # look k keeps the pads on while (life - k d) * error * margin >= d
        keep = np.floor(lives / distance - 1.0 / (errors * margin))
        last = np.maximum(keep, 0.0) + 1.0
        missed = last * distance > lives
        run = np.where(missed, lives, last * distance)
        length = float(run.mean())
        look = costs.look * float(last.mean()) / length
        pads = costs.pad_set / length
        miss = costs.miss * float(missed.mean()) / length
        points.append(
            CostPoint(
                float(distance),
                look,
                pads,
                miss,
                look + pads + miss,
                float(missed.mean()),
                float(1.0 - run.mean() / lives.mean()),
            )
        )
    return points


def gain_of_readings(
    worn: float, left: float, settings: ForecastSettings, *, readings: int, u: float, prior_spread: float
) -> float:
    """Return the spread of the remaining distance that more readings, or a better gauge, would leave.

    Parameters
    ----------
    worn, left : float, [m], more than 0
        Friction worn so far, and left to the limit.
    settings : ForecastSettings
        New thickness and coming duty.
    readings : int, at least 1
        Readings taken at even steps over the distance so far.
    u : float, [m], more than 0
        Standard uncertainty of one reading.
    prior_spread : float
        Standard deviation of the log rate without a reading.

    Returns
    -------
    float, [1]
        Standard deviation of the log of the remaining distance.

    Raises
    ------
    DomainError
        If a number is not positive.

    Notes
    -----
    Least squares of the line through the readings with the new thickness as a reading of its own; rate and
    present thickness are correlated, a thin pad being a fast one.
    """
    if not (worn > 0 and left > 0 and readings >= 1 and u > 0):
        raise DomainError("worn, left, readings and u must be positive", allowed="more than 0")
    at = np.arange(1, readings + 1) / readings
    design = np.column_stack([np.ones(readings + 1), -np.append(0.0, at) * worn])
    weight = np.append(1.0 / settings.u_new**2, np.full(readings, 1.0 / u**2))
    normal = design.T @ (weight[:, None] * design)
    normal[1, 1] += 1.0 / prior_spread**2
    covariance = np.linalg.inv(normal)
    # log of (start - worn * rate - limit) / rate at rate 1
    slope = np.array([1.0 / left, -worn / left - 1.0])
    return float(np.sqrt(slope @ covariance @ slope + settings.future_duty**2))
