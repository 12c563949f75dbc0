"""Readings from a log or a capture, shown in the conversation and taken by their numbers."""

from __future__ import annotations

import shlex
from pathlib import Path

from troubleshoot.case.case import Case
from troubleshoot.case.recorded import offered, take_recorded, text_of
from troubleshoot.cli import output
from troubleshoot.cli.case_setup import lines
from troubleshoot.cli.plain_lines import ranking_lines, wrapped
from troubleshoot.problems import TroubleshootError

WIDTH, HEIGHT = 76, 12
HOW = "As in: log pull.csv, or: capture coil.csv coil; then the same with 1 3 or all behind it."


def take_or_show(case: Case, word: str, rest: str) -> None:
    """Show the readings of a file, or take those named by number."""
    from troubleshoot.recordings.recorded import Recorded, charts_of, recorded_capture, recorded_log

    try:
        words = shlex.split(rest)
    except ValueError:
        words = rest.split()
    needed = 1 if word == "log" else 2
    if len(words) < needed:
        raise TroubleshootError("Name the file of the recording.", HOW)
    path = Path(words[0])
    recorded: Recorded
    if word == "log":
        from troubleshoot.recordings.log import read_log
        from troubleshoot.recordings.picks import headings_of, remembered

        folder = Path(getattr(case.store, "path", path)).parent
        chosen = remembered(folder, headings_of(path)) if path.is_file() else {}
        recorded = recorded_log(read_log(path, chosen))
    else:
        from troubleshoot.recordings.capture import read_capture
        from troubleshoot.recordings.capture_readings import ProbeSet, capture_report

        car = case.assessment.car
        probe = ProbeSet(words[1], car.cylinders)
        capture = read_capture(path)
        recorded = recorded_capture(capture, probe, capture_report(capture, probe))
    found = offered(case, recorded)
    asked = words[needed:]
    if asked:
        every = range(len(found)) if asked == ["all"] else [_place(one, len(found)) for one in asked]
        chosen_checks = [found[place].check for place in every]
        count = take_recorded(case, recorded, chosen_checks)
        output.data(f"{count} reading{'s' if count != 1 else ''} taken from {recorded.file}.")
        lines(list(ranking_lines(case.view(), 3)))
        return
    from troubleshoot.reports.plots import text_plot

    spans = [(one.from_s, one.to_s) for one in found]
    for chart in charts_of(recorded.file, recorded.points, recorded.units, spans)[:2]:
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
