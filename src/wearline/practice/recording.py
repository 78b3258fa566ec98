"""How the readings of an inspection were taken: which checks, which units, which slips of the pen."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Literal

from wearline.errors import ReadingError

if TYPE_CHECKING:
    from wearline.catalogue.loading import Catalogue

__all__ = ["MISREADINGS", "USUAL_FIELDS", "Misreading", "Recording", "Scope", "UnitStyle", "fields_in"]

MISREADINGS = (
    "inches as millimetres",
    "inner and outer swapped",
    "ends swapped",
    "sides swapped",
    "plate counted in",
    "indicator step misread",
    "pads changed without record",
)
"""Slips that a recording may contain."""

UnitStyle = Literal["metric", "inch"]

USUAL_FIELDS = frozenset(
    {
        "wear_indicator",
        "brake_force",
        "brake_drag",
        "temperature",
        "total_travel",
        "adjuster_test",
        "pad_inner",
        "pad_outer",
        "pad_freedom",
        "abutment_faces_caught",
        "slide",
        "tangential_play",
        "radial_play",
        "guide_pin_boot",
        "tappet_boot",
        "rotor_thickness",
        "rotor_thickness_variation",
        "rotor_runout",
        "rotor_crack_length",
        "rotor_scoring",
        "bearing_end_play",
    }
)
"""What most workshops write down with the wheels off."""


class Scope(Enum):
    """Which checks were taken."""

    COMPLETE = "complete"
    USUAL = "usual"
    WHEELS_ON = "wheels on"


@dataclass(frozen=True, slots=True)
class Misreading:
    """One slip of the person who wrote the readings down.

    Parameters
    ----------
    kind : str
        One of ``MISREADINGS``.
    where : str, optional
        Wheel end; empty for a slip about the whole vehicle, or to have the end drawn.

    Raises
    ------
    ReadingError
        If the kind is unknown.
    """

    kind: str
    where: str = ""

    def __post_init__(self) -> None:
        if self.kind not in MISREADINGS:
            raise ReadingError(
                f"{self.kind!r} is no misreading that the simulator knows",
                allowed=", ".join(MISREADINGS),
                cure="Choose one of these",
            )


@dataclass(frozen=True, slots=True)
class Recording:
    """How an inspection is written down.

    Parameters
    ----------
    scope : Scope, optional
        Which checks were taken.
    units : {"metric", "inch"}, optional
        Units in which the person writes.
    misreadings : tuple of Misreading, optional
        Slips.
    skipped : float, [1], 0 to 0.9, optional
        Share of the readings that nobody took.
    inspector : str, optional
        Who took them; no real person.
    rule_packs : tuple of str, optional
        Rule packs asked for.
    note : str, optional
        Put before the note of the inspection.

    Raises
    ------
    ReadingError
        If the share of skipped readings is outside its range.
    """

    scope: Scope = Scope.COMPLETE
    units: UnitStyle = "metric"
    misreadings: tuple[Misreading, ...] = ()
    skipped: float = 0.0
    inspector: str = ""
    rule_packs: tuple[str, ...] = ("none",)
    note: str = ""

    def __post_init__(self) -> None:
        if not 0.0 <= self.skipped <= 0.9:
            raise ReadingError(
                f"{self.skipped:g} of the readings are to be skipped",
                allowed="0 to 0.9",
                cure="0.1 leaves out every tenth reading",
            )


def fields_in(scope: Scope, catalogue: Catalogue) -> frozenset[str]:
    """Return the fields that a scope covers.

    Parameters
    ----------
    scope : Scope
        The scope.
    catalogue : Catalogue
        Knows which check gives which field.

    Returns
    -------
    frozenset of str
        Names of fields of wheel ends and of the vehicle.
    """
    if scope is Scope.USUAL:
        return USUAL_FIELDS
    fields = catalogue.fields.values()
    if scope is Scope.COMPLETE:
        return frozenset(spec.name for spec in fields)
    return frozenset(spec.name for spec in fields if any(check.startswith("W") for check in spec.checks))
