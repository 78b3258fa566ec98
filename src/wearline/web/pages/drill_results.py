"""The score of a drill, and the papers of a class."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from wearline.app.drill_answers import drill_answer
from wearline.app.drill_class import MOST_CASES, ClassRequest
from wearline.app.drill_routes import stored_route
from wearline.app.drill_views import TakenRow, printed, reading_label, situations, taken_rows
from wearline.app.drilling import RunningDrill
from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError
from wearline.practice.drill_cases import DATA_ERROR, levels
from wearline.practice.drill_score import CauseMark, Lesson, most_points
from wearline.reports.content_model import Picture
from wearline.web.asking import Ask, Sent, add_form, add_page, ask_of
from wearline.web.drill_chart import draw_routes
from wearline.web.drill_desk import WorkState, route_part, sheet_parts
from wearline.web.drill_steps import OPEN_AGAIN, book_of, in_order, opened, person_of, same_drill, way_to
from wearline.web.pages.inspection import download
from wearline.web.refusals import Refusal, not_found

__all__ = ["ClassPage", "ScorePage", "router"]

router = APIRouter()


# ---------------------------------------------------------------- the score


@dataclass(frozen=True, slots=True)
class LessonLine:
    """What one reading should have said.

    Parameters
    ----------
    at, label : str
        Wheel end (empty for the vehicle), and the reading in words.
    written, true, without : str
        What was read, what a perfect gauge shows, and what it would show without the cause; for a slip of the
        pen what was read last, what the gauge showed, and what was written first.
    far : bool
        Whether what was read is further off than its gauge explains.
    again : bool
        Whether it was taken again.
    slip : bool
        Whether it is about a slip of the pen.
    """

    at: str
    label: str
    written: str
    true: str
    without: str
    far: bool
    again: bool
    slip: bool


@dataclass(frozen=True, slots=True)
class ScorePage:
    """The score of a drill, or how far its scoring is.

    Parameters
    ----------
    person, query : str
        Whose, and what a link carries.
    id, name : str
        The drill: its id, and level and seed.
    answer : mapping or None
        As ``wearline drill --json`` gives it; None while it is being scored.
    taken : tuple of TakenRow
        Tests that were asked for.
    titles : mapping of str to str
        Tests and situations of work that occur, in words.
    weights : mapping of str to int
        Most points of each part.
    notes : tuple of str
        What each cause of the score has to say besides whether it was found.
    routes : Picture or None
        Own tests and best route on one scale.
    lessons, unseen : tuple of (str, tuple of LessonLine)
        Cause, and what readings should have said of it; what would have shown it and was not asked for.
    state : WorkState or None
        How far the scoring is.
    """

    person: str
    query: str
    id: str
    name: str
    answer: dict[str, Any] | None
    taken: tuple[TakenRow, ...] = ()
    titles: dict[str, str] | None = None
    weights: dict[str, int] | None = None
    notes: tuple[str, ...] = ()
    routes: Picture | None = None
    lessons: tuple[tuple[str, tuple[LessonLine, ...]], ...] = ()
    unseen: tuple[tuple[str, tuple[LessonLine, ...]], ...] = ()
    state: WorkState | None = None


def _score_page(ask: Ask) -> ScorePage:
    person = person_of(ask, ask.query.get("person", ""))
    drill = ask.query.get("drill", "")
    if not person:
        raise Refusal(422, "nobody is named", where="person", allowed="a name", cure=OPEN_AGAIN)
    book = book_of(ask, person)
    if any(line.get("id") == drill for line in book.results().lines):
        try:
            return _scored(ask, ask.drills.finished(person, drill))
        except InputError as error:
            raise Refusal(
                409, error.what, where="drill", cure="Its points stay in the list on the page 'Drills'"
            ) from None
    waiting = book.waiting()
    if waiting is None or waiting.id != drill:
        raise not_found(f"{person} has no such drill")
    name = f"{waiting.level}-{waiting.seed}"
    state = ask.drills.look(f"route {name}", drill)
    if not ask.drills.awaits(drill) and not state.fault:
        raise Refusal(
            409,
            "the drill is not finished, so that there is no score",
            where="drill",
            allowed="a finished drill",
            cure="Go on with it on the page 'Drills', or drop it; it is scored as a whole or not at all",
        )
    return ScorePage(person, way_to(ask, person), drill, name, None, state=state)


def _scored(ask: Ask, running: RunningDrill) -> ScorePage:
    session, score = running.session, running.score
    assert score is not None
    person = running.book.person
    own = [(f"{each.test} {each.at}".strip(), each.minutes + each.access) for each in session.asked]
    best = [(f"{each.test} {each.at}".strip(), each.minutes + each.access) for each in score.route.steps]
    used = {step.test for step in (*session.asked, *score.route.steps)}
    titles = {test: load_catalogue().checks[test].title for test in sorted(used)} | dict(situations())
    return ScorePage(
        person=person,
        query=way_to(ask, person),
        id=str(running.entry["id"]),
        name=session.case.name,
        answer=dict(drill_answer(running)),
        taken=taken_rows(session),
        titles=titles,
        weights=most_points(),
        notes=tuple(_note(mark) for mark in score.causes),
        routes=draw_routes(own, best if score.route.reached else None),
        lessons=_by_cause(running, score.lessons),
        unseen=_by_cause(running, score.unseen),
    )


def _note(mark: CauseMark) -> str:
    """The words of a mark without the name, which stands beside them."""
    clause = mark.said.partition(": ")[2]
    return clause if mark.result in ("near", "grew") else clause.partition(". ")[2]


def _by_cause(
    running: RunningDrill, lessons: tuple[Lesson, ...]
) -> tuple[tuple[str, tuple[LessonLine, ...]], ...]:
    score = running.score
    assert score is not None
    names = {mark.code: f"{mark.code} {mark.name}" for mark in score.causes}
    found: dict[str, list[LessonLine]] = {}
    for lesson in lessons:
        read = running.session.latest.get((lesson.at, lesson.check, lesson.spot))
        line = LessonLine(
            at=lesson.at,
            label=f"{reading_label(lesson.check)} {lesson.spot}".strip(),
            written=printed(lesson.written),
            true=printed(lesson.true),
            without=printed(lesson.without),
            far=lesson.far,
            again=read is not None and read.look > 0,
            slip=lesson.cause == DATA_ERROR,
        )
        found.setdefault(lesson.cause, []).append(line)
    return tuple((names.get(code, code), tuple(own)) for code, own in found.items())


def _finish(sent: Sent) -> str:
    ask = sent.ask
    person, drill = person_of(ask, sent.text("person")), sent.text("drill")
    way = way_to(ask, person)
    target = f"/drill/score?drill={drill}" + (f"&{way}" if way else "")
    with ask.drills.turn_of(person):
        if person and any(line.get("id") == drill for line in book_of(ask, person).results().lines):
            return target  # sent twice: it is scored already
        running = same_drill(sent, person)
        session = running.session
        if sent.text("step", 9) != str(len(session.commands)):
            raise Refusal(
                409,
                "the drill moved on since this page was made, in another window or at a terminal",
                where="drill",
                allowed="a form of the page as it is now",
                cure=f"{OPEN_AGAIN}; it was not scored",
            )
        _refuse_undecided(running)
        if stored_route(session.case, ask.drills.folder) is not None:
            running.command("done", ask.shop.now)
            ask.drills.remember(running)
            return target
    case = session.case
    part = route_part(ask.drills.folder, case.level.number, case.seed)
    ask.drills.follow(
        f"route {case.name}", (part,), drill, lambda: _score(ask, person, drill, session.commands)
    )
    return target


def _refuse_undecided(running: RunningDrill) -> None:
    session = running.session
    if not session.causes and not session.no_cause:
        raise Refusal(
            422,
            "no cause has been decided",
            where="cause",
            allowed="at least one cause, or none",
            cure="Go back and blame a cause, or press 'No cause' if you mean it",
        )
    if not session.work and not session.no_work:
        raise Refusal(
            422,
            "no work has been decided",
            where="work",
            allowed="at least one order, or none",
            cure="Go back and order the job, or press 'No work' if you mean it",
        )


def _score(ask: Ask, person: str, drill: str, commands: tuple[str, ...]) -> None:
    """Score a drill whose best route is there now; not at all if it moved on meanwhile at a terminal."""
    with ask.drills.turn_of(person):
        running = opened(ask, person)
        if running.entry["id"] != drill or running.session.commands != commands:
            raise Refusal(409, "the drill moved on while it was to be scored", where="drill", cure=OPEN_AGAIN)
        running.command("done", ask.shop.now)
        ask.drills.remember(running)


add_page(router, "/drill/score", "drill_score.html", in_order(_score_page))
add_form(router, "/drill/score", in_order(_finish), role="reads")


# ---------------------------------------------------------------- papers for a class


@dataclass(frozen=True, slots=True)
class ClassPage:
    """Papers for a class.

    Parameters
    ----------
    levels : tuple of (int, str)
        Levels to choose from.
    level : str
        Chosen; empty for all in turn.
    cases : int
        How many.
    most : int
        How many there may be.
    seed : int or None
        Seed of the first case; None before papers are asked for.
    query : str
        What a link to these papers carries.
    state : WorkState or None
        How far they are.
    ready : bool
        Whether they can be taken along.
    """

    levels: tuple[tuple[int, str], ...]
    level: str
    cases: int
    most: int
    seed: int | None
    query: str
    state: WorkState | None
    ready: bool


_CASES = 8
_LONGEST_SEED = 9


def _wanted(ask: Ask, fields: Any) -> ClassRequest:
    """The papers that an address or a form names."""
    level, cases, seed = (str(fields.get(name, "")).strip() for name in ("level", "cases", "seed"))
    if level and level not in [str(each.number) for each in levels()]:
        raise Refusal(
            422,
            f"there is no level '{level[:40]}'",
            where="level",
            allowed=", ".join(f"{each.number} ({each.name})" for each in levels()),
            cure="Choose one of the levels, or all in turn",
        )
    if not cases.isascii() or not cases.isdigit() or len(cases) > 2 or not 1 <= int(cases) <= MOST_CASES:
        raise Refusal(
            422,
            f"'{cases[:40]}' is no number of cases",
            where="cases",
            allowed=f"1 to {MOST_CASES}",
            cure="Write several sheets with different seeds",
        )
    if not seed.isascii() or not seed.isdigit() or len(seed) > _LONGEST_SEED:
        raise Refusal(
            422,
            f"'{seed[:40]}' is no seed",
            where="seed",
            allowed=f"a whole number of at most {_LONGEST_SEED} digits",
            cure="Leave it empty for new vehicles",
        )
    day = ask.shop.today
    key = f"{level or 'all'}-{cases}-{int(seed)}-{day.isoformat()}"
    out = ask.drills.folder / "sheets" / key / "class.pdf"
    return ClassRequest(out, int(cases), level, int(seed), day, ask.drills.folder)


def _answers(request: ClassRequest) -> Path:
    out = Path(request.out)
    return out.with_name(f"{out.stem}-answers{out.suffix}")


def _job(request: ClassRequest) -> str:
    return f"sheet {Path(request.out).parent.name}"


def _class(ask: Ask) -> ClassPage:
    choices = tuple((each.number, each.name) for each in levels())
    if "seed" not in ask.query:
        return ClassPage(choices, "", _CASES, MOST_CASES, None, "", None, ready=False)
    request = _wanted(ask, ask.query)
    state = ask.drills.look(_job(request))
    return ClassPage(
        levels=choices,
        level=request.level,
        cases=request.cases,
        most=MOST_CASES,
        seed=request.seed,
        query=f"level={request.level}&cases={request.cases}&seed={request.seed}",
        state=state,
        ready=not state.working and Path(request.out).is_file() and _answers(request).is_file(),
    )


def _make_papers(sent: Sent) -> str:
    import secrets

    fields = dict(sent.fields)
    if not fields.get("seed", "").strip():
        fields["seed"] = str(secrets.randbelow(100_000))
    request = _wanted(sent.ask, fields)
    if not _answers(request).is_file():
        sent.ask.drills.begin(_job(request), sheet_parts(request))
    return f"/drill/class?level={request.level}&cases={request.cases}&seed={request.seed}"


add_page(router, "/drill/class", "drill_class.html", in_order(_class), role="signs")
add_form(router, "/drill/class", in_order(_make_papers), role="signs")


def _paper(request: Request, *, answers: bool) -> Response:
    ask = ask_of(request, "signs")
    wanted = _wanted(ask, ask.query)
    path = _answers(wanted) if answers else Path(wanted.out)
    if ask.drills.look(_job(wanted)).working or not path.is_file():
        raise not_found("these papers were not made yet")
    kind = "answers" if answers else "class"
    return download(path.read_bytes(), "application/pdf", f"drill {kind} {wanted.seed}.pdf")


@router.get("/drill/class.pdf", include_in_schema=False)
def class_sheet(request: Request) -> Response:
    """Give the sheet of a class: a page for each case."""
    return _paper(request, answers=False)


@router.get("/drill/class-answers.pdf", include_in_schema=False)
def answer_sheet(request: Request) -> Response:
    """Give the answers, for the instructor."""
    return _paper(request, answers=True)
