"""Time series a person can look at: one car through one scenario, with instrument noise, as arrays or CSV."""

from __future__ import annotations

import csv
import difflib
import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from troubleshoot.problems import TroubleshootError
from troubleshoot.virtual_engine import operating, scenarios, sensors
from troubleshoot.virtual_engine.cars import FaultList, build, instrument_stream, seeds_of
from troubleshoot.virtual_engine.fuel_supply import KPA_PER_PSI
from troubleshoot.virtual_engine.parameters import Parameters, Values
from troubleshoot.virtual_engine.running_readings import ten_minute_kpa
from troubleshoot.virtual_engine.scenarios import SCENARIOS, Begin, Scenario, run
from troubleshoot.virtual_engine.state import AtRest, Constants, State, hot_soak, resting_state, running_state
from troubleshoot.virtual_engine.steady import point
from troubleshoot.virtual_engine.trace_readings import HOT_C

SAMPLES_PER_S = 20.0
DEFAULT_STEP_S = 0.02


@dataclass(frozen=True, slots=True)
class Channel:
    """One displayed channel: where it comes from, its scale to the displayed unit, its noise there."""

    source: str
    unit: str
    scale: float
    noise_sd: float


CHANNELS: Mapping[str, Channel] = MappingProxyType(
    {
        "engine-speed": Channel("rpm", "rpm", 1.0, 4.0),
        "manifold-pressure": Channel("map", "kPa abs", 1.0, 0.4),
        "mixture": Channel("lambda", "lambda", 1.0, 0.008),
        "fuel-pressure": Channel("rail", "psi", 1.0 / KPA_PER_PSI, 0.4),
        "battery-volts": Channel("volts", "V", 1.0, 0.03),
        "duty": Channel("duty", "%", 100.0, 0.2),
        "correction": Channel("trim", "%", 100.0, 0.2),
        "idle-valve": Channel("valve_asked", "%", 100.0, 0.5),
        "throttle": Channel("throttle_ecu", "%", 100.0, 0.2),
        "pulse-width": Channel("pulse", "ms", 1000.0, 0.0),
        "timing": Channel("timing", "deg", 1.0, 0.0),
    }
)
COOLANT, COOLANT_NOISE_C = "coolant", 0.3
SIGNED = frozenset({"correction", "timing", COOLANT})
"""Channels that may be below zero; an instrument shows the others from zero up."""


class UnknownScenario(TroubleshootError):
    """There is no such running scenario."""


