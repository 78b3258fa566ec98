"""May it go on the road: ladder, count, capability, rule packs; four answers that are never merged."""

from __future__ import annotations

import math

import numpy as np

from wearline.assessment.assemble import judgement_of
from wearline.assessment.capability import allowed_words, capability_left
from wearline.assessment.completeness import KEY_FIELDS, unproven
from wearline.assessment.drums import drum_findings
from wearline.assessment.evidence import Evidence
from wearline.assessment.judge import Judged, judge_inspection_columns
from wearline.assessment.packs import pack_answer
from wearline.assessment.results import Finding, Judgement
from wearline.assessment.road_results import (
    BrakeCount,
    Capability,
    FourAnswers,
    PackAnswer,
    Reason,
    RoadDecision,
)
from wearline.assessment.vehicle import braking_force, house_efficiency
from wearline.assessment.verdicts import DecisionSettings
from wearline.assessment.wording import round_distance
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.release import LevelRule, ReleaseRules, load_release_rules
from wearline.records.inspection import Inspection

__all__ = ["count_brakes", "decide_road", "defects_needed", "judge_for_road"]

_FORECAST = "forecast:before next"

_WHOLE = "the vehicle"


def defects_needed(brakes: int, share: float) -> int:
    """Return the smallest number of defective brakes that meets the count rule.

    Parameters
    ----------
    brakes : int
        Brakes of the vehicle or combination, 1 or more.
    share : float
        Share that the rule names, 0.2 for 20 %.

    Returns
    -------
    int
        ceil(share n), at least 1: "at least 20 %" is met at 2 of 10 and not at 1 of 6.
    """
    # 0.2 * 10 must give 2, not 2.0000000000000004 and so 3.
    return max(1, math.ceil(round(share * brakes, 9)))


def count_brakes(
    inspection: Inspection, judged: Judged, rules: ReleaseRules, at_drums: tuple[Finding, ...] = ()
) -> BrakeCount:
    """Count the defective brakes.

    Parameters
    ----------
    inspection : Inspection
        For the number of brakes, drums among them.
    judged : Judged
        Judged columns.
    rules : ReleaseRules
        What makes a brake defective, and the share.
    at_drums : tuple of Finding
        What was found at drum brakes.

    Returns
    -------
    BrakeCount
        A brake is counted once however many defects it has.
    """
    places: list[tuple[str, str]] = []
    for row, place in enumerate(judged.columns.places):
        reasons = [
            rule.text
            for rule in rules.defects
            if judged.findings.where(rule.findings, directly=rule.directly)[row]
        ]
        if reasons:
            places.append((place, "; ".join(reasons)))
    for place in dict.fromkeys(finding.place for finding in at_drums):
        ids = {finding.id for finding in at_drums if finding.place == place}
        reasons = [rule.text for rule in rules.defects if not ids.isdisjoint(rule.findings)]
        if reasons:
            places.append((place, "; ".join(reasons)))
    brakes = 2 * len(inspection.vehicle.axles)
    taken = {str(end.place) for end in inspection.wheel_ends if end.readings}
    unknown = tuple(
        axle.id + side
        for axle in inspection.vehicle.axles
        for side in ("L", "R")
        if axle.id + side not in taken
    )
    needed = defects_needed(brakes, rules.number("count_share"))
    return BrakeCount(
        defective=len(places),
        brakes=brakes,
        share=len(places) / brakes,
        needed=needed,
        rule_met=len(places) >= needed,
        places=tuple(places),
        unknown=unknown,
    )


def decide_road(
    inspection: Inspection,
    judgement: Judgement,
    catalogue: Catalogue,
    settings: DecisionSettings | None = None,
) -> RoadDecision:
    """Decide whether a vehicle may go, and under which conditions.

    Parameters
    ----------
    inspection : Inspection
        What was taken.
    judgement : Judgement
        Its judgement.
    catalogue : Catalogue
        Rule packs and limits.
    settings : DecisionSettings, optional
        Decision rules; the defaults of ``judge``.

    Returns
    -------
    RoadDecision
        The gravest reason sets the level; missing readings never lower it, and level 0 needs every key
        check of every wheel end.
    """
    judged, _ = judge_inspection_columns(inspection, catalogue, settings or DecisionSettings())
    return _decision(inspection, judgement, judged, catalogue)


def judge_for_road(
    inspection: Inspection, catalogue: Catalogue, settings: DecisionSettings
) -> tuple[Judgement, RoadDecision]:
    """Judge an inspection and decide about the road, holding every reading against its limits once.

    Parameters
    ----------
    inspection : Inspection
        What was taken.
    catalogue : Catalogue
        Fields, limits, rule packs.
    settings : DecisionSettings
        Decision rules.

    Returns
    -------
    Judgement, RoadDecision
        The same as ``judge`` and ``decide_road`` give.
    """
    judged, _ = judge_inspection_columns(inspection, catalogue, settings)
    judgement = judgement_of(inspection, judged, catalogue, settings)
    return judgement, _decision(inspection, judgement, judged, catalogue)


