"""The catalogue as a whole: every part is read when it is first asked for, and once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from wearline.catalogue.check_model import Check, Consequence, Measure, Part, State
from wearline.catalogue.documents import nearest
from wearline.catalogue.load_checks import load_check_list, load_consequences, load_parts
from wearline.catalogue.load_fields import load_fields, load_measures, load_sources
from wearline.catalogue.load_limits import load_designs, load_limits
from wearline.catalogue.load_rules import PACK_IDS, load_pack
from wearline.catalogue.load_work import load_work
from wearline.catalogue.model import Design, FieldSpec, Limit, Source
from wearline.catalogue.rule_model import RulePack
from wearline.catalogue.work_model import Work
from wearline.errors import CatalogueError

__all__ = ["Catalogue", "load_catalogue"]


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Fields, limits, checks, designs, rules and work. Make it with ``load_catalogue``."""

    @property
    def sources(self) -> Mapping[str, Source]:
        """Sources by key."""
        return load_sources()

    @property
    def fields(self) -> Mapping[str, FieldSpec]:
        """Fields of the inspection file by name, in the order of the file."""
        return load_fields()

    @property
    def measures(self) -> Mapping[str, Measure]:
        """What is computed from the fields, by id."""
        return load_measures()

    @property
    def default_limits(self) -> Mapping[str, Limit]:
        """Limits before any design or maker's file."""
        return load_limits()

    @property
    def designs(self) -> Mapping[str, Design]:
        """Brake designs by id."""
        return load_designs()

    @property
    def states(self) -> Mapping[str, State]:
        """States of a check by letter."""
        return load_check_list().states

    @property
    def checks(self) -> Mapping[str, Check]:
        """Checks by id, in the order of the inspection."""
        return load_check_list().checks

    @property
    def consequences(self) -> Mapping[str, Consequence]:
        """What one finding means for the other checks, by id."""
        return load_consequences()

    @property
    def parts(self) -> Mapping[str, Part]:
        """Parts of the brake by id."""
        return load_parts()

    @property
    def work(self) -> Work:
        """The complete job: cautions, steps with gates, situations, proof, records and hours."""
        return load_work()

    @property
    def packs(self) -> Mapping[str, RulePack]:
        """Rule packs by id."""
        return {pack_id: load_pack(pack_id) for pack_id in PACK_IDS}

    def pack(self, pack_id: str) -> RulePack:
        """Return one rule pack.

        Parameters
        ----------
        pack_id : str
            Its id.

        Returns
        -------
        RulePack
            The pack.

        Raises
        ------
        CatalogueError
            If there is none of that id, naming the nearest.
        """
        return load_pack(pack_id)

    def design(self, design_id: str) -> Design:
        """Return one brake design.

        Parameters
        ----------
        design_id : str
            Its id.

        Returns
        -------
        Design
            The design.

        Raises
        ------
        CatalogueError
            If there is none of that id, naming the nearest.
        """
        designs = self.designs
        if design_id not in designs:
            raise CatalogueError(
                f"there is no brake design '{design_id}'",
                where="design",
                allowed=", ".join(designs),
                cure=nearest(design_id, designs),
            )
        return designs[design_id]

    def limits_for(self, design_id: str, on: date) -> Mapping[str, Limit]:
        """Return the limits in force for a design on a day.

        Parameters
        ----------
        design_id : str
            Id of the design.
        on : date
            Day of the readings.

        Returns
        -------
        mapping of str to Limit
            By id, in the order of the default limits; the first limit of a field that decides is its service
            limit.

        Raises
        ------
        CatalogueError
            If there is no design of that id.
        """
        del on
        return {**self.default_limits, **self.design(design_id).limits}


@lru_cache(maxsize=1)
def load_catalogue() -> Catalogue:
    """Return the catalogue that ships with the package.

    Returns
    -------
    Catalogue
        The same object at every call.
    """
    return Catalogue()
