"""A process beside the server for long work, that gives way to whoever waits for a page.

The server answers pages in one process, in which Python runs one computation at a time. What takes from a
tenth of a second to minutes is therefore done in another one, at a lower priority, with the same database.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import traceback
from collections.abc import Callable
from datetime import datetime
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from threading import Lock
from typing import Any, Concatenate, ParamSpec, TypeVar

from wearline.errors import InputError, ProgramFault, WearlineError
from wearline.web.config import ServeConfig
from wearline.web.shop import Shop

__all__ = ["Beside"]

_P = ParamSpec("_P")
_T = TypeVar("_T")

_NICE = 10
"""By how much the process stands back behind the server (POSIX, nice)."""


class Beside:
    """One process for one thing after another; started when it is needed first.

    Parameters
    ----------
    shop : Shop
        The database; its configuration says whether there is a process at all. Without one the work is done
        where it is asked for.
    """

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._one_at_a_time = Lock()
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._closed = False

    def ask(self, task: Callable[Concatenate[Shop, _P], _T], /, *args: _P.args, **more: _P.kwargs) -> _T:
        """Have something worked out, and wait for it; the thread that waits costs nothing.

        Parameters
        ----------
        task : callable
            A function of a module, that takes the shop first.
        *args, **more
            What it takes besides; plain values.

        Returns
        -------
        object
            What it returns; plain values.

        Raises
        ------
        InputError
            As the task raises it.
        ProgramFault
            If the task or the process failed.
        """
        if not self._shop.config.beside:
            return task(self._shop, *args, **more)
        with self._one_at_a_time:
            try:
                pipe = self._ready()
                pipe.send((task, args, more, self._shop.now))
                good, answer = pipe.recv()
            except (EOFError, OSError):
                self._drop()
                raise ProgramFault("the process for long work ended before it answered") from None
        if not good:
            kind, parts = answer
            raise InputError(**parts) if kind == "input" else ProgramFault(**parts)
        found: _T = answer
        return found

    def _ready(self) -> Connection:
        if self._closed:
            raise EOFError
        if self._pipe is not None and self._process is not None and self._process.is_alive():
            return self._pipe
        self._drop()
        context = multiprocessing.get_context("spawn")
        own, other = context.Pipe()
        process = context.Process(
            target=_serve, args=(other, self._shop.config), name="wearline-beside", daemon=True
        )
        process.start()
        other.close()
        self._process, self._pipe = process, own
        return own

    def _drop(self) -> None:
        process, pipe = self._process, self._pipe
        self._process = self._pipe = None
        if process is not None:
            process.terminate()
            process.join(timeout=5)
        if pipe is not None:
            pipe.close()

    def close(self) -> None:
        """End the process, whatever it is doing: nothing half done is stored."""
        self._closed = True
        process = self._process
        if process is not None:
            process.terminate()
            process.join(timeout=5)


def _serve(pipe: Connection, config: ServeConfig) -> None:
    """What the process does: one task after another, until the server is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is meant for the server, which ends this one
    if hasattr(os, "nice"):
        os.nice(_NICE)
    shop: Shop | None = None
    while True:
        try:
            task, args, more, moment = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            if shop is None:
                shop = Shop(config)
            answer = (True, _done(shop, moment, task, args, more))
        except WearlineError as error:
            kind = "input" if isinstance(error, InputError) else "fault"
            answer = (False, (kind, _parts(error)))
        except Exception as error:  # the terminal gets everything, the page only that it failed
            traceback.print_exception(error)
            answer = (False, ("fault", {"what": f"the program failed: {type(error).__name__}"}))
        try:
            pipe.send(answer)
        except OSError:
            return


def _done(shop: Shop, moment: datetime, task: Callable[..., Any], args: Any, more: Any) -> Any:
    # the server may have changed settings and limits a moment ago
    shop.forget()
    shop.clock = lambda: moment
    return task(shop, *args, **more)


def _parts(error: WearlineError) -> dict[str, str]:
    return {"what": error.what, "where": error.where, "allowed": error.allowed, "cure": error.cure}
