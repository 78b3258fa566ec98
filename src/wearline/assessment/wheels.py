"""Wheels off or on, axle by axle, with the reason."""

from __future__ import annotations

from wearline.assessment.results import Finding, Verdict, WheelEndJudgement
from wearline.records.inspection import Axle, Inspection

__all__ = ["wheels_off"]

_COMPLAINTS = ("pull", "judder", "noise", "squeal", "groan", "knock", "grind", "smell", "smoke", "hot wheel")
_ADVICE = frozenset({"play:over half", "forecast:before next", "wedge:less than play", "rotor:near minimum"})
_QUIET = frozenset({"wear:fast everywhere"})


def wheels_off(
    inspection: Inspection,
    axle: Axle,
    ends: tuple[WheelEndJudgement, ...],
    axle_findings: tuple[Finding, ...],
) -> tuple[bool, tuple[str, ...]]:
    """Return whether the wheels of an axle have to come off to look, and why.

    Parameters
    ----------
    inspection : Inspection
        The inspection, for complaints.
    axle : Axle
        The axle.
    ends : tuple of WheelEndJudgement
        Both of its ends; empty on an axle without disc brakes.
    axle_findings : tuple of Finding
        Findings of the axle as a whole.

    Returns
    -------
    bool, tuple of str
        True to take them off. The wheels of both ends go together: a finding at one end is a reason to
        look at its mate.

    Notes
    -----
    Common practice: an indicator at 75 % or more, a fault at either end, a complaint or an unmeasured
    thickness takes the wheels off; with every indicator under 50 %, even heat and forces and no complaint
    they stay on.
    """
    reasons: list[str] = []
    for end in ends:
        reasons.extend(_reasons_at(end))
        complaints = [word for word in _noticed(inspection, end.place) if word.lower() in _COMPLAINTS]
        if complaints:
            reasons.append(f"{end.place}: reported: {', '.join(complaints)}")
        if any(r.check == "pad_thinnest" and r.verdict is Verdict.VOID for r in end.readings):
            reasons.append(f"{end.place}: the pad readings are void: confirm or measure again")
        if not _thickness_known(end):
            reasons.append(f"{end.place}: no pad thickness and no wear indicator was read")
    reasons.extend(f"axle {axle.id}: {finding.text}" for finding in axle_findings if finding.weight != "note")
    if reasons:
        return True, tuple(dict.fromkeys(reasons))
    if not ends:
        return False, ("no disc brakes on this axle",)
    return False, (_why_on(ends),)


def _reasons_at(end: WheelEndJudgement) -> list[str]:
    found = []
    for finding in end.findings:
        if finding.weight == "note" or finding.id in _ADVICE or finding.id in _QUIET:
            continue
        if finding.id == "brake:defective":
            continue  # said already by the finding that makes it so
        found.append(f"{end.place}: {finding.text}")
    return found


def _noticed(inspection: Inspection, place: str) -> tuple[str, ...]:
    for wheel_end in inspection.wheel_ends:
        if str(wheel_end.place) == place:
            return wheel_end.noticed
    return ()


def _thickness_known(end: WheelEndJudgement) -> bool:
    return any(
        reading.check in ("pad_thinnest", "wear_indicator", "wear_electronic", "visible_friction")
        and reading.verdict is not Verdict.VOID
        for reading in end.readings
    )


def _why_on(ends: tuple[WheelEndJudgement, ...]) -> str:
    indicator = [
        r for end in ends for r in end.readings if r.check == "wear_indicator" and r.value is not None
    ]
    if indicator:
        highest = max(r.value for r in indicator if r.value is not None)
        against = f" (the wheels come off at {indicator[0].limit.published})" if indicator[0].limit else ""
        return f"indicators at {100 * highest:.0f} % at most{against}, nothing unusual at either end"
    return "nothing unusual at either end"