def _decision(
    inspection: Inspection, judgement: Judgement, judged: Judged, catalogue: Catalogue
) -> RoadDecision:
    rules = load_release_rules()
    evidence = Evidence(judged, catalogue.measures, inspection.vehicle_readings)
    count = count_brakes(inspection, judged, rules, drum_findings(inspection, catalogue))
    capability = _capability(inspection, judged, catalogue, rules)
    packs = tuple(
        pack_answer(catalogue.pack(id), inspection, evidence, count, capability, catalogue)
        for id in dict.fromkeys(inspection.rule_packs)
    )
    missing = _missing(inspection, judged, capability)
    roles = {axle.id: axle.role for axle in inspection.vehicle.axles}
    findings = judgement.all_findings + _whole_vehicle_findings(count, packs, missing)
    findings += _forecast_finding(judged)
    reasons = _reasons(findings, rules, roles)
    level = max((reason.level for reason in reasons), default=0)
    return RoadDecision(
        level=level,
        meaning=rules.meanings[level],
        reasons=tuple(reasons),
        conditions=_conditions(level, rules, reasons)
        + (allowed_words(capability.left, inspection.vehicle.test_mass) if level == 2 else ()),
        count=count,
        capability=capability,
        packs=packs,
        answers=FourAnswers(
            part=_part_answer(judgement.all_findings, missing),
            brake=_brake_answer(count, _not_in_order(findings, rules, roles, count), missing),
            capability=_capability_answer(capability),
            law=_law_answer(packs),
        ),
        missing=missing,
    )


def _whole_vehicle_findings(
    count: BrakeCount, packs: tuple[PackAnswer, ...], missing: tuple[str, ...]
) -> tuple[Finding, ...]:
    found = []
    if count.rule_met:
        text = f"{count.defective} of {count.brakes} brakes are defective ({100 * count.share:.1f} %)"
        found.append(Finding("count:met", "", text))
    for pack in packs:
        if pack.answer == "out of service":
            found.append(Finding("law:out of service", "", f"{pack.title}: out of service"))
        elif pack.answer == "violation":
            found.append(Finding("law:violation", "", f"{pack.title}: a rule is broken"))
    if missing:
        found.append(Finding("not proven", "", "not everything was measured", weight="look"))
    return tuple(found)


def _forecast_finding(judged: Judged) -> tuple[Finding, ...]:
    """One sentence for all wheel ends whose pads will not last until the next removal, soonest first."""
    columns, left = judged.columns, judged.derived.distance_to_service
    rows = np.flatnonzero(judged.findings.where([_FORECAST])).tolist()
    if not rows:
        return ()
    soonest = sorted(rows, key=lambda row: float(left[row]))
    told = ", ".join(f"{columns.places[row]} in about {round_distance(float(left[row]))}" for row in soonest)
    text = f"the thinnest corner meets the service minimum at its own rate: {told}"
    return (Finding(_FORECAST, "", text, "pad_thinnest", weight="look"),)


def _reasons(findings: tuple[Finding, ...], rules: ReleaseRules, roles: dict[str, str]) -> list[Reason]:
    """Gravest first; what a finding says at a lower level too is dropped."""
    taken: dict[tuple[str, str], int] = {}
    reasons: list[Reason] = []
    for rule in sorted(rules.levels, key=lambda rule: -rule.level):
        for finding in findings:
            if not _matches(rule, finding, roles):
                continue
            key = (finding.place, finding.id + finding.limit_id)
            if taken.get(key, -1) >= rule.level:
                continue
            taken[key] = rule.level
            text = f"{rule.text}: {finding.text}"
            if all(reason.text != text or reason.place != finding.place for reason in reasons):
                reasons.append(Reason(rule.level, finding.place, text, rule.status))
    return reasons


def _matches(rule: LevelRule, finding: Finding, roles: dict[str, str]) -> bool:
    if finding.weight == "note":
        return False
    if rule.role and roles.get(finding.place.rstrip("LR")) != rule.role:
        return False
    any_check = "*:" + finding.id.rpartition(":")[2]
    wanted = (finding.id, f"{finding.id}:{finding.limit_id}", any_check)
    return any(name in rule.findings for name in wanted)


def _conditions(level: int, rules: ReleaseRules, reasons: list[Reason]) -> tuple[str, ...]:
    words = list(rules.conditions.get(level, ()))
    if level == 2:
        places = sorted({reason.place for reason in reasons if reason.level == 2 and reason.place})
        if places:
            words.append(f"Watch these brakes: {', '.join(places)}.")
    return tuple(words)


def _capability(
    inspection: Inspection, judged: Judged, catalogue: Catalogue, rules: ReleaseRules
) -> Capability:
    force = braking_force(inspection, judged)
    limits = house_efficiency(inspection, catalogue)
    imbalances = []
    for row, place in enumerate(judged.columns.places):
        value = float(judged.derived.imbalance[row])
        if place.endswith("L") and math.isfinite(value):
            imbalances.append((place[:-1], value))
    measured = force.total > 0
    needed = limits[0].value if limits else None
    return Capability(
        efficiency=force.efficiency,
        efficiency_needed=needed,
        total_force=force.total if measured else None,
        weight=force.weight,
        imbalances=tuple(imbalances),
        not_measured=force.not_measured,
        left=capability_left(inspection, judged, catalogue, rules, needed),
    )


