"""The web application put together: guard, pages, API, static files, one shape for every error."""

from __future__ import annotations

import gc
import json
import traceback
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

import anyio.to_thread
from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.staticfiles import StaticFiles

from wearline import __version__
from wearline.app.error_answer import error_answer
from wearline.errors import InputError, ProgramFault, WearlineError
from wearline.web import api
from wearline.web.asking import frame_of
from wearline.web.beside import Beside
from wearline.web.config import ServeConfig
from wearline.web.drill_desk import DrillDesk
from wearline.web.fleet_index import FleetIndex
from wearline.web.guard import Guard
from wearline.web.identity import address_of, identify
from wearline.web.judging import Recent
from wearline.web.refusals import STATUS_WORDS, Refusal, status_of
from wearline.web.rendering import STATIC, render
from wearline.web.shop import Shop
from wearline.web.stored_answers import Workbench

__all__ = ["create_app"]

_THREADS = 8
_NOTED = (401, 403, 413, 429)


class _Static(StaticFiles):
    """Static files: those named with a mark of their content stay, the others are asked for again."""

    def __init__(self, directory: Path, headers: dict[str, str] | None = None) -> None:
        super().__init__(directory=directory)
        self._more = headers or {}

    async def get_response(self, path: str, scope: Any) -> Response:
        """Return one file.

        Parameters
        ----------
        path : str
            Below the folder.
        scope : dict
            The request.

        Returns
        -------
        Response
            The file.
        """
        response = await super().get_response(path, scope)
        marked = b"v=" in scope.get("query_string", b"")
        response.headers["cache-control"] = "public, max-age=31536000, immutable" if marked else "no-cache"
        response.headers.update(self._more)
        return response


def create_app(config: ServeConfig, clock: Callable[[], datetime] | None = None) -> FastAPI:
    """Make the application.

    Parameters
    ----------
    config : ServeConfig
        How it is served.
    clock : callable, optional
        Gives the moment in UTC.

    Returns
    -------
    FastAPI
        With the database open until it is shut down.

    Raises
    ------
    Refusal
        If others could reach it and there is no account.
    StorageError
        If the database cannot be used.
    """
    shop = Shop(config, clock)
    try:
        refuse_open_doors(shop)
    except Refusal:
        shop.close()
        raise
    index = FleetIndex(shop, Beside(shop))
    bench = Workbench(shop, index, Beside(shop))
    drills = DrillDesk(config.drills, Beside(shop))

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        del app
        # pages compute: more threads than cores would only wait for each other
        anyio.to_thread.current_default_thread_limiter().total_tokens = _THREADS
        index.refresh()
        if config.beside:
            # the index is there for good: a collector that goes through it again and again holds up pages
            gc.collect()
            gc.freeze()
        index.start()
        yield
        bench.close()
        drills.stop()
        index.stop()
        shop.close()

    app = FastAPI(
        title="wearline",
        version=__version__,
        description=(
            "Readings of air disc brakes in; verdicts, job and road decision out. States what was measured "
            "and what follows; local codes, the maker's instructions and a qualified person decide."
        ),
        lifespan=life,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/1/openapi.json",
    )
    app.state.shop, app.state.index, app.state.recent = shop, index, Recent(shop)
    app.state.bench, app.state.drills = bench, drills
    _add_handlers(app)
    app.include_router(api.router)
    _add_pages(app)
    app.mount("/static", _Static(STATIC))
    app.mount("/entry", _Static(STATIC / "entry", {"service-worker-allowed": "/entry"}))
    app.add_middleware(GZipMiddleware, minimum_size=1500, compresslevel=4)

    def refuse(scope: dict[str, Any], refusal: Refusal) -> tuple[int, list[tuple[bytes, bytes]], bytes]:
        request = Request({**scope, "app": app})
        response = _answer(request, refusal)
        return response.status_code, list(response.raw_headers), bytes(response.body)

    app.add_middleware(Guard, config=config, refuse=refuse)
    return app


