"""The reading sheet for the clipboard: every check of a vehicle, in the order of its states."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wearline.catalogue.check_model import Check
from wearline.catalogue.model import FieldSpec, Limit
from wearline.records.inspection import Axle, Vehicle
from wearline.reports.content import DECIDES, MADE_BY
from wearline.reports.content_model import Picture
from wearline.reports.document import compile_pdf, write_pdf
from wearline.reports.pad_drawing import draw_blank_pads
from wearline.reports.vehicle_drawing import draw_vehicle
from wearline.reports.words import limit_text, place_words, unit_label

if TYPE_CHECKING:
    from wearline.catalogue.loading import Catalogue

__all__ = ["CAUTIONS", "ROUND", "render_blank_sheet_pdf", "sheet_data"]

ROUND = ("O", "R", "N", "A", "J", "W", "P")
"""States in the order of a round: warm from the road, parked, air up, lifted, wheel off, pads out."""

CAUTIONS = (
    "Level floor, chocks both ways at a wheel that stays down, before any brake is released; a trailer is "
    "chocked by itself.",
    "A jack only lifts; rated stands under axle or frame hold. Nobody under a jack.",
    "No fingers between calliper, pads and rotor with air up; a helper at the pedal hears 'hands clear' and "
    "answers.",
    "Power springs hold thousands of newtons: caged by the maker's bolt before a chamber comes off.",
    "After drag 300 °C and more: wait below 50 °C. Dimensions are taken cold.",
    "Brake dust is never blown off: wet cleaning or a high-efficiency vacuum.",
)
"""Cautions of the work that the sheet asks for (common practice, no source)."""

_PADS = ("pad_inner", "pad_outer")
_PAD_STATE = "P"
_ROAD = "R"
_AXLES_ABREAST = 2


def _last_state(check: Check) -> str:
    """The state of the round in which a check can be done: the last of those it needs; empty if outside.

    What is done on the road or the roller is done there, although it needs air as well.
    """
    if any(state not in ROUND for state in check.states):
        return ""
    if _ROAD in check.states:
        return _ROAD
    return max(check.states, key=ROUND.index)


def _limit_words(check: Check, axles: Sequence[Axle], catalogue: Catalogue, on: date) -> str:
    words: dict[str, list[str]] = {}
    for axle in axles:
        text = check.limit_words(catalogue.limits_for(axle.design, on))
        words.setdefault(text, []).append(axle.id)
    if len(words) == 1:
        return next(iter(words))
    return "; ".join(f"axle {', '.join(names)}: {text}" for text, names in words.items())


def _row(
    check: Check, spec: FieldSpec, axles: Sequence[Axle], catalogue: Catalogue, on: date
) -> dict[str, Any]:
    several = check.fields[0] != spec.name
    return {
        "label": spec.label,
        "checks": check.id,
        "how": "" if several else check.how,
        "gauge": "" if several else check.gauge,
        "limit": "" if several else _limit_words(check, axles, catalogue, on),
        "words": list(spec.words),
        "unit": unit_label(spec.unit) if spec.unit else "",
    }


def _first_checks(catalogue: Catalogue, state: str) -> list[tuple[Check, FieldSpec]]:
    """Fields that are filled in one state; a field that an earlier state fills is not asked for again."""
    earlier = set()
    for before in ROUND[: ROUND.index(state)]:
        earlier |= {
            name
            for check in catalogue.checks.values()
            if _last_state(check) == before
            for name in check.fields
        }
    found: dict[str, tuple[Check, FieldSpec]] = {}
    for check in catalogue.checks.values():
        if _last_state(check) == state:
            for name in check.fields:
                if name not in earlier and name not in _PADS:
                    found.setdefault(name, (check, catalogue.fields[name]))
    return list(found.values())


def _groups(vehicle: Vehicle, catalogue: Catalogue, state: str, on: date) -> list[dict[str, Any]]:
    checks = _first_checks(catalogue, state)
    groups: list[dict[str, Any]] = []
    whole = [pair for pair in checks if pair[1].vehicle_level]
    if whole:
        rows = [_row(check, spec, vehicle.axles, catalogue, on) for check, spec in whole]
        groups.append({"places": ["vehicle"], "column": 46, "rows": rows})
    ends = [pair for pair in checks if not pair[1].vehicle_level]
    discs = [axle for axle in vehicle.axles if axle.brake == "air disc"]
    for first in range(0, len(discs) if ends else 0, _AXLES_ABREAST):
        axles = discs[first : first + _AXLES_ABREAST]
        places = [f"{axle.id}{side}" for axle in axles for side in "LR"]
        rows = [_row(check, spec, axles, catalogue, on) for check, spec in ends]
        groups.append({"places": places, "column": 22, "rows": rows})
    return groups


def _pad_limit(limits: Mapping[str, Limit]) -> str:
    own = [limit for limit in limits.values() if limit.field == "pad_thinnest" and limit.decides]
    return f"thinnest corner {limit_text(own[0])}" if own else ""


def _pads(vehicle: Vehicle, catalogue: Catalogue, on: date) -> list[dict[str, Any]]:
    axles = []
    for axle in vehicle.axles:
        if axle.brake != "air disc":
            continue
        pictures = []
        for side in "LR":
            place = f"{axle.id}{side}"
            alt = f"Boxes for the four corners of both pads of {place}, as the pads lie."
            pictures.append(Picture(draw_blank_pads(place), alt))
        title = place_words(axle.id)
        axles.append(
            {
                "title": title[:1].upper() + title[1:],
                "limit": _pad_limit(catalogue.limits_for(axle.design, on)),
                "pictures": [{"svg": each.svg, "alt": each.alt} for each in pictures],
            }
        )
    return axles


def sheet_data(vehicle: Vehicle, catalogue: Catalogue, on: date) -> dict[str, Any]:
    """Return what stands on the reading sheet of a vehicle.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    catalogue : Catalogue
        Checks, fields, states and limits.
    on : date
        Day for which the limits hold.

    Returns
    -------
    dict
        JSON-safe values; each field of a wheel end stands in one state only.
    """
    states = []
    for code in ROUND:
        groups = _groups(vehicle, catalogue, code, on)
        if groups:
            states.append({"code": code, "title": catalogue.states[code].title, "groups": groups})
    pad_check = next(check for check in catalogue.checks.values() if "pad_inner" in check.fields)
    drawn = draw_vehicle(vehicle)
    return {
        "made_by": MADE_BY,
        "vehicle_id": vehicle.id,
        "description": vehicle.description,
        "dated": on.isoformat(),
        "vehicle": {
            "svg": drawn,
            "alt": "The vehicle from above, front up, with the names of its wheel ends.",
        },
        "cautions": list(CAUTIONS),
        "decides": DECIDES,
        "states": states,
        "pad_state": _PAD_STATE,
        "pads": _pads(vehicle, catalogue, on),
        "pad_how": f"{pad_check.how} Gauge: {pad_check.gauge}.",
    }


def render_blank_sheet_pdf(
    vehicle: Vehicle, catalogue: Catalogue, out: Path, *, on: date, paper: str = "a4"
) -> Path:
    """Write the reading sheet of a vehicle as a PDF for the clipboard.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    catalogue : Catalogue
        Checks, fields, states and limits.
    out : Path
        The file; replaced if it exists.
    on : date
        Day for which the limits hold, and day of the sheet.
    paper : {"a4", "us-letter"}
        Size of the paper.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    CatalogueError
        If an axle names a brake design that the catalogue does not have.
    StorageError
        If the file cannot be written.
    """
    return write_pdf(compile_pdf("blank.typ", sheet_data(vehicle, catalogue, on), day=on, paper=paper), out)
