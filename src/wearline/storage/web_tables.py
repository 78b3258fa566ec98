"""Tables of the shop's web app: entries of tablets, people, audit, shelf. Facts are append-only here too."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ForeignKey,
    Identity,
    Index,
    Integer,
    LargeBinary,
    Table,
    Text,
    UniqueConstraint,
)

from wearline.storage.tables import UtcMoment, metadata

__all__ = [
    "CHANGEABLE",
    "WEB_APPEND_ONLY",
    "accounts",
    "audit",
    "document_chunks",
    "document_pages",
    "documents",
    "draft_events",
    "drafts",
    "failed_logins",
    "limit_files",
    "photos",
    "sessions",
    "settings",
    "signatures",
    "tokens",
]

_NUMBER = BigInteger().with_variant(Integer, "sqlite")


def _number() -> Column[int]:
    return Column("number", _NUMBER, Identity(always=True), primary_key=True)


draft_events = Table(
    "draft_events",
    metadata,
    _number(),
    Column("id", Text, nullable=False),
    Column("draft", Text, nullable=False),
    Column("digest", Text, nullable=False),
    Column("received_at", UtcMoment, nullable=False),
    Column("received_from", Text, nullable=False),
    Column("event_json", Text, nullable=False),
    UniqueConstraint("id", name="uq_draft_events_id"),
    Index("ix_draft_events_draft", "draft", "number"),
)

# what the events add up to, so that a list of drafts need not read them all; can be made again from them
drafts = Table(
    "drafts",
    metadata,
    Column("draft", Text, primary_key=True),
    Column("vehicle_id", Text, nullable=False),
    Column("taken_on", Text, nullable=False),
    Column("entries", Integer, nullable=False),
    Column("first_at", UtcMoment, nullable=False),
    Column("last_at", UtcMoment, nullable=False),
    Column("last_by", Text, nullable=False),
    Column("last_number", _NUMBER, nullable=False),
    Column("inspection_id", Text),
    Column("kept_number", _NUMBER),
    Index("ix_drafts_last_number", "last_number"),
)

accounts = Table(
    "accounts",
    metadata,
    Column("name", Text, primary_key=True),
    Column("shown_name", Text, nullable=False),
    Column("qualification", Text, nullable=False),
    Column("roles", Text, nullable=False),
    Column("password_hash", Text, nullable=False),
    Column("active", Boolean, nullable=False),
    Column("created_at", UtcMoment, nullable=False),
    Column("changed_at", UtcMoment, nullable=False),
)

sessions = Table(
    "sessions",
    metadata,
    Column("digest", Text, primary_key=True),
    Column("account", Text, ForeignKey("accounts.name", name="fk_sessions_account"), nullable=False),
    Column("started_at", UtcMoment, nullable=False),
    Column("seen_at", UtcMoment, nullable=False),
    Column("ends_at", UtcMoment, nullable=False),
    Index("ix_sessions_account", "account"),
)

tokens = Table(
    "tokens",
    metadata,
    Column("digest", Text, primary_key=True),
    Column("id", Text, nullable=False),
    Column("account", Text, ForeignKey("accounts.name", name="fk_tokens_account"), nullable=False),
    Column("purpose", Text, nullable=False),
    Column("roles", Text, nullable=False),
    Column("created_at", UtcMoment, nullable=False),
    Column("ended_at", UtcMoment),
    UniqueConstraint("id", name="uq_tokens_id"),
)

failed_logins = Table(
    "failed_logins",
    metadata,
    _number(),
    Column("key", Text, nullable=False),
    Column("at", UtcMoment, nullable=False),
    Index("ix_failed_logins_key_at", "key", "at"),
)

settings = Table(
    "settings",
    metadata,
    Column("key", Text, primary_key=True),
    Column("value_json", Text, nullable=False),
    Column("changed_at", UtcMoment, nullable=False),
    Column("changed_by", Text, nullable=False),
)

audit = Table(
    "audit",
    metadata,
    _number(),
    Column("at", UtcMoment, nullable=False),
    Column("who", Text, nullable=False),
    Column("address", Text, nullable=False),
    Column("action", Text, nullable=False),
    Column("target", Text, nullable=False),
    Column("outcome", Text, nullable=False),
    Column("detail", Text, nullable=False),
    Index("ix_audit_action", "action"),
)

signatures = Table(
    "signatures",
    metadata,
    _number(),
    Column(
        "inspection_id", Text, ForeignKey("inspections.id", name="fk_signatures_inspection"), nullable=False
    ),
    Column("inspection_digest", Text, nullable=False),
    Column("signed_by", Text, nullable=False),
    Column("account", Text, nullable=False),
    Column("qualification", Text, nullable=False),
    Column("statement", Text, nullable=False),
    Column("signed_at", UtcMoment, nullable=False),
    UniqueConstraint("inspection_id", "signed_by", name="uq_signatures_inspection_signed_by"),
)

photos = Table(
    "photos",
    metadata,
    Column("sha256", Text, primary_key=True),
    Column("original_sha256", Text, nullable=False),
    Column("type", Text, nullable=False),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("added_at", UtcMoment, nullable=False),
    Column("added_by", Text, nullable=False),
    Column("content", LargeBinary, nullable=False),
    Index("ix_photos_original_sha256", "original_sha256"),
)

documents = Table(
    "documents",
    metadata,
    Column("sha256", Text, primary_key=True),
    Column("title", Text, nullable=False),
    Column("file_name", Text, nullable=False),
    Column("source_key", Text, nullable=False),
    Column("pages", Integer, nullable=False),
    Column("size", Integer, nullable=False),
    Column("added_at", UtcMoment, nullable=False),
    Column("added_by", Text, nullable=False),
)

document_pages = Table(
    "document_pages",
    metadata,
    _number(),
    Column("sha256", Text, ForeignKey("documents.sha256", name="fk_document_pages"), nullable=False),
    Column("page", Integer, nullable=False),
    Column("text", Text, nullable=False),
    UniqueConstraint("sha256", "page", name="uq_document_pages"),
)

document_chunks = Table(
    "document_chunks",
    metadata,
    Column("sha256", Text, ForeignKey("documents.sha256", name="fk_document_chunks"), primary_key=True),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("content", LargeBinary, nullable=False),
)

limit_files = Table(
    "limit_files",
    metadata,
    _number(),
    Column("sha256", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("action", Text, nullable=False),
    Column("at", UtcMoment, nullable=False),
    Column("by", Text, nullable=False),
)

WEB_APPEND_ONLY = (
    "draft_events",
    "audit",
    "signatures",
    "photos",
    "documents",
    "document_pages",
    "document_chunks",
    "limit_files",
)
"""Tables whose rows no statement may change or remove."""

CHANGEABLE = ("accounts", "drafts", "failed_logins", "sessions", "settings", "tokens")
"""Tables whose rows may change: who may do what now, and what can be made again from the events."""
