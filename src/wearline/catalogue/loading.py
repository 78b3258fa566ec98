"""The catalogue as a whole: every part is read when it is first asked for, and once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import lru_cache
from hashlib import sha256

from wearline.catalogue.check_model import Check, Consequence, Measure, Part, State
from wearline.catalogue.documents import nearest
from wearline.catalogue.load_checks import load_check_list, load_consequences, load_parts
from wearline.catalogue.load_fields import load_fields, load_measures, load_sources
from wearline.catalogue.load_limits import load_designs, load_limits
from wearline.catalogue.load_rules import PACK_IDS, load_pack
from wearline.catalogue.load_work import load_work
from wearline.catalogue.maker_file import MakerFile, with_dimensions
from wearline.catalogue.model import Design, FieldSpec, Limit, Source
from wearline.catalogue.rule_model import RulePack
from wearline.catalogue.work_model import Work
from wearline.errors import CatalogueError

__all__ = ["Catalogue", "data_digest", "load_catalogue"]


@dataclass(frozen=True, slots=True, eq=False)
class Catalogue:
    """Fields, limits, checks, designs, rules and work. Make it with ``load_catalogue``.

    Parameters
    ----------
    maker_files : tuple of MakerFile, optional
        Maker's files that replace limits and dimensions.
    """

    maker_files: tuple[MakerFile, ...] = ()

    def with_maker_files(self, files: Iterable[MakerFile]) -> Catalogue:
        """Return a catalogue in which maker's files hold too.

        Parameters
        ----------
        files : iterable of MakerFile
            Files as checked by ``check_maker_file``.

        Returns
        -------
        Catalogue
            A new catalogue; this one stays as it is.

        Raises
        ------
        CatalogueError
            If two files give different values from the same day on, or the same design twice.
        """
        together = (*self.maker_files, *files)
        _refuse_conflicts(together)
        return Catalogue(tuple(sorted(together, key=lambda file: file.valid_from)))

    @property
    def version(self) -> str:
        """SHA-256 over all data files and maker's files, to keep beside a result."""
        return sha256(
            "".join((data_digest(), *(file.digest for file in self.maker_files))).encode()
        ).hexdigest()

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
        """Brake designs by id, those that maker's files add among them."""
        return _designs(self)

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

    def design(self, design_id: str, on: date | None = None) -> Design:
        """Return one brake design.

        Parameters
        ----------
        design_id : str
            Its id.
        on : date, optional
            Day of the readings: dimensions of maker's files in force on it are put in. Without it the design
            is given as it ships, or as the file that adds it defines it.

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
        if design_id in designs and on is not None:
            return with_dimensions(designs[design_id], _in_force(self, design_id, on))
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
        return _limits_for(self, design_id, on)


def _in_force(catalogue: Catalogue, design_id: str, on: date) -> list[MakerFile]:
    return [file for file in catalogue.maker_files if file.in_force(design_id, on)]


@lru_cache(maxsize=8)
def _designs(catalogue: Catalogue) -> Mapping[str, Design]:
    shipped = load_designs()
    own = {}
    for file in catalogue.maker_files:
        if file.own_design is not None:
            base = replace(shipped[file.own_design.like], id=file.own_design.id, title=file.own_design.title)
            own[base.id] = replace(with_dimensions(base, [file]), limits=base.limits)
    return {**shipped, **own}


@lru_cache(maxsize=256)
def _limits_for(catalogue: Catalogue, design_id: str, on: date) -> Mapping[str, Limit]:
    design = catalogue.design(design_id)
    limits = dict(catalogue.default_limits)
    limits.update(design.limits)
    for file in _in_force(catalogue, design_id, on):
        limits.update(file.limits)
    return limits


def _refuse_conflicts(files: tuple[MakerFile, ...]) -> None:
    """Two files that begin on the same day must not say different things of the same limit or design."""
    said: dict[tuple[str, str, date], tuple[Fraction, str]] = {}
    for file in files:
        numbers = {name: limit.exact for name, limit in file.limits.items()}
        numbers |= {name: number.exact for name, number in file.dimensions.items()}
        for design in file.designs:
            for name, exact in numbers.items():
                before, other = said.setdefault((design, name, file.valid_from), (exact, file.name))
                if before != exact:
                    raise CatalogueError(
                        f"'{name}' of '{design}' has another value in {other} from the same day",
                        where=file.name,
                        allowed="one value for each limit and day",
                        cure="Give the later document the later valid_from, or leave one out",
                    )
    own = [(file.own_design.id, file.name) for file in files if file.own_design is not None]
    for design_id, name in own:
        if [each for each, _ in own].count(design_id) > 1:
            raise CatalogueError(
                f"the design '{design_id}' is defined by two files",
                where=name,
                allowed="one file that defines a design; others may name it under designs",
                cure="Rename one of the two",
            )


@lru_cache(maxsize=1)
def data_digest() -> str:
    """Return the digest of all data files that ship with the package.

    Returns
    -------
    str
        SHA-256, hexadecimal.
    """
    from importlib.resources import files

    digest = sha256()
    folder = files("wearline.catalogue").joinpath("data")
    for part in (folder, *(folder.joinpath(name) for name in ("causes", "designs", "packs"))):
        for entry in sorted(part.iterdir(), key=lambda item: item.name):
            if entry.name.endswith(".toml"):
                digest.update(entry.name.encode())
                digest.update(entry.read_bytes())
    return digest.hexdigest()


@lru_cache(maxsize=1)
def load_catalogue() -> Catalogue:
    """Return the catalogue that ships with the package.

    Returns
    -------
    Catalogue
        The same object at every call.
    """
    return Catalogue()
