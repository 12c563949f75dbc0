"""A recording taken into a case: which file, its picture with the stretches marked, and the readings to take."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.case.case import Case
from troubleshoot.case.recorded import offered, text_of
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.form_screen import FormScreen, System
from troubleshoot.tui.screens.tick_screen import MarkScreen
from troubleshoot.tui.widgets.form import FormField
from troubleshoot.tui.widgets.numbered import Row

if TYPE_CHECKING:
    from troubleshoot.recordings.recorded import Recorded

WHAT = ("log", "coil", "pump", "starter", "battery", "injector", "ripple")
"""A log of the run, or what the probe of an oscilloscope was on."""
LOW_HEIGHT, ROOM_FOR_ROWS = 30, 14


def recording_form(case: Case, folder: Path) -> FormScreen:
    """Return the form that asks for the file; its result is the recording read."""
    fields = [
        FormField("file", "File", "", "CSV or other text in columns; a capture may be WAV"),
        FormField("what", "What it is", "log", choices=WHAT),
        FormField("columns", "Columns", "", "only where headings mean nothing: engine-speed=Drehzahl; time=Zeit"),
        FormField("full-scale", "Highest sample of a WAV, V or A", "", "only for a capture in WAV"),
    ]

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        name = changed.get("file", "").strip()
        if not name:
            return None, {"file": "Name the file."}
        try:
            return read_recording(case, folder, name, changed), {}
        except TroubleshootError as refused:
            return None, {
                "columns" if "--column" in refused.sentence else "file": str(refused).replace("--column ", "")
            }

    words = "Readings are taken from it with their uncertainty; you choose which."
    return FormScreen("A recording", words, lambda _: fields, reads)


def read_recording(case: Case, folder: Path, name: str, typed: Mapping[str, str]) -> Recorded:
    """Read a file as what it was said to be; columns named are remembered for its headings."""
    from troubleshoot.recordings.recorded import recorded_capture, recorded_log

    path = Path(name).expanduser()
    what = typed.get("what", "log")
    if what == "log":
        from troubleshoot.recordings.log import read_log
        from troubleshoot.recordings.picks import headings_of, read_picks, remember, remembered

        chosen = read_picks([one for one in typed.get("columns", "").split(";") if one.strip()])
        if path.is_file():
            headings = headings_of(path, chosen)
            before = remembered(folder, headings)
            chosen = {quantity: one for quantity, one in before.items() if one not in chosen.values()} | chosen
            log = read_log(path, chosen)
            if typed.get("columns", "").strip():
                remember(folder, headings, chosen)
            return recorded_log(log)
        return recorded_log(read_log(path, chosen))
    from troubleshoot.recordings.capture import read_capture
    from troubleshoot.recordings.capture_readings import ProbeSet, capture_report

    scale = typed.get("full-scale", "").strip()
    unit = "A" if what in ("pump", "starter", "injector") else "V"
    capture = read_capture(path, _number(scale) if scale else None, unit)
    probe = ProbeSet(what, case.assessment.car.cylinders)
    return recorded_capture(capture, probe, capture_report(capture, probe))


def _number(text: str) -> float:
    from troubleshoot.calculations.units import read_quantity

    return read_quantity(text, "count").value


def recording_screen(case: Case, recorded: Recorded, size: tuple[int, int]) -> MarkScreen:
    """Return the screen of a recording: its picture, and the readings to mark; all are marked to begin with."""
    from troubleshoot.recordings.recorded import charts_of
    from troubleshoot.reports.plots import text_plot

    found = offered(case, recorded)
    width, height = size
    rows = [
        Row(one.check, f"{case.catalogue.checks[one.check].ask}: {text_of(case, one)}", one.stretch, one.method)
        for one in found
    ]
    charts = charts_of(recorded.file, recorded.points, recorded.units, [(one.from_s, one.to_s) for one in found])
    drawn = [text_plot(chart, max(30, width - 6), max(6, min(16, height - ROOM_FOR_ROWS - 4))) for chart in charts[:1]]
    words = "\n".join((*drawn, *(recorded.words if height > LOW_HEIGHT else recorded.words[:2])))
    return MarkScreen(f"{recorded.kind}: {recorded.file}", rows, [one.check for one in found], words, least=1)
