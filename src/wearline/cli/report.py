"""``wearline report``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from wearline.cli.options import file_argument, judging_options, make_request, print_json, print_lines

__all__ = ["command"]


@click.command("report")
@file_argument
@click.option("--out", default=None, metavar="FILE", help="PDF to write; beside FILE by default.")
@click.option("--page", default=None, metavar="FILE", help="Also write a page (HTML).")
@click.option("--full", is_flag=True, help="PDF with every ruler and drawing, also where all is within.")
@judging_options
def command(file: str, out: str | None, page: str | None, full: bool, as_json: bool, **options: Any) -> None:
    """Write a report to file of the inspection in FILE: verdicts, causes, job, road decision, sources."""
    from wearline.app.reporting import write_report

    pdf = out or str(Path("report.pdf") if file == "-" else Path(file).with_suffix(".pdf"))
    written = write_report(make_request(file, options), pdf, page, full=full)
    if as_json:
        print_json({"schema": "wearline.written/1", "files": written})
    else:
        print_lines(f"Wrote {name}" for name in written)
