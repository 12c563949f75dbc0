"""Exhaust: what the oxygen sensor shows with a misfire or a leak, when the exhaust drips, how late it reads."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, NamedTuple

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import Barometer, Cylinders, EngineSpeed, Lambda
from troubleshoot.calculations.refusals import cannot
from troubleshoot.calculations.weather import saturation_pressure

ShownLambda = Annotated[float, Quantity("lambda shown", "λ_s", "lambda"), "shown-lambda"]


def _adds_fuel(_inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    yield "A controller with feedback adds fuel here: black plugs and a lean gauge together mean misfire or leak."


@calculation("exhaust", "X1", "Lambda shown with dead cylinders", notes=_adds_fuel)
def lambda_with_dead_cylinders(
    cylinders: Cylinders,
    dead: Annotated[float, Quantity("dead cylinders", "k", "count", 0, 16, whole=True)],
    unburned_fuel_seen: Annotated[float, Quantity("unburned fuel the sensor burns", "c", "%", 0, 100, (0, 50))] = 0.0,
    true_lambda: Lambda = 1.0,
) -> ShownLambda:
    """Give the lambda a sensor shows when cylinders do not fire.

    Formula: λ_s = λ·n/(n - k·(1 - c))
    Valid: one sensor for n cylinders (one bank: that bank's n); c about 0 to 50 % in practice.
    Source: mass balance: all air counts, only the fuel that burns or reacts on the sensor counts.
    Use: One of eight dead shows 1.14, one bank with one of four 1.33. Do not correct fuel until misfire and leaks are
        out.

    >>> round(lambda_with_dead_cylinders(8, 1), 6)
    1.142857
    """
    if dead >= cylinders:
        raise cannot("dead", "All cylinders dead: there is no mixture to read.", f"0 to {cylinders - 1:.0f}")
    return true_lambda * cylinders / (cylinders - dead * (1 - unburned_fuel_seen))


@calculation("exhaust", "X1", "Lambda shown with an exhaust air leak", notes=_adds_fuel)
def lambda_with_exhaust_leak(
    leak_share: Annotated[float, Quantity("leak air over engine air", "s", "%", 0, 100, (0, 30))],
    true_lambda: Lambda = 1.0,
) -> ShownLambda:
    """Give the lambda a sensor shows when air leaks in ahead of it.

    Formula: λ_s = λ·(1 + s)
    Valid: air well mixed before the sensor.
    Source: mass balance: air added ahead of the sensor.
    Use: A leak ahead of the sensor reads lean and makes the controller enrich a good mixture.

    >>> round(lambda_with_exhaust_leak(0.05), 6)
    1.05
    """
    return true_lambda * (1 + leak_share)


class DewPoint(NamedTuple):
    """Water in the exhaust, and the temperature below which it drips."""

    water_share: Annotated[float, Quantity("water by volume", "x", "%")]
    dew_point: Annotated[float, Quantity("dew point", "T", "degF")]


def saturation_temperature(pressure: float) -> float:
    """Return the temperature in kelvin at which water's vapour pressure is `pressure` pascal (273.16–647 K)."""
    low, high = 273.16, 640.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if saturation_pressure(middle) < pressure else (low, middle)
    # one Newton step makes the result smooth in the pressure, which differences of it need
    guess = (low + high) / 2
    step = 1e-3
    slope = (saturation_pressure(guess + step) - saturation_pressure(guess - step)) / (2 * step)
    return guess - (saturation_pressure(guess) - pressure) / slope


def _rich(inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    if inputs["lambda_"] < 1:
        yield "Richer than λ 1: the value at λ 1 is given, right within about 2 °C."


@calculation("exhaust", "X2", "Exhaust dew point", notes=_rich)
def exhaust_dew_point(
    hydrogen_to_carbon: Annotated[float, Quantity("hydrogen to carbon atoms", "y", "1", 0.5, 4, (1.6, 2.3))] = 1.87,
    lambda_: Lambda = 1.0,
    pressure: Barometer = 101325.0,
) -> DewPoint:
    """Give the temperature below which water drips in the exhaust.

    Formula: a = 1 + y/4
        l = max(λ, 1)
        x = (y/2)/(1 + y/2 + 3.773·l·a + (l - 1)·a)
        T is the temperature at which water's vapour pressure is x·p_b
    Valid: λ 1 or leaner, complete combustion, dry intake air (humid air at 25 °C and 60 % adds 2–3 °C).
    Source: complete combustion in dry air; saturation by the IAPWS equation, library chemicals 1.5.2 agrees.
    Use: Below a pipe wall of 50 °C the exhaust drips: sensor heater off or low until dry, tip above the horizontal; a
        hot tip hit by water cracks.

    >>> round(exhaust_dew_point().dew_point - 273.15, 1)
    50.5
    """
    lean = max(lambda_, 1.0)
    need = 1 + hydrogen_to_carbon / 4
    water = hydrogen_to_carbon / 2
    share = water / (1 + water + 3.773 * lean * need + (lean - 1) * need)
    if share * pressure < 612:
        raise cannot("pressure", "So little water would freeze before it drips: check the entries.")
    return DewPoint(share, saturation_temperature(share * pressure))


class ReadingDelay(NamedTuple):
    """Where the time between a change of fuel and its reading goes."""

    pipe_delay: Annotated[float, Quantity("pipe delay", "t_p", "ms")]
    engine_delay: Annotated[float, Quantity("engine delay", "t_e", "ms")]


def _sensor_adds(_inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    total = outputs["pipe-delay"] + outputs["engine-delay"]
    yield f"Together {1000 * total:.0f} ms, and the sensor itself adds 50–100 ms (common practice)."


@calculation("exhaust", "X3", "Mixture reading delay", notes=_sensor_adds)
def mixture_reading_delay(
    pipe_diameter: Annotated[float, Quantity("pipe inside diameter", "d", "in", 0.3, 8, (1, 5))],
    length: Annotated[float, Quantity("port to sensor", "L", "in", 0.5, 400, (6, 120))],
    gas_temperature: Annotated[float, Quantity("gas temperature", "T", "degF", 0, 2500, (200, 1700))],
    exhaust_flow: Annotated[float, Quantity("exhaust flow", "ṁ", "lb/h", 0.1, 10000)],
    engine_speed: EngineSpeed,
) -> ReadingDelay:
    """Give how long a change of fuel takes to reach the oxygen sensor.

    Formula: t_p = π/4·d^2·L·101325/(287.055·T)/ṁ
        t_e = 120/N
    Valid: well-mixed plug flow of hot gas at one atmosphere.
    Source: pipe volume over hot volume flow, plus one four-stroke cycle.
    Use: Idle that hunts with 0.3–0.5 s in all: slow the feedback. A far sensor (1.5 m) triples the pipe part.

    >>> delay = mixture_reading_delay(0.057, 0.6, 900, 300 / 3600, 3000)
    >>> round(delay.pipe_delay * 1000, 2), delay.engine_delay
    (7.21, 0.04)
    """
    density = 101325 / (287.055 * gas_temperature)
    return ReadingDelay(math.pi / 4 * pipe_diameter**2 * length * density / exhaust_flow, 120 / engine_speed)
