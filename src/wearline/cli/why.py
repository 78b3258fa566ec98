"""``wearline why``."""

from __future__ import annotations

from typing import Any

import click

from wearline.cli.options import file_argument, judging_options, make_request, print_json, print_lines

__all__ = ["command"]


@click.command("why")
@file_argument
@click.option(
    "--counts",
    default=None,
    metavar="FILE",
    help="Your fleet's own counts (CSV: cause,symptom,present,cases), worked into the network.",
)
@click.option(
    "--letter", default=None, metavar="FILE", help="Also write a letter to send back (PDF of one page)."
)
@judging_options
@click.pass_context
def command(
    ctx: click.Context, /, file: str, counts: str | None, letter: str | None, as_json: bool, **options: Any
) -> None:
    """Why did it wear like that, and what to test next? Causes with their evidence.

    FILE is TOML, CSV or XLSX, or - for standard input.
    """
    from wearline.app.explaining import explain_wear, explained_lines, nothing_explained, why_answer

    request = make_request(file, options)
    opened, explanation = explain_wear(request, counts)
    if letter is not None:
        from wearline.app.case_letter import write_case_letter

        written = write_case_letter(request, letter, explained=(opened, explanation))
        click.echo(f"Wrote {written}", err=True)
    if as_json:
        print_json(why_answer(explanation))
    else:
        print_lines(explained_lines(explanation))
    ctx.exit(0 if nothing_explained(explanation) else 1)
