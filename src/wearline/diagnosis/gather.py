"""From inspections to what the sums need: columns, words, circumstances."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from wearline.assessment.judge import Judged
from wearline.catalogue.cause_model import Multiplier
from wearline.diagnosis.network import VEHICLE_CAUSES, Compiled
from wearline.diagnosis.observe import Heard
from wearline.diagnosis.whole import Circumstances, circumstances
from wearline.records.inspection import Axle, Inspection
from wearline.records.readings import Observed as ObservedWord

__all__ = ["circumstances_of", "heard_in", "multipliers_of"]

_RECENT = 10_000e3
_OLD = 800_000e3
_WORDS = {
    "salt": ("salt", "coast", "gritting"),
    "off road": ("off-road", "off road", "quarry", "construction", "mining", "tipper", "logging"),
    "city bus": ("city bus",),
}


def heard_in(inspections: Sequence[Inspection]) -> Heard:
    """Return the words and notes beside the readings, row by row as the columns stand.

    Parameters
    ----------
    inspections : sequence of Inspection
        The inspections.

    Returns
    -------
    Heard
        One entry for each disc-braked wheel end.
    """
    noticed: list[tuple[str, ...]] = []
    notes, sizes = [], []
    for inspection in inspections:
        ends = {str(end.place): end for end in inspection.wheel_ends}
        for axle in _disc_axles(inspection):
            for side in ("L", "R"):
                end = ends.get(axle.id + side)
                noticed.append(() if end is None else end.noticed)
                notes.append("" if end is None else end.note)
                sizes.append("" if end is None else end.word("chamber_size"))
    return Heard(noticed, notes, sizes)


def _disc_axles(inspection: Inspection) -> list[Axle]:
    return [axle for axle in inspection.vehicle.axles if axle.brake == "air disc"]


def multipliers_of(
    inspection: Inspection, multipliers: Sequence[Multiplier]
) -> dict[str, tuple[Multiplier, ...]]:
    """Return what is known before any reading that makes causes more likely, by axle.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    multipliers : sequence of Multiplier
        All multipliers of the network.

    Returns
    -------
    dict of str to tuple of Multiplier
        Axle id to those that hold there.
    """
    vehicle = inspection.vehicle
    text = f"{vehicle.duty} {vehicle.description}".lower()
    true = {when for when, words in _WORDS.items() if any(word in text for word in words)}
    odometer = inspection.odometer
    if odometer is not None and odometer > _OLD:
        true.add("old")
    found = {}
    for axle in _disc_axles(inspection):
        here = true | ({"trailer"} if axle.role == "trailer" or "trailer" in vehicle.kind else set())
        since = inspection.run_of_pads(axle.id)
        if since is not None and since < _RECENT:
            here = here | {"recent work"}
        found[axle.id] = tuple(one for one in multipliers if one.when in here)
    return found


def circumstances_of(inspections: Sequence[Inspection], judged: Judged, compiled: Compiled) -> Circumstances:
    """Return who stands beside whom, priors and what was seen of the vehicles.

    Parameters
    ----------
    inspections : sequence of Inspection
        The inspections in the order of the columns' vehicles.
    judged : Judged
        Their columns.
    compiled : Compiled
        The network.

    Returns
    -------
    Circumstances
        For ``infer``.
    """
    columns = judged.columns
    items = compiled.items
    factors = np.ones((columns.n, len(items)))
    of_vehicle = np.ones((len(inspections), len(VEHICLE_CAUSES)))
    seen = {id: np.full(len(inspections), np.nan) for id, w in compiled.network.wholes.items() if w.bad}
    row = 0
    for number, inspection in enumerate(inspections):
        known = multipliers_of(inspection, compiled.network.multipliers)
        for axle in _disc_axles(inspection):
            for one in known[axle.id]:
                hit = np.array([code in one.causes for code, _ in items])
                factors[row : row + 2, hit] *= one.factor
            if axle.role == "steer":
                # a steered axle has no spring brake
                factors[row : row + 2, [code == "V2" for code, _ in items]] = 1e-6
            row += 2
        for one in {each.id: each for axle in known.values() for each in axle}.values():
            for code in set(one.causes) & set(VEHICLE_CAUSES):
                of_vehicle[number, VEHICLE_CAUSES.index(code)] *= one.factor
        if inspection.vehicle.retarder == "not fitted":
            of_vehicle[number, VEHICLE_CAUSES.index("U2")] = 0.0
        for id in seen:
            seen[id][number] = _seen(
                inspection, compiled.network.wholes[id].bad, compiled.network.wholes[id].good
            )
    return circumstances(compiled, columns.mate, columns.vehicle, factors, of_vehicle, seen)


def _seen(
    inspection: Inspection, bad: Mapping[str, tuple[str, ...]], good: Mapping[str, tuple[str, ...]]
) -> float:
    for answer, fields in ((1.0, bad), (0.0, good)):
        for field, words in fields.items():
            reading = inspection.vehicle_readings.get((field, ""))
            if isinstance(reading, ObservedWord) and reading.word in words:
                return answer
    return float("nan")
