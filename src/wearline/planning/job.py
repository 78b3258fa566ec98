"""Plans the complete job for a vehicle: work, steps with gates, parts, hours, proof and records."""

from __future__ import annotations

from collections.abc import Mapping

from wearline.assessment.results import Judgement, Verdict
from wearline.catalogue.job_choice import load_job_choice
from wearline.catalogue.job_choice_model import SITUATIONS, JobChoice
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import Limit
from wearline.catalogue.work_model import Work as WorkCatalogue
from wearline.catalogue.work_model import with_limits
from wearline.planning.choose import choose_work
from wearline.planning.evidence import gather_evidence
from wearline.planning.hours import LabourTable, axle_hours, vehicle_hours
from wearline.planning.parts import axle_parts
from wearline.planning.results import AxleJob, Hours, JobPlan, Work
from wearline.planning.steps import AsFound, StepBook, axle_steps, cautions_of_job
from wearline.records.inspection import Axle, Inspection
from wearline.records.place import WheelEndPlace
from wearline.units import format_quantity

__all__ = ["plan_job_from"]

_HOT = "hot parts"


def plan_job_from(inspection: Inspection, judgement: Judgement, catalogue: Catalogue) -> JobPlan:
    """Plan the complete job that the findings of an inspection ask for.

    Parameters
    ----------
    inspection : Inspection
        The vehicle, what people noticed and wrote down.
    judgement : Judgement
        The findings.
    catalogue : Catalogue
        Designs, limits, and everything about the work.

    Returns
    -------
    JobPlan
        One job per axle, also where nothing is to be done. A plan releases nothing: it says what follows from
        what was found.

    Notes
    -----
    The choice of work stands as data in ``job_choice.toml``, each rule with its status.
    """
    choice = load_job_choice()
    evidence = gather_evidence(inspection, judgement, catalogue, choice)
    chosen = choose_work(evidence, choice.rules, choice.title)
    jobs = tuple(
        _axle_job(
            inspection,
            axle,
            chosen.by_axle.get(axle.id, ()),
            _as_found(judgement, axle.id, choice.signs[_HOT].at_least),
            catalogue,
        )
        for axle in inspection.vehicle.axles
    )
    return _plan(inspection, jobs, (*_doubts(judgement), *chosen.first), catalogue, choice)


def _axle_job(
    inspection: Inspection, axle: Axle, works: tuple[Work, ...], found: AsFound, catalogue: Catalogue
) -> AxleJob:
    choice, work = load_job_choice(), catalogue.work
    if axle.brake != "air disc":
        why = f"Axle {axle.id} has drum brakes: this plan covers air disc brakes alone."
        return AxleJob(axle.id, (), (), (), Hours(0.0, 0.0, "no work planned"), why=why)
    later = tuple(each for each in works if each.code in choice.extra and choice.extra[each.code].later)
    now = tuple(each for each in works if each not in later)
    design = catalogue.design(axle.design, inspection.taken_on)
    limits = catalogue.limits_for(axle.design, inspection.taken_on)
    ends = (f"{axle.id}L", f"{axle.id}R")
    inspected = any(inspection.wheel_end(WheelEndPlace.parse(end)) is not None for end in ends)
    return AxleJob(
        axle=axle.id,
        work=tuple(each for each in now if each.code in SITUATIONS),
        steps=axle_steps(axle, design, now, StepBook(work, choice, limits), found),
        parts=axle_parts(ends, now, design, work, choice),
        hours=axle_hours(axle, ends, now, LabourTable(work.hours, work.deductions, choice.extra)),
        other_end=_other_end(axle, ends, now, work, limits),
        also=tuple(each for each in now if each.code not in SITUATIONS),
        later=later,
        why=_why_axle(axle.id, now, found, inspected=inspected),
    )


def _doubts(judgement: Judgement) -> tuple[str, ...]:
    """Doubts about readings come before any work: the job rests on them."""
    return tuple(
        f"Confirm before the job is decided: {warning.text}. {warning.cure}".rstrip(". ") + "."
        for warning in judgement.warnings
    )


def _as_found(judgement: Judgement, axle: str, hot_from: float) -> AsFound:
    """Collect what the texts of an axle say: heat, missing checks, readings that say nothing."""
    hot: dict[str, str] = {}
    not_taken: dict[str, int] = {}
    void: dict[str, int] = {}
    for end in judgement.wheel_ends:
        if WheelEndPlace.parse(end.place).axle != axle:
            continue
        reading = end.reading("temperature")
        if reading is not None and reading.value is not None and reading.value >= hot_from:
            hot[end.place] = format_quantity(reading.value, "degC", 0)
        if end.not_taken:
            not_taken[end.place] = len(end.not_taken)
        nothing = sum(reading.verdict is Verdict.VOID for reading in end.readings)
        if nothing:
            void[end.place] = nothing
    return AsFound(hot, not_taken, void)


