"""Hidden causes: what a person who builds a case says, and what each cause does to the parts.

The table of causes stands in ``data/causes.toml``. It changes mechanical quantities (clearances, forces,
torques, friction) and breaks visible parts; what a gauge then shows follows from the mechanisms alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal, TypeAlias

from wearline.errors import CatalogueError, ReadingError
from wearline.practice.numbers import STATUSES, Table, read_table, scaled

__all__ = ["VEHICLE", "Cause", "Effect", "Fault", "Sign", "Truth", "cause_of", "load_causes"]

VEHICLE = "vehicle"
"""Where a cause of the whole vehicle stands in a truth."""

How = Literal["add", "times", "at least", "at most"]
_HOW: tuple[How, ...] = ("add", "times", "at least", "at most")
_SCOPES = ("wheel end", "axle", "vehicle")


@dataclass(frozen=True, slots=True)
class Fault:
    """One hidden cause as a case names it.

    Parameters
    ----------
    code : str
        Cause code, ``"G1"`` to ``"U5"``.
    severity : float, [1], above 0 to 1, optional
        0 hardly begun, 0.5 as usually found, 1 as bad as the trade sees.
    variant : str, optional
        Kind of the same cause, as ``"outer"`` for a stuck pad; empty: drawn.
    ago : float or None, [m], 0 or more, optional
        Distance run since it began; None: as far back as is usual when it is found.

    Raises
    ------
    ReadingError
        If severity or distance is outside its range.
    """

    code: str
    severity: float = 0.5
    variant: str = ""
    ago: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 < self.severity <= 1.0:
            raise ReadingError(
                f"the severity of {self.code} is {self.severity:g}",
                allowed="above 0 to 1",
                cure="0.5 is the size at which the cause is usually found",
            )
        if self.ago is not None and not 0.0 <= self.ago < float("inf"):
            raise ReadingError(
                f"{self.code} began {self.ago:g} m ago",
                allowed="0 m or more",
                cure="Give the distance run since it began, in metres",
            )


Truth: TypeAlias = Mapping[str, tuple[Fault, ...]]
"""Hidden causes by place: a wheel end ``"1L"``, an axle ``"1"`` or ``"vehicle"``."""


@dataclass(frozen=True, slots=True)
class Effect:
    """One mechanical quantity that a cause changes.

    Parameters
    ----------
    quantity : str
        Name of the quantity, see ``wearline.practice.conditions``.
    how : {"add", "times", "at least", "at most"}
        How the value meets what is there.
    mild, severe : float
        Value at severity 0 and 1 [SI unit].
    variant : str
        Variant it belongs to; empty for all.
    """

    quantity: str
    how: How
    mild: float
    severe: float
    variant: str


@dataclass(frozen=True, slots=True)
class Sign:
    """A visibly broken part.

    Parameters
    ----------
    field : str
        Field of the inspection file.
    words : mapping of str to float
        Word to its chance; what is left over shows nothing.
    variant : str
        Variant it belongs to; empty for all.
    early : bool
        True when it is there from the first day, False when it comes with half of the full size.
    """

    field: str
    words: Mapping[str, float]
    variant: str
    early: bool


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause of the table.

    Parameters
    ----------
    code, name : str
        Code and words.
    scopes : tuple of str
        Where it may sit: ``"wheel end"``, ``"axle"``, ``"vehicle"``.
    variants : mapping of str to float
        Kinds of the cause and the share of each; empty where there is one kind.
    worn_since : mapping of str to float, [m]
        Friction worn at the fastest pad since it began, by variant, "" for all; 0 where one of the next two
        rules holds.
    ago : float or None, [m]
        Distance since it began.
    whole_life : bool
        True when it is there since the pads were new.
    fresh : float or None, [m]
        Usual distance since the pads were new, for faults that show at once.
    ramp : float, [1]
        Share of its history over which it grew to full size.
    repairs : tuple of str
        Work that removes it.
    effects : tuple of Effect
        Mechanical quantities that it changes.
    signs : tuple of Sign
        Parts that are visibly broken.
    """

    code: str
    name: str
    scopes: tuple[str, ...]
    variants: Mapping[str, float]
    worn_since: Mapping[str, float]
    ago: float | None
    whole_life: bool
    fresh: float | None
    ramp: float
    repairs: tuple[str, ...]
    effects: tuple[Effect, ...]
    signs: tuple[Sign, ...]

    def check(self, fault: Fault, scope: str, where: str) -> None:
        """Refuse a fault that this cause cannot be.

        Parameters
        ----------
        fault : Fault
            The fault.
        scope : str
            ``"wheel end"``, ``"axle"`` or ``"vehicle"``.
        where : str
            Place, for the message.

        Raises
        ------
        ReadingError
            If the cause does not sit there or has no such variant.
        """
        if scope not in self.scopes:
            raise ReadingError(
                f"{self.code} ({self.name}) cannot be a cause of a {scope}",
                where=where,
                allowed=" or ".join(self.scopes),
                cure="Name a wheel end as '1L', an axle as '1', or 'vehicle'",
            )
        if fault.variant and fault.variant not in self.variants:
            raise ReadingError(
                f"{self.code} has no variant {fault.variant!r}",
                where=where,
                allowed=", ".join(self.variants) or "no variant",
                cure="Leave the variant empty to have it drawn",
            )


