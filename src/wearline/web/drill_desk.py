"""Long work for drills beside the pages: best routes and class papers, one at a time.

A route takes some seconds of computing. It is begun when a drill begins, so that it is usually
there when the person is done; a page never waits for it.
"""

from __future__ import annotations

import secrets
import time
import traceback
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from threading import Lock, RLock, Thread

from wearline.app.drill_class import ClassRequest, class_cases, write_class_sheet
from wearline.app.drill_opening import case_of
from wearline.app.drill_routes import route_of
from wearline.app.drilling import RunningDrill, finished_drill
from wearline.errors import ProgramFault, WearlineError
from wearline.practice.drill_cases import levels
from wearline.web.beside import Beside
from wearline.web.shop import Shop

__all__ = ["DrillDesk", "Part", "WorkState", "route_part", "sheet_parts"]

Part = Callable[[Beside], None]
"""A part of a piece of work; it is handed to a process beside the server where there is one."""

_SEEDS = 100_000
_TRIES = 5
_STOCK = 4
_TURNS = 64
_FAULTS = 200
_REMEMBERED = 40


@dataclass(frozen=True, slots=True)
class WorkState:
    """How far a piece of work is.

    Parameters
    ----------
    working : bool
        Whether it waits or is being done.
    before : int
        How many others are done first.
    seconds : float
        For how long it is being done.
    done : int
        How many of its parts are done.
    fault : str
        Why the last try failed.
    """

    working: bool
    before: int
    seconds: float
    done: int
    fault: str


@dataclass(slots=True)
class _Job:
    work: tuple[Part, ...]
    then: list[tuple[str, Callable[[], None]]] = field(default_factory=list)
    begun: float = 0.0
    done: int = 0


class DrillDesk:
    """The folder of the drills, and the work that is done for them in the background.

    Parameters
    ----------
    folder : str or Path
        Folder of the drills, the same as that of the command.
    beside : Beside
        Does long work.
    """

    def __init__(self, folder: str | Path, beside: Beside) -> None:
        self.folder = Path(folder).expanduser()
        self._beside = beside
        self._lock = Lock()
        self._waiting: OrderedDict[str, _Job] = OrderedDict()
        self._doing: tuple[str, _Job] | None = None
        self._thread: Thread | None = None
        self._faults: OrderedDict[str, str] = OrderedDict()
        self._awaited: dict[str, str] = {}
        self._turns = tuple(RLock() for _ in range(_TURNS))
        self._ready: dict[int, list[int]] = {}
        self._shown: OrderedDict[str, RunningDrill] = OrderedDict()
        self._drawing: Thread | None = None
        self._stopped = False

    # ------------------------------------------------------------ one step at a time

    def turn_of(self, person: str) -> RLock:
        """Return the lock under which the drill of a person takes a step.

        Parameters
        ----------
        person : str
            Whose.

        Returns
        -------
        RLock
            The same for the same name; some names share one.
        """
        return self._turns[hash(person) % len(self._turns)]

    def finished(self, person: str, drill: str) -> RunningDrill:
        """Return a finished drill with its score; those shown lately are remembered.

        Parameters
        ----------
        person : str
            Whose.
        drill : str
            Its id.

        Returns
        -------
        RunningDrill
            In the state ``finished``.

        Raises
        ------
        InputError
            If there is none, or another version made it.
        """
        key = f"{person} {drill}"
        with self._lock:
            found = self._shown.get(key)
        if found is None:
            found = finished_drill(self.folder, person, drill)
            self.remember(found)
        return found

    def remember(self, running: RunningDrill) -> None:
        """Remember a drill that was just scored.

        Parameters
        ----------
        running : RunningDrill
            In the state ``finished``.
        """
        with self._lock:
            self._shown[f"{running.book.person} {running.entry['id']}"] = running
            while len(self._shown) > _REMEMBERED:
                self._shown.popitem(last=False)

    # ------------------------------------------------------------ vehicles in stock

    def prepare(self) -> None:
        """Draw some vehicles of each level in the background, so that a new drill opens at once."""
        with self._lock:
            if self._stopped or not self._missing():
                return
            if self._drawing is None or not self._drawing.is_alive():
                self._drawing = Thread(target=self._draw, name="wearline-drills", daemon=True)
                self._drawing.start()

    def _missing(self) -> int:
        """Level of which the stock is smallest; 0 where it is full."""
        least = min((each.number for each in levels()), key=lambda level: len(self._ready.get(level, ())))
        return least if len(self._ready.get(least, ())) < _STOCK else 0

    def _draw(self) -> None:
        while True:
            with self._lock:
                level = 0 if self._stopped else self._missing()
            if not level:
                return
            try:
                seed = self._drawn(level)
            except ProgramFault:
                return  # whoever asks for this level is told
            with self._lock:
                self._ready.setdefault(level, []).append(seed)

    def _drawn(self, level: int) -> int:
        """A seed whose case can be drawn; the case is then remembered."""
        for _ in range(_TRIES):
            seed = secrets.randbelow(_SEEDS)
            try:
                case_of(level, seed)
            except ProgramFault:
                continue  # no fair case came up with this seed: another one will do
            return seed
        raise ProgramFault(f"no vehicle of level {level} came up with {_TRIES} seeds")

    def fresh_seed(self, level: int) -> int:
        """Return the seed of a new drill.

        Parameters
        ----------
        level : int
            Level.

        Returns
        -------
        int
            That of the vehicle in stock where there is one.
        """
        with self._lock:
            stock = self._ready.get(level)
            found = stock.pop(0) if stock else None
        return self._drawn(level) if found is None else found

    # ------------------------------------------------------------ long work

    def begin(self, name: str, work: tuple[Part, ...]) -> None:
        """Begin a piece of work unless it is waiting or being done already.

        Parameters
        ----------
        name : str
            Of the work.
        work : tuple of Part
            What to do, in order.
        """
        with self._lock:
            self._join(name, work)

    def follow(self, name: str, work: tuple[Part, ...], key: str, then: Callable[[], None]) -> None:
        """Begin a piece of work, before all others, and do something when it is over, whatever came of it.

        Parameters
        ----------
        name : str
            Of the work.
        work : tuple of Part
            What to do, in order.
        key : str
            Of what follows; it is done once, however often it is asked for.
        then : callable
            Does it.
        """
        with self._lock:
            if self._stopped or key in self._awaited:
                return
            self._faults.pop(key, None)
            self._awaited[key] = name
            self._join(name, work).then.append((key, then))
            if name in self._waiting:
                self._waiting.move_to_end(name, last=False)

    def _join(self, name: str, work: tuple[Part, ...]) -> _Job:
        self._faults.pop(name, None)
        if self._doing is not None and self._doing[0] == name:
            return self._doing[1]
        job = self._waiting.setdefault(name, _Job(work))
        if self._thread is None and not self._stopped:
            self._thread = Thread(target=self._work, name="wearline-drill-work", daemon=True)
            self._thread.start()
        return job

    def awaits(self, key: str) -> bool:
        """Return whether something follows that is not done yet.

        Parameters
        ----------
        key : str
            Of what follows.

        Returns
        -------
        bool
            Whether it waits for its work.
        """
        with self._lock:
            return key in self._awaited

    def look(self, name: str, key: str = "") -> WorkState:
        """Return how far a piece of work is.

        Parameters
        ----------
        name : str
            Of the work.
        key : str, optional
            Of what follows it; then the fault is that of what follows.

        Returns
        -------
        WorkState
            Its state.
        """
        with self._lock:
            fault = self._faults.get(key or name, "")
            if self._doing is not None and self._doing[0] == name:
                job = self._doing[1]
                return WorkState(True, 0, round(time.monotonic() - job.begun), job.done, fault)
            if name in self._waiting:
                before = list(self._waiting).index(name) + (self._doing is not None)
                return WorkState(True, before, 0.0, 0, fault)
            return WorkState(key in self._awaited, 0, 0.0, 0, fault)

    def stop(self) -> None:
        """End the work: what is half done is not kept."""
        with self._lock:
            self._stopped = True
            self._waiting.clear()
            thread, drawing = self._thread, self._drawing
        self._beside.close()
        for each in (thread, drawing):
            if each is not None:
                each.join(timeout=10)

    def _work(self) -> None:
        while True:
            with self._lock:
                if not self._waiting or self._stopped:
                    self._thread = None
                    return
                name, job = self._waiting.popitem(last=False)
                job.begun = time.monotonic()
                self._doing = (name, job)
            self._note(name, self._run(job))
            while True:
                with self._lock:
                    if not job.then or self._stopped:
                        self._doing = None
                        break
                    key, then = job.then.pop(0)
                fault = _safely(then)
                with self._lock:
                    self._awaited.pop(key, None)
                self._note(key, fault)

    def _note(self, key: str, fault: str) -> None:
        with self._lock:
            if fault and not self._stopped:
                self._faults[key] = fault
                while len(self._faults) > _FAULTS:
                    self._faults.popitem(last=False)

    def _run(self, job: _Job) -> str:
        """Do the work part by part; returns what went wrong."""
        for part in job.work:
            fault = "" if self._stopped else _safely(partial(part, self._beside))
            if fault or self._stopped:
                return fault
            job.done += 1
        return ""


