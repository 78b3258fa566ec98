"""The command: ``wearline COMMAND``. Each command is loaded only when it is called."""

from __future__ import annotations

import sys
from importlib import import_module

import click

from wearline import __version__
from wearline.errors import ProgramFault, WearlineError

__all__ = ["main", "run"]

_COMMANDS = {
    "sheet": ("wearline.cli.sheet", "A blank sheet of readings for a vehicle: how each check is done."),
    "judge": ("wearline.cli.judge", "Is each reading good? Do the wheels have to come off?"),
    "why": ("wearline.cli.why", "Why did it wear like that, and what to test next?"),
    "job": ("wearline.cli.job", "What does the complete job include?"),
    "road": ("wearline.cli.road", "May it go on the road, and under which conditions?"),
    "proof": ("wearline.cli.proof", "Did the job restore the brake? A file before and a file after."),
    "curves": ("wearline.cli.curves", "What do the force curves of a brake tester say?"),
    "descent": ("wearline.cli.descent", "How fast may it go down a long slope?"),
    "heat": ("wearline.cli.heat", "How hot do the rotors get over a recorded run?"),
    "outlook": ("wearline.cli.outlook", "When must the wheels come off next?"),
    "interval": ("wearline.cli.interval", "How far between two looks, by duty and axle role?"),
    "compare": ("wearline.cli.compare", "Which pads, or which group, cost less on the road?"),
    "life": ("wearline.cli.life", "How long does a part last, and does a batch fail too often?"),
    "plan": ("wearline.cli.plan", "What work, parts and bays in the coming weeks?"),
    "keep": ("wearline.cli.keep", "Keep an inspection for good."),
    "history": ("wearline.cli.history", "Look at what was kept."),
    "report": ("wearline.cli.report", "A report to file: PDF, and a page."),
    "catalogue": (
        "wearline.cli.catalogue",
        "Limits, checks and rules with their sources; check a maker's file.",
    ),
    "serve": ("wearline.cli.serve", "The web app for the shop's tablets."),
    "drill": ("wearline.cli.drill", "Practise: find the cause at a wheel end that does not exist."),
    "tour": ("wearline.cli.tour", "The whole job on an invented fleet."),
}

_EPILOG = (
    "Every command takes --json. Exit codes: 0 done and nothing beyond a limit, 1 done and something beyond "
    "or undecided, 2 bad input, 3 a fault of the program. What is said here is what was measured and what "
    "follows; the maker's instructions, the local code and a qualified person decide."
)


class _Lazy(click.Group):
    """A group whose commands are imported when called, so that ``--help`` stays quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        del ctx
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        del ctx
        if cmd_name not in _COMMANDS:
            return None
        command = import_module(_COMMANDS[cmd_name][0]).command
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in _COMMANDS.items()])


@click.group(cls=_Lazy, epilog=_EPILOG, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="wearline")
def main() -> None:
    """Air disc brakes on trucks, buses and trailers: readings in; verdicts, job and road decision out."""


def run(arguments: list[str] | None = None) -> int:
    """Run the command and return its exit code.

    Parameters
    ----------
    arguments : list of str, optional
        Words after ``wearline``; those of the process by default.

    Returns
    -------
    int
        0 done and nothing beyond, 1 something beyond or undecided, 2 bad input, 3 fault of the program.
    """
    words = sys.argv[1:] if arguments is None else arguments
    try:
        code = main.main(args=words, standalone_mode=False)
    except click.ClickException as error:
        return _refuse(_usage(error), words)
    except click.Abort:
        click.echo("stopped", err=True)
        return 130
    except WearlineError as error:
        return _refuse(error, words)
    except BrokenPipeError:
        return 0
    except MemoryError:
        return _refuse(ProgramFault("memory ran out", cure="Give it a smaller file"), words)
    except Exception as error:
        return _fault(error, words)
    return code if isinstance(code, int) else 0


def _usage(error: click.ClickException) -> WearlineError:
    from wearline.errors import InputError

    where = ""
    if isinstance(error, click.UsageError) and error.ctx is not None:
        where = error.ctx.command_path
    return InputError(
        error.format_message().rstrip("."), where=where, cure=f"See '{where or 'wearline'} --help'"
    )


def _refuse(error: WearlineError, words: list[str]) -> int:
    if "--json" in words:
        import json

        from wearline.app.error_answer import error_answer

        click.echo(json.dumps(error_answer(error), ensure_ascii=False))
    click.echo(f"wearline: {error}", err=True)
    return error.exit_code


def _fault(error: Exception, words: list[str]) -> int:
    import traceback

    fault = ProgramFault(
        f"the program failed: {type(error).__name__}: {error}",
        cure="This is a fault of the program, not of your file. Keep the file and report the lines above",
    )
    click.echo("".join(traceback.format_exception(error)), err=True)
    return _refuse(fault, words)


if __name__ == "__main__":
    sys.exit(run())
