"""``wearline outlook``."""

from __future__ import annotations

from typing import Any

import click

from wearline.cli.fleet_options import decision_option, shops_option
from wearline.cli.keep import database_option
from wearline.cli.options import judging_options, make_request, print_json, print_lines

__all__ = ["command"]


@click.command("outlook")
@click.argument("file", metavar="[FILE]", required=False)
@database_option
@click.option("--vehicle", default=None, metavar="ID", help="Show only this one; all are learnt from.")
@click.option("--before", type=float, default=None, metavar="KM", help="Distance to the next planned visit.")
@click.option(
    "--risk", type=click.FloatRange(0.0001, 0.5), default=0.01, show_default=True, help="Accepted chance."
)
@decision_option
@click.option("--plot", default=None, metavar="FILE", help="SVG of every wheel end's history with its fan.")
@click.option(
    "--fleet-plot", default=None, metavar="FILE", help="SVG of lives, renewals and ends worth a look."
)
@shops_option
@judging_options
@click.pass_context
def command(
    ctx: click.Context, /, file: str | None, database: str, as_json: bool, plot: str | None, **options: Any
) -> None:
    """When must the wheels come off next? From one FILE, or from everything kept in the database."""
    from wearline.app.forecasting import Question, crossing_soon, decisions_from, outlook, outlook_answer
    from wearline.app.shop_file import ShopFile, read_shops
    from wearline.forecasting.outlook import Options

    before = options["before"]
    shops = read_shops(options["shops"]) if options["shops"] else ShopFile()
    found = outlook(
        Question(
            file=make_request(file, options) if file else None,
            database=database,
            vehicle=options["vehicle"],
            until=options["today"],
            options=Options(
                before=None if before is None else 1e3 * before, decisions=decisions_from(options["decision"])
            ),
        )
    )
    if plot is not None:
        from wearline.reports.outlook_plot import write_outlook_plot

        write_outlook_plot(found, plot)
    if options["fleet_plot"] is not None:
        _fleet_plot(found, shops, options["fleet_plot"])
    if as_json:
        print_json(outlook_answer(found, risk=options["risk"], shops=shops))
    else:
        from wearline.reports.outlook_text import outlook_lines

        print_lines(outlook_lines(found))
    ctx.exit(1 if crossing_soon(found, options["risk"]) else 0)


def _fleet_plot(found: Any, shops: Any, path: str) -> None:
    from wearline.app.fleet_wear import fleet_wear
    from wearline.app.reporting import write_text
    from wearline.errors import InputError
    from wearline.reports.fleet_plot import draw_fleet_wear

    wear = fleet_wear(found, shops)
    if wear is None:
        raise InputError(
            "there is no pad to draw a fleet of", where="--fleet-plot", cure="Keep inspections first"
        )
    write_text(path, draw_fleet_wear(wear))
