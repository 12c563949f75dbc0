"""The controller in time: crank or run, enrichments, overrun cut, lambda trim and idle speed loops."""

from __future__ import annotations

from numpy import abs as size
from numpy import exp, float64, maximum, minimum, where

from troubleshoot.virtual_engine.parameters import Flags, Values
from troubleshoot.virtual_engine.state import Constants, State

DASH_DECAY_S = 1.1
"""How slowly the air that catches a returning engine is taken away (engineering estimate): a well-set return dips
by 0 to 8 % of the idle speed (common practice, no source)."""


def change_mode(k: Constants, s: State) -> None:
    """Update crank or run, time running, after-start fuel and the overrun cut.

    Run returns to crank only after 0.45 s below 120 rpm, or every dip would become a flood.
    """
    p, dt, rpm = k.p, k.dt, s.rpm_seen
    s.low_time = where(rpm < 120.0, s.low_time + dt, 0.0)
    s.run_mode = (s.run_mode | (rpm > 450.0)) & (s.low_time < 0.45)
    s.run_time = where(s.running, s.run_time + dt, 0.0)
    s.after_start = where(s.running, s.after_start * float(exp(float64(-dt / 8.0))), s.after_start)
    s.accel = s.accel * float(exp(float64(-dt / 0.22)))
    s.turns = s.turns + s.rpm * (dt / 60.0) * (rpm > 0.0)
    shut = s.throttle_ecu < 0.02
    able = shut & (p.overrun_cut > 0.5) & (k.coolant_ecu > 50.0) & (s.run_time > 3.0)
    s.cut = able & where(s.cut, rpm >= p.overrun_resume_rpm, rpm > p.overrun_cut_rpm)


def move_throttle(k: Constants, s: State, throttle: Values, throttle_ecu: Values) -> None:
    """Take a new throttle opening; quick opening adds acceleration fuel."""
    rise = maximum(throttle_ecu - s.throttle_ecu, 0.0)
    s.accel = minimum(s.accel + 2.2 * k.p.accel_gain * rise * (1.0 + 1.2 * k.cold), 1.5)
    s.throttle, s.throttle_ecu = throttle, throttle_ecu


def trim_loop(k: Constants, s: State, target: Values) -> Flags:
    """Step the lambda trim and return where the loop is closed."""
    p = k.p
    closed = k.closes_loop & (s.run_time > 8.0) & ~s.cut & (s.accel < 0.05)
    full = minimum(maximum((s.map_seen / p.ambient_kpa - 0.80) * 10.0, 0.0), 1.0)
    limit = p.trim_limit + (p.trim_limit_full - p.trim_limit) * full
    error = s.o2 / target - 1.0
    integral = minimum(maximum(s.trim_integral + p.trim_i * error * k.dt, -limit), limit)
    s.trim_integral = where(closed, integral, s.trim_integral)
    trim = minimum(maximum(s.trim_integral + p.trim_p * error, -limit), limit)
    s.trim = where(closed, trim, where(s.run_time < 8.0, 0.0, s.trim))
    return closed


def idle_loop(k: Constants, s: State) -> None:
    """Step the idle valve: integral and proportional part with dead band, dash-pot, slew and sticking."""
    p, dt = k.p, k.dt
    error = k.idle_target - s.rpm_idle
    error = error - minimum(maximum(error, -p.idle_dead_band), p.idle_dead_band)
    near = s.rpm_idle < k.idle_target + 500.0
    error = where(near, error, maximum(error, -150.0))
    shut = s.throttle_ecu < 0.02
    moved = minimum(maximum(s.valve_integral + p.idle_i * error * dt, -p.idle_span), p.idle_span)
    s.valve_integral = where(shut & s.running, moved, s.valve_integral)
    above = minimum(maximum((s.rpm_seen - k.idle_target - 250.0) * (1 / 500.0), 0.0), 1.0)
    s.dash = maximum(p.dashpot * where(shut, above, 1.0), s.dash * float(exp(float64(-dt / DASH_DECAY_S))))
    dash = s.dash
    command = k.idle_base + s.valve_integral + dash
    command = command + where(shut & near, p.idle_p * error, 0.0)
    if s.run_time.min() < 30.0:
        command = command + where(shut & (s.run_time < 30.0), 0.15 * exp(s.run_time * (-1.0 / 2.5)), 0.0)
    command = where(s.running, command, k.idle_base + 0.15)
    command = minimum(maximum(command, k.idle_low), k.idle_high)
    s.valve_asked = command
    travel = command - s.valve
    slew = p.idle_slew * dt
    travel = where(size(travel) > p.idle_stick, minimum(maximum(travel, -slew), slew), 0.0)
    s.valve = where(p.idle_stuck >= 0.0, s.valve, s.valve + travel)
