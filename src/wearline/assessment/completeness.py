"""Which checks of a complete inspection are missing at a wheel end."""

from __future__ import annotations

from wearline.catalogue.loading import Catalogue
from wearline.records.inspection import Inspection
from wearline.records.readings import Unmeasurable

__all__ = ["KEY_FIELDS", "is_done", "not_taken", "unproven"]

KEY_FIELDS = (
    "pad_inner",
    "pad_outer",
    "total_travel",
    "adjuster_test",
    "slide",
    "guide_pin_boot",
    "tappet_boot",
    "pad_freedom",
    "rotor_thickness",
    "rotor_crack_length",
)
"""Without these nobody can say that a brake applies, releases and lasts."""

_ALTERNATIVES = {
    "rotor_crack_length": ("rotor_crack",),
    "rotor_crack": ("rotor_crack_length",),
    "wear_electronic": ("wear_indicator",),
    "visible_friction": ("pad_inner", "pad_outer"),
    "rotor_view": ("rotor_crack", "rotor_crack_length"),
    "caps_seen": ("stem_cap", "guide_caps"),
    "pad_part": ("pad_identity",),
    "chamber_size": ("chamber_fixing",),
    "first_look": ("pad_condition",),
    "rotor_crack_width": ("rotor_crack", "rotor_crack_length"),
    "free_turning": ("brake_drag",),
    "chamber_stroke": ("total_travel",),
    "rotor_bridge_gap": ("radial_play",),
}
"""A check on the left is not missing where one on the right was taken."""

_OPTIONAL = frozenset(
    {
        "wheel_load",
        "brake_force_2bar",
        "brake_force_4bar",
        "brake_force_swing",
        "parking_force",
        "pressure_threshold",
        "adjuster_torque",
        "fastener_torque",
        "guide_clearance",
        "hub_face_runout",
        "chamber_stroke",
        "rotor_crack_width",
        "wear_electronic",
        "sensor_gap",
    }
)
"""Asked for by a finding or a job, not by every inspection."""


def not_taken(inspection: Inspection, place: str, catalogue: Catalogue) -> tuple[str, ...]:
    """Return the fields of a complete inspection that have no reading at a wheel end.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    place : str
        Wheel end.
    catalogue : Catalogue
        Fields and checks.

    Returns
    -------
    tuple of str
        Field names in the order of the catalogue. A check that was tried and could not be taken counts as
        missing; one that another reading makes superfluous does not.
    """
    taken = _taken(inspection, place)
    missing = []
    for name, spec in catalogue.fields.items():
        if spec.vehicle_level or name in _OPTIONAL or name in taken:
            continue
        if any(other in taken for other in _ALTERNATIVES.get(name, ())):
            continue
        missing.append(name)
    return tuple(missing)


def unproven(inspection: Inspection, place: str) -> tuple[str, ...]:
    """Return the key fields without which nothing is proven at a wheel end.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    place : str
        Wheel end.

    Returns
    -------
    tuple of str
        Those of ``KEY_FIELDS`` that were not taken.
    """
    taken = _taken(inspection, place)
    return tuple(
        name
        for name in KEY_FIELDS
        if name not in taken and not any(other in taken for other in _ALTERNATIVES.get(name, ()))
    )


def is_done(fields: tuple[str, ...], inspection: Inspection, place: str) -> bool:
    """Return whether a check was done at a wheel end.

    Parameters
    ----------
    fields : tuple of str
        Fields of the check.
    inspection : Inspection
        The inspection.
    place : str
        Wheel end.

    Returns
    -------
    bool
        True where something of it was taken and nothing but what is optional is missing.
    """
    taken = _taken(inspection, place)
    missing = [
        name
        for name in fields
        if name not in taken
        and name not in _OPTIONAL
        and not any(other in taken for other in _ALTERNATIVES.get(name, ()))
    ]
    return not missing and any(name in taken for name in fields)


def _taken(inspection: Inspection, place: str) -> set[str]:
    for wheel_end in inspection.wheel_ends:
        if str(wheel_end.place) == place:
            return {
                key[0] for key, reading in wheel_end.readings.items() if not isinstance(reading, Unmeasurable)
            }
    return set()
