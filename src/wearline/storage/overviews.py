"""What lists and pages ask of everything that is kept, in bulk and without reading what they do not show."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select

from wearline.storage.kept import Snapshot
from wearline.storage.store import Store
from wearline.storage.tables import inspections, readings, snapshots, vehicles

__all__ = ["IndexRow", "OverviewStore", "ThinnestRow"]

_AT_A_TIME = 400


@dataclass(frozen=True, slots=True)
class IndexRow:
    """A kept inspection without what it says.

    Parameters
    ----------
    number : int
        Rises with every inspection kept.
    id, vehicle_id, digest : str
        The inspection, its vehicle, and the fingerprint of what it says.
    taken_on : date
        Day of the readings.
    odometer : float or None
        Distance run [m].
    kept_by : str
        Who kept it.
    supersedes : str or None
        Id of the inspection that it corrects.
    """

    number: int
    id: str
    vehicle_id: str
    digest: str
    taken_on: Any
    odometer: float | None
    kept_by: str
    supersedes: str | None


@dataclass(frozen=True, slots=True)
class ThinnestRow:
    """The smallest reading at one wheel end in one inspection.

    Parameters
    ----------
    wheel_end : str
        Where.
    taken_on : date
        Day of the reading.
    odometer : float or None
        Distance run [m].
    value : float
        The reading [SI].
    """

    wheel_end: str
    taken_on: Any
    odometer: float | None
    value: float


class OverviewStore:
    """Questions about many inspections at once.

    Parameters
    ----------
    store : Store
        The open database.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def results(
        self, kind: str, digests: Iterable[str], code_version: str, catalogue_version: str
    ) -> dict[str, Any]:
        """Return stored results of many inspections.

        Parameters
        ----------
        kind : str
            Which answer.
        digests : iterable of str
            Fingerprints of the inspections.
        code_version, catalogue_version : str
            Of which versions.

        Returns
        -------
        dict of str to mapping
            Result by fingerprint; only those that are stored.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        found: dict[str, Any] = {}
        wanted = list(digests)
        with self._store.reading() as connection:
            for start in range(0, len(wanted), _AT_A_TIME):
                statement = select(snapshots.c.input_digest, snapshots.c.result_json).where(
                    snapshots.c.kind == kind,
                    snapshots.c.input_digest.in_(wanted[start : start + _AT_A_TIME]),
                    snapshots.c.code_version == code_version,
                    snapshots.c.catalogue_version == catalogue_version,
                )
                for row in connection.execute(statement):
                    found[row.input_digest] = json.loads(row.result_json)
        return found

    def stored(
        self, kind: str, digests: Iterable[str], code_version: str, catalogue_version: str
    ) -> set[str]:
        """Return of which inspections a result is stored, without reading the results.

        Parameters
        ----------
        kind : str
            Which answer.
        digests : iterable of str
            Fingerprints of the inspections.
        code_version, catalogue_version : str
            Of which versions.

        Returns
        -------
        set of str
            Fingerprints of those that have one.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        wanted = list(digests)
        found: set[str] = set()
        with self._store.reading() as connection:
            for start in range(0, len(wanted), _AT_A_TIME):
                statement = select(snapshots.c.input_digest).where(
                    snapshots.c.kind == kind,
                    snapshots.c.input_digest.in_(wanted[start : start + _AT_A_TIME]),
                    snapshots.c.code_version == code_version,
                    snapshots.c.catalogue_version == catalogue_version,
                )
                found.update(connection.scalars(statement))
        return found

    def newest_result(self, kind: str, code_version: str) -> Snapshot | None:
        """Return the result of a kind that was stored last, whatever it is about.

        Parameters
        ----------
        kind : str
            Which answer.
        code_version : str
            Of which version of the program.

        Returns
        -------
        Snapshot or None
            None if there is none.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        newest = (
            select(func.max(snapshots.c.number))
            .where(snapshots.c.kind == kind, snapshots.c.code_version == code_version)
            .scalar_subquery()
        )
        with self._store.reading() as connection:
            row = connection.execute(select(snapshots).where(snapshots.c.number == newest)).one_or_none()
        if row is None:
            return None
        versions = (row.code_version, row.catalogue_version)
        return Snapshot(row.kind, row.input_digest, *versions, row.made_at, json.loads(row.result_json))

    def thinnest(self, vehicle_id: str, fields: Iterable[str]) -> list[ThinnestRow]:
        """Return the smallest reading of some fields at each wheel end of each inspection of a vehicle.

        Parameters
        ----------
        vehicle_id : str
            The vehicle.
        fields : iterable of str
            Names of the fields.

        Returns
        -------
        list of ThinnestRow
            Of inspections that stand, the oldest day first.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        later = inspections.alias("later")
        statement = (
            select(
                readings.c.wheel_end,
                inspections.c.taken_on,
                inspections.c.odometer_m,
                func.min(readings.c.value_si),
            )
            .select_from(
                inspections.outerjoin(later, later.c.supersedes == inspections.c.id).join(
                    readings, readings.c.inspection_number == inspections.c.number
                )
            )
            .where(
                inspections.c.vehicle_id == vehicle_id,
                later.c.id.is_(None),
                readings.c.field.in_(list(fields)),
                readings.c.wheel_end != "",
                readings.c.value_si.is_not(None),
            )
            .group_by(
                inspections.c.number, inspections.c.taken_on, inspections.c.odometer_m, readings.c.wheel_end
            )
            .order_by(inspections.c.taken_on, inspections.c.number)
        )
        with self._store.reading() as connection:
            return [ThinnestRow(*row) for row in connection.execute(statement)]

    def layouts(self, vehicle_id: str) -> dict[str, tuple[str, float | None]]:
        """Return how each inspection of a vehicle describes its axles, and its odometer.

        Parameters
        ----------
        vehicle_id : str
            The vehicle.

        Returns
        -------
        dict of str to (str, float or None)
            By id of the inspection: axles as ``"1 steer air disc, 2 drive air disc"``, distance run [m].

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = (
            select(inspections.c.id, vehicles.c.layout, inspections.c.odometer_m)
            .join_from(
                inspections,
                vehicles,
                (vehicles.c.vehicle_id == inspections.c.vehicle_id)
                & (vehicles.c.digest == inspections.c.vehicle_digest),
            )
            .where(inspections.c.vehicle_id == vehicle_id)
        )
        with self._store.reading() as connection:
            return {row.id: (row.layout, row.odometer_m) for row in connection.execute(statement)}

    def newest_inspection(self) -> int:
        """Return the number of the inspection kept last.

        Returns
        -------
        int
            0 where none is kept.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        with self._store.reading() as connection:
            return connection.scalar(select(func.max(inspections.c.number))) or 0

    def inspections_after(self, number: int) -> list[IndexRow]:
        """Return the inspections kept after one, without what they say.

        Parameters
        ----------
        number : int
            Number of that one.

        Returns
        -------
        list of IndexRow
            In the order in which they were kept.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = (
            select(
                inspections.c.number,
                inspections.c.id,
                inspections.c.vehicle_id,
                inspections.c.digest,
                inspections.c.taken_on,
                inspections.c.odometer_m.label("odometer"),
                inspections.c.kept_by,
                inspections.c.supersedes,
            )
            .where(inspections.c.number > number)
            .order_by(inspections.c.number)
        )
        with self._store.reading() as connection:
            return [IndexRow(*row) for row in connection.execute(statement)]
