"""Best routes through drills, each worked out once and stored: it takes seconds, and never changes."""

from __future__ import annotations

import hashlib
import json
import os
import threading
from pathlib import Path
from typing import Any

from wearline import __version__
from wearline.app.drill_opening import case_digest, opened_document
from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError, StorageError
from wearline.practice.drill import DrillSession
from wearline.practice.drill_cases import DrillCase
from wearline.practice.drill_route import Route, best_route

__all__ = ["route_from_plain", "route_of", "route_to_plain", "stored_route"]


def route_of(case: DrillCase, folder: str | Path | None) -> Route:
    """Return the best route through a case: the stored one, else worked out and stored.

    Parameters
    ----------
    case : DrillCase
        The case.
    folder : str or Path or None
        Folder of the drills; None stores nothing.

    Returns
    -------
    Route
        The route, without what it believed on the way.

    Raises
    ------
    StorageError
        If it cannot be stored.
    """
    if folder is None:
        return best_route(case, opened_document)
    known = stored_route(case, folder)
    if known is None:
        known = best_route(case, opened_document)
        _store(case, folder, known)
    return known


def stored_route(case: DrillCase, folder: str | Path) -> Route | None:
    """Return the best route through a case if it was worked out before.

    Parameters
    ----------
    case : DrillCase
        The case.
    folder : str or Path
        Folder of the drills.

    Returns
    -------
    Route or None
        None where there is none from this version of program and catalogue, or it cannot be read.
    """
    try:
        found = json.loads(_file(case, folder).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return route_from_plain(case, found)


def route_to_plain(route: Route) -> dict[str, Any]:
    """Return a route as JSON values.

    Parameters
    ----------
    route : Route
        The route.

    Returns
    -------
    dict
        Its tests and how sure it is at the end; what they show and cost follows from the case.
    """
    return {"sure": route.sure, "steps": [{"test": step.test, "at": step.at} for step in route.steps]}


def route_from_plain(case: DrillCase, plain: object) -> Route | None:
    """Return a route from its JSON values.

    Parameters
    ----------
    case : DrillCase
        The case.
    plain : object
        As from ``route_to_plain``.

    Returns
    -------
    Route or None
        None where they are no route through this case.
    """
    if not isinstance(plain, dict):
        return None
    session = DrillSession.begin(case)
    try:
        sure = float(plain["sure"])
        for step in plain["steps"]:
            session = session.take(str(step["test"]), str(step["at"]), "")
    except (KeyError, TypeError, ValueError, InputError):
        return None
    return Route(session.asked, session.minutes, sure, ())


def _file(case: DrillCase, folder: str | Path) -> Path:
    """File of a route; program and catalogue decide it, so both are in its name."""
    made_by = f"{case_digest(case)} {__version__} {load_catalogue().version}"
    mark = hashlib.sha256(made_by.encode()).hexdigest()[:16]
    return Path(folder).expanduser() / "routes" / f"{case.name}-{mark}.json"


def _store(case: DrillCase, folder: str | Path, route: Route) -> None:
    path = _file(case, folder)
    fresh = path.with_suffix(f".{os.getpid()}.{threading.get_ident()}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        fresh.write_text(json.dumps(route_to_plain(route)), encoding="utf-8")
        fresh.replace(path)
    except OSError as error:
        raise StorageError(
            f"the drills cannot be read or written: {error.strerror or error}",
            where=str(path),
            allowed="a folder that may be written to",
            cure="Name another folder: drill --results, serve --drills",
        ) from error
