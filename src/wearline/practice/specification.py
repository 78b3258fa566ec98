"""The vehicle of a simulated case: axles, work, history."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from wearline.errors import ReadingError
from wearline.practice.parameters import load_duties
from wearline.records.inspection import AXLE_ROLES, VEHICLE_KINDS
from wearline.records.place import WheelEndPlace

__all__ = ["AxleSpec", "Control", "VehicleSpec"]

Control = Literal["vehicle", "axle"]
"""Who keeps the demanded braking: the driver over the whole vehicle, or electronics axle by axle."""


@dataclass(frozen=True, slots=True)
class AxleSpec:
    """One axle of a simulated vehicle.

    Parameters
    ----------
    id : str
        ``"1"``, ``"2"``; ``"T1"`` on a trailer of a combination.
    role : str
        One of ``wearline.records.inspection.AXLE_ROLES``.
    load : float, [kg], 200 to 20 000, optional
        Load of the axle as tested.
    design : str, optional
        Catalogue id of the brake design.
    chamber_type : float, optional
        Type number of the service chamber, 24 for 24 square inches.
    wheels : str, optional
        ``"single"``, ``"dual"`` or empty.
    share : float or None, [1], optional
        Energy of one brake of this axle against the mean of the vehicle; None: usual for the role.

    Raises
    ------
    ReadingError
        If the role is unknown or a number outside its range.
    """

    id: str
    role: str
    load: float = 8000.0
    design: str = "generic-22.5"
    chamber_type: float = 24.0
    wheels: str = ""
    share: float | None = None

    def __post_init__(self) -> None:
        if self.role not in AXLE_ROLES:
            raise ReadingError(
                f"axle {self.id} has the role {self.role!r}",
                allowed=", ".join(AXLE_ROLES),
                cure="Choose the nearest",
            )
        if not 200.0 <= self.load <= 20000.0:
            raise ReadingError(
                f"axle {self.id} carries {self.load:g} kg",
                allowed="200 kg to 20 000 kg",
                cure="Give the load of the whole axle in kilograms",
            )
        if self.share is not None and not 0.05 <= self.share <= 5.0:
            raise ReadingError(
                f"axle {self.id} takes {self.share:g} of the mean energy",
                allowed="0.05 to 5",
                cure="1 is the mean of the vehicle",
            )


@dataclass(frozen=True, slots=True)
class VehicleSpec:
    """One vehicle to simulate.

    Parameters
    ----------
    id : str
        Name of the vehicle.
    axles : tuple of AxleSpec
        From front to rear, each id once.
    duty : str, optional
        Name of a duty of ``wearline.practice.parameters.load_duties``.
    kind : str, optional
        One of ``wearline.records.inspection.VEHICLE_KINDS``.
    description : str, optional
        Free text.
    retarder : {"fitted", "not fitted"}, optional
        Whether a retarder or engine brake shares the work.
    control : {"vehicle", "axle"}, optional
        Who keeps the demanded braking.
    odometer : float, [m], optional
        Distance on the counter at the inspection (or at the start of a life).
    distance_since_pads : float or None, [m], optional
        Distance since the pads were new; None: drawn so that the pads are part worn.
    rotor_wear : float, [m], 0 or more, optional
        Thickness that the rotors had lost when these pads were fitted.
    pad_life : float or None, [1], 0.1 to 10, optional
        Life of its pads against the middle of its duty; None: drawn from the spread of the duty.

    Raises
    ------
    ReadingError
        If the vehicle has no axle, an axle twice, an unknown duty or kind, or a number outside its range.
    """

    id: str
    axles: tuple[AxleSpec, ...]
    duty: str = "regional"
    kind: str = "motor vehicle"
    description: str = ""
    retarder: str = "not fitted"
    control: Control = "vehicle"
    odometer: float = 300e6
    distance_since_pads: float | None = None
    rotor_wear: float = 0.0
    pad_life: float | None = None

    def __post_init__(self) -> None:
        ids = [axle.id for axle in self.axles]
        if not ids or len(set(ids)) != len(ids):
            self._refuse(f"the axles are {ids}", "one or more, each id once", "Number them from the front")
        if self.duty not in load_duties():
            self._refuse(f"the duty is {self.duty!r}", ", ".join(load_duties()), "Choose the nearest")
        if self.kind not in VEHICLE_KINDS:
            self._refuse(f"the kind is {self.kind!r}", ", ".join(VEHICLE_KINDS), "Choose the nearest")
        if self.retarder not in ("fitted", "not fitted"):
            self._refuse(f"the retarder is {self.retarder!r}", "fitted, not fitted", "Choose one")
        if not 0.0 <= self.odometer <= 5e9:
            self._refuse(f"the odometer shows {self.odometer:g} m", "0 to 5 000 000 km", "Give metres")
        since = self.distance_since_pads
        if since is not None and not 0.0 < since <= 3e9:
            self._refuse(f"the pads have run {since:g} m", "above 0 to 3 000 000 km", "Give metres")
        if not 0.0 <= self.rotor_wear <= 0.02:
            self._refuse(f"the rotors had lost {self.rotor_wear:g} m", "0 to 20 mm", "Give metres")
        if self.pad_life is not None and not 0.1 <= self.pad_life <= 10.0:
            self._refuse(f"the pads last {self.pad_life:g} times as long as usual", "0.1 to 10", "1 is usual")

    def _refuse(self, what: str, allowed: str, cure: str) -> None:
        raise ReadingError(what, where=f"vehicle {self.id}", allowed=allowed, cure=cure)

    @property
    def test_mass(self) -> float:
        """Mass on the brake tester: the sum of the axle loads [kg]."""
        return sum(axle.load for axle in self.axles)

    @property
    def places(self) -> tuple[WheelEndPlace, ...]:
        """Every wheel end, axle by axle, left before right."""
        return tuple(WheelEndPlace(axle.id, side) for axle in self.axles for side in ("L", "R"))
