"""A column of readings held against a limit: probability, margin and verdict."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.assessment.columns import Numbers
from wearline.assessment.results import Verdict
from wearline.catalogue.model import Limit
from wearline.uncertainty.conformity import (
    DecisionRule,
    Sense,
    compare_directly,
    decide,
    probability_within,
)

__all__ = [
    "BEYOND",
    "DECISIONS",
    "NOT_TAKEN",
    "UNDECIDED",
    "VOID",
    "WITHIN",
    "ColumnVerdict",
    "DecisionSettings",
    "governing",
    "hold_against",
    "margin_from_limit",
    "rule_for",
]

WITHIN, BEYOND, UNDECIDED, VOID, NOT_TAKEN = 1, -1, 0, 2, 3
DECISIONS = {
    WITHIN: Verdict.WITHIN,
    BEYOND: Verdict.BEYOND,
    UNDECIDED: Verdict.UNDECIDED,
    VOID: Verdict.VOID,
    NOT_TAKEN: Verdict.NOT_TAKEN,
}

_LEGAL = ("law", "roadside")


@dataclass(frozen=True, slots=True)
class DecisionSettings:
    """How a reading near a limit is decided.

    Parameters
    ----------
    service : DecisionRule
        Rule for service limits: guarded by default, so that doubt is said aloud.
    legal : DecisionRule
        Rule for limits of law and roadside: compared directly, as an officer would.
    confidence : float
        Probability asked of a guarded verdict, between 0.5 and 1 (ISO 14253-1: 0.95).
    """

    service: DecisionRule = DecisionRule.GUARDED
    legal: DecisionRule = DecisionRule.SIMPLE
    confidence: float = 0.95


@dataclass(frozen=True, slots=True)
class ColumnVerdict:
    """A column of readings held against one limit.

    Parameters
    ----------
    limit : Limit
        The limit.
    codes : array of int, shape (n,)
        Keys of ``DECISIONS``.
    p_within, margin : array of float, shape (n,)
        Probability within, and distance from the limit, positive on the good side [1, SI].
    """

    limit: Limit
    codes: NDArray[np.int8]
    p_within: Numbers
    margin: Numbers


def rule_for(limit: Limit, settings: DecisionSettings) -> DecisionRule:
    """Return the decision rule that a limit is judged by.

    Parameters
    ----------
    limit : Limit
        The limit.
    settings : DecisionSettings
        The rules in force.

    Returns
    -------
    DecisionRule
        The legal rule for limits of law and roadside, else the service rule.
    """
    return settings.legal if limit.authority in _LEGAL else settings.service


def margin_from_limit(value: Numbers, limit: Limit) -> Numbers:
    """Return the distance of readings from a limit, positive on the good side.

    Parameters
    ----------
    value : array of float, shape (n,), [SI]
        Readings.
    limit : Limit
        The limit.

    Returns
    -------
    array of float, shape (n,), [SI]
        The margin.
    """
    return value - limit.value if limit.sense is Sense.AT_LEAST else limit.value - value


def hold_against(value: Numbers, u: Numbers, limit: Limit, settings: DecisionSettings) -> ColumnVerdict:
    """Hold a column of readings against a limit.

    Parameters
    ----------
    value : array of float, shape (n,), [SI]
        Readings; NaN where not taken.
    u : array of float, shape (n,), [SI]
        Standard uncertainties.
    limit : Limit
        The limit, in its master unit.
    settings : DecisionSettings
        Decision rules and confidence.

    Returns
    -------
    ColumnVerdict
        ``NOT_TAKEN`` where the reading is NaN.

    Notes
    -----
    Probability by JCGM 106:2012, 7.3 (normal, one-sided); guarded decision by its 8.3 with the
    confidence as the asked probability, simple decision by its 8.2.
    """
    p_within = probability_within(value, u, limit.value, limit.sense)
    directly = compare_directly(value, limit.value, limit.sense, limit.passes_at_limit)
    codes = decide(p_within, directly, rule_for(limit, settings), settings.confidence)
    codes = np.where(np.isnan(value), np.int8(NOT_TAKEN), codes).astype(np.int8)
    return ColumnVerdict(limit, codes, p_within, margin_from_limit(value, limit))


_SEVERITY = {NOT_TAKEN: -2, WITHIN: 0, UNDECIDED: 1, BEYOND: 2, VOID: 3}


def governing(verdicts: list[ColumnVerdict], row: int) -> int:
    """Return which of several limits of one quantity governs at a row.

    Parameters
    ----------
    verdicts : list of ColumnVerdict
        The same column against several limits, at least one.
    row : int
        The row.

    Returns
    -------
    int
        Index of the worst verdict, the smaller probability of being within among equals. A limit that
        only asks for a note never governs beside one that asks for work.
    """

    def rank(index: int) -> tuple[bool, int, float]:
        verdict = verdicts[index]
        code = int(verdict.codes[row])
        asks_for_work = verdict.limit.consequence != "note"
        return asks_for_work, _SEVERITY[code], -float(np.nan_to_num(verdict.p_within[row], nan=1.0))

    return max(range(len(verdicts)), key=rank)
