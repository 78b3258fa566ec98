"""What two inspections of one vehicle show about the repair between them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from wearline.records.notices import Notice

__all__ = ["AxleProof", "EndProof", "Evidence", "Proof", "Restored"]


class Restored(StrEnum):
    """What is shown of one wheel end."""

    RESTORED = "restored"
    NOT_SHOWN = "not shown"
    WORSE = "worse"


@dataclass(frozen=True, slots=True)
class Evidence:
    """One comparison.

    Parameters
    ----------
    check : str
        ``"force"``, ``"travel"``, ``"adjuster"``, ``"imbalance"``, ... or the field's name.
    text : str
        One sentence with the figures.
    shown : bool or None
        Whether it shows what it should; None where it was not taken.
    probability : float or None
        That it is so [1].
    decides : bool
        Whether 'restored' needs it.
    worse : float
        Probability that it got worse than the repeatability of the check explains [1].
    """

    check: str
    text: str
    shown: bool | None
    probability: float | None = None
    decides: bool = True
    worse: float = 0.0


@dataclass(frozen=True, slots=True)
class EndProof:
    """One wheel end before and after.

    Parameters
    ----------
    place : str
        Wheel end.
    restored : Restored
        Verdict.
    probability : float
        That everything it needs is as it should be [1]; 0 where a deciding check was not taken.
    probability_worse : float
        That it is worse than before [1].
    evidence : tuple of Evidence
        What it rests on.
    force_before, force_after : float or None
        Highest brake force [N].
    gain_needed : float or None
        Gain that the finding leads to expect [1]; None where no finding took force.
    raw : bool
        Whether its pads are new and not known to be bedded.
    advice : str
        What to do next; empty where nothing is left.
    """

    place: str
    restored: Restored
    probability: float
    probability_worse: float
    evidence: tuple[Evidence, ...]
    force_before: float | None = None
    force_after: float | None = None
    gain_needed: float | None = None
    raw: bool = False
    advice: str = ""


@dataclass(frozen=True, slots=True)
class AxleProof:
    """One axle before and after.

    Parameters
    ----------
    axle : str
        Axle id.
    imbalance_before, imbalance_after : float or None
        Force difference over the greater [1].
    u_before, u_after : float or None
        Standard uncertainties [1].
    p_within_rule, p_within_aim : float or None
        Probability that the imbalance after the job keeps the rule, and the workshop's aim.
    total_before, total_after : float or None
        Sum of both ends [N].
    text : str
        In words.
    """

    axle: str
    imbalance_before: float | None
    imbalance_after: float | None
    u_before: float | None
    u_after: float | None
    p_within_rule: float | None
    p_within_aim: float | None
    total_before: float | None
    total_after: float | None
    text: str


@dataclass(frozen=True, slots=True)
class Proof:
    """Whether the job restored the brakes.

    Parameters
    ----------
    vehicle_id : str
        The vehicle.
    before_on, after_on : date
        Days of the two inspections.
    wheel_ends : tuple of EndProof
        Every disc-braked wheel end.
    axles : tuple of AxleProof
        Every axle with disc brakes.
    efficiency_before, efficiency_after : float or None
        Sum of the forces over the weight [1].
    bedded : bool or None
        Whether new pads are bedded; None where nothing says so or no pads are new.
    warnings : tuple of Notice
        Doubts about the two files together.
    """

    vehicle_id: str
    before_on: date
    after_on: date
    wheel_ends: tuple[EndProof, ...]
    axles: tuple[AxleProof, ...]
    efficiency_before: float | None
    efficiency_after: float | None
    bedded: bool | None
    warnings: tuple[Notice, ...] = ()

    def wheel_end(self, place: str) -> EndProof:
        """Return the proof of one wheel end.

        Parameters
        ----------
        place : str
            ``"2R"``.

        Returns
        -------
        EndProof
            Its proof.

        Raises
        ------
        KeyError
            If the vehicle has no such disc brake.
        """
        for end in self.wheel_ends:
            if end.place == place:
                return end
        raise KeyError(place)
