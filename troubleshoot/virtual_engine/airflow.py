"""Air: flow through openings, filling of the cylinders, temperature of the charge, exhaust pressure.

Arrays of the two plenum halves carry a leading axis of two (half A, half B); all other arrays have
one element per scenario. Pressures kPa absolute, areas cm2 effective, flows g/s.
"""

from __future__ import annotations

import numpy as np
from numpy import exp, log, maximum, minimum, sqrt, where

from troubleshoot.virtual_engine.parameters import Parameters, Values

GAS = 0.287  # kPa.L/(g.K)
STOICHIOMETRIC = 14.7
_LINEAR_FROM = 0.985  # a square root has no usable slope at a pressure ratio of one
_PSI_LINEAR = float(np.sqrt(2 * _LINEAR_FROM * (1 - _LINEAR_FROM)))
_SLOPE_LINEAR = -_PSI_LINEAR / (1 - _LINEAR_FROM)


def flow_function(ratio: Values) -> tuple[Values, Values]:
    """Return the simplified flow function and its slope (Guzzella & Onder 2010) at a pressure ratio."""
    inside = minimum(maximum(ratio, 0.5), _LINEAR_FROM)
    root = sqrt(2.0 * inside * (1.0 - inside))
    linear = ratio > _LINEAR_FROM
    return where(linear, _SLOPE_LINEAR * (ratio - 1.0), root), where(linear, _SLOPE_LINEAR, (1.0 - 2.0 * inside) / root)


def flow(area: Values, upstream: Values, downstream: Values, upstream_k: Values) -> tuple[Values, Values]:
    """Return the mass flow through an opening, g/s, and its slope on the downstream pressure."""
    psi, slope = flow_function(downstream / upstream)
    scale = area * (1e2 / sqrt(287.0 * upstream_k))
    return scale * upstream * psi, scale * slope


def in_series(first: Values, second: Values) -> Values:
    """Return the effective area of two openings one behind the other."""
    return first * second / sqrt(first * first + second * second)


def inlet_areas(p: Parameters, throttle: Values, valve: Values) -> tuple[Values, Values]:
    """Return the areas behind the air cleaner and the leak areas, each for both halves."""
    idle = p.idle_valve_area * valve
    halves = plate_areas(p, throttle) + np.stack((idle * p.idle_air_split, idle * (1.0 - p.idle_air_split)))
    return in_series(halves, 0.5 * p.cleaner_area), leak_areas(p)


def plate_areas(p: Parameters, throttle: Values) -> Values:
    """Return the area past the plates and the breather valve for each half."""
    plates = 0.5 * (p.stop_area + p.throttle_area * minimum(throttle, p.plate_limit) ** 1.6)
    tilt = plates * p.throttle_imbalance
    return np.stack((plates + tilt, plates - tilt)) + 0.5 * p.breather_area


def leak_areas(p: Parameters) -> Values:
    """Return the vacuum leak into each half; leaks bypass the air cleaner."""
    return np.stack((0.5 * p.leak_area, 0.5 * p.leak_area + p.leak_area_b))


def breathing_curve(p: Parameters, rpm: Values) -> Values:
    """Return the true volumetric efficiency before the clearance-volume term, at a speed."""
    x = (rpm - p.ve_peak_rpm) / p.ve_peak_rpm
    curve = p.ve_peak * (1.0 - where(x < 0.0, p.ve_fall_low, p.ve_fall_high) * x * x)
    curve = curve * (1.0 - 0.28 * minimum(maximum((rpm - p.valve_float_rpm) / 500.0, 0.0), 1.0))
    return curve * (1.0 - 0.012 * p.cam_retard * minimum(maximum((3800.0 - rpm) / 3000.0, -0.4), 1.0))


def volumetric_efficiency(p: Parameters, curve: Values, exhaust: Values, manifold: Values) -> Values:
    """Return the volumetric efficiency on manifold density (clearance term of Guzzella & Onder)."""
    clearance = 1.0 / (p.compression_ratio - 1.0)
    back = exp(0.74 * log(exhaust / manifold))
    return p.breathing * maximum(curve * (1.0 + clearance - clearance * back), 0.03)


def exhaust_pressure(p: Parameters, air: Values) -> Values:
    """Return the pressure in the exhaust manifold at a total air flow."""
    return p.ambient_kpa + p.back_pressure * air * air


def heating(air: Values) -> Values:
    """Return the share of the coolant-to-ambient difference that the charge picks up."""
    return 0.10 + 0.28 * exp(air * (-1.0 / 25.0))


def charge_k(p: Parameters, coolant_c: Values, air: Values) -> Values:
    """Return the temperature of the charge in the manifold, K."""
    return p.ambient_k + (coolant_c + 273.0 - p.ambient_k) * heating(air)


def slot_flow(p: Parameters, halves: Values, charge: Values) -> tuple[Values, Values]:
    """Return the flow from half A to half B through the joining slot and the size of its slope."""
    high, low = maximum(halves[0], halves[1]), minimum(halves[0], halves[1])
    amount, slope = flow(p.slot_area, high, low, charge)
    return where(halves[0] >= halves[1], amount, -amount), abs(slope) + 1e-6
