"""Why it wore like that, the letter about it, and whether the job restored the brake."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from wearline.app.explaining import why_answer
from wearline.app.proving import Proven, proof_answer
from wearline.assessment.proof import prove
from wearline.planning.job import plan_job_from
from wearline.planning.open_gates import open_gates
from wearline.reports.case_letter import case_letter, render_case_letter_pdf
from wearline.storage.kept import KeptInspection
from wearline.web.asking import Ask, add_page, ask_of
from wearline.web.judging import Judged
from wearline.web.pages.inspection import InspectionHead, download, head_of, kept_of
from wearline.web.shop import safe_name
from wearline.web.stored_answers import stored_answer

__all__ = ["CausesPage", "ProofPage", "router"]

router = APIRouter()


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
class ProofPage:
    """Whether the vehicle as left is restored from the vehicle as found.

    Parameters
    ----------
    head : InspectionHead
        The inspection as left.
    before : str
        Id of the inspection as found; empty where there is none.
    choices : tuple of (str, str)
        Earlier inspections: id and day.
    answer : mapping or None
        As ``wearline proof --json`` gives it.
    """

    head: InspectionHead
    before: str
    choices: tuple[tuple[str, str], ...]
    answer: dict[str, Any] | None


def _causes(ask: Ask) -> CausesPage:
    kept, judged = kept_of(ask)
    answer = stored_answer(ask.shop, kept, "why", lambda: dict(why_answer(judged.explanation)))
    return CausesPage(head_of(ask, kept, judged, "causes"), dict(answer))


def _proof(ask: Ask) -> ProofPage:
    kept, judged = kept_of(ask)
    lines = ask.index.history(kept.vehicle_id, until=kept.taken_on)
    earlier = [line for line in lines if line.id != kept.id]
    wanted = ask.query.get("before", "")
    before = next((line.id for line in earlier if line.id == wanted), earlier[0].id if earlier else "")
    answer = None
    if before:
        answer = dict(_prove(ask, ask.shop.store.inspection(before), judged))
    choices = tuple((line.id, line.taken_on.isoformat()) for line in earlier[:50])
    return ProofPage(head_of(ask, kept, judged, "proof"), before, choices, answer)


def _prove(ask: Ask, before: KeptInspection, after: Judged) -> dict[str, Any]:
    found = ask.recent.judged(before)
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
    kept, judged = kept_of(ask)
    text = case_letter(judged.judgement, judged.road, judged.explanation, judged.catalogue)
    with tempfile.TemporaryDirectory(prefix="wearline-") as folder:
        path = Path(folder) / "letter.pdf"
        render_case_letter_pdf(text, judged.inspection, path, day=ask.shop.today)
        data = path.read_bytes()
    return download(data, "application/pdf", safe_name(f"letter {kept.vehicle_id} {kept.taken_on}", ".pdf"))
