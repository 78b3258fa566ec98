"""Second schema: entries of tablets, people and their sessions, audit, signatures, photographs, shelf."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_NUMBER = sa.BigInteger().with_variant(sa.Integer, "sqlite")
_MOMENT = sa.DateTime(timezone=True)

# SQLite replaces a row without telling the triggers of deletion: the keys are guarded at insertion too
_KEYS = {
    "draft_events": ("number = NEW.number", "id = NEW.id"),
    "audit": ("number = NEW.number",),
    "signatures": (
        "number = NEW.number",
        "inspection_id = NEW.inspection_id AND signed_by = NEW.signed_by",
    ),
    "photos": ("sha256 = NEW.sha256",),
    "documents": ("sha256 = NEW.sha256",),
    "document_pages": ("number = NEW.number", "sha256 = NEW.sha256 AND page = NEW.page"),
    "document_chunks": ("sha256 = NEW.sha256 AND place = NEW.place",),
    "limit_files": ("number = NEW.number",),
}


def upgrade() -> None:
    """Make the tables, the triggers and the index of words."""
    _make_drafts()
    _make_people()
    _make_records()
    _make_shelf()
    if op.get_bind().dialect.name == "sqlite":
        for table, keys in _KEYS.items():
            _guard_on_sqlite(table, keys)
        op.execute(
            "CREATE VIRTUAL TABLE document_search USING fts5("
            "text, content='document_pages', content_rowid='number',"
            " tokenize='unicode61 remove_diacritics 2')"
        )
        op.execute(
            "CREATE TRIGGER document_pages_search AFTER INSERT ON document_pages BEGIN"
            " INSERT INTO document_search(rowid, text) VALUES (NEW.number, NEW.text); END"
        )
    else:
        for table in _KEYS:
            _guard_on_postgresql(table)
        op.execute(
            "CREATE INDEX ix_document_search ON document_pages USING gin (to_tsvector('simple', text))"
        )


def _number() -> sa.Column[int]:
    return sa.Column("number", _NUMBER, sa.Identity(always=True), nullable=False)


def _text(*names: str) -> list[sa.Column[str]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


def _moment(name: str, *, nullable: bool = False) -> sa.Column[object]:
    return sa.Column(name, _MOMENT, nullable=nullable)


def _make_drafts() -> None:
    op.create_table(
        "draft_events",
        _number(),
        *_text("id", "draft", "digest"),
        _moment("received_at"),
        *_text("received_from", "event_json"),
        sa.PrimaryKeyConstraint("number", name="pk_draft_events"),
        sa.UniqueConstraint("id", name="uq_draft_events_id"),
    )
    op.create_index("ix_draft_events_draft", "draft_events", ["draft", "number"])
    op.create_table(
        "drafts",
        *_text("draft", "vehicle_id", "taken_on"),
        sa.Column("entries", sa.Integer, nullable=False),
        _moment("first_at"),
        _moment("last_at"),
        *_text("last_by"),
        sa.Column("last_number", _NUMBER, nullable=False),
        sa.Column("inspection_id", sa.Text),
        sa.Column("kept_number", _NUMBER),
        sa.PrimaryKeyConstraint("draft", name="pk_drafts"),
    )
    op.create_index("ix_drafts_last_number", "drafts", ["last_number"])


def _make_people() -> None:
    op.create_table(
        "accounts",
        *_text("name", "shown_name", "qualification", "roles", "password_hash"),
        sa.Column("active", sa.Boolean, nullable=False),
        _moment("created_at"),
        _moment("changed_at"),
        sa.PrimaryKeyConstraint("name", name="pk_accounts"),
    )
    op.create_table(
        "sessions",
        *_text("digest", "account"),
        _moment("started_at"),
        _moment("seen_at"),
        _moment("ends_at"),
        sa.PrimaryKeyConstraint("digest", name="pk_sessions"),
        sa.ForeignKeyConstraint(["account"], ["accounts.name"], name="fk_sessions_account"),
    )
    op.create_index("ix_sessions_account", "sessions", ["account"])
    op.create_table(
        "tokens",
        *_text("digest", "id", "account", "purpose", "roles"),
        _moment("created_at"),
        _moment("ended_at", nullable=True),
        sa.PrimaryKeyConstraint("digest", name="pk_tokens"),
        sa.UniqueConstraint("id", name="uq_tokens_id"),
        sa.ForeignKeyConstraint(["account"], ["accounts.name"], name="fk_tokens_account"),
    )
    op.create_table(
        "failed_logins",
        _number(),
        *_text("key"),
        _moment("at"),
        sa.PrimaryKeyConstraint("number", name="pk_failed_logins"),
    )
    op.create_index("ix_failed_logins_key_at", "failed_logins", ["key", "at"])
    op.create_table(
        "settings",
        *_text("key", "value_json"),
        _moment("changed_at"),
        *_text("changed_by"),
        sa.PrimaryKeyConstraint("key", name="pk_settings"),
    )


def _make_records() -> None:
    op.create_table(
        "audit",
        _number(),
        _moment("at"),
        *_text("who", "address", "action", "target", "outcome", "detail"),
        sa.PrimaryKeyConstraint("number", name="pk_audit"),
    )
    op.create_index("ix_audit_action", "audit", ["action"])
    op.create_table(
        "signatures",
        _number(),
        *_text("inspection_id", "inspection_digest", "signed_by", "account", "qualification", "statement"),
        _moment("signed_at"),
        sa.PrimaryKeyConstraint("number", name="pk_signatures"),
        sa.UniqueConstraint("inspection_id", "signed_by", name="uq_signatures_inspection_signed_by"),
        sa.ForeignKeyConstraint(["inspection_id"], ["inspections.id"], name="fk_signatures_inspection"),
    )
    op.create_table(
        "photos",
        *_text("sha256", "original_sha256", "type"),
        sa.Column("width", sa.Integer, nullable=False),
        sa.Column("height", sa.Integer, nullable=False),
        _moment("added_at"),
        *_text("added_by"),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_photos"),
    )
    op.create_index("ix_photos_original_sha256", "photos", ["original_sha256"])


def _make_shelf() -> None:
    op.create_table(
        "documents",
        *_text("sha256", "title", "file_name", "source_key"),
        sa.Column("pages", sa.Integer, nullable=False),
        sa.Column("size", sa.Integer, nullable=False),
        _moment("added_at"),
        *_text("added_by"),
        sa.PrimaryKeyConstraint("sha256", name="pk_documents"),
    )
    op.create_table(
        "document_pages",
        _number(),
        *_text("sha256"),
        sa.Column("page", sa.Integer, nullable=False),
        *_text("text"),
        sa.PrimaryKeyConstraint("number", name="pk_document_pages"),
        sa.UniqueConstraint("sha256", "page", name="uq_document_pages"),
        sa.ForeignKeyConstraint(["sha256"], ["documents.sha256"], name="fk_document_pages"),
    )
    op.create_table(
        "document_chunks",
        *_text("sha256"),
        sa.Column("place", sa.Integer, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("sha256", "place", name="pk_document_chunks"),
        sa.ForeignKeyConstraint(["sha256"], ["documents.sha256"], name="fk_document_chunks"),
    )
    op.create_table(
        "limit_files",
        _number(),
        *_text("sha256", "name", "text", "action"),
        _moment("at"),
        *_text("by"),
        sa.PrimaryKeyConstraint("number", name="pk_limit_files"),
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


def _guard_on_postgresql(table: str) -> None:
    for change in ("UPDATE", "DELETE", "TRUNCATE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table}"
            " FOR EACH STATEMENT EXECUTE FUNCTION wearline_refuse_change()"
        )
