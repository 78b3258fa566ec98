"""Reads from their data files which work follows from which finding, and the work beside the situations."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from wearline.catalogue.documents import read_document
from wearline.catalogue.job_choice_model import (
    PLACES,
    REACHES,
    SITUATIONS,
    STANDINGS,
    ChoiceRule,
    CommonPart,
    ExtraPart,
    ExtraStep,
    ExtraWork,
    JobChoice,
    NoteWords,
    RotorOutlook,
    Sign,
)
from wearline.catalogue.model import Status
from wearline.catalogue.reader import Entry, entries
from wearline.units import Kind

__all__ = ["COMPUTED_SIGNS", "load_job_choice", "read_job_choice"]


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
    beside = _read_extra(extra)
    signs = {name: _read_sign(name, entry, status) for name, entry in entries(choice, "sign", file).items()}
    notes = tuple(_read_note_words(entry) for entry in document.tables("note_words", "note_words"))
    outlook = _read_outlook(document.table("rotor_outlook"))
    names = _Names(
        frozenset(signs), frozenset(note.sign for note in notes), frozenset((*SITUATIONS, *beside.works))
    )
    rules = tuple(_read_rule(entry, status, names) for entry in document.tables("rule", "rule"))
    _refuse_twice(document, [rule.id for rule in rules])
    document.table("sign", {})
    document.finish()
    return JobChoice(
        signs=signs,
        note_words=notes,
        rotor_outlook=outlook,
        rules=rules,
        extra=beside.works,
        titles=beside.titles,
        order=beside.order,
        common_parts=beside.common_parts,
    )


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
        "rotor ends before its pads",
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


@dataclass(frozen=True, slots=True)
class _Beside:
    """What the second file holds."""

    works: Mapping[str, ExtraWork]
    titles: Mapping[str, str]
    order: tuple[str, ...]
    common_parts: tuple[CommonPart, ...]


def _read_extra(document: Mapping[str, object]) -> _Beside:
    file = "job_extra_work.toml"
    top = Entry(file, "", document)
    status = _default_status(top)
    works = {code: _read_work(code, entry, status) for code, entry in entries(document, "work", file).items()}
    for work in works.values():
        for code in work.within:
            Entry(file, f"work {work.code}", {}).one_of("within", code, (*SITUATIONS, *works))
    table = top.table("situation_title")
    titles = {code: table.text(code) for code in SITUATIONS}
    table.finish()
    order = top.table("order")
    steps = order.words("own_steps")
    order.finish()
    common = tuple(_read_common_part(entry) for entry in top.tables("common_part", "common_part"))
    top.table("work", {})
    top.finish()
    return _Beside(works, titles, steps, common)


def _read_common_part(entry: Entry) -> CommonPart:
    part = CommonPart(
        part=entry.text("part"),
        count=entry.whole("count", 1, 20),
        trait=entry.text("trait", ""),
        equals=entry.flag("equals", default=True),
    )
    entry.finish()
    return part


def _read_work(code: str, entry: Entry, status: Status) -> ExtraWork:
    later = entry.flag("later", default=False)
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
        within=entry.words("within", ()),
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
        yield ExtraPart(
            part.text("part"),
            part.whole("count", 1, 20),
            part.choice("per", ("end", "tappet"), "end"),
            part.flag("if_needed", default=False),
        )
        part.finish()


def _refuse_twice(document: Entry, ids: list[str]) -> None:
    seen: set[str] = set()
    for name in ids:
        if name in seen:
            document.fail("rule", f"the rule '{name}' stands twice", "every rule once")
        seen.add(name)
