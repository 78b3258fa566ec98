"""When the wheels must come off next, and the work of the coming weeks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from fastapi import APIRouter

from wearline.app.forecasting import Question, outlook, outlook_answer
from wearline.app.scheduling import PlanRequest, plan_answer, plan_work
from wearline.web.asking import Ask, Sent, add_form, add_page
from wearline.web.stored_answers import FleetAnswer

__all__ = ["OutlookPage", "PlanPage", "router"]

router = APIRouter()

WEEKS = 12


@dataclass(frozen=True, slots=True)
class OutlookPage:
    """The forecast of the fleet.

    Parameters
    ----------
    state : FleetAnswer
        The answer, as ``wearline outlook --json`` gives it, and how old it is.
    axles : tuple of mapping
        The axles, the one most at risk first.
    findings : tuple of mapping
        What does not fit in the history.
    """

    state: FleetAnswer
    axles: tuple[Mapping[str, Any], ...]
    findings: tuple[Mapping[str, Any], ...]


@dataclass(frozen=True, slots=True)
class PlanPage:
    """The board of the coming weeks.

    Parameters
    ----------
    state : FleetAnswer
        The answer, as ``wearline plan --json`` gives it, and how old it is.
    weeks : tuple of (int, str, tuple of mapping)
        Week, its Monday, and what is booked in it.
    orders : tuple of mapping
        Parts to order.
    """

    state: FleetAnswer
    weeks: tuple[tuple[int, str, tuple[Mapping[str, Any], ...]], ...]
    orders: tuple[Mapping[str, Any], ...]


def _outlook(ask: Ask) -> OutlookPage:
    state = ask.bench.look("outlook")
    answer = state.answer or {}
    axles = sorted(
        answer.get("axles", ()),
        key=lambda axle: (-axle["p_beyond_before"]["probability"], axle["km_p05"]),
    )
    return OutlookPage(state, tuple(axles[:200]), tuple(answer.get("findings", ())[:100]))


def _plan(ask: Ask) -> PlanPage:
    state = ask.bench.look("plan")
    answer = state.answer or {}
    bookings = answer.get("bookings", ())
    day = (state.made_at or ask.shop.now).date()
    monday = day - timedelta(days=day.weekday())
    weeks = []
    for week in range(1, WEEKS + 1):
        own = tuple(each for each in bookings if each["week"] == week)
        begins = own[0]["begins_on"] if own else (monday + timedelta(weeks=week - 1)).isoformat()
        weeks.append((week, begins, own))
    orders = tuple(each for each in answer.get("orders", ()) if each["order_up_to"])
    return PlanPage(state, tuple(weeks), orders)


def _work_out_outlook(sent: Sent) -> str:
    database, today = sent.ask.shop.config.database, sent.ask.shop.today
    sent.ask.bench.begin(
        "outlook", lambda: dict(outlook_answer(outlook(Question(None, database, until=today))))
    )
    return "/outlook"


def _work_out_plan(sent: Sent) -> str:
    shop = sent.ask.shop
    request = PlanRequest(
        Question(None, shop.config.database, until=shop.today), first_day=shop.today, weeks=WEEKS
    )
    sent.ask.bench.begin("plan", lambda: dict(plan_answer(plan_work(request))))
    return "/plan"


add_page(router, "/outlook", "outlook.html", _outlook)
add_page(router, "/plan", "plan.html", _plan)
add_form(router, "/outlook", _work_out_outlook, role="measures")
add_form(router, "/plan", _work_out_plan, role="measures")
