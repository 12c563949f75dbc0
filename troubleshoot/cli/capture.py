"""`troubleshoot capture`: what an oscilloscope capture tells."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions, global_options
from troubleshoot.recordings.capture import read_capture
from troubleshoot.recordings.capture_readings import AMPERES, ProbeSet, capture_report

PLACES = "coil (minus or points, V), pump (A), starter (A), battery (V, cranking), injector (A), ripple (battery V)"


def capture(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="Text in columns, the first of them time, or a WAV of a sound input.")],
    probe: Annotated[str, typer.Argument(help=f"What the probe was on: {PLACES}.")],
    cylinders: Annotated[int, typer.Option(help="Cylinders of the engine.")] = 0,
    car: Annotated[str | None, typer.Option(help="A car file or the id of a car, for its cylinders.")] = None,
    segments: Annotated[int, typer.Option(help="Segments of the pump's commutator.")] = 8,
    channel: Annotated[str, typer.Option(help="The heading of the channel, where there are several.")] = "",
    full_scale: Annotated[
        float | None, typer.Option("--full-scale", help="Of a WAV: what the highest sample stands for, in V or A.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print what was found as JSON.")] = False,
) -> None:
    """Read an oscilloscope capture.

    Ignition, pump, starter, injector or alternator.

    Prints check ids with what was read, as a readings file for `rank` has them, and says the rest.
    """
    wanted = global_options(context)
    count = cylinders or cylinders_of(wanted, car)
    held = read_capture(wanted.here / file, full_scale, "A" if probe in AMPERES else "V")
    found = capture_report(held, ProbeSet(probe, count, segments, channel))
    checks = wanted.catalogue().checks
    readings = {one.check: one.text(checks[one.check].uncertainty) for one in found.readings if one.check in checks}
    if as_json:
        words = [*held.remarks, *found.words]
        data = {"file": Path(held.name).name, "sha256": held.sha256, "words": words, "readings": readings}
        output.data(json.dumps(data, indent=1, ensure_ascii=False))
        return
    for line in (*held.remarks, *found.words):
        output.say(line)
    for check, text in readings.items():
        output.data(f"{check}: {text}")


def cylinders_of(wanted: GlobalOptions, car: str | None) -> int:
    """Return the cylinders of a car named on the command line; nought where none is named."""
    if car is None:
        return 0
    from troubleshoot.cli.car_choice import car_asked_for

    return int(car_asked_for(wanted.catalogue(), car, wanted.here).cylinders)


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("capture")(capture)
