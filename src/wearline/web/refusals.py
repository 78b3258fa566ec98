"""Refusals with their status, and the one shape in which every error leaves."""

from __future__ import annotations

from wearline.errors import InputError, StorageError, WearlineError

__all__ = ["STATUS_WORDS", "Refusal", "not_found", "status_of"]

STATUS_WORDS = {
    400: "this cannot be understood",
    401: "login needed",
    403: "not allowed",
    404: "there is no such page",
    405: "this cannot be done here",
    409: "this contradicts what is kept",
    413: "too much at once",
    415: "this kind of file is not taken",
    422: "something is wrong in it",
    429: "too many tries",
    500: "the program failed",
    503: "not now",
}
"""Heading of the page that says what was refused."""


class Refusal(InputError):
    """A request that is refused, with the status that says so.

    Parameters
    ----------
    status : int
        HTTP status.
    what : str
        What is wrong.
    where, allowed, cure : str, optional
        As in every error of the project.
    retry_after : int, optional
        Seconds after which it may be tried again.
    """

    def __init__(
        self,
        status: int,
        what: str,
        *,
        where: str = "",
        allowed: str = "",
        cure: str = "",
        retry_after: int = 0,
    ) -> None:
        super().__init__(what, where=where, allowed=allowed, cure=cure)
        self.status = status
        self.retry_after = retry_after
        self.kind = {401: "login", 403: "forbidden", 404: "missing", 429: "throttled"}.get(status, "request")


def not_found(what: str) -> Refusal:
    """Return the refusal of something that is not there.

    Parameters
    ----------
    what : str
        What was asked for.

    Returns
    -------
    Refusal
        Status 404.
    """
    return Refusal(404, what, allowed="something that is kept", cure="Go back and choose it from the list")


def status_of(error: WearlineError) -> int:
    """Return the HTTP status that says what an error says.

    Parameters
    ----------
    error : WearlineError
        The error.

    Returns
    -------
    int
        422 for bad input, 404 for what is not there, 409 for contradictions, 503 while the database is busy.
    """
    if isinstance(error, Refusal):
        return error.status
    if isinstance(error, StorageError):
        if error.what.startswith(("there is no inspection", "there is no such")):
            return 404
        busy = ("the database is locked", "the disk", "the database server", "the database cannot be")
        return 503 if error.what.startswith(busy) else 409
    return 422 if isinstance(error, InputError) else 500
