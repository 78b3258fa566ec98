"""What the catalogue says of checks: states, measures, findings and their consequences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wearline.catalogue.model import Limit, Number
from wearline.uncertainty.rules import Sense
from wearline.units import Kind

__all__ = ["Check", "Condition", "Consequence", "Measure", "Part", "State"]


@dataclass(frozen=True, slots=True)
class Condition:
    """One finding that a consequence, a rule or a choice of work depends on.

    Parameters
    ----------
    field : str
        Field of a wheel end or the vehicle; empty where a limit or measure is named.
    words : tuple of str
        Words of the field, any of them.
    measure : str
        Measure; empty where a field or limit is named.
    limit : str
        Limit id; empty where a field or measure is named.
    verdict : str
        ``"within"``, ``"beyond"`` or ``"undecided"`` against the limit or the field's service limit.
    sense : Sense or None
        Side on which the condition is true, for a threshold.
    threshold : Number or None
        The threshold.
    inclusive : bool
        Whether the condition is true at the threshold itself.
    repeatable : bool or None
        False: the condition is true when repeated readings do not agree.
    is_true : bool or None
        For a yes-or-no measure: the answer that makes the condition true.
    scope : str
        ``"here"``, ``"mate"``, ``"all ends"`` or ``"any end"``.
    """

    field: str = ""
    words: tuple[str, ...] = ()
    measure: str = ""
    limit: str = ""
    verdict: str = ""
    sense: Sense | None = None
    threshold: Number | None = None
    inclusive: bool = True
    repeatable: bool | None = None
    is_true: bool | None = None
    scope: str = "here"


@dataclass(frozen=True, slots=True)
class Measure:
    """Something computed from the fields, for a limit or a rule.

    Parameters
    ----------
    id, title : str
        Name and words.
    kind : Kind or None
        Kind of quantity; None for yes or no.
    unit : str
        Unit in which it is shown; empty for yes or no.
    scope : str
        ``"pad"``, ``"wheel end"``, ``"axle"`` or ``"vehicle"``.
    fields : tuple of str
        Fields it is computed from.
    true_when : tuple of Condition
        Findings that make a yes-or-no measure true, any of them.
    """

    id: str
    title: str
    kind: Kind | None
    unit: str
    scope: str
    fields: tuple[str, ...]
    true_when: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class State:
    """State in which a check is done, and the time to reach it.

    Parameters
    ----------
    code, title : str
        Letter and words.
    minutes : (float, float)
        Time to reach it, least and most [min].
    per : str
        ``"vehicle"``, ``"axle"`` or ``"wheel end"``.
    """

    code: str
    title: str
    minutes: tuple[float, float]
    per: str


@dataclass(frozen=True, slots=True)
class Check:
    """One check of a complete inspection.

    Parameters
    ----------
    id, title, how : str
        What to do.
    gauge, unit, resolution, uncertainty : str
        Instrument, unit, its step, and the expanded uncertainty in words; empty for a look.
    where : str
        Place at the brake.
    limit : str
        Typical limit in words; ``{cl_max}`` stands for the published text of that limit.
    beyond : str
        What beyond means.
    mistakes : tuple of str
        Common mistakes.
    minutes, minutes_per_end : float
        Time once, and for each wheel end [min].
    per : str
        What ``minutes`` are spent on: ``"vehicle"``, ``"axle"`` or ``"wheel end"``.
    states : tuple of str
        States needed, all of them.
    fields : tuple of str
        Fields it fills.
    """

    id: str
    title: str
    how: str
    gauge: str
    unit: str
    resolution: str
    uncertainty: str
    where: str
    limit: str
    beyond: str
    mistakes: tuple[str, ...]
    minutes: float
    minutes_per_end: float
    per: str
    states: tuple[str, ...]
    fields: tuple[str, ...]

    def limit_words(self, limits: Mapping[str, Limit]) -> str:
        """Return the limit in words, with the limits in force.

        Parameters
        ----------
        limits : mapping of str to Limit
            As from ``Catalogue.limits_for``.

        Returns
        -------
        str
            The words with every limit in both its printed forms.
        """
        return self.limit.format_map({key: _both_forms(limit) for key, limit in limits.items()})


def _both_forms(limit: Limit) -> str:
    return f"{limit.published} ({limit.also})" if limit.also else limit.published


@dataclass(frozen=True, slots=True)
class Consequence:
    """Which check makes which other necessary, needless or void.

    Parameters
    ----------
    id : str
        Key.
    scope : str
        Whose readings the row looks at: ``"wheel end"``, ``"axle"`` or ``"vehicle"``.
    conditions : tuple of Condition
        What must be found.
    every : bool
        True when all conditions are needed, False when one is enough.
    necessary, needless : tuple of str
        Check ids.
    necessary_work, needless_work : tuple of str
        Work that follows, or must not be done on this evidence: a situation code or a sentence.
    void : tuple of str
        Fields and measures whose readings mean nothing.
    because : str
        One sentence.
    """

    id: str
    scope: str
    conditions: tuple[Condition, ...]
    every: bool
    necessary: tuple[str, ...]
    needless: tuple[str, ...]
    necessary_work: tuple[str, ...]
    needless_work: tuple[str, ...]
    void: tuple[str, ...]
    because: str


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the brake.

    Parameters
    ----------
    id, title : str
        Key and name.
    job : str
        What it is for.
    failures : tuple of str
        What can go wrong.
    checks : tuple of str
        Checks that show it.
    """

    id: str
    title: str
    job: str
    failures: tuple[str, ...]
    checks: tuple[str, ...]
