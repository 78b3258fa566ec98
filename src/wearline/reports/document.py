"""From a template and plain data to a PDF, offline, with the fonts that the typesetter carries in itself.

Text typed by people goes in as JSON data and never as markup. The PDF is tagged and meets PDF/UA-1, which
refuses a letter that no font can show; such letters are set in fonts of this computer where it has them, and
else written as their code.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from wearline.errors import ProgramFault, StorageError
from wearline.reports.palette import LIGHT
from wearline.reports.words import breakable

__all__ = ["PAPERS", "compile_pdf", "write_pdf"]

PAPERS = ("a4", "us-letter")
"""Sizes of paper that the templates are laid out for."""

_TEMPLATES = Path(__file__).parent / "templates"
_UNSHOWN = re.compile(r'the text `?"((?:[^"\\]|\\.)+)"`? could not be displayed')
_DRAWING = "svg"
_HEAD = 60
# Each round can only name letters that the round before hid; real texts need two or three.
_ROUNDS = 12


@lru_cache(maxsize=2)
def _fonts(*, of_this_computer: bool) -> Any:
    import typst

    return typst.Fonts(include_system_fonts=of_this_computer)


def _printable(value: Any, key: str = "") -> Any:
    """The same plain data with every text fit for paper; drawings stay as they are."""
    if isinstance(value, str):
        return value if key == _DRAWING else breakable(value)
    if isinstance(value, Mapping):
        return {name: _printable(each, name) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return [_printable(each) for each in value]
    return value


def _compile(template: str, text: str, day: date, *, of_this_computer: bool) -> bytes:
    import typst

    made = typst.compile(
        _TEMPLATES / template,
        root=_TEMPLATES,
        font_paths=_fonts(of_this_computer=of_this_computer),
        sys_inputs={"data": text},
        format="pdf",
        pdf_standards=["ua-1"],
        timestamp=datetime(day.year, day.month, day.day, tzinfo=UTC),
    )
    assert isinstance(made, bytes)
    return made


def compile_pdf(template: str, content: Mapping[str, Any], *, day: date, paper: str = "a4") -> bytes:
    """Return a PDF made from a template and plain data.

    Parameters
    ----------
    template : str
        Name of a file in ``templates``.
    content : mapping
        JSON-safe values; keys ``made_by``, ``vehicle_id`` and ``dated`` are printed on every page.
    day : date
        Day written into the document.
    paper : str
        One of ``PAPERS``.

    Returns
    -------
    bytes
        The PDF; the same bytes for the same input on the same computer.

    Raises
    ------
    ProgramFault
        If the typesetter refuses the template.

    Notes
    -----
    Letters that neither the fonts of the typesetter nor those of the computer have are written as their
    code, as ``[U+1F69B]``.
    """
    import typst

    name = breakable(str(content.get("vehicle_id", "")))
    head = name if len(name) <= _HEAD else name[: _HEAD - 1] + "\u2026"
    data = {
        "head": head,
        "palette": LIGHT.colours(),
        "paper": paper,
        "day": [day.year, day.month, day.day],
        **content,
    }
    text = json.dumps(_printable(data), ensure_ascii=False)
    of_this_computer = False
    for _ in range(_ROUNDS):
        try:
            return _compile(template, text, day, of_this_computer=of_this_computer)
        except typst.TypstError as error:
            unshown = _letters_without_font(str(error))
            if not unshown:
                raise ProgramFault(
                    f"the typesetter refused {template}: {error.message}",
                    cure="Report this with the inspection file",
                ) from error
            if of_this_computer:
                for letter in unshown:
                    text = text.replace(letter, f"[U+{ord(letter):04X}]")
            of_this_computer = True
    raise ProgramFault(f"the typesetter found no letters for a text in {template}")


def _letters_without_font(message: str) -> set[str]:
    letters: set[str] = set()
    for run in _UNSHOWN.findall(message):
        plain = re.sub(r"\\u\{([0-9a-fA-F]+)\}", lambda code: chr(int(code.group(1), 16)), run)
        letters.update(letter for letter in plain if not letter.isascii())
    return letters


def write_pdf(pdf: bytes, out: Path) -> Path:
    """Write a PDF to a file.

    Parameters
    ----------
    pdf : bytes
        The document.
    out : Path
        The file; replaced if it exists.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    StorageError
        If the file cannot be written.
    """
    try:
        out.write_bytes(pdf)
    except OSError as error:
        raise StorageError(
            f"the PDF cannot be written: {error.strerror or error}",
            where=str(out),
            cure="Choose a folder that you may write to; close the file if a reader has it open",
        ) from error
    return out
