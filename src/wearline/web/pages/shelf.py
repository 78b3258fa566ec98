"""The shelf: the shop's own manuals and bulletins, searched by their words."""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from wearline.storage.shelf import DocumentRow, Found
from wearline.web.asking import Ask, Sent, add_form, add_page, ask_of
from wearline.web.refusals import Refusal

__all__ = ["DocumentPage", "ShelfPage", "pdf_pages", "router"]

router = APIRouter()

MAXIMUM_BYTES = 60_000_000
MAXIMUM_PAGES = 3_000
MAXIMUM_TEXT = 20_000_000
_ALLOWED = "a PDF of at most 60 MB and 3000 pages that opens without a password"


@dataclass(frozen=True, slots=True)
class ShelfPage:
    """The shelf.

    Parameters
    ----------
    documents : tuple of DocumentRow
        What stands on it.
    q : str
        Words searched for.
    found : tuple of Found
        Pages that hold them.
    sources : tuple of (str, str)
        Sources of the catalogue that a document may be.
    """

    documents: tuple[DocumentRow, ...]
    q: str
    found: tuple[Found, ...]
    sources: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class DocumentPage:
    """One document.

    Parameters
    ----------
    document : DocumentRow
        Which.
    limits : tuple of (str, str, str)
        Limits that cite it: id, as published, and place in it.
    pages : tuple of str
        Text of each page, as far as the program can read it.
    """

    document: DocumentRow
    limits: tuple[tuple[str, str, str], ...]
    pages: tuple[str, ...]


def _shelf(ask: Ask) -> ShelfPage:
    q = ask.query.get("q", "").strip()
    catalogue = ask.shop.catalogue()
    sources = {key: source.title for key, source in catalogue.sources.items()}
    sources |= {file.document: file.document for file in catalogue.maker_files}
    return ShelfPage(
        documents=tuple(ask.shop.shelf.documents()),
        q=q,
        found=tuple(ask.shop.shelf.search(q)),
        sources=tuple(sorted(sources.items(), key=lambda item: item[1].casefold())),
    )


def _document(ask: Ask) -> DocumentPage:
    row = ask.shop.shelf.document(ask.path["sha256"][:64].replace("\0", ""))
    catalogue = ask.shop.catalogue()
    limits = {}
    for design in catalogue.designs:
        for limit in catalogue.limits_for(design, ask.shop.today).values():
            if row.source_key and limit.source == row.source_key:
                limits[limit.id] = (limit.id, limit.published, limit.locator)
    for file in catalogue.maker_files:
        if file.document == row.source_key:
            limits |= {each.id: (each.id, each.published, each.locator) for each in file.limits.values()}
    return DocumentPage(row, tuple(limits.values()), tuple(ask.shop.shelf.page_texts(row.sha256)))


def pdf_pages(content: bytes) -> list[str]:
    """Return the text of each page of a PDF.

    Parameters
    ----------
    content : bytes
        The file.

    Returns
    -------
    list of str
        One text for each page; empty for a page that is only a picture.

    Raises
    ------
    Refusal
        If it is no PDF that can be read.
    """
    from pypdf import PdfReader

    if not content.startswith(b"%PDF-"):
        raise Refusal(415, "the file is not a PDF", where="file", allowed=_ALLOWED)
    if len(content) > MAXIMUM_BYTES:
        raise Refusal(413, f"the file has {len(content)} bytes", where="file", allowed=_ALLOWED)
    try:
        reader = PdfReader(io.BytesIO(content))
        if reader.is_encrypted and not reader.decrypt(""):
            raise Refusal(415, "the PDF opens only with a password", where="file", allowed=_ALLOWED)
        if len(reader.pages) > MAXIMUM_PAGES:
            raise Refusal(413, f"the PDF has {len(reader.pages)} pages", where="file", allowed=_ALLOWED)
        texts, length = [], 0
        for page in reader.pages:
            words = page.extract_text() if length < MAXIMUM_TEXT else ""
            words = words.replace("\0", "").encode("utf-8", "ignore").decode()
            length += len(words)
            texts.append(words)
    except Refusal:
        raise
    except Exception as error:
        # the library raises whatever it meets in a damaged or hostile file
        raise Refusal(
            415,
            f"the PDF cannot be read: {type(error).__name__}",
            where="file",
            allowed=_ALLOWED,
            cure="Open it in another program and save it again",
        ) from None
    if not texts:
        raise Refusal(415, "the PDF has no page", where="file", allowed=_ALLOWED)
    return texts


def _add(sent: Sent) -> str:
    ask = sent.ask
    name, data = sent.files.get("file", ("", b""))
    pages = pdf_pages(data)
    sha256 = hashlib.sha256(data).hexdigest()
    title = sent.text("title") or name.replace("\0", "").rsplit(".", 1)[0][:200] or "document"
    row = DocumentRow(
        sha256=sha256,
        title=title,
        file_name=name.replace("\0", "")[:200],
        source_key=sent.text("source_key"),
        pages=len(pages),
        size=len(data),
        added_at=ask.shop.now,
        added_by=ask.person.name,
    )
    ask.shop.shelf.add_document(row, data, pages)
    ask.log("add document", sha256, title)
    return f"/shelf/{sha256}"


@router.get("/shelf/{sha256}/file", include_in_schema=False)
def document_file(request: Request, sha256: str) -> Response:
    """Give a document's file, to be shown at the cited page."""
    ask = ask_of(request, "reads")
    row = ask.shop.shelf.document(sha256[:64].replace("\0", ""))
    headers = {
        "content-length": str(row.size),
        "content-disposition": "inline",
        "cache-control": "private, max-age=86400, immutable",
    }
    return StreamingResponse(
        ask.shop.shelf.content(row.sha256), media_type="application/pdf", headers=headers
    )


add_page(router, "/shelf", "shelf.html", _shelf)
add_page(router, "/shelf/{sha256}", "document.html", _document)
add_form(router, "/shelf", _add, role="manages limits", files=1)
