"""The same report as one self-contained HTML page, and the page of a whole fleet.

A page needs no script and no network: style and drawings stand in it. Text typed by people is escaped by the
template engine; only drawings of this package go in as they are.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wearline.assessment.results import Judgement
from wearline.assessment.road_results import RoadDecision
from wearline.diagnosis.results import Explanation
from wearline.planning.results import JobPlan
from wearline.records.inspection import Inspection
from wearline.reports.content import DECIDES, MADE_BY, report_content
from wearline.reports.content_model import Picture
from wearline.reports.ladder import draw_step
from wearline.reports.palette import DARK, LIGHT, Palette
from wearline.reports.road_words import (
    capability_lines,
    count_text,
    hours_text,
    reason_status,
    rule_grade,
    sentence,
    step_cautions,
)
from wearline.reports.svg import NAME_SPACE
from wearline.reports.words import distance_text, shown_text

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

    from wearline.catalogue.loading import Catalogue

__all__ = ["FleetEntry", "fleet_page", "render_html"]

_TEMPLATES = Path(__file__).parent / "templates"


@dataclass(frozen=True, slots=True)
class FleetEntry:
    """One inspection on the page of a fleet.

    Parameters
    ----------
    vehicle_id, description : str
        The vehicle.
    taken_on : date
        Day of the readings.
    odometer : float or None
        Distance run [m].
    level : int
        Level of the road decision, 0 to 4.
    meaning, found, following : str
        The level in words, what was found, and what comes next.
    links : tuple of (str, str)
        Words and target of each paper; targets are files beside the page or places in it.
    """

    vehicle_id: str
    description: str
    taken_on: date
    odometer: float | None
    level: int
    meaning: str
    found: str
    following: str
    links: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class _FleetVehicle:
    id: str
    anchor: str
    description: str
    entries: tuple[FleetEntry, ...]


def _markup(svg: str) -> Markup:
    from markupsafe import Markup

    return Markup(svg)


def _drawing(picture: Picture) -> Markup:
    if not isinstance(picture, Picture):
        raise TypeError("only drawings of this package go into a page unescaped")
    # Inside a page the name space is known; without it the page names no other host at all.
    return _markup(picture.svg.replace(NAME_SPACE, "", 1))


def _step(level: int) -> Markup:
    return _drawing(Picture(draw_step(level), f"Level {level} of 4."))


def _own_link(target: str) -> bool:
    """True for a file beside the page or a place in it: no scheme, no other host."""
    return re.match(r"[a-zA-Z][a-zA-Z0-9+.-]*:|//|\\", target.strip()) is None


def _shown(value: Any) -> Any:
    """What the template engine prints: text without control characters and direction marks."""
    return shown_text(value) if type(value) is str else value


@lru_cache(maxsize=1)
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
    )
    environment.filters["drawing"] = _drawing
    environment.filters["sentence"] = sentence
    environment.filters["step_cautions"] = step_cautions
    environment.filters["rule_grade"] = rule_grade
    environment.filters["reason_status"] = reason_status
    environment.filters["distance"] = distance_text
    environment.filters["own_link"] = _own_link
    environment.filters["step"] = _step
    return environment


def _variables(palette: Palette) -> str:
    return " ".join(f"--{name}: {colour};" for name, colour in palette.colours().items())


@lru_cache(maxsize=1)
def _style() -> Markup:
    names = LIGHT.colours()
    roles = " ".join(
        f".f-{name} {{ fill: var(--{name}); }} .s-{name} {{ stroke: var(--{name}); }}" for name in names
    )
    css = (_TEMPLATES / "page.css").read_text(encoding="utf-8")
    for placeholder, text in (("light", _variables(LIGHT)), ("dark", _variables(DARK)), ("roles", roles)):
        css = css.replace(f"{{{{ {placeholder} }}}}", text)
    return _markup(css)


def render_html(
    inspection: Inspection,
    judgement: Judgement,
    road: RoadDecision,
    plan: JobPlan,
    *,
    catalogue: Catalogue,
    generated_on: date,
    explanation: Explanation | None = None,
) -> str:
    """Return the report of an inspection as one self-contained HTML page.

    Parameters
    ----------
    inspection : Inspection
        What was taken.
    judgement : Judgement
        What follows for each reading.
    road : RoadDecision
        Whether the vehicle may go.
    plan : JobPlan
        The complete job.
    catalogue : Catalogue
        For designs, labels and sources.
    generated_on : date
        Day of the report.
    explanation : Explanation, optional
        Why it wore like that; None leaves the causes out.

    Returns
    -------
    str
        The page: the same bytes for the same input, light and dark, without script and without references to
        other hosts.

    Raises
    ------
    CatalogueError
        If an axle names a brake design that the catalogue does not have.
    """
    content = report_content(
        inspection,
        judgement,
        road,
        plan,
        catalogue=catalogue,
        generated_on=generated_on,
        explanation=explanation,
    )
    answers = road.answers
    return (
        _environment()
        .get_template("report.html")
        .render(
            content=content,
            road=road,
            plan=plan,
            css=_style(),
            answers=(
                ("Parts", "within their service limits?", answers.part),
                ("Brakes", "apply, release and hold until the next look?", answers.brake),
                ("Vehicle", "how much braking, how balanced?", answers.capability),
                ("Law here today", "what do the rule packs say?", answers.law),
            ),
            hours={axle.axle: hours_text(axle.hours) for axle in plan.axles},
            numbers={source.key: source.number for source in content.sources},
            count_text=count_text(road.count),
            capability_lines=capability_lines(road.capability),
        )
    )


def _anchor(vehicle_id: str, number: int) -> str:
    plain = re.sub(r"[^a-z0-9]+", "-", vehicle_id.lower()).strip("-")
    return f"vehicle-{number}" + (f"-{plain}" if plain else "")


def fleet_page(
    entries: Sequence[FleetEntry], *, title: str, generated_on: date, notes: Sequence[str] = ()
) -> str:
    """Return the page of a fleet: where each vehicle stands, and its inspections in the order of their days.

    Parameters
    ----------
    entries : sequence of FleetEntry
        Inspections, in any order.
    title : str
        Title of the page.
    generated_on : date
        Day of the page.
    notes : sequence of str
        Paragraphs under the title, that the fleet is invented for instance.

    Returns
    -------
    str
        The page, self-contained like ``render_html``; vehicles stand in the order of their first entry.
    """
    by_vehicle: dict[str, list[FleetEntry]] = {}
    for entry in entries:
        by_vehicle.setdefault(entry.vehicle_id, []).append(entry)
    vehicles = []
    for number, (vehicle_id, own) in enumerate(by_vehicle.items(), start=1):
        ordered = tuple(sorted(own, key=lambda entry: entry.taken_on))
        vehicles.append(
            _FleetVehicle(vehicle_id, _anchor(vehicle_id, number), ordered[-1].description, ordered)
        )
    return (
        _environment()
        .get_template("fleet.html")
        .render(
            vehicles=vehicles,
            title=title,
            generated_on=generated_on.isoformat(),
            notes=tuple(notes),
            css=_style(),
            made_by=MADE_BY,
            decides=DECIDES,
        )
    )
