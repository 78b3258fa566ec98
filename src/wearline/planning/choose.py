"""Chooses the work: the rules of choice read from top to bottom over everything that was seen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from wearline.catalogue.job_choice_model import SITUATIONS, STANDINGS, ChoiceRule
from wearline.planning.evidence import VEHICLE, Evidence, Seen
from wearline.planning.results import Work

__all__ = ["Chosen", "choose_work"]


@dataclass(frozen=True, slots=True)
class Chosen:
    """The work that the rules ask for.

    Parameters
    ----------
    by_axle : mapping of str to tuple of Work
        Work of each axle: situations first, by number, then the work beside them in the order of the rules.
    first : tuple of str
        What has to come before any brake work.
    """

    by_axle: Mapping[str, tuple[Work, ...]]
    first: tuple[str, ...]


@dataclass(slots=True)
class _Draft:
    """Work while the rules are still being read."""

    code: str
    at: str
    standing: str
    choice: str
    status: str
    because: list[str] = field(default_factory=list)

    def add_reasons(self, reasons: list[str]) -> None:
        self.because.extend(reason for reason in reasons if reason not in self.because)

    def strengthen(self, standing: str, choice: str, status: str) -> None:
        """Keep the stronger of two standings; what is needed anyway has no choice left."""
        before, now = STANDINGS.index(self.standing), STANDINGS.index(standing)
        if now > before or (now == before and not choice):
            self.standing, self.choice, self.status = standing, choice, status


def choose_work(evidence: Evidence, rules: tuple[ChoiceRule, ...], title_of: Callable[[str], str]) -> Chosen:
    """Read the rules over the evidence.

    Parameters
    ----------
    evidence : Evidence
        What was seen; the work chosen is added to it as it is found.
    rules : tuple of ChoiceRule
        The rules in order.
    title_of : callable
        Title of a code.

    Returns
    -------
    Chosen
        Work by axle, and what comes first.

    Notes
    -----
    A rule is asked for all wheel ends before its work is added, so that left and right are treated alike.
    """
    drafts: dict[tuple[str, str], _Draft] = {}
    first: list[str] = []
    for rule in rules:
        looking_from = (VEHICLE,) if rule.at in ("first", "vehicle") else evidence.ends
        hits = [
            (place, seen) for place in looking_from if (seen := _applies(rule, evidence, place)) is not None
        ]
        for place, seen in hits:
            if rule.at == "first":
                first.append(rule.says)
                continue
            for target in _targets(rule, evidence, place):
                draft = _add(drafts, evidence, rule, target, _reasons(rule, seen, target))
                _announce(evidence, draft, title_of)
    _absorb(drafts, evidence)
    return Chosen(_by_axle(drafts, evidence, title_of), tuple(dict.fromkeys(first)))


def _applies(rule: ChoiceRule, evidence: Evidence, place: str) -> list[Seen] | None:
    reasons: list[Seen] = []
    for group in rule.all:
        holding = [found for condition in group if (found := evidence.seen(place, condition)) is not None]
        if not holding:
            return None
        reasons.extend(reason for found in holding for reason in found)
    if any(evidence.seen(place, condition) is not None for condition in rule.none):
        return None
    return reasons


def _targets(rule: ChoiceRule, evidence: Evidence, place: str) -> tuple[str, ...]:
    if rule.at == "vehicle":
        return tuple(evidence.axles)
    if rule.at == "axle":
        return (evidence.axle_of(place),)
    if rule.at == "mate":
        return (evidence.mate_of(place),)
    return (place,)


def _reasons(rule: ChoiceRule, seen: list[Seen], target: str) -> list[str]:
    """Put the place in front of reasons that come from elsewhere than the place of the work."""
    texts = [
        reason.text if reason.place in (VEHICLE, target) else f"{reason.place}: {reason.text}"
        for reason in seen
        if reason.text
    ]
    return [text for text in dict.fromkeys((*texts, rule.says)) if text]


def _add(
    drafts: dict[tuple[str, str], _Draft],
    evidence: Evidence,
    rule: ChoiceRule,
    target: str,
    reasons: list[str],
) -> _Draft:
    draft = drafts.get((rule.work, target))
    if draft is None:
        draft = _Draft(rule.work, target, rule.standing, rule.choice, str(rule.status))
        drafts[rule.work, target] = draft
    else:
        draft.strengthen(rule.standing, rule.choice, str(rule.status))
    draft.add_reasons(reasons)
    for code in rule.replaces:
        replaced = drafts.pop((code, target), None)
        if replaced is not None:
            draft.add_reasons(replaced.because)
            for level in ("work", "needed", "sure"):
                evidence.drop(target, f"{level}:{code}")
    return draft


def _announce(evidence: Evidence, draft: _Draft, title_of: Callable[[str], str]) -> None:
    """Let the rules below see the work that was added."""
    title = title_of(draft.code)
    text = f"{draft.code} {title}" if draft.code in SITUATIONS else title
    evidence.add(draft.at, f"work:{draft.code}", text)
    if draft.standing == "needed":
        evidence.add(draft.at, f"needed:{draft.code}", text)
        if not draft.choice:
            evidence.add(draft.at, f"sure:{draft.code}", text)


def _absorb(drafts: dict[tuple[str, str], _Draft], evidence: Evidence) -> None:
    """Let work on a whole axle take in the same work at one of its ends."""
    for (code, at), draft in list(drafts.items()):
        if at in evidence.axles or (code, evidence.axle_of(at)) not in drafts:
            continue
        whole = drafts[code, evidence.axle_of(at)]
        whole.strengthen(draft.standing, draft.choice, draft.status)
        reasons = [f"{at}: {reason}" for reason in draft.because]
        whole.because = list(dict.fromkeys((*reasons, *whole.because)))
        del drafts[code, at]


def _by_axle(
    drafts: dict[tuple[str, str], _Draft], evidence: Evidence, title_of: Callable[[str], str]
) -> dict[str, tuple[Work, ...]]:
    found: dict[str, list[Work]] = {axle: [] for axle in evidence.axles}
    ordered = sorted(
        drafts.values(), key=lambda draft: (_rank(draft.code), draft.at if _rank(draft.code) < 9 else "")
    )
    for draft in ordered:
        work = Work(
            code=draft.code,
            at=draft.at,
            title=title_of(draft.code),
            because=tuple(draft.because),
            standing=draft.standing,
            choice=draft.choice if draft.standing != "advised" else "",
            status=draft.status,
        )
        found[evidence.axle_of(draft.at)].append(work)
    return {axle: tuple(works) for axle, works in found.items()}


def _rank(code: str) -> int:
    return SITUATIONS.index(code) if code in SITUATIONS else len(SITUATIONS) + 9
