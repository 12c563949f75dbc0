"""Running scenarios in time: what the driver does, how the engine begins, and the recording made of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from troubleshoot.virtual_engine import airflow, sensors
from troubleshoot.virtual_engine.cars import process_stream
from troubleshoot.virtual_engine.delay import DelayLine
from troubleshoot.virtual_engine.loops import move_throttle
from troubleshoot.virtual_engine.parameters import Draws, Flags, Parameters, Values
from troubleshoot.virtual_engine.state import NOISES, Constants, Lines, State, constants
from troubleshoot.virtual_engine.stepper import Drive, Step, step

Begin = Callable[[Constants], State]
Throttle = Callable[[float, Values, Flags], Values]
"""Driver's throttle from the time, the opening at the start and which engines run."""


@dataclass(frozen=True, slots=True)
class Scenario:
    """What happens from time zero: driver's throttle from the opening at the start, starter, load, speed."""

    name: str
    words: str
    duration_s: float
    throttle: Throttle
    number: int  # of its noise stream
    starter_s: float | None = None  # starter engaged from here
    kick_s: float | None = None  # a load knock takes a tenth of the speed
    extra_inertia: float = 0.0  # kg.m2
    imposed_rpm: Callable[[float], float] | None = None


def _shut(_time: float, start: Values, _running: Flags) -> Values:
    return np.zeros_like(start)


def _blip(time: float, start: Values, _running: Flags) -> Values:
    opening = 0.10 if 14.0 <= time < 16.0 else max(0.0, 0.10 - 0.8 * (time - 16.0)) if time >= 16.0 else 0.0
    return np.full_like(start, opening)


def _tip_in(time: float, start: Values, _running: Flags) -> Values:
    part = min(max((time - TIP_S) / 0.15, 0.0), 1.0)
    opening: Values = start + (0.45 - start) * part
    return opening


def _wide(_time: float, start: Values, _running: Flags) -> Values:
    return np.ones_like(start)


def _flood_clear(_time: float, _start: Values, running: Flags) -> Values:
    return np.where(running, 0.0, 1.0)


def _overrun(time: float, start: Values, _running: Flags) -> Values:
    return start if time < 2.0 else start * max(0.0, 1.0 - (time - 2.0) / 0.2)


def _hold(_time: float, start: Values, _running: Flags) -> Values:
    return start


TIP_S = 0.5
STARTER_COOL_S = 2.2
STARTER_HOT_S = 1.0
BLIP_SHUT_S = 16.0 + 0.10 / 0.8

WARM_IDLE = Scenario("warm-idle", "warm idle, a load knock at 1 s, a blip at 14 s", 21.0, _blip, 0, kick_s=1.0)
TIP_IN = Scenario("tip-in", "throttle opened quickly at a 1500 rpm cruise", 2.6, _tip_in, 1, extra_inertia=6.0)
COOL_START = Scenario("cool-start", "start at 10 degC and run up", 13.0, _shut, 2, starter_s=STARTER_COOL_S)
HOT_RESTART = Scenario("hot-restart", "restart ten minutes after a hot stop", 10.0, _shut, 3, starter_s=STARTER_HOT_S)
CLEAR_FLOOD = Scenario(
    "clear-flood", "start at 10 degC with the pedal held down", 17.0, _flood_clear, 4, starter_s=STARTER_COOL_S
)
PULL = Scenario(
    "pull", "full throttle through the range on a brake", 10.0, _wide, 5, imposed_rpm=lambda time: 1500.0 + 400.0 * time
)
OVERRUN = Scenario("overrun", "held at 3000 rpm without load, then the throttle shut", 8.0, _overrun, 6)
HELD_SPEED = Scenario("held-speed", "2000 rpm cruise", 10.0, _hold, 7, extra_inertia=6.0)
PRIME = Scenario("prime", "key on without starting", 4.0, _shut, 8)

SCENARIOS: Mapping[str, Scenario] = MappingProxyType(
    {
        one.name: one
        for one in (
            WARM_IDLE,
            TIP_IN,
            COOL_START,
            HOT_RESTART,
            CLEAR_FLOOD,
            PULL,
            OVERRUN,
            HELD_SPEED,
            PRIME,
        )
    }
)


@dataclass(frozen=True, slots=True)
class Recording:
    """Channels over time, each an array of (moments, scenarios), and the state at the end."""

    time: Values
    channels: Mapping[str, Values]
    end: State

    def window(self, name: str, first: float, last: float) -> Values:
        """Return a channel between two times."""
        rows = (self.time >= first - 1e-9) & (self.time <= last + 1e-9)
        part: Values = self.channels[name][rows]
        return part


