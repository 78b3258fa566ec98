"""``wearline tour``."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from wearline.cli.options import as_json, print_json, print_lines, today_option

if TYPE_CHECKING:
    from wearline.app.tour import Progress

__all__ = ["command"]


def _say_nothing(what: str, done: int, of: int) -> None:
    del what, done, of


@contextmanager
def _progress_bar(quiet: bool) -> Iterator[Progress]:
    """A bar on a terminal, nothing elsewhere."""
    if quiet or not sys.stderr.isatty():
        yield _say_nothing
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description:<42}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("starting", total=None)

        def show(what: str, done: int, of: int) -> None:
            bar.update(task, description=what, completed=done, total=of or None)

        yield show


@click.command("tour")
@click.option("--into", default="tour", show_default=True, metavar="FOLDER", help="Where the papers go.")
@today_option
@as_json
def command(into: str, today: date, as_json: bool) -> None:
    """The whole job on an invented fleet: what was found, what follows, and the papers in a folder."""
    from wearline.app.tour import SCENARIO, show_tour, tour_answer

    with _progress_bar(as_json) as progress:
        tour = show_tour(Path(into), today=today, progress=progress)
    answer = tour_answer(tour)
    if as_json:
        print_json(answer)
        return
    print_lines([SCENARIO, ""])
    for row in answer["vehicles"]:
        times = "inspection" if row["inspections"] == 1 else "inspections"
        print_lines([f"{row['vehicle']}  ({row['description']}; {row['inspections']} {times})"])
        print_lines([f"    level {row['level']}  {row['headline']}"])
        for name, said in (("why", row["cause"]), ("job", row["work"]), ("next", row["next"])):
            if said:
                print_lines([f"    {name:<7}  {said}"])
    folder = Path(into)
    database = folder / "fleet.db"
    first = next(name for name in tour.files if name.endswith(".toml"))
    print_lines(
        [
            "",
            f"Report of one inspection   {folder / 'report.pdf'}",
            f"Letter to the workshop     {folder / 'letter.pdf'}",
            f"Page of the fleet          {folder / 'fleet.html'}",
            f"When wheels come off next  {folder / 'outlook.svg'}",
            f"The pads of the fleet      {folder / 'fleet.svg'}",
            f"Sheet of the next weeks    {folder / 'weeks.pdf'}",
            f"Database                   {database}",
            "",
            "Go on with one of the files, or with all that was kept:",
            f"    wearline judge {first}",
            f"    wearline why {first}",
            f"    wearline job {first}",
            f"    wearline road {first}",
            f"    wearline outlook --database {database}",
            f"    wearline interval --database {database}",
            f"    wearline compare --database {database}",
            f"    wearline life guide_pin_boot --batch calliper_batch=2024-31 --database {database}",
            f"    wearline plan --database {database}",
            f"    wearline serve --database {database}",
            "    wearline drill",
        ]
    )
