"""The vehicles of the drills: drawn once, named by a digest, opened as an inspection."""

from __future__ import annotations

import hashlib
import json
from functools import lru_cache

from wearline.catalogue.loading import load_catalogue
from wearline.ingest.document import inspection_from_document
from wearline.practice.documents import Document
from wearline.practice.drill_cases import DrillCase, draw_case, levels
from wearline.records.inspection import Inspection

__all__ = ["case_digest", "case_of", "opened_document"]

_REMEMBERED = 128


@lru_cache(maxsize=_REMEMBERED)
def case_of(level: int, seed: int) -> DrillCase:
    """Return the case of a level and a seed; those asked for lately are remembered.

    Parameters
    ----------
    level : int
        Number of a level that exists.
    seed : int, 0 or more
        The seed.

    Returns
    -------
    DrillCase
        The same for the same level and seed.

    Raises
    ------
    InputError
        If the seed is negative.
    ProgramFault
        If no fair case comes up.
    """
    return draw_case(next(each for each in levels() if each.number == level), seed)


def case_digest(case: DrillCase) -> str:
    """Return what tells a case from one that another version of the program draws from the same seed.

    Parameters
    ----------
    case : DrillCase
        The case.

    Returns
    -------
    str
        16 hexadecimal digits.
    """
    documents = [look.document for look in case.looks]
    return hashlib.sha256(json.dumps(documents, default=str, sort_keys=True).encode()).hexdigest()[:16]


def opened_document(document: Document) -> Inspection:
    """Return the facts of a simulated inspection.

    Parameters
    ----------
    document : dict
        Its tables.

    Returns
    -------
    Inspection
        The facts.
    """
    day = document["inspection"]["taken_on"]
    return inspection_from_document(document, where="drill", today=day, catalogue=load_catalogue())
