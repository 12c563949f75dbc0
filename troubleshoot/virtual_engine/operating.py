"""Operating points: idle under control, no load, cruise, the pull at full throttle, steady cranking."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy import maximum, minimum, where

from troubleshoot.virtual_engine import combustion, controller, electrical, ignition, sensors
from troubleshoot.virtual_engine.parameters import Flags, Indices, Parameters, Values
from troubleshoot.virtual_engine.steady import Carried, Point, point

SCAN_RPM = (3600, 3000, 2600, 2200, 1900, 1600, 1400, 1250, 1100, 950, 850, 750, 680, 600, 520, 450, 380, 320)
PULL_RPM = tuple(float(rpm) for rpm in range(1500, 5751, 250))
CRUISE_RPM = 2000.0
TIP_IN_RPM = 1500.0
TORQUE_PER_LITRE = 62.0  # N.m, about the full torque of such engines
SEARCH_ROUNDS = 7
SEARCH_PASSES = 3
SEARCH_STEPS = 7


def _carry(at: Point) -> Carried:
    return Carried(at.trim, at.load, at.supply.rail_kpa)


def search(run: Callable[[Values, Carried | None], Point], low: Values, high: Values, load: Values) -> Values:
    """Return the opening in low..high where torque meets the load (false position, Illinois rule)."""
    at = run(low, None)
    below = at.torque - load
    at = run(high, _carry(at))
    above = at.torque - load
    left, right = low, high
    side = np.zeros_like(low)
    for _ in range(SEARCH_ROUNDS):
        gap = above - below
        guess = right - above * (right - left) / where(np.abs(gap) > 1e-9, gap, 1.0)
        width = right - left
        guess = minimum(maximum(guess, left + 0.02 * width), right - 0.02 * width)
        at = run(guess, _carry(at))
        excess = at.torque - load
        up = excess > 0.0
        below = where(up, where(side > 0, 0.5 * below, below), excess)
        above = where(up, excess, where(side < 0, 0.5 * above, above))
        left, right = where(up, left, guess), where(up, guess, right)
        side = where(up, 1.0, -1.0)
    gap = above - below
    best = right - above * (right - left) / where(np.abs(gap) > 1e-9, gap, 1.0)
    return minimum(maximum(best, left), right)


def _merge(whole: Point, part: Point, rows: Indices) -> Point:
    """Return a point with some scenarios replaced by those of another."""

    def mixed(old: Values, new: Values) -> Values:
        out = old.copy()
        out[..., rows] = new
        return out

    def record(kind: type, old: object, new: object) -> object:
        return kind(**{f.name: pick(getattr(old, f.name), getattr(new, f.name)) for f in fields(kind)})

    def pick(old: object, new: object) -> object:
        if isinstance(old, np.ndarray) and isinstance(new, np.ndarray):
            return mixed(old, new)
        return record(type(old), old, new)

    merged = record(Point, whole, part)
    assert isinstance(merged, Point)
    return merged


@dataclass(frozen=True, slots=True)
class Idle:
    """Steady idle and the scenarios that have none."""

    at: Point
    stalled: Flags


@dataclass(frozen=True, slots=True)
class Valve:
    """The idle valve where its speed loop is at a stop, out of action or stuck."""

    command: Values  # base and integral, before the dash-pot
    seems_open: Flags  # the controller reads an open throttle
    low: Values
    high: Values
    target: Values  # idle speed aimed for, rpm

    def position(self, p: Parameters, rpm: Values) -> Values:
        """Return the position at a speed: the dash-pot opens the valve well above the target."""
        above = (controller.rpm_seen(p, rpm) - self.target - 250.0) / 500.0
        dash = p.dashpot * where(self.seems_open, 1.0, minimum(maximum(above, 0.0), 1.0))
        free = minimum(maximum(self.command + dash, self.low), self.high)
        return where(p.idle_stuck >= 0.0, p.idle_stuck, free)

    def take(self, rows: Indices) -> Valve:
        """Return the valve of some of the scenarios."""
        return Valve(*(getattr(self, name)[rows] for name in ("command", "seems_open", "low", "high", "target")))


def idle(p: Parameters, coolant_c: Values) -> Idle:
    """Return the idle the controller settles at, by its valve, or by the engine's own balance."""
    coolant_ecu = sensors.indicated_coolant(p, coolant_c, sensors.ground_offset(p))
    target = controller.idle_target(p, coolant_ecu)
    base = controller.idle_base(coolant_ecu)
    seen = controller.rpm_seen(p, target)
    rpm = minimum(maximum(target * target / maximum(seen, 1.0), 300.0), 3000.0)
    low, high = controller.idle_range(p, base)
    shut = np.zeros_like(rpm)
    load = combustion.load_torque(p, rpm)

    def run(valve: Values, carried: Carried | None) -> Point:
        return point(p, rpm, shut, valve, coolant_c, SEARCH_PASSES, carried, SEARCH_STEPS)

    seems_open = sensors.indicated_throttle(p, shut, sensors.ground_offset(p)) > 0.02
    fixed = seems_open | (p.idle_stuck >= 0.0)
    valve = search(run, low, high, load)
    span = high - low
    at = point(p, rpm, shut, valve, coolant_c)
    free = ~fixed & (valve > low + 0.004 * span) & (valve < high - 0.004 * span) & (np.abs(at.torque - load) < 0.5)
    rows = np.flatnonzero(~free)
    stalled = np.zeros(p.size, dtype=bool)
    if rows.size:
        integral = where(seems_open, 0.0, where(valve < low + 0.5 * span, -p.idle_span, p.idle_span))
        stopped = Valve(base + integral, seems_open, low, high, target).take(rows)
        part, stops = _own_balance(p.take(rows), stopped, coolant_c[rows])
        at = _merge(at, part, rows)
        stalled[rows] = stops
    seen = controller.rpm_seen(p, at.rpm)
    stop = where(seen > target + p.idle_dead_band, low, where(seen < target - p.idle_dead_band, high, base))
    wanted = where(seems_open, minimum(base + p.dashpot, high), stop)
    return Idle(replace(at, asked=where(p.idle_stuck >= 0.0, wanted, at.valve)), stalled)


