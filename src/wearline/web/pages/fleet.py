"""The fleet: where each vehicle stands, who needs wheels off next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from fastapi import APIRouter

from wearline.reports.ladder import STEPS
from wearline.web.asking import Ask, add_page
from wearline.web.fleet_index import Line
from wearline.web.paging import Paging, number_of, paged

__all__ = ["FleetPage", "FleetRow", "router"]

router = APIRouter()

_PER_PAGE = 50


@dataclass(frozen=True, slots=True)
class FleetRow:
    """One vehicle.

    Parameters
    ----------
    vehicle, description : str
        Which.
    inspection : str
        Id of its latest inspection.
    taken_on : date
        Day of that.
    days_ago : int
        How long ago.
    odometer_km : float or None
        Distance run then.
    inspections : int
        How many are kept.
    card : mapping or None
        What follows; None while it is still being judged.
    """

    vehicle: str
    description: str
    inspection: str
    taken_on: date
    days_ago: int
    odometer_km: float | None
    inspections: int
    card: dict[str, Any] | None


@dataclass(frozen=True, slots=True)
class FleetPage:
    """The page of the fleet.

    Parameters
    ----------
    rows : tuple of FleetRow
        This part of the list.
    paging : Paging
        Which part, in which order, searched for what.
    levels : tuple of (int, str, int)
        Level, its words, and how many vehicles stand on it.
    level : int or None
        Only vehicles of this level are shown.
    vehicles : int
        All vehicles.
    waiting : int
        Vehicles still being judged.
    drafts : tuple of mapping
        Inspections in the making.
    first_visit : bool
        Nothing is kept yet.
    scenario : str
        What the data are where they are invented.
    """

    rows: tuple[FleetRow, ...]
    paging: Paging
    levels: tuple[tuple[int, str, int], ...]
    level: int | None
    vehicles: int
    waiting: int
    drafts: tuple[dict[str, Any], ...]
    first_visit: bool
    scenario: str


_ORDERS: dict[str, Callable[[FleetRow], Any]] = {
    "level": lambda row: -1 if row.card is None or row.card["level"] is None else row.card["level"],
    "vehicle": lambda row: row.vehicle.casefold(),
    "taken_on": lambda row: row.taken_on,
    "thinnest": lambda row: number_of(row.card, "thinnest_mm"),
    "km_left": lambda row: number_of(row.card, "km_left"),
    "hours": lambda row: -number_of(row.card, "hours", 0.0),
}


def _build(ask: Ask) -> FleetPage:
    from wearline.web.receiving import draft_list

    latest = ask.index.latest()
    cards = ask.index.cards([line for line, _ in latest])
    rows = [_row(ask, line, count, cards.get(line.digest)) for line, count in latest]
    counts = [
        (level, words, sum(row.card is not None and row.card["level"] == level for row in rows))
        for level, words in enumerate(STEPS)
    ]
    wanted = ask.query.get("level", "")
    level = int(wanted) if wanted in ("0", "1", "2", "3", "4") else None
    if level is not None:
        rows = [row for row in rows if row.card is not None and row.card["level"] == level]
    rows.sort(key=lambda row: (row.taken_on, row.vehicle), reverse=True)
    shown, paging = paged(rows, ask.query, _ORDERS, _text, first=("level", True), per_page=_PER_PAGE)
    drafts = tuple(draft_list(ask.shop, open_only=True)[:6])
    return FleetPage(
        rows=tuple(shown),
        paging=paging,
        levels=tuple(counts),
        level=level,
        vehicles=len(latest),
        waiting=len(latest) - len(cards),
        drafts=drafts,
        first_visit=not latest and not drafts,
        scenario=ask.shop.settings().scenario,
    )


def _row(ask: Ask, line: Line, count: int, card: dict[str, Any] | None) -> FleetRow:
    return FleetRow(
        vehicle=line.vehicle,
        description="" if card is None else card["description"],
        inspection=line.id,
        taken_on=line.taken_on,
        days_ago=(ask.shop.today - line.taken_on).days,
        odometer_km=line.odometer_km,
        inspections=count,
        card=card,
    )


def _text(row: FleetRow) -> str:
    found = "" if row.card is None else f"{row.card['headline']} {' '.join(row.card['work'])}"
    return f"{row.vehicle} {row.description} {found}"


add_page(router, "/", "fleet.html", _build)
