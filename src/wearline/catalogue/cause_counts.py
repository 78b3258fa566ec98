"""Works a fleet's own counts into the network of causes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from wearline.catalogue.cause_model import BETA_CASES, Cause, CauseNetwork, Symptom, WordNode
from wearline.catalogue.documents import nearest
from wearline.errors import CatalogueError

__all__ = ["with_fleet_counts"]

_COLUMNS = ("cause", "symptom", "present", "cases")
_HEAD_CURE = "Write these four names, separated by commas, in the first line"


def with_fleet_counts(network: CauseNetwork, path: str | Path) -> CauseNetwork:
    """Return a network in which a fleet's own counts are worked in.

    Parameters
    ----------
    network : CauseNetwork
        The network.
    path : str or Path
        CSV file with the columns cause, symptom, present, cases: of ``cases`` wheel ends with this cause
        alone, ``present`` showed the symptom. Symptom ``prior``: of ``cases`` wheel ends looked at,
        ``present`` had the cause. Cause ``leak``: of ``cases`` sound wheel ends, ``present`` showed it.

    Returns
    -------
    CauseNetwork
        A new network.

    Raises
    ------
    CatalogueError
        If a column, code or count is wrong, with file and line.

    Notes
    -----
    Each chance is the mean of a Beta distribution whose prior is worth ``BETA_CASES`` cases:
    q = (20 q0 + present) / (20 + cases).
    """
    file = Path(path).name
    causes, symptoms = dict(network.causes), dict(network.symptoms)
    for line, row in _rows(path, file):
        _count(row, f"{file}, line {line}", causes, symptoms)
    words = {id: _counted_word(node, network, symptoms) for id, node in network.words.items()}
    return replace(network, causes=causes, symptoms=symptoms, words=words, counted_from=file)


def _counted_word(node: WordNode, network: CauseNetwork, symptoms: Mapping[str, Symptom]) -> WordNode:
    """A seen node with the chances of its symptom that were counted."""
    if not node.symptom:
        return node
    shipped, counted = network.symptoms[node.symptom], symptoms[node.symptom]
    changed = {code: chance for code, chance in counted.chance.items() if chance != shipped.chance.get(code)}
    leak = node.leak if counted.leak == shipped.leak else counted.leak
    return replace(node, leak=leak, chance={**node.chance, **changed})


def _rows(path: str | Path, file: str) -> list[tuple[int, dict[str, str]]]:
    """Lines of the file with their number, by column."""
    import csv

    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise CatalogueError(f"the file of counts cannot be read: {error}", where=file) from error
    rows = list(csv.reader(text.splitlines()))
    head = [name.strip() for name in rows[0]] if rows else []
    wrong = [(name, "is not known", nearest(name, _COLUMNS)) for name in head if name not in _COLUMNS]
    wrong += [(name, "is missing", _HEAD_CURE) for name in _COLUMNS if name not in head]
    for name, what, cure in wrong:
        raise CatalogueError(
            f"the column '{name}' {what}", where=f"{file}, line 1", allowed=", ".join(_COLUMNS), cure=cure
        )
    return [
        (line, dict(zip(head, (cell.strip() for cell in row), strict=False)))
        for line, row in enumerate(rows[1:], start=2)
        if any(cell.strip() for cell in row)
    ]


def _count(
    row: Mapping[str, str], where: str, causes: dict[str, Cause], symptoms: dict[str, Symptom]
) -> None:
    code, symptom = row.get("cause", ""), row.get("symptom", "")
    if code not in causes and code != "leak":
        raise CatalogueError(f"'{code}' is no cause", where=where, cure=nearest(code, (*causes, "leak")))
    if symptom not in symptoms and (symptom != "prior" or code == "leak"):
        raise CatalogueError(
            f"'{symptom}' is no symptom", where=where, cure=nearest(symptom, (*symptoms, "prior"))
        )
    counts = []
    for name in ("present", "cases"):
        text = row.get(name, "")
        if not text.isdecimal():
            raise CatalogueError(
                f"{name} is '{text}'",
                where=where,
                allowed="a whole number, 0 or more",
                cure="Count wheel ends",
            )
        counts.append(int(text))
    present, cases = counts
    if present > cases:
        raise CatalogueError(
            f"{present} of {cases} cases are present, a chance outside 0 to 1",
            where=where,
            allowed="present at most as many as cases",
            cure="Are the two columns exchanged?",
        )

    def updated(chance: float) -> float:
        return (BETA_CASES * chance + present) / (BETA_CASES + cases)

    if symptom == "prior":
        causes[code] = replace(causes[code], prior=updated(causes[code].prior))
    elif code == "leak":
        symptoms[symptom] = replace(symptoms[symptom], leak=updated(symptoms[symptom].leak))
    else:
        of = symptoms[symptom]
        chance = {**of.chance, code: updated(of.chance.get(code, 0.0))}
        symptoms[symptom] = replace(of, chance=chance)
