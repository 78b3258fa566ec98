"""Did the job restore the brake? Two inspections of one vehicle held against one another.

A repaired end must have gained what its finding led to expect; an end that had no fault must have kept its
force. New pads are raw: until they are bedded they give 70 to 90 % of their force, so that a weak test
straight after the job shows nothing either way.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from wearline.assessment.braking_numbers import braking_number, braking_numbers
from wearline.assessment.found_states import ForceLeft, FoundState, force_left, states_found
from wearline.assessment.judge import judge_inspection_columns
from wearline.assessment.proof_checks import (
    Session,
    adjuster_evidence,
    drag_evidence,
    faults_evidence,
    imbalance_evidence,
    partial_evidence,
    temperature_evidence,
    travel_evidence,
)
from wearline.assessment.proof_results import AxleProof, EndProof, Evidence, Proof, Restored
from wearline.assessment.results import Judgement
from wearline.assessment.vehicle import braking_force
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.loading import Catalogue
from wearline.errors import ReadingError
from wearline.records.inspection import Inspection
from wearline.records.notices import Notice
from wearline.uncertainty.normal import normal_distribution

__all__ = ["check_pair", "gain_needed", "prove"]

CONFIDENCE = 0.95
BED = "not shown yet: bed and repeat"


@dataclass(frozen=True, slots=True)
class _Pair:
    before: Session
    after: Session
    bedded: bool | None
    catalogue: Catalogue


def check_pair(before: Inspection, after: Inspection) -> None:
    """Refuse two inspections that cannot prove a repair.

    Parameters
    ----------
    before, after : Inspection
        As found and as left.

    Raises
    ------
    ReadingError
        If they are of different vehicles, or the second is earlier than the first.
    """
    if before.vehicle.id != after.vehicle.id:
        raise ReadingError(
            f"the file before the job is of vehicle '{before.vehicle.id}', the file after it of "
            f"'{after.vehicle.id}'",
            where="proof",
            allowed="two inspections of one vehicle",
            cure="Give the two files of this vehicle, as found first",
        )
    if [axle.id for axle in before.vehicle.axles] != [axle.id for axle in after.vehicle.axles]:
        raise ReadingError(
            f"the two files give vehicle '{before.vehicle.id}' different axles",
            where="proof",
            allowed="the same axles in both files",
            cure="Correct the axles of one file",
        )
    if after.taken_on < before.taken_on:
        raise ReadingError(
            f"the file after the job is of {after.taken_on}, before the one as found, {before.taken_on}",
            where="proof",
            allowed="the day as found, or later",
            cure="Give the file as found first: wearline proof BEFORE AFTER",
        )
    first, second = before.odometer, after.odometer
    if first is not None and second is not None and second < first:
        raise ReadingError(
            f"the odometer runs back from {first / 1e3:.0f} to {second / 1e3:.0f} km",
            where="proof",
            allowed="the odometer as found, or more",
            cure="Give the file as found first, or correct the odometer",
        )


def gain_needed(states: tuple[FoundState, ...], left: ForceLeft, deficit: float | None, rule: float) -> float:
    """Return the gain of force that a finding leads to expect.

    Parameters
    ----------
    states : tuple of FoundState
        States found before the job that take force.
    left : ForceLeft
        What they leave.
    deficit : float or None
        Gain that would bring the end to the workshop's aim of its mate [1]; None where the mate is no
        measure because it was not measured or was weak itself.
    rule : float
        What a dead adjuster gains at least [1].

    Returns
    -------
    float
        Gain [1], 0 or more.

    Notes
    -----
    A dead adjuster by the rule; any other state by its mild end, 1 / share - 1; an end that is weak without
    a state found by the deficit. Never more than the deficit. The rule and the sizes are expert judgement.
    """
    gains = [rule if state.code == "adjuster" else 1.0 / left.high - 1.0 for state in states]
    if not gains:
        return max(deficit or 0.0, 0.0)
    wanted = max(gains)
    return max(wanted if deficit is None else min(wanted, deficit), 0.0)


def prove(
    before: tuple[Inspection, Judgement],
    after: tuple[Inspection, Judgement],
    catalogue: Catalogue,
    settings: DecisionSettings | None = None,
    *,
    bedded: bool | None = None,
) -> Proof:
    """Compare a vehicle before and after a job.

    Parameters
    ----------
    before, after : (Inspection, Judgement)
        As found, as left.
    catalogue : Catalogue
        Limits and designs.
    settings : DecisionSettings, optional
        Decision rules, as for the judgements.
    bedded : bool, optional
        Whether new pads are bedded, where somebody says so; else the distance on the pads decides.

    Returns
    -------
    Proof
        Verdict for each wheel end with its probability.

    Raises
    ------
    ReadingError
        If the two inspections do not belong together.
    """
    check_pair(before[0], after[0])
    settings = settings or DecisionSettings()
    sessions = tuple(
        Session(
            inspection, judgement, judge_inspection_columns(inspection, catalogue, settings)[0], catalogue
        )
        for inspection, judgement in (before, after)
    )
    known = bedded if bedded is not None else _bedded(after[0])
    pair = _Pair(sessions[0], sessions[1], known, catalogue)
    places = list(pair.after.judged.columns.places)
    ends = tuple(_end(pair, place) for place in places)
    axles = tuple(_axle(pair, place[:-1], ends) for place in places if place.endswith("L"))
    return Proof(
        vehicle_id=after[0].vehicle.id,
        before_on=before[0].taken_on,
        after_on=after[0].taken_on,
        wheel_ends=ends,
        axles=axles,
        efficiency_before=braking_force(before[0], pair.before.judged).efficiency,
        efficiency_after=braking_force(after[0], pair.after.judged).efficiency,
        bedded=known,
        warnings=_warnings(pair),
    )


def _bedded(after: Inspection) -> bool | None:
    if after.distance_since_pads is None:
        return None
    return after.distance_since_pads >= braking_number("bedded_after")


def _end(pair: _Pair, place: str) -> EndProof:
    new = _new_pads(pair, place)
    raw = new and pair.bedded is not True
    worked = _worked(pair, place[:-1])
    force, needed = _force_evidence(pair, place, raw)
    evidence = [
        *force,
        *imbalance_evidence(pair.after, place, worked=worked),
        *travel_evidence(pair.before, pair.after, place, worked=worked),
        *adjuster_evidence(pair.before, pair.after, place),
        *drag_evidence(pair.before, pair.after, place),
        *partial_evidence(pair.after, place),
        *temperature_evidence(pair.before, pair.after, place),
        *faults_evidence(pair.before, pair.after, place),
    ]
    deciding = [item for item in evidence if item.decides]
    probability = math.prod(
        item.probability if item.probability is not None else float(bool(item.shown)) for item in deciding
    )
    worse = max((item.worse for item in evidence), default=0.0)
    shown = bool(deciding) and all(item.shown for item in deciding)
    verdict = Restored.WORSE if worse >= CONFIDENCE else Restored.RESTORED if shown else Restored.NOT_SHOWN
    return EndProof(
        place=place,
        restored=verdict,
        probability=probability if deciding else 0.0,
        probability_worse=worse,
        evidence=tuple(evidence),
        force_before=pair.before.number(place, "brake_force"),
        force_after=pair.after.number(place, "brake_force"),
        gain_needed=needed,
        raw=raw,
        advice=_advice(verdict, deciding, raw and _bedding_may_do(pair, place, needed)),
    )


def _bedding_may_do(pair: _Pair, place: str, needed: float | None) -> bool:
    """Whether raw pads alone can explain what is missing: force by their range, imbalance by its ends."""
    pads = braking_numbers()["raw_pads"]
    uneven = pair.after.imbalance(place[:-1])
    if uneven is not None and uneven[0] > 1.0 - pads.low / pads.high:
        return False
    was, now = pair.before.number(place, "brake_force"), pair.after.number(place, "brake_force")
    if was is None or now is None:
        return False
    wanted = braking_number("kept_share") if needed is None else 1.0 + needed
    return _above(now / pads.low / was, wanted, _u_of_pair(pair, place, was, now)) > 1.0 - CONFIDENCE


def _advice(verdict: Restored, deciding: list[Evidence], raw: bool) -> str:
    if verdict is Restored.RESTORED:
        return ""
    if verdict is Restored.WORSE:
        return "worse than as found: find out why before the vehicle goes"
    missing = [item.check for item in deciding if item.shown is None]
    failing = [item.check for item in deciding if item.shown is False]
    if raw and failing and set(failing) <= {"force", "imbalance", "force at part pressure"}:
        return BED
    said = []
    if failing:
        said.append(f"not shown: {', '.join(dict.fromkeys(failing))}")
    if missing or not deciding:
        said.append(f"take: {', '.join(dict.fromkeys(missing)) or 'brake force, travel, adjuster test'}")
    return "; ".join(said)


def _new_pads(pair: _Pair, place: str) -> bool:
    """Both pads thicker than as found and near new; where nobody measured them, new if the axle was faulty.

    Pads that may be new excuse a weak test, and excuse nothing more: the answer stays 'not shown'.
    """
    within = braking_number("new_friction_within")
    end = pair.after.judgement.wheel_end(place).derived
    was = pair.before.judgement.wheel_end(place).derived
    if end.mean_inner is None or end.mean_outer is None:
        return _faulty(pair, place[:-1])
    new = pair.catalogue.design(
        pair.after.inspection.vehicle.axle(place[:-1]).design, pair.after.inspection.taken_on
    ).friction_new
    pads = ((end.mean_inner, was.mean_inner), (end.mean_outer, was.mean_outer))
    return all(now >= new - within and (old is None or now > old + within) for now, old in pads)


def _faulty(pair: _Pair, axle: str) -> bool:
    """Whether an end of the axle had a fault as found."""
    ends = [end for end in pair.before.judgement.wheel_ends if end.place[:-1] == axle]
    return any(finding.weight == "fault" for end in ends for finding in end.findings)


def _worked(pair: _Pair, axle: str) -> bool:
    return _faulty(pair, axle) or any(_new_pads(pair, axle + side) for side in "LR")


def _states(session: Session, place: str, catalogue: Catalogue) -> tuple[tuple[FoundState, ...], ForceLeft]:
    design = catalogue.design(session.inspection.vehicle.axle(place[:-1]).design, session.inspection.taken_on)
    states = states_found(session.judged, session.row(place), design)
    return states, force_left(design, states)


def _force_evidence(pair: _Pair, place: str, raw: bool) -> tuple[list[Evidence], float | None]:
    """Gain against what the finding led to expect, or force kept where nothing had been found."""
    states, left = _states(pair.before, place, pair.catalogue)
    was, now = pair.before.number(place, "brake_force"), pair.after.number(place, "brake_force")
    weak = _weak(pair.before, place)
    needed = None
    if states or weak:
        rule = pair.before.limit(place, "force_gain_adjuster")
        needed = gain_needed(states, left, _deficit(pair, place), rule)
    if was is None or now is None or was <= 0.0 or now <= 0.0:
        when = "before and after" if was is None and now is None else "before" if was is None else "after"
        text = f"no brake force was measured {when} the job"
        return [Evidence("force", text, None, decides=True)], needed
    u = _u_of_pair(pair, place, was, now)
    ratio = now / was
    kept = braking_number("kept_share")
    wanted = kept if needed is None else 1.0 + needed
    probability = _above(ratio, wanted, u)
    allowance = braking_numbers()["raw_pads"].low if raw else 1.0
    worse = 1.0 - _above(ratio / allowance, kept, u)
    return [
        Evidence(
            "force", _force_text(was, now, needed, raw), probability >= CONFIDENCE, probability, True, worse
        )
    ], needed


def _u_of_pair(pair: _Pair, place: str, was: float, now: float) -> float:
    """Relative standard uncertainty of the ratio of two forces of one brake on two days."""
    return math.hypot(
        pair.before.u(place, "brake_force") / was,
        pair.after.u(place, "brake_force") / now,
        math.sqrt(2.0) * braking_number("repeat_spread"),
    )


def _force_text(was: float, now: float, needed: float | None, raw: bool) -> str:
    change = f"{was / 1e3:.1f} to {now / 1e3:.1f} kN, {100.0 * (now / was - 1.0):+.0f} %"
    asked = (
        f"at least {100.0 * braking_number('kept_share'):.0f} % of it was to be kept"
        if needed is None
        else f"the finding led to expect {100.0 * needed:+.0f} % or more"
    )
    text = f"brake force {change}; {asked}"
    if raw:
        pads = braking_numbers()["raw_pads"]
        text += (
            f"; raw pads give {100.0 * pads.low:.0f} to {100.0 * pads.high:.0f} %, so "
            f"{now / pads.high / 1e3:.1f} to {now / pads.low / 1e3:.1f} kN can be expected once bedded"
        )
    return text


def _above(ratio: float, limit: float, relative_u: float) -> float:
    """Probability that a ratio of forces is above a limit; errors of forces are relative."""
    if limit <= 0.0:
        return 1.0
    return float(normal_distribution(math.log(ratio / limit) / relative_u))


def _weak(session: Session, place: str) -> bool:
    return any(finding.id == "brake:weak" for finding in session.judgement.wheel_end(place).findings)


def _deficit(pair: _Pair, place: str) -> float | None:
    """Gain that would have brought the end as found to the workshop's aim of its mate."""
    mate = place[:-1] + ("R" if place.endswith("L") else "L")
    was, other = pair.before.number(place, "brake_force"), pair.before.number(mate, "brake_force")
    if was is None or other is None or was <= 0.0:
        return None
    if _states(pair.before, mate, pair.catalogue)[0]:
        return None
    return (1.0 - pair.before.limit(place, "imb_aim")) * other / was - 1.0


