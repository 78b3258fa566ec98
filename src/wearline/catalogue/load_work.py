"""Reads the complete job from its data file."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import lru_cache
from string import Formatter

from wearline.catalogue.documents import Origin, read_document
from wearline.catalogue.load_checks import load_check_list
from wearline.catalogue.load_fields import file_origin, load_sources
from wearline.catalogue.load_limits import load_limits
from wearline.catalogue.model import Source, Status
from wearline.catalogue.origins import read_origin
from wearline.catalogue.reader import Entry, entries
from wearline.catalogue.work_model import (
    Caution,
    Deduction,
    HourRange,
    LabourHours,
    PairRule,
    PartCount,
    Proof,
    RecordItem,
    Situation,
    Statement,
    Step,
    Tag,
    Work,
)

__all__ = ["TRAITS", "load_work", "read_work"]

TRAITS: dict[str, tuple[Tag, ...]] = {
    "needs_shear_adapter": (True, False),
    "adjuster_serviceable": (True, False),
    "guides_serviceable": (True, False),
    "outer_pad_in": ("carrier", "calliper"),
    "rotor_mounting": ("over the hub", "bolted to the hub"),
    "tappets": (1, 2),
    "role": ("steer", "drive", "tag", "pusher", "trailer"),
}
"""Traits that a step may depend on, with their values."""

_SITUATIONS = ("S1", "S2", "S3", "S4", "S5", "S6")
_LAST_STEP = 18


@dataclass(frozen=True, slots=True)
class _Names:
    """Names that an entry may use."""

    origin: Origin
    limits: Collection[str]
    checks: Collection[str]
    cautions: Collection[str]
    records: Collection[str]


def read_work(
    document: Mapping[str, object],
    sources: Mapping[str, Source],
    limits: Collection[str],
    checks: Collection[str],
    file: str = "work.toml",
) -> Work:
    """Read the complete job.

    Parameters
    ----------
    document : mapping
        The parsed file.
    sources : mapping of str to Source
        All sources.
    limits, checks : collection of str
        Limit and check ids that a text may name.
    file : str, optional
        Name used in messages.

    Returns
    -------
    Work
        The job.

    Raises
    ------
    CatalogueError
        If an entry is wrong, a number of the spine is missing or has no gate.
    """
    top = Entry(file, "", document)
    origin = file_origin(document, file, sources)
    tables = {
        key: entries(document, key, file)
        for key in ("caution", "record", "situation", "pair", "proof", "hours")
    }
    names = _Names(origin, limits, checks, tables["caution"], tables["record"])
    work = Work(
        cautions={name: _caution(name, entry, origin) for name, entry in tables["caution"].items()},
        steps=tuple(_step(entry, names, spine=True) for entry in top.tables("step", "step")),
        situations={name: _situation(name, entry, names) for name, entry in tables["situation"].items()},
        pair_rules={name: _pair_rule(name, entry, names) for name, entry in tables["pair"].items()},
        bedding=tuple(_statement(entry, origin) for entry in top.tables("bedding", "bedding")),
        proofs={name: _proof(name, entry, names) for name, entry in tables["proof"].items()},
        records={name: _record(name, entry, origin) for name, entry in tables["record"].items()},
        hours={name: _hours(name, entry, sources) for name, entry in tables["hours"].items()},
        deductions=tuple(
            _deduction(entry, tables["hours"]) for entry in top.tables("deduction", "deduction")
        ),
        authority=tuple(_statement(entry, origin) for entry in top.tables("authority", "authority")),
    )
    for key in ("about", "default", *tables):
        top.table(key, {})
    top.finish()
    _check_whole(top, work)
    return work


def _check_whole(top: Entry, work: Work) -> None:
    for number in range(1, _LAST_STEP + 1):
        steps = [step for step in work.steps if step.spine == number]
        if not any(step.gate for step in steps):
            top.fail(
                "step", f"step {number} of the spine has no gate", "a gate at the last step of each number"
            )
    if [step.spine for step in work.steps] != sorted(step.spine for step in work.steps):
        top.fail("step", "the steps of the spine are not in order", "numbers 1 to 18 in order")
    ids = [step.id for step in work.steps] + [s.id for each in work.situations.values() for s in each.steps]
    for step_id in ids:
        if ids.count(step_id) > 1:
            top.fail("step", f"the id '{step_id}' stands twice", "an id of its own for every step")
    for code in _SITUATIONS:
        if code not in work.situations or code not in work.hours:
            top.fail("situation", f"situation {code} or its hours are missing", ", ".join(_SITUATIONS))


def _origin(entry: Entry, origin: Origin) -> tuple[str, Status]:
    source, _, status = read_origin(entry, origin)
    return source, status


def _template(entry: Entry, key: str, limits: Collection[str], default: str | None = None) -> str:
    """Read a text that may name limits in braces."""
    text = entry.text(key, default)
    try:
        named = [name for _, name, _, _ in Formatter().parse(text) if name is not None]
    except ValueError:
        entry.fail(key, "the braces in this text do not match", "{name of a limit}")
    for name in named:
        entry.one_of(key, name, limits)
    return text


def _caution(name: str, entry: Entry, origin: Origin) -> Caution:
    found = Caution(name, entry.text("hazard"), entry.text("rule"), *_origin(entry, origin))
    entry.finish()
    return found


def _step(entry: Entry, names: _Names, *, spine: bool) -> Step:
    step_id = entry.text("id")
    entry.name = f"step {step_id}"
    found = Step(
        step_id,
        entry.whole("spine", 1, _LAST_STEP) if spine else 0,
        entry.choice("per", ("end", "axle", "vehicle")),
        _template(entry, "text", names.limits),
        _template(entry, "gate", names.limits, ""),
        entry.known("cautions", names.cautions),
        entry.known("record", names.records),
        _when(entry.table("when", {})),
        *_origin(entry, names.origin),
    )
    entry.finish()
    return found


def _when(entry: Entry) -> dict[str, Tag]:
    found: dict[str, Tag] = {}
    for trait in entry.names():
        entry.one_of(trait, trait, TRAITS)
        value = entry.raw(trait)
        fitting = [option for option in TRAITS[trait] if option == value and type(option) is type(value)]
        if not fitting:
            entry.fail(
                trait, f"{value!r} is no value of it", ", ".join(str(option) for option in TRAITS[trait])
            )
        found[trait] = fitting[0]
    return found


def _situation(name: str, entry: Entry, names: _Names) -> Situation:
    entry.one_of("", name, _SITUATIONS)
    found = Situation(
        code=name,
        title=entry.text("title"),
        chosen_when=entry.text("chosen_when"),
        per=entry.choice("per", ("axle", "end")),
        steps=tuple(_step(step, names, spine=False) for step in entry.tables("step", "step")),
        parts=tuple(_part(part) for part in entry.tables("parts", "part")),
        extra_caution=entry.text("extra_caution"),
    )
    if not found.steps or not found.steps[-1].gate:
        entry.fail(
            "step", "the situation has no step, or its last one has no gate", "steps, the last with a gate"
        )
    entry.finish()
    return found


def _part(entry: Entry) -> PartCount:
    found = PartCount(
        entry.text("part"),
        entry.whole("count", 1, 99),
        entry.choice("per", ("axle", "end", "tappet")),
        entry.flag("if_needed", default=False),
    )
    entry.finish()
    return found


def _pair_rule(name: str, entry: Entry, names: _Names) -> PairRule:
    rule = _template(entry, "rule", names.limits)
    found = PairRule(name, entry.text("item"), rule, *_origin(entry, names.origin))
    entry.finish()
    return found


def _statement(entry: Entry, origin: Origin) -> Statement:
    found = Statement(entry.text("text"), *_origin(entry, origin))
    entry.finish()
    return found


def _proof(name: str, entry: Entry, names: _Names) -> Proof:
    found = Proof(
        name,
        entry.text("title"),
        _template(entry, "passes_when", names.limits),
        entry.known("limits", names.limits, None),
        entry.known("checks", names.checks, None),
        *_origin(entry, names.origin),
    )
    entry.finish()
    return found


def _record(name: str, entry: Entry, origin: Origin) -> RecordItem:
    found = RecordItem(name, entry.text("text"), *_origin(entry, origin))
    entry.finish()
    return found


def _hours(name: str, entry: Entry, sources: Mapping[str, Source]) -> LabourHours:
    estimate = Origin(sources, "expert-judgement", "labour of one person")
    found = LabourHours(
        name,
        entry.text("title"),
        entry.choice("per", ("axle", "end", "vehicle")),
        HourRange(*entry.pair("single", 0.0, 100.0)),
        HourRange(*entry.pair("dual", 0.0, 100.0)),
        entry.text("note", ""),
        *_origin(entry, estimate),
    )
    entry.finish()
    return found


def _deduction(entry: Entry, hours: Collection[str]) -> Deduction:
    found = Deduction(
        entry.known("work", hours, None), HourRange(*entry.pair("hours", 0.0, 100.0)), entry.text("text")
    )
    entry.finish()
    return found


@lru_cache(maxsize=1)
def load_work() -> Work:
    """Return the complete job that ships with the package.

    Returns
    -------
    Work
        Cautions, steps, situations, proof, records and hours.
    """
    return read_work(read_document("work.toml"), load_sources(), load_limits(), load_check_list().checks)
