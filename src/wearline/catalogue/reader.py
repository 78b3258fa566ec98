"""Reads one table of a data file key by key, with an error that names file, entry, key and cure.

Nothing here knows what the tables mean: that is in the modules that use it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from enum import StrEnum
from fractions import Fraction
from typing import NoReturn, TypeVar, cast

from wearline.catalogue.documents import nearest
from wearline.errors import CatalogueError, QuantityError
from wearline.uncertainty.rules import Sense
from wearline.units import Kind, parse_quantity, unit_for

__all__ = ["Entry", "entries"]

Chosen = TypeVar("Chosen", bound=StrEnum)
"""Any enumeration of words."""

_ABSENT: object = object()
_TYPE_WORDS = {str: "a text", bool: "true or false", int: "a whole number", dict: "a table", list: "a list"}


class Entry:
    """One table of a data file, read key by key.

    Parameters
    ----------
    file, name : str
        For messages: the file, and the entry within it.
    table : object
        What stands in the file; must be a table.

    Raises
    ------
    CatalogueError
        If it is no table.
    """

    __slots__ = ("_seen", "_table", "file", "name")

    def __init__(self, file: str, name: str, table: object) -> None:
        self.file = file
        self.name = name
        if not isinstance(table, dict):
            raise CatalogueError(
                f"{name} is {_say(table)}",
                where=file,
                allowed="a table of keys",
                cure=f"Write [{name}] on a line of its own and the keys below it",
            )
        self._table: dict[str, object] = table
        self._seen: set[str] = set()

    def __contains__(self, key: str) -> bool:
        return key in self._table

    def place(self, key: str = "") -> str:
        """Return file, entry and key for a message.

        Parameters
        ----------
        key : str, optional
            The key.

        Returns
        -------
        str
            ``"limits.toml, limit cl_max, key 'published'"``.
        """
        entry = f"{self.file}, {self.name}" if self.name else self.file
        return f"{entry}, key '{key}'" if key else entry

    def fail(self, key: str, what: str, allowed: str = "", cure: str = "") -> NoReturn:
        """Raise the error for one key.

        Parameters
        ----------
        key, what, allowed, cure : str
            Parts of the message.

        Raises
        ------
        CatalogueError
            Always.
        """
        raise CatalogueError(what, where=self.place(key), allowed=allowed, cure=cure)

    def finish(self) -> None:
        """Refuse keys that nobody asked for.

        Raises
        ------
        CatalogueError
            For the first unknown key, naming the nearest known one.
        """
        for key in self._table:
            if key not in self._seen:
                known = sorted(self._seen)
                self.fail(
                    key, "this key is not known here", "one of " + ", ".join(known), nearest(key, known)
                )

    def _get(self, key: str, default: object) -> object:
        self._seen.add(key)
        found = self._table.get(key, _ABSENT)
        if found is not _ABSENT:
            return found
        if default is _ABSENT:
            self.fail(key, "this key is missing", "", f"Write {key} = ... in this entry")
        return default

    def _typed(self, key: str, wanted: type, default: object) -> object:
        found = self._get(key, default)
        if found is default:
            return found
        right = isinstance(found, wanted) and not (wanted is int and isinstance(found, bool))
        if not right:
            self.fail(
                key, f"{_say(found)} stands here", _TYPE_WORDS[wanted], "Look at the neighbouring entries"
            )
        return found

    def text(self, key: str, default: str | None = None) -> str:
        """Return a text; without a default the key must be there and not empty.

        Parameters
        ----------
        key : str
            The key.
        default : str, optional
            Used when the key is absent.

        Returns
        -------
        str
            The text.
        """
        found = cast(str, self._typed(key, str, _ABSENT if default is None else default))
        if default is None and not found.strip():
            self.fail(key, "an empty text stands here", "a text", "Write the words, or leave the entry out")
        return found

    def flag(self, key: str, default: bool | None = None) -> bool:
        """Return true or false.

        Parameters
        ----------
        key : str
            The key.
        default : bool, optional
            Used when the key is absent.

        Returns
        -------
        bool
            The value.
        """
        return cast(bool, self._typed(key, bool, _ABSENT if default is None else default))

    def whole(self, key: str, low: int, high: int, default: int | None = None) -> int:
        """Return a whole number within bounds.

        Parameters
        ----------
        key : str
            The key.
        low, high : int
            Least and greatest.
        default : int, optional
            Used when the key is absent.

        Returns
        -------
        int
            The number.
        """
        found = cast(int, self._typed(key, int, _ABSENT if default is None else default))
        if not low <= found <= high:
            self.fail(key, f"{found} stands here", f"{low} to {high}")
        return found

    def number(self, key: str, low: float, high: float, default: float | None = None) -> float:
        """Return a plain number within bounds, for times in minutes or hours.

        Parameters
        ----------
        key : str
            The key.
        low, high : float
            Least and greatest.
        default : float, optional
            Used when the key is absent.

        Returns
        -------
        float
            The number.
        """
        found = self._get(key, _ABSENT if default is None else default)
        if isinstance(found, bool) or not isinstance(found, (int, float)) or not low <= found <= high:
            self.fail(key, f"{_say(found)} stands here", f"a number from {low:g} to {high:g}")
        return float(found)

    def pair(self, key: str, low: float, high: float) -> tuple[float, float]:
        """Return a range of two plain numbers.

        Parameters
        ----------
        key : str
            The key.
        low, high : float
            Bounds of both.

        Returns
        -------
        (float, float)
            Least and most.
        """
        found = self._get(key, _ABSENT)
        if isinstance(found, list) and len(found) == 2:
            table = Entry(self.file, f"{self.name}, {key}", {"least": found[0], "most": found[1]})
            least, most = table.number("least", low, high), table.number("most", low, high)
            if least <= most:
                return least, most
        return self.fail(key, f"{_say(found)} stands here", "two numbers, least and most, in this order")

    def day(self, key: str) -> date:
        """Return a date.

        Parameters
        ----------
        key : str
            The key.

        Returns
        -------
        date
            The day.
        """
        found = self._get(key, _ABSENT)
        if isinstance(found, date) and not isinstance(found, datetime):
            return found
        return self.fail(key, f"{_say(found)} stands here", "a date without quotation marks, as 2026-09-14")

    def words(self, key: str, default: Sequence[str] | None = None) -> tuple[str, ...]:
        """Return a list of texts.

        Parameters
        ----------
        key : str
            The key.
        default : sequence of str, optional
            Used when the key is absent.

        Returns
        -------
        tuple of str
            The texts.
        """
        found = cast("list[object]", self._typed(key, list, _ABSENT if default is None else default))
        for word in found:
            if not isinstance(word, str) or not word.strip():
                self.fail(key, f"{_say(word)} stands in the list", "texts that are not empty")
        return tuple(cast("list[str]", found))

    def choice(self, key: str, allowed: Iterable[str], default: str | None = None) -> str:
        """Return a text that must be one of a few.

        Parameters
        ----------
        key : str
            The key.
        allowed : iterable of str
            What may stand there.
        default : str, optional
            Used when the key is absent.

        Returns
        -------
        str
            The text.
        """
        found = self.text(key, default)
        return self.one_of(key, found, allowed) if found != default else found

    def one_of(self, key: str, word: str, allowed: Iterable[str]) -> str:
        """Refuse a word that is not one of a few.

        Parameters
        ----------
        key, word : str
            The key, and what was written.
        allowed : iterable of str
            What may stand there.

        Returns
        -------
        str
            The word.
        """
        known = list(allowed)
        if word not in known:
            shown = ", ".join(known) if len(known) <= 12 else f"one of {len(known)} known names"
            self.fail(key, f"'{word}' is not known", shown, nearest(word, known))
        return word

    def member(self, key: str, options: type[Chosen], default: Chosen | None = None) -> Chosen:
        """Return a member of an enumeration of words.

        Parameters
        ----------
        key : str
            The key.
        options : type
            The enumeration.
        default : member, optional
            Used when the key is absent.

        Returns
        -------
        member
            The member.
        """
        return options(self.choice(key, [str(option) for option in options], default))

    def known(self, key: str, known: Iterable[str], default: Sequence[str] | None = ()) -> tuple[str, ...]:
        """Return a list of texts that must all be known names.

        Parameters
        ----------
        key : str
            The key.
        known : iterable of str
            The names.
        default : sequence of str, optional
            Used when the key is absent; None makes the key compulsory.

        Returns
        -------
        tuple of str
            The names.
        """
        names = list(known)
        return tuple(self.one_of(key, word, names) for word in self.words(key, default))

    def table(self, key: str, default: Mapping[str, object] | None = None) -> Entry:
        """Return a table within this one.

        Parameters
        ----------
        key : str
            The key.
        default : mapping, optional
            Used when the key is absent.

        Returns
        -------
        Entry
            The inner table.
        """
        found = self._get(key, _ABSENT if default is None else dict(default))
        return Entry(self.file, f"{self.name}, {key}" if self.name else key, found)

    def tables(self, key: str, label: str) -> list[Entry]:
        """Return a list of tables within this one.

        Parameters
        ----------
        key : str
            The key; absent means none.
        label : str
            Word for one of them in messages.

        Returns
        -------
        list of Entry
            The inner tables in order.
        """
        found = cast("list[object]", self._typed(key, list, []))
        before = f"{self.name}, " if self.name else ""
        return [Entry(self.file, f"{before}{label} {n}", table) for n, table in enumerate(found, start=1)]

    def is_table(self, key: str) -> bool:
        """Say whether a table stands under the key.

        Parameters
        ----------
        key : str
            The key.

        Returns
        -------
        bool
            False when the key is absent.
        """
        return isinstance(self._table.get(key), dict)

    def picked(self, keys: Iterable[str]) -> dict[str, object]:
        """Return what stands under a few keys, as it stands, and refuse any other key.

        Parameters
        ----------
        keys : iterable of str
            The keys; absent ones are left out.

        Returns
        -------
        dict
            Key to raw value.
        """
        self._seen.update(keys)
        self.finish()
        return dict(self._table)

    def without(self, *keys: str) -> dict[str, object]:
        """Return a copy of the table without a few keys.

        Parameters
        ----------
        *keys : str
            The keys.

        Returns
        -------
        dict
            The rest, as it stands.
        """
        return {key: value for key, value in self._table.items() if key not in keys}

    def only(self, known: Iterable[str]) -> None:
        """Refuse any key that is not among known names.

        Parameters
        ----------
        known : iterable of str
            The names.

        Raises
        ------
        CatalogueError
            For the first other key.
        """
        self._seen.update(known)
        self.finish()

    def raw(self, key: str) -> object:
        """Return what stands under a key, as it stands.

        Parameters
        ----------
        key : str
            The key.

        Returns
        -------
        object
            The value.
        """
        return self._get(key, _ABSENT)

    def names(self) -> tuple[str, ...]:
        """Return the keys of a table whose keys are names; all count as read.

        Returns
        -------
        tuple of str
            The names in order.
        """
        self._seen.update(self._table)
        return tuple(self._table)

    def kind(self, key: str) -> Kind:
        """Return a kind of quantity by its name.

        Parameters
        ----------
        key : str
            The key.

        Returns
        -------
        Kind
            The kind.
        """
        return Kind(self.choice(key, [kind.value for kind in Kind]))

    def sense(self, key: str = "sense") -> Sense:
        """Return the side on which a limit is good.

        Parameters
        ----------
        key : str, optional
            The key.

        Returns
        -------
        Sense
            The side.
        """
        return Sense(self.choice(key, [sense.value for sense in Sense]))

    def unit(self, key: str, kind: Kind) -> str:
        """Return the canonical symbol of a unit.

        Parameters
        ----------
        key : str
            The key.
        kind : Kind
            Kind of quantity.

        Returns
        -------
        str
            The symbol.
        """
        found = self.text(key)
        try:
            return unit_for(found, kind).symbol
        except QuantityError as error:
            self.fail(key, error.what, error.allowed, error.cure)

    def exact(self, key: str, text: str, kind: Kind) -> tuple[Fraction, str]:
        """Read a quantity that stands in this entry.

        Parameters
        ----------
        key, text : str
            The key, and the quantity as written.
        kind : Kind
            Kind of quantity.

        Returns
        -------
        (Fraction, str)
            Exact SI value and canonical symbol of its unit.
        """
        bare = "1" if kind is Kind.FRACTION else None
        try:
            quantity = parse_quantity(text, kind, default_unit=bare)
        except QuantityError as error:
            self.fail(key, error.what, error.allowed, error.cure)
        return quantity.exact, quantity.unit


def _say(thing: object) -> str:
    """Describe a wrong value in a few words."""
    if isinstance(thing, (dict, list)):
        return f"{_TYPE_WORDS[type(thing)]} of {len(thing)}"
    text = repr(thing)
    return text if len(text) <= 40 else text[:37] + "..."


def entries(document: Mapping[str, object], key: str, file: str) -> dict[str, Entry]:
    """Return the named tables under one key of a document.

    Parameters
    ----------
    document : mapping
        The document.
    key : str
        The key, as ``"limit"`` for tables such as ``[limit.cl_max]``.
    file : str
        Name used in messages.

    Returns
    -------
    dict of str to Entry
        Name to table, in the order of the file.

    Raises
    ------
    CatalogueError
        If the key holds something else than tables.
    """
    tables = Entry(file, key, document.get(key, {}))
    return {name: Entry(file, f"{key} {name}", tables.raw(name)) for name in tables.names()}
