"""A drill as a page shows it before anything is decided: readings in rows, tests with their price.

Nothing here looks at what is hidden: a view is made from what lies on the table and what was asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wearline.catalogue.check_model import Check
from wearline.catalogue.job_choice import load_job_choice
from wearline.catalogue.job_choice_model import SITUATIONS
from wearline.catalogue.load_causes import load_causes
from wearline.catalogue.loading import load_catalogue
from wearline.practice.drill import DrillSession, Reading, cost_of, targets_of
from wearline.practice.drill_cases import DrillCase
from wearline.practice.drill_commands import checks_by_state
from wearline.practice.faults import VEHICLE, cause_of
from wearline.reports.words import label_parts, unit_label

__all__ = [
    "CauseChoice",
    "PricedPlace",
    "PricedTest",
    "ReadingCell",
    "ReadingRow",
    "StateGroup",
    "TakenRow",
    "cause_choices",
    "place_words",
    "priced_places",
    "printed",
    "reading_label",
    "reading_rows",
    "situations",
    "state_groups",
    "taken_rows",
    "vehicle_facts",
]


@dataclass(frozen=True, slots=True)
class ReadingCell:
    """One reading in the table of all readings.

    Parameters
    ----------
    text : str
        As it was written down; empty where it was not taken.
    asked : bool
        Whether a test that was asked for gave it.
    look : int
        0 for the first time it was taken, 1 for the second.
    """

    text: str
    asked: bool = False
    look: int = 0


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One row of the table of all readings.

    Parameters
    ----------
    label, spot : str
        Words of the trade, and the corner.
    cells : tuple of ReadingCell
        One for each wheel end.
    """

    label: str
    spot: str
    cells: tuple[ReadingCell, ...]


@dataclass(frozen=True, slots=True)
class TakenRow:
    """One test that was asked for, with what it showed.

    Parameters
    ----------
    test, title, at : str
        Which, and where.
    minutes, access, running : float, [min]
        Time of the test, of getting there, and of everything up to here.
    readings : tuple of (str, str)
        Words of the trade with the place where there are several, and what was read.
    """

    test: str
    title: str
    at: str
    minutes: float
    access: float
    running: float
    readings: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PricedTest:
    """One test that may be asked for.

    Parameters
    ----------
    id, title : str
        Which.
    least, most : float, [min]
        What it costs now at the cheapest and at the dearest place, with getting there; both 0 where nothing
        is left to read.
    read_at : tuple of str
        Where it was read; an empty text for the vehicle.
    complete : bool
        Whether it was read everywhere.
    """

    id: str
    title: str
    least: float
    most: float
    read_at: tuple[str, ...]
    complete: bool


@dataclass(frozen=True, slots=True)
class StateGroup:
    """Tests that need the same state of the vehicle.

    Parameters
    ----------
    code, title, per : str
        The state, and for what it is reached.
    minutes : float, [min]
        Time to reach it from the state below; 0 for the states in which the vehicle stands.
    reached : tuple of str
        Where it is reached; an empty text for the vehicle.
    tests : tuple of PricedTest
        The tests.
    """

    code: str
    title: str
    per: str
    minutes: float
    reached: tuple[str, ...]
    tests: tuple[PricedTest, ...]


@dataclass(frozen=True, slots=True)
class PricedPlace:
    """A place at which a test may be done.

    Parameters
    ----------
    at : str
        Wheel end, axle, or empty for the vehicle.
    minutes, access : float, [min]
        What it costs now.
    read : tuple of (str, str)
        What was read there already: words of the trade, and the reading.
    """

    at: str
    minutes: float
    access: float
    read: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class CauseChoice:
    """A cause that may be blamed.

    Parameters
    ----------
    code, name, group : str
        Which.
    scopes : tuple of str
        Where it may sit.
    """

    code: str
    name: str
    group: str
    scopes: tuple[str, ...]


_AT_HAND = ("O", "N")


# ---------------------------------------------------------------- readings


def reading_label(name: str) -> str:
    """Return the short name of a reading.

    Parameters
    ----------
    name : str
        Field.

    Returns
    -------
    str
        Words of the trade.
    """
    if name == "km_since_pads":
        return "distance since pads"
    spec = load_catalogue().fields.get(name)
    return label_parts(spec.label)[0] if spec is not None else name.replace("_", " ")


def printed(text: str) -> str:
    """Return a reading as it stands on paper: units in their printed form.

    Parameters
    ----------
    text : str
        As it was written down.

    Returns
    -------
    str
        As ``"48 °C"`` for ``"48 degC"``.
    """
    return "; ".join(_printed_one(part) for part in text.split("; "))


def _printed_one(text: str) -> str:
    value, _, unit = text.rpartition(" ")
    return f"{value} {unit_label(unit)}" if value else text


def vehicle_facts(session: DrillSession) -> tuple[tuple[str, str], ...]:
    """Return the readings of the vehicle as a whole.

    Parameters
    ----------
    session : DrillSession
        The drill.

    Returns
    -------
    tuple of (str, str)
        Words of the trade, and the latest reading.
    """
    return tuple(
        (reading_label(name), printed(reading.text))
        for (at, name, _), reading in session.latest.items()
        if not at
    )


