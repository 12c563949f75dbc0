"""A recording made ready for a case: what it is, its readings, words on it, and points to draw it by later."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np

from troubleshoot.calculations.chart import Axis, Band, Chart, Level, Line, Mark
from troubleshoot.recordings.capture import Capture
from troubleshoot.recordings.capture_readings import AMPERES, CaptureReport, ProbeSet
from troubleshoot.recordings.estimates import Numbers
from troubleshoot.recordings.log import Log
from troubleshoot.recordings.quantities import BY_NAME, SPEED, TIME
from troubleshoot.recordings.readings import notes_on, readings_from
from troubleshoot.recordings.sound import SoundReading, sound_readings, sound_words
from troubleshoot.recordings.taken import TakenReading

Points = tuple[tuple[float, float], ...]

BINS = 150
"""Places along a recording of which lowest and highest are kept."""
DRAWN = (SPEED, "mixture", "fuel-pressure", "manifold-pressure", "battery-volts", "throttle")
"""Quantities of a log that are kept for drawing, the most telling first."""
SHOWN_S = {"coil": 0.12, "pump": 0.08, "starter": 3.0, "battery": 3.0, "injector": 0.02, "ripple": 0.03}
"""Seconds of a capture that are kept for drawing: single pulses must still be told apart."""
MOST_STRETCHES = 4
"""Stretches named in one picture."""


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
    marks: tuple[tuple[str, float, float], ...] = ()
    """What is marked in the picture itself, as dwell and bounce: the word, from and to in s."""


class Shown(NamedTuple):
    """A reading in a picture: its stretch (s), the quantity it lies on, the moment picked, and what is normal."""

    words: str
    from_s: float
    to_s: float
    of: str = ""
    at_s: float | None = None
    value: float | None = None
    normal: tuple[float, float] | None = None


def recorded_log(log: Log) -> Recorded:
    """Return a log as a case keeps it."""
    named = [name for name in DRAWN if log.has(name)]
    points = {name: thinned(log.time, log.columns[name]) for name in named}
    units = {name: BY_NAME[name].unit for name in named}
    return Recorded("log", Path(log.name).name, log.sha256, notes_on(log), readings_from(log), points, units)


def recorded_sound(name: str, sha256: str, found: SoundReading) -> Recorded:
    """Return a sound as a case keeps it: the speed that was heard."""
    points = {SPEED: thinned(found.time, found.speed)}
    return Recorded("sound", name, sha256, sound_words(found), sound_readings(found), points, {SPEED: "rpm"})


def recorded_capture(capture: Capture, probe: ProbeSet, report: CaptureReport) -> Recorded:
    """Return a capture as a case keeps it: as much of it as single pulses can be told apart in."""
    unit = "A" if probe.kind in AMPERES else "V"
    values = capture.channel(probe.channel, unit)
    first = int(max(0.0, report.begins_s - capture.start_s) * capture.rate_hz)
    values = values[first : first + max(50, int(SHOWN_S[probe.kind] * capture.rate_hz))]
    time = capture.start_s + (first + np.arange(values.size)) / capture.rate_hz
    marks = tuple(one for one in report.marks if one[1] >= time[0] and one[2] <= time[-1])
    return Recorded(
        f"capture of {probe.kind}",
        Path(capture.name).name,
        capture.sha256,
        (*capture.remarks, *report.words),
        report.readings,
        {probe.kind: thinned(time, values)},
        {probe.kind: unit},
        marks,
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
    shown: Sequence[Shown] = (),
    marks: Sequence[tuple[str, float, float]] = (),
) -> tuple[Chart, ...]:
    """Return a chart for each quantity: stretches between upright lines, what is normal there as a band, the moments
    picked, and what is marked in the picture itself."""
    made: list[Chart] = []
    for name, held in points.items():
        if len(held) < 2:
            continue
        line = Line(name.replace("-", " "), tuple((float(at), float(one)) for at, one in held))
        here = [one for one in shown if one.of == name or (not made and one.of not in points)]
        chart = Chart(title, Axis(TIME, "s"), Axis(line.label, units.get(name, "")), (line,))
        own = tuple(Band(word, low, high, upright=True) for word, low, high in marks)
        made.append(
            chart._replace(
                levels=_edges(here, chart.bounds()),
                marks=tuple(
                    Mark(one.words, one.at_s, one.value)
                    for one in here
                    if one.of == name and one.at_s is not None and one.value is not None
                ),
                bands=own + _normal(here, name, chart.bounds()),
            )
        )
    return tuple(made)


def _edges(here: Sequence[Shown], bounds: tuple[float, float, float, float]) -> tuple[Level, ...]:
    """Return the edges of the stretches, each stretch named once; the whole recording is none."""
    left, right = bounds[:2]
    words: dict[tuple[float, float], list[str]] = {}
    for one in here:
        if one.at_s is None or one.of == "":
            words.setdefault((one.from_s, one.to_s), []).append(one.words)
    found = []
    for (start, end), named in list(words.items())[:MOST_STRETCHES]:
        label = f"{start:.4g} to {end:.4g} s: {', '.join(named)}"
        found += [Level(label if at == start else "", at, upright=True) for at in (start, end) if left <= at <= right]
    return tuple(found)


def _normal(here: Sequence[Shown], name: str, bounds: tuple[float, float, float, float]) -> tuple[Band, ...]:
    """Return what is normal of each reading over its own stretch, cut where it lies far from all that is drawn."""
    left, right, low, high = bounds
    reach, least = 0.4 * (high - low), 0.04 * (right - left)
    found = []
    for one in here:
        if one.of != name or one.normal is None:
            continue
        floor, roof = max(one.normal[0], low - reach), min(one.normal[1], high + reach)
        middle, half = (one.from_s + one.to_s) / 2, max(least, (one.to_s - one.from_s) / 2)
        if one.at_s is not None:
            middle, half = one.at_s, least
        if floor < roof:
            found.append(Band(f"normal: {one.words}", floor, roof, across=(middle - half, middle + half)))
    return tuple(found)
