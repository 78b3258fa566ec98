"""What a finding means for the road: thresholds, defective brakes, levels and a driver's conditions."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

from wearline.errors import CatalogueError
from wearline.units import Kind, parse_quantity

__all__ = [
    "DefectRule",
    "LevelRule",
    "ReleaseRules",
    "Threshold",
    "load_release_rules",
    "release_rules_from",
]

_FILE = "release.toml"


@dataclass(frozen=True, slots=True)
class Threshold:
    """One number that a composite finding rests on.

    Parameters
    ----------
    id : str
        Name.
    value : float
        The number [SI].
    published : str
        As written, with its unit.
    source, status, note : str
        Where it is from, how good it is, what it is for.
    """

    id: str
    value: float
    published: str
    source: str
    status: str
    note: str


@dataclass(frozen=True, slots=True)
class DefectRule:
    """What makes a brake count as defective.

    Parameters
    ----------
    findings : tuple of str
        Any of these.
    text : str
        In words.
    directly : bool
        Whether the reading is compared with the limit as it stands, without the gauge's uncertainty.
    status : str
        Status of the rule.
    """

    findings: tuple[str, ...]
    text: str
    directly: bool
    status: str


@dataclass(frozen=True, slots=True)
class LevelRule:
    """The level that a finding alone asks for.

    Parameters
    ----------
    level : int
        0 to 4.
    findings : tuple of str
        Any of these; ``"*:undecided"`` stands for that of every check.
    text : str
        The reason in words.
    role : str
        Axle role that the finding must be on; empty for any.
    status : str
        Status of the rule.
    """

    level: int
    findings: tuple[str, ...]
    text: str
    role: str
    status: str


@dataclass(frozen=True, slots=True)
class ReleaseRules:
    """Everything in the release file.

    Parameters
    ----------
    thresholds : mapping of str to Threshold
        By id.
    defects : tuple of DefectRule
        House definition of a defective brake.
    levels : tuple of LevelRule
        In the order of the file, gravest first.
    meanings : tuple of str
        The levels 0 to 4 in words.
    conditions : mapping of int to tuple of str
        A driver's conditions by level.
    """

    thresholds: Mapping[str, Threshold]
    defects: tuple[DefectRule, ...]
    levels: tuple[LevelRule, ...]
    meanings: tuple[str, ...]
    conditions: Mapping[int, tuple[str, ...]]

    def number(self, threshold: str) -> float:
        """Return the value of a threshold.

        Parameters
        ----------
        threshold : str
            Its id.

        Returns
        -------
        float
            Value [SI].
        """
        return self.thresholds[threshold].value


_KINDS = {
    "mm": Kind.LENGTH,
    "%": Kind.FRACTION,
    "degC": Kind.TEMPERATURE,
    "K": Kind.TEMPERATURE_DIFFERENCE,
    "km": Kind.DISTANCE,
    "N": Kind.FORCE,
}


@lru_cache(maxsize=1)
def load_release_rules() -> ReleaseRules:
    """Read the release file of the package.

    Returns
    -------
    ReleaseRules
        Its rules.

    Raises
    ------
    CatalogueError
        If the file misses a key or holds a number that cannot be read.
    """
    text = resources.files("wearline.catalogue").joinpath("data", _FILE).read_text(encoding="utf-8")
    return release_rules_from(tomllib.loads(text))


def release_rules_from(document: Mapping[str, Any]) -> ReleaseRules:
    """Build the rules from a parsed file.

    Parameters
    ----------
    document : mapping
        What the TOML reader gave.

    Returns
    -------
    ReleaseRules
        The rules.

    Raises
    ------
    CatalogueError
        If a key is missing, a level is not 0 to 4 or a number cannot be read.
    """
    default = document["default"]
    try:
        return ReleaseRules(
            thresholds={
                name: _threshold(name, entry, default) for name, entry in document["threshold"].items()
            },
            defects=tuple(
                DefectRule(
                    tuple(entry["finding"]),
                    entry["text"],
                    bool(entry.get("directly", False)),
                    entry.get("status", default["status"]),
                )
                for entry in document["defect"]
            ),
            levels=tuple(_level(entry, default["status"]) for entry in document["level"]),
            meanings=tuple(document["meaning"][str(level)] for level in range(5)),
            conditions={int(level): tuple(texts) for level, texts in document["conditions"].items()},
        )
    except KeyError as error:
        raise CatalogueError(
            f"the key {error} is missing", where=_FILE, allowed="all keys of the shipped file", cure="Add it"
        ) from error


def _threshold(name: str, entry: Mapping[str, str], default: Mapping[str, str]) -> Threshold:
    published = entry["published"]
    _, _, unit = published.partition(" ")
    if unit and unit not in _KINDS:
        raise CatalogueError(
            f"'{published}' has a unit that thresholds do not use",
            where=f"{_FILE}, threshold {name}",
            allowed=", ".join(_KINDS) + ", or a bare number",
            cure="Write the number in one of these units",
        )
    return Threshold(
        id=name,
        value=parse_quantity(published, _KINDS[unit]).value if unit else float(published),
        published=published,
        source=entry.get("source", default["source"]),
        status=entry.get("status", default["status"]),
        note=entry.get("note", ""),
    )


def _level(entry: Mapping[str, Any], status: str) -> LevelRule:
    level = entry["level"]
    if level not in range(5):
        raise CatalogueError(
            f"level {level!r} does not exist",
            where=_FILE,
            allowed="0 to 4",
            cure="Write the level that the finding alone asks for",
        )
    return LevelRule(
        level, tuple(entry["finding"]), entry["text"], entry.get("where", ""), entry.get("status", status)
    )