def _noise_block(scenario: Scenario, keys: Sequence[tuple[int, ...]], visit: int, steps: int) -> tuple[Draws, Draws]:
    """Return normal draws (steps, kinds, scenarios) and uniform draws, from each scenario's own stream."""
    normal = np.empty((steps, NOISES, len(keys)), dtype=np.float32)
    uniform = np.empty((steps, len(keys)), dtype=np.float32)
    for place, key in enumerate(keys):
        stream = process_stream(key, scenario.number, visit)
        normal[:, :, place] = stream.standard_normal((steps, NOISES), dtype=np.float32)
        uniform[:, place] = stream.random(steps, dtype=np.float32)
    return normal, uniform


def run(
    p: Parameters,
    scenario: Scenario,
    begin: Begin,
    coolant_c: Values,
    keys: Sequence[tuple[int, ...]],
    *,
    visit: int = 0,
    dt: float = 0.01,
    every: int = 5,
    names: Sequence[str] | None = None,
    load: Values | None = None,
    quiet: bool = False,
    duration_s: float | None = None,
) -> Recording:
    """Step a batch through a scenario and record every `every`-th step; `quiet` leaves all noise out."""
    k = constants(p, coolant_c, dt, scenario.extra_inertia)
    s = begin(k)
    steps = round((duration_s or scenario.duration_s) / dt)
    if quiet:
        normal = np.zeros((1, NOISES, p.size), dtype=np.float32)
        uniform = np.ones((1, p.size), dtype=np.float32)
    else:
        normal, uniform = _noise_block(scenario, keys, visit, steps)
    start, opened = s.throttle.copy(), s.throttle
    plates = airflow.plate_areas(p, opened)
    lines = Lines(DelayLine(p.size, dt), DelayLine(p.size, dt))
    times: list[float] = []
    rows: dict[str, list[Values]] = {}
    for index in range(steps):
        time = index * dt
        wanted = scenario.throttle(time, start, s.running)
        if not np.array_equal(wanted, opened):
            opened = wanted
            move_throttle(k, s, opened, sensors.indicated_throttle(p, opened, k.offset))
            plates = airflow.plate_areas(p, opened)
        if scenario.kick_s is not None and abs(time - scenario.kick_s) < 0.5 * dt:
            s.rpm = 0.9 * s.rpm
        row = 0 if quiet else index
        starter = scenario.starter_s is not None and time >= scenario.starter_s - 1e-9
        imposed = scenario.imposed_rpm(time) if scenario.imposed_rpm else None
        drive = Drive(time, starter, plates, load, imposed, uniform[row])
        at = step(k, s, lines, drive, normal[row].astype(float))
        if index % every == 0:
            times.append(time)
            record(rows, s, at, names)
    return Recording(np.array(times), {name: np.array(values) for name, values in rows.items()}, s)


def record(rows: dict[str, list[Values]], s: State, at: Step, names: Sequence[str] | None) -> None:
    """Append the channels of this step."""
    for name, take in CHANNELS.items():
        if names is None or name in names:
            rows.setdefault(name, []).append(take(s, at))


CHANNELS: Mapping[str, Callable[[State, Step], Values]] = MappingProxyType(
    {
        "rpm": lambda s, _at: s.rpm,
        "map": lambda s, _at: 0.5 * (s.halves[0] + s.halves[1]),
        "lambda": lambda s, _at: s.o2,
        "lambda_true": lambda _s, at: at.lam,
        "trim": lambda s, _at: s.trim,
        "closed_loop": lambda _s, at: at.closed_loop.astype(float),
        "valve": lambda s, _at: s.valve,
        "valve_asked": lambda s, _at: s.valve_asked,
        "rail": lambda s, _at: s.rail,
        "outlet": lambda _s, at: at.supply.outlet_kpa,
        "pump_volts": lambda _s, at: at.supply.pump_volts,
        "pump_amps": lambda _s, at: at.supply.current,
        "inlet": lambda _s, at: at.supply.inlet_kpa,
        "returned": lambda _s, at: at.supply.returned,
        "volts": lambda _s, at: at.volts,
        "ecu_volts": lambda _s, at: at.ecu_volts,
        "duty": lambda _s, at: at.duty,
        "pulse": lambda _s, at: at.pulse,
        "timing": lambda _s, at: at.timing,
        "advance": lambda s, _at: s.timing,
        "misfire_a": lambda _s, at: at.misfires[0],
        "misfire_b": lambda _s, at: at.misfires[1],
        "lambda_a": lambda _s, at: at.lam_halves[0],
        "lambda_b": lambda _s, at: at.lam_halves[1],
        "map_ecu": lambda s, _at: s.map_seen,
        "rpm_ecu": lambda s, _at: s.rpm_seen,
        "throttle_ecu": lambda s, _at: s.throttle_ecu,
        "throttle": lambda s, _at: s.throttle,
        "air": lambda s, _at: s.air,
        "available_kv": lambda _s, at: at.available_kv,
        "torque": lambda _s, at: at.torque,
        "film": lambda s, _at: s.film[0] + s.film[1],
        "wet": lambda s, _at: s.wet,
    }
)
