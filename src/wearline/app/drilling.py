"""Practise on a vehicle that does not exist: run a drill, go on with it, score it, keep the result."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from wearline import __version__
from wearline.app.drill_book import DrillBook
from wearline.assessment.assemble import judge
from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError, StorageError
from wearline.ingest.document import inspection_from_document
from wearline.planning.job import plan_job_from
from wearline.planning.results import JobPlan
from wearline.practice.documents import Document
from wearline.practice.drill import DrillSession
from wearline.practice.drill_cases import DrillCase, draw_case, level_of, levels
from wearline.practice.drill_commands import End, Reply, answer, replay
from wearline.practice.drill_route import best_route
from wearline.practice.drill_score import DrillScore, score_drill
from wearline.records.inspection import Inspection

__all__ = [
    "DrillRequest",
    "RunningDrill",
    "drop_drill",
    "opened_document",
    "read_commands",
    "right_job",
    "run_drill",
]

_FIRST_LEVEL = "1"


@dataclass(frozen=True, slots=True)
class DrillRequest:
    """Which drill, and whose.

    Parameters
    ----------
    person : str
        Name under which the result is kept.
    folder : str or Path
        Folder of the results.
    now : datetime
        Time of asking.
    fresh_seed : int
        Seed of a new drill for which none is named.
    level : str, optional
        Number or name; empty: that of the open drill, else the first.
    seed : int or None, optional
        Seed; None: that of the open drill, else ``fresh_seed``.
    """

    person: str
    folder: str | Path
    now: datetime
    fresh_seed: int
    level: str = ""
    seed: int | None = None


class RunningDrill:
    """A drill between two commands; saved after each of them.

    Parameters
    ----------
    book : DrillBook
        Where it is saved.
    session : DrillSession
        The drill.
    entry : dict
        What is saved of it besides its commands.
    resumed : bool
        Whether it was broken off before.
    """

    def __init__(
        self, book: DrillBook, session: DrillSession, entry: dict[str, Any], *, resumed: bool
    ) -> None:
        self.book = book
        self.session = session
        self.entry = entry
        self.resumed = resumed
        self.state = "open"
        self.score: DrillScore | None = None

    def command(self, typed: str, now: datetime) -> Reply:
        """Carry out one command, and save the drill.

        Parameters
        ----------
        typed : str
            What the person typed.
        now : datetime
            Time of the command.

        Returns
        -------
        Reply
            The answer; after ``done`` the score stands in ``score``.

        Raises
        ------
        InputError
            If the command is not understood or not possible, or the drill cannot be saved; the drill stays
            as it is.
        """
        reply = answer(self.session, typed)
        if reply.session.commands != self.session.commands:
            self._save(reply.session)
        self.session = reply.session
        if reply.end is End.DONE:
            self._finish(now)
        elif reply.end is End.DROP:
            self.book.drop()
            self.state = "dropped"
        return reply

    def _save(self, session: DrillSession) -> None:
        self.book.save(self.entry | {"commands": list(session.commands)})

    def _finish(self, now: datetime) -> None:
        """Score the drill as a whole, keep the result, and only then close it."""
        score = _scored(self.session)
        self.book.append(_result(self.entry, self.session, score, now))
        self.book.drop()
        self.score, self.state = score, "finished"


def run_drill(request: DrillRequest) -> RunningDrill:
    """Begin a drill, or go on with the one that was broken off.

    Parameters
    ----------
    request : DrillRequest
        Which drill, and whose.

    Returns
    -------
    RunningDrill
        The drill; saved from its first moment on.

    Raises
    ------
    InputError
        If level, seed or name are wrong; if another drill of this person is open; if the open drill was made
        by another version.
    """
    book = DrillBook(request.folder, request.person)
    kept = book.open_drill()
    level = level_of(request.level) if request.level else None
    if kept is None:
        seed = request.fresh_seed if request.seed is None else request.seed
        case = draw_case(level or level_of(_FIRST_LEVEL), seed)
        entry = {
            "schema": "wearline.open-drill/1",
            "id": hashlib.sha256(f"{book.person}|{case.name}|{request.now.isoformat()}".encode()).hexdigest()[
                :16
            ],
            "person": book.person,
            "level": case.level.number,
            "seed": case.seed,
            "begun": request.now.isoformat(timespec="seconds"),
            "version": __version__,
            "case": _digest(case),
        }
        book.save(entry | {"commands": []})
        return RunningDrill(book, DrillSession.begin(case), entry, resumed=False)
    other = (level is not None and level.number != kept["level"]) or request.seed not in (None, kept["seed"])
    if other:
        raise InputError(
            f"drill {kept['level']}-{kept['seed']} of {book.person} is not finished",
            where=str(book.open_file),
            allowed="one open drill for each person",
            cure="Leave out --level and --seed to go on with it, or throw it away with --drop",
        )
    return _resumed(book, kept)


def _resumed(book: DrillBook, kept: dict[str, Any]) -> RunningDrill:
    entry = {key: value for key, value in kept.items() if key != "commands"}
    changed = StorageError(
        "the open drill was made by another version of the program and cannot go on",
        where=str(book.open_file),
        cure="Throw it away with --drop; it is not scored",
    )
    number = next((level for level in levels() if level.number == kept["level"]), None)
    if number is None or not isinstance(kept["seed"], int):
        raise changed
    case = draw_case(number, kept["seed"])
    if kept.get("case") != _digest(case):
        raise changed
    try:
        session = replay(case, [str(command) for command in kept["commands"]])
    except InputError as error:
        raise changed from error
    return RunningDrill(book, session, entry, resumed=True)


def drop_drill(folder: str | Path, person: str) -> bool:
    """Throw the open drill of a person away, without a score.

    Parameters
    ----------
    folder : str or Path
        Folder of the results.
    person : str
        Whose.

    Returns
    -------
    bool
        Whether there was one.

    Raises
    ------
    InputError
        If the name is wrong or the file cannot be removed.
    """
    return DrillBook(folder, person).drop()


def read_commands(path: str | Path) -> list[str]:
    """Return the commands of a file, one to a line; what follows ``#`` is a remark.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    list of str
        One for each line, empty ones included, so that line numbers hold.

    Raises
    ------
    InputError
        If the file cannot be read as text.
    """
    try:
        text = Path(path).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(
            f"the commands cannot be read: {getattr(error, 'strerror', None) or 'it is not plain text'}",
            where=str(path),
            allowed="a text file with one command to a line",
            cure="Check the name of the file",
        ) from error
    return [line.partition("#")[0].strip() for line in text.splitlines()]


def _digest(case: DrillCase) -> str:
    documents = [look.document for look in case.looks]
    return hashlib.sha256(json.dumps(documents, default=str, sort_keys=True).encode()).hexdigest()[:16]


# ---------------------------------------------------------------- scoring


def opened_document(document: Document) -> Inspection:
    """Return the facts of a simulated inspection.

    Parameters
    ----------
    document : dict
        Its tables.

    Returns
    -------
    Inspection
        The facts.
    """
    day = document["inspection"]["taken_on"]
    return inspection_from_document(document, where="drill", today=day, catalogue=load_catalogue())


def right_job(case: DrillCase) -> JobPlan:
    """Return the job that a complete inspection without slips asks for.

    Parameters
    ----------
    case : DrillCase
        The case.

    Returns
    -------
    JobPlan
        The job.
    """
    inspection = opened_document(case.looks[-1].document)
    return plan_job_from(inspection, judge(inspection, load_catalogue()), load_catalogue())


def _scored(session: DrillSession) -> DrillScore:
    return score_drill(session, right_job(session.case), best_route(session.case, opened_document))


def _result(entry: dict[str, Any], session: DrillSession, score: DrillScore, now: datetime) -> dict[str, Any]:
    return entry | {
        "schema": "wearline.drill-result/1",
        "finished": now.isoformat(timespec="seconds"),
        "points": round(score.points, 2),
        "cause_points": round(score.cause_points, 2),
        "work_points": round(score.work_points, 2),
        "time_points": None if score.time_points is None else round(score.time_points, 2),
        "minutes": score.minutes,
        "best_minutes": score.route.minutes if score.route.reached else None,
        "causes": [{"at": mark.at, "code": mark.code, "result": mark.result} for mark in score.causes],
        "commands": list(session.commands),
    }
