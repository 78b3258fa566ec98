"""What happened and who signed: audit trail, signatures and settings."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import insert, select, update

from wearline.errors import StorageError
from wearline.storage.store import Store
from wearline.storage.tables import inspections
from wearline.storage.web_tables import audit, settings, signatures

__all__ = ["AuditRow", "JournalStore", "Signature"]

_AT_A_TIME = 400


@dataclass(frozen=True, slots=True)
class AuditRow:
    """One line of the audit trail.

    Parameters
    ----------
    at : datetime
        When.
    who, address : str
        Account, and from where.
    action, target : str
        What was done, and to what.
    outcome : str
        ``"done"`` or ``"refused"``.
    detail : str
        In words.
    number : int
        Its place in the trail; 0 before it is stored.
    """

    at: datetime
    who: str
    address: str
    action: str
    target: str
    outcome: str
    detail: str = ""
    number: int = 0


@dataclass(frozen=True, slots=True)
class Signature:
    """A named person's signature under a kept inspection.

    Parameters
    ----------
    inspection_id, inspection_digest : str
        The inspection, and the fingerprint of what it said.
    signed_by, account, qualification : str
        The person, the account used, and the qualification.
    statement : str
        What was signed.
    signed_at : datetime
        When.
    """

    inspection_id: str
    inspection_digest: str
    signed_by: str
    account: str
    qualification: str
    statement: str
    signed_at: datetime


class JournalStore:
    """Audit trail, signatures and settings of a database.

    Parameters
    ----------
    store : Store
        The open database.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def log(self, rows: Iterable[AuditRow]) -> None:
        """Add lines to the audit trail.

        Parameters
        ----------
        rows : iterable of AuditRow
            The lines.

        Raises
        ------
        StorageError
            If the database cannot be written.
        """
        values = [
            {
                "at": row.at,
                "who": row.who,
                "address": row.address,
                "action": row.action,
                "target": row.target,
                "outcome": row.outcome,
                "detail": row.detail,
            }
            for row in rows
        ]
        if values:
            with self._store.writing() as connection:
                connection.execute(insert(audit), values)

    def trail(self, *, before: int | None = None, action: str = "", limit: int = 100) -> list[AuditRow]:
        """Return lines of the audit trail, the newest first.

        Parameters
        ----------
        before : int, optional
            Only lines before this place.
        action : str
            Only this action.
        limit : int
            At most so many.

        Returns
        -------
        list of AuditRow
            The lines.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = select(audit).order_by(audit.c.number.desc()).limit(limit)
        if before is not None:
            statement = statement.where(audit.c.number < before)
        if action:
            statement = statement.where(audit.c.action == action)
        with self._store.reading() as connection:
            return [AuditRow(**row) for row in connection.execute(statement).mappings()]

    def sign(self, signature: Signature) -> None:
        """Put a signature under an inspection.

        Parameters
        ----------
        signature : Signature
            The signature.

        Raises
        ------
        StorageError
            If the inspection is unknown, has changed, is superseded, or this person has signed it already.
        """
        later = inspections.alias("later")
        with self._store.writing() as connection:
            row = connection.execute(
                select(inspections.c.digest, later.c.id.label("superseded_by"))
                .outerjoin_from(inspections, later, later.c.supersedes == inspections.c.id)
                .where(inspections.c.id == signature.inspection_id)
            ).one_or_none()
            signed = connection.execute(
                select(signatures.c.number).filter_by(
                    inspection_id=signature.inspection_id, signed_by=signature.signed_by
                )
            ).first()
            fault = _why_not(row, signature, signed is not None)
            if fault:
                raise StorageError(
                    fault,
                    where=f"inspection {signature.inspection_id}",
                    allowed="a kept inspection that stands, signed once by each person",
                    cure="Open the inspection again and look at it",
                )
            connection.execute(
                insert(signatures),
                {name: getattr(signature, name) for name in signature.__dataclass_fields__},
            )

    def signatures(self, inspection_ids: Iterable[str]) -> dict[str, list[Signature]]:
        """Return the signatures under inspections.

        Parameters
        ----------
        inspection_ids : iterable of str
            The inspections.

        Returns
        -------
        dict of str to list of Signature
            Only inspections that are signed.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        found: dict[str, list[Signature]] = {}
        ids = list(inspection_ids)
        with self._store.reading() as connection:
            for start in range(0, len(ids), _AT_A_TIME):
                part = ids[start : start + _AT_A_TIME]
                statement = select(signatures).where(signatures.c.inspection_id.in_(part))
                for row in connection.execute(statement.order_by(signatures.c.number)).mappings():
                    values = {name: row[name] for name in Signature.__dataclass_fields__}
                    found.setdefault(row["inspection_id"], []).append(Signature(**values))
        return found

    def settings(self) -> dict[str, Any]:
        """Return every setting that was made.

        Returns
        -------
        dict
            By name.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        with self._store.reading() as connection:
            rows = connection.execute(select(settings.c.key, settings.c.value_json))
            return {row.key: json.loads(row.value_json) for row in rows}

    def set(self, values: Mapping[str, Any], by: str, at: datetime) -> None:
        """Make settings.

        Parameters
        ----------
        values : mapping
            JSON values by name.
        by : str
            Who.
        at : datetime
            When.

        Raises
        ------
        StorageError
            If the database cannot be written.
        """
        with self._store.writing() as connection:
            known = set(connection.scalars(select(settings.c.key)))
            for key, value in values.items():
                row = {"value_json": json.dumps(value), "changed_at": at, "changed_by": by}
                if key in known:
                    connection.execute(update(settings).where(settings.c.key == key).values(**row))
                else:
                    connection.execute(insert(settings), row | {"key": key})


def _why_not(row: Any, signature: Signature, signed: bool) -> str:
    if row is None:
        return "there is no such inspection to sign"
    if row.digest != signature.inspection_digest:
        return "the inspection on the screen is not the one that is kept"
    if row.superseded_by is not None:
        return f"the inspection was corrected by {row.superseded_by}"
    return f"{signature.signed_by} has signed it already" if signed else ""
