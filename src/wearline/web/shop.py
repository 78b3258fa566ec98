"""What every request needs: the database, the catalogue in force, the settings, the clock."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from threading import Lock
from typing import Any

from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.loading import Catalogue, load_catalogue
from wearline.catalogue.maker_file import MakerFile, check_maker_file
from wearline.storage.events import EventStore
from wearline.storage.journal import AuditRow, JournalStore
from wearline.storage.opening import open_store
from wearline.storage.overviews import OverviewStore
from wearline.storage.people import PeopleStore
from wearline.storage.shelf import ShelfStore
from wearline.uncertainty.conformity import DecisionRule
from wearline.web.config import ServeConfig
from wearline.web.draft_memory import DraftMemory

__all__ = ["Shop", "ShopSettings", "maker_files_of", "safe_name"]

_FRESH = 2.0
"""[s] How long settings and limits are remembered: another process may change them."""

_COALESCE = 60.0
_MAXIMUM_KEYS = 500


@dataclass(frozen=True, slots=True)
class ShopSettings:
    """What the shop has chosen.

    Parameters
    ----------
    shop_name : str
        Shown at the head of every page.
    units : str
        ``"metric"`` or ``"inch"``, for blank sheets and the form.
    decision : str
        ``"guarded"`` or ``"simple"``: how service limits are decided.
    language : str
        Language of the interface.
    scenario : str
        What the data are, where they are invented; empty for the shop's own.
    """

    shop_name: str = ""
    units: str = "metric"
    decision: str = "guarded"
    language: str = "en"
    scenario: str = ""

    @property
    def decision_settings(self) -> DecisionSettings:
        """The decision rules."""
        return DecisionSettings(service=DecisionRule(self.decision))


class Shop:
    """The open database with all that is remembered about it.

    Parameters
    ----------
    config : ServeConfig
        How it is served.
    clock : callable, optional
        Gives the moment in UTC.
    """

    def __init__(self, config: ServeConfig, clock: Callable[[], datetime] | None = None) -> None:
        self.config = config
        self.clock = clock or _now
        self.store = open_store(config.database, busy_timeout=15.0)
        self.events = EventStore(self.store)
        self.drafts = DraftMemory(self.events)
        self.people = PeopleStore(self.store)
        self.journal = JournalStore(self.store)
        self.overview = OverviewStore(self.store)
        self.shelf = ShelfStore(self.store)
        self._lock = Lock()
        self._settings: tuple[float, dict[str, Any]] = (-1e9, {})
        self._catalogue: tuple[float, tuple[str, ...], Catalogue] = (-1e9, (), load_catalogue())
        self._refusals: dict[tuple[str, str, str], list[float]] = {}
        self._secret = self._make_secret()

    def close(self) -> None:
        """Close the database."""
        self.store.close()

    @property
    def now(self) -> datetime:
        """The moment, in UTC."""
        return self.clock()

    @property
    def today(self) -> date:
        """The day where the program runs."""
        return self.clock().astimezone().date()

    def _make_secret(self) -> bytes:
        found = self.journal.settings().get("secret")
        if not isinstance(found, str):
            self.journal.set({"secret": secrets.token_hex(32)}, "program", self.now)
            found = self.journal.settings()["secret"]
        return bytes.fromhex(found)

    def seal(self, text: str) -> str:
        """Return a text that only this shop can make from another.

        Parameters
        ----------
        text : str
            The other.

        Returns
        -------
        str
            HMAC-SHA-256, hexadecimal.
        """
        return hmac.new(self._secret, text.encode(), hashlib.sha256).hexdigest()

    def settings(self) -> ShopSettings:
        """Return the settings; they are read again after two seconds.

        Returns
        -------
        ShopSettings
            The settings.
        """
        with self._lock:
            read_at, values = self._settings
            if time.monotonic() - read_at > _FRESH:
                values = self.journal.settings()
                self._settings = (time.monotonic(), values)
        names = ShopSettings.__dataclass_fields__
        return ShopSettings(**{name: values[name] for name in names if isinstance(values.get(name), str)})

    def save_settings(self, values: dict[str, str], by: str) -> None:
        """Make settings.

        Parameters
        ----------
        values : dict of str
            By name, already checked.
        by : str
            Who.
        """
        self.journal.set(values, by, self.now)
        with self._lock:
            self._settings = (-1e9, {})

    def catalogue(self) -> Catalogue:
        """Return the catalogue with the maker's limits in force.

        Returns
        -------
        Catalogue
            The same object as long as no file is added or withdrawn.
        """
        with self._lock:
            read_at, names, catalogue = self._catalogue
            if time.monotonic() - read_at <= _FRESH:
                return catalogue
            rows = self.shelf.limit_files()
            now = tuple(row.sha256 for row in rows)
            if now != names:
                files = maker_files_of([(row.name, row.text) for row in rows])
                catalogue = load_catalogue().with_maker_files(files) if files else load_catalogue()
            self._catalogue = (time.monotonic(), now, catalogue)
            return catalogue

    def forget(self) -> None:
        """Read settings and limits again at the next question: another process may have changed them."""
        with self._lock:
            self._settings = (-1e9, {})
        self.forget_catalogue()

    def forget_catalogue(self) -> None:
        """Read the files of the maker's limits again at the next question."""
        with self._lock:
            _, names, catalogue = self._catalogue
            self._catalogue = (-1e9, names, catalogue)

    def log(
        self,
        action: str,
        *,
        who: str,
        address: str,
        target: str = "",
        outcome: str = "done",
        detail: str = "",
    ) -> None:
        """Add a line to the audit trail; of many equal refusals within a minute only the first few.

        Parameters
        ----------
        action, target, detail : str
            What was done, to what, and in words.
        who, address : str
            By whom, from where.
        outcome : str
            ``"done"`` or ``"refused"``.
        """
        if outcome == "refused" and self._too_many((action, who, address)):
            return
        row = AuditRow(self.now, who[:200], address[:100], action, target[:300], outcome, detail[:500])
        self.journal.log([row])

    def _too_many(self, key: tuple[str, str, str]) -> bool:
        """A flood of refusals must not fill the disk: ten a minute of each kind say enough."""
        moment = time.monotonic()
        with self._lock:
            if len(self._refusals) > _MAXIMUM_KEYS:
                self._refusals.clear()
            recent = [each for each in self._refusals.get(key, []) if moment - each < _COALESCE]
            self._refusals[key] = [*recent, moment][-10:]
            return len(recent) >= 10


