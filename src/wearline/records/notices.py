"""Warnings as objects: something that a person should know and that does not stop the work."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Notice"]


@dataclass(frozen=True, slots=True)
class Notice:
    """One warning.

    Parameters
    ----------
    code : str
        Stable name, for programs.
    text : str
        The sentence, for people.
    where : str
        Wheel end, field or place in a file.
    cure : str
        What to do about it.
    """

    code: str
    text: str
    where: str = ""
    cure: str = ""
