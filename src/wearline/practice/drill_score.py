"""The score of a finished drill: causes and work against the truth, minutes against the best route, lessons.

The weights stand in ``data/drills.toml`` (status: expert judgement). Each lesson compares a reading with what
a perfect gauge would have shown, and with the same brake on the same road without the cause.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from wearline.catalogue.job_choice_model import SITUATIONS
from wearline.catalogue.load_causes import load_causes
from wearline.catalogue.loading import load_catalogue
from wearline.planning.results import JobPlan
from wearline.practice.drill import DrillSession
from wearline.practice.drill_cases import DATA_ERROR, Blame, DrillCase, Effect, effects_of, written_value
from wearline.practice.drill_route import Route
from wearline.practice.faults import VEHICLE, cause_of
from wearline.practice.numbers import read_table
from wearline.units import format_quantity

__all__ = [
    "CauseMark",
    "DrillScore",
    "Lesson",
    "WorkMark",
    "lessons_of",
    "most_points",
    "needed_work",
    "score_drill",
]

_LESSONS = 8
_UNSEEN = 3
_TIMES_U = 2.0


@dataclass(frozen=True, slots=True)
class CauseMark:
    """One cause, true or blamed.

    Parameters
    ----------
    at, code, name : str
        Place and cause.
    result : {"found", "near", "missed", "wrong", "grew"}
        ``near``: another cause of the same group blamed at the same place. ``grew``: blamed, not put there,
        but it may grow out of a true cause; it counts neither way.
    root : bool
        Whether it is a root.
    said : str
        One sentence.
    """

    at: str
    code: str
    name: str
    result: str
    root: bool
    said: str


@dataclass(frozen=True, slots=True)
class WorkMark:
    """The work of one axle.

    Parameters
    ----------
    axle : str
        Axle id.
    ordered, needed : tuple of str
        Situations that the person ordered, and that the findings ask for.
    missing, needless : tuple of str
        Situations that were forgotten, and that nothing asks for.
    """

    axle: str
    ordered: tuple[str, ...]
    needed: tuple[str, ...]
    missing: tuple[str, ...]
    needless: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Lesson:
    """What one reading should have said.

    Parameters
    ----------
    at, check, spot : str
        Wheel end, field and corner.
    label : str
        Words of the trade.
    cause : str
        Code of the cause that it speaks of.
    written, true, without : str
        What was written (empty: not asked for), what a perfect gauge shows, and what it would show without
        the cause.
    text : str
        The sentence.
    far : bool
        Whether what was written is further off than its gauge explains.
    """

    at: str
    check: str
    spot: str
    label: str
    cause: str
    written: str
    true: str
    without: str
    text: str
    far: bool = False


@dataclass(frozen=True, slots=True)
class DrillScore:
    """The score of a finished drill.

    Parameters
    ----------
    points : float
        0 to 100.
    cause_points, work_points : float
        Parts of it.
    time_points : float or None
        Part for the time; None where the best route did not find the causes itself, and time is not scored.
    causes : tuple of CauseMark
        Every true cause and every wrong one.
    work : tuple of WorkMark
        Axle by axle.
    minutes : float, [min]
        Time spent.
    route : Route
        The best route.
    lessons : tuple of Lesson
        What the readings should have said.
    unseen : tuple of Lesson
        Readings that would have shown a cause best and were not asked for.
    """

    points: float
    cause_points: float
    work_points: float
    time_points: float | None
    causes: tuple[CauseMark, ...]
    work: tuple[WorkMark, ...]
    minutes: float
    route: Route
    lessons: tuple[Lesson, ...]
    unseen: tuple[Lesson, ...]


def most_points() -> dict[str, int]:
    """Return what each part of a score may bring.

    Returns
    -------
    dict of str to int
        Points of causes, work and time; together 100.
    """
    weights = read_table("drills.toml")["score"]
    return {part: int(weights[part]) for part in ("causes", "work", "time")}


def score_drill(session: DrillSession, plan: JobPlan, route: Route) -> DrillScore:
    """Score a finished drill.

    Parameters
    ----------
    session : DrillSession
        The drill with its decisions.
    plan : JobPlan
        The job that a complete inspection without slips asks for.
    route : Route
        The best route.

    Returns
    -------
    DrillScore
        Points and lessons.

    Notes
    -----
    Causes: credit of each true cause (1 found, part for the same group, a root counts twice) over the weight
    of all true causes plus one for each wrong blame. Work: right orders over right, missing and needless
    ones, axle by axle. Time: best minutes (20 at least) over own minutes, at most 1, times the share of the
    causes found.
    Without a best route that ends, the other two parts make up the 100 points.
    """
    weights = read_table("drills.toml")["score"]
    case = session.case
    marks = _cause_marks(session)
    share = _cause_share(marks, float(weights["same_group"]))
    work = tuple(_work_mark(session, axle, plan) for axle in case.axles)
    order = _work_share(work)
    cause_points, work_points = weights["causes"] * share, weights["work"] * order
    time_points, top = None, float(weights["causes"] + weights["work"])
    if route.reached:
        best = max(route.minutes, float(weights["least_minutes"]))
        quick = 1.0 if session.minutes <= best else best / session.minutes
        time_points = float(weights["time"]) * quick * share
        top += float(weights["time"])
    lessons, unseen = lessons_of(session)
    return DrillScore(
        points=100.0 * (cause_points + work_points + (time_points or 0.0)) / top,
        cause_points=cause_points,
        work_points=work_points,
        time_points=time_points,
        causes=marks,
        work=work,
        minutes=session.minutes,
        route=route,
        lessons=lessons,
        unseen=unseen,
    )


# ---------------------------------------------------------------- causes


def _cause_marks(session: DrillSession) -> tuple[CauseMark, ...]:
    case, left = session.case, list(session.causes)
    marks: list[CauseMark] = []
    for at, code in case.blames:
        root = (at, code) in case.roots
        hit = next((blame for blame in left if _same(blame, (at, code), case)), None)
        if hit is not None:
            left.remove(hit)
            marks.append(_mark(at, code, "found", root, f"{_named(code)} at {_place(at)}: found."))
            continue
        near = next((blame for blame in left if _near(blame, (at, code))), None)
        if near is not None:
            left.remove(near)
            said = f"{_named(code)} at {_place(at)}: you said {_named(near[1])}, of the same group."
            marks.append(_mark(at, code, "near", root, said))
        else:
            marks.append(_mark(at, code, "missed", root, f"{_named(code)} at {_place(at)}: missed."))
    return (*marks, *(_wrong_mark(blame, case) for blame in left))


def _mark(at: str, code: str, result: str, root: bool, said: str) -> CauseMark:
    note = " It is the root: what grew out of it comes back unless it is repaired." if root else ""
    return CauseMark(at, code, cause_of(code).name, result, root, said + note)


def _same(blame: Blame, truth: Blame, case: DrillCase) -> bool:
    """The same cause at the same place; a slip of the whole record may be blamed on the vehicle."""
    if blame[1] != truth[1]:
        return False
    return blame[0] == truth[0] or (
        truth[1] == DATA_ERROR and VEHICLE in (blame[0], truth[0]) and bool(case.slip)
    )


def _near(blame: Blame, truth: Blame) -> bool:
    return blame[0] == truth[0] and blame[1][0] == truth[1][0] and DATA_ERROR not in (blame[1], truth[1])


def _wrong_mark(blame: Blame, case: DrillCase) -> CauseMark:
    at, code = blame
    parents = [true for true in case.blames if code in _descendants(true[1]) and _touches(true[0], at)]
    if parents:
        said = f"{_named(code)} at {_place(at)}: may have grown out of {_named(parents[0][1])}; not counted."
        return CauseMark(at, code, cause_of(code).name, "grew", False, said)
    said = f"{_named(code)} at {_place(at)}: not there."
    sick = {where for where, _ in case.blames if where[-1] in "LR"}
    if at[-1] in "LR" and f"{at[:-1]}{'R' if at[-1] == 'L' else 'L'}" in sick and at not in sick:
        said += " This end is sound: it does its mate's work."
    return CauseMark(at, code, cause_of(code).name, "wrong", False, said)


def _descendants(code: str) -> frozenset[str]:
    causes = load_causes().causes
    found, left = set[str](), list(causes[code].leads_to) if code in causes else []
    while left:
        child = left.pop()
        if child not in found:
            found.add(child)
            left += causes[child].leads_to if child in causes else ()
    return frozenset(found)


def _touches(parent: str, child: str) -> bool:
    return parent in (VEHICLE, child) or child[:-1] == parent


def _cause_share(marks: Sequence[CauseMark], same_group: float) -> float:
    credit = {"found": 1.0, "near": same_group}
    true = [mark for mark in marks if mark.result in ("found", "near", "missed")]
    got = sum((2.0 if mark.root else 1.0) * credit.get(mark.result, 0.0) for mark in true)
    whole = sum(2.0 if mark.root else 1.0 for mark in true) + sum(mark.result == "wrong" for mark in marks)
    return got / whole if whole else 0.0


def _named(code: str) -> str:
    return f"{code} ({cause_of(code).name})"


def _place(at: str) -> str:
    return "the vehicle" if at == VEHICLE else at if at[-1] in "LR" else f"axle {at}"


# ---------------------------------------------------------------- work


def needed_work(case: DrillCase, plan: JobPlan, axle: str) -> tuple[frozenset[str], frozenset[str]]:
    """Return the situations that an axle needs, and those that may be ordered besides.

    Parameters
    ----------
    case : DrillCase
        The case.
    plan : JobPlan
        The job that a complete inspection without slips asks for.
    axle : str
        Axle id.

    Returns
    -------
    needed, allowed : frozenset of str
        Situations; ``allowed`` holds ``needed``.

    Notes
    -----
    Needed is what the plan calls needed, and one situation that reaches each hidden cause where only a
    situation does. Allowed is besides what the plan advises or leaves to a further check, every situation
    that reaches a hidden cause there, and pads with any of them.
    """
    job = next(job for job in plan.axles if job.axle == axle)
    needed = {work.code for work in job.work if work.standing == "needed"}
    allowed = {work.code for work in (*job.work, *job.later) if work.code in SITUATIONS} | needed
    for at, code in case.blames:
        if at not in (axle, f"{axle}L", f"{axle}R"):
            continue
        reaching, beside = _reaching(code)
        allowed |= set(reaching)
        if reaching and not beside and not needed & set(reaching):
            needed.add(reaching[0])
    return frozenset(needed), frozenset(allowed | needed | ({SITUATIONS[0]} if allowed else set()))


def _reaching(code: str) -> tuple[tuple[str, ...], bool]:
    """Situations that repair a cause, and whether something beside the situations does as well."""
    situations: Mapping[str, str] = read_table("drills.toml")["work"]
    repairs = cause_of(code).repairs
    reaching = tuple(dict.fromkeys(situations[repair] for repair in repairs if repair in situations))
    return reaching, any(repair not in situations for repair in repairs)


def _work_mark(session: DrillSession, axle: str, plan: JobPlan) -> WorkMark:
    case = session.case
    needed, allowed = needed_work(case, plan, axle)
    ordered = frozenset(code for where, code in session.work if where == axle)
    missing = set(needed - ordered)
    for at, code in case.blames:
        # One repair of a cause is as good as another: a new calliper needs no guide kit.
        reaching = set(_reaching(code)[0])
        if at in (axle, f"{axle}L", f"{axle}R") and reaching & ordered:
            missing -= reaching
    return WorkMark(
        axle,
        tuple(sorted(ordered)),
        tuple(sorted(needed)),
        tuple(sorted(missing)),
        tuple(sorted(ordered - allowed)),
    )


def _work_share(marks: Sequence[WorkMark]) -> float:
    right = sum(len(mark.ordered) - len(mark.needless) for mark in marks)
    wrong = sum(len(mark.missing) + len(mark.needless) for mark in marks)
    return right / (right + wrong) if right + wrong else 1.0


# ---------------------------------------------------------------- lessons


def lessons_of(session: DrillSession) -> tuple[tuple[Lesson, ...], tuple[Lesson, ...]]:
    """Return what the readings should have said.

    Parameters
    ----------
    session : DrillSession
        The drill.

    Returns
    -------
    seen : tuple of Lesson
        Readings that were there and that a cause had changed, cause by cause, and readings far from the
        truth.
    unseen : tuple of Lesson
        For each cause the readings that would have shown it best and were not asked for.
    """
    seen: list[Lesson] = []
    unseen: list[Lesson] = []
    for blame in session.case.blames:
        strongest: dict[tuple[str, str], Effect] = {}
        for effect in effects_of(session.case, blame):
            strongest.setdefault((effect.at, effect.check), effect)
        here = [_lesson(session, blame, effect) for effect in strongest.values()]
        seen += [lesson for lesson in here if lesson.written][:_LESSONS]
        unseen += [lesson for lesson in here if not lesson.written][:_UNSEEN]
    return tuple(seen), tuple(unseen)


def _lesson(session: DrillSession, blame: Blame, effect: Effect) -> Lesson:
    at, code = blame
    read = session.latest.get((effect.at, effect.check, effect.spot))
    figure = effect.with_cause
    if code != DATA_ERROR and read is not None and read.look and isinstance(figure, float):
        # Some figures differ from look to look, as the travel of an adjuster that slips back.
        look = session.case.looks[min(read.look, len(session.case.looks) - 1)]
        figure = look.states[effect.at].figures.get((effect.check, effect.spot), figure)
    true, without = _shown(figure, effect.check), _shown(effect.without, effect.check)
    where = effect.at or "the vehicle"
    label = _label(effect.check) + (f" {effect.spot}" if effect.spot else "")
    if code == DATA_ERROR:
        # For a slip the two figures are what was first written, and what the gauge showed.
        first = f"{label} at {where}: {true} was written first; the gauge showed {without}."
        written = read.text if read is not None else ""
        again = " You took it again." if read is not None and read.look else ""
        return Lesson(
            effect.at, effect.check, effect.spot, label, code, written, without, true, first + again
        )
    told = f"read {read.text}; a perfect gauge" if read is not None else "a perfect gauge"
    text = f"{label} at {where}: {told} shows {true}. Without {code} at {_place(at)} it would be {without}."
    far = read is not None and isinstance(figure, float) and _far(read.text, effect.check, figure)
    if far:
        text += " What you read is further off than its gauge explains: take it again."
    return Lesson(
        effect.at,
        effect.check,
        effect.spot,
        label,
        code,
        read.text if read is not None else "",
        true,
        without,
        text,
        far,
    )


def _far(text: str, check: str, figure: float) -> bool:
    """Whether a reading is further from the true figure than twice its expanded uncertainty."""
    if ";" in text:
        return False
    value = written_value(text, check)
    u = load_catalogue().fields[check].standard_uncertainty(figure)
    return isinstance(value, float) and abs(value - figure) > 2.0 * _TIMES_U * u > 0.0


def _label(name: str) -> str:
    spec = load_catalogue().fields.get(name)
    return spec.label if spec is not None else name.replace("_", " ")


def _shown(value: float | str | None, name: str) -> str:
    if value is None:
        return "nothing: it cannot be taken"
    if isinstance(value, str):
        return value
    spec = load_catalogue().fields.get(name)
    if spec is None:
        return format_quantity(value, "km", 0)
    return format_quantity(value, spec.unit) if spec.unit else f"{value:g}"