@dataclass(frozen=True, slots=True)
class Trace:
    """A recorded run of one car: time in s, channels by name, their units; NaN where nothing can be measured."""

    time: Values
    channels: Mapping[str, Values]
    units: Mapping[str, str]

    def to_csv(self) -> str:
        """Return the run as CSV text: one heading line with units, one line a sample."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        names = list(self.channels)
        writer.writerow(["time (s)"] + [f"{name.replace('-', ' ')} ({self.units[name]})" for name in names])
        for place, moment in enumerate(self.time):
            writer.writerow([f"{moment:.2f}"] + [_written(self.channels[name][place]) for name in names])
        return out.getvalue()


def _written(value: float) -> str:
    return "" if np.isnan(value) else f"{value:.4g}"


def trace(
    engine: str,
    ignition: str,
    faults: FaultList,
    scenario: str,
    seed: int,
    dt: float = DEFAULT_STEP_S,
    visit: int = 0,
    duration_s: float | None = None,
    noise: bool = True,
    samples_per_s: float = SAMPLES_PER_S,
) -> Trace:
    """Run one car through a scenario by name (see `scenarios.SCENARIOS`) and record what a logger shows.

    The seed gives the car, the same one that `readings` draws for a scenario with that seed of its own.
    Raises `UnknownScenario`, `UnknownEngine`, `UnknownFault` or `SeverityRefused`.
    """
    plan = SCENARIOS.get(scenario)
    if plan is None:
        near = difflib.get_close_matches(scenario, SCENARIOS, 1, 0.0)
        advice = f"Use {near[0]!r} or another of {', '.join(SCENARIOS)}."
        raise UnknownScenario(f"There is no running scenario called {scenario!r}.", advice)
    keys = seeds_of([seed], 1)
    p = build(engine, ignition, [faults], keys)
    start = _STARTS[scenario](p)
    every = max(1, round(1.0 / samples_per_s / dt))
    record = run(
        p,
        plan,
        start.begin,
        start.coolant_c,
        keys,
        visit=visit,
        dt=dt,
        every=every,
        names=[channel.source for channel in CHANNELS.values()],
        load=start.load,
        duration_s=duration_s,
    )
    channels = {name: record.channels[one.source][:, 0] * one.scale for name, one in CHANNELS.items()}
    channels["mixture"] = np.where(record.channels["rpm"][:, 0] < 1.0, np.nan, channels["mixture"])  # no exhaust
    coolant = sensors.indicated_coolant(p, start.coolant_c, sensors.ground_offset(p))
    channels[COOLANT] = np.full(record.time.size, float(coolant[0]))
    if noise:
        _add_noise(channels, keys[0], plan, visit)
    units = {name: one.unit for name, one in CHANNELS.items()} | {COOLANT: "degC"}
    return Trace(record.time, channels, units)


def _add_noise(channels: dict[str, Values], key: tuple[int, ...], plan: Scenario, visit: int) -> None:
    stream = instrument_stream((*key, plan.number), visit)
    for name in channels:
        spread = COOLANT_NOISE_C if name == COOLANT else CHANNELS[name].noise_sd
        shown = channels[name] + spread * stream.standard_normal(channels[name].size)
        channels[name] = shown if name in SIGNED else np.maximum(shown, 0.0)


@dataclass(frozen=True, slots=True)
class _Start:
    begin: Begin
    coolant_c: Values
    load: Values | None = None


def _from_idle(p: Parameters) -> _Start:
    at = operating.idle(p, p.thermostat_c).at
    return _Start(lambda k: running_state(k, at), p.thermostat_c)


def _from_cool(p: Parameters) -> _Start:
    zero = np.zeros(p.size)
    return _Start(lambda k: resting_state(k, AtRest(zero, zero, zero)), p.soak_c)


def _from_hot_soak(p: Parameters) -> _Start:
    rail = operating.idle(p, p.thermostat_c).at.supply.rail_kpa
    rest = hot_soak(p, rail, ten_minute_kpa(p, rail))
    return _Start(lambda k: resting_state(k, rest), np.full(p.size, HOT_C))


def _from_cruise(speed: float, share: float) -> Callable[[Parameters], _Start]:
    def start(p: Parameters) -> _Start:
        at = operating.cruise(p, speed, share, p.thermostat_c)
        return _Start(lambda k: running_state(k, at), p.thermostat_c, at.torque)

    return start


def _from_no_load(p: Parameters) -> _Start:
    at = operating.no_load(p, 3000.0, p.thermostat_c)
    idle = operating.idle(p, p.thermostat_c).at

    def begin(k: Constants) -> State:
        state = running_state(k, at)
        state.valve_integral = running_state(k, idle).valve_integral  # the loop remembers the last idle
        return state

    return _Start(begin, p.thermostat_c)


def _from_full_throttle(p: Parameters) -> _Start:
    low, wide, valve = np.full(p.size, 1500.0), np.ones(p.size), np.full(p.size, 0.15)
    at = point(p, low, wide, valve, p.thermostat_c)
    return _Start(lambda k: running_state(k, at), p.thermostat_c)


_STARTS: Mapping[str, Callable[[Parameters], _Start]] = MappingProxyType(
    {
        scenarios.WARM_IDLE.name: _from_idle,
        scenarios.TIP_IN.name: _from_cruise(operating.TIP_IN_RPM, 0.12),
        scenarios.COOL_START.name: _from_cool,
        scenarios.HOT_RESTART.name: _from_hot_soak,
        scenarios.CLEAR_FLOOD.name: _from_cool,
        scenarios.PULL.name: _from_full_throttle,
        scenarios.OVERRUN.name: _from_no_load,
        scenarios.HELD_SPEED.name: _from_cruise(operating.CRUISE_RPM, 0.245),
        scenarios.PRIME.name: _from_cool,
    }
)
