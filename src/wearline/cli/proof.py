"""``wearline proof``."""

from __future__ import annotations

from typing import Any

import click

from wearline.cli.options import judging_options, make_request, print_json, print_lines

__all__ = ["command"]


@click.command("proof")
@click.argument("before", metavar="BEFORE")
@click.argument("after", metavar="AFTER")
@click.option(
    "--bedded/--raw",
    "bedded",
    default=None,
    help="New pads are bedded, or still raw; by the distance on the pads where it is not said.",
)
@click.option("--plot", metavar="FILE", help="Also draw the forces before and after: .svg, .png or .pdf.")
@judging_options
@click.pass_context
def command(
    ctx: click.Context, /, before: str, after: str, bedded: bool | None, plot: str | None, **options: Any
) -> None:
    """Did the job restore the brake? BEFORE is the inspection as found, AFTER the one as left."""
    from wearline.app.proving import all_restored, proof_answer, prove_repair

    proven = prove_repair(make_request(before, options), make_request(after, options), bedded=bedded)
    if plot:
        from wearline.reports.plots import proof_chart, write_chart

        write_chart(proof_chart(proven.proof), plot)
    if options["as_json"]:
        print_json(proof_answer(proven))
    else:
        from wearline.reports.braking_words import proof_lines

        print_lines(proof_lines(proven.proof, proven.open_gates))
    ctx.exit(0 if all_restored(proven) else 1)
