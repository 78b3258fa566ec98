"""Papers for a class: cases on paper, and the answers beside them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from wearline.app.drill_answers import SCENARIO
from wearline.app.drill_opening import case_of, opened_document
from wearline.app.drill_routes import route_of
from wearline.app.drill_views import printed, reading_label
from wearline.app.drilling import right_job
from wearline.catalogue.check_model import Check
from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError
from wearline.practice.drill import DrillSession, Taken, drillable_checks
from wearline.practice.drill_cases import DrillCase, Level, level_of, levels
from wearline.practice.drill_route import Route
from wearline.practice.drill_score import lessons_of, needed_work
from wearline.practice.faults import VEHICLE, cause_of
from wearline.reports.class_sheet import (
    AnswerPart,
    CasePart,
    StateCost,
    TableRow,
    render_answer_sheet_pdf,
    render_class_sheet_pdf,
)

if TYPE_CHECKING:
    from wearline.app.drill_types import ClassSheetAnswer

__all__ = ["MOST_CASES", "ClassRequest", "class_cases", "write_class_sheet"]

MOST_CASES = 24
_LESSONS = 6


@dataclass(frozen=True, slots=True)
class ClassRequest:
    """Which papers to write.

    Parameters
    ----------
    out : str or Path
        PDF for the class; the answers stand beside it, ending in ``-answers.pdf``.
    cases : int, 1 to 24
        How many.
    level : str
        Number or name; empty for all levels in turn.
    seed : int
        Seed of the first case; the others follow.
    today : date
        Day printed on the papers.
    folder : str or Path or None, optional
        Folder of the drills, where best routes are stored; None: nowhere.
    """

    out: str | Path
    cases: int
    level: str
    seed: int
    today: date
    folder: str | Path | None = None


def write_class_sheet(request: ClassRequest) -> ClassSheetAnswer:
    """Write the sheet of a class and its answers.

    Parameters
    ----------
    request : ClassRequest
        What to write.

    Returns
    -------
    ClassSheetAnswer
        Files and cases, under schema ``wearline.class-sheet/1``.

    Raises
    ------
    InputError
        If the number of cases, level, seed or file is wrong.
    """
    out = Path(request.out)
    if out.suffix.lower() != ".pdf":
        raise InputError(
            f"a class sheet cannot be written as '{out.suffix or out.name}'",
            where=str(out),
            allowed="a file ending in .pdf",
            cure="Choose such a name",
        )
    answers_out = out.with_name(f"{out.stem}-answers{out.suffix}")
    drawn = class_cases(request)
    parts = [_case_part(case, number) for number, case in enumerate(drawn, start=1)]
    states = _states()
    title = f"{len(drawn)} case{'' if len(drawn) == 1 else 's'}, seed {request.seed}"
    render_class_sheet_pdf(parts, states, out, title=title, scenario=SCENARIO, day=request.today)
    answers = [_answer_part(case, part, request.folder) for case, part in zip(drawn, parts, strict=True)]
    render_answer_sheet_pdf(answers, states, answers_out, title=title, scenario=SCENARIO, day=request.today)
    return {
        "schema": "wearline.class-sheet/1",
        "files": [str(out), str(answers_out)],
        "cases": [
            {"number": n, "level": case.level.number, "seed": case.seed, "vehicle": case.spec.description}
            for n, case in enumerate(drawn, start=1)
        ],
    }


def class_cases(request: ClassRequest) -> list[DrillCase]:
    """Return the cases of a class.

    Parameters
    ----------
    request : ClassRequest
        What is asked for.

    Returns
    -------
    list of DrillCase
        In order.

    Raises
    ------
    InputError
        If the number of cases, level or seed is wrong.
    """
    if not 1 <= request.cases <= MOST_CASES:
        raise InputError(
            f"{request.cases} cases are asked for",
            where="--cases",
            allowed=f"1 to {MOST_CASES}",
            cure="Write several sheets with different seeds",
        )
    return [
        case_of(level.number, request.seed + number)
        for number, level in enumerate(_levels(request.level, request.cases))
    ]


def _levels(asked: str, count: int) -> list[Level]:
    every = [level_of(asked)] if asked else list(levels())
    return [every[number % len(every)] for number in range(count)]


def _states() -> list[StateCost]:
    """What it costs to reach each state; those at hand cost nothing."""
    return [
        StateCost(code, state.title, f"{0.5 * sum(state.minutes):g} min for each {state.per}")
        for code, state in load_catalogue().states.items()
        if code not in ("O", "N")
    ]


# ---------------------------------------------------------------- what the class sees


def _case_part(case: DrillCase, number: int) -> CasePart:
    session = DrillSession.begin(case)
    facts = [("vehicle", case.spec.description), ("duty", case.spec.duty)]
    facts += [
        (reading_label(reading.check), reading.text)
        for each in session.taken
        for reading in each.readings
        if not reading.at
    ]
    rows = _rows(((each.test, each) for each in session.taken), case.places)
    noticed = {end["at"]: ", ".join(end.get("noticed", ())) for end in session.document()["wheel_end"]}
    if any(noticed.values()):
        rows.append(TableRow("noticed", tuple(noticed[place] for place in case.places)))
    vehicle = opened_document(case.looks[0].document).vehicle
    return CasePart(number, vehicle, tuple(facts), case.complaint, case.places, tuple(rows))


def _rows(
    taken: Iterable[tuple[str, Taken]], places: Sequence[str], costs: dict[str, str] | None = None
) -> list[TableRow]:
    """Readings of wheel ends, one row for each field and corner."""
    cells: dict[tuple[str, str, str], dict[str, str]] = {}
    for test, each in taken:
        for reading in each.readings:
            if reading.at:
                cells.setdefault((test, reading.check, reading.spot), {})[reading.at] = printed(reading.text)
    rows = []
    shown: set[str] = set()
    for (test, check, spot), texts in cells.items():
        first = test not in shown and costs is not None
        shown.add(test)
        rows.append(
            TableRow(
                f"{reading_label(check)} {spot}".strip(),
                tuple(texts.get(place, "") for place in places),
                test if first else "",
                costs[test] if first and costs is not None else "",
            )
        )
    return rows


# ---------------------------------------------------------------- what the instructor sees


def _answer_part(case: DrillCase, part: CasePart, folder: str | Path | None) -> AnswerPart:
    route = route_of(case, folder)
    return AnswerPart(
        case=part,
        name=case.name,
        teaches=f"Level {case.level.number}, {case.level.name}. {case.level.about}",
        causes=_cause_lines(case),
        work=_work_lines(case),
        route=_route_steps(route),
        time=_route_time(route),
        rows=tuple(_further_rows(case)),
        lessons=_lesson_lines(case),
    )


def _cause_lines(case: DrillCase) -> tuple[str, ...]:
    lines = []
    for at, code in case.blames:
        place = "the vehicle" if at == VEHICLE else at if at[-1] in "LR" else f"axle {at}"
        root = ", the root" if (at, code) in case.roots else ""
        kind = next(
            (fault.variant for fault in case.truth.get(at, ()) if fault.code == code and fault.variant), ""
        )
        if case.slip is not None and (at, code) == case.blames[-1]:
            kind = case.slip.kind
        lines.append(f"{place}: {code} {cause_of(code).name}{f' ({kind})' if kind else ''}{root}")
    return tuple(lines)


def _work_lines(case: DrillCase) -> tuple[str, ...]:
    plan = right_job(case)
    titles = {work.code: work.title for job in plan.axles for work in job.work}
    lines = []
    for axle in case.axles:
        needed, allowed = needed_work(case, plan, axle)
        if needed or allowed:
            words = (
                ", ".join(f"{code} {titles.get(code, '')}".strip() for code in sorted(needed)) or "nothing"
            )
            more = ", ".join(sorted(allowed - needed))
            lines.append(f"axle {axle}: {words}" + (f"; also right: {more}" if more else ""))
        beside = [work.title for job in plan.axles if job.axle == axle for work in job.also]
        if beside:
            lines.append(f"axle {axle}, beside it: {', '.join(dict.fromkeys(beside))}")
    return tuple(lines) or ("no work",)


def _route_steps(route: Route) -> tuple[tuple[str, str], ...]:
    """Tests with their minutes; none where they do not lead to the causes."""
    if not route.reached:
        return ()
    return tuple(
        (f"{step.test} {step.at}".strip(), f"{step.minutes + step.access:g} min") for step in route.steps
    )


def _route_time(route: Route) -> str:
    if route.reached:
        return f"{route.minutes:g} min until every hidden cause is {100.0 * route.sure:.0f} % probable."
    return f"The diagnosis does not find it in {route.minutes:g} min, when nothing more is worth its time."


def _further_rows(case: DrillCase) -> list[TableRow]:
    """Every reading that did not lie on the table, test by test."""
    given = {each.test for each in DrillSession.begin(case).taken}
    checks = [check for check in drillable_checks(case) if check.id not in given]
    empty = DrillSession(case, ())
    taken = [
        (check.id, Taken(check.id, place, 0.0, 0.0, empty.would_show(check, place)))
        for check in checks
        for place in ([""] if check.per == "vehicle" else case.places)
    ]
    costs = {check.id: _cost(check) for check in checks}
    rows = _rows(taken, case.places, costs)
    for test, each in taken:
        rows += [
            TableRow(f"{reading_label(one.check)}: {one.text}", ("",) * len(case.places), test, costs[test])
            for one in each.readings
            if not one.at
        ]
    return rows


def _cost(check: Check) -> str:
    return f"{check.minutes:g} min, {'+'.join(check.states)}"


def _lesson_lines(case: DrillCase) -> tuple[str, ...]:
    session = DrillSession.begin(case)
    for check in drillable_checks(case):
        if not any(each.test == check.id for each in session.taken):
            for place in (
                [""] if check.per == "vehicle" else case.axles if check.per == "axle" else case.places
            ):
                if session.would_show(check, place):
                    session = session.take(check.id, place, "")
    seen, _ = lessons_of(session)
    lines: list[str] = []
    for _, code in case.blames:
        lines += [lesson.text for lesson in seen if lesson.cause == code][:_LESSONS]
    return tuple(lines)
