"""What the catalogue says of rules: packs, rules, classes of vehicles and periods of keeping."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from wearline.catalogue.model import Grade, Number, Status
from wearline.uncertainty.rules import Sense

__all__ = ["Applies", "PerformanceClass", "RecordPeriod", "Reference", "Rule", "RulePack"]


@dataclass(frozen=True, slots=True)
class Applies:
    """To what a rule applies.

    Parameters
    ----------
    roles : tuple of str
        Axle roles; empty for all.
    vehicle_kinds : tuple of str
        Kinds of vehicle; empty for all.
    brake : str
        Kind of brake.
    """

    roles: tuple[str, ...] = ()
    vehicle_kinds: tuple[str, ...] = ()
    brake: str = "air disc"

    def covers(self, *, role: str | None, vehicle_kind: str) -> bool:
        """Say whether the rule applies.

        Parameters
        ----------
        role : str or None
            Role of the axle; None for a rule of the whole vehicle.
        vehicle_kind : str
            Kind of the vehicle.

        Returns
        -------
        bool
            True if it applies.
        """
        role_fits = not self.roles or role is None or role in self.roles
        return role_fits and (not self.vehicle_kinds or vehicle_kind in self.vehicle_kinds)


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule in our own words.

    Parameters
    ----------
    id, text : str
        Key within the pack, and the rule in our own words.
    citation, source : str
        Where it stands, and source key.
    grade : Grade
        How well its text is known.
    status : Status
        Wording that goes with the grade.
    decides : bool
        False for what is shown only; a rule known from memory never decides.
    measure : str
        Field or measure that it looks at; empty for a rule that readings cannot answer. A yes-or-no measure
        breaks the rule when it is true.
    sense : Sense or None
        Side on which it is met; None for yes or no.
    number : Number or None
        The printed limit that is compared; None for yes or no, and where ``limit`` or ``column`` give it.
    also : Number or None
        The other printed form, shown and never compared.
    passes_at_limit : bool
        Whether equality meets the rule.
    limit : str
        Id of the catalogue limit that holds the number, where the law leaves it to the maker.
    column : str
        Column of the class table that holds the number: ``"braking_force"``, ``"deceleration"``,
        ``"service_stop"`` or ``"emergency_stop"``.
    applies : Applies
        To what it applies.
    effect : str
        ``"violation"``, ``"out of service"``, ``"fails the annual inspection"`` or ``"record"``.
    unit_rule : str
        Which printed unit is compared, and why.
    gap_text : str
        What to say of a reading between two printed forms.
    note : str
        One sentence more.
    """

    id: str
    text: str
    citation: str
    source: str
    grade: Grade
    status: Status
    decides: bool
    measure: str
    sense: Sense | None
    number: Number | None
    also: Number | None
    passes_at_limit: bool
    limit: str
    column: str
    applies: Applies
    effect: str
    unit_rule: str
    gap_text: str
    note: str

    @property
    def value(self) -> float | None:
        """The printed limit [SI unit], None where there is none in the rule itself."""
        return self.number.value if self.number is not None else None

    @property
    def exact(self) -> Fraction | None:
        """The printed limit [SI unit], exact."""
        return self.number.exact if self.number is not None else None

    @property
    def unit(self) -> str:
        """Unit of the printed limit, empty where there is none."""
        return self.number.unit if self.number is not None else ""

    @property
    def published(self) -> str:
        """The limit as printed, empty where there is none."""
        return self.number.published if self.number is not None else ""

    def admits(self, exact: Fraction, limit: Fraction | None = None) -> bool:
        """Compare a value directly, as an officer would.

        Parameters
        ----------
        exact : Fraction
            Value [SI unit], exact.
        limit : Fraction, optional
            The number of the class table or of the maker [SI unit], where the rule has none of its own.

        Returns
        -------
        bool
            True when the rule is met.

        Raises
        ------
        ValueError
            If the rule has no number and none was given.
        """
        against = limit if limit is not None else self.exact
        if against is None or self.sense is None:
            raise ValueError(f"rule {self.id} compares no number")
        if exact == against:
            return self.passes_at_limit
        return (exact > against) is (self.sense is Sense.AT_LEAST)

    def in_unit_gap(self, exact: Fraction) -> bool:
        """Say whether a value passes in one printed form and fails in the other.

        Parameters
        ----------
        exact : Fraction
            Value [SI unit], exact.

        Returns
        -------
        bool
            True when the two printed forms disagree on it.
        """
        if self.number is None or self.also is None:
            return False
        return self.admits(exact) is not self.admits(exact, self.also.exact)


