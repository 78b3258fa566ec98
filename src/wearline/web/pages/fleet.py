"""The fleet: where each vehicle stands, who needs wheels off next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from fastapi import APIRouter

from wearline.reports.ladder import STEPS
from wearline.web.asking import Ask, add_page
from wearline.web.fleet_index import Line
from wearline.web.pages.vehicle import first_axles
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
    next_off : mapping or None
        Axle of the outlook at which the wheels must come off first; None where no outlook was worked out.
    """

    vehicle: str
    description: str
    inspection: str
    taken_on: date
    days_ago: int
    odometer_km: float | None
    inspections: int
    card: dict[str, Any] | None
    next_off: dict[str, Any] | None


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
    foreseen : bool
        Whether an outlook was worked out.
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
    foreseen: bool


@dataclass(frozen=True, slots=True)
class _Standing:
    """A vehicle as it is searched and ordered; only what is shown becomes a row."""

    line: Line
    inspections: int
    card: dict[str, Any] | None
    next_off: dict[str, Any] | None

    @property
    def km_left(self) -> float:
        """Distance to where the wheels must come off, by the outlook where there is one [km]."""
        if self.next_off is not None:
            return float(self.next_off["decides_km_p05"])
        return number_of(self.card, "km_left")


_ORDERS: dict[str, Callable[[_Standing], Any]] = {
    "level": lambda each: -1 if each.card is None or each.card["level"] is None else each.card["level"],
    "vehicle": lambda each: each.line.vehicle.casefold(),
    "taken_on": lambda each: each.line.taken_on,
    "thinnest": lambda each: number_of(each.card, "thinnest_mm"),
    "km_left": lambda each: each.km_left,
    "hours": lambda each: -number_of(each.card, "hours", 0.0),
}


def _build(ask: Ask) -> FleetPage:
    from wearline.web.receiving import draft_list

    latest = ask.index.latest()
    cards = ask.index.cards([line for line, _ in latest])
    axles = ask.bench.derived("outlook", "first axles", first_axles)
    standing = [
        _Standing(line, count, cards.get(line.digest), axles.get(line.vehicle)) for line, count in latest
    ]
    on_level = Counter(each.card["level"] for each in standing if each.card is not None)
    wanted = ask.query.get("level", "")
    level = int(wanted) if wanted in ("0", "1", "2", "3", "4") else None
    if level is not None:
        standing = [each for each in standing if each.card is not None and each.card["level"] == level]
    standing.sort(key=lambda each: (each.line.taken_on, each.line.vehicle), reverse=True)
    shown, paging = paged(standing, ask.query, _ORDERS, _text, first=("level", True), per_page=_PER_PAGE)
    drafts = tuple(draft_list(ask.shop, open_only=True)[:6])
    today = ask.shop.today
    return FleetPage(
        rows=tuple(_row(each, today) for each in shown),
        paging=paging,
        levels=tuple((number, words, on_level[number]) for number, words in enumerate(STEPS)),
        level=level,
        vehicles=len(latest),
        waiting=len(latest) - len(cards),
        drafts=drafts,
        first_visit=not latest and not drafts,
        scenario=ask.shop.settings().scenario,
        foreseen=bool(axles),
    )


def _row(each: _Standing, today: date) -> FleetRow:
    line, card = each.line, each.card
    return FleetRow(
        vehicle=line.vehicle,
        description="" if card is None else card["description"],
        inspection=line.id,
        taken_on=line.taken_on,
        days_ago=(today - line.taken_on).days,
        odometer_km=line.odometer_km,
        inspections=each.inspections,
        card=card,
        next_off=each.next_off,
    )


def _text(each: _Standing) -> str:
    card = each.card
    found = "" if card is None else f"{card['description']} {card['headline']} {' '.join(card['work'])}"
    return f"{each.line.vehicle} {found}"


add_page(router, "/", "fleet.html", _build)
