"""Which gates of a planned job the inspection after it closes, and which stay open.

A gate that a reading can show is closed by that reading at every end it speaks of. A gate that no reading
shows stays open here: the signed work sheet closes it, never this program.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wearline.assessment.proof_results import Proof, Restored
from wearline.assessment.results import JudgedReading, Judgement, Verdict
from wearline.planning.results import JobPlan, JobStep

__all__ = ["OpenGate", "open_gates"]


@dataclass(frozen=True, slots=True)
class OpenGate:
    """A gate that is not shown to be passed.

    Parameters
    ----------
    gate : str
        Its number on the spine, or the name of its step.
    at : str
        Wheel end, axle, or empty for the vehicle.
    text : str
        The sentence that must be true.
    because : str
        What is missing or fails.
    kind : {"reading", "proof", "signature"}
        What closes it: readings, the proof itself, or a signature on the work sheet.
    """

    gate: str
    at: str
    text: str
    because: str
    kind: str


_TRAVEL = ("total_travel", "free_turning")
_ADJUSTER = ("adjuster_test",)
_READINGS: Mapping[str, tuple[str, ...]] = {
    "9": ("pad_freedom", "pad_identity"),
    "10": _TRAVEL,
    "11": _ADJUSTER,
    "12": ("stem_cap",),
    "13": ("fastener_torque",),
    "14": ("hose",),
    "16": ("action", "air_leak"),
    "S1.1": ("tangential_play", "radial_play", "slide", "guide_pin_boot", "tappet_boot"),
    "S2.5": ("slide", "guide_pin_boot", "tangential_play", "radial_play"),
    "S3.1": ("tappet_shank",),
    "S3.2": ("tappet_boot",),
    "S3.3": ("tappet_step",),
    "S4.3": ("bearing_end_play",),
    "S4.4": ("rotor_runout",),
    "S5.4": ("total_travel", "adjuster_test"),
    "S6.3": ("slide",),
    "boots": ("guide_pin_boot", "tappet_boot"),
    "rotor look": ("rotor_crack_length",),
    "stem cap": ("stem_cap",),
}
"""Gate to the fields whose readings show it, at each wheel end that the gate speaks of."""

_PROOF, _RELEASE, _LAMPS = "17", "18", "16"


def open_gates(plan: JobPlan, after: Judgement, proof: Proof) -> tuple[OpenGate, ...]:
    """Return the gates of a job that the inspection after it leaves open.

    Parameters
    ----------
    plan : JobPlan
        The job planned from the inspection as found.
    after : Judgement
        The inspection as left.
    proof : Proof
        The two held against one another.

    Returns
    -------
    tuple of OpenGate
        In the order of the work; each gate and place once.
    """
    found: dict[tuple[str, str], OpenGate] = {}
    for job in plan.axles:
        places = tuple(end.place for end in after.wheel_ends if end.place[:-1] == job.axle)
        for step in job.steps:
            if not step.gate:
                continue
            gate = _gate(step, job.axle, places, after, proof)
            if gate is not None:
                found.setdefault((gate.gate, gate.at), gate)
    return tuple(found.values())


def _gate(
    step: JobStep, axle: str, places: tuple[str, ...], after: Judgement, proof: Proof
) -> OpenGate | None:
    number = step.gate_number
    if number == _PROOF:
        return _proof_gate(step, proof)
    if number == _RELEASE:
        return OpenGate(number, "", step.gate, "a person signs, not this program", "signature")
    fields = _READINGS.get(number)
    if fields is None:
        return OpenGate(number, step.at, step.gate, "no reading shows it: the work sheet does", "signature")
    where = (step.at,) if step.at in places else places
    if number == _LAMPS:
        where = tuple(end.place for end in after.wheel_ends)
    because = [text for place in where for text in _missing(after, place, fields)]
    if number == _LAMPS:
        because += _lamps(after)
    if not because:
        return None
    return OpenGate(
        number, step.at or (axle if number != _LAMPS else ""), step.gate, _joined(because), "reading"
    )


def _joined(because: list[str]) -> str:
    shown = because[:4]
    rest = len(because) - len(shown)
    return "; ".join(shown) + (f"; and {rest} more" if rest else "")


def _missing(after: Judgement, place: str, fields: tuple[str, ...]) -> list[str]:
    said = []
    for field in fields:
        readings = [r for r in after.wheel_end(place).readings if r.check == field]
        if not readings or all(r.verdict is Verdict.NOT_TAKEN for r in readings):
            said.append(f"{place}: {field.replace('_', ' ')} not taken")
        elif not all(_good(reading) for reading in readings):
            said.append(f"{place}: {_label(readings)}")
    return said


def _good(reading: JudgedReading) -> bool:
    return reading.verdict is Verdict.WITHIN


def _label(readings: list[JudgedReading]) -> str:
    bad = next(reading for reading in readings if not _good(reading))
    return f"{bad.label} {bad.word or bad.verdict}"


def _lamps(after: Judgement) -> list[str]:
    lamps = [reading for reading in after.vehicle_readings if reading.check == "lamps"]
    if not lamps:
        return ["lamps not looked at"]
    return [] if all(_good(reading) for reading in lamps) else [f"lamps {lamps[0].word}"]


def _proof_gate(step: JobStep, proof: Proof) -> OpenGate | None:
    left = [
        f"{end.place}: {end.restored}" for end in proof.wheel_ends if end.restored is not Restored.RESTORED
    ]
    return OpenGate(_PROOF, "", step.gate, _joined(left), "proof") if left else None
