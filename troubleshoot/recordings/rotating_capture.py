"""Currents and volts that repeat with a turning part: the pump's commutator, the starter's load, the rectifier."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from troubleshoot.recordings.capture import Numbers
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.estimates import Estimate

WORN = 0.6
"""Share of the usual hump below which a commutator segment counts as worn (common practice, no source)."""
RIPPLE_LEAST = 4.0
"""Times the noise beside it that a line must stand out of the spectrum."""
RIPPLE_MOST_V = 0.5
"""V from peak to peak of a good alternator at the battery (common practice, no source)."""
SMOOTHINGS_DEG = (4.0, 12.0, 20.0, 32.0, 48.0, 70.0)
GIVE_BACKS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
SHIFTS = 24
"""What is tried for smoothing, give-back and place of the humps."""
BAD_DIODE = 0.3
"""Share of the third multiple in the strongest line: 0.11 of a whole six-pulse rectifier (its Fourier series,
2/(36 k^2 - 1)), several times that where one diode is missing."""


NO_HUMPS = "No compressions show in this capture — look at the clamp, and keep the ignition off"


@dataclass(frozen=True)
class PumpReading:
    """What the current of a pump tells."""

    current: Estimate
    speed: Estimate | None
    """rpm; None where the commutator does not show."""
    humps: tuple[float, ...]
    """Height of each segment's hump against the usual one, in their order."""
    worn: int
    stalled: bool


def pump_reading(amperes: Numbers, rate_hz: float, segments: int) -> PumpReading:
    """Return what a pump's current tells; each of `segments` commutator segments makes one hump a turn.

    Speed = 60 f / segments (geometry; the count of segments stands in the pump's data or is counted once).
    """
    level = amperes - _slow(amperes, max(3, int(rate_hz / 20)))
    mean = Estimate(float(amperes.mean()), float(amperes.std()) / np.sqrt(max(1.0, amperes.size / rate_hz * 20)))
    if float(mean.value) < 0.3:
        return PumpReading(mean, None, (), 0, False)
    low = segments * 15.0
    line = _line(level, rate_hz, low, min(segments * 250.0, 0.4 * rate_hz))
    if line is None:
        return PumpReading(mean, None, (), 0, bool(mean.value > 1.0))
    hertz = line
    whole = _turn_of(level, rate_hz, hertz, segments)
    hertz = segments / whole
    shape = _folded(level, rate_hz, whole, 16 * segments)
    parts = np.roll(shape, -int(np.argmax(_comb(shape, segments)))).reshape(segments, 16)
    highest = np.percentile(parts, 95, axis=1)
    lowest = np.percentile(parts, 5, axis=1)
    heights = highest - lowest
    usual = float(np.median(heights))
    share = tuple(float(one / usual) for one in heights) if usual > 0 else ()
    spread = 60.0 * hertz / segments / max(1.0, level.size / rate_hz * hertz)
    return PumpReading(
        mean, Estimate(60.0 * hertz / segments, spread), share, sum(one < WORN for one in share), stalled=False
    )


def _comb(shape: Numbers, segments: int) -> Numbers:
    """Return for each of the 16 places in a segment how low the folded shape is there: where one hump begins."""
    made: Numbers = -shape.reshape(segments, 16).mean(axis=0)
    return made


@dataclass(frozen=True)
class CrankingReading:
    """What the load of the starter tells while it turns the engine."""

    speed: Estimate
    """rpm of the crankshaft."""
    relative: tuple[float, ...]
    """Each cylinder's compression against the best, in firing order from the first recorded; 1 is the best."""
    spread: float

    @property
    def lowest(self) -> float:
        """The weakest cylinder against the best."""
        return min(self.relative)


def cranking_reading(
    load: Numbers, rate_hz: float, cylinders: int, volts: bool = False, strokes: int = 4
) -> CrankingReading:
    """Return cranking speed and relative compression from starter amperes, or from battery volts, which dip instead.

    Each compression is one hump of the load; two turns of the crankshaft bring every cylinder once (geometry of the
    four-stroke; one turn of a two-stroke). Height against the highest hump is common practice, no source.
    """
    level = -load if volts else load
    level = _settled(level, rate_hz)
    smooth = _slow(level, max(1, int(rate_hz * 0.004)))
    flat = smooth - _slow(smooth, int(rate_hz * 0.6))
    cycle = _cycle_of(flat, rate_hz, cylinders, 30.0 * strokes)
    bins = 24 * cylinders
    level_out = smooth - _slow(smooth, round(rate_hz * cycle))  # a mean over whole cycles takes no line of them away
    shape = _folded(level_out, rate_hz, cycle, bins)
    weights, error = _humps(shape, cylinders, 180.0 * strokes)
    best = float(weights.max())
    if best <= 0 or error > 0.5 * best:
        raise RecordingRefused(NO_HUMPS)
    cycles = flat.size / rate_hz / cycle
    return CrankingReading(
        Estimate(float(30.0 * strokes / cycle), float(1.5 * strokes / cycle / max(1.0, cycles))),
        tuple(float(max(0.0, one) / best) for one in weights),
        float(min(1.0, error / best)),
    )


