"""What does not change in a life: vehicles, axles, brake designs and duties as arrays over wheel ends.

Wheel ends of one vehicle stand together, axle by axle, left before right, so that sums over a vehicle or an
axle are sums over neighbours.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from wearline.physics.chamber import area_of_type
from wearline.physics.domain import GRAVITY
from wearline.practice.faults import VEHICLE
from wearline.practice.parameters import Mechanisms, load_duties

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wearline.catalogue.loading import Catalogue
    from wearline.catalogue.model import Design
    from wearline.practice.specification import AxleSpec, VehicleSpec

__all__ = ["Floats", "Layout", "lay_out", "sums"]

Floats: TypeAlias = "NDArray[Any]"
"""An array of floats, over wheel ends unless said otherwise."""

_GENERIC_VOLUME = 165e-4 * 18e-3
"""[m3] Usable friction of one pad to which the duties' energies belong: generic 22.5-inch brake."""

_SERVICE_FRICTION = 3e-3
"""[m] Friction at which a pad's life ends in the table of duties."""

_SMALL_ROTOR = 0.40
"""[m] Rotors below this belong to 17.5-inch and 19.5-inch wheels with their smaller tyres."""

_DIMENSIONS = (
    "friction_new",
    "plate",
    "rotor_new",
    "rotor_min",
    "friction_area",
    "pad_length",
    "measuring_length",
    "measuring_height",
    "indicator_full_scale",
    "guide_span",
    "dial_distance",
    "pin_distance",
    "effective_radius",
    "lever_ratio",
    "mechanical_efficiency",
    "friction_coefficient",
    "push_out_pressure",
    "stroke_available",
)


@dataclass(frozen=True, slots=True)
class Layout:
    """Everything about a number of vehicles that no repair changes.

    Parameters
    ----------
    specs : tuple of VehicleSpec
        The vehicles.
    vehicle, axle : array of int
        Vehicle and axle of each wheel end, counted over all.
    vehicle_starts, group_starts : array of int
        First wheel end of each vehicle, and of each group that shares one demand.
    group : array of int
        Group of each wheel end: the vehicle, or the axle under electronic control.
    by_axle : array of bool
        True under electronic control.
    places : mapping of (int, str) to array of int
        Vehicle index and place (wheel end, axle or ``"vehicle"``) to wheel ends.
    dimension : mapping of str to array
        Dimensions and ratios of the brake design [SI].
    nominal_clearance, compliance, chamber_area, tyre_radius : array
        Running clearance, elastic give by clamp force, chamber area and tyre radius [SI].
    wheel_load : array, [N]
        Load of the wheel end.
    share, share_without : array, [1]
        Energy against the vehicle's mean, with the retarder as fitted and without it.
    duty : mapping of str to array
        Numbers of the duty [SI].
    slides : array of bool
        True where the indicator shows the position of the calliper.
    """

    specs: tuple[VehicleSpec, ...]
    vehicle: NDArray[np.intp]
    axle: NDArray[np.intp]
    vehicle_starts: NDArray[np.intp]
    group_starts: NDArray[np.intp]
    group: NDArray[np.intp]
    by_axle: NDArray[np.bool_]
    places: Mapping[tuple[int, str], NDArray[np.intp]]
    dimension: Mapping[str, Floats]
    nominal_clearance: Floats
    compliance: Floats
    chamber_area: Floats
    tyre_radius: Floats
    wheel_load: Floats
    share: Floats
    share_without: Floats
    duty: Mapping[str, Floats]
    slides: NDArray[np.bool_]

    @property
    def ends(self) -> int:
        """Number of wheel ends."""
        return int(self.vehicle.size)

    def mean_over_vehicle(self, values: Floats) -> Floats:
        """Return the mean of each vehicle, at each of its wheel ends.

        Parameters
        ----------
        values : array, shape (..., wheel ends)
            Anything.

        Returns
        -------
        array, same shape
            The means.
        """
        counts = np.bincount(self.vehicle)
        result: Floats = (sums(values, self.vehicle_starts) / counts)[..., self.vehicle]
        return result


def sums(values: Floats, starts: NDArray[np.intp]) -> Floats:
    """Return sums over neighbours.

    Parameters
    ----------
    values : array, shape (..., wheel ends)
        Anything.
    starts : array of int, shape (groups,)
        First wheel end of each group.

    Returns
    -------
    array, shape (..., groups)
        The sums.
    """
    result: Floats = np.add.reduceat(values, starts, axis=-1)
    return result


def _usual_share(axle: AxleSpec, spec: VehicleSpec, mechanisms: Mechanisms, retarder: bool) -> float:
    if axle.share is not None:
        return axle.share
    positions = mechanisms.positions
    if axle.role == "drive":
        return positions.drive_with_retarder if retarder else positions.drive
    share = float(getattr(positions, axle.role))
    if axle.role == "trailer" and axle is spec.axles[-1]:
        share *= positions.rearmost_trailer
    return share


