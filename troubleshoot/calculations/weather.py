"""Air: barometer, altitude, humidity, and correction of power to standard weather."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, NamedTuple

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import Barometer, DryPressure, RelativeHumidity, WeatherTemperature
from troubleshoot.calculations.refusals import cannot

DRY_AIR, WATER_VAPOUR = 287.055, 461.52  # J/(kg K)
CRITICAL_TEMPERATURE, CRITICAL_PRESSURE = 647.096, 22.064e6  # water, IAPWS-95
REFERENCE_J607 = 29.92 * 3386.388640341
EARTH_RADIUS = 6356766.0  # m, effective, US Standard Atmosphere 1976

Altitude = Annotated[float, Quantity("altitude", "h", "ft", -1400, 36000, (-500, 15000), "metres for feet?")]
SteamTemperature = Annotated[float, Quantity("air temperature", "T", "degF", 32, 212, (32, 140), "°C for °F?")]


def standard_atmosphere(altitude: float) -> tuple[float, float]:
    """Return pressure in pascal and temperature in kelvin at a geometric altitude in metres."""
    height = EARTH_RADIUS * altitude / (EARTH_RADIUS + altitude)
    return 101325 * (1 - 0.0065 * height / 288.15) ** 5.25588, 288.15 - 0.0065 * height


def pressure_height(pressure: float) -> float:
    """Return the geometric altitude in metres at which the standard atmosphere has a pressure in pascal."""
    height = 288.15 / 0.0065 * (1 - (pressure / 101325) ** (1 / 5.25588))
    return float(EARTH_RADIUS * height / (EARTH_RADIUS - height))


class StandardAir(NamedTuple):
    """Barometer and temperature of the standard atmosphere."""

    barometer: Annotated[float, Quantity("barometer", "p", "inHg abs")]
    temperature: Annotated[float, Quantity("air temperature", "T", "degF")]


@calculation("air", "A6", "Standard barometer at altitude")
def barometer_at_altitude(altitude: Altitude) -> StandardAir:
    """Give the barometer to expect at an altitude in standard weather.

    Formula: H = 6356766·h/(6356766 + h)
        p = 101325·(1 - 0.0065·H/288.15)^5.25588
        T = 288.15 - 0.0065·H
    Valid: 0–11 km; weather moves it by ±3 kPa.
    Source: US Standard Atmosphere 1976, geometric altitude (from memory; library ambiance 1.3.1 agrees).
    Use: Station pressure, not the forecast's pressure corrected to sea level. Key-on, engine off, the manifold sensor
        must read the barometer within 2 kPa (common practice, no source).

    >>> round(barometer_at_altitude(2000).barometer / 1000, 3)
    79.501
    """
    return StandardAir(*standard_atmosphere(altitude))


@calculation("air", "A6", "Manifold absolute pressure from vacuum")
def manifold_pressure_from_vacuum(
    barometer: Barometer, vacuum: Annotated[float, Quantity("manifold vacuum", "v", "inHg", 0, 31, (0, 26))]
) -> Annotated[float, Quantity("manifold pressure", "p_m", "kPa abs")]:
    """Give the absolute manifold pressure that a vacuum gauge means.

    Formula: p_m = p_b - v
    Valid: vacuum below the barometer; inch of mercury at 0 °C.
    Source: subtraction.
    Use: Compare the gauge with what the controller shows; they should agree within 2 kPa (common practice, no source).

    >>> round(manifold_pressure_from_vacuum(29.92 * 3386.389, 18 * 3386.389) / 1000, 3)
    40.366
    """
    if vacuum >= barometer:
        raise cannot("vacuum", "Vacuum cannot reach the barometer: check both.", "below the barometer")
    return barometer - vacuum


@calculation("air", "A6", "Vacuum to expect at altitude")
def vacuum_at_altitude(
    vacuum_at_sea_level: Annotated[float, Quantity("vacuum at sea level", "v_0", "inHg", 0, 29, (5, 24))],
    altitude: Altitude,
) -> Annotated[float, Quantity("vacuum", "v", "inHg")]:
    """Give the idle vacuum to expect at an altitude for an engine that pulls a known vacuum at sea level.

    Formula: H = 6356766·h/(6356766 + h)
        p = 101325·(1 - 0.0065·H/288.15)^5.25588
        v = v_0 - (101325 - p)
    Valid: same absolute manifold pressure; standard weather.
    Source: same manifold absolute pressure, lower barometer; US Standard Atmosphere 1976.
    Use: About 1 inHg less for each 1000 ft: not a worn engine.

    >>> round(vacuum_at_altitude(18 * 3386.389, 1524) / 3386.389, 3)
    12.976
    """
    vacuum = vacuum_at_sea_level - (standard_atmosphere(0)[0] - standard_atmosphere(altitude)[0])
    if vacuum < 0:
        raise cannot("altitude", "At that altitude the barometer is below this engine's manifold pressure.")
    return vacuum


def saturation_pressure(temperature: float) -> float:
    """Return the vapour pressure of water in pascal (Wagner and Pruss 1993, IAPWS; 273.16 K to 647.096 K)."""
    theta = 1 - temperature / CRITICAL_TEMPERATURE
    terms = (
        (-7.85951783, 1.0), (1.84408259, 1.5), (-11.7866497, 3.0),
        (22.6807411, 3.5), (-15.9618719, 4.0), (1.80122502, 7.5),
    )  # fmt: skip
    total = sum(a * theta**power for a, power in terms)
    return CRITICAL_PRESSURE * math.exp(CRITICAL_TEMPERATURE / temperature * total)


@calculation("air", "A7", "Water saturation pressure")
def water_saturation_pressure(
    temperature: SteamTemperature,
) -> Annotated[float, Quantity("pressure", "p_s", "kPa abs")]:
    """Give the most water vapour air can hold at a temperature, as a pressure.

    Formula: θ = 1 - T/647.096
        c = -7.85951783·θ + 1.84408259·θ^1.5 - 11.7866497·θ^3 + 22.6807411·θ^3.5 - 15.9618719·θ^4 + 1.80122502·θ^7.5
        p_s = 22064000·exp(647.096/T·c)
    Valid: 0–100 °C over water.
    Source: IAPWS saturation equation, Wagner and Pruss 1993 (from memory; CoolProp 8.0.0 and chemicals 1.5.2 agree).
    Use: Feeds humidity and dew point.

    >>> round(water_saturation_pressure(298.15) / 1000, 3)
    3.17
    """
    return saturation_pressure(temperature)


@calculation("air", "A7", "Humid air density")
def humid_air_density(
    temperature: SteamTemperature,
    pressure: Barometer,
    relative_humidity: RelativeHumidity,
) -> Annotated[float, Quantity("density", "ρ", "kg/m^3")]:
    """Give the density of humid air.

    Formula: p_s = p_sat(T)
        ρ = (p_b - RH·p_s)/(287.055·T) + RH·p_s/(461.52·T)
    Valid: 0–60 °C; p_sat as in water-saturation-pressure.
    Source: ideal mixture of dry air and water vapour; CoolProp 8.0.0 humid air agrees within 0.1 %.
    Use: Density decides the air an engine gets; 35 °C at 70 % humidity takes 4 % of the oxygen away.

    >>> round(humid_air_density(308.15, 98e3, 0.7), 3)
    1.091
    """
    vapour = relative_humidity * saturation_pressure(temperature)
    if vapour >= pressure:
        raise cannot("pressure", "The water vapour alone would be above this barometer: check both.")
    return (pressure - vapour) / (DRY_AIR * temperature) + vapour / (WATER_VAPOUR * temperature)


@calculation("air", "A7", "Dry air pressure")
def dry_air_pressure(
    barometer: Barometer,
    relative_humidity: RelativeHumidity,
    temperature: SteamTemperature,
) -> Annotated[float, Quantity("dry pressure", "p_d", "inHg abs")]:
    """Give the barometer less the water vapour in the air.

    Formula: p_s = p_sat(T)
        p_d = p_b - RH·p_s
    Valid: 0–60 °C; p_sat as in water-saturation-pressure.
    Source: barometer less water vapour pressure (Dalton).
    Use: Feeds the power corrections.

    >>> round(dry_air_pressure(101325, 0.5, 298.15) / 1000, 2)
    99.74
    """
    dry = barometer - relative_humidity * saturation_pressure(temperature)
    if dry <= 0:
        raise cannot("barometer", "The water vapour alone would be above this barometer: check both.")
    return dry


Factor = Annotated[float, Quantity("factor", "CF", "1", usual=(0.93, 1.07), outside="beyond the standard")]
FrictionShare = Annotated[float, Quantity("friction share", "f", "1", 0, 0.5)]


def _high_barometer(inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    pressure = inputs.get("dry_pressure", inputs.get("barometer", 0.0))
    if pressure > 103e3:
        yield "A dry barometer this high is rare: is it corrected to sea level? The formula wants station pressure."


@calculation("air", "A8", "Power correction SAE J1349", notes=_high_barometer)
def power_factor_j1349(dry_pressure: DryPressure, temperature: WeatherTemperature) -> Factor:
    """Give the factor that corrects measured power to the SAE J1349 reference weather.

    Formula: CF = 1.18·99000/p_d·√((T - 0.15)/298) - 0.18
    Valid: naturally aspirated; 15–35 °C, 90–105 kPa dry, a few percent of correction; the standard takes t + 273 for
        kelvin. Limits from memory.
    Source: SAE J1349 (June 1990 wording, quoted publicly; later revisions keep the form with 1/0.85 for 1.18).
    Use: Compare runs only with the same correction.

    >>> round(power_factor_j1349(95e3, 308.15), 4)
    1.0701
    """
    return 1.18 * (99e3 / dry_pressure) * math.sqrt((temperature - 0.15) / 298) - 0.18


def _old_standard(dry: float, temperature: float, friction: float) -> float:
    """Return the factor of the old standard; friction 0.18 gives the trade form with 85 % mechanical efficiency."""
    plain = REFERENCE_J607 / dry * math.sqrt((temperature * 1.8 - 459.67 + 460) / 520)
    return (1 + friction) * plain - friction


@calculation("air", "A8", "Power correction, old standard (J607)", notes=_high_barometer)
def power_factor_j607(
    barometer: Barometer,
    relative_humidity: RelativeHumidity,
    temperature: WeatherTemperature,
    friction_share: FrictionShare = 0.0,
) -> Factor:
    """Give the factor of the old standard from barometer and humidity.

    Formula: p_d = p_b - RH·p_sat(max(T, 273.16))
        CF = (1 + f)·101320.748/p_d·√((1.8·T + 0.33)/520) - f
    Valid: naturally aspirated; printed as 29.92/p_d·√((t + 460)/520) in inHg and °F; f = 0, or 0.18 for the form with
        friction; above freezing.
    Source: reference point of the old standard: 60 °F, 29.92 inHg dry; trade form with 85 % efficiency (from memory).
    Use: Reads 4–5 % higher than J1349 for the same engine (1.047 at the J1349 reference).

    >>> round(power_factor_j607(29.92 * 3386.388640341, 0.0, (60 + 459.67) / 1.8), 6)
    1.0
    """
    vapour = relative_humidity * saturation_pressure(max(temperature, 273.16))
    if vapour >= barometer:
        raise cannot("barometer", "The water vapour alone would be above this barometer: check both.")
    return _old_standard(barometer - vapour, temperature, friction_share)


@calculation("air", "A8", "Power correction, old standard, dry pressure given", notes=_high_barometer)
def power_factor_j607_dry(
    dry_pressure: DryPressure, temperature: WeatherTemperature, friction_share: FrictionShare = 0.0
) -> Factor:
    """Give the factor of the old standard when the dry pressure is known.

    Formula: CF = (1 + f)·101320.748/p_d·√((1.8·T + 0.33)/520) - f
    Valid: naturally aspirated; printed as 29.92/p_d·√((t + 460)/520) in inHg and °F; f = 0, or 0.18 for the form with
        friction.
    Source: trade form with 85 % mechanical efficiency (from memory); reference 60 °F, 29.92 inHg dry.
    Use: Compare runs only with the same correction.

    >>> round(power_factor_j607_dry(29.0 * 3386.388640341, (90 + 459.67) / 1.8, 0.18), 6)
    1.07206
    """
    return _old_standard(dry_pressure, temperature, friction_share)


@calculation("air", "A8", "Power correction ISO 1585", notes=_high_barometer)
def power_factor_iso_1585(dry_pressure: DryPressure, temperature: WeatherTemperature) -> Factor:
    """Give the factor that corrects measured power to the ISO 1585 reference weather.

    Formula: CF = (99000/p_d)^1.2·((T - 0.15)/298)^0.6
    Valid: spark ignition, naturally aspirated, factor 0.93–1.07; p_d dry; t + 273 for kelvin.
    Source: ISO 1585 / ECE R85 spark-ignition factor (from memory).
    Use: Compare runs only with the same correction.

    >>> round(power_factor_iso_1585(98e3, 303.15), 4)
    1.0224
    """
    factor: float = (99e3 / dry_pressure) ** 1.2 * ((temperature - 0.15) / 298) ** 0.6
    return factor
