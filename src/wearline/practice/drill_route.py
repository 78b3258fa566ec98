"""The best route through a drill: at every step the test that the diagnosis ranks first, at the same price.

The route knows no more than the person: it starts from what lies on the table and pays for every test by the
same book. Only its end is set by the truth: it is there when every hidden cause has become probable enough.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from wearline.catalogue.load_causes import load_causes
from wearline.catalogue.loading import load_catalogue
from wearline.diagnosis.explain import explain
from wearline.diagnosis.next_tests import information
from wearline.diagnosis.results import CauseView, Explanation
from wearline.practice.documents import Document
from wearline.practice.drill import DrillSession, Taken, cost_of, drillable_checks, targets_of
from wearline.practice.drill_cases import DATA_ERROR, Blame, DrillCase
from wearline.practice.faults import VEHICLE
from wearline.records.inspection import Inspection

__all__ = ["CONVINCED", "LIKELY", "Belief", "Opener", "Route", "beliefs_of", "best_route"]

Opener: TypeAlias = Callable[[Document], Inspection]
"""Makes the facts of an inspection from its document."""

CONVINCED = 0.9
"""Probability at which a cause counts as found by the route (expert judgement)."""

LIKELY = 0.5
"""Probability that will do where no test brings more (expert judgement)."""

_WORTH = 0.01
"""[bit/min] A test that promises less is not worth its time (expert judgement)."""

_MOST_STEPS = 40
_PATIENCE = 10
"""Further tests after which what is likely and no more stays so."""


@dataclass(frozen=True, slots=True)
class Belief:
    """How probable one cause is.

    Parameters
    ----------
    at, code : str
        Place and cause.
    probability : float, [1]
        That it is present, given all readings.
    """

    at: str
    code: str
    probability: float


@dataclass(frozen=True, slots=True)
class Route:
    """A route through a drill.

    Parameters
    ----------
    steps : tuple of Taken
        Tests in order with their cost.
    minutes : float, [min]
        Time of all of them.
    sure : float, [1]
        Probability that every hidden cause has reached at its end: ``CONVINCED``, or ``LIKELY`` where no test
        brings it further, or 0 where it does not get there.
    believed : tuple of Belief
        Causes at the end of the route, most probable first.
    """

    steps: tuple[Taken, ...]
    minutes: float
    sure: float
    believed: tuple[Belief, ...]

    @property
    def reached(self) -> bool:
        """Whether the route finds the hidden causes."""
        return self.sure > 0.0


def best_route(case: DrillCase, opener: Opener) -> Route:
    """Return the route of the diagnosis through a case.

    Parameters
    ----------
    case : DrillCase
        The case.
    opener : callable
        Makes the facts of an inspection from its document.

    Returns
    -------
    Route
        Up to the step at which every hidden cause is 90 % probable; where that never happens, up to the step
        from which on every hidden cause is more probable than not; else until no test is worth its time.

    Notes
    -----
    At each step: the test with the most information per minute over all wheel ends, access shared by all
    tests of a state (``wearline.diagnosis.next_tests``), and among them the confirming tests of causes of an
    axle by the same measure. A reading that does not fit the others is taken
    again first. A slip of the pen is not among the causes waited for.
    """
    goal = tuple(blame for blame in case.blames if blame[1] != DATA_ERROR)
    session = DrillSession.begin(case)
    at_hand = {check.id for check in drillable_checks(case)}
    repeated: set[tuple[str, str]] = set()
    likely: Route | None = None
    for number in range(_MOST_STEPS + 1):
        explanation = explain(opener(session.document()), load_catalogue())
        beliefs = beliefs_of(explanation)
        least = min(_probability(beliefs, blame) for blame in goal)
        if least >= CONVINCED:
            return Route(session.asked, session.minutes, CONVINCED, beliefs)
        if least < LIKELY:
            # What was likely for a while and then no more had not been found.
            likely = None
        elif likely is None:
            likely = Route(session.asked, session.minutes, LIKELY, beliefs)
        step = next(_worth_it(session, explanation, at_hand, repeated), None)
        if step is None or number == _MOST_STEPS:
            break
        if likely is not None and len(session.asked) - len(likely.steps) >= _PATIENCE:
            break
        session = session.take(*step, "")
    return likely or Route(session.asked, session.minutes, 0.0, beliefs)


def beliefs_of(explanation: Explanation) -> tuple[Belief, ...]:
    """Return every cause of an explanation with its place.

    Parameters
    ----------
    explanation : Explanation
        The explanation.

    Returns
    -------
    tuple of Belief
        Most probable first.
    """
    found: dict[Blame, float] = {}

    def add(at: str, views: tuple[CauseView, ...]) -> None:
        for view in views:
            found[at, view.code] = max(view.probability, found.get((at, view.code), 0.0))

    for end in explanation.wheel_ends:
        add(end.place, end.causes)
        for fault in end.found:
            found[end.place, fault.code] = max(fault.probability, found.get((end.place, fault.code), 0.0))
    for axle in explanation.axles:
        add(axle.axle, axle.causes)
    add(VEHICLE, explanation.vehicle)
    ordered = sorted(found.items(), key=lambda item: (-item[1], item[0]))
    return tuple(Belief(at, code, probability) for (at, code), probability in ordered)


def _probability(beliefs: tuple[Belief, ...], blame: Blame) -> float:
    """Probability of a cause where it sits; one of an axle may show at either of its ends."""
    at, code = blame
    places = {at, f"{at}L", f"{at}R"}
    return max((each.probability for each in beliefs if each.code == code and each.at in places), default=0.0)


def _worth_it(
    session: DrillSession, explanation: Explanation, at_hand: set[str], repeated: set[tuple[str, str]]
) -> Iterator[tuple[str, str]]:
    """Tests in the order in which they are worth doing; a doubtful reading comes first, once."""
    checks = load_catalogue().checks
    for end in explanation.wheel_ends:
        if end.misfit is None:
            continue
        for each in session.taken:
            key = (each.test, each.at)
            fields = {reading.check for reading in each.readings}
            here = end.place in (each.at, f"{each.at}L", f"{each.at}R")
            if here and end.misfit.check in fields and key not in repeated:
                repeated.add(key)
                yield key
    ranked: list[tuple[float, str, tuple[str, ...]]] = [
        (-test.rate, test.check, (end.place,))
        for end in explanation.wheel_ends
        for test in end.next_tests
        if test.check in at_hand
    ]
    ranked += _axle_tests(session, explanation, at_hand)
    for rate, check, places in sorted(ranked):
        for at in targets_of(checks[check], session.case, places) if -rate >= _WORTH else ():
            if not session.has(check, at):
                yield check, at


def _axle_tests(
    session: DrillSession, explanation: Explanation, at_hand: set[str]
) -> list[tuple[float, str, tuple[str, ...]]]:
    """Confirming tests of the causes of an axle, which stand at no single wheel end; the rate negative.

    Information of one yes-or-no test about one cause, over the minutes of what is not yet done of it.
    """
    catalogue, network = load_catalogue(), load_causes()
    found: list[tuple[float, str, tuple[str, ...]]] = []
    for axle in explanation.axles:
        known = {view.code: view.probability for view in axle.causes}
        for cause in network.causes.values():
            names = [name for field in cause.test.fields for name in catalogue.fields[field].checks]
            if cause.scope != "axle" or not set(names) & at_hand:
                continue
            check = catalogue.checks[next(name for name in names if name in at_hand)]
            left = [
                at for at in targets_of(check, session.case, (axle.axle,)) if not session.has(check.id, at)
            ]
            minutes = sum(sum(cost_of(session, check, at)) for at in left)
            if not left:
                continue
            present = known.get(cause.code, 0.0)
            gain = information(
                np.array([1.0 - present, present]),
                np.array([[cause.test.positive_if_absent, cause.test.positive_if_present]]),
            )
            found.append((-gain / minutes, check.id, (axle.axle,)))
    return found
