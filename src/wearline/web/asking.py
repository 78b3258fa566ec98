"""How pages and forms are wired: one question in, one context out, as HTML and as its JSON twin."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from hmac import compare_digest
from typing import Any

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from wearline import __version__
from wearline.web.drill_desk import DrillDesk
from wearline.web.fleet_index import FleetIndex
from wearline.web.identity import Person, address_of, identify, require
from wearline.web.judging import Recent
from wearline.web.plain import plain
from wearline.web.refusals import Refusal
from wearline.web.rendering import LANGUAGES, render
from wearline.web.shop import Shop
from wearline.web.stored_answers import Workbench

__all__ = [
    "Ask",
    "Sent",
    "add_form",
    "add_page",
    "ask_of",
    "check_csrf",
    "frame_of",
    "read_form",
    "safe_back",
    "shop_of",
]

MAXIMUM_FIELDS = 60


@dataclass(frozen=True, slots=True)
class Ask:
    """One question.

    Parameters
    ----------
    shop : Shop
        The database and what goes with it.
    person : Person
        Who asks.
    address : str
        From where.
    query : mapping of str to str
        What stands behind the question mark of the address.
    path : mapping of str to str
        Parts of the path.
    index : FleetIndex
        What is kept.
    recent : Recent
        What was judged lately.
    bench : Workbench
        Answers about the whole fleet.
    drills : DrillDesk
        Drills, and the long work for them.
    """

    shop: Shop
    person: Person
    address: str
    query: Mapping[str, str]
    path: Mapping[str, str]
    index: FleetIndex
    recent: Recent
    bench: Workbench
    drills: DrillDesk

    def log(self, action: str, target: str = "", detail: str = "") -> None:
        """Note in the audit trail what this person did.

        Parameters
        ----------
        action, target, detail : str
            What, to what, in words.
        """
        self.shop.log(action, who=self.person.name, address=self.address, target=target, detail=detail)


@dataclass(frozen=True, slots=True)
class Sent:
    """What a form sent.

    Parameters
    ----------
    ask : Ask
        Who sends it.
    fields : mapping of str to str
        Texts.
    lists : mapping of str to tuple of str
        Every value of a field that stands several times.
    files : mapping of str to (str, bytes)
        Name and content of each file.
    """

    ask: Ask
    fields: Mapping[str, str]
    lists: Mapping[str, tuple[str, ...]]
    files: Mapping[str, tuple[str, bytes]]

    def text(self, name: str, longest: int = 200) -> str:
        """Return a text that was sent.

        Parameters
        ----------
        name : str
            Of the field.
        longest : int
            How long it may be.

        Returns
        -------
        str
            Without blanks around it; empty where it is missing.

        Raises
        ------
        Refusal
            If it is too long or holds the character NUL.
        """
        value = self.fields.get(name, "").strip()
        if len(value) > longest or "\0" in value:
            raise Refusal(
                422, f"{name} is too long or holds a NUL", where=name, allowed=f"at most {longest} characters"
            )
        return value


def shop_of(request: Request) -> Shop:
    """Return the shop of a request.

    Parameters
    ----------
    request : Request
        The request.

    Returns
    -------
    Shop
        The open database.
    """
    shop = request.app.state.shop
    assert isinstance(shop, Shop)
    return shop


def ask_of(request: Request, role: str) -> Ask:
    """Return who asks what, if the person has the role.

    Parameters
    ----------
    request : Request
        The request.
    role : str
        Role needed.

    Returns
    -------
    Ask
        The question.

    Raises
    ------
    Refusal
        If nobody is logged in, or the role is missing.
    """
    shop = shop_of(request)
    person = require(identify(request, shop), role)
    query = {key: value[:500] for key, value in request.query_params.items()}
    state = request.app.state
    return Ask(
        shop,
        person,
        address_of(request, shop),
        query,
        request.path_params,
        state.index,
        state.recent,
        state.bench,
        state.drills,
    )


def frame_of(request: Request, person: Person | None) -> dict[str, Any]:
    """Return what every page has.

    Parameters
    ----------
    request : Request
        The request.
    person : Person or None
        Who asks.

    Returns
    -------
    dict
        For the base template.
    """
    settings = shop_of(request).settings()
    theme = request.cookies.get("wearline_theme", "")
    path = request.url.path
    query = f"?{request.url.query}" if request.url.query else ""
    return {
        "person": person,
        "theme": theme if theme in ("light", "dark") else "",
        "language": settings.language if settings.language in LANGUAGES else "en",
        "settings": settings,
        "here": path + query,
        "path": path,
        "twin": (path if path != "/" else "/fleet") + ".json" + query,
        "version": __version__,
        "needs_login": shop_of(request).config.needs_login,
    }


def safe_back(text: str) -> str:
    """Return an address of this program to go back to.

    Parameters
    ----------
    text : str
        As a form sent it.

    Returns
    -------
    str
        The same, or the first page where it leads elsewhere.
    """
    leads_away = not text.startswith("/") or text.startswith(("//", "/\\")) or len(text) > 500
    return "/" if leads_away or any(ord(sign) < 33 for sign in text) else text


Build = Callable[[Ask], Any]


def add_page(
    router: APIRouter,
    path: str,
    template: str,
    build: Build,
    *,
    role: str = "reads",
    twin_build: Build | None = None,
) -> None:
    """Add a page and its JSON twin.

    Parameters
    ----------
    router : APIRouter
        Where.
    path : str
        Path of the page; the twin ends in ``.json``.
    template : str
        Its template.
    build : callable
        From the question to the context, a dataclass.
    role : str
        Role needed.
    twin_build : callable, optional
        From the question to the context of the twin, where it says more than the page shows.
    """
    whole = twin_build or build

    def page(request: Request) -> Response:
        ask = ask_of(request, role)
        text = render(template, frame_of(request, ask.person), build(ask))
        return HTMLResponse(text, headers={"cache-control": "private, no-cache"})

    def twin(request: Request) -> Response:
        ask = ask_of(request, role)
        name = template.removesuffix(".html")
        body = {"schema": f"wearline.page.{name}/1", **plain(whole(ask))}
        return JSONResponse(body, headers={"cache-control": "private, no-cache"})

    # the twin first: a path that takes any id would swallow its ending
    router.add_api_route(
        ("/fleet" if path == "/" else path) + ".json", twin, methods=["GET"], include_in_schema=False
    )
    router.add_api_route(path, page, methods=["GET"], include_in_schema=False)


def add_form(router: APIRouter, path: str, act: Callable[[Sent], str], *, role: str, files: int = 0) -> None:
    """Add what a form of a page does.

    Parameters
    ----------
    router : APIRouter
        Where.
    path : str
        To which the form is sent.
    act : callable
        Does it, and returns the address to go on to.
    role : str
        Role needed.
    files : int
        How many files it may carry.
    """

    async def form(request: Request) -> Response:
        ask = await run_in_threadpool(ask_of, request, role)
        sent = await _sent(request, ask, files)
        target = await run_in_threadpool(act, sent)
        return RedirectResponse(safe_back(target), status_code=303)

    router.add_api_route(path, form, methods=["POST"], include_in_schema=False)


async def _sent(request: Request, ask: Ask, files: int) -> Sent:
    fields, lists, found = await _form(request, files)
    check_csrf(request, ask.person, fields.get("csrf", ""))
    return Sent(ask, fields, lists, found)


async def read_form(request: Request) -> dict[str, str]:
    """Read a form without files.

    Parameters
    ----------
    request : Request
        The request.

    Returns
    -------
    dict of str
        Its fields.

    Raises
    ------
    Refusal
        If it is no form, or cannot be read.
    """
    return (await _form(request, 0))[0]


_Form = tuple[dict[str, str], dict[str, tuple[str, ...]], dict[str, tuple[str, bytes]]]


async def _form(request: Request, files: int) -> _Form:
    from starlette.formparsers import MultiPartException

    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind not in ("application/x-www-form-urlencoded", "multipart/form-data"):
        raise Refusal(415, "this is no form", allowed="a form as the page sends it")
    fields: dict[str, str] = {}
    lists: dict[str, tuple[str, ...]] = {}
    found: dict[str, tuple[str, bytes]] = {}
    try:
        async with request.form(max_files=files, max_fields=MAXIMUM_FIELDS, max_part_size=100_000) as form:
            for name, value in form.multi_items():
                if isinstance(value, UploadFile):
                    found[name] = (value.filename or "", await value.read())
                else:
                    fields[name] = value
                    lists[name] = (*lists.get(name, ()), value)
    except (MultiPartException, AssertionError, ValueError) as error:
        raise Refusal(
            400, f"the form cannot be read: {error}", allowed="a form as the page sends it"
        ) from None
    return fields, lists, found


def check_csrf(request: Request, person: Person, given: str) -> None:
    """Refuse a form that this person did not fill in here.

    Parameters
    ----------
    request : Request
        The request.
    person : Person
        Who asks; a program with a token carries no cookie that another page could use.
    given : str
        What the form carries.

    Raises
    ------
    Refusal
        Status 403 if it is not what this person's forms carry.
    """
    if person.way == "token":
        return
    token = given or request.headers.get("x-csrf-token", "")
    if not compare_digest(token.encode("utf-8", "replace"), person.csrf.encode()):
        raise Refusal(
            403,
            "the form was not filled in on a page of this login",
            where="csrf",
            allowed="a form of this program",
            cure="Open the page again and send it once more",
        )
