"""Oscilloscope captures of known truth: ignition, pump, starter, injector and alternator as a probe sees them.

Each function returns samples with noise; what they were made from is the truth that a reader is tested against.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from troubleshoot.virtual_engine.electrical import rectified
from troubleshoot.virtual_engine.parameters import Values

BATTERY_V = 13.4
CLOSED_V = 0.12
SPARK_S, RING_HZ = 0.0011, 2200.0
PINTLE_STEP_S, PINTLE_OHM, PINTLE_LIFT_M = 2e-6, 13.0, 1e-4
PINTLE_MH_A_MM = 8.0
"""Inductance that a coil gains by the way of its pintle, mH a mm (H/m)."""


@dataclass(frozen=True)
class Ignition:
    """A distributor with points: dwell in its degrees, one for each cylinder in firing order."""

    cylinders: int
    dwell_deg: tuple[float, ...]
    scatter_deg: float = 0.0
    bounce_ms: float = 0.0
    chatter: int = 1
    missing_every: int = 0
    noise_pulses: int = 0


def coil_minus(
    one: Ignition, rpm: Sequence[float], rate_hz: float, seconds: float, noise_v: float = 0.3, seed: int = 0
) -> Values:
    """Return volts at coil minus: closed near zero, a spark, its ringing, then battery volts until closing.

    The speed goes evenly from the first of `rpm` to the last. A probe of ten to one cuts the spark's peak at 60 V.
    """
    stream = np.random.default_rng(seed)
    moment = np.arange(int(rate_hz * seconds)) / rate_hz
    speeds = np.interp(moment, np.linspace(0.0, seconds, len(rpm)), rpm)
    angle = np.concatenate(([0.0], np.cumsum(speeds[:-1]) / rate_hz * 3.0)) + 7.3  # distributor degrees
    pitch = 360.0 / one.cylinders
    number = np.floor(angle / pitch).astype(int)
    within = angle - number * pitch
    count = int(number[-1]) + 2
    dwell = np.array([one.dwell_deg[place % len(one.dwell_deg)] for place in range(count)])
    dwell = dwell + one.scatter_deg * stream.standard_normal(count)
    spark_at = np.interp(np.arange(count) * pitch, angle, moment)
    open_deg = pitch - dwell[number]
    since = moment - spark_at[number]
    closing = np.interp(np.arange(count) * pitch + pitch - dwell, angle, moment)
    volts = _open_volts(since)
    closed = within >= open_deg
    if one.bounce_ms:
        after = (moment - closing[number]) * 1e3
        turn = (after / (one.bounce_ms / one.chatter)) % 1.0
        closed &= ~((after > 0.05) & (after < one.bounce_ms) & (turn > 0.4))
    if one.missing_every:
        closed |= (number % one.missing_every) == one.missing_every - 1
    volts = np.where(closed, CLOSED_V, volts)
    for _ in range(one.noise_pulses):
        share = (within - open_deg) / dwell[number]
        inside = np.flatnonzero(closed & (share > 0.5) & (share < 0.9))
        place = int(stream.choice(inside))
        volts[place : place + max(1, int(0.0001 * rate_hz))] = BATTERY_V
    made: Values = np.clip(volts + noise_v * stream.standard_normal(volts.size), -5.0, 60.0)
    return made


def _open_volts(since: Values) -> Values:
    spark = 34.0 + 150.0 * np.exp(-since / 4e-5)
    ring = BATTERY_V + 8.0 * np.exp(-(since - SPARK_S) / 6e-4) * np.cos(2 * np.pi * RING_HZ * (since - SPARK_S))
    made: Values = np.where(since < SPARK_S, spark, ring)
    return made


def pump_current(
    rpm: float,
    segments: int,
    rate_hz: float,
    seconds: float,
    mean_a: float = 5.2,
    humps: Sequence[float] | None = None,
    noise_a: float = 0.04,
    seed: int = 0,
) -> Values:
    """Return a pump's amperes: a hump for each commutator segment, a worn one lower; stalled at no speed."""
    stream = np.random.default_rng(seed)
    moment = np.arange(int(rate_hz * seconds)) / rate_hz
    noise = noise_a * stream.standard_normal(moment.size)
    if rpm <= 0:
        stalled: Values = mean_a * 3 + noise
        return stalled
    wander = 1.0 + 0.002 * np.sin(2 * np.pi * 0.7 * moment)
    turns = np.cumsum(np.full(moment.size, rpm / 60.0 / rate_hz) * wander)
    segment = np.floor(turns * segments).astype(int) % segments
    high = np.ones(segments) if humps is None else np.asarray(humps, dtype=np.float64)
    within = (turns * segments) % 1.0
    made: Values = mean_a + 0.35 * high[segment] * (np.sin(np.pi * within) - 0.6) + noise
    return made


def cranking_current(
    rpm: float,
    compression: Sequence[float],
    rate_hz: float,
    seconds: float,
    mean_a: float = 140.0,
    noise_a: float = 4.0,
    seed: int = 0,
    strokes: int = 4,
) -> Values:
    """Return a starter's amperes with its inrush: each cylinder's gas torque in firing order, by its compression.

    Gas torque of a polytropic compression and expansion (exponent 1.3, ratio 8.5) over crank angle, smoothed by the
    inertia of starter and flywheel.
    """
    stream = np.random.default_rng(seed)
    moment = np.arange(int(rate_hz * seconds)) / rate_hz
    count, cycle = len(compression), 180.0 * strokes
    crank = moment * rpm * 6.0 + 31.0
    load = np.zeros(moment.size)
    for place, one in enumerate(compression):
        load += one * _gas_torque((crank - place * cycle / count + cycle / 2) % cycle - cycle / 2)
    inertia = max(1, int(rate_hz * 60.0 / rpm * 20.0 / 360.0))
    load = np.convolve(load, np.ones(inertia) / inertia, mode="same")
    inrush = 350.0 * np.exp(-moment / 0.06)
    made: Values = mean_a + 60.0 * load + inrush + noise_a * stream.standard_normal(moment.size)
    return made


