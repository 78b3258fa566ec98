"""How each shipped data file is read, so that tests can feed the same reader a damaged copy."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from copy import deepcopy
from typing import Any

from wearline.catalogue.documents import read_document
from wearline.catalogue.load_checks import (
    condition_vocabulary,
    load_check_list,
    read_check_list,
    read_consequences,
    read_parts,
)
from wearline.catalogue.load_fields import (
    field_kinds,
    load_fields,
    load_measures,
    load_sources,
    read_fields,
    read_measures,
    read_sources,
)
from wearline.catalogue.load_limits import DESIGN_FILES, load_limits, read_design, read_limits
from wearline.catalogue.load_rules import PACK_IDS, pack_vocabulary, read_pack
from wearline.catalogue.load_work import read_work

Document = dict[str, Any]


def kinds() -> dict[str, Any]:
    return field_kinds(load_fields(), load_measures())


def _design_reader(file: str) -> Callable[[Mapping[str, object]], object]:
    return lambda document: read_design(document, load_sources(), load_limits(), kinds(), file)


def _pack_reader(file: str) -> Callable[[Mapping[str, object]], object]:
    return lambda document: read_pack(document, pack_vocabulary(), file)


READERS: dict[str, Callable[[Mapping[str, object]], object]] = {
    "sources.toml": read_sources,
    "fields.toml": lambda document: read_fields(document, load_sources()),
    "measures.toml": lambda document: read_measures(document, load_sources(), load_fields()),
    "limits.toml": lambda document: read_limits(document, load_sources(), kinds()),
    "checks.toml": lambda document: read_check_list(document, load_fields(), load_limits()),
    "parts.toml": lambda document: read_parts(document, load_check_list().checks),
    "consequences.toml": lambda document: read_consequences(
        document, load_sources(), condition_vocabulary(), load_check_list().checks
    ),
    "work.toml": lambda document: read_work(
        document, load_sources(), load_limits(), load_check_list().checks
    ),
    **{file: _design_reader(file) for file in DESIGN_FILES},
    **{f"packs/{pack}.toml": _pack_reader(f"packs/{pack}.toml") for pack in PACK_IDS},
}
"""Reader of every data file of these modules."""


def shipped(file: str) -> Document:
    """A copy of a shipped file that a test may damage."""
    return deepcopy(read_document(file))


def read(file: str, document: Mapping[str, object]) -> object:
    """Read a document as the program reads that file."""
    return READERS[file](document)
