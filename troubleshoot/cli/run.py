"""`troubleshoot run`: readings from a log, as lines that `rank --readings` takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from troubleshoot.calculations.units import System
from troubleshoot.case.recorded import said_in
from troubleshoot.cli import output
from troubleshoot.cli.log_following import follow_log
from troubleshoot.cli.log_reading import COLUMN_HELP, log_named
from troubleshoot.cli.options import global_options
from troubleshoot.knowledge.model import Check
from troubleshoot.recordings.log import Log
from troubleshoot.recordings.readings import notes_on, readings_from
from troubleshoot.recordings.taken import TakenReading


def run(
    context: typer.Context,
    file: Annotated[
        Path, typer.Argument(help="A log as text: headings (time, rpm, …), then one line for each moment.")
    ],
    column: Annotated[list[str] | None, typer.Option("--column", help=COLUMN_HELP)] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the readings as JSON.")] = False,
    follow: Annotated[bool, typer.Option("--follow", help="Go on while the log grows.")] = False,
    patience: Annotated[float, typer.Option(help="Seconds without a new line after which following ends.", min=0)] = 30,
) -> None:
    """Take readings from a log (CSV or other text in columns).

    Prints check ids with what was read, as a readings file for `rank` has them.
    """
    wanted = global_options(context)
    if follow:
        follow_log(wanted, wanted.here / file, column or [], patience)
        return
    log = log_named(wanted, wanted.here / file, column or [])
    checks = wanted.catalogue().checks
    found = [one for one in readings_from(log) if one.check in checks]
    for note in notes_on(log):
        output.say(note)
    if as_json:
        output.as_json(log_data(log, found, checks, wanted.units))
        return
    for one in found:
        output.data(f"{one.check}: {said_in(checks[one.check], one, wanted.units)}")
    if not found:
        output.say("The log gives no reading: it needs an idle, a start, or a pull at full throttle.")


def log_data(log: Log, found: Sequence[TakenReading], checks: Mapping[str, Check], units: System) -> dict[str, Any]:
    """Return the readings of a log as plain data; `read` is in these units, the figures are in the unit beside them."""
    return {
        "file": Path(log.name).name,
        "sha256": log.sha256,
        "readings": {
            one.check: {
                "read": said_in(checks[one.check], one, units),
                "value": one.value,
                "spread": one.spread,
                "unit": one.unit,
                "from-s": one.from_s,
                "to-s": one.to_s,
                "method": one.method,
            }
            for one in found
        },
        "notes": list(notes_on(log)),
        "not-used": list(log.ignored),
    }


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("run")(run)