# ---------------------------------------------------------------- the work itself


def route_part(folder: Path, level: int, seed: int) -> Part:
    """Return the work of finding and storing the best route through a case.

    Parameters
    ----------
    folder : Path
        Folder of the drills.
    level, seed : int
        The case.

    Returns
    -------
    Part
        The work.
    """
    return lambda beside: beside.ask(_find_route, folder, level, seed)


def sheet_parts(request: ClassRequest) -> tuple[Part, ...]:
    """Return the work of writing the papers of a class: a route for each case, then the papers.

    Parameters
    ----------
    request : ClassRequest
        The papers, with the folder of the drills.

    Returns
    -------
    tuple of Part
        The work.
    """
    routes = tuple(_route_of_class(request, number) for number in range(request.cases))
    return (*routes, lambda beside: beside.ask(_write_sheet, request))


def _route_of_class(request: ClassRequest, number: int) -> Part:
    return lambda beside: beside.ask(_find_route_of, request, number)


def _find_route(shop: Shop, folder: Path, level: int, seed: int) -> None:
    del shop
    route_of(case_of(level, seed), folder)


def _find_route_of(shop: Shop, request: ClassRequest, number: int) -> None:
    del shop
    route_of(class_cases(request)[number], request.folder)


def _write_sheet(shop: Shop, request: ClassRequest) -> None:
    del shop
    Path(request.out).parent.mkdir(parents=True, exist_ok=True)
    write_class_sheet(request)


def _safely(follow: Callable[[], None]) -> str:
    try:
        follow()
    except WearlineError as error:
        return str(error)
    except Exception as error:  # the page says it; the terminal gets the rest
        traceback.print_exception(error)
        return f"the program failed: {type(error).__name__}"
    return ""
