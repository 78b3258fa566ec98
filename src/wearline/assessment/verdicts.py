"""A column of readings held against a limit: probability, margin and verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.assessment.columns import Numbers
from wearline.assessment.results import Verdict
from wearline.catalogue.model import Limit
from wearline.uncertainty.conformity import (
    DecisionRule,
    Sense,
    decide_by_margin,
    probability_from_margin,
)
from wearline.uncertainty.intervals import EQUALITY
from wearline.uncertainty.normal import normal_at

__all__ = [
    "BEYOND",
    "DECISIONS",
    "NOT_TAKEN",
    "UNDECIDED",
    "VOID",
    "WITHIN",
    "ColumnVerdict",
    "DecisionSettings",
    "LimitSet",
    "governing",
    "hold_against",
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
class LimitSet:
    """Limits in force for the designs that occur on a vehicle or in a file.

    Parameters
    ----------
    by_design : tuple of mapping of str to Limit
        Limits by id, one mapping per design.
    which : array of int, shape (n,)
        Index into ``by_design`` of each row.
    """

    by_design: tuple[Mapping[str, Limit], ...]
    which: NDArray[np.int64]

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of all limits; every design has the same."""
        return tuple(self.by_design[0])

    def any(self, id: str) -> Limit:
        """Return a limit as the first design has it.

        Parameters
        ----------
        id : str
            Limit id.

        Returns
        -------
        Limit
            The limit.
        """
        return self.by_design[0][id]

    def values(self, id: str) -> Numbers:
        """Return the value of a limit at every row.

        Parameters
        ----------
        id : str
            Limit id.

        Returns
        -------
        array of float, shape (n,), [SI]
            Values.
        """
        values = [limits[id].value for limits in self.by_design]
        if len(set(values)) == 1:
            return np.broadcast_to(np.float64(values[0]), self.which.shape)
        return np.array(values)[self.which]


@dataclass(frozen=True, slots=True)
class ColumnVerdict:
    """A column of readings held against one limit.

    Parameters
    ----------
    limits : tuple of Limit
        The limit as each design has it.
    which : array of int, shape (n,)
        Index into ``limits`` of each row.
    codes : array of int, shape (n,)
        Keys of ``DECISIONS``.
    margin, u : array of float, shape (n,)
        Distance from the limit, positive on the good side, and standard uncertainty [SI].
    directly : array of bool, shape (n,)
        True where the reading as it stands, without its uncertainty, is beyond.
    """

    limits: tuple[Limit, ...]
    which: NDArray[np.int64]
    codes: NDArray[np.int8]
    margin: Numbers
    u: Numbers
    directly: NDArray[np.bool_]

    @property
    def limit(self) -> Limit:
        """The limit as the first design has it: id, consequence and authority are the same for all."""
        return self.limits[0]

    @property
    def p_within(self) -> Numbers:
        """Probability of being within at every row, computed when asked for [1]."""
        return np.asarray(probability_from_margin(self.margin, self.u, self.directly))

    def p_at(self, row: int) -> float:
        """Return the probability of being within at one row.

        Parameters
        ----------
        row : int
            The row.

        Returns
        -------
        float
            Probability; NaN where nothing was taken.
        """
        margin, u = float(self.margin[row]), float(self.u[row])
        if u > 0.0:
            return normal_at(margin / u)
        return float(probability_from_margin(margin, u, self.directly[row]))

    def limit_at(self, row: int) -> Limit:
        """Return the limit that applies at a row.

        Parameters
        ----------
        row : int
            The row.

        Returns
        -------
        Limit
            The limit.
        """
        return self.limits[int(self.which[row])]


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


def hold_against(
    value: Numbers, u: Numbers, limits: LimitSet, id: str, settings: DecisionSettings
) -> ColumnVerdict:
    """Hold a column of readings against a limit.

    Parameters
    ----------
    value : array of float, shape (n,), [SI]
        Readings; NaN where not taken.
    u : array of float, shape (n,), [SI]
        Standard uncertainties.
    limits : LimitSet
        Limits in force.
    id : str
        Which limit.
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
    each = tuple(mapping[id] for mapping in limits.by_design)
    # Where nothing was taken the uncertainty is NaN too; any number serves, the probability stays NaN.
    known = np.nan_to_num(u, nan=1.0) if np.isnan(u.sum()) else u
    if len(set(each)) == 1:
        codes, margin, beyond = _against_one(value, known, each[0], settings)
        spread = np.broadcast_to(known, value.shape)
        verdict = ColumnVerdict(each, limits.which, codes, margin, spread, beyond)
    else:
        verdict = _against_each(value, known, each, limits.which, settings)
    missing = np.isnan(value)
    if missing.any():
        verdict.codes[missing] = NOT_TAKEN
    return verdict


_Against = tuple[NDArray[np.int8], Numbers, NDArray[np.bool_]]


def _against_one(value: Numbers, u: Numbers, limit: Limit, settings: DecisionSettings) -> _Against:
    """Codes, margin and 'beyond as it stands' against one limit."""
    margin = value - limit.value if limit.sense is Sense.AT_LEAST else limit.value - value
    # Equal means closer than 1e-9 of the limit, as in compare_directly; NaN is on neither side.
    slack = EQUALITY * abs(limit.value)
    beyond = margin < -slack if limit.passes_at_limit else margin <= slack
    codes = decide_by_margin(margin, u, beyond, rule_for(limit, settings), settings.confidence)
    return codes, margin, beyond


def _against_each(
    value: Numbers,
    u: Numbers,
    each: tuple[Limit, ...],
    which: NDArray[np.int64],
    settings: DecisionSettings,
) -> ColumnVerdict:
    u = np.broadcast_to(u, value.shape)
    codes, beyond = np.zeros(value.shape, dtype=np.int8), np.zeros(value.shape, dtype=bool)
    margin = np.full(value.shape, np.nan)
    for index, limit in enumerate(each):
        rows = which == index
        if rows.any():
            codes[rows], margin[rows], beyond[rows] = _against_one(value[rows], u[rows], limit, settings)
    return ColumnVerdict(each, which, codes, margin, u, beyond)


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
        return asks_for_work, _SEVERITY[code], -float(np.nan_to_num(verdict.p_at(row), nan=1.0))

    return max(range(len(verdicts)), key=rank) if len(verdicts) > 1 else 0
