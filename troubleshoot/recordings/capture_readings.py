"""What a capture tells, in words and as readings for checks, by what the probe was on."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from troubleshoot.calculations.units import show_number
from troubleshoot.recordings.capture import Capture
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.estimates import Estimate, mean
from troubleshoot.recordings.ignition_capture import coil_reading
from troubleshoot.recordings.injector_capture import injector_reading
from troubleshoot.recordings.rotating_capture import cranking_reading, pump_reading, ripple_reading
from troubleshoot.recordings.taken import TakenReading, taken

IDLES = (400.0, 1200.0)
FAST = 3500.0
DRIFT_TO = 2200.0
AMPERES = ("pump", "starter", "injector")
"""Probes whose channel is a current."""
MOST_MARKS = 60
"""Sparks, and bounces, that are marked in a picture."""


@dataclass(frozen=True)
class ProbeSet:
    """What the probe was on and what must be known of it: cylinders, pump segments, channel by heading, strokes."""

    kind: str
    cylinders: int = 0
    segments: int = 8
    channel: str = ""
    strokes: int = 4


@dataclass(frozen=True)
class CaptureReport:
    """What a capture tells: lines of words, readings for checks, and marks for a picture (word, from and to in s)."""

    words: tuple[str, ...]
    readings: tuple[TakenReading, ...]
    marks: tuple[tuple[str, float, float], ...] = ()
    begins_s: float = -math.inf
    """Where a picture begins; the beginning of the capture where nothing speaks for a later moment."""


def capture_report(capture: Capture, probe: ProbeSet) -> CaptureReport:
    """Return what a capture tells; RecordingRefused where it does not hold what the probe should show."""
    if probe.kind not in KINDS:
        raise RecordingRefused(f"{probe.kind[:30]!r} is no place for a probe — use one of {', '.join(KINDS)}")
    if probe.kind in ("coil", "starter", "battery") and not 1 <= probe.cylinders <= 16:
        raise RecordingRefused("The number of cylinders is needed — give --cylinders or --car")
    if not 2 <= probe.segments <= 60:
        raise RecordingRefused("A commutator has 2 to 60 segments — count them or look at the pump's data")
    try:
        return KINDS[probe.kind](capture, probe)
    except RecordingRefused as problem:
        if capture.name in problem.sentence:
            raise
        raise RecordingRefused(f"{capture.name}: {problem.sentence}") from None


def _shown(found: Estimate, unit: str, digits: int) -> str:
    return f"{found.value:.{digits}f} ± {show_number(float(f'{found.spread:.2g}'), 2)} {unit}"


def _kept(*readings: TakenReading | None) -> tuple[TakenReading, ...]:
    return tuple(one for one in readings if one is not None)


def _coil(capture: Capture, probe: ProbeSet) -> CaptureReport:
    volts = capture.channel(probe.channel, "V")
    found = coil_reading(volts, capture.rate_hz, probe.cylinders, capture.start_s, probe.strokes)
    span = (capture.start_s, capture.start_s + capture.seconds)
    words = [
        f"Engine speed {_shown(found.speed, 'rpm', 0)} from {found.sparks} sparks.",
        f"Dwell {_shown(found.dwell, 'degrees of the distributor', 1)}; of each cylinder in firing order: "
        f"{', '.join(f'{one:.1f}' for one in found.dwell_of)}.",
        f"Single dwells scatter by {found.scatter:.2f} degrees.",
    ]
    if found.drift is not None:
        words.append(
            f"From {found.slowest:.0f} to {found.fastest:.0f} rpm the dwell changes by "
            f"{_shown(found.drift, 'degrees', 1)}."
        )
    words += found.verdicts(probe.cylinders) or ("No bounce, no missing and no extra pulses.",)
    steady = found.fastest < 1.25 * found.slowest
    check = "dwell-at-idle" if IDLES[0] <= found.speed.value <= IDLES[1] else "dwell-at-speed"
    reading = None
    if steady and (check == "dwell-at-idle" or found.speed.value >= FAST):
        reading = taken(check, found.dwell, "deg dist", span, "closed share of the time between sparks")
    drift = None
    if found.drift is not None and found.slowest <= IDLES[1] and found.fastest >= DRIFT_TO:
        change = Estimate(abs(found.drift.value), found.drift.spread)
        drift = taken("dwell-drift", change, "deg dist", span, "fastest fifth less slowest fifth of the sparks")
    shut = zip(found.sparks_s[1:MOST_MARKS].tolist(), found.closed_s[1:MOST_MARKS].tolist(), strict=True)
    marks = [("dwell: points closed", spark - closed, spark) for spark, closed in shut]
    marks += [("bounce", at, at + found.bounce_ms * 1e-3) for at in found.bounces_s[:MOST_MARKS].tolist()]
    return CaptureReport(tuple(words), _kept(reading, drift), tuple(marks))


def _pump(capture: Capture, probe: ProbeSet) -> CaptureReport:
    found = pump_reading(capture.channel(probe.channel, "A"), capture.rate_hz, probe.segments)
    words = [f"Pump current {_shown(found.current, 'A', 2)}."]
    if found.stalled:
        words.append("No commutator shows although current flows: the pump stands still.")
    elif found.speed is None:
        words.append("No current to speak of: the pump is not fed.")
    else:
        words.append(f"Pump speed {_shown(found.speed, 'rpm', 0)}, with {probe.segments} segments.")
        worn = [place for place, one in enumerate(found.humps, start=1) if one < 0.6]
        words.append(
            f"{found.worn} segments are worn: number {', '.join(map(str, worn))} of those recorded."
            if worn
            else "All segments show alike."
        )
    span = (capture.start_s, capture.start_s + capture.seconds)
    return CaptureReport(tuple(words), _kept(taken("pump-current", found.current, "A", span, "mean of the capture")))


def _starter(capture: Capture, probe: ProbeSet) -> CaptureReport:
    volts = probe.kind == "battery"
    values = capture.channel(probe.channel, "V" if volts else "A")
    found = cranking_reading(values, capture.rate_hz, probe.cylinders, volts, probe.strokes)
    words = [
        f"Cranking speed {_shown(found.speed, 'rpm', 0)}.",
        "Compression against the best, in firing order from the first recorded: "
        f"{', '.join(f'{100 * one:.0f} %' for one in found.relative)}.",
    ]
    words.append(
        f"The weakest has {100 * found.lowest:.0f} % of the best; under 75 % is a fault (common practice)."
        if found.lowest < 0.75
        else "All are over 75 % of the best (common practice)."
    )
    span = (capture.start_s, capture.start_s + capture.seconds)
    readings = [
        taken(
            "cranking-speed", found.speed, "rpm", span, f"{probe.strokes // 2} turns for each whole cycle of the load"
        )
    ]
    return CaptureReport(tuple(words), _kept(*readings))


def _injector(capture: Capture, probe: ProbeSet) -> CaptureReport:
    found = injector_reading(capture.channel(probe.channel, "A"), capture.rate_hz)
    words = [f"{found.pulses} pulses of {_shown(found.width, 'ms', 2)}, peak {_shown(found.peak, 'A', 2)}."]
    words.append(
        "No kink in the rise: the pintle does not move."
        if found.delay is None
        else f"The pintle opens after {_shown(found.delay, 'ms', 2)}."
    )
    values = capture.channel(probe.channel, "A")
    first = int((values > 0.5 * (values.min() + values.max())).argmax())
    span = (capture.start_s, capture.start_s + capture.seconds)
    seen = found.delay or Estimate(math.nan, math.nan)
    reading = taken("injector-opening-delay", seen, "ms", span, "kink in the rise of the current, all pulses together")
    return CaptureReport(tuple(words), _kept(reading), begins_s=capture.start_s + first / capture.rate_hz - 0.002)


def _ripple(capture: Capture, probe: ProbeSet) -> CaptureReport:
    values = capture.channel(probe.channel, "V")
    found = ripple_reading(values, capture.rate_hz)
    words = [
        f"Ripple {_shown(found.peak_to_peak, 'V', 2)} from peak to peak"
        + (f", strongest at {found.hertz:.0f} Hz." if found.hertz else "."),
        "The ripple lacks pulses as with a bad diode."
        if found.bad_diode
        else "The pulses of the rectifier are even: no diode is missing.",
        f"Mean {_shown(mean(values), 'V', 2)}.",
    ]
    span = (capture.start_s, capture.start_s + capture.seconds)
    reading = taken("supply-ripple", found.alternating, "V", span, "root of the mean square of the ripple")
    return CaptureReport(tuple(words), _kept(reading))


KINDS: Mapping[str, Callable[[Capture, ProbeSet], CaptureReport]] = MappingProxyType(
    {
        "coil": _coil,
        "pump": _pump,
        "starter": _starter,
        "battery": _starter,
        "injector": _injector,
        "ripple": _ripple,
    }
)
"""What the probe was on: coil minus or points (V), pump (A), starter (A), battery while cranking (V), injector (A),
battery with the engine running (V)."""
