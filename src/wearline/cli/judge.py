"""``wearline judge``."""

from __future__ import annotations

from typing import Any

import click

from wearline.cli.options import file_argument, judging_options, make_request, print_json, print_lines

__all__ = ["command"]


@click.command("judge")
@file_argument
@judging_options
@click.pass_context
def command(ctx: click.Context, /, file: str, as_json: bool, **options: Any) -> None:
    """Is each reading good? Verdict, probability and margin of every reading in FILE.

    FILE is TOML, CSV or XLSX, or - for standard input.
    """
    from wearline.app.judging import judge_inspection, nothing_beyond

    _, judgement = judge_inspection(make_request(file, options))
    if as_json:
        from wearline.app.answers import judgement_answer

        print_json(judgement_answer(judgement))
    else:
        from wearline.reports.summary import judgement_lines

        print_lines(judgement_lines(judgement))
    ctx.exit(0 if nothing_beyond(judgement) else 1)
