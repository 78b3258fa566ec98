"""``wearline history``."""

from __future__ import annotations

from datetime import date

import click

from wearline.cli.keep import database_option
from wearline.cli.options import as_json, print_json, print_lines
from wearline.errors import InputError

__all__ = ["command"]


def _day(name: str, text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(
            f"'{text}' is not a day", where=name, allowed="a day as 2026-09-14", cure="Write year-month-day"
        ) from None


@click.command("history")
@click.argument("vehicle", required=False)
@database_option
@click.option("--since", default=None, metavar="DAY", help="First day, as 2026-09-14.")
@click.option("--until", default=None, metavar="DAY", help="Last day.")
@click.option("--all", "superseded", is_flag=True, help="Show corrected inspections too.")
@as_json
def command(
    vehicle: str | None, database: str, since: str | None, until: str | None, superseded: bool, as_json: bool
) -> None:
    """What was kept of VEHICLE, or of all, oldest first, judged by today's rules."""
    from wearline.app.keeping import history_answer, show_history

    kept = show_history(
        database, vehicle, _day("--since", since), _day("--until", until), superseded=superseded
    )
    answer = history_answer(kept)
    if as_json:
        print_json(answer)
        return
    if not kept:
        known = f" of {vehicle}" if vehicle else ""
        print_lines([f"Nothing{known} is kept in {database}."])
        return
    lines = [f"{'day':<10}  {'vehicle':<14}  {'km':>9}  {'level':>5}  {'faults':>6}  thinnest corner, mm"]
    for row in answer["inspections"]:
        corners = "  ".join(
            f"{place} {value:.1f}" for place, value in row["thinnest_mm"].items() if value is not None
        )
        distance = "" if row["odometer_km"] is None else f"{row['odometer_km']:.0f}"
        lines.append(
            f"{row['taken_on']:<10}  {row['vehicle']:<14}  {distance:>9}  {row['level']:>5}  "
            f"{row['findings']:>6}  {corners}"
        )
        if row["supersedes"]:
            lines.append(f"{'':<10}  corrects {row['supersedes']}: {row['reason']}")
    print_lines(lines)
