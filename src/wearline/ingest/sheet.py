"""What a blank sheet of a vehicle holds: every field in the order of the work, with how, unit and limit.

The order is that of the states in which checks are done, so that nobody gets up twice: what the roller and
the run show, what is seen with the wheels on, with air up, with the wheel lifted, off, pads out, taken apart.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from wearline.catalogue.check_model import Check
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import FieldSpec, Limit
from wearline.errors import FileFormatError
from wearline.ingest.reading_values import INCH_UNITS
from wearline.ingest.wheel_ends import ON_ANY_BRAKE
from wearline.records.inspection import WEAR_AXES, Axle, Vehicle
from wearline.units import Kind, unit_for

__all__ = [
    "SHEET_CAUTIONS",
    "UNIT_STYLES",
    "Sheet",
    "SheetColumn",
    "SheetFact",
    "SheetGroup",
    "sheet_for",
]

UNIT_STYLES = ("metric", "inch")

SHEET_CAUTIONS = (
    "Level floor, chocks both ways at a wheel that stays down, before any brake is released.",
    "A jack only lifts: stands hold. Nobody under a vehicle on a jack.",
    "Cage the spring brake before its chamber is taken off, and stay out of its axis.",
    "No fingers in the calliper with air up: it closes without warning. Call it out and wait for the answer.",
    "After drag parts can be above 300 degC: wait. Never blow brake dust off: clean wet or by vacuum.",
    "Callipers, rotors and hubs are heavy: use a lifting aid.",
    "The maker's instructions, local codes and a qualified person decide; this sheet releases no vehicle.",
)

_SHORT_WAYS = ("refuse", "city")
"""Duties that may count wear in hours or stops."""

_STATE_ORDER = "ORNAJWPD"
_PLACEHOLDER = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True, slots=True)
class SheetColumn:
    """One column of a sheet, or one line of it.

    Parameters
    ----------
    field : str
        Key in the file.
    spot : str
        Corner, or empty.
    label : str
        Words of the trade.
    unit : str
        Unit of a number without one, as a person writes it; empty for words, texts and counts.
    words : tuple of str
        Words that may be written.
    check : Check
        The check that gives it.
    limit : str
        Limit in words, with unit, and how good it is.
    everywhere : bool
        True where it means something at a drum brake too.
    """

    field: str
    spot: str
    label: str
    unit: str
    words: tuple[str, ...]
    check: Check
    limit: str
    everywhere: bool

    @property
    def name(self) -> str:
        """Name of the column, with the corner."""
        return f"{self.field}_{self.spot}" if self.spot else self.field

    @property
    def heading(self) -> str:
        """Heading of the column: its name, and the unit in brackets."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


@dataclass(frozen=True, slots=True)
class SheetGroup:
    """Columns that are filled in one state.

    Parameters
    ----------
    title : str
        The state in words.
    columns : tuple of SheetColumn
        The columns.
    """

    title: str
    columns: tuple[SheetColumn, ...]


