"""Take the bytes of a file safely: bounded, named, and recognised by their content."""

from __future__ import annotations

import os
import stat
import sys
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import BinaryIO

from wearline.errors import FileFormatError
from wearline.ingest.wording import printable

__all__ = [
    "MAXIMUM_BYTES",
    "FileForm",
    "Source",
    "decode_text",
    "file_fault",
    "load_source",
    "recognise",
]

MAXIMUM_BYTES = 10_000_000
"""Largest file that is read [byte]. An inspection of 64 axles with every check takes less than 1 MB."""

FORMS = "an inspection file: TOML, CSV or XLSX"

# First bytes of common files that are none of ours. Source: the file formats' own specifications.
_FOREIGN = (
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old XLS or a password-protected workbook"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG\r\n\x1a\n", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"SQLite format 3\x00", "an SQLite database"),
    (b"PAR1", "a Parquet file"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive"),
    (b"\x7fELF", "a program"),
    (b"MZ", "a program"),
)
_UTF_16_AND_32 = (
    (b"\xff\xfe\x00\x00", "UTF-32"),
    (b"\x00\x00\xfe\xff", "UTF-32"),
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
)
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"


class FileForm(StrEnum):
    """What the bytes of a file are."""

    TEXT = "text"
    XLSX = "xlsx"


@dataclass(frozen=True, slots=True)
class Source:
    """A file's name and its bytes.

    Parameters
    ----------
    name : str
        What messages call it: the path as given, or ``"standard input"``.
    suffix : str
        Ending of the name in small letters, empty where there is none.
    data : bytes
        Everything in it.
    """

    name: str
    suffix: str
    data: bytes


def file_fault(path: str, error: OSError, doing: str = "read") -> FileFormatError:
    """Return the one clear error for a fault of the operating system.

    Parameters
    ----------
    path : str
        The file.
    error : OSError
        What the system said.
    doing : str
        ``"read"`` or ``"written"``.

    Returns
    -------
    FileFormatError
        To be raised.
    """
    reasons = {
        FileNotFoundError: ("there is no such file or folder", "Check the name and the folder"),
        PermissionError: (
            "permission is refused",
            "Ask for the right to it, or copy it to a folder of yours",
        ),
        IsADirectoryError: ("it is a folder", "Name a file"),
        NotADirectoryError: ("a part of the path is not a folder", "Check the path"),
    }
    reason, cure = reasons.get(type(error), (error.strerror or str(error), "Check the disk and the path"))
    return FileFormatError(f"the file cannot be {doing}: {reason}", where=path, cure=cure)


def _too_large(name: str, size: str) -> FileFormatError:
    return FileFormatError(
        f"the file holds {size}",
        where=name,
        allowed=f"at most {MAXIMUM_BYTES // 1_000_000} MB",
        cure="Give one inspection per file; many wheel ends at once go in as Parquet",
    )


def _read_bounded(stream: BinaryIO, name: str) -> bytes:
    data = stream.read(MAXIMUM_BYTES + 1)
    if len(data) > MAXIMUM_BYTES:
        raise _too_large(name, f"more than {MAXIMUM_BYTES // 1_000_000} MB")
    return data


def load_source(path: str | Path) -> Source:
    """Read a file, or standard input for ``"-"``.

    Parameters
    ----------
    path : str or Path
        The file, or ``"-"``.

    Returns
    -------
    Source
        Its name and bytes.

    Raises
    ------
    FileFormatError
        If the file is missing, a folder, not permitted, empty or too large. A large file is refused before it
        is read.
    """
    if str(path) == "-":
        return Source("standard input", "", _checked(_read_bounded(sys.stdin.buffer, "standard input"), "-"))
    name = printable(str(path))
    try:
        with Path(path).open("rb") as stream:
            status = os.fstat(stream.fileno())
            if stat.S_ISREG(status.st_mode) and status.st_size > MAXIMUM_BYTES:
                raise _too_large(name, f"{status.st_size / 1e6:.0f} MB")
            data = _read_bounded(stream, name)
    except OSError as error:
        raise file_fault(name, error) from error
    except ValueError as error:  # a zero byte in the name
        raise FileFormatError(
            f"the name of the file cannot be used: {error}", where=name, cure="Check the name"
        ) from error
    return Source(name, Path(path).suffix.lower(), _checked(data, name))


