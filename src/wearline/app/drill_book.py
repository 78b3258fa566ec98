"""The results of drills on disk: for each person one file of lines that only grows, and one open drill.

A line is written whole or not at all, and no line is ever changed. The open drill is replaced as a whole
after each step, so that a drill that was broken off goes on where it stood; it is scored in one piece or not
at all.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wearline.errors import InputError, StorageError

__all__ = ["DEFAULT_FOLDER", "DrillBook", "OpenDrill", "Results", "is_folder_fault", "open_drills"]

DEFAULT_FOLDER = Path("~/.local/share/wearline/drills")
"""Where drills are kept unless a folder is named."""

_LONGEST_NAME = 80
_GREATEST = 1e9
"""No number of points or minutes reaches this."""

_OPEN = ".open.json"
_FOLDER_FAULT = "the drills cannot be read or written"


@dataclass(frozen=True, slots=True)
class Results:
    """What a person has done so far.

    Parameters
    ----------
    lines : tuple of dict
        Finished drills, oldest first.
    unreadable : int
        Lines that cannot be read, as after a power cut in the middle of a write by another program.
    """

    lines: tuple[dict[str, Any], ...]
    unreadable: int = 0


@dataclass(frozen=True, slots=True)
class OpenDrill:
    """A drill that is not finished, as it is saved.

    Parameters
    ----------
    person : str
        Whose; empty where the file does not say.
    id : str
        Its id.
    level, seed : int
        Which case.
    begun : str
        When, in ISO form.
    minutes : float, [min]
        Time spent so far.
    steps : int
        Commands so far.
    """

    person: str
    id: str
    level: int
    seed: int
    begun: str
    minutes: float
    steps: int


def open_drills(folder: str | Path) -> tuple[OpenDrill, ...]:
    """Return the drills of everybody that are not finished.

    Parameters
    ----------
    folder : str or Path
        The folder.

    Returns
    -------
    tuple of OpenDrill
        By name. Files that cannot be read are left out: their owner is told when going on.
    """
    found = []
    for path in sorted(Path(folder).expanduser().glob(f"*{_OPEN}")):
        try:
            kept = json.loads(path.read_text(encoding="utf-8"))
            found.append(_open_drill(kept))
        except (OSError, ValueError, TypeError, KeyError):
            continue
    return tuple(sorted(found, key=lambda each: each.person.casefold()))


def is_folder_fault(error: InputError) -> bool:
    """Return whether an error is about the folder, and not about what stands in it.

    Parameters
    ----------
    error : InputError
        The error.

    Returns
    -------
    bool
        True where the disk or a permission is at fault.
    """
    return error.what.startswith(_FOLDER_FAULT)


def _is_result(line: dict[str, Any]) -> bool:
    """Whether a line holds what is shown of a result, each of its kind."""
    if not all(isinstance(line.get(name, 0), int) for name in ("level", "seed")):
        return False
    best = line.get("best_minutes")
    numbers = (line.get("points"), line.get("minutes", 0.0), 0.0 if best is None else best)
    return all(isinstance(each, int | float) and abs(each) < _GREATEST for each in numbers)


def _open_drill(kept: dict[str, Any]) -> OpenDrill:
    return OpenDrill(
        person=str(kept.get("person", "")),
        id=str(kept["id"]),
        level=int(kept["level"]),
        seed=int(kept["seed"]),
        begun=str(kept.get("begun", "")),
        minutes=float(kept.get("minutes", 0.0)),
        steps=len(kept["commands"]),
    )


class DrillBook:
    """The folder of drills, as one person sees it.

    Parameters
    ----------
    folder : str or Path
        The folder; made when something is written.
    person : str
        Whose drills; 1 to 80 signs.

    Raises
    ------
    InputError
        If the name is empty, too long or holds control characters.
    """

    def __init__(self, folder: str | Path, person: str) -> None:
        self.person = " ".join(person.split())
        if not self.person or len(self.person) > _LONGEST_NAME or not self.person.isprintable():
            raise InputError(
                f"{person[:_LONGEST_NAME]!r} is no name",
                where="--person",
                allowed=f"1 to {_LONGEST_NAME} printable signs",
                cure="Give the name under which the results are kept",
            )
        self.folder = Path(folder).expanduser()
        plain = re.sub(r"[^a-z0-9]+", "-", self.person.casefold()).strip("-")[:40]
        # Two names may look alike without their signs; the digest keeps them apart.
        mark = hashlib.sha256(self.person.encode()).hexdigest()[:8]
        self._stem = f"{plain}-{mark}".strip("-")

    @property
    def results_file(self) -> Path:
        """File of the finished drills."""
        return self.folder / f"{self._stem}.jsonl"

    @property
    def open_file(self) -> Path:
        """File of the drill that is not finished."""
        return self.folder / f"{self._stem}{_OPEN}"

    # ------------------------------------------------------------ the open drill

    def open_drill(self) -> dict[str, Any] | None:
        """Return the drill that is not finished.

        Returns
        -------
        dict or None
            As saved; None where there is none. One whose result was written just before a crash is closed.

        Raises
        ------
        StorageError
            If the file cannot be read as a drill.
        """
        try:
            text = self.open_file.read_text(encoding="utf-8")
        except FileNotFoundError:
            return None
        except OSError as error:
            raise self._fault(self.open_file, error) from error
        try:
            found = json.loads(text)
            complete = isinstance(found, dict) and {"id", "level", "seed", "commands"} <= set(found)
        except ValueError:
            found, complete = None, False
        if not complete:
            raise self._unreadable()
        if any(line.get("id") == found["id"] for line in self.results().lines):
            self.drop()
            return None
        assert isinstance(found, dict)
        return found

    def save(self, drill: dict[str, Any]) -> None:
        """Save the open drill, whole or not at all.

        Parameters
        ----------
        drill : dict
            JSON values.

        Raises
        ------
        StorageError
            If it cannot be written.
        """
        fresh = self.open_file.with_suffix(f".{os.getpid()}.new")
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            with fresh.open("w", encoding="utf-8") as stream:
                json.dump(drill, stream, ensure_ascii=False, indent=1)
                stream.flush()
                os.fsync(stream.fileno())
            fresh.replace(self.open_file)
        except OSError as error:
            raise self._fault(self.open_file, error) from error

    def drop(self) -> bool:
        """Throw the open drill away.

        Returns
        -------
        bool
            Whether there was one.

        Raises
        ------
        StorageError
            If it cannot be removed.
        """
        try:
            self.open_file.unlink()
        except FileNotFoundError:
            return False
        except OSError as error:
            raise self._fault(self.open_file, error) from error
        return True

    def waiting(self) -> OpenDrill | None:
        """Return what is known of the drill that is not finished, without opening it.

        Returns
        -------
        OpenDrill or None
            None where there is none.

        Raises
        ------
        StorageError
            If the file cannot be read as a drill.
        """
        kept = self.open_drill()
        if kept is None:
            return None
        try:
            return _open_drill(kept)
        except (ValueError, TypeError) as error:
            raise self._unreadable() from error

    def _unreadable(self) -> StorageError:
        return StorageError(
            "the open drill cannot be read",
            where=str(self.open_file),
            cure="Write 'wearline drill --drop' to throw it away; finished drills are not touched",
        )

    # ------------------------------------------------------------ finished drills

    def results(self) -> Results:
        """Return the finished drills.

        Returns
        -------
        Results
            Oldest first.

        Raises
        ------
        StorageError
            If the file cannot be opened.
        """
        try:
            rows = self.results_file.read_text(encoding="utf-8", errors="replace").splitlines()
        except FileNotFoundError:
            return Results(())
        except OSError as error:
            raise self._fault(self.results_file, error) from error
        lines, unreadable = [], 0
        for row in rows:
            try:
                line = json.loads(row)
            except ValueError:
                unreadable += bool(row.strip())
                continue
            if isinstance(line, dict) and _is_result(line):
                lines.append(line)
            else:
                unreadable += 1
        return Results(tuple(lines), unreadable)

    def append(self, result: dict[str, Any]) -> None:
        """Add a finished drill, whole or not at all.

        Parameters
        ----------
        result : dict
            JSON values.

        Raises
        ------
        StorageError
            If it cannot be written; the file is then as it was.
        """
        line = json.dumps(result, ensure_ascii=False, allow_nan=False).encode() + b"\n"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            with self.results_file.open("ab", buffering=0) as stream:
                before = stream.tell()
                if before and self._last_byte() != b"\n":
                    line = b"\n" + line
                try:
                    if stream.write(line) != len(line):
                        raise OSError("the disk took only a part of the line")
                    os.fsync(stream.fileno())
                except OSError:
                    stream.truncate(before)
                    raise
        except OSError as error:
            raise self._fault(self.results_file, error) from error

    def _last_byte(self) -> bytes:
        with self.results_file.open("rb") as stream:
            stream.seek(-1, os.SEEK_END)
            return stream.read(1)

    def _fault(self, path: Path, error: OSError) -> StorageError:
        return StorageError(
            f"{_FOLDER_FAULT}: {error.strerror or error}",
            where=str(path),
            allowed="a folder that may be written to",
            cure="Name another folder: drill --results, serve --drills",
        )
