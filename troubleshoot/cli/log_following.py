"""A log that still grows on disk: read again as lines come in, readings said as they change."""

from __future__ import annotations

import time
from collections.abc import Sequence
from pathlib import Path

from troubleshoot.case.recorded import said_in
from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions
from troubleshoot.recordings.dialect import RecordingRefused, text_of
from troubleshoot.recordings.log import LARGEST, Log, held_bytes, log_from
from troubleshoot.recordings.picks import headings_of, read_picks, remembered
from troubleshoot.recordings.readings import notes_on, readings_from

LOOKS_EVERY_S = 0.5


def follow_log(wanted: GlobalOptions, path: Path, columns: Sequence[str], patience: float) -> None:
    """Read a log again and again until no line has come for so many seconds; only whole lines count.

    RecordingRefused at the end where it never became a log.
    """
    checks = wanted.catalogue().checks
    chosen = read_picks(columns)
    said: dict[str, str] = {}
    log, refused, size, quiet = None, None, -1, 0.0
    while True:
        grown = path.stat().st_size if path.exists() else 0
        if grown == size:
            if quiet >= patience:
                break
            time.sleep(min(LOOKS_EVERY_S, patience))
            quiet += LOOKS_EVERY_S
            continue
        size, quiet = grown, 0.0
        try:
            log, refused = _whole_lines(wanted, path, chosen), None
        except RecordingRefused as problem:
            refused = problem
            continue
        for one in readings_from(log):
            if one.check in checks:
                text = said_in(checks[one.check], one, wanted.units)
                if said.get(one.check) != text:
                    said[one.check] = text
                    output.data(f"{one.check}: {text}")
    if log is None and refused is not None:
        raise refused
    if log is not None:
        for note in notes_on(log):
            output.say(note)


def _whole_lines(wanted: GlobalOptions, path: Path, chosen: dict[str, str]) -> Log:
    held = held_bytes(path, LARGEST)
    text = text_of(held[: len(held) - len(held) % 2] if held[:2] in (b"\xff\xfe", b"\xfe\xff") else held, str(path))
    whole = text[: text.rfind("\n") + 1]
    if chosen or not path.is_file():
        return log_from(whole, str(path), chosen)
    return log_from(whole, str(path), remembered(wanted.casebook_path.parent, headings_of(path)))
