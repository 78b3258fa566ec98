"""Why did it wear like that, and what to test next."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from wearline.app.judging import Opened, Request, open_inspection
from wearline.app.why_types import (
    CauseJson,
    NextTestJson,
    RootJson,
    WhyAnswer,
    WhyEndJson,
)
from wearline.diagnosis.explain import explain
from wearline.diagnosis.results import CauseView, Explanation, NextTest, Root, WheelEndExplanation

__all__ = ["BASIS", "CAUTIONS", "explain_wear", "explained_lines", "nothing_explained", "why_answer"]

BASIS = (
    "Probabilities rest on expert judgement of how often each cause occurs and what it does, "
    "unless a fleet's own counts replace it; they rank what to look at and prove nothing."
)

CAUTIONS = (
    "Chock the vehicle before any brake is released; work on stands, never under a jack.",
    "A spring brake is caged before its chamber is taken off; nobody reaches into a brake with the air up.",
    "Let hot parts cool; never blow brake dust off.",
    "A cause named here releases no vehicle and condemns no part: the maker's instructions, "
    "the local code and a qualified person decide.",
)

_LIKELY = 0.5

_LITTLE = 0.1
"""A test that is expected to tell less than this [bit] changes little (expert judgement)."""


def explain_wear(request: Request, counts: str | Path | None = None) -> tuple[Opened, Explanation]:
    """Answer why the pads and rotors of a vehicle wear as they do, and what to test next.

    Parameters
    ----------
    request : Request
        What to explain.
    counts : str or Path, optional
        The fleet's own counts, worked into the network.

    Returns
    -------
    Opened, Explanation
        The inspection and its explanation.

    Raises
    ------
    InputError
        If a file is wrong.
    """
    opened = open_inspection(request)
    network = None
    if counts is not None:
        from wearline.catalogue.cause_counts import with_fleet_counts
        from wearline.catalogue.load_causes import load_causes

        network = with_fleet_counts(load_causes(), counts)
    return opened, explain(opened.inspection, opened.catalogue, network=network)


def nothing_explained(explanation: Explanation) -> bool:
    """Return whether no cause is likely and all readings fit together.

    Parameters
    ----------
    explanation : Explanation
        The explanation.

    Returns
    -------
    bool
        False is exit code 1 of the command.
    """
    ends = explanation.wheel_ends
    views = [*explanation.vehicle, *(view for axle in explanation.axles for view in axle.causes)]
    views += [view for end in ends for view in end.causes]
    likely = any(view.probability >= _LIKELY for view in views)
    doubtful = any(end.found or end.misfit is not None or end.healthy < _LIKELY for end in ends)
    return not likely and not doubtful


def why_answer(explanation: Explanation) -> WhyAnswer:
    """Return an explanation as JSON values.

    Parameters
    ----------
    explanation : Explanation
        The explanation.

    Returns
    -------
    WhyAnswer
        Under schema ``wearline.why/1``.
    """
    return {
        "schema": "wearline.why/1",
        "vehicle": {
            "id": explanation.vehicle_id,
            "causes": _causes(explanation.vehicle),
            "undecided": list(explanation.undecided),
        },
        "axles": [
            {"axle": axle.axle, "causes": _causes(axle.causes), "victim": axle.victim}
            for axle in explanation.axles
        ],
        "wheel_ends": [_end(end) for end in explanation.wheel_ends],
        "assumed": list(explanation.assumed),
        "warnings": [
            {"code": notice.code, "text": notice.text, "where": notice.where, "cure": notice.cure}
            for notice in explanation.warnings
        ],
        "basis": BASIS,
        "cautions": list(CAUTIONS),
    }


def _causes(views: Sequence[CauseView]) -> list[CauseJson]:
    return [
        {
            "code": view.code,
            "name": view.name,
            "probability": round(view.probability, 4),
            "for": list(view.supports),
            "against": list(view.speaks_against),
            "mechanism": view.mechanism,
            "repair": view.repair,
            "confirm": view.confirm,
        }
        for view in views
    ]


def _root(root: Root | None) -> RootJson | None:
    if root is None:
        return None
    return {
        "code": root.code,
        "name": root.name,
        "at": root.place,
        "probability": round(root.probability, 4),
        "follows": list(root.follows),
        "look_first": root.look_first,
    }


def _test(test: NextTest) -> NextTestJson:
    return {
        "test": test.test,
        "check": test.check,
        "gain_bits": round(test.gain, 4),
        "minutes": test.minutes,
        "access_minutes": test.access,
        "bits_per_minute": round(test.rate, 5),
        "state": " ".join(test.states),
        "first_reach": test.cluster,
        "about": list(test.about),
    }


def _end(end: WheelEndExplanation) -> WhyEndJson:
    misfit = end.misfit
    return {
        "at": end.place,
        "no_own_cause": round(end.healthy, 4),
        "causes": _causes(end.causes),
        "found": [
            {
                "code": fault.code,
                "name": fault.name,
                "text": fault.text,
                "probability": round(fault.probability, 4),
            }
            for fault in end.found
        ],
        "root": _root(end.root),
        "next_tests": [_test(test) for test in end.next_tests],
        "undecided": list(end.undecided),
        "misfit": None
        if misfit is None
        else {"text": misfit.text, "repeat": misfit.repeat, "check": misfit.check},
        "error_estimate": end.dropped,
    }


def explained_lines(explanation: Explanation) -> list[str]:
    """Return an explanation as plain lines for a terminal.

    Parameters
    ----------
    explanation : Explanation
        The explanation.

    Returns
    -------
    list of str
        The lines.
    """
    lines = [f"{explanation.vehicle_id}: why did it wear like that?", ""]
    if explanation.vehicle:
        lines += ["Whole vehicle", *_view_lines(explanation.vehicle), *explanation.undecided, ""]
    for axle in explanation.axles:
        likely = [view for view in axle.causes if view.probability >= 0.1]
        if likely or axle.victim:
            lines += [f"Axle {axle.axle}", *_view_lines(likely)]
            lines += [f"  {axle.victim}", ""] if axle.victim else [""]
    quiet = []
    for end in explanation.wheel_ends:
        if end.healthy >= 0.8 and not end.found and end.misfit is None:
            quiet.append(end.place)
            continue
        lines += _end_lines(end)
    if quiet:
        lines += [f"No cause of its own is likely at {', '.join(quiet)}.", ""]
    lines += [f"Assumed before any reading: {'; '.join(explanation.assumed)}."] if explanation.assumed else []
    return [*lines, BASIS, *CAUTIONS]


def _view_lines(views: Sequence[CauseView]) -> list[str]:
    lines = []
    for view in views:
        if view.probability < 0.05:
            continue
        lines.append(f"  {100.0 * view.probability:4.0f} %  {view.code:3s} {view.name}")
        lines += [f"           for: {text}" for text in view.supports]
        lines += [f"           against: {text}" for text in view.speaks_against]
    return lines


def _end_lines(end: WheelEndExplanation) -> list[str]:
    lines = [f"Wheel end {end.place}"]
    names = {view.code: view.name for view in end.causes}
    for fault in end.found:
        lines += [f"    seen  {fault.code:3s} {fault.name}", f"           by: {fault.text}"]
    # what the other readings say of a fault that was seen would only confuse
    seen = {fault.code for fault in end.found}
    lines += _view_lines([view for view in end.causes if view.code not in seen])
    root = end.root
    if root is not None and root.follows:
        after = ", ".join(f"{code} {names.get(code, '')}".strip() for code in root.follows)
        lines.append(f"  root: {root.code} {root.name} ({root.place}); from it {after}")
    if root is not None and root.look_first:
        lines.append(f"  before the job, prove it: {root.look_first}")
    lines += [f"  {text}" for text in end.undecided]
    if end.misfit is not None:
        lines += [f"  {end.misfit.text}", f"  {end.misfit.repeat}"]
    if end.next_tests and max(test.gain for test in end.next_tests) < _LITTLE:
        lines.append("  no further test would change much; of what is left:")
    elif end.next_tests:
        lines.append("  next tests, most information for each minute first:")
    for test in end.next_tests[:4]:
        first = f", after {test.access:.0f} min to reach {test.cluster}" if test.cluster else ""
        lines.append(f"    {test.test}: {test.gain:.2f} bit in {test.minutes:.0f} min{first}")
    return [*lines, ""]
