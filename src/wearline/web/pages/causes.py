"""Why it wore like that, the letter about it, and whether the job restored the brake."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from wearline.app.proving import Proven, proof_answer
from wearline.assessment.proof import prove
from wearline.planning.job import plan_job_from
from wearline.planning.open_gates import open_gates
from wearline.reports.case_letter import case_letter, render_case_letter_pdf
from wearline.storage.kept import KeptInspection
from wearline.web.asking import Ask, add_page, ask_of
from wearline.web.fleet_index import Line
from wearline.web.pages.inspection import InspectionHead, download, head_of, kept_of
from wearline.web.shop import safe_name
from wearline.web.summaries import kind_of, pair_digest, stored, why_of

__all__ = ["CausesPage", "Earlier", "ProofPage", "router"]

router = APIRouter()

MOST_CHOICES = 50

PROOF = "proof"
"""Kind of the stored proof of two inspections."""


@dataclass(frozen=True, slots=True)
class CausesPage:
    """Why the brakes of one inspection wore as they did.

    Parameters
    ----------
    head : InspectionHead
        Which inspection.
    answer : mapping
        As ``wearline why --json`` gives it.
    """

    head: InspectionHead
    answer: dict[str, Any]


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


@dataclass(frozen=True, slots=True)
class ProofPage:
    """Whether the vehicle as left is restored from the vehicle as found.

    Parameters
    ----------
    head : InspectionHead
        The inspection as left.
    before : Earlier or None
        The inspection as found; None where there is none.
    choices : tuple of Earlier
        Earlier inspections, those that fit first, the latest of each first.
    answer : mapping or None
        As ``wearline proof --json`` gives it; None where the two do not fit together.
    """

    head: InspectionHead
    before: Earlier | None
    choices: tuple[Earlier, ...]
    answer: dict[str, Any] | None


def _causes(ask: Ask) -> CausesPage:
    kept = kept_of(ask)
    answer = why_of(ask.shop, kept, lambda: ask.recent.judged(kept))
    return CausesPage(head_of(ask, kept, "causes"), answer)


def _proof(ask: Ask) -> ProofPage:
    kept = kept_of(ask)
    choices = _earlier(ask, kept)
    wanted = ask.query.get("before", "")
    before = next((each for each in choices if each.id == wanted), choices[0] if choices else None)
    answer = None
    if before is not None and not before.misfit:
        found = ask.shop.store.inspection(before.id)
        kind = kind_of(PROOF, ask.shop.settings())
        answer = stored(ask.shop, pair_digest(found, kept), kind, lambda: _prove(ask, found, kept))
    return ProofPage(head_of(ask, kept, "proof"), before, choices[:MOST_CHOICES], answer)


def _earlier(ask: Ask, kept: KeptInspection) -> tuple[Earlier, ...]:
    lines = [line for line in ask.index.history(kept.vehicle_id, until=kept.taken_on) if line.id != kept.id]
    if not lines:
        return ()
    told = ask.shop.overview.layouts(kept.vehicle_id)
    found = [_held_against(line, told[line.id], kept, told[kept.id][0]) for line in lines]
    return tuple(sorted(found, key=lambda each: bool(each.misfit)))


def _held_against(
    line: Line, then: tuple[str, float | None], kept: KeptInspection, layout_now: str
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


def _prove(ask: Ask, before: KeptInspection, left: KeptInspection) -> dict[str, Any]:
    found, after = ask.recent.judged(before), ask.recent.judged(left)
    decision = ask.shop.settings().decision_settings
    proof = prove(
        (found.inspection, found.judgement), (after.inspection, after.judgement), after.catalogue, decision
    )
    # doubts about the readings as found ask for other readings; they are no gates of the repair
    plan = plan_job_from(found.inspection, replace(found.judgement, warnings=()), found.catalogue)
    gates = open_gates(plan, after.judgement, proof)
    return dict(proof_answer(Proven(proof, gates, after.catalogue)))


add_page(router, "/inspections/{inspection}/causes", "inspection_causes.html", _causes)
add_page(router, "/inspections/{inspection}/proof", "inspection_proof.html", _proof)


@router.get("/inspections/{inspection}/letter.pdf", include_in_schema=False)
def letter(request: Request, inspection: str) -> Response:
    """Give the letter on an inspection as a PDF of one page."""
    del inspection
    ask = ask_of(request, "reads")
    kept = kept_of(ask)
    judged = ask.recent.judged(kept)
    text = case_letter(judged.judgement, judged.road, judged.explanation, judged.catalogue)
    with tempfile.TemporaryDirectory(prefix="wearline-") as folder:
        path = Path(folder) / "letter.pdf"
        render_case_letter_pdf(text, judged.inspection, path, day=ask.shop.today)
        data = path.read_bytes()
    return download(data, "application/pdf", safe_name(f"letter {kept.vehicle_id} {kept.taken_on}", ".pdf"))
