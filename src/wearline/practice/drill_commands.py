"""The words of a drill: what a person types, and what comes back."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from wearline.catalogue.check_model import Check, State
from wearline.catalogue.job_choice import load_job_choice
from wearline.catalogue.job_choice_model import SITUATIONS
from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError
from wearline.practice.drill import DrillSession, cost_of, drillable_checks, targets_of
from wearline.practice.drill_cases import DATA_ERROR, DrillCase
from wearline.practice.faults import VEHICLE, cause_of, load_causes

__all__ = ["HELP", "End", "Reply", "answer", "checks_by_state", "how_facts", "reading_table", "replay"]

HELP = (
    "F12 1L              do a test at a wheel end; several tests and places in one line: F11 F12 1L 1R",
    "total travel 1      the name of a test will do; an axle means both its ends",
    "again F5 1L         take it once more, with another gauge; it costs its minutes again",
    "how F12             how the test is done, and what goes wrong with it",
    "list                the tests, with their minutes and what it takes to reach them",
    "readings [1L]       everything known so far",
    "causes [words]      the causes with their codes",
    "cause G4 1L         blame a cause; an axle or 'vehicle' where it sits there; 'cause none' for no cause",
    "job S2 1            order a situation of work, S1 to S6, for an axle; 'job none' for no work",
    "not G4 1L, not S2 1 take a decision back",
    "decided             what you have decided so far",
    "done                end and score: needs causes (or none) and work (or none)",
    "later               break off; the drill waits for you",
    "drop                throw the drill away, without a score",
)
"""Every command with its meaning."""

_NONE = ("none", "nothing")
_COLUMNS = 6
_LABEL = 46


class End(Enum):
    """How a command ends the drill."""

    NO = ""
    DONE = "done"
    LATER = "later"
    DROP = "drop"


@dataclass(frozen=True, slots=True)
class Reply:
    """What a command answers.

    Parameters
    ----------
    session : DrillSession
        The drill after it.
    lines : tuple of str
        What the person reads.
    end : End
        Whether the drill ends here.
    """

    session: DrillSession
    lines: tuple[str, ...] = ()
    end: End = End.NO


def answer(session: DrillSession, typed: str) -> Reply:
    """Carry out one command.

    Parameters
    ----------
    session : DrillSession
        The drill.
    typed : str
        What the person typed.

    Returns
    -------
    Reply
        The drill after it, and the answer.

    Raises
    ------
    InputError
        If the command is not understood or not possible; the drill stays as it is.
    """
    words = typed.split()
    if not words:
        return Reply(session)
    verb, rest = words[0].casefold(), words[1:]
    known = _COMMANDS.get(verb)
    if known is not None:
        return known(session, rest)
    return _test(session, words)


def replay(case: DrillCase, commands: Sequence[str]) -> DrillSession:
    """Play the commands of a drill again.

    Parameters
    ----------
    case : DrillCase
        The case.
    commands : sequence of str
        As from ``DrillSession.commands``.

    Returns
    -------
    DrillSession
        The drill as it was left.

    Raises
    ------
    InputError
        If a command does not fit the case.
    """
    session = DrillSession.begin(case)
    for command in commands:
        session = answer(session, command).session
    return session


# ---------------------------------------------------------------- tests


def _test(session: DrillSession, words: Sequence[str], *, again: bool = False) -> Reply:
    checks, places = _tests_and_places(session.case, words)
    lines: list[str] = []
    for check in checks:
        targets = targets_of(check, session.case, places)
        if not targets:
            raise InputError(
                f"{check.id} ({check.title}) is done at a wheel end",
                allowed=", ".join(session.case.places),
                cure=f"Write for instance '{check.id} {session.case.places[0]}'",
            )
        for at in targets:
            if session.has(check.id, at) and not again:
                here = f" {at}" if at else ""
                minutes = sum(cost_of(session, check, at))
                lines.append(
                    f"{check.id}{here} has been read already; 'again {check.id}{here}' takes it once more "
                    f"({minutes:.0f} min)."
                )
                continue
            verb = "again " if session.has(check.id, at) else ""
            session = session.take(check.id, at, f"{verb}{check.id} {at}".strip())
            lines += _result_lines(session)
    return Reply(session, tuple(lines))


def _again(session: DrillSession, words: Sequence[str]) -> Reply:
    return _test(session, words, again=True)


def _result_lines(session: DrillSession) -> list[str]:
    done = session.taken[-1]
    check = load_catalogue().checks[done.test]
    cost = f"{done.minutes:g} min" + (f" + {done.access:g} min to get there" if done.access else "")
    where = f" {done.at}" if done.at else ""
    lines = [f"{check.id}{where}, {check.title}: {cost}; {session.minutes:g} min so far"]
    rows: dict[tuple[str, str], list[str]] = {}
    for reading in done.readings:
        text = f"{reading.spot} {reading.text}" if reading.spot else reading.text
        rows.setdefault((reading.at, reading.check), []).append(text)
    several = len({at for at, _ in rows}) > 1
    for (at, name), texts in rows.items():
        lines.append(f"  {at + '  ' if several and at else ''}{_label(name)}: {', '.join(texts)}")
    return lines


def _label(name: str) -> str:
    spec = load_catalogue().fields.get(name)
    return (
        spec.label
        if spec is not None
        else name.replace("km_since_pads", "distance since pads").replace("_", " ")
    )


def _tests_and_places(case: DrillCase, words: Sequence[str]) -> tuple[list[Check], list[str]]:
    """Tests and places of one line; a name of several words stands alone."""
    names, places = [], []
    for word in words:
        place = word.strip(",").upper()
        if place in case.places or place in case.axles:
            places.append(place)
        else:
            names.append(word.strip(","))
    if not names:
        raise InputError(
            f"'{' '.join(words)}' names no test", allowed="a test and where", cure="Write 'list' or 'help'"
        )
    ids = [name.upper() for name in names]
    catalogue = load_catalogue().checks
    checks = (
        [catalogue[id] for id in ids]
        if all(id in catalogue for id in ids)
        else [_named(case, " ".join(names))]
    )
    computed = [check for check in checks if not check.minutes and not check.minutes_per_end]
    if computed:
        raise InputError(
            f"{computed[0].id} ({computed[0].title}) has no reading of its own: {computed[0].how}",
            allowed="a test of the list",
            cure="Work it out from the corners of F5",
        )
    return checks, places


def _named(case: DrillCase, name: str) -> Check:
    """The test that a name means: its title, or a field that it fills."""
    asked = name.casefold()
    checks, fields = drillable_checks(case), load_catalogue().fields
    titles = {check.id: check.title.casefold() for check in checks}
    found = [check for check in checks if titles[check.id] == asked]
    found = found or [check for check in checks if asked in titles[check.id]]
    found = found or [
        check for check in checks if any(asked in fields[field].label.casefold() for field in check.fields)
    ]
    # The same reading may be taken with the wheel on and off: there is then no telling which is meant.
    if len(found) != 1:
        near = ", ".join(f"{check.id} {check.title}" for check in found)
        raise InputError(
            f"'{name}' is {'no test' if not found else 'more than one test'} here",
            allowed=near or "the tests of 'list', or a command of 'help'",
            cure="Use the id" if found else "Write 'list' or 'help'",
        )
    return found[0]


# ---------------------------------------------------------------- questions that cost nothing


def _how(session: DrillSession, words: Sequence[str]) -> Reply:
    name = " ".join(words)
    catalogue = load_catalogue()
    check = catalogue.checks.get(name.upper()) or _named(session.case, name)
    lines = [f"{check.id}, {check.title}: {check.minutes:g} min, state {' and '.join(check.states)}"]
    lines += [f"  {key}: {value}" for key, value in how_facts(session.case, check)]
    return Reply(session, tuple(lines))


def how_facts(case: DrillCase, check: Check) -> tuple[tuple[str, str], ...]:
    """Return how a test is done on the vehicle of a case.

    Parameters
    ----------
    case : DrillCase
        The case.
    check : Check
        The test.

    Returns
    -------
    tuple of (str, str)
        What is said, and the words; what the catalogue leaves empty is left out.
    """
    day = case.looks[0].document["inspection"]["taken_on"]
    limits = load_catalogue().limits_for(case.spec.axles[0].design, day)
    facts = (
        ("how", check.how),
        ("where", check.where),
        ("gauge", check.gauge),
        ("limit", check.limit_words(limits)),
        ("beyond means", check.beyond),
        ("goes wrong", "; ".join(check.mistakes)),
    )
    return tuple((key, value) for key, value in facts if value)


def _list(session: DrillSession, words: Sequence[str]) -> Reply:
    asked = {word.upper() for word in words}
    lines: list[str] = []
    for state, checks in checks_by_state(session.case):
        if not asked or state.code in asked:
            low, high = state.minutes
            lines.append(f"{state.code}, {state.title} ({low:g} to {high:g} min for each {state.per})")
            lines += [
                f"  {check.id:<4} {check.title}: {check.minutes:g} min"
                + (f" + {check.minutes_per_end:g} for each end" if check.minutes_per_end else "")
                for check in checks
            ]
    return Reply(session, tuple(lines))


def checks_by_state(case: DrillCase) -> tuple[tuple[State, tuple[Check, ...]], ...]:
    """Return the tests of a case under the state of the vehicle that they need.

    Parameters
    ----------
    case : DrillCase
        The case.

    Returns
    -------
    tuple of (State, tuple of Check)
        In the order of the catalogue; states without a test are left out.
    """
    checks = drillable_checks(case)
    grouped = [
        (state, tuple(check for check in checks if _main_state(check) == code))
        for code, state in load_catalogue().states.items()
    ]
    return tuple((state, own) for state, own in grouped if own)


def _main_state(check: Check) -> str:
    """The state under which a test is listed: air up is a help to another state, not one by itself."""
    return next((state for state in check.states if state != "A"), "A")


def _readings(session: DrillSession, words: Sequence[str]) -> Reply:
    asked = {word.upper() for word in words}
    places = [at for at in session.case.places if not asked or at in asked or at[:-1] in asked]
    return Reply(session, reading_table(session, places, vehicle=not asked))


def reading_table(session: DrillSession, places: Sequence[str], *, vehicle: bool = True) -> tuple[str, ...]:
    """Return everything known so far as lines of a table.

    Parameters
    ----------
    session : DrillSession
        The drill.
    places : sequence of str
        Wheel ends, one column each.
    vehicle : bool, optional
        Whether the readings of the vehicle stand above it.

    Returns
    -------
    tuple of str
        Lines; an empty cell was not taken.
    """
    rows: dict[tuple[str, str], dict[str, str]] = {}
    lines = []
    for (at, name, spot), reading in session.latest.items():
        if at in places:
            rows.setdefault((name, spot), {})[at] = reading.text
        elif not at and vehicle:
            lines.append(f"{_label(name)}: {reading.text}")
    for end in session.document()["wheel_end"]:
        if end["at"] in places and "noticed" in end:
            rows.setdefault(("noticed", ""), {})[end["at"]] = ", ".join(end["noticed"])
    for first in range(0, len(places), _COLUMNS):
        part = places[first : first + _COLUMNS]
        width = max([10, *(len(cells.get(at, "")) for cells in rows.values() for at in part)]) + 2
        lines.append(" " * _LABEL + "".join(f"{at:>{width}}" for at in part))
        for (name, spot), cells in rows.items():
            if any(at in cells for at in part):
                label = f"{_short(name)} {spot}".strip()[: _LABEL - 1]
                lines.append(f"{label:<{_LABEL}}" + "".join(f"{cells.get(at, ''):>{width}}" for at in part))
    return tuple(lines)


def _short(name: str) -> str:
    """The name of a reading without what stands in brackets."""
    return _label(name).split(" (")[0]


def _causes(session: DrillSession, words: Sequence[str]) -> Reply:
    asked = " ".join(words).casefold()
    rows = tuple(
        f"  {cause.code:<4} {cause.name} ({' or '.join(cause.scopes)})"
        for cause in load_causes().values()
        if asked in f"{cause.code} {cause.name}".casefold()
    )
    return Reply(session, rows or (f"  no cause has '{asked}' in its name",))


def _help(session: DrillSession, words: Sequence[str]) -> Reply:
    del words
    return Reply(session, HELP)


# ---------------------------------------------------------------- decisions


def _cause(session: DrillSession, words: Sequence[str]) -> Reply:
    command = f"cause {' '.join(words)}"
    if [word.casefold() for word in words] in [[none] for none in _NONE]:
        decided = replace(session, causes=(), no_cause=True, commands=(*session.commands, "cause none"))
        return Reply(decided, ("Decided: no cause.",))
    blame = _blame(session.case, words)
    causes = tuple(dict.fromkeys((*session.causes, blame)))
    decided = replace(session, causes=causes, no_cause=False, commands=(*session.commands, command))
    return Reply(decided, (f"Decided: {_blame_words(blame)}.",))


def _blame(case: DrillCase, words: Sequence[str]) -> tuple[str, str]:
    """Place and code of a cause that a person named."""
    places = [word for word in words if _is_place(case, word)]
    name = " ".join(word for word in words if word not in places)
    causes = load_causes()
    code = name.upper()
    if code not in causes:
        asked = name.casefold()
        found = [cause.code for cause in causes.values() if asked and asked in cause.name.casefold()]
        if len(found) != 1:
            raise InputError(
                f"'{name}' is {'no cause' if not found else 'more than one cause'}",
                allowed=", ".join(f"{code} {causes[code].name}" for code in found)
                or "a code as G4, or a name",
                cure="Write 'causes' for the list",
            )
        code = found[0]
    scopes = cause_of(code).scopes
    if not places and scopes == (VEHICLE,):
        return VEHICLE, code
    if len(places) != 1:
        example = case.places[0] if scopes[0] == "wheel end" else case.axles[0]
        raise InputError(
            f"{code} ({causes[code].name}) wants one place",
            allowed=" or ".join(scopes),
            cure=f"Write for instance 'cause {code} {example}'",
        )
    place = places[0].casefold() if places[0].casefold() == VEHICLE else places[0].upper()
    scope = VEHICLE if place == VEHICLE else "axle" if place in case.axles else "wheel end"
    if scope not in scopes and code != DATA_ERROR:
        raise InputError(
            f"{code} ({causes[code].name}) cannot be a cause of a {scope}",
            where=place,
            allowed=" or ".join(scopes),
            cure="Name a wheel end as '1L', an axle as '1', or 'vehicle'",
        )
    return place, code


def _is_place(case: DrillCase, word: str) -> bool:
    return word.upper() in case.places or word.upper() in case.axles or word.casefold() == VEHICLE


def _blame_words(blame: tuple[str, str]) -> str:
    place, code = blame
    return f"{code} ({load_causes()[code].name}), {place}"


def _job(session: DrillSession, words: Sequence[str]) -> Reply:
    if [word.casefold() for word in words] in [[none] for none in _NONE]:
        decided = replace(session, work=(), no_work=True, commands=(*session.commands, "job none"))
        return Reply(decided, ("Decided: no work.",))
    orders = _orders(session.case, words)
    work = tuple(dict.fromkeys((*session.work, *orders)))
    command = f"job {' '.join(words)}"
    decided = replace(session, work=work, no_work=False, commands=(*session.commands, command))
    return Reply(decided, tuple(f"Decided: {_order_words(order)}." for order in orders))


def _orders(case: DrillCase, words: Sequence[str]) -> list[tuple[str, str]]:
    codes = [word.upper() for word in words if word.upper() in SITUATIONS]
    places = [word.upper() for word in words if word.upper() in case.places or word.upper() in case.axles]
    if not codes or not places or len(codes) + len(places) != len(words):
        raise InputError(
            f"'job {' '.join(words)}' is not an order",
            allowed=f"{SITUATIONS[0]} to {SITUATIONS[-1]} and an axle ({', '.join(case.axles)}), or none",
            cure=f"Write for instance 'job {SITUATIONS[0]} {case.axles[0]}'",
        )
    axles = [place if place in case.axles else place[:-1] for place in places]
    return [(axle, code) for code in codes for axle in dict.fromkeys(axles)]


def _order_words(order: tuple[str, str]) -> str:
    axle, code = order
    return f"{code} ({load_job_choice().title(code)}), axle {axle}"


def _not(session: DrillSession, words: Sequence[str]) -> Reply:
    command = f"not {' '.join(words)}"
    commands = (*session.commands, command)
    if words and words[0].upper() in SITUATIONS:
        orders = _orders(session.case, words)
        kept = tuple(order for order in session.work if order not in orders)
        if len(kept) == len(session.work):
            raise InputError(f"'{' '.join(words)}' was not ordered", cure="Write 'decided' to see what was")
        return Reply(replace(session, work=kept, commands=commands), ("Taken back.",))
    blame = _blame(session.case, words)
    if blame not in session.causes:
        raise InputError(f"{_blame_words(blame)} was not blamed", cure="Write 'decided' to see what was")
    rest = tuple(each for each in session.causes if each != blame)
    return Reply(replace(session, causes=rest, commands=commands), ("Taken back.",))


def _decided(session: DrillSession, words: Sequence[str]) -> Reply:
    del words
    causes = [f"  {_blame_words(blame)}" for blame in session.causes]
    work = [f"  {_order_words(order)}" for order in session.work]
    none = ["  no cause"] if session.no_cause else ["  nothing yet"]
    idle = ["  no work"] if session.no_work else ["  nothing yet"]
    return Reply(session, ("causes", *(causes or none), "work", *(work or idle)))


def _done(session: DrillSession, words: Sequence[str]) -> Reply:
    del words
    if not session.causes and not session.no_cause:
        raise InputError(
            "no cause has been decided",
            allowed="at least one cause, or none",
            cure="Write 'cause none' if you mean it",
        )
    if not session.work and not session.no_work:
        raise InputError(
            "no work has been decided",
            allowed="at least one order, or none",
            cure="Write 'job none' if you mean it",
        )
    return Reply(session, (), End.DONE)


def _later(session: DrillSession, words: Sequence[str]) -> Reply:
    del words
    return Reply(session, ("The drill waits: the same command goes on with it.",), End.LATER)


def _drop(session: DrillSession, words: Sequence[str]) -> Reply:
    del words
    return Reply(session, ("Dropped: nothing is scored and nothing is kept.",), End.DROP)


_COMMANDS: Mapping[str, Callable[[DrillSession, Sequence[str]], Reply]] = {
    "again": _again,
    "how": _how,
    "list": _list,
    "readings": _readings,
    "causes": _causes,
    "help": _help,
    "cause": _cause,
    "job": _job,
    "not": _not,
    "decided": _decided,
    "done": _done,
    "later": _later,
    "drop": _drop,
}
