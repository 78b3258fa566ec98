"""Read a TOML text into a document and a locator of its lines."""

from __future__ import annotations

import re
import tomllib
from decimal import Decimal
from typing import Any

from wearline.errors import FileFormatError
from wearline.ingest.locate import TomlLines

__all__ = ["parse_toml"]

MAXIMUM_TABLES = 2_000
"""More headers than any inspection has; refused before the text is parsed, since parsing them is slow."""

MAXIMUM_LINES = 100_000
"""Several times more than an inspection of 64 axles takes."""

_HEADER = re.compile(r"^[ \t]*\[", re.MULTILINE)
_OPENED = re.compile(r"[\[{]{50}")
_PLACE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$")


def parse_toml(text: str, where: str) -> tuple[dict[str, Any], TomlLines]:
    """Parse a TOML text.

    Parameters
    ----------
    text : str
        The text.
    where : str
        What messages call the file.

    Returns
    -------
    dict
        The document. Numbers with a decimal point are ``Decimal``, so that the digits stay as typed.
    TomlLines
        Finds the line of a path.

    Raises
    ------
    FileFormatError
        If the text is not TOML, is cut off, or is nested or repeated beyond any inspection.
    """
    _refuse_excess(text, where)
    try:
        document = tomllib.loads(text.replace("\r\n", "\n"), parse_float=Decimal)
    except RecursionError as error:
        raise _too_deep(where) from error
    except tomllib.TOMLDecodeError as error:
        raise _not_toml(str(error), text, where) from error
    except (ValueError, ArithmeticError, OverflowError) as error:
        raise FileFormatError(
            f"a number or date in the file cannot be read ({type(error).__name__})",
            where=where,
            allowed="numbers of a few digits, dates as 2026-09-14",
            cure="Look for a number that is far too long, or a date that does not exist",
        ) from error
    return document, TomlLines(text)


def _refuse_excess(text: str, where: str) -> None:
    count = 0
    for count, _ in enumerate(_HEADER.finditer(text), start=1):
        if count > MAXIMUM_TABLES:
            raise FileFormatError(
                f"the file has more than {MAXIMUM_TABLES} tables",
                where=where,
                allowed="one inspection: a vehicle of at most 64 axles",
                cure="Give one inspection per file; many wheel ends at once go in as Parquet",
            )
    if text.count("\n") > MAXIMUM_LINES:
        raise FileFormatError(
            f"the file has more than {MAXIMUM_LINES} lines",
            where=where,
            allowed="one inspection: a vehicle of at most 64 axles",
            cure="Give one inspection per file; many wheel ends at once go in as Parquet",
        )
    if _OPENED.search(text):
        raise _too_deep(where)


def _too_deep(where: str) -> FileFormatError:
    return FileFormatError(
        "the file is nested too deeply",
        where=where,
        allowed="tables, lists and quantities as in a blank sheet",
        cure="Start from a blank sheet",
    )


def _not_toml(message: str, text: str, where: str) -> FileFormatError:
    """Say where the text stops being TOML, and whether it looks cut off."""
    match = _PLACE.search(message)
    reason = (message[: match.start()] if match else message).strip()[:120]
    lines = text.rstrip().split("\n")
    line = min(int(match[1]), len(lines)) if match and match[1] else len(lines)
    place = f"{where}, line {line}"
    if match is not None and match[1] is None:
        return FileFormatError(
            f"the file ends in the middle of something ({reason})",
            where=place,
            allowed="a complete inspection file",
            cure="It may be half-written: copy it again, or mend its last line",
        )
    if "overwrite" in reason or "twice" in reason or "Cannot declare" in reason:
        return FileFormatError(
            f"'{lines[line - 1].strip()[:60]}' is given twice",
            where=place,
            allowed="each key once in its table",
            cure="Delete one of the two, or begin a new [[wheel_end]] above the second",
        )
    last = "; if it is the last of the file, the file may be half-written" if line == len(lines) else ""
    return FileFormatError(
        f"this is not TOML: {reason}, at '{lines[line - 1].strip()[:60]}'",
        where=place,
        allowed='lines such as total_travel = "1.40 mm"',
        cure=f"Mend the line{last}; texts and quantities stand in quotation marks",
    )
