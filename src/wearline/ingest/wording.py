"""Words: the nearest known name, values as messages show them, matching of a field's words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time
from decimal import Decimal

__all__ = [
    "NOT_TAKEN",
    "ShownNumber",
    "is_strange",
    "match_word",
    "nearest",
    "number_text",
    "printable",
    "show",
]

NOT_TAKEN = frozenset({"", "-", "–", "—", "not taken"})
"""What an empty cell is written as; the reading then counts as not taken."""


class ShownNumber(str):
    """Text of a stored number: its decimal point was set by the program, not typed by a person."""

    __slots__ = ()


def nearest(name: str, known: Iterable[str]) -> str:
    """Return the known name that is most like a name, or an empty text.

    Parameters
    ----------
    name : str
        The name as given.
    known : iterable of str
        The names there are.

    Returns
    -------
    str
        The nearest, empty if none is near.
    """
    from difflib import get_close_matches

    wanted = "_".join(name[:60].split()).casefold()
    by_folded = {known_name.casefold(): known_name for known_name in known}
    close = get_close_matches(wanted, by_folded, n=1, cutoff=0.6)
    return by_folded[close[0]] if close else ""


def show(value: object) -> str:
    """Return a value for a message: short, and never the inside of a list or table.

    Parameters
    ----------
    value : object
        The value.

    Returns
    -------
    str
        As ``"'62 mm'"``, ``"3"``, ``"a list"``.
    """
    if isinstance(value, str):
        text = value if len(value) <= 60 else value[:57] + "..."
        return repr(text)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, datetime | date | time):
        return f"the date or time {value.isoformat()}"
    if isinstance(value, int):
        return str(value) if abs(value) < 10**18 else "a number of very many digits"
    if isinstance(value, float | Decimal):
        return str(value)[:40]
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    return f"a value of type {type(value).__name__}"


def number_text(value: object) -> str | None:
    """Return a bare number as the text that a person would have typed, or None if it is none.

    Parameters
    ----------
    value : object
        A value of a document.

    Returns
    -------
    str or None
        Digits with a decimal point, every digit kept.
    """
    if isinstance(value, bool):
        return None
    if isinstance(value, int):
        return str(value) if abs(value) < 10**18 else None
    if isinstance(value, float):
        value = Decimal(repr(value))
    if isinstance(value, Decimal):
        if not value.is_finite() or abs(value.adjusted()) > 20:
            return None
        return f"{value:f}"
    return None


def match_word(text: str, words: Iterable[str]) -> str | None:
    """Return the word that a text says, capitals, spaces, hyphens and underscores aside.

    Parameters
    ----------
    text : str
        The text.
    words : iterable of str
        The words.

    Returns
    -------
    str or None
        None if it says none of them.
    """
    folded = _fold(text)
    return next((word for word in words if _fold(word) == folded), None)


def is_strange(character: str) -> bool:
    """Tell whether a character is a control character or half of one: no database and no printer takes it.

    Parameters
    ----------
    character : str
        One character.

    Returns
    -------
    bool
        True for what is no text; tabs and line ends are.
    """
    code = ord(character)
    return (code < 32 and character not in "\t\n\r") or code == 127 or 0xD800 <= code <= 0xDFFF


def printable(text: str) -> str:
    """Return a text that can be printed on one line.

    Parameters
    ----------
    text : str
        Anything, from a key of a file for instance.

    Returns
    -------
    str
        The text with strange characters spelled out.
    """
    return "".join(character if character.isprintable() else repr(character)[1:-1] for character in text)


def _fold(text: str) -> str:
    return " ".join(text.replace("-", " ").replace("_", " ").split()).casefold().rstrip(".")
