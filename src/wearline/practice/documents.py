"""Inspection documents: the simulated readings in the form of the inspection file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from wearline.physics.domain import GRAVITY
from wearline.practice.appearance import Appearance, appear
from wearline.practice.gauging import gauged, rounded, texts_of, writing_of
from wearline.practice.looks import GOOD_WORDS, looks, noticed_words, vehicle_words
from wearline.practice.parameters import load_duties
from wearline.practice.recording import Misreading, Recording, fields_in
from wearline.practice.slips import slip_readings

if TYPE_CHECKING:
    from datetime import date

    from wearline.catalogue.loading import Catalogue
    from wearline.catalogue.model import FieldSpec
    from wearline.practice.conditions import Conditions
    from wearline.practice.layout import Floats
    from wearline.practice.simulation import Simulation
    from wearline.practice.specification import VehicleSpec
    from wearline.records.readings import ReadingKey

__all__ = ["Document", "Observation", "Visit", "observe"]

Document: TypeAlias = dict[str, Any]
"""Tables of an inspection file; quantities are texts with their unit."""

_CORNERS = ("LT", "LB", "TT", "TB")
_STUCK_REASON = "the calliper does not move on its pins"
_SERVICE = 3e-3
_SI_PER_MM_10000_KM = 1e-10


@dataclass(frozen=True, slots=True)
class Visit:
    """One vehicle in the workshop.

    Parameters
    ----------
    taken_on : date
        Day of the readings.
    odometer : float, [m]
        Distance on the counter.
    recording : Recording
        How the readings are written down.
    """

    taken_on: date
    odometer: float
    recording: Recording


@dataclass(frozen=True, slots=True)
class Observation:
    """What was written down about one vehicle, and what was true.

    Parameters
    ----------
    document : dict
        The inspection file.
    figures : mapping of str to mapping of (field, spot) to float, [SI]
        True figures by wheel end; checks that cannot be taken are left out.
    words : mapping of str to mapping of str to str
        Words by wheel end and field.
    drag : mapping of str to float, [N m]
        Drag torque of the released warm brake on the road, by wheel end.
    slips : tuple of Misreading
        Slips as they were made, each with its wheel end.
    """

    document: Document
    figures: Mapping[str, Mapping[ReadingKey, float]]
    words: Mapping[str, Mapping[str, str]]
    drag: Mapping[str, float]
    slips: tuple[Misreading, ...]


def observe(simulation: Simulation, catalogue: Catalogue, visits: Sequence[Visit]) -> list[Observation]:
    """Write down the readings of every vehicle at this instant.

    Parameters
    ----------
    simulation : Simulation
        The vehicles.
    catalogue : Catalogue
        Fields with their gauges.
    visits : sequence of Visit
        One for each vehicle.

    Returns
    -------
    list of Observation
        One for each vehicle.
    """
    appearance = appear(simulation)
    words = looks(simulation, appearance)
    noticed = noticed_words(simulation, appearance, words)
    shown, turns = _shown(simulation, appearance, catalogue)
    slips = [_placed(simulation, number, visit) for number, visit in enumerate(visits)]
    for number, made in enumerate(slips):
        for slip in made:
            if slip.where:
                slip_readings(shown, slip, int(simulation.layout.places[number, slip.where][0]), simulation)
    written = _Written(simulation, appearance.now, catalogue, shown, turns, words, noticed)
    return [
        Observation(
            document=_document(written, appearance, number, visit, slips[number]),
            figures=_figures(simulation, appearance, number),
            words={
                str(place): dict(words[int(simulation.layout.places[number, str(place)][0])])
                for place in spec.places
            },
            drag={
                str(place): float(appearance.drag[int(simulation.layout.places[number, str(place)][0])])
                for place in spec.places
            },
            slips=slips[number],
        )
        for number, (visit, spec) in enumerate(zip(visits, simulation.layout.specs, strict=True))
    ]


def _placed(simulation: Simulation, vehicle: int, visit: Visit) -> tuple[Misreading, ...]:
    """Give every slip a wheel end, except those of the whole vehicle."""
    spec = simulation.layout.specs[vehicle]
    made = []
    for slip in visit.recording.misreadings:
        where = slip.where
        if not where and slip.kind != "pads changed without record":
            where = str(spec.places[int(simulation.look_rng.integers(len(spec.places)))])
        made.append(Misreading(slip.kind, where))
    return tuple(made)


def _shown(
    simulation: Simulation, appearance: Appearance, catalogue: Catalogue
) -> tuple[dict[ReadingKey, Floats], Floats]:
    """What the gauges show, and three turns of the run-out dial."""
    rng, layout = simulation.look_rng, simulation.layout
    biases: dict[str, Floats] = {}

    def bias_of(spec: FieldSpec) -> Floats:
        if spec.gauge not in biases:
            biases[spec.gauge] = rng.standard_normal(len(layout.specs))[layout.vehicle]
        return biases[spec.gauge]

    shown: dict[ReadingKey, Floats] = {}
    for key, true in appearance.numbers.items():
        spec = catalogue.fields[key[0]]
        shown[key] = gauged(true, spec, bias_of(spec), rng)
    for pad in ("pad_inner", "pad_outer"):
        for corner in _CORNERS:
            shown[pad, corner] = np.clip(shown[pad, corner], 0.0, 1.045 * layout.dimension["friction_new"])
    runout = catalogue.fields["rotor_runout"]
    return shown, gauged(appearance.repeats, runout, bias_of(runout), rng)


def _figures(
    simulation: Simulation, appearance: Appearance, vehicle: int
) -> dict[str, dict[ReadingKey, float]]:
    layout = simulation.layout
    figures: dict[str, dict[ReadingKey, float]] = {}
    for place in layout.specs[vehicle].places:
        end = int(layout.places[vehicle, str(place)][0])
        values = {key: float(column[end]) for key, column in appearance.numbers.items()}
        figures[str(place)] = {key: value for key, value in values.items() if value == value}
    return figures


class _Written:
    """The readings of all wheel ends as texts, made once for each style of units."""

    def __init__(
        self,
        simulation: Simulation,
        now: Conditions,
        catalogue: Catalogue,
        shown: dict[ReadingKey, Floats],
        turns: Floats,
        words: list[dict[str, str]],
        noticed: list[list[str]],
    ) -> None:
        self.simulation = simulation
        self.types = _chamber_types(simulation, now)
        self.stuck = now["slide_hand"] >= simulation.mechanisms.guidance.stuck_force
        self.catalogue = catalogue
        self.words = words
        self.noticed = noticed
        self._shown = shown
        self._turns = turns
        self._texts: dict[str, dict[ReadingKey, list[str]]] = {}
        self._turn_texts: dict[str, list[list[str]]] = {}
        u = catalogue.fields["rotor_runout"].u
        self.repeatable = (turns.max(axis=0) - turns.min(axis=0)) < 4.0 * u

    def texts(self, style: str) -> dict[ReadingKey, list[str]]:
        """Texts of every reading in a style of units."""
        if style not in self._texts:
            testing = self.simulation.mechanisms.testing
            made: dict[ReadingKey, list[str]] = {}
            for key, column in self._shown.items():
                spec = self.catalogue.fields[key[0]]
                step = testing.guess_step if key[0] == "wear_indicator" else None
                writing = writing_of(spec, "inch" if style == "inch" else "metric", step)
                made[key] = texts_of(rounded(column, spec, writing), writing)
            self._texts[style] = made
            spec = self.catalogue.fields["rotor_runout"]
            writing = writing_of(spec, "inch" if style == "inch" else "metric")
            self._turn_texts[style] = [
                texts_of(rounded(turn, spec, writing), writing) for turn in self._turns
            ]
        return self._texts[style]

    def turns(self, style: str, end: int) -> list[str]:
        """The three turns of the run-out dial at one wheel end."""
        return [turn[end] for turn in self._turn_texts[style]]


def _document(
    written: _Written, appearance: Appearance, vehicle: int, visit: Visit, slips: tuple[Misreading, ...]
) -> Document:
    simulation = written.simulation
    spec = simulation.layout.specs[vehicle]
    fields = fields_in(visit.recording.scope, written.catalogue)
    ends = [int(simulation.layout.places[vehicle, str(place)][0]) for place in spec.places]
    names = _names(spec, slips)
    vehicle_checks = _vehicle_checks(written, appearance, vehicle, visit)
    since = _since_pads(simulation, vehicle, visit, slips)
    together = max(since.values()) - min(since.values()) <= 1
    document: Document = {
        "vehicle": _vehicle_table(spec),
        "axle": [
            _axle_table(axle.id, axle.role, axle.design, axle.wheels)
            | ({} if together else {"km_since_pads": since[axle.id]})
            for axle in spec.axles
        ],
        "inspection": _inspection_table(visit, since, together=together),
        "peer_wear_mm_per_10000_km": _peer_wear(simulation, vehicle),
        "wheel_end": [
            _wheel_end_table(written, name, end, fields, visit.recording)
            for name, end in zip(names, ends, strict=True)
        ],
    }
    checks = {name: value for name, value in vehicle_checks.items() if name in fields and value}
    if checks:
        document["vehicle_checks"] = checks
    return document


def _names(spec: VehicleSpec, slips: tuple[Misreading, ...]) -> list[str]:
    """Wheel ends as the person called them: the sides of an axle may be swapped."""
    names = [str(place) for place in spec.places]
    for slip in slips:
        if slip.kind == "sides swapped":
            first = names.index(f"{slip.where[:-1]}L")
            names[first], names[first + 1] = names[first + 1], names[first]
    return names


def _vehicle_table(spec: VehicleSpec) -> Document:
    table: Document = {
        "id": spec.id,
        "description": spec.description,
        "kind": spec.kind,
        "test_mass_kg": round(spec.test_mass),
        "duty": spec.duty,
        "retarder": spec.retarder,
    }
    return {key: value for key, value in table.items() if value != ""}


def _axle_table(axle: str, role: str, design: str, wheels: str) -> Document:
    table = {"id": axle, "role": role, "design": design, "wheels": wheels}
    return {key: value for key, value in table.items() if value}


def _since_pads(
    simulation: Simulation, vehicle: int, visit: Visit, slips: tuple[Misreading, ...]
) -> dict[str, int]:
    """Kilometres since the pads of each axle were new, as somebody wrote them down."""
    layout, kilometres = simulation.layout, round(visit.odometer / 1e3)
    runs = {
        axle.id: float(simulation.state.run[layout.places[vehicle, axle.id][0]])
        for axle in layout.specs[vehicle].axles
    }
    if any(slip.kind == "pads changed without record" for slip in slips):
        factor = float(simulation.look_rng.uniform(1.8, 2.6))
        runs = {axle: min(run * factor, visit.odometer) for axle, run in runs.items()}
    return {axle: min(round(run / 1e3), kilometres) for axle, run in runs.items()}


def _inspection_table(visit: Visit, since: dict[str, int], *, together: bool) -> Document:
    """Facts of the visit; one distance since the pads only where all axles got them together."""
    parts = [visit.recording.note]
    if not together:
        parts.append(", ".join(f"pads of axle {axle}: {run} km" for axle, run in since.items()) + ".")
    parts.append("Simulated, invented vehicle.")
    table: Document = {
        "taken_on": visit.taken_on,
        "odometer_km": round(visit.odometer / 1e3),
        "km_since_pads": min(since.values()) if together else "",
        "rule_pack": list(visit.recording.rule_packs),
        "inspector": visit.recording.inspector,
        "note": _sentences(parts),
    }
    return {key: value for key, value in table.items() if value != ""}


def _sentences(parts: Sequence[str]) -> str:
    """Parts of a note, each ending like a sentence."""
    return " ".join(part if part.endswith(".") else part + "." for part in parts if part)


def _peer_wear(simulation: Simulation, vehicle: int) -> dict[str, float]:
    """Usual wear of sound brakes on this duty by axle, mm of friction for each 10 000 km."""
    layout = simulation.layout
    spec = layout.specs[vehicle]
    duty = load_duties()[spec.duty]
    peers = {}
    for axle in spec.axles:
        end = int(layout.places[vehicle, axle.id][0])
        life = float(np.sqrt(duty.life[0] * duty.life[1]))
        usable = layout.dimension["friction_new"][end] - _SERVICE
        rate = usable / life * layout.share[end]
        peers[axle.id] = round(float(rate) / _SI_PER_MM_10000_KM, 2)
    return peers


def _wheel_end_table(
    written: _Written, name: str, end: int, fields: frozenset[str], recording: Recording
) -> Document:
    texts = written.texts(recording.units)
    rng = written.simulation.look_rng
    table: Document = {"at": name}
    for field, spec in written.catalogue.fields.items():
        if spec.vehicle_level or field not in fields:
            continue
        if recording.skipped and rng.random() < recording.skipped:
            continue
        value = _value(written, texts, field, end, recording)
        if value not in ("", None):
            table[field] = value
    if written.noticed[end]:
        table["noticed"] = list(written.noticed[end])
    return table


def _value(
    written: _Written, texts: dict[ReadingKey, list[str]], field: str, end: int, recording: Recording
) -> object:
    """What stands in one field of one wheel end; None where there is nothing to write."""
    if field in ("pad_inner", "pad_outer"):
        return [texts[field, corner][end] for corner in _CORNERS]
    if field == "abutment_faces_caught":
        return round(float(texts[field, ""][end].split()[0]))
    if field == "slide" and written.stuck[end]:
        return "stuck"
    if field in ("tangential_play", "radial_play") and not texts[field, ""][end]:
        return f"cannot: {_STUCK_REASON}"
    if field == "rotor_runout" and not written.repeatable[end]:
        return {"readings": written.turns(recording.units, end)}
    if (field, "") in texts:
        return texts[field, ""][end]
    if field == "chamber_size":
        return f"{round(float(written.types[end]))}"
    return written.words[end].get(field) if field in GOOD_WORDS else None


def _chamber_types(simulation: Simulation, now: Conditions) -> Floats:
    """Type numbers on the chambers."""
    types = [axle.chamber_type for spec in simulation.layout.specs for axle in spec.axles for _ in "LR"]
    result: Floats = np.array(types) * now["chamber_share"]
    return result


def _vehicle_checks(written: _Written, appearance: Appearance, vehicle: int, visit: Visit) -> dict[str, str]:
    simulation = written.simulation
    testing, rng = simulation.mechanisms.testing, simulation.look_rng
    ends = simulation.layout.places[vehicle, "vehicle"]
    leak = float(appearance.now["leak"][ends].sum())
    force = float(appearance.numbers["brake_force", ""][ends].sum())
    mass = float(simulation.layout.wheel_load[ends].sum()) / GRAVITY
    figures = {
        "air_loss_released": testing.air_loss * np.exp(0.3 * rng.standard_normal()) + leak,
        "air_loss_applied": testing.air_loss_applied * np.exp(0.3 * rng.standard_normal()) + 1.4 * leak,
        "deceleration": force / mass,
    }
    checks: dict[str, str] = {}
    for field, figure in figures.items():
        spec = written.catalogue.fields[field]
        writing = writing_of(spec, visit.recording.units)
        shown = gauged(np.array([figure]), spec, np.zeros(1), rng)
        checks[field] = texts_of(rounded(shown, spec, writing), writing)[0]
    return checks | vehicle_words(simulation, appearance, written.words, vehicle)
