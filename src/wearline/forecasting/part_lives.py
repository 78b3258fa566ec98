"""Lives of the parts behind a check: sound at one look, failed at the next, or still sound at the last."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import FieldSpec, Finding, Limit, Meaning
from wearline.forecasting.clocks import PlacedInspection
from wearline.forecasting.life_data import LifeFit, Lives, SurvivalCurve, survival_curve
from wearline.forecasting.nested import Floats
from wearline.forecasting.observations import EndInfo
from wearline.forecasting.outlook import Outlook
from wearline.forecasting.pad_lives import end_sets
from wearline.uncertainty.intervals import compare_directly

__all__ = [
    "PADS_PART",
    "PartLife",
    "PartLives",
    "as_lives",
    "chance_before",
    "lives_of_field",
    "lives_of_pads",
    "widest_curve",
]

PADS_PART = "pads"

_LEAST_AT_RISK = 10
"""Parts under observation where a curve may begin; fewer die out by luck (expert judgement)."""


@dataclass(frozen=True, slots=True)
class PartLife:
    """One part at one wheel end.

    Parameters
    ----------
    vehicle, at : str
        Where it is or was.
    entry : float, [m]
        Age from which it was under observation.
    low, high : float, [m]
        It failed between these ages; ``high`` infinite while it is sound.
    looks : tuple of PlacedInspection
        The looks that saw it, oldest first.
    info : EndInfo
        Its wheel end.
    present : bool
        Whether it is on the vehicle still, as far as the last look says.
    """

    vehicle: str
    at: str
    entry: float
    low: float
    high: float
    looks: tuple[PlacedInspection, ...]
    info: EndInfo
    present: bool = True

    @property
    def failed(self) -> bool:
        """Whether its end was seen."""
        return bool(np.isfinite(self.high))

    @property
    def age(self) -> float:
        """Age at which it was found failed, or last seen sound [m]."""
        return self.high if self.failed else self.low


@dataclass(frozen=True, slots=True)
class PartLives:
    """Lives of all parts of a kind.

    Parameters
    ----------
    lives : tuple of PartLife
        Those under observation over some distance.
    failed_at_first : int
        Parts that had failed when first looked at: nobody knows when, so that they take no part.
    seen_once : int
        Parts looked at only once.
    """

    lives: tuple[PartLife, ...]
    failed_at_first: int
    seen_once: int


def lives_of_field(found: Outlook, spec: FieldSpec, catalogue: Catalogue, *, unit: str) -> PartLives:
    """Return the lives of the parts that a field of the wheel end judges.

    Parameters
    ----------
    found : Outlook
        The forecast, for its clocks.
    spec : FieldSpec
        A field of words, or a quantity with a limit.
    catalogue : Catalogue
        Limits in force.
    unit : str
        Only vehicles counted in it.

    Returns
    -------
    PartLives
        A part that was found failed counts as renewed when it is sound at a later look; its successor counts
        from the look that found the failure.

    Notes
    -----
    The first part of a wheel end is as old as the vehicle, and under observation from the first look on that
    found it sound; that it reached this age is known, and nothing else (late entry).
    """
    lives: list[PartLife] = []
    failed_at_first = once = 0
    for end in found.ends:
        info = end.info
        if info.axis.unit != unit:
            continue
        judged = [
            (item, state)
            for item in info.placed
            if (state := _state(item, info, spec, catalogue)) is not None
        ]
        if not judged:
            continue
        if judged[0][1]:
            failed_at_first += 1
        if len(judged) == 1:
            once += not judged[0][1]
            continue
        lives += _one_end(info, judged)
    return PartLives(tuple(lives), failed_at_first, once)


def _one_end(info: EndInfo, judged: Sequence[tuple[PlacedInspection, bool]]) -> list[PartLife]:
    result: list[PartLife] = []
    looks: list[PlacedInspection] = []
    start, entry = 0.0, np.nan
    for number, (item, failed) in enumerate(judged):
        last = number + 1 == len(judged)
        if not looks:
            if failed:
                # it failed before anybody looked, or is failed still: the next sound one is new
                start, entry = item.clock, 0.0
                continue
            entry = item.clock - start if np.isnan(entry) else entry
            looks = [item]
            if not last:
                continue
        else:
            looks.append(item)
        before = looks[-2].clock if len(looks) > 1 else start
        if failed:
            low, high = max(before - start, entry), item.clock - start
            if high > low:
                result.append(_part(info, entry, low, high, looks, present=last))
            looks, start, entry = [], item.clock, 0.0
        elif last and item.clock - start > entry:
            result.append(_part(info, entry, item.clock - start, np.inf, looks, present=True))
    return result


def _part(
    info: EndInfo,
    entry: float,
    low: float,
    high: float,
    looks: Sequence[PlacedInspection],
    *,
    present: bool,
) -> PartLife:
    return PartLife(info.vehicle, str(info.place), entry, low, high, tuple(looks), info, present)


def _state(item: PlacedInspection, info: EndInfo, spec: FieldSpec, catalogue: Catalogue) -> bool | None:
    """Whether the part had failed at a look; None where nothing was taken."""
    end = item.inspection.wheel_end(info.place)
    if end is None:
        return None
    word = end.word(spec.name)
    if word:
        meaning = spec.words.get(word)
        if meaning in (Meaning.FAULT, Meaning.GOOD, Meaning.LOOK):
            return meaning is Meaning.FAULT
        return None
    reading = end.measured(spec.name)
    limit = _limit(info, spec, catalogue, item)
    if reading is None or limit is None:
        return None
    return not bool(compare_directly(reading.value, limit.value, limit.sense, limit.passes_at_limit))


def _limit(info: EndInfo, spec: FieldSpec, catalogue: Catalogue, item: PlacedInspection) -> Limit | None:
    limits = catalogue.limits_for(info.design.id, item.inspection.taken_on).values()
    return next(
        (limit for limit in limits if limit.field == spec.name and limit.consequence is not Finding.NOTE),
        None,
    )


def lives_of_pads(found: Outlook, *, unit: str) -> PartLives:
    """Return the lives of the pad sets of every wheel end, from their fitting to their renewal.

    Parameters
    ----------
    found : Outlook
        The forecast.
    unit : str
        Only vehicles counted in it.

    Returns
    -------
    PartLives
        Sets whose fitting is known; those renewed between two looks ended between them.
    """
    lives: list[PartLife] = []
    unknown = 0
    for each in end_sets(found):
        info = each.info
        if info.axis.unit != unit:
            continue
        if not np.isfinite(each.start):
            unknown += 1
            continue
        entry = max(min(item.clock for item in info.placed) - each.start, 0.0)
        last = max(each.last - each.start, entry)
        if np.isfinite(each.renewed):
            high = each.renewed - each.start
            if high > entry:
                lives.append(_part(info, entry, min(last, high), high, each.looks(), present=False))
        elif last > entry:
            lives.append(_part(info, entry, last, np.inf, each.looks(), present=True))
    return PartLives(tuple(lives), 0, unknown)


def as_lives(lives: Sequence[PartLife], scale: Callable[[float], float], *, found: bool = False) -> Lives:
    """Return lives in columns.

    Parameters
    ----------
    lives : sequence of PartLife
        The lives.
    scale : callable
        From metres to the unit of the answer.
    found : bool, optional
        Whether an end counts at the look that found it, instead of between two looks.

    Returns
    -------
    Lives
        For the curve and the fits.
    """
    entry = np.array([scale(each.entry) for each in lives])
    low = np.array([scale(each.age if found and each.failed else each.low) for each in lives])
    high = np.array([scale(each.high) if each.failed else np.inf for each in lives])
    return Lives.of(low, high, entry)


def widest_curve(lives: Lives) -> SurvivalCurve | None:
    """Return the product-limit curve from the earliest age at which enough parts are under observation.

    Parameters
    ----------
    lives : Lives
        Ends that are known, or not yet reached.

    Returns
    -------
    SurvivalCurve or None
        None where nothing has ended, or no age has enough parts.
    """
    known = lives.low == lives.high
    if not known.any():
        return None
    least = min(_LEAST_AT_RISK, max(int(lives.low.size // 4), 1))
    from wearline.errors import DomainError

    for since in np.unique(lives.entry):
        at_risk = int(((lives.entry <= since) & (lives.low > since)).sum())
        if at_risk < least:
            continue
        try:
            curve = survival_curve(lives, since=float(since))
        except DomainError:
            continue
        if curve.age.size:
            return curve
    return None


def chance_before(fit: LifeFit, age: Floats, ahead: float, ratio: float) -> Floats:
    """Return the chance that sound parts fail within a stretch.

    Parameters
    ----------
    fit : LifeFit
        Lives of all others.
    age : array
        Present ages, more than 0.
    ahead : float
        The stretch, in the same unit.
    ratio : float, 0 or more
        Hazard of these parts over that of all others.

    Returns
    -------
    array
        Chances.
    """

    def hazard(at: Floats) -> Floats:
        return -np.log1p(-np.minimum(fit.ended(at), 1.0 - 1e-15))

    return np.asarray(-np.expm1(-ratio * (hazard(age + ahead) - hazard(age))))
