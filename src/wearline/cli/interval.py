"""``wearline interval``."""

from __future__ import annotations

from typing import Any

import click

from wearline.cli.fleet_options import fleet_options, fleet_question
from wearline.cli.options import print_json, print_lines

__all__ = ["command"]


@click.command("interval")
@click.option(
    "--risk",
    type=click.FloatRange(0.0001, 0.5),
    default=0.01,
    show_default=True,
    help="Share of pad sets that may cross the service limit unseen.",
)
@click.option("--plot", default=None, metavar="FILE", help="Cost and risk over the distance, as SVG.")
@fleet_options
@click.pass_context
def command(ctx: click.Context, /, as_json: bool, plot: str | None, **options: Any) -> None:
    """How far may a vehicle run between two looks at its pads? For each duty and axle role, with the cost."""
    from wearline.app.interval import intervals_of
    from wearline.app.shop_file import ShopFile, read_shops

    shops = read_shops(options["shops"]) if options["shops"] else ShopFile()
    answer = intervals_of(fleet_question(options), shops, options["risk"])
    if plot is not None:
        from wearline.app.reporting import write_text
        from wearline.reports.interval_plot import draw_intervals

        write_text(plot, draw_intervals(answer))
    if as_json:
        print_json(answer)
    else:
        from wearline.reports.interval_text import interval_lines

        print_lines(interval_lines(answer))
    ctx.exit(0 if all(group["every"] is not None for group in answer["groups"]) else 1)
