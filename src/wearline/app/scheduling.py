"""From the forecast to bookings, a calendar, a week sheet and an order of parts."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from wearline.app.forecasting import Question, finding_json, outlook
from wearline.app.shop_file import ShopFile, read_shops
from wearline.catalogue.loading import load_catalogue
from wearline.forecasting.intervals import service_minimum
from wearline.forecasting.outlook import AxleOutlook, EndOutlook, Outlook
from wearline.planning.schedule import Job, Plan, Shop, plan_shop
from wearline.planning.stock import PartDemand, demand_by_week

if TYPE_CHECKING:
    from wearline.app.outlook_types import BookingJson, OrderJson, PlanAnswer

__all__ = [
    "PlanRequest",
    "ShopFile",
    "WorkPlan",
    "plan_answer",
    "plan_calendar",
    "plan_csv",
    "plan_work",
    "read_shops",
]

_USUAL_WEEK = 1.5e6
"""[m] Run in a week where the history does not say (expert judgement)."""

_PADS = "brake pads, axle set"


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """What to plan.

    Parameters
    ----------
    question : Question
        The forecast it rests on.
    first_day : date
        A day of the first week.
    weeks : int
        How many.
    risk : float
        Accepted chance of meeting the service limit before the visit.
    service : float
        Chance that no axle waits for a part.
    lead_weeks : int
        From order to delivery.
    shops : ShopFile
        Shops and prices.
    """

    question: Question
    first_day: date
    weeks: int = 12
    risk: float = 0.05
    service: float = 0.95
    lead_weeks: int = 2
    shops: ShopFile = field(default_factory=ShopFile)


@dataclass(frozen=True, slots=True)
class WorkPlan:
    """The answer.

    Parameters
    ----------
    request : PlanRequest
        What was asked.
    monday : date
        First day of the first week.
    plans : tuple of Plan
        One for each shop.
    demand : tuple of (str, PartDemand)
        Shop and demand of each part and week.
    found : Outlook
        The forecast.
    """

    request: PlanRequest
    monday: date
    plans: tuple[Plan, ...]
    demand: tuple[tuple[str, PartDemand], ...]
    found: Outlook


def plan_work(request: PlanRequest) -> WorkPlan:
    """Answer what work and parts the coming weeks bring.

    Parameters
    ----------
    request : PlanRequest
        What to plan.

    Returns
    -------
    WorkPlan
        Bookings of each shop, demand of parts, and the forecast behind them.

    Raises
    ------
    InputError
        If the database cannot be read.
    """
    found = outlook(request.question)
    names = list(request.shops.hours)
    jobs: dict[str, list[Job]] = {name: [] for name in names}
    need: dict[str, list[list[float]]] = {name: [] for name in names}
    ends = {(end.info.vehicle, end.info.place.axle): end for end in found.ends}
    for axle in found.axles:
        shop = request.shops.home.get(axle.vehicle, names[0])
        job, chances = _job(axle, ends[axle.vehicle, axle.axle], request)
        jobs[shop].append(job)
        need[shop].append(chances)
    plans, demand = [], []
    for name in names:
        away = {v: frozenset(week - 1 for week in weeks) for v, weeks in request.shops.away.items()}
        shop_now = Shop(
            name,
            (request.shops.hours[name],) * request.weeks,
            request.shops.visit_cost,
            request.shops.visit_hours,
            away,
        )
        plans.append(plan_shop(jobs[name], shop_now))
        if need[name]:
            wanted = np.array(need[name])
            made = demand_by_week(
                _PADS, wanted, each=1, service=request.service, lead_weeks=request.lead_weeks
            )
            demand += [(name, each) for each in made]
    monday = request.first_day - timedelta(days=request.first_day.weekday())
    return WorkPlan(request, monday, tuple(plans), tuple(demand), found)


def _job(axle: AxleOutlook, end: EndOutlook, request: PlanRequest) -> tuple[Job, list[float]]:
    """New pads on an axle: latest week, waste for each week earlier, chance of the need in each week."""
    week = _distance_of_week(end)
    edges = week * np.arange(1, request.weeks + 1)
    beyond = np.array([float((axle.distance < edge).mean()) for edge in edges])
    late = np.flatnonzero(beyond > request.risk)
    latest = int(late[0]) - 1 if late.size else request.weeks
    usable = end.info.design.friction_new - service_minimum(end)
    life = usable / max(end.rate[1], 1e-15)
    waste = request.shops.pad_set * week / max(life, week)
    labour = load_catalogue().work.hours["S1"]
    span = labour.dual if end.info.role == "drive" else labour.single
    because = f"{axle.decides}: 5 % bound at {axle.axis.say(axle.earliest, rough=True)}"
    job = Job(
        axle.vehicle,
        axle.axle,
        0.5 * (span.low + span.high),
        latest,
        waste,
        because,
        tuple(round(float(p), 4) for p in beyond),
    )
    # whoever keeps to the plan renews when the risk is reached, so that is when the part is needed
    bound = np.quantile(axle.distance, request.risk)
    factor = np.maximum(axle.distance, 1.0) / max(float(np.median(axle.distance)), 1.0)
    when = bound * factor
    chances = np.histogram(when, bins=np.append(0.0, edges))[0] / axle.distance.size
    return job, [float(p) for p in chances]


def _distance_of_week(end: EndOutlook) -> float:
    placed = end.info.placed
    if len(placed) < 2:
        return _USUAL_WEEK
    days = (placed[-1].inspection.taken_on - placed[0].inspection.taken_on).days
    run = placed[-1].clock - placed[0].clock
    return run / days * 7.0 if days > 0 and run > 0 else _USUAL_WEEK


def _bookings(made: WorkPlan) -> list[BookingJson]:
    rows: list[BookingJson] = []
    for plan in made.plans:
        for each in plan.bookings:
            risks = [job.risk[each.week] for job in each.jobs if job.risk]
            rows.append(
                {
                    "vehicle": each.vehicle,
                    "shop": each.shop,
                    "week": each.week + 1,
                    "begins_on": (made.monday + timedelta(weeks=each.week)).isoformat(),
                    "axles": [job.axle for job in each.jobs],
                    "hours": round(each.hours, 2),
                    "risk": max(risks, default=0.0),
                    "because": [job.because for job in each.jobs],
                }
            )
    return sorted(rows, key=lambda row: (row["week"], row["shop"], row["vehicle"]))


def plan_answer(made: WorkPlan) -> PlanAnswer:
    """Return a plan as JSON values.

    Parameters
    ----------
    made : WorkPlan
        The plan.

    Returns
    -------
    PlanAnswer
        Under schema ``wearline.plan/1``.
    """
    orders: list[OrderJson] = [
        {
            "part": each.part,
            "shop": shop,
            "week": each.week + 1,
            "demand_median": each.median,
            "demand_p95": each.p95,
            "order_up_to": each.order_up_to,
        }
        for shop, each in made.demand
    ]
    findings = [finding_json(each) for each in made.found.findings]
    gaps = [plan.gap for plan in made.plans if np.isfinite(plan.gap)]
    return {
        "schema": "wearline.plan/1",
        "feasible": all(plan.feasible for plan in made.plans),
        "gap": round(max(gaps), 5) if gaps else None,
        "cost": round(sum(plan.cost for plan in made.plans), 2),
        "bookings": _bookings(made),
        "orders": orders,
        "not_possible": [why for plan in made.plans for why in plan.not_possible if why],
        "warnings": [
            {
                "code": each["code"],
                "text": each["text"],
                "where": f"{each['vehicle']} {each['at']}".strip(),
                "cure": each["cure"],
            }
            for each in findings
        ],
    }


def plan_csv(made: WorkPlan) -> str:
    """Return the bookings as a table.

    Parameters
    ----------
    made : WorkPlan
        The plan.

    Returns
    -------
    str
        CSV; a text that a spreadsheet would run as a formula stands behind an apostrophe.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(["week", "begins_on", "shop", "vehicle", "axles", "hours_h", "risk_percent", "because"])
    for row in _bookings(made):
        writer.writerow(
            [
                row["week"],
                row["begins_on"],
                _harmless(row["shop"]),
                _harmless(row["vehicle"]),
                " ".join(row["axles"]),
                row["hours"],
                round(100 * row["risk"], 2),
                _harmless("; ".join(row["because"])),
            ]
        )
    return out.getvalue()


