"""Options that several commands share, and how answers are printed."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from typing import Any, TypeVar

import click

from wearline.errors import InputError

__all__ = ["as_json", "file_argument", "judging_options", "make_request", "print_lines", "today_option"]

_F = TypeVar("_F", bound=Callable[..., Any])

as_json = click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output.")

file_argument = click.argument("file", metavar="FILE")


def _day(ctx: click.Context, parameter: click.Parameter, value: str | None) -> date:
    del ctx, parameter
    if value is None:
        return date.today()
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise InputError(
            f"'{value}' is not a day",
            where="--today",
            allowed="a day as 2026-09-14",
            cure="Write year-month-day",
        ) from None


today_option = click.option(
    "--today", callback=_day, default=None, metavar="DAY", help="Judge as if this were today (2026-09-14)."
)


def judging_options(function: _F) -> _F:
    """Add the options of every command that judges a file.

    Parameters
    ----------
    function : callable
        The command's function.

    Returns
    -------
    callable
        The same with options.
    """
    options = [
        click.option(
            "--limits",
            "limits",
            multiple=True,
            metavar="FILE",
            help="Your file of the maker's limits; may repeat.",
        ),
        click.option(
            "--rule-pack",
            "rule_packs",
            multiple=True,
            metavar="ID",
            help="Answer by this rule pack instead of the file's; may repeat.",
        ),
        click.option(
            "--inches",
            "inches",
            multiple=True,
            metavar="PLACE",
            help="Pad corners and play of this wheel end were typed in inches; may repeat.",
        ),
        click.option(
            "--decide",
            "decide",
            type=click.Choice(["guarded", "simple"]),
            default="guarded",
            help="Service limits with the gauge's uncertainty (guarded) or as they stand (simple).",
        ),
        today_option,
        as_json,
    ]
    for option in reversed(options):
        function = option(function)
    return function


def make_request(file: str, options: Mapping[str, Any]) -> Any:
    """Build the request of a judging command.

    Parameters
    ----------
    file : str
        The file.
    options : mapping
        As from ``judging_options``.

    Returns
    -------
    Request
        For ``wearline.app``.
    """
    from wearline.app.judging import Request
    from wearline.assessment.verdicts import DecisionSettings
    from wearline.uncertainty.rules import DecisionRule

    return Request(
        path=file,
        today=options["today"],
        maker_files=options["limits"],
        rule_packs=options["rule_packs"],
        inches=options["inches"],
        decision=DecisionSettings(service=DecisionRule(options["decide"])),
    )


def print_json(answer: Mapping[str, Any]) -> None:
    """Print one JSON object.

    Parameters
    ----------
    answer : mapping
        JSON values.
    """
    sys.stdout.write(json.dumps(answer, ensure_ascii=False, indent=1, allow_nan=False) + "\n")


def print_lines(lines: Iterable[str]) -> None:
    """Print lines of text.

    Parameters
    ----------
    lines : iterable of str
        The lines.
    """
    sys.stdout.write("\n".join(lines) + "\n")
