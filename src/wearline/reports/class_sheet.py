"""Papers of a class: a sheet of cases to be worked on with pencil, and the instructor's answers.

The class asks for tests aloud; the instructor reads the values from the answer sheet and counts the minutes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import Any

from wearline.records.inspection import Vehicle
from wearline.reports.content import DECIDES, MADE_BY
from wearline.reports.document import compile_pdf, write_pdf
from wearline.reports.vehicle_drawing import draw_vehicle

__all__ = [
    "AnswerPart",
    "CasePart",
    "StateCost",
    "TableRow",
    "render_answer_sheet_pdf",
    "render_class_sheet_pdf",
]

_WRITING_LINES = 12


@dataclass(frozen=True, slots=True)
class TableRow:
    """One line of a table of readings.

    Parameters
    ----------
    label : str
        What was read.
    cells : tuple of str
        One for each wheel end, in their order; empty where nothing was taken.
    test : str
        Check that gives it; empty where it does not matter.
    cost : str
        Its minutes and state; empty where it does not matter.
    """

    label: str
    cells: tuple[str, ...]
    test: str = ""
    cost: str = ""


@dataclass(frozen=True, slots=True)
class CasePart:
    """What the class sees of one case.

    Parameters
    ----------
    number : int
        From 1.
    vehicle : Vehicle
        For the drawing.
    facts : tuple of (str, str)
        Name and value of what is known of the vehicle.
    complaint : str
        What the driver says.
    places : tuple of str
        Wheel ends.
    rows : tuple of TableRow
        Readings with the wheels on.
    """

    number: int
    vehicle: Vehicle
    facts: tuple[tuple[str, str], ...]
    complaint: str
    places: tuple[str, ...]
    rows: tuple[TableRow, ...]


@dataclass(frozen=True, slots=True)
class AnswerPart:
    """What the instructor sees of one case.

    Parameters
    ----------
    case : CasePart
        What the class sees.
    name : str
        Name of the drill, to run it at the terminal.
    teaches : str
        What its level teaches.
    causes : tuple of str
        The hidden causes in words, roots first.
    work : tuple of str
        The right job, axle by axle.
    route : tuple of (str, str)
        Tests of the best route with their minutes.
    time : str
        What the best route comes to.
    rows : tuple of TableRow
        Every further reading.
    lessons : tuple of str
        What the readings say and would say without each cause.
    """

    case: CasePart
    name: str
    teaches: str
    causes: tuple[str, ...]
    work: tuple[str, ...]
    route: tuple[tuple[str, str], ...]
    time: str
    rows: tuple[TableRow, ...]
    lessons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StateCost:
    """What it takes to reach a state.

    Parameters
    ----------
    code, title, minutes : str
        Letter, words, and middle time with what it is spent on.
    """

    code: str
    title: str
    minutes: str


def _case_data(case: CasePart) -> dict[str, Any]:
    return {
        "number": case.number,
        "drawing": {
            "svg": draw_vehicle(case.vehicle),
            "alt": "The vehicle from above, front up, with the names of its wheel ends.",
        },
        "facts": [list(fact) for fact in case.facts],
        "complaint": case.complaint,
        "places": list(case.places),
        "rows": [asdict(row) for row in case.rows],
    }


def _frame(title: str, scenario: str, day: date) -> dict[str, Any]:
    return {
        "made_by": MADE_BY,
        "vehicle_id": title,
        "dated": day.isoformat(),
        "scenario": scenario,
        "decides": DECIDES,
    }


def render_class_sheet_pdf(
    cases: Sequence[CasePart],
    states: Sequence[StateCost],
    out: Path,
    *,
    title: str,
    scenario: str,
    day: date,
    paper: str = "a4",
) -> Path:
    """Write the sheet for the class, one page to a case.

    Parameters
    ----------
    cases : sequence of CasePart
        The cases.
    states : sequence of StateCost
        Price of every state.
    out : Path
        The file; replaced if it exists.
    title, scenario : str
        Head of the sheet; that the cases are invented.
    day : date
        Day of the sheet.
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
    """
    content = _frame(title, scenario, day) | {
        "cases": [_case_data(case) for case in cases],
        "states": [asdict(state) for state in states],
        "lines": _WRITING_LINES,
    }
    return write_pdf(compile_pdf("class.typ", content, day=day, paper=paper), out)


def render_answer_sheet_pdf(
    answers: Sequence[AnswerPart],
    states: Sequence[StateCost],
    out: Path,
    *,
    title: str,
    scenario: str,
    day: date,
    paper: str = "a4",
) -> Path:
    """Write the instructor's answers.

    Parameters
    ----------
    answers : sequence of AnswerPart
        The cases with their truth.
    states : sequence of StateCost
        Price of every state.
    out : Path
        The file; replaced if it exists.
    title, scenario : str
        Head of the sheet; that the cases are invented.
    day : date
        Day of the sheet.
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
    """
    content = _frame(title, scenario, day) | {
        "states": [asdict(state) for state in states],
        "answers": [
            {
                "case": _case_data(answer.case),
                "name": answer.name,
                "teaches": answer.teaches,
                "causes": list(answer.causes),
                "work": list(answer.work),
                "route": [list(step) for step in answer.route],
                "time": answer.time,
                "rows": [asdict(row) for row in answer.rows],
                "lessons": list(answer.lessons),
            }
            for answer in answers
        ],
    }
    return write_pdf(compile_pdf("class-answers.typ", content, day=day, paper=paper), out)
