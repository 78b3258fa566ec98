"""Which work follows from which finding, and the work beside the six situations, as data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from wearline.catalogue.documents import read_document
from wearline.catalogue.model import Status
from wearline.catalogue.reader import Entry, entries
from wearline.units import Kind

__all__ = [
    "PLACES",
    "REACHES",
    "SITUATIONS",
    "STANDINGS",
    "ChoiceRule",
    "ExtraPart",
    "ExtraStep",
    "ExtraWork",
    "JobChoice",
    "NoteWords",
    "RotorOutlook",
    "Sign",
    "load_job_choice",
    "read_job_choice",
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
        How many at one wheel end.
    if_needed : bool
        True where the step decides.
    """

    part: str
    count: int
    if_needed: bool


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
    """

    signs: Mapping[str, Sign]
    note_words: tuple[NoteWords, ...]
    rotor_outlook: RotorOutlook
    rules: tuple[ChoiceRule, ...]
    extra: Mapping[str, ExtraWork]


@lru_cache(maxsize=1)
def load_job_choice() -> JobChoice:
    """Return the choice rules that ship with the package.

    Returns
    -------
    JobChoice
        The rules; read once.
    """
    return read_job_choice(read_document("job_choice.toml"), read_document("job_extra_work.toml"))


def read_job_choice(choice: Mapping[str, object], extra: Mapping[str, object]) -> JobChoice:
    """Read the two documents of the choice of work.

    Parameters
    ----------
    choice, extra : mapping
        The parsed files ``job_choice.toml`` and ``job_extra_work.toml``.

    Returns
    -------
    JobChoice
        The rules.

    Raises
    ------
    CatalogueError
        If an entry is wrong, with file, entry and key.
    """
    file = "job_choice.toml"
    document = Entry(file, "", choice)
    status = _default_status(document)
    works = _read_extra(extra)
    signs = {name: _read_sign(name, entry, status) for name, entry in entries(choice, "sign", file).items()}
    notes = tuple(_read_note_words(entry) for entry in document.tables("note_words", "note_words"))
    outlook = _read_outlook(document.table("rotor_outlook"))
    names = _Names(frozenset(signs), frozenset(note.sign for note in notes), frozenset((*SITUATIONS, *works)))
    rules = tuple(_read_rule(entry, status, names) for entry in document.tables("rule", "rule"))
    _refuse_twice(document, [rule.id for rule in rules])
    document.table("sign", {})
    document.finish()
    return JobChoice(signs, notes, outlook, rules, works)


@dataclass(frozen=True, slots=True)
class _Names:
    """Names that a condition may use."""

    signs: frozenset[str]
    notes: frozenset[str]
    works: frozenset[str]


COMPUTED_SIGNS = frozenset(
    {
        "chamber sizes differ",
        "pad parts differ",
        "rotor ends before the new pads",
        "rotor may end before the new pads",
    }
)
"""Signs that compare several readings; ``planning.evidence`` makes them."""


def _default_status(document: Entry) -> Status:
    document.table("about", {})
    return document.table("default").member("status", Status)


def _read_sign(name: str, entry: Entry, status: Status) -> Sign:
    text = entry.text("at_least")
    exact, _ = entry.exact("at_least", text, entry.kind("kind"))
    sign = Sign(
        name=name,
        check=entry.text("check"),
        at_least=float(exact),
        published=text,
        text=entry.text("text"),
        status=entry.member("status", Status, status),
    )
    entry.finish()
    return sign


def _read_note_words(entry: Entry) -> NoteWords:
    found = NoteWords(entry.text("sign"), tuple(word.lower() for word in entry.words("words")))
    entry.finish()
    return found


def _read_outlook(entry: Entry) -> RotorOutlook:
    def length(key: str) -> float:
        return float(entry.exact(key, entry.text(key), Kind.LENGTH)[0])

    outlook = RotorOutlook(
        low=length("loss_per_face_low"),
        usual=length("loss_per_face_usual"),
        high=length("loss_per_face_high"),
        margin=length("margin"),
        status=entry.member("status", Status),
        note=entry.text("note"),
    )
    entry.finish()
    return outlook


def _read_rule(entry: Entry, status: Status, names: _Names) -> ChoiceRule:
    groups = tuple(tuple(group.split(" | ")) for group in entry.words("all"))
    none = entry.words("none", ())
    for condition in (*(name for group in groups for name in group), *none):
        _check_condition(entry, condition, names)
    at = entry.choice("at", PLACES)
    work = "" if at == "first" else entry.choice("work", sorted(names.works))
    rule = ChoiceRule(
        id=entry.text("id"),
        all=groups,
        none=none,
        work=work,
        at=at,
        standing=entry.choice("standing", STANDINGS, "needed"),
        choice=entry.text("choice", ""),
        says=entry.text("says", "") if work else entry.text("says"),
        replaces=entry.known("replaces", names.works),
        status=entry.member("status", Status, status),
    )
    if rule.standing == "depends" and not rule.choice:
        entry.fail(
            "choice", "work that depends names no choice", "the check that decides, and the other work"
        )
    entry.finish()
    return rule


def _check_condition(entry: Entry, condition: str, names: _Names) -> None:
    reach, _, name = condition.rpartition(">")
    if reach:
        entry.one_of("all", reach, REACHES)
    prefix, _, rest = name.partition(":")
    if prefix in ("work", "needed", "sure"):
        entry.one_of("all", rest, sorted(names.works))
    elif prefix == "sign":
        entry.one_of("all", rest, sorted(names.signs | COMPUTED_SIGNS))
    elif prefix == "note":
        entry.one_of("all", rest, sorted(names.notes))


def _read_extra(document: Mapping[str, object]) -> dict[str, ExtraWork]:
    file = "job_extra_work.toml"
    top = Entry(file, "", document)
    status = _default_status(top)
    works = {code: _read_work(code, entry, status) for code, entry in entries(document, "work", file).items()}
    top.table("work", {})
    top.finish()
    return works


def _read_work(code: str, entry: Entry, status: Status) -> ExtraWork:
    later = entry.flag("later", False)
    hours = {"single": (0.0, 0.0), "other": (0.0, 0.0)}
    if not later:
        table = entry.table("hours")
        hours = {key: table.pair(key, 0.0, 20.0) for key in hours}
        table.finish()
    work = ExtraWork(
        code=code,
        title=entry.text("title"),
        spine=entry.text("spine"),
        steps=tuple(_read_steps(entry)),
        parts=tuple(_read_parts(entry)),
        hours_single=hours["single"],
        hours_other=hours["other"],
        later=later,
        status=entry.member("status", Status, status),
    )
    if not later and not work.steps:
        entry.fail("steps", "work without a step", "at least one step")
    entry.finish()
    return work


def _read_steps(entry: Entry) -> Iterable[ExtraStep]:
    for step in entry.tables("steps", "step"):
        yield ExtraStep(
            step.text("text"), step.text("gate"), step.words("cautions", ()), step.words("record", ())
        )
        step.finish()


def _read_parts(entry: Entry) -> Iterable[ExtraPart]:
    for part in entry.tables("parts", "part"):
        yield ExtraPart(part.text("part"), part.whole("count", 1, 20), part.flag("if_needed", False))
        part.finish()


def _refuse_twice(document: Entry, ids: list[str]) -> None:
    seen: set[str] = set()
    for name in ids:
        if name in seen:
            document.fail("rule", f"the rule '{name}' stands twice", "every rule once")
        seen.add(name)
