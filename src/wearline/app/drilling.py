"""Practise on a vehicle that does not exist: run a drill, go on with it, score it, keep the result."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from wearline import __version__
from wearline.app.drill_book import DrillBook
from wearline.app.drill_opening import case_digest, case_of, opened_document
from wearline.app.drill_routes import route_from_plain, route_of, route_to_plain
from wearline.assessment.assemble import judge
from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError, StorageError
from wearline.planning.job import plan_job_from
from wearline.planning.results import JobPlan
from wearline.practice.drill import DrillSession
from wearline.practice.drill_cases import DrillCase, level_of, levels
from wearline.practice.drill_commands import End, Reply, answer, replay
from wearline.practice.drill_route import Route
from wearline.practice.drill_score import DrillScore, score_drill

__all__ = [
    "DrillRequest",
    "RunningDrill",
    "drop_drill",
    "finished_drill",
    "read_commands",
    "resume_drill",
    "right_job",
    "run_drill",
]

_FIRST_LEVEL = "1"
_ENTRY = ("id", "person", "level", "seed", "begun", "version", "case")


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
            If the command is not understood or not possible, the drill cannot be saved, or it went on or
            ended somewhere else meanwhile; the drill stays as it is.
        """
        reply = answer(self.session, typed)
        if reply.session.commands != self.session.commands or reply.end in (End.DONE, End.DROP):
            self._refuse_stale()
        if reply.session.commands != self.session.commands:
            self._save(reply.session)
        self.session = reply.session
        if reply.end is End.DONE:
            self._finish(now)
        elif reply.end is End.DROP:
            self.book.drop()
            self.state = "dropped"
        return reply

    def _refuse_stale(self) -> None:
        """The same drill may be open at a terminal and on a page: only who saw its last step goes on."""
        kept = self.book.open_drill()
        if kept is None or kept["id"] != self.entry["id"] or kept["commands"] != list(self.session.commands):
            raise StorageError(
                "the drill went on somewhere else, or ended there",
                where=str(self.book.open_file),
                allowed="one place at a time",
                cure="Open it again: nothing that was done there is lost, and this step was not charged",
            )

    def _save(self, session: DrillSession) -> None:
        self.book.save(_saved(self.entry, session))

    def _finish(self, now: datetime) -> None:
        """Score the drill as a whole, keep the result, and only then close it."""
        score = _scored(self.session, route_of(self.session.case, self.book.folder))
        self._refuse_stale()
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
        case = case_of((level or level_of(_FIRST_LEVEL)).number, seed)
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
            "case": case_digest(case),
        }
        begun = DrillSession.begin(case)
        book.save(_saved(entry, begun))
        return RunningDrill(book, begun, entry, resumed=False)
    other = (level is not None and level.number != kept["level"]) or request.seed not in (None, kept["seed"])
    if other:
        raise InputError(
            f"drill {kept['level']}-{kept['seed']} of {book.person} is not finished",
            where=str(book.open_file),
            allowed="one open drill for each person",
            cure="Leave out --level and --seed to go on with it, or throw it away with --drop",
        )
    return _resumed(book, kept)


def resume_drill(folder: str | Path, person: str) -> RunningDrill | None:
    """Go on with the drill that was broken off.

    Parameters
    ----------
    folder : str or Path
        Folder of the results.
    person : str
        Whose.

    Returns
    -------
    RunningDrill or None
        None where no drill is open; none is begun.

    Raises
    ------
    InputError
        If the name is wrong, or the open drill was made by another version.
    """
    book = DrillBook(folder, person)
    kept = book.open_drill()
    return None if kept is None else _resumed(book, kept)


def _resumed(book: DrillBook, kept: dict[str, Any]) -> RunningDrill:
    entry = {key: value for key, value in kept.items() if key not in ("commands", "minutes")}
    changed = StorageError(
        "the open drill was made by another version of the program and cannot go on",
        where=str(book.open_file),
        cure="Throw it away with --drop; it is not scored",
    )
    number = next((level for level in levels() if level.number == kept["level"]), None)
    if number is None or not isinstance(kept["seed"], int):
        raise changed
    case = case_of(number.number, kept["seed"])
    if kept.get("case") != case_digest(case):
        raise changed
    try:
        session = replay(case, [str(command) for command in kept["commands"]])
    except InputError as error:
        raise changed from error
    return RunningDrill(book, session, entry, resumed=True)


def finished_drill(folder: str | Path, person: str, drill: str) -> RunningDrill:
    """Return a finished drill with its score, to look at it once more.

    Parameters
    ----------
    folder : str or Path
        Folder of the results.
    person : str
        Whose.
    drill : str
        Its id, as in the file of results.

    Returns
    -------
    RunningDrill
        In the state ``finished``; scored again from its commands and its best route.

    Raises
    ------
    StorageError
        If there is no such result, or it was made by another version.
    """
    book = DrillBook(folder, person)
    line = next((line for line in book.results().lines if line.get("id") == drill), None)
    if line is None:
        raise StorageError(
            f"there is no such drill of {book.person}",
            where=drill,
            allowed="a finished drill of the list",
            cure="Go back and choose it from the list",
        )
    changed = StorageError(
        "the drill was made by another version of the program and cannot be explained again",
        where=drill,
        cure="Its points stay in the list",
    )
    if line.get("level") not in [level.number for level in levels()] or not isinstance(line.get("seed"), int):
        raise changed
    case = case_of(line["level"], line["seed"])
    if line.get("case") != case_digest(case):
        raise changed
    try:
        session = replay(case, [str(command) for command in line.get("commands", ())])
    except InputError as error:
        raise changed from error
    entry = {key: line.get(key, "") for key in _ENTRY}
    running = RunningDrill(book, session, entry, resumed=False)
    route = route_from_plain(case, line.get("route")) or route_of(case, book.folder)
    running.score, running.state = _scored(session, route), "finished"
    return running


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


def _saved(entry: dict[str, Any], session: DrillSession) -> dict[str, Any]:
    return entry | {"minutes": session.minutes, "commands": list(session.commands)}


# ---------------------------------------------------------------- scoring


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


def _scored(session: DrillSession, route: Route) -> DrillScore:
    return score_drill(session, right_job(session.case), route)


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
        "route": route_to_plain(score.route),
        "causes": [{"at": mark.at, "code": mark.code, "result": mark.result} for mark in score.causes],
        "commands": list(session.commands),
    }