def _checked(data: bytes, name: str) -> bytes:
    if not data.strip():
        raise FileFormatError(
            "the file is empty" if not data else "the file holds nothing but blanks",
            where="standard input" if name == "-" else name,
            allowed=FORMS,
            cure="Fill in a sheet, or save the file again from the program that wrote it",
        )
    return data


def recognise(source: Source) -> FileForm:
    """Tell from the content what a file is.

    Parameters
    ----------
    source : Source
        The file.

    Returns
    -------
    FileForm
        Text (TOML or CSV) or XLSX.

    Raises
    ------
    FileFormatError
        If the content is none of these; the message names what it looks like.
    """
    data = source.data
    if data.startswith(b"PK\x03\x04") or data.startswith(b"PK\x05\x06"):
        return FileForm.XLSX
    if source.suffix in {".xlsx", ".xlsm"}:
        raise FileFormatError(
            f"the name says {source.suffix[1:].upper()}, but the content is not a workbook",
            where=source.name,
            allowed=FORMS,
            cure="Save it again as XLSX, or give it the ending that fits",
        )
    for start, what in _FOREIGN:
        if data.startswith(start):
            raise _not_ours(source.name, what)
    for start, what in _UTF_16_AND_32:
        if data.startswith(start):
            raise FileFormatError(
                f"the text is encoded as {what}", where=source.name, allowed="UTF-8", cure="Save it as UTF-8"
            )
    return FileForm.TEXT


def _not_ours(name: str, what: str) -> FileFormatError:
    return FileFormatError(
        f"the file is {what}",
        where=name,
        allowed=FORMS,
        cure="Name the inspection file itself; save an old workbook as XLSX",
    )


def decode_text(source: Source) -> str:
    """Return the text of a file.

    Parameters
    ----------
    source : Source
        The file, recognised as text.

    Returns
    -------
    str
        The text without byte order mark.

    Raises
    ------
    FileFormatError
        If a byte is not UTF-8 (the message says which, and on which line), or the content is binary.
    """
    data = source.data
    offset = len(_BYTE_ORDER_MARK) if data.startswith(_BYTE_ORDER_MARK) else 0
    zero = data.find(b"\x00")
    if zero >= 0:
        if b"\x00" in data[:4] and len(data) % 2 == 0:
            what = "the text seems to be encoded as UTF-16; a zero byte stands at its start"
        else:
            what = f"the file is binary: byte {zero + 1} on {_line_of(data, zero)} is zero"
        raise FileFormatError(
            what,
            where=source.name,
            allowed="text in UTF-8",
            cure="Save it as UTF-8 text, or name another file",
        )
    try:
        text = data[offset:].decode("utf-8")
    except UnicodeDecodeError as error:
        place = offset + error.start
        raise FileFormatError(
            f"byte {place + 1} (0x{data[place]:02X}) is not UTF-8",
            where=f"{source.name}, {_line_of(data, place)}",
            allowed="text in UTF-8",
            cure="Save the file as UTF-8; degree signs and letters with marks are the usual trouble",
        ) from error
    _refuse_control_characters(text, source.name)
    return text


def _line_of(data: bytes, place: int) -> str:
    number = data.count(b"\n", 0, place) + 1
    return f"line {number}"


def _refuse_control_characters(text: str, name: str) -> None:
    """Text that no keyboard makes is a binary file in disguise."""
    table = dict.fromkeys([*range(9), 11, 12, *range(14, 32), 127])
    if len(text.translate(table)) == len(text):
        return
    place = next(n for n, character in enumerate(text) if ord(character) in table)
    line = text.count("\n", 0, place) + 1
    raise FileFormatError(
        f"a control character (code {ord(text[place])}) stands in the text",
        where=f"{name}, line {line}",
        allowed="text in UTF-8",
        cure="Delete it; if there are many, the file is not the inspection",
    )
