"""`troubleshoot capture`: what an oscilloscope capture tells."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions, global_options
from troubleshoot.problems import TroubleshootError
from troubleshoot.recordings.capture import read_capture
from troubleshoot.recordings.capture_readings import AMPERES, ProbeSet, capture_report

CAR_HELP = "A car file or the id of a car, for its cylinders and strokes."
STROKES_HELP = "Strokes of the engine, 4 or 2; 4 where neither this nor the car says it."
PLACES = "coil (minus or points, V), pump (A), starter (A), battery (V, cranking), injector (A), ripple (battery V)"


def capture(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="Text in columns, the first of them time, or a WAV of a sound input.")],
    probe: Annotated[str, typer.Argument(help=f"What the probe was on: {PLACES}.")],
    cylinders: Annotated[int, typer.Option(help="Cylinders of the engine.")] = 0,
    car: Annotated[str | None, typer.Option(help=CAR_HELP)] = None,
    strokes: Annotated[int, typer.Option(help=STROKES_HELP)] = 0,
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
    count, cycle = engine_of(wanted, car, cylinders, strokes)
    held = read_capture(wanted.here / file, full_scale, "A" if probe in AMPERES else "V")
    found = capture_report(held, ProbeSet(probe, count, segments, channel, cycle))
    checks = wanted.catalogue().checks
    readings = {one.check: one.text(checks[one.check].uncertainty) for one in found.readings if one.check in checks}
    if as_json:
        words = [*held.remarks, *found.words]
        data = {"file": Path(held.name).name, "sha256": held.sha256, "words": words, "readings": readings}
        output.as_json(data)
        return
    for line in (*held.remarks, *found.words):
        output.say(line)
    for check, text in readings.items():
        output.data(f"{check}: {text}")


def engine_of(wanted: GlobalOptions, car: str | None, cylinders: int, strokes: int) -> tuple[int, int]:
    """Return cylinders and strokes as given, else of the car named; zero cylinders where neither says them."""
    from troubleshoot.cli.car_choice import car_asked_for

    if strokes not in (0, 2, 4):
        raise TroubleshootError("The strokes of an engine are 2 or 4.", "Give --strokes 2 or 4, or --car.")
    named = None if car is None else car_asked_for(wanted.cars(wanted.catalogue()), car, wanted.here)
    return cylinders or (named.cylinders if named else 0), strokes or (named.strokes if named else 4)


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("capture")(capture)