def _settled(level: Numbers, rate_hz: float) -> Numbers:
    """Return the part in which the starter turns steadily: half a second after its inrush until it lets go."""
    coarse = _slow(level, max(3, int(0.05 * rate_hz)))
    low, high = float(np.percentile(coarse, 2)), float(np.percentile(coarse, 90))
    on = np.flatnonzero(coarse > low + 0.4 * (high - low))
    still = float(np.mean(coarse < low + 0.15 * (high - low)))
    start = int(on[0]) if on.size else 0
    if start == 0 and still < 0.05:
        return level  # the capture lies wholly within the cranking
    end = int(on[-1]) if on.size else level.size
    start += int(0.5 * rate_hz)
    if end - start < 0.8 * rate_hz:
        raise RecordingRefused("Less than a second of steady cranking is in this capture — crank for three seconds")
    return level[start : end - int(0.05 * rate_hz)]


def _cycle_of(flat: Numbers, rate_hz: float, cylinders: int, seconds: float) -> float:
    """Return the seconds of a whole cycle, `seconds` at 1 rpm, from 60 to 500 rpm, by how the load repeats itself."""
    if flat.size < rate_hz * 0.8:
        raise RecordingRefused("Less than a second of cranking is in this capture — crank for three seconds")
    hump = _line(flat, rate_hz, 60 / seconds * cylinders, 500 / seconds * cylinders)
    if hump is None:
        hump = _line(flat, rate_hz, 60 / seconds, 500 / seconds * cylinders)
        if hump is None:
            raise RecordingRefused(NO_HUMPS)
    return _turn_of(flat, rate_hz, hump, cylinders)


def _humps(shape: Numbers, cylinders: int, degrees: float) -> tuple[Numbers, float]:
    """Return the height of each cylinder's hump and its error: least squares over place, smoothing and give-back.

    `degrees` are those of the crankshaft in a whole cycle.

    The hump is the gas torque of a polytropic compression (exponent 1.28, ratio 9, rod 3.5 cranks: textbook values),
    smoothed by the inertia of what turns; expansion gives a share of it back.
    """
    bins = shape.size
    angle = np.arange(bins) * degrees / bins - degrees / 2
    torque = gas_torque(angle)
    against, back = np.fft.rfft(np.maximum(torque, 0.0)), np.fft.rfft(np.minimum(torque, 0.0))
    lines = np.arange(against.size)
    pitch = degrees / cylinders
    best: tuple[float, Numbers] = (np.inf, np.zeros(cylinders))
    for smoothing in SMOOTHINGS_DEG:
        soft = np.sinc(lines * smoothing / degrees)
        for give_back in GIVE_BACKS:
            kernel = (against + give_back * back) * soft
            for shift in np.arange(0.0, pitch, pitch / SHIFTS):
                centres = shift + pitch * np.arange(cylinders)
                turned = kernel[:, None] * np.exp(-2j * np.pi * lines[:, None] * centres[None, :] / degrees)
                model = np.column_stack((np.fft.irfft(turned, bins, axis=0), np.ones(bins)))
                found: Numbers = np.asarray(np.linalg.lstsq(model, shape, rcond=None)[0], dtype=np.float64)
                left = float(np.sum((shape - model @ found) ** 2))
                if left < best[0] and found[:-1].max() > 0:
                    best = (left, found[:-1])
    return best[1], float(np.sqrt(best[0] / max(1, bins - cylinders - 3)))


def gas_torque(angle: Numbers) -> Numbers:
    """Return the torque of one cylinder's gas against turning, over crank degrees from its top: greatest about 1."""
    radians = np.deg2rad(angle)
    rod, clearance = 3.5, 1.0 / 8.0
    across = np.sqrt(rod**2 - np.sin(radians) ** 2)
    volume = clearance + 0.5 * (1 + rod - np.cos(radians) - across)
    pressure = ((1.0 + clearance) / volume) ** 1.28 - 1.0
    lever = np.sin(radians) * (1 + np.cos(radians) / across)
    made: Numbers = np.where(np.abs(angle) < 180.0, -pressure * lever, 0.0)
    return made / float(np.max(np.abs(made)))


@dataclass(frozen=True)
class RippleReading:
    """What the ripple of the battery volts tells of the alternator."""

    peak_to_peak: Estimate
    alternating: Estimate
    """Volts as a meter set to alternating volts shows them (root of the mean square)."""
    hertz: float
    bad_diode: bool


