"""A drill while it runs: which tests were asked for, what they showed, what they cost, what was decided.

A drill is the sequence of its commands: played again from the beginning they give the same drill, which is
how one that was broken off goes on. Nothing here knows files, terminals or clocks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from wearline.catalogue.check_model import Check
from wearline.catalogue.loading import load_catalogue
from wearline.diagnosis.next_tests import states_reached
from wearline.errors import InputError
from wearline.practice.documents import Document
from wearline.practice.drill_cases import Blame, DrillCase, given_checks

__all__ = ["DrillSession", "Reading", "Taken", "cost_of", "drillable_checks", "targets_of"]

_AT_HAND = frozenset({"O", "N"})
"""States in which the vehicle stands at the beginning."""

HISTORY = "W2"
DRIVER = "W3"
_CORNERS = ("LT", "LB", "TT", "TB")


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading as it was written down.

    Parameters
    ----------
    at : str
        Wheel end; empty for the vehicle.
    check : str
        Field.
    spot : str
        Corner, or empty.
    text : str
        What stands on the paper.
    look : int
        0 for the first time it was taken, 1 for the second.
    """

    at: str
    check: str
    spot: str
    text: str
    look: int


@dataclass(frozen=True, slots=True)
class Taken:
    """One test that was done.

    Parameters
    ----------
    test : str
        Check id.
    at : str
        Wheel end, axle, or empty for the vehicle.
    minutes, access : float, [min]
        Time of the test, and of reaching its state.
    readings : tuple of Reading
        What it showed.
    given : bool
        Whether it lay on the table at the beginning, at no cost.
    """

    test: str
    at: str
    minutes: float
    access: float
    readings: tuple[Reading, ...]
    given: bool = False


