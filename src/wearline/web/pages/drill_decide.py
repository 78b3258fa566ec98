"""Deciding in a drill: which causes are blamed, where, and which job is ordered."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fastapi import APIRouter

from wearline.app.drill_views import CauseChoice, TakenRow, cause_choices, place_words, situations, taken_rows
from wearline.practice.drill import DrillSession
from wearline.web.asking import Ask, Sent, add_form, add_page
from wearline.web.drill_steps import (
    OPEN_AGAIN,
    DrillHead,
    carry_out,
    head_of,
    in_order,
    opened,
    person_of,
    same_drill,
    way_to,
)
from wearline.web.refusals import Refusal

__all__ = ["DecidePage", "router"]

router = APIRouter()


@dataclass(frozen=True, slots=True)
class DecidePage:
    """What is blamed, and what is ordered.

    Parameters
    ----------
    head : DrillHead
        Which drill, with what was decided.
    groups : tuple of (str, tuple of CauseChoice)
        Causes to blame, group by group.
    places : tuple of (str, str)
        Where a cause may sit.
    axles : tuple of str
        Axles.
    situations : tuple of (str, str)
        Work that may be ordered for an axle.
    ordered : tuple of str
        Orders as ``"S2 1"``.
    taken : tuple of TakenRow
        Tests that were asked for.
    """

    head: DrillHead
    groups: tuple[tuple[str, tuple[CauseChoice, ...]], ...]
    places: tuple[tuple[str, str], ...]
    axles: tuple[str, ...]
    situations: tuple[tuple[str, str], ...]
    ordered: tuple[str, ...]
    taken: tuple[TakenRow, ...]


def _decide_page(ask: Ask) -> DecidePage:
    running = opened(ask, person_of(ask, ask.query.get("person", "")))
    session = running.session
    grouped: dict[str, list[CauseChoice]] = {}
    for each in cause_choices():
        grouped.setdefault(each.group, []).append(each)
    return DecidePage(
        head=head_of(ask, running),
        groups=tuple((group, tuple(own)) for group, own in grouped.items()),
        places=place_words(session.case),
        axles=session.case.axles,
        situations=situations(),
        ordered=tuple(f"{code} {axle}" for axle, code in session.work),
        taken=taken_rows(session),
    )


def _decide(sent: Sent) -> str:
    person = person_of(sent.ask, sent.text("person"))
    act = sent.text("act", 20)
    if act not in _ACTS:
        raise Refusal(
            422, f"'{act}' decides nothing", where="act", allowed="a button of the page", cure=OPEN_AGAIN
        )
    with sent.ask.drills.turn_of(person):
        carry_out(sent, same_drill(sent, person), lambda session: _ACTS[act](sent, session))
    return f"/drill/decide?{way_to(sent.ask, person)}".rstrip("?")


def _named_cause(sent: Sent, session: DrillSession) -> str:
    code, at = sent.text("cause", 20), sent.text("at", 20)
    if code not in [each.code for each in cause_choices()]:
        raise Refusal(
            422,
            f"'{code}' is no cause",
            where="cause",
            allowed="one of the list",
            cure="Go back and choose one",
        )
    if at not in [place for place, _ in place_words(session.case)]:
        raise Refusal(
            422,
            f"'{at}' is no place of this vehicle",
            where="place",
            allowed=", ".join(place for place, _ in place_words(session.case)),
            cure="Go back and choose where the cause sits",
        )
    return f"{code} {at}"


def _blame(sent: Sent, session: DrillSession) -> Sequence[str]:
    return [f"cause {_named_cause(sent, session)}"]


def _take_back(sent: Sent, session: DrillSession) -> Sequence[str]:
    return [f"not {_named_cause(sent, session)}"]


def _order(sent: Sent, session: DrillSession) -> Sequence[str]:
    """The commands that lead from the orders as they are to those that are ticked."""
    wanted = tuple(dict.fromkeys(sent.lists.get("work", ())))
    possible = [f"{code} {axle}" for code, _ in situations() for axle in session.case.axles]
    if not set(wanted) <= set(possible):
        raise Refusal(
            422,
            "this work cannot be ordered here",
            where="work",
            allowed=", ".join(possible),
            cure=OPEN_AGAIN,
        )
    before = [f"{code} {axle}" for axle, code in session.work]
    if not wanted and not before:
        raise Refusal(
            422,
            "no work is ticked",
            where="work",
            allowed="at least one situation for an axle",
            cure="Go back and tick what is to be done, or press 'No work' if you mean it",
        )
    added = [f"job {each}" for each in wanted if each not in before]
    return [*added, *(f"not {each}" for each in before if each not in wanted)]


def _no_cause(sent: Sent, session: DrillSession) -> Sequence[str]:
    del sent, session
    return ["cause none"]


def _no_work(sent: Sent, session: DrillSession) -> Sequence[str]:
    del sent, session
    return ["job none"]


_ACTS: dict[str, Callable[[Sent, DrillSession], Sequence[str]]] = {
    "blame": _blame,
    "take back": _take_back,
    "no cause": _no_cause,
    "order": _order,
    "no work": _no_work,
}


add_page(router, "/drill/decide", "drill_decide.html", in_order(_decide_page))
add_form(router, "/drill/decide", in_order(_decide), role="reads")
