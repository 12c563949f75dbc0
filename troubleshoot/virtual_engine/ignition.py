"""Ignition: timing, dwell, coil energy, voltage available and needed, share of firings without spark."""

from __future__ import annotations

from numpy import cos, exp, maximum, minimum, pi, sqrt, where

from troubleshoot.virtual_engine.parameters import Flags, Parameters, Values

COIL_LIMIT_A = 7.0


def vacuum_advance(p: Parameters, manifold: Values, throttle: Values) -> Values:
    """Return the vacuum advance, crank deg; a ported source is dead with the plates shut."""
    pulled = (p.ambient_kpa - manifold - p.vacuum_advance_start) / (p.vacuum_advance_full - p.vacuum_advance_start)
    advance = p.vacuum_advance_max * p.vacuum_advance_ok * minimum(maximum(pulled, 0.0), 1.0)
    return where((p.vacuum_from_manifold > 0.5) | (throttle > 0.015), advance, 0.0)


def mechanical_timing(p: Parameters, rpm: Values) -> Values:
    """Return timing with the vacuum hose off; a degree of dwell moves the spark one crank degree."""
    climb = (rpm - p.centrifugal_start_rpm) / (p.centrifugal_end_rpm - p.centrifugal_start_rpm)
    climb = minimum(maximum(climb, 0.0), 1.0)
    setting = p.base_advance - (p.dwell - p.dwell_reference) * p.points - p.cam_retard
    return setting + p.centrifugal_max * climb - p.trigger_retard * (rpm * 1e-3)


def floating(p: Parameters, rpm: Values) -> Values:
    """Return how far the points float, 0..1."""
    return minimum(maximum((rpm - p.points_float_rpm) / 900.0, 0.0), 1.0)


def effective_dwell(p: Parameters, rpm: Values) -> Values:
    """Return the dwell the coil really gets from the points, distributor deg."""
    return p.dwell * (1.0 - 0.85 * floating(p, rpm))


def charge_time(p: Parameters, rpm: Values, dwell: Values) -> Values:
    """Return the time the coil is fed before each spark, s."""
    speed = maximum(rpm, 60.0)
    electronic = minimum(3.6e-3, 0.8 * 60.0 / (0.5 * speed * p.cylinders))
    return where(p.points > 0.5, dwell / (3.0 * speed), electronic)


def coil_current(p: Parameters, volts: Values, time: Values, cranking: Flags) -> Values:
    """Return the primary current at break, A; the ballast is bypassed while cranking."""
    ohm = p.coil_ohm + p.ballast_ohm * where(cranking, 0.25, 1.0)
    rise = 1.0 - exp(-time * ohm / p.coil_henry)
    return minimum(maximum(volts - 0.3, 0.0) / ohm * rise, COIL_LIMIT_A)


def coil_health(p: Parameters, coolant_c: Values) -> Values:
    """Return the share of the stored energy that reaches the secondary."""
    heat = minimum(maximum((coolant_c - 55.0) / 25.0, 0.0), 1.0)
    return p.coil_efficiency * (1.0 - 0.72 * p.condenser_loss) * (1.0 - p.coil_hot_loss * heat)


def available_kv(p: Parameters, current: Values, health: Values, wet: Values) -> Values:
    """Return the voltage at the plug, kV, from coil energy, leakage and wet plugs."""
    peak = current * sqrt(health * p.coil_henry / p.secondary_farad) * 1e-3
    return minimum(peak, p.secondary_limit_kv) * p.ht_factor * (1.0 - 0.85 * wet)


def required_kv(p: Parameters, timing: Values, density: Values, lam: Values) -> Values:
    """Return the voltage the gap needs, kV (uniform-field breakdown of air at the density of firing)."""
    angle = minimum(maximum(timing, 0.0), 60.0) * (pi / 180.0)
    swing = p.compression_ratio - 1.0
    ratio = minimum(p.compression_ratio, 1.0 + swing / (1.0 + 0.5 * swing * (1.0 - cos(angle))))
    x = density * ratio * p.plug_gap * 0.1
    return (0.78 * p.plug_wear) * (24.2 * x + 6.1 * sqrt(x)) * (1.0 + 0.35 * maximum(lam - 1.0, 0.0))


def spark_misfire(p: Parameters, needed: Values, available: Values, floats: Values) -> Values:
    """Return the share of firings without spark."""
    z = minimum(maximum(1.702 * (needed - available) / (0.08 * needed + 0.15), -40.0), 40.0)
    short = 1.0 / (1.0 + exp(-z))
    bounce = 0.30 * floats * sqrt(floats) * p.points
    return where(p.spark_on > 0.5, maximum(short, bounce), 1.0)


def weakness(needed: Values, available: Values) -> Values:
    """Return how little reserve the spark has, 0..1; a weak spark narrows the lean limit."""
    return minimum(maximum((1.45 * needed - available) / (0.45 * needed), 0.0), 1.0)