def warm_target(p: Parameters) -> Values:
    """Return the idle speed the controller aims for when warm, rpm."""
    return controller.idle_target(p, sensors.indicated_coolant(p, p.thermostat_c, sensors.ground_offset(p)))


def _own_balance(p: Parameters, valve: Valve, coolant_c: Values) -> tuple[Point, Flags]:
    """Return the highest stable speed with the valve at its stop, and where there is none."""
    count = p.size
    grid = np.array(SCAN_RPM, dtype=float)
    rows = np.tile(np.arange(count), grid.size)
    many = p.take(rows)
    speeds = np.repeat(grid, count)
    scan = point(many, speeds, np.zeros_like(speeds), valve.take(rows).position(many, speeds), coolant_c[rows], 6)
    excess = (scan.torque - combustion.load_torque(many, speeds)).reshape(grid.size, count)
    crossing = (excess[1:] >= 0.0) & (excess[:-1] < 0.0)
    runaway = excess[0] >= 0.0
    stalled = ~(crossing.any(axis=0) | runaway)
    upper = np.argmax(crossing, axis=0)
    fast, slow = grid[upper], grid[upper + 1]
    here = np.arange(count)
    e_fast, e_slow = excess[upper, here], excess[upper + 1, here]
    rpm = fast
    for _ in range(3):
        gap = where(np.abs(e_slow - e_fast) > 1e-9, e_slow - e_fast, 1.0)
        rpm = fast + (slow - fast) * minimum(maximum(-e_fast / gap, 0.0), 1.0)
        at = point(p, rpm, np.zeros_like(rpm), valve.position(p, rpm), coolant_c)
        excess_here = at.torque - combustion.load_torque(p, rpm)
        up = excess_here >= 0.0
        slow, e_slow = where(up, rpm, slow), where(up, excess_here, e_slow)
        fast, e_fast = where(up, fast, rpm), where(up, e_fast, excess_here)
    rpm = where(runaway, grid[0], where(stalled, valve.target, rpm))
    return point(p, rpm, np.zeros_like(rpm), valve.position(p, rpm), coolant_c), stalled


def no_load(p: Parameters, speed: float, coolant_c: Values) -> Point:
    """Return running at a held speed without load."""
    rpm = np.full(p.size, speed)
    return loaded(p, rpm, combustion.load_torque(p, rpm), coolant_c, 0.35)


def cruise(p: Parameters, speed: float, share: float, coolant_c: Values) -> Point:
    """Return road load at a speed, as a share of the engine's usual full torque."""
    return loaded(p, np.full(p.size, speed), share * p.displacement * TORQUE_PER_LITRE, coolant_c, 1.0)


def loaded(p: Parameters, rpm: Values, load: Values, coolant_c: Values, widest: float) -> Point:
    """Return the running point whose torque meets a load, throttle as needed up to `widest`."""
    valve = np.full(p.size, 0.10)

    def run(throttle: Values, carried: Carried | None) -> Point:
        return point(p, rpm, throttle, valve, coolant_c, SEARCH_PASSES, carried, SEARCH_STEPS)

    throttle = search(run, np.zeros(p.size), np.full(p.size, widest), load)
    return point(p, rpm, throttle, valve, coolant_c)


def pull(p: Parameters, coolant_c: Values) -> Point:
    """Return full throttle at every speed of the pull, speeds outermost: flat arrays of speeds x scenarios."""
    count = p.size
    rows = np.tile(np.arange(count), len(PULL_RPM))
    rpm = np.repeat(np.array(PULL_RPM), count)
    return point(p.take(rows), rpm, np.ones_like(rpm), np.full_like(rpm, 0.15), coolant_c[rows])


@dataclass(frozen=True, slots=True)
class Cranking:
    """Steady cranking with a cold engine."""

    rpm: Values
    rpm_ecu: Values
    starter: electrical.Starter
    available_kv: Values


def cranking(p: Parameters, coolant_c: Values) -> Cranking:
    """Return the cranking balance: speed, volts, the speed the controller reads and the spark.

    A pickup that gives too little at this speed triggers no spark either.
    """
    rpm = electrical.cranking_speed(p, coolant_c)
    triggered = (p.points > 0.5) | (rpm >= p.signal_lowest_rpm)
    start = electrical.starter(p, rpm)
    awake = start.ecu_volts > electrical.CONTROLLER_WORKS_ABOVE
    time = ignition.charge_time(p, rpm, ignition.effective_dwell(p, rpm))
    current = ignition.coil_current(p, start.battery_volts, time, np.ones(p.size, dtype=bool))
    kv = ignition.available_kv(p, current, ignition.coil_health(p, coolant_c), np.zeros_like(rpm))
    return Cranking(
        rpm,
        where(awake, controller.rpm_seen(p, rpm) * (1.0 + controller.false_pulses(p)), 0.0),
        start,
        where((p.spark_on > 0.5) & triggered, kv, 0.0),
    )
