"""What the catalogue says of work: cautions, steps with gates, situations, proof, records and hours."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from wearline.catalogue.model import Limit, Status

__all__ = [
    "Caution",
    "Deduction",
    "HourRange",
    "LabourHours",
    "PairRule",
    "PartCount",
    "Proof",
    "RecordItem",
    "Situation",
    "Statement",
    "Step",
    "Tag",
    "Work",
    "with_limits",
]

Tag = str | int | bool
"""Value of a trait that a step depends on."""


def with_limits(text: str, limits: Mapping[str, Limit]) -> str:
    """Put the limits in force into a text that names them in braces.

    Parameters
    ----------
    text : str
        The text, as ``"within {cl_max}"``.
    limits : mapping of str to Limit
        As from ``Catalogue.limits_for``.

    Returns
    -------
    str
        The text with every limit as published.
    """
    return text.format_map({key: limit.published for key, limit in limits.items()})


@dataclass(frozen=True, slots=True)
class Caution:
    """One hazard and its rule.

    Parameters
    ----------
    id, hazard, rule : str
        Key, what can happen, what to do.
    source : str
        Source key.
    status : Status
        What it rests on.
    """

    id: str
    hazard: str
    rule: str
    source: str
    status: Status


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the job.

    Parameters
    ----------
    id : str
        Key.
    spine : int
        Number on the common spine, 1 to 18; 0 for a step of a situation.
    per : str
        Where it is done: ``"end"``, ``"axle"`` or ``"vehicle"``.
    text, gate : str
        What to do, and the sentence that must be true before the next step; a limit may stand in braces. An
        empty gate means that the gate of the number is at a later step.
    cautions, records : tuple of str
        Ids of cautions and of what is written down.
    when : mapping of str to str, int or bool
        Traits that the step needs; empty for every brake.
    source : str
        Source key.
    status : Status
        What it rests on.
    """

    id: str
    spine: int
    per: str
    text: str
    gate: str
    cautions: tuple[str, ...]
    records: tuple[str, ...]
    when: Mapping[str, Tag]
    source: str
    status: Status

    def applies(self, tags: Mapping[str, Tag]) -> bool:
        """Say whether the step belongs to a brake.

        Parameters
        ----------
        tags : mapping of str to str, int or bool
            Traits of the design and of the axle; a trait that is not given fits no step that needs it.

        Returns
        -------
        bool
            True if every trait fits.
        """
        return all(name in tags and tags[name] == value for name, value in self.when.items())


@dataclass(frozen=True, slots=True)
class PartCount:
    """One part that a situation needs.

    Parameters
    ----------
    part : str
        What it is, generic.
    count : int
        How many.
    per : str
        For each ``"axle"``, ``"end"`` or ``"tappet"``.
    if_needed : bool
        True when it is taken along and used only where needed.
    """

    part: str
    count: int
    per: str
    if_needed: bool


@dataclass(frozen=True, slots=True)
class Situation:
    """One of the six situations of work.

    Parameters
    ----------
    code, title : str
        ``"S1"`` to ``"S6"`` and words.
    chosen_when : str
        When it is the right one.
    per : str
        ``"axle"`` when it is always done at both ends, else ``"end"``.
    steps : tuple of Step
        Own steps with own gates.
    parts : tuple of PartCount
        Parts and consumables.
    extra_caution : str
        One sentence.
    """

    code: str
    title: str
    chosen_when: str
    per: str
    steps: tuple[Step, ...]
    parts: tuple[PartCount, ...]
    extra_caution: str


@dataclass(frozen=True, slots=True)
class PairRule:
    """What the two ends of an axle have to share.

    Parameters
    ----------
    id, item, rule : str
        Key, thing, rule; a limit may stand in braces.
    source : str
        Source key.
    status : Status
        What it rests on.
    """

    id: str
    item: str
    rule: str
    source: str
    status: Status


@dataclass(frozen=True, slots=True)
class Statement:
    """One sentence with what it rests on.

    Parameters
    ----------
    text : str
        The sentence.
    source : str
        Source key.
    status : Status
        What it rests on.
    """

    text: str
    source: str
    status: Status


