"""Electrical: temperature sensors, the voltage they give, and sensors with a straight line."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.refusals import cannot
from troubleshoot.calculations.unit_table import PSI

SensorResistance = Annotated[float, Quantity("sensor resistance", "R", "ohm", 1, 1e6, (50, 150000), "open or shorted?")]
SensorTemperature = Annotated[float, Quantity("temperature", "T", "degF", -76, 400, (-40, 266), "°C for °F?")]
Point1 = Annotated[float, Quantity("temperature, point 1", "T_1", "degF", -76, 400)]
Ohms1 = Annotated[float, Quantity("resistance, point 1", "R_1", "ohm", 1, 1e6)]
Point2 = Annotated[float, Quantity("temperature, point 2", "T_2", "degF", -76, 400)]
Ohms2 = Annotated[float, Quantity("resistance, point 2", "R_2", "ohm", 1, 1e6)]
Point3 = Annotated[float, Quantity("temperature, point 3", "T_3", "degF", -76, 400)]
Ohms3 = Annotated[float, Quantity("resistance, point 3", "R_3", "ohm", 1, 1e6)]


@calculation("electrical", "E5", "Thermistor beta from two points")
def thermistor_beta(
    resistance_1: Ohms1, temperature_1: Point1, resistance_2: Ohms2, temperature_2: Point2
) -> Annotated[float, Quantity("beta", "β", "K", usual=(2000, 6000), outside="check the points")]:
    """Give the constant of a temperature sensor from its resistance at two temperatures.

    Formula: β = ln(R_1/R_2)/(1/T_1 - 1/T_2)
    Valid: temperatures in kelvin; one constant from 20 and 80 °C holds within 3 % from 0 to 100 °C.
    Source: closed form of the exponential sensor law.
    Use: Tells which sensor is fitted, and gives its whole curve from two readings.

    >>> round(thermistor_beta(2500, 293.15, 323, 353.15), 4)
    3530.9132
    """
    if abs(temperature_1 - temperature_2) < 0.5:
        raise cannot("temperature_2", "The two temperatures are the same: take the second point hotter or colder.")
    return math.log(resistance_1 / resistance_2) / (1 / temperature_1 - 1 / temperature_2)


def _steinhart_hart(points: tuple[tuple[float, float], ...]) -> tuple[float, float, float]:
    """Return A, B, C of 1/T = A + B·ln R + C·(ln R)^3 through three points (K, ohm)."""
    (y1, l1), (y2, l2), (y3, l3) = ((1 / temperature, math.log(ohms)) for temperature, ohms in points)
    if min(abs(l1 - l2), abs(l2 - l3), abs(l1 - l3)) < 1e-3 or min(abs(y1 - y2), abs(y2 - y3), abs(y1 - y3)) < 1e-7:
        raise cannot("resistance_2", "Two of the three sensor points are the same: give three different ones.")
    slope2, slope3 = (y2 - y1) / (l2 - l1), (y3 - y1) / (l3 - l1)
    c = (slope3 - slope2) / (l3 - l2) / (l1 + l2 + l3)
    b = slope2 - c * (l1 * l1 + l1 * l2 + l2 * l2)
    return y1 - (b + l1 * l1 * c) * l1, b, c


@calculation("electrical", "E5", "Thermistor resistance at a temperature")
def sensor_resistance(
    temperature: SensorTemperature,
    temperature_1: Point1 = 263.15,
    resistance_1: Ohms1 = 9397.0,
    temperature_2: Point2 = 293.15,
    resistance_2: Ohms2 = 2500.0,
    temperature_3: Point3 = 353.15,
    resistance_3: Ohms3 = 323.0,
) -> Annotated[float, Quantity("resistance", "R", "ohm")]:
    """Give the resistance a temperature sensor should have.

    Formula: u = (1/T_2 - 1/T_1)/(ln(R_2) - ln(R_1))
        w = (1/T_3 - 1/T_1)/(ln(R_3) - ln(R_1))
        C = (w - u)/(ln(R_3) - ln(R_2))/(ln(R_1) + ln(R_2) + ln(R_3))
        B = u - C·(ln(R_1)^2 + ln(R_1)·ln(R_2) + ln(R_2)^2)
        A = 1/T_1 - (B + C·ln(R_1)^2)·ln(R_1)
        R solves 1/T = A + B·ln(R) + C·ln(R)^3
    Valid: -20 to 120 °C within 1–2 % with points at -10, 20 and 80 °C; A, B, C go through the three points.
    Source: Steinhart and Hart, Deep-Sea Research 15 (1968), from memory; default points are those of the usual sensor
        of 2.5 kΩ at 20 °C (common practice, no source).
    Use: A cold-soaked engine must read the surrounding air within 3 °C on both sensors (common practice, no source).

    >>> round(sensor_resistance(273.15))
    5880
    """
    points = ((temperature_1, resistance_1), (temperature_2, resistance_2), (temperature_3, resistance_3))
    a, b, c = _steinhart_hart(points)
    if abs(c) < 1e-15:
        return math.exp((1 / temperature - a) / b)
    x = (a - 1 / temperature) / (2 * c)
    under = (b / (3 * c)) ** 3 + x**2
    if under < 0 or c < 0 or b < 0:
        raise cannot("resistance_2", "These three points do not lie on the curve of such a sensor: check them.")
    y = math.sqrt(under)
    if x >= 0:  # the two cube roots nearly cancel: take the difference by its conjugate
        large = (y + x) ** (1 / 3)
        return math.exp(b / (3 * c) / large - large)
    large = (y - x) ** (1 / 3)
    return math.exp(large - b / (3 * c) / large)


@calculation("electrical", "E5", "Thermistor temperature from resistance")
def sensor_temperature(
    resistance: SensorResistance,
    temperature_1: Point1 = 263.15,
    resistance_1: Ohms1 = 9397.0,
    temperature_2: Point2 = 293.15,
    resistance_2: Ohms2 = 2500.0,
    temperature_3: Point3 = 353.15,
    resistance_3: Ohms3 = 323.0,
) -> Annotated[float, Quantity("temperature", "T", "degF", usual=(-39, 302), outside="open circuit or short")]:
    """Give the temperature that a sensor's resistance means.

    Formula: u = (1/T_2 - 1/T_1)/(ln(R_2) - ln(R_1))
        w = (1/T_3 - 1/T_1)/(ln(R_3) - ln(R_1))
        C = (w - u)/(ln(R_3) - ln(R_2))/(ln(R_1) + ln(R_2) + ln(R_3))
        B = u - C·(ln(R_1)^2 + ln(R_1)·ln(R_2) + ln(R_2)^2)
        A = 1/T_1 - (B + C·ln(R_1)^2)·ln(R_1)
        T = 1/(A + B·ln(R) + C·ln(R)^3)
    Valid: -20 to 120 °C within 1–2 % with points at -10, 20 and 80 °C; A, B, C go through the three points.
    Source: Steinhart and Hart, Deep-Sea Research 15 (1968), from memory; default points are those of the usual sensor
        of 2.5 kΩ at 20 °C (common practice, no source).
    Use: A reading of -40 is an open circuit, over 150 °C a short.

    >>> round(sensor_temperature(2500), 2)
    293.15
    """
    points = ((temperature_1, resistance_1), (temperature_2, resistance_2), (temperature_3, resistance_3))
    a, b, c = _steinhart_hart(points)
    log = math.log(resistance)
    inverse = a + b * log + c * log**3
    if inverse <= 1 / 800:
        raise cannot("resistance", "No working sensor has this resistance: open, shorted, or other points.")
    return 1 / inverse


def _open_or_short(inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    if outputs["voltage"] < 0.1:
        yield "Under 0.1 V the controller sees a short: do not read it as a temperature."
    if outputs["voltage"] > 0.98 * inputs["reference"]:
        yield "Nearly the reference voltage: the controller sees an open circuit, not a temperature."


@calculation("electrical", "E5", "Sensor voltage with pull-up", notes=_open_or_short)
def sensor_voltage(
    sensor: Annotated[float, Quantity("sensor resistance", "R", "ohm", 0, 1e7)],
    pull_up: Annotated[float, Quantity("pull-up resistance", "R_pu", "ohm", 1, 1e6, (100, 50000))],
    reference: Annotated[float, Quantity("reference voltage", "V_ref", "V", 0.1, 30, (4.5, 5.5))] = 5.0,
) -> Annotated[float, Quantity("voltage", "V", "V")]:
    """Give the voltage on the signal wire of a sensor to ground fed through a resistor.

    Formula: V = V_ref·R/(R + R_pu)
    Valid: sensor to ground, pull-up to the reference.
    Source: voltage divider.
    Use: Back-probe the signal wire and compare: off by a steady share means another sensor than the table's.

    >>> round(sensor_voltage(323, 1000), 6)
    1.220711
    """
    return reference * sensor / (sensor + pull_up)


@calculation("electrical", "E6", "Linear pressure sensor")
def pressure_sensor_reading(
    voltage: Annotated[float, Quantity("voltage", "V", "V", -1, 30, (0.2, 4.8), "wiring fault on a 5 V sensor")],
    voltage_1: Annotated[float, Quantity("voltage, point 1", "V_1", "V", -1, 30)] = 0.5,
    pressure_1: Annotated[float, Quantity("pressure, point 1", "p_1", "psi", -15, 5000)] = 0.0,
    voltage_2: Annotated[float, Quantity("voltage, point 2", "V_2", "V", -1, 30)] = 4.5,
    pressure_2: Annotated[float, Quantity("pressure, point 2", "p_2", "psi", -15, 5000)] = 100 * PSI,
) -> Annotated[float, Quantity("pressure", "p", "psi")]:
    """Give the pressure a sensor with a straight line means.

    Formula: p = p_1 + (V - V_1)·(p_2 - p_1)/(V_2 - V_1)
    Valid: within the two points ±10 %.
    Source: two-point line.
    Use: Compare with a gauge; for a manifold sensor enter its points in absolute pressure as plain kPa.

    >>> round(pressure_sensor_reading(2.5) / 6894.757293168, 6)
    50.0
    """
    if abs(voltage_2 - voltage_1) < 1e-6:
        raise cannot("voltage_2", "The two points have the same voltage: no line goes through them.")
    low, high = min(voltage_1, voltage_2), max(voltage_1, voltage_2)
    if not low - 0.1 * (high - low) <= voltage <= high + 0.1 * (high - low):
        raise cannot(
            "voltage",
            "The voltage is well outside the two points: a wiring fault, not a reading.",
            f"{low:.3g} to {high:.3g} V, 10 % beyond at most",
        )
    return pressure_1 + (voltage - voltage_1) * (pressure_2 - pressure_1) / (voltage_2 - voltage_1)


def _throttle_notes(inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    if inputs["open"] < inputs["closed"]:
        yield "Open reads lower than closed: the sensor is reversed; the position is still right."
    if not -0.1 <= outputs["position"] <= 1.1:
        yield "Well outside closed and open: set the two ends again, or look for a wiring fault."


@calculation("electrical", "E6", "Throttle position percent", notes=_throttle_notes)
def throttle_position(
    closed: Annotated[float, Quantity("volts closed", "V_c", "V", 0, 12, (0.2, 4.8))],
    open: Annotated[float, Quantity("volts open", "V_o", "V", 0, 12, (0.2, 4.8))],
    now: Annotated[float, Quantity("volts now", "V", "V", 0, 12, (0.2, 4.8), "wiring fault on a 5 V sensor")],
) -> Annotated[float, Quantity("position", "TPS", "%")]:
    """Give the throttle opening in per cent from the sensor's volts.

    Formula: TPS = (V - V_c)/(V_o - V_c)
    Valid: between closed and open ±10 %.
    Source: two-point line.
    Use: Closed 0.4–0.9 V, open 4.0–4.7 V, no drop-outs on a slow sweep (common practice, no source).

    >>> round(throttle_position(0.62, 4.52, 1.4), 6)
    0.2
    """
    if abs(open - closed) < 1e-3:
        raise cannot("open", "Open and closed have the same voltage: the sensor does not move.")
    if not 0.1 <= now <= 4.9:
        raise cannot("now", "So near 0 or 5 V is a wiring fault, not a throttle position.", "0.1 to 4.9 V")
    return (now - closed) / (open - closed)
