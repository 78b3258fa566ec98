"""Who may use the web app: accounts, sessions, tokens of programs, and failed logins.

Passwords come in as hashes and secrets as digests; nothing here could let anybody in who reads it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, func, insert, select, update
from sqlalchemy.engine import RowMapping

from wearline.errors import StorageError
from wearline.storage.store import Store
from wearline.storage.web_tables import accounts, failed_logins, sessions, tokens

__all__ = ["ROLES", "Account", "PeopleStore", "TokenRow"]

ROLES = ("reads", "measures", "signs", "manages limits", "administers")
"""What a person may do; everybody reads."""


@dataclass(frozen=True, slots=True)
class Account:
    """One person.

    Parameters
    ----------
    name : str
        By which the person logs in.
    shown_name, qualification : str
        As they stand under an inspection.
    roles : frozenset of str
        Of ``ROLES``.
    password_hash : str
        Argon2 hash.
    active : bool
        Whether the person may log in.
    created_at : datetime
        When the account was made.
    """

    name: str
    shown_name: str
    qualification: str
    roles: frozenset[str]
    password_hash: str
    active: bool
    created_at: datetime


@dataclass(frozen=True, slots=True)
class TokenRow:
    """One token of a program.

    Parameters
    ----------
    id, account, purpose : str
        Its name, whose it is, and what for.
    roles : frozenset of str
        What it may do.
    created_at : datetime
        When it was made.
    ended_at : datetime or None
        When it was ended.
    """

    id: str
    account: str
    purpose: str
    roles: frozenset[str]
    created_at: datetime
    ended_at: datetime | None


def _account(row: RowMapping) -> Account:
    return Account(
        name=row["name"],
        shown_name=row["shown_name"],
        qualification=row["qualification"],
        roles=_roles(row["roles"]),
        password_hash=row["password_hash"],
        active=row["active"],
        created_at=row["created_at"],
    )


def _roles(text: str) -> frozenset[str]:
    return frozenset(text.split(", ")) if text else frozenset()


def _text(roles: Iterable[str]) -> str:
    return ", ".join(role for role in ROLES if role in frozenset(roles))


class PeopleStore:
    """The people in a database.

    Parameters
    ----------
    store : Store
        The open database.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def accounts(self) -> list[Account]:
        """Return all accounts by name.

        Returns
        -------
        list of Account
            Also those that are closed.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        with self._store.reading() as connection:
            rows = connection.execute(select(accounts)).mappings()
            return sorted((_account(row) for row in rows), key=lambda account: account.name)

    def account(self, name: str) -> Account | None:
        """Return one account.

        Parameters
        ----------
        name : str
            Its name.

        Returns
        -------
        Account or None
            None if there is none.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        with self._store.reading() as connection:
            row = connection.execute(select(accounts).where(accounts.c.name == name)).mappings().one_or_none()
            return None if row is None else _account(row)

    def save(self, account: Account, at: datetime) -> None:
        """Make an account or change it; a change ends its sessions.

        Parameters
        ----------
        account : Account
            As it is to be.
        at : datetime
            When.

        Raises
        ------
        StorageError
            If nobody would be left who administers, or the database cannot be written.
        """
        values = {
            "shown_name": account.shown_name,
            "qualification": account.qualification,
            "roles": _text(account.roles),
            "password_hash": account.password_hash,
            "active": account.active,
            "changed_at": at,
        }
        with self._store.writing() as connection:
            rows = connection.execute(select(accounts)).mappings().all()
            administers = account.active and "administers" in account.roles
            others = [row for row in rows if row["name"] != account.name and row["active"]]
            if not administers and not any("administers" in _roles(row["roles"]) for row in others):
                raise StorageError(
                    "nobody would be left who administers",
                    where=f"account {account.name}",
                    allowed="at least one active account that administers",
                    cure="Give the role to another account first",
                )
            if any(row["name"] == account.name for row in rows):
                connection.execute(update(accounts).where(accounts.c.name == account.name).values(**values))
                connection.execute(delete(sessions).where(sessions.c.account == account.name))
            else:
                given = {"name": account.name, "created_at": account.created_at}
                connection.execute(insert(accounts), values | given)

    def begin_session(self, digest: str, account: str, at: datetime, ends_at: datetime) -> None:
        """Begin a session, and forget those that have ended.

        Parameters
        ----------
        digest : str
            SHA-256 of the secret in the cookie.
        account : str
            Whose.
        at, ends_at : datetime
            From when to when.

        Raises
        ------
        StorageError
            If the database cannot be written.
        """
        row = {"digest": digest, "account": account, "started_at": at, "seen_at": at, "ends_at": ends_at}
        with self._store.writing() as connection:
            connection.execute(delete(sessions).where(sessions.c.ends_at <= at))
            connection.execute(insert(sessions), row)

    def session(self, digest: str, at: datetime) -> tuple[Account, datetime, datetime] | None:
        """Return whose a session is.

        Parameters
        ----------
        digest : str
            SHA-256 of the secret in the cookie.
        at : datetime
            Now.

        Returns
        -------
        (Account, datetime, datetime) or None
            The account, when the session was last seen and when it began; None where it has
            ended or the account is closed.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = (
            select(accounts, sessions.c.seen_at, sessions.c.started_at)
            .join_from(sessions, accounts, accounts.c.name == sessions.c.account)
            .where(sessions.c.digest == digest, sessions.c.ends_at > at, accounts.c.active)
        )
        with self._store.reading() as connection:
            row = connection.execute(statement).mappings().one_or_none()
            return None if row is None else (_account(row), row["seen_at"], row["started_at"])

    def seen(self, digest: str, at: datetime, ends_at: datetime) -> None:
        """Note that a session is in use.

        Parameters
        ----------
        digest : str
            SHA-256 of the secret in the cookie.
        at, ends_at : datetime
            Now, and when it ends unless it is used again.

        Raises
        ------
        StorageError
            If the database cannot be written.
        """
        with self._store.writing() as connection:
            connection.execute(
                update(sessions).where(sessions.c.digest == digest).values(seen_at=at, ends_at=ends_at)
            )

    def end_session(self, digest: str) -> None:
        """End a session.

        Parameters
        ----------
        digest : str
            SHA-256 of the secret in the cookie.

        Raises
        ------
        StorageError
            If the database cannot be written.
        """
        with self._store.writing() as connection:
            connection.execute(delete(sessions).where(sessions.c.digest == digest))

    def add_token(self, token: TokenRow, digest: str) -> None:
        """Add a token for a program.

        Parameters
        ----------
        token : TokenRow
            What it may do.
        digest : str
            SHA-256 of the secret.

        Raises
        ------
        StorageError
            If the database cannot be written.
        """
        row = {
            "digest": digest,
            "id": token.id,
            "account": token.account,
            "purpose": token.purpose,
            "roles": _text(token.roles),
            "created_at": token.created_at,
        }
        with self._store.writing() as connection:
            connection.execute(insert(tokens), row)

    def tokens(self) -> list[TokenRow]:
        """Return all tokens, the newest first.

        Returns
        -------
        list of TokenRow
            Also those that were ended.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = select(tokens).order_by(tokens.c.created_at.desc(), tokens.c.id)
        with self._store.reading() as connection:
            return [
                TokenRow(
                    row["id"],
                    row["account"],
                    row["purpose"],
                    _roles(row["roles"]),
                    row["created_at"],
                    row["ended_at"],
                )
                for row in connection.execute(statement).mappings()
            ]

    def token(self, digest: str) -> tuple[Account, frozenset[str]] | None:
        """Return whose a token is and what it may do.

        Parameters
        ----------
        digest : str
            SHA-256 of the secret.

        Returns
        -------
        (Account, frozenset of str) or None
            None where it is unknown, ended, or the account is closed. Never more than the account itself.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = (
            select(accounts, tokens.c.roles.label("token_roles"))
            .join_from(tokens, accounts, accounts.c.name == tokens.c.account)
            .where(tokens.c.digest == digest, tokens.c.ended_at.is_(None), accounts.c.active)
        )
        with self._store.reading() as connection:
            row = connection.execute(statement).mappings().one_or_none()
            if row is None:
                return None
            account = _account(row)
            return account, account.roles & _roles(row["token_roles"])

    def end_token(self, token_id: str, at: datetime) -> None:
        """End a token.

        Parameters
        ----------
        token_id : str
            Its name.
        at : datetime
            When.

        Raises
        ------
        StorageError
            If there is none, or the database cannot be written.
        """
        open_token = (tokens.c.id == token_id) & tokens.c.ended_at.is_(None)
        with self._store.writing() as connection:
            if connection.execute(update(tokens).where(open_token).values(ended_at=at)).rowcount == 0:
                raise StorageError(
                    "there is no such token",
                    allowed="a token that has not been ended",
                    cure="Look at the list",
                )

    def count_failures(self, key: str, since: datetime) -> tuple[int, datetime | None]:
        """Return how many logins failed.

        Parameters
        ----------
        key : str
            Name or address that failed.
        since : datetime
            Only later ones.

        Returns
        -------
        (int, datetime or None)
            How many, and when the last was.

        Raises
        ------
        StorageError
            If the database cannot be read.
        """
        statement = select(func.count(), func.max(failed_logins.c.at)).where(
            failed_logins.c.key == key, failed_logins.c.at > since
        )
        with self._store.reading() as connection:
            count, last = connection.execute(statement).one()
            return count, last

    def add_failures(self, keys: Iterable[str], at: datetime, forget_before: datetime) -> None:
        """Note a failed login under several keys.

        Parameters
        ----------
        keys : iterable of str
            Name and address.
        at : datetime
            When.
        forget_before : datetime
            Older failures are forgotten.

        Raises
        ------
        StorageError
            If the database cannot be written.
        """
        with self._store.writing() as connection:
            connection.execute(delete(failed_logins).where(failed_logins.c.at < forget_before))
            connection.execute(insert(failed_logins), [{"key": key, "at": at} for key in keys])

    def forget_failures(self, key: str) -> None:
        """Forget the failures of a key after a login that succeeded.

        Parameters
        ----------
        key : str
            Name or address.

        Raises
        ------
        StorageError
            If the database cannot be written.
        """
        with self._store.writing() as connection:
            connection.execute(delete(failed_logins).where(failed_logins.c.key == key))
