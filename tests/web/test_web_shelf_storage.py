"""What the web app stores, on each database: guarded rows, words found, people, settings."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent / "storage"))

from databases import Database, PostgresqlServer, SqliteDatabase
from invented_inspections import KEPT_AT, inspection

from wearline.errors import StorageError
from wearline.storage import open_store
from wearline.storage.events import EventRow, EventStore
from wearline.storage.journal import AuditRow, JournalStore, Signature
from wearline.storage.overviews import OverviewStore
from wearline.storage.people import Account, PeopleStore, TokenRow
from wearline.storage.shelf import DocumentRow, Photo, ShelfStore
from wearline.storage.store import Store
from wearline.storage.web_tables import WEB_APPEND_ONLY

NOW = datetime(2026, 10, 1, 8, tzinfo=UTC)


@pytest.fixture(scope="module")
def server() -> Iterator[PostgresqlServer]:
    opened = PostgresqlServer()
    yield opened
    opened.remove()


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> Database:
    if request.param == "sqlite":
        return SqliteDatabase(str(tmp_path / "shop.db"))
    server: PostgresqlServer = request.getfixturevalue("server")
    return server.new_database()


@pytest.fixture
def store(database: Database) -> Iterator[Store]:
    with open_store(database.address, busy_timeout=10.0) as opened:
        yield opened


def document(sha256: str = "a" * 64, title: str = "Invented manual") -> DocumentRow:
    return DocumentRow(sha256, title, "m.pdf", "", 2, 10, NOW, "tester")


def person(name: str = "p", roles: tuple[str, ...] = ("administers",), active: bool = True) -> Account:
    return Account(name, name, "q", frozenset(roles), "hash", active, NOW)


def fill(store: Store) -> None:
    """One row in every guarded table."""
    EventStore(store).add([EventRow("e1", "d1", "{}", "v", "2026-10-01")], received_from="t", received_at=NOW)
    receipt = store.keep(inspection(), kept_by="keeper", kept_at=KEPT_AT)
    journal = JournalStore(store)
    journal.log([AuditRow(NOW, "w", "a", "act", "t", "done")])
    journal.sign(Signature(receipt.id, receipt.digest, "N", "a", "q", "s", NOW))
    shelf = ShelfStore(store)
    shelf.add_document(document(), b"x" * 3_000_000, ["first words", "rotor thickness"])
    shelf.add_photo(Photo("b" * 64, "c" * 64, "image/jpeg", 1, 1, b"jpeg"), "t", NOW)
    shelf.add_limit_file("l.toml", "text", "t", NOW)


@pytest.mark.parametrize("table", WEB_APPEND_ONLY)
@pytest.mark.parametrize("change", ["UPDATE {0} SET {1} = {1}", "DELETE FROM {0}"])
def test_no_row_can_be_changed_or_removed(store, database, table, change):
    fill(store)
    column = {"draft_events": "draft", "document_pages": "text", "document_chunks": "content"}.get(table)
    column = column or {"audit": "who", "signatures": "statement", "limit_files": "name"}.get(table)
    column = column or {"photos": "type", "documents": "title"}[table]
    before = database.execute(f"SELECT count(*) FROM {table}")
    assert before[0][0] >= 1
    with pytest.raises(Exception, match="append-only"):
        database.execute(change.format(table, column))
    assert database.execute(f"SELECT count(*) FROM {table}") == before


def test_entries_are_stored_once_in_their_order(store):
    events = EventStore(store)
    rows = [EventRow(f"e{number}", "d1", f'{{"n":{number}}}') for number in range(600)]
    first = events.add(rows[:400], received_from="t", received_at=NOW)
    again = events.add(rows, received_from="t", received_at=NOW)
    assert (len(first.stored), len(again.stored), len(again.known)) == (400, 200, 400)
    changed = events.add([EventRow("e1", "d1", '{"n":9}')], received_from="t", received_at=NOW)
    assert (changed.stored, changed.known, changed.changed) == ((), (), ("e1",))
    assert events.texts("d1") == [row.text for row in rows]
    row = events.draft("d1")
    assert row is not None
    assert (row.entries, row.late) == (600, False)
    events.mark_kept("d1", "i1", row.last_number)
    assert events.drafts(open_only=True) == []
    events.add([EventRow("late", "d1", "{}")], received_from="t", received_at=NOW)
    assert [each.late for each in events.drafts(open_only=True)] == [True]
    assert events.draft("unknown") is None


def test_pages_are_found_by_all_their_words(store):
    shelf = ShelfStore(store)
    shelf.add_document(document(), b"pdf", ["the rotor is measured", "thickness of the rotor", "Ärmel über"])
    shelf.add_document(document("d" * 64, "Other"), b"pdf", ["nothing of interest"])
    assert [(hit.title, hit.page) for hit in shelf.search("ROTOR thickness")] == [("Invented manual", 2)]
    assert sorted(hit.page for hit in shelf.search("rotor")) == [1, 2]
    assert [hit.page for hit in shelf.search("über")] == [3]
    for nonsense in ("", "  ", '" OR *', "'; DROP TABLE documents;--", "NEAR(", "rotor) OR (x"):
        shelf.search(nonsense)
    assert "\ue000rotor\ue001" in shelf.search("thickness rotor")[0].text
    assert b"".join(shelf.content("a" * 64)) == b"pdf"
    assert not shelf.add_document(document(), b"pdf", ["again"])
    with pytest.raises(StorageError, match="there is no such document"):
        shelf.document("f" * 64)


def test_a_photograph_is_found_by_either_fingerprint(store):
    shelf = ShelfStore(store)
    photo = Photo("b" * 64, "c" * 64, "image/jpeg", 3, 2, b"jpeg")
    assert shelf.add_photo(photo, "t", NOW)
    assert not shelf.add_photo(photo, "t", NOW)
    assert shelf.photo("b" * 64) == shelf.photo("c" * 64) == photo
    assert shelf.photo("d" * 64) is None


def test_files_of_limits_are_withdrawn_and_stay_on_record(store, database):
    shelf = ShelfStore(store)
    first = shelf.add_limit_file("one.toml", "1", "t", NOW)
    shelf.add_limit_file("two.toml", "2", "t", NOW)
    assert shelf.withdraw_limit_file(first, "t", NOW) == "one.toml"
    assert [row.name for row in shelf.limit_files()] == ["two.toml"]
    assert database.execute("SELECT count(*) FROM limit_files") == [(3,)]
    with pytest.raises(StorageError, match="no such file of limits is in force"):
        shelf.withdraw_limit_file(first, "t", NOW)


def test_people_sessions_and_tokens(store):
    people = PeopleStore(store)
    people.save(person(), NOW)
    people.begin_session("s", "p", NOW, NOW + timedelta(hours=1))
    found = people.session("s", NOW)
    assert found is not None
    assert found[0] == person()
    assert people.session("s", NOW + timedelta(hours=1)) is None
    people.seen("s", NOW, NOW + timedelta(hours=3))
    assert people.session("s", NOW + timedelta(hours=2)) is not None
    people.add_token(TokenRow("t", "p", "x", frozenset({"signs", "administers"}), NOW, None), "digest")
    assert people.token("digest") == (person(), frozenset({"administers"})), "never more than the account"
    people.save(person("boss"), NOW)
    people.save(person(active=False), NOW)
    assert people.session("s", NOW) is None
    assert people.token("digest") is None
    people.end_token("t", NOW)
    with pytest.raises(StorageError, match="there is no such token"):
        people.end_token("t", NOW)
    with pytest.raises(StorageError, match="nobody would be left who administers"):
        people.save(person("boss", ("reads",)), NOW)


def test_failures_are_counted_and_forgotten(store):
    people = PeopleStore(store)
    people.add_failures(["name p", "address a"], NOW, NOW - timedelta(days=1))
    people.add_failures(["name p"], NOW + timedelta(seconds=1), NOW - timedelta(days=1))
    assert people.count_failures("name p", NOW - timedelta(minutes=1)) == (2, NOW + timedelta(seconds=1))
    people.forget_failures("name p")
    assert people.count_failures("name p", NOW - timedelta(minutes=1)) == (0, None)
    people.add_failures(["x"], NOW + timedelta(days=3), NOW + timedelta(days=2))
    assert people.count_failures("address a", NOW - timedelta(minutes=1)) == (0, None)


def test_a_signature_stands_under_what_is_kept_and_current(store):
    journal = JournalStore(store)
    receipt = store.keep(inspection(), kept_by="keeper", kept_at=KEPT_AT)
    good = Signature(receipt.id, receipt.digest, "N", "a", "q", "s", NOW)
    wrong = Signature(receipt.id, "0" * 64, "N", "a", "q", "s", NOW)
    with pytest.raises(StorageError, match="not the one that is kept"):
        journal.sign(wrong)
    with pytest.raises(StorageError, match="no such inspection to sign"):
        journal.sign(Signature("none", receipt.digest, "N", "a", "q", "s", NOW))
    journal.sign(good)
    with pytest.raises(StorageError, match="N has signed it already"):
        journal.sign(good)
    assert journal.signatures([receipt.id]) == {receipt.id: [good]}
    store.keep(inspection(pad_mm=11.0), kept_by="k", kept_at=KEPT_AT, supersedes=receipt.id, reason="misread")
    with pytest.raises(StorageError, match="was corrected by"):
        journal.sign(Signature(receipt.id, receipt.digest, "M", "a", "q", "s", NOW))


def test_settings_trail_and_index(store):
    journal = JournalStore(store)
    journal.set({"units": "inch"}, "p", NOW)
    journal.set({"units": "metric", "x": 1}, "p", NOW)
    assert journal.settings() == {"units": "metric", "x": 1}
    journal.log([AuditRow(NOW, f"w{number}", "a", "act", "t", "done") for number in range(5)])
    rows = journal.trail(limit=2)
    assert [row.who for row in rows] == ["w4", "w3"]
    assert [row.who for row in journal.trail(before=rows[-1].number)] == ["w2", "w1", "w0"]
    assert journal.trail(action="other") == []
    overview = OverviewStore(store)
    assert overview.newest_inspection() == 0
    receipt = store.keep(inspection(), kept_by="keeper", kept_at=KEPT_AT)
    (line,) = overview.inspections_after(0)
    assert (line.id, line.digest, line.number) == (receipt.id, receipt.digest, overview.newest_inspection())
