"""The controller: speed-density fuel from what it believes, trim limits, targets and enrichments."""

from __future__ import annotations

import numpy as np
from numpy import exp, log, maximum, minimum, where

from troubleshoot.virtual_engine.airflow import GAS, STOICHIOMETRIC, heating
from troubleshoot.virtual_engine.parameters import Parameters, Values


def _between(x: Values) -> Values:
    return minimum(maximum(x, 0.0), 1.0)


def false_pulses(p: Parameters) -> Values:
    """Return the mean share of pulses that noise adds to the speed signal."""
    return p.signal_noise * p.noise_gain


def float_pulses(p: Parameters, rpm: Values) -> Values:
    """Return the share of pulses that floating points add (bounce) or take away, at a speed."""
    return p.float_reads * p.points * _between((rpm - p.points_float_rpm) * (1 / 900.0))


def lost_pulses(p: Parameters, rpm: Values) -> Values:
    """Return the share of pulses lost at high speed (random loss not included)."""
    return p.dropout_high * _between((rpm - p.dropout_rpm) * (1 / 700.0))


def rpm_seen(p: Parameters, rpm: Values) -> Values:
    """Return the mean speed the controller reads."""
    seen = rpm * p.pulse_scale * (1.0 + false_pulses(p) + float_pulses(p, rpm) - p.dropout_random - lost_pulses(p, rpm))
    return where((p.signal_on > 0.5) & (rpm > p.signal_lowest_rpm), seen, 0.0)


def believed_efficiency(p: Parameters, rpm: Values, manifold: Values) -> Values:
    """Return the volumetric efficiency in the controller's table at a seen speed and pressure."""
    x = (rpm - p.ve_peak_rpm_ecu) / p.ve_peak_rpm_ecu
    curve = p.ve_peak_ecu * (1.0 - where(x < 0.0, p.ve_fall_low_ecu, p.ve_fall_high_ecu) * x * x)
    clearance = 1.0 / (p.compression_ratio - 1.0)
    back = exp(0.74 * log(1.015 * p.ambient_kpa / maximum(manifold, 12.0)))
    table = maximum(curve * (1.0 + clearance - clearance * back), 0.05)
    idle = _between((1300.0 - rpm) * (1 / 400.0))
    high = _between((rpm - 3000.0) * (1 / 1200.0))
    cruise = _between((70.0 - manifold) * (1 / 15.0)) * (1.0 - idle)
    regions = (1.0 + (p.ve_idle - 1.0) * idle) * (1.0 + (p.ve_high - 1.0) * high) * (1.0 + (p.ve_cruise - 1.0) * cruise)
    return table * regions * p.ve_mid


def target_lambda(p: Parameters, rpm: Values, manifold: Values) -> Values:
    """Return the target lambda at a seen speed and pressure."""
    full = _between((manifold / p.ambient_kpa - 0.74) * (1 / 0.14))
    part = where(rpm < 1100.0, p.lambda_idle, p.lambda_cruise)
    return part + (p.lambda_full - part) * full


def trim_limit(p: Parameters, manifold: Values) -> Values:
    """Return how far the lambda trim may go at a pressure."""
    full = _between((manifold / p.ambient_kpa - 0.80) * 10.0)
    return p.trim_limit + (p.trim_limit_full - p.trim_limit) * full


def believed_charge_k(p: Parameters, coolant_c: Values, air: Values) -> Values:
    """Return the charge temperature the controller assumes, K."""
    return p.ambient_k + (coolant_c + 273.0 - p.ambient_k) * heating(air)


def fuel_per_turn(p: Parameters, efficiency: Values, manifold: Values, charge_k: Values, target: Values) -> Values:
    """Return the fuel per crank turn before trim and enrichments, g."""
    return efficiency * manifold * p.displacement / charge_k / target * (1.0 / (2.0 * GAS * STOICHIOMETRIC))


def crank_fuel(p: Parameters, multiple: Values) -> Values:
    """Return the cranking fuel per crank turn, g."""
    return 0.72 * p.ambient_kpa * p.displacement * p.crank_gain * multiple / (2 * GAS * 300.0 * STOICHIOMETRIC)


def prime_fuel(p: Parameters, multiple: Values) -> Values:
    """Return the fuel injected at key on, g; none without the pump."""
    return 0.12 * (p.displacement / 3.93) * multiple * where(p.pump_on > 0.5, 1.0, 0.0)


def believed_dead_time(p: Parameters, volts: Values) -> Values:
    """Return the injector dead time the controller adds, s."""
    return p.dead_time_ecu * 1e-3 * (13.5 / maximum(volts, 4.0)) ** 1.6


def warm_up(coolant_c: Values) -> Values:
    """Return the warm-up factor on fuel by indicated coolant temperature."""
    return np.interp(coolant_c, (-40, -20, 0, 20, 40, 60, 75), (2.5, 2.0, 1.55, 1.26, 1.12, 1.04, 1.0))


def crank_multiple(coolant_c: Values) -> Values:
    """Return the factor on cranking fuel by indicated coolant temperature."""
    return np.interp(coolant_c, (-40, -20, 0, 20, 40, 60, 80, 100), (15, 9, 4.6, 2.7, 1.9, 1.5, 1.25, 1.15))


def idle_target(p: Parameters, coolant_c: Values) -> Values:
    """Return the idle speed aimed for, rpm."""
    return p.idle_speed + np.interp(coolant_c, (-20, 0, 20, 40, 70), (550, 450, 350, 200, 0))


def idle_base(coolant_c: Values) -> Values:
    """Return the base position of the idle valve, 0..1."""
    return np.interp(coolant_c, (-20, 0, 20, 40, 60, 80), (0.70, 0.58, 0.45, 0.33, 0.22, 0.15))


def idle_range(p: Parameters, base: Values) -> tuple[Values, Values]:
    """Return the lowest and highest position the controller may give the idle valve."""
    return maximum(base - p.idle_span, 0.0), minimum(base + p.idle_span, 1.0)
