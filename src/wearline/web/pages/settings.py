"""Settings, audit trail, records and blank sheets."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from wearline.app.sheets import SHEET_FORMS, Layout, reading_sheet, vehicle_for_sheet
from wearline.ingest.write import document_from_inspection
from wearline.records.inspection import AXLE_ROLES, VEHICLE_KINDS, Vehicle
from wearline.storage.journal import AuditRow
from wearline.web.asking import Ask, Sent, add_form, add_page, ask_of
from wearline.web.plain import plain
from wearline.web.refusals import Refusal, not_found
from wearline.web.rendering import LANGUAGES
from wearline.web.shop import ShopSettings, safe_name

__all__ = ["AuditPage", "RecordsPage", "SettingsPage", "SheetPage", "router"]

router = APIRouter()


@dataclass(frozen=True, slots=True)
class SettingsPage:
    """The settings.

    Parameters
    ----------
    settings : ShopSettings
        As they are.
    languages : tuple of str
        Languages there are.
    confidence : float
        Probability asked of a guarded verdict.
    """

    settings: ShopSettings
    languages: tuple[str, ...]
    confidence: float


def _settings(ask: Ask) -> SettingsPage:
    settings = ask.shop.settings()
    return SettingsPage(settings, LANGUAGES, settings.decision_settings.confidence)


_CHOICES = {"units": ("metric", "inch"), "decision": ("guarded", "simple"), "language": LANGUAGES}


def _save_settings(sent: Sent) -> str:
    values = {name: sent.text(name) for name in _CHOICES}
    for name, value in values.items():
        if value not in _CHOICES[name]:
            raise Refusal(422, f"'{value[:40]}' is no choice", where=name, allowed=", ".join(_CHOICES[name]))
    values["shop_name"] = sent.text("shop_name", 80)
    sent.ask.shop.save_settings(values, sent.ask.person.name)
    sent.ask.log("change settings", detail=", ".join(f"{name} {value}" for name, value in values.items()))
    return "/settings"


add_page(router, "/settings", "settings.html", _settings)
add_form(router, "/settings", _save_settings, role="administers")


@dataclass(frozen=True, slots=True)
class AuditPage:
    """The audit trail.

    Parameters
    ----------
    rows : tuple of AuditRow
        The newest first.
    action : str
        Only this action is shown.
    before : int or None
        Where the next part begins; None at the end.
    """

    rows: tuple[AuditRow, ...]
    action: str
    before: int | None


def _audit(ask: Ask) -> AuditPage:
    text = ask.query.get("before", "")
    before = int(text) if text.isascii() and text.isdigit() and len(text) < 18 else None
    action = ask.query.get("action", "").replace("\0", "")
    rows = ask.shop.journal.trail(before=before, action=action, limit=101)
    more = rows[100].number + 1 if len(rows) > 100 else None
    return AuditPage(tuple(rows[:100]), action, more)


add_page(router, "/audit", "audit.html", _audit, role="administers")


@dataclass(frozen=True, slots=True)
class PeriodLine:
    """How long something is kept by a rule.

    Parameters
    ----------
    pack, text, citation, grade : str
        Whose rule, the rule, where it stands, how well its text is known.
    months, months_after_leaving : int
        Months; 0 for none.
    """

    pack: str
    text: str
    citation: str
    grade: str
    months: int
    months_after_leaving: int


@dataclass(frozen=True, slots=True)
class RecordsPage:
    """Records: how long they are to be kept, and how to take them elsewhere.

    Parameters
    ----------
    periods : tuple of PeriodLine
        Rules of keeping.
    inspections, drafts : int
        How much there is.
    database : str
        Where.
    """

    periods: tuple[PeriodLine, ...]
    inspections: int
    drafts: int
    database: str


def _records(ask: Ask) -> RecordsPage:
    catalogue = ask.shop.catalogue()
    periods = tuple(
        PeriodLine(
            pack.title, each.text, each.citation, str(each.grade), each.months, each.months_after_leaving
        )
        for pack in catalogue.packs.values()
        for each in pack.periods
    )
    drafts = len(ask.shop.events.drafts(limit=1000, open_only=True))
    # the place of the database is nobody's business who only reads
    where = ask.shop.store.where if ask.person.may("administers") else ""
    return RecordsPage(periods, ask.index.size, drafts, where)


add_page(router, "/records", "records.html", _records)


@router.get("/records/export.jsonl", include_in_schema=False)
def export(request: Request) -> Response:
    """Give every kept inspection with its signatures, one line each."""
    ask = ask_of(request, "reads")
    ask.log("export records")

    def lines() -> Iterator[bytes]:
        for line in reversed(ask.index.history(None, superseded=True)):
            kept = ask.shop.store.inspection(line.id)
            signed = ask.shop.journal.signatures([kept.id]).get(kept.id, [])
            body: dict[str, Any] = {
                "schema": "wearline.inspection/1",
                "id": kept.id,
                "digest": kept.digest,
                "kept_by": kept.kept_by,
                "kept_at": kept.kept_at,
                "supersedes": kept.supersedes,
                "superseded_by": kept.superseded_by,
                "reason": kept.reason,
                "signatures": signed,
                "document": document_from_inspection(kept.inspection),
            }
            yield json.dumps(plain(body), ensure_ascii=False).encode() + b"\n"

    headers = {"content-disposition": 'attachment; filename="inspections.jsonl"', "cache-control": "no-store"}
    return StreamingResponse(lines(), media_type="application/jsonl", headers=headers)


@dataclass(frozen=True, slots=True)
class SheetPage:
    """Blank sheets.

    Parameters
    ----------
    vehicles : tuple of str
        Vehicles that are known.
    roles, kinds, forms : tuple of str
        What can be chosen.
    designs : tuple of (str, str)
        Ids and titles.
    chosen : str
        Vehicle that is asked for.
    """

    vehicles: tuple[str, ...]
    roles: tuple[str, ...]
    kinds: tuple[str, ...]
    forms: tuple[str, ...]
    designs: tuple[tuple[str, str], ...]
    chosen: str


def _sheet(ask: Ask) -> SheetPage:
    catalogue = ask.shop.catalogue()
    return SheetPage(
        vehicles=tuple(sorted((line.vehicle for line, _ in ask.index.latest()), key=str.casefold)),
        roles=tuple(AXLE_ROLES),
        kinds=tuple(VEHICLE_KINDS),
        forms=SHEET_FORMS,
        designs=tuple((name, each.title) for name, each in catalogue.designs.items()),
        chosen=ask.query.get("vehicle", ""),
    )


add_page(router, "/sheet", "sheet.html", _sheet)

_KINDS = {
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".pdf": "application/pdf",
    ".toml": "application/toml",
    ".csv": "text/csv",
}


@router.get("/sheet/file", include_in_schema=False)
def sheet_file(request: Request) -> Response:
    """Give a blank sheet for a known vehicle or for a new one."""
    from urllib.parse import quote

    ask = ask_of(request, "reads")
    form = ask.query.get("form", ".xlsx")
    if form not in _KINDS:
        raise Refusal(
            422, f"a sheet cannot be written as '{form[:20]}'", where="form", allowed=", ".join(_KINDS)
        )
    vehicle = _vehicle(ask)
    with tempfile.TemporaryDirectory(prefix="wearline-") as folder:
        path = Path(folder) / f"sheet{form}"
        reading_sheet(vehicle, path, today=ask.shop.today, units=ask.shop.settings().units, overwrite=True)
        data = path.read_bytes()
    name = quote(safe_name(f"sheet {vehicle.id}", form))
    headers = {"content-disposition": f"attachment; filename*=UTF-8''{name}", "cache-control": "no-store"}
    return Response(data, media_type=_KINDS[form], headers=headers)


def _vehicle(ask: Ask) -> Vehicle:
    known = ask.query.get("vehicle", "")
    if known:
        latest = ask.shop.store.latest(known.replace("\0", ""))
        if latest is None:
            raise not_found(f"nothing is kept of a vehicle '{known[:80]}'")
        return latest.inspection.vehicle
    name = ask.query.get("new", "").strip()
    if not name or not name.isprintable() or len(name) > 80:
        raise Refusal(422, "the new vehicle has no name", where="new", allowed="1 to 80 characters")
    roles = [role.strip() for role in ask.query.get("axles", "").split(",") if role.strip()]
    if not roles:
        raise Refusal(422, "the new vehicle has no axle", where="axles", allowed=", ".join(AXLE_ROLES))
    layout = Layout(roles[:20], ask.query.get("design", ""), ask.query.get("kind", "motor vehicle"))
    return vehicle_for_sheet(name, layout, None)
