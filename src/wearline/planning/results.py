"""The plan of a complete job, per axle."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["AxleJob", "Hours", "JobPlan", "JobStep", "PartNeed", "Work"]


@dataclass(frozen=True, slots=True)
class Work:
    """One situation of work at one wheel end or axle.

    Parameters
    ----------
    code : str
        ``"S1"`` to ``"S6"``; in ``AxleJob.also`` a word of our own, as ``"bearing"`` or ``"free pads"``.
    at : str
        Wheel end, or axle id for work on both ends.
    title : str
        What it is.
    because : tuple of str
        The findings that ask for it.
    standing : {"needed", "advised", "depends"}
        ``depends`` names a choice that a further check decides; see ``choice``.
    choice : str
        The check that decides, and the other work.
    status : str
        What the rule behind it rests on, as ``"common practice"``.
    """

    code: str
    at: str
    title: str
    because: tuple[str, ...]
    standing: str = "needed"
    choice: str = ""
    status: str = ""


@dataclass(frozen=True, slots=True)
class JobStep:
    """One step in order.

    Parameters
    ----------
    n : int
        Running number from 1.
    text : str
        What to do.
    at : str
        Where: wheel end, axle id for both ends, or empty for the vehicle.
    gate : str
        The sentence that must be true before going on; empty if none.
    gate_number : str
        Number of the gate on the common spine, ``"1"`` to ``"18"``, or the name of an own step, as
        ``"S5.2"``; empty without a gate.
    cautions : tuple of str
        Hazards of this step; the rule to each stands in ``JobPlan.cautions``, and here too for the spring
        brake.
    record : tuple of str
        Fields to fill in: ``"as found"``, ``"as left"``, ``"torque"``, ``"time"``, ``"signature"``,
        ``"photographs"``, ``"parts"``, ``"proof"``.
    """

    n: int
    text: str
    at: str
    gate: str = ""
    gate_number: str = ""
    cautions: tuple[str, ...] = ()
    record: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PartNeed:
    """Parts to have at hand.

    Parameters
    ----------
    part : str
        Generic name; callipers and carriers with their side.
    count : int
        How many.
    at : str
        Wheel end, or axle id where both ends need the same; the count is then for both.
    because : str
        The work that needs it.
    if_needed : bool
        True where a further check decides.
    """

    part: str
    count: int
    at: str
    because: str
    if_needed: bool = False


@dataclass(frozen=True, slots=True)
class Hours:
    """Labour for one person [h].

    Parameters
    ----------
    low, high : float
        Range.
    basis : str
        How it was put together, with the status of the figures.
    """

    low: float
    high: float
    basis: str


@dataclass(frozen=True, slots=True)
class AxleJob:
    """The job on one axle.

    Parameters
    ----------
    axle : str
        Axle id.
    work : tuple of Work
        Situations S1 to S6 and why.
    also : tuple of Work
        Work beside them: bearing, hoses, seals, cleaning, a look at the other end.
    steps : tuple of JobStep
        In order; empty when nothing is to be done.
    parts : tuple of PartNeed
        Parts.
    hours : Hours
        Labour.
    other_end : tuple of str
        What the other end needs because of this job.
    also : tuple of Work
        Work beside the situations.
    later : tuple of Work
        No work now: what to plan for the next visit.
    why : str
        One sentence: why this axle is worked on, or why not.
    """

    axle: str
    work: tuple[Work, ...]
    steps: tuple[JobStep, ...]
    parts: tuple[PartNeed, ...]
    hours: Hours
    other_end: tuple[str, ...] = ()
    also: tuple[Work, ...] = ()
    later: tuple[Work, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class JobPlan:
    """The complete job for a vehicle.

    Parameters
    ----------
    vehicle_id : str
        The vehicle.
    axles : tuple of AxleJob
        One per axle, from front to rear, also where nothing is to be done.
    first : tuple of str
        What has to come before any brake work, as the cause of heat on the whole vehicle.
    cautions : tuple of str
        Cautions for the whole job.
    proof : tuple of str
        What proves the job.
    records : tuple of str
        What to write down.
    decides : str
        Who decides: maker's instructions, local codes, a qualified person.
    hours : Hours
        Labour of all axles, with bedding and proof counted once for the vehicle.
    why : str
        One sentence: what the plan comes to.
    """

    vehicle_id: str
    axles: tuple[AxleJob, ...]
    first: tuple[str, ...]
    cautions: tuple[str, ...]
    proof: tuple[str, ...]
    records: tuple[str, ...]
    decides: str
    hours: Hours = Hours(0.0, 0.0, "no work")
    why: str = ""
