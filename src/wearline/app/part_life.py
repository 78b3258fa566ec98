"""How long a part lasts, and whether a batch fails more often than the others: for claims and campaigns."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from wearline.app.comparison import common_axis
from wearline.app.forecasting import Question, outlook
from wearline.app.interval import history_warnings
from wearline.catalogue.loading import Catalogue, load_catalogue
from wearline.catalogue.model import Finding
from wearline.errors import DomainError, InputError
from wearline.forecasting.axes import Axis
from wearline.forecasting.life_data import (
    BatchRate,
    LifeFit,
    Lives,
    SurvivalCurve,
    batch_against_expectation,
    fit_lives,
)
from wearline.forecasting.outlook import Outlook
from wearline.forecasting.part_lives import (
    PADS_PART,
    PartLife,
    PartLives,
    as_lives,
    chance_before,
    lives_of_field,
    lives_of_pads,
    widest_curve,
)

if TYPE_CHECKING:
    from wearline.app.fleet_types import BatchJson, BatchPartJson, CurvePointJson, FitJson, LifeAnswer

__all__ = ["LifeRequest", "life_answer", "life_of_part", "parts_with_lives"]

_USUAL_AHEAD = 6.0e7
"""[m] Distance ahead over which parts of a batch are ranked where nobody says (a house rule)."""

_FEW_ENDS = 5
"""Ends below which a fitted distribution is a guess (expert judgement)."""


@dataclass(frozen=True, slots=True)
class LifeRequest:
    """What to ask of a part.

    Parameters
    ----------
    question : Question
        The forecast whose clocks it rests on.
    part : str
        ``"pads"``, or a field of the wheel end that judges the part.
    batch : (str, str) or None
        Key and value of a batch, as ``("calliper_batch", "2024-31")``.
    before : float or None, [m]
        Distance ahead over which the parts of the batch are ranked.
    """

    question: Question
    part: str
    batch: tuple[str, str] | None = None
    before: float | None = None


def parts_with_lives(catalogue: Catalogue) -> list[str]:
    """Return what a life can be asked of.

    Parameters
    ----------
    catalogue : Catalogue
        Knows fields and limits.

    Returns
    -------
    list of str
        ``"pads"``, then fields with words or limits.
    """
    limited = {
        limit.field
        for design in catalogue.designs
        for limit in catalogue.limits_for(design, date.today()).values()
        if limit.consequence is not Finding.NOTE
    }
    fields = [
        name
        for name, spec in catalogue.fields.items()
        if not spec.vehicle_level and (spec.words or name in limited)
    ]
    return [PADS_PART, *fields]


def life_of_part(request: LifeRequest) -> LifeAnswer:
    """Answer how long a part lasts, from everything that was kept.

    Parameters
    ----------
    request : LifeRequest
        What to ask.

    Returns
    -------
    LifeAnswer
        Under schema ``wearline.life/1``.

    Raises
    ------
    InputError
        If the part is unknown, was never looked at twice, or no part of the batch was fitted.
    """
    known = parts_with_lives(load_catalogue())
    if request.part not in known:
        raise InputError(
            f"'{request.part}' is no part with a life",
            where="PART",
            allowed=", ".join(known),
            cure="Name the field that judges the part, as guide_pin_boot",
        )
    return life_answer(outlook(request.question), request)


def life_answer(found: Outlook, request: LifeRequest) -> LifeAnswer:
    """Answer how long a part lasts, from a forecast.

    Parameters
    ----------
    found : Outlook
        The forecast.
    request : LifeRequest
        What to ask; its part is known.

    Returns
    -------
    LifeAnswer
        Under schema ``wearline.life/1``.

    Raises
    ------
    InputError
        If the part was never looked at twice, or no part of the batch was fitted.
    """
    catalogue = load_catalogue()
    axis = common_axis(found)
    if request.part == PADS_PART:
        told, label = lives_of_pads(found, unit=axis.unit), "pads, from fitting to renewal"
    else:
        spec = catalogue.fields[request.part]
        told, label = lives_of_field(found, spec, catalogue, unit=axis.unit), spec.label
    if not told.lives:
        raise InputError(
            f"no {request.part} was looked at twice",
            where=request.question.database or "PART",
            allowed="the same part at two looks of one vehicle",
            cure="Keep more inspections",
        )
    whole = as_lives(told.lives, axis.amount)
    curve = widest_curve(as_lives(told.lives, axis.amount, found=True))
    fits, doubt = _fits(whole)
    failed = sum(each.failed for each in told.lives)
    batch = None if request.batch is None else _batch(told, request, axis)
    return {
        "schema": "wearline.life/1",
        "says": _says(label, told, failed, fits, axis) + ("" if batch is None else f" {batch['says']}"),
        "part": request.part,
        "label": label,
        "unit": axis.unit,
        "parts": len(told.lives),
        "failed": failed,
        "running": len(told.lives) - failed,
        "late_entries": sum(each.entry > 0.0 for each in told.lives),
        "since": 0.0 if curve is None else round(curve.since, 1),
        "curve": _curve_json(curve),
        "oldest": round(max(axis.amount(each.age) for each in told.lives), 1),
        "fits": [_fit_json(fit) for fit in fits],
        "batch": batch,
        "warnings": [
            {"code": w["code"], "text": w["text"], "where": w["where"], "cure": w["cure"]}
            for w in [*_doubts(found, told, axis, failed, doubt), *history_warnings(found)]
        ],
    }


def _fits(lives: Lives) -> tuple[list[LifeFit], str]:
    """Fitted distributions, the likelier first; empty where the lives do not determine one."""
    fits = []
    try:
        for shape in ("weibull", "lognormal"):
            fits.append(fit_lives(lives, shape))
    except DomainError as error:
        return [], str(error.what)
    return sorted(fits, key=lambda fit: -fit.log_likelihood), ""


def _says(label: str, told: PartLives, failed: int, fits: list[LifeFit], axis: Axis) -> str:
    parts = len(told.lives)
    name = label[0].upper() + label[1:]
    run = sum(each.age - each.entry for each in told.lives)
    if not failed:
        from scipy.special import gammaincinv

        # the greatest rate at which nothing would be seen with a chance of 5 %
        least = run / float(gammaincinv(1.0, 0.95))
        rare = axis.say(least, rough=True)
        return f"{name}: none of {parts} failed; with 95 % at most one in {rare} of one part."
    verb = "came off" if label.startswith(PADS_PART) else "failed"
    head = f"{name}: {failed} of {parts} {verb}"
    if not fits:
        return f"{head}; too few to say how long they last."
    fit, oldest = fits[0], max(axis.amount(each.age) for each in told.lives)
    said = []
    for words, share in (("10 %", 0.1), ("half", 0.5)):
        age = fit.quantile(share)
        said.append(
            f"{words} by {_amount(age, axis)}" if age <= oldest else f"{words} later than any was seen"
        )
    guess = ", a guess from so few" if failed < _FEW_ENDS else ""
    return f"{head}; {', '.join(said)} ({fit.shape}{guess})."


def _amount(amount: float, axis: Axis) -> str:
    return axis.say(amount / axis.amount(1.0), rough=True)


def _curve_json(curve: SurvivalCurve | None) -> list[CurvePointJson]:
    if curve is None:
        return []
    rows = zip(curve.age, curve.share, curve.low, curve.high, curve.at_risk, strict=True)
    return [
        {
            "age": round(float(age), 1),
            "share": round(float(share), 4),
            "low": round(float(low), 4),
            "high": round(float(high), 4),
            "at_risk": float(risk),
        }
        for age, share, low, high, risk in rows
    ]


def _fit_json(fit: LifeFit) -> FitJson:
    return {
        "shape": fit.shape,
        "slope": round(1.0 / fit.scale, 3) if fit.shape == "weibull" else None,
        "location": round(fit.location, 5),
        "scale": round(fit.scale, 5),
        "characteristic": round(float(np.exp(fit.location)), 1),
        "age_10_percent": round(fit.quantile(0.1), 1),
        "age_50_percent": round(fit.quantile(0.5), 1),
        "log_likelihood": round(fit.log_likelihood, 3),
    }


def _word(each: PartLife, key: str) -> set[str]:
    """What the looks at a part say under a key: a text of the wheel end, a fact or a label of the vehicle."""
    words = set()
    for look in each.looks:
        vehicle = look.inspection.vehicle
        end = look.inspection.wheel_end(each.info.place)
        taken = "" if end is None else end.word(key)
        facts = {"duty": vehicle.duty, "kind": vehicle.kind, "built_on": vehicle.built_on}
        facts |= {"design": each.info.design.id, "retarder": vehicle.retarder}
        words.add((taken or facts.get(key, "") or vehicle.labels.get(key, "")).strip())
    return words - {""}


def _in_batch(each: PartLife, key: str, value: str) -> bool:
    if key == "built_on":
        return any(word.startswith(value) for word in _word(each, key))
    return value in _word(each, key)


def _batch(told: PartLives, request: LifeRequest, axis: Axis) -> BatchJson:
    assert request.batch is not None
    key, value = request.batch
    own = [each for each in told.lives if _in_batch(each, key, value)]
    others = [each for each in told.lives if not _in_batch(each, key, value)]
    if not own:
        said = sorted({word for each in told.lives for word in _word(each, key)})
        raise InputError(
            f"no {request.part} with {key} '{value}' was ever fitted",
            where="--batch",
            allowed=", ".join(said[:12]) or f"inspections that say {key}",
            cure="Check the mark" if said else f"Write {key} into the inspections",
        )
    ahead = request.before or _USUAL_AHEAD
    rest = _rest_fit(others, axis)
    rate = None if rest is None else _rate(own, rest, axis)
    return {
        "key": key,
        "value": value,
        "parts": len(own),
        "failed": sum(each.failed for each in own),
        "expected": None if rate is None else round(rate.expected, 3),
        "ratio": None if rate is None else round(rate.ratio, 3),
        "low": None if rate is None else round(rate.low, 3),
        "high": None if rate is None else round(rate.high, 3),
        "p_value": None if rate is None else round(rate.p_value, 6),
        "before": round(axis.amount(ahead), 1),
        "says": _batch_says(key, value, own, rate),
        "curve": _curve_json(widest_curve(as_lives(own, axis.amount, found=True))),
        "rest": _curve_json(widest_curve(as_lives(others, axis.amount, found=True))) if others else [],
        "oldest": round(max(axis.amount(each.age) for each in own), 1),
        "rest_oldest": round(max((axis.amount(each.age) for each in others), default=0.0), 1),
        "list": _batch_list(own, rest, rate, axis, ahead),
    }


def _rest_fit(others: list[PartLife], axis: Axis) -> LifeFit | None:
    if not others:
        return None
    fits, _ = _fits(as_lives(others, axis.amount))
    if fits:
        return fits[0]
    lives = as_lives(others, axis.amount)
    ended = int(np.isfinite(lives.high).sum())
    if not ended:
        return None
    # one end, or ends at one age: a constant rate is all that they tell
    run = float(
        (np.where(np.isfinite(lives.high), 0.5 * (lives.low + lives.high), lives.low) - lives.entry).sum()
    )
    return LifeFit("weibull", float(np.log(run / ended)), 1.0, np.zeros((2, 2)), float("nan"))


def _rate(own: list[PartLife], rest: LifeFit, axis: Axis) -> BatchRate | None:
    lives = as_lives(own, axis.amount)
    failed = np.isfinite(lives.high)
    # an end between two looks counts in the middle of them
    age = np.where(failed, 0.5 * (lives.low + np.where(failed, lives.high, 0.0)), lives.low)
    try:
        return batch_against_expectation(age, lives.entry, failed, rest)
    except DomainError:
        return None


def _batch_says(key: str, value: str, own: list[PartLife], rate: BatchRate | None) -> str:
    failed = sum(each.failed for each in own)
    head = f"{key} {value}: {failed} of {len(own)} failed"
    if rate is None:
        return f"{head}; the data cannot tell whether that is much, for no other part failed."
    head += f", {rate.expected:.1f} to be expected by all others"
    span = f"{rate.ratio:.1f} times as many, 95 % interval {rate.low:.1f} to {rate.high:.1f}"
    if rate.low > 1.0:
        return f"{head}: {span}. The batch fails more often."
    if rate.high < 1.0:
        return f"{head}: {span}. The batch fails less often."
    return f"{head}: {span}. The data cannot tell."


def _batch_list(
    own: list[PartLife], rest: LifeFit | None, rate: BatchRate | None, axis: Axis, ahead: float
) -> list[BatchPartJson]:
    """Parts of the batch: those found failed and still on, then the sound ones by their risk."""
    rows: list[BatchPartJson] = []
    # half a failure on both sides keeps a batch without one from being ranked as safe for ever
    ratio = None if rate is None else (rate.failed + 0.5) / (rate.expected + 0.5)
    for each in own:
        if not each.present:
            continue
        chance = None
        age = axis.amount(each.age)
        if not each.failed and rest is not None and ratio is not None:
            chance = float(chance_before(rest, np.array([age]), axis.amount(ahead), ratio)[0])
        rows.append(
            {
                "vehicle": each.vehicle,
                "at": each.at,
                "age": round(age, 1),
                "failed": each.failed,
                "p_fails_before": None if chance is None else round(chance, 4),
            }
        )
    return sorted(rows, key=lambda row: (not row["failed"], -(row["p_fails_before"] or 0.0), row["vehicle"]))


def _doubts(found: Outlook, told: PartLives, axis: Axis, failed: int, doubt: str) -> list[dict[str, str]]:
    rows: list[tuple[str, str, str]] = []
    late = sum(each.entry > 0.0 for each in told.lives)
    if late:
        text = f"{late} of {len(told.lives)} parts had run before their first look, and count from then on"
        rows.append(("late-entry", text, ""))
    if told.failed_at_first:
        text = f"{told.failed_at_first} parts had failed at their first look, nobody knows when: left out"
        rows.append(("failed-at-first", text, "Add earlier inspections"))
    if told.seen_once:
        text = f"{told.seen_once} parts were looked at once, or nobody knows when they were fitted"
        rows.append(("seen-once", text, "They come in with the next look"))
    if 0 < failed < _FEW_ENDS:
        text = f"only {failed} ended: the fitted curves are a guess"
        rows.append(("few-ends", text, "Wait, or pool with others"))
    if failed and doubt:
        rows.append(("no-fit", doubt, ""))
    others = sum(end.info.axis.unit != axis.unit for end in found.ends)
    if others:
        text = f"{others} wheel ends are not counted in {axis.unit} and take no part"
        rows.append(("other-axis", text, ""))
    return [{"code": code, "text": text, "where": "", "cure": cure} for code, text, cure in rows]
