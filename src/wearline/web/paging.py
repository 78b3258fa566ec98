"""Long lists: searched, ordered and cut into parts by the server, so that they work without any script."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar
from urllib.parse import urlencode

__all__ = ["Paging", "chosen_order", "number_of", "paged"]

_Row = TypeVar("_Row")


@dataclass(frozen=True, slots=True)
class Paging:
    """Which part of a list is shown.

    Parameters
    ----------
    q : str
        Words searched for.
    sort : str
        By what it is ordered.
    descending : bool
        The greatest first.
    page, pages : int
        Part, from 1, and how many there are.
    total : int
        Rows in all parts.
    kept : mapping of str to str
        What else stands in the address.
    """

    q: str
    sort: str
    descending: bool
    page: int
    pages: int
    total: int
    kept: Mapping[str, str]

    def to_page(self, page: int) -> str:
        """Return the address of another part.

        Parameters
        ----------
        page : int
            Part, from 1.

        Returns
        -------
        str
            What stands behind the question mark.
        """
        return "?" + urlencode(self._address(self.sort, self.descending) | {"page": str(page)})

    def by(self, sort: str) -> str:
        """Return the address of the same list in another order; the same order is turned round.

        Parameters
        ----------
        sort : str
            By what.

        Returns
        -------
        str
            What stands behind the question mark.
        """
        return "?" + urlencode(self._address(sort, not self.descending if sort == self.sort else False))

    def _address(self, sort: str, descending: bool) -> dict[str, str]:
        found = {**self.kept, "sort": sort, "dir": "down" if descending else "up"}
        return found | ({"q": self.q} if self.q else {})

    def order_of(self, sort: str) -> str:
        """Return how a column is ordered, in the words of the accessibility standard.

        Parameters
        ----------
        sort : str
            The column.

        Returns
        -------
        str
            ``"ascending"``, ``"descending"`` or ``"none"`` (WAI-ARIA 1.2, aria-sort).
        """
        if sort != self.sort:
            return "none"
        return "descending" if self.descending else "ascending"


def number_of(card: Mapping[str, Any] | None, name: str, missing: float = 1e12) -> float:
    """Return a number of a summary, for ordering.

    Parameters
    ----------
    card : mapping or None
        The summary.
    name : str
        Which number.
    missing : float
        Stands where there is none.

    Returns
    -------
    float
        The number.
    """
    value = None if card is None else card.get(name)
    return missing if value is None else float(value)


def chosen_order(
    query: Mapping[str, str], orders: Mapping[str, Any], first: tuple[str, bool]
) -> tuple[str, bool]:
    """Return in which order a list is asked for.

    Parameters
    ----------
    query : mapping of str to str
        ``sort`` and ``dir`` of the address.
    orders : mapping
        Orders that there are.
    first : (str, bool)
        Order at first, and whether the greatest stands first.

    Returns
    -------
    str, bool
        Name of the order, and whether the greatest stands first.
    """
    sort = query.get("sort", "")
    return (sort, query.get("dir", "") == "down") if sort in orders else first


def paged(
    rows: Sequence[_Row],
    query: Mapping[str, str],
    orders: Mapping[str, Callable[[_Row], Any]],
    text: Callable[[_Row], str],
    *,
    first: tuple[str, bool],
    per_page: int,
    in_order: bool = False,
) -> tuple[list[_Row], Paging]:
    """Search, order and cut a list.

    Parameters
    ----------
    rows : sequence
        All rows.
    query : mapping of str to str
        ``q``, ``sort``, ``dir`` and ``page`` of the address.
    orders : mapping of str to callable
        What a row is ordered by, by name.
    text : callable
        In which words of a row are searched.
    first : (str, bool)
        Order at first, and whether the greatest stands first.
    per_page : int
        Rows in a part.
    in_order : bool
        Whether the rows stand in the order asked for already, the smallest first.

    Returns
    -------
    list, Paging
        The rows to show, and which they are.
    """
    q = query.get("q", "").strip()[:100]
    found = list(rows)
    for word in q.casefold().split()[:10]:
        found = [row for row in found if word in text(row).casefold()]
    sort, descending = chosen_order(query, orders, first)
    if not in_order:
        found.sort(key=orders[sort], reverse=descending)
    elif descending:
        found.reverse()
    pages = max(1, -(-len(found) // per_page))
    wanted = query.get("page", "1")
    page = min(max(1, int(wanted)), pages) if wanted.isascii() and wanted.isdigit() else 1
    kept = {key: value for key, value in query.items() if key not in ("q", "sort", "dir", "page")}
    start = (page - 1) * per_page
    return found[start : start + per_page], Paging(q, sort, descending, page, pages, len(found), kept)
