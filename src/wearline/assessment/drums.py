"""Words found at drum brakes: nobody judges the drum here, yet a loose wheel is a loose wheel."""

from __future__ import annotations

from wearline.assessment.results import Finding
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import Meaning
from wearline.records.inspection import Inspection
from wearline.records.readings import Observed

__all__ = ["drum_findings"]

_WEIGHTS = {Meaning.FAULT: "fault", Meaning.LOOK: "look"}


def drum_findings(inspection: Inspection, catalogue: Catalogue) -> tuple[Finding, ...]:
    """Return the faults that were put in words at wheel ends without a disc brake.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    catalogue : Catalogue
        What the words mean.

    Returns
    -------
    tuple of Finding
        One for each word that means a fault or asks for a look; good words prove nothing about a drum.
    """
    found = []
    for end in inspection.wheel_ends:
        place = str(end.place)
        if inspection.vehicle.axle(end.place.axle).brake == "air disc":
            continue
        for (name, _), reading in end.readings.items():
            if not isinstance(reading, Observed):
                continue
            spec = catalogue.fields[name]
            weight = _WEIGHTS.get(spec.words.get(reading.word, Meaning.GOOD))
            if weight is not None:
                text = f"{place}: {spec.label}: {reading.word}"
                found.append(Finding(f"{name}={reading.word}", place, text, name, weight=weight))
    return tuple(found)
