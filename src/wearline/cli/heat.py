"""``wearline heat``."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from wearline.cli.options import as_json, print_json, print_lines, today_option
from wearline.cli.quantities import QuantityCommand

__all__ = ["command"]


@click.command("heat", cls=QuantityCommand)
@click.argument("path", metavar="PROFILE")
@click.option("--mass", required=True, metavar="MASS", help="Mass of the whole vehicle, as '18 t'.")
@click.option("--brakes", required=True, type=float, metavar="N", help="Brakes that share the work.")
@click.option("--retarder", default="", metavar="POWER", help="Retarder or engine brake, as '150 kW'.")
@click.option("--start", default="", metavar="TEMPERATURE", help="Of the rotor at the start; 20 degC.")
@click.option("--ambient", default="", metavar="TEMPERATURE", help="Of the air; 20 degC.")
@click.option("--design", default="generic-22.5", show_default=True, help="Brake design of the catalogue.")
@click.option("--plot", metavar="FILE", help="Also draw temperature over time: .svg, .png or .pdf.")
@click.option("--plot-profile", metavar="FILE", help="Also draw temperature through the thickness.")
@today_option
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    /,
    as_json: bool,
    plot: str | None,
    plot_profile: str | None,
    today: date,
    **words: Any,
) -> None:
    """How hot do the rotors get over the drive in PROFILE, a CSV with time and speed, and slope if known?"""
    from wearline.app.heating import HEAT_CAUTIONS, HeatQuestion, heat_answer, heat_over_a_drive, too_hot

    run = heat_over_a_drive(HeatQuestion(**words), today=today)
    if plot or plot_profile:
        from wearline.reports.plots import rotor_profile_chart, rotor_time_chart, write_chart

        if plot:
            write_chart(rotor_time_chart(run.history), plot)
        if plot_profile:
            write_chart(rotor_profile_chart(run.history, run.profile_times, run.thickness), plot_profile)
    if as_json:
        print_json(heat_answer(run))
    else:
        from wearline.reports.braking_words import heat_lines

        print_lines(heat_lines(run, HEAT_CAUTIONS))
    ctx.exit(1 if too_hot(run) else 0)
