"""An inspection with everything that follows from it, put together as the content of a report."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

from wearline import __version__
from wearline.assessment.results import Judgement, Verdict, WheelEndJudgement
from wearline.assessment.road_results import RoadDecision
from wearline.diagnosis.results import Explanation
from wearline.planning.results import JobPlan
from wearline.records.inspection import Inspection
from wearline.records.notices import Notice
from wearline.reports.cause_content import cause_parts, ends_without_cause
from wearline.reports.content_model import Picture, ReportContent
from wearline.reports.end_content import (
    SourceList,
    axle_content,
    finding_lines,
    reading_blocks,
    word_lines,
)
from wearline.reports.ladder import STEPS, draw_ladder
from wearline.reports.road_words import sentence
from wearline.reports.vehicle_drawing import EndState, draw_vehicle, wheel_end_state
from wearline.reports.words import COVERAGE_FACTOR, distance_text, label_parts, quantity_text

if TYPE_CHECKING:
    from wearline.catalogue.loading import Catalogue

__all__ = ["DECIDES", "MADE_BY", "found_paragraph", "identity_lines", "report_content"]

MADE_BY = f"wearline {__version__}"
DECIDES = (
    "Local codes, the maker's instructions and a qualified person decide. This report states what was "
    "measured and what follows from it; it releases no vehicle."
)


def _listed(words: Iterable[str]) -> str:
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return ", ".join(items[:-1]) + " and " + items[-1]


def _beyond_words(end: WheelEndJudgement) -> str:
    # The label up to its first comma or bracket: one paragraph has no room for the rest.
    labels = dict.fromkeys(
        label_parts(reading.label)[0] for reading in end.readings if reading.verdict is Verdict.BEYOND
    )
    return f"{end.place} ({_listed(labels)})" if labels else f"{end.place} (see its findings)"


def _counted(places: list[str], total: int, one: str, many: str) -> str:
    return f"{len(places)} of {total} wheel ends {one if len(places) == 1 else many}"


def found_paragraph(judgement: Judgement) -> str:
    """Return in one paragraph what an inspection found.

    Parameters
    ----------
    judgement : Judgement
        The judgement.

    Returns
    -------
    str
        What is beyond its limit and where, what is undecided, what was not taken, and which wheels come off.
    """
    states = {end.place: wheel_end_state(end) for end in judgement.wheel_ends}
    total = len(states)
    beyond = [place for place, state in states.items() if state.form is EndState.BEYOND]
    undecided = [place for place, state in states.items() if state.form is EndState.UNDECIDED]
    nothing = [place for place, state in states.items() if state.form is EndState.NOTHING]
    missing = [end.place for end in judgement.wheel_ends if end.not_taken and end.place not in nothing]
    parts = []
    if beyond:
        named = "; ".join(_beyond_words(judgement.wheel_end(place)) for place in beyond)
        head = _counted(beyond, total, "has", "have")
        parts.append(f"{head} something beyond a limit or faulty: {named}")
    else:
        parts.append("Nothing that was taken is beyond a limit")
    if undecided:
        parts.append(f"undecided, with nothing beyond: {_listed(undecided)}")
    if nothing:
        parts.append(f"nothing was taken at {_listed(nothing)}, so nothing is known there")
    if missing:
        parts.append(f"a complete inspection would have taken more at {_listed(missing)}")
    off = [axle.axle for axle in judgement.axles if axle.take_off]
    if off:
        parts.append(f"the wheels have to come off axle {_listed(off)} to look")
    elif judgement.axles:
        parts.append("no wheel has to come off on this evidence")
    parts += [finding.text for finding in judgement.findings if finding.weight != "note"][:3]
    return " ".join(sentence(part) for part in parts)


def identity_lines(inspection: Inspection, catalogue: Catalogue) -> tuple[tuple[str, str], ...]:
    """Return who, what, when and where of an inspection.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    catalogue : Catalogue
        For the titles of the designs.

    Returns
    -------
    tuple of (str, str)
        Name and value; a line that was not given says so, where the record ought to have it.
    """
    vehicle = inspection.vehicle
    designs = _listed(dict.fromkeys(catalogue.design(axle.design).title for axle in vehicle.axles))
    masses = [
        f"{quantity_text(mass, 'kg', 0)} {word}"
        for mass, word in ((vehicle.test_mass, "as tested"), (vehicle.rated_mass, "rated"))
        if mass is not None
    ]
    return (
        (
            "kind",
            f"{vehicle.kind}, {len(vehicle.axles)} axles" + (f", {vehicle.duty}" if vehicle.duty else ""),
        ),
        ("brakes", designs),
        ("mass", ", ".join(masses) or "not given"),
        ("retarder", vehicle.retarder or "not said"),
        ("odometer", distance_text(inspection.odometer)),
        ("since pads were new", distance_text(inspection.distance_since_pads)),
        ("readings taken on", inspection.taken_on.isoformat()),
        ("by", inspection.inspector or "not given"),
        ("qualification", inspection.qualification or "not given"),
        ("at", inspection.place or "not given"),
    )


def _notice_text(notice: Notice) -> str:
    where = f"{notice.where}: " if notice.where else ""
    return " ".join(part for part in (f"{where}{notice.text}", notice.cure) if part)


def _rules_text(judgement: Judgement) -> str:
    named = {
        "guarded": f"decided only with {100 * judgement.confidence:.0f} % probability, else undecided",
        "simple": "compared directly, with the probability beside it",
    }
    parts = [f"{kind} limits are {named.get(rule, rule)}" for kind, rule in sorted(judgement.rules.items())]
    parts.append(
        f"every ± and every whisker is an expanded uncertainty with k = {COVERAGE_FACTOR:.0f}, about 95 %; "
        "P is the probability that the true value is within the limit"
    )
    return " ".join(sentence(part) for part in parts)


def _gauges(inspection: Inspection) -> tuple[str, ...]:
    return tuple(
        f"{gauge.id}: {gauge.description or 'not described'}, "
        + (f"calibrated on {gauge.calibrated_on}" if gauge.calibrated_on else "no calibration date given")
        for gauge in inspection.gauges.values()
    )


def _stop_picture(road: RoadDecision) -> Picture | None:
    left = road.capability.left
    if left is None or left.stop is None:
        return None
    from wearline.reports.plots import chart_svg, stop_chart

    stop = left.stop
    said = (
        f"Stopping distance as bands: {_band('now', stop.now)}, {_band('intact', stop.intact)}. An estimate."
    )
    return Picture(chart_svg(stop_chart(stop)), said)


def _band(name: str, metres: tuple[float, float, float] | None) -> str:
    return f"{name} not known" if metres is None else f"{name} {metres[0]:.0f} to {metres[2]:.0f} m"


def _vehicle_picture(inspection: Inspection, judgement: Judgement) -> Picture:
    states = "; ".join(f"{end.place} {', '.join(wheel_end_state(end).words)}" for end in judgement.wheel_ends)
    drawn = draw_vehicle(inspection.vehicle, judgement)
    return Picture(drawn, f"The vehicle from above, front up. {states}.")


def report_content(
    inspection: Inspection,
    judgement: Judgement,
    road: RoadDecision,
    plan: JobPlan,
    *,
    catalogue: Catalogue,
    generated_on: date,
    explanation: Explanation | None = None,
    full: bool = False,
) -> ReportContent:
    """Put together what a report says.

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
    full : bool, optional
        Whether the paper shows every ruler and drawing, not only where something was found.

    Returns
    -------
    ReportContent
        The content, the same for paper and page.
    """
    sources = SourceList(catalogue.sources)
    axles = tuple(
        axle_content(
            axle,
            [end for end in judgement.wheel_ends if end.place[:-1] == axle.axle],
            inspection,
            catalogue,
            sources,
        )
        for axle in judgement.axles
    )
    vehicle_blocks = reading_blocks(judgement.vehicle_readings, sources)
    for pack in road.packs:
        for rule in pack.rules:
            sources.number(rule.source)
    return ReportContent(
        vehicle_id=inspection.vehicle.id,
        description=inspection.vehicle.description,
        taken_on=inspection.taken_on.isoformat(),
        generated_on=generated_on.isoformat(),
        identity=identity_lines(inspection, catalogue),
        note=inspection.note,
        rule_packs="; ".join(pack.title for pack in road.packs) or "none asked for",
        found=found_paragraph(judgement),
        vehicle=_vehicle_picture(inspection, judgement),
        ladder=Picture(
            draw_ladder(road.level), f"Level {road.level} of 4 on the ladder: {STEPS[road.level]}."
        ),
        stop=_stop_picture(road),
        doubts=tuple(
            dict.fromkeys(_notice_text(each) for each in (*inspection.notices, *judgement.warnings))
        ),
        rules=_rules_text(judgement),
        findings=finding_lines(judgement.findings),
        vehicle_blocks=vehicle_blocks,
        vehicle_observed=word_lines(judgement.vehicle_readings),
        axles=axles,
        gauges=_gauges(inspection),
        cautions=plan.cautions,
        decides=" ".join(dict.fromkeys(part for part in (plan.decides, DECIDES) if part)),
        sources=sources.lines(),
        made_by=MADE_BY,
        causes=cause_parts(explanation) if explanation is not None else (),
        without_cause=ends_without_cause(explanation) if explanation is not None else (),
        full=full,
    )
