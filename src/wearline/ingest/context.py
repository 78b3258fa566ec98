"""What every step of reading a document shares: places for messages, units, decimal marks, notices."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, time
from typing import Any, Never

from wearline.errors import InputError, QuantityError, ReadingError
from wearline.ingest.locate import DocumentPath, Locator
from wearline.ingest.wording import (
    NOT_TAKEN,
    ShownNumber,
    is_strange,
    match_word,
    nearest,
    number_text,
    printable,
    show,
)
from wearline.records.notices import Notice
from wearline.units import Kind, Quantity, parse_quantity

__all__ = ["Context", "Position"]

_MARK = re.compile(r"[0-9]([.,])[0-9]")
_MARK_NAMES = {".": "decimal point", ",": "decimal comma"}


@dataclass(frozen=True, slots=True)
class Position:
    """Where a value stands in the document, and what it is called.

    Parameters
    ----------
    path : tuple of str or int
        Way to it.
    label : str
        What messages call it, as ``"1R pad_inner LT"``.
    """

    path: DocumentPath
    label: str = ""

    def child(self, key: str | int, label: str | None = None) -> Position:
        """Return the position of a value inside this one.

        Parameters
        ----------
        key : str or int
            Key or number.
        label : str, optional
            What to call it; the key is put behind this position's label when left out.

        Returns
        -------
        Position
            The position.
        """
        return Position((*self.path, key), f"{self.label} {key}".strip() if label is None else label)


@dataclass(slots=True)
class Context:
    """The state of one reading of one document.

    Parameters
    ----------
    where : str
        What messages call the file.
    locate : callable or None
        From a path to its place in words.
    units : mapping of str to str
        Unit of bare numbers by kind or by field.
    unit_style : str
        ``"metric"`` or ``"inch"`` for the usual units of every field; empty for none.
    notices : list of Notice
        What was noticed on the way.
    """

    where: str
    locate: Locator | None = None
    units: dict[str, str] = field(default_factory=dict)
    unit_style: str = ""
    notices: list[Notice] = field(default_factory=list)
    _marks: dict[str, tuple[str, str]] = field(default_factory=dict)

    def place(self, position: Position) -> str:
        """Return file, line or cell, and name of a value.

        Parameters
        ----------
        position : Position
            The value.

        Returns
        -------
        str
            As ``"A1.toml, line 47, 1R total_travel"``.
        """
        return ", ".join(part for part in (self.where, self.place_in_file(position)) if part)

    def place_in_file(self, position: Position) -> str:
        """Return line or cell, and name of a value, for a message that names the file already.

        Parameters
        ----------
        position : Position
            The value.

        Returns
        -------
        str
            As ``"line 47, 1R total_travel"``.
        """
        found = self.locate(position.path) if self.locate is not None else ""
        return ", ".join(printable(part[:200]) for part in (found, position.label) if part)

    def fault(self, what: str, position: Position, *, allowed: str = "", cure: str = "") -> ReadingError:
        """Return the error for a value.

        Parameters
        ----------
        what, allowed, cure : str
            The parts of the message.
        position : Position
            The value.

        Returns
        -------
        ReadingError
            To be raised.
        """
        return ReadingError(what, where=self.place(position), allowed=allowed, cure=cure)

    def notice(self, code: str, text: str, position: Position, *, cure: str = "") -> None:
        """Add a warning that does not stop the work.

        Parameters
        ----------
        code, text, cure : str
            The parts of the notice.
        position : Position
            The value.
        """
        self.notices.append(Notice(code, text, self.place(position), cure))

    def reraise(self, error: InputError, position: Position) -> Never:
        """Raise an error again with the place of a value in front.

        Parameters
        ----------
        error : InputError
            What was raised without a place.
        position : Position
            The value.
        """
        raise error.at(self.place(position)) from error

    def table(self, value: object, position: Position) -> Mapping[str, Any]:
        """Return a value that has to be a table.

        Parameters
        ----------
        value : object
            The value.
        position : Position
            Where it stands.

        Returns
        -------
        mapping
            The table, its keys texts.

        Raises
        ------
        ReadingError
            If it is none.
        """
        if not isinstance(value, Mapping) or not all(isinstance(key, str) for key in value):
            name = str(position.path[-1]) if position.path else "the document"
            raise self.fault(
                f"{name} is {show(value)}, not a table",
                position,
                allowed="a table",
                cure="Start from a blank sheet",
            )
        return value

    def refuse_unknown(
        self, table: Mapping[str, Any], known: Iterable[str], position: Position, of: str
    ) -> None:
        """Refuse a key that a table does not have.

        Parameters
        ----------
        table : mapping
            The table.
        known : iterable of str
            Its keys.
        position : Position
            Where it stands.
        of : str
            What the table is, as ``"the vehicle"``.

        Raises
        ------
        ReadingError
            Naming the nearest known key.
        """
        names = list(known)
        for key in table:
            if key not in names:
                near = nearest(key, names)
                few = len(names) <= 24
                raise self.fault(
                    f"{show(key)} is not a known key of {of}",
                    position.child(key),
                    allowed=", ".join(names)
                    if few
                    else f"the {len(names)} keys of {of}, as in a blank sheet",
                    cure=f"Did you mean '{near}'?" if near else "Put remarks into 'note'",
                )

    def text(self, value: object, position: Position) -> str:
        """Return a value that has to be a text; a bare number counts as one.

        Parameters
        ----------
        value : object
            The value; None for one that is not given.
        position : Position
            Where it stands.

        Returns
        -------
        str
            The text without blanks at its ends.

        Raises
        ------
        ReadingError
            If it is none.
        """
        if value is None:
            return ""
        found = value if isinstance(value, str) else number_text(value)
        if found is None:
            raise self.fault(
                f"{position.path[-1]} is {show(value)}, not a text",
                position,
                allowed="a text in quotation marks",
            )
        if len(found) > 10_000:
            raise self.fault(
                f"{position.path[-1]} holds {len(found)} characters",
                position,
                allowed="at most 10000 characters",
            )
        strange = next((character for character in found if is_strange(character)), "")
        if strange:
            raise self.fault(
                f"{position.path[-1]} holds a character that is no text (code {ord(strange)})",
                position,
                allowed="letters, digits, signs, line ends",
                cure="Delete it and type the text again",
            )
        return found.strip()

    def texts(self, value: object, position: Position, separators: str = ";,") -> tuple[str, ...]:
        """Return a value that is a list of texts, or one text with separators.

        Parameters
        ----------
        value : object
            The value.
        position : Position
            Where it stands.
        separators : str
            Characters that separate several in one text.

        Returns
        -------
        tuple of str
            The texts that are not empty.

        Raises
        ------
        ReadingError
            If it is neither.
        """
        if value is None:
            return ()
        if isinstance(value, list | tuple):
            if len(value) > 1_000:
                raise self.fault(
                    f"the list has {len(value)} entries", position, allowed="at most 1000 entries"
                )
            found = [self.text(part, position.child(n, position.label)) for n, part in enumerate(value)]
        else:
            found = re.split(f"[{re.escape(separators)}]", self.text(value, position))
        return tuple(part.strip() for part in found if part.strip())

    def choice(self, value: object, words: Iterable[str], position: Position) -> str:
        """Return which of some words a value says, capitals and spaces aside.

        Parameters
        ----------
        value : object
            The value; None or an empty text for one that is not given.
        words : iterable of str
            The words.
        position : Position
            Where it stands.

        Returns
        -------
        str
            The word, empty if none is given.

        Raises
        ------
        ReadingError
            If it is another word; the message names the allowed ones.
        """
        text = self.text(value, position)
        if text.casefold() in NOT_TAKEN:
            return ""
        names = tuple(words)
        found = match_word(text, names)
        if found is None:
            near = nearest(text, names)
            raise self.fault(
                f"{position.path[-1]} is {show(text)}",
                position,
                allowed=", ".join(names),
                cure=f"Did you mean '{near}'?" if near else "Write one of these words",
            )
        return found

    def quantity(
        self, value: object, kind: Kind, position: Position, default_unit: str | None = None
    ) -> Quantity:
        """Read one quantity.

        Parameters
        ----------
        value : object
            A text, or a bare number.
        kind : Kind
            Kind of quantity.
        position : Position
            Where it stands.
        default_unit : str, optional
            Unit of a bare number.

        Returns
        -------
        Quantity
            The quantity, exact.

        Raises
        ------
        QuantityError, ReadingError
            If it is not one clear quantity of this kind, or uses the other decimal mark than the rest of the
            file.
        """
        if isinstance(value, str):
            text = value
            self._see_mark(value, position)
        else:
            number = number_text(value)
            if number is None:
                raise self._no_quantity(value, position)
            text = number
        try:
            return parse_quantity(text, kind, default_unit=default_unit)
        except QuantityError as error:
            self.reraise(error, position)

    def _no_quantity(self, value: object, position: Position) -> ReadingError:
        cure = 'Write number and unit in quotation marks, such as "1.40 mm"'
        if isinstance(value, date | time):
            cure = (
                "A spreadsheet may have turned '1/16' into a date: format the cell as text and type it again"
            )
        return self.fault(
            f"{position.label or position.path[-1]} is {show(value)}",
            position,
            allowed="a number with its unit",
            cure=cure,
        )

    def _see_mark(self, text: str, position: Position) -> None:
        """Refuse decimal points beside decimal commas: in such a file one of them is a slip."""
        if isinstance(text, ShownNumber):
            return
        for mark in _MARK.findall(text):
            if mark not in self._marks:
                self._marks[mark] = (text, self.place_in_file(position))
            other = self._marks.get("," if mark == "." else ".")
            if other is not None:
                raise self.fault(
                    f"{show(text)} has a {_MARK_NAMES[mark]}, but {show(other[0])} ({other[1]}) does not",
                    position,
                    allowed="one decimal mark in the whole file, point or comma",
                    cure="Write them all alike, after a look at which one is the slip",
                )