def refuse_open_doors(shop: Shop) -> None:
    """Refuse to be reached by others while anybody could do anything.

    Parameters
    ----------
    shop : Shop
        Its accounts and how it is served.

    Raises
    ------
    Refusal
        If there is no account that administers.
    """
    if not shop.config.needs_login:
        return
    if not any(each.active and "administers" in each.roles for each in shop.people.accounts()):
        raise Refusal(
            403,
            "others could reach the program, and there is no account that administers",
            where=shop.config.public_url or shop.config.host,
            allowed="127.0.0.1 without accounts, or accounts",
            cure="Make one: wearline serve --add-account NAME --role administers",
        )


def _add_pages(app: FastAPI) -> None:
    from wearline.web import pages

    for router in pages.routers():
        app.include_router(router)


def _add_handlers(app: FastAPI) -> None:
    async def known(request: Request, error: Exception) -> Response:
        assert isinstance(error, WearlineError)
        return _answer(request, error)

    async def http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        what = STATUS_WORDS.get(error.status_code, str(error.detail))
        return _answer(request, Refusal(error.status_code, what, where=request.url.path[:200]))

    async def invalid(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        first = error.errors()[0]
        place = ".".join(str(part) for part in first.get("loc", ()))
        return _answer(request, Refusal(422, str(first.get("msg", "it is wrong")), where=place[:200]))

    async def fault(request: Request, error: Exception) -> Response:
        # the terminal gets everything, the page only that it is not the person's doing
        traceback.print_exception(error)
        cure = "This is a fault of the program, nothing was lost. Report the lines in its terminal"
        return _answer(request, ProgramFault(f"the program failed: {type(error).__name__}", cure=cure))

    async def gone(request: Request, error: Exception) -> Response:
        del error  # the tablet went out of reach while it was sending: nothing of it was stored
        return _answer(request, Refusal(400, "the request ended before all of it had come", where="body"))

    app.add_exception_handler(ClientDisconnect, gone)
    app.add_exception_handler(WearlineError, known)
    app.add_exception_handler(HTTPException, http)
    app.add_exception_handler(RequestValidationError, invalid)
    app.add_exception_handler(Exception, fault)


def _answer(request: Request, error: WearlineError) -> Response:
    status = status_of(error)
    _note(request, error, status)
    headers = {"cache-control": "no-store"}
    if isinstance(error, Refusal) and error.retry_after:
        headers["retry-after"] = str(error.retry_after)
    path = request.url.path
    if path.startswith("/api/") or path.endswith(".json"):
        return JSONResponse(error_answer(error), status_code=status, headers=headers)
    return _page(request, error, status, headers)


def _page(request: Request, error: WearlineError, status: int, headers: dict[str, str]) -> Response:
    shop: Shop = request.app.state.shop
    try:
        person = identify(request, shop)
        frame = frame_of(request, person)
    except InputError:
        return JSONResponse(error_answer(error), status_code=status, headers=headers)
    if status == 401 and person is None and request.method == "GET" and request.url.path != "/login":
        from urllib.parse import quote

        target = "/login?back=" + quote(frame["here"], safe="")
        return Response(status_code=303, headers={**headers, "location": target})
    heading = STATUS_WORDS.get(status, STATUS_WORDS[500])
    text = render("refused.html", frame, {"status": status, "heading": heading, "error": error.as_plain()})
    return HTMLResponse(text, status_code=status, headers=headers)


def _note(request: Request, error: WearlineError, status: int) -> None:
    climbs = status == 404 and error.where == "path"
    if status not in _NOTED and not climbs:
        return
    shop: Shop = request.app.state.shop
    try:
        person = identify(request, shop)
        who = person.name if person is not None else ""
    except InputError:
        who = ""
    if status == 401 and not who and request.method == "GET":
        return  # somebody opened a page before logging in
    target = json.dumps(request.url.path[:200])[1:-1]
    try:
        shop.log(
            f"refused {status}",
            who=who,
            address=address_of(request, shop),
            target=f"{request.method} {target}",
            outcome="refused",
            detail=error.what,
        )
    except InputError:
        return  # a database that is busy must not turn a refusal into a fault
