"""`troubleshoot run`: readings from a recorded run, as lines that `rank --readings` takes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from troubleshoot.cli import output
from troubleshoot.cli.options import global_options
from troubleshoot.recordings.readings import notes_on, readings_from
from troubleshoot.recordings.run import read_run


def run(
    context: typer.Context,
    file: Annotated[
        Path, typer.Argument(help="A CSV file: a line of headings (time, rpm, …), then one line a moment.")
    ],
    as_json: Annotated[bool, typer.Option("--json", help="Print the readings as JSON.")] = False,
) -> None:
    """Take readings from a recorded run (a CSV file).

    Prints check ids with what was read, as a readings file for `rank` has them.
    """
    wanted = global_options(context)
    recorded = read_run(wanted.here / file)
    known = wanted.catalogue().checks
    found = {check: text for check, text in readings_from(recorded).items() if check in known}
    for note in notes_on(recorded):
        output.say(note)
    if as_json:
        output.data(json.dumps(found, indent=1))
        return
    for check, text in found.items():
        output.data(f"{check}: {text}")
    if not found:
        output.say("The run gives no reading: it needs an idle, or a pull at full throttle.")


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("run")(run)
