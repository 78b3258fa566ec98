"""What a report says of readings, wheel ends and axles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from wearline.assessment.results import (
    AxleJudgement,
    Finding,
    FollowUp,
    JudgedReading,
    LimitVerdict,
    Verdict,
    WheelEndJudgement,
)
from wearline.catalogue.model import Limit, Source, Status
from wearline.records.inspection import Inspection, WheelEnd
from wearline.reports.content_model import (
    AxleContent,
    EndContent,
    FindingLine,
    LimitLine,
    Picture,
    ReadingBlock,
    ReadingLine,
    SourceLine,
    WordLine,
)
from wearline.reports.derived_table import derived_rows
from wearline.reports.pad_drawing import describe_pads, draw_pads
from wearline.reports.road_words import grade_words
from wearline.reports.ruler import describe_ruler, draw_ruler
from wearline.reports.vehicle_drawing import wheel_end_state
from wearline.reports.words import (
    converted_text,
    expanded_text,
    label_parts,
    limit_text,
    margin_text,
    place_words,
    probability_text,
    settle_text,
    spot_words,
    value_text,
)

if TYPE_CHECKING:
    from wearline.catalogue.loading import Catalogue

__all__ = [
    "SourceList",
    "axle_content",
    "end_content",
    "field_label",
    "finding_lines",
    "reading_blocks",
    "word_lines",
]


@dataclass(slots=True)
class SourceList:
    """Sources in the order in which a report refers to them.

    Parameters
    ----------
    known : mapping of str to Source
        Sources of the catalogue by key.
    """

    known: Mapping[str, Source]
    _keys: list[str] = field(default_factory=list)

    def number(self, key: str) -> int:
        """Return the number by which the report refers to a source.

        Parameters
        ----------
        key : str
            Source key.

        Returns
        -------
        int
            From 1, in the order of the first reference.
        """
        if key not in self._keys:
            self._keys.append(key)
        return self._keys.index(key) + 1

    def wording(self, key: str) -> str:
        """Return the wording to be printed beside a number of a source.

        Parameters
        ----------
        key : str
            Source key.

        Returns
        -------
        str
            The source's own wording; the key where the catalogue does not know it.
        """
        return self.known[key].show if key in self.known else key

    def lines(self) -> tuple[SourceLine, ...]:
        """Return the list of sources for the end of the report.

        Returns
        -------
        tuple of SourceLine
            In the order of their numbers.
        """
        lines = []
        for number, key in enumerate(self._keys, start=1):
            source = self.known.get(key)
            if source is None:
                lines.append(SourceLine(number, key, key, "not in the catalogue", "", "unverified"))
                continue
            section = source.section if source.section and source.section not in source.title else ""
            title = f"{source.title} ({source.publisher})" if source.publisher else source.title
            lines.append(SourceLine(number, key, source.show, title, section, grade_words(source.grade)))
        return tuple(lines)


def _limit_line(limit: Limit, sources: SourceList, held: LimitVerdict | None = None) -> LimitLine:
    wording = sources.wording(limit.source)
    known = limit.status in wording or (limit.status is Status.GENERIC and "generic" in wording)
    status = "" if known else f"{limit.status}; "
    authority = f"{limit.authority}: " if limit.authority in ("law", "roadside") else ""
    verdict = ""
    if held is not None:
        chance = probability_text(held.p_within)
        verdict = f"{held.verdict}" + (f", P {chance}" if chance else "")
        if not limit.decides:
            verdict = "shown only"
    consequence = "" if not limit.decides else f"beyond: {limit.consequence}"
    return LimitLine(
        authority + limit_text(limit), consequence, status + wording, sources.number(limit.source), verdict
    )


def _reading_line(reading: JudgedReading) -> ReadingLine:
    remarks = tuple(text for text in (reading.reason, settle_text(reading)) if text)
    limited = reading.limit is not None and reading.verdict is not Verdict.VOID
    return ReadingLine(
        spot=reading.spot,
        value=value_text(reading),
        uncertainty=expanded_text(reading),
        converted=converted_text(reading),
        verdict=str(reading.verdict) if reading.limit is not None else "no limit",
        chance=probability_text(reading.p_within) if limited else "",
        margin=margin_text(reading) if limited else "",
        remarks=remarks,
    )


def _block(readings: Sequence[JudgedReading], sources: SourceList) -> ReadingBlock:
    first = readings[0]
    limits: dict[str, LimitLine] = {}
    governing = next((reading.limit for reading in readings if reading.limit is not None), None)
    if governing is not None:
        limits[governing.id] = _limit_line(governing, sources)
    for reading in readings:
        for held in reading.others:
            # One line speaks for all corners: that of the reading that is furthest beyond.
            worst = min(
                (other for each in readings for other in each.others if other.limit.id == held.limit.id),
                key=lambda other: other.margin,
            )
            limits.setdefault(held.limit.id, _limit_line(held.limit, sources, worst))
    # Several spots: what the name says of the first of them does not hold for the others.
    same = len({reading.label for reading in readings}) == 1
    label, detail = label_parts(first.label)
    return ReadingBlock(
        label=label,
        detail=detail if same else "",
        gauge=", ".join(dict.fromkeys(reading.gauge for reading in readings if reading.gauge)),
        ruler=Picture(draw_ruler(readings), f"{first.label}. {describe_ruler(readings)}"),
        lines=tuple(_reading_line(reading) for reading in readings),
        limits=tuple(limits.values()),
    )


def reading_blocks(readings: Iterable[JudgedReading], sources: SourceList) -> tuple[ReadingBlock, ...]:
    """Return measured readings with their rulers; spots of one check share a ruler.

    Parameters
    ----------
    readings : iterable of JudgedReading
        Readings in their order.
    sources : SourceList
        The report's sources, to which those of the limits are added.

    Returns
    -------
    tuple of ReadingBlock
        Readings in words, and those to which no limit applies, are left out.
    """
    groups: dict[tuple[str, str], list[JudgedReading]] = {}
    for reading in readings:
        if reading.value is not None and reading.limit is not None:
            key = (reading.check, reading.limit.id)
            groups.setdefault(key, []).append(reading)
    return tuple(_block(group, sources) for group in groups.values())


def _worth_a_ruler(reading: JudgedReading) -> bool:
    """Readings always; what is only computed from them when it says something, or decides the pads."""
    return bool(reading.raw) or reading.verdict is not Verdict.WITHIN or reading.check == "pad_thinnest"


def word_lines(readings: Iterable[JudgedReading]) -> tuple[WordLine, ...]:
    """Return the readings that were observed in words, could not be measured, or have no limit.

    Parameters
    ----------
    readings : iterable of JudgedReading
        Readings in their order.

    Returns
    -------
    tuple of WordLine
        One line each.
    """
    lines = []
    for reading in readings:
        if reading.value is None:
            lines.append(WordLine(reading.label, value_text(reading), str(reading.verdict), reading.reason))
        elif reading.limit is None:
            spot = f", {spot_words(reading.spot)}" if reading.spot else ""
            value = f"{value_text(reading)} {expanded_text(reading)}".strip()
            verdict = "void" if reading.verdict is Verdict.VOID else "no limit"
            lines.append(WordLine(f"{reading.label}{spot}", value, verdict, reading.reason or reading.gauge))
    return tuple(lines)


def finding_lines(findings: Iterable[Finding]) -> tuple[FindingLine, ...]:
    """Return findings, gravest first.

    Parameters
    ----------
    findings : iterable of Finding
        Findings.

    Returns
    -------
    tuple of FindingLine
        Faults, then what is to be looked into, then notes.
    """
    order = {"fault": 0, "look": 1, "note": 2}
    ordered = sorted(findings, key=lambda finding: order.get(finding.weight, 3))
    return tuple(FindingLine(finding.place, finding.text, finding.weight) for finding in ordered)


def field_label(name: str, catalogue: Catalogue) -> str:
    """Return what the trade calls a field or measure.

    Parameters
    ----------
    name : str
        Field or measure.
    catalogue : Catalogue
        The catalogue.

    Returns
    -------
    str
        Its label; the name with spaces where the catalogue has none.
    """
    if name in catalogue.fields:
        return catalogue.fields[name].label
    if name in catalogue.measures:
        return catalogue.measures[name].title
    return name.replace("_", " ")


def _followups(followups: Iterable[FollowUp], kind: str) -> tuple[str, ...]:
    return tuple(
        f"{each.check} {each.title}: {each.because}"
        + (" (done)" if each.done and kind == "necessary" else "")
        for each in followups
        if each.kind == kind
    )


def end_content(
    judged: WheelEndJudgement, taken: WheelEnd | None, catalogue: Catalogue, sources: SourceList
) -> EndContent:
    """Return what a report says of one wheel end.

    Parameters
    ----------
    judged : WheelEndJudgement
        Its judgement.
    taken : WheelEnd or None
        What the person wrote, for notes and photographs.
    catalogue : Catalogue
        For designs and labels.
    sources : SourceList
        The report's sources.

    Returns
    -------
    EndContent
        The wheel end.
    """
    design = catalogue.design(judged.design)
    has_pads = any(reading.check in ("pad_inner", "pad_outer") for reading in judged.readings)
    return EndContent(
        place=judged.place,
        words=place_words(judged.place),
        design=design.title,
        state=wheel_end_state(judged).words,
        findings=finding_lines(judged.findings),
        blocks=reading_blocks(filter(_worth_a_ruler, judged.readings), sources),
        observed=word_lines(judged.readings),
        pads=Picture(draw_pads(judged, design), describe_pads(judged)) if has_pads else None,
        derived=derived_rows(judged.derived),
        necessary=_followups(judged.followups, "necessary"),
        needless=_followups(judged.followups, "needless"),
        void=_followups(judged.followups, "void"),
        not_taken=tuple(field_label(name, catalogue) for name in judged.not_taken),
        noticed=taken.noticed if taken is not None else (),
        photographs=taken.photographs if taken is not None else (),
        note=taken.note if taken is not None else "",
    )


def axle_content(
    judged: AxleJudgement,
    ends: Iterable[WheelEndJudgement],
    inspection: Inspection,
    catalogue: Catalogue,
    sources: SourceList,
) -> AxleContent:
    """Return what a report says of one axle and its wheel ends.

    Parameters
    ----------
    judged : AxleJudgement
        The axle's judgement.
    ends : iterable of WheelEndJudgement
        Its wheel ends, left before right.
    inspection : Inspection
        For notes and photographs.
    catalogue : Catalogue
        For designs and labels.
    sources : SourceList
        The report's sources.

    Returns
    -------
    AxleContent
        The axle.
    """
    taken = {str(wheel_end.place): wheel_end for wheel_end in inspection.wheel_ends}
    return AxleContent(
        axle=judged.axle,
        title=f"{place_words(judged.axle)}, {judged.role}" if judged.role else place_words(judged.axle),
        wheels="wheels off" if judged.take_off else "wheels on",
        reasons=judged.reasons,
        blocks=reading_blocks([judged.imbalance] if judged.imbalance is not None else [], sources),
        findings=finding_lines(judged.findings),
        ends=tuple(end_content(end, taken.get(end.place), catalogue, sources) for end in ends),
    )
