"""What a report says of the causes: why it wore like that, and what to test next."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from wearline.diagnosis.results import CauseView, Explanation, Root, WheelEndExplanation
from wearline.reports.content_model import CauseLine, CausePart
from wearline.reports.words import probability_text

__all__ = ["cause_parts", "ends_without_cause"]

_SHOWN = 0.05
_LIKELY = 0.1
_HEALTHY = 0.8
_TESTS = 3
_LITTLE = 0.1
"""A test that is expected to tell less than this [bit] changes little (expert judgement)."""


def cause_parts(explanation: Explanation) -> tuple[CausePart, ...]:
    """Return what a diagnosis says, part by part of the vehicle, leaving out where nothing is likely.

    Parameters
    ----------
    explanation : Explanation
        The diagnosis.

    Returns
    -------
    tuple of CausePart
        The vehicle, its axles, its wheel ends.
    """
    parts = []
    if explanation.vehicle:
        lines = _lines(explanation.vehicle)
        parts.append(CausePart("the vehicle", lines, "", explanation.undecided, ()))
    for axle in explanation.axles:
        likely = [view for view in axle.causes if view.probability >= _LIKELY]
        if likely or axle.victim:
            said = (axle.victim,) if axle.victim else ()
            parts.append(CausePart(f"axle {axle.axle}", _lines(likely), "", said, ()))
    parts += [_end(end) for end in explanation.wheel_ends if not _quiet(end)]
    return tuple(parts)


def ends_without_cause(explanation: Explanation) -> tuple[str, ...]:
    """Return the wheel ends at which no cause of their own is likely.

    Parameters
    ----------
    explanation : Explanation
        The diagnosis.

    Returns
    -------
    tuple of str
        Places.
    """
    return tuple(end.place for end in explanation.wheel_ends if _quiet(end))


def _quiet(end: WheelEndExplanation) -> bool:
    return end.healthy >= _HEALTHY and not end.found and end.misfit is None


def _lines(views: Iterable[CauseView]) -> tuple[CauseLine, ...]:
    return tuple(
        CauseLine(
            chance=probability_text(view.probability),
            name=view.name,
            supports=view.supports,
            against=view.speaks_against,
            confirm=view.confirm,
        )
        for view in views
        if view.probability >= _SHOWN
    )


def _end(end: WheelEndExplanation) -> CausePart:
    seen = {fault.code for fault in end.found}
    lines = [CauseLine("seen", fault.name, (fault.text,), (), "") for fault in end.found]
    lines += _lines(view for view in end.causes if view.code not in seen)
    said = list(end.undecided)
    if end.misfit is not None:
        said += [end.misfit.text, end.misfit.repeat]
    return CausePart(end.place, tuple(lines), _root_text(end.root, end.causes), tuple(said), _tests(end))


def _root_text(root: Root | None, views: Sequence[CauseView]) -> str:
    if root is None or not root.follows:
        return ""
    names = {view.code: view.name for view in views}
    follows = ", ".join(names[code] for code in root.follows if code in names)
    return f"{root.name} ({root.place})" + (f"; from it {follows}" if follows else "")


def _tests(end: WheelEndExplanation) -> tuple[str, ...]:
    worth = [test for test in end.next_tests if test.gain >= _LITTLE]
    return tuple(f"{test.test} ({test.minutes + test.access:.0f} min)" for test in worth[:_TESTS])
