"""Whose drill a request is about, and one step of it: no step twice, none from a page that is out of date."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import wraps
from typing import TypeVar
from urllib.parse import quote

from wearline.app.drill_book import DrillBook, is_folder_fault
from wearline.app.drilling import RunningDrill, resume_drill
from wearline.catalogue.job_choice import load_job_choice
from wearline.errors import InputError, StorageError
from wearline.practice.drill import DrillSession
from wearline.practice.drill_commands import answer, replay
from wearline.practice.faults import cause_of
from wearline.web.asking import Ask, Sent
from wearline.web.refusals import Refusal

__all__ = [
    "DrillHead",
    "book_of",
    "carry_out",
    "head_of",
    "in_order",
    "opened",
    "person_of",
    "same_drill",
    "way_to",
]

OPEN_AGAIN = "Open the page 'Drills' and go on from there"


@dataclass(frozen=True, slots=True)
class DrillHead:
    """What every page of an open drill has at its head.

    Parameters
    ----------
    person : str
        Whose drill.
    query : str
        What a link carries so that it leads to this person's drill.
    id : str
        Its id.
    step : int
        How many commands it has; a form says it, so that an old page is noticed.
    name : str
        Level and seed, as ``"4-1"``.
    level, seed : int
        The case.
    level_name, about : str
        What the level teaches.
    vehicle, duty : str
        Which vehicle.
    axles : tuple of (str, str)
        Axle and its role.
    complaint : str
        What the driver says.
    minutes : float, [min]
        Time spent so far.
    tests : int
        Tests asked for.
    causes : tuple of (str, str, str)
        Place, code and name of each cause blamed.
    work : tuple of (str, str, str)
        Axle, code and words of each order.
    no_cause, no_work : bool
        Whether the person says that there is none.
    scoring : bool
        Whether it is being scored.
    """

    person: str
    query: str
    id: str
    step: int
    name: str
    level: int
    seed: int
    level_name: str
    about: str
    vehicle: str
    duty: str
    axles: tuple[tuple[str, str], ...]
    complaint: str
    minutes: float
    tests: int
    causes: tuple[tuple[str, str, str], ...]
    work: tuple[tuple[str, str, str], ...]
    no_cause: bool
    no_work: bool
    scoring: bool


def person_of(ask: Ask, given: str) -> str:
    """Return whose drills a request is about.

    Parameters
    ----------
    ask : Ask
        The question.
    given : str
        Name that it carries; empty where it carries none.

    Returns
    -------
    str
        The account; where no login is needed the name that was typed, empty where none was.

    Raises
    ------
    Refusal
        Status 403 if it names somebody else, 422 if the name is no name.
    """
    if ask.person.way != "loopback":
        if given and given != ask.person.name:
            raise Refusal(
                403,
                "this is the drill of another person",
                where="person",
                allowed="drills of the account that is logged in",
                cure=OPEN_AGAIN,
            )
        return ask.person.name
    if not given.strip():
        return ""
    return book_of(ask, given).person


def book_of(ask: Ask, person: str) -> DrillBook:
    """Return the book of a person.

    Parameters
    ----------
    ask : Ask
        The question.
    person : str
        Whose.

    Returns
    -------
    DrillBook
        The book.

    Raises
    ------
    Refusal
        If the name is no name.
    """
    try:
        return DrillBook(ask.drills.folder, person)
    except InputError as error:
        raise Refusal(
            422, error.what, where="name", allowed=error.allowed, cure="Type a name under which to keep them"
        ) from None


def way_to(ask: Ask, person: str) -> str:
    """Return what a link carries so that it leads to a person's drills.

    Parameters
    ----------
    ask : Ask
        The question.
    person : str
        Whose.

    Returns
    -------
    str
        Empty where the login says it.
    """
    return f"person={quote(person, safe='')}" if ask.person.way == "loopback" and person else ""


def opened(ask: Ask, person: str) -> RunningDrill:
    """Return the open drill of a person.

    Parameters
    ----------
    ask : Ask
        The question.
    person : str
        Whose.

    Returns
    -------
    RunningDrill
        As it was saved last.

    Raises
    ------
    Refusal
        Status 404 if none is open, 409 if another version made it.
    """
    if not person:
        raise Refusal(422, "nobody is named", where="person", allowed="a name", cure=OPEN_AGAIN)
    try:
        running = resume_drill(ask.drills.folder, person)
    except InputError as error:
        if is_folder_fault(error):
            raise
        raise Refusal(
            409, error.what, where="drill", cure="Drop it on the page 'Drills'; it is not scored"
        ) from None
    if running is None:
        raise Refusal(
            404, f"no drill of {person} is open", where="drill", allowed="an open drill", cure=OPEN_AGAIN
        )
    return running


def head_of(ask: Ask, running: RunningDrill) -> DrillHead:
    """Return the head of the pages of a drill.

    Parameters
    ----------
    ask : Ask
        The question.
    running : RunningDrill
        The drill.

    Returns
    -------
    DrillHead
        Nothing of what is hidden.
    """
    session, case = running.session, running.session.case
    titles = load_job_choice()
    return DrillHead(
        person=running.book.person,
        query=way_to(ask, running.book.person),
        id=str(running.entry["id"]),
        step=len(session.commands),
        name=case.name,
        level=case.level.number,
        seed=case.seed,
        level_name=case.level.name,
        about=case.level.about,
        vehicle=case.spec.description,
        duty=case.spec.duty,
        axles=tuple((axle.id, axle.role) for axle in case.spec.axles),
        complaint=case.complaint,
        minutes=session.minutes,
        tests=len(session.asked),
        causes=tuple((at, code, cause_of(code).name) for at, code in session.causes),
        work=tuple((axle, code, titles.title(code)) for axle, code in session.work),
        no_cause=session.no_cause,
        no_work=session.no_work,
        scoring=ask.drills.awaits(str(running.entry["id"])),
    )


_Asked = TypeVar("_Asked")
_Made = TypeVar("_Made")


def in_order(do: Callable[[_Asked], _Made]) -> Callable[[_Asked], _Made]:
    """Return what a page or form does, with faults of the folder told without naming its place on the server.

    Parameters
    ----------
    do : callable
        What it does.

    Returns
    -------
    callable
        The same; it raises a refusal with status 503 where the folder cannot be read or written, and 409
        where what is kept contradicts.
    """

    @wraps(do)
    def done(asked: _Asked) -> _Made:
        try:
            return do(asked)
        except StorageError as error:
            folder = is_folder_fault(error)
            cure = "Ask whoever runs the program: it must be able to write to the folder of the drills"
            raise Refusal(
                503 if folder else 409,
                error.what,
                where="drill",
                allowed=error.allowed,
                cure=cure if folder else OPEN_AGAIN,
            ) from None

    return done


# ---------------------------------------------------------------- one step


def same_drill(sent: Sent, person: str) -> RunningDrill:
    """Return the open drill if it is the one that a form is about.

    Parameters
    ----------
    sent : Sent
        The form, with the id of the drill.
    person : str
        Whose.

    Returns
    -------
    RunningDrill
        The drill.

    Raises
    ------
    Refusal
        Status 409 if another one is open, or this one is being scored.
    """
    running = opened(sent.ask, person)
    if running.entry["id"] != sent.text("drill"):
        raise _stale("the form belongs to a drill that has ended")
    if sent.ask.drills.awaits(str(running.entry["id"])):
        raise Refusal(
            409,
            "the drill is being scored and takes no further step",
            where="drill",
            cure="Wait for the score on the page of the drill",
        )
    return running


def carry_out(sent: Sent, running: RunningDrill, words_of: Callable[[DrillSession], Sequence[str]]) -> None:
    """Carry out the commands of a form, unless it was filled in on a page that is out of date.

    Parameters
    ----------
    sent : Sent
        The form, with the step at which its page was made.
    running : RunningDrill
        The drill.
    words_of : callable
        Gives the commands of the form for a drill at one moment, or refuses them.

    Raises
    ------
    Refusal
        Status 409 if the drill went on since, and not by this very form; 422 if a command is not possible.
    """
    commands, step = running.session.commands, sent.text("step", 9)
    if not step.isascii() or not step.isdigit() or int(step) > len(commands):
        raise _stale("the form does not say on which step of the drill it was filled in")
    if int(step) < len(commands):
        # sent twice, as by a second press on the same button: it is done already
        earlier = replay(running.session.case, commands[: int(step)])
        if _after(earlier, words_of).commands == commands:
            return
        raise _stale("the drill moved on since this page was made, in another window or at a terminal")
    words = words_of(running.session)
    _after(running.session, lambda _: words)
    for typed in words:
        running.command(typed, sent.ask.shop.now)


def _after(session: DrillSession, words_of: Callable[[DrillSession], Sequence[str]]) -> DrillSession:
    try:
        for typed in words_of(session):
            session = answer(session, typed).session
    except Refusal:
        raise
    except InputError as error:
        raise Refusal(
            422, error.what, where=error.where, allowed=error.allowed, cure="Go back and choose again"
        ) from None
    return session


def _stale(what: str) -> Refusal:
    return Refusal(
        409,
        what,
        where="drill",
        allowed="a form of the page as it is now",
        cure=f"{OPEN_AGAIN}; nothing was charged for this form",
    )
