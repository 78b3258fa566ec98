"""Where a value stands in its file, so that every message can say it.

A path is the way to a value in a document: ``("wheel_end", 2, "pad_inner", 0)``. A locator turns a path into
words such as ``"line 47"`` or ``"cell D7"``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from functools import lru_cache

__all__ = ["DocumentPath", "Locator", "TomlLines", "locate_by_prefix"]

DocumentPath = tuple[str | int, ...]
Locator = Callable[[DocumentPath], str]
"""From a path to its place in words; empty where the place is not known."""


def locate_by_prefix(places: Mapping[DocumentPath, str], path: DocumentPath) -> str:
    """Return the place of a path, or of the nearest enclosing value that has one.

    Parameters
    ----------
    places : mapping of path to str
        The known places.
    path : tuple
        The path wanted.

    Returns
    -------
    str
        The place, empty if nothing on the way is known.
    """
    for length in range(len(path), 0, -1):
        if path[:length] in places:
            return places[path[:length]]
    return ""


# Text that the TOML reader has accepted is cut into just these pieces; nothing else can change the nesting.
_SKIP = r"(?:[ \t\r]|#[^\n]*)*"
_KEY = r'[ \t]*(?:(?P<bare>[A-Za-z0-9_-]+)|"(?P<basic>(?:\\.|[^"\\\n])*)"|\'(?P<literal>[^\'\n]*)\')[ \t]*'
_VALUE_PIECE = (
    r'(?s:"""(?:\\.|[^\\])*?"{3,5}(?!")|\'\'\'.*?\'{3,5}(?!\')|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\''
    r"|#[^\n]*|[\[\]{}\n]|[^\"'#\[\]{}\n]+)"
)


@lru_cache(maxsize=8)
def _pattern(text: str) -> re.Pattern[str]:
    """Compiled when the first line is asked for: most files have no error."""
    return re.compile(text)


class TomlLines:
    """Line numbers of the keys of a TOML text, found when the first one is asked for.

    Parameters
    ----------
    text : str
        A text that the TOML reader has accepted.
    """

    __slots__ = ("_places", "_text")

    def __init__(self, text: str) -> None:
        self._text = text
        self._places: dict[DocumentPath, str] | None = None

    def __call__(self, path: DocumentPath) -> str:
        """Return the line of a path, or of the nearest enclosing key.

        Parameters
        ----------
        path : tuple of str or int
            The path.

        Returns
        -------
        str
            As ``"line 47"``; empty if unknown.
        """
        if self._places is None:
            self._places = _scan(self._text)
        return locate_by_prefix(self._places, path)


def _scan(text: str) -> dict[DocumentPath, str]:
    """Walk the text statement by statement."""
    places: dict[DocumentPath, str] = {}
    counts: dict[DocumentPath, int] = {}
    table: DocumentPath = ()
    position, line, counted = 0, 1, 0
    while position < len(text):
        position = _end(_SKIP, text, position)
        if position >= len(text):
            break
        if text[position] == "\n":
            position += 1
            continue
        line += text.count("\n", counted, position)
        counted = position
        if text[position] == "[":
            is_array = text.startswith("[[", position)
            keys, position = _keys(text, position + (2 if is_array else 1))
            table = _open_table(keys, is_array, counts)
            position += 2 if is_array else 1
        else:
            keys, position = _keys(text, position)
            table_of_key = table
            for key in keys:
                table_of_key = (*table_of_key, key)
                places.setdefault(table_of_key, f"line {line}")
            after = _skip_value(text, position + 1)
            position = after if after > position else position + 1
            continue
        for length in range(1, len(table) + 1):
            places.setdefault(table[:length], f"line {line}")
    return places


def _end(pattern: str, text: str, position: int) -> int:
    match = _pattern(pattern).match(text, position)
    return match.end() if match else position


def _keys(text: str, position: int) -> tuple[tuple[str, ...], int]:
    """Read a dotted key; returns its parts and the place behind it."""
    keys: list[str] = []
    while (match := _pattern(_KEY).match(text, position)) is not None:
        keys.append(_plain_key(match))
        position = match.end()
        if not text.startswith(".", position):
            break
        position += 1
    return tuple(keys), position


def _plain_key(match: re.Match[str]) -> str:
    """Return what a key says; in double quotation marks it may hold escapes, which the TOML reader knows."""
    key = next(part for part in match.groups() if part is not None)
    if match["basic"] is None or "\\" not in key:
        return key
    return next(iter(tomllib.loads(f'"{key}" = 0')))


def _open_table(keys: tuple[str, ...], is_array: bool, counts: dict[DocumentPath, int]) -> DocumentPath:
    """Return the path that a header opens, with the number of each array of tables on the way."""
    path: DocumentPath = ()
    for n, key in enumerate(keys):
        path = (*path, key)
        if is_array and n == len(keys) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


def _skip_value(text: str, position: int) -> int:
    """Return the place behind a value: the first line end outside strings and brackets."""
    depth = 0
    while (match := _pattern(_VALUE_PIECE).match(text, position)) is not None:
        piece = match[0]
        if piece == "\n" and depth == 0:
            break
        if piece in "[{":
            depth += 1
        elif piece in "]}":
            depth -= 1
        position = match.end()
    return position
