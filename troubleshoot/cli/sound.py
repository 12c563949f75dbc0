"""`troubleshoot sound`: engine speed, hunt, break-up and a dead cylinder from a recorded sound."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from troubleshoot.cli import output
from troubleshoot.cli.capture import CAR_HELP, STROKES_HELP, engine_of
from troubleshoot.cli.options import global_options
from troubleshoot.problems import TroubleshootError

WIDTH, HEIGHT = 76, 14


def sound(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="A WAV of the exhaust, 8 kHz or more; the first channel is heard.")],
    cylinders: Annotated[int, typer.Option(help="Cylinders of the engine.")] = 0,
    car: Annotated[str | None, typer.Option(help=CAR_HELP)] = None,
    strokes: Annotated[int, typer.Option(help=STROKES_HELP)] = 0,
    as_json: Annotated[bool, typer.Option("--json", help="Print what was found as JSON.")] = False,
) -> None:
    """Read the engine speed from a recorded sound.

    Prints check ids with what was read, as a readings file for `rank` has them, and says the rest.
    """
    from troubleshoot.calculations.chart import Axis, Chart, Line
    from troubleshoot.recordings.sound import read_sound, sound_reading, sound_readings, sound_words
    from troubleshoot.reports.plots import text_plot

    wanted = global_options(context)
    count, cycle = engine_of(wanted, car, cylinders, strokes)
    if not 1 <= count <= 16:
        raise TroubleshootError("Cylinders, 1 to 16, are needed.", "Give --cylinders or --car.")
    rate, samples, mark = read_sound(wanted.here / file)
    found = sound_reading(samples, rate, count, cycle)
    words = sound_words(found)
    checks = wanted.catalogue().checks
    readings = {
        one.check: one.text(checks[one.check].uncertainty) for one in sound_readings(found) if one.check in checks
    }
    if as_json:
        points = [[round(float(at), 2), round(float(one), 1)] for at, one in zip(found.time, found.speed, strict=True)]
        data = {"file": file.name, "sha256": mark, "words": words, "readings": readings, "speed": points}
        output.as_json(data)
        return
    line = Line("engine speed", tuple((float(at), float(one)) for at, one in zip(found.time, found.speed, strict=True)))
    output.say(text_plot(Chart(file.name, Axis("time", "s"), Axis("engine speed", "rpm"), (line,)), WIDTH, HEIGHT))
    for one in words:
        output.say(one)
    for check, text in readings.items():
        output.data(f"{check}: {text}")


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("sound")(sound)
