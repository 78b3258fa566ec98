"""The invented fleet, and its sister buses, in a database, for a first look."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

from wearline.app.tour import SCENARIO
from wearline.catalogue.loading import load_catalogue
from wearline.ingest.document import inspection_from_document
from wearline.practice.fleet import demonstration_fleet
from wearline.practice.sisters import sister_vehicles
from wearline.storage.store import Store

__all__ = ["SCENARIO", "keep_demonstration"]

_SEED = 20_260_914


def keep_demonstration(store: Store, *, kept_by: str, today: date) -> int:
    """Keep every inspection of the invented fleet; keeping it again changes nothing.

    Parameters
    ----------
    store : Store
        Where.
    kept_by : str
        Who asks for it.
    today : date
        Day of asking.

    Returns
    -------
    int
        How many inspections it has.

    Raises
    ------
    StorageError
        If the database cannot take them.
    """
    catalogue = load_catalogue()
    fleet = (*demonstration_fleet(_SEED), *sister_vehicles(_SEED))
    for item in fleet:
        inspection = inspection_from_document(
            item.inspection.document,
            where=item.vehicle,
            today=max(today, item.taken_on),
            catalogue=catalogue,
        )
        moment = datetime.combine(item.taken_on, time(17), tzinfo=UTC)
        store.keep(inspection, kept_by=kept_by, kept_at=moment)
    return len(fleet)
