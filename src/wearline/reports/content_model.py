"""What stands in a report, ready to be laid out: the same for paper and page."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = [
    "AxleContent",
    "CauseLine",
    "CausePart",
    "DerivedRow",
    "EndContent",
    "FindingLine",
    "LimitLine",
    "Picture",
    "ReadingBlock",
    "ReadingLine",
    "ReportContent",
    "SourceLine",
    "WordLine",
]


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing and what it says.

    Parameters
    ----------
    svg : str
        One ``svg`` element.
    alt : str
        The same in words.
    """

    svg: str
    alt: str


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One limit under a ruler.

    Parameters
    ----------
    text : str
        As published, with its sense.
    consequence : str
        What beyond asks for.
    origin : str
        Wording of the source.
    source : int
        Number in the list of sources.
    verdict : str
        Verdict against this limit where it is not the one that governs; empty for the governing one.
    """

    text: str
    consequence: str
    origin: str
    source: int
    verdict: str = ""


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading beside its ruler.

    Parameters
    ----------
    spot : str
        Corner or pad, empty for a check with one place.
    value, uncertainty, converted : str
        What was read, its expanded uncertainty, and the same in the unit of the limit where that differs.
    verdict : str
        Verdict in words.
    chance : str
        Probability within, in percent; empty where unknown.
    margin : str
        Distance from the limit.
    remarks : tuple of str
        Why void, what would settle it.
    """

    spot: str
    value: str
    uncertainty: str
    converted: str
    verdict: str
    chance: str
    margin: str
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadingBlock:
    """Readings that share one ruler.

    Parameters
    ----------
    label, detail : str
        What the trade calls it, and the rest of that name.
    gauge : str
        Gauge used.
    ruler : Picture
        The limit ruler.
    lines : tuple of ReadingLine
        One for each reading.
    limits : tuple of LimitLine
        The governing limit first.
    """

    label: str
    detail: str
    gauge: str
    ruler: Picture
    lines: tuple[ReadingLine, ...]
    limits: tuple[LimitLine, ...]


@dataclass(frozen=True, slots=True)
class WordLine:
    """One observation in words, or a value to which no limit applies.

    Parameters
    ----------
    label, word, verdict, reason : str
        Check, what was seen or read, verdict, and what the word means or the gauge used.
    """

    label: str
    word: str
    verdict: str
    reason: str


@dataclass(frozen=True, slots=True)
class FindingLine:
    """One finding.

    Parameters
    ----------
    place, text, weight : str
        Where, the sentence, and ``"fault"``, ``"look"`` or ``"note"``.
    """

    place: str
    text: str
    weight: str


@dataclass(frozen=True, slots=True)
class DerivedRow:
    """One line of the table of derived geometry.

    Parameters
    ----------
    name, value, remark : str
        What, how much, and what to know about it.
    """

    name: str
    value: str
    remark: str = ""


@dataclass(frozen=True, slots=True)
class EndContent:
    """One wheel end.

    Parameters
    ----------
    place, words : str
        ``"1R"`` and ``"axle 1, right"``.
    design : str
        Title of the brake design.
    state : tuple of str
        Counts in words.
    findings : tuple of FindingLine
        What was found.
    blocks : tuple of ReadingBlock
        Measured readings.
    observed : tuple of WordLine
        Readings in words.
    pads : Picture or None
        Both pads; None where no corner was taken.
    derived : tuple of DerivedRow
        What the readings imply.
    necessary, needless, void : tuple of str
        Follow-up checks in words.
    not_taken : tuple of str
        Labels of what is missing.
    noticed, photographs : tuple of str
        As the person wrote them.
    note : str
        As the person wrote it.
    """

    place: str
    words: str
    design: str
    state: tuple[str, ...]
    findings: tuple[FindingLine, ...]
    blocks: tuple[ReadingBlock, ...]
    observed: tuple[WordLine, ...]
    pads: Picture | None
    derived: tuple[DerivedRow, ...]
    necessary: tuple[str, ...]
    needless: tuple[str, ...]
    void: tuple[str, ...]
    not_taken: tuple[str, ...]
    noticed: tuple[str, ...]
    photographs: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class AxleContent:
    """One axle with its two wheel ends.

    Parameters
    ----------
    axle, title : str
        Id and words.
    wheels : str
        ``"wheels off"`` or ``"wheels on"``.
    reasons : tuple of str
        Why.
    blocks : tuple of ReadingBlock
        Imbalance, where forces were measured.
    findings : tuple of FindingLine
        Findings of the axle as a whole.
    ends : tuple of EndContent
        Left before right.
    """

    axle: str
    title: str
    wheels: str
    reasons: tuple[str, ...]
    blocks: tuple[ReadingBlock, ...]
    findings: tuple[FindingLine, ...]
    ends: tuple[EndContent, ...]