@dataclass(frozen=True, slots=True)
class PerformanceClass:
    """One row of a table of brake performance by class of vehicle.

    Parameters
    ----------
    id, title : str
        Class and words.
    chosen_for : tuple of str
        Kinds of vehicle that belong to it.
    rated_above, rated_up_to : Number or None
        Bounds of the gross rating [kg]; None for no bound.
    columns : mapping of str to Number
        ``"braking_force"``, ``"deceleration"``, ``"service_stop"``, ``"emergency_stop"``.
    """

    id: str
    title: str
    chosen_for: tuple[str, ...]
    rated_above: Number | None
    rated_up_to: Number | None
    columns: Mapping[str, Number]

    def covers(self, rating: float) -> bool:
        """Say whether a gross rating lies within the bounds of the class.

        Parameters
        ----------
        rating : float
            Gross rating [kg].

        Returns
        -------
        bool
            True if it does.
        """
        over = self.rated_above is None or rating > self.rated_above.value
        return over and (self.rated_up_to is None or rating <= self.rated_up_to.value)


@dataclass(frozen=True, slots=True)
class RecordPeriod:
    """How long something holds or is kept.

    Parameters
    ----------
    id, text : str
        Key, and the rule in our own words.
    months : int
        Months from the day it names; 0 for none.
    months_after_leaving : int
        Months after the vehicle leaves or the person stops; 0 for none.
    citation, source : str
        Where it stands.
    grade : Grade
        How well its text is known.
    """

    id: str
    text: str
    months: int
    months_after_leaving: int
    citation: str
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class Reference:
    """Something of a pack that is worth showing and is no rule.

    Parameters
    ----------
    text, citation, source : str
        In our own words, and where it stands.
    grade : Grade
        How well its text is known.
    """

    text: str
    citation: str
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class RulePack:
    """The rules of one place.

    Parameters
    ----------
    id, title, jurisdiction : str
        Key and words.
    is_law : bool
        False for roadside criteria and house rules.
    text_as_of : str
        Which state of the text it is.
    note : str
        What must be said with every answer.
    rules : tuple of Rule
        The rules.
    classes : tuple of PerformanceClass
        Table by class of vehicle; may be empty.
    periods : tuple of RecordPeriod
        Periods of keeping; may be empty.
    references : tuple of Reference
        What is only shown.
    """

    id: str
    title: str
    jurisdiction: str
    is_law: bool
    text_as_of: str
    note: str
    rules: tuple[Rule, ...]
    classes: tuple[PerformanceClass, ...]
    periods: tuple[RecordPeriod, ...]
    references: tuple[Reference, ...]

    def performance_class(
        self, vehicle_kind: str, *, rated_mass: float | None, test_mass: float | None
    ) -> PerformanceClass | None:
        """Return the class of a vehicle.

        Parameters
        ----------
        vehicle_kind : str
            Kind of the vehicle.
        rated_mass, test_mass : float or None
            Gross rating and mass as tested [kg].

        Returns
        -------
        PerformanceClass or None
            None where the pack has no such class, or the rating that splits two classes is not known.

        Notes
        -----
        A vehicle as tested weighs no more than its rating: a test mass above a lower bound shows that the
        rating is above it too. A test mass below an upper bound shows nothing.
        """
        rows = [row for row in self.classes if vehicle_kind in row.chosen_for]
        if rated_mass is not None:
            rows = [row for row in rows if row.covers(rated_mass)]
        elif len(rows) > 1:
            known = test_mass if test_mass is not None else 0.0
            rows = [row for row in rows if row.rated_above is not None and row.covers(known)]
        return rows[0] if rows else None
