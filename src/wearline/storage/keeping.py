"""The rules of keeping: the same once, corrections that supersede, an odometer that only rises."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, func, insert, select

from wearline import __version__
from wearline.errors import ReadingError, StorageError
from wearline.records.notices import Notice
from wearline.storage.kept import KeepReceipt
from wearline.storage.rows import Prepared
from wearline.storage.tables import inspections, readings, vehicles

__all__ = ["Request", "check_request", "keep_prepared"]

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.:-]{0,63}")

_later = inspections.alias("later")
_CURRENT = ~select(_later.c.number).where(_later.c.supersedes == inspections.c.id).exists()


@dataclass(frozen=True, slots=True)
class Request:
    """Everything about a keeping but the inspection.

    Parameters
    ----------
    id : str
        Under which a new inspection is kept.
    kept_by : str
        Who keeps it.
    kept_at : datetime
        When, with time zone.
    supersedes : str or None
        Id of the inspection that it corrects.
    reason : str
        Why it corrects it.
    counter_exchanged : bool
        The odometer cannot be compared with that of other inspections.
    """

    id: str
    kept_by: str
    kept_at: datetime
    supersedes: str | None
    reason: str
    counter_exchanged: bool


def check_request(request: Request) -> None:
    """Refuse a request that could not be understood later.

    Parameters
    ----------
    request : Request
        The request.

    Raises
    ------
    StorageError
        If it says not who, not when, an impossible id, or a correction without a reason.
    """
    if not request.kept_by.strip() or "\0" in request.kept_by:
        raise StorageError(
            "nobody is named as the one who keeps the inspection", allowed="a name", cure="Say who keeps it"
        )
    if request.kept_at.tzinfo is None:
        raise StorageError(
            f"the moment of keeping {request.kept_at} has no time zone",
            allowed="a moment with its time zone",
            cure="Give it in UTC",
        )
    if not _ID.fullmatch(request.id):
        raise StorageError(
            f"'{request.id}' cannot be the id of an inspection",
            allowed="1 to 64 letters, digits and the signs - _ . : with a letter or digit first",
            cure="Use a UUID, or give none and have one made",
        )
    if request.supersedes is not None and (not request.reason.strip() or "\0" in request.reason):
        raise StorageError(
            f"the correction of inspection {request.supersedes} gives no reason",
            allowed="a sentence that says what was wrong",
            cure="Say why the earlier inspection is corrected",
        )
    if request.supersedes is None and request.reason:
        raise StorageError(
            "a reason is given, but no inspection that is corrected",
            allowed="a reason together with the id of the inspection that it corrects",
            cure="Name the inspection, or leave the reason out",
        )


def keep_prepared(connection: Connection, prepared: Prepared, request: Request) -> KeepReceipt:
    """Keep an inspection inside a writing transaction.

    Parameters
    ----------
    connection : Connection
        In a transaction that is the only writer.
    prepared : Prepared
        The inspection.
    request : Request
        Who, when, and what it corrects.

    Returns
    -------
    KeepReceipt
        To be handed on only after the commit.

    Raises
    ------
    StorageError
        If the id is taken, or the correction is of an unknown or already corrected inspection.
    ReadingError
        If the odometer runs backwards.
    """
    known = _already_kept(connection, prepared, request)
    if known is not None:
        return known
    _refuse_taken_id(connection, prepared, request)
    notices = _notices(connection, prepared, request)
    _check_odometer(connection, prepared, request)
    _insert(connection, prepared, request)
    return KeepReceipt(id=request.id, digest=prepared.digest, already_kept=False, notices=notices)


def _already_kept(connection: Connection, prepared: Prepared, request: Request) -> KeepReceipt | None:
    if request.supersedes is not None:
        return _correction_already_kept(connection, prepared, request.supersedes)
    rows = connection.execute(
        select(inspections.c.id, _later.c.id.label("superseded_by"))
        .outerjoin_from(inspections, _later, _later.c.supersedes == inspections.c.id)
        .where(inspections.c.digest == prepared.digest)
        .order_by(_later.c.id.is_not(None), inspections.c.number)
        .limit(1)
    ).all()
    if not rows:
        return None
    (found,) = rows
    return _again(found.id, prepared.digest, found.superseded_by)


def _again(kept_id: str, digest: str, superseded_by: str | None) -> KeepReceipt:
    if superseded_by is None:
        return KeepReceipt(kept_id, digest, already_kept=True)
    notice = Notice(
        "already-corrected",
        f"The same inspection is kept as {kept_id} and has since been corrected by {superseded_by}.",
        where=f"inspection {kept_id}",
        cure=f"If it was right after all, keep it as a correction of {superseded_by} and say why.",
    )
    return KeepReceipt(kept_id, digest, already_kept=True, notices=(notice,))


def _correction_already_kept(
    connection: Connection, prepared: Prepared, target_id: str
) -> KeepReceipt | None:
    target = connection.execute(
        select(inspections.c.digest).where(inspections.c.id == target_id)
    ).one_or_none()
    if target is None:
        raise StorageError(
            f"there is no inspection {target_id} to correct",
            allowed="the id of a kept inspection",
            cure="Look it up in the history",
        )
    successor = connection.execute(
        select(inspections.c.id, inspections.c.digest, _later.c.id.label("superseded_by"))
        .outerjoin_from(inspections, _later, _later.c.supersedes == inspections.c.id)
        .where(inspections.c.supersedes == target_id)
    ).one_or_none()
    if successor is not None:
        if successor.digest == prepared.digest:
            return _again(successor.id, prepared.digest, successor.superseded_by)
        raise StorageError(
            f"inspection {target_id} is already corrected by {successor.id}",
            allowed="one correction of each inspection; a further one corrects the last",
            cure=f"Look at {successor.id}, and correct that one if it is still wrong",
        )
    if target.digest != prepared.digest:
        return None
    notice = Notice(
        "nothing-to-correct",
        f"The correction says exactly what inspection {target_id} says; nothing was written.",
        where=f"inspection {target_id}",
        cure="Check that the corrected file was given.",
    )
    return KeepReceipt(target_id, prepared.digest, already_kept=True, notices=(notice,))


def _refuse_taken_id(connection: Connection, prepared: Prepared, request: Request) -> None:
    taken = connection.execute(
        select(inspections.c.vehicle_id, inspections.c.taken_on).where(inspections.c.id == request.id)
    ).one_or_none()
    if taken is not None:
        raise StorageError(
            f"the id {request.id} belongs to another inspection, of {taken.vehicle_id} on {taken.taken_on}",
            where=f"inspection of {prepared.vehicle_id}",
            allowed="an id that is not used yet",
            cure="Give another id, or none; to correct that inspection, name it as the one corrected",
        )


def _others(prepared: Prepared, request: Request) -> Select[Any]:
    """Current inspections of the vehicle but the one that is being corrected."""
    statement = select(
        inspections.c.id,
        inspections.c.taken_on,
        inspections.c.odometer_m,
        inspections.c.counter_exchanged,
        inspections.c.vehicle_digest,
    ).where(inspections.c.vehicle_id == prepared.vehicle_id, _CURRENT)
    if request.supersedes is not None:
        statement = statement.where(inspections.c.id != request.supersedes)
    return statement


def _notices(connection: Connection, prepared: Prepared, request: Request) -> tuple[Notice, ...]:
    day: date = prepared.inspection_row["taken_on"]
    found = [
        _other_vehicle(connection, prepared, request),
        _same_day(connection, prepared, request, day),
        _other_layout(connection, prepared, request, day),
    ]
    return tuple(notice for notice in found if notice is not None)


def _other_vehicle(connection: Connection, prepared: Prepared, request: Request) -> Notice | None:
    if request.supersedes is None:
        return None
    before = connection.execute(
        select(inspections.c.vehicle_id).where(inspections.c.id == request.supersedes)
    ).scalar_one()
    if before == prepared.vehicle_id:
        return None
    return Notice(
        "other-vehicle",
        f"Inspection {request.supersedes} is of vehicle {before}, its correction of {prepared.vehicle_id}.",
        where=f"vehicle {prepared.vehicle_id}",
        cure="If the vehicle was not what had to be corrected, correct this one again.",
    )


def _same_day(connection: Connection, prepared: Prepared, request: Request, day: date) -> Notice | None:
    ids = connection.scalars(
        _others(prepared, request)
        .where(inspections.c.taken_on == day)
        .order_by(inspections.c.number)
        .with_only_columns(inspections.c.id)
    ).all()
    if not ids:
        return None
    return Notice(
        "same-day",
        f"Vehicle {prepared.vehicle_id} has another inspection of {day}: {', '.join(ids)}. Both are kept.",
        where=f"vehicle {prepared.vehicle_id}",
        cure=f"If this one corrects it, keep it as a correction of {ids[-1]}.",
    )


def _other_layout(connection: Connection, prepared: Prepared, request: Request, day: date) -> Notice | None:
    others = (
        _others(prepared, request)
        .join(
            vehicles,
            (vehicles.c.vehicle_id == inspections.c.vehicle_id)
            & (vehicles.c.digest == inspections.c.vehicle_digest),
        )
        .with_only_columns(inspections.c.taken_on, vehicles.c.layout)
        .limit(1)
    )
    earlier = others.where(inspections.c.taken_on <= day).order_by(
        inspections.c.taken_on.desc(), inspections.c.number.desc()
    )
    later = others.where(inspections.c.taken_on > day).order_by(inspections.c.taken_on, inspections.c.number)
    nearest = connection.execute(earlier).one_or_none() or connection.execute(later).one_or_none()
    layout = prepared.vehicle_row["layout"]
    if nearest is None or nearest.layout == layout:
        return None
    return Notice(
        "axle-layout",
        f"Vehicle {prepared.vehicle_id} has axles {layout}; on {nearest.taken_on} it had {nearest.layout}.",
        where=f"vehicle {prepared.vehicle_id}",
        cure="Check that it is the same vehicle; if not, correct this inspection under its own id.",
    )


def _check_odometer(connection: Connection, prepared: Prepared, request: Request) -> None:
    odometer: float | None = prepared.inspection_row["odometer_m"]
    if odometer is None or request.counter_exchanged:
        return
    day: date = prepared.inspection_row["taken_on"]
    counted = _others(prepared, request).where(inspections.c.odometer_m.is_not(None))
    # the nearest day on each side is enough: every keeping has checked its own neighbours before
    earlier = counted.where(inspections.c.taken_on < day)
    later = counted.where(inspections.c.taken_on > day)
    last_day = earlier.with_only_columns(func.max(inspections.c.taken_on)).scalar_subquery()
    next_day = later.with_only_columns(func.min(inspections.c.taken_on)).scalar_subquery()
    before = connection.execute(counted.where(inspections.c.taken_on == last_day)).all()
    after = connection.execute(counted.where(inspections.c.taken_on == next_day)).all()
    exchanged = [row for row in before if row.counter_exchanged]
    _refuse_below(prepared, odometer, exchanged or before)
    if not any(row.counter_exchanged for row in after):
        _refuse_above(prepared, odometer, after)


def _refuse_below(prepared: Prepared, odometer: float, before: Sequence[Row[Any]]) -> None:
    highest = max(before, key=lambda row: float(row.odometer_m), default=None)
    if highest is not None and odometer < highest.odometer_m:
        raise _backwards(
            prepared,
            odometer,
            f"below {_km(highest.odometer_m)} of the earlier inspection",
            highest,
            "at least",
        )


def _refuse_above(prepared: Prepared, odometer: float, after: Sequence[Row[Any]]) -> None:
    lowest = min(after, key=lambda row: float(row.odometer_m), default=None)
    if lowest is not None and odometer > lowest.odometer_m:
        raise _backwards(
            prepared, odometer, f"above {_km(lowest.odometer_m)} of the later inspection", lowest, "at most"
        )


def _backwards(prepared: Prepared, odometer: float, how: str, other: Row[Any], bound: str) -> ReadingError:
    return ReadingError(
        f"the odometer of {prepared.vehicle_id} is {_km(odometer)}, {how} {other.id} of {other.taken_on}",
        where=f"odometer of {prepared.vehicle_id} on {prepared.inspection_row['taken_on']}",
        allowed=f"{bound} {_km(other.odometer_m)}, unless the counter was exchanged",
        cure="Check the odometer, its unit (km or miles) and the date; if the counter was exchanged, say so; "
        "if the other inspection is wrong, correct that one first",
    )


def _km(distance: float) -> str:
    return f"{distance / 1000:.3f}".rstrip("0").rstrip(".") + " km"


def _insert(connection: Connection, prepared: Prepared, request: Request) -> None:
    described = connection.execute(
        select(vehicles.c.digest).where(
            vehicles.c.vehicle_id == prepared.vehicle_id,
            vehicles.c.digest == prepared.vehicle_row["digest"],
        )
    ).one_or_none()
    if described is None:
        connection.execute(insert(vehicles), prepared.vehicle_row | {"first_kept_at": request.kept_at})
    number = connection.execute(
        insert(inspections).returning(inspections.c.number),
        prepared.inspection_row
        | {
            "id": request.id,
            "counter_exchanged": request.counter_exchanged,
            "kept_at": request.kept_at,
            "kept_by": request.kept_by,
            "code_version": __version__,
            "supersedes": request.supersedes,
            "reason": request.reason,
        },
    ).scalar_one()
    if prepared.reading_rows:
        connection.execute(
            insert(readings), [row | {"inspection_number": number} for row in prepared.reading_rows]
        )