def _why_axle(axle: str, works: tuple[Work, ...], found: AsFound, *, inspected: bool) -> str:
    if not inspected and not works:
        return f"Axle {axle} was not inspected: nothing is planned, and nothing is known of it."
    said = [_listed(works) if works else "nothing was found that asks for work"]
    if found.void:
        said.append(f"readings that say nothing until confirmed or taken again: {_counted(found.void)}")
    if found.not_taken and not works:
        said.append(f"checks not taken: {_counted(found.not_taken)}, so this is no proof that all is well")
    return f"Axle {axle}: {'; '.join(said)}."


def _counted(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{count} at {end}" for end, count in counts.items())


def _listed(works: tuple[Work, ...]) -> str:
    words = {"needed": "", "depends": " (depends)", "advised": " (advised)"}
    return "; ".join(f"{_named(work)} at {work.at}{words[work.standing]}" for work in works)


def _named(work: Work) -> str:
    return f"{work.code} {work.title}" if work.code in SITUATIONS else work.title


_PAIR_RULES = {
    "S1": "pads",
    "S4": "rotors",
    "S5": "callipers",
    "S2": "guides",
    "chamber": "chambers",
    "chamber pair": "chambers",
}
"""Rule for the two ends of an axle, by the work that brings it up."""


def _other_end(
    axle: Axle,
    ends: tuple[str, ...],
    works: tuple[Work, ...],
    work: WorkCatalogue,
    limits: Mapping[str, Limit],
) -> tuple[str, ...]:
    """Say what the other end needs because of this job: rules for pairs, and the work that lands there."""
    if not works:
        return ()
    keys = [rule for code, rule in _PAIR_RULES.items() if any(each.code == code for each in works)]
    if axle.role == "steer":
        keys.append("steer")
    rules = [work.pair_rules[key] for key in dict.fromkeys(keys)]
    sentences = [f"{rule.item}: {with_limits(rule.rule, limits)} ({rule.status})" for rule in rules]
    for end, mate in (ends, ends[::-1]):
        looks = [
            each
            for each in works
            if each.at == mate and any(reason.startswith(f"{end}: ") for reason in each.because)
        ]
        if looks:
            sentences.append(f"{mate}, because of {end}: {_listed(tuple(looks))}")
        if any(each.at == end and each.code == "S5" for each in works) and not any(
            each.at == mate and each.code == "S5" for each in works
        ):
            sentences.append(f"{mate}: its calliper stays if it passes every check")
    return tuple(sentences)


def _plan(
    inspection: Inspection,
    jobs: tuple[AxleJob, ...],
    first: tuple[str, ...],
    catalogue: Catalogue,
    choice: JobChoice,
) -> JobPlan:
    work = catalogue.work
    works = tuple(each for job in jobs for each in (*job.work, *job.also))
    worked = next((job.axle for job in jobs if job.steps), inspection.vehicle.axles[0].id)
    limits = catalogue.limits_for(inspection.vehicle.axle(worked).design, inspection.taken_on)
    book = StepBook(work, choice, limits)
    steps = [step for job in jobs for step in job.steps]
    return JobPlan(
        vehicle_id=inspection.vehicle.id,
        axles=jobs,
        first=first,
        cautions=cautions_of_job(steps, works, book),
        proof=_proof(works, work, limits),
        records=tuple(record.text for record in work.records.values()) if works else (),
        decides=" ".join(statement.text for statement in work.authority),
        hours=vehicle_hours(
            (job.hours for job in jobs), LabourTable(work.hours, work.deductions, choice.extra)
        ),
        why=_why(jobs, works),
    )


def _proof(works: tuple[Work, ...], work: WorkCatalogue, limits: Mapping[str, Limit]) -> tuple[str, ...]:
    """Bedding where pads are new, then every proof; a second look after repairs beyond pads."""
    if not works:
        return ()
    codes = {each.code for each in works}
    repaired = bool(codes & set(SITUATIONS[1:]))
    bedding = [f"bedding: {statement.text}" for statement in work.bedding] if "S1" in codes else []
    proofs = [
        f"{proof.title}: {with_limits(proof.passes_when, limits)}"
        for key, proof in work.proofs.items()
        if repaired or key != "second-look"
    ]
    return (*bedding, *proofs)


def _why(jobs: tuple[AxleJob, ...], works: tuple[Work, ...]) -> str:
    if not works:
        return "Nothing was found that asks for work: no work is planned."
    axles = [job.axle for job in jobs if job.steps]
    where = f"axle {axles[0]}" if len(axles) == 1 else f"axles {', '.join(axles)}"
    return f"Work on {where}; in detail under each axle."
