"""Cases of the drills: a simulated vehicle with hidden causes at a level, the same for the same seed.

A case is fair when each of its causes changes at least one reading by three standard uncertainties of its
gauge, which is found by driving the same vehicle over the same road without that cause.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache
from typing import TypeAlias

import numpy as np

from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError, ProgramFault
from wearline.practice.cases import draw_spec, place_for
from wearline.practice.documents import Document
from wearline.practice.faults import VEHICLE, Fault, Truth
from wearline.practice.numbers import read_table
from wearline.practice.recording import Misreading, Recording
from wearline.practice.simulate import SimulatedInspection, simulate_looks
from wearline.practice.specification import VehicleSpec
from wearline.units import parse_quantity

__all__ = [
    "DATA_ERROR",
    "DrillCase",
    "Effect",
    "Level",
    "draw_case",
    "effects_of",
    "given_checks",
    "level_of",
    "levels",
    "written_value",
]

DATA_ERROR = "U5"
"""Code of a reading that was written down wrong."""

_DAY = date(2026, 9, 1)
_LOOKS = 3
_ATTEMPTS = 60
_PLAIN_SHIFT = 3.0
_WORD_SHIFT = 3.0
_UNMEASURED_SHIFT = 3.0
_UNRECORDED = "pads changed without record"
_CORNERS = ("LT", "LB", "TT", "TB")

Place: TypeAlias = str
Blame: TypeAlias = tuple[Place, str]
"""A place with the code of a cause there."""


@dataclass(frozen=True, slots=True)
class Level:
    """One level of the drills.

    Parameters
    ----------
    number : int
        From 1.
    name, about : str
        Name and what it teaches.
    pool : tuple of str
        Codes to draw from.
    count : int
        How many of them.
    chains : tuple of tuple of str
        Chains to draw from instead, parent first.
    slips : tuple of str
        Kinds of misreading to draw one from; empty for none.
    control : str
        Who keeps the demanded braking; empty: as usual for the vehicle.
    severity : (float, float), [1]
        Range of the severity.
    mate_hotter, mate_thinner : float, [K], [m]
        How much the mate of the sick end must have suffered at least; 0 where it need not.
    """

    number: int
    name: str
    about: str
    pool: tuple[str, ...]
    count: int
    chains: tuple[tuple[str, ...], ...]
    slips: tuple[str, ...]
    control: str
    severity: tuple[float, float]
    mate_hotter: float
    mate_thinner: float


@dataclass(frozen=True, slots=True, eq=False)
class DrillCase:
    """One case.

    Parameters
    ----------
    level : Level
        Its level.
    seed : int
        Its seed; level and seed make the case.
    spec : VehicleSpec
        The vehicle.
    truth : mapping of str to tuple of Fault
        Hidden causes by place, without the slip of the pen.
    looks : tuple of SimulatedInspection
        The readings as first written down, and as taken again with care and other gauges.
    slip : Misreading or None
        What the first look got wrong.
    roots : tuple of (str, str)
        Place and code of the causes from which the others grew.
    complaint : str
        What the driver says.
    asked : mapping of str to tuple of Fault
        The causes as asked of the simulation, before it filled in variant and history.
    draws : tuple of int
        What the generator of the simulation was made from.
    """

    level: Level
    seed: int
    spec: VehicleSpec
    truth: Truth
    looks: tuple[SimulatedInspection, ...]
    slip: Misreading | None
    roots: tuple[Blame, ...]
    complaint: str
    asked: Truth = field(repr=False)
    draws: tuple[int, ...] = field(repr=False)

    @property
    def blames(self) -> tuple[Blame, ...]:
        """Every cause with its place, roots first, the slip of the pen last."""
        own = [(where, fault.code) for where, faults in self.truth.items() for fault in faults]
        ordered = [*self.roots, *(blame for blame in own if blame not in self.roots)]
        return tuple(ordered) if self.slip is None else (*ordered, (self.slip.where or VEHICLE, DATA_ERROR))

    @property
    def places(self) -> tuple[str, ...]:
        """Wheel ends, axle by axle."""
        return tuple(str(place) for place in self.spec.places)

    @property
    def axles(self) -> tuple[str, ...]:
        """Axle ids."""
        return tuple(axle.id for axle in self.spec.axles)

    @property
    def name(self) -> str:
        """Name of the case, as ``"2-417"``: level and seed."""
        return f"{self.level.number}-{self.seed}"

    def without(self, blame: Blame) -> SimulatedInspection:
        """Return the same vehicle on the same road without one cause.

        Parameters
        ----------
        blame : (str, str)
            Place and code.

        Returns
        -------
        SimulatedInspection
            Its first look.
        """
        if blame[1] == DATA_ERROR:
            return _simulated(self.spec, self.asked, None, self.draws, frozenset(), 1)[0]
        return _simulated(self.spec, self.asked, self.slip, self.draws, frozenset({blame}), 1)[0]


@dataclass(frozen=True, slots=True)
class Effect:
    """What one cause does to one reading.

    Parameters
    ----------
    at, check, spot : str
        Wheel end, field and spot.
    with_cause, without : float or str or None
        True figure [SI] or word, as it is and without the cause; None where it cannot be taken.
    size : float, [1]
        Size of the difference in standard uncertainties of one reading.
    """

    at: str
    check: str
    spot: str
    with_cause: float | str | None
    without: float | str | None
    size: float


# ---------------------------------------------------------------- levels


@cache
def levels() -> tuple[Level, ...]:
    """Return every level.

    Returns
    -------
    tuple of Level
        In order; read once.

    Raises
    ------
    CatalogueError
        If the data file is damaged.
    """
    return tuple(
        Level(
            number=int(number),
            name=str(table["name"]),
            about=str(table["about"]),
            pool=tuple(table.get("pool", ())),
            count=int(table.get("count", 0)),
            chains=tuple(tuple(chain) for chain in table.get("chains", ())),
            slips=tuple(table.get("slips", ())),
            control=str(table.get("control", "")),
            severity=(float(table["severity"][0]), float(table["severity"][1])),
            mate_hotter=float(table.get("mate_hotter_K", 0.0)),
            mate_thinner=1e-3 * float(table.get("mate_thinner_mm", 0.0)),
        )
        for number, table in read_table("drills.toml")["level"].items()
    )


def given_checks() -> tuple[str, ...]:
    """Return the checks whose readings lie on the table at the beginning.

    Returns
    -------
    tuple of str
        Check ids.
    """
    return tuple(read_table("drills.toml")["given"])


def level_of(text: str) -> Level:
    """Return the level that a person named.

    Parameters
    ----------
    text : str
        Number or name; the beginning of a name is enough where it is the only one.

    Returns
    -------
    Level
        The level.

    Raises
    ------
    InputError
        If there is no such level.
    """
    asked = " ".join(text.split()).casefold()
    found = [level for level in levels() if asked in (str(level.number), level.name)]
    found = found or [level for level in levels() if asked and level.name.startswith(asked)]
    if len(found) != 1:
        raise InputError(
            f"there is no level '{text}'",
            where="--level",
            allowed=", ".join(f"{level.number} ({level.name})" for level in levels()),
            cure="Give the number or the name",
        )
    return found[0]


# ---------------------------------------------------------------- drawing


def draw_case(level: Level, seed: int) -> DrillCase:
    """Return the case of a level and a seed.

    Parameters
    ----------
    level : Level
        The level.
    seed : int, 0 or more
        The seed.

    Returns
    -------
    DrillCase
        The same for the same level and seed.

    Raises
    ------
    InputError
        If the seed is negative.
    ProgramFault
        If no fair case comes up.
    """
    if seed < 0:
        raise InputError(
            f"the seed is {seed}", where="--seed", allowed="0 or more", cure="Any whole number will do"
        )
    for attempt in range(_ATTEMPTS):
        case = _drawn(level, seed, attempt)
        if _is_fair(case):
            return case
    raise ProgramFault(f"no fair case of level {level.number} came up with seed {seed}")


def _drawn(level: Level, seed: int, attempt: int) -> DrillCase:
    rng = np.random.default_rng((seed, level.number, attempt))
    spec = replace(draw_spec(rng, 0), id=f"Drill {level.number}-{seed}")
    if level.control:
        spec = replace(spec, control="axle" if level.control == "axle" else "vehicle")
    spec, truth, roots = _causes(level, spec, rng)
    slip = _slip(level, spec, truth, rng)
    draws = (seed, level.number, attempt, 1)
    looks = _simulated(spec, truth, slip, draws, frozenset(), _LOOKS)
    full = looks[0].truth.faults
    return DrillCase(
        level=level,
        seed=seed,
        spec=spec,
        truth={where: full[where] for where in truth},
        asked=truth,
        looks=looks,
        slip=slip,
        roots=roots,
        complaint=_complaint(looks[0].document),
        draws=draws,
    )


def _causes(
    level: Level, spec: VehicleSpec, rng: np.random.Generator
) -> tuple[VehicleSpec, dict[str, tuple[Fault, ...]], tuple[Blame, ...]]:
    """Causes by place, and the roots among them; a cause in a retarder gets a vehicle that has one."""
    if level.chains:
        codes = level.chains[int(rng.integers(len(level.chains)))]
    else:
        codes = tuple(str(code) for code in rng.choice(level.pool, level.count, replace=False))
    if "U2" in codes:
        spec = replace(spec, retarder="fitted")
    truth: dict[str, tuple[Fault, ...]] = {}
    placed: list[Blame] = []
    for code in codes:
        where = place_for(code, spec, rng)
        if level.chains and placed and placed[0][0] != VEHICLE:
            where = placed[0][0]
        fault = Fault(code, float(rng.uniform(*level.severity)))
        truth[where] = (*truth.get(where, ()), fault)
        placed.append((where, code))
    return spec, truth, tuple(placed[:1]) if level.chains else ()


def _slip(level: Level, spec: VehicleSpec, truth: Truth, rng: np.random.Generator) -> Misreading | None:
    if not level.slips:
        return None
    kind = level.slips[int(rng.integers(len(level.slips)))]
    if kind == _UNRECORDED:
        return Misreading(kind)
    sick = next(iter(truth))
    places = [str(place) for place in spec.places]
    # At the sick end or at its mate: there people look, and there the slip leads them astray.
    near = [place for place in places if place[:-1] == sick[:-1]] or places
    return Misreading(kind, near[int(rng.integers(len(near)))])


def _simulated(
    spec: VehicleSpec,
    truth: Truth,
    slip: Misreading | None,
    draws: tuple[int, ...],
    leave_out: frozenset[Blame],
    count: int,
) -> tuple[SimulatedInspection, ...]:
    first = Recording(misreadings=() if slip is None else (slip,))
    return tuple(
        simulate_looks(
            spec,
            truth,
            rng=np.random.default_rng(draws),
            taken_on=_DAY,
            recordings=[first, *(Recording() for _ in range(count - 1))],
            leave_out=leave_out,
        )
    )


_SAID = {
    "pull": "the vehicle pulls to one side when it brakes",
    "judder": "it shakes when it brakes",
    "squeal": "a brake squeals or groans",
    "knock": "something knocks on rough road",
    "smell": "there is a smell of hot brake",
}


def _complaint(document: Document) -> str:
    """What the driver says: what was noticed, without the wheel end, which a driver cannot know."""
    noticed = [word for end in document["wheel_end"] for word in end.get("noticed", ())]
    said = [words for word, words in _SAID.items() if word in noticed]
    if not said:
        return "No complaint: the vehicle is in for its regular look."
    return f"The driver says: {', and '.join(said)}."


# ---------------------------------------------------------------- fairness and effects


def effects_of(case: DrillCase, blame: Blame) -> tuple[Effect, ...]:
    """Return what one cause does to the readings, the greatest effect first.

    Parameters
    ----------
    case : DrillCase
        The case.
    blame : (str, str)
        Place and code.

    Returns
    -------
    tuple of Effect
        Readings that it changes by more than one standard uncertainty, words that it changes, and checks
        that it makes impossible. For a slip of the pen: what was written against what the gauge showed.

    Notes
    -----
    Size = |with - without| / u, with u of one reading from the catalogue.
    """
    found = _slip_effects(case) if blame[1] == DATA_ERROR else _cause_effects(case, blame)
    return tuple(sorted(found, key=lambda effect: (-effect.size, effect.at, effect.check, effect.spot)))


def _cause_effects(case: DrillCase, blame: Blame) -> list[Effect]:
    fields, twin = load_catalogue().fields, case.without(blame)
    found = []
    for at, state in case.looks[0].states.items():
        sound = twin.states[at]
        for key in {**state.figures, **sound.figures}:
            here, there = state.figures.get(key), sound.figures.get(key)
            if here is None or there is None:
                size = _UNMEASURED_SHIFT
            else:
                u = fields[key[0]].standard_uncertainty(here)
                size = abs(here - there) / u if u else _PLAIN_SHIFT * float(here != there)
            if size > 1.0:
                found.append(Effect(at, *key, here, there, size))
        for name, word in state.words.items():
            if word != sound.words[name]:
                found.append(Effect(at, name, "", word, sound.words[name], _WORD_SHIFT))
    return found


def _slip_effects(case: DrillCase) -> list[Effect]:
    """What stands on paper wrongly, against what the gauge showed."""
    fields = load_catalogue().fields
    wrong, right = case.looks[0].document, case.without((VEHICLE, DATA_ERROR)).document
    found = []
    for first, again in zip(wrong["wheel_end"], right["wheel_end"], strict=True):
        for name in (name for name in first if name in fields and name in again):
            spots = _CORNERS if isinstance(first[name], list) else ("",)
            for spot in spots:
                here, there = (written_value(end[name], name, spot) for end in (first, again))
                if isinstance(here, float) and isinstance(there, float):
                    u = fields[name].standard_uncertainty(there)
                    size = abs(here - there) / u if u else 0.0
                    if size > 1.0:
                        found.append(Effect(first["at"], name, spot, here, there, size))
    before, after = (look["inspection"].get("km_since_pads") for look in (wrong, right))
    if before and after and abs(before - after) > 0.1 * after:
        size = 10.0 * abs(before - after) / after
        found.append(Effect("", "distance_since_pads", "", before * 1e3, after * 1e3, size))
    return found


def written_value(value: object, name: str, spot: str = "") -> float | str | None:
    """Return what stands in a field of a document as a number or word.

    Parameters
    ----------
    value : object
        Text, number, list of corners, or table of repeats.
    name : str
        Field.
    spot : str, optional
        Corner.

    Returns
    -------
    float or str or None
        Number [SI], word, or None where there is nothing.
    """
    spec = load_catalogue().fields[name]
    if isinstance(value, list):
        value = value[_CORNERS.index(spot)] if spot in _CORNERS else None
    if isinstance(value, Mapping):
        turns = [written_value(each, name) for each in value["readings"]]
        numbers = [turn for turn in turns if isinstance(turn, float)]
        return sum(numbers) / len(numbers)
    if isinstance(value, int | float):
        return float(value)
    if not isinstance(value, str) or not value:
        return None
    if spec.kind is None or value in spec.words or value.startswith("cannot"):
        return value
    return parse_quantity(value, spec.kind, default_unit=spec.unit).value


def _is_fair(case: DrillCase) -> bool:
    """Whether every cause shows in readings that a workshop takes, and the mate suffered where it should."""
    reached = {name for check in load_catalogue().checks.values() for name in check.fields}
    for blame in case.blames:
        strongest = [effect.size for effect in effects_of(case, blame) if effect.check in reached]
        if blame[1] == DATA_ERROR:
            strongest = [effect.size for effect in effects_of(case, blame)]
        if not strongest or max(strongest) < _WORD_SHIFT:
            return False
    return _mate_suffered(case)


def _mate_suffered(case: DrillCase) -> bool:
    level = case.level
    if not level.mate_hotter:
        return True
    sick = next(iter(case.truth))
    mate = sick[:-1] + ("R" if sick[-1] == "L" else "L")
    own, other = (case.looks[-1].states[place].figures for place in (sick, mate))
    pads = [(pad, spot) for pad in ("pad_inner", "pad_outer") for spot in _CORNERS]
    thinner = sum(own[key] - other[key] for key in pads) / len(pads)
    hotter = other["temperature", ""] - own["temperature", ""]
    return hotter >= level.mate_hotter and thinner >= level.mate_thinner