def _effect(entry: Table, status: str, where: str) -> Effect:
    if entry.get("how") not in _HOW or entry.get("status", status) not in STATUSES:
        raise CatalogueError(
            f"an effect on {entry.get('on')!r} is not understood",
            where=where,
            allowed=f"how = {', '.join(_HOW)}; status = {', '.join(STATUSES)}",
            cure="Correct the line",
        )
    unit = str(entry["unit"])
    return Effect(
        quantity=str(entry["on"]),
        how=entry["how"],
        mild=scaled(float(entry["mild"]), unit, where),
        severe=scaled(float(entry["severe"]), unit, where),
        variant=str(entry.get("variant", "")),
    )


def _sign(entry: Table) -> Sign:
    return Sign(
        field=str(entry["field"]),
        words={str(word): float(chance) for word, chance in entry["words"].items()},
        variant=str(entry.get("variant", "")),
        early=bool(entry.get("early", False)),
    )


def _by_variant(entry: Table | float) -> Mapping[str, float]:
    given = entry if isinstance(entry, Mapping) else {"": entry}
    return {str(variant): float(number) * 1e-3 for variant, number in given.items()}


def _cause(code: str, table: Table, status: str) -> Cause:
    where = f"causes.toml, {code}"
    ago, fresh = table.get("ago_km"), table.get("fresh_km")
    return Cause(
        code=code,
        name=str(table["name"]),
        scopes=tuple(str(scope) for scope in table["scopes"] if scope in _SCOPES),
        variants={str(name): float(share) for name, share in table.get("variants", {}).items()},
        worn_since=_by_variant(table.get("worn_since_mm", 0.0)),
        ago=None if ago is None else float(ago) * 1e3,
        whole_life=table.get("history") == "life",
        fresh=None if fresh is None else float(fresh) * 1e3,
        ramp=float(table["ramp"]),
        repairs=tuple(str(work) for work in table["repairs"]),
        effects=tuple(_effect(entry, status, where) for entry in table["effects"]),
        signs=tuple(_sign(entry) for entry in table.get("signs", ())),
    )


@cache
def load_causes() -> Mapping[str, Cause]:
    """Return the table of causes.

    Returns
    -------
    mapping of str to Cause
        Code to cause, in the order of the groups; read once.

    Raises
    ------
    CatalogueError
        If the data file is damaged.
    """
    document = read_table("causes.toml")
    status = str(document["default"]["status"])
    return {str(code): _cause(str(code), table, status) for code, table in document["cause"].items()}


def cause_of(code: str) -> Cause:
    """Return one cause of the table.

    Parameters
    ----------
    code : str
        Cause code.

    Returns
    -------
    Cause
        The cause.

    Raises
    ------
    ReadingError
        If there is no such code.
    """
    causes = load_causes()
    if code not in causes:
        raise ReadingError(
            f"{code!r} is no cause code",
            allowed=", ".join(causes),
            cure="Use one of these codes",
        )
    return causes[code]
