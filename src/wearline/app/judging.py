"""Open an inspection and answer: is each reading good, may it go, what does the complete job include."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from wearline.app.rereading import reread_as_inches
from wearline.assessment.assemble import judge
from wearline.assessment.results import Judgement, Verdict
from wearline.assessment.road import decide_road
from wearline.assessment.road_results import RoadDecision
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.loading import Catalogue, load_catalogue
from wearline.catalogue.maker_file import MakerFile, check_maker_file
from wearline.diagnosis.results import Explanation
from wearline.ingest.read import read_inspection
from wearline.planning.job import plan_job_from
from wearline.planning.reach_roots import reach_roots
from wearline.planning.results import JobPlan
from wearline.records.inspection import Inspection

__all__ = [
    "Opened",
    "Request",
    "decide_release",
    "job_with_causes",
    "judge_inspection",
    "nothing_beyond",
    "open_inspection",
    "plan_job",
]


@dataclass(frozen=True, slots=True)
class Request:
    """What to judge and by which rules.

    Parameters
    ----------
    path : str or Path
        Inspection file, or ``"-"`` for standard input.
    today : date
        Day of asking; a file from the future is refused.
    maker_files : sequence of path
        The user's files of maker's limits.
    rule_packs : sequence of str
        Rule packs instead of those named in the file; empty to keep them.
    inches : sequence of str
        Wheel ends whose lengths were typed in inches without saying so.
    decision : DecisionSettings
        Decision rules.
    """

    path: str | Path
    today: date
    maker_files: Sequence[str | Path] = ()
    rule_packs: Sequence[str] = ()
    inches: Sequence[str] = ()
    decision: DecisionSettings = field(default_factory=DecisionSettings)


@dataclass(frozen=True, slots=True)
class Opened:
    """An inspection with the catalogue it is judged by.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    catalogue : Catalogue
        With the maker's limits that were given.
    """

    inspection: Inspection
    catalogue: Catalogue


def open_inspection(request: Request) -> Opened:
    """Read the inspection and the maker's files.

    Parameters
    ----------
    request : Request
        What to open.

    Returns
    -------
    Opened
        Inspection and catalogue.

    Raises
    ------
    InputError
        If a file, a wheel end or a rule pack is wrong.
    """
    catalogue = load_catalogue()
    if request.maker_files:
        files: list[MakerFile] = []
        for path in request.maker_files:
            files.append(check_maker_file(path, others=files))
        catalogue = catalogue.with_maker_files(files)
    inspection = read_inspection(request.path, today=request.today, catalogue=catalogue)
    if request.rule_packs:
        for pack in request.rule_packs:
            catalogue.pack(pack)
        inspection = replace(inspection, rule_packs=tuple(request.rule_packs))
    if request.inches:
        inspection = reread_as_inches(inspection, request.inches, catalogue)
    return Opened(inspection, catalogue)


def judge_inspection(request: Request) -> tuple[Opened, Judgement]:
    """Answer whether each reading is good, and whether the wheels have to come off.

    Parameters
    ----------
    request : Request
        What to judge.

    Returns
    -------
    Opened, Judgement
        The inspection and its judgement.

    Raises
    ------
    InputError
        If a file is wrong.
    """
    opened = open_inspection(request)
    return opened, judge(opened.inspection, opened.catalogue, request.decision)


def decide_release(request: Request) -> tuple[Opened, Judgement, RoadDecision]:
    """Answer whether the vehicle may go on the road, and under which conditions.

    Parameters
    ----------
    request : Request
        What to judge.

    Returns
    -------
    Opened, Judgement, RoadDecision
        The inspection, its judgement and the decision.

    Raises
    ------
    InputError
        If a file is wrong.
    """
    opened, judgement = judge_inspection(request)
    return opened, judgement, decide_road(opened.inspection, judgement, opened.catalogue, request.decision)


def plan_job(request: Request) -> tuple[Opened, Judgement, JobPlan]:
    """Answer what the complete job includes.

    Parameters
    ----------
    request : Request
        What to judge.

    Returns
    -------
    Opened, Judgement, JobPlan
        The inspection, its judgement and the plan.

    Raises
    ------
    InputError
        If a file is wrong.
    """
    opened, judgement = judge_inspection(request)
    return opened, judgement, job_with_causes(opened, judgement)[1]


def job_with_causes(opened: Opened, judgement: Judgement) -> tuple[Explanation, JobPlan]:
    """Plan the job, name the causes it reaches and the tests that confirm them.

    Parameters
    ----------
    opened : Opened
        The inspection and its catalogue.
    judgement : Judgement
        Its judgement.

    Returns
    -------
    Explanation, JobPlan
        Why it wore like that, and the complete job.
    """
    from wearline.diagnosis.explain import explain
    from wearline.diagnosis.roots import causes_for_job

    explanation = explain(opened.inspection, opened.catalogue)
    plan = plan_job_from(opened.inspection, judgement, opened.catalogue)
    return explanation, reach_roots(plan, causes_for_job(explanation))


def nothing_beyond(judgement: Judgement) -> bool:
    """Return whether nothing is beyond a limit, undecided, void or doubtful.

    Parameters
    ----------
    judgement : Judgement
        The judgement.

    Returns
    -------
    bool
        False is exit code 1 of the commands.
    """
    fine = (Verdict.WITHIN, Verdict.NOT_TAKEN)
    readings = [reading for end in judgement.wheel_ends for reading in end.readings]
    readings += judgement.vehicle_readings
    readings += [axle.imbalance for axle in judgement.axles if axle.imbalance is not None]
    return not judgement.warnings and all(reading.verdict in fine for reading in readings)
