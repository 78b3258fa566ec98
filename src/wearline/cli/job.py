"""``wearline job``."""

from __future__ import annotations

from typing import Any

import click

from wearline.cli.options import file_argument, judging_options, make_request, print_json, print_lines

__all__ = ["command"]


@click.command("job")
@file_argument
@click.option("--work-sheet", metavar="FILE", help="Also write a work sheet to print, as PDF.")
@judging_options
@click.pass_context
def command(ctx: click.Context, /, file: str, as_json: bool, work_sheet: str | None, **options: Any) -> None:
    """What does the complete job on the vehicle in FILE include? Work, steps with gates, parts, hours."""
    from wearline.app.judging import plan_job

    opened, judgement, plan = plan_job(make_request(file, options))
    if work_sheet:
        from wearline.app.reporting import write_work_sheet

        write_work_sheet(
            opened.inspection, judgement, plan, opened.catalogue, work_sheet, today=options["today"]
        )
    if as_json:
        from wearline.app.answers import job_answer

        print_json(job_answer(plan))
    else:
        from wearline.reports.summary import job_lines

        print_lines(job_lines(plan))
    ctx.exit(1 if any(axle.work or axle.also for axle in plan.axles) else 0)
