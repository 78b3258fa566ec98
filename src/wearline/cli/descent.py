"""``wearline descent``."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from wearline.cli.options import as_json, print_json, print_lines, today_option
from wearline.cli.quantities import QuantityCommand

__all__ = ["command"]


@click.command("descent", cls=QuantityCommand)
@click.option("--mass", required=True, metavar="MASS", help="Mass of the whole vehicle, as '40 t'.")
@click.option("--slope", required=True, metavar="SLOPE", help="Slope downhill, as '6 %'.")
@click.option("--length", required=True, metavar="LENGTH", help="Length of the slope, as '5 km'.")
@click.option(
    "--brakes", required=True, type=float, metavar="N", help="Brakes that work; a weak one by its share."
)
@click.option("--retarder", default="", metavar="POWER", help="Retarder or engine brake, as '150 kW'.")
@click.option("--speed", default="", metavar="SPEED", help="Speed to look at, as '50 km/h'.")
@click.option("--limit", default="", metavar="TEMPERATURE", help="Not to be passed; 250 degC by default.")
@click.option("--start", default="", metavar="TEMPERATURE", help="Of the brakes at the top; 40 degC.")
@click.option("--ambient", default="", metavar="TEMPERATURE", help="Of the air; 20 degC.")
@click.option("--fastest", default="", metavar="SPEED", help="Speed limit; 90 km/h.")
@click.option("--design", default="generic-22.5", show_default=True, help="Brake design of the catalogue.")
@click.option("--plot", metavar="FILE", help="Also draw the temperature: .svg, .png or .pdf.")
@today_option
@as_json
@click.pass_context
def command(ctx: click.Context, /, as_json: bool, plot: str | None, today: date, **words: Any) -> None:
    """How fast may it go down a long slope, and how hot do the brakes get?"""
    from wearline.app.descending import CAUTIONS, DescentQuestion, descent_answer, plan_a_descent

    plan = plan_a_descent(DescentQuestion(**words), today=today)
    if plot:
        from wearline.reports.plots import descent_chart, write_chart

        write_chart(descent_chart(plan), plot)
    if as_json:
        print_json(descent_answer(plan))
    else:
        from wearline.reports.braking_words import descent_lines

        print_lines(descent_lines(plan, CAUTIONS))
    ctx.exit(0 if plan.holds else 1)
