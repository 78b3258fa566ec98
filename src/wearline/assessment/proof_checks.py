"""The single comparisons behind a proof: travel, adjuster, drag, forces, temperature, old faults."""

from __future__ import annotations

import math
from dataclasses import dataclass

from wearline.assessment.judge import Judged
from wearline.assessment.proof_results import Evidence
from wearline.assessment.results import JudgedReading, Judgement, Verdict
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.release import load_release_rules
from wearline.records.inspection import Inspection, WheelEnd
from wearline.records.place import WheelEndPlace
from wearline.uncertainty.normal import normal_distribution
from wearline.units import format_quantity

__all__ = [
    "Session",
    "adjuster_evidence",
    "drag_evidence",
    "faults_evidence",
    "imbalance_evidence",
    "partial_evidence",
    "temperature_evidence",
    "travel_evidence",
]

CONFIDENCE = 0.95

_OWN_EVIDENCE = (
    "total_travel",
    "adjuster_test",
    "brake_force",
    "force_",
    "brake_drag",
    "drag_share",
    "imbalance",
    "temperature",
)
"""Beginnings of the names of checks that have an evidence of their own."""


@dataclass(frozen=True, slots=True)
class Session:
    """One of the two inspections, judged.

    Parameters
    ----------
    inspection : Inspection
        What was taken.
    judgement : Judgement
        Its judgement.
    judged : Judged
        The same as columns.
    catalogue : Catalogue
        Limits.
    """

    inspection: Inspection
    judgement: Judgement
    judged: Judged
    catalogue: Catalogue

    def row(self, place: str) -> int:
        """Return the row of a wheel end in the columns.

        Parameters
        ----------
        place : str
            Wheel end.

        Returns
        -------
        int
            Its row.
        """
        return list(self.judged.columns.places).index(place)

    def number(self, place: str, name: str) -> float | None:
        """Return a reading, or None.

        Parameters
        ----------
        place, name : str
            Wheel end and field.

        Returns
        -------
        float or None
            The reading [SI].
        """
        value = float(self.judged.columns.value(name)[self.row(place)])
        return None if math.isnan(value) else value

    def u(self, place: str, name: str) -> float:
        """Return the standard uncertainty of a reading.

        Parameters
        ----------
        place, name : str
            Wheel end and field.

        Returns
        -------
        float
            Standard uncertainty [SI]; 0 where there is none.
        """
        value = float(self.judged.columns.uncertainty(name)[self.row(place)])
        return 0.0 if math.isnan(value) else value

    def limit(self, place: str, id: str) -> float:
        """Return a limit in force at a wheel end.

        Parameters
        ----------
        place, id : str
            Wheel end and limit.

        Returns
        -------
        float
            Its value [SI].
        """
        design = self.inspection.vehicle.axle(place[:-1]).design
        return self.catalogue.limits_for(design, self.inspection.taken_on)[id].value

    def taken(self, place: str) -> WheelEnd | None:
        """Return what was taken at a wheel end.

        Parameters
        ----------
        place : str
            Wheel end.

        Returns
        -------
        WheelEnd or None
            None if nothing was.
        """
        return self.inspection.wheel_end(WheelEndPlace.parse(place))

    def word(self, place: str, name: str) -> str:
        """Return the word observed for a field.

        Parameters
        ----------
        place, name : str
            Wheel end and field.

        Returns
        -------
        str
            Empty if not observed.
        """
        end = self.taken(place)
        return "" if end is None else end.word(name)

    def reading(self, place: str, check: str, spot: str = "") -> JudgedReading | None:
        """Return the judged reading of a check.

        Parameters
        ----------
        place, check, spot : str
            Wheel end, check and spot.

        Returns
        -------
        JudgedReading or None
            None if not taken.
        """
        return self.judgement.wheel_end(place).reading(check, spot)

    def imbalance(self, axle: str) -> tuple[float, float] | None:
        """Return the imbalance of an axle with its standard uncertainty.

        Parameters
        ----------
        axle : str
            Axle id.

        Returns
        -------
        (float, float) or None
            None where an end has no force [1].
        """
        row = self.row(axle + "L")
        value = float(self.judged.derived.imbalance[row])
        return None if math.isnan(value) else (value, float(self.judged.derived.u_imbalance[row]))

    def copied_temperatures(self, other: Session) -> bool:
        """Say whether all temperatures are written as in the other inspection, to the letter.

        Parameters
        ----------
        other : Session
            The other inspection.

        Returns
        -------
        bool
            True with two temperatures or more, all alike: nobody reads the same twice at every end.
        """
        pairs = []
        for place in self.judged.columns.places:
            own, theirs = self.taken(place), other.taken(place)
            one = own.measured("temperature") if own is not None else None
            two = theirs.measured("temperature") if theirs is not None else None
            if one is not None:
                pairs.append(two is not None and one.raw == two.raw)
        return len(pairs) > 1 and all(pairs)