def _missing(inspection: Inspection, judged: Judged, capability: Capability) -> tuple[str, ...]:
    """What is not proven: not taken, taken but void, on a drum brake, or without a force."""
    lines = []
    rows = {place: row for row, place in enumerate(judged.columns.places)}
    for axle in inspection.vehicle.axles:
        for place in (axle.id + "L", axle.id + "R"):
            if place not in rows:
                lines.append(f"{place}: {axle.brake} brake, not judged here")
                continue
            fields = unproven(inspection, place) + _void_fields(judged, rows[place])
            if fields:
                lines.append(f"{place}: {', '.join(name.replace('_', ' ') for name in fields)}")
    if capability.efficiency is None:
        left = ", ".join(capability.not_measured)
        lines.append(f"{_WHOLE}: {f'brake force of {left}' if left else 'test mass'}")
    return tuple(lines)


def _void_fields(judged: Judged, row: int) -> tuple[str, ...]:
    """A void reading proves no more than one that was never taken."""
    void = {
        column.check
        for column in judged.judged
        if column.check in KEY_FIELDS and column.void[row] and not math.isnan(column.value[row])
    }
    return tuple(f"{name} (void)" for name in KEY_FIELDS if name in void)


def _part_answer(findings: tuple[Finding, ...], missing: tuple[str, ...]) -> str:
    passed, faulty, doubtful = [], [], []
    for finding in findings:
        if not finding.place.endswith(("L", "R")):
            continue
        what = f"{finding.place} {finding.check.replace('_', ' ')}"
        if finding.id.endswith(":undecided"):
            doubtful.append(what)
        elif finding.id.endswith(":beyond") and finding.limit_id and finding.weight != "note":
            passed.append(what)
        elif "=" in finding.id and finding.weight == "fault":
            faulty.append(f"{finding.place} {finding.text}")
    said = [
        f"{name}: {', '.join(dict.fromkeys(places))}"
        for name, places in (("limit passed", passed), ("faulty", faulty), ("undecided", doubtful))
        if places
    ]
    words = "; ".join(said) if said else "what was measured is within its service limits"
    return words + ("; not everything was measured" if missing else "")


def _not_in_order(
    findings: tuple[Finding, ...], rules: ReleaseRules, roles: dict[str, str], count: BrakeCount
) -> dict[str, list[str]]:
    """Brakes that do not count as defective and are not in order all the same."""
    counted = {place for place, _ in count.places}
    found: dict[str, list[str]] = {}
    grave = [rule for rule in rules.levels if rule.level >= 2]
    for finding in findings:
        place = finding.place
        if not place.endswith(("L", "R")) or place in counted or finding.weight == "note":
            continue
        if finding.weight == "fault" or any(_matches(rule, finding, roles) for rule in grave):
            found.setdefault(place, []).append(finding.text)
    return found


def _brake_answer(count: BrakeCount, not_in_order: dict[str, list[str]], missing: tuple[str, ...]) -> str:
    said = []
    if count.places:
        what = "; ".join(f"{place}: {reason}" for place, reason in count.places)
        said.append(f"{count.defective} of {count.brakes} brakes are defective ({what})")
    if not_in_order:
        what = "; ".join(
            f"{place}: {', '.join(dict.fromkeys(texts))}" for place, texts in not_in_order.items()
        )
        said.append(f"{'' if said else 'no brake counts as defective; '}not in order: {what}")
    unproven_ends = [line for line in missing if not line.startswith(_WHOLE)]
    if unproven_ends:
        start = "" if said else "no brake is known to be defective; "
        said.append(f"{start}not proven at {len(unproven_ends)} of {count.brakes} brakes")
    if said:
        return "; ".join(said)
    return "every brake applies, releases and is whole, as far as the checks show"


def _capability_answer(capability: Capability) -> str:
    if capability.total_force is None:
        return "no brake force was measured: how much braking there is, is not known"
    parts = []
    if capability.efficiency is None:
        left = ", ".join(capability.not_measured) or "the mass"
        parts.append(f"efficiency not known, missing: {left}")
    else:
        needed = capability.efficiency_needed
        against = "" if needed is None else f" (house rule {100 * needed:.0f} %)"
        parts.append(f"efficiency {100 * capability.efficiency:.1f} %{against}")
    if capability.imbalances:
        axle, worst = max(capability.imbalances, key=lambda item: item[1])
        parts.append(f"greatest imbalance {100 * worst:.1f} % on axle {axle}")
    if capability.left is not None and capability.left.share is not None:
        parts.append(f"{100 * capability.left.share:.0f} % of the intended braking is left")
    return "; ".join(parts)


def _law_answer(packs: tuple[PackAnswer, ...]) -> str:
    legal = [pack for pack in packs if pack.pack != "none"]
    if not legal:
        return "no rule pack was asked for: what the law here says today is not answered"
    return "; ".join(f"{pack.title}: {pack.answer}" for pack in legal)
