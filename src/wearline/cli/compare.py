"""``wearline compare``."""

from __future__ import annotations

from typing import Any

import click

from wearline.cli.fleet_options import fleet_options, fleet_question
from wearline.cli.options import print_json, print_lines

__all__ = ["command"]


@click.command("compare")
@click.option(
    "--by",
    default="pad_part",
    show_default=True,
    metavar="KEY",
    help="What splits the pad sets: pad_part, pad_batch, duty, place, a label of the vehicle ...",
)
@click.option("--first", default="", metavar="GROUP", help="Group that the others are held against.")
@click.option(
    "--smallest",
    type=click.FloatRange(1.0, 100.0),
    default=15.0,
    show_default=True,
    help="Difference worth knowing, in percent.",
)
@click.option("--plot", default=None, metavar="FILE", help="Cost of every set and pair, as SVG.")
@fleet_options
@click.pass_context
def command(ctx: click.Context, /, as_json: bool, plot: str | None, **options: Any) -> None:
    """Which pads, or which group, cost less on the road? Wear and rotor together, paired where it can be."""
    from wearline.app.comparison import CompareRequest, compare_fleet
    from wearline.app.shop_file import ShopFile, read_shops

    answer = compare_fleet(
        CompareRequest(
            question=fleet_question(options),
            by=options["by"],
            shops=read_shops(options["shops"]) if options["shops"] else ShopFile(),
            first=options["first"],
            smallest=options["smallest"] / 100.0,
        )
    )
    if plot is not None:
        from wearline.app.reporting import write_text
        from wearline.reports.compare_plot import draw_comparison

        write_text(plot, draw_comparison(answer))
    if as_json:
        print_json(answer)
    else:
        from wearline.reports.compare_text import compare_lines

        print_lines(compare_lines(answer))
    ctx.exit(0 if all(each["tells"] for each in answer["comparisons"]) else 1)
