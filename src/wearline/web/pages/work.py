"""When the wheels must come off next, and the work of the coming weeks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from fastapi import APIRouter

from wearline.app.forecasting import Question, outlook, outlook_answer
from wearline.app.scheduling import PlanRequest, plan_answer, plan_work
from wearline.reports.content_model import Picture
from wearline.reports.fleet_plot import fleet_pictures
from wearline.web.asking import Ask, Sent, add_form, add_page
from wearline.web.shop import Shop
from wearline.web.stored_answers import FleetAnswer

__all__ = ["OutlookPage", "PlanPage", "outlook_of", "plan_of", "router"]

router = APIRouter()

WEEKS = 12
MOST_AXLES = 200
MOST_BOOKINGS = 20


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
    pictures : tuple of Picture
        Lives, renewals, pads beyond the limit, ends worth a look.
    """

    state: FleetAnswer
    axles: tuple[Mapping[str, Any], ...]
    findings: tuple[Mapping[str, Any], ...]
    pictures: tuple[Picture, ...]


@dataclass(frozen=True, slots=True)
class PlanPage:
    """The board of the coming weeks.

    Parameters
    ----------
    state : FleetAnswer
        The answer, as ``wearline plan --json`` gives it, and how old it is.
    weeks : tuple of (int, str, tuple of mapping, int)
        Week, its Monday, what is booked in it, and how many bookings more there are than are shown.
    week : int or None
        Only this week is shown, with all its bookings.
    orders : tuple of mapping
        Parts to order.
    """

    state: FleetAnswer
    weeks: tuple[tuple[int, str, tuple[Mapping[str, Any], ...], int], ...]
    week: int | None
    orders: tuple[Mapping[str, Any], ...]


def _outlook(ask: Ask) -> OutlookPage:
    state = ask.bench.look("outlook")
    axles = ask.bench.derived("outlook", "by risk", _by_risk)
    pictures = ask.bench.derived("outlook", "pictures", _pictures)
    return OutlookPage(state, axles, tuple((state.answer or {}).get("findings", ())[:100]), pictures)


def _pictures(answer: Mapping[str, Any]) -> tuple[Picture, ...]:
    wear = answer.get("fleet_wear")
    return fleet_pictures(wear) if wear else ()


def _by_risk(answer: Mapping[str, Any]) -> tuple[Mapping[str, Any], ...]:
    axles = sorted(
        answer.get("axles", ()),
        key=lambda axle: (-axle["p_beyond_before"]["probability"], axle["km_p05"]),
    )
    return tuple(axles[:MOST_AXLES])


def _plan(ask: Ask) -> PlanPage:
    state = ask.bench.look("plan")
    answer = state.answer or {}
    booked = ask.bench.derived("plan", "by week", _by_week)
    day = (state.made_at or ask.shop.now).date()
    monday = day - timedelta(days=day.weekday())
    wanted = ask.query.get("week", "")
    only = int(wanted) if wanted in [str(week) for week in range(1, WEEKS + 1)] else None
    weeks = []
    for week in range(1, WEEKS + 1) if only is None else (only,):
        own = booked.get(week, ())
        begins = own[0]["begins_on"] if own else (monday + timedelta(weeks=week - 1)).isoformat()
        shown = own if only is not None else own[:MOST_BOOKINGS]
        weeks.append((week, begins, shown, len(own) - len(shown)))
    orders = tuple(each for each in answer.get("orders", ()) if each["order_up_to"])
    return PlanPage(state, tuple(weeks), only, orders)


def _by_week(answer: Mapping[str, Any]) -> dict[int, tuple[Mapping[str, Any], ...]]:
    found: dict[int, tuple[Mapping[str, Any], ...]] = {}
    for each in answer.get("bookings", ()):
        found[each["week"]] = (*found.get(each["week"], ()), each)
    return found


def _question(shop: Shop, today: date) -> Question:
    return Question(None, shop.config.database, until=today, catalogue=shop.catalogue())


def outlook_of(shop: Shop, today: date) -> dict[str, Any]:
    """Work the outlook out, by the limits in force in this shop.

    Parameters
    ----------
    shop : Shop
        Its database and its limits.
    today : date
        Last day of what is looked at.

    Returns
    -------
    dict
        As ``wearline outlook --json`` gives it.
    """
    return dict(outlook_answer(outlook(_question(shop, today))))


def plan_of(shop: Shop, today: date) -> dict[str, Any]:
    """Work the plan out, by the limits in force in this shop.

    Parameters
    ----------
    shop : Shop
        Its database and its limits.
    today : date
        A day of the first week.

    Returns
    -------
    dict
        As ``wearline plan --json`` gives it.
    """
    request = PlanRequest(_question(shop, today), first_day=today, weeks=WEEKS)
    return dict(plan_answer(plan_work(request)))


def _work_out_outlook(sent: Sent) -> str:
    sent.ask.bench.begin("outlook", outlook_of, sent.ask.shop.today)
    return "/outlook"


def _work_out_plan(sent: Sent) -> str:
    sent.ask.bench.begin("plan", plan_of, sent.ask.shop.today)
    return "/plan"


add_page(router, "/outlook", "outlook.html", _outlook)
add_page(router, "/plan", "plan.html", _plan)
add_form(router, "/outlook", _work_out_outlook, role="measures")
add_form(router, "/plan", _work_out_plan, role="measures")
