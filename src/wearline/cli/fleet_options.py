"""Options of the commands that ask everything that was kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import click

from wearline.cli.keep import database_option
from wearline.cli.options import as_json, today_option

__all__ = ["decision_option", "fleet_options", "fleet_question", "shops_option"]

_F = TypeVar("_F", bound=Callable[..., Any])

decision_option = click.option(
    "--decision",
    multiple=True,
    metavar="ID=WORD",
    help="Of a doubtful inspection: use, leave out, miles, km, hours, stops.",
)

shops_option = click.option(
    "--shops", default=None, metavar="FILE", help="TOML of shops, hours, prices and absences."
)


def fleet_options(function: _F) -> _F:
    """Add the options of a question to everything that was kept.

    Parameters
    ----------
    function : callable
        The command's function.

    Returns
    -------
    callable
        The same with options.
    """
    for option in (as_json, today_option, decision_option, shops_option, database_option):
        function = option(function)
    return function


def fleet_question(options: Mapping[str, Any]) -> Any:
    """Build the forecast that a question to the fleet rests on.

    Parameters
    ----------
    options : mapping
        As from ``fleet_options``.

    Returns
    -------
    Question
        For ``wearline.app``.
    """
    from wearline.app.forecasting import Question, decisions_from
    from wearline.forecasting.outlook import Options

    return Question(
        file=None,
        database=options["database"],
        until=options["today"],
        options=Options(decisions=decisions_from(options["decision"])),
    )