@dataclass(frozen=True, slots=True)
class SheetFact:
    """One fact of the vehicle or the inspection.

    Parameters
    ----------
    name : str
        Dotted name, as ``vehicle.id``.
    value : str, int, float or date or None
        What is known; None for a blank.
    remark : str
        What to write.
    words : tuple of str
        Words that may be written; empty for others.
    is_day : bool
        True for a day.
    """

    name: str
    value: str | int | float | date | None
    remark: str
    words: tuple[str, ...] = ()
    is_day: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that a blank sheet of one vehicle holds.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    units : {"metric", "inch"}
        Usual units of numbers without one.
    facts : tuple of SheetFact
        Facts of the vehicle and the inspection.
    vehicle_groups : tuple of SheetGroup
        Checks of the vehicle as a whole.
    groups : tuple of SheetGroup
        Checks of each wheel end.
    """

    vehicle: Vehicle
    units: str
    facts: tuple[SheetFact, ...]
    vehicle_groups: tuple[SheetGroup, ...]
    groups: tuple[SheetGroup, ...]

    @property
    def title(self) -> str:
        """What stands at the head of the sheet."""
        about = f", {self.vehicle.description}" if self.vehicle.description else ""
        return f"Readings of {self.vehicle.id}{about}"

    @property
    def rows(self) -> tuple[tuple[str, Axle], ...]:
        """Every wheel end with its axle."""
        return tuple((str(place), self.vehicle.axle(place.axle)) for place in self.vehicle.places)


def sheet_for(vehicle: Vehicle, catalogue: Catalogue, *, today: date, units: str = "metric") -> Sheet:
    """Lay out the blank sheet of a vehicle.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    catalogue : Catalogue
        Knows fields, checks and limits.
    today : date
        Day whose limits are shown.
    units : {"metric", "inch"}
        Usual units of numbers without one.

    Returns
    -------
    Sheet
        The sheet.

    Raises
    ------
    FileFormatError
        If there are no such units.
    """
    if units not in UNIT_STYLES:
        raise FileFormatError(
            f"a sheet cannot be written in '{units}' units", allowed=", ".join(UNIT_STYLES), cure="Choose one"
        )
    limits = _Limits(vehicle, catalogue, today)
    return Sheet(
        vehicle=vehicle,
        units=units,
        facts=_facts(vehicle, catalogue),
        vehicle_groups=_groups(catalogue, limits, units, of_vehicle=True),
        groups=_groups(catalogue, limits, units, of_vehicle=False),
    )


class _Limits:
    """Limits in words, per design of the vehicle."""

    def __init__(self, vehicle: Vehicle, catalogue: Catalogue, today: date) -> None:
        self.by_axles: dict[str, Mapping[str, Limit]] = {}
        designs: dict[str, list[str]] = {}
        for axle in vehicle.axles:
            if axle.design:
                designs.setdefault(axle.design, []).append(axle.id)
        for design, axles in designs.items():
            self.by_axles[f"axle {', '.join(axles)}: "] = catalogue.limits_for(design, today)
        if not self.by_axles:
            self.by_axles[""] = catalogue.default_limits

    def words(self, check: Check) -> str:
        """The limit of a check, said once where all axles have the same."""
        said = {axles: self._words(check, limits) for axles, limits in self.by_axles.items()}
        if len(set(said.values())) == 1:
            return next(iter(said.values()))
        return "; ".join(f"{axles}{words}" for axles, words in said.items())

    @staticmethod
    def _words(check: Check, limits: Mapping[str, Limit]) -> str:
        used = [limits[key] for key in _PLACEHOLDER.findall(check.limit) if key in limits]
        kinds = dict.fromkeys(str(limit.status) for limit in used)
        words = check.limit_words(limits)
        return f"{words} ({', '.join(kinds)})" if kinds else words


def _rank(check: Check) -> tuple[int, bool]:
    """Order of a check: the roller test with air up belongs to the run, others to their last state."""
    if "R" in check.states:
        return _STATE_ORDER.index("R"), "A" in check.states
    solid = [state for state in check.states if state != "A"] or ["A"]
    return max(_STATE_ORDER.index(state) for state in solid), "A" in check.states and len(check.states) > 1


def _groups(catalogue: Catalogue, limits: _Limits, units: str, *, of_vehicle: bool) -> tuple[SheetGroup, ...]:
    """Collect the columns by state, each field at the check that usually gives it."""
    found: dict[tuple[int, bool], list[SheetColumn]] = {}
    titles: dict[tuple[int, bool], str] = {}
    order = list(catalogue.checks)
    specs = [spec for spec in catalogue.fields.values() if spec.vehicle_level is of_vehicle and spec.checks]
    for spec in sorted(specs, key=lambda spec: order.index(spec.checks[0])):
        check = catalogue.checks[spec.checks[0]]
        rank = _rank(check)
        states = [catalogue.states[state].title for state in check.states]
        titles.setdefault(rank, " + ".join(states))
        found.setdefault(rank, []).extend(_columns(spec, check, limits.words(check), units))
    return tuple(SheetGroup(titles[rank], tuple(found[rank])) for rank in sorted(found))


def _columns(spec: FieldSpec, check: Check, limit: str, units: str) -> list[SheetColumn]:
    unit = ""
    if spec.kind is not None and spec.kind is not Kind.COUNT:
        unit = spec.unit if units == "metric" else INCH_UNITS[spec.kind]
        unit = unit_for(unit, spec.kind).label
    return [
        SheetColumn(
            field=spec.name,
            spot=spot,
            label=f"{spec.label}, {spot}" if spot else spec.label,
            unit=unit,
            words=tuple(spec.words),
            check=check,
            limit=limit,
            everywhere=spec.name in ON_ANY_BRAKE,
        )
        for spot in spec.spots or ("",)
    ]


def _facts(vehicle: Vehicle, catalogue: Catalogue) -> tuple[SheetFact, ...]:
    from wearline.catalogue.load_rules import PACK_IDS
    from wearline.ingest.facts import BRAKES, RETARDER_WORDS, WHEEL_WORDS
    from wearline.records.inspection import AXLE_ROLES, VEHICLE_KINDS

    designs = tuple(catalogue.designs)
    facts = [
        SheetFact("vehicle.id", vehicle.id, "the owner's name for the vehicle"),
        SheetFact("vehicle.description", vehicle.description or None, "free text"),
        SheetFact("vehicle.kind", vehicle.kind, "kind of vehicle", VEHICLE_KINDS),
        SheetFact("vehicle.test_mass_kg", _whole(vehicle.test_mass), "mass as on the brake tester, in kg"),
        SheetFact("vehicle.rated_mass_kg", _whole(vehicle.rated_mass), "gross rating, in kg"),
        SheetFact("vehicle.duty", vehicle.duty or None, "kind of work, as regional or city bus"),
        SheetFact("vehicle.retarder", vehicle.retarder or None, "retarder or engine brake", RETARDER_WORDS),
        SheetFact(
            "vehicle.built_on", _day(vehicle.built_on), "day of manufacture, as 2026-09-14", is_day=True
        ),
    ]
    if vehicle.wear_axis:
        facts.append(SheetFact("vehicle.wear_axis", vehicle.wear_axis, "what wear counts against", WEAR_AXES))
    facts += [
        SheetFact(f"vehicle.labels.{name}", word, "the owner's own group")
        for name, word in vehicle.labels.items()
    ]
    for axle in vehicle.axles:
        at = f"axle.{axle.id}"
        facts += [
            SheetFact(f"{at}.role", axle.role, f"what axle {axle.id} does", AXLE_ROLES),
            SheetFact(f"{at}.design", axle.design or None, "brake design of the catalogue", designs),
            SheetFact(f"{at}.wheels", axle.wheels or None, "tyres at each end", WHEEL_WORDS),
            SheetFact(f"{at}.brake", axle.brake, "kind of brake", BRAKES),
            SheetFact(f"{at}.km_since_pads", None, "since its pads were new, where axles differ, in km"),
        ]
    facts += [
        SheetFact("inspection.taken_on", None, "day of the readings, as 2026-09-14: needed", is_day=True),
        SheetFact("inspection.odometer_km", None, "odometer or hub counter, in km"),
        SheetFact("inspection.km_since_pads", None, "distance since the pads were new, in km"),
        *_counter_facts(vehicle),
        SheetFact("inspection.inspector", None, "who took the readings"),
        SheetFact("inspection.qualification", None, "by what qualification"),
        SheetFact("inspection.rule_pack", None, "rules to answer; several with ; between them", PACK_IDS),
        SheetFact("inspection.place", None, "workshop"),
        SheetFact("inspection.note", None, "free text"),
        SheetFact("inspection.next_wheels_off_km", None, "distance to the next planned removal, in km"),
    ]
    return tuple(facts)


def _counter_facts(vehicle: Vehicle) -> list[SheetFact]:
    """Places for the counters of a vehicle that stands at every bin or stop."""
    if not (vehicle.wear_axis or vehicle.duty.strip().lower().startswith(_SHORT_WAYS)):
        return []
    return [
        SheetFact("inspection.hour_counter_h", None, "hour counter, in h"),
        SheetFact("inspection.h_since_pads", None, "hours since the pads were new"),
        SheetFact("inspection.stop_counter", None, "stop counter"),
        SheetFact("inspection.stops_since_pads", None, "stops since the pads were new"),
    ]


def _whole(mass: float | None) -> int | float | None:
    return int(mass) if mass is not None and mass == int(mass) else mass


def _day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None
