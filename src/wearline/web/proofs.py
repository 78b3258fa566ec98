"""Which earlier inspection a later one can be held against, and the stored answer about the two together."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Protocol

from wearline.storage.kept import KeptInspection
from wearline.web.judging import Judged
from wearline.web.shop import Shop
from wearline.web.summaries import kind_of, stored

__all__ = ["PROOF", "Earlier", "Told", "earlier_of", "proof_of"]

PROOF = "proof"
"""Kind of the stored proof of two inspections."""


class Told(Protocol):
    """What a list tells of an inspection."""

    @property
    def id(self) -> str:
        """The inspection."""
        ...

    @property
    def taken_on(self) -> date:
        """Its day."""
        ...


@dataclass(frozen=True, slots=True)
class Earlier:
    """An earlier inspection of the same vehicle.

    Parameters
    ----------
    id : str
        The inspection.
    taken_on : date
        Its day.
    axles : str
        Ids of the axles that it describes, as ``"1, 2"``.
    misfit : str
        Why the later inspection cannot be held against it; empty where it can.
    """

    id: str
    taken_on: date
    axles: str
    misfit: str


def earlier_of(shop: Shop, kept: KeptInspection, lines: Iterable[Told]) -> tuple[Earlier, ...]:
    """Return the inspections that one may be held against, those that fit first.

    Parameters
    ----------
    shop : Shop
        The database.
    kept : KeptInspection
        The inspection as left.
    lines : iterable
        Inspections of the same vehicle up to its day, the latest first; it may be among them.

    Returns
    -------
    tuple of Earlier
        Each with the reason where it does not fit.
    """
    others = [line for line in lines if line.id != kept.id]
    if not others:
        return ()
    told = shop.overview.layouts(kept.vehicle_id)
    found = [_held_against(line, told[line.id], kept, told[kept.id][0]) for line in others]
    return tuple(sorted(found, key=lambda each: bool(each.misfit)))


def _held_against(
    line: Told, then: tuple[str, float | None], kept: KeptInspection, layout_now: str
) -> Earlier:
    before, now = _axle_ids(then[0]), _axle_ids(layout_now)
    misfit = ""
    if before != now:
        misfit = (
            f"The two inspections do not describe the same axles: the one of {line.taken_on} has "
            f"{_axle_words(before)}, the one of {kept.taken_on} has {_axle_words(now)}."
        )
    elif then[1] is not None and kept.odometer is not None and then[1] > kept.odometer:
        misfit = (
            f"The odometer runs back: {then[1] / 1e3:.0f} km on {line.taken_on}, "
            f"{kept.odometer / 1e3:.0f} km on {kept.taken_on}."
        )
    return Earlier(line.id, line.taken_on, before, misfit)


def _axle_ids(layout: str) -> str:
    return ", ".join(part.split(" ", 1)[0] for part in layout.split(", "))


def _axle_words(ids: str) -> str:
    return f"axles {ids}" if "," in ids else f"axle {ids} only"


def proof_of(
    shop: Shop, before: KeptInspection, left: KeptInspection, judged: Callable[[KeptInspection], Judged]
) -> dict[str, Any]:
    """Return whether the vehicle as left is restored from the vehicle as found.

    Parameters
    ----------
    shop : Shop
        Where answers are stored.
    before, left : KeptInspection
        As found and as left; they fit together.
    judged : callable
        Judges an inspection, where the answer is not stored yet.

    Returns
    -------
    dict
        As ``wearline proof --json`` gives it.
    """
    digest = hashlib.sha256(f"{before.digest} {left.digest}".encode()).hexdigest()
    return stored(
        shop, digest, kind_of(PROOF, shop.settings()), lambda: _prove(shop, judged(before), judged(left))
    )


def _prove(shop: Shop, found: Judged, after: Judged) -> dict[str, Any]:
    from wearline.app.proving import Proven, proof_answer
    from wearline.assessment.proof import prove
    from wearline.planning.job import plan_job_from
    from wearline.planning.open_gates import open_gates

    decision = shop.settings().decision_settings
    proof = prove(
        (found.inspection, found.judgement), (after.inspection, after.judgement), after.catalogue, decision
    )
    # doubts about the readings as found ask for other readings; they are no gates of the repair
    plan = plan_job_from(found.inspection, replace(found.judgement, warnings=()), found.catalogue)
    gates = open_gates(plan, after.judgement, proof)
    return dict(proof_answer(Proven(proof, gates, after.catalogue)))