@dataclass(frozen=True, slots=True)
class CauseLine:
    """One cause with its evidence.

    Parameters
    ----------
    chance : str
        Probability in percent, or ``"seen"`` for a fault that was seen itself.
    name : str
        The cause.
    supports, against : tuple of str
        Readings that speak for and against it.
    confirm : str
        What proves it.
    """

    chance: str
    name: str
    supports: tuple[str, ...]
    against: tuple[str, ...]
    confirm: str


@dataclass(frozen=True, slots=True)
class CausePart:
    """Why one wheel end, an axle or the vehicle wore as it did.

    Parameters
    ----------
    place : str
        ``"2L"``, ``"axle 2"`` or ``"the vehicle"``.
    lines : tuple of CauseLine
        Causes seen, then the most probable first.
    root : str
        The earliest cause still present and what grew from it; empty where nothing stands behind the first.
    said : tuple of str
        Who suffers for whom, what the readings cannot decide, which do not fit together.
    tests : tuple of str
        Next tests that are worth their time.
    """

    place: str
    lines: tuple[CauseLine, ...]
    root: str
    said: tuple[str, ...]
    tests: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SourceLine:
    """One source in the list at the end.

    Parameters
    ----------
    number : int
        Number by which the report refers to it.
    key : str
        Key in the catalogue.
    show, title, section, grade : str
        Wording printed beside numbers, the document, the place in it, and how well its text is known.
    """

    number: int
    key: str
    show: str
    title: str
    section: str
    grade: str


@dataclass(frozen=True, slots=True)
class ReportContent:
    """Everything that an inspection report says.

    Parameters
    ----------
    vehicle_id, description : str
        The vehicle.
    taken_on, generated_on : str
        Dates in ISO form.
    identity : tuple of (str, str)
        Name and value of each line of the identity.
    note : str
        As the person wrote it.
    rule_packs : str
        Titles of the rule packs that answered.
    found : str
        One paragraph.
    vehicle : Picture
        The vehicle from above.
    ladder : Picture
        The road decision on its ladder.
    stop : Picture or None
        Stopping distance now and intact, where it can be estimated.
    doubts : tuple of str
        Warnings about the readings.
    rules : str
        How readings near a limit are decided.
    findings : tuple of FindingLine
        Findings of the vehicle as a whole.
    vehicle_blocks : tuple of ReadingBlock
        Measured checks of the vehicle.
    vehicle_observed : tuple of WordLine
        Checks of the vehicle in words.
    axles : tuple of AxleContent
        Front to rear.
    gauges : tuple of str
        Gauges with their calibration.
    cautions : tuple of str
        For the whole job.
    decides : str
        Who decides.
    sources : tuple of SourceLine
        Sources in the order in which the report refers to them.
    made_by : str
        Program and version.
    causes : tuple of CausePart
        Why it wore like that; empty where it was not asked or nothing is likely.
    without_cause : tuple of str
        Wheel ends at which no cause of their own is likely; empty where it was not asked.
    full : bool
        Whether the paper shows every ruler and drawing, not only where something was found.
    """

    vehicle_id: str
    description: str
    taken_on: str
    generated_on: str
    identity: tuple[tuple[str, str], ...]
    note: str
    rule_packs: str
    found: str
    vehicle: Picture
    ladder: Picture
    stop: Picture | None
    doubts: tuple[str, ...]
    rules: str
    findings: tuple[FindingLine, ...]
    vehicle_blocks: tuple[ReadingBlock, ...]
    vehicle_observed: tuple[WordLine, ...]
    axles: tuple[AxleContent, ...]
    gauges: tuple[str, ...]
    cautions: tuple[str, ...]
    decides: str
    sources: tuple[SourceLine, ...] = field(default_factory=tuple)
    made_by: str = ""
    causes: tuple[CausePart, ...] = ()
    without_cause: tuple[str, ...] = ()
    full: bool = False
