"""Where the web app listens, and what follows from that."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from urllib.parse import urlsplit

from wearline.app.drill_book import DEFAULT_FOLDER
from wearline.errors import InputError

__all__ = ["ServeConfig", "is_loopback"]

_LOCAL_NAMES = ("localhost", "127.0.0.1", "[::1]", "::1")


def is_loopback(host: str) -> bool:
    """Return whether only this computer can reach an address.

    Parameters
    ----------
    host : str
        Name or address.

    Returns
    -------
    bool
        True for ``localhost`` and the loopback addresses.
    """
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


@dataclass(frozen=True, slots=True)
class ServeConfig:
    """How the web app is served.

    Parameters
    ----------
    database : str
        File or address of the database.
    host : str
        Address on which it listens.
    port : int
        Port, 0 to 65535.
    public_url : str
        Address under which a reverse proxy shows it, as ``https://shop.example``; empty without one.
    secure : bool
        Whether the program itself speaks HTTPS.
    beside : bool
        Whether long work is done in processes of its own, so that no page waits for it.
    drills : str
        Folder of the drills, the same as that of the command.
    """

    database: str
    host: str = "127.0.0.1"
    port: int = 8642
    public_url: str = ""
    secure: bool = False
    beside: bool = False
    drills: str = str(DEFAULT_FOLDER)

    def __post_init__(self) -> None:
        if not 0 <= self.port <= 65535:
            raise InputError(f"{self.port} is not a port", where="--port", allowed="0 to 65535")
        if self.public_url:
            parts = urlsplit(self.public_url)
            if parts.scheme not in ("http", "https") or not parts.hostname or parts.path.strip("/"):
                raise InputError(
                    f"'{self.public_url}' is not an address under which people open the pages",
                    where="--public-url",
                    allowed="https://NAME or https://NAME:PORT without a path",
                    cure="Write it as it stands in the browser",
                )

    @property
    def needs_login(self) -> bool:
        """Whether a person must log in: wherever anybody but this computer may reach it."""
        return bool(self.public_url) or not is_loopback(self.host)

    @property
    def is_secure(self) -> bool:
        """Whether people reach it over HTTPS, so that cookies must never travel in the clear."""
        return self.secure or self.public_url.startswith("https://")

    def allows_host(self, host: str) -> bool:
        """Return whether a request may name this host.

        Parameters
        ----------
        host : str
            Header ``Host``.

        Returns
        -------
        bool
            A foreign name on loopback is a page that points its own name at this computer: refused.
        """
        name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
        if self.public_url:
            return host.lower() == urlsplit(self.public_url).netloc.lower()
        if is_loopback(self.host):
            return name.lower() in _LOCAL_NAMES
        return bool(host)

    def allows_origin(self, origin: str, host: str) -> bool:
        """Return whether a request may come from a page of this origin.

        Parameters
        ----------
        origin : str
            Header ``Origin``.
        host : str
            Header ``Host``.

        Returns
        -------
        bool
            True for pages of this web app only.
        """
        if self.public_url:
            return origin.lower() == self.public_url.rstrip("/").lower()
        scheme = "https" if self.secure else "http"
        return origin.lower() == f"{scheme}://{host}".lower()