@dataclass(frozen=True, slots=True)
class Proof:
    """One proof that braking is restored.

    Parameters
    ----------
    id, title, passes_when : str
        Key, words, and when it passes; limits stand in braces.
    limits, checks : tuple of str
        Limits and checks that it uses.
    source : str
        Source key.
    status : Status
        What it rests on.
    """

    id: str
    title: str
    passes_when: str
    limits: tuple[str, ...]
    checks: tuple[str, ...]
    source: str
    status: Status


@dataclass(frozen=True, slots=True)
class RecordItem:
    """One thing that is written down.

    Parameters
    ----------
    id, text : str
        Key and words.
    source : str
        Source key.
    status : Status
        What it rests on.
    """

    id: str
    text: str
    source: str
    status: Status


@dataclass(frozen=True, slots=True)
class HourRange:
    """A range of labour.

    Parameters
    ----------
    low, high : float
        Least and most [h]; labour is counted in hours everywhere in the project.
    """

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class LabourHours:
    """Labour of one piece of work, one person.

    Parameters
    ----------
    id, title : str
        Key and words.
    per : str
        ``"axle"``, ``"end"`` or ``"vehicle"``.
    single, dual : HourRange
        Single tyres; dual tyres or driven hub.
    note : str
        One sentence.
    source : str
        Source key.
    status : Status
        What it rests on.
    """

    id: str
    title: str
    per: str
    single: HourRange
    dual: HourRange
    note: str
    source: str
    status: Status


@dataclass(frozen=True, slots=True)
class Deduction:
    """Labour saved when pieces of work meet at one end.

    Parameters
    ----------
    work : tuple of str
        Pieces of work; two or more of them must meet.
    hours : HourRange
        Saved [h], when all of them meet.
    text : str
        One sentence.
    """

    work: tuple[str, ...]
    hours: HourRange
    text: str


@dataclass(frozen=True, slots=True)
class Work:
    """Everything the catalogue says of the complete job.

    Parameters
    ----------
    cautions : mapping of str to Caution
        By id.
    steps : tuple of Step
        The common spine in order, with the variants of each step.
    situations : mapping of str to Situation
        By code.
    pair_rules : mapping of str to PairRule
        By id.
    bedding : tuple of Statement
        How pads are bedded.
    proofs : mapping of str to Proof
        By id.
    records : mapping of str to RecordItem
        By id.
    hours : mapping of str to LabourHours
        By id; situations under their code.
    deductions : tuple of Deduction
        Shared work.
    authority : tuple of Statement
        Who decides what.
    """

    cautions: Mapping[str, Caution]
    steps: tuple[Step, ...]
    situations: Mapping[str, Situation]
    pair_rules: Mapping[str, PairRule]
    bedding: tuple[Statement, ...]
    proofs: Mapping[str, Proof]
    records: Mapping[str, RecordItem]
    hours: Mapping[str, LabourHours]
    deductions: tuple[Deduction, ...]
    authority: tuple[Statement, ...]

    def spine(self, tags: Mapping[str, Tag]) -> tuple[Step, ...]:
        """Return the steps that every job at a brake of these traits shares.

        Parameters
        ----------
        tags : mapping of str to str, int or bool
            ``Design.tags()`` with ``role`` of the axle added.

        Returns
        -------
        tuple of Step
            In order, numbers 1 to 18.
        """
        return tuple(step for step in self.steps if step.applies(tags))

    def own_steps(self, code: str, tags: Mapping[str, Tag]) -> tuple[Step, ...]:
        """Return the own steps of a situation at a brake of these traits.

        Parameters
        ----------
        code : str
            ``"S1"`` to ``"S6"``.
        tags : mapping of str to str, int or bool
            As for ``spine``.

        Returns
        -------
        tuple of Step
            In order.
        """
        return tuple(step for step in self.situations[code].steps if step.applies(tags))

    def cautions_of(self, steps: Iterable[Step]) -> tuple[Caution, ...]:
        """Return the cautions that a list of steps needs, each once.

        Parameters
        ----------
        steps : iterable of Step
            The steps.

        Returns
        -------
        tuple of Caution
            In the order of the catalogue.
        """
        needed = {caution for step in steps for caution in step.cautions}
        return tuple(caution for key, caution in self.cautions.items() if key in needed)
