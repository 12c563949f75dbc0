"""Readings from a log, a sound or a capture, shown in the conversation and taken by their numbers."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.case.case import Case
from troubleshoot.case.recorded import offered, pictures, said_of, take_recorded
from troubleshoot.cli import output
from troubleshoot.cli.case_setup import lines
from troubleshoot.cli.plain_lines import ranking_lines, wrapped
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.classroom.handed_files import Handed
    from troubleshoot.recordings.recorded import Recorded

WIDTH, HEIGHT = 76, 12
HOW = (
    "As in: log pull.csv, or: sound idle.wav, or: capture coil.csv coil; then the same with 1 3 or all behind it. "
    "Headings that mean nothing: log pull.csv time=Zeit."
)


def take_or_show(case: Case, word: str, rest: str, handed: Mapping[str, Handed] | None = None) -> None:
    """Show the readings of a file, or take those named by number; at a drill only the files handed out are read."""
    from troubleshoot.calculations.units import read_quantity
    from troubleshoot.recordings.dialect import RecordingRefused
    from troubleshoot.recordings.picks import read_picks
    from troubleshoot.recordings.reading_files import Asked, read_recording

    try:
        words = shlex.split(rest)
    except ValueError:
        words = rest.split()
    if handed is not None:
        _take_handed(case, word, words, handed)
        return
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
        case.assessment.car.strokes,
    )
    try:
        recorded = read_recording(asked_for)
    except RecordingRefused as refused:
        here = refused.sentence.replace("with --column ", "behind the file's name, ")
        raise RecordingRefused(here.replace("--full-scale", "full-scale=V behind it")) from None
    _show_or_take(case, recorded, f"{word} {rest}", asked)


def _take_handed(case: Case, word: str, words: Sequence[str], handed: Mapping[str, Handed]) -> None:
    """Show or take the readings of a file that the bench has handed out."""
    from troubleshoot.classroom.handed_files import cautions_first

    there = ", ".join(handed) or "none yet"
    if not words or Path(words[0]).name not in handed:
        raise TroubleshootError("That file was not handed out here.", f"Handed out: {there}.")
    one = handed[Path(words[0]).name]
    asked = [each for each in words[1:] if each == "all" or each.isdecimal()]
    _show_or_take(case, one.recorded, f"{word} {words[0]}", asked, kept=False)
    for line in cautions_first(one, case.catalogue):
        lines(wrapped(line))


def _show_or_take(case: Case, recorded: Recorded, said: str, asked: Sequence[str], kept: bool = True) -> None:
    """Show the picture and the readings of a recording, or take those asked for."""
    from troubleshoot.reports.plots import text_plot

    found = offered(case, recorded)
    if asked:
        every = range(len(found)) if "all" in asked else [_place(one, len(found)) for one in asked]
        chosen_checks = [found[place].check for place in every]
        count = take_recorded(case, recorded, chosen_checks, kept)
        output.data(f"{count} reading{'s' if count != 1 else ''} taken from {recorded.file}.")
        lines(list(ranking_lines(case.view(), 3)))
        return
    for chart in pictures(case, recorded)[:2]:
        lines(text_plot(chart, WIDTH, HEIGHT).splitlines())
    for line in recorded.words:
        lines(wrapped(line))
    for number, one in enumerate(found, start=1):
        ask = case.catalogue.checks[one.check].ask
        lines(wrapped(f"{ask}: {said_of(case, one)} ({one.stretch}; {one.method})", f"{number:>3}  "))
    output.data(
        f"To take them: {said} all, or with their numbers." if found else "It gives no reading for these checks."
    )


def _place(text: str, count: int) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= count:
        raise TroubleshootError(f"There is no reading {text[:20]} here; they are 1 to {count}.", HOW)
    return int(text) - 1
