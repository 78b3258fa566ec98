"""The shelf: the user's own documents with their words, photographs, and files of maker's limits."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import insert, select, text

from wearline.errors import StorageError
from wearline.storage.store import Store
from wearline.storage.web_tables import document_chunks, document_pages, documents, limit_files, photos

__all__ = ["DocumentRow", "Found", "LimitFileRow", "Photo", "ShelfStore"]

_CHUNK = 1 << 20


@dataclass(frozen=True, slots=True)
class DocumentRow:
    """One document on the shelf.

    Parameters
    ----------
    sha256 : str
        Fingerprint of the file, by which it is named.
    title, file_name : str
        As the user calls it, and the name of the file.
    source_key : str
        Source of the catalogue, or document of a maker's file, that it is; empty for none.
    pages, size : int
        How long it is, and how big [byte].
    added_at : datetime
        When.
    added_by : str
        By whom.
    """

    sha256: str
    title: str
    file_name: str
    source_key: str
    pages: int
    size: int
    added_at: datetime
    added_by: str


@dataclass(frozen=True, slots=True)
class Found:
    """One page on which words were found.

    Parameters
    ----------
    sha256, title : str
        The document.
    page : int
        From 1.
    text : str
        The words around, those found between U+E000 and U+E001.
    """

    sha256: str
    title: str
    page: int
    text: str


@dataclass(frozen=True, slots=True)
class Photo:
    """One photograph, already stripped of what it said beside the picture.

    Parameters
    ----------
    sha256, original_sha256 : str
        Fingerprint of what is stored, and of what was sent.
    type : str
        Media type.
    width, height : int
        Size [px].
    content : bytes
        The picture.
    """

    sha256: str
    original_sha256: str
    type: str
    width: int
    height: int
    content: bytes


@dataclass(frozen=True, slots=True)
class LimitFileRow:
    """One file of the maker's limits in force.

    Parameters
    ----------
    sha256, name, text : str
        Fingerprint, name and text.
    at : datetime
        When it was added.
    by : str
        By whom.
    """

    sha256: str
    name: str
    text: str
    at: datetime
    by: str


class ShelfStore:
    """The shelf of a database.

    Parameters
    ----------
    store : Store
        The open database.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def add_document(self, row: DocumentRow, content: bytes, pages: Sequence[str]) -> bool:
        """Put a document on the shelf.

        Parameters
        ----------
        row : DocumentRow
            What it is.
        content : bytes
            The file.
        pages : sequence of str
            Text of each page.

        Returns
        -------
        bool
            False where the same file stood there already.

        Raises
        ------
        StorageError
            If the database cannot take it.
        """
        with self._store.writing() as connection:
            taken = select(documents.c.sha256).where(documents.c.sha256 == row.sha256)
            if connection.execute(taken).first() is not None:
                return False
            connection.execute(
                insert(documents), {name: getattr(row, name) for name in row.__dataclass_fields__}
            )
            for place in range(0, len(content), _CHUNK):
                connection.execute(
                    insert(document_chunks),
                    {
                        "sha256": row.sha256,
                        "place": place // _CHUNK,
                        "content": content[place : place + _CHUNK],
                    },
                )
            if pages:
                connection.execute(
                    insert(document_pages),
                    [
                        {"sha256": row.sha256, "page": number, "text": words}
                        for number, words in enumerate(pages, start=1)
                    ],
                )
        return True

    def documents(self) -> list[DocumentRow]:
        """Return the documents by title.

        Returns
        -------
        list of DocumentRow
            All.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        with self._store.reading() as connection:
            rows = [DocumentRow(**row) for row in connection.execute(select(documents)).mappings()]
        return sorted(rows, key=lambda row: (row.title.casefold(), row.sha256))

    def document(self, sha256: str) -> DocumentRow:
        """Return one document.

        Parameters
        ----------
        sha256 : str
            Its fingerprint.

        Returns
        -------
        DocumentRow
            The document.

        Raises
        ------
        StorageError
            If there is none, or the database cannot be read.
        """
        with self._store.reading() as connection:
            row = connection.execute(select(documents).where(documents.c.sha256 == sha256)).mappings().first()
            if row is None:
                raise StorageError(
                    "there is no such document", allowed="a document on the shelf", cure="Look at the shelf"
                )
            return DocumentRow(**row)

    def content(self, sha256: str) -> Iterator[bytes]:
        """Yield a document's file piece by piece.

        Parameters
        ----------
        sha256 : str
            Its fingerprint.

        Yields
        ------
        bytes
            At most 1 MiB.
        """
        place = 0
        while True:
            with self._store.reading() as connection:
                piece = connection.scalar(
                    select(document_chunks.c.content).where(
                        document_chunks.c.sha256 == sha256, document_chunks.c.place == place
                    )
                )
            if piece is None:
                return
            yield bytes(piece)
            place += 1

    def page_texts(self, sha256: str) -> list[str]:
        """Return the text of each page of a document.

        Parameters
        ----------
        sha256 : str
            Its fingerprint.

        Returns
        -------
        list of str
            From the first page.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = (
            select(document_pages.c.text)
            .where(document_pages.c.sha256 == sha256)
            .order_by(document_pages.c.page)
        )
        with self._store.reading() as connection:
            return list(connection.scalars(statement))

    def search(self, words: str, *, limit: int = 50) -> list[Found]:
        """Find pages that hold every word, the best first.

        Parameters
        ----------
        words : str
            Words as typed; signs between them mean nothing.
        limit : int
            At most so many.

        Returns
        -------
        list of Found
            Empty without a word.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        wanted = "".join(sign if sign.isalnum() else " " for sign in words).split()[:20]
        if not wanted:
            return []
        with self._store.reading() as connection:
            if connection.dialect.name == "sqlite":
                query = " ".join(f'"{word}"' for word in wanted)
                rows = connection.execute(text(_SQLITE_SEARCH), {"query": query, "limit": limit})
            else:
                rows = connection.execute(
                    text(_POSTGRESQL_SEARCH), {"query": " ".join(wanted), "limit": limit}
                )
            return [Found(*row) for row in rows]

    def add_photo(self, photo: Photo, by: str, at: datetime) -> bool:
        """Keep a photograph.

        Parameters
        ----------
        photo : Photo
            The photograph.
        by : str
            Who sent it.
        at : datetime
            When.

        Returns
        -------
        bool
            False where it was kept already.

        Raises
        ------
        StorageError
            If the database cannot take it.
        """
        with self._store.writing() as connection:
            if connection.execute(select(photos.c.sha256).where(photos.c.sha256 == photo.sha256)).first():
                return False
            values = {name: getattr(photo, name) for name in photo.__dataclass_fields__}
            connection.execute(insert(photos), values | {"added_by": by, "added_at": at})
        return True

    def photo(self, sha256: str) -> Photo | None:
        """Return a photograph by the fingerprint of what is stored or of what was sent.

        Parameters
        ----------
        sha256 : str
            Either fingerprint.

        Returns
        -------
        Photo or None
            None where there is none.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        names = list(Photo.__dataclass_fields__)
        either = (photos.c.sha256 == sha256) | (photos.c.original_sha256 == sha256)
        with self._store.reading() as connection:
            statement = select(*(photos.c[name] for name in names)).where(either).limit(1)
            row = connection.execute(statement).mappings().first()
            return None if row is None else Photo(**{**row, "content": bytes(row["content"])})

    def add_limit_file(self, name: str, content: str, by: str, at: datetime) -> str:
        """Put a file of the maker's limits in force.

        Parameters
        ----------
        name, content : str
            The file, already checked.
        by : str
            Who adds it.
        at : datetime
            When.

        Returns
        -------
        str
            Its fingerprint.

        Raises
        ------
        StorageError
            If the database cannot be written.
        """
        sha256 = hashlib.sha256(content.encode()).hexdigest()
        self._limit_file(sha256, name, content, "added", by, at)
        return sha256

    def withdraw_limit_file(self, sha256: str, by: str, at: datetime) -> str:
        """Take a file of the maker's limits out of force; it stays on record.

        Parameters
        ----------
        sha256 : str
            Its fingerprint.
        by : str
            Who withdraws it.
        at : datetime
            When.

        Returns
        -------
        str
            Its name.

        Raises
        ------
        StorageError
            If no such file is in force.
        """
        for row in self.limit_files():
            if row.sha256 == sha256:
                self._limit_file(sha256, row.name, "", "withdrawn", by, at)
                return row.name
        raise StorageError(
            "no such file of limits is in force", allowed="a file that is in force", cure="Look at the list"
        )

    def _limit_file(self, sha256: str, name: str, content: str, action: str, by: str, at: datetime) -> None:
        row = {"sha256": sha256, "name": name, "text": content, "action": action, "by": by, "at": at}
        with self._store.writing() as connection:
            connection.execute(insert(limit_files), row)

    def limit_files(self) -> list[LimitFileRow]:
        """Return the files of the maker's limits in force, in the order in which they were added.

        Returns
        -------
        list of LimitFileRow
            Without those that were withdrawn.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        found: dict[str, LimitFileRow] = {}
        with self._store.reading() as connection:
            for row in connection.execute(select(limit_files).order_by(limit_files.c.number)):
                if row.action == "added":
                    found[row.sha256] = LimitFileRow(row.sha256, row.name, row.text, row.at, row.by)
                else:
                    found.pop(row.sha256, None)
        return list(found.values())


_SQLITE_SEARCH = """
SELECT p.sha256, d.title, p.page,
       snippet(document_search, 0, char(57344), char(57345), ' … ', 24) AS text
FROM document_search
JOIN document_pages p ON p.number = document_search.rowid
JOIN documents d ON d.sha256 = p.sha256
WHERE document_search MATCH :query
ORDER BY bm25(document_search), p.number
LIMIT :limit
"""

_POSTGRESQL_SEARCH = """
SELECT p.sha256, d.title, p.page,
       ts_headline('simple', p.text, plainto_tsquery('simple', :query),
                   'StartSel=' || chr(57344) || ', StopSel=' || chr(57345) || ', MaxWords=24, MinWords=12')
FROM document_pages p
JOIN documents d ON d.sha256 = p.sha256
WHERE to_tsvector('simple', p.text) @@ plainto_tsquery('simple', :query)
ORDER BY ts_rank(to_tsvector('simple', p.text), plainto_tsquery('simple', :query)) DESC, p.number
LIMIT :limit
"""
