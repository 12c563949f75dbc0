"""A recording made ready for a case: what it is, its readings, words on it, and points to draw it by later."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from troubleshoot.calculations.chart import Axis, Chart, Level, Line
from troubleshoot.recordings.capture import Capture
from troubleshoot.recordings.capture_readings import CaptureReport, ProbeSet
from troubleshoot.recordings.estimates import Numbers
from troubleshoot.recordings.log import Log
from troubleshoot.recordings.quantities import BY_NAME, SPEED, TIME
from troubleshoot.recordings.readings import notes_on, readings_from
from troubleshoot.recordings.taken import TakenReading

Points = tuple[tuple[float, float], ...]

BINS = 150
"""Places along a recording of which lowest and highest are kept."""
DRAWN = (SPEED, "mixture", "fuel-pressure", "manifold-pressure", "battery-volts", "throttle")
"""Quantities of a log that are kept for drawing, the most telling first."""
CAPTURE_SHOWN = 2500
"""Samples of a capture that are kept for drawing: single pulses must still be told apart."""


@dataclass(frozen=True)
class Recorded:
    """A recording as a case keeps it; `points` by quantity, times in s, numbers in its unit of `units`."""

    kind: str
    file: str
    sha256: str
    words: tuple[str, ...]
    readings: tuple[TakenReading, ...]
    points: Mapping[str, Points]
    units: Mapping[str, str]


def recorded_log(log: Log) -> Recorded:
    """Return a log as a case keeps it."""
    named = [name for name in DRAWN if log.has(name)]
    points = {name: thinned(log.time, log.columns[name]) for name in named}
    units = {name: BY_NAME[name].unit for name in named}
    return Recorded("log", Path(log.name).name, log.sha256, notes_on(log), readings_from(log), points, units)


def recorded_capture(capture: Capture, probe: ProbeSet, report: CaptureReport) -> Recorded:
    """Return a capture as a case keeps it."""
    unit = "A" if probe.kind in ("pump", "starter", "injector") else "V"
    values = capture.channel(probe.channel, unit)[:CAPTURE_SHOWN]
    time = capture.start_s + np.arange(values.size) / capture.rate_hz
    return Recorded(
        f"capture of {probe.kind}",
        Path(capture.name).name,
        capture.sha256,
        (*capture.remarks, *report.words),
        report.readings,
        {probe.kind: thinned(time, values)},
        {probe.kind: unit},
    )


def thinned(time: Numbers, values: Numbers, bins: int = BINS) -> Points:
    """Return lowest and highest of each of so many places along a recording, in their order in time."""
    good = np.isfinite(values)
    time, values = time[good], values[good]
    if time.size <= 2 * bins:
        return tuple((_short(at), _short(one)) for at, one in zip(time, values, strict=True))
    edges = np.unique(np.searchsorted(time, np.linspace(time[0], time[-1], bins + 1)))
    made: list[tuple[float, float]] = []
    for start, end in zip(edges[:-1].tolist(), [*edges[1:-1].tolist(), time.size], strict=True):
        part = values[start:end]
        for place in sorted({int(np.argmin(part)), int(np.argmax(part))}):
            made.append((_short(time[start + place]), _short(part[place])))
    return tuple(made)


def _short(value: float) -> float:
    return float(f"{value:.6g}")


def charts_of(
    title: str,
    points: Mapping[str, Sequence[Sequence[float]]],
    units: Mapping[str, str],
    spans: Sequence[tuple[float, float]] = (),
) -> tuple[Chart, ...]:
    """Return a chart for each quantity, the stretches that readings came from marked by upright lines."""
    made = []
    for name, held in points.items():
        if len(held) < 2:
            continue
        low, high = held[0][0], held[-1][0]
        edges = sorted({at for span in spans for at in span if low <= at <= high})[:8]
        levels = tuple(Level(f"stretch, {at:.4g} s", at, upright=True) for at in edges)
        unit = units.get(name, "")
        line = Line(name.replace("-", " "), tuple((float(at), float(one)) for at, one in held))
        made.append(Chart(title, Axis(TIME, "s"), Axis(name.replace("-", " "), unit), (line,), levels))
    return tuple(made)
