"""Sensors as the controller and the technician see them; the shared ground lifts every one."""

from __future__ import annotations

from numpy import exp, log, maximum, minimum, where

from troubleshoot.virtual_engine.parameters import Parameters, Values

PULL_UP = 2490.0  # ohm to 5 V
THERMISTOR_25C = 2250.0  # ohm
THERMISTOR_B = 3480.0  # K
TPS_SPAN = 3.9  # V
LAMBDA_LOW, LAMBDA_HIGH = 0.62, 1.6


def ground_offset(p: Parameters) -> Values:
    """Return the lift of the shared sensor ground, V."""
    return p.ground_ohm * p.ground_current


def thermistor_ohm(celsius: Values) -> Values:
    """Return the resistance of the coolant sensor (beta equation)."""
    return THERMISTOR_25C * exp(THERMISTOR_B * (1.0 / (celsius + 273.15) - 1.0 / 298.15))


def thermistor_c(ohm: Values) -> Values:
    """Return the temperature the controller works out from a resistance, degC, limited to -40..140."""
    celsius = 1.0 / (log(ohm / THERMISTOR_25C) / THERMISTOR_B + 1.0 / 298.15) - 273.15
    return minimum(maximum(celsius, -40.0), 140.0)


def indicated_coolant(p: Parameters, coolant_c: Values, offset: Values) -> Values:
    """Return the coolant temperature the controller believes, degC."""
    ohm = thermistor_ohm(coolant_c) + p.clt_series_ohm
    ohm = ohm * p.clt_parallel_ohm / (ohm + p.clt_parallel_ohm)
    volts = minimum(5.0 * ohm / (ohm + PULL_UP) + offset, 4.99)
    return thermistor_c(PULL_UP * volts / (5.0 - volts))


def indicated_map(p: Parameters, halves: Values, offset: Values) -> Values:
    """Return the manifold pressure the controller believes from the two halves, kPa."""
    pressure = p.map_source * halves[0] + (1.0 - p.map_source) * halves[1]
    return map_output(p, pressure, offset)


def map_output(p: Parameters, pressure: Values, offset: Values) -> Values:
    """Return the sensor's reading of a pressure at its hose end, kPa."""
    seen = pressure + (p.ambient_kpa - pressure) * p.map_leak
    return minimum(maximum(p.map_gain * seen + p.map_offset + 21.1 * offset, 8.0), 107.0)


def indicated_throttle(p: Parameters, throttle: Values, offset: Values) -> Values:
    """Return the throttle opening the controller believes, 0..1."""
    opening = minimum(throttle, p.plate_limit)
    volts = p.tps_closed + TPS_SPAN * opening
    dead = (p.tps_dead > 0.05) & (opening > 0.12) & (opening < 0.12 + 0.30 * p.tps_dead)
    volts = where(dead, 0.35 * volts, volts)
    return minimum(maximum((volts + offset - 0.60) / TPS_SPAN, -0.1), 1.0)


def misfire_air(misfire: Values) -> Values:
    """Return the factor by which unburnt air from misfires makes a lambda sensor read lean."""
    return 1.0 + 0.55 * misfire / maximum(1.0 - misfire, 0.2)


def sensor_error(p: Parameters, air: Values) -> Values:
    """Return the factor of exhaust leaks, distance and skew on the lambda sensor.

    Near the outlet a sensor sees outside air between the pulses of an idling engine, and none under load
    (common practice, no source; size an engineering estimate).
    """
    return (1.0 + p.exhaust_leak * exp(air * (-1 / 22.0)) + 0.15 * p.o2_far * exp(air * (-1 / 9.0))) * p.o2_skew


def lambda_reading(lam: Values, misfire: Values, error: Values) -> Values:
    """Return what the lambda sensor shows within its range."""
    return minimum(maximum(lam * misfire_air(misfire) * error, LAMBDA_LOW), LAMBDA_HIGH)


def exhaust_flow(air: Values) -> Values:
    """Return the volume flow of exhaust gas on its way to the sensor, L/s."""
    hot = 620.0 + 3.0 * minimum(air, 110.0)
    return maximum(air * hot * (0.287 / 101.3), 0.3)


def transport_delay(p: Parameters, rpm: Values, air: Values) -> Values:
    """Return the time from combustion to the lambda sensor, s."""
    return 90.0 / maximum(rpm, 20.0) + (p.exhaust_volume + 4.5 * p.o2_far) / exhaust_flow(air)
