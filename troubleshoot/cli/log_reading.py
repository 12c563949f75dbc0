"""A log someone named on the command line, with what was said before of its headings."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions

if TYPE_CHECKING:
    from troubleshoot.recordings.log import Log

COLUMN_HELP = "Which heading is which quantity: NAME=HEADING, as engine-speed=Drehzahl. Remembered for these headings."


def log_named(wanted: GlobalOptions, path: Path, columns: Sequence[str]) -> Log:
    """Read a log; columns named now are remembered for its headings, those named before are used again."""
    from troubleshoot.recordings.picks import log_with_picks, read_picks

    log, kept = log_with_picks(path, read_picks(columns), wanted.casebook_path.parent)
    if not kept:
        output.say("The columns could not be remembered for the next time.")
    return log
