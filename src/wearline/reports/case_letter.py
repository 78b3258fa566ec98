"""The letter of a specialist to a workshop far away, on one page.

It says what the readings mean, what to measure next and how, and what to stop doing. What it says comes
from the judgement, the road decision and the diagnosis; nothing is decided here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from wearline.assessment.results import Judgement
from wearline.assessment.road_results import RoadDecision
from wearline.catalogue.check_model import Check
from wearline.catalogue.load_causes import load_causes
from wearline.diagnosis.results import CauseView, Explanation, NextTest, WheelEndExplanation
from wearline.records.inspection import Inspection
from wearline.reports.content import DECIDES, MADE_BY, found_paragraph
from wearline.reports.document import compile_pdf, write_pdf
from wearline.reports.gauge_drawings import DRAWN_CHECKS, draw_gauge_place
from wearline.reports.words import probability_text, shown_text

if TYPE_CHECKING:
    from wearline.catalogue.loading import Catalogue

__all__ = ["CaseLetter", "NextStep", "case_letter", "render_case_letter_pdf"]

_LIKELY = 0.3
_QUIET = 0.7
_ENDS = 3
_STEPS = 4
_STOPS = 6
_EVIDENCE = 3
_GROUNDED = 2
_LONGEST = 320
_SAID = 8
_STEP_TEXTS = {"title": 140, "why": 200, "how": 300, "gauge": 150, "care": 160}
"""Longest texts of a measurement, in letters, so that four of them fit on the page."""

SEND = (
    "Send back: each reading with its unit and gauge, of both ends of the axle; photographs with a rule in "
    "the picture, the leading end of each pad marked; where the calliper stands on the clock; load and route."
)
"""What a far person must send (common practice, no source)."""

CAUTION = (
    "Level floor, chocks both ways at a wheel that stays down, stands and not the jack alone; spring brakes "
    "caged before a chamber comes off; no fingers in the opening with air up; hot parts under 50 °C first; "
    "brake dust never blown off."
)
"""Cautions of every measurement with the wheels off (common practice, no source)."""

_FIRST = "Do not clean, wind back or change a part before every reading is taken as found and written down."


@dataclass(frozen=True, slots=True)
class NextStep:
    """One measurement asked for.

    Parameters
    ----------
    title : str
        Check, with where.
    why : str
        What it decides.
    how, gauge, care : str
        How it is done, with what, and what usually goes wrong.
    check, place : str
        Check id and wheel end, for the drawing; check empty for a test that is no check of the list.
    """

    title: str
    why: str
    how: str
    gauge: str
    care: str
    check: str
    place: str


@dataclass(frozen=True, slots=True)
class CaseLetter:
    """What stands in the letter.

    Parameters
    ----------
    found : str
        What was found, in one paragraph.
    says : tuple of str
        What the readings say, place by place.
    steps : tuple of NextStep
        What to measure next, the most worth its time first.
    stop : tuple of str
        What to stop doing, or not to do yet.
    """

    found: str
    says: tuple[str, ...]
    steps: tuple[NextStep, ...]
    stop: tuple[str, ...]


# ---------------------------------------------------------------- content


def case_letter(
    judgement: Judgement, road: RoadDecision, explanation: Explanation, catalogue: Catalogue
) -> CaseLetter:
    """Return what stands in the letter.

    Parameters
    ----------
    judgement : Judgement
        What the readings are worth.
    road : RoadDecision
        Whether the vehicle may go.
    explanation : Explanation
        Causes and next tests.
    catalogue : Catalogue
        For the checks.

    Returns
    -------
    CaseLetter
        At most three wheel ends, four measurements and six warnings: what is left out of one page is in the
        full answers.
    """
    ends = _worst_ends(explanation)
    return CaseLetter(
        found=found_paragraph(judgement),
        says=tuple(_says(explanation, ends)),
        steps=_steps(explanation, ends, judgement, catalogue),
        stop=_stops(judgement, road, explanation),
    )


def _worst_ends(explanation: Explanation) -> list[WheelEndExplanation]:
    """Wheel ends with a likely cause, a fault seen or readings that do not fit; the most certain first."""
    sick = [
        end
        for end in explanation.wheel_ends
        if end.found or end.misfit is not None or any(view.probability >= _LIKELY for view in end.causes)
    ]
    return sorted(sick, key=lambda end: (end.healthy, end.place))[:_ENDS]


def _says(explanation: Explanation, ends: Sequence[WheelEndExplanation]) -> Iterable[str]:
    for view in explanation.vehicle:
        if view.probability >= _LIKELY:
            yield _cause_words("The whole vehicle", view)
    for axle in explanation.axles:
        for view in axle.causes:
            if view.probability >= _LIKELY:
                yield _cause_words(f"Axle {axle.axle}", view)
        if axle.victim:
            yield axle.victim
    for end in ends:
        yield from _end_says(end)
    quiet = [end.place for end in explanation.wheel_ends if end.healthy >= _QUIET and end not in ends]
    if quiet:
        yield f"No cause of its own is likely at {', '.join(quiet)}."
    yield from explanation.undecided


def _end_says(end: WheelEndExplanation) -> Iterable[str]:
    likely = [view for view in end.causes if view.probability >= _LIKELY]
    for view in likely[:2]:
        yield _cause_words(end.place, view)
    named = {view.code for view in likely}
    for fault in end.found:
        if fault.code not in named:
            yield f"{end.place}: seen, {fault.text}: {fault.code} {fault.name}."
    root = end.root
    if root is not None and root.follows:
        yield f"{end.place}: the root is {root.code} {root.name}; {', '.join(root.follows)} grew out of it."
    yield from end.undecided[:1]
    if end.misfit is not None:
        yield f"{end.place}: {end.misfit.text}"


def _cause_words(where: str, view: CauseView) -> str:
    text = f"{where}: {view.code} {view.name}, {probability_text(view.probability)}."
    if view.supports:
        text += f" For it: {'; '.join(view.supports[:_EVIDENCE])}."
    if view.speaks_against:
        text += f" Against it: {'; '.join(view.speaks_against[:2])}."
    return text


# ---------------------------------------------------------------- next steps


def _steps(
    explanation: Explanation,
    ends: Sequence[WheelEndExplanation],
    judgement: Judgement,
    catalogue: Catalogue,
) -> tuple[NextStep, ...]:
    """Doubtful readings again, the proof of the leading causes, what tells most in little time, the rest."""
    found: dict[tuple[str, str], NextStep] = {}
    checks = catalogue.checks

    def add(step: NextStep) -> None:
        found.setdefault((step.check or step.title, step.place), step)

    for end in ends:
        if end.misfit is not None:
            for check in _checks_of((end.misfit.check,), catalogue)[:1]:
                add(_step(check, end.place, f"Again: {end.misfit.repeat}"))
    for end in ends:
        for view in end.causes[:1]:
            for check in _proofs_of(view.code, catalogue)[:1] if view.probability >= _LIKELY else ():
                why = f"Before parts are ordered on {view.code} {view.name}: {view.confirm.rstrip('.')}."
                add(_step(check, end.place, why))
    ranked = sorted(
        ((test, end.place) for end in (ends or explanation.wheel_ends) for test in end.next_tests),
        key=lambda pair: -pair[0].rate,
    )
    for test, place in ranked[:_STEPS]:
        if test.check in checks:
            add(_step(checks[test.check], place, _decides(test)))
        else:
            add(NextStep(f"{place}: {test.test}", _decides(test), "", "", "", "", place))
    sick = {end.place for end in ends}
    for judged in judgement.wheel_ends:
        for follow in judged.followups:
            if follow.kind == "necessary" and not follow.done and judged.place in sick:
                add(_step(checks[follow.check], judged.place, follow.because))
    return tuple(found.values())[:_STEPS]


def _proofs_of(code: str, catalogue: Catalogue) -> list[Check]:
    """Checks that prove a cause: that of the symptom which is its test, then those of the test's fields."""
    network = load_causes()
    test = network.causes[code].test
    symptom = network.symptoms.get(test.symptom)
    own = (
        [catalogue.checks[symptom.check]] if symptom is not None and symptom.check in catalogue.checks else []
    )
    return [*own, *_checks_of(test.fields, catalogue)]


