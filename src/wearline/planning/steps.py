"""The steps of a job in order: the common spine with its gates, and the own steps of the work."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from wearline.catalogue.job_choice_model import SITUATIONS, JobChoice
from wearline.catalogue.model import Design, Limit
from wearline.catalogue.work_model import Step, Tag, with_limits
from wearline.catalogue.work_model import Work as WorkCatalogue
from wearline.planning.results import JobStep, Work
from wearline.records.inspection import Axle

__all__ = ["OWN_STEPS_AT", "AsFound", "StepBook", "axle_steps", "cautions_of_job"]

OWN_STEPS_AT = 8
"""Number on the spine at which the own steps of the work are done."""

_CLOSED_BY_ITS_GATE = 12
"""From this number on the gate of the spine closes the work of its number, so that work stands before it."""

_DECIDES = 7
"""Step of the spine at which the job is decided from the findings."""

_NEAR_HOT_PARTS = (3, 4)
"""Steps of the spine that first bring hands near the brake."""

_RECORD_WORDS = {"cage": "time", "release": "signature"}
_PRINTED_IN_FULL = "spring brake"


@dataclass(frozen=True, slots=True)
class StepBook:
    """Where the steps come from.

    Parameters
    ----------
    work : Work
        Spine, situations, cautions of the catalogue.
    choice : JobChoice
        Work beside the situations, and the order of own steps.
    limits : mapping of str to Limit
        Limits in force for the design, put into texts that name them.
    """

    work: WorkCatalogue
    choice: JobChoice
    limits: Mapping[str, Limit]


@dataclass(frozen=True, slots=True)
class AsFound:
    """What the texts of some steps say of the axle as it was found.

    Parameters
    ----------
    hot : mapping of str to str
        Wheel ends that were read too hot to touch, with the reading.
    not_taken : mapping of str to int
        Number of checks of a complete inspection that were not taken, by wheel end.
    void : mapping of str to int
        Number of readings that say nothing until confirmed or taken again, by wheel end.
    """

    hot: Mapping[str, str]
    not_taken: Mapping[str, int]
    void: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class _Line:
    """One step before it gets its number."""

    text: str
    at: str
    gate: str
    gate_number: str
    cautions: tuple[str, ...]
    records: tuple[str, ...]


def axle_steps(
    axle: Axle, design: Design, works: tuple[Work, ...], book: StepBook, found: AsFound
) -> tuple[JobStep, ...]:
    """Return all steps of the job at one axle.

    Parameters
    ----------
    axle : Axle
        Its id and role.
    design : Design
        Its brake; texts change with its traits.
    works : tuple of Work
        Situations and work beside them; none gives no steps.
    book : StepBook
        Where the steps come from.
    found : AsFound
        Heat and missing checks, which change texts.

    Returns
    -------
    tuple of JobStep
        Numbered from 1. The gates of the spine, 1 to 18, stand in order.
    """
    if not works:
        return ()
    tags: dict[str, Tag] = {**design.tags(), "role": axle.role}
    lines: list[_Line] = []
    spine = book.work.spine(tags)
    for place, step in enumerate(spine):
        number = step.spine
        first_of_number = place == 0 or spine[place - 1].spine != number
        last_of_number = place == len(spine) - 1 or spine[place + 1].spine != number
        beside = [work for work in works if _spine_number(work, book) == number]
        if first_of_number and number == OWN_STEPS_AT:
            lines.extend(_own_lines(axle, works, tags, book))
        elif first_of_number and number >= _CLOSED_BY_ITS_GATE:
            lines.extend(line for work in beside for line in _lines_beside(work, book))
        lines.append(_spine_line(step, axle, works, book, found))
        if last_of_number and number < _CLOSED_BY_ITS_GATE and number != OWN_STEPS_AT:
            lines.extend(line for work in beside for line in _lines_beside(work, book))
    return tuple(_numbered(lines, book))


def cautions_of_job(steps: Iterable[JobStep], works: Iterable[Work], book: StepBook) -> tuple[str, ...]:
    """Return every caution that the steps of a job name, in full, each once.

    Parameters
    ----------
    steps : iterable of JobStep
        All steps of the job.
    works : iterable of Work
        All work, for the caution of each situation.
    book : StepBook
        Where the cautions come from.

    Returns
    -------
    tuple of str
        Hazards in the order of the catalogue, then what each situation asks to mind.
    """
    named = {caution.partition(":")[0] for step in steps for caution in step.cautions}
    hazards = [_in_full(book, key) for key, caution in book.work.cautions.items() if caution.hazard in named]
    codes = dict.fromkeys(work.code for work in works if work.code in SITUATIONS)
    mind = [f"{code} {book.choice.title(code)}: {book.work.situations[code].extra_caution}" for code in codes]
    return (*hazards, *mind)


def _in_full(book: StepBook, key: str) -> str:
    caution = book.work.cautions[key]
    return f"{caution.hazard}: {caution.rule} ({caution.status})"


def _spine_number(work: Work, book: StepBook) -> int:
    return OWN_STEPS_AT if work.code in SITUATIONS else int(book.choice.extra[work.code].spine)


def _spine_line(step: Step, axle: Axle, works: tuple[Work, ...], book: StepBook, found: AsFound) -> _Line:
    text = with_limits(step.text, book.limits)
    cautions = step.cautions
    if step.spine == OWN_STEPS_AT:
        named = ", ".join(
            f"{work.code} at {work.at}" for work in works if _spine_number(work, book) == OWN_STEPS_AT
        )
        text = f"Own steps of this job done: {named}." if named else "This job has no steps of its own here."
    if found.not_taken and step.spine == _DECIDES and step.gate:
        counts = ", ".join(f"{count} at {end}" for end, count in found.not_taken.items())
        text = f"{text} Checks of a complete inspection not taken so far: {counts}."
    if found.hot and step.spine in _NEAR_HOT_PARTS:
        readings = ", ".join(f"{end} was at {reading}" for end, reading in found.hot.items())
        text = f"{text} After the run {readings}: wait until below 50 °C before touching."
        cautions = tuple(dict.fromkeys((*cautions, "hot parts")))
    return _Line(
        text=text,
        at="" if step.per == "vehicle" else axle.id,
        gate=with_limits(step.gate, book.limits),
        gate_number=str(step.spine) if step.gate else "",
        cautions=cautions,
        records=step.records,
    )


def _own_lines(
    axle: Axle, works: tuple[Work, ...], tags: Mapping[str, Tag], book: StepBook
) -> Iterator[_Line]:
    """Own steps at step 8: end after end, each from outside in and back out; then the axle."""
    order = {name: place for place, name in enumerate(book.choice.order)}
    for place in (f"{axle.id}L", f"{axle.id}R", axle.id):
        lines: list[tuple[int, _Line]] = []
        for work in works:
            if _spine_number(work, book) != OWN_STEPS_AT or not _is_done_at(work, place, axle.id):
                continue
            if work.code in SITUATIONS:
                steps = book.work.own_steps(work.code, tags)
                here = [step for step in steps if (step.per == "axle") == (place == axle.id)]
                lines.extend(
                    (order.get(step.id, len(order)), _own_line(step, work, place, book, first=n == 0))
                    for n, step in enumerate(here)
                )
            else:
                found = _lines_beside(work, book, place)
                lines.extend((order.get(work.code, len(order)), line) for line in found)
        yield from (line for _, line in sorted(lines, key=lambda pair: pair[0]))


def _is_done_at(work: Work, place: str, axle: str) -> bool:
    """Work on both ends is done end by end, except what concerns the axle as a whole."""
    if work.code in SITUATIONS:
        return place in (work.at, axle) or work.at == axle
    return place == work.at


def _own_line(step: Step, work: Work, place: str, book: StepBook, *, first: bool) -> _Line:
    title = f"{work.code} {book.choice.title(work.code)}"
    return _Line(
        text=f"{_with_standing(work, title, first=first)}: {with_limits(step.text, book.limits)}",
        at=place,
        gate=with_limits(step.gate, book.limits),
        gate_number=step.id if step.gate else "",
        cautions=step.cautions,
        records=step.records,
    )


def _lines_beside(work: Work, book: StepBook, place: str = "") -> Iterator[_Line]:
    extra = book.choice.extra[work.code]
    for n, step in enumerate(extra.steps, start=1):
        yield _Line(
            text=f"{_with_standing(work, extra.title, first=n == 1)}: {with_limits(step.text, book.limits)}",
            at=place or work.at,
            gate=with_limits(step.gate, book.limits),
            gate_number=f"{work.code} {n}"
            if step.gate and len(extra.steps) > 1
            else work.code
            if step.gate
            else "",
            cautions=step.cautions,
            records=step.record,
        )


def _with_standing(work: Work, title: str, *, first: bool) -> str:
    """Say in the step itself where it is not sure to be done; the whole choice at the first step alone."""
    if work.standing == "advised":
        return f"{title} (advised)"
    if work.standing == "depends":
        return f"{title} (depends: {work.choice})" if first else f"{title} (where chosen)"
    return f"{title} (or else: {work.choice})" if work.choice and first else title


def _numbered(lines: list[_Line], book: StepBook) -> Iterator[JobStep]:
    for n, line in enumerate(lines, start=1):
        yield JobStep(
            n=n,
            text=line.text,
            at=line.at,
            gate=line.gate,
            gate_number=line.gate_number,
            cautions=tuple(
                _in_full(book, key) if key == _PRINTED_IN_FULL else book.work.cautions[key].hazard
                for key in line.cautions
            ),
            record=_record_fields(line),
        )


def _record_fields(line: _Line) -> tuple[str, ...]:
    """Name the fields to fill in; a gate that asks for a signature gets one."""
    records = [_RECORD_WORDS.get(record, record) for record in line.records]
    if "signed" in line.gate:
        records.append("signature")
    return tuple(dict.fromkeys(records))