def mate_of(place: str) -> str:
    """Return the other end of the axle.

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


def _below(value: float, limit: float, u: float) -> float:
    return float(normal_distribution((limit - value) / u)) if u > 0.0 else float(value <= limit * (1 + 1e-9))


def imbalance_evidence(after: Session, place: str, *, worked: bool) -> list[Evidence]:
    """Hold the forces of both ends after the job against one another.

    Parameters
    ----------
    after : Session
        As left.
    place : str
        Wheel end.
    worked : bool
        Whether the axle was worked on: then the workshop's aim is asked for, else the rule.

    Returns
    -------
    list of Evidence
        Empty where an end has no force.
    """
    found = after.imbalance(place[:-1])
    if found is None:
        return []
    value, u = found
    limit = after.limit(place, "imb_aim" if worked else "imb")
    name = "workshop's aim" if worked else "rule"
    text = f"imbalance of the axle {100.0 * value:.1f} %, {name} {100.0 * limit:.0f} %"
    return [Evidence("imbalance", text, value <= limit * (1.0 + 1e-9), _below(value, limit, u))]


def travel_evidence(before: Session, after: Session, place: str, *, worked: bool) -> list[Evidence]:
    """Hold the total travel after the job against its limits and the other end.

    Parameters
    ----------
    before, after : Session
        The inspections.
    place : str
        Wheel end.
    worked : bool
        Whether the axle was worked on: then the travel must have been taken.

    Returns
    -------
    list of Evidence
        Travel within its limits, and alike at both ends.
    """
    reading = after.reading(place, "total_travel")
    if reading is None or reading.value is None:
        was = before.reading(place, "total_travel")
        text = "the total travel was not taken after the job"
        return [Evidence("travel", text, None)] if worked or was is not None else []
    text = f"total travel {format_quantity(reading.value, 'mm', 2)}"
    earlier = before.number(place, "total_travel")
    if earlier is not None:
        text += f", as found {format_quantity(earlier, 'mm', 2)}"
    probability = reading.p_within
    worse = 0.0
    was = before.reading(place, "total_travel")
    if was is not None and was.verdict is Verdict.WITHIN and reading.verdict is Verdict.BEYOND:
        worse = 1.0 - (probability or 0.0)
    fine = reading.verdict is Verdict.WITHIN
    found = [
        Evidence("travel", text, fine, probability if probability is not None else float(fine), worse=worse)
    ]
    other = after.number(mate_of(place), "total_travel")
    if worked and other is not None:
        limit = after.limit(place, "cl_proof_difference")
        u = math.hypot(after.u(place, "total_travel"), after.u(mate_of(place), "total_travel"))
        difference = abs(reading.value - other)
        within = (
            float(
                normal_distribution((limit - difference) / u) - normal_distribution((-limit - difference) / u)
            )
            if u > 0.0
            else float(difference <= limit)
        )
        text = f"travel of the two ends differs by {format_quantity(difference, 'mm', 2)}"
        agrees = difference <= limit * (1.0 + 1e-9)
        found.append(Evidence("travel of both ends", text, agrees, within, decides=not agrees))
    return found


def adjuster_evidence(before: Session, after: Session, place: str) -> list[Evidence]:
    """Say whether the adjuster advances and holds after the job.

    Parameters
    ----------
    before, after : Session
        The inspections.
    place : str
        Wheel end.

    Returns
    -------
    list of Evidence
        Needed where the adjuster was at fault.
    """
    word, was = after.word(place, "adjuster_test"), before.word(place, "adjuster_test")
    faulty = was not in ("", "advances and holds")
    if not word:
        text = "the adjuster was not tested after the job"
        return [Evidence("adjuster", text, None, decides=faulty)] if faulty or was else []
    fine = word == "advances and holds"
    worse = 1.0 if not fine and was == "advances and holds" else 0.0
    return [
        Evidence("adjuster", f"adjuster {word}" + (f", as found: {was}" if was else ""), fine, worse=worse)
    ]


def drag_evidence(before: Session, after: Session, place: str) -> list[Evidence]:
    """Hold the drag on the roller after the job against its share of the wheel load.

    Parameters
    ----------
    before, after : Session
        The inspections.
    place : str
        Wheel end.

    Returns
    -------
    list of Evidence
        Empty where no drag was measured after the job, unless the brake had dragged.
    """
    share = float(after.judged.derived.drag_share[after.row(place)])
    dragged = any(f.id.startswith("brake:drags") for f in before.judgement.wheel_end(place).findings)
    if math.isnan(share):
        text = "the brake dragged as found, and its drag was not measured after the job"
        return [Evidence("drag", text, None)] if dragged else []
    limit = after.limit(place, "bind_share")
    u = float(after.judged.derived.u_drag_share[after.row(place)])
    text = f"drag {100.0 * share:.1f} % of the wheel load, at most {100.0 * limit:.0f} %"
    return [Evidence("drag", text, share <= limit * (1.0 + 1e-9), _below(share, limit, u))]


def partial_evidence(after: Session, place: str) -> list[Evidence]:
    """Hold the forces at 2 and 4 bar against the other end, and the swing against the force.

    Parameters
    ----------
    after : Session
        As left.
    place : str
        Wheel end.

    Returns
    -------
    list of Evidence
        What was taken.
    """
    found = []
    for name, words in (("brake_force_2bar", "2 bar"), ("brake_force_4bar", "4 bar")):
        own, other = after.number(place, name), after.number(mate_of(place), name)
        if own is None or other is None or max(own, other) <= 0.0:
            continue
        share = abs(own - other) / max(own, other)
        limit = after.limit(place, "force_mate_partial")
        u = (1.0 - share) * math.hypot(
            after.u(place, name) / max(own, 1.0), after.u(mate_of(place), name) / max(other, 1.0)
        )
        text = f"at {words} the ends differ by {100.0 * share:.0f} %, at most {100.0 * limit:.0f} %"
        found.append(
            Evidence("force at part pressure", text, share <= limit * (1.0 + 1e-9), _below(share, limit, u))
        )
    swing, force = after.number(place, "brake_force_swing"), after.number(place, "brake_force")
    if swing is not None and force:
        limit = after.limit(place, "force_swing")
        text = f"swing per turn {100.0 * swing / force:.0f} % of the force, at most {100.0 * limit:.0f} %"
        u = after.u(place, "brake_force_swing") / force
        fine = swing / force <= limit * (1.0 + 1e-9)
        found.append(Evidence("swing", text, fine, _below(swing / force, limit, u)))
    return found


def temperature_evidence(before: Session, after: Session, place: str) -> list[Evidence]:
    """Hold the temperature after a run against the vehicle-normal and the other end.

    Parameters
    ----------
    before, after : Session
        The inspections; temperatures that are copied from the first count for nothing.
    place : str
        Wheel end.

    Returns
    -------
    list of Evidence
        Empty where it was not taken anew.
    """
    own = after.number(place, "temperature")
    if own is None or after.copied_temperatures(before):
        return []
    found = []
    normal = float(after.judged.derived.temperature_normal[after.row(place)])
    air = load_release_rules().number("ambient")
    if not math.isnan(normal) and normal > air:
        ratio = (own - air) / (normal - air)
        low, high = after.limit(place, "temp_proof_low"), after.limit(place, "temp_proof_high")
        text = (
            f"temperature {format_quantity(own, 'degC', 0)}, {ratio:.2f} of the vehicle-normal rise, "
            f"{low:.1f} to {high:.1f} is expected"
        )
        found.append(Evidence("temperature", text, low <= ratio <= high))
    other = after.number(mate_of(place), "temperature")
    if other is not None:
        limit = after.limit(place, "temp_proof_mate")
        text = f"temperature {abs(own - other):.0f} K from the other end, at most {limit:.0f} K"
        found.append(Evidence("temperature", text, abs(own - other) <= limit * (1.0 + 1e-9)))
    return found


def faults_evidence(before: Session, after: Session, place: str) -> list[Evidence]:
    """Say which readings were beyond a limit and still are, and which are only now.

    Parameters
    ----------
    before, after : Session
        The inspections.
    place : str
        Wheel end.

    Returns
    -------
    list of Evidence
        One for each such reading; a limit that only asks for a note does not count.
    """
    found = []
    for reading in after.judgement.wheel_end(place).readings:
        if reading.verdict is not Verdict.BEYOND or reading.check.startswith(_OWN_EVIDENCE):
            continue
        if reading.limit is not None and reading.limit.consequence == "note":
            continue
        was = before.reading(place, reading.check, reading.spot)
        shown = reading.word or (
            "" if reading.value is None else format_quantity(reading.value, reading.unit or "%", 2)
        )
        if was is not None and was.verdict is Verdict.WITHIN:
            worse = 1.0 if reading.p_within is None else 1.0 - reading.p_within
            text = f"{reading.label}: {shown}, within its limit as found"
            found.append(Evidence(reading.check, text, False, worse=worse))
        else:
            found.append(Evidence(reading.check, f"{reading.label}: {shown}, still beyond its limit", False))
    return found
