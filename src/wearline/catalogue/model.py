"""What the catalogue holds: sources, fields, limits and designs.

Checks and consequences are described in ``check_model``, rule packs in ``rule_model`` and the work in
``work_model``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from wearline.uncertainty.rules import Sense
from wearline.units import Kind

__all__ = [
    "Authority",
    "Design",
    "FieldSpec",
    "Finding",
    "Grade",
    "Limit",
    "Meaning",
    "Number",
    "Source",
    "Status",
]


class Grade(StrEnum):
    """How well the text of a source is known."""

    READ = "read"
    TRANSCRIPTION = "transcription"
    MEMORY = "memory"
    NONE = "none"


class Status(StrEnum):
    """What a number may be used for; printed beside it."""

    PUBLISHED = "published"
    COMMON_PRACTICE = "common practice"
    EXPERT_JUDGEMENT = "expert judgement"
    DERIVED = "derived"
    GENERIC = "maker's value decides, generic"
    TRANSCRIPTION = "from a transcription, confirm"
    UNVERIFIED = "unverified"


class Authority(StrEnum):
    """Who stands behind a limit."""

    MAKER = "maker"
    LAW = "law"
    ROADSIDE = "roadside"
    COMMON_PRACTICE = "common practice"
    HOUSE = "house"


class Finding(StrEnum):
    """What a value beyond a limit asks for; ``NOTE`` is shown and never decides."""

    RENEW = "renew"
    LOOK = "look"
    OUT_OF_SERVICE = "out of service"
    NOTE = "note"


class Meaning(StrEnum):
    """What an observed word says; ``UNMEASURABLE`` says nothing, and is never good."""

    GOOD = "good"
    LOOK = "look"
    FAULT = "fault"
    UNMEASURABLE = "unmeasurable"


@dataclass(frozen=True, slots=True)
class Source:
    """Where a number comes from.

    Parameters
    ----------
    key : str
        Key used in the data files and in docstrings.
    title, publisher, section : str
        The document.
    grade : Grade
        How well its text is known.
    status : Status
        Status of every number taken from it.
    show : str
        Wording printed beside a number.
    """

    key: str
    title: str
    publisher: str
    section: str
    grade: Grade
    status: Status
    show: str


@dataclass(frozen=True, slots=True)
class Number:
    """One number with its origin.

    Parameters
    ----------
    value : float
        Value [SI unit].
    exact : Fraction
        The same, exact.
    unit : str
        Unit as published, canonical symbol.
    published : str
        Text as published.
    source, locator : str
        Source key and place in the source.
    status : Status
        What it may be used for.
    """

    value: float
    exact: Fraction
    unit: str
    published: str
    source: str
    locator: str
    status: Status


@dataclass(frozen=True, slots=True)
class FieldSpec:
    """One field of the inspection file.

    Parameters
    ----------
    name : str
        Key in the file.
    label : str
        Words of the trade.
    kind : Kind or None
        Kind of quantity; None for words and free text.
    unit : str
        Unit in which it is shown, canonical symbol; empty without a kind.
    spots : tuple of str
        Places of one reading each, as ``"LT"``; empty for a field with one place.
    words : mapping of str to Meaning
        Words that may be observed; may stand beside a kind (``slide``).
    is_text : bool
        True for free text.
    possible : (float, float) or None
        Lowest and highest physically possible value [SI unit].
    possible_text : str
        The same in the shown unit, for messages.
    u : float
        Absolute part of the standard uncertainty of one reading, U/2 [SI unit]; 0 where it is unknown.
    u_relative : float
        Part in proportion to the reading [1]; the two are added in quadrature.
    u_repeat_share : float
        Share of the uncertainty that is repeatability [1], so that averaging shrinks it.
    u_origin : Number or None
        Origin of the expanded uncertainty; None where there is none.
    resolution : float
        Step of the usual gauge [SI unit]; 0 where there is none.
    resolution_text : str
        The same as published.
    gauge : str
        The usual gauge.
    checks : tuple of str
        Checks that give it, the usual one first.
    cure : str
        What to ask when the value is impossible.
    vehicle_level : bool
        True for a field of the whole vehicle.
    """

    name: str
    label: str
    kind: Kind | None
    unit: str
    spots: tuple[str, ...]
    words: Mapping[str, Meaning]
    is_text: bool
    possible: tuple[float, float] | None
    possible_text: str
    u: float
    u_relative: float
    u_repeat_share: float
    u_origin: Number | None
    resolution: float
    resolution_text: str
    gauge: str
    checks: tuple[str, ...]
    cure: str
    vehicle_level: bool

    def standard_uncertainty(self, value: float) -> float:
        """Return the standard uncertainty of one reading.

        Parameters
        ----------
        value : float
            The reading [SI unit].

        Returns
        -------
        float
            Standard uncertainty [SI unit], 0 where the catalogue knows none.

        Notes
        -----
        u = sqrt(u_absolute^2 + (u_relative value)^2).
        """
        if not self.u_relative:
            return self.u
        return float((self.u**2 + (self.u_relative * value) ** 2) ** 0.5)


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit, in the form in which it was published.

    Parameters
    ----------
    id : str
        Key of the limit.
    field, spot : str
        Field or measure it applies to, and spot; field empty for a figure that is only shown.
    kind : Kind
        Kind of quantity.
    value : float
        Value [SI unit].
    exact : Fraction
        The same, exact: a reading is compared in the published form, without a second rounding.
    unit : str
        Unit as published, canonical symbol.
    published, also : str
        Text as published, and the other printed form, which is shown and never compared.
    sense : Sense
        On which side it is good.
    passes_at_limit : bool
        Whether a value equal to the limit is good.
    consequence : Finding
        What beyond means.
    authority : Authority
        Who stands behind it.
    source, locator : str
        Source key and place.
    status : Status
        What it may be used for.
    applies : str
        ``""`` always, ``"single vehicle"`` or ``"combination"``.
    note : str
        One sentence for people.
    """

    id: str
    field: str
    spot: str
    kind: Kind
    value: float
    exact: Fraction
    unit: str
    published: str
    also: str
    sense: Sense
    passes_at_limit: bool
    consequence: Finding
    authority: Authority
    source: str
    locator: str
    status: Status
    applies: str = ""
    note: str = ""

    @property
    def decides(self) -> bool:
        """Whether a verdict may come from it; a note never decides."""
        return self.consequence is not Finding.NOTE

    def admits(self, exact: Fraction) -> bool:
        """Compare a value directly, without tolerance and without uncertainty.

        Parameters
        ----------
        exact : Fraction
            Value [SI unit], exact.

        Returns
        -------
        bool
            True when the value is good.
        """
        if exact == self.exact:
            return self.passes_at_limit
        return (exact > self.exact) is (self.sense is Sense.AT_LEAST)


