"""What goes into a run of the rotor model and what comes out of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from wearline.physics.domain import require

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wearline.physics.domain import Number

__all__ = ["INSULATED", "Face", "Recording", "RotorHistory"]


@dataclass(frozen=True, slots=True)
class Face:
    """What happens at one face of the slab.

    Parameters
    ----------
    flux : float or array, (steps,) or (steps, wheel ends), [W/m2], 0 or more, optional
        Mean friction heat flux into the rotor in each step.
    flux_share : float or array, (wheel ends,), [1], 0 or more, optional
        Multiplies the flux of each wheel end, so that one duty serves many.
    coefficient : float or array, (steps,) or (steps, wheel ends), [W/(m2 K)], 0 or more, optional
        Convection coefficient in each step.
    emissivity : float or array, (wheel ends,), [1], 0 to 1, optional
        Emissivity toward the ambient.

    Raises
    ------
    DomainError
        If a value is outside its range.
    """

    flux: Number = 0.0
    flux_share: Number = 1.0
    coefficient: Number = 0.0
    emissivity: Number = 0.0

    def __post_init__(self) -> None:
        require("friction heat flux", self.flux, 0.0, 1e9, unit="W/m2")
        require("share of the flux", self.flux_share, 0.0, 1e3, unit="")
        require("convection coefficient", self.coefficient, 0.0, 1e5, unit="W/(m2 K)")
        require("emissivity", self.emissivity, 0.0, 1.0, unit="")


INSULATED = Face()
"""No flux, no loss: the middle plane of a solid rotor."""


@dataclass(frozen=True, slots=True)
class Recording:
    """What to keep of a run.

    Parameters
    ----------
    every : int, 1 or more, optional
        Record the surfaces and the mean at the end of every so many steps.
    profile_steps : sequence of int, 1 to the number of steps, optional
        Steps at whose end the temperature through the thickness is kept.
    cells : int, 2 or more, optional
        Cells of a profile; the values are those at their middles.
    back, mean : bool, optional
        Whether the far face and the mean are recorded beside the friction face.

    Raises
    ------
    DomainError
        If a number is too small.
    """

    every: int = 1
    profile_steps: Sequence[int] = ()
    cells: int = 60
    back: bool = True
    mean: bool = True

    def __post_init__(self) -> None:
        require("steps between records", self.every, 1, unit="")
        require("cells of a profile", self.cells, 2, 10_000, unit="")
        for step in self.profile_steps:
            require("step of a profile", step, 1, unit="")


@dataclass(frozen=True, slots=True)
class RotorHistory:
    """Temperatures and heat of a batch of rotors over a duty.

    Parameters
    ----------
    time : array, (records,), [s]
        End of the recorded steps.
    front, back, mean : array, (records, wheel ends), [K]
        Friction face, far face and mean of the slab; the last two empty if they were not asked for.
    peak : array, (wheel ends,), [K]
        Highest temperature of the friction face over all steps.
    put_in, lost, stored : array, (wheel ends,), [J/m2]
        Friction heat, heat given off and heat kept, per square metre of slab.
    positions : array, (cells,), [1]
        Depths below the friction face of the profiles, over the thickness.
    profiles : array, (profiles, cells, wheel ends), [K]
        Temperature through the thickness at the steps asked for.
    """

    time: NDArray[np.float64]
    front: NDArray[np.float64]
    back: NDArray[np.float64]
    mean: NDArray[np.float64]
    peak: NDArray[np.float64]
    put_in: NDArray[np.float64]
    lost: NDArray[np.float64]
    stored: NDArray[np.float64]
    positions: NDArray[np.float64] = field(default_factory=lambda: np.empty(0))
    profiles: NDArray[np.float64] = field(default_factory=lambda: np.empty(0))
