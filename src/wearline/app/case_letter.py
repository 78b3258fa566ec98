"""The letter that a specialist sends back to a workshop far away."""

from __future__ import annotations

from pathlib import Path

from wearline.app.judging import Opened, Request, open_inspection
from wearline.assessment.assemble import judge
from wearline.assessment.road import decide_road
from wearline.diagnosis.explain import explain
from wearline.diagnosis.results import Explanation
from wearline.errors import InputError
from wearline.reports.case_letter import case_letter, render_case_letter_pdf

__all__ = ["write_case_letter"]


def write_case_letter(
    request: Request, out: str | Path, *, explained: tuple[Opened, Explanation] | None = None
) -> str:
    """Write the letter on an inspection as a PDF of one page.

    Parameters
    ----------
    request : Request
        The inspection.
    out : str or Path
        The file, ending in ``.pdf``.
    explained : (Opened, Explanation), optional
        The inspection and its explanation, where they are there already.

    Returns
    -------
    str
        The file.

    Raises
    ------
    InputError
        If the inspection is wrong, or the file has another ending or cannot be written.
    """
    path = Path(out)
    if path.suffix.lower() != ".pdf":
        raise InputError(
            f"a letter cannot be written as '{path.suffix or path.name}'",
            where=str(path),
            allowed="a file ending in .pdf",
            cure="Choose such a name",
        )
    if explained is None:
        opened = open_inspection(request)
        explained = opened, explain(opened.inspection, opened.catalogue)
    opened, explanation = explained
    judgement = judge(opened.inspection, opened.catalogue, request.decision)
    road = decide_road(opened.inspection, judgement, opened.catalogue, request.decision)
    letter = case_letter(judgement, road, explanation, opened.catalogue)
    return str(render_case_letter_pdf(letter, opened.inspection, path, day=request.today))
