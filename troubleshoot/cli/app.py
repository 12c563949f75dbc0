"""The command line: one table of commands, the options before them, and what happens without any."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

import typer

from troubleshoot import __version__
from troubleshoot.cli import output
from troubleshoot.cli.examples import EXAMPLES
from troubleshoot.cli.lazy_group import CommandPlace, LazyGroup
from troubleshoot.cli.options import DrillScreens, GlobalOptions
from troubleshoot.cli.starting import Screens, start
from troubleshoot.problems import TroubleshootError

COMMANDS = (
    CommandPlace("ask", "troubleshoot.cli.ask", "Find a fault by questions and answers in plain lines."),
    CommandPlace("rank", "troubleshoot.cli.rank", "Rank the causes for readings already taken."),
    CommandPlace("run", "troubleshoot.cli.run", "Take readings from a log (CSV or other text in columns)."),
    CommandPlace("capture", "troubleshoot.cli.capture", "Read an oscilloscope capture."),
    CommandPlace("sound", "troubleshoot.cli.sound", "Read the engine speed from a recorded sound."),
    CommandPlace("compare", "troubleshoot.cli.compare", "Compare pulls before a repair with pulls after."),
    CommandPlace("calc", "troubleshoot.cli.calc", "Work out one of the trade's calculations."),
    CommandPlace("cases", "troubleshoot.cli.cases", "List, exchange, merge, back up or rescue cases."),
    CommandPlace("report", "troubleshoot.cli.report", "Write a case up: concern, cause, correction."),
    CommandPlace("concerns", "troubleshoot.cli.listing", "List what a customer can say, with ids."),
    CommandPlace("causes", "troubleshoot.cli.listing", "List what can be wrong, with ids."),
    CommandPlace("checks", "troubleshoot.cli.listing", "List the checks and their outcomes, with ids."),
    CommandPlace("cars", "troubleshoot.cli.listing", "List your cars and the invented ones, with ids."),
    CommandPlace("tree", "troubleshoot.cli.tree", "Draw, try, begin and watch symptom trees."),
    CommandPlace("chart", "troubleshoot.cli.chart", "Chart a concern's steps, or the best order of checks."),
    CommandPlace("lint", "troubleshoot.cli.lint", "Look for faults in the trees."),
    CommandPlace("prove", "troubleshoot.cli.prove", "Prove the trees against the virtual engine."),
    CommandPlace("practise", "troubleshoot.cli.practise", "Practise alone on the virtual engine."),
    CommandPlace("drill", "troubleshoot.cli.drill", "Set, sit and mark drills."),
)

SPELLINGS = {"practice": "practise", "calculate": "calc", "log": "run"}
"""What people type for a command; only the name in the table is listed."""

_EPILOG = "\n".join([
    "\b", "For example:", *(f"  troubleshoot {one}" for one in EXAMPLES[""]), "",
    "\b", "Exit codes:", *(f"{code:>5}  {words}" for code, words in output.EXIT_CODES),
])  # fmt: skip


class Commands(LazyGroup):
    """The commands of this program."""

    places = COMMANDS
    spellings = SPELLINGS


app = typer.Typer(
    cls=Commands,
    name="troubleshoot",
    help="Find the fault in an engine converted from a carburettor to throttle-body fuel injection.\n\n"
    "Without a command the screens open; where there is no screen, the plain questions of `ask`.",
    epilog=_EPILOG,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(wanted: bool) -> None:
    if wanted:
        output.data(f"troubleshoot {__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def top(
    context: typer.Context,
    trees: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="A folder of your own trees, laid over the shipped ones.")
    ] = None,
    casebook: Annotated[Path | None, typer.Option(metavar="FILE", help="The casebook file to use.")] = None,
    units: Annotated[Literal["us", "metric"] | None, typer.Option(help="The units shown and typed (us).")] = None,
    learning: Annotated[bool, typer.Option(help="Let closed cases add to how often things fail.")] = True,
    debug: Annotated[bool, typer.Option(help="Show the traceback of a problem.")] = False,
    version: Annotated[  # noqa: ARG001 - its callback answers
        bool, typer.Option("--version", "-V", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """Keep the options for the command, or open the screens when there is none."""
    screens, drill_screens, seat_program = context.obj if isinstance(context.obj, tuple) else (None, None, ())
    context.obj = GlobalOptions(trees, casebook, units or "us", learning, debug, drill_screens, seat_program, units)
    if context.invoked_subcommand is None:
        raise typer.Exit(start(context.obj, screens))


def run(
    arguments: list[str],
    screens: Screens | None = None,
    drill_screens: DrillScreens | None = None,
    seat_program: tuple[str, ...] = (),
) -> int:
    """Run the command line and return its exit code; `screens` opens when there is no command.

    `seat_program` starts the screens of one seat of a class.
    """
    debug = "--debug" in arguments

    def command() -> int:
        """Let typer do its work, and turn the ways it leaves by into exit codes."""
        try:
            faces = (screens, drill_screens, seat_program)
            result: Any = app(args=arguments, prog_name="troubleshoot", standalone_mode=False, obj=faces)
        except Exception as leaving:
            if type(leaving).__name__ == "Abort":
                raise KeyboardInterrupt from leaving
            show = getattr(leaving, "show", None)
            if show is None or isinstance(leaving, TroubleshootError):
                raise
            show()
            return int(getattr(leaving, "exit_code", output.REFUSED))
        if result == output.INTERRUPTED:
            raise KeyboardInterrupt
        return result if isinstance(result, int) else output.DONE

    return output.protected(command, lambda: debug)
