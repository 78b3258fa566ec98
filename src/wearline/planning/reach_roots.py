"""Put the causes into a job: the work names the cause it reaches, and the gate names the confirming test."""

from __future__ import annotations

from dataclasses import replace

from wearline.diagnosis.results import CauseForJob
from wearline.planning.results import AxleJob, JobPlan, JobStep, Work

__all__ = ["reach_roots"]

_DECIDING_GATE = "7"
_REPAIRS = ("S5", "S6", "S2", "S3", "S4")


def reach_roots(plan: JobPlan, causes: tuple[CauseForJob, ...]) -> JobPlan:
    """Return a job plan whose work names the causes and whose gates ask for their confirming tests.

    Parameters
    ----------
    plan : JobPlan
        The job chosen from findings.
    causes : tuple of CauseForJob
        Probable causes with their roots, from the diagnosis.

    Returns
    -------
    JobPlan
        The same work, steps and parts. A cause of the whole vehicle stands before all brake work; a cause at
        an axle without work is left as a sentence for the next visit.

    Notes
    -----
    Work that does not reach the root sees the fault come back. Parts are ordered on a cause only when it is
    confirmed: the gate after the pads are out says by which test.
    """
    whole = tuple(_sentence(cause) for cause in causes if cause.place == "vehicle")
    axles = tuple(_axle(job, [c for c in causes if _axle_of(c.place) == job.axle]) for job in plan.axles)
    return replace(plan, first=plan.first + whole, axles=axles)


def _axle_of(place: str) -> str:
    return place.rstrip("LR")


def _sentence(cause: CauseForJob) -> str:
    chance = "over 99 %" if cause.probability > 0.99 else f"{100 * cause.probability:.0f} %"
    text = f"probable cause, {chance}: {cause.name}"
    if cause.root_code != cause.code:
        where = f" at {cause.root_place}" if cause.root_place not in ("", "vehicle", cause.place) else ""
        text += f"; the root is {cause.root_name}{where}: without it the fault comes back"
    return text


def _axle(job: AxleJob, causes: list[CauseForJob]) -> AxleJob:
    work, beside, later = list(job.work), list(job.also), list(job.later)
    for cause in causes:
        if not (_told(work, cause, job.axle) or _told(beside, cause, job.axle)):
            later.append(_look_into(cause))
    unconfirmed = [cause for cause in causes if not cause.confirmed]
    steps = tuple(_gated(step, unconfirmed) for step in job.steps)
    return replace(job, work=tuple(work), also=tuple(beside), later=tuple(later), steps=steps)


def _look_into(cause: CauseForJob) -> Work:
    confirm = () if cause.confirmed else (f"confirm by: {cause.confirm}",)
    return Work(
        code="cause",
        at=cause.place,
        title=f"look into it: {cause.name}",
        because=(_sentence(cause), *confirm),
        standing="advised",
        status="expert judgement",
    )


def _told(works: list[Work], cause: CauseForJob, axle: str) -> bool:
    """Put the cause before the other reasons of the work that reaches it; say whether there is any."""
    at_place = [n for n, work in enumerate(works) if work.at == cause.place]
    on_axle = [n for n, work in enumerate(works) if work.at == axle]
    ranked = sorted(at_place, key=lambda n: _rank(works[n])) or sorted(on_axle, key=lambda n: _rank(works[n]))
    if not ranked:
        return False
    n = ranked[0]
    text = _sentence(cause) if works[n].at == cause.place else f"{cause.place}: {_sentence(cause)}"
    works[n] = replace(works[n], because=(text, *works[n].because))
    return True


def _rank(work: Work) -> tuple[bool, int]:
    known = _REPAIRS.index(work.code) if work.code in _REPAIRS else len(_REPAIRS)
    return work.standing != "needed", known


def _gated(step: JobStep, unconfirmed: list[CauseForJob]) -> JobStep:
    if step.gate_number != _DECIDING_GATE or not unconfirmed:
        return step
    tests = "; ".join(f"{cause.place}: {cause.confirm}" for cause in unconfirmed)
    return replace(step, gate=f"{step.gate}. Before parts are ordered the cause is confirmed: {tests}")
