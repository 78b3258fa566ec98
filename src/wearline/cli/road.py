"""``wearline road``."""

from __future__ import annotations

from typing import Any

import click

from wearline.cli.options import file_argument, judging_options, make_request, print_json, print_lines

__all__ = ["command"]


@click.command("road")
@file_argument
@click.option("--plot", metavar="FILE", help="Also draw the stopping distance: .svg, .png or .pdf.")
@judging_options
@click.pass_context
def command(ctx: click.Context, /, file: str, as_json: bool, plot: str | None, **options: Any) -> None:
    """May the vehicle in FILE go on the road? Level, reasons, conditions, each rule pack's own answer."""
    from wearline.app.judging import decide_release

    opened, judgement, decision = decide_release(make_request(file, options))
    if plot:
        from wearline.app.plotting import plot_stop

        plot_stop(decision, plot)
    if as_json:
        from wearline.app.answers import road_answer

        cautions = tuple(statement.text for statement in opened.catalogue.work.authority)
        print_json(road_answer(decision, judgement.vehicle_id, cautions))
    else:
        from wearline.reports.summary import road_lines

        print_lines(road_lines(decision))
    ctx.exit(0 if decision.level == 0 else 1)
