"""Labour of a job from the table of ranges, with shared work counted once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from wearline.catalogue.job_choice_model import SITUATIONS, ExtraWork
from wearline.catalogue.work_model import Deduction, HourRange, LabourHours
from wearline.planning.results import Hours, Work
from wearline.records.inspection import Axle

__all__ = ["LabourTable", "axle_hours", "vehicle_hours"]

_WHEELS_OFF = "inspection"
_PADS = "S1"
_ROTORS = "S4"
_GUIDES = "S2"
_CALLIPER = "S5"


@dataclass(frozen=True, slots=True)
class LabourTable:
    """Where the ranges come from.

    Parameters
    ----------
    hours : mapping of str to LabourHours
        Catalogue ranges; situations under their code.
    deductions : tuple of Deduction
        Work that shares its dismantling.
    extra : mapping of str to ExtraWork
        Work beside the situations.
    """

    hours: Mapping[str, LabourHours]
    deductions: tuple[Deduction, ...]
    extra: Mapping[str, ExtraWork]


@dataclass(frozen=True, slots=True)
class _Span:
    """A range of hours that adds up."""

    low: float = 0.0
    high: float = 0.0

    def __add__(self, other: _Span) -> _Span:
        return _Span(self.low + other.low, self.high + other.high)


def axle_hours(axle: Axle, ends: tuple[str, ...], works: tuple[Work, ...], table: LabourTable) -> Hours:
    """Return the labour at one axle, wheels on to wheels on.

    Parameters
    ----------
    axle : Axle
        Its role and tyres choose the column.
    ends : tuple of str
        Its wheel ends.
    works : tuple of Work
        Situations and work beside them.
    table : LabourTable
        Ranges.

    Returns
    -------
    Hours
        Least and most [h], with their basis. Nothing for an axle without work.

    Notes
    -----
    Least counts what is needed; most counts also what is advised or depends. Of two works of which one
    takes the place of the other, least takes the shorter and most the longer. Work at one end that shares
    its dismantling is counted once: the whole saving where all of it meets; where only two meet, the
    smaller saving, from least alone.
    """
    if not works:
        return Hours(0.0, 0.0, "no work")
    columns = _columns(axle)
    total = _base(works, table, columns)
    for end in ends:
        total += _end(end, axle.id, works, table, columns)
    tyres = {"single": "single tyres", "dual": "dual tyres or driven hub"}
    column = tyres[columns[0]] if len(columns) == 1 else "single to dual tyres (not said)"
    basis = (
        f"one person, both ends of axle {axle.id}, wheels on to wheels on, "
        f"{column}; the figures are expert judgement; least: what is needed, most: with what is advised or "
        "depends; bedding and proof are counted once for the vehicle"
    )
    return Hours(round(total.low, 1), round(total.high, 1), basis)


def vehicle_hours(axles: Iterable[Hours], table: LabourTable) -> Hours:
    """Return the labour of the whole job.

    Parameters
    ----------
    axles : iterable of Hours
        Labour of each axle.
    table : LabourTable
        Ranges.

    Returns
    -------
    Hours
        Sum of the axles, with bedding and proof counted once; nothing where no axle has work.
    """
    worked = [hours for hours in axles if hours.high > 0.0]
    if not worked:
        return Hours(0.0, 0.0, "no work")
    proof = _range(table.hours["proof"], ("single", "dual"))
    return Hours(
        round(sum(hours.low for hours in worked) + proof.low, 1),
        round(sum(hours.high for hours in worked) + proof.high, 1),
        "sum of the axles, with bedding and roller proof once for the vehicle (expert judgement); "
        "loading comes extra",
    )


def _columns(axle: Axle) -> tuple[str, ...]:
    """Choose the column by tyres, else by role; where neither says it, take both."""
    if axle.wheels == "single" and axle.role != "drive":
        return ("single",)
    if axle.wheels == "dual" or axle.role == "drive":
        return ("dual",)
    return ("single",) if axle.role == "steer" else ("single", "dual")


def _span(hours: HourRange) -> _Span:
    return _Span(hours.low, hours.high)


def _range(labour: LabourHours, columns: tuple[str, ...]) -> _Span:
    spans = [_span(labour.single if column == "single" else labour.dual) for column in columns]
    return _Span(min(span.low for span in spans), max(span.high for span in spans))


def _extra_range(work: ExtraWork, columns: tuple[str, ...]) -> _Span:
    spans = [work.hours_single if column == "single" else work.hours_other for column in columns]
    return _Span(min(low for low, _ in spans), max(high for _, high in spans))


def _base(works: tuple[Work, ...], table: LabourTable, columns: tuple[str, ...]) -> _Span:
    """Wheels off and on again, and the pads where they are renewed."""
    wheels = _range(table.hours[_WHEELS_OFF], columns)
    pads = _range(table.hours[_PADS], columns)
    standing = next((work.standing for work in works if work.code == _PADS), "")
    if not standing:
        return wheels
    return pads if standing == "needed" else _Span(min(wheels.low, pads.low), max(wheels.high, pads.high))


def _end(end: str, axle: str, works: tuple[Work, ...], table: LabourTable, columns: tuple[str, ...]) -> _Span:
    here = {work.code: work for work in works if work.at in (end, axle) and work.code != _PADS}
    spans: dict[str, _Span] = {}
    for code, work in here.items():
        if code in SITUATIONS:
            span = _range(table.hours[code], columns)
        elif any(other in here for other in table.extra[code].within) or _in_pads(code, works, table):
            continue
        else:
            span = _extra_range(table.extra[code], columns)
        spans[code] = span if work.standing == "needed" else _Span(0.0, span.high)
    _replace_alternatives(here, spans, table, columns)
    total = sum(spans.values(), _Span())
    saved = _saving(frozenset(here), table.deductions)
    longest = max((span.low for span in spans.values()), default=0.0)
    return _Span(max(total.low - saved.high, longest), max(total.high - saved.low, longest))


def _in_pads(code: str, works: tuple[Work, ...], table: LabourTable) -> bool:
    return _PADS in table.extra[code].within and any(work.code == _PADS for work in works)


def _replace_alternatives(
    here: Mapping[str, Work], spans: dict[str, _Span], table: LabourTable, columns: tuple[str, ...]
) -> None:
    """Calliper or guide kit, carrier or plates: one of the two is done, not both."""
    for main, other in ((_CALLIPER, _GUIDES), ("S6", "abutment plates")):
        if main not in here or other not in here or here[other].standing != "depends":
            continue
        first = _range(table.hours[main], columns)
        if other == _GUIDES:
            # Pins that have to be drawn out of their rust take longer.
            second = _range(table.hours[other], columns) + _range(table.hours["seized-pins"], columns)
        else:
            second = _extra_range(table.extra[other], columns)
        low = min(first.low, second.low) if here[main].standing == "needed" else 0.0
        spans[main], spans[other] = _Span(low, max(first.high, second.high)), _Span()


def _saving(codes: frozenset[str], deductions: tuple[Deduction, ...]) -> _Span:
    saved = _Span()
    for deduction in deductions:
        meeting = sum(code in codes for code in deduction.work)
        if meeting == len(deduction.work):
            saved += _span(deduction.hours)
        elif meeting >= 2:
            saved += _Span(0.0, deduction.hours.low)
    return saved
