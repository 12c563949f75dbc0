"""Readings from logs of the virtual engine, whose truth is known: 95 % of the stated intervals hold it.

The truth is worked out here from the record without instrument noise, at 50 samples a second, by plain definitions
(mean, band, lowest, crossing); the log has the instruments' noise and 5 to 50 samples a second.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from troubleshoot.recordings.log import log_from
from troubleshoot.recordings.readings import readings_from
from troubleshoot.recordings.taken import TakenReading
from troubleshoot.virtual_engine.traces import CHANNELS, COOLANT, SIGNED, Trace, trace

CARS: list[tuple[str, str, list[tuple[str, float]], int]] = [
    ("harrow-240", "points", [], 3),
    ("harrow-240", "electronic", [("vacuum_leak", 0.5)], 11),
    ("tarn-six-160", "points", [("pump_worn", 0.6)], 21),
]
SCENARIOS = ("warm-idle", "tip-in", "pull", "overrun", "held-speed", "cool-start")
RATES = (5.0, 10.0, 25.0, 50.0)
SHARE = 0.95


def noisy(clean: Trace, rate: float, seed: int) -> Trace:
    """Return what a logger of that rate writes, each channel with its instrument's noise."""
    every = round(50.0 / rate)
    stream = np.random.default_rng(seed)
    channels = {}
    for name, values in clean.channels.items():
        spread = 0.3 if name == COOLANT else CHANNELS[name].noise_sd
        shown = values[::every] + spread * stream.standard_normal(values[::every].size)
        channels[name] = shown if name in SIGNED else np.maximum(shown, 0.0)
    return replace(clean, time=clean.time[::every], channels=channels)


def truth_of(one: TakenReading, clean: Trace) -> float | None:
    """Return what a reading should have been, from the record without noise; None where it is not judged here."""
    inside = (clean.time >= one.from_s - 1e-6) & (clean.time <= one.to_s + 1e-6)
    time, of = clean.time[inside], {name: values[inside] for name, values in clean.channels.items()}
    means = {
        "idle-speed": "engine-speed",
        "idle-mixture": "mixture",
        "idle-correction": "correction",
        "idle-valve-position": "idle-valve",
        "idle-pulse-width": "pulse-width",
        "pressure-at-idle": "fuel-pressure",
        "throttle-closed-shown": "throttle",
        "cruise-mixture": "mixture",
        "cruise-correction": "correction",
        "charging-volts-held": "battery-volts",
        "overrun-mixture": "mixture",
        "cold-mixture": "mixture",
    }
    if one.check in means:
        return float(of[means[one.check]].mean())
    if one.check == "idle-swing":
        level = of["engine-speed"] - np.polyval(np.polyfit(time, of["engine-speed"], 1), time)
        return float(np.subtract(*np.percentile(level, (97, 3))) / 2)
    if one.check == "mixture-when-opened":
        return float(of["mixture"].max())
    if one.check in ("return-dip", "cold-idle-lowest"):
        return float(of["engine-speed"].min())
    if one.check == "return-hang":
        return None if not inside.any() else _crossing(clean, one)
    if one.check in ("controller-cranking-volts", "pressure-cranking"):
        name = "battery-volts" if "volts" in one.check else "fuel-pressure"
        return float(of[name][time >= time[0] + 0.2].mean())
    if one.check == "pressure-at-prime":
        return float(of["fuel-pressure"].max())
    if one.check == "injector-duty-top":
        return float(clean.channels["duty"].max())
    speeds = {"mixture-full-low": (2350, 2650, "mixture"), "manifold-pressure-full": (4250, 4750, "manifold-pressure")}
    if one.check in speeds:
        low, high, name = speeds[one.check]
        by = clean.channels["engine-speed"]
        if by.max() < high + 200:
            return None
        return float(clean.channels[name][(by >= low) & (by <= high)].mean())
    return None


def _crossing(clean: Trace, one: TakenReading) -> float:
    speed, throttle = clean.channels["engine-speed"], clean.channels["throttle"]
    near = (clean.time > one.from_s - 0.5) & (clean.time < one.from_s + 0.3)
    shut = clean.time[near][int(np.argmax(throttle[near] <= clean.channels["throttle"].min() + 3.0))]
    usual = float(speed[-50:].mean())
    after = clean.time > shut
    return float(clean.time[after][int(np.argmax(speed[after] <= usual + 200.0))] - shut)


def held(seeds: int) -> Iterator[tuple[str, float, float, bool]]:
    """Yield check, rate, error in standard uncertainties, and whether the 95 % interval holds the truth."""
    for engine, ignition, faults, seed in CARS:
        for scenario in SCENARIOS:
            clean = trace(engine, ignition, faults, scenario, seed, noise=False, samples_per_s=50.0)
            for rate in RATES:
                for draw in range(seeds):
                    log = log_from(noisy(clean, rate, draw).to_csv(), scenario)
                    for one in readings_from(log):
                        truth = truth_of(one, clean)
                        if truth is not None:
                            off = abs(one.value - truth) / max(one.spread, 1e-9)
                            yield one.check, rate, off, off <= 1.96


@pytest.mark.slow
def test_stated_intervals_hold_the_truth() -> None:
    found = list(held(2))
    assert len(found) > 300
    assert np.mean([one[3] for one in found]) >= SHARE
    assert np.mean([one[2] <= 1.96 / 2 for one in found]) < 0.9, "intervals twice as wide as need be prove nothing"
    by_check: dict[str, list[bool]] = {}
    for check, _, _, holds in found:
        by_check.setdefault(check, []).append(holds)
    weak = {check: np.mean(holds) for check, holds in by_check.items() if len(holds) >= 12 and np.mean(holds) < 0.8}
    assert not weak
