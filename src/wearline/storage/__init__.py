"""The database: append-only inspections, their readings in columns, and snapshots of computed results.

Importing this package loads no database library; ``open_store`` does, when it is called.
"""

from wearline.storage.kept import KeepReceipt, KeptInspection, KeptReading, KeptVehicle, Snapshot, StoreCheck
from wearline.storage.opening import open_store

__all__ = [
    "KeepReceipt",
    "KeptInspection",
    "KeptReading",
    "KeptVehicle",
    "Snapshot",
    "StoreCheck",
    "open_store",
]
