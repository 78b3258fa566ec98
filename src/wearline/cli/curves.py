"""``wearline curves``."""

from __future__ import annotations

import click

from wearline.cli.options import as_json, file_argument, print_json, print_lines
from wearline.cli.quantities import QuantityCommand

__all__ = ["command"]


@click.command("curves", cls=QuantityCommand)
@file_argument
@click.option("--full-pressure", default="", metavar="PRESSURE", help="Extrapolate to this; 6.5 bar.")
@click.option("--mass", default="", metavar="MASS", help="For the efficiency at full pressure, as '18 t'.")
@click.option("--plot", metavar="FILE", help="Also draw the curves: .svg, .png or .pdf.")
@as_json
@click.pass_context
def command(
    ctx: click.Context, /, file: str, full_pressure: str, mass: str, plot: str | None, as_json: bool
) -> None:
    """What do the force curves of a brake tester in FILE say?

    FILE is CSV with the columns at, pressure and force, units in the headings, and time_s and run where there
    are any; - for standard input.
    """
    from wearline.app.curving import (
        CURVE_CAUTIONS,
        curve_answer,
        curves_say_nothing,
        read_and_judge_curves,
    )

    report = read_and_judge_curves(file, full_pressure=full_pressure, mass=mass)
    if plot:
        from wearline.reports.plots import curve_chart, write_chart

        write_chart(curve_chart(report), plot)
    if as_json:
        print_json(curve_answer(report))
    else:
        from wearline.reports.braking_words import curve_lines

        print_lines(curve_lines(report, CURVE_CAUTIONS))
    ctx.exit(0 if curves_say_nothing(report) else 1)
