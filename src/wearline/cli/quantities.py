"""A command whose quantities may be written without quotation marks: ``--mass 40 t``."""

from __future__ import annotations

import re

import click

__all__ = ["QuantityCommand", "joined"]

_NUMBER = re.compile(r"-?\d+(?:[.,]\d+)?")
_UNIT = re.compile("t|kg|lb|%|km|m|mi|ft|kW|W|km/h|kmh|mph|m/s|degC|degF|K|bar|kPa|MPa|psi")


def joined(words: list[str]) -> list[str]:
    """Join each number that follows an option with the unit behind it.

    Parameters
    ----------
    words : list of str
        Words after the command's name.

    Returns
    -------
    list of str
        ``["--mass", "40", "t"]`` becomes ``["--mass", "40 t"]``; everything else stays.
    """
    found: list[str] = []
    for word in words:
        number = len(found) > 1 and found[-2].startswith("--") and _NUMBER.fullmatch(found[-1])
        if number and _UNIT.fullmatch(word):
            found[-1] += f" {word}"
        else:
            found.append(word)
    return found


class QuantityCommand(click.Command):
    """Takes ``--mass 40 t`` for ``--mass '40 t'``."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Join numbers and units, then read the options as usual.

        Parameters
        ----------
        ctx : click.Context
            The command's context.
        args : list of str
            Words after its name.

        Returns
        -------
        list of str
            What was not used.
        """
        return super().parse_args(ctx, joined(args))