def _harmless(text: str) -> str:
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def plan_calendar(made: WorkPlan, *, made_at: datetime | None = None) -> str:
    """Return the bookings as a calendar file.

    Parameters
    ----------
    made : WorkPlan
        The plan.
    made_at : datetime, optional
        When it was made; the first day of the plan by default.

    Returns
    -------
    str
        RFC 5545; each visit stands over the five working days of its week.
    """
    from wearline.reports.week_calendar import CalendarEvent, calendar_text

    events = [
        CalendarEvent(
            uid=f"{row['begins_on']}-{row['vehicle']}-{'-'.join(row['axles'])}@wearline",
            first=date.fromisoformat(row["begins_on"]),
            days=5,
            summary=f"{row['vehicle']}: brake pads, axle {', '.join(row['axles'])}",
            description=f"{row['hours']:.1f} h. " + "; ".join(row["because"]),
            location=row["shop"],
        )
        for row in _bookings(made)
    ]
    moment = made_at or datetime(made.monday.year, made.monday.month, made.monday.day, tzinfo=UTC)
    return calendar_text(events, made_at=moment)


def week_sheet(made: WorkPlan, out: str | Path, *, today: date) -> None:
    """Write the sheet that hangs in the shop, a section for each week.

    Parameters
    ----------
    made : WorkPlan
        The plan.
    out : path
        PDF to write.
    today : date
        Day of printing.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    from wearline.reports.week_sheet import render_week_sheet

    rows: list[Mapping[str, Any]] = [dict(row) for row in _bookings(made)]
    why = [why for plan in made.plans for why in plan.not_possible if why]
    render_week_sheet(rows, why, first=made.monday, day=today, out=Path(out))
