"""What follows from one kept inspection and is stored beside it, so that a page only reads it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from wearline import __version__
from wearline.assessment.results import Verdict
from wearline.errors import WearlineError
from wearline.storage.kept import KeptInspection, Snapshot
from wearline.web.judging import Judged, judge_all
from wearline.web.shop import Shop

if TYPE_CHECKING:
    from wearline.web.shop import ShopSettings

__all__ = [
    "CARD",
    "JOB",
    "WHY",
    "card_of",
    "job_of",
    "judged_of",
    "kind_of",
    "make_card",
    "stored",
    "why_of",
]

CARD, WHY, JOB = "card", "why", "job"
"""Kinds of stored answers about one inspection; the decision rule stands behind a colon where it matters."""


def kind_of(kind: str, settings: ShopSettings) -> str:
    """Return a kind of answer with the decision rule it depends on.

    Parameters
    ----------
    kind : str
        Which answer.
    settings : ShopSettings
        The rule in force.

    Returns
    -------
    str
        As ``"card:guarded"``.
    """
    return f"{kind}:{settings.decision}"


def card_of(judged: Judged) -> dict[str, Any]:
    """Return the summary of a judged inspection, for lists.

    Parameters
    ----------
    judged : Judged
        The inspection with everything that follows.

    Returns
    -------
    dict
        JSON values.
    """
    judgement, road = judged.judgement, judged.road
    readings = [reading for end in judgement.wheel_ends for reading in end.readings]
    readings += judgement.vehicle_readings
    thinnest = [
        (end.derived.thinnest, end.place) for end in judgement.wheel_ends if end.derived.thinnest is not None
    ]
    left = [
        (end.derived.distance_to_service, end.place)
        for end in judgement.wheel_ends
        if end.derived.distance_to_service is not None
    ]
    reason = road.reasons[0] if road.reasons else None
    undecided = sum(reading.verdict is Verdict.UNDECIDED for reading in readings)
    headline = "nothing beyond a limit" if not undecided else "undecided readings only"
    if reason is not None:
        headline = f"{reason.place}: {reason.text}" if reason.place else reason.text
    return {
        "level": road.level,
        "meaning": road.meaning,
        "headline": headline,
        "description": judged.inspection.vehicle.description,
        "kind": judged.inspection.vehicle.kind,
        "faults": sum(finding.weight == "fault" for finding in judgement.all_findings),
        "undecided": undecided,
        "wheels_off": [axle.axle for axle in judgement.axles if axle.take_off],
        "work": [
            f"{work.code} {work.at}"
            for axle in judged.bare_plan.axles
            for work in axle.work
            if work.standing == "needed"
        ],
        "hours": round(sum(axle.hours.high for axle in judged.bare_plan.axles), 1),
        "thinnest_mm": round(1e3 * min(thinnest)[0], 1) if thinnest else None,
        "thinnest_at": min(thinnest)[1] if thinnest else "",
        "km_left": round(min(left)[0] / 1e3, -2) if left else None,
        "km_left_at": min(left)[1] if left else "",
        "not_taken": sum(bool(end.not_taken) for end in judgement.wheel_ends),
    }


_NO_CARD: dict[str, Any] = {
    "level": None,
    "meaning": "cannot be judged",
    "headline": "",
    "description": "",
    "kind": "",
    "faults": 0,
    "undecided": 0,
    "wheels_off": [],
    "work": [],
    "hours": 0.0,
    "thinnest_mm": None,
    "thinnest_at": "",
    "km_left": None,
    "km_left_at": "",
    "not_taken": 0,
}


def make_card(shop: Shop, inspection_id: str) -> tuple[str, str, dict[str, Any]]:
    """Judge a kept inspection and store its summary.

    Parameters
    ----------
    shop : Shop
        Where it is kept, and the rules in force.
    inspection_id : str
        The inspection.

    Returns
    -------
    str, str, dict
        Kind and version of the catalogue of the summary, and the summary; one that says why where the
        inspection cannot be judged, and that is not stored.
    """
    kind, version = kind_of(CARD, shop.settings()), shop.catalogue().version
    try:
        kept = shop.store.inspection(inspection_id)
        card = card_of(judged_of(shop, kept))
    except WearlineError as error:
        return kind, version, _NO_CARD | {"headline": error.what}
    shop.store.save_snapshot(Snapshot(kind, kept.digest, __version__, version, shop.now, card))
    return kind, version, card


def judged_of(shop: Shop, kept: KeptInspection) -> Judged:
    """Judge a kept inspection by the rules in force.

    Parameters
    ----------
    shop : Shop
        The rules.
    kept : KeptInspection
        The inspection.

    Returns
    -------
    Judged
        Everything that follows.
    """
    return judge_all(kept.inspection, shop.catalogue(), shop.settings().decision_settings)


def why_of(shop: Shop, kept: KeptInspection, judged: Callable[[], Judged]) -> dict[str, Any]:
    """Return why the brakes of an inspection wore as they did.

    Parameters
    ----------
    shop : Shop
        Where answers are stored.
    kept : KeptInspection
        The inspection.
    judged : callable
        Gives it judged, where the answer is not stored yet.

    Returns
    -------
    dict
        As ``wearline why --json`` gives it.
    """
    from wearline.app.explaining import why_answer

    return stored(shop, kept.digest, WHY, lambda: dict(why_answer(judged().explanation)))


def job_of(shop: Shop, kept: KeptInspection, judged: Callable[[], Judged]) -> dict[str, Any]:
    """Return the job that an inspection asks for.

    Parameters
    ----------
    shop : Shop
        Where answers are stored.
    kept : KeptInspection
        The inspection.
    judged : callable
        Gives it judged, where the answer is not stored yet.

    Returns
    -------
    dict
        As ``wearline job --json`` gives it.
    """
    from wearline.app.answers import job_answer

    kind = kind_of(JOB, shop.settings())
    return stored(shop, kept.digest, kind, lambda: dict(job_answer(judged().plan)))


def stored(shop: Shop, digest: str, kind: str, make: Callable[[], Mapping[str, Any]]) -> dict[str, Any]:
    """Return an answer about what is kept, worked out once for these versions.

    Parameters
    ----------
    shop : Shop
        Where answers are stored.
    digest : str
        Fingerprint of what it is about.
    kind : str
        Which answer.
    make : callable
        Works it out.

    Returns
    -------
    dict
        JSON values.
    """
    version = shop.catalogue().version
    found = shop.overview.results(kind, [digest], __version__, version).get(digest)
    if found is not None:
        assert isinstance(found, dict)
        return found
    made = dict(make())
    shop.store.save_snapshot(Snapshot(kind, digest, __version__, version, shop.now, made))
    return made
