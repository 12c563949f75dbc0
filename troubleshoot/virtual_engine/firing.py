"""Firing in time: the spark of a step, the wetness of the plugs, and the work one turn after the intake."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy import exp, maximum, minimum, sqrt, where

from troubleshoot.virtual_engine import combustion, ignition
from troubleshoot.virtual_engine.parameters import Flags, Values
from troubleshoot.virtual_engine.state import SPARK, WORK, Constants, Lines, State


def _timing(k: Constants, s: State, xi: Values) -> Values:
    """Step the advance mechanism and return the timing of this step, crank deg."""
    p = k.p
    manifold = 0.5 * (s.halves[0] + s.halves[1])
    goal = ignition.mechanical_timing(p, s.rpm) + ignition.vacuum_advance(p, manifold, s.throttle)
    error = goal - s.timing
    gain = 1.0 - float(np.exp(-k.dt / 0.08))
    if k.sticking:
        moved = where(abs(error) > p.advance_stick, error - 0.3 * p.advance_stick * np.sign(error), 0.0)
        s.timing = s.timing + where(p.advance_stick > 0.0, moved, error * gain)
    else:
        s.timing = s.timing + error * gain
    keep = float(np.exp(-k.dt / 0.25))
    s.spark_noise = keep * s.spark_noise + float(np.sqrt(1.0 - keep * keep)) * xi[SPARK]
    return s.timing + 0.6 * p.timing_scatter * s.spark_noise


@dataclass(frozen=True, slots=True)
class Intake:
    """The charge of this step and the fuel that meets it."""

    charge: Values  # g per cycle of each half
    exhaust: Values
    charge_k: Values
    manifold: Values
    lam: Values
    lam_halves: Values


@dataclass(frozen=True, slots=True)
class Spark:
    """The spark of this step: volts at hand and needed, share of firings without it."""

    timing: Values
    available_kv: Values
    required_kv: Values
    missing: Values
    current: Values  # coil, A


def make_spark(k: Constants, s: State, at: Intake, volts: Values, cranking: Flags, xi: Values) -> Spark:
    """Return the spark, and step the wetness of the plugs: a flood wets them, turning over dries them."""
    p, rpm = k.p, s.rpm
    timing = _timing(k, s, xi)
    floats = ignition.floating(p, rpm)
    time = ignition.charge_time(p, rpm, p.dwell * (1.0 - 0.85 * floats))
    current = ignition.coil_current(p, volts, time, cranking)
    available = ignition.available_kv(p, current, k.coil_health, s.wet)
    needed = ignition.required_kv(p, timing, combustion.relative_density(at.manifold, at.charge_k), at.lam)
    flooding = 0.6 * minimum(maximum((0.42 - at.lam) * 5.0, 0.0), 1.0) - s.wet * (1.0 / 7.0)
    s.wet = minimum(maximum(s.wet + where(rpm > 1.0, flooding, 0.0) * k.dt, 0.0), 1.0)
    return Spark(timing, available, needed, ignition.spark_misfire(p, needed, available, floats), current)


@dataclass(frozen=True, slots=True)
class Work:
    """Torque of the gas and friction, even and uneven part, and the misfires behind it."""

    even: Values  # N.m
    uneven: Values  # N.m
    misfires: Values


def make_work(k: Constants, s: State, lines: Lines, at: Intake, spark: Spark, cranking: Flags, xi: Values) -> Work:
    """Return the torque of this step; the charge works one turn after it was taken in."""
    p, rpm = k.p, s.rpm
    back_flow = p.overlap * sqrt(maximum(at.exhaust * (at.exhaust - s.halves), 0.0)) / maximum(rpm, 150.0)
    residual_gas = at.exhaust * k.residual_scale + back_flow
    residuals = residual_gas / (residual_gas + 2.0 * at.charge)
    residual = 0.5 * (residuals[0] + residuals[1])
    weak = ignition.weakness(spark.required_kv, spark.available_kv)
    lean = combustion.lean_limit(residuals, k.coolant_c, weak)
    fires = (1.0 - _mixture_misfire(k, at.lam_halves, lean)) * ((1.0 - spark.missing) * (1.0 - p.fixed_misfire))
    misfires = 1.0 - fires
    work = combustion.perfect_charge(at.charge, combustion.mixture_factor(at.lam_halves), misfires, residuals)
    lines.work.push(work[0] + work[1])
    delayed = lines.work.read(60.0 / maximum(rpm, 20.0))
    if s.stalled.any():  # a stalled engine does not fire itself over compression again
        delayed = where(s.stalled & ~s.running & ~cranking, 0.0, delayed)
    off_best = spark.timing - combustion.best_timing(rpm, residual, at.lam)
    indicated = k.indicated * combustion.spark_factor(off_best, p.timing_scatter) * delayed
    misfire = 0.5 * (misfires[0] + misfires[1])
    spread = minimum(combustion.cyclic_spread(residual, at.lam, 0.5 * (lean[0] + lean[1])), 0.6)
    variance = spread * spread + misfire * (1.0 - misfire) / maximum(1.0 - misfire, 0.1) ** 2
    firings = maximum(rpm, 20.0) * p.cylinders * (k.dt / 120.0)
    uneven = minimum(maximum(xi[WORK] * sqrt(variance / firings), -1.0), 2.0)
    lost = 0.95 * (at.exhaust - at.manifold) + k.friction[0] + rpm * (k.friction[1] + k.friction[2] * rpm)
    return Work((indicated - lost) * k.torque_per_kpa, indicated * uneven * k.torque_per_kpa, misfires)


def _mixture_misfire(k: Constants, lam: Values, limit: Values) -> Values:
    """Return the share of firings lost to the mixture in each half, with the spread worked out before."""
    lean = minimum(maximum((lam - limit) / k.misfire_width, -40.0), 40.0)
    rich = minimum(maximum((lam - 0.46) * (1.0 / 0.035), -40.0), 40.0)
    return minimum(1.0 / (1.0 + exp(-lean)) + 1.0 / (1.0 + exp(rich)), 1.0)