@dataclass(frozen=True, slots=True)
class Design:
    """One brake design: dimensions, traits and the limits that differ from the default.

    Parameters
    ----------
    id, title : str
        Key and words.
    rotor_diameter, rotor_new, rotor_min : float
        Rotor [m].
    friction_new, plate : float
        New friction and backing plate [m].
    pad_length, pad_height : float
        Friction face, along the rotor surface and along the radius [m].
    friction_area : float
        Of one pad [m2].
    indicator_kind : {"slide", "tappet"}
        What the wear indicator sees.
    indicator_full_scale : float
        Travel of the indicator from 0 to 100 % [m].
    measuring_inset : float
        Distance of a measured corner from the edge [m].
    guide_span : float
        Span of the two lands of the long pin [m].
    dial_distance : float
        Middle of that span to the plane where play is measured [m].
    pin_distance : float
        Long pin to short pin [m].
    clearance_per_side : float
        Usual running clearance [m].
    effective_radius : float
        Of the friction force [m].
    lever_ratio : float
        Chamber force to clamp force [1].
    mechanical_efficiency, friction_coefficient : float
        Of the calliper and of the pads [1].
    chamber_area : float
        Service chamber [m2].
    push_out_pressure : float
        Pressure before force begins [Pa].
    give_least, give_most : float
        Elastic give at full pressure [m].
    stroke_available : float
        Rod stroke of the chamber [m].
    tappets : int
        1 or 2.
    adjuster_needs_shear_adapter, adjuster_serviceable, guides_serviceable : bool
        Traits that change the steps of the work.
    outer_pad_in : {"carrier", "calliper"}
        Where the outer pad sits.
    rotor_mounting : {"over the hub", "bolted to the hub"}
        Whether the hub has to come off with the rotor.
    numbers : mapping of str to Number
        Origin of every dimension.
    limits : mapping of str to Limit
        Limits that differ from the default.
    """

    id: str
    title: str
    rotor_diameter: float
    rotor_new: float
    rotor_min: float
    friction_new: float
    plate: float
    pad_length: float
    pad_height: float
    friction_area: float
    indicator_kind: str
    indicator_full_scale: float
    measuring_inset: float
    guide_span: float
    dial_distance: float
    pin_distance: float
    clearance_per_side: float
    effective_radius: float
    lever_ratio: float
    mechanical_efficiency: float
    friction_coefficient: float
    chamber_area: float
    push_out_pressure: float
    give_least: float
    give_most: float
    stroke_available: float
    tappets: int
    adjuster_needs_shear_adapter: bool
    adjuster_serviceable: bool
    guides_serviceable: bool
    outer_pad_in: str
    rotor_mounting: str
    numbers: Mapping[str, Number]
    limits: Mapping[str, Limit]

    @property
    def measuring_length(self) -> float:
        """Distance of the measured corners along the pad [m]."""
        return self.pad_length - 2.0 * self.measuring_inset

    @property
    def measuring_height(self) -> float:
        """Distance of the measured corners up the pad [m]."""
        return self.pad_height - 2.0 * self.measuring_inset

    def tags(self) -> dict[str, str | int | bool]:
        """Return the traits that steps of the work depend on.

        Returns
        -------
        dict
            Trait name to value.
        """
        return {
            "indicator_kind": self.indicator_kind,
            "tappets": self.tappets,
            "needs_shear_adapter": self.adjuster_needs_shear_adapter,
            "adjuster_serviceable": self.adjuster_serviceable,
            "guides_serviceable": self.guides_serviceable,
            "outer_pad_in": self.outer_pad_in,
            "rotor_mounting": self.rotor_mounting,
        }
