"""From an inspection to its explanation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wearline.assessment.columns import Numbers
from wearline.assessment.judge import Judged, judge_inspection_columns
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.cause_model import Cause, CauseNetwork
from wearline.catalogue.load_causes import load_causes
from wearline.catalogue.loading import Catalogue
from wearline.diagnosis.evidence import EndEvidence, node_text
from wearline.diagnosis.gather import circumstances_of, heard_in, multipliers_of
from wearline.diagnosis.infer import Effort, Posterior, infer
from wearline.diagnosis.network import AXLE_CAUSES, VEHICLE_CAUSES, Compiled, compile_network
from wearline.diagnosis.next_tests import candidates, rank_tests, states_reached
from wearline.diagnosis.observe import Observed, observe
from wearline.diagnosis.results import (
    AxleExplanation,
    CauseView,
    Explanation,
    FoundFault,
    NextTest,
    WheelEndExplanation,
)
from wearline.diagnosis.roots import root_of
from wearline.diagnosis.wording import Speaker
from wearline.records.inspection import Inspection
from wearline.records.notices import Notice
from wearline.records.readings import Unmeasurable

__all__ = ["NOTHING_TAKEN", "explain"]

NOTHING_TAKEN = "Nothing was read at this wheel end: these are only the usual chances before any reading."

_SHOWN = 0.02
"""Causes less probable than this are not listed."""

_MOST = 8
_ARGUED = 4
"""Causes whose evidence is put into words at each place."""

_LIKELY = 0.2
_SEEN = 0.5
_KEPT_SETS = 250
"""Sets of causes kept at each wheel end: one vehicle can afford more than a fleet."""

_KEPT_WHERE_OPEN = 1000
_MUCH_DROPPED = 0.05


def explain(
    inspection: Inspection,
    catalogue: Catalogue,
    *,
    judged: Judged | None = None,
    network: CauseNetwork | None = None,
) -> Explanation:
    """Say why a vehicle wears as it does, and what to test next.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    catalogue : Catalogue
        Fields, designs, limits.
    judged : Judged, optional
        Its judged columns, where they are there already.
    network : CauseNetwork, optional
        A network with a fleet's own counts; the shipped one by default.

    Returns
    -------
    Explanation
        Causes by wheel end, axle and vehicle, most probable first.
    """
    if judged is None:
        judged, _ = judge_inspection_columns(inspection, catalogue, DecisionSettings())
    compiled = compile_network(network or load_causes())
    observed = observe(judged, compiled, heard_in([inspection]))
    about = circumstances_of([inspection], judged, compiled)
    posterior = infer(observed, compiled, about, Effort(kept=_KEPT_SETS))
    if posterior.dropped.max() > _MUCH_DROPPED:
        # few readings leave many sets of causes possible
        posterior = infer(observed, compiled, about, Effort(kept=_KEPT_WHERE_OPEN))
    return _Explainer(inspection, catalogue, judged, compiled, observed, posterior).explanation()


@dataclass(frozen=True, slots=True, eq=False)
class _Explainer:
    inspection: Inspection
    catalogue: Catalogue
    judged: Judged
    compiled: Compiled
    observed: Observed
    posterior: Posterior

    @property
    def network(self) -> CauseNetwork:
        return self.compiled.network

    @property
    def places(self) -> list[str]:
        return list(self.judged.columns.places)

    def explanation(self) -> Explanation:
        speaker = Speaker(self.inspection, self.judged, self.observed, self.catalogue.fields)
        by_cause = self.posterior.of_causes()
        vehicle = self._vehicle(speaker)
        ends = tuple(self._end(row, by_cause[row], speaker) for row in range(len(self.places)))
        known = multipliers_of(self.inspection, self.network.multipliers)
        assumed = dict.fromkeys(f"{one.text} (x {one.factor:g})" for axle in known.values() for one in axle)
        return Explanation(
            vehicle_id=self.inspection.vehicle.id,
            wheel_ends=ends,
            axles=tuple(self._axle(row, speaker) for row in range(0, len(self.places), 2)),
            vehicle=vehicle,
            undecided=_undecided([(view.code, view.name, view.probability) for view in vehicle], ()),
            assumed=tuple(assumed),
            warnings=self._warnings(ends),
        )

    def _view(
        self, cause: Cause, probability: float, evidence: tuple[tuple[str, ...], tuple[str, ...]]
    ) -> CauseView:
        return CauseView(
            code=cause.code,
            name=cause.name,
            probability=probability,
            supports=evidence[0],
            speaks_against=evidence[1],
            mechanism=cause.mechanism,
            repair=cause.repair,
            confirm=cause.test.text,
        )

    def _end(self, row: int, chances: Numbers, speaker: Speaker) -> WheelEndExplanation:
        evidence = EndEvidence(self.compiled, self.observed, self.posterior, row)
        codes = self.compiled.codes
        found = self._found(row, speaker)
        seen = {fault.code for fault in found}
        order = sorted(range(len(codes)), key=lambda number: -chances[number])
        views = []
        for place, number in enumerate(order[:_MOST]):
            code, probability = codes[number], float(chances[number])
            if probability < _SHOWN and (place > 0 or probability < 1e-3) and code not in seen:
                continue
            told = evidence.of_cause(code, speaker) if place < _ARGUED and probability >= _SHOWN else ((), ())
            views.append(self._view(self.network.causes[code], probability, told))
        views += [
            self._view(self.network.causes[code], float(chances[codes.index(code)]), ((), ()))
            for code in seen - {view.code for view in views}
        ]
        views.sort(key=lambda view: -view.probability)
        tests = self._tests(row)
        undecided = _undecided([(view.code, view.name, view.probability) for view in views], tests)
        if not self._looked_at(row):
            undecided = (NOTHING_TAKEN,)
        here = self._here(row, chances)
        root = None
        if views and (views[0].probability >= _LIKELY or found):
            sure = views[0].probability >= (_SEEN if found else _LIKELY)
            best = views[0].code if sure else found[0].code
            root = root_of(best, self.places[row], here, self.network, seen)
        return WheelEndExplanation(
            place=self.places[row],
            healthy=float(self.posterior.healthy()[row]),
            causes=tuple(views),
            found=found,
            root=root,
            next_tests=tests,
            undecided=undecided,
            misfit=evidence.misfit(speaker),
            dropped=float(self.posterior.dropped[row]),
        )

    def _looked_at(self, row: int) -> bool:
        """Whether anything at all was read at a wheel end."""
        place = self.places[row]
        return any(str(end.place) == place and end.readings for end in self.inspection.wheel_ends)

    def _here(self, row: int, chances: Numbers) -> dict[str, tuple[float, str]]:
        """Every cause that touches a wheel end, with probability and place."""
        place = self.places[row]
        here = {code: (float(chances[n]), place) for n, code in enumerate(self.compiled.codes)}
        for number, code in enumerate(AXLE_CAUSES):
            here[code] = (float(self.posterior.axle[row, number]), place[:-1])
        for number, code in enumerate(VEHICLE_CAUSES):
            here[code] = (float(self.posterior.vehicle[0, number]), "vehicle")
        return here

    def _found(self, row: int, speaker: Speaker) -> tuple[FoundFault, ...]:
        """Faults that are seen themselves: a torn boot, a cracked or thin rotor, oil, rust water."""
        found = []
        for cause in self.network.causes.values():
            if not cause.seen_by:
                continue
            for place, name in enumerate(self.compiled.nodes):
                probability = self._seen(row, place, name, cause.seen_by)
                if probability > _SEEN:
                    text = node_text(self.compiled, speaker, row, name)
                    found.append(FoundFault(cause.code, cause.name, text, probability))
        return tuple(found)

    def _seen(self, row: int, place: int, name: str, seen_by: str) -> float:
        if not self.observed.taken[row, place]:
            return 0.0
        if name in self.network.words:
            word = self.network.words[name]
            return 1.0 - float(self.observed.sound[row, place]) if seen_by in (word.id, word.symptom) else 0.0
        symptom = self.network.nodes[name].symptoms.get(seen_by)
        if symptom is None:
            return 0.0
        beyond = float(self.observed.value[name][row]) - symptom.threshold
        return 1.0 if (beyond > 0.0) is symptom.above else 0.0

    def _tests(self, row: int) -> tuple[NextTest, ...]:
        checks = self.catalogue.checks
        end = self.inspection.wheel_ends
        taken_fields = {
            name
            for wheel_end in end
            if str(wheel_end.place) == self.places[row]
            for (name, _), reading in wheel_end.readings.items()
            if not isinstance(reading, Unmeasurable)
        }
        taken = [
            checks[self.catalogue.fields[name].checks[0]]
            for name in taken_fields
            if self.catalogue.fields[name].checks
        ]
        done = self._done(row, taken_fields)
        options = candidates(self.compiled, self.posterior, row, done, checks)
        return rank_tests(options, self.posterior, row, states_reached(taken), self.catalogue.states)

    def _done(self, row: int, taken_fields: set[str]) -> frozenset[str]:
        """Symptoms that have a reading, and causes whose own confirming test has one."""
        done: set[str] = set()
        for place, name in enumerate(self.compiled.nodes):
            if self.observed.taken[row, place]:
                word = self.network.words.get(name)
                done |= {word.symptom} if word is not None else set(self.network.nodes[name].symptoms)
        for id, node in self.network.comparisons.items():
            if not np.isnan(self.observed.compared[id][0][row]):
                done |= set(node.symptoms)
        if "t" in done:
            done.add("D")
        for word in self.network.words.values():
            if taken_fields & {*word.bad, *word.good}:
                done.add(word.symptom)
        for cause in self.network.causes.values():
            if cause.test.fields and set(cause.test.fields) & taken_fields:
                done.add(cause.code)
        return frozenset(done - {""})

    def _axle(self, row: int, speaker: Speaker) -> AxleExplanation:
        place = self.places[row]
        views = []
        for number, code in enumerate(AXLE_CAUSES):
            probability = float(self.posterior.axle[row, number])
            if probability >= _SHOWN:
                views.append(
                    self._view(self.network.causes[code], probability, self._axle_evidence(row, speaker))
                )
        views.sort(key=lambda view: -view.probability)
        return AxleExplanation(place[:-1], tuple(views), self._victim(row))

    def _axle_evidence(self, row: int, speaker: Speaker) -> tuple[tuple[str, ...], tuple[str, ...]]:
        told = []
        for end in (row, row + 1):
            for id in ("temperature", "wear"):
                value = self.observed.compared[id][0][end]
                if not np.isnan(value) and value > 0.25:
                    told.append(f"{self.places[end]}: {speaker.compared(end, id)}")
        return tuple(told), ()

    def _victim(self, row: int) -> str:
        """Say where a healthy end wears or runs hot because its mate does less."""
        healthy = self.posterior.healthy()
        for end, mate in ((row, row + 1), (row + 1, row)):
            more = max(np.nan_to_num(self.observed.compared[id][0][end]) for id in ("temperature", "wear"))
            less = min(
                np.nan_to_num(self.observed.compared[id][0][mate]) for id in ("temperature", "wear", "force")
            )
            if healthy[end] > 0.5 and healthy[mate] < 0.5 and more > 0.12 and less < -0.15:
                return (
                    f"{self.places[end]} works more because {self.places[mate]} does less: look at "
                    f"{self.places[mate]} first; {self.places[end]} itself has no likely fault."
                )
        return ""

    def _vehicle(self, speaker: Speaker) -> tuple[CauseView, ...]:
        views = []
        for number, code in enumerate(VEHICLE_CAUSES):
            probability = float(self.posterior.vehicle[0, number])
            if probability >= _SHOWN:
                views.append(
                    self._view(
                        self.network.causes[code], probability, self._vehicle_evidence(number, speaker)
                    )
                )
        return tuple(sorted(views, key=lambda view: -view.probability))

    def _vehicle_evidence(self, number: int, speaker: Speaker) -> tuple[tuple[str, ...], tuple[str, ...]]:
        supports: list[str] = []
        against: list[str] = []
        wear = float(self.observed.usual_wear[0])
        if not np.isnan(wear):
            text = f"pads of the whole vehicle worn {np.exp(wear):.2f} times what peers wear"
            (supports if wear > 0.2 else against).append(text)
        code = VEHICLE_CAUSES[number]
        for reading in self.inspection.vehicle_readings.items():
            (name, _), value = reading
            if name == "retarder" and code == "U2" and not isinstance(value, Unmeasurable):
                word = getattr(value, "word", "")
                (supports if word == "does not work" else against).append(f"retarder: {word}")
        for place, name in enumerate(self.compiled.nodes):
            if not self.compiled.shared_weight[place, number] or not self.observed.taken[:, place].any():
                continue
            ratio = self.observed.shared[:, place, number] / self.compiled.shared_weight[place, number]
            rows = self.observed.taken[:, place] & (ratio > self.observed.sound[:, place])
            taken = int(self.observed.taken[:, place].sum())
            if rows.sum() >= 2:
                first = node_text(self.compiled, speaker, int(np.flatnonzero(rows)[0]), name)
                supports.append(f"{first} and the like at {int(rows.sum())} of {taken} wheel ends")
            elif self.compiled.shared_weight[place, number] > 0.5 and taken >= 3 and not rows.any():
                against.append(f"{self._label(name)} as usual at all {taken} wheel ends")
        return tuple(supports), tuple(against)

    def _label(self, name: str) -> str:
        network = self.network
        return network.words[name].label if name in network.words else network.nodes[name].label

    def _warnings(self, ends: tuple[WheelEndExplanation, ...]) -> tuple[Notice, ...]:
        return tuple(
            Notice("readings_do_not_fit", end.misfit.text, where=end.place, cure=end.misfit.repeat)
            for end in ends
            if end.misfit is not None
        )


def _undecided(causes: list[tuple[str, str, float]], tests: tuple[NextTest, ...]) -> tuple[str, ...]:
    """Say plainly between which causes the readings cannot decide."""
    open_ones = [(code, name, p) for code, name, p in causes if _LIKELY <= p <= 1.0 - _LIKELY]
    if len(open_ones) < 2:
        return ()
    listed = ", ".join(f"{code} {name} ({100.0 * p:.0f} %)" for code, name, p in open_ones)
    text = f"The readings cannot decide between these: {listed}."
    codes = {code for code, _, _ in open_ones}
    for test in tests:
        if codes & set(test.about):
            return (f"{text} Most would be gained from: {test.test}.",)
    return (text,)