@dataclass(frozen=True)
class DrillSession:
    """A drill at one moment.

    Parameters
    ----------
    case : DrillCase
        The case.
    taken : tuple of Taken
        Tests in order, those of the beginning first.
    causes : tuple of (str, str)
        Causes that the person blames, with their places.
    work : tuple of (str, str)
        Axle and situation of the job that the person orders.
    no_cause, no_work : bool
        Whether the person says that there is none.
    commands : tuple of str
        Commands that changed the drill, in order.
    """

    case: DrillCase
    taken: tuple[Taken, ...]
    causes: tuple[Blame, ...] = ()
    work: tuple[tuple[str, str], ...] = ()
    no_cause: bool = False
    no_work: bool = False
    commands: tuple[str, ...] = ()

    @classmethod
    def begin(cls, case: DrillCase) -> DrillSession:
        """Return a drill at its beginning, with what lies on the table.

        Parameters
        ----------
        case : DrillCase
            The case.

        Returns
        -------
        DrillSession
            No minutes spent.
        """
        session = cls(case, ())
        checks = load_catalogue().checks
        for test in given_checks():
            for at in targets_of(checks[test], case, case.axles):
                readings = session.would_show(checks[test], at)
                if readings:
                    session = replace(
                        session, taken=(*session.taken, Taken(test, at, 0.0, 0.0, readings, given=True))
                    )
        return session

    @property
    def asked(self) -> tuple[Taken, ...]:
        """Tests that the person asked for."""
        return tuple(each for each in self.taken if not each.given)

    @property
    def minutes(self) -> float:
        """Time spent [min]."""
        return sum(each.minutes + each.access for each in self.taken)

    @cached_property
    def reached(self) -> frozenset[tuple[str, str]]:
        """States reached by the tests asked for, each with what it was reached for."""
        checks = load_catalogue().checks
        found: set[tuple[str, str]] = set()
        for each in self.asked:
            found |= set(_states_for(checks[each.test], each.at, self.case))
        return frozenset(found)

    def has(self, test: str, at: str) -> bool:
        """Return whether a test was done.

        Parameters
        ----------
        test : str
            Check id.
        at : str
            Wheel end, axle, or empty.

        Returns
        -------
        bool
            True also for what lay on the table.
        """
        return any(each.test == test and each.at == at for each in self.taken)

    @cached_property
    def latest(self) -> dict[tuple[str, str, str], Reading]:
        """The last reading of every place, field and spot."""
        return {
            (reading.at, reading.check, reading.spot): reading
            for each in self.taken
            for reading in each.readings
        }

    def take(self, test: str, at: str, command: str) -> DrillSession:
        """Do a test.

        Parameters
        ----------
        test : str
            Check id.
        at : str
            Wheel end, axle, or empty, as the test wants it.
        command : str
            What the person wrote.

        Returns
        -------
        DrillSession
            With the readings and their cost.

        Raises
        ------
        InputError
            If the test shows nothing on this vehicle.
        """
        check = load_catalogue().checks[test]
        readings = self.would_show(check, at)
        if not readings:
            raise InputError(
                f"{test} ({check.title}) shows nothing here",
                where=at,
                allowed="a test of the list",
                cure="Write 'list' for the tests of this drill; nothing was charged",
            )
        minutes, access = cost_of(self, check, at)
        done = Taken(test, at, minutes, access, readings)
        return replace(self, taken=(*self.taken, done), commands=(*self.commands, command))

    def would_show(self, check: Check, at: str) -> tuple[Reading, ...]:
        """Return the readings that a test would give now.

        Parameters
        ----------
        check : Check
            The test.
        at : str
            Wheel end, axle, or empty for the vehicle.

        Returns
        -------
        tuple of Reading
            The first time as it is first written down, later as taken again with care.
        """
        found = []
        for place in _places_for(at, self.case):
            for field, spot, texts in _texts(self.case, check, place):
                look = sum(
                    reading.at == place and reading.check == field and reading.spot == spot
                    for each in self.taken
                    for reading in each.readings
                )
                text = texts[min(look, len(texts) - 1)]
                if text:
                    found.append(Reading(place, field, spot, text, look))
        return tuple(found)

    def document(self) -> Document:
        """Return what is known so far as an inspection file.

        Returns
        -------
        dict
            Tables of an inspection with only the readings that were given or asked for, the latest of each.
        """
        base = self.case.looks[self._history_look()].document
        known: dict[str, dict[str, Any]] = {}
        for (at, check, spot), reading in self.latest.items():
            if spot:
                known.setdefault(at, {}).setdefault(check, [""] * 4)[_CORNERS.index(spot)] = reading.text
            elif check in load_catalogue().fields:
                known.setdefault(at, {})[check] = _as_written(self.case, reading)
        noticed = {
            end["at"]: end["noticed"] for end in self.case.looks[0].document["wheel_end"] if "noticed" in end
        }
        document = {key: base[key] for key in ("vehicle", "axle", "inspection", "peer_wear_mm_per_10000_km")}
        document["wheel_end"] = [
            {"at": place} | known.get(place, {}) | ({"noticed": noticed[place]} if place in noticed else {})
            for place in self.case.places
        ]
        if known.get(""):
            document["vehicle_checks"] = known[""]
        return document

    def _history_look(self) -> int:
        looks = [reading.look for each in self.taken if each.test == HISTORY for reading in each.readings]
        return min(max(looks, default=0), len(self.case.looks) - 1)


# ---------------------------------------------------------------- tests and their cost


def drillable_checks(case: DrillCase) -> tuple[Check, ...]:
    """Return the tests that show something on the vehicle of a case.

    Parameters
    ----------
    case : DrillCase
        The case.

    Returns
    -------
    tuple of Check
        In the order of the catalogue. Checks that are computed from others are not among them.
    """
    empty = DrillSession(case, ())
    return tuple(
        check
        for check in load_catalogue().checks.values()
        if (check.minutes or check.minutes_per_end)
        and any(empty.would_show(check, at) for at in targets_of(check, case, case.axles))
    )


