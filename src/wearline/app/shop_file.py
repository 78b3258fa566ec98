"""The file of shops, prices and absences, which planning and every question about money share."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from wearline.errors import FileFormatError

__all__ = ["ShopFile", "price_note", "read_shops"]

_PRICES = ("visit", "pad_set", "visit_hours", "rotor_pair", "miss", "pad_sets")
_ALLOWED = (
    "[[shop]] name, hours_per_week; [prices] visit, pad_set, visit_hours, rotor_pair, miss, "
    '[prices.pad_sets] "PART"; [vehicle."ID"] shop, away_weeks'
)


@dataclass(frozen=True, slots=True)
class ShopFile:
    """Shops, prices and absences; every price is an invented default until a file says another.

    Parameters
    ----------
    hours : mapping of str to float, [h]
        Bay hours in a week, by shop.
    home : mapping of str to str
        Shop of each vehicle; the first shop where not said.
    away : mapping of str to frozenset of int
        Weeks from 1 in which a vehicle cannot come.
    visit_cost, pad_set : float
        Money of one visit, and of the pads of an axle with the work.
    visit_hours : float, [h]
        Bay hours of a visit beside the jobs.
    rotor_pair : float
        Money of the two rotors of an axle with the work.
    miss : float
        Money that pads beyond their limit cost, found late: rotors, a breakdown, a fine.
    pad_sets : mapping of str to float
        Money of the pads of an axle with the work by part, as ``pad_part`` of the inspection file names it.
    said : frozenset of str
        Names of the prices that the file says.
    """

    hours: Mapping[str, float] = field(default_factory=lambda: {"shop": 40.0})
    home: Mapping[str, str] = field(default_factory=dict)
    away: Mapping[str, frozenset[int]] = field(default_factory=dict)
    visit_cost: float = 150.0
    pad_set: float = 300.0
    visit_hours: float = 0.5
    rotor_pair: float = 700.0
    miss: float = 1500.0
    pad_sets: Mapping[str, float] = field(default_factory=dict)
    said: frozenset[str] = frozenset()

    def pad_set_of(self, part: str) -> float:
        """Return the money of an axle's pads of one part.

        Parameters
        ----------
        part : str
            Part as the inspection file names it.

        Returns
        -------
        float
            Its own price, or that of any pad set.
        """
        return self.pad_sets.get(part, self.pad_set)


_NAMES = {"visit": "look", "pad_set": "pad set", "rotor_pair": "pair of rotors", "miss": "miss"}


def price_note(shops: ShopFile, names: tuple[str, ...]) -> str:
    """Return which prices an answer rests on, and which of them are invented.

    Parameters
    ----------
    shops : ShopFile
        The prices.
    names : tuple of str
        Those used: ``visit``, ``pad_set``, ``rotor_pair``, ``miss``.

    Returns
    -------
    str
        A sentence or two.
    """
    values = {"visit": shops.visit_cost, "pad_set": shops.pad_set}
    values |= {"rotor_pair": shops.rotor_pair, "miss": shops.miss}
    parts = [f"{_NAMES[name]} {values[name]:g}" for name in names]
    own = [f"{part} {price:g}" for part, price in shops.pad_sets.items() if "pad_set" in names]
    invented = [_NAMES[name] for name in names if name not in shops.said]
    said = f"Prices: {', '.join(parts + own)}."
    if invented:
        said += f" Invented examples until --shops says yours: {', '.join(invented)}."
    return said


def read_shops(path: str | Path) -> ShopFile:
    """Read the file of shops, prices and absences.

    Parameters
    ----------
    path : path
        TOML: ``[[shop]]`` with name and hours_per_week; ``[prices]`` with visit, pad_set, visit_hours,
        rotor_pair, miss and a table pad_sets; ``[vehicle."ID"]`` with shop and away_weeks.

    Returns
    -------
    ShopFile
        As written.

    Raises
    ------
    FileFormatError
        If it cannot be read or says something unknown.
    """
    where = str(path)
    try:
        table = tomllib.loads(Path(path).read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise FileFormatError(
            f"the file of shops cannot be read: {error}", where=where, cure="Write it as TOML"
        ) from error
    try:
        return _shops(table)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise FileFormatError(
            f"the file of shops does not fit: {error}",
            where=where,
            allowed=_ALLOWED,
            cure="Check names and numbers",
        ) from error


def _known(table: Mapping[str, Any], names: tuple[str, ...], of: str) -> None:
    unknown = sorted(set(table) - set(names))
    if unknown:
        raise ValueError(f"'{unknown[0]}' is unknown{of}")


def _price(value: Any, name: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.0 <= value < 1e9:
        raise ValueError(f"{name} is {value!r}, a number from 0 on is wanted")
    return float(value)


def _shops(table: Mapping[str, Any]) -> ShopFile:
    usual = ShopFile()
    _known(table, ("shop", "prices", "vehicle"), "")
    for shop in table.get("shop", []):
        _known(shop, ("name", "hours_per_week"), " in [[shop]]")
    hours = {str(shop["name"]): float(shop["hours_per_week"]) for shop in table.get("shop", [])}
    vehicles: Mapping[str, Mapping[str, Any]] = table.get("vehicle", {})
    for name, each in vehicles.items():
        _known(each, ("shop", "away_weeks"), f' in [vehicle."{name}"]')
    home = {name: str(each["shop"]) for name, each in vehicles.items() if "shop" in each}
    strange = set(home.values()) - set(hours or usual.hours)
    if strange:
        raise ValueError(f"'{sorted(strange)[0]}' is no shop of this file")
    prices: Mapping[str, Any] = table.get("prices", {})
    _known(prices, _PRICES, " in [prices]")
    values = {name: _price(prices[name], name) for name in _PRICES[:-1] if name in prices}
    own = {str(part): _price(price, str(part)) for part, price in prices.get("pad_sets", {}).items()}
    return ShopFile(
        hours or usual.hours,
        home,
        {
            name: frozenset(int(week) for week in each.get("away_weeks", []))
            for name, each in vehicles.items()
        },
        values.get("visit", usual.visit_cost),
        values.get("pad_set", usual.pad_set),
        values.get("visit_hours", usual.visit_hours),
        values.get("rotor_pair", usual.rotor_pair),
        values.get("miss", usual.miss),
        own,
        frozenset(values),
    )
