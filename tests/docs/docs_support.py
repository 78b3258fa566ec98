"""Pages of the documentation, their blocks, and a way to run what they show."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", ROOT / "CHANGELOG.md", *sorted(DOCS.rglob("*.md"))]
LEFT_OUT = "[...]"

_BLOCK = re.compile(r"^```([\w-]*)([^\n]*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_LINK = re.compile(r"(?<!!)\[[^\]]+\]\(([^)\s]+)\)")


@dataclass(frozen=True)
class Block:
    """One fenced block of a page."""

    page: Path
    language: str
    text: str


@dataclass(frozen=True)
class Shown:
    """One command of a console block, and the output that the page shows for it."""

    command: str
    lines: tuple[str, ...]


def name_of(page: Path) -> str:
    return page.relative_to(ROOT).as_posix()


def blocks(page: Path) -> list[Block]:
    text = page.read_text(encoding="utf-8")
    return [Block(page, match[1], match[3]) for match in _BLOCK.finditer(text)]


def prose(page: Path) -> str:
    """The page without its fenced blocks."""
    return _BLOCK.sub("", page.read_text(encoding="utf-8"))


def links(page: Path) -> list[str]:
    return _LINK.findall(prose(page))


def shown(block: str) -> list[Shown]:
    """Split a console block at its commands."""
    found: list[tuple[str, list[str]]] = []
    for line in block.splitlines():
        if line.startswith("$ "):
            found.append((line[2:], []))
        elif found:
            found[-1][1].append(line.rstrip())
    return [Shown(command, tuple(lines)) for command, lines in found]


def mismatch(quoted: tuple[str, ...], printed: str) -> str:
    """Say what a page quotes and the command did not print; empty if all of it was printed.

    Between two ``[...]`` the lines must stand together as quoted, in the order of the page; without one at
    the head or at the foot the quotation begins or ends with the output.
    """
    lines = [line.rstrip() for line in printed.rstrip("\n").splitlines()]
    pieces: list[list[str]] = [[]]
    for line in quoted:
        if line == LEFT_OUT:
            pieces.append([])
        else:
            pieces[-1].append(line)
    pieces = [_trimmed(piece) for piece in pieces]
    at = 0
    for number, piece in enumerate(pieces):
        if not piece:
            continue
        first, last = number == 0, number == len(pieces) - 1
        starts = [0] if first else range(at, len(lines) - len(piece) + 1)
        if last:
            starts = [start for start in starts if start == len(lines) - len(piece)]
        for start in starts:
            if lines[start : start + len(piece)] == piece:
                at = start + len(piece)
                break
        else:
            return "not printed like this:\n" + "\n".join(piece)
    return ""


def _trimmed(piece: list[str]) -> list[str]:
    """Without blank lines at either end: around ``[...]`` they only set it off."""
    while piece and not piece[0]:
        piece = piece[1:]
    while piece and not piece[-1]:
        piece = piece[:-1]
    return piece
