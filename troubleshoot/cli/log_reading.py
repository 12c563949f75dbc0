"""A log someone named on the command line, with what was said before of its headings."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions

if TYPE_CHECKING:
    from troubleshoot.recordings.log import Log


def log_named(wanted: GlobalOptions, path: Path, columns: Sequence[str]) -> Log:
    """Read a log; columns named now are remembered for its headings, those named before are used again."""
    from troubleshoot.recordings.log import read_log
    from troubleshoot.recordings.picks import headings_of, read_picks, remember, remembered

    chosen = read_picks(columns)
    folder = wanted.casebook_path.parent
    if path.is_file():
        headings = headings_of(path, chosen)
        before = remembered(folder, headings)
        used = {name: heading for name, heading in before.items() if heading not in chosen.values()} | chosen
        log = read_log(path, used)
        if chosen and not remember(folder, headings, used):
            output.say("The columns could not be remembered for the next time.")
        return log
    return read_log(path, chosen)
