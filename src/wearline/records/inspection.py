"""A vehicle and one inspection of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from wearline.records.notices import Notice
from wearline.records.place import WheelEndPlace
from wearline.records.readings import Gauge, Measured, Observed, Reading, ReadingKey

__all__ = [
    "AXLE_ROLES",
    "VEHICLE_KINDS",
    "WEAR_AXES",
    "Axle",
    "Counters",
    "Inspection",
    "Vehicle",
    "WearAxis",
    "WheelEnd",
]

WearAxis = Literal["km", "hours", "stops"]

WEAR_AXES: tuple[WearAxis, ...] = ("km", "hours", "stops")
"""What wear may be counted against: where a vehicle stands at every bin or stop, distance means little."""

AXLE_ROLES = ("steer", "drive", "tag", "pusher", "trailer")

VEHICLE_KINDS = (
    "motor vehicle",
    "truck",
    "truck tractor",
    "bus",
    "semitrailer",
    "drawbar trailer",
    "combination",
)


@dataclass(frozen=True, slots=True)
class Axle:
    """One axle.

    Parameters
    ----------
    id : str
        ``"1"``, ``"2"``; ``"T1"`` on a trailer of a combination.
    role : str
        One of ``AXLE_ROLES``.
    design : str
        Catalogue id of the brake design.
    wheels : str
        ``"single"``, ``"dual"`` or empty where not said.
    brake : str
        ``"air disc"`` or ``"drum"``: both may stand on one vehicle, and both count as brakes.
    """

    id: str
    role: str
    design: str
    wheels: str = ""
    brake: str = "air disc"


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A vehicle or a combination.

    Parameters
    ----------
    id : str
        The owner's name for it.
    axles : tuple of Axle
        From front to rear.
    description : str
        Free text.
    kind : str
        One of ``VEHICLE_KINDS``.
    test_mass : float or None
        Mass as on the brake tester or road [kg].
    rated_mass : float or None
        Gross rating, where a rule asks for it [kg].
    duty : str
        Kind of work, as ``"regional"`` or ``"city bus"``.
    retarder : str
        ``"fitted"``, ``"not fitted"`` or empty where not said.
    built_on : str
        Date of manufacture in ISO form, empty if unknown.
    wear_axis : str
        What its wear is counted against, one of ``WEAR_AXES``; empty where not said.
    labels : mapping of str to str
        The owner's own words by which vehicles are grouped, as ``{"route": "north"}``.
    """

    id: str
    axles: tuple[Axle, ...]
    description: str = ""
    kind: str = "motor vehicle"
    test_mass: float | None = None
    rated_mass: float | None = None
    duty: str = ""
    retarder: str = ""
    built_on: str = ""
    wear_axis: str = ""
    labels: Mapping[str, str] = field(default_factory=dict)

    def axle(self, axle_id: str) -> Axle:
        """Return the axle of that id.

        Parameters
        ----------
        axle_id : str
            The id.

        Returns
        -------
        Axle
            The axle.

        Raises
        ------
        KeyError
            If the vehicle has no such axle.
        """
        for axle in self.axles:
            if axle.id == axle_id:
                return axle
        raise KeyError(axle_id)

    @property
    def places(self) -> tuple[WheelEndPlace, ...]:
        """Every wheel end of the vehicle, axle by axle, left before right."""
        return tuple(WheelEndPlace(axle.id, side) for axle in self.axles for side in ("L", "R"))


