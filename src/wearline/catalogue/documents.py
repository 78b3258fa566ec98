"""Finds and parses the data files, and says where their numbers come from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from wearline.catalogue.model import Source
from wearline.errors import CatalogueError

__all__ = ["Origin", "nearest", "parse_document", "read_document"]


@dataclass(frozen=True, slots=True)
class Origin:
    """Where the numbers of a file come from unless they say otherwise.

    Parameters
    ----------
    sources : mapping of str to Source
        All sources.
    source, locator : str
        Used where an entry names none; empty means that every number must name its own.
    """

    sources: Mapping[str, Source]
    source: str = ""
    locator: str = ""


def nearest(name: str, known: Iterable[str]) -> str:
    """Return a question naming the nearest known word, or an empty text.

    Parameters
    ----------
    name : str
        What was written.
    known : iterable of str
        What there is.

    Returns
    -------
    str
        ``"Did you mean 'x'?"``, or the list of what is known when nothing is near.
    """
    from difflib import get_close_matches

    words = list(known)
    close = get_close_matches(name, words, n=1, cutoff=0.4)
    if close:
        return f"Did you mean '{close[0]}'?"
    return f"Known: {', '.join(words[:40])}" if words else ""


def parse_document(text: str, file: str) -> dict[str, object]:
    """Parse the text of a TOML file.

    Parameters
    ----------
    text : str
        The text.
    file : str
        Name used in messages.

    Returns
    -------
    dict
        The document.

    Raises
    ------
    CatalogueError
        If it is not TOML.
    """
    import tomllib

    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise CatalogueError(
            f"not a TOML file: {error}",
            where=file,
            allowed="TOML: [tables], key = value, texts in quotation marks",
            cure="Look at the line named; a missing quotation mark or bracket is the usual reason",
        ) from error


def read_document(file: str) -> dict[str, object]:
    """Read one data file that ships with the package.

    Parameters
    ----------
    file : str
        Path inside the data folder, with ``/``.

    Returns
    -------
    dict
        The document.

    Raises
    ------
    CatalogueError
        If the file is missing or is not TOML.
    """
    from importlib.resources import files

    try:
        data = files("wearline.catalogue").joinpath("data", *file.split("/")).read_bytes()
        text = data.decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise CatalogueError(
            f"the data file cannot be read: {error}", where=file, cure="Install the package again"
        ) from error
    return parse_document(text, file)
