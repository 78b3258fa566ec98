"""The numbers of every mechanism as frozen objects, and copies of them with other plausible values.

Every number is expert judgement unless its line in ``data/mechanisms.toml`` or ``data/duties.toml`` says
otherwise. A simulation with numbers drawn some way off tests a diagnosis that was tuned on others.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cache
from typing import TYPE_CHECKING, TypeVar

from wearline.errors import CatalogueError
from wearline.physics.pad_wear import GENERIC_DUTIES
from wearline.practice.numbers import Table, read_numbers, read_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np

__all__ = [
    "Actuation",
    "Drag",
    "Duty",
    "Guidance",
    "Heat",
    "Mechanisms",
    "Positions",
    "Testing",
    "Wear",
    "load_duties",
    "load_mechanisms",
]


@dataclass(frozen=True, slots=True)
class Guidance:
    """Guide pins and slide; SI units, meanings beside the numbers in ``data/mechanisms.toml``.

    All numbers: expert judgement.
    """

    long_clearance_new: float
    long_clearance_growth: float
    dirt_growth_factor: float
    radial_share: float
    short_clearance_new: float
    short_clearance_oval: float
    short_span: float
    short_pin_share: float
    bias_spread: float
    hand_force: float
    hand_force_spread: float
    stuck_force: float
    loss_per_hand_force: float
    recentring_force: float
    inner_share_of_rub: float


@dataclass(frozen=True, slots=True)
class Actuation:
    """Adjuster, return springs and the mix of brake applications; SI units.

    All numbers: expert judgement.
    """

    clearance_spread: float
    clearance_below_nominal: float
    bite: float
    return_spring_rise: float
    light_pressures: tuple[float, ...]
    light_energy_shares: tuple[float, ...]
    stroke_knee: float
    highest_pressure: float
    raw_pad_loss: float
    bedding_distance: float
    stem_torque: float
    knock_back: float
    quiet_runout: float
    friction_spread: float


@dataclass(frozen=True, slots=True)
class Drag:
    """Contact of pads and rotor with the brake released; SI units.

    All numbers: expert judgement.
    """

    rub_clearance: float
    rub_torque: float
    tilt_torque: float
    tilt_depth: float
    bench_share: float
    rolling_resistance: float
    hand_torque: float


@dataclass(frozen=True, slots=True)
class Heat:
    """Heat balance of one brake and what heat does; SI units.

    All numbers: expert judgement.
    """

    ambient: float
    ambient_spread: float
    cooling: float
    time_constant: float
    stored_share: float
    run_stops: float
    run_speed: float
    run_time: float
    retarder_share_in_run: float
    load_exponent: float
    end_spread: float
    hottest: float
    blue_temperature: float
    boot_temperature: float
    tappet_share: float
    boot_distance: float


@dataclass(frozen=True, slots=True)
class Wear:
    """Pads and rotor; SI units.

    All numbers: expert judgement, except the wedge rate, which is derived.
    """

    end_spread: float
    pad_spread: float
    new_thickness_spread: float
    energy_part: float
    route_spread: float
    route_length: float
    wedge_rate: float
    leading_share: float
    top_share: float
    symmetric_spread: float
    corner_roughness: float
    face_share: float
    face_spread: float
    metal_scoring: float
    metal_scoring_most: float
    scoring_base: float
    runout_base: float
    variation_base: float
    end_play_base: float
    rotor_spread: float
    crack_base: float
    crack_peak_ratio: float
    crack_onset: float
    crack_step: float
    crack_rate: float
    crack_exponent: float
    swing_share: float


@dataclass(frozen=True, slots=True)
class Testing:
    """The vehicle on the roller and in the workshop; SI units.

    All numbers: expert judgement; the fastener torque is invented.
    """

    grip: float
    grip_spread: float
    test_pressure: float
    tyre_radius: float
    small_tyre_radius: float
    parking_share: float
    air_loss: float
    air_loss_applied: float
    threshold_pressure_spread: float
    bridge_gap: float
    bridge_gap_spread: float
    fastener_torque: float
    sensor_gap: float
    guess_step: float
    effect_spread: float
    wrong_word: float


@dataclass(frozen=True, slots=True)
class Positions:
    """Usual energy of one brake by axle, mean of a vehicle 1.

    All numbers: expert judgement.
    """

    steer: float
    drive: float
    drive_with_retarder: float
    tag: float
    pusher: float
    trailer: float
    rearmost_trailer: float


@dataclass(frozen=True, slots=True)
class Mechanisms:
    """All mechanisms together.

    Parameters
    ----------
    guidance : Guidance
        Guide pins and slide.
    actuation : Actuation
        Adjuster and applications.
    drag : Drag
        Contact after release.
    heat : Heat
        Heat balance.
    wear : Wear
        Pads and rotor.
    testing : Testing
        Roller and workshop.
    positions : Positions
        Axle positions.
    """

    guidance: Guidance
    actuation: Actuation
    drag: Drag
    heat: Heat
    wear: Wear
    testing: Testing
    positions: Positions

    def varied(self, rng: np.random.Generator, spread: float) -> Mechanisms:
        """Return other mechanisms, each uncertain number drawn some way off.

        Parameters
        ----------
        rng : numpy.random.Generator
            Source of the draws.
        spread : float, [1], 0 to 0.9
            Greatest relative change, 0.3 for 30 %.

        Returns
        -------
        Mechanisms
            The copy.

        Raises
        ------
        CatalogueError
            If the spread is outside its range.

        Notes
        -----
        Each number of guidance, drag and wear, and each of actuation and heat that is no pressure level,
        temperature or share, is multiplied by a factor uniform in 1 - spread to 1 + spread.
        """
        if not 0.0 <= spread <= 0.9:
            raise CatalogueError(
                f"a spread of {spread:g} is asked for", allowed="0 to 0.9", cure="0.3 varies by 30 %"
            )
        changed: dict[str, object] = {}
        for part, kept in _KEPT.items():
            section = getattr(self, part)
            factors = {
                item.name: getattr(section, item.name) * rng.uniform(1.0 - spread, 1.0 + spread)
                for item in fields(section)
                if item.name not in kept and isinstance(getattr(section, item.name), float)
            }
            changed[part] = replace(section, **factors)
        return replace(self, **changed)  # type: ignore[arg-type]


_KEPT: Mapping[str, frozenset[str]] = {
    "guidance": frozenset({"stuck_force", "inner_share_of_rub", "short_pin_share"}),
    "actuation": frozenset({"highest_pressure", "clearance_below_nominal", "stroke_knee"}),
    "drag": frozenset({"rolling_resistance"}),
    "heat": frozenset(
        {"ambient", "stored_share", "blue_temperature", "boot_temperature", "run_speed", "hottest"}
    ),
    "wear": frozenset({"crack_onset", "energy_part"}),
}
"""Numbers that a variation leaves alone: settings of people, and temperatures, which have no true zero."""


@dataclass(frozen=True, slots=True)
class Duty:
    """One kind of work; SI units.

    Parameters
    ----------
    energy : float, [J/m]
        Friction energy of one brake by distance, mean of the vehicle.
    specific_wear : float, [m3/J]
        Worn volume by energy at the working temperature.
    life : (float, float), [m]
        Distance to the service minimum that 10 % and 90 % of the vehicles reach.
    working_temperature : float, [K]
        Usual temperature of the rotor while it brakes.
    speed : float, [m/s]
        Mean speed while moving.
    applications : float, [1/m]
        Brake applications by distance.
    roughness : float, [1]
        Wear of guides by shaking, made road 1.
    without_retarder : float, [1]
        Energy at the brakes when the retarder or engine brake no longer works.

    Notes
    -----
    All numbers: expert judgement, fitted to typical lives.
    """

    energy: float
    specific_wear: float
    life: tuple[float, ...]
    working_temperature: float
    speed: float
    applications: float
    roughness: float
    without_retarder: float


_Section = TypeVar("_Section", Guidance, Actuation, Drag, Heat, Wear, Testing, Positions, Duty)


def _build(
    kind: type[_Section],
    table: Table,
    where: str,
    status: str,
    given: Mapping[str, float | tuple[float, ...]] | None = None,
) -> _Section:
    here = {name: entry for name, entry in table.items() if name != "as_in"}
    numbers = {**(given or {}), **read_numbers(here, where, status)}
    wanted = {item.name for item in fields(kind)}
    if wanted != numbers.keys():
        odd = ", ".join(sorted(wanted ^ numbers.keys()))
        raise CatalogueError(
            f"missing or unknown numbers: {odd}",
            where=where,
            allowed=", ".join(sorted(wanted)),
            cure="Write each of them once",
        )
    return kind(**numbers)  # type: ignore[arg-type]


@cache
def load_mechanisms() -> Mechanisms:
    """Return the shipped numbers of all mechanisms.

    Returns
    -------
    Mechanisms
        SI values; read once.

    Raises
    ------
    CatalogueError
        If the data file is damaged.
    """
    file = "mechanisms.toml"
    document = read_table(file)
    status = str(document["default"]["status"])
    return Mechanisms(
        guidance=_build(Guidance, document["guidance"], f"{file}, guidance", status),
        actuation=_build(Actuation, document["actuation"], f"{file}, actuation", status),
        drag=_build(Drag, document["drag"], f"{file}, drag", status),
        heat=_build(Heat, document["heat"], f"{file}, heat", status),
        wear=_build(Wear, document["wear"], f"{file}, wear", status),
        testing=_build(Testing, document["testing"], f"{file}, testing", status),
        positions=_build(Positions, document["positions"], f"{file}, positions", status),
    )


@cache
def load_duties() -> Mapping[str, Duty]:
    """Return the shipped duties by name.

    Returns
    -------
    mapping of str to Duty
        Name, as ``"line haul"``, to its numbers.

    Raises
    ------
    CatalogueError
        If the data file is damaged.
    """
    file = "duties.toml"
    document = read_table(file)
    status = str(document["default"]["status"])
    return {
        str(name): _build(
            Duty, table, f"{file}, duty {name}", status, _generic(table, f"{file}, duty {name}")
        )
        for name, table in document["duty"].items()
    }


def _generic(table: Table, where: str) -> dict[str, float | tuple[float, ...]]:
    """Energy, specific wear and life of the generic duty that a duty names."""
    if "as_in" not in table:
        return {}
    for duty in GENERIC_DUTIES:
        if duty.name == table["as_in"]:
            return {
                "energy": duty.energy_per_distance,
                "specific_wear": duty.specific_wear,
                "life": (duty.life_p10, duty.life_p90),
            }
    raise CatalogueError(
        f"there is no generic duty {table['as_in']!r}",
        where=where,
        allowed=", ".join(duty.name for duty in GENERIC_DUTIES),
        cure="Correct the name, or give energy, specific_wear and life here",
    )
