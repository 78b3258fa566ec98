"""Lengths that a person says were typed in inches: converted, with what was typed kept beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from wearline.catalogue.loading import Catalogue
from wearline.errors import ReadingError
from wearline.records.inspection import Inspection, WheelEnd
from wearline.records.notices import Notice
from wearline.records.place import WheelEndPlace
from wearline.records.readings import Measured, Reading, ReadingKey

__all__ = ["reread_as_inches"]

_FIELDS = ("pad_inner", "pad_outer", "tangential_play", "radial_play")
_INCH = 25.4


def reread_as_inches(inspection: Inspection, places: Sequence[str], catalogue: Catalogue) -> Inspection:
    """Read the pad corners and plays of some wheel ends as inches instead of millimetres.

    Parameters
    ----------
    inspection : Inspection
        The inspection as typed.
    places : sequence of str
        Wheel ends, as ``"1R"``.
    catalogue : Catalogue
        For what is physically possible.

    Returns
    -------
    Inspection
        With the lengths multiplied by 25.4, the text as typed kept, and a notice for each wheel end.

    Raises
    ------
    ReadingError
        If a wheel end was not measured, or a length becomes impossible.
    """
    wanted = {str(WheelEndPlace.parse(place)) for place in places}
    known = {str(wheel_end.place) for wheel_end in inspection.wheel_ends}
    if wanted - known:
        raise ReadingError(
            f"the inspection has no wheel end {', '.join(sorted(wanted - known))}",
            allowed=", ".join(sorted(known)),
            cure="Name wheel ends of this inspection after --inches",
        )
    notices = list(inspection.notices)
    ends = []
    for wheel_end in inspection.wheel_ends:
        name = str(wheel_end.place)
        if name not in wanted:
            ends.append(wheel_end)
            continue
        ends.append(_in_inches(wheel_end, catalogue))
        notices.append(
            Notice(
                code="read as inches",
                text=f"pad corners and play of {name} were typed in mm and are read as inches, as asked",
                where=name,
                cure="Correct the file so that the unit stands beside the number",
            )
        )
    return replace(inspection, wheel_ends=tuple(ends), notices=tuple(notices))


def _in_inches(wheel_end: WheelEnd, catalogue: Catalogue) -> WheelEnd:
    readings: dict[ReadingKey, Reading] = {}
    for key, reading in wheel_end.readings.items():
        if key[0] in _FIELDS and isinstance(reading, Measured) and reading.unit == "mm":
            readings[key] = _converted(reading, key, str(wheel_end.place), catalogue)
        else:
            readings[key] = reading
    return replace(wheel_end, readings=readings)


def _converted(reading: Measured, key: ReadingKey, place: str, catalogue: Catalogue) -> Measured:
    value = reading.value * _INCH
    spec = catalogue.fields[key[0]]
    if spec.possible is not None and not spec.possible[0] <= value <= spec.possible[1]:
        raise ReadingError(
            f"{spec.label} {reading.raw} read as inches is {1000 * value:.1f} mm",
            where=f"{place}, {key[0]} {key[1]}".strip(),
            allowed=spec.possible_text,
            cure="This reading was not typed in inches: correct the file instead",
        )
    return replace(
        reading,
        value=value,
        unit="in",
        resolution=reading.resolution * _INCH,
        repeats=tuple(repeat * _INCH for repeat in reading.repeats),
    )
