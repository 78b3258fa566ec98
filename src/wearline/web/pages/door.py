"""Coming in and going out, the theme, and the first visit."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, RedirectResponse, Response

from wearline.app.demonstration import SCENARIO, keep_demonstration
from wearline.web.asking import Sent, add_form, ask_of, frame_of, read_form, safe_back, shop_of
from wearline.web.identity import address_of, cookie_name, identify, log_in
from wearline.web.passwords import fingerprint
from wearline.web.rendering import STATIC, render

__all__ = ["LoginPage", "router"]

router = APIRouter()


@dataclass(frozen=True, slots=True)
class LoginPage:
    """The page on which a person logs in.

    Parameters
    ----------
    back : str
        Where to go then.
    """

    back: str


@router.get("/login", include_in_schema=False)
def login_page(request: Request) -> Response:
    """Ask for name and password."""
    shop = shop_of(request)
    back = safe_back(request.query_params.get("back", "/"))
    text = render("login.html", frame_of(request, identify(request, shop)), LoginPage(back))
    return HTMLResponse(text, headers={"cache-control": "no-store"})


@router.post("/login", include_in_schema=False)
async def login(request: Request) -> Response:
    """Let a person in who knows the password."""
    shop = shop_of(request)
    fields = await read_form(request)
    address = address_of(request, shop)
    # the guard has seen that a page of this program sent it; there is no session yet to name a token by
    secret = await run_in_threadpool(
        log_in, shop, fields.get("name", ""), fields.get("password", ""), address
    )
    response = RedirectResponse(safe_back(fields.get("back", "/")), status_code=303)
    secure = shop.config.is_secure
    response.set_cookie(
        cookie_name(shop), secret, httponly=True, samesite="strict", secure=secure, path="/", max_age=604_800
    )
    return response


@router.post("/logout", include_in_schema=False)
async def logout(request: Request) -> Response:
    """End the session."""
    ask = await run_in_threadpool(ask_of, request, "reads")
    fields = await read_form(request)
    from wearline.web.asking import check_csrf

    check_csrf(request, ask.person, fields.get("csrf", ""))
    secret = request.cookies.get(cookie_name(ask.shop), "")
    await run_in_threadpool(ask.shop.people.end_session, fingerprint(secret))
    response = RedirectResponse("/login" if ask.shop.config.needs_login else "/", status_code=303)
    response.delete_cookie(cookie_name(ask.shop), path="/")
    return response


@router.post("/theme", include_in_schema=False)
async def theme(request: Request) -> Response:
    """Remember light or dark, or follow the device again; it needs no login."""
    fields = await read_form(request)
    response = RedirectResponse(safe_back(fields.get("back", "/")), status_code=303)
    chosen = fields.get("theme", "")
    if chosen in ("light", "dark"):
        secure = shop_of(request).config.is_secure
        response.set_cookie(
            "wearline_theme", chosen, max_age=31_536_000, samesite="strict", secure=secure, httponly=True
        )
    else:
        response.delete_cookie("wearline_theme", path="/")
    return response


@router.get("/entry", include_in_schema=False)
def entry(request: Request) -> Response:
    """Open the form for the tablet; it works without a network from then on."""
    ask = ask_of(request, "measures")
    text = render("entry.html", frame_of(request, ask.person), None)
    return HTMLResponse(text, headers={"cache-control": "no-cache"})


@router.get("/manifest.webmanifest", include_in_schema=False)
def manifest(request: Request) -> Response:
    """Name the program for the home screen of a tablet."""
    del request
    path = STATIC / "entry" / "manifest.webmanifest"
    return FileResponse(path, media_type="application/manifest+json", headers={"cache-control": "no-cache"})


@router.get("/favicon.ico", include_in_schema=False)
def favicon() -> Response:
    """Show the sign of the program."""
    return FileResponse(STATIC / "icon.svg", media_type="image/svg+xml")


def _demonstrate(sent: Sent) -> str:
    ask = sent.ask
    count = keep_demonstration(ask.shop.store, kept_by=ask.person.name, today=ask.shop.today)
    ask.shop.save_settings({"scenario": SCENARIO}, ask.person.name)
    ask.log("demonstration fleet", detail=f"{count} invented inspections")
    return "/"


add_form(router, "/demonstration", _demonstrate, role="administers")
