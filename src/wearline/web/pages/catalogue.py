"""The catalogue: limits with their sources, checks, fields, rules, designs, and the shop's own limits."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter

from wearline.app.catalogue_files import SECTIONS, catalogue_entries
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import Limit
from wearline.storage.shelf import DocumentRow
from wearline.web.asking import Ask, Sent, add_form, add_page
from wearline.web.refusals import Refusal
from wearline.web.shop import maker_files_of

__all__ = ["CataloguePage", "page_in", "router"]

router = APIRouter()

_PAGE = re.compile(r"\b(?:page|p\.|pp\.)\s*(\d{1,5})", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One limit with where it stands.

    Parameters
    ----------
    id, label : str
        The limit and what it limits.
    published, also : str
        As published, and the other printed form.
    sense : str
        ``"at least"`` or ``"at most"``.
    passes : str
        Whether a value equal to it is good.
    beyond : str
        What beyond asks for.
    authority, status : str
        Who stands behind it, and what it may be used for.
    source, source_title, locator : str
        Where it stands.
    document : str
        Address of the user's own document at the cited page; empty where none is on the shelf.
    note : str
        One sentence.
    """

    id: str
    label: str
    published: str
    also: str
    sense: str
    passes: str
    beyond: str
    authority: str
    status: str
    source: str
    source_title: str
    locator: str
    document: str
    note: str


@dataclass(frozen=True, slots=True)
class EntryLine:
    """One line of another section.

    Parameters
    ----------
    id, text, value, status, source : str
        As the command shows them.
    """

    id: str
    text: str
    value: str
    status: str
    source: str


@dataclass(frozen=True, slots=True)
class FileLine:
    """One file of the maker's limits in force.

    Parameters
    ----------
    sha256, name, by : str
        Fingerprint, name, and who added it.
    at : datetime
        When.
    document, part_number : str
        What it is taken from, and for which part.
    designs : tuple of str
        For which designs.
    limits : int
        How many limits it gives.
    """

    sha256: str
    name: str
    by: str
    at: datetime
    document: str
    part_number: str
    designs: tuple[str, ...]
    limits: int


@dataclass(frozen=True, slots=True)
class CataloguePage:
    """The page of the catalogue.

    Parameters
    ----------
    section : str
        Which part is shown.
    sections : tuple of str
        All parts.
    design : str
        Whose limits are shown.
    designs : tuple of (str, str)
        Ids and titles.
    limits : tuple of LimitLine
        For the section of limits.
    entries : tuple of EntryLine
        For the others.
    files : tuple of FileLine
        Files of the maker's limits in force.
    version : str
        Fingerprint of everything in it.
    """

    section: str
    sections: tuple[str, ...]
    design: str
    designs: tuple[tuple[str, str], ...]
    limits: tuple[LimitLine, ...]
    entries: tuple[EntryLine, ...]
    files: tuple[FileLine, ...]
    version: str


def page_in(locator: str) -> int | None:
    """Return the page that a locator names.

    Parameters
    ----------
    locator : str
        Place in a source, as ``"p. 14, table 2"``.

    Returns
    -------
    int or None
        The page; None where it names none.
    """
    found = _PAGE.search(locator)
    return int(found[1]) if found else None


def _document_at(documents: dict[str, DocumentRow], source: str, locator: str) -> str:
    row = documents.get(source.casefold())
    if row is None:
        return ""
    page = page_in(locator)
    return f"/shelf/{row.sha256}/file" + (f"#page={page}" if page else "")


def _limit_lines(ask: Ask, catalogue: Catalogue, design: str) -> tuple[LimitLine, ...]:
    documents = {row.source_key.casefold(): row for row in ask.shop.shelf.documents() if row.source_key}
    makers = {id(limit): file for file in catalogue.maker_files for limit in file.limits.values()}
    lines = []
    for limit in catalogue.limits_for(design, ask.shop.today).values():
        maker = makers.get(id(limit))
        title = maker.document if maker is not None else catalogue.sources[limit.source].title
        document = _document_at(documents, limit.source, limit.locator)
        if maker is not None and not document:
            # the place in the document stands behind its name, which may speak of pages too
            document = _document_at(documents, maker.document, limit.locator.removeprefix(maker.document))
        lines.append(_limit_line(catalogue, limit, title, document))
    return tuple(lines)


