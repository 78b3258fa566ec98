"""Parts of a job with their counts and places, each counted once however many works ask for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from wearline.catalogue.job_choice_model import JobChoice
from wearline.catalogue.model import Design
from wearline.catalogue.work_model import Situation
from wearline.catalogue.work_model import Work as WorkCatalogue
from wearline.planning.results import PartNeed, Work
from wearline.records.place import WheelEndPlace

__all__ = ["axle_parts"]

_HANDED = ("exchange calliper", "carrier")
_SIDES = {"L": "left", "R": "right"}


@dataclass(frozen=True, slots=True)
class _Need:
    """One part at one wheel end."""

    part: str
    end: str
    count: int
    code: str
    if_needed: bool


def axle_parts(
    ends: tuple[str, ...],
    works: tuple[Work, ...],
    design: Design,
    catalogue: WorkCatalogue,
    choice: JobChoice,
) -> tuple[PartNeed, ...]:
    """Return the parts for one axle.

    Parameters
    ----------
    ends : tuple of str
        Its two places, as ``("1L", "1R")``: both, also where only one was inspected.
    works : tuple of Work
        Situations and work beside them.
    design : Design
        Brake of the axle: number of tappets, shear adapter.
    catalogue : Work
        Parts of the situations.
    choice : JobChoice
        Parts of the work beside them, and of the common steps.

    Returns
    -------
    tuple of PartNeed
        Counts for the axle where both ends need the same for the same reason, else for the wheel end. A
        part that two works ask for at one end is counted once; it is needed if one of them surely needs it.
    """
    if not works:
        return ()
    needs = list(_needs(ends, works, design, catalogue, choice))
    merged: dict[tuple[str, str], list[_Need]] = {}
    for need in needs:
        merged.setdefault((need.part, need.end), []).append(need)
    found: list[PartNeed] = []
    for part in dict.fromkeys(need.part for need in needs):
        at_ends = [_merge(merged[part, end], choice) for end in ends if (part, end) in merged]
        found.extend(_join(part, ends, at_ends))
    return tuple(found)


def _needs(
    ends: tuple[str, ...],
    works: tuple[Work, ...],
    design: Design,
    catalogue: WorkCatalogue,
    choice: JobChoice,
) -> Iterator[_Need]:
    for work in works:
        places = (work.at,) if work.at in ends else ends
        # Needed work is ordered for, also where a check may still choose the other way.
        unsure = work.standing != "needed"
        if work.code in catalogue.situations:
            listed = _of_situation(catalogue.situations[work.code], design, len(ends))
        else:
            listed = (
                (part.part, part.count * (design.tappets if part.per == "tappet" else 1), part.if_needed)
                for part in choice.extra[work.code].parts
            )
        for part, count, if_needed in listed:
            for end in places:
                yield _Need(part, end, count, work.code, unsure or if_needed)
    tags = design.tags()
    for common in choice.common_parts:
        if not common.trait or tags.get(common.trait) == common.equals:
            for end in ends:
                yield _Need(common.part, end, common.count, "", False)


def _of_situation(situation: Situation, design: Design, ends: int) -> Iterator[tuple[str, int, bool]]:
    """Count the parts of a situation for one wheel end."""
    for part in situation.parts:
        count = {"axle": part.count // ends, "end": part.count, "tappet": part.count * design.tappets}[
            part.per
        ]
        yield part.part, count, part.if_needed


@dataclass(frozen=True, slots=True)
class _Merged:
    """One part at one wheel end, all works together."""

    end: str
    count: int
    if_needed: bool
    because: tuple[str, ...]


def _merge(needs: list[_Need], choice: JobChoice) -> _Merged:
    counted = [need for need in needs if not need.if_needed] or needs
    because = dict.fromkeys(
        f"{need.code} {choice.title(need.code)}" if need.code in choice.titles else choice.title(need.code)
        for need in counted
        if need.code
    )
    return _Merged(
        end=needs[0].end,
        count=max(need.count for need in counted),
        if_needed=all(need.if_needed for need in needs),
        because=tuple(because),
    )


def _join(part: str, ends: tuple[str, ...], at_ends: list[_Merged]) -> Iterator[PartNeed]:
    """Put both ends into one line where they need the same and the part has no hand."""
    handed = part in _HANDED
    if not handed and _are_alike(at_ends):
        because = tuple(dict.fromkeys(reason for merged in at_ends for reason in merged.because))
        total = sum(merged.count for merged in at_ends)
        axle = WheelEndPlace.parse(ends[0]).axle
        yield PartNeed(part, total, axle, _words(because), at_ends[0].if_needed)
        return
    for merged in at_ends:
        name = f"{part}, for the {_SIDES[merged.end[-1]]} side" if handed else part
        yield PartNeed(name, merged.count, merged.end, _words(merged.because), merged.if_needed)


def _are_alike(at_ends: list[_Merged]) -> bool:
    """Same count, equally sure, and for a reason that both ends share."""
    if len(at_ends) != 2:
        return False
    left, right = at_ends
    shared = set(left.because) & set(right.because) or not (left.because or right.because)
    return bool(shared) and (left.count, left.if_needed) == (right.count, right.if_needed)


def _words(because: tuple[str, ...]) -> str:
    return ", ".join(because) or "the common steps"