def targets_of(check: Check, case: DrillCase, places: Sequence[str]) -> tuple[str, ...]:
    """Return where a test is done when a person names some places.

    Parameters
    ----------
    check : Check
        The test.
    case : DrillCase
        The case.
    places : sequence of str
        Wheel ends and axles.

    Returns
    -------
    tuple of str
        Wheel ends of a named axle, the axle of a named wheel end, or an empty text for a test of the whole
        vehicle; each once.
    """
    if check.per == "vehicle":
        return ("",)
    found: list[str] = []
    for place in places:
        if check.per == "axle":
            found.append(place if place in case.axles else place[:-1])
        elif place in case.axles:
            found += [f"{place}L", f"{place}R"]
        else:
            found.append(place)
    return tuple(dict.fromkeys(found))


def cost_of(session: DrillSession, check: Check, at: str) -> tuple[float, float]:
    """Return what a test costs from where the vehicle stands.

    Parameters
    ----------
    session : DrillSession
        The drill.
    check : Check
        The test.
    at : str
        Wheel end, axle, or empty.

    Returns
    -------
    minutes, access : float, [min]
        Time of the test, and of reaching the states that it needs and that are not reached yet.

    Notes
    -----
    A state is reached once: a wheel that is off stays off. Its time is the middle of the catalogue's range.
    The run on the road or the roller is over when the drill begins; another one is paid for.
    """
    states = load_catalogue().states
    ends = len(_places_for(at, session.case)) if at else len(session.case.places)
    missing = set(_states_for(check, at, session.case)) - session.reached
    access = sum(0.5 * sum(states[state].minutes) for state, _ in missing)
    return check.minutes + check.minutes_per_end * ends, access


def _states_for(check: Check, at: str, case: DrillCase) -> Iterator[tuple[str, str]]:
    """States that a test needs, those below included, each with what it is reached for."""
    states = load_catalogue().states
    for state in sorted(states_reached([check]) - _AT_HAND):
        per = states[state].per
        if per == "vehicle" or not at:
            yield state, ""
        elif per == "axle":
            yield state, at if at in case.axles else at[:-1]
        else:
            for place in _places_for(at, case):
                yield state, place


def _places_for(at: str, case: DrillCase) -> tuple[str, ...]:
    """Places that a test at ``at`` reads: its wheel ends, and for a test of the vehicle that one too."""
    if not at:
        return ("", *case.places)
    return (f"{at}L", f"{at}R") if at in case.axles else (at,)


def _texts(case: DrillCase, check: Check, place: str) -> Iterator[tuple[str, str, list[str]]]:
    """Field, spot and the text of every look that a test gives at a place."""
    if check.id == HISTORY and not place:
        for name in ("odometer_km", "km_since_pads"):
            values = [look.document["inspection"].get(name, "") for look in case.looks]
            yield name.removesuffix("_km"), "", [f"{value} km" if value != "" else "" for value in values]
        yield "usual_wear", "", [_peer_wear(look.document) for look in case.looks]
    if not place:
        for field in check.fields:
            yield (
                field,
                "",
                [str(look.document.get("vehicle_checks", {}).get(field, "")) for look in case.looks],
            )
        return
    tables = [_end(look.document, place) for look in case.looks]
    for field in check.fields:
        if isinstance(tables[0].get(field), list):
            for number, spot in enumerate(_CORNERS):
                yield field, spot, [str(table[field][number]) for table in tables]
        else:
            yield field, "", [_plain(table.get(field, "")) for table in tables]


def _peer_wear(document: Document) -> str:
    """Usual wear of sound brakes on this duty, in words."""
    rates = document["peer_wear_mm_per_10000_km"].items()
    return ", ".join(f"axle {axle} {rate:g} mm" for axle, rate in rates) + " for each 10 000 km"


def _end(document: Document, place: str) -> dict[str, Any]:
    return next(end for end in document["wheel_end"] if end["at"] == place)


def _plain(value: object) -> str:
    if isinstance(value, dict):
        return "; ".join(str(each) for each in value["readings"])
    return str(value)


def _as_written(case: DrillCase, reading: Reading) -> object:
    """The value of a reading as it stands in an inspection file: repeats stay a table."""
    if not reading.at:
        return reading.text
    document = case.looks[min(reading.look, len(case.looks) - 1)].document
    return _end(document, reading.at).get(reading.check, reading.text)