@dataclass(frozen=True, slots=True)
class WheelEnd:
    """What was taken at one wheel end.

    Parameters
    ----------
    place : WheelEndPlace
        Axle and side.
    readings : mapping of (field, spot) to Reading
        The readings; absent means not taken.
    noticed : tuple of str
        Words of the driver or the technician, as ``"judder"``.
    note : str
        Free text.
    photographs : tuple of str
        File names.
    """

    place: WheelEndPlace
    readings: Mapping[ReadingKey, Reading]
    noticed: tuple[str, ...] = ()
    note: str = ""
    photographs: tuple[str, ...] = ()

    def measured(self, name: str, spot: str = "") -> Measured | None:
        """Return the measured reading of a field, or None.

        Parameters
        ----------
        name : str
            Field.
        spot : str
            Spot of the field, empty for a field with one place.

        Returns
        -------
        Measured or None
            None if not taken, not measurable or given in words.
        """
        reading = self.readings.get((name, spot))
        return reading if isinstance(reading, Measured) else None

    def word(self, name: str) -> str:
        """Return the word observed for a field, or an empty text.

        Parameters
        ----------
        name : str
            Field.

        Returns
        -------
        str
            The word, empty if not observed.
        """
        reading = self.readings.get((name, ""))
        return reading.word if isinstance(reading, Observed) else ""


@dataclass(frozen=True, slots=True)
class Counters:
    """What the vehicle's other counters show beside the odometer.

    Parameters
    ----------
    hours, hours_since_pads : float or None
        Time run, and time run since the pads were new [s].
    stops, stops_since_pads : float or None
        Stops made, and stops since the pads were new [1].
    """

    hours: float | None = None
    stops: float | None = None
    hours_since_pads: float | None = None
    stops_since_pads: float | None = None


@dataclass(frozen=True, slots=True)
class Inspection:
    """One inspection of one vehicle.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    taken_on : date
        Day of the readings.
    wheel_ends : tuple of WheelEnd
        What was taken, one entry per place.
    odometer, distance_since_pads : float or None
        Distance run, and distance since the pads were new [m].
    inspector, qualification : str
        Who took the readings, and by what qualification.
    rule_packs : tuple of str
        Ids of the rule packs asked for.
    gauges : mapping of str to Gauge
        Gauges named by the readings.
    peer_wear : mapping of str to float
        Usual wear of peers by axle id [m of friction per m of road].
    next_wheels_off : float or None
        Distance to the next planned removal of the wheels [m].
    vehicle_readings : mapping of (field, spot) to Reading
        Checks of the vehicle as a whole.
    note, place : str
        Free text, and the workshop.
    notices : tuple of Notice
        Warnings from reading the file.
    counters : Counters
        Hours and stops, where the vehicle counts them.
    pads_run : mapping of str to float
        Distance since the pads of an axle were new [m], by axle id, where axles differ.
    """

    vehicle: Vehicle
    taken_on: date
    wheel_ends: tuple[WheelEnd, ...]
    odometer: float | None = None
    distance_since_pads: float | None = None
    inspector: str = ""
    qualification: str = ""
    rule_packs: tuple[str, ...] = ("none",)
    gauges: Mapping[str, Gauge] = field(default_factory=dict)
    peer_wear: Mapping[str, float] = field(default_factory=dict)
    next_wheels_off: float | None = None
    vehicle_readings: Mapping[ReadingKey, Reading] = field(default_factory=dict)
    note: str = ""
    place: str = ""
    notices: tuple[Notice, ...] = ()
    counters: Counters = field(default_factory=Counters)
    pads_run: Mapping[str, float] = field(default_factory=dict)

    def run_of_pads(self, axle: str) -> float | None:
        """Return how far the pads of an axle have run.

        Parameters
        ----------
        axle : str
            Id of the axle.

        Returns
        -------
        float or None, [m]
            The axle's own distance, else that of all pads; None where neither is given.
        """
        return self.pads_run.get(axle, self.distance_since_pads)

    def wheel_end(self, place: WheelEndPlace) -> WheelEnd | None:
        """Return what was taken at a place, or None.

        Parameters
        ----------
        place : WheelEndPlace
            Axle and side.

        Returns
        -------
        WheelEnd or None
            None if nothing was taken there.
        """
        for wheel_end in self.wheel_ends:
            if wheel_end.place == place:
                return wheel_end
        return None