def battery_volts_cranking(amperes: Values, open_v: float = 12.5, ohm: float = 0.011) -> Values:
    """Return the battery's volts under a current: its open volts less the drop in its own resistance."""
    volts: Values = open_v - ohm * amperes
    return volts


def _gas_torque(angle: Values) -> Values:
    """Return the torque against turning of one cylinder, its greatest 1; expansion gives back four fifths."""
    radians = np.deg2rad(angle)
    rod = 3.4
    stroke = 0.5 * ((1 - np.cos(radians)) + rod * (1 - np.sqrt(1 - (np.sin(radians) / rod) ** 2)))
    volume = 1.0 / 7.5 + stroke
    pressure = ((1.0 + 1.0 / 7.5) / volume) ** 1.3 - 1.0
    lever = np.sin(radians) * (1 + np.cos(radians) / np.sqrt(rod**2 - np.sin(radians) ** 2))
    torque = np.where(np.abs(angle) < 180.0, -pressure * lever, 0.0)
    torque = np.where(torque < 0, 0.35 * torque, torque)
    made: Values = torque / 5.4
    return made


def injector_current(
    delay_ms: float | None,
    width_ms: float,
    rate_hz: float,
    seconds: float,
    rpm: float = 800.0,
    volts: float = 13.5,
    noise_a: float = 0.01,
    seed: int = 0,
) -> Values:
    """Return an injector's amperes; `delay_ms` is when its pintle reaches its stop, None where it does not move.

    The rise is that of `pintle_rise`; when it is cut, the current falls with 0.15 ms.
    """
    stream = np.random.default_rng(seed)
    moment = np.arange(int(rate_hz * seconds)) / rate_hz
    on = (moment + 0.0123 + stream.uniform(0.0, 1.0 / rate_hz)) % (60.0 / rpm)
    rise = pintle_rise(delay_ms, width_ms, volts)
    risen = np.interp(on, np.arange(rise.size) * PINTLE_STEP_S, rise)
    off = on - width_ms * 1e-3
    fall = rise[-1] * np.exp(-np.maximum(off, 0.0) / 1.5e-4)
    made: Values = np.where(off < 0, risen, fall) + noise_a * stream.standard_normal(moment.size)
    return made


@lru_cache(maxsize=64)
def pintle_rise(delay_ms: float | None, width_ms: float, volts: float) -> Values:
    """Return the amperes of a pulse, every 2 µs: a coil whose inductance grows as the pintle is pulled into it.

    V = R i + d(L i)/dt, force = i² (dL/dx) / 2, less what holds the pintle shut (any textbook of magnets that move);
    13 ohm, 13 mH and 0.8 mH more when open, 0.1 mm of lift, 0.4 g: engineering estimates. What holds it shut is such
    that it reaches its stop at the delay.
    """
    none, most = 0.0, 0.5 * PINTLE_MH_A_MM * (volts / PINTLE_OHM) ** 2
    if delay_ms is None:
        return _moved(2.0 * most, width_ms, volts)[0]
    for _ in range(24):
        middle = 0.5 * (none + most)
        opened = _moved(middle, width_ms, volts)[1]
        none, most = (middle, most) if opened is not None and opened < delay_ms else (none, middle)
    return _moved(none, width_ms, volts)[0]


def _moved(hold: float, width_ms: float, volts: float) -> tuple[Values, float | None]:
    """Return the amperes of a pulse with so many newtons on the pintle, and when it reaches its stop, ms."""
    made = np.empty(int(width_ms * 1e-3 / PINTLE_STEP_S) + 1)
    amperes = place = speed = 0.0
    opened = None
    for step in range(made.size):
        made[step] = amperes
        against = PINTLE_OHM * amperes + PINTLE_MH_A_MM * speed * amperes
        amperes += PINTLE_STEP_S * (volts - against) / (0.013 + PINTLE_MH_A_MM * place)
        force = 0.5 * PINTLE_MH_A_MM * amperes * amperes - hold
        if opened is None and (force > 0 or place > 0):
            speed += PINTLE_STEP_S * force / 4e-4
            place += PINTLE_STEP_S * speed
            if place >= PINTLE_LIFT_M:
                place, speed, opened = PINTLE_LIFT_M, 0.0, step * PINTLE_STEP_S * 1e3
    return made, opened


def battery_ripple(
    hertz: float,
    rate_hz: float,
    seconds: float,
    diodes_lost: float = 0.0,
    noise_v: float = 0.01,
    seed: int = 0,
    volts: float = 14.1,
    root_v: float = 0.063,
) -> Values:
    """Return battery volts about a mean of `volts` under a three-phase bridge, at `hertz` turns of its field.

    `diodes_lost` of one phase do not conduct; `root_v` is the root of the mean square of the ripple without noise.
    """
    stream = np.random.default_rng(seed)
    moment = np.arange(int(rate_hz * seconds)) / rate_hz
    shape = rectified(hertz * moment, np.asarray(diodes_lost))
    made: Values = volts + root_v * shape / np.std(shape) + noise_v * stream.standard_normal(moment.size)
    return made