def ripple_reading(volts: Numbers, rate_hz: float) -> RippleReading:
    """Return the ripple; a missing diode takes every sixth pulse away, so that the line of one turn of the field shows.

    Six pulses to one electrical turn (three-phase bridge); peak to peak up to 0.5 V is good (common practice).
    """
    level = volts - _slow(volts, max(3, int(rate_hz / 30)))
    shape = np.hanning(level.size)
    between = np.median(np.abs(np.fft.rfft(level * shape)) ** 2) / np.log(2.0)  # lines are few; noise has this median
    own = float(np.sqrt(between / max(float(np.sum(shape**2)), 1e-30)))
    low, high = np.percentile(level, (0.5, 99.5))
    wide = float(high - low)
    value = float(np.sqrt(max(0.0, wide**2 - (5.15 * own) ** 2)))
    square = float(np.sqrt(max(0.0, float(np.mean(level**2)) - own**2)))
    meter = Estimate(square, 0.3 * own + 0.02 * square)
    line = _line(level, rate_hz, 60.0, 0.4 * rate_hz)
    if line is None:
        return RippleReading(Estimate(value, own + 0.02), meter, 0.0, bad_diode=False)
    power = _spectrum(level, rate_hz)
    share = _near_line(power, 3 * line) / max(_near_line(power, line), 1e-12)
    bad = bool(share > BAD_DIODE or value > 2 * RIPPLE_MOST_V)
    return RippleReading(Estimate(value, own + 0.02 * wide), meter, line, bad)


def _slow(values: Numbers, width: int) -> Numbers:
    """Return the running mean over `width` samples, ends held."""
    width = max(1, min(width, values.size))
    if width == 1:
        return values
    sums = np.concatenate(([0.0], np.cumsum(values)))
    places = np.arange(values.size)
    low = np.maximum(places - width // 2, 0)
    high = np.minimum(places + (width - width // 2), values.size)
    made: Numbers = (sums[high] - sums[low]) / (high - low)
    return made


def _spectrum(level: Numbers, rate_hz: float) -> tuple[Numbers, Numbers]:
    size = 1 << int(4 * level.size - 1).bit_length()
    return (
        np.asarray(np.fft.rfftfreq(size, 1 / rate_hz), dtype=np.float64),
        np.abs(np.fft.rfft(level * np.hanning(level.size), size)) / max(level.size, 1),
    )


def _near_line(power: tuple[Numbers, Numbers], hertz: float) -> float:
    near = (power[0] > 0.97 * hertz) & (power[0] < 1.03 * hertz)
    return float(power[1][near].max()) if near.any() else 0.0


def _line(level: Numbers, rate_hz: float, low: float, high: float) -> float | None:
    """Return the strongest line of the spectrum between two frequencies, Hz; None where none stands out."""
    hertz, power = _spectrum(level, rate_hz)
    band = (hertz >= low) & (hertz <= high)
    if band.sum() < 3:
        return None
    inside, at = power[band], hertz[band]
    place = int(np.argmax(inside))
    if inside[place] < RIPPLE_LEAST * float(np.median(inside)) or inside[place] <= 0:
        return None
    return float(at[place])


def _turn_of(level: Numbers, rate_hz: float, hertz: float, count: int) -> float:
    """Return the seconds of a whole turn of `count` humps, near what the line says, by which folding is sharpest."""
    guess = count / hertz
    turns = level.size / rate_hz / guess
    if turns < 2:
        raise RecordingRefused("Fewer than two turns are in this capture — capture for longer")
    reach = min(0.06, 1.2 / turns)
    best, found = -np.inf, guess
    for step in (reach / 20, reach / 200):
        around = found / guess - 1
        for share in around + np.arange(-20, 21) * step:
            power = float(np.var(_folded(level, rate_hz, guess * (1 + share), 8 * count)))
            if power > best:
                best, found = power, guess * (1 + share)
    return found


def _folded(level: Numbers, rate_hz: float, turn_s: float, bins: int) -> Numbers:
    """Return the mean over all turns at each of `bins` places of a turn."""
    phase = (np.arange(level.size) / (rate_hz * turn_s)) % 1.0
    place = np.minimum((phase * bins).astype(np.int64), bins - 1)
    sums = np.bincount(place, weights=level, minlength=bins)
    counts = np.bincount(place, minlength=bins)
    made = sums / np.maximum(counts, 1)
    empty = counts == 0
    if empty.any() and not empty.all():
        made[empty] = np.interp(np.flatnonzero(empty), np.flatnonzero(~empty), made[~empty])
    return np.asarray(made, dtype=np.float64)