def _checks_of(fields: Sequence[str], catalogue: Catalogue) -> list[Check]:
    """Checks that fill some fields; those with the wheel off, where the gauge can be drawn, first."""
    names = [
        check for field in fields if field in catalogue.fields for check in catalogue.fields[field].checks
    ]
    ordered = sorted(dict.fromkeys(names), key=lambda id: (id not in DRAWN_CHECKS, id.startswith("W")))
    return [catalogue.checks[id] for id in ordered if catalogue.checks[id].minutes]


def _decides(test: NextTest) -> str:
    about = f"Decides most about {', '.join(test.about)}" if test.about else "Tells most for its time"
    access = f", after {test.access:.0f} min to reach state {test.cluster}" if test.cluster else ""
    return f"{about}; {test.minutes:.0f} min{access}."


def _step(check: Check, place: str, why: str) -> NextStep:
    return NextStep(
        title=f"{place}: {check.id} {check.title}",
        why=why,
        how=check.how,
        gauge=f"{check.gauge}; at: {check.where}",
        care="; ".join(check.mistakes[:2]),
        check=check.id,
        place=place,
    )


# ---------------------------------------------------------------- what to stop


def _stops(judgement: Judgement, road: RoadDecision, explanation: Explanation) -> tuple[str, ...]:
    lines = []
    if road.level >= _GROUNDED:
        worst = next((reason for reason in road.reasons if reason.level == road.level), None)
        where = f"{worst.place}: " if worst is not None and worst.place else ""
        because = f" {where}{worst.text.rstrip('.')}." if worst is not None else ""
        lines.append(f"{road.meaning[:1].upper()}{road.meaning[1:].rstrip('.')}.{because}")
        lines += list(road.conditions[:1])
    lines.append(_FIRST)
    lines += [
        f"Do not take the other end apart first. {axle.victim}" for axle in explanation.axles if axle.victim
    ]
    lines += _merged(judgement, "void", "do not go by {what} at {where}")
    lines += _merged(judgement, "needless", "leave {what} at {where} for now")
    return tuple(dict.fromkeys(lines))[:_STOPS]


