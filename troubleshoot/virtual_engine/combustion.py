"""Combustion: residual gas, mixture and spark factors, misfire, torque, friction, knock index.

Forms after Heywood (1988) and Guzzella & Onder (2010); the constants are engineering estimates.
"""

from __future__ import annotations

import numpy as np
from numpy import exp, maximum, minimum, sqrt

from troubleshoot.virtual_engine.airflow import GAS, STOICHIOMETRIC
from troubleshoot.virtual_engine.parameters import Parameters, Values

HEATING_VALUE = 43.0  # kJ/g, petrol, lower
_RESIDUAL_K = 1050.0
_MIXTURE_AT = (0.2, 0.4, 0.5, 0.6, 0.7, 0.8, 0.87, 0.93, 1.0, 1.08, 1.16, 1.25, 1.35, 1.45, 1.6, 2.0)
_MIXTURE = (0.0, 0.30, 0.66, 0.84, 0.93, 0.985, 1.0, 0.993, 0.965, 0.915, 0.855, 0.775, 0.675, 0.57, 0.40, 0.0)
# Every knot lies on a hundredth, so a table of hundredths is the same piecewise straight line, and quick.
_HUNDREDTHS = np.interp(np.arange(0, 202) / 100.0, _MIXTURE_AT, _MIXTURE)
_SLOPES = np.append(np.diff(_HUNDREDTHS), 0.0)


def mixture_factor(lam: Values) -> Values:
    """Return the work of a charge relative to its best, by lambda (piecewise straight)."""
    place = minimum(maximum(lam, 0.0), 2.0) * 100.0
    whole = place.astype(np.intp)
    return _HUNDREDTHS[whole] + _SLOPES[whole] * (place - whole)


def residual_share(p: Parameters, rpm: Values, exhaust: Values, manifold: Values, charge: Values) -> Values:
    """Return the share of burnt gas left in the cylinders, `charge` in g per engine cycle."""
    trapped = exhaust * (p.displacement / (p.compression_ratio - 1.0) / (GAS * _RESIDUAL_K))
    back_flow = p.overlap * sqrt(maximum(exhaust * (exhaust - manifold), 0.0)) / maximum(rpm, 150.0)
    residual = trapped + back_flow
    return residual / (residual + charge)


def best_timing(rpm: Values, residual: Values, lam: Values) -> Values:
    """Return the timing for best torque, crank deg before top dead centre."""
    n = rpm * 1e-3
    return 15.0 + n * (8.2 - 0.85 * n) + 105.0 * maximum(residual - 0.07, 0.0) + 25.0 * maximum(lam - 1.0, 0.0)


def spark_factor(off_best: Values, scatter: Values) -> Values:
    """Return the work left when timing is off its best by some degrees and scatters."""
    square = off_best * off_best
    return maximum(1.0 - 0.0004 * square / (1.0 + square * (1.0 / 3600.0)), 0.15) - 0.0004 * scatter * scatter


def lean_limit(residual: Values, coolant_c: Values, weak: Values) -> Values:
    """Return the lambda at which half of the firings miss."""
    return 1.42 - 1.15 * maximum(residual - 0.08, 0.0) - 0.0012 * maximum(70.0 - coolant_c, 0.0) - 0.12 * weak


def mixture_misfire(p: Parameters, lam: Values, limit: Values) -> Values:
    """Return the share of firings lost to a mixture too lean or too rich."""
    width = sqrt(0.03**2 + (0.55 * p.lambda_spread) ** 2)
    lean = minimum(maximum((lam - limit) / width, -40.0), 40.0)
    rich = minimum(maximum((lam - 0.46) * (1.0 / 0.035), -40.0), 40.0)
    return minimum(1.0 / (1.0 + exp(-lean)) + 1.0 / (1.0 + exp(rich)), 1.0)


def evaporated(coolant_c: Values) -> Values:
    """Return the share of the fuel in the cylinder that burns, by wall temperature."""
    return 1.03 / (1.0 + 0.03 * exp((80.0 - coolant_c) / 28.0))


def indicated_scale(p: Parameters) -> Values:
    """Return kPa of gross indicated pressure per gram of perfect charge a cycle."""
    return 1000.0 * (HEATING_VALUE / STOICHIOMETRIC) * p.efficiency * (1.0 - p.compression_loss) / p.displacement


def perfect_charge(charge: Values, mixture: Values, misfire: Values, residual: Values) -> Values:
    """Return the charge of a half, g a cycle, weighted by all that costs work except timing."""
    return charge * mixture * (1.0 - misfire) * (1.0 - 1.2 * maximum(residual - 0.06, 0.0))


def oil_thickness(coolant_c: Values) -> Values:
    """Return the friction factor of cold oil, one when warm."""
    return (1.0 + 2.3 * exp(-(coolant_c + 20.0) / 32.0)) / (1.0 + 2.3 * float(np.exp(-105.0 / 32.0)))


def friction(p: Parameters, rpm: Values, thickness: Values) -> Values:
    """Return the friction mean effective pressure, kPa (form of Heywood)."""
    n = rpm * 1e-3
    return p.friction_0 * (0.45 + 0.55 * thickness) + n * (p.friction_1 * thickness + p.friction_2 * n)


def load_torque(p: Parameters, rpm: Values) -> Values:
    """Return fan and drag torque at no-load running, N.m."""
    return p.idle_load * (0.6 + (0.4 / 750.0) * rpm)


def cyclic_spread(residual: Values, lam: Values, limit: Values) -> Values:
    """Return the relative cycle-to-cycle spread of indicated work (trend after Heywood)."""
    diluted, lean, rich = maximum(residual - 0.1, 0.0), maximum(lam - limit + 0.2, 0.0), maximum(0.72 - lam, 0.0)
    return 0.015 + 1.9 * diluted * diluted + 0.9 * lean * lean + 0.25 * rich * rich


def relative_density(manifold: Values, charge_k: Values) -> Values:
    """Return the density of the charge relative to standard air."""
    return manifold / charge_k * (1.06 / GAS / 1.185)


def knock_limit(p: Parameters, rpm: Values, density: Values, lam: Values, coolant_c: Values) -> Values:
    """Return the timing above which knock is heard, crank deg (an index: knock costs no torque here)."""
    enriched = 15.0 * maximum(0.93 - lam, 0.0) - 14.0 * maximum(minimum(lam, 1.08) - 0.93, 0.0)
    quality = 1.1 * (p.octane - 91.0) - 4.0 * (p.compression_ratio - 8.6)
    return 30.0 + 2.6e-3 * rpm + 62.0 * (0.98 - density) + quality - 0.12 * maximum(coolant_c - 85.0, 0.0) + enriched
