"""People: accounts with their roles, and tokens for programs."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace
from datetime import datetime

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from wearline.storage.people import ROLES, Account, TokenRow
from wearline.web.asking import Ask, Sent, add_form, add_page, ask_of, check_csrf, frame_of, read_form
from wearline.web.passwords import check_new_password, fingerprint, hash_password, new_secret
from wearline.web.refusals import Refusal
from wearline.web.rendering import render
from wearline.web.shop import Shop

__all__ = ["PeoplePage", "add_account", "router"]

router = APIRouter()


@dataclass(frozen=True, slots=True)
class PersonLine:
    """One account.

    Parameters
    ----------
    name, shown_name, qualification : str
        Who.
    roles : tuple of str
        What the person may do.
    active : bool
        Whether the person may log in.
    created_at : datetime
        When the account was made.
    """

    name: str
    shown_name: str
    qualification: str
    roles: tuple[str, ...]
    active: bool
    created_at: datetime


@dataclass(frozen=True, slots=True)
class PeoplePage:
    """The page of people.

    Parameters
    ----------
    accounts : tuple of PersonLine
        Accounts.
    tokens : tuple of TokenRow
        Tokens of programs.
    roles : tuple of str
        Roles there are.
    new_token : str
        Secret of a token that was just made; shown once.
    """

    accounts: tuple[PersonLine, ...]
    tokens: tuple[TokenRow, ...]
    roles: tuple[str, ...] = ROLES
    new_token: str = ""


def add_account(
    shop: Shop, name: str, password: str, roles: frozenset[str], *, shown_name: str, qualification: str
) -> None:
    """Make an account, or give an existing one new roles and a new password.

    Parameters
    ----------
    shop : Shop
        Its people.
    name, password : str
        By which the person logs in.
    roles : frozenset of str
        Of ``ROLES``.
    shown_name, qualification : str
        As they stand under an inspection.

    Raises
    ------
    InputError
        If a role is unknown, the name or the password is not fit, or nobody would be left who administers.
    """
    check_name(name)
    unknown = sorted(roles - frozenset(ROLES))
    if unknown or not roles:
        raise Refusal(
            422, f"'{', '.join(unknown) or 'nothing'}' is no role", where="role", allowed=", ".join(ROLES)
        )
    check_new_password(password, name)
    account = Account(
        name=name,
        shown_name=shown_name or name,
        qualification=qualification,
        roles=roles,
        password_hash=hash_password(password),
        active=True,
        created_at=shop.now,
    )
    shop.people.save(account, shop.now)


def check_name(name: str) -> None:
    """Refuse a name that cannot be typed at the login.

    Parameters
    ----------
    name : str
        The name.

    Raises
    ------
    Refusal
        If it is empty, too long, or holds signs that nobody sees.
    """
    if not 1 <= len(name) <= 60 or not name.isprintable() or name != name.strip():
        raise Refusal(
            422,
            "this cannot be the name of an account",
            where="name",
            allowed="1 to 60 letters, digits and signs",
        )


def _build(ask: Ask) -> PeoplePage:
    return _people(ask.shop)


def _people(shop: Shop, new_token: str = "") -> PeoplePage:
    return PeoplePage(
        accounts=tuple(
            PersonLine(
                each.name,
                each.shown_name,
                each.qualification,
                tuple(role for role in ROLES if role in each.roles),
                each.active,
                each.created_at,
            )
            for each in shop.people.accounts()
        ),
        tokens=tuple(shop.people.tokens()),
        new_token=new_token,
    )


def _save(sent: Sent) -> str:
    ask, shop = sent.ask, sent.ask.shop
    name = sent.text("name", 60)
    roles = frozenset(sent.lists.get("roles", ()))
    known = shop.people.account(name)
    password = sent.fields.get("password", "")
    if known is None or password:
        add_account(
            shop,
            name,
            password,
            roles,
            shown_name=sent.text("shown_name"),
            qualification=sent.text("qualification"),
        )
        done = "new password" if known is not None else "add account"
    else:
        if roles - frozenset(ROLES) or not roles:
            raise Refusal(422, "a person has at least one role", where="roles", allowed=", ".join(ROLES))
        changed = replace(
            known,
            shown_name=sent.text("shown_name") or known.name,
            qualification=sent.text("qualification"),
            roles=roles,
            active=sent.fields.get("active", "yes") == "yes",
        )
        shop.people.save(changed, shop.now)
        done = "change account" if changed.active else "close account"
    ask.log(done, name, ", ".join(sorted(roles)))
    return "/people"


def _end_token(sent: Sent) -> str:
    sent.ask.shop.people.end_token(sent.text("id"), sent.ask.shop.now)
    sent.ask.log("end token", sent.text("id"))
    return "/people"


@router.post("/people/tokens", include_in_schema=False)
async def make_token(request: Request) -> Response:
    """Make a token for a program, and show its secret this once."""
    from starlette.concurrency import run_in_threadpool

    ask = await run_in_threadpool(ask_of, request, "administers")
    fields = await read_form(request)
    check_csrf(request, ask.person, fields.get("csrf", ""))

    def make() -> str:
        account = ask.shop.people.account(fields.get("account", ""))
        purpose = fields.get("purpose", "").strip()[:200].replace("\0", "")
        roles = frozenset(role for role in ROLES if fields.get(f"role {role}") == "yes")
        if account is None or not purpose or not roles:
            raise Refusal(
                422, "a token needs an account, a purpose and a role", where="token", cure="Fill in all three"
            )
        secret = new_secret()
        row = TokenRow(str(uuid.uuid4()), account.name, purpose, roles & account.roles, ask.shop.now, None)
        ask.shop.people.add_token(row, fingerprint(secret))
        ask.log("make token", row.id, f"{account.name}: {purpose}")
        return render("people.html", frame_of(request, ask.person), _people(ask.shop, secret))

    text = await run_in_threadpool(make)
    return HTMLResponse(text, headers={"cache-control": "no-store"})


add_page(router, "/people", "people.html", _build, role="administers")
add_form(router, "/people", _save, role="administers")
add_form(router, "/people/tokens/end", _end_token, role="administers")
