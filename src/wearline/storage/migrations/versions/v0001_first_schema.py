"""First schema: vehicles, inspections, readings, snapshots, and the triggers that keep them append-only."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_APPLICATION_ID = 0x77726C6E

_NUMBER = sa.BigInteger().with_variant(sa.Integer, "sqlite")
_MOMENT = sa.DateTime(timezone=True)

# SQLite replaces a row without telling the triggers of deletion: the keys are guarded at insertion too
_KEYS = {
    "vehicles": ("vehicle_id = NEW.vehicle_id AND digest = NEW.digest",),
    "inspections": ("number = NEW.number", "id = NEW.id", "supersedes = NEW.supersedes"),
    "readings": (
        "inspection_number = NEW.inspection_number AND field = NEW.field"
        " AND wheel_end = NEW.wheel_end AND spot = NEW.spot",
    ),
    "snapshots": (
        "number = NEW.number",
        "kind = NEW.kind AND input_digest = NEW.input_digest AND code_version = NEW.code_version"
        " AND catalogue_version = NEW.catalogue_version AND result_digest = NEW.result_digest",
    ),
}


def upgrade() -> None:
    """Make the tables and the triggers."""
    _make_vehicles()
    _make_inspections()
    _make_readings()
    _make_snapshots()
    if op.get_bind().dialect.name == "sqlite":
        op.execute(f"PRAGMA application_id = {_APPLICATION_ID}")
        for table, keys in _KEYS.items():
            _guard_on_sqlite(table, keys)
    else:
        _guard_on_postgresql()


def _make_vehicles() -> None:
    op.create_table(
        "vehicles",
        sa.Column("vehicle_id", sa.Text, nullable=False),
        sa.Column("digest", sa.Text, nullable=False),
        sa.Column("layout", sa.Text, nullable=False),
        sa.Column("description", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("plain_json", sa.Text, nullable=False),
        sa.Column("first_kept_at", _MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("vehicle_id", "digest", name="pk_vehicles"),
        sqlite_with_rowid=False,
    )


def _make_inspections() -> None:
    op.create_table(
        "inspections",
        sa.Column("number", _NUMBER, sa.Identity(always=True), nullable=False),
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("vehicle_id", sa.Text, nullable=False),
        sa.Column("vehicle_digest", sa.Text, nullable=False),
        sa.Column("taken_on", sa.Date, nullable=False),
        sa.Column("odometer_m", sa.Double),
        sa.Column("distance_since_pads_m", sa.Double),
        sa.Column("counter_exchanged", sa.Boolean, nullable=False),
        sa.Column("digest", sa.Text, nullable=False),
        sa.Column("kept_at", _MOMENT, nullable=False),
        sa.Column("kept_by", sa.Text, nullable=False),
        sa.Column("code_version", sa.Text, nullable=False),
        sa.Column("supersedes", sa.Text),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("plain_json", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_inspections"),
        sa.UniqueConstraint("id", name="uq_inspections_id"),
        sa.UniqueConstraint("supersedes", name="uq_inspections_supersedes"),
        sa.ForeignKeyConstraint(["supersedes"], ["inspections.id"], name="fk_inspections_supersedes"),
        sa.ForeignKeyConstraint(
            ["vehicle_id", "vehicle_digest"],
            ["vehicles.vehicle_id", "vehicles.digest"],
            name="fk_inspections_vehicle",
        ),
        sa.CheckConstraint(
            "(supersedes IS NULL) = (reason = '')", name="ck_inspections_correction_has_reason"
        ),
    )
    op.create_index("ix_inspections_vehicle_id_taken_on", "inspections", ["vehicle_id", "taken_on"])
    op.create_index("ix_inspections_digest", "inspections", ["digest"])


def _make_readings() -> None:
    op.create_table(
        "readings",
        sa.Column("inspection_number", _NUMBER, nullable=False),
        sa.Column("field", sa.Text, nullable=False),
        sa.Column("wheel_end", sa.Text, nullable=False),
        sa.Column("spot", sa.Text, nullable=False),
        sa.Column("value_si", sa.Double),
        sa.Column("raw", sa.Text),
        sa.Column("unit", sa.Text),
        sa.Column("resolution_si", sa.Double),
        sa.Column("u_si", sa.Double),
        sa.Column("gauge", sa.Text),
        sa.Column("repeats_si_json", sa.Text),
        sa.Column("word", sa.Text),
        sa.Column("cannot", sa.Text),
        sa.PrimaryKeyConstraint("inspection_number", "field", "wheel_end", "spot", name="pk_readings"),
        sa.ForeignKeyConstraint(
            ["inspection_number"], ["inspections.number"], name="fk_readings_inspection_number"
        ),
        sa.CheckConstraint(
            "(CASE WHEN value_si IS NULL THEN 0 ELSE 1 END) + (CASE WHEN word IS NULL THEN 0 ELSE 1 END)"
            " + (CASE WHEN cannot IS NULL THEN 0 ELSE 1 END) = 1",
            name="ck_readings_one_kind",
        ),
        sqlite_with_rowid=False,
    )


def _make_snapshots() -> None:
    op.create_table(
        "snapshots",
        sa.Column("number", _NUMBER, sa.Identity(always=True), nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("input_digest", sa.Text, nullable=False),
        sa.Column("code_version", sa.Text, nullable=False),
        sa.Column("catalogue_version", sa.Text, nullable=False),
        sa.Column("result_digest", sa.Text, nullable=False),
        sa.Column("made_at", _MOMENT, nullable=False),
        sa.Column("result_json", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_snapshots"),
        sa.UniqueConstraint(
            "kind",
            "input_digest",
            "code_version",
            "catalogue_version",
            "result_digest",
            name="uq_snapshots_result",
        ),
    )


def _guard_on_sqlite(table: str, keys: tuple[str, ...]) -> None:
    refusal = f"SELECT RAISE(ABORT, '{table} is append-only: a correction supersedes and never changes')"
    for change in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} BEGIN {refusal}; END"
        )
    present = " OR ".join(f"EXISTS (SELECT 1 FROM {table} WHERE {key})" for key in keys)
    op.execute(
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN {present} BEGIN {refusal}; END"
    )


def _guard_on_postgresql() -> None:
    op.execute(
        """
        CREATE FUNCTION wearline_refuse_change() RETURNS trigger LANGUAGE plpgsql AS $body$
        BEGIN
            RAISE EXCEPTION '% is append-only: a correction supersedes and never changes', TG_TABLE_NAME
                USING ERRCODE = 'WL001';
        END
        $body$
        """
    )
    for table in _KEYS:
        for change in ("UPDATE", "DELETE", "TRUNCATE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table}"
                " FOR EACH STATEMENT EXECUTE FUNCTION wearline_refuse_change()"
            )