def _limit_line(catalogue: Catalogue, limit: Limit, title: str, document: str) -> LimitLine:
    label = limit.note
    if limit.field in catalogue.fields:
        label = catalogue.fields[limit.field].label
    elif limit.field in catalogue.measures:
        label = catalogue.measures[limit.field].title
    return LimitLine(
        id=limit.id,
        label=label,
        published=limit.published,
        also=limit.also,
        sense=limit.sense.value,
        passes="a value at the limit is good" if limit.passes_at_limit else "a value at the limit is beyond",
        beyond=str(limit.consequence),
        authority=str(limit.authority),
        status=str(limit.status),
        source=limit.source,
        source_title=title,
        locator=limit.locator,
        document=document,
        note=limit.note,
    )


def _build(ask: Ask) -> CataloguePage:
    catalogue = ask.shop.catalogue()
    section = ask.query.get("section", "limits")
    if section not in (*SECTIONS, "files"):
        raise Refusal(404, "there is no such part of the catalogue", allowed=", ".join((*SECTIONS, "files")))
    design = ask.query.get("design", "") or next(iter(catalogue.designs))
    catalogue.design(design)
    entries: tuple[EntryLine, ...] = ()
    if section not in ("limits", "files"):
        found = catalogue_entries(section, design if design in _shipped(catalogue) else "", ask.shop.today)
        entries = tuple(EntryLine(**entry) for entry in found["entries"])
    return CataloguePage(
        section=section,
        sections=(*SECTIONS, "files"),
        design=design,
        designs=tuple((name, each.title) for name, each in catalogue.designs.items()),
        limits=_limit_lines(ask, catalogue, design) if section == "limits" else (),
        entries=entries,
        files=_files(ask),
        version=catalogue.version,
    )


def _shipped(catalogue: Catalogue) -> tuple[str, ...]:
    own = {file.own_design.id for file in catalogue.maker_files if file.own_design is not None}
    return tuple(name for name in catalogue.designs if name not in own)


def _files(ask: Ask) -> tuple[FileLine, ...]:
    rows = ask.shop.shelf.limit_files()
    checked = maker_files_of([(row.name, row.text) for row in rows]) if rows else []
    return tuple(
        FileLine(
            sha256=row.sha256,
            name=row.name,
            by=row.by,
            at=row.at,
            document=file.document,
            part_number=file.part_number,
            designs=tuple(file.designs),
            limits=len(file.limits),
        )
        for row, file in zip(rows, checked, strict=True)
    )


def _add(sent: Sent) -> str:
    ask = sent.ask
    name, data = sent.files.get("file", ("", b""))
    if not data or len(data) > 500_000:
        raise Refusal(
            422, "no file of limits was chosen", where="file", allowed="a TOML file of at most 500 kB"
        )
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise Refusal(
            422, "the file is not text in UTF-8", where=name[:80], allowed="TOML in UTF-8"
        ) from None
    rows = ask.shop.shelf.limit_files()
    if any(row.text == text for row in rows):
        raise Refusal(409, "the same file is in force already", where=name[:80])
    # all together: two files must not say different things of one limit
    files = maker_files_of([*((row.name, row.text) for row in rows), (name[:80] or "limits.toml", text)])
    ask.shop.catalogue().with_maker_files(files[-1:])
    ask.shop.shelf.add_limit_file(name[:80] or "limits.toml", text, ask.person.name, ask.shop.now)
    ask.shop.forget_catalogue()
    ask.log("add limits", name[:80], f"{files[-1].document}, part {files[-1].part_number}")
    return "/catalogue?section=files"


def _withdraw(sent: Sent) -> str:
    ask = sent.ask
    name = ask.shop.shelf.withdraw_limit_file(sent.text("sha256"), ask.person.name, ask.shop.now)
    ask.shop.forget_catalogue()
    ask.log("withdraw limits", name)
    return "/catalogue?section=files"


add_page(router, "/catalogue", "catalogue.html", _build)
add_form(router, "/catalogue/files", _add, role="manages limits", files=1)
add_form(router, "/catalogue/files/withdraw", _withdraw, role="manages limits")
