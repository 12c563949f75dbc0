"""Readings from a log, a sound or a capture, shown in the conversation and taken by their numbers."""

from __future__ import annotations

import shlex
from pathlib import Path

from troubleshoot.case.case import Case
from troubleshoot.case.recorded import offered, pictures, take_recorded, text_of
from troubleshoot.cli import output
from troubleshoot.cli.case_setup import lines
from troubleshoot.cli.plain_lines import ranking_lines, wrapped
from troubleshoot.problems import TroubleshootError

WIDTH, HEIGHT = 76, 12
HOW = (
    "As in: log pull.csv, or: sound idle.wav, or: capture coil.csv coil; then the same with 1 3 or all behind it. "
    "Headings that mean nothing: log pull.csv time=Zeit."
)


def take_or_show(case: Case, word: str, rest: str) -> None:
    """Show the readings of a file, or take those named by number."""
    from troubleshoot.calculations.units import read_quantity
    from troubleshoot.recordings.dialect import RecordingRefused
    from troubleshoot.recordings.picks import read_picks
    from troubleshoot.recordings.reading_files import Asked, read_recording
    from troubleshoot.reports.plots import text_plot

    try:
        words = shlex.split(rest)
    except ValueError:
        words = rest.split()
    needed = 2 if word == "capture" else 1
    if len(words) < needed:
        raise TroubleshootError("Name the file of the recording.", HOW)
    path = Path(words[0])
    said = [one for one in words[needed:] if "=" in one]
    asked = [one for one in words[needed:] if "=" not in one]
    scale = [one.partition("=")[2] for one in said if one.startswith("full-scale=")]
    asked_for = Asked(
        path,
        words[1] if word == "capture" else word,
        case.assessment.car.cylinders,
        read_quantity(scale[0], "count").value if scale else None,
        read_picks([one for one in said if not one.startswith("full-scale=")]),
        Path(getattr(case.store, "path", path)).parent,
    )
    try:
        recorded = read_recording(asked_for)
    except RecordingRefused as refused:
        here = refused.sentence.replace("with --column ", "behind the file's name, ")
        raise RecordingRefused(here.replace("--full-scale", "full-scale=V behind it")) from None
    found = offered(case, recorded)
    if asked:
        every = range(len(found)) if asked == ["all"] else [_place(one, len(found)) for one in asked]
        chosen_checks = [found[place].check for place in every]
        count = take_recorded(case, recorded, chosen_checks)
        output.data(f"{count} reading{'s' if count != 1 else ''} taken from {recorded.file}.")
        lines(list(ranking_lines(case.view(), 3)))
        return
    for chart in pictures(case, recorded)[:2]:
        lines(text_plot(chart, WIDTH, HEIGHT).splitlines())
    for line in recorded.words:
        lines(wrapped(line))
    for number, one in enumerate(found, start=1):
        ask = case.catalogue.checks[one.check].ask
        lines(wrapped(f"{ask}: {text_of(case, one)} ({one.stretch}; {one.method})", f"{number:>3}  "))
    output.data(
        f"To take them: {word} {rest} all, or with their numbers." if found else "It gives no reading for these checks."
    )


def _place(text: str, count: int) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= count:
        raise TroubleshootError(f"There is no reading {text[:20]} here; they are 1 to {count}.", HOW)
    return int(text) - 1
