"""What an assessment answers: judged readings, derived geometry, findings, the judgement of a vehicle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from wearline.catalogue.model import Limit
from wearline.records.notices import Notice

__all__ = [
    "AxleJudgement",
    "Derived",
    "Finding",
    "FollowUp",
    "JudgedReading",
    "Judgement",
    "LimitVerdict",
    "Verdict",
    "WheelEndJudgement",
]


class Verdict(StrEnum):
    """Verdict of one reading against its limit."""

    WITHIN = "within"
    BEYOND = "beyond"
    UNDECIDED = "undecided"
    VOID = "void"
    NOT_TAKEN = "not taken"


@dataclass(frozen=True, slots=True)
class LimitVerdict:
    """One reading held against one limit.

    Parameters
    ----------
    limit : Limit
        The limit.
    verdict : Verdict
        The verdict.
    p_within : float
        Probability that the true value is within the limit.
    margin : float
        Distance from the limit, positive on the good side [SI].
    """

    limit: Limit
    verdict: Verdict
    p_within: float
    margin: float


@dataclass(frozen=True, slots=True)
class JudgedReading:
    """One reading, or one quantity computed from readings, with its verdict.

    Parameters
    ----------
    place : str
        Wheel end ``"1L"``, axle ``"1"``, or empty for the vehicle.
    check : str
        Field, or name of the derived check.
    spot : str
        Corner, ``"inner"``/``"outer"``, or empty.
    label : str
        What the trade calls it.
    value : float or None
        The reading [SI]; None for words and for what was not taken.
    word : str
        The word observed.
    raw : str
        What the person typed; empty for derived checks.
    unit : str
        Unit in which it is shown.
    u : float or None
        Standard uncertainty [SI].
    limit, verdict, p_within, margin
        Of the limit that governs; see ``LimitVerdict``. ``limit`` is None for words.
    others : tuple of LimitVerdict
        Further limits of the same quantity.
    gauge : str
        Gauge used.
    reason : str
        Why void, or what a word means.
    settle : str
        What would settle an undecided reading.
    """

    place: str
    check: str
    spot: str
    label: str
    value: float | None
    word: str
    raw: str
    unit: str
    u: float | None
    limit: Limit | None
    verdict: Verdict
    p_within: float | None
    margin: float | None
    others: tuple[LimitVerdict, ...] = ()
    gauge: str = ""
    reason: str = ""
    settle: str = ""


@dataclass(frozen=True, slots=True)
class Derived:
    """What the readings of one wheel end imply; None where the readings do not suffice [SI].

    Parameters
    ----------
    mean_inner, mean_outer, thinnest, mean_difference : float or None
        Mean friction of each pad, the thinnest corner, outer less inner mean [m].
    thinnest_spot : str
        Where the thinnest corner is, as ``"inner TB"``.
    taper_end_to_end_inner, ... : float or None
        Leading less trailing edge; antisymmetric = (outer - inner)/2, symmetric = (outer + inner)/2 [m].
    taper_top_to_bottom_inner, ... : float or None
        Top less bottom edge, likewise [m].
    twist_inner, twist_outer : float or None
        How far the four corners are from a plane [m].
    tilt_from_play : float or None
        Greatest tilt that the tangential play allows [rad].
    taper_explained_by_play, taper_excess, taper_excess_u : float or None
        Wedge that the play explains, the rest of the antisymmetric wedge, its standard uncertainty [m].
    taper_top_explained_by_play : float or None
        The same for the radial pair [m].
    new_pads_would_rub : bool or None
        Whether square new pads would touch the rotor at one end with the brake released.
    indicator_implied, indicator_implied_outer, indicator_difference : float or None
        What the indicator should read from the thinner pad and the rotor, from the outer pad and the
        rotor, and reading less the first of the two [1].
    stroke_low, stroke_high, stroke_available : float or None
        Rod stroke that full pressure needs with this clearance, and what there is [m].
    drag_share : float or None
        Drag of the released brake as a share of the wheel load [1].
    wheel_load : float or None
        Load on the wheel [N].
    force_share_of_mate : float or None
        Brake force of this end over that of its mate [1].
    temperature_above_normal, temperature_normal : float or None
        Above the vehicle's normal, and that normal [K].
    wear_rate_inner, wear_rate_outer : float or None
        Mean friction lost per distance since new [m/m].
    distance_to_service : float or None
        Distance until the thinnest corner meets the service minimum at its own mean rate [m].
    """

    mean_inner: float | None = None
    mean_outer: float | None = None
    thinnest: float | None = None
    thinnest_spot: str = ""
    mean_difference: float | None = None
    taper_end_to_end_inner: float | None = None
    taper_end_to_end_outer: float | None = None
    taper_end_to_end_antisymmetric: float | None = None
    taper_end_to_end_symmetric: float | None = None
    taper_top_to_bottom_inner: float | None = None
    taper_top_to_bottom_outer: float | None = None
    taper_top_to_bottom_antisymmetric: float | None = None
    taper_top_to_bottom_symmetric: float | None = None
    twist_inner: float | None = None
    twist_outer: float | None = None
    tilt_from_play: float | None = None
    taper_explained_by_play: float | None = None
    taper_excess: float | None = None
    taper_excess_u: float | None = None
    taper_top_explained_by_play: float | None = None
    new_pads_would_rub: bool | None = None
    indicator_implied: float | None = None
    indicator_implied_outer: float | None = None
    indicator_difference: float | None = None
    stroke_low: float | None = None
    stroke_high: float | None = None
    stroke_available: float | None = None
    drag_share: float | None = None
    wheel_load: float | None = None
    force_share_of_mate: float | None = None
    temperature_above_normal: float | None = None
    temperature_normal: float | None = None
    wear_rate_inner: float | None = None
    wear_rate_outer: float | None = None
    distance_to_service: float | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that is wrong, suspicious or worth a word, at one place.

    Parameters
    ----------
    id : str
        ``"<check>:beyond"``, ``"<check>:undecided"``, ``"<check>=<word>"`` or the name of a rule that
        looks at several readings, as ``"wedge:tilt"``.
    place : str
        Wheel end ``"1L"``, axle ``"1"``, or empty for the vehicle.
    text : str
        One sentence for people.
    check, spot : str
        The check it comes from.
    weight : {"fault", "look", "note"}
        How much it matters: a fault is beyond a limit or a bad word, ``look`` is to be looked into,
        ``note`` is recorded.
    probability : float or None
        Probability that the finding is true, where it comes from a measured value.
    limit_id : str
        Id of the limit passed, empty if none.
    """

    id: str
    place: str
    text: str
    check: str = ""
    spot: str = ""
    weight: str = "fault"
    probability: float | None = None
    limit_id: str = ""


