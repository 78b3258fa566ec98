"""``wearline plan``."""

from __future__ import annotations

from typing import Any

import click

from wearline.cli.fleet_options import decision_option, shops_option
from wearline.cli.keep import database_option
from wearline.cli.options import as_json, print_json, print_lines, today_option

__all__ = ["command"]


@click.command("plan")
@database_option
@click.option("--weeks", type=click.IntRange(1, 104), default=12, show_default=True, help="Weeks to plan.")
@click.option("--risk", type=click.FloatRange(1e-4, 0.5), default=0.05, help="Accepted chance; 0.05 is 5 %.")
@shops_option
@click.option(
    "--service", type=click.FloatRange(0.5, 0.9999), default=0.95, help="Chance that no axle waits."
)
@click.option("--lead-weeks", type=click.IntRange(1, 52), default=2, help="Weeks from order to delivery.")
@decision_option
@click.option("--csv", "csv_file", default=None, metavar="FILE", help="Bookings as a table.")
@click.option("--calendar", default=None, metavar="FILE", help="Bookings as iCalendar.")
@click.option("--pdf", default=None, metavar="FILE", help="Week sheet to print.")
@today_option
@as_json
@click.pass_context
def command(ctx: click.Context, /, database: str, as_json: bool, **options: Any) -> None:
    """What work, parts and bays in the coming weeks? From everything kept in the database."""
    from wearline.app.forecasting import Question, decisions_from
    from wearline.app.reporting import write_text
    from wearline.app.scheduling import (
        PlanRequest,
        ShopFile,
        plan_answer,
        plan_calendar,
        plan_csv,
        plan_work,
        read_shops,
        week_sheet,
    )
    from wearline.forecasting.outlook import Options

    today = options["today"]
    made = plan_work(
        PlanRequest(
            question=Question(
                file=None,
                database=database,
                until=today,
                options=Options(decisions=decisions_from(options["decision"])),
            ),
            first_day=today,
            weeks=options["weeks"],
            risk=options["risk"],
            service=options["service"],
            lead_weeks=options["lead_weeks"],
            shops=read_shops(options["shops"]) if options["shops"] else ShopFile(),
        )
    )
    if options["csv_file"]:
        write_text(options["csv_file"], plan_csv(made))
    if options["calendar"]:
        write_text(options["calendar"], plan_calendar(made))
    if options["pdf"]:
        week_sheet(made, options["pdf"], today=today)
    answer = plan_answer(made)
    if as_json:
        print_json(answer)
    else:
        from wearline.reports.outlook_text import plan_lines

        print_lines(plan_lines(answer))
    ctx.exit(0 if answer["feasible"] else 1)
