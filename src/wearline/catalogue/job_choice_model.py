"""What the choice of work is made of: signs, rules, and the work beside the six situations."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wearline.catalogue.model import Status

__all__ = [
    "PLACES",
    "REACHES",
    "SITUATIONS",
    "STANDINGS",
    "ChoiceRule",
    "CommonPart",
    "ExtraPart",
    "ExtraStep",
    "ExtraWork",
    "JobChoice",
    "NoteWords",
    "RotorOutlook",
    "Sign",
]

SITUATIONS = ("S1", "S2", "S3", "S4", "S5", "S6")
"""The six situations of work."""

STANDINGS = ("advised", "depends", "needed")
"""How sure a piece of work is, from the weakest to the strongest."""

PLACES = ("end", "mate", "axle", "vehicle", "first")
"""Where the work of a rule lands."""

REACHES = ("mate", "axle", "some", "several", "most", "every", "vehicle")
"""Where a condition may look, beside the wheel end itself."""


@dataclass(frozen=True, slots=True)
class Sign:
    """A reading that means something beside its limits.

    Parameters
    ----------
    name, check : str
        Its name, and the field it is read from.
    at_least : float
        Value from which it holds [SI unit].
    published : str
        The same as written in the data.
    text : str
        What it means.
    status : Status
        What the value may be used for.
    """

    name: str
    check: str
    at_least: float
    published: str
    text: str
    status: Status


@dataclass(frozen=True, slots=True)
class NoteWords:
    """Words in a note that a person must look into.

    Parameters
    ----------
    sign : str
        Name of the sign.
    words : tuple of str
        Any of them makes it, in lower case.
    """

    sign: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RotorOutlook:
    """What a rotor face loses over one set of pads.

    Parameters
    ----------
    low, usual, high : float
        Loss of one face [m].
    margin : float
        What must be left above the minimum at the end of the set [m].
    status : Status
        What the figures may be used for.
    note : str
        One sentence for people.
    """

    low: float
    usual: float
    high: float
    margin: float
    status: Status
    note: str


@dataclass(frozen=True, slots=True)
class ChoiceRule:
    """One rule from findings to work.

    Parameters
    ----------
    id : str
        Its name.
    all : tuple of tuple of str
        Every group must hold; a group holds if one of its conditions does.
    none : tuple of str
        Conditions of which none may hold.
    work : str
        Code of the work; empty for a sentence.
    at : str
        One of ``PLACES``.
    standing : str
        One of ``STANDINGS``.
    choice : str
        The check that decides, and the other work.
    says : str
        Sentence added to the reasons.
    replaces : tuple of str
        Codes of work that it takes the place of, at the same place.
    status : Status
        What the rule rests on.
    """

    id: str
    all: tuple[tuple[str, ...], ...]
    none: tuple[str, ...]
    work: str
    at: str
    standing: str
    choice: str
    says: str
    replaces: tuple[str, ...]
    status: Status


@dataclass(frozen=True, slots=True)
class ExtraStep:
    """One step of work beside the situations.

    Parameters
    ----------
    text, gate : str
        What to do, and what must be true before going on.
    cautions : tuple of str
        Hazards that it brings.
    record : tuple of str
        Fields to fill in.
    """

    text: str
    gate: str
    cautions: tuple[str, ...]
    record: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ExtraPart:
    """One part of work beside the situations.

    Parameters
    ----------
    part : str
        Generic name.
    count : int
        How many.
    per : {"end", "tappet"}
        Whether it is counted for each wheel end or for each tappet of it.
    if_needed : bool
        True where the step decides.
    """

    part: str
    count: int
    per: str
    if_needed: bool


@dataclass(frozen=True, slots=True)
class CommonPart:
    """One part that the common steps use up at every wheel end, of all designs or of some.

    Parameters
    ----------
    part : str
        Generic name.
    count : int
        How many at one wheel end.
    trait : str
        Trait of the design that decides; empty for every design.
    equals : bool
        Its value.
    """

    part: str
    count: int
    trait: str
    equals: bool


@dataclass(frozen=True, slots=True)
class ExtraWork:
    """Work beside the situations.

    Parameters
    ----------
    code, title : str
        Name and words.
    spine : str
        Step of the common spine at which it is done.
    steps : tuple of ExtraStep
        Its own steps.
    parts : tuple of ExtraPart
        Parts for one wheel end.
    hours_single, hours_other : (float, float)
        Time at one wheel end, single tyres, and dual tyres or driven hub [h].
    within : tuple of str
        Work at the same end that already includes its time.
    later : bool
        True for a word about the next visit, which is no work now.
    status : Status
        What the times rest on.
    """

    code: str
    title: str
    spine: str
    steps: tuple[ExtraStep, ...]
    parts: tuple[ExtraPart, ...]
    hours_single: tuple[float, float]
    hours_other: tuple[float, float]
    within: tuple[str, ...]
    later: bool
    status: Status


@dataclass(frozen=True, slots=True)
class JobChoice:
    """Everything that the choice of work rests on.

    Parameters
    ----------
    signs : mapping of str to Sign
        By name.
    note_words : tuple of NoteWords
        Words in notes.
    rotor_outlook : RotorOutlook
        Loss of the rotor over one set of pads.
    rules : tuple of ChoiceRule
        In the order in which they are read.
    extra : mapping of str to ExtraWork
        Work beside the situations, by code.
    titles : mapping of str to str
        Titles of the situations inside a plan.
    order : tuple of str
        Own steps and codes in the order in which they are done at one wheel end.
    common_parts : tuple of CommonPart
        Parts that the common steps use up.
    """

    signs: Mapping[str, Sign]
    note_words: tuple[NoteWords, ...]
    rotor_outlook: RotorOutlook
    rules: tuple[ChoiceRule, ...]
    extra: Mapping[str, ExtraWork]
    titles: Mapping[str, str]
    order: tuple[str, ...]
    common_parts: tuple[CommonPart, ...]

    def title(self, code: str) -> str:
        """Return the title of a piece of work.

        Parameters
        ----------
        code : str
            Code of a situation or of work beside them.

        Returns
        -------
        str
            Its title.
        """
        return self.titles[code] if code in self.titles else self.extra[code].title