@dataclass(frozen=True, slots=True)
class FollowUp:
    """A check that a finding makes necessary, needless or void.

    Parameters
    ----------
    kind : {"necessary", "needless", "void"}
        What becomes of the check.
    check : str
        Check id, as ``"F3"``.
    title : str
        What the check is called.
    because : str
        The finding that decides, in words.
    done : bool
        Whether the inspection already holds its reading.
    """

    kind: str
    check: str
    title: str
    because: str
    done: bool = False


@dataclass(frozen=True, slots=True)
class WheelEndJudgement:
    """Everything that follows for one wheel end.

    Parameters
    ----------
    place : str
        ``"1L"``.
    design : str
        Catalogue id of its brake design.
    readings : tuple of JudgedReading
        In the order of the checks.
    derived : Derived
        Geometry and comparisons.
    findings : tuple of Finding
        What was found.
    followups : tuple of FollowUp
        Checks that became necessary, needless or void.
    not_taken : tuple of str
        Fields of a complete inspection that were not taken.
    """

    place: str
    design: str
    readings: tuple[JudgedReading, ...]
    derived: Derived
    findings: tuple[Finding, ...] = ()
    followups: tuple[FollowUp, ...] = ()
    not_taken: tuple[str, ...] = ()

    def reading(self, check: str, spot: str = "") -> JudgedReading | None:
        """Return the judged reading of a check, or None.

        Parameters
        ----------
        check : str
            Field or derived check.
        spot : str
            Spot, empty for a check with one place.

        Returns
        -------
        JudgedReading or None
            None if the check gave nothing.
        """
        for reading in self.readings:
            if reading.check == check and reading.spot == spot:
                return reading
        return None


@dataclass(frozen=True, slots=True)
class AxleJudgement:
    """What follows for one axle.

    Parameters
    ----------
    axle, role : str
        Axle id and role.
    take_off : bool
        Whether the wheels have to come off to look.
    reasons : tuple of str
        Why.
    imbalance : JudgedReading or None
        Brake-force difference across the axle.
    findings : tuple of Finding
        Findings of the axle as a whole.
    """

    axle: str
    role: str
    take_off: bool
    reasons: tuple[str, ...]
    imbalance: JudgedReading | None = None
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Judgement:
    """Everything that follows from one inspection, before the road decision and the job.

    Parameters
    ----------
    vehicle_id : str
        The vehicle.
    axles : tuple of AxleJudgement
        From front to rear.
    wheel_ends : tuple of WheelEndJudgement
        Axle by axle, left before right.
    vehicle_readings : tuple of JudgedReading
        Checks of the vehicle as a whole, efficiency among them.
    findings : tuple of Finding
        Findings of the vehicle as a whole.
    warnings : tuple of Notice
        Doubts about the readings themselves.
    confidence : float
        Probability asked of a verdict.
    rules : mapping of str to str
        Decision rule by kind of limit, as ``{"service": "guarded", "legal": "simple"}``.
    """

    vehicle_id: str
    axles: tuple[AxleJudgement, ...]
    wheel_ends: tuple[WheelEndJudgement, ...]
    vehicle_readings: tuple[JudgedReading, ...] = ()
    findings: tuple[Finding, ...] = ()
    warnings: tuple[Notice, ...] = ()
    confidence: float = 0.95
    rules: Mapping[str, str] = field(default_factory=dict)

    def wheel_end(self, place: str) -> WheelEndJudgement:
        """Return the judgement of one wheel end.

        Parameters
        ----------
        place : str
            ``"1L"``.

        Returns
        -------
        WheelEndJudgement
            Its judgement.

        Raises
        ------
        KeyError
            If the vehicle has no such wheel end.
        """
        for wheel_end in self.wheel_ends:
            if wheel_end.place == place:
                return wheel_end
        raise KeyError(place)

    @property
    def all_findings(self) -> tuple[Finding, ...]:
        """Findings of the vehicle, its axles and its wheel ends, in that order."""
        return (
            self.findings
            + tuple(finding for axle in self.axles for finding in axle.findings)
            + tuple(finding for wheel_end in self.wheel_ends for finding in wheel_end.findings)
        )
