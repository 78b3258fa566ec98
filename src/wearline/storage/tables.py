"""The tables as the newest schema version has them; a test proves that the migrations make the same."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    Double,
    ForeignKey,
    ForeignKeyConstraint,
    Identity,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator

__all__ = [
    "APPEND_ONLY",
    "NUMBER",
    "VERSION_TABLE",
    "UtcMoment",
    "inspections",
    "metadata",
    "readings",
    "snapshots",
    "vehicles",
]

VERSION_TABLE = "wearline_schema"

metadata = MetaData()

NUMBER = BigInteger().with_variant(Integer, "sqlite")
"""Type of the number that rises with every row."""


class UtcMoment(TypeDecorator[datetime]):
    """A moment, stored and given back in UTC on every database."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn a moment into UTC, without zone where the database has none.

        Parameters
        ----------
        value : datetime or None
            With time zone.
        dialect : Dialect
            The database.

        Returns
        -------
        datetime or None
            What the driver takes.
        """
        if value is None:
            return None
        moment = value.astimezone(UTC)
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Give the moment back in UTC.

        Parameters
        ----------
        value : datetime or None
            What the driver gives.
        dialect : Dialect
            The database.

        Returns
        -------
        datetime or None
            With time zone UTC.
        """
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if dialect.name == "sqlite" else value.astimezone(UTC)


vehicles = Table(
    "vehicles",
    metadata,
    Column("vehicle_id", Text, primary_key=True),
    # a vehicle may be described anew at every inspection: one row per description, none ever changed
    Column("digest", Text, primary_key=True),
    Column("layout", Text, nullable=False),
    Column("description", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("plain_json", Text, nullable=False),
    Column("first_kept_at", UtcMoment, nullable=False),
    sqlite_with_rowid=False,
)

inspections = Table(
    "inspections",
    metadata,
    Column("number", NUMBER, Identity(always=True), primary_key=True),
    Column("id", Text, nullable=False),
    Column("vehicle_id", Text, nullable=False),
    Column("vehicle_digest", Text, nullable=False),
    Column("taken_on", Date, nullable=False),
    Column("odometer_m", Double),
    Column("distance_since_pads_m", Double),
    Column("counter_exchanged", Boolean, nullable=False),
    Column("digest", Text, nullable=False),
    Column("kept_at", UtcMoment, nullable=False),
    Column("kept_by", Text, nullable=False),
    Column("code_version", Text, nullable=False),
    Column("supersedes", Text, ForeignKey("inspections.id", name="fk_inspections_supersedes")),
    Column("reason", Text, nullable=False),
    Column("plain_json", Text, nullable=False),
    UniqueConstraint("id", name="uq_inspections_id"),
    # one correction per inspection: a second one corrects the first
    UniqueConstraint("supersedes", name="uq_inspections_supersedes"),
    ForeignKeyConstraint(
        ["vehicle_id", "vehicle_digest"],
        ["vehicles.vehicle_id", "vehicles.digest"],
        name="fk_inspections_vehicle",
    ),
    CheckConstraint("(supersedes IS NULL) = (reason = '')", name="ck_inspections_correction_has_reason"),
    Index("ix_inspections_vehicle_id_taken_on", "vehicle_id", "taken_on"),
    Index("ix_inspections_digest", "digest"),
)

readings = Table(
    "readings",
    metadata,
    Column(
        "inspection_number",
        NUMBER,
        ForeignKey("inspections.number", name="fk_readings_inspection_number"),
        primary_key=True,
        autoincrement=False,
    ),
    # the field before the wheel end: a trend asks for one field of every wheel end
    Column("field", Text, primary_key=True),
    Column("wheel_end", Text, primary_key=True),
    Column("spot", Text, primary_key=True),
    Column("value_si", Double),
    Column("raw", Text),
    Column("unit", Text),
    Column("resolution_si", Double),
    Column("u_si", Double),
    Column("gauge", Text),
    Column("repeats_si_json", Text),
    Column("word", Text),
    Column("cannot", Text),
    CheckConstraint(
        "(CASE WHEN value_si IS NULL THEN 0 ELSE 1 END) + (CASE WHEN word IS NULL THEN 0 ELSE 1 END)"
        " + (CASE WHEN cannot IS NULL THEN 0 ELSE 1 END) = 1",
        name="ck_readings_one_kind",
    ),
    sqlite_with_rowid=False,
)

snapshots = Table(
    "snapshots",
    metadata,
    Column("number", NUMBER, Identity(always=True), primary_key=True),
    Column("kind", Text, nullable=False),
    Column("input_digest", Text, nullable=False),
    Column("code_version", Text, nullable=False),
    Column("catalogue_version", Text, nullable=False),
    Column("result_digest", Text, nullable=False),
    Column("made_at", UtcMoment, nullable=False),
    Column("result_json", Text, nullable=False),
    UniqueConstraint(
        "kind",
        "input_digest",
        "code_version",
        "catalogue_version",
        "result_digest",
        name="uq_snapshots_result",
    ),
)

APPEND_ONLY = ("vehicles", "inspections", "readings", "snapshots")
"""Tables whose rows no statement may change or remove."""