def maker_files_of(texts: list[tuple[str, str]]) -> list[MakerFile]:
    """Check files of the maker's limits from their texts.

    Parameters
    ----------
    texts : list of (str, str)
        Name and text of each.

    Returns
    -------
    list of MakerFile
        Checked, each with the ones before it.

    Raises
    ------
    CatalogueError
        If one is wrong.
    """
    files: list[MakerFile] = []
    with tempfile.TemporaryDirectory(prefix="wearline-") as folder:
        for number, (name, text) in enumerate(texts):
            own = Path(folder) / str(number)
            own.mkdir()
            path = own / safe_name(name, ".toml")
            path.write_text(text, encoding="utf-8")
            files.append(check_maker_file(path, others=files))
    return files


def safe_name(name: str, ending: str) -> str:
    """Return a file name that leads nowhere else.

    Parameters
    ----------
    name : str
        As it was sent.
    ending : str
        The ending it gets.

    Returns
    -------
    str
        Letters, digits, blanks and the signs - _ of it.
    """
    stem = name.replace("\\", "/").rsplit("/", 1)[-1]
    stem = stem[: -len(ending)] if stem.lower().endswith(ending) else stem.rsplit(".", 1)[0]
    kept = "".join(sign for sign in stem if sign.isalnum() or sign in " -_")[:80].strip()
    return (kept or "file") + ending


def _now() -> datetime:
    return datetime.now(UTC)
