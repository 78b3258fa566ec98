"""Drills: choose one, look at its readings, ask for tests. Decisions and score have pages of their own."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter

from wearline.app.drill_answers import progress_answer
from wearline.app.drill_book import OpenDrill, is_folder_fault, open_drills
from wearline.app.drill_opening import case_of
from wearline.app.drill_views import (
    PricedPlace,
    ReadingRow,
    StateGroup,
    TakenRow,
    priced_places,
    reading_rows,
    state_groups,
    taken_rows,
    vehicle_facts,
)
from wearline.app.drilling import DrillRequest, RunningDrill, drop_drill, run_drill
from wearline.catalogue.check_model import Check
from wearline.catalogue.loading import load_catalogue
from wearline.errors import ProgramFault, StorageError
from wearline.practice.drill import DrillSession, drillable_checks
from wearline.practice.drill_cases import levels
from wearline.practice.drill_commands import how_facts
from wearline.reports.content_model import Picture
from wearline.reports.gauge_drawings import draw_gauge_place
from wearline.web.asking import Ask, Sent, add_form, add_page
from wearline.web.drill_chart import draw_progress
from wearline.web.drill_desk import route_part
from wearline.web.drill_steps import (
    OPEN_AGAIN,
    DrillHead,
    book_of,
    carry_out,
    head_of,
    in_order,
    opened,
    person_of,
    same_drill,
    way_to,
)
from wearline.web.refusals import Refusal

__all__ = ["DrillPage", "DrillTestPage", "DrillsPage", "router"]

router = APIRouter()

_GREATEST_SEED = 999_999_999


# ---------------------------------------------------------------- choosing


@dataclass(frozen=True, slots=True)
class LevelLine:
    """One level to choose.

    Parameters
    ----------
    number : int
        Its number.
    name, about : str
        What it teaches.
    """

    number: int
    name: str
    about: str


@dataclass(frozen=True, slots=True)
class ResultLine:
    """One finished drill.

    Parameters
    ----------
    id : str
        Its id; empty where it cannot be opened again.
    finished : str
        Day.
    level, seed : int
        The case.
    level_name : str
        What it teaches.
    points : float
        0 to 100.
    minutes : float, [min]
        Time spent.
    best_minutes : float or None, [min]
        Time of the best route.
    """

    id: str
    finished: str
    level: int
    seed: int
    level_name: str
    points: float
    minutes: float
    best_minutes: float | None


@dataclass(frozen=True, slots=True)
class DrillsPage:
    """The page on which a drill is chosen.

    Parameters
    ----------
    person, query : str
        Whose drills, and what a link to them carries; empty where a name has to be typed first.
    typed : bool
        Whether the name is typed, and not that of an account.
    levels : tuple of LevelLine
        Levels to choose from.
    open : tuple of OpenDrill
        Drills that are not finished: of this person, or of everybody where no name was typed yet.
    broken : str
        Why the open drill cannot go on; empty where it can.
    results : tuple of ResultLine
        Finished drills, the latest first.
    unreadable : int
        Lines of the results that cannot be read.
    progress : Picture or None
        Points over the drills.
    """

    person: str
    query: str
    typed: bool
    levels: tuple[LevelLine, ...]
    open: tuple[OpenDrill, ...]
    broken: str
    results: tuple[ResultLine, ...]
    unreadable: int
    progress: Picture | None


def _drills(ask: Ask) -> DrillsPage:
    ask.drills.prepare()
    person = person_of(ask, ask.query.get("person", ""))
    lines = tuple(LevelLine(each.number, each.name, each.about) for each in levels())
    names = {line.number: line.name for line in lines}
    broken, waiting = "", tuple[OpenDrill, ...]()
    results, unreadable = tuple[ResultLine, ...](), 0
    if person:
        try:
            own = book_of(ask, person).waiting()
            waiting = (own,) if own is not None else ()
        except StorageError as error:
            if is_folder_fault(error):
                raise
            broken = error.what
        results, unreadable = _results(ask, person, names)
    elif ask.person.way == "loopback":
        waiting = open_drills(ask.drills.folder)
    return DrillsPage(
        person=person,
        query=way_to(ask, person),
        typed=ask.person.way == "loopback",
        levels=lines,
        open=waiting,
        broken=broken,
        results=tuple(reversed(results)),
        unreadable=unreadable,
        progress=draw_progress([(each.points, each.level) for each in results], names) if results else None,
    )


def _results(ask: Ask, person: str, names: dict[int, str]) -> tuple[tuple[ResultLine, ...], int]:
    progress = progress_answer(ask.drills.folder, person)
    lines = tuple(
        ResultLine(
            each["id"],
            each["finished"][:10],
            each["level"],
            each["seed"],
            names.get(each["level"], ""),
            each["points"],
            each["minutes"],
            each["best_minutes"],
        )
        for each in progress["drills"]
    )
    return lines, progress["unreadable_lines"]


def _begin(sent: Sent) -> str:
    ask = sent.ask
    person = person_of(ask, sent.text("person"))
    if not person:
        raise Refusal(
            422,
            "nobody is named who drills",
            where="person",
            allowed="1 to 80 signs",
            cure="Type a name under which the result is kept",
        )
    level = next((each.number for each in levels() if str(each.number) == sent.text("level")), None)
    if level is None:
        raise Refusal(
            422,
            f"there is no level '{sent.text('level')[:40]}'",
            where="level",
            allowed=", ".join(f"{each.number} ({each.name})" for each in levels()),
            cure="Choose one of the levels on the page of drills",
        )
    seed = _seed(sent.text("seed"))
    with ask.drills.turn_of(person):
        _refuse_second(ask, person)
        seed = ask.drills.fresh_seed(level) if seed is None else seed
        running = _begun(ask, person, level, seed)
    case = running.session.case
    ask.drills.begin(f"route {case.name}", (route_part(ask.drills.folder, level, seed),))
    ask.drills.prepare()
    return f"/drill/now?{way_to(ask, person)}".rstrip("?")


def _seed(text: str) -> int | None:
    if not text:
        return None
    if not text.isascii() or not text.isdigit() or int(text) > _GREATEST_SEED:
        raise Refusal(
            422,
            f"'{text[:40]}' is no seed",
            where="seed",
            allowed=f"a whole number from 0 to {_GREATEST_SEED}, or nothing",
            cure="Leave it empty for a new vehicle",
        )
    return int(text)


def _refuse_second(ask: Ask, person: str) -> None:
    try:
        waiting = book_of(ask, person).waiting()
    except StorageError as error:
        if is_folder_fault(error):
            raise
        raise Refusal(
            409, error.what, where="drill", cure="Drop it on the page 'Drills'; it is not scored"
        ) from None
    if waiting is not None:
        raise Refusal(
            409,
            f"drill {waiting.level}-{waiting.seed} of {person} is not finished",
            where="drill",
            allowed="one open drill for each person",
            cure="Go on with it or drop it on the page 'Drills'",
        )


def _begun(ask: Ask, person: str, level: int, seed: int) -> RunningDrill:
    try:
        case_of(level, seed)
    except ProgramFault:
        raise Refusal(
            422,
            f"no fair vehicle of level {level} comes up with seed {seed}",
            where="seed",
            cure="Take another seed, or none",
        ) from None
    return run_drill(DrillRequest(person, ask.drills.folder, ask.shop.now, seed, str(level), seed))


def _drop(sent: Sent) -> str:
    person = person_of(sent.ask, sent.text("person"))
    if not person:
        raise Refusal(422, "nobody is named", where="person", allowed="a name", cure=OPEN_AGAIN)
    with sent.ask.drills.turn_of(person):
        try:
            waiting = book_of(sent.ask, person).waiting()
        except StorageError as error:
            if is_folder_fault(error):
                raise
            waiting = None  # what cannot be read can still be thrown away
        if waiting is not None and waiting.id != sent.text("drill"):
            raise Refusal(
                409, "another drill was begun since this page was made", where="drill", cure=OPEN_AGAIN
            )
        if waiting is not None and sent.ask.drills.awaits(waiting.id):
            raise Refusal(409, "the drill is being scored", where="drill", cure="Wait for the score")
        drop_drill(sent.ask.drills.folder, person)
    return f"/drill?{way_to(sent.ask, person)}".rstrip("?")


# ---------------------------------------------------------------- the drill


@dataclass(frozen=True, slots=True)
class DrillPage:
    """An open drill.

    Parameters
    ----------
    head : DrillHead
        Which, and how far.
    facts : tuple of (str, str)
        Readings of the vehicle as a whole.
    places : tuple of str
        Wheel ends, the columns of the table.
    rows : tuple of ReadingRow
        Everything known of them.
    taken : tuple of TakenRow
        Tests that were asked for, in order.
    groups : tuple of StateGroup
        Tests that may be asked for, with their price.
    """

    head: DrillHead
    facts: tuple[tuple[str, str], ...]
    places: tuple[str, ...]
    rows: tuple[ReadingRow, ...]
    taken: tuple[TakenRow, ...]
    groups: tuple[StateGroup, ...]


def _now(ask: Ask) -> DrillPage:
    running = opened(ask, person_of(ask, ask.query.get("person", "")))
    session = running.session
    return DrillPage(
        head=head_of(ask, running),
        facts=vehicle_facts(session),
        places=session.case.places,
        rows=reading_rows(session),
        taken=taken_rows(session),
        groups=state_groups(session),
    )


@dataclass(frozen=True, slots=True)
class DrillTestPage:
    """One test before it is asked for.

    Parameters
    ----------
    head : DrillHead
        Of which drill.
    test, title : str
        Which.
    states : tuple of (str, str)
        Code and words of each state that it needs.
    facts : tuple of (str, str)
        How it is done.
    pictures : tuple of (str, Picture)
        Where the gauge goes; with the side of the vehicle where the two differ.
    unread, read : tuple of PricedPlace
        Places where it was not done yet, and where it was; with what it costs there now.
    """

    head: DrillHead
    test: str
    title: str
    states: tuple[tuple[str, str], ...]
    facts: tuple[tuple[str, str], ...]
    pictures: tuple[tuple[str, Picture], ...]
    unread: tuple[PricedPlace, ...]
    read: tuple[PricedPlace, ...]


def _check_of(session: DrillSession, test: str) -> Check:
    check = next((each for each in drillable_checks(session.case) if each.id == test), None)
    if check is None:
        raise Refusal(
            404,
            f"there is no test '{test[:40]}' in this drill",
            where="test",
            allowed="a test of the list",
            cure="Go back to the drill and choose it there",
        )
    return check


def _test(ask: Ask) -> DrillTestPage:
    running = opened(ask, person_of(ask, ask.query.get("person", "")))
    session = running.session
    check = _check_of(session, ask.query.get("test", ""))
    places = priced_places(session, check)
    titles = load_catalogue().states
    return DrillTestPage(
        head=head_of(ask, running),
        test=check.id,
        title=check.title,
        states=tuple((code, titles[code].title) for code in check.states),
        facts=how_facts(session.case, check),
        pictures=_pictures(check.id),
        unread=tuple(each for each in places if not each.read),
        read=tuple(each for each in places if each.read),
    )


def _pictures(test: str) -> tuple[tuple[str, Picture], ...]:
    """Where the gauge goes; left and right where the leading end makes a difference."""
    left, right = draw_gauge_place(test, "1L"), draw_gauge_place(test, "1R")
    if left is None or right is None:
        return ()
    return (("", left),) if left.svg == right.svg else (("L", left), ("R", right))


def _take(sent: Sent) -> str:
    person = person_of(sent.ask, sent.text("person"))
    test, again = sent.text("test", 20), sent.text("again", 3) == "yes"
    places = tuple(dict.fromkeys(sent.lists.get("at", ())))

    def words(session: DrillSession) -> list[str]:
        check = _check_of(session, test)
        possible = {each.at: each for each in priced_places(session, check)}
        wanted = places or (("",) if "" in possible else ())
        if not wanted or not set(wanted) <= set(possible):
            raise Refusal(
                422,
                f"it is not said where {test} ({check.title}) is to be done",
                where="place",
                allowed=", ".join(filter(None, possible)) or "the whole vehicle",
                cure="Go back and tick at least one place",
            )
        known = [at for at in wanted if possible[at].read]
        if known and not again:
            raise Refusal(
                409,
                f"{test} ({check.title}) has been read already {' and '.join(known)}".strip(),
                where="test",
                allowed="a place where it was not done yet, or once more with another gauge",
                cure="The reading stands in the table. To take it once more use the form below on its page; "
                "nothing was charged",
            )
        return [f"{'again ' if again else ''}{test} {' '.join(wanted)}".strip()]

    with sent.ask.drills.turn_of(person):
        carry_out(sent, same_drill(sent, person), words)
    return f"/drill/now?{way_to(sent.ask, person)}".rstrip("?") + "#last"


add_page(router, "/drill", "drills.html", in_order(_drills))
add_form(router, "/drill/begin", in_order(_begin), role="reads")
add_form(router, "/drill/drop", in_order(_drop), role="reads")
add_page(router, "/drill/now", "drill.html", in_order(_now))
add_page(router, "/drill/test", "drill_test.html", in_order(_test))
add_form(router, "/drill/test", in_order(_take), role="reads")
