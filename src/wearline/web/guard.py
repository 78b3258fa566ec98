"""What stands before every request: host, path, size, origin; and the headers of every answer.

A plain ASGI layer: it refuses before anything is parsed, and cuts off a body that grows too long as it comes.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

from wearline.web.config import ServeConfig
from wearline.web.refusals import Refusal

__all__ = ["SECURITY_HEADERS", "Guard", "body_limit"]

Scope = dict[str, Any]
Receive = Callable[[], Awaitable[dict[str, Any]]]
Send = Callable[[dict[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]
Refuse = Callable[[Scope, Refusal], tuple[int, list[tuple[bytes, bytes]], bytes]]

MEGABYTE = 1_000_000
_LIMITS = {
    "/api/1/photos": 13 * MEGABYTE,
    "/shelf": 61 * MEGABYTE,
    "/api/1/judge": 11 * MEGABYTE,
    "/api/1/job": 11 * MEGABYTE,
    "/api/1/road": 11 * MEGABYTE,
    "/api/1/inspections": 11 * MEGABYTE,
    "/inspections/keep": 11 * MEGABYTE,
    "/login": 10_000,
}
_SAFE = ("GET", "HEAD", "OPTIONS")

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; frame-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'self'; object-src 'none'"
)
SECURITY_HEADERS = (
    (b"content-security-policy", _POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"SAMEORIGIN"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(self), geolocation=(), microphone=(), payment=(), usb=()"),
)
"""Sent with every answer."""


def body_limit(path: str) -> int:
    """Return how long the body of a request may be.

    Parameters
    ----------
    path : str
        Its path.

    Returns
    -------
    int
        Bytes.
    """
    return _LIMITS.get(path, MEGABYTE)


class Guard:
    """The layer before the application.

    Parameters
    ----------
    app : callable
        The ASGI application.
    config : ServeConfig
        Which hosts and origins are its own.
    refuse : callable
        Makes the answer that says what was refused, and notes it.
    """

    def __init__(self, app: App, config: ServeConfig, refuse: Refuse) -> None:
        self._app = app
        self._config = config
        self._refuse = refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request.

        Parameters
        ----------
        scope : dict
            The request.
        receive, send : callable
            As ASGI gives them.
        """
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        guarded = _with_headers(send, self._config)
        headers = {name.lower(): value for name, value in scope["headers"]}
        limit = body_limit(scope["path"])
        refusal = self._first_refusal(scope, headers, limit)
        if refusal is not None:
            await self._send_refusal(scope, refusal, guarded)
            return
        state = {"started": False}

        async def watch(message: dict[str, Any]) -> None:
            state["started"] = state["started"] or message["type"] == "http.response.start"
            await guarded(message)

        try:
            await self._app(scope, _limited(receive, limit), watch)
        except Refusal as refused:
            if not state["started"]:
                await self._send_refusal(scope, refused, guarded)

    def _first_refusal(self, scope: Scope, headers: dict[bytes, bytes], limit: int) -> Refusal | None:
        path = scope["path"]
        raw = scope.get("raw_path") or b""
        climbs = ".." in path.split("/") or b"%2e%2e" in raw.lower()
        if "\\" in path or climbs or any(ord(sign) < 32 for sign in path):
            return Refusal(
                404, "the path leads out of the pages", where="path", cure="Begin at the first page"
            )
        host = headers.get(b"host", b"").decode("latin-1")
        if not self._config.allows_host(host):
            return Refusal(
                403,
                f"this program is not called '{host[:80]}'",
                where="host",
                allowed="the address on which it was started",
                cure="Open the address that the program printed, or start it with --public-url",
            )
        forwarded = b"forwarded" in headers or b"x-forwarded-for" in headers
        if forwarded and not self._config.needs_login:
            return Refusal(
                403,
                "a proxy hands requests of others to a program that asks for no password",
                where="forwarded",
                cure="Start it with --public-url and make accounts first",
            )
        length = headers.get(b"content-length", b"0")
        if not length.isdigit() or int(length[:20]) > limit:
            return _too_long(limit)
        return self._foreign(scope["method"], headers, host)

    def _foreign(self, method: str, headers: dict[bytes, bytes], host: str) -> Refusal | None:
        if method in _SAFE:
            return None
        origin = headers.get(b"origin")
        site = headers.get(b"sec-fetch-site", b"same-origin")
        foreign = origin is not None and not self._config.allows_origin(origin.decode("latin-1"), host)
        if foreign or site not in (b"same-origin", b"none"):
            return Refusal(
                403,
                "the request was made by a page of another site",
                where="origin",
                allowed="pages of this program",
                cure="Open the page here and do it again",
            )
        return None

    async def _send_refusal(self, scope: Scope, refusal: Refusal, send: Send) -> None:
        status, headers, body = self._refuse(scope, refusal)
        # what is left of the body is not read: the connection ends with the answer
        headers = [*headers, (b"connection", b"close")]
        await send({"type": "http.response.start", "status": status, "headers": headers})
        await send({"type": "http.response.body", "body": body})


def _too_long(limit: int) -> Refusal:
    return Refusal(
        413,
        "what was sent is too long",
        where="body",
        allowed=f"at most {limit / MEGABYTE:g} MB here",
        cure="Send it in parts, or make the file smaller",
    )


def _limited(receive: Receive, limit: int) -> Receive:
    got = 0

    async def limited() -> dict[str, Any]:
        nonlocal got
        message = await receive()
        got += len(message.get("body", b""))
        if got > limit:
            raise _too_long(limit)
        return message

    return limited


def _with_headers(send: Send, config: ServeConfig) -> Send:
    added = list(SECURITY_HEADERS)
    if config.is_secure:
        added.append((b"strict-transport-security", b"max-age=31536000"))

    async def guarded(message: dict[str, Any]) -> None:
        if message["type"] == "http.response.start":
            present = {name.lower() for name, _ in message["headers"]}
            more = [(name, value) for name, value in added if name not in present]
            message = {**message, "headers": [*message["headers"], *more]}
        await send(message)

    return guarded
