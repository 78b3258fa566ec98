"""Who is asking: a person logged in, a program with a token, or whoever sits at this computer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from starlette.requests import Request

from wearline.storage.people import ROLES, Account
from wearline.web.passwords import fingerprint, new_secret, password_fits
from wearline.web.refusals import Refusal
from wearline.web.shop import Shop

__all__ = ["LOCAL", "Person", "address_of", "begin_session", "cookie_name", "identify", "log_in", "require"]

SESSION_IDLE = timedelta(hours=12)
SESSION_LONGEST = timedelta(days=7)
_SEEN_EVERY = timedelta(minutes=10)
_WINDOW = timedelta(minutes=15)
_TRIES_OF_NAME = 5
_TRIES_OF_ADDRESS = 30


@dataclass(frozen=True, slots=True)
class Person:
    """Who is asking.

    Parameters
    ----------
    name : str
        Account; ``"this computer"`` where no login is needed.
    shown_name, qualification : str
        As they stand under an inspection.
    roles : frozenset of str
        What the person may do.
    way : str
        ``"loopback"``, ``"session"`` or ``"token"``.
    csrf : str
        What a form of this person must carry; empty for a token.
    """

    name: str
    shown_name: str
    qualification: str
    roles: frozenset[str]
    way: str
    csrf: str = ""

    def may(self, role: str) -> bool:
        """Return whether the person may do something.

        Parameters
        ----------
        role : str
            Of ``ROLES``.

        Returns
        -------
        bool
            Whoever has an account reads.
        """
        return role == "reads" or role in self.roles


LOCAL = "this computer"
"""Name in the audit trail of whoever sits at a computer that asks for no password."""


def cookie_name(shop: Shop) -> str:
    """Return the name of the session's cookie.

    Parameters
    ----------
    shop : Shop
        Whether it is reached over HTTPS.

    Returns
    -------
    str
        With the prefix that binds it to this host where HTTPS allows it (RFC 6265bis, section 4.1.3).
    """
    return "__Host-wearline" if shop.config.is_secure else "wearline_session"


def address_of(request: Request, shop: Shop) -> str:
    """Return from where a request comes.

    Parameters
    ----------
    request : Request
        The request.
    shop : Shop
        Whether a proxy stands before it.

    Returns
    -------
    str
        Address; behind a proxy the one that the proxy names last.
    """
    if shop.config.public_url:
        named = request.headers.get("x-forwarded-for", "").rsplit(",", 1)[-1].strip()
        if named:
            return named[:100]
    return request.client.host if request.client is not None else ""


def identify(request: Request, shop: Shop) -> Person | None:
    """Return who is asking.

    Parameters
    ----------
    request : Request
        The request.
    shop : Shop
        Its people.

    Returns
    -------
    Person or None
        None for nobody known.

    Raises
    ------
    Refusal
        If a token is given that does not hold.
    """
    authorization = request.headers.get("authorization", "")
    if authorization:
        return _program(authorization, shop)
    secret = request.cookies.get(cookie_name(shop), "")
    if secret:
        digest = fingerprint(secret)
        found = shop.people.session(digest, shop.now)
        if found is not None:
            account, seen_at, started_at = found
            if shop.now - seen_at > _SEEN_EVERY:
                ends_at = min(shop.now + SESSION_IDLE, started_at + SESSION_LONGEST)
                shop.people.seen(digest, shop.now, ends_at)
            return _person(account, account.roles, "session", shop.seal("session " + digest))
    if not shop.config.needs_login:
        return Person(LOCAL, "", "", frozenset(ROLES), "loopback", shop.seal("loopback"))
    return None


def _program(authorization: str, shop: Shop) -> Person:
    scheme, _, secret = authorization.partition(" ")
    found = shop.people.token(fingerprint(secret.strip())) if scheme.lower() == "bearer" else None
    if found is None:
        raise Refusal(
            401,
            "the token is unknown or was ended",
            where="authorization",
            allowed="Authorization: Bearer TOKEN",
            cure="Have a new token made on the page of people",
        )
    account, roles = found
    return _person(account, roles, "token", "")


def _person(account: Account, roles: frozenset[str], way: str, csrf: str) -> Person:
    return Person(account.name, account.shown_name, account.qualification, roles, way, csrf)


def require(person: Person | None, role: str) -> Person:
    """Return the person if it may do something.

    Parameters
    ----------
    person : Person or None
        Who is asking.
    role : str
        Of ``ROLES``.

    Returns
    -------
    Person
        The same.

    Raises
    ------
    Refusal
        Status 401 for nobody known, 403 for somebody without the role.
    """
    if person is None:
        raise Refusal(
            401, "nobody is logged in", where="login", allowed="an account of this shop", cure="Log in"
        )
    if not person.may(role):
        raise Refusal(
            403,
            f"{person.name} has not the role '{role}'",
            where="role",
            allowed=f"an account that {role}",
            cure="Ask whoever administers",
        )
    return person


def log_in(shop: Shop, name: str, password: str, address: str) -> str:
    """Let a person in.

    Parameters
    ----------
    shop : Shop
        Its people.
    name, password : str
        As typed.
    address : str
        From where.

    Returns
    -------
    str
        Secret of the new session, for the cookie.

    Raises
    ------
    Refusal
        Status 401 if they do not fit together, 429 after too many tries.
    """
    name = name.strip()[:200]
    keys = {f"name {name.lower()}": _TRIES_OF_NAME, f"address {address}": _TRIES_OF_ADDRESS}
    for key, tries in keys.items():
        _refuse_too_many(shop, key, tries)
    account = shop.people.account(name)
    known = account if account is not None and account.active else None
    if not password_fits(password, known.password_hash if known is not None else None) or known is None:
        shop.people.add_failures(keys, shop.now, shop.now - timedelta(days=1))
        shop.log("login", who=name, address=address, outcome="refused", detail="name and password do not fit")
        raise Refusal(
            401,
            "name and password do not fit together",
            where="login",
            allowed="an account of this shop",
            cure="Type both again; whoever administers can give you a new password",
        )
    shop.people.forget_failures(f"name {name.lower()}")
    shop.log("login", who=name, address=address)
    return begin_session(shop, known.name)


def _refuse_too_many(shop: Shop, key: str, tries: int) -> None:
    count, last = shop.people.count_failures(key, shop.now - _WINDOW)
    if count < tries or last is None:
        return
    # after the free tries every further one waits twice as long, up to the whole window
    wait = min(timedelta(seconds=30 * 2 ** min(count - tries, 10)), _WINDOW)
    left = last + wait - shop.now
    if left > timedelta(0):
        seconds = int(left.total_seconds()) + 1
        shop.log("login", who=key, address="", outcome="refused", detail="too many tries")
        raise Refusal(
            429,
            f"there were {count} tries with a wrong password",
            where="login",
            allowed=f"a further try in {seconds} s",
            cure="Wait, or ask whoever administers for a new password",
            retry_after=seconds,
        )


def begin_session(shop: Shop, account: str) -> str:
    """Begin a session.

    Parameters
    ----------
    shop : Shop
        Its people.
    account : str
        Whose.

    Returns
    -------
    str
        Secret for the cookie.
    """
    secret = new_secret()
    shop.people.begin_session(fingerprint(secret), account, shop.now, shop.now + SESSION_IDLE)
    return secret
