"""Tables of the shop's web app: entries of tablets, people, audit, shelf. Facts are append-only here too."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import (
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

from wearline.storage.tables import NUMBER, UtcMoment, metadata

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


def _number() -> Column[int]:
    return Column("number", NUMBER, Identity(always=True), primary_key=True)


def _text(name: str) -> Column[str]:
    return Column(name, Text, nullable=False)


def _count(name: str) -> Column[int]:
    return Column(name, Integer, nullable=False)


def _moment(name: str) -> Column[datetime]:
    return Column(name, UtcMoment, nullable=False)


draft_events = Table(
    "draft_events",
    metadata,
    _number(),
    _text("id"),
    _text("draft"),
    _text("digest"),
    _moment("received_at"),
    _text("received_from"),
    _text("event_json"),
    UniqueConstraint("id", name="uq_draft_events_id"),
    Index("ix_draft_events_draft", "draft", "number"),
)

# what the events add up to, so that a list of drafts need not read them all; can be made again from them
drafts = Table(
    "drafts",
    metadata,
    Column("draft", Text, primary_key=True),
    _text("vehicle_id"),
    _text("taken_on"),
    _count("entries"),
    _moment("first_at"),
    _moment("last_at"),
    _text("last_by"),
    Column("last_number", NUMBER, nullable=False),
    Column("inspection_id", Text),
    Column("kept_number", NUMBER),
    Index("ix_drafts_last_number", "last_number"),
)

accounts = Table(
    "accounts",
    metadata,
    Column("name", Text, primary_key=True),
    _text("shown_name"),
    _text("qualification"),
    _text("roles"),
    _text("password_hash"),
    Column("active", Boolean, nullable=False),
    _moment("created_at"),
    _moment("changed_at"),
)

sessions = Table(
    "sessions",
    metadata,
    Column("digest", Text, primary_key=True),
    Column("account", Text, ForeignKey("accounts.name", name="fk_sessions_account"), nullable=False),
    _moment("started_at"),
    _moment("seen_at"),
    _moment("ends_at"),
    Index("ix_sessions_account", "account"),
)

tokens = Table(
    "tokens",
    metadata,
    Column("digest", Text, primary_key=True),
    _text("id"),
    Column("account", Text, ForeignKey("accounts.name", name="fk_tokens_account"), nullable=False),
    _text("purpose"),
    _text("roles"),
    _moment("created_at"),
    Column("ended_at", UtcMoment),
    UniqueConstraint("id", name="uq_tokens_id"),
)

failed_logins = Table(
    "failed_logins",
    metadata,
    _number(),
    _text("key"),
    _moment("at"),
    Index("ix_failed_logins_key_at", "key", "at"),
)

settings = Table(
    "settings",
    metadata,
    Column("key", Text, primary_key=True),
    _text("value_json"),
    _moment("changed_at"),
    _text("changed_by"),
)

audit = Table(
    "audit",
    metadata,
    _number(),
    _moment("at"),
    _text("who"),
    _text("address"),
    _text("action"),
    _text("target"),
    _text("outcome"),
    _text("detail"),
    Index("ix_audit_action", "action"),
)

signatures = Table(
    "signatures",
    metadata,
    _number(),
    Column(
        "inspection_id", Text, ForeignKey("inspections.id", name="fk_signatures_inspection"), nullable=False
    ),
    _text("inspection_digest"),
    _text("signed_by"),
    _text("account"),
    _text("qualification"),
    _text("statement"),
    _moment("signed_at"),
    UniqueConstraint("inspection_id", "signed_by", name="uq_signatures_inspection_signed_by"),
)

photos = Table(
    "photos",
    metadata,
    Column("sha256", Text, primary_key=True),
    _text("original_sha256"),
    _text("type"),
    _count("width"),
    _count("height"),
    _moment("added_at"),
    _text("added_by"),
    Column("content", LargeBinary, nullable=False),
    Index("ix_photos_original_sha256", "original_sha256"),
)

documents = Table(
    "documents",
    metadata,
    Column("sha256", Text, primary_key=True),
    _text("title"),
    _text("file_name"),
    _text("source_key"),
    _count("pages"),
    _count("size"),
    _moment("added_at"),
    _text("added_by"),
)

document_pages = Table(
    "document_pages",
    metadata,
    _number(),
    Column("sha256", Text, ForeignKey("documents.sha256", name="fk_document_pages"), nullable=False),
    _count("page"),
    _text("text"),
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
    _text("sha256"),
    _text("name"),
    _text("text"),
    _text("action"),
    _moment("at"),
    _text("by"),
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