def _merged(judgement: Judgement, kind: str, form: str) -> list[str]:
    """One line for each reason, with every check and wheel end that it holds for."""
    groups: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    checks: dict[tuple[str, str], dict[str, None]] = {}
    for end in judgement.wheel_ends:
        for follow in end.followups:
            if follow.kind == kind and not (kind == "needless" and follow.done):
                name = follow.title if kind == "void" else f"{follow.check} {follow.title}"
                checks.setdefault((follow.because, end.place), {})[name] = None
    for (because, place), found in checks.items():
        groups.setdefault((because, tuple(found)), []).append(place)
    lines = []
    for (because, names), places in groups.items():
        said = form.format(what=" and ".join(names), where=", ".join(places))
        lines.append(f"{said[:1].upper()}{said[1:]}: {because[:1].lower()}{because[1:].rstrip('.')}.")
    return lines


# ---------------------------------------------------------------- paper


def _cut(text: str, longest: int = _LONGEST) -> str:
    plain = shown_text(text)
    return plain if len(plain) <= longest else plain[: longest - 1].rstrip() + "…"


def render_case_letter_pdf(
    letter: CaseLetter, inspection: Inspection, out: Path, *, day: date, paper: str = "a4"
) -> Path:
    """Write the letter as a PDF of one page.

    Parameters
    ----------
    letter : CaseLetter
        What stands in it.
    inspection : Inspection
        For the head.
    out : Path
        The file; replaced if it exists.
    day : date
        Day of the letter.
    paper : {"a4", "us-letter"}
        Size of the paper.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    StorageError
        If the file cannot be written.

    Notes
    -----
    The letters are made smaller until all of it stands on one page.
    """
    steps = []
    for step in letter.steps:
        picture = draw_gauge_place(step.check, step.place)
        drawing = None if picture is None else {"svg": picture.svg, "alt": picture.alt}
        words = {name: _cut(getattr(step, name), longest) for name, longest in _STEP_TEXTS.items()}
        steps.append(words | {"drawing": drawing})
    content = {
        "made_by": MADE_BY,
        "vehicle_id": inspection.vehicle.id,
        "dated": inspection.taken_on.isoformat(),
        "description": _cut(inspection.vehicle.description, 120),
        "day_text": day.isoformat(),
        "found": _cut(letter.found, 560),
        "says": [_cut(text) for text in letter.says][:_SAID],
        "steps": steps,
        "stop": [_cut(text, 200) for text in letter.stop],
        "send": SEND,
        "caution": CAUTION,
        "decides": DECIDES,
    }
    return write_pdf(compile_pdf("letter.typ", content, day=day, paper=paper), out)
