"""The road decision: level, reasons, conditions, counts, capability and what each rule pack says."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BrakeCount",
    "Capability",
    "CapabilityLeft",
    "EndForce",
    "FourAnswers",
    "PackAnswer",
    "Reason",
    "RoadDecision",
    "RuleAnswer",
    "ShownFigure",
    "StopEstimate",
]


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason for a level.

    Parameters
    ----------
    level : int
        Level that this reason alone would give, 0 to 4.
    place : str
        Wheel end, axle or empty for the vehicle.
    text : str
        One sentence.
    status : str
        Status of the rule behind it, as ``"common practice"``.
    """

    level: int
    place: str
    text: str
    status: str


@dataclass(frozen=True, slots=True)
class BrakeCount:
    """The count rule.

    Parameters
    ----------
    defective, brakes : int
        Defective brakes, and brakes that the vehicle has.
    share : float
        Defective over all [1].
    needed : int
        Smallest number of defective brakes that meets the rule.
    rule_met : bool
        Whether the count alone puts the vehicle out of service.
    places : tuple of (str, str)
        Each defective brake with the reason.
    unknown : tuple of str
        Brakes for which nothing was taken that could show a defect.
    """

    defective: int
    brakes: int
    share: float
    needed: int
    rule_met: bool
    places: tuple[tuple[str, str], ...]
    unknown: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class EndForce:
    """What one brake has left of its force.

    Parameters
    ----------
    place : str
        Wheel end.
    share : float or None
        Available over intended force [1]; None where nothing is known.
    basis : str
        ``"measured force"``, ``"state found"``, ``"no fault found"``, ``"not known"``, or why it is not
        counted on.
    states : tuple of str
        States found that take force, in words.
    status : str
        What the share rests on.
    """

    place: str
    share: float | None
    basis: str
    states: tuple[str, ...]
    status: str


@dataclass(frozen=True, slots=True)
class StopEstimate:
    """Stopping distance as the brakes are and as they should be.

    Parameters
    ----------
    speed : float
        Speed at the first movement of the pedal [m/s].
    now, intact : (float, float, float) or None
        Least, likely and most [m], 95 %; None where the brakes give nothing.
    status : str
        What the figures rest on.
    """

    speed: float
    now: tuple[float, float, float] | None
    intact: tuple[float, float, float] | None
    status: str


@dataclass(frozen=True, slots=True)
class ShownFigure:
    """A figure that is shown and decides nothing.

    Parameters
    ----------
    text, published, status : str
        What it is, the figure, and how well it is known.
    """

    text: str
    published: str
    status: str


@dataclass(frozen=True, slots=True)
class CapabilityLeft:
    """How much of its intended braking a vehicle still has; informs, and sets no level.

    Parameters
    ----------
    share, low, high : float or None
        Sum of the available over sum of the intended forces, with its 95 % range [1]. The share is None
        where an end is unknown; the range then runs from 'it does nothing' to 'it is in order'.
    ends : tuple of EndForce
        Brake by brake.
    stop : StopEstimate or None
        None without mass or with an end unmeasured.
    mass_allowed : (float, float) or None
        Mass up to which the house efficiency is kept, cautious and likely [kg].
    slope_allowed : (float, float) or None
        Slope that the brakes hold over 5 km at 40 km/h without retarder, cautious and likely [1].
    figures : tuple of ShownFigure
        Unverified figures, for comparison.
    """

    share: float | None
    low: float | None
    high: float | None
    ends: tuple[EndForce, ...] = ()
    stop: StopEstimate | None = None
    mass_allowed: tuple[float, float] | None = None
    slope_allowed: tuple[float, float] | None = None
    figures: tuple[ShownFigure, ...] = ()


@dataclass(frozen=True, slots=True)
class Capability:
    """What the measured forces say about the vehicle.

    Parameters
    ----------
    efficiency : float or None
        Sum of the brake forces over the weight [1].
    efficiency_needed : float or None
        What the house rule asks [1].
    total_force, weight : float or None
        Sum of forces and weight [N].
    imbalances : tuple of (axle, float)
        Force difference over the greater, by axle [1].
    not_measured : tuple of str
        Brakes without a force.
    left : CapabilityLeft or None
        Share left, stopping distance, load and slope.
    """

    efficiency: float | None
    efficiency_needed: float | None
    total_force: float | None
    weight: float | None
    imbalances: tuple[tuple[str, float], ...]
    not_measured: tuple[str, ...]
    left: CapabilityLeft | None = None


@dataclass(frozen=True, slots=True)
class RuleAnswer:
    """One rule of a pack on this vehicle.

    Parameters
    ----------
    rule : str
        The rule in our own words.
    citation, source, grade : str
        Where it stands, source key, and how well the text is known.
    answer : {"met", "not met", "not known", "not applicable"}
        The answer.
    places : tuple of str
        Where it is not met.
    explanation : str
        Value got, value asked, unit rule, gap between printed units.
    decides : bool
        False where the text is unverified: shown, never decisive.
    effect : str
        What not meeting it means, as ``"out of service"``.
    """

    rule: str
    citation: str
    source: str
    grade: str
    answer: str
    places: tuple[str, ...]
    explanation: str
    decides: bool
    effect: str


@dataclass(frozen=True, slots=True)
class PackAnswer:
    """One rule pack's own answer.

    Parameters
    ----------
    pack, title, valid_on : str
        Pack id, what it is, and the date of its text.
    answer : str
        ``"no rule broken"``, ``"violation"``, ``"out of service"`` or ``"not known"``.
    rules : tuple of RuleAnswer
        Rule by rule.
    """

    pack: str
    title: str
    valid_on: str
    answer: str
    rules: tuple[RuleAnswer, ...]


@dataclass(frozen=True, slots=True)
class FourAnswers:
    """The four answers, never merged into one.

    Parameters
    ----------
    part : str
        Are the parts within their service limits?
    brake : str
        Does each brake apply, release and hold together until the next look?
    capability : str
        How much braking is there, how balanced?
    law : str
        What do the rule packs say here today?
    """

    part: str
    brake: str
    capability: str
    law: str


@dataclass(frozen=True, slots=True)
class RoadDecision:
    """Whether the vehicle may go, and under which conditions.

    Parameters
    ----------
    level : int
        0 go, 1 go with a planned repair, 2 to the workshop under conditions, 3 tow or repair on the spot,
        4 do not move.
    meaning : str
        The level in words.
    reasons : tuple of Reason
        Gravest first.
    conditions : tuple of str
        In a driver's words.
    count : BrakeCount
        The count rule.
    capability : Capability
        From measured forces.
    packs : tuple of PackAnswer
        Each pack's own answer.
    answers : FourAnswers
        The four answers.
    missing : tuple of str
        What was not proved; missing data never raises a level towards 'go'.
    """

    level: int
    meaning: str
    reasons: tuple[Reason, ...]
    conditions: tuple[str, ...]
    count: BrakeCount
    capability: Capability
    packs: tuple[PackAnswer, ...]
    answers: FourAnswers
    missing: tuple[str, ...] = ()
