"""Passwords and secrets: slow hashes for what people remember, fingerprints for what programs hold."""

from __future__ import annotations

import hashlib
import secrets
from functools import lru_cache
from threading import Semaphore

from wearline.errors import InputError

__all__ = ["check_new_password", "fingerprint", "hash_password", "new_secret", "password_fits"]

SHORTEST = 10
LONGEST = 200

# each hash takes 64 MiB while it is computed: two at a time, however many try to log in
_AT_ONCE = Semaphore(2)


def check_new_password(password: str, name: str) -> None:
    """Refuse a password that is guessed at once.

    Parameters
    ----------
    password : str
        The password.
    name : str
        Name of the account.

    Raises
    ------
    InputError
        If it is too short, too long, the name itself, or one sign repeated.
    """
    if not SHORTEST <= len(password) <= LONGEST or len(set(password)) < 4 or password.lower() == name.lower():
        raise InputError(
            "the password is too easy to guess",
            where="password",
            allowed=f"{SHORTEST} to {LONGEST} signs, four different ones at least, not the name",
            cure="Take several words that do not belong together",
        )


def hash_password(password: str) -> str:
    """Return the Argon2 hash of a password.

    Parameters
    ----------
    password : str
        The password.

    Returns
    -------
    str
        Hash with its parameters and salt.
    """
    from argon2 import PasswordHasher

    with _AT_ONCE:
        return PasswordHasher().hash(password)


@lru_cache(maxsize=1)
def _hash_of_nobody() -> str:
    return hash_password(secrets.token_urlsafe(16))


def password_fits(password: str, stored: str | None) -> bool:
    """Return whether a password is the one of a hash; it takes as long where there is no account.

    Parameters
    ----------
    password : str
        As typed.
    stored : str or None
        The hash; None for a name that is not known.

    Returns
    -------
    bool
        True if it fits.
    """
    from argon2 import PasswordHasher
    from argon2.exceptions import InvalidHashError, VerificationError

    nobody = "" if stored else _hash_of_nobody()
    with _AT_ONCE:
        try:
            fits = PasswordHasher().verify(stored or nobody, password[:LONGEST])
        except (VerificationError, InvalidHashError):
            return False
    return bool(fits) and stored is not None


def new_secret() -> str:
    """Return a secret that nobody can guess.

    Returns
    -------
    str
        43 signs, 256 bits.
    """
    return secrets.token_urlsafe(32)


def fingerprint(secret: str) -> str:
    """Return what is stored of a secret.

    Parameters
    ----------
    secret : str
        The secret.

    Returns
    -------
    str
        SHA-256, hexadecimal.
    """
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
