"""What an inspection shows, as named signs at wheel ends, axles and the vehicle, for the rules of choice."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from wearline.assessment.results import Finding, JudgedReading, Judgement, Verdict, WheelEndJudgement
from wearline.catalogue.job_choice_model import JobChoice, RotorOutlook
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import Design, FieldSpec
from wearline.records.inspection import Axle, Inspection, WheelEnd
from wearline.records.place import WheelEndPlace
from wearline.records.readings import Observed, Reading, ReadingKey
from wearline.uncertainty.rules import Sense
from wearline.units import format_quantity

__all__ = ["VEHICLE", "Evidence", "Seen", "gather_evidence"]

VEHICLE = ""
"""Place of what concerns the vehicle as a whole."""

_VEHICLE_WIDE = frozenset({"wear:fast everywhere"})
"""Findings that may stand at wheel ends though they speak of the vehicle."""

_MEASURE_OF_MANY = ("some", "several", "most", "every")
_DENIALS = ("no ", "not ", "without ", "never ")


@dataclass(frozen=True, slots=True)
class Seen:
    """One reason for a decision.

    Parameters
    ----------
    place : str
        Wheel end, axle, or empty for the vehicle.
    text : str
        The sentence; empty where the rule itself says enough.
    """

    place: str
    text: str


@dataclass(slots=True)
class Evidence:
    """Signs by place. Rules of choice read it, and add the work that they ask for.

    Parameters
    ----------
    axles : mapping of str to tuple of str
        Wheel ends of each axle with disc brakes, left before right.
    signs : dict of str to dict
        Place to sign to its sentences.
    """

    axles: Mapping[str, tuple[str, ...]]
    signs: dict[str, dict[str, list[str]]] = field(default_factory=dict)

    @property
    def ends(self) -> tuple[str, ...]:
        """All wheel ends, axle by axle."""
        return tuple(end for ends in self.axles.values() for end in ends)

    def axle_of(self, place: str) -> str:
        """Return the axle of a wheel end, or the axle itself.

        Parameters
        ----------
        place : str
            Wheel end or axle id.

        Returns
        -------
        str
            Axle id.
        """
        return place if place in self.axles else WheelEndPlace.parse(place).axle

    def mate_of(self, place: str) -> str:
        """Return the other end of the same axle.

        Parameters
        ----------
        place : str
            Wheel end.

        Returns
        -------
        str
            Its mate.
        """
        return str(WheelEndPlace.parse(place).mate)

    def add(self, place: str, sign: str, text: str = "") -> None:
        """Put a sign at a place.

        Parameters
        ----------
        place : str
            Wheel end, axle, or empty for the vehicle.
        sign : str
            Its name.
        text : str
            Sentence for people.
        """
        texts = self.signs.setdefault(place, {}).setdefault(sign, [])
        if text and text not in texts:
            texts.append(text)

    def drop(self, place: str, sign: str) -> None:
        """Take a sign away, where work is replaced by other work.

        Parameters
        ----------
        place, sign : str
            Place and name; nothing happens if it is not there.
        """
        self.signs.get(place, {}).pop(sign, None)

    def seen(self, place: str, condition: str) -> tuple[Seen, ...] | None:
        """Ask whether a condition holds, looking from a place.

        Parameters
        ----------
        place : str
            Wheel end, or empty for the vehicle.
        condition : str
            A sign, with where to look in front, as ``"mate>slide=stuck"``.

        Returns
        -------
        tuple of Seen or None
            The reasons, or None where it does not hold.
        """
        reach, _, sign = condition.rpartition(">")
        if reach in _MEASURE_OF_MANY:
            return self._at_many(reach, sign)
        found = [
            Seen(where, text)
            for where in self._where(place, reach)
            if sign in self.signs.get(where, {})
            for text in (self.signs[where][sign] or [""])
        ]
        return tuple(found) or None

    def _where(self, place: str, reach: str) -> tuple[str, ...]:
        if reach == "vehicle" or place == VEHICLE:
            return (VEHICLE,)
        if reach == "mate":
            return (self.mate_of(place),)
        if reach == "axle":
            axle = self.axle_of(place)
            return (axle, *self.axles[axle])
        return (place,)

    def _at_many(self, reach: str, sign: str) -> tuple[Seen, ...] | None:
        places = [end for end in self.ends if sign in self.signs.get(end, {})]
        least = {"some": 1, "several": 2, "most": len(self.ends) // 2 + 1, "every": len(self.ends)}[reach]
        if not places or len(places) < least:
            return None
        if reach != "some":
            return (Seen(VEHICLE, ""),)
        return tuple(Seen(end, text) for end in places for text in (self.signs[end][sign] or [""]))


def gather_evidence(
    inspection: Inspection, judgement: Judgement, catalogue: Catalogue, choice: JobChoice
) -> Evidence:
    """Collect every sign of one vehicle.

    Parameters
    ----------
    inspection : Inspection
        What was taken: words, notes, markings.
    judgement : Judgement
        What follows from it: findings, verdicts.
    catalogue : Catalogue
        Designs and labels.
    choice : JobChoice
        Signs and words to look for.

    Returns
    -------
    Evidence
        Signs by place.
    """
    judged = {end.place: end for end in judgement.wheel_ends}
    axles = {
        axle.id: tuple(f"{axle.id}{side}" for side in "LR" if f"{axle.id}{side}" in judged)
        for axle in inspection.vehicle.axles
        if axle.brake == "air disc"
    }
    evidence = Evidence({axle: ends for axle, ends in axles.items() if ends})
    for axle in inspection.vehicle.axles:
        for place in axles.get(axle.id, ()):
            design = catalogue.design(judged[place].design, inspection.taken_on)
            limits = catalogue.limits_for(judged[place].design, inspection.taken_on)
            _add_end(evidence, axle, judged[place], design, choice)
            life = _RotorLife(limits["rotor_min"].value, limits["pad_service"].value, design.friction_new)
            _add_rotor_outlook(evidence, judged[place], life, choice.rotor_outlook)
        if axle.id in evidence.axles:
            _compare_markings(evidence, inspection, axle.id)
    for taken in inspection.wheel_ends:
        if str(taken.place) in judged:
            _add_words_of_people(evidence, taken, catalogue.fields, choice)
    _add_axles_and_vehicle(evidence, inspection, judgement, catalogue.fields)
    return evidence


def _add_end(
    evidence: Evidence, axle: Axle, judged: WheelEndJudgement, design: Design, choice: JobChoice
) -> None:
    place = judged.place
    evidence.add(place, f"role={axle.role}")
    for trait, value in design.tags().items():
        shown = str(value).lower() if isinstance(value, bool) else value
        evidence.add(place, f"design:{trait}={shown}")
    for name in judged.not_taken:
        evidence.add(place, f"not taken:{name}")
    for reading in judged.readings:
        _add_reading(evidence, reading, choice)
    for finding in judged.findings:
        _add_finding(evidence, finding, judged.readings)


def _add_reading(evidence: Evidence, reading: JudgedReading, choice: JobChoice) -> None:
    place, check = reading.place, reading.check
    if reading.word:
        evidence.add(place, f"{check}={reading.word}", f"{reading.label}: {reading.word}")
    if reading.value is None:
        return
    if reading.verdict in (Verdict.WITHIN, Verdict.VOID):
        evidence.add(place, f"{check}:{reading.verdict}", _shown(reading))
    for other in reading.others:
        if other.verdict is Verdict.BEYOND:
            text = f"{_shown(reading)}, {other.limit.published}: {other.limit.note or other.limit.status}"
            evidence.add(place, f"{check}:beyond#{other.limit.id}", text)
    if reading.verdict is Verdict.VOID:
        return
    for sign in choice.signs.values():
        if sign.check == check and reading.value >= sign.at_least:
            evidence.add(place, f"sign:{sign.name}", f"{_shown(reading)}: {sign.text} ({sign.status})")


def _shown(reading: JudgedReading) -> str:
    if reading.value is None:
        return f"{reading.label}: {reading.word}"
    if not reading.unit:
        return f"{reading.label} {reading.value:g}"
    return f"{reading.label} {format_quantity(reading.value, reading.unit)}"


def _add_finding(evidence: Evidence, finding: Finding, readings: Iterable[JudgedReading]) -> None:
    place = VEHICLE if finding.id in _VEHICLE_WIDE else finding.place
    if finding.limit_id:
        evidence.add(place, f"{finding.id}#{finding.limit_id}", finding.text)
        side = _side_of_limit(finding, readings)
        if side:
            evidence.add(place, f"{finding.id} {side}", finding.text)
    if not finding.limit_id or finding.weight != "note":
        evidence.add(place, finding.id, finding.text)


def _side_of_limit(finding: Finding, readings: Iterable[JudgedReading]) -> str:
    """Say on which side of its limit a reading is: too low or too high."""
    for reading in readings:
        if reading.check == finding.check and reading.spot == finding.spot:
            limits = [reading.limit, *(other.limit for other in reading.others)]
            for limit in limits:
                if limit is not None and limit.id == finding.limit_id:
                    return "low" if limit.sense is Sense.AT_LEAST else "high"
    return ""


@dataclass(frozen=True, slots=True)
class _RotorLife:
    """Minimum of the rotor, service minimum and new thickness of the friction [m]."""

    minimum: float
    pad_service: float
    friction_new: float


def _add_rotor_outlook(
    evidence: Evidence, judged: WheelEndJudgement, life: _RotorLife, outlook: RotorOutlook
) -> None:
    """Hold the rotor against what present and next pads will take from both of its faces."""
    reading = judged.reading("rotor_thickness")
    if reading is None or reading.value is None or reading.verdict is Verdict.VOID:
        return
    now, place = reading.value, judged.place
    left = judged.derived.thinnest
    if left is not None and now >= life.minimum:
        share = max(left - life.pad_service, 0.0) / (life.friction_new - life.pad_service)
        loss = 2.0 * outlook.usual * share
        if now - loss < life.minimum:
            text = f"{_shown(reading)}: the present pads take about {_mm(loss)} more from both faces"
            text = f"{text}, and it would pass its minimum of {_mm(life.minimum)} ({outlook.status})"
            evidence.add(place, "sign:rotor ends before its pads", text)
    needed = life.minimum + outlook.margin
    if now - 2.0 * outlook.high >= needed:
        return
    surely = now - 2.0 * outlook.usual < needed
    text = (
        f"{_shown(reading)}: new pads take about {_mm(2.0 * (outlook.usual if surely else outlook.high))} "
        f"from both faces{'' if surely else ' where grit, hard pads or heat wear the rotor'}, "
        f"and it must keep {_mm(needed)} ({outlook.status})"
    )
    evidence.add(place, f"sign:rotor {'ends' if surely else 'may end'} before the new pads", text)


def _mm(length: float) -> str:
    return format_quantity(length, "mm", 1)


def _compare_markings(evidence: Evidence, inspection: Inspection, axle: str) -> None:
    """Compare what is printed on chambers and pads at the two ends of an axle."""
    for name, sign, label in (
        ("chamber_size", "chamber sizes differ", "chambers marked"),
        ("pad_part", "pad parts differ", "pads marked"),
    ):
        marks = []
        for end in evidence.axles[axle]:
            taken = inspection.wheel_end(WheelEndPlace.parse(end))
            mark = taken.word(name).strip() if taken is not None else ""
            marks.append(mark)
        if len(marks) == 2 and all(marks) and marks[0].casefold() != marks[1].casefold():
            for end in evidence.axles[axle]:
                evidence.add(end, f"sign:{sign}", f"{label} {marks[0]} left and {marks[1]} right")


def _add_words_of_people(
    evidence: Evidence, taken: WheelEnd, fields: Mapping[str, FieldSpec], choice: JobChoice
) -> None:
    place = str(taken.place)
    _add_observed(evidence, place, taken.readings, fields)
    for noticed in taken.noticed:
        phrase = noticed.strip().lower()
        for word in (phrase, *phrase.split()):
            evidence.add(place, f"noticed={word}", f"noticed: {phrase}")
    note = taken.note.lower()
    for entry in choice.note_words:
        word = next((word for word in entry.words if _says(note, word)), "")
        if word:
            evidence.add(place, f"note:{entry.sign}", f"the note says '{word}'")


def _says(note: str, words: str) -> bool:
    """Whether a note says some words without denying them."""
    for match in re.finditer(rf"\b{re.escape(words)}\b", note):
        if not any(note[: match.start()].endswith(denial) for denial in _DENIALS):
            return True
    return False


def _add_observed(
    evidence: Evidence,
    place: str,
    readings: Mapping[ReadingKey, Reading],
    fields: Mapping[str, FieldSpec],
) -> None:
    for (name, _), reading in readings.items():
        spec = fields.get(name)
        if isinstance(reading, Observed) and spec is not None and spec.words:
            sign = f"{name}={reading.word}"
            if sign not in evidence.signs.get(place, {}):
                evidence.add(place, sign, f"{spec.label}: {reading.word}")


def _add_axles_and_vehicle(
    evidence: Evidence, inspection: Inspection, judgement: Judgement, fields: Mapping[str, FieldSpec]
) -> None:
    for axle in judgement.axles:
        for finding in axle.findings:
            _add_finding(evidence, finding, ())
    for finding in judgement.findings:
        _add_finding(evidence, finding, judgement.vehicle_readings)
    for reading in judgement.vehicle_readings:
        if reading.word:
            evidence.add(VEHICLE, f"{reading.check}={reading.word}", f"{reading.label}: {reading.word}")
    _add_observed(evidence, VEHICLE, inspection.vehicle_readings, fields)
    if inspection.vehicle.retarder == "not fitted":
        evidence.add(VEHICLE, "retarder not fitted")
    if inspection.next_wheels_off is not None:
        evidence.add(VEHICLE, "next removal stated")