def _shares(spec: VehicleSpec, mechanisms: Mechanisms, retarder: bool) -> Floats:
    shares = np.array([_usual_share(axle, spec, mechanisms, retarder) for axle in spec.axles])
    return np.repeat(shares / shares.mean(), 2)


def _places(specs: Sequence[VehicleSpec]) -> dict[tuple[int, str], NDArray[np.intp]]:
    places: dict[tuple[int, str], NDArray[np.intp]] = {}
    first = 0
    for number, spec in enumerate(specs):
        places[number, VEHICLE] = np.arange(first, first + 2 * len(spec.axles))
        for axle in spec.axles:
            places[number, axle.id] = np.arange(first, first + 2)
            places[number, f"{axle.id}L"] = np.array([first])
            places[number, f"{axle.id}R"] = np.array([first + 1])
            first += 2
    return places


def _compliance(designs: Sequence[Design], areas: Floats) -> Floats:
    """Elastic give by clamp force: the middle of the design's range at 690 kPa."""
    clamp = np.array([d.lever_ratio * d.mechanical_efficiency for d in designs]) * areas * (690e3 - 30e3)
    give = np.array([0.5 * (d.give_least + d.give_most) for d in designs])
    result: Floats = give / clamp
    return result


_DUTY_NUMBERS = (
    "energy",
    "specific_wear",
    "working_temperature",
    "speed",
    "applications",
    "roughness",
    "without_retarder",
)


def _duty_columns(specs: Sequence[VehicleSpec], vehicle: NDArray[np.intp]) -> dict[str, Floats]:
    """Numbers of the duties at each wheel end."""
    duties = [load_duties()[spec.duty] for spec in specs]
    return {
        name: np.array([float(getattr(duty, name)) for duty in duties])[vehicle] for name in _DUTY_NUMBERS
    }


def lay_out(specs: Sequence[VehicleSpec], mechanisms: Mechanisms, catalogue: Catalogue) -> Layout:
    """Return the arrays of a number of vehicles.

    Parameters
    ----------
    specs : sequence of VehicleSpec
        The vehicles, at least one.
    mechanisms : Mechanisms
        Numbers of the simulation.
    catalogue : Catalogue
        Brake designs.

    Returns
    -------
    Layout
        Arrays over all wheel ends.

    Raises
    ------
    CatalogueError
        If a design is not in the catalogue.
    """
    axles = [(number, axle) for number, spec in enumerate(specs) for axle in spec.axles]
    designs = [catalogue.design(axle.design) for _, axle in axles for _ in "LR"]
    vehicle = np.repeat(np.array([number for number, _ in axles]), 2)
    axle_index = np.repeat(np.arange(len(axles)), 2)
    by_axle = np.array([spec.control == "axle" for spec in specs])[vehicle]
    group_key = np.where(by_axle, axle_index, -1 - vehicle)
    starts = np.flatnonzero(np.diff(group_key, prepend=group_key[0] + 1))
    chamber_area = np.repeat(np.array([float(area_of_type(axle.chamber_type)) for _, axle in axles]), 2)
    dimension = {name: np.array([float(getattr(design, name)) for design in designs]) for name in _DIMENSIONS}
    usable = dimension["friction_area"] * (dimension["friction_new"] - _SERVICE_FRICTION)
    duty = _duty_columns(specs, vehicle)
    duty["energy"] = duty["energy"] * usable / _GENERIC_VOLUME
    testing = mechanisms.testing
    small = np.array([design.rotor_diameter < _SMALL_ROTOR for design in designs])
    return Layout(
        specs=tuple(specs),
        vehicle=vehicle,
        axle=axle_index,
        vehicle_starts=np.flatnonzero(np.diff(vehicle, prepend=-1)),
        group_starts=starts,
        by_axle=by_axle,
        group=np.cumsum(np.isin(np.arange(vehicle.size), starts)) - 1,
        places=_places(specs),
        dimension=dimension,
        nominal_clearance=np.array([2.0 * design.clearance_per_side for design in designs]),
        compliance=_compliance(designs, chamber_area),
        chamber_area=chamber_area,
        tyre_radius=np.where(small, testing.small_tyre_radius, testing.tyre_radius),
        wheel_load=np.repeat(np.array([axle.load for _, axle in axles]), 2) * GRAVITY / 2.0,
        share=np.concatenate([_shares(spec, mechanisms, spec.retarder == "fitted") for spec in specs]),
        share_without=np.concatenate([_shares(spec, mechanisms, False) for spec in specs]),
        duty=duty,
        slides=np.array([design.indicator_kind == "slide" for design in designs]),
    )
