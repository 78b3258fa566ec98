"""``wearline life``."""

from __future__ import annotations

from typing import Any

import click

from wearline.cli.fleet_options import fleet_options, fleet_question
from wearline.cli.options import print_json, print_lines
from wearline.errors import InputError

__all__ = ["command"]


def _batch(ctx: click.Context, parameter: click.Parameter, value: str | None) -> tuple[str, str] | None:
    del ctx, parameter
    if value is None:
        return None
    key, equals, word = value.partition("=")
    if not (equals and key.strip() and word.strip()):
        raise InputError(
            f"'{value}' names no batch",
            where="--batch",
            allowed="KEY=VALUE, as calliper_batch=2024-31 or built_on=2024",
            cure="Take key and mark from the inspections",
        )
    return key.strip(), word.strip()


@click.command("life")
@click.argument("part", metavar="PART")
@click.option(
    "--batch",
    callback=_batch,
    default=None,
    metavar="KEY=VALUE",
    help="Hold a batch against all others: pad_batch, calliper_batch, pad_part, built_on, a label ...",
)
@click.option("--before", type=float, default=None, metavar="KM", help="Rank the batch by its risk within.")
@click.option("--plot", default=None, metavar="FILE", help="Share that survives over the age, as SVG.")
@fleet_options
@click.pass_context
def command(ctx: click.Context, /, part: str, as_json: bool, plot: str | None, **options: Any) -> None:
    """How long does PART last, and does a batch fail too often? PART is pads, or a field: guide_pin_boot."""
    from wearline.app.part_life import LifeRequest, life_of_part

    before = options["before"]
    if before is not None and not 0.0 < before < 1e7:
        raise InputError(
            f"--before is {before:g} km", where="--before", allowed="more than 0 to 10 000 000 km"
        )
    answer = life_of_part(
        LifeRequest(
            question=fleet_question(options),
            part=part,
            batch=options["batch"],
            before=None if before is None else 1e3 * before,
        )
    )
    if plot is not None:
        from wearline.app.reporting import write_text
        from wearline.reports.life_plot import draw_lives

        write_text(plot, draw_lives(answer))
    if as_json:
        print_json(answer)
    else:
        from wearline.reports.life_text import life_lines

        print_lines(life_lines(answer))
    batch = answer["batch"]
    ctx.exit(1 if batch is not None and (batch["low"] is None or batch["low"] > 1.0) else 0)
