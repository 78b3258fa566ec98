"""The database as the rest of the program sees it."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from datetime import date, datetime
from types import TracebackType
from typing import Any, Self, TypeVar

from sqlalchemy import Connection, Select, insert, select

from wearline.errors import ProgramFault, StorageError
from wearline.records.inspection import Inspection
from wearline.storage.addresses import Address, file_identity
from wearline.storage.engines import checkpoint, make_engine, writing_engine
from wearline.storage.failures import sound_values, translated
from wearline.storage.integrity import check_store
from wearline.storage.keeping import Request, check_request, keep_prepared
from wearline.storage.kept import (
    KeepReceipt,
    KeptInspection,
    KeptReading,
    KeptVehicle,
    Snapshot,
    StoreCheck,
    canonical_text,
    text_digest,
)
from wearline.storage.queries import (
    Period,
    history_statement,
    inspection_statement,
    kept_inspection,
    kept_reading,
    kept_vehicle,
    latest_statement,
    readings_statement,
    vehicles_statement,
)
from wearline.storage.rows import prepare
from wearline.storage.schema import bring_up_to_date, check_owner
from wearline.storage.tables import snapshots

__all__ = ["Store"]

_Kept = TypeVar("_Kept")


class Store:
    """An open database of inspections; made by ``open_store``.

    Facts are only ever added. A correction is a new inspection that supersedes an earlier one, and both stay.
    Every ``keep`` is one transaction: when it returns, the inspection is on the disk; when it raises, nothing
    of it is.
    One store may be used by several threads.

    Parameters
    ----------
    address : Address
        Where the database is.
    create : bool
        Whether tables are made in an empty database.
    busy_timeout : float
        How long a writer waits for another one [s].
    new_id : callable or None
        Gives the id of an inspection that is kept without one.

    Raises
    ------
    StorageError
        If the database cannot be used.
    """

    def __init__(
        self,
        address: Address,
        *,
        create: bool = True,
        busy_timeout: float = 5.0,
        new_id: Callable[[], str] | None = None,
    ) -> None:
        self._address = address
        self._new_id = new_id if new_id is not None else _random_id
        if address.path is not None:
            check_owner(address, busy_timeout)
            self._file = file_identity(address.path)
        self._engine = make_engine(address, busy_timeout)
        self._writing_engine = writing_engine(self._engine)
        self._open = True
        try:
            bring_up_to_date(self._engine, address, create=create)
        except BaseException:
            self._engine.dispose()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close every connection; an SQLite file then stands alone, without the files beside it."""
        if self._open:
            self._open = False
            checkpoint(self._engine)
            self._engine.dispose()

    @property
    def where(self) -> str:
        """Where the database is, without any password."""
        return self._address.shown

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        self._require_open()
        with translated(self._address), self._engine.begin() as connection, sound_values(self._address):
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        self._require_open()
        self._require_same_file()
        with translated(self._address), self._writing_engine.begin() as connection:
            yield connection

    def reading(self) -> AbstractContextManager[Connection]:
        """Begin a reading transaction, for the other modules of this package.

        Returns
        -------
        context manager
            Gives the connection; errors of the database come out as those of this project.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        return self._reading()

    def writing(self) -> AbstractContextManager[Connection]:
        """Begin a transaction that is the only writer, for the other modules of this package.

        Returns
        -------
        context manager
            Gives the connection; it commits at the end, and what was written is then on the disk.

        Raises
        ------
        StorageError
            If the database cannot be written.
        """
        return self._writing()

    def _require_open(self) -> None:
        if not self._open:
            raise ProgramFault("the database is used after it was closed", where=self.where)

    def _require_same_file(self) -> None:
        """Refuse to acknowledge what would go into a file that nobody can find again."""
        path = self._address.path
        if path is not None and file_identity(path) != self._file:
            raise StorageError(
                "the file was moved or replaced while it was in use",
                where=self.where,
                allowed="the same file from opening to closing",
                cure="Put it back, or close the program and open the file that is there now",
            )

    def _all(self, statement: Select[Any], build: Callable[[Mapping[str, Any]], _Kept]) -> list[_Kept]:
        with self._reading() as connection:
            return [build(row._asdict()) for row in connection.execute(statement)]

    def keep(
        self,
        inspection: Inspection,
        *,
        kept_by: str,
        kept_at: datetime,
        supersedes: str | None = None,
        reason: str = "",
        counter_exchanged: bool = False,
        inspection_id: str | None = None,
    ) -> KeepReceipt:
        """Keep an inspection for good; keeping the same one again writes nothing and says so.

        Parameters
        ----------
        inspection : Inspection
            The inspection.
        kept_by : str
            Who keeps it.
        kept_at : datetime
            When, with time zone.
        supersedes : str, optional
            Id of the current inspection that this one corrects.
        reason : str
            Why, for a correction; empty otherwise.
        counter_exchanged : bool
            The odometer was exchanged, so that it cannot be compared with that of other inspections.
        inspection_id : str, optional
            A UUID or other id that the caller made; one is made otherwise.

        Returns
        -------
        KeepReceipt
            Its id; the inspection is on the disk.

        Raises
        ------
        ReadingError
            If the odometer is below that of an earlier day or above that of a later one, or if the inspection
            cannot be kept without loss.
        StorageError
            If the inspection to correct is unknown or already corrected, or the database cannot take it.
        """
        request = Request(
            id=inspection_id if inspection_id is not None else self._new_id(),
            kept_by=kept_by,
            kept_at=kept_at,
            supersedes=supersedes,
            reason=reason,
            counter_exchanged=counter_exchanged,
        )
        try:
            check_request(request)
            prepared = prepare(inspection)
            with self._writing() as connection:
                receipt = keep_prepared(connection, prepared, request)
        except StorageError as error:
            if error.where:
                raise
            raise error.at(self.where) from None
        return receipt

    def history(
        self,
        vehicle_id: str | None,
        since: date | None = None,
        until: date | None = None,
        include_superseded: bool = False,
    ) -> list[KeptInspection]:
        """Return the inspections of one or of every vehicle, oldest day first.

        Parameters
        ----------
        vehicle_id : str or None
            The vehicle; None for all.
        since, until : date, optional
            First and last day of the readings, both included.
        include_superseded : bool
            Also those that have been corrected.

        Returns
        -------
        list of KeptInspection
            Empty for a vehicle that is not known.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = history_statement(vehicle_id, Period(since, until), include_superseded=include_superseded)
        return self._all(statement, kept_inspection)

    def inspection(self, inspection_id: str) -> KeptInspection:
        """Return one inspection, superseded or not.

        Parameters
        ----------
        inspection_id : str
            Its id.

        Returns
        -------
        KeptInspection
            The inspection.

        Raises
        ------
        StorageError
            If there is none, or the database cannot be read.
        """
        found = self._all(inspection_statement(inspection_id), kept_inspection)
        if not found:
            raise StorageError(
                f"there is no inspection {inspection_id}",
                where=self.where,
                allowed="the id of a kept inspection",
                cure="Look it up in the history",
            )
        return found[0]

    def latest(self, vehicle_id: str, before: date | None = None) -> KeptInspection | None:
        """Return the latest current inspection of a vehicle.

        Parameters
        ----------
        vehicle_id : str
            The vehicle.
        before : date, optional
            Only of earlier days than this one.

        Returns
        -------
        KeptInspection or None
            None if there is none.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        found = self._all(latest_statement(vehicle_id, before), kept_inspection)
        return found[0] if found else None

    def vehicles(self) -> list[KeptVehicle]:
        """Return every vehicle that has a current inspection, by id.

        Returns
        -------
        list of KeptVehicle
            As their latest inspections describe them.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        return sorted(self._all(vehicles_statement(), kept_vehicle), key=lambda vehicle: vehicle.id)

    def readings(
        self, vehicle_id: str, field: str, since: date | None = None, until: date | None = None
    ) -> list[KeptReading]:
        """Return every current reading of one field of a vehicle, for its trend.

        Parameters
        ----------
        vehicle_id : str
            The vehicle.
        field : str
            Name of the field, as ``"pad_inner"``.
        since, until : date, optional
            First and last day of the readings, both included.

        Returns
        -------
        list of KeptReading
            Oldest day first, then by wheel end and spot.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        found = self._all(readings_statement(vehicle_id, field, Period(since, until)), kept_reading)
        # by place here, not in the statement: databases order texts by rules of their own
        order = {kept.inspection_id: number for number, kept in reversed(list(enumerate(found)))}
        return sorted(
            found, key=lambda kept: (order[kept.inspection_id], str(kept.wheel_end or ""), kept.spot)
        )

    def save_snapshot(self, snapshot: Snapshot) -> bool:
        """Keep a computed result; the same result of the same versions is kept once.

        Parameters
        ----------
        snapshot : Snapshot
            The result.

        Returns
        -------
        bool
            Whether it was new.

        Raises
        ------
        StorageError
            If the database cannot take it.
        """
        if snapshot.made_at.tzinfo is None:
            raise StorageError(
                f"the moment of the snapshot {snapshot.made_at} has no time zone",
                where=self.where,
                allowed="a moment with its time zone",
                cure="Give it in UTC",
            )
        try:
            result = canonical_text(snapshot.result)
            digest = text_digest(result)
        except (ValueError, TypeError) as error:
            raise ProgramFault(
                f"the {snapshot.kind} cannot be written as JSON: {error}", where=self.where
            ) from error
        key = {
            "kind": snapshot.kind,
            "input_digest": snapshot.input_digest,
            "code_version": snapshot.code_version,
            "catalogue_version": snapshot.catalogue_version,
            "result_digest": digest,
        }
        with self._writing() as connection:
            if connection.execute(select(snapshots.c.number).filter_by(**key)).first() is not None:
                return False
            connection.execute(insert(snapshots), key | {"made_at": snapshot.made_at, "result_json": result})
        return True

    def snapshot(
        self,
        kind: str,
        input_digest: str,
        *,
        code_version: str | None = None,
        catalogue_version: str | None = None,
    ) -> Snapshot | None:
        """Return the newest snapshot of a kind for an input.

        Parameters
        ----------
        kind : str
            Which answer.
        input_digest : str
            Fingerprint of the facts that went in.
        code_version, catalogue_version : str, optional
            Only of these versions.

        Returns
        -------
        Snapshot or None
            None if there is none.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = select(snapshots).filter_by(kind=kind, input_digest=input_digest)
        if code_version is not None:
            statement = statement.filter_by(code_version=code_version)
        if catalogue_version is not None:
            statement = statement.filter_by(catalogue_version=catalogue_version)
        found = self._all(statement.order_by(snapshots.c.number.desc()).limit(1), _snapshot)
        return found[0] if found else None

    def check(self) -> StoreCheck:
        """Compare every row with the text it was made from, and every text with its fingerprint.

        Returns
        -------
        StoreCheck
            What was compared and what was found.

        Raises
        ------
        StorageError
            If the database is too damaged to be read.
        """
        with self._reading() as connection:
            return check_store(connection)


def _random_id() -> str:
    return str(uuid.uuid4())


def _snapshot(row: Mapping[str, Any]) -> Snapshot:
    return Snapshot(
        kind=row["kind"],
        input_digest=row["input_digest"],
        code_version=row["code_version"],
        catalogue_version=row["catalogue_version"],
        made_at=row["made_at"],
        result=json.loads(row["result_json"]),
    )
