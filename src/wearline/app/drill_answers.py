"""A drill in words and as JSON values: its opening, its score, and how a person gets on."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from wearline.app.drill_book import DrillBook
from wearline.errors import InputError
from wearline.practice.drill import Taken
from wearline.practice.drill_cases import levels
from wearline.practice.drill_commands import reading_table
from wearline.practice.drill_score import DrillScore, Lesson, WorkMark

if TYPE_CHECKING:
    from wearline.app.drill_types import DrillAnswer, DrillScoreJson, LessonJson, ProgressAnswer, TakenJson
    from wearline.app.drilling import RunningDrill

__all__ = [
    "SCENARIO",
    "drill_answer",
    "opening_lines",
    "progress_answer",
    "progress_lines",
    "route_words",
    "score_lines",
    "write_progress_plot",
]

SCENARIO = "An invented vehicle: readings, faults and driver are made up by a simulation."

_WIDTH = 100


def _wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent=indent, subsequent_indent=f"{indent}  ")


def opening_lines(running: RunningDrill) -> list[str]:
    """Return what a person reads when a drill begins or goes on.

    Parameters
    ----------
    running : RunningDrill
        The drill.

    Returns
    -------
    list of str
        The vehicle, the complaint and the readings with the wheels on.
    """
    session = running.session
    case = session.case
    axles = ", ".join(f"{axle.id} {axle.role}" for axle in case.spec.axles)
    lines = [
        f"Drill {case.name}, level {case.level.number}: {case.level.name}. {case.level.about}",
        SCENARIO,
        "",
        f"{case.spec.description}; duty: {case.spec.duty}; axles: {axles}.",
        case.complaint,
        "",
        *reading_table(session, case.places),
        "",
    ]
    if running.resumed:
        lines.append(
            f"Going on where it was broken off: {len(session.asked)} tests, {session.minutes:g} min so far."
        )
    return [*lines, "Ask for tests, blame causes, order the job, then 'done'. 'help' lists the words."]


def score_lines(score: DrillScore) -> list[str]:
    """Return a score as lines.

    Parameters
    ----------
    score : DrillScore
        The score.

    Returns
    -------
    list of str
        Points, causes, work, time against the best route, and what each reading should have said.
    """
    parts = [f"causes {score.cause_points:.0f}", f"work {score.work_points:.0f}"]
    parts.append("time not scored" if score.time_points is None else f"time {score.time_points:.0f}")
    lines = [f"{score.points:.0f} of 100 points ({', '.join(parts)})", "", "Causes"]
    for mark in score.causes:
        lines += _wrapped(mark.said, "  ")
    lines += ["", "Work"]
    lines += [line for mark in score.work for line in _work_lines(mark)]
    lines += ["", "Time", *_wrapped(_time_words(score), "  ")]
    if score.route.reached:
        lines += _wrapped(f"Best route: {route_words(score.route.steps)}.", "  ")
    lines += _lesson_lines("What the readings should have said", score.lessons)
    return [*lines, *_lesson_lines("Not asked for, and would have shown it", score.unseen)]


def _work_lines(mark: WorkMark) -> list[str]:
    if not mark.ordered and not mark.needed:
        return []
    said = f"axle {mark.axle}: ordered {_codes(mark.ordered)}; the findings ask for {_codes(mark.needed)}"
    said += f"; forgotten: {_codes(mark.missing)}" if mark.missing else ""
    said += f"; needless: {_codes(mark.needless)}" if mark.needless else ""
    return _wrapped(f"{said}.", "  ")


def _codes(codes: Sequence[str]) -> str:
    return ", ".join(codes) or "nothing"


def _time_words(score: DrillScore) -> str:
    own = f"You took {score.minutes:g} min"
    route = score.route
    if route.reached:
        return f"{own}; the best route needs {route.minutes:g} min to be {100.0 * route.sure:.0f} % sure."
    return (
        f"{own}. The diagnosis itself does not find the causes in {route.minutes:g} min, when nothing more "
        "is worth its time, so time is not scored here."
    )


def route_words(steps: Sequence[Taken]) -> str:
    """Return the tests of a route in one line.

    Parameters
    ----------
    steps : sequence of Taken
        The tests.

    Returns
    -------
    str
        As ``"F2 2R, F3 2R"``.
    """
    return (
        ", ".join(f"{step.test} {step.at}".strip() for step in steps)
        or "no test, what lies on the table is enough"
    )


def _lesson_lines(title: str, lessons: Sequence[Lesson]) -> list[str]:
    if not lessons:
        return []
    return ["", title, *(line for lesson in lessons for line in _wrapped(lesson.text, "  "))]


# ---------------------------------------------------------------- answers


def drill_answer(running: RunningDrill) -> DrillAnswer:
    """Return a drill as JSON values.

    Parameters
    ----------
    running : RunningDrill
        The drill.

    Returns
    -------
    DrillAnswer
        Under schema ``wearline.drill/1``; the score only where the drill is finished.
    """
    session, case = running.session, running.session.case
    return {
        "schema": "wearline.drill/1",
        "state": running.state,
        "resumed": running.resumed,
        "person": running.book.person,
        "level": {"number": case.level.number, "name": case.level.name},
        "seed": case.seed,
        "vehicle": case.spec.description,
        "complaint": case.complaint,
        "given": [_taken(each) for each in session.taken if each.given],
        "tests": [_taken(each) for each in session.asked],
        "minutes": session.minutes,
        "causes": [{"at": at, "code": code} for at, code in session.causes],
        "work": [{"axle": axle, "code": code} for axle, code in session.work],
        "score": None if running.score is None else _score(running.score),
        "scenario": SCENARIO,
    }


def _taken(each: Taken) -> TakenJson:
    return {
        "test": each.test,
        "at": each.at,
        "minutes": each.minutes,
        "access_minutes": each.access,
        "readings": [
            {"at": one.at, "check": one.check, "spot": one.spot, "text": one.text} for one in each.readings
        ],
    }


def _score(score: DrillScore) -> DrillScoreJson:
    return {
        "points": round(score.points, 2),
        "cause_points": round(score.cause_points, 2),
        "work_points": round(score.work_points, 2),
        "time_points": None if score.time_points is None else round(score.time_points, 2),
        "causes": [
            {
                "at": mark.at,
                "code": mark.code,
                "name": mark.name,
                "result": mark.result,
                "root": mark.root,
                "said": mark.said,
            }
            for mark in score.causes
        ],
        "work": [
            {
                "axle": mark.axle,
                "ordered": list(mark.ordered),
                "needed": list(mark.needed),
                "missing": list(mark.missing),
                "needless": list(mark.needless),
            }
            for mark in score.work
        ],
        "minutes": score.minutes,
        "best_minutes": score.route.minutes,
        "best_route_found_it": score.route.reached,
        "best_route": [
            {"test": step.test, "at": step.at, "minutes": step.minutes + step.access}
            for step in score.route.steps
        ],
        "lessons": [_lesson(lesson) for lesson in score.lessons],
        "unseen": [_lesson(lesson) for lesson in score.unseen],
    }


def _lesson(lesson: Lesson) -> LessonJson:
    return {
        "at": lesson.at,
        "check": lesson.check,
        "spot": lesson.spot,
        "cause": lesson.cause,
        "written": lesson.written,
        "true": lesson.true,
        "without": lesson.without,
        "text": lesson.text,
    }


# ---------------------------------------------------------------- progress


def progress_answer(folder: str | Path, person: str) -> ProgressAnswer:
    """Return what a person has done so far as JSON values.

    Parameters
    ----------
    folder : str or Path
        Folder of the results.
    person : str
        Whose.

    Returns
    -------
    ProgressAnswer
        Under schema ``wearline.drill-progress/1``.

    Raises
    ------
    InputError
        If the name is wrong or the file cannot be read.
    """
    book = DrillBook(folder, person)
    results = book.results()
    return {
        "schema": "wearline.drill-progress/1",
        "person": book.person,
        "drills": [
            {
                "id": str(line.get("id", "")),
                "finished": str(line.get("finished", "")),
                "level": int(line.get("level", 0)),
                "seed": int(line.get("seed", 0)),
                "points": float(line["points"]),
                "minutes": float(line.get("minutes", 0.0)),
                "best_minutes": line.get("best_minutes"),
            }
            for line in results.lines
        ],
        "unreadable_lines": results.unreadable,
        "file": str(book.results_file),
    }


def progress_lines(progress: ProgressAnswer) -> list[str]:
    """Return what a person has done so far as lines.

    Parameters
    ----------
    progress : ProgressAnswer
        As from ``progress_answer``.

    Returns
    -------
    list of str
        One line for each drill, and the means by level.
    """
    names = {level.number: level.name for level in levels()}
    drills = progress["drills"]
    lines = [f"Drills of {progress['person']}: {len(drills)} finished"]
    for number, drill in enumerate(drills, start=1):
        best = "" if drill["best_minutes"] is None else f", best {drill['best_minutes']:g}"
        name = names.get(drill["level"], "?")
        lines.append(
            f"{number:>4}. {drill['finished'][:10]}  level {drill['level']} ({name})"
            f"  {drill['points']:.0f} points  {drill['minutes']:g} min{best}"
        )
    for level, name in names.items():
        points = [drill["points"] for drill in drills if drill["level"] == level]
        if points:
            lines.append(
                f"level {level} ({name}): mean {sum(points) / len(points):.0f} points of {len(points)}"
            )
    if progress["unreadable_lines"]:
        lines.append(
            f"{progress['unreadable_lines']} lines of {progress['file']} cannot be read and are left out."
        )
    return lines


def write_progress_plot(progress: ProgressAnswer, out: str | Path) -> str:
    """Draw the points of a person over the drills.

    Parameters
    ----------
    progress : ProgressAnswer
        As from ``progress_answer``.
    out : str or Path
        File ending in .svg, .png or .pdf.

    Returns
    -------
    str
        The file.

    Raises
    ------
    InputError
        If there is nothing to draw, or the file cannot be written.
    """
    from wearline.reports.drill_plot import progress_chart
    from wearline.reports.plots import write_chart

    if not progress["drills"]:
        raise InputError(
            f"{progress['person']} has finished no drill",
            where=progress["file"],
            allowed="at least one finished drill",
            cure="Finish one first, or check --person and --results",
        )
    names = {level.number: level.name for level in levels()}
    points = [
        (drill["points"], names.get(drill["level"], f"level {drill['level']}"))
        for drill in progress["drills"]
    ]
    return str(write_chart(progress_chart(progress["person"], points, tuple(names.values())), out))
