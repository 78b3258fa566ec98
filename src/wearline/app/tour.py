"""The whole job on an invented fleet: inspect, judge, decide, plan, keep, report."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from wearline.app.fleet_wear import fleet_wear
from wearline.app.forecasting import Question, outlook
from wearline.app.judging import Opened, job_with_causes, nothing_beyond
from wearline.app.reporting import write_text
from wearline.app.scheduling import PlanRequest, plan_work, week_sheet
from wearline.assessment.assemble import judge
from wearline.assessment.results import Judgement
from wearline.assessment.road import decide_road
from wearline.assessment.road_results import RoadDecision
from wearline.catalogue.loading import Catalogue, load_catalogue
from wearline.diagnosis.results import Explanation
from wearline.errors import InputError
from wearline.forecasting.outlook import AxleOutlook
from wearline.ingest.document import inspection_from_document
from wearline.ingest.write import write_inspection_toml
from wearline.planning.job import plan_job_from
from wearline.planning.results import JobPlan
from wearline.practice.fleet import FleetInspection, demonstration_fleet
from wearline.practice.sisters import sister_vehicles
from wearline.records.inspection import Inspection
from wearline.reports.case_letter import case_letter, render_case_letter_pdf
from wearline.reports.cause_content import cause_parts
from wearline.reports.fleet_plot import draw_fleet_wear
from wearline.reports.inspection_report import render_pdf
from wearline.reports.outlook_plot import write_outlook_plot
from wearline.reports.page import FleetEntry, fleet_page, render_html
from wearline.storage.opening import open_store
from wearline.storage.store import Store

if TYPE_CHECKING:
    from wearline.app.answer_types import TourAnswer

__all__ = ["SCENARIO", "Tour", "TourStop", "cause_line", "headline", "next_line", "show_tour", "tour_answer"]

SCENARIO = (
    "An invented fleet: vehicles, people, readings and faults are made up by a simulation; none is a real "
    "vehicle or measurement."
)
_SEED = 20_260_914
_KEEPER = "tour"
_PAPERS = ("report.pdf", "letter.pdf", "weeks.pdf", "outlook.svg", "fleet.svg", "fleet.html", "fleet.db")


@dataclass(frozen=True, slots=True)
class TourStop:
    """One inspection of the tour, worked through.

    Parameters
    ----------
    item : FleetInspection
        What was simulated.
    inspection : Inspection
        The inspection as read.
    judgement, road, plan
        What follows from it.
    last : bool
        Whether it is the vehicle's last inspection.
    explanation : Explanation or None
        Why it wore like that, for the last inspection.
    """

    item: FleetInspection
    inspection: Inspection
    judgement: Judgement
    road: RoadDecision
    plan: JobPlan
    last: bool
    explanation: Explanation | None = None


@dataclass(frozen=True, slots=True)
class Tour:
    """The tour as a whole.

    Parameters
    ----------
    stops : tuple of TourStop
        Every inspection, vehicle by vehicle, oldest first.
    files : tuple of str
        What was written.
    first_axles : mapping of str to AxleOutlook
        For each vehicle the axle at which the wheels must come off first.
    """

    stops: tuple[TourStop, ...]
    files: tuple[str, ...]
    first_axles: Mapping[str, AxleOutlook]


Progress = Callable[[str, int, int], None]
"""Called with what is being done, how many are done and how many there are."""


def show_tour(into: Path, *, today: date, progress: Progress) -> Tour:
    """Work through the demonstration fleet and leave its papers in a folder.

    Parameters
    ----------
    into : Path
        Folder; made where it is missing. Papers of an earlier tour are replaced.
    today : date
        Day of the tour; the fleet's last inspections lie some weeks before its scenario day, never later.
    progress : callable
        Told of every step.

    Returns
    -------
    Tour
        What was found and written.

    Raises
    ------
    InputError
        If the folder cannot be written to.
    """
    catalogue = load_catalogue()
    _make_room(into)
    vehicles: list[str] = []

    def simulating(name: str) -> None:
        vehicles.append(name)
        progress(f"simulating {name}", len(vehicles), 0)

    fleet = demonstration_fleet(_SEED, progress=simulating)
    stops = _work_through(fleet, catalogue, today, progress)
    files = [str(into / "fleet.db")]
    _keep(stops, into / "fleet.db", progress)
    _keep_sisters(into / "fleet.db", catalogue, today, progress)
    files += _write_files(stops, into)
    progress("looking ahead and placing the work", 0, 0)
    first_axles, ahead = _look_ahead(into, today)
    files += ahead
    progress("writing report and page", 0, 0)
    files += _write_papers(stops, into, catalogue, today)
    return Tour(tuple(stops), tuple(files), first_axles)


def _make_room(into: Path) -> None:
    try:
        (into / "inspections").mkdir(parents=True, exist_ok=True)
        for old in [*into.glob("fleet.db*"), *(into / name for name in _PAPERS)]:
            old.unlink(missing_ok=True)
    except OSError as error:
        raise InputError(
            f"the folder cannot be made or cleared: {error.strerror or error}",
            where=str(into),
            allowed="a folder that may be written to",
            cure="Choose another with --into",
        ) from error


def _work_through(
    fleet: tuple[FleetInspection, ...], catalogue: Catalogue, today: date, progress: Progress
) -> list[TourStop]:
    stops = []
    for number, item in enumerate(fleet):
        progress(f"judging {item.vehicle} of {item.taken_on}", number + 1, len(fleet))
        inspection = inspection_from_document(
            item.inspection.document, where=item.vehicle, today=today, catalogue=catalogue
        )
        judgement = judge(inspection, catalogue)
        last = number + 1 == len(fleet) or fleet[number + 1].vehicle != item.vehicle
        explanation = None
        if last:
            explanation, plan = job_with_causes(Opened(inspection, catalogue), judgement)
        else:
            plan = plan_job_from(inspection, judgement, catalogue)
        road = decide_road(inspection, judgement, catalogue)
        stops.append(TourStop(item, inspection, judgement, road, plan, last, explanation))
    return stops


def _look_ahead(into: Path, today: date) -> tuple[dict[str, AxleOutlook], list[str]]:
    """Forecast from what was kept, place the work in weeks, and write both."""
    question = Question(file=None, database=str(into / "fleet.db"), until=today)
    found = outlook(question)
    first: dict[str, AxleOutlook] = {}
    for axle in found.axles:
        if axle.vehicle not in first or axle.earliest < first[axle.vehicle].earliest:
            first[axle.vehicle] = axle
    write_outlook_plot(found, into / "outlook.svg")
    files = [str(into / "outlook.svg"), str(into / "weeks.pdf")]
    wear = fleet_wear(found)
    if wear is not None:
        write_text(into / "fleet.svg", draw_fleet_wear(wear))
        files.append(str(into / "fleet.svg"))
    week_sheet(plan_work(PlanRequest(question, first_day=today)), into / "weeks.pdf", today=today)
    return first, files


def _keep(stops: list[TourStop], database: Path, progress: Progress) -> None:
    with open_store(str(database)) as store:
        for number, stop in enumerate(stops):
            progress(f"keeping {stop.item.vehicle}", number + 1, len(stops))
            _keep_one(store, stop)


def _keep_sisters(database: Path, catalogue: Catalogue, today: date, progress: Progress) -> None:
    """Keep the sister buses beside the fleet, so that groups and batches can be asked about."""
    progress("keeping twelve sister buses", 0, 0)
    with open_store(str(database)) as store:
        for item in sister_vehicles(_SEED):
            inspection = inspection_from_document(
                item.inspection.document, where=item.vehicle, today=today, catalogue=catalogue
            )
            moment = datetime.combine(item.taken_on, time(17), tzinfo=UTC)
            store.keep(inspection, kept_by=_KEEPER, kept_at=moment)


def _keep_one(store: Store, stop: TourStop) -> None:
    store.keep(
        stop.inspection,
        kept_by=_KEEPER,
        kept_at=datetime.combine(stop.item.taken_on, time(17), tzinfo=UTC),
    )


def _write_files(stops: list[TourStop], into: Path) -> list[str]:
    written = []
    for stop in stops:
        if stop.last:
            name = _file_name(stop.item.vehicle)
            path = into / "inspections" / f"{name}.toml"
            write_inspection_toml(stop.item.inspection.document, path, overwrite=True)
            written.append(str(path))
    return written


def _file_name(vehicle: str) -> str:
    return "".join(sign if sign.isalnum() else "-" for sign in vehicle.lower()).strip("-")


def _write_papers(stops: list[TourStop], into: Path, catalogue: Catalogue, today: date) -> list[str]:
    latest = [stop for stop in stops if stop.last]
    shown = max(latest, key=lambda stop: (stop.road.level, len(stop.judgement.all_findings)))
    render_pdf(
        shown.inspection,
        shown.judgement,
        shown.road,
        shown.plan,
        catalogue=catalogue,
        generated_on=today,
        out=into / "report.pdf",
        explanation=shown.explanation,
    )
    written = [str(into / "report.pdf")]
    if shown.explanation is not None:
        letter = case_letter(shown.judgement, shown.road, shown.explanation, catalogue)
        render_case_letter_pdf(letter, shown.inspection, into / "letter.pdf", day=today)
        written.append(str(into / "letter.pdf"))
    links: dict[str, str] = {}
    for stop in latest:
        name = f"{_file_name(stop.item.vehicle)}.html"
        html = render_html(
            stop.inspection,
            stop.judgement,
            stop.road,
            stop.plan,
            catalogue=catalogue,
            generated_on=today,
            explanation=stop.explanation,
        )
        write_text(into / name, html)
        links[stop.item.vehicle] = name
        written.append(str(into / name))
    entries = [_entry(stop, links if stop.last else {}) for stop in stops]
    page = fleet_page(entries, title="Invented fleet", generated_on=today, notes=(SCENARIO,))
    write_text(into / "fleet.html", page)
    written.append(str(into / "fleet.html"))
    return written


def _entry(stop: TourStop, links: dict[str, str]) -> FleetEntry:
    papers = []
    if stop.item.vehicle in links:
        papers.append(("inspection", links[stop.item.vehicle]))
    return FleetEntry(
        vehicle_id=stop.item.vehicle,
        description=stop.inspection.vehicle.description,
        taken_on=stop.item.taken_on,
        odometer=stop.inspection.odometer,
        level=stop.road.level,
        meaning=stop.road.meaning,
        found=headline(stop),
        following=_following(stop),
        links=tuple(papers),
    )


def headline(stop: TourStop) -> str:
    """Return what an inspection found, in one sentence.

    Parameters
    ----------
    stop : TourStop
        The inspection.

    Returns
    -------
    str
        The gravest reason, or that nothing was found.
    """
    if stop.road.reasons:
        reason = stop.road.reasons[0]
        place = f"{reason.place}: " if reason.place else ""
        return f"{place}{reason.text}"
    if nothing_beyond(stop.judgement):
        return "nothing beyond a limit"
    return "undecided readings only"


def cause_line(stop: TourStop) -> str:
    """Return why a vehicle wore like that, in one line.

    Parameters
    ----------
    stop : TourStop
        Its last inspection.

    Returns
    -------
    str
        The first cause of the first two places; empty where none is likely or it was not asked.
    """
    if stop.explanation is None:
        return ""
    parts = [part for part in cause_parts(stop.explanation) if part.lines]
    # what is seen is mostly what came of it: the probable cause is the better answer to why
    firsts = [next((line for line in part.lines if line.chance != "seen"), part.lines[0]) for part in parts]
    said = [
        f"{part.place}: {_chance(line.chance)}{line.name}"
        for part, line in zip(parts[:2], firsts, strict=False)
    ]
    more = f"; and at {len(parts) - 2} more" if len(parts) > 2 else ""
    return "; ".join(said) + more


def _chance(words: str) -> str:
    return "" if words == "seen" else f"{words} "


def next_line(axle: AxleOutlook | None) -> str:
    """Return when the wheels of a vehicle must come off next, in one line.

    Parameters
    ----------
    axle : AxleOutlook or None
        The axle that is first.

    Returns
    -------
    str
        Axle, the part that decides, and the distance with its risk; empty without a forecast.
    """
    if axle is None:
        return ""
    if axle.earliest <= 0.0:
        return f"axle {axle.axle} now: {axle.decides}"
    km = f"{axle.earliest / 1e6:.0f} 000 km"
    return f"axle {axle.axle} within {km} of that look, 1 in 20 that its limit comes sooner: {axle.decides}"


def _following(stop: TourStop) -> str:
    situations = [
        f"{work.code} at {work.at}"
        for axle in stop.plan.axles
        for work in axle.work
        if work.standing == "needed"
    ]
    beside = [f"{work.code} at {work.at}" for axle in stop.plan.axles for work in axle.also]
    if not situations and beside:
        return "to settle first: " + ", ".join(beside)
    return ", ".join(situations) or "no work"


def tour_answer(tour: Tour) -> TourAnswer:
    """Return the tour as JSON values.

    Parameters
    ----------
    tour : Tour
        The tour.

    Returns
    -------
    TourAnswer
        Under schema ``wearline.tour/1``.
    """
    counts: dict[str, int] = {}
    for stop in tour.stops:
        counts[stop.item.vehicle] = counts.get(stop.item.vehicle, 0) + 1
    return {
        "schema": "wearline.tour/1",
        "scenario": SCENARIO,
        "vehicles": [
            {
                "vehicle": stop.item.vehicle,
                "description": stop.inspection.vehicle.description,
                "inspections": counts[stop.item.vehicle],
                "level": stop.road.level,
                "headline": headline(stop),
                "cause": cause_line(stop),
                "work": _following(stop),
                "next": next_line(tour.first_axles.get(stop.item.vehicle)),
            }
            for stop in tour.stops
            if stop.last
        ],
        "files": list(tour.files),
    }
