"""``wearline drill``."""

from __future__ import annotations

import getpass
import secrets
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import click

from wearline.cli.options import as_json, print_json, print_lines
from wearline.errors import InputError

if TYPE_CHECKING:
    from wearline.app.drilling import RunningDrill

__all__ = ["command"]


@click.command("drill")
@click.option(
    "--level",
    default="",
    metavar="N|NAME",
    help="1 one fault, 2 chain, 3 two faults, 4 victim mate, 5 gauge error, 6 whole vehicle.",
)
@click.option(
    "--seed",
    type=int,
    default=None,
    metavar="N",
    help="The same seed gives the same vehicle; drawn by default.",
)
@click.option("--person", default=None, metavar="NAME", help="Whose results; the login name by default.")
@click.option(
    "--results",
    default="~/.local/share/wearline/drills",
    show_default=True,
    envvar="WEARLINE_DRILLS",
    metavar="FOLDER",
    help="Folder of the results.",
)
@click.option("--answers", default=None, metavar="FILE", help="Read the commands from FILE, one to a line.")
@click.option("--drop", is_flag=True, help="Throw the open drill away, without a score.")
@click.option("--progress", is_flag=True, help="Show what the person has done so far.")
@click.option("--plot", default=None, metavar="FILE", help="Draw the progress (.svg, .png, .pdf).")
@click.option(
    "--class-sheet",
    default=None,
    metavar="FILE",
    help="Write a class sheet (PDF), and its answers beside it.",
)
@click.option(
    "--cases", type=int, default=8, show_default=True, metavar="N", help="Cases of the class sheet, 1 to 24."
)
@as_json
@click.pass_context
def command(ctx: click.Context, /, as_json: bool, **options: Any) -> None:
    """Practise: find the cause at a wheel end that does not exist, in little time, and order the job.

    A drill that is broken off goes on with the same command.
    """
    if options["class_sheet"]:
        _class_sheet(options, as_json=as_json)
        return
    person = options["person"] or getpass.getuser()
    if options["progress"] or options["plot"]:
        _progress(person, options, as_json=as_json)
        return
    if options["drop"]:
        _drop(person, options["results"], as_json=as_json)
        return
    from wearline.app.drill_answers import drill_answer
    from wearline.app.drilling import DrillRequest, run_drill

    running = run_drill(
        DrillRequest(
            person=person,
            folder=options["results"],
            now=datetime.now(UTC),
            fresh_seed=secrets.randbelow(100_000),
            level=options["level"],
            seed=options["seed"],
        )
    )
    _play(running, options["answers"], quiet=as_json)
    if as_json:
        print_json(drill_answer(running))
    score = running.score
    found = score is not None and all(mark.result in ("found", "grew") for mark in score.causes)
    ctx.exit(0 if found or running.state == "dropped" else 1)


def _play(running: RunningDrill, answers: str | None, *, quiet: bool) -> None:
    """Read commands until the drill ends or the input does."""
    from wearline.app.drill_answers import opening_lines, score_lines
    from wearline.practice.drill_commands import End

    if not quiet:
        print_lines(opening_lines(running))
        sys.stdout.flush()
    for where, typed in _commands(answers, quiet=quiet):
        if typed == "done" and not quiet:
            click.echo("Looking for the best route; this takes some seconds.", err=True)
        try:
            reply = running.command(typed, datetime.now(UTC))
        except InputError as error:
            if where:
                raise error.at(where) from error
            click.echo(f"  {error}", err=True)
            continue
        if not quiet and reply.lines:
            print_lines(reply.lines)
        if reply.end is End.DONE and running.score is not None and not quiet:
            print_lines(score_lines(running.score))
        sys.stdout.flush()
        if reply.end is not End.NO:
            return
    if not quiet:
        print_lines(["", "Broken off; the same command goes on with it, --drop throws it away."])


def _commands(answers: str | None, *, quiet: bool) -> Iterator[tuple[str, str]]:
    """Commands with the line of the file they stand in; empty for a person at the keyboard."""
    if answers is not None:
        from wearline.app.drilling import read_commands

        for number, line in enumerate(read_commands(answers), start=1):
            yield f"{answers}, line {number}", line
        return
    prompt = sys.stdin.isatty() and not quiet
    while True:
        if prompt:
            click.echo("drill> ", nl=False)
        line = sys.stdin.readline()
        if not line:
            return
        yield "", line.strip()


def _drop(person: str, folder: str, *, as_json: bool) -> None:
    from wearline.app.drilling import drop_drill

    dropped = drop_drill(folder, person)
    if as_json:
        print_json({"schema": "wearline.drill-dropped/1", "person": person, "dropped": dropped})
        return
    print_lines(
        [f"The open drill of {person} is thrown away." if dropped else f"{person} has no open drill."]
    )


def _progress(person: str, options: dict[str, Any], *, as_json: bool) -> None:
    from wearline.app.drill_answers import progress_answer, progress_lines, write_progress_plot

    progress = progress_answer(options["results"], person)
    written = write_progress_plot(progress, options["plot"]) if options["plot"] else ""
    if as_json:
        print_json(progress)
        return
    print_lines([*progress_lines(progress), *([f"Wrote {written}"] if written else [])])


def _class_sheet(options: dict[str, Any], *, as_json: bool) -> None:
    from datetime import date

    from wearline.app.drill_class import ClassRequest, write_class_sheet

    made = write_class_sheet(
        ClassRequest(
            out=options["class_sheet"],
            cases=options["cases"],
            level=options["level"],
            seed=secrets.randbelow(100_000) if options["seed"] is None else options["seed"],
            today=date.today(),
        )
    )
    if as_json:
        print_json(made)
    else:
        print_lines(f"Wrote {name}" for name in made["files"])
