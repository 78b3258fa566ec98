"""What one rule pack says of a vehicle, rule by rule, with its source and how well its text is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wearline.assessment.columns import Flags, Numbers
from wearline.assessment.evidence import Evidence
from wearline.assessment.road_results import BrakeCount, Capability, PackAnswer, RuleAnswer
from wearline.assessment.wording import shown
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.rule_model import Rule, RulePack
from wearline.records.inspection import Inspection
from wearline.records.readings import Measured
from wearline.uncertainty.conformity import Sense, compare_directly

__all__ = ["pack_answer"]

_GRAVITY_OF = {"violation": 1, "fails the annual inspection": 1, "out of service": 2}


@dataclass(frozen=True, slots=True)
class _Values:
    """A measure of a rule: one number per place, NaN where not known."""

    places: tuple[str, ...]
    numbers: tuple[float, ...]


def pack_answer(
    pack: RulePack,
    inspection: Inspection,
    evidence: Evidence,
    count: BrakeCount,
    capability: Capability,
    catalogue: Catalogue,
) -> PackAnswer:
    """Answer every rule of a pack.

    Parameters
    ----------
    pack : RulePack
        The pack.
    inspection : Inspection
        The inspection.
    evidence : Evidence
        Judged readings.
    count : BrakeCount
        Defective brakes.
    capability : Capability
        Measured forces.
    catalogue : Catalogue
        Measures and limits.

    Returns
    -------
    PackAnswer
        Rules whose text is only recalled are shown and never decide. Readings are compared directly, as an
        officer would. Nothing measured is 'not known', never 'met'.
    """
    asked = _Asked(pack, inspection, evidence, count, capability, catalogue)
    rules = tuple(asked.answer(rule) for rule in pack.rules)
    deciding = [rule for rule in rules if rule.decides]
    broken = [rule for rule in deciding if rule.answer == "not met"]
    if broken:
        gravest = max(_GRAVITY_OF.get(rule.effect, 0) for rule in broken)
        answer = {2: "out of service", 1: "violation"}.get(gravest, "no rule broken")
    elif any(rule.answer == "met" for rule in deciding):
        unknown = sum(rule.answer == "not known" for rule in deciding)
        answer = (
            "no rule broken" if not unknown else f"no rule broken that could be checked, {unknown} not known"
        )
    else:
        answer = "not known"
    shown_only = sum(not rule.decides and rule.answer == "not known" for rule in rules)
    if shown_only and not broken:
        answer += f"; {shown_only} points that are shown only were not looked at"
    return PackAnswer(pack.id, pack.title, pack.text_as_of, answer, rules)


class _Asked:
    """One pack asked about one vehicle."""

    def __init__(
        self,
        pack: RulePack,
        inspection: Inspection,
        evidence: Evidence,
        count: BrakeCount,
        capability: Capability,
        catalogue: Catalogue,
    ) -> None:
        self.pack = pack
        self.inspection = inspection
        self.evidence = evidence
        self.count = count
        self.capability = capability
        self.catalogue = catalogue

    def answer(self, rule: Rule) -> RuleAnswer:
        if not self._applies_to_any(rule):
            return self._say(rule, "not applicable", (), "no axle of this vehicle falls under it")
        if not rule.measure:
            return self._say(rule, "not known", (), rule.note or "readings do not answer it")
        if rule.sense is None and not rule.limit:
            return self._yes_or_no(rule)
        return self._number(rule)

    def _say(self, rule: Rule, answer: str, places: tuple[str, ...], explanation: str) -> RuleAnswer:
        parts = [explanation, rule.unit_rule if answer != "not applicable" else ""]
        source = self.catalogue.sources[rule.source]
        grade = str(rule.grade) if rule.decides else f"{rule.grade}: shown, never decides"
        return RuleAnswer(
            rule=rule.text,
            citation=rule.citation,
            source=f"{source.key}: {source.title}",
            grade=grade,
            answer=answer,
            places=places,
            explanation=". ".join(part.rstrip(".") for part in parts if part),
            decides=rule.decides,
            effect=rule.effect,
        )

    def _applies_to_any(self, rule: Rule) -> bool:
        kind = self.inspection.vehicle.kind
        return any(
            rule.applies.covers(role=axle.role, vehicle_kind=kind) for axle in self.inspection.vehicle.axles
        )

    def _rows(self, rule: Rule) -> Flags:
        """Wheel ends that fall under a rule."""
        kind = self.inspection.vehicle.kind
        roles = {axle.id: axle.role for axle in self.inspection.vehicle.axles}
        return np.array(
            [
                rule.applies.covers(role=roles[place[:-1]], vehicle_kind=kind)
                for place in self.evidence.judged.columns.places
            ],
            dtype=bool,
        )

    def _yes_or_no(self, rule: Rule) -> RuleAnswer:
        if rule.measure == "chamber_size_mismatch":
            return self._chambers(rule)
        measure = self.catalogue.measures.get(rule.measure)
        if measure is None or not measure.true_when:
            return self._say(rule, "not known", (), "no reading answers it")
        answer = self.evidence.truth(rule.measure)
        rows = self._rows(rule)
        places = self.evidence.judged.columns.places
        broken = tuple(places[row] for row in np.flatnonzero(answer.true & rows).tolist())
        if measure.scope == "vehicle" and broken:
            broken = ("vehicle",)
        if broken:
            return self._say(rule, "not met", broken, f"{measure.title} at {', '.join(broken)}")
        unknown = [places[row] for row in np.flatnonzero(rows & ~answer.known).tolist()]
        if not unknown:
            return self._say(rule, "met", (), f"not found: {measure.title}")
        where = "anywhere" if len(unknown) == int(rows.sum()) else f"at {', '.join(unknown)}"
        return self._say(rule, "not known", (), f"not looked at {where}: {measure.title}")

    def _chambers(self, rule: Rule) -> RuleAnswer:
        broken, unknown = [], []
        for axle in self.inspection.vehicle.axles:
            sizes = [self._text(f"{axle.id}{side}", "chamber_size") for side in ("L", "R")]
            if not all(sizes):
                unknown.append(axle.id)
            elif sizes[0] != sizes[1]:
                broken.append(f"{axle.id} ({sizes[0]} and {sizes[1]})")
        if broken:
            return self._say(
                rule, "not met", tuple(broken), f"different chambers on axle {', '.join(broken)}"
            )
        if unknown:
            return self._say(
                rule, "not known", (), f"chamber size not written down on axle {', '.join(unknown)}"
            )
        return self._say(rule, "met", (), "same size at both ends of every axle")

    def _text(self, place: str, name: str) -> str:
        for wheel_end in self.inspection.wheel_ends:
            if str(wheel_end.place) == place:
                return wheel_end.word(name).strip().casefold()
        return ""

    def _number(self, rule: Rule) -> RuleAnswer:
        values = self._values(rule)
        if values is None or all(np.isnan(number) for number in values.numbers):
            return self._say(rule, "not known", (), "not measured")
        against = self._limits(rule, values)
        if against is None:
            return self._say(
                rule, "not known", (), "the class of the vehicle is not known: give its kind and rated mass"
            )
        numbers, (limit_values, published, unit, sense, passes) = np.array(values.numbers), against
        inside = compare_directly(numbers, limit_values, sense, passes)
        known = ~np.isnan(numbers)
        broken = tuple(values.places[row] for row in np.flatnonzero(known & ~inside))
        told = self._told(values, unit, sense, published) + self._gaps(rule, values)
        if broken:
            return self._say(rule, "not met", broken, told)
        if not known.all():
            unknown = [values.places[row] for row in np.flatnonzero(~known)]
            return self._say(rule, "not known", (), f"{told}; not measured at {', '.join(unknown)}")
        return self._say(rule, "met", (), told)

    def _values(self, rule: Rule) -> _Values | None:
        whole = ("vehicle",)
        if rule.measure == "defective_share":
            return _Values(whole, (self.count.share,))
        if rule.measure in ("efficiency", "braking_force_share"):
            share = self.capability.efficiency
            return _Values(whole, (np.nan if share is None else share,))
        if rule.measure == "stop_distance_20mph":
            return _Values(whole, (self._of_vehicle("stop_distance"),))
        if rule.measure == "deceleration":
            return _Values(whole, (self._of_vehicle("deceleration"),))
        numbers = self.evidence.number(rule.measure)
        if numbers is None:
            column = self.evidence.judged.columns.values.get((rule.measure, ""))
            if column is None:
                return None
            numbers = column
        rows: list[int] = np.flatnonzero(self._rows(rule)).tolist()
        places = self.evidence.judged.columns.places
        measure = self.catalogue.measures.get(rule.measure)
        per_axle = measure is not None and measure.scope == "axle"
        if per_axle:
            rows = [row for row in rows if places[row].endswith("L")]
        named = tuple(places[row][:-1] if per_axle else places[row] for row in rows)
        return _Values(named, tuple(float(numbers[row]) for row in rows))

    def _of_vehicle(self, name: str) -> float:
        reading = self.inspection.vehicle_readings.get((name, ""))
        return reading.value if isinstance(reading, Measured) else np.nan

    def _limits(self, rule: Rule, values: _Values) -> tuple[Numbers, str, str, Sense, bool] | None:
        if rule.number is not None and rule.sense is not None:
            number = rule.number
        elif rule.column and rule.sense is not None:
            vehicle = self.inspection.vehicle
            row = self.pack.performance_class(
                vehicle.kind, rated_mass=vehicle.rated_mass, test_mass=vehicle.test_mass
            )
            if row is None:
                return None
            number = row.columns[rule.column]
        else:
            limits = self.evidence.judged.limits
            rows = [list(self.evidence.judged.columns.places).index(place) for place in values.places]
            one = limits.any(rule.limit)
            same = np.array([limits.values(rule.limit)[row] for row in rows])
            return same, one.published, one.unit, one.sense, one.passes_at_limit
        limit = np.full(len(values.numbers), number.value)
        return limit, number.published, number.unit, rule.sense, rule.passes_at_limit

    def _told(self, values: _Values, unit: str, sense: Sense, published: str) -> str:
        numbers = np.array(values.numbers)
        worst = int(np.nanargmin(numbers) if sense is Sense.AT_LEAST else np.nanargmax(numbers))
        where = f" at {values.places[worst]}" if values.places[worst] != "vehicle" else ""
        asked = "at least" if sense is Sense.AT_LEAST else "at most"
        value = f"{100 * numbers[worst]:.1f} %" if unit == "%" else shown(float(numbers[worst]), unit)
        return f"{value}{where}, asked for: {asked} {published}"

    def _gaps(self, rule: Rule, values: _Values) -> str:
        """Say aloud where a reading passes in one printed form and fails in the other."""
        if rule.number is None or rule.also is None or rule.sense is None:
            return ""
        numbers = np.array(values.numbers)
        printed = compare_directly(numbers, rule.number.value, rule.sense, rule.passes_at_limit)
        other = compare_directly(numbers, rule.also.value, rule.sense, rule.passes_at_limit)
        between = np.flatnonzero((printed != other) & ~np.isnan(numbers))
        if not between.size:
            return ""
        return f". {', '.join(values.places[row] for row in between)}: {rule.gap_text}"
