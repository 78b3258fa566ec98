"""Why it wore like that, the letter about it, and whether the job restored the brake."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from wearline.reports.case_letter import case_letter, render_case_letter_pdf
from wearline.web.asking import Ask, add_page, ask_of
from wearline.web.pages.inspection import InspectionHead, download, head_of, kept_of
from wearline.web.proofs import Earlier, earlier_of, proof_of
from wearline.web.shop import safe_name
from wearline.web.summaries import why_of

__all__ = ["CausesPage", "ProofPage", "router"]

router = APIRouter()

MOST_CHOICES = 50


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
    lines = ask.index.history(kept.vehicle_id, until=kept.taken_on)
    choices = earlier_of(ask.shop, kept, lines)
    wanted = ask.query.get("before", "")
    before = next((each for each in choices if each.id == wanted), choices[0] if choices else None)
    answer = None
    if before is not None and not before.misfit:
        found = ask.shop.store.inspection(before.id)
        answer = proof_of(ask.shop, found, kept, ask.recent.judged)
    return ProofPage(head_of(ask, kept, "proof"), before, choices[:MOST_CHOICES], answer)


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
