"""What a diagnosis answers: causes with their evidence, roots, next tests, and what does not fit."""

from __future__ import annotations

from dataclasses import dataclass

from wearline.records.notices import Notice

__all__ = [
    "AxleExplanation",
    "CauseForJob",
    "CauseView",
    "Explanation",
    "FoundFault",
    "Misfit",
    "NextTest",
    "Root",
    "WheelEndExplanation",
]


@dataclass(frozen=True, slots=True)
class CauseView:
    """One cause with its probability and evidence.

    Parameters
    ----------
    code, name : str
        The cause.
    probability : float, [1]
        That it is present, given all readings of the vehicle.
    supports, speaks_against : tuple of str
        Readings in words, the weightiest first.
    mechanism, repair, confirm : str
        What happens, what cures it, what proves it.
    """

    code: str
    name: str
    probability: float
    supports: tuple[str, ...]
    speaks_against: tuple[str, ...]
    mechanism: str
    repair: str
    confirm: str


@dataclass(frozen=True, slots=True)
class FoundFault:
    """A fault that was seen or measured itself and needs no inference.

    Parameters
    ----------
    code, name : str
        The cause that it is.
    text : str
        The reading.
    probability : float, [1]
        That the reading is right.
    """

    code: str
    name: str
    text: str
    probability: float


@dataclass(frozen=True, slots=True)
class Root:
    """The earliest cause still present, and what follows from it.

    Parameters
    ----------
    code, name : str
        The cause.
    place : str
        Wheel end, axle or ``"vehicle"``.
    probability : float, [1]
        That it is present.
    follows : tuple of str
        Codes of causes present that grow out of it.
    look_first : str
        Its confirming test, where it is not yet proven; empty otherwise.
    """

    code: str
    name: str
    place: str
    probability: float
    follows: tuple[str, ...]
    look_first: str


@dataclass(frozen=True, slots=True)
class NextTest:
    """One more check worth its time.

    Parameters
    ----------
    test : str
        What to do.
    check : str
        Check id, empty for a test that is no check of the list.
    gain : float, [bit]
        Expected information about the causes of this wheel end.
    minutes, access : float, [min]
        Time of the test, and of reaching its state from where the inspection stands.
    states : tuple of str
        States needed.
    cluster : str
        State that has to be reached first; empty where it is. Tests of one cluster are done together.
    rate : float, [bit/min]
        What it is ranked by: information per minute, the access shared by its cluster.
    about : tuple of str
        Codes of the causes that it decides most.
    """

    test: str
    check: str
    gain: float
    minutes: float
    access: float
    states: tuple[str, ...]
    cluster: str
    rate: float
    about: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Misfit:
    """Readings that do not fit together.

    Parameters
    ----------
    text : str
        The sentence.
    repeat : str
        The reading to repeat.
    check : str
        Its field or node.
    surprise : float, [1]
        How probable the reading is given all others, against its most usual value.
    """

    text: str
    repeat: str
    check: str
    surprise: float


@dataclass(frozen=True, slots=True)
class WheelEndExplanation:
    """Why one wheel end is as it is.

    Parameters
    ----------
    place : str
        ``"1L"``.
    healthy : float, [1]
        Probability that it has no cause of its own.
    causes : tuple of CauseView
        Most probable first.
    found : tuple of FoundFault
        Faults seen themselves.
    root : Root or None
        None where nothing is probable enough.
    next_tests : tuple of NextTest
        Best first.
    undecided : tuple of str
        What the readings cannot decide.
    misfit : Misfit or None
        Readings that do not fit together.
    dropped : float, [1]
        Estimated error of every probability here for want of sets of causes.
    """

    place: str
    healthy: float
    causes: tuple[CauseView, ...]
    found: tuple[FoundFault, ...]
    root: Root | None
    next_tests: tuple[NextTest, ...]
    undecided: tuple[str, ...]
    misfit: Misfit | None
    dropped: float


@dataclass(frozen=True, slots=True)
class AxleExplanation:
    """Causes of an axle as a whole.

    Parameters
    ----------
    axle : str
        Axle id.
    causes : tuple of CauseView
        Most probable first.
    victim : str
        Sentence where one end suffers for the other, empty otherwise.
    """

    axle: str
    causes: tuple[CauseView, ...]
    victim: str


@dataclass(frozen=True, slots=True)
class Explanation:
    """Why a vehicle wears as it does.

    Parameters
    ----------
    vehicle_id : str
        The vehicle.
    wheel_ends : tuple of WheelEndExplanation
        Axle by axle, left before right.
    axles : tuple of AxleExplanation
        From front to rear.
    vehicle : tuple of CauseView
        Causes of the vehicle as a whole, most probable first.
    undecided : tuple of str
        What the readings cannot decide about the vehicle.
    assumed : tuple of str
        Circumstances that made causes more likely before any reading.
    warnings : tuple of Notice
        Doubts about the readings.
    """

    vehicle_id: str
    wheel_ends: tuple[WheelEndExplanation, ...]
    axles: tuple[AxleExplanation, ...]
    vehicle: tuple[CauseView, ...]
    undecided: tuple[str, ...]
    assumed: tuple[str, ...]
    warnings: tuple[Notice, ...]

    def wheel_end(self, place: str) -> WheelEndExplanation:
        """Return the explanation of one wheel end.

        Parameters
        ----------
        place : str
            ``"1L"``.

        Returns
        -------
        WheelEndExplanation
            Its explanation.

        Raises
        ------
        KeyError
            If the vehicle has no such wheel end.
        """
        for end in self.wheel_ends:
            if end.place == place:
                return end
        raise KeyError(place)


@dataclass(frozen=True, slots=True)
class CauseForJob:
    """A cause that a repair must reach.

    Parameters
    ----------
    place : str
        Wheel end, axle or ``"vehicle"``.
    code, name : str
        The cause.
    probability : float, [1]
        That it is present.
    root_code, root_name, root_place : str
        The earliest cause behind it that is still present; itself where there is none.
    repair : str
        What cures it.
    confirm : str
        Test for a gate: to be done before parts are ordered on this cause.
    confirmed : bool
        Whether it is seen itself or beyond reasonable doubt.
    """

    place: str
    code: str
    name: str
    probability: float
    root_code: str
    root_name: str
    root_place: str
    repair: str
    confirm: str
    confirmed: bool
