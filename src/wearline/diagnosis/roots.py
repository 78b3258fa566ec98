"""Chains of causes: the earliest cause still present, and what a job has to reach."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from wearline.catalogue.cause_model import CauseNetwork
from wearline.diagnosis.results import CauseForJob, CauseView, Explanation, Root

__all__ = ["causes_for_job", "root_of"]

_PRESENT = 0.3
"""A parent less probable than this is not taken for the root (expert judgement)."""

_CONFIRMED = 0.95


def root_of(
    code: str, place: str, here: Mapping[str, tuple[float, str]], network: CauseNetwork, seen: Iterable[str]
) -> Root:
    """Return the earliest cause still present behind a cause.

    Parameters
    ----------
    code : str
        The cause.
    place : str
        Its wheel end.
    here : mapping of str to (float, str)
        Probability and place of every cause that touches the wheel end, those of its axle and vehicle among
        them.
    network : CauseNetwork
        Chains.
    seen : iterable of str
        Causes seen themselves at this wheel end.

    Returns
    -------
    Root
        The cause itself where nothing stands behind it.
    """
    found, at = code, place
    known = set(seen)
    while True:
        parents = [
            parent
            for parent in network.parents_of(found)
            if parent in known or here.get(parent, (0.0, ""))[0] >= _PRESENT
        ]
        if not parents:
            break
        found = max(parents, key=lambda parent: (parent in known, here.get(parent, (0.0, ""))[0]))
        at = here.get(found, (0.0, place))[1]
    probability = 1.0 if found in known else here.get(found, (0.0, ""))[0]
    follows = tuple(
        child
        for child in _below(found, network)
        if child in known or here.get(child, (0.0, ""))[0] >= _PRESENT
    )
    cause = network.causes[found]
    proven = found in known or probability >= _CONFIRMED
    return Root(found, cause.name, at, probability, follows, "" if proven else cause.test.text)


def _below(code: str, network: CauseNetwork) -> tuple[str, ...]:
    """Every cause that grows out of one, nearest first."""
    found: list[str] = []
    front = [code]
    while front:
        children = [
            child for parent in front for child in network.causes[parent].leads_to if child not in found
        ]
        found += children
        front = children
    return tuple(dict.fromkeys(found))


def causes_for_job(explanation: Explanation, *, least: float = 0.5) -> tuple[CauseForJob, ...]:
    """Return the causes that a repair must reach, each with its root and its confirming test.

    Parameters
    ----------
    explanation : Explanation
        The diagnosis.
    least : float, [1], 0 to 1, optional
        Causes less probable than this are left out, except those seen themselves.

    Returns
    -------
    tuple of CauseForJob
        Causes of the vehicle, then of the axles, then of the wheel ends.

    Notes
    -----
    A cause that is not confirmed needs its confirming test as a gate before parts are ordered on it; a job
    that does not reach the root sees the cause come back.
    """
    found = [_plain(view, "vehicle") for view in explanation.vehicle if view.probability >= least]
    for axle in explanation.axles:
        found += [_plain(view, axle.axle) for view in axle.causes if view.probability >= least]
    for end in explanation.wheel_ends:
        seen = {fault.code for fault in end.found if fault.probability >= least}
        for view in end.causes:
            if view.probability < least and view.code not in seen:
                continue
            root = (
                end.root if end.root is not None and view.code in (end.root.code, *end.root.follows) else None
            )
            found.append(
                CauseForJob(
                    place=end.place,
                    code=view.code,
                    name=view.name,
                    probability=max(
                        view.probability, *(f.probability for f in end.found if f.code == view.code), 0.0
                    ),
                    root_code=root.code if root else view.code,
                    root_name=root.name if root else view.name,
                    root_place=root.place if root else end.place,
                    repair=view.repair,
                    confirm=view.confirm,
                    confirmed=view.code in seen or view.probability >= _CONFIRMED,
                )
            )
    return tuple(found)


def _plain(view: CauseView, place: str) -> CauseForJob:
    return CauseForJob(
        place=place,
        code=view.code,
        name=view.name,
        probability=view.probability,
        root_code=view.code,
        root_name=view.name,
        root_place=place,
        repair=view.repair,
        confirm=view.confirm,
        confirmed=view.probability >= _CONFIRMED,
    )