def _axle(pair: _Pair, axle: str, ends: tuple[EndProof, ...]) -> AxleProof:
    own = [end for end in ends if end.place[:-1] == axle]
    before, after = pair.before.imbalance(axle), pair.after.imbalance(axle)
    rule = aim = None
    if after is not None:
        rule, aim = (
            float(normal_distribution((pair.after.limit(axle + "L", id) - after[0]) / after[1]))
            for id in ("imb", "imb_aim")
        )
    was = _sum([end.force_before for end in own])
    now = _sum([end.force_after for end in own])
    return AxleProof(
        axle=axle,
        imbalance_before=None if before is None else before[0],
        imbalance_after=None if after is None else after[0],
        u_before=None if before is None else before[1],
        u_after=None if after is None else after[1],
        p_within_rule=rule,
        p_within_aim=aim,
        total_before=was,
        total_after=now,
        text=_axle_text(axle, was, now, any(end.raw for end in own)),
    )


def _axle_text(axle: str, was: float | None, now: float | None, raw: bool) -> str:
    if was is None or now is None:
        return f"axle {axle}: the forces of both ends were not measured before and after"
    text = f"axle {axle}: {was / 1e3:.1f} kN in total as found, {now / 1e3:.1f} kN now"
    if raw and now < was:
        pads = braking_numbers()["raw_pads"]
        low, high = now / pads.high, now / pads.low
        text += (
            f": less, and an even axle alone proves nothing; the pads are raw, {low / 1e3:.1f} to "
            f"{high / 1e3:.1f} kN can be expected once bedded"
        )
    return text


def _sum(values: list[float | None]) -> float | None:
    return None if not values or None in values else math.fsum(value for value in values if value is not None)


def _warnings(pair: _Pair) -> tuple[Notice, ...]:
    found = []
    if pair.after.copied_temperatures(pair.before):
        found.append(
            Notice(
                "temperatures as before",
                "every temperature is written exactly as before the job: they were not taken again, or "
                "copied, and count for nothing",
                "temperature",
                "Run for 20 minutes, take the temperatures of all ends, and write those down",
            )
        )
    if pair.before.inspection.taken_on == pair.after.inspection.taken_on and _same(pair):
        found.append(
            Notice(
                "same readings",
                "the two files hold the same readings",
                "",
                "Give the file as found first and the file as left second",
            )
        )
    return tuple(found)


def _same(pair: _Pair) -> bool:
    return pair.before.inspection.wheel_ends == pair.after.inspection.wheel_ends