def reading_rows(session: DrillSession) -> tuple[ReadingRow, ...]:
    """Return everything known of the wheel ends.

    Parameters
    ----------
    session : DrillSession
        The drill.

    Returns
    -------
    tuple of ReadingRow
        In the order in which they were first taken; the latest of each.
    """
    asked = {(reading.at, reading.check, reading.spot) for each in session.asked for reading in each.readings}
    cells: dict[tuple[str, str], dict[str, ReadingCell]] = {}
    for (at, name, spot), reading in session.latest.items():
        if at:
            cell = ReadingCell(printed(reading.text), (at, name, spot) in asked, reading.look)
            cells.setdefault((name, spot), {})[at] = cell
    for end in session.document()["wheel_end"]:
        if "noticed" in end:
            cells.setdefault(("noticed", ""), {})[end["at"]] = ReadingCell(", ".join(end["noticed"]))
    nothing = ReadingCell("")
    return tuple(
        ReadingRow(reading_label(name), spot, tuple(own.get(at, nothing) for at in session.case.places))
        for (name, spot), own in cells.items()
    )


def taken_rows(session: DrillSession) -> tuple[TakenRow, ...]:
    """Return the tests that were asked for, in order.

    Parameters
    ----------
    session : DrillSession
        The drill.

    Returns
    -------
    tuple of TakenRow
        With the running time.
    """
    rows, running = [], 0.0
    for each in session.asked:
        running += each.minutes + each.access
        title = load_catalogue().checks[each.test].title
        rows.append(
            TakenRow(each.test, title, each.at, each.minutes, each.access, running, _readings(each.readings))
        )
    return tuple(rows)


def _readings(readings: Sequence[Reading]) -> tuple[tuple[str, str], ...]:
    """Readings of one test: corners of a field together, places named where there are several."""
    several = len({reading.at for reading in readings}) > 1
    texts: dict[tuple[str, str], list[str]] = {}
    for reading in readings:
        text = printed(reading.text)
        texts.setdefault((reading.at, reading.check), []).append(f"{reading.spot} {text}".strip())
    return tuple(
        (f"{at} {reading_label(name)}".strip() if several else reading_label(name), ", ".join(parts))
        for (at, name), parts in texts.items()
    )


# ---------------------------------------------------------------- tests and their price


def state_groups(session: DrillSession) -> tuple[StateGroup, ...]:
    """Return the tests that may be asked for, under the state of the vehicle that they need.

    Parameters
    ----------
    session : DrillSession
        The drill.

    Returns
    -------
    tuple of StateGroup
        States in the order of the catalogue.
    """
    groups = []
    for state, checks in checks_by_state(session.case):
        minutes = 0.0 if state.code in _AT_HAND else 0.5 * sum(state.minutes)
        reached = tuple(sorted(where for code, where in session.reached if code == state.code))
        choices = tuple(_choice(session, check) for check in checks)
        groups.append(StateGroup(state.code, state.title, state.per, minutes, reached, choices))
    return tuple(groups)


def _choice(session: DrillSession, check: Check) -> PricedTest:
    places = _targets(session, check)
    read = tuple(at for at in places if session.has(check.id, at))
    costs = [sum(cost_of(session, check, at)) for at in places if at not in read]
    return PricedTest(
        check.id, check.title, min(costs, default=0.0), max(costs, default=0.0), read, not costs
    )


def _targets(session: DrillSession, check: Check) -> tuple[str, ...]:
    """Places at which a test shows something."""
    return tuple(
        at
        for at in targets_of(check, session.case, session.case.axles)
        if session.has(check.id, at) or session.would_show(check, at)
    )


def priced_places(session: DrillSession, check: Check) -> tuple[PricedPlace, ...]:
    """Return the places at which a test may be done, with what it costs there now.

    Parameters
    ----------
    session : DrillSession
        The drill.
    check : Check
        The test.

    Returns
    -------
    tuple of PricedPlace
        Those at which it shows something.
    """
    places = []
    for at in _targets(session, check):
        read = [each for each in session.taken if each.test == check.id and each.at == at]
        minutes, access = cost_of(session, check, at)
        places.append(PricedPlace(at, minutes, access, _readings(read[-1].readings) if read else ()))
    return tuple(places)


# ---------------------------------------------------------------- what may be decided


def cause_choices() -> tuple[CauseChoice, ...]:
    """Return every cause that may be blamed.

    Returns
    -------
    tuple of CauseChoice
        Group by group.
    """
    return tuple(
        CauseChoice(cause.code, cause.name, cause.group, cause_of(cause.code).scopes)
        for cause in load_causes().causes.values()
    )


def situations() -> tuple[tuple[str, str], ...]:
    """Return the situations of work that may be ordered.

    Returns
    -------
    tuple of (str, str)
        Code and words.
    """
    choice = load_job_choice()
    return tuple((code, choice.title(code)) for code in SITUATIONS)


def place_words(case: DrillCase) -> tuple[tuple[str, str], ...]:
    """Return the places where a cause may sit.

    Parameters
    ----------
    case : DrillCase
        The case.

    Returns
    -------
    tuple of (str, str)
        Place and words: wheel ends, axles, the vehicle.
    """
    ends = [(at, f"wheel end {at}") for at in case.places]
    axles = [(axle, f"axle {axle}") for axle in case.axles]
    return (*ends, *axles, (VEHICLE, "the vehicle"))
